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
    /// Fraction along the piece, 0 to 1.
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
    pub fn grazing_theta(&self, p: &ProfilePoint, groove: i32, eye: &Eye) -> Option<f64> {
        if self.profile.rise() != 0.0 {
            return self.on_cone(p, groove, eye);
        }
        let (r, dr, dz, adv) = (p.r, p.dr, p.dz, self.advance);
        let sine = dz * r + eye.a * dr * adv; // -S
        let cosine = -dr * adv + eye.a * dz * r;
        let constant = -eye.w * dz * r * r + r * dr * (eye.w * self.axial(p, groove) - eye.b);
        let linear = eye.w * r * dr * adv;
        let amplitude = (sine * sine + cosine * cosine).sqrt();
        let ratio = constant / amplitude;
        if ratio.is_nan() || ratio.abs() >= 1.0 {
            return None;
        }
        let mut theta = cosine.atan2(sine) + ratio.asin();
        if linear != 0.0 {
            for _ in 0..4 {
                let (sin, cos) = theta.sin_cos();
                let value = -sine * sin + cosine * cos + constant + linear * theta;
                let slope = -sine * cos - cosine * sin + linear;
                let step = value / slope;
                theta -= step;
                // The error left is of the order of the square of the step.
                if step.abs() < 1e-7 {
                    break;
                }
            }
        }
        // Beyond this turn the outline is always hidden behind something nearer the edge.
        (theta.abs() < 1.48).then_some(theta)
    }

    /// The same on a cone of rise `κ`.
    ///
    /// With `R = r + κ ζ`, `ζ` the place along the axis, the normal is
    /// `(r'p sin θ - z'R cos θ, -r'p cos θ - z'R sin θ, R m)`, `m = r' + κ z'`: that of the parallel
    /// thread but for the slope along the axis. `R` changes with the turn by `κ p` a radian, little
    /// enough that the solution for the radius at `θ = 0` is a good start for Newton's method.
    fn on_cone(&self, p: &ProfilePoint, groove: i32, eye: &Eye) -> Option<f64> {
        let (dr, dz, adv, rise) = (p.dr, p.dz, self.advance, self.profile.rise());
        let axial = self.axial(p, groove);
        let m = dr + rise * dz;
        let r0 = p.r + rise * axial;
        let sine = dz * r0 + eye.a * dr * adv;
        let cosine = -dr * adv + eye.a * dz * r0;
        let constant = -eye.w * dz * r0 * r0 + r0 * m * (eye.w * axial - eye.b);
        let ratio = constant / (sine * sine + cosine * cosine).sqrt();
        // Written so that NaN and a cone beyond its apex end here as well.
        if !(r0 > 0.0 && ratio.abs() < 1.0) {
            return None;
        }
        let mut theta = cosine.atan2(sine) + ratio.asin();
        let dr_turn = rise * adv;
        for _ in 0..6 {
            let (sin, cos) = theta.sin_cos();
            let zeta = axial + adv * theta;
            let r = r0 + dr_turn * theta;
            let along = eye.w * (m * zeta - dz * r) - eye.b * m;
            let value = r * along - (eye.a * sin + cos) * dr * adv + dz * r * (eye.a * cos - sin);
            let slope = dr_turn * along
                + r * eye.w * (m * adv - dz * dr_turn)
                + (sin - eye.a * cos) * dr * adv
                + dz * (dr_turn * (eye.a * cos - sin) - r * (eye.a * sin + cos));
            let step = value / slope;
            theta -= step;
            if step.abs() < 1e-7 {
                break;
            }
        }
        (theta.abs() < 1.48).then_some(theta)
    }

    /// The contour point at fraction `s` of `piece`, projected.
    pub fn seen(
        &self,
        groove: i32,
        piece: Piece,
        s: f64,
        projection: &Projection,
        eye: &Eye,
    ) -> Option<(Site, (f64, f64))> {
        let p = self.profile.point(piece, s);
        let theta = self.grazing_theta(&p, groove, eye)?;
        let point = self.surface(&p, groove, theta, theta.sin_cos());
        Some((Site { groove, piece, s, theta }, projection.cast(point)))
    }
}
