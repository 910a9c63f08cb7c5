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

use crate::geometry::quantile;
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

/// One place of a tabulated edge: the step from 0 inside to 1 outside, its slope per pixel, and the
/// blurred ramp `min(u, 0)`.
#[derive(Clone, Copy, Debug, Default)]
struct Entry {
    step: f32,
    slope: f32,
    ramp: f32,
}

/// Profile of a straight edge for one blur, tabulated.
pub(crate) struct EdgeShape {
    /// Standard deviation of the blur with the pixel in it, in pixels.
    pub sigma: f64,
    reach: f64,
    tables: Vec<Vec<Entry>>,
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
                        let v = u / sigma;
                        let (step, slope) = if directions == 1 {
                            (normal_cdf(v), normal_density(v) / sigma)
                        } else {
                            edge(u, optical, minor)
                        };
                        // A ramp has no detail that the pixel's shape could show.
                        let ramp = u * normal_cdf(-v) - sigma * normal_density(v);
                        Entry { step: step as f32, slope: slope as f32, ramp: ramp as f32 }
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
    table: &'a [Entry],
}

/// An edge's shape at one place: the step (0 inside to 1 outside), its slope per pixel, and the two
/// blurred ramps, `min(u, 0)` inside and `max(u, 0)` outside.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shape {
    pub step: f64,
    pub slope: f64,
    pub inside: f64,
    pub outside: f64,
}

impl EdgeTable<'_> {
    /// The shape at signed distance `u` outward, px.
    pub fn at(&self, u: f64) -> Shape {
        let x = (u + self.reach) * PER_PIXEL;
        if x <= 0.0 {
            return Shape { step: 0.0, slope: 0.0, inside: u, outside: 0.0 };
        }
        let i = x as usize;
        if i + 1 >= self.table.len() {
            return Shape { step: 1.0, slope: 0.0, inside: 0.0, outside: u };
        }
        let t = (x - i as f64) as f32;
        let (a, b) = (self.table[i], self.table[i + 1]);
        let between = |a: f32, b: f32| f64::from(a + t * (b - a));
        let inside = between(a.ramp, b.ramp);
        Shape {
            step: between(a.step, b.step),
            slope: between(a.slope, b.slope),
            inside,
            outside: u - inside,
        }
    }
}

/// The same for a Gaussian of any width, the pixel's own shape left out.
fn bell(u: f64, sigma: f64) -> Shape {
    let v = u / sigma;
    let (step, density) = (Bell::get().cdf(v), normal_density(v));
    let inside = u * (1.0 - step) - sigma * density;
    Shape { step, slope: density / sigma, inside, outside: u - inside }
}

/// The normal integral, tabulated: it is asked for a hundred thousand times an outline.
struct Bell(Vec<f64>);

impl Bell {
    const REACH: f64 = 6.0;
    const PER_SIGMA: f64 = 128.0;

    fn get() -> &'static Self {
        static BELL: std::sync::OnceLock<Bell> = std::sync::OnceLock::new();
        BELL.get_or_init(|| {
            let n = (2.0 * Self::REACH * Self::PER_SIGMA) as usize + 2;
            Self((0..n).map(|i| normal_cdf(i as f64 / Self::PER_SIGMA - Self::REACH)).collect())
        })
    }

    fn cdf(&self, v: f64) -> f64 {
        let x = (v.clamp(-Self::REACH, Self::REACH) + Self::REACH) * Self::PER_SIGMA;
        let i = (x as usize).min(self.0.len() - 2);
        self.0[i] + (x - i as f64) * (self.0[i + 1] - self.0[i])
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

/// Light on both sides of an edge, seen at the edge, and how it changes going away from it. Metal
/// mirrors what is behind it, most of all near its outline, and a background darkens beside a thing
/// that lies on it: neither side is even.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Levels {
    /// Light of the object at its edge.
    pub inner: f64,
    /// Light of the background at the edge.
    pub outer: f64,
    /// Change of the object's light per pixel outward.
    pub inside: f64,
    /// Change of the background's light per pixel outward.
    pub outside: f64,
}

impl Levels {
    pub fn contrast(&self) -> f64 {
        self.outer - self.inner
    }

