//! Large text and small windows: everything can still be reached.

use crate::support::Bench;
use eframe::egui::{Color32, Key, Modifiers, Rect, Role, TextStyle};
use egui_kittest::kittest::{NodeT, Queryable};
use workbench::window::stage::Stage;

/// Makes the text as large as the window carries.
fn largest(bench: &mut Bench) -> f32 {
    for _ in 0..12 {
        bench.key(Modifiers::COMMAND, Key::Plus);
    }
    for _ in 0..4 {
        bench.harness.step();
    }
    bench.harness.ctx.zoom_factor()
}

fn entries(bench: &Bench) -> Vec<String> {
    let root = bench.harness.root();
    let (mut todo, mut names) = (vec![root], Vec::new());
    while let Some(node) = todo.pop() {
        let n = node.accesskit_node();
        if n.role() == Role::TextInput {
            names.extend(n.label());
        }
        todo.extend(node.children());
    }
    names.sort();
    names
}

fn inside(window: Rect, rect: Rect, what: &str) {
    assert!(window.expand(0.5).contains_rect(rect), "{what}: {rect:?} in {window:?}");
}

#[test]
fn at_the_largest_text_a_small_screen_carries_everything_is_reached() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    let zoom = largest(&mut bench);
    assert!((1.7..2.5).contains(&zoom), "{zoom}");
    assert!(bench.says("The text is as large as this window can carry."));
    bench.press("Understood");
    let window = bench.harness.ctx.content_rect();
    for button in ["A+", "A−", "mm", "thou", "Guide", "Save", "Undo"] {
        inside(window, bench.harness.get_by_label(button).rect(), button);
    }
    for stage in Stage::ALL {
        // Every step by the pointer, from every other.
        let tab = format!("{} {}: ", stage.number(), stage.name());
        inside(window, bench.harness.get_by_label_contains(&tab).rect(), &tab);
        bench.go_to(stage.name());
        bench.settle();
        let next = bench
            .harness
            .query_by_label_contains("Next: ")
            .or_else(|| bench.harness.query_by_label_contains("Back to "))
            .or_else(|| bench.harness.query_by_label_contains("Print all "))
            .map(|n| n.rect());
        inside(window, next.unwrap_or(Rect::EVERYTHING), &format!("next, {}", stage.name()));
        let next = next.unwrap();
        // What is asked first is seen without a turn of the wheel.
        let first = match stage {
            Stage::Bar => Some("Width of the bar"),
            Stage::Nut => Some("Axial play of the nut"),
            Stage::Wheels => Some("Lead to cut"),
            Stage::Sheets => Some("Name on the sheets"),
            _ => None,
        };
        if let Some(name) = first {
            let rect = bench.harness.get_by_role_and_label(Role::TextInput, name).rect();
            assert!(rect.bottom() <= next.top(), "{name}: {rect:?} under {next:?}");
        }
        for name in entries(&bench) {
            bench.harness.get_by_role_and_label(Role::TextInput, &name).scroll_to_me();
            for _ in 0..14 {
                bench.harness.step();
            }
            let rect = bench.harness.get_by_role_and_label(Role::TextInput, &name).rect();
            inside(window, rect, &name);
            assert!(rect.bottom() <= next.top(), "{}: {name} under the button", stage.name());
            // Wide enough to read what is typed.
            assert!(rect.width() > 60.0, "{name}: {rect:?}");
        }
    }
}

/// Entries whose text does not fit into its one row, with what stands in them or what they show while they
/// are empty. Lists of wheels take as many rows as they need, and names are as long as they are.
fn clipped(bench: &Bench) -> Vec<String> {
    let ctx = &bench.harness.ctx;
    let font = TextStyle::Body.resolve(&ctx.global_style());
    let root = bench.harness.root();
    let (mut todo, mut out) = (vec![root], Vec::new());
    while let Some(node) = todo.pop() {
        let n = node.accesskit_node();
        let name = n.label().unwrap_or_default();
        let free = name.contains("Wheels owned") || name.contains("Name ") || name == "Remarks";
        if n.role() == Role::TextInput && !free {
            let value = n.value().unwrap_or_default();
            let shown =
                if value.is_empty() { n.placeholder().unwrap_or_default().into() } else { value };
            let wide = ctx.fonts_mut(|f| {
                f.layout_no_wrap(shown.clone(), font.clone(), Color32::BLACK).size().x
            });
            // Between the margins of the frame: six points in a table, eight elsewhere.
            let room = node.rect().width() - 12.0;
            if wide > room {
                out.push(format!("{name}: \"{shown}\" wants {wide:.0} points of {room:.0}"));
            }
        }
        todo.extend(node.children());
    }
    out
}

