//! Points, rectangles and paths on paper.

use std::ops::{Add, Mul, Sub};

/// A point or a displacement on paper: millimetres, origin at the lower left corner of the page,
/// `x` to the right, `y` **up**.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right, mm.
    pub x: f64,
    /// Up, mm.
    pub y: f64,
}

/// A [`Point`] from its two coordinates, mm.
#[must_use]
pub const fn pt(x: f64, y: f64) -> Point {
    Point { x, y }
}

impl Point {
    /// Unit displacement at `angle_rad` counter-clockwise from the x axis.
    #[must_use]
    pub fn toward(angle_rad: f64) -> Self {
        pt(angle_rad.cos(), angle_rad.sin())
    }
    /// Distance from the origin, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }
    /// Direction, radians counter-clockwise from the x axis.
    #[must_use]
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }
    /// The displacement turned a quarter counter-clockwise.
    #[must_use]
    pub fn turned(self) -> Self {
        pt(-self.y, self.x)
    }
    /// Length 1 in the same direction; zero stays zero.
    #[must_use]
    pub fn unit(self) -> Self {
        let l = self.length();
        if l > 0.0 { self * (1.0 / l) } else { self }
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        pt(self.x + o.x, self.y + o.y)
    }
}
impl Sub for Point {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        pt(self.x - o.x, self.y - o.y)
    }
}
impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        pt(self.x * k, self.y * k)
    }
}

/// An upright rectangle on paper, mm, `bottom < top`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub left: f64,
    /// Lower edge.
    pub bottom: f64,
    /// Right edge.
    pub right: f64,
    /// Upper edge.
    pub top: f64,
}

impl Rect {
    /// From the four edges, mm.
    #[must_use]
    pub const fn new(left: f64, bottom: f64, right: f64, top: f64) -> Self {
        Self { left, bottom, right, top }
    }
    /// Width, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.right - self.left
    }
    /// Height, mm.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.top - self.bottom
    }
    /// Centre.
    #[must_use]
    pub fn centre(&self) -> Point {
        pt(0.5 * (self.left + self.right), 0.5 * (self.bottom + self.top))
    }
    /// Smaller by `by` mm on every side (larger when negative).
    #[must_use]
    pub fn inset(&self, by: f64) -> Self {
        Self::new(self.left + by, self.bottom + by, self.right - by, self.top - by)
    }
    /// Cuts `height` mm off the top: (what was cut, what is left).
    #[must_use]
    pub fn cut_top(&self, height: f64) -> (Self, Self) {
        let at = self.top - height;
        (
            Self::new(self.left, at, self.right, self.top),
            Self::new(self.left, self.bottom, self.right, at),
        )
    }
    /// Cuts `height` mm off the bottom: (what was cut, what is left).
    #[must_use]
    pub fn cut_bottom(&self, height: f64) -> (Self, Self) {
        let at = self.bottom + height;
        (
            Self::new(self.left, self.bottom, self.right, at),
            Self::new(self.left, at, self.right, self.top),
        )
    }
    /// Splits into `n` columns with `gap` mm between.
    #[must_use]
    pub fn columns(&self, n: usize, gap: f64) -> Vec<Self> {
        let w = (self.width() - gap * (n as f64 - 1.0)) / n as f64;
        (0..n)
            .map(|i| {
                let left = self.left + i as f64 * (w + gap);
                Self::new(left, self.bottom, left + w, self.top)
            })
            .collect()
    }
    /// Whether the two rectangles share more than `slack` mm in both directions.
    #[must_use]
    pub fn overlaps(&self, o: &Self, slack: f64) -> bool {
        self.left + slack < o.right
            && o.left + slack < self.right
            && self.bottom + slack < o.top
            && o.bottom + slack < self.top
    }
    /// The rectangle as a closed path.
    #[must_use]
    pub fn path(&self) -> Path {
        Path::polygon([
            pt(self.left, self.bottom),
            pt(self.right, self.bottom),
            pt(self.right, self.top),
            pt(self.left, self.top),
        ])
    }
}

/// A corner of a [`Path`] and the shape of the segment that leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Where.
    pub at: Point,
    /// Tangent of a quarter of the angle the segment to the next vertex turns through: 0 straight,
    /// positive counter-clockwise, 1 a half circle (the convention of DXF).
    pub bulge: f64,
}

/// Straight segments and circular arcs, joined end to end.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    /// The corners in order.
    pub vertices: Vec<Vertex>,
    /// Whether the last vertex joins the first.
    pub closed: bool,
}

/// One piece of a [`Path`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Segment {
    /// Straight, from start to end.
    Line(Point, Point),
    /// Part of a circle.
    Arc {
        /// Start.
        from: Point,
        /// End.
        to: Point,
        /// Centre.
        centre: Point,
        /// Radius, mm.
        radius: f64,
        /// Angle at the start, radians.
        start_rad: f64,
        /// Angle turned through, radians, positive counter-clockwise.
        sweep_rad: f64,
    },
}

