//! Limits of size: how much smaller than its design a thread of a class may be.
//!
//! Formulas, not tables: ISO 965-1 for metric threads (rounded to the R 40 series as that standard
//! does), ISO 2903 for trapezoidal ones (the same formulas with its own deviations), ASME B1.1,
//! B1.5 and B1.9, BS 84. All from memory of the standards and checked against printed limits in
//! the tests; a value may differ from the printed table by one step of R 40 where the standard
//! smoothed it. ISO 228-1 prints four rows, which stand here. Anything else is "generic": the medium
//! limits of ISO 965-1 for its pitch.

use crate::family::{Family, Size};
use serde::Deserialize;
use thiserror::Error;

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;

/// Which standard's formulas give the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// ISO 965-1: class a grade 3 to 9 with a position letter, `6g`, `6H`, `7e` …
    Iso965,
    /// ISO 2903: `7e`, `8e`, `8c`, `7H`, `8H` …
    Iso2903,
    /// ASME B1.1: `1A`, `2A`, `3A`, `1B`, `2B`, `3B`.
    #[serde(rename = "asme_b1_1")]
    AsmeB11,
    /// ASME B1.5 and B1.8: `2G`, `3G`, `4G` (external and internal), `2C`, `3C`, `4C`.
    #[serde(rename = "asme_b1_5")]
    AsmeB15,
    /// ASME B1.9: `2`, `3`.
    #[serde(rename = "asme_b1_9")]
    AsmeB19,
    /// BS 84: `close`, `medium`, `free`.
    Bs84,
    /// ISO 228-1: `A`, `B` (screw; the nut has one class).
    Iso228,
    /// No class of its own here: ISO 965-1 `6g` or `6H` widths for the pitch.
    Generic,
}

/// Least and greatest permitted size, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least size, mm.
    pub least_mm: f64,
    /// Greatest size, mm.
    pub most_mm: f64,
}

impl Limits {
    /// Middle of the two limits, mm.
    #[must_use]
    pub fn middle_mm(self) -> f64 {
        0.5 * (self.least_mm + self.most_mm)
    }
    /// Distance between the limits, mm.
    #[must_use]
    pub fn width_mm(self) -> f64 {
        self.most_mm - self.least_mm
    }
    /// Whether `size_mm` lies between the limits.
    #[must_use]
    pub fn contains(self, size_mm: f64) -> bool {
        (self.least_mm..=self.most_mm).contains(&size_mm)
    }
}

/// Limits of the three diameters, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreadLimits {
    /// Major diameter. For an internal thread only the least is prescribed; the greatest is then
    /// infinite.
    pub major: Limits,
    /// Pitch diameter.
    pub pitch: Limits,
    /// Minor diameter. For an external thread as far as the standard bounds it.
    pub minor: Limits,
}

/// Why a class gives no limits.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ToleranceError {
    /// The class is not one of the family's standard.
    #[error("tolerance class \"{class}\" is not one of {rule}: {examples}")]
    Class {
        /// The class given.
        class: String,
        /// The standard.
        rule: &'static str,
        /// Classes it has.
        examples: &'static str,
    },
}

/// Whether screw or nut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Screw.
    External,
    /// Nut.
    Internal,
}

/// Limits of a listed size in a tolerance class, screw or nut.
///
/// # Errors
/// [`ToleranceError`] when the standard has no such class.
pub fn limits(
    family: &Family,
    size: &Size,
    class: &str,
    side: Side,
) -> Result<ThreadLimits, ToleranceError> {
    limits_of(family, size.major_mm, size.pitch_mm, class, side)
}

