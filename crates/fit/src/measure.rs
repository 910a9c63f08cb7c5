//! From a sighting to a measurement.

use crate::corners::{Blunt, hidden_root_mm};
use crate::data::{self, Datum, On, bar_edge, thin};
use crate::known::{BarDrop, BarShape, Known, ViewWanted};
use crate::lean;
use crate::measurement::Measurement;
use crate::model::{Frame, folded};
use crate::params::{COUNT, Param, Params};
use crate::problem::{Belief, Block, Prior};
use crate::report;
use crate::robust::{Effort, Fitting, Outcome, cost};
use crate::start::{self, Folded, Levelled, fold};
use crate::worn::Found;
use form::shadow::Edge;
use form::{Hand, Said, Sentence, mm_as_given, sentence};
use picture::{Bar, Drawn, EdgePoint, Thread};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use thiserror::Error;

/// What was found in a picture.
#[derive(Debug, Clone)]
pub struct Sighting {
    /// Width of the picture, px.
    pub width_px: usize,
    /// Height of the picture, px.
    pub height_px: usize,
    /// Shadow or drawn line.
    pub drawn: Drawn,
    /// The reference bar's edges.
    pub bar: Bar,
    /// The thread's edges.
    pub thread: Thread,
}

/// Why a sighting could not be measured.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FitError {
    /// Stopped by the person.
    Cancelled,
    /// Too little to fit.
    TooLittle(Sentence),
}

impl Said for FitError {
    fn said(&self) -> Sentence {
        match self {
            Self::Cancelled => sentence!("stopped"),
            Self::TooLittle(why) => why.clone(),
        }
    }
}

form::said_by_display!(FitError);

/// Observations kept per edge of the thread in the final fit.
const EDGE_DATA: usize = 400;
/// Observations kept per edge of the thread when hypotheses are compared.
pub(crate) const QUICK_DATA: usize = 200;
/// Median residual with which a hypothesis needs no rival with more starts, px.
pub(crate) const GOOD_PX: f64 = 0.25;
/// Observations kept per edge of the bar.
const BAR_DATA: usize = 80;

/// Believed tilt of an axis laid square to the view by eye, radians.
const TILT_RAD: f64 = 0.026;
/// Standard deviation of the stretch and shear believed of a picture of a leaning plane.
const ASPECT: f64 = 0.015;
/// Believed distortion of a lens at the corner of the picture, as a fraction.
const LENS: f64 = 0.004;
/// Relative standard deviation of a distance estimated from the focal length in the picture file.
const FOCAL_DOUBT: f64 = 0.15;
/// Fraction of the largest radius from which a crest or root counts as fully rounded: the difference
/// is a flat of a few hundredths of the pitch that no picture shows.
pub(crate) const FULLY_ROUNDED: f64 = 0.97;
/// Least standard uncertainty of a bar's drop that nobody measured, mm.
const DROP_DOUBT_MM: f64 = 0.05;

/// Everything the steps of a measurement share.
pub(crate) struct Setting<'a> {
    pub sighting: &'a Sighting,
    pub known: &'a Known,
    pub frame: Frame,
    pub levelled: Levelled,
    /// The stretch of the thread that is looked at, px along the axis from the pivot; all of it when
    /// `None`.
    pub stretch: Option<(f64, f64)>,
    /// The upper and the lower edge folded onto one pitch; `None` for one that is not there.
    pub folded: [Option<Folded>; 2],
    pub start: Params,
    pub priors: Vec<Prior>,
    pub blur_px: f64,
    pub one_edge: Option<Edge>,
    /// Taper on the diameter as it seems at first sight, with what the pitch says of a leaning plane
    /// taken off.
    pub seems_tapered: f64,
    /// Keystone along and across the axis, 1/mm, as it seems at first sight.
    pub seems_leaning: (f64, f64),
}

