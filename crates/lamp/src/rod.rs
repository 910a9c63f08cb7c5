//! What the eye sees of a round rod.

use form::{Point3, View};

/// The silhouette of a straight bar in the axis plane, `(z, x)` in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Silhouette {
    /// Closed outline.
    pub outline: Vec<(f64, f64)>,
    /// The two long edges, each from the bar's left end to its right end (before any roll).
    pub edges: [[(f64, f64); 2]; 2],
}

/// Points on each end circle of a rod.
const CIRCLE_POINTS: u32 = 720;

/// Silhouette of the rod from `left` to `right` (in the frame of the plane, untilted) with `radius`.
///
/// A rod is the convex hull of its two end discs, and a projection keeps convex hulls, so the
/// silhouette is the hull of the two projected circles. Its long edges are the lines along which
/// planes through the eye touch the cylinder. In the section square to the rod, with the eye at
/// distance `D` from its axis along the unit vector `w` (eye to axis) and `v` square to both:
///
/// ```text
///   touching points  =  axis - r (r/D) w  ±  r √(1 - (r/D)²) v
/// ```
///
/// `None` when the eye is inside the cylinder or looks along it.
#[must_use]
pub(crate) fn silhouette(
    view: &View,
    left: Point3,
    right: Point3,
    radius: f64,
) -> Option<Silhouette> {
    let along = unit(sub(right, left))?;
    let q = view.inverse_distance_per_mm;
    // From the eye to the axis, times q, so that parallel light is a limit and not a case.
    let sight = [q * (left[0] - view.foot_x_mm), q * left[1] + 1.0, q * (left[2] - view.foot_z_mm)];
    let square = sub(sight, scaled(along, dot(sight, along)));
    let toward = unit(square)?;
    let side = cross(along, toward);
    let sine = radius * q / dot(square, square).sqrt();
    if sine >= 1.0 {
        return None;
    }
    let touching = |sign: f64| {
        let offset = add(
            scaled(toward, -radius * sine),
            scaled(side, sign * radius * (1.0 - sine * sine).sqrt()),
        );
        [view.project_untilted(add(left, offset)), view.project_untilted(add(right, offset))]
    };
    let edges = [touching(1.0), touching(-1.0)];
    let mut points: Vec<(f64, f64)> = edges.iter().flatten().copied().collect();
    for end in [left, right] {
        points.extend((0..CIRCLE_POINTS).map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / f64::from(CIRCLE_POINTS);
            let (sin, cos) = angle.sin_cos();
            let offset = add(scaled(toward, radius * cos), scaled(side, radius * sin));
            view.project_untilted(add(end, offset))
        }));
    }
    Some(Silhouette { outline: convex_hull(points), edges })
}

/// Turns a point of the screw by the tilt of its axis into the frame of the plane.
pub(crate) fn tilted(view: &View, [x, y, z]: Point3) -> Point3 {
    let (sin, cos) = view.tilt_rad.sin_cos();
    [x, y * cos + z * sin, z * cos - y * sin]
}

fn add(a: Point3, b: Point3) -> Point3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
fn sub(a: Point3, b: Point3) -> Point3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
fn scaled(a: Point3, k: f64) -> Point3 {
    a.map(|c| c * k)
}
fn dot(a: Point3, b: Point3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
fn cross(a: Point3, b: Point3) -> Point3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
fn unit(a: Point3) -> Option<Point3> {
    let length = dot(a, a).sqrt();
    (length > 1e-12).then(|| scaled(a, 1.0 / length))
}

/// Convex hull by Andrew's monotone chain, counterclockwise.
fn convex_hull(mut points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut hull: Vec<(f64, f64)> = Vec::with_capacity(points.len());
    let mut pass = |points: &mut dyn Iterator<Item = (f64, f64)>| {
        let base = hull.len();
        for p in points {
            while hull.len() >= base + 2 {
                let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
                if (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) > 0.0 {
                    break;
                }
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop();
    };
    pass(&mut points.iter().copied());
    pass(&mut points.iter().rev().copied());
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every generator of the cylinder is projected; the computed edges must be the outermost.
    #[test]
    fn edges_are_the_outermost_generators() {
        let views = [
            View::PARALLEL,
            View::from_distance(60.0),
            View { foot_x_mm: 25.0, foot_z_mm: -18.0, ..View::from_distance(140.0) },
        ];
        let rods: [(Point3, Point3, f64); 4] = [
            ([-14.0, 9.0, -20.0], [-14.0, 9.0, 20.0], 3.0),
            ([-20.0, 5.0, -3.0], [15.0, 5.0, 12.0], 2.0),
            ([2.0, -4.0, -25.0], [5.0, 6.0, 25.0], 4.0), // not even parallel to the picture
            ([30.0, 0.0, 8.0], [-30.0, 0.0, 9.0], 0.7),
        ];
        for view in views {
            for (left, right, radius) in rods {
                let seen = silhouette(&view, left, right, radius).unwrap();
                let along = unit(sub(right, left)).unwrap();
                let a = unit(cross(along, [0.3, 0.8, -0.5])).unwrap();
                let b = cross(along, a);
                for (k, edge) in seen.edges.iter().enumerate() {
                    let other = seen.edges[1 - k];
                    let d = (edge[1].0 - edge[0].0, edge[1].1 - edge[0].1);
                    let n = (-d.1 / d.0.hypot(d.1), d.0 / d.0.hypot(d.1));
                    let off = |p: (f64, f64)| (p.0 - edge[0].0) * n.0 + (p.1 - edge[0].1) * n.1;
                    let sign = -off(other[0]).signum();
                    let mut outermost = f64::NEG_INFINITY;
                    for i in 0..20_000 {
                        let (sin, cos) =
                            (std::f64::consts::TAU * f64::from(i) / 20_000.0).sin_cos();
                        let offset = add(scaled(a, radius * cos), scaled(b, radius * sin));
                        for end in [left, right] {
                            let p = view.project_untilted(add(end, offset));
                            outermost = outermost.max(sign * off(p));
                        }
                    }
                    assert!(outermost < 1e-9, "a generator lies {outermost} mm outside");
                    assert!(outermost > -1e-5, "the edge lies {} mm too far out", -outermost);
                }
            }
        }
    }

    #[test]
    fn a_rod_square_below_the_eye_has_the_textbook_width() {
        // Tangents from distance D to a circle of radius r meet the plane through its centre at
        // D r / √(D² - r²): elementary geometry.
        let (r, d): (f64, f64) = (3.0, 50.0);
        let view = View::from_distance(d);
        let seen = silhouette(&view, [0.0, 0.0, -10.0], [0.0, 0.0, 10.0], r).unwrap();
        let expected = d * r / (d * d - r * r).sqrt();
        for edge in seen.edges {
            for p in edge {
                approx::assert_abs_diff_eq!(p.1.abs(), expected, epsilon = 1e-12);
            }
        }
    }

    #[test]
    fn an_eye_inside_sees_nothing() {
        let view = View::from_distance(2.0);
        assert!(silhouette(&view, [0.0, 0.0, -10.0], [0.0, 0.0, 10.0], 3.0).is_none());
    }
}
