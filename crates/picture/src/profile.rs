//! What a straight edge looks like along one row or column of pixels, and where it lies.
//!
//! A pixel integrates light over its square. Seen along the normal of a straight edge the square
//! is a box of width |n_x| run over by a box of width |n_y|; with a Gaussian blur before it the
//! profile is the Gaussian's integral, integrated twice more and differenced twice, in closed form.
//!
//! # Lower bound
//! Samples `y_i = inner + c P(u_i - e) + noise` of variance `v`, levels known: the Fisher
//! information about `e` is `c^2 sum P'(u_i)^2 / v`, so no unbiased estimate has a standard
//! deviation below `sqrt(v / sum P'^2) / c` (Cramér-Rao). One Gauss-Newton step of least squares
//! from a start within a fraction of the blur reaches it to first order. Levels estimated from the
//! same few samples would cost a third more; they vary slowly along an outline, so they are taken
//! from many neighbouring profiles instead.
//!
//! # In which units
//! Light is compared as light, since lens, motion and pixel add light, and any symmetric blur of
//! light leaves the place alone. A compressed file loses fine detail in encoded values instead;
//! for an edge sharper than a pixel, against black, at half the usual quality, that moves the
//! place by up to 0.06 px outward. Comparing encoded values instead was tried: it mends half of
//! that and costs as much elsewhere, wherever the blur is not exactly known.

use crate::least::Normal;

/// Integral of the normal density.
pub(crate) fn normal_cdf(u: f64) -> f64 {
    0.5 * libm::erfc(-u * std::f64::consts::FRAC_1_SQRT_2)
}

pub(crate) fn normal_density(u: f64) -> f64 {
    (-0.5 * u * u).exp() * 0.398_942_280_401_432_7
}

/// Variance of a uniform box one pixel wide; the second moment a pixel adds to any blur,
/// whatever the direction of the edge.
pub(crate) const PIXEL_VARIANCE: f64 = 1.0 / 12.0;

/// Tables per unit of distance; with linear reading the error stays below 0.002 of the contrast
/// at the sharpest edge.
const PER_PIXEL: f64 = 16.0;
/// Edge directions tabulated between 0 and 45 degrees from the row or column.
const DIRECTIONS: usize = 8;

/// Profile of a straight edge for one blur, tabulated.
pub(crate) struct EdgeShape {
    /// Standard deviation of the blur with the pixel in it, in pixels.
    pub sigma: f64,
    reach: f64,
    tables: Vec<Vec<(f32, f32)>>,
}

impl EdgeShape {
    /// Shape for a Gaussian blur of `optical` pixels (1-sigma) before the pixel itself.
    pub fn new(optical: f64) -> Self {
        let optical = optical.clamp(0.04, 200.0);
        let sigma = (optical * optical + PIXEL_VARIANCE).sqrt();
        let reach = 4.5 * optical + 1.0;
        // A wide blur hides the pixel's shape: one table does, and a coarser one.
        let directions = if optical > 3.0 { 1 } else { DIRECTIONS };
        let n = (2.0 * reach * PER_PIXEL).ceil() as usize + 2;
        let tables = (0..directions)
            .map(|i| {
                let minor = std::f64::consts::FRAC_1_SQRT_2 * i as f64 / (DIRECTIONS - 1) as f64;
                (0..n)
                    .map(|j| {
                        let u = j as f64 / PER_PIXEL - reach;
                        let (p, d) = if directions == 1 {
                            (normal_cdf(u / sigma), normal_density(u / sigma) / sigma)
                        } else {
                            edge(u, optical, minor)
                        };
                        (p as f32, d as f32)
                    })
                    .collect()
            })
            .collect();
        Self { sigma, reach, tables }
    }

    /// The table for an edge whose normal's smaller component is `minor`.
    pub fn toward(&self, minor: f64) -> EdgeTable<'_> {
        let last = self.tables.len() - 1;
        let bin = (minor.abs() * std::f64::consts::SQRT_2 * last as f64).round() as usize;
        EdgeTable { reach: self.reach, table: &self.tables[bin.min(last)] }
    }
}

/// Profile and slope at a signed distance `u` outward, for a blur and an edge direction.
fn edge(u: f64, optical: f64, minor: f64) -> (f64, f64) {
    let major = (1.0 - minor * minor).sqrt();
    let first = |z: f64| {
        let v = z / optical;
        optical * (v * normal_cdf(v) + normal_density(v))
    };
    if minor < 0.02 {
        let (a, b) = (u + major / 2.0, u - major / 2.0);
        let slope = (normal_cdf(a / optical) - normal_cdf(b / optical)) / major;
        return ((first(a) - first(b)) / major, slope);
    }
    let second = |z: f64| {
        let v = z / optical;
        optical * optical * 0.5 * ((v * v + 1.0) * normal_cdf(v) + v * normal_density(v))
    };
    let (wide, narrow) = ((major + minor) / 2.0, (major - minor) / 2.0);
    let twice = |f: &dyn Fn(f64) -> f64| {
        (f(u + wide) - f(u + narrow) - f(u - narrow) + f(u - wide)) / (major * minor)
    };
    (twice(&second), twice(&first))
}

