//! Which hand, how many starts, sharp or rounded: the hypotheses, tried on few data.

use crate::data::Datum;
use crate::measure::{FitError, GOOD_PX, Setting, clearly, gain, median_off_px};
use crate::model::Frame;
use crate::params::Param;
use crate::problem::{Belief, Prior};
use crate::robust::{Effort, Fitting, Outcome, cost, spread};

/// Times the cost of the best at which a hypothesis is given up after a first look.
const HOPELESS: f64 = 10.0;
/// Robust deviation of the residuals, in units of their own, up to which a sharp form leaves nothing
/// for a rounded one to explain; small roundings are tried on the full data.
const NOISE_ONLY: f64 = 1.3;

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
        for hands in setting.signed_starts().chunk_by(|a, b| a.abs() == b.abs()) {
            // More starts of the same parity are only worth a try when the fewer fit badly.
            if tried.iter().any(|(_, o)| median_off_px(quick.data, o) < GOOD_PX) {
                break;
            }
            let mut of_these = try_sharp(setting, quick, hands);
            rivals.extend(try_rounded(setting, quick, &mut of_these));
            tried.append(&mut of_these);
            if !tell(0.1 + 0.08 * tried.len() as f32) {
                return Err(FitError::Cancelled);
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

/// Both hands of a number of starts with sharp corners, as `(signed starts, fit)`.
fn try_sharp(setting: &Setting<'_>, quick: &Fitting<'_>, hands: &[f64]) -> Vec<(f64, Outcome)> {
    let free = setting.free();
    let frame = |signed: f64| Frame { signed_starts: signed, ..setting.frame };
    let looked: Vec<(f64, Outcome)> = hands
        .iter()
        .filter_map(|s| {
            let look = quick.run(frame(*s), setting.start, &free, Effort::LOOK)?;
            Some((*s, look))
        })
        .collect();
    // Costs of the looks and of what comes of them are compared at one spread.
    let spread = looked.iter().map(|t| spread_of(quick.data, &t.1)).fold(f64::INFINITY, f64::min);
    let mut tried: Vec<(f64, Outcome)> = Vec::new();
    let mut least = f64::INFINITY;
    for (signed, looked_cost) in compare(quick.data, &looked, quick.priors) {
        let Some((_, look)) = looked.iter().find(|t| t.0 == signed) else { continue };
        if looked_cost > HOPELESS * least {
            continue;
        }
        if let Some(done) = quick.run(frame(signed), look.params, &free, Effort::QUICK) {
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

/// Rounded corners: whether they pay is asked of the likelier hands and starts only. Replaces in
/// `tried` what is bettered, and returns what was replaced.
fn try_rounded(
    setting: &Setting<'_>,
    quick: &Fitting<'_>,
    tried: &mut [(f64, Outcome)],
) -> Vec<(f64, Outcome)> {
    let mut rounded = setting.free();
    rounded.extend([Param::CrestRound, Param::RootRound]);
    let mut replaced = Vec::new();
    let order = compare(quick.data, tried, quick.priors);
    let least = order.first().map_or(0.0, |o| o.1);
    for (signed, own) in order.into_iter().take(2) {
        let Some(i) = tried.iter().position(|t| t.0 == signed) else { continue };
        let sharp = &tried[i].1;
        let all_noise =
            spread_of(quick.data, sharp) < NOISE_ONLY && median_off_px(quick.data, sharp) < GOOD_PX;
        if all_noise || own > HOPELESS * HOPELESS * least {
            continue;
        }
        let from_sharp = sharp.params;
        for (mut start, fraction) in [(from_sharp, 0.3), (setting.start, 0.8)] {
            start[Param::CrestRound] = fraction;
            start[Param::RootRound] = fraction;
            let frame = Frame { signed_starts: signed, ..setting.frame };
            let Some(outcome) = quick.run(frame, start, &rounded, Effort::QUICK) else { continue };
            let now = &tried[i].1;
            if gain(quick, now, &outcome, &outcome.masked) > clearly(quick, &outcome) {
                let before = std::mem::replace(&mut tried[i], (signed, outcome));
                replaced.push(before);
            }
        }
    }
    replaced
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
