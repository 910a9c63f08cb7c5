//! Rounding a measured form on request, and what that costs in play.
//!
//! A nut cut to rounded numbers goes on the real screw only when its groove is wider than the ridge
//! by what the rounding spoils: a pitch that differs adds its error over the length of the nut, a
//! flank that differs touches at one edge and gapes at the other. That width is axial play.
//!
//! What is too far away to be a rounding is refused, with the number and its limits: a pitch more than
//! 2 % off, a flank more than 2°, a depth more than 0.15 P, a crest more than 0.05 P above the
//! standard's or 0.25 P under it, a cost of more than P / 8; each widened by twice the uncertainty of
//! the measurement. The limits are empirical.

use crate::catalogue::family;
use crate::measured::{Feature, Measured, Reading};
use crate::rank::Candidate;
use form::{
    Length, Part, Quantity, Said, Section, SectionError, SectionNumbers, Sentence, mm, mm_as_given,
    mm_short, mm_with_u, sentence,
};
use serde::{Deserialize, Serialize};
use thiserror::Error;

const MM_PER_INCH: f64 = form::units::MM_PER_INCH;

/// Limits of a rounding, see the module's text: pitch relative, flanks in degrees, the rest as parts of
/// the pitch.
const MOST_PITCH: f64 = 0.02;
const MOST_FLANK_DEG: f64 = 2.0;
const MOST_DEPTH_P: f64 = 0.15;
/// The standard's major diameter less the measured one.
const CREST_P: (f64, f64) = (-0.05, 0.25);
const MOST_PLAY_P: f64 = 0.125;
/// Limits are widened by so many standard uncertainties.
const WIDENED_U: f64 = 2.0;

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
    /// Play altogether, mm: by how much wider than the ridge the groove of a nut cut to these numbers
    /// must be to go on this screw. Its flanks then bear at their ends only.
    pub play_mm: f64,
    /// Its standard uncertainty, from those of the measured numbers, mm.
    pub play_u_mm: f64,
    /// Length of the nut over which a pitch error adds up, mm.
    pub nut_length_mm: f64,
    /// Numbers that were not measured and were taken from the standard, or as what is usual.
    pub assumed: Vec<&'static str>,
    /// For people.
    pub text: Sentence,
}

