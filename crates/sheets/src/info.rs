//! What every sheet is told, and why a sheet may not be drawn.

use crate::paper::drawing::Paper;
use form::{Said, Sentence, Units, mm, mm_as_given, sentence};
use shop::UseOfThread;
use thiserror::Error;

/// What stands on every sheet of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetInfo {
    /// Name of the job.
    pub job: String,
    /// Date as it shall be printed. Passed in: a sheet is a pure function of its data.
    pub date: String,
    /// Program and version that computed the numbers; printed beside the date.
    pub made_by: String,
    /// Units of lengths.
    pub units: Units,
    /// Paper.
    pub paper: Paper,
    /// Cautions for every sheet of this job, besides those a sheet always carries.
    pub cautions: Vec<String>,
    /// What the thread does in its machine: where somebody could be hurt, a polite refusal is
    /// printed instead of numbers.
    pub thread_use: UseOfThread,
}

/// Why a sheet cannot be drawn.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SheetError {
    /// A number outside what can be drawn.
    Limits {
        /// Which number.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// The limits, in words.
        limits: Sentence,
    },
    /// The magnification asked for does not fit the paper.
    Magnification {
        /// Asked for.
        asked: f64,
        /// Name of the paper.
        paper: &'static str,
        /// Width it would take, mm.
        width_mm: f64,
        /// Height it would take, mm.
        height_mm: f64,
        /// Width there is, mm.
        space_width_mm: f64,
        /// Height there is, mm.
        space_height_mm: f64,
        /// The largest of the usual magnifications that fits.
        largest: f64,
    },
    /// Too much for one page.
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many.
        count: usize,
        /// Limit.
        most: usize,
    },
}

impl Said for SheetError {
    fn said(&self) -> Sentence {
        match self {
            Self::Limits { what, value, unit: MM, limits } => {
                sentence!("{} {} is outside {}", *what, mm_as_given(*value), limits)
            }
            Self::Limits { what, value, unit, limits } => {
                sentence!("{} {} {} is outside {}", *what, value.to_string(), *unit, limits)
            }
            Self::Magnification {
                asked,
                paper,
                width_mm,
                height_mm,
                space_width_mm,
                space_height_mm,
                largest,
            } => sentence!(
                "magnification {} : 1 does not fit {}: the drawing would be {} × {}, the space is {} \
                 × {}; ask for at most {} : 1",
                asked.to_string(),
                *paper,
                mm(*width_mm, 0).bare(),
                mm(*height_mm, 0),
                mm(*space_width_mm, 0).bare(),
                mm(*space_height_mm, 0),
                largest.to_string()
            ),
            Self::TooMany { what, count, most } => {
                sentence!("{}: {} are more than one page holds, about {}", *what, *count, *most)
            }
        }
    }
}

form::said_by_display!(SheetError);

/// The unit of what is a length.
const MM: &str = "mm";

/// Checks that `value` lies in `low..=high`; NaN does not.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    unit: &'static str,
    low: f64,
    high: f64,
) -> Result<(), SheetError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        let limits = match unit {
            MM => sentence!("{} to {}", mm_as_given(low).bare(), mm_as_given(high)),
            _ => format!("{low} to {high} {unit}").into(),
        };
        Err(SheetError::Limits { what, value, unit, limits })
    }
}
