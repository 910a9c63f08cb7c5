//! The screw in hand, as quantities: what every design in this crate starts from.

use crate::propagate::first_order;
use form::{
    Hand, Quantity, Said, Section, SectionError, SectionNumbers, Sentence, Source, Thread, figure,
    sentence,
};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How many numbers of a screw may be uncertain; the order is that of [`ScrewForm::values`].
pub const PARAMETERS: usize = 8;
/// Names of the uncertain numbers, in order.
pub const PARAMETER_NAMES: [&str; PARAMETERS] = [
    "pitch_mm",
    "right_flank_deg",
    "left_flank_deg",
    "depth_mm",
    "crest_flat_mm",
    "crest_radius_mm",
    "root_radius_mm",
    "major_diameter_mm",
];

/// Why a screw cannot be worked with.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ScrewError {
    /// The numbers make no section or no thread.
    Section(#[from] SectionError),
    /// A number nothing can be cut from.
    Unknown {
        /// Field name of the number.
        name: &'static str,
    },
    /// A correlation that is none.
    Correlation {
        /// One of the two numbers.
        first: &'static str,
        /// The other.
        second: &'static str,
        /// Coefficient given.
        value: f64,
    },
}

impl Said for ScrewError {
    fn said(&self) -> Sentence {
        match self {
            Self::Section(e) => e.said(),
            Self::Unknown { name } => sentence!(
                "{} is not known (uncertainty without limit): measure it or enter it before designing from it",
                *name
            ),
            Self::Correlation { first, second, value } => sentence!(
                "correlation of {} with {} is {}, outside -1 to 1, or not symmetric",
                *first,
                *second,
                figure(*value, 3)
            ),
        }
    }
}

form::said_by_display!(ScrewError);

/// An external thread as measured, entered or assumed: its axial section (never its shadow), with
/// an uncertainty and a source for every number.
///
/// `right` and `left` are the sides of a crest on the upper edge of the picture, as everywhere in
/// the program. Flats are between theoretical sharp corners, as in [`Section`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScrewForm {
    /// Crest to next crest along the axis, mm.
    pub pitch_mm: Quantity,
    /// Right flank from the normal to the axis, degrees.
    pub right_flank_deg: Quantity,
    /// Left flank from the normal to the axis, degrees.
    pub left_flank_deg: Quantity,
    /// Radial distance from crest to root, mm.
    pub depth_mm: Quantity,
    /// Crest between sharp corners, mm.
    pub crest_flat_mm: Quantity,
    /// Radius at the crest corners, mm.
    pub crest_radius_mm: Quantity,
    /// Radius at the root corners, mm.
    pub root_radius_mm: Quantity,
    /// Diameter over the crests, mm.
    pub major_diameter_mm: Quantity,
    /// Number of starts.
    pub starts: u32,
    /// Hand.
    pub hand: Hand,
    /// Correlation coefficients of the eight numbers in the order of [`PARAMETER_NAMES`], from the
    /// fit; `None` takes them as independent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correlation: Option<[[f64; PARAMETERS]; PARAMETERS]>,
    /// By how much the thickest (least worn) ridge along the screw is thicker than the form above,
    /// mm; 0 when the form was measured at the unworn end.
    #[serde(default = "no_difference")]
    pub thickest_extra_mm: Quantity,
    /// By how much the thinnest (most worn) ridge is thinner than the form above, mm.
    #[serde(default = "no_difference")]
    pub thinnest_deficit_mm: Quantity,
}

fn no_difference() -> Quantity {
    Quantity::assumed(0.0, 0.0)
}

impl ScrewForm {
    /// A form whose numbers are those of `thread`, exact, all from `source`.
    #[must_use]
    pub fn from_thread(thread: &Thread, source: Source) -> Self {
        let n = thread.section().numbers();
        let q = |value: f64| Quantity::new(value, 0.0, source);
        Self {
            pitch_mm: q(n.pitch_mm),
            right_flank_deg: q(n.right_flank_rad.to_degrees()),
            left_flank_deg: q(n.left_flank_rad.to_degrees()),
            depth_mm: q(n.depth_mm),
            crest_flat_mm: q(n.crest_flat_mm),
            crest_radius_mm: q(n.crest_radius_mm),
            root_radius_mm: q(n.root_radius_mm),
            major_diameter_mm: q(thread.major_diameter_mm()),
            starts: thread.starts(),
            hand: thread.hand(),
            correlation: None,
            thickest_extra_mm: no_difference(),
            thinnest_deficit_mm: no_difference(),
        }
    }