/// One direction's profile.
#[derive(Clone, Copy)]
pub(crate) struct EdgeTable<'a> {
    reach: f64,
    table: &'a [(f32, f32)],
}

impl EdgeTable<'_> {
    /// Profile (0 inside to 1 outside) and slope at signed distance `u` outward.
    pub fn at(&self, u: f64) -> (f64, f64) {
        let x = (u + self.reach) * PER_PIXEL;
        if x <= 0.0 {
            return (0.0, 0.0);
        }
        let i = x as usize;
        if i + 1 >= self.table.len() {
            return (1.0, 0.0);
        }
        let t = (x - i as f64) as f32;
        let (a, b) = (self.table[i], self.table[i + 1]);
        (f64::from(a.0 + t * (b.0 - a.0)), f64::from(a.1 + t * (b.1 - a.1)))
    }
}

/// Samples along a row or column through an edge: `light[i]` belongs to the coordinate
/// `first + i` (pixel centres), and outward distance grows by `rate` per pixel.
pub(crate) struct Profile<'a> {
    pub light: &'a [f32],
    pub first: f64,
    /// Component of the outward normal along the samples, signed.
    pub rate: f64,
}

/// Where the edge crosses a profile.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crossing {
    /// Coordinate along the row or column.
    pub at: f64,
    /// Light on the object's side.
    pub inner: f64,
    /// Light on the background's side.
    pub outer: f64,
    /// Root mean square of what the model leaves.
    pub rms: f64,
    /// Sum of squared slopes over the samples, per square pixel along the normal.
    pub information: f64,
    /// Whether something else than a straight edge showed within the window.
    pub crowded: bool,
}

/// Light on both sides of an edge, at the edge, and how uneven the illumination is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Levels {
    pub inner: f64,
    pub outer: f64,
    /// Relative change of the light per pixel along the row or column.
    pub uneven: f64,
}

