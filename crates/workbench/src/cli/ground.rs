//! `flanklight ground`: a ground tool judged by its own picture.

use super::args::Ground;
use super::failure::Failure;
use super::{print, print_json, text, work};
use form::Quantity;
use job::{GroundSaid, Kept, PictureRef, ToolFor};
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
    let loaded = work::read(&g.picture)?;
    let mut opened = work::open(&g.job, |job| {
        job.sheets.tool_for = ToolFor::Nut;
        job.tool = g.set.or(job.tool);
        job.ground = GroundSaid {
            picture: Some(PictureRef { path: g.picture.clone(), sha256: loaded.sha256.clone() }),
            bar_width_mm: Some(g.bar),
            from_below: g.from_below,
        };
    })?;
    if let Some(refusal) = &opened.findings.refusal {
        return Err(super::workshop::refused(refusal, g.how));
    }
    if opened.findings.tool.is_none() {
        return Err(super::workshop::missing(&opened));
    }
    let before = opened.findings.troubles.len();
    // Nobody asks to stop here.
    let _ = Kept::default().check_ground(&opened.job, &mut opened.findings, Ok(&loaded), &|_| true);
    let Some(ground) = &opened.findings.ground else {
        let why = opened.findings.troubles.get(before).map(|t| t.text.clone());
        return Err(Failure::NotMeasured(why.unwrap_or_else(|| "no tool was found".into())));
    };
    let (found, check) = (&ground.found, &ground.check);
    let kept = opened.keep(g.keep.keep)?;
    if g.how.json {
        return print_json(&GroundRecord {
            schema: "flanklight/ground/1",
            px_per_mm: found.px_per_mm,
            ground: &found.tool,
            check,
        });
    }
    let units = g.how.units_or(opened.job.units);
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
        print(&text::said(&n.text, units));
    }
    print("\n");
    print(&kept);
    print(&text::cautions(&[shop::About::Grinding]));
    Ok(())
}
