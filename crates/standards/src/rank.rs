//! From what was measured to odds.

use crate::catalogue::families;
use crate::explain;
use crate::family::Family;
use crate::likelihood::{Geometry, Observations, is_mirrored, log_likelihood};
use crate::linear::log_sum;
use crate::measured::{Feature, Measured};
use crate::nearest::{Apart, nearest};
use crate::prior::{Prior, log_none};
use crate::propose::{Proposal, Search, plausible_starts, proposals};
use crate::tolerance::{Side, limits_of};
use form::{Section, Sentence};
use serde::Serialize;

/// Candidates less probable than this are left out.
const LEAST_PROBABILITY: f64 = 5e-4;
/// The best few are returned however improbable, to be shown beside the measured form.
const LEAST_CANDIDATES: usize = 3;
/// Most candidates returned.
const MOST_CANDIDATES: usize = 60;
/// Two designations are told apart when one explains the data more than this many times better.
const TOLD_APART: f64 = 20.0;
/// Group members less probable than this share of their leader are not worth naming.
const GROUP_SHARE: f64 = 0.01;
/// Nor are groups whose leader is less probable than this.
const GROUP_LEADER: f64 = 0.02;

/// One measured number beside the standard's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Deviation {
    /// Name with unit, e.g. `"pitch_mm"`.
    pub what: &'static str,
    /// Measured value.
    pub measured: f64,
    /// Value of the design form of the external thread.
    pub standard: f64,
    /// Difference in standard uncertainties of the measurement.
    pub in_u: f64,
    /// Limits of the family's usual class where it has them for this number.
    pub allowed: Option<(f64, f64)>,
}

/// A thread that may be the one measured.
#[derive(Debug, Clone, Serialize)]
pub struct Candidate {
    /// As the standard writes it, e.g. `"Tr 24 x 5"`, with starts and `LH` where they are known.
    pub designation: String,
    /// Name of the family.
    pub family: &'static str,
    /// Identifier of the family, for [`crate::family`].
    pub family_id: &'static str,
    /// The standard.
    pub standard: &'static str,
    /// Listed in the family's series; otherwise only the form is the standard's.
    pub in_series: bool,
    /// Probability given everything known.
    pub probability: f64,
    /// ln of the density of the data under this candidate (comparable between candidates only).
    pub log_likelihood: f64,
    /// Measured numbers beside the standard's.
    pub deviations: Vec<Deviation>,
    /// Design form of the external thread, for drawing beside the measured one.
    #[serde(skip)]
    pub section: Option<Section>,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Nominal major diameter, mm; `None` when the size is unknown.
    pub major_diameter_mm: Option<f64>,
    /// Number of starts taken.
    pub starts: u32,
    /// Other names for the very same thread.
    pub also: Vec<String>,
}

impl Candidate {
    /// The designation without what is remarked about a size of its own.
    #[must_use]
    pub fn name(&self) -> &str {
        self.designation.split(" (form ").next().unwrap_or(&self.designation)
    }

    /// Whether `name` is what somebody would call it: with or without the remark, by any of its names,
    /// spaces and capitals as they please.
    #[must_use]
    pub fn is_called(&self, name: &str) -> bool {
        let plain = |text: &str| -> String {
            let letters = text.chars().filter(|c| !c.is_whitespace());
            letters.map(|c| if c == '×' { 'x' } else { c }).collect::<String>().to_lowercase()
        };
        let wanted = plain(name);
        [self.designation.as_str(), self.name()]
            .into_iter()
            .chain(self.also.iter().map(String::as_str))
            .any(|own| plain(own) == wanted)
    }
}

/// What can be said in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// One designation stands out.
    Named,
    /// Several explain the data about equally well.
    CannotTell,
    /// No listed standard.
    None,
}

