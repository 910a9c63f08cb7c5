//! How much of each pixel a polygon covers, exactly.

/// A closed polygon in pixels, with the box around it.
#[derive(Debug, Clone)]
pub(crate) struct Loop {
    points: Vec<(f64, f64)>,
    low: (f64, f64),
    high: (f64, f64),
}

impl Loop {
    /// Closes `points` into a polygon. It should not cross itself: what it winds round twice counts
    /// once, what it winds round both ways not at all.
    pub fn new(points: Vec<(f64, f64)>) -> Self {
        let (mut low, mut high) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
        for p in &points {
            low = (low.0.min(p.0), low.1.min(p.1));
            high = (high.0.max(p.0), high.1.max(p.1));
        }
        Self { points, low, high }
    }

    /// A round polygon.
    pub fn disc(centre: (f64, f64), radius: f64) -> Self {
        // Sag of a chord stays below a thousandth of a pixel.
        let n = (90.0 * radius.max(0.02).sqrt()).ceil().clamp(12.0, 4000.0);
        let points = (0..n as u32)
            .map(|i| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / n).sin_cos();
                (centre.0 + radius * cos, centre.1 + radius * sin)
            })
            .collect();
        Self::new(points)
    }

    /// Edges, the last back to the first point.
    fn edges(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> {
        let next = self.points.iter().skip(1).chain(self.points.first());
        self.points.iter().copied().zip(next.copied())
    }
}

/// A window of pixels with one number each.
#[derive(Debug, Clone)]
pub(crate) struct Raster {
    /// Column of the picture that the first column of the window is.
    pub x0: i64,
    /// Row of the picture that the first row of the window is.
    pub y0: i64,
    pub width: usize,
    pub height: usize,
    pub data: Vec<f32>,
}

impl Raster {
    pub fn new(x0: i64, y0: i64, width: usize, height: usize) -> Self {
        Self { x0, y0, width, height, data: vec![0.0; width * height] }
    }

    pub fn row(&self, row: usize) -> &[f32] {
        &self.data[row * self.width..(row + 1) * self.width]
    }

    /// The part of the window a polygon can touch: first column and row, one past the last.
    fn touched(&self, shape: &Loop) -> Option<[usize; 4]> {
        let clip =
            |value: f64, origin: i64, size: usize| (value - origin as f64).clamp(0.0, size as f64);
        let x_from = clip(shape.low.0.floor(), self.x0, self.width) as usize;
        let y_from = clip(shape.low.1.floor(), self.y0, self.height) as usize;
        let x_to = clip(shape.high.0.ceil(), self.x0, self.width) as usize;
        let y_to = clip(shape.high.1.ceil(), self.y0, self.height) as usize;
        (x_from < x_to && y_from < y_to).then_some([x_from, y_from, x_to, y_to])
    }

    /// Calls `paint(pixel, covered)` for every pixel the polygon covers in part or whole.
    ///
    /// Every edge adds, in each row it passes, its signed height to the pixels on its right and the
    /// part of it that lies to the right of the edge within its own pixels; a running sum along
    /// the row is then the covered area, exact for straight edges.
    pub fn paint(&mut self, shape: &Loop, mut paint: impl FnMut(&mut f32, f32)) {
        let Some([x_from, y_from, x_to, y_to]) = self.touched(shape) else { return };
        let (columns, rows) = (x_to - x_from, y_to - y_from);
        let mut sums = Sums { columns, rows, cells: vec![0.0; (columns + 2) * rows] };
        let origin = ((self.x0 + x_from as i64) as f64, (self.y0 + y_from as i64) as f64);
        for (a, b) in shape.edges() {
            sums.add((a.0 - origin.0, a.1 - origin.1), (b.0 - origin.0, b.1 - origin.1));
        }
        for (row, cells) in sums.cells.chunks_exact(columns + 2).enumerate() {
            let start = (y_from + row) * self.width + x_from;
            let mut sum = 0.0;
            for (pixel, cell) in self.data[start..start + columns].iter_mut().zip(cells) {
                sum += cell;
                // Rounding of the running sum must not tint the open ground.
                if f64::abs(sum) > 1e-9 {
                    paint(pixel, sum.abs().min(1.0) as f32);
                }
            }
        }
    }

