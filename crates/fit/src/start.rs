//! A first estimate of form and view, read straight off the outline.

use crate::model::{Frame, Model};
use crate::params::{Param, Params};
use form::shadow::{Edge, seen_by_projector};
use picture::EdgePoint;

/// The thread's edges levelled: `(along, up, edge)` in px from the pivot.
pub struct Levelled {
    /// Middle of the thread, px.
    pub pivot: (f64, f64),
    /// Unit axis direction, px.
    pub axis: (f64, f64),
    /// Upper edge points.
    pub upper: Vec<(f64, f64)>,
    /// Lower edge points.
    pub lower: Vec<(f64, f64)>,
}

impl Levelled {
    /// Levels the edges along `axis` about their middle.
    pub fn new(axis: (f64, f64), upper: &[EdgePoint], lower: &[EdgePoint]) -> Option<Self> {
        let up = (axis.1, -axis.0);
        let n = (upper.len() + lower.len()) as f64;
        if n == 0.0 {
            return None;
        }
        let mean = |points: &[EdgePoint], f: fn(&EdgePoint) -> f64| {
            points.iter().map(f).sum::<f64>() / points.len().max(1) as f64
        };
        // The middle between the edges, or the one edge there is.
        let present: Vec<&[EdgePoint]> =
            [upper, lower].into_iter().filter(|e| !e.is_empty()).collect();
        let pivot = (
            present.iter().map(|e| mean(e, |p| p.x)).sum::<f64>() / present.len() as f64,
            present.iter().map(|e| mean(e, |p| p.y)).sum::<f64>() / present.len() as f64,
        );
        let level = |points: &[EdgePoint]| {
            points
                .iter()
                .map(|p| {
                    let (dx, dy) = (p.x - pivot.0, p.y - pivot.1);
                    (dx * axis.0 + dy * axis.1, dx * up.0 + dy * up.1)
                })
                .collect()
        };
        Some(Self { pivot, axis, upper: level(upper), lower: level(lower) })
    }

    /// Extent of all points along the axis, px.
    pub fn span(&self) -> (f64, f64) {
        self.upper
            .iter()
            .chain(&self.lower)
            .fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.0), b.max(p.0)))
    }
}

/// One edge folded onto a single pitch, px.
#[derive(Debug, Clone, Copy)]
pub struct Folded {
    /// Pitch, px.
    pub pitch: f64,
    /// Position of a crest centre along the axis, px from the pivot.
    pub crest_at: f64,
    /// Height of the crests (towards the outside), px from the pivot.
    pub crest: f64,
    /// Depth seen, px.
    pub depth: f64,
    /// Tangents of the flank angles seen, right and left of a crest.
    pub tan: (f64, f64),
    /// Crest flat between corners, px.
    pub crest_flat: f64,
    /// Slope of the edge against the axis: rise over run.
    pub slope: f64,
}

/// Bins over a pitch when folding.
const BINS: usize = 96;

/// Reads one edge. `points` levelled; a lower edge is turned over first.
pub fn fold(points: &[(f64, f64)], edge: Edge, pitch_guess: f64) -> Option<Folded> {
    if points.len() < 40 || pitch_guess.is_nan() || pitch_guess <= 2.0 {
        return None;
    }
    let sign = if edge == Edge::Upper { 1.0 } else { -1.0 };
    let mut line: Vec<(f64, f64)> = points.iter().map(|p| (p.0, sign * p.1)).collect();
    let (low, high) = line.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.0), b.max(p.0)));
    if (high - low) < 1.5 * pitch_guess {
        return None;
    }
    let mut slope = 0.0;
    let mut pitch = pitch_guess;
    for _ in 0..2 {
        pitch = best_pitch(&line, pitch);
        let more = crest_slope(&line, pitch);
        slope += more;
        for p in &mut line {
            p.1 -= more * p.0;
        }
    }
    // Median height in every bin of the folded edge.
    let mut bins: Vec<Vec<f64>> = vec![Vec::new(); BINS];
    for (z, x) in &line {
        let bin = ((z / pitch).rem_euclid(1.0) * BINS as f64) as usize;
        bins[bin.min(BINS - 1)].push(*x);
    }
    let mut profile: Vec<f64> = bins.iter_mut().map(|b| median(b).unwrap_or(f64::NAN)).collect();
    fill_gaps(&mut profile)?;
    let mut sorted = profile.clone();
    sorted.sort_by(f64::total_cmp);
    let crest = sorted[BINS - 1 - BINS / 24];
    let root = sorted[BINS / 24];
    let depth = crest - root;
    if depth.is_nan() || depth <= 1.5 {
        return None;
    }
    // Crossings of three heights on both flanks, walking right from the middle of the crest.
    let top = middle_of_crest(&profile, crest - 0.5 * depth)?;
    let cross = |height: f64, right: bool| -> Option<f64> {
        let at = |i: usize| {
            let k = if right { top + i } else { top + BINS * 2 - i };
            profile[k % BINS]
        };
        (0..BINS).find(|&i| at(i) >= height && at(i + 1) < height).map(|i| {
            let t = (at(i) - height) / (at(i) - at(i + 1));
            i as f64 + t
        })
    };
    let level = |f: f64| crest - f * depth;
    let unit = pitch / BINS as f64;
    let side = |right: bool| -> Option<(f64, f64)> {
        let (a, b, c) =
            (cross(level(0.25), right)?, cross(level(0.5), right)?, cross(level(0.75), right)?);
        Some(((c - a) * unit / (0.5 * depth), b * unit))
    };
    let ((tan_right, right), (tan_left, left)) = (side(true)?, side(false)?);
    let crest_flat = right + left - 0.5 * depth * (tan_right + tan_left);
    let middle = 0.5 * (right - left) - 0.25 * depth * (tan_right - tan_left);
    let crest_at = (top as f64 + 0.5) * unit + middle;
    Some(Folded {
        pitch,
        crest_at,
        crest,
        depth,
        tan: (tan_right, tan_left),
        crest_flat,
        slope: sign * slope,
    })
}

