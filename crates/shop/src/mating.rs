//! Screw and nut assembled: how much room there is, flank by flank.
//!
//! Two helicoids on one axis with one lead are carried into each other by the same screw motion, so
//! the axial gap between them at a radius is the same at every angle: the axial sections, laid over
//! each other, tell all. With the axes apart by an offset that is no longer so, and the gap is
//! looked for over the whole turn.

use crate::groove::Groove;
use crate::ridge::Ridge;
use form::{Hand, Said, Sentence, Thread, mm, sentence};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use thiserror::Error;

/// Radii at which the gap is looked at.
const STATIONS: usize = 96;
/// The same where a thousand draws are made: enough for straight flanks and rounded ends.
const FEW_STATIONS: usize = 32;
/// Flank within this much of the least gap is said to be in contact, mm.
const CONTACT_BAND_MM: f64 = 0.01;

/// Why a screw and a nut cannot be laid over each other.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MatingError {
    /// Opposite hands.
    Hand {
        /// Hand of the screw.
        screw: Hand,
        /// Hand of the nut.
        nut: Hand,
    },
    /// Different numbers of starts.
    Starts {
        /// Starts of the screw.
        screw: u32,
        /// Starts of the nut.
        nut: u32,
    },
    /// No common height.
    NoEngagement {
        /// Bore of the nut, mm.
        bore_mm: f64,
        /// Major diameter of the screw, mm.
        major_mm: f64,
    },
}

impl Said for MatingError {
    fn said(&self) -> Sentence {
        match self {
            Self::Hand { screw, nut } => {
                sentence!("a {}-hand screw does not enter a {}-hand nut", *screw, *nut)
            }
            Self::Starts { screw, nut } => {
                sentence!("a screw of {} starts does not enter a nut of {}", *screw, *nut)
            }
            Self::NoEngagement { bore_mm, major_mm } => sentence!(
                "the bore {} is not smaller than the screw's major diameter {}: no thread is left to carry",
                mm(*bore_mm, 3),
                mm(*major_mm, 3)
            ),
        }
    }
}

form::said_by_display!(MatingError);

/// Room between one wall of the nut and one flank of the screw.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FlankGap {
    /// Least axial gap with the ridge in the middle of the groove as designed, mm; negative: they
    /// would overlap.
    pub least_mm: f64,
    /// Radius at which it occurs, mm.
    pub at_radius_mm: f64,
    /// Part of the engaged height that comes within 0.01 mm when the flanks are pressed together.
    pub contact_fraction: f64,
}

/// The gaps at one radius.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GapPoint {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Axial gap at the right flank, mm.
    pub right_mm: f64,
    /// Axial gap at the left flank, mm.
    pub left_mm: f64,
}

/// What assembling a screw and a nut gives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mating {
    /// Free axial movement with the axes together, mm; negative when it will not go on.
    pub axial_play_mm: f64,
    /// Right flank of the screw against right wall of the nut.
    pub right: FlankGap,
    /// Left flank against left wall.
    pub left: FlankGap,
    /// Radial gap between the screw's crest and the groove's bottom, mm.
    pub crest_clearance_mm: f64,
    /// Radial gap between the bore and the screw's root, mm.
    pub bore_clearance_mm: f64,
    /// How far the screw can be pushed sideways before anything touches, at the best axial
    /// position, mm.
    pub radial_float_mm: f64,
    /// Radial height common to both, mm.
    pub engagement_mm: f64,
    /// The gaps from bore to crest.
    pub profile: Vec<GapPoint>,
}

impl Mating {
    /// Whether the screw goes in without touching anything on both sides at once.
    #[must_use]
    pub fn passes(&self) -> bool {
        self.axial_play_mm >= 0.0 && self.crest_clearance_mm >= 0.0 && self.bore_clearance_mm >= 0.0
    }
}

/// Lays `screw` into `groove` on a common axis.
///
/// Both are taken to have the groove's lead; a difference of lead is a matter of the length of the
/// nut, see [`play_lost_to_lead_mm`].
///
/// # Errors
/// [`MatingError`] for other hands or starts, or no common height.
pub fn mate(screw: &Thread, groove: &Groove) -> Result<Mating, MatingError> {
    let pair = Pair::new(screw, groove)?;
    let profile = pair.profile(0.0);
    let right = pair.flank(&profile, |g| g.right_mm);
    let left = pair.flank(&profile, |g| g.left_mm);
    let axial_play_mm = right.least_mm + left.least_mm;
    let crest_clearance_mm = groove.bottom_radius_mm - pair.crest_mm;
    let bore_clearance_mm = groove.bore_radius_mm - 0.5 * screw.minor_diameter_mm();
    Ok(Mating {
        axial_play_mm,
        right,
        left,
        crest_clearance_mm,
        bore_clearance_mm,
        radial_float_mm: pair.float_mm(crest_clearance_mm.min(bore_clearance_mm)),
        engagement_mm: pair.top_mm - pair.bottom_mm,
        profile,
    })
}

/// Axial play alone, without the profile and the float: what a thousand draws can afford.
///
/// # Errors
/// As [`mate`].
pub fn axial_play_mm(screw: &Thread, groove: &Groove) -> Result<f64, MatingError> {
    let mut pair = Pair::new(screw, groove)?;
    pair.stations = FEW_STATIONS;
    let (mut right, mut left) = (f64::INFINITY, f64::INFINITY);
    for i in 0..=pair.stations {
        let gap = pair.gap(pair.station(i));
        right = right.min(gap.right_mm);
        left = left.min(gap.left_mm);
    }
    Ok(right + left)
}

