//! Light on both sides of an outline, from many neighbouring profiles at once.
//!
//! Neither side of an edge is even. Metal mirrors the light behind it at its rims, a crest otherwise than
//! a flank; the background falls off towards the corners and is shaded beside what lies on it. So each
//! cut has its own levels and slopes, taken from neighbours on the same stretch of the outline that face
//! the same way.

use crate::edges::half_window;
use crate::geometry::median;
use crate::profile::{Crossing, EdgeShape, Levels};
use crate::walk::Cut;

/// Cuts on either side over which light is averaged.
const REACH: usize = 28;
/// Cosine of the turn from one cut to another from which on they may show other light.
const SAME_WAY: f64 = 0.97;
/// Sum of squared places by which a level's tilt along the outline is held to nought.
const LEVEL_TILT: f64 = 0.5;
/// Blurs on either side of a corner within which no levels are taken.
const CORNER_BLURS: f64 = 2.6;
/// Cuts in a block over which the usual contrast and scatter are taken.
const BLOCK: usize = 48;

/// Usual contrast and scatter along an outline, locally: light may be far from even.
pub(crate) struct Usual(Vec<(f64, f64)>);

impl Usual {
    /// Medians over blocks and their neighbours; `None` when no profile is clean.
    pub fn of(fits: &[Option<Crossing>]) -> Option<Self> {
        let blocks = fits.len().div_ceil(BLOCK);
        let overall = medians(fits)?;
        let local = (0..blocks).map(|b| {
            let (from, to) = (b.saturating_sub(1) * BLOCK, ((b + 2) * BLOCK).min(fits.len()));
            medians(&fits[from..to]).unwrap_or(overall)
        });
        Some(Self(local.collect()))
    }

    /// Whether scatter is below a fraction of the contrast along most of the outline.
    pub fn is_quiet(&self, fraction: f64) -> bool {
        let quiet = self.0.iter().filter(|(contrast, rms)| *rms < fraction * contrast).count();
        2 * quiet > self.0.len()
    }

    /// Contrast (not negative) and root mean square scatter near a cut.
    pub fn at(&self, i: usize) -> (f64, f64) {
        self.0.get(i / BLOCK).or(self.0.last()).copied().unwrap_or((0.0, 0.0))
    }
}

fn medians(fits: &[Option<Crossing>]) -> Option<(f64, f64)> {
    let clean = || fits.iter().flatten().filter(|f| !f.crowded);
    let mut contrast: Vec<f64> = clean().map(|f| f.levels.contrast().abs()).collect();
    let mut rms: Vec<f64> = clean().map(|f| f.rms).collect();
    (contrast.len() >= 8).then(|| (median(&mut contrast), median(&mut rms)))
}

/// Light inside and outside at each cut: means over clean neighbours. Every `stride`th cut has been
/// looked at.
pub(crate) fn levels_along(
    cuts: &[Cut],
    shape: &EdgeShape,
    fits: &[Option<Crossing>],
    stride: usize,
) -> Vec<Option<Levels>> {
    let Some(usual) = Usual::of(fits) else { return vec![None; cuts.len()] };
    let clean = |i: usize| {
        let (contrast, rms) = usual.at(i);
        fits[i].filter(|f| {
            let c = f.levels.contrast().abs();
            let even = c > 0.45 * contrast && c < 2.2 * contrast;
            !f.crowded && even && f.rms <= (3.0 * rms).max(0.02 * contrast)
        })
    };
    // Round a corner the far side of the edge seems darker, or the near side lighter, than it is.
    let corner = (CORNER_BLURS * shape.sigma).ceil() as usize;
    let known: Vec<(usize, Levels, bool)> = (0..cuts.len())
        .step_by(stride)
        .filter_map(|i| clean(i).map(|f| (i, f.levels, straight_about(cuts, i, corner))))
        .collect();
    let mut first = 0;
    let means: Vec<Option<Mean>> = (0..cuts.len())
        .map(|i| {
            while known.get(first).is_some_and(|k| k.0 + 16 * REACH < i) {
                first += 1;
            }
            // Where few neighbours are clean, look farther; nearby, where nothing is straight; round a corner
            // no neighbour faces the same way, and those on both sides do.
            let least = REACH.div_ceil(4 * stride);
            [
                (REACH, true, true),
                (4 * REACH, true, true),
                (REACH, false, true),
                (16 * REACH, false, true),
                (REACH, false, false),
            ]
            .into_iter()
            .find_map(|(reach, straight, alike)| {
                let near = known[first..]
                    .iter()
                    .skip_while(|k| k.0 + reach < i)
                    .take_while(|k| k.0 <= i + reach)
                    .filter(|k| k.2 || !straight)
                    .filter(|k| !alike || faces(&cuts[k.0], &cuts[i]))
                    .map(|k| ((k.0 as f64 - i as f64) / reach as f64, &k.1));
                Mean::of(near).filter(|m| m.count >= least)
            })
        })
        .collect();
    steadied(means, 0.5 * half_window(shape))
}

