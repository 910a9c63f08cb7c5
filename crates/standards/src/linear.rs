//! Gaussian densities of a few dimensions.

/// Most observations used at once.
pub(crate) const MOST: usize = 9;

/// A symmetric matrix of up to [`MOST`] rows.
pub(crate) type Matrix = [[f64; MOST]; MOST];

/// Log density of `residual` (first `n` entries) under a zero-mean Gaussian with `covariance`,
/// which is destroyed. `None` when the matrix is not positive definite.
#[expect(clippy::needless_range_loop, reason = "Cholesky reads as in the books")]
pub(crate) fn log_density(
    n: usize,
    residual: &[f64; MOST],
    covariance: &mut Matrix,
) -> Option<f64> {
    let mut quadratic = 0.0;
    let mut log_det = 0.0;
    let mut y = [0.0; MOST];
    for i in 0..n {
        for j in 0..=i {
            let mut sum = covariance[i][j];
            for k in 0..j {
                sum -= covariance[i][k] * covariance[j][k];
            }
            if i == j {
                if sum.is_nan() || sum <= 0.0 {
                    return None;
                }
                covariance[i][i] = sum.sqrt();
            } else {
                covariance[i][j] = sum / covariance[j][j];
            }
        }
        let mut rest = residual[i];
        for k in 0..i {
            rest -= covariance[i][k] * y[k];
        }
        y[i] = rest / covariance[i][i];
        quadratic += y[i] * y[i];
        log_det += covariance[i][i].ln();
    }
    Some(-0.5 * quadratic - log_det - 0.5 * n as f64 * (2.0 * std::f64::consts::PI).ln())
}

/// Log density of one number under a Gaussian.
pub(crate) fn log_normal(residual: f64, sd: f64) -> f64 {
    let z = residual / sd;
    -0.5 * z * z - sd.ln() - 0.5 * (2.0 * std::f64::consts::PI).ln()
}

/// Density of one number under a Gaussian.
pub(crate) fn normal(residual: f64, sd: f64) -> f64 {
    log_normal(residual, sd).exp()
}

/// Distribution function of the standard normal (Abramowitz and Stegun 26.2.17, |error| < 8e-8).
pub(crate) fn normal_cdf(z: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * z.abs());
    let poly = t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let tail = normal(z.abs(), 1.0) * poly;
    if z >= 0.0 { 1.0 - tail } else { tail }
}

/// ln Σ exp.
pub(crate) fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return top;
    }
    top + logs.map(|l| (l - top).exp()).sum::<f64>().ln()
}

/// Solves the symmetric positive definite system `a x = b` of `n` unknowns and returns `x` with the
/// inverse of `a`; `None` when `a` is singular.
pub(crate) fn solve_spd(n: usize, a: &[Vec<f64>], b: &[f64]) -> Option<(Vec<f64>, Vec<Vec<f64>>)> {
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum = a[i][j] - (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
            if i == j {
                if sum.is_nan() || sum <= 1e-14 * a[i][i].abs() {
                    return None;
                }
                l[i][i] = sum.sqrt();
            } else {
                l[i][j] = sum / l[j][j];
            }
        }
    }
    let back = |rhs: &[f64]| {
        let mut y = vec![0.0; n];
        for i in 0..n {
            y[i] = (rhs[i] - (0..i).map(|k| l[i][k] * y[k]).sum::<f64>()) / l[i][i];
        }
        for i in (0..n).rev() {
            y[i] = (y[i] - (i + 1..n).map(|k| l[k][i] * y[k]).sum::<f64>()) / l[i][i];
        }
        y
    };
    let x = back(b);
    let inverse = (0..n)
        .map(|j| {
            let mut unit = vec![0.0; n];
            unit[j] = 1.0;
            back(&unit)
        })
        .collect();
    Some((x, inverse))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn density_of_independent_numbers_is_the_product() {
        let mut c = [[0.0; MOST]; MOST];
        c[0][0] = 4.0;
        c[1][1] = 0.25;
        let mut r = [0.0; MOST];
        r[0] = 1.0;
        r[1] = -0.3;
        let joint = log_density(2, &r, &mut c).unwrap();
        assert_abs_diff_eq!(joint, log_normal(1.0, 2.0) + log_normal(-0.3, 0.5), epsilon = 1e-12);
    }

    #[test]
    fn density_of_a_correlated_pair() {
        // Bivariate normal, unit variances, correlation 0.6, at (1, -1), by its closed formula.
        let mut c = [[0.0; MOST]; MOST];
        (c[0][0], c[1][1], c[1][0], c[0][1]) = (1.0, 1.0, 0.6, 0.6);
        let mut r = [0.0; MOST];
        (r[0], r[1]) = (1.0, -1.0);
        let rho: f64 = 0.6;
        let q = (1.0 + 1.0 + 2.0 * rho) / (1.0 - rho * rho);
        let want = -0.5 * q - (2.0 * std::f64::consts::PI).ln() - 0.5 * (1.0 - rho * rho).ln();
        assert_abs_diff_eq!(log_density(2, &r, &mut c).unwrap(), want, epsilon = 1e-12);
    }

    #[test]
    fn distribution_function() {
        // Printed tables of the normal distribution.
        for (z, p) in [(0.0, 0.5), (1.0, 0.841_345), (1.96, 0.975_002), (-2.5, 0.006_210)] {
            assert_abs_diff_eq!(normal_cdf(z), p, epsilon = 1e-6);
        }
    }

    #[test]
    fn solves() {
        let a = vec![vec![4.0, 1.0], vec![1.0, 3.0]];
        let (x, inv) = solve_spd(2, &a, &[1.0, 2.0]).unwrap();
        assert_abs_diff_eq!(x[0], 1.0 / 11.0, epsilon = 1e-14);
        assert_abs_diff_eq!(x[1], 7.0 / 11.0, epsilon = 1e-14);
        assert_abs_diff_eq!(inv[0][0], 3.0 / 11.0, epsilon = 1e-14);
        assert!(solve_spd(2, &[vec![1.0, 1.0], vec![1.0, 1.0]], &[1.0, 1.0]).is_none());
    }
}
