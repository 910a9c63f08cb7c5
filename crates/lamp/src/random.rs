//! Believable scenes at random, for tests that must hold on any picture.

use crate::plane::Homography;
use crate::scene::{Bar, BarShape, Blob, Dirt, Drawn, Light, Noise, Pencil, Scene, Shank, Wear};
use crate::screw::Screw;
use form::{Hand, Section, SectionNumbers, Thread, View};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::f64::consts::{FRAC_PI_2, PI};

/// How much stands between the thread and the one who measures it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Difficulty {
    /// A careful bench photograph: sharp, clean, even, bar alongside.
    Clean,
    /// What a good workshop makes: some blur, noise, dust, uneven light; now and then a pencilled
    /// trace, a leaning wall, one edge only, some wear.
    Workshop,
    /// The same further out: any roll, bar anywhere, strong noise, burrs, other things about.
    Harsh,
}

impl Difficulty {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Clean, Self::Workshop, Self::Harsh];

    fn pick<T>(self, clean: T, workshop: T, harsh: T) -> T {
        match self {
            Self::Clean => clean,
            Self::Workshop => workshop,
            Self::Harsh => harsh,
        }
    }
}

/// A believable scene: any family of forms, size, hand and number of starts, any view, a bar that
/// does not touch the screw. The same seed and difficulty give the same scene.
#[must_use]
pub fn random_scene(seed: u64, difficulty: Difficulty) -> Scene {
    let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x6c61_6d70 ^ ((difficulty as u64) << 56));
    // Nearly every second draw fits its picture; each draw takes fresh numbers.
    loop {
        if let Some(scene) = attempt(&mut Draw(&mut rng), seed, difficulty) {
            return scene;
        }
    }
}

/// Draws of the kinds a scene needs.
struct Draw<'a>(&'a mut Pcg64Mcg);

impl Draw<'_> {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }
    fn about(&mut self, most: f64) -> f64 {
        self.between(-most, most)
    }
    fn chance(&mut self, probability: f64) -> bool {
        self.0.random::<f64>() < probability
    }
    fn below(&mut self, limit: u32) -> u32 {
        self.0.random_range(0..limit.max(1))
    }
    fn one<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        of.get(self.0.random_range(0..of.len())).copied()
    }
}

/// Pitches of which a bench sees most, mm; the last few are threads per inch.
const PITCHES_MM: [f64; 18] = [
    0.7, 0.8, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 1.27, 2.54, 3.175, 4.233,
    5.08,
];

