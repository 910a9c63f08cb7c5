//! The bar and the thread are found wherever they lie, at the planted place.

#![expect(clippy::panic, clippy::print_stdout, reason = "helpers of tests")]

mod scenes;

use picture::{Drawn, DrawnWanted, Grey, Limits, find_bar, find_thread, trace};
use scenes::{Noise, Shot, distance};

struct Seen {
    bar_error: f64,
    pitch_error: f64,
    axis_error: f64,
    edges: (usize, usize),
    /// Median and 90th percentile of distance from the true outline, of points with an honest
    /// small uncertainty.
    off: (f64, f64),
}

fn check(name: &str, shot: &Shot, grey: &Grey, drawn: Drawn) -> Seen {
    let scene = trace(grey, DrawnWanted::Auto, &|_| true).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert_eq!(scene.drawn, drawn, "{name}");
    let bar = find_bar(&scene, None).unwrap_or_else(|e| panic!("{name}: {e}"));
    let thread = find_thread(&scene, Some(&bar), None).unwrap_or_else(|e| panic!("{name}: {e}"));
    let truth = shot.thread();
    let mut off: Vec<f64> = thread
        .upper
        .iter()
        .chain(&thread.lower)
        .map(|p| distance(&truth, p.x, p.y).abs())
        .collect();
    off.sort_by(f64::total_cmp);
    let turned = thread.axis.1.atan2(thread.axis.0) - shot.turn;
    let seen = Seen {
        bar_error: bar.width_px - shot.bar_width,
        pitch_error: thread.pitch_px / shot.pitch - 1.0,
        axis_error: (turned.sin() * turned.cos().signum()).abs(),
        edges: (thread.upper.len(), thread.lower.len()),
        off: (off[off.len() / 2], off[off.len() * 9 / 10]),
    };
    println!(
        "{name}: bar {:+.3} px, pitch {:+.2e}, axis {:.1e}, points {:?}, off {:.3} {:.3}, blur {:.2}",
        seen.bar_error,
        seen.pitch_error,
        seen.axis_error,
        seen.edges,
        seen.off.0,
        seen.off.1,
        scene.blur_px
    );
    seen
}

fn good(name: &str, shot: &Shot) {
    let seen = check(name, shot, &shot.grey(), Drawn::Shadow);
    assert!(seen.bar_error.abs() < 0.03, "{name}: bar off by {}", seen.bar_error);
    assert!(seen.pitch_error.abs() < 1e-3, "{name}: pitch off by {}", seen.pitch_error);
    assert!(seen.axis_error < 2e-3, "{name}: axis off by {}", seen.axis_error);
    // Blur rounds corners; what it rounds grows with it.
    let limit = (0.02 + 0.03 * shot.blur, 0.1 + 0.22 * shot.blur);
    assert!(seen.off.0 < limit.0 && seen.off.1 < limit.1, "{name}: outline off by {:?}", seen.off);
    // A third of a pitch at each end may go, and what lies beyond the last whole flank.
    let whole = shot.teeth as f64 * (shot.crest + shot.root + 2.0 * shot.depth);
    assert!(seen.edges.0 as f64 > 0.6 * whole && seen.edges.1 as f64 > 0.6 * whole, "{name}");
}

#[test]
fn at_any_angle() {
    for degrees in [-80, -60, -45, -20, -3, 1, 10, 33, 45, 58, 77, 90, 93, 135, 180] {
        let shot = Shot {
            width: 1500,
            height: 1500,
            turn: f64::from(degrees).to_radians(),
            ..Shot::default()
        };
        good(&format!("turned {degrees} degrees"), &shot);
    }
}

#[test]
fn an_upright_thread_has_its_left_edge_as_upper() {
    for degrees in [88.0f64, 90.0, 92.0, 270.0] {
        let shot =
            Shot { width: 1500, height: 1500, turn: degrees.to_radians(), ..Shot::default() };
        let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
        let thread = find_thread(&scene, None, None).unwrap();
        let mean = |p: &[picture::EdgePoint]| p.iter().map(|q| q.x).sum::<f64>() / p.len() as f64;
        assert!(mean(&thread.upper) < mean(&thread.lower), "{degrees}");
        assert!(thread.axis.1 < 0.0);
    }
}

