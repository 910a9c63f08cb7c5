//! How long a frame of the window takes on a 48-megapixel picture while it is panned and zoomed:
//! our own code and egui's, without the graphics driver. `cargo bench -p workbench --bench frames`.

use eframe::egui::{Event, Modifiers, MouseWheelSource, MouseWheelUnit, TouchPhase, pos2, vec2};
use egui_kittest::Harness;
use std::sync::Arc;
use std::time::{Duration, Instant};
use workbench::window::command::Command;
use workbench::window::state::Work;
use workbench::window::{Window, look};

#[expect(clippy::print_stdout, clippy::expect_used, reason = "a bench prints and may stop")]
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
    std::fs::write(&path, shown.to_jpeg().expect("a picture")).expect("room on the disk");

    let window = Window::new(Arc::new(|| {}), folder.path().join("state")).expect("threads");
    let mut harness = Harness::builder()
        .with_size([2560.0, 1440.0])
        .with_context_setup(look::dress)
        .build_ui_state(|ui, window: &mut Window| window.show(ui), window);
    let began = Instant::now();
    let ctx = harness.ctx.clone();
    harness.state_mut().command(&ctx, Command::Open(path));
    settle(&mut harness);
    println!("48 MP opened in {:.2} s", began.elapsed().as_secs_f64());
    let began = Instant::now();
    let text = Command::Type(workbench::window::field::Field::BarWidth, "6 mm".into());
    harness.state_mut().command(&ctx, text);
    let enter = Command::Enter { field: workbench::window::field::Field::BarWidth, by_key: true };
    harness.state_mut().command(&ctx, enter);
    settle(&mut harness);
    println!("48 MP measured in {:.2} s", began.elapsed().as_secs_f64());

    let mut frames = Vec::new();
    for i in 0..600u32 {
        let at = pos2(900.0 + (i % 97) as f32, 500.0 + (i % 61) as f32);
        harness.event(Event::PointerMoved(at));
        let notch = if (i / 40) % 2 == 0 { 1.0 } else { -1.0 };
        harness.event(Event::MouseWheel {
            unit: MouseWheelUnit::Line,
            delta: vec2(0.0, notch),
            phase: TouchPhase::Move,
            source: MouseWheelSource::Wheel,
            modifiers: Modifiers::NONE,
        });
        let began = Instant::now();
        harness.step();
        frames.push(began.elapsed());
    }
    frames.sort();
    let ms = |d: Duration| 1000.0 * d.as_secs_f64();
    println!(
        "frames: median {:.1} ms, 99th percentile {:.1} ms, worst {:.1} ms",
        ms(frames[frames.len() / 2]),
        ms(frames[frames.len() * 99 / 100]),
        ms(frames[frames.len() - 1])
    );
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
