//! Passes, against printed series and against the area they are meant to share out.

mod common;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use common::rows;
use shop::*;

fn request() -> PassRequest {
    PassRequest {
        depth_mm: 2.25,
        tip_flat_mm: 1.33,
        flank_slope: 2.0 * 15f64.to_radians().tan(),
        rule: PassRule::ConstantArea,
        passes: None,
        feed: Feed::Radial,
        material: WorkMaterial::Bronze,
        holding: ToolHolding::Bar { diameter_mm: 8.0, overhang_mm: 35.0, carbide: false },
        most_bending_mm: 0.04,
        spring_passes: 2,
        dial: Dial::METRIC,
        lead_mm: 4.0,
        speed_rpm: 60.0,
        outward: false,
        through: true,
    }
}

#[test]
fn printed_series_of_insert_makers() {
    // tests/data/infeed_series.csv: radial pass depths from insert makers' handbooks, formula
    // column: cumulative depth = ap √φ / √(n-1), φ = .3, 1, 2, ...
    for row in rows(include_str!("data/infeed_series.csv")) {
        let total: f64 = row[3].parse().unwrap();
        let formula: Vec<f64> = row[4].split_whitespace().map(|w| w.parse().unwrap()).collect();
        let series = root_series(total, formula.len() as u32);
        let mut before = 0.0;
        for (depth, wanted) in series.iter().zip(&formula) {
            assert_abs_diff_eq!(depth - before, wanted, epsilon = 1.01e-3);
            before = *depth;
        }
        assert_abs_diff_eq!(before, total, epsilon = 1e-12);
        // The first four rows were printed by that formula.
        if row[0] == "insert maker" {
            let printed: Vec<f64> = row[2].split_whitespace().map(|w| w.parse().unwrap()).collect();
            let mut before = 0.0;
            for (depth, wanted) in series.iter().zip(&printed) {
                assert_abs_diff_eq!(depth - before, wanted, epsilon = 1.1e-3);
                before = *depth;
            }
        }
    }
}

#[test]
fn constant_area_is_constant() {
    for slope in [0.0, 2.0 * 14.5f64.to_radians().tan(), 1.1547, -0.02] {
        for flat in [0.05, 1.33] {
            let r =
                PassRequest { flank_slope: slope, tip_flat_mm: flat, passes: Some(9), ..request() };
            let plan = plan_passes(&r).unwrap();
            let cutting: Vec<&Pass> = plan.passes.iter().filter(|p| !p.spring).collect();
            for p in &cutting {
                assert_relative_eq!(p.area_mm2, plan.area_mm2 / 9.0, max_relative = 1e-9);
            }
            assert_eq!(cutting.last().unwrap().depth_mm, 2.25);
            assert_relative_eq!(plan.area_mm2, 2.25 * (flat + 0.5 * slope * 2.25));
        }
    }
    // With parallel flanks equal area is equal depth.
    let r = PassRequest { flank_slope: 0.0, passes: Some(5), ..request() };
    for p in plan_passes(&r).unwrap().passes.iter().filter(|p| !p.spring) {
        assert_relative_eq!(p.increment_mm, 0.45, max_relative = 1e-12);
    }
}

#[test]
fn stiffness_and_material_set_the_number() {
    let stiff = plan_passes(&PassRequest { holding: ToolHolding::Stiff, ..request() }).unwrap();
    let slim = plan_passes(&PassRequest {
        holding: ToolHolding::Bar { diameter_mm: 8.0, overhang_mm: 32.0, carbide: false },
        ..request()
    })
    .unwrap();
    let carbide = plan_passes(&PassRequest {
        holding: ToolHolding::Bar { diameter_mm: 8.0, overhang_mm: 35.0, carbide: true },
        ..request()
    })
    .unwrap();
    assert!(slim.passes.len() > stiff.passes.len());
    assert!(carbide.passes.len() < slim.passes.len());
    let steel = plan_passes(&PassRequest { material: WorkMaterial::Steel, ..request() }).unwrap();
    let brass = plan_passes(&PassRequest { material: WorkMaterial::Brass, ..request() }).unwrap();
    assert!(steel.passes.len() > brass.passes.len());
    for p in &slim.passes {
        // A rest too thin for a pass of its own goes with the first: a little deeper, a little more.
        assert!(p.bending_mm <= 0.042 && p.increment_mm <= 0.25 + 1e-12, "{p:?}");
    }
    // Too slim to cut at all is an error, not a plan of a thousand passes.
    let e = plan_passes(&PassRequest {
        holding: ToolHolding::Bar { diameter_mm: 2.0, overhang_mm: 150.0, carbide: false },
        most_bending_mm: 0.001,
        ..request()
    })
    .unwrap_err();
    assert!(matches!(e, PassError::TooSlender { .. }), "{e}");
}

