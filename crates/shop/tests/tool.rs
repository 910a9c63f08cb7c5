//! The tool: what is drawn must cut what was asked for, and what would rub must not be drawn.

mod common;

use approx::assert_abs_diff_eq;
use common::{Lcg, random_thread, thread, trapezoidal};
use form::{Hand, Quantity, Source};
use shop::*;

fn perfect(play: f64) -> NutRequest {
    NutRequest { workmanship: Workmanship::PERFECT, ..NutRequest::with_play(play) }
}

fn settings() -> Vec<ToolSetting> {
    let mut out = Vec::new();
    for turned in [Turned::Square, Turned::ToLeadAngle] {
        for (top_rake_deg, above_centre_mm) in [(0.0, 0.0), (6.0, 0.0), (0.0, 0.2), (-4.0, -0.15)] {
            for stance in [Stance::Near, Stance::FarUpsideDown, Stance::FarReverse] {
                out.push(ToolSetting {
                    turned,
                    top_rake_deg,
                    above_centre_mm,
                    stance,
                    ..ToolSetting::default()
                });
            }
        }
    }
    out
}

#[test]
fn a_tool_cuts_the_groove_it_was_drawn_for() {
    // Solved backward (helicoid into rake plane), then swept forward: the play asked for comes out.
    let mut rng = Lcg(21);
    let mut drawn = 0;
    for _ in 0..12 {
        let t = random_thread(&mut rng);
        let screw = ScrewForm::from_thread(&t, Source::Entered);
        let nut = design_nut(&screw, &perfect(0.08)).unwrap();
        for setting in settings() {
            let tool = match tool_for_nut(&screw, &nut, &setting) {
                Ok(tool) => tool,
                // Steep threads in small bores may have no clearance that frees them.
                Err(ToolError::Rubbing { .. }) => continue,
                Err(e) => panic!("{e}"),
            };
            drawn += 1;
            let groove = groove_cut_by(
                &tool,
                &tool.outline_mm,
                nut.groove.bore_radius_mm,
                tool.tip_radius_mm,
            )
            .unwrap();
            let m = mate(&t, &groove).unwrap();
            assert_abs_diff_eq!(m.axial_play_mm, 0.08, epsilon = 3e-4);
            assert_abs_diff_eq!(
                m.crest_clearance_mm,
                nut.radial_clearance_mm.value,
                epsilon = 2e-3
            );
            // The walls stand where they were wanted, all along, on the right sides.
            let shift = 0.5
                * (nut.groove.right_mm(nut.groove.bottom_radius_mm)
                    + nut.groove.left_mm(nut.groove.bottom_radius_mm));
            for i in 0..=10 {
                let r = nut.groove.bore_radius_mm
                    + 0.85 * f64::from(i) / 10.0
                        * (nut.groove.bottom_radius_mm - nut.groove.bore_radius_mm);
                assert_abs_diff_eq!(
                    groove.right_mm(r) - groove.left_mm(r),
                    nut.groove.width_mm(r),
                    epsilon = 2e-3
                );
                let middle = 0.5 * (groove.right_mm(r) + groove.left_mm(r));
                let wanted = 0.5 * (nut.groove.right_mm(r) + nut.groove.left_mm(r));
                if setting.top_rake_deg == 0.0 && setting.turned == Turned::Square {
                    assert_abs_diff_eq!(middle, wanted - shift, epsilon = 0.1);
                }
            }
        }
    }
    assert!(drawn > 150, "only {drawn} tools could be drawn");
}

