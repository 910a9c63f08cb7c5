//! Drawn lines on the reduced picture: which pixels are stroke, and which shapes they enclose.

use std::collections::{BTreeMap, BinaryHeap};

use crate::contour::{Boundary, Mask, boundaries};
use crate::geometry::{median, quantile};
use crate::reduce::{Grid, Reduced, neighbourhood};

/// Wide enough that even a felt pen covers less than half of most tiles.
const TILE: usize = 32;

/// How faint a stroke may be and count.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Faintness {
    /// As a part of the darkness of strong ones anywhere.
    anywhere: f32,
    /// As a part of a strong one near by, whose soft flank must not count as stroke.
    beside: f32,
    /// Whether what is fainter than that counts where paper shows on both sides of it: no flank does.
    ridges: bool,
}

impl Faintness {
    /// The ruling of squared paper does not count.
    pub const ORDINARY: Self = Self { anywhere: 0.25, beside: 0.33, ridges: false };
    /// What a hand that lifts leaves of a line counts, since a gap there lets the outside in; so may a
    /// ruling. Noise sets its own limit.
    pub const FAINT: Self = Self { anywhere: 0.08, beside: 0.15, ridges: true };
}

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
    pub fn find(reduced: &Reduced, dark: bool, faintness: Faintness) -> Option<Self> {
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
        let least = (faintness.anywhere * strong).max(6.0 * noise);
        let threshold: Vec<f32> = peak
            .iter()
            .map(|&p| if p < least { least } else { (faintness.beside * p).max(5.0 * noise) })
            .collect();
        let threshold = Grid { size: TILE, w: tw, h: th, v: threshold };
        let mut mask = Mask::new(reduced.w, reduced.h);
        let mut limits = vec![0f32; reduced.w];
        for y in 0..reduced.h {
            paper.row(y, &mut bright);
            threshold.row(y, &mut limits);
            let row = &reduced.v[y * reduced.w..(y + 1) * reduced.w];
            for (x, (((to, &v), &b), &limit)) in
                mask.row_mut(y).iter_mut().zip(row).zip(&bright).zip(&limits).enumerate()
            {
                let darker = sign * (b - f32::from(v));
                let faint = faintness.ridges && darker > least;
                *to = u8::from(darker > limit || (faint && is_ridge(reduced, x, y, b, sign)));
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

/// How far from the middle of a faint stroke paper is looked for, reduced pixels.
const BESIDE: usize = 4;

/// Whether a pixel stands out of the paper, of brightness `paper`, twice as much as what lies to both
/// sides of it, in one direction at least.
fn is_ridge(reduced: &Reduced, x: usize, y: usize, paper: f32, sign: f32) -> bool {
    let within = |v: usize, n: usize| v >= BESIDE && v + BESIDE < n;
    if !within(x, reduced.w) || !within(y, reduced.h) {
        return false;
    }
    let darker = |x: usize, y: usize| sign * (paper - f32::from(reduced.v[y * reduced.w + x]));
    let half = 0.5 * darker(x, y);
    let (left, right, above, below) = (x - BESIDE, x + BESIDE, y - BESIDE, y + BESIDE);
    [
        [(left, y), (right, y)],
        [(x, above), (x, below)],
        [(left, above), (right, below)],
        [(left, below), (right, above)],
    ]
    .iter()
    .any(|sides| sides.iter().all(|&(x, y)| darker(x, y) < half))
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

/// Turns strokes into the shapes they enclose.
///
/// The paper region with the longest share of the picture's border is outside. Crossing a stroke
/// leads inside, crossing the next one outside again; so a bar drawn right across the picture is
/// a shape though nothing closes its ends. Regions may meet across several strokes (at a corner
/// that touches the border, say): the longest meeting decides.
fn enclose(mask: &mut Mask) {
    let (w, h) = (mask.w, mask.h);
    let mut label = vec![0u16; w * h];
    let strokes: Vec<u8> = (0..h).flat_map(|y| mask.row_mut(y).to_vec()).collect();
    let outside = label_paper(&strokes, w, h, &mut label);
    grow_labels(w, h, &mut label);
    // Lengths along which regions meet.
    let mut meetings: BTreeMap<(u16, u16), u32> = BTreeMap::new();
    let mut meet = |a: u16, b: u16| {
        if a != b && a != 0 && b != 0 {
            *meetings.entry((a.min(b), a.max(b))).or_insert(0) += 1;
        }
    };
    for y in 0..h {
        for x in 0..w {
            let here = label[y * w + x];
            if x + 1 < w {
                meet(here, label[y * w + x + 1]);
            }
            if y + 1 < h {
                meet(here, label[(y + 1) * w + x]);
            }
        }
    }
    let mut near: BTreeMap<u16, Vec<(u32, u16)>> = BTreeMap::new();
    for (&(a, b), &length) in &meetings {
        near.entry(a).or_default().push((length, b));
        near.entry(b).or_default().push((length, a));
    }
    // From the outside on, always over the longest meeting yet to be crossed.
    let mut inside: BTreeMap<u16, bool> = BTreeMap::new();
    let mut pending = BinaryHeap::from([(u32::MAX, outside, false)]);
    while let Some((_, region, is_inside)) = pending.pop() {
        if inside.contains_key(&region) {
            continue;
        }
        inside.insert(region, is_inside);
        for &(length, other) in near.get(&region).map_or(&[][..], Vec::as_slice) {
            pending.push((length, other, !is_inside));
        }
    }
    for y in 0..h {
        let row = y * w..(y + 1) * w;
        for ((to, &stroke), l) in
            mask.row_mut(y).iter_mut().zip(&strokes[row.clone()]).zip(&label[row])
        {
            let is_inside = inside.get(l).copied().unwrap_or(false);
            *to = u8::from(stroke & 1 != 0 || is_inside);
        }
    }
}

/// Numbers the regions of paper from 1; strokes stay 0. Returns the region with the most border.
fn label_paper(strokes: &[u8], w: usize, h: usize, label: &mut [u16]) -> u16 {
    let on_border = |i: usize| i < w || i >= (h - 1) * w || i.is_multiple_of(w) || i % w == w - 1;
    let mut stack: Vec<u32> = Vec::new();
    let mut next = 1u16;
    let mut best = (0usize, 0u16);
    for seed in 0..w * h {
        if strokes[seed] & 1 != 0 || label[seed] != 0 || next == u16::MAX {
            continue;
        }
        let mut along = 0;
        label[seed] = next;
        stack.push(seed as u32);
        while let Some(i) = stack.pop() {
            let i = i as usize;
            along += usize::from(on_border(i));
            each_neighbour(i, w, h, |j| {
                if strokes[j] & 1 == 0 && label[j] == 0 {
                    label[j] = next;
                    stack.push(j as u32);
                }
            });
        }
        if along > best.0 {
            best = (along, next);
        }
        next += 1;
    }
    best.1
}

/// Spreads labels over the strokes until they meet in the middle.
fn grow_labels(w: usize, h: usize, label: &mut [u16]) {
    let mut front: Vec<u32> = Vec::new();
    for i in 0..w * h {
        if label[i] != 0 {
            let mut beside_stroke = false;
            each_neighbour(i, w, h, |j| beside_stroke |= label[j] == 0);
            if beside_stroke {
                front.push(i as u32);
            }
        }
    }
    while !front.is_empty() {
        let mut grown = Vec::with_capacity(front.len());
        for &i in &front {
            let own = label[i as usize];
            each_neighbour(i as usize, w, h, |j| {
                if label[j] == 0 {
                    label[j] = own;
                    grown.push(j as u32);
                }
            });
        }
        front = grown;
    }
}

fn each_neighbour(i: usize, w: usize, h: usize, mut visit: impl FnMut(usize)) {
    let x = i % w;
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
    fn a_shape_whose_corner_touches_the_border_does_not_spill() {
        // Closed on the left at the border, open on the right: outside above and below.
        let mut mask = mask_of(&[
            "............",
            "............",
            "############",
            "#...........",
            "#...........",
            "############",
            "............",
            "............",
        ]);
        enclose(&mut mask);
        let rows = shown(&mut mask);
        assert_eq!(rows[3], "############");
        assert_eq!(rows[1], "............");
        assert_eq!(rows[6], "............");
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
