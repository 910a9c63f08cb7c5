//! Bar and outline.

use crate::support::Bench;
use eframe::egui::{ColorImage, Event, Key, Modifiers};
use form::shadow::{self, Edge};
use form::{Piece, Profile};
use job::Flank;
use workbench::window::state::Pointer;

#[test]
fn calibrate_from_the_bar() {
    let mut bench = Bench::new();
    let (path, shown) = bench.picture();
    bench.open(&path);
    // Nothing has a size yet, and the window stands where that is mended.
    assert!(bench.says("How large is it?"));
    assert_eq!(bench.pitch_mm(), None);
    bench.enter("Width of the bar", "6");
    assert!(bench.says("has no unit"));
    assert_eq!(bench.job().bar.width_mm, None);
    // The keyboard stays where the mistake is.
    assert!(bench.harness.ctx.text_edit_focused());
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let true_pitch = shown.scene.thread.section().pitch_mm();
    let pitch = bench.pitch_mm().expect("measured");
    assert!((pitch / true_pitch - 1.0).abs() < 0.002, "{pitch}");
    // Twice the width is twice the screw.
    bench.enter("Width of the bar", "12 mm");
    bench.settle();
    let doubled = bench.pitch_mm().unwrap();
    assert!((doubled / pitch - 2.0).abs() < 0.03, "{doubled}");
    bench.press("Undo");
    bench.settle();
    assert!((bench.pitch_mm().unwrap() - pitch).abs() < 1e-9);
    // By hand: a box round the bar, and one where there is none.
    let corners = bench.harness.state().bench.findings().unwrap().bar.as_ref().unwrap().corners;
    let xs = corners.map(|c| c.0);
    let ys = corners.map(|c| c.1);
    let low = |v: [f64; 4]| v.into_iter().fold(f64::MAX, f64::min);
    let high = |v: [f64; 4]| v.into_iter().fold(f64::MIN, f64::max);
    bench.press("Draw a box round the bar");
    assert_eq!(bench.harness.state().bench.pointer, Pointer::BarBox);
    let m = 60.0;
    bench.drag_picture((low(xs) - m, low(ys) - m), (high(xs) + m, high(ys) + m));
    bench.settle();
    let boxed = bench.job().bar.at_px.expect("a box");
    assert!((boxed.x - (low(xs) - m)).abs() < 8.0, "{boxed:?}");
    assert!((bench.pitch_mm().unwrap() / pitch - 1.0).abs() < 1e-3);
    bench.press("Draw a box round the bar");
    bench.drag_picture((20.0, 20.0), (300.0, 200.0));
    bench.settle();
    assert!(bench.harness.state().bench.findings().unwrap().bar.is_none());
    bench.press("Find it everywhere");
    bench.settle();
    assert!(bench.pitch_mm().is_some());
}

/// Places on the outline of the demonstration's screw, in pixels, as a person would click them.
fn clicks(shown: &lamp::Demonstration) -> Vec<((f64, f64), Flank)> {
    let scene = &shown.scene;
    let thread = &scene.thread;
    let profile = Profile::new(thread.section(), 0.5 * thread.major_diameter_mm());
    let outline = shadow::outline(
        &profile,
        thread.signed_advance_mm(),
        scene.phase_mm,
        &scene.view,
        Edge::Upper,
        -2..=1,
    );
    let (sin, cos) = scene.roll_rad.sin_cos();
    let px = |(z, x): (f64, f64)| {
        let (right, up) = (z * cos - x * sin, z * sin + x * cos);
        (scene.centre_px.0 + scene.px_per_mm * right, scene.centre_px.1 - scene.px_per_mm * up)
    };
    let mut clicks = Vec::new();
    for groove in -2..=1 {
        for (piece, flank, at) in [
            (Piece::CrestRight, Flank::Crest, [0.2, 0.8]),
            (Piece::FlankRight, Flank::Right, [0.2, 0.8]),
            (Piece::Root, Flank::Root, [0.25, 0.75]),
            (Piece::FlankLeft, Flank::Left, [0.2, 0.8]),
            (Piece::CrestLeft, Flank::Crest, [0.2, 0.8]),
        ] {
            let seen: Vec<(f64, f64)> = outline
                .segments
                .iter()
                .filter(|s| {
                    let site = &outline.vertices[s.a].site;
                    site.groove == groove && site.piece == piece
                })
                .flat_map(|s| {
                    let (a, b) = outline.ends(s);
                    [a, b]
                })
                .collect();
            let (Some(first), Some(last)) = (seen.first(), seen.last()) else { continue };
            for t in at {
                let at = (first.0 + t * (last.0 - first.0), first.1 + t * (last.1 - first.1));
                clicks.push((px(at), flank));
            }
        }
    }
    clicks
}