/// Measures the thread in a sighting. `progress` is told a fraction done (0 to 1) and answers
/// whether to go on.
///
/// # Errors
/// [`FitError`] when the sighting holds too little, or `progress` said stop.
pub fn measure(
    sighting: &Sighting,
    known: &Known,
    progress: &(dyn Fn(f32) -> bool + Sync),
) -> Result<Measurement, FitError> {
    let setting = Setting::new(sighting, known)?;
    let stopped = AtomicBool::new(false);
    // Whoever only asks whether to go on says where the work began; it never goes back there. The bits
    // of numbers that are not negative are in their order.
    let furthest = AtomicU32::new(0);
    let tell = |fraction: f32| {
        let before = furthest.fetch_max(fraction.to_bits(), Ordering::Relaxed);
        if !progress(fraction.max(f32::from_bits(before))) {
            stopped.store(true, Ordering::Relaxed);
        }
        !stopped.load(Ordering::Relaxed)
    };
    // Among rayon's threads from here on: to call them from outside costs more than an edge takes.
    let result = rayon::scope(|_| run(&setting, &tell));
    if stopped.into_inner() {
        return Err(FitError::Cancelled);
    }
    let chosen = result?;
    report::report(&setting, &chosen)
}

/// The best fit and how the alternatives compare.
pub(crate) struct Best {
    pub outcome: Outcome,
    pub data: Vec<Datum>,
    /// `(signed starts, cost)` of every hypothesis tried, costs comparable.
    pub hypotheses: Vec<(f64, f64)>,
    /// What every other hypothesis would change in the parameters, as `(signed starts, parameters of
    /// the chosen one, of the other)`: both from the same few data.
    pub others: Vec<(f64, Params, Params)>,
    /// Correlation time of residuals along an edge, in data.
    pub correlation: f64,
    /// Radii that were tried for and not clearly wanted, mm: none, or up to so much.
    pub unresolved: Unresolved,
    /// Taper that freeing it would lead to, to first order, where it is not free.
    pub taper_step: f64,
    /// Where a diameter that nothing tells is much smaller, and much larger, than the one fitted.
    pub other_diameters: Vec<Params>,
    /// What a doubt of one standard deviation about the eye's place over a leaning plane does to every
    /// parameter; `None` where the plane does not lean. See [`crate::lean::swing`].
    pub swing: Option<[f64; COUNT]>,
}

/// Of corners whose rounding is not fitted: the radius that may be there where none is held, and by how
/// much less was found where the largest that fits is held; mm.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Unresolved {
    pub crest_mm: f64,
    pub root_mm: f64,
}

impl Unresolved {
    pub fn of(&mut self, param: Param) -> &mut f64 {
        if param == Param::RootRound { &mut self.root_mm } else { &mut self.crest_mm }
    }
}

fn run(setting: &Setting<'_>, tell: &(dyn Fn(f32) -> bool + Sync)) -> Result<Best, FitError> {
    let go_on = || tell(0.1);
    let quick_data = setting.data(QUICK_DATA);
    let quick = Fitting {
        data: &quick_data,
        priors: &setting.priors,
        span_px: setting.levelled.span(),
        blur_px: setting.blur_px,
        drawn_line: setting.sighting.drawn == Drawn::Line,
        go_on: &go_on,
    };
    let data = setting.data(EDGE_DATA);
    let full = Fitting { data: &data, ..quick };
    let Found { hypotheses, best, others, mut outcome } =
        Found::find(setting, &quick, &full, tell)?;
    tell(0.6);
    outcome = lean::reconsidered(&full, outcome);
    outcome = lean::recalled(&full, outcome);
    tell(0.7);
    let mut unresolved = Unresolved::default();
    let wanted = roundings_wanted(&full, &outcome);
    let look = look_for_rounding(&quick, &outcome, &wanted);
    for param in [Param::RootRound, Param::CrestRound] {
        let better = if outcome.free.contains(&param) {
            let held = without_rounding(&full, &outcome, param);
            if let Some(full_round) = held.as_ref().filter(|o| o.params[param] > 0.0) {
                let short = 1.0 - folded(outcome.params[param]);
                *unresolved.of(param) = short * radius_mm(full_round, param);
            }
            held
        } else {
            let Some(look) = look.as_ref().filter(|_| wanted.contains(&param)) else { continue };
            let mut found_mm = radius_mm(look, param);
            let mut better = None;
            if radius_px(look, param) > 0.5 * full.blur_px {
                (better, found_mm) = try_rounding(&full, &outcome, look.params[param], param);
            }
            if better.is_none() {
                *unresolved.of(param) = found_mm;
            }
            better
        };
        if let Some(better) = better {
            outcome = better;
        }
    }
    if outcome.params[Param::RootRound] == 0.0 {
        // And what then stands out by half a blur passes for one.
        let blur_mm = 0.5 * setting.blur_px / outcome.params[Param::Scale];
        unresolved.root_mm = unresolved.root_mm.max(hidden_root_mm(&outcome) + blur_mm);
    }
    tell(0.9);
    let correlation = correlation_time(&data, &outcome);
    let swing = match lean::swing(&full, setting, &outcome, correlation) {
        Some((better, swing)) => {
            outcome = better.unwrap_or(outcome);
            Some(swing)
        }
        None => None,
    };
    let other_diameters =
        if setting.tells_no_diameter() { other_diameters(&full, &outcome) } else { Vec::new() };
    let others = others.into_iter().map(|(signed, p)| (signed, best, p)).collect();
    let taper_step = full.promised_step(&outcome, Param::Taper).unwrap_or(0.0);
    Ok(Best {
        outcome,
        data,
        hypotheses,
        others,
        correlation,
        unresolved,
        taper_step,
        other_diameters,
        swing,
    })
}

