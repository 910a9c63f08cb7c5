//! The reference bar: two long, straight, nearly parallel edges of one object.

use crate::geometry::{Line, PixelBox, median};
use crate::notice::{Notice, PictureError};
use crate::outline::{EdgePoint, Outline};
use crate::straight::{Side, sides};
use crate::thread::toothed;
use crate::tone::Tone;
use crate::trace::{Drawn, Scene};

/// The bar as found.
#[derive(Clone, Debug)]
pub struct Bar {
    /// Points of the two long edges, ends and corners left out. The first edge is the upper one
    /// (for an upright bar the left one).
    pub edges: [Vec<EdgePoint>; 2],
    /// Unit direction along the bar, x not negative.
    pub axis: (f64, f64),
    /// Distance between the edges across the bar, half-way along, in pixels.
    pub width_px: f64,
    /// Distance between the two ends, px, where the bar is hardly longer than wide and that may as well
    /// be its width.
    pub or_width_px: Option<f64>,
    /// The four ends of the edges as fitted, for drawing: along the first edge, back along the
    /// second.
    pub corners: [(f64, f64); 4],
    /// Distance of each edge's middle from the chord of its ends (sagitta), in pixels.
    pub bow_px: [f64; 2],
    /// Standard uncertainty with which all edges of the picture may lie off together, out of the metal
    /// or into it, because light and dark were not recorded in proportion (cut off at white, inverted
    /// by a program), px; 0 where the profile of its edges gives no cause.
    pub displaced_px: f64,
    /// Light that things show along their edges, as a part of the background's: 0 where all are black.
    pub rim: f64,
    /// What deserves a second look.
    pub notices: Vec<Notice>,
}

/// By how much all edges of a picture may lie off together, px (standard uncertainty; empirical: what gamma,
/// blur, compression and the raster leave of edges located in linear light).
pub const TOGETHER_PX: f64 = 0.04;
/// The same of one edge, or one piece of an outline, by itself, px.
pub const ALONE_PX: f64 = 0.011;

impl Bar {
    /// Standard uncertainty of [`Bar::width_px`]: its edges lie off together, out of the metal or into it,
    /// or one by itself, and are noisy.
    #[must_use]
    pub fn width_u_px(&self) -> f64 {
        let noise = |edge: &Vec<EdgePoint>| {
            let n = edge.len().max(1) as f64;
            edge.iter().map(|p| p.sigma_px * p.sigma_px).sum::<f64>().sqrt() / n
        };
        let apart: f64 = self.edges.iter().map(|e| noise(e).hypot(ALONE_PX).powi(2)).sum();
        let together = 2.0 * self.displaced_px.hypot(TOGETHER_PX);
        together.hypot(apart.sqrt()).hypot(self.or_u_px())
    }

    /// Standard uncertainty of [`Bar::width_px`] for the distance that may as well be the width, px:
    /// either is as likely.
    #[must_use]
    pub fn or_u_px(&self) -> f64 {
        self.or_width_px.map_or(0.0, |or| (or - self.width_px).abs() / 2f64.sqrt())
    }
}

/// A pair of sides that may be a bar.
struct Pair {
    outlines: [usize; 2],
    sides: [Side; 2],
    score: f64,
}

/// Width, blur apart, below which nothing is taken for a bar, px: its edges would tell the scale to a
/// few parts in a thousand at best.
const LEAST_WIDTH_PX: f64 = 10.0;

/// Sagitta over length above which a bar is called bent; a phone's lens alone stays below.
const BENT: f64 = 0.004;

