//! Which measurement, among those a workshop can make, would settle the most.

use crate::catalogue::family;
use crate::combine::learn;
use crate::family::{System, plain};
use crate::linear::normal;
use crate::measured::{Feature, Measured};
use crate::prior::round_pitches;
use crate::rank::{Candidate, Ranking};
use form::{Part, Quantity, Sentence, figure, mm, mm_doubt, sentence};
use serde::Serialize;

/// Candidates beyond these are too improbable to choose a measurement by.
const MOST_PREDICTED: usize = 25;

/// A way to measure that a workshop has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Means {
    /// Caliper over many threads.
    CaliperOverThreads,
    /// Travel of the slide over ten turns, by dials.
    TravelOverTurns,
    /// Micrometer over the crests.
    Micrometer,
    /// Three wires.
    OverWires,
    /// Depth of the groove or minor diameter by blade caliper.
    BladeCaliper,
    /// A picture from far away, or an optical comparator: flank angles.
    FarPicture,
    /// Crests under a loupe: flat or round.
    Loupe,
    /// Micrometer at two places: taper.
    TwoPlaces,
}

impl Means {
    /// How gladly it is done, relative: of two that tell about as much, the handier goes first
    /// (common practice).
    fn ease(self) -> f64 {
        match self {
            Self::CaliperOverThreads | Self::Micrometer => 1.0,
            Self::BladeCaliper | Self::TwoPlaces => 0.95,
            Self::TravelOverTurns | Self::Loupe => 0.9,
            Self::FarPicture => 0.8,
            Self::OverWires => 0.75,
        }
    }
}

/// What one reading would say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expected {
    /// The candidate.
    pub designation: String,
    /// The reading to expect if it is the one.
    pub reading: f64,
}

/// A measurement worth making.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Suggestion {
    /// How.
    pub means: Means,
    /// The number it bears on.
    pub feature: Feature,
    /// Reading = `scale` × the number (pitches spanned, turns).
    pub scale: f64,
    /// Standard uncertainty of the reading, in its unit.
    pub u: f64,
    /// Expected reduction of doubt, bits.
    pub gain_bits: f64,
    /// Doubt now: entropy of the odds, bits.
    pub doubt_bits: f64,
    /// Readings to expect, most probable candidate first.
    pub expected: Vec<Expected>,
    /// For people: what to do and which reading decides.
    pub text: Sentence,
}

impl Suggestion {
    /// Everything known after `reading` was taken, by least squares with what was known before.
    #[must_use]
    pub fn apply(&self, measured: &Measured, reading: f64) -> Measured {
        learn(measured, self.feature, Quantity::entered(reading / self.scale, self.u / self.scale))
    }
}

/// What a candidate predicts for a number before it is read: mean and spread.
#[derive(Debug, Clone, Copy)]
struct Prediction {
    probability: f64,
    mean: f64,
    sd: f64,
}

/// Measurements that would reduce the doubt, most worth while first; empty when there is none to speak
/// of.
#[must_use]
pub fn what_next(measured: &Measured, ranking: &Ranking) -> Vec<Suggestion> {
    let doubt_bits = entropy_bits(ranking);
    if doubt_bits < 0.02 {
        return Vec::new();
    }
    let pitch_mm = measured
        .pitch_mm
        .map(|q| q.value)
        .or_else(|| ranking.candidates.first().map(|c| c.pitch_mm))
        .unwrap_or(2.0);
    let major_mm = measured.major_diameter_mm.map_or(9.0 * pitch_mm, |q| q.value);
    let threads = (60.0f64.min(6.0 * major_mm) / pitch_mm).floor().clamp(5.0, 30.0);
    let ways = [
        (Means::CaliperOverThreads, Feature::Pitch, threads, CALIPER_U_MM),
        (Means::TravelOverTurns, Feature::Lead, 10.0, 0.03),
        (Means::Micrometer, Feature::MajorDiameter, 1.0, 0.01),
        (Means::OverWires, Feature::PitchDiameter, 1.0, 0.015),
        (Means::BladeCaliper, Feature::MinorDiameter, 1.0, 0.05),
        (Means::FarPicture, Feature::IncludedAngle, 1.0, 0.12),
        (Means::Loupe, Feature::CrestRadius, 1.0, 0.04 * pitch_mm),
        (Means::TwoPlaces, Feature::Taper, 1.0, 0.003),
    ];
    let mut suggestions: Vec<Suggestion> = ways
        .into_iter()
        .filter_map(|(means, feature, scale, u)| {
            let predictions = predictions(measured, ranking, feature, u / scale)?;
            let gain_bits = information_bits(&predictions, u / scale).min(doubt_bits);
            (gain_bits > 0.01).then(|| {
                let expected = expected(ranking, feature, scale);
                let text = describe(means, scale, u, &expected);
                Suggestion { means, feature, scale, u, gain_bits, doubt_bits, expected, text }
            })
        })
        .collect();
    let worth = |s: &Suggestion| s.gain_bits * s.means.ease();
    suggestions.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    settle_the_pitch(measured, threads, &mut suggestions);
    suggestions
}

