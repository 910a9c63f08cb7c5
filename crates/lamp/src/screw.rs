//! The outline of the screw in the axis plane: unworn, worn, with burrs.

use crate::scene::{Scene, Wear};
use form::Piece;
use form::shadow::{Edge, Outline, outline_within};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use std::f64::consts::PI;

/// Sag of a chord at which the outline is halved no further, px. The middle it was measured at
/// becomes a point of the polyline, which leaves a quarter of it: a thousandth of a pixel.
const CHORD_TOLERANCE_PX: f64 = 4e-3;

/// Metal lost from one tooth as one edge of the shadow shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToothLoss {
    /// The edge.
    pub edge: Edge,
    /// Middle of the unworn crest in the meridian of that edge, mm along the axis.
    pub crest_mm: f64,
    /// Lost from the right flank, along the axis, mm.
    pub right_mm: f64,
    /// Lost from the left flank, along the axis, mm.
    pub left_mm: f64,
}

/// Both edges of the screw's shadow, each with `z` increasing, cut to the visible length; `(z, x)`
/// in mm.
#[derive(Debug, Clone)]
pub(crate) struct Screw {
    pub upper: Vec<(f64, f64)>,
    pub lower: Vec<(f64, f64)>,
    pub losses: Vec<ToothLoss>,
}

impl Screw {
    /// The screw as finely as the picture can show it.
    pub fn of(scene: &Scene, rng: &mut Pcg64Mcg) -> Self {
        Self::within(scene, CHORD_TOLERANCE_PX / scene.px_per_mm, rng)
    }

    /// The screw to a chosen tolerance.
    pub fn within(scene: &Scene, tolerance_mm: f64, rng: &mut Pcg64Mcg) -> Self {
        let mut losses = Vec::new();
        let upper = edge_line(scene, Edge::Upper, tolerance_mm, rng, &mut losses);
        let lower = edge_line(scene, Edge::Lower, tolerance_mm, rng, &mut losses);
        Self { upper, lower, losses }
    }

    /// The whole shadow as one closed polygon.
    pub fn closed(&self) -> Vec<(f64, f64)> {
        self.upper.iter().chain(self.lower.iter().rev()).copied().collect()
    }

    /// A random place on either outline and the direction out of the metal there.
    pub fn anywhere(&self, rng: &mut Pcg64Mcg) -> Option<((f64, f64), (f64, f64))> {
        let upper = rng.random::<bool>();
        let line = if upper { &self.upper } else { &self.lower };
        let total: f64 = line.windows(2).map(length).sum();
        let mut along = total * rng.random::<f64>();
        for pair in line.windows(2) {
            let l = length(pair);
            if along <= l && l > 0.0 {
                let t = along / l;
                let d = ((pair[1].0 - pair[0].0) / l, (pair[1].1 - pair[0].1) / l);
                let place = (pair[0].0 + t * l * d.0, pair[0].1 + t * l * d.1);
                let out = if upper { (-d.1, d.0) } else { (d.1, -d.0) };
                return Some((place, out));
            }
            along -= l;
        }
        None
    }
}

fn length(pair: &[(f64, f64)]) -> f64 {
    (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1)
}

fn edge_line(
    scene: &Scene,
    edge: Edge,
    tolerance_mm: f64,
    rng: &mut Pcg64Mcg,
    losses: &mut Vec<ToothLoss>,
) -> Vec<(f64, f64)> {
    let thread = &scene.thread;
    let profile = thread.profile();
    let advance = thread.signed_advance_mm();
    let half = 0.5 * scene.length_mm;
    // Crest centres in the meridian of this edge.
    let phase = match edge {
        Edge::Upper => scene.phase_mm,
        Edge::Lower => scene.phase_mm + advance * PI,
    };
    let pitch = thread.section().pitch_mm();
    let reach = half + margin_mm(scene);
    let first = ((-reach - phase) / pitch).floor() as i32;
    let last = ((reach - phase) / pitch).ceil() as i32;
    let line = outline_within(
        &profile,
        advance,
        scene.phase_mm,
        &scene.view,
        edge,
        first..=last,
        tolerance_mm,
    );
    let points = match scene.wear {
        None => line.polyline(),
        Some(wear) => {
            let teeth: Vec<ToothLoss> = (first..=last + 1)
                .map(|k| tooth_loss(&wear, edge, phase + f64::from(k) * pitch, rng))
                .collect();
            let points = worn(&line, first, &teeth);
            losses.extend(teeth.iter().filter(|t| t.crest_mm.abs() <= half + pitch));
            points
        }
    };
    cropped(&points, -half, half)
}