fn faces(a: &Cut, b: &Cut) -> bool {
    a.nx * b.nx + a.ny * b.ny > SAME_WAY
}

/// Means of neighbours' light about one cut, how its two levels change along the outline, and the variances
/// of what changes.
#[derive(Clone, Copy)]
struct Mean {
    levels: Levels,
    /// Of inner and outer level: change to the cut from the middle of the neighbours.
    tilts: [f64; 2],
    /// Of the two slopes and the two tilts.
    variance: [f64; 4],
    count: usize,
}

impl Mean {
    /// From pairs of place along the outline, from -1 to 1 about the cut, and light there.
    fn of<'a>(near: impl Iterator<Item = (f64, &'a Levels)>) -> Option<Self> {
        // Sums of t, t², and of each level alone, squared and times t.
        let (mut t1, mut t2) = (0.0, 0.0);
        let mut sum = [0.0; 4];
        let mut squares = [0.0; 4];
        let mut tilted = [0.0; 2];
        let mut count = 0;
        for (t, l) in near {
            t1 += t;
            t2 += t * t;
            let all = [l.inside, l.outside, l.inner, l.outer];
            for i in 0..4 {
                sum[i] += all[i];
                squares[i] += all[i] * all[i];
            }
            tilted[0] += t * l.inner;
            tilted[1] += t * l.outer;
            count += 1;
        }
        if count == 0 {
            return None;
        }
        let n = f64::from(count);
        let mean = sum.map(|s| s / n);
        let scatter = |i: usize| (squares[i] / n - mean[i] * mean[i]).max(0.0);
        // A little is believed beforehand of there being no tilt: a line through three neighbours on one
        // side would otherwise lead anywhere.
        let spread = t2 - t1 * t1 / n + LEVEL_TILT;
        let middle = t1 / n;
        let tilt = |i: usize| -middle * (tilted[i] - t1 * mean[2 + i]) / spread;
        let tilt_variance = |i: usize| middle * middle * scatter(2 + i) / spread;
        Some(Self {
            levels: Levels { inside: mean[0], outside: mean[1], inner: mean[2], outer: mean[3] },
            tilts: [tilt(0), tilt(1)],
            variance: [scatter(0) / n, scatter(1) / n, tilt_variance(0), tilt_variance(1)],
            count: count as usize,
        })
    }
}

/// The levels at each cut, with slopes and tilts drawn to their mean over the whole outline (for tilts
/// nought) as far as they differ from it by no more than noise does (James and Stein, 1961): what every
/// stretch finds for itself costs as much of what is known of the place as the place itself. `beside` is how
/// far from the edge, px, the middle of what tells a level lies: there it stays when its slope changes.
fn steadied(means: Vec<Option<Mean>>, beside: f64) -> Vec<Option<Levels>> {
    let all = || means.iter().flatten();
    let n = all().count().max(1) as f64;
    let part = |get: &dyn Fn(&Mean) -> f64, mean: f64, which: usize| {
        let seen = all().map(|m| (get(m) - mean).powi(2)).sum::<f64>() / n;
        let noise = all().map(|m| m.variance[which]).sum::<f64>() / n;
        if seen > 0.0 { (1.0 - noise / seen).max(0.0) } else { 0.0 }
    };
    let mean = |get: &dyn Fn(&Mean) -> f64| all().map(get).sum::<f64>() / n;
    let slopes: [fn(&Mean) -> f64; 2] = [|m| m.levels.inside, |m| m.levels.outside];
    let slope_means = slopes.map(|get| mean(&get));
    let slope_parts = [0, 1].map(|i| part(&slopes[i], slope_means[i], i));
    let tilt_parts = [0, 1].map(|i| part(&|m: &Mean| m.tilts[i], 0.0, 2 + i));
    means
        .iter()
        .map(|m| {
            m.as_ref().map(|m| {
                let slope =
                    |i: usize| slope_means[i] + slope_parts[i] * (slopes[i](m) - slope_means[i]);
                let (inside, outside) = (slope(0), slope(1));
                let Levels { inner, outer, .. } = m.levels;
                Levels {
                    inner: inner + tilt_parts[0] * m.tilts[0] - beside * (m.levels.inside - inside),
                    outer: outer
                        + tilt_parts[1] * m.tilts[1]
                        + beside * (m.levels.outside - outside),
                    inside,
                    outside,
                }
            })
        })
        .collect()
}

/// Whether the boundary runs straight for `reach` cuts on either side of one.
fn straight_about(cuts: &[Cut], i: usize, reach: usize) -> bool {
    let here = &cuts[i];
    let like = |j: Option<usize>| {
        j.and_then(|j| cuts.get(j)).is_some_and(|c| {
            c.column == here.column
                && c.index.abs_diff(here.index) == reach
                && c.nx * here.nx + c.ny * here.ny > 0.998
        })
    };
    like(i.checked_sub(reach)) && like(i.checked_add(reach))
}
