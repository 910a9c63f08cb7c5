//! A shadow's outline at full resolution: blur, levels and place of the edge along each cut.

use std::collections::HashMap;
use std::rc::Rc;

use crate::contour::Boundary;
use crate::geometry::{PixelBox, median, quantile};
use crate::grey::Grey;
use crate::least::Normal;
use crate::outline::{EdgePoint, Outline, settle_normals};
use crate::profile::{Crossing, EdgeShape, Levels, PIXEL_VARIANCE, Profile, blur_of};
use crate::walk::{Cut, cuts};

/// Edge shapes already tabulated, by blur in steps of two percent.
#[derive(Default)]
pub(crate) struct Shapes(HashMap<i32, Rc<EdgeShape>>);

impl Shapes {
    fn get(&mut self, optical: f64) -> Rc<EdgeShape> {
        let step = (optical.max(0.1).ln() / 0.02).round() as i32;
        self.0
            .entry(step)
            .or_insert_with(|| Rc::new(EdgeShape::new((f64::from(step) * 0.02).exp())))
            .clone()
    }
}

/// Least number of points that make an outline.
const LEAST_POINTS: usize = 24;
/// Profiles from which the blur is taken.
const BLUR_SAMPLE: usize = 240;
/// Cuts on either side over which the levels of dark and light are averaged.
const LEVEL_REACH: usize = 14;

/// Locates a shadow's boundary. `guess` is the edge's blur as seen on the reduced picture, in full
/// pixels, and may be too large. `None` when there is no clean edge along it.
pub(crate) fn trace_edge(
    grey: &Grey,
    boundary: &Boundary,
    k: usize,
    guess: f64,
    dark: bool,
    shapes: &mut Shapes,
) -> Option<Outline> {
    let cuts = cuts(boundary, k, 0.0, grey);
    if cuts.len() < LEAST_POINTS {
        return None;
    }
    let optical = blur_along(grey, &cuts, guess, dark)?;
    let shape = shapes.get(optical);
    let fits = fit_all(grey, &cuts, &shape, k as f64, dark);
    let noise = {
        let mut rms: Vec<f64> =
            fits.iter().flatten().filter(|f| !f.crowded).map(|f| f.rms).collect();
        if rms.len() < LEAST_POINTS / 2 {
            return None;
        }
        median(&mut rms)
    };
    let contrasts = |f: &Crossing| f.outer - f.inner;
    let usual = median(&mut fits.iter().flatten().map(contrasts).collect::<Vec<_>>());
    let top = f64::from(grey.brightest());
    let mut clipped = 0;
    let mut points = Vec::with_capacity(cuts.len());
    for (cut, fit) in cuts.iter().zip(&fits) {
        let Some(fit) = fit else { continue };
        let contrast = contrasts(fit);
        if contrast / usual < 0.3 {
            continue;
        }
        clipped += usize::from(fit.outer.max(fit.inner) > 0.985 * top);
        let (x, y) = cut.point(fit.at);
        // One profile's own scatter is a poor estimate of the noise; it may only raise it.
        let scatter = if fit.rms > 1.5 * noise { fit.rms } else { noise };
        let crowd = if fit.crowded { 2.0 } else { 1.0 };
        let sigma_px = crowd * scatter / (contrast.abs() * fit.information.sqrt());
        points.push(EdgePoint {
            x,
            y,
            nx: cut.nx,
            ny: cut.ny,
            sigma_px: sigma_px.max(1e-4),
            blur_px: shape.sigma,
            contrast,
        });
    }
    if points.len() < LEAST_POINTS {
        return None;
    }
    settle_normals(&mut points, shape.sigma);
    let border = boundary.points.iter().any(|p| p.2);
    let scale = k as f64;
    let [x0, y0, x1, y1] = boundary.extent.map(|v| f64::from(v) * scale);
    Some(Outline {
        clipped: clipped as f64 / points.len() as f64,
        points,
        closed: !border,
        touches_border: border,
        bounds: PixelBox { x: x0, y: y0, w: x1 - x0, h: y1 - y0 },
        blur_px: shape.sigma,
        noise,
    })
}

/// Blur without the pixel, from profiles spread over the outline.
fn blur_along(grey: &Grey, cuts: &[Cut], guess: f64, dark: bool) -> Option<f64> {
    let mut light = Vec::new();
    let step = (cuts.len() / BLUR_SAMPLE).max(1);
    let mut sigma = guess.max(0.5);
    let mut samples: Vec<(f32, f32)> = Vec::new();
    for _ in 0..2 {
        samples.clear();
        let mut kept = 0;
        for cut in cuts.iter().step_by(step) {
            let rate = cut.rate();
            let half = (3.5 * sigma + 3.0) / rate.abs();
            let Some(first) = cut.read(grey, cut.centre, half, &mut light) else { continue };
            let profile = Profile { light: &light, first, rate };
            let Some(area) = profile.by_area() else { continue };
            if area.crowded || (area.outer > area.inner) != dark {
                continue;
            }
            let contrast = area.outer - area.inner;
            kept += 1;
            samples.extend(light.iter().enumerate().map(|(i, &v)| {
                let u = (first + i as f64 - area.at) * rate;
                (u as f32, ((f64::from(v) - area.inner) / contrast) as f32)
            }));
        }
        if kept < 8 {
            // Too sharp a turn everywhere, or no edge: a wide window may be the reason.
            if sigma > 1.0 {
                sigma *= 0.5;
                continue;
            }
            return None;
        }
        let optical = blur_of(&samples, (sigma * sigma + PIXEL_VARIANCE).sqrt());
        if (optical - sigma).abs() < 0.15 * sigma {
            return Some(optical);
        }
        sigma = optical.max(0.1);
    }
    (!samples.is_empty()).then_some(sigma)
}

