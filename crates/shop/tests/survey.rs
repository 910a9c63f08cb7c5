//! The backlash survey: planted shares found again, verdicts with their reasons.

use approx::assert_abs_diff_eq;
use form::Quantity;
use shop::*;

/// Lost motion planted from its three parts.
fn planted(thrust: f64, nut: f64, wear: impl Fn(f64) -> f64) -> Survey {
    let readings = (0..=8)
        .map(|i| {
            let x = 25.0 * f64::from(i);
            Reading {
                position_mm: x,
                lost_motion_mm: Quantity::measured(thrust + nut + wear(x), 0.01),
            }
        })
        .collect();
    Survey::new(readings, Some(Quantity::measured(thrust, 0.01)))
}

/// Wear of the busy middle, `most` deep.
fn middle(most: f64) -> impl Fn(f64) -> f64 {
    move |x: f64| most * (std::f64::consts::PI * x / 200.0).sin().powi(2)
}

#[test]
fn planted_shares_are_found() {
    let f = evaluate_survey(&planted(0.11, 0.23, middle(0.18))).unwrap();
    assert_abs_diff_eq!(f.thrust_mm.value, 0.11, epsilon = 1e-12);
    assert_abs_diff_eq!(f.nut_mm.value, 0.23, epsilon = 1e-12);
    assert_abs_diff_eq!(f.most_screw_mm.value, 0.18, epsilon = 1e-12);
    assert_eq!(f.most_screw_at_mm, 100.0);
    for s in &f.stations {
        let parts = s.thrust_mm.value + s.nut_mm.value + s.screw_mm.value;
        assert_abs_diff_eq!(parts, s.lost_motion_mm.value, epsilon = 1e-12);
        // A new nut changes only the nut's part.
        assert_abs_diff_eq!(
            s.with_new_nut_mm.value,
            s.lost_motion_mm.value - 0.23 + 0.08,
            epsilon = 1e-12
        );
    }
    assert!(f.nut_mm.u > 0.01);
}

#[test]
fn verdicts() {
    let verdict = |s: &Survey| {
        let f = evaluate_survey(s).unwrap();
        assert!(!f.reasons.is_empty());
        f.verdict
    };
    assert_eq!(verdict(&planted(0.02, 0.06, |_| 0.0)), Verdict::LeaveIt);
    // Often most of it is end-float alone (common practice).
    assert_eq!(verdict(&planted(0.30, 0.07, middle(0.02))), Verdict::AdjustThrust);
    assert_eq!(verdict(&planted(0.02, 0.40, middle(0.01))), Verdict::NewNut);
    assert_eq!(verdict(&planted(0.02, 0.30, middle(0.40))), Verdict::ScrewToo);
    let mut blind = planted(0.02, 0.40, middle(0.01));
    blind.end_float_mm = None;
    assert_eq!(verdict(&blind), Verdict::CannotTell);
    // Without the end-float the shares are not known, and are not given as if they were.
    let f = evaluate_survey(&blind).unwrap();
    assert!(f.thrust_mm.u.is_infinite() && f.nut_mm.u.is_infinite());
    assert!(f.notices.iter().any(|n| n.code == "end-float-not-measured"));
    // Even so, a screw worn too far is a screw worn too far.
    let mut blind = planted(0.02, 0.30, middle(0.40));
    blind.end_float_mm = None;
    assert_eq!(verdict(&blind), Verdict::ScrewToo);
}

#[test]
fn adjusting_a_thrust_that_has_no_float_adds_none() {
    let f = evaluate_survey(&planted(0.0, 0.30, middle(0.05))).unwrap();
    for s in &f.stations {
        // Nothing of the thrust, 0.08 mm of the new nut, and the wear.
        assert_abs_diff_eq!(s.with_both_mm.value, 0.08 + s.screw_mm.value, epsilon = 1e-12);
        assert!(s.with_both_mm.value <= s.with_new_nut_mm.value + 1e-12);
    }
}

#[test]
fn readings_as_text() {
    let text = "# floor loom, tension screw\n# end_float_mm = 0.06 ± 0.01\nposition_mm, lost_motion_mm\n0, 0.14\n40, 0.21, 0.23\n\n80, 0.19\n";
    let s = parse_survey(text).unwrap();
    assert_eq!(s.readings.len(), 4);
    assert_eq!(s.end_float_mm.unwrap().value, 0.06);
    assert_eq!(s.end_float_mm.unwrap().u, 0.01);
    let f = evaluate_survey(&s).unwrap();
    assert_eq!(f.stations.len(), 3);
    assert_abs_diff_eq!(f.stations[1].lost_motion_mm.value, 0.22, epsilon = 1e-12);
    // The scatter of repeats counts when it is the larger.
    assert_abs_diff_eq!(f.stations[1].lost_motion_mm.u, 0.01, epsilon = 1e-12);
    // Inches, thousandths, decimal commas.
    let s = parse_survey("position_in;lost_motion_thou\n0;5,5\n2;8\n4;6\n").unwrap();
    assert_abs_diff_eq!(s.readings[1].position_mm, 50.8, epsilon = 1e-9);
    assert_abs_diff_eq!(s.readings[0].lost_motion_mm.value, 0.1397, epsilon = 1e-9);
}

