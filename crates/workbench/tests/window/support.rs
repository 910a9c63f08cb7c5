//! A window without a display, driven by labels.

use eframe::egui::{DroppedFile, Event, Key, Modifiers, PointerButton, Pos2, Role};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use workbench::window::state::Work;
use workbench::window::{Window, look};

/// A file as the desktop hands it over.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|e| e.to_string())
    }
}

/// A window with a folder of its own.
pub struct Bench {
    pub harness: Harness<'static, Window>,
    pub folder: tempfile::TempDir,
}

impl Bench {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let window = Window::new(Arc::new(|| {}), folder.path().join("state")).unwrap();
        let harness = Harness::builder()
            .with_size([1366.0, 768.0])
            .with_context_setup(look::dress)
            .build_ui_state(|ui, window: &mut Window| window.show(ui), window);
        Self { harness, folder }
    }

    /// Frames until nothing is being worked on.
    pub fn settle(&mut self) {
        for _ in 0..3 {
            self.harness.step();
        }
        let mut quiet = 0;
        for _ in 0..6000 {
            self.harness.step();
            let window = self.harness.state();
            // What a thread said last may be heard only in the next frame, and set more going.
            quiet = if window.idle() && window.bench.work == Work::Idle { quiet + 1 } else { 0 };
            if quiet == 3 {
                return;
            }
            if quiet == 0 {
                std::thread::sleep(Duration::from_millis(10));
            }
        }
        panic!("still working: {:?}", self.harness.state().bench.work);
    }

    /// Frames until something of this role and name is there; a modal takes a frame or two.
    pub fn wait_for(&mut self, role: Option<Role>, label: &str) {
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

    pub fn press(&mut self, label: &str) {
        self.wait_for(None, label);
        // What lies beyond the fold is brought into view first; the view glides there.
        if !(100.0..640.0).contains(&self.harness.get_by_label(label).rect().center().y) {
            self.harness.get_by_label(label).scroll_to_me();
            for _ in 0..12 {
                self.harness.step();
            }
        }
        self.harness.get_by_label(label).click();
        self.harness.step();
        self.harness.step();
    }

    pub fn go_to(&mut self, stage: &str) {
        self.harness.get_by_label_contains(&format!(" {stage}: ")).click();
        self.harness.step();
        self.harness.step();
    }

    /// Types into the entry of this name, over what stands there, and presses Enter.
    pub fn enter(&mut self, name: &str, text: &str) {
        self.wait_for(Some(Role::TextInput), name);
        self.harness.get_by_role_and_label(Role::TextInput, name).focus();
        self.harness.step();
        self.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
        self.harness.step();
        match text {
            "" => self.harness.key_press(Key::Delete),
            _ => self.harness.event(Event::Text(text.to_owned())),
        }
        self.harness.step();
        self.harness.key_press(Key::Enter);
        self.harness.step();
        self.harness.step();
    }

    pub fn open(&mut self, path: &Path) {
        self.press("Type its path …");
        self.enter("Path of a picture or a job", &path.display().to_string());
        self.settle();
    }

    /// Drops a file on the window.
    pub fn drop_file(&mut self, path: &Path) {
        self.harness.input_mut().dropped_files.push(Arc::new(Dropped(path.to_owned())));
        self.harness.step();
        self.harness.step();
    }

    pub fn on_screen(&self, (x, y): (f64, f64)) -> Pos2 {
        let window = self.harness.state();
        window.bench.camera.on_screen(window.picture_view().unwrap(), x, y)
    }

    pub fn click_picture(&mut self, at_px: (f64, f64)) {
        let at = self.on_screen(at_px);
        self.harness.event(Event::PointerMoved(at));
        self.harness.step();
        for pressed in [true, false] {
            self.button(at, pressed);
        }
        self.harness.step();
    }

    pub fn drag_picture(&mut self, from_px: (f64, f64), to_px: (f64, f64)) {
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

    pub fn button(&mut self, pos: Pos2, pressed: bool) {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
        self.harness.event(Event::PointerButton { pos, button, pressed, modifiers });
        self.harness.step();
    }

    /// The picture of the first demonstration in a file of its own, and the demonstration.
    pub fn picture(&self) -> (PathBuf, lamp::Demonstration) {
        let shown = lamp::demonstrations().remove(0);
        let path = self.folder.path().join("shadow.jpg");
        std::fs::write(&path, shown.to_jpeg().unwrap()).unwrap();
        (path, shown)
    }

    pub fn job(&self) -> Arc<job::Job> {
        Arc::clone(self.harness.state().bench.job())
    }

    pub fn measured(&self) -> Arc<fit::Measurement> {
        let findings = self.harness.state().bench.findings().unwrap();
        Arc::clone(findings.measurement.as_ref().unwrap())
    }

    pub fn pitch_mm(&self) -> Option<f64> {
        let findings = self.harness.state().bench.findings()?.clone();
        Some(findings.measurement.as_ref()?.form.pitch_mm?.value)
    }

    pub fn says(&self, text: &str) -> bool {
        self.harness.query_all_by_label_contains(text).next().is_some()
    }

    pub fn findings(&self) -> Arc<job::Findings> {
        Arc::clone(self.harness.state().bench.findings().unwrap())
    }

    /// Chooses from the list that the button of this name opens.
    pub fn choose(&mut self, list: &str, option: &str) {
        // Results that come in between would move the page under the pointer.
        self.settle();
        self.press(list);
        self.press(option);
    }

    pub fn key(&mut self, modifiers: Modifiers, key: Key) {
        self.harness.key_press_modifiers(modifiers, key);
        self.harness.step();
        self.harness.step();
    }

    /// Drags from one part of a thing on the screen to another; 0 is its left or upper edge.
    pub fn drag_within(&mut self, label: &str, from: (f32, f32), to: (f32, f32)) {
        self.drag(label, from, to, |_| ());
    }

    /// The same by a slow hand: what each move sets going is done before the next.
    pub fn drag_slowly_within(&mut self, label: &str, from: (f32, f32), to: (f32, f32)) {
        self.drag(label, from, to, Self::settle);
    }

    fn drag(&mut self, label: &str, from: (f32, f32), to: (f32, f32), between: fn(&mut Self)) {
        let rect = self.harness.get_by_label(label).rect();
        let at = |p: (f32, f32)| rect.lerp_inside(eframe::egui::vec2(p.0, p.1));
        let (from, to) = (at(from), at(to));
        self.harness.event(Event::PointerMoved(from));
        self.harness.step();
        self.button(from, true);
        for t in [0.3f32, 0.6, 1.0] {
            self.harness.event(Event::PointerMoved(from + t * (to - from)));
            self.harness.step();
            between(self);
        }
        self.button(to, false);
        self.harness.step();
    }
}
