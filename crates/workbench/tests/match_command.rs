//! `match`, and the rounding of a job, as they are typed.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

fn flanklight(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_flanklight")).args(arguments).output().unwrap()
}

fn matched(arguments: &str, more: &[&str]) -> Output {
    let mut all = vec!["match"];
    all.extend(arguments.split(' '));
    all.extend(more);
    flanklight(&all)
}

fn text(output: &Output) -> String {
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{errors}");
    // As it reads, wherever its lines were broken.
    let text = String::from_utf8(output.stdout.clone()).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {output:?}"))
}

/// The command ends with this status and a sentence with all of `words`.
fn refuses(output: &Output, status: i32, words: &[&str]) {
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(status), "{errors}");
    assert!(errors.starts_with("flanklight: ") && !errors.contains("panicked"), "{errors}");
    for word in words {
        assert!(errors.contains(word), "\"{word}\" is not in: {errors}");
    }
}

fn says(text: &str, words: &[&str]) {
    for word in words {
        assert!(text.contains(word), "\"{word}\" is not in: {text}");
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

const ACME: &str =
    "--pitch 2.52mm±0.04mm --angle 29.4deg±1deg --major 12.6mm±0.2mm --depth 1.5mm±0.04mm";

#[test]
fn every_field_of_the_json() {
    let evidence = ["--evidence", "caliper:20=50.82mm", "--evidence", "travel:10=25.39mm±0.03mm"];
    let output = matched(&format!("{ACME} --json"), &evidence);
    assert!(output.status.success() && output.stderr.is_empty(), "{output:?}");
    let m = json(&output);
    assert_eq!(m["schema"], "flanklight/match/1");
    assert_eq!(m["verdict"], "named");
    let first = &m["candidates"][0];
    assert_eq!(first["designation"], "Acme 1/2-10");
    assert_eq!(first["family"], "Acme (general purpose or centralizing)");
    assert!(number(&first["probability"]) > 0.9);
    let pitch = &first["deviations"][0];
    assert_eq!(pitch["what"], "pitch_mm");
    assert!((number(&pitch["standard"]) - 2.54).abs() < 1e-9);
    assert!(number(&pitch["in_u"]).abs() < 2.0 && number(&pitch["measured"]) > 2.5);
    assert!(number(&m["no_standard_probability"]) < 0.01);
    assert!(m["cannot_tell"].is_array() && m["nearest"].is_null() && m["rounding"].is_null());
    assert!(m["explanation"][0].as_str().unwrap().contains("pitch inch (10 tpi)"));
    // Weighted by 1 / 0.04², 1 / 0.0015² and 1 / 0.003², by hand.
    let weights = [0.04, 0.0015, 0.003].map(|u: f64| u.powi(-2));
    let sum: f64 = weights.iter().sum();
    let mean = (2.52 * weights[0] + 2.541 * weights[1] + 2.539 * weights[2]) / sum;
    let estimate = &m["estimates"][0];
    assert_eq!(estimate["what"], "pitch_mm");
    assert_eq!(number(&estimate["given"]["u"]), 0.04);
    assert!((number(&estimate["together"]["value"]) - mean).abs() < 1e-9, "{estimate}");
    assert!((number(&estimate["together"]["u"]) - sum.powf(-0.5)).abs() < 1e-9, "{estimate}");
    assert_eq!(m["starts"]["value"], 1);
    let readings = m["readings"].as_array().unwrap();
    let caliper = readings.iter().find(|r| r["label"] == "caliper over 20 threads").unwrap();
    assert_eq!((number(&caliper["value"]), number(&caliper["u"])), (50.82, 0.03));
    assert_eq!((caliper["evidence"].as_u64(), number(&caliper["enlarged"])), (Some(0), 1.0));
    assert!(number(&caliper["expected"]) > 50.7 && number(&caliper["in_u"]).abs() < 2.0);
    // Three readings of one pitch.
    assert_eq!(m["agreement"]["dof"], 2);
    assert!(number(&m["agreement"]["chi2"]) < 2.0 && number(&m["agreement"]["by_chance"]) > 0.3);
    assert_eq!(m["contradictions"], serde_json::json!([]));
    assert!(m["notes"].is_array() && m["next"].is_array());
}

#[test]
fn the_text_says_what_it_is_and_what_the_readings_make_of_it() {
    let evidence = ["--evidence", "caliper:20=50.82mm", "--evidence", "dials:inch"];
    let all = text(&matched(ACME, &evidence));
    says(
        &all,
        &[
            "Most likely Acme 1/2-10.",
            "no standard form",
            "pitch inch (10 tpi), angle 29° (ASME B1.5",
            "as given with the readings pitch 2.52 ± 0.04 mm 2.5410 ± 0.0015 mm",
            "caliper over 20 threads 50.82 ± 0.03 mm 50.40 mm +0.5 u",
            "shift the odds only",
            "χ² is 0.3 for one more reading than is needed; chance alone gives as much in 60 % of cases",
        ],
    );
    // In inches, and a number without its uncertainty has none.
    let inch =
        text(&matched("--pitch 10tpi --angle 29deg --major 0.5in --units inch", &evidence[..2]));
    says(&inch, &["Cannot tell which of several", "pitch 0.1 in (no ±) 0.1000", "What would tell"]);
    says(&inch, &["minor diameter", "says Acme 1/2-10", "no uncertainty was given for the pitch"]);
    let bare = text(&matched("--pitch 5mm --angle 30deg --major 24mm", &[]));
    says(&bare, &["- no uncertainty was given for the pitch: ± 0.015 mm assumed"]);
    // None, with the worlds of its features and the nearest listed thread.
    let none = "--pitch 3mm±0.002mm --angle 35deg±0.1deg --major 19.05mm±0.02mm";
    says(
        &text(&matched(none, &[])),
        &[
            "None: it follows no listed standard.",
            "pitch metric (3 mm), angle 35° in no list, diameter inch (3/4 in)",
            "the nearest listed thread is Tr 20 x 3, but its included angle is 30° (here 35°)",
        ],
    );
    let none = json(&matched(&format!("{none} --json"), &[]));
    assert_eq!(
        (&none["verdict"], &none["nearest"]["designation"]),
        (&"none".into(), &"Tr 20 x 3".into())
    );
}

#[test]
fn a_reading_that_disagrees_is_named_and_counts_for_little() {
    // Set over 19 threads and written down as 20.
    let evidence = [
        "--evidence",
        "caliper:20=48.26mm",
        "--evidence",
        "travel:10=25.4mm",
        "--evidence",
        "count:10±0.2",
    ];
    let all = text(&matched(ACME, &evidence));
    says(
        &all,
        &[
            "Most likely Acme 1/2-10.",
            "48.26 ± 0.03 mm 50.80 mm -50.8 u doubted",
            "The readings disagree",
            "caliper over 20 threads disagrees with all others: 48.26 ± 0.03 mm, the other readings say 50.80 mm",
            "caliper over 20 threads counts with",
            "the others keep theirs",
        ],
    );
    let m = json(&matched(&format!("{ACME} --json"), &evidence));
    assert_eq!(m["contradictions"].as_array().unwrap().len(), 1);
    assert!(number(&m["agreement"]["by_chance"]) < 1e-6);
    let pitch = &m["estimates"][0]["together"];
    assert!(
        (number(&pitch["value"]) - 2.54).abs() < 5e-4 && number(&pitch["u"]) < 0.0025,
        "{pitch}"
    );
    let doubted: Vec<&Value> =
        m["readings"].as_array().unwrap().iter().filter(|r| number(&r["enlarged"]) > 1.0).collect();
    assert_eq!(doubted.len(), 1);
    assert_eq!(doubted[0]["evidence"], 0);
}

#[test]
fn a_taper_is_given_or_read() {
    let pipe = "--pitch 14tpi --angle 55deg±0.5deg --major 20.9mm±0.05mm";
    says(&text(&matched(pipe, &[])), &["was not measured; it decides between pipe threads"]);
    let given = |taper: &str| text(&matched(pipe, &["--taper", taper]));
    says(&given("1/16"), &["Most likely R 1/2.", "taper found: 1:16 on the diameter"]);
    says(&given("0"), &["Most likely G 1/2.", "the thread is parallel"]);
    says(&given("0.03±0.02"), &["too coarse to tell parallel from 1:16"]);
    let read = text(&matched(pipe, &["--evidence", "taper:1:16±0.002"]));
    says(&read, &["Most likely R 1/2.", "taper – 0.0625 ± 0.0020"]);
    refuses(&matched(pipe, &["--taper", "16"]), 2, &["taper 16", "0 to 0.5"]);
    refuses(&matched(pipe, &["--evidence", "taper:wide"]), 2, &["no taper", "1/16"]);
}

#[test]
fn a_rounding_says_what_it_costs() {
    let odd = "--pitch 2.49mm±0.002mm --angle 34.4deg±0.1deg --major 15.03mm --depth 1.4mm --crest-flat 0.8mm";
    let round = ["--round", "round", "--nut-length", "20mm"];
    let form = &json(&matched(&format!("{odd} --json"), &round))["rounding"];
    assert_eq!((number(&form["pitch_mm"]), number(&form["nut_length_mm"])), (2.5, 20.0));
    assert!((number(&form["right_flank_deg"]) - 17.0).abs() < 1e-9);
    // 20 mm · (2.5 / 2.49 - 1), and two flanks of 0.2° over 1.4 mm.
    let pitch = 20.0 * (2.5 / 2.49 - 1.0);
    let flanks = 2.0 * 1.4 * (17.2f64.to_radians().tan() - 17f64.to_radians().tan());
    assert!((number(&form["play_from_pitch_mm"]) - pitch).abs() < 1e-9);
    assert!((number(&form["play_mm"]) - pitch - flanks).abs() < 1e-9);
    assert!(number(&form["play_u_mm"]) > 0.01);
    let shown = text(&matched(odd, &round));
    says(&shown, &["Rounded to round numbers", "pitch 2.5000 mm", "right flank 17.00°"]);
    says(&shown, &["costs in axial play 0.091 ± 0.016 mm", "from the pitch 0.080 mm"]);
    let kept = text(&matched(odd, &["--round", "as-measured"]));
    says(
        &kept,
        &["The form as measured", "pitch 2.4900 mm", "nothing beyond what the nut is given"],
    );
    // A standard that is far away is refused, after what was found has been said.
    let far = matched(odd, &["--round", "standard"]);
    refuses(
        &far,
        4,
        &["too far away to round to", "this thread's is 34.4°", "30.2° to 38.6° would do"],
    );
    assert!(String::from_utf8_lossy(&far.stdout).contains("None: it follows no listed standard."));
    let worn =
        "--pitch 5mm±0.005mm --angle 30deg±0.2deg --major 23.9mm±0.03mm --depth 2.7mm±0.02mm";
    let near =
        text(&matched(&format!("{worn} --crest-flat 1.75mm±0.01mm"), &["--round", "standard"]));
    says(
        &near,
        &[
            "Rounded to the standard",
            "crest flat 1.830 mm",
            "ridge beside the standard's 0.107 mm thinner",
        ],
    );
    says(
        &text(&matched(worn, &["--round", "standard"])),
        &["crest flat not given: the standard's taken"],
    );
    let other = matched(worn, &["--round", "standard", "--standard", "M24 x 3"]);
    refuses(&other, 4, &["M24 x 3 is not among", "Tr 24 x 5"]);
    let long = matched(odd, &["--round", "round", "--nut-length", "200mm"]);
    refuses(&long, 4, &["0.81", "axial play over a nut of 200.0 mm", "0.311 mm"]);
    refuses(&matched(odd, &["--round", "roughly"]), 2, &["roughly", "as-measured"]);
}

#[test]
fn nut_and_tool_of_a_job_are_rounded_on_request() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("demo");
    assert!(flanklight(&["demo", "--out", out.to_str().unwrap()]).status.success());
    let job = Path::new(&out).join("loom.flanklight.json").display().to_string();
    let nut = |more: &[&str]| {
        let mut all = vec!["nut", job.as_str(), "--play", "0.1mm", "--length", "20mm"];
        all.extend(more);
        flanklight(&all)
    };
    let measured = json(&nut(&["--json"]));
    let rounded = json(&nut(&["--json", "--round", "round"]));
    assert_eq!(measured["rounding"]["rounding"], "as_measured");
    let form = &rounded["rounding"];
    assert_eq!(form["rounding"], "round_numbers");
    // The loom's pitch of 3.7 mm becomes 3.75 mm: 20 mm · 0.05 / 3.7 = 0.27 mm.
    assert_eq!(number(&form["pitch_mm"]), 3.75);
    assert!((number(&form["play_from_pitch_mm"]) - 0.27).abs() < 0.002, "{form}");
    assert!((number(&rounded["design"]["pitch_mm"]["value"]) - 3.75).abs() < 1e-9);
    assert!((number(&measured["design"]["pitch_mm"]["value"]) - 3.7).abs() < 0.005);
    // The tool is wider by about that: it needs the room to go on.
    let wider = number(&rounded["tool_tip_flat_mm"]) - number(&measured["tool_tip_flat_mm"]);
    assert!((wider - number(&form["play_mm"])).abs() < 0.05, "{wider}");
    says(
        &text(&nut(&["--round", "round"])),
        &["round numbers: costs 0.28", "over a nut of 20.0 mm"],
    );
    refuses(&nut(&["--round", "standard"]), 4, &["too far away to round to", "pitch"]);
    let tool = json(&flanklight(&["tool", &job, "--for", "nut", "--round", "round", "--json"]));
    assert_eq!(number(&tool["rounding"]["pitch_mm"]), 3.75);
    // The loom's 16.25° lies midway between two half degrees: the last digit measured decides.
    let angle = number(&tool["right"]["angle_deg"]["value"]);
    assert!([16.0, 16.5].into_iter().any(|half| (angle - half).abs() < 1e-6), "{angle}");
    let refused = flanklight(&["passes", &job, "--round", "standard"]);
    refuses(&refused, 4, &["too far away to round to"]);
    let sheets = folder.path().join("sheets").display().to_string();
    refuses(
        &flanklight(&["sheets", &job, "--out", &sheets, "--round", "standard"]),
        4,
        &["too far"],
    );
    assert!(!Path::new(&sheets).exists());
}

#[test]
fn a_thread_by_its_name() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("two.flanklight.json");
    let at = job.display().to_string();
    // In one argument or in several, as it is typed.
    let output = flanklight(&[
        "match", "Tr", "20x8", "P4", "LH", "--json", "--job", &at, "--duty", "adjusts",
    ]);
    let m = json(&output);
    assert_eq!(m["schema"], "flanklight/match/1");
    assert_eq!(m["candidates"][0]["designation"], "Tr 20 x 8 (P4) LH");
    // ISO 2904: d 20, d2 18, d3 15.5 for pitch 4; two starts make 8 of it.
    for (name, value) in [
        ("pitch_mm", 4.0),
        ("lead_mm", 8.0),
        ("right_flank_deg", 15.0),
        ("left_flank_deg", 15.0),
        ("included_angle_deg", 30.0),
        ("depth_mm", 2.25),
        ("major_diameter_mm", 20.0),
        ("pitch_diameter_mm", 18.0),
        ("minor_diameter_mm", 15.5),
    ] {
        let q = &m["form"][name];
        assert!((number(&q["value"]) - value).abs() < 1e-9, "{name}: {q}");
        assert_eq!((q["source"].as_str(), number(&q["u"])), (Some("standard"), 0.0), "{name}");
    }
    assert_eq!(
        (m["starts"]["value"].as_u64(), m["hand"]["value"].as_str()),
        (Some(2), Some("left"))
    );
    let kept = job::load(&job).unwrap();
    assert_eq!((kept.thread.starts, kept.thread.hand), (Some(2), Some(form::Hand::Left)));
    assert_eq!(kept.form.pitch_mm, Some(form::Quantity::standard(4.0)));
    assert_eq!(kept.title, "two");
    // The nut has them, and its tool leans with a lead of 8: atan(8 / (π · 18)) = 8.05°.
    let tool = json(&flanklight(&["tool", &at, "--for", "nut", "--json"]));
    let lead = number(&tool["pitch_lead_angle_deg"]);
    assert!((lead - 8.052).abs() < 0.01, "{lead}");
    let again = flanklight(&["match", "M20", "--job", &at]);
    refuses(&again, 3, &["not written over"]);
    // Without a pitch beside it, --standard is a name, too.
    let standard = flanklight(&["match", "--standard", "tr16x4", "--round", "standard"]);
    says(&text(&standard), &["Tr 16 x 4", "16.0000 mm", "measure it before a nut is cut"]);
}