/// A thread of any family: proportions of the published basic forms where there are such.
fn thread(draw: &mut Draw) -> Option<Thread> {
    let p = if draw.chance(0.7) { draw.one(&PITCHES_MM)? } else { draw.between(0.7, 6.0) };
    let form = |right: f64, left: f64, depth: f64, crest: f64, rc: f64, rr: f64| SectionNumbers {
        pitch_mm: p,
        depth_mm: depth,
        right_flank_rad: right.to_radians(),
        left_flank_rad: left.to_radians(),
        crest_flat_mm: crest,
        crest_radius_mm: rc,
        root_radius_mm: rr,
    };
    let (numbers, many_starts) = match draw.below(10) {
        // Metric trapezoidal, ISO 2904: crest 0.366 P, clearance at the root.
        0 | 1 => {
            let clearance = if p < 2.0 { 0.15 } else { 0.25 };
            (form(15.0, 15.0, 0.5 * p + clearance, 0.366 * p, 0.0, 0.0), true)
        }
        // 29°, ASME B1.5: crest 0.3707 P, depth P/2 + 0.010 in.
        2 => (form(14.5, 14.5, 0.5 * p + 0.254, 0.3707 * p, 0.0, 0.0), true),
        // 60°, ISO 68-1: crest P/8, root rounded up to the P/6 flat of the maximum material.
        3 => {
            let radius = draw.between(0.0, 0.144) * p;
            (form(30.0, 30.0, 0.6134 * p, 0.125 * p, 0.0, radius), false)
        }
        // 55°, BS 84.
        4 => {
            let radius = 0.1373 * p;
            (form(27.5, 27.5, 0.640_327 * p, p / 6.0, radius, radius), false)
        }
        // 47½°, BS 93.
        5 => (form(23.75, 23.75, 0.6 * p, 0.236 * p, 0.18 * p, 0.18 * p), false),
        // Square, exactly or with flanks eased for the tool.
        6 => {
            let half = if draw.chance(0.5) { 0.0 } else { draw.between(2.0, 6.0) };
            let crest = 0.5 * p - 0.5 * p * half.to_radians().tan();
            (form(half, half, 0.5 * p, crest, 0.0, 0.0), false)
        }
        // Buttress and saw-tooth, either way round.
        7 => {
            let (a, b, depth) = draw.one(&[(7.0, 45.0, 0.6), (3.0, 30.0, 0.75)])?;
            let crest = draw.between(0.14, 0.2) * p;
            let (right, left) = if draw.chance(0.5) { (a, b) } else { (b, a) };
            (form(right, left, depth * p, crest, 0.0, draw.between(0.0, 0.05) * p), false)
        }
        // Round 30°, DIN 405.
        8 => (form(15.0, 15.0, 0.5 * p, 0.366 * p, 0.238 * p, 0.238 * p), false),
        // Of no family at all.
        _ => {
            let right = draw.between(8.0, 26.0);
            let left = if draw.chance(0.3) { draw.between(8.0, 26.0) } else { right };
            let depth = draw.between(0.4, 0.58) * p;
            let crest = draw.between(0.28, 0.42) * p;
            let rc = if draw.chance(0.3) { draw.between(0.03, 0.1) * p } else { 0.0 };
            let rr = if draw.chance(0.3) { draw.between(0.03, 0.1) * p } else { 0.0 };
            (form(right, left, depth, crest, rc, rr), true)
        }
    };
    let section = Section::new(numbers).ok()?;
    let starts = match draw.below(20) {
        0 if many_starts => 3,
        1..=3 if many_starts => 2,
        _ => 1,
    };
    let major = draw.between(4.5, 9.0) * p * f64::from(starts).sqrt();
    let major = if draw.chance(0.6) { (2.0 * major).round() / 2.0 } else { major };
    let hand = if draw.chance(0.25) { Hand::Left } else { Hand::Right };
    let thread = Thread::new(section, major, starts, hand).ok()?;
    (thread.lead_angle_rad(thread.pitch_diameter_mm()) < 0.2).then_some(thread)
}

/// Widths of rods and strips that lie about, mm.
const BAR_WIDTHS_MM: [f64; 14] =
    [1.0, 1.5, 2.0, 2.5, 3.0, 3.175, 4.0, 5.0, 6.0, 6.35, 8.0, 10.0, 12.0, 12.7];

/// Sizes of pictures, px.
const SIZES_PX: [(u32, u32); 5] =
    [(2000, 1500), (2600, 1900), (1600, 1200), (2400, 1800), (1800, 1440)];

