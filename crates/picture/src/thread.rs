//! The thread: one or two rows of teeth along a common axis.

use std::borrow::Cow;

use crate::bar::Bar;
use crate::geometry::{Line, PixelBox, median};
use crate::notice::{Notice, PictureError};
use crate::outline::{EdgePoint, GAP_PX, Outline};
use crate::teeth::{Row, Seen, Swings, Thinned};
use crate::trace::{Drawn, Scene};

/// The thread as found.
///
/// The picture is to be turned by less than 90 degrees to lay the axis level, the axis direction
/// pointing right. An axis within five degrees of upright points *up*, so that the picture is
/// turned clockwise and its left edge becomes the upper one.
#[derive(Clone, Debug)]
pub struct Thread {
    /// Unit direction along the axis, y down; see above for its sense.
    pub axis: (f64, f64),
    /// Points of the edge whose outward normal points up once the axis is level; empty when that
    /// edge is not in the picture. In contour order, which is along the axis.
    pub upper: Vec<EdgePoint>,
    /// Points of the edge opposite, ordered against the axis; empty when not in the picture.
    pub lower: Vec<EdgePoint>,
    /// Spacing of the teeth along the axis, in pixels (an estimate, mean over the picture).
    pub pitch_px: f64,
    /// Teeth on the edge that shows more of them.
    pub teeth: usize,
    /// Height of the teeth in the picture, in pixels (an estimate).
    pub depth_px: f64,
    /// Extent of the points kept: least and largest `x * axis.0 + y * axis.1`, in pixels.
    pub ends_px: (f64, f64),
    /// What deserves a second look.
    pub notices: Vec<Notice>,
}

/// Directions tried, over half a turn.
const DIRECTIONS: usize = 36;
/// Thinned outlines have about this many points in the search.
const THINNED: usize = 1500;
/// Outlines searched for teeth, the largest first.
const SEARCHED: usize = 12;
/// An axis nearer than this to upright (sine of the angle) counts as upright.
const UPRIGHT: f64 = 0.087;

/// Rows that belong together.
#[derive(Clone)]
struct Found {
    upper: Option<Row>,
    lower: Option<Row>,
    axis: (f64, f64),
    score: f64,
}

/// Finds the thread; only inside `within` if given. The bar, if known, is left out.
///
/// # Errors
/// [`PictureError::Unmeasurable`] when there is none, with the reason.
pub fn find_thread(
    scene: &Scene,
    bar: Option<&Bar>,
    within: Option<PixelBox>,
) -> Result<Thread, PictureError> {
    let outlines: Cow<'_, [Outline]> = match within {
        None => Cow::Borrowed(&scene.outlines),
        Some(b) => Cow::Owned(scene.outlines.iter().map(|o| o.inside(b)).collect()),
    };
    search(scene, &outlines)
        .and_then(|found| assemble(scene, &outlines, &found))
        .ok_or_else(|| none_found(scene, bar, within))
}

/// The outlines that the likeliest thread is on.
pub(crate) fn toothed(scene: &Scene) -> Vec<usize> {
    let found = search(scene, &scene.outlines);
    found.iter().flat_map(|f| [&f.upper, &f.lower]).flatten().map(|row| row.outline).collect()
}

