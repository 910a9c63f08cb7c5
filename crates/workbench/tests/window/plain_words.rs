//! What is said is seen whole, can be read, and means what it says.

use crate::support::Bench;
use eframe::egui::{Color32, Event, Key, Modifiers, Role, Shape, Theme};
use egui_kittest::kittest::Queryable;
use workbench::window::Window;
use workbench::window::look::{DAY, NIGHT, contrast};
use workbench::window::stage::Stage;

/// Colours of the text that holds `words`, as it is painted.
fn colours(bench: &Bench, words: &str) -> Vec<Color32> {
    fn walk(shape: &Shape, words: &str, out: &mut Vec<Color32>) {
        match shape {
            Shape::Vec(all) => all.iter().for_each(|s| walk(s, words, out)),
            Shape::Text(t) if t.galley.text().contains(words) => {
                let own = t.galley.job.sections.first().map(|s| s.format.color);
                let own = own.filter(|c| *c != Color32::PLACEHOLDER);
                out.push(t.override_text_color.or(own).unwrap_or(t.fallback_color));
            }
            _ => {}
        }
    }
    let mut out = Vec::new();
    for clipped in &bench.harness.output().shapes {
        walk(&clipped.shape, words, &mut out);
    }
    out
}

/// Texts that are cut off, as they are painted.
fn elided(bench: &Bench) -> Vec<String> {
    fn walk(shape: &Shape, out: &mut Vec<String>) {
        match shape {
            Shape::Vec(all) => all.iter().for_each(|s| walk(s, out)),
            Shape::Text(t) if t.galley.elided => out.push(t.galley.text().to_owned()),
            _ => {}
        }
    }
    let mut out = Vec::new();
    for clipped in &bench.harness.output().shapes {
        walk(&clipped.shape, &mut out);
    }
    out
}

#[test]
fn a_choice_with_the_keyboard_can_be_read_in_both_themes() {
    for dark in [false, true] {
        let mut bench = Bench::new();
        bench.enter("Thread by its name", "Tr 16x4");
        bench.settle();
        bench.harness.ctx.set_theme(if dark { Theme::Dark } else { Theme::Light });
        bench.go_to("Nut");
        let words = "It sets or moves something; nobody is hurt if it slips";
        for chosen in [false, true] {
            if chosen {
                bench.press(words);
                bench.settle();
                bench.press("The thread sets or moves something");
                bench.settle();
            }
            bench.harness.get_by_role_and_label(Role::RadioButton, words).focus();
            bench.harness.step();
            bench.harness.step();
            let p = if dark { &NIGHT } else { &DAY };
            let seen = colours(&bench, "nobody is hurt");
            assert!(!seen.is_empty());
            for colour in seen {
                let ratio = contrast(colour, p.sheet);
                assert!(ratio >= 4.5, "dark {dark}, chosen {chosen}: {colour:?}, {ratio:.2}");
            }
        }
    }
}

#[test]
fn no_sentence_that_tells_what_to_do_is_cut_off() {
    for large in [false, true] {
        let mut bench = Bench::new();
        bench.press("Show me on a demonstration");
        bench.settle();
        bench.press("inch");
        bench.settle();
        for _ in 0..if large { 12 } else { 0 } {
            bench.key(Modifiers::COMMAND, Key::Plus);
        }
        bench.settle();
        for stage in Stage::ALL {
            bench.go_to(stage.name());
            bench.settle();
            // Names may be shortened: of the job, of a sheet, of a standard.
            let cut: Vec<String> = elided(&bench)
                .into_iter()
                .filter(|t| t.trim().contains(' ') && !t.contains('·') && !t.contains("screw of a"))
                .collect();
            assert!(cut.is_empty(), "{}, large {large}: {cut:?}", stage.name());
        }
    }
}

#[test]
fn a_long_trouble_is_said_whole() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Nut");
    bench.settle();
    let text = "the play of the nut cannot be forecast, because the depth is not known well enough: \
                measure the root diameter with a thread micrometer, in three places of the unworn part, \
                and enter what it reads under the readings beside the picture; the mean counts";
    let window: &mut Window = bench.harness.state_mut();
    let (job, mut findings) = {
        let (job, findings) = window.bench.findings.clone().unwrap();
        (job, (*findings).clone())
    };
    findings.troubles.push(job::Remark::new(job::Part::Nut, "told-long", text));
    window.bench.findings = Some((job, std::sync::Arc::new(findings)));
    bench.harness.step();
    bench.harness.step();
    assert!(bench.says("the mean counts"));
    assert!(!elided(&bench).iter().any(|t| t.contains("root diameter")));
}

#[test]
fn back_is_not_called_next() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    bench.go_to("Identity");
    bench.settle();
    assert!(bench.says("Back to Bar"));
    assert!(!bench.says("Next: Bar"));
    bench.press("Back to Bar");
    assert_eq!(bench.harness.state().bench.stage, Stage::Bar);
}

