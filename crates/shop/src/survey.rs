//! Where the lost motion comes from: thrust, nut or screw.
//!
//! Lost motion at a station = end-float of the thrust + clearance of the nut on an unworn ridge +
//! what the screw has lost there. The least-worn station shows the nut; what the others add is the
//! screw. A screw worn everywhere hides part of its wear in the nut's share, and the result says so.

use crate::notice::Notice;
use form::{Length, Quantity, Said, Sentence, mm, mm_short, mm_with_u, outside, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Used when nobody said how well the readings repeat, mm (a dial of 0.01 mm, common practice).
pub const READING_U_MM: f64 = 0.01;
/// Above this the thrust is worth adjusting first, mm (common practice: adjusted slides 0.04–0.08).
const THRUST_WORTH_MM: f64 = 0.05;

/// Why a survey cannot be evaluated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SurveyError {
    /// Too few stations.
    TooFew(usize),
    /// Something out of limits.
    Limits {
        /// What.
        what: &'static str,
        /// Value, mm.
        value_mm: f64,
        /// Least, mm.
        least_mm: f64,
        /// Most, mm.
        most_mm: f64,
    },
    /// Two stations at one place that contradict each other.
    FloatExceedsLoss {
        /// End-float, mm.
        end_float_mm: f64,
        /// Lost motion, mm.
        lost_mm: f64,
        /// Station, mm.
        position_mm: f64,
    },
}

impl Said for SurveyError {
    fn said(&self) -> Sentence {
        match self {
            Self::TooFew(it) => sentence!(
                "stations so far: {}; take the lost motion at 3 at least, at 5 or more to see the wear of the screw",
                *it
            ),
            Self::Limits { what, value_mm, least_mm, most_mm } => {
                outside(what, [*value_mm, *least_mm, *most_mm].map(|v| mm(v, 4)))
            }
            Self::FloatExceedsLoss { end_float_mm, lost_mm, position_mm } => sentence!(
                "end-float {} exceeds the lost motion {} at station {}: one of the two is misread",
                mm(*end_float_mm, 3),
                mm(*lost_mm, 3),
                mm_short(*position_mm, 1)
            ),
        }
    }
}

form::said_by_display!(SurveyError);

/// Lost motion at one station.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Along the travel, mm.
    pub position_mm: f64,
    /// Lost motion of the slide when the handle reverses, end-float included, mm.
    pub lost_motion_mm: Quantity,
}

/// What was found at the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Survey {
    /// Stations in any order; repeated positions are averaged.
    pub readings: Vec<Reading>,
    /// End-float of the screw in its thrust, measured apart, mm; `None`: not measured.
    pub end_float_mm: Option<Quantity>,
    /// Axial play the new nut is designed for on an unworn ridge, mm.
    pub new_nut_play_mm: Quantity,
    /// End-float that adjusting the thrust can reach, mm.
    pub adjusted_end_float_mm: f64,
    /// Lost motion that would be put up with, mm.
    pub acceptable_mm: f64,
}

impl Survey {
    /// A survey with the usual aims (common practice): a nut of 0.08 mm, thrust adjusted to 0.02 mm,
    /// and 0.13 mm of lost motion, the most of a new slide, put up with.
    #[must_use]
    pub fn new(readings: Vec<Reading>, end_float_mm: Option<Quantity>) -> Self {
        Self {
            readings,
            end_float_mm,
            new_nut_play_mm: Quantity::assumed(0.08, 0.015),
            adjusted_end_float_mm: 0.02,
            acceptable_mm: 0.13,
        }
    }
}

/// One station, split.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Station {
    /// Along the travel, mm.
    pub position_mm: f64,
    /// As measured, mm.
    pub lost_motion_mm: Quantity,
    /// Thrust's share, mm; infinitely uncertain when the end-float was not measured.
    pub thrust_mm: Quantity,
    /// Nut's share, mm: clearance on the least-worn ridge.
    pub nut_mm: Quantity,
    /// Screw's share, mm: wear beyond the least-worn station.
    pub screw_mm: Quantity,
    /// Forecast with the thrust adjusted and the nut left, mm.
    pub with_thrust_adjusted_mm: Quantity,
    /// Forecast with a new nut alone, mm.
    pub with_new_nut_mm: Quantity,
    /// Forecast with a new nut and the thrust adjusted, mm.
    pub with_both_mm: Quantity,
}

/// What to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Nothing: within what is put up with.
    LeaveIt,
    /// Adjust the thrust; that alone is enough.
    AdjustThrust,
    /// A new nut (and the thrust, where it has end-float worth taking out).
    NewNut,
    /// A new nut will not be enough: the screw too.
    ScrewToo,
    /// The readings do not tell.
    CannotTell,
}

