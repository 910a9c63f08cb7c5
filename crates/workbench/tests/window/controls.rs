//! The window's own controls: dropped files, zoom, recent jobs, points moved by keys, the list of keys.

use crate::support::Bench;
use eframe::egui::{Key, Modifiers, Role, vec2};
use egui_kittest::kittest::Queryable;
use job::Flank;
use std::sync::Arc;
use workbench::window::Window;

#[test]
fn files_are_dropped_on_the_window() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.drop_file(&path);
    bench.settle();
    assert_eq!(bench.job().picture.as_ref().unwrap().path, path);
    // Readings are known by their name, whatever page they are dropped on.
    let readings = bench.folder.path().join("readings.csv");
    std::fs::write(&readings, "position_mm,lost_motion_mm\n0,0.3\n50,0.4\n100,0.3\n").unwrap();
    bench.drop_file(&readings);
    bench.settle();
    assert_eq!(bench.job().survey.readings.len(), 3);
    // What was entered is not left without a question.
    let other = bench.folder.path().join("other.jpg");
    std::fs::copy(&path, &other).unwrap();
    bench.drop_file(&other);
    bench.wait_for(None, "Go on without saving");
    bench.press("Stay");
    assert_eq!(bench.job().picture.as_ref().unwrap().path, path);
    bench.drop_file(&other);
    bench.press("Go on without saving");
    bench.settle();
    assert_eq!(bench.job().picture.as_ref().unwrap().path, other);
    assert!(bench.job().survey.readings.is_empty());
}

#[test]
fn the_picture_is_fitted_and_shown_pixel_by_pixel() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.go_to("Picture");
    let zoom = |b: &Bench| b.harness.state().bench.camera.zoom;
    let (w, h) = {
        let grey = &bench.harness.state().bench.loaded.as_ref().unwrap().picture.grey;
        (grey.width() as f64, grey.height() as f64)
    };
    let corners = |b: &Bench| {
        let view = b.harness.state().picture_view().unwrap();
        [(0.0, 0.0), (w, h)].map(|at| view.contains(b.on_screen(at)))
    };
    let fitted = zoom(&bench);
    assert_eq!(corners(&bench), [true, true]);
    for way in ["button", "key"] {
        match way {
            "button" => bench.press("1 : 1"),
            _ => bench.key(Modifiers::NONE, Key::Num1),
        }
        // One picture pixel on one of the screen.
        assert!((zoom(&bench) - 1.0).abs() < 1e-6, "{way}: {}", zoom(&bench));
        assert_ne!(corners(&bench), [true, true]);
        match way {
            "button" => bench.press("Fit"),
            _ => bench.key(Modifiers::NONE, Key::F),
        }
        assert!((zoom(&bench) - fitted).abs() < 1e-6, "{way}");
        assert_eq!(corners(&bench), [true, true]);
    }
    // With Ctrl the text grows, and the picture stays as it was.
    bench.key(Modifiers::COMMAND, Key::Plus);
    bench.harness.step();
    assert!((bench.harness.ctx.zoom_factor() - 1.1).abs() < 1e-6);
    assert_eq!(corners(&bench), [true, true]);
    bench.key(Modifiers::COMMAND, Key::Num0);
    bench.harness.step();
    // Arrows move the picture while no point is chosen.
    bench.press("1 : 1");
    let before = bench.on_screen((0.5 * w, 0.5 * h));
    bench.key(Modifiers::NONE, Key::ArrowRight);
    let moved = bench.on_screen((0.5 * w, 0.5 * h)) - before;
    assert!(moved.x < -20.0 && moved.y.abs() < 1e-3, "{moved:?}");
}

#[test]
fn what_was_opened_lately_is_one_click_away_in_the_next_window() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    let home = bench.folder.path().join("loom.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let save = workbench::window::command::Command::SaveAs(home.clone());
    bench.harness.state_mut().command(&ctx, save);
    bench.settle();
    let job = bench.job();
    let state = bench.folder.path().join("state");
    let mut next = Bench::new();
    *next.harness.state_mut() = Window::new(Arc::new(|| {}), state.clone()).unwrap();
    next.harness.step();
    next.press("loom.flanklight.json");
    next.settle();
    assert_eq!(next.job(), job);
    // What is gone is not offered.
    std::fs::remove_file(&home).unwrap();
    let mut last = Bench::new();
    *last.harness.state_mut() = Window::new(Arc::new(|| {}), state).unwrap();
    last.harness.step();
    assert!(!last.says("loom.flanklight.json") && last.says("shadow.jpg"));
}

#[test]
fn a_clicked_point_is_moved_by_the_arrow_keys() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let seen = bench.measured().residuals[40];
    bench.go_to("Thread");
    bench.press("right flank");
    bench.click_picture((seen.x_px, seen.y_px));
    let point = |b: &Bench| b.job().thread.points[0];
    assert_eq!(bench.harness.state().bench.point, Some(0));
    assert_eq!(point(&bench).flank, Flank::Right);
    let start = point(&bench);
    let step = 1.0f64.min(1.0 / f64::from(bench.harness.state().bench.camera.zoom));
    for (key, way) in [
        (Key::ArrowRight, vec2(1.0, 0.0)),
        (Key::ArrowDown, vec2(0.0, 1.0)),
        (Key::ArrowLeft, vec2(-1.0, 0.0)),
        (Key::ArrowUp, vec2(0.0, -1.0)),
    ] {
        for (modifiers, step) in [(Modifiers::NONE, step), (Modifiers::SHIFT, 0.1)] {
            let before = point(&bench);
            bench.key(modifiers, key);
            let after = point(&bench);
            let (dx, dy) = (after.x_px - before.x_px, after.y_px - before.y_px);
            assert!((dx - step * f64::from(way.x)).abs() < 1e-3, "{key:?}: {dx}, {dy}");
            assert!((dy - step * f64::from(way.y)).abs() < 1e-3, "{key:?}: {dx}, {dy}");
        }
    }
    // All the moving is one step.
    bench.settle();
    bench.key(Modifiers::NONE, Key::ArrowRight);
    assert_ne!(point(&bench), start);
    bench.press("Undo");
    bench.settle();
    assert_eq!(point(&bench), start);
}

#[test]
fn the_list_of_keys_opens_by_button_and_key_and_closes_again() {
    let mut bench = Bench::new();
    let listed = |b: &Bench| b.says("Search the guide");
    bench.press("Guide");
    bench.wait_for(None, "Close");
    assert!(listed(&bench));
    bench.settle();
    bench.press("Keys");
    assert!(bench.says("turn the view by 1°"));
    bench.press("Close");
    assert!(!listed(&bench));
    bench.key(Modifiers::NONE, Key::Questionmark);
    bench.wait_for(None, "Close");
    assert!(listed(&bench));
    bench.key(Modifiers::NONE, Key::Escape);
    bench.harness.step();
    assert!(!listed(&bench));
    // While text is typed a letter is a letter.
    bench.go_to("Change wheels");
    bench.harness.get_by_role_and_label(Role::TextInput, "Lead to cut").focus();
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Questionmark);
    assert!(!listed(&bench));
}