    /// Gaussian blur that shrinks the window by the kernel's radius on every side.
    pub fn blurred(&self, kernel: &Kernel) -> Self {
        let radius = kernel.radius();
        if radius == 0 {
            return self.clone();
        }
        let (width, height) =
            (self.width.saturating_sub(2 * radius), self.height.saturating_sub(2 * radius));
        let mut out = Self::new(self.x0 + radius as i64, self.y0 + radius as i64, width, height);
        let mut down = vec![0.0f32; self.width];
        for row in 0..height {
            kernel.sum(&mut down, |offset| {
                let from = ((row + radius) as i64 + offset) as usize * self.width;
                &self.data[from..from + self.width]
            });
            let target = &mut out.data[row * width..(row + 1) * width];
            kernel.sum(target, |offset| &down[(radius as i64 + offset) as usize..][..width]);
        }
        out
    }
}

/// Signed areas to the right of the edges, of which the running sum is the coverage.
struct Sums {
    columns: usize,
    rows: usize,
    cells: Vec<f64>,
}

impl Sums {
    fn add(&mut self, a: (f64, f64), b: (f64, f64)) {
        if a.1 == b.1 {
            return;
        }
        let (sign, top, bottom) = if a.1 < b.1 { (1.0, a, b) } else { (-1.0, b, a) };
        let slope = (bottom.0 - top.0) / (bottom.1 - top.1);
        let from = top.1.max(0.0);
        let to = bottom.1.min(self.rows as f64);
        if from >= to {
            return;
        }
        let x_at = |y: f64| top.0 + (y - top.1) * slope;
        for row in from.floor() as usize..(to.ceil() as usize).min(self.rows) {
            let (y0, y1) = (from.max(row as f64), to.min(row as f64 + 1.0));
            if y0 < y1 {
                self.add_in_row(row, (x_at(y0), x_at(y1)), sign * (y1 - y0));
            }
        }
    }

    /// An edge from `x0` to `x1` within one row, of signed height `height`; what lies left of the
    /// window covers all of it, what lies right of it nothing.
    fn add_in_row(&mut self, row: usize, (x0, x1): (f64, f64), height: f64) {
        let (left, right) = if x0 < x1 { (x0, x1) } else { (x1, x0) };
        let limit = self.columns as f64;
        let span = right - left;
        let share = |a: f64, b: f64| if span > 0.0 { (b - a) / span } else { 1.0 };
        let cells = &mut self.cells[row * (self.columns + 2)..(row + 1) * (self.columns + 2)];
        if right <= 0.0 {
            cells[0] += height;
            return;
        }
        if left < 0.0 {
            cells[0] += height * share(left, 0.0);
        }
        let (mut at, end) = (left.max(0.0), right.min(limit));
        while at <= end {
            let column = at.floor().min(limit - 1.0);
            let next = end.min(column + 1.0);
            if at < limit {
                let part = height * share(at, next);
                let inside = part * (column + 1.0 - 0.5 * (at + next));
                cells[column as usize] += inside;
                cells[column as usize + 1] += part - inside;
            }
            if next >= end {
                break;
            }
            at = next;
        }
    }
}

/// Half of a symmetric kernel, from its middle outward; the whole sums to 1.
#[derive(Debug, Clone)]
pub(crate) struct Kernel(Vec<f32>);

impl Kernel {
    /// A Gaussian of standard deviation `sigma_px`.
    pub fn gaussian(sigma_px: f64) -> Self {
        if sigma_px <= 0.0 {
            return Self(vec![1.0]);
        }
        // Sampled so coarsely a Gaussian no longer has its own variance; three taps can have it.
        if sigma_px < 0.6 {
            let variance = sigma_px * sigma_px;
            return Self(vec![(1.0 - variance) as f32, (0.5 * variance) as f32]);
        }
        let radius = (4.0 * sigma_px).ceil() as usize;
        let weights: Vec<f64> =
            (0..=radius).map(|i| (-0.5 * (i as f64 / sigma_px).powi(2)).exp()).collect();
        let sum = 2.0 * weights.iter().sum::<f64>() - weights[0];
        Self(weights.iter().map(|w| (w / sum) as f32).collect())
    }

