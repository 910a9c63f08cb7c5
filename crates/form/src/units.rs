//! Lengths, pitches and angles as people write them.
//!
//! Lengths: `5mm`, `0.25in`, `1/4in`, `1 1/4"`, `250thou`, `2.5cm`. Pitches: any length or `8tpi`.
//! Angles: `30deg`, `30°`, `14d30m`, `14°30'`. A quantity may carry its standard uncertainty:
//! `2.5mm±0.01mm`, `2.5mm+-0.01mm`, `2.5±0.01mm`. A bare number is refused where a unit is needed:
//! a millimetre taken for an inch ruins the part.

use crate::quantity::{Quantity, Source, fixed};
use std::fmt;
use thiserror::Error;

/// Millimetres in an inch, exactly (the international inch).
pub const MM_PER_INCH: f64 = 25.4;

/// Which system lengths are shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
    /// Thousandths of an inch.
    Thou,
}

impl Units {
    /// Millimetres in one of this unit.
    #[must_use]
    pub fn in_mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => MM_PER_INCH,
            Self::Thou => MM_PER_INCH / 1000.0,
        }
    }
    /// Symbol written after a number.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Inch => "in",
            Self::Thou => "thou",
        }
    }
    /// Most decimals worth showing (a tenth of a micrometre).
    #[must_use]
    pub fn most_decimals(self) -> usize {
        match self {
            Self::Mm => 4,
            Self::Inch => 5,
            Self::Thou => 2,
        }
    }
    /// A length in millimetres as one in this unit, with its uncertainty.
    #[must_use]
    pub fn of_mm(self, length_mm: Quantity) -> Quantity {
        let per = self.in_mm();
        Quantity::new(length_mm.value / per, length_mm.u / per, length_mm.source)
    }
    /// Most decimals worth showing of a length in this unit: a ten-thousandth of an inch is what one cuts
    /// by, and the next digit is worth showing only where the uncertainty is smaller than that, or where a
    /// length without one is so small that fewer than two figures would be left.
    #[must_use]
    pub fn finest(self, length: Quantity) -> usize {
        let most = self.most_decimals();
        let cut_by = match self {
            Self::Mm => return most,
            Self::Inch => 1e-4,
            Self::Thou => 0.1,
        };
        let (value, u) = (length.value.abs(), length.u);
        let finer = if u > 0.0 { u < cut_by } else { value > 0.0 && value < 10.0 * cut_by };
        if finer { most } else { most - 1 }
    }
    /// A length in millimetres as text with its unit and as many digits as its uncertainty allows.
    #[must_use]
    pub fn show(self, length_mm: Quantity) -> String {
        let q = self.of_mm(length_mm);
        format!("{} {}", q.with_u(self.finest(q)), self.symbol())
    }
    /// A length in millimetres without uncertainty, to `decimals_mm` digits of a millimetre or the
    /// equivalent in this unit, and no finer than is worth showing.
    #[must_use]
    pub fn plain(self, length_mm: f64, decimals_mm: usize) -> String {
        let q = self.of_mm(Quantity::standard(length_mm));
        let decimals = match self {
            Self::Mm => decimals_mm,
            Self::Inch => (decimals_mm + 1).min(self.finest(q)),
            Self::Thou => decimals_mm.saturating_sub(2).min(self.finest(q)),
        };
        format!("{} {}", fixed(q.value, decimals), self.symbol())
    }
    /// A lead that wheels are to cut or do cut, mm. It comes of whole numbers, and errs not by what one cuts
    /// by but over the whole nut: it is told to a few parts per million, so that two trains that differ
    /// are not told alike.
    #[must_use]
    pub fn lead(self, lead_mm: f64) -> String {
        let decimals = self.lead_decimals();
        format!("{} {}", fixed(lead_mm / self.in_mm(), decimals), self.symbol())
    }
    /// Decimals of such a lead.
    pub(crate) fn lead_decimals(self) -> usize {
        match self {
            Self::Mm => 5,
            Self::Inch => 6,
            Self::Thou => 3,
        }
    }
}

/// What kind of number was expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A length.
    Length,
    /// A pitch or lead: a length, or threads per inch.
    Pitch,
    /// An angle.
    Angle,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Length => "length",
            Self::Pitch => "pitch",
            Self::Angle => "angle",
        })
    }
}

