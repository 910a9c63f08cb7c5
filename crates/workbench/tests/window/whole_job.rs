//! The whole job, undone to its start and done again.

use crate::support::Bench;
use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use std::time::Duration;
use workbench::window::command::Command;

#[test]
fn the_whole_job_is_undone_and_done_again() {
    let mut bench = Bench::new();
    let (path, _) = bench.picture();
    bench.open(&path);
    let start = bench.job();
    bench.enter("Width of the bar", "6 mm");
    bench.settle();
    bench.go_to("Thread");
    bench.press("1");
    bench.enter("Major diameter by micrometer", "18.60 ± 0.01 mm");
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.enter("Axial play of the nut", "0.06 mm");
    bench.settle();
    bench.press("inch");
    let end = bench.job();
    let pitch = bench.pitch_mm().unwrap();
    let tip = |b: &Bench| {
        let findings = b.harness.state().bench.findings().unwrap();
        findings.tool.as_ref().map(|t| t.tip_flat_mm.value)
    };
    let tip_at_end = tip(&bench).expect("a tool");
    let mut steps = 0;
    while bench.harness.state().bench.history.undo_label().is_some() {
        bench.press("Undo");
        bench.settle();
        steps += 1;
    }
    assert_eq!(steps, 6);
    assert_eq!(bench.job(), start);
    for _ in 0..steps {
        bench.press("Redo");
        bench.settle();
    }
    assert_eq!(bench.job(), end);
    assert_eq!(bench.pitch_mm(), Some(pitch));
    assert_eq!(tip(&bench), Some(tip_at_end));
    // Saved, opened again in a new window: the same findings.
    let home = bench.folder.path().join("loom.flanklight.json");
    bench.harness.key_press_modifiers(Modifiers::COMMAND, Key::S);
    bench.harness.step();
    for _ in 0..300 {
        bench.harness.step();
        if bench.harness.state().bench.typed_path.is_some() {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    bench.enter("Path to save the job at", &home.display().to_string());
    bench.settle();
    assert!(!bench.harness.state().bench.unsaved());
    let mut second = Bench::new();
    second.open(&home);
    assert_eq!(second.job(), end);
    assert_eq!(second.pitch_mm(), Some(pitch));
}

#[test]
fn export_the_template() {
    let mut bench = Bench::new();
    bench.press("Show me on a demonstration");
    bench.settle();
    bench.go_to("Sheets");
    let out = bench.folder.path().join("sheets");
    bench.press("Type the folder …");
    bench.enter("Folder for the sheets", &out.display().to_string());
    bench.settle();
    for name in ["template-a4.pdf", "template-letter.pdf", "template.svg", "template.dxf"] {
        let name = format!("Tension-screw-of-a-floor-loom-{name}");
        assert!(out.join(&name).metadata().unwrap().len() > 1000, "{name}");
    }
    assert!(bench.says("Print at 100 %"));
    // A thread that lifts gets no template, and the window says why.
    bench.go_to("Nut");
    bench.press("The thread sets or moves something");
    bench.press("It lifts or holds up a load or a person");
    bench.settle();
    assert!(bench.says("licensed"));
    assert!(bench.harness.state().bench.findings().unwrap().tool.is_none());
    bench.go_to("Sheets");
    assert!(bench.harness.query_by_label("Export the sheets …").is_none());
    bench.settle();
    assert!(bench.harness.query_by_label_contains("Print ").is_none());
    bench.press("Undo");
    bench.settle();
    bench.go_to("Sheets");
    assert!(bench.harness.query_by_label("Export the sheets …").is_some());
}

/// Everything that was found, as text to the last digit.
fn found(bench: &Bench) -> String {
    let f = bench.findings();
    let form = f.measurement.as_ref().map(|m| m.form);
    let odds: Vec<(String, f64)> = f
        .ranking
        .iter()
        .flat_map(|r| r.candidates.iter().map(|c| (c.designation.clone(), c.probability)))
        .collect();
    format!(
        "{form:?}\n{odds:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}",
        f.survey, f.screw, f.nut, f.tool, f.gears, f.cutting, f.wires, f.gauges
    )
}

#[test]
fn from_lost_motion_to_sheets_and_all_the_way_back_and_forth() {
    let mut bench = Bench::new();
    // Lost motion first: the picture joins the job that began with it.
    bench.go_to("Lost motion");
    for (i, lost) in ["0.30", "0.32", "0.31"].into_iter().enumerate() {
        bench.enter(&format!("Place of station {}", i + 1), &(50 * i).to_string());
        bench.enter(&format!("Lost motion at station {}", i + 1), lost);
    }
    let (path, shown) = bench.picture();
    bench.go_to("Picture");
    bench.open(&path);
    assert_eq!(bench.job().survey.readings.len(), 3);
    bench.enter("Width of the bar", "6.000 ± 0.003 mm");
    bench.settle();
    bench.go_to("Thread");
    bench.press("Draw a box round the thread");
    let thread = bench.findings().thread.clone().unwrap();
    let points = || thread.upper.iter().chain(&thread.lower);
    let low = |f: fn(&picture::EdgePoint) -> f64| points().map(f).fold(f64::MAX, f64::min);
    let high = |f: fn(&picture::EdgePoint) -> f64| points().map(f).fold(f64::MIN, f64::max);
    bench.drag_picture(
        (low(|p| p.x) - 30.0, low(|p| p.y) - 30.0),
        (high(|p| p.x) + 30.0, high(|p| p.y) + 30.0),
    );
    bench.settle();
    bench.go_to("Form");
    assert!(bench.says("what a tool must be ground to") || bench.says("full colour"));
    bench.go_to("Identity");
    bench.choose("Add a reading …", "Caliper over several threads");
    let ten = 10.0 * shown.scene.thread.section().pitch_mm();
    bench.enter("Length of reading 1", &format!("{ten:.2} ± 0.03 mm"));
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.enter("Axial play of the nut", "0.06 mm");
    bench.settle();
    bench.go_to("Change wheels");
    bench.enter("Pitch of the lathe's lead screw", "8 tpi");
    bench.press("Take a usual set");
    bench.settle();
    bench.go_to("Passes");
    bench.press("diameter");
    bench.settle();
    bench.go_to("Checks");
    bench.enter("Wires at hand", "2 mm");
    bench.settle();
    bench.go_to("Sheets");
    bench.press("US Letter");
    bench.settle();
    let out = bench.folder.path().join("sheets");
    bench.press("Type the folder …");
    bench.enter("Folder for the sheets", &out.display().to_string());
    bench.settle();
    assert!(out.join("shadow-template-letter.pdf").is_file());
    let (end, found_at_end) = (bench.job(), found(&bench));
    let f = bench.findings();
    assert!(f.survey.is_some() && f.nut.is_some() && f.tool.is_some() && f.gears.is_some());
    assert!(f.cutting.is_some() && f.wires.is_some() && f.gauges.is_some());

    let mut steps = 0;
    while bench.harness.state().bench.history.undo_label().is_some() {
        bench.press("Undo");
        bench.settle();
        steps += 1;
    }
    assert_eq!(steps, 15);
    assert_eq!(*bench.job(), job::Job::default());
    assert!(bench.findings().measurement.is_none() && bench.findings().survey.is_none());
    for _ in 0..steps {
        bench.press("Redo");
        bench.settle();
    }
    assert_eq!(bench.job(), end);
    assert_eq!(found(&bench), found_at_end);
    // And a whole new window comes to the same.
    let home = bench.folder.path().join("job.flanklight.json");
    let ctx = bench.harness.ctx.clone();
    bench.harness.state_mut().command(&ctx, Command::SaveAs(home.clone()));
    bench.settle();
    let mut second = Bench::new();
    second.go_to("Picture");
    second.open(&home);
    assert_eq!(second.job(), end);
    assert_eq!(found(&second), found_at_end);
}