/// Finds the reference bar; only inside `within` if given.
///
/// # Errors
/// [`PictureError::Unmeasurable`] when there is none, with the reason.
pub fn find_bar(scene: &Scene, within: Option<PixelBox>) -> Result<Bar, PictureError> {
    let diagonal = (scene.width as f64).hypot(scene.height as f64);
    let base = match scene.drawn {
        Drawn::Shadow => 1.2,
        Drawn::Line => (1.2 * scene.blur_px).max(2.0),
    };
    let inside: Vec<Vec<EdgePoint>> = scene
        .outlines
        .iter()
        .map(|o| match within {
            None => o.points.clone(),
            Some(b) => o.points.iter().filter(|p| b.contains(p.x, p.y)).copied().collect(),
        })
        .collect();
    // A bent bar shows only to a more lenient eye; a thread's crests must not pass as straight.
    let mut pairs = Vec::new();
    for lenience in [1.0, 2.5, 6.0] {
        pairs = find_pairs(scene, &inside, base * lenience, diagonal);
        if !pairs.is_empty() {
            break;
        }
    }
    pairs.sort_by(|a, b| b.score.total_cmp(&a.score));
    if within.is_none() && rival(&pairs).is_some() {
        // The cut ends of a short thread are straight and parallel too, but it has teeth.
        let toothed = toothed(scene);
        let plain = |p: &Pair| !p.outlines.iter().any(|o| toothed.contains(o));
        if pairs.iter().any(plain) {
            pairs.retain(plain);
        }
    }
    // The first whose edges are edges.
    let found = pairs.iter().position(|pair| measure(&inside, pair, scene).is_some());
    pairs.drain(..found.unwrap_or(pairs.len()));
    let Some(best) = pairs.first() else { return Err(none_found(scene, within)) };
    let mut bar = measure(&inside, best, scene).ok_or_else(|| none_found(scene, within))?;
    // Two sides that are not a bar's only for being shorter.
    let turned = pairs.iter().skip(1).find(|p| {
        let [a, b] = [&best.sides[0], &p.sides[0]];
        p.score > 0.5 * best.score
            && p.outlines == best.outlines
            && (a.nx * b.nx + a.ny * b.ny).abs() < 0.3
    });
    if let Some(turned) = turned {
        bar.or_width_px = measure(&inside, turned, scene).map(|other| other.width_px);
        bar.notices.push(Notice::new(
            "bar-short",
            "the bar is hardly longer than wide in the picture, and nothing tells which is its width; \
             the distance between its longer sides was taken, and all is as uncertain as the two \
             differ. Use a bar twice as long as it is wide.",
            Some(scene.outlines[best.outlines[0]].bounds),
        ));
    }
    if let Some(rival) = rival(&pairs) {
        let at = scene.outlines[rival.outlines[0]].bounds;
        bar.notices.push(Notice::new(
            "two-bars",
            "more than one object in the picture could be the bar; the longer, straighter one \
             was taken. Draw a box round the right one if this is not it.",
            Some(at),
        ));
    }
    Ok(bar)
}

/// A pair on another object that is not much less of a bar than the first.
fn rival(pairs: &[Pair]) -> Option<&Pair> {
    let best = pairs.first()?;
    pairs.iter().skip(1).find(|p| {
        p.score > 0.35 * best.score && !p.outlines.iter().any(|o| best.outlines.contains(o))
    })
}

fn find_pairs(
    scene: &Scene,
    inside: &[Vec<EdgePoint>],
    tolerance: f64,
    diagonal: f64,
) -> Vec<Pair> {
    let all: Vec<Vec<Side>> = inside
        .iter()
        .zip(&scene.outlines)
        .map(|(points, o)| {
            let tolerance = tolerance.max(0.5 * o.blur_px);
            sides(points, tolerance, (0.02 * diagonal).max(16.0))
        })
        .collect();
    // Once for each outline: among thousands of stripes every pair is looked at below.
    let lengths: Vec<f64> = inside.iter().map(|points| perimeter(points).max(1.0)).collect();
    let mut pairs = Vec::new();
    for (i, sides) in all.iter().enumerate() {
        let length = lengths[i];
        // The border of the picture may have cut off most of one edge.
        let cut_off = scene.outlines[i].touches_border;
        let least_opposite = if cut_off { 0.0 } else { LEAST_OPPOSITE };
        for (a, first) in sides.iter().enumerate() {
            for second in &sides[a + 1..] {
                if let Some(fit) = fit_of(first, second, scene, diagonal, least_opposite) {
                    let share = (first.covered + second.covered) / length;
                    if share > 0.4 {
                        pairs.push(Pair {
                            outlines: [i, i],
                            sides: [first.clone(), second.clone()],
                            score: fit * share * share,
                        });
                    }
                }
            }
        }
    }
    if scene.drawn == Drawn::Shadow {
        let joined = streaked(&pairs, scene, diagonal);
        pairs.extend(joined);
    }
    if pairs.is_empty() && scene.drawn == Drawn::Line {
        // A bar drawn as two lines that nothing joins: the far flanks of two strokes.
        let whole = |i: usize| {
            all[i].iter().filter({
                let length = lengths[i];
                move |s| s.covered / length >= 0.4
            })
        };
        for i in 0..all.len() {
            for j in i + 1..all.len() {
                for first in whole(i) {
                    for second in whole(j) {
                        if let Some(fit) = fit_of(first, second, scene, diagonal, LEAST_OPPOSITE) {
                            pairs.push(Pair {
                                outlines: [i, j],
                                sides: [first.clone(), second.clone()],
                                score: 0.5 * fit,
                            });
                        }
                    }
                }
            }
        }
    }
    pairs
}

