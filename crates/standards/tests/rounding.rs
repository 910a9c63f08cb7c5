//! Rounding and what it costs.

use approx::assert_abs_diff_eq;
use form::Quantity;
use standards::{Measured, Prior, Rounding, RoundingError, rank, round_pitch_mm, rounded};

fn measured(pitch: f64, half: f64, depth: f64, crest: f64, major: f64) -> Measured {
    let q = |v: f64, u: f64| Some(Quantity::measured(v, u));
    Measured {
        pitch_mm: q(pitch, 0.001),
        right_flank_deg: q(half, 0.05),
        left_flank_deg: q(half, 0.05),
        depth_mm: q(depth, 0.01),
        crest_flat_mm: q(crest, 0.006),
        major_diameter_mm: q(major, 0.015),
        ..Measured::default()
    }
}

#[test]
fn as_measured_costs_nothing() {
    let r =
        rounded(&measured(2.8, 17.0, 1.4, 0.994, 15.0), Rounding::AsMeasured, None, 20.0).unwrap();
    assert_eq!(r.play_mm, 0.0);
    assert_abs_diff_eq!(r.crest_flat_mm, 0.994, epsilon = 1e-12);
}

#[test]
fn round_numbers_and_their_cost_by_hand() {
    // 2.8 mm is 9.07 tpi: the nearest whole tpi, 9 (2.8222 mm), is nearer than 2.75 mm.
    assert_abs_diff_eq!(round_pitch_mm(2.8), 25.4 / 9.0, epsilon = 1e-12);
    assert_eq!(round_pitch_mm(2.49), 2.5);
    let r = rounded(&measured(2.49, 17.2, 1.4, 0.8, 15.03), Rounding::RoundNumbers, None, 20.0)
        .unwrap();
    assert_eq!(r.pitch_mm, 2.5);
    assert_abs_diff_eq!(r.right_flank_deg, 17.0, epsilon = 1e-9);
    // 20 mm of nut at 0.4 % of pitch error: 0.0803 mm; two flanks of 0.2° over 1.4 mm: 0.0107 mm.
    assert_abs_diff_eq!(r.play_from_pitch_mm, 20.0 * (2.5 / 2.49 - 1.0), epsilon = 1e-9);
    let flank = 1.4 * ((17.2f64).to_radians().tan() - (17.0f64).to_radians().tan());
    assert_abs_diff_eq!(r.play_from_flanks_mm, 2.0 * flank, epsilon = 1e-9);
    assert_abs_diff_eq!(r.play_mm, r.play_from_pitch_mm + r.play_from_flanks_mm, epsilon = 1e-12);
    assert!(r.text.contains("axial play"), "{}", r.text);
}

#[test]
fn nearest_standard_tells_a_worn_ridge_from_one_that_is_too_thick() {
    // Tr 24 x 5: crest 0.366 P = 1.830, depth 2.75.
    let worn = measured(5.0, 15.0, 2.75, 1.70, 24.0);
    let ranking = rank(&worn, &Prior::default());
    assert_eq!(ranking.candidates[0].designation, "Tr 24 x 5");
    let r = rounded(&worn, Rounding::NearestStandard, ranking.candidates.first(), 30.0).unwrap();
    assert_abs_diff_eq!(r.play_from_thickness_mm, 0.13, epsilon = 1e-3);
    assert_abs_diff_eq!(r.play_mm, 0.13, epsilon = 1e-3);
    let thick = measured(5.0, 15.0, 2.75, 1.90, 24.0);
    let r = rounded(&thick, Rounding::NearestStandard, ranking.candidates.first(), 30.0).unwrap();
    assert!(r.play_from_thickness_mm < -0.06);
    assert!(r.text.contains("will not go on"), "{}", r.text);
}

#[test]
fn what_is_missing_is_named() {
    let bare =
        Measured::pitch_and_angle(Quantity::measured(4.0, 0.01), Quantity::measured(30.0, 0.1));
    let e = rounded(&bare, Rounding::RoundNumbers, None, 20.0).unwrap_err();
    assert_eq!(e, RoundingError::Missing("depth"));
    let m = measured(4.0, 15.0, 2.25, 1.464, 20.0);
    assert_eq!(
        rounded(&m, Rounding::NearestStandard, None, 20.0).unwrap_err(),
        RoundingError::NoStandard
    );
    assert_eq!(
        rounded(&m, Rounding::AsMeasured, None, 0.0).unwrap_err(),
        RoundingError::NutLength(0.0)
    );
}
