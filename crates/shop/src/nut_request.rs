//! What is wanted of a nut, and why it cannot be had.

use crate::groove::GrooveError;
use crate::mating::MatingError;
use crate::pressure::NutMaterial;
use crate::screw::ScrewError;
use form::{Said, Sentence, mm, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a nut cannot be designed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NutError {
    /// The screw.
    Screw(#[from] ScrewError),
    /// The groove.
    Groove(#[from] GrooveError),
    /// The assembly.
    Mating(#[from] MatingError),
    /// The play asked for.
    Play(f64),
    /// A sleeve's press fit.
    Interference(f64),
    /// A clearance.
    Clearance {
        /// `"radial"` or `"bore"`.
        which: &'static str,
        /// Value asked for, mm.
        value_mm: f64,
        /// Largest, mm.
        most_mm: f64,
    },
    /// A sleeve the groove would cut through.
    Sleeve {
        /// Outside asked for, mm.
        outer_mm: f64,
        /// Diameter at the bottom of the groove, mm.
        groove_mm: f64,
    },
    /// A saw cut that would leave no nut.
    Kerf {
        /// Width asked for, mm.
        kerf_mm: f64,
        /// Widest, mm.
        most_mm: f64,
    },
    /// Unworn ends that would fill the groove.
    Thicker {
        /// What is added, mm.
        extra_mm: f64,
        /// Most, mm.
        most_mm: f64,
    },
    /// The length of the nut.
    Length {
        /// Length asked for, mm.
        length_mm: f64,
        /// Least length, mm.
        least_mm: f64,
    },
    /// Any other number of the request.
    Positive {
        /// What.
        what: &'static str,
        /// Value.
        value: f64,
    },
    /// Infeed cannot give this play.
    DepthDoesNothing {
        /// Play whatever the infeed, mm.
        play_mm: f64,
        /// How much wider the tip must be for the play asked, mm.
        change_mm: f64,
    },
    /// Infeed that gives the play but leaves no clearance or no groove.
    Infeed {
        /// Infeed that results, mm.
        infeed_mm: f64,
        /// Least, mm.
        least_mm: f64,
        /// Most, mm.
        most_mm: f64,
    },
}

impl Said for NutError {
    fn said(&self) -> Sentence {
        match self {
            Self::Screw(e) => e.said(),
            Self::Groove(e) => e.said(),
            Self::Mating(e) => e.said(),
            Self::Play(it) => sentence!("axial play {} is outside 0 to {}", mm(*it, 4), mm(2.0, 0)),
            Self::Interference(it) => sentence!(
                "an interference of {} is below 0: give how much larger than its hole the sleeve is",
                mm(*it, 4)
            ),
            Self::Clearance { which, value_mm, most_mm } => sentence!(
                "{} clearance {} is outside 0 to {}",
                *which,
                mm(*value_mm, 4),
                mm(*most_mm, 4)
            ),
            Self::Sleeve { outer_mm, groove_mm } => sentence!(
                "a sleeve of {} outside is cut through by a groove of {}: it must be larger than that",
                mm(*outer_mm, 2),
                mm(*groove_mm, 2)
            ),
            Self::Kerf { kerf_mm, most_mm } => sentence!(
                "a saw cut of {} is outside 0 to {}, a quarter of the bore: it would leave no nut to close",
                mm(*kerf_mm, 2),
                mm(*most_mm, 2)
            ),
            Self::Thicker { extra_mm, most_mm } => sentence!(
                "a ridge thicker by {} at its unworn ends is outside 0 to {}, the width of the screw's root: the grooves would be full",
                mm(*extra_mm, 3),
                mm(*most_mm, 3)
            ),
            Self::Length { length_mm, least_mm } => sentence!(
                "nut length {} is outside {} (one pitch) to {}",
                mm(*length_mm, 2),
                mm(*least_mm, 2),
                mm(1000.0, 0)
            ),
            Self::Positive { what, value } => {
                sentence!("{} {} is not a positive number", *what, value.to_string())
            }
            Self::DepthDoesNothing { play_mm, change_mm } => sentence!(
                "the flanks are square to the axis: infeed does not change the play of {}; grind the tip {} wider instead",
                mm(*play_mm, 3),
                mm(*change_mm, 3).signed()
            ),
            Self::Infeed { infeed_mm, least_mm, most_mm } => sentence!(
                "infeed {} is outside {} (the screw's crest just clears) to {}",
                mm(*infeed_mm, 3),
                mm(*least_mm, 3),
                mm(*most_mm, 3)
            ),
        }
    }
}

form::said_by_display!(NutError);

/// How well the work will be done, standard uncertainties (k = 1).
///
/// The defaults are common practice for a hand-ground tool checked against a magnified template and
/// a cross slide read from its dial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Workmanship {
    /// Tip flat, mm.
    pub tip_flat_mm: f64,
    /// Each flank angle, degrees.
    pub flank_deg: f64,
    /// Infeed, mm.
    pub infeed_mm: f64,
}

impl Workmanship {
    /// Nothing goes wrong: what the form alone leaves uncertain.
    pub const PERFECT: Self = Self { tip_flat_mm: 0.0, flank_deg: 0.0, infeed_mm: 0.0 };
}

impl Default for Workmanship {
    fn default() -> Self {
        Self { tip_flat_mm: 0.01, flank_deg: 0.1, infeed_mm: 0.01 }
    }
}

/// How the nut is made up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", tag = "kind")]
pub enum NutKind {
    /// One piece.
    Solid,
    /// Sawn in two lengthwise, the halves to be closed on the screw; the saw takes `kerf_mm` in either wall.
    Split {
        /// Width of either cut, mm.
        kerf_mm: f64,
    },
    /// A threaded sleeve pressed into a housing with `interference_mm` on its outer diameter.
    Sleeve {
        /// Outer diameter, mm.
        outer_diameter_mm: f64,
        /// Interference on the diameter, mm.
        interference_mm: f64,
    },
}

/// What is wanted of the nut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NutRequest {
    /// Axial play at the thickest ridge of the screw, mm.
    pub axial_play_mm: f64,
    /// Radial clearance over the screw's crest, mm; `None` takes the crest clearance of ISO 2904
    /// for the pitch.
    pub radial_clearance_mm: Option<f64>,
    /// Radial clearance of the bore over the screw's root, mm; `None` takes the same as over the crest, or
    /// more where the root's corner is in doubt and might touch.
    pub bore_clearance_mm: Option<f64>,
    /// Length of the thread in the nut, mm; `None` takes one and a half major diameters.
    pub length_mm: Option<f64>,
    /// Corner radius of the tool, mm; `None` takes the screw's crest radius, or a sharp corner.
    pub corner_radius_mm: Option<f64>,
    /// Pitch the change wheels really cut, mm; `None` takes the screw's.
    pub cut_pitch_mm: Option<f64>,
    /// How well the work will be done.
    pub workmanship: Workmanship,
    /// Solid, split or sleeve.
    pub kind: NutKind,
    /// Material, for the flank pressure.
    pub material: NutMaterial,
    /// Axial load, N, for the flank pressure.
    pub load_n: Option<f64>,
}

impl NutRequest {
    /// A solid bronze nut with this axial play and everything else by default.
    #[must_use]
    pub fn with_play(axial_play_mm: f64) -> Self {
        Self {
            axial_play_mm,
            radial_clearance_mm: None,
            bore_clearance_mm: None,
            length_mm: None,
            corner_radius_mm: None,
            cut_pitch_mm: None,
            workmanship: Workmanship::default(),
            kind: NutKind::Solid,
            material: NutMaterial::Bronze,
            load_n: None,
        }
    }
}

/// Crest clearance of ISO 2904 for a metric trapezoidal thread of this pitch, mm; below 1.5 mm,
/// where that table ends, a tenth of the pitch (common practice).
#[must_use]
pub fn crest_clearance_mm(pitch_mm: f64) -> f64 {
    match pitch_mm {
        p if p < 1.5 - 1e-6 => 0.1 * p,
        p if p < 2.0 - 1e-6 => 0.15,
        p if p < 5.5 => 0.25,
        p if p < 13.0 => 0.5,
        _ => 1.0,
    }
}
