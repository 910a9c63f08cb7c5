//! Drawn lines on the reduced picture: which pixels are stroke, and which shapes they enclose.

use crate::contour::{Boundary, Mask, boundaries};
use crate::geometry::{median, quantile};
use crate::reduce::{Grid, Reduced, neighbourhood};

const TILE: usize = 16;

/// Strokes of a drawing.
pub(crate) struct Strokes {
    /// Shapes that the strokes enclose, strokes included.
    pub mask: Mask,
    paper: Grid,
    threshold: Grid,
    sign: f32,
    /// Width of a typical stroke in reduced pixels.
    pub width: f64,
}

impl Strokes {
    /// Finds strokes darker (or lighter) than the paper, whose brightness is the local median.
    /// `None` when none stand out from the noise.
    pub fn find(reduced: &Reduced, dark: bool) -> Option<Self> {
        let sign = if dark { 1.0f32 } else { -1.0 };
        let paper = paper_of(reduced);
        let (tw, th) = (paper.w, paper.h);
        let mut peak = vec![0f32; tw * th];
        let mut bright = vec![0f32; reduced.w];
        for y in 0..reduced.h {
            paper.row(y, &mut bright);
            let row = &reduced.v[y * reduced.w..(y + 1) * reduced.w];
            let tiles = &mut peak[(y / TILE).min(th - 1) * tw..][..tw];
            for ((tile, v), b) in tiles.iter_mut().zip(row.chunks(TILE)).zip(bright.chunks(TILE)) {
                for (&v, &b) in v.iter().zip(b) {
                    *tile = tile.max(sign * (b - f32::from(v)));
                }
            }
        }
        let peak = neighbourhood(&peak, tw, th, f32::max);
        let strong =
            quantile(&mut peak.iter().map(|&p| f64::from(p)).collect::<Vec<_>>(), 0.95) as f32;
        let noise = reduced.noise as f32;
        if strong < 8.0 * noise {
            return None;
        }
        let least = (0.25 * strong).max(6.0 * noise);
        let threshold: Vec<f32> = peak
            .iter()
            .map(|&p| if p < least { least } else { (0.33 * p).max(5.0 * noise) })
            .collect();
        let threshold = Grid { size: TILE, w: tw, h: th, v: threshold };
        let mut mask = Mask::new(reduced.w, reduced.h);
        let mut limits = vec![0f32; reduced.w];
        for y in 0..reduced.h {
            paper.row(y, &mut bright);
            threshold.row(y, &mut limits);
            let row = &reduced.v[y * reduced.w..(y + 1) * reduced.w];
            for (((to, &v), &b), &limit) in
                mask.row_mut(y).iter_mut().zip(row).zip(&bright).zip(&limits)
            {
                *to = u8::from(sign * (b - f32::from(v)) > limit);
            }
        }
        close(&mut mask, 2);
        let width = {
            let found = boundaries(&mut mask, 40, |_, _| 0.0);
            let area: f64 = found.iter().map(|b| b.area).sum();
            let length: usize = found.iter().map(|b| b.points.len()).sum();
            // Steps along pixel sides overstate a slanting length by up to 4/pi on average.
            2.0 * area / (length as f64 * std::f64::consts::FRAC_PI_4).max(1.0)
        };
        enclose(&mut mask);
        Some(Self { mask, paper, threshold, sign, width })
    }

    /// Boundaries of the enclosed shapes, at the outer flank of the strokes.
    pub fn boundaries(&mut self, reduced: &Reduced) -> Vec<Boundary> {
        let (paper, threshold, sign) = (&self.paper, &self.threshold, self.sign);
        boundaries(&mut self.mask, 24, |x, y| {
            sign * (paper.at(x, y) - reduced.at(x, y)) - threshold.at(x, y)
        })
    }
}

