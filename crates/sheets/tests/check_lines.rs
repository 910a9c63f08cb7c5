//! The 100 mm lines of a print must measure 100 mm, whatever program shows the page.
#![expect(clippy::unwrap_used, reason = "helpers of tests stop the test")]

#[path = "scenes/raster.rs"]
mod raster;
mod scenes;

use form::Units;
use raster::{Grey, present};
use sheets::{Drawing, Paper, pdf, record_sheet, svg, tool_template};
use std::process::Command;

const DPI: f64 = 300.0;

fn pages(paper: Paper) -> Vec<Drawing> {
    let info = scenes::info(paper, Units::Mm, "Studio easel, mast screw");
    let mut pages = tool_template(&info, &scenes::template(scenes::trapezoid_4())).unwrap();
    pages.extend(record_sheet(&info, &scenes::record(2)).unwrap());
    sheets::number_pages(&mut pages);
    pages
}

#[test]
fn in_the_rendered_pdf() {
    if !present("pdftoppm", "-v") {
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    for paper in [Paper::A4, Paper::Letter] {
        let file = dir.path().join("sheets.pdf");
        let pages = pages(paper);
        std::fs::write(&file, pdf(&pages).unwrap()).unwrap();
        for page in 1..=pages.len().min(2) {
            let n = page.to_string();
            let out = Command::new("pdftoppm")
                .args(["-r", "300", "-gray", "-f", &n, "-l", &n])
                .arg(&file)
                .output()
                .unwrap();
            assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
            assert!(out.stderr.is_empty(), "{}", String::from_utf8_lossy(&out.stderr));
            let grey = Grey::from_pgm(&out.stdout, DPI);
            let (level, upright) = grey.check_lines_mm();
            println!("{} page {page}: {level:.3} mm level, {upright:.3} mm upright", paper.name());
            assert!((level - 100.0).abs() < 0.1, "{level}");
            assert!((upright - 100.0).abs() < 0.1, "{upright}");
        }
    }
}

#[test]
fn in_the_rendered_svg() {
    if !present("rsvg-convert", "--version") {
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    for paper in [Paper::A4, Paper::Letter] {
        for page in pages(paper).iter().take(2) {
            let (from, to) = (dir.path().join("page.svg"), dir.path().join("page.png"));
            std::fs::write(&from, svg(page)).unwrap();
            let status = Command::new("rsvg-convert")
                .args(["--dpi-x", "300", "--dpi-y", "300", "-o"])
                .args([&to, &from])
                .status()
                .unwrap();
            assert!(status.success());
            let grey = Grey::from_png(&std::fs::read(&to).unwrap(), DPI);
            let width_mm = grey.width as f64 / grey.px_per_mm;
            assert!((width_mm - paper.width_mm()).abs() < 0.1, "{width_mm}");
            let (level, upright) = grey.check_lines_mm();
            assert!((level - 100.0).abs() < 0.1, "{level}");
            assert!((upright - 100.0).abs() < 0.1, "{upright}");
        }
    }
}

#[test]
fn a_print_fitted_to_the_page_is_caught() {
    // The measurement itself: a page printed at 96 % must not pass as 100 mm.
    if !present("pdftoppm", "-v") {
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("sheets.pdf");
    std::fs::write(&file, pdf(&pages(Paper::A4)).unwrap()).unwrap();
    let out = Command::new("pdftoppm")
        .args(["-r", "288", "-gray", "-f", "1", "-l", "1"])
        .arg(&file)
        .output()
        .unwrap();
    // 288 dpi read as 288 dpi and then as 300 dpi: the second is 96 % of true size.
    let (level, _) = Grey::from_pgm(&out.stdout, 288.0).check_lines_mm();
    assert!((level - 100.0).abs() < 0.1, "{level}");
    assert!((level * 288.0 / 300.0 - 100.0).abs() > 3.0);
}
