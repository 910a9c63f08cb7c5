//! Whether the picture plane leans, and whether the screw tapers.
//!
//! Both make one end of the shadow thicker than the other. A leaning plane (a wall, a page
//! photographed askew) and a screw that tilts before a near camera change the pitch and the depth of
//! the teeth by as much as the diameter; a taper leaves them alone. That, and the bar, is what tells
//! them apart.

use crate::measure::{Best, Setting, clearly, gain, median_off_px};
use crate::measurement::Warning;
use crate::params::{COUNT, Param, Params};
use crate::problem::{Belief, Block};
use crate::robust::{Effort, Fitting, Outcome};
use crate::uncertainty::{Gradient, Uncertainty};
use form::{Quantity, mm, sentence};

/// What lets the picture plane lean against the plane of the shadow.
pub const KEYSTONE: [Param; 4] = [Param::KeystoneZ, Param::KeystoneX, Param::Aspect, Param::Shear];
/// Fall of the cost that a first-order look must promise before a second fit is made.
const WORTH_TRYING: f64 = 100.0;

/// Part of what a leaning plane and a taper would explain together that a taper must explain alone to
/// be tried first.
const NEARLY_ALL: f64 = 0.8;

/// Standard uncertainty from which a taper is not told: 1:16 would be less than five of it away from
/// a parallel thread.
const TELLABLE_U: f64 = 0.0135;
/// No taper is known better than this: what lens and raster leave over. Empirical.
const FLOOR_U: f64 = 2e-5;
/// Taper up to which a thread passes for parallel: 0.1 mm of diameter in a metre.
const PARALLEL: f64 = 1e-4;
/// Lean, as a part by which one side is larger than the other, up to which a plane passes for upright:
/// it explains no more than lens and blur leave over, and letting it in would cost the picture the
/// stretch that no outline tells. Empirical.
const SLIGHT_LEAN: f64 = 0.003;
/// Least taper worth a sentence: 1 mm of diameter in 500 mm. Empirical.
const NOTABLE: f64 = 0.002;

/// Sum of squared deviations from what is believed at which a fit has strayed.
const STRAINED: f64 = 30.0;

/// How often the eye's foot is walked aside, at most.
const WALKS: usize = 4;
/// Fall of the cost, as a chi-square, for which another step is taken.
const WORTH_WALKING: f64 = 0.5;

/// A second thought about a fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Thought {
    Leans,
    Tapers,
}

impl Thought {
    const ALL: [Self; 2] = [Self::Leans, Self::Tapers];

    fn params(self) -> &'static [Param] {
        match self {
            Self::Leans => &KEYSTONE,
            Self::Tapers => &[Param::Taper],
        }
    }

    /// What the data speak of by itself: stretch and shear are second thoughts of the keystone.
    fn spoken_of(self) -> &'static [Param] {
        match self {
            Self::Leans => &KEYSTONE[..2],
            Self::Tapers => &[Param::Taper],
        }
    }

    fn is_in(self, free: &[Param]) -> bool {
        self.params().iter().all(|p| free.contains(p))
    }
}

fn with(free: &[Param], more: &[Param]) -> Vec<Param> {
    free.iter().chain(more.iter().filter(|m| !free.contains(m))).copied().collect()
}

/// Lets the plane lean and the screw taper where the data clearly want it, and takes either out again
/// that an earlier step let in and the other one makes needless.
pub fn reconsidered(full: &Fitting<'_>, mut outcome: Outcome) -> Outcome {
    for _ in Thought::ALL {
        let better = Thought::ALL
            .into_iter()
            .filter_map(|t| tried(full, &outcome, t))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, better)) = better else { break };
        outcome = better;
    }
    if Thought::ALL.into_iter().all(|t| t.is_in(&outcome.free)) {
        for thought in Thought::ALL {
            if let Some(without) = needless(full, &outcome, thought) {
                return without;
            }
        }
    } else if let Some(without) = needless(full, &outcome, Thought::Tapers) {
        return without;
    }
    outcome
}

/// A fit with more freedom and what it gains, if that is clear.
fn tried(full: &Fitting<'_>, plain: &Outcome, thought: Thought) -> Option<(f64, Outcome)> {
    if thought.is_in(&plain.free) || (thought == Thought::Tapers && !both_edges(full)) {
        return None;
    }
    let more = thought.spoken_of().iter().copied().filter(|p| !plain.free.contains(p));
    if full.promised_gain(plain, &more.collect::<Vec<_>>())? < WORTH_TRYING {
        return None;
    }
    let free = with(&plain.free, thought.params());
    let tried = full.run(plain.frame, plain.params, &free, Effort::FULL)?;
    let slight = match thought {
        Thought::Tapers => tried.params[Param::Taper].abs() < PARALLEL,
        Thought::Leans => lean_over(full, &tried.params) < SLIGHT_LEAN,
    };
    if slight {
        return None;
    }
    let gained = gain(full, plain, &tried, &plain.masked);
    (gained > clearly(full, &tried)).then_some((gained, tried))
}

