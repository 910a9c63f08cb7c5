//! Work at the machine by the program itself: what each command says of one demonstration, and that a
//! dangerous duty ends them all, in words, as JSON and on paper.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use serde_json::{Value, json};
use std::path::Path;
use whole_job_tests::{house, program};

const JOB: &str = "loom.flanklight.json";

fn demo() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    program::run(folder.path(), &["demo", "--out", "."]).ended_with(0);
    folder
}

fn json_of(folder: &Path, args: &[&str]) -> Value {
    let ran = program::run(folder, &[args, &["--json"]].concat());
    serde_json::from_str(&ran.ended_with(0).out).unwrap()
}

fn number(value: &Value, pointer: &str) -> f64 {
    value.pointer(pointer).and_then(Value::as_f64).unwrap()
}

#[test]
fn a_job_whose_picture_is_away_works_on_with_what_was_measured() {
    let folder = demo();
    let commands: [&[&str]; 4] = [
        &["nut", JOB, "--play", "0.08mm"],
        &["tool", JOB, "--for", "nut"],
        &["passes", JOB],
        &["gears", "--job", JOB, "--leadscrew", "8tpi", "--wheels", "20-80,127"],
    ];
    let with_picture = commands.map(|c| json_of(folder.path(), c));
    let away = folder.path().join("elsewhere");
    std::fs::create_dir(&away).unwrap();
    std::fs::rename(folder.path().join("loom.jpg"), away.join("loom.jpg")).unwrap();
    // To the last digit what the picture told.
    for (command, before) in commands.iter().zip(&with_picture) {
        assert_eq!(json_of(folder.path(), command), *before, "{command:?}");
    }
    let said = program::run(folder.path(), commands[0]).ended_with(0).err.clone();
    assert!(said.contains("loom.jpg is not there"), "{said}");
    // The record says on paper that nobody could look again.
    program::run(folder.path(), &["sheets", JOB, "--out", "paper"]).ended_with(0);
    let record: String = ["record.svg", "record-2.svg"]
        .iter()
        .map(|name| format!("Tension-screw-of-a-floor-loom-{name}"))
        .filter_map(|name| std::fs::read_to_string(folder.path().join("paper").join(name)).ok())
        .collect();
    assert!(record.contains("picture is not there"));

    // Said otherwise since, it is no measurement of this bar: nothing is made of it.
    let file = folder.path().join(JOB);
    let whole = std::fs::read_to_string(&file).unwrap();
    let mut job: Value = serde_json::from_str(&whole).unwrap();
    job["bar"]["width_mm"]["value"] = json!(6.5);
    std::fs::write(&file, job.to_string()).unwrap();
    let said = program::run(folder.path(), commands[0]).ended_with(4).err.clone();
    assert!(said.contains("with other entries"), "{said}");
    // And a memory that cannot be read is none; the picture is asked for.
    let mut job: Value = serde_json::from_str(&whole).unwrap();
    job["remembered"]["form"]["pitch_mm"] = json!("four");
    std::fs::write(&file, job.to_string()).unwrap();
    let said = program::run(folder.path(), commands[0]).ended_with(3).err.clone();
    assert!(said.contains("loom.jpg"), "{said}");
}

#[test]
fn a_top_slide_that_feeds_along_the_flank_is_not_asked_to_index_as_well() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| program::run(folder.path(), args).ended_with(0).out.clone();
    // Two starts, and a first driver that divides by them.
    run(&["demo", "ruling", "--out", "."]);
    const NAME: &str = "Traverse-screw-of-a-bookbinder-s-ruling-machine";
    let sheet = |out: &str| {
        run(&["sheets", "ruling.flanklight.json", "--out", out]);
        // The order of work may take a page of its own.
        let pages = ["job-sheet.svg", "job-sheet-2.svg"].map(|file| {
            let path = folder.path().join(out).join(format!("{NAME}-{file}"));
            std::fs::read_to_string(path).unwrap_or_default()
        });
        pages.concat().replace('\u{a0}', " ")
    };
    let straight = sheet("straight");
    assert!(straight.contains("top slide along the axis") && straight.contains("of one start"));
    run(&["passes", "ruling.flanklight.json", "--flank-feed", "--keep"]);
    let along = sheet("along");
    assert!(
        along.contains("unmesh the first driver") && !along.contains("top slide along the axis")
    );
}