fn attempt(draw: &mut Draw, seed: u64, difficulty: Difficulty) -> Option<Scene> {
    let level = |clean, workshop, harsh| difficulty.pick(clean, workshop, harsh);
    let thread = thread(draw)?;
    let pitch = thread.section().pitch_mm();
    let symmetric = thread.section().right_flank_rad() == thread.section().left_flank_rad();
    let length_mm = pitch * draw.between(level(8.0, 7.0, 5.5), 14.0);
    let one_edge = draw.chance(level(0.0, 0.08, 0.1));
    let pencil = !one_edge && draw.chance(level(0.0, 0.08, 0.12));
    let bar = bar(draw, &thread, length_mm, one_edge, difficulty)?;

    let field_mm = length_mm.max(1.4 * thread.major_diameter_mm());
    let middle_x = 0.5 * bar.centre_mm.1;
    let view = View {
        inverse_distance_per_mm: if draw.chance(0.2) {
            0.0
        } else {
            1.0 / (field_mm * draw.between(level(5.0, 3.4, 2.8), 10.0))
        },
        foot_x_mm: middle_x + draw.about(level(0.03, 0.08, 0.2)) * field_mm,
        foot_z_mm: draw.about(level(0.03, 0.08, 0.2)) * field_mm,
        tilt_rad: draw.about(level(0.3, 0.8, 1.8f64).to_radians()),
    };
    let mirrored = symmetric && draw.chance(level(0.0, 0.02, 0.06));
    let wall = if !one_edge && draw.chance(level(0.0, 0.1, 0.15)) {
        Homography::keystone(draw.about(0.12) / field_mm, draw.about(0.12) / field_mm)
    } else {
        Homography::IDENTITY
    };
    let drawn = if pencil { Drawn::Pencil(pencil_of(draw, &thread)) } else { Drawn::Shadow };
    let size = draw.one(&SIZES_PX)?;
    let size = if difficulty == Difficulty::Harsh && draw.chance(0.2) { (1280, 960) } else { size };

    let mut scene = Scene {
        length_mm,
        phase_mm: draw.between(0.0, pitch),
        view,
        roll_rad: if one_edge { draw.about(0.03) } else { roll(draw, symmetric, difficulty) },
        bar: Some(bar),
        drawn,
        light: light(draw, difficulty),
        blur_px: draw.between(level(0.6, 0.8, 0.8), level(1.1, 2.0, 2.8)),
        noise: noise(draw, difficulty),
        dirt: dirt(draw, difficulty, pitch),
        wall,
        inverted: !pencil && draw.chance(level(0.0, 0.04, 0.08)),
        mirrored,
        seed,
        ..Scene::of(thread)
    };
    if !pencil && draw.chance(level(0.0, 0.08, 0.15)) {
        scene.wear = Some(Wear {
            deepest_mm: [draw.between(0.0, 0.03) * pitch, draw.between(0.01, 0.05) * pitch],
            centre_mm: draw.about(0.4) * length_mm,
            reach_mm: draw.between(0.12, 0.3) * length_mm,
            scatter: draw.between(0.0, 0.3),
        });
    }
    let overlong = framed(&mut scene, draw, size, one_edge, difficulty)?;
    if !pencil && !overlong && draw.chance(level(0.0, 0.12, 0.15)) {
        scene.shank = Some(Shank {
            diameter_mm: thread.minor_diameter_mm() * draw.between(0.8, 1.0),
            length_mm: 2.0 * length_mm,
            right: draw.chance(0.5),
        });
    }
    if draw.chance(level(0.0, 0.3, 0.4)) {
        scene.lens_k1 = draw.about(level(0.0, 0.004, 0.008));
    }
    if difficulty == Difficulty::Harsh && !pencil && draw.chance(0.15) {
        scene.others.extend(coin(&scene, draw));
    }
    (apart(&scene)? && scene.check().is_ok()).then_some(scene)
}

fn bar(
    draw: &mut Draw,
    thread: &Thread,
    length_mm: f64,
    one_edge: bool,
    difficulty: Difficulty,
) -> Option<Bar> {
    let major = thread.major_diameter_mm();
    let fitting: Vec<f64> =
        BAR_WIDTHS_MM.into_iter().filter(|w| (0.15 * major..=0.55 * major).contains(w)).collect();
    if fitting.is_empty() {
        return None;
    }
    let width_mm = draw.one(&fitting)?;
    let shape = if draw.chance(0.7) { BarShape::Round } else { BarShape::Flat };
    let same_surface = Bar::same_surface_drop_mm(shape, width_mm, major);
    let drop_mm = match draw.below(8) {
        0 => 0.0,
        1 => draw.between(0.0, 1.2) * same_surface,
        _ => same_surface,
    };
    let gap = draw.between(0.12, 0.35) * major;
    let across = difficulty == Difficulty::Harsh && !one_edge && draw.chance(0.15);
    let most_roll = difficulty.pick(1.0, 4.0, 15.0f64).to_radians();
    let tilt = draw.about(most_roll);
    if across {
        let side = if draw.chance(0.5) { 1.0 } else { -1.0 };
        let bar_length = draw.between(0.8, 1.3) * major;
        let away = 0.5 * length_mm + gap + 0.5 * width_mm + 0.5 * bar_length * tilt.sin().abs();
        return Some(Bar {
            shape,
            width_mm,
            length_mm: bar_length,
            drop_mm,
            centre_mm: (side * away, draw.about(0.2) * major),
            roll_rad: FRAC_PI_2 + tilt,
        });
    }
    let bar_length = draw.between(0.6, 1.1) * length_mm;
    let side = if one_edge || draw.chance(0.3) { 1.0 } else { -1.0 };
    let away = 0.5 * major + gap + 0.5 * width_mm + 0.5 * bar_length * tilt.sin().abs();
    Some(Bar {
        shape,
        width_mm,
        length_mm: bar_length,
        drop_mm,
        centre_mm: (draw.about(0.08) * length_mm, side * away),
        roll_rad: tilt,
    })
}

