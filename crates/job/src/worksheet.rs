//! The job sheet: everything the person at the lathe needs for the nut, on one page.

use crate::findings::Findings;
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, drawn, info, leading, winding_source};
use form::{Quantity, Source};
use sheets::{Drawing, JobSheet, Pass, Row, Value};
use shop::{NutDesign, PassPlan, PassRequest, ToolHolding, WireThread};

/// A boring bar fills this share of the bore, so that chips have room (common practice).
pub(crate) const BAR_OF_BORE: f64 = 0.65;
/// A boring bar stands out this much farther than the nut is long, mm (common practice).
pub(crate) const BAR_BEYOND_NUT_MM: f64 = 10.0;

/// How the tool of [`shop::ToolSetting::default`] is set.
const SETTING: &str = "square to the axis, edge at centre height";

/// `value` to a whole number of `steps`: what is only chosen, or told roughly, has no more digits.
fn to(value: f64, step: f64) -> f64 {
    (value / step).round() * step
}

/// The boring bar a cutting plan is made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Free length, mm.
    pub overhang_mm: f64,
}

/// The cutting plan for a nut, with the steel boring bar that is assumed for it.
///
/// # Errors
/// A sentence.
pub fn passes(nut: &NutDesign) -> Result<(Bar, PassPlan), String> {
    let bar = Bar {
        diameter_mm: BAR_OF_BORE * nut.bore_mm.value,
        overhang_mm: nut.length_mm + BAR_BEYOND_NUT_MM,
    };
    let holding = ToolHolding::Bar {
        diameter_mm: bar.diameter_mm,
        overhang_mm: bar.overhang_mm,
        carbide: false,
    };
    let plan = shop::plan_passes(&PassRequest::for_nut(nut, holding)).map_err(|e| e.to_string())?;
    Ok((bar, plan))
}

/// The pages of the job sheet of a nut.
///
/// # Errors
/// [`TemplateError`].
pub fn worksheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if let Some(refusal) = &findings.refusal {
        return Err(TemplateError::Refused(refusal.clone()));
    }
    let (Some(screw), Some(nut), Some(tool)) = (&findings.screw, &findings.nut, &findings.tool)
    else {
        return Err(TemplateError::NoTool("there is no nut to make yet".into()));
    };
    let (bar, plan) = passes(nut).map_err(TemplateError::NoTool)?;
    let words = |name: &str, text: String, source: Source| Row::words(name, text, source);
    let units = job.units;
    let mut thread = vec![
        Row::length("Pitch", screw.pitch_mm),
        Row::length("Lead", screw.lead_mm()),
        words(
            "Starts, hand",
            format!("{}, {}", screw.starts, screw.hand),
            winding_source(job, findings),
        ),
        Row::length("Major diameter", screw.major_diameter_mm),
        Row::angle("Right flank", screw.right_flank_deg),
        Row::angle("Left flank", screw.left_flank_deg),
    ];
    if let Some(first) = findings.ranking.as_ref().and_then(|r| r.candidates.first())
        && first.probability > 0.5
    {
        thread.push(words("Likeliest standard", first.designation.clone(), Source::Standard));
    }
    let mut remarks: Vec<String> = plan.notices.iter().map(|n| n.text.clone()).collect();
    remarks.push(format!(
        "The cuts are planned for a steel boring bar of {} standing out {}; forces are estimates.",
        units.plain(bar.diameter_mm, 1),
        units.plain(bar.overhang_mm, 0)
    ));
    let checks = WireThread::of_screw(screw)
        .ok()
        .and_then(|thread| shop::over_wires(&thread, None).ok())
        .map_or_else(Vec::new, |over| {
            vec![
                Row::length("Screw: wire", over.best_wire_mm),
                Row::length("Screw: over wires", over.over_wires_mm),
            ]
        });
    let sheet = JobSheet {
        subject: if job.title.is_empty() { "nut".into() } else { format!("nut, {}", job.title) },
        thread,
        gears: None,
        blank: vec![
            Row::length("Bore", nut.bore_mm),
            Row::length("Groove diameter", nut.groove_diameter_mm),
            Row::length("Length of thread", Quantity::assumed(to(nut.length_mm, 0.1), 0.0)),
            Row::length("Run-out groove, least", Quantity::assumed(to(plan.run_out_mm, 0.1), 0.0)),
        ],
        tool: drawn(tool),
        leading: leading(tool),
        tool_setting: SETTING.into(),
        passes: plan
            .passes
            .iter()
            .map(|p| Pass {
                cut_mm: if p.spring { 0.0 } else { p.increment_mm },
                depth_mm: p.depth_mm,
                dial: format!("{} turns + {}", p.dial.turns, p.dial.divisions),
                note: if p.spring { "spring".into() } else { String::new() },
            })
            .collect(),
        dial: "cross slide, 0.02 mm a division, as assumed for the plan".into(),
        play: vec![
            Row::length("Axial play", nut.axial_play_mm),
            Row::length("Radial clearance", nut.radial_clearance_mm),
            Row {
                name: "Play per infeed".into(),
                value: Value::Other { quantity: nut.play_per_infeed, unit: "", decimals: 3 },
            },
            Row::length("Sideways float", Quantity::derived(to(nut.radial_float_mm, 0.01), 0.0)),
        ],
        checks,
        remarks,
    };
    Ok(sheets::job_sheet(&info(job, paper, date), &sheet)?)
}
