//! `flanklight nut`, `tool` and `sheets`.

use super::args::{How, WhatFor};
use super::failure::Failure;
use super::{print, print_json, text, work};
use form::{Quantity, Units};
use job::{Part, ToolFor};
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

#[derive(Serialize)]
struct NutRecord {
    schema: &'static str,
    bore_mm: f64,
    groove_diameter_mm: f64,
    tool_tip_flat_mm: f64,
    infeed_mm: f64,
    axial_play_mm: f64,
    radial_clearance_mm: f64,
    /// The same with uncertainty and source.
    quantities: BTreeMap<&'static str, Quantity>,
}

/// A duty that is refused ends every command that designs something.
fn permitted(opened: &work::Opened) -> Result<(), Failure> {
    match &opened.findings.refusal {
        Some(refusal) => Err(Failure::Refused(refusal.clone())),
        None => Ok(()),
    }
}

fn missing(opened: &work::Opened) -> Failure {
    opened
        .findings
        .first_trouble()
        .map_or_else(|| Failure::NotMeasured("the tool could not be designed".into()), Failure::of)
}

pub(super) fn nut(
    path: &Path,
    play: Quantity,
    radial: Option<Quantity>,
    how: How,
) -> Result<(), Failure> {
    let opened = work::open(path, |job| {
        job.nut.play_mm = play;
        if radial.is_some() {
            job.nut.radial_clearance_mm = radial;
        }
    })?;
    permitted(&opened)?;
    let Some(nut) = &opened.findings.nut else { return Err(missing(&opened)) };
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
        });
    }
    let units = how.units.units();
    let length = |q: Quantity| format!("{:<26} {}", units.show(q), q.source);
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
    ]));
    print("\n");
    print(&text::remarks(&opened.findings, Part::Tool));
    print(&text::cautions());
    Ok(())
}

pub(super) fn tool(path: &Path, what: WhatFor, how: How) -> Result<(), Failure> {
    let opened = work::open(path, |job| {
        job.sheets.tool_for = match what {
            WhatFor::Nut => ToolFor::Nut,
            WhatFor::Screw => ToolFor::Screw,
        };
    })?;
    permitted(&opened)?;
    let Some(tool) = &opened.findings.tool else { return Err(missing(&opened)) };
    if how.json {
        return print_json(tool.as_ref());
    }
    let title = match what {
        WhatFor::Nut => "Tool for the nut: copies the screw's ridge, not its groove.",
        WhatFor::Screw => "Tool for the screw: copies its groove.",
    };
    print(&format!("{title} ± is one standard uncertainty (k = 1).\n\n"));
    print(&text::rows(&tool_rows(tool, how.units.units())));
    print("\n");
    print(&text::wrapped(&tool.view, "  "));
    print("\n");
    print(&text::remarks(&opened.findings, Part::Tool));
    print(&text::cautions());
    Ok(())
}

/// What a tool is ground to, for people.
#[must_use]
pub fn tool_rows(tool: &shop::ToolForm, units: Units) -> Vec<(&'static str, String)> {
    let angle = |q: Quantity| text::quantity(Some(q), true, units);
    let side = |s: &shop::ToolSide| {
        let role = if s.leading { "leading" } else { "following" };
        format!(
            "{} from the normal, {role}, side clearance {:.1}°",
            angle(s.angle_deg),
            s.clearance_deg
        )
    };
    vec![
        ("left side (as drawn)", side(&tool.left)),
        ("right side (as drawn)", side(&tool.right)),
        ("included angle", angle(tool.included_angle_deg)),
        ("tip flat", units.show(tool.tip_flat_mm)),
        (
            "corner radius",
            if tool.corner_radius_mm > 0.0 {
                units.plain(tool.corner_radius_mm, 3)
            } else {
                "sharp".into()
            },
        ),
        ("depth of the form", units.show(tool.form_depth_mm)),
        ("width at that depth", units.show(tool.width_at_depth_mm)),
        ("front clearance", format!("{:.1}°", tool.front.clearance_deg)),
        ("lead angle at the smallest diameter", angle(tool.lead_angle_deg)),
    ]
}

#[derive(Serialize)]
struct SheetsRecord {
    schema: &'static str,
    files: Vec<String>,
}

pub(super) fn sheets(path: &Path, out: &Path, how: How) -> Result<(), Failure> {
    let opened = work::open(path, |_| {})?;
    let files = job::export(&opened.job, &opened.findings, out, &work::today())?;
    let files: Vec<String> = files.iter().map(|f| f.display().to_string()).collect();
    if how.json {
        return print_json(&SheetsRecord { schema: "flanklight/sheets/1", files });
    }
    print("Written:\n\n");
    for file in &files {
        print(&format!("  {file}\n"));
    }
    print("\n");
    print(&text::remarks(&opened.findings, Part::Tool));
    print(&text::cautions());
    Ok(())
}