#[test]
fn a_stubby_thread_whose_axis_is_the_short_way() {
    let shot = Shot {
        teeth: 4,
        major: 900.0,
        thread_at: (-350.0, 0.0),
        bar_at: (300.0, 0.0),
        bar_turn: 1.5,
        bar_length: 1000.0,
        ..Shot::default()
    };
    good("stubby", &shot);
}

#[test]
fn the_bar_anywhere() {
    for (name, at, turn, length) in [
        ("above", (30.0, -480.0), -0.04, 1200.0),
        ("aslant", (0.0, 330.0), 0.12, 900.0),
        ("out of the picture on the right", (500.0, 300.0), 0.02, 1300.0),
        ("out on both sides", (0.0, 300.0), 0.01, 2400.0),
        ("out of the lower corner", (400.0, 380.0), 0.3, 1500.0),
    ] {
        let thread_at = if at.1 < 0.0 { (0.0, 100.0) } else { (0.0, -250.0) };
        let shot = Shot {
            bar_at: at,
            bar_turn: turn,
            bar_length: length,
            thread_at,
            bar_width: 90.7,
            ..Shot::default()
        };
        good(name, &shot);
    }
    let shot = Shot {
        bar_at: (640.0, 0.0),
        bar_turn: 1.55,
        bar_length: 1000.0,
        thread_at: (-150.0, 0.0),
        teeth: 10,
        ..Shot::default()
    };
    good("beside, upright", &shot);
}

#[test]
fn light_and_blur_of_all_kinds() {
    good("sharp", &Shot { blur: 0.0, noise: 0.0, ..Shot::default() });
    good("sharp, noisy", &Shot { blur: 0.3, noise: 3.0, ..Shot::default() });
    good(
        "black and white",
        &Shot { blur: 0.0, noise: 0.0, dark: 0.0, light: 1.0, falloff: 0.0, ..Shot::default() },
    );
    good("soft", &Shot { blur: 4.0, ..Shot::default() });
    good("very uneven light", &Shot { falloff: 0.8, ..Shot::default() });
    good("dim", &Shot { dark: 0.01, light: 0.12, noise: 1.5, ..Shot::default() });
    good("light on dark", &Shot { light_object: true, ..Shot::default() });
    good("dirt", &Shot { specks: 60, ..Shot::default() });
    let noisy = Shot { noise: 14.0, ..Shot::default() };
    let seen = check("noisy", &noisy, &noisy.grey(), Drawn::Shadow);
    // So much noise (a tenth of the light) that each edge's own levels and slopes cost it a tenth of a pixel.
    assert!(seen.bar_error.abs() < 0.25 && seen.pitch_error.abs() < 2e-3 && seen.off.0 < 0.25);
}

#[test]
fn heavy_jpeg() {
    for (quality, limit) in [(90, 0.03), (60, 0.05), (25, 0.15)] {
        let shot = Shot { noise: 1.0, ..Shot::default() };
        let picture = picture::decode(&shot.jpeg(quality), &Limits::default()).unwrap();
        let seen = check(&format!("jpeg {quality}"), &shot, &picture.grey, Drawn::Shadow);
        assert!(seen.bar_error.abs() < limit && seen.pitch_error.abs() < 2e-3);
        assert!(seen.off.0 < 3.0 * limit);
    }
}

#[test]
fn one_edge_only() {
    for (dy, upper) in [(420.0, true), (-480.0, false)] {
        let shot = Shot {
            major: 1000.0,
            thread_at: (0.0, dy),
            bar_at: (0.0, if upper { -400.0 } else { 400.0 }),
            ..Shot::default()
        };
        let seen = check("one edge", &shot, &shot.grey(), Drawn::Shadow);
        assert_eq!(seen.edges.0 > 500, upper);
        assert_eq!(seen.edges.1 > 500, !upper);
        assert!(seen.bar_error.abs() < 0.03 && seen.pitch_error.abs() < 1e-3);
    }
}