fn pencil_of(draw: &mut Draw, thread: &Thread) -> Pencil {
    let pitch = thread.section().pitch_mm();
    // A shadow worth tracing is projected large; in the axis plane the hand is that much finer.
    Pencil {
        stroke_mm: pitch * draw.between(0.02, 0.04),
        wobble_mm: pitch * draw.between(0.002, 0.006),
        wobble_length_mm: pitch * draw.between(0.3, 0.8),
        darkness: draw.between(0.5, 0.9),
        unevenness: draw.between(0.05, 0.3),
    }
}

/// Upright, upside down and slanting screws are for the harsh; near a quarter turn "right" and
/// "left" have no meaning in the picture, so only equal flanks go there.
fn roll(draw: &mut Draw, symmetric: bool, difficulty: Difficulty) -> f64 {
    let small = draw.about(difficulty.pick(1.0, 4.0, 8.0f64).to_radians());
    if difficulty != Difficulty::Harsh {
        return small;
    }
    match draw.below(6) {
        0 if symmetric => FRAC_PI_2 + small,
        1 if symmetric => -FRAC_PI_2 + small,
        2 => PI + small,
        3 => draw.about(60f64.to_radians()),
        _ => small,
    }
}

fn light(draw: &mut Draw, difficulty: Difficulty) -> Light {
    let slope = difficulty.pick(0.03, 0.15, 0.35);
    let overexposed = difficulty == Difficulty::Harsh && draw.chance(0.08);
    let coloured = draw.chance(difficulty.pick(0.1, 0.25, 0.4));
    let warmth = draw.between(0.0, 0.4);
    Light {
        bright: if overexposed { 1.05 } else { draw.between(0.6, 0.85) },
        dark: draw.between(0.01, difficulty.pick(0.04, 0.06, 0.15)),
        slope: [draw.about(slope), draw.about(slope)],
        falloff: draw.between(0.0, difficulty.pick(0.08, 0.2, 0.35)),
        tint: match (coloured, draw.chance(0.6)) {
            (false, _) => [1.0; 3],
            (true, true) => [1.0, 1.0 - 0.5 * warmth, 1.0 - warmth],
            (true, false) => [1.0 - warmth, 1.0, 1.0 - 0.5 * warmth],
        },
    }
}

fn noise(draw: &mut Draw, difficulty: Difficulty) -> Noise {
    let grainy = draw.chance(difficulty.pick(0.0, 0.5, 0.6));
    Noise {
        read: draw
            .between(difficulty.pick(0.001, 0.003, 0.005), difficulty.pick(0.004, 0.012, 0.04)),
        shot: draw.between(0.0, difficulty.pick(0.0001, 0.0004, 0.0015)),
        grain_px: if grainy { draw.between(0.3, 0.8) } else { 0.0 },
        coloured: draw.chance(0.5),
    }
}

