//! What the bar is taken for is asked once, named until it is confirmed, and kept in the job.

use crate::support::Bench;
use eframe::egui::{Event, Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use workbench::window::command::Command;
use workbench::window::stage::{Stage, Standing};

const QUESTION: &str = "Taken for a round rod on the surface the screw lies on. Is that so?";
const RESTS: &str =
    "All lengths rest on the bar being a round rod on the surface the screw lies on";

/// A picture with the width of its bar typed in, measured.
fn measured(bench: &mut Bench) {
    let (path, _) = bench.picture();
    bench.drop_file(&path);
    bench.settle();
    bench.harness.event(Event::Text("6 mm".into()));
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
}

fn standing(bench: &Bench, stage: Stage) -> Standing {
    bench.harness.state().bench.standing(stage)
}

#[test]
fn the_bar_is_asked_about_once_and_named_beside_the_result() {
    let mut bench = Bench::new();
    measured(&mut bench);
    assert!(bench.says(QUESTION));
    assert_eq!(standing(&bench, Stage::Bar), Standing::Asks);
    assert_eq!(standing(&bench, Stage::Form), Standing::Doubtful);
    // Whoever goes on by hand is told where the numbers stand, and the way on leads back.
    bench.go_to("Form");
    assert!(bench.says(RESTS));
    assert!(bench.says("is it what it is taken for?"));
    bench.press("Back to Bar");
    let before = bench.findings();
    bench.press("Yes, so it is");
    assert!(!bench.job().bar.is_assumed() && !bench.says(QUESTION));
    assert_eq!(standing(&bench, Stage::Bar), Standing::Done);
    // Nothing was computed anew for a word.
    assert!(std::sync::Arc::ptr_eq(&before, &bench.findings()));
    bench.go_to("Form");
    assert!(!bench.says(RESTS));
    // It is a change of the job like any other.
    bench.press("Undo");
    assert!(bench.says(RESTS));
    bench.press("Redo");
    assert!(!bench.says(RESTS));
    // And kept with it.
    let home = bench.folder.path().join("said.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    bench.harness.state_mut().command(&ctx, Command::SaveAs(home.clone()));
    bench.settle();
    let mut second = Bench::new();
    second.open(&home);
    assert!(!second.job().bar.is_assumed());
}

#[test]
fn what_was_not_confirmed_is_asked_again_when_the_job_is_opened() {
    let mut bench = Bench::new();
    measured(&mut bench);
    let home = bench.folder.path().join("open.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    bench.harness.state_mut().command(&ctx, Command::SaveAs(home.clone()));
    bench.settle();
    let mut second = Bench::new();
    second.open(&home);
    assert!(second.says(RESTS));
    // A job from before this was asked counts as said.
    let old = std::fs::read_to_string(&home).unwrap();
    let mut value: serde_json::Value = serde_json::from_str(&old).unwrap();
    assert!(value["bar"].as_object_mut().unwrap().remove("assumed").is_some());
    std::fs::write(&home, value.to_string()).unwrap();
    let mut third = Bench::new();
    third.open(&home);
    assert!(!third.says(RESTS) && !third.job().bar.is_assumed());
}

#[test]
fn each_choice_says_what_it_shows_and_no_more() {
    let mut bench = Bench::new();
    measured(&mut bench);
    bench.press("plate or strip");
    bench.settle();
    // Where it lies is still assumed.
    assert!(bench.job().bar.drop_assumed && !bench.job().bar.shape_assumed);
    assert!(bench.says("Taken for a flat strip on the surface the screw lies on. Is that so?"));
    bench.press("at axis height");
    bench.settle();
    assert!(!bench.job().bar.is_assumed() && !bench.says("Is that so?"));
    for _ in 0..2 {
        bench.press("Undo");
        bench.settle();
    }
    // A press on the one that holds already says that it does.
    bench.press("a rod");
    bench.press("same surface");
    bench.settle();
    assert!(!bench.job().bar.is_assumed());
    bench.press("Undo");
    bench.enter("or: deeper than the screw's axis by", "4.5 mm");
    bench.settle();
    assert!(!bench.job().bar.is_assumed());
    bench.enter("or: deeper than the screw's axis by", "");
    bench.settle();
    assert!(bench.job().bar.drop_assumed, "an empty entry is the usual again");
}

#[test]
fn a_demonstration_and_a_typed_thread_ask_nothing_of_a_bar() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    assert_eq!(standing(&bench, Stage::Bar), Standing::Done);
    let mut second = Bench::new();
    crate::pages::typed(&mut second);
    assert_eq!(standing(&second, Stage::Form), Standing::Done);
    second.go_to("Bar");
    assert!(!second.says("Is that so?"));
    assert!(second.harness.query_by_role_and_label(Role::Button, "Yes, so it is").is_none());
}
