//! Where the line of sight grazes a helicoid.

use crate::profile::{Piece, Profile, ProfilePoint};
use crate::view::{Eye, Point3, Projection};

/// A place on the surface of a screw, named so that it can be found again on a slightly different
/// screw: tooth, piece of the section, fraction along it, and turn about the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Which groove: 0 starts at the crest whose centre lies at the phase.
    pub groove: i32,
    /// Piece of the section.
    pub piece: Piece,
    /// Fraction along the piece, 0 to 1; on a sharp corner, which has no length, of its stretch of helix.
    pub s: f64,
    /// Turn about the axis from the upper edge, radians.
    pub theta: f64,
}

/// A helicoid seen at its upper edge: section, advance per radian (signed), phase of crest 0.
#[derive(Debug, Clone, Copy)]
pub(super) struct Helicoid<'a> {
    pub profile: &'a Profile,
    pub advance: f64,
    pub phase: f64,
}

impl Helicoid<'_> {
    /// The point of the surface at `site`, in the frame of the screw; `(sin, cos)` are those of the
    /// site's turn.
    pub fn point(&self, site: &Site, (sin, cos): (f64, f64)) -> Point3 {
        let p = self.profile.point(site.piece, site.s);
        self.surface(&p, site.groove, site.theta, (sin, cos))
    }

    /// The point of the surface at `site`, which lies at `p` of the section.
    pub fn place(&self, p: &ProfilePoint, site: &Site) -> Point3 {
        self.surface(p, site.groove, site.theta, site.theta.sin_cos())
    }

    fn surface(&self, p: &ProfilePoint, groove: i32, theta: f64, (sin, cos): (f64, f64)) -> Point3 {
        let z = self.axial(p, groove) + self.advance * theta;
        let r = p.r + self.profile.rise() * z;
        [r * cos, r * sin, z]
    }

    fn axial(&self, p: &ProfilePoint, groove: i32) -> f64 {
        self.phase + p.z + f64::from(groove) * self.profile.section().pitch_mm()
    }

    /// Turn at which the line of sight grazes the surface at `p`; `None` where it never does.
    ///
    /// The normal of the helicoid is `(r'p sin θ - z'r cos θ, -r'p cos θ - z'r sin θ, r r')`. Its
    /// product with the line from the eye, divided by the eye's distance, is
    /// `S sin θ + C cos θ + K + L θ` with the coefficients below; `L` is zero for parallel light.
    ///
    /// On a cone `r` grows with the turn; see [`on_cone`](Self::on_cone).
    pub fn grazing(&self, p: &ProfilePoint, groove: i32, eye: &Eye) -> Option<Turn> {
        if self.profile.rise() != 0.0 {
            return self.on_cone(p, groove, eye);
        }
        let (r, dr, dz, adv) = (p.r, p.dr, p.dz, self.advance);
        let sine = dz * r + eye.a * dr * adv; // -S
        let cosine = -dr * adv + eye.a * dz * r;
        let constant = -eye.w * dz * r * r + r * dr * (eye.w * self.axial(p, groove) - eye.b);
        let linear = eye.w * r * dr * adv;
        let mut turn = Turn::solving(sine, cosine, constant)?;
        if linear != 0.0 {
            for _ in 0..4 {
                let Turn { theta, sin, cos } = turn;
                let value = -sine * sin + cosine * cos + constant + linear * theta;
                let slope = -sine * cos - cosine * sin + linear;
                let step = value / slope;
                turn = turn.by(-step);
                // The error left is of the order of the square of the step.
                if step.abs() < 1e-7 {
                    break;
                }
            }
        }
        turn.may_be_seen()
    }

    /// The same on a cone of rise `κ`.
    ///
    /// With `R = r + κ ζ`, `ζ` the place along the axis, the normal is
    /// `(r'p sin θ - z'R cos θ, -r'p cos θ - z'R sin θ, R m)`, `m = r' + κ z'`: that of the parallel
    /// thread but for the slope along the axis. `R` changes with the turn by `κ p` a radian, little
    /// enough that the solution for the radius at `θ = 0` is a good start for Newton's method.
    fn on_cone(&self, p: &ProfilePoint, groove: i32, eye: &Eye) -> Option<Turn> {
        let (dr, dz, adv, rise) = (p.dr, p.dz, self.advance, self.profile.rise());
        let axial = self.axial(p, groove);
        let m = dr + rise * dz;
        let r0 = p.r + rise * axial;
        let sine = dz * r0 + eye.a * dr * adv;
        let cosine = -dr * adv + eye.a * dz * r0;
        let constant = -eye.w * dz * r0 * r0 + r0 * m * (eye.w * axial - eye.b);
        // Beyond its apex a cone has no surface; written so that NaN ends here as well.
        if !(r0 > 0.0) {
            return None;
        }
        let mut turn = Turn::solving(sine, cosine, constant)?;
        let dr_turn = rise * adv;
        for _ in 0..6 {
            let Turn { theta, sin, cos } = turn;
            let zeta = axial + adv * theta;
            let r = r0 + dr_turn * theta;
            let along = eye.w * (m * zeta - dz * r) - eye.b * m;
            let value = r * along - (eye.a * sin + cos) * dr * adv + dz * r * (eye.a * cos - sin);
            let slope = dr_turn * along
                + r * eye.w * (m * adv - dz * dr_turn)
                + (sin - eye.a * cos) * dr * adv
                + dz * (dr_turn * (eye.a * cos - sin) - r * (eye.a * sin + cos));
            let step = value / slope;
            turn = turn.by(-step);
            if step.abs() < 1e-7 {
                break;
            }
        }
        turn.may_be_seen()
    }

    /// The contour point at `p`, which lies at fraction `s` of `piece`, projected.
    pub fn seen(
        &self,
        site: (i32, Piece, f64),
        p: &ProfilePoint,
        projection: &Projection,
        eye: &Eye,
    ) -> Option<(Site, (f64, f64))> {
        let (groove, piece, s) = site;
        let Turn { theta, sin, cos } = self.grazing(p, groove, eye)?;
        let point = self.surface(p, groove, theta, (sin, cos));
        Some((Site { groove, piece, s, theta }, projection.cast(point)))
    }
}

