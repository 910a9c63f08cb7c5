//! Rounding a measured form on request, and what that costs in play.
//!
//! A nut cut to rounded numbers goes on the real screw only when its groove is wider than the ridge
//! by what the rounding spoils: a pitch that differs adds its error over the length of the nut, a
//! flank that differs touches at one edge and gapes at the other. That width is axial play.

use crate::catalogue::family;
use crate::measured::{Feature, Measured};
use crate::rank::Candidate;
use form::{Section, SectionError, SectionNumbers};
use serde::{Deserialize, Serialize};
use thiserror::Error;

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;

/// What to make of a measured form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rounding {
    /// The numbers as they are.
    #[default]
    AsMeasured,
    /// The numbers of the nearest listed standard.
    NearestStandard,
    /// Pitch to 0.25 mm or a whole number of threads per inch, flanks to ½°.
    RoundNumbers,
}

/// A rounded form and its cost.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rounded {
    /// What was asked.
    pub rounding: Rounding,
    /// The rounded section; the depth and the ridge at the pitch line stay as measured unless a
    /// standard sets them.
    #[serde(skip)]
    pub section: Section,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Right flank, degrees.
    pub right_flank_deg: f64,
    /// Left flank, degrees.
    pub left_flank_deg: f64,
    /// Depth, mm.
    pub depth_mm: f64,
    /// Crest flat, mm.
    pub crest_flat_mm: f64,
    /// Nominal major diameter, mm, where one is known.
    pub major_diameter_mm: Option<f64>,
    /// Axial play from the pitch over the length of the nut, mm.
    pub play_from_pitch_mm: f64,
    /// Axial play from the flank angles over the depth, mm.
    pub play_from_flanks_mm: f64,
    /// Axial play because the standard's ridge is thicker than the measured one, mm; negative when
    /// the measured ridge is thicker and a nut to the standard would not go on.
    pub play_from_thickness_mm: f64,
    /// Play altogether, mm: what a nut cut to these numbers must have, and will have, on this screw.
    pub play_mm: f64,
    /// For people.
    pub text: String,
}

