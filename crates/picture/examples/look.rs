//! Prints what is found in picture files: `cargo run -p picture --example look -- FILE...`
//!
//! With `--svg DIR` it also writes the points found as an SVG drawing beside each picture's name.

use std::path::{Path, PathBuf};
use std::time::Instant;

use picture::{Bar, DrawnWanted, EdgePoint, Limits, Picture, PictureError, Scene, Thread};

fn main() {
    let mut svg: Option<PathBuf> = None;
    let mut args = std::env::args_os().skip(1);
    while let Some(arg) = args.next() {
        if arg == "--svg" {
            svg = args.next().map(PathBuf::from);
            continue;
        }
        let path = PathBuf::from(arg);
        if let Err(error) = look(&path, svg.as_deref()) {
            say(&format!("{}: [{}] {error}", path.display(), error.code()));
        }
    }
}

#[expect(clippy::print_stdout, reason = "an example whose output is its purpose")]
fn say(text: &str) {
    println!("{text}");
}

fn look(path: &Path, svg: Option<&Path>) -> Result<(), PictureError> {
    let start = Instant::now();
    let picture = picture::open(path, &Limits::default())?;
    let opened = start.elapsed();
    let scene = picture::trace(&picture.grey, DrawnWanted::Auto, &|_| true)?;
    let traced = start.elapsed();
    let bar = picture::find_bar(&scene, None);
    let thread = picture::find_thread(&scene, bar.as_ref().ok(), None);
    let done = start.elapsed();
    say(&format!(
        "{}: {} x {}, {:?}, {}, blur {:.2} px, noise {:.4}, {}, {} outlines, f35 {:?}; open {:.0} ms, trace {:.0} ms, find {:.0} ms",
        path.display(),
        scene.width,
        scene.height,
        scene.drawn,
        if scene.object_is_dark { "dark" } else { "light" },
        scene.blur_px,
        scene.noise,
        scene.tone.map_or_else(
            || "tones not told".to_owned(),
            |t| format!("light to the power e^({:.3} ± {:.3})", t.ln_power, t.u)
        ),
        scene.outlines.len(),
        picture.focal_35mm,
        opened.as_secs_f64() * 1e3,
        (traced - opened).as_secs_f64() * 1e3,
        (done - traced).as_secs_f64() * 1e3,
    ));
    for warning in &scene.warnings {
        say(&format!("  warning [{}] {}", warning.code, warning.text));
    }
    match &bar {
        Ok(bar) => {
            say(&format!(
                "  bar: width {:.3} px, axis {:.3} deg, {} + {} points, sigma {:.3} px, scatter {:.3} {:.3}, bow {:.2} {:.2} px",
                bar.width_px,
                bar.axis.1.atan2(bar.axis.0).to_degrees(),
                bar.edges[0].len(),
                bar.edges[1].len(),
                middle_sigma(&bar.edges[0]),
                scatter(&bar.edges[0]),
                scatter(&bar.edges[1]),
                bar.bow_px[0],
                bar.bow_px[1],
            ));
            for n in &bar.notices {
                say(&format!("    [{}] {}", n.code, n.text));
            }
        }
        Err(error) => say(&format!("  bar: [{}] {error}", error.code())),
    }
    match &thread {
        Ok(t) => {
            say(&format!(
                "  thread: axis {:.3} deg, pitch {:.3} px, depth {:.1} px, {} teeth, {} upper, {} lower points, sigma {:.3} px, ends {:.0} {:.0}",
                t.axis.1.atan2(t.axis.0).to_degrees(),
                t.pitch_px,
                t.depth_px,
                t.teeth,
                t.upper.len(),
                t.lower.len(),
                middle_sigma(if t.upper.is_empty() { &t.lower } else { &t.upper }),
                t.ends_px.0,
                t.ends_px.1,
            ));
            for n in &t.notices {
                say(&format!("    [{}] {}", n.code, n.text));
            }
        }
        Err(error) => say(&format!("  thread: [{}] {error}", error.code())),
    }
    if let Some(dir) = svg {
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let drawn = drawing(&scene, bar.as_ref().ok(), thread.as_ref().ok(), &picture);
        if let Err(error) = std::fs::write(dir.join(format!("{name}.svg")), drawn) {
            say(&format!("  cannot write the drawing: {error}"));
        }
    }
    Ok(())
}

fn middle_sigma(points: &[EdgePoint]) -> f64 {
    let mut s: Vec<f64> = points.iter().map(|p| p.sigma_px).collect();
    s.sort_by(f64::total_cmp);
    s.get(s.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Scatter of second differences over a few points: noise without shape, as 1-sigma.
fn scatter(points: &[EdgePoint]) -> f64 {
    let mut d: Vec<f64> = points
        .windows(3)
        .map(|w| {
            let off = (w[0].x - 2.0 * w[1].x + w[2].x) * w[1].nx
                + (w[0].y - 2.0 * w[1].y + w[2].y) * w[1].ny;
            off.abs()
        })
        .collect();
    d.sort_by(f64::total_cmp);
    d.get(d.len() / 2).copied().unwrap_or(f64::NAN) * 1.4826 / 6f64.sqrt()
}

fn drawing(scene: &Scene, bar: Option<&Bar>, thread: Option<&Thread>, picture: &Picture) -> String {
    let mut out = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {} {}'>",
        picture.grey.width(),
        picture.grey.height()
    );
    let mut dots = |points: &[EdgePoint], colour: &str| {
        for p in points {
            out += &format!("<circle cx='{:.2}' cy='{:.2}' r='2' fill='{colour}'/>", p.x, p.y);
        }
    };
    for o in &scene.outlines {
        dots(&o.points, "#bbb");
    }
    if let Some(bar) = bar {
        dots(&bar.edges[0], "#07c");
        dots(&bar.edges[1], "#0a5");
    }
    if let Some(thread) = thread {
        dots(&thread.upper, "#d33");
        dots(&thread.lower, "#c0c");
    }
    out + "</svg>"
}