#[test]
fn the_nut_tool_copies_the_ridge_and_the_screw_tool_the_groove() {
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.0)).unwrap();
    let s = ToolSetting::default();
    let for_nut = tool_for_nut(&screw, &nut, &s).unwrap();
    let for_screw = tool_for_screw(&screw, &s).unwrap();
    assert_abs_diff_eq!(
        for_nut.tip_flat_mm.value,
        0.366_025 * 5.0 - 0.535_898 * 0.25,
        epsilon = 1e-4
    );
    assert_abs_diff_eq!(
        for_screw.tip_flat_mm.value,
        0.366_025 * 5.0 - 0.535_898 * 0.25,
        epsilon = 1e-4
    );
    assert_abs_diff_eq!(for_nut.left.angle_deg.value, 15.0, epsilon = 1e-9);
    assert_abs_diff_eq!(for_screw.right.angle_deg.value, 15.0, epsilon = 1e-9);
    assert_abs_diff_eq!(for_nut.form_depth_mm.value, nut.infeed_mm.value, epsilon = 1e-9);
    assert_abs_diff_eq!(for_screw.form_depth_mm.value, 2.75, epsilon = 1e-9);
    // Width at the end of the form: tip plus depth times both tangents.
    let wide = for_screw.tip_flat_mm.value + 2.75 * 2.0 * 15f64.to_radians().tan();
    assert_abs_diff_eq!(for_screw.width_at_depth_mm.value, wide, epsilon = 1e-6);
}

#[test]
fn normal_plane_angle_and_relief() {
    // tan αn = tan α cos λ: 15° → 14.9411° (Tr 16 x 4, λ 5.197°), 14.1327° (Tr 20 x 20 P5, λ as printed, 20°00'):
    // calculated; 29° reads 28.93° at 4°, 28.58° at 10°: calculated.
    assert_abs_diff_eq!(normal_plane_angle_deg(15.0, 5.1965), 14.9411, epsilon = 1e-4);
    assert_abs_diff_eq!(normal_plane_angle_deg(15.0, 20.0), 14.1327, epsilon = 1e-4);
    assert_abs_diff_eq!(2.0 * normal_plane_angle_deg(14.5, 4.0), 28.93, epsilon = 0.005);
    assert_abs_diff_eq!(2.0 * normal_plane_angle_deg(14.5, 10.0), 28.58, epsilon = 0.005);
    // atan(tan γ sin α): calculated by hand for γ 8°, α 15°: tan 8° = 0.140541, × 0.258819 =
    // 0.036375 → 2.0832°.
    assert_abs_diff_eq!(relief_normal_to_flank_deg(8.0, 15.0), 2.0832, epsilon = 1e-3);
}