/// As [`limits`], for any diameter and pitch, mm.
///
/// # Errors
/// [`ToleranceError`] when the standard has no such class.
pub fn limits_of(
    family: &Family,
    major_mm: f64,
    pitch_mm: f64,
    class: &str,
    side: Side,
) -> Result<ThreadLimits, ToleranceError> {
    let widths = Widths::of(family, major_mm, pitch_mm, class, side)?;
    let d = family.form.diameters(major_mm, pitch_mm);
    let below = |size: f64, fundamental: f64, width: f64| Limits {
        least_mm: size - fundamental - width,
        most_mm: size - fundamental,
    };
    let above = |size: f64, fundamental: f64, width: f64| Limits {
        least_mm: size + fundamental,
        most_mm: size + fundamental + width,
    };
    Ok(match side {
        Side::External => ThreadLimits {
            major: below(d.major_mm, widths.major_gap, widths.major),
            pitch: below(d.pitch_mm, widths.pitch_gap, widths.pitch),
            minor: below(d.external_minor_mm, widths.minor_gap, widths.minor),
        },
        Side::Internal => ThreadLimits {
            major: Limits {
                least_mm: d.internal_major_mm + widths.major_gap,
                most_mm: f64::INFINITY,
            },
            pitch: above(d.pitch_mm, widths.pitch_gap, widths.pitch),
            minor: above(d.internal_minor_mm, widths.minor_gap, widths.minor),
        },
    })
}

/// Fundamental deviations (gaps) and tolerances (widths), all positive, mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Widths {
    major_gap: f64,
    major: f64,
    pitch_gap: f64,
    pitch: f64,
    minor_gap: f64,
    minor: f64,
}

impl Widths {
    fn of(
        family: &Family,
        major_mm: f64,
        pitch_mm: f64,
        class: &str,
        side: Side,
    ) -> Result<Self, ToleranceError> {
        match family.tolerance {
            Rule::Iso965 => iso965(major_mm, pitch_mm, class, side),
            Rule::Iso2903 => iso2903(major_mm, pitch_mm, class, side),
            Rule::AsmeB11 => asme_b1_1(major_mm, pitch_mm, class, side),
            Rule::AsmeB15 => asme_b1_5(major_mm, pitch_mm, class, side),
            Rule::AsmeB19 => asme_b1_9(major_mm, pitch_mm, class, side),
            Rule::Bs84 => bs84(major_mm, pitch_mm, class, side),
            Rule::Iso228 => iso228(major_mm, pitch_mm, class, side),
            Rule::Generic => {
                iso965(major_mm, pitch_mm, if side == Side::External { "6g" } else { "6H" }, side)
            }
        }
    }
}

/// Grade and position of an ISO class; the case of the letter must fit the side.
fn iso_class(class: &str, side: Side, rule: &'static str) -> Result<(u32, char), ToleranceError> {
    let (examples, letters) = match side {
        Side::External => ("4h, 6g, 6e, 7e, 8c", "cdefgh"),
        Side::Internal => ("5H, 6H, 6G, 7H", "EFGH"),
    };
    let mut chars = class.trim().chars();
    let grade = chars.next().and_then(|c| c.to_digit(10)).filter(|g| (3..=9).contains(g));
    let letter = chars.next().filter(|c| letters.contains(*c));
    match (grade, letter, chars.next()) {
        (Some(grade), Some(letter), None) => Ok((grade, letter)),
        _ => Err(ToleranceError::Class { class: class.to_owned(), rule, examples }),
    }
}

/// Fundamental deviation of ISO 965-1, mm, as a positive gap.
fn iso_gap_mm(letter: char, pitch_mm: f64) -> f64 {
    let p = pitch_mm;
    0.001
        * match letter.to_ascii_lowercase() {
            // ISO 2903 lists c; 2.0 × e reproduces its printed values within a few µm.
            'c' => 2.0 * (50.0 + 11.0 * p),
            'd' => 80.0 + 11.0 * p,
            'e' => 50.0 + 11.0 * p,
            'f' => 30.0 + 11.0 * p,
            'g' => 15.0 + 11.0 * p,
            _ => 0.0,
        }
}

/// Grade factors of ISO 965-1 relative to grade 6.
fn grade_factor(grade: u32) -> f64 {
    match grade {
        3 => 0.5,
        4 => 0.63,
        5 => 0.8,
        6 => 1.0,
        7 => 1.25,
        8 => 1.6,
        _ => 2.0,
    }
}

