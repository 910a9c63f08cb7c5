//! Rankings of threads worked out by hand: what the odds, groups and sentences say.

mod support;

use form::{Hand, Quantity};
use standards::{Feature, Measured, Prior, Verdict, rank, rank_exhaustively, what_next};
use support::{Care, Rng, any_listed, made, measure, unlisted};

fn q(value: f64, u: f64) -> Option<Quantity> {
    Some(Quantity::measured(value, u))
}

/// Pitch, right and left flank, depth, crest flat, root radius, major diameter; as a good picture
/// gives them.
fn pictured(n: [f64; 7], starts: u32, hand: Hand) -> Measured {
    let [pitch, right, left, depth, crest, root_radius, major] = n;
    Measured {
        pitch_mm: q(pitch, 3e-4 * pitch),
        lead_mm: q(pitch * f64::from(starts), 3e-4 * pitch * f64::from(starts)),
        right_flank_deg: q(right, 0.05),
        left_flank_deg: q(left, 0.05),
        depth_mm: q(depth, 0.01),
        crest_flat_mm: q(crest, 0.006),
        root_radius_mm: q(root_radius, 0.02),
        major_diameter_mm: q(major, 0.015),
        minor_diameter_mm: q(major - 2.0 * depth, 0.015),
        starts: Some((starts, 0.98)),
        hand: Some((hand, 0.99)),
        ..Measured::default()
    }
}

fn first(m: &Measured) -> String {
    rank(m, &Prior::default()).candidates.first().map(|c| c.designation.clone()).unwrap_or_default()
}

#[test]
fn good_pictures_are_named() {
    let right = Hand::Right;
    for (numbers, starts, hand, want) in [
        // 24 x 4 is not in the series: the form is named, the size is said to be its own.
        (
            [4.0, 15.0, 15.0, 2.25, 1.464, 0.0, 24.0],
            1,
            right,
            "Tr 24 x 4 (form ISO 2901; size not in the series)",
        ),
        ([5.0, 15.0, 15.0, 2.75, 1.830, 0.0, 24.0], 1, right, "Tr 24 x 5"),
        ([25.4 / 13.0, 30.0, 30.0, 1.1986, 0.2442, 0.22, 12.7], 1, right, "1/2-13 UNC"),
        ([3.0, 15.0, 15.0, 1.75, 1.102, 0.0, 20.0], 1, Hand::Left, "Tr 20 x 3 LH"),
        ([4.0, 15.0, 15.0, 2.25, 1.464, 0.0, 20.0], 2, right, "Tr 20 x 8 (P4)"),
        ([2.54, 14.5, 14.5, 1.524, 0.942, 0.0, 12.7], 1, right, "Acme 1/2-10"),
        ([1.5, 30.0, 30.0, 0.92, 0.19, 0.2, 9.95], 1, right, "M10 x 1.5"),
        ([8.0, 3.0, 30.0, 6.94, 2.11, 0.99, 48.0], 1, right, "S 48 x 8"),
        ([8.0, 30.0, 3.0, 6.94, 2.11, 0.99, 48.0], 1, right, "S 48 x 8"),
        ([6.35, 45.0, 7.0, 4.20, 1.036, 0.45, 50.8], 1, right, "2-4 buttress"),
    ] {
        let got = first(&pictured(numbers, starts, hand));
        assert_eq!(got, want, "{numbers:?}");
    }
}

#[test]
fn rounded_forms_are_named_however_the_fit_reports_them() {
    // 3/8-16 Whitworth: h 1.0165, flats P/6 = 0.2646, r 0.218.
    let base = Measured {
        pitch_mm: q(1.5875, 0.0005),
        right_flank_deg: q(27.5, 0.1),
        left_flank_deg: q(27.5, 0.1),
        depth_mm: q(1.0165, 0.01),
        major_diameter_mm: q(9.50, 0.015),
        ..Measured::default()
    };
    let corners = Measured {
        crest_flat_mm: q(0.2646, 0.01),
        crest_radius_mm: q(0.218, 0.01),
        root_radius_mm: q(0.218, 0.01),
        ..base.clone()
    };
    let straight_part = Measured { crest_flat_mm: q(0.0, 0.01), ..corners.clone() };
    let radius_unknown = Measured { crest_flat_mm: q(0.30, 0.02), ..base.clone() };
    for m in [corners, straight_part, radius_unknown, base] {
        assert_eq!(first(&m), "3/8-16 BSW");
    }
}