impl Profile<'_> {
    /// The samples' own first guess: levels from the outer quarters, place from the area
    /// between them, which no symmetric blur can shift. `None` without contrast.
    pub fn by_area(&self) -> Option<Crossing> {
        let n = self.light.len();
        let quarter = (n / 4).max(1);
        if n < 4 {
            return None;
        }
        let mean = |s: &[f32]| s.iter().map(|&v| f64::from(v)).sum::<f64>() / s.len() as f64;
        let (low, high) = (mean(&self.light[..quarter]), mean(&self.light[n - quarter..]));
        let contrast = high - low;
        if contrast.abs() < 1e-6 {
            return None;
        }
        // Light missing towards the high end, in pixels, is the width of the low part.
        let width = self.light.iter().map(|&v| (high - f64::from(v)) / contrast).sum::<f64>();
        if !(0.0..=n as f64).contains(&width) {
            return None;
        }
        let spread = |s: &[f32], m: f64| {
            s.iter().map(|&v| (f64::from(v) - m).powi(2)).sum::<f64>() / s.len() as f64
        };
        let rms = ((spread(&self.light[..quarter], low)
            + spread(&self.light[n - quarter..], high))
            / 2.0)
            .sqrt();
        let (inner, outer) = if self.rate > 0.0 { (low, high) } else { (high, low) };
        Some(Crossing {
            at: self.first - 0.5 + width,
            inner,
            outer,
            rms,
            information: 0.0,
            crowded: rms > 0.15 * contrast.abs(),
        })
    }

    /// Least squares for place and both levels, by Gauss-Newton from `start`.
    pub fn with_free_levels(&self, shape: EdgeTable, start: f64, steps: usize) -> Option<Crossing> {
        let n = self.light.len() as f64;
        let mut at = start;
        let mut found = None;
        for _ in 0..steps {
            let (mut sp, mut sd, mut sy) = (0.0, 0.0, 0.0);
            let (mut spp, mut spd, mut sdd, mut spy, mut sdy, mut syy) =
                (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
            for (i, &y) in self.light.iter().enumerate() {
                let (p, d) = shape.at((self.first + i as f64 - at) * self.rate);
                let y = f64::from(y);
                sp += p;
                sd += d;
                sy += y;
                spp += p * p;
                spd += p * d;
                sdd += d * d;
                spy += p * y;
                sdy += d * y;
                syy += y * y;
            }
            let pp = spp - sp * sp / n;
            let py = spy - sp * sy / n;
            if pp < 1e-3 {
                return None;
            }
            let contrast = py / pp;
            let inner = (sy - contrast * sp) / n;
            if contrast.abs() < 1e-6 {
                return None;
            }
            // The slope with all that levels could imitate taken out.
            let pd = spd - sp * sd / n;
            let dd = sdd - sd * sd / n - pd * pd / pp;
            let dy = (sdy - sd * sy / n) - pd * py / pp;
            if dd < 1e-9 {
                return None;
            }
            let yy = (syy - sy * sy / n - py * py / pp).max(0.0);
            found = Some(Crossing {
                at,
                inner,
                outer: inner + contrast,
                rms: (yy / (n - 2.0).max(1.0)).sqrt(),
                information: sdd,
                crowded: false,
            });
            let step = -dy / (contrast * dd * self.rate);
            at += step.clamp(-2.0, 2.0);
            if !at.is_finite() || at < self.first || at > self.first + n {
                return None;
            }
        }
        found.map(|f| Crossing { at, ..f })
    }

    /// Relative change of the light per pixel along the samples (uneven illumination), with its
    /// information (inverse variance for unit noise). The levels, and small errors of the place,
    /// are left free.
    pub fn unevenness(&self, shape: EdgeTable, at: &Crossing) -> Option<(f64, f64)> {
        let contrast = at.outer - at.inner;
        let mut system = Normal::default();
        for (i, &y) in self.light.iter().enumerate() {
            let t = self.first + i as f64 - at.at;
            let (p, d) = shape.at(t * self.rate);
            system.add([1.0, p, d, (at.inner + contrast * p) * t], f64::from(y));
        }
        let (x, _, information) = system.solve()?;
        Some((x[3], information))
    }

    /// Least squares for the place alone, the levels at the edge given. Samples beyond the point
    /// where something else begins are left out.
    pub fn with_levels(
        &self,
        shape: EdgeTable,
        sigma: f64,
        start: f64,
        levels: Levels,
    ) -> Option<Crossing> {
        let Levels { inner, outer, uneven } = levels;
        let contrast = outer - inner;
        let n = self.light.len();
        let (from, to) = self.alone(sigma, start, inner, outer);
        let mut at = start;
        let mut found = None;
        for _ in 0..3 {
            let (mut srd, mut sdd, mut srr) = (0.0, 0.0, 0.0);
            for (i, &y) in self.light.iter().enumerate().take(to).skip(from) {
                let t = self.first + i as f64 - at;
                let (p, d) = shape.at(t * self.rate);
                let r = f64::from(y) / (1.0 + uneven * t) - inner - contrast * p;
                srd += r * d;
                sdd += d * d;
                srr += r * r;
            }
            if sdd < 1e-9 {
                return None;
            }
            let step = -srd / (contrast * sdd * self.rate);
            at += step.clamp(-1.5, 1.5);
            if !at.is_finite() || at < self.first || at > self.first + n as f64 {
                return None;
            }
            // What is left after the step, to first order.
            let left = (srr - srd * srd / sdd).max(0.0);
            found = Some(Crossing {
                at,
                inner,
                outer,
                rms: (left / ((to - from) as f64 - 1.0).max(1.0)).sqrt(),
                information: sdd,
                crowded: to - from < n,
            });
            // A step's error is of the order of its square.
            if step.abs() < 1e-2 {
                break;
            }
        }
        found
    }

    /// Range of samples that belong to this edge: cut where, going away from it, the light
    /// leaves the level it should have settled to by more than a third of the contrast.
    fn alone(&self, sigma: f64, at: f64, inner: f64, outer: f64) -> (usize, usize) {
        let contrast = outer - inner;
        let n = self.light.len();
        let strays = |i: usize| {
            let u = (self.first + i as f64 - at) * self.rate;
            if u.abs() < 2.0 * sigma {
                return false;
            }
            let level = if u > 0.0 { outer } else { inner };
            ((f64::from(self.light[i]) - level) / contrast).abs() > 0.35
        };
        let middle = ((at - self.first).round().max(0.0) as usize).min(n.saturating_sub(1));
        // The neighbour's own blur reaches this far back.
        let back = (2.0 * sigma / self.rate.abs()).ceil() as usize;
        let least = (sigma / self.rate.abs()).ceil() as usize + 1;
        let to = match (middle..n).find(|&i| strays(i)) {
            Some(i) => (i.saturating_sub(back)).max((middle + least).min(n)),
            None => n,
        };
        let from = match (0..=middle).rev().find(|&i| strays(i)) {
            Some(i) => (i + back + 1).min(middle.saturating_sub(least)),
            None => 0,
        };
        (from, to.max(from))
    }
}

