//! An entry that is refused asks until it is mended; and what Enter and Escape do where they did
//! nothing.

use crate::pages::typed;
use crate::support::Bench;
use eframe::egui::{Event, Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use workbench::window::field::Field;
use workbench::window::route_result;
use workbench::window::stage::{Stage, Standing};

fn ready() -> Bench {
    let mut bench = Bench::new();
    typed(&mut bench);
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench
}

fn standing(bench: &Bench, stage: Stage) -> Standing {
    bench.harness.state().bench.standing(stage)
}

#[test]
fn a_refused_entry_asks_until_it_is_mended() {
    let mut bench = ready();
    assert!(bench.says("all worked out"));
    assert_eq!(standing(&bench, Stage::Sheets), Standing::Done);
    let next =
        |b: &Bench| b.harness.get_by_role_and_label(Role::TextInput, "Length of thread").rect().min;
    let before = next(&bench);
    bench.enter("Axial play of the nut", "6");
    bench.settle();
    assert!(bench.says("no unit"), "the reason stands beside the entry");
    assert!(bench.says("6 mm") && bench.says("6 in"), "what was meant is one press away");
    assert_eq!(next(&bench), before, "no entry moves");
    assert!(bench.says("refused as typed, and 0.08 mm is used as before"));
    assert_eq!(standing(&bench, Stage::Nut), Standing::Asks);
    assert_eq!(route_result(&bench.harness.state().bench, Stage::Nut), "entry refused");
    assert!(bench.says("Nut: an entry is refused") && !bench.says("all worked out"));
    bench.go_to("Sheets");
    bench.settle();
    assert!(bench.says("An entry is refused: the play of the nut at step 7"));
    assert!(!bench.says("Ready to print"));
    bench.go_to("Nut");
    bench.enter("Axial play of the nut", "0.1 mm");
    bench.settle();
    assert!(bench.says("all worked out"));
    bench.go_to("Sheets");
    bench.settle();
    assert!(bench.says("Ready to print"));
}

#[test]
fn a_refused_reading_asks_too_and_goes_with_its_line() {
    let mut bench = ready();
    bench.go_to("Identity");
    bench.choose("Add a reading …", "Caliper over several threads");
    bench.settle();
    // How many threads is proposed; the keyboard is where nothing stands yet.
    bench.harness.event(Event::Text("-5".into()));
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
    assert_eq!(bench.harness.state().bench.text_of(Field::Evidence(0, 1)), "-5");
    assert!(bench.says("A reading: refused as typed, and not used"));
    assert_eq!(standing(&bench, Stage::Identity), Standing::Asks);
    assert!(bench.says("Identity: an entry is refused"));
    bench.press("remove");
    bench.settle();
    assert!(!bench.says("an entry is refused"));
}

#[test]
fn what_is_asked_no_more_is_not_refused_any_more() {
    let mut bench = ready();
    bench.press("split");
    bench.settle();
    bench.enter("Width of either cut", "wide");
    bench.settle();
    assert_eq!(standing(&bench, Stage::Nut), Standing::Asks);
    bench.press("in one piece");
    bench.settle();
    assert_ne!(standing(&bench, Stage::Nut), Standing::Asks);
}

#[test]
fn enter_prints_where_that_is_the_coloured_button_and_escape_puts_messages_away() {
    let mut bench = ready();
    let shown: Arc<Mutex<Vec<PathBuf>>> = Arc::default();
    let keep = Arc::clone(&shown);
    bench.harness.state_mut().viewer = Arc::new(move |path| {
        keep.lock().unwrap().push(path.to_owned());
        Ok(())
    });
    bench.go_to("Sheets");
    bench.settle();
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
    assert_eq!(shown.lock().unwrap().len(), 1);
    assert!(bench.says("handed to your PDF viewer"));
    bench.key(Modifiers::NONE, Key::Escape);
    assert!(!bench.says("handed to your PDF viewer"));
    // The question before unsaved work is left: Enter saves first.
    let home = bench.folder.path().join("kept.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    let save = workbench::window::command::Command::SaveAs(home.clone());
    bench.harness.state_mut().command(&ctx, save);
    bench.settle();
    let opened = |bench: &mut Bench| {
        let open = workbench::window::command::Command::Open(home.clone());
        bench.harness.state_mut().command(&ctx, open);
        bench.settle();
        bench.go_to("Sheets");
        bench.settle();
    };
    let paper = || job::load(&home).unwrap().sheets.paper;
    bench.press("US Letter");
    bench.settle();
    assert!(bench.harness.state().bench.unsaved());
    bench.press("New");
    bench.wait_for(None, "Save first …");
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
    // Saved, and what was asked goes on.
    assert_eq!(paper(), job::PaperSaid::Letter);
    assert_eq!(*bench.job(), job::Job::default());
    assert!(bench.harness.state().bench.leaving.is_none());
    opened(&mut bench);
    // With the keyboard in an entry, too; and Tab leads to the other answers.
    bench.press("A4");
    bench.harness.get_by_role_and_label(Role::TextInput, "Name on the sheets").focus();
    bench.harness.step();
    bench.key(Modifiers::COMMAND, Key::N);
    bench.wait_for(None, "Save first …");
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
    assert_eq!(paper(), job::PaperSaid::A4);
    assert_eq!(*bench.job(), job::Job::default());
    opened(&mut bench);
    bench.press("US Letter");
    bench.key(Modifiers::COMMAND, Key::N);
    bench.wait_for(None, "Save first …");
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Escape);
    bench.settle();
    let now = &bench.harness.state().bench;
    assert!(now.unsaved() && now.leaving.is_none());
}

#[test]
fn what_only_a_reading_tells_is_asked_for_where_it_is_entered() {
    let mut bench = Bench::new();
    let (path, shown) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    bench.press("Yes, so it is");
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    // The same picture, its pitch told five times worse than a nut can be designed from.
    let vague = |bench: &mut Bench| {
        let mut m = (*bench.measured()).clone();
        m.form.pitch_mm = m.form.pitch_mm.map(|q| form::Quantity { u: 0.1 * q.value, ..q });
        let said = job::screw_of(&m, None).unwrap_err();
        let mut findings = (*bench.findings()).clone();
        (findings.screw, findings.nut, findings.tool) = (None, None, None);
        findings.troubles.push(job::Remark::new(job::Part::Nut, job::READING_NEEDED, said));
        let job = bench.job();
        bench.harness.state_mut().bench.findings = Some((job, Arc::new(findings)));
        bench.harness.step();
        bench.harness.step();
    };
    vague(&mut bench);
    assert!(bench.says("a caliper over ten threads"));
    assert!(bench.says("\"Readings beside the picture\""));
    bench.go_to("Form");
    assert_eq!(standing(&bench, Stage::Identity), Standing::Asks);
    assert!(bench.says("a reading beside the picture is needed"));
    bench.key(Modifiers::NONE, Key::Enter);
    assert_eq!(bench.harness.state().bench.stage, Stage::Identity);
    assert!(bench.says("a caliper over ten threads") && bench.says("Readings beside the picture"));
    assert!(!bench.says("nothing here to decide") && !bench.says("what does the thread do?"));
    // The reading that is asked for is taken, and a nut follows.
    let pitch_mm = shown.scene.thread.section().pitch_mm();
    bench.choose("Add a reading …", "Caliper over several threads");
    bench.settle();
    bench.enter("Length of reading 1", &format!("{:.3} mm", 10.0 * pitch_mm));
    bench.settle();
    assert_ne!(standing(&bench, Stage::Identity), Standing::Asks);
    assert!(bench.findings().nut.is_some());
}

#[test]
fn of_a_bar_at_the_axis_no_distance_is_blamed() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    let blamed = "because the bar is not at the axis's distance";
    assert!(bench.says(blamed));
    bench.press("at axis height");
    bench.settle();
    assert!(bench.says("Scale at the screw's axis.") && !bench.says(blamed));
}

