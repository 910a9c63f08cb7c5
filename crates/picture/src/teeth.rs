//! Rows of teeth along an outline, seen along a given direction.
//!
//! Along the contour the distance across the axis swings between crest and root. Each swing
//! crosses half height once: those crossings, the flanks, are sharp in place where crests and
//! roots are flat. A row of teeth is a run of flanks at equal spacing.

use crate::geometry::median;
use crate::outline::{EdgePoint, GAP_PX};

/// Where a swing passes half height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Flank {
    /// Coordinate along the axis.
    pub u: f64,
    /// Coordinate across the axis at half height (positive to the right of the axis direction).
    pub v: f64,
    /// Whole swing, signed: change of `v` in contour order.
    pub swing: f64,
    /// Index of the outline's point there.
    pub index: usize,
}

/// A run of flanks at equal spacing.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    pub outline: usize,
    pub flanks: Vec<Flank>,
    /// Mean spacing of flanks of one kind, positive.
    pub pitch: f64,
    /// Scatter of that spacing, as a fraction of it.
    pub uneven: f64,
    /// +1 when the contour runs along the axis direction (an upper edge), -1 when against it.
    pub direction: f64,
    /// Typical height of teeth.
    pub height: f64,
}

impl Row {
    /// Extent along the axis between the outermost flanks.
    pub fn span(&self) -> (f64, f64) {
        self.flanks
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |s, f| (s.0.min(f.u), s.1.max(f.u)))
    }

    /// Mean coordinate across the axis at half height.
    pub fn level(&self) -> f64 {
        self.flanks.iter().map(|f| f.v).sum::<f64>() / self.flanks.len().max(1) as f64
    }
}

/// An outline thinned for the search, with the index of each point kept.
pub(crate) struct Thinned {
    pub outline: usize,
    /// x, y, index in the outline, and whether a gap precedes.
    points: Vec<(f64, f64, usize, bool)>,
    closed: bool,
}

/// A thinned outline seen along one direction.
pub(crate) struct Seen<'a> {
    of: &'a Thinned,
    /// Along and across the direction, point by point.
    uv: Vec<(f64, f64)>,
}

impl Thinned {
    pub fn of(outline: usize, points: &[EdgePoint], closed: bool, most: usize) -> Self {
        let step = points.len().div_ceil(most.max(1)).max(1);
        let mut thin = Vec::with_capacity(points.len() / step + 2);
        let mut gap = false;
        for (i, p) in points.iter().enumerate() {
            if i > 0 {
                let q = &points[i - 1];
                gap |= (p.x - q.x).hypot(p.y - q.y) > 8.0 * GAP_PX;
            }
            if i % step == 0 || gap {
                thin.push((p.x, p.y, i, gap));
                gap = false;
            }
        }
        Self { outline, points: thin, closed }
    }

    /// The outline with `axis` laid level.
    pub fn along(&self, axis: (f64, f64)) -> Seen<'_> {
        let (ax, ay) = axis;
        let uv = self.points.iter().map(|p| (p.0 * ax + p.1 * ay, p.1 * ax - p.0 * ay)).collect();
        Seen { of: self, uv }
    }
}

/// Where an outline, walked along, turns back across the axis: swings of at least some height, one
/// list for every stretch without a gap.
pub(crate) struct Swings<'a> {
    seen: &'a Seen<'a>,
    /// Position in the walk and coordinate across the axis of every turning point, the last extreme
    /// of the stretch included.
    pieces: Vec<Vec<(usize, f64)>>,
}

impl Seen<'_> {
    /// Swings of at least `least` pixels.
    pub fn swings(&self, least: f64) -> Swings<'_> {
        let n = self.uv.len();
        // A closed contour is walked on past its start, by less than a whole round.
        let length = if self.of.closed { n + n / 2 } else { n };
        let place = |j: usize| if j < n { j } else { j - n };
        let mut pieces = Vec::new();
        let mut from = 0;
        while from < length {
            let until = (from + 1..length).find(|&j| self.of.points[place(j)].3).unwrap_or(length);
            pieces.push(turning((from..until).map(|j| (j, self.uv[place(j)].1)), least));
            from = until;
        }
        Swings { seen: self, pieces }
    }
}

/// Turning points of a walk between which it swings by more than `least`, and the last extreme.
fn turning(walk: impl Iterator<Item = (usize, f64)>, least: f64) -> Vec<(usize, f64)> {
    let mut turns = Vec::new();
    // Extremes since the last turn.
    let (mut top, mut bottom) = ((0usize, f64::NEG_INFINITY), (0usize, f64::INFINITY));
    let mut heading = 0i8;
    for (j, v) in walk {
        if v > top.1 {
            top = (j, v);
        }
        if v < bottom.1 {
            bottom = (j, v);
        }
        if heading >= 0 && top.1 - v > least {
            turns.push(top);
            heading = -1;
            bottom = (j, v);
        } else if heading <= 0 && v - bottom.1 > least {
            turns.push(bottom);
            heading = 1;
            top = (j, v);
        }
    }
    if heading != 0 {
        turns.push(if heading > 0 { top } else { bottom });
    }
    turns
}

