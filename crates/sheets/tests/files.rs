//! The files as other programs read them.
#![expect(clippy::unwrap_used, reason = "helpers of tests stop the test")]

#[path = "scenes/raster.rs"]
mod raster;
mod scenes;

use form::Units;
use raster::present;
use sheets::{
    Drawing, NutBody, Paper, PdfError, PictureBytes, dxf, job_sheet, nut_drawing, pdf,
    record_sheet, shadow_chart, survey_sheet, svg, tool_template,
};
use std::process::Command;
use std::sync::Arc;

fn one_of_each(paper: Paper) -> Vec<Drawing> {
    let info = scenes::info(paper, Units::Mm, "Spectroscope <slit> & \"screw\" № 2 — Ø6");
    let form = scenes::buttress_35();
    let mut all = tool_template(&info, &scenes::template(form)).unwrap();
    all.extend(job_sheet(&info, &scenes::job(3.5, form, 12)).unwrap());
    all.extend(nut_drawing(&info, &scenes::nut(3.5, form, NutBody::Solid)).unwrap());
    all.extend(shadow_chart(&info, &scenes::chart(3.5, form)).unwrap());
    all.extend(record_sheet(&info, &scenes::record(3)).unwrap());
    all.extend(survey_sheet(&info, &scenes::survey(9)).unwrap());
    sheets::number_pages(&mut all);
    all
}

#[test]
fn dxf_passes_an_independent_audit() {
    let there = Command::new("python3").args(["-c", "import ezdxf"]).output();
    if !there.is_ok_and(|o| o.status.success()) {
        println!("skipped: python3 with ezdxf is not installed");
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    let mut files = Vec::new();
    for (i, page) in one_of_each(Paper::A4).iter().enumerate() {
        let file = dir.path().join(format!("{i}.dxf"));
        std::fs::write(&file, dxf(page)).unwrap();
        files.push(file);
    }
    let script = r#"
import sys, ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode
from ezdxf.tools.text import plain_text
for name in sys.argv[1:]:
    doc = ezdxf.readfile(name)
    audit = doc.audit()
    assert not audit.errors, (name, [e.message for e in audit.errors])
    assert not audit.fixes, (name, [e.message for e in audit.fixes])
    assert doc.units == 4, doc.units
    assert doc.dxfversion == "AC1015", doc.dxfversion
    space = doc.modelspace()
    lines = [e for e in space.query("LINE") if e.dxf.layer == "CHECK_LINE"]
    lengths = [e.dxf.start.distance(e.dxf.end) for e in lines]
    assert sum(abs(l - 100.0) < 1e-6 for l in lengths) == 2, lengths
    texts = [plain_text(decode_dxf_unicode(e.dxf.text)) for e in space.query("TEXT")]
    assert any("Spectroscope <slit> & \"screw\" \u2116 2 \u2014 \u00d86" in t for t in texts), texts[:5]
    assert any(t.startswith("Page ") for t in texts)
    if name.endswith("/0.dxf"):
        assert any("\u00b0" in t for t in texts)
        gauge = [e for e in space.query("LWPOLYLINE") if e.dxf.layer == "GAUGE"]
        assert gauge and any(e.has_arc for e in gauge), "rounded corners are arcs"
print("ok", len(sys.argv) - 1)
"#;
    let out = Command::new("python3").args(["-c", script]).args(&files).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
}

#[test]
fn svg_is_well_formed_and_says_millimetres() {
    for page in one_of_each(Paper::Letter) {
        let text = svg(&page);
        assert!(text.contains("width=\"215.9mm\" height=\"279.4mm\" viewBox=\"0 0 215.9 279.4\""));
        assert!(text.contains("Spectroscope &lt;slit&gt; &amp; &quot;screw&quot; № 2 — Ø6"));
        assert!(!text.contains("NaN"));
    }
    if !present("python3", "--version") {
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    for (i, page) in one_of_each(Paper::A4).iter().enumerate() {
        let file = dir.path().join(format!("{i}.svg"));
        std::fs::write(&file, svg(page)).unwrap();
        let out = Command::new("python3")
            .args(["-c", "import sys, xml.dom.minidom as m; m.parse(sys.argv[1])"])
            .arg(&file)
            .output()
            .unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    }
}

#[test]
fn pdf_text_can_be_read_and_fonts_are_embedded() {
    if !present("pdftotext", "-v") || !present("pdffonts", "-v") {
        return;
    }
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("all.pdf");
    let pages = one_of_each(Paper::A4);
    std::fs::write(&file, pdf(&pages).unwrap()).unwrap();
    let out = Command::new("pdftotext").arg("-layout").arg(&file).arg("-").output().unwrap();
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(out.stderr.is_empty(), "{}", String::from_utf8_lossy(&out.stderr));
    for wanted in ["44.90 ± 0.04°", "Groove Ø", "40 × 120", "−125 ppm", "№"] {
        assert!(text.contains(wanted), "{wanted}");
    }
    for n in 1..=pages.len() {
        assert!(text.contains(&format!("Page {n} of {}", pages.len())));
    }
    let out = Command::new("pdffonts").arg(&file).output().unwrap();
    let fonts = String::from_utf8(out.stdout).unwrap();
    assert_eq!(fonts.lines().skip(2).count(), 2, "{fonts}");
    for line in fonts.lines().skip(2) {
        assert!(line.contains("yes yes yes"), "embedded, subset, with Unicode: {line}");
    }
}

#[test]
fn the_same_drawing_gives_the_same_bytes() {
    let pages = one_of_each(Paper::A4);
    assert_eq!(pdf(&pages).unwrap(), pdf(&pages).unwrap());
    assert!(pages.iter().all(|p| svg(p) == svg(p) && dxf(p) == dxf(p)));
}

#[test]
fn jpeg_is_placed_and_rubbish_is_refused() {
    let info = scenes::info(Paper::A4, Units::Mm, "Floor loom");
    let with = |bytes: PictureBytes| {
        let mut record = scenes::record(1);
        record.picture.as_mut().unwrap().bytes = bytes;
        pdf(&record_sheet(&info, &record).unwrap())
    };
    for name in ["grey.jpg", "colour.jpg"] {
        let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
        let jpeg = std::fs::read(path).unwrap();
        let file = with(PictureBytes::Jpeg(Arc::new(jpeg.clone()))).unwrap();
        assert!(file.windows(jpeg.len()).any(|w| w == jpeg), "kept byte for byte");
        assert!(matches!(
            with(PictureBytes::Png(Arc::new(jpeg.clone()))),
            Err(PdfError::Picture(_))
        ));
        for cut in [0, 1, 2, 3, 20, 60] {
            assert!(with(PictureBytes::Jpeg(Arc::new(jpeg[..cut].to_vec()))).is_err());
        }
    }
    assert!(with(PictureBytes::Png(Arc::new(b"\x89PNG\r\n\x1a\nrubbish".to_vec()))).is_err());
}

#[test]
fn what_is_not_finite_stays_off_the_page() {
    let mut d = Drawing::new("Test", Paper::A4);
    let before = svg(&d);
    d.canvas.line(sheets::pt(f64::NAN, 1.0), sheets::pt(2.0, 2.0), sheets::Pen::OUTLINE);
    d.canvas.write(sheets::pt(f64::INFINITY, 1.0), "lost", 3.0, sheets::Anchor::Start);
    assert_eq!(svg(&d), before);
}