#[test]
fn what_stands_in_an_entry_is_seen_whole() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    let mut job = (*bench.job()).clone();
    job.blank.jaws = vec![shop::JawReadings { at_mm: [-0.24, 0.113, 1.2, -0.05] }];
    let q = |value: f64, u: f64| form::Quantity::entered(value, u);
    for evidence in [
        standards::Evidence::Major { major_mm: q(19.98, 0.01) },
        standards::Evidence::Minor { minor_mm: q(15.213, 0.022) },
    ] {
        job.evidence.push(job::ReadingSaid { evidence, note: String::new() });
    }
    let file = bench.folder.path().join("whole.flanklight.json");
    std::fs::write(&file, job::to_text(&job, None)).unwrap();
    bench.drop_file(&file);
    bench.settle();
    assert_eq!(bench.job().evidence.len(), 2);
    let mut all = Vec::new();
    for larger in [0, 4] {
        for _ in 0..larger {
            bench.key(Modifiers::COMMAND, Key::Plus);
        }
        for units in ["mm", "inch", "thou"] {
            bench.press(units);
            for stage in Stage::ALL {
                bench.go_to(stage.name());
                bench.settle();
                all.extend(clipped(&bench).into_iter().map(|c| format!("{units} {stage:?} {c}")));
                if stage == Stage::Passes {
                    bench.press("set out the blank");
                    bench.settle();
                    all.extend(clipped(&bench).into_iter().map(|c| format!("{units} blank {c}")));
                    bench.press("cut the thread");
                }
            }
        }
    }
    assert!(all.is_empty(), "{all:#?}");
}

#[test]
fn what_stands_in_the_middle_is_moved_into_view_with_large_text() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    largest(&mut bench);
    bench.press("Understood");
    let window = bench.harness.ctx.content_rect();
    for (stage, thing) in [
        (Stage::Survey, "lost motion along the travel"),
        (Stage::Nut, "axial play against infeed"),
        (Stage::Wheels, "half nuts"),
        (Stage::Passes, "bends away"),
    ] {
        bench.go_to(stage.name());
        bench.settle();
        bench.harness.get_by_label(thing).scroll_to_me();
        for _ in 0..14 {
            bench.harness.step();
        }
        let rect = bench.harness.get_by_label(thing).rect();
        assert!(rect.height() < 130.0 || rect.width() > 400.0, "{thing} too small: {rect:?}");
        let seen = rect.intersect(window);
        assert!(seen.width() > 40.0 && seen.height() > 10.0, "{thing}: {rect:?} in {window:?}");
    }
    bench.key(Modifiers::NONE, Key::F1);
    for _ in 0..4 {
        bench.harness.step();
    }
    // Nothing of the list of keys lies aside.
    bench.settle();
    bench.harness.get_by_label("Keys").scroll_to_me();
    bench.settle();
    for _ in 0..14 {
        bench.harness.step();
    }
    bench.press("Keys");
    let last = bench.harness.get_by_label("larger or smaller text").rect();
    assert!(last.right() <= window.right(), "{last:?}");
}