impl Swings<'_> {
    /// The same with swings of at least `least` pixels, which must be more than now: they turn where
    /// some of the smaller ones do.
    #[must_use]
    pub fn coarser(&self, least: f64) -> Self {
        let pieces = self.pieces.iter().map(|p| turning(p.iter().copied(), least)).collect();
        Self { seen: self.seen, pieces }
    }

    /// Whether they turn where others do.
    pub fn turns_as(&self, others: &Self) -> bool {
        self.pieces == others.pieces
    }

    /// Rows of teeth.
    pub fn rows(&self) -> Vec<Row> {
        let pieces: Vec<Vec<Flank>> = self
            .pieces
            .iter()
            .map(|turns| turns.windows(2).filter_map(|t| self.flank(t[0], t[1])).collect())
            .collect();
        runs(&pieces, self.seen.of.outline)
    }

    /// Where the walk passes half-way between two turning points.
    fn flank(&self, from: (usize, f64), to: (usize, f64)) -> Option<Flank> {
        let uv = &self.seen.uv;
        let place = |j: usize| if j < uv.len() { j } else { j - uv.len() };
        let middle = 0.5 * (from.1 + to.1);
        let rising = to.1 > from.1;
        let mut p = uv[place(from.0)];
        for j in from.0..to.0 {
            let q = uv[place(j + 1)];
            if (p.1 <= middle) != (q.1 <= middle) && (q.1 > p.1) == rising {
                let t = (middle - p.1) / (q.1 - p.1);
                return Some(Flank {
                    u: p.0 + t * (q.0 - p.0),
                    v: middle,
                    swing: to.1 - from.1,
                    index: self.seen.of.points[place(j)].2,
                });
            }
            p = q;
        }
        None
    }
}

/// Fewest flanks of a row: two teeth.
const LEAST_FLANKS: usize = 4;

fn runs(pieces: &[Vec<Flank>], outline: usize) -> Vec<Row> {
    let mut rows = Vec::new();
    for flanks in pieces {
        let begin = rows.len();
        let n = flanks.len();
        let mut start = 0;
        while start + LEAST_FLANKS <= n {
            let (from, end) = trimmed(flanks, start, grow(flanks, start));
            if end - from >= LEAST_FLANKS {
                rows.extend(row(&flanks[from..end], outline));
                start = end - 1;
            } else {
                start += 1;
            }
        }
        let parts = rows.split_off(begin);
        rows.extend(bridged(parts));
    }
    rows
}

/// Joins rows that go on in step after an interruption (dirt, a burr, a broken tooth). Shorter
/// rows between two that are in step are the interruption.
fn bridged(mut parts: Vec<Row>) -> Vec<Row> {
    let mut i = 0;
    while i < parts.len() {
        let next = (i + 1..parts.len()).find(|&j| {
            let least = parts[i].flanks.len().min(parts[j].flanks.len());
            parts[i + 1..j].iter().all(|p| p.flanks.len() < least) && in_step(&parts[i], &parts[j])
        });
        let Some(j) = next else {
            i += 1;
            continue;
        };
        let part = parts.drain(i + 1..=j).next_back();
        if let (Some(part), Some(row)) = (part, parts.get_mut(i)) {
            let weight = (row.flanks.len() as f64, part.flanks.len() as f64);
            let mean = |a: f64, b: f64| (a * weight.0 + b * weight.1) / (weight.0 + weight.1);
            row.pitch = mean(row.pitch, part.pitch);
            row.uneven = mean(row.uneven, part.uneven);
            row.height = mean(row.height, part.height);
            let end = row.flanks.last().map_or(f64::NEG_INFINITY, |l| l.u * row.direction);
            let beyond = |f: &Flank| f.u * row.direction > end;
            let fresh: Vec<Flank> = part.flanks.into_iter().filter(beyond).collect();
            row.flanks.extend(fresh);
        }
    }
    parts
}

/// Whether `b` continues `a`'s spacing, up to five pitches on.
fn in_step(a: &Row, b: &Row) -> bool {
    let Some(last) = a.flanks.last() else { return false };
    let steps = |f: &Flank| (f.u - last.u) * a.direction / a.pitch;
    // The next flank of the same kind.
    let next = b.flanks.iter().find(|f| f.swing * last.swing > 0.0 && steps(f) > 0.5);
    let Some(next) = next else { return false };
    let short = a.flanks.len().min(b.flanks.len()) as f64;
    a.direction == b.direction
        && (a.pitch / b.pitch - 1.0).abs() < 0.1 + 0.3 / short
        && alike(a.height, b.height)
        && (next.v - last.v).abs() < 0.5 * a.height
        && steps(next) < 5.4
        && (steps(next) - steps(next).round()).abs() < 0.2
}