#[test]
fn none_is_said_with_the_worlds_of_its_features() {
    // 34°, 2.8 mm, 15 mm: no list has any of the first two.
    let m = pictured([2.8, 17.0, 17.0, 1.4, 0.994, 0.0, 15.0], 1, Hand::Right);
    let r = rank(&m, &Prior::default());
    assert_eq!(r.verdict, Verdict::None);
    assert!(r.no_standard_probability > 0.99);
    // The nearest is still shown, with what is wrong with it.
    let nearest = &r.candidates[0];
    assert!(nearest.probability < 0.01 && nearest.section.is_some());
    assert!(nearest.deviations.iter().any(|d| d.in_u.abs() > 10.0));
    assert!(
        r.explanation.iter().any(|t| t.to_string().starts_with("the nearest listed thread is")),
        "{:?}",
        r.explanation
    );
    // 35° at 3 mm pitch has been met; here on an inch diameter.
    let m = pictured([3.0, 17.5, 17.5, 1.5, 0.95, 0.0, 19.04], 1, Hand::Right);
    let r = rank(&m, &Prior::default());
    assert_eq!(r.verdict, Verdict::None);
    let text = r.explanation[0].to_string();
    for part in [
        "no listed standard",
        "pitch metric (3 mm)",
        "angle 35° in no list",
        "diameter",
        "inch (3/4 in)",
    ] {
        assert!(text.contains(part), "{text}");
    }
}

/// What somebody at a lathe would hold each of these beside: pitch first, then angle, then diameter.
#[test]
fn the_nearest_listed_thread_is_near_as_a_machinist_has_it() {
    for (numbers, want, said) in [
        // 34°, 2.8 mm, 15 mm.
        (
            [2.8, 17.0, 17.0, 1.4, 0.994, 0.0, 15.0],
            "Tr 14 x 3",
            &["pitch is 3 mm (here 2.8 mm)", "included angle 30° (here 34°)", "14 mm (here 15 mm)"]
                [..],
        ),
        (
            [3.0, 17.5, 17.5, 1.5, 0.95, 0.0, 19.04],
            "Tr 20 x 3",
            &["included angle is 30° (here 35°)", "major diameter 20 mm (here 19.04 mm)"],
        ),
        // 24° at 4 mm: the pitch is right, and goes before the diameter.
        ([4.0, 12.0, 12.0, 2.1, 1.5, 0.0, 25.4], "Tr 20 x 4", &["included angle is 30°"]),
        ([1.85, 30.0, 30.0, 1.13, 0.23, 0.2, 11.1], "7/16-14 UNC", &["pitch is 1.814 mm"]),
        ([2.4, 27.5, 27.5, 1.54, 0.4, 0.0, 23.0], "7/8-11 BSF", &["pitch is 2.309 mm"]),
        ([6.35, 10.0, 10.0, 3.2, 2.5, 0.0, 50.8], "Acme 2-4", &["angle is 29° (here 20°)"]),
        (
            [5.0, 5.0, 45.0, 3.3, 0.8, 0.3, 44.0],
            "1 3/4-5 buttress",
            &["pitch is 5.08 mm (here 5 mm)", "right flank 7° (here 5°)"],
        ),
        // The same the other way about.
        ([5.0, 45.0, 5.0, 3.3, 0.8, 0.3, 44.0], "1 3/4-5 buttress", &["left flank 7° (here 5°)"]),
    ] {
        let r = rank(&pictured(numbers, 1, Hand::Right), &Prior::default());
        assert_eq!(r.verdict, Verdict::None, "{numbers:?}");
        let nearest = r.nearest.as_ref().map(|c| c.designation.as_str());
        assert_eq!(nearest, Some(want), "{numbers:?}");
        assert_eq!(r.candidates[0].designation, want, "{numbers:?}");
        let text = r.explanation[1].to_string();
        let starts = format!("the nearest listed thread is {want}, but its ");
        assert!(text.starts_with(&starts), "{text}");
        for part in said {
            assert!(text.contains(part), "\"{part}\" is not in: {text}");
        }
    }
    // With one angle only, a form of equal flanks is meant, although 3° + 30° is nearer to 34°.
    let m = Measured {
        major_diameter_mm: q(22.22, 0.02),
        ..Measured::pitch_and_angle(Quantity::measured(2.822, 0.001), Quantity::measured(34.0, 0.2))
    };
    assert_eq!(rank(&m, &Prior::default()).nearest.unwrap().designation, "Tr 22 x 3");
    // What has a name has no nearest.
    let named = pictured([5.0, 15.0, 15.0, 2.75, 1.830, 0.0, 24.0], 1, Hand::Right);
    assert!(rank(&named, &Prior::default()).nearest.is_none());
}

