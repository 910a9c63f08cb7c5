//! Bars, blanks, gauges, casts, setting out, cautions.

mod common;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use common::{Lcg, random_thread, rows, thread, trapezoidal};
use form::{Hand, Quantity, Source};
use shop::*;

fn perfect(play: f64) -> NutRequest {
    NutRequest { workmanship: Workmanship::PERFECT, ..NutRequest::with_play(play) }
}

#[test]
fn lead_angles_as_printed() {
    // tests/data/tr_lead_angles.csv: metric trapezoidal lead angles at d2 as printed; 12 x 3: 5.20°.
    for row in rows(include_str!("data/tr_lead_angles.csv")) {
        let v = |i: usize| row[i].parse::<f64>().unwrap();
        let (d, lead, p, calc) = (v(0), v(1), v(2), v(4));
        let words: Vec<&str> = row[3].split_whitespace().collect();
        let printed: f64 = words[0].parse::<f64>().unwrap()
            + words[2].trim_end_matches('\'').parse::<f64>().unwrap() / 60.0;
        let starts = (lead / p).round() as u32;
        let crest = p * (0.5 - 0.5 * 15f64.to_radians().tan());
        let t = thread(p, 15.0, 0.5 * p, crest, d, starts, Hand::Right);
        let got = t.lead_angle_rad(t.pitch_diameter_mm()).to_degrees();
        assert_abs_diff_eq!(got, calc, epsilon = 1e-4);
        // Printed to the minute, some with d2 rounded first.
        assert_abs_diff_eq!(got, printed, epsilon = 0.02);
    }
    // tests/data/acme_gp.csv (ASME B1.5, Machinery's Handbook 27th ed. p. 1831): 1/2-10: 4°3'.
    for row in rows(include_str!("data/acme_gp.csv")) {
        let v = |i: usize| row[i].parse::<f64>().unwrap();
        let Some((deg, min)) = row[5].split_once(" deg ") else { continue };
        let printed =
            deg.parse::<f64>().unwrap() + min.trim_end_matches('\'').parse::<f64>().unwrap() / 60.0;
        let (d, p, pd) = (v(1), 1.0 / v(2), v(3));
        let half = 14.5f64.to_radians();
        let t = thread(p, 14.5, 0.5 * p, 0.5 * p - 0.5 * p * half.tan(), d, 1, Hand::Right);
        assert_abs_diff_eq!(t.pitch_diameter_mm(), pd, epsilon = 6e-5);
        assert_abs_diff_eq!(
            t.lead_angle_rad(t.pitch_diameter_mm()).to_degrees(),
            printed,
            epsilon = 0.0167
        );
    }
}

#[test]
fn the_largest_bar_enters_and_retracts() {
    // Planted: bore, infeed and chip room; the bar as a circle in the bore, tip beside it.
    let mut rng = Lcg(5);
    for _ in 0..200 {
        let bore = rng.between(6.0, 60.0);
        let infeed = rng.between(0.3, 3.0);
        let room = rng.between(0.1, 0.8);
        let bar = largest_bar_mm(bore, infeed, room);
        if bar <= 0.0 {
            continue;
        }
        let (r, projection) = (0.5 * bore, infeed + room);
        // Full depth: tip at r + infeed, near side of the bar at r - room.
        let near = r + infeed - projection;
        assert!(near <= r - room + 1e-9);
        assert!(near - bar >= -r + room - 1e-9, "far side clears at full depth");
        // Retracted: tip at r - room, far side clears by the room, just.
        let far = r - room - projection - bar;
        assert_abs_diff_eq!(far, -(r - room), epsilon = 1e-9);
    }
}