/// `Td2` of grade 6 before rounding, mm: 90 P^0.4 d^0.1 µm with `d` the geometric mean of its
/// range of diameters.
fn iso_td2_mm(major_mm: f64, pitch_mm: f64) -> f64 {
    const RANGES: [f64; 11] = [0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0, 355.0, 710.0];
    let i = RANGES.iter().rposition(|&r| major_mm > r).unwrap_or(0).min(RANGES.len() - 2);
    let d = (RANGES[i] * RANGES[i + 1]).sqrt();
    0.090 * pitch_mm.powf(0.4) * d.powf(0.1)
}

/// `Td` of grade 6 before rounding, mm: 180 P^(2/3) - 3.15 / √P µm. The printed table lifts pitch 4
/// to 0.475 mm.
fn iso_td_mm(pitch_mm: f64) -> f64 {
    if (pitch_mm - 4.0).abs() < 1e-6 {
        return 0.475;
    }
    0.001 * (180.0 * pitch_mm.powf(2.0 / 3.0) - 3.15 / pitch_mm.sqrt())
}

/// The next value of the R 40 series, nearest in ratio.
fn r40(mm: f64) -> f64 {
    const R40: [f64; 41] = [
        1.0, 1.06, 1.12, 1.18, 1.25, 1.32, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.12, 2.24, 2.36,
        2.5, 2.65, 2.8, 3.0, 3.15, 3.35, 3.55, 3.75, 4.0, 4.25, 4.5, 4.75, 5.0, 5.3, 5.6, 6.0, 6.3,
        6.7, 7.1, 7.5, 8.0, 8.5, 9.0, 9.5, 10.0,
    ];
    if !(mm > 0.0 && mm.is_finite()) {
        return 0.0;
    }
    let decade = 10f64.powf(mm.log10().floor());
    let lead = mm / decade;
    let near =
        R40.iter().copied().min_by(|a, b| (a / lead).ln().abs().total_cmp(&(b / lead).ln().abs()));
    near.unwrap_or(lead) * decade
}

fn iso965(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let (grade, letter) = iso_class(class, side, "ISO 965-1")?;
    let gap = iso_gap_mm(letter, p);
    let k = grade_factor(grade);
    let td2 = r40(iso_td2_mm(d, p) * k);
    Ok(match side {
        Side::External => {
            // The major diameter has grades 4, 6 and 8 only; odd classes use the next finer.
            let major_grade = grade_factor(if grade < 6 {
                4
            } else if grade < 8 {
                6
            } else {
                8
            });
            let td = r40(iso_td_mm(p) * major_grade);
            Widths {
                major_gap: gap,
                major: td,
                pitch_gap: gap,
                pitch: td2,
                minor_gap: gap,
                minor: td2 + 0.072 * p,
            }
        }
        Side::Internal => {
            let td1 = 0.001
                * if p < 0.99 { 433.0 * p - 190.0 * p.powf(1.22) } else { 230.0 * p.powf(0.7) };
            Widths {
                major_gap: gap,
                major: f64::INFINITY,
                pitch_gap: gap,
                pitch: r40(td2 * 1.32),
                minor_gap: gap,
                minor: r40(td1 * k),
            }
        }
    })
}

fn iso2903(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let (grade, letter) = iso_class(class, side, "ISO 2903")?;
    let gap = iso_gap_mm(letter, p);
    let k = grade_factor(grade);
    let td2 = r40(r40(iso_td2_mm(d, p)) * k);
    Ok(match side {
        Side::External => Widths {
            major_gap: 0.0,
            major: r40(iso_td_mm(p) * 0.63),
            pitch_gap: gap,
            pitch: td2,
            minor_gap: 0.0,
            minor: gap + 1.25 * td2,
        },
        Side::Internal => Widths {
            major_gap: 0.0,
            major: f64::INFINITY,
            pitch_gap: gap,
            pitch: r40(td2 * 1.32),
            minor_gap: 0.0,
            minor: r40(0.001 * 230.0 * p.powf(0.7) * 0.63),
        },
    })
}

