//! The program in a real window: a picture opened by its path, a box drawn round the bar, points
//! clicked along flanks, the sheets written, the job saved; all with mouse and keys.
//!
//! Needs Xvfb, xdotool and ImageMagick beside the software driver (see `tests/window.sh`), and a
//! minute: `cargo test -p workbench --test window_real -- --ignored`. Pictures of the window are
//! left in `target/window-real`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops")]

use form::Piece;
use form::shadow::Edge;
use job::{Job, Loaded};
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

/// Size of the screen, and the part of it that shows the picture, in points.
const SCREEN: (u32, u32) = (1366, 768);
const VIEW: [f64; 4] = [0.0, 95.0, 952.0, 733.0];
/// Where the button "Draw a box round the bar" is on that screen.
const BAR_BOX: (i32, i32) = (1060, 497);

/// Where a picture point lies on the screen while the whole picture is shown.
fn on_screen((x, y): (f64, f64), (w, h): (f64, f64)) -> (i32, i32) {
    let [left, top, right, bottom] = VIEW;
    let zoom = 0.96 * ((right - left) / w).min((bottom - top) / h);
    let at = |middle: f64, offset: f64| (middle + zoom * offset).round() as i32;
    (at(0.5 * (left + right), x - 0.5 * w), at(0.5 * (top + bottom), y - 0.5 * h))
}