fn dirt(draw: &mut Draw, difficulty: Difficulty, pitch_mm: f64) -> Dirt {
    let limits = difficulty.pick([1, 1, 1], [15, 3, 2], [80, 8, 6]);
    Dirt {
        specks: draw.below(limits[0]),
        on_outline: draw.below(limits[1]),
        largest_mm: pitch_mm * draw.between(0.03, 0.12),
        burrs: draw.below(limits[2]),
        burr_mm: pitch_mm * draw.between(0.02, 0.08),
    }
}

/// A round thing in a corner of the picture, if there is room.
fn coin(scene: &Scene, draw: &mut Draw) -> Option<Blob> {
    let radius_mm = scene.thread.major_diameter_mm() * draw.between(0.1, 0.3);
    let (z, x, ..) = bounds(&shapes(scene)?);
    let sides = [(z.0, x.0), (z.0, x.1), (z.1, x.0), (z.1, x.1)];
    let (z_corner, x_corner) = draw.one(&sides)?;
    let out = if x_corner > 0.5 * (x.0 + x.1) { 1.0 } else { -1.0 };
    let off = radius_mm + 0.04 * scene.thread.major_diameter_mm();
    Some(Blob::Disc { centre_mm: (0.9 * z_corner, x_corner + out * off), radius_mm })
}

/// Scales and places the scene in a picture of about `size`; says whether the screw runs out of it.
fn framed(
    scene: &mut Scene,
    draw: &mut Draw,
    size: (u32, u32),
    one_edge: bool,
    difficulty: Difficulty,
) -> Option<bool> {
    let level = |clean, workshop, harsh| difficulty.pick(clean, workshop, harsh);
    let mut shown: Vec<(f64, f64)> = shapes(scene)?.concat();
    if one_edge {
        let cut = draw.between(-0.3, 0.3) * 0.5 * scene.thread.major_diameter_mm();
        shown.retain(|p| p.1 > cut);
        shown.push((0.0, cut));
    }
    let unit = Scene { px_per_mm: 1.0, centre_px: (0.0, 0.0), lens_k1: 0.0, ..scene.clone() };
    let placed: Option<Vec<(f64, f64)>> =
        shown.iter().map(|&p| unit.mapping().checked(p)).collect();
    let (x, y) = bounds(&[placed?]);
    let (width_mm, height_mm) = (x.1 - x.0, y.1 - y.0);
    let (long, short) = size;
    (scene.width_px, scene.height_px) =
        if height_mm > width_mm { (short, long) } else { (long, short) };
    let (width, height) = (f64::from(scene.width_px), f64::from(scene.height_px));
    let filled = draw.between(0.78, 0.93);
    let scale = filled * (width / width_mm).min(height / height_mm);
    scene.px_per_mm = scale;
    scene.centre_px =
        (0.5 * width - 0.5 * scale * (x.0 + x.1), 0.5 * height - 0.5 * scale * (y.0 + y.1));
    if one_edge {
        // The lowest row shown is the cut through the screw: no ground below it.
        let lowest = shown.iter().map(|p| p.1).fold(f64::MAX, f64::min);
        scene.centre_px.1 += height - scene.mapping().px((0.0, lowest)).1;
    }
    if scale * scene.thread.section().pitch_mm() < level(60.0, 40.0, 24.0) {
        return None;
    }
    let across = scene.bar.is_some_and(|b| b.roll_rad > 1.0);
    let overlong = !across && draw.chance(level(0.1, 0.25, 0.3));
    if overlong {
        scene.length_mm *= 2.5;
    }
    if let Some(bar) = scene.bar.as_mut().filter(|_| draw.chance(level(0.1, 0.25, 0.35))) {
        bar.length_mm *= 2.2;
    }
    Some(overlong)
}

/// Outlines of screw and bar in the axis plane.
fn shapes(scene: &Scene) -> Option<Vec<Vec<(f64, f64)>>> {
    let tolerance_mm = 0.01 * scene.thread.section().depth_mm();
    let screw = Screw::within(scene, tolerance_mm, &mut Pcg64Mcg::seed_from_u64(0)).closed();
    let bar = scene.bar?.silhouette(&scene.view)?.outline;
    Some(vec![screw, bar])
}

type Range = (f64, f64);

