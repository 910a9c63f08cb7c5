//! Dimensions after ISO 129-1: thin lines, filled arrowheads, lettering above the line, readable
//! from below and from the right. Where lettering does not fit between its arrows it stands
//! outside, on the side the caller keeps free.

use super::drawing::{Anchor, Canvas, Ink, Layer, Pen, Text};
use super::font::{self, Weight};
use super::geometry::{Path, Point, Rect, pt};

/// Length of an arrowhead, mm.
pub(crate) const ARROW_MM: f64 = 2.6;
const ARROW_HALF_WIDTH_MM: f64 = 0.42;
/// From the outline to the start of an extension line, mm.
const GAP_MM: f64 = 0.8;
/// How far an extension line passes its dimension line, mm.
const BEYOND_MM: f64 = 1.6;
/// Length of an outside arrow with its tail, mm.
const TAIL_MM: f64 = 6.0;
/// From a line to the lettering on it, mm.
pub(crate) const LIFT_MM: f64 = 1.15;

/// On which side lettering goes that does not fit between its arrows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// Left or below.
    Before,
    /// Right or above.
    After,
}

/// An arrowhead with its point at `tip`, pointing along `direction_rad`.
pub(crate) fn arrow(d: &mut Canvas, tip: Point, direction_rad: f64) {
    let back = Point::toward(direction_rad) * -ARROW_MM;
    let side = back.unit().turned() * ARROW_HALF_WIDTH_MM;
    let shape = Path::polygon([tip, tip + back + side, tip + back - side]);
    d.fill(shape, Layer::Dimension, Ink::Black);
}

/// The width between `a` and `b`, dimension line level at `line_y`.
pub(crate) fn horizontal(
    d: &mut Canvas,
    a: Point,
    b: Point,
    line_y: f64,
    label: &str,
    size_mm: f64,
    outside: Side,
) {
    let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
    for p in [a, b] {
        let up = (line_y - p.y).signum();
        if (line_y - p.y).abs() > GAP_MM {
            d.line(pt(p.x, p.y + up * GAP_MM), pt(p.x, line_y + up * BEYOND_MM), Pen::DIMENSION);
        }
    }
    let span = b.x - a.x;
    let width = font::width_mm(label, size_mm, Weight::Regular);
    let text_y = line_y + LIFT_MM;
    let (l, r) = (pt(a.x, line_y), pt(b.x, line_y));
    if span >= width + 2.0 * ARROW_MM + 1.0 {
        d.line(l, r, Pen::DIMENSION);
        arrow(d, l, std::f64::consts::PI);
        arrow(d, r, 0.0);
        // An axis may run through the middle of the label: it is broken there.
        let half = 0.5 * width + 0.4;
        let mid = 0.5 * (a.x + b.x);
        let gap = Rect::new(mid - half, line_y + 0.25, mid + half, text_y + 0.8 * size_mm);
        d.fill(gap.path(), Layer::Dimension, Ink::White);
        d.write(pt(mid, text_y), label, size_mm, Anchor::Middle);
        return;
    }
    arrow(d, l, 0.0);
    arrow(d, r, std::f64::consts::PI);
    let reach = TAIL_MM + width;
    let (from, to, at) = match outside {
        Side::Before => (l.x - reach, r.x + TAIL_MM, pt(l.x - TAIL_MM + 1.0, text_y)),
        Side::After => (l.x - TAIL_MM, r.x + reach, pt(r.x + TAIL_MM - 1.0, text_y)),
    };
    d.line(pt(from, line_y), pt(to, line_y), Pen::DIMENSION);
    let anchor = if outside == Side::Before { Anchor::End } else { Anchor::Start };
    d.write(at, label, size_mm, anchor);
}

/// The height between `a` and `b`, dimension line upright at `line_x`.
pub(crate) fn vertical(
    d: &mut Canvas,
    a: Point,
    b: Point,
    line_x: f64,
    label: &str,
    size_mm: f64,
    outside: Side,
) {
    use std::f64::consts::FRAC_PI_2;
    let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
    for p in [a, b] {
        let right = (line_x - p.x).signum();
        if (line_x - p.x).abs() > GAP_MM {
            d.line(
                pt(p.x + right * GAP_MM, p.y),
                pt(line_x + right * BEYOND_MM, p.y),
                Pen::DIMENSION,
            );
        }
    }
    let span = b.y - a.y;
    let width = font::width_mm(label, size_mm, Weight::Regular);
    let (low, high) = (pt(line_x, a.y), pt(line_x, b.y));
    if span >= width + 2.0 * ARROW_MM + 1.0 {
        d.line(low, high, Pen::DIMENSION);
        arrow(d, low, -FRAC_PI_2);
        arrow(d, high, FRAC_PI_2);
        turned(d, pt(line_x - LIFT_MM, 0.5 * (a.y + b.y)), label, size_mm);
        return;
    }
    if span >= 2.0 * ARROW_MM + 1.0 {
        d.line(low, high, Pen::DIMENSION);
        arrow(d, low, -FRAC_PI_2);
        arrow(d, high, FRAC_PI_2);
        // Level, beside the line: short enough to read there.
        let at = match outside {
            Side::After => pt(line_x + 1.4, 0.5 * (a.y + b.y) - 0.5 * size_mm * font::CAP_HEIGHT),
            Side::Before => pt(line_x - 1.4, 0.5 * (a.y + b.y) - 0.5 * size_mm * font::CAP_HEIGHT),
        };
        let anchor = if outside == Side::After { Anchor::Start } else { Anchor::End };
        d.write(at, label, size_mm, anchor);
        return;
    }
    arrow(d, low, FRAC_PI_2);
    arrow(d, high, -FRAC_PI_2);
    d.line(pt(line_x, a.y - TAIL_MM), pt(line_x, b.y + TAIL_MM), Pen::DIMENSION);
    let at = match outside {
        Side::After => pt(line_x + 1.4, b.y + TAIL_MM - size_mm * font::CAP_HEIGHT),
        Side::Before => pt(line_x + 1.4, a.y - TAIL_MM),
    };
    d.write(at, label, size_mm, Anchor::Start);
}