/// Both passes over all cuts: free levels, then place alone with the neighbours' levels.
fn fit_all(
    grey: &Grey,
    cuts: &[Cut],
    shape: &EdgeShape,
    k: f64,
    dark: bool,
) -> Vec<Option<Crossing>> {
    let mut light = Vec::new();
    let half = 4.0 * shape.sigma + 2.0;
    let mut first_pass: Vec<Option<Crossing>> = Vec::with_capacity(cuts.len());
    for cut in cuts {
        let rate = cut.rate();
        let table = shape.toward(cut.minor());
        let mut fitted = None;
        let mut centre = cut.centre;
        for _ in 0..3 {
            let Some(first) = cut.read(grey, centre, half / rate.abs(), &mut light) else { break };
            let profile = Profile { light: &light, first, rate };
            let Some(area) = profile.by_area() else { break };
            fitted = profile
                .with_free_levels(table, area.at, 2)
                .filter(|f| (f.outer > f.inner) == dark)
                .map(|f| Crossing { crowded: area.crowded, ..f });
            let at = fitted.map_or(area.at, |f| f.at);
            if (at - centre).abs() < 1.5 || (at - cut.centre).abs() > half + 2.0 * k {
                break;
            }
            centre = at;
        }
        first_pass.push(fitted);
    }
    let levels = levels_along(grey, cuts, shape, &mut first_pass);
    let mut out = Vec::with_capacity(cuts.len());
    for ((cut, seen), level) in cuts.iter().zip(&first_pass).zip(levels) {
        let Some(level) = level else {
            out.push(None);
            continue;
        };
        let rate = cut.rate();
        let table = shape.toward(cut.minor());
        let start = seen.filter(|f| !f.crowded).map_or(cut.centre, |f| f.at);
        let fit = cut.read(grey, start, half / rate.abs(), &mut light).and_then(|first| {
            let profile = Profile { light: &light, first, rate };
            let fit = profile.with_levels(table, shape.sigma, start, level)?;
            // Near the picture's border an edge needs samples on both sides.
            let last = first + light.len() as f64 - 1.0;
            let margin = (1.5 * shape.sigma + 1.0) / rate.abs();
            (fit.at - first > margin && last - fit.at > margin).then_some(fit)
        });
        out.push(fit.filter(|f| {
            (f.at - cut.centre).abs() <= half + 2.0 * k && f.rms < 0.25 * (f.outer - f.inner).abs()
        }));
    }
    out
}

/// Light inside and outside, and its unevenness, at each cut: means over clean neighbours.
fn levels_along(
    grey: &Grey,
    cuts: &[Cut],
    shape: &EdgeShape,
    fits: &mut [Option<Crossing>],
) -> Vec<Option<Levels>> {
    let mut rms: Vec<f64> = fits.iter().flatten().filter(|f| !f.crowded).map(|f| f.rms).collect();
    let mut contrast: Vec<f64> =
        fits.iter().flatten().filter(|f| !f.crowded).map(|f| (f.outer - f.inner).abs()).collect();
    let usual = median(&mut contrast);
    let noise = median(&mut rms);
    let limit = (3.0 * noise).max(0.02 * usual);
    let clean = |f: &Option<Crossing>| {
        f.filter(|f| {
            let c = (f.outer - f.inner).abs();
            !f.crowded && f.rms <= limit && c > 0.6 * usual && c < 1.6 * usual
        })
    };
    let n = cuts.len();
    let half = 4.0 * shape.sigma + 2.0;
    let mut light = Vec::new();
    let illumination = {
        let mut fit = IlluminationFit::new(grey, noise);
        for (cut, f) in cuts.iter().zip(fits.iter()).step_by(3) {
            let Some(f) = clean(f) else { continue };
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
    // Running sums of inner, outer and count.
    let mut sums = Vec::with_capacity(n + 1);
    let mut sum = (0.0, 0.0, 0usize);
    sums.push(sum);
    for ((cut, fit), &uneven) in cuts.iter().zip(fits.iter_mut()).zip(&uneven) {
        if let Some(mut f) = clean(fit) {
            // Worth a second look only where the tilt could move anything.
            if uneven.abs() * half > 2e-4 {
                let rate = cut.rate();
                let again = cut.read(grey, f.at, half / rate.abs(), &mut light).and_then(|first| {
                    let profile = Profile { light: &light, first, rate };
                    profile.levels(shape.toward(cut.minor()), f.at, uneven)
                });
                if let Some((inner, outer)) = again {
                    (f.inner, f.outer) = (inner, outer);
                    *fit = Some(f);
                }
            }
            sum = (sum.0 + f.inner, sum.1 + f.outer, sum.2 + 1);
        }
        sums.push(sum);
    }
    (0..n)
        .map(|i| {
            // Where few neighbours are clean, look farther.
            for reach in [LEVEL_REACH, 4 * LEVEL_REACH, 16 * LEVEL_REACH] {
                let (a, b) = (sums[i.saturating_sub(reach)], sums[(i + reach + 1).min(n)]);
                let count = b.2 - a.2;
                if count >= LEVEL_REACH / 2 {
                    let c = count as f64;
                    let (inner, outer) = ((b.0 - a.0) / c, (b.1 - a.1) / c);
                    return Some(Levels { inner, outer, uneven: uneven[i] });
                }
            }
            None
        })
        .collect()
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

/// Typical contrast of an outline, for comparing outlines with each other.
pub(crate) fn typical_contrast(outline: &Outline) -> f64 {
    quantile(&mut outline.points.iter().map(|p| p.contrast.abs()).collect::<Vec<_>>(), 0.5)
}
