//! The numbers of a line of evidence as entries: which there are, what stands in them, what becomes
//! of what is typed.

use super::field::{entered, trimmed, with_unit};
use form::{Quantity, Source, Units, units};
use standards::Evidence;

/// What an entry of a line of evidence takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// A length, with ± where it is a reading.
    Length,
    /// A pitch: a length or threads per inch.
    Pitch,
    /// A number, with ± where it is a reading.
    Number,
    /// A whole number.
    Whole,
    /// An angle.
    Angle,
}

/// Names and kinds of the entries of a line.
#[must_use]
pub fn slots(evidence: &Evidence) -> &'static [(&'static str, Slot)] {
    match evidence {
        Evidence::Travel { .. } => &[("turns", Slot::Number), ("travel", Slot::Length)],
        Evidence::DialTurn { .. } => &[("divisions", Slot::Number), ("of", Slot::Length)],
        Evidence::OverThreads { .. } => &[("threads", Slot::Whole), ("length", Slot::Length)],
        Evidence::Count { .. } => &[("threads", Slot::Number), ("in", Slot::Length)],
        Evidence::PitchGauge { .. } => {
            &[("pitch", Slot::Pitch), ("angle", Slot::Angle), ("teeth", Slot::Whole)]
        }
        Evidence::Major { .. } | Evidence::Minor { .. } => &[("diameter", Slot::Length)],
        Evidence::OverWires { .. } => &[("reading", Slot::Length), ("wires", Slot::Length)],
        Evidence::Taper { .. } => &[("on the diameter, per length", Slot::Number)],
        Evidence::Starts { .. } => &[("starts", Slot::Whole)],
        Evidence::Machine { .. } => &[("year", Slot::Whole)],
        Evidence::Dials { .. } => &[],
    }
}

/// Whether something of a line is still to be read: it was just added.
#[must_use]
pub fn unread(evidence: &Evidence) -> bool {
    let needed = !matches!(evidence, Evidence::Machine { .. });
    needed && (0..slots(evidence).len()).any(|slot| number(evidence, slot).is_none())
}

/// The entry of a line to be typed in first: the first in which nothing stands yet.
#[must_use]
pub fn first_to_read(evidence: &Evidence) -> usize {
    (0..slots(evidence).len()).find(|slot| number(evidence, *slot).is_none()).unwrap_or(0)
}

/// The number in an entry; `None` when nothing has been read.
fn number(evidence: &Evidence, slot: usize) -> Option<Quantity> {
    let exact = |v: f64| Quantity::entered(v, 0.0);
    let q = match (evidence, slot) {
        (Evidence::Travel { turns, .. }, 0) => exact(*turns),
        (Evidence::Travel { travel_mm, .. }, 1) => *travel_mm,
        (Evidence::DialTurn { divisions, .. }, 0) => exact(*divisions),
        (Evidence::DialTurn { division_mm, .. }, 1) => exact(*division_mm),
        (Evidence::OverThreads { threads, .. }, 0) => exact(f64::from(*threads)),
        (Evidence::OverThreads { length_mm, .. }, 1) => *length_mm,
        (Evidence::Count { threads, .. }, 0) => *threads,
        (Evidence::Count { length_mm, .. }, 1) => exact(*length_mm),
        (Evidence::PitchGauge { pitch_mm, .. }, 0) => exact(*pitch_mm),
        (Evidence::PitchGauge { included_deg, .. }, 1) => exact(*included_deg),
        (Evidence::PitchGauge { teeth, .. }, 2) => exact(f64::from(*teeth)),
        (Evidence::Major { major_mm: q }, 0)
        | (Evidence::Minor { minor_mm: q }, 0)
        | (Evidence::OverWires { over_mm: q, .. }, 0)
        | (Evidence::Taper { taper: q }, 0) => *q,
        (Evidence::OverWires { wire_mm, .. }, 1) => exact(*wire_mm),
        (Evidence::Starts { starts }, 0) => exact(f64::from(*starts)),
        (Evidence::Machine { year, .. }, 0) => exact(f64::from((*year)?)),
        _ => return None,
    };
    (q.value != 0.0).then_some(q)
}

fn put(evidence: &mut Evidence, slot: usize, q: Quantity) {
    let whole = q.value.round().clamp(0.0, 1e6) as u32;
    match (evidence, slot) {
        (Evidence::Travel { turns: v, .. }, 0)
        | (Evidence::DialTurn { divisions: v, .. }, 0)
        | (Evidence::DialTurn { division_mm: v, .. }, 1)
        | (Evidence::Count { length_mm: v, .. }, 1)
        | (Evidence::PitchGauge { pitch_mm: v, .. }, 0)
        | (Evidence::PitchGauge { included_deg: v, .. }, 1)
        | (Evidence::OverWires { wire_mm: v, .. }, 1) => *v = q.value,
        (Evidence::Travel { travel_mm: old, .. }, 1)
        | (Evidence::OverThreads { length_mm: old, .. }, 1)
        | (Evidence::Count { threads: old, .. }, 0)
        | (Evidence::Major { major_mm: old }, 0)
        | (Evidence::Minor { minor_mm: old }, 0)
        | (Evidence::OverWires { over_mm: old, .. }, 0)
        | (Evidence::Taper { taper: old }, 0) => *old = q,
        (Evidence::OverThreads { threads: n, .. }, 0)
        | (Evidence::PitchGauge { teeth: n, .. }, 2)
        | (Evidence::Starts { starts: n }, 0) => *n = whole,
        (Evidence::Machine { year, .. }, 0) => *year = (whole > 0).then_some(whole),
        _ => {}
    }
}