#[test]
fn click_flank_points() {
    let mut bench = Bench::new();
    let (path, shown) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6.000 ± 0.003 mm");
    bench.settle();
    bench.go_to("Thread");
    let words = |flank| match flank {
        Flank::Right => "right flank",
        Flank::Left => "left flank",
        Flank::Crest => "crest",
        Flank::Root => "root",
    };
    let all = clicks(&shown);
    // Nearer, so that a click does not take hold of its neighbour.
    let middle = all[all.len() / 2].0;
    let at = bench.on_screen(middle);
    bench.harness.event(Event::PointerMoved(at));
    for _ in 0..4 {
        bench.harness.key_press(Key::Plus);
        bench.harness.step();
    }
    for flank in Flank::ALL {
        bench.press(words(flank));
        for (at, _) in all.iter().filter(|(_, f)| *f == flank) {
            bench.click_picture(*at);
        }
    }
    bench.settle();
    let points = bench.job().thread.points.clone();
    assert_eq!(points.len(), all.len());
    // Every point jumped to the edge.
    for p in &points {
        let near =
            all.iter().map(|((x, y), _)| (p.x_px - x).hypot(p.y_px - y)).fold(f64::MAX, f64::min);
        assert!(near < 4.0, "{p:?} is {near:.2} px from where it was clicked");
    }
    // One edge does not tell the diameter: the window asks for it, a micrometer knows.
    bench.go_to("Form");
    assert!(bench.says("One edge alone does not tell the diameter"));
    bench.go_to("Thread");
    bench.enter("Major diameter by micrometer", "18.60 ± 0.01 mm");
    bench.settle();
    let true_pitch = shown.scene.thread.section().pitch_mm();
    let pitch = bench.pitch_mm().unwrap_or_else(|| {
        panic!("not measured: {:?}", bench.harness.state().bench.findings().unwrap().troubles)
    });
    let u = bench.measured().form.pitch_mm.unwrap().u;
    assert!((pitch - true_pitch).abs() < 4.0 * u, "{pitch} ± {u} for {true_pitch}");
    assert!((pitch / true_pitch - 1.0).abs() < 0.005, "{pitch} for {true_pitch}");
    let words = |flank| match flank {
        Flank::Right => "right flank",
        Flank::Left => "left flank",
        Flank::Crest => "crest",
        Flank::Root => "root",
    };
    bench.press(words(Flank::Right));
    // A point is taken away with a key, and brought back.
    bench.click_picture((points[0].x_px, points[0].y_px));
    assert_eq!(bench.harness.state().bench.point, Some(0));
    bench.harness.key_press(Key::Delete);
    bench.settle();
    assert_eq!(bench.job().thread.points.len(), points.len() - 1);
    bench.press("Undo");
    bench.settle();
    assert_eq!(bench.job().thread.points, points);
    bench.press("Trace it everywhere");
    bench.settle();
    assert!(bench.job().thread.points.is_empty());
    assert!((bench.pitch_mm().unwrap() / true_pitch - 1.0).abs() < 0.002);
}

#[test]
fn a_part_of_the_outline_is_left_out() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let pitch = bench.pitch_mm().unwrap();
    let thread = bench.findings().thread.clone().unwrap();
    let all = thread.upper.len() + thread.lower.len();
    bench.go_to("Thread");
    bench.press("Leave a part out");
    assert_eq!(bench.harness.state().bench.pointer, Pointer::Exclude);
    // The left third of the upper edge.
    let (x0, x1) =
        thread.upper.iter().fold((f64::MAX, f64::MIN), |e, p| (e.0.min(p.x), e.1.max(p.x)));
    let (y0, y1) =
        thread.upper.iter().fold((f64::MAX, f64::MIN), |e, p| (e.0.min(p.y), e.1.max(p.y)));
    bench.drag_picture((x0 - 20.0, y0 - 20.0), (x0 + 0.33 * (x1 - x0), y1 + 20.0));
    bench.settle();
    assert_eq!(bench.job().thread.excluded_px.len(), 1);
    let thread = bench.findings().thread.clone().unwrap();
    let left = thread.upper.len() + thread.lower.len();
    assert!(left < all - all / 10, "{left} of {all} points are left");
    let without = bench.pitch_mm().unwrap();
    assert!((without / pitch - 1.0).abs() < 1e-3 && without != pitch);
    bench.press("Count everything again");
    bench.settle();
    assert_eq!(bench.pitch_mm(), Some(pitch));
}

#[test]
fn a_pasted_picture_is_kept_and_measured() {
    let mut bench = Bench::new();
    let (path, shown) = bench.picture();
    let grey = picture::open(&path, &picture::Limits::default()).unwrap().grey;
    let (w, h) = (grey.width(), grey.height());
    let bytes: Vec<u8> = (0..h as i64)
        .flat_map(|y| (0..w as i64).map(move |x| (x, y)))
        .map(|(x, y)| grey.encoded(x, y))
        .collect();
    let image = ColorImage::from_gray([w, h], &bytes);
    bench.harness.event(Event::PasteImage(std::sync::Arc::new(image)));
    bench.settle();
    // It has a file of its own, so that the job finds it again.
    let kept = bench.job().picture.clone().unwrap().path;
    assert!(kept.starts_with(bench.folder.path().join("state")) && kept.is_file());
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let true_pitch = shown.scene.thread.section().pitch_mm();
    assert!((bench.pitch_mm().unwrap() / true_pitch - 1.0).abs() < 0.002);
}

#[test]
fn a_clipboard_that_gives_nothing_is_said() {
    let mut bench = Bench::new();
    let letting_go = Event::Key {
        key: Key::V,
        physical_key: None,
        pressed: false,
        repeat: false,
        modifiers: Modifiers::COMMAND,
    };
    bench.harness.event(Event::Paste("6 mm".into()));
    bench.harness.event(letting_go.clone());
    bench.settle();
    assert!(!bench.says("Nothing could be pasted"));
    bench.harness.event(letting_go);
    bench.settle();
    assert!(bench.says("Nothing could be pasted"));
}
