//! Which stretch of a computed outline an edge point belongs to, and how far from it the point is.

use form::shadow::{Edge, Outline, Segment};

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
    outward: f64,
}

impl<'a> Matcher<'a> {
    pub fn new(outline: &'a Outline) -> Self {
        let ends = outline.segments.iter().map(|s| outline.ends(s)).collect();
        let outward = match outline.edge {
            Edge::Upper => 1.0,
            Edge::Lower => -1.0,
        };
        Self { outline, ends, outward }
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
            let t = if length > 0.0 {
                (((z - a.0) * dz + (x - a.1) * dx) / length).clamp(0.0, 1.0)
            } else {
                0.0
            };
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
        let length = dz.hypot(dx);
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
    /// within `window_mm`; and the running length at the start of every segment.
    pub fn sharp_spots(&self, window_mm: f64, turn_rad: f64) -> Spots {
        let mut lengths = Vec::with_capacity(self.ends.len());
        let mut total = 0.0;
        let mut headings = Vec::with_capacity(self.ends.len());
        for (a, b) in &self.ends {
            lengths.push(total);
            headings.push((b.1 - a.1).atan2(b.0 - a.0));
            total += (b.0 - a.0).hypot(b.1 - a.1);
        }
        let mut spots: Vec<f64> = Vec::new();
        let mut behind = 0;
        for i in 1..headings.len() {
            while lengths[i] - lengths[behind + 1] > window_mm && behind + 1 < i {
                behind += 1;
            }
            if (headings[i] - headings[behind]).abs() > turn_rad {
                // The turn lies between the end of the one and the start of the other.
                let at = 0.5 * (lengths[(behind + 1).min(i)] + lengths[i]);
                if spots.last().is_none_or(|s| (at - s).abs() > 0.1 * window_mm) {
                    spots.push(at);
                }
            }
        }
        Spots { lengths, spots }
    }

    /// Distance of a foot along the outline from the start of its segment's visible part, mm.
    pub fn length_within(&self, foot: &Foot) -> f64 {
        let segment = self.segment(foot.segment);
        let (a, b) = self.ends[foot.segment];
        let span = segment.to - segment.from;
        if span > 0.0 { (foot.t - segment.from) / span * (b.0 - a.0).hypot(b.1 - a.1) } else { 0.0 }
    }
}

/// Sharp spots of an outline.
pub struct Spots {
    lengths: Vec<f64>,
    spots: Vec<f64>,
}

impl Spots {
    /// Distance along the outline from a foot to the nearest sharp spot, mm.
    pub fn distance(&self, matcher: &Matcher<'_>, foot: &Foot) -> f64 {
        let at = self.lengths[foot.segment] + matcher.length_within(foot);
        let i = self.spots.partition_point(|s| *s < at);
        let before = i.checked_sub(1).map_or(f64::INFINITY, |j| at - self.spots[j]);
        let after = self.spots.get(i).map_or(f64::INFINITY, |s| s - at);
        before.min(after)
    }
}
