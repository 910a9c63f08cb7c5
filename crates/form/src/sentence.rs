//! Sentences that know which of their numbers are lengths.
//!
//! Whoever computes writes a sentence once, with its lengths as lengths; whoever shows it asks for it in
//! the units of the person. What belongs to a name stays as it was written: `Acme 20 mm x 4 mm`, a pitch
//! of `2.5 mm`.
//!
//! ```
//! use form::{Units, mm, sentence};
//! let play = sentence!("a play of {}: feed in {} more", mm(0.08, 2).with_u(0.01), mm(0.3, 2));
//! assert_eq!(play.to_string(), "a play of 0.08 ± 0.01 mm: feed in 0.30 mm more");
//! assert_eq!(play.in_units(Units::Inch), "a play of 0.0031 ± 0.0004 in: feed in 0.012 in more");
//! ```

use crate::quantity::Quantity;
use crate::thread::Hand;
use crate::units::Units;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// A sentence, or a part of one: text and lengths in turn. Shown by `Display` in millimetres, and written
/// to a file as that text; read from a file it is text throughout. [`Sentence::parts`] keep their lengths
/// in a file as well.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sentence {
    parts: Vec<Part>,
}

/// What a sentence is made of. In a file text is a string, a length an object, a sentence a list of both.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Part {
    /// Words, names, and numbers that are no lengths.
    Text(String),
    /// A length.
    Length(Length),
    /// A sentence inside the sentence.
    Parts(Vec<Part>),
}

/// A length in a sentence, with the digits it is said to.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Length {
    /// mm; `None` where the uncertainty stands alone.
    #[serde(rename = "mm", default, skip_serializing_if = "Option::is_none")]
    value_mm: Option<f64>,
    /// Standard uncertainty, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    u_mm: Option<f64>,
    digits: Digits,
    /// Whether its sign is written even where it is positive.
    #[serde(default, skip_serializing_if = "is_not")]
    signed: bool,
    /// Whether its unit is left to what stands behind it.
    #[serde(default, skip_serializing_if = "is_not")]
    bare: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "asked for so by serde")]
fn is_not(this: &bool) -> bool {
    !this
}

/// To which digit a length is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Digits {
    /// As many decimals of a millimetre, and about as many significant digits in another unit.
    OfMm(usize),
    /// At most so many decimals of a millimetre, or as fine in another unit, without noughts behind them.
    AtMost(usize),
    /// As many as the uncertainty justifies, in any unit; at most so many decimals of a millimetre.
    OfU(usize),
    /// As a lead that wheels cut, see [`Units::lead`].
    Lead,
}

/// More decimals than any number has: one read from a file may ask for any.
const MOST_DECIMALS: usize = 400;

impl Digits {
    fn in_reason(self) -> Self {
        match self {
            Self::OfMm(d) => Self::OfMm(d.min(MOST_DECIMALS)),
            Self::AtMost(d) => Self::AtMost(d.min(MOST_DECIMALS)),
            Self::OfU(d) => Self::OfU(d.min(MOST_DECIMALS)),
            Self::Lead => Self::Lead,
        }
    }
}

/// A length of `value_mm` said to `decimals` of a millimetre.
#[must_use]
pub fn mm(value_mm: f64, decimals: usize) -> Length {
    Length {
        value_mm: Some(value_mm),
        u_mm: None,
        digits: Digits::OfMm(decimals),
        signed: false,
        bare: false,
    }
}

/// A length said to as many decimals as it was given with: 2.5 mm, 3 mm.
#[must_use]
pub fn mm_as_given(value_mm: f64) -> Length {
    let decimals = value_mm.to_string().split_once('.').map_or(0, |(_, digits)| digits.len());
    mm(value_mm, decimals)
}

/// A length said to at most so many decimals of a millimetre, or as fine in another unit, without noughts
/// behind them: 2.5 mm, 0.1 in.
#[must_use]
pub fn mm_short(value_mm: f64, most: usize) -> Length {
    Length { digits: Digits::AtMost(most), ..mm(value_mm, most) }
}

/// A lead that wheels are to cut or do cut, as finely as [`Units::lead`] tells it.
#[must_use]
pub fn mm_lead(lead_mm: f64) -> Length {
    Length { digits: Digits::Lead, ..mm(lead_mm, 0) }
}

