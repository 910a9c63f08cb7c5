//! What somebody new to it meets: the keyboard is where the next word is typed, the way on leads to what
//! is needed, printing is one press away, and nothing that was typed comes back in other words.

use crate::support::Bench;
use eframe::egui::{Event, Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use workbench::window::command::Command;
use workbench::window::stage::Stage;

/// Types where the keyboard is, without choosing an entry first.
fn type_blind(bench: &mut Bench, text: &str) {
    bench.harness.event(Event::Text(text.to_owned()));
    bench.harness.step();
    bench.key(Modifiers::NONE, Key::Enter);
}

fn stage(bench: &Bench) -> Stage {
    bench.harness.state().bench.stage
}

fn focused(bench: &Bench) -> bool {
    bench.harness.ctx.memory(|m| m.focused().is_some())
}

#[test]
fn from_picture_to_print_with_the_keyboard_alone() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    let seen: Arc<Mutex<Vec<PathBuf>>> = Arc::default();
    let viewed = Arc::clone(&seen);
    bench.harness.state_mut().viewer = Arc::new(move |path: &Path| {
        viewed.lock().unwrap().push(path.to_owned());
        Ok(())
    });
    bench.key(Modifiers::COMMAND, Key::L);
    bench.wait_for(None, "Path of a picture or a job");
    bench.harness.step();
    bench.key(Modifiers::COMMAND, Key::A);
    type_blind(&mut bench, &path.display().to_string());
    bench.settle();
    // The width of the bar is the first thing one types.
    assert_eq!(stage(&bench), Stage::Bar);
    type_blind(&mut bench, "6 mm");
    bench.settle();
    assert!(bench.pitch_mm().is_some());
    assert!(!focused(&bench), "an entry that was taken lets the keyboard go");
    // Is the bar what it is taken for? One press says so; then Enter goes on: what was found is looked at
    // once, then what the nut needs.
    assert!(bench.says("Is that so?") && bench.job().bar.is_assumed());
    bench.key(Modifiers::NONE, Key::Enter);
    assert!(stage(&bench) == Stage::Bar && !bench.job().bar.is_assumed());
    bench.key(Modifiers::NONE, Key::Enter);
    assert_eq!(stage(&bench), Stage::Form);
    bench.key(Modifiers::NONE, Key::Enter);
    assert_eq!(stage(&bench), Stage::Nut);
    assert!(bench.says("What does the thread do?"));
    // Here something is to be said first: Enter does not skip it.
    bench.key(Modifiers::NONE, Key::Enter);
    assert_eq!(stage(&bench), Stage::Nut);
    // To the head of the page, the first answer, chosen.
    bench.key(Modifiers::NONE, Key::F6);
    bench.key(Modifiers::NONE, Key::Tab);
    bench.key(Modifiers::NONE, Key::Space);
    bench.settle();
    assert_eq!(bench.job().duty, Some(job::Duty::Adjusts));
    bench.key(Modifiers::NONE, Key::Escape);
    for _ in 0..6 {
        if stage(&bench) == Stage::Sheets {
            break;
        }
        bench.key(Modifiers::NONE, Key::Enter);
    }
    assert_eq!(stage(&bench), Stage::Sheets);
    bench.settle();
    bench.key(Modifiers::COMMAND, Key::P);
    bench.settle();
    let printed = seen.lock().unwrap().clone();
    assert_eq!(printed.len(), 1);
    let bytes = std::fs::read(&printed[0]).unwrap();
    let pages = bench.harness.state().bench.preview.as_ref().unwrap().1.as_ref().unwrap().len();
    assert!(bytes.starts_with(b"%PDF") && pages > 3, "{pages} pages");
    assert!(bench.says(&format!("{pages} pages handed to your PDF viewer")));
    assert!(bench.says("measure both check lines"));
    // What is printed is of the job as it is; when that changes, the page says so.
    bench.go_to("Nut");
    bench.enter("Axial play of the nut", "0.06 mm");
    bench.settle();
    bench.go_to("Sheets");
    assert!(bench.says("of an earlier state of the job"));
    bench.press("Only the one shown");
    bench.settle();
    assert!(!bench.says("of an earlier state of the job"));
    assert!(seen.lock().unwrap()[1].to_string_lossy().ends_with("-page-1.pdf"));
}

