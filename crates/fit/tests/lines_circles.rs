//! Straight lines and circles through points, by perpendicular distances, against what numpy and
//! scipy find (PyPI; versions in `data/lines_circles.json`, written by
//! `tests/peers/lines_circles.py`). The lines there come from a singular value decomposition.

#![expect(clippy::unwrap_used, reason = "helpers of tests")]

use fit::solver::{LeastSquares, Limits, Minimum, minimise};
use nalgebra::{DMatrix, DVector};
use serde_json::Value;

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    /// `y cos a - x sin a = c`, parameters `a`, `c`.
    Line,
    /// Centre and radius.
    Circle,
}

struct Shape {
    kind: Kind,
    points: Vec<(f64, f64)>,
}

impl Shape {
    /// Through the first, the middle and the last point, roughly.
    fn start(&self) -> DVector<f64> {
        let n = self.points.len();
        let [(x0, y0), (x1, y1), (x2, y2)] =
            [self.points[0], self.points[n / 3], self.points[2 * n / 3]];
        match self.kind {
            Kind::Line => DVector::from_vec(vec![((y2 - y0) / (x2 - x0)).atan(), 0.0]),
            Kind::Circle => {
                let (ax, ay, bx, by) = (x1 - x0, y1 - y0, x2 - x0, y2 - y0);
                let (aa, bb) = (ax * ax + ay * ay, bx * bx + by * by);
                let twice = 2.0 * (ax * by - ay * bx);
                let (u, v) = ((by * aa - ay * bb) / twice, (ax * bb - bx * aa) / twice);
                DVector::from_vec(vec![x0 + u, y0 + v, u.hypot(v)])
            }
        }
    }
}

impl LeastSquares for Shape {
    fn residuals(&mut self, p: &DVector<f64>) -> Option<DVector<f64>> {
        let off = |&(x, y): &(f64, f64)| match self.kind {
            Kind::Line => y * p[0].cos() - x * p[0].sin() - p[1],
            Kind::Circle => (x - p[0]).hypot(y - p[1]) - p[2],
        };
        Some(DVector::from_iterator(self.points.len(), self.points.iter().map(off)))
    }

    fn jacobian(&mut self, p: &DVector<f64>) -> Option<DMatrix<f64>> {
        let row = |&(x, y): &(f64, f64)| match self.kind {
            Kind::Line => vec![-y * p[0].sin() - x * p[0].cos(), -1.0],
            Kind::Circle => {
                let far = (x - p[0]).hypot(y - p[1]);
                vec![(p[0] - x) / far, (p[1] - y) / far, -1.0]
            }
        };
        let rows: Vec<f64> = self.points.iter().flat_map(row).collect();
        Some(DMatrix::from_row_slice(self.points.len(), p.len(), &rows))
    }
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn fitted(case: &Value) -> (Shape, Minimum) {
    let points = case["points"].as_array().unwrap().iter().map(numbers).map(|p| (p[0], p[1]));
    let kind = if case["kind"] == "line" { Kind::Line } else { Kind::Circle };
    let mut shape = Shape { kind, points: points.collect() };
    let start = shape.start();
    let found = minimise(&mut shape, start, Limits::default(), &|| true).unwrap();
    (shape, found)
}

fn cases() -> Vec<Value> {
    let all: Value = serde_json::from_str(include_str!("data/lines_circles.json")).unwrap();
    all["cases"].as_array().unwrap().clone()
}

#[test]
fn places_deviations_and_sums_agree_with_the_reference_library() {
    let all = cases();
    assert!(all.len() >= 12, "{}", all.len());
    for case in all {
        let (shape, found) = fitted(&case);
        assert!(found.converged, "{}", case["name"]);
        let freedom = (shape.points.len() - found.p.len()) as f64;
        let variance = found.sum_of_squares / freedom;
        let covariance = found.covariance().unwrap();
        let (parameters, deviations) = (numbers(&case["parameters"]), numbers(&case["deviations"]));
        let mut worst: [f64; 2] = [0.0; 2];
        for i in 0..parameters.len() {
            // A direction is the same half a turn on; its offset is then the other way.
            let (mut p, expected) = (found.p[i], parameters[i]);
            if shape.kind == Kind::Line {
                let turns = ((found.p[0] - parameters[0]) / std::f64::consts::PI).round();
                p = if i == 0 { p - turns * std::f64::consts::PI } else { p * (-1f64).powf(turns) };
            }
            let sd = (covariance[(i, i)] * variance).sqrt();
            worst[0] = worst[0].max((p - expected).abs() / deviations[i]);
            worst[1] = worst[1].max((sd / deviations[i] - 1.0).abs());
        }
        let squares = (found.sum_of_squares / case["sum_of_squares"].as_f64().unwrap() - 1.0).abs();
        println!(
            "{}: off by {:.1e} of a standard deviation, deviations by {:.1e}, sum by {squares:.1e}; \
             {} steps",
            case["name"], worst[0], worst[1], found.steps
        );
        assert!(worst[0] < 1e-6, "{}: {:?}", case["name"], found.p);
        assert!(worst[1] < 1e-6, "{}", case["name"]);
        assert!(squares < 1e-9, "{}", case["name"]);
    }
}

#[test]
fn the_published_examples_come_out_as_published() {
    let find = |name: &str| fitted(&cases().into_iter().find(|c| c["name"] == name).unwrap()).1;
    // Gander, Golub, Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994): the
    // geometric fit of their six points (from memory).
    for (p, published) in find("gander").p.iter().zip([4.7398, 2.9835, 4.7142]) {
        assert!((p - published).abs() < 1e-4, "{p}, published {published}");
    }
    // Pearson (1901): slope of the line of closest fit to his ten points (from memory).
    let slope = find("pearson").p[0].tan();
    assert!((slope + 0.5456).abs() < 1e-4, "{slope}, published -0.5456");
}
