//! Whether light and dark are in proportion: the shape of edge profiles tells.
//!
//! Lens, motion and pixel blur light symmetrically, so across an edge light rises as the integral of a
//! bell: `Φ(v)`. Where the values of the file are not in proportion to light (a picture turned over
//! into its negative, blurred or sharpened as a file, cut off at white), it rises as some `T(Φ(v))`.
//! A power `a Φ((v - d) / s)^g` is fitted: `ln g` is nought in proportion, and far from it otherwise.
//! How far the edge then lies off cannot be told from it, since a power is only the nearest of many
//! distortions; that it may lie off can. Nor do lens and motion ever make the light just outside an edge
//! brighter than further out: a program that sharpens does.

use crate::least::Normal;
use crate::profile::{PIXEL_VARIANCE, normal_cdf, normal_density};

/// The logarithm of the power that the light across an edge seems raised to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// `ln g`: 0 where the values of the file are light.
    pub ln_power: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// By how much the light just outside exceeds that further out, as a part of the rise; 0 unless
    /// that stands out of the noise.
    pub halo: f64,
}

/// Widths of the blur to either side that are looked at, and parts each is divided into.
const REACH: f64 = 3.0;
const PARTS: usize = 20;
/// Fewest samples of a part, and fewest parts.
const LEAST_SAMPLES: usize = 8;
const LEAST_PARTS: usize = 24;
/// Powers beyond `e` to this are cut-offs rather than powers.
const MOST: f64 = 5.0;
/// Halo, in root mean squares of what the power leaves over, from which it stands out.
const CLEAR_HALO: f64 = 3.0;
/// Halo from which a picture counts as sharpened: glare and the rings of compression stay below.
const SHARPENED: f64 = 0.04;

impl Tone {
    /// From samples across an edge, pairs of outward distance in pixels from where the edge seems to be
    /// and relative light (0 inside, 1 outside); `optical` is the blur before the pixel, px. `None`
    /// where they are too few.
    pub(crate) fn of(samples: &[(f32, f32)], optical: f64) -> Option<Self> {
        let sigma = (optical * optical + PIXEL_VARIANCE).sqrt();
        let parts = (2.0 * REACH) as usize * PARTS;
        let mut sums = vec![(0.0, 0.0, 0usize); parts];
        for &(u, z) in samples {
            let v = f64::from(u) / sigma;
            let part = (v + REACH) * PARTS as f64;
            if part >= 0.0
                && let Some(sum) = sums.get_mut(part as usize)
            {
                *sum = (sum.0 + v, sum.1 + f64::from(z), sum.2 + 1);
            }
        }
        let curve: Vec<(f64, f64)> = sums
            .iter()
            .filter(|s| s.2 >= LEAST_SAMPLES)
            .map(|s| (s.0 / s.2 as f64, s.1 / s.2 as f64))
            .collect();
        if curve.len() < LEAST_PARTS {
            return None;
        }
        let mut at = Fitted::at([0.0, 0.0, 1.0, 0.0], &curve);
        let mut damping = 1e-3;
        for _ in 0..STEPS {
            let mut x = at.x;
            for (x, step) in x.iter_mut().zip(at.step(&curve, damping)?.0) {
                *x += step.clamp(-0.7, 0.7);
            }
            x[3] = x[3].clamp(-MOST, MOST);
            let next = Fitted::at(x, &curve);
            if next.squares < at.squares {
                let settled = at.squares - next.squares < 1e-5 * at.squares;
                (at, damping) = (next, damping / 5.0);
                if settled {
                    break;
                }
            } else if damping > 1e3 {
                break;
            } else {
                damping *= 5.0;
            }
        }
        let (_, information) = at.step(&curve, 1e-6)?;
        let rms = (at.squares / (curve.len() - 4) as f64).sqrt();
        let u = rms / information.sqrt();
        let halo = at.x[2] - 1.0;
        let halo = if halo > CLEAR_HALO * rms { halo } else { 0.0 };
        u.is_finite().then_some(Self { ln_power: at.x[3], u, halo })
    }

    /// What several outlines of one picture say together; `None` when none says anything.
    pub(crate) fn together(tones: impl Iterator<Item = Self>) -> Option<Self> {
        let (mut sum, mut weight) = (0.0, 0.0);
        // A program sharpens every edge, or none.
        let mut halo = f64::INFINITY;
        for t in tones {
            let w = 1.0 / (t.u * t.u + LEAST_U * LEAST_U);
            sum += w * t.ln_power;
            weight += w;
            halo = halo.min(t.halo);
        }
        (weight > 0.0).then(|| Self { ln_power: sum / weight, u: weight.sqrt().recip(), halo })
    }

    /// Whether light beyond what the file can say has been cut off, or the picture was blurred as a
    /// file: by more than a third, and not by chance.
    pub(crate) fn is_lowered(self) -> bool {
        self.ln_power < -0.45 && self.ln_power < -5.0 * self.u
    }

    /// Whether it has been lowered by so much that nothing but a cut-off does it.
    pub(crate) fn is_cut_off(self) -> bool {
        self.is_lowered() && self.ln_power < -2.0
    }

    /// Whether edges have been sharpened.
    pub(crate) fn is_sharpened(self) -> bool {
        self.halo > SHARPENED
    }

    /// Whether contrast has been bent, steeper in the middle than at dark and light, as cameras do for a
    /// vivid picture.
    pub(crate) fn is_bent(self) -> bool {
        self.ln_power > 0.4 && self.ln_power > 3.0 * self.u
    }

