//! Three jobs of our own to show the work on. Machines, owners and sizes are invented; none of the
//! threads lifts, presses, brakes, steers or holds anything that could hurt.

use crate::cast::cast;
use crate::file::{FileError, JpegOptions};
use crate::plane::Homography;
use crate::scene::{Bar, BarShape, Dirt, Light, Noise, Scene, SceneError};
use form::{Hand, Section, SectionError, SectionNumbers, Thread, View};
use thiserror::Error;

/// A demonstration: a picture to be measured, what to say about it, and the story behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Demonstration {
    /// Short name, for a command line.
    pub name: &'static str,
    /// One line.
    pub title: &'static str,
    /// What the part is and what is wrong with it.
    pub story: &'static str,
    /// The scene; its thread is the truth.
    pub scene: Scene,
    /// Width of the bar as its owner gives it, mm.
    pub bar_width_mm: f64,
    /// Standard uncertainty of that, mm.
    pub bar_width_u_mm: f64,
    /// Shape of the bar.
    pub bar_shape: BarShape,
    /// What is said of the bar's drop; `None` is "on the same surface as the screw".
    pub bar_drop_mm: Option<f64>,
    /// How the picture is written.
    pub jpeg: JpegOptions,
}

/// Why a demonstration's picture could not be made.
#[derive(Debug, Error)]
pub enum DemonstrationError {
    /// The scene could not be cast.
    #[error(transparent)]
    Scene(#[from] SceneError),
    /// The file could not be written.
    #[error(transparent)]
    File(#[from] FileError),
}

impl Demonstration {
    /// The picture as a JPEG file.
    ///
    /// # Errors
    /// [`DemonstrationError`] when casting or encoding fails.
    pub fn to_jpeg(&self) -> Result<Vec<u8>, DemonstrationError> {
        Ok(cast(&self.scene)?.to_jpeg(&self.jpeg)?)
    }

    /// Name for the picture's file.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.jpg", self.name)
    }
}

/// The demonstrations, the most telling first.
#[must_use]
pub fn demonstrations() -> Vec<Demonstration> {
    // Each is a set of constants; that none of them is refused is what the tests see to.
    [loom(), slit(), ruling()].into_iter().filter_map(Result::ok).collect()
}

fn loom() -> Result<Demonstration, SectionError> {
    // Pitch and angle belong to no series: a village smith cut it with what wheels he had.
    let section = Section::symmetric(3.7, 16.25f64.to_radians(), 1.95, 1.29)?;
    let thread = Thread::new(section, 18.6, 1, Hand::Right)?;
    let bar = Bar {
        shape: BarShape::Round,
        width_mm: 6.0,
        length_mm: 48.0,
        drop_mm: Bar::same_surface_drop_mm(BarShape::Round, 6.0, 18.6),
        centre_mm: (1.5, -15.2),
        roll_rad: 0.021,
    };
    let scene = Scene {
        length_mm: 40.7,
        phase_mm: 1.1,
        view: View {
            tilt_rad: 0.007,
            foot_z_mm: 1.2,
            foot_x_mm: -3.1,
            ..View::from_distance(205.0)
        },
        roll_rad: 0.026,
        px_per_mm: 46.0,
        width_px: 2400,
        height_px: 1800,
        centre_px: (1190.0, 700.0),
        bar: Some(bar),
        light: Light {
            bright: 0.78,
            dark: 0.03,
            slope: [0.06, 0.04],
            falloff: 0.12,
            tint: [1.0, 0.97, 0.9],
        },
        blur_px: 1.3,
        noise: Noise { read: 0.005, shot: 0.0003, grain_px: 0.4, coloured: true },
        dirt: Dirt { specks: 9, on_outline: 0, largest_mm: 0.15, burrs: 0, burr_mm: 0.0 },
        seed: 1851,
        ..Scene::of(thread)
    };
    let focal_35mm = scene.focal_35mm();
    Ok(Demonstration {
        name: "loom",
        title: "Tension screw of a floor loom",
        story: "The warp of an old floor loom is drawn tight by a wooden-handled screw. Its bronze \
                nut has worn to a bell mouth. The screw itself is sound, was cut by hand in no \
                known series, and stays: a new nut has to fit it.",
        scene,
        bar_width_mm: 6.0,
        bar_width_u_mm: 0.003,
        bar_shape: BarShape::Round,
        bar_drop_mm: None,
        jpeg: JpegOptions { quality: 93, focal_35mm, ..JpegOptions::default() },
    })
}

fn slit() -> Result<Demonstration, SectionError> {
    // 3/16 in - 32, 55°: depth 0.640327 P, radii 0.137329 P after BS 84.
    let p = 25.4 / 32.0;
    let section = Section::new(SectionNumbers {
        pitch_mm: p,
        depth_mm: 0.640_327 * p,
        right_flank_rad: 27.5f64.to_radians(),
        left_flank_rad: 27.5f64.to_radians(),
        crest_flat_mm: p / 6.0,
        crest_radius_mm: 0.1373 * p,
        root_radius_mm: 0.1373 * p,
    })?;
    let thread = Thread::new(section, 4.7625, 1, Hand::Right)?;
    let bar = Bar {
        shape: BarShape::Flat,
        width_mm: 2.5,
        length_mm: 30.0,
        drop_mm: 0.0,
        centre_mm: (0.0, -5.1),
        roll_rad: -0.008,
    };
    let scene = Scene {
        length_mm: 11.2,
        phase_mm: 0.2,
        view: View { tilt_rad: -0.002, ..View::PARALLEL },
        roll_rad: -0.012,
        px_per_mm: 140.0,
        width_px: 1900,
        height_px: 1500,
        centre_px: (950.0, 520.0),
        bar: Some(bar),
        light: Light {
            bright: 0.82,
            dark: 0.015,
            slope: [0.02, -0.03],
            falloff: 0.06,
            tint: [0.9, 1.0, 0.92],
        },
        blur_px: 1.6,
        noise: Noise { read: 0.003, shot: 0.0001, grain_px: 0.0, coloured: false },
        dirt: Dirt { specks: 5, on_outline: 0, largest_mm: 0.05, burrs: 0, burr_mm: 0.0 },
        wall: Homography::IDENTITY,
        seed: 1859,
        ..Scene::of(thread)
    };
    Ok(Demonstration {
        name: "slit",
        title: "Slit screw of a spectroscope",
        story: "A school's old spectroscope opens its slit with a fine screw whose nut has cracked. \
                The screw was laid on the stage of a bench projector beside a strip of gauge steel \
                raised to the height of its axis; the light there is parallel.",
        scene,
        bar_width_mm: 2.5,
        bar_width_u_mm: 0.001,
        bar_shape: BarShape::Flat,
        bar_drop_mm: Some(0.0),
        jpeg: JpegOptions { quality: 95, ..JpegOptions::default() },
    })
}

fn ruling() -> Result<Demonstration, SectionError> {
    // 29°, six threads per inch, two starts: depth P/2 + 0.010 in, crest 0.3707 P (ASME B1.5).
    let p = 25.4 / 6.0;
    let section = Section::symmetric(p, 14.5f64.to_radians(), 0.5 * p + 0.254, 0.3707 * p)?;
    let thread = Thread::new(section, 22.225, 2, Hand::Left)?;
    let bar = Bar {
        shape: BarShape::Round,
        width_mm: 6.35,
        length_mm: 64.0,
        drop_mm: Bar::same_surface_drop_mm(BarShape::Round, 6.35, 22.225),
        centre_mm: (-2.0, 17.6),
        roll_rad: -0.015,
    };
    let scene = Scene {
        length_mm: 50.8,
        phase_mm: 2.0,
        view: View {
            tilt_rad: -0.006,
            foot_z_mm: -2.0,
            foot_x_mm: 3.5,
            ..View::from_distance(260.0)
        },
        roll_rad: -0.034,
        px_per_mm: 42.0,
        width_px: 2600,
        height_px: 1900,
        centre_px: (1310.0, 1180.0),
        bar: Some(bar),
        light: Light {
            bright: 0.74,
            dark: 0.035,
            slope: [-0.09, 0.05],
            falloff: 0.15,
            tint: [1.0, 0.98, 0.95],
        },
        blur_px: 1.2,
        noise: Noise { read: 0.006, shot: 0.0003, grain_px: 0.5, coloured: true },
        dirt: Dirt { specks: 12, on_outline: 1, largest_mm: 0.2, burrs: 0, burr_mm: 0.0 },
        seed: 1873,
        ..Scene::of(thread)
    };
    let focal_35mm = scene.focal_35mm();
    Ok(Demonstration {
        name: "ruling",
        title: "Traverse screw of a bookbinder's ruling machine",
        story: "The pens of a ruling machine are carried across the sheet by a left-hand screw of \
                two starts. The half nut has lost its teeth. Two starts make the shadow tell the \
                greatest untruths: its grooves look narrower by more than half a millimetre.",
        scene,
        bar_width_mm: 6.35,
        bar_width_u_mm: 0.004,
        bar_shape: BarShape::Round,
        bar_drop_mm: None,
        jpeg: JpegOptions { quality: 91, focal_35mm, ..JpegOptions::default() },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::Profile;
    use form::shadow::{Edge, outline, seen_by_projector};

    #[test]
    fn the_two_starts_tell_the_untruth_of_the_story() {
        let thread = ruling().unwrap().scene.thread;
        let section = thread.section();
        let profile = Profile::new(section, 0.5 * thread.major_diameter_mm());
        let advance = thread.signed_advance_mm();
        let shadow = outline(&profile, advance, 0.0, &View::PARALLEL, Edge::Upper, 0..=1);
        let seen = seen_by_projector(&shadow, 0).unwrap();
        let groove = section.pitch_mm() - section.ridge_thickness_mm(0.5 * seen.depth_mm);
        let narrower = groove - seen.groove_mm;
        assert!((0.5..0.8).contains(&narrower), "{narrower}");
    }

    #[test]
    fn all_three_are_there_and_can_be_cast() {
        let all = demonstrations();
        assert_eq!(all.len(), 3);
        for demo in all {
            assert!(demo.to_jpeg().unwrap().len() > 50_000);
            let bar = demo.scene.bar.unwrap();
            assert_eq!((bar.width_mm, bar.shape), (demo.bar_width_mm, demo.bar_shape));
            let same = Bar::same_surface_drop_mm(
                bar.shape,
                bar.width_mm,
                demo.scene.thread.major_diameter_mm(),
            );
            assert_eq!(demo.bar_drop_mm.unwrap_or(same), bar.drop_mm);
        }
    }
}