/// An uncertainty alone, `± 0.03 mm`.
#[must_use]
pub fn mm_doubt(u_mm: f64, decimals: usize) -> Length {
    Length { value_mm: None, ..mm(0.0, decimals).with_u(u_mm) }
}

/// A length in millimetres with the digits its uncertainty justifies, at most `most` decimals of a
/// millimetre; see [`Quantity::with_u`].
#[must_use]
pub fn mm_with_u(length_mm: Quantity, most: usize) -> Length {
    Length {
        value_mm: Some(length_mm.value),
        u_mm: Some(length_mm.u),
        digits: Digits::OfU(most),
        signed: false,
        bare: false,
    }
}

/// A number that is no length, to `decimals`.
#[must_use]
pub fn figure(value: f64, decimals: usize) -> String {
    format!("{value:.decimals$}")
}

impl Length {
    /// The same with its standard uncertainty, mm.
    #[must_use]
    pub fn with_u(self, u_mm: f64) -> Self {
        Self { u_mm: Some(u_mm), ..self }
    }

    /// The same with its sign even where it is positive; nothing has none.
    #[must_use]
    pub fn signed(self) -> Self {
        Self { signed: true, ..self }
    }

    /// The same without its unit, where that stands behind the next: 0.05 to 100 mm.
    #[must_use]
    pub fn bare(self) -> Self {
        Self { bare: true, ..self }
    }

    /// The length in `units`, with their symbol.
    #[must_use]
    pub fn in_units(self, units: Units) -> String {
        let number = match (self.digits.in_reason(), self.value_mm, self.u_mm) {
            (Digits::OfU(most), Some(value), Some(u)) => {
                let q = units.of_mm(Quantity::derived(value, u));
                q.with_u(decimals_like(most, units).min(units.finest(q)))
            }
            (Digits::AtMost(most), Some(value), None) => {
                let decimals = decimals_like(most, units).min(units.most_decimals());
                let text = figure_in(value, decimals, units, self.signed);
                match text.split_once('.') {
                    Some(_) => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
                    None => text,
                }
            }
            (digits, value, u) => {
                let decimals = match digits {
                    Digits::Lead => units.lead_decimals(),
                    Digits::OfMm(d) | Digits::OfU(d) | Digits::AtMost(d) => {
                        u.or(value).map_or(d, |told| decimals_in(told, d, units))
                    }
                };
                let shown = |mm: f64, signed| figure_in(mm, decimals, units, signed);
                match (value, u) {
                    (Some(v), Some(u)) => {
                        format!("{} ± {}", shown(v, self.signed), shown(u, false))
                    }
                    (None, Some(u)) => format!("± {}", shown(u, false)),
                    (Some(v), None) => shown(v, self.signed),
                    (None, None) => String::new(),
                }
            }
        };
        if self.bare { number } else { format!("{number} {}", units.symbol()) }
    }

    /// What must be the same for two lengths to be the same.
    fn key(&self) -> (Option<u64>, Option<u64>, Digits, [bool; 2]) {
        let bits = |mm: Option<f64>| mm.map(f64::to_bits);
        (bits(self.value_mm), bits(self.u_mm), self.digits, [self.signed, self.bare])
    }
}

impl PartialEq for Length {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for Length {}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_units(Units::Mm))
    }
}

/// Decimals in `units` that are about as fine as `decimals` of a millimetre.
fn decimals_like(decimals: usize, units: Units) -> usize {
    match units {
        Units::Mm => decimals,
        Units::Inch => decimals + 1,
        Units::Thou => decimals.saturating_sub(2),
    }
}

/// Decimals in `units` that keep about as much as a number said to `decimals` of a millimetre had, and
/// two figures at least.
fn decimals_in(told_mm: f64, decimals: usize, units: Units) -> usize {
    let same = decimals_like(decimals, units);
    let step = 10f64.powi(-(decimals as i32));
    // What was said to that digit: a number that was said to be nothing is nothing in any unit.
    let said = ((told_mm / step).round() * step / units.in_mm()).abs();
    let two_figures = said * 10f64.powi(same as i32) >= 10.0;
    let wanted = if said == 0.0 || two_figures { same } else { same + 1 };
    match units {
        Units::Mm => decimals,
        // A number as it was typed may be of any length.
        Units::Inch | Units::Thou => wanted.min(units.most_decimals()),
    }
}

