//! From a coarse boundary to cuts: one for every full-resolution pixel column (or row) the
//! boundary passes, so that each cut reads pixels no other cut of that stretch reads.

use crate::contour::Boundary;
use crate::grey::Grey;

/// A row or column of pixels across the boundary.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    /// Whether the cut runs down a column (else along a row).
    pub column: bool,
    /// The column or row.
    pub index: usize,
    /// Where along it the coarse boundary passes, continuous.
    pub centre: f64,
    /// Outward normal of the coarse boundary.
    pub nx: f64,
    pub ny: f64,
}

impl Cut {
    /// Component of the outward normal along the cut.
    pub fn rate(&self) -> f64 {
        if self.column { self.ny } else { self.nx }
    }

    /// Component of the outward normal across the cut.
    pub fn minor(&self) -> f64 {
        if self.column { self.nx } else { self.ny }
    }

    /// The point of the picture at coordinate `at` along the cut.
    pub fn point(&self, at: f64) -> (f64, f64) {
        let across = self.index as f64 + 0.5;
        if self.column { (across, at) } else { (at, across) }
    }

    /// Reads the light within `half` pixels of `centre`, as far as the picture goes. Returns the
    /// coordinate of the first sample's centre; `None` when fewer than four remain.
    pub fn read(&self, grey: &Grey, centre: f64, half: f64, out: &mut Vec<f32>) -> Option<f64> {
        let length = if self.column { grey.height() } else { grey.width() };
        let from = (centre - half).floor().max(0.0) as usize;
        let to = ((centre + half).ceil().max(0.0) as usize).min(length);
        if to < from + 4 {
            return None;
        }
        out.clear();
        out.resize(to - from, 0.0);
        if self.column {
            grey.column(self.index, from, out);
        } else {
            grey.row(self.index, from, out);
        }
        Some(from as f64 + 0.5)
    }
}

/// Vertices of the coarse boundary on either side of which the direction is taken.
const TANGENT_REACH: usize = 3;

/// The cuts of a boundary found in a picture reduced `k` times, shifted outward by `shift`
/// full-resolution pixels. Stretches along the picture's border give none.
pub(crate) fn cuts(boundary: &Boundary, k: usize, shift: f64, grey: &Grey) -> Vec<Cut> {
    let p = &boundary.points;
    let n = p.len();
    let scale = k as f64;
    // Start just after a stretch of border, if there is one, so that the order is unbroken.
    let origin = (0..n).find(|&i| p[(i + n - 1) % n].2 && !p[i].2).unwrap_or(0);
    let vertex = |i: usize| p[(origin + i) % n];
    let mut out = Vec::new();
    let mut walker = Walker { column: false, sign: 0.0, last: i64::MIN };
    let closed = !p.iter().any(|v| v.2);
    let normal_at = |i: usize| {
        // Chord over the neighbours, not across a stretch of border.
        let (mut a, mut b) = (i, i);
        for step in 1..=TANGENT_REACH {
            let back = if closed { i + n - step } else { i.saturating_sub(step) };
            if vertex(back).2 {
                break;
            }
            a = back;
        }
        for step in 1..=TANGENT_REACH {
            let on = if closed { i + step } else { (i + step).min(n - 1) };
            if vertex(on).2 {
                break;
            }
            b = on;
        }
        let (va, vb) = (vertex(a), vertex(b));
        let (tx, ty) = (f64::from(vb.0 - va.0), f64::from(vb.1 - va.1));
        let length = tx.hypot(ty);
        if length > 1e-6 { Some((ty / length, -tx / length)) } else { None }
    };
    let last = if closed { n } else { n.saturating_sub(1) };
    let mut previous = None;
    for i in 0..last {
        let (a, b) = (vertex(i), vertex(i + 1));
        if a.2 || b.2 {
            walker.last = i64::MIN;
            previous = None;
            continue;
        }
        let Some(na) = previous.or_else(|| normal_at(i)) else { continue };
        let Some(nb) = normal_at((i + 1) % n.max(1)) else { continue };
        previous = Some(nb);
        let place = |v: (f32, f32, bool), m: (f64, f64)| {
            (f64::from(v.0) * scale + shift * m.0, f64::from(v.1) * scale + shift * m.1)
        };
        walker.step(place(a, na), place(b, nb), na, nb, grey, &mut out);
    }
    out
}

struct Walker {
    column: bool,
    /// Direction of travel along the axis that the cuts count.
    sign: f64,
    last: i64,
}

impl Walker {
    fn step(
        &mut self,
        a: (f64, f64),
        b: (f64, f64),
        na: (f64, f64),
        nb: (f64, f64),
        grey: &Grey,
        out: &mut Vec<Cut>,
    ) {
        let (nx, ny) = (na.0 + nb.0, na.1 + nb.1);
        let length = nx.hypot(ny);
        if length < 1e-6 {
            return;
        }
        // A little reluctance to change sides keeps slanting stretches whole.
        let column =
            if self.column { ny.abs() >= 0.9 * nx.abs() } else { ny.abs() > nx.abs() / 0.9 };
        // The tangent of an outward normal (nx, ny) with the object on the right is (-ny, nx).
        let sign = if column { -ny.signum() } else { nx.signum() };
        if column != self.column || sign != self.sign {
            *self = Self { column, sign, last: i64::MIN };
        }
        let (from, to) = if column { (a.0, b.0) } else { (a.1, b.1) };
        let (low, high) = (from.min(to), from.max(to));
        let (first, end) = ((low - 0.5).ceil() as i64, (high - 0.5).ceil() as i64);
        let size = if column { grey.width() } else { grey.height() } as i64;
        let count = (end - first).max(0);
        for j in 0..count {
            let index = if sign > 0.0 { first + j } else { end - 1 - j };
            let ahead = self.last == i64::MIN || ((index - self.last) as f64) * sign > 0.0;
            if !ahead || index < 0 || index >= size || (to - from) == 0.0 {
                continue;
            }
            self.last = index;
            let t = (index as f64 + 0.5 - from) / (to - from);
            let along = |p: f64, q: f64| p + t * (q - p);
            let (mx, my) = (along(na.0, nb.0), along(na.1, nb.1));
            let m = mx.hypot(my);
            let (mx, my) = if m > 1e-6 { (mx / m, my / m) } else { (nx / length, ny / length) };
            let centre = if column { along(a.1, b.1) } else { along(a.0, b.0) };
            out.push(Cut { column, index: index as usize, centre, nx: mx, ny: my });
        }
    }
}