#[test]
fn other_objects_in_view() {
    let disc = |x: f64, y: f64, r: f64| -> Vec<(f64, f64)> {
        (0..90)
            .map(|i| {
                let a = i as f64 * std::f64::consts::TAU / 90.0;
                (x + r * a.cos(), y + r * a.sin())
            })
            .collect()
    };
    let mut rng = Noise(5);
    let blob: Vec<(f64, f64)> = (0..40)
        .map(|i| {
            let a = i as f64 * std::f64::consts::TAU / 40.0;
            let r = 60.0 + 40.0 * rng.uniform();
            (1450.0 + r * a.cos(), 560.0 + r * a.sin())
        })
        .collect();
    let others = vec![
        disc(130.0, 130.0, 90.0),
        blob,
        vec![(0.0, 700.0), (60.0, 690.0), (90.0, 1200.0), (0.0, 1200.0)],
    ];
    let shot = Shot {
        others,
        teeth: 9,
        thread_at: (30.0, -180.0),
        bar_at: (20.0, 300.0),
        ..Shot::default()
    };
    good("coin, leaf and table edge", &shot);
}

#[test]
fn a_light_table_in_a_dark_room() {
    let shot = Shot { falloff: 0.1, ..Shot::default() };
    let (w, h) = (shot.width + 400, shot.height + 300);
    let mut samples = vec![12u8; w * h];
    for (y, row) in shot.samples().chunks(shot.width).enumerate() {
        samples[(y + 150) * w + 200..(y + 150) * w + 200 + shot.width].copy_from_slice(row);
    }
    let grey = Grey::from_u8(w, h, samples).unwrap();
    let scene = trace(&grey, DrawnWanted::Auto, &|_| true).unwrap();
    assert!(scene.object_is_dark);
    let bar = find_bar(&scene, None).unwrap();
    assert!((bar.width_px - shot.bar_width).abs() < 0.03);
    let thread = find_thread(&scene, Some(&bar), None).unwrap();
    assert!((thread.pitch_px / shot.pitch - 1.0).abs() < 1e-3);
}

#[test]
fn drawn_with_a_pencil() {
    for (name, width, wobble, turn, size) in [
        ("thin", 3.0, 0.3, 0.02, 1600),
        ("thick", 8.0, 0.6, -0.1, 1600),
        ("felt pen", 18.0, 0.6, 0.05, 1600),
        ("upright", 5.0, 0.5, 1.5, 1600),
    ] {
        let shot = Shot {
            width: size,
            height: 1500,
            turn,
            stroke: Some(width),
            wobble,
            dark: 0.2,
            blur: 1.0,
            ..Shot::default()
        };
        let seen = check(name, &shot, &shot.grey(), Drawn::Line);
        assert!(seen.bar_error.abs() < 0.35, "{name}");
        assert!(seen.pitch_error.abs() < 3e-3 && seen.axis_error < 3e-3, "{name}");
        assert!(seen.off.0 < 0.2 + wobble + 0.05 * width, "{name}");
    }
}

#[test]
fn only_the_long_sides_are_pencilled() {
    let shot =
        Shot { stroke: Some(4.0), wobble: 0.3, dark: 0.2, sides_only: true, ..Shot::default() };
    let seen = check("sides only", &shot, &shot.grey(), Drawn::Line);
    assert!(seen.bar_error.abs() < 0.35 && seen.pitch_error.abs() < 3e-3);
    assert!(seen.edges.0 > 1500 && seen.edges.1 > 1500);
    assert!(seen.off.0 < 0.4);
}

#[test]
fn chalk_on_a_blackboard_and_squared_paper() {
    let shot = Shot {
        stroke: Some(5.0),
        wobble: 0.3,
        dark: 0.25,
        light: 0.75,
        light_object: true,
        ..Shot::default()
    };
    let seen = check("chalk", &shot, &shot.grey(), Drawn::Line);
    assert!(seen.bar_error.abs() < 0.35 && seen.pitch_error.abs() < 3e-3);

    let shot = Shot { stroke: Some(5.0), wobble: 0.3, dark: 0.12, ..Shot::default() };
    let mut samples = shot.samples();
    for (i, s) in samples.iter_mut().enumerate() {
        let (x, y) = (i % shot.width, i / shot.width);
        if x % 60 < 2 || y % 60 < 2 {
            *s = (f64::from(*s) * 0.93) as u8;
        }
    }
    let grey = Grey::from_u8(shot.width, shot.height, samples).unwrap();
    let seen = check("squared paper", &shot, &grey, Drawn::Line);
    assert!(seen.bar_error.abs() < 0.5 && seen.pitch_error.abs() < 3e-3);
}

