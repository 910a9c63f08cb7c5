//! Axes and scales of plots, and polylines cut to a window.

use crate::number::trimmed;
use crate::paper::drawing::{Anchor, Canvas, Pen};
use crate::paper::geometry::{Path, Point, Rect, pt};

/// Round steps (1, 2 or 5 times a power of ten) that divide `span` into about `wanted` parts.
pub(crate) fn round_step(span: f64, wanted: f64) -> f64 {
    let raw = (span / wanted).max(f64::MIN_POSITIVE);
    let power = 10f64.powf(raw.log10().floor());
    let lead = raw / power;
    let nice = if lead <= 1.0 {
        1.0
    } else if lead <= 2.0 {
        2.0
    } else if lead <= 5.0 {
        5.0
    } else {
        10.0
    };
    nice * power
}

/// A linear axis: data from `low` to `high`, ticks at multiples of `step`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    pub low: f64,
    pub high: f64,
    pub step: f64,
}

impl Scale {
    /// An axis that takes in all `values`, ends on ticks and has about `wanted` of them.
    pub fn over(values: impl IntoIterator<Item = f64>, wanted: f64) -> Self {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for v in values.into_iter().filter(|v| v.is_finite()) {
            low = low.min(v);
            high = high.max(v);
        }
        if !(low.is_finite() && high.is_finite()) {
            (low, high) = (0.0, 1.0);
        }
        if high - low < 1e-12 * (1.0 + high.abs()) {
            (low, high) = (low - 0.5, high + 0.5);
        }
        let step = round_step(high - low, wanted);
        Self {
            low: (low / step + 1e-9).floor() * step,
            high: (high / step - 1e-9).ceil() * step,
            step,
        }
    }

    pub fn ticks(&self) -> Vec<f64> {
        let n = ((self.high - self.low) / self.step).round() as usize;
        (0..=n.min(200)).map(|i| self.low + self.step * i as f64).collect()
    }

    pub fn label(&self, v: f64) -> String {
        let decimals = (-self.step.log10().floor()).max(0.0) as usize;
        trimmed(if v.abs() < 1e-9 * self.step { 0.0 } else { v }, decimals).replace('-', "−")
    }

    fn part(&self, v: f64) -> f64 {
        (v - self.low) / (self.high - self.low)
    }
}

/// A rectangle of paper with a scale along each side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    pub place: Rect,
    pub x: Scale,
    pub y: Scale,
}

impl Frame {
    pub fn at(&self, x: f64, y: f64) -> Point {
        pt(
            self.place.left + self.x.part(x) * self.place.width(),
            self.place.bottom + self.y.part(y) * self.place.height(),
        )
    }

    /// Grid, axes, tick labels and titles. Labels stand left of and below the frame.
    pub fn draw(&self, d: &mut Canvas, x_title: &str, y_title: &str, size: f64) {
        let p = self.place;
        for v in self.x.ticks() {
            let x = self.at(v, self.y.low).x;
            d.line(pt(x, p.bottom), pt(x, p.top), Pen::GRID);
        }
        for v in self.y.ticks() {
            let y = self.at(self.x.low, v).y;
            d.line(pt(p.left, y), pt(p.right, y), Pen::GRID);
        }
        d.stroke(p.path(), Pen::AXIS);
        for v in self.x.ticks() {
            let at = self.at(v, self.y.low);
            d.line(at, at - pt(0.0, 1.2), Pen::AXIS);
            d.write(at - pt(0.0, 2.0 + 0.7 * size), &self.x.label(v), size, Anchor::Middle);
        }
        for v in self.y.ticks() {
            let at = self.at(self.x.low, v);
            d.line(at, at - pt(1.2, 0.0), Pen::AXIS);
            d.write(at - pt(2.0, 0.34 * size), &self.y.label(v), size, Anchor::End);
        }
        d.write(pt(p.centre().x, p.bottom - 4.2 - 1.7 * size), x_title, size, Anchor::Middle);
        d.write(pt(p.left - 2.0, p.top + 2.6), y_title, size, Anchor::Start);
    }
}

/// The parts of a polyline inside `window` (Liang–Barsky, segment by segment).
pub(crate) fn cut(points: &[Point], window: &Rect) -> Vec<Path> {
    let mut parts: Vec<Vec<Point>> = Vec::new();
    for w in points.windows(2) {
        let Some((a, b)) = cut_segment(w[0], w[1], window) else { continue };
        match parts.last_mut() {
            Some(part) if part.last().is_some_and(|l| (*l - a).length() < 1e-9) => part.push(b),
            _ => parts.push(vec![a, b]),
        }
    }
    parts.into_iter().map(Path::open).collect()
}

fn cut_segment(a: Point, b: Point, w: &Rect) -> Option<(Point, Point)> {
    let d = b - a;
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (p, q) in
        [(-d.x, a.x - w.left), (d.x, w.right - a.x), (-d.y, a.y - w.bottom), (d.y, w.top - a.y)]
    {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            from = from.max(q / p);
        } else {
            to = to.min(q / p);
        }
    }
    (from < to).then(|| (a + d * from, a + d * to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_take_everything_in() {
        let s = Scale::over([0.03, 0.41], 5.0);
        assert_eq!(
            s.ticks().iter().map(|v| s.label(*v)).collect::<Vec<_>>(),
            ["0", "0.1", "0.2", "0.3", "0.4", "0.5"]
        );
        // Ends that are ticks already stay.
        assert_eq!(Scale::over([0.0, 0.4], 5.0).low, 0.0);
        let s = Scale::over([-12.0, 88.0], 6.0);
        assert!(s.low <= -12.0 && s.high >= 88.0);
        assert_eq!(s.label(-20.0), "−20");
    }

    #[test]
    fn what_lies_outside_is_cut() {
        let window = Rect::new(0.0, 0.0, 10.0, 10.0);
        let zigzag = [pt(-5.0, 5.0), pt(5.0, 5.0), pt(5.0, 15.0), pt(8.0, 15.0), pt(8.0, -5.0)];
        let parts = cut(&zigzag, &window);
        assert_eq!(parts.len(), 2);
        assert_eq!(parts[0].vertices[0].at, pt(0.0, 5.0));
        assert_eq!(parts[0].vertices[2].at, pt(5.0, 10.0));
        assert_eq!(parts[1].vertices[0].at, pt(8.0, 10.0));
        assert_eq!(parts[1].vertices[1].at, pt(8.0, 0.0));
        assert!(cut(&[pt(20.0, 0.0), pt(30.0, 5.0)], &window).is_empty());
    }
}