fn asme_b1_1(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let bad = || ToleranceError::Class {
        class: class.to_owned(),
        rule: "ASME B1.1",
        examples: "1A, 2A, 3A (screw), 1B, 2B, 3B (nut)",
    };
    let (d, p) = (d / MM_PER_INCH, p / MM_PER_INCH);
    let letter = if side == Side::External { 'A' } else { 'B' };
    let class_number = class.trim().strip_suffix(letter).ok_or_else(bad)?;
    // Length of engagement: one diameter.
    let base = 0.0015 * (d.cbrt() + d.sqrt()) + 0.015 * p.powf(2.0 / 3.0);
    let (factor, gap) = match class_number {
        "1" => (1.5, 0.3 * base),
        "2" => (1.0, 0.3 * base),
        "3" => (0.75, 0.0),
        _ => return Err(bad()),
    };
    let w = match side {
        Side::External => Widths {
            major_gap: gap,
            major: 0.06 * p.powf(2.0 / 3.0) * if class_number == "1" { 1.5 } else { 1.0 },
            pitch_gap: gap,
            pitch: factor * base,
            minor_gap: gap,
            minor: factor * base + 0.072 * p,
        },
        Side::Internal => Widths {
            major_gap: 0.0,
            major: f64::INFINITY,
            pitch_gap: 0.0,
            pitch: 1.3 * factor * base,
            minor_gap: 0.0,
            minor: if d < 0.2499 {
                (0.05 * p.powf(2.0 / 3.0) + 0.03 * p / d - 0.002).min(0.394 * p)
            } else {
                0.25 * p - 0.4 * p * p
            },
        },
    };
    Ok(w.inches_to_mm())
}

fn asme_b1_5(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let bad = || ToleranceError::Class {
        class: class.to_owned(),
        rule: "ASME B1.5",
        examples: "2G, 3G, 4G, 2C, 3C, 4C",
    };
    let (d, p) = (d / MM_PER_INCH, p / MM_PER_INCH);
    let mut chars = class.trim().chars();
    let (number, kind) = (chars.next(), chars.next());
    let (gap_factor, factor) = match number {
        Some('2') => (0.008, 1.0),
        Some('3') => (0.006, 14.0 / 30.0),
        Some('4') => (0.004, 10.0 / 30.0),
        _ => return Err(bad()),
    };
    let centralizing = match kind {
        Some('G') => false,
        Some('C') => true,
        _ => return Err(bad()),
    };
    let gap = gap_factor * d.sqrt();
    let pitch = factor * (0.030 * p.sqrt() + 0.006 * d.sqrt());
    let w = match side {
        Side::External => Widths {
            major_gap: if centralizing { 0.0025 * d.sqrt() } else { 0.0 },
            major: if centralizing { 0.0035 * d.sqrt() } else { (0.05 * p).max(0.005) },
            pitch_gap: gap,
            pitch,
            minor_gap: 0.0,
            minor: 1.5 * pitch,
        },
        Side::Internal => Widths {
            major_gap: 0.0,
            major: f64::INFINITY,
            pitch_gap: 0.0,
            pitch,
            // The nut of a centralizing screw is bored to D - 0.9 P.
            minor_gap: if centralizing { 0.1 * p } else { 0.0 },
            minor: (0.05 * p).max(0.005),
        },
    };
    Ok(w.inches_to_mm())
}

