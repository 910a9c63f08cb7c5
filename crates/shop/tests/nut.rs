//! The nut against published nuts, and against what was planted.

mod common;

use approx::assert_abs_diff_eq;
use common::{Lcg, random_thread, rows, thread, trapezoidal};
use form::{Hand, Quantity, Source, Thread, units::MM_PER_INCH};
use shop::*;

fn perfect(play: f64) -> NutRequest {
    NutRequest { workmanship: Workmanship::PERFECT, ..NutRequest::with_play(play) }
}

#[test]
fn metric_trapezoidal_nuts_of_iso_2904() {
    // Tr 16 x 4: D1 12, D4 16.5; Tr 40 x 7: D1 33, D4 41 with ISO's ac 0.5 (the old DIN 103 gives
    // 40.5): ISO 2904, rows of tests/data/tr_check_rows.csv and the formulas D1 = d - P, D4 = d + 2 ac.
    for (d, p, ac, d1, d4) in [(16.0, 4.0, 0.25, 12.0, 16.5), (40.0, 7.0, 0.5, 33.0, 41.0)] {
        let nut = design_nut(&trapezoidal(d, p, ac), &perfect(0.0)).unwrap();
        assert_abs_diff_eq!(nut.bore_mm.value, d1, epsilon = 1e-9);
        assert_abs_diff_eq!(nut.groove_diameter_mm.value, d4, epsilon = 1e-9);
        assert_abs_diff_eq!(nut.axial_play_mm.value, 0.0, epsilon = 1e-9);
        // ISO 2901: the groove's bottom is 0.366 P - 0.536 ac wide.
        let flat = 0.366_025 * p - 0.535_898 * ac;
        assert_abs_diff_eq!(nut.tool_tip_flat_mm.value, flat, epsilon = 1e-5 * p);
    }
    // Every printed row, from major diameter and pitch alone.
    for row in rows(include_str!("data/tr_check_rows.csv")) {
        let v: Vec<f64> = row.iter().map(|c| c.parse().unwrap()).collect();
        let (d, p, d3, d1, d4) = (v[0], v[1], v[3], v[4], v[5]);
        let ac = crest_clearance_mm(p);
        let screw = trapezoidal(d, p, ac);
        assert_abs_diff_eq!(screw.thread().unwrap().minor_diameter_mm(), d3, epsilon = 0.0501);
        let nut = design_nut(&screw, &perfect(0.0)).unwrap();
        assert_abs_diff_eq!(nut.bore_mm.value, d1, epsilon = 1e-9);
        assert_abs_diff_eq!(nut.groove_diameter_mm.value, d4, epsilon = 1e-9);
    }
}

#[test]
fn half_inch_ten_29_degree_nut_of_asme_b1_5() {
    // ASME B1.5 (Machinery's Handbook 27th ed. p. 1828, 1831): 1/2-10 nut: major 0.5 + 0.020,
    // minor 0.400 in, root flat 0.0319 in at 10 tpi; screw minor 0.380.
    let inch = MM_PER_INCH;
    let t =
        thread(0.1 * inch, 14.5, 0.06 * inch, 0.370_67 * 0.1 * inch, 0.5 * inch, 1, Hand::Right);
    let request = NutRequest { radial_clearance_mm: Some(0.010 * inch), ..perfect(0.0) };
    let nut = design_nut(&ScrewForm::from_thread(&t, Source::Standard), &request).unwrap();
    assert_abs_diff_eq!(nut.groove_diameter_mm.value / inch, 0.520, epsilon = 1e-9);
    assert_abs_diff_eq!(nut.bore_mm.value / inch, 0.400, epsilon = 1e-9);
    assert_abs_diff_eq!(nut.tool_tip_flat_mm.value / inch, 0.0319, epsilon = 5e-5);
}

