//! Points clicked by hand, as the edges of a thread.
//!
//! Clicks guide, the picture measures: between two neighbouring clicks on one straight piece the
//! edge is sought again every few pixels, and only where there is none do the clicks stand for
//! themselves, with the doubt of a hand.

use crate::findings::{Part, Remark};
use crate::job::{Flank, PointSaid};
use picture::{EdgePoint, Grey, Notice, Thread};
use std::f64::consts::TAU;

/// Standard uncertainty of a click where no edge could be found near it, px: a steady hand at
/// moderate magnification (estimate, not measured).
const HAND_SIGMA_PX: f64 = 1.5;
/// How far from a click, or from the line between two, an edge is looked for, px.
const REACH_PX: f64 = 6.0;
/// Distance between samples of an edge between two clicks, px.
const STEP_PX: f64 = 2.0;
/// Most samples between two clicks.
const MOST_SAMPLES: usize = 200;
/// Least clicks on right and on left flanks of one edge.
const LEAST_ON_FLANKS: usize = 4;

/// A click with its place along and across the axis, px.
#[derive(Debug, Clone, Copy)]
struct Placed {
    point: PointSaid,
    along: f64,
    across: f64,
}

/// The thread that `points` in the picture outline.
///
/// # Errors
/// A remark that says how many more points are needed, and where.
pub(crate) fn thread(points: &[PointSaid], grey: &Grey) -> Result<Thread, Remark> {
    let trouble = |text: String| Remark::new(Part::Thread, "points", text);
    let count = |flank| points.iter().filter(|p| p.flank == flank).count();
    let (right, left) = (count(Flank::Right), count(Flank::Left));
    if right < LEAST_ON_FLANKS || left < LEAST_ON_FLANKS {
        return Err(trouble(format!(
            "Points on right flanks: {right}, on left flanks: {left}; needed are at least \
             {LEAST_ON_FLANKS} each: two on every flank of two teeth or more, and two on each crest \
             and root between them."
        )));
    }
    let mut axis = rough_axis(points);
    for _ in 0..3 {
        let (upper, lower) = edges(points, axis);
        let turn = slope(&upper, &lower);
        axis =
            (axis.0 * turn.cos() + axis.1 * turn.sin(), axis.1 * turn.cos() - axis.0 * turn.sin());
    }
    let (mut upper, mut lower) = edges(points, axis);
    let mut pitch = spacing(&upper, &lower);
    // Few clicks on one edge lie in heaps too, but a core is thicker than a groove is wide.
    let apart = gap_between(&upper, &lower);
    if !lower.is_empty() && pitch.is_none_or(|pitch| apart < 0.9 * pitch) {
        upper.append(&mut lower);
        pitch = spacing(&upper, &lower);
    }
    let pitch_px = pitch.ok_or_else(|| {
        trouble(
            "the points do not repeat along the axis: click the same two places on the flanks of \
             at least two neighbouring teeth."
                .into(),
        )
    })?;
    let up = (axis.1, -axis.0);
    let single = lower.is_empty() || upper.is_empty();
    if single && faces_down(if lower.is_empty() { &upper } else { &lower }, grey, axis, up) {
        std::mem::swap(&mut upper, &mut lower);
    }
    let depth_px = depth(&upper).max(depth(&lower));
    let mut traced_upper = traced(&mut upper, grey, axis, up, pitch_px);
    let mut traced_lower = traced(&mut lower, grey, axis, (-up.0, -up.1), pitch_px);
    let by = |p: &EdgePoint| p.x * axis.0 + p.y * axis.1;
    traced_upper.sort_by(|a, b| by(a).total_cmp(&by(b)));
    traced_lower.sort_by(|a, b| by(b).total_cmp(&by(a)));
    let all = || traced_upper.iter().chain(&traced_lower);
    let ends_px = all().map(by).fold((f64::MAX, f64::MIN), |e, v| (e.0.min(v), e.1.max(v)));
    let guessed = all().filter(|p| p.contrast == 0.0).count();
    let mut notices = Vec::new();
    if guessed * 3 > all().count() {
        notices.push(Notice::new(
            "points-without-edge",
            format!(
                "no edge was found at {guessed} of {} places along the clicked points: there the \
                 clicks stand for themselves, with ±{HAND_SIGMA_PX} px.",
                all().count()
            ),
            None,
        ));
    }
    Ok(Thread {
        axis,
        teeth: ((ends_px.1 - ends_px.0) / pitch_px).round().max(1.0) as usize,
        upper: traced_upper,
        lower: traced_lower,
        pitch_px,
        depth_px,
        ends_px,
        notices,
    })
}