/// An angle about the axis, radians, with its sine and cosine, which change along with it: a contour
/// has thousands of points, and small turns need no table of sines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turn {
    theta: f64,
    sin: f64,
    cos: f64,
}

/// Turn up to which a series of five terms is exact to rounding, radians.
const SMALL_TURN: f64 = 0.02;

impl Turn {
    /// The turn near the upper edge where `a sin θ - b cos θ = c`; `None` where there is none.
    ///
    /// It is `atan2(b, a) + asin(c / √(a² + b²))`; sine and cosine of both are at hand.
    fn solving(a: f64, b: f64, c: f64) -> Option<Self> {
        let size = (a * a + b * b).sqrt();
        let ratio = c / size;
        // Written so that NaN ends here as well.
        if !(ratio.abs() < 1.0) {
            return None;
        }
        let other = (1.0 - ratio * ratio).sqrt();
        let (sin, cos) = ((b * other + a * ratio) / size, (a * other - b * ratio) / size);
        Some(Self { theta: sin.atan2(cos), sin, cos })
    }

    fn by(self, angle: f64) -> Self {
        let theta = self.theta + angle;
        // Also where it is not a number.
        if !(angle.abs() < SMALL_TURN) {
            let (sin, cos) = theta.sin_cos();
            return Self { theta, sin, cos };
        }
        let q = angle * angle;
        let sin = angle * (1.0 - q / 6.0 * (1.0 - q / 20.0 * (1.0 - q / 42.0)));
        let cos = 1.0 - q / 2.0 * (1.0 - q / 12.0 * (1.0 - q / 30.0 * (1.0 - q / 56.0)));
        Self { theta, sin: self.sin * cos + self.cos * sin, cos: self.cos * cos - self.sin * sin }
    }

    /// Beyond this turn the outline is always hidden behind something nearer the edge.
    fn may_be_seen(self) -> Option<Self> {
        (self.theta.abs() < 1.48).then_some(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_turn_keeps_its_sine_and_cosine() {
        for (a, b, c) in [(10.0, 0.6, -1.3), (8.0, -3.0, 2.0), (1e-3, 0.6, 0.1), (-2.0, 1.0, 1.5)] {
            let mut turn = Turn::solving(a, b, c).unwrap();
            assert_abs_diff_eq!(a * turn.sin - b * turn.cos, c, epsilon = 1e-12);
            for angle in [0.019, -0.011, 1e-5, 0.4, -1e-9, -0.0199] {
                turn = turn.by(angle);
                let (sin, cos) = turn.theta.sin_cos();
                assert_abs_diff_eq!(turn.sin, sin, epsilon = 4e-16);
                assert_abs_diff_eq!(turn.cos, cos, epsilon = 4e-16);
            }
        }
        assert!(Turn::solving(1.0, 1.0, 1.5).is_none());
        assert!(Turn::solving(0.0, 0.0, 0.0).is_none());
    }
}
