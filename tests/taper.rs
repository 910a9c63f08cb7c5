//! Tapered threads from a picture to the words: planted tapers in parallel light and before a near
//! camera, against a leaning picture plane and a tilted screw, which make one end of a shadow thicker
//! as well; and what the job says of them.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops where a value is missing")]

use form::{Hand, Quantity, Section, SectionNumbers, Thread, View};
use job::{Findings, Job, Loaded, Part};
use lamp::{Bar, BarShape, Homography, JpegOptions, Noise, Scene};

/// R 1/2 (ISO 7-1): 55°, 14 threads per inch, 20.955 mm at the gauge plane, which lies 1.6 mm from the
/// middle of the thread; as a parallel thread.
fn pipe() -> Thread {
    let pitch_mm = 25.4 / 14.0;
    let section = Section::new(SectionNumbers {
        pitch_mm,
        depth_mm: 0.640_327 * pitch_mm,
        right_flank_rad: 27.5f64.to_radians(),
        left_flank_rad: 27.5f64.to_radians(),
        crest_flat_mm: pitch_mm / 6.0,
        crest_radius_mm: 0.1373 * pitch_mm,
        root_radius_mm: 0.1373 * pitch_mm,
    })
    .unwrap();
    Thread::new(section, 20.855, 1, Hand::Right).unwrap()
}

fn near() -> View {
    View { tilt_rad: 0.02, foot_x_mm: -3.0, foot_z_mm: 2.0, ..View::from_distance(140.0) }
}

/// A good picture of the thread with a rod of 6 mm beside it on the same surface.
fn scene(thread: Thread, view: View) -> Scene {
    let (shape, width_mm) = (BarShape::Round, 6.0);
    let drop_mm = Bar::same_surface_drop_mm(shape, width_mm, thread.major_diameter_mm());
    Scene {
        length_mm: 24.0,
        phase_mm: 0.4,
        view,
        px_per_mm: 34.0,
        centre_px: (800.0, 480.0),
        bar: Some(Bar {
            shape,
            width_mm,
            length_mm: 30.0,
            drop_mm,
            centre_mm: (0.5, -17.5),
            roll_rad: 0.02,
        }),
        roll_rad: 0.01,
        noise: Noise::white(0.004),
        seed: 7,
        ..Scene::of(thread)
    }
}

fn found(scene: &Scene) -> Findings {
    let options = JpegOptions { focal_35mm: scene.focal_35mm(), ..JpegOptions::default() };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shadow.jpg");
    std::fs::write(&file, lamp::cast(scene).unwrap().to_jpeg(&options).unwrap()).unwrap();
    let loaded = Loaded::open(&file).unwrap();
    let mut job = Job::on_picture(&file, loaded.sha256.clone());
    job.bar.width_mm = Some(Quantity::entered(6.0, 0.002));
    job::evaluate(&job, Some(&loaded), &|_| true).unwrap()
}

fn says(findings: &Findings, code: &str) -> bool {
    findings.warnings.iter().chain(&findings.troubles).any(|w| w.code == code)
}

/// Asserts what every picture must keep: the taper within its uncertainty, and so the form.
fn holds(scene: &Scene, name: &str) -> Findings {
    let findings = found(scene);
    let m = findings.measurement.as_ref().unwrap_or_else(|| panic!("{name}: not measured"));
    let truth = scene.thread;
    let taper = m.form.taper.unwrap_or_else(|| panic!("{name}: taper not told"));
    // Diameters hold where the measurement says they do.
    let along_px = m.diameters_at_px.0 - scene.centre_px.0;
    let major = truth.major_diameter_mm() + truth.taper() * along_px / scene.px_per_mm;
    for (what, found, truth) in [
        ("taper", Some(taper), truth.taper()),
        ("right flank", m.form.right_flank_deg, truth.section().right_flank_rad().to_degrees()),
        ("left flank", m.form.left_flank_deg, truth.section().left_flank_rad().to_degrees()),
        ("pitch", m.form.pitch_mm, truth.section().pitch_mm()),
        ("major diameter", m.form.major_diameter_mm, major),
    ] {
        let q = found.unwrap_or_else(|| panic!("{name}: no {what}"));
        eprintln!("{name}: {what} {:.5} ± {:.5}, true {truth:.5}", q.value, q.u);
        assert!((q.value - truth).abs() < 3.5 * q.u, "{name}: {what} {q:?} for {truth}");
    }
    findings
}

