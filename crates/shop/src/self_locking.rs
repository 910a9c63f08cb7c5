//! Whether a thread holds by itself: lead angle against friction angle.
//!
//! A thread does not run back under an axial load while `tan λ < μ / cos αn`, with λ the lead angle at the
//! pitch diameter and αn the lesser flank in the section normal to the helix (any textbook of machine
//! elements).

use crate::screw::{ScrewError, ScrewForm};
use serde::{Deserialize, Serialize};

/// Least coefficient of friction that is counted on between a lubricated steel screw and its nut: the low
/// end of what textbooks give for power screws, 0.08 to 0.15 (common practice, from memory).
pub const LEAST_FRICTION: f64 = 0.08;

/// Lead angle and friction angle of a thread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SelfLocking {
    /// Lead angle at the pitch diameter, degrees.
    pub lead_angle_deg: f64,
    /// Angle of friction on the flatter flank, degrees.
    pub friction_angle_deg: f64,
    /// Coefficient of friction it is taken with.
    pub friction: f64,
}

impl SelfLocking {
    /// From lead angle and flank, degrees.
    #[must_use]
    pub fn of(lead_angle_deg: f64, flank_deg: f64, friction: f64) -> Self {
        let (lead, flank) = (lead_angle_deg.to_radians(), flank_deg.to_radians());
        let normal = (flank.tan() * lead.cos()).atan();
        let friction_angle_deg = (friction / normal.cos()).atan().to_degrees();
        Self { lead_angle_deg, friction_angle_deg, friction }
    }

    /// Of a screw, with the least friction that is counted on and its steeper lead within two standard
    /// uncertainties.
    ///
    /// # Errors
    /// [`ScrewError`] for a screw that is none.
    pub fn of_screw(screw: &ScrewForm) -> Result<Self, ScrewError> {
        let thread = screw.thread()?;
        let lead = screw.lead_mm();
        let circle = std::f64::consts::PI * thread.pitch_diameter_mm();
        let steepest = ((lead.value + 2.0 * lead.u) / circle).atan().to_degrees();
        let lesser = screw.right_flank_deg.value.min(screw.left_flank_deg.value);
        Ok(Self::of(steepest, lesser.max(0.0), LEAST_FRICTION))
    }

    /// Whether it holds by itself.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.lead_angle_deg < self.friction_angle_deg
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_textbook_screw_is_not_self_locking() {
        // Shigley's worked power screw (from memory): 32 mm, square, pitch 4 mm, two starts, mean diameter
        // 30 mm, μ 0.08: its torque to lower is negative, the screw alone is not self-locking.
        let lead = (8.0 / (std::f64::consts::PI * 30.0)).atan().to_degrees();
        let two = SelfLocking::of(lead, 0.0, 0.08);
        assert_abs_diff_eq!(two.lead_angle_deg, 4.852, epsilon = 1e-3);
        assert_abs_diff_eq!(two.friction_angle_deg, 4.574, epsilon = 1e-3);
        assert!(!two.holds());
        // With one start it is.
        let one = (4.0 / (std::f64::consts::PI * 30.0)).atan().to_degrees();
        assert!(SelfLocking::of(one, 0.0, 0.08).holds());
    }

    #[test]
    fn inclined_flanks_hold_a_little_better() {
        // 15°: atan(0.08 / cos 15°) = 4.735° (own arithmetic; the lead changes the fourth figure).
        assert_abs_diff_eq!(
            SelfLocking::of(4.05, 15.0, 0.08).friction_angle_deg,
            4.735,
            epsilon = 2e-3
        );
    }
}