/// Odds over everything listed, own sizes of standard forms, and none.
#[derive(Debug, Clone, Serialize)]
pub struct Ranking {
    /// Most probable first; those below 0.05 % are left out, except the three best. Where none reaches
    /// that, the three listed threads nearest in pitch, angle and diameter, at their probabilities.
    pub candidates: Vec<Candidate>,
    /// Where the verdict is none: the listed thread nearest in pitch, angle and diameter.
    pub nearest: Option<Candidate>,
    /// Probability that the thread follows no standard form.
    pub no_standard_probability: f64,
    /// Groups of designations that the given uncertainties do not separate, most probable group
    /// first; only groups of two or more.
    pub cannot_tell: Vec<Vec<String>>,
    /// In one word.
    pub verdict: Verdict,
    /// Sentences: which feature belongs to which world, what was assumed.
    pub explanation: Vec<Sentence>,
}

impl Ranking {
    /// The group of candidates that includes the most probable one (that one alone when nothing is
    /// confused with it).
    #[must_use]
    pub fn first_group(&self) -> Vec<&str> {
        let Some(first) = self.candidates.first() else { return Vec::new() };
        self.cannot_tell.iter().find(|g| g.contains(&first.designation)).map_or_else(
            || vec![first.designation.as_str()],
            |g| g.iter().map(String::as_str).collect(),
        )
    }
}

/// A hypothesis before it is a candidate.
struct Hypothesis {
    family: &'static Family,
    designation: String,
    pitch_mm: f64,
    major_mm: Option<f64>,
    starts: u32,
    in_series: bool,
    log_prior: f64,
    log_likelihood: f64,
    /// Names of the same thread in other families.
    also: Vec<String>,
}

impl Hypothesis {
    fn log_weight(&self) -> f64 {
        self.log_prior + self.log_likelihood
    }
}

/// Odds for `measured` under `prior`.
#[must_use]
pub fn rank(measured: &Measured, prior: &Prior) -> Ranking {
    rank_by(measured, prior, Search::Pruned)
}

/// As [`rank`] but looking at every listed size, several times slower: the certain way beside the
/// fast one, for tests and benches.
#[must_use]
pub fn rank_exhaustively(measured: &Measured, prior: &Prior) -> Ranking {
    rank_by(measured, prior, Search::Exhaustive)
}

fn rank_by(measured: &Measured, prior: &Prior, search: Search) -> Ranking {
    let observations = Observations::of(measured);
    if observations.all.is_empty() {
        return Ranking {
            candidates: Vec::new(),
            nearest: None,
            no_standard_probability: prior.no_standard,
            cannot_tell: Vec::new(),
            verdict: Verdict::CannotTell,
            explanation: vec!["nothing was measured, so nothing can be told".into()],
        };
    }
    let starts = plausible_starts(measured, &observations);
    // Without a measured diameter the diameter is no part of a hypothesis.
    let sized = [Feature::MajorDiameter, Feature::MinorDiameter, Feature::PitchDiameter]
        .into_iter()
        .any(|f| measured.get(f).is_some());
    let left_hand = measured.is_left_hand();
    let mut hypotheses: Vec<Hypothesis> =
        proposals(measured, prior, &observations, &starts, search)
            .into_iter()
            .filter_map(|p| weigh(&p, prior, &observations, sized, left_hand))
            .collect();
    merge_same_threads(&mut hypotheses);
    let included = measured.included().map_or(60.0, |q| q.value);
    let pitch = measured.pitch_mm.or(measured.lead_mm).map_or(1.0, |q| q.value);
    let log_none_weight = prior.no_standard.max(1e-12).ln()
        + log_none(&observations)
        + starts.iter().map(|s| s.weight(true)).sum::<f64>().max(1e-300).ln()
        + prior.log_misfit(pitch, included);
    let total = log_sum(
        hypotheses.iter().map(Hypothesis::log_weight).chain(std::iter::once(log_none_weight)),
    );
    hypotheses.sort_by(|a, b| b.log_weight().total_cmp(&a.log_weight()));
    let mut candidates: Vec<Candidate> = hypotheses
        .iter()
        .take(MOST_CANDIDATES)
        .map(|h| candidate(h, (h.log_weight() - total).exp(), &observations))
        .enumerate()
        .filter(|(i, c)| *i < LEAST_CANDIDATES || c.probability >= LEAST_PROBABILITY)
        .map(|(_, c)| c)
        .collect();
    let no_standard_probability = (log_none_weight - total).exp();
    let near = if no_standard_probability > 0.5 || candidates.is_empty() {
        let probability = |h: &Hypothesis| (h.log_weight() - total).exp();
        neighbours(measured, prior, &observations, &hypotheses, probability)
    } else {
        Vec::new()
    };
    if candidates.iter().all(|c| c.probability < LEAST_PROBABILITY) && !near.is_empty() {
        candidates = near.iter().map(|n| n.0.clone()).collect();
    }
    let cannot_tell = groups(&candidates);
    let verdict = verdict(&candidates, no_standard_probability, &cannot_tell);
    let nearest = near.into_iter().next().filter(|_| verdict == Verdict::None);
    let odds = explain::Odds {
        candidates: &candidates,
        none: no_standard_probability,
        verdict,
        nearest: nearest.as_ref().map(|(c, apart)| (c.designation.as_str(), apart.as_slice())),
    };
    let explanation = explain::explain(measured, &observations, &odds);
    Ranking {
        nearest: nearest.map(|n| n.0),
        candidates,
        no_standard_probability,
        cannot_tell,
        verdict,
        explanation,
    }
}

