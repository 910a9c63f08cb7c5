//! Sentences in the units a person works in.
//!
//! The crates that compute write their sentences in millimetres; where a job is in inches the lengths in
//! them are turned over here, on the way to paper or screen.

use form::Units;

/// `text` with its lengths in `units`: `0.08 ± 0.01 mm` becomes `0.0031 ± 0.0004 in`, with about as many
/// significant digits as it had. What belongs to a name stays: `Acme 20 mm x 4 mm`, `metric (2.5 mm)`,
/// `says 2.5 mm`.
#[must_use]
pub fn in_units(text: &str, units: Units) -> String {
    if units == Units::Mm {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(" mm") {
        let (before, behind) = (&rest[..at], &rest[at + " mm".len()..]);
        let whole_word = !behind.starts_with(|c: char| c.is_alphanumeric() || "²³/".contains(c));
        match Length::at_the_end_of(before) {
            Some(length) if whole_word && !is_a_name(length.before, behind) => {
                out.push_str(length.before);
                out.push_str(&length.shown(units));
            }
            _ => out.push_str(&rest[..at + " mm".len()]),
        }
        rest = behind;
    }
    out.push_str(rest);
    out
}

/// `text` with a capital.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Whether a length stands in the name of a thread or of a pitch.
fn is_a_name(before: &str, behind: &str) -> bool {
    behind.starts_with(" x ")
        || before.ends_with(" x ")
        || before.ends_with("metric (")
        || before.ends_with("says ")
        || before.ends_with("pitch of ")
}

/// A length at the end of a text: `-0.27`, `± 0.01`, `0.08 ± 0.01`.
struct Length<'a> {
    before: &'a str,
    value: Option<Figure<'a>>,
    u: Option<Figure<'a>>,
}

/// A number as it is written.
#[derive(Clone, Copy)]
struct Figure<'a> {
    text: &'a str,
    mm: f64,
}

impl<'a> Figure<'a> {
    /// The number that `text` ends with, and what stands before it.
    fn at_the_end_of(text: &'a str) -> Option<(&'a str, Self)> {
        let digits = text.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.');
        let unsigned = &text[digits.len()..];
        let mm: f64 = unsigned.parse().ok().filter(|_| !unsigned.starts_with('.'))?;
        let signs = digits.trim_end_matches(['-', '+', '\u{2212}']);
        // A sign stands before a number, not between two words or figures.
        let signed = signs.len() < digits.len() && !signs.ends_with(|c: char| c.is_alphanumeric());
        let (before, sign) = if signed { (signs, &digits[signs.len()..]) } else { (digits, "") };
        if before.ends_with(|c: char| c.is_alphanumeric() || c == '/') {
            return None;
        }
        let mm = if sign.is_empty() || sign == "+" { mm } else { -mm };
        Some((before, Self { text: &text[before.len()..], mm }))
    }

    fn decimals(self) -> usize {
        self.text.split_once('.').map_or(0, |(_, d)| d.len())
    }

    /// Decimals in `units` that keep about as much as there was, and two figures at least.
    fn decimals_in(self, units: Units) -> usize {
        let value = (self.mm / units.in_mm()).abs();
        let same = match units {
            Units::Mm => self.decimals(),
            Units::Inch => self.decimals() + 1,
            Units::Thou => self.decimals().saturating_sub(2),
        };
        let two_figures = value * 10f64.powi(same as i32) >= 10.0;
        if value == 0.0 || two_figures { same } else { same + 1 }
    }

    fn shown(self, units: Units, decimals: usize) -> String {
        let sign = if self.text.starts_with('+') { "+" } else { "" };
        let text = format!("{sign}{:.decimals$}", self.mm / units.in_mm());
        if self.text.contains('\u{2212}') { text.replace('-', "\u{2212}") } else { text }
    }
}

impl<'a> Length<'a> {
    fn at_the_end_of(text: &'a str) -> Option<Self> {
        let (before, last) = Figure::at_the_end_of(text)?;
        let Some(value_text) = before.strip_suffix("± ") else {
            return Some(Self { before, value: Some(last), u: None });
        };
        match value_text.strip_suffix(' ').and_then(Figure::at_the_end_of) {
            Some((before, value)) => Some(Self { before, value: Some(value), u: Some(last) }),
            None => Some(Self { before: value_text, value: None, u: Some(last) }),
        }
    }

    fn shown(&self, units: Units) -> String {
        let decimals = self.u.or(self.value).map_or(0, |f| f.decimals_in(units));
        let figure = |f: Figure<'_>| f.shown(units, decimals);
        let number = match (self.value, self.u) {
            (Some(v), Some(u)) => format!("{} ± {}", figure(v), figure(u)),
            (None, Some(u)) => format!("± {}", figure(u)),
            (Some(v), None) => figure(v),
            (None, None) => String::new(),
        };
        format!("{number} {}", units.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_turned_over_with_the_digits_they_had() {
        // Divided by 25.4 by hand.
        for (mm, inch) in [
            ("a play of 0.08 ± 0.01 mm.", "a play of 0.0031 ± 0.0004 in."),
            ("between -0.27 mm and 0.09 mm;", "between -0.011 in and 0.0035 in;"),
            ("is +0.010 mm from the depth", "is +0.00039 in from the depth"),
            ("lies \u{2212}0.27 mm below", "lies \u{2212}0.011 in below"),
            ("an infeed of 2.59 mm and", "an infeed of 0.102 in and"),
            (
                "with a caliper (± 0.03 mm): 58.42 mm says 10 tpi; 57.50 mm says 2.5 mm",
                "with a caliper (± 0.0012 in): 2.300 in says 10 tpi; 2.264 in says 2.5 mm",
            ),
            ("10 mm along it", "0.39 in along it"),
            ("(5 mm)", "(0.20 in)"),
        ] {
            assert_eq!(in_units(mm, Units::Inch), inch);
            assert_eq!(in_units(mm, Units::Mm), mm);
        }
        assert_eq!(in_units("at most 0.337 mm", Units::Thou), "at most 13.3 thou");
    }

    #[test]
    fn names_and_other_units_stay() {
        for text in [
            "22 mm x 3.5 mm buttress (form ASME B1.9)",
            "pitch metric (2.5 mm) or inch (10 tpi)",
            "10 N/mm² on the flanks, 3 mm² of chip",
            "the mm of the drawing, 5mm",
            "M10 x 1.5, 1/4 in",
        ] {
            assert_eq!(in_units(text, Units::Inch), text);
        }
    }
}