#[test]
fn of_two_that_are_refused_the_one_with_the_keyboard_is_spoken_of() {
    let mut bench = ready();
    bench.enter("Axial play of the nut", "6");
    bench.enter("Length of thread", "long");
    assert!(bench.says("The length of the nut: refused as typed"));
    assert!(bench.says("\"long\" is not"));
    bench.harness.get_by_role_and_label(Role::TextInput, "Axial play of the nut").focus();
    bench.harness.step();
    bench.harness.step();
    assert!(bench.says("The play of the nut: refused as typed"));
    assert!(bench.says("\"6\" has no unit") && !bench.says("\"long\" is not"));
}

#[test]
fn no_fold_closes_over_an_entry_that_is_refused() {
    let mut bench = ready();
    let fold = "Material, load, unworn ends";
    bench.press(fold);
    bench.enter("Axial load, N", "much");
    bench.settle();
    let why = bench.harness.state().bench.wrong[&Field::Load].clone();
    assert!(bench.says(&why));
    bench.press(fold);
    bench.settle();
    assert!(bench.says(&why), "the reason stands beside the entry still");
    bench.enter("Axial load, N", "300");
    bench.settle();
    bench.press(fold);
    bench.settle();
    assert!(!bench.says("Axial load, N"), "with nothing refused it closes");
}