/// The nearest listed threads as candidates, each with the numbers in which it differs.
fn neighbours(
    measured: &Measured,
    prior: &Prior,
    observations: &Observations,
    hypotheses: &[Hypothesis],
    probability: impl Fn(&Hypothesis) -> f64,
) -> Vec<(Candidate, Vec<Apart>)> {
    let starts = measured.likely_starts();
    nearest(measured, prior, observations, LEAST_CANDIDATES)
        .iter()
        .map(|n| {
            let designation = n.family.designate(n.size, starts, measured.is_left_hand());
            let weighed = hypotheses.iter().find(|h| h.designation == designation);
            let beside = Hypothesis {
                family: n.family,
                designation,
                pitch_mm: n.size.pitch_mm,
                major_mm: Some(n.size.major_mm),
                starts,
                in_series: true,
                log_prior: 0.0,
                // JSON has no infinities.
                log_likelihood: weighed.map_or(f64::MIN, |h| h.log_likelihood),
                also: Vec::new(),
            };
            let odds = weighed.map_or(0.0, &probability);
            (candidate(&beside, odds, observations), n.apart(measured, observations))
        })
        .collect()
}

/// The full weighing of a proposal; `None` when it is out of the question.
fn weigh(
    p: &Proposal,
    prior: &Prior,
    observations: &Observations,
    sized: bool,
    left_hand: bool,
) -> Option<Hypothesis> {
    let major_mm = p.major_mm.filter(|_| sized);
    let log_likelihood = log_likelihood(p.family, p.pitch_mm, major_mm, p.starts, observations)
        + prior.log_misfit(p.pitch_mm, p.family.form.included_deg())
        + p.log_starts;
    log_likelihood.is_finite().then(|| Hypothesis {
        family: p.family,
        designation: p.designate(left_hand),
        pitch_mm: p.pitch_mm,
        major_mm: p.major_mm,
        starts: p.starts,
        in_series: p.in_series(),
        log_prior: p.log_prior,
        log_likelihood,
        also: Vec::new(),
    })
}

/// Families may list the same form in the same size: one candidate with several names, the commonest
/// first.
fn merge_same_threads(hypotheses: &mut Vec<Hypothesis>) {
    hypotheses.sort_by(|a, b| b.log_prior.total_cmp(&a.log_prior));
    let mut merged: Vec<Hypothesis> = Vec::with_capacity(hypotheses.len());
    for h in hypotheses.drain(..) {
        let twin = merged.iter_mut().find(|m| {
            m.in_series == h.in_series
                && m.starts == h.starts
                && (m.pitch_mm / h.pitch_mm - 1.0).abs() < 1e-6
                && m.family.form.id == h.family.form.id
                && match (m.major_mm, h.major_mm) {
                    (Some(a), Some(b)) => (a - b).abs() < 0.002,
                    (None, None) => true,
                    _ => false,
                }
        });
        match twin {
            None => merged.push(h),
            Some(m) => {
                let weight = log_sum([m.log_weight(), h.log_weight()].into_iter());
                m.log_likelihood = m.log_likelihood.max(h.log_likelihood);
                m.log_prior = weight - m.log_likelihood;
                m.also.push(h.designation);
            }
        }
    }
    *hypotheses = merged;
}