/// A pitch that may be of either world is settled among the first two measurements, whatever else is in
/// doubt: a nut made to the wrong one does not go on at all.
fn settle_the_pitch(measured: &Measured, threads: f64, suggestions: &mut Vec<Suggestion>) {
    let about_pitch = |s: &Suggestion| matches!(s.feature, Feature::Pitch | Feature::Lead);
    if suggestions.iter().take(2).any(about_pitch) {
        return;
    }
    let Some(worlds) = measured.pitch_mm.and_then(both_worlds) else { return };
    let expected: Vec<Expected> = worlds
        .into_iter()
        .map(|(designation, pitch_mm)| Expected { designation, reading: threads * pitch_mm })
        .collect();
    let means = Means::CaliperOverThreads;
    let suggestion = match suggestions.iter().position(|s| s.means == means) {
        Some(at) => {
            let found = suggestions.remove(at);
            let text = describe(means, found.scale, found.u, &expected);
            Suggestion { expected, text, ..found }
        }
        None => {
            let text = describe(means, threads, CALIPER_U_MM, &expected);
            Suggestion {
                means,
                feature: Feature::Pitch,
                scale: threads,
                u: CALIPER_U_MM,
                gain_bits: 0.0,
                doubt_bits: suggestions.first().map_or(0.0, |s| s.doubt_bits),
                expected,
                text,
            }
        }
    };
    suggestions.insert(suggestions.len().min(1), suggestion);
}

/// The round metric pitch and the whole number of threads per inch nearest to a pitch, mm, where its
/// uncertainty leaves room for both and a caliper over many threads can tell them apart.
fn both_worlds(pitch_mm: Quantity) -> Option<[(String, f64); 2]> {
    let reach = 2.0 * pitch_mm.u.max(1e-3 * pitch_mm.value);
    let near = |system| {
        let away = |p: f64| (p - pitch_mm.value).abs();
        let pitches = round_pitches(system).iter().map(|(p, _)| *p);
        pitches.filter(|p| away(*p) <= reach).min_by(|a, b| away(*a).total_cmp(&away(*b)))
    };
    let (metric, inch) = (near(System::Metric)?, near(System::Inch)?);
    let name_metric = format!("{} mm", plain(metric, 3));
    let name_inch = format!("{} tpi", plain(form::units::MM_PER_INCH / inch, 3));
    ((metric / inch - 1.0).abs() > 2e-3).then_some([(name_metric, metric), (name_inch, inch)])
}

/// Standard uncertainty of a caliper over threads, mm (common practice).
const CALIPER_U_MM: f64 = 0.03;

/// Entropy of the odds, bits.
fn entropy_bits(ranking: &Ranking) -> f64 {
    ranking
        .candidates
        .iter()
        .map(|c| c.probability)
        .chain(std::iter::once(ranking.no_standard_probability))
        .filter(|p| *p > 1e-12)
        .map(|p| -p * p.log2())
        .sum()
}

/// The nominal number of a candidate and how far made threads spread about it.
fn nominal(candidate: &Candidate, feature: Feature) -> Option<(f64, f64)> {
    let family = family(candidate.family_id)?;
    let form = &family.form;
    let p = candidate.pitch_mm;
    let d = candidate.major_diameter_mm.map(|d| form.diameters(d, p));
    // Tolerances and light wear (empirical).
    Some(match feature {
        Feature::Pitch => (p, 3e-4 * p),
        Feature::Lead => {
            let lead = p * f64::from(candidate.starts);
            (lead, 3e-4 * lead)
        }
        Feature::IncludedAngle => (form.included_deg(), 1.5 * form.flank_sd_deg),
        Feature::MajorDiameter => (d?.major_mm - 0.03 * p, 0.03 * p + 0.03),
        Feature::PitchDiameter => (d?.pitch_mm - 0.04 * p, 0.04 * p + 0.03),
        Feature::MinorDiameter => {
            (d?.external_minor_mm - 0.03 * p, 0.04 * p + 0.03 + 2.0 * form.depth_sd * p)
        }
        Feature::CrestRadius => (form.crest_radius * p, 0.03 * p),
        Feature::Taper => (form.taper, 0.001),
        _ => return None,
    })
}

