//! Nonlinear least squares by Levenberg and Marquardt, on orthogonal factors.
//!
//! After Moré, "The Levenberg–Marquardt algorithm: implementation and theory" (1978): columns are
//! scaled by the largest norm met; a step is kept within a radius that follows how well the linear
//! model foretold the fall, and is damped only as much as that takes; every step is solved from a
//! QR factorisation of the Jacobian, never from normal equations, so that badly conditioned
//! problems keep their digits.

use nalgebra::{DMatrix, DVector};

/// A sum of squares to be made small.
pub trait LeastSquares {
    /// Residuals at `p`, as many every time; `None` where the model does not exist.
    fn residuals(&mut self, p: &DVector<f64>) -> Option<DVector<f64>>;
    /// Derivatives of the residuals at `p`, one row a residual, one column a parameter. Called only
    /// where [`residuals`](Self::residuals) has just answered.
    fn jacobian(&mut self, p: &DVector<f64>) -> Option<DMatrix<f64>>;
}

/// When to stop.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Most accepted or refused steps.
    pub steps: usize,
    /// Relative fall of the sum of squares, expected and seen, that counts as none.
    pub fall: f64,
    /// Relative length of a (scaled) step that counts as none.
    pub step: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { steps: 400, fall: 1e-15, step: 1e-12 }
    }
}

/// Where the search ended.
#[derive(Debug, Clone)]
pub struct Minimum {
    /// Parameters.
    pub p: DVector<f64>,
    /// Sum of squared residuals.
    pub sum_of_squares: f64,
    /// Jacobian at `p`.
    pub jacobian: DMatrix<f64>,
    /// Whether a limit of fall or step was reached rather than the limit of steps.
    pub converged: bool,
    /// Steps taken.
    pub steps: usize,
}

impl Minimum {
    /// Covariance of the parameters for residuals of unit variance, `(JᵀJ)⁻¹`, from the QR factors;
    /// `None` when the Jacobian is rank-deficient.
    #[must_use]
    pub fn covariance(&self) -> Option<DMatrix<f64>> {
        let n = self.p.len();
        let scale = column_norms(&self.jacobian);
        if scale.iter().any(|s| *s == 0.0) {
            return None;
        }
        let mut scaled = self.jacobian.clone();
        for (mut column, s) in scaled.column_iter_mut().zip(scale.iter()) {
            column /= *s;
        }
        let r = scaled.qr().r();
        let r_inverse = r.solve_upper_triangular(&DMatrix::identity(n, n))?;
        let mut covariance = &r_inverse * r_inverse.transpose();
        for i in 0..n {
            for j in 0..n {
                covariance[(i, j)] /= scale[i] * scale[j];
            }
        }
        covariance.iter().all(|v| v.is_finite()).then_some(covariance)
    }
}

/// Searches for a minimum from `start`; `None` when the model does not exist there.
///
/// `go_on` is asked before every step.
pub fn minimise(
    problem: &mut impl LeastSquares,
    start: DVector<f64>,
    limits: Limits,
    go_on: &dyn Fn() -> bool,
) -> Option<Minimum> {
    let mut p = start;
    let mut r = problem.residuals(&p)?;
    let mut sum = r.norm_squared();
    let mut jacobian = problem.jacobian(&p)?;
    let mut scale = column_norms(&jacobian).map(|s| if s > 0.0 { s } else { 1.0 });
    // A first step longer than the way from the origin may leap over the valley sought into some
    // far plain; near a minimum the bound is idle.
    let mut radius = p.component_mul(&scale).norm();
    if radius == 0.0 {
        radius = r.norm();
    }
    let mut damping = 0.0;
    let mut steps = 0;
    let mut first = true;
    let mut converged = sum == 0.0;
    'outer: while !converged && steps < limits.steps && go_on() {
        let linear = Linear::of(&jacobian, &r, &scale);
        loop {
            if steps >= limits.steps || !go_on() {
                break 'outer;
            }
            steps += 1;
            let Some((step, used)) = linear.step_within(radius, damping) else { break 'outer };
            damping = used;
            let scaled_step = step.component_mul(&scale).norm();
            let scaled_p = p.component_mul(&scale).norm();
            if first {
                radius = radius.min(scaled_step);
                first = false;
            }
            // Exact for the damped step, where the difference of two sums would cancel.
            let bent = (&jacobian * &step).norm_squared();
            let damped = damping * scaled_step * scaled_step;
            let predicted = bent + 2.0 * damped;
            let trial = &p + &step;
            let trial_r = problem.residuals(&trial).filter(|r| r.iter().all(|v| v.is_finite()));
            let seen = trial_r.as_ref().map_or(f64::NEG_INFINITY, |t| sum - t.norm_squared());
            // Where rounding hides the fall, what was predicted is the better witness.
            let hidden = predicted <= ROUNDING * sum && seen.abs() <= ROUNDING * sum;
            let gain = if hidden { 1.0 } else { seen / predicted };
            if gain <= 0.25 {
                // To the bottom of the parabola through what was seen, within reason.
                let shrink = (bent + damped) / (2.0 * (bent + damped) - seen);
                let shrink = if shrink.is_nan() { 0.1 } else { shrink.clamp(0.1, 0.5) };
                radius = shrink * radius.min(10.0 * scaled_step);
                damping /= shrink;
            } else if damping == 0.0 || gain >= 0.75 {
                radius = 2.0 * scaled_step;
                damping *= 0.5;
            }
            let tiny = predicted <= limits.fall * sum;
            let short = scaled_step <= limits.step * (scaled_p + limits.step);
            if seen > 0.0 || hidden {
                p = trial;
                if let Some(t) = trial_r {
                    r = t;
                }
                sum = r.norm_squared();
                jacobian = problem.jacobian(&p)?;
                for (s, norm) in scale.iter_mut().zip(column_norms(&jacobian).iter()) {
                    *s = s.max(*norm);
                }
                if tiny && (hidden || seen <= limits.fall * sum) || short || sum == 0.0 {
                    converged = true;
                    break 'outer;
                }
                continue 'outer;
            }
            if short || tiny {
                converged = true;
                break 'outer;
            }
        }
    }
    Some(Minimum { p, sum_of_squares: sum, jacobian, converged, steps })
}

