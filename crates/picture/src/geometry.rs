//! Boxes and straight lines in the pixel plane.
//!
//! Coordinates are continuous: the centre of the pixel in column `i`, row `j` is
//! `(i + 0.5, j + 0.5)`; x points right, y points **down**.

/// An axis-parallel box in the picture, in pixels, `x` and `y` its upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PixelBox {
    /// Left side.
    pub x: f64,
    /// Upper side.
    pub y: f64,
    /// Width, not negative.
    pub w: f64,
    /// Height, not negative.
    pub h: f64,
}

impl PixelBox {
    /// Whether the point lies in the box, borders included.
    pub fn contains(&self, x: f64, y: f64) -> bool {
        x >= self.x && x <= self.x + self.w && y >= self.y && y <= self.y + self.h
    }

    /// Length of the diagonal, in pixels.
    pub fn diagonal(&self) -> f64 {
        self.w.hypot(self.h)
    }

    /// Smallest box around the points; `None` when there are none.
    pub fn around(points: impl IntoIterator<Item = (f64, f64)>) -> Option<Self> {
        let (mut x0, mut y0) = (f64::INFINITY, f64::INFINITY);
        let (mut x1, mut y1) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (x, y) in points {
            x0 = x0.min(x);
            x1 = x1.max(x);
            y0 = y0.min(y);
            y1 = y1.max(y);
        }
        (x0 <= x1 && y0 <= y1).then_some(Self { x: x0, y: y0, w: x1 - x0, h: y1 - y0 })
    }
}

/// A straight line through `(x, y)` along the unit direction `(dx, dy)`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    pub x: f64,
    pub y: f64,
    pub dx: f64,
    pub dy: f64,
}

impl Line {
    /// Signed distance of a point: positive on the side of `(-dy, dx)`.
    pub fn offset(&self, x: f64, y: f64) -> f64 {
        (y - self.y) * self.dx - (x - self.x) * self.dy
    }

    /// Coordinate along the line, zero at `(x, y)`.
    pub fn along(&self, x: f64, y: f64) -> f64 {
        (x - self.x) * self.dx + (y - self.y) * self.dy
    }

    /// Least-squares line (perpendicular distances), weights given; `None` for fewer than two
    /// distinct points.
    pub fn fit(points: impl Iterator<Item = (f64, f64, f64)> + Clone) -> Option<Self> {
        let (mut sw, mut sx, mut sy) = (0.0, 0.0, 0.0);
        for (x, y, w) in points.clone() {
            sw += w;
            sx += w * x;
            sy += w * y;
        }
        if sw <= 0.0 {
            return None;
        }
        let (cx, cy) = (sx / sw, sy / sw);
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (x, y, w) in points {
            let (u, v) = (x - cx, y - cy);
            xx += w * u * u;
            xy += w * u * v;
            yy += w * v * v;
        }
        if xx + yy <= 1e-12 * sw {
            return None;
        }
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        Some(Self { x: cx, y: cy, dx: angle.cos(), dy: angle.sin() })
    }

    /// Line through the bulk of the points, deaf to outliers: Tukey weights on a robust scale,
    /// started from the plain fit. Returns the line and that scale (1-sigma, pixels).
    pub fn fit_robust(points: &[(f64, f64)]) -> Option<(Self, f64)> {
        let mut line = Self::fit(points.iter().map(|&(x, y)| (x, y, 1.0)))?;
        let mut scale = 0.0;
        let mut off: Vec<f64> = Vec::with_capacity(points.len());
        for _ in 0..40 {
            off.clear();
            off.extend(points.iter().map(|&(x, y)| line.offset(x, y).abs()));
            scale = 1.4826 * median(&mut off.clone());
            let reach = (4.7 * scale).max(1e-3);
            let next = Self::fit(points.iter().zip(&off).map(|(&(x, y), &o)| {
                let u = o / reach;
                (x, y, if u < 1.0 { (1.0 - u * u).powi(2) } else { 0.0 })
            }))?;
            let turned = (next.dx * line.dy - next.dy * line.dx).abs();
            let moved = line.offset(next.x, next.y).abs();
            line = next;
            if turned < 1e-9 && moved < 1e-6 {
                break;
            }
        }
        Some((line, scale))
    }
}

/// Median of the values, which are reordered; 0 for none. Values must not be NaN.
pub(crate) fn median(values: &mut [f64]) -> f64 {
    quantile(values, 0.5)
}

/// The value a fraction `q` of the way up the sorted values, which are reordered; 0 for none.
pub(crate) fn quantile(values: &mut [f64], q: f64) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let rank = ((values.len() - 1) as f64 * q.clamp(0.0, 1.0)).round() as usize;
    *values.select_nth_unstable_by(rank, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_robust_line_ignores_a_third_of_outliers_on_one_side() {
        let mut points: Vec<(f64, f64)> =
            (0..100).map(|i| (i as f64, 3.0 + 0.1 * i as f64)).collect();
        for p in points.iter_mut().skip(60).take(25) {
            p.1 += 7.0;
        }
        let (line, _) = Line::fit_robust(&points).unwrap();
        assert!(line.offset(0.0, 3.0).abs() < 1e-3 && line.offset(99.0, 12.9).abs() < 1e-3);
    }

    #[test]
    fn offset_is_positive_below_a_line_pointing_right() {
        let line = Line { x: 0.0, y: 0.0, dx: 1.0, dy: 0.0 };
        assert_eq!(line.offset(5.0, 2.0), 2.0);
        assert_eq!(line.along(5.0, 2.0), 5.0);
    }
}
