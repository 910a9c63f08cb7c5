//! Nut, tool, wheels and passes as they are typed: what would spoil metal.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

fn ran(folder: &Path, arguments: &str, more: &[&str]) -> Output {
    let mut all: Vec<&str> = arguments.split(' ').collect();
    all.extend(more);
    let program = env!("CARGO_BIN_EXE_flanklight");
    Command::new(program).current_dir(folder).args(all).output().unwrap()
}

fn text(folder: &Path, arguments: &str, more: &[&str]) -> String {
    let output = ran(folder, arguments, more);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments}: {errors}");
    let text = String::from_utf8(output.stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(folder: &Path, arguments: &str) -> Value {
    let output = ran(folder, arguments, &["--json"]);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {output:?}"))
}

fn says(text: &str, words: &[&str]) {
    for word in words {
        assert!(text.contains(word), "\"{word}\" is not in: {text}");
    }
}

/// A job of a standard thread, typed.
fn job(folder: &Path, thread: &str, name: &str, more: &str) {
    let arguments = format!("match {thread} --round standard --job {name} --duty adjusts{more}");
    // A designation has spaces in it.
    let (plain, standard) = arguments.split_once(" --standard ").unwrap();
    let (standard, rest) = standard.split_once('|').unwrap();
    text(folder, &format!("{plain}{rest}"), &["--standard", standard]);
}

const TWO: &str = "--pitch 4mm --lead 8mm --angle 30deg --major 20mm --standard Tr 20 x 8 (P4)|";
const ONE: &str = "--pitch 4mm --angle 30deg --major 20mm --standard Tr 20 x 4|";

#[test]
fn two_starts_stay_two_from_the_name_to_the_tool() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    job(at, TWO, "two.json", "");
    let nut = json(at, "nut two.json --play 0.08mm");
    assert_eq!(nut["design"]["lead_mm"]["value"], 8.0);
    let file: Value =
        serde_json::from_str(&std::fs::read_to_string(at.join("two.json")).unwrap()).unwrap();
    assert_eq!(file["thread"]["starts"], 2);
    // atan(8 / (π 18)) = 8.05° (own arithmetic).
    let tool = text(at, "tool two.json --for nut --turned", &[]);
    says(&tool, &["turned about its shank by 8.05°", "leading side of the rake face down"]);
    says(&tool, &["turned the other way it cuts the groove"]);
    // Each side at least upright.
    assert!(!tool.contains("clearance -"), "{tool}");
    says(&tool, &["The clearances hold for faces up to", "measured facing the tip"]);
    // A larger bit needs steeper faces, and says which it is.
    let bit = text(at, "tool two.json --for nut --section square:6mm", &[]);
    says(&bit, &["a square bit of 6.00 mm"]);
    let wrong = ran(at, "tool two.json --for nut --section flat:6mm", &[]);
    assert_eq!(wrong.status.code(), Some(2));
}

#[test]
fn starts_that_were_read_leave_a_standard_exact() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let thread =
        "--pitch 4mm --angle 30deg --major 20mm --evidence starts:2 --standard Tr 20 x 8 (P4)|";
    job(at, thread, "two.json", "");
    let nut = json(at, "nut two.json --play 0.08mm");
    assert_eq!(nut["design"]["pitch_mm"]["u"], 0.0);
    assert_eq!(nut["design"]["lead_mm"]["value"], 8.0);
    assert!(nut["quantities"]["axial_play_mm"]["u"].as_f64().unwrap() < 0.05);
}

#[test]
fn the_passes_are_for_what_the_nut_is_made_of() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    job(at, ONE, "one.json", "");
    says(&text(at, "passes one.json", &[]), &["Passes for the nut", "in bronze"]);
    text(at, "nut one.json --play 0.08mm --material steel --keep", &[]);
    says(
        &text(at, "passes one.json", &[]),
        &["Passes for the nut", "in steel", "stop: try the screw"],
    );
    says(&text(at, "passes one.json --material brass", &[]), &["in brass"]);
    text(at, "tool one.json --for screw --keep", &[]);
    let screw = text(at, "passes one.json", &[]);
    says(&screw, &["Passes for the new screw", "in steel", "stop: try the nut"]);
    let wrong = ran(at, "passes one.json --material wood", &[]);
    assert_eq!(wrong.status.code(), Some(2));
    says(&String::from_utf8_lossy(&wrong.stderr), &["wood", "cast-iron"]);
}

#[test]
fn a_bar_too_slender_is_said_to_be() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    job(at, ONE, "one.json", "");
    let passes = ran(at, "passes one.json --bar 8mm --overhang 60mm", &[]);
    assert_eq!(passes.status.code(), Some(4));
    says(&String::from_utf8_lossy(&passes.stderr), &["too slender", "8.0 mm", "60 mm"]);
}

#[test]
fn each_command_prints_the_cautions_that_belong_to_it() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    job(at, TWO, "two.json", "");
    let gears = text(at, "gears --leadscrew 8tpi --want 3mm --wheels 20-80,127", &[]);
    says(
        &gears,
        &["Cautions", "Isolate the machine before changing wheels", "unscrews in reverse"],
    );
    let nut = text(at, "nut two.json --play 0.08mm", &[]);
    says(&nut, &["Goggles on"]);
    assert!(!nut.contains("Isolate the machine") && !nut.contains("check lines"), "{nut}");
    let blank = text(at, "blank --cylinder 62.31mm,20mm --face 70mm", &[]);
    assert!(
        !blank.contains("Fusible") && blank.contains("Chuck key") || blank.contains("chuck key")
    );
    assert!(!blank.contains("Half nuts"), "{blank}");
}

