//! Sizes as the standards print them, one test each; the source stands beside it.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use approx::assert_abs_diff_eq;
use standards::{Diameters, family};

const INCH: f64 = 25.4;
/// Half a unit of the last digit of a table in micrometres, and a little.
const UM: f64 = 6e-4;
/// The same for a table in ten-thousandths of an inch.
const TENTH_THOU: f64 = 6e-5;

fn of(id: &str, label: &str, pitch_mm: f64) -> Diameters {
    let family = family(id).unwrap();
    let size = family
        .sizes
        .iter()
        .find(|s| s.label == label && (s.pitch_mm / pitch_mm - 1.0).abs() < 1e-9)
        .unwrap_or_else(|| panic!("{id} lacks {label} x {pitch_mm}"));
    family.diameters(size)
}

/// d2, d3, D1, D4 of ISO 2904, exact to its last digit.
fn tr(label: &str, pitch_mm: f64, want: [f64; 4]) {
    let c = of("tr", label, pitch_mm);
    let got = [c.pitch_mm, c.external_minor_mm, c.internal_minor_mm, c.internal_major_mm];
    for (got, want) in got.into_iter().zip(want) {
        assert_abs_diff_eq!(got, want, epsilon = 1e-9);
    }
}

#[test]
fn tr_40_x_7() {
    // ISO 2904 (the old DIN 103 has a core of 32.5 and a nut of 40.5).
    tr("40", 7.0, [36.5, 32.0, 33.0, 41.0]);
}

#[test]
fn tr_16_x_4() {
    // ISO 2904.
    tr("16", 4.0, [14.0, 11.5, 12.0, 16.5]);
}

#[test]
fn tr_60_x_9() {
    // ISO 2904.
    tr("60", 9.0, [55.5, 50.0, 51.0, 61.0]);
}

#[test]
fn tr_38_x_7_and_44_x_7() {
    // ISO 2904.
    tr("38", 7.0, [34.5, 30.0, 31.0, 39.0]);
    tr("44", 7.0, [40.5, 36.0, 37.0, 45.0]);
}

/// Basic pitch diameter and minor diameter of ASME B1.5, inch.
fn acme(label: &str, tpi: f64, pitch: f64, minor: f64) -> Diameters {
    let c = of("acme", label, INCH / tpi);
    assert_abs_diff_eq!(c.pitch_mm / INCH, pitch, epsilon = 1e-9);
    assert_abs_diff_eq!(c.internal_minor_mm / INCH, minor, epsilon = 1e-9);
    c
}

#[test]
fn acme_half_inch_10() {
    // ASME B1.5 table 2 (Machinery's Handbook 27th ed.); screw minor .3800.
    let c = acme("1/2", 10.0, 0.45, 0.40);
    assert_abs_diff_eq!(c.external_minor_mm / INCH, 0.3800, epsilon = 1e-9);
}

#[test]
fn acme_1_5() {
    // ASME B1.5 table 2; lead angle 4° 3'.
    let c = acme("1", 5.0, 0.9, 0.8);
    let lead_angle = (INCH / 5.0 / (std::f64::consts::PI * c.pitch_mm)).atan().to_degrees();
    assert_abs_diff_eq!(lead_angle, 4.0 + 3.0 / 60.0, epsilon = 0.5 / 60.0);
}

#[test]
fn acme_2_4() {
    // ASME B1.5 table 2.
    acme("2", 4.0, 1.875, 1.75);
}

/// Effective and core diameter of BS 84, inch.
fn whitworth(label: &str, tpi: f64, effective: f64, core: f64) {
    let c = of("bsw", label, INCH / tpi);
    assert_abs_diff_eq!(c.pitch_mm / INCH, effective, epsilon = TENTH_THOU);
    // Printed core diameters are twice the rounded depth away.
    assert_abs_diff_eq!(c.external_minor_mm / INCH, core, epsilon = 2.0 * TENTH_THOU);
}

#[test]
fn whitworth_quarter_inch_20() {
    // BS 84 table of BSW (Machinery's Handbook 31st ed. p. 2088).
    whitworth("1/4", 20.0, 0.2180, 0.1860);
}

#[test]
fn whitworth_1_inch_8() {
    // The same.
    whitworth("1", 8.0, 0.9200, 0.8400);
}

/// Major, effective and minor diameter of BS 93, mm; the standard rounds the depth to 0.005 mm.
fn ba(label: &str, pitch_mm: f64, major: f64, effective: f64, core: f64) {
    let c = of("ba", label, pitch_mm);
    assert_abs_diff_eq!(c.major_mm, major, epsilon = 1e-9);
    assert_abs_diff_eq!(c.pitch_mm, effective, epsilon = 2.1e-3);
    assert_abs_diff_eq!(c.external_minor_mm, core, epsilon = 5e-3);
}

#[test]
fn ba_0() {
    // BS 93:1951 (Machinery's Handbook 31st ed. p. 2115).
    ba("0", 1.0, 6.0, 5.400, 4.80);
}

#[test]
fn ba_2() {
    // The same.
    ba("2", 0.81, 4.7, 4.215, 3.73);
}

#[test]
fn ba_6() {
    // The same.
    ba("6", 0.53, 2.8, 2.480, 2.16);
}

/// D2 and D1 of ISO 724, mm.
fn metric(id: &str, label: &str, pitch_mm: f64, d2: f64, d1: f64) {
    let c = of(id, label, pitch_mm);
    assert_abs_diff_eq!(c.pitch_mm, d2, epsilon = UM);
    assert_abs_diff_eq!(c.internal_minor_mm, d1, epsilon = UM);
}

// ISO 724: from memory of the printed table, and equal to D - 0.649519 P and D - 1.082532 P; the coarse
// ones stand in DIN 13 as well (`din13_check.csv`).

#[test]
fn m10() {
    metric("metric-coarse", "10", 1.5, 9.026, 8.376);
}

#[test]
fn m24() {
    metric("metric-coarse", "24", 3.0, 22.051, 20.752);
}

#[test]
fn m10_x_1_25() {
    metric("metric-fine", "10", 1.25, 9.188, 8.647);
}

#[test]
fn m12_x_1_25() {
    metric("metric-fine", "12", 1.25, 11.188, 10.647);
}

#[test]
fn m20_x_1_5() {
    metric("metric-fine", "20", 1.5, 19.026, 18.376);
}

#[test]
fn g_half_inch() {
    // ISO 228-1 table 1: 14 tpi, major 20.955, pitch 19.793, minor 18.631.
    let c = of("g", "1/2", INCH / 14.0);
    assert_abs_diff_eq!(c.major_mm, 20.955, epsilon = 1e-9);
    assert_abs_diff_eq!(c.pitch_mm, 19.793, epsilon = UM);
    assert_abs_diff_eq!(c.external_minor_mm, 18.631, epsilon = UM);
    assert_abs_diff_eq!(c.internal_minor_mm, 18.631, epsilon = UM);
}

#[test]
fn s_48_x_8() {
    // From the formulas of DIN 513 (memory): d2 = d - 0.75 P, d3 = d - 1.73554 P, D1 = d - 1.5 P.
    let c = of("saw-tooth", "48", 8.0);
    assert_abs_diff_eq!(c.pitch_mm, 42.0, epsilon = 1e-9);
    assert_abs_diff_eq!(c.external_minor_mm, 34.116, epsilon = 1e-3);
    assert_abs_diff_eq!(c.internal_minor_mm, 36.0, epsilon = 1e-9);
}