/// The evaluated survey.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Findings {
    /// By position.
    pub stations: Vec<Station>,
    /// End-float, mm.
    pub thrust_mm: Quantity,
    /// Nut's share, mm.
    pub nut_mm: Quantity,
    /// Greatest share of the screw, mm.
    pub most_screw_mm: Quantity,
    /// Where that is, mm.
    pub most_screw_at_mm: f64,
    /// Where the screw is least worn, mm.
    pub least_worn_at_mm: f64,
    /// Greatest lost motion now, mm.
    pub worst_now_mm: Quantity,
    /// Greatest lost motion with a new nut alone, mm.
    pub worst_with_new_nut_mm: Quantity,
    /// Greatest with a new nut and the thrust adjusted, mm.
    pub worst_with_both_mm: Quantity,
    /// Lost motion that is put up with, mm.
    #[serde(default)]
    pub acceptable_mm: f64,
    /// End-float that is taken to remain once the thrust is adjusted, mm.
    #[serde(default)]
    pub remaining_end_float_mm: f64,
    /// What to do.
    pub verdict: Verdict,
    /// Probability that the lost motion is within what is put up with after what the verdict says is
    /// done (or, for a new nut that does not suffice or that nothing tells of, with a new nut and the
    /// thrust adjusted); `None` where nothing is to be done.
    #[serde(default)]
    pub chance_enough: Option<f64>,
    /// Why, one sentence each.
    pub reasons: Vec<Sentence>,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
}

/// Splits the lost motion and forecasts what each remedy would leave.
///
/// # Errors
/// [`SurveyError`] names the number and its limits.
pub fn evaluate_survey(survey: &Survey) -> Result<Findings, SurveyError> {
    let readings = merged(survey)?;
    let mut notices = Vec::new();
    let known = survey.end_float_mm.is_some();
    let thrust = survey.end_float_mm.unwrap_or_else(|| {
        notices.push(Notice::new(
            "end-float-not-measured",
            "the end-float was not measured: thrust and nut cannot be told apart; press the screw to and fro and read it with a dial gauge",
        ));
        Quantity::assumed(0.0, f64::INFINITY)
    });
    let least = least_worn(&readings);
    let nut = if known {
        let u = least.lost_motion_mm.u.hypot(thrust.u);
        let value = least.lost_motion_mm.value - thrust.value;
        if value < -2.0 * u {
            return Err(SurveyError::FloatExceedsLoss {
                end_float_mm: thrust.value,
                lost_mm: least.lost_motion_mm.value,
                position_mm: least.position_mm,
            });
        }
        Quantity::derived(value.max(0.0), u)
    } else {
        Quantity::derived(least.lost_motion_mm.value, f64::INFINITY)
    };
    let stations: Vec<Station> =
        readings.iter().map(|r| split(survey, r, least, thrust, nut, known)).collect();
    let greatest = |of: &dyn Fn(&Station) -> Quantity| {
        stations.iter().map(of).fold(Quantity::derived(f64::NEG_INFINITY, 0.0), |a, b| {
            if b.value > a.value { b } else { a }
        })
    };
    let worst_screw = stations
        .iter()
        .fold(stations[0], |a, b| if b.screw_mm.value > a.screw_mm.value { *b } else { a });
    let mut findings = Findings {
        thrust_mm: thrust,
        nut_mm: nut,
        most_screw_mm: worst_screw.screw_mm,
        most_screw_at_mm: worst_screw.position_mm,
        least_worn_at_mm: least.position_mm,
        worst_now_mm: greatest(&|s| s.lost_motion_mm),
        worst_with_new_nut_mm: greatest(&|s| s.with_new_nut_mm),
        worst_with_both_mm: greatest(&|s| s.with_both_mm),
        acceptable_mm: survey.acceptable_mm,
        remaining_end_float_mm: remaining_mm(survey, thrust, known),
        verdict: Verdict::CannotTell,
        chance_enough: None,
        reasons: Vec::new(),
        notices,
        stations,
    };
    decide(survey, &mut findings, known);
    if findings.stations.len() < 5 {
        findings.notices.push(Notice::new(
            "few-stations",
            format!("{} stations show little of the screw's wear: take five or more, both ends among them", findings.stations.len()),
        ));
    }
    findings.notices.push(Notice::new(
        "least-worn-is-not-unworn",
        sentence!(
            "the station at {} is taken as unworn; whatever the screw has lost even there counts as the nut's",
            mm_short(findings.least_worn_at_mm, 1)
        ),
    ));
    Ok(findings)
}