/// By how much, in blurs, edges may lie off together when light and dark are not in proportion: one cut
/// off at half its light lies 0.7 off, one at a quarter 1.2, one turned over by a program 1.2; one
/// blurred as a file 0.4, one sharpened 0.2 of what its blur then seems, one whose contrast was bent by
/// half 0.07. Empirical, as what follows.
const DISPLACED_BLURS: f64 = 1.0;
const DISPLACED_IF_SMOOTHED: f64 = 0.5;
const DISPLACED_IF_WHITE: f64 = 0.3;
/// Part of an edge at white from which on the light beyond is taken as cut off where no tone is known.
const MOSTLY_WHITE: f64 = 0.6;
const DISPLACED_IF_SHARPENED: f64 = 0.25;
const DISPLACED_IF_BENT: f64 = 0.07;
/// Part of an edge that must be at white for its being cut off to be believed.
const AT_WHITE: f64 = 0.3;
/// Blur, px, below which pixels hide whether a picture was blurred as a file; it then hardly matters.
const LEAST_BLUR_PX: f64 = 0.7;

fn displaced_px(scene: &Scene, outline: &Outline) -> f64 {
    let cut_off = scene.tone.is_some_and(Tone::is_cut_off)
        || (outline.clipped > AT_WHITE && outline.tone.is_some_and(Tone::is_lowered));
    let raised = scene.tone.is_some_and(Tone::is_raised);
    let smoothed = scene.tone.is_some_and(Tone::is_lowered) && outline.blur_px > LEAST_BLUR_PX;
    // Nothing black in the picture tells its tones, yet most of the background is at white.
    let white = scene.tone.is_none() && outline.clipped > MOSTLY_WHITE;
    let blurs = if white {
        DISPLACED_IF_WHITE
    } else if cut_off || raised {
        DISPLACED_BLURS
    } else if smoothed {
        DISPLACED_IF_SMOOTHED
    } else if scene.tone.is_some_and(Tone::is_sharpened) {
        DISPLACED_IF_SHARPENED
    } else if scene.tone.is_some_and(Tone::is_bent) {
        DISPLACED_IF_BENT
    } else {
        0.0
    };
    blurs * outline.blur_px
}

/// Length of an outline, gaps left out.
fn perimeter(points: &[EdgePoint]) -> f64 {
    points.windows(2).map(|w| (w[1].x - w[0].x).hypot(w[1].y - w[0].y)).filter(|&d| d < 40.0).sum()
}

/// Width from which on two sides may be those of a bar, px.
fn least_width_px(scene: &Scene) -> f64 {
    match scene.drawn {
        // The flanks of a stroke taken for a shadow are parallel too.
        Drawn::Shadow => 3.0 * scene.blur_px + LEAST_WIDTH_PX,
        // Both flanks of a single stroke have their middles at the same place.
        Drawn::Line => 6.0 * scene.blur_px + 3.0,
    }
}

/// Part of the longer side along which the other must lie opposite it: with less, one of the two is the
/// edge of a shadow or of something else.
const LEAST_OPPOSITE: f64 = 0.4;
/// Scatter of an edge about its own smooth line beyond which it is no machined edge, px and in
/// uncertainties of its points.
const ROUGH: (f64, f64) = (0.45, 2.0);

/// Places found per pixel of an edge's length below which it is no edge.
const LEAST_DENSITY: f64 = 0.4;
/// Part of the places of one edge, for its length, that the other must have.
const LEAST_ALIKE: f64 = 0.65;
/// Sagitta over length beyond which an edge is not a bar's.
const MOST_BENT: f64 = 0.012;