    /// Whether dark has been spread and light pressed together, as in a negative.
    pub(crate) fn is_raised(self) -> bool {
        self.ln_power > 1.2 && self.ln_power > 3.0 * self.u
    }
}

/// Most steps of the fit.
const STEPS: usize = 40;

/// The power at some place, logarithm of the width, light outside and logarithm of the power.
struct Fitted {
    x: [f64; 4],
    squares: f64,
}

impl Fitted {
    fn at(x: [f64; 4], curve: &[(f64, f64)]) -> Self {
        let [place, width, outside, power] = x;
        let (s, g) = (width.exp(), power.exp());
        let left = |&(v, z): &(f64, f64)| z - outside * normal_cdf((v - place) / s).powf(g);
        Self { x, squares: curve.iter().map(|p| left(p).powi(2)).sum() }
    }

    /// A damped step of Gauss and Newton, and what is known of the power (inverse variance for unit
    /// noise).
    fn step(&self, curve: &[(f64, f64)], damping: f64) -> Option<([f64; 4], f64)> {
        let [place, width, outside, power] = self.x;
        let (s, g) = (width.exp(), power.exp());
        let mut system = Normal::default();
        let mut norms = [0.0; 4];
        for &(v, z) in curve {
            let t = (v - place) / s;
            let whole = normal_cdf(t).max(1e-300);
            let raised = whole.powf(g);
            let by_t = outside * g * raised / whole * normal_density(t);
            let row = [-by_t / s, -by_t * t, raised, outside * g * raised * whole.ln()];
            system.add(row, z - outside * raised);
            for (norm, r) in norms.iter_mut().zip(row) {
                *norm += r * r;
            }
        }
        for i in 0..4 {
            let mut row = [0.0; 4];
            row[i] = (damping * norms[i].max(1e-4)).sqrt();
            system.add(row, 0.0);
        }
        let (step, _, information) = system.solve()?;
        Some((step, information))
    }
}

/// No outline speaks more surely than this; compression alone makes as much.
const LEAST_U: f64 = 0.05;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grey::srgb_to_linear;

    /// An edge with a blur of two pixels, sampled at every phase, through a distortion of its light.
    fn seen(distorted: impl Fn(f64) -> f64) -> Tone {
        let samples: Vec<(f32, f32)> = (0..4000)
            .map(|i| {
                let u = (f64::from(i) / 4000.0 - 0.5) * 16.0;
                (u as f32, distorted(normal_cdf(u / 2.0)) as f32)
            })
            .collect();
        Tone::of(&samples, (4.0 - PIXEL_VARIANCE).sqrt()).unwrap()
    }

    fn encoded(light: f64) -> f64 {
        1.055 * light.powf(1.0 / 2.4) - 0.055
    }

    #[test]
    fn light_in_proportion_is_told_from_what_is_not() {
        let light = seen(|part| part);
        assert!(light.ln_power.abs() < 0.01 && !light.is_raised() && !light.is_lowered());
        assert!(seen(|part| (1.3 * part).min(1.0)).is_lowered());
        let (dark, bright) = (encoded(0.05), encoded(0.8));
        let between = |value: f64, a: f64, b: f64| {
            (srgb_to_linear(value) - srgb_to_linear(a)) / (srgb_to_linear(b) - srgb_to_linear(a))
        };
        // Blurred as a file: the encoded values rise as a bell's integral.
        assert!(seen(|part| between(dark + part * (bright - dark), dark, bright)).is_lowered());
        // A negative: what was light outside is dark now.
        let negative = seen(|part| {
            let value = 1.0 - encoded(0.05 + 0.75 * part);
            between(value, 1.0 - dark, 1.0 - bright)
        });
        assert!(negative.is_raised(), "{negative:?}");
        // Contrast bent in the values of the file, a quarter steeper in the middle.
        let bent = |value: f64| value + 0.5 * value * (1.0 - value) * (2.0 * value - 1.0);
        let vivid = seen(|part| {
            let value = bent(encoded(srgb_to_linear(dark) + part * srgb_to_linear(bright)));
            between(value, bent(dark), bent(encoded(srgb_to_linear(dark) + srgb_to_linear(bright))))
        });
        assert!(vivid.is_bent() && !vivid.is_raised(), "{vivid:?}");
        assert!(!light.is_bent());
    }

    #[test]
    fn a_halo_is_told_from_blur() {
        let plain = seen(|part| part);
        assert!(!plain.is_sharpened(), "{plain:?}");
        // Sharpened as a file: what a wider blur changes of its values, taken away 0.8 times.
        let (dark, bright) = (encoded(0.05), encoded(0.7));
        let value = |part: f64| dark + part * (bright - dark);
        let samples: Vec<(f32, f32)> = (0..4000)
            .map(|i| {
                let u = (f64::from(i) / 4000.0 - 0.5) * 16.0;
                let part = 1.8 * normal_cdf(u / 1.2) - 0.8 * normal_cdf(u / 1.9);
                let light = srgb_to_linear(value(part)) - srgb_to_linear(dark);
                (u as f32, (light / (srgb_to_linear(bright) - srgb_to_linear(dark))) as f32)
            })
            .collect();
        let sharp = Tone::of(&samples, (0.9f64.powi(2) - PIXEL_VARIANCE).sqrt()).unwrap();
        assert!(sharp.is_sharpened(), "{sharp:?}");
        assert!(!Tone::together([sharp, plain].into_iter()).unwrap().is_sharpened());
    }
}
