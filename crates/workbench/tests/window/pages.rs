//! Every page by itself: typed inputs suffice.

use crate::support::Bench;
use eframe::egui::{Event, Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT, Queryable};
use workbench::window::field::Field;

#[test]
fn every_control_has_a_name() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    for stage in [
        "Lost motion",
        "Picture",
        "Bar",
        "Thread",
        "Form",
        "Identity",
        "Nut",
        "Tool",
        "Change wheels",
        "Passes",
        "Checks",
        "Sheets",
    ] {
        bench.go_to(stage);
        let root = bench.harness.root();
        let mut nameless = Vec::new();
        let mut todo = vec![root];
        while let Some(node) = todo.pop() {
            let n = node.accesskit_node();
            let control = matches!(
                n.role(),
                Role::Button
                    | Role::CheckBox
                    | Role::RadioButton
                    | Role::TextInput
                    | Role::Tab
                    | Role::ComboBox
                    | Role::Slider
            );
            if control && n.label().is_none_or(|l| l.trim().is_empty()) {
                nameless.push(format!("{:?} at {:?}", n.role(), n.bounding_box()));
            }
            todo.extend(node.children());
        }
        assert!(nameless.is_empty(), "{stage}: {nameless:?}");
    }
}

fn says(bench: &Bench, text: &str) {
    assert!(bench.says(text), "the window does not say \"{text}\"");
}

#[test]
fn lost_motion_alone() {
    let mut bench = Bench::new();
    bench.go_to("Lost motion");
    for (i, (at, lost)) in
        [("0", "0,30"), ("40", "0.31"), ("80", "0.32"), ("120 mm", "0.31"), ("160", "0.30")]
            .into_iter()
            .enumerate()
    {
        bench.enter(&format!("Place of station {}", i + 1), at);
        bench.enter(&format!("Lost motion at station {}", i + 1), lost);
    }
    bench.settle();
    assert_eq!(bench.job().survey.readings.len(), 5);
    says(&bench, "thrust and nut cannot be told apart");
    bench.enter("End-float of the screw in its thrust", "0.06 ± 0.01 mm");
    bench.settle();
    says(&bench, "A new nut.");
    bench.wait_for(None, "lost motion along the travel");
    // A worn stretch that no nut mends.
    bench.enter("Lost motion at station 3", "0.60");
    bench.settle();
    says(&bench, "the screw too");
    bench.press("Undo");
    bench.settle();
    says(&bench, "A new nut.");
    // The same from a file.
    let file = bench.folder.path().join("readings.csv");
    let text =
        "# end_float_mm = 0.06 ± 0.01\nposition_mm;lost_motion_mm\n0;0,30\n50;0,70\n100;0,31\n";
    std::fs::write(&file, text).unwrap();
    bench.press("Type its path …");
    bench.enter("Path of readings of lost motion", &file.display().to_string());
    bench.settle();
    assert_eq!(bench.job().survey.readings.len(), 3);
    says(&bench, "the screw too");
    // And one that is none says where.
    std::fs::write(&file, "position_mm,lost_motion_mm\n0,0.3\n5,much\n").unwrap();
    bench.press("Type its path …");
    bench.enter("Path of readings of lost motion", &file.display().to_string());
    bench.settle();
    says(&bench, "line 3");
    assert_eq!(bench.job().survey.readings.len(), 3);
    // The path is still there, and with the file mended it is taken.
    let typed = |b: &Bench| b.harness.state().bench.typed_path.as_ref().map(|t| t.text.clone());
    assert_eq!(typed(&bench), Some(file.display().to_string()));
    std::fs::write(&file, "at,lost\n0,0.3\n").unwrap();
    bench.enter("Path of readings of lost motion", &file.display().to_string());
    bench.settle();
    says(&bench, "position_mm");
    let text = "position_mm,lost_motion_mm\n0,0.3\n5,0.4\n9,0.3\n12,0.3\n";
    std::fs::write(&file, text).unwrap();
    bench.press("Open");
    bench.settle();
    assert_eq!((typed(&bench), bench.job().survey.readings.len()), (None, 4));
}