#[test]
fn a_bar_for_a_nut() {
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
    let bar = boring_bar(&nut, &tool, &BarRequest::default()).unwrap();
    // Bore 19, infeed 2.75, room 0.5: 19 - 2.75 - 1.5 = 14.75.
    assert_abs_diff_eq!(bar.largest_mm, 14.75, epsilon = 1e-9);
    assert_eq!(bar.diameter_mm, 14.0);
    assert!(bar.overhang_mm > nut.length_mm);
    assert!(bar.radial_bending_mm.u > 0.2 * bar.radial_bending_mm.value);
    let carbide =
        boring_bar(&nut, &tool, &BarRequest { carbide: true, ..BarRequest::default() }).unwrap();
    assert!(carbide.radial_bending_mm.value < bar.radial_bending_mm.value);
    // A bar at hand: half the diameter bends sixteen times as much, one too thick is told.
    let own = |diameter_mm: f64, overhang_mm: f64| {
        let request = BarRequest {
            diameter_mm: Some(diameter_mm),
            overhang_mm: Some(overhang_mm),
            ..BarRequest::default()
        };
        boring_bar(&nut, &tool, &request).unwrap()
    };
    // What the slide gives is the same for all, and drops out of the differences.
    let [thin, usual, thick] = [6.0, 12.0, 24.0].map(|d| own(d, 50.0).radial_bending_mm.value);
    assert_abs_diff_eq!((thin - usual) / (usual - thick), 16.0, epsilon = 1e-9);
    let codes =
        |b: &BoringBar| -> Vec<String> { b.notices.iter().map(|n| n.code.clone()).collect() };
    assert!(codes(&own(15.0, 50.0)).contains(&"bar-too-thick".to_owned()));
    assert!(codes(&own(14.0, 20.0)).contains(&"bar-too-short".to_owned()));
    assert!(!codes(&own(14.0, 50.0)).iter().any(|c| c.starts_with("bar-too")));
    // A small nut leaves no room.
    let small = trapezoidal(8.0, 1.5, 0.15);
    let nut = design_nut(&small, &perfect(0.05)).unwrap();
    let tool = tool_for_nut(&small, &nut, &ToolSetting::default()).unwrap();
    let e = boring_bar(&nut, &tool, &BarRequest { chip_room_mm: 1.5, ..BarRequest::default() })
        .unwrap_err();
    assert!(e.to_string().contains("leaves room for a bar of"), "{e}");
    assert!(matches!(
        boring_bar(
            &nut,
            &tool_for_screw(&small, &ToolSetting::default()).unwrap(),
            &BarRequest::default()
        ),
        Err(BarError::NotForNut)
    ));
}

#[test]
fn blanks_and_gauge_hold_the_form() {
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
    let blank = round_blank(&tool, false).unwrap();
    assert!(blank.diameter_mm >= tool.width_at_depth_mm.value + 0.5);
    assert_eq!(blank.diameter_mm, 4.0);
    let inch = round_blank(&tool, true).unwrap();
    assert_relative_eq!(inch.diameter_mm, 25.4 * 3.0 / 16.0);
    let gauge = setting_gauge(&tool, 5.0).unwrap();
    // The notch takes away just the tool's area, and the slot.
    let area = |points: &[[f64; 2]]| {
        let n = points.len();
        (0..n)
            .map(|i| points[i][0] * points[(i + 1) % n][1] - points[(i + 1) % n][0] * points[i][1])
            .sum::<f64>()
            .abs()
            / 2.0
    };
    let depth = tool.outline_mm.iter().map(|p| -p[1]).fold(0.0, f64::max);
    let half = tool.outline_mm.iter().map(|p| p[0]).fold(0.0, f64::max);
    let plate = 2.0 * (half + 5.0) * (depth + 5.0);
    let slot = 0.9 * tool.tip_flat_mm.value * gauge.tip_relief_mm;
    assert_abs_diff_eq!(
        area(&gauge.outline_mm),
        plate - area(&tool.outline_mm) - slot,
        epsilon = 1e-6
    );
    assert!(setting_gauge(&tool, 0.0).is_err());
}

#[test]
fn go_and_no_go_hold_the_play() {
    let mut rng = Lcg(12);
    for _ in 0..20 {
        let screw = ScrewForm::from_thread(&random_thread(&mut rng), Source::Entered);
        let designed = design_nut(&screw, &perfect(0.08)).unwrap();
        let gauges = nut_gauges(&screw, &designed, 0.05, 0.12).unwrap();
        for (play, wanted) in [(0.03, (false, false)), (0.08, (true, false)), (0.15, (true, true))]
        {
            let nut = design_nut(&screw, &perfect(play)).unwrap();
            assert_eq!(gauges.try_on(&screw, &nut.groove).unwrap(), wanted, "play {play}");
        }
        assert!(gauges.bore_go_mm < designed.bore_mm.value);
        assert!(gauges.bore_no_go_mm > designed.bore_mm.value);
    }
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let g = nut_gauges(&screw, &nut, 0.05, 0.12).unwrap();
    // Over wires the thicker plug measures more by its thickness over the tangent (no lead).
    let rise = g.no_go.over_wires_mm.unwrap() - g.go.over_wires_mm.unwrap();
    assert_abs_diff_eq!(rise, 0.07 / 15f64.to_radians().tan(), epsilon = 0.01);
    assert!(nut_gauges(&screw, &nut, 0.12, 0.05).is_err());
}

