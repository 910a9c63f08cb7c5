//! Measures pictures with known truth and prints how far off each quantity is.
//!
//! `cargo run --release -p fit --example judge -- DIR [NAME…]`; `DIR` holds `truth.json`.

#![expect(clippy::print_stdout, reason = "an example reports on standard output")]

use fit::{BarDrop, BarShape, Known, Sighting, measure};
use form::Quantity;
use serde_json::Value;
use std::path::Path;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let dir = args.next().ok_or("which folder?")?;
    let dir = Path::new(&dir);
    let only: Vec<String> = args.collect();
    let truth: Value = serde_json::from_str(&std::fs::read_to_string(dir.join("truth.json"))?)?;
    for (name, t) in truth.as_object().ok_or("truth.json is no object")? {
        if !only.is_empty() && !only.iter().any(|o| name.starts_with(o.as_str())) {
            continue;
        }
        println!("== {name}");
        if let Err(e) = judge(dir, t) {
            println!("   FAILED: {e}");
        }
    }
    Ok(())
}

fn judge(dir: &Path, t: &Value) -> Result<(), Box<dyn std::error::Error>> {
    let start = Instant::now();
    let file = t["file"].as_str().ok_or("no file")?;
    let picture = picture::open(&dir.join(file), &picture::Limits::default())?;
    let opened = start.elapsed();
    let scene = picture::trace(&picture.grey, picture::DrawnWanted::Auto, &|_| true)?;
    let bar = picture::find_bar(&scene, None)?;
    let thread = picture::find_thread(&scene, Some(&bar), None)?;
    let seen = start.elapsed();
    let size = t["bar"]["size_mm"].as_f64().ok_or("no bar")?;
    let mut known = Known::bar(Quantity::entered(size, 0.0));
    if t["bar"]["kind"] == "block" {
        known.bar_shape = BarShape::Flat;
        let drop = t["bar"]["drop_mm"].as_f64().unwrap_or(0.0);
        known.bar_drop = BarDrop::Given(Quantity::entered(drop, 0.0));
    }
    if t["bar"]["kind"] == "rod" {
        let same = 0.5 * (t["major_diameter_mm"].as_f64().unwrap_or(0.0) - size);
        let drop = t["bar"]["drop_mm"].as_f64().unwrap_or(same);
        if (drop - same).abs() > 1e-6 {
            known.bar_drop = BarDrop::Given(Quantity::entered(drop, 0.0));
        }
    }
    known.mirrored = t["mirrored"] == true;
    known.focal_35mm = picture.focal_35mm;
    if thread.upper.is_empty() || thread.lower.is_empty() {
        known.major_diameter_mm =
            t["major_diameter_mm"].as_f64().map(|d| Quantity::entered(d, 0.01));
    }
    let sighting = Sighting {
        width_px: picture.grey.width(),
        height_px: picture.grey.height(),
        drawn: scene.drawn,
        bar,
        thread,
    };
    let m = measure(&sighting, &known, &|_| true)?;
    let whole = start.elapsed();
    println!(
        "   open {:.0} ms, see {:.0} ms, fit {:.0} ms; points {} + {}; starts {:?} hand {:?}",
        1e3 * opened.as_secs_f64(),
        1e3 * (seen - opened).as_secs_f64(),
        1e3 * (whole - seen).as_secs_f64(),
        sighting.thread.upper.len(),
        sighting.thread.lower.len(),
        m.starts,
        m.hand
    );
    let line = |name: &str, q: Option<Quantity>, truth: &Value| {
        let Some(t) = truth.as_f64() else { return };
        match q {
            Some(q) => println!(
                "   {name:20} {:10.5} ± {:8.5}   true {t:10.5}   off {:+9.5}  {:+6.3} %  {:+5.1} u",
                q.value,
                q.u,
                q.value - t,
                100.0 * (q.value / t - 1.0),
                (q.value - t) / q.u
            ),
            None => println!("   {name:20} cannot tell          true {t:10.5}"),
        }
    };
    let f = &m.form;
    line("pitch_mm", f.pitch_mm, &t["pitch_mm"]);
    line("right_flank_deg", f.right_flank_deg, &t["right_flank_deg"]);
    line("left_flank_deg", f.left_flank_deg, &t["left_flank_deg"]);
    line("depth_mm", f.depth_mm, &t["depth_mm"]);
    line("crest_flat_mm", f.crest_flat_mm, &t["crest_flat_mm"]);
    line("root_flat_mm", f.root_flat_mm, &t["root_flat_mm"]);
    line("crest_radius_mm", f.crest_radius_mm, &t["crest_radius_mm"]);
    line("root_radius_mm", f.root_radius_mm, &t["root_radius_mm"]);
    line("major_diameter_mm", f.major_diameter_mm, &t["major_diameter_mm"]);
    line("camera_mm", m.view.camera_distance_mm, &t["camera_mm"]);
    line("tilt_deg", m.view.tilt_deg, &t["tilt_deg"]);
    line("roll_deg", m.view.roll_deg, &t["roll_deg"]);
    line("px_per_mm", Some(m.px_per_mm), &t["px_per_mm"]);
    if let Some(s) = m.straight {
        println!(
            "   straight lines: P {:.4}, {:.2}° {:.2}°, crest {:.3}, root {:.3}, Ø {:?}",
            s.pitch_mm,
            s.right_flank_deg,
            s.left_flank_deg,
            s.crest_flat_mm,
            s.root_flat_mm,
            s.major_diameter_mm
        );
    }
    let mut used: Vec<f64> =
        m.residuals.iter().filter(|r| r.weight > 0.2).map(|r| r.off_px.abs()).collect();
    used.sort_by(f64::total_cmp);
    println!("   median residual {:.3} px", used.get(used.len() / 2).copied().unwrap_or(f64::NAN));
    for w in &m.warnings {
        println!("   ! {} {}", w.code, w.text);
    }
    Ok(())
}
