//! The nearest edge to a clicked point.

use crate::geometry::quantile;
use crate::grey::Grey;
use crate::outline::EdgePoint;
use crate::profile::{EdgeShape, Profile, Sampled, blur_of};

/// Largest radius searched, in pixels.
const LARGEST: f64 = 200.0;

/// Nearest edge, or middle of a drawn line, to the point `(x, y)` within `radius` pixels.
///
/// A clicked point does not say which side is the object; the normal points to the brighter side.
/// For a drawn line (darker than the paper on both sides, or lighter) it points towards the click.
/// `None` when there is no clean edge that near.
pub fn snap(grey: &Grey, x: f64, y: f64, radius: f64) -> Option<EdgePoint> {
    let inside = x >= 0.0 && y >= 0.0 && x <= grey.width() as f64 && y <= grey.height() as f64;
    if !inside || radius.is_nan() || radius <= 0.0 {
        return None;
    }
    let radius = radius.min(LARGEST);
    let field = Field::around(grey, x, y, radius);
    let (px, py, nx, ny) = field.nearest_ridge(x, y, radius)?;
    let across = Across::read(grey, px, py, nx, ny, radius.clamp(6.0, 30.0));
    let found = across.line(x, y).or_else(|| across.edge())?;
    ((found.x - x).hypot(found.y - y) <= radius + 1.0).then_some(found)
}

/// Gradient of the light in a square around the click, smoothed a little.
struct Field {
    x0: i64,
    y0: i64,
    side: usize,
    gx: Vec<f32>,
    gy: Vec<f32>,
}

impl Field {
    fn around(grey: &Grey, x: f64, y: f64, radius: f64) -> Self {
        let reach = radius.ceil() as i64 + 2;
        let (x0, y0) = (x.floor() as i64 - reach, y.floor() as i64 - reach);
        let side = (2 * reach + 1) as usize;
        let (mut gx, mut gy) = (vec![0.0; side * side], vec![0.0; side * side]);
        for j in 0..side {
            for i in 0..side {
                let (cx, cy) = (x0 + i as i64, y0 + j as i64);
                let mut sum = (0.0f32, 0.0f32);
                for d in -2i64..=2 {
                    let w = [1.0, 4.0, 6.0, 4.0, 1.0][(d + 2) as usize] / 16.0;
                    let difference = |a: f32, b: f32, c: f32, e: f32| (e - a) + 2.0 * (c - b);
                    let h = |t: i64| grey.linear(cx + t, cy + d);
                    let v = |t: i64| grey.linear(cx + d, cy + t);
                    sum.0 += w * difference(h(-2), h(-1), h(1), h(2)) / 8.0;
                    sum.1 += w * difference(v(-2), v(-1), v(1), v(2)) / 8.0;
                }
                gx[j * side + i] = sum.0;
                gy[j * side + i] = sum.1;
            }
        }
        Self { x0, y0, side, gx, gy }
    }

    /// Nearest place where the gradient is largest along its own direction and strong for the
    /// neighbourhood, with the unit gradient there.
    fn nearest_ridge(&self, x: f64, y: f64, radius: f64) -> Option<(f64, f64, f64, f64)> {
        let strength = |i: usize, j: usize| {
            let k = j * self.side + i;
            self.gx[k].hypot(self.gy[k])
        };
        let mut all: Vec<f64> =
            (0..self.side * self.side).map(|k| f64::from(self.gx[k].hypot(self.gy[k]))).collect();
        let strongest = all.iter().copied().fold(0.0, f64::max);
        let usual = quantile(&mut all, 0.3);
        let least = (0.35 * strongest).max(3.0 * usual).max(0.002) as f32;
        let mut best: Option<(f64, (f64, f64, f64, f64))> = None;
        for j in 1..self.side - 1 {
            for i in 1..self.side - 1 {
                let g = strength(i, j);
                if g < least {
                    continue;
                }
                let k = j * self.side + i;
                let (nx, ny) = (self.gx[k] / g, self.gy[k] / g);
                let (di, dj) = (nx.round() as i64, ny.round() as i64);
                let near =
                    |s: i64| strength((i as i64 + s * di) as usize, (j as i64 + s * dj) as usize);
                if near(1) > g || near(-1) > g {
                    continue;
                }
                let (px, py) =
                    ((self.x0 + i as i64) as f64 + 0.5, (self.y0 + j as i64) as f64 + 0.5);
                let d = (px - x).hypot(py - y);
                if d <= radius + 1.0 && best.as_ref().is_none_or(|b| d < b.0) {
                    best = Some((d, (px, py, f64::from(nx), f64::from(ny))));
                }
            }
        }
        best.map(|b| b.1)
    }
}

/// Light along the normal through a place, averaged a little along the edge.
struct Across {
    x: f64,
    y: f64,
    nx: f64,
    ny: f64,
    light: Vec<f32>,
    first: f64,
}

