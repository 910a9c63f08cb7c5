//! Every press counts: of several in one frame, and of one that changes what lies under the pointer.

use crate::support::Bench;
use eframe::egui::{Event, Key, Modifiers, PointerButton, RawInput, Role};
use egui_kittest::kittest::Queryable;
use workbench::window::field::Field;
use workbench::window::stage::Stage;

/// Presses keys so fast that one frame sees them all.
fn at_once(bench: &mut Bench, keys: &[(Modifiers, Key)]) {
    for &(modifiers, key) in keys {
        for pressed in [true, false] {
            let physical_key = None;
            let event = Event::Key { key, physical_key, pressed, repeat: false, modifiers };
            bench.harness.input_mut().events.push(event);
        }
    }
    bench.harness.step();
    bench.harness.step();
}

fn stage(bench: &Bench) -> Stage {
    bench.harness.state().bench.stage
}

#[test]
fn of_several_presses_in_one_frame_each_counts() {
    let mut bench = Bench::new();
    bench.go_to("Lost motion");
    let (none, ctrl) = (Modifiers::NONE, Modifiers::COMMAND);
    at_once(&mut bench, &[(none, Key::PageDown), (none, Key::PageDown), (none, Key::PageDown)]);
    assert_eq!(stage(&bench), Stage::Thread);
    at_once(&mut bench, &[(none, Key::PageDown), (none, Key::PageUp), (none, Key::PageUp)]);
    assert_eq!(stage(&bench), Stage::Bar);
    for units in ["inch", "thou", "mm", "inch"] {
        bench.press(units);
    }
    let before = bench.job();
    at_once(&mut bench, &[(ctrl, Key::Z); 3]);
    assert_eq!(bench.job().units, form::Units::Inch);
    // In the order they came: back, back again, and once forward.
    at_once(&mut bench, &[(ctrl, Key::Y), (ctrl, Key::Y), (ctrl, Key::Y), (ctrl, Key::Z)]);
    assert_eq!(bench.job().units, form::Units::Mm);
    at_once(&mut bench, &[(ctrl | Modifiers::SHIFT, Key::Z)]);
    assert_eq!(bench.job(), before);
    // Opened and closed again is closed.
    at_once(&mut bench, &[(none, Key::F1), (none, Key::F1)]);
    assert!(!bench.harness.state().bench.help);
    at_once(&mut bench, &[(ctrl, Key::Plus), (ctrl, Key::Plus)]);
    bench.harness.step();
    assert!((bench.harness.ctx.zoom_factor() - 1.21).abs() < 1e-4);
}

#[test]
fn a_point_nudged_twice_in_one_frame_goes_twice_as_far() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Thread");
    bench.key(Modifiers::NONE, Key::R);
    let middle = {
        let grey = &bench.harness.state().bench.loaded.as_ref().unwrap().picture.grey;
        (0.5 * grey.width() as f64, 0.5 * grey.height() as f64)
    };
    bench.click_picture(middle);
    bench.settle();
    let x = |b: &Bench| b.job().thread.points[0].x_px;
    let start = x(&bench);
    at_once(&mut bench, &[(Modifiers::SHIFT, Key::ArrowRight); 3]);
    assert!((x(&bench) - start - 0.3).abs() < 1e-6, "{} from {start}", x(&bench));
    // Removed once, however often the key comes.
    bench.click_picture((middle.0 + 60.0, middle.1));
    bench.settle();
    assert_eq!(bench.job().thread.points.len(), 2);
    at_once(&mut bench, &[(Modifiers::NONE, Key::Delete); 2]);
    assert_eq!(bench.job().thread.points.len(), 1);
}

/// A frame in which the desktop tells these.
fn told(bench: &mut Bench, events: Vec<Event>) {
    let mut input = std::mem::take(bench.harness.input_mut());
    input.events.extend(events);
    let ctx = bench.harness.ctx.clone();
    bench.harness.state_mut().hear(&ctx, &mut input);
    *bench.harness.input_mut() = input;
    bench.harness.step();
}

#[test]
fn the_size_of_the_text_is_pressed_again_without_moving() {
    for (name, presses, up) in [("A+", 4, true), ("A−", 3, false)] {
        let mut bench = Bench::new();
        bench.settle();
        let at = bench.harness.get_by_label(name).rect();
        let mm = bench.harness.get_by_label("mm").rect();
        assert!((at.center().y - mm.center().y).abs() < 1.0, "{at:?} beside {mm:?}");
        let at = at.center();
        told(&mut bench, vec![Event::PointerMoved(at)]);
        // As the desktop tells it: in points of the size of text at which the mouse moved there; all in
        // one slow frame, or one by one.
        let click = |pressed| {
            let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
            Event::PointerButton { pos: at, button, pressed, modifiers }
        };
        let twice = vec![click(true), click(false), click(true), click(false)];
        told(&mut bench, twice);
        for event in std::iter::repeat_n([click(true), click(false)], presses - 2).flatten() {
            told(&mut bench, vec![event]);
        }
        for _ in 0..8 {
            told(&mut bench, Vec::new());
        }
        let presses = i32::try_from(presses).unwrap();
        let wanted = 1.1f32.powi(if up { presses } else { -presses });
        let zoom = bench.harness.ctx.zoom_factor();
        assert!((zoom - wanted).abs() < 1e-3, "{name}: {zoom} instead of {wanted}");
        assert!(!bench.harness.state().bench.help, "another button was hit");
    }
}

/// A key and the letters it stands for, as the desktop tells them.
fn typed(text: &str) -> Vec<Event> {
    let key = |key, modifiers| Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers,
    };
    text.chars()
        .map(|c| match c {
            '\t' => key(Key::Tab, Modifiers::NONE),
            '\r' => key(Key::Tab, Modifiers::SHIFT),
            '\n' => key(Key::Enter, Modifiers::NONE),
            letter => Event::Text(letter.to_string()),
        })
        .collect()
}

/// Tells everything in one frame, as after a slow one, and lets frames go by.
fn told_at_once(bench: &mut Bench, events: Vec<Event>) {
    let ctx = bench.harness.ctx.clone();
    let mut input = RawInput { events, ..RawInput::default() };
    for _ in 0..60 {
        bench.harness.state_mut().hear(&ctx, &mut input);
        for event in input.events.drain(..) {
            bench.harness.event(event);
        }
        bench.harness.step();
    }
}

#[test]
fn keys_faster_than_frames_go_where_they_were_sent() {
    let mut bench = Bench::new();
    bench.go_to("Lost motion");
    let first = "Place of station 1";
    bench.harness.get_by_role_and_label(Role::TextInput, first).focus();
    bench.harness.step();
    told_at_once(&mut bench, typed("0\n0.30\n30\t0.32\n60\t0.31\n"));
    bench.settle();
    let read = |bench: &Bench| -> Vec<(f64, f64)> {
        let job = bench.job();
        job.survey.readings.iter().map(|r| (r.position_mm, r.lost_motion_mm.value)).collect()
    };
    assert_eq!(read(&bench), [(0.0, 0.30), (30.0, 0.32), (60.0, 0.31)]);
    // And back.
    told_at_once(&mut bench, typed("90\t0.29\r5"));
    let text = |field| bench.harness.state().bench.text_of(field);
    assert!(text(Field::Station(3)).contains('5'), "{}", text(Field::Station(3)));
    assert_eq!(text(Field::Lost(3)), "0.29");
}