/// Along the picture, or up it when the points spread far more that way.
fn rough_axis(points: &[PointSaid]) -> (f64, f64) {
    let spread = |f: fn(&PointSaid) -> f64| {
        let (low, high) =
            points.iter().map(f).fold((f64::MAX, f64::MIN), |s, v| (s.0.min(v), s.1.max(v)));
        high - low
    };
    if spread(|p| p.y_px) > 2.0 * spread(|p| p.x_px) { (0.0, -1.0) } else { (1.0, 0.0) }
}

/// The points of the upper and the lower edge: two heaps across the axis with a wide gap between
/// them, or one heap, given as upper.
fn edges(points: &[PointSaid], axis: (f64, f64)) -> (Vec<Placed>, Vec<Placed>) {
    let mut placed: Vec<Placed> = points
        .iter()
        .map(|&point| Placed {
            point,
            along: point.x_px * axis.0 + point.y_px * axis.1,
            across: point.x_px * axis.1 - point.y_px * axis.0,
        })
        .collect();
    placed.sort_by(|a, b| a.across.total_cmp(&b.across));
    let range = placed.last().map_or(0.0, |l| l.across) - placed.first().map_or(0.0, |f| f.across);
    let gap = (1..placed.len())
        .map(|i| (i, placed[i].across - placed[i - 1].across))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, gap)| *gap > 0.4 * range && range > 0.0);
    match gap {
        Some((i, _)) => {
            let upper = placed.split_off(i);
            (upper, placed)
        }
        None => (placed, Vec::new()),
    }
}

/// Distance across the axis between the heaps, px.
fn gap_between(upper: &[Placed], lower: &[Placed]) -> f64 {
    let low = upper.iter().map(|p| p.across).fold(f64::MAX, f64::min);
    let high = lower.iter().map(|p| p.across).fold(f64::MIN, f64::max);
    low - high
}

/// Slope of across against along, the same for both heaps, radians.
fn slope(upper: &[Placed], lower: &[Placed]) -> f64 {
    let (mut aa, mut ac) = (0.0, 0.0);
    for heap in [upper, lower] {
        let n = heap.len().max(1) as f64;
        let a = heap.iter().map(|p| p.along).sum::<f64>() / n;
        let c = heap.iter().map(|p| p.across).sum::<f64>() / n;
        for p in heap {
            aa += (p.along - a).powi(2);
            ac += (p.along - a) * (p.across - c);
        }
    }
    if aa > 0.0 { (ac / aa).atan() } else { 0.0 }
}

