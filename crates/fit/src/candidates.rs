//! Which hand, how many starts, sharp or rounded: the hypotheses, tried on few data.

use crate::corners::Blunt;
use crate::data::Datum;
use crate::lean::{self, KEYSTONE};
use crate::measure::{FitError, GOOD_PX, Setting, clearly, gain, median_off_px};
use crate::model::Frame;
use crate::params::{Param, Params};
use crate::problem::{Belief, Prior};
use crate::robust::{Effort, Fitting, Outcome, cost, spread};
use crate::start::undistorted;
use std::collections::VecDeque;

/// Times the cost of the best at which a hypothesis is given up after a first look.
const HOPELESS: f64 = 10.0;
/// What came of the hypotheses.
pub struct Candidates {
    /// `(signed starts, cost)` of every hypothesis, costs comparable, least first.
    pub hypotheses: Vec<(f64, f64)>,
    /// The fit of the likeliest.
    pub best: Outcome,
    /// Other forms of the same hand and starts, should the full data disagree.
    pub rivals: Vec<Outcome>,
}

impl Candidates {
    /// Tries the hypotheses that `setting` leaves open on the data of `quick`.
    pub fn find(
        setting: &Setting<'_>,
        quick: &Fitting<'_>,
        tell: &dyn Fn(f32) -> bool,
    ) -> Result<Self, FitError> {
        let (mut tried, mut rivals) = (Vec::new(), Vec::new());
        let mut asked = false;
        let mut sets = VecDeque::from(freedoms(setting));
        'all: while let Some((free, from)) = sets.pop_front() {
            for hands in setting.signed_starts().chunk_by(|a, b| a.abs() == b.abs()) {
                let search = Search { setting, quick, free: &free, from, before: &tried };
                let mut of_these = search.sharp(hands);
                rivals.extend(search.rounded(&mut of_these));
                for new in of_these {
                    rivals.extend(kept(quick, &mut tried, new));
                }
                if !tell((0.1 + 0.05 * rivals.len() as f32).min(0.5)) {
                    return Err(FitError::Cancelled);
                }
                // More starts of the same parity are only worth a try when the fewer fit badly.
                if tried.iter().any(|(_, o)| median_off_px(quick.data, o) < GOOD_PX) {
                    break 'all;
                }
                // A slight taper must not be taken for more starts.
                if !asked && let Some(tapered) = lean::taper_explains(setting, quick, &free, &tried)
                {
                    asked = true;
                    sets.push_front((free, from));
                    sets.push_front((tapered, From::Before));
                    continue 'all;
                }
            }
        }
        let hypotheses = compare(quick.data, &tried, quick.priors);
        let best = hypotheses
            .first()
            .and_then(|(signed, _)| tried.iter().position(|t| t.0 == *signed))
            .map(|i| tried.swap_remove(i))
            .ok_or_else(|| {
                FitError::TooLittle(
                    "the outline found does not look like a thread of any form that can be \
                     fitted; draw a box round the thread, or click points on its flanks"
                        .into(),
                )
            })?;
        rivals.retain(|t| t.0 == best.0);
        let rivals = rivals.into_iter().map(|t| t.1).collect();
        Ok(Self { hypotheses, best: best.1, rivals })
    }
}

/// What may be free, one set after the other while nothing fits: a parallel thread and a picture plane
/// square to the light first, then a leaning one, which begins where the upright one ended and, should
/// that lead astray, at first sight; where the edges part and the pitch does not explain it, a taper
/// comes in.
fn freedoms(setting: &Setting<'_>) -> Vec<(Vec<Param>, From)> {
    let upright = setting.free();
    let with = |more: &[Param]| upright.iter().chain(more).copied().collect::<Vec<_>>();
    let (leaning, tapered) = (with(&KEYSTONE), with(&[Param::Taper]));
    if setting.seems_tapered == 0.0 {
        return vec![
            (upright, From::Before),
            (leaning.clone(), From::Before),
            (leaning, From::Sight),
        ];
    }
    let both = with(&[&KEYSTONE[..], &[Param::Taper]].concat());
    vec![(tapered, From::Before), (leaning, From::Before), (both, From::Before)]
}

/// Where a search begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum From {
    /// Where fewer free parameters led to, if that was tried.
    Before,
    /// At what the outline shows at first sight.
    Sight,
}

/// Keeps a fit unless there is one of the same hand and starts that is not clearly worse; returns the
/// one of the two that was not kept.
fn kept(
    quick: &Fitting<'_>,
    tried: &mut Vec<(f64, Outcome)>,
    new: (f64, Outcome),
) -> Option<(f64, Outcome)> {
    let Some(old) = tried.iter_mut().find(|t| t.0 == new.0) else {
        tried.push(new);
        return None;
    };
    if gain(quick, &old.1, &new.1, &new.1.masked) > clearly(quick, &new.1) {
        Some(std::mem::replace(old, new))
    } else {
        Some(new)
    }
}

/// A search over hands and roundings with some parameters free.
struct Search<'a> {
    setting: &'a Setting<'a>,
    quick: &'a Fitting<'a>,
    free: &'a [Param],
    from: From,
    /// Fits with fewer parameters free.
    before: &'a [(f64, Outcome)],
}

