//! Inputs for the sheets: several forms, both papers, both systems of units, long names.
#![allow(dead_code, reason = "each test file uses some of it")]

use form::{Quantity, Source, Units};
use sheets::{FlankSide, Paper, Row, SheetInfo, SideClearance, ToolForm, ToolTemplate, Use};

pub const LONG_NAME: &str = "Floor loom, warp beam tension screw, second of the pair, with the \
    worn middle third and the unworn ends, measured again after cleaning with paraffin and a stiff \
    brass brush because the first picture showed lint";

pub fn info(paper: Paper, units: Units, job: &str) -> SheetInfo {
    SheetInfo {
        job: job.into(),
        date: "14 March 2031".into(),
        made_by: "Flanklight 0.1.0".into(),
        units,
        paper,
        cautions: vec![
            "Lathe: chuck key out, no gloves, sleeves or rings; isolate before changing wheels."
                .into(),
        ],
        thread_use: Use::Permitted,
    }
}

/// A tool by pitch, right and left flank, tip flat, radius and depth.
pub fn tool(right: f64, left: f64, flat: f64, radius: f64, depth: f64) -> ToolForm {
    ToolForm {
        right_flank_deg: Quantity::measured(right, 0.034),
        left_flank_deg: Quantity::measured(left, 0.041),
        tip_flat_mm: Quantity::derived(flat, 0.006),
        corner_radius_mm: if radius > 0.0 {
            Quantity::measured(radius, 0.011)
        } else {
            Quantity::assumed(0.0, 0.0)
        },
        depth_mm: Quantity::derived(depth, 0.008),
    }
}

pub fn trapezoid_4() -> ToolForm {
    tool(15.021, 14.987, 1.395, 0.0, 2.25)
}
pub fn sixty_1() -> ToolForm {
    tool(30.04, 29.93, 0.125, 0.05, 0.613)
}
pub fn buttress_35() -> ToolForm {
    tool(7.03, 44.9, 0.92, 0.12, 2.4)
}
pub fn tiny_05() -> ToolForm {
    tool(29.6, 30.3, 0.0625, 0.0, 0.307)
}
pub fn huge_12() -> ToolForm {
    tool(15.0, 15.0, 4.39, 0.35, 6.5)
}
pub fn square_6() -> ToolForm {
    tool(0.0, 0.0, 3.02, 0.0, 3.1)
}

pub fn template(form: ToolForm) -> ToolTemplate {
    ToolTemplate {
        subject: "nut tool (copies the screw's ridge)".into(),
        form,
        leading: FlankSide::Left,
        clearance: SideClearance {
            lead_angle_deg: Quantity::derived(4.55, 0.02),
            leading_deg: Quantity::derived(8.5, 0.1),
            following_deg: Quantity::derived(1.2, 0.1),
            front_deg: Quantity::assumed(8.0, 0.0),
        },
        view: "Seen from above on the rake face, tip up. Tool set square to the axis, its edge at \
               centre height, flat top."
            .into(),
        rows: vec![
            Row::length("Pitch", Quantity::measured(4.000_3, 0.000_4)),
            Row::words("Hand, starts", "right, 1", Source::Measured),
            Row::angle("Top rake", Quantity::assumed(0.0, 0.0)),
        ],
        notes: vec!["Least clearance of the side faces against the cut flank: 0.11 mm.".into()],
        magnification: None,
    }
}
