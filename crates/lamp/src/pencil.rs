//! A hand that follows an outline with a pencil.

use crate::coverage::Raster;
use crate::plane::Mapping;
use crate::scene::Pencil;
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// One short straight piece of a stroke, px.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stroke {
    a: (f64, f64),
    b: (f64, f64),
    half_width: f64,
    darkness: f64,
}

/// Length of the pieces a line is drawn in, px.
const PIECE_PX: f64 = 1.5;

/// Draws the closed line through `points_mm` in the axis plane.
pub(crate) fn trace(
    points_mm: &[(f64, f64)],
    pencil: &Pencil,
    mapping: &Mapping,
    px_per_mm: f64,
    rng: &mut Pcg64Mcg,
) -> Vec<Stroke> {
    let step_mm = PIECE_PX / px_per_mm;
    let mut line: Vec<((f64, f64), f64)> = Vec::new();
    let mut along = 0.0;
    let next = points_mm.iter().skip(1).chain(points_mm.first());
    for (&a, &b) in points_mm.iter().zip(next) {
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        let pieces = (length / step_mm).ceil().clamp(1.0, 1e6);
        for i in 0..pieces as u32 {
            let t = f64::from(i) / pieces;
            line.push(((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)), along + t * length));
        }
        along += length;
    }
    if let Some(&(first, _)) = line.first() {
        line.push((first, along));
    }
    let mut wander = || Wander::new(along, pencil.wobble_length_mm, rng);
    let (right, up, width, dark) = (wander(), wander(), wander(), wander());
    let uneven = |w: &Wander, s: f64| (1.0 + pencil.unevenness * w.at(s)).clamp(0.2, 2.0);
    let placed: Vec<((f64, f64), f64)> = line
        .iter()
        .map(|&((z, x), s)| {
            let off = (pencil.wobble_mm * right.at(s), pencil.wobble_mm * up.at(s));
            (mapping.px((z + off.0, x + off.1)), s)
        })
        .collect();
    placed
        .windows(2)
        .map(|w| Stroke {
            a: w[0].0,
            b: w[1].0,
            half_width: 0.5 * pencil.stroke_mm * px_per_mm * uneven(&width, w[0].1),
            darkness: (pencil.darkness * uneven(&dark, w[0].1)).min(1.0),
        })
        .collect()
}

impl Stroke {
    /// Darkens the pixels under the stroke; a pixel keeps the darkest of all strokes over it.
    pub fn draw(&self, ink: &mut Raster) {
        let reach = self.half_width + 1.0;
        let bound = |low: f64, high: f64, origin: i64, size: usize| {
            let from = (low - reach - origin as f64).floor().clamp(0.0, size as f64);
            let to = (high + reach - origin as f64).ceil().clamp(0.0, size as f64);
            from as usize..to as usize
        };
        let (a, b) = (self.a, self.b);
        let rows = bound(a.1.min(b.1), a.1.max(b.1), ink.y0, ink.height);
        let columns = bound(a.0.min(b.0), a.0.max(b.0), ink.x0, ink.width);
        let d = (b.0 - a.0, b.1 - a.1);
        let squared = d.0 * d.0 + d.1 * d.1;
        for row in rows {
            let y = ink.y0 as f64 + row as f64 + 0.5 - a.1;
            for column in columns.clone() {
                let x = ink.x0 as f64 + column as f64 + 0.5 - a.0;
                let t = if squared > 0.0 {
                    ((x * d.0 + y * d.1) / squared).clamp(0.0, 1.0)
                } else {
                    0.0
                };
                let distance = (x - t * d.0).hypot(y - t * d.1);
                let covered = (self.half_width + 0.5 - distance).clamp(0.0, 1.0);
                let pixel = &mut ink.data[row * ink.width + column];
                *pixel = pixel.max((self.darkness * covered) as f32);
            }
        }
    }
}

/// A smooth random function of length along a line, of mean 0 and variance near 1.
struct Wander {
    knots: Vec<f64>,
    spacing: f64,
    start: f64,
}

impl Wander {
    fn new(length: f64, scale: f64, rng: &mut Pcg64Mcg) -> Self {
        let count = (length / scale).ceil().min(1e6) as usize + 5;
        let knots = (0..count).map(|_| StandardNormal.sample(rng)).collect();
        Self { knots, spacing: scale, start: rng.random::<f64>() }
    }

    /// Cubic B-spline through random weights, scaled to unit variance on average.
    fn at(&self, s: f64) -> f64 {
        let u = s / self.spacing + self.start;
        let i = (u.floor().max(0.0) as usize).min(self.knots.len().saturating_sub(4));
        let t = u - i as f64;
        let weights = [
            (1.0 - t).powi(3),
            3.0 * t.powi(3) - 6.0 * t * t + 4.0,
            -3.0 * t.powi(3) + 3.0 * t * t + 3.0 * t + 1.0,
            t.powi(3),
        ];
        let value: f64 = weights.iter().zip(&self.knots[i..]).map(|(w, k)| w * k).sum();
        // The mean over t of the sum of squared weights (each 1/6 of the above) is 151/315.
        value / 6.0 / (151.0f64 / 315.0).sqrt()
    }
}