/// How far from its own place along the axis a point of the outline may appear, mm.
fn margin_mm(scene: &Scene) -> f64 {
    let radius = 0.5 * scene.thread.major_diameter_mm();
    let view = &scene.view;
    let half = 0.5 * scene.length_mm;
    let nearness = 2.0 * radius * view.inverse_distance_per_mm;
    let (sin, cos) = view.tilt_rad.sin_cos();
    let tilt = radius * sin.abs()
        + half * (1.0 / cos - 1.0)
        + 2.0 * half * half * sin.abs() * view.inverse_distance_per_mm;
    (half + view.foot_z_mm.abs()) * nearness
        + tilt
        + scene.thread.lead_mm()
        + 2.0 * scene.thread.section().pitch_mm()
}

fn tooth_loss(wear: &Wear, edge: Edge, crest_mm: f64, rng: &mut Pcg64Mcg) -> ToothLoss {
    let depth = (-0.5 * ((crest_mm - wear.centre_mm) / wear.reach_mm).powi(2)).exp();
    let mut loss = |deepest: f64| {
        let scatter: f64 = StandardNormal.sample(rng);
        deepest * depth * (1.0 + wear.scatter * scatter).max(0.0)
    };
    ToothLoss {
        edge,
        crest_mm,
        right_mm: loss(wear.deepest_mm[0]),
        left_mm: loss(wear.deepest_mm[1]),
    }
}

/// The outline with every flank moved into its tooth; `teeth[0]` is the tooth left of groove
/// `first`.
fn worn(line: &Outline, first: i32, teeth: &[ToothLoss]) -> Vec<(f64, f64)> {
    let mut points = Vec::new();
    let grooves = line
        .segments
        .chunk_by(|a, b| line.vertices[a.a].site.groove == line.vertices[b.a].site.groove);
    for segments in grooves {
        let Some(groove) = segments.first().map(|s| line.vertices[s.a].site.groove) else {
            continue;
        };
        let tooth = |k: i32| usize::try_from(k - first).ok().and_then(|i| teeth.get(i));
        let right = tooth(groove).map_or(0.0, |t| t.right_mm);
        let left = tooth(groove + 1).map_or(0.0, |t| t.left_mm);
        let labelled: Vec<((f64, f64), Piece)> = segments
            .iter()
            .flat_map(|s| {
                let piece = line.vertices[s.a].site.piece.max(line.vertices[s.b].site.piece);
                let (a, b) = line.ends(s);
                [(a, piece), (b, piece)]
            })
            .collect();
        let piece_points = |from: Piece, to: Piece| {
            labelled
                .iter()
                .filter(move |(_, piece)| (from..=to).contains(piece))
                .map(|(p, _)| *p)
                .collect::<Vec<_>>()
        };
        let (Some(start), Some(end)) = (labelled.first(), labelled.last()) else { continue };
        let (z0, z1) = (start.0.0, end.0.0);
        let falling = moved(&piece_points(Piece::CornerRight, Piece::FilletRight), -right);
        let falling = cropped(&falling, z0, z1);
        let rising = moved(&piece_points(Piece::FilletLeft, Piece::CornerLeft), left);
        let rising = cropped(&rising, z0, z1);
        let falling_from = falling.first().map_or(z1, |p| p.0);
        let rising_to = rising.last().map_or(z0, |p| p.0);
        let crest_right = piece_points(Piece::CrestRight, Piece::CrestRight);
        let crest_left = piece_points(Piece::CrestLeft, Piece::CrestLeft);
        points.extend(crest_right.into_iter().filter(|p| p.0 < falling_from));
        points.extend(falling);
        points.extend(piece_points(Piece::Root, Piece::Root));
        points.extend(rising);
        points.extend(crest_left.into_iter().filter(|p| p.0 > rising_to));
    }
    points
}

fn moved(points: &[(f64, f64)], by: f64) -> Vec<(f64, f64)> {
    points.iter().map(|p| (p.0 + by, p.1)).collect()
}