/// Spacing along the axis at which points of one kind repeat: the largest of those at which they
/// fall together best.
fn spacing(upper: &[Placed], lower: &[Placed]) -> Option<f64> {
    let flanks: Vec<Vec<f64>> = [upper, lower]
        .iter()
        .flat_map(|heap| {
            [Flank::Right, Flank::Left].map(|flank| {
                heap.iter().filter(|p| p.point.flank == flank).map(|p| p.along).collect::<Vec<_>>()
            })
        })
        .filter(|places| places.len() >= 2)
        .collect();
    let span = flanks
        .iter()
        .filter_map(|f| {
            let high = f.iter().copied().fold(f64::MIN, f64::max);
            let low = f.iter().copied().fold(f64::MAX, f64::min);
            (high > low).then_some(high - low)
        })
        .fold(0.0, f64::max);
    let together = |pitch: f64| {
        flanks
            .iter()
            .map(|places| {
                let (c, s) = places.iter().fold((0.0, 0.0), |(c, s), z| {
                    (c + (TAU * z / pitch).cos(), s + (TAU * z / pitch).sin())
                });
                c.hypot(s)
            })
            .sum::<f64>()
            / flanks.iter().map(Vec::len).sum::<usize>().max(1) as f64
    };
    // From two pitches down: one tooth alone does not show that anything repeats.
    const STEPS: usize = 4000;
    const FINEST: f64 = 150.0;
    let pitch_at = |i: usize| 1.25 * span * (1.0 / FINEST).powf(i as f64 / STEPS as f64);
    let values: Vec<f64> = (0..=STEPS).map(|i| together(pitch_at(i))).collect();
    let best = values.iter().copied().fold(0.0, f64::max);
    let first = (1..STEPS).find(|&i| {
        values[i] >= 0.93 * best && values[i] >= values[i - 1] && values[i] >= values[i + 1]
    })?;
    (best > 0.6).then(|| pitch_at(first))
}

fn depth(heap: &[Placed]) -> f64 {
    let high = heap.iter().map(|p| p.across).fold(f64::MIN, f64::max);
    let low = heap.iter().map(|p| p.across).fold(f64::MAX, f64::min);
    (high - low).max(0.0)
}

/// Whether one edge alone is the lower one: its flanks, turned to face away from their tooth, face
/// down.
fn faces_down(heap: &[Placed], grey: &Grey, axis: (f64, f64), up: (f64, f64)) -> bool {
    let votes: f64 = heap
        .iter()
        .filter_map(|p| {
            let side = match p.point.flank {
                Flank::Right => 1.0,
                Flank::Left => -1.0,
                _ => return None,
            };
            let e = picture::snap(grey, p.point.x_px, p.point.y_px, REACH_PX)?;
            let along = e.nx * axis.0 + e.ny * axis.1;
            let outward = if along * side >= 0.0 { 1.0 } else { -1.0 };
            Some(outward * (e.nx * up.0 + e.ny * up.1))
        })
        .sum();
    votes < 0.0
}

/// The edge along the points of one heap; `out` is the direction away from the axis.
fn traced(
    heap: &mut [Placed],
    grey: &Grey,
    axis: (f64, f64),
    out: (f64, f64),
    pitch_px: f64,
) -> Vec<EdgePoint> {
    heap.sort_by(|a, b| a.along.total_cmp(&b.along));
    let mut found = Vec::new();
    for flank in Flank::ALL {
        let mine: Vec<&Placed> = heap.iter().filter(|p| p.point.flank == flank).collect();
        for (i, p) in mine.iter().enumerate() {
            let here = (p.point.x_px, p.point.y_px);
            found.push(edge_at(grey, here, flank, axis, out, 1.0));
            let Some(next) = mine.get(i + 1) else { continue };
            // Points of the next tooth's flank lie a pitch on; between them lies no edge.
            let steep = matches!(flank, Flank::Right | Flank::Left);
            let same = (next.along - p.along) < if steep { 0.42 } else { 0.7 } * pitch_px;
            if !same {
                continue;
            }
            let there = (next.point.x_px, next.point.y_px);
            let length = (there.0 - here.0).hypot(there.1 - here.1);
            let n = ((length / STEP_PX) as usize).min(MOST_SAMPLES);
            for k in 1..n {
                let t = k as f64 / n as f64;
                let at = (here.0 + t * (there.0 - here.0), here.1 + t * (there.1 - here.1));
                // What is only drawn between two clicks tells nothing more than they do.
                found.push(edge_at(grey, at, flank, axis, out, (n as f64).sqrt()));
            }
        }
    }
    found
}

