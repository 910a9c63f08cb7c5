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
    /// The four ends of the edges as fitted, for drawing: along the first edge, back along the
    /// second.
    pub corners: [(f64, f64); 4],
    /// Distance of each edge's middle from the chord of its ends (sagitta), in pixels.
    pub bow_px: [f64; 2],
    /// Standard uncertainty with which all edges of the picture may lie off together, out of the metal
    /// or into it, because light and dark were not recorded in proportion (cut off at white, inverted
    /// by a program), px; 0 where the profile of its edges gives no cause.
    pub displaced_px: f64,
    /// What deserves a second look.
    pub notices: Vec<Notice>,
}

/// By how much all edges of a picture may lie off together, px (standard uncertainty; empirical: what gamma,
/// blur, compression and the raster leave of edges located in linear light).
pub const TOGETHER_PX: f64 = 0.02;
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
        (2.0 * self.displaced_px.hypot(TOGETHER_PX)).hypot(apart.sqrt())
    }
}

/// A pair of sides that may be a bar.
struct Pair {
    outlines: [usize; 2],
    sides: [Side; 2],
    score: f64,
}

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
    let Some(best) = pairs.first() else { return Err(none_found(scene, within)) };
    let mut bar = measure(&inside, best, scene).ok_or_else(|| none_found(scene, within))?;
    // Two sides that are not a bar's only for being shorter.
    let turned = pairs.iter().skip(1).find(|p| {
        let [a, b] = [&best.sides[0], &p.sides[0]];
        p.score > 0.5 * best.score
            && p.outlines == best.outlines
            && (a.nx * b.nx + a.ny * b.ny).abs() < 0.3
    });
    if turned.is_some() {
        bar.notices.push(Notice::new(
            "bar-short",
            "the bar is hardly longer than wide in the picture, and nothing tells which is its width; \
             the distance between its longer sides was taken. Use a bar twice as long as it is wide, \
             or turn it.",
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
        p.score > 0.5 * best.score && !p.outlines.iter().any(|o| best.outlines.contains(o))
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
    let mut pairs = Vec::new();
    for (i, sides) in all.iter().enumerate() {
        let length = perimeter(&inside[i]);
        for (a, first) in sides.iter().enumerate() {
            for second in &sides[a + 1..] {
                if let Some(fit) = fit_of(first, second, scene, diagonal) {
                    let share = (first.covered + second.covered) / length.max(1.0);
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
    if pairs.is_empty() && scene.drawn == Drawn::Line {
        // A bar drawn as two lines that nothing joins: the far flanks of two strokes.
        for i in 0..all.len() {
            for j in i + 1..all.len() {
                for first in &all[i] {
                    for second in &all[j] {
                        let share_i = first.covered / perimeter(&inside[i]).max(1.0);
                        let share_j = second.covered / perimeter(&inside[j]).max(1.0);
                        if share_i < 0.4 || share_j < 0.4 {
                            continue;
                        }
                        if let Some(fit) = fit_of(first, second, scene, diagonal) {
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
    let blurs = if cut_off || raised {
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

/// How well two sides could be those of a bar; `None` when they could not.
fn fit_of(a: &Side, b: &Side, scene: &Scene, diagonal: f64) -> Option<f64> {
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
    if overlap < 0.5 * shorter || overlap < 12.0 {
        return None;
    }
    let middle = end(a, 0.5 * (from + to));
    let opposite = end(b, b.line.along(middle.0, middle.1));
    let width = (middle.0 - opposite.0) * a.nx + (middle.1 - opposite.1) * a.ny;
    let least = match scene.drawn {
        Drawn::Shadow => 3.0 * scene.blur_px + 3.0,
        // Both flanks of a single stroke have their middles at the same place.
        Drawn::Line => 6.0 * scene.blur_px + 3.0,
    };
    if width < least || overlap < 0.8 * width {
        return None;
    }
    let slender = (overlap / (1.5 * width)).min(1.0);
    Some(solid(a) * solid(b) * slender * (overlap / diagonal).sqrt())
}

/// Takes the points of both sides and measures across them.
fn measure(inside: &[Vec<EdgePoint>], pair: &Pair, scene: &Scene) -> Option<Bar> {
    let mut notices = Vec::new();
    let mut edges: Vec<(Vec<EdgePoint>, Line, f64, f64, f64)> = Vec::new();
    for (side, &o) in pair.sides.iter().zip(&pair.outlines) {
        let outline = &scene.outlines[o];
        let length = side.to - side.from;
        let trim = (4.0 * outline.blur_px + 2.0).max(0.015 * length).min(0.2 * length);
        let candidates: Vec<EdgePoint> = inside[o]
            .iter()
            .filter(|p| {
                let u = side.line.along(p.x, p.y);
                u > side.from + trim
                    && u < side.to - trim
                    && side.line.offset(p.x, p.y).abs() < 0.02 * length + 6.0
                    && p.nx * side.nx + p.ny * side.ny > 0.94
            })
            .copied()
            .collect();
        let (line, scale) =
            Line::fit_robust(&candidates.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>())?;
        let bend = Bend::of(&candidates, line, scale);
        let typical = median(&mut candidates.iter().map(|p| p.sigma_px).collect::<Vec<_>>());
        let reach = 5.0 * bend.scale.max(typical) + 0.05;
        let kept: Vec<EdgePoint> =
            candidates.iter().filter(|p| bend.residual(p).abs() < reach).copied().collect();
        if kept.len() < 12 {
            return None;
        }
        let span = side.to - side.from;
        edges.push((kept, line, bend.sagitta(), span, scale));
    }
    let (second, first) = (edges.pop()?, edges.pop()?);
    // Upper (or left) edge first.
    let outward = &pair.sides[0];
    let swap = if outward.ny.abs() > 0.2 { outward.ny > 0.0 } else { outward.nx > 0.0 };
    let (first, second) = if swap { (second, first) } else { (first, second) };

    let aligned = |l: &Line| {
        let flip = if l.dx.abs() > 1e-6 { l.dx < 0.0 } else { l.dy < 0.0 };
        if flip { Line { dx: -l.dx, dy: -l.dy, ..*l } } else { *l }
    };
    let la = aligned(&first.1);
    let mut lb = aligned(&second.1);
    if la.dx * lb.dx + la.dy * lb.dy < 0.0 {
        lb = Line { dx: -lb.dx, dy: -lb.dy, ..lb };
    }
    let (dx, dy) = (la.dx + lb.dx, la.dy + lb.dy);
    let norm = dx.hypot(dy);
    let mut axis = (dx / norm, dy / norm);
    if axis.0 < 0.0 {
        axis = (-axis.0, -axis.1);
    }
    let along = |p: &EdgePoint| p.x * axis.0 + p.y * axis.1;
    let range = |v: &[EdgePoint]| {
        v.iter()
            .map(along)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |r, u| (r.0.min(u), r.1.max(u)))
    };
    let (ra, rb) = (range(&first.0), range(&second.0));
    let middle = 0.5 * (ra.0.max(rb.0) + ra.1.min(rb.1));
    // Point of each line at a given coordinate along the axis.
    let at = |l: &Line, u: f64| {
        let t = (u - (l.x * axis.0 + l.y * axis.1)) / (l.dx * axis.0 + l.dy * axis.1);
        (l.x + t * l.dx, l.y + t * l.dy)
    };
    let (pa, pb) = (at(&la, middle), at(&lb, middle));
    let width_px = (pa.0 - pb.0).hypot(pa.1 - pb.1);
    let corners = [at(&la, ra.0), at(&la, ra.1), at(&lb, rb.1), at(&lb, rb.0)];
    let bow_px = [first.2, second.2];
    let place = PixelBox::around(corners);
    let worst = (bow_px[0].abs() / first.3).max(bow_px[1].abs() / second.3);
    if worst > BENT {
        notices.push(Notice::new(
            "bar-not-straight",
            format!(
                "the bar's edges bow by {:.1} px over {:.0} px, {:.2} % of the length (limit \
                 {:.1} %). Use a straight bar, and keep it and the screw near the middle of the \
                 picture where the lens is true.",
                bow_px[0].abs().max(bow_px[1].abs()),
                first.3.max(second.3),
                100.0 * worst,
                100.0 * BENT
            ),
            place,
        ));
    }
    let outlines: Vec<&Outline> = pair.outlines.iter().map(|&o| &scene.outlines[o]).collect();
    if outlines.iter().any(|o| o.blur_px > 0.08 * width_px) && scene.drawn == Drawn::Shadow {
        notices.push(Notice::new(
            "bar-blurred",
            format!(
                "the bar's edges are blurred over {:.1} px, {:.0} % of its width (limit 8 %). \
                 Focus on the bar and the screw, and take the picture from nearer or with more \
                 pixels.",
                outlines[0].blur_px,
                100.0 * outlines[0].blur_px / width_px
            ),
            place,
        ));
    }
    if width_px < 40.0 {
        notices.push(Notice::new(
            "bar-small",
            format!(
                "the bar is only {width_px:.0} px wide (at least 40 px wanted); the scale is no \
                 better than its edges. Use a wider bar, or fill more of the picture."
            ),
            place,
        ));
    }
    if outlines.iter().any(|o| o.touches_border) {
        notices.push(Notice::new(
            "bar-cut-off",
            "the bar runs out of the picture; what is visible of it was used.",
            place,
        ));
    }
    let displaced_px =
        pair.outlines.iter().map(|&o| displaced_px(scene, &scene.outlines[o])).fold(0.0, f64::max);
    if displaced_px > 0.0 {
        notices.push(Notice::new(
            "tones-changed",
            format!(
                "light and dark are not in proportion along the bar: the picture is overexposed, or a \
                 program has changed its tones or contrast, smoothed or sharpened it. All edges may lie \
                 {displaced_px:.1} px off, which makes the scale uncertain. Take the picture with less \
                 exposure, without effects, and use the file as it came from the camera."
            ),
            Some(scene.outlines[pair.outlines[0]].bounds),
        ));
    }
    Some(Bar { edges: [first.0, second.0], axis, width_px, corners, bow_px, displaced_px, notices })
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
    let text = match (within, cut) {
        (Some(b), _) => format!(
            "no bar was found in the box at {:.0}, {:.0} of {:.0} x {:.0} px: it needs two long \
             straight parallel edges inside the box. Draw the box round the whole bar.",
            b.x, b.y, b.w, b.h
        ),
        (None, Some(_)) => "no bar was found: no object shows two long straight parallel edges. \
             One object runs out of the picture; if that is the bar, both its long edges must be \
             in view. Or draw a box round the bar."
            .to_owned(),
        (None, None) => "no bar was found: no object shows two long straight parallel edges. Lay \
             a straight rod or strip of known width beside the screw, apart from it and from \
             anything else (not bent, not touching), or draw a box round it."
            .to_owned(),
    };
    PictureError::unmeasurable("no-bar", text, place)
}
