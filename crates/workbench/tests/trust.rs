//! What is promised of files and messages: nothing lost, nothing replaced that is not ours, no status that
//! says more than is so.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops")]

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flanklight"));
    command.args(arguments).env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
    command
}

fn flanklight(arguments: &[&str]) -> Output {
    command(arguments).output().unwrap()
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A job on a typed thread in a folder of its own.
fn job() -> (tempfile::TempDir, String) {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("tr.json").display().to_string();
    let typed = "match --pitch 4mm --angle 30deg --major 20mm --round standard --duty adjusts";
    let mut arguments: Vec<&str> = typed.split(' ').collect();
    arguments.extend(["--standard", "Tr 20 x 4", "--job", &file]);
    let output = flanklight(&arguments);
    assert!(output.status.success(), "{}", errors(&output));
    (dir, file)
}

#[test]
fn two_commands_at_once_lose_nothing() {
    let (_dir, file) = job();
    for i in 0..6 {
        let (play, lead) = (format!("0.{:02}mm", 8 + i), format!("{}mm", 3 + i));
        let nut = ["nut", &file, "--play", &play, "--keep"];
        let gears =
            ["gears", "--job", &file, "--leadscrew", &lead, "--wheels", "20-100,127", "--keep"];
        let running: Vec<_> = [&nut[..], &gears[..]]
            .iter()
            .map(|c| command(c).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap())
            .collect();
        for child in running {
            let output = child.wait_with_output().unwrap();
            assert!(output.status.success(), "{}", errors(&output));
        }
        let job = job::load(Path::new(&file)).unwrap();
        assert!((job.nut.play_mm.value - 0.01 * f64::from(8 + i)).abs() < 1e-9, "{i}");
        assert_eq!(job.wheels.leadscrew_mm, Some(f64::from(3 + i)), "{i}");
    }
}

#[test]
fn sheets_that_are_out_of_date_do_not_stay() {
    let (dir, file) = job();
    let out = dir.path().join("sheets");
    let sheets = ["sheets", &file, "--out", out.to_str().unwrap(), "--play", "0.08mm"];
    let output = flanklight(&sheets);
    assert!(output.status.success(), "{}", errors(&output));
    let names = || -> Vec<String> {
        let entries = std::fs::read_dir(&out).unwrap();
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect()
    };
    assert!(names().iter().any(|n| n.contains("template")), "{:?}", names());
    // The duty was found dangerous.
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains("\"adjusts\""));
    std::fs::write(&file, text.replace("\"adjusts\"", "\"lifts\"")).unwrap();
    assert_eq!(flanklight(&sheets).status.code(), Some(3));
    let left = names();
    assert!(left.iter().any(|n| n.contains("refusal")), "{left:?}");
    assert!(!left.iter().any(|n| n.contains("template") || n.contains("nut")), "{left:?}");
}

#[test]
fn sheets_never_replace_what_is_not_theirs() {
    let (dir, file) = job();
    let out = dir.path().join("sheets");
    let output = flanklight(&["sheets", &file, "--out", out.to_str().unwrap()]);
    assert!(output.status.success(), "{}", errors(&output));
    let written: Vec<PathBuf> =
        std::fs::read_dir(&out).unwrap().map(|e| e.unwrap().path()).collect();
    let nut = written.iter().find(|p| p.to_string_lossy().ends_with(".dxf")).unwrap();
    std::fs::remove_file(out.join(".flanklight-files.json")).unwrap();
    std::fs::write(nut, "my own drawing").unwrap();
    let before = std::fs::read_dir(&out).unwrap().count();
    let output = flanklight(&["sheets", &file, "--out", out.to_str().unwrap(), "--play", "0.2mm"]);
    assert_eq!(output.status.code(), Some(3));
    assert!(errors(&output).contains("this job did not write it"), "{}", errors(&output));
    assert_eq!(std::fs::read(nut).unwrap(), b"my own drawing");
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), before);
}

#[cfg(target_os = "linux")]
#[test]
fn a_result_that_does_not_arrive_is_no_success() {
    let full = || Stdio::from(std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap());
    let wires = "wires --pitch 4mm --angle 30deg --pitch-diameter 18mm";
    let arguments: Vec<&str> = wires.split(' ').collect();
    for extra in [&[][..], &["--json"]] {
        let all = [&arguments[..], extra].concat();
        let output = command(&all).stdout(full()).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{}", errors(&output));
        assert!(errors(&output).contains("standard output"), "{}", errors(&output));
        // With nobody to tell it to, it is no panic either.
        let output = command(&all).stdout(full()).stderr(full()).status().unwrap();
        assert_eq!(output.code(), Some(1));
    }
    let help = command(&["--help"]).stdout(full()).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(help.status.code(), Some(1));
    let wrong = command(&["nut", "/no/such/job", "--play", "1mm"]).stderr(full()).status().unwrap();
    assert_eq!(wrong.code(), Some(3));
}

