//! The axial section of a thread.

use crate::sentence::{Said, Sentence, figure, mm, mm_as_given};
use crate::{said_by_display, sentence};
use thiserror::Error;

/// Least depth a section may have, as a fraction of its pitch.
const LEAST_DEPTH: f64 = 0.01;
/// Flank angles are limited to this range, each from the normal to the axis, radians.
const FLANK_LIMITS_RAD: (f64, f64) = (-0.175, 1.4);

/// Why numbers do not make a section.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SectionError {
    /// The pitch is not a positive length.
    Pitch(f64),
    /// The depth does not fit the pitch.
    Depth {
        /// Depth asked for, mm.
        depth_mm: f64,
        /// Least depth, mm.
        least: f64,
        /// Greatest depth, mm.
        most: f64,
        /// Pitch, mm.
        pitch_mm: f64,
    },
    /// A flank angle outside its limits.
    Flank {
        /// `"right"` or `"left"`.
        side: &'static str,
        /// Angle asked for, degrees.
        degrees: f64,
    },
    /// A flat is negative.
    Flat {
        /// `"crest"` or `"root"`.
        which: &'static str,
        /// Flat that results, mm.
        flat_mm: f64,
    },
    /// A radius is negative or larger than fits in its flat.
    Radius {
        /// `"crest"` or `"root"`.
        which: &'static str,
        /// Radius asked for, mm.
        radius_mm: f64,
        /// Largest radius, mm.
        most: f64,
    },
    /// The diameter leaves no core.
    Diameter {
        /// Major diameter, mm.
        major_mm: f64,
        /// Depth, mm.
        depth_mm: f64,
    },
    /// The taper is out of its limits.
    Taper(f64),
    /// The number of starts is not in 1 to 16.
    Starts(u32),
}

impl Said for SectionError {
    fn said(&self) -> Sentence {
        match self {
            Self::Pitch(it) => sentence!("pitch {} is not a positive length", mm_as_given(*it)),
            Self::Depth { depth_mm, least, most, pitch_mm } => sentence!(
                "depth {} is outside {} to {} for a pitch of {} mm",
                mm_as_given(*depth_mm),
                mm(*least, 4),
                mm(*most, 4),
                pitch_mm.to_string()
            ),
            Self::Flank { side, degrees } => {
                sentence!("{} flank angle {}° is outside -10° to 80°", *side, figure(*degrees, 3))
            }
            Self::Flat { which, flat_mm } => sentence!(
                "{} flat {} is negative: the flanks cross before they reach it",
                *which,
                mm(*flat_mm, 4)
            ),
            Self::Radius { which, radius_mm, most } => sentence!(
                "{} radius {} is outside 0 to {}, the largest that fits the flat",
                *which,
                mm(*radius_mm, 4),
                mm(*most, 4)
            ),
            Self::Diameter { major_mm, depth_mm } => sentence!(
                "major diameter {} leaves no core under a depth of {}",
                mm(*major_mm, 3),
                mm(*depth_mm, 3)
            ),
            Self::Taper(it) => sentence!(
                "taper {} on the diameter per length is outside -0.5 to 0.5",
                it.to_string()
            ),
            Self::Starts(it) => sentence!("{} starts is outside 1 to 16", *it),
        }
    }
}

said_by_display!(SectionError);

/// One period of an axial section: a trapezoid, possibly with rounded corners.
///
/// ```text
///                 crest flat
///               ___________                      x (radius) up
///   left flank /           \ right flank         z (along the axis) to the right
///             /             \
/// ___________/               \____________
///                              root flat         one pitch from crest centre to crest centre
/// ```
///
/// Flats are measured between the *theoretical sharp corners*, where the straight flanks meet the
/// crest and root lines; a radius rounds such a corner and touches flank and flat. A radius that
/// uses the whole flat gives a fully rounded crest or root.
///
/// A `Section` that exists has positive pitch and depth, flats that are not negative, and radii
/// that fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    pitch_mm: f64,
    depth_mm: f64,
    right_flank_rad: f64,
    left_flank_rad: f64,
    crest_flat_mm: f64,
    crest_radius_mm: f64,
    root_radius_mm: f64,
}