/// How well two sides could be those of a bar; `None` when they could not.
///
/// `least_opposite` is the part of the longer side along which the other must lie opposite it.
fn fit_of(a: &Side, b: &Side, scene: &Scene, diagonal: f64, least_opposite: f64) -> Option<f64> {
    // Facing apart, within eight degrees: a leaning wall spreads a bar's edges by some.
    if a.nx * b.nx + a.ny * b.ny > -0.99 {
        return None;
    }
    let solid = |s: &Side| s.covered / (s.to - s.from).max(1.0);
    if solid(a) < 0.6 || solid(b) < 0.6 {
        return None;
    }
    let end = |s: &Side, u: f64| (s.line.x + u * s.line.dx, s.line.y + u * s.line.dy);
    let (b1, b2) = (end(b, b.from), end(b, b.to));
    let (u1, u2) = (a.line.along(b1.0, b1.1), a.line.along(b2.0, b2.1));
    let (from, to) = (a.from.max(u1.min(u2)), a.to.min(u1.max(u2)));
    let overlap = to - from;
    let shorter = (a.to - a.from).min(b.to - b.from);
    let longer = (a.to - a.from).max(b.to - b.from);
    if overlap < 0.5 * shorter || overlap < least_opposite * longer || overlap < 12.0 {
        return None;
    }
    let middle = end(a, 0.5 * (from + to));
    let opposite = end(b, b.line.along(middle.0, middle.1));
    let width = (middle.0 - opposite.0) * a.nx + (middle.1 - opposite.1) * a.ny;
    if width < least_width_px(scene) || overlap < 0.8 * width {
        return None;
    }
    let slender = (overlap / (1.5 * width)).min(1.0);
    // Of two rods the thicker is the likelier bar: it tells more, and is less likely to be a handle or pin.
    Some(solid(a) * solid(b) * slender * (overlap / diagonal).sqrt() * (width / diagonal).sqrt())
}

/// Part of their length by which the ends of two bands that are one bar may differ.
const ENDS_APART: f64 = 0.03;
/// Angle, radians, within which the sides of one bar are parallel in the picture; two that lie side by side
/// seldom are.
const PARALLEL: f64 = 0.006;
/// Most width of a bar that shows as two dark bands, in widths of both together.
const STREAK: f64 = 1.8;

/// A shining bar whose middle is as light as the background shows as two dark bands: those of one length,
/// side by side, are taken for one bar with the outer sides.
fn streaked(pairs: &[Pair], scene: &Scene, diagonal: f64) -> Vec<Pair> {
    let mut joined = Vec::new();
    for (i, first) in pairs.iter().enumerate() {
        for second in &pairs[i + 1..] {
            if first.outlines[0] == second.outlines[0] {
                continue;
            }
            let width = |p: &Pair| {
                let [a, b] = &p.sides;
                let middle = 0.5 * (a.from + a.to);
                b.line.offset(a.line.x + middle * a.line.dx, a.line.y + middle * a.line.dy).abs()
            };
            let best = first
                .sides
                .iter()
                .flat_map(|a| second.sides.iter().map(move |b| (a, b)))
                .filter(|(a, b)| (a.nx * b.ny - a.ny * b.nx).abs() < PARALLEL)
                .filter(|(a, b)| a.nx * b.nx + a.ny * b.ny < 0.0)
                .filter(|(a, b)| {
                    let along =
                        |u: f64| a.line.along(b.line.x + u * b.line.dx, b.line.y + u * b.line.dy);
                    let (u, v) = (along(b.from), along(b.to));
                    let most = ENDS_APART * (a.to - a.from);
                    (u.min(v) - a.from).abs() < most && (u.max(v) - a.to).abs() < most
                })
                .filter_map(|(a, b)| {
                    let middle = 0.5 * (a.from + a.to);
                    let (x, y) = (a.line.x + middle * a.line.dx, a.line.y + middle * a.line.dy);
                    let apart = b.line.offset(x, y).abs();
                    let both = width(first) + width(second);
                    (apart > both && apart < STREAK * both)
                        .then(|| Some((a, b, fit_of(a, b, scene, diagonal, LEAST_OPPOSITE)?)))
                        .flatten()
                })
                .max_by(|p, q| p.2.total_cmp(&q.2));
            if let Some((a, b, score)) = best {
                joined.push(Pair {
                    outlines: [first.outlines[0], second.outlines[0]],
                    sides: [a.clone(), b.clone()],
                    score,
                });
            }
        }
    }
    joined
}