/// One past the last flank that continues the run begun at `start`.
fn grow(flanks: &[Flank], start: usize) -> usize {
    let spacing = |i: usize| flanks[i + 2].u - flanks[i].u;
    let n = flanks.len();
    if start + 3 >= n {
        return start;
    }
    let first = spacing(start);
    if first == 0.0 {
        return start;
    }
    let mut previous = first;
    let height = flanks[start].swing.abs();
    let mut end = start + 2;
    if !alike(flanks[start + 1].swing.abs(), height) {
        return start;
    }
    let mut i = start;
    while i + 2 < n {
        let d = spacing(i);
        let gap = flanks[i + 1].u - flanks[i].u;
        let steady = d * first > 0.0
            && (d / previous - 1.0).abs() < 0.3
            && (d / first - 1.0).abs() < 0.6
            // Flanks of a tooth may lean over each other by a little, not by much.
            && gap * first > -0.1 * first * first
            && alike(flanks[i + 2].swing.abs(), height)
            && (flanks[i + 2].v - flanks[i].v).abs() < 0.5 * height;
        if !steady {
            break;
        }
        previous = d;
        end = i + 3;
        i += 1;
    }
    end
}

/// Leaves out flanks at the ends of a run whose spacing is not the run's: a notch in a crest has
/// flanks too.
fn trimmed(flanks: &[Flank], mut from: usize, mut to: usize) -> (usize, usize) {
    while to > from + LEAST_FLANKS {
        let mut spacings: Vec<f64> =
            flanks[from..to].windows(3).map(|w| (w[2].u - w[0].u).abs()).collect();
        let (first, last) = (spacings[0], spacings[spacings.len() - 1]);
        let usual = median(&mut spacings);
        let mut off: Vec<f64> = spacings.iter().map(|s| (s - usual).abs()).collect();
        let limit = 0.12 * usual + 3.0 * median(&mut off);
        if (first - usual).abs() > limit {
            from += 1;
        } else if (last - usual).abs() > limit {
            to -= 1;
        } else {
            break;
        }
    }
    (from, to)
}

fn alike(a: f64, b: f64) -> bool {
    a < 1.7 * b && b < 1.7 * a
}

fn row(flanks: &[Flank], outline: usize) -> Option<Row> {
    let spacings: Vec<f64> = flanks.windows(3).map(|w| w[2].u - w[0].u).collect();
    let n = spacings.len() as f64;
    let mean = spacings.iter().sum::<f64>() / n;
    let variance = spacings.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / n;
    if mean == 0.0 {
        return None;
    }
    let mut heights: Vec<f64> = flanks.iter().map(|f| f.swing.abs()).collect();
    Some(Row {
        outline,
        flanks: flanks.to_vec(),
        pitch: mean.abs(),
        uneven: variance.sqrt() / mean.abs(),
        direction: mean.signum(),
        height: median(&mut heights),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn comb(angle: f64, teeth: usize) -> Vec<EdgePoint> {
        // Trapezoidal teeth of pitch 40, height 20, thinned to one point a pixel.
        let mut points = Vec::new();
        for i in 0..teeth * 40 {
            let t = (i % 40) as f64;
            let h: f64 = match i % 40 {
                0..=9 => 0.0,
                10..=19 => 2.0 * (t - 10.0),
                20..=29 => 20.0,
                _ => 20.0 - 2.0 * (t - 30.0),
            };
            let (u, v) = (i as f64, -h);
            points.push(EdgePoint {
                x: u * angle.cos() - v * angle.sin(),
                y: u * angle.sin() + v * angle.cos(),
                nx: 0.0,
                ny: -1.0,
                sigma_px: 0.1,
                blur_px: 1.0,
                contrast: 1.0,
            });
        }
        points
    }

    #[test]
    fn a_comb_is_one_row_at_any_angle() {
        for angle in [0.0f64, 0.7, 1.6, 2.8, -1.2] {
            let thin = Thinned::of(0, &comb(angle, 9), false, 4000);
            let seen = thin.along(((angle + 0.04).cos(), (angle + 0.04).sin()));
            let rows = seen.swings(8.0).rows();
            assert_eq!(rows, seen.swings(3.0).coarser(5.0).coarser(8.0).rows());
            assert_eq!(rows.len(), 1);
            let row = &rows[0];
            assert!(row.flanks.len() >= 17, "{}", row.flanks.len());
            assert!((row.pitch - 40.0).abs() < 0.5 && row.direction > 0.0);
        }
    }

    #[test]
    fn a_straight_line_has_no_teeth() {
        let mut points = comb(0.0, 9);
        for p in &mut points {
            p.y = 0.3 * p.x;
        }
        let thin = Thinned::of(0, &points, false, 4000);
        for i in 0..36 {
            let a = i as f64 * 0.0873;
            assert!(thin.along((a.cos(), a.sin())).swings(5.0).rows().is_empty());
        }
    }
}