/// Diameter of a screw, in pitches, and its standard deviation, where there is nothing but belief.
const USUAL_PITCHES: f64 = 7.0;
const USUAL_PITCHES_SD: f64 = 2.5;
/// Diameters, as parts of the one fitted, between which one that nothing tells is looked for: screws of
/// four to eleven pitches' diameter where seven was the guess.
const OTHER_DIAMETERS: [f64; 2] = [0.6, 1.6];

/// The fit with the diameter held elsewhere. What one edge says of the flanks depends on it by more
/// than a straight line.
fn other_diameters(full: &Fitting<'_>, o: &Outcome) -> Vec<Params> {
    let free: Vec<Param> = o.free.iter().copied().filter(|p| *p != Param::CrestR).collect();
    OTHER_DIAMETERS
        .into_iter()
        .filter_map(|part| {
            let mut params = o.params;
            let by = (part - 1.0) * params[Param::CrestR];
            params[Param::CrestR] += by;
            // The edge stays where it is seen: the axis moves.
            params[Param::AxisX] +=
                if full.data.iter().any(|d| d.on == On::Thread(Edge::Upper)) { -by } else { by };
            Some(full.run(o.frame, params, &free, Effort::QUICK)?.params)
        })
        .collect()
}

/// Takes a rounding out again that blur alone explains, or holds it at the largest that fits.
fn without_rounding(full: &Fitting<'_>, with: &Outcome, param: Param) -> Option<Outcome> {
    let free: Vec<Param> = with.free.iter().copied().filter(|f| *f != param).collect();
    let mut params = with.params;
    if radius_px(with, param) < full.blur_px {
        params[param] = 0.0;
    } else if folded(params[param]) >= FULLY_ROUNDED {
        params[param] = 1.0;
    } else {
        return None;
    }
    full.run(with.frame, params, &free, Effort::FULL)
}

fn radius_mm(o: &Outcome, param: Param) -> f64 {
    let section = o.evaluated.model.profile.section();
    if param == Param::RootRound { section.root_radius_mm() } else { section.crest_radius_mm() }
}

fn radius_px(o: &Outcome, param: Param) -> f64 {
    radius_mm(o, param) * o.params[Param::Scale]
}