#[test]
fn change_wheels_alone() {
    let mut bench = Bench::new();
    bench.go_to("Change wheels");
    says(&bench, "Enter the pitch of the lathe's lead screw, the lead to cut and the wheels owned");
    bench.enter("Pitch of the lathe's lead screw", "8");
    says(&bench, "no unit");
    bench.enter("Pitch of the lathe's lead screw", "8 tpi");
    bench.settle();
    says(&bench, "Enter the lead to cut and the wheels owned");
    bench.enter("Lead to cut", "3 mm");
    bench.enter("Wheels owned, in teeth", "20, 40, 50, 60, 120, 127");
    bench.settle();
    // 3 mm from 8 tpi: 120/127 (trade arithmetic).
    says(&bench, "120 / 127");
    says(&bench, "exact");
    bench.wait_for(None, "the train, to scale");
    bench.enter("Lead to cut", "3.175 mm");
    bench.settle();
    says(&bench, "Half nuts may be opened anywhere");
    // Nothing is worked out for a thread that must not be made here.
    bench.go_to("Nut");
    bench.press("It presses or clamps with force");
    bench.settle();
    for stage in ["Nut", "Tool", "Change wheels", "Passes", "Checks", "Sheets"] {
        bench.go_to(stage);
        says(&bench, "licensed");
    }
    assert!(bench.findings().gears.is_none());
    // The answer was given: nobody is asked for it again.
    says(&bench, "nothing is made for this thread");
    assert!(!bench.says("Nut needs you"));
    bench.go_to("Nut");
    says(&bench, "Nothing is made here for this thread");
    assert!(!bench.says("No nut yet"));
}

/// A 4 mm thread of 30° and 20 mm, typed in.
pub fn typed(bench: &mut Bench) {
    bench.go_to("Form");
    for (name, text) in [
        ("Pitch", "4 mm ± 0.002 mm"),
        ("Right flank", "15° ± 0.1°"),
        ("Left flank", "15° ± 0.1°"),
        ("Depth, radial", "2.25 mm ± 0.01 mm"),
        ("Crest flat", "1.464 mm ± 0.01 mm"),
        ("Major diameter", "20 mm ± 0.01 mm"),
    ] {
        bench.enter(name, text);
    }
    bench.settle();
}

#[test]
fn an_empty_job_can_be_begun_from_any_other() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.press("New");
    bench.settle();
    assert_eq!(*bench.job(), job::Job::default());
    says(&bench, "What do you have?");
    bench.go_to("Change wheels");
    says(&bench, "Enter the pitch of the lathe's lead screw, the lead to cut and the wheels owned");
    // Where a thread is typed in, the keyboard is ready for it.
    bench.go_to("Form");
    bench.harness.event(Event::Text("4 mm".into()));
    bench.harness.step();
    bench.harness.key_press(Key::Enter);
    bench.settle();
    assert_eq!(bench.job().form.pitch_mm.map(|q| q.value), Some(4.0));
    typed(&mut bench);
    assert!(bench.findings().screw.is_some());
    bench.go_to("Form");
    says(&bench, "Typed in: each ± is as it was entered");
    bench.wait_for(None, "section, true to scale");
    assert!(!bench.says("Drop a picture"));
    // What is not saved is asked for first.
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::N);
    bench.settle();
    bench.press("Stay");
    bench.settle();
    assert!(bench.findings().screw.is_some());
    bench.press("New");
    bench.settle();
    bench.press("Go on without saving");
    bench.settle();
    assert_eq!(*bench.job(), job::Job::default());
}

#[test]
fn a_long_name_of_a_standard_does_not_push_the_page_aside() {
    let mut bench = Bench::new();
    typed(&mut bench);
    bench.enter("Major diameter", "24 mm ± 0.01 mm");
    bench.settle();
    bench.go_to("Identity");
    says(&bench, "size not in the series");
    let middle = bench.harness.get_by_label("section, true to scale").rect();
    let question = bench.harness.get_by_label("Is it a standard thread?").rect();
    assert!(middle.right() < question.left(), "{middle:?} covers {question:?}");
}