impl Kind {
    fn examples(self) -> &'static str {
        match self {
            Self::Length => "5mm, 0.25in, 1/4in or 250thou",
            Self::Pitch => "2.5mm, 0.1in or 10tpi",
            Self::Angle => "30deg or 14d30m",
        }
    }
}

/// Why a text is not the number that was expected.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitError {
    /// No unit.
    #[error("\"{text}\" has no unit: write the {kind} as {}", kind.examples())]
    NoUnit {
        /// What was given.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A unit of another kind, or none that is known.
    #[error("\"{unit}\" in \"{text}\" is not a unit of {kind}: write {}", kind.examples())]
    Unit {
        /// What was given.
        text: String,
        /// The unit found in it.
        unit: String,
        /// What was expected.
        kind: Kind,
    },
    /// No number.
    #[error("\"{text}\" is not a number: write the {kind} as {}", kind.examples())]
    Number {
        /// What was given.
        text: String,
        /// What was expected.
        kind: Kind,
    },
    /// A number outside the limits of the kind.
    #[error("{kind} \"{text}\" is outside {limits}")]
    Limits {
        /// What was given.
        text: String,
        /// What was expected.
        kind: Kind,
        /// The limits, in words.
        limits: &'static str,
    },
}

/// Parses a positive length, mm.
///
/// # Errors
/// [`UnitError`] when the text has no unit, no number, or is not positive.
pub fn length_mm(text: &str) -> Result<f64, UnitError> {
    Ok(length_quantity_mm(text)?.value)
}

/// Parses a positive length with optional `±` standard uncertainty, both mm; source `Entered`.
///
/// # Errors
/// As [`length_mm`].
pub fn length_quantity_mm(text: &str) -> Result<Quantity, UnitError> {
    quantity(text, Kind::Length)
}

/// Parses a length that may be nothing (a play, a clearance, a lost motion) with optional `±`, both mm;
/// source `Entered`.
///
/// # Errors
/// As [`length_mm`], but for nothing.
pub fn length_from_zero_quantity_mm(text: &str) -> Result<Quantity, UnitError> {
    match unlimited(text, Kind::Length) {
        Ok(q) if (0.0..=10_000.0).contains(&q.value) => Ok(q),
        Err(e) if !below_nothing(text, Kind::Length) => Err(e),
        _ => {
            let (kind, limits) = (Kind::Length, "0 to 10 m");
            Err(UnitError::Limits { text: text.trim().into(), kind, limits })
        }
    }
}

/// Whether a text is what it should be but for a minus before it.
fn below_nothing(text: &str, kind: Kind) -> bool {
    let (sign, rest) = signed(text);
    sign < 0.0 && unlimited(rest, kind).is_ok()
}

/// The sign a text begins with, and the rest of it.
fn signed(text: &str) -> (f64, &str) {
    let trimmed = text.trim();
    match trimmed.strip_prefix(['-', '−']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, trimmed),
    }
}

/// Parses a length that may be zero or negative (a drop, an offset), mm.
///
/// # Errors
/// As [`length_mm`], without the demand of a positive value.
pub fn signed_length_mm(text: &str) -> Result<f64, UnitError> {
    let (sign, rest) = signed(text);
    single(rest, text, Kind::Length, None).map(|(v, _)| sign * v)
}

/// Parses a length of either sign with optional `±`, both mm; source `Entered`.
///
/// # Errors
/// As [`signed_length_mm`].
pub fn signed_length_quantity_mm(text: &str) -> Result<Quantity, UnitError> {
    let (sign, rest) = signed(text);
    unlimited(rest, Kind::Length).map(|q| Quantity { value: sign * q.value, ..q })
}

/// Parses an angle of either sign, degrees.
///
/// # Errors
/// As [`angle_deg`], without the demand of a positive value.
pub fn signed_angle_deg(text: &str) -> Result<f64, UnitError> {
    let (sign, rest) = signed(text);
    single(rest, text, Kind::Angle, None).map(|(v, _)| sign * v)
}

