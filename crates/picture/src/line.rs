//! A drawn outline at full resolution: the middle of the stroke across each cut.

use crate::contour::Boundary;
use crate::geometry::{PixelBox, median};
use crate::grey::Grey;
use crate::least::Normal;
use crate::outline::{EdgePoint, Outline, settle_normals};
use crate::walk::{Cut, cuts};

const LEAST_POINTS: usize = 24;
/// Darkness of a stroke, as a part of its usual one, below which it may be dirt or nothing.
const FAINTEST: f64 = 0.12;

/// A stroke across one cut.
#[derive(Clone, Copy, Debug)]
struct Stroke {
    /// Coordinate of its middle along the cut.
    at: f64,
    /// Paper less stroke at its darkest, in linear light.
    depth: f64,
    rms: f64,
    /// Sum of squared slopes of the unit template.
    information: f64,
}

/// Locates the middle of the stroke along a boundary that follows its outer flank. `width` is the
/// stroke's width in full pixels as seen on the reduced picture.
pub(crate) fn trace_line(
    grey: &Grey,
    boundary: &Boundary,
    k: usize,
    width: f64,
    dark: bool,
) -> Option<Outline> {
    let width = width.max(1.5);
    let cuts = cuts(boundary, k, -0.5 * width, grey);
    if cuts.len() < LEAST_POINTS {
        return None;
    }
    let sigma = stroke_sigma(grey, &cuts, width, dark)?;
    let mut light = Vec::new();
    let mut fits = Vec::with_capacity(cuts.len());
    for cut in &cuts {
        let half = (3.0 * sigma + 0.5 * width + 2.0) / cut.rate().abs();
        let fit = cut
            .read(grey, cut.centre, half, &mut light)
            .and_then(|first| middle(&light, first, cut.rate(), cut.centre, sigma, dark));
        fits.push(fit);
    }
    let mut rms: Vec<f64> = fits.iter().flatten().map(|f| f.rms).collect();
    let mut depth: Vec<f64> = fits.iter().flatten().map(|f| f.depth).collect();
    if rms.len() < LEAST_POINTS {
        return None;
    }
    let (noise, usual) = (median(&mut rms), median(&mut depth));
    let mut points = Vec::with_capacity(cuts.len());
    for (cut, fit) in cuts.iter().zip(&fits) {
        let Some(fit) = fit else { continue };
        if fit.depth < FAINTEST * usual || (fit.at - cut.centre).abs() > width + sigma + 2.0 {
            continue;
        }
        let (x, y) = cut.point(fit.at);
        let from_noise = fit.rms.max(noise) / (fit.depth * fit.information.sqrt());
        // A hand does not keep the middle of its stroke on the line better than this.
        let from_hand = 0.15 * sigma;
        points.push(EdgePoint {
            x,
            y,
            nx: cut.nx,
            ny: cut.ny,
            sigma_px: from_noise.hypot(from_hand),
            blur_px: sigma,
            contrast: if dark { fit.depth } else { -fit.depth },
        });
    }
    if points.len() < LEAST_POINTS {
        return None;
    }
    settle_normals(&mut points, sigma);
    let border = boundary.points.iter().any(|p| p.2);
    let scale = k as f64;
    let [x0, y0, x1, y1] = boundary.extent.map(|v| f64::from(v) * scale);
    Some(Outline {
        points,
        closed: !border,
        touches_border: border,
        bounds: PixelBox { x: x0, y: y0, w: x1 - x0, h: y1 - y0 },
        blur_px: sigma,
        tone: None,
        noise,
        clipped: 0.0,
        rim: 0.0,
    })
}

/// Width of the stroke as the 1-sigma of a Gaussian of the same area and height, the median over
/// cuts spread along the outline.
fn stroke_sigma(grey: &Grey, cuts: &[Cut], width: f64, dark: bool) -> Option<f64> {
    let sign = if dark { 1.0 } else { -1.0 };
    let mut light = Vec::new();
    let mut seen = Vec::new();
    for cut in cuts.iter().step_by((cuts.len() / 200).max(1)) {
        let half = (1.5 * width + 3.0) / cut.rate().abs();
        if cut.read(grey, cut.centre, half, &mut light).is_none() {
            continue;
        }
        let n = light.len();
        let edge = (n / 6).max(1);
        let paper = light[..edge].iter().chain(&light[n - edge..]).sum::<f32>() / (2 * edge) as f32;
        let mut area = 0.0;
        let mut peak = 0f64;
        for t in light.windows(3) {
            area += sign * f64::from(paper - t[1]);
            peak = peak.max(sign * f64::from(paper - (t[0] + t[1] + t[2]) / 3.0));
        }
        if peak > 1e-4 && area > 0.0 {
            seen.push(area / peak * cut.rate().abs() / (2.0 * std::f64::consts::PI).sqrt());
        }
    }
    if seen.len() < 8 {
        return None;
    }
    Some(median(&mut seen).clamp(0.5, width.max(1.0)))
}

/// Least squares for a Gaussian stroke on paper whose brightness may slope: place, depth, level
/// and slope. Unbiased for any symmetric stroke.
fn middle(
    light: &[f32],
    first: f64,
    rate: f64,
    expected: f64,
    sigma: f64,
    dark: bool,
) -> Option<Stroke> {
    let sign = if dark { 1.0 } else { -1.0 };
    let n = light.len();
    let rate = rate.abs();
    // Start from the darkest place, smoothed over the stroke, nearness counting.
    let edge = (n / 6).max(1);
    let paper =
        f64::from(light[..edge].iter().chain(&light[n - edge..]).sum::<f32>()) / (2 * edge) as f64;
    let reach = ((sigma / rate) as usize).max(1);
    let mut at = expected;
    let mut most = f64::NEG_INFINITY;
    for i in 0..n {
        let (a, b) = (i.saturating_sub(reach), (i + reach + 1).min(n));
        let mean = light[a..b].iter().map(|&v| sign * (paper - f64::from(v))).sum::<f64>()
            / (b - a) as f64;
        let place = first + i as f64;
        let far = (place - expected) * rate / (3.0 * sigma + 1.0);
        let score = mean - 0.2 * mean.abs() * far * far;
        if score > most {
            most = score;
            at = place;
        }
    }
    let mut found = None;
    for _ in 0..5 {
        // Samples within three sigma of the middle, so that a neighbouring stroke stays out.
        let half = (3.2 * sigma + 1.5) / rate;
        let mut system = Normal::default();
        for (i, &v) in light.iter().enumerate() {
            let t = first + i as f64 - at;
            if t.abs() > half {
                continue;
            }
            let u = t * rate / sigma;
            let g = (-0.5 * u * u).exp();
            system.add([1.0, t / half, g, g * u], sign * f64::from(v));
        }
        let (solution, rms, information) = system.solve()?;
        let depth = -solution[2];
        if depth <= 1e-5 {
            return None;
        }
        // d/d(at) of -depth g is -depth g u rate / sigma.
        let step = -solution[3] / depth * sigma / rate;
        let step = step.clamp(-sigma / rate, sigma / rate);
        at += step;
        if !at.is_finite() || at < first || at > first + n as f64 {
            return None;
        }
        found = Some(Stroke { at, depth, rms, information: information / (sigma * sigma) });
        if step.abs() < 1e-3 {
            break;
        }
    }
    found
}
