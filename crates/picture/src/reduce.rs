//! The one pass over all pixels: a box-reduced, lightly smoothed copy on which objects are found.

use std::ops::AddAssign;

use crate::geometry::median;
use crate::grey::{Grey, Samples};

/// Reduced pictures have about this many pixels: enough for teeth of a few dozen pixels in a
/// 12-megapixel picture, little enough to look at many times over.
const REDUCED_PIXELS: f64 = 1.5e6;

/// A small copy of a picture; encoded samples scaled to 0..65535.
pub(crate) struct Reduced {
    /// Side, in full pixels, of the box that became one pixel here.
    pub k: usize,
    pub w: usize,
    pub h: usize,
    pub v: Vec<u16>,
    /// 1-sigma noise of one pixel here, after smoothing, in the units of `v`.
    pub noise: f64,
}

impl Reduced {
    pub fn of(grey: &Grey) -> Self {
        let pixels = (grey.width() * grey.height()) as f64;
        let k = ((pixels / REDUCED_PIXELS).sqrt().round() as usize).max(1);
        let (w, h) = (grey.width() / k, grey.height() / k);
        let mut v = match &grey.samples {
            // Sums of a column of a box fit 16 bits, which twice as many fit a register.
            Samples::Eight(s) if k <= 256 => boxes::<u8, u16>(s, grey.width(), k, w, h, 257.0),
            Samples::Eight(s) => boxes::<u8, u32>(s, grey.width(), k, w, h, 257.0),
            Samples::Sixteen(s) => boxes::<u16, u32>(s, grey.width(), k, w, h, 1.0),
        };
        smooth(&mut v, w, h);
        let noise = noise_of(&v, w, h);
        Self { k, w, h, v, noise }
    }

    /// Value at a pixel that the caller knows to be inside.
    pub fn at(&self, x: usize, y: usize) -> f32 {
        f32::from(self.v[y * self.w + x])
    }
}

/// Means over boxes of `k` x `k`, scaled by `scale`; `S` holds the sum of `k` samples.
fn boxes<T: Copy + Into<S>, S: Copy + Default + AddAssign + Into<u32>>(
    s: &[T],
    width: usize,
    k: usize,
    w: usize,
    h: usize,
    scale: f32,
) -> Vec<u16> {
    let mut out = Vec::with_capacity(w * h);
    let mut sums = vec![S::default(); w * k];
    let scale = scale / (k * k) as f32;
    for y in 0..h {
        sums.fill(S::default());
        for row in s[y * k * width..].chunks(width).take(k) {
            for (sum, &value) in sums.iter_mut().zip(row) {
                *sum += value.into();
            }
        }
        // The usual sizes spelt out, so that their loops are unrolled.
        match k {
            2 => means::<S, 2>(&sums, scale, &mut out),
            3 => means::<S, 3>(&sums, scale, &mut out),
            4 => means::<S, 4>(&sums, scale, &mut out),
            _ => out.extend(sums.chunks_exact(k).map(|c| mean(c, scale))),
        }
    }
    out
}

fn means<S: Copy + Into<u32>, const K: usize>(sums: &[S], scale: f32, out: &mut Vec<u16>) {
    out.extend(sums.as_chunks::<K>().0.iter().map(|c| mean(c, scale)));
}

fn mean<S: Copy + Into<u32>>(column_sums: &[S], scale: f32) -> u16 {
    let sum: u32 = column_sums.iter().map(|&v| v.into()).sum();
    (sum as f32 * scale) as u16
}

/// Binomial 1-2-1 both ways: cuts white noise to 3/8 and costs the outline's corners little.
fn smooth(v: &mut [u16], w: usize, h: usize) {
    if w < 3 || h < 3 {
        return;
    }
    let blend =
        |a: u16, b: u16, c: u16| ((u32::from(a) + 2 * u32::from(b) + u32::from(c) + 2) >> 2) as u16;
    let mut old = vec![0u16; w];
    for row in v.chunks_exact_mut(w) {
        old.copy_from_slice(row);
        for (to, t) in row[1..w - 1].iter_mut().zip(old.windows(3)) {
            *to = blend(t[0], t[1], t[2]);
        }
    }
    let mut above = v[..w].to_vec();
    for y in 1..h - 1 {
        let (head, tail) = v.split_at_mut((y + 1) * w);
        let here = &mut head[y * w..];
        old.copy_from_slice(here);
        for (((to, &a), &b), &c) in here.iter_mut().zip(&above).zip(&old).zip(&tail[..w]) {
            *to = blend(a, b, c);
        }
        std::mem::swap(&mut above, &mut old);
    }
}

