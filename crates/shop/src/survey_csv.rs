//! Readings of a survey as text.
//!
//! ```text
//! # end_float_mm = 0.06 ± 0.01
//! position_mm, lost_motion_mm
//! 0, 0.14
//! 40, 0.21, 0.22
//! ```
//!
//! A header names the units (`_mm`, `_in`, `_thou`); every further number in a line is a repeat.
//! Separator comma, semicolon or tab; with a semicolon or a tab, a decimal comma is understood.
//! Lines that begin with `#` are remarks, except those that set `end_float`, `new_nut_play`,
//! `acceptable`, `adjusted_end_float` or `reading_u` with a unit behind the name. A remark that begins
//! with one of these names and sets nothing is an error: it was meant to.

use crate::survey::{READING_U_MM, Reading, Survey};
use form::Quantity;
use form::units::MM_PER_INCH;
use thiserror::Error;

/// Most lines read.
const MOST_LINES: usize = 10_000;

/// Why a text is no survey.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SurveyTextError {
    /// No header.
    #[error(
        "line {line}: \"{text}\" is not a header: write position_mm, lost_motion_mm (or _in, _thou)"
    )]
    Header {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        text: String,
    },
    /// Not a number.
    #[error("line {line}: \"{text}\" is not a number")]
    Number {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        text: String,
    },
    /// A remark that was meant to set something.
    #[error("line {line}: \"{text}\" sets nothing: write it as # {name}_mm = 0.05 (or _in, _thou)")]
    Setting {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        text: String,
        /// What it begins with.
        name: &'static str,
    },
    /// Too few columns.
    #[error("line {line}: \"{text}\" has no reading behind its position")]
    Columns {
        /// Line, from 1.
        line: usize,
        /// What stands there.
        text: String,
    },
    /// Nothing at all.
    #[error("the text has no readings: a header and at least three lines are needed")]
    Empty,
    /// Too long.
    #[error("the text has more than {MOST_LINES} lines")]
    TooLong,
}

/// Reads a survey from text.
///
/// # Errors
/// [`SurveyTextError`] names the line and what stands there.
pub fn parse_survey(text: &str) -> Result<Survey, SurveyTextError> {
    if text.lines().nth(MOST_LINES).is_some() {
        return Err(SurveyTextError::TooLong);
    }
    let mut survey = Survey::new(Vec::new(), None);
    let mut reading_u_mm = READING_U_MM;
    let mut units: Option<(f64, f64)> = None;
    let mut raw: Vec<(f64, Vec<f64>)> = Vec::new();
    let separator = if text.contains(';') {
        ';'
    } else if text.contains('\t') {
        '\t'
    } else {
        ','
    };
    for (i, line) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let line_number = i + 1;
        let line = line.trim();
        if line.is_empty() {
            continue;
        }
        if let Some(remark) = line.strip_prefix('#') {
            let set = match remark.split_once('=') {
                Some((name, value)) => {
                    setting(&mut survey, &mut reading_u_mm, name, value, line_number)?
                }
                None => false,
            };
            if let (false, Some(name)) = (set, meant(remark)) {
                let text = line.to_owned();
                return Err(SurveyTextError::Setting { line: line_number, text, name });
            }
            continue;
        }
        let cells: Vec<&str> = line.split(separator).map(str::trim).collect();
        let Some((position_unit, lost_unit)) = units else {
            units = Some(header(&cells).ok_or_else(|| SurveyTextError::Header {
                line: line_number,
                text: line.to_owned(),
            })?);
            continue;
        };
        let mut numbers = Vec::new();
        for cell in cells.iter().filter(|c| !c.is_empty()) {
            numbers.push(number(cell, line_number)?);
        }
        let Some((position, readings)) = numbers.split_first().filter(|(_, r)| !r.is_empty())
        else {
            return Err(SurveyTextError::Columns { line: line_number, text: line.to_owned() });
        };
        raw.push((position * position_unit, readings.iter().map(|r| r * lost_unit).collect()));
    }
    if raw.is_empty() {
        return Err(SurveyTextError::Empty);
    }
    for (position_mm, repeats) in raw {
        for value in repeats {
            survey.readings.push(Reading {
                position_mm,
                lost_motion_mm: Quantity::measured(value, reading_u_mm),
            });
        }
    }
    Ok(survey)
}

fn unit_mm(name: &str) -> Option<(String, f64)> {
    let name = name.trim().to_lowercase().replace([' ', '-'], "_");
    [("_mm", 1.0), ("_inch", MM_PER_INCH), ("_in", MM_PER_INCH), ("_thou", MM_PER_INCH / 1000.0)]
        .into_iter()
        .find_map(|(suffix, mm)| name.strip_suffix(suffix).map(|stem| (stem.to_owned(), mm)))
}

fn header(cells: &[&str]) -> Option<(f64, f64)> {
    let (position, position_mm) = unit_mm(cells.first()?)?;
    let (lost, lost_mm) = unit_mm(cells.get(1)?)?;
    (matches!(position.as_str(), "position" | "station")
        && matches!(lost.as_str(), "lost_motion" | "lost" | "backlash"))
    .then_some((position_mm, lost_mm))
}

fn number(cell: &str, line: usize) -> Result<f64, SurveyTextError> {
    cell.replace(',', ".")
        .parse::<f64>()
        .ok()
        .filter(|v| v.is_finite())
        .ok_or_else(|| SurveyTextError::Number { line, text: cell.to_owned() })
}

/// What a remark of a survey's text may set.
const SETTINGS: [&str; 5] =
    ["end_float", "new_nut_play", "acceptable", "adjusted_end_float", "reading_u"];

/// The setting that a remark begins with.
fn meant(remark: &str) -> Option<&'static str> {
    let remark = remark.trim().to_lowercase().replace([' ', '-'], "_");
    SETTINGS.into_iter().find(|name| remark.starts_with(name))
}

/// Sets what `name` says; whether it says anything.
fn setting(
    survey: &mut Survey,
    reading_u_mm: &mut f64,
    name: &str,
    value: &str,
    line: usize,
) -> Result<bool, SurveyTextError> {
    let Some((stem, mm)) = unit_mm(name) else { return Ok(false) };
    if !SETTINGS.contains(&stem.as_str()) {
        return Ok(false);
    }
    let mut parts = value.splitn(2, ['±']).flat_map(|p| p.splitn(2, "+-"));
    let first = number(parts.next().unwrap_or("").trim(), line)? * mm;
    let u = match parts.next() {
        Some(text) => number(text.trim(), line)? * mm,
        None => *reading_u_mm,
    };
    match stem.as_str() {
        "end_float" => survey.end_float_mm = Some(Quantity::measured(first, u)),
        "new_nut_play" => survey.new_nut_play_mm = Quantity::entered(first, u),
        "acceptable" => survey.acceptable_mm = first,
        "adjusted_end_float" => survey.adjusted_end_float_mm = first,
        _ => *reading_u_mm = first.abs(),
    }
    Ok(true)
}
