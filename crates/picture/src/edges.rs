//! A shadow's outline at full resolution: blur, levels and place of the edge along each cut.

use std::collections::HashMap;
use std::rc::Rc;

use rayon::prelude::*;

use crate::contour::Boundary;
use crate::geometry::{PixelBox, quantile};
use crate::grey::Grey;
use crate::levels::{Usual, levels_along};
use crate::outline::{EdgePoint, Outline, excess_scatter, settle_normals};
use crate::profile::{Crossing, EdgeShape, PIXEL_VARIANCE, Profile, Sampled, blur_of};
use crate::tone::Tone;
use crate::walk::{Cut, cuts};

/// Edge shapes already tabulated, by blur in steps of two percent; and how many samples profiles have had.
#[derive(Default)]
pub(crate) struct Shapes {
    of: HashMap<i32, Rc<EdgeShape>>,
    samples: f64,
}

impl Shapes {
    fn get(&mut self, optical: f64) -> Rc<EdgeShape> {
        let step = (optical.max(0.1).ln() / 0.02).round() as i32;
        self.of
            .entry(step)
            .or_insert_with(|| Rc::new(EdgeShape::new((f64::from(step) * 0.02).exp())))
            .clone()
    }
}

/// Least number of points that make an outline.
const LEAST_POINTS: usize = 24;
/// Profiles from which the blur is taken.
const BLUR_SAMPLE: usize = 240;

/// Samples that the profiles along one boundary may have together, empirical: twice what the longest soft
/// edge of 24 megapixels needs, and a few seconds of work. From a boundary that would need more, which no
/// lens draws, as many cuts are taken, evenly spread.
const MOST_SAMPLES: f64 = 3e6;
/// The same of all boundaries of a picture: ten times what the shadows at hand need. An empty slope of light
/// has a hundred boundaries, each hundreds of pixels soft.
const MOST_IN_ALL: f64 = 4e7;

/// Pixels on either side of an edge, along its normal, that a profile takes in.
pub(crate) fn half_window(shape: &EdgeShape) -> f64 {
    4.0 * shape.sigma + 2.0
}

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
    let (optical, tone) = blur_along(grey, &cuts, guess, dark)?;
    let shape = shapes.get(optical);
    // What is as soft as this has no place to be found at every pixel.
    let samples = cuts.len() as f64 * 2.0 * half_window(&shape);
    let left = (MOST_IN_ALL - shapes.samples).max(1e-3 * MOST_IN_ALL);
    let every = (samples / MOST_SAMPLES.min(left)).ceil().max(1.0) as usize;
    shapes.samples += samples / every as f64;
    let cuts: Vec<Cut> = if every > 1 { cuts.into_iter().step_by(every).collect() } else { cuts };
    let fits = fit_all(grey, &cuts, &shape, k as f64, dark);
    let usual = Usual::of(&fits)?;
    let top = f64::from(grey.brightest());
    let mut clipped = 0;
    let mut rims = Vec::with_capacity(cuts.len());
    let mut points = Vec::with_capacity(cuts.len());
    for (i, (cut, fit)) in cuts.iter().zip(&fits).enumerate() {
        let Some(fit) = fit else { continue };
        let contrast = fit.levels.contrast();
        let (usual_contrast, noise) = usual.at(i);
        if contrast.abs() < 0.3 * usual_contrast {
            continue;
        }
        rims.push((fit.levels.inner / fit.levels.outer.max(1e-6)).clamp(0.0, 1.0));
        clipped += usize::from(fit.levels.outer.max(fit.levels.inner) > 0.985 * top);
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
    let excess = excess_scatter(&points);
    for p in &mut points {
        p.sigma_px *= excess;
    }
    let border = boundary.points.iter().any(|p| p.2);
    let scale = k as f64;
    let [x0, y0, x1, y1] = boundary.extent.map(|v| f64::from(v) * scale);
    Some(Outline {
        rim: if dark { quantile(&mut rims, 0.5) } else { 0.0 },
        clipped: clipped as f64 / points.len() as f64,
        points,
        closed: !border,
        touches_border: border,
        bounds: PixelBox { x: x0, y: y0, w: x1 - x0, h: y1 - y0 },
        blur_px: shape.sigma,
        tone,
        noise: usual.at(cuts.len() / 2).1,
    })
}