#[test]
fn nut_root_flats_of_the_29_degree_table() {
    // ASME B1.5 table 1 (tests/data/acme_form.csv): Frn is the flat of the screw's root and, with
    // the same allowance, of the nut's groove: Fcn less 0.2586 times twice the radial allowance.
    for row in rows(include_str!("data/acme_form.csv")) {
        let v: Vec<f64> = row.iter().map(|c| c.parse().unwrap()).collect();
        let inch = |i: usize| v[i] * MM_PER_INCH;
        let (p, h, hs, fcn, frn) = (inch(1), inch(2), inch(3), inch(5), inch(6));
        let allowance = hs - h;
        let t = thread(p, 14.5, hs, fcn, 6.0 * p, 1, Hand::Right);
        let request = NutRequest {
            radial_clearance_mm: Some(allowance),
            bore_clearance_mm: Some(allowance),
            ..perfect(0.0)
        };
        let nut = design_nut(&ScrewForm::from_thread(&t, Source::Standard), &request).unwrap();
        assert_abs_diff_eq!(nut.tool_tip_flat_mm.value, frn, epsilon = 1.5e-4 * MM_PER_INCH);
    }
}

#[test]
fn play_per_infeed() {
    // Calculated, 2 tan(half angle): 29° 0.517, 30° 0.536, 35° 0.631, 60° 1.155, square 0.
    for (half, wanted) in [(14.5, 0.517), (15.0, 0.536), (17.5, 0.631), (30.0, 1.155), (0.0, 0.0)] {
        let t = thread(3.0, half, 1.1, 1.2, 20.0, 1, Hand::Right);
        let screw = ScrewForm::from_thread(&t, Source::Entered);
        let nut = design_nut(&screw, &perfect(0.08)).unwrap();
        assert_abs_diff_eq!(nut.play_per_infeed.value, wanted, epsilon = 5e-4);
        // The same from the assembled sections, not from the formula.
        let infeed = nut.infeed_mm.value;
        let got = (nut.play_at_infeed(&screw, infeed + 0.1).unwrap()
            - nut.play_at_infeed(&screw, infeed).unwrap())
            / 0.1;
        assert_abs_diff_eq!(got, wanted, epsilon = 5e-4);
        let says = nut.notices.iter().any(|n| n.code == "depth-does-nothing");
        assert_eq!(says, half == 0.0);
        if half == 0.0 {
            let e = nut.infeed_for_play(&screw, nut.tool_tip_flat_mm.value, 0.2).unwrap_err();
            assert!(e.to_string().contains("+0.120 mm wider"), "{e}");
        }
    }
}

#[test]
fn play_and_infeed_are_each_others_inverse() {
    let mut rng = Lcg(7);
    for _ in 0..40 {
        let screw = ScrewForm::from_thread(&random_thread(&mut rng), Source::Entered);
        let nut = design_nut(&screw, &perfect(0.08)).unwrap();
        assert_abs_diff_eq!(nut.axial_play_mm.value, 0.08, epsilon = 1e-6);
        assert_abs_diff_eq!(nut.mating.axial_play_mm, 0.08, epsilon = 1e-6);
        assert!(nut.mating.passes());
        let flat = nut.tool_tip_flat_mm.value;
        let same = nut.infeed_for_play(&screw, flat, 0.08).unwrap();
        assert_abs_diff_eq!(same, nut.infeed_mm.value, epsilon = 1e-6);
        // A tip ground 0.02 mm narrow is fed in deeper.
        let deeper = nut.infeed_for_play(&screw, flat - 0.02, 0.08).unwrap();
        let slope = nut.play_per_infeed.value;
        assert_abs_diff_eq!(deeper - same, 0.02 / slope, epsilon = 1e-6);
        let back = nut.play_at_infeed(&screw, deeper).unwrap();
        assert_abs_diff_eq!(back, 0.10, epsilon = 1e-6);
    }
}

#[test]
fn the_forecast_covers_what_was_planted() {
    // True screws drawn from the form's own doubt, assembled with the nut designed from the form.
    let mut rng = Lcg(99);
    let (mut inside, mut between, mut total, mut sum) = (0, 0, 0, 0.0);
    for _ in 0..60 {
        let truth = random_thread(&mut rng);
        let exact = ScrewForm::from_thread(&truth, Source::Measured);
        let mut seen = exact.clone();
        let gauss = |rng: &mut Lcg| (0..12).map(|_| rng.unit()).sum::<f64>() - 6.0;
        for (q, u) in [
            (&mut seen.right_flank_deg, 0.15),
            (&mut seen.left_flank_deg, 0.15),
            (&mut seen.crest_flat_mm, 0.006),
            (&mut seen.depth_mm, 0.004),
            (&mut seen.major_diameter_mm, 0.005),
        ] {
            *q = Quantity::measured(q.value + u * gauss(&mut rng), u);
        }
        let Ok(nut) = design_nut(&seen, &perfect(0.08)) else { continue };
        let got = axial_play_mm(&truth, &nut.groove).unwrap();
        let u = nut.axial_play_mm.u;
        total += 1;
        sum += (got - nut.mean_play_mm) / u;
        inside += usize::from((got - nut.axial_play_mm.value).abs() <= 2.0 * u);
        let (low, high) = nut.play_limits_mm.unwrap();
        between += usize::from((low..=high).contains(&got));
    }
    assert!(total >= 55, "{total}");
    assert!(inside * 100 >= total * 88, "{inside} of {total} within two standard uncertainties");
    assert!(between * 100 >= total * 88, "{between} of {total} within the 95 % limits");
    assert!(
        (sum / f64::from(total as i32)).abs() < 0.3,
        "biased by {}",
        sum / f64::from(total as i32)
    );
}