fn search(scene: &Scene, outlines: &[Outline]) -> Option<Found> {
    let thinned: Vec<Thinned> = outlines
        .iter()
        .enumerate()
        .filter(|(_, o)| o.points.len() > 40)
        .take(SEARCHED)
        .map(|(i, o)| Thinned::of(i, &o.points, o.closed, THINNED))
        .collect();
    let largest = outlines.iter().map(|o| o.bounds.diagonal()).fold(0.0, f64::max);
    let finest = match scene.drawn {
        Drawn::Shadow => (2.0 * scene.blur_px).max(3.0),
        Drawn::Line => (4.0 * scene.blur_px).max(6.0),
    };
    let mut best: Option<Found> = None;
    for i in 0..DIRECTIONS {
        let angle = (i as f64 / DIRECTIONS as f64 - 0.5) * std::f64::consts::PI;
        let axis = sense((angle.cos(), angle.sin()));
        let seen: Vec<Seen<'_>> = thinned.iter().map(|t| t.along(axis)).collect();
        let mut swings: Vec<Swings<'_>> = seen.iter().map(|s| s.swings(finest)).collect();
        let mut least = finest;
        let mut changed = true;
        while least < 0.25 * largest {
            if changed
                && let Some(found) = best_rows(&swings, axis)
                && best.as_ref().is_none_or(|b| found.score > b.score)
            {
                best = Some(found);
            }
            least *= 1.5;
            // Between the noise and the teeth there is nothing to lose.
            changed = false;
            for s in &mut swings {
                let coarser = s.coarser(least);
                changed |= !coarser.turns_as(s);
                *s = coarser;
            }
        }
    }
    let mut found = best?;
    // The direction along the flanks at half height is the axis; look again along it.
    for _ in 0..2 {
        let axis = sense(axis_of(&found).unwrap_or(found.axis));
        let height = heights(&found);
        let full: Vec<Thinned> = [&found.upper, &found.lower]
            .into_iter()
            .flatten()
            .map(|r| r.outline)
            .fold(Vec::new(), |mut v: Vec<usize>, o| {
                if !v.contains(&o) {
                    v.push(o);
                }
                v
            })
            .into_iter()
            .map(|o| Thinned::of(o, &outlines[o].points, outlines[o].closed, 3 * THINNED))
            .collect();
        let seen: Vec<Seen<'_>> = full.iter().map(|t| t.along(axis)).collect();
        let again = [0.35, 0.5, 0.65]
            .into_iter()
            .filter_map(|part| {
                let least = (part * height).max(finest);
                best_rows(&seen.iter().map(|s| s.swings(least)).collect::<Vec<_>>(), axis)
            })
            .max_by(|a, b| a.score.total_cmp(&b.score));
        match again {
            Some(again) if again.score > 0.7 * found.score => found = again,
            _ => break,
        }
    }
    if let Some(axis) = axis_of(&found) {
        found.axis = sense(axis);
    }
    Some(found)
}

/// Gives a direction the sense described at [`Thread`].
fn sense(a: (f64, f64)) -> (f64, f64) {
    let flip = if a.0.abs() < UPRIGHT { a.1 > 0.0 } else { a.0 < 0.0 };
    if flip { (-a.0, -a.1) } else { a }
}

fn heights(found: &Found) -> f64 {
    let mut h: Vec<f64> =
        [&found.upper, &found.lower].into_iter().flatten().map(|r| r.height).collect();
    median(&mut h)
}

/// Worth of a row: how far it reaches, how even it is, and that it has teeth enough.
fn row_score(row: &Row) -> f64 {
    let (from, to) = row.span();
    let teeth = row.flanks.len() as f64 / 2.0;
    let even = 1.0 / (1.0 + (row.uneven / 0.1).powi(2));
    (to - from) * even * (teeth / (teeth + 2.0))
}