/// Parses a positive pitch with optional `±`: a length or threads per inch; mm.
///
/// # Errors
/// As [`length_mm`].
pub fn pitch_quantity_mm(text: &str) -> Result<Quantity, UnitError> {
    quantity(text, Kind::Pitch)
}

/// Parses a pitch, mm.
///
/// # Errors
/// As [`length_mm`].
pub fn pitch_mm(text: &str) -> Result<f64, UnitError> {
    Ok(pitch_quantity_mm(text)?.value)
}

/// Parses an angle with optional `±`, degrees, 0° to 180°.
///
/// # Errors
/// As [`length_mm`].
pub fn angle_quantity_deg(text: &str) -> Result<Quantity, UnitError> {
    quantity(text, Kind::Angle)
}

/// Parses an angle, degrees.
///
/// # Errors
/// As [`length_mm`].
pub fn angle_deg(text: &str) -> Result<f64, UnitError> {
    Ok(angle_quantity_deg(text)?.value)
}

fn quantity(text: &str, kind: Kind) -> Result<Quantity, UnitError> {
    let q = unlimited(text, kind);
    let in_limits = |value: f64| match kind {
        Kind::Length => value > 0.0 && value <= 10_000.0,
        Kind::Pitch => value > 0.0 && value <= 500.0,
        Kind::Angle => (0.0..=180.0).contains(&value),
    };
    match q {
        Ok(q) if in_limits(q.value) => Ok(q),
        Err(e) if !below_nothing(text, kind) => Err(e),
        _ => {
            let limits = match kind {
                Kind::Length => "0 to 10 m, zero excluded",
                Kind::Pitch => "0 to 500 mm, zero excluded",
                Kind::Angle => "0° to 180°",
            };
            Err(UnitError::Limits { text: text.trim().into(), kind, limits })
        }
    }
}

/// The same, whatever its value.
fn unlimited(text: &str, kind: Kind) -> Result<Quantity, UnitError> {
    let (value_text, u_text) = match split_uncertainty(text) {
        Some((v, u)) => (v, Some(u)),
        None => (text, None),
    };
    let (value, u) = match u_text {
        None => (single(value_text, text, kind, None)?.0, 0.0),
        Some(u_text) => {
            // `2.5±0.01mm`: the unit may stand once, behind both.
            let unit_behind = unit_of(u_text);
            let (value, unit) = single(value_text, text, kind, unit_behind)?;
            if unit == "tpi" {
                // The uncertainty of a count is a count; as a length it scales with the pitch.
                let n = MM_PER_INCH / value;
                let (count, count_unit) = match number(u_text) {
                    Some((n, rest)) => (n, rest.trim()),
                    None => return Err(UnitError::Number { text: text.into(), kind }),
                };
                match count_unit {
                    "tpi" | "" => (value, value * count / n),
                    _ => (value, single(u_text, text, kind, None)?.0),
                }
            } else {
                (value, single(u_text, text, kind, Some(&unit))?.0)
            }
        }
    };
    Ok(Quantity::new(value, u, Source::Entered))
}

fn split_uncertainty(text: &str) -> Option<(&str, &str)> {
    ["±", "+/-", "+-"].iter().find_map(|mark| text.split_once(mark))
}

/// The unit at the end of a text, if its number can be read and something stands behind it.
fn unit_of(text: &str) -> Option<&str> {
    let (_, rest) = number(text)?;
    let rest = rest.trim();
    (!rest.is_empty()).then_some(rest)
}