/// By how much the plane's lean makes one end or edge of the thread larger than the other.
fn lean_over(full: &Fitting<'_>, p: &Params) -> f64 {
    let length_mm = (full.span_px.1 - full.span_px.0) / p[Param::Scale];
    let along = p[Param::KeystoneZ] * length_mm;
    let across = p[Param::KeystoneX] * 2.0 * p[Param::CrestR];
    along.abs().max(across.abs())
}

/// The fit begun again with what is believed of eye and bar held, where it has strayed far from that: in
/// a valley as bent as that of a leaning plane it can come to rest in a place of its own.
pub fn recalled(full: &Fitting<'_>, o: Outcome) -> Outcome {
    let shape = o.frame.bar_shape;
    let strain = |o: &Outcome| -> f64 {
        full.priors.iter().map(|q| (q.belief.residual(&o.params, shape) / q.sd).powi(2)).sum()
    };
    let strained = strain(&o);
    if strained < STRAINED {
        return o;
    }
    let (mut params, mut free) = (o.params, o.free.clone());
    for q in full.priors {
        let of_eye_or_bar = matches!(q.block, Block::Camera | Block::BarWidth | Block::BarDrop);
        if let (Belief::Near(param, value), true) = (q.belief, of_eye_or_bar)
            && o.free.contains(&param)
        {
            params[param] = value;
            free.retain(|f| *f != param);
        }
    }
    let Some(near) = full.run(o.frame, params, &free, Effort::QUICK) else { return o };
    let Some(again) = full.run(o.frame, near.params, &o.free, Effort::FULL) else { return o };
    let eased = strained - strain(&again);
    // Dirt costs either fit what it will: where most of the outline fits no worse, belief decides.
    let no_worse = median_off_px(full.data, &again) <= median_off_px(full.data, &o);
    let better = gain(full, &o, &again, &again.masked) + eased > 0.0;
    if eased > 0.0 && (no_worse || better) { again } else { o }
}

/// The fit without a freedom that gains it nothing clear.
fn needless(full: &Fitting<'_>, rich: &Outcome, thought: Thought) -> Option<Outcome> {
    if !thought.is_in(&rich.free) {
        return None;
    }
    let free: Vec<Param> =
        rich.free.iter().copied().filter(|p| !thought.params().contains(p)).collect();
    let mut params = rich.params;
    for p in thought.params() {
        params[*p] = 0.0;
    }
    let without = full.run(rich.frame, params, &free, Effort::FULL)?;
    (gain(full, &without, rich, &rich.masked) < clearly(full, rich)).then_some(without)
}

/// The parameters to free next where a slight taper explains, to first order, nearly all of what a
/// leaning plane and a taper together would of the misfit of every fit so far.
pub fn taper_explains(
    setting: &Setting<'_>,
    quick: &Fitting<'_>,
    free: &[Param],
    tried: &[(f64, Outcome)],
) -> Option<Vec<Param>> {
    let taken = free.contains(&Param::Taper) || free.contains(&Param::KeystoneZ);
    if taken || setting.one_edge.is_some() {
        return None;
    }
    let tapered = with(free, Thought::Tapers.params());
    let (_, best) = tried.iter().min_by(|a, b| {
        let off = |o: &Outcome| median_off_px(quick.data, o);
        off(&a.1).total_cmp(&off(&b.1))
    })?;
    let promised = |more: &[Param]| quick.promised_gain(best, more);
    let by_taper = promised(Thought::Tapers.spoken_of())?;
    let by_both = promised(&[Thought::Leans.spoken_of(), Thought::Tapers.spoken_of()].concat())?;
    (by_taper > WORTH_TRYING && by_taper > NEARLY_ALL * by_both).then_some(tapered)
}

/// One edge alone may taper or be turned: nothing tells.
pub fn both_edges(full: &Fitting<'_>) -> bool {
    use crate::data::On;
    use form::shadow::Edge;
    [Edge::Upper, Edge::Lower].iter().all(|e| full.data.iter().any(|d| d.on == On::Thread(*e)))
}