/// The numbers a [`Section`] is made of, before they are checked.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SectionNumbers {
    /// Distance from crest to next crest along the axis, mm.
    pub pitch_mm: f64,
    /// Radial distance from crest line to root line, mm.
    pub depth_mm: f64,
    /// Angle of the flank right of a crest from the normal to the axis, radians; positive when the
    /// tooth is thicker at its root.
    pub right_flank_rad: f64,
    /// The same for the flank left of a crest.
    pub left_flank_rad: f64,
    /// Width of the crest between theoretical sharp corners, mm.
    pub crest_flat_mm: f64,
    /// Radius at both crest corners, mm; 0 is sharp.
    pub crest_radius_mm: f64,
    /// Radius at both root corners, mm; 0 is sharp.
    pub root_radius_mm: f64,
}

impl Section {
    /// Checks `numbers` and makes a section of them.
    ///
    /// # Errors
    /// [`SectionError`] names the first number that is out of its limits.
    pub fn new(numbers: SectionNumbers) -> Result<Self, SectionError> {
        let SectionNumbers {
            pitch_mm,
            depth_mm,
            right_flank_rad,
            left_flank_rad,
            crest_flat_mm,
            crest_radius_mm,
            root_radius_mm,
        } = numbers;
        if !(pitch_mm.is_finite() && pitch_mm > 0.0) {
            return Err(SectionError::Pitch(pitch_mm));
        }
        let least = LEAST_DEPTH * pitch_mm;
        let most = 3.0 * pitch_mm;
        if !(least..=most).contains(&depth_mm) {
            return Err(SectionError::Depth { depth_mm, least, most, pitch_mm });
        }
        for (side, angle) in [("right", right_flank_rad), ("left", left_flank_rad)] {
            if !(FLANK_LIMITS_RAD.0..=FLANK_LIMITS_RAD.1).contains(&angle) {
                return Err(SectionError::Flank { side, degrees: angle.to_degrees() });
            }
        }
        let section = Self {
            pitch_mm,
            depth_mm,
            right_flank_rad,
            left_flank_rad,
            crest_flat_mm,
            crest_radius_mm,
            root_radius_mm,
        };
        // Flats written as "what is left over" may be off zero by rounding alone.
        let slack = 1e-9 * pitch_mm;
        for (which, flat_mm, radius_mm) in [
            ("crest", crest_flat_mm, crest_radius_mm),
            ("root", section.root_flat_mm(), root_radius_mm),
        ] {
            if flat_mm.is_nan() || flat_mm < -slack {
                return Err(SectionError::Flat { which, flat_mm });
            }
            let most = flat_mm / section.flat_used_per_radius();
            if !(radius_mm >= 0.0 && radius_mm <= most + slack) {
                return Err(SectionError::Radius { which, radius_mm, most });
            }
        }
        Ok(section)
    }

    /// A sharp-cornered section with equal flanks.
    ///
    /// # Errors
    /// As [`Section::new`].
    pub fn symmetric(
        pitch_mm: f64,
        half_angle_rad: f64,
        depth_mm: f64,
        crest_flat_mm: f64,
    ) -> Result<Self, SectionError> {
        Self::new(SectionNumbers {
            pitch_mm,
            depth_mm,
            right_flank_rad: half_angle_rad,
            left_flank_rad: half_angle_rad,
            crest_flat_mm,
            ..SectionNumbers::default()
        })
    }

    /// Flat consumed on both sides together by a corner radius of 1 mm, mm.
    fn flat_used_per_radius(&self) -> f64 {
        corner_tangent_length(self.right_flank_rad) + corner_tangent_length(self.left_flank_rad)
    }

