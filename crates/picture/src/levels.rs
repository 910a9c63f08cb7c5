//! Light on both sides of an outline, from many neighbouring profiles at once.

use crate::edges::half_window;
use crate::geometry::median;
use crate::grey::Grey;
use crate::least::Normal;
use crate::profile::{Crossing, EdgeShape, Levels, Profile};
use crate::walk::Cut;

/// Cuts on either side over which the levels of dark and light are averaged.
const LEVEL_REACH: usize = 14;
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
    let mut contrast: Vec<f64> = clean().map(|f| (f.outer - f.inner).abs()).collect();
    let mut rms: Vec<f64> = clean().map(|f| f.rms).collect();
    (contrast.len() >= 8).then(|| (median(&mut contrast), median(&mut rms)))
}

/// Light inside and outside, and its unevenness, at each cut: means over clean neighbours. Every
/// `stride`th cut has been looked at.
pub(crate) fn levels_along(
    grey: &Grey,
    cuts: &[Cut],
    shape: &EdgeShape,
    fits: &mut [Option<Crossing>],
    stride: usize,
) -> Vec<Option<Levels>> {
    let Some(usual) = Usual::of(fits) else { return vec![None; cuts.len()] };
    let clean = |i: usize, f: &Option<Crossing>| {
        let (contrast, rms) = usual.at(i);
        f.filter(|f| {
            let c = (f.outer - f.inner).abs();
            let even = c > 0.6 * contrast && c < 1.6 * contrast;
            !f.crowded && even && f.rms <= (3.0 * rms).max(0.02 * contrast)
        })
    };
    let n = cuts.len();
    let half = half_window(shape);
    let mut light = Vec::new();
    let illumination = {
        let mut fit = IlluminationFit::new(grey, usual.at(cuts.len() / 2).1);
        let step = stride * 3usize.div_ceil(stride);
        for (i, (cut, f)) in cuts.iter().zip(fits.iter()).enumerate().step_by(step) {
            let Some(f) = clean(i, f) else { continue };
            // A corner within reach tilts a profile more than any light does.
            if !straight_about(cuts, i, half.ceil() as usize + 1) {
                continue;
            }
            let rate = cut.rate();
            let Some(first) = cut.read(grey, f.at, half / rate.abs(), &mut light) else { continue };
            let profile = Profile { light: &light, first, rate };
            if let Some(seen) = profile.unevenness(shape.toward(cut.minor()), &f) {
                fit.add(cut, f.at, seen);
            }
        }
        fit.solve()
    };
    let uneven: Vec<f64> = cuts.iter().map(|c| illumination.along(c)).collect();
    // Round a corner the far side of the edge seems darker, or the near side lighter, than it is.
    let corner = (CORNER_BLURS * shape.sigma).ceil() as usize;
    // Running sums of inner, outer and count: of straight stretches, and of all that is clean.
    let mut sums = Vec::with_capacity(n + 1);
    let mut sum = [Sum::default(); 2];
    sums.push(sum);
    for (i, ((cut, fit), &uneven)) in cuts.iter().zip(fits.iter_mut()).zip(&uneven).enumerate() {
        if let Some(mut f) = clean(i, fit) {
            // Worth a second look only where the tilt could move anything.
            if uneven.abs() * half > 2e-4 {
                let rate = cut.rate();
                let again = cut.read(grey, f.at, half / rate.abs(), &mut light).and_then(|first| {
                    for (i, v) in light.iter_mut().enumerate() {
                        *v /= (1.0 + uneven * (first + i as f64 - f.at)) as f32;
                    }
                    let profile = Profile { light: &light, first, rate };
                    profile.with_free_levels(shape.toward(cut.minor()), f.at, 2)
                });
                if let Some(again) = again {
                    f = again;
                    *fit = Some(f);
                }
            }
            if straight_about(cuts, i, corner) {
                sum[0].add(&f);
            }
            sum[1].add(&f);
        }
        sums.push(sum);
    }
    (0..n)
        .map(|i| {
            // Where few neighbours are clean, look farther; nearby, where nothing is straight.
            let reaches = [LEVEL_REACH, 4 * LEVEL_REACH, 16 * LEVEL_REACH];
            (0..2).flat_map(|kind| reaches.map(|reach| (kind, reach))).find_map(|(kind, reach)| {
                let (a, b) = (sums[i.saturating_sub(reach)], sums[(i + reach + 1).min(n)]);
                let count = b[kind].count - a[kind].count;
                (count >= LEVEL_REACH.div_ceil(2 * stride)).then(|| {
                    let mean = |to: f64, from: f64| (to - from) / count as f64;
                    let inner = mean(b[kind].inner, a[kind].inner);
                    let outer = mean(b[kind].outer, a[kind].outer);
                    Levels { inner, outer, uneven: uneven[i] }
                })
            })
        })
        .collect()
}

/// Running sums of levels.
#[derive(Clone, Copy, Default)]
struct Sum {
    inner: f64,
    outer: f64,
    count: usize,
}

impl Sum {
    fn add(&mut self, f: &Crossing) {
        self.inner += f.inner;
        self.outer += f.outer;
        self.count += 1;
    }
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

/// Illumination that changes along a cut tilts the plateaus and would draw the edge towards the
/// brighter or darker end. Its relative slope, down for columns and across for rows, is taken as
/// linear in the place. What the lens or a sharpening filter does to a profile tilts it too, but
/// always outward alike; that part is told apart by edges that face opposite ways, and left out.
struct IlluminationFit {
    width: f64,
    height: f64,
    rows: Normal,
    columns: Normal,
}

struct Illumination {
    width: f64,
    height: f64,
    rows: [f64; 4],
    columns: [f64; 4],
}

impl IlluminationFit {
    fn new(grey: &Grey, noise: f64) -> Self {
        // Slopes are about a thousandth per pixel at most in any usable picture; that much is
        // believed beforehand, so that what the outline cannot tell apart stays small.
        let prior = || {
            let mut system = Normal::default();
            for i in 0..4 {
                let mut row = [0.0; 4];
                row[i] = (noise / 1e-3).max(1e-3);
                system.add(row, 0.0);
            }
            system
        };
        let (width, height) = (grey.width() as f64, grey.height() as f64);
        Self { width, height, rows: prior(), columns: prior() }
    }

    /// Takes one cut's slope and information (for unit noise).
    fn add(&mut self, cut: &Cut, at: f64, (slope, information): (f64, f64)) {
        let w = information.sqrt();
        let (x, y) = cut.point(at);
        let (x, y) = (x / self.width - 0.5, y / self.height - 0.5);
        let row = [w * cut.rate().signum(), w, w * x, w * y];
        let system = if cut.column { &mut self.columns } else { &mut self.rows };
        system.add(row, w * slope);
    }

    fn solve(&self) -> Illumination {
        let of = |system: &Normal| system.solve().map_or([0.0; 4], |s| s.0);
        Illumination {
            width: self.width,
            height: self.height,
            rows: of(&self.rows),
            columns: of(&self.columns),
        }
    }
}

impl Illumination {
    /// Relative change of the light per pixel along a cut.
    fn along(&self, cut: &Cut) -> f64 {
        let (x, y) = cut.point(cut.centre);
        let c = if cut.column { &self.columns } else { &self.rows };
        c[1] + c[2] * (x / self.width - 0.5) + c[3] * (y / self.height - 0.5)
    }
}