    /// The eight uncertain numbers, in the order of [`PARAMETER_NAMES`].
    #[must_use]
    pub fn quantities(&self) -> [Quantity; PARAMETERS] {
        [
            self.pitch_mm,
            self.right_flank_deg,
            self.left_flank_deg,
            self.depth_mm,
            self.crest_flat_mm,
            self.crest_radius_mm,
            self.root_radius_mm,
            self.major_diameter_mm,
        ]
    }

    /// Values of [`ScrewForm::quantities`].
    #[must_use]
    pub fn values(&self) -> [f64; PARAMETERS] {
        self.quantities().map(|q| q.value)
    }

    /// The thread with these eight values in place of the form's own.
    ///
    /// # Errors
    /// [`SectionError`] when they make no thread.
    pub fn thread_with(&self, values: [f64; PARAMETERS]) -> Result<Thread, SectionError> {
        let [pitch, right, left, depth, crest, crest_radius, root_radius, major] = values;
        let section = Section::new(SectionNumbers {
            pitch_mm: pitch,
            depth_mm: depth,
            right_flank_rad: right.to_radians(),
            left_flank_rad: left.to_radians(),
            crest_flat_mm: crest,
            crest_radius_mm: crest_radius,
            root_radius_mm: root_radius,
        })?;
        Thread::new(section, major, self.starts, self.hand)
    }

    /// The thread nearest to these eight values: where the flanks would meet above the root line the
    /// depth ends there, and a radius that does not fit is made to. A draw from the doubt of a form
    /// at such a limit must not be thrown away, or the limit would bend the average.
    ///
    /// # Errors
    /// [`SectionError`] when they make no thread even so.
    pub(crate) fn thread_near(
        &self,
        mut values: [f64; PARAMETERS],
    ) -> Result<Thread, SectionError> {
        let [pitch, right, left, depth, crest, crest_radius, root_radius, _] = values;
        // A wild draw may stand anywhere: bring it where a flank can be before computing with it.
        let flank = |degrees: f64| degrees.clamp(-9.0, 79.0);
        let (right, left) = (flank(right), flank(left));
        (values[1], values[2]) = (right, left);
        let (right, left) = (right.to_radians(), left.to_radians());
        let slope = right.tan() + left.tan();
        let crest = crest.max(0.0).min(pitch.max(0.0));
        let depth = if slope > 1e-9 { depth.min((pitch - crest) / slope) } else { depth };
        let root = pitch - crest - depth * slope;
        let used = |flank: f64| (0.5 * (std::f64::consts::FRAC_PI_2 - flank)).tan();
        let per_radius = used(right) + used(left);
        values[3] = depth;
        values[4] = crest;
        values[5] = crest_radius.min(crest / per_radius).max(0.0);
        values[6] = root_radius.min(root / per_radius).max(0.0);
        self.thread_with(values)
    }

    /// The form with depth and radii brought to what fits, where that is within twice the
    /// uncertainties of what they hang on (a radius on its flat, and with that on the depth): numbers that were each improved by themselves need not meet to the last micrometre.
    #[must_use]
    pub fn settled(self) -> Self {
        if self.thread().is_ok() {
            return self;
        }
        let Ok(near) = self.thread_near(self.values()) else { return self };
        let n = near.section().numbers();
        let hung_on = self.depth_mm.u + self.crest_flat_mm.u + self.pitch_mm.u;
        let mut out = self.clone();
        for (q, value) in [
            (&mut out.depth_mm, n.depth_mm),
            (&mut out.crest_radius_mm, n.crest_radius_mm),
            (&mut out.root_radius_mm, n.root_radius_mm),
        ] {
            if (value - q.value).abs() > 2.0 * (q.u + hung_on) {
                return self;
            }
            q.value = value;
        }
        out
    }