fn candidate(h: &Hypothesis, probability: f64, observations: &Observations) -> Candidate {
    let mirrored = is_mirrored(&h.family.form, observations);
    let mut also = h.also.clone();
    // Families of the same form and size that differ only in their fits.
    for twin in families().iter().filter(|f| f.ranked_as.as_deref() == Some(&h.family.id)) {
        if let Some(size) = twin.sizes.iter().find(|s| {
            h.in_series
                && h.major_mm.is_some_and(|d| (s.major_mm - d).abs() < 0.002)
                && (s.pitch_mm / h.pitch_mm - 1.0).abs() < 1e-6
        }) {
            also.push(twin.designate(size, h.starts, false));
        }
    }
    Candidate {
        designation: h.designation.clone(),
        family: &h.family.name,
        family_id: &h.family.id,
        standard: &h.family.standard,
        in_series: h.in_series,
        probability,
        log_likelihood: h.log_likelihood,
        deviations: deviations(h, mirrored, observations),
        section: h.family.form.section(h.pitch_mm, mirrored).ok(),
        pitch_mm: h.pitch_mm,
        major_diameter_mm: h.major_mm,
        starts: h.starts,
        also,
    }
}

fn deviations(h: &Hypothesis, mirrored: bool, observations: &Observations) -> Vec<Deviation> {
    let geometry = Geometry::new(&h.family.form, h.pitch_mm, h.major_mm, h.starts, mirrored);
    let limits = h
        .major_mm
        .and_then(|d| limits_of(h.family, d, h.pitch_mm, &h.family.class, Side::External).ok());
    observations
        .all
        .iter()
        .filter_map(|r| {
            let standard = geometry.nominal(r.feature)? + half_way(h, r.feature);
            let allowed = limits.and_then(|l| match r.feature {
                Feature::MajorDiameter => Some(l.major),
                Feature::PitchDiameter => Some(l.pitch),
                Feature::MinorDiameter => Some(l.minor),
                _ => None,
            });
            Some(Deviation {
                what: r.feature.key(),
                measured: r.value,
                standard,
                in_u: (r.value - standard) / r.u,
                allowed: allowed.map(|l| (l.least_mm, l.most_mm)),
            })
        })
        .collect()
}

/// By how much a diameter half-way along a taper thread differs from the one it is listed by, mm.
fn half_way(h: &Hypothesis, feature: Feature) -> f64 {
    let form = &h.family.form;
    match feature {
        Feature::MajorDiameter | Feature::PitchDiameter | Feature::MinorDiameter => {
            form.gauge_offset_d * h.major_mm.unwrap_or(0.0) + form.gauge_offset_p * h.pitch_mm
        }
        _ => 0.0,
    }
}

/// Candidates that explain the data about as well as the most probable one left, again and again.
fn groups(candidates: &[Candidate]) -> Vec<Vec<String>> {
    let mut left: Vec<&Candidate> = candidates.iter().collect();
    let mut groups = Vec::new();
    while !left.is_empty() {
        let leader = left.remove(0);
        let (with, without): (Vec<&Candidate>, Vec<&Candidate>) = left.into_iter().partition(|c| {
            (c.log_likelihood - leader.log_likelihood).abs() <= TOLD_APART.ln()
                && c.probability >= GROUP_SHARE * leader.probability
        });
        left = without;
        if !with.is_empty() && leader.probability >= GROUP_LEADER {
            let members = std::iter::once(leader).chain(with);
            groups.push(members.map(|c| c.designation.clone()).collect());
        }
    }
    groups
}

fn verdict(candidates: &[Candidate], none: f64, cannot_tell: &[Vec<String>]) -> Verdict {
    let Some(first) = candidates.first() else { return Verdict::None };
    if none > 0.5 {
        return Verdict::None;
    }
    let confused = cannot_tell.iter().any(|g| g.contains(&first.designation));
    if first.probability >= 0.9 || (!confused && first.probability > 0.5) {
        Verdict::Named
    } else {
        Verdict::CannotTell
    }
}
