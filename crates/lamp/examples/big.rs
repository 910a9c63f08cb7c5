//! Writes pictures as large as cameras make them, for taking times:
//! `cargo run -p lamp --release --example big -- OUT_DIR [COUNT]`.
//!
//! `12mp.jpg` and `48mp.jpg` show the loom's screw of the demonstrations as one lens would draw it
//! on 4000 x 3000 and on 8000 x 6000 pixels: scale and blur grow together, the noise of a pixel
//! stays. `folder/` holds `COUNT` (40) pictures of 12 MP that differ in phase, roll and noise. All
//! show the same rod of 6 mm.

#![expect(clippy::print_stdout, reason = "an example reports on standard output")]

use lamp::{Demonstration, Scene, cast, demonstrations};
use std::error::Error;
use std::path::Path;

/// Blur of the pictures of 12 MP, px.
const BLUR_PX: f64 = 1.5;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let directory = arguments.next().ok_or("usage: big OUT_DIR [COUNT]")?;
    let directory = Path::new(&directory);
    let count: u64 = arguments.next().map_or(Ok(40), |n| n.parse())?;
    let folder = directory.join("folder");
    std::fs::create_dir_all(&folder)?;
    let loom = demonstrations().into_iter().find(|d| d.name == "loom").ok_or("no loom")?;
    write(&directory.join("12mp.jpg"), &loom, &enlarged(&loom.scene, 4000, 3000))?;
    write(&directory.join("48mp.jpg"), &loom, &enlarged(&loom.scene, 8000, 6000))?;
    for i in 0..count {
        let mut scene = enlarged(&loom.scene, 4000, 3000);
        scene.seed += i;
        scene.phase_mm += 0.09 * i as f64;
        scene.roll_rad += 0.002 * (i as f64 - 0.5 * count as f64);
        write(&folder.join(format!("{i:02}.jpg")), &loom, &scene)?;
    }
    println!("2 pictures in {}, {count} in {}", directory.display(), folder.display());
    Ok(())
}

/// The scene on a picture of another size.
fn enlarged(scene: &Scene, width_px: u32, height_px: u32) -> Scene {
    let times = f64::from(width_px) / f64::from(scene.width_px);
    Scene {
        width_px,
        height_px,
        px_per_mm: times * scene.px_per_mm,
        centre_px: (times * scene.centre_px.0, times * scene.centre_px.1),
        blur_px: BLUR_PX * f64::from(width_px) / 4000.0,
        ..scene.clone()
    }
}

fn write(path: &Path, loom: &Demonstration, scene: &Scene) -> Result<(), Box<dyn Error>> {
    std::fs::write(path, cast(scene)?.to_jpeg(&loom.jpeg)?)?;
    Ok(())
}
