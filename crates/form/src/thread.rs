//! A screw thread: a section wound round an axis.

use crate::profile::Profile;
use crate::section::{Section, SectionError};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Which way a thread winds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Hand {
    /// Advances away from an observer when turned clockwise.
    Right,
    /// Advances toward an observer when turned clockwise.
    Left,
}

impl Hand {
    /// The other hand.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Right => Self::Left,
            Self::Left => Self::Right,
        }
    }
}

impl std::fmt::Display for Hand {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Right => "right",
            Self::Left => "left",
        })
    }
}

/// Steepest taper, as change of diameter per length.
const STEEPEST_TAPER: f64 = 0.5;

/// An external thread with a known section, diameter, number of starts and hand; parallel unless made
/// [`tapered`](Thread::tapered).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    section: Section,
    major_diameter_mm: f64,
    taper: f64,
    starts: u32,
    hand: Hand,
}

impl Thread {
    /// Winds `section` with its crest at `major_diameter_mm`.
    ///
    /// # Errors
    /// [`SectionError::Diameter`] when no core is left, [`SectionError::Starts`] outside 1 to 16.
    pub fn new(
        section: Section,
        major_diameter_mm: f64,
        starts: u32,
        hand: Hand,
    ) -> Result<Self, SectionError> {
        let depth_mm = section.depth_mm();
        // Written so that a NaN diameter is refused as well.
        if !(major_diameter_mm.is_finite() && major_diameter_mm > 2.02 * depth_mm) {
            return Err(SectionError::Diameter { major_mm: major_diameter_mm, depth_mm });
        }
        if !(1..=16).contains(&starts) {
            return Err(SectionError::Starts(starts));
        }
        Ok(Self { section, major_diameter_mm, taper: 0.0, starts, hand })
    }

    /// The same thread on a cone. `taper` is the change of diameter per length along the axis, without
    /// a unit and positive when the right end is the thicker one: 1/16 for the pipe threads of ISO 7-1
    /// and ASME B1.20.1. Diameters are then those at `z = 0`.
    ///
    /// # Errors
    /// [`SectionError::Taper`] outside ±0.5, and what [`Section::straightened`] refuses.
    pub fn tapered(self, taper: f64) -> Result<Self, SectionError> {
        if taper.is_nan() || taper.abs() > STEEPEST_TAPER {
            return Err(SectionError::Taper(taper));
        }
        self.section.straightened(0.5 * taper)?;
        Ok(Self { taper, ..self })
    }

    /// Change of diameter per length, positive when the right end is thicker; 0 for a parallel thread.
    #[must_use]
    pub fn taper(&self) -> f64 {
        self.taper
    }

    /// The curve that its helicoid sweeps.
    #[must_use]
    pub fn profile(&self) -> Profile {
        let rise = 0.5 * self.taper;
        // Checked when the taper was given.
        let section = self.section.straightened(rise).unwrap_or(self.section);
        Profile::new(&section, 0.5 * self.major_diameter_mm).on_cone(rise)
    }

    /// The axial section.
    #[must_use]
    pub fn section(&self) -> &Section {
        &self.section
    }
    /// Diameter over the crests, mm.
    #[must_use]
    pub fn major_diameter_mm(&self) -> f64 {
        self.major_diameter_mm
    }
    /// Diameter at the roots, mm.
    #[must_use]
    pub fn minor_diameter_mm(&self) -> f64 {
        self.major_diameter_mm - 2.0 * self.section.depth_mm()
    }
    /// Diameter at which ridge and groove are equally wide, mm; for a square form, the mean of
    /// major and minor diameter.
    #[must_use]
    pub fn pitch_diameter_mm(&self) -> f64 {
        let below = self.section.pitch_line_depth_mm().unwrap_or(0.5 * self.section.depth_mm());
        self.major_diameter_mm - 2.0 * below
    }
    /// Number of starts.
    #[must_use]
    pub fn starts(&self) -> u32 {
        self.starts
    }
    /// Hand.
    #[must_use]
    pub fn hand(&self) -> Hand {
        self.hand
    }
    /// Advance per turn: pitch times starts, mm.
    #[must_use]
    pub fn lead_mm(&self) -> f64 {
        self.section.pitch_mm() * f64::from(self.starts)
    }

    /// Advance per radian in the frame of the shadow model, mm: negative for a right-hand thread,
    /// because `z` right, `x` up and `y` away from the camera make a left-handed frame.
    #[must_use]
    pub fn signed_advance_mm(&self) -> f64 {
        let p = self.lead_mm() / (2.0 * PI);
        match self.hand {
            Hand::Right => -p,
            Hand::Left => p,
        }
    }

    /// Lead angle at `diameter_mm`, radians: `atan(lead / π d)`.
    #[must_use]
    pub fn lead_angle_rad(&self, diameter_mm: f64) -> f64 {
        (self.lead_mm() / (PI * diameter_mm)).atan()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn lead_angles_of_the_trade() {
        // 1/2 in - 10, 29°: 4.05°; 12 x 3 trapezoidal: 5.20° (both at the pitch diameter).
        let deg = |p: f64, half: f64, major: f64| {
            let h = half.to_radians();
            let depth = p / 2.0;
            let section = Section::symmetric(p, h, depth, 0.5 * p - depth * h.tan()).unwrap();
            let t = Thread::new(section, major, 1, Hand::Right).unwrap();
            t.lead_angle_rad(t.pitch_diameter_mm()).to_degrees()
        };
        assert_abs_diff_eq!(deg(2.54, 14.5, 12.7), 4.05, epsilon = 0.005);
        assert_abs_diff_eq!(deg(3.0, 15.0, 12.0), 5.20, epsilon = 0.005);
    }

    #[test]
    fn a_core_must_remain() {
        let s = Section::symmetric(4.0, 0.26, 2.0, 1.4).unwrap();
        assert!(Thread::new(s, 4.0, 1, Hand::Right).is_err());
        assert!(Thread::new(s, f64::NAN, 1, Hand::Right).is_err());
        assert!(Thread::new(s, 20.0, 0, Hand::Right).is_err());
    }
}