#[test]
fn a_name_that_is_none_has_status_2_and_the_nearest_names() {
    refuses(&flanklight(&["match", "Tr 17x4"]), 2, &["Tr 17x4", "Tr 16 x 4", "Tr 18 x 4"]);
    refuses(&flanklight(&["match", "qwertz"]), 2, &["qwertz"]);
    refuses(&flanklight(&["match", "1/4-20"]), 2, &["1/4-20 UNC", "1/4-20 BSW"]);
    refuses(&flanklight(&["match", "Tr 20x7 P4"]), 2, &["lead of 7", "1.75 starts"]);
    refuses(&flanklight(&["match", "M20", "--pitch", "2mm"]), 2, &["--pitch"]);
    refuses(
        &flanklight(&["match", "M20 LH", "--job", "x", "--hand", "right"]),
        2,
        &["--hand right"],
    );
    refuses(&flanklight(&["match"]), 2, &["Tr 16x4", "--pitch"]);
    refuses(&flanklight(&["match", "--angle", "30deg"]), 2, &["--pitch is missing"]);
    refuses(&flanklight(&["match", "--pitch", "4mm"]), 2, &["--angle"]);
}

#[test]
fn sheets_of_one_kind_and_never_over_another_jobs() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (one, out) = (path("one.flanklight.json"), path("sheets"));
    assert!(flanklight(&["match", "Tr 16x4", "--job", &one, "--duty", "adjusts"]).status.success());
    let only = ["sheets", &one, "--out", &out, "--only", "template,wires"];
    assert!(flanklight(&only).status.success());
    let mut names: Vec<String> = std::fs::read_dir(&out)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    assert_eq!(
        names,
        [
            ".flanklight-files.json",
            "one-template-a4.pdf",
            "one-template-letter.pdf",
            "one-template.dxf",
            "one-template.svg",
            "one-wires-a4.pdf",
            "one-wires-letter.pdf",
            "one-wires.svg"
        ]
    );
    // The same job writes them again; another of that name does not.
    assert!(flanklight(&only).status.success());
    let before = std::fs::read(Path::new(&out).join("one-template.svg")).unwrap();
    let other = path("other.flanklight.json");
    std::fs::copy(&one, &other).unwrap();
    let sheets = ["sheets", &other, "--out", &out];
    refuses(&flanklight(&sheets), 3, &["one-template", "did not write", "--replace"]);
    assert_eq!(std::fs::read(Path::new(&out).join("one-template.svg")).unwrap(), before);
    assert!(flanklight(&[&sheets[..], &["--replace"]].concat()).status.success());
    assert_ne!(std::fs::read(Path::new(&out).join("one-template.svg")).unwrap(), before);
    refuses(
        &flanklight(&["sheets", &one, "--out", &out, "--only", "poster"]),
        2,
        &["poster", "template"],
    );
    refuses(
        &flanklight(&["sheets", &one, "--out", &out, "--only", "survey"]),
        4,
        &["\"survey\"", "nut"],
    );
}