/// One of the two long edges.
struct Edge {
    /// Points on the edge, ends, corners and strays left out.
    points: Vec<EdgePoint>,
    /// The straight line through their bulk.
    line: Line,
    /// Distance of its middle from the chord of its ends, px.
    bow_px: f64,
    /// Length of the side it belongs to, corners included, px.
    length_px: f64,
}

impl Edge {
    /// The edge along `side` of an outline; `None` where too few of its `points` lie on one.
    fn of(points: &[EdgePoint], side: &Side, blur_px: f64, rough_matters: bool) -> Option<Self> {
        let points = beside(points, side, blur_px);
        let (line, scale) =
            Line::fit_robust(&points.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>())?;
        let bend = Bend::of(&points, line, scale);
        let typical = median(&mut points.iter().map(|p| p.sigma_px).collect::<Vec<_>>());
        let reach = 5.0 * bend.scale.max(typical) + 0.05;
        let kept: Vec<EdgePoint> =
            points.iter().filter(|p| bend.residual(p).abs() < reach).copied().collect();
        if kept.len() < 12 {
            return None;
        }
        if rough_matters && bend.scale > ROUGH.0.max(ROUGH.1 * typical.min(0.8)) {
            return None;
        }
        let length_px = side.to - side.from;
        // Where light merely fades, a place of it is found here and there.
        let sparse = (kept.len() as f64) < LEAST_DENSITY * side.covered;
        let bent = bend.sagitta().abs() > MOST_BENT * length_px;
        if rough_matters && (sparse || bent) {
            return None;
        }
        Some(Self { points: kept, line, bow_px: bend.sagitta(), length_px })
    }

    /// Where its points begin and end along `axis`, px.
    fn extent(&self, axis: (f64, f64)) -> (f64, f64) {
        self.points
            .iter()
            .map(|p| p.x * axis.0 + p.y * axis.1)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |r, u| (r.0.min(u), r.1.max(u)))
    }
}

/// The points of an outline near `side` and facing as it does; those near its ends are left out, where
/// blur rounds the corners.
fn beside(points: &[EdgePoint], side: &Side, blur_px: f64) -> Vec<EdgePoint> {
    let length = side.to - side.from;
    let trim = (4.0 * blur_px + 2.0).max(0.015 * length).min(0.2 * length);
    let lies = |p: &&EdgePoint| {
        let u = side.line.along(p.x, p.y);
        u > side.from + trim
            && u < side.to - trim
            && side.line.offset(p.x, p.y).abs() < 0.02 * length + 6.0
            && p.nx * side.nx + p.ny * side.ny > 0.94
    };
    points.iter().filter(lies).copied().collect()
}

/// The edges with the upper one first, for an upright bar the left one; `side` is that of `first`.
fn upper_first(first: Edge, second: Edge, side: &Side) -> [Edge; 2] {
    let swap = if side.ny.abs() > 0.2 { side.ny > 0.0 } else { side.nx > 0.0 };
    if swap { [second, first] } else { [first, second] }
}

/// Unit direction half-way between two lines, x not negative, whichever way each of them runs.
fn between(a: &Line, b: &Line) -> (f64, f64) {
    let against = if a.dx.abs() > 1e-6 { a.dx < 0.0 } else { a.dy < 0.0 };
    let (ax, ay) = if against { (-a.dx, -a.dy) } else { (a.dx, a.dy) };
    let (bx, by) = if ax * b.dx + ay * b.dy < 0.0 { (-b.dx, -b.dy) } else { (b.dx, b.dy) };
    let (dx, dy) = (ax + bx, ay + by);
    let norm = dx.hypot(dy);
    let axis = (dx / norm, dy / norm);
    if axis.0 < 0.0 { (-axis.0, -axis.1) } else { axis }
}

/// The point of `line` at `u` px along `axis`.
fn point_at(line: &Line, axis: (f64, f64), u: f64) -> (f64, f64) {
    let along = u - (line.x * axis.0 + line.y * axis.1);
    let t = along / (line.dx * axis.0 + line.dy * axis.1);
    (line.x + t * line.dx, line.y + t * line.dy)
}

