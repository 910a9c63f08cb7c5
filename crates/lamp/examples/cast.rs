//! Writes pictures of random threads with what is true of them:
//! `cargo run -p lamp --release --example cast -- OUT_DIR N [clean|workshop|harsh] [FIRST_SEED]`.
//! Without a difficulty, the three take turns. `demos` in place of `N` writes the demonstrations.

#![expect(clippy::print_stdout, reason = "an example reports on standard output")]

use form::Hand;
use lamp::{
    Bar, BarShape, Demonstration, Difficulty, Drawn, JpegOptions, Scene, cast, demonstrations,
    random_scene,
};
use serde_json::{Map, Value, json};
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [directory, count, rest @ ..] = arguments.as_slice() else {
        return Err("usage: cast OUT_DIR N|demos [clean|workshop|harsh] [FIRST_SEED]".into());
    };
    let directory = Path::new(directory);
    std::fs::create_dir_all(directory)?;
    let mut truth = Map::new();
    if count == "demos" {
        for demo in demonstrations() {
            write_demo(directory, &demo, &mut truth)?;
        }
    } else {
        let fixed = match rest.first().map(String::as_str) {
            None => None,
            Some("clean") => Some(Difficulty::Clean),
            Some("workshop") => Some(Difficulty::Workshop),
            Some("harsh") => Some(Difficulty::Harsh),
            Some(other) => return Err(format!("{other} is not clean, workshop or harsh").into()),
        };
        let first: u64 = rest.get(1).map_or(Ok(0), |s| s.parse())?;
        for seed in first..first + count.parse::<u64>()? {
            let turn = Difficulty::ALL[(seed % 3) as usize];
            write_random(directory, seed, fixed.unwrap_or(turn), &mut truth)?;
        }
    }
    std::fs::write(directory.join("truth.json"), serde_json::to_string_pretty(&truth)?)?;
    println!("{} pictures in {}", truth.len(), directory.display());
    Ok(())
}

fn write_demo(
    directory: &Path,
    demo: &Demonstration,
    truth: &mut Map<String, Value>,
) -> Result<(), Box<dyn Error>> {
    std::fs::write(directory.join(demo.file_name()), demo.to_jpeg()?)?;
    truth.insert(demo.name.to_string(), true_of(&demo.scene, &demo.file_name()));
    Ok(())
}

fn write_random(
    directory: &Path,
    seed: u64,
    difficulty: Difficulty,
    truth: &mut Map<String, Value>,
) -> Result<(), Box<dyn Error>> {
    let scene = random_scene(seed, difficulty);
    let picture = cast(&scene)?;
    let name = format!("{}{seed:04}", format!("{difficulty:?}").to_lowercase());
    // Cameras round their focal length and crop, so what they write is a few per cent off.
    let off = 1.0 + 0.01 * ((seed % 9) as f64 - 4.0);
    let options = JpegOptions {
        quality: [95, 88, 75][difficulty as usize] - (seed % 5) as u8,
        focal_35mm: scene.focal_35mm().map(|f| (off * f).clamp(1.0, 9999.0)),
        ..JpegOptions::default()
    };
    let file = format!("{name}.jpg");
    std::fs::write(directory.join(&file), picture.to_jpeg(&options)?)?;
    truth.insert(name, true_of(&scene, &file));
    Ok(())
}

/// What is true of a scene; `right` and `left` as the picture shows them, and `measure` holds the
/// options a person who took the picture would give.
fn true_of(scene: &Scene, file: &str) -> Value {
    let (thread, section) = (&scene.thread, scene.thread.section());
    let (right, left) = scene.flanks_in_picture_rad();
    let bar = scene.bar.map(|bar| {
        let (sin, cos) = scene.roll_rad.sin_cos();
        let (z, x) = bar.centre_mm;
        json!({
            "kind": match bar.shape { BarShape::Round => "rod", BarShape::Flat => "block" },
            "size_mm": bar.width_mm,
            "centre": [z * cos - x * sin, z * sin + x * cos],
            "drop_mm": bar.drop_mm,
            "roll_deg": (scene.roll_rad + bar.roll_rad).to_degrees(),
            "length_mm": bar.length_mm,
        })
    });
    json!({
        "pitch_mm": section.pitch_mm(),
        "starts": thread.starts(),
        "lead_mm": thread.lead_mm(),
        "hand": match thread.hand() { Hand::Right => "right", Hand::Left => "left" },
        "right_flank_deg": right.to_degrees(),
        "left_flank_deg": left.to_degrees(),
        "included_deg": section.included_angle_rad().to_degrees(),
        "crest_flat_mm": section.crest_flat_mm(),
        "depth_mm": section.depth_mm(),
        "root_flat_mm": section.root_flat_mm(),
        "major_diameter_mm": thread.major_diameter_mm(),
        "minor_diameter_mm": thread.minor_diameter_mm(),
        "taper": thread.taper(),
        "root_radius_mm": section.root_radius_mm(),
        "crest_radius_mm": section.crest_radius_mm(),
        "px_per_mm": scene.px_per_mm,
        "camera_mm": scene.view.distance_mm(),
        "tilt_deg": scene.view.tilt_rad.to_degrees(),
        "roll_deg": scene.roll_rad.to_degrees(),
        "style": match scene.drawn { Drawn::Shadow => "shadow", Drawn::Pencil(_) => "traced" },
        "bar": bar,
        "file": file,
        "worn": scene.wear.is_some(),
        "keystone": scene.wall != lamp::Homography::IDENTITY,
        "lens_k1": scene.lens_k1,
        "inverted": scene.inverted,
        "mirrored": scene.mirrored,
        "blur_px": scene.blur_px,
        "noise": scene.noise.read,
        "measure": options(scene),
    })
}

/// The options of the command line's `measure`, as a list of words.
fn options(scene: &Scene) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    if let Some(bar) = scene.bar {
        let shape = match bar.shape {
            BarShape::Round => "round",
            BarShape::Flat => "flat",
        };
        words.extend(["--bar".into(), format!("{}mm", bar.width_mm)]);
        words.extend(["--bar-shape".into(), shape.into()]);
        let major = scene.thread.major_diameter_mm();
        let same = Bar::same_surface_drop_mm(bar.shape, bar.width_mm, major);
        if (bar.drop_mm - same).abs() > 1e-9 {
            words.extend(["--bar-drop".into(), format!("{:.3}mm", bar.drop_mm)]);
        }
    }
    if scene.mirrored {
        words.push("--mirrored".into());
    }
    words
}