#[test]
fn a_typed_thread_goes_through_all_the_machine_pages() {
    let mut bench = Bench::new();
    typed(&mut bench);
    bench.go_to("Nut");
    says(&bench, "Choose at the right: for some uses nothing is designed here");
    // Nothing is shown to work by before that is known.
    for stage in ["Tool", "Passes", "Sheets", "Nut"] {
        bench.go_to(stage);
        says(&bench, "What does the thread do?");
        for name in ["axial play against infeed", "cutting edge of the tool, tip up"] {
            assert!(bench.harness.query_by_label(name).is_none(), "{stage} shows {name}");
        }
    }
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.wait_for(None, "axial play against infeed");
    let before = bench.findings().nut.as_ref().unwrap().infeed_mm.value;
    // Along the curve: deeper is more play, with the same tool; one drag is one step.
    let steps = |b: &Bench| b.harness.state().bench.history.undo_label().map(str::to_owned);
    bench.drag_within("axial play against infeed", (0.55, 0.5), (0.8, 0.4));
    bench.settle();
    let nut = bench.findings().nut.clone().unwrap();
    assert!(nut.infeed_mm.value > before + 0.02, "{} from {before}", nut.infeed_mm.value);
    assert!(nut.axial_play_mm.value > 0.09, "{}", nut.axial_play_mm.value);
    assert_eq!(steps(&bench).as_deref(), Some("infeed"));
    // Nobody entered a clearance: it follows, and a play that is typed does without it again.
    let shown = |b: &Bench, field| b.harness.state().bench.text_of(field);
    assert_eq!(shown(&bench, Field::RadialClearance), "");
    assert!(bench.job().nut.radial_clearance_mm.is_some());
    let dragged = bench.job().nut.play_mm.value;
    bench.drag_within("axial play against infeed", (0.5, 0.5), (0.6, 0.4));
    bench.settle();
    assert_ne!(bench.job().nut.play_mm.value, dragged);
    bench.press("Undo");
    bench.settle();
    assert_eq!(bench.job().nut.play_mm.value, dragged, "each drag is a step");
    bench.enter("Axial play of the nut", "0.07 mm");
    bench.settle();
    assert_eq!(bench.job().nut.radial_clearance_mm, None);
    bench.press("Undo");
    bench.press("Undo");
    bench.settle();
    let again = bench.findings().nut.as_ref().unwrap().infeed_mm.value;
    assert!((again - before).abs() < 1e-9);
    // Slowly, with results arriving under way, it leads to the same place as at one stroke.
    bench.drag_within("axial play against infeed", (0.5, 0.5), (0.6, 0.4));
    bench.settle();
    let at_once = bench.findings().nut.as_ref().unwrap().infeed_mm.value;
    bench.press("Undo");
    bench.settle();
    bench.drag_slowly_within("axial play against infeed", (0.5, 0.5), (0.6, 0.4));
    bench.settle();
    let slowly = bench.findings().nut.as_ref().unwrap().infeed_mm.value;
    assert!(at_once > before + 0.02 && (slowly - at_once).abs() < 0.003, "{slowly}, {at_once}");
    bench.press("Undo");
    bench.settle();
    kinds_of_nut(&mut bench);
    bench.go_to("Tool");
    bench.wait_for(None, "cutting edge of the tool, tip up");
    // The form is corrected for rake and height; a tool set by other means is another tool.
    let square = bench.findings().tool.as_ref().unwrap().included_angle_deg.value;
    bench.press("How it is ground and set");
    bench.enter("Top rake", "8 deg");
    bench.settle();
    let raked = bench.findings().tool.as_ref().unwrap().included_angle_deg.value;
    assert!((raked - square).abs() > 0.05, "{raked} with rake, {square} without");
    bench.press("Undo");
    bench.settle();
    assert_eq!(bench.findings().tool.as_ref().unwrap().included_angle_deg.value, square);
    bench.press("a new screw");
    bench.settle();
    assert_eq!(bench.findings().tool.as_ref().unwrap().purpose, shop::ToolFor::Screw);
    bench.press("Undo");
    bench.settle();
    bench.go_to("Passes");
    bench.wait_for(None, "the groove, pass by pass");
    bench.enter("One division of the dial", "0.001 in");
    bench.press("diameter");
    bench.settle();
    let last = *bench.findings().cutting.as_ref().unwrap().plan.passes.last().unwrap();
    // A dial in thousandths that counts diameter: twice the depth, in inches.
    let infeed = bench.findings().nut.as_ref().unwrap().infeed_mm.value;
    assert!((last.dial.shown - 2.0 * infeed / 25.4).abs() < 0.001);
    bench.press("along a flank");
    bench.enter("Depth of every pass", "0.2 mm");
    bench.settle();
    let cutting = bench.findings().cutting.clone().unwrap();
    let flank = bench.findings().screw.as_ref().unwrap().right_flank_deg.value;
    let shop::Feed::Flank { top_slide_deg } = cutting.request.feed else {
        panic!("{:?}", cutting.request.feed)
    };
    assert!((top_slide_deg - (flank - 0.5)).abs() < 0.1, "{top_slide_deg} for {flank}");
    assert_eq!(cutting.plan.passes[0].increment_mm, 0.2);
    bench.go_to("Checks");
    bench.wait_for(None, "wires on the screw, true to scale");
    let over = bench.findings().wires.as_ref().unwrap().over_wires_mm.value;
    bench.enter("Read over the wires", &format!("{:.3} ± 0.01 mm", over));
    bench.settle();
    says(&bench, "Agrees");
    bench.enter("Read over the wires", &format!("{:.3} ± 0.01 mm", over - 0.3));
    bench.settle();
    says(&bench, "thinner");
    bench.go_to("Sheets");
    bench.settle();
    assert!(bench.harness.query_all_by_label_contains("as it will print").next().is_some());
    let preview = bench.harness.state().bench.preview.as_ref().unwrap();
    let titles: Vec<String> =
        preview.1.as_ref().unwrap().iter().map(|page| page.title.clone()).collect();
    for sheet in ["Template", "Job sheet", "Drawing of the nut", "Shadow chart"] {
        assert!(titles.iter().any(|t| t.starts_with(sheet)), "{sheet} is not among {titles:?}");
    }
    bench.harness.get_by_label_contains("2 · ").click();
    bench.harness.step();
    bench.harness.step();
    assert_eq!(bench.harness.state().bench.page, 1);
}