#[test]
fn what_another_entry_fills_in_is_typed_over() {
    let mut bench = Bench::new();
    bench.enter("Thread by its name", "Tr 16x4");
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.go_to("Passes");
    bench.settle();
    bench.harness.get_by_role_and_label(Role::TextInput, "One division of the dial").focus();
    bench.harness.step();
    bench.harness.event(Event::Text("1 thou".into()));
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Tab);
    bench.settle();
    bench.harness.event(Event::Text("40".into()));
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
    let dial = bench.job().passes.dial.unwrap();
    assert_eq!(dial.divisions_per_turn, 40, "{dial:?}");
}

#[test]
fn escape_gives_up_what_was_typed() {
    let mut bench = Bench::new();
    bench.go_to("Change wheels");
    bench.enter("Lead to cut", "3 mm");
    bench.settle();
    bench.harness.get_by_role_and_label(Role::TextInput, "Lead to cut").focus();
    bench.harness.step();
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    bench.harness.step();
    bench.harness.event(Event::Text("7 mm".into()));
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Escape);
    bench.settle();
    assert_eq!(bench.job().wheels.want_mm, Some(3.0));
    assert!(bench.harness.state().bench.drafts.is_empty());
}

#[test]
fn units_alone_are_nothing_to_lose_and_are_kept_for_the_next_time() {
    let mut bench = Bench::new();
    bench.press("inch");
    bench.settle();
    assert!(!bench.harness.state().bench.unsaved());
    bench.key(Modifiers::COMMAND, Key::N);
    bench.settle();
    assert!(!bench.says("Save first …"));
    let state = bench.folder.path().join("state");
    let window = Window::new(std::sync::Arc::new(|| {}), state).unwrap();
    assert_eq!(window.bench.units(), form::Units::Inch);
    assert!(window.bench.recovered.is_empty());
    // A picture opened then is shown in them, too.
    let mut next = Bench::new();
    *next.harness.state_mut() = window;
    let (path, _) = next.picture();
    next.open(&path);
    assert_eq!(next.job().units, form::Units::Inch);
}

#[test]
fn another_picture_takes_the_place_of_the_jobs_and_what_was_entered_stays() {
    let mut bench = Bench::new();
    let (path, shown) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm ± 0.01 mm");
    bench.settle();
    bench.press("Yes, so it is");
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.enter("Axial play of the nut", "0.07 mm");
    bench.settle();
    let before = bench.job();
    // The same screw, cast a little smaller.
    let mut scene = shown;
    scene.scene.px_per_mm *= 0.97;
    let again = bench.folder.path().join("again.jpg");
    std::fs::write(&again, scene.to_jpeg().unwrap()).unwrap();
    bench.go_to("Picture");
    bench.press("Retake: another picture …");
    bench.settle();
    bench.enter("Path of another picture of the same screw", &again.display().to_string());
    bench.settle();
    let after = bench.job();
    assert_ne!(after.picture, before.picture);
    assert_eq!(after.bar.width_mm, before.bar.width_mm);
    assert_eq!((after.duty, &after.nut), (before.duty, &before.nut));
    // Where the bar lies was said of the old picture.
    assert!(after.bar.is_assumed() && bench.says("what was entered stays"));
    assert!(bench.pitch_mm().is_some());
    bench.press("Undo");
    bench.settle();
    assert_eq!(bench.job().picture, before.picture);
    assert!(!bench.job().bar.is_assumed());
}

#[test]
fn the_first_click_by_hand_says_that_the_trace_is_put_aside() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let seen = bench.measured().residuals[40];
    bench.go_to("Thread");
    bench.settle();
    assert!(bench.says("A right flank is one that looks to the right in the picture"));
    bench.press("right flank");
    let place = |b: &Bench| b.harness.get_by_label("right flank").rect();
    let below = |b: &Bench| b.harness.get_by_label("Remove all points").rect();
    let before = (place(&bench), below(&bench));
    bench.click_picture((seen.x_px, seen.y_px));
    assert!(bench.says("The traced outline is put aside"));
    bench.settle();
    // Nothing jumped under the pointer.
    assert_eq!(place(&bench), before.0);
    bench.press("Undo");
    bench.settle();
    assert!(bench.job().thread.points.is_empty() && bench.pitch_mm().is_some());
}

#[test]
fn the_guide_opens_at_the_page_of_the_step_and_is_searched() {
    let mut bench = Bench::new();
    bench.go_to("Change wheels");
    bench.key(Modifiers::NONE, Key::F1);
    bench.wait_for(None, "Search the guide");
    // It finds its place in the first frames.
    bench.settle();
    assert!(bench.says("A 127 wheel cuts metric from an inch lead screw exactly."));
    bench.press("7 Nut");
    assert!(bench.says("designed round the thickest"));
    // What is looked for leads to the first page that holds it.
    bench.enter("Search the guide", "caliper wires rule");
    assert!(bench.says("Readings of other instruments"));
    assert!(bench.harness.query_by_label("7 Nut").is_none());
    bench.enter("Search the guide", "zeppelin");
    assert!(bench.says("No page holds that."));
    bench.press("Close");
    bench.harness.step();
    assert!(!bench.harness.state().bench.help);
}
