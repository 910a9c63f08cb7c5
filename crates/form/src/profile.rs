//! The curve of a section, piece by piece, as the contour condition walks it.

use crate::section::{Section, corner_tangent_length};
use std::f64::consts::FRAC_PI_2;

/// A piece of one groove, in the order met going right from a crest centre to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Piece {
    /// Right half of a crest.
    CrestRight,
    /// Right crest corner: an arc, or a sharp corner as an arc of no radius.
    CornerRight,
    /// Right flank of the tooth on the left of the groove.
    FlankRight,
    /// Root arc below the right flank.
    FilletRight,
    /// Root line.
    Root,
    /// Root arc below the left flank.
    FilletLeft,
    /// Left flank of the tooth on the right of the groove.
    FlankLeft,
    /// Left crest corner of the next tooth.
    CornerLeft,
    /// Left half of the next crest.
    CrestLeft,
}

impl Piece {
    /// All pieces in order.
    pub const ALL: [Self; 9] = [
        Self::CrestRight,
        Self::CornerRight,
        Self::FlankRight,
        Self::FilletRight,
        Self::Root,
        Self::FilletLeft,
        Self::FlankLeft,
        Self::CornerLeft,
        Self::CrestLeft,
    ];

    /// Pieces that belong to the root.
    #[must_use]
    pub fn is_root(self) -> bool {
        matches!(self, Self::FilletRight | Self::Root | Self::FilletLeft)
    }
    /// Straight flanks.
    #[must_use]
    pub fn is_flank(self) -> bool {
        matches!(self, Self::FlankRight | Self::FlankLeft)
    }
    /// Crest lines.
    #[must_use]
    pub fn is_crest(self) -> bool {
        matches!(self, Self::CrestRight | Self::CrestLeft)
    }
}

/// A point of the section with the direction of its curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfilePoint {
    /// Radius, mm.
    pub r: f64,
    /// Position along the axis from the crest centre, mm.
    pub z: f64,
    /// `dr` of the unit tangent (walking right).
    pub dr: f64,
    /// `dz` of the unit tangent.
    pub dz: f64,
}

/// The curve of a section at a given crest radius, on a cylinder or a cone.
#[derive(Debug, Clone, Copy)]
pub struct Profile {
    section: Section,
    crest_r: f64,
    /// Radius gained per length along the axis.
    rise: f64,
    /// What both sides are built from: [right, left].
    sides: [Side; 2],
}

/// Sine and cosine of a curve's angle where it runs along the axis.
const LEVEL: (f64, f64) = (0.0, 1.0);

#[derive(Debug, Clone, Copy)]
struct Side {
    /// Sine, cosine and tangent of the flank's angle from the radial line.
    sin: f64,
    cos: f64,
    tan: f64,
    /// Angle of the curve at the flank, from the axis, radians.
    slope_rad: f64,
    crest_tangent: f64,
    root_tangent: f64,
}

impl Profile {
    /// The curve of `section` with its crest line at radius `crest_r` (half the major diameter).
    #[must_use]
    pub fn new(section: &Section, crest_r: f64) -> Self {
        let side = |flank_rad: f64| {
            let tangent = corner_tangent_length(flank_rad);
            let (sin, cos) = flank_rad.sin_cos();
            Side {
                sin,
                cos,
                tan: flank_rad.tan(),
                slope_rad: FRAC_PI_2 - flank_rad,
                crest_tangent: section.crest_radius_mm() * tangent,
                root_tangent: section.root_radius_mm() * tangent,
            }
        };
        Self {
            section: *section,
            crest_r,
            rise: 0.0,
            sides: [side(section.right_flank_rad()), side(section.left_flank_rad())],
        }
    }

