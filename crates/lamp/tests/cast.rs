//! Pictures held against what they were cast from.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which the lint does not know as such")]

use approx::assert_abs_diff_eq;
use form::{Hand, Section, Thread, View};
use lamp::{
    Bar, BarShape, Channels, Dirt, Drawn, Homography, JpegOptions, Light, Noise, Pencil, Picture,
    Scene, SceneError, Shank, Turned, Wear, cast, cast_linear,
};

fn thread() -> Thread {
    let section = Section::symmetric(3.0, 15f64.to_radians(), 1.7, 1.1).unwrap();
    Thread::new(section, 18.0, 1, Hand::Right).unwrap()
}

fn bar(shape: BarShape) -> Bar {
    Bar {
        shape,
        width_mm: 5.0,
        length_mm: 60.0,
        drop_mm: 4.0,
        centre_mm: (1.0, -14.0),
        roll_rad: 0.06,
    }
}

/// A screw with a bar that runs out of the picture on both sides.
fn scene(shape: BarShape) -> Scene {
    Scene {
        length_mm: 24.0,
        view: View {
            foot_x_mm: -3.0,
            foot_z_mm: 2.0,
            tilt_rad: 0.01,
            ..View::from_distance(160.0)
        },
        roll_rad: -0.02,
        px_per_mm: 30.0,
        width_px: 900,
        height_px: 1000,
        centre_px: (450.0, 330.0),
        bar: Some(bar(shape)),
        blur_px: 1.3,
        ..Scene::of(thread())
    }
}