    /// The thread of the best values.
    ///
    /// # Errors
    /// [`ScrewError::Section`] when they make no thread.
    pub fn thread(&self) -> Result<Thread, ScrewError> {
        Ok(self.thread_with(self.values())?)
    }

    /// Checks that nothing is unknown or impossible.
    ///
    /// # Errors
    /// [`ScrewError`] names the number.
    pub fn check(&self) -> Result<(), ScrewError> {
        for (name, q) in PARAMETER_NAMES.iter().zip(self.quantities()) {
            if !q.value.is_finite() || !q.u.is_finite() {
                return Err(ScrewError::Unknown { name });
            }
        }
        for (name, q) in [
            ("thickest_extra_mm", self.thickest_extra_mm),
            ("thinnest_deficit_mm", self.thinnest_deficit_mm),
        ] {
            if !q.value.is_finite() || !q.u.is_finite() {
                return Err(ScrewError::Unknown { name });
            }
        }
        if let Some(rho) = &self.correlation {
            for i in 0..PARAMETERS {
                for j in 0..PARAMETERS {
                    let value = rho[i][j];
                    if !(-1.0 - 1e-9..=1.0 + 1e-9).contains(&value)
                        || (value - rho[j][i]).abs() > 1e-6
                    {
                        return Err(ScrewError::Correlation {
                            first: PARAMETER_NAMES[i],
                            second: PARAMETER_NAMES[j],
                            value,
                        });
                    }
                }
            }
        }
        self.thread().map(|_| ())
    }

    /// The screw where its ridge is thickest: what a nut must pass.
    #[must_use]
    pub fn thickest(&self) -> Self {
        self.thickened(self.thickest_extra_mm)
    }

    /// The screw where its ridge is thinnest: where the play is greatest.
    #[must_use]
    pub fn thinnest(&self) -> Self {
        let less = self.thinnest_deficit_mm;
        self.thickened(Quantity::new(-less.value, less.u, less.source))
    }

    fn thickened(&self, by_mm: Quantity) -> Self {
        let mut out = self.clone();
        out.thickest_extra_mm = no_difference();
        out.thinnest_deficit_mm = no_difference();
        if by_mm.value == 0.0 && by_mm.u == 0.0 {
            return out;
        }
        let old = self.crest_flat_mm;
        let u = old.u.hypot(by_mm.u);
        out.crest_flat_mm = Quantity::derived(old.value + by_mm.value, u);
        // The added uncertainty is independent: the covariances stay, so the coefficients shrink.
        if let Some(rho) = out.correlation.as_mut()
            && u > 0.0
        {
            let shrink = old.u / u;
            for i in (0..PARAMETERS).filter(|&i| i != CREST_FLAT) {
                rho[i][CREST_FLAT] *= shrink;
                rho[CREST_FLAT][i] *= shrink;
            }
        }
        out
    }

    /// A number computed from the screw's thread, with the uncertainty that follows from all eight.
    ///
    /// # Errors
    /// [`ScrewError`] when the best values make no thread.
    pub fn derive(&self, f: impl Fn(&Thread) -> f64) -> Result<Quantity, ScrewError> {
        let thread = self.thread()?;
        Ok(first_order(self, &thread, f))
    }

    /// Advance per turn, mm.
    #[must_use]
    pub fn lead_mm(&self) -> Quantity {
        let starts = f64::from(self.starts);
        Quantity::new(self.pitch_mm.value * starts, self.pitch_mm.u * starts, self.pitch_mm.source)
    }
}

const CREST_FLAT: usize = 4;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_number_is_named() {
        let section = Section::symmetric(4.0, 0.26, 2.0, 1.4).unwrap();
        let thread = Thread::new(section, 20.0, 1, Hand::Right).unwrap();
        let mut form = ScrewForm::from_thread(&thread, Source::Entered);
        assert!(form.check().is_ok());
        assert_eq!(form.thread().unwrap().major_diameter_mm(), 20.0);
        form.depth_mm.u = f64::INFINITY;
        assert!(form.check().unwrap_err().to_string().contains("depth_mm"));
    }
}
