//! Random pictures of every kind at once: what is planted is found.

#![expect(clippy::unwrap_used, reason = "helpers of tests")]

mod scenes;

use picture::{Drawn, DrawnWanted, Limits, find_bar, find_thread, trace};
use scenes::{Noise, Polygon, Shot, distance};

/// A random but measurable picture; its description comes along for the report.
fn shot(seed: u64) -> (Shot, Option<u8>, String) {
    let mut rng = Noise(seed.wrapping_mul(0x9E37_79B9) + 17);
    let mut between = |a: f64, b: f64| a + (b - a) * rng.uniform();
    let size = between(0.55, 1.3);
    let side = 1200.0 * size;
    let pitch = side * between(0.035, 0.1);
    let depth = pitch * between(0.35, 0.6);
    let crest = pitch * between(0.1, 0.4);
    let root = pitch * between(0.1, 0.4);
    // Whole within the picture whichever way it is turned.
    let teeth = ((side * 0.72 / pitch) as usize).clamp(4, 14);
    let length = teeth as f64 * pitch;
    let major = (length * between(0.25, 0.7)).clamp(4.0 * depth, 0.42 * side);
    let bar_width = side * between(0.06, 0.16);
    let gap = side * between(0.03, 0.08);
    let total = major + gap + bar_width;
    let above = between(0.0, 1.0) < 0.5;
    let flip = if above { -1.0 } else { 1.0 };
    let pencil = between(0.0, 1.0) < 0.25;
    let light_object = between(0.0, 1.0) < 0.2;
    let jpeg = (between(0.0, 1.0) < 0.5).then(|| between(40.0, 95.0) as u8);
    let bar_turn = between(-0.04, 0.04);
    let shot = Shot {
        width: side as usize,
        height: side as usize,
        turn: between(0.0, std::f64::consts::TAU),
        pitch,
        depth,
        crest,
        root,
        major,
        teeth,
        thread_at: (between(-0.02, 0.02) * side, -flip * (total - major) / 2.0),
        bar_at: (between(-0.15, 0.15) * side, flip * (total - bar_width) / 2.0),
        bar_width,
        bar_length: (side * between(0.55, 1.2)).max(2.0 * bar_width),
        bar_turn,
        blur: between(0.3, 2.0),
        noise: between(0.3, 6.0),
        falloff: between(0.0, 0.6),
        dark: between(0.01, 0.1),
        light: between(0.4, 0.9),
        light_object,
        specks: if pencil { 0 } else { between(0.0, 30.0) as usize },
        stroke: pencil.then(|| side * between(0.003, 0.006)),
        wobble: if pencil { between(0.0, 0.5) } else { 0.0 },
        seed,
        ..Shot::default()
    };
    let name = format!(
        "seed {seed}: {} px, pitch {pitch:.0}, {teeth} teeth, turn {:.0} deg, bar {bar_width:.0}, blur {:.1}, noise {:.1}, falloff {:.1}, {}{}jpeg {jpeg:?}",
        side as usize,
        shot.turn.to_degrees(),
        shot.blur,
        shot.noise,
        shot.falloff,
        if pencil { "pencil, " } else { "" },
        if light_object { "light on dark, " } else { "" },
    );
    (shot, jpeg, name)
}

/// Why a random picture was not found as planted; `None` when it was.
fn fault(seed: u64) -> Option<String> {
    let (shot, jpeg, name) = shot(seed);
    let grey = match jpeg {
        Some(q) => picture::decode(&shot.jpeg(q), &Limits::default()).unwrap().grey,
        None => shot.grey(),
    };
    let say = |what: String| Some(format!("{name}: {what}"));
    let scene = match trace(&grey, DrawnWanted::Auto, &|_| true) {
        Ok(scene) => scene,
        Err(e) => return say(e.to_string()),
    };
    let line = shot.stroke.is_some();
    if (scene.drawn == Drawn::Line) != line {
        return say(format!("taken for {:?}", scene.drawn));
    }
    let bar = match find_bar(&scene, None) {
        Ok(bar) => bar,
        Err(e) => return say(e.to_string()),
    };
    // Compression moves edges sharper than a pixel; see the notes in `src/profile.rs`.
    let sharp = shot.blur < 0.8 && jpeg.is_some_and(|q| q < 85);
    let rough = if sharp || jpeg.is_some_and(|q| q < 70) { 3.0 } else { 1.0 };
    let limit = if line { 0.6 } else { 0.04 * rough * (1.0 + shot.noise / 3.0) };
    let off = bar.width_px - shot.bar_width;
    if off.abs() > limit {
        return say(format!("bar off by {off:+.3}, limit {limit:.3}"));
    }
    let thread = match find_thread(&scene, Some(&bar), None) {
        Ok(thread) => thread,
        Err(e) => return say(e.to_string()),
    };
    let pitch = thread.pitch_px / shot.pitch - 1.0;
    if pitch.abs() > if line { 5e-3 } else { 2e-3 } {
        return say(format!("pitch off by {pitch:+.1e}"));
    }
    if thread.teeth + 2 < shot.teeth || thread.upper.is_empty() || thread.lower.is_empty() {
        return say(format!("{} teeth of {}", thread.teeth, shot.teeth));
    }
    let truth: Polygon = shot.thread();
    let mut offs: Vec<f64> = thread
        .upper
        .iter()
        .chain(&thread.lower)
        .map(|p| distance(&truth, p.x, p.y).abs())
        .collect();
    offs.sort_by(f64::total_cmp);
    let (median, most) = (offs[offs.len() / 2], offs[offs.len() * 95 / 100]);
    let limit = if line { 0.5 + shot.wobble } else { 0.08 * rough + 0.04 * shot.noise };
    if median > limit || most > 8.0 * limit {
        return say(format!("outline off by {median:.2} and {most:.2}"));
    }
    None
}

#[test]
fn planted_bars_and_threads_are_found() {
    let count = std::env::var("RANDOM_VIEWS").ok().and_then(|v| v.parse().ok()).unwrap_or(60);
    let faults: Vec<String> = (0..count).filter_map(fault).collect();
    for f in &faults {
        println!("{f}");
    }
    assert!(faults.is_empty(), "{} of {count}", faults.len());
}
