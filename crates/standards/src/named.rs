//! Threads by their names, as people type them: `M20`, `Tr 16x4`, `3/4-6 ACME`, `1/2 BSW`,
//! `Tr 20x8 P4 LH`.
//!
//! A name is taken apart into what it says — the family's word, the size, a pitch or lead, starts,
//! hand — and these are looked up in the catalogue. Only sizes that are listed have a name: numbers are
//! given for all others.

use crate::catalogue::families;
use crate::family::{Family, Size, System};
use crate::reading::{Read, number, parts, read};
use form::units::MM_PER_INCH;
use std::collections::BTreeSet;
use std::sync::OnceLock;
use thiserror::Error;

/// Starts that a name may say.
const MOST_STARTS: u32 = 16;
/// Names offered for one that is not known.
const MOST_OFFERED: usize = 5;
/// Sizes are the same when they differ by less, relative: printed decimals of an inch have four places.
const SAME: f64 = 6e-4;

/// A thread of the catalogue, as its name says it.
#[derive(Debug, Clone)]
pub struct Named {
    /// The name as the catalogue writes it.
    pub designation: String,
    /// Its family.
    pub family: &'static Family,
    /// Its size.
    pub size: &'static Size,
    /// Number of starts.
    pub starts: u32,
    /// Whether it is left-handed.
    pub left_hand: bool,
}

impl Named {
    fn new(family: &'static Family, size: &'static Size, starts: u32, left_hand: bool) -> Self {
        let designation = family.designate(size, starts, left_hand);
        Self { designation, family, size, starts, left_hand }
    }

    /// Pitch, mm.
    #[must_use]
    pub fn pitch_mm(&self) -> f64 {
        self.size.pitch_mm
    }

    /// Advance in a turn, mm.
    #[must_use]
    pub fn lead_mm(&self) -> f64 {
        f64::from(self.starts) * self.size.pitch_mm
    }

    /// Major diameter, mm; of a taper thread half-way along it.
    #[must_use]
    pub fn major_mm(&self) -> f64 {
        let form = &self.family.form;
        let d = self.size.major_mm;
        d + form.gauge_offset_d * d + form.gauge_offset_p * self.size.pitch_mm
    }
}

/// Why a name names no thread.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NameError {
    /// Nothing was typed.
    #[error("type a thread's name, such as M20, Tr 16x4, 3/4-6 ACME or 1/2 BSW")]
    Empty,
    /// No thread in the catalogue is called that.
    #[error("no listed thread is called \"{name}\"{}", offered(.nearest))]
    Unknown {
        /// What was typed.
        name: String,
        /// The nearest names.
        nearest: Vec<String>,
    },
    /// Several are.
    #[error("\"{name}\" can be {}: write which", either(.meant))]
    Several {
        /// What was typed.
        name: String,
        /// What it can be.
        meant: Vec<String>,
    },
    /// Lead and pitch that make no whole number of starts.
    #[error(
        "\"{name}\": a lead of {lead} and a pitch of {pitch} make {starts} starts; it is a whole number \
         from 1 to {MOST_STARTS}"
    )]
    Starts {
        /// What was typed.
        name: String,
        /// The lead.
        lead: String,
        /// The pitch.
        pitch: String,
        /// Their ratio.
        starts: String,
    },
}

impl NameError {
    /// Names that may be meant instead.
    #[must_use]
    pub fn instead(&self) -> &[String] {
        match self {
            Self::Unknown { nearest, .. } => nearest,
            Self::Several { meant, .. } => meant,
            Self::Empty | Self::Starts { .. } => &[],
        }
    }
}

fn offered(nearest: &[String]) -> String {
    if nearest.is_empty() {
        String::new()
    } else {
        format!("; the nearest are {}", nearest.join(", "))
    }
}

fn either(meant: &[String]) -> String {
    match meant {
        [first @ .., last] if !first.is_empty() => format!("{} or {last}", first.join(", ")),
        _ => meant.concat(),
    }
}