impl Path {
    /// An open polyline.
    pub fn open(points: impl IntoIterator<Item = Point>) -> Self {
        let vertices = points.into_iter().map(|at| Vertex { at, bulge: 0.0 }).collect();
        Self { vertices, closed: false }
    }
    /// A closed polygon.
    pub fn polygon(points: impl IntoIterator<Item = Point>) -> Self {
        Self { closed: true, ..Self::open(points) }
    }
    /// An arc around `centre` from `start_rad` through `sweep_rad` (positive counter-clockwise).
    #[must_use]
    pub fn arc(centre: Point, radius: f64, start_rad: f64, sweep_rad: f64) -> Self {
        let at = |a: f64| centre + Point::toward(a) * radius;
        Self {
            vertices: vec![
                Vertex { at: at(start_rad), bulge: (0.25 * sweep_rad).tan() },
                Vertex { at: at(start_rad + sweep_rad), bulge: 0.0 },
            ],
            closed: false,
        }
    }
    /// A full circle.
    #[must_use]
    pub fn circle(centre: Point, radius: f64) -> Self {
        Self {
            vertices: vec![
                Vertex { at: centre + pt(radius, 0.0), bulge: 1.0 },
                Vertex { at: centre - pt(radius, 0.0), bulge: 1.0 },
            ],
            closed: true,
        }
    }
    /// Adds a corner; `bulge` shapes the segment that leaves it.
    pub fn push(&mut self, at: Point, bulge: f64) {
        self.vertices.push(Vertex { at, bulge });
    }
    /// The same path multiplied by `k` about the origin and then moved by `by`.
    #[must_use]
    pub fn placed(&self, k: f64, by: Point) -> Self {
        let vertices =
            self.vertices.iter().map(|v| Vertex { at: v.at * k + by, bulge: v.bulge }).collect();
        Self { vertices, closed: self.closed }
    }
    /// Whether every number of the path is finite.
    #[must_use]
    pub fn is_finite(&self) -> bool {
        self.vertices.iter().all(|v| v.at.length().is_finite() && v.bulge.is_finite())
    }
    /// The pieces in order.
    #[must_use]
    pub fn segments(&self) -> Vec<Segment> {
        let n = self.vertices.len();
        let count = if self.closed { n } else { n.saturating_sub(1) };
        (0..count)
            .map(|i| {
                let (a, b) = (self.vertices[i], self.vertices[(i + 1) % n]);
                segment(a.at, b.at, a.bulge)
            })
            .collect()
    }
    /// The path as points, arcs replaced by chords that leave it by at most `sagitta_mm`.
    #[must_use]
    pub fn flattened(&self, sagitta_mm: f64) -> Vec<Point> {
        let mut out: Vec<Point> = self.vertices.first().map(|v| v.at).into_iter().collect();
        for s in self.segments() {
            match s {
                Segment::Line(_, to) => out.push(to),
                Segment::Arc { to, centre, radius, start_rad, sweep_rad, .. } => {
                    let step = 2.0 * (1.0 - (sagitta_mm / radius).clamp(1e-6, 0.5)).acos();
                    let n = (sweep_rad.abs() / step).ceil().clamp(1.0, 720.0);
                    for i in 1..n as usize {
                        let a = start_rad + sweep_rad * i as f64 / n;
                        out.push(centre + Point::toward(a) * radius);
                    }
                    out.push(to);
                }
            }
        }
        out
    }
    /// The smallest upright rectangle round the path; `None` when it is empty.
    #[must_use]
    pub fn bounds(&self) -> Option<Rect> {
        let points = self.flattened(0.01);
        let first = points.first()?;
        let start = Rect::new(first.x, first.y, first.x, first.y);
        Some(points.iter().fold(start, |r, p| {
            Rect::new(r.left.min(p.x), r.bottom.min(p.y), r.right.max(p.x), r.top.max(p.y))
        }))
    }
}

fn segment(from: Point, to: Point, bulge: f64) -> Segment {
    let chord = to - from;
    let c = chord.length();
    if bulge == 0.0 || c == 0.0 {
        return Segment::Line(from, to);
    }
    // With the turning angle 4 atan(b): radius c (1 + b²) / 4b, and the centre lies left of the
    // chord by c (1 - b²) / 4b, both with the sign of b.
    let centre = (from + to) * 0.5 + chord.turned() * ((1.0 - bulge * bulge) / (4.0 * bulge));
    Segment::Arc {
        from,
        to,
        centre,
        radius: c * (1.0 + bulge * bulge) / (4.0 * bulge.abs()),
        start_rad: (from - centre).angle(),
        sweep_rad: 4.0 * bulge.atan(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn an_arc_survives_its_bulge() {
        for sweep in [-3.0, -1.2, 0.3, 2.0, 3.1f64] {
            let path = Path::arc(pt(3.0, -2.0), 5.0, 0.4, sweep);
            let [Segment::Arc { centre, radius, start_rad, sweep_rad, .. }] = path.segments()[..]
            else {
                panic!("not an arc");
            };
            assert_abs_diff_eq!(centre.x, 3.0, epsilon = 1e-9);
            assert_abs_diff_eq!(centre.y, -2.0, epsilon = 1e-9);
            assert_abs_diff_eq!(radius, 5.0, epsilon = 1e-9);
            assert_abs_diff_eq!(start_rad, 0.4, epsilon = 1e-9);
            assert_abs_diff_eq!(sweep_rad, sweep, epsilon = 1e-9);
        }
    }

    #[test]
    fn a_circle_has_its_bounds() {
        let b = Path::circle(pt(1.0, 2.0), 3.0).bounds().unwrap();
        assert_abs_diff_eq!(b.left, -2.0, epsilon = 0.02);
        assert_abs_diff_eq!(b.top, 5.0, epsilon = 0.02);
    }
}