/// Why a form cannot be rounded.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RoundingError {
    /// A number that is needed is not known.
    Missing(&'static str),
    /// A number is too far from that of the rounded form.
    TooFar {
        /// The standard, or "round numbers".
        to: String,
        /// Which number; the following are in its unit.
        what: Feature,
        /// What was measured.
        measured: f64,
        /// What the rounded form has.
        rounded: f64,
        /// Least value of the rounded form that would do.
        least: f64,
        /// Greatest value that would do.
        most: f64,
    },
    /// The rounding costs more play than a nut can have.
    TooMuchPlay {
        /// The standard, or "round numbers".
        to: String,
        /// What it would cost, mm, with its uncertainty.
        play_mm: Quantity,
        /// Length of the nut, mm.
        nut_length_mm: f64,
        /// Most that is allowed, mm.
        most_mm: f64,
    },
    /// No candidate to round to.
    NoStandard,
    /// The length of the nut is not positive.
    NutLength(f64),
    /// The numbers do not make a section.
    Section(#[from] SectionError),
}

impl Said for RoundingError {
    fn said(&self) -> Sentence {
        match self {
            Self::Missing(it) => {
                sentence!("the {} is not known: measure it before rounding the form", *it)
            }
            Self::TooFar { to, what, measured, rounded, least, most } => {
                let number = |value: &f64| with_unit(*what, *value);
                sentence!(
                    "{} is too far away to round to: its {} is {}, this thread's is {}, and {} to \
                     {} would do. Keep the form as measured, or choose another rounding",
                    to,
                    what.word(),
                    number(rounded),
                    number(measured),
                    number(least),
                    number(most)
                )
            }
            Self::TooMuchPlay { to, play_mm, nut_length_mm, most_mm } => sentence!(
                "{} would cost {} of axial play over a nut of {}; more than \
                 {}, an eighth of the pitch, is no rounding. Keep the form as measured, or make \
                 the nut shorter",
                to,
                shown(*play_mm),
                mm(*nut_length_mm, 1),
                mm_short(*most_mm, 3)
            ),
            Self::NoStandard => sentence!(
                "no listed standard is near: round to round numbers, or keep the form as measured"
            ),
            Self::NutLength(it) => {
                sentence!("nut length {} is not a positive length", mm_as_given(*it))
            }
            Self::Section(e) => e.said(),
        }
    }
}

form::said_by_display!(RoundingError);

/// Rounds the measured form; `nearest` is the candidate to round to, `nut_length_mm` the length over
/// which a pitch error adds up. Depth and crest flat may be missing: those of the standard are then
/// taken, or what is usual, and it is said.
///
/// # Errors
/// [`RoundingError`] when pitch or angle is missing, the numbers do not make a section, or the rounded
/// form is too far from the measured one.
pub fn rounded(
    measured: &Measured,
    rounding: Rounding,
    nearest: Option<&Candidate>,
    nut_length_mm: f64,
) -> Result<Rounded, RoundingError> {
    if !(nut_length_mm.is_finite() && nut_length_mm > 0.0) {
        return Err(RoundingError::NutLength(nut_length_mm));
    }
    let standard = match (rounding, nearest) {
        (Rounding::NearestStandard, Some(candidate)) => Some(candidate),
        (Rounding::NearestStandard, None) => return Err(RoundingError::NoStandard),
        _ => None,
    };
    let Real { section: real, readings, assumed } = Real::of(measured, standard)?;
    let u = |f: Feature| readings.iter().find(|r| r.feature == f).map_or(0.0, |r| r.u);
    let mut numbers = real.numbers();
    let mut major_mm = measured.major_diameter_mm.map(|q| q.value);
    let mut thickness_mm = 0.0;
    let to = match (rounding, standard) {
        (_, Some(candidate)) => {
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
            if !assumed.contains(&CREST) {
                thickness_mm = section.ridge_thickness_mm(line_mm)
                    - real.ridge_thickness_mm(line_mm + lower_mm);
            }
            candidate.designation.clone()
        }
        (Rounding::RoundNumbers, None) => {
            let half_degree = |rad: f64| ((2.0 * rad.to_degrees()).round() / 2.0).to_radians();
            numbers.pitch_mm = round_pitch_mm(numbers.pitch_mm);
            numbers.right_flank_rad = half_degree(numbers.right_flank_rad);
            numbers.left_flank_rad = half_degree(numbers.left_flank_rad);
            // The ridge keeps its thickness half-way down, where the flanks turn about.
            numbers.crest_flat_mm = keep_middle(&real, &numbers);
            major_mm = major_mm.map(|d| (10.0 * d).round() / 10.0);
            "round numbers".to_owned()
        }
        _ => "as measured".to_owned(),
    };
    check_near(&to, &numbers, major_mm, &readings, &real)?;
    let section = fitting_section(numbers)?;
    let pitch_cost = nut_length_mm * (numbers.pitch_mm / real.pitch_mm() - 1.0).abs();
    let engaged_mm = real.depth_mm().min(section.depth_mm());
    let flank = |a: f64, b: f64| engaged_mm * (a.tan() - b.tan()).abs();
    let flank_cost = flank(section.right_flank_rad(), real.right_flank_rad())
        + flank(section.left_flank_rad(), real.left_flank_rad());
    // A thicker standard ridge already gives the groove room for the other errors.
    let play_mm = (pitch_cost + flank_cost).max(thickness_mm);
    let u_pitch = nut_length_mm * u(Feature::Pitch) / real.pitch_mm();
    let per_deg = |rad: f64| engaged_mm * 1f64.to_radians() / rad.cos().powi(2);
    let per_side = (per_deg(real.right_flank_rad()), per_deg(real.left_flank_rad()));
    let u_flanks = if measured.flanks_apart() {
        (per_side.0 * u(Feature::RightFlank)).hypot(per_side.1 * u(Feature::LeftFlank))
    } else {
        0.5 * (per_side.0 + per_side.1) * u(Feature::IncludedAngle)
    };
    let slope = real.right_flank_rad().tan() + real.left_flank_rad().tan();
    let u_thickness = u(Feature::CrestFlat).hypot(0.5 * slope * u(Feature::MajorDiameter));
    let play_u_mm = match rounding {
        Rounding::AsMeasured => 0.0,
        _ if play_mm > pitch_cost + flank_cost => u_thickness,
        _ => u_pitch.hypot(u_flanks),
    };
    let most_mm = MOST_PLAY_P * real.pitch_mm();
    if play_mm > most_mm + WIDENED_U * play_u_mm {
        return Err(RoundingError::TooMuchPlay {
            to,
            play_mm: Quantity::derived(play_mm, play_u_mm),
            nut_length_mm,
            most_mm,
        });
    }
    let mut text = if rounding == Rounding::AsMeasured {
        Sentence::from("as measured: no play beyond what the nut is given")
    } else {
        let cost = mm_with_u(Quantity::derived(play_mm, play_u_mm), 3);
        let mut text = sentence!(
            "{}: costs {} of axial play over a nut of {}",
            to,
            cost,
            mm(nut_length_mm, 1)
        );
        // Of what is lost in its own doubt no parts are told.
        if play_mm > play_u_mm {
            text.push(sentence!(
                " ({} from the pitch, {} from the flanks)",
                shown(Quantity::derived(pitch_cost, u_pitch)),
                shown(Quantity::derived(flank_cost, u_flanks))
            ));
        }
        text
    };
    let thickness = shown(Quantity::derived(thickness_mm.abs(), u_thickness));
    if thickness_mm < -0.005 {
        text.push(sentence!(
            "; the measured ridge is {} thicker than the standard's: a nut to the \
             standard will not go on",
            thickness
        ));
    } else if thickness_mm > 0.005 {
        text.push(sentence!("; the measured ridge is {} thinner", thickness));
    }
    if rounding != Rounding::AsMeasured && !assumed.is_empty() {
        let whose = if standard.is_some() { "the standard's" } else { "what is usual" };
        text.push(sentence!("; {} not measured: {} taken", assumed.join(" and "), whose));
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
        play_u_mm,
        nut_length_mm,
        assumed,
        section,
        text,
    })
}

