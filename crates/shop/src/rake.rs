//! The rake plane of a tool, and where a helicoid cuts it.
//!
//! Work frame, right-handed: `x` from the axis toward the tool's tip, `y` against the movement of
//! the work there ("up" for the tool), `z = x × y` along the axis. The work turns about `-z`, so a
//! right-hand thread is cut with the tool moving toward `+z`, and a helicoid is
//! `z = Z(r) + p θ` with `p > 0` for the right hand. With the spindle forward `z` points to the
//! headstock, in reverse to the tailstock, whichever side of the work the tool stands on.
//!
//! Page frame of a tool's drawing: looking down on the rake face along `-y` with the tip up and the
//! shank toward the reader. For a tool inside a bore page-right is `+z`; for one outside, `-z`.

use crate::groove::{WallPoint, wall_at};

/// How the rake plane lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RakePlane {
    /// Whether the tip points away from the axis (a tool inside a bore).
    pub inside: bool,
    /// Radius the tip reaches, mm.
    pub tip_radius_mm: f64,
    /// Tip above centre, mm.
    pub above_mm: f64,
    /// Top rake, radians: the face falls away from the tip along the shank.
    pub rake_rad: f64,
    /// Rotation about `x` that turns the rake face square to the helix, radians, signed as `p`.
    pub turn_rad: f64,
    /// Advance per radian, mm.
    pub advance_mm: f64,
}

impl RakePlane {
    fn axes(&self) -> ([f64; 3], [f64; 3]) {
        let (sr, cr) = self.rake_rad.sin_cos();
        let (st, ct) = self.turn_rad.sin_cos();
        let back_x = if self.inside { -cr } else { cr };
        // Rotation about x by the turn: y → (cos, sin), z → (-sin, cos).
        ([back_x, -sr * ct, -sr * st], [0.0, -st, ct])
    }

    fn tip(&self) -> [f64; 3] {
        let x = (self.tip_radius_mm.powi(2) - self.above_mm.powi(2)).max(0.0).sqrt();
        [x, self.above_mm, 0.0]
    }

    /// A page point in the work frame.
    pub(crate) fn in_work(&self, page: [f64; 2]) -> [f64; 3] {
        let (back, across) = self.axes();
        let tip = self.tip();
        let a = -page[1];
        let v = if self.inside { page[0] } else { -page[0] };
        std::array::from_fn(|i| tip[i] + a * back[i] + v * across[i])
    }

    /// What a page point of the edge cuts: radius, and distance along the axis with the screw motion
    /// taken out.
    pub(crate) fn cuts(&self, page: [f64; 2]) -> WallPoint {
        let [x, y, z] = self.in_work(page);
        WallPoint { radius_mm: x.hypot(y), along_mm: z - self.advance_mm * y.atan2(x) }
    }

    /// The page point that cuts `point`: where the helicoid through it meets the rake plane nearest
    /// the tip. `None` when they do not meet there.
    pub(crate) fn page_of(&self, point: WallPoint) -> Option<[f64; 2]> {
        let across = if self.inside { 1.0 } else { -1.0 };
        let mut page = [across * point.along_mm, -(self.tip_radius_mm - point.radius_mm).abs()];
        // Newton with differences: the map is nearly the identity, three steps reach rounding.
        const STEP: f64 = 1e-5;
        for _ in 0..30 {
            let at = self.cuts(page);
            let (fr, fz) = (at.radius_mm - point.radius_mm, at.along_mm - point.along_mm);
            if fr.abs() < 1e-11 && fz.abs() < 1e-11 {
                return Some(page);
            }
            let dx = {
                let (a, b) =
                    (self.cuts([page[0] + STEP, page[1]]), self.cuts([page[0] - STEP, page[1]]));
                [
                    (a.radius_mm - b.radius_mm) / (2.0 * STEP),
                    (a.along_mm - b.along_mm) / (2.0 * STEP),
                ]
            };
            let dy = {
                let (a, b) =
                    (self.cuts([page[0], page[1] + STEP]), self.cuts([page[0], page[1] - STEP]));
                [
                    (a.radius_mm - b.radius_mm) / (2.0 * STEP),
                    (a.along_mm - b.along_mm) / (2.0 * STEP),
                ]
            };
            let det = dx[0] * dy[1] - dx[1] * dy[0];
            if det.abs() < 1e-9 {
                return None;
            }
            page[0] -= (fr * dy[1] - fz * dy[0]) / det;
            page[1] -= (fz * dx[0] - fr * dx[1]) / det;
            if !(page[0].is_finite() && page[1].is_finite()) {
                return None;
            }
        }
        let at = self.cuts(page);
        let off = (at.radius_mm - point.radius_mm).hypot(at.along_mm - point.along_mm);
        (off < 1e-7).then_some(page)
    }
}

/// A groove to be cut, in the work frame of the tool: its two walls by side of the page.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Target {
    /// Walls toward `+z` and `-z` of the work frame, from the shank's end to the tip; radius runs up
    /// for a bore and down for a screw.
    pub plus: Vec<WallPoint>,
    pub minus: Vec<WallPoint>,
}

impl Target {
    /// Gap between a point of the tool and the wall it must clear, mm, positive when clear; `None`
    /// where there is no wall at that radius.
    pub(crate) fn gap(&self, plane: &RakePlane, point: [f64; 3], plus: bool) -> Option<f64> {
        let [x, y, z] = point;
        let r = x.hypot(y);
        let along = z - plane.advance_mm * y.atan2(x);
        let wall = if plus { &self.plus } else { &self.minus };
        let (first, last) = (wall.first()?, wall.last()?);
        let (lo, hi) = (first.radius_mm.min(last.radius_mm), first.radius_mm.max(last.radius_mm));
        if !(lo..=hi).contains(&r) {
            return None;
        }
        let stands = wall_at(wall, r);
        Some(if plus { stands - along } else { along - stands })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_flat_square_tool_on_centre_is_the_axial_section() {
        let plane = RakePlane {
            inside: true,
            tip_radius_mm: 8.25,
            above_mm: 0.0,
            rake_rad: 0.0,
            turn_rad: 0.0,
            advance_mm: 4.0 / (2.0 * std::f64::consts::PI),
        };
        let page = plane.page_of(WallPoint { radius_mm: 7.0, along_mm: 0.9 }).unwrap();
        assert_abs_diff_eq!(page[0], 0.9, epsilon = 1e-12);
        assert_abs_diff_eq!(page[1], -1.25, epsilon = 1e-12);
    }

    #[test]
    fn what_a_page_point_cuts_leads_back_to_it() {
        for inside in [true, false] {
            let plane = RakePlane {
                inside,
                tip_radius_mm: 8.25,
                above_mm: -0.3,
                rake_rad: 0.15,
                turn_rad: 0.09,
                advance_mm: -0.64,
            };
            let page = [0.7, -1.3];
            let back = plane.page_of(plane.cuts(page)).unwrap();
            assert_abs_diff_eq!(back[0], page[0], epsilon = 1e-9);
            assert_abs_diff_eq!(back[1], page[1], epsilon = 1e-9);
        }
    }
}