/// Why a form cannot be rounded.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RoundingError {
    /// A number that is needed is not known.
    #[error("the {0} is not known: measure it before rounding the form")]
    Missing(&'static str),
    /// No candidate to round to.
    #[error("no listed standard is near: round to round numbers, or keep the form as measured")]
    NoStandard,
    /// The length of the nut is not positive.
    #[error("nut length {0} mm is not a positive length")]
    NutLength(f64),
    /// The numbers do not make a section.
    #[error(transparent)]
    Section(#[from] SectionError),
}

/// Rounds the measured form; `nearest` is the candidate to round to, `nut_length_mm` the length over
/// which a pitch error adds up.
///
/// # Errors
/// [`RoundingError`] when numbers are missing or do not make a section.
pub fn rounded(
    measured: &Measured,
    rounding: Rounding,
    nearest: Option<&Candidate>,
    nut_length_mm: f64,
) -> Result<Rounded, RoundingError> {
    if !(nut_length_mm.is_finite() && nut_length_mm > 0.0) {
        return Err(RoundingError::NutLength(nut_length_mm));
    }
    let real = real_section(measured)?;
    let mut numbers = real.numbers();
    let mut major_mm = measured.major_diameter_mm.map(|q| q.value);
    let mut thickness_mm = 0.0;
    let name = match rounding {
        Rounding::AsMeasured => "as measured".to_owned(),
        Rounding::RoundNumbers => {
            let half_degree = |rad: f64| ((2.0 * rad.to_degrees()).round() / 2.0).to_radians();
            numbers.pitch_mm = round_pitch_mm(numbers.pitch_mm);
            numbers.right_flank_rad = half_degree(numbers.right_flank_rad);
            numbers.left_flank_rad = half_degree(numbers.left_flank_rad);
            // The ridge keeps its thickness half-way down, where the flanks turn about.
            numbers.crest_flat_mm = keep_middle(&real, &numbers);
            major_mm = major_mm.map(|d| (10.0 * d).round() / 10.0);
            "round numbers".to_owned()
        }
        Rounding::NearestStandard => {
            let candidate = nearest.ok_or(RoundingError::NoStandard)?;
            let section = candidate.section.ok_or(RoundingError::NoStandard)?;
            numbers = section.numbers();
            major_mm = candidate.major_diameter_mm.or(major_mm);
            // Compare ridges at the same radius, half-way down the standard's flank.
            let line_mm = family(candidate.family_id).map_or(0.25, |f| f.form.pitch_line)
                * candidate.pitch_mm;
            let lower_mm = match (candidate.major_diameter_mm, measured.major_diameter_mm) {
                (Some(d), Some(real_d)) => 0.5 * (real_d.value - d),
                _ => 0.0,
            };
            thickness_mm =
                section.ridge_thickness_mm(line_mm) - real.ridge_thickness_mm(line_mm + lower_mm);
            candidate.designation.clone()
        }
    };
    let section = fitting_section(numbers)?;
    let pitch_cost = nut_length_mm * (numbers.pitch_mm / real.pitch_mm() - 1.0).abs();
    let engaged_mm = real.depth_mm().min(section.depth_mm());
    let flank = |a: f64, b: f64| engaged_mm * (a.tan() - b.tan()).abs();
    let flank_cost = flank(section.right_flank_rad(), real.right_flank_rad())
        + flank(section.left_flank_rad(), real.left_flank_rad());
    // A thicker standard ridge already gives the groove room for the other errors.
    let play_mm = (pitch_cost + flank_cost).max(thickness_mm);
    let mut text = if rounding == Rounding::AsMeasured {
        "as measured: no play beyond what the nut is given".to_owned()
    } else {
        format!(
            "{name}: costs {play_mm:.3} mm of axial play over a nut of {nut_length_mm:.1} mm \
             ({pitch_cost:.3} mm from the pitch, {flank_cost:.3} mm from the flanks)"
        )
    };
    if thickness_mm < -0.005 {
        text.push_str(&format!(
            "; the measured ridge is {:.3} mm thicker than the standard's: a nut to the standard \
             will not go on",
            -thickness_mm
        ));
    } else if thickness_mm > 0.005 {
        text.push_str(&format!("; the measured ridge is {thickness_mm:.3} mm thinner"));
    }
    Ok(Rounded {
        rounding,
        pitch_mm: section.pitch_mm(),
        right_flank_deg: section.right_flank_rad().to_degrees(),
        left_flank_deg: section.left_flank_rad().to_degrees(),
        depth_mm: section.depth_mm(),
        crest_flat_mm: section.crest_flat_mm(),
        major_diameter_mm: major_mm,
        play_from_pitch_mm: pitch_cost,
        play_from_flanks_mm: flank_cost,
        play_from_thickness_mm: thickness_mm,
        play_mm,
        section,
        text,
    })
}

/// The nearer of a multiple of 0.25 mm and a whole number of threads per inch.
#[must_use]
pub fn round_pitch_mm(pitch_mm: f64) -> f64 {
    let metric = (pitch_mm / 0.25).round().max(1.0) * 0.25;
    let inch = MM_PER_INCH / (MM_PER_INCH / pitch_mm).round().max(1.0);
    if (metric - pitch_mm).abs() <= (inch - pitch_mm).abs() { metric } else { inch }
}

fn keep_middle(real: &Section, numbers: &SectionNumbers) -> f64 {
    let middle = 0.5 * real.depth_mm();
    let slope = numbers.right_flank_rad.tan() + numbers.left_flank_rad.tan();
    (real.ridge_thickness_mm(middle) - middle * slope).max(0.0)
}

/// Radii that no longer fit are cut to what fits.
fn fitting_section(mut numbers: SectionNumbers) -> Result<Section, SectionError> {
    let sharp =
        Section::new(SectionNumbers { crest_radius_mm: 0.0, root_radius_mm: 0.0, ..numbers })?;
    numbers.crest_radius_mm =
        numbers.crest_radius_mm.min(sharp.largest_radius_mm(sharp.crest_flat_mm()));
    numbers.root_radius_mm =
        numbers.root_radius_mm.min(sharp.largest_radius_mm(sharp.root_flat_mm()));
    Section::new(numbers)
}

/// The measured section; needs pitch, angle, and two of depth, crest flat and root flat.
fn real_section(measured: &Measured) -> Result<Section, RoundingError> {
    let readings = measured.readings();
    let value = |f: Feature| readings.iter().find(|r| r.feature == f).map(|r| r.value);
    let pitch_mm = value(Feature::Pitch).ok_or(RoundingError::Missing("pitch"))?;
    let (right_deg, left_deg) = match (
        value(Feature::RightFlank),
        value(Feature::LeftFlank),
        value(Feature::IncludedAngle),
    ) {
        (Some(r), Some(l), _) => (r, l),
        (_, _, Some(both)) => (0.5 * both, 0.5 * both),
        _ => return Err(RoundingError::Missing("flank angle")),
    };
    let slope = right_deg.to_radians().tan() + left_deg.to_radians().tan();
    let depth = value(Feature::Depth);
    let crest = value(Feature::CrestFlat);
    let root = value(Feature::RootFlat);
    let (depth_mm, crest_mm) = match (depth, crest, root) {
        (Some(d), Some(c), _) => (d, c),
        (Some(d), None, Some(r)) => (d, pitch_mm - r - d * slope),
        (None, Some(c), Some(r)) if slope > 0.02 => ((pitch_mm - c - r) / slope, c),
        (None, _, _) => return Err(RoundingError::Missing("depth")),
        (Some(_), None, None) => return Err(RoundingError::Missing("crest flat")),
    };
    Ok(fitting_section(SectionNumbers {
        pitch_mm,
        depth_mm,
        right_flank_rad: right_deg.to_radians(),
        left_flank_rad: left_deg.to_radians(),
        crest_flat_mm: crest_mm,
        crest_radius_mm: value(Feature::CrestRadius).unwrap_or(0.0).max(0.0),
        root_radius_mm: value(Feature::RootRadius).unwrap_or(0.0).max(0.0),
    })?)
}
