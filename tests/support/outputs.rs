//! Drawings as other programs read them: their check lines, measured.

use crate::house::files;
use std::path::Path;
use std::process::Command;

#[path = "../../crates/sheets/tests/scenes/raster.rs"]
mod raster;

use raster::Grey;

const DPI: f64 = 300.0;
/// A check line may be off by this much when rendered, mm.
const MAY_BE_OFF_MM: f64 = 0.1;

/// Audits a DXF with ezdxf and prints the lengths of the level and the upright check line.
const AUDIT: &str = r#"
import sys, ezdxf
doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
if audit.errors or audit.fixes:
    sys.exit("; ".join(e.message for e in [*audit.errors, *audit.fixes]))
if doc.header["$INSUNITS"] != 4:
    sys.exit("its unit is not the millimetre")
level = upright = 0.0
for line in doc.modelspace().query('LINE[layer=="CHECK_LINE"]'):
    d = line.dxf.end - line.dxf.start
    level = max(level, abs(d.x))
    upright = max(upright, abs(d.y))
print(level, upright)
"#;

/// Looks at every PDF, SVG and DXF in `folder` with programs that are none of ours; a line for each,
/// also for what had to be left out because its program is not installed.
///
/// # Errors
/// The first thing that is wrong, also when a kind of drawing is missing.
pub fn check(folder: &Path) -> Result<Vec<String>, String> {
    let mut notes = Vec::new();
    for (ending, look) in
        [(".pdf", pdf as fn(&Path) -> Result<String, String>), (".svg", svg), (".dxf", dxf)]
    {
        let drawings = files(folder, &[ending]);
        if drawings.is_empty() {
            return Err(format!("there is no {ending} in {}", folder.display()));
        }
        for file in drawings {
            notes.push(look(&file)?);
        }
    }
    Ok(notes)
}

/// Width of the paper a file is named after, mm.
fn width_mm(file: &Path) -> f64 {
    if file.to_string_lossy().contains("-letter") { 215.9 } else { 210.0 }
}

fn pdf(file: &Path) -> Result<String, String> {
    if !present("pdftoppm") {
        return Ok(format!("{}: left out, pdftoppm is not installed", file.display()));
    }
    let run = Command::new("pdftoppm")
        .args(["-r", "300", "-gray", "-f", "1", "-l", "1"])
        .arg(file)
        .output()
        .map_err(|e| e.to_string())?;
    if !run.status.success() || !run.stderr.is_empty() {
        return Err(format!("{}: {}", file.display(), String::from_utf8_lossy(&run.stderr)));
    }
    rendered(file, &Grey::from_pgm(&run.stdout, DPI))
}

fn svg(file: &Path) -> Result<String, String> {
    if !present("rsvg-convert") {
        return Ok(format!("{}: left out, rsvg-convert is not installed", file.display()));
    }
    let run = Command::new("rsvg-convert")
        .args(["--dpi-x", "300", "--dpi-y", "300"])
        .arg(file)
        .output()
        .map_err(|e| e.to_string())?;
    if !run.status.success() {
        return Err(format!("{}: {}", file.display(), String::from_utf8_lossy(&run.stderr)));
    }
    rendered(file, &Grey::from_png(&run.stdout, DPI))
}

fn rendered(file: &Path, page: &Grey) -> Result<String, String> {
    let width_mm = width_mm(file);
    let paper_mm = page.width as f64 / page.px_per_mm;
    if (paper_mm - width_mm).abs() > 0.2 {
        return Err(format!("{}: {paper_mm:.1} mm wide, not {width_mm}", file.display()));
    }
    let (level, upright) = page.check_lines_mm();
    measured(file, level, upright, MAY_BE_OFF_MM)
}

fn dxf(file: &Path) -> Result<String, String> {
    let python = |args: &[&str]| Command::new("python3").args(args).arg(file).output();
    if !python(&["-c", "import ezdxf"]).is_ok_and(|o| o.status.success()) {
        return Ok(format!("{}: left out, python3 has no ezdxf", file.display()));
    }
    let run = python(&["-c", AUDIT]).map_err(|e| e.to_string())?;
    if !run.status.success() {
        return Err(format!("{}: {}", file.display(), String::from_utf8_lossy(&run.stderr)));
    }
    let said = String::from_utf8_lossy(&run.stdout);
    let lengths: Vec<f64> = said.split_whitespace().filter_map(|w| w.parse().ok()).collect();
    match lengths[..] {
        [level, upright] => measured(file, level, upright, 1e-3),
        _ => Err(format!("{}: no check lines: {said}", file.display())),
    }
}

fn measured(file: &Path, level: f64, upright: f64, most: f64) -> Result<String, String> {
    let line = format!("{}: {level:.3} mm level, {upright:.3} mm upright", file.display());
    let good = (level - 100.0).abs() < most && (upright - 100.0).abs() < most;
    if good { Ok(line) } else { Err(format!("{line}; both must be 100 ± {most} mm")) }
}

fn present(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok()
}