fn figure_in(mm: f64, decimals: usize, units: Units, signed: bool) -> String {
    let value = mm / units.in_mm();
    let text = if signed { format!("{value:+.decimals$}") } else { format!("{value:.decimals$}") };
    // Nothing has no sign.
    match text.strip_prefix(['-', '+']) {
        Some(digits) if digits.chars().all(|c| c == '0' || c == '.') => digits.to_owned(),
        _ => text,
    }
}

impl Sentence {
    /// A sentence of words with a part for every `{}`; [`sentence!`](crate::sentence) writes it.
    #[must_use]
    pub fn of<const N: usize>(words: &str, parts: [Part; N]) -> Self {
        let mut out = Self::default();
        let mut parts = parts.into_iter();
        for (i, text) in words.split("{}").enumerate() {
            let before = if i > 0 { parts.next() } else { None };
            for part in before.into_iter().chain([text.into()]) {
                out.push(part);
            }
        }
        out
    }

    /// Sentences one behind the other, with `between` between them.
    #[must_use]
    pub fn joined(sentences: impl IntoIterator<Item = Self>, between: &str) -> Self {
        let mut out = Self::default();
        for (i, sentence) in sentences.into_iter().enumerate() {
            if i > 0 {
                out.push(between);
            }
            out.push(sentence);
        }
        out
    }

    /// Goes on with `part`.
    pub fn push(&mut self, part: impl Into<Part>) {
        match part.into() {
            Part::Text(text) if text.is_empty() => {}
            Part::Parts(parts) => {
                for part in parts {
                    self.push(part);
                }
            }
            Part::Text(text) => match self.parts.last_mut() {
                Some(Part::Text(last)) => last.push_str(&text),
                _ => self.parts.push(Part::Text(text)),
            },
            Part::Length(length) => self.parts.push(Part::Length(length)),
        }
    }

    /// The sentence with its lengths in `units`.
    #[must_use]
    pub fn in_units(&self, units: Units) -> String {
        fn told(out: &mut String, parts: &[Part], units: Units) {
            for part in parts {
                match part {
                    Part::Text(text) => out.push_str(text),
                    Part::Length(length) => out.push_str(&length.in_units(units)),
                    Part::Parts(inner) => told(out, inner, units),
                }
            }
        }
        let mut out = String::new();
        told(&mut out, &self.parts, units);
        out
    }

    /// What it is made of.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Whether any of it is a length.
    #[must_use]
    pub fn has_length(&self) -> bool {
        fn any(parts: &[Part]) -> bool {
            parts.iter().any(|part| match part {
                Part::Text(_) => false,
                Part::Length(_) => true,
                Part::Parts(inner) => any(inner),
            })
        }
        any(&self.parts)
    }

    /// Whether nothing is said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }
}

impl fmt::Display for Sentence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_units(Units::Mm))
    }
}

impl Serialize for Sentence {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Sentence {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer).map(Self::from)
    }
}

impl From<Length> for Part {
    fn from(length: Length) -> Self {
        Self::Length(length)
    }
}

impl From<Sentence> for Part {
    fn from(sentence: Sentence) -> Self {
        Self::Parts(sentence.parts)
    }
}

impl From<&Sentence> for Part {
    fn from(sentence: &Sentence) -> Self {
        sentence.clone().into()
    }
}

macro_rules! text {
    ($($kind:ty),*) => {$(
        impl From<$kind> for Part {
            fn from(text: $kind) -> Self {
                Self::Text(text.to_string())
            }
        }
    )*};
}

text!(String, &String, &str, char, u32, &u32, usize, i32, Hand);

impl From<String> for Sentence {
    fn from(text: String) -> Self {
        Self { parts: vec![Part::Text(text)] }
    }
}

impl FromIterator<Part> for Sentence {
    fn from_iter<I: IntoIterator<Item = Part>>(parts: I) -> Self {
        let mut out = Self::default();
        for part in parts {
            out.push(part);
        }
        out
    }
}