fn asme_b1_9(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let (d, p) = (d / MM_PER_INCH, p / MM_PER_INCH);
    let base = 0.002 * d.cbrt() + 0.00278 * (10.0 * p).sqrt() + 0.00854 * p.sqrt();
    let factor = match class.trim() {
        "2" => 1.0,
        "3" => 2.0 / 3.0,
        _ => {
            return Err(ToleranceError::Class {
                class: class.to_owned(),
                rule: "ASME B1.9",
                examples: "2, 3",
            });
        }
    };
    let gap = if side == Side::External { base * 2.0 / 3.0 } else { 0.0 };
    let width = factor * base;
    Ok(Widths {
        major_gap: gap,
        major: width,
        pitch_gap: gap,
        pitch: width,
        minor_gap: gap,
        minor: width,
    }
    .inches_to_mm())
}

fn bs84(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let (d, p) = (d / MM_PER_INCH, p / MM_PER_INCH);
    let base = 0.002 * d.cbrt() + 0.003 * d.sqrt() + 0.005 * p.sqrt();
    let factor = match class.trim() {
        "close" => 2.0 / 3.0,
        "medium" => 1.0,
        "free" => 1.5,
        _ => {
            return Err(ToleranceError::Class {
                class: class.to_owned(),
                rule: "BS 84",
                examples: "close, medium, free",
            });
        }
    };
    let pitch = factor * base;
    Ok(match side {
        Side::External => Widths {
            major_gap: 0.0,
            major: pitch + 0.01 * p.sqrt(),
            pitch_gap: 0.0,
            pitch,
            minor_gap: 0.0,
            minor: pitch + 0.013 * p.sqrt(),
        },
        Side::Internal => Widths {
            major_gap: 0.0,
            major: f64::INFINITY,
            pitch_gap: 0.0,
            pitch,
            minor_gap: 0.0,
            minor: if p < 0.0385 { 0.2 * p + 0.005 } else { 0.2 * p + 0.004 },
        },
    }
    .inches_to_mm())
}

/// Printed tolerances: threads per inch, pitch diameter (beyond 2 in the second), bore of the nut, mm.
const ISO_228: [(f64, [f64; 2], f64); 4] = [
    (28.0, [0.107, 0.107], 0.282),
    (19.0, [0.125, 0.125], 0.445),
    (14.0, [0.142, 0.142], 0.541),
    (11.0, [0.180, 0.217], 0.640),
];
/// Between G 2 (59.6 mm) and G 2 1/4 (65.7 mm), from which on the pitch diameter has more room.
const ISO_228_STEP_MM: f64 = 60.0;

fn iso228(d: f64, p: f64, class: &str, side: Side) -> Result<Widths, ToleranceError> {
    let factor = match class.trim() {
        "A" => 1.0,
        "B" if side == Side::External => 2.0,
        _ => {
            return Err(ToleranceError::Class {
                class: class.to_owned(),
                rule: "ISO 228-1",
                examples: "A, B (screw), A (nut)",
            });
        }
    };
    // A pitch that is not of the series has the tolerances of the nearest that is.
    let away = |tpi: f64| (MM_PER_INCH / p / tpi).ln().abs();
    let near = ISO_228.into_iter().min_by(|a, b| away(a.0).total_cmp(&away(b.0)));
    let (_, pitch, bore) = near.unwrap_or(ISO_228[3]);
    let pitch = pitch[usize::from(d > ISO_228_STEP_MM)];
    Ok(Widths {
        major_gap: 0.0,
        major: if side == Side::External { 2.0 * pitch } else { f64::INFINITY },
        pitch_gap: 0.0,
        pitch: factor * pitch,
        minor_gap: 0.0,
        // Of the screw the standard bounds no minor diameter; it follows the pitch diameter.
        minor: if side == Side::External { factor * pitch } else { bore },
    })
}

impl Widths {
    fn inches_to_mm(self) -> Self {
        Self {
            major_gap: self.major_gap * MM_PER_INCH,
            major: self.major * MM_PER_INCH,
            pitch_gap: self.pitch_gap * MM_PER_INCH,
            pitch: self.pitch * MM_PER_INCH,
            minor_gap: self.minor_gap * MM_PER_INCH,
            minor: self.minor * MM_PER_INCH,
        }
    }
}