/// A label that reads from the right, centred at `at`.
pub(crate) fn turned(d: &mut Canvas, at: Point, label: &str, size_mm: f64) {
    d.text(Text {
        text: label.to_owned(),
        at,
        size_mm,
        anchor: Anchor::Middle,
        turn_deg: 90.0,
        weight: Weight::Regular,
    });
}

/// The angle at `vertex` from direction `a_rad` counter-clockwise to `b_rad`, shown on an
/// arc of `radius` with arrows from outside; the label stands level beyond the `b` end (`After`) or
/// the `a` end (`Before`).
pub(crate) fn angle_outside(
    d: &mut Canvas,
    vertex: Point,
    radius: f64,
    (a_rad, b_rad): (f64, f64),
    label: &str,
    size_mm: f64,
    side: Side,
) {
    // Over a steep angle the tail is cut short, so that the label stays under the vertex.
    let steep = (80f64.to_radians() - (b_rad - a_rad)) * radius;
    let tail = steep.clamp(ARROW_MM + 0.6, TAIL_MM) / radius;
    let at = |t: f64| vertex + Point::toward(t) * radius;
    d.stroke(Path::arc(vertex, radius, a_rad - tail, b_rad - a_rad + 2.0 * tail), Pen::DIMENSION);
    // An arrowhead on an arc lies along the chord of its own length.
    let lean = 0.5 * ARROW_MM / radius;
    arrow(d, at(a_rad), a_rad + std::f64::consts::FRAC_PI_2 - lean);
    arrow(d, at(b_rad), b_rad - std::f64::consts::FRAC_PI_2 + lean);
    let end = match side {
        Side::After => at(b_rad + tail),
        Side::Before => at(a_rad - tail),
    };
    let leftward = end.x < vertex.x;
    let anchor = if leftward { Anchor::End } else { Anchor::Start };
    let dx = if leftward { -1.0 } else { 1.0 };
    d.write(end + pt(dx, -0.35 * size_mm), label, size_mm, anchor);
}

/// The angle at `vertex` between `a_rad < b_rad` with arrows inside and the label level under the
/// middle of the arc, for arcs that open downward.
pub(crate) fn angle_below(
    d: &mut Canvas,
    vertex: Point,
    radius: f64,
    a_rad: f64,
    b_rad: f64,
    label: &str,
    size_mm: f64,
) {
    let at = |t: f64| vertex + Point::toward(t) * radius;
    let arc = Path::arc(vertex, radius, a_rad, b_rad - a_rad);
    let lowest = arc.bounds().map_or(vertex.y - radius, |b| b.bottom);
    d.stroke(arc, Pen::DIMENSION);
    let lean = 0.5 * ARROW_MM / radius;
    arrow(d, at(a_rad), a_rad - std::f64::consts::FRAC_PI_2 + lean);
    arrow(d, at(b_rad), b_rad + std::f64::consts::FRAC_PI_2 - lean);
    let x = at(0.5 * (a_rad + b_rad)).x;
    d.write(pt(x, lowest - 2.2 - size_mm * font::CAP_HEIGHT), label, size_mm, Anchor::Middle);
}

/// A leader: arrow at `tip`, bend at `elbow`, label on a shelf that runs right (or left) from it.
pub(crate) fn leader(
    d: &mut Canvas,
    tip: Point,
    elbow: Point,
    label: &str,
    size_mm: f64,
    side: Side,
) {
    let width = font::width_mm(label, size_mm, Weight::Regular) + 1.0;
    let end = match side {
        Side::After => elbow + pt(width, 0.0),
        Side::Before => elbow - pt(width, 0.0),
    };
    d.stroke(Path::open([tip, elbow, end]), Pen::DIMENSION);
    arrow(d, tip, (tip - elbow).angle());
    let left = elbow.x.min(end.x) + 0.5;
    d.write(pt(left, elbow.y + LIFT_MM), label, size_mm, Anchor::Start);
}