/// Takes the points of both sides and measures across them.
fn measure(inside: &[Vec<EdgePoint>], pair: &Pair, scene: &Scene) -> Option<Bar> {
    let outlines = pair.outlines.map(|o| &scene.outlines[o]);
    // Along the border of the picture there is too little light beyond an edge to be particular.
    let shadow = scene.drawn == Drawn::Shadow && !outlines.iter().any(|o| o.touches_border);
    let edge =
        |i: usize| Edge::of(&inside[pair.outlines[i]], &pair.sides[i], outlines[i].blur_px, shadow);
    let [a, b] = upper_first(edge(0)?, edge(1)?, &pair.sides[0]);
    let density = |e: &Edge| e.points.len() as f64 / e.length_px.max(1.0);
    let (thin, thick) = (density(&a).min(density(&b)), density(&a).max(density(&b)));
    if shadow && thin < LEAST_ALIKE * thick {
        return None;
    }
    let axis = between(&a.line, &b.line);
    let (along_a, along_b) = (a.extent(axis), b.extent(axis));
    let middle = 0.5 * (along_a.0.max(along_b.0) + along_a.1.min(along_b.1));
    let on_a = |u: f64| point_at(&a.line, axis, u);
    let on_b = |u: f64| point_at(&b.line, axis, u);
    let (middle_a, middle_b) = (on_a(middle), on_b(middle));
    let width_px = (middle_a.0 - middle_b.0).hypot(middle_a.1 - middle_b.1);
    let corners = [on_a(along_a.0), on_a(along_a.1), on_b(along_b.1), on_b(along_b.0)];
    let displaced_px = outlines.map(|o| displaced_px(scene, o)).into_iter().fold(0.0, f64::max);
    let place = PixelBox::around(corners);
    let notices = [
        not_straight(&a, &b, place),
        blurred(scene.drawn, outlines, width_px, place),
        small(width_px, place),
        cut_off(outlines, place),
        tones_changed(displaced_px, outlines[0].bounds),
    ];
    Some(Bar {
        bow_px: [a.bow_px, b.bow_px],
        edges: [a.points, b.points],
        axis,
        width_px,
        or_width_px: None,
        corners,
        displaced_px,
        rim: scene.outlines.iter().map(|o| o.rim).fold(0.0, f64::max),
        notices: notices.into_iter().flatten().collect(),
    })
}

/// That the bar is bent, or the lens bends it.
fn not_straight(a: &Edge, b: &Edge, place: Option<PixelBox>) -> Option<Notice> {
    let worst = (a.bow_px.abs() / a.length_px).max(b.bow_px.abs() / b.length_px);
    (worst > BENT).then(|| {
        let text = format!(
            "the bar's edges bow by {:.1} px over {:.0} px, {:.2} % of the length (limit \
             {:.1} %). Use a straight bar, and keep it and the screw near the middle of the \
             picture where the lens is true.",
            a.bow_px.abs().max(b.bow_px.abs()),
            a.length_px.max(b.length_px),
            100.0 * worst,
            100.0 * BENT
        );
        Notice::new("bar-not-straight", text, place)
    })
}

/// That the blur of a shadow is no small part of the bar.
fn blurred(
    drawn: Drawn,
    outlines: [&Outline; 2],
    width_px: f64,
    place: Option<PixelBox>,
) -> Option<Notice> {
    let soft = outlines.iter().any(|o| o.blur_px > 0.08 * width_px);
    (soft && drawn == Drawn::Shadow).then(|| {
        let text = format!(
            "the bar's edges are blurred over {:.1} px, {:.0} % of its width (limit 8 %). \
             Focus on the bar and the screw, and take the picture from nearer or with more \
             pixels.",
            outlines[0].blur_px,
            100.0 * outlines[0].blur_px / width_px
        );
        Notice::new("bar-blurred", text, place)
    })
}

/// That the bar has few pixels across it.
fn small(width_px: f64, place: Option<PixelBox>) -> Option<Notice> {
    (width_px < 40.0).then(|| {
        let text = format!(
            "the bar is only {width_px:.0} px wide (at least 40 px wanted); the scale is no \
             better than its edges. Use a wider bar, or fill more of the picture."
        );
        Notice::new("bar-small", text, place)
    })
}

/// That the bar is not all in view.
fn cut_off(outlines: [&Outline; 2], place: Option<PixelBox>) -> Option<Notice> {
    let text = "the bar runs out of the picture; what is visible of it was used.";
    let touches = outlines.iter().any(|o| o.touches_border);
    touches.then(|| Notice::new("bar-cut-off", text, place))
}