/// Samples per pixel along the normal.
const FINE: f64 = 2.0;

impl Across {
    fn read(grey: &Grey, x: f64, y: f64, nx: f64, ny: f64, half: f64) -> Self {
        let n = (2.0 * half * FINE) as usize + 1;
        let light = (0..n)
            .map(|i| {
                let u = i as f64 / FINE - half;
                let mean = (-1..=1)
                    .map(|s| {
                        let s = f64::from(s);
                        grey.light_between(x + u * nx - s * ny, y + u * ny + s * nx)
                    })
                    .sum::<f64>()
                    / 3.0;
                mean as f32
            })
            .collect();
        Self { x, y, nx, ny, light, first: -half }
    }

    /// The part of the samples, and its first distance, within `half` of `centre`.
    fn part(&self, centre: f64, half: f64) -> (&[f32], f64) {
        let index = |u: f64| ((u - self.first) * FINE).round().max(0.0) as usize;
        let n = self.light.len();
        let (a, b) = (index(centre - half).min(n), (index(centre + half) + 1).min(n));
        (&self.light[a.min(b)..b], self.first + a as f64 / FINE)
    }

    fn edge(&self) -> Option<EdgePoint> {
        let mut blur = 1.5f64;
        let mut at = 0.0;
        let mut best = None;
        for _ in 0..4 {
            let (light, first) = self.part(at, 4.0 * blur + 2.0);
            // Distances are in steps of 1/FINE pixel; the profile works in its own steps.
            let profile = Profile { light, first: first * FINE, rate: 1.0 / FINE };
            let start = profile.steepest(blur, at * FINE, true)?;
            let sampled = Sampled {
                light: light.to_vec(),
                first: profile.first,
                rate: profile.rate,
                at: start,
            };
            blur = blur_of(&[sampled], blur).clamp(0.3, 8.0);
            let shape = EdgeShape::new(blur);
            let fit = profile.with_free_levels(shape.toward(0.0), start, 3)?;
            if fit.levels.contrast() <= 0.01f64.max(0.05 * fit.levels.outer) {
                return None;
            }
            at = (fit.at / FINE).clamp(-4.0, 4.0);
            best = Some((fit, shape.sigma));
        }
        let (fit, sigma) = best?;
        let contrast = fit.levels.contrast();
        if fit.rms > 0.12 * contrast {
            return None;
        }
        let at = fit.at / FINE;
        Some(EdgePoint {
            x: self.x + at * self.nx,
            y: self.y + at * self.ny,
            nx: self.nx,
            ny: self.ny,
            // Neighbouring fine samples share pixels: half of them count.
            sigma_px: fit.rms.max(0.002) / (contrast * (fit.information / FINE).max(1e-6).sqrt()),
            blur_px: sigma,
            contrast,
        })
    }

    /// The middle of a stroke, when the light returns to its level on the other side.
    fn line(&self, click_x: f64, click_y: f64) -> Option<EdgePoint> {
        let n = self.light.len();
        let bright = f64::from(*self.light.last()?);
        let paper = f64::from(self.light[0]);
        // The gradient points to the bright side, so a dark stroke lies on the low side.
        let place = |i: usize| self.first + i as f64 / FINE;
        let dark = self.light.iter().copied().fold(f32::INFINITY, f32::min);
        let light = self.light.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let level = 0.5 * (bright + paper);
        let (down, up) = (level - f64::from(dark), f64::from(light) - level);
        let depth = down.max(up);
        if (bright - paper).abs() > 0.3 * depth || depth < 0.01 {
            return None;
        }
        let sign = if down >= up { 1.0 } else { -1.0 };
        let deep = |i: usize| sign * (level - f64::from(self.light[i])) / depth;
        let core: Vec<usize> = (0..n).filter(|&i| deep(i) > 0.5).collect();
        let (first, last) = (*core.first()?, *core.last()?);
        let width = place(last) - place(first) + 1.0 / FINE;
        // One stroke, not two, and with paper on both sides.
        if core.len() != last - first + 1
            || first < 3
            || last + 3 >= n
            || width > 0.5 * n as f64 / FINE
        {
            return None;
        }
        let (mut sum, mut moment) = (0.0, 0.0);
        let margin = ((last - first) + 2).max(4);
        for i in first.saturating_sub(margin)..(last + margin + 1).min(n) {
            let w = deep(i).max(0.0);
            sum += w;
            moment += w * place(i);
        }
        let at = moment / sum;
        let (x, y) = (self.x + at * self.nx, self.y + at * self.ny);
        let towards = (click_x - x) * self.nx + (click_y - y) * self.ny;
        let flip = if towards < 0.0 { -1.0 } else { 1.0 };
        Some(EdgePoint {
            x,
            y,
            nx: flip * self.nx,
            ny: flip * self.ny,
            sigma_px: (0.08 * width).max(0.05),
            blur_px: width / 2.355,
            contrast: sign * depth,
        })
    }
}