#[test]
fn a_play_that_may_turn_out_below_nothing_is_not_forecast() {
    let mut screw = trapezoidal(16.0, 4.0, 0.25);
    // Half a percent of the pitch over a nut of 24 mm is 0.12 mm.
    screw.pitch_mm.u = 0.02;
    screw.crest_flat_mm.u = 0.004;
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert!(nut.axial_play_mm.u.is_infinite());
    let (low, high) = nut.play_limits_mm.unwrap();
    assert!(low < -0.1 && high < 0.1, "{low} to {high}");
    let say = nut.notices.iter().find(|n| n.code == "cannot-forecast").unwrap();
    assert!(say.text.to_string().contains("pitch over the length of the nut"), "{}", say.text);
    assert!(!nut.passes_unworn_ends);
    // The tip is that of the best numbers, not widened by what is only doubted.
    assert_abs_diff_eq!(nut.mating.axial_play_mm, 0.08, epsilon = 1e-6);
    // It can still be opened on the screw: 0.06 mm of play past the trial at which it goes on.
    let t = nut.try_on.unwrap();
    assert!(
        nut.may_be_cut() && say.text.to_string().contains("fit it on the screw"),
        "{}",
        say.text
    );
    assert_abs_diff_eq!(t.then_mm * t.play_per_mm, 0.06, epsilon = 1e-9);
    assert_abs_diff_eq!(t.play_mm.value, 0.08);

    // In more doubt than anybody would try through, nothing is to be cut.
    screw.pitch_mm.u = 0.06;
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert!(nut.try_on.is_none() && !nut.may_be_cut());
    let say = nut.notices.iter().find(|n| n.code == "not-yet").unwrap();
    assert!(say.text.to_string().contains("do not cut to these numbers before"), "{}", say.text);

    // Two standard uncertainties leave some play: forecast.
    screw.pitch_mm.u = 0.001;
    screw.crest_flat_mm.u = 0.03;
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert!(nut.may_be_cut() && nut.try_on.is_none());
    assert_abs_diff_eq!(nut.axial_play_mm.u, 0.03, epsilon = 0.003);
    // They do not: opened on the screw, whose trials are finer than that doubt.
    screw.crest_flat_mm.u = 0.05;
    assert!(design_nut(&screw, &perfect(0.08)).unwrap().try_on.is_some());
    // A doubt smaller than the trials' steps is only said.
    (screw.pitch_mm.u, screw.crest_flat_mm.u) = (0.0, 0.018);
    let nut = design_nut(&screw, &perfect(0.03)).unwrap();
    assert!(nut.may_be_cut() && nut.try_on.is_none());
    let say = nut.notices.iter().find(|n| n.code == "may-bind").unwrap();
    assert!(say.text.to_string().contains("crest's width"), "{}", say.text);
}