/// Robust noise from second differences across 8 pixels, far enough apart that the smoothing has
/// not tied them together; edges are the minority and the median ignores them.
fn noise_of(v: &[u16], w: usize, h: usize) -> f64 {
    let step = 4;
    let mut d = Vec::with_capacity(w * h / 8 + 1);
    for row in v.chunks_exact(w).step_by(4) {
        d.extend(
            row.windows(2 * step + 1).step_by(3).map(|t| {
                (f64::from(t[0]) - 2.0 * f64::from(t[step]) + f64::from(t[2 * step])).abs()
            }),
        );
    }
    // Never less than the rounding of an 8-bit file averaged over a few pixels.
    (1.4826 * median(&mut d) / 6f64.sqrt()).max(20.0)
}

/// Smallest and largest local brightness on a grid of square tiles.
pub(crate) struct Tiles {
    pub size: usize,
    pub w: usize,
    pub h: usize,
    /// Extremes within each tile.
    pub own_low: Vec<f32>,
    pub own_high: Vec<f32>,
    /// Extremes within each tile and its eight neighbours.
    pub low: Vec<f32>,
    pub high: Vec<f32>,
}

impl Tiles {
    /// Extremes of 4 x 4 means, so that noise and specks do not count.
    pub fn of(reduced: &Reduced, size: usize) -> Self {
        const CELL: usize = 4;
        let (cw, ch) = ((reduced.w / CELL).max(1), (reduced.h / CELL).max(1));
        let (w, h) = (reduced.w.div_ceil(size).max(1), reduced.h.div_ceil(size).max(1));
        let mut low = vec![f32::INFINITY; w * h];
        let mut high = vec![f32::NEG_INFINITY; w * h];
        let mut sums = vec![0f32; cw];
        for cy in 0..ch {
            sums.fill(0.0);
            let rows = (reduced.h - cy * CELL).min(CELL);
            for y in cy * CELL..cy * CELL + rows {
                let row = &reduced.v[y * reduced.w..(y + 1) * reduced.w];
                for (sum, cell) in sums.iter_mut().zip(row.chunks(CELL)) {
                    *sum += cell.iter().map(|&v| f32::from(v)).sum::<f32>() / cell.len() as f32;
                }
            }
            let ty = (cy * CELL / size).min(h - 1);
            for (cx, sum) in sums.iter().enumerate() {
                let mean = sum / rows as f32;
                let tile = ty * w + (cx * CELL / size).min(w - 1);
                low[tile] = low[tile].min(mean);
                high[tile] = high[tile].max(mean);
            }
        }
        let (own_low, own_high) = (low, high);
        let low = neighbourhood(&own_low, w, h, f32::min);
        let high = neighbourhood(&own_high, w, h, f32::max);
        Self { size, w, h, own_low, own_high, low, high }
    }
}

/// Folds each tile with its eight neighbours.
pub(crate) fn neighbourhood(v: &[f32], w: usize, h: usize, fold: fn(f32, f32) -> f32) -> Vec<f32> {
    let mut out = v.to_vec();
    for y in 0..h {
        for x in 0..w {
            let mut value = v[y * w + x];
            for ny in y.saturating_sub(1)..(y + 2).min(h) {
                for nx in x.saturating_sub(1)..(x + 2).min(w) {
                    value = fold(value, v[ny * w + nx]);
                }
            }
            out[y * w + x] = value;
        }
    }
    out
}

/// Fills the tiles that know nothing (`None`) from those that do, near ones counting most:
/// average into ever coarser grids, then hand back down.
pub(crate) fn fill_in(known: &[Option<f32>], w: usize, h: usize) -> Vec<f32> {
    if known.iter().all(Option::is_some) || (w <= 1 && h <= 1) {
        return known.iter().map(|v| v.unwrap_or(0.0)).collect();
    }
    let (cw, ch) = (w.div_ceil(2), h.div_ceil(2));
    let mut sums = vec![(0.0f32, 0u32); cw * ch];
    for y in 0..h {
        for x in 0..w {
            if let Some(v) = known[y * w + x] {
                let cell = &mut sums[y / 2 * cw + x / 2];
                cell.0 += v;
                cell.1 += 1;
            }
        }
    }
    let coarse: Vec<_> = sums.iter().map(|&(s, n)| (n > 0).then(|| s / n as f32)).collect();
    let coarse = Grid { size: 2, w: cw, h: ch, v: fill_in(&coarse, cw, ch) };
    let mut out = Vec::with_capacity(w * h);
    for y in 0..h {
        out.extend((0..w).map(|x| known[y * w + x].unwrap_or_else(|| coarse.at(x, y))));
    }
    out
}

/// Values at the centres of square tiles, read between them bilinearly.
pub(crate) struct Grid {
    pub size: usize,
    pub w: usize,
    pub h: usize,
    pub v: Vec<f32>,
}

