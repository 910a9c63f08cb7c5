//! `flanklight nut`, `tool` and `sheets`.

use super::args::{Cast, How, Keep, NutMade, ToolSet, WhatFor};
use super::failure::Failure;
use super::round::RoundTo;
use super::{print, print_json, text, work};
use form::{Quantity, Said, Units};
use job::{Part, ToolFor};
use serde::Serialize;
use shop::About;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

#[derive(Serialize)]
struct NutRecord<'a> {
    schema: &'static str,
    bore_mm: f64,
    groove_diameter_mm: f64,
    tool_tip_flat_mm: f64,
    infeed_mm: f64,
    axial_play_mm: f64,
    radial_clearance_mm: f64,
    /// The same with uncertainty and source.
    quantities: BTreeMap<&'static str, Quantity>,
    /// Between these lie 95 % of what the doubt makes possible.
    play_limits_mm: Option<(f64, f64)>,
    /// What it is made to, and what that costs; `null` where a rounding of the job cannot be had.
    rounding: Option<standards::Rounded>,
    /// Everything: play against infeed, mating, groove, pressure, notices, provenance.
    design: &'a shop::NutDesign,
}

#[derive(Serialize)]
struct RefusalRecord<'a> {
    schema: &'static str,
    refused: &'a str,
}

/// A refusal, said on standard output too where a program listens.
pub(super) fn refused(refusal: &str, how: How) -> Failure {
    if how.json {
        // What cannot be printed is said on standard error all the same.
        let _ = print_json(&RefusalRecord { schema: "flanklight/refusal/1", refused: refusal });
    }
    Failure::Refused(refusal.into())
}

/// A duty that is refused ends every command that designs something.
fn permitted(opened: &work::Opened, how: How) -> Result<(), Failure> {
    match &opened.findings.refusal {
        Some(refusal) => Err(refused(refusal, how)),
        None => Ok(()),
    }
}

pub(super) fn missing(opened: &work::Opened) -> Failure {
    opened
        .findings
        .first_trouble()
        .map_or_else(|| Failure::NotMeasured("the tool could not be designed".into()), Failure::of)
}

pub(super) fn nut(
    path: &Path,
    (play, radial): (Quantity, Option<Quantity>),
    made: &NutMade,
    to: &RoundTo,
    (keep, how): (Keep, How),
) -> Result<(), Failure> {
    let opened = work::open(path, |job| {
        job.nut.set_play(play);
        to.over(job);
        as_made(made, &mut job.nut);
        if radial.is_some() {
            job.nut.radial_clearance_mm = radial;
        }
    })?;
    permitted(&opened, how)?;
    let rounding = opened.rounded(to)?;
    let Some(nut) = &opened.findings.nut else { return Err(missing(&opened)) };
    let kept = opened.keep(keep.keep)?;
    if how.json {
        return print_json(&NutRecord {
            schema: "flanklight/nut/1",
            bore_mm: nut.bore_mm.value,
            groove_diameter_mm: nut.groove_diameter_mm.value,
            tool_tip_flat_mm: nut.tool_tip_flat_mm.value,
            infeed_mm: nut.infeed_mm.value,
            axial_play_mm: nut.axial_play_mm.value,
            radial_clearance_mm: nut.radial_clearance_mm.value,
            quantities: BTreeMap::from([
                ("bore_mm", nut.bore_mm),
                ("groove_diameter_mm", nut.groove_diameter_mm),
                ("tool_tip_flat_mm", nut.tool_tip_flat_mm),
                ("infeed_mm", nut.infeed_mm),
                ("axial_play_mm", nut.axial_play_mm),
                ("radial_clearance_mm", nut.radial_clearance_mm),
            ]),
            play_limits_mm: nut.play_limits_mm,
            rounding,
            design: nut,
        });
    }
    let units = how.units_or(opened.job.units);
    let length =
        |q: Quantity| format!("{:<26} {}", text::quantity(Some(q), false, units), q.source);
    let plain = |mm: f64, decimals: usize| units.plain(mm, decimals);
    let limits = nut
        .play_limits_mm
        .map_or_else(|| "cannot tell".into(), |(low, high)| text::between(low, high, units));
    let contact = format!(
        "right {:.0} %, left {:.0} % of the height",
        100.0 * nut.mating.right.contact_fraction,
        100.0 * nut.mating.left.contact_fraction
    );
    let pressure = nut.pressure.as_ref().map_or_else(
        || "no load given".into(),
        |p| {
            format!(
                "{:.1} N/mm² of {:.0} N/mm² ({}: {})",
                p.pressure_n_per_mm2,
                p.permissible_n_per_mm2,
                nut.request.material.name(),
                p.source
            )
        },
    );
    let passes = if nut.passes_unworn_ends { "yes, within 2 u" } else { "not surely: try it" };
    print("Nut. ± is one standard uncertainty (k = 1).\n\n");
    print(&text::rows(&[
        ("bore", length(nut.bore_mm)),
        ("groove diameter", length(nut.groove_diameter_mm)),
        ("tool tip flat", length(nut.tool_tip_flat_mm)),
        ("infeed, radial, from touching", length(nut.infeed_mm)),
        ("axial play", length(nut.axial_play_mm)),
        ("radial clearance", length(nut.radial_clearance_mm)),
        ("pitch", length(nut.pitch_mm)),
        ("lead", length(nut.lead_mm)),
        ("length of thread", units.plain(nut.length_mm, 1)),
        ("play, 95 % of what is possible", limits),
        ("play where the ridge is thinnest", length(nut.play_where_thinnest_mm)),
        ("passes the thickest ridge", passes.into()),
        ("play per infeed", text::plain_quantity(nut.play_per_infeed, 3)),
        ("thread shared, radial", length(nut.engagement_mm)),
        ("sideways float, about", plain(nut.radial_float_mm, 2)),
        ("flanks in contact, about", contact),
        ("pressure on the flanks", pressure),
    ]));
    print("\n");
    print(&kept);
    print(&text::remarks(&opened.findings, Part::Tool, units));
    print(&text::cautions_for(&opened.job, &[About::Lathe, About::Grinding]));
    Ok(())
}

