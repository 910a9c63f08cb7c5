//! Bright metal before a light: solids of known form traced through a real lens by a program that knows
//! nothing of this one (a path tracer with metal that mirrors, apertures, distortion, mosaic, denoising,
//! sharpening, tone curves, JPEG). The pictures are `tests/data/lit`; the limits are those of the set.

use std::path::PathBuf;
use whole_job_tests::house::root;
use whole_job_tests::shadows::{Shadow, in_folder};

fn folder() -> PathBuf {
    root().join("tests/data/lit")
}

/// Pictures in which the metal is as light as the paper under it: nothing can be told there, and must be
/// said, never guessed.
const UNTOLD: [&str; 1] = ["r08_paper_steel"];

/// Limits of a picture: pitch in percent, flanks in degrees, flats and diameter in millimetres.
fn limits(name: &str) -> [f64; 4] {
    match name {
        n if n.contains("paper") => [0.25, 0.4, 0.04, 0.10],
        n if n.contains("two_start") => [0.1, 0.2, 0.03, 0.05],
        n if n.contains("wide_lens") => [0.12, 0.2, 0.02, 0.05],
        _ => [0.08, 0.15, 0.015, 0.03],
    }
}

fn told() -> Vec<Shadow> {
    in_folder(&folder()).into_iter().filter(|s| !UNTOLD.contains(&s.name.as_str())).collect()
}

#[test]
fn bright_metal_is_measured_within_its_limits_and_what_is_stated_holds() {
    let (mut wrong, mut in_u) = (Vec::new(), Vec::new());
    let told = told();
    assert_eq!(told.len(), 11, "the set is whole");
    for shadow in told {
        let m = shadow.measured(&folder());
        let [pitch, flank, flat, diameter] = limits(&shadow.name);
        for c in shadow.compared(&m) {
            let most = match c.what {
                w if w.starts_with("pitch") => pitch * c.truth / 100.0,
                w if w.contains("flank") => flank,
                w if w.contains("flat") => flat,
                _ => diameter,
            };
            if c.off().is_nan() || c.off() > most {
                wrong.push(format!(
                    "{}: {} is {:?}, {:.5} off",
                    shadow.name,
                    c.what,
                    c.found,
                    c.off()
                ));
            }
            in_u.extend(c.found.map(|q| c.off() / q.u));
        }
        assert_eq!(m.hand.map(|h| h.value), Some(shadow.hand()), "{}", shadow.name);
        assert_eq!(m.starts.map(|s| s.value), Some(shadow.starts()), "{}", shadow.name);
    }
    assert!(wrong.is_empty(), "\n{}\n", wrong.join("\n"));
    in_u.sort_by(f64::total_cmp);
    eprintln!("errors in u: {in_u:.1?}");
    assert!(in_u[in_u.len() / 2] < 1.2, "{in_u:.1?}");
    assert!(in_u.iter().all(|z| *z < 4.0), "{in_u:.1?}");
}

#[test]
fn metal_as_light_as_its_paper_is_refused_and_not_guessed() {
    for name in UNTOLD {
        let file = folder().join(format!("{name}.jpg"));
        let loaded = job::Loaded::open(&file).unwrap();
        let mut job = job::Job::on_picture(&file, loaded.sha256.clone());
        job.bar.width_mm = Some(form::Quantity::entered(5.0, 0.0));
        let findings = job::evaluate(&job, Some(&loaded), &|_| true).unwrap();
        let pitch = findings.measurement.as_ref().and_then(|m| m.form.pitch_mm);
        let diameter = findings.measurement.as_ref().and_then(|m| m.form.major_diameter_mm);
        assert_eq!((pitch, diameter), (None, None), "{name}");
    }
}