impl Grid {
    /// A grid of the same tiles with nothing in it.
    pub fn clone_shape(&self) -> Self {
        Self { size: self.size, w: self.w, h: self.h, v: Vec::new() }
    }

    /// Tile at or before pixel `i` among `count` tiles, the next one, and the part of the next.
    fn between(&self, i: usize, count: usize) -> (usize, usize, f32) {
        let last = count - 1;
        let at = ((i as f32 + 0.5) / self.size as f32 - 0.5).clamp(0.0, last as f32);
        let tile = (at as usize).min(last);
        (tile, (tile + 1).min(last), at - tile as f32)
    }

    /// Values along pixel row `y` for as many columns as `out` has.
    pub fn row(&self, y: usize, out: &mut [f32]) {
        let (above, below, t) = self.between(y, self.h);
        let column =
            |i: usize| self.v[above * self.w + i] * (1.0 - t) + self.v[below * self.w + i] * t;
        // Straight from tile centre to tile centre.
        let half = self.size / 2;
        let (first, last) = (column(0), column(self.w - 1));
        let n = out.len();
        out[..half.min(n)].fill(first);
        for (i, piece) in out[half.min(n)..].chunks_mut(self.size).enumerate() {
            if i + 1 >= self.w {
                piece.fill(last);
                continue;
            }
            let (a, b) = (column(i), column(i + 1));
            // Pixel centres lie half a pixel after the tile's middle boundary.
            let step = (b - a) / self.size as f32;
            let start = a + 0.5 * step * (1.0 - (self.size % 2) as f32);
            for (j, to) in piece.iter_mut().enumerate() {
                *to = start + step * j as f32;
            }
        }
    }

    /// Value at one pixel.
    pub fn at(&self, x: usize, y: usize) -> f32 {
        let (above, below, t) = self.between(y, self.h);
        let (left, right, s) = self.between(x, self.w);
        let mix =
            |row: usize| self.v[row * self.w + left] * (1.0 - s) + self.v[row * self.w + right] * s;
        mix(above) * (1.0 - t) + mix(below) * t
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reduction_keeps_the_mean() {
        let (w, h) = (1800, 1350);
        let grey = Grey::from_u8(w, h, (0..w * h).map(|i| (i % w / 10) as u8).collect()).unwrap();
        let reduced = Reduced::of(&grey);
        assert_eq!(reduced.k, 1);
        let grey = Grey::from_u8(w * 2, h * 2, vec![100; w * h * 4]).unwrap();
        let reduced = Reduced::of(&grey);
        assert_eq!((reduced.k, reduced.w, reduced.h), (3, 1200, 900));
        assert!(reduced.v.iter().all(|&v| v == 25700));
    }

    #[test]
    fn filling_in_keeps_what_is_known_and_stays_between() {
        let mut known = vec![None; 70];
        known[0] = Some(10.0);
        known[69] = Some(20.0);
        let filled = fill_in(&known, 10, 7);
        assert_eq!((filled[0], filled[69]), (10.0, 20.0));
        assert!(filled.iter().all(|&v| (10.0..=20.0).contains(&v)));
    }

    #[test]
    fn a_row_of_a_grid_is_its_values_one_by_one() {
        for size in [2, 5, 16] {
            let grid = Grid { size, w: 4, h: 3, v: (0..12).map(|i| (i * i % 7) as f32).collect() };
            for y in 0..3 * size {
                let mut row = vec![0.0; 4 * size - 1];
                grid.row(y, &mut row);
                for (x, &v) in row.iter().enumerate() {
                    assert!((v - grid.at(x, y)).abs() < 1e-5, "{size} {x} {y}");
                }
            }
        }
    }

    #[test]
    fn noise_is_measured_through_edges() {
        let (w, h) = (600, 400);
        let mut state = 1u32;
        let mut noise = || {
            // Sum of twelve uniform numbers less six is nearly normal with variance 1.
            (0..12)
                .map(|_| {
                    state = state.wrapping_mul(1664525).wrapping_add(1013904223);
                    f64::from(state >> 8) / f64::from(1 << 24)
                })
                .sum::<f64>()
                - 6.0
        };
        let samples = (0..w * h)
            .map(|i| ((if i % w > 200 { 200.0 } else { 60.0 }) + 5.0 * noise()).round() as u8)
            .collect();
        let reduced = Reduced::of(&Grey::from_u8(w, h, samples).unwrap());
        let expected = 5.0 * 257.0 * 3.0 / 8.0;
        assert!((reduced.noise / expected - 1.0).abs() < 0.05, "{} {expected}", reduced.noise);
    }
}