/// Readings by position, repeated positions averaged.
fn merged(survey: &Survey) -> Result<Vec<Reading>, SurveyError> {
    let limits = |what, value_mm: f64, least_mm: f64, most_mm: f64| {
        if (least_mm..=most_mm).contains(&value_mm) {
            Ok(())
        } else {
            Err(SurveyError::Limits { what, value_mm, least_mm, most_mm })
        }
    };
    for r in &survey.readings {
        limits("position", r.position_mm, -1e5, 1e5)?;
        limits("lost motion", r.lost_motion_mm.value, 0.0, 50.0)?;
    }
    limits("end-float", survey.end_float_mm.map_or(0.0, |q| q.value), 0.0, 50.0)?;
    limits("play of the new nut", survey.new_nut_play_mm.value, 0.0, 2.0)?;
    limits("adjusted end-float", survey.adjusted_end_float_mm, 0.0, 1.0)?;
    limits("acceptable lost motion", survey.acceptable_mm, 0.0, 50.0)?;
    let mut sorted = survey.readings.clone();
    sorted.sort_by(|a, b| a.position_mm.total_cmp(&b.position_mm));
    let mut out: Vec<Reading> = Vec::new();
    let mut group: Vec<Reading> = Vec::new();
    for r in sorted {
        if group.first().is_some_and(|g| (g.position_mm - r.position_mm).abs() > 1e-6) {
            out.extend(mean_reading(&group));
            group.clear();
        }
        group.push(r);
    }
    out.extend(mean_reading(&group));
    if out.len() < 3 {
        return Err(SurveyError::TooFew(out.len()));
    }
    Ok(out)
}

fn mean_reading(group: &[Reading]) -> Option<Reading> {
    let first = group.first()?;
    let n = group.len() as f64;
    let value = group.iter().map(|r| r.lost_motion_mm.value).sum::<f64>() / n;
    let stated = group.iter().map(|r| r.lost_motion_mm.u.powi(2)).sum::<f64>().sqrt() / n;
    // The scatter of the repeats, when it says more than what was stated.
    let scatter = if group.len() > 1 {
        let ss = group.iter().map(|r| (r.lost_motion_mm.value - value).powi(2)).sum::<f64>();
        (ss / (n - 1.0) / n).sqrt()
    } else {
        0.0
    };
    Some(Reading {
        position_mm: first.position_mm,
        lost_motion_mm: Quantity::new(value, stated.max(scatter), first.lost_motion_mm.source),
    })
}

fn least_worn(readings: &[Reading]) -> Reading {
    readings.iter().fold(readings[0], |a, b| {
        if b.lost_motion_mm.value < a.lost_motion_mm.value { *b } else { a }
    })
}

fn split(
    survey: &Survey,
    r: &Reading,
    least: Reading,
    thrust: Quantity,
    nut: Quantity,
    known: bool,
) -> Station {
    let lost = r.lost_motion_mm;
    let at_least = (r.position_mm - least.position_mm).abs() < 1e-9;
    let screw = if at_least {
        Quantity::derived(0.0, lost.u)
    } else {
        Quantity::derived(
            lost.value - least.lost_motion_mm.value,
            lost.u.hypot(least.lost_motion_mm.u),
        )
    };
    let new_nut = survey.new_nut_play_mm;
    let adjusted = remaining_mm(survey, thrust, known);
    // A new nut's own play does not depend on the old thrust, so this part needs no measured end-float.
    let after = Quantity::derived(adjusted, 0.01);
    let adjusted_u = if known { 0.01 } else { f64::INFINITY };
    let sum = |parts: [Quantity; 3]| {
        Quantity::derived(
            parts.iter().map(|q| q.value).sum(),
            parts.iter().map(|q| q.u.powi(2)).sum::<f64>().sqrt(),
        )
    };
    let adjusted = Quantity::derived(adjusted, adjusted_u);
    Station {
        position_mm: r.position_mm,
        lost_motion_mm: lost,
        thrust_mm: thrust,
        nut_mm: nut,
        screw_mm: screw,
        with_thrust_adjusted_mm: sum([adjusted, nut, screw]),
        with_new_nut_mm: sum([thrust, new_nut, screw]),
        with_both_mm: sum([after, new_nut, screw]),
    }
}

/// End-float that is left once the thrust is adjusted, mm: never more than there is.
fn remaining_mm(survey: &Survey, thrust: Quantity, known: bool) -> f64 {
    if known {
        thrust.value.min(survey.adjusted_end_float_mm)
    } else {
        survey.adjusted_end_float_mm
    }
}

