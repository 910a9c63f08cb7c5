//! Edge points made ready for the fit.

use form::shadow::Edge;
use nalgebra::{Matrix3, Vector3};
use picture::EdgePoint;

/// Where a datum was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// On an edge of the thread.
    Thread(Edge),
    /// On an edge of the bar: 0 has the larger offset.
    Bar(usize),
}

/// One or several neighbouring edge points as one observation.
#[derive(Debug, Clone, Copy)]
pub struct Datum {
    /// Place, px.
    pub at: (f64, f64),
    /// Standard deviation of the place across the edge, px.
    pub sigma: f64,
    /// Where it was seen.
    pub on: On,
    /// How far from its middle the points it stands for reach, px.
    pub reach: f64,
}

/// No edge is located better than this, whatever the noise says, px. Empirical.
const FLOOR_PX: f64 = 0.01;

/// How many times the ordinary point's uncertainty any point may claim. Points on curves claim much,
/// because a straight-edge profile does not suit them; the fit knows what blur does there and needs
/// them to see radii. Dirt is left to the robust weights.
const MOST_DOUBT: f64 = 4.0;

/// Part of the usual number of points, as one in so many, below which a datum stands alone.
const CROWDED: usize = 8;

fn median_sigma(points: &[EdgePoint]) -> f64 {
    let mut sigmas: Vec<f64> =
        points.iter().map(|p| p.sigma_px).filter(|s| s.is_finite()).collect();
    if sigmas.is_empty() {
        return f64::INFINITY;
    }
    let middle = sigmas.len() / 2;
    *sigmas.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Averages runs of neighbouring points so that about `most` remain.
///
/// Only points that follow each other along the edge within two pixels and look the same way are
/// taken together, so that a corner is never averaged away; where that leaves far more than `most`,
/// every other one of those that stand alone is left out.
pub fn thin(points: &[EdgePoint], on: On, most: usize) -> Vec<Datum> {
    let size = points.len().div_ceil(most.max(1)).max(1);
    let most_sigma = MOST_DOUBT * median_sigma(points);
    let mut out = Vec::with_capacity(points.len() / size + 1);
    let (mut i, mut alone) = (0, 0);
    while i < points.len() {
        let first = &points[i];
        let mut j = i + 1;
        while j < points.len() && j - i < size {
            let (a, b) = (&points[j - 1], &points[j]);
            let near = (a.x - b.x).hypot(a.y - b.y) < 2.0;
            let same_way = first.nx * b.nx + first.ny * b.ny > 0.995;
            if !(near && same_way) {
                break;
            }
            j += 1;
        }
        let group = &points[i..j];
        i = j;
        if group.len() * CROWDED < size {
            alone += 1;
            if alone % 2 == 0 {
                continue;
            }
        }
        let weight = |p: &EdgePoint| {
            let sigma = p.sigma_px.min(most_sigma);
            1.0 / (sigma * sigma + FLOOR_PX * FLOOR_PX)
        };
        let total: f64 = group.iter().map(weight).sum();
        if !(total > 0.0 && total.is_finite()) {
            continue;
        }
        let mean =
            |f: fn(&EdgePoint) -> f64| group.iter().map(|p| f(p) * weight(p)).sum::<f64>() / total;
        let at = (mean(|p| p.x), mean(|p| p.y));
        let reach = group.iter().map(|p| (p.x - at.0).hypot(p.y - at.1)).fold(0.0, f64::max);
        if at.0.is_finite() && at.1.is_finite() {
            out.push(Datum { at, sigma: total.sqrt().recip(), on, reach });
        }
    }
    out
}

/// One edge of the bar, as observations whose noise is judged by how well they keep to one smooth
/// line (a parabola, so that a lens' bow is not taken for noise). Points that do not are left out
/// here, once: in the fit itself the bar, the most precious thing in the picture, keeps its weight.
pub fn bar_edge(points: &[EdgePoint], side: usize, most: usize) -> Vec<Datum> {
    let mut data = thin(points, On::Bar(side), most);
    let (Some(first), Some(last)) = (data.first(), data.last()) else { return data };
    let length = (last.at.0 - first.at.0).hypot(last.at.1 - first.at.1);
    if data.len() < 6 || length == 0.0 {
        return data;
    }
    let along = ((last.at.0 - first.at.0) / length, (last.at.1 - first.at.1) / length);
    let origin = first.at;
    let local = |d: &Datum| {
        let (dx, dy) = (d.at.0 - origin.0, d.at.1 - origin.1);
        // Along the edge from -1 to 1, and across it.
        (2.0 * (dx * along.0 + dy * along.1) / length - 1.0, dy * along.0 - dx * along.1)
    };
    let mut weights = vec![1.0; data.len()];
    let mut residuals = vec![0.0; data.len()];
    let mut deviation = 0.0;
    for _ in 0..6 {
        let mut normal = Matrix3::zeros();
        let mut right = Vector3::zeros();
        for (d, w) in data.iter().zip(&weights) {
            let (t, v) = local(d);
            let row = Vector3::new(1.0, t, t * t);
            normal += row * row.transpose() * *w;
            right += row * v * *w;
        }
        let Some(line) = normal.cholesky().map(|c| c.solve(&right)) else { return data };
        let mut sizes = Vec::with_capacity(data.len());
        for (d, r) in data.iter().zip(&mut residuals) {
            let (t, v) = local(d);
            *r = v - line.dot(&Vector3::new(1.0, t, t * t));
            sizes.push(r.abs());
        }
        let middle = sizes.len() / 2;
        deviation = (1.4826 * *sizes.select_nth_unstable_by(middle, f64::total_cmp).1).max(1e-4);
        for (r, w) in residuals.iter().zip(&mut weights) {
            *w = if r.abs() < 4.0 * deviation { 1.0 } else { 0.0 };
        }
    }
    // Neighbouring observations repeat each other where the edge waves.
    let kept: Vec<f64> =
        residuals.iter().zip(&weights).filter(|(_, w)| **w > 0.0).map(|(r, _)| *r).collect();
    let sigma = deviation * correlation_time(&kept).sqrt();
    let mut keep = weights.iter().map(|w| *w > 0.0);
    data.retain(|_| keep.next().unwrap_or(false));
    for d in &mut data {
        d.sigma = d.sigma.max(sigma);
    }
    data
}

/// How many neighbouring values count as one: `1 + 2 Σ ρ` up to where the correlation dies out.
pub fn correlation_time(values: &[f64]) -> f64 {
    let n = values.len();
    if n < 8 {
        return 1.0;
    }
    let mean = values.iter().sum::<f64>() / n as f64;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n as f64;
    let mut time = 1.0;
    for lag in 1..(n / 4).min(60) {
        let c =
            values.iter().zip(&values[lag..]).map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>()
                / (n - lag) as f64
                / variance.max(1e-300);
        if c < 0.05 {
            break;
        }
        time += 2.0 * c;
    }
    time
}
