//! Numbers as they stand on paper: with their uncertainty, with their source, and with no digit
//! that is not known.

use form::{Quantity, Source, Units};

/// Something a table of numbers can hold.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A length, mm.
    LengthMm(Quantity),
    /// An angle, degrees.
    AngleDeg(Quantity),
    /// A quantity with a unit of its own (or none), and the most decimals worth printing.
    Other {
        /// The quantity.
        quantity: Quantity,
        /// Unit behind the number; may be empty.
        unit: &'static str,
        /// Most decimals.
        decimals: usize,
    },
    /// Words, with a source where it has one.
    Words(String, Option<Source>),
}

impl Value {
    /// The value in words and figures.
    #[must_use]
    pub fn text(&self, units: Units) -> String {
        match self {
            Self::LengthMm(q) => length(*q, units),
            Self::AngleDeg(q) => with_unit(*q, 2, "°"),
            Self::Other { quantity, unit, decimals } => with_unit(*quantity, *decimals, unit),
            Self::Words(text, _) => text.clone(),
        }
    }
    /// Where it came from.
    #[must_use]
    pub fn source(&self) -> Option<Source> {
        match self {
            Self::LengthMm(q) | Self::AngleDeg(q) | Self::Other { quantity: q, .. } => {
                Some(q.source)
            }
            Self::Words(_, source) => *source,
        }
    }
}

/// A line of a table of numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What it is.
    pub name: String,
    /// How much.
    pub value: Value,
}

impl Row {
    /// A length, mm.
    pub fn length(name: impl Into<String>, length_mm: Quantity) -> Self {
        Self { name: name.into(), value: Value::LengthMm(length_mm) }
    }
    /// A radius, mm; none is a sharp corner.
    pub fn radius(name: impl Into<String>, radius_mm: Quantity) -> Self {
        if radius_mm.value > 0.0 || !is_known(radius_mm) {
            return Self::length(name, radius_mm);
        }
        Self::words(name, "sharp", radius_mm.source)
    }
    /// An angle, degrees.
    pub fn angle(name: impl Into<String>, angle_deg: Quantity) -> Self {
        Self { name: name.into(), value: Value::AngleDeg(angle_deg) }
    }
    /// Words.
    pub fn words(name: impl Into<String>, text: impl Into<String>, source: Source) -> Self {
        Self { name: name.into(), value: Value::Words(text.into(), Some(source)) }
    }
}

/// Whether there is anything to print.
pub(crate) fn is_known(q: Quantity) -> bool {
    q.value.is_finite() && q.u.is_finite()
}

/// Value and uncertainty without unit; a quantity taken as exact without trailing zeros.
fn figures(q: Quantity, most: usize) -> String {
    if !is_known(q) {
        return "cannot tell".into();
    }
    let text = if q.u > 0.0 { q.with_u(most) } else { trimmed(q.value, most) };
    text.replace('-', "−")
}

fn with_unit(q: Quantity, most: usize, unit: &str) -> String {
    let text = figures(q, most);
    match unit {
        _ if !is_known(q) => text,
        "" => text,
        "°" => format!("{text}°"),
        _ => format!("{text} {unit}"),
    }
}

/// A length with uncertainty and unit.
pub(crate) fn length(length_mm: Quantity, units: Units) -> String {
    let q = units.of_mm(length_mm);
    with_unit(q, units.finest(q), units.symbol())
}

/// A length as a dimension: no unit, no uncertainty, no more digits than are known.
pub(crate) fn dimension(length_mm: Quantity, units: Units) -> String {
    let most = match units {
        Units::Mm => 3,
        Units::Inch => 4,
        Units::Thou => 1,
    };
    dimension_figures(units.of_mm(length_mm), most)
}

/// An angle as a dimension, degrees.
pub(crate) fn dimension_angle(angle_deg: Quantity) -> String {
    let text = dimension_figures(angle_deg, 2);
    if is_known(angle_deg) { format!("{text}°") } else { text }
}

fn dimension_figures(q: Quantity, most: usize) -> String {
    if !is_known(q) {
        return "?".into();
    }
    let text = if q.u > 0.0 {
        format!("{:.*}", q.decimals(most), q.value)
    } else {
        trimmed(q.value, most)
    };
    text.replace('-', "−")
}

/// At most `most` decimals and no trailing zeros.
pub(crate) fn trimmed(v: f64, most: usize) -> String {
    let s = format!("{v:.most$}");
    let s = if s.contains('.') { s.trim_end_matches('0').trim_end_matches('.') } else { &s };
    if s == "-0" { "0".into() } else { s.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_digit_that_is_not_known() {
        let q = Quantity::measured(3.657_21, 0.012);
        assert_eq!(length(q, Units::Mm), "3.657 ± 0.012 mm");
        assert_eq!(dimension(q, Units::Mm), "3.657");
        assert_eq!(length(q, Units::Inch), "0.1440 ± 0.0005 in");
        assert_eq!(dimension(Quantity::measured(3.657_21, 0.05), Units::Mm), "3.66");
        assert_eq!(length(Quantity::standard(4.0), Units::Mm), "4 mm");
        assert_eq!(length(Quantity::standard(0.25), Units::Mm), "0.25 mm");
    }

    #[test]
    fn what_cannot_be_told_is_not_printed() {
        let q = Quantity::measured(0.12, f64::NAN);
        assert_eq!(length(q, Units::Mm), "cannot tell");
        assert_eq!(dimension(q, Units::Mm), "?");
    }

    #[test]
    fn minus_is_a_minus() {
        assert_eq!(dimension_angle(Quantity::derived(-1.5, 0.1)), "−1.50°");
    }
}