#[test]
fn a_root_nobody_could_see_is_bored_past() {
    // A corner rounded by r runs up a flank to r (1 - sin a): with 15° and r at most 0.6 mm, 0.4447 mm.
    let mut screw = trapezoidal(30.0, 5.0, 0.25);
    screw.root_radius_mm = Quantity::measured(0.0, 0.3);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert_abs_diff_eq!(nut.bore_clearance_mm.value, 0.444_7, epsilon = 1e-4);
    assert_abs_diff_eq!(nut.bore_mm.value, 24.5 + 2.0 * 0.444_7, epsilon = 2e-4);
    // The doubt about the corner no longer reaches the play.
    assert_abs_diff_eq!(nut.axial_play_mm.value, 0.08, epsilon = 1e-6);
    assert!(nut.axial_play_mm.u < 0.01, "{}", nut.axial_play_mm.u);
    let say = nut.notices.iter().find(|n| n.code == "bored-past-root").unwrap();
    assert!(
        say.text.to_string().contains("0.60 mm")
            && say.text.to_string().contains("0.25 mm will do"),
        "{}",
        say.text
    );
    // Bored as usual, it would.
    let usual = NutRequest { bore_clearance_mm: Some(0.25), ..perfect(0.08) };
    let nut = design_nut(&screw, &usual).unwrap();
    assert!(nut.axial_play_mm.u > 0.02, "{}", nut.axial_play_mm.u);
    assert!(nut.notices.iter().all(|n| n.code != "bored-past-root"));
    // A thread is left whatever the doubt, and a corner that was seen changes nothing.
    screw.root_radius_mm.u = 5.0;
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert!(nut.engagement_fraction > 0.6, "{}", nut.engagement_fraction);
    screw.root_radius_mm.u = 0.02;
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert_abs_diff_eq!(nut.bore_clearance_mm.value, 0.25, epsilon = 1e-9);
}

#[test]
fn the_thickest_ridge_rules() {
    let mut screw = trapezoidal(16.0, 4.0, 0.25);
    screw.thickest_extra_mm = Quantity::measured(0.15, 0.0);
    screw.thinnest_deficit_mm = Quantity::measured(0.10, 0.0);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let play = |form: &ScrewForm| axial_play_mm(&form.thread().unwrap(), &nut.groove).unwrap();
    assert_abs_diff_eq!(play(&screw.thickest()), 0.08, epsilon = 1e-9);
    assert_abs_diff_eq!(play(&screw), 0.23, epsilon = 1e-9);
    assert_abs_diff_eq!(nut.play_where_thinnest_mm.value, 0.33, epsilon = 1e-9);
    assert!(nut.passes_unworn_ends);
    // A nut designed round the worn middle binds at the ends.
    let mut worn = screw.clone();
    worn.thickest_extra_mm = Quantity::assumed(0.0, 0.0);
    let binding = design_nut(&worn, &perfect(0.08)).unwrap();
    assert!(axial_play_mm(&screw.thickest().thread().unwrap(), &binding.groove).unwrap() < 0.0);
}

#[test]
fn mating_equals_a_search_in_space() {
    // Oracle: points of the true helicoid of the screw, placed in space, against the nut's wall at
    // the same angle; the screw pushed along its axis until one would enter.
    let mut rng = Lcg(3);
    for _ in 0..12 {
        let t = random_thread(&mut rng);
        let screw = ScrewForm::from_thread(&t, Source::Entered);
        let nut = design_nut(&screw, &perfect(0.06)).unwrap();
        for offset in [0.0, 0.03] {
            let fast = axial_play_offset_mm(&t, &nut.groove, offset).unwrap();
            let slow = play_in_space(&t, &nut.groove, offset);
            assert_abs_diff_eq!(fast, slow, epsilon = 2e-3);
            if offset == 0.0 {
                assert_abs_diff_eq!(fast, nut.mating.axial_play_mm, epsilon = 1e-9);
            }
        }
    }
}

/// Free movement along the axis, from points in space only.
fn play_in_space(t: &Thread, groove: &Groove, offset: f64) -> f64 {
    let s = t.section();
    let p = groove.advance_mm();
    let (mut right, mut left) = (f64::INFINITY, f64::INFINITY);
    for i in 0..=300 {
        let depth = s.depth_mm() * f64::from(i) / 300.0;
        let r = 0.5 * t.major_diameter_mm() - depth;
        // The rounded ridge, from its definition: the straight flank less what the corner circle
        // takes away, found by stepping over the circle's points.
        for (flank, sign) in [(s.right_flank_rad(), 1.0), (s.left_flank_rad(), -1.0)] {
            let half = half_ridge(t, flank, depth);
            for j in 0..240 {
                let theta = std::f64::consts::TAU * f64::from(j) / 240.0;
                let q = [r * theta.cos() + offset, r * theta.sin(), sign * half + p * theta];
                let radius = q[0].hypot(q[1]);
                if radius < groove.bore_radius_mm || radius > groove.bottom_radius_mm {
                    continue;
                }
                let mut angle = q[1].atan2(q[0]);
                while angle < theta - std::f64::consts::PI {
                    angle += std::f64::consts::TAU;
                }
                let along = q[2] - p * angle;
                if sign > 0.0 {
                    right = right.min(groove.right_mm(radius) - along);
                } else {
                    left = left.min(along - groove.left_mm(radius));
                }
            }
        }
    }
    right + left
}

