//! Which parts of the reduced picture are objects: shadows against light, or drawn lines.

use crate::background::background;
use crate::contour::{Boundary, Mask, boundaries};
use crate::geometry::quantile;
use crate::reduce::{Grid, Reduced, Tiles, fill_in, neighbourhood};

/// Side of the tiles on which light is compared, in reduced pixels.
const TILE: usize = 16;
/// Objects smaller than this fraction of the picture's diagonal are specks.
pub(crate) const LEAST_OBJECT: f64 = 0.03;
/// At most so many objects are traced, the largest first.
const MOST_OBJECTS: usize = 40;

/// A threshold for every place, and what was learnt on the way.
pub(crate) struct Threshold {
    pub grid: Grid,
    /// Contrast that counts as strong in this picture, in units of the reduced picture.
    pub contrast: f32,
}

impl Threshold {
    /// Half-way between local dark and local light wherever both are near; elsewhere handed over
    /// from there. `None` when nothing in the picture stands out from its noise.
    ///
    /// A single threshold for the picture would drift across an edge wherever the light is
    /// uneven; this one only has to be near, since each edge is then located by itself.
    pub fn find(reduced: &Reduced) -> Option<Self> {
        let tiles = Tiles::of(reduced, TILE);
        let mut contrasts: Vec<f32> =
            tiles.low.iter().zip(&tiles.high).map(|(l, h)| h - l).collect();
        let strong =
            quantile(&mut contrasts.iter().map(|&c| f64::from(c)).collect::<Vec<_>>(), 0.98);
        // Over the 12 x 12 cells of a neighbourhood, extremes of noise reach three sigma.
        let floor = (8.0 * reduced.noise / 2.0).max(600.0);
        if strong < floor {
            return None;
        }
        let least = (0.25 * strong).max(floor) as f32;
        let known: Vec<Option<f32>> = tiles
            .low
            .iter()
            .zip(&tiles.high)
            .zip(contrasts.drain(..))
            .map(|((l, h), c)| (c >= least).then_some((l + h) / 2.0))
            .collect();
        let v = fill_in(&known, tiles.w, tiles.h);
        Some(Self {
            grid: Grid { size: tiles.size, w: tiles.w, h: tiles.h, v },
            contrast: strong as f32,
        })
    }

    /// Half-way between the background and whatever things show beside it, be it bright: for things
    /// darker than their background. `None` where there is no even background, or nothing before it.
    pub fn before_background(&self, reduced: &Reduced) -> Option<Self> {
        let tiles = Tiles::of(reduced, TILE);
        let behind = background(reduced, &tiles)?;
        let least = LEAST_DARKER.max(4.0 * reduced.noise as f32 / quantile_of(&behind.v, 0.5));
        let scaled = |part: &dyn Fn(usize) -> f32| {
            let v = behind.v.iter().enumerate().map(|(i, b)| b * part(i)).collect();
            Self { grid: Grid { v, ..behind.clone_shape() }, contrast: self.contrast }
        };
        // All that is clearly not background, a little too large: at the step from light at which its
        // boundary is steepest, since a shadow on paper has a boundary too, but a soft one.
        let mut best: Option<(f64, Vec<Boundary>)> = None;
        for darker in DARKER {
            let darker = darker.max(least);
            let near = scaled(&|_| 1.0 - darker);
            let mut mask = near.dark(reduced);
            let found =
                worth_tracing(near.boundaries(reduced, &mut mask, true), reduced.w, reduced.h);
            let steep = steepness(&found, reduced);
            if best.as_ref().is_none_or(|b| steep > CLEARLY_STEEPER * b.0) {
                best = Some((steep, found));
            }
        }
        let (_, found) = best?;
        let (w, h) = (tiles.w, tiles.h);
        let mut beside: Vec<Vec<f64>> = vec![Vec::new(); w * h];
        for boundary in &found {
            for (x, y, part) in shown_beside(boundary, reduced, &behind) {
                beside[(y / TILE).min(h - 1) * w + (x / TILE).min(w - 1)].push(f64::from(part));
            }
        }
        let bright: Vec<f32> = beside
            .iter_mut()
            .map(|b| if b.is_empty() { f32::NEG_INFINITY } else { quantile(b, BRIGHTER) as f32 })
            .collect();
        let bright = neighbourhood(&bright, w, h, f32::max);
        let known: Vec<Option<f32>> = bright.iter().map(|b| b.is_finite().then_some(*b)).collect();
        if known.iter().all(Option::is_none) {
            return None;
        }
        let bright = fill_in(&known, w, h);
        Some(scaled(&|i| (0.5 * (1.0 + bright[i])).min(1.0 - 0.5 * least)))
    }

    /// Mask of what is darker than the threshold.
    pub fn dark(&self, reduced: &Reduced) -> Mask {
        let mut mask = Mask::new(reduced.w, reduced.h);
        let mut limits = vec![0f32; reduced.w];
        for y in 0..reduced.h {
            self.grid.row(y, &mut limits);
            let row = &reduced.v[y * reduced.w..(y + 1) * reduced.w];
            for ((to, &v), &limit) in mask.row_mut(y).iter_mut().zip(row).zip(&limits) {
                *to = u8::from(f32::from(v) < limit);
            }
        }
        mask
    }

    /// Boundaries of the mask with the boundary where the brightness crosses the threshold.
    pub fn boundaries(&self, reduced: &Reduced, mask: &mut Mask, dark: bool) -> Vec<Boundary> {
        let sign = if dark { 1.0 } else { -1.0 };
        boundaries(mask, 24, |x, y| sign * (self.grid.at(x, y) - reduced.at(x, y)))
    }
}