#[test]
fn planted_tapers_are_found() {
    for (taper, view) in [
        (1.0 / 16.0, View::PARALLEL),
        (1.0 / 16.0, near()),
        (-1.0 / 16.0, near()),
        (0.0, near()),
        (0.0, View::PARALLEL),
        (0.2, View::PARALLEL),
        (-0.006, near()),
    ] {
        let scene = scene(pipe().tapered(taper).unwrap(), view);
        let findings = holds(&scene, &format!("{taper:.4}"));
        let q = findings.measurement.as_ref().and_then(|m| m.form.taper).unwrap();
        assert!(q.u < 0.004, "{q:?}");
        assert_eq!(says(&findings, "tapered"), taper.abs() > 0.003, "{taper}");
        assert_eq!(says(&findings, "slightly-tapered"), taper == -0.006, "{taper}");
        // Nuts are for parallel threads.
        assert_eq!(findings.nut.is_some(), taper.abs() < 0.02, "{:?}", findings.troubles);
    }
}

#[test]
fn a_leaning_plane_is_no_taper() {
    // One end of the shadow is 9 % thicker: as much as 1:12 would make it.
    let wall = Homography::keystone(0.0035, 0.001);
    for taper in [0.0, 1.0 / 16.0, -1.0 / 16.0] {
        let thread = pipe().tapered(taper).unwrap();
        let scene = Scene { wall, roll_rad: 0.0, ..scene(thread, View::PARALLEL) };
        let findings = found(&scene);
        let m = findings.measurement.as_ref().unwrap();
        match m.form.taper {
            Some(q) => {
                eprintln!("leaning, {taper:.4}: {:.5} ± {:.5}", q.value, q.u);
                assert!((q.value - taper).abs() < 3.5 * q.u, "{q:?} for {taper}");
            }
            None => assert!(says(&findings, "taper-unknown")),
        }
    }
}

#[test]
fn what_a_picture_cannot_tell_of_a_taper_is_not_told() {
    // One edge alone: it may taper or lie askew.
    let thread = pipe().tapered(1.0 / 16.0).unwrap();
    let mut half = scene(thread, View::PARALLEL);
    (half.px_per_mm, half.centre_px.1) = (40.0, half.height_px.into());
    if let Some(bar) = &mut half.bar {
        bar.centre_mm.1 = 17.5;
    }
    let findings = found(&half);
    let m = findings.measurement.as_ref().unwrap();
    assert!(m.form.taper.is_none() && says(&findings, "taper-unknown"));
    // Hardly three teeth in soft and noisy light.
    let few = Scene {
        length_mm: 5.0,
        blur_px: 3.0,
        noise: Noise { read: 0.05, ..Noise::NONE },
        ..scene(pipe(), near())
    };
    let findings = found(&few);
    if let Some(taper) = findings.measurement.as_ref().and_then(|m| m.form.taper) {
        assert!(taper.value.abs() < 3.5 * taper.u, "{taper:?}");
    }
}

#[test]
fn a_taper_pipe_thread_is_called_by_its_name() {
    let findings = holds(&scene(pipe().tapered(1.0 / 16.0).unwrap(), near()), "R 1/2");
    let ranking = findings.ranking.as_ref().unwrap();
    assert_eq!(ranking.candidates[0].designation, "R 1/2");
    assert!(ranking.candidates[0].probability > 0.9, "{:?}", ranking.candidates[0]);
    assert!(ranking.explanation.iter().any(|t| t.to_string().contains("taper found: 1:16")));
    let said = |code: &str| {
        let all = || findings.warnings.iter().chain(&findings.troubles);
        all().find(|w| w.code == code && w.part >= Part::Form).unwrap().text.clone()
    };
    let warnings = &findings.measurement.as_ref().unwrap().warnings;
    let form = warnings.iter().find(|w| w.code == "tapered").unwrap();
    assert!(
        form.text.to_string().contains("tapered 1:16") && form.text.to_string().contains("right"),
        "{}",
        form.text
    );
    let words = findings.measurement.as_ref().unwrap().form.taper_in_words();
    assert!(words.starts_with("0.062") && words.ends_with("(1:16)"), "{words}");
    // It holds pressure: nothing is designed for it.
    let refusal = findings.trouble(Part::Nut).unwrap();
    assert!(
        refusal.text.to_string().contains("parallel threads")
            && refusal.text.to_string().contains("pressure")
    );
    assert!(findings.screw.is_none() && findings.tool.is_none() && findings.nut.is_none());
    assert!(!said("tapered").is_empty());
    // The same thread on a cylinder is another one.
    let findings = holds(&scene(pipe(), near()), "parallel");
    let first = &findings.ranking.as_ref().unwrap().candidates[0];
    assert!(first.designation.starts_with('G'), "{first:?}");
}