/// Local median brightness: strokes cover little of any tile.
fn paper_of(reduced: &Reduced) -> Grid {
    let (tw, th) = (reduced.w.div_ceil(TILE).max(1), reduced.h.div_ceil(TILE).max(1));
    let mut medians = Vec::with_capacity(tw * th);
    let mut seen = Vec::new();
    for ty in 0..th {
        for tx in 0..tw {
            seen.clear();
            for y in (ty * TILE..((ty + 1) * TILE).min(reduced.h)).step_by(2) {
                for x in (tx * TILE..((tx + 1) * TILE).min(reduced.w)).step_by(2) {
                    seen.push(f64::from(reduced.v[y * reduced.w + x]));
                }
            }
            medians.push(median(&mut seen));
        }
    }
    // Median over neighbours, for tiles that happen to be mostly stroke.
    let mut v = Vec::with_capacity(tw * th);
    for y in 0..th {
        for x in 0..tw {
            seen.clear();
            for ny in y.saturating_sub(1)..(y + 2).min(th) {
                seen.extend(&medians[ny * tw + x.saturating_sub(1)..ny * tw + (x + 2).min(tw)]);
            }
            v.push(median(&mut seen) as f32);
        }
    }
    Grid { size: TILE, w: tw, h: th, v }
}

/// Bridges gaps of up to twice `reach` pixels: grown by a square, then shrunk again.
fn close(mask: &mut Mask, reach: usize) {
    let h = mask.h;
    for value in [1u8, 0] {
        // Spread `value` by `reach` along rows, then along columns.
        let mut line = Vec::new();
        for y in 0..h {
            line.clear();
            line.extend_from_slice(mask.row_mut(y));
            spread(&line, mask.row_mut(y), reach, value);
        }
        let mut rows: Vec<Vec<u8>> = Vec::new();
        for y in 0..h {
            rows.push(mask.row_mut(y).to_vec());
            if y + 1 > 2 * reach + 1 {
                rows[y - 2 * reach - 1] = Vec::new();
            }
            if y >= reach {
                write_spread(mask, &rows, y - reach, reach, value);
            }
        }
        for y in h.saturating_sub(reach)..h {
            write_spread(mask, &rows, y, reach, value);
        }
    }
}

fn spread(from: &[u8], to: &mut [u8], reach: usize, value: u8) {
    let mut last: Option<usize> = None;
    let n = from.len();
    for x in 0..n {
        if from[x] == value {
            let start = match last {
                Some(l) if l + reach >= x => l,
                _ => x.saturating_sub(reach),
            };
            for t in &mut to[start..(x + reach + 1).min(n)] {
                *t = value;
            }
            last = Some(x);
        }
    }
}

/// Row `y` gets `value` wherever a row within `reach` has it (rows as they were before).
fn write_spread(mask: &mut Mask, rows: &[Vec<u8>], y: usize, reach: usize, value: u8) {
    let to = mask.row_mut(y);
    for row in rows.iter().take((y + reach + 1).min(rows.len())).skip(y.saturating_sub(reach)) {
        for (t, &v) in to.iter_mut().zip(row) {
            if v == value {
                *t = value;
            }
        }
    }
}