#[test]
fn text_errors_name_line_and_text() {
    for (text, wanted) in [
        ("", "no readings"),
        ("position_mm,lost_motion_mm\n", "no readings"),
        ("0,0.1\n", "line 1: \"0,0.1\" is not a header"),
        ("position,lost_motion\n0,1\n", "not a header"),
        ("position_mm,lost_motion_mm\n0,abc\n", "line 2: \"abc\" is not a number"),
        ("position_mm,lost_motion_mm\n0,inf\n", "\"inf\" is not a number"),
        ("position_mm,lost_motion_mm\n12\n", "no reading behind"),
    ] {
        let e = parse_survey(text).unwrap_err().to_string();
        assert!(e.contains(wanted), "{text:?}: {e}");
    }
    let meant = "# end float 0.05\nposition_mm,lost_motion_mm\n0,0.1\n1,0.1\n2,0.1\n";
    let e = parse_survey(meant).unwrap_err().to_string();
    assert!(e.contains("line 1") && e.contains("# end_float_mm = 0.05"), "{e}");
    let few = parse_survey("position_mm,lost_motion_mm\n0,0.1\n1,0.1\n").unwrap();
    assert!(matches!(evaluate_survey(&few), Err(SurveyError::TooFew(2))));
    let negative = parse_survey("position_mm,lost_motion_mm\n0,-0.1\n1,0.1\n2,0.1\n").unwrap();
    let e = evaluate_survey(&negative).unwrap_err().to_string();
    assert!(e.contains("lost motion -0.1000 mm"), "{e}");
    // End-float above the lost motion is a misreading.
    let mut s = planted(0.05, 0.1, |_| 0.0);
    s.end_float_mm = Some(Quantity::measured(0.4, 0.01));
    assert!(matches!(evaluate_survey(&s), Err(SurveyError::FloatExceedsLoss { .. })));
}

#[test]
fn a_station_is_named_by_the_place_that_was_read() {
    // The wear is worst at 62.5 mm; the table of the stations says 2.46 in, and so do the reasons.
    let lost = [(0.0, 0.21), (62.5, 0.41), (125.0, 0.30)].map(|(position_mm, lost)| Reading {
        position_mm,
        lost_motion_mm: Quantity::measured(lost, 0.01),
    });
    let f =
        evaluate_survey(&Survey::new(lost.into(), Some(Quantity::measured(0.05, 0.01)))).unwrap();
    let said = |units| f.reasons.iter().map(|r| r.in_units(units)).collect::<Vec<_>>().join("; ");
    assert!(said(form::Units::Mm).contains("at 62.5 mm"), "{}", said(form::Units::Mm));
    assert!(said(form::Units::Inch).contains("at 2.46 in"), "{}", said(form::Units::Inch));
    let unworn = f.notices.iter().find(|n| n.code == "least-worn-is-not-unworn").unwrap();
    assert!(unworn.text.to_string().contains("the station at 0 mm"));
}

#[test]
fn the_reasons_say_the_numbers_as_the_tables_do() {
    let lost = [(0.0, 0.21), (62.5, 0.62), (125.0, 0.30)].map(|(position_mm, lost)| Reading {
        position_mm,
        lost_motion_mm: Quantity::measured(lost, 0.01),
    });
    let f =
        evaluate_survey(&Survey::new(lost.into(), Some(Quantity::measured(0.06, 0.01)))).unwrap();
    for units in [form::Units::Mm, form::Units::Inch, form::Units::Thou] {
        let said = f.reasons.iter().map(|r| r.in_units(units)).collect::<Vec<_>>().join("; ");
        for q in [f.worst_now_mm, f.most_screw_mm, f.thrust_mm, f.nut_mm, f.worst_with_both_mm] {
            assert!(said.contains(&units.show(q)), "{} in {said}", units.show(q));
        }
    }
}

#[test]
fn a_nut_no_better_than_today_is_not_advised() {
    // 0.127 mm now, 0.13 put up with; a nut of 0.11 mm and 0.02 mm of end-float would leave more.
    let mut s = planted(0.02, 0.087, middle(0.02));
    s.new_nut_play_mm = Quantity::assumed(0.11, 0.015);
    let found = evaluate_survey(&s).unwrap();
    assert!(found.worst_with_both_mm.value > found.worst_now_mm.value);
    assert_eq!(found.verdict, Verdict::LeaveIt, "{:?}", found.reasons);
    let why = found.reasons.iter().map(ToString::to_string).collect::<String>();
    assert!(why.contains("no better than now"), "{why}");
    // Nor where the end-float is not known.
    s.end_float_mm = None;
    assert_eq!(evaluate_survey(&s).unwrap().verdict, Verdict::LeaveIt);
}

#[test]
fn a_forecast_near_the_aim_comes_with_its_chance() {
    let mut s = planted(0.02, 0.30, middle(0.025));
    s.new_nut_play_mm = Quantity::assumed(0.08, 0.015);
    let f = evaluate_survey(&s).unwrap();
    assert_eq!(f.verdict, Verdict::NewNut);
    let both = f.worst_with_both_mm;
    assert_abs_diff_eq!(both.value, 0.125, epsilon = 1e-9);
    // A printed table of the normal distribution: Φ(0.2247) = 0.5889 (0.005 / 0.02225).
    let z: f64 = (0.13 - both.value) / both.u;
    assert_abs_diff_eq!(
        f.chance_enough.unwrap(),
        0.5 + 0.3989 * (z - z.powi(3) / 6.0),
        epsilon = 2e-3
    );
    let why = f.reasons.iter().map(ToString::to_string).collect::<String>();
    assert!(why.contains("with a chance of 59 %"), "{why}");
    assert!(why.contains("0.02 mm of end-float remains"), "{why}");
    assert_abs_diff_eq!(f.remaining_end_float_mm, 0.02, epsilon = 1e-12);
}