#[test]
fn a_turned_tool_is_near_the_normal_plane_formula() {
    // The exact section against the formula: close at small lead angles, the formula is first order.
    let screw = trapezoidal(16.0, 4.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let turned = ToolSetting { turned: Turned::ToLeadAngle, ..ToolSetting::default() };
    for tool in
        [tool_for_nut(&screw, &nut, &turned).unwrap(), tool_for_screw(&screw, &turned).unwrap()]
    {
        for side in [&tool.left, &tool.right] {
            assert_abs_diff_eq!(side.normal_plane_formula_deg, 14.9411, epsilon = 2e-4);
            assert_abs_diff_eq!(
                side.angle_deg.value,
                side.normal_plane_formula_deg,
                epsilon = 0.15
            );
        }
    }
}

#[test]
fn top_rake_and_height_are_corrected_for() {
    // Calculated check: with top rake γ a flank is seen along a depth longer by 1 / cos γ, and the
    // work turns below or above centre by y / r, which moves the helix by p·y/r, opposite on both
    // sides: the included angle narrows to first order as cos γ.
    let screw = trapezoidal(40.0, 3.0, 0.25);
    let rake = 10.0f64;
    let tool =
        tool_for_screw(&screw, &ToolSetting { top_rake_deg: rake, ..ToolSetting::default() })
            .unwrap();
    let wanted = 2.0 * (15f64.to_radians().tan() * rake.to_radians().cos()).atan().to_degrees();
    assert_abs_diff_eq!(tool.included_angle_deg.value, wanted, epsilon = 0.1);
    assert!(tool.left.angle_deg.value != tool.right.angle_deg.value);
}

#[test]
fn the_leading_side_follows_hand_and_spindle() {
    for (hand, stance, inside_right_leads) in [
        // Inside, near, forward: page-right is the headstock; a right-hand thread feeds there.
        (Hand::Right, Stance::Near, true),
        (Hand::Left, Stance::Near, false),
        (Hand::Right, Stance::FarUpsideDown, true),
        // In reverse both the page and the feed turn round.
        (Hand::Right, Stance::FarReverse, true),
        (Hand::Left, Stance::FarReverse, false),
    ] {
        let t = thread(4.0, 15.0, 2.25, 1.464, 20.0, 1, hand);
        let screw = ScrewForm::from_thread(&t, Source::Entered);
        let nut = design_nut(&screw, &perfect(0.08)).unwrap();
        let setting = ToolSetting { stance, ..ToolSetting::default() };
        let tool = tool_for_nut(&screw, &nut, &setting).unwrap();
        assert_eq!(tool.right.leading, inside_right_leads, "{hand} {stance:?}");
        assert_eq!(tool.left.leading, !inside_right_leads);
        // Outside the page is turned round.
        assert_eq!(tool_for_screw(&screw, &setting).unwrap().right.leading, !inside_right_leads);
        let toward = if (hand == Hand::Right) == (stance != Stance::FarReverse) {
            "feeds toward the headstock"
        } else {
            "feeds toward the tailstock"
        };
        assert!(tool.view.contains(toward), "{}", tool.view);
    }
}

#[test]
fn asymmetric_flanks_go_to_the_right_side() {
    let section = form::Section::new(form::SectionNumbers {
        pitch_mm: 3.0,
        depth_mm: 1.2,
        right_flank_rad: 20f64.to_radians(),
        left_flank_rad: 5f64.to_radians(),
        crest_flat_mm: 1.0,
        ..Default::default()
    })
    .unwrap();
    let t = form::Thread::new(section, 20.0, 1, Hand::Right).unwrap();
    let screw = ScrewForm::from_thread(&t, Source::Entered);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    // Near side, forward, looking down, tip up: the page's right faces the headstock, the picture's
    // right faces the tailstock. The ridge's right flank is copied by the page's left.
    let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
    assert_eq!(tool.left.screw_flank, "right");
    assert_abs_diff_eq!(tool.left.angle_deg.value, 20.0, epsilon = 1e-9);
    assert_abs_diff_eq!(tool.right.angle_deg.value, 5.0, epsilon = 1e-9);
    // Outside: tip up means looking from the operator's side, page-right is the tailstock; the
    // groove's tailstock-side wall is the left flank of the ridge beyond it.
    let tool = tool_for_screw(&screw, &ToolSetting::default()).unwrap();
    assert_eq!(tool.right.screw_flank, "left");
    assert_abs_diff_eq!(tool.right.angle_deg.value, 5.0, epsilon = 1e-9);
}

#[test]
fn side_clearances_follow_the_rule_where_it_suffices() {
    // Common practice: leading = lead angle at the smaller diameter + 3-5°, following = 3-5° - it.
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let tool = tool_for_screw(&screw, &ToolSetting::default()).unwrap();
    let lambda = tool.lead_angle_deg.value;
    // Tr 24 x 5: minor 18.5, atan(5 / (π 18.5)) = 4.917°.
    assert_abs_diff_eq!(lambda, 4.917, epsilon = 1e-3);
    for side in [&tool.left, &tool.right] {
        // 4° - 4.917° would overhang: upright instead.
        let rule = if side.leading { 4.0 + lambda } else { 0.0 };
        assert_abs_diff_eq!(side.clearance_deg, rule, epsilon = 1e-9);
        assert!(side.check.least_clearance_deg > 0.0);
        assert!(side.check.least_clearance_mm > 0.0);
    }
}

#[test]
fn side_clearance_left_over_is_the_angle_less_the_lead_angle() {
    // Square flanks on a large diameter: below the edge the thread closes in by the lead angle and
    // nothing else, so leading clearance less λ, and following clearance plus λ, are left.
    let t = thread(10.0, 0.0, 2.0, 5.0, 300.0, 1, Hand::Right);
    let screw = ScrewForm::from_thread(&t, Source::Entered);
    let setting = ToolSetting {
        side_clearance_deg: Some((5.0, 3.0)),
        height_mm: Some(3.0),
        ..ToolSetting::default()
    };
    let tool = tool_for_screw(&screw, &setting).unwrap();
    let lambda = tool.lead_angle_deg.value;
    for side in [&tool.left, &tool.right] {
        let left_over = if side.leading { 5.0 - lambda } else { 3.0 + lambda };
        assert_abs_diff_eq!(side.check.least_clearance_deg, left_over, epsilon = 0.03);
        assert_abs_diff_eq!(
            side.check.least_clearance_mm,
            left_over.to_radians().tan(),
            epsilon = 0.002
        );
    }
}

#[test]
fn chosen_clearances_leave_two_degrees() {
    let mut rng = Lcg(77);
    for _ in 0..40 {
        let screw = ScrewForm::from_thread(&random_thread(&mut rng), Source::Entered);
        let nut = design_nut(&screw, &perfect(0.08)).unwrap();
        let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
        for side in [&tool.left, &tool.right] {
            assert!(side.check.least_clearance_deg > 1.9, "{:?}", side.check);
        }
        assert!(tool.front.clearance_deg >= tool.front.needed_deg);
    }
}

#[test]
fn rubbing_is_an_error() {
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let lambda = 4.917;
    let with = |leading: f64, following: f64| ToolSetting {
        side_clearance_deg: Some((leading, following)),
        ..ToolSetting::default()
    };
    // Less than the lead angle on the leading side: rubs.
    let e = tool_for_screw(&screw, &with(lambda - 2.0, 3.0)).unwrap_err();
    assert!(matches!(e, ToolError::Rubbing { side: "leading", .. }), "{e}");
    assert!(e.to_string().contains("least clearance that frees it"), "{e}");
    // Swapped, as for the other hand: rubs.
    assert!(tool_for_screw(&screw, &with(4.0 - lambda, 4.0 + lambda)).is_err());
    assert!(tool_for_screw(&screw, &with(4.0 + lambda, 4.0 - lambda)).is_ok());
    // The following side may lean the other way, but not beyond the lead angle at the crest.
    let e = tool_for_screw(&screw, &with(4.0 + lambda, -lambda)).unwrap_err();
    assert!(matches!(e, ToolError::Rubbing { side: "following", .. }), "{e}");
    // A front face without clearance in a bore.
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let e = tool_for_nut(
        &screw,
        &nut,
        &ToolSetting { front_clearance_deg: Some(3.0), ..ToolSetting::default() },
    )
    .unwrap_err();
    assert!(matches!(e, ToolError::FrontRubbing { .. }), "{e}");
}

#[test]
fn uncertainty_reaches_the_drawing() {
    let mut screw = trapezoidal(24.0, 5.0, 0.25);
    screw.crest_flat_mm = Quantity::measured(screw.crest_flat_mm.value, 0.004);
    screw.right_flank_deg = Quantity::measured(15.0, 0.1);
    let nut = design_nut(&screw, &NutRequest::with_play(0.08)).unwrap();
    let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
    assert!(tool.tip_flat_mm.u >= 0.004);
    assert_abs_diff_eq!(tool.left.angle_deg.u, 0.1, epsilon = 1e-12);
    assert_eq!(tool.right.angle_deg.u, 0.0);
    assert_abs_diff_eq!(tool.included_angle_deg.u, 0.1, epsilon = 1e-9);
    // The width at depth is in doubt by the tip's doubt and by the flank's, depth / cos² 15° × 0.1°.
    let flank = tool.form_depth_mm.value / 15f64.to_radians().cos().powi(2) * 0.1f64.to_radians();
    let tip = tool.tip_flat_mm.u.hypot(tool.form_depth_mm.u * 2.0 * 15f64.to_radians().tan());
    assert!(flank > 0.004 && (tool.width_at_depth_mm.u - tip.hypot(flank)).abs() < 2e-4);
    assert!(nut.axial_play_mm.u > 0.01);
}

#[test]
fn a_ground_tool_is_judged_by_the_play() {
    let screw = trapezoidal(24.0, 5.0, 0.25);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let tool = tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
    let flat = tool.tip_flat_mm.value;
    let ground = |left: f64, right: f64, flat: f64| GroundTool {
        left_deg: Quantity::measured(left, 0.02),
        right_deg: Quantity::measured(right, 0.02),
        tip_flat_mm: Quantity::measured(flat, 0.002),
        corner_radius_mm: 0.0,
    };
    let check = |g: GroundTool| check_ground_tool(&screw, &nut, &tool, &g).unwrap();
    let same = check(ground(15.0, 15.0, flat));
    assert_abs_diff_eq!(same.play_change_mm.value, 0.0, epsilon = 1e-6);
    assert_eq!(same.notices[0].code, "tool-as-drawn");
    // 0.03 mm wide is 0.03 mm of play, mended by less infeed.
    let wide = check(ground(15.0, 15.0, flat + 0.03));
    assert_abs_diff_eq!(wide.play_change_mm.value, 0.03, epsilon = 1e-6);
    assert_abs_diff_eq!(
        wide.corrected_infeed_mm.unwrap(),
        nut.infeed_mm.value - 0.03 / nut.play_per_infeed.value,
        epsilon = 1e-6
    );
    // A flank half a degree too steep binds at the bore: less play by the height above the tip.
    let steep = check(ground(14.5, 15.0, flat));
    let lost = nut.infeed_mm.value * (15f64.to_radians().tan() - 14.5f64.to_radians().tan());
    assert_abs_diff_eq!(steep.play_change_mm.value, -lost, epsilon = 1e-3);
    assert_abs_diff_eq!(steep.left_error_deg.value, -0.5, epsilon = 1e-9);
}

#[test]
fn no_clearance_overhangs_and_all_hold_for_the_section_they_are_ground_from() {
    // 8 mm lead on a 16 mm bore: the rule of thumb asks the following side for 4° - 9°.
    let screw = ScrewForm::from_thread(
        &thread(4.0, 15.0, 2.25, 1.464, 20.0, 2, Hand::Right),
        Source::Entered,
    );
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let with = |section| {
        let setting = ToolSetting { section, ..ToolSetting::default() };
        tool_for_nut(&screw, &nut, &setting)
    };
    let usual = with(None).unwrap();
    for side in [&usual.left, &usual.right] {
        assert!(side.clearance_deg >= 0.0, "{}", side.clearance_deg);
    }
    // What is recommended beside them has faces no higher than they hold for.
    for inch in [false, true] {
        let blank = round_blank(&usual, inch).unwrap();
        assert!(0.5 * blank.diameter_mm <= usual.front.height_mm + 1e-9);
    }
    // Own arithmetic: the front of a tool h high at centre height in a bore of radius r needs
    // atan((r - √(r² - h²)) / h), and is given 3° more or 8°.
    let r = usual.tip_radius_mm;
    for (section, height) in [
        (ToolSection::Round { diameter_mm: 4.0 }, 2.0),
        (ToolSection::Square { side_mm: 8.0 }, 8.0),
        (ToolSection::Insert { height_mm: 3.0 }, 3.0f64),
    ] {
        let Ok(tool) = with(Some(section)) else {
            assert!(height > 5.0, "{section:?}");
            continue;
        };
        assert_abs_diff_eq!(tool.front.height_mm, height, epsilon = 1e-12);
        let needed = ((r - (r * r - height * height).sqrt()) / height).atan().to_degrees();
        assert_abs_diff_eq!(tool.front.needed_deg, needed, epsilon = 1e-9);
        assert_abs_diff_eq!(tool.front.clearance_deg, (needed + 3.0).max(8.0), epsilon = 1e-9);
        let said = tool.clearances_hold_for().to_string();
        assert!(said.contains(&format!("{height:.2} mm high")), "{said}");
        assert!(said.contains("facing the tip"), "{said}");
    }
}

#[test]
fn a_turned_tool_says_how_far_and_which_way() {
    // Tr 20 x 8 (P4): d2 18, atan(8 / (π 18)) = 8.05° (own arithmetic).
    let t = thread(4.0, 15.0, 2.25, 1.464, 20.0, 2, Hand::Right);
    let screw = ScrewForm::from_thread(&t, Source::Entered);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    for (stance, way) in [(Stance::Near, "down"), (Stance::FarUpsideDown, "up")] {
        let setting = ToolSetting { turned: Turned::ToLeadAngle, stance, ..ToolSetting::default() };
        let tool = tool_for_nut(&screw, &nut, &setting).unwrap();
        let turn = tool.turn.unwrap();
        assert_abs_diff_eq!(turn.by_deg, 8.05, epsilon = 0.005);
        let words = turn.words();
        assert!(words.contains("8.05°") && words.ends_with(way), "{words}");
        // Outside check, point by point on the helicoid: 1.362 for 1.411 mm at the bottom and 2.501 for
        // 2.616 mm at the bore.
        let (bottom, bore) = turn.wrong_way_narrower_mm;
        assert_abs_diff_eq!(bottom, 1.411 - 1.362, epsilon = 0.003);
        assert_abs_diff_eq!(bore, 2.616 - 2.501, epsilon = 0.003);
        assert!(tool.notices.iter().any(|n| n.code == "turn-direction"));
    }
    assert!(tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap().turn.is_none());
}

#[test]
fn the_leading_side_of_a_turned_tool_goes_with_the_work() {
    // The rake face must stand square to the path of the tool along the helix: set so, it cuts the
    // groove it was drawn for; turned the other way it does not (swept, not solved).
    let t = thread(4.0, 15.0, 2.25, 1.464, 20.0, 2, Hand::Left);
    let screw = ScrewForm::from_thread(&t, Source::Entered);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let turned = ToolSetting { turned: Turned::ToLeadAngle, ..ToolSetting::default() };
    let tool = tool_for_nut(&screw, &nut, &turned).unwrap();
    let (bottom, bore) = tool.turn.unwrap().wrong_way_narrower_mm;
    assert!(bottom > 0.03 && bore > 0.08, "{bottom} {bore}");
}

#[test]
fn the_straight_edge_is_fitted_where_it_cuts() {
    // A steep thread and a tool set square: the exact edge bows. The line ground for it must be the best
    // straight line between tip and bore, not of what runs on into the shank.
    let t = thread(4.0, 15.0, 2.25, 1.464, 20.0, 2, Hand::Right);
    let screw = ScrewForm::from_thread(&t, Source::Entered);
    let nut = design_nut(&screw, &perfect(0.08)).unwrap();
    let setting = ToolSetting { turned: Turned::ToLeadAngle, ..ToolSetting::default() };
    let tools =
        [tool_for_nut(&screw, &nut, &setting).unwrap(), tool_for_screw(&screw, &setting).unwrap()];
    for tool in tools {
        for (side, s) in [(&tool.right, 1.0), (&tool.left, -1.0)] {
            // Own least squares over the outline of that side, down to a depth.
            let angle = |to_mm: f64| {
                let flank: Vec<(f64, f64)> = tool
                    .outline_mm
                    .iter()
                    .filter(|p| s * p[0] > 0.0 && -p[1] <= to_mm)
                    .map(|p| (-p[1], s * p[0]))
                    .collect();
                let n = flank.len() as f64;
                let (mx, my) =
                    flank.iter().fold((0.0, 0.0), |(a, b), (x, y)| (a + x / n, b + y / n));
                let (sxy, sxx) = flank.iter().fold((0.0, 0.0), |(a, b), (x, y)| {
                    (a + (x - mx) * (y - my), b + (x - mx).powi(2))
                });
                (sxy / sxx).atan().to_degrees()
            };
            let cuts = angle(tool.form_depth_mm.value + 1e-6);
            let all = angle(f64::INFINITY);
            assert_abs_diff_eq!(side.angle_deg.value, cuts, epsilon = 0.012);
            // In the bore that is not the line through all of it.
            let apart = (all - cuts).abs();
            assert!(tool.purpose == ToolFor::Screw || apart > 0.02, "{all} {cuts}");
        }
    }
}

#[test]
fn angles_that_cannot_be_told_apart_are_one() {
    let mut screw = trapezoidal(24.0, 5.0, 0.25);
    screw.right_flank_deg = Quantity::measured(16.25, 0.02);
    screw.left_flank_deg = Quantity::measured(16.26, 0.02);
    let tool = |screw: &ScrewForm| {
        let nut = design_nut(screw, &NutRequest::with_play(0.08)).unwrap();
        tool_for_nut(screw, &nut, &ToolSetting::default()).unwrap()
    };
    let (left, right) = tool(&screw).angles_to_grind();
    assert_eq!(left.value, right.value);
    assert_abs_diff_eq!(left.value, 16.255, epsilon = 1e-6);
    screw.left_flank_deg = Quantity::measured(16.35, 0.02);
    let (left, right) = tool(&screw).angles_to_grind();
    assert!((left.value - right.value).abs() > 0.09);
}
