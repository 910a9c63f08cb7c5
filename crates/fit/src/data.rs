//! Edge points made ready for the fit.

use form::shadow::Edge;
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

/// Averages runs of neighbouring points so that about `most` remain.
///
/// Only points that follow each other along the edge within two pixels and look the same way are
/// taken together, so that a corner is never averaged away.
pub fn thin(points: &[EdgePoint], on: On, most: usize) -> Vec<Datum> {
    let size = points.len().div_ceil(most.max(1)).max(1);
    let mut out = Vec::with_capacity(points.len() / size + 1);
    let mut i = 0;
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
        let weight = |p: &EdgePoint| 1.0 / (p.sigma_px * p.sigma_px + FLOOR_PX * FLOOR_PX);
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