/// Times the shadow of a first estimate is cast to correct it.
const CORRECTIONS: usize = 4;

/// A first estimate read off a shadow, corrected by what the shadow of the estimate itself would be read
/// as: with several starts the two are far apart, farther than a search finds its way. `seen` as read
/// off; the frame says hand and starts.
pub fn undistorted(seen: &Params, frame: &Frame) -> Params {
    let groove_of = |p: &Params| {
        let slopes = p[Param::TanRight] + p[Param::TanLeft];
        p[Param::Pitch] - p[Param::CrestFlat] - 0.5 * p[Param::Depth] * slopes
    };
    let pitch = seen[Param::Pitch];
    let mut best = *seen;
    for _ in 0..CORRECTIONS {
        let Some(model) = Model::new(&best, frame) else { return *seen };
        let outline = model.outline(Edge::Upper, 0..=0, 1e-3 * pitch);
        let Some(read) = seen_by_projector(&outline, 0) else { return best };
        let mut next = best;
        let more = |flank: Param, read_rad: f64| {
            (best[flank] + seen[flank] - read_rad.tan()).clamp(0.0, 1.6)
        };
        next[Param::TanRight] = more(Param::TanRight, read.right_flank_rad);
        next[Param::TanLeft] = more(Param::TanLeft, read.left_flank_rad);
        // The crest makes up for what the groove lacks.
        let groove = groove_of(&best) + groove_of(seen) - read.groove_mm;
        let slopes = next[Param::TanRight] + next[Param::TanLeft];
        next[Param::CrestFlat] = pitch - groove - 0.5 * next[Param::Depth] * slopes;
        let room = pitch - next[Param::Depth] * slopes - next[Param::CrestFlat];
        if next[Param::CrestFlat] < 0.02 * pitch
            || room < 0.02 * pitch
            || Model::new(&next, frame).is_none()
        {
            return best;
        }
        best = next;
    }
    best
}

/// Parting of the edges on the diameter, per length, that dirt and a lens do not make: 1:50, less than
/// any standard's taper. Empirical.
const LEAST_PARTING: f64 = 0.02;

/// Taper on the diameter as it seems: how fast the edges part, less what would part them if a leaning
/// plane or a tilt made the pitch drift as it does; nought where the edges part for other reasons, or
/// hardly.
pub fn seems_tapered(levelled: &Levelled, upper: &Folded, lower: &Folded) -> f64 {
    let parting = upper.slope - lower.slope;
    let drifts: Vec<f64> = [(&levelled.upper, upper, 1.0), (&levelled.lower, lower, -1.0)]
        .into_iter()
        .filter_map(|(points, folded, sign)| drift(points, folded, sign))
        .collect();
    if drifts.is_empty() {
        return 0.0;
    }
    let drift = drifts.iter().sum::<f64>() / drifts.len() as f64;
    if parting.abs() < LEAST_PARTING {
        return 0.0;
    }
    let tapered = parting - (upper.crest + lower.crest) * drift;
    // A drift hangs on a few teeth: it may explain a parting, and never makes one.
    if tapered * parting > 0.5 * parting * parting { tapered } else { 0.0 }
}

/// The keystone that would make the edges part as they do, and the pitch of one seem longer than that of
/// the other: along and across the axis, 1/mm, at `scale` px per mm.
///
/// Where the plane leans by `w = 1 + k z + l x`, everything at `(z, x)` is `1 / w` of its size: the edges
/// at `x = ±R` part by `-2 k R`, and their pitches are as `1 - l R` to `1 + l R`.
pub fn seems_leaning(upper: &Folded, lower: &Folded, scale: f64) -> (f64, f64) {
    let radius_mm = 0.5 * (upper.crest + lower.crest) / scale;
    if radius_mm.is_nan() || radius_mm <= 0.0 {
        return (0.0, 0.0);
    }
    let parting = upper.slope - lower.slope;
    let longer = (lower.pitch - upper.pitch) / (lower.pitch + upper.pitch);
    (-0.5 * parting / radius_mm, longer / radius_mm)
}

