//! The command line from outside: what it prints, what it writes, how it ends.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on stops")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn flanklight(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_flanklight"))
        .args(arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .output()
        .unwrap()
}

/// Standard output as JSON of a command that must succeed.
fn json(arguments: &[&str]) -> Value {
    let output = flanklight(arguments);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {errors}");
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{arguments:?}: {e}"))
}

/// The command must end with this status and one sentence that holds all of `words`.
fn refuses(arguments: &[&str], status: i32, words: &[&str]) {
    let output = flanklight(arguments);
    let errors = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {errors}");
    assert!(errors.starts_with("flanklight: "), "{errors}");
    assert!(!errors.contains("panicked") && !errors.contains("RUST_BACKTRACE"), "{errors}");
    for word in words {
        assert!(errors.contains(word), "{arguments:?} does not say \"{word}\": {errors}");
    }
    assert!(output.stdout.is_empty(), "{:?}", String::from_utf8_lossy(&output.stdout));
}

struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }
    fn file(&self, name: &str, bytes: &[u8]) -> String {
        let path = self.0.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path.display().to_string()
    }
    fn path(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }
}

fn loom() -> lamp::Demonstration {
    lamp::demonstrations().remove(0)
}

#[test]
fn the_demonstration_is_the_whole_job() {
    let folder = Folder::new();
    let out = folder.path("demo");
    let output = flanklight(&["demo", "--out", &out]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    for words in
        ["pitch", "±", "k = 1", "Likely standard", "Cautions", "licensed", "template-a4.pdf"]
    {
        assert!(text.contains(words), "\"{words}\" is missing:\n{text}");
    }
    let shown = loom();
    let record: Value =
        serde_json::from_slice(&std::fs::read(Path::new(&out).join("measurement.json")).unwrap())
            .unwrap();
    assert_eq!(record["schema"], "flanklight/measurement/1");
    let section = shown.scene.thread.section();
    let value = |name: &str| record["form"][name]["value"].as_f64().unwrap();
    let near = |name: &str, truth: f64, within: f64| {
        let v = value(name);
        assert!((v - truth).abs() < within, "{name}: {v} for {truth}");
    };
    near("pitch_mm", section.pitch_mm(), 5e-4 * section.pitch_mm());
    near("right_flank_deg", section.right_flank_rad().to_degrees(), 0.1);
    near("left_flank_deg", section.left_flank_rad().to_degrees(), 0.1);
    near("crest_flat_mm", section.crest_flat_mm(), 0.012);
    near("root_flat_mm", section.root_flat_mm(), 0.012);
    near("major_diameter_mm", shown.scene.thread.major_diameter_mm(), 0.03);
    for q in record["form"].as_object().unwrap().values() {
        assert!(q.is_null() || q["u"].is_number() && q["source"].is_string(), "{q}");
    }
    let written: Vec<PathBuf> =
        std::fs::read_dir(&out).unwrap().map(|e| e.unwrap().path()).collect();
    for ending in ["jpg", "flanklight.json", "pdf", "svg", "dxf"] {
        let there = |p: &PathBuf| p.to_string_lossy().ends_with(ending);
        assert!(written.iter().any(there), "no .{ending} in {written:?}");
    }
    // The job it wrote serves every other command, also from elsewhere.
    let moved = folder.path("moved");
    std::fs::rename(&out, &moved).unwrap();
    let job = Path::new(&moved).join("loom.flanklight.json").display().to_string();
    let nut = json(&["nut", &job, "--play", "0.1mm", "--json"]);
    assert!((nut["axial_play_mm"].as_f64().unwrap() - 0.1).abs() < 0.02, "{nut}");
    let major = value("major_diameter_mm");
    assert!(nut["bore_mm"].as_f64().unwrap() < major);
    assert!(nut["groove_diameter_mm"].as_f64().unwrap() > major);
    // The tool for the nut copies the ridge, the tool for the screw the groove.
    let tip = |what: &str| {
        let tool = json(&["tool", &job, "--for", what, "--json"]);
        tool["tip_flat_mm"]["value"].as_f64().unwrap()
    };
    assert!((tip("screw") - section.root_flat_mm()).abs() < 0.02);
    assert!((tip("nut") - section.crest_flat_mm()).abs() < 0.15);
    assert!(!json(&["passes", &job, "--json"])["passes"].as_array().unwrap().is_empty());
    let stepped = json(&["passes", &job, "--step", "0.2mm", "--flank-feed", "--json"]);
    assert_eq!(stepped["passes"][1]["increment_mm"].as_f64(), Some(0.2), "{stepped}");
    // Along the flank the tool goes sideways as well: depth times the tangent of the slide's angle.
    let slide =
        (section.right_flank_rad().min(section.left_flank_rad()).to_degrees() - 0.5).to_radians();
    let depth = stepped["passes"].as_array().unwrap().last().unwrap()["depth_mm"].as_f64().unwrap();
    let sideways = stepped["sideways_mm"].as_f64().unwrap();
    assert!((sideways - depth * slide.tan()).abs() < 0.01, "{sideways} at {depth}");
    refuses(&["sheets", &job, "--out", &folder.path("none"), "--chart", "900"], 2, &["900", "200"]);
    let sheets = folder.path("sheets");
    let files = json(&["sheets", &job, "--out", &sheets, "--json"]);
    for file in files["files"].as_array().unwrap() {
        assert!(Path::new(file.as_str().unwrap()).is_file(), "{file}");
    }
}

#[test]
fn wrong_usage_ends_with_2() {
    let folder = Folder::new();
    let picture = folder.file("a.jpg", b"");
    refuses(&["measure", &picture, "--bar", "6"], 2, &["\"6\" has no unit", "5mm"]);
    refuses(&["measure", &picture], 2, &["--bar"]);
    refuses(&["measure", &picture, "--bar", "6deg"], 2, &["deg", "length"]);
    refuses(&["measure", &picture, "--bar", "6mm", "--starts", "40"], 2, &["40", "1..=16"]);
    refuses(&["measure", &picture, "--bar", "6mm", "--bar-at", "1,2,3"], 2, &["1,2,3", "height"]);
    refuses(&["demo", "nothing"], 2, &["nothing", "loom"]);
    refuses(&["gears", "--leadscrew", "8tpi", "--want", "3", "--wheels", "20"], 2, &["no unit"]);
    refuses(
        &["gears", "--leadscrew", "8tpi", "--want", "3mm", "--wheels", "2,20"],
        2,
        &["2 teeth"],
    );
    refuses(&["nonsense"], 2, &["nonsense"]);
    // What is below nothing is refused for that, not for being an option nobody knows.
    refuses(&["measure", &picture, "--bar", "-3mm"], 2, &["\"-3mm\"", "0 to 10 m"]);
    let matches = |arguments: &[&str], words: &[&str]| {
        refuses(&[&["match"], arguments].concat(), 2, words);
    };
    matches(&["--pitch", "-2.5mm", "--angle", "30deg"], &["\"-2.5mm\"", "0 to 500 mm"]);
    matches(&["--pitch", "2.5mm", "--angle", "-30deg"], &["\"-30deg\"", "180°"]);
    matches(&["--pitch", "2.5mm±-0.1mm", "--angle", "30deg"], &["uncertainty", "below nothing"]);
    matches(&["--pitch", "2.5mm", "--angle", "180deg"], &["180°", "160°"]);
    matches(&["--pitch", "0.001mm", "--angle", "60deg"], &["0.001 mm", "0.05 mm"]);
    let both = ["--right-flank", "15deg", "--left-flank", "15deg", "--angle", "40deg"];
    matches(&[&["--pitch", "2.5mm"], &both[..]].concat(), &["40°", "30°"]);
    let deep = ["--pitch", "2.5mm", "--angle", "30deg", "--major", "4mm", "--depth", "2mm"];
    matches(&deep, &["--depth 2 mm", "screw of 4 mm"]);
    let gears = ["gears", "--leadscrew", "8tpi", "--want", "3mm", "--wheels"];
    refuses(&[&gears[..], &["-5,127"]].concat(), 2, &["\"-5\"", "teeth"]);
    refuses(&[&gears[..], &["20,30", "--most", "0"]].concat(), 2, &["0", "1..="]);
    refuses(&[&gears[..], &["40"]].concat(), 2, &["1", "2 to 64"]);
}

#[test]
fn nothing_that_stood_in_the_jobs_place_is_lost() {
    let folder = Folder::new();
    let picture = folder.file("loom.jpg", &loom().to_jpeg().unwrap());
    let job = folder.path("loom.flanklight.json");
    let measure = |more: &[&str]| flanklight(&[&["measure", &picture], more].concat());
    assert!(measure(&["--bar", "6mm", "--duty", "adjusts", "--job", &job]).status.success());
    let load = || job::load(Path::new(&job)).unwrap();
    let mut kept = load();
    kept.title = "the loom of the front room".into();
    kept.wheels.wheels = vec![20, 40, 60];
    job::save(&kept, Path::new(&job)).unwrap();
    // The same picture once more: what is not said again stays.
    assert!(measure(&["--bar", "6.01mm", "--job", &job]).status.success());
    let mut expected = kept;
    expected.bar.width_mm = load().bar.width_mm;
    assert_eq!(load(), expected);
    assert_eq!(load().bar.width_mm.unwrap().value, 6.01);
    // What was fixed before is found again, and the job that fixed it is kept beside this one.
    let mut fixed = load();
    fixed.thread.hand = Some(form::Hand::Left);
    job::save(&fixed, Path::new(&job)).unwrap();
    let output = measure(&["--bar", "6.01mm", "--job", &job]);
    assert!(String::from_utf8_lossy(&output.stdout).contains(&format!("{job}.1")));
    assert_eq!(load(), expected);
    assert_eq!(job::load(Path::new(&format!("{job}.1"))).unwrap(), fixed);
    // Another picture: the job before is kept beside it, and that is said.
    let other = folder.file("slit.jpg", &lamp::demonstrations().remove(1).to_jpeg().unwrap());
    let output = flanklight(&["measure", &other, "--bar", "4mm", "--job", &job]);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(text.contains(&format!("{job}.2")), "{text}");
    assert_eq!(job::load(Path::new(&format!("{job}.2"))).unwrap(), expected);
    // What is no job is never written over, the picture least of all.
    let before = std::fs::read(&picture).unwrap();
    refuses(&["measure", &picture, "--bar", "6mm", "--job", &picture], 3, &["not written over"]);
    assert_eq!(std::fs::read(&picture).unwrap(), before);
}

#[test]
fn what_is_asked_is_kept_only_when_it_is_said() {
    // A thread known by name: ISO 2904 has D1 12 and D4 16.5 for Tr 16 x 4.
    let folder = Folder::new();
    let job = folder.path("tr.flanklight.json");
    let named = ["match", "--pitch", "4mm", "--angle", "30deg", "--major", "16mm"];
    refuses_but_says(&[&named[..], &["--job", &job]].concat(), 2, &["--depth", "--crest-flat"]);
    let standard = ["--round", "standard", "--standard", "Tr 16 x 4", "--job", &job];
    assert!(flanklight(&[&named[..], &standard].concat()).status.success());
    refuses_but_says(&[&named[..], &standard].concat(), 3, &["not written over"]);
    // However its name is written.
    let other = folder.path("other.flanklight.json");
    let loosely = ["--round", "standard", "--standard", "tr16x4", "--job", &other];
    assert!(flanklight(&[&named[..], &loosely].concat()).status.success());
    let nut = json(&["nut", &job, "--play", "0.1mm", "--length", "20mm", "--json"]);
    assert!((nut["bore_mm"].as_f64().unwrap() - 12.0).abs() < 1e-9, "{nut}");
    assert!((nut["groove_diameter_mm"].as_f64().unwrap() - 16.5).abs() < 1e-9, "{nut}");
    let load = || job::load(Path::new(&job)).unwrap();
    let before = load();
    let text = |arguments: &[&str]| {
        let output = flanklight(arguments);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let said = text(&["nut", &job, "--play", "0.1mm"]);
    assert!(said.contains("stays as it is: --keep"), "{said}");
    assert_eq!(load(), before);
    let said = text(&["nut", &job, "--play", "0.1mm", "--length", "20mm", "--keep"]);
    assert!(said.contains("Kept in"), "{said}");
    assert_eq!((load().nut.play_mm.value, load().nut.length_mm), (0.1, Some(20.0)));
    // Said again, there is nothing to keep.
    let said = text(&["nut", &job, "--play", "0.1mm", "--length", "20mm"]);
    assert!(!said.contains("keep") && !said.contains("Kept"), "{said}");
    let wheels = ["--leadscrew", "8tpi", "--wheels", "20,30,40,50,60,80,120,127", "--keep"];
    let said = text(&[&["gears", "--job", &job], &wheels[..]].concat());
    // 4 mm from 8 tpi: 3.175 x 160/127 exactly.
    assert!(said.contains("exact") && said.contains("Kept in"), "{said}");
    // A row of wheels by its ends, and a train that was chosen in the job.
    let row = ["--leadscrew", "8tpi", "--wheels", "20-60,80,127", "--keep"];
    let said = text(&[&["gears", "--job", &job], &row[..]].concat());
    assert!(said.contains("Kept in"), "{said}");
    assert_eq!(load().wheels.wheels, [20, 25, 30, 35, 40, 45, 50, 55, 60, 80, 127]);
    let choose = |drivers: Vec<u32>, driven: Vec<u32>| {
        let mut chosen = load();
        chosen.wheels.train = Some(job::TrainSaid { drivers, driven });
        std::fs::write(&job, job::to_text(&chosen, None)).unwrap();
        text(&["gears", "--job", &job])
    };
    let said = choose(vec![50, 80], vec![127, 25]);
    let chosen = said.lines().find(|line| line.ends_with(", chosen")).unwrap();
    assert!(chosen.contains("80 × 50") && chosen.contains("25 × 127"), "{chosen}");
    let said = choose(vec![21], vec![22]);
    let words: Vec<&str> = said.split_whitespace().collect();
    let gone = "train chosen, 21 / 22, is not possible any more";
    assert!(words.join(" ").contains(gone) && !said.contains(", chosen\n"), "{said}");
    // By name, and the best again.
    let named = ["gears", "--job", &job, "--train", "50/127x80/25", "--keep"];
    let said = text(&named);
    assert!(said.contains(", chosen\n") && said.contains("Kept in"), "{said}");
    let kept = load().wheels.train.unwrap();
    assert_eq!((kept.drivers, kept.driven), (vec![50, 80], vec![127, 25]));
    let trains = json(&["gears", "--job", &job, "--json"])["trains"].clone();
    let used: Vec<&Value> =
        trains.as_array().unwrap().iter().filter(|t| t["used"] == true).collect();
    assert_eq!(used.len(), 1);
    assert_eq!(used[0]["drivers"], serde_json::json!([80, 50]));
    let none = ["gears", "--job", &job, "--train", "21/22"];
    refuses(&none, 2, &["--train 21 / 22 is not possible", "no wheel of 21 teeth"]);
    refuses(&["gears", "--job", &job, "--train", "21"], 2, &["\"21\"", "40x30/60x50"]);
    text(&["gears", "--job", &job, "--train", "best", "--keep"]);
    assert_eq!(load().wheels.train, None);
    text(&[&["gears", "--job", &job], &wheels[..]].concat());
    let dial = ["--division", "0.001in", "--divisions", "125", "--diameter-dial", "--keep"];
    text(&[&["passes", &job], &dial[..]].concat());
    text(&["tool", &job, "--for", "nut", "--top-rake", "5deg", "--keep"]);
    assert_eq!(load().tool.top_rake_deg, 5.0);
    text(&["tool", &job, "--for", "nut", "--top-rake", "0deg", "--keep"]);
    assert_eq!(load().tool.top_rake_deg, 0.0);
    // And the sheets show it.
    let sheets = folder.path("sheets");
    text(&["sheets", &job, "--out", &sheets]);
    let sheet = std::fs::read_to_string(Path::new(&sheets).join("tr-job-sheet.svg")).unwrap();
    for words in ["exact", "diameter, 0.001 in", "20 mm", "127"] {
        assert!(sheet.contains(words), "\"{words}\" is not on the job sheet");
    }
}

#[test]
fn a_square_thread_is_known_by_whoever_holds_it() {
    // Its flanks hide behind its crests in any shadow; what the picture does tell is enough otherwise.
    let folder = Folder::new();
    let mut shown = loom();
    let section = form::Section::symmetric(4.0, 0.0, 2.0, 2.0).unwrap();
    shown.scene.thread = form::Thread::new(section, 18.0, 1, form::Hand::Right).unwrap();
    let picture = folder.file("square.jpg", &shown.to_jpeg().unwrap());
    let job = folder.path("square.flanklight.json");
    let measure = ["measure", &picture, "--bar", "6mm", "--bar-drop", "6.3mm", "--job", &job];
    assert!(flanklight(&measure).status.success());
    refuses(&["nut", &job, "--play", "0.08mm"], 4, &["flank", "enter the angle"]);
    let told = ["--right-flank", "0deg", "--left-flank", "0deg", "--json"];
    let record = json(&[&measure[..], &told].concat());
    // The picture is no surer for it.
    assert!(record["form"]["right_flank_deg"]["u"].as_f64().is_none_or(|u| u > 4.0), "{record}");
    let nut = json(&["nut", &job, "--play", "0.08mm", "--json"]);
    // Depth and crest half the pitch: bore 14 + 2 · 0.25, groove 18 + 2 · 0.25, tip 2 + play.
    let near = |name: &str, mm: f64, within: f64| {
        let got = nut[name].as_f64().unwrap();
        assert!((got - mm).abs() < within, "{name}: {got} for {mm}");
    };
    near("groove_diameter_mm", 18.5, 0.05);
    near("tool_tip_flat_mm", 2.08, 0.02);
    near("axial_play_mm", 0.08, 1e-6);
    let notices = nut["design"]["notices"].to_string();
    assert!(notices.contains("depth-does-nothing"), "{notices}");
    let text = String::from_utf8(flanklight(&["nut", &job, "--play", "0.08mm"]).stdout).unwrap();
    assert!(text.contains("0.00° is taken, as it was entered"), "{text}");
}

#[test]
fn sheets_that_can_be_drawn_are_drawn() {
    // Four starts of 5 mm in a bore of 9 mm: no bar is stiff enough to plan passes for.
    let folder = Folder::new();
    let job = folder.path("fast.flanklight.json");
    let thread =
        ["--pitch", "5mm", "--angle", "30deg", "--depth", "2.75mm", "--crest-flat", "1.83mm"];
    let size = ["--major", "14mm", "--lead", "20mm", "--job", &job];
    assert!(flanklight(&[&["match"], &thread[..], &size].concat()).status.success());
    refuses(&["passes", &job], 4, &["passes", "too slender"]);
    let sheets = folder.path("sheets");
    let output = flanklight(&["sheets", &job, "--out", &sheets]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success() && said.contains("too slender"), "{said}");
    for name in ["template-a4.pdf", "job-sheet-a4.pdf", "nut-a4.pdf", "chart-a4.pdf"] {
        let name = format!("fast-{name}");
        assert!(Path::new(&sheets).join(&name).is_file(), "{name}");
    }
    let sheet = std::fs::read_to_string(Path::new(&sheets).join("fast-job-sheet.svg")).unwrap();
    assert!(sheet.contains("no passes planned") && sheet.contains("No passes are planned"));
}

#[test]
fn a_named_thread_is_refused_as_one_in_a_picture_is() {
    let folder = Folder::new();
    // A taper pipe thread has no nut that could be designed here.
    let pipe = ["match", "--pitch", "14tpi±0.02tpi", "--angle", "60deg±0.5deg"];
    let sized = ["--major", "21.1mm±0.1mm", "--taper", "1/16±0.003", "--round", "standard"];
    let job = folder.path("npt.flanklight.json");
    assert!(flanklight(&[&pipe[..], &sized, &["--job", &job]].concat()).status.success());
    refuses(&["nut", &job, "--play", "0.1mm"], 4, &["tapers 1:16", "licensed"]);
    // Nor has one whose taper only its name tells.
    let by_name = ["--major", "21.1mm±0.1mm", "--round", "standard", "--standard", "1/2-14 NPT"];
    let job = folder.path("by-name.flanklight.json");
    assert!(flanklight(&[&pipe[..], &by_name, &["--job", &job]].concat()).status.success());
    refuses(&["nut", &job, "--play", "0.1mm"], 4, &["tapers 1:16", "licensed"]);
    // And what a thread does is said here as well.
    let job = folder.path("jack.flanklight.json");
    let thread = ["match", "--pitch", "4mm", "--angle", "30deg", "--major", "16mm"];
    let duty = ["--round", "standard", "--duty", "lifts", "--job", &job];
    assert!(flanklight(&[&thread[..], &duty].concat()).status.success());
    refuses(&["nut", &job, "--play", "0.1mm"], 3, &["licensed"]);
    let wheels = ["--leadscrew", "8tpi", "--wheels", "20,127,80,40", "--keep"];
    refuses(&[&["gears", "--job", &job], &wheels[..]].concat(), 3, &["licensed"]);
}

/// As [`refuses`], of a command that says what it found all the same.
fn refuses_but_says(arguments: &[&str], status: i32, words: &[&str]) {
    let output = flanklight(arguments);
    let errors = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {errors}");
    for word in words {
        assert!(errors.contains(word), "{arguments:?} does not say \"{word}\": {errors}");
    }
    assert!(!output.stdout.is_empty());
}

#[test]
fn sentences_are_in_the_units_of_the_answer() {
    let folder = Folder::new();
    let picture = folder.file("loom.jpg", &loom().to_jpeg().unwrap());
    let job = folder.path("loom.flanklight.json");
    let measure = ["measure", &picture, "--bar", "6mm", "--job", &job, "--units", "inch"];
    let measured = flanklight(&measure);
    assert!(measured.status.success());
    let text = String::from_utf8(measured.stdout).unwrap();
    assert!(text.contains(" px/in ") && !text.contains("px/mm"), "{text}");
    // The job is in inches, and so are its answers, unless they are asked for otherwise.
    for (arguments, inch) in [
        (&["nut", &job, "--play", "3thou"][..], true),
        (&["tool", &job, "--for", "nut"], true),
        (&["passes", &job], true),
        (&["passes", &job, "--units", "mm"], false),
    ] {
        let text = String::from_utf8(flanklight(arguments).stdout).unwrap();
        assert!(!text.is_empty());
        let names_mm = text.contains(" mm") && !text.contains("N/mm²");
        assert_eq!(names_mm, !inch, "{arguments:?}:\n{text}");
    }
    refuses(&["nut", &job, "--play", "0.2in", "--units", "inch"], 4, &["0.20000 in", "0.08 in"]);
    refuses(&["nut", &job, "--play", "0.2in", "--units", "mm"], 4, &["5.0800 mm", "2 mm"]);
}

#[test]
fn what_cannot_be_read_ends_with_3() {
    let folder = Folder::new();
    let measure = |path: &str, words: &[&str]| {
        refuses(&["measure", path, "--bar", "6mm"], 3, words);
    };
    measure(&folder.file("empty.jpg", b""), &["0 bytes"]);
    measure(&folder.file("notes.jpg", b"dear diary, today no thread"), &["text file"]);
    measure(&folder.path(""), &["folder"]);
    measure(&folder.path("missing.png"), &["missing.png"]);
    let jpeg = loom().to_jpeg().unwrap();
    measure(&folder.file("cut.jpg", &jpeg[..jpeg.len() / 2]), &["cut short"]);
    measure(&folder.file("bomb.png", &bomb()), &["65000 x 65000", "megapixels"]);
    refuses(&["tool", &folder.file("j.json", b"{}"), "--for", "nut"], 3, &["not a job file"]);
    let newer = br#"{"schema": "flanklight/job/9"}"#;
    refuses(&["sheets", &folder.file("n.json", newer), "--out", "x"], 3, &["version 9"]);
    refuses(&["survey", &folder.file("r.csv", b"nonsense")], 3, &["header"]);
    let points = folder.file("points.csv", b"x_px,y_px,flank\n1,2,sideways\n");
    let picture = folder.file("whole.jpg", &jpeg);
    let arguments = ["measure", &picture, "--bar", "6mm", "--points", &points];
    refuses(&arguments, 3, &["line 2", "sideways"]);
}

#[test]
fn what_cannot_be_measured_ends_with_4() {
    let folder = Folder::new();
    let mut shown = loom();
    shown.scene.bar = None;
    let picture = folder.file("nobar.jpg", &shown.to_jpeg().unwrap());
    refuses(&["measure", &picture, "--bar", "6mm"], 4, &["bar"]);
    // What was entered is kept all the same, to be mended in the window.
    let job = folder.path("kept.flanklight.json");
    refuses(&["measure", &picture, "--bar", "6mm", "--job", &job], 4, &["bar"]);
    assert_eq!(job::load(Path::new(&job)).unwrap().bar.width_mm.unwrap().value, 6.0);
}

#[test]
fn a_thread_that_lifts_is_measured_but_nothing_is_designed_for_it() {
    let folder = Folder::new();
    let picture = folder.file("loom.jpg", &loom().to_jpeg().unwrap());
    let job = folder.path("lift.flanklight.json");
    let arguments = ["measure", &picture, "--bar", "6mm", "--duty", "lifts", "--job", &job];
    let output = flanklight(&arguments);
    assert!(output.status.success());
    assert!(String::from_utf8_lossy(&output.stdout).contains("licensed"));
    for arguments in [
        &["tool", &job, "--for", "nut"][..],
        &["nut", &job, "--play", "0.1mm"],
        &["passes", &job],
        &["sheets", &job, "--out", &folder.path("sheets")],
    ] {
        refuses(arguments, 3, &["licensed"]);
    }
    // One page that says why, and nothing to work by.
    for file in std::fs::read_dir(folder.path("sheets")).unwrap() {
        let name = file.unwrap().file_name().to_string_lossy().into_owned();
        // The list of what is written here is no sheet.
        assert!(name.contains("-refusal") || name == job::LIST, "{name} was written");
    }
}

#[test]
fn without_a_display_a_sentence() {
    let folder = Folder::new();
    refuses(&[], 3, &["no display", "--help"]);
    let picture = folder.file("loom.jpg", &loom().to_jpeg().unwrap());
    refuses(&["open", &picture], 3, &["no display"]);
    refuses(&["open", &folder.path("missing.json")], 3, &["missing.json"]);
    // A display that does not answer.
    let output = Command::new(env!("CARGO_BIN_EXE_flanklight"))
        .args(["open", &picture])
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .env("DISPLAY", ":9876")
        .output()
        .unwrap();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{errors}");
    assert!(!errors.contains("panicked"), "{errors}");
}

#[test]
fn work_at_the_machine_needs_no_picture() {
    // 120/127 cuts 3 mm from 8 tpi exactly: 3.175 · 120/127 (calculated).
    let gears = json(&[
        "gears",
        "--leadscrew",
        "8tpi",
        "--want",
        "3mm",
        "--wheels",
        "20,40,60,80,120,127",
        "--json",
    ]);
    let first = &gears["trains"][0];
    assert_eq!(first["used"], true);
    assert_eq!(first["drivers"], serde_json::json!([120]));
    assert_eq!(first["driven"], serde_json::json!([127]));
    assert!(first["error_ppm"].as_f64().unwrap().abs() < 1e-6);
    // A guard that takes no wheel of 127 leaves trains of smaller ones, and those are not exact.
    let small = json(&[
        "gears",
        "--leadscrew",
        "8tpi",
        "--want",
        "3mm",
        "--wheels",
        "20,40,47,37,60,80,120,127",
        "--largest-wheel",
        "100",
        "--tolerance",
        "20000",
        "--json",
    ]);
    let trains = small["trains"].as_array().unwrap();
    let largest = |t: &Value| {
        let teeth = |side: &str| t[side].as_array().unwrap().clone();
        teeth("drivers").iter().chain(&teeth("driven")).filter_map(Value::as_u64).max().unwrap()
    };
    assert!(!trains.is_empty() && trains.iter().all(|t| largest(t) <= 100), "{small}");
    // 60° M10 x 1.5: best wire P / (2 cos 30°) = 0.8660 mm; over wires without the lead's part
    // d2 + 3 W - 0.866025 P = 10.325 mm for W = 0.866 (calculated from d2 = 9.026, ISO 724).
    let wires = json(&[
        "wires",
        "--pitch",
        "1.5mm",
        "--angle",
        "60deg",
        "--pitch-diameter",
        "9.026mm",
        "--json",
    ]);
    let number = |name: &str| wires[name].as_f64().unwrap();
    assert!((number("best_wire_mm") - 0.866_03).abs() < 1e-4, "{wires}");
    // 7°/45°: d2 - P / (tan a + tan b) + w (1 + cos((a - b) / 2) / sin((a + b) / 2)), the two-flank form
    // of EURAMET cg-10's, worked by hand.
    let buttress = json(&[
        "wires",
        "--pitch",
        "3.5mm",
        "--angle",
        "52deg",
        "--flank",
        "7deg",
        "--pitch-diameter",
        "20mm",
        "--wire",
        "1.7891mm",
        "--json",
    ]);
    let over = buttress["over_wires_no_lead_correction_mm"].as_f64().unwrap();
    assert!((over - 22.5307).abs() < 3e-4, "{buttress}");
    let plain = 9.026 + 3.0 * number("wire_mm") - 0.866_025 * 1.5;
    assert!((number("over_wires_no_lead_correction_mm") - plain).abs() < 1e-4, "{wires}");
    let named = json(&[
        "match",
        "--pitch",
        "1.5mm±0.005mm",
        "--angle",
        "60deg±0.3deg",
        "--major",
        "9.9mm±0.05mm",
        "--json",
    ]);
    assert_eq!(named["candidates"][0]["designation"], "M10 x 1.5", "{named}");
    assert!(named["cannot_tell"].is_array());
    let folder = Folder::new();
    let readings = folder.file(
        "readings.csv",
        b"position_mm,lost_motion_mm\n0,0.20\n50,0.26\n100,0.34\n150,0.27\n200,0.21\n",
    );
    assert!(json(&["survey", &readings, "--json"])["stations"].as_array().unwrap().len() == 5);
}

/// The first bytes of a PNG file that promises 65,000 × 65,000 pixels.
fn bomb() -> Vec<u8> {
    let mut header = b"IHDR".to_vec();
    for side in [65_000u32, 65_000] {
        header.extend(side.to_be_bytes());
    }
    header.extend([8, 0, 0, 0, 0]);
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    png.extend(13u32.to_be_bytes());
    png.extend(&header);
    png.extend(crc(&header).to_be_bytes());
    png.extend(b"\0\0\0\x0aIDATxxxxxxxxxxxxxx");
    png
}

/// CRC-32 as PNG defines it (ISO/IEC 15948, annex D), bit by bit.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |mut c, b| {
        c ^= u32::from(*b);
        for _ in 0..8 {
            c = if c & 1 == 1 { 0xedb8_8320 ^ (c >> 1) } else { c >> 1 };
        }
        c
    })
}

