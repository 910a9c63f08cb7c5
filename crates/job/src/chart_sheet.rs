//! The shadow the screw should cast on a projector, to hold the real one against.

use crate::findings::Findings;
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, info};
use form::shadow::{Edge, outline};
use form::{Profile, Said, Thread, View};
use sheets::{Drawing, Row, ShadowChart, ShadowEdge};
use shop::ScrewForm;

/// Enough of the screw for the least magnification on the larger paper, mm each way.
const HALF_STRETCH_MM: f64 = 60.0;
const MOST_GROOVES: f64 = 60.0;

/// The chart, a page for each edge of the shadow.
///
/// # Errors
/// [`TemplateError`].
pub fn chart_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if let Some(refusal) = &findings.refusal {
        return Err(TemplateError::Refused(refusal.clone()));
    }
    let Some(screw) = &findings.screw else {
        return Err(TemplateError::NoTool("the form of the screw is not known yet".into()));
    };
    let thread = screw.thread().map_err(|e| TemplateError::NoTool(e.said()))?;
    let ridge = screw
        .derive(|t| {
            let below = 0.5 * (t.major_diameter_mm() - t.pitch_diameter_mm());
            t.section().ridge_thickness_mm(below)
        })
        .map_err(|e| TemplateError::NoTool(e.said()))?;
    let other = |sign: f64| {
        let mut form: ScrewForm = (**screw).clone();
        form.crest_flat_mm.value += sign * 2.0 * ridge.u;
        form.major_diameter_mm.value += sign * 2.0 * form.major_diameter_mm.u;
        // The root moves with the crest, so that only size is in doubt here.
        form.thread().ok()
    };
    let limits: Vec<Thread> = [1.0, -1.0].into_iter().filter_map(other).collect();
    let edges = [(Edge::Upper, "upper edge"), (Edge::Lower, "lower edge")]
        .into_iter()
        .map(|(edge, name)| ShadowEdge {
            name: name.into(),
            line_mm: line(&thread, edge),
            limits_mm: limits.iter().map(|t| line(t, edge)).collect(),
        })
        .collect();
    let chart = ShadowChart {
        subject: if job.title.is_empty() { "screw".into() } else { job.title.clone() },
        edges,
        pitch_mm: screw.pitch_mm.value,
        magnification: job.sheets.chart_magnification,
        view: "Shadow on a profile projector: parallel light square to the axis, the axis level, \
               upright as the picture was."
            .into(),
        rows: vec![
            Row::length("Pitch", screw.pitch_mm),
            Row::length("Major diameter", screw.major_diameter_mm),
            Row::angle("Right flank, true", screw.right_flank_deg),
            Row::angle("Left flank, true", screw.left_flank_deg),
            Row::length("Ridge at the pitch line", ridge),
            Row::length("Depth", screw.depth_mm),
            Row::words(
                "Starts, hand",
                format!("{}, {}", screw.starts, screw.hand),
                crate::template::winding_source(job, findings),
            ),
        ],
        notes: vec![
            "Dashed: the ridge thicker and thinner by two standard uncertainties. A shadow between \
             the dashed lines agrees with the measurement."
                .into(),
        ],
    };
    let info = info(job, paper, date);
    match sheets::shadow_chart(&info, &chart) {
        Err(_) if chart.magnification.is_some() => {
            Ok(sheets::shadow_chart(&info, &ShadowChart { magnification: None, ..chart })?)
        }
        other => Ok(other?),
    }
}

/// One edge of the shadow in parallel light, `[along, across]` mm.
fn line(thread: &Thread, edge: Edge) -> Vec<[f64; 2]> {
    let crest_r = 0.5 * thread.major_diameter_mm();
    let profile = Profile::new(thread.section(), crest_r);
    let half = (HALF_STRETCH_MM / thread.section().pitch_mm()).ceil().min(MOST_GROOVES) as i32;
    outline(&profile, thread.signed_advance_mm(), 0.0, &View::PARALLEL, edge, -half..=half)
        .polyline()
        .into_iter()
        .map(|(z, x)| [z, x])
        .collect()
}