impl From<&str> for Sentence {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

/// That a value lies outside its limits: `[value, least, most]`.
#[must_use]
pub fn outside<T: Into<Part>>(what: &str, limits: [T; 3]) -> Sentence {
    let [value, least, most]: [Part; 3] = limits.map(Into::into);
    crate::sentence!("{} {} is outside {} to {}", what, value, least, most)
}

/// What says itself with its lengths as lengths: the errors, above all. Its `Display` says the same in
/// millimetres; [`said_by_display!`](crate::said_by_display) writes that.
pub trait Said {
    /// The sentence.
    fn said(&self) -> Sentence;
}

/// Places for parts in the words of a sentence; for [`sentence!`](crate::sentence).
///
/// # Panics
/// While compiling only: a brace that is not part of `{}`.
#[doc(hidden)]
#[must_use]
pub const fn places(words: &str) -> usize {
    let bytes = words.as_bytes();
    let (mut i, mut found) = (0, 0);
    while i < bytes.len() {
        if bytes[i] == b'{' {
            i += 1;
            assert!(i < bytes.len() && bytes[i] == b'}', "a part stands in a pair of braces");
            found += 1;
        } else {
            assert!(bytes[i] != b'}', "a part stands in a pair of braces");
        }
        i += 1;
    }
    found
}

/// A [`Sentence`]: words with a part for every `{}`, which may be text, a whole number, another sentence,
/// or a length by [`mm`](crate::mm) and its like. How many there are is seen while compiling.
#[macro_export]
macro_rules! sentence {
    ($words:literal $(, $part:expr)* $(,)?) => {{
        const {
            assert!(
                $crate::sentence::places($words) == <[&str]>::len(&[$(stringify!($part)),*]),
                "as many parts as places"
            );
        }
        $crate::Sentence::of($words, [$($crate::Part::from($part)),*])
    }};
}

/// `Display` for what has [`Said`]: the sentence in millimetres.
#[macro_export]
macro_rules! said_by_display {
    ($($error:ty),* $(,)?) => {$(
        impl std::fmt::Display for $error {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                std::fmt::Display::fmt(&$crate::Said::said(self), f)
            }
        }
    )*};
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_turned_over_with_the_digits_they_had() {
        // Divided by 25.4 by hand.
        for (said, in_mm, inch) in [
            (
                sentence!("a play of {}.", mm(0.08, 2).with_u(0.01)),
                "a play of 0.08 ± 0.01 mm.",
                "a play of 0.0031 ± 0.0004 in.",
            ),
            (
                sentence!("between {} and {};", mm(-0.27, 2), mm(0.09, 2)),
                "between -0.27 mm and 0.09 mm;",
                "between -0.011 in and 0.0035 in;",
            ),
            (
                sentence!("is {} from the depth", mm(0.01, 3).signed()),
                "is +0.010 mm from the depth",
                "is +0.00039 in from the depth",
            ),
            (
                sentence!("an infeed of {} and", mm(2.59, 2)),
                "an infeed of 2.59 mm and",
                "an infeed of 0.102 in and",
            ),
            (
                sentence!(
                    "with a caliper ({}): {} says 10 tpi; {} says 2.5 mm",
                    mm_doubt(0.03, 2),
                    mm(58.42, 2),
                    mm(57.5, 2)
                ),
                "with a caliper (± 0.03 mm): 58.42 mm says 10 tpi; 57.50 mm says 2.5 mm",
                "with a caliper (± 0.0012 in): 2.300 in says 10 tpi; 2.264 in says 2.5 mm",
            ),
            (sentence!("{} along it", mm(10.0, 0)), "10 mm along it", "0.39 in along it"),
            (sentence!("({})", mm_as_given(5.0)), "(5 mm)", "(0.20 in)"),
            (sentence!("pitch {}", mm_as_given(0.0)), "pitch 0 mm", "pitch 0.0 in"),
            (sentence!("tip {}", mm_short(2.54, 3)), "tip 2.54 mm", "tip 0.1 in"),
            (
                sentence!("{} to {}", mm_as_given(0.05).bare(), mm_as_given(100.0)),
                "0.05 to 100 mm",
                "0.0020 to 3.9 in",
            ),
            (sentence!("tip {}", mm_short(20.0, 3)), "tip 20 mm", "tip 0.7874 in"),
            (
                sentence!("within 5 ppm of {}", mm_lead(3.0)),
                "within 5 ppm of 3.00000 mm",
                "within 5 ppm of 0.118110 in",
            ),
        ] {
            assert_eq!(said.to_string(), in_mm);
            assert_eq!(said.in_units(Units::Mm), in_mm);
            assert_eq!(said.in_units(Units::Inch), inch);
        }
        assert_eq!(
            sentence!("at most {}", mm(0.337, 3)).in_units(Units::Thou),
            "at most 13.3 thou"
        );
    }