/// Parts by which something must be darker than the background to be before it: the brightest metal
/// mirrors 0.55 of the light, 0.77 of it as a file's value; paper in the shadow of a thing shows down to 0.6.
const DARKER: [f32; 3] = [LEAST_DARKER, 0.25, 0.4];
const LEAST_DARKER: f32 = 0.12;
/// How many times steeper a boundary must be to be the better one.
const CLEARLY_STEEPER: f64 = 1.3;

/// How steep the light is along most of the boundaries: what three quarters of their places exceed.
fn steepness(found: &[Boundary], reduced: &Reduced) -> f64 {
    let mut slopes = Vec::new();
    for p in found.iter().flat_map(|b| b.points.iter().step_by(4)) {
        let (x, y) = (p.0 as usize, p.1 as usize);
        if p.2 || x < 2 || y < 2 || x + 2 >= reduced.w || y + 2 >= reduced.h {
            continue;
        }
        let gx = reduced.at(x + 1, y) - reduced.at(x - 1, y);
        let gy = reduced.at(x, y + 1) - reduced.at(x, y - 1);
        slopes.push(f64::from(gx.hypot(gy)));
    }
    quantile(&mut slopes, 0.25)
}
/// Of the light that a thing shows along its edge the part of the way from dark to bright that counts.
const BRIGHTER: f64 = 0.7;
/// Reduced pixels inside a boundary between which light is looked at: beyond its blur, before a tooth ends.
const BESIDE: [f32; 2] = [1.5, 2.2];

fn quantile_of(v: &[f32], q: f64) -> f32 {
    quantile(&mut v.iter().map(|v| f64::from(*v)).collect::<Vec<_>>(), q) as f32
}

/// What is seen just inside a boundary, as parts of the background: places and parts.
fn shown_beside<'a>(
    boundary: &'a Boundary,
    reduced: &'a Reduced,
    behind: &'a Grid,
) -> impl Iterator<Item = (usize, usize, f32)> + 'a {
    let p = &boundary.points;
    let n = p.len();
    (0..n).step_by(3).filter_map(move |i| {
        let (a, b) = (p[(i + n - 2) % n], p[(i + 2) % n]);
        if a.2 || b.2 || p[i].2 {
            return None;
        }
        let (tx, ty) = (b.0 - a.0, b.1 - a.1);
        let length = tx.hypot(ty);
        if length < 1.0 {
            return None;
        }
        let darkest = BESIDE.iter().filter_map(|s| {
            let (x, y) = (p[i].0 - s * ty / length, p[i].1 + s * tx / length);
            let inside = x >= 0.0 && y >= 0.0 && x < reduced.w as f32 && y < reduced.h as f32;
            inside.then(|| reduced.at(x as usize, y as usize))
        });
        let (x, y) = (p[i].0 as usize, p[i].1 as usize);
        let (x, y) = (x.min(reduced.w - 1), y.min(reduced.h - 1));
        let darkest = darkest.fold(f32::INFINITY, f32::min);
        darkest.is_finite().then(|| (x, y, (darkest / behind.at(x, y).max(1.0)).min(1.0)))
    })
}

/// The outer boundaries worth tracing, largest first: no holes, no specks, not the frame of
/// darkness round a light table.
pub(crate) fn worth_tracing(found: Vec<Boundary>, w: usize, h: usize) -> Vec<Boundary> {
    let least = LEAST_OBJECT * (w as f64).hypot(h as f64);
    let mut kept: Vec<Boundary> = found
        .into_iter()
        .filter(|b| b.area > 0.0 && b.diagonal() >= least && !is_frame(b, w, h))
        .collect();
    kept.sort_by(|a, b| b.diagonal().total_cmp(&a.diagonal()));
    kept.truncate(MOST_OBJECTS);
    kept
}

/// Whether an object runs along most of the picture's border.
fn is_frame(b: &Boundary, w: usize, h: usize) -> bool {
    let along = b.points.iter().filter(|p| p.2).count();
    along as f64 > 0.7 * (2 * (w + h)) as f64
}

/// Part of the picture's diagonal below which nothing but a stroke is so thin: a bar would tell nothing.
const THIN: f64 = 0.004;

/// Whether what was found is drawn with lines: large shapes that enclose far more than they
/// cover, or are far longer than thick, or pieces of such that a faint stroke has left.
pub(crate) fn is_line_drawing(found: &[Boundary], w: usize, h: usize) -> bool {
    let diagonal = (w as f64).hypot(h as f64);
    let (mut line, mut solid) = (0.0, 0.0);
    for outer in found.iter().filter(|b| b.area > 0.0 && b.diagonal() > 0.1 * diagonal) {
        if is_frame(outer, w, h) {
            continue;
        }
        let (mut holes, mut length) = (0.0, outer.points.len() as f64);
        for hole in found.iter().filter(|b| b.area < 0.0) {
            let within = hole.extent[0] >= outer.extent[0]
                && hole.extent[1] >= outer.extent[1]
                && hole.extent[2] <= outer.extent[2]
                && hole.extent[3] <= outer.extent[3];
            if within {
                holes -= hole.area;
                length += hole.points.len() as f64;
            }
        }
        let thickness = 2.0 * (outer.area - holes).max(0.0) / length;
        let thin = thickness < (0.012 * outer.diagonal()).max(THIN * diagonal);
        if holes > 0.5 * outer.area || thin {
            line += outer.diagonal();
        } else {
            solid += outer.diagonal();
        }
    }
    line > solid
}
