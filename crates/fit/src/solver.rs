//! Nonlinear least squares by Levenberg and Marquardt, on orthogonal factors.
//!
//! After Moré, "The Levenberg–Marquardt algorithm: implementation and theory" (1978): columns are
//! scaled by the largest norm met, the damping follows the gain ratio, and every step is solved
//! from a QR factorisation of the Jacobian, never from normal equations, so that badly conditioned
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
    let n = start.len();
    let mut p = start;
    let mut r = problem.residuals(&p)?;
    let mut sum = r.norm_squared();
    let mut jacobian = problem.jacobian(&p)?;
    let mut scale = column_norms(&jacobian).map(|s| if s > 0.0 { s } else { 1.0 });
    let mut damping = 1e-4;
    let mut growth = 2.0;
    let mut steps = 0;
    let mut converged = false;
    'outer: while steps < limits.steps && go_on() {
        let qr = jacobian.clone().qr();
        let mut qtr = r.clone();
        qr.q_tr_mul(&mut qtr);
        let upper = qr.r();
        let top = qtr.rows(0, n.min(qtr.len())).into_owned();
        loop {
            if steps >= limits.steps || !go_on() {
                break 'outer;
            }
            steps += 1;
            let Some(step) = damped_step(&upper, &top, &scale, damping) else {
                damping = (damping * growth).max(1e-12);
                growth *= 2.0;
                if !damping.is_finite() {
                    break 'outer;
                }
                continue;
            };
            let predicted_r = &r + &jacobian * &step;
            let predicted = (sum - predicted_r.norm_squared()).max(0.0);
            let scaled_step = step.component_mul(&scale).norm();
            let scaled_p = p.component_mul(&scale).norm();
            let trial = &p + &step;
            let trial_r = problem.residuals(&trial).filter(|r| r.iter().all(|v| v.is_finite()));
            let seen = trial_r.as_ref().map_or(f64::NEG_INFINITY, |t| sum - t.norm_squared());
            // Near the bottom rounding decides the sign of a fall this small.
            let tiny = predicted <= limits.fall * sum || sum == 0.0;
            if seen > 0.0 || (tiny && seen >= -1e-14 * sum) {
                let gain = if predicted > 0.0 { seen / predicted } else { 1.0 };
                damping = (damping * (1.0 - (2.0 * gain - 1.0).powi(3)).max(0.1)).max(1e-15);
                growth = 2.0;
                p = trial;
                if let Some(t) = trial_r {
                    r = t;
                }
                sum = r.norm_squared();
                jacobian = problem.jacobian(&p)?;
                for (s, norm) in scale.iter_mut().zip(column_norms(&jacobian).iter()) {
                    *s = s.max(*norm);
                }
                if tiny && seen.abs() <= limits.fall * sum
                    || scaled_step <= limits.step * (scaled_p + limits.step)
                    || sum == 0.0
                {
                    converged = true;
                    break 'outer;
                }
                continue 'outer;
            }
            if scaled_step <= limits.step * (scaled_p + limits.step) || tiny {
                converged = true;
                break 'outer;
            }
            damping *= growth;
            growth *= 2.0;
            if !damping.is_finite() || damping > 1e60 {
                break 'outer;
            }
        }
    }
    Some(Minimum { p, sum_of_squares: sum, jacobian, converged, steps })
}

fn column_norms(m: &DMatrix<f64>) -> DVector<f64> {
    DVector::from_iterator(m.ncols(), m.column_iter().map(|c| c.norm()))
}

/// Solves `min |R x + q|² + λ |D x|²` from the triangular factor.
fn damped_step(
    upper: &DMatrix<f64>,
    q: &DVector<f64>,
    scale: &DVector<f64>,
    damping: f64,
) -> Option<DVector<f64>> {
    let n = scale.len();
    let rows = upper.nrows();
    let mut stacked = DMatrix::zeros(rows + n, n);
    stacked.view_mut((0, 0), (rows, n)).copy_from(upper);
    let root = damping.sqrt();
    for i in 0..n {
        stacked[(rows + i, i)] = root * scale[i];
    }
    let mut right = DVector::zeros(rows + n);
    right.rows_mut(0, rows).copy_from(&(-q.rows(0, rows)));
    let qr = stacked.qr();
    qr.q_tr_mul(&mut right);
    let step = qr.r().solve_upper_triangular(&right.rows(0, n).into_owned())?;
    step.iter().all(|v| v.is_finite()).then_some(step)
}