#[test]
fn every_feature_is_said_to_be_of_its_world() {
    for (pitch, angle, major, want) in [
        (3.0, 35.0, 19.05, "pitch metric (3 mm), angle 35° in no list, diameter inch (3/4 in)"),
        (2.0, 31.5, 25.4, "pitch metric (2 mm), angle 31.5° in no list, diameter inch (1 in)"),
        (
            25.4 / 9.0,
            34.0,
            30.0,
            "pitch inch (9 tpi), angle 34° in no list, diameter metric (30 mm)",
        ),
        (
            1.9,
            40.0,
            15.2,
            "pitch 1.9 mm in no list, angle 40° (40° worm), diameter 15.2 mm round in",
        ),
        // Pitches and diameters that are round in neither system and yet listed.
        (
            0.81,
            47.5,
            4.65,
            "pitch metric (0.81 mm, BS 93), angle 47.5° (BS 93, Thury), diameter 4.7 mm (2 BA)",
        ),
        (
            25.4 / 14.0,
            55.0,
            20.9,
            "pitch inch (14 tpi), angle 55° (BS 84, ISO 7-1), diameter 20.955 mm (G 1/2)",
        ),
        // Crests 0.35 mm under their nominal, as class 6g allows.
        (3.0, 60.0, 23.65, "pitch metric (3 mm), angle 60° (ISO 68-1"),
        (3.0, 60.0, 23.65, "diameter metric (24 mm)"),
    ] {
        let m = Measured {
            major_diameter_mm: q(major, 0.02),
            ..Measured::pitch_and_angle(
                Quantity::measured(pitch, 3e-4 * pitch),
                Quantity::measured(angle, 0.2),
            )
        };
        let text = rank(&m, &Prior::default()).explanation[0].to_string();
        assert!(text.contains(want), "{pitch} {angle} {major}: {text}");
    }
    // A pitch that could be 0.8 mm or 31 tpi as well, were it not for the thread it belongs to.
    let m = Measured {
        major_diameter_mm: q(4.65, 0.02),
        ..Measured::pitch_and_angle(Quantity::measured(0.81, 0.005), Quantity::measured(48.0, 2.0))
    };
    let text = rank(&m, &Prior::default()).explanation[0].to_string();
    let want = "pitch metric (0.81 mm, BS 93), angle 47.5° (BS 93, Thury), diameter 4.7 mm (2 BA)";
    assert_eq!(text, want);
}