    #[test]
    fn a_quantity_has_the_digits_of_its_uncertainty_in_any_unit() {
        let play = mm_with_u(Quantity::derived(0.0812, 0.0131), 3);
        assert_eq!(play.in_units(Units::Mm), "0.081 ± 0.013 mm");
        assert_eq!(play.in_units(Units::Inch), "0.0032 ± 0.0005 in");
        assert_eq!(play.in_units(Units::Thou), "3.2 ± 0.5 thou");
    }

    #[test]
    fn nothing_has_no_sign() {
        let nothing = sentence!("{} {}", mm(-0.000_1, 3), mm(0.000_1, 3).signed());
        assert_eq!(nothing.to_string(), "0.000 mm 0.000 mm");
        assert_eq!(nothing.in_units(Units::Inch), "0.0000 in 0.0000 in");
    }

    #[test]
    fn a_number_typed_to_many_digits_stays_readable_in_inches() {
        let typed = mm_as_given(25.4 / 7.0);
        assert_eq!(typed.to_string(), format!("{} mm", 25.4 / 7.0));
        assert_eq!(typed.in_units(Units::Inch), "0.14286 in");
        assert_eq!(typed.in_units(Units::Thou), "142.86 thou");
    }

    #[test]
    fn what_is_text_stays_in_any_unit() {
        let name = "22 mm x 3.5 mm buttress (form ASME B1.9)".to_owned();
        let said = sentence!("{}, {} starts, pitch metric (2.5 mm), 10 N/mm²", &name, 2u32);
        assert_eq!(said.in_units(Units::Inch), said.to_string());
        assert_eq!(said.to_string(), format!("{name}, 2 starts, pitch metric (2.5 mm), 10 N/mm²"));
    }

    #[test]
    fn sentences_stand_in_sentences() {
        let inner = sentence!("a bar of {}", mm(6.0, 0));
        let both = Sentence::joined([inner.clone(), sentence!("nothing")], "; ");
        let said = sentence!("no: {}.", both);
        assert_eq!(said.in_units(Units::Inch), "no: a bar of 0.24 in; nothing.");
        assert_eq!(said, sentence!("no: {}.", Sentence::joined([inner, "nothing".into()], "; ")));
        assert!(sentence!("").is_empty() && !said.is_empty());
    }

    #[test]
    fn a_sentence_is_written_as_its_text() {
        let said = sentence!("a bar of {}", mm(6.0, 1));
        assert_eq!(serde_json::to_string(&said).unwrap(), "\"a bar of 6.0 mm\"");
        let read: Sentence = serde_json::from_str("\"a bar of 6.0 mm\"").unwrap();
        assert_eq!(read.to_string(), said.to_string());
        assert!(said.has_length() && !read.has_length());
    }

    #[test]
    fn the_parts_keep_their_lengths_in_a_file() {
        let said = sentence!(
            "{} of {} to {} ({})",
            mm(0.1, 3).signed(),
            mm(0.5, 1).bare(),
            mm_with_u(Quantity::derived(2.0, 0.1), 3),
            sentence!("{}; {}", mm_doubt(0.03, 2), mm(1.0, 1).with_u(0.2))
        );
        let text = serde_json::to_string(said.parts()).unwrap();
        let read: Vec<Part> = serde_json::from_str(&text).unwrap();
        assert_eq!(read.into_iter().collect::<Sentence>(), said, "{text}");
        let text = serde_json::to_string(sentence!("a bar of {}", mm(6.0, 1)).parts()).unwrap();
        assert_eq!(text, r#"["a bar of ",{"mm":6.0,"digits":{"of_mm":1}}]"#);
        for digits in ["of_mm", "at_most", "of_u"] {
            let text =
                format!(r#"{{"mm":6,"u_mm":0,"digits":{{"{digits}":18446744073709551615}}}}"#);
            let read: Part = serde_json::from_str(&text).unwrap();
            let said = Sentence::from_iter([read]);
            for units in [Units::Mm, Units::Inch, Units::Thou] {
                assert!(said.in_units(units).ends_with(units.symbol()), "{text}");
            }
        }
    }
}
