//! Which stretch of a computed outline an edge point belongs to, and how far from it the point is.

use form::shadow::{Edge, Outline, Segment};
use std::sync::OnceLock;

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

    /// How far a Gaussian blur of deviation `blur_mm` moves the edge, as it is located, out of the metal
    /// at a foot, mm: the sum over the corners near it, of which a curve has many small ones. See
    /// [`CornerShifts`].
    pub fn blur_shift(&self, foot: &Foot, blur_mm: f64) -> f64 {
        if blur_mm <= 0.0 {
            return 0.0;
        }
        let at = self.length_at(foot);
        let corners = CornerShifts::get();
        let reach = CornerShifts::REACH * blur_mm;
        let first = self.lengths.partition_point(|l| *l < at - reach).max(1);
        let mut shift = 0.0;
        for i in first..self.lengths.len() {
            let u = self.lengths[i] - at;
            if u > reach {
                break;
            }
            // Chords of a straight flank turn by rounding only.
            if self.turns[i].abs() > NO_TURN_RAD {
                shift += corners.of(self.turns[i], u.abs() / blur_mm);
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

/// How far a corner moves an edge that is blurred with unit deviation and located by least squares of
/// its profile, the levels known.
///
/// At a distance `x` from a corner of turn `φ` the profile across the edge lacks the light (or the dark)
/// of a wedge, `∫ n(v) Q(x + v cot φ) dv` from 0 on at the edge itself. Least squares weighs what lacks
/// along the profile by its slope, which is as much again of blur across the edge, and finds the edge
/// moved by
/// `S(x, φ) = 2 √π ∫ n(v) Q(x + √2 v cot φ) dv`; for a slight turn that is `φ (n(x) - x Q(x))`, whatever
/// the edge is located by. Here `n` is the density of the normal distribution and `Q` its upper tail. The
/// slope by `x` is closed, `-√2 sin φ' e^(-x² sin² φ' / 2) Q(x cos φ')` with `tan φ' = tan φ / √2`, and is
/// integrated once for a table.
struct CornerShifts {
    /// `S(x, φ) / φ` by turn, then by distance.
    table: Vec<[f64; Self::PLACES]>,
}

impl CornerShifts {
    /// Distance from which nothing is moved, in blurs.
    const REACH: f64 = 3.6;
    const PLACES: usize = 73;
    const TURNS: usize = 25;
    /// Largest turn of the table; beyond it the shift goes with the turn.
    const MOST_RAD: f64 = 2.4;

    fn get() -> &'static Self {
        static TABLE: OnceLock<CornerShifts> = OnceLock::new();
        TABLE.get_or_init(|| Self { table: (0..Self::TURNS).map(Self::row).collect() })
    }

    fn row(index: usize) -> [f64; Self::PLACES] {
        const FINE: usize = 8;
        let turn = Self::MOST_RAD * (index as f64).max(1e-3) / (Self::TURNS - 1) as f64;
        let (sin, cos) = turn.sin_cos();
        // The turn as it is across an edge with as much blur again.
        let (sin, cos) = {
            let size = (0.5 * sin * sin + cos * cos).sqrt();
            (std::f64::consts::FRAC_1_SQRT_2 * sin / size, cos / size)
        };
        let slope = |x: f64| {
            let tail = upper_tail(x * cos);
            std::f64::consts::SQRT_2 * sin * (-0.5 * (x * sin).powi(2)).exp() * tail
        };
        let step = Self::REACH / (Self::PLACES - 1) as f64;
        let fine = step / FINE as f64;
        let mut row = [0.0; Self::PLACES];
        // From far outside, where nothing is left, inwards (Simpson's rule).
        let mut sum = 0.0;
        let mut x = 2.0 * Self::REACH;
        for at in (0..2 * Self::PLACES - 1).rev() {
            while x > at as f64 * step + 0.5 * fine {
                sum += fine / 6.0 * (slope(x) + 4.0 * slope(x - 0.5 * fine) + slope(x - fine));
                x -= fine;
            }
            if let Some(place) = row.get_mut(at) {
                *place = sum / turn;
            }
        }
        // What is beyond the table counts for nothing: let it end there without a step.
        let last = row[Self::PLACES - 1];
        row.map(|v| v - last)
    }

    /// The shift by a corner of turn `turn` (signed, radians) at `x >= 0`, in blurs.
    fn of(&self, turn: f64, x: f64) -> f64 {
        let place = x / Self::REACH * (Self::PLACES - 1) as f64;
        let angle = (turn.abs() / Self::MOST_RAD).min(1.0) * (Self::TURNS - 1) as f64;
        let (i, j) = (angle as usize, place as usize);
        if j + 1 >= Self::PLACES {
            return 0.0;
        }
        let along = |row: &[f64; Self::PLACES]| row[j] + (place - j as f64) * (row[j + 1] - row[j]);
        let low = along(&self.table[i]);
        let high = self.table.get(i + 1).map_or(low, along);
        turn * (low + (angle - i as f64) * (high - low))
    }
}

/// Upper tail of the normal distribution, by a rational approximation (Abramowitz and Stegun 26.2.17,
/// error below 1e-7).
fn upper_tail(x: f64) -> f64 {
    if x < 0.0 {
        return 1.0 - upper_tail(-x);
    }
    let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let t = 1.0 / (1.0 + 0.231_641_9 * x);
    density
        * t
        * (0.319_381_530
            + t * (-0.356_563_782 + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Independent: the wedge's blurred light by brute force, and least squares of its profile.
    fn located(turn: f64, x: f64) -> f64 {
        let step = 0.02;
        let n = |v: f64| (-0.5 * v * v).exp() / (2.0 * std::f64::consts::PI).sqrt();
        // Light where v > 0, but for the wedge beyond the corner: for each v the part with u < x + v cot.
        let light = |v: f64| {
            let mut sum = 0.0;
            for i in -300..300 {
                let w = f64::from(i) * step + 0.5 * step;
                let v = v + w;
                if v > 0.0 {
                    sum += n(w) * step * (1.0 - upper_tail(x + v / turn.tan()));
                }
            }
            sum
        };
        let profile: Vec<(f64, f64)> =
            (-60..=60).map(|i| f64::from(i) * 0.1).map(|v| (v, light(v))).collect();
        let mut at = 0.0;
        for _ in 0..20 {
            let (mut srd, mut sdd) = (0.0, 0.0);
            for (v, y) in &profile {
                let (p, d) = (1.0 - upper_tail(v - at), n(v - at));
                srd += (y - p) * d;
                sdd += d * d;
            }
            at -= srd / sdd;
        }
        at
    }

    #[test]
    fn a_blurred_corner_moves_the_edge_as_it_is_located() {
        let corners = CornerShifts::get();
        for turn in [0.05, 0.5, 1.0, 1.3, std::f64::consts::FRAC_PI_2] {
            for x in [1.8, 2.2, 2.6, 3.0] {
                let (seen, told) = (located(turn, x), corners.of(turn, x));
                assert_abs_diff_eq!(told, seen, epsilon = 4e-4 + 0.04 * seen);
            }
        }
        // A slight turn, to first order, also near the corner.
        for x in [0.0, 0.3, 1.0] {
            let first = 0.01 * ((-0.5f64 * x * x).exp() * 0.398_942 - x * upper_tail(x));
            assert_abs_diff_eq!(corners.of(0.01, x), first, epsilon = 1e-5);
        }
    }
}