fn decoded(code: u8) -> f64 {
    let v = f64::from(code) / 255.0;
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// Where the edge crosses the middle of a column, by the area of light beside it: an edge between
/// `from` and `to` with `inner` light above and `outer` below.
fn by_area(column: impl Fn(usize) -> f64, from: usize, to: usize) -> f64 {
    let (first, last) = (column(from), column(to - 1));
    let part: f64 = (from..to).map(|j| (column(j) - last) / (first - last)).sum();
    from as f64 + part
}

fn y_of(line: &[(f64, f64)], x: f64) -> f64 {
    let (a, b) = (line[0], line[line.len() - 1]);
    a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
}

#[test]
fn edges_of_the_bar_lie_where_the_truth_says() {
    for shape in [BarShape::Flat, BarShape::Round] {
        // Levels that 8 bits hold exactly: in a picture without noise a rounded plateau would bias
        // every edge alike.
        let light = Light { bright: decoded(230), dark: decoded(48), ..Light::EVEN };
        let scene = Scene { light, ..scene(shape) };
        let linear = cast_linear(&scene).unwrap();
        let picture = cast(&scene).unwrap();
        let width = 900usize;
        for edge in linear.truth.bar_edges.as_ref().unwrap() {
            let mut mean = 0.0;
            for i in 50..850 {
                let truth = y_of(edge, i as f64 + 0.5);
                let (from, to) = (truth.round() as usize - 14, truth.round() as usize + 14);
                let found = by_area(|j| f64::from(linear.light[j * width + i]), from, to);
                assert_abs_diff_eq!(found, truth, epsilon = 0.002);
                let found = by_area(|j| decoded(picture.rgb[3 * (j * width + i) + 1]), from, to);
                mean += (found - truth) / 800.0;
            }
            assert_abs_diff_eq!(mean, 0.0, epsilon = 0.002); // 8 bits, over the whole edge
        }
    }
}

#[test]
fn the_thread_covers_the_area_inside_its_outline() {
    for (roll_rad, mirrored, wall) in
        [(0.3, false, Homography::IDENTITY), (2.0, true, Homography::keystone(0.001, -0.002))]
    {
        let scene = Scene {
            roll_rad,
            mirrored,
            wall,
            bar: None,
            light: Light { bright: 1.0, dark: 0.0, ..Light::EVEN },
            centre_px: (450.0, 500.0),
            ..scene(BarShape::Flat)
        };
        let picture = cast_linear(&scene).unwrap();
        let shadow: f64 = picture.light.iter().map(|l| 1.0 - f64::from(*l)).sum();
        let truth = &picture.truth;
        let outline: Vec<_> = truth.upper.iter().chain(truth.lower.iter().rev()).collect();
        let mut area = 0.0;
        for (i, a) in outline.iter().enumerate() {
            let b = outline[(i + 1) % outline.len()];
            area += 0.5 * (a.0 * b.1 - b.0 * a.1);
        }
        assert!(area.abs() > 3e5);
        assert_abs_diff_eq!(shadow / area.abs(), 1.0, epsilon = 1e-6);
    }
}

#[test]
fn a_leaning_wall_and_a_lens_move_points_as_defined() {
    let plain = scene(BarShape::Flat);
    let leaning =
        Scene { wall: Homography::keystone(0.002, 0.001), lens_k1: 0.01, ..plain.clone() };
    let (z, x) = (9.0, -6.0);
    let (sin, cos) = plain.roll_rad.sin_cos();
    let (u, v) = (z * cos - x * sin, z * sin + x * cos);
    let weight = 1.0 + 0.002 * u + 0.001 * v;
    let straight = (450.0 + 30.0 * u / weight, 330.0 - 30.0 * v / weight);
    let half_diagonal = 0.5 * 900f64.hypot(1000.0);
    let r = (straight.0 - 450.0).hypot(straight.1 - 500.0) / half_diagonal;
    let seen = leaning.mapping().px((z, x));
    assert_abs_diff_eq!(
        seen.0,
        450.0 + (straight.0 - 450.0) * (1.0 + 0.01 * r * r),
        epsilon = 1e-9
    );
    assert_abs_diff_eq!(
        seen.1,
        500.0 + (straight.1 - 500.0) * (1.0 + 0.01 * r * r),
        epsilon = 1e-9
    );
    // The truth follows, and a line bent by the lens is no longer straight.
    let truth = cast(&leaning).unwrap().truth;
    let edge = &truth.bar_edges.unwrap()[0];
    assert!(edge.len() > 100);
    let middle = edge[edge.len() / 2];
    assert!((y_of(edge, middle.0) - middle.1).abs() > 0.5);
}

#[test]
fn right_hand_crests_show_narrower_grooves_on_one_side_only() {
    // What the hand does to a perspective shadow is reversed by a mirror.
    let groove = |scene: &Scene, sign: f64| -> f64 {
        let picture = cast(&Scene { bar: None, ..scene.clone() }).unwrap();
        let mapping = scene.mapping();
        let lit = |z: f64| {
            let p = mapping.px((z, 8.15));
            let at = 3 * (p.1 as usize * 900 + p.0 as usize);
            decoded(picture.rgb[at]) > 0.4
        };
        let step = 0.01;
        (0..600).filter(|i| lit(sign * (11.0 - f64::from(*i) * step))).count() as f64 * step
    };
    let plain = Scene { roll_rad: 0.0, view: View::from_distance(90.0), ..scene(BarShape::Flat) };
    let (right, left) = (groove(&plain, 1.0), groove(&plain, -1.0));
    assert!((right - left).abs() > 0.2, "{right} {left}");
    let flipped = Scene { mirrored: true, ..plain };
    assert_abs_diff_eq!(groove(&flipped, 1.0), right, epsilon = 0.06);
}

fn everything() -> Scene {
    Scene {
        noise: Noise { read: 0.01, shot: 0.001, grain_px: 0.7, coloured: true },
        dirt: Dirt { specks: 40, on_outline: 5, largest_mm: 0.3, burrs: 6, burr_mm: 0.1 },
        wear: Some(Wear { deepest_mm: [0.1, 0.05], centre_mm: 0.0, reach_mm: 8.0, scatter: 0.2 }),
        light: Light { slope: [0.2, -0.1], falloff: 0.2, tint: [1.0, 0.8, 0.5], ..Light::EVEN },
        shank: Some(Shank { diameter_mm: 14.0, length_mm: 10.0, right: true }),
        seed: 5,
        ..scene(BarShape::Round)
    }
}

#[test]
fn a_seed_means_one_picture_on_any_number_of_cores() {
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    for drawn in [Drawn::Shadow, Drawn::Pencil(Pencil::default())] {
        let scene = Scene { drawn, ..everything() };
        let first = cast(&scene).unwrap();
        assert!(first == one.install(|| cast(&scene)).unwrap());
        assert!(first.rgb != cast(&Scene { seed: 6, ..scene }).unwrap().rgb);
    }
}

#[test]
fn a_shank_joins_the_thread_without_a_gap() {
    let scene = Scene {
        bar: None,
        shank: Some(Shank { diameter_mm: 14.0, length_mm: 50.0, right: true }),
        ..scene(BarShape::Flat)
    };
    let picture = cast(&scene).unwrap();
    let mapping = scene.mapping();
    for x in [-6.0, 0.0, 6.0] {
        for i in 0..140 {
            let p = mapping.px((0.1 * f64::from(i), x));
            let at = 3 * (p.1 as usize * 900 + p.0 as usize);
            assert!(picture.rgb[at] < 60, "light at z = {}", 0.1 * f64::from(i));
        }
    }
}

#[test]
fn a_pencil_line_runs_along_the_outline() {
    let pencil = Pencil { wobble_mm: 0.0, unevenness: 0.0, ..Pencil::default() };
    let scene = Scene { drawn: Drawn::Pencil(pencil), ..scene(BarShape::Flat) };
    let linear = cast_linear(&scene).unwrap();
    for edge in linear.truth.bar_edges.as_ref().unwrap() {
        let mut mean = 0.0;
        for i in 100..800 {
            let truth = y_of(edge, i as f64 + 0.5);
            let from = truth.round() as usize - 12;
            let dark = |j: usize| 0.8 - f64::from(linear.light[j * 900 + i]);
            let sum: f64 = (from..from + 24).map(dark).sum();
            let first: f64 = (from..from + 24).map(|j| dark(j) * (j as f64 + 0.5)).sum();
            assert!(sum > 0.5);
            mean += (first / sum - truth) / 700.0;
        }
        assert_abs_diff_eq!(mean, 0.0, epsilon = 0.01);
    }
}

#[test]
fn files_say_what_they_should() {
    let picture = cast(&Scene { width_px: 90, height_px: 70, ..everything() }).unwrap();
    for turned in Turned::ALL {
        let options =
            JpegOptions { quality: 95, focal_35mm: Some(154.4), turned, ..JpegOptions::default() };
        let file = picture.to_jpeg(&options).unwrap();
        let exif =
            exif::Reader::new().read_from_container(&mut std::io::Cursor::new(&file)).unwrap();
        let value = |tag| exif.get_field(tag, exif::In::PRIMARY).and_then(|f| f.value.get_uint(0));
        assert_eq!(value(exif::Tag::Orientation), Some(turned as u32));
        assert_eq!(value(exif::Tag::FocalLengthIn35mmFilm), Some(154));
        // Shown upright by the rules of an independent reader, it is the picture that was cast.
        let mut shown = image::load_from_memory(&file).unwrap();
        shown.apply_orientation(image::metadata::Orientation::from_exif(turned as u8).unwrap());
        assert_close(&picture, &shown.to_rgb8());
    }
    let plain = picture.to_jpeg(&JpegOptions::default()).unwrap();
    assert!(!plain.windows(4).any(|w| w == b"Exif"));
    assert!(picture.to_jpeg(&JpegOptions { quality: 0, ..JpegOptions::default() }).is_err());
    let png = image::load_from_memory(&picture.to_png(Channels::Rgb).unwrap()).unwrap();
    assert_eq!(png.to_rgb8().into_raw(), picture.rgb);
    let grey = image::load_from_memory(&picture.to_png(Channels::Grey).unwrap()).unwrap();
    assert_eq!(grey.color(), image::ColorType::L8);
}

fn assert_close(picture: &Picture, shown: &image::RgbImage) {
    assert_eq!(shown.dimensions(), (picture.width_px, picture.height_px));
    let off: f64 =
        picture.rgb.iter().zip(shown.as_raw()).map(|(a, b)| f64::from(a.abs_diff(*b))).sum::<f64>()
            / picture.rgb.len() as f64;
    assert!(off < 6.0, "pixels differ by {off} on average");
}

#[test]
fn what_cannot_be_cast_is_refused_by_name() {
    let message = |scene: Scene| cast(&scene).unwrap_err().to_string();
    let good = scene(BarShape::Round);
    assert!(message(Scene { width_px: 0, ..good.clone() }).contains("width of 0 px"));
    assert!(message(Scene { px_per_mm: f64::NAN, ..good.clone() }).contains("px_per_mm NaN"));
    assert!(message(Scene { blur_px: 99.0, ..good.clone() }).contains("blur_px 99"));
    let inside = Scene { view: View::from_distance(5.0), ..good.clone() };
    assert!(message(inside).contains("nearer"));
    let folded = Scene { wall: Homography::keystone(0.1, 0.0), ..good };
    assert_eq!(cast(&folded).unwrap_err(), SceneError::Folded);
}

/// Radius of a sharp-cornered tapered thread at a place along the axis and a turn about it, from the
/// definition alone: ridges with flanks at their angles from the normal to the axis, between a cone
/// of crests and a cone of roots.
fn radius_of(thread: &Thread, phase_mm: f64, z: f64, turn_rad: f64) -> f64 {
    let section = thread.section();
    let crest = |z: f64| 0.5 * thread.major_diameter_mm() + 0.5 * thread.taper() * z;
    let (pitch, half) = (section.pitch_mm(), 0.5 * section.crest_flat_mm());
    let ridge = phase_mm + thread.signed_advance_mm() * turn_rad;
    let nearest = ((z - ridge) / pitch).round();
    let mut radius = crest(z) - section.depth_mm();
    for k in [-1.0, 0.0, 1.0] {
        let u = z - ridge - (nearest + k) * pitch;
        let height = if u > half {
            crest(z - u + half) - (u - half) / section.right_flank_rad().tan()
        } else if u < -half {
            crest(z - u - half) + (u + half) / section.left_flank_rad().tan()
        } else {
            crest(z)
        };
        radius = radius.max(height.min(crest(z)));
    }
    radius
}

/// Whether the line of sight to a point `(z, x)` of the axis plane meets the screw: walked in small
/// steps from before it to behind it.
fn is_dark(scene: &Scene, (z, x): (f64, f64)) -> bool {
    let view = &scene.view;
    let (sin, cos) = view.tilt_rad.sin_cos();
    let q = view.inverse_distance_per_mm;
    let reach = 0.7 * scene.thread.major_diameter_mm() + 20.0 * sin.abs();
    let steps = 6000;
    (0..=steps).any(|i| {
        let y = reach * (2.0 * f64::from(i) / f64::from(steps) - 1.0);
        let widened = 1.0 + q * y;
        let (zp, xp) = (
            view.foot_z_mm + (z - view.foot_z_mm) * widened,
            view.foot_x_mm + (x - view.foot_x_mm) * widened,
        );
        // From the plane into the frame of the tilted screw.
        let (y, z) = (y * cos - zp * sin, zp * cos + y * sin);
        xp.hypot(y) <= radius_of(&scene.thread, scene.phase_mm, z, y.atan2(xp))
    })
}

#[test]
fn lines_of_sight_graze_a_tapered_screw_where_its_outline_is_cast() {
    let section = Section::new(form::SectionNumbers {
        pitch_mm: 3.0,
        depth_mm: 1.5,
        right_flank_rad: 0.5,
        left_flank_rad: 0.35,
        crest_flat_mm: 0.6,
        ..form::SectionNumbers::default()
    })
    .unwrap();
    for (taper, hand, view) in [
        (1.0 / 16.0, Hand::Right, View::PARALLEL),
        (-0.2, Hand::Left, View { tilt_rad: -0.02, foot_z_mm: 4.0, ..View::from_distance(120.0) }),
    ] {
        let thread = Thread::new(section, 18.0, 1, hand).unwrap().tapered(taper).unwrap();
        let scene = Scene { thread, view, roll_rad: 0.0, bar: None, ..scene(BarShape::Flat) };
        let truth = cast_linear(&scene).unwrap().truth;
        let mut looked = 0;
        for (line, out) in [(&truth.upper, 1.0), (&truth.lower, -1.0)] {
            for pair in line.windows(2).skip(3).step_by(3) {
                let place = |p: (f64, f64)| {
                    let (cx, cy) = scene.centre_px;
                    ((p.0 - cx) / scene.px_per_mm, (cy - p.1) / scene.px_per_mm)
                };
                let (a, b) = (place(pair[0]), place(pair[1]));
                let (dz, dx) = (b.0 - a.0, b.1 - a.1);
                let length = dz.hypot(dx);
                if length < 0.02 {
                    continue;
                }
                let at = |off: f64| {
                    let (nz, nx) = (-dx / length * out, dz / length * out);
                    (0.5 * (a.0 + b.0) + off * nz, 0.5 * (a.1 + b.1) + off * nx)
                };
                assert!(is_dark(&scene, at(-0.004)), "{taper}: light inside at {:?}", at(0.0));
                assert!(!is_dark(&scene, at(0.004)), "{taper}: dark outside at {:?}", at(0.0));
                looked += 1;
            }
        }
        assert!(looked > 40, "{looked} places");
    }
}
