//! How long a frame of the window takes on a 48-megapixel picture while it is panned, zoomed and
//! turned: our own code, and that with egui's layout and tessellation, both without the graphics
//! driver; how long a window takes from nothing to its first frame; and how much memory it all
//! takes. `cargo bench -p workbench --bench frames`.

use eframe::egui::{
    Event, Modifiers, MouseWheelSource, MouseWheelUnit, PointerButton, TouchPhase, pos2, vec2,
};
use egui_kittest::Harness;
use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;
use std::time::{Duration, Instant};
use workbench::window::command::Command;
use workbench::window::field::Field;
use workbench::window::stage::Stage;
use workbench::window::state::Work;
use workbench::window::{Window, look};

type Times = Rc<RefCell<Vec<Duration>>>;

#[expect(clippy::expect_used, reason = "a bench may stop")]
fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shown = lamp::demonstrations().remove(0);
    let scene = &mut shown.scene;
    let larger = (8000.0 / f64::from(scene.width_px)).max(1.0);
    scene.width_px = 8000;
    scene.height_px = 6000;
    scene.px_per_mm *= larger;
    scene.centre_px = (scene.centre_px.0 * larger, scene.centre_px.1 * larger);
    let path = folder.path().join("large.jpg");
    let jpeg = shown.to_jpeg().expect("a picture");
    // The picture alone, for a bench in a real window.
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(i) = arguments.iter().position(|a| a == "--picture") {
        let wanted = arguments.get(i + 1).expect("a path behind --picture");
        std::fs::write(wanted, jpeg).expect("room on the disk");
        return;
    }
    std::fs::write(&path, jpeg).expect("room on the disk");
    drop(shown);
    // Casting the picture took far more than showing it: the count begins anew.
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let before = memory_mb();

    let began = Instant::now();
    let own: Times = Rc::default();
    let inner = Rc::clone(&own);
    let window = Window::new(Arc::new(|| {}), folder.path().join("state")).expect("threads");
    let mut harness = Harness::builder()
        .with_size([2560.0, 1440.0])
        .with_context_setup(look::dress)
        .build_ui_state(
            move |ui, window: &mut Window| {
                let began = Instant::now();
                window.show(ui);
                inner.borrow_mut().push(began.elapsed());
            },
            window,
        );
    harness.step();
    say(&format!("first frame after {:.0} ms, without the driver", ms(began.elapsed())));
    let began = Instant::now();
    let ctx = harness.ctx.clone();
    harness.state_mut().command(&ctx, Command::Open(path));
    settle(&mut harness);
    say(&format!("48 MP opened in {:.2} s", began.elapsed().as_secs_f64()));
    let began = Instant::now();
    harness.state_mut().command(&ctx, Command::Type(Field::BarWidth, "6 mm".into()));
    let enter = Command::Enter { field: Field::BarWidth, by_key: true };
    harness.state_mut().command(&ctx, enter);
    settle(&mut harness);
    say(&format!("48 MP measured in {:.2} s", began.elapsed().as_secs_f64()));
    say(&format!("memory: {:.0} MB at most, {before:.0} MB before", memory_mb()));

    let bench = |harness: &mut Harness<'_, Window>,
                 name: &str,
                 frame: &dyn Fn(&mut Harness<'_, Window>, u32)| {
        own.borrow_mut().clear();
        let mut all = Vec::new();
        for i in 0..600u32 {
            frame(harness, i);
            let began = Instant::now();
            harness.step();
            all.push(began.elapsed());
        }
        report(&format!("{name}, our own code"), &mut own.borrow_mut());
        report(&format!("{name}, with egui"), &mut all);
    };
    for stage in [Stage::Picture, Stage::Form] {
        harness.state_mut().command(&ctx, Command::GoTo(stage));
        settle(&mut harness);
        bench(&mut harness, &format!("{} zoomed", stage.name()), &zoom);
        bench(&mut harness, &format!("{} panned", stage.name()), &pan);
    }
    for stage in [Stage::Survey, Stage::Nut, Stage::Wheels, Stage::Sheets] {
        harness.state_mut().command(&ctx, Command::GoTo(stage));
        settle(&mut harness);
        bench(&mut harness, stage.name(), &|_, _| {});
    }
}

fn zoom(harness: &mut Harness<'_, Window>, i: u32) {
    let at = pos2(900.0 + (i % 97) as f32, 500.0 + (i % 61) as f32);
    harness.event(Event::PointerMoved(at));
    let notch = if (i / 40).is_multiple_of(2) { 1.0 } else { -1.0 };
    harness.event(Event::MouseWheel {
        unit: MouseWheelUnit::Line,
        delta: vec2(0.0, notch),
        phase: TouchPhase::Move,
        source: MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
}

fn pan(harness: &mut Harness<'_, Window>, i: u32) {
    // Held for a hundred frames, there and back.
    let t = (i % 100) as f32;
    let at = pos2(700.0 + 6.0 * t, 500.0 + 3.0 * t);
    harness.event(Event::PointerMoved(at));
    if i.is_multiple_of(100) || i % 100 == 99 {
        harness.event(Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed: i.is_multiple_of(100),
            modifiers: Modifiers::NONE,
        });
    }
}

fn ms(d: Duration) -> f64 {
    1000.0 * d.as_secs_f64()
}

fn report(name: &str, times: &mut [Duration]) {
    times.sort();
    let at = |per_mille: usize| ms(times[(times.len() - 1) * per_mille / 1000]);
    say(&format!(
        "{name}: median {:.2} ms, 99 % {:.2} ms, worst {:.2} ms",
        at(500),
        at(990),
        at(1000)
    ));
}

#[expect(clippy::print_stdout, reason = "a bench prints")]
fn say(text: &str) {
    println!("{text}");
}

/// Most memory this process ever held, MB; 0 where the system does not tell.
fn memory_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM:")).unwrap_or_default();
    let kb = line.split_whitespace().nth(1).and_then(|n| n.parse::<f64>().ok());
    kb.unwrap_or(0.0) / 1024.0
}

fn settle(harness: &mut Harness<'_, Window>) {
    loop {
        harness.step();
        let window = harness.state();
        if window.idle() && window.bench.work == Work::Idle {
            break;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    harness.step();
    harness.step();
}
