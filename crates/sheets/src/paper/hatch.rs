//! Hatching of cut faces, as plain lines so that every file shows the same.

use super::drawing::{Canvas, Pen};
use super::geometry::{Path, Point, pt};

/// Hatches the inside (even–odd) of the closed `edges` with lines at `angle_deg`, `spacing` mm
/// apart.
pub(crate) fn hatch(d: &mut Canvas, edges: &[Path], angle_deg: f64, spacing: f64) {
    for (a, b) in lines(edges, angle_deg, spacing) {
        d.line(a, b, Pen::HATCH);
    }
}

fn lines(edges: &[Path], angle_deg: f64, spacing: f64) -> Vec<(Point, Point)> {
    let along = Point::toward(angle_deg.to_radians());
    let across = along.turned();
    // In the turned frame u runs along the hatching, v across it.
    let rings: Vec<Vec<(f64, f64)>> = edges
        .iter()
        .map(|e| {
            e.flattened(0.02)
                .into_iter()
                .map(|p| (p.x * along.x + p.y * along.y, p.x * across.x + p.y * across.y))
                .collect()
        })
        .collect();
    let all = || rings.iter().flatten().map(|p| p.1);
    let (low, high) =
        all().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if !(low.is_finite() && spacing > 0.0) {
        return Vec::new();
    }
    let mut out = Vec::new();
    let mut row = (low / spacing).floor() + 1.0;
    while row * spacing < high {
        // Off the grid by a hair, so that a line never runs through a corner.
        let v = row * spacing + 1e-6;
        let mut crossings: Vec<f64> = Vec::new();
        for ring in &rings {
            for (i, p) in ring.iter().enumerate() {
                let q = ring[(i + 1) % ring.len()];
                if (p.1 > v) != (q.1 > v) {
                    crossings.push(p.0 + (v - p.1) / (q.1 - p.1) * (q.0 - p.0));
                }
            }
        }
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            if pair[1] - pair[0] > 0.05 {
                let at = |u: f64| pt(u * along.x + v * across.x, u * along.y + v * across.y);
                out.push((at(pair[0]), at(pair[1])));
            }
        }
        row += 1.0;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Rect;
    use approx::assert_abs_diff_eq;

    #[test]
    fn hatching_covers_the_area_it_should() {
        // Length of line times spacing estimates the area: a square of 20 mm with a round hole.
        let square = Rect::new(0.0, 0.0, 20.0, 20.0).path();
        let hole = Path::circle(pt(10.0, 10.0), 5.0);
        let total: f64 =
            lines(&[square, hole], 45.0, 0.1).iter().map(|(a, b)| (*b - *a).length()).sum();
        let area = 400.0 - std::f64::consts::PI * 25.0;
        assert_abs_diff_eq!(total * 0.1, area, epsilon = 0.01 * area);
    }
}
