//! `flanklight demo`: the whole job, from picture to printed template, by the program itself.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use serde_json::{Value, json};
use std::path::Path;
use whole_job_tests::{house, measurement, outputs, program};

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn a_measurement_that_departs_from_the_format_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let ran = program::run(folder.path(), &["demo", "--json"]);
    let whole = parsed(&ran.ended_with(0).out);
    assert_eq!(measurement::faults(&whole), [""; 0]);
    for (pointer, planted) in [
        ("/schema", json!("flanklight/measurement/2")),
        ("/picture/outline", json!("drawing")),
        ("/scale/px_per_mm", json!(46.0)),
        ("/view/kind", json!("near")),
        ("/form/pitch_mm/u", json!(null)),
        ("/form/pitch_mm/u", json!(-0.1)),
        ("/form/depth_mm/source", json!("guessed")),
        ("/starts/value", json!(0)),
        ("/hand/probability", json!(1.5)),
        ("/no_standard_probability", json!(null)),
        ("/candidates", json!(null)),
        ("/warnings", json!([{"code": "x"}])),
    ] {
        let mut bad = whole.clone();
        *bad.pointer_mut(pointer).unwrap() = planted;
        assert!(!measurement::faults(&bad).is_empty(), "{pointer}");
    }
    let mut bad = whole;
    bad["form"].as_object_mut().unwrap().remove("root_radius_mm");
    assert!(!measurement::faults(&bad).is_empty());
}

#[test]
fn the_whole_job() {
    let folder = tempfile::tempdir().unwrap();
    let ran = program::run(folder.path(), &["demo", "--out", "results"]);
    ran.ended_with(0);
    assert_eq!(ran.err, "");
    // The form with its uncertainties, what it may be, and what can hurt.
    for name in ["pitch", "right flank", "left flank", "depth", "crest flat", "major diameter"] {
        let line = ran.out.lines().find(|l| l.trim_start().starts_with(name)).unwrap();
        assert!(line.contains(" ± ") && line.contains("measured"), "{line}");
    }
    for words in [
        "Where the uncertainty comes from",
        "What would help most",
        "Likely standard",
        "no standard form",
        "Tool for the nut",
        "Good to know",
    ] {
        assert!(ran.out.contains(words), "\"{words}\" is missing in:\n{}", ran.out);
    }
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    for caution in &shop::CAUTIONS {
        assert!(flat(&ran.out).contains(&flat(caution.text)), "{}", caution.text);
    }
    let results = folder.path().join("results");
    let written = names_in(&results);
    for name in [
        "loom.flanklight.json",
        "loom.jpg",
        "measurement.json",
        "chart-a4.pdf",
        "chart-letter.pdf",
        "chart.dxf",
        "chart.svg",
        "job-sheet-a4.pdf",
        "job-sheet-letter.pdf",
        "nut-a4.pdf",
        "nut-letter.pdf",
        "nut.dxf",
        "record-a4.pdf",
        "record-letter.pdf",
        "record.svg",
        "survey-a4.pdf",
        "survey-letter.pdf",
        "template-a4.pdf",
        "template-letter.pdf",
        "template.dxf",
        "template.svg",
    ] {
        let own = format!("Tension-screw-of-a-floor-loom-{name}");
        let there = written.iter().any(|w| w == name || *w == own);
        assert!(there, "{name} is missing: {written:?}");
    }
    for name in written {
        assert!(ran.out.contains(&name), "{name} is not among the files it says it wrote");
    }
    // Its measurement: in the format, and true.
    let record = parsed(&house::read(&results.join("measurement.json")));
    assert_eq!(measurement::faults(&record), [""; 0]);
    let truth = lamp::demonstrations().remove(0).scene.thread;
    let section = truth.section();
    let near = |name: &str, want: f64, within: f64| {
        let got = record["form"][name]["value"].as_f64().unwrap();
        assert!((got - want).abs() < within, "{name}: {got}, in truth {want}");
    };
    near("pitch_mm", section.pitch_mm(), 5e-4 * section.pitch_mm());
    near("right_flank_deg", section.right_flank_rad().to_degrees(), 0.1);
    near("left_flank_deg", section.left_flank_rad().to_degrees(), 0.1);
    near("crest_flat_mm", section.crest_flat_mm(), 0.012);
    near("root_flat_mm", section.root_flat_mm(), 0.012);
    near("major_diameter_mm", truth.major_diameter_mm(), 0.03);
    assert_eq!(record["hand"]["value"], "right");
    assert_eq!(record["starts"]["value"], 1);
    // What the doubt is made of adds up, in squares, to the doubt (JCGM 100, 5.1.2), but for shares too
    // small to be told; and a remedy speaks of that doubt.
    for name in ["pitch_mm", "right_flank_deg", "crest_flat_mm", "major_diameter_mm"] {
        let u = record["form"][name]["u"].as_f64().unwrap();
        let shares = record["budget"].as_array().unwrap().iter();
        let shares = shares.filter(|b| b["quantity"] == name).map(|b| b["u"].as_f64().unwrap());
        let sum = shares.map(|s| s * s).sum::<f64>().sqrt();
        assert!((sum / u - 1.0).abs() < 0.02, "{name}: {sum}, but u is {u}");
    }
    let gain = &record["remedies"][0]["gains"][0];
    let (now, then) = (gain["u_now"].as_f64().unwrap(), gain["u_then"].as_f64().unwrap());
    let u = record["form"][gain["quantity"].as_str().unwrap()]["u"].as_f64().unwrap();
    assert!((now / u - 1.0).abs() < 0.02 && then < 0.8 * now, "{now} {then} {u}");
    // Its drawings, as other programs read them.
    for note in outputs::check(&results).unwrap() {
        eprintln!("{note}");
    }
}