#[test]
fn where_no_program_shows_a_pdf_the_file_is_named() {
    let mut bench = Bench::new();
    bench.harness.state_mut().viewer = Arc::new(|_: &Path| Err("there is none".to_owned()));
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Sheets");
    bench.settle();
    bench.key(Modifiers::COMMAND, Key::P);
    bench.settle();
    assert!(bench.says("this desktop shows no PDF (there is none)"));
    let prints = bench.folder.path().join("state/prints");
    let file = std::fs::read_dir(prints).unwrap().next().unwrap().unwrap().path();
    assert!(bench.says(&file.display().to_string()));
    assert!(bench.says("never \"fit to page\""));
}

#[test]
fn a_number_without_a_unit_is_taken_with_one_press() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.drop_file(&path);
    bench.settle();
    type_blind(&mut bench, "6");
    assert!(bench.says("no unit"));
    assert!(focused(&bench), "what is wrong is typed again where it stands");
    bench.press("6 mm");
    bench.settle();
    assert_eq!(bench.job().bar.width_mm.unwrap().value, 6.0);
    assert!(!bench.says("no unit") && bench.pitch_mm().is_some());
}

#[test]
fn what_was_typed_is_shown_back_as_it_was_typed() {
    let mut bench = Bench::new();
    bench.go_to("Change wheels");
    // The first entry has the keyboard.
    type_blind(&mut bench, "8 tpi");
    bench.enter("Lead to cut", "1/8 in");
    bench.settle();
    let value = |b: &Bench, name: &str| b.harness.get_by_label(name).value();
    assert_eq!(bench.job().wheels.leadscrew_mm, Some(3.175));
    let shown = |b: &Bench| {
        let state = &b.harness.state().bench;
        [
            state.text_of(workbench::window::field::Field::Leadscrew),
            state.text_of(workbench::window::field::Field::LeadWanted),
        ]
    };
    assert_eq!(shown(&bench), ["8 tpi", "1/8 in"]);
    assert_eq!(value(&bench, "Pitch of the lathe's lead screw").as_deref(), Some("8 tpi"));
    bench.press("inch");
    assert_eq!(shown(&bench), ["8 tpi", "1/8 in"]);
    // Undone and done again, saved and opened again: still in the words it was typed in.
    bench.press("Undo");
    bench.press("Undo");
    assert_eq!(shown(&bench), ["8 tpi", ""]);
    bench.press("Redo");
    assert_eq!(shown(&bench), ["8 tpi", "1/8 in"]);
    let home = bench.folder.path().join("wheels.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    bench.harness.state_mut().command(&ctx, Command::SaveAs(home.clone()));
    bench.settle();
    let mut second = Bench::new();
    second.open(&home);
    assert_eq!(shown(&second), ["8 tpi", "1/8 in"]);
}

#[test]
fn the_tip_says_why_it_follows_the_wheels() {
    let mut bench = Bench::new();
    crate::pages::typed(&mut bench);
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    let tip = |b: &Bench| b.findings().tool.as_ref().unwrap().tip_flat_mm.value;
    let before = tip(&bench);
    bench.go_to("Change wheels");
    bench.enter("Pitch of the lathe's lead screw", "8 tpi");
    // 63/50 × 3.175 = 4.0005 mm: +125 ppm (own arithmetic).
    bench.enter("Wheels owned, in teeth", "50, 63");
    bench.settle();
    let lost = bench.findings().nut.as_ref().unwrap().play_lost_to_lead_mm;
    assert!(lost > 0.002 && (tip(&bench) - before - lost).abs() < 1e-6, "{lost}");
    assert!(bench.says("The tool's tip is made that much wider to give it back"));
    assert!(bench.says("error takes"));
    bench.go_to("Tool");
    assert!(bench.says("of it for the wheels"));
    bench.press("Undo");
    bench.settle();
    assert!(bench.says("The wheels take no play any more"));
    assert!(!bench.says("of it for the wheels"));
    assert_eq!(tip(&bench), before);
}

#[test]
fn a_demonstration_says_that_it_is_one() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    assert!(bench.says("Demonstration: "));
    bench.wait_for(None, "Open your picture …");
    let (path, _) = bench.picture();
    bench.drop_file(&path);
    bench.settle();
    assert!(!bench.says("Demonstration: "));
    bench.wait_for(None, "Open …");
}

