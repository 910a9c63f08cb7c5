//! The nut of a job as a workshop drawing.

use crate::findings::{Findings, Part};
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, info};
use form::{Quantity, Sentence, Source, Units, units};
use sheets::{Drawing, NutBody, NutDrawing, Row, Toleranced, ToolForm, Value};
use shop::{NutDesign, NutGauges, NutKind};

/// Outside of a nut whose outside nobody gave, as a part of the groove diameter (common practice:
/// a wall of a third of the thread).
const OUTSIDE_OF_GROOVE: f64 = 1.6;
/// What the outside and the length may be off by, mm (common practice, ISO 2768-m).
const OUTSIDE_MM: f64 = 0.2;
/// Part of the play that the groove may add or take.
const PART_OF_PLAY: f64 = 0.25;

/// The drawing of the nut, one page.
///
/// # Errors
/// [`TemplateError`].
pub fn nut_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if let Some(refusal) = &findings.refusal {
        return Err(TemplateError::Refused(refusal.clone()));
    }
    let (Some(screw), Some(nut)) = (&findings.screw, &findings.nut) else {
        return Err(TemplateError::NoTool("there is no nut to draw yet".into()));
    };
    let Some(gauges) = &findings.gauges else {
        let why = findings.trouble(Part::Checks).map(|t| t.text.clone());
        return Err(TemplateError::NoTool(why.unwrap_or_else(|| "no gauges for it".into())));
    };
    let play_mm = nut.request.axial_play_mm;
    let slope = nut.play_per_infeed.value;
    // Infeed adds play by the slope of the flanks; the groove never gets shallower than the crest.
    let clearance = nut.radial_clearance_mm.value;
    let infeed_mm = if slope > 0.01 {
        (PART_OF_PLAY * play_mm / slope).min(0.5 * clearance)
    } else {
        0.5 * clearance
    };
    let groove = nut.groove_diameter_mm.value;
    let (body, outer_mm) = match nut.request.kind {
        NutKind::Solid => (NutBody::Solid, None),
        NutKind::Split { kerf_mm } => (NutBody::Split { kerf_mm }, None),
        NutKind::Sleeve { outer_diameter_mm, .. } => (NutBody::Sleeve, Some(outer_diameter_mm)),
    };
    let outer = outer_mm.map_or_else(
        || Quantity::assumed(outside_mm(groove, job.units), 0.0),
        |d| Quantity::entered(d, 0.0),
    );
    let material_source = if job.nut.material_said { Source::Entered } else { Source::Assumed };
    let chamfer_mm = 0.5 * nut.infeed_mm.value.min(0.1 * nut.length_mm);
    let drawing = NutDrawing {
        subject: subject(nut),
        body,
        outer_diameter_mm: Toleranced { size_mm: outer, upper_mm: 0.0, lower_mm: -OUTSIDE_MM },
        length_mm: Toleranced {
            size_mm: length(nut, job.units),
            upper_mm: OUTSIDE_MM,
            lower_mm: -OUTSIDE_MM,
        },
        chamfer_mm: (10.0 * chamfer_mm).round() / 10.0,
        bore_mm: Toleranced {
            size_mm: nut.bore_mm,
            upper_mm: held(gauges.bore_no_go_mm - nut.bore_mm.value, job.units),
            lower_mm: held(gauges.bore_go_mm - nut.bore_mm.value, job.units),
        },
        groove_diameter_mm: Toleranced {
            size_mm: nut.groove_diameter_mm,
            upper_mm: held(2.0 * infeed_mm, job.units),
            lower_mm: -held(2.0 * infeed_mm, job.units),
        },
        groove: ToolForm {
            right_flank_deg: nut.right_flank_deg,
            left_flank_deg: nut.left_flank_deg,
            tip_flat_mm: nut.tool_tip_flat_mm,
            corner_radius_mm: Quantity::derived(nut.tool_corner_radius_mm, 0.0),
            depth_mm: nut.infeed_mm,
            included_angle_deg: None,
        },
        pitch_mm: nut.pitch_mm,
        starts: screw.starts,
        hand: screw.hand,
        winding_source: crate::template::winding_source(job, findings),
        rows: rows(nut, gauges, job.units, material_source),
        notes: notes(job, nut, gauges, outer_mm.is_none()),
    };
    Ok(sheets::nut_drawing(&info(job, paper, date), &drawing)?)
}

/// The outside of a nut nobody gave one, to the next millimetre or sixteenth of an inch, mm.
fn outside_mm(groove_mm: f64, units: Units) -> f64 {
    let step_mm = match units {
        Units::Mm => 1.0,
        Units::Inch | Units::Thou => units::MM_PER_INCH / 16.0,
    };
    (OUTSIDE_OF_GROOVE * groove_mm / step_mm).ceil() * step_mm
}

/// A limit to the finest step one holds, toward nothing, mm: a hundredth of a millimetre, a
/// ten-thousandth of an inch.
fn held(mm: f64, units: Units) -> f64 {
    let step_mm = match units {
        Units::Mm => 0.01,
        Units::Inch | Units::Thou => 1e-4 * units::MM_PER_INCH,
    };
    (mm / step_mm + 1e-6 * mm.signum()).trunc() * step_mm
}

/// A size of a gauge, to a hundredth of a millimetre or a ten-thousandth of an inch.
fn gauged(mm: f64, units: Units) -> String {
    units.plain(mm, if units == Units::Mm { 2 } else { 3 })
}

/// A limit of play, to as many digits as it has, at most a micrometre or a ten-thousandth of an inch.
fn limit(mm: f64, units: Units) -> String {
    let coarse = units.plain(mm, 2);
    let whole = (100.0 * mm - (100.0 * mm).round()).abs() < 1e-6;
    if units == Units::Mm && whole { coarse } else { units.plain(mm, 3) }
}