fn best_rows(swings: &[Swings<'_>], axis: (f64, f64)) -> Option<Found> {
    let rows: Vec<(f64, Row)> = swings
        .iter()
        .flat_map(Swings::rows)
        // A tooth is neither a spike nor a ripple.
        .filter(|r| r.height < 3.0 * r.pitch && r.height > 0.05 * r.pitch)
        .map(|r| (row_score(&r), r))
        .collect();
    let mut best: Option<Found> = None;
    for (score, row) in &rows {
        let single = Found {
            upper: (row.direction > 0.0).then(|| row.clone()),
            lower: (row.direction < 0.0).then(|| row.clone()),
            axis,
            score: *score,
        };
        if best.as_ref().is_none_or(|b| single.score > b.score) {
            best = Some(single);
        }
    }
    for (su, upper) in rows.iter().filter(|r| r.1.direction > 0.0) {
        for (sl, lower) in rows.iter().filter(|r| r.1.direction < 0.0) {
            let total = su + sl;
            if best.as_ref().is_some_and(|b| total <= b.score) || !belong(upper, lower) {
                continue;
            }
            best = Some(Found {
                upper: Some(upper.clone()),
                lower: Some(lower.clone()),
                axis,
                score: total,
            });
        }
    }
    best
}

/// Whether two rows can be the two edges of one thread.
fn belong(upper: &Row, lower: &Row) -> bool {
    let ratio = upper.pitch / lower.pitch;
    let ((a0, a1), (b0, b1)) = (upper.span(), lower.span());
    let overlap = a1.min(b1) - a0.max(b0);
    let apart = lower.level() - upper.level();
    let height = upper.height.max(lower.height);
    (0.87..1.15).contains(&ratio)
        && upper.height < 2.0 * lower.height
        && lower.height < 2.0 * upper.height
        && overlap > 0.3 * (a1 - a0).min(b1 - b0)
        && apart > 1.3 * height
}

/// Direction of the lines through the flanks at half height, the two edges' mean.
fn axis_of(found: &Found) -> Option<(f64, f64)> {
    let (ax, ay) = found.axis;
    let mut sum = (0.0, 0.0);
    for row in [&found.upper, &found.lower].into_iter().flatten() {
        // Rising and falling flanks each lie on a line of their own when the section is not
        // symmetric; centre each kind before fitting.
        let mut centred = Vec::new();
        for rising in [false, true] {
            let kind: Vec<_> = row.flanks.iter().filter(|f| (f.swing > 0.0) == rising).collect();
            let n = kind.len().max(1) as f64;
            let (mu, mv) = kind.iter().fold((0.0, 0.0), |s, f| (s.0 + f.u / n, s.1 + f.v / n));
            centred.extend(kind.iter().map(|f| (f.u - mu, f.v - mv, 1.0)));
        }
        let line = Line::fit(centred.into_iter())?;
        let flip = if line.dx < 0.0 { -1.0 } else { 1.0 };
        let (from, to) = row.span();
        let weight = (to - from) * flip;
        sum = (sum.0 + weight * line.dx, sum.1 + weight * line.dy);
    }
    let norm = f64::hypot(sum.0, sum.1);
    if norm < 1e-9 {
        return None;
    }
    let (c, s) = (sum.0 / norm, sum.1 / norm);
    // (u, v) along and across the old axis.
    Some((ax * c - ay * s, ay * c + ax * s))
}

/// Takes the points of both edges.
fn assemble(scene: &Scene, outlines: &[Outline], found: &Found) -> Option<Thread> {
    let axis = found.axis;
    let edge = |row: &Option<Row>| -> Vec<EdgePoint> {
        row.as_ref().map_or_else(Vec::new, |r| edge_points(&outlines[r.outline], r, axis))
    };
    let (upper, lower) = (edge(&found.upper), edge(&found.lower));
    let rows: Vec<&Row> = [&found.upper, &found.lower].into_iter().flatten().collect();
    let pitch_px = mean_pitch(&rows)?;
    let teeth = rows.iter().map(|r| r.flanks.len().div_ceil(2)).max()?;
    let depth_px = heights(found);
    let mut ends_px = (f64::INFINITY, f64::NEG_INFINITY);
    for p in upper.iter().chain(&lower) {
        let u = p.x * axis.0 + p.y * axis.1;
        ends_px = (ends_px.0.min(u), ends_px.1.max(u));
    }
    if upper.len() + lower.len() < 20 || ends_px.0 > ends_px.1 {
        return None;
    }
    let mut thread =
        Thread { axis, upper, lower, pitch_px, teeth, depth_px, ends_px, notices: Vec::new() };
    thread.notices = notices(scene, &thread, &rows, outlines);
    Some(thread)
}

/// Spacing by least squares over flanks of one kind, the mean of the kinds and edges.
fn mean_pitch(rows: &[&Row]) -> Option<f64> {
    let (mut sum, mut weight) = (0.0, 0.0);
    for row in rows {
        for rising in [false, true] {
            let u: Vec<f64> = row
                .flanks
                .iter()
                .filter(|f| (f.swing > 0.0) == rising)
                .map(|f| f.u * row.direction)
                .collect();
            if u.len() < 2 {
                continue;
            }
            // Teeth that were skipped (dirt) leave larger steps: count them by rounding.
            let mut place = 0.0;
            let mut places = vec![0.0];
            for w in u.windows(2) {
                place += ((w[1] - w[0]) / row.pitch).round().max(1.0);
                places.push(place);
            }
            let n = u.len() as f64;
            let (mk, mu) = (places.iter().sum::<f64>() / n, u.iter().sum::<f64>() / n);
            let kk: f64 = places.iter().map(|k| (k - mk).powi(2)).sum();
            let ku: f64 = places.iter().zip(&u).map(|(k, u)| (k - mk) * (u - mu)).sum();
            sum += ku;
            weight += kk;
        }
    }
    (weight > 0.0).then(|| sum / weight).filter(|p| *p > 0.0)
}

/// Points of the outline from the row's first flank to its last and on to the ends of the teeth,
/// less a third of a pitch beside a cut end.
fn edge_points(outline: &Outline, row: &Row, axis: (f64, f64)) -> Vec<EdgePoint> {
    let p = &outline.points;
    let n = p.len();
    let (Some(first), Some(last)) = (row.flanks.first(), row.flanks.last()) else {
        return Vec::new();
    };
    let along = |q: &EdgePoint| (q.x * axis.0 + q.y * axis.1) * row.direction;
    let across = |q: &EdgePoint| q.y * axis.0 - q.x * axis.1;
    // The band that teeth fill, following a slope the two edges may have against the axis.
    let slope = {
        let (du, dv) = (last.u - first.u, last.v - first.v);
        // The first flank and the last are of the same kind where their number is odd.
        let same_kind = row.flanks.len() % 2 == 1;
        if same_kind && du.abs() > 1.0 { dv / du } else { 0.0 }
    };
    let centre = |u: f64| first.v + slope * (u - first.u);
    let in_band = |q: &EdgePoint| {
        let u = q.x * axis.0 + q.y * axis.1;
        (across(q) - centre(u)).abs() < 0.8 * row.height
    };
    let length = if outline.closed {
        (last.index + n - first.index) % n
    } else {
        last.index.saturating_sub(first.index)
    };
    // Widths of crest and root at half height: the step from a flank to the next of other kind.
    let steps = |rising: bool| {
        let mut s: Vec<f64> = row
            .flanks
            .windows(2)
            .filter(|w| (w[0].swing > 0.0) == rising)
            .map(|w| (w[1].u - w[0].u).abs())
            .collect();
        if s.is_empty() { 0.5 * row.pitch } else { median(&mut s) }
    };
    let after =
        extend(outline, last.index, 1, steps(last.swing > 0.0), row.pitch, &along, &in_band);
    let before =
        extend(outline, first.index, -1, steps(first.swing < 0.0), row.pitch, &along, &in_band);
    let (low, high) = (before.limit, after.limit);
    let start = (first.index + n - before.count % n) % n;
    let total = (before.count + length + after.count + 1).min(n);
    (0..total)
        .map(|i| p[(start + i) % n])
        .filter(|q| {
            let u = along(q);
            u >= low && u <= high
        })
        .collect()
}

struct Extension {
    /// Points beyond the outermost flank.
    count: usize,
    /// Coordinate along the contour's direction beyond which nothing is kept.
    limit: f64,
}

/// Follows the contour outward from the outermost flank at `from` (`way` +1 on, -1 back).
fn extend(
    outline: &Outline,
    from: usize,
    way: i64,
    step: f64,
    pitch: f64,
    along: &dyn Fn(&EdgePoint) -> f64,
    in_band: &dyn Fn(&EdgePoint) -> bool,
) -> Extension {
    let p = &outline.points;
    let n = p.len() as i64;
    let sign = way as f64;
    let start = along(&p[from]);
    // Along the next crest or root, but no farther: beyond may be a plain shank.
    let reach = step;
    let mut farthest = start;
    let mut count = 0usize;
    let mut ended = false;
    let mut i = from as i64;
    let most = (n as usize).saturating_sub(1);
    while count < most {
        let mut next = i + way;
        if outline.closed {
            next = next.rem_euclid(n);
        } else if next < 0 || next >= n {
            ended = true;
            break;
        }
        let q = &p[next as usize];
        let previous = &p[i as usize];
        let u = along(q);
        let gap = (q.x - previous.x).hypot(q.y - previous.y) > 8.0 * GAP_PX;
        // A cut end: the contour leaves the teeth's band, or turns back.
        if gap || !in_band(q) || (farthest - u) * sign > 0.25 * pitch {
            ended = true;
            break;
        }
        if (u - farthest) * sign > 0.0 {
            farthest = u;
        }
        count += 1;
        i = next;
        if (u - start) * sign > reach {
            break;
        }
    }
    let limit = if ended {
        // The outline near a cut end is that of the end, not of the thread.
        farthest - sign * pitch / 3.0
    } else {
        // The contour goes on where the next flank should have been: a shank, a point, a run-out.
        start + sign * 0.4 * reach
    };
    Extension { count, limit }
}

fn notices(scene: &Scene, thread: &Thread, rows: &[&Row], outlines: &[Outline]) -> Vec<Notice> {
    let mut out = Vec::new();
    let at = PixelBox::around(thread.upper.iter().chain(&thread.lower).map(|p| (p.x, p.y)));
    if thread.teeth < 4 {
        out.push(Notice::new(
            "few-teeth",
            format!(
                "only {} teeth are in view (at least 4 wanted, 8 or more are good): pitch and \
                 camera distance will be uncertain. Show more of the screw.",
                thread.teeth
            ),
            at,
        ));
    }
    if thread.pitch_px < 30.0 || thread.depth_px < 10.0 {
        out.push(Notice::new(
            "thread-small",
            format!(
                "the teeth are small in the picture: {:.0} px apart and {:.0} px high (at least \
                 30 and 10 wanted). Go nearer, zoom with the lens, or use more of the camera's \
                 pixels.",
                thread.pitch_px, thread.depth_px
            ),
            at,
        ));
    }
    let blur = rows.iter().map(|r| outlines[r.outline].blur_px).fold(0.0, f64::max);
    if scene.drawn == Drawn::Shadow
        && (blur > 0.15 * thread.depth_px || blur > 0.06 * thread.pitch_px)
    {
        out.push(Notice::new(
            "thread-blurred",
            format!(
                "the thread's edge is blurred over {blur:.1} px (limit {:.1} px for teeth of this \
                 size). Focus on the screw's edge and hold the camera still.",
                (0.15 * thread.depth_px).min(0.06 * thread.pitch_px)
            ),
            at,
        ));
    }
    if thread.upper.is_empty() || thread.lower.is_empty() {
        out.push(Notice::new(
            "one-edge",
            "only one edge of the thread is in the picture, so its diameter cannot be read from \
             it; angles, hand and starts are less certain than from both edges, and the thread is \
             taken as parallel: a taper of 1:16 would turn both flanks by 1.8°, one way each. Show \
             both edges, or give the diameter.",
            at,
        ));
    }
    out
}

fn none_found(scene: &Scene, bar: Option<&Bar>, within: Option<PixelBox>) -> PictureError {
    // The largest object that is not the bar is the likely screw.
    let bar_at =
        bar.map(|b| b.corners.iter().fold((0.0, 0.0), |s, c| (s.0 + 0.25 * c.0, s.1 + 0.25 * c.1)));
    let other = scene
        .outlines
        .iter()
        .map(|o| o.bounds)
        .find(|b| bar_at.is_none_or(|(x, y)| !b.contains(x, y)));
    let diagonal = (scene.width as f64).hypot(scene.height as f64);
    let place = within.or(other);
    match other {
        _ if within.is_some() => PictureError::unmeasurable(
            "no-thread",
            "no row of teeth was found in the box (at least 2 evenly spaced teeth are needed). \
             Draw the box round the threaded part, both edges if both are in view.",
            place,
        ),
        None => PictureError::unmeasurable(
            "no-thread",
            "no thread was found: nothing but the bar has a clean outline. Put the screw in front \
             of the light beside the bar, not touching it.",
            place,
        ),
        Some(b) if b.diagonal() < 0.1 * diagonal => PictureError::unmeasurable(
            "thread-small",
            format!(
                "no teeth could be seen: the largest object beside the bar is only {:.0} px long \
                 in a picture of {:.0} px (at least a tenth is needed). Go nearer.",
                b.diagonal(),
                diagonal
            ),
            place,
        ),
        Some(_) if scene.blur_px > 0.004 * diagonal => PictureError::unmeasurable(
            "too-blurred",
            format!(
                "no teeth could be seen: edges are blurred over {:.0} px (limit {:.0} px in this \
                 picture). Focus on the screw's edge and hold the camera still.",
                scene.blur_px,
                0.004 * diagonal
            ),
            place,
        ),
        Some(_) => PictureError::unmeasurable(
            "too-few-teeth",
            "no row of at least 2 evenly spaced teeth was found on any object. Show the threaded \
             part square to its axis, clean, with several teeth against the light; or draw a box \
             round it.",
            place,
        ),
    }
}