#[test]
fn tooth_thickness_between_jaws() {
    // ASME B1.5: the ridge is P/2 thick at the pitch line; the jaws, turned to the lead angle, read
    // cos λ of it to first order.
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let t = tooth_thickness(&screw, 1.25).unwrap();
    assert_abs_diff_eq!(
        t.by_formula_mm,
        2.5 * t.lead_angle_deg.value.to_radians().cos(),
        epsilon = 1e-4
    );
    assert_abs_diff_eq!(t.thickness_mm.value, t.by_formula_mm, epsilon = 0.01);
    // Exact contact is never less: the jaw may touch where the flank stands out farthest.
    assert!(t.thickness_mm.value >= t.by_formula_mm - 1e-9);
    // Oracle: the farthest of many points of the flanks in the plane of the jaws.
    let th = screw.thread().unwrap();
    let (s, c) = t.lead_angle_deg.value.to_radians().sin_cos();
    let x: f64 = 12.0 - 1.25;
    let p = 5.0 / (2.0 * std::f64::consts::PI);
    let mut reach = [f64::NEG_INFINITY; 2];
    for i in -4000..=4000 {
        let y = f64::from(i) / 1000.0;
        let r = x.hypot(y);
        if r > 12.0 {
            continue;
        }
        let half = 0.5 * th.section().ridge_thickness_mm(12.0 - r);
        let z = p * y.atan2(x);
        reach[0] = reach[0].max((z + half) * c - y * s);
        reach[1] = reach[1].max(-((z - half) * c - y * s));
    }
    assert_abs_diff_eq!(t.thickness_mm.value, reach[0] + reach[1], epsilon = 1e-6);
    assert!(tooth_thickness(&screw, 5.0).is_err());
}

#[test]
fn a_cast_is_enlarged_again() {
    let truth = trapezoidal(24.0, 5.0, 0.25);
    let mut cast = truth.clone();
    for q in [
        &mut cast.pitch_mm,
        &mut cast.depth_mm,
        &mut cast.crest_flat_mm,
        &mut cast.major_diameter_mm,
    ] {
        q.value *= 1.0 - 0.004;
    }
    let back = form_from_cast(&cast, Quantity::assumed(0.004, 0.001)).unwrap();
    assert_abs_diff_eq!(back.major_diameter_mm.value, 24.0, epsilon = 1e-12);
    assert_abs_diff_eq!(back.pitch_mm.value, 5.0, epsilon = 1e-12);
    // Angles do not shrink; lengths carry the doubt of the shrinkage.
    assert_eq!(back.right_flank_deg, cast.right_flank_deg);
    assert_abs_diff_eq!(back.major_diameter_mm.u, 0.024, epsilon = 1e-4);
    assert!(form_from_cast(&cast, Quantity::assumed(0.5, 0.0)).is_err());
    // A screw for a groove: assembled in that groove it has the play asked for.
    let nut = design_nut(&truth, &perfect(0.0)).unwrap();
    let mut groove = truth.clone();
    groove.major_diameter_mm.value = nut.groove_diameter_mm.value;
    groove.crest_flat_mm.value = nut.tool_tip_flat_mm.value;
    let (screw, notices) = screw_for_groove(&groove, 0.1, 0.25).unwrap();
    assert_eq!(notices[0].code, "old-nut-worn");
    let m = mate(&screw.thread().unwrap(), &nut.groove).unwrap();
    assert_abs_diff_eq!(m.axial_play_mm, 0.1, epsilon = 1e-9);
    assert_abs_diff_eq!(m.crest_clearance_mm, 0.25, epsilon = 1e-9);
}

#[test]
fn a_screw_for_a_fully_rounded_nut_is_rounded_as_far_as_its_flats_go() {
    let mut groove = trapezoidal(24.0, 5.0, 0.25);
    let section = *groove.thread().unwrap().section();
    groove.crest_radius_mm.value = section.largest_radius_mm(section.crest_flat_mm());
    groove.root_radius_mm.value = section.largest_radius_mm(section.root_flat_mm());
    let (screw, _) = screw_for_groove(&groove, 0.1, 0.05).unwrap();
    let section = *screw.thread().unwrap().section();
    let fits = section.largest_radius_mm(section.crest_flat_mm());
    assert_abs_diff_eq!(section.crest_radius_mm(), fits, epsilon = 1e-9);
    assert!(section.root_radius_mm() <= groove.root_radius_mm.value + 1e-12);
}

