//! A number somebody may cut metal to: value, standard uncertainty, and where it came from.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Where a number came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Source {
    /// Found in a picture or by an instrument.
    Measured,
    /// Typed by the person.
    Entered,
    /// A default nobody confirmed.
    Assumed,
    /// Computed from other quantities.
    Derived,
    /// Read from a published standard.
    Standard,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Measured => "measured",
            Self::Entered => "entered",
            Self::Assumed => "assumed",
            Self::Derived => "derived",
            Self::Standard => "standard",
        })
    }
}

/// A value with its standard uncertainty (k = 1, same unit as the value) and its source.
///
/// The unit is in the name of whatever holds the quantity (`pitch_mm`, `right_flank_deg`).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "AsWritten")]
pub struct Quantity {
    /// The value, in the unit named by the holder.
    pub value: f64,
    /// Standard uncertainty, k = 1, never negative.
    pub u: f64,
    /// Where the value came from.
    pub source: Source,
}

/// A quantity as it stands in a file, where anything may have been written.
#[derive(Deserialize)]
struct AsWritten {
    value: f64,
    u: f64,
    source: Source,
}

impl From<AsWritten> for Quantity {
    fn from(q: AsWritten) -> Self {
        Self::new(q.value, q.u, q.source)
    }
}

impl Quantity {
    /// A quantity from its three parts; a negative or NaN uncertainty is stored as its magnitude or
    /// infinity, so that nothing downstream becomes falsely certain.
    #[must_use]
    pub fn new(value: f64, u: f64, source: Source) -> Self {
        let u = if u.is_nan() { f64::INFINITY } else { u.abs() };
        Self { value, u, source }
    }

    /// Measured value with standard uncertainty `u`.
    #[must_use]
    pub fn measured(value: f64, u: f64) -> Self {
        Self::new(value, u, Source::Measured)
    }

    /// Typed value with standard uncertainty `u`.
    #[must_use]
    pub fn entered(value: f64, u: f64) -> Self {
        Self::new(value, u, Source::Entered)
    }

    /// Default value with standard uncertainty `u`.
    #[must_use]
    pub fn assumed(value: f64, u: f64) -> Self {
        Self::new(value, u, Source::Assumed)
    }

    /// Computed value with standard uncertainty `u`.
    #[must_use]
    pub fn derived(value: f64, u: f64) -> Self {
        Self::new(value, u, Source::Derived)
    }

    /// Value from a published standard, taken as exact.
    #[must_use]
    pub fn standard(value: f64) -> Self {
        Self::new(value, 0.0, Source::Standard)
    }

    /// Value and uncertainty multiplied by `factor`; the source becomes `Derived`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self::derived(self.value * factor, self.u * factor)
    }

    /// Number of decimals that `u` justifies: `u` is shown with two significant digits when it
    /// starts with 1 or 2, otherwise with one (JCGM 100, 7.2.6); at most `most`.
    #[must_use]
    pub fn decimals(self, most: usize) -> usize {
        decimals_for(self.u, most)
    }

    /// `value ± u` rounded to the digits that `u` justifies, without unit.
    #[must_use]
    pub fn with_u(self, most: usize) -> String {
        let d = self.decimals(most);
        match self.u {
            // Of what nobody knows how well it is known, no digit is.
            u if u.is_infinite() => format!("{} ± ?", fixed(self.value, d)),
            u if u > 0.0 => format!("{} ± {:.*}", fixed(self.value, d), d, round_up(u, d)),
            _ => fixed(self.value, d),
        }
    }
}

/// A number to so many decimals; nothing is never "-0.00".
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.chars().all(|c| c == '0' || c == '.') => digits.to_owned(),
        _ => text,
    }
}

/// Decimals justified by the standard uncertainty `u`, see [`Quantity::decimals`].
#[must_use]
pub fn decimals_for(u: f64, most: usize) -> usize {
    if !u.is_finite() {
        return 0;
    }
    if u <= 0.0 {
        return most;
    }
    let exponent = u.log10().floor();
    let leading = u / 10f64.powf(exponent);
    let wanted = -exponent + if leading < 3.0 { 1.0 } else { 0.0 };
    (wanted.max(0.0) as usize).min(most)
}

/// An uncertainty may be rounded up but never down to nothing.
fn round_up(u: f64, decimals: usize) -> f64 {
    let step = 10f64.powi(-(decimals as i32));
    let rounded = (u / step).round() * step;
    if rounded < u * 0.85 { (u / step).ceil() * step } else { rounded }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_has_no_sign() {
        assert_eq!(Quantity::measured(-0.000_01, 0.000_2).with_u(4), "0.0000 ± 0.0002");
        assert_eq!(Quantity::measured(-0.000_31, 0.000_2).with_u(4), "-0.0003 ± 0.0002");
        assert_eq!(Quantity::entered(-0.001, 0.0).with_u(2), "0.00");
    }

    #[test]
    fn digits_follow_the_uncertainty() {
        assert_eq!(Quantity::measured(4.000_23, 0.000_14).with_u(4), "4.0002 ± 0.0002");
        assert_eq!(Quantity::measured(15.0123, 0.034).with_u(3), "15.01 ± 0.03");
        assert_eq!(Quantity::measured(15.0123, 0.014).with_u(3), "15.012 ± 0.014");
        assert_eq!(Quantity::measured(1234.0, 27.0).with_u(3), "1234 ± 27");
        assert_eq!(Quantity::standard(0.366).with_u(3), "0.366");
    }

    #[test]
    fn an_uncertainty_never_vanishes_by_rounding() {
        assert_eq!(Quantity::measured(4.0, 0.000_01).with_u(3), "4.000 ± 0.001");
    }

    #[test]
    fn an_unknown_uncertainty_is_infinite() {
        assert!(Quantity::measured(1.0, f64::NAN).u.is_infinite());
    }
}