#[test]
fn spring_passes_and_dials() {
    let plan = plan_passes(&request()).unwrap();
    let springs: Vec<&Pass> = plan.passes.iter().filter(|p| p.spring).collect();
    assert_eq!(springs.len(), 2);
    assert!(springs.iter().all(|p| p.increment_mm == 0.0 && p.depth_mm == 2.25));
    // 2.25 on a 0.02 dial: the last reading is 2.26, or a diameter dial's 4.50 exactly.
    assert_abs_diff_eq!(plan.dial_error_mm, 0.01, epsilon = 1e-12);
    let diameter = Dial { reads: DialReads::Diameter, ..Dial::METRIC };
    let plan = plan_passes(&PassRequest { dial: diameter, ..request() }).unwrap();
    assert_abs_diff_eq!(plan.passes.last().unwrap().dial.shown, 4.50, epsilon = 1e-9);
    assert_abs_diff_eq!(plan.dial_error_mm, 0.0, epsilon = 1e-12);
    // Run-out: 4 mm lead, 60 turns a minute, half a second: 2 mm and the tool's width.
    let width = 1.33 + 2.25 * 2.0 * 15f64.to_radians().tan();
    assert_relative_eq!(plan.run_out_mm, 2.0 + width);
}

#[test]
fn flank_feed_follows_the_top_slide() {
    let r =
        PassRequest { feed: Feed::Flank { top_slide_deg: 14.5 }, passes: Some(10), ..request() };
    let plan = plan_passes(&r).unwrap();
    let a = 14.5f64.to_radians();
    assert_relative_eq!(plan.sideways_mm, 2.25 * a.tan());
    for p in plan.passes.iter().filter(|p| !p.spring) {
        assert_abs_diff_eq!(p.dial.movement_mm, p.depth_mm / a.cos(), epsilon = 0.0101);
    }
    // The same chip area on one flank and the tip: less force than all round.
    let radial = plan_passes(&PassRequest { feed: Feed::Radial, ..r }).unwrap();
    assert!(plan.passes[9].force_n < radial.passes[9].force_n);
    assert!(plan.passes[9].bending_mm < radial.passes[9].bending_mm);
}

#[test]
fn fixed_steps_end_at_the_depth() {
    let r = PassRequest { rule: PassRule::Fixed { step_mm: 0.1 }, spring_passes: 0, ..request() };
    let plan = plan_passes(&r).unwrap();
    assert_eq!(plan.passes.len(), 23);
    assert_abs_diff_eq!(plan.passes[22].increment_mm, 0.05, epsilon = 1e-9);
    assert_eq!(plan.passes[22].depth_mm, 2.25);
}

#[test]
fn limits_are_named() {
    let text = |r: PassRequest| plan_passes(&r).unwrap_err().to_string();
    assert!(text(PassRequest { depth_mm: 0.0, ..request() }).contains("depth (mm) 0.0000"));
    assert!(text(PassRequest { passes: Some(0), ..request() }).contains("passes 0"));
    assert!(text(PassRequest { depth_mm: f64::NAN, ..request() }).contains("NaN"));
}

#[test]
fn a_rest_too_thin_to_cut_goes_with_the_last_pass() {
    let depths = |depth_mm: f64| -> Vec<f64> {
        let rule = PassRule::Fixed { step_mm: 0.15 };
        let r = PassRequest { depth_mm, rule, spring_passes: 0, ..request() };
        plan_passes(&r).unwrap().passes.iter().map(|p| p.increment_mm).collect()
    };
    let all = depths(1.9502);
    assert_eq!(all.len(), 13);
    assert!((all[12] - 0.1502).abs() < 1e-9, "{all:?}");
    // Half a step is a pass.
    let all = depths(0.375);
    assert_eq!(all.len(), 3);
    assert!((all[2] - 0.075).abs() < 1e-9, "{all:?}");
}

/// Cutting passes of a plan.
fn cutting(plan: &PassPlan) -> Vec<&Pass> {
    plan.passes.iter().filter(|p| !p.spring).collect()
}

#[test]
fn a_bar_that_bends_under_any_cut_is_said_to_be_too_slender() {
    let slender = PassRequest {
        holding: ToolHolding::Bar { diameter_mm: 8.0, overhang_mm: 60.0, carbide: false },
        ..request()
    };
    let e = plan_passes(&slender).unwrap_err();
    let PassError::TooSlender { needs_diameter_mm, may_stand_out_mm, thinnest_mm, .. } = e else {
        panic!("{e}");
    };
    // No thinner than 0.03 mm, what cuts bronze, on a dial of 0.02 mm.
    assert_abs_diff_eq!(thinnest_mm, 0.04, epsilon = 1e-12);
    let said = e.to_string();
    assert!(said.contains("too slender") && said.contains("standing out 60 mm"), "{said}");
    // What it advises does.
    for holding in [
        ToolHolding::Bar { diameter_mm: needs_diameter_mm, overhang_mm: 60.0, carbide: false },
        ToolHolding::Bar { diameter_mm: 8.0, overhang_mm: may_stand_out_mm, carbide: false },
    ] {
        let plan = plan_passes(&PassRequest { holding, ..slender }).unwrap();
        assert!(cutting(&plan).len() < 70, "{}", cutting(&plan).len());
    }
}