/// Turns strokes into the shapes they enclose. The paper region with the longest share of the
/// picture's border is outside; crossing a stroke leads inside, crossing the next one outside
/// again. So a bar drawn right across the picture is a shape though nothing closes its ends.
fn enclose(mask: &mut Mask) {
    const PAPER: u8 = 0;
    const STROKE: u8 = 1;
    const TRIED: u8 = 2;
    const OUTSIDE: u8 = 3;
    const INSIDE: u8 = 4;
    const STROKE_DONE: u8 = 5;
    let (w, h) = (mask.w, mask.h);
    let mut code: Vec<u8> = Vec::with_capacity(w * h);
    for y in 0..h {
        code.extend(mask.row_mut(y).iter().map(|&b| b & 1));
    }
    let mut stack: Vec<u32> = Vec::new();
    let border = || {
        (0..w)
            .chain((0..w).map(move |x| (h - 1) * w + x))
            .chain((0..h).map(move |y| y * w))
            .chain((0..h).map(move |y| y * w + w - 1))
    };
    let on_border = |i: usize| i < w || i >= (h - 1) * w || i.is_multiple_of(w) || i % w == w - 1;
    // Recolours the region of `from` around `seed`; says how much border it has and where it
    // meets other codes.
    let mut flood =
        |code: &mut Vec<u8>, seed: usize, from: u8, to: u8, met: u8, meets: &mut Vec<u32>| {
            let mut along = 0usize;
            if code[seed] != from {
                return along;
            }
            code[seed] = to;
            stack.push(seed as u32);
            while let Some(i) = stack.pop() {
                let i = i as usize;
                along += usize::from(on_border(i));
                let x = i % w;
                let mut visit = |j: usize| {
                    if code[j] == from {
                        code[j] = to;
                        stack.push(j as u32);
                    } else if code[j] == met {
                        meets.push(j as u32);
                    }
                };
                if x > 0 {
                    visit(i - 1);
                }
                if x + 1 < w {
                    visit(i + 1);
                }
                if i >= w {
                    visit(i - w);
                }
                if i + w < w * h {
                    visit(i + w);
                }
            }
            along
        };
    let mut nothing = Vec::new();
    let mut best: Option<(usize, usize)> = None;
    for seed in border() {
        let along = flood(&mut code, seed, PAPER, TRIED, TRIED, &mut nothing);
        if along > 0 && best.is_none_or(|b| along > b.0) {
            best = Some((along, seed));
        }
    }
    nothing.clear();
    for c in &mut code {
        if *c == TRIED {
            *c = PAPER;
        }
    }
    let mut seeds: Vec<u32> = best.iter().map(|b| b.1 as u32).collect();
    let mut outside = true;
    while !seeds.is_empty() {
        let mut strokes = Vec::new();
        for &seed in &seeds {
            let to = if outside { OUTSIDE } else { INSIDE };
            flood(&mut code, seed as usize, PAPER, to, STROKE, &mut strokes);
        }
        let mut papers = Vec::new();
        for &seed in &strokes {
            flood(&mut code, seed as usize, STROKE, STROKE_DONE, PAPER, &mut papers);
        }
        seeds = papers;
        outside = !outside;
    }
    for y in 0..h {
        for (to, &c) in mask.row_mut(y).iter_mut().zip(&code[y * w..]) {
            *to = u8::from(c != OUTSIDE);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(mask: &mut Mask) -> Vec<String> {
        (0..mask.h)
            .map(|y| mask.row_mut(y).iter().map(|&b| if b & 1 == 1 { '#' } else { '.' }).collect())
            .collect()
    }

    fn mask_of(rows: &[&str]) -> Mask {
        let mut mask = Mask::new(rows[0].len(), rows.len());
        for (y, row) in rows.iter().enumerate() {
            for (to, c) in mask.row_mut(y).iter_mut().zip(row.bytes()) {
                *to = u8::from(c == b'#');
            }
        }
        mask
    }

    #[test]
    fn a_ring_is_filled_and_a_band_across_is_a_band() {
        let mut mask = mask_of(&[
            "..........",
            ".####.....",
            ".#..#.....",
            ".####.....",
            "..........",
            "##########",
            "..........",
            "##########",
            "..........",
        ]);
        enclose(&mut mask);
        assert_eq!(
            shown(&mut mask),
            [
                "..........",
                ".####.....",
                ".####.....",
                ".####.....",
                "..........",
                "##########",
                "##########",
                "##########",
                ".........."
            ]
        );
    }

    #[test]
    fn closing_bridges_small_gaps_only() {
        let mut mask = mask_of(&[
            "................",
            "................",
            "###..####......#",
            "................",
            "................",
        ]);
        close(&mut mask, 1);
        assert_eq!(shown(&mut mask)[2], "#########......#");
        assert_eq!(shown(&mut mask)[1], "................");
    }
}