/// The length of a nut: entered, or the usual.
pub(crate) fn length(nut: &NutDesign, units: Units) -> Quantity {
    let rounded = crate::worksheet::roughly(nut.length_mm, 0.1, units);
    match nut.request.length_mm {
        Some(_) => Quantity::entered(nut.length_mm, 0.0),
        None => Quantity::assumed(rounded, 0.0),
    }
}

fn rows(nut: &NutDesign, gauges: &NutGauges, units: Units, material_source: Source) -> Vec<Row> {
    let other = |name: &str, quantity: Quantity, unit: &'static str, decimals: usize| Row {
        name: name.into(),
        value: Value::Other { quantity, unit, decimals },
    };
    let mut rows = vec![Row::words("Material", nut.request.material.name(), material_source)];
    rows.extend(crate::worksheet::axial_play(nut, units));
    rows.extend([
        Row::length("Crest clearance, radial", nut.radial_clearance_mm),
        Row::length("Thread shared, radial", nut.engagement_mm),
    ]);
    if let NutKind::Sleeve { interference_mm, .. } = nut.request.kind
        && interference_mm > 0.0
    {
        let fit = Quantity::entered(interference_mm, 0.0);
        rows.push(Row::length("Larger than its housing by", fit));
    }
    if nut.request.load_n.is_some()
        && let Some(p) = &nut.pressure
    {
        rows.push(other("Load", Quantity::entered(p.load_n, 0.0), "N", 0));
        let roughly = (10.0 * p.pressure_n_per_mm2).round() / 10.0;
        rows.push(other("Flank pressure", Quantity::derived(roughly, 0.0), "N/mm²", 1));
        let limit = Quantity::assumed(p.permissible_n_per_mm2, 0.0);
        rows.push(other("Usual limit of that", limit, "N/mm²", 0));
    }
    let u = nut.bore_mm.u;
    rows.push(Row::length("Bore plug, go", Quantity::derived(gauges.bore_go_mm, u)));
    rows.push(Row::length("Bore plug, no-go", Quantity::derived(gauges.bore_no_go_mm, u)));
    rows
}

fn notes(job: &Job, nut: &NutDesign, gauges: &NutGauges, outside_assumed: bool) -> Vec<String> {
    let units = job.units;
    let mut notes = Vec::new();
    if outside_assumed {
        notes.push("The outside is assumed: make it what the machine needs.".to_owned());
    }
    let plug = |p: &shop::PlugGauge| match (p.over_wires_mm, p.wire_mm) {
        (Some(over), Some(wire)) => format!(
            "{} over wires of {}, crests {}",
            gauged(over, units),
            gauged(wire, units),
            gauged(p.major_diameter_mm, units)
        ),
        _ => format!(
            "ridge {} thick at Ø {}, crests {}",
            gauged(p.ridge_mm, units),
            gauged(p.pitch_diameter_mm, units),
            gauged(p.major_diameter_mm, units)
        ),
    };
    notes.push(format!(
        "Threaded plugs that hold the play between {} and {}: go {}; no-go {}.",
        limit(gauges.least_play_mm, units),
        limit(gauges.most_play_mm, units),
        plug(&gauges.go),
        plug(&gauges.no_go)
    ));
    notes.extend(
        nut.notices
            .iter()
            .filter(|n| {
                [
                    "split-shim",
                    "sleeve-closes",
                    "thin-sleeve",
                    "flank-pressure",
                    "may-bind",
                    "cannot-forecast",
                    "not-yet",
                ]
                .contains(&n.code.as_str())
            })
            .map(|n| sentence(&n.text, units)),
    );
    if let Some(p) = &nut.pressure {
        notes.push(format!(
            "Flank pressure: load over the rings of all turns in mesh; its limit for {}: {}.",
            nut.request.material.name(),
            p.source
        ));
    }
    notes
}

/// What is made, and in the largest letters of the page if it should not be made yet.
pub(crate) fn subject(nut: &NutDesign) -> String {
    let kind = match nut.request.kind {
        NutKind::Solid => "nut",
        NutKind::Split { .. } => "nut, split",
        NutKind::Sleeve { .. } => "sleeve with the nut's thread",
    };
    format!("{} {kind}{}", nut.request.material.name(), not_yet(nut))
}

/// Behind the name of what nothing should be cut to.
pub(crate) fn not_yet(nut: &NutDesign) -> &'static str {
    if nut.may_be_cut() { "" } else { " \u{2013} NOT YET TO BE CUT" }
}

/// A notice as a sentence on paper, its lengths in `units`.
pub(crate) fn sentence(text: &Sentence, units: Units) -> String {
    let text = text.in_units(units);
    let mut out = String::with_capacity(text.len() + 1);
    let mut letters = text.chars();
    if let Some(first) = letters.next() {
        out.extend(first.to_uppercase());
    }
    out.push_str(letters.as_str());
    if !out.ends_with(['.', '!', '?']) {
        out.push('.');
    }
    // A minus before a figure, not a hyphen between words.
    let mut shown = String::with_capacity(out.len());
    let letters: Vec<char> = out.chars().collect();
    for (i, &c) in letters.iter().enumerate() {
        let before = i.checked_sub(1).map(|k| letters[k]);
        let figure = letters.get(i + 1).is_some_and(char::is_ascii_digit);
        let opens = before.is_none_or(|b| b.is_whitespace() || b == '(');
        shown.push(if c == '-' && figure && opens { '\u{2212}' } else { c });
    }
    shown
}
