//! Wrong input: the exit status, and a sentence that names what was wrong and what to do.
//!
//! Exit status: 2 wrong usage, 3 an input that cannot be read or is refused, 4 read but not
//! measurable.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::path::Path;
use tempfile::TempDir;
use whole_job_tests::house::root;
use whole_job_tests::program::{Ran, run};

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// A file with these bytes, measured with a bar of 6 mm.
fn measured(name: &str, bytes: &[u8]) -> Ran {
    let folder = folder();
    std::fs::write(folder.path().join(name), bytes).unwrap();
    run(folder.path(), &["measure", name, "--bar", "6mm"])
}

/// The picture of the first demonstration, as it is or changed.
fn picture(change: impl FnOnce(&mut lamp::Scene)) -> Vec<u8> {
    let mut shown = lamp::demonstrations().remove(0);
    change(&mut shown.scene);
    shown.to_jpeg().unwrap()
}

#[test]
fn what_is_refused_below_is_taken_when_it_is_whole() {
    measured("shadow.jpg", &picture(|_| {})).ended_with(0);
}

#[test]
fn a_bar_without_a_unit() {
    let folder = folder();
    for (bar, words) in [
        ("6", ["\"6\"", "no unit", "5mm", "--bar"]),
        ("6.35", ["\"6.35\"", "no unit", "0.25in", "--bar"]),
    ] {
        run(folder.path(), &["measure", "shadow.jpg", "--bar", bar]).ended_with(2).says(&words);
    }
    run(folder.path(), &["measure", "shadow.jpg", "--bar", "0mm"])
        .ended_with(2)
        .says(&["\"0mm\"", "outside"]);
    run(folder.path(), &["measure", "shadow.jpg"]).ended_with(2).says(&["--bar"]);
}

#[test]
fn a_text_file_as_picture() {
    let ran = measured("shadow.jpg", b"Dear loom owner,\nthe screw is in the post.\n");
    ran.ended_with(3).says(&["not a picture", "JPEG, PNG, TIFF, BMP and WebP"]);
}

#[test]
fn an_empty_file() {
    measured("shadow.png", b"").ended_with(3).says(&["empty", "0 bytes"]);
}

#[test]
fn a_folder_and_a_file_that_is_not_there() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("pictures")).unwrap();
    let measure = |what| run(folder.path(), &["measure", what, "--bar", "6mm"]);
    measure("pictures").ended_with(3).says(&["pictures", "is a folder"]);
    measure("nowhere.jpg").ended_with(3).says(&["nowhere.jpg", "Check the name"]);
}

#[test]
fn a_jpeg_cut_short() {
    let whole = std::fs::read(root().join("tests/data/shadows/o01_trapezoid_phone.jpg")).unwrap();
    for part in [whole.len() / 2, whole.len() - 2, 2000] {
        let ran = measured("shadow.jpg", &whole[..part]);
        ran.ended_with(3).says(&["cut short"]);
    }
}

#[test]
fn a_picture_too_large_to_hold() {
    // Nothing but a header that promises 65 000 × 65 000 pixels: 12.7 GB if it were believed.
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 65_000, 65_000);
    encoder.set_color(png::ColorType::Rgb);
    drop(encoder.write_header().unwrap());
    assert!(bytes.len() < 1000);
    measured("shadow.png", &bytes).ended_with(3).says(&["65000 x 65000", "at most"]);
}

#[test]
fn a_picture_without_a_bar() {
    let ran = measured("shadow.jpg", &picture(|scene| scene.bar = None));
    ran.ended_with(4).says(&["bar"]);
}

#[test]
fn a_picture_of_nothing() {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 640, 480);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.write_header().unwrap().write_image_data(&[230; 640 * 480]).unwrap();
    measured("shadow.png", &bytes).ended_with(4).says(&["nothing in the picture"]);
}

#[test]
fn a_command_there_is_not() {
    run(folder().path(), &["frobnicate"]).ended_with(2).says(&["frobnicate", "--help"]);
}

#[test]
fn a_window_without_a_display() {
    if cfg!(not(all(unix, not(target_os = "macos")))) {
        return;
    }
    run(folder().path(), &[]).ended_with(3).says(&["no display", "flanklight measure"]);
}

#[test]
fn nothing_on_disk_is_touched_by_a_failure() {
    let folder = folder();
    let kept = |name: &str| folder.path().join(name);
    std::fs::write(kept("screw.json"), "mine").unwrap();
    std::fs::write(kept("shadow.jpg"), "no picture").unwrap();
    let names = |at: &Path| std::fs::read_dir(at).unwrap().count();
    let args = ["measure", "shadow.jpg", "--bar", "6mm", "--job", "screw.json"];
    run(folder.path(), &args).ended_with(3);
    run(folder.path(), &["sheets", "screw.json", "--out", "sheets"])
        .ended_with(3)
        .says(&["screw.json"]);
    assert_eq!(std::fs::read_to_string(kept("screw.json")).unwrap(), "mine");
    assert_eq!(std::fs::read_to_string(kept("shadow.jpg")).unwrap(), "no picture");
    assert_eq!(names(folder.path()), 2);
}