#[test]
fn what_the_bar_is_and_how_sure_is_chosen_by_figure_and_word() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.drop_file(&path);
    bench.settle();
    type_blind(&mut bench, "6 mm");
    bench.settle();
    let pitch = |b: &Bench| b.measured().form.pitch_mm.unwrap();
    let exact = pitch(&bench);
    bench.press("by caliper");
    bench.settle();
    assert_eq!(bench.job().bar.width_mm, Some(form::Quantity::entered(6.0, 0.02)));
    // 0.02 of 6 mm is a third of a percent of every length (own arithmetic).
    let vague = pitch(&bench);
    assert!(
        (vague.u - (exact.u.hypot(exact.value * 0.02 / 6.0))).abs() < 0.1 * vague.u,
        "{vague:?}"
    );
    let entry = workbench::window::field::Field::BarWidth;
    assert_eq!(bench.harness.state().bench.text_of(entry), "6 mm ± 0.02 mm");
    bench.press("taken as exact");
    bench.settle();
    assert_eq!(bench.harness.state().bench.text_of(entry), "6 mm");
    assert_eq!(pitch(&bench), exact);
    // At the height of the axis its scale holds as it is seen: another screw.
    bench.press("at axis height");
    bench.settle();
    assert!((pitch(&bench).value / exact.value - 1.0).abs() > 0.005, "{:?}", pitch(&bench));
    bench.press("plate or strip");
    bench.settle();
    assert_eq!(bench.job().bar.shape, fit::BarShape::Flat);
    for _ in 0..2 {
        bench.press("Undo");
    }
    bench.press("same surface");
    bench.settle();
    assert_eq!(pitch(&bench), exact);
}

#[test]
fn a_picture_is_chosen_from_the_folder_that_is_typed() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    let folder = path.parent().unwrap();
    // The window makes it itself, but in its own time.
    std::fs::create_dir_all(folder.join("state")).unwrap();
    bench.key(Modifiers::COMMAND, Key::L);
    let entry = "Path of a picture or a job";
    bench.wait_for(Some(Role::TextInput), entry);
    bench.harness.get_by_role_and_label(Role::TextInput, entry).focus();
    bench.harness.step();
    bench.key(Modifiers::COMMAND, Key::A);
    bench.harness.event(Event::Text(format!("{}/s", folder.display())));
    for _ in 0..200 {
        bench.harness.step();
        if bench.says("shadow.jpg") && bench.says("state/") {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    // A folder leads on, a picture is opened.
    assert!(bench.says("state/"));
    bench.press("shadow.jpg");
    bench.settle();
    assert_eq!(bench.job().picture.as_ref().unwrap().path, path);
}

#[test]
fn a_path_is_gone_on_with_where_it_ends() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    let typed = |b: &Bench| b.harness.state().bench.typed_path.as_ref().unwrap().text.clone();
    // The cursor stood elsewhere in the path that was typed before.
    for behind in ["-one", "-two"] {
        bench.key(Modifiers::COMMAND, Key::L);
        let begun = typed(&bench);
        bench.harness.step();
        bench.harness.event(Event::Text(behind.into()));
        bench.harness.step();
        bench.harness.step();
        assert_eq!(typed(&bench), format!("{begun}{behind}"));
        bench.key(Modifiers::NONE, Key::Home);
        bench.key(Modifiers::NONE, Key::Escape);
    }
}

#[test]
fn what_follows_no_standard_is_held_beside_the_nearest() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Identity");
    let nearest = bench.findings().ranking.as_ref().unwrap().nearest.clone().unwrap();
    assert!(bench.says("It follows no standard known here."));
    assert!(bench.says(&format!("Nearest listed: {}", nearest.designation)));
    bench.wait_for(None, "deviation of each flank from the standard");
}

