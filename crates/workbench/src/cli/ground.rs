//! `flanklight ground`: a ground tool judged by its own picture.

use super::args::Ground;
use super::failure::Failure;
use super::{print, print_json, text, work};
use form::Quantity;
use job::ToolFor;
use picture::DrawnWanted;
use serde::Serialize;

#[derive(Serialize)]
struct GroundRecord<'a> {
    schema: &'static str,
    px_per_mm: Quantity,
    ground: &'a shop::GroundTool,
    #[serde(flatten)]
    check: &'a shop::GroundCheck,
}

pub(super) fn run(g: &Ground) -> Result<(), Failure> {
    let opened = work::open(&g.job, |job| job.sheets.tool_for = ToolFor::Nut)?;
    if let Some(refusal) = &opened.findings.refusal {
        return Err(super::workshop::refused(refusal, g.how));
    }
    let (Some(screw), Some(nut)) = (&opened.findings.screw, &opened.findings.nut) else {
        return Err(Failure::without_measurement(&opened.findings));
    };
    let not = |e: String| Failure::NotMeasured(e);
    let tool = shop::tool_for_nut(screw, nut, &g.set.or(opened.job.tool))
        .map_err(|e| not(e.to_string()))?;
    let loaded = work::read(&g.picture)?;
    let name = g.picture.display();
    let named = |e: &dyn std::fmt::Display| not(format!("{name}: {e}"));
    let scene = picture::trace(&loaded.picture.grey, DrawnWanted::Shadow, &|_| true)
        .map_err(|e| named(&e))?;
    let bar = picture::find_bar(&scene, None).map_err(|e| named(&e))?;
    let found =
        job::read_ground_tool(&scene, &bar, g.bar, &tool, g.from_below).map_err(|e| named(&e))?;
    let check =
        shop::check_ground_tool(screw, nut, &tool, &found.tool).map_err(|e| not(e.to_string()))?;
    if g.how.json {
        return print_json(&GroundRecord {
            schema: "flanklight/ground/1",
            px_per_mm: found.px_per_mm,
            ground: &found.tool,
            check: &check,
        });
    }
    let units = g.how.units.units();
    let angle = |q: Quantity| text::quantity(Some(q), true, units);
    let length = |q: Quantity| text::quantity(Some(q), false, units);
    print("The tool as ground, against its drawing. ± is one standard uncertainty (k = 1).\n\n");
    let both = |got: String, off: String| format!("{got:<24} off by {off}");
    let t = &found.tool;
    print(&text::rows(&[
        ("left side (as drawn)", both(angle(t.left_deg), angle(check.left_error_deg))),
        ("right side (as drawn)", both(angle(t.right_deg), angle(check.right_error_deg))),
        ("tip flat", both(length(t.tip_flat_mm), length(check.tip_flat_error_mm))),
        (
            "corner radius",
            if t.corner_radius_mm > 0.0 {
                units.plain(t.corner_radius_mm, 2)
            } else {
                "sharp".into()
            },
        ),
        ("axial play with it", length(check.play_mm)),
        ("change of the play", length(check.play_change_mm)),
    ]));
    if found.square_by_flanks {
        print("\n");
        print(&text::bullet(
            "the tip is too short to be square by: only the sum of both angles was seen, and its \
             error is shared out evenly",
        ));
    }
    print("\n");
    for n in &check.notices {
        print(&text::bullet(&n.text));
    }
    print("\n");
    print(&text::cautions());
    Ok(())
}