/// The part of a polyline (with `z` not decreasing) between two places, its ends on them.
fn cropped(points: &[(f64, f64)], from: f64, to: f64) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::with_capacity(points.len());
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if b.0 < from || a.0 > to {
            continue;
        }
        let at = |z: f64| {
            let t = if b.0 > a.0 { ((z - a.0) / (b.0 - a.0)).clamp(0.0, 1.0) } else { 0.0 };
            (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))
        };
        let (p, q) = (if a.0 < from { at(from) } else { a }, if b.0 > to { at(to) } else { b });
        if out.last().is_none_or(|l| *l != p) {
            out.push(p);
        }
        if p != q {
            out.push(q);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use form::{Hand, Profile, Section, Thread, View};
    use rand::SeedableRng;

    fn scene() -> Scene {
        let section = Section::symmetric(4.0, 15f64.to_radians(), 2.25, 1.464).unwrap();
        let thread = Thread::new(section, 24.0, 1, Hand::Right).unwrap();
        Scene {
            length_mm: 37.0,
            phase_mm: 0.7,
            view: View { tilt_rad: 0.01, foot_z_mm: 8.0, ..View::from_distance(180.0) },
            ..Scene::of(thread)
        }
    }

    fn x_at(points: &[(f64, f64)], z: f64) -> f64 {
        let i = points.partition_point(|p| p.0 < z);
        let (a, b) = (points[i - 1], points[i]);
        a.1 + (b.1 - a.1) * (z - a.0) / (b.0 - a.0)
    }

    #[test]
    fn the_whole_length_is_there_and_follows_the_envelope() {
        let scene = scene();
        let screw = Screw::of(&scene, &mut Pcg64Mcg::seed_from_u64(1));
        let zs: Vec<f64> = (0..60).map(|i| -18.4 + 0.61 * f64::from(i)).collect();
        let profile = Profile::new(scene.thread.section(), 12.0);
        for (edge, line) in [(Edge::Upper, &screw.upper), (Edge::Lower, &screw.lower)] {
            assert_abs_diff_eq!(line[0].0, -18.5, epsilon = 1e-12);
            assert_abs_diff_eq!(line[line.len() - 1].0, 18.5, epsilon = 1e-12);
            assert!(line.windows(2).all(|w| w[1].0 >= w[0].0));
            let heights = form::shadow::envelope::heights(
                &profile,
                scene.thread.signed_advance_mm(),
                scene.phase_mm,
                &scene.view,
                edge,
                &zs,
            );
            for (&z, x) in zs.iter().zip(heights) {
                assert_abs_diff_eq!(x_at(line, z), x, epsilon = 2e-4);
            }
        }
    }

    #[test]
    fn wear_takes_the_stated_metal_and_leaves_the_rest() {
        let unworn = Screw::of(&scene(), &mut Pcg64Mcg::seed_from_u64(1));
        let wear = Wear { deepest_mm: [0.12, 0.05], centre_mm: 2.0, reach_mm: 1e5, scatter: 0.0 };
        let worn =
            Screw::of(&Scene { wear: Some(wear), ..scene() }, &mut Pcg64Mcg::seed_from_u64(1));
        assert!(worn.losses.len() >= 18);
        // Flanks at mid depth, walking right: falling ones have moved left, rising ones right.
        let crossings = |line: &[(f64, f64)]| -> Vec<(f64, bool)> {
            line.windows(2)
                .filter(|w| (w[0].1 - 10.9) * (w[1].1 - 10.9) < 0.0)
                .map(|w| {
                    let t = (10.9 - w[0].1) / (w[1].1 - w[0].1);
                    (w[0].0 + t * (w[1].0 - w[0].0), w[1].1 < w[0].1)
                })
                .collect()
        };
        let (before, after) = (crossings(&unworn.upper), crossings(&worn.upper));
        assert_eq!(before.len(), after.len());
        assert!(before.len() >= 17);
        for (b, a) in before.iter().zip(&after) {
            let lost = if b.1 { b.0 - a.0 } else { a.0 - b.0 };
            assert_abs_diff_eq!(lost, if b.1 { 0.12 } else { 0.05 }, epsilon = 1e-6);
        }
        let top = |line: &[(f64, f64)]| line.iter().map(|p| p.1).fold(f64::MIN, f64::max);
        assert_abs_diff_eq!(top(&unworn.upper), top(&worn.upper), epsilon = 1e-5);
    }
}