fn edge_at(
    grey: &Grey,
    (x, y): (f64, f64),
    flank: Flank,
    axis: (f64, f64),
    out: (f64, f64),
    doubt: f64,
) -> EdgePoint {
    // Away from the tooth the point lies on.
    let facing = match flank {
        Flank::Right => axis,
        Flank::Left => (-axis.0, -axis.1),
        Flank::Crest | Flank::Root => out,
    };
    match picture::snap(grey, x, y, REACH_PX) {
        Some(mut e) => {
            if e.nx * facing.0 + e.ny * facing.1 < 0.0 {
                (e.nx, e.ny) = (-e.nx, -e.ny);
                e.contrast = -e.contrast;
            }
            e
        }
        None => EdgePoint {
            x,
            y,
            nx: facing.0,
            ny: facing.1,
            sigma_px: HAND_SIGMA_PX * doubt,
            blur_px: HAND_SIGMA_PX,
            contrast: 0.0,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A toothed outline of pitch 80 and depth 40 px, flanks 10 px wide, axis level at y = 300.
    fn clicks(lower: bool) -> Vec<PointSaid> {
        let mut points = Vec::new();
        for tooth in 0..5 {
            let z = 100.0 + 80.0 * f64::from(tooth);
            let mut click = |x: f64, above: f64, flank| {
                points.push(PointSaid { x_px: x, y_px: 300.0 - above, flank });
                if lower {
                    points.push(PointSaid { x_px: x + 40.0, y_px: 300.0 + above, flank });
                }
            };
            click(z - 14.0, 140.0, Flank::Crest);
            click(z + 14.0, 140.0, Flank::Crest);
            click(z + 17.0, 130.0, Flank::Right);
            click(z + 23.0, 110.0, Flank::Right);
            click(z + 27.0, 100.0, Flank::Root);
            click(z + 53.0, 100.0, Flank::Root);
            click(z + 57.0, 110.0, Flank::Left);
            click(z + 63.0, 130.0, Flank::Left);
        }
        points
    }

    fn blank() -> Grey {
        Grey::from_u8(640, 600, vec![200; 640 * 600]).unwrap()
    }

    #[test]
    fn clicks_alone_give_pitch_axis_and_edges() {
        for lower in [false, true] {
            let t = thread(&clicks(lower), &blank()).unwrap();
            assert!((t.pitch_px - 80.0).abs() < 1.0, "{}", t.pitch_px);
            assert!(t.axis.0 > 0.999 && t.axis.1.abs() < 0.02, "{:?}", t.axis);
            assert_eq!(t.lower.is_empty(), !lower);
            assert!((t.depth_px - 40.0).abs() < 2.0, "{}", t.depth_px);
            assert!(t.upper.windows(2).all(|w| w[0].x <= w[1].x + 1e-9));
            assert_eq!(t.notices[0].code, "points-without-edge");
        }
    }

    #[test]
    fn a_turned_picture_turns_the_axis() {
        let (sin, cos) = 0.1f64.sin_cos();
        let turned: Vec<PointSaid> = clicks(true)
            .into_iter()
            .map(|p| {
                let (x, y) = (p.x_px - 300.0, p.y_px - 300.0);
                PointSaid { x_px: 300.0 + x * cos + y * sin, y_px: 300.0 - x * sin + y * cos, ..p }
            })
            .collect();
        let t = thread(&turned, &blank()).unwrap();
        assert!((t.axis.1 + sin).abs() < 0.02, "{:?}", t.axis);
        assert!((t.pitch_px - 80.0).abs() < 1.0);
    }

    #[test]
    fn too_few_points_are_counted() {
        let e = thread(&clicks(false)[..6], &blank()).unwrap_err();
        assert!(e.text.to_string().contains("Points on right flanks: 2, on left"), "{}", e.text);
    }
}