fn half_ridge(t: &Thread, flank: f64, depth: f64) -> f64 {
    let s = t.section();
    let mut half = 0.5 * s.crest_flat_mm() + depth * flank.tan();
    let tangent = (0.5 * (std::f64::consts::FRAC_PI_2 - flank)).tan();
    let r = s.crest_radius_mm();
    let centre = 0.5 * s.crest_flat_mm() - r * tangent;
    if depth < r * (1.0 - flank.sin()) {
        half = half.min(centre + (r * r - (r - depth).powi(2)).sqrt());
    }
    let r = s.root_radius_mm();
    let up = s.depth_mm() - depth;
    if up < r * (1.0 - flank.sin()) {
        let centre = 0.5 * s.crest_flat_mm() + s.depth_mm() * flank.tan() + r * tangent;
        half = half.max(centre - (r * r - (r - up).powi(2)).sqrt());
    }
    half
}

#[test]
fn radial_float_is_half_the_play_over_the_tangent() {
    // Calculated: with half the play j/2 on each side, a symmetric flank allows about
    // (j / 2) / tan(half angle) sideways before both flanks touch; the crest must clear further.
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    assert_abs_diff_eq!(nut.radial_float_mm, 0.04 / 15f64.to_radians().tan(), epsilon = 0.01);
    let square =
        ScrewForm::from_thread(&thread(4.0, 0.0, 2.0, 2.0, 24.0, 1, Hand::Right), Source::Entered);
    let nut = design_nut(&square, &perfect(0.08)).unwrap();
    // Square flanks do not centre: only the crest clearance limits, or the turned helix.
    assert!(nut.radial_float_mm > 0.15);
}

#[test]
fn corner_radius_limit_is_real() {
    let screw = trapezoidal(16.0, 4.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.05)).unwrap();
    let most = nut.most_corner_radius_mm;
    assert!(most > 0.0);
    let with = |r: f64| {
        design_nut(&screw, &NutRequest { corner_radius_mm: Some(r), ..perfect(0.05) })
            .unwrap()
            .axial_play_mm
            .value
    };
    assert_abs_diff_eq!(with(most - 1e-4), 0.05, epsilon = 1e-5);
    let outline =
        design_nut(&screw, &NutRequest { corner_radius_mm: Some(most + 0.05), ..perfect(0.05) });
    // More than that is made up for by a wider tip, never by binding.
    if let Ok(nut) = outline {
        assert!(nut.mating.axial_play_mm >= 0.05 - 1e-6);
        assert!(nut.tool_tip_flat_mm.value > with_flat(&screw));
    }
}

#[expect(clippy::unwrap_used, reason = "a test helper with numbers of its own")]
fn with_flat(screw: &ScrewForm) -> f64 {
    design_nut(screw, &perfect(0.05)).unwrap().tool_tip_flat_mm.value
}

#[test]
fn limits_are_named() {
    let screw = trapezoidal(16.0, 4.0, 0.25);
    let text = |r: NutRequest| design_nut(&screw, &r).unwrap_err().to_string();
    assert!(text(perfect(-0.1)).contains("outside 0 to 2 mm"));
    assert!(text(perfect(f64::NAN)).contains("NaN"));
    assert!(text(NutRequest { radial_clearance_mm: Some(9.0), ..perfect(0.1) }).contains("9.0000"));
    assert!(text(NutRequest { length_mm: Some(1.0), ..perfect(0.1) }).contains("4.00 mm"));
    // The root of Tr 16 x 4 is 4 - 1.4641 - 2.25 · 0.5359 = 1.330 mm wide.
    let mut thicker = screw.clone();
    thicker.thickest_extra_mm = Quantity::entered(5.0, 0.0);
    let e = design_nut(&thicker, &perfect(0.1)).unwrap_err().to_string();
    assert!(e.contains("5.000 mm") && e.contains("0 to 1.330 mm"), "{e}");
    let mut vague = screw.clone();
    vague.crest_flat_mm.u = f64::INFINITY;
    let e = design_nut(&vague, &perfect(0.1)).unwrap_err();
    assert!(e.to_string().contains("crest_flat_mm is not known"), "{e}");
}

