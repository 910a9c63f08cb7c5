//! Fitting with weights that dirt and wear cannot pull, and with corners left out that blur has
//! rounded.

use crate::data::{Datum, On};
use crate::matching::Matcher;
use crate::model::Frame;
use crate::params::{Param, Params};
use crate::problem::{Evaluated, Prior, Problem};
use crate::solver::{LeastSquares, Limits, minimise};
use form::shadow::Edge;

/// Turn of the outline within two blurs that counts as a corner, radians.
pub const CORNER_TURN_RAD: f64 = 0.6;
/// Blurs along the outline to each side of a corner within which points are left out: there the
/// half-level of a blurred corner is not the corner.
const CORNER_BLURS: f64 = 2.0;
/// Residuals beyond this many robust deviations pull less and less (Huber).
const HUBER: f64 = 2.0;
/// Residuals beyond this many robust deviations do not pull at all (Tukey).
pub const TUKEY: f64 = 6.0;

/// What a robust fit works on.
pub struct Fitting<'a> {
    pub data: &'a [Datum],
    pub priors: &'a [Prior],
    pub span_px: (f64, f64),
    /// Standard deviation of the blur of edges, px.
    pub blur_px: f64,
    /// Whether what is fitted is a drawn line, whose middle blur does not move.
    pub drawn_line: bool,
    pub go_on: &'a (dyn Fn() -> bool + Sync),
}

/// How far a fit is to be taken.
#[derive(Debug, Clone, Copy)]
pub struct Effort {
    /// Rounds of weighting, at most: fewer when the weights stand still.
    pub rounds: usize,
    /// Steps of the solver in each round.
    pub steps: usize,
    /// The round from which on points far off have no weight at all, rather than a small one.
    pub redescending: Option<usize>,
    /// Least fall of the sum of squares, as a fraction of it, worth another step.
    pub fall: f64,
    /// How closely the computed outline is followed, px.
    pub chord_px: f64,
}

impl Effort {
    /// Enough to see whether a hypothesis has a chance.
    pub const LOOK: Self =
        Self { rounds: 1, steps: 7, redescending: None, fall: 1e-3, chord_px: 0.06 };
    /// Enough to tell hypotheses apart.
    pub const QUICK: Self =
        Self { rounds: 2, steps: 40, redescending: None, fall: 1e-5, chord_px: 0.06 };
    /// To the end.
    pub const FULL: Self =
        Self { rounds: 6, steps: 80, redescending: Some(1), fall: 1e-5, chord_px: 0.02 };
    /// To the end, from a start that already parts what belongs to the form from what does not.
    pub const PARTED: Self = Self { redescending: Some(0), ..Self::FULL };
}

/// As [`Effort::fall`], along a valley that data leave flat.
const FLAT_FALL: f64 = 1e-9;

/// Mean change of the data's weights from one round to the next that is no change.
const SAME_WEIGHT: f64 = 1e-3;

/// Result of a robust fit.
pub struct Outcome {
    pub params: Params,
    pub frame: Frame,
    pub free: Vec<Param>,
    pub evaluated: Evaluated,
    /// Robust deviation of thread residuals in units of their own sigma.
    pub spread: f64,
    /// Which data were left out near corners.
    pub masked: Vec<bool>,
    /// Robust weight of every datum, 0 to 1 (0 also when masked).
    pub weights: Vec<f64>,
    /// Square roots of the total weights used.
    pub roots: Vec<f64>,
}