#[test]
fn nut_and_tool_as_they_are_made_up() {
    let folder = demo();
    let nut =
        |more: &[&str]| json_of(folder.path(), &[&["nut", JOB, "--play", "0.08mm"], more].concat());
    let solid = nut(&[]);
    assert!((number(&solid, "/axial_play_mm") - 0.08).abs() < 1e-6);
    let (low, high) = (number(&solid, "/play_limits_mm/0"), number(&solid, "/play_limits_mm/1"));
    assert!(low < 0.08 && 0.08 < high);
    // 300 N on rings of known size: load over π · mean diameter · height · turns.
    let loaded = nut(&["--load", "300N", "--length", "20mm", "--material", "cast-iron"]);
    let pitch = number(&loaded, "/design/pitch_mm/value");
    let groove = number(&loaded, "/design/groove/bore_radius_mm");
    let screw =
        number(&loaded, "/groove_diameter_mm") - 2.0 * number(&loaded, "/radial_clearance_mm");
    let mean = 0.5 * (screw + 2.0 * groove);
    let area =
        std::f64::consts::PI * mean * number(&loaded, "/design/engagement_mm/value") * 20.0 / pitch;
    let pressure = number(&loaded, "/design/pressure/pressure_n_per_mm2");
    assert!((pressure / (300.0 / area) - 1.0).abs() < 1e-6, "{pressure}");
    assert_eq!(number(&loaded, "/design/pressure/permissible_n_per_mm2"), 6.0);
    let split = nut(&["--split", "1mm"]);
    let slope = number(&split, "/design/play_per_infeed/value");
    assert!((number(&split, "/design/play_taken_by_closing_mm") - 0.5 * slope).abs() < 1e-9);
    // A ridge gauged thicker at its unworn end widens the tip by as much.
    let worn = nut(&["--unworn-thicker", "0.05mm"]);
    let wider = number(&worn, "/tool_tip_flat_mm") - number(&solid, "/tool_tip_flat_mm");
    assert!((wider - 0.05).abs() < 1e-6, "{wider}");

    let tool =
        |more: &[&str]| json_of(folder.path(), &[&["tool", JOB, "--for", "nut"], more].concat());
    let (square, turned) = (tool(&[]), tool(&["--turned"]));
    let included = |t: &Value| number(t, "/included_angle_deg/value");
    // tan αn = tan α cos λ: a turned tool is the sharper one.
    assert!(included(&turned) < included(&square));
    assert!(number(&square, "/boring_bar/diameter_mm") >= 3.0);
    assert!(
        number(&square, "/round_blank/diameter_mm") > number(&square, "/width_at_depth_mm/value")
    );
    assert!(square.pointer("/setting_gauge/outline_mm/8").is_some());
    program::run(folder.path(), &["tool", JOB, "--for", "nut", "--top-rake", "60deg"])
        .ended_with(4)
        .says(&["top rake", "60.000", "30.000"]);
}

#[test]
fn blanks_casts_and_wheels() {
    let folder = demo();
    let at = folder.path();
    let blank = json_of(
        at,
        &["blank", "--cylinder", "62.31mm,20mm", "--cylinder", "40.1mm,12mm", "--face", "70mm"],
    );
    // Tops 62.31 and 40.10 on radii 10 and 6: axes at 52.31 and 34.10.
    assert!((number(&blank, "/axis_drop_mm/value") - 18.21).abs() < 1e-9);
    assert!((number(&blank, "/axis_below_face_mm/value") - 17.69).abs() < 1e-9);
    let jaws = json_of(at, &["blank", "--jaws", "0.12mm,0mm,-0.08mm,0.03mm"]);
    assert!((number(&jaws, "/centring/rounds/0/from_1_to_3_mm") - 0.10).abs() < 1e-12);
    program::run(at, &["blank"]).ended_with(2).says(&["--cylinder", "--jaws"]);
    program::run(at, &["blank", "--jaws", "1mm,2mm"]).ended_with(2).says(&["2 readings", "four"]);

    let cast = json_of(at, &["cast", JOB, "--shrinkage", "0.004", "--play", "0.1mm"]);
    let record: Value = serde_json::from_str(&house::read(&at.join("measurement.json"))).unwrap();
    let pitch = number(&record, "/form/pitch_mm/value");
    assert!((number(&cast, "/groove/pitch_mm/value") - pitch / 0.996).abs() < 1e-9);
    program::run(at, &["cast", JOB, "--shrinkage", "0.5"]).ended_with(2).says(&["0.5", "0.1"]);

    let six = json_of(
        at,
        &[
            "gears",
            "--leadscrew",
            "8tpi",
            "--want",
            "3mm",
            "--wheels",
            "20,40,40,80",
            "--pair",
            "127,120",
        ],
    );
    let train = &six["trains"][0];
    assert_eq!(train["error_ppm"], json!(0.0));
    assert!(train["drivers"].as_array().unwrap().contains(&json!(120)));
    assert!(train["driven"].as_array().unwrap().contains(&json!(127)));
}