/// One number with unit, or with `default_unit` when it has none. Returns mm or degrees, and the
/// canonical unit.
fn single(
    part: &str,
    whole: &str,
    kind: Kind,
    default_unit: Option<&str>,
) -> Result<(f64, String), UnitError> {
    let whole_text = || whole.trim().to_owned();
    let (value, rest) =
        number(part).ok_or_else(|| UnitError::Number { text: whole_text(), kind })?;
    let rest = rest.trim();
    let unit = if rest.is_empty() { default_unit.unwrap_or("") } else { rest };
    if unit.is_empty() {
        return Err(UnitError::NoUnit { text: whole_text(), kind });
    }
    let bad = || UnitError::Unit { text: whole_text(), unit: unit.to_owned(), kind };
    let lower = unit.to_lowercase();
    let result = match kind {
        Kind::Length | Kind::Pitch => match lower.as_str() {
            "mm" => (value, "mm"),
            "cm" => (value * 10.0, "cm"),
            "µm" | "um" | "μm" => (value / 1000.0, "um"),
            "in" | "inch" | "\"" | "″" | "”" => (value * MM_PER_INCH, "in"),
            "thou" | "mil" => (value * MM_PER_INCH / 1000.0, "thou"),
            "tpi" if kind == Kind::Pitch => (MM_PER_INCH / value, "tpi"),
            _ => return Err(bad()),
        },
        Kind::Angle => match lower.as_str() {
            "deg" | "°" | "degree" | "degrees" => (value, "deg"),
            "rad" => (value.to_degrees(), "rad"),
            _ => (value + minutes(&lower).ok_or_else(bad)?, "deg"),
        },
    };
    if result.0.is_finite() {
        Ok((result.0, result.1.to_owned()))
    } else {
        Err(UnitError::Number { text: whole_text(), kind })
    }
}

/// `d30m`, `°30'`, `d30m15s` behind whole degrees; degrees.
fn minutes(text: &str) -> Option<f64> {
    let rest = text.strip_prefix(['d', '°'])?;
    let (m, rest) = number(rest)?;
    let rest = rest.trim().strip_prefix(['m', '\'', '′'])?.trim();
    let s = if rest.is_empty() {
        0.0
    } else {
        let (s, end) = number(rest)?;
        if !matches!(end.trim(), "s" | "\"" | "″") {
            return None;
        }
        s
    };
    (m < 60.0 && s < 60.0).then_some(m / 60.0 + s / 3600.0)
}

/// A number that is not negative at the start of `text`: `2.5`, `2,5`, `1/4`, `1 1/4`, `1-1/4`.
fn number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim_start();
    let (first, rest) = decimal(text)?;
    if let Some((denominator, rest)) = rest.strip_prefix('/').and_then(decimal) {
        return (denominator > 0.0).then_some((first / denominator, rest));
    }
    // `1 1/4`: a whole number, then a fraction.
    if let Some((fraction, rest_after)) = rest
        .strip_prefix([' ', '-'])
        .and_then(|r| {
            let (n, r) = decimal(r.trim_start())?;
            let (d, r) = decimal(r.strip_prefix('/')?)?;
            (d > 0.0).then_some((n / d, r))
        })
        .filter(|_| first.fract() == 0.0)
    {
        return Some((first + fraction, rest_after));
    }
    Some((first, rest))
}

