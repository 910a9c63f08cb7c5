//! The data files are sound.

use standards::{catalogue, families, forms};
use std::collections::HashSet;

#[test]
fn everything_loads() {
    let c = catalogue().unwrap();
    assert_eq!(c.families.len(), families().len());
    assert!(families().len() >= 30);
    assert!(forms().len() >= 20);
}

#[test]
fn every_form_is_a_section_at_every_size() {
    for family in families() {
        let pitches = family.sizes.iter().map(|s| s.pitch_mm).chain(family.pitches_mm.clone());
        for p in pitches {
            for mirrored in [false, true] {
                let section = family.form.section(p, mirrored);
                let section = section.unwrap_or_else(|e| panic!("{} {p}: {e}", family.id));
                // The ridge is half the pitch at the pitch line: crest flat, flanks and pitch line
                // agree with one another in every form.
                let line = family.form.pitch_line * p;
                let ridge = section.ridge_thickness_mm(line);
                assert!((ridge - 0.5 * p).abs() < 2e-4 * p, "{}: {ridge} at {p}", family.id);
            }
        }
    }
}

#[test]
fn every_series_names_its_source_and_flags() {
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data");
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.starts_with("# "), "{} has no source line", path.display());
    }
    for family in families() {
        assert!(!family.form.source.is_empty() && !family.standard.is_empty(), "{}", family.id);
        for size in &family.sizes {
            let known = ["seen", "table", "computed", "memory"].contains(&size.flag.as_str());
            assert!(known, "{} {}: {}", family.id, size.label, size.flag);
            assert!((1..=3).contains(&size.choice));
            // A core remains.
            let core = family.diameters(size).external_minor_mm;
            assert!(core > 0.2 * size.major_mm, "{} {}", family.id, size.label);
        }
    }
}

#[test]
fn designations_are_unique() {
    let mut seen = HashSet::new();
    for family in families() {
        for size in &family.sizes {
            let name = family.designate(size, 1, false);
            assert!(!name.contains('{'), "{name}");
            assert!(seen.insert(name.clone()), "{name} twice");
        }
    }
}

#[test]
fn designations_read_as_the_trade_writes_them() {
    let name = |id: &str, label: &str, starts, left| {
        let f = standards::family(id).unwrap();
        let s = f.sizes.iter().find(|s| s.label == label).unwrap();
        f.designate(s, starts, left)
    };
    assert_eq!(name("metric-coarse", "10", 1, false), "M10 x 1.5");
    assert_eq!(name("unc", "1/2", 1, false), "1/2-13 UNC");
    assert_eq!(name("unc", "#10", 1, false), "#10-24 UNC");
    assert_eq!(name("bsw", "3/8", 1, false), "3/8-16 BSW");
    assert_eq!(name("acme", "1/2", 1, true), "Acme 1/2-10 LH");
    assert_eq!(name("acme", "1/2", 2, false), "Acme 1/2-10, 2 starts");
    assert_eq!(name("g", "1/2", 1, false), "G 1/2");
    assert_eq!(name("ba", "2", 1, false), "2 BA");
    assert_eq!(name("npt", "1", 1, false), "1-11.5 NPT");
    let tr = standards::family("tr").unwrap();
    let s = tr.sizes.iter().find(|s| s.major_mm == 20.0 && s.pitch_mm == 4.0).unwrap();
    assert_eq!(tr.designate(s, 1, false), "Tr 20 x 4");
    assert_eq!(tr.designate(s, 2, true), "Tr 20 x 8 (P4) LH");
}

/// A published table that no test reads proves nothing.
#[test]
fn every_published_table_is_read() {
    let here = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let tests: String = std::fs::read_dir(&here)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "rs"))
        .map(|p| std::fs::read_to_string(p).unwrap())
        .collect();
    let tables = std::fs::read_dir(here.join("data")).unwrap();
    for name in tables.map(|e| e.unwrap().file_name().into_string().unwrap()) {
        assert!(tests.contains(&format!("\"{name}\"")), "no test reads {name}");
    }
}