/// The thread called `text`.
///
/// # Errors
/// [`NameError`] with the names that may be meant.
pub fn named(text: &str) -> Result<Named, NameError> {
    let shown = text.trim();
    if shown.is_empty() {
        return Err(NameError::Empty);
    }
    let unknown = || NameError::Unknown { name: shown.to_owned(), nearest: nearest(shown) };
    let read = read(shown).ok_or_else(unknown)?;
    // Starts that follow from a lead and a pitch, both given.
    let by_lead = match (read.lead, read.pitch) {
        (Some(lead), Some(pitch)) => {
            let starts = lead / pitch;
            let whole = starts.round();
            if (starts - whole).abs() > 1e-3 * whole.max(1.0)
                || !(1.0..=f64::from(MOST_STARTS)).contains(&whole)
                || read.starts.is_some_and(|n| f64::from(n) != whole)
            {
                return Err(NameError::Starts {
                    name: shown.to_owned(),
                    lead: crate::family::plain(lead, 4),
                    pitch: crate::family::plain(pitch, 4),
                    starts: crate::family::plain(starts, 3),
                });
            }
            Some(whole as u32)
        }
        _ => None,
    };
    if read.starts.is_some_and(|n| !(1..=MOST_STARTS).contains(&n)) {
        return Err(unknown());
    }
    let starts = by_lead.or(read.starts).unwrap_or(1);
    let of = |family: &'static Family, size| Named::new(family, size, starts, read.left_hand);
    let meant: Vec<&'static Family> = families().iter().filter(|f| read.may_be(f)).collect();
    let mut found: Vec<Named> = Vec::new();
    for family in meant {
        for size in family.sizes.iter().filter(|s| read.is_size(s, family)) {
            let pitches = match (read.pitch, starts) {
                (None, _) => vec![None],
                (Some(p), 1) => vec![Some(p)],
                (Some(p), _) if by_lead.is_some() => vec![Some(p)],
                // Threads per inch count the ridges; of a metric size the number is the lead, or
                // was meant for the pitch.
                (Some(p), _) if family.system == System::Inch => vec![Some(p)],
                (Some(p), n) => vec![Some(p / f64::from(n)), Some(p)],
            };
            if pitches.iter().any(|p| p.is_none_or(|p| is_pitch(p, size, family))) {
                found.push(of(family, size));
            }
        }
    }
    if read.pitch.is_none() {
        usual(&mut found);
    }
    let mut names: Vec<String> = Vec::new();
    found.retain(|n| {
        let new = !names.contains(&n.designation);
        names.push(n.designation.clone());
        new
    });
    match found.len() {
        0 => Err(unknown()),
        1 => Ok(found.remove(0)),
        _ => {
            let meant = found.iter().take(2 * MOST_OFFERED).map(|n| n.designation.clone());
            Err(NameError::Several { name: shown.to_owned(), meant: meant.collect() })
        }
    }
}

/// Without a pitch the coarse series is meant, where there is one: M20 is M20 x 2.5.
fn usual(found: &mut Vec<Named>) {
    if found.iter().any(|n| n.family.id == "metric-coarse") {
        found.retain(|n| n.family.id == "metric-coarse");
    }
}

/// Whether `p` is the pitch of `size`: in millimetres or, where the family counts threads per inch, that
/// or a part of an inch.
fn is_pitch(p: f64, size: &Size, family: &Family) -> bool {
    let same = |mm: f64| (mm - size.pitch_mm).abs() < 1e-3 * size.pitch_mm;
    if family.system == System::Inch || family.designation.contains("{tpi}") {
        same(MM_PER_INCH / p) || same(MM_PER_INCH * p)
    } else {
        same(p)
    }
}

impl Read {
    /// Whether a family can be meant by the words.
    fn may_be(&self, family: &Family) -> bool {
        match self.family {
            Some(ids) => ids.contains(&family.id.as_str()),
            // Without a word, only what is written without one: 1/4-20.
            None => self.pitch.is_some() && BARE.contains(&family.id.as_str()),
        }
    }

    /// Whether the number typed is this size.
    fn is_size(&self, size: &Size, family: &Family) -> bool {
        let near = |value: f64| (value - self.size).abs() < SAME * self.size.abs();
        let (numbered, label) = match size.label.strip_prefix('#') {
            Some(rest) => (true, rest),
            None => (false, size.label.as_str()),
        };
        let by_label = number(label).is_some_and(|v| (v - self.size).abs() < 1e-9);
        // A decimal of an inch is the diameter itself: .190-32 is #10-32.
        let by_diameter = family.system == System::Inch
            && !self.numbered
            && self.decimal
            && near(size.major_mm / MM_PER_INCH);
        // Where all sizes are numbers, saying so tells nothing.
        let apart = family.sizes.iter().any(|s| s.label.starts_with('#'));
        (by_label && (numbered || !self.numbered || !apart)) || by_diameter
    }
}