/// Axial play with the screw's axis beside the nut's by `offset_mm`, mm.
///
/// # Errors
/// As [`mate`].
pub fn axial_play_offset_mm(
    screw: &Thread,
    groove: &Groove,
    offset_mm: f64,
) -> Result<f64, MatingError> {
    Ok(Pair::new(screw, groove)?.play_offset(offset_mm))
}

/// Play that a difference of pitch takes over the length of the nut, mm: the first thread bears on
/// one flank while the last bears on the other.
#[must_use]
pub fn play_lost_to_lead_mm(pitch_error_ratio: f64, nut_length_mm: f64) -> f64 {
    (pitch_error_ratio * nut_length_mm).abs()
}

struct Pair<'a> {
    groove: &'a Groove,
    ridge: Ridge,
    crest_mm: f64,
    bottom_mm: f64,
    top_mm: f64,
    stations: usize,
}

impl<'a> Pair<'a> {
    fn new(screw: &Thread, groove: &'a Groove) -> Result<Self, MatingError> {
        if screw.hand() != groove.hand {
            return Err(MatingError::Hand { screw: screw.hand(), nut: groove.hand });
        }
        if screw.starts() != groove.starts {
            return Err(MatingError::Starts { screw: screw.starts(), nut: groove.starts });
        }
        let crest_mm = 0.5 * screw.major_diameter_mm();
        let bottom_mm = groove.bore_radius_mm.max(0.5 * screw.minor_diameter_mm());
        let top_mm = groove.bottom_radius_mm.min(crest_mm);
        if top_mm.is_nan() || top_mm <= bottom_mm {
            return Err(MatingError::NoEngagement {
                bore_mm: 2.0 * groove.bore_radius_mm,
                major_mm: screw.major_diameter_mm(),
            });
        }
        Ok(Self {
            groove,
            ridge: Ridge::new(screw.section()),
            crest_mm,
            bottom_mm,
            top_mm,
            stations: STATIONS,
        })
    }

    /// Stations crowd toward both ends, where rounded corners meet.
    fn station(&self, i: usize) -> f64 {
        let t = 0.5 - 0.5 * (PI * i as f64 / self.stations as f64).cos();
        self.bottom_mm + (self.top_mm - self.bottom_mm) * t
    }

    fn gap(&self, radius_mm: f64) -> GapPoint {
        let depth = self.crest_mm - radius_mm;
        GapPoint {
            radius_mm,
            right_mm: self.groove.right_mm(radius_mm) - self.ridge.right_mm(depth),
            left_mm: -self.groove.left_mm(radius_mm) - self.ridge.left_mm(depth),
        }
    }

    fn profile(&self, shift_mm: f64) -> Vec<GapPoint> {
        (0..=self.stations)
            .map(|i| {
                let mut g = self.gap(self.station(i));
                g.right_mm -= shift_mm;
                g.left_mm += shift_mm;
                g
            })
            .collect()
    }

    fn flank(&self, profile: &[GapPoint], side: impl Fn(&GapPoint) -> f64) -> FlankGap {
        let (mut least_mm, mut at_radius_mm) = (f64::INFINITY, self.bottom_mm);
        for g in profile {
            if side(g) < least_mm {
                (least_mm, at_radius_mm) = (side(g), g.radius_mm);
            }
        }
        let mut touching = 0.0;
        for w in profile.windows(2) {
            if side(&w[0]).max(side(&w[1])) <= least_mm + CONTACT_BAND_MM {
                touching += w[1].radius_mm - w[0].radius_mm;
            }
        }
        FlankGap {
            least_mm,
            at_radius_mm,
            contact_fraction: touching / (self.top_mm - self.bottom_mm),
        }
    }

    /// Least gap of both flanks together over the turn, the screw moved sideways by `offset`.
    ///
    /// By the screw motion the direction of the offset only decides where along the axis the least
    /// gap lies, so one direction stands for all.
    fn play_offset(&self, offset: f64) -> f64 {
        let p = self.groove.advance_mm();
        let few = Self { stations: FEW_STATIONS, ..*self };
        let (mut right, mut left) = (f64::INFINITY, f64::INFINITY);
        const TURN: usize = 120;
        for i in 0..=few.stations {
            let r = few.station(i);
            let depth = self.crest_mm - r;
            let (ridge_right, ridge_left) = (self.ridge.right_mm(depth), self.ridge.left_mm(depth));
            for j in 0..TURN {
                let theta = 2.0 * PI * j as f64 / TURN as f64;
                let (x, y) = (r * theta.cos() + offset, r * theta.sin());
                let radius = x.hypot(y);
                if radius < self.groove.bore_radius_mm || radius > self.groove.bottom_radius_mm {
                    continue;
                }
                // The nut's angle at that point differs a little from the screw's.
                let turned = {
                    let d = y.atan2(x) - theta;
                    d - 2.0 * PI * (d / (2.0 * PI)).round()
                };
                let nut_shift = p * turned;
                right = right.min(self.groove.right_mm(radius) + nut_shift - ridge_right);
                left = left.min(-self.groove.left_mm(radius) - nut_shift - ridge_left);
            }
        }
        right + left
    }

    fn float_mm(&self, most_mm: f64) -> f64 {
        if most_mm.is_nan() || most_mm <= 0.0 || self.play_offset(0.0) <= 0.0 {
            return 0.0;
        }
        if self.play_offset(most_mm) >= 0.0 {
            return most_mm;
        }
        let (mut lo, mut hi) = (0.0, most_mm);
        for _ in 0..24 {
            let mid = 0.5 * (lo + hi);
            if self.play_offset(mid) >= 0.0 { lo = mid } else { hi = mid }
        }
        lo
    }
}