#[test]
fn a_slide_is_held_by_a_thread_that_holds_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let with = |thread: &str, name: &str, duty: &str| {
        job(at, thread, name, "");
        let path = at.join(name);
        let file = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, file.replace("\"adjusts\"", &format!("\"{duty}\""))).unwrap();
    };
    // 4.05° against 4.74°: it holds, and the load is asked for.
    with(ONE, "knee.json", "holds-slide");
    let nut = text(at, "nut knee.json --play 0.08mm", &[]);
    says(&nut, &["lead angle 4.05°", "friction angle 4.7", "nobody said the load", "prop it up"]);
    // d2 + bore over two is near 18 mm: 100 N on some 7 turns is nothing, 60 kN is too much.
    let light = text(at, "nut knee.json --play 0.08mm --load 100N", &[]);
    assert!(!light.contains("nobody said the load"), "{light}");
    let heavy = ran(at, "nut knee.json --play 0.08mm --load 60000N", &[]);
    assert_eq!(heavy.status.code(), Some(3));
    says(&String::from_utf8_lossy(&heavy.stderr), &["N/mm²", "Make it longer"]);
    // 8.05°: it runs down by itself.
    with(TWO, "fast.json", "holds-slide");
    let fast = ran(at, "nut fast.json --play 0.08mm", &[]);
    assert_eq!(fast.status.code(), Some(3));
    says(&String::from_utf8_lossy(&fast.stderr), &["8.05°", "licensed"]);
    with(ONE, "book-press.json", "clamps-by-hand");
    says(&text(at, "nut book-press.json --play 0.08mm", &[]), &["no longer lever"]);
    // The old words stay, and stay refused.
    for word in ["lifts", "presses"] {
        with(ONE, &format!("{word}.json"), word);
        let old = ran(at, &format!("nut {word}.json --play 0.08mm"), &[]);
        assert_eq!(old.status.code(), Some(3));
    }
}

#[test]
fn limits_in_inches_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let acme = "--pitch 10tpi --angle 29deg --major 0.5in --units inch --standard Acme 1/2-10|";
    job(at, acme, "acme.json", "");
    text(at, "nut acme.json --play 0.003in --keep", &[]);
    text(at, "sheets acme.json --out sheets", &[]);
    let drawing = std::fs::read_dir(at.join("sheets"))
        .unwrap()
        .filter_map(|f| f.ok().map(|f| f.path()))
        .filter(|p| p.extension().is_some_and(|e| e == "svg"))
        .map(|p| std::fs::read_to_string(p).unwrap().replace('\u{a0}', " "))
        .find(|svg| svg.contains("Threaded plugs"))
        .unwrap();
    // Half and one and a half of 0.003 in.
    for number in ["0.0015", "0.0045"] {
        assert!(drawing.contains(number), "{number}");
    }
}

#[test]
fn nuts_of_two_start_threads_by_name_go_on_the_true_screw() {
    // The tool as it is drawn for a name, swept along its helix, against the screw of ISO 2904: crest flat
    // 0.366 P, depth P / 2 + 0.25 mm, both flanks 15°.
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    for (name, pitch, major) in [
        ("Tr 20 x 8 (P4)", 4.0, 20.0),
        ("Tr 24 x 10 (P5)", 5.0, 24.0),
        ("Tr 12 x 6 (P3)", 3.0, 12.0),
    ] {
        let lead = 2.0 * pitch;
        let file = format!("{major}.json");
        let thread = format!(
            "--pitch {pitch}mm --lead {lead}mm --angle 30deg --major {major}mm --standard {name}|"
        );
        job(at, &thread, &file, "");
        let section = form::Section::new(form::SectionNumbers {
            pitch_mm: pitch,
            depth_mm: 0.5 * pitch + 0.25,
            right_flank_rad: 15f64.to_radians(),
            left_flank_rad: 15f64.to_radians(),
            crest_flat_mm: 0.366_025 * pitch,
            ..form::SectionNumbers::default()
        });
        let truth = form::Thread::new(section.unwrap(), major, 2, form::Hand::Right).unwrap();
        for turned in ["", " --turned"] {
            let tool = json(at, &format!("tool {file} --for nut{turned}"));
            let tool: shop::ToolForm = serde_json::from_value(tool).unwrap();
            assert_eq!(tool.starts, 2, "{name}");
            let (bore, tip) = (tool.edge_radius_mm, tool.tip_radius_mm);
            let groove = shop::groove_cut_by(&tool, &tool.outline_mm, bore, tip).unwrap();
            let mating = shop::mate(&truth, &groove).unwrap();
            assert!((mating.axial_play_mm - 0.08).abs() < 2e-3, "{name}{turned}: {mating:?}");
            assert!(mating.crest_clearance_mm > 0.2, "{name}{turned}: {mating:?}");
        }
    }
}