/// Blur without the pixel, and tone, from profiles spread over the outline.
fn blur_along(grey: &Grey, cuts: &[Cut], guess: f64, dark: bool) -> Option<(f64, Option<Tone>)> {
    let mut light = Vec::new();
    let step = (cuts.len() / BLUR_SAMPLE).max(1);
    // From narrow to wide: over a wide window the light that a rim mirrors passes for a very soft edge.
    let mut sigma = guess.clamp(0.5, FIRST_BLUR_PX);
    let mut found = None;
    for _ in 0..6 {
        let mut profiles = Vec::new();
        for cut in cuts.iter().step_by(step) {
            let rate = cut.rate();
            let half = (3.5 * sigma + 3.0) / rate.abs();
            let Some(first) = cut.read(grey, cut.centre, half, &mut light) else { continue };
            let profile = Profile { light: &light, first, rate };
            let Some(at) = profile.steepest(sigma, cut.centre, dark) else { continue };
            // Again about the place found, so that there is as much of both sides.
            let Some(first) = cut.read(grey, at, half, &mut light) else { continue };
            profiles.push(Sampled { light: light.clone(), first, rate, at });
        }
        if profiles.len() < 8 {
            // Too sharp a turn everywhere, or no edge: a wide window may be the reason.
            if sigma > 1.0 {
                sigma *= 0.5;
                continue;
            }
            break;
        }
        let optical = blur_of(&profiles, (sigma * sigma + PIXEL_VARIANCE).sqrt());
        let settled = (optical - sigma).abs() < 0.15 * sigma;
        found = Some((optical, profiles));
        if settled {
            break;
        }
        sigma = optical.clamp(0.3, MOST_BLUR_PX);
    }
    let (optical, profiles) = found?;
    Some((optical, tone_of(&profiles, optical)))
}

/// Blur at which the search for an outline's own begins at most, px.
const FIRST_BLUR_PX: f64 = 2.5;
/// Blur beyond which nothing is an edge, px.
const MOST_BLUR_PX: f64 = 40.0;
/// Light of the object, as a part of the background's, up to which its edge tells the picture's tones:
/// black has no rim that mirrors the light.
const BLACK: f64 = 0.12;

/// What the edges against black say of the picture's tones.
fn tone_of(profiles: &[Sampled], optical: f64) -> Option<Tone> {
    let mut samples: Vec<(f32, f32)> = Vec::new();
    for sampled in profiles {
        let Some(seen) = sampled.profile().relative() else { continue };
        if seen.inner.min(seen.outer) <= BLACK * seen.inner.max(seen.outer) {
            samples.extend(seen.samples);
        }
    }
    Tone::of(&samples, optical)
}

/// Cuts of an outline from which its levels are taken; from a longer one, evenly spread, about as many.
const LEVEL_CUTS: usize = 1200;
/// At most every so manieth cut is looked at for levels.
const LEVEL_STRIDE: usize = 3;
/// Noise of a pixel, as a fraction of the contrast, above which every cut has to speak for the levels:
/// below it, what is left of noise in them is far less than what else moves an edge.
const QUIET: f64 = 0.015;

/// Cuts that one task takes: enough that handing them over costs nothing beside them.
const TASK_CUTS: usize = 128;