    /// The same curve wound on a cone whose radius grows by `rise` mm per mm along the axis, positive
    /// to the right. The section given is then the [straightened](Section::straightened) one, and
    /// every radius is that of a parallel thread: the surface lies `rise × z` above it, with `z`
    /// counted from the origin of the axis.
    #[must_use]
    pub fn on_cone(self, rise: f64) -> Self {
        Self { rise, ..self }
    }

    /// Radius gained per length along the axis; 0 for a parallel thread.
    #[must_use]
    pub fn rise(&self) -> f64 {
        self.rise
    }

    /// The section.
    #[must_use]
    pub fn section(&self) -> &Section {
        &self.section
    }
    /// Radius of the crest line, mm.
    #[must_use]
    pub fn crest_r(&self) -> f64 {
        self.crest_r
    }
    /// Radius of the root line, mm.
    #[must_use]
    pub fn root_r(&self) -> f64 {
        self.crest_r - self.section.depth_mm()
    }

    /// Angle the curve turns through in a corner or fillet of this piece, radians; 0 for lines.
    #[must_use]
    pub fn turn_rad(&self, piece: Piece) -> f64 {
        match piece {
            Piece::CornerRight | Piece::FilletRight => self.sides[0].slope_rad,
            Piece::CornerLeft | Piece::FilletLeft => self.sides[1].slope_rad,
            _ => 0.0,
        }
    }

    /// Radius of the arc of this piece, mm; 0 for lines and sharp corners.
    #[must_use]
    pub fn arc_radius_mm(&self, piece: Piece) -> f64 {
        match piece {
            Piece::CornerRight | Piece::CornerLeft => self.section.crest_radius_mm(),
            Piece::FilletRight | Piece::FilletLeft => self.section.root_radius_mm(),
            _ => 0.0,
        }
    }

    /// The point at fraction `s` (0 to 1, walking right) of `piece`. On corners and fillets `s` is
    /// the fraction of the turn.
    #[must_use]
    pub fn point(&self, piece: Piece, s: f64) -> ProfilePoint {
        let pitch = self.section.pitch_mm();
        match piece {
            Piece::CrestRight | Piece::CornerRight | Piece::FlankRight | Piece::FilletRight => {
                let [right, _] = self.sides;
                let (depth, z, turn) = self.half_groove(&right, piece, s);
                self.at(depth, z, turn)
            }
            Piece::Root => {
                let z0 = self.root_line_start(0);
                let z1 = pitch - self.root_line_start(1);
                self.at(self.section.depth_mm(), z0 + s * (z1 - z0), LEVEL)
            }
            Piece::FilletLeft | Piece::FlankLeft | Piece::CornerLeft | Piece::CrestLeft => {
                // The left side is the mirror image, walked the other way.
                let mirror = match piece {
                    Piece::FilletLeft => Piece::FilletRight,
                    Piece::FlankLeft => Piece::FlankRight,
                    Piece::CornerLeft => Piece::CornerRight,
                    _ => Piece::CrestRight,
                };
                let [_, left] = self.sides;
                let (depth, z, turn) = self.half_groove(&left, mirror, 1.0 - s);
                self.at(depth, pitch - z, (-turn.0, turn.1))
            }
        }
    }

    /// `(sin, cos)` are those of the curve's angle down from the axis.
    fn at(&self, depth: f64, z: f64, (sin, cos): (f64, f64)) -> ProfilePoint {
        ProfilePoint { r: self.crest_r - depth, z, dr: -sin, dz: cos }
    }

    fn root_line_start(&self, side: usize) -> f64 {
        let s = &self.sides[side];
        0.5 * self.section.crest_flat_mm() + self.section.depth_mm() * s.tan + s.root_tangent
    }