#[test]
fn every_pass_moves_the_dial_and_cuts() {
    let bar = |d| ToolHolding::Bar { diameter_mm: d, overhang_mm: 35.0, carbide: false };
    for holding in [ToolHolding::Stiff, bar(8.0), bar(12.0)] {
        for dial in [Dial::METRIC, Dial::INCH, Dial { reads: DialReads::Diameter, ..Dial::METRIC }]
        {
            for feed in [Feed::Radial, Feed::Flank { top_slide_deg: 14.5 }] {
                for rule in [PassRule::ConstantArea, PassRule::RootSeries] {
                    for material in WorkMaterial::ALL {
                        let r = PassRequest { holding, dial, feed, rule, material, ..request() };
                        let plan = match plan_passes(&r) {
                            Ok(plan) => plan,
                            Err(PassError::TooSlender { .. }) => continue,
                            Err(e) => panic!("{e} {r:?}"),
                        };
                        let mut before = (0, 0);
                        for p in cutting(&plan) {
                            let now = (p.dial.turns, p.dial.divisions);
                            assert!(now > before, "{now:?} repeats in {:?}", plan.passes);
                            before = now;
                            let least = material.least_infeed_mm().max(dial.division_mm());
                            // The last ends at the exact depth, half a division off the dial.
                            let slack = 0.51 * dial.division_mm();
                            assert!(p.increment_mm > least - slack, "{p:?} {material:?}");
                            assert!(p.increment_mm <= material.most_infeed_mm() + 1e-9, "{p:?}");
                        }
                        assert_eq!(cutting(&plan).last().unwrap().depth_mm, 2.25);
                    }
                }
            }
        }
    }
}

#[test]
fn a_narrow_tip_takes_as_many_passes_as_the_trade_does() {
    // M20 x 2.5 in bronze, nut from a bore of 17.4: tip 0.107 mm. Tables of insert makers give about 12
    // to 14 passes for this pitch in steel (from memory).
    let m20 = PassRequest {
        depth_mm: 1.45,
        tip_flat_mm: 0.107,
        flank_slope: 2.0 * 30f64.to_radians().tan(),
        holding: ToolHolding::Bar { diameter_mm: 12.0, overhang_mm: 40.0, carbide: false },
        ..request()
    };
    let n = cutting(&plan_passes(&m20).unwrap()).len();
    assert!((9..=16).contains(&n), "{n}");
}

#[test]
fn flank_feed_never_takes_more_passes() {
    let bar = |d| ToolHolding::Bar { diameter_mm: d, overhang_mm: 35.0, carbide: false };
    let forms = [
        // Depth, tip, half angle: Tr 20 x 4, Acme 3/4-6, a left-hand Tr 16 x 4.
        (2.25, 1.35, 15.0),
        (2.37, 1.4, 14.5),
        (2.25, 1.3, 15.0),
    ];
    for (depth_mm, tip_flat_mm, half) in forms {
        for holding in [ToolHolding::Stiff, bar(8.0), bar(10.0)] {
            let count = |feed| {
                let r = PassRequest {
                    depth_mm,
                    tip_flat_mm,
                    flank_slope: 2.0 * f64::to_radians(half).tan(),
                    feed,
                    holding,
                    ..request()
                };
                cutting(&plan_passes(&r).unwrap()).len()
            };
            let flank = count(Feed::Flank { top_slide_deg: half - 0.5 });
            let radial = count(Feed::Radial);
            assert!(flank <= radial, "{flank} along the flank, {radial} straight in");
        }
    }
}

#[test]
fn the_last_cuts_are_thin_and_the_screw_is_tried_before_the_very_last() {
    let plan = plan_passes(&PassRequest { holding: ToolHolding::Stiff, ..request() }).unwrap();
    let cuts = cutting(&plan);
    let finishing: Vec<&&Pass> = cuts.iter().filter(|p| p.finishing).collect();
    assert_eq!(finishing.len(), 2);
    for p in finishing {
        assert!(p.increment_mm < 0.06, "{p:?}");
    }
    let tried: Vec<u32> = plan.passes.iter().filter(|p| p.try_on).map(|p| p.number).collect();
    assert_eq!(tried, [cuts[cuts.len() - 2].number]);
    // A shallow thread has room for one.
    let r = PassRequest { depth_mm: 0.4, holding: ToolHolding::Stiff, ..request() };
    let plan = plan_passes(&r).unwrap();
    assert_eq!(plan.passes.iter().filter(|p| p.finishing).count(), 1);
}

#[test]
fn passes_that_the_dial_cannot_show_are_not_planned_though_asked_for() {
    let r = PassRequest { passes: Some(400), spring_passes: 0, ..request() };
    let plan = plan_passes(&r).unwrap();
    // 2.25 mm are 113 divisions of 0.02 mm.
    assert!(plan.passes.len() <= 113, "{}", plan.passes.len());
    assert!(plan.notices.iter().any(|n| n.code == "fewer-passes"));
}
