//! A thread known by its name, from the page of doors to its sheets; and one of which some numbers are
//! typed.

use crate::support::Bench;
use eframe::egui::{Event, Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use form::{Hand, Source};
use workbench::window::stage::Stage;

const NAME: &str = "Thread by its name";

fn type_only(bench: &mut Bench, name: &str, text: &str) {
    bench.wait_for(Some(Role::TextInput), name);
    bench.harness.get_by_role_and_label(Role::TextInput, name).focus();
    bench.harness.step();
    bench.harness.event(Event::Text(text.to_owned()));
    bench.harness.step();
    bench.harness.step();
}

/// From nothing to the pages in six actions: the name, Enter, on, what it does, on, print.
#[test]
fn from_a_name_to_its_template_in_six_actions() {
    let mut bench = Bench::new();
    bench.enter(NAME, "Tr 20x8 P4 LH");
    bench.settle();
    let job = bench.job();
    assert_eq!(job.thread.starts, Some(2));
    assert_eq!(job.thread.hand, Some(Hand::Left));
    let pitch = job.form.pitch_mm.unwrap();
    assert_eq!((pitch.value, pitch.u, pitch.source), (4.0, 0.0, Source::Standard));
    assert_eq!(job.title, "Tr 20 x 8 (P4) LH");
    assert_eq!(bench.harness.state().bench.stage, Stage::Form);
    assert!(bench.says("Tr 20 x 8 (P4) LH"));
    bench.press("Next: Nut");
    bench.settle();
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    let f = bench.findings();
    let tool = f.tool.as_ref().unwrap();
    assert_eq!((tool.starts, tool.hand), (2, Hand::Left));
    bench.go_to("Sheets");
    bench.settle();
    assert!(bench.says("Template for grinding the tool"));
    // One step of the history took it, and one takes it back.
    for _ in 0..2 {
        bench.press("Undo");
        bench.settle();
    }
    assert_eq!(*bench.job(), job::Job::default());
}

#[test]
fn what_is_begun_is_offered_and_what_is_unknown_says_so() {
    let mut bench = Bench::new();
    type_only(&mut bench, NAME, "3/4 ac");
    bench.press("Acme 3/4-6");
    bench.settle();
    assert!((bench.job().form.pitch_mm.unwrap().value - 25.4 / 6.0).abs() < 1e-9);
    // An unknown one stays where it is typed, with the nearest under it; nothing of the job changes.
    let before = bench.job();
    bench.enter(NAME, "Tr 17x4");
    assert!(bench.says("No listed thread is called \"Tr 17x4\""));
    assert_eq!(bench.job(), before);
    bench.press("Tr 18 x 4");
    bench.settle();
    assert_eq!(bench.job().thread.major_diameter_mm.unwrap().value, 18.0);
    assert!(!bench.says("No listed thread"));
    // What can be several is asked, not guessed.
    bench.enter(NAME, "1/4-20");
    assert!(bench.says("can be") && bench.says("1/4-20 UNC"));
    // Escape gives up what was typed.
    bench.harness.get_by_role_and_label(Role::TextInput, NAME).focus();
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Escape);
    bench.harness.step();
    assert!(!bench.says("can be"));
    assert_eq!(bench.job().thread.major_diameter_mm.unwrap().value, 18.0);
}

#[test]
fn a_name_typed_for_the_pitch_is_taken_and_what_is_missing_is_said() {
    let mut bench = Bench::new();
    bench.go_to("Form");
    bench.enter("Pitch", "4 mm");
    bench.settle();
    assert!(
        bench.says("Still missing: right flank, left flank, depth, crest flat, major diameter")
    );
    assert!(!bench.says("all worked out"));
    assert!(bench.says("Form needs you"));
    // Only degrees can be meant.
    bench.enter("Right flank", "15");
    bench.enter("Left flank", "14.5 ± 0.2");
    bench.enter("Major diameter", "20 mm");
    bench.settle();
    assert!(bench.says("Still missing: depth, crest flat"));
    assert!((bench.job().form.right_flank_deg.unwrap().value - 15.0).abs() < 1e-9);
    assert_eq!(bench.job().form.left_flank_deg.unwrap().u, 0.2);
    bench.enter("Pitch", "Tr 16x4");
    bench.settle();
    assert!(!bench.says("is not a number") && !bench.says("Still missing"));
    assert_eq!(bench.job().thread.major_diameter_mm.unwrap().value, 16.0);
    assert!((bench.job().form.left_flank_deg.unwrap().value - 15.0).abs() < 1e-9);
}

#[test]
fn a_measured_thread_is_held_beside_one_that_is_named() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    let form = bench.job().form;
    bench.go_to("Identity");
    bench.settle();
    bench.enter(NAME, "Tr 16x4");
    bench.settle();
    assert_eq!(bench.job().beside.as_deref(), Some("Tr 16 x 4"));
    // The measurement is not touched.
    assert_eq!(bench.job().form, form);
    assert!(bench.job().thread.major_diameter_mm.is_none());
    assert!(!bench.says("Nothing to compare"));
}

#[test]
fn the_first_page_is_one_of_doors() {
    let mut bench = Bench::new();
    for door in ["Choose a picture …", "Change wheels only", "Lost motion only"] {
        assert!(bench.says(door), "{door}");
    }
    for shown in lamp::demonstrations() {
        assert!(bench.says(shown.title), "{}", shown.title);
    }
    bench.press("Change wheels only");
    assert_eq!(bench.harness.state().bench.stage, Stage::Wheels);
    bench.go_to("Picture");
    bench.press("Lost motion only");
    assert_eq!(bench.harness.state().bench.stage, Stage::Survey);
    bench.go_to("Picture");
    bench.press(lamp::demonstrations()[1].title);
    bench.settle();
    assert!(bench.pitch_mm().is_some());
}