/// What was said of the nut.
fn as_made(made: &NutMade, nut: &mut job::NutSaid) {
    if let Some(q) = made.length {
        nut.length_mm = Some(q.value);
    }
    if let Some(q) = made.split {
        nut.kind = shop::NutKind::Split { kerf_mm: q.value };
    }
    if let Some(q) = made.sleeve {
        nut.kind = shop::NutKind::Sleeve {
            outer_diameter_mm: q.value,
            interference_mm: made.interference.map_or(0.0, |q| q.value),
        };
    }
    if let Some(q) = made.bore_clearance {
        nut.bore_clearance_mm = Some(q.value);
    }
    if let Some(material) = made.material {
        nut.material = material.into();
        nut.material_said = true;
    }
    if made.load.is_some() {
        nut.load_n = made.load;
    }
    if made.unworn_thicker.is_some() {
        nut.unworn_thicker_mm = made.unworn_thicker;
    }
}

#[derive(Serialize)]
struct CastRecord<'a> {
    schema: &'static str,
    shrinkage: Quantity,
    groove: &'a shop::ScrewForm,
    screw: &'a shop::ScrewForm,
    tool: Option<&'a shop::ToolForm>,
    notices: &'a [shop::Notice],
}

/// The screw for a nut that was cast: the cast's ridges are the nut's grooves.
pub(super) fn cast(c: &Cast) -> Result<(), Failure> {
    let opened = work::open(&c.job, |_| {})?;
    permitted(&opened, c.how)?;
    let Some(form) = &opened.findings.screw else { return Err(missing(&opened)) };
    let shrinkage = match c.shrinkage {
        Some(part) => Quantity::entered(part, 0.0),
        None => shop::CastMaterial::from(c.material).shrinkage(),
    };
    let usage = |e: shop::ReplicaError| Failure::Usage(e.said());
    let groove = shop::form_from_cast(form, shrinkage).map_err(usage)?;
    let clearance_mm = c
        .radial_clearance
        .map_or_else(|| shop::crest_clearance_mm(groove.pitch_mm.value), |q| q.value);
    let (screw, notices) =
        shop::screw_for_groove(&groove, c.play.value, clearance_mm).map_err(usage)?;
    let tool = shop::tool_for_screw(&screw, &shop::ToolSetting::default())
        .map_err(|e| Failure::NotMeasured(e.said()))?;
    if c.how.json {
        return print_json(&CastRecord {
            schema: "flanklight/cast/1",
            shrinkage,
            groove: &groove,
            screw: &screw,
            tool: Some(&tool),
            notices: &notices,
        });
    }
    let units = c.how.units_or(opened.job.units);
    let length = |q: Quantity| text::quantity(Some(q), false, units);
    let angle = |q: Quantity| text::quantity(Some(q), true, units);
    print("Screw for the nut that was cast. ± is one standard uncertainty (k = 1).\n\n");
    print(&text::rows(&[
        (
            "shrinkage of the cast",
            format!("{} ({})", text::plain_quantity(shrinkage, 4), shrinkage.source),
        ),
        ("pitch of the nut", length(groove.pitch_mm)),
        ("groove diameter of the nut", length(groove.major_diameter_mm)),
        ("screw: major diameter", length(screw.major_diameter_mm)),
        ("screw: crest flat", length(screw.crest_flat_mm)),
        ("screw: depth", length(screw.depth_mm)),
        ("screw: right flank", angle(screw.right_flank_deg)),
        ("screw: left flank", angle(screw.left_flank_deg)),
    ]));
    print("\nTool for the screw\n\n");
    print(&text::rows(&tool_rows(&tool, units)));
    print("\n");
    for n in &notices {
        print(&text::said(&n.text, units));
    }
    print("\n");
    print(&text::cautions(&[About::Grinding, About::Lathe]));
    Ok(())
}