#[test]
fn a_dangerous_duty_is_refused_in_words_as_json_and_on_paper() {
    let folder = demo();
    let at = folder.path();
    let file = at.join(JOB);
    for duty in ["lifts", "presses", "brakes", "steers", "holds-pressure"] {
        let mut job: Value = serde_json::from_str(&house::read(&file)).unwrap();
        job["duty"] = json!(duty);
        std::fs::write(&file, job.to_string()).unwrap();
        for args in [
            vec!["nut", JOB, "--play", "0.08mm"],
            vec!["tool", JOB, "--for", "nut"],
            vec!["passes", JOB],
            vec!["cast", JOB],
            vec!["sheets", JOB, "--out", "sheets"],
        ] {
            let ran = program::run(at, &args);
            ran.ended_with(3).says(&["licensed", "code"]);
            assert_eq!(ran.out, "", "{args:?}");
            let ran = program::run(at, &[&args[..], &["--json"]].concat());
            let said: Value = serde_json::from_str(&ran.ended_with(3).out).unwrap();
            assert_eq!(said["schema"], "flanklight/refusal/1", "{args:?}");
            assert!(said["refused"].as_str().unwrap().contains("licensed"));
        }
        let page = house::read(&at.join("sheets/Tension-screw-of-a-floor-loom-refusal.svg"));
        assert!(page.contains("No dimensions are given"), "{duty}");
        assert!(!page.contains("measured"), "{duty}: numbers on a refusal");
        let names: Vec<String> = std::fs::read_dir(at.join("sheets"))
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        // The list of what is written there is no sheet.
        let refusal = |n: &String| n.contains("-refusal") || n == job::LIST;
        assert!(names.iter().all(refusal), "{names:?}");
        let measured = json_of(at, &["measure", "loom.jpg", "--bar", "6mm", "--duty", duty]);
        assert!(measured["refusal"].as_str().unwrap().contains("licensed"));
    }
}

#[test]
fn a_survey_stands_by_itself_on_paper() {
    let folder = tempfile::tempdir().unwrap();
    let readings =
        "# end_float_mm = 0.06 ± 0.01\nposition_mm, lost_motion_mm\n0, 0.30\n50, 0.42\n100, 0.31\n";
    std::fs::write(folder.path().join("slide.csv"), readings).unwrap();
    let found = json_of(folder.path(), &["survey", "slide.csv", "--out", "paper"]);
    assert!((number(&found, "/most_screw_mm/value") - 0.12).abs() < 1e-9);
    for name in ["slide-survey-a4.pdf", "slide-survey-letter.pdf", "slide-survey.svg"] {
        assert!(folder.path().join("paper").join(name).is_file(), "{name}");
    }
    assert!(house::read(&folder.path().join("paper/slide-survey.svg")).contains("end-float"));
}

/// A tool of this outline against the light, its tip `wider_mm` wider than drawn, above a bar of 3 mm;
/// 60 px/mm, 4 × 4 samples a pixel.
fn tool_picture(outline_mm: &[[f64; 2]], wider_mm: f64) -> Vec<u8> {
    let (w, h, scale) = (720usize, 900usize, 60.0);
    let depth = outline_mm.iter().map(|p| -p[1]).fold(0.0, f64::max);
    let half = |below: f64, side: f64| {
        // The outline runs from one end of the shank over the tip to the other.
        outline_mm
            .windows(2)
            .filter(|s| s.iter().all(|p| p[0] * side >= 0.0))
            .find(|s| (-s[0][1] - below) * (-s[1][1] - below) <= 0.0 && s[0][1] != s[1][1])
            .map(|s| {
                let t = (-below - s[0][1]) / (s[1][1] - s[0][1]);
                side * (s[0][0] + t * (s[1][0] - s[0][0])) + 0.5 * wider_mm
            })
    };
    let mut grey = Vec::with_capacity(w * h);
    for y in 0..h {
        for x in 0..w {
            let mut dark = 0.0;
            for k in 0..16 {
                let px = (x as f64 + (f64::from(k % 4) + 0.5) / 4.0 - 360.0) / scale;
                let below = (y as f64 + (f64::from(k / 4) + 0.5) / 4.0 - 150.0) / scale;
                let tool = (0.0..6.0).contains(&below)
                    && half(below.clamp(1e-6, depth - 1e-6), px.signum())
                        .is_some_and(|reach| px.abs() < reach);
                let bar = (below - 9.0 + 0.02 * px).abs() < 1.5 && px.abs() < 5.0;
                dark += f64::from(u8::from(tool || bar)) / 16.0;
            }
            let light: f64 = 0.7 * (1.0 - dark) + 0.02;
            grey.push((255.0 * (1.055 * light.powf(1.0 / 2.4) - 0.055)).round() as u8);
        }
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, w as u32, h as u32);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.write_header().unwrap().write_image_data(&grey).unwrap();
    bytes
}

#[test]
fn a_ground_tool_is_judged_by_its_picture() {
    let folder = demo();
    let at = folder.path();
    let tool = json_of(at, &["tool", JOB, "--for", "nut"]);
    let outline: Vec<[f64; 2]> = serde_json::from_value(tool["outline_mm"].clone()).unwrap();
    for wider in [0.0, 0.06] {
        std::fs::write(at.join("tool.png"), tool_picture(&outline, wider)).unwrap();
        let check = json_of(at, &["ground", JOB, "tool.png", "--bar", "3mm±0.002mm"]);
        let change = number(&check, "/play_change_mm/value");
        let u = number(&check, "/play_change_mm/u");
        // With straight flanks, a tip wider by so much gives so much more play.
        assert!((change - wider).abs() < 2.0 * u && u < 0.02, "{wider}: {change} ± {u}");
    }
}

#[test]
fn a_picture_that_shows_no_tool_is_not_taken_for_one() {
    let folder = demo();
    program::run(folder.path(), &["ground", JOB, "loom.jpg", "--bar", "6mm"])
        .ended_with(4)
        .says(&["loom.jpg", "tool"]);
}
