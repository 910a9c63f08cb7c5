//! Bringing a nut to its play on the screw itself, where the form is too doubtful to cut to numbers.

use crate::play::SQUARE_SLOPE;
use form::{Quantity, Sentence, mm, sentence};
use serde::{Deserialize, Serialize};

/// Play by which the groove is opened between two trials, mm: fine enough for the play that follows,
/// coarse enough that a few trials suffice.
const STEP_PLAY_MM: f64 = 0.04;
/// Widest range of possible plays, mm, that is worth trying through: fifteen trials.
const MOST_RANGE_MM: f64 = 0.6;
/// Part of the screw's depth by which a groove may be cut deeper for the sake of its play.
const MOST_DEEPER: f64 = 0.25;
/// Part of the crest clearance that the first trial may leave out.
const LESS_CLEARANCE: f64 = 0.8;

/// Which way a groove is opened between trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Opening {
    /// Fed in deeper: inclined flanks give way on both sides at once.
    Infeed,
    /// At full depth, the tool moved along the axis: the groove grows wider on one side.
    Sideways,
}

/// How a nut is opened on the screw until it goes on, and then to its play (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TryOn {
    /// Which way.
    pub opening: Opening,
    /// Radial infeed from touching the bore at which the screw is tried first, mm.
    pub first_infeed_mm: f64,
    /// Movement between two trials, in the direction of the opening, mm.
    pub step_mm: f64,
    /// Movement after the screw has first gone on through the whole nut, mm.
    pub then_mm: f64,
    /// Play added per millimetre of movement.
    pub play_per_mm: f64,
    /// The axial play this leaves, mm.
    pub play_mm: Quantity,
}

/// What a way of trying on is worked out from.
pub(crate) struct Doubtful {
    /// Axial play wanted, mm.
    pub asked_mm: f64,
    /// 95 % of the possible plays lie between these, mm.
    pub limits_mm: (f64, f64),
    /// Play per infeed: the sum of the tangents of both walls.
    pub slope: Quantity,
    /// Radial infeed as designed, mm.
    pub infeed_mm: f64,
    /// Depth of the screw's thread, mm.
    pub depth_mm: f64,
    /// Radial clearance over the screw's crest, as designed, mm.
    pub crest_clearance_mm: f64,
}

impl TryOn {
    /// `None` when there is more to be tried through than a person would.
    pub(crate) fn of(d: &Doubtful) -> Option<Self> {
        let (low, high) = d.limits_mm;
        if !(high - low <= MOST_RANGE_MM && low.is_finite() && high.is_finite()) {
            return None;
        }
        let slope = d.slope.value;
        let deeper_mm = (d.asked_mm - low).max(0.0) / slope.max(SQUARE_SLOPE);
        let opening = if slope > SQUARE_SLOPE && deeper_mm <= MOST_DEEPER * d.depth_mm {
            Opening::Infeed
        } else {
            Opening::Sideways
        };
        let (play_per_mm, u_ratio, less_mm) = match opening {
            Opening::Infeed => {
                let less = (high.max(0.0) / slope).min(LESS_CLEARANCE * d.crest_clearance_mm);
                (slope, d.slope.u / slope, less)
            }
            Opening::Sideways => (1.0, 0.0, 0.0),
        };
        // The screw goes on somewhere within the last step: half of it is play already.
        let gained = (d.asked_mm - 0.5 * STEP_PLAY_MM).max(0.0);
        let u = (STEP_PLAY_MM / 12f64.sqrt()).hypot(gained * u_ratio);
        Some(Self {
            opening,
            first_infeed_mm: d.infeed_mm - less_mm,
            step_mm: STEP_PLAY_MM / play_per_mm,
            then_mm: gained / play_per_mm,
            play_per_mm,
            play_mm: Quantity::derived(d.asked_mm.max(0.5 * STEP_PLAY_MM), u),
        })
    }

    /// The work in a sentence.
    pub(crate) fn sentence(&self) -> Sentence {
        let (how, feed) = match self.opening {
            Opening::Infeed => ("feed in", "deeper"),
            Opening::Sideways => ("move the tool along the axis", "along"),
        };
        sentence!(
            "fit it on the screw: cut to an infeed of {} and try it; {} by {} and \
             try again, until the screw goes on through the whole nut; then {} {} gives a \
             play of {}. If it goes on at the first trial, measure the play and \
             go on by what is missing only",
            mm(self.first_infeed_mm, 3),
            how,
            mm(self.step_mm, 2),
            mm(self.then_mm, 2),
            feed,
            mm(self.play_mm.value, 2).with_u(self.play_mm.u)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn doubtful(slope: f64, limits_mm: (f64, f64)) -> Doubtful {
        Doubtful {
            asked_mm: 0.08,
            limits_mm,
            slope: Quantity::derived(slope, 0.02),
            infeed_mm: 2.25,
            depth_mm: 2.25,
            crest_clearance_mm: 0.25,
        }
    }

    #[test]
    fn inclined_flanks_are_opened_by_infeed_and_square_ones_along() {
        let inclined = TryOn::of(&doubtful(0.536, (-0.15, 0.08))).unwrap();
        assert_eq!(inclined.opening, Opening::Infeed);
        assert!((inclined.first_infeed_mm - (2.25 - 0.08 / 0.536)).abs() < 1e-9);
        assert!((inclined.then_mm * 0.536 - 0.06).abs() < 1e-9);
        let square = TryOn::of(&doubtful(0.0, (-0.15, 0.08))).unwrap();
        assert_eq!((square.opening, square.first_infeed_mm), (Opening::Sideways, 2.25));
        // So far in that the wall would suffer: along as well.
        let far = TryOn::of(&doubtful(0.536, (-0.45, 0.08))).unwrap();
        assert_eq!(far.opening, Opening::Sideways);
    }

    #[test]
    fn the_first_trial_never_reaches_the_crest() {
        let t = TryOn::of(&doubtful(0.536, (-0.1, 0.4))).unwrap();
        assert!((t.first_infeed_mm - (2.25 - 0.2)).abs() < 1e-9);
    }

    #[test]
    fn what_no_one_would_try_through_is_not_offered() {
        assert!(TryOn::of(&doubtful(0.536, (-0.6, 0.08))).is_none());
        assert!(TryOn::of(&doubtful(0.536, (f64::NAN, 0.08))).is_none());
    }
}