    /// Largest radius that fits in a flat of `flat_mm`, mm.
    #[must_use]
    pub fn largest_radius_mm(&self, flat_mm: f64) -> f64 {
        (flat_mm / self.flat_used_per_radius()).max(0.0)
    }

    /// The section as it stands on a cone, straightened: heights counted from lines parallel to the
    /// crests, which rise by `rise` mm of radius per mm along the axis, positive to the right. That is
    /// what a [`Profile`](crate::Profile) on a cone is made of.
    ///
    /// On a tapered thread the pitch is measured along the axis and the flank angles from the normal
    /// to it, while crests and roots lie along the cone (ISO 7-1, ASME B1.20.1). Straightened, a right
    /// flank is steeper, `1/tan α + rise`, and a left one flatter by as much. Flats are measured along
    /// the axis either way. An arc is taken as one of the straightened form; on the cone it is drawn
    /// out by `rise` of its width, 0.03 of it at 1:16. Radii that fill their flats are cut to what fits.
    ///
    /// # Errors
    /// As [`Section::new`]: nothing of the root may be left.
    pub fn straightened(&self, rise: f64) -> Result<Self, SectionError> {
        if rise == 0.0 {
            return Ok(*self);
        }
        let (right, left) = (self.right_flank_rad.tan(), self.left_flank_rad.tan());
        let sharp = Self::new(SectionNumbers {
            right_flank_rad: (right / (1.0 + rise * right)).atan(),
            left_flank_rad: (left / (1.0 - rise * left)).atan(),
            crest_radius_mm: 0.0,
            root_radius_mm: 0.0,
            ..self.numbers()
        })?;
        let fitting = |radius: f64, flat: f64| radius.min(sharp.largest_radius_mm(flat));
        Self::new(SectionNumbers {
            crest_radius_mm: fitting(self.crest_radius_mm, sharp.crest_flat_mm()),
            root_radius_mm: fitting(self.root_radius_mm, sharp.root_flat_mm()),
            ..sharp.numbers()
        })
    }

    /// The numbers the section was made of.
    #[must_use]
    pub fn numbers(&self) -> SectionNumbers {
        SectionNumbers {
            pitch_mm: self.pitch_mm,
            depth_mm: self.depth_mm,
            right_flank_rad: self.right_flank_rad,
            left_flank_rad: self.left_flank_rad,
            crest_flat_mm: self.crest_flat_mm,
            crest_radius_mm: self.crest_radius_mm,
            root_radius_mm: self.root_radius_mm,
        }
    }

    /// Distance from crest to next crest along the axis, mm.
    #[must_use]
    pub fn pitch_mm(&self) -> f64 {
        self.pitch_mm
    }
    /// Radial distance from crest line to root line, mm.
    #[must_use]
    pub fn depth_mm(&self) -> f64 {
        self.depth_mm
    }
    /// Angle of the right flank from the normal to the axis, radians.
    #[must_use]
    pub fn right_flank_rad(&self) -> f64 {
        self.right_flank_rad
    }
    /// Angle of the left flank from the normal to the axis, radians.
    #[must_use]
    pub fn left_flank_rad(&self) -> f64 {
        self.left_flank_rad
    }
    /// Right and left flank angles together, radians.
    #[must_use]
    pub fn included_angle_rad(&self) -> f64 {
        self.right_flank_rad + self.left_flank_rad
    }
    /// Crest width between theoretical sharp corners, mm.
    #[must_use]
    pub fn crest_flat_mm(&self) -> f64 {
        self.crest_flat_mm
    }
    /// Radius at the crest corners, mm.
    #[must_use]
    pub fn crest_radius_mm(&self) -> f64 {
        self.crest_radius_mm
    }
    /// Radius at the root corners, mm.
    #[must_use]
    pub fn root_radius_mm(&self) -> f64 {
        self.root_radius_mm
    }
    /// Root width between theoretical sharp corners: what crest and flanks leave of the pitch, mm.
    #[must_use]
    pub fn root_flat_mm(&self) -> f64 {
        self.pitch_mm
            - self.crest_flat_mm
            - self.depth_mm * (self.right_flank_rad.tan() + self.left_flank_rad.tan())
    }