/// What stands in an entry when nobody is typing in it.
#[must_use]
pub fn settled(evidence: &Evidence, slot: usize, shown: Units) -> String {
    let Some((_, kind)) = slots(evidence).get(slot) else { return String::new() };
    let Some(q) = number(evidence, slot) else { return String::new() };
    let plain = |end: &str| match q.u > 0.0 {
        true => format!("{} ± {}{end}", trimmed(q.value), trimmed(q.u)),
        false => format!("{}{end}", trimmed(q.value)),
    };
    match kind {
        Slot::Length | Slot::Pitch => entered(q, shown),
        Slot::Angle => plain("°"),
        Slot::Number | Slot::Whole => plain(""),
    }
}

/// The line with what was typed; an empty entry is one that was not read.
///
/// # Errors
/// A sentence.
pub fn taken(
    evidence: &Evidence,
    slot: usize,
    text: &str,
    shown: Units,
) -> Result<Evidence, String> {
    let mut out = evidence.clone();
    let Some((_, kind)) = slots(evidence).get(slot) else { return Ok(out) };
    let text = text.trim();
    let q = match kind {
        _ if text.is_empty() => Quantity::entered(0.0, 0.0),
        Slot::Length => {
            units::length_quantity_mm(&with_unit(text, shown)).map_err(|e| e.to_string())?
        }
        Slot::Pitch => {
            units::pitch_quantity_mm(&with_unit(text, shown)).map_err(|e| e.to_string())?
        }
        Slot::Angle => {
            let bare = text.ends_with(|c: char| c.is_ascii_digit());
            let text = if bare { format!("{text}°") } else { text.to_owned() };
            units::angle_quantity_deg(&text).map_err(|e| e.to_string())?
        }
        Slot::Number => counted(text)?,
        Slot::Whole => {
            let n: u32 = text.parse().map_err(|_| format!("\"{text}\" is no whole number"))?;
            Quantity::entered(f64::from(n), 0.0)
        }
    };
    put(&mut out, slot, q);
    Ok(out)
}

/// A number without a unit, with ± or without; a taper may be written 1:16.
fn counted(text: &str) -> Result<Quantity, String> {
    let wrong = || format!("\"{text}\" is no number: write 10, 9.5 ± 0.25 or 1:16");
    let one = |part: &str| -> Option<f64> {
        let part = part.trim().replace(',', ".");
        let value = match part.split_once([':', '/']) {
            Some((a, b)) => a.trim().parse::<f64>().ok()? / b.trim().parse::<f64>().ok()?,
            None => part.parse::<f64>().ok()?,
        };
        value.is_finite().then_some(value)
    };
    let (value, u) = match ["±", "+/-", "+-"].iter().find_map(|m| text.split_once(m)) {
        Some((value, u)) => (value, one(u).filter(|u| *u >= 0.0).ok_or_else(wrong)?),
        None => (text, 0.0),
    };
    Ok(Quantity::new(one(value).ok_or_else(wrong)?, u, Source::Entered))
}

#[cfg(test)]
mod tests {
    use super::*;
    use standards::EvidenceKind;

    #[test]
    fn every_entry_shows_what_it_took() {
        for kind in EvidenceKind::ALL {
            let mut line = kind.blank();
            for (i, (name, slot)) in slots(&line.clone()).iter().enumerate() {
                let text = match slot {
                    Slot::Length => "25.4 mm",
                    Slot::Pitch => "2.5 mm",
                    Slot::Number => "10.5",
                    Slot::Whole => "12",
                    Slot::Angle => "29°",
                };
                line = taken(&line, i, text, Units::Mm).unwrap();
                assert_eq!(settled(&line, i, Units::Mm), text, "{kind:?} {name}");
                // Emptied, it counts as not read.
                let none = taken(&line, i, "", Units::Mm).unwrap();
                assert_eq!(settled(&none, i, Units::Mm), "");
            }
        }
    }

    #[test]
    fn a_bare_number_takes_the_unit_shown_and_its_uncertainty() {
        let line = EvidenceKind::Caliper.blank();
        let line = taken(&line, 1, "1 ± 0.001", Units::Inch).unwrap();
        let Evidence::OverThreads { length_mm, .. } = line else { panic!("{line:?}") };
        assert!((length_mm.value - 25.4).abs() < 1e-9 && (length_mm.u - 0.0254).abs() < 1e-9);
        let taper = taken(&EvidenceKind::Taper.blank(), 0, "1:16", Units::Mm).unwrap();
        assert_eq!(taper, Evidence::Taper { taper: Quantity::entered(0.0625, 0.0) });
        assert!(taken(&EvidenceKind::Starts.blank(), 0, "two", Units::Mm).is_err());
    }
}