#[derive(Serialize)]
struct ToolRecord<'a> {
    #[serde(flatten)]
    tool: &'a shop::ToolForm,
    boring_bar: Option<shop::BoringBar>,
    round_blank: Option<shop::RoundBlank>,
    setting_gauge: Option<shop::SettingGauge>,
    rounding: Option<standards::Rounded>,
}

/// Stock left round a setting gauge, mm.
const GAUGE_MARGIN_MM: f64 = 8.0;

pub(super) fn tool(
    path: &Path,
    what: WhatFor,
    to: &RoundTo,
    set: &ToolSet,
    (keep, how): (Keep, How),
) -> Result<(), Failure> {
    let opened = work::open(path, |job| {
        to.over(job);
        job.tool = set.or(job.tool);
        job.sheets.tool_for = match what {
            WhatFor::Nut => ToolFor::Nut,
            WhatFor::Screw => ToolFor::Screw,
        };
    })?;
    permitted(&opened, how)?;
    let rounding = opened.rounded(to)?;
    let Some(tool) = &opened.findings.tool else { return Err(missing(&opened)) };
    let kept = opened.keep(keep.keep)?;
    let bar = opened
        .findings
        .nut
        .as_ref()
        .filter(|_| what == WhatFor::Nut)
        .map(|nut| shop::boring_bar(nut, tool, &job::bar_request(&opened.job)));
    let blank = shop::round_blank(tool, opened.job.units != Units::Mm);
    if how.json {
        return print_json(&ToolRecord {
            tool,
            boring_bar: bar.and_then(Result::ok),
            round_blank: blank.ok(),
            setting_gauge: shop::setting_gauge(tool, GAUGE_MARGIN_MM).ok(),
            rounding,
        });
    }
    let title = match what {
        WhatFor::Nut => "Tool for the nut: copies the screw's ridge, not its groove.",
        WhatFor::Screw => "Tool for the screw: copies its groove.",
    };
    print(&format!("{title} ± is one standard uncertainty (k = 1).\n\n"));
    let units = how.units_or(opened.job.units);
    let mut rows = tool_rows(tool, units);
    match bar {
        Some(Ok(bar)) => rows.push((
            "boring bar",
            format!(
                "{}, standing out {}, tip {} out of it",
                units.plain(bar.diameter_mm, 1),
                units.plain(bar.overhang_mm, 0),
                units.plain(bar.projection_mm, 1)
            ),
        )),
        Some(Err(e)) => rows.push(("boring bar", e.said().in_units(units))),
        None => {}
    }
    rows.push((
        "round blank",
        blank.map_or_else(|e| e.said().in_units(units), |b| units.plain(b.diameter_mm, 1)),
    ));
    print(&text::rows(&rows));
    print("\n");
    let view = match opened.job.picture {
        Some(_) => tool.view.clone(),
        None => tool.view_without_picture(),
    };
    print(&text::wrapped(&view, "  "));
    print(&text::wrapped(&tool.clearances_hold_for().in_units(units), "  "));
    print("\n");
    print(&kept);
    print(&text::remarks(&opened.findings, Part::Tool, units));
    print(&text::cautions_for(&opened.job, &[About::Grinding]));
    Ok(())
}