/// Part of the sum of squares that may be rounding, residuals being small differences of larger
/// numbers.
const ROUNDING: f64 = 1e-10;

fn column_norms(m: &DMatrix<f64>) -> DVector<f64> {
    DVector::from_iterator(m.ncols(), m.column_iter().map(|c| c.norm()))
}

/// Residuals to first order about a point, reduced to the triangular factor: `|R x + q|²` and what
/// no step changes.
struct Linear<'a> {
    upper: DMatrix<f64>,
    q: DVector<f64>,
    scale: &'a DVector<f64>,
}

/// How far the length of a damped step may miss the radius, as a fraction of it.
const RADIUS_SLACK: f64 = 0.1;
/// Most dampings tried for one radius; two or three are usual.
const DAMPINGS: usize = 16;

impl<'a> Linear<'a> {
    fn of(jacobian: &DMatrix<f64>, r: &DVector<f64>, scale: &'a DVector<f64>) -> Self {
        let qr = jacobian.clone().qr();
        let mut qtr = r.clone();
        qr.q_tr_mul(&mut qtr);
        let upper = qr.r();
        let q = qtr.rows(0, upper.nrows()).into_owned();
        Self { upper, q, scale }
    }

    /// The best step of scaled length `radius` or less, and its damping, which is 0 where the bound
    /// is idle. Moré's safeguarded Newton iteration, from the damping `guess`.
    fn step_within(&self, radius: f64, guess: f64) -> Option<(DVector<f64>, f64)> {
        let steepest = self.upper.tr_mul(&self.q).component_div(self.scale).norm();
        if steepest == 0.0 {
            return Some((DVector::zeros(self.scale.len()), 0.0));
        }
        let (mut low, mut high) = (0.0, steepest / radius);
        let mut damping: f64 = 0.0;
        let mut best = None;
        for _ in 0..DAMPINGS {
            match self.damped_step(damping) {
                Some((step, factor)) => {
                    let scaled = step.component_mul(self.scale);
                    let length = scaled.norm();
                    let over = length - radius;
                    let idle = damping == 0.0 && over <= RADIUS_SLACK * radius;
                    if idle || over.abs() <= RADIUS_SLACK * radius {
                        return Some((step, damping));
                    }
                    let along = scaled.component_mul(self.scale) / length;
                    let slope = factor.tr_solve_upper_triangular(&along)?.norm_squared();
                    if damping == 0.0 {
                        low = over / (length * slope);
                        damping = guess;
                    } else {
                        if over > 0.0 {
                            low = low.max(damping);
                        } else {
                            high = high.min(damping);
                            best = Some((step, damping));
                        }
                        damping += over / (radius * slope);
                    }
                }
                // As good as infinitely long.
                None => {
                    low = low.max(damping);
                    damping = if damping == 0.0 { guess } else { 0.0 };
                }
            }
            if !(damping > low && damping < high) {
                damping = (low * high).sqrt().max(1e-3 * high);
            }
            if damping == 0.0 || !damping.is_finite() {
                break;
            }
        }
        best.or_else(|| Some((self.damped_step(high)?.0, high)))
    }

    /// Solves `min |R x + q|² + λ |D x|²`; also the triangular factor of that problem.
    fn damped_step(&self, damping: f64) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let n = self.scale.len();
        let rows = self.upper.nrows();
        let mut stacked = DMatrix::zeros(rows + n, n);
        stacked.view_mut((0, 0), (rows, n)).copy_from(&self.upper);
        let root = damping.sqrt();
        for i in 0..n {
            stacked[(rows + i, i)] = root * self.scale[i];
        }
        let mut right = DVector::zeros(rows + n);
        right.rows_mut(0, rows).copy_from(&-&self.q);
        let qr = stacked.qr();
        qr.q_tr_mul(&mut right);
        let factor = qr.r();
        let step = factor.solve_upper_triangular(&right.rows(0, n).into_owned())?;
        step.iter().all(|v| v.is_finite()).then_some((step, factor))
    }
}