#[test]
fn a_pencilled_bar_right_across_the_sheet() {
    let shot =
        Shot { stroke: Some(4.0), wobble: 0.3, dark: 0.2, bar_length: 2400.0, ..Shot::default() };
    let seen = check("across", &shot, &shot.grey(), Drawn::Line);
    assert!(seen.bar_error.abs() < 0.35 && seen.pitch_error.abs() < 3e-3);
}

#[test]
fn small_and_large_pictures() {
    let half = |s: f64| Shot {
        width: (1600.0 * s) as usize,
        height: (1200.0 * s) as usize,
        pitch: 110.0 * s,
        depth: 60.0 * s,
        crest: 40.0 * s,
        root: 38.0 * s,
        major: 480.0 * s,
        thread_at: (0.0, -150.0 * s),
        bar_at: (0.0, 300.0 * s),
        bar_width: 150.3 * s,
        bar_length: 1300.0 * s,
        ..Shot::default()
    };
    good("half a megapixel", &half(0.5));
    good("twelve megapixels", &Shot { blur: 2.0, ..half(2.5) });
    let tiny = half(0.3);
    let seen = check("tiny", &tiny, &tiny.grey(), Drawn::Shadow);
    assert!(seen.bar_error.abs() < 0.05 && seen.pitch_error.abs() < 2e-3);
}

#[test]
fn boxes_confine_the_search() {
    let shot = Shot::default();
    let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let lower = picture::PixelBox { x: 0.0, y: 700.0, w: 1600.0, h: 500.0 };
    let upper = picture::PixelBox { x: 0.0, y: 0.0, w: 1600.0, h: 700.0 };
    assert!((find_bar(&scene, Some(lower)).unwrap().width_px - shot.bar_width).abs() < 0.03);
    let error = find_bar(&scene, Some(upper)).unwrap_err();
    assert_eq!(error.code(), "no-bar");
    assert_eq!(error.at(), Some(upper));
    assert!(find_thread(&scene, None, Some(upper)).is_ok());
    assert!(!find_thread(&scene, None, Some(lower)).unwrap_err().is_unreadable());
}

#[test]
fn a_clicked_point_snaps_to_the_edge() {
    let shot = Shot::default();
    let grey = shot.grey();
    let truth = shot.thread();
    let mut rng = Noise(9);
    let mut seen = 0;
    for _ in 0..200 {
        let i = 3 + (rng.bits() as usize) % 30;
        let (p, q) = (truth[i], truth[i + 1]);
        let (x, y) =
            (0.5 * (p.0 + q.0) + 3.0 * rng.normal(), 0.5 * (p.1 + q.1) + 3.0 * rng.normal());
        let Some(point) = picture::snap(&grey, x, y, 12.0) else { continue };
        seen += 1;
        let off = distance(&truth, point.x, point.y).abs();
        assert!(off < 0.15, "{off} at {x} {y}");
    }
    assert!(seen > 180, "{seen}");
    assert!(picture::snap(&grey, 20.0, 20.0, 8.0).is_none());
    assert!(picture::snap(&grey, -5.0, 20.0, 8.0).is_none());
}

#[test]
fn a_clicked_point_snaps_to_a_pencil_line() {
    let shot = Shot { stroke: Some(4.0), dark: 0.2, wobble: 0.0, ..Shot::default() };
    let grey = shot.grey();
    let truth = shot.thread();
    for i in [2, 6, 10, 14] {
        let (p, q) = (truth[i], truth[i + 1]);
        let (x, y) = (0.5 * (p.0 + q.0) + 2.0, 0.5 * (p.1 + q.1) + 3.0);
        let point = picture::snap(&grey, x, y, 12.0).unwrap();
        assert!(distance(&truth, point.x, point.y).abs() < 0.4);
    }
}