impl Fitting<'_> {
    /// Fits the `free` parameters from `start`; `None` when the model breaks down.
    pub fn run(
        &self,
        frame: Frame,
        start: Params,
        free: &[Param],
        effort: Effort,
    ) -> Option<Outcome> {
        self.run_masked(frame, start, free, effort, None)
    }

    /// As [`run`](Self::run), with the corner mask given instead of found.
    pub fn run_masked(
        &self,
        frame: Frame,
        start: Params,
        free: &[Param],
        effort: Effort,
        mask: Option<&[bool]>,
    ) -> Option<Outcome> {
        let mut problem = self.problem(frame, start, free, effort.chord_px);
        // What a leaning plane stretches only beliefs tell: a valley so flat that it must be walked to
        // its end.
        let flat = effort.redescending.is_some() && free.contains(&Param::Aspect);
        let fall = if flat { FLAT_FALL } else { effort.fall };
        let limits = Limits { steps: effort.steps, fall, step: 1e-7 };
        let mut state = problem.evaluate(&start)?;
        let mut before: Option<(Vec<bool>, Vec<f64>)> = None;
        let mut spread_now = 1.0;
        for round in 0..effort.rounds {
            let masked = mask.map_or_else(|| self.corners(&state), <[bool]>::to_vec);
            let spread = spread(self.data, &state.off_px, &masked);
            let tukey = effort.redescending.is_some_and(|from| round >= from);
            let weights = self.weights(&state.off_px, &masked, spread, tukey);
            // Points far off need the redescending weights once before they count as settled.
            let settled = before.as_ref().is_some_and(|(_, w)| same(w, &weights)) && round != 1;
            if settled {
                break;
            }
            problem.roots = self
                .data
                .iter()
                .zip(&weights)
                .map(|(d, w)| {
                    w.sqrt() / (d.sigma * if matches!(d.on, On::Bar(_)) { 1.0 } else { spread })
                })
                .collect();
            let from = problem.start();
            let minimum = minimise(&mut problem, from, limits, self.go_on)?;
            let params = problem.params(&minimum.p);
            problem.base = params;
            state = problem.evaluate(&params)?;
            spread_now = spread;
            before = Some((masked, weights));
        }
        let (masked, weights) = before?;
        Some(Outcome {
            params: problem.base,
            frame,
            free: free.to_vec(),
            evaluated: state,
            spread: spread_now,
            masked,
            weights,
            roots: problem.roots,
        })
    }

    fn problem(&self, frame: Frame, base: Params, free: &[Param], chord_px: f64) -> Problem<'_> {
        let mut problem = Problem::new(
            frame,
            base,
            free.to_vec(),
            self.data,
            self.priors,
            self.span_px,
            self.edge_blur_px(),
        );
        problem.chord_px = chord_px;
        problem
    }

    /// Fall of the sum of squares that freeing `more` parameters promises, to first order: the score
    /// test, one linear step without taking it.
    pub fn promised_gain(&self, o: &Outcome, more: &[Param]) -> Option<f64> {
        // Those that are free already first, so that what they alone would still gain is left out.
        let free: Vec<Param> = o.free.iter().chain(more).copied().collect();
        let mut problem = self.problem(o.frame, o.params, &free, Effort::FULL.chord_px);
        problem.roots.clone_from(&o.roots);
        let at = problem.start();
        let mut r = problem.residuals(&at)?;
        problem.jacobian(&at)?.qr().q_tr_mul(&mut r);
        let gained = free.len().checked_sub(o.free.len()).filter(|_| r.len() >= free.len())?;
        Some(r.rows(o.free.len(), gained).norm_squared())
    }

    /// How far one more parameter would move if it were freed, to first order.
    pub fn promised_step(&self, o: &Outcome, more: Param) -> Option<f64> {
        // Last, so that the triangle gives it by itself.
        let free: Vec<Param> =
            o.free.iter().copied().filter(|f| *f != more).chain(std::iter::once(more)).collect();
        let mut problem = self.problem(o.frame, o.params, &free, Effort::FULL.chord_px);
        problem.roots.clone_from(&o.roots);
        let at = problem.start();
        let mut r = problem.residuals(&at)?;
        let qr = problem.jacobian(&at)?.qr();
        qr.q_tr_mul(&mut r);
        let last = free.len().checked_sub(1)?;
        let step = -r[last] / qr.r()[(last, last)];
        step.is_finite().then_some(step)
    }

    /// Blur that moves edges, px.
    pub fn edge_blur_px(&self) -> f64 {
        if self.drawn_line { 0.0 } else { self.blur_px }
    }

    fn weights(&self, off_px: &[f64], masked: &[bool], spread: f64, tukey: bool) -> Vec<f64> {
        self.data
            .iter()
            .zip(off_px)
            .zip(masked)
            .map(|((d, off), masked)| {
                let u = (off / (d.sigma * spread)).abs();
                if *masked {
                    0.0
                } else if matches!(d.on, On::Bar(_)) {
                    1.0
                } else if tukey {
                    if u < TUKEY { (1.0 - (u / TUKEY).powi(2)).powi(2) } else { 0.0 }
                } else if u <= HUBER {
                    1.0
                } else {
                    HUBER / u
                }
            })
            .collect()
    }

    /// Data near a corner of the outline sharper than the blur can show.
    fn corners(&self, e: &Evaluated) -> Vec<bool> {
        let scale = e.params[Param::Scale];
        let window = 2.0 * self.blur_px / scale;
        let reach_mm = CORNER_BLURS * self.blur_px / scale;
        let prepared = [0, 1].map(|i| {
            e.outlines[i].as_ref().map(|o| {
                let matcher = Matcher::new(o);
                let spots = matcher.sharp_spots(window, CORNER_TURN_RAD);
                (matcher, spots)
            })
        });
        self.data
            .iter()
            .zip(&e.feet)
            .map(|(datum, foot)| {
                let On::Thread(edge) = datum.on else { return false };
                let slot = usize::from(edge == Edge::Lower);
                match (&prepared[slot], foot) {
                    (Some((matcher, spots)), Some(foot)) => {
                        matcher.distance_to(spots, foot) < reach_mm + datum.reach / scale
                    }
                    _ => true,
                }
            })
            .collect()
    }
}

fn same(a: &[f64], b: &[f64]) -> bool {
    let change: f64 = a.iter().zip(b).map(|(a, b)| (a - b).abs()).sum();
    change < SAME_WEIGHT * a.len() as f64
}

/// Robust deviation of the thread's residuals in units of their own sigma, never below 1.
pub fn spread(data: &[Datum], off_px: &[f64], masked: &[bool]) -> f64 {
    let mut values: Vec<f64> = data
        .iter()
        .zip(off_px)
        .zip(masked)
        .filter(|((d, _), m)| !**m && matches!(d.on, On::Thread(_)))
        .map(|((d, off), _)| (off / d.sigma).abs())
        .collect();
    if values.is_empty() {
        return 1.0;
    }
    let middle = values.len() / 2;
    let median = *values.select_nth_unstable_by(middle, f64::total_cmp).1;
    (1.4826 * median).max(1.0)
}

/// Huber's cost of the residuals against a common spread, so that fits of one data set can be
/// compared: about a chi-square where residuals are noise.
pub fn cost(data: &[Datum], off_px: &[f64], masked: &[bool], spread: f64) -> f64 {
    data.iter()
        .zip(off_px)
        .zip(masked)
        .filter(|(_, m)| !**m)
        .map(|((d, off), _)| {
            if matches!(d.on, On::Bar(_)) {
                return (off / d.sigma).powi(2);
            }
            let u = (off / (d.sigma * spread)).abs();
            if u <= HUBER { u * u } else { HUBER * (2.0 * u - HUBER) }
        })
        .sum()
}