    pub fn radius(&self) -> usize {
        self.0.len() - 1
    }

    /// Sum of the squares of all weights of the two-dimensional kernel.
    pub fn power(&self) -> f64 {
        let squares = |w: &f32| f64::from(*w).powi(2);
        let line = 2.0 * self.0.iter().map(squares).sum::<f64>() - squares(&self.0[0]);
        line * line
    }

    /// Weighted sum of the runs at each offset.
    fn sum<'a>(&self, target: &mut [f32], run: impl Fn(i64) -> &'a [f32]) {
        for (t, s) in target.iter_mut().zip(run(0)) {
            *t = self.0[0] * s;
        }
        for (i, &w) in self.0.iter().enumerate().skip(1) {
            let (before, after) = (run(-(i as i64)), run(i as i64));
            for ((t, a), b) in target.iter_mut().zip(before).zip(after) {
                *t += w * (a + b);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn covered(shape: &Loop, x0: i64, y0: i64, width: usize, height: usize) -> Raster {
        let mut raster = Raster::new(x0, y0, width, height);
        raster.paint(shape, |pixel, c| *pixel = pixel.max(c));
        raster
    }

    fn sum(raster: &Raster) -> f64 {
        raster.data.iter().map(|v| f64::from(*v)).sum()
    }

    #[test]
    fn area_of_a_polygon_is_its_shoelace_area() {
        let points = vec![(3.2, 2.7), (40.9, 8.1), (35.3, 30.6), (20.01, 14.4), (5.5, 38.8)];
        let mut area = 0.0;
        for i in 0..points.len() {
            let (a, b): ((f64, f64), (f64, f64)) = (points[i], points[(i + 1) % points.len()]);
            area += 0.5 * (a.0 * b.1 - b.0 * a.1);
        }
        let forward = covered(&Loop::new(points.clone()), 0, 0, 50, 45);
        assert_abs_diff_eq!(sum(&forward), area.abs(), epsilon = 1e-4);
        let backward = covered(&Loop::new(points.into_iter().rev().collect()), 0, 0, 50, 45);
        assert_abs_diff_eq!(sum(&backward), area.abs(), epsilon = 1e-4);
    }

    #[test]
    fn area_of_a_disc() {
        let disc = covered(&Loop::disc((20.3, 18.6), 12.34), 0, 0, 40, 40);
        let area = std::f64::consts::PI * 12.34f64.powi(2);
        assert_abs_diff_eq!(sum(&disc), area, epsilon = 0.05); // a thousandth of a px all round
    }

    #[test]
    fn single_pixels_are_exact() {
        // The line x = 1 + y/2 through a 4 × 2 window, everything on its left.
        let shape = Loop::new(vec![(-9.0, -4.0), (-1.0, -4.0), (4.0, 6.0), (-9.0, 6.0)]);
        let raster = covered(&shape, 0, 0, 4, 2);
        let expected = [1.0, 0.25, 0.0, 0.0, 1.0, 0.75, 0.0, 0.0];
        for (a, b) in raster.data.iter().zip(expected) {
            assert_abs_diff_eq!(f64::from(*a), b, epsilon = 1e-7);
        }
    }

    #[test]
    fn a_window_sees_the_same_as_the_whole() {
        let shape = Loop::new(vec![(-20.0, 3.3), (31.7, -15.0), (70.2, 22.2), (18.8, 61.0)]);
        let whole = covered(&shape, -30, -30, 120, 110);
        let window = covered(&shape, 5, 7, 23, 19);
        for row in 0..19 {
            for column in 0..23 {
                let there = whole.data[(row + 37) * 120 + column + 35];
                assert_abs_diff_eq!(window.data[row * 23 + column], there, epsilon = 1e-6);
            }
        }
    }

    #[test]
    fn kernels_have_their_variance() {
        for sigma in [0.3, 0.5, 0.7, 1.0, 2.5] {
            let kernel = Kernel::gaussian(sigma);
            let variance: f64 =
                (1..=kernel.radius()).map(|i| 2.0 * f64::from(kernel.0[i]) * (i * i) as f64).sum();
            assert_abs_diff_eq!(variance.sqrt(), sigma, epsilon = 3e-3 * sigma);
        }
    }
}
