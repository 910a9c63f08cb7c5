//! Rounding and what it costs.

use approx::assert_abs_diff_eq;
use form::Quantity;
use standards::{Feature, Measured, Prior, Rounding, RoundingError, rank, round_pitch_mm, rounded};

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
    assert!(r.text.to_string().contains("axial play"), "{}", r.text);
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
    assert!(r.text.to_string().contains("will not go on"), "{}", r.text);
}

#[test]
fn the_cost_carries_the_uncertainty_of_the_measurement() {
    let mut m = measured(2.49, 17.2, 1.4, 0.8, 15.03);
    m.pitch_mm = Some(Quantity::measured(2.49, 0.005));
    let r = rounded(&m, Rounding::RoundNumbers, None, 20.0).unwrap();
    // 20 mm / 2.49 mm · 0.005 mm = 0.0402 mm from the pitch; two flanks known to 0.05° over 1.4 mm:
    // 1.4 · 0.000873 / cos² 17.2° · √2 = 0.0019 mm.
    let (pitch, flanks) = (20.0 / 2.49 * 0.005, 1.4 * 8.7266e-4 / 0.912_56 * 2f64.sqrt());
    assert_abs_diff_eq!(r.play_u_mm, f64::hypot(pitch, flanks), epsilon = 1e-5);
    assert!(r.text.to_string().contains("costs 0.09 ± 0.04 mm of axial play"), "{}", r.text);
    let as_measured = rounded(&m, Rounding::AsMeasured, None, 20.0).unwrap();
    assert_eq!((as_measured.play_mm, as_measured.play_u_mm), (0.0, 0.0));
}

#[test]
fn what_is_too_far_away_is_no_rounding() {
    let standard = |m: &Measured| {
        let ranking = rank(m, &Prior::default());
        rounded(m, Rounding::NearestStandard, ranking.candidates.first(), 20.0)
    };
    // 34°, 2.8 mm, 15 mm: nothing listed is near.
    let e = standard(&measured(2.8, 17.0, 1.4, 0.994, 15.0)).unwrap_err();
    let text = e.to_string();
    for part in
        ["Tr 14 x 3", "pitch is 3 mm", "this thread's is 2.8 mm", "2.742 mm to 2.858 mm would do"]
    {
        assert!(text.contains(part), "\"{part}\" is not in: {text}");
    }
    // The pitch is right, the angle is not: 35° at 3 mm.
    let e = standard(&measured(3.0, 17.5, 1.5, 0.95, 19.04)).unwrap_err();
    assert!(matches!(&e, RoundingError::TooFar { what: Feature::RightFlank, .. }), "{e}");
    assert!(e.to_string().contains("its right flank is 15°, this thread's is 17.5°"), "{e}");
    // Everything but the diameter: a size that is not in the series is not rounded to the next.
    let beside = rank(&measured(5.0, 15.0, 2.75, 1.83, 24.0), &Prior::default());
    let own = measured(5.0, 15.0, 2.75, 1.83, 25.0);
    let e = rounded(&own, Rounding::NearestStandard, beside.candidates.first(), 20.0).unwrap_err();
    assert!(matches!(&e, RoundingError::TooFar { what: Feature::MajorDiameter, .. }), "{e}");
    // A crest worn by 0.6 mm is still that standard's.
    let worn = measured(5.0, 15.0, 2.45, 1.99, 23.4);
    assert!(rounded(&worn, Rounding::NearestStandard, beside.candidates.first(), 20.0).is_ok());
    let long = rounded(&measured(2.49, 17.2, 1.4, 0.8, 15.03), Rounding::RoundNumbers, None, 200.0);
    let e = long.unwrap_err();
    assert!(e.to_string().contains("0.81 mm of axial play over a nut of 200.0 mm"), "{e}");
    assert!(e.to_string().contains("more than 0.311 mm"), "{e}");
    // The coarser the measurement, the less is absurd.
    let mut coarse = measured(2.52, 30.0, 1.5, 0.31, 19.9);
    coarse.pitch_mm = Some(Quantity::measured(2.6, 0.1));
    let m20 = rank(&measured(2.5, 30.0, 1.53, 0.31, 19.95), &Prior::default());
    assert_eq!(m20.candidates[0].designation, "M20 x 2.5");
    assert!(rounded(&coarse, Rounding::NearestStandard, m20.candidates.first(), 20.0).is_ok());
    coarse.pitch_mm = Some(Quantity::measured(2.6, 0.001));
    assert!(rounded(&coarse, Rounding::NearestStandard, m20.candidates.first(), 20.0).is_err());
}

#[test]
fn what_is_missing_is_named_or_said_to_be_assumed() {
    let bare =
        Measured::pitch_and_angle(Quantity::measured(4.02, 0.01), Quantity::measured(30.3, 0.1));
    let r = rounded(&bare, Rounding::RoundNumbers, None, 20.0).unwrap();
    assert_eq!(r.assumed, ["depth", "crest flat"]);
    assert!(
        r.text.to_string().contains("depth and crest flat not measured: what is usual taken"),
        "{}",
        r.text
    );
    assert_abs_diff_eq!(r.pitch_mm, 4.0, epsilon = 1e-12);
    // Half the pitch deep, each flank from 15.15° to 15°.
    let flank = 2.01 * (15.15f64.to_radians().tan() - 15f64.to_radians().tan());
    assert_abs_diff_eq!(r.play_from_flanks_mm, 2.0 * flank, epsilon = 1e-9);
    let m = Measured { crest_flat_mm: None, ..measured(5.0, 15.2, 2.75, 0.0, 24.0) };
    let ranking = rank(&m, &Prior::default());
    let r = rounded(&m, Rounding::NearestStandard, ranking.candidates.first(), 30.0).unwrap();
    assert_eq!(r.assumed, ["crest flat"]);
    // A ridge nobody measured is neither thicker nor thinner.
    assert_eq!(r.play_from_thickness_mm, 0.0);
    let no_pitch = Measured { pitch_mm: None, ..bare.clone() };
    assert_eq!(
        rounded(&no_pitch, Rounding::RoundNumbers, None, 20.0).unwrap_err(),
        RoundingError::Missing("pitch")
    );
    let no_angle = Measured { included_angle_deg: None, ..bare };
    assert_eq!(
        rounded(&no_angle, Rounding::RoundNumbers, None, 20.0).unwrap_err(),
        RoundingError::Missing("flank angle")
    );
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