/// Probability that a forecast is no more than `aim_mm`, its error taken as normal.
fn chance_within(q: Quantity, aim_mm: f64) -> f64 {
    if q.u > 0.0 && q.u.is_finite() {
        normal_cdf((aim_mm - q.value) / q.u)
    } else {
        f64::from(u8::from(q.value <= aim_mm))
    }
}

/// Distribution function of the standard normal (Abramowitz and Stegun 26.2.17, |error| < 8e-8).
fn normal_cdf(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let poly = t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let density = (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let tail = density * poly;
    if z >= 0.0 { 1.0 - tail } else { tail }
}

/// A probability in words: whole per cents, never a certainty.
#[must_use]
pub fn in_per_cent(p: f64) -> String {
    match (100.0 * p).round() {
        n if n < 1.0 => "less than 1 %".to_owned(),
        n if n > 99.0 => "more than 99 %".to_owned(),
        n => format!("{n:.0} %"),
    }
}

/// A share as the tables have it: one number for one thing.
fn as_listed(q: Quantity) -> Length {
    mm_with_u(q, 4)
}

fn decide(survey: &Survey, f: &mut Findings, known: bool) {
    let aim = survey.acceptable_mm;
    let mut say = |text: Sentence| f.reasons.push(text);
    say(sentence!(
        "lost motion now: {} at worst, {} would be put up with",
        as_listed(f.worst_now_mm),
        mm(aim, 2)
    ));
    // "Surely" means by two standard uncertainties.
    let surely_below = |q: Quantity| q.value + 2.0 * q.u <= aim;
    let surely_above = |q: Quantity| q.value - 2.0 * q.u > aim;
    if surely_below(f.worst_now_mm) {
        say("that is within what is put up with: nothing needs doing".into());
        f.verdict = Verdict::LeaveIt;
        return;
    }
    say(sentence!(
        "the screw adds up to {}, at {}",
        as_listed(f.most_screw_mm),
        mm_short(f.most_screw_at_mm, 1)
    ));
    if known {
        say(sentence!(
            "the thrust has {} of end-float, the nut {} of clearance on the least-worn stretch",
            as_listed(f.thrust_mm),
            as_listed(f.nut_mm)
        ));
        let with_thrust = f
            .stations
            .iter()
            .map(|s| s.with_thrust_adjusted_mm)
            .fold(Quantity::derived(0.0, 0.0), |a, b| if b.value > a.value { b } else { a });
        if f.thrust_mm.value - 2.0 * f.thrust_mm.u > survey.adjusted_end_float_mm
            && with_thrust.value <= aim
        {
            let chance = chance_within(with_thrust, aim);
            say(sentence!(
                "adjusting the thrust alone, down to {}, would leave {} at worst: within the {} with a chance of {}",
                mm(f.remaining_end_float_mm, 2),
                as_listed(with_thrust),
                mm(aim, 2),
                in_per_cent(chance)
            ));
            f.chance_enough = Some(chance);
            f.verdict = Verdict::AdjustThrust;
            return;
        }
    }
    let both = f.worst_with_both_mm;
    let chance = chance_within(both, aim);
    say(sentence!(
        "a new nut with {} of play, thrust adjusted so that {} of end-float remains, would leave {} at worst: within the {} with a chance of {}",
        mm(survey.new_nut_play_mm.value, 2),
        mm(f.remaining_end_float_mm, 2),
        as_listed(both),
        mm(aim, 2),
        in_per_cent(chance)
    ));
    f.chance_enough = Some(chance);
    if surely_above(both) {
        say("that is still too much: the screw's own wear is what is left".into());
        f.verdict = Verdict::ScrewToo;
    } else if both.value >= f.worst_now_mm.value {
        // Whoever is to blame, this nut does not mend it.
        say("that is no better than now: a nut made for less play might be, this one is not worth making".into());
        f.chance_enough = None;
        f.verdict = Verdict::LeaveIt;
    } else if !known {
        say("whether thrust or nut is to blame cannot be told without the end-float".into());
        f.verdict = Verdict::CannotTell;
    } else if both.value > aim {
        say(sentence!(
            "that is above the aim by less than its uncertainty of {}: measure again before cutting a screw",
            mm(2.0 * both.u, 2)
        ));
        f.verdict = Verdict::CannotTell;
    } else {
        if f.thrust_mm.value > THRUST_WORTH_MM {
            say(sentence!(
                "adjust the thrust as well, its {} stay otherwise",
                as_listed(f.thrust_mm)
            ));
        }
        f.verdict = Verdict::NewNut;
    }
}
