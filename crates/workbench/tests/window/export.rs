//! Sheets into a folder that holds others.

use crate::support::Bench;
use egui_kittest::kittest::Queryable;
use std::path::Path;

fn export_into(bench: &mut Bench, folder: &Path, press: &str) {
    bench.go_to("Sheets");
    bench.settle();
    let ctx = bench.harness.ctx.clone();
    let asked = match press {
        "all" => workbench::window::state::Asked::Export,
        _ => workbench::window::state::Asked::ExportSheet,
    };
    let command = workbench::window::command::Command::TypePath(asked);
    bench.harness.state_mut().command(&ctx, command);
    let name = if press == "all" { "Folder for the sheets" } else { "Folder for the sheet" };
    bench.enter(name, &folder.display().to_string());
    bench.settle();
}

fn named(thread: &str, title: &str) -> Bench {
    let mut bench = Bench::new();
    bench.enter("Thread by its name", thread);
    bench.settle();
    bench.go_to("Nut");
    bench.press("It sets or moves something; nobody is hurt if it slips");
    bench.settle();
    bench.go_to("Sheets");
    bench.enter("Name on the sheets", title);
    bench.settle();
    bench
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        // The list of what is written there is no sheet.
        .filter(|name| name != job::LIST)
        .collect();
    names.sort();
    names
}

#[test]
fn another_jobs_sheets_are_asked_for_before_they_are_replaced() {
    let mut one = named("Tr 16x4", "Vice");
    let out = one.folder.path().join("sheets");
    export_into(&mut one, &out, "all");
    let template = out.join("Vice-template-a4.pdf");
    let first = std::fs::read(&template).unwrap();
    let before = names(&out);
    assert!(before.iter().all(|n| n.starts_with("Vice-")), "{before:?}");
    // The same job again asks nothing.
    export_into(&mut one, &out, "all");
    assert!(!one.says("Files of another job"));
    // Another job of another name lies beside it.
    let mut two = named("Tr 20x4", "Cross slide");
    export_into(&mut two, &out, "all");
    assert!(out.join("Cross-slide-template-a4.pdf").is_file());
    assert_eq!(std::fs::read(&template).unwrap(), first);
    // One of the same name is asked.
    let mut three = named("Tr 20x4", "Vice");
    export_into(&mut three, &out, "all");
    assert!(three.says("Files of another job have these names."));
    assert!(three.says("Vice-template-a4.pdf"));
    assert_eq!(std::fs::read(&template).unwrap(), first);
    three.press("Not now");
    three.settle();
    assert_eq!(std::fs::read(&template).unwrap(), first);
    export_into(&mut three, &out, "all");
    three.press("Replace them");
    three.settle();
    assert_ne!(std::fs::read(&template).unwrap(), first);
    assert!(three.harness.query_by_label_contains("files written to").is_some());
}

#[test]
fn one_sheet_alone_is_exported() {
    let mut bench = named("Tr 16x4", "Vice");
    let out = bench.folder.path().join("one");
    assert!(bench.says("Export only this sheet …"));
    export_into(&mut bench, &out, "one");
    let there = names(&out);
    assert!(there.iter().all(|n| n.starts_with("Vice-template")), "{there:?}");
    assert_eq!(there.len(), 4, "{there:?}");
}
