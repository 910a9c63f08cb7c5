//! How uncertain a number computed from a [`ScrewForm`] is.
//!
//! Two ways. Smooth results: first-order propagation with numerical sensitivities (JCGM 100, 5.2,
//! correlations included). Results with a kink, such as a *least* clearance, which any error of
//! angle can only lower: drawing from the joint normal distribution (JCGM 101), with a fixed
//! sequence so that the same form always gives the same answer.

use crate::screw::{PARAMETERS, ScrewForm};
use form::{Quantity, Thread};

/// First-order propagation of `f` over the uncertain numbers of `form`.
///
/// The value is `f` at the best values; a sensitivity that cannot be computed on either side makes
/// the uncertainty infinite rather than zero.
pub(crate) fn first_order(
    form: &ScrewForm,
    nominal: &Thread,
    f: impl Fn(&Thread) -> f64,
) -> Quantity {
    let values = form.values();
    let at = f(nominal);
    let mut change = [0.0; PARAMETERS];
    for (i, q) in form.quantities().iter().enumerate() {
        if q.u == 0.0 {
            continue;
        }
        if !q.u.is_finite() {
            return Quantity::derived(at, f64::INFINITY);
        }
        // A tenth of the uncertainty keeps the step inside the limits of a section in nearly all
        // cases and is far above rounding.
        let step = 0.1 * q.u;
        let probe = |sign: f64| {
            let mut v = values;
            v[i] += sign * step;
            form.thread_near(v).ok().map(|t| f(&t))
        };
        let slope = match (probe(1.0), probe(-1.0)) {
            (Some(hi), Some(lo)) => (hi - lo) / (2.0 * step),
            (Some(hi), None) => (hi - at) / step,
            (None, Some(lo)) => (at - lo) / step,
            (None, None) => return Quantity::derived(at, f64::INFINITY),
        };
        change[i] = slope * q.u;
    }
    let mut variance = 0.0;
    for i in 0..PARAMETERS {
        for j in 0..PARAMETERS {
            let rho = form.correlation.map_or(f64::from(u8::from(i == j)), |r| r[i][j]);
            variance += rho * change[i] * change[j];
        }
    }
    Quantity::derived(at, variance.max(0.0).sqrt())
}

/// Draws from the joint distribution of a form, and of `extra` independent standard normals beside
/// it (for errors of workmanship), in antithetic pairs.
pub(crate) struct Draws {
    lower: [[f64; PARAMETERS]; PARAMETERS],
    values: [f64; PARAMETERS],
    state: u64,
}

impl Draws {
    pub(crate) fn new(form: &ScrewForm) -> Self {
        let u = form.quantities().map(|q| q.u);
        let mut covariance = [[0.0; PARAMETERS]; PARAMETERS];
        for i in 0..PARAMETERS {
            for j in 0..PARAMETERS {
                let rho = form.correlation.map_or(f64::from(u8::from(i == j)), |r| r[i][j]);
                covariance[i][j] = rho * u[i] * u[j];
            }
        }
        Self { lower: cholesky(&covariance), values: form.values(), state: 0x9E37_79B9_7F4A_7C15 }
    }

    /// `2 * pairs` draws of `N` standard normals and the form's numbers they stand for.
    pub(crate) fn pairs<const N: usize>(
        &mut self,
        pairs: usize,
    ) -> Vec<([f64; PARAMETERS], [f64; N])> {
        let mut out = Vec::with_capacity(2 * pairs);
        for _ in 0..pairs {
            let mut e = [0.0; PARAMETERS];
            for x in &mut e {
                *x = self.normal();
            }
            let mut extra = [0.0; N];
            for x in &mut extra {
                *x = self.normal();
            }
            for sign in [1.0, -1.0] {
                let mut v = self.values;
                for (value, row) in v.iter_mut().zip(&self.lower) {
                    *value += sign * row.iter().zip(e).map(|(l, x)| l * x).sum::<f64>();
                }
                out.push((v, extra.map(|x| sign * x)));
            }
        }
        out
    }

    fn uniform(&mut self) -> f64 {
        // SplitMix64 (Steele, Lea, Flood 2014): small, and good enough for a thousand draws.
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (2.0 * std::f64::consts::PI * b).cos()
    }
}

/// Lower triangle of a covariance; a direction without variance gives a column of zeros, so that a
/// covariance of less than full rank is no error.
fn cholesky(c: &[[f64; PARAMETERS]; PARAMETERS]) -> [[f64; PARAMETERS]; PARAMETERS] {
    let mut l = [[0.0; PARAMETERS]; PARAMETERS];
    for j in 0..PARAMETERS {
        let d = c[j][j] - l[j][..j].iter().map(|x| x * x).sum::<f64>();
        if d <= 1e-12 * c[j][j] {
            continue;
        }
        l[j][j] = d.sqrt();
        for i in j + 1..PARAMETERS {
            let s: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            l[i][j] = (c[i][j] - s) / l[j][j];
        }
    }
    l
}

/// Mean and standard deviation; `None` for fewer than two values.
#[cfg(test)]
fn mean_and_deviation(samples: &[f64]) -> Option<(f64, f64)> {
    if samples.len() < 2 {
        return None;
    }
    let n = samples.len() as f64;
    let mean = samples.iter().sum::<f64>() / n;
    let variance = samples.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Some((mean, variance.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use form::{Hand, Section, Source};

    fn form() -> ScrewForm {
        let section = Section::symmetric(4.0, 15f64.to_radians(), 2.0, 1.4).unwrap();
        let thread = Thread::new(section, 20.0, 1, Hand::Right).unwrap();
        let mut form = ScrewForm::from_thread(&thread, Source::Measured);
        form.depth_mm.u = 0.03;
        form.major_diameter_mm.u = 0.04;
        form
    }

    #[test]
    fn independent_parts_add_in_quadrature() {
        let form = form();
        let t = form.thread().unwrap();
        let q = first_order(&form, &t, |t| t.minor_diameter_mm());
        // minor = major - 2 depth
        assert_relative_eq!(q.value, 16.0);
        assert_relative_eq!(q.u, (0.04f64.powi(2) + 0.06f64.powi(2)).sqrt(), max_relative = 1e-6);
    }

    #[test]
    fn correlation_is_honoured_by_both_ways() {
        let mut form = form();
        let mut rho = [[0.0; PARAMETERS]; PARAMETERS];
        for (i, row) in rho.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        rho[3][7] = 0.9;
        rho[7][3] = 0.9;
        form.correlation = Some(rho);
        let t = form.thread().unwrap();
        let wanted = (0.04f64.powi(2) + 0.06f64.powi(2) - 2.0 * 0.9 * 0.04 * 0.06).sqrt();
        let q = first_order(&form, &t, |t| t.minor_diameter_mm());
        assert_relative_eq!(q.u, wanted, max_relative = 1e-6);
        let drawn: Vec<f64> =
            Draws::new(&form).pairs::<0>(4000).iter().map(|(v, _)| v[7] - 2.0 * v[3]).collect();
        let (mean, deviation) = mean_and_deviation(&drawn).unwrap();
        assert_relative_eq!(mean, 16.0, max_relative = 1e-9);
        assert_relative_eq!(deviation, wanted, max_relative = 0.05);
    }
}
