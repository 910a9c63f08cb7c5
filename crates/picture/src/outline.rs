//! Outlines: ordered sub-pixel points, each with its normal and its noise.

use rayon::prelude::*;

use crate::geometry::{PixelBox, median};
use crate::tone::Tone;

/// A point of an edge, located along its normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgePoint {
    /// Column coordinate in pixels; the centre of column `i` is `i + 0.5`.
    pub x: f64,
    /// Row coordinate in pixels, downward; the centre of row `j` is `j + 0.5`.
    pub y: f64,
    /// Unit normal out of the object towards the background, x component.
    pub nx: f64,
    /// Unit normal out of the object towards the background, y component (down positive).
    pub ny: f64,
    /// Standard uncertainty of the place along the normal, in pixels: noise, enlarged where the
    /// profile is not that of one straight edge. Errors that neighbours share are not in it.
    pub sigma_px: f64,
    /// Blur of the edge: standard deviation in pixels of the Gaussian that smears it, the
    /// pixel's own width included. For a drawn line, of the Gaussian most like the stroke.
    pub blur_px: f64,
    /// Background less object, in linear light (0 black, 1 white); negative for a light object.
    pub contrast: f64,
}

/// The boundary of one object.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Points in order along the contour, the object on the right hand as seen on the screen.
    /// Where nothing reliable was found (picture border, dirt) there are gaps.
    pub points: Vec<EdgePoint>,
    /// Whether the last point is followed by the first.
    pub closed: bool,
    /// Whether the object reaches the border of the picture.
    pub touches_border: bool,
    /// Smallest box around the object, the part along the border included.
    pub bounds: PixelBox,
    /// Blur of its edge, pixels, as in [`EdgePoint::blur_px`].
    pub blur_px: f64,
    /// What the profile of its edge says of the picture's tones; `None` for drawn lines, and where it
    /// says nothing.
    pub tone: Option<Tone>,
    /// Noise of one pixel beside its edge, in linear light.
    pub noise: f64,
    /// Fraction of points whose brighter side is at the brightest value a sample can take.
    pub clipped: f64,
    /// Light of the object along its edge as a part of the background's, the median; 0 for black, for
    /// what is lighter than its background, and for drawn lines.
    pub rim: f64,
}

impl Outline {
    /// What of the outline lies in a box.
    pub(crate) fn inside(&self, b: PixelBox) -> Self {
        Self {
            points: self.points.iter().filter(|p| b.contains(p.x, p.y)).copied().collect(),
            closed: self.closed && self.points.iter().all(|p| b.contains(p.x, p.y)),
            ..*self
        }
    }
}

/// Distance in pixels between consecutive points beyond which they are not neighbours.
pub(crate) const GAP_PX: f64 = 4.0;

/// Neighbours on either side to which a parabola is fitted when scatter is judged.
const SCATTER_REACH: usize = 12;

/// Factor, not below 1, by which points scatter about their neighbours more than their
/// uncertainties say: compression and demosaicing make noise that neighbouring pixels share.
pub(crate) fn excess_scatter(points: &[EdgePoint]) -> f64 {
    let m = SCATTER_REACH;
    // Smoothing weights of a least-squares parabola over equal steps (Savitzky and Golay, 1964).
    let mf = m as f64;
    let norm = (2.0 * mf + 3.0) * (2.0 * mf + 1.0) * (2.0 * mf - 1.0);
    let weight = |j: f64| 3.0 * (3.0 * mf * mf + 3.0 * mf - 1.0 - 5.0 * j * j) / norm;
    let left = (1.0 - weight(0.0)).sqrt();
    let step = (points.len() / 2000).max(1);
    let mut ratios = Vec::new();
    for window in points.windows(2 * m + 1).step_by(step) {
        let (a, p, b) = (&window[0], &window[m], &window[2 * m]);
        // Gapless and not round a corner.
        let length = (b.x - a.x).hypot(b.y - a.y);
        if length > 1.5 * (2 * m) as f64 || a.nx * b.nx + a.ny * b.ny < 0.95 {
            continue;
        }
        let smooth: f64 = window
            .iter()
            .enumerate()
            .map(|(j, q)| weight(j as f64 - mf) * ((q.x - p.x) * p.nx + (q.y - p.y) * p.ny))
            .sum();
        ratios.push(smooth.abs() / (left * p.sigma_px));
    }
    if ratios.len() < 20 {
        return 1.0;
    }
    (1.4826 * median(&mut ratios)).clamp(1.0, 5.0)
}

/// Points that one task takes.
const TASK_POINTS: usize = 512;

/// Sets each point's normal from a straight line through its neighbours on the contour, and
/// enlarges the uncertainty where the contour turns within reach of the blur.
pub(crate) fn settle_normals(points: &mut [EdgePoint], blur: f64) {
    let reach = ((1.5 * blur) as usize).clamp(3, 24);
    let n = points.len();
    // Index of the first point of the gapless stretch each point is in, and one past its last.
    let mut stretch = vec![(0usize, n); n];
    let mut start = 0;
    for i in 1..=n {
        let broken =
            i == n || (points[i].x - points[i - 1].x).hypot(points[i].y - points[i - 1].y) > GAP_PX;
        if broken {
            stretch[start..i].fill((start, i));
            start = i;
        }
    }
    let at: Vec<(f64, f64)> = points.iter().map(|p| (p.x, p.y)).collect();
    points.par_iter_mut().enumerate().with_min_len(TASK_POINTS).for_each(|(i, p)| {
        let (lo, hi) = stretch[i];
        let (a, b) = (i.saturating_sub(reach).max(lo), (i + reach + 1).min(hi));
        if b - a < 3 {
            p.sigma_px *= 2.0;
            return;
        }
        let near = &at[a..b];
        let m = near.len() as f64;
        let sum = near.iter().fold((0.0, 0.0), |s, q| (s.0 + q.0, s.1 + q.1));
        let (cx, cy) = (sum.0 / m, sum.1 / m);
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for q in near {
            let (u, v) = (q.0 - cx, q.1 - cy);
            xx += u * u;
            xy += u * v;
            yy += v * v;
        }
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let (mut nx, mut ny) = (-angle.sin(), angle.cos());
        if nx * p.nx + ny * p.ny < 0.0 {
            (nx, ny) = (-nx, -ny);
        }
        (p.nx, p.ny) = (nx, ny);
        // Turning between the halves before and after: a corner or bend pulls the blurred edge
        // towards its inside by about the curvature times half the blur's variance.
        let back = (at[i].0 - at[a].0, at[i].1 - at[a].1);
        let on = (at[b - 1].0 - at[i].0, at[b - 1].1 - at[i].1);
        let (lb, lo) = (back.0.hypot(back.1), on.0.hypot(on.1));
        if lb > 1.0 && lo > 1.0 {
            let turn = (back.0 * on.1 - back.1 * on.0).atan2(back.0 * on.0 + back.1 * on.1).abs();
            // What noise alone would turn.
            let noise = 3.0 * p.sigma_px * (1.0 / lb + 1.0 / lo);
            let pull = blur * blur * (turn - noise).max(0.0) / (lb + lo);
            p.sigma_px = p.sigma_px.hypot(pull);
        }
    });
}
