//! Which stretch of a computed outline an edge point belongs to, and how far from it the point is.

use form::shadow::{Edge, Outline, Segment};

/// Turn that moves no edge by a thousandth of a blur's thousandth.
const NO_TURN_RAD: f64 = 1e-6;

/// Foot of an edge point on an outline, all in the plane, mm.
#[derive(Debug, Clone, Copy)]
pub struct Foot {
    /// Index of the segment.
    pub segment: usize,
    /// Fraction of the segment's full line.
    pub t: f64,
    /// Signed distance, mm; positive is outside the metal.
    pub off: f64,
    /// Unit normal of the outline pointing out of the metal, `(z, x)`.
    pub normal: (f64, f64),
}

/// An outline prepared for finding feet.
pub struct Matcher<'a> {
    outline: &'a Outline,
    ends: Vec<((f64, f64), (f64, f64))>,
    /// Running length at the start of every segment, mm.
    lengths: Vec<f64>,
    /// Turn from the segment before into every segment, radians, positive upwards.
    turns: Vec<f64>,
    outward: f64,
}

impl<'a> Matcher<'a> {
    pub fn new(outline: &'a Outline) -> Self {
        let ends: Vec<_> = outline.segments.iter().map(|s| outline.ends(s)).collect();
        let mut lengths = Vec::with_capacity(ends.len());
        let mut turns = Vec::with_capacity(ends.len());
        let (mut total, mut before) = (0.0, None);
        for (a, b) in &ends {
            let heading = (b.0 - a.0, b.1 - a.1);
            turns.push(before.map_or(0.0, |old| turn_between(old, heading)));
            before = Some(heading);
            lengths.push(total);
            total += (heading.0 * heading.0 + heading.1 * heading.1).sqrt();
        }
        let outward = match outline.edge {
            Edge::Upper => 1.0,
            Edge::Lower => -1.0,
        };
        Self { outline, ends, lengths, turns, outward }
    }

    pub fn segment(&self, index: usize) -> &Segment {
        &self.outline.segments[index]
    }

    /// Nearest point of the outline to `(z, x)`. Exact: the search runs outward from the segment
    /// at the same `z` and stops when mere distance along the axis exceeds the best found.
    pub fn foot(&self, (z, x): (f64, f64)) -> Option<Foot> {
        let n = self.ends.len();
        if n == 0 {
            return None;
        }
        let start = self.ends.partition_point(|(_, b)| b.0 < z).min(n - 1);
        let mut best: Option<(f64, usize, f64)> = None;
        let mut look = |i: usize| -> bool {
            let (a, b) = self.ends[i];
            let gap = if z < a.0 { a.0 - z } else { (z - b.0).max(0.0) };
            if best.is_some_and(|(d, _, _)| gap * gap > d) {
                return false;
            }
            let (dz, dx) = (b.0 - a.0, b.1 - a.1);
            let length = dz * dz + dx * dx;
            if length < 1e-20 {
                return true;
            }
            let t = (((z - a.0) * dz + (x - a.1) * dx) / length).clamp(0.0, 1.0);
            let (ez, ex) = (z - a.0 - t * dz, x - a.1 - t * dx);
            let d = ez * ez + ex * ex;
            if best.is_none_or(|(least, _, _)| d < least) {
                best = Some((d, i, t));
            }
            true
        };
        for i in start..n {
            if !look(i) {
                break;
            }
        }
        for i in (0..start).rev() {
            if !look(i) {
                break;
            }
        }
        let (_, index, t) = best?;
        let (a, b) = self.ends[index];
        let (dz, dx) = (b.0 - a.0, b.1 - a.1);
        let length = (dz * dz + dx * dx).sqrt();
        if length == 0.0 {
            return None;
        }
        let normal = (-dx / length * self.outward, dz / length * self.outward);
        let (ez, ex) = (z - a.0 - t * dz, x - a.1 - t * dx);
        let along = ez * normal.0 + ex * normal.1;
        // Beyond an end (a concave corner) the distance to the corner counts, with the side's sign.
        let off = if t > 0.0 && t < 1.0 { along } else { ez.hypot(ex).copysign(along) };
        let segment = &self.outline.segments[index];
        Some(Foot {
            segment: index,
            t: segment.from + t * (segment.to - segment.from),
            off,
            normal,
        })
    }