    /// `(depth below crest, distance from crest centre, sine and cosine of the curve's angle)` on
    /// one side.
    fn half_groove(&self, side: &Side, piece: Piece, s: f64) -> (f64, f64, (f64, f64)) {
        let half_crest = 0.5 * self.section.crest_flat_mm();
        let depth = self.section.depth_mm();
        match piece {
            Piece::CrestRight => (0.0, s * (half_crest - side.crest_tangent), LEVEL),
            Piece::CornerRight => {
                let radius = self.section.crest_radius_mm();
                let turn = s * side.slope_rad;
                let (sin, cos) = turn.sin_cos();
                let along = half_crest - side.crest_tangent + radius * sin;
                (radius * (1.0 - cos), along, (sin, cos))
            }
            Piece::FlankRight => {
                let top = side.crest_tangent * side.cos;
                let bottom = depth - side.root_tangent * side.cos;
                let d = top + s * (bottom - top);
                (d, half_crest + d * side.tan, (side.cos, side.sin))
            }
            _ => {
                let radius = self.section.root_radius_mm();
                let turn = (1.0 - s) * side.slope_rad;
                let (sin, cos) = turn.sin_cos();
                let centre = half_crest + depth * side.tan + side.root_tangent;
                (depth - radius * (1.0 - cos), centre - radius * sin, (sin, cos))
            }
        }
    }

    /// Radius of the section at `z` (any number of pitches away), mm: the slow, direct reading of
    /// the curve that the tests trust.
    #[must_use]
    pub fn radius_at(&self, z: f64) -> f64 {
        let pitch = self.section.pitch_mm();
        let z = z.rem_euclid(pitch);
        let half_crest = 0.5 * self.section.crest_flat_mm();
        let depth = self.section.depth_mm();
        let from_side = |side: &Side, z: f64| -> f64 {
            let (rc, rr) = (self.section.crest_radius_mm(), self.section.root_radius_mm());
            let crest_centre = half_crest - side.crest_tangent;
            let root_centre = half_crest + depth * side.tan + side.root_tangent;
            let flank_top = crest_centre + rc * side.slope_rad.sin();
            let flank_bottom = root_centre - rr * side.slope_rad.sin();
            if z <= crest_centre {
                0.0
            } else if z < flank_top {
                rc - (rc * rc - (z - crest_centre).powi(2)).max(0.0).sqrt()
            } else if z < flank_bottom {
                (z - half_crest) / side.tan
            } else if z < root_centre {
                depth - rr + (rr * rr - (z - root_centre).powi(2)).max(0.0).sqrt()
            } else {
                depth
            }
        };
        let d = from_side(&self.sides[0], z).min(from_side(&self.sides[1], pitch - z));
        self.crest_r - d
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::SectionNumbers;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_walk_is_closed_and_agrees_with_the_direct_reading() {
        let section = Section::new(SectionNumbers {
            pitch_mm: 3.0,
            depth_mm: 1.2,
            right_flank_rad: 0.12,
            left_flank_rad: 0.6,
            crest_flat_mm: 0.8,
            crest_radius_mm: 0.1,
            root_radius_mm: 0.15,
        })
        .unwrap();
        let profile = Profile::new(&section, 10.0);
        let mut last = profile.point(Piece::CrestRight, 0.0);
        assert_abs_diff_eq!(last.z, 0.0);
        for piece in Piece::ALL {
            let start = profile.point(piece, 0.0);
            assert_abs_diff_eq!(start.z, last.z, epsilon = 1e-12);
            assert_abs_diff_eq!(start.r, last.r, epsilon = 1e-12);
            for i in 0..=20 {
                let p = profile.point(piece, f64::from(i) / 20.0);
                assert_abs_diff_eq!(p.r, profile.radius_at(p.z), epsilon = 1e-9);
                let ahead = profile.point(piece, (f64::from(i) / 20.0 + 1e-7).min(1.0));
                let cross = (ahead.r - p.r) * p.dz - (ahead.z - p.z) * p.dr;
                assert_abs_diff_eq!(cross, 0.0, epsilon = 1e-12);
            }
            last = profile.point(piece, 1.0);
        }
        assert_abs_diff_eq!(last.z, 3.0, epsilon = 1e-12);
    }
}