impl Search<'_> {
    fn frame(&self, signed: f64) -> Frame {
        Frame { signed_starts: signed, ..self.setting.frame }
    }

    /// Where to start from: what fewer free parameters led to, or what was seen at first glance.
    fn start(&self, signed: f64) -> Params {
        let tapers = self.free.contains(&Param::Taper);
        let usable = |o: &Outcome| tapers || o.params[Param::Taper] == 0.0;
        let before =
            self.before.iter().find(|t| self.from == From::Before && t.0 == signed && usable(&t.1));
        let mut start = match before {
            Some(t) => {
                let mut start = t.1.params;
                (start[Param::CrestRound], start[Param::RootRound]) = (0.0, 0.0);
                start
            }
            None => undistorted(&self.setting.start, &self.frame(signed)),
        };
        if self.from == From::Sight && self.free.contains(&Param::KeystoneZ) {
            self.setting.lean(&mut start);
        }
        if tapers && start[Param::Taper] == 0.0 {
            start[Param::Taper] = self.setting.seems_tapered;
        }
        start
    }

    /// Both hands of a number of starts with sharp corners, as `(signed starts, fit)`.
    fn sharp(&self, hands: &[f64]) -> Vec<(f64, Outcome)> {
        let quick = self.quick;
        let looked: Vec<(f64, Outcome)> = hands
            .iter()
            .filter_map(|s| {
                let look = quick.run(self.frame(*s), self.start(*s), self.free, Effort::LOOK)?;
                Some((*s, look))
            })
            .collect();
        // Costs of the looks and of what comes of them are compared at one spread.
        let spread =
            looked.iter().map(|t| spread_of(quick.data, &t.1)).fold(f64::INFINITY, f64::min);
        let mut tried: Vec<(f64, Outcome)> = Vec::new();
        let mut least = f64::INFINITY;
        for (signed, looked_cost) in compare(quick.data, &looked, quick.priors) {
            let Some((_, look)) = looked.iter().find(|t| t.0 == signed) else { continue };
            // Given up only against something that fits: a look has not converged.
            let good = tried.iter().any(|(_, o)| median_off_px(quick.data, o) < GOOD_PX);
            if good && looked_cost > HOPELESS * least {
                continue;
            }
            let done = quick.run(self.frame(signed), look.params, self.free, Effort::QUICK);
            if let Some(done) = done {
                least = least.min(cost_at(quick.data, &done, quick.priors, spread));
                tried.push((signed, done));
            }
        }
        // What was given up still has its odds, and those are small.
        for (signed, look) in looked {
            if tried.iter().all(|t| t.0 != signed) {
                tried.push((signed, look));
            }
        }
        tried
    }

    /// Rounded corners. Replaces in `tried` what is bettered, and returns what was replaced.
    fn rounded(&self, tried: &mut [(f64, Outcome)]) -> Vec<(f64, Outcome)> {
        let quick = self.quick;
        let rounded: Vec<Param> =
            self.free.iter().copied().chain([Param::CrestRound, Param::RootRound]).collect();
        let mut replaced = Vec::new();
        let order = compare(quick.data, tried, quick.priors);
        let least = order.first().map_or(0.0, |o| o.1);
        for (signed, own) in order {
            let Some(i) = tried.iter().position(|t| t.0 == signed) else { continue };
            let sharp = &tried[i].1;
            let fits = median_off_px(quick.data, sharp) < GOOD_PX;
            let blunt = Blunt::of(quick.data, sharp, quick.blur_px);
            let wanted = [Param::CrestRound, Param::RootRound].iter().any(|p| blunt.wants(*p));
            if (fits && !wanted) || own > HOPELESS * HOPELESS * least {
                continue;
            }
            let from_sharp = sharp.params;
            for (mut start, fraction) in [(from_sharp, 0.3), (self.start(signed), 0.8)] {
                start[Param::CrestRound] = fraction;
                start[Param::RootRound] = fraction;
                let outcome = quick.run(self.frame(signed), start, &rounded, Effort::QUICK);
                let Some(outcome) = outcome else { continue };
                let now = &tried[i].1;
                if gain(quick, now, &outcome, &outcome.masked) > clearly(quick, &outcome) {
                    let before = std::mem::replace(&mut tried[i], (signed, outcome));
                    replaced.push(before);
                }
            }
        }
        replaced
    }
}

/// Hypotheses and their costs, at the spread of the best, least cost first.
fn compare(data: &[Datum], tried: &[(f64, Outcome)], priors: &[Prior]) -> Vec<(f64, f64)> {
    let spread = tried.iter().map(|t| spread_of(data, &t.1)).fold(f64::INFINITY, f64::min);
    let mut costs: Vec<(f64, f64)> =
        tried.iter().map(|(signed, o)| (*signed, cost_at(data, o, priors, spread))).collect();
    costs.sort_by(|a, b| a.1.total_cmp(&b.1));
    costs
}

/// Robust deviation of a fit's residuals, in units of their own.
fn spread_of(data: &[Datum], o: &Outcome) -> f64 {
    spread(data, &o.evaluated.off_px, &o.masked)
}

/// Robust cost of a fit at a given spread, with that of its priors.
fn cost_at(data: &[Datum], o: &Outcome, priors: &[Prior], spread: f64) -> f64 {
    let believed: f64 = priors
        .iter()
        .map(|q| match q.belief {
            Belief::Near(param, value) => ((o.params[param] - value) / q.sd).powi(2),
            _ => 0.0,
        })
        .sum();
    cost(data, &o.evaluated.off_px, &o.masked, spread) + believed
}