#[test]
#[ignore = "needs Xvfb, xdotool and ImageMagick, and a minute"]
fn a_job_with_mouse_and_keys() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let folder = tempfile::tempdir().unwrap();
    let shown = lamp::demonstrations().remove(0);
    let picture = folder.path().join("shadow.jpg");
    std::fs::write(&picture, shown.to_jpeg().unwrap()).unwrap();
    let (home, out) = (folder.path().join("loom.flanklight.json"), folder.path().join("sheets"));
    // Where things are in the picture, to know where to click.
    let loaded = Loaded::open(&picture).unwrap();
    let mut job = Job::on_picture(&picture, loaded.sha256.clone());
    job.bar.width_mm = Some(form::Quantity::entered(6.0, 0.003));
    let findings = job::evaluate(&job, Some(&loaded), &|_| true).unwrap();
    let m = findings.measurement.as_ref().unwrap();
    let size = findings.size_px.map(|(w, h)| (w as f64, h as f64)).unwrap();
    let screen = |x: f64, y: f64| on_screen((x, y), size);

    let mut steps = String::new();
    let mut step = |text: String| writeln!(steps, "{text}").unwrap();
    let click =
        |at: (i32, i32)| format!("mousemove {} {} sleep 0.15 click 1 sleep 0.15", at.0, at.1);
    let type_over = |text: &str| format!("key ctrl+a type --delay 15 {text}");
    step("sleep 6".into());
    step("key ctrl+l sleep 1".into());
    step(type_over(&picture.display().to_string()));
    step("key Return sleep 4".into());
    // The width of the bar is what the window asks for now.
    step("type --delay 15 6.000±0.003mm".into());
    step("key Return sleep 4".into());
    step("shot bar".into());
    step(click(BAR_BOX));
    let corners = findings.bar.as_ref().unwrap().corners;
    let low = |f: fn(&(f64, f64)) -> f64| corners.iter().map(f).fold(f64::MAX, f64::min) - 50.0;
    let high = |f: fn(&(f64, f64)) -> f64| corners.iter().map(f).fold(f64::MIN, f64::max) + 50.0;
    let (from, to) = (screen(low(|c| c.0), low(|c| c.1)), screen(high(|c| c.0), high(|c| c.1)));
    step(format!("mousemove {} {} sleep 0.2 mousedown 1 sleep 0.2", from.0, from.1));
    for t in 1..=4 {
        let at = (from.0 + (to.0 - from.0) * t / 4, from.1 + (to.1 - from.1) * t / 4);
        step(format!("mousemove {} {} sleep 0.1", at.0, at.1));
    }
    step("shot box".into());
    step("mouseup 1 sleep 4".into());
    step("key Next sleep 1".into());
    // Two points on each piece of three teeth of the upper edge.
    let grooves: Vec<i32> = {
        let mut all: Vec<i32> = m.residuals.iter().map(|r| r.groove).collect();
        all.sort_unstable();
        all.dedup();
        let middle = all.len() / 2;
        all[middle - 2..middle + 2].to_vec()
    };
    for (key, pieces) in [
        ('r', &[Piece::FlankRight][..]),
        ('l', &[Piece::FlankLeft]),
        ('c', &[Piece::CrestRight, Piece::CrestLeft]),
        ('b', &[Piece::Root]),
    ] {
        step(format!("key {key} sleep 0.4"));
        for (&groove, piece) in grooves.iter().flat_map(|g| pieces.iter().map(move |p| (g, p))) {
            let seen: Vec<_> = m
                .residuals
                .iter()
                .filter(|r| r.edge == Edge::Upper && r.groove == groove && r.piece == *piece)
                .collect();
            let n = seen.len();
            // Far enough apart that a click does not take hold of its neighbour.
            let twice = matches!(piece, Piece::FlankRight | Piece::FlankLeft);
            for at in if twice { vec![n / 4, 3 * n / 4] } else { vec![n / 2] } {
                if let Some(r) = seen.get(at) {
                    step(click(screen(r.x_px, r.y_px)));
                }
            }
        }
    }
    step("sleep 4".into());
    step("shot points".into());
    step("key Escape".into());
    step("key ctrl+s sleep 1.5".into());
    step(type_over(&home.display().to_string()));
    step("key Return sleep 2".into());
    step("shot saved".into());
    step("close".into());
    run(&root, folder.path(), "points", &steps, &[]);
    let saved = job::load(&home).unwrap();
    assert!(saved.bar.at_px.is_some(), "no box was drawn round the bar");
    let points = &saved.thread.points;
    assert!(points.len() >= 24, "{} points were clicked", points.len());
    for flank in job::Flank::ALL {
        let count = points.iter().filter(|p| p.flank == flank).count();
        assert!(count >= 4, "{count} points on a {}", flank.word());
    }
    // Every click landed on the outline, to the fraction of a pixel.
    for p in points {
        // Off the straight line between the two points of the outline next to it.
        let mut by_distance: Vec<_> = m.residuals.iter().map(|r| (r.x_px, r.y_px)).collect();
        let away = |q: &(f64, f64)| (q.0 - p.x_px).hypot(q.1 - p.y_px);
        by_distance.sort_by(|a, b| away(a).total_cmp(&away(b)));
        let (a, b) = (by_distance[0], by_distance[1]);
        let along = (b.0 - a.0).hypot(b.1 - a.1).max(1e-9);
        let off = ((b.0 - a.0) * (p.y_px - a.1) - (b.1 - a.1) * (p.x_px - a.0)).abs() / along;
        assert!(off < 1.0 && away(&a) < 4.0, "{p:?} lies {off:.1} px from the outline");
    }
    // Opened again, without the points, and written out.
    let mut whole = saved.clone();
    whole.thread.points.clear();
    whole.duty = Some(job::Duty::Adjusts);
    job::save(&whole, &home).unwrap();
    let mut steps = String::from("sleep 7\nkey ctrl+e sleep 1.5\n");
    writeln!(steps, "{}", type_over(&out.display().to_string())).unwrap();
    steps.push_str("key Return sleep 4\nshot exported\nclose\n");
    run(&root, folder.path(), "sheets", &steps, &["open", &home.display().to_string()]);
    for name in ["template-a4.pdf", "template.svg", "template.dxf"] {
        let name = format!("shadow-{name}");
        assert!(out.join(&name).is_file(), "{name} was not written");
    }
}

fn run(root: &Path, folder: &Path, name: &str, steps: &str, arguments: &[&str]) {
    let shots = root.join("target/window-real").join(name);
    let input = folder.join(format!("{name}.steps"));
    std::fs::write(&input, steps).unwrap();
    let done = Command::new("bash")
        .arg(root.join("tests/window.sh"))
        .arg(&shots)
        .arg(format!("{}x{}", SCREEN.0, SCREEN.1))
        .arg(env!("CARGO_BIN_EXE_flanklight"))
        .args(arguments)
        .stdin(Stdio::from(std::fs::File::open(&input).unwrap()))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.success(), "{said}; see {}", shots.display());
}