#[test]
fn text_too_large_for_a_window_comes_back_with_a_larger_one() {
    let mut bench = Bench::new();
    let large = largest(&mut bench);
    let zoom = |b: &mut Bench, w: f32, h: f32| {
        let now = b.harness.ctx.zoom_factor();
        b.harness.set_size(eframe::egui::vec2(w / now, h / now));
        for _ in 0..4 {
            b.harness.step();
        }
        b.harness.ctx.zoom_factor()
    };
    let small = zoom(&mut bench, 900.0, 560.0);
    assert!(small < large - 0.2, "{small} of {large}");
    assert!((zoom(&mut bench, 1366.0, 768.0) - large).abs() < 1e-3);
    // On a screen that carries it the largest is what it is anywhere.
    zoom(&mut bench, 2560.0, 1440.0);
    assert!((largest(&mut bench) - 2.5).abs() < 0.01);
    assert!(bench.says("The text is as large as it goes."));
}

#[test]
fn a_long_name_says_first_whether_it_is_saved() {
    let mut bench = Bench::new();
    bench.go_to("Sheets");
    let long =
        "Tension screw of the floor loom from the weaving mill by the river, second of three";
    bench.enter("Name on the sheets", long);
    bench.settle();
    let title = |b: &Bench| {
        let shown = b.harness.query_all_by_label_contains("(not saved)").next();
        shown.map(|n| (n.value().unwrap_or_default(), n.rect()))
    };
    bench.harness.set_size(eframe::egui::vec2(1000.0, 700.0));
    bench.harness.step();
    bench.harness.step();
    let (text, rect) = title(&bench).unwrap();
    let ends = text.starts_with("Tension") && text.ends_with("(not saved)");
    assert!(ends && text.contains('…'), "{text} at {rect:?}");
    assert!(text.contains("three"), "{text}");
    let mm = bench.harness.get_by_label("mm").rect();
    assert!(rect.right() <= mm.left(), "{rect:?} under {mm:?}");
}

#[test]
fn however_much_is_said_the_page_stays_in_reach() {
    use workbench::window::command::Command;
    use workbench::window::state::About;
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Nut");
    largest(&mut bench);
    let ctx = bench.harness.ctx.clone();
    for (about, what) in
        [(About::Saving, "job"), (About::Sheets, "sheets"), (About::Opening, "picture")]
    {
        let text = format!(
            "cannot write the {what} to /a/folder/with/a/long/name/that/is/full: no space left on the \
             device. Choose another folder; what was there before is whole."
        );
        bench.harness.state_mut().command(&ctx, Command::Failed(about, text));
    }
    for _ in 0..4 {
        bench.harness.step();
    }
    let window = bench.harness.ctx.content_rect();
    let next = bench.harness.get_by_label_contains("Next: ").rect();
    inside(window, next, "next");
    let heading =
        bench.harness.get_by_label("Which nut fits the screw, with how much play?").rect();
    inside(window, heading, "the page");
    bench.enter("Axial play of the nut", "0.09 mm");
    bench.settle();
    assert_eq!(bench.job().nut.play_mm.value, 0.09);
    // Each is put away where it stands.
    for _ in 0..4 {
        let Some(node) = bench.harness.query_all_by_label("Understood").next() else { break };
        node.scroll_to_me();
        for _ in 0..14 {
            bench.harness.step();
        }
        bench.harness.get_all_by_label("Understood").next().unwrap().click();
        bench.harness.step();
        bench.harness.step();
    }
    assert!(bench.harness.state().bench.messages.is_empty());
}

#[test]
fn of_small_text_it_is_not_said_that_it_is_as_large_as_it_goes() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    largest(&mut bench);
    assert!(bench.says("The text is as large as this window can carry."));
    bench.key(Modifiers::COMMAND, Key::Minus);
    bench.harness.step();
    assert!(!bench.says("The text is as large as this window can carry."));
}

#[test]
fn what_a_page_waits_for_is_read_whole_with_large_text() {
    let mut bench = Bench::new();
    largest(&mut bench);
    bench.go_to("Change wheels");
    bench.settle();
    let side = bench.harness.get_by_role_and_label(Role::TextInput, "Lead to cut").rect().left();
    for words in ["Which wheels?", "Enter the pitch of the lathe's lead screw"] {
        let rect = bench.harness.get_by_label_contains(words).rect();
        assert!(rect.left() >= 0.0 && rect.right() <= side, "{words}: {rect:?} beside {side}");
    }
}