    /// Light at a place of the shape.
    fn light(&self, s: &Shape) -> f64 {
        self.inner + self.contrast() * s.step + self.inside * s.inside + self.outside * s.outside
    }

    /// Change of the light per pixel by which the edge is moved inward.
    fn slope(&self, s: &Shape) -> f64 {
        self.contrast() * s.slope + self.inside * (1.0 - s.step) + self.outside * s.step
    }
}

/// Where the edge crosses a profile.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Crossing {
    /// Coordinate along the row or column.
    pub at: f64,
    /// Light on both sides.
    pub levels: Levels,
    /// Root mean square of what the model leaves.
    pub rms: f64,
    /// Sum of squared slopes over the samples, for a step of 1, per square pixel along the normal.
    pub information: f64,
    /// Whether something else than a straight edge showed within the window.
    pub crowded: bool,
}

/// Share of the contrast that a straight edge's profile leaves over at most.
const CROWDED: f64 = 0.12;
/// Part of the steepest rise that another must have to be an edge of its own.
const STEEP: f64 = 0.35;
/// The same at most, and how many times the noise of a rise it must be.
const STEEPEST: f64 = 0.8;
const NOISES: f64 = 5.0;

impl Profile<'_> {
    /// Where the light rises most steeply over about two blurs, among such places the one nearest to
    /// `centre`; outward if `dark` (the object is darker than its background), else inward. Light
    /// mirrored at the rim of a thing moves this place least of all.
    pub fn steepest(&self, sigma: f64, centre: f64, dark: bool) -> Option<f64> {
        let n = self.light.len();
        let h = ((sigma / self.rate.abs()).round() as usize).clamp(1, 64).min(n / 2);
        if n < 2 * h + 1 || h == 0 {
            return None;
        }
        let sign = if (self.rate > 0.0) == dark { 1.0 } else { -1.0 };
        let mut sum = 0.0f32;
        for i in 0..h {
            sum += self.light[h + i] - self.light[i];
        }
        // Rise across the boundary between samples `b - 1` and `b`.
        let mut rises = Vec::with_capacity(n - 2 * h + 1);
        rises.push(sign * sum);
        for b in h + 1..=n - h {
            sum += self.light[b + h - 1] - 2.0 * self.light[b - 1] + self.light[b - 1 - h];
            rises.push(sign * sum);
        }
        let most = rises.iter().copied().fold(0.0f32, f32::max);
        if most <= 1e-6 * h as f32 {
            return None;
        }
        // Noise rises steeply too, here and there.
        let noise = self.noise() * (2.0 * h as f64).sqrt();
        let most = f64::from(most);
        let least = (STEEP * most).max((NOISES * noise).min(STEEPEST * most));
        let place = |i: usize| self.first - 0.5 + (i + h) as f64;
        (0..rises.len())
            .filter(|&i| {
                let r = rises[i];
                f64::from(r) >= least
                    && (i == 0 || rises[i - 1] <= r)
                    && rises.get(i + 1).is_none_or(|next| *next <= r)
            })
            .min_by(|&a, &b| (place(a) - centre).abs().total_cmp(&(place(b) - centre).abs()))
            .map(place)
    }

    /// Noise of a sample, from how the light bends from sample to sample where it bends least.
    fn noise(&self) -> f64 {
        let mut bends: Vec<f64> =
            self.light.windows(3).map(|t| f64::from((t[0] - 2.0 * t[1] + t[2]).abs())).collect();
        1.4826 * quantile(&mut bends, 0.4) / 6f64.sqrt()
    }

    /// Least squares for place, levels and their slopes, by Gauss-Newton from `start`.
    pub fn with_free_levels(&self, shape: EdgeTable, start: f64, steps: usize) -> Option<Crossing> {
        let found = self.free(&|u| shape.at(u), start, steps)?;
        let most = (CROWDED * found.levels.contrast().abs()).max(2.0 * self.noise());
        Some(Crossing { crowded: found.rms > most, ..found })
    }

    fn free(&self, shape: &impl Fn(f64) -> Shape, start: f64, steps: usize) -> Option<Crossing> {
        let n = self.light.len() as f64;
        let mut at = start;
        let mut found = None;
        for _ in 0..steps {
            let mut system = Normal::<5>::default();
            let mut information = 0.0;
            for (i, &y) in self.light.iter().enumerate() {
                let s = shape((self.first + i as f64 - at) * self.rate);
                // A small shift of the ramps is a change of the levels.
                system.add([1.0, s.step, s.inside, s.outside, s.slope], f64::from(y));
                information += s.slope * s.slope;
            }
            let ([inner, contrast, inside, outside, shift], rms, _) = system.solve()?;
            if contrast.abs() < 1e-6 {
                return None;
            }
            let levels = Levels { inner, outer: inner + contrast, inside, outside };
            let crowded = rms > CROWDED * contrast.abs();
            found = Some(Crossing { at, levels, rms, information, crowded });
            let step = -shift / (contrast * self.rate);
            at += step.clamp(-2.0, 2.0);
            if !at.is_finite() || at < self.first || at > self.first + n {
                return None;
            }
        }
        found.map(|f| Crossing { at, ..f })
    }

    /// Least squares for the place alone, the light on both sides given. Samples beyond the point
    /// where something else begins are left out.
    pub fn with_levels(
        &self,
        shape: EdgeTable,
        sigma: f64,
        start: f64,
        levels: Levels,
    ) -> Option<Crossing> {
        let contrast = levels.contrast();
        let n = self.light.len();
        let (from, to) = self.alone(sigma, start, &levels);
        let mut at = start;
        let mut found = None;
        for _ in 0..3 {
            let (mut srd, mut sdd, mut srr) = (0.0, 0.0, 0.0);
            for (i, &y) in self.light.iter().enumerate().take(to).skip(from) {
                let s = shape.at((self.first + i as f64 - at) * self.rate);
                let r = f64::from(y) - levels.light(&s);
                let d = levels.slope(&s);
                srd += r * d;
                sdd += d * d;
                srr += r * r;
            }
            if sdd < 1e-9 * contrast * contrast {
                return None;
            }
            let step = -srd / (sdd * self.rate);
            at += step.clamp(-1.5, 1.5);
            if !at.is_finite() || at < self.first || at > self.first + n as f64 {
                return None;
            }
            // What is left after the step, to first order.
            let left = (srr - srd * srd / sdd).max(0.0);
            found = Some(Crossing {
                at,
                levels,
                rms: (left / ((to - from) as f64 - 1.0).max(1.0)).sqrt(),
                information: sdd / (contrast * contrast),
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
    /// leaves the level it should have there by more than a third of the contrast.
    fn alone(&self, sigma: f64, at: f64, levels: &Levels) -> (usize, usize) {
        let contrast = levels.contrast();
        let n = self.light.len();
        let strays = |i: usize| {
            let u = (self.first + i as f64 - at) * self.rate;
            if u.abs() < 2.0 * sigma {
                return false;
            }
            let level = if u > 0.0 {
                levels.outer + levels.outside * u
            } else {
                levels.inner + levels.inside * u
            };
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

    /// Samples as pairs of outward distance and relative light (0 inside, 1 outside), levels taken from the
    /// outer quarters and the place from the area between them, which no symmetric blur can shift; also the
    /// levels inside and outside. For edges whose both sides are even. `None` without contrast, or where
    /// something else shows.
    pub fn relative(&self) -> Option<Relative> {
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
        if rms > 0.15 * contrast.abs() {
            return None;
        }
        let (inner, outer) = if self.rate > 0.0 { (low, high) } else { (high, low) };
        let at = self.first - 0.5 + width;
        let samples = self.light.iter().enumerate().map(|(i, &v)| {
            let u = (self.first + i as f64 - at) * self.rate;
            (u as f32, ((f64::from(v) - inner) / (outer - inner)) as f32)
        });
        Some(Relative { samples: samples.collect(), inner, outer })
    }

    /// Least squares for an edge of any blur, the pixel in it: 1-sigma, px.
    pub fn with_blur(&self, sigma: f64, start: f64) -> Option<Crossing> {
        self.free(&|u| bell(u, sigma), start, 3)
    }
}

/// A profile's samples against its own two levels.
pub(crate) struct Relative {
    /// Outward distance, px, and light from 0 inside to 1 outside.
    pub samples: Vec<(f32, f32)>,
    pub inner: f64,
    pub outer: f64,
}

/// A profile kept, with where its edge seems to be.
pub(crate) struct Sampled {
    pub light: Vec<f32>,
    pub first: f64,
    pub rate: f64,
    pub at: f64,
}

impl Sampled {
    pub fn profile(&self) -> Profile<'_> {
        Profile { light: &self.light, first: self.first, rate: self.rate }
    }
}

/// Blur (1-sigma, pixels, without the pixel) that best explains many profiles of one outline, each with
/// its own place, levels and slopes.
pub(crate) fn blur_of(profiles: &[Sampled], start: f64) -> f64 {
    // The pixel enters by its variance only; to fourth order in its width that is exact, and at
    // the sharp end a wrong shape costs efficiency, never bias.
    //
    // A part of the range of light left over beyond which a profile is no edge, squared. The range is the
    // profile's own: against the step that is fitted, a wide blur would look good for finding a large one.
    const MOST: f64 = 0.05 * 0.05;
    let ranges: Vec<f64> = profiles
        .iter()
        .map(|s| {
            let (low, high) = s
                .light
                .iter()
                .fold((f32::INFINITY, f32::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
            f64::from(high - low).max(1e-6)
        })
        .collect();
    let cost = |log_sigma: f64| {
        let sigma = log_sigma.exp();
        profiles
            .iter()
            .zip(&ranges)
            .map(|(s, range)| {
                s.profile().with_blur(sigma, s.at).map_or(1.0, |f| {
                    let q = (f.rms / f.levels.contrast().abs().min(*range)).powi(2);
                    // Bounded, so that corners and dirt do not widen the blur.
                    q / (q + MOST)
                })
            })
            .sum::<f64>()
    };
    let start = start.max(0.3).ln();
    let (mut a, mut b) = (start - 1.6, start + 0.9);
    let golden = 0.618_033_988_749_895;
    let (mut x1, mut x2) = (b - golden * (b - a), a + golden * (b - a));
    let (mut f1, mut f2) = (cost(x1), cost(x2));
    for _ in 0..10 {
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
                    assert!((table.at(u).step - edge(u, optical, minor).0).abs() < 3e-3);
                }
            }
        }
    }

    /// Profiles of a step between sides that change: a rim lit from behind, a shadow beside it.
    fn seen(sigma: f64, levels: Levels) -> Vec<Sampled> {
        (0..40)
            .map(|i| {
                let at = 20.0 + f64::from(i) / 40.0;
                let light =
                    |j: i32| levels.light(&bell((f64::from(j) + 0.5 - at) * 0.9, sigma)) as f32;
                Sampled { light: (0..40).map(light).collect(), first: 0.5, rate: 0.9, at: 20.4 }
            })
            .collect()
    }

    const BRIGHT_RIM: Levels = Levels { inner: 0.45, outer: 0.8, inside: 0.012, outside: 0.004 };

    #[test]
    fn blur_is_recovered() {
        let black = Levels { inner: 0.02, outer: 0.8, inside: 0.0, outside: 0.0 };
        for levels in [black, BRIGHT_RIM] {
            for sigma in [0.4f64, 1.3, 3.0] {
                let total = (sigma * sigma + PIXEL_VARIANCE).sqrt();
                let found = blur_of(&seen(total, levels), 1.5 * total);
                assert!((found / sigma - 1.0).abs() < 0.04, "{found} for {sigma}");
            }
        }
    }

    #[test]
    fn a_rim_that_mirrors_the_light_does_not_move_the_edge() {
        let shape = EdgeShape::new(1.2);
        for sampled in seen(shape.sigma, BRIGHT_RIM).iter().enumerate() {
            let (i, sampled) = sampled;
            let truth = 20.0 + i as f64 / 40.0;
            let profile = sampled.profile();
            let start = profile.steepest(1.2, 20.0, true).unwrap();
            let free = profile.with_free_levels(shape.toward(0.0), start, 3).unwrap();
            assert!((free.at - truth).abs() < 0.01, "{} for {truth}", free.at);
            assert!((free.levels.inner - BRIGHT_RIM.inner).abs() < 0.01);
            let alone = profile
                .with_levels(shape.toward(0.0), shape.sigma, truth + 0.3, BRIGHT_RIM)
                .unwrap();
            assert!((alone.at - truth).abs() < 0.01, "{} for {truth}", alone.at);
        }
    }
}
