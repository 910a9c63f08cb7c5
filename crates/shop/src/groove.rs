//! The groove of a nut, in its axial section.

use form::{Hand, Said, Sentence, mm, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Points along a rounded corner.
const CORNER_POINTS: usize = 24;

/// Why numbers make no groove.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GrooveError {
    /// Nothing is left of the tip flat.
    TipFlat {
        /// Flat that results, mm.
        flat_mm: f64,
        /// Least flat, mm.
        least_mm: f64,
    },
    /// The corner radius does not fit.
    CornerRadius {
        /// Radius asked for, mm.
        radius_mm: f64,
        /// Largest, mm.
        most_mm: f64,
    },
    /// The bottom is not outside the bore.
    Bore {
        /// Groove diameter, mm.
        groove_mm: f64,
        /// Bore, mm.
        bore_mm: f64,
    },
    /// The grooves of neighbouring threads run into each other at the bore.
    Width {
        /// Width at the bore, mm.
        width_mm: f64,
        /// Pitch, mm.
        pitch_mm: f64,
    },
}

impl Said for GrooveError {
    fn said(&self) -> Sentence {
        match self {
            Self::TipFlat { flat_mm, least_mm } => sentence!(
                "tool tip flat would be {}, least {}: ask for a smaller radial clearance or more play",
                mm(*flat_mm, 4),
                mm(*least_mm, 4)
            ),
            Self::CornerRadius { radius_mm, most_mm } => sentence!(
                "corner radius {} is outside 0 to {} for this tip flat",
                mm(*radius_mm, 4),
                mm(*most_mm, 4)
            ),
            Self::Bore { groove_mm, bore_mm } => sentence!(
                "groove diameter {} does not exceed the bore {}",
                mm(*groove_mm, 3),
                mm(*bore_mm, 3)
            ),
            Self::Width { width_mm, pitch_mm } => sentence!(
                "groove is {} wide at the bore, wider than the pitch {}",
                mm(*width_mm, 3),
                mm(*pitch_mm, 3)
            ),
        }
    }
}

form::said_by_display!(GrooveError);

/// One point of a wall: radius from the axis and distance along the axis, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WallPoint {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Along the axis, mm, positive toward the right of the picture, 0 at the middle of the ridge
    /// the groove receives.
    pub along_mm: f64,
}

/// The groove of a nut: two walls from the bore out to the bottom, wound round the axis.
///
/// ```text
///      groove bottom    (greatest radius)
///         _______
///        /       \
///  left /         \ right      r up, z to the right
///  ____/           \____
///      bore (least radius)
/// ```
///
/// The right wall meets the right flank of the screw's ridge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Groove {
    /// Radius of the bore, mm.
    pub bore_radius_mm: f64,
    /// Radius of the groove's bottom, mm.
    pub bottom_radius_mm: f64,
    /// Right wall, radius ascending.
    pub right: Vec<WallPoint>,
    /// Left wall, radius ascending.
    pub left: Vec<WallPoint>,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Starts.
    pub starts: u32,
    /// Hand.
    pub hand: Hand,
}

/// Numbers of a groove with straight walls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct StraightGroove {
    pub bore_radius_mm: f64,
    pub bottom_radius_mm: f64,
    /// Where the right wall, continued, meets the bottom; positive to the right.
    pub right_corner_mm: f64,
    /// Where the left wall, continued, meets the bottom; positive to the left.
    pub left_corner_mm: f64,
    pub right_flank_rad: f64,
    pub left_flank_rad: f64,
    pub corner_radius_mm: f64,
    pub pitch_mm: f64,
    pub starts: u32,
    pub hand: Hand,
}

impl StraightGroove {
    pub(crate) fn tip_flat_mm(&self) -> f64 {
        self.right_corner_mm + self.left_corner_mm
    }

    pub(crate) fn most_corner_radius_mm(&self) -> f64 {
        let used = |flank: f64| (0.5 * (std::f64::consts::FRAC_PI_2 - flank)).tan();
        (self.tip_flat_mm() / (used(self.right_flank_rad) + used(self.left_flank_rad))).max(0.0)
    }

    /// The groove with this much more (or less) of everything: what errors of grinding and setting do. A tip
    /// that came out narrower has no larger corners than fit on it.
    pub(crate) fn with_errors(
        &self,
        flat_mm: f64,
        right_rad: f64,
        left_rad: f64,
        infeed_mm: f64,
    ) -> Self {
        let mut g = *self;
        g.right_corner_mm += 0.5 * flat_mm;
        g.left_corner_mm += 0.5 * flat_mm;
        g.right_flank_rad += right_rad;
        g.left_flank_rad += left_rad;
        g.bottom_radius_mm += infeed_mm;
        g.corner_radius_mm = g.corner_radius_mm.min(g.most_corner_radius_mm());
        g
    }