/// Relative growth of the pitch along an edge, 1/px: right half against left half. `None` with fewer
/// than two teeth in either.
fn drift(points: &[(f64, f64)], folded: &Folded, sign: f64) -> Option<f64> {
    let (low, high) =
        points.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.0), b.max(p.0)));
    let middle = 0.5 * (low + high);
    if 0.5 * (high - low) < 2.0 * folded.pitch {
        return None;
    }
    let half = |right: bool| -> Vec<(f64, f64)> {
        points
            .iter()
            .filter(|p| (p.0 > middle) == right)
            .map(|p| (p.0, sign * (p.1 - folded.slope * p.0)))
            .collect()
    };
    let (left, right) =
        (best_pitch(&half(false), folded.pitch), best_pitch(&half(true), folded.pitch));
    Some(2.0 * (right - left) / (right + left) / (0.5 * (high - low)))
}

/// Most points looked at to find the pitch.
const HARMONIC_POINTS: usize = 1000;
/// Pitches tried to each side of the best so far.
const HARMONIC_STEPS: usize = 8;

/// Pitch near `guess` that makes the first harmonic of the edge strongest, px.
fn best_pitch(line: &[(f64, f64)], guess: f64) -> f64 {
    // A harmonic needs a few dozen points a tooth, not every pixel.
    let thinned = || line.iter().step_by(line.len().div_ceil(HARMONIC_POINTS).max(1));
    let mean = thinned().map(|p| p.1).sum::<f64>() / thinned().count().max(1) as f64;
    let mut width = 0.06;
    let mut best = std::f64::consts::TAU / guess;
    for _ in 0..4 {
        // Wave numbers at even steps, so that each point's phase is turned on from one to the next.
        let step = best * width / HARMONIC_STEPS as f64;
        let first = best * (1.0 - width);
        let mut sums = [(0.0, 0.0); 2 * HARMONIC_STEPS + 1];
        for (z, x) in thinned() {
            let (mut sin, mut cos) = (first * z).sin_cos();
            let (turn_sin, turn_cos) = (step * z).sin_cos();
            for sum in &mut sums {
                sum.0 += (x - mean) * sin;
                sum.1 += (x - mean) * cos;
                (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
            }
        }
        let power = |s: &(f64, f64)| s.0 * s.0 + s.1 * s.1;
        let strongest =
            sums.iter().enumerate().max_by(|a, b| power(a.1).total_cmp(&power(b.1))).map(|s| s.0);
        best = first + step * strongest.unwrap_or(HARMONIC_STEPS) as f64;
        width /= 5.0;
    }
    std::f64::consts::TAU / best
}

/// Slope of the crests against the axis, from the highest point of every pitch (Theil–Sen).
fn crest_slope(line: &[(f64, f64)], pitch: f64) -> f64 {
    let (low, high) = line.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.0), b.max(p.0)));
    let mut tops: Vec<(f64, f64)> = Vec::new();
    for (z, x) in line {
        let i = ((z - low) / pitch) as usize;
        if i >= tops.len() {
            tops.resize(i + 1, (0.0, f64::NEG_INFINITY));
        }
        if *x > tops[i].1 {
            tops[i] = (*z, *x);
        }
    }
    // What begins after the last whole pitch may end on a flank.
    tops.truncate(((high - low) / pitch) as usize);
    tops.retain(|t| t.1.is_finite());
    let mut slopes: Vec<f64> = Vec::new();
    for i in 0..tops.len() {
        for j in i + 1..tops.len() {
            let run = tops[j].0 - tops[i].0;
            if run > 0.5 * pitch {
                slopes.push((tops[j].1 - tops[i].1) / run);
            }
        }
    }
    median(&mut slopes).unwrap_or(0.0)
}

fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    Some(*values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

/// Empty bins of a folded edge (steep flanks) are filled from their neighbours, round the pitch.
fn fill_gaps(profile: &mut [f64]) -> Option<()> {
    let n = profile.len();
    let first = profile.iter().position(|v| !v.is_nan())?;
    for step in 1..n {
        let i = (first + step) % n;
        if profile[i].is_nan() {
            let before = profile[(i + n - 1) % n];
            let ahead = (1..n).find(|k| !profile[(i + k) % n].is_nan())?;
            let after = profile[(i + ahead) % n];
            profile[i] = before + (after - before) / (ahead as f64 + 1.0);
        }
    }
    Some(())
}

/// Bin in the middle of the widest stretch above `height`.
fn middle_of_crest(profile: &[f64], height: f64) -> Option<usize> {
    let n = profile.len();
    let start = (0..n).find(|&i| profile[i] < height && profile[(i + 1) % n] >= height)?;
    let mut best = (0usize, 0usize);
    let mut run = 0usize;
    for k in 1..=n {
        if profile[(start + k) % n] >= height {
            run += 1;
            if run > best.1 {
                best = (start + k, run);
            }
        } else {
            run = 0;
        }
    }
    (best.1 > 0).then(|| (best.0 + n - best.1 / 2) % n)
}