#[test]
fn bare_pitch_and_angle_cannot_tell() {
    let r = rank(
        &Measured::pitch_and_angle(Quantity::measured(1.5, 0.005), Quantity::measured(60.0, 1.0)),
        &Prior::default(),
    );
    assert_eq!(r.verdict, Verdict::CannotTell);
    let group = r.first_group();
    for name in ["M10 x 1.5", "M12 x 1.5", "M20 x 1.5"] {
        assert!(group.contains(&name), "{group:?}");
    }
    let r = rank(
        &Measured::pitch_and_angle(Quantity::measured(2.52, 0.04), Quantity::measured(29.5, 1.0)),
        &Prior::default(),
    );
    let group = r.first_group();
    assert!(group.contains(&"Acme 1/2-10"), "{group:?}");
    assert!(group.iter().any(|d| d.starts_with("Tr ") && d.contains("2.5")), "{group:?}");
}

#[test]
fn taper_is_found_and_said() {
    let m = Measured {
        major_diameter_mm: q(20.9, 0.05),
        ..Measured::pitch_and_angle(
            Quantity::measured(1.8143, 0.002),
            Quantity::measured(55.0, 0.3),
        )
    };
    let r = rank(&m, &Prior::default());
    let group = r.first_group();
    assert!(group.contains(&"G 1/2") && group.contains(&"R 1/2"), "{group:?}");
    assert!(
        r.explanation.iter().any(|t| t.to_string().contains("parallel or tapers")),
        "{:?}",
        r.explanation
    );
    let taper = Measured { taper: q(0.061, 0.004), ..m.clone() };
    let r = rank(&taper, &Prior::default());
    assert_eq!(r.candidates[0].designation, "R 1/2");
    assert!(r.candidates[0].probability > 0.95);
    assert!(
        r.explanation.iter().any(|t| t.to_string().contains("taper found: 1:16")),
        "{:?}",
        r.explanation
    );
    let parallel = Measured { taper: q(0.001, 0.004), ..m.clone() };
    assert_eq!(first(&parallel), "G 1/2");
    for (value, u, want) in [
        (0.001, 0.004, "taper 0.001 ± 0.004: the thread is parallel"),
        (0.03, 0.03, "taper 0.03 ± 0.03: too coarse to tell parallel from 1:16"),
        (
            0.2,
            0.004,
            "taper found: 1:5 on the diameter (0.200 ± 0.004); no listed thread tapers so",
        ),
    ] {
        let r = rank(&Measured { taper: q(value, u), ..m.clone() }, &Prior::default());
        assert!(r.explanation.iter().any(|t| t.to_string() == want), "{:?}", r.explanation);
    }
}

#[test]
fn numbers_that_follow_from_others_are_not_counted_twice() {
    let m = Measured {
        pitch_mm: q(4.0, 0.01),
        right_flank_deg: q(15.1, 0.2),
        left_flank_deg: q(14.8, 0.2),
        depth_mm: q(2.2, 0.05),
        crest_flat_mm: q(1.48, 0.05),
        major_diameter_mm: q(19.9, 0.05),
        ..Measured::default()
    };
    let more = Measured {
        lead_mm: q(4.0, 0.01),
        included_angle_deg: q(29.9, 0.28),
        root_flat_mm: q(4.0 - 1.48 - 2.2 * 0.5358, 0.07),
        minor_diameter_mm: q(15.5, 0.1),
        ..m.clone()
    };
    let (a, b) = (rank(&m, &Prior::default()), rank(&more, &Prior::default()));
    assert_eq!(a.candidates.len(), b.candidates.len());
    for (x, y) in a.candidates.iter().zip(&b.candidates) {
        assert_eq!(x.designation, y.designation);
        assert!((x.probability - y.probability).abs() < 1e-12);
    }
    assert!(b.candidates[0].deviations.len() > a.candidates[0].deviations.len());
}

