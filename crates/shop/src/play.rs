//! Play against infeed, both ways.

use crate::groove::StraightGroove;
use crate::mating;
use crate::nut::NutDesign;
use crate::nut_request::NutError;
use crate::screw::ScrewForm;
use form::Thread;
use serde::{Deserialize, Serialize};

/// Points of the play curve.
const CURVE_POINTS: usize = 41;
/// Below this sum of tangents the infeed is said to do nothing for the play.
pub(crate) const SQUARE_SLOPE: f64 = 0.01;

/// Play at one infeed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlayPoint {
    /// Radial infeed from touching the bore, mm.
    pub infeed_mm: f64,
    /// Axial play on the screw's thickest ridge, what the change wheels' error takes over the nut's length
    /// gone from it, mm; negative: the screw does not enter.
    pub play_mm: f64,
    /// Whether the screw's crest clears the bottom of the groove.
    pub crest_clears: bool,
}

/// Play on the screw for infeeds from touching the bore to a little past the design; `lost_mm` is what the
/// change wheels' error takes of it.
pub(crate) fn play_curve(
    thread: &Thread,
    cut: &StraightGroove,
    lost_mm: f64,
) -> Result<Vec<PlayPoint>, NutError> {
    let full = cut.bottom_radius_mm - cut.bore_radius_mm;
    let most = full + 0.15 * thread.section().depth_mm();
    let mut curve = Vec::with_capacity(CURVE_POINTS);
    for i in 1..=CURVE_POINTS {
        let infeed_mm = most * i as f64 / CURVE_POINTS as f64;
        let Ok(groove) =
            StraightGroove { bottom_radius_mm: cut.bore_radius_mm + infeed_mm, ..*cut }.groove()
        else {
            continue;
        };
        let play_mm = mating::axial_play_mm(thread, &groove)? - lost_mm;
        let crest_clears = groove.bottom_radius_mm >= 0.5 * thread.major_diameter_mm();
        curve.push(PlayPoint { infeed_mm, play_mm, crest_clears });
    }
    Ok(curve)
}

impl NutDesign {
    /// Play on the thickest ridge if the tool of this design is fed in by `infeed_mm` from touching
    /// the bore, mm.
    ///
    /// # Errors
    /// [`NutError`] when that is no groove.
    pub fn play_at_infeed(&self, screw: &ScrewForm, infeed_mm: f64) -> Result<f64, NutError> {
        let thread = screw.thickest().thread()?;
        let cut = self.cut();
        let groove =
            StraightGroove { bottom_radius_mm: cut.bore_radius_mm + infeed_mm, ..cut }.groove()?;
        Ok(mating::axial_play_mm(&thread, &groove)? - self.play_lost_to_lead_mm)
    }

    /// Infeed that gives `play_mm` with a tool whose tip is `tip_flat_mm` wide (as ground, not as
    /// drawn), mm.
    ///
    /// # Errors
    /// [`NutError::DepthDoesNothing`] for square flanks, [`NutError::Infeed`] when the crest would
    /// foul the bottom or the groove would be too deep.
    pub fn infeed_for_play(
        &self,
        screw: &ScrewForm,
        tip_flat_mm: f64,
        play_mm: f64,
    ) -> Result<f64, NutError> {
        let thread = screw.thickest().thread()?;
        let mut cut = self.cut();
        let wider = tip_flat_mm - cut.tip_flat_mm();
        cut = cut.with_errors(wider, 0.0, 0.0, 0.0);
        let now = mating::axial_play_mm(&thread, &cut.groove()?)? - self.play_lost_to_lead_mm;
        let slope = cut.right_flank_rad.tan() + cut.left_flank_rad.tan();
        if slope.abs() < SQUARE_SLOPE {
            return Err(NutError::DepthDoesNothing { play_mm: now, change_mm: play_mm - now });
        }
        let designed = cut.bottom_radius_mm - cut.bore_radius_mm;
        let infeed_mm = designed + (play_mm - now) / slope;
        let least_mm = 0.5 * thread.major_diameter_mm() - cut.bore_radius_mm;
        let most_mm = designed + 0.5 * thread.section().depth_mm();
        if !(least_mm..=most_mm).contains(&infeed_mm) {
            return Err(NutError::Infeed { infeed_mm, least_mm, most_mm });
        }
        Ok(infeed_mm)
    }

    /// The straight groove behind the walls.
    pub(crate) fn cut(&self) -> StraightGroove {
        let (right, left) =
            (self.right_flank_deg.value.to_radians(), self.left_flank_deg.value.to_radians());
        let groove = &self.groove;
        let height = groove.bottom_radius_mm - groove.bore_radius_mm;
        StraightGroove {
            bore_radius_mm: groove.bore_radius_mm,
            bottom_radius_mm: groove.bottom_radius_mm,
            right_corner_mm: groove.right_mm(groove.bore_radius_mm) - height * right.tan(),
            left_corner_mm: -groove.left_mm(groove.bore_radius_mm) - height * left.tan(),
            right_flank_rad: right,
            left_flank_rad: left,
            corner_radius_mm: self.tool_corner_radius_mm,
            pitch_mm: groove.pitch_mm,
            starts: groove.starts,
            hand: groove.hand,
        }
    }
}
