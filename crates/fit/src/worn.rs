//! A form of which no more than a stretch of the thread need be left.
//!
//! Where few teeth are worn, robust weights leave them out. Where most are, a fit settles between the two
//! kinds of teeth, or on the worn ones: then it is begun again on one stretch after another, and the form
//! found there is laid along the whole thread. Wear takes metal away and never adds any, which tells the
//! one kind from the other.

use crate::candidates::Candidates;
use crate::data::{Datum, On};
use crate::measure::{FitError, GOOD_PX, QUICK_DATA, Setting, median_off_px};
use crate::params::{Param, Params};
use crate::robust::{Effort, Fitting, Outcome, TUKEY, spread};

/// The likeliest hand and starts, and the fit of all the outline with them.
pub(crate) struct Found {
    /// `(signed starts, cost)` of every hypothesis tried.
    pub hypotheses: Vec<(f64, f64)>,
    /// Parameters of the likeliest hypothesis and, with their signed starts, of the others, on few data.
    pub best: Params,
    pub others: Vec<(f64, Params)>,
    /// The fit of all the outline.
    pub outcome: Outcome,
}

impl Found {
    /// From all of the thread, or, where that follows neither kind of teeth, from one stretch of it.
    pub fn find(
        setting: &Setting<'_>,
        quick: &Fitting<'_>,
        full: &Fitting<'_>,
        tell: &dyn Fn(f32) -> bool,
    ) -> Result<Self, FitError> {
        let found = Self::of(setting, quick, full, tell);
        match found {
            Ok(found) if is_ill(full, &found.outcome) => elsewhere(setting, full, found, tell),
            found => found,
        }
    }

    fn of(
        setting: &Setting<'_>,
        quick: &Fitting<'_>,
        full: &Fitting<'_>,
        tell: &dyn Fn(f32) -> bool,
    ) -> Result<Self, FitError> {
        let on_all = |o: &Outcome| match setting.stretch {
            None => full.run(o.frame, o.params, &o.free, Effort::FULL),
            Some(_) => {
                let laid = laid_along(full, o)?;
                full.run(o.frame, laid, &o.free, Effort::PARTED)
            }
        };
        let Candidates { hypotheses, best, others, rivals } =
            Candidates::find(setting, quick, tell)?;
        let mut outcome: Option<Outcome> = None;
        let worth = |o: &Outcome| median_off_px(full.data, o);
        for start in std::iter::once(&best).chain(&rivals) {
            if outcome.as_ref().is_some_and(|o| worth(o) < GOOD_PX) {
                break;
            }
            if let Some(tried) = on_all(start)
                && outcome.as_ref().is_none_or(|o| worth(&tried) < worth(o))
            {
                outcome = Some(tried);
            }
        }
        let outcome = outcome
            .ok_or_else(|| FitError::TooLittle("the fit broke down on the full outline".into()))?;
        Ok(Self { hypotheses, best: best.params, others, outcome })
    }
}

/// The form found on a stretch laid along the whole thread: the view, and the scale without the bar, are
/// found for it, so that what is worn elsewhere cannot pull on the form.
fn laid_along(full: &Fitting<'_>, o: &Outcome) -> Option<Params> {
    const VIEW: [Param; 8] = [
        Param::Scale,
        Param::Phase,
        Param::Roll,
        Param::AxisX,
        Param::Tilt,
        Param::InverseDistance,
        Param::FootX,
        Param::FootZ,
    ];
    let thread: Vec<Datum> =
        full.data.iter().filter(|d| matches!(d.on, On::Thread(_))).cloned().collect();
    let free: Vec<Param> = VIEW.into_iter().filter(|p| o.free.contains(p)).collect();
    let laid = Fitting { data: &thread, ..*full }.run(o.frame, o.params, &free, Effort::QUICK)?;
    Some(laid.params)
}

/// Median residual, px, and deviation of the residuals in units of their own, from which on a fit may
/// follow worn teeth and unworn ones half.
const ILL_PX: f64 = 0.05;
const ILL_SPREAD: f64 = 2.5;
/// Part of the outline far outside a fit from which on it may follow worn teeth: dirt is less.
const ILL_OUTSIDE: f64 = 0.04;

fn is_ill(full: &Fitting<'_>, o: &Outcome) -> bool {
    let data = full.data;
    let spread = spread(data, &o.evaluated.off_px, &o.masked);
    // A hand that traces wavers by more than the noise of its line.
    let astray = !full.drawn_line && median_off_px(data, o) > ILL_PX && spread > ILL_SPREAD;
    astray || outside(data, o, |d| (TUKEY * spread * d.sigma).max(GOOD_PX)) > ILL_OUTSIDE
}

/// Part of the thread's data that lie outside a fit by more than so much, px.
fn outside(data: &[Datum], o: &Outcome, by_px: impl Fn(&Datum) -> f64) -> f64 {
    part(data, o, |d, off| off > by_px(d))
}

/// Part of the thread's data, corners that blur has rounded left out, of which something is true by their
/// distance from a fit, px.
fn part(data: &[Datum], o: &Outcome, is: impl Fn(&Datum, f64) -> bool) -> f64 {
    let sharp = || {
        let all = data.iter().zip(&o.evaluated.off_px).zip(&o.masked);
        all.filter(|((d, _), masked)| !**masked && matches!(d.on, On::Thread(_)))
    };
    let those = sharp().filter(|((d, off), _)| is(d, **off)).count();
    those as f64 / sharp().count().max(1) as f64
}

/// Stretches of the thread, as parts of its length, of which one may be unworn. Common practice: a
/// screw wears least at its ends, beyond the travel.
const STRETCHES: [(f64, f64); 4] = [(0.0, 0.3), (0.7, 1.0), (0.0, 0.5), (0.5, 1.0)];
/// More of the outline that a fit begun on a stretch must follow to be taken, as a part of all of it.
const CLEARLY_MORE: f64 = 0.05;

/// The fit begun on one stretch of the thread after another, where more of the outline follows one of
/// those: between two kinds of teeth, worn and unworn, a fit of both settles on neither.
fn elsewhere(
    setting: &Setting<'_>,
    full: &Fitting<'_>,
    mut found: Found,
    tell: &dyn Fn(f32) -> bool,
) -> Result<Found, FitError> {
    let (low, high) = setting.levelled.span();
    for (from, to) in STRETCHES {
        let at = |part: f64| low + part * (high - low);
        let stretch = Some((at(from), at(to)));
        let Ok(there) = Setting::on(setting.sighting, setting.known, stretch) else { continue };
        let data = there.data(QUICK_DATA);
        let quick = Fitting { data: &data, priors: &there.priors, ..*full };
        let worth = |f: &Found| part_followed(full.data, &f.outcome);
        match Found::of(&there, &quick, full, tell) {
            Err(FitError::Cancelled) => return Err(FitError::Cancelled),
            Ok(tried) if worth(&tried) > worth(&found) + CLEARLY_MORE => found = tried,
            _ => {}
        }
        if !is_ill(full, &found.outcome) {
            break;
        }
    }
    Ok(found)
}

/// Part of the thread's data that lie on a fit as closely as their noise allows, less the part that lies
/// outside it: wear takes metal away and never adds any.
fn part_followed(data: &[Datum], o: &Outcome) -> f64 {
    let near = |d: &Datum| 3.0 * d.sigma;
    part(data, o, |d, off| off.abs() < near(d)) - outside(data, o, near)
}
