//! The groove a tool is to cut, in the axial section, with the edge's points laid out along it.

use crate::groove::{StraightGroove, WallPoint};
use crate::tool::ToolFor;
use form::{Quantity, Thread};
use std::f64::consts::PI;

/// Points along each straight flank of the outline.
pub(crate) const FLANK_POINTS: usize = 33;
/// Points along a rounded corner.
const CORNER_POINTS: usize = 17;

/// What is to be cut, before anything is known of rake planes; axial, in the picture's directions.
pub(crate) struct Shape {
    pub purpose: ToolFor,
    /// Walls right and left of the groove, from the shank's end to the tip.
    pub right: Vec<WallPoint>,
    pub left: Vec<WallPoint>,
    pub tip_radius_mm: f64,
    pub edge_radius_mm: f64,
    pub corner_radius_mm: f64,
    pub tip_flat: Quantity,
    pub depth: Quantity,
    /// Axial angle of the groove's right and left wall, and which flank of the screw each stands for.
    pub right_is: (&'static str, Quantity),
    pub left_is: (&'static str, Quantity),
}

impl Shape {
    pub(crate) fn for_nut(cut: &StraightGroove) -> Self {
        let height = cut.bottom_radius_mm - cut.bore_radius_mm;
        let beyond = 0.15 * height + 0.1;
        // The middle of the tip is the tool's zero, not the middle of the ridge.
        let middle = 0.5 * (cut.right_corner_mm - cut.left_corner_mm);
        let wall = |corner: f64, flank: f64, sign: f64| {
            let straight_from = cut.corner_radius_mm * (1.0 - flank.sin());
            points(height + beyond, straight_from, |d| WallPoint {
                radius_mm: cut.bottom_radius_mm - d,
                along_mm: sign * rounded(corner, flank, cut.corner_radius_mm, d) - middle,
            })
        };
        Self {
            purpose: ToolFor::Nut,
            right: wall(cut.right_corner_mm, cut.right_flank_rad, 1.0),
            left: wall(cut.left_corner_mm, cut.left_flank_rad, -1.0),
            tip_radius_mm: cut.bottom_radius_mm,
            edge_radius_mm: cut.bore_radius_mm,
            corner_radius_mm: cut.corner_radius_mm,
            tip_flat: Quantity::derived(cut.tip_flat_mm(), 0.0),
            depth: Quantity::derived(height, 0.0),
            right_is: ("right", Quantity::derived(cut.right_flank_rad.to_degrees(), 0.0)),
            left_is: ("left", Quantity::derived(cut.left_flank_rad.to_degrees(), 0.0)),
        }
    }

    pub(crate) fn for_screw(thread: &Thread) -> Self {
        let s = thread.section();
        let depth = s.depth_mm();
        let beyond = 0.1 * depth + 0.1;
        let root = 0.5 * thread.minor_diameter_mm();
        let half_flat = 0.5 * s.root_flat_mm();
        // The right wall of a groove is the left flank of the next ridge.
        let wall = |flank: f64, sign: f64| {
            let straight_from = s.root_radius_mm() * (1.0 - flank.sin());
            points(depth + beyond, straight_from, |d| WallPoint {
                radius_mm: root + d,
                along_mm: sign * rounded(half_flat, flank, s.root_radius_mm(), d),
            })
        };
        Self {
            purpose: ToolFor::Screw,
            right: wall(s.left_flank_rad(), 1.0),
            left: wall(s.right_flank_rad(), -1.0),
            tip_radius_mm: root,
            edge_radius_mm: root + depth,
            corner_radius_mm: s.root_radius_mm(),
            tip_flat: Quantity::derived(s.root_flat_mm(), 0.0),
            depth: Quantity::derived(depth, 0.0),
            right_is: ("left", Quantity::derived(s.left_flank_rad().to_degrees(), 0.0)),
            left_is: ("right", Quantity::derived(s.right_flank_rad().to_degrees(), 0.0)),
        }
    }
}

/// Half width of a trapezoidal tip with a rounded corner, `d` back from the tip.
fn rounded(corner: f64, flank: f64, radius: f64, d: f64) -> f64 {
    if radius > 0.0 && (0.0..radius * (1.0 - flank.sin())).contains(&d) {
        let centre = corner - radius * (0.5 * (0.5 * PI - flank)).tan();
        centre + (radius * radius - (radius - d).powi(2)).max(0.0).sqrt()
    } else {
        corner + d * flank.tan()
    }
}

/// Wall points from `whole` back to the tip: the straight flank evenly, the corner by angle.
fn points(whole: f64, straight_from: f64, at: impl Fn(f64) -> WallPoint) -> Vec<WallPoint> {
    let mut out: Vec<WallPoint> = (0..FLANK_POINTS)
        .map(|i| {
            let t = i as f64 / (FLANK_POINTS - 1) as f64;
            at(whole + (straight_from - whole) * t)
        })
        .collect();
    if straight_from > 0.0 {
        out.extend((1..CORNER_POINTS).map(|i| {
            let t = 1.0 - i as f64 / (CORNER_POINTS - 1) as f64;
            // Squared, because the arc runs into the flat tangentially.
            at(straight_from * t * t)
        }));
    }
    out
}