/// The taper on the diameter, with what a leaning plane could pretend of it in its uncertainty
/// whether or not the fit has one; `None` with a warning where the picture does not tell. `excess` is
/// the factor by which everything is widened.
pub(crate) fn taper(
    setting: &Setting<'_>,
    best: &Best,
    excess: f64,
    warnings: &mut Vec<Warning>,
) -> Option<Quantity> {
    let unknown = |why: &str| {
        Warning::new(
            "taper-unknown",
            format!(
                "Whether the thread tapers cannot be told from this picture: {why}. Measure the \
                 diameter at two places and enter the taper."
            ),
        )
    };
    if setting.one_edge.is_some() {
        warnings.push(unknown("one edge alone may taper or lie askew"));
        return None;
    }
    let o = &best.outcome;
    // How a plane may lean; what stretch goes with it is no rival of a taper.
    let open = with(&with(&o.free, &[Param::Taper]), Thought::Leans.spoken_of());
    let u = Uncertainty::with_free(best, open, setting)
        .map(|u| {
            excess * u.of(&Gradient::of(&|p: &Params| p[Param::Taper], &o.params)).hypot(FLOOR_U)
        })
        .filter(|u| u.is_finite() && *u <= TELLABLE_U);
    let Some(u) = u else {
        warnings.push(unknown(
            "too few teeth are seen clearly to tell a taper from a leaning picture plane or a \
             tilted screw",
        ));
        return None;
    };
    let value = if o.free.contains(&Param::Taper) {
        o.params[Param::Taper]
    } else {
        // What freeing it would lead to: the fit is straight in it over so little.
        best.taper_step
    };
    let taper = Quantity::measured(value, u);
    if is_notable(taper) {
        let end = if value > 0.0 { "right" } else { "left" };
        let place = best.outcome.frame.pivot;
        warnings.push(Warning {
            code: "tapered",
            text: sentence!(
                "The thread is tapered {} on the diameter, thicker towards the {}. Its diameters \
                 are those at the middle of the thread shown; they change by {} with every \
                 {} along the axis.",
                ratio(taper),
                end,
                mm(10.0 * value.abs(), 3),
                mm(10.0, 0)
            ),
            at_px: Some((place.0 - 20.0, place.1 - 20.0, 40.0, 40.0)),
        });
    }
    Some(taper)
}

/// Whether a taper stands out of its uncertainty and is worth a sentence.
pub fn is_notable(taper: Quantity) -> bool {
    taper.value.abs() > NOTABLE.max(3.0 * taper.u)
}

/// A taper as `1:16`, no finer than it is known.
pub fn ratio(taper: Quantity) -> String {
    let one_in = 1.0 / taper.value.abs();
    let u = taper.u * one_in * one_in;
    let unit = if u > 0.0 { 10f64.powi(u.log10().floor() as i32).clamp(0.1, 100.0) } else { 0.1 };
    let rounded = (one_in / unit).round() * unit;
    // A whole number that cannot be told from what was found is what it is called by.
    let whole = one_in.round();
    let shown = if (one_in - whole).abs() <= 2.0 * u { whole } else { rounded };
    if shown.fract().abs() < 1e-6 { format!("1:{shown:.0}") } else { format!("1:{shown:.1}") }
}

/// A plane that leans across the axis and an eye that stands aside are nearly the same picture: turn eye
/// and plane about the axis together, and a screw, which looks the same from all around, shows the same
/// outline. Only the bar's place and what is believed of the eye's tell them apart, along a valley so
/// narrow and bent that its bottom, to first order, seems shut. So it is walked: the fit is made again
/// with the eye's foot held one standard deviation of that belief aside.
///
/// What that changes in every parameter is the answer, less where the data object; with it a fit that
/// follows the edges better, if the walk came upon one. `None` where the plane does not lean.
pub(crate) fn swing(
    full: &Fitting<'_>,
    setting: &Setting<'_>,
    o: &Outcome,
    correlation: f64,
) -> Option<(Option<Outcome>, [f64; COUNT])> {
    if !(o.free.contains(&Param::KeystoneX) && o.free.contains(&Param::FootX)) {
        return None;
    }
    let (believed, sd) = setting.priors.iter().find_map(|q| match q.belief {
        Belief::Near(Param::FootX, value) => Some((value, q.sd)),
        _ => None,
    })?;
    let held: Vec<Param> = o.free.iter().copied().filter(|p| *p != Param::FootX).collect();
    let aside = |from: &Outcome| {
        let mut params = from.params;
        params[Param::FootX] += sd.copysign(believed - params[Param::FootX]);
        full.run(from.frame, params, &held, Effort::FULL)
    };
    let belief = |o: &Outcome| ((o.params[Param::FootX] - believed) / sd).powi(2);
    let mut at: Option<Outcome> = None;
    let mut walked = aside(o)?;
    for _ in 0..WALKS {
        let from = at.as_ref().unwrap_or(o);
        let better = gain(full, from, &walked, &from.masked) + belief(from) - belief(&walked);
        if better < WORTH_WALKING {
            break;
        }
        let next = aside(&walked);
        walked.free.clone_from(&o.free);
        at = Some(walked);
        walked = next?;
    }
    let from = at.as_ref().unwrap_or(o);
    let rise = (-gain(full, from, &walked, &from.masked)).max(0.0) / correlation.max(1.0);
    let doubt = (1.0 + rise).sqrt().recip();
    let mut by = [0.0; COUNT];
    for p in Param::ALL {
        by[p as usize] = doubt * (walked.params[p] - from.params[p]);
    }
    Some((at, by))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_taper_is_called_by_its_ratio() {
        let of = |value: f64, u: f64| ratio(Quantity::measured(value, u));
        assert_eq!(of(0.0625, 0.0004), "1:16");
        assert_eq!(of(-0.0623, 0.0004), "1:16");
        assert_eq!(of(0.06, 0.0001), "1:16.7");
        assert_eq!(of(0.01, 0.0005), "1:100");
    }
}
