//! The cutting edge of a single-point tool, in the plane of its rake face.

use crate::info::{SheetError, within};
use crate::paper::geometry::{Path, Point, pt};
use form::Quantity;

/// Side of the tool as the template shows it, tip up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FlankSide {
    /// Right.
    Right,
    /// Left.
    Left,
}

/// The form of a tool's cutting edge, seen from above on its rake face, tip up.
///
/// ```text
///          tip flat
///          _______            depth is counted from the tip downward
///  left   /       \  right
///  flank /         \ flank    flank angles from the centre line, which is square to the
///       /           \         axis of the thread; positive when the tool widens below its tip
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToolForm {
    /// Right flank, degrees from the normal to the axis.
    pub right_flank_deg: Quantity,
    /// Left flank, degrees from the normal to the axis.
    pub left_flank_deg: Quantity,
    /// Width of the tip between its theoretical sharp corners, mm.
    pub tip_flat_mm: Quantity,
    /// Radius on both corners of the tip, mm; 0 is sharp.
    pub corner_radius_mm: Quantity,
    /// Depth of the form that cuts, mm.
    pub depth_mm: Quantity,
    /// Both flanks together, degrees, where it is known how their errors hang together; `None` takes
    /// what errs in one to err in the other.
    pub included_angle_deg: Option<Quantity>,
}

impl ToolForm {
    pub(crate) fn check(&self) -> Result<(), SheetError> {
        within("right flank angle", self.right_flank_deg.value, "°", -10.0, 80.0)?;
        within("left flank angle", self.left_flank_deg.value, "°", -10.0, 80.0)?;
        within("tip flat", self.tip_flat_mm.value, "mm", 0.0, 100.0)?;
        within("tool depth", self.depth_mm.value, "mm", 0.01, 100.0)?;
        within("width at full depth", self.width_mm(self.depth_mm.value), "mm", 1e-6, 1000.0)?;
        // Rounded values may overfill the flat by their last digit.
        let most = self.largest_radius_mm() * 1.001 + 1e-4;
        within("corner radius", self.corner_radius_mm.value, "mm", 0.0, most)
    }

    fn right_rad(&self) -> f64 {
        self.right_flank_deg.value.to_radians()
    }
    fn left_rad(&self) -> f64 {
        self.left_flank_deg.value.to_radians()
    }

    /// Largest corner radius the tip flat has room for, mm: that of a fully rounded tip.
    #[must_use]
    pub fn largest_radius_mm(&self) -> f64 {
        self.tip_flat_mm.value / (tangent(self.right_rad()) + tangent(self.left_rad()))
    }

    /// Width between the flanks at `depth_mm` below the tip, mm.
    #[must_use]
    pub fn width_mm(&self, depth_mm: f64) -> f64 {
        self.tip_flat_mm.value + depth_mm * (self.right_rad().tan() + self.left_rad().tan())
    }

    /// Width between the flanks at full depth, with its uncertainty (taken as independent).
    #[must_use]
    pub fn width_at_depth_mm(&self) -> Quantity {
        let h = self.depth_mm.value;
        let (r, l) = (self.right_rad(), self.left_rad());
        let slope = |a: f64| h * (1.0 + a.tan().powi(2));
        let u = [
            self.tip_flat_mm.u,
            self.depth_mm.u * (r.tan() + l.tan()),
            slope(r) * self.right_flank_deg.u.to_radians(),
            slope(l) * self.left_flank_deg.u.to_radians(),
        ];
        Quantity::derived(self.width_mm(h), u.iter().map(|v| v * v).sum::<f64>().sqrt())
    }

    /// Right and left flank angle together, degrees.
    #[must_use]
    pub fn included_deg(&self) -> Quantity {
        let (r, l) = (self.right_flank_deg, self.left_flank_deg);
        // Both lean on the same blur and light: what errs in one errs in the other, as far as is known.
        let together = || Quantity::derived(r.value + l.value, r.u + l.u);
        self.included_angle_deg.unwrap_or_else(together)
    }