fn with_unit(what: Feature, value: f64) -> Part {
    what.said(value, if what.is_angle() { 2 } else { 3 })
}

/// A length to the digits its uncertainty leaves.
fn shown(length_mm: Quantity) -> Length {
    mm(length_mm.value, length_mm.decimals(3))
}

/// Whether every measured number of the rounded form is near enough to be called rounded.
fn check_near(
    to: &str,
    numbers: &SectionNumbers,
    major_mm: Option<f64>,
    readings: &[Reading],
    real: &Section,
) -> Result<(), RoundingError> {
    let p = real.pitch_mm();
    let flanks = (numbers.right_flank_rad.to_degrees(), numbers.left_flank_rad.to_degrees());
    let symmetric = |by: f64| (-by, by);
    for r in readings {
        let (rounded, (below, above)) = match r.feature {
            Feature::Pitch => (numbers.pitch_mm, symmetric(MOST_PITCH * p)),
            Feature::RightFlank => (flanks.0, symmetric(MOST_FLANK_DEG)),
            Feature::LeftFlank => (flanks.1, symmetric(MOST_FLANK_DEG)),
            Feature::IncludedAngle => (flanks.0 + flanks.1, symmetric(2.0 * MOST_FLANK_DEG)),
            Feature::Depth => (numbers.depth_mm, symmetric(MOST_DEPTH_P * p)),
            Feature::MajorDiameter => (major_mm.unwrap_or(r.value), (CREST_P.0 * p, CREST_P.1 * p)),
            _ => continue,
        };
        let (least, most) = (r.value + below - WIDENED_U * r.u, r.value + above + WIDENED_U * r.u);
        if !(least..=most).contains(&rounded) {
            return Err(RoundingError::TooFar {
                to: to.to_owned(),
                what: r.feature,
                measured: r.value,
                rounded,
                least,
                most,
            });
        }
    }
    Ok(())
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

/// Names of numbers that may be assumed.
const DEPTH: &str = "depth";
const CREST: &str = "crest flat";
/// Depth of a form nothing else is known of, as a part of the pitch (that of most power screws).
const USUAL_DEPTH_P: f64 = 0.5;
/// And no more than this part of the depth to which the flanks would meet.
const MOST_OF_SHARP: f64 = 0.75;

/// The measured section, with what had to be assumed for it.
struct Real {
    section: Section,
    readings: Vec<Reading>,
    assumed: Vec<&'static str>,
}

impl Real {
    /// Needs pitch and angle; two of depth, crest flat and root flat where the ridge is to be judged.
    fn of(measured: &Measured, standard: Option<&Candidate>) -> Result<Self, RoundingError> {
        let readings = measured.readings();
        let value = |f: Feature| readings.iter().find(|r| r.feature == f).map(|r| r.value);
        let pitch_mm = value(Feature::Pitch).ok_or(RoundingError::Missing("pitch"))?;
        let form = standard.and_then(|c| c.section);
        let (right_deg, left_deg) = match (
            value(Feature::RightFlank),
            value(Feature::LeftFlank),
            value(Feature::IncludedAngle),
        ) {
            (Some(r), Some(l), _) => (r, l),
            // One angle is shared out as the standard has it.
            (_, _, Some(both)) => {
                let part = form.map_or(0.5, |s| {
                    let (r, l) = (s.right_flank_rad(), s.left_flank_rad());
                    if r + l > 0.0 { r / (r + l) } else { 0.5 }
                });
                (part * both, (1.0 - part) * both)
            }
            _ => return Err(RoundingError::Missing("flank angle")),
        };
        let slope = right_deg.to_radians().tan() + left_deg.to_radians().tan();
        let mut assumed = Vec::new();
        let scaled = |of: fn(&Section) -> f64| form.map(|s| of(&s) * pitch_mm / s.pitch_mm());
        let crest = value(Feature::CrestFlat);
        let root = value(Feature::RootFlat);
        let depth_mm = match (value(Feature::Depth), crest, root) {
            (Some(d), _, _) => d,
            (None, Some(c), Some(r)) if slope > 0.02 => (pitch_mm - c - r) / slope,
            _ => {
                assumed.push(DEPTH);
                let sharp = MOST_OF_SHARP * pitch_mm / slope.max(1e-6);
                scaled(Section::depth_mm).unwrap_or(USUAL_DEPTH_P * pitch_mm).min(sharp)
            }
        };
        let crest_mm = match (crest, root) {
            (Some(c), _) => c,
            (None, Some(r)) => pitch_mm - r - depth_mm * slope,
            // Half the pitch half-way down.
            (None, None) => {
                assumed.push(CREST);
                let usual = (0.5 * (pitch_mm - depth_mm * slope)).max(0.0);
                scaled(Section::crest_flat_mm).unwrap_or(usual)
            }
        };
        // A crest that was assumed gives way to the flanks where both do not fit one pitch.
        let crest_mm = if assumed.contains(&CREST) {
            crest_mm.min((pitch_mm - depth_mm * slope).max(0.0))
        } else {
            crest_mm
        };
        let section = fitting_section(SectionNumbers {
            pitch_mm,
            depth_mm,
            right_flank_rad: right_deg.to_radians(),
            left_flank_rad: left_deg.to_radians(),
            crest_flat_mm: crest_mm,
            crest_radius_mm: value(Feature::CrestRadius).unwrap_or(0.0).max(0.0),
            root_radius_mm: value(Feature::RootRadius).unwrap_or(0.0).max(0.0),
        })?;
        Ok(Self { section, readings, assumed })
    }
}