/// Both passes: free levels at some cuts, then place alone at all, with the neighbours' levels.
fn fit_all(
    grey: &Grey,
    cuts: &[Cut],
    shape: &EdgeShape,
    k: f64,
    dark: bool,
) -> Vec<Option<Crossing>> {
    let half = half_window(shape);
    let mut stride = (cuts.len() / LEVEL_CUTS).clamp(1, LEVEL_STRIDE);
    let mut first_pass: Vec<Option<Crossing>> = vec![None; cuts.len()];
    let look = |cut: &Cut, light: &mut Vec<f32>| {
        let rate = cut.rate();
        let table = shape.toward(cut.minor());
        let mut fitted = None;
        let mut centre = cut.centre;
        for _ in 0..3 {
            let Some(first) = cut.read(grey, centre, half / rate.abs(), light) else { break };
            let profile = Profile { light, first, rate };
            let Some(start) = profile.steepest(shape.sigma, centre, dark) else { break };
            fitted = profile
                .with_free_levels(table, start, 4)
                .filter(|f| (f.levels.contrast() > 0.0) == dark);
            let at = fitted.map_or(start, |f| f.at);
            if (at - centre).abs() < 1.5 || (at - cut.centre).abs() > half + 2.0 * k {
                break;
            }
            centre = at;
        }
        fitted
    };
    let look_where = |fits: &mut [Option<Crossing>], wanted: &(dyn Fn(usize) -> bool + Sync)| {
        fits.par_iter_mut()
            .zip(cuts)
            .enumerate()
            .with_min_len(TASK_CUTS)
            .filter(|(i, _)| wanted(*i))
            .for_each_init(Vec::new, |light, (_, (fit, cut))| *fit = look(cut, light));
    };
    look_where(&mut first_pass, &|i| i % stride == 0);
    if stride > 1 && !Usual::of(&first_pass).is_some_and(|u| u.is_quiet(QUIET)) {
        look_where(&mut first_pass, &|i| i % stride != 0);
        stride = 1;
    }
    let levels = levels_along(cuts, shape, &first_pass, stride);
    cuts.par_iter()
        .zip(levels)
        .enumerate()
        .with_min_len(TASK_CUTS)
        .map_init(Vec::new, |light, (i, (cut, level))| {
            let level = level?;
            let rate = cut.rate();
            let table = shape.toward(cut.minor());
            // How far from the coarse boundary the edge was last seen.
            let (last_cut, last) = (&cuts[i - i % stride], &first_pass[i - i % stride]);
            let aside = last
                .filter(|f| !f.crowded)
                .map_or(0.0, |f| (f.at - last_cut.centre) * last_cut.rate());
            let start = cut.centre + aside / rate;
            let first = cut.read(grey, start, half / rate.abs(), light)?;
            let profile = Profile { light, first, rate };
            let fit = profile.with_levels(table, shape.sigma, start, level)?;
            // Near the picture's border an edge needs samples on both sides.
            let end = first + light.len() as f64 - 1.0;
            let margin = (1.5 * shape.sigma + 1.0) / rate.abs();
            let inside = fit.at - first > margin && end - fit.at > margin;
            let near = (fit.at - cut.centre).abs() <= half + 2.0 * k;
            (inside && near && fit.rms < 0.25 * fit.levels.contrast().abs()).then_some(fit)
        })
        .collect()
}

/// Typical contrast of an outline, for comparing outlines with each other.
pub(crate) fn typical_contrast(outline: &Outline) -> f64 {
    quantile(&mut outline.points.iter().map(|p| p.contrast.abs()).collect::<Vec<_>>(), 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::objects::Threshold;
    use crate::reduce::Reduced;

    #[test]
    fn a_slope_of_light_has_a_budget() {
        // Nothing but light that falls off: a hundred boundaries along 2000 rows, each hundreds of pixels
        // soft. Without a budget for all together their profiles have several times as many samples.
        let path = format!("{}/tests/data/gradient.png", env!("CARGO_MANIFEST_DIR"));
        let picture = crate::open(path.as_ref(), &crate::Limits::default()).unwrap();
        let reduced = Reduced::of(&picture.grey);
        let threshold = Threshold::find(&reduced).unwrap();
        let mut dark = threshold.dark(&reduced);
        let found = threshold.boundaries(&reduced, &mut dark, true);
        let mut shapes = Shapes::default();
        let guess = 12.0 * reduced.k as f64;
        for boundary in &found {
            trace_edge(&picture.grey, boundary, reduced.k, guess, true, &mut shapes);
        }
        assert!(found.len() > 20, "{}", found.len());
        assert!(shapes.samples < 1.5 * MOST_IN_ALL, "{}", shapes.samples);
    }
}
