//! The data files, read once.

use crate::family::{Family, Form, Size, System};
use serde::Deserialize;
use std::sync::OnceLock;
use thiserror::Error;

/// Millimetres in an inch.
const MM_PER_INCH: f64 = form::units::MM_PER_INCH;

/// Why the built-in data could not be read. Cannot happen in a build whose tests passed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum DataError {
    /// `families.toml` does not parse.
    #[error("families.toml: {0}")]
    Families(String),
    /// A size series does not parse.
    #[error("{file}.csv: {problem}")]
    Series {
        /// Name of the series.
        file: String,
        /// What is wrong.
        problem: String,
    },
    /// A family refers to a form or series that is not there.
    #[error("family {family} refers to {kind} \"{name}\", which is not there")]
    Missing {
        /// Identifier of the family.
        family: String,
        /// `"form"` or `"series"`.
        kind: &'static str,
        /// The name that was not found.
        name: String,
    },
}

/// All forms and families.
#[derive(Debug)]
pub struct Catalogue {
    /// Basic profiles.
    pub forms: Vec<Form>,
    /// Series of sizes.
    pub families: Vec<Family>,
}

macro_rules! series {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../data/", $name, ".csv")))),*]
    };
}

/// Every size series with its file name.
const SERIES: &[(&str, &str)] = series![
    "acme",
    "ba",
    "brass",
    "bsc",
    "bsf",
    "bsw",
    "buttress",
    "din513",
    "iso228",
    "iso261_coarse",
    "iso261_fine",
    "iso7",
    "knuckle",
    "loewenherz",
    "model_engineer",
    "npt",
    "objective",
    "pg",
    "square",
    "stub_acme",
    "thury",
    "tr",
    "tr_stub",
    "un_constant",
    "unc",
    "unef",
    "unf",
];

#[derive(Deserialize)]
struct File {
    form: Vec<Form>,
    family: Vec<FamilyRow>,
}

#[derive(Deserialize)]
struct FamilyRow {
    #[serde(flatten)]
    family: Family,
    form: String,
    series: Option<String>,
    #[serde(default)]
    pitches_tpi: Vec<f64>,
    #[serde(default)]
    modules_mm: Vec<f64>,
}

#[derive(Deserialize)]
struct SizeRow {
    size: String,
    major_mm: Option<f64>,
    major_in: Option<f64>,
    pitch_mm: Option<f64>,
    tpi: Option<f64>,
    choice: u8,
    flag: String,
}

/// The catalogue, or why it cannot be had.
///
/// # Errors
/// [`DataError`] when a built-in file is damaged.
pub fn catalogue() -> Result<&'static Catalogue, &'static DataError> {
    static CATALOGUE: OnceLock<Result<Catalogue, DataError>> = OnceLock::new();
    CATALOGUE.get_or_init(load).as_ref()
}

/// All families; empty only if the built-in data were damaged.
#[must_use]
pub fn families() -> &'static [Family] {
    catalogue().map_or(&[], |c| c.families.as_slice())
}

/// All forms (basic profiles); empty only if the built-in data were damaged.
#[must_use]
pub fn forms() -> &'static [Form] {
    catalogue().map_or(&[], |c| c.forms.as_slice())
}

/// The family called `id`.
#[must_use]
pub fn family(id: &str) -> Option<&'static Family> {
    families().iter().find(|f| f.id == id)
}

fn load() -> Result<Catalogue, DataError> {
    let file: File = toml::from_str(include_str!("../data/families.toml"))
        .map_err(|e| DataError::Families(e.to_string()))?;
    let mut families = Vec::with_capacity(file.family.len());
    for row in file.family {
        let mut family = row.family;
        let missing = |kind, name: &str| DataError::Missing {
            family: family.id.clone(),
            kind,
            name: name.to_owned(),
        };
        let form = file.form.iter().find(|f| f.id == row.form);
        let form = form.ok_or_else(|| missing("form", &row.form))?.clone();
        let sizes = match &row.series {
            None => Vec::new(),
            Some(name) => {
                let text = SERIES.iter().find(|(n, _)| n == name).map(|(_, text)| *text);
                read_series(name, text.ok_or_else(|| missing("series", name))?)?
            }
        };
        let mut pitches_mm: Vec<f64> = sizes.iter().map(|s| s.pitch_mm).collect();
        pitches_mm.extend(row.pitches_tpi.iter().map(|tpi| MM_PER_INCH / tpi));
        pitches_mm.extend(row.modules_mm.iter().map(|m| m * std::f64::consts::PI));
        pitches_mm.sort_by(f64::total_cmp);
        pitches_mm.dedup_by(|a, b| (*a - *b).abs() < 1e-9 * *b);
        family.form = form;
        family.sizes = sizes;
        family.pitches_mm = pitches_mm;
        families.push(family);
    }
    Ok(Catalogue { forms: file.form, families })
}

fn read_series(file: &str, text: &str) -> Result<Vec<Size>, DataError> {
    let bad = |problem: String| DataError::Series { file: file.to_owned(), problem };
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let mut sizes = Vec::new();
    for row in reader.deserialize::<SizeRow>() {
        let row = row.map_err(|e| bad(e.to_string()))?;
        let major_mm = row.major_mm.or(row.major_in.map(|d| d * MM_PER_INCH));
        let pitch_mm = row.pitch_mm.or(row.tpi.map(|n| MM_PER_INCH / n));
        let (Some(major_mm), Some(pitch_mm)) = (major_mm, pitch_mm) else {
            return Err(bad(format!("size {} lacks a diameter or a pitch", row.size)));
        };
        sizes.push(Size {
            label: row.size,
            major_mm,
            pitch_mm,
            choice: row.choice,
            flag: row.flag,
        });
    }
    Ok(sizes)
}

impl System {
    /// Text for a person: `"metric"` or `"inch"`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Inch => "inch",
        }
    }
}