/// `None` when the number is already known better than the reading would tell.
fn predictions(
    measured: &Measured,
    ranking: &Ranking,
    feature: Feature,
    u: f64,
) -> Option<Vec<Prediction>> {
    let known = match feature {
        Feature::IncludedAngle => measured.included(),
        Feature::Lead => measured.lead_mm.filter(|_| !measured.lead_repeats_pitch()),
        other => measured.get(other),
    }
    .filter(|q| q.u > 0.0 && q.u.is_finite());
    if known.is_some_and(|q| q.u <= 0.7 * u) {
        return None;
    }
    let mut predictions = Vec::new();
    for c in ranking.candidates.iter().take(MOST_PREDICTED) {
        let Some((mean, sd)) = nominal(c, feature) else { continue };
        let (mean, sd) = match known {
            // What was measured narrows the prediction.
            Some(q) => {
                let (a, b) = (sd.powi(-2), q.u.powi(-2));
                ((a * mean + b * q.value) / (a + b), (a + b).powf(-0.5))
            }
            None => (mean, sd),
        };
        predictions.push(Prediction { probability: c.probability, mean, sd });
    }
    // A thread of no standard predicts nothing beyond what was measured.
    let total: f64 = predictions.iter().map(|p| p.probability).sum();
    if total <= 0.0 {
        return None;
    }
    let mean = predictions.iter().map(|p| p.probability * p.mean).sum::<f64>() / total;
    let spread = predictions
        .iter()
        .map(|p| p.probability * ((p.mean - mean).powi(2) + p.sd * p.sd))
        .sum::<f64>()
        / total;
    let (mean, sd) = known.map_or((mean, 2.0 * spread.sqrt()), |q| (q.value, q.u));
    predictions.push(Prediction { probability: ranking.no_standard_probability, mean, sd });
    Some(predictions)
}

/// Mutual information between the identity and a reading with uncertainty `u`, bits.
fn information_bits(predictions: &[Prediction], u: f64) -> f64 {
    let total: f64 = predictions.iter().map(|p| p.probability).sum();
    let parts: Vec<(f64, f64, f64)> = predictions
        .iter()
        .map(|p| (p.probability / total, p.mean, p.sd.hypot(u)))
        .filter(|(w, _, _)| *w > 1e-6)
        .collect();
    // Σ w ∫ N ln(N / mixture), each integral over ± 5 spreads of its own component.
    const STEPS: i32 = 40;
    parts
        .iter()
        .map(|&(w, mean, sd)| {
            let h = 10.0 / f64::from(STEPS);
            let integral: f64 = (0..=STEPS)
                .map(|i| {
                    let z = -5.0 + h * f64::from(i);
                    let x = mean + z * sd;
                    let own = normal(x - mean, sd);
                    let mixture: f64 = parts.iter().map(|&(w, m, s)| w * normal(x - m, s)).sum();
                    h * normal(z, 1.0) * (own / mixture.max(1e-300)).log2()
                })
                .sum();
            w * integral
        })
        .sum::<f64>()
        .max(0.0)
}

fn expected(ranking: &Ranking, feature: Feature, scale: f64) -> Vec<Expected> {
    ranking
        .candidates
        .iter()
        .filter(|c| c.probability > 0.01)
        .filter_map(|c| {
            let (mean, _) = match feature {
                // The design value is what the person looks up, not the middle of the tolerance.
                Feature::MajorDiameter => (c.major_diameter_mm?, 0.0),
                other => nominal(c, other)?,
            };
            Some(Expected { designation: c.designation.clone(), reading: mean * scale })
        })
        .take(8)
        .collect()
}

fn describe(means: Means, scale: f64, u: f64, expected: &[Expected]) -> Sentence {
    let what = match means {
        Means::CaliperOverThreads => format!("measure over {scale:.0} threads with a caliper"),
        Means::TravelOverTurns => {
            format!("read the travel over {scale:.0} turns from the dials")
        }
        Means::Micrometer => "measure the major diameter with a micrometer".to_owned(),
        Means::OverWires => "measure the pitch diameter over wires".to_owned(),
        Means::BladeCaliper => "measure the minor diameter with a blade caliper".to_owned(),
        Means::FarPicture => {
            "take the flank angles from a picture made from farther away".to_owned()
        }
        Means::Loupe => "look at the crests with a loupe: flat or round, radius".to_owned(),
        Means::TwoPlaces => "measure the diameter at two places along the thread: taper".to_owned(),
    };
    let decimals = form::decimals_for(u, 4);
    let read = |value: f64| -> Part {
        match means {
            Means::FarPicture => format!("{value:.decimals$}°").into(),
            Means::TwoPlaces => figure(value, decimals).into(),
            _ => mm(value, decimals).into(),
        }
    };
    let doubt = match read(u) {
        Part::Length(_) => mm_doubt(u, decimals).into(),
        other => Part::from(sentence!("± {}", other)),
    };
    // Candidates whose readings are said to be the same are named together, in the order of their odds.
    let mut readings: Vec<(f64, Vec<&str>)> = Vec::new();
    let same = |a: f64, b: f64| figure(a, decimals) == figure(b, decimals);
    for e in expected {
        match readings.iter_mut().find(|(value, _)| same(*value, e.reading)) {
            Some((_, names)) => names.push(&e.designation),
            None => readings.push((e.reading, vec![&e.designation])),
        }
    }
    let says: Vec<Sentence> = readings
        .iter()
        .take(4)
        .map(|(reading, names)| {
            let shown = names.iter().take(3).copied().collect::<Vec<_>>().join(" or ");
            let more = if names.len() > 3 { " …" } else { "" };
            sentence!("{} says {}{}", read(*reading), shown, more)
        })
        .collect();
    // Where nothing is likely yet, no reading says anything by itself.
    let colon = if says.is_empty() { "" } else { ": " };
    sentence!("{} ({}){}{}", what, doubt, colon, Sentence::joined(says, "; "))
}
