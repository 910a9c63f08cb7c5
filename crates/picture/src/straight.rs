//! Straight stretches of an outline.

use crate::geometry::Line;
use crate::outline::{EdgePoint, GAP_PX};

/// Stretches of one outline that lie along one line and face the same way.
#[derive(Clone, Debug)]
pub(crate) struct Side {
    pub line: Line,
    /// Unit normal out of the object.
    pub nx: f64,
    pub ny: f64,
    /// Extent along the line.
    pub from: f64,
    pub to: f64,
    /// Length actually covered by stretches.
    pub covered: f64,
    /// Index ranges of the stretches, last index included.
    pub stretches: Vec<(usize, usize)>,
}

/// Points are thinned to about this many before stretches are sought.
const THINNED: usize = 2400;

/// The sides of an outline: maximal straight stretches at least `least` pixels long, off the line
/// by no more than `tolerance` pixels, with collinear ones joined.
pub(crate) fn sides(points: &[EdgePoint], tolerance: f64, least: f64) -> Vec<Side> {
    let mut stretches = Vec::new();
    let mut start = 0;
    for i in 1..=points.len() {
        let broken = i == points.len()
            || (points[i].x - points[i - 1].x).hypot(points[i].y - points[i - 1].y)
                > 5.0 * GAP_PX + 0.1 * least;
        if broken {
            if i - start >= 8 {
                split(points, start, i - 1, tolerance, least, &mut stretches);
            }
            start = i;
        }
    }
    let mut sides: Vec<Side> =
        stretches.into_iter().filter_map(|(a, b)| side(points, a, b)).collect();
    sides.sort_by(|a, b| b.covered.total_cmp(&a.covered));
    join(points, sides, tolerance)
}

/// Splits a stretch at the point farthest from its chord until every part is straight
/// (Douglas-Peucker), keeping the parts that are long enough.
fn split(
    points: &[EdgePoint],
    from: usize,
    to: usize,
    tolerance: f64,
    least: f64,
    out: &mut Vec<(usize, usize)>,
) {
    let step = (points.len() / THINNED).max(1);
    let mut pending = vec![(from, to)];
    while let Some((a, b)) = pending.pop() {
        if b < a + 4 {
            continue;
        }
        let (pa, pb) = (&points[a], &points[b]);
        let (dx, dy) = (pb.x - pa.x, pb.y - pa.y);
        let length = dx.hypot(dy);
        let mut worst = (0.0, a);
        for i in (a..b).step_by(step) {
            let (ux, uy) = (points[i].x - pa.x, points[i].y - pa.y);
            let off = if length > 1e-9 { (ux * dy - uy * dx).abs() / length } else { ux.hypot(uy) };
            if off > worst.0 {
                worst = (off, i);
            }
        }
        if worst.0 > tolerance && worst.1 > a {
            pending.push((a, worst.1));
            pending.push((worst.1, b));
        } else if length >= least {
            out.push((a, b));
        }
    }
}

fn side(points: &[EdgePoint], a: usize, b: usize) -> Option<Side> {
    let step = ((b - a) / 400).max(1);
    let part = || (a..=b).step_by(step).map(|i| &points[i]);
    let line = Line::fit(part().map(|p| (p.x, p.y, 1.0)))?;
    let (sx, sy) = part().fold((0.0, 0.0), |s, p| (s.0 + p.nx, s.1 + p.ny));
    let (mut nx, mut ny) = (-line.dy, line.dx);
    if sx * nx + sy * ny < 0.0 {
        (nx, ny) = (-nx, -ny);
    }
    let (u, v) = (line.along(points[a].x, points[a].y), line.along(points[b].x, points[b].y));
    Some(Side {
        line,
        nx,
        ny,
        from: u.min(v),
        to: u.max(v),
        covered: (u - v).abs(),
        stretches: vec![(a, b)],
    })
}

/// Joins sides that continue each other; the longest leads.
fn join(points: &[EdgePoint], sides: Vec<Side>, tolerance: f64) -> Vec<Side> {
    let mut out: Vec<Side> = Vec::new();
    'next: for s in sides {
        for lead in &mut out {
            if lead.nx * s.nx + lead.ny * s.ny < 0.9986 {
                continue;
            }
            let ends = s.stretches.iter().flat_map(|&(a, b)| [a, b]);
            let near = ends.clone().all(|i| {
                let p = &points[i];
                let u = lead.line.along(p.x, p.y);
                let beyond = (lead.from - u).max(u - lead.to).max(0.0);
                // The lead's own direction is known to about its tolerance over its length.
                let slack = 2.0 * tolerance * (1.0 + beyond / lead.covered.max(1.0));
                lead.line.offset(p.x, p.y).abs() < slack
            });
            if near {
                for i in ends {
                    let u = lead.line.along(points[i].x, points[i].y);
                    lead.from = lead.from.min(u);
                    lead.to = lead.to.max(u);
                }
                lead.covered += s.covered;
                lead.stretches.extend(s.stretches);
                continue 'next;
            }
        }
        out.push(s);
    }
    out
}
