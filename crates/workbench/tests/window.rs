//! The window, driven by its labels, without a display.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on stops")]

use eframe::egui::{Event, Key, Modifiers, PointerButton, Pos2, Role};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use form::shadow::{self, Edge};
use form::{Piece, Profile};
use job::Flank;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use workbench::window::command::Command;
use workbench::window::edit::Edit;
use workbench::window::state::{Pointer, Work};
use workbench::window::{Window, look};

struct Bench {
    harness: Harness<'static, Window>,
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let window = Window::new(Arc::new(|| {}), folder.path().join("state")).unwrap();
        let harness = Harness::builder()
            .with_size([1366.0, 768.0])
            .with_context_setup(look::dress)
            .build_ui_state(|ui, window: &mut Window| window.show(ui), window);
        Self { harness, folder }
    }

    /// Frames until nothing is being worked on.
    fn settle(&mut self) {
        for _ in 0..3 {
            self.harness.step();
        }
        for _ in 0..6000 {
            self.harness.step();
            let window = self.harness.state();
            if window.idle() && window.bench.work == Work::Idle {
                self.harness.step();
                self.harness.step();
                return;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("still working: {:?}", self.harness.state().bench.work);
    }

    /// Frames until something of this role and name is there; a modal takes a frame or two.
    fn wait_for(&mut self, role: Option<Role>, label: &str) {
        for _ in 0..20 {
            let there = match role {
                Some(role) => self.harness.query_by_role_and_label(role, label).is_some(),
                None => self.harness.query_all_by_label(label).next().is_some(),
            };
            if there {
                return;
            }
            self.harness.step();
        }
        panic!("there is nothing called \"{label}\"");
    }

    fn press(&mut self, label: &str) {
        self.wait_for(None, label);
        self.harness.get_by_label(label).click();
        self.harness.step();
        self.harness.step();
    }

    fn go_to(&mut self, stage: &str) {
        self.harness.get_by_label_contains(&format!(" {stage}: ")).click();
        self.harness.step();
        self.harness.step();
    }

    /// Types into the entry of this name, over what stands there, and presses Enter.
    fn enter(&mut self, name: &str, text: &str) {
        self.wait_for(Some(Role::TextInput), name);
        self.harness.get_by_role_and_label(Role::TextInput, name).focus();
        self.harness.step();
        self.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
        self.harness.step();
        self.harness.event(Event::Text(text.to_owned()));
        self.harness.step();
        self.harness.key_press(Key::Enter);
        self.harness.step();
        self.harness.step();
    }

    fn open(&mut self, path: &Path) {
        self.press("Type its path …");
        self.enter("Path of a picture or a job", &path.display().to_string());
        self.settle();
    }

    fn on_screen(&self, (x, y): (f64, f64)) -> Pos2 {
        let window = self.harness.state();
        window.bench.camera.on_screen(window.picture_view().unwrap(), x, y)
    }

    fn click_picture(&mut self, at_px: (f64, f64)) {
        let at = self.on_screen(at_px);
        self.harness.event(Event::PointerMoved(at));
        self.harness.step();
        for pressed in [true, false] {
            self.button(at, pressed);
        }
        self.harness.step();
    }

    fn drag_picture(&mut self, from_px: (f64, f64), to_px: (f64, f64)) {
        let (from, to) = (self.on_screen(from_px), self.on_screen(to_px));
        self.harness.event(Event::PointerMoved(from));
        self.harness.step();
        self.button(from, true);
        for t in [0.3f32, 0.7, 1.0] {
            self.harness.event(Event::PointerMoved(from + t * (to - from)));
            self.harness.step();
        }
        self.button(to, false);
        self.harness.step();
    }

    fn button(&mut self, pos: Pos2, pressed: bool) {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
        self.harness.event(Event::PointerButton { pos, button, pressed, modifiers });
        self.harness.step();
    }

    /// The picture of the first demonstration in a file of its own, and the demonstration.
    fn picture(&self) -> (PathBuf, lamp::Demonstration) {
        let shown = lamp::demonstrations().remove(0);
        let path = self.folder.path().join("shadow.jpg");
        std::fs::write(&path, shown.to_jpeg().unwrap()).unwrap();
        (path, shown)
    }

    fn job(&self) -> Arc<job::Job> {
        Arc::clone(self.harness.state().bench.job())
    }

    fn measured(&self) -> Arc<fit::Measurement> {
        let findings = self.harness.state().bench.findings().unwrap();
        Arc::clone(findings.measurement.as_ref().unwrap())
    }

    fn pitch_mm(&self) -> Option<f64> {
        let findings = self.harness.state().bench.findings()?.clone();
        Some(findings.measurement.as_ref()?.form.pitch_mm?.value)
    }

    fn says(&self, text: &str) -> bool {
        self.harness.query_all_by_label_contains(text).next().is_some()
    }
}

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
fn export_the_template() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Sheets");
    let out = bench.folder.path().join("sheets");
    bench.press("Type the folder …");
    bench.enter("Folder for the sheets", &out.display().to_string());
    bench.settle();
    for name in ["template-a4.pdf", "template-letter.pdf", "template.svg", "template.dxf"] {
        assert!(out.join(name).metadata().unwrap().len() > 1000, "{name}");
    }
    assert!(bench.says("Print at 100 %"));
    // A thread that lifts gets no template, and the window says why.
    bench.go_to("Nut");
    bench.press("The thread sets or moves something");
    bench.press("It lifts or holds up a load or a person");
    bench.settle();
    assert!(bench.says("licensed"));
    assert!(bench.harness.state().bench.findings().unwrap().tool.is_none());
    bench.go_to("Sheets");
    assert!(bench.harness.query_by_label("Export the sheets …").is_none());
    bench.press("Undo");
    bench.settle();
    bench.go_to("Sheets");
    assert!(bench.harness.query_by_label("Export the sheets …").is_some());
}