#[test]
fn with_large_text_nothing_stands_over_anything_else() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    for _ in 0..4 {
        bench.key(Modifiers::COMMAND, Key::Plus);
    }
    for _ in 0..4 {
        bench.harness.step();
    }
    assert!(bench.harness.ctx.zoom_factor() > 1.35);
    let rect = |b: &Bench, label: &str| b.harness.get_by_label_contains(label).rect();
    let window = bench.harness.ctx.content_rect();
    let title = rect(&bench, "Demonstration: ");
    let mm = bench.harness.get_by_label("mm").rect();
    assert!(!title.intersects(mm), "{title:?} under {mm:?}");
    // The whole route is there, one step beside the other.
    let mut before = 0.0;
    for stage in Stage::ALL {
        let tab = rect(&bench, &format!("{} {}: ", stage.number(), stage.name()));
        assert!(tab.left() >= before - 0.5 && tab.right() <= window.right() + 0.5, "{tab:?}");
        before = tab.right();
    }
    // The list of keys has its button in sight.
    bench.key(Modifiers::NONE, Key::F1);
    bench.wait_for(None, "Close");
    for _ in 0..4 {
        bench.harness.step();
    }
    let close = bench.harness.get_by_label("Close").rect();
    assert!(window.contains_rect(close), "{close:?} in {window:?}");
}

#[test]
fn what_cannot_be_told_is_no_number_anywhere() {
    let mut bench = Bench::new();
    bench.go_to("Form");
    // Known to a tenth of a millimetre only: over a nut of 30 mm no play can be forecast from that.
    for (name, text) in [
        ("Pitch", "4 mm ± 0.1 mm"),
        ("Right flank", "15° ± 0.5°"),
        ("Left flank", "15° ± 0.5°"),
        ("Depth, radial", "2.25 mm ± 0.02 mm"),
        ("Crest flat", "1.464 mm ± 0.02 mm"),
        ("Major diameter", "20 mm ± 0.03 mm"),
    ] {
        bench.enter(name, text);
    }
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    let nut = bench.findings().nut.clone().unwrap();
    assert!(!nut.axial_play_mm.u.is_finite());
    assert!(bench.says("play cannot be told: 19 times in 20 between"));
    assert!(!bench.says("play 0 mm"));
    let window = &bench.harness.state().bench;
    assert_eq!(workbench::window::route_result(window, Stage::Nut), "cannot tell");
    bench.go_to("Sheets");
    bench.settle();
    assert!(bench.says("nothing is to be cut to them yet"));
    assert!(!bench.says("Ready to print."));
    bench.wait_for(None, "12 Sheets: done, with warnings");
}

#[test]
fn while_it_is_measured_nothing_is_asked_for_again() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.drop_file(&path);
    bench.settle();
    assert!(bench.says("How wide is the bar?"));
    type_blind(&mut bench, "6 mm");
    // Measuring takes its time: some frames pass before there is a result.
    if bench.harness.state().bench.being_measured() {
        assert!(!bench.says("How wide is the bar?"));
        bench.key(Modifiers::NONE, Key::Enter);
        let there = &bench.harness.state().bench;
        assert!(there.stage == Stage::Bar || !there.being_measured(), "went on too early");
    }
    bench.settle();
    bench.press("Yes, so it is");
    assert!(bench.says("Do the two lines lie along its edges?"));
}

#[test]
fn wheels_are_asked_for_once_where_none_are_owned() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    for stage in ["Bar", "Form", "Identity", "Passes", "Nut"] {
        bench.go_to(stage);
    }
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.go_to("Bar");
    bench.key(Modifiers::NONE, Key::Enter);
    bench.settle();
    bench.go_to("Nut");
    assert!(bench.says("which wheels cut this lead?"));
    bench.go_to("Change wheels");
    bench.go_to("Nut");
    assert!(!bench.says("which wheels cut this lead?"));
}