    pub(crate) fn groove(&self) -> Result<Groove, GrooveError> {
        let flat_mm = self.tip_flat_mm();
        if flat_mm.is_nan() || flat_mm <= 0.0 {
            return Err(GrooveError::TipFlat { flat_mm, least_mm: 0.0 });
        }
        let most_mm = self.most_corner_radius_mm();
        let radius_mm = self.corner_radius_mm;
        if !(0.0..=most_mm * (1.0 + 1e-9)).contains(&radius_mm) {
            return Err(GrooveError::CornerRadius { radius_mm, most_mm });
        }
        if !(self.bottom_radius_mm > self.bore_radius_mm && self.bore_radius_mm > 0.0) {
            return Err(GrooveError::Bore {
                groove_mm: 2.0 * self.bottom_radius_mm,
                bore_mm: 2.0 * self.bore_radius_mm,
            });
        }
        let height = self.bottom_radius_mm - self.bore_radius_mm;
        let width_mm = flat_mm + height * (self.right_flank_rad.tan() + self.left_flank_rad.tan());
        if !(width_mm > 0.0 && width_mm < self.pitch_mm) {
            return Err(GrooveError::Width { width_mm, pitch_mm: self.pitch_mm });
        }
        let wall = |corner: f64, flank: f64, sign: f64| {
            let mut points = vec![WallPoint {
                radius_mm: self.bore_radius_mm,
                along_mm: sign * (corner + height * flank.tan()),
            }];
            let r = radius_mm;
            if r > 0.0 {
                let centre = corner - r * (0.5 * (std::f64::consts::FRAC_PI_2 - flank)).tan();
                for i in 0..=CORNER_POINTS {
                    let t = flank
                        + (std::f64::consts::FRAC_PI_2 - flank) * i as f64 / CORNER_POINTS as f64;
                    points.push(WallPoint {
                        radius_mm: self.bottom_radius_mm - r + r * t.sin(),
                        along_mm: sign * (centre + r * t.cos()),
                    });
                }
            } else {
                points
                    .push(WallPoint { radius_mm: self.bottom_radius_mm, along_mm: sign * corner });
            }
            // A corner deeper than the groove would put arc points below the bore.
            points.sort_by(|a, b| a.radius_mm.total_cmp(&b.radius_mm));
            points
        };
        Ok(Groove {
            bore_radius_mm: self.bore_radius_mm,
            bottom_radius_mm: self.bottom_radius_mm,
            right: wall(self.right_corner_mm, self.right_flank_rad, 1.0),
            left: wall(self.left_corner_mm, self.left_flank_rad, -1.0),
            pitch_mm: self.pitch_mm,
            starts: self.starts,
            hand: self.hand,
        })
    }
}

impl Groove {
    /// Advance per radian in a right-handed frame, mm: positive for a right-hand thread.
    #[must_use]
    pub fn advance_mm(&self) -> f64 {
        let p = self.pitch_mm * f64::from(self.starts) / (2.0 * std::f64::consts::PI);
        match self.hand {
            Hand::Right => p,
            Hand::Left => -p,
        }
    }

    /// Where the right wall stands at `radius_mm`, mm; the outermost pieces are continued.
    #[must_use]
    pub fn right_mm(&self, radius_mm: f64) -> f64 {
        wall_at(&self.right, radius_mm)
    }

    /// Where the left wall stands at `radius_mm`, mm, negative to the left.
    #[must_use]
    pub fn left_mm(&self, radius_mm: f64) -> f64 {
        wall_at(&self.left, radius_mm)
    }

    /// Width of the groove at `radius_mm`, mm.
    #[must_use]
    pub fn width_mm(&self, radius_mm: f64) -> f64 {
        self.right_mm(radius_mm) - self.left_mm(radius_mm)
    }
}

/// Along-value of a wall at a radius, its outermost pieces continued; the wall's radius may run up or
/// down.
pub(crate) fn wall_at(wall: &[WallPoint], radius_mm: f64) -> f64 {
    let (Some(first), Some(last)) = (wall.first(), wall.last()) else { return f64::NAN };
    if wall.len() == 1 {
        return first.along_mm;
    }
    let before = if first.radius_mm <= last.radius_mm {
        wall.partition_point(|p| p.radius_mm < radius_mm)
    } else {
        wall.partition_point(|p| p.radius_mm > radius_mm)
    };
    let i = before.clamp(1, wall.len() - 1);
    let (a, b) = (wall[i - 1], wall[i]);
    let run = b.radius_mm - a.radius_mm;
    if run.abs() < 1e-15 {
        return b.along_mm;
    }
    a.along_mm + (b.along_mm - a.along_mm) * (radius_mm - a.radius_mm) / run
}