#[test]
fn the_whole_job_is_undone_and_done_again() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    let start = bench.job();
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    bench.go_to("Thread");
    bench.press("1");
    bench.enter("Major diameter by micrometer", "18.60 ± 0.01 mm");
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.enter("Axial play of the nut", "0.06 mm");
    bench.settle();
    bench.press("inch");
    let end = bench.job();
    let pitch = bench.pitch_mm().unwrap();
    let tip = |b: &Bench| {
        let findings = b.harness.state().bench.findings().unwrap();
        findings.tool.as_ref().map(|t| t.tip_flat_mm.value)
    };
    let tip_at_end = tip(&bench).expect("a tool");
    let mut steps = 0;
    while bench.harness.state().bench.history.undo_label().is_some() {
        bench.press("Undo");
        bench.settle();
        steps += 1;
    }
    assert_eq!(steps, 6);
    assert_eq!(bench.job(), start);
    for _ in 0..steps {
        bench.press("Redo");
        bench.settle();
    }
    assert_eq!(bench.job(), end);
    assert_eq!(bench.pitch_mm(), Some(pitch));
    assert_eq!(tip(&bench), Some(tip_at_end));
    // Saved, opened again in a new window: the same findings.
    let home = bench.folder.path().join("loom.flanklight.json");
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::S);
    bench.harness.step();
    for _ in 0..300 {
        bench.harness.step();
        if bench.harness.state().bench.typed_path.is_some() {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    bench.enter("Path to save the job at", &home.display().to_string());
    bench.settle();
    assert!(!bench.harness.state().bench.unsaved());
    let mut second = Bench::new();
    second.open(&home);
    assert_eq!(second.job(), end);
    assert_eq!(second.pitch_mm(), Some(pitch));
}

#[test]
fn what_cannot_be_opened_is_said_and_nothing_is_lost() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    let before = bench.job();
    let text = bench.folder.path().join("notes.txt");
    std::fs::write(&text, "this is no picture at all").unwrap();
    bench.go_to("Picture");
    bench.open(&text);
    assert!(bench.says("not a picture"));
    assert_eq!(bench.job(), before);
    bench.press("Understood");
    assert!(!bench.says("not a picture"));
    bench.press("Type its path …");
    bench.enter("Path of a picture or a job", "/no/such/picture.png");
    assert!(bench.says("There is no /no/such/picture.png"));
    bench.press("Not now");
    assert_eq!(bench.job(), before);
}

#[test]
fn a_measurement_can_be_stopped_and_the_last_result_stays() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    // Many changes at once: each stops the one before, and the last one is what is shown.
    bench.go_to("Thread");
    for starts in ["2", "3", "4", "1"] {
        bench.press(starts);
    }
    bench.settle();
    assert!(bench.harness.state().bench.up_to_date());
    assert_eq!(bench.measured().starts.unwrap().value, 1);
    let before = bench.measured();
    let ctx = bench.harness.ctx.clone();
    let window = bench.harness.state_mut();
    window.command(&ctx, Command::Edit(Edit::Starts(Some(2))));
    window.command(&ctx, Command::Cancel);
    bench.settle();
    assert!(Arc::ptr_eq(&bench.measured(), &before));
    assert!(!bench.harness.state().bench.up_to_date());
    assert!(bench.says("what is shown is the last result"));
    bench.press("Undo");
    bench.settle();
    assert!(bench.harness.state().bench.up_to_date());
}

#[test]
fn what_a_crash_left_behind_is_offered() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let job = bench.job();
    // As another process, dead by now, would have left it.
    let state = bench.folder.path().join("state of the dead");
    let journal = job::Journal::start(&state).unwrap();
    journal.keep(&job, None).unwrap();
    let old = state.join("4194305-0.recovery.json");
    let mine = std::fs::read_dir(&state).unwrap().map(|e| e.unwrap().path());
    let mine = mine.filter(|p| p.to_string_lossy().ends_with(".recovery.json")).max().unwrap();
    std::fs::rename(mine, &old).unwrap();
    let window = Window::new(Arc::new(|| {}), state.clone()).unwrap();
    *bench.harness.state_mut() = window;
    bench.press("Go on with it");
    bench.settle();
    assert_eq!(bench.job(), job);
    assert!(bench.pitch_mm().is_some());
    assert!(bench.harness.state().bench.unsaved());
    assert!(!old.exists());
}

#[test]
fn every_control_has_a_name() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    for stage in [
        "Lost motion",
        "Picture",
        "Bar",
        "Thread",
        "Form",
        "Identity",
        "Nut",
        "Tool",
        "Change wheels",
        "Passes",
        "Checks",
        "Sheets",
    ] {
        bench.go_to(stage);
        let root = bench.harness.root();
        let mut nameless = Vec::new();
        let mut todo = vec![root];
        while let Some(node) = todo.pop() {
            let n = node.accesskit_node();
            let control = matches!(
                n.role(),
                Role::Button
                    | Role::CheckBox
                    | Role::RadioButton
                    | Role::TextInput
                    | Role::Tab
                    | Role::ComboBox
                    | Role::Slider
            );
            if control && n.label().is_none_or(|l| l.trim().is_empty()) {
                nameless.push(format!("{:?} at {:?}", n.role(), n.bounding_box()));
            }
            todo.extend(node.children());
        }
        assert!(nameless.is_empty(), "{stage}: {nameless:?}");
    }
}