#[test]
fn the_job_it_leaves_can_be_taken_up() {
    let folder = tempfile::tempdir().unwrap();
    program::run(folder.path(), &["demo", "--out", "."]).ended_with(0);
    let job = "loom.flanklight.json";
    let tool = program::run(folder.path(), &["tool", job, "--for", "nut", "--json"]);
    let tool = parsed(&tool.ended_with(0).out);
    let record = parsed(&house::read(&folder.path().join("measurement.json")));
    // The tool for the nut copies the screw's ridge: it is ground to the screw's flanks.
    let included = tool["included_angle_deg"]["value"].as_f64().unwrap();
    let measured = record["form"]["included_angle_deg"]["value"].as_f64().unwrap();
    assert!((included - measured).abs() < 1e-9, "{included} and {measured}");
    let sheets = program::run(folder.path(), &["sheets", job, "--out", "again", "--json"]);
    let listed = parsed(&sheets.ended_with(0).out);
    let listed: Vec<&str> =
        listed["files"].as_array().unwrap().iter().map(|f| f.as_str().unwrap()).collect();
    for file in &listed {
        assert!(folder.path().join(file).is_file(), "{file}");
    }
    let ends = |e: &str| listed.iter().any(|f| f.ends_with(e));
    assert!(ends(".pdf") && ends(".svg") && ends(".dxf"), "{listed:?}");
}

#[test]
fn every_demonstration_runs() {
    let folder = tempfile::tempdir().unwrap();
    let all = lamp::demonstrations();
    assert!(all.len() >= 2);
    for d in &all {
        let ran = program::run(folder.path(), &["demo", d.name, "--out", d.name, "--json"]);
        let record = parsed(&ran.ended_with(0).out);
        assert_eq!(measurement::faults(&record), [""; 0], "{}", d.name);
        let pitch = record["form"]["pitch_mm"]["value"].as_f64().unwrap();
        let truth = d.scene.thread.section().pitch_mm();
        assert!((pitch / truth - 1.0).abs() < 5e-4, "{}: {pitch}, in truth {truth}", d.name);
        outputs::check(&folder.path().join(d.name)).unwrap();
    }
    program::run(folder.path(), &["demo", "no-such"]).ended_with(2).says(&["no-such", all[1].name]);
}
