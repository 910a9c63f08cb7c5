//! Which hand, how many starts, sharp or rounded: the hypotheses, tried on few data.

use crate::corners::Blunt;
use crate::data::Datum;
use crate::lean::{self, KEYSTONE};
use crate::measure::{FitError, GOOD_PX, Setting, clearly, gain, median_off_px};
use crate::model::Frame;
use crate::params::{Param, Params};
use crate::problem::{Belief, Prior};
use crate::robust::{Effort, Fitting, Outcome, cost, spread};
use crate::seen::is_in_doubt;
use crate::start::undistorted;
use form::Piece;
use std::collections::VecDeque;

/// How far from a screw people stand with their cameras, mm.
const USUAL_DISTANCE_MM: f64 = 350.0;
/// Median residual up to which a form fits so well that no other is looked for, px.
const FITS_PX: f64 = 0.1;
/// Times the cost of the best at which a hypothesis is given up after a first look.
const HOPELESS: f64 = 10.0;
/// Deviation of the residuals, in units of their own, up to which they are noise.
const ALL_NOISE: f64 = 1.2;
/// Median residual up to which there is nothing left to explain, whatever the noise, px.
const NOTHING_PX: f64 = 0.03;

/// What came of the hypotheses.
pub struct Candidates {
    /// `(signed starts, cost)` of every hypothesis, costs comparable, least first.
    pub hypotheses: Vec<(f64, f64)>,
    /// The fit of the likeliest.
    pub best: Outcome,
    /// What the other hands and numbers of starts would make of the screw, as `(signed starts,
    /// parameters)`.
    pub others: Vec<(f64, Params)>,
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
                rivals.extend(search.square(&mut of_these));
                for new in of_these {
                    rivals.extend(kept(quick, &mut tried, new));
                }
                if !tell((0.1 + 0.05 * rivals.len() as f32).min(0.5)) {
                    return Err(FitError::Cancelled);
                }
                // More starts of the same parity are only worth a try when the fewer leave something
                // over, be it ever so little; but where the diameter is not told either, more starts on
                // a thicker screw look much the same, and the fewest that fit are taken.
                let enough = if setting.tells_no_diameter() { is_good } else { is_all_noise };
                if tried.iter().any(|(_, o)| enough(quick.data, o)) {
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
            // A leaning plane has several beginnings, and any may end beside the truth.
            let again = from != From::Usual && free.contains(&Param::KeystoneZ);
            if !again && tried.iter().any(|(_, o)| is_good(quick.data, o)) {
                break;
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
        let others = tried.iter().map(|(signed, o)| (*signed, o.params)).collect();
        rivals.retain(|t| t.0 == best.0);
        let rivals = rivals.into_iter().map(|t| t.1).collect();
        Ok(Self { hypotheses, best: best.1, others, rivals })
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
    if setting.stretch.is_some() {
        // Too short to tell more.
        return vec![(upright, From::Before)];
    }
    if setting.seems_tapered == 0.0 {
        return vec![
            (upright, From::Before),
            (leaning.clone(), From::Before),
            (leaning.clone(), From::Sight),
            (leaning, From::Usual),
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
    /// There, with the eye at a usual distance.
    Usual,
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
        if self.from != From::Before && self.free.contains(&Param::KeystoneZ) {
            self.setting.lean(&mut start);
        }
        if self.from == From::Usual && self.free.contains(&Param::InverseDistance) {
            start[Param::InverseDistance] = 1.0 / USUAL_DISTANCE_MM;
        }
        if tapers && start[Param::Taper] == 0.0 {
            start[Param::Taper] = self.setting.seems_tapered;
        }
        start
    }

    /// Both hands of a number of starts with sharp corners, as `(signed starts, fit)`.
    fn sharp(&self, hands: &[f64]) -> Vec<(f64, Outcome)> {
        let quick = self.quick;
        // With the eye held where it usually is, what leans finds its place without running away.
        let held: Vec<Param> =
            self.free.iter().copied().filter(|p| *p != Param::InverseDistance).collect();
        let (first, effort) = match self.from {
            From::Usual => (held.as_slice(), Effort::QUICK),
            _ => (self.free, Effort::LOOK),
        };
        let looked: Vec<(f64, Outcome)> = hands
            .iter()
            .filter_map(|s| Some((*s, quick.run(self.frame(*s), self.start(*s), first, effort)?)))
            .collect();
        // Costs of the looks and of what comes of them are compared at one spread.
        let spread =
            looked.iter().map(|t| spread_of(quick.data, &t.1)).fold(f64::INFINITY, f64::min);
        let mut tried: Vec<(f64, Outcome)> = Vec::new();
        let mut least = f64::INFINITY;
        for (signed, looked_cost) in compare(quick.data, &looked, quick.priors) {
            let Some((_, look)) = looked.iter().find(|t| t.0 == signed) else { continue };
            // Given up only against something that fits: a look has not converged.
            let good = tried.iter().any(|(_, o)| is_good(quick.data, o));
            if good && looked_cost > HOPELESS * least {
                continue;
            }
            let done = quick.run(self.frame(signed), look.params, self.free, Effort::QUICK);
            if let Some(done) = done.map(|done| held_square(quick, done)) {
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

    /// Square flanks from the start, where nothing fits well: a fit that may turn flanks which the crest
    /// hides can lose its way before it finds them square. Replaces in `tried` what is bettered, and
    /// returns what was replaced.
    fn square(&self, tried: &mut [(f64, Outcome)]) -> Vec<(f64, Outcome)> {
        let quick = self.quick;
        let flanks = [Param::TanRight, Param::TanLeft];
        let free: Vec<Param> = self.free.iter().copied().filter(|p| !flanks.contains(p)).collect();
        let mut replaced = Vec::new();
        let fits =
            |o: &Outcome| median_off_px(quick.data, o) < FITS_PX || is_all_noise(quick.data, o);
        if tried.iter().any(|(_, o)| fits(o)) {
            return replaced;
        }
        for (signed, found) in tried {
            let mut start = self.start(*signed);
            // The groove stays as wide at the middle of its depth.
            let slopes: f64 = flanks.iter().map(|f| start[*f]).sum();
            start[Param::CrestFlat] += 0.5 * start[Param::Depth] * slopes;
            for flank in flanks {
                start[flank] = 0.0;
            }
            let Some(square) = quick.run(self.frame(*signed), start, &free, Effort::QUICK) else {
                continue;
            };
            if gain(quick, found, &square, &square.masked) > clearly(quick, &square) {
                let before = std::mem::replace(found, square);
                replaced.push((*signed, before));
            }
        }
        replaced
    }

    /// Rounded corners. Replaces in `tried` what is bettered, and returns what was replaced.
    fn rounded(&self, tried: &mut [(f64, Outcome)]) -> Vec<(f64, Outcome)> {
        let quick = self.quick;
        let mut replaced = Vec::new();
        let order = compare(quick.data, tried, quick.priors);
        let least = order.first().map_or(0.0, |o| o.1);
        for (signed, own) in order {
            let Some(i) = tried.iter().position(|t| t.0 == signed) else { continue };
            let sharp = &tried[i].1;
            let fits = is_good(quick.data, sharp);
            let blunt = Blunt::of(quick.data, sharp, quick.blur_px);
            let wanted = [Param::CrestRound, Param::RootRound].iter().any(|p| blunt.wants(*p));
            if (fits && !wanted) || own > HOPELESS * HOPELESS * least {
                continue;
            }
            let roundings = [Param::CrestRound, Param::RootRound];
            // A flank that the sharp form held square is held there only where that form is the start.
            let was_held = sharp.free.len() < self.free.len();
            let starts = [
                (sharp.params, sharp.free.clone(), 0.3),
                (self.start(signed), self.free.to_vec(), 0.8),
            ];
            for (mut start, mut free, fraction) in starts {
                start[Param::CrestRound] = fraction;
                start[Param::RootRound] = fraction;
                free.extend(roundings);
                let outcome = quick.run(self.frame(signed), start, &free, Effort::QUICK);
                let Some(mut outcome) = outcome else { continue };
                if was_held {
                    outcome = held_square(quick, outcome);
                }
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

/// The fit with flanks of which little or nothing is seen held square, unless they are clearly not: as
/// long as they are hidden their angle moves nothing in the shadow, and a fit that may turn them comes
/// to rest where they begin to show, wherever that is.
fn held_square(quick: &Fitting<'_>, fit: Outcome) -> Outcome {
    let in_doubt = |param: &Param| {
        let flank = match param {
            Param::TanRight => Piece::FlankRight,
            Param::TanLeft => Piece::FlankLeft,
            _ => return false,
        };
        is_in_doubt(quick.data, &fit, flank)
    };
    let (held, free): (Vec<Param>, Vec<Param>) = fit.free.iter().partition(|p| in_doubt(p));
    if held.is_empty() {
        return fit;
    }
    let mut start = fit.params;
    for param in held {
        start[param] = 0.0;
    }
    let Some(square) = quick.run(fit.frame, start, &free, Effort::QUICK) else { return fit };
    // Where a flank shows there is a corner more: what either leaves out speaks for neither.
    let masked: Vec<bool> = fit.masked.iter().zip(&square.masked).map(|(a, b)| a | b).collect();
    if gain(quick, &square, &fit, &masked) < clearly(quick, &fit) { square } else { fit }
}

/// Hypotheses and their costs, at the spread of the best, least cost first.
fn compare(data: &[Datum], tried: &[(f64, Outcome)], priors: &[Prior]) -> Vec<(f64, f64)> {
    let spread = tried.iter().map(|t| spread_of(data, &t.1)).fold(f64::INFINITY, f64::min);
    let mut costs: Vec<(f64, f64)> =
        tried.iter().map(|(signed, o)| (*signed, cost_at(data, o, priors, spread))).collect();
    costs.sort_by(|a, b| a.1.total_cmp(&b.1));
    costs
}

/// Whether a fit keeps near enough to the outline to be the truth, in an ordinary picture.
fn is_good(data: &[Datum], o: &Outcome) -> bool {
    median_off_px(data, o) < GOOD_PX
}

/// Whether what a fit leaves over is next to nothing, or no more than the noise of the edges, so that
/// nothing else could fit better.
fn is_all_noise(data: &[Datum], o: &Outcome) -> bool {
    let off_px = median_off_px(data, o);
    off_px < NOTHING_PX || (off_px < GOOD_PX && spread_of(data, o) < ALL_NOISE)
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
