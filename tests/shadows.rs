//! From a picture to the form of the screw, against screws whose truth is known: what is found must
//! be right, and what straight lines along the same outline say must be worse.

#![expect(clippy::panic, reason = "a test fails by panicking")]

use fit::Measurement;
use form::Hand;
use std::path::PathBuf;
use std::sync::OnceLock;
use whole_job_tests::house::root;
use whole_job_tests::shadows::{Compared, Shadow, in_folder, markdown};

fn folder() -> PathBuf {
    root().join("tests/data/shadows")
}

/// Every picture, measured once.
fn rows() -> &'static [(Shadow, Measurement)] {
    static ROWS: OnceLock<Vec<(Shadow, Measurement)>> = OnceLock::new();
    ROWS.get_or_init(|| {
        in_folder(&folder())
            .into_iter()
            .map(|s| {
                let measured = s.measured(&folder());
                (s, measured)
            })
            .collect()
    })
}

#[test]
fn all_five_are_here() {
    let names: Vec<&str> = rows().iter().map(|(s, _)| &s.name[..3]).collect();
    assert_eq!(names, ["o01", "o02", "o03", "o04", "o08"]);
}

#[test]
fn the_section_is_found_within_its_limits() {
    let mut wrong = Vec::new();
    for (shadow, m) in rows() {
        for c in shadow.compared(m) {
            let most = shadow.limit(&c);
            if c.off().is_nan() || c.off() > most {
                wrong.push(format!(
                    "{}: {} is {:?}, {:.5} off; at most {most:.5}",
                    shadow.name,
                    c.what,
                    c.found,
                    c.off()
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}\n", wrong.join("\n"));
}

#[test]
fn uncertainties_are_of_the_size_of_the_errors() {
    // Thirty errors in units of their uncertainty: a few beyond two are chance, one beyond five or
    // a typical one beyond two means that the uncertainties promise too much.
    let mut in_u: Vec<f64> = rows()
        .iter()
        .flat_map(|(shadow, m)| shadow.compared(m))
        .filter_map(|c| c.found.map(|q| c.off() / q.u))
        .collect();
    in_u.sort_by(f64::total_cmp);
    eprintln!("errors in u: {in_u:.1?}");
    assert!(in_u[in_u.len() / 2] < 2.0, "{in_u:.1?}");
    assert!(in_u[in_u.len() - 1] < 5.0, "{in_u:.1?}");
}

#[test]
fn hand_and_starts_are_told_where_the_camera_stood_near() {
    for (shadow, m) in rows().iter().filter(|(s, _)| s.is_perspective()) {
        assert_eq!(m.hand.map(|h| h.value), Some(shadow.hand()), "{}", shadow.name);
        assert_eq!(m.starts.map(|s| s.value), Some(shadow.starts()), "{}", shadow.name);
    }
    let left: Vec<_> = rows().iter().filter(|(s, _)| s.hand() == Hand::Left).collect();
    assert_eq!(left.len(), 1, "one of them is left-handed, so that \"right\" is no guess");
}

#[test]
fn straight_lines_along_the_shadow_are_worse() {
    for (shadow, m) in rows() {
        let all = shadow.compared(m);
        let shares = |off: &dyn Fn(&Compared) -> f64| -> Vec<f64> {
            all.iter().map(|c| off(c) / limit(shadow, c)).collect()
        };
        let found = shares(&|c| c.off());
        let straight = shares(&|c| c.straight_off());
        let worst = |v: &[f64]| v.iter().copied().fold(0.0, f64::max);
        assert!(worst(&straight) > 2.0, "{}: {straight:.2?}", shadow.name);
        assert!(
            worst(&straight) > 3.0 * worst(&found),
            "{}: {straight:.2?} and {found:.2?}",
            shadow.name
        );
    }
    eprintln!("\n{}", markdown(rows()));
}