/// That edges may lie `displaced_px` off, because light and dark are not in proportion.
fn tones_changed(displaced_px: f64, at: PixelBox) -> Option<Notice> {
    (displaced_px > 0.0).then(|| {
        let text = format!(
            "light and dark are not in proportion along the bar: the picture is overexposed, or a \
             program has changed its tones or contrast, smoothed or sharpened it. All edges may lie \
             {displaced_px:.1} px off, which makes the scale uncertain. Take the picture with less \
             exposure, without effects, and use the file as it came from the camera."
        );
        Notice::new("tones-changed", text, Some(at))
    })
}

/// A parabola along a nearly straight edge, robustly fitted.
struct Bend {
    line: Line,
    half: f64,
    c: [f64; 3],
    scale: f64,
}

impl Bend {
    fn of(points: &[EdgePoint], line: Line, scale: f64) -> Self {
        let half = points.iter().map(|p| line.along(p.x, p.y).abs()).fold(1.0, f64::max);
        let mut bend = Self { line, half, c: [0.0; 3], scale };
        for _ in 0..6 {
            let reach = (4.7 * bend.scale).max(0.02);
            // Normal equations of 1, t, t^2.
            let mut s = [0f64; 5];
            let mut b = [0f64; 3];
            for p in points {
                let r = bend.residual(p) / reach;
                if r.abs() >= 1.0 {
                    continue;
                }
                let w = (1.0 - r * r).powi(2);
                let t = line.along(p.x, p.y) / half;
                let y = line.offset(p.x, p.y);
                let mut power = w;
                for (i, s) in s.iter_mut().enumerate() {
                    *s += power;
                    if i < 3 {
                        b[i] += power * y;
                    }
                    power *= t;
                }
            }
            let Some(c) = solve3([[s[0], s[1], s[2]], [s[1], s[2], s[3]], [s[2], s[3], s[4]]], b)
            else {
                break;
            };
            bend.c = c;
            let mut off: Vec<f64> = points.iter().map(|p| bend.residual(p).abs()).collect();
            bend.scale = 1.4826 * median(&mut off);
        }
        bend
    }

    fn residual(&self, p: &EdgePoint) -> f64 {
        let t = self.line.along(p.x, p.y) / self.half;
        self.line.offset(p.x, p.y) - (self.c[0] + t * (self.c[1] + t * self.c[2]))
    }

    /// Height of the arc over the chord of its ends.
    fn sagitta(&self) -> f64 {
        self.c[2]
    }
}

fn solve3(m: [[f64; 3]; 3], b: [f64; 3]) -> Option<[f64; 3]> {
    let det = |m: &[[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
            - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    let d = det(&m);
    if d.abs() < 1e-12 {
        return None;
    }
    let mut out = [0.0; 3];
    for (i, o) in out.iter_mut().enumerate() {
        let mut replaced = m;
        for (row, &value) in replaced.iter_mut().zip(&b) {
            row[i] = value;
        }
        *o = det(&replaced) / d;
    }
    Some(out)
}

fn none_found(scene: &Scene, within: Option<PixelBox>) -> PictureError {
    let cut = scene.outlines.iter().find(|o| o.touches_border).map(|o| o.bounds);
    let place = within.or(cut);
    let least = least_width_px(scene);
    let text = match (within, cut) {
        (Some(b), _) => format!(
            "no bar was found in the box at {:.0}, {:.0} of {:.0} x {:.0} px: it needs two long \
             straight parallel edges inside the box, {least:.0} px apart or more. Draw the box round \
             the whole bar.",
            b.x, b.y, b.w, b.h
        ),
        (None, Some(_)) => format!(
            "no bar was found: no object shows two long straight parallel edges {least:.0} px apart \
             or more. One object runs out of the picture; if that is the bar, both its long edges \
             must be in view. Or draw a box round the bar."
        ),
        (None, None) => format!(
            "no bar was found: no object shows two long straight parallel edges {least:.0} px apart \
             or more. Lay a straight rod or strip of known width beside the screw, apart from it and \
             from anything else (not bent, not touching), or draw a box round it."
        ),
    };
    PictureError::unmeasurable("no-bar", text, place)
}