#[test]
fn probabilities_add_up_and_the_pruned_search_misses_nothing() {
    let mut rng = Rng(99);
    let prior = Prior::default();
    for case in 0..40 {
        let care = Care {
            diameter_known: case % 4 != 0,
            form_known: case % 3 != 0,
            ..Care::of(10f64.powf(rng.between(-0.3, 1.3)))
        };
        let real = if case % 5 == 4 {
            unlisted(&mut rng, 0.0, 0.0)
        } else {
            let (family, size) = any_listed(&mut rng);
            made(family, size, &mut rng)
        };
        let m = measure(&real, care, &mut rng);
        let fast = rank(&m, &prior);
        let sum: f64 = fast.candidates.iter().map(|c| c.probability).sum();
        let total = sum + fast.no_standard_probability;
        assert!(total <= 1.0 + 1e-9, "{total}");
        let certain = rank_exhaustively(&m, &prior);
        assert!((fast.no_standard_probability - certain.no_standard_probability).abs() < 1e-3);
        for (x, y) in fast.candidates.iter().zip(&certain.candidates).take(3) {
            assert!(
                (x.probability - y.probability).abs() < 1e-3,
                "{} {}",
                x.designation,
                y.designation
            );
        }
    }
}

#[test]
fn nonsense_neither_panics_nor_names_anything() {
    let prior = Prior::default();
    assert_eq!(rank(&Measured::default(), &prior).verdict, Verdict::CannotTell);
    for bad in [f64::NAN, f64::INFINITY, 0.0, -3.0, 1e300, 1e-300] {
        for u in [0.0, 1e-9, 0.1, f64::INFINITY, f64::NAN] {
            let m = Measured {
                depth_mm: q(bad, u),
                major_diameter_mm: q(bad, u),
                crest_radius_mm: q(bad, u),
                ..Measured::pitch_and_angle(Quantity::measured(bad, u), Quantity::measured(bad, u))
            };
            let r = rank(&m, &prior);
            assert!(r.candidates.iter().all(|c| c.probability.is_finite()), "{bad} {u}");
            assert!(r.no_standard_probability.is_finite(), "{bad} {u}");
        }
    }
}

#[test]
fn a_value_without_uncertainty_is_given_one_and_it_is_said() {
    let exact = |v| Some(Quantity::entered(v, 0.0));
    let m = Measured {
        pitch_mm: exact(2.54),
        included_angle_deg: exact(29.0),
        major_diameter_mm: exact(12.7),
        ..Measured::default()
    };
    let r = rank(&m, &Prior::default());
    assert_eq!(r.candidates[0].designation, "Acme 1/2-10");
    assert!(
        r.explanation
            .iter()
            .any(|t| t.to_string().contains("no uncertainty was given for the pitch"))
    );
}

#[test]
fn a_ranking_goes_into_json_with_the_names_of_the_command_line() {
    let m = pictured([5.0, 15.0, 15.0, 2.75, 1.830, 0.0, 24.0], 1, Hand::Right);
    let json = serde_json::to_value(rank(&m, &Prior::default())).unwrap();
    let first = &json["candidates"][0];
    assert_eq!(first["designation"], "Tr 24 x 5");
    assert_eq!(first["family"], "Metric trapezoidal (Tr)");
    assert!(first["probability"].as_f64().unwrap() > 0.9);
    let pitch = &first["deviations"][0];
    assert_eq!(pitch["what"], "pitch_mm");
    assert_eq!((pitch["measured"].as_f64(), pitch["standard"].as_f64()), (Some(5.0), Some(5.0)));
    assert!(pitch["in_u"].is_number());
    assert!(json["no_standard_probability"].is_number() && json["cannot_tell"].is_array());
    let none = pictured([2.8, 17.0, 17.0, 1.4, 0.994, 0.0, 15.0], 1, Hand::Right);
    let json = serde_json::to_value(rank(&none, &Prior::default())).unwrap();
    assert_eq!(json["verdict"], "none");
    // JSON has no infinities: a candidate that is out of the question still has numbers.
    let nearest = &json["candidates"][0];
    assert_eq!(nearest["probability"].as_f64(), Some(0.0));
    assert!(nearest["log_likelihood"].is_number(), "{nearest}");
}