fn bounds(shapes: &[Vec<(f64, f64)>]) -> (Range, Range) {
    let nothing = ((f64::MAX, f64::MIN), (f64::MAX, f64::MIN));
    shapes
        .iter()
        .flatten()
        .fold(nothing, |(a, b), p| ((a.0.min(p.0), a.1.max(p.0)), (b.0.min(p.1), b.1.max(p.1))))
}

/// Whether screw and bar leave light between them.
fn apart(scene: &Scene) -> Option<bool> {
    let shapes = shapes(scene)?;
    let gap = 0.03 * scene.thread.major_diameter_mm();
    let (z0, x0) = bounds(&shapes[..1]);
    let (z1, x1) = bounds(&shapes[1..]);
    let clear = |a: Range, b: Range| a.1 + gap < b.0 || b.1 + gap < a.0;
    Some(clear(z0, z1) || clear(x0, x1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scenes_can_be_cast_and_differ() {
        for difficulty in Difficulty::ALL {
            let mut pitches = Vec::new();
            for seed in 0..120 {
                let scene = random_scene(seed, difficulty);
                assert_eq!(scene, random_scene(seed, difficulty));
                assert!(scene.check().is_ok());
                // Enough of the thread is in the picture.
                let (w, h) = (f64::from(scene.width_px), f64::from(scene.height_px));
                let map = scene.mapping();
                let screw = Screw::within(&scene, 0.01, &mut Pcg64Mcg::seed_from_u64(0));
                let inside = |p: &&(f64, f64)| {
                    let (x, y) = map.px(**p);
                    (0.0..w).contains(&x) && (0.0..h).contains(&y)
                };
                let most: f64 = [&screw.upper, &screw.lower]
                    .into_iter()
                    .map(|line| {
                        let (z, _) = bounds(&[line.iter().filter(inside).copied().collect()]);
                        (z.1 - z.0) / scene.thread.section().pitch_mm()
                    })
                    .fold(0.0, f64::max);
                for edge in scene.bar.unwrap().silhouette(&scene.view).unwrap().edges {
                    let [a, b] = edge;
                    let seen = (0..=100)
                        .map(|i| 0.01 * f64::from(i))
                        .map(|t| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)))
                        .filter(|p| inside(&p))
                        .count();
                    assert!(seen > 25, "{difficulty:?} {seed}: {seen} % of the bar is seen");
                }
                assert!(most > 4.5, "{difficulty:?} {seed}: {most} pitches in the picture");
                pitches.push(scene.thread.section().pitch_mm());
            }
            pitches.sort_by(f64::total_cmp);
            pitches.dedup();
            assert!(pitches.len() > 30);
        }
    }

    #[test]
    fn every_kind_of_scene_comes_up() {
        let scenes: Vec<Scene> = (0..400).map(|s| random_scene(s, Difficulty::Harsh)).collect();
        type Kind = fn(&Scene) -> bool;
        let kinds: [(&str, Kind); 14] = [
            ("left hand", |s| s.thread.hand() == Hand::Left),
            ("two starts", |s| s.thread.starts() == 2),
            ("parallel", |s| s.view.distance_mm().is_none()),
            ("strip", |s| s.bar.is_some_and(|b| b.shape == BarShape::Flat)),
            ("bar across", |s| s.bar.is_some_and(|b| b.roll_rad > 1.0)),
            ("upright", |s| s.roll_rad.cos().abs() < 0.2),
            ("pencil", |s| matches!(s.drawn, Drawn::Pencil(_))),
            ("worn", |s| s.wear.is_some()),
            ("keystone", |s| s.wall != Homography::IDENTITY),
            ("lens", |s| s.lens_k1 != 0.0),
            ("inverted", |s| s.inverted),
            ("mirrored", |s| s.mirrored),
            ("shank", |s| s.shank.is_some()),
            ("others", |s| !s.others.is_empty()),
        ];
        for (name, is) in kinds {
            let count = scenes.iter().filter(|s| is(s)).count();
            assert!(count >= 4, "{name}: {count} of 400");
        }
    }
}