/// Blur (1-sigma, pixels, without the pixel) that best explains samples gathered from many
/// profiles of one outline: pairs of outward distance and relative light (0 inside, 1 outside).
pub(crate) fn blur_of(samples: &[(f32, f32)], start: f64) -> f64 {
    // The pixel enters by its variance only; to fourth order in its width that is exact, and at
    // the sharp end a wrong shape costs efficiency, never bias.
    const REACH: f32 = 5.0;
    const PER_SIGMA: f32 = 64.0;
    let table: Vec<f32> = (0..=(2.0 * REACH * PER_SIGMA) as usize + 1)
        .map(|i| normal_cdf(f64::from(i as f32 / PER_SIGMA - REACH)) as f32)
        .collect();
    let cdf = |u: f32| {
        let x = (u.clamp(-REACH, REACH) + REACH) * PER_SIGMA;
        let i = (x as usize).min(table.len() - 2);
        table[i] + (x - i as f32) * (table[i + 1] - table[i])
    };
    let cost = |log_sigma: f64| {
        let scale = (1.0 / log_sigma.exp()) as f32;
        samples
            .iter()
            .map(|&(u, z)| {
                let r = z - cdf(u * scale);
                // Bounded, so that corners and dirt do not widen the blur.
                let q = r * r;
                f64::from(q / (1.0 + q / 0.01))
            })
            .sum::<f64>()
    };
    let start = start.max(0.3).ln();
    let (mut a, mut b) = (start - 1.6, start + 0.9);
    let golden = 0.618_033_988_749_895;
    let (mut x1, mut x2) = (b - golden * (b - a), a + golden * (b - a));
    let (mut f1, mut f2) = (cost(x1), cost(x2));
    for _ in 0..12 {
        if f1 < f2 {
            (b, x2, f2) = (x2, x1, f1);
            x1 = b - golden * (b - a);
            f1 = cost(x1);
        } else {
            (a, x1, f1) = (x1, x2, f2);
            x2 = a + golden * (b - a);
            f2 = cost(x2);
        }
    }
    let total = (0.5 * (a + b)).exp();
    (total * total - PIXEL_VARIANCE).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Light of the pixel at distance `u`, by brute force over the pixel's square.
    fn brute(u: f64, optical: f64, minor: f64) -> f64 {
        let major = (1.0 - minor * minor).sqrt();
        let n = 200;
        let mut sum = 0.0;
        for i in 0..n {
            for j in 0..n {
                let (a, b) = ((i as f64 + 0.5) / n as f64 - 0.5, (j as f64 + 0.5) / n as f64 - 0.5);
                sum += normal_cdf((u + a * major + b * minor) / optical);
            }
        }
        sum / (n * n) as f64
    }

    #[test]
    fn the_closed_form_is_the_integral_over_the_pixel() {
        for optical in [0.05, 0.3, 1.0, 2.5] {
            for minor in [0.0, 0.1, 0.4, 0.7] {
                for u in [-1.3, -0.4, 0.0, 0.2, 0.9] {
                    let (p, d) = edge(u, optical, minor);
                    assert!((p - brute(u, optical, minor)).abs() < 2e-3, "{optical} {minor} {u}");
                    let slope = (edge(u + 1e-4, optical, minor).0
                        - edge(u - 1e-4, optical, minor).0)
                        / 2e-4;
                    assert!((d - slope).abs() < 1e-4);
                }
            }
        }
    }

    #[test]
    fn tables_agree_with_the_closed_form() {
        for optical in [0.1, 0.7, 2.0] {
            let shape = EdgeShape::new(optical);
            for i in 0..DIRECTIONS {
                let minor = std::f64::consts::FRAC_1_SQRT_2 * i as f64 / (DIRECTIONS - 1) as f64;
                let table = shape.toward(minor);
                for j in -60..60 {
                    let u = j as f64 * 0.037;
                    assert!((table.at(u).0 - edge(u, optical, minor).0).abs() < 3e-3);
                }
            }
        }
    }

    #[test]
    fn blur_is_recovered() {
        for sigma in [0.4f64, 1.3, 6.0] {
            let total = (sigma * sigma + PIXEL_VARIANCE).sqrt();
            let samples: Vec<(f32, f32)> = (-400..400)
                .map(|i| {
                    let u = i as f64 * total / 100.0;
                    (u as f32, normal_cdf(u / total) as f32)
                })
                .collect();
            assert!((blur_of(&samples, 1.5 * total) / sigma - 1.0).abs() < 0.03);
        }
    }
}