#[test]
fn wheels_alone_are_printed_by_themselves() {
    let folder = Folder::new();
    let mut job = job::Job::default();
    job.wheels.leadscrew_mm = Some(3.175);
    job.wheels.want_mm = Some(3.0);
    job.wheels.wheels = vec![20, 40, 45, 50, 60, 63, 80];
    let file = folder.file("wheels.flanklight.json", job::to_text(&job, None).as_bytes());
    let sheets = folder.path("sheets");
    let output = flanklight(&["sheets", &file, "--out", &sheets]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let sheet = std::fs::read_to_string(Path::new(&sheets).join("wheels-wheels.svg")).unwrap();
    // 3.175 · 45 · 63 / (50 · 60) is 3.000375.
    for words in ["45 × 63", "50 × 60", "+125 ppm", "over 25 mm"] {
        assert!(sheet.contains(words), "\"{words}\" is not on the sheet");
    }
    let nothing =
        folder.file("nothing.flanklight.json", job::to_text(&job::Job::default(), None).as_bytes());
    refuses(&["sheets", &nothing, "--out", &sheets], 3, &["neither a picture nor"]);
    // The same wheels, asked for by themselves.
    let gears = json(&["gears", "--job", &file, "--json"]);
    assert_eq!(gears["trains"][0]["drivers"], serde_json::json!([45, 63]));
}

#[test]
fn in_inches_two_trains_125_parts_per_million_apart_are_told_apart() {
    let asked =
        ["gears", "--leadscrew", "8tpi", "--want", "3mm", "--wheels", "45,50,60,63,120,127"];
    let told = |units: &str| {
        let output = flanklight(&[&asked[..], &["--units", units]].concat());
        String::from_utf8(output.stdout).unwrap()
    };
    let inch = told("inch");
    // 120/127 of an eighth of an inch is 3 mm; 45 × 63 / (50 × 60) of it 3.000375 mm.
    assert!(inch.contains("0.118110 in") && inch.contains("0.118125 in"), "{inch}");
    let mm = told("mm");
    assert!(mm.contains("3.00000 mm") && mm.contains("3.00037 mm"), "{mm}");
}
