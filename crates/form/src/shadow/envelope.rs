//! The outline as the greatest height over all meridians: slow, certain, and built on nothing but
//! the definition of the helicoid and of the projection. It judges [`outline`](super::outline()).

use super::outline::Edge;
use crate::profile::{Piece, Profile};
use crate::view::View;
use std::f64::consts::PI;

/// Meridians are searched over this range to each side of the edge, radians (75°).
const SEARCH_RAD: f64 = 75.0 * PI / 180.0;
/// Coarse steps over the range.
const STEPS: usize = 900;
/// Points along each arc of the section.
const ARC_POINTS: usize = 90;

/// Heights of the outline at each of `zs` in the plane of the shadow, mm (negative on the lower
/// edge). Arguments as for [`outline`](super::outline()).
///
/// Every meridian is a plane curve of straight lines and arcs; straight lines project onto straight
/// lines, so a projected meridian is exact but for the arcs, which are cut into chords of a few
/// nanometres' sag. The greatest height is searched on an even grid of meridians, then refined.
#[must_use]
pub fn heights(
    profile: &Profile,
    advance_mm: f64,
    phase_mm: f64,
    view: &View,
    edge: Edge,
    zs: &[f64],
) -> Vec<f64> {
    let (centre, sign) = match edge {
        Edge::Upper => (0.0, 1.0),
        Edge::Lower => (PI, -1.0),
    };
    let section = groove_points(profile);
    let meridian = |theta: f64, from: f64, to: f64| {
        let (sin, cos) = theta.sin_cos();
        let offset = phase_mm + advance_mm * theta;
        let pitch = profile.section().pitch_mm();
        // Perspective and tilt move a point along by less than a pitch and a half here.
        let first = ((from - offset) / pitch).floor() as i32 - 2;
        let last = ((to - offset) / pitch).ceil() as i32 + 2;
        (first..last)
            .flat_map(|groove| section.iter().map(move |p| (groove, *p)))
            .map(|(groove, (r, z))| {
                let axial = offset + f64::from(groove) * pitch + z;
                let r = r + profile.rise() * axial;
                let (z, x) = view.project([r * cos, r * sin, axial]);
                (z, sign * x)
            })
            .collect::<Vec<_>>()
    };
    let (low, high) = zs.iter().fold((f64::MAX, f64::MIN), |(a, b), &z| (a.min(z), b.max(z)));
    let step = 2.0 * SEARCH_RAD / STEPS as f64;
    let theta_at = |i: usize| centre - SEARCH_RAD + i as f64 * step;
    let mut coarse = vec![vec![f64::NEG_INFINITY; STEPS + 1]; zs.len()];
    for i in 0..=STEPS {
        let line = meridian(theta_at(i), low, high);
        for (row, &z) in coarse.iter_mut().zip(zs) {
            row[i] = greatest_at(&line, z);
        }
    }
    coarse
        .iter()
        .zip(zs)
        .map(|(row, &z)| {
            let best = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let height = |theta: f64| greatest_at(&meridian(theta, z, z), z);
            // The section has corners, so several local maxima may be near the best.
            let refined = (1..STEPS)
                .filter(|&i| row[i] >= row[i - 1] && row[i] >= row[i + 1] && row[i] > best - 0.05)
                .map(|i| golden(&height, theta_at(i) - step, theta_at(i) + step))
                .fold(best, f64::max);
            sign * refined
        })
        .collect()
}

/// `(r, z)` along one groove, corners as they are, arcs as chords.
fn groove_points(profile: &Profile) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for piece in Piece::ALL {
        let n = if profile.arc_radius_mm(piece) > 0.0 { ARC_POINTS } else { 1 };
        for i in 0..=n {
            let p = profile.point(piece, i as f64 / n as f64);
            if points.last().is_none_or(|q| (q.0 - p.r).hypot(q.1 - p.z) > 1e-12) {
                points.push((p.r, p.z));
            }
        }
    }
    points
}

/// Greatest height of a polyline of `(z, x)` at `z`.
fn greatest_at(line: &[(f64, f64)], z: f64) -> f64 {
    line.windows(2)
        .filter(|w| (w[0].0 - z) * (w[1].0 - z) <= 0.0)
        .map(|w| {
            let span = w[1].0 - w[0].0;
            if span == 0.0 {
                w[0].1.max(w[1].1)
            } else {
                w[0].1 + (z - w[0].0) / span * (w[1].1 - w[0].1)
            }
        })
        .fold(f64::NEG_INFINITY, f64::max)
}

/// Golden-section search for the maximum of `f` between `a` and `b`.
fn golden(f: &impl Fn(f64) -> f64, mut a: f64, mut b: f64) -> f64 {
    let ratio = 0.5 * (5f64.sqrt() - 1.0);
    let (mut c, mut d) = (b - ratio * (b - a), a + ratio * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    for _ in 0..36 {
        if fc > fd {
            (b, d, fd) = (d, c, fc);
            c = b - ratio * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + ratio * (b - a);
            fd = f(d);
        }
    }
    fc.max(fd)
}