#[test]
fn axes_under_the_height_gauge() {
    let q = |v: f64| Quantity::measured(v, 0.01);
    let screw = CylinderReading { top_mm: q(62.0), diameter_mm: q(24.0) };
    let pin = CylinderReading { top_mm: q(40.0), diameter_mm: q(10.0) };
    // Axes at 50 and 35.
    let drop = axis_drop_mm(&screw, &pin).unwrap();
    assert_abs_diff_eq!(drop.value, 15.0, epsilon = 1e-12);
    assert_abs_diff_eq!(drop.u, (2.0 * 0.01f64.powi(2) * 1.25).sqrt(), epsilon = 1e-12);
    assert_abs_diff_eq!(axis_below_face_mm(q(70.0), &screw).unwrap().value, 20.0, epsilon = 1e-12);
    let bad = CylinderReading { top_mm: q(1.0), diameter_mm: q(-1.0) };
    assert!(axis_drop_mm(&screw, &bad).unwrap_err().to_string().contains("-1.000 mm"));
}

#[test]
fn opposed_jaws_bring_a_planted_error_to_nothing() {
    // A round bar of radius 20 off centre by (0.8, -0.5); each move leaves a fifth of itself undone.
    let (mut x, mut y) = (0.8, -0.5);
    let mut rounds = Vec::new();
    for _ in 0..4 {
        // Exact reading of an eccentric circle at the four jaws.
        let at = |along: f64, across: f64| along + (400.0f64 - across * across).sqrt() - 20.0;
        let r = JawReadings { at_mm: [at(x, y), at(y, x), at(-x, y), at(-y, x)] };
        let m = jaw_move(&r).unwrap();
        assert_abs_diff_eq!(m.from_1_to_3_mm, x, epsilon = 1e-12);
        assert_abs_diff_eq!(m.from_2_to_4_mm, y, epsilon = 1e-12);
        assert_abs_diff_eq!(m.out_of_round_mm, 0.0, epsilon = 0.02);
        rounds.push(r);
        x -= 0.8 * m.from_1_to_3_mm;
        y -= 0.8 * m.from_2_to_4_mm;
    }
    let c = centring(&rounds, 0.01).unwrap();
    assert!(c.done);
    assert_abs_diff_eq!(c.left_of_error.unwrap(), 0.2, epsilon = 1e-9);
    assert_eq!(centring(&rounds[..2], 0.01).unwrap().rounds_to_go, Some(2));
    let stuck = centring(&[rounds[0], rounds[0]], 0.01).unwrap();
    assert_eq!(stuck.rounds_to_go, None);
    assert!(centring(&[], 0.01).is_err());
}

#[test]
fn what_can_hurt_is_refused() {
    assert!(UseOfThread::MovesOrAdjusts.permit().is_ok());
    for u in UseOfThread::ALL.into_iter().filter(|u| *u != UseOfThread::MovesOrAdjusts) {
        let text = u.permit().unwrap_err().to_string();
        assert!(text.contains(u.words()) && text.contains("licensed"), "{text}");
    }
    let all = cautions_for(&[About::Grinding, About::Lathe, About::Wheels, About::Print]);
    assert_eq!(all.len(), CAUTIONS.len());
    assert_eq!(cautions_for(&[]).len(), 2);
}

#[test]
fn sleeves_and_split_nuts() {
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let with = |kind: NutKind| design_nut(&screw, &NutRequest { kind, ..perfect(0.08) });
    let slope = 2.0 * 15f64.to_radians().tan();
    let split = with(NutKind::Split { kerf_mm: 1.0 }).unwrap();
    assert_abs_diff_eq!(split.play_taken_by_closing_mm.unwrap(), 0.5 * slope, epsilon = 1e-9);
    // Lamé: a thin sleeve follows its outside nearly one for one, a thick one less.
    let sleeve = |od: f64| {
        with(NutKind::Sleeve { outer_diameter_mm: od, interference_mm: 0.02 })
            .unwrap()
            .play_taken_by_closing_mm
            .unwrap()
    };
    assert_abs_diff_eq!(sleeve(25.0), 0.01 * slope, epsilon = 2e-4);
    // a 12.25, b 30: 2ab / (b² + a² - 0.34 (b² - a²)) = 735 / 795.08 = 0.92443, by hand.
    assert_abs_diff_eq!(sleeve(60.0), 0.01 * slope * 0.92443, epsilon = 1e-7);
    assert!(with(NutKind::Sleeve { outer_diameter_mm: 20.0, interference_mm: 0.02 }).is_err());
    assert!(with(NutKind::Split { kerf_mm: -1.0 }).is_err());
    // The bore is 19 mm: a cut of more than a quarter of it leaves no nut.
    let e = with(NutKind::Split { kerf_mm: 5.0 }).unwrap_err().to_string();
    assert!(e.contains("5.00 mm") && e.contains("4.75 mm"), "{e}");
}