#[test]
fn pitch_error_takes_play_over_the_length() {
    let screw = trapezoidal(16.0, 4.0, 0.25);
    let request = NutRequest {
        cut_pitch_mm: Some(4.0 * (1.0 + 500e-6)),
        length_mm: Some(40.0),
        ..perfect(0.08)
    };
    let nut = design_nut(&screw, &request).unwrap();
    assert_abs_diff_eq!(nut.play_lost_to_lead_mm, 0.02, epsilon = 1e-9);
    // The tip is widened for it: the play expected is still the play asked for.
    assert_abs_diff_eq!(nut.axial_play_mm.value, 0.08, epsilon = 1e-5);
    assert_abs_diff_eq!(nut.mating.axial_play_mm, 0.10, epsilon = 1e-4);
}

#[test]
fn an_undercut_flank_gets_a_square_wall() {
    let section = form::Section::new(form::SectionNumbers {
        pitch_mm: 4.0,
        depth_mm: 1.6,
        right_flank_rad: -1f64.to_radians(),
        left_flank_rad: 10f64.to_radians(),
        crest_flat_mm: 1.8,
        ..Default::default()
    })
    .unwrap();
    let t = Thread::new(section, 24.0, 1, Hand::Right).unwrap();
    let nut = design_nut(&ScrewForm::from_thread(&t, Source::Entered), &perfect(0.08)).unwrap();
    assert_eq!(nut.right_flank_deg.value, 0.0);
    assert!(nut.notices.iter().any(|n| n.code == "undercut-flank"));
    assert_abs_diff_eq!(nut.mating.axial_play_mm, 0.08, epsilon = 1e-9);
    // A tool fed straight in is nowhere wider than above.
    let g = &nut.groove;
    assert!(g.right_mm(g.bore_radius_mm) >= g.right_mm(g.bottom_radius_mm) - 1e-12);
}

#[test]
fn rounded_forms_get_a_nut() {
    // 55°, BS 84 proportions (Machinery's Handbook 31st ed. p. 2087), 1/2-12: crests rounded fully.
    let p = MM_PER_INCH / 12.0;
    let section = form::Section::new(form::SectionNumbers {
        pitch_mm: p,
        depth_mm: 0.640_327 * p,
        right_flank_rad: 27.5f64.to_radians(),
        left_flank_rad: 27.5f64.to_radians(),
        crest_flat_mm: p / 6.0,
        crest_radius_mm: 0.137_32 * p,
        root_radius_mm: 0.137_32 * p,
    })
    .unwrap();
    let t = Thread::new(section, 12.7, 1, Hand::Right).unwrap();
    let mut screw = ScrewForm::from_thread(&t, Source::Standard);
    let nut = design_nut(&screw, &perfect(0.05)).unwrap();
    assert!(nut.mating.passes());
    assert_abs_diff_eq!(nut.mating.axial_play_mm, 0.05, epsilon = 2e-3);
    let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
    assert!(tool.corner_radius_mm > 0.0);
    let cut = groove_cut_by(&tool, &tool.outline_mm, nut.groove.bore_radius_mm, tool.tip_radius_mm)
        .unwrap();
    assert_abs_diff_eq!(
        mate(&t, &cut).unwrap().axial_play_mm,
        nut.mating.axial_play_mm,
        epsilon = 1e-3
    );
    // At the limit of what fits the flat, doubt must not bend the forecast.
    screw.crest_flat_mm.u = 0.005;
    screw.crest_radius_mm.u = 0.01;
    let doubtful = design_nut(&screw, &perfect(0.05)).unwrap();
    assert_abs_diff_eq!(doubtful.axial_play_mm.value, 0.05, epsilon = 2e-3);
    assert!(doubtful.axial_play_mm.u > 0.004 && doubtful.axial_play_mm.u < 0.01);
}

#[test]
fn a_nut_too_small_for_a_bar_is_to_be_tapped() {
    let says = |major: f64, pitch: f64| {
        let nut =
            design_nut(&trapezoidal(major, pitch, 0.15), &NutRequest::with_play(0.05)).unwrap();
        nut.notices.iter().any(|n| n.code == "tap-it")
    };
    assert!(says(6.0, 1.5));
    assert!(!says(24.0, 5.0));
}