    /// Thickness of the ridge at `depth_below_crest_mm`, between the straight flanks extended to
    /// sharp corners, mm.
    #[must_use]
    pub fn ridge_thickness_mm(&self, depth_below_crest_mm: f64) -> f64 {
        self.crest_flat_mm
            + depth_below_crest_mm * (self.right_flank_rad.tan() + self.left_flank_rad.tan())
    }

    /// Depth below the crest at which ridge and groove are equally wide (the pitch line), mm.
    /// `None` when the flanks are parallel or the line lies outside the section.
    #[must_use]
    pub fn pitch_line_depth_mm(&self) -> Option<f64> {
        let slope = self.right_flank_rad.tan() + self.left_flank_rad.tan();
        if slope.abs() < 1e-9 {
            return None;
        }
        let depth = (0.5 * self.pitch_mm - self.crest_flat_mm) / slope;
        (-0.25 * self.pitch_mm..=self.depth_mm + 0.25 * self.pitch_mm)
            .contains(&depth)
            .then_some(depth)
    }
}

/// Length along the flat (and along the flank) from a sharp corner to where a unit radius touches,
/// for a flank at `flank_rad` from the normal.
pub(crate) fn corner_tangent_length(flank_rad: f64) -> f64 {
    (0.5 * (std::f64::consts::FRAC_PI_2 - flank_rad)).tan()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn fifty_five_degree_form_rounds_fully_at_the_standard_radius() {
        // BS 84 (Machinery's Handbook 31st ed. p. 2087): h = 0.640327 P, r = 0.137329 P; the
        // truncation of H/6 leaves a theoretical flat of P/6, which the radius uses up exactly.
        let section = Section::new(SectionNumbers {
            pitch_mm: 1.0,
            depth_mm: 0.640_327,
            right_flank_rad: 27.5f64.to_radians(),
            left_flank_rad: 27.5f64.to_radians(),
            crest_flat_mm: 1.0 / 6.0,
            crest_radius_mm: 0.137_329,
            root_radius_mm: 0.137_328,
        })
        .unwrap();
        assert_abs_diff_eq!(section.root_flat_mm(), 1.0 / 6.0, epsilon = 2e-6);
        assert_abs_diff_eq!(section.largest_radius_mm(1.0 / 6.0), 0.137_329, epsilon = 1e-6);
    }

    #[test]
    fn limits_are_named() {
        let e = Section::symmetric(2.0, 0.5, 1.9, 0.4).unwrap_err();
        assert!(e.to_string().contains("root flat"), "{e}");
        let e = Section::symmetric(0.0, 0.5, 1.9, 0.4).unwrap_err();
        assert!(e.to_string().contains("pitch 0"), "{e}");
        assert!(Section::symmetric(f64::NAN, 0.5, 1.0, 0.4).is_err());
        assert!(Section::symmetric(2.0, f64::NAN, 1.0, 0.4).is_err());
        assert!(Section::symmetric(2.0, 0.2, f64::NAN, 0.4).is_err());
        assert!(Section::symmetric(2.0, 0.2, 1.0, f64::NAN).is_err());
    }

    #[test]
    fn pitch_line_halves_the_pitch() {
        let s = Section::symmetric(4.0, 15f64.to_radians(), 2.25, 1.4642).unwrap();
        let d = s.pitch_line_depth_mm().unwrap();
        assert_abs_diff_eq!(s.ridge_thickness_mm(d), 2.0, epsilon = 1e-12);
        assert_abs_diff_eq!(d, 1.0, epsilon = 1e-3);
    }
}