fn decimal(text: &str) -> Option<(f64, &str)> {
    let end = text
        .char_indices()
        .find(|(_, c)| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .map_or(text.len(), |(i, _)| i);
    let digits = text[..end].replace(',', ".");
    digits.parse::<f64>().ok().map(|v| (v, &text[end..]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn lengths() {
        for (text, mm) in [
            ("5mm", 5.0),
            ("5 mm", 5.0),
            ("0,25 mm", 0.25),
            ("0.25in", 6.35),
            ("1/4in", 6.35),
            ("1/4\"", 6.35),
            ("1 1/4 in", 31.75),
            ("1-1/4in", 31.75),
            ("250thou", 6.35),
            (".5in", 12.7),
            ("1cm", 10.0),
            ("12um", 0.012),
        ] {
            assert_relative_eq!(length_mm(text).unwrap(), mm, max_relative = 1e-12);
        }
    }

    #[test]
    fn what_may_be_nothing_may_be_nothing_and_no_less() {
        let q = |text| length_from_zero_quantity_mm(text);
        assert_eq!(q("0 mm").unwrap(), Quantity::entered(0.0, 0.0));
        assert_relative_eq!(q("0 ± 1 thou").unwrap().u, 0.0254);
        assert_relative_eq!(q("0.2 mm").unwrap().value, 0.2);
        for text in ["-0.1 mm", "−1 in", "11000 mm"] {
            let said = q(text).unwrap_err().to_string();
            assert!(said.contains(text) && said.contains("0 to 10 m"), "{said}");
            assert!(!said.contains("zero excluded"), "{said}");
        }
        assert!(q("0").unwrap_err().to_string().contains("no unit"));
        let said = length_mm("-3 mm").unwrap_err().to_string();
        assert!(said.contains("0 to 10 m, zero excluded"), "{said}");
    }

    #[test]
    fn no_digit_is_finer_than_the_uncertainty_or_than_one_cuts_by() {
        let inch = |value: f64, u: f64| Units::Inch.show(Quantity::measured(value, u).scaled(25.4));
        assert_eq!(inch(0.166_67, 0.000_11), "0.1667 ± 0.0001 in");
        assert_eq!(inch(0.145_67, 0.000_09), "0.14567 ± 0.00009 in");
        assert_eq!(inch(0.25, 0.000_16), "0.2500 ± 0.0002 in");
        assert_eq!(inch(0.050_953, 0.0), "0.0510 in");
        let thou =
            |value: f64, u: f64| Units::Thou.show(Quantity::measured(value, u).scaled(0.0254));
        assert_eq!(
            (thou(166.67, 0.11), thou(0.25, 0.0)),
            ("166.7 ± 0.1 thou".into(), "0.25 thou".into())
        );
        for (mm, text) in [(3.0, "0.1181 in"), (0.0063, "0.00025 in"), (0.0, "0.0000 in")] {
            assert_eq!(Units::Inch.plain(mm, 4), text);
        }
        assert_eq!(Units::Inch.plain(3.0, 2), "0.118 in");
        assert_eq!(Units::Mm.plain(3.0, 4), "3.0000 mm");
    }

    #[test]
    fn leads_a_hundred_parts_per_million_apart_are_told_apart() {
        // 120/127 of 1/8 in is 3 mm; 0.945 of it is 3.000375 mm, 125 ppm more.
        let told = |mm| [Units::Mm, Units::Inch, Units::Thou].map(|units| units.lead(mm));
        assert_eq!(told(3.0), ["3.00000 mm", "0.118110 in", "118.110 thou"]);
        assert_eq!(told(3.000_375), ["3.00038 mm", "0.118125 in", "118.125 thou"]);
    }

    #[test]
    fn pitches_and_angles() {
        assert_relative_eq!(pitch_mm("8tpi").unwrap(), 3.175);
        assert_relative_eq!(pitch_mm("4 1/2 tpi").unwrap(), 25.4 / 4.5);
        assert_relative_eq!(angle_deg("14d30m").unwrap(), 14.5);
        assert_relative_eq!(angle_deg("14°30'").unwrap(), 14.5);
        assert_relative_eq!(angle_deg("53d8m").unwrap(), 53.0 + 8.0 / 60.0);
        assert_relative_eq!(angle_deg("30deg").unwrap(), 30.0);
    }

    #[test]
    fn uncertainties() {
        for text in ["2.5mm±0.01mm", "2.5mm+-0.01mm", "2.5±0.01mm", "2.5mm±0.01", "2.5mm ± 10um"]
        {
            let q = pitch_quantity_mm(text).unwrap();
            assert_relative_eq!(q.value, 2.5);
            assert_relative_eq!(q.u, 0.01, max_relative = 1e-12);
        }
        let q = pitch_quantity_mm("10tpi±0.1").unwrap();
        assert_relative_eq!(q.value, 2.54);
        assert_relative_eq!(q.u, 0.0254, max_relative = 1e-12);
    }

    #[test]
    fn refusals_name_the_text() {
        for (text, wanted) in [
            ("5", "has no unit"),
            ("", "not a number"),
            ("mm", "not a number"),
            ("5deg", "not a unit of length"),
            ("0mm", "outside"),
            ("1/0in", "not a number"),
            ("1e400mm", "not a unit"),
            ("-5mm", "outside 0 to 10 m"),
            ("NaNmm", "not a number"),
        ] {
            let e = length_mm(text).unwrap_err().to_string();
            assert!(e.contains(wanted), "{text}: {e}");
        }
        assert!(angle_deg("200deg").is_err());
        assert!(length_mm("8tpi").is_err());
        assert_relative_eq!(signed_length_mm("-0.5mm").unwrap(), -0.5);
        assert_relative_eq!(signed_length_mm("0mm").unwrap(), 0.0);
    }
}