/// What a tool is ground to, for people.
#[must_use]
pub fn tool_rows(tool: &shop::ToolForm, units: Units) -> Vec<(&'static str, String)> {
    let angle = |q: Quantity| text::quantity(Some(q), true, units);
    let side = |s: &shop::ToolSide, q: Quantity| {
        let role = if s.leading { "leading" } else { "following" };
        let least = if s.clearance_deg < 0.05 { " or more" } else { "" };
        format!(
            "{} from the normal, {role}, side clearance {:.1}°{least}",
            angle(q),
            // Never "-0.0".
            (10.0 * s.clearance_deg).round() / 10.0 + 0.0
        )
    };
    let (left, right) = tool.angles_to_grind();
    let mut rows = vec![
        ("left side (as drawn)", side(&tool.left, left)),
        ("right side (as drawn)", side(&tool.right, right)),
        ("included angle", angle(tool.included_angle_deg)),
        ("tip flat", units.show(tool.tip_flat_mm)),
        (
            "corner radius",
            // A stone rounds a corner by more than a hundredth.
            if tool.corner_radius_mm >= 0.01 {
                units.plain(tool.corner_radius_mm, 3)
            } else {
                "sharp".into()
            },
        ),
        ("depth of the form", units.show(tool.form_depth_mm)),
        ("width at that depth", units.show(tool.width_at_depth_mm)),
        ("front clearance", format!("{:.1}°", tool.front.clearance_deg)),
        (
            "clearances hold for faces up to",
            format!("{} high", units.plain(tool.front.height_mm, 2)),
        ),
        ("lead angle at the smallest diameter", angle(tool.lead_angle_deg)),
    ];
    if let Some(turn) = tool.turn {
        rows.push(("turned about its shank by", turn.angle_and_way()));
    }
    rows
}

/// Magnifications a chart may have, as a job file may.
const CHART_TIMES: std::ops::RangeInclusive<f64> = 0.5..=200.0;

#[derive(Serialize)]
struct SheetsRecord {
    schema: &'static str,
    files: Vec<String>,
}

/// Where sheets are written, and which.
pub(super) struct SheetsInto {
    /// The folder.
    pub out: PathBuf,
    /// Only these, or all.
    pub only: Vec<&'static str>,
    /// Whether files of another job are replaced.
    pub replace: bool,
}

pub(super) fn sheets(
    path: &Path,
    into: &SheetsInto,
    (chart, play): (Option<f64>, Option<Quantity>),
    to: &RoundTo,
    set: &ToolSet,
    how: How,
) -> Result<(), Failure> {
    if let Some(times) = chart.filter(|m| !CHART_TIMES.contains(m)) {
        let (least, most) = (CHART_TIMES.start(), CHART_TIMES.end());
        return Err(Failure::Usage(format!("--chart {times} is outside {least} to {most}").into()));
    }
    let mut opened = work::open_any(path, |job| {
        to.over(job);
        job.tool = set.or(job.tool);
        if let Some(play) = play {
            job.nut.set_play(play);
        }
        job.sheets.chart_magnification = chart.or(job.sheets.chart_magnification);
    })?;
    if !job::printable(&opened.findings) {
        opened = opened.with_thread()?;
    }
    opened.rounded(to)?;
    let today = job::today();
    let to = job::ExportTo {
        home: Some(path),
        only: &into.only,
        replace: into.replace,
        ..job::ExportTo::new(&into.out, &today)
    };
    let written = match job::export(&opened.job, &opened.findings, &to) {
        Ok(written) => written,
        // The page that says so has been written.
        Err(job::TemplateError::Refused(refusal)) => return Err(refused(&refusal, how)),
        Err(e) => return Err(e.into()),
    };
    let files: Vec<String> = written.files.iter().map(|f| f.display().to_string()).collect();
    if how.json {
        return print_json(&SheetsRecord { schema: "flanklight/sheets/1", files });
    }
    print("Written:\n\n");
    for file in &files {
        print(&format!("  {file}\n"));
    }
    print("\n");
    print(&text::wrapped(&super::beside_written(&written), "  "));
    let units = how.units_or(opened.job.units);
    print(&text::remarks(&opened.findings, Part::Sheets, units));
    print(&text::cautions_for(&opened.job, &About::ALL));
    Ok(())
}