/// A nut may be split or a sleeve, says what that does to the play, is kept, and can be undone.
fn kinds_of_nut(bench: &mut Bench) {
    let kind = |b: &Bench| b.findings().nut.as_ref().unwrap().request.kind;
    bench.press("split");
    bench.enter("Width of either cut", "1.2 mm");
    bench.settle();
    assert_eq!(kind(bench), shop::NutKind::Split { kerf_mm: 1.2 });
    // Each half comes in by half the cut: 1.2 / 2 × 2 tan 15° = 0.32 mm of play (own arithmetic).
    let taken = bench.findings().nut.as_ref().unwrap().play_taken_by_closing_mm.unwrap();
    assert!((taken - 1.2 * 15f64.to_radians().tan()).abs() < 1e-6, "{taken}");
    says(bench, "taken by closing");
    bench.wait_for(None, "the nut seen along its axis");
    bench.press("a sleeve");
    bench.enter("Larger than its housing by", "0.02 mm");
    bench.enter("Outside of the sleeve", "12 mm");
    bench.settle();
    // Smaller than the groove: said in a sentence.
    assert!(bench.findings().nut.is_none());
    says(bench, "is cut through by a groove");
    bench.enter("Outside of the sleeve", "26 mm");
    bench.settle();
    says(bench, "wall of the sleeve");
    let made = kind(bench);
    assert_eq!(made, shop::NutKind::Sleeve { outer_diameter_mm: 26.0, interference_mm: 0.02 });
    let text = job::to_text(&bench.job(), None);
    assert_eq!(job::from_text(&text, None).unwrap().nut.kind, made);
    while kind_said(bench) != shop::NutKind::Solid {
        bench.press("Undo");
    }
    bench.settle();
    assert_eq!(kind(bench), shop::NutKind::Solid);
}

fn kind_said(bench: &Bench) -> shop::NutKind {
    bench.job().nut.kind
}

#[test]
fn readings_beside_the_picture_settle_which_thread_it_is() {
    let mut bench = Bench::new();
    bench.go_to("Identity");
    bench.choose("Add a reading …", "Caliper over several threads");
    bench.settle();
    // Not typed yet is no doubt.
    says(&bench, "Type what was read.");
    assert!(!bench.says("not used"));
    bench.enter("Threads of reading 1", "20");
    bench.enter("Length of reading 1", "50.8 ± 0.03");
    bench.choose("Add a reading …", "Major diameter by micrometer");
    bench.enter("Diameter of reading 2", "12.65 ± 0.01 mm");
    bench.choose("Add a reading …", "Screw-pitch gauge");
    bench.enter("Pitch of reading 3", "10 tpi");
    bench.enter("Angle of reading 3", "29");
    bench.settle();
    let findings = bench.findings();
    let first = &findings.ranking.as_ref().unwrap().candidates[0];
    // 10 threads per inch, 29°, 1/2 in.
    assert!(first.designation.contains("1/2-10"), "{}", first.designation);
    says(&bench, "pitch 2.5400");
    // A travel per turn that does not fit is found out, and named.
    bench.choose("Add a reading …", "Caliper over several threads");
    bench.enter("Threads of reading 4", "20");
    bench.enter("Length of reading 4", "50.0 ± 0.03 mm");
    bench.settle();
    assert!(bench.findings().identity.as_ref().unwrap().disagreement.is_some());
    says(&bench, "By chance alone");
    bench.press("Undo");
    bench.press("Undo");
    bench.press("Undo");
    bench.settle();
    assert_eq!(bench.job().evidence.len(), 3);
    assert!(bench.findings().identity.as_ref().unwrap().disagreement.is_none());
}