/// Median distance of the thread's data from the fitted outline, px.
pub(crate) fn median_off_px(data: &[Datum], o: &Outcome) -> f64 {
    let mut offs: Vec<f64> = data
        .iter()
        .zip(&o.evaluated.off_px)
        .zip(&o.masked)
        .filter(|((d, _), masked)| !**masked && matches!(d.on, On::Thread(_)))
        .map(|((_, off), _)| off.abs())
        .collect();
    if offs.is_empty() {
        return f64::INFINITY;
    }
    let middle = offs.len() / 2;
    *offs.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Fall of the robust cost from one fit to another, over the same data at the same spread.
pub(crate) fn gain(full: &Fitting<'_>, from: &Outcome, to: &Outcome, masked: &[bool]) -> f64 {
    let of = |o: &Outcome| cost(full.data, &o.evaluated.off_px, masked, to.spread);
    of(from) - of(to)
}

/// The fall of the cost that one more parameter must bring. Residuals of neighbours are not
/// independent: far more is asked than an information criterion of independent data would.
pub(crate) fn clearly(full: &Fitting<'_>, o: &Outcome) -> f64 {
    12.0 * (full.data.len() as f64).ln() * correlation_time(full.data, o).max(1.0)
}

/// Radii that are not free yet and that the corners call for.
fn roundings_wanted(full: &Fitting<'_>, plain: &Outcome) -> Vec<Param> {
    let blunt = Blunt::of(full.data, plain, full.blur_px);
    [Param::RootRound, Param::CrestRound]
        .into_iter()
        .filter(|p| !plain.free.contains(p) && blunt.wants(*p))
        .collect()
}

/// A hasty fit of few data with the radii that are wanted free: which are worth asking after.
fn look_for_rounding(quick: &Fitting<'_>, plain: &Outcome, wanted: &[Param]) -> Option<Outcome> {
    let mut start = plain.params;
    let mut free = plain.free.clone();
    for param in wanted {
        free.push(*param);
        start[*param] = 0.25;
    }
    if free.len() == plain.free.len() {
        return None;
    }
    quick.run(plain.frame, start, &free, Effort::LOOK)
}

/// Frees a corner radius from a first estimate; keeps it when the data clearly want it. Also the
/// radius that was found, wanted or not, mm.
fn try_rounding(
    full: &Fitting<'_>,
    plain: &Outcome,
    fraction: f64,
    param: Param,
) -> (Option<Outcome>, f64) {
    let mut free = plain.free.clone();
    free.push(param);
    let mut start = plain.params;
    start[param] = folded(fraction);
    // Judged where the rounded form has no corners to hide behind: a sharp form masks the very places
    // that would tell.
    let Some(tried) = full.run(plain.frame, start, &free, Effort::QUICK) else {
        return (None, 0.0);
    };
    let found_mm = radius_mm(&tried, param);
    if gain(full, plain, &tried, &tried.masked) < clearly(full, &tried)
        || radius_px(&tried, param) < full.blur_px
    {
        return (None, found_mm);
    }
    let fitted = full.run(tried.frame, tried.params, &free, Effort::FULL);
    let kept = fitted.map(|f| without_rounding(full, &f, param).unwrap_or(f));
    (kept, found_mm)
}

/// Correlation time of the residuals along the edges: how many data count as one.
pub(crate) fn correlation_time(data: &[Datum], o: &Outcome) -> f64 {
    let of_edge = |edge: Edge| {
        let series: Vec<f64> = data
            .iter()
            .zip(&o.evaluated.off_px)
            .zip(&o.weights)
            .filter(|((d, _), w)| **w > 0.3 && d.on == On::Thread(edge))
            .map(|((d, off), _)| off / d.sigma)
            .collect();
        data::correlation_time(&series)
    };
    of_edge(Edge::Upper).max(of_edge(Edge::Lower))
}

impl<'a> Setting<'a> {
    fn new(sighting: &'a Sighting, known: &'a Known) -> Result<Self, FitError> {
        Self::on(sighting, known, None)
    }

    /// With the first estimate and the data from a stretch of the thread alone, px along the axis from
    /// the pivot.
    pub(crate) fn on(
        sighting: &'a Sighting,
        known: &'a Known,
        stretch: Option<(f64, f64)>,
    ) -> Result<Self, FitError> {
        let Sighting { thread, bar, .. } = sighting;
        let levelled = Levelled::new(thread.axis, &thread.upper, &thread.lower)
            .ok_or_else(|| FitError::TooLittle("no edge of the thread was found".into()))?;
        let within = |points: &[(f64, f64)]| -> Vec<(f64, f64)> {
            let inside =
                |q: &&(f64, f64)| stretch.is_none_or(|(from, to)| q.0 >= from && q.0 <= to);
            points.iter().filter(inside).copied().collect()
        };
        let upper = fold(&within(&levelled.upper), Edge::Upper, thread.pitch_px);
        let lower = fold(&within(&levelled.lower), Edge::Lower, thread.pitch_px);
        let too_little = || {
            FitError::TooLittle(
                format!(
                    "only {:.1} teeth of the thread can be seen clearly; at least 2 are needed",
                    (levelled.span().1 - levelled.span().0) / thread.pitch_px.max(1.0)
                )
                .into(),
            )
        };
        let one_edge = match (&upper, &lower) {
            (Some(_), Some(_)) => None,
            (Some(_), None) => Some(Edge::Upper),
            (None, Some(_)) => Some(Edge::Lower),
            (None, None) => return Err(too_little()),
        };
        let width_mm = known.bar_width_mm.value;
        let scale = bar.width_px / width_mm;
        if !(scale.is_finite() && scale > 0.0) {
            return Err(FitError::TooLittle(sentence!(
                "bar width {} is not a length",
                mm_as_given(width_mm)
            )));
        }
        let centre = (0.5 * sighting.width_px as f64, 0.5 * sighting.height_px as f64);
        let frame = Frame {
            pivot: levelled.pivot,
            axis: levelled.axis,
            bar_axis: bar.axis,
            centre,
            half_diagonal: centre.0.hypot(centre.1),
            bar_shape: known.bar_shape,
            signed_starts: -1.0,
        };
        let start =
            starting_params(upper, lower, known, scale, &frame, bar).ok_or_else(too_little)?;
        let blur_px = median_blur(thread).max(0.5);
        let seems_tapered = match (&upper, &lower) {
            (Some(u), Some(l)) => start::seems_tapered(&levelled, u, l),
            _ => 0.0,
        };
        let seems_leaning = match (&upper, &lower) {
            (Some(u), Some(l)) => start::seems_leaning(u, l, scale),
            _ => (0.0, 0.0),
        };
        let mut setting = Self {
            sighting,
            known,
            frame,
            levelled,
            stretch,
            folded: [upper, lower],
            start,
            priors: Vec::new(),
            blur_px,
            one_edge,
            seems_tapered,
            seems_leaning,
        };
        setting.believe();
        Ok(setting)
    }

    /// Fills in what is believed beforehand, and the starting view with it.
    fn believe(&mut self) {
        let known = self.known;
        let scale = self.start[Param::Scale];
        let near =
            |param, value, sd, block| Prior { belief: Belief::Near(param, value), sd, block };
        let mut priors = vec![
            // So weak that they speak only where a flank or a corner cannot be seen at all.
            near(Param::TanRight, 0.3, 1.0, Block::Lens),
            near(Param::TanLeft, 0.3, 1.0, Block::Lens),
            near(Param::Lens, 0.0, LENS, Block::Lens),
            near(Param::CrestRound, 0.5, 0.5, Block::Lens),
            near(Param::RootRound, 0.5, 0.5, Block::Lens),
            near(Param::BarWidth, known.bar_width_mm.value, self.bar_width_u_mm(), Block::BarWidth),
            near(Param::Tilt, 0.0, TILT_RAD, Block::Camera),
        ];
        match known.bar_drop {
            BarDrop::SameSurface => {
                priors.push(Prior {
                    belief: Belief::SameSurface,
                    sd: DROP_DOUBT_MM,
                    block: Block::BarDrop,
                });
                let own = if known.bar_shape == BarShape::Round {
                    0.5 * known.bar_width_mm.value
                } else {
                    0.0
                };
                self.start[Param::BarDrop] = self.start[Param::CrestR] - own;
            }
            BarDrop::Given(drop) => {
                let u = if drop.u > 0.0 { drop.u } else { 0.5 * DROP_DOUBT_MM };
                priors.push(near(Param::BarDrop, drop.value, u, Block::BarDrop));
                self.start[Param::BarDrop] = drop.value;
            }
        }
        if let Some(d) = known.major_diameter_mm {
            let u = if d.u > 0.0 { d.u } else { 0.01 };
            priors.push(near(Param::CrestR, 0.5 * d.value, 0.5 * u, Block::Diameter));
        }
        if self.tells_no_diameter() {
            let pitch = self.start[Param::Pitch];
            let (usual, sd) = (0.5 * USUAL_PITCHES * pitch, 0.5 * USUAL_PITCHES_SD * pitch);
            priors.push(near(Param::CrestR, usual, sd, Block::Diameter));
        }
        priors.extend(self.keystone_beliefs());
        // The eye stands above the middle of a picture that was not cropped.
        let (dx, dy) =
            (self.frame.centre.0 - self.frame.pivot.0, self.frame.centre.1 - self.frame.pivot.1);
        let (axis, up) = (self.frame.axis, (self.frame.axis.1, -self.frame.axis.0));
        let foot_z = (dx * axis.0 + dy * axis.1) / scale;
        let foot_x = (dx * up.0 + dy * up.1) / scale - self.start[Param::AxisX];
        let width_mm = self.sighting.width_px.max(self.sighting.height_px) as f64 / scale;
        let foot_sd = width_mm * if known.focal_35mm.is_some() { 0.03 } else { 0.12 };
        self.start[Param::FootZ] = foot_z;
        self.start[Param::FootX] = foot_x;
        priors.push(near(Param::FootZ, foot_z, foot_sd, Block::Camera));
        priors.push(near(Param::FootX, foot_x, foot_sd, Block::Camera));
        match known.view {
            ViewWanted::Parallel => self.start[Param::InverseDistance] = 0.0,
            ViewWanted::Distance(d) => {
                let inverse = 1.0 / d.value;
                let doubt = if d.u > 0.0 { d.u / d.value } else { 0.01 };
                self.start[Param::InverseDistance] = inverse;
                priors.push(near(Param::InverseDistance, inverse, doubt * inverse, Block::Camera));
            }
            ViewWanted::Auto => {
                let (inverse, sd) = match self.distance_from_focal() {
                    Some(d) => (1.0 / d, FOCAL_DOUBT / d),
                    None => (1.0 / 350.0, 1.0 / 250.0),
                };
                self.start[Param::InverseDistance] = inverse;
                priors.push(near(Param::InverseDistance, inverse, sd, Block::Camera));
            }
        }
        for prior in &mut priors {
            if matches!(prior.belief, Belief::Near(Param::BarWidth, _)) {
                prior.sd = prior.sd.hypot(self.side_of_block_mm());
            }
        }
        self.priors = priors;
    }

    /// By how much a block may seem wider than its upper face, mm: where it lies beside the foot of the eye,
    /// the side that faces the eye is seen too, and may pass for part of the face. 0 for rods, and for
    /// strips that lie on the surface.
    fn side_of_block_mm(&self) -> f64 {
        let BarDrop::Given(drop) = self.known.bar_drop else { return 0.0 };
        if self.known.bar_shape != BarShape::Flat {
            return 0.0;
        }
        let height_mm = (self.start[Param::CrestR] - drop.value).max(0.0);
        let bar = &self.sighting.bar;
        let middle = bar.corners.iter().fold((0.0, 0.0), |m, c| (m.0 + c.0 / 4.0, m.1 + c.1 / 4.0));
        let (dx, dy) = (middle.0 - self.frame.centre.0, middle.1 - self.frame.centre.1);
        let aside_px = (dy * bar.axis.0 - dx * bar.axis.1).abs() - 0.5 * bar.width_px;
        let aside_mm = aside_px.max(0.0) / self.start[Param::Scale];
        aside_mm * height_mm * self.start[Param::InverseDistance]
    }

    /// Standard uncertainty of the bar's width, mm: as stated, and for which of its sides that is.
    fn bar_width_u_mm(&self) -> f64 {
        let stated = self.known.bar_width_mm;
        let bar = &self.sighting.bar;
        let or_mm = stated.value * bar.or_u_px() / bar.width_px;
        stated.u.max(1e-5 * stated.value).hypot(or_mm)
    }

    /// Lets the plane lean as it seems at first sight, with the stretch and shear believed to go with it.
    pub(crate) fn lean(&self, start: &mut Params) {
        (start[Param::KeystoneZ], start[Param::KeystoneX]) = self.seems_leaning;
        for prior in self.keystone_beliefs() {
            let shape = self.known.bar_shape;
            match prior.belief {
                Belief::CornerStretch(..) => {
                    start[Param::Aspect] -= prior.belief.residual(start, shape);
                }
                Belief::CornerShear(..) => {
                    start[Param::Shear] -= prior.belief.residual(start, shape);
                }
                _ => {}
            }
        }
    }

    /// What is believed of stretch and shear in a picture of a leaning plane.
    ///
    /// A stretch along the axis turns one screw into another: no outline of a thread tells it, nor
    /// does a bar along the axis. It has to be assumed. Where the focal length is known the stretch
    /// of a pinhole picture is next to nothing (the cosine of the lean); otherwise the picture is
    /// taken as even at its corner, where pixels are counted from.
    fn keystone_beliefs(&self) -> [Prior; 2] {
        let (axis, up) = (self.frame.axis, (self.frame.axis.1, -self.frame.axis.0));
        let pivot = self.frame.pivot;
        let along = pivot.0 * axis.0 + pivot.1 * axis.1;
        let across = pivot.0 * up.0 + pivot.1 * up.1;
        let (stretch, shear) = if self.known.focal_35mm.is_some() {
            (Belief::Near(Param::Aspect, 0.0), Belief::Near(Param::Shear, 0.0))
        } else {
            (Belief::CornerStretch(along, across), Belief::CornerShear(along, across))
        };
        [stretch, shear].map(|belief| Prior { belief, sd: ASPECT, block: Block::Lens })
    }

    /// Distance that the 35 mm-equivalent focal length suggests: by the diagonal, which is what
    /// makers compare, 43.27 mm on the film.
    pub(crate) fn distance_from_focal(&self) -> Option<f64> {
        let focal = self.known.focal_35mm.filter(|f| (10.0..3000.0).contains(f))?;
        let diagonal_mm = 2.0 * self.frame.half_diagonal / self.start[Param::Scale];
        Some(focal * diagonal_mm / 43.27)
    }

    /// Whether nothing tells the diameter: there is one edge alone, and nobody has entered it.
    pub(crate) fn tells_no_diameter(&self) -> bool {
        self.one_edge.is_some() && self.known.major_diameter_mm.is_none()
    }

    /// Parameters to be found.
    pub(crate) fn free(&self) -> Vec<Param> {
        let mut free = vec![
            Param::Pitch,
            Param::TanRight,
            Param::TanLeft,
            Param::Depth,
            Param::CrestFlat,
            Param::CrestR,
            Param::Phase,
            Param::Scale,
            Param::Roll,
            Param::AxisX,
            Param::Tilt,
            Param::BarOffset,
            Param::BarAngle,
            Param::BarWidth,
            Param::BarDrop,
            // A bow too slight to show still pulls on pitch and camera, and a strong one on everything.
            Param::Lens,
        ];
        if self.known.view != ViewWanted::Parallel {
            free.extend([Param::InverseDistance, Param::FootX, Param::FootZ]);
        }
        free
    }

    /// Hypotheses of hand and starts worth trying: the half pitch between the edges tells odd from
    /// even.
    pub(crate) fn signed_starts(&self) -> Vec<f64> {
        let parity = self.parity();
        let mut starts: Vec<u32> = match (self.known.starts, parity) {
            (Some(n), _) => vec![n],
            (None, Some(odd)) => {
                if odd {
                    vec![1, 3]
                } else {
                    vec![2, 4]
                }
            }
            (None, None) => vec![1, 2, 3],
        };
        // A lead angle beyond 45° is no screw that holds a nut.
        let (pitch, r) = (self.start[Param::Pitch], self.start[Param::CrestR]);
        starts.retain(|n| *n == 1 || f64::from(*n) * pitch < 2.0 * std::f64::consts::PI * r);
        let signs: &[f64] = match self.known.hand {
            Some(hand) if (hand == Hand::Right) != self.known.mirrored => &[-1.0],
            Some(_) => &[1.0],
            None => &[-1.0, 1.0],
        };
        starts.iter().flat_map(|n| signs.iter().map(move |s| s * f64::from(*n))).collect()
    }

    /// Whether crests of one edge stand over grooves of the other (odd number of starts).
    fn parity(&self) -> Option<bool> {
        let [Some(u), Some(l)] = self.folded else { return None };
        // Compare near the middle of the thread, where a small error of pitch does not matter.
        let shift = ((u.crest_at - l.crest_at) / u.pitch).rem_euclid(1.0);
        let off = (shift - 0.5).abs();
        (!(0.2..=0.3).contains(&off)).then_some(off < 0.25)
    }

    /// Observations for the fit.
    pub(crate) fn data(&self, most_per_edge: usize) -> Vec<Datum> {
        let thread = &self.sighting.thread;
        let mut data = Vec::new();
        if self.one_edge != Some(Edge::Lower) {
            data.extend(thin(&thread.upper, On::Thread(Edge::Upper), most_per_edge));
        }
        if self.one_edge != Some(Edge::Upper) {
            data.extend(thin(&thread.lower, On::Thread(Edge::Lower), most_per_edge));
        }
        if let Some((from, to)) = self.stretch {
            let (pivot, axis) = (self.frame.pivot, self.frame.axis);
            data.retain(|d| {
                let along = (d.at.0 - pivot.0) * axis.0 + (d.at.1 - pivot.1) * axis.1;
                along >= from && along <= to
            });
        }
        let [first, second] = bar_sides(&self.frame, &self.sighting.bar);
        data.extend(bar_edge(first, 0, BAR_DATA));
        data.extend(bar_edge(second, 1, BAR_DATA));
        data
    }
}

/// The bar's edges, the one with the larger offset first; offsets as in `Model::bar_lines`.
fn bar_sides<'a>(frame: &Frame, bar: &'a Bar) -> [&'a [EdgePoint]; 2] {
    let (bx, by) = frame.bar_axis;
    let offset = |points: &[EdgePoint]| {
        let n = points.len().max(1) as f64;
        points
            .iter()
            .map(|p| -(-by * (p.x - frame.pivot.0) + bx * (p.y - frame.pivot.1)))
            .sum::<f64>()
            / n
    };
    let [a, b] = &bar.edges;
    if offset(a) >= offset(b) { [a, b] } else { [b, a] }
}