#[test]
fn a_width_that_is_refused_was_not_forgotten() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    assert!(bench.says("How wide is the bar?"));
    bench.enter("Width of the bar", "6");
    bench.settle();
    let said = bench.harness.query_all_by_label_contains("refused as typed").count();
    assert!(
        said == 1 && !bench.says("How wide is the bar?"),
        "said once, and nothing else: {said}"
    );
}

#[test]
fn a_page_that_says_why_there_is_none_is_not_ready_to_print() {
    let mut bench = ready();
    bench.press("The thread sets or moves something");
    bench.press("It lifts or holds up a load or a person");
    bench.go_to("Lost motion");
    for (line, at, lost) in [(1, "0", "0.21"), (2, "40", "0.33"), (3, "80", "0.39")] {
        bench.enter(&format!("Place of station {line}"), at);
        bench.enter(&format!("Lost motion at station {line}"), lost);
    }
    bench.settle();
    assert!(bench.findings().survey.is_some());
    bench.go_to("Sheets");
    bench.settle();
    assert!(bench.says("licensed person") && !bench.says("Ready to print"));
    assert_eq!(standing(&bench, Stage::Sheets), Standing::Waiting);
}

#[test]
fn tab_marks_what_stands_in_an_entry_and_a_press_does_not() {
    let mut bench = ready();
    bench.enter("Length of thread", "20 mm");
    bench.settle();
    let typed = |b: &Bench, field| b.harness.state().bench.text_of(field);
    let put = |bench: &mut Bench, name: &str| {
        bench.harness.get_by_role_and_label(Role::TextInput, name).focus();
        bench.harness.step();
    };
    put(&mut bench, "Radial crest clearance");
    bench.key(Modifiers::NONE, Key::Tab);
    bench.harness.event(Event::Text("30 mm".into()));
    bench.harness.step();
    assert_eq!(typed(&bench, Field::NutLength), "30 mm");
    // Backwards, too.
    put(&mut bench, "Radial crest clearance");
    bench.key(Modifiers::SHIFT, Key::Tab);
    bench.harness.event(Event::Text("0.1 mm".into()));
    bench.harness.step();
    assert_eq!(typed(&bench, Field::Play), "0.1 mm");
    // With the keyboard put there otherwise, one goes on behind what stands there.
    put(&mut bench, "Length of thread");
    bench.harness.event(Event::Text(" ± 0.01 mm".into()));
    bench.harness.step();
    assert_eq!(typed(&bench, Field::NutLength), "30 mm ± 0.01 mm");
}