#[test]
fn a_thread_answers_to_what_people_call_it() {
    let m = Measured {
        major_diameter_mm: q(22.0, 0.01),
        depth_mm: q(2.0, 0.01),
        ..Measured::pitch_and_angle(q(3.5, 0.002).unwrap(), q(30.0, 0.1).unwrap())
    };
    let own = &rank(&m, &Prior::default()).candidates[0];
    assert_eq!(own.name(), "Tr 22 x 3.5");
    for name in ["Tr 22 x 3.5", "tr22x3.5", "TR 22 × 3.5", own.designation.as_str()] {
        assert!(own.is_called(name), "{name}");
    }
    assert!(!own.is_called("Tr 22 x 3") && !own.is_called("Tr 22 x 3.5 (form"));
}

#[test]
fn no_size_of_its_own_lacks_a_core() {
    // Pitch 2.5 mm on a diameter of 1 mm: every trapezoid would be deeper than the screw is thick.
    let m = Measured {
        major_diameter_mm: q(1.0, 0.05),
        ..Measured::pitch_and_angle(q(2.5, 0.01).unwrap(), q(30.0, 0.5).unwrap())
    };
    let ranking = rank(&m, &Prior::default());
    assert_eq!(ranking.verdict, Verdict::None, "{:?}", ranking.candidates);
    for s in what_next(&m, &ranking) {
        assert!(s.expected.iter().all(|e| e.reading > 0.0), "{}", s.text);
    }
}

#[test]
fn one_angle_for_both_flanks_speaks_for_equal_flanks() {
    // 33° together is a saw-tooth's, and hardly anything else's; 34° in doubt by 2° is as well 30°.
    let of = |angle: f64, u: f64| Measured {
        major_diameter_mm: q(14.0, 0.1),
        ..Measured::pitch_and_angle(q(3.0, 0.01).unwrap(), q(angle, u).unwrap())
    };
    assert_eq!(first(&of(33.0, 0.3)), "S 14 x 3");
    assert!(first(&of(34.0, 2.0)).contains("Tr 14 x 3"), "{}", first(&of(34.0, 2.0)));
}

#[test]
fn a_taper_thread_is_compared_where_it_is_measured() {
    // NPT 1/2, half-way along L2: E0 + 0.8 P + L2 / 32 = .75843 + .8 / 14 + .5337 / 32 in
    // (ASME B1.20.1, table 2) = 21.139 mm; the pipe it is named after has 21.336 mm.
    let m = Measured {
        major_diameter_mm: q(21.139, 0.03),
        taper: q(0.0625, 0.002),
        ..Measured::pitch_and_angle(q(25.4 / 14.0, 0.002).unwrap(), q(60.0, 0.3).unwrap())
    };
    let ranking = rank(&m, &Prior::default());
    assert_eq!(ranking.candidates[0].designation, "1/2-14 NPT");
    for d in &ranking.candidates[0].deviations {
        assert!(d.in_u.abs() < 1.0, "{d:?}");
    }
}

#[test]
fn a_pitch_of_two_worlds_is_to_be_settled_first() {
    // A feed screw between 10 tpi and 2.5 mm: however likely the inch sizes are, the pitch decides.
    let m = Measured {
        major_diameter_mm: q(12.5, 0.2),
        ..Measured::pitch_and_angle(q(2.52, 0.03).unwrap(), q(29.5, 1.0).unwrap())
    };
    let next = what_next(&m, &rank(&m, &Prior::default()));
    let pitch = next.iter().take(2).find(|s| s.feature == Feature::Pitch).unwrap();
    // 23 threads: 57.50 mm of 2.5 mm, 58.42 mm of 10 tpi (own arithmetic).
    let n = pitch.scale;
    assert!((pitch.expected[0].reading - 2.5 * n).abs() < 1e-9, "{}", pitch.text);
    assert!((pitch.expected[1].reading - 2.54 * n).abs() < 1e-9, "{}", pitch.text);
    assert!(
        pitch.text.to_string().contains("says 2.5 mm")
            && pitch.text.to_string().contains("says 10 tpi")
    );
    // A pitch known well is settled.
    let known = Measured { pitch_mm: q(2.54, 0.002), ..m };
    let next = what_next(&known, &rank(&known, &Prior::default()));
    assert!(next.iter().take(2).all(|s| s.feature != Feature::Pitch));
}