fn median_blur(thread: &Thread) -> f64 {
    let mut blurs: Vec<f64> = thread
        .upper
        .iter()
        .chain(&thread.lower)
        .map(|p| p.blur_px)
        .filter(|b| b.is_finite())
        .collect();
    if blurs.is_empty() {
        return 1.0;
    }
    let middle = blurs.len() / 2;
    *blurs.select_nth_unstable_by(middle, f64::total_cmp).1
}

fn starting_params(
    upper: Option<Folded>,
    lower: Option<Folded>,
    known: &Known,
    scale: f64,
    frame: &Frame,
    bar: &Bar,
) -> Option<Params> {
    let one = upper.or(lower)?;
    let both = |f: fn(&Folded) -> f64| match (&upper, &lower) {
        (Some(a), Some(b)) => 0.5 * (f(a) + f(b)),
        _ => f(&one),
    };
    let mut p = Params::ZERO;
    p[Param::Pitch] = both(|f| f.pitch) / scale;
    let limit = |t: f64| t.clamp(0.002, 1.6);
    p[Param::TanRight] = limit(both(|f| f.tan.0));
    p[Param::TanLeft] = limit(both(|f| f.tan.1));
    let pitch = p[Param::Pitch];
    p[Param::Depth] = (both(|f| f.depth) / scale).clamp(0.03 * pitch, 1.5 * pitch);
    let sides = p[Param::TanRight] + p[Param::TanLeft];
    let widest = pitch - p[Param::Depth] * sides;
    if widest < 0.06 * pitch {
        p[Param::Depth] *= 0.94 * pitch / (p[Param::Depth] * sides + 0.06 * pitch).max(1e-9);
    }
    let room = (pitch - p[Param::Depth] * sides).max(0.04 * pitch);
    p[Param::CrestFlat] = (both(|f| f.crest_flat) / scale).clamp(0.02 * pitch, 0.95 * room);
    let (top, bottom) = (upper.map(|f| f.crest / scale), lower.map(|f| f.crest / scale));
    p[Param::CrestR] = match (top, bottom, known.major_diameter_mm) {
        (Some(t), Some(b), _) => 0.5 * (t + b),
        (_, _, Some(d)) => 0.5 * d.value,
        _ => 0.5 * USUAL_PITCHES * pitch,
    };
    p[Param::AxisX] = match (top, bottom) {
        (Some(t), Some(b)) => 0.5 * (t - b),
        (Some(t), None) => t - p[Param::CrestR],
        (None, Some(b)) => p[Param::CrestR] - b,
        (None, None) => 0.0,
    };
    p[Param::Phase] = match (&upper, &lower) {
        (Some(u), _) => u.crest_at / scale,
        (None, Some(l)) => l.crest_at / scale - 0.5 * pitch,
        (None, None) => 0.0,
    };
    p[Param::Scale] = scale;
    p[Param::Roll] = (both(|f| f.slope)).atan();
    p[Param::BarWidth] = known.bar_width_mm.value;
    // Middle of the bar, square to it, from the pivot.
    let (bx, by) = bar.axis;
    let points = || bar.edges.iter().flatten();
    let side = |points: &[EdgePoint]| {
        points
            .iter()
            .map(|q| -(-by * (q.x - frame.pivot.0) + bx * (q.y - frame.pivot.1)))
            .sum::<f64>()
            / points.len().max(1) as f64
    };
    points().next()?;
    p[Param::BarOffset] = 0.5 * (side(&bar.edges[0]) + side(&bar.edges[1])) / scale;
    Some(p)
}