    /// Places along the outline, in mm from its start, where it turns by more than `turn_rad`
    /// within `window_mm`.
    pub fn sharp_spots(&self, window_mm: f64, turn_rad: f64) -> Vec<f64> {
        let mut spots: Vec<f64> = Vec::new();
        let mut behind = 0;
        let mut turned = 0.0;
        for i in 1..self.turns.len() {
            turned += self.turns[i];
            while self.lengths[i] - self.lengths[behind + 1] > window_mm && behind + 1 < i {
                behind += 1;
                turned -= self.turns[behind];
            }
            if turned.abs() > turn_rad {
                let at = 0.5 * (self.lengths[behind + 1] + self.lengths[i]);
                if spots.last().is_none_or(|s| (at - s).abs() > 0.1 * window_mm) {
                    spots.push(at);
                }
            }
        }
        spots
    }

    /// Distance along the outline from a foot to the nearest of some spots, mm.
    pub fn distance_to(&self, spots: &[f64], foot: &Foot) -> f64 {
        let at = self.length_at(foot);
        let i = spots.partition_point(|s| *s < at);
        let before = i.checked_sub(1).map_or(f64::INFINITY, |j| at - spots[j]);
        let after = spots.get(i).map_or(f64::INFINITY, |s| s - at);
        before.min(after)
    }

    /// How far a Gaussian blur of deviation `blur_mm` moves the half level of the edge out of the
    /// metal at a foot, mm.
    ///
    /// To first order in the turns the blurred edge is the edge convolved with the Gaussian along
    /// itself. A corner of turn `φ` at distance `u = x·blur` moves it by
    /// `φ · blur · (n(x) - x (1 - Φ(x)))`; a curve is many small corners (and the sum tends to
    /// `blur² κ / 2`).
    pub fn blur_shift(&self, foot: &Foot, blur_mm: f64) -> f64 {
        if blur_mm <= 0.0 {
            return 0.0;
        }
        let at = self.length_at(foot);
        let reach = 3.2 * blur_mm;
        let first = self.lengths.partition_point(|l| *l < at - reach).max(1);
        let mut shift = 0.0;
        for i in first..self.lengths.len() {
            let u = self.lengths[i] - at;
            if u > reach {
                break;
            }
            // Chords of a straight flank turn by rounding only.
            if self.turns[i].abs() > NO_TURN_RAD {
                shift += self.turns[i] * corner_shift(u.abs() / blur_mm);
            }
        }
        shift * blur_mm * self.outward
    }

    fn length_at(&self, foot: &Foot) -> f64 {
        self.lengths[foot.segment] + self.length_within(foot)
    }

    /// Distance of a foot along the outline from the start of its segment's visible part, mm.
    pub fn length_within(&self, foot: &Foot) -> f64 {
        let segment = self.segment(foot.segment);
        let (a, b) = self.ends[foot.segment];
        let span = segment.to - segment.from;
        if span > 0.0 { (foot.t - segment.from) / span * (b.0 - a.0).hypot(b.1 - a.1) } else { 0.0 }
    }
}

/// Angle from one heading to the next, radians, positive upwards; `z` never runs backwards along an
/// outline, so it is less than half a turn.
fn turn_between(old: (f64, f64), new: (f64, f64)) -> f64 {
    let (cross, dot) = (old.0 * new.1 - old.1 * new.0, old.0 * new.0 + old.1 * new.1);
    let t = cross / dot;
    // Most turns are slight: four terms of the series are exact to 1e-11 there.
    if dot > 0.0 && t.abs() < 0.05 {
        let q = t * t;
        t * (1.0 - q * (1.0 / 3.0 - q * (0.2 - q / 7.0)))
    } else {
        cross.atan2(dot)
    }
}

/// `n(x) - x (1 - Φ(x))` for `x ≥ 0`: the shift a unit corner causes, in units of the blur.
///
/// The tail of the normal distribution by a rational approximation (Abramowitz and Stegun 26.2.17,
/// error below 1e-7).
fn corner_shift(x: f64) -> f64 {
    let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let t = 1.0 / (1.0 + 0.231_641_9 * x);
    let tail = density
        * t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    density - x * tail
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_blurred_corner_moves_as_the_convolution_says() {
        // Independent: convolve max(0, u) with a unit Gaussian by brute force.
        for x in [0.0, 0.3, 1.0, 2.0] {
            let mut sum = 0.0;
            let step = 1e-3;
            for i in -8000..8000 {
                let v = f64::from(i) * step;
                sum += (x - v).max(0.0) * (-0.5 * v * v).exp() * step;
            }
            let convolved = sum / (2.0 * std::f64::consts::PI).sqrt();
            assert_abs_diff_eq!(corner_shift(x), convolved - x.max(0.0), epsilon = 1e-6);
        }
    }
}