#[test]
fn rounding_is_never_without_its_cost() {
    let mut bench = Bench::new();
    typed(&mut bench);
    bench.enter("Pitch", "4.01 mm ± 0.005 mm");
    bench.settle();
    let measured = bench.findings().screw.as_ref().unwrap().pitch_mm.value;
    bench.go_to("Identity");
    says(&bench, "of axial play over a nut");
    bench.press("round numbers");
    bench.settle();
    let rounded = bench.findings().screw.as_ref().unwrap().pitch_mm.value;
    assert!((measured - 4.01).abs() < 1e-9 && (rounded - 4.0).abs() < 1e-9);
    assert!(bench.findings().warnings.iter().any(|w| w.code == "rounded"));
}

#[test]
fn the_form_flank_by_flank_and_tooth_by_tooth() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Form");
    bench.wait_for(None, "how far the outline lies from the fitted shadow");
    bench.press("tooth by tooth");
    bench.wait_for(None, "pitch error and wear, tooth by tooth");
    bench.press("nothing");
    assert!(bench.harness.query_by_label("pitch error and wear, tooth by tooth").is_none());
    says(&bench, "What would help most");
    bench.press("what is there");
    says(&bench, "what a tool must be ground to");
}

#[test]
fn everything_can_be_reached_by_keys() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.key(Modifiers::NONE, Key::F1);
    says(&bench, "Search the guide");
    bench.key(Modifiers::NONE, Key::F1);
    let start = bench.harness.state().bench.stage;
    bench.key(Modifiers::NONE, Key::PageDown);
    let next = bench.harness.state().bench.stage;
    assert_eq!(next.number(), start.number() + 1);
    bench.key(Modifiers::NONE, Key::PageUp);
    assert_eq!(bench.harness.state().bench.stage, start);
    // The view turns, and lies level again.
    bench.key(Modifiers::NONE, Key::OpenBracket);
    let turned = bench.harness.state().bench.camera.turn_rad;
    assert!((turned.to_degrees() - 1.0).abs() < 1e-9);
    bench.key(Modifiers::NONE, Key::H);
    let axis = bench.findings().thread.as_ref().unwrap().axis;
    let level = bench.harness.state().bench.camera.turn_rad;
    assert!((level.tan() - axis.1 / axis.0).abs() < 1e-9);
    // Unsaved work is asked about before the window closes.
    bench.go_to("Nut");
    bench.enter("Axial play of the nut", "0.07 mm");
    bench.settle();
    bench.key(Modifiers::COMMAND, Key::Q);
    bench.wait_for(None, "Stay");
    bench.press("Stay");
    assert!(bench.harness.state().bench.leaving.is_none());
}

#[test]
fn a_first_window_leads_to_a_demonstration_by_one_click() {
    let mut bench = Bench::new();
    bench.wait_for(Some(Role::Button), "Show me on a demonstration");
    bench.press("Show me on a demonstration");
    bench.settle();
    for stage in ["Lost motion", "Form", "Nut", "Tool", "Change wheels", "Passes", "Checks"] {
        let name = format!(" {stage}: ");
        let text = bench.harness.get_by_label_contains(&name);
        let label = text.accesskit_node().label().unwrap_or_default();
        // A mark asks for something only where something is to be decided: of the wheels owned none
        // cuts this pitch well.
        let standing = if stage == "Change wheels" { "done, with warnings" } else { "done" };
        assert!(label.ends_with(&format!(": {standing}")), "{label}");
    }
}

#[test]
fn nothing_that_is_entered_moves_when_a_result_arrives() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    let entries = |b: &Bench| -> Vec<String> {
        let nodes = b.harness.query_all_by_role(Role::TextInput);
        nodes.map(|n| format!("{:?} {:?}", n.accesskit_node().label(), n.rect())).collect()
    };
    // Each brings remarks, takes results away, or both.
    for (stage, name, text) in [
        ("Bar", "Width of the bar", "16 mm"),
        ("Thread", "Major diameter by micrometer", "40 ± 0.01 mm"),
        ("Nut", "Axial play of the nut", "0.001 mm"),
        ("Tool", "Free length of the bar", "5 mm"),
        ("Change wheels", "Lead to cut", "77.7 mm"),
        ("Passes", "Tip flat as ground", "30 mm"),
        ("Checks", "Wires at hand", "9 mm"),
    ] {
        bench.go_to(stage);
        bench.harness.step();
        let before = entries(&bench);
        assert!(before.len() > 1, "{stage}: {before:?}");
        let said = |b: &Bench| [b.findings().warnings.clone(), b.findings().troubles.clone()];
        let first = said(&bench);
        bench.enter(name, text);
        bench.settle();
        assert_ne!(said(&bench), first, "{stage}: nothing new is said");
        assert_eq!(entries(&bench), before, "{stage}");
        bench.press("Undo");
        bench.settle();
    }
}