    /// The point of the left (or right) flank at `depth_mm` below the tip; tip centre at the
    /// origin, tip up, mm.
    #[must_use]
    pub fn flank_point(&self, side: FlankSide, depth_mm: f64) -> Point {
        let half = 0.5 * self.tip_flat_mm.value;
        match side {
            FlankSide::Right => pt(half + depth_mm * self.right_rad().tan(), -depth_mm),
            FlankSide::Left => pt(-half - depth_mm * self.left_rad().tan(), -depth_mm),
        }
    }

    /// The edge from the left flank at `depth_mm` over the tip to the right flank, open below; tip
    /// centre at the origin, tip up, mm.
    #[must_use]
    pub fn edge(&self, depth_mm: f64) -> Path {
        use FlankSide::{Left, Right};
        let r = self.corner_radius_mm.value.min(self.largest_radius_mm()).max(0.0);
        let mut path = Path::default();
        path.push(self.flank_point(Left, depth_mm), 0.0);
        let half = 0.5 * self.tip_flat_mm.value;
        if r <= 0.0 {
            path.push(pt(-half, 0.0), 0.0);
            path.push(pt(half, 0.0), 0.0);
        } else {
            let (tl, tr) = (r * tangent(self.left_rad()), r * tangent(self.right_rad()));
            let turn = |flank: f64| std::f64::consts::FRAC_PI_2 - flank;
            // Going up the left flank and over the tip the edge turns clockwise.
            let bulge = |flank: f64| -(0.25 * turn(flank)).tan();
            let (left, right) = (self.left_rad(), self.right_rad());
            path.push(pt(-half - tl * left.sin(), -tl * left.cos()), bulge(left));
            let (a, b) = (-half + tl, half - tr);
            if b - a > 1e-9 {
                path.push(pt(a, 0.0), 0.0);
            }
            path.push(pt(b, 0.0), bulge(right));
            path.push(pt(half + tr * right.sin(), -tr * right.cos()), 0.0);
        }
        path.push(self.flank_point(Right, depth_mm), 0.0);
        path
    }
}

/// From a theoretical sharp corner to where a unit radius touches flank and flat.
fn tangent(flank_rad: f64) -> f64 {
    (0.5 * (std::f64::consts::FRAC_PI_2 - flank_rad)).tan()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn tool(right: f64, left: f64, flat: f64, radius: f64) -> ToolForm {
        ToolForm {
            right_flank_deg: Quantity::measured(right, 0.03),
            left_flank_deg: Quantity::measured(left, 0.03),
            tip_flat_mm: Quantity::measured(flat, 0.01),
            corner_radius_mm: Quantity::measured(radius, 0.01),
            depth_mm: Quantity::derived(2.25, 0.01),
            included_angle_deg: None,
        }
    }

    #[test]
    fn thirty_degree_groove_width() {
        // ISO 2904: crest flat 0.366 P; P 4, at P/2 below it the ridge is 0.366 P + P tan 15°.
        let t = tool(15.0, 15.0, 1.464, 0.0);
        assert_abs_diff_eq!(
            t.width_mm(2.0),
            1.464 + 4.0 * 15f64.to_radians().tan(),
            epsilon = 1e-12
        );
    }

    #[test]
    fn rounded_corners_touch_flank_and_flat() {
        let t = tool(7.0, 45.0, 1.0, 0.2);
        let edge = t.edge(2.0);
        let mut radii = Vec::new();
        for s in edge.segments() {
            if let crate::Segment::Arc { from, to, centre, radius, .. } = s {
                radii.push(radius);
                // Tangent to the tip line: the centre lies one radius under it.
                assert_abs_diff_eq!(centre.y, -0.2, epsilon = 1e-9);
                assert_abs_diff_eq!((from - centre).length(), 0.2, epsilon = 1e-9);
                assert_abs_diff_eq!((to - centre).length(), 0.2, epsilon = 1e-9);
            }
        }
        assert_eq!(radii.len(), 2);
        for r in radii {
            assert_abs_diff_eq!(r, 0.2, epsilon = 1e-9);
        }
    }

    #[test]
    fn limits_are_named() {
        let e = tool(15.0, 15.0, 1.0, 2.0).check().unwrap_err().to_string();
        assert!(e.contains("corner radius 2 mm is outside"), "{e}");
        assert!(tool(f64::NAN, 15.0, 1.0, 0.0).check().is_err());
    }
}