/// Families whose names may stand without their word: 1/4-20.
const BARE: [&str; 6] = ["unc", "unf", "unef", "un", "bsw", "bsf"];

/// A name of the catalogue.
struct Listed {
    name: String,
    parts: Vec<String>,
    family: &'static Family,
    size: &'static Size,
}

/// Every name of the catalogue, of one start and right-handed, most usual first.
fn all() -> &'static [Listed] {
    static ALL: OnceLock<Vec<Listed>> = OnceLock::new();
    ALL.get_or_init(|| {
        let listed = |family: &'static Family, size: &'static Size| {
            let name = family.designate(size, 1, false);
            Listed { parts: parts(&name), name, family, size }
        };
        let mut all: Vec<Listed> =
            families().iter().flat_map(|f| f.sizes.iter().map(move |s| listed(f, s))).collect();
        all.sort_by(|a, b| {
            let order = a.size.choice.cmp(&b.size.choice);
            let order = order.then(b.family.weight.total_cmp(&a.family.weight));
            order.then(a.size.major_mm.total_cmp(&b.size.major_mm))
        });
        let mut seen = BTreeSet::new();
        all.retain(|l| seen.insert(l.name.clone()));
        all
    })
}

/// Names that begin like `text`, or hold all its parts, most usual first; at most `most`.
#[must_use]
pub fn completions(text: &str, most: usize) -> Vec<String> {
    let typed = parts(text);
    let Some((last, whole)) = typed.split_last() else { return Vec::new() };
    let mut out: Vec<String> = Vec::new();
    // What is a whole name already stands first, whatever starts and hand it says.
    if let Ok(named) = named(text) {
        out.push(named.designation);
    }
    let fits = |in_order: bool, own: &[String]| {
        if in_order {
            let head = whole.len();
            own.len() > head && own[..head] == *whole && own[head].starts_with(last.as_str())
        } else {
            whole.iter().all(|p| own.contains(p))
                && own.iter().any(|o| o.starts_with(last.as_str()))
        }
    };
    for in_order in [true, false] {
        for listed in all() {
            if out.len() >= most {
                return out;
            }
            if !out.contains(&listed.name) && fits(in_order, &listed.parts) {
                out.push(listed.name.clone());
            }
        }
    }
    out.truncate(most);
    out
}

/// The names nearest to one that is none.
fn nearest(text: &str) -> Vec<String> {
    let read = read(text);
    let known = read.as_ref().filter(|r| r.family.is_some());
    let mut ranked: Vec<(f64, &str)> = match known {
        // Of the family that was named, the sizes nearest to the numbers.
        Some(read) => all()
            .iter()
            .filter(|l| read.may_be(l.family))
            .map(|l| (apart(read, l.size, l.family.system), l.name.as_str()))
            .collect(),
        None => {
            let typed = parts(text).concat();
            all()
                .iter()
                .map(|l| (edits(&typed, &l.parts.concat()) as f64, l.name.as_str()))
                .filter(|(far, _)| *far <= 0.5 * typed.chars().count().max(2) as f64)
                .collect()
        }
    };
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    ranked.into_iter().take(MOST_OFFERED).map(|(_, name)| name.to_owned()).collect()
}

/// How far a size is from the numbers of a name.
fn apart(read: &Read, size: &Size, system: System) -> f64 {
    let label = size.label.trim_start_matches('#');
    let own = number(label).unwrap_or(size.major_mm);
    let by_label = (own.abs().max(1e-3) / read.size.abs().max(1e-3)).ln().abs();
    let by_pitch = read.pitch.map_or(0.0, |p| {
        let own = if system == System::Inch { MM_PER_INCH / size.pitch_mm } else { size.pitch_mm };
        (own / p.max(1e-6)).ln().abs()
    });
    by_label + 0.4 * by_pitch + 0.01 * f64::from(size.choice)
}

/// Letters to be put in, left out or changed to make one text of the other.
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = corner + usize::from(ca != *cb);
            corner = row[j + 1];
            row[j + 1] = change.min(corner + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}