#[test]
fn messages_are_for_people() {
    let dir = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str| {
        let path = dir.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    };
    let escapes =
        file("esc.json", "{\"schema\":\"flanklight/job/1\",\"units\":\"\\u001b]0;PWNED\\u0007\"}");
    let title = format!("{{\"schema\":\"flanklight/job/1\",\"title\":\"{}\"}}", "x".repeat(16_000));
    let (long, empty) =
        (file("long.json", &title), file("empty.json", "{\"schema\":\"flanklight/job/1\"}"));
    let play = file("play.json", "{\"schema\":\"flanklight/job/1\",\"nut\":{\"play_mm\":7}}");
    let named = "y".repeat(3000);
    for (arguments, status, words) in [
        (vec!["nut", &escapes, "--play", "1mm"], 3, "\\u{1b}"),
        (vec!["nut", &long, "--play", "1mm"], 3, "16000 characters"),
        (vec!["nut", &play, "--play", "1mm"], 3, "a group of fields is expected"),
        (vec!["gears", "--job", &empty], 3, "holds no lead screw and no wheels"),
        (vec!["nut", &named, "--play", "1mm"], 3, "yyy"),
        (
            vec![
                "wires",
                "--pitch",
                "4mm",
                "--angle",
                "30deg",
                "--pitch-diameter",
                "18mm",
                "--starts",
                "x",
            ],
            2,
            "whole number",
        ),
    ] {
        let output = flanklight(&arguments);
        let said = errors(&output);
        assert_eq!(output.status.code(), Some(status), "{said}");
        assert!(said.contains(words), "{said}");
        assert!(!said.chars().any(|c| c.is_control() && c != '\n'), "{said:?}");
        assert!(said.chars().count() <= 420, "{} characters: {said}", said.chars().count());
        for code in ["struct", "AsWritten", "invalid digit"] {
            assert!(!said.contains(code), "{said}");
        }
    }
}

#[test]
fn what_is_remembered_stands_for_a_picture_that_cannot_be_read() {
    let dir = tempfile::tempdir().unwrap();
    let shown = lamp::demonstrations().into_iter().find(|d| d.name == "slit").unwrap();
    let jpeg = shown.to_jpeg().unwrap();
    let picture = dir.path().join("slit.jpg");
    std::fs::write(&picture, &jpeg).unwrap();
    let at = |name: &str| dir.path().join(name).display().to_string();
    let measured = flanklight(&[
        "measure",
        &at("slit.jpg"),
        "--bar",
        "2.5mm",
        "--bar-shape",
        "flat",
        "--bar-drop",
        "0mm",
        "--job",
        &at("slit.json"),
        "--duty",
        "adjusts",
    ]);
    assert!(measured.status.success(), "{}", errors(&measured));
    for bytes in [&[][..], &jpeg[..jpeg.len() / 2]] {
        std::fs::write(&picture, bytes).unwrap();
        let output = flanklight(&["nut", &at("slit.json"), "--play", "0.05mm"]);
        assert!(output.status.success(), "{}", errors(&output));
        assert!(errors(&output).contains("could last be read"), "{}", errors(&output));
    }
    // Named bare, from its own folder, it finds a picture that was renamed.
    std::fs::write(dir.path().join("renamed.jpg"), &jpeg).unwrap();
    std::fs::remove_file(&picture).unwrap();
    let output = command(&["nut", "slit.json", "--play", "0.05mm"])
        .current_dir(dir.path())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", errors(&output));
    assert!(errors(&output).is_empty(), "{}", errors(&output));
}

#[cfg(unix)]
#[test]
fn nothing_waits_for_pipes_and_endless_files() {
    let dir = tempfile::tempdir().unwrap();
    let pipe = dir.path().join("pipe").display().to_string();
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let huge = dir.path().join("huge.jpg").display().to_string();
    std::fs::File::create(&huge).unwrap().set_len(200_000_000_000).unwrap();
    let job = dir.path().join("huge.json").display().to_string();
    std::fs::write(&job, "{\"schema\":\"flanklight/job/1\",\"picture\":{\"file\":\"huge.jpg\"}}")
        .unwrap();
    for (arguments, words) in [
        (vec!["nut", &pipe, "--play", "1mm"], "a pipe or a device"),
        (vec!["nut", "/dev/zero", "--play", "1mm"], "a pipe or a device"),
        (vec!["survey", &pipe], "a pipe or a device"),
        (vec!["survey", "/dev/zero"], "a pipe or a device"),
        (vec!["survey", &huge], "at most 4000000"),
        (vec!["measure", &pipe, "--bar", "6mm"], "a pipe or a device"),
        (vec!["measure", &huge, "--bar", "6mm"], "200000000000 bytes"),
        (vec!["open", &pipe], "a pipe or a device"),
        (vec!["nut", &job, "--play", "1mm"], "200000000000 bytes"),
    ] {
        let output = flanklight(&arguments);
        assert_eq!(output.status.code(), Some(3), "{arguments:?}: {}", errors(&output));
        assert!(errors(&output).contains(words), "{arguments:?}: {}", errors(&output));
    }
}
