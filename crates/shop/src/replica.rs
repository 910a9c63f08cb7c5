//! A cast of the old nut, when the screw is missing.
//!
//! The cast shrinks by a known part; its ridges are the nut's grooves. Measured and enlarged again,
//! its form is that of the nut's groove, and a screw for that nut is thinner by the play.

use crate::notice::Notice;
use crate::screw::ScrewForm;
use form::{Quantity, Said, Sentence, figure, mm, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a cast cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReplicaError {
    /// The shrinkage.
    Shrinkage(f64),
    /// The play or clearance.
    Limits {
        /// What.
        what: &'static str,
        /// Value, mm.
        value: f64,
        /// Most, mm.
        most: f64,
    },
}

impl Said for ReplicaError {
    fn said(&self) -> Sentence {
        match self {
            Self::Shrinkage(it) => sentence!(
                "shrinkage {} is outside -0.02 to 0.1 (a part of the length; a negative one grows)",
                figure(*it, 4)
            ),
            Self::Limits { what, value, most } => {
                sentence!("{} {} is outside 0 to {}", *what, mm(*value, 4), mm(*most, 4))
            }
        }
    }
}

form::said_by_display!(ReplicaError);

/// What a cast is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CastMaterial {
    /// Bismuth alloy that melts in hot water.
    FusibleAlloy,
    /// Addition-cured silicone.
    AdditionSilicone,
    /// Condensation-cured silicone.
    CondensationSilicone,
    /// Slow epoxy.
    Epoxy,
    /// Two-part hard casting resin for replicas.
    ReplicaResin,
}

impl CastMaterial {
    /// All of them, for a list to choose from.
    pub const ALL: [Self; 5] = [
        Self::FusibleAlloy,
        Self::AdditionSilicone,
        Self::CondensationSilicone,
        Self::Epoxy,
        Self::ReplicaResin,
    ];

    /// Linear shrinkage as a part of the length, with its uncertainty; common practice, from memory:
    /// the maker's figure or a cast of a known bore is better.
    #[must_use]
    pub fn shrinkage(self) -> Quantity {
        match self {
            // Fusible alloys grow a little for hours after casting.
            Self::FusibleAlloy => Quantity::assumed(0.000, 0.001),
            Self::AdditionSilicone => Quantity::assumed(0.001, 0.001),
            Self::CondensationSilicone => Quantity::assumed(0.006, 0.004),
            Self::Epoxy => Quantity::assumed(0.004, 0.003),
            Self::ReplicaResin => Quantity::assumed(0.001, 0.001),
        }
    }
}

/// The nut's groove as a form: the cast's form, enlarged by what it shrank.
///
/// # Errors
/// [`ReplicaError::Shrinkage`] outside -0.02 to 0.1.
pub fn form_from_cast(cast: &ScrewForm, shrinkage: Quantity) -> Result<ScrewForm, ReplicaError> {
    let s = shrinkage.value;
    if !(-0.02..=0.1).contains(&s) {
        return Err(ReplicaError::Shrinkage(s));
    }
    let grown = 1.0 / (1.0 - s);
    // One doubt enlarges every length together; kept apart for each number it is still stated in full.
    let lengthen = |q: Quantity| {
        let value = q.value * grown;
        Quantity::derived(value, (q.u * grown).hypot(value * grown * shrinkage.u))
    };
    let mut out = cast.clone();
    for q in [
        &mut out.pitch_mm,
        &mut out.depth_mm,
        &mut out.crest_flat_mm,
        &mut out.crest_radius_mm,
        &mut out.root_radius_mm,
        &mut out.major_diameter_mm,
        &mut out.thickest_extra_mm,
        &mut out.thinnest_deficit_mm,
    ] {
        *q = lengthen(*q);
    }
    out.correlation = None;
    Ok(out)
}

/// A screw that fits a nut whose groove has this form: thinner by the play, and clear of the
/// groove's bottom by the radial clearance.
///
/// # Errors
/// [`ReplicaError::Limits`].
pub fn screw_for_groove(
    groove: &ScrewForm,
    axial_play_mm: f64,
    radial_clearance_mm: f64,
) -> Result<(ScrewForm, Vec<Notice>), ReplicaError> {
    let slope = groove.right_flank_deg.value.to_radians().tan()
        + groove.left_flank_deg.value.to_radians().tan();
    let most = groove.crest_flat_mm.value;
    if !(0.0..=most).contains(&axial_play_mm) {
        return Err(ReplicaError::Limits { what: "axial play", value: axial_play_mm, most });
    }
    let most = 0.5 * groove.depth_mm.value;
    if !(0.0..=most).contains(&radial_clearance_mm) {
        return Err(ReplicaError::Limits {
            what: "radial clearance",
            value: radial_clearance_mm,
            most,
        });
    }
    let mut screw = groove.clone();
    screw.major_diameter_mm.value -= 2.0 * radial_clearance_mm;
    // Cut down by the clearance the crest is wider by the flanks, and thinner by the play.
    screw.crest_flat_mm.value += radial_clearance_mm * slope - axial_play_mm;
    screw.correlation = None;
    // With other flats, corners as round as the nut's need not fit any more.
    if let Ok(near) = screw.thread_near(screw.values()) {
        let n = near.section().numbers();
        screw.crest_radius_mm.value = n.crest_radius_mm;
        screw.root_radius_mm.value = n.root_radius_mm;
    }
    // The root goes as deep below the bore as the crest stays from the bottom.
    let notices = vec![Notice::new(
        "old-nut-worn",
        "a cast shows the nut as it is, worn: compare its least-used end, and expect the new screw to have less play there",
    )];
    Ok((screw, notices))
}
