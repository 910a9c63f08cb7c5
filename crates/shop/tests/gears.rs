//! Change wheels, against published trains and against trying everything.

mod common;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use common::rows;
use form::units::MM_PER_INCH;
use shop::*;

fn tpi(n: f64) -> f64 {
    MM_PER_INCH / n
}

#[expect(clippy::unwrap_used, reason = "a test helper with numbers of its own")]
fn best(request: &GearRequest) -> Train {
    find_trains(request).unwrap().trains.into_iter().next().unwrap()
}

#[test]
fn metric_from_an_inch_screw() {
    // 127 is exact: 3 mm from 8 tpi = 120/127 (calculated; c-n-c.cz document in
    // tests/data/change_gear_examples.csv).
    let t = best(&GearRequest::new(tpi(8.0), 3.0, vec![20, 40, 60, 80, 100, 120, 127]));
    assert_eq!((t.drivers.as_slice(), t.driven.as_slice()), (&[120][..], &[127][..]));
    assert_eq!(t.error_ppm, 0.0);
    assert_relative_eq!(t.pitch_mm, 3.0, max_relative = 1e-14);
    // 127/100 approximated: 80/63 -125 ppm, 47/37 +213 ppm, 14/11 +2147 ppm (calculated; the first
    // two in tests/data/change_gear_examples.csv as -0.012498 % and +0.021281 %).
    for (a, b, ppm) in [(80, 63, -124.98), (47, 37, 212.81), (28, 22, 2147.46)] {
        let t = best(&GearRequest::new(1.0, 1.27, vec![a, b]));
        assert_eq!((t.drivers[0], t.driven[0]), (a, b));
        assert_abs_diff_eq!(t.error_ppm, ppm, epsilon = 0.01);
    }
}

#[test]
fn published_examples() {
    // tests/data/change_gear_examples.csv, read by row.
    let table = rows(include_str!("data/change_gear_examples.csv"));
    let row = |case: &str| {
        table
            .iter()
            .find(|r| r[1].contains(case))
            .unwrap_or_else(|| panic!("no row {case}"))
            .clone()
    };
    // Jones 1914: screw constant 6, 3 mm lead: 90/127, exact.
    assert_eq!(row("lead screw constant 6")[2], "90/127");
    let t = best(&GearRequest::new(tpi(6.0), 3.0, vec![30, 60, 90, 127]));
    assert_eq!((t.drivers[0], t.driven[0], t.error_ppm), (90, 127, 0.0));
    // Jones 1914: 1 3/4 tpi with constant 8: 72 × 64 / (36 × 28).
    assert_eq!(row("1 3/4 tpi")[2], "72*64/(36*28)");
    let t = best(&GearRequest::new(tpi(8.0), tpi(1.75), vec![72, 64, 36, 28]));
    assert_eq!(t.error_ppm, 0.0);
    let (mut a, mut b) = (t.drivers, t.driven);
    a.sort_unstable();
    b.sort_unstable();
    assert_eq!((a, b), (vec![64, 72], vec![28, 36]));
    // American Mechanic: lead screw 2 tpi, cut 5: 40/100.
    assert_eq!(row("lead screw 2 tpi")[2], "40/100");
    let t = best(&GearRequest::new(tpi(2.0), tpi(5.0), vec![40, 100]));
    assert_eq!((t.drivers[0], t.driven[0], t.error_ppm), (40, 100, 0.0));
    // Harold Hall: 3 mm with 8 tpi, wheels 20 to 75 by 5, 21, 38: 3.00038 mm is available.
    let mut wheels: Vec<u32> = (20..=75).step_by(5).collect();
    wheels.extend([21, 38]);
    let found = find_trains(&GearRequest { most: 1000, ..GearRequest::new(tpi(8.0), 3.0, wheels) })
        .unwrap();
    assert!(found.trains.iter().any(|t| (t.pitch_mm - 3.000_38).abs() < 6e-6));
    // Model-engineer forum: 12/17 of 18 tpi: 1.999 mm; 12/16 × 29/30 of 14 tpi: 2.5025 mm. In these
    // the tpi is multiplied, so the wheels stand the other way round.
    let t =
        best(&GearRequest { tolerance_ppm: 1e4, ..GearRequest::new(tpi(18.0), 2.0, vec![17, 12]) });
    assert_abs_diff_eq!(t.pitch_mm, 1.9991, epsilon = 5e-5);
    // 12/16 × 29/30 of 14 tpi: 10.15 tpi, 2.5025 mm.
    assert_eq!(row("12/16 x 29/30")[3], "10.1500 2.5025");
    let small = Bracket { module_mm: 1.5, shaft_diameter_mm: 6.0, ..Bracket::default() };
    let t = best(&GearRequest {
        bracket: Some(small),
        ..GearRequest::new(tpi(14.0), tpi(10.15), vec![16, 30, 12, 29])
    });
    assert_abs_diff_eq!(t.pitch_mm, 2.5025, epsilon = 5e-5);
    // Rose: 66/48 × 36/18 on 4 tpi cuts 11 tpi: 2.75 turns of the spindle to one of the screw.
    assert_eq!(row("66/48 x 36/18")[2], "11 tpi");
    let t = best(&GearRequest {
        bracket: Some(small),
        ..GearRequest::new(tpi(4.0), tpi(11.0), vec![66, 48, 36, 18])
    });
    assert_abs_diff_eq!(t.pitch_mm, tpi(11.0), epsilon = 1e-12);
    // The 30:23 / 37:38 and 22:31 / 34:19 families for 1.27 (homemadetools.net forum).
    for (case, wheels, ppm) in [
        ("30:23 / 37:38", vec![30, 23, 37, 38], 18.02),
        ("22:31 / 34:19", vec![22, 31, 34, 19], -40.11),
    ] {
        let t = best(&GearRequest { bracket: Some(small), ..GearRequest::new(1.0, 1.27, wheels) });
        assert_abs_diff_eq!(t.error_ppm, ppm, epsilon = 0.1);
        let printed: f64 =
            row(case)[2].split(' ').nth(1).unwrap().trim_end_matches('%').parse().unwrap();
        assert_abs_diff_eq!(t.error_ppm, printed * 1e4, epsilon = 0.1);
    }
    // Hobby-machinist 2019: 8 tpi with the 80/63 pair: 1.0: 30/75 ... 3.0: 60/50.
    for (want, driver, screw, pitch) in [
        (1.0, 30, 75, 1.00012),
        (1.25, 30, 60, 1.25016),
        (1.5, 30, 50, 1.50019),
        (2.0, 40, 50, 2.00025),
        (3.0, 60, 50, 3.00037),
    ] {
        let request = GearRequest {
            translation_pair: Some((80, 63)),
            compound: false,
            bracket: Some(Bracket { module_mm: 1.0, shaft_diameter_mm: 8.0, ..Bracket::default() }),
            tolerance_ppm: 200.0,
            ..GearRequest::new(tpi(8.0), want, vec![driver, screw])
        };
        let t = best(&request);
        assert_eq!((t.drivers, t.driven), (vec![driver, 63], vec![80, screw]));
        assert_abs_diff_eq!(t.pitch_mm, pitch, epsilon = 6e-6);
    }
}

#[test]
fn nothing_is_missed_and_nothing_invented() {
    // Oracle: every ordered choice of wheels.
    let wheels = vec![20, 25, 30, 35, 40, 40, 45, 50, 63];
    let request = GearRequest {
        most: usize::MAX,
        tolerance_ppm: 60_000.0,
        bracket: Some(Bracket { shaft_diameter_mm: -1e6, ..Bracket::default() }),
        ..GearRequest::new(3.0, 1.27, wheels.clone())
    };
    let got = find_trains(&request).unwrap();
    let mut oracle = std::collections::BTreeSet::new();
    let n = wheels.len();
    let ok = |r: f64| (3.0 * r / 1.27 - 1.0).abs() <= 60_000e-6;
    for a in 0..n {
        for b in (0..n).filter(|&b| b != a) {
            let w = |i: usize| f64::from(wheels[i]);
            if ok(w(a) / w(b)) {
                oracle.insert((vec![wheels[a]], vec![wheels[b]]));
            }
            for c in (0..n).filter(|&c| c != a && c != b) {
                for d in (0..n).filter(|&d| d != a && d != b && d != c) {
                    let cancels =
                        [wheels[a], wheels[c]].iter().any(|t| [wheels[b], wheels[d]].contains(t));
                    if ok(w(a) * w(c) / (w(b) * w(d))) && !cancels {
                        let (mut x, mut y) =
                            (vec![wheels[a], wheels[c]], vec![wheels[b], wheels[d]]);
                        x.sort_unstable();
                        y.sort_unstable();
                        oracle.insert((x, y));
                    }
                }
            }
        }
    }
    let mut mine: Vec<_> = got
        .trains
        .iter()
        .map(|t| {
            let (mut x, mut y) = (t.drivers.clone(), t.driven.clone());
            x.sort_unstable();
            y.sort_unstable();
            (x, y)
        })
        .collect();
    mine.sort();
    assert!(mine.len() > 10, "{} of {}", mine.len(), oracle.len());
    assert_eq!(mine, oracle.into_iter().collect::<Vec<_>>());
    for pair in got.trains.windows(2) {
        assert!(pair[0].error_ppm.abs() <= pair[1].error_ppm.abs() + 1e-6);
    }
    for t in &got.trains {
        let ratio: f64 = t.drivers.iter().map(|&x| f64::from(x)).product::<f64>()
            / t.driven.iter().map(|&x| f64::from(x)).product::<f64>();
        assert_relative_eq!(t.pitch_mm, 3.0 * ratio, max_relative = 1e-12);
        assert_abs_diff_eq!(t.error_ppm, (t.pitch_mm / 1.27 - 1.0) * 1e6, epsilon = 1e-5);
    }
}

#[test]
fn six_wheels_with_a_translation_pair() {
    let request = GearRequest {
        translation_pair: Some((127, 120)),
        bracket: Some(Bracket { shaft_diameter_mm: 10.0, ..Bracket::default() }),
        most: 1000,
        tolerance_ppm: 50.0,
        ..GearRequest::new(tpi(8.0), 0.7, vec![20, 30, 35, 40, 50, 60, 65, 75])
    };
    let found = find_trains(&request).unwrap();
    let six: Vec<&Train> = found.trains.iter().filter(|t| t.drivers.len() == 3).collect();
    assert!(!six.is_empty());
    for t in &six {
        // The pair is one piece: its wheels are neighbours on one shaft.
        let at = t.driven.iter().position(|&x| x == 127).unwrap();
        assert_eq!(t.drivers[at + 1], 120, "{t:?}");
        assert!(t.error_ppm.abs() <= 50.0);
        let owned: Vec<u32> = t
            .drivers
            .iter()
            .chain(&t.driven)
            .copied()
            .filter(|x| ![127, 120].contains(x))
            .collect();
        assert!(owned.iter().all(|x| request.wheels.contains(x)));
        let mut once = owned.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), owned.len());
    }
    // 0.7 mm = 3.175 × 120/127 × 7/30, exactly.
    assert_eq!(found.trains[0].error_ppm, 0.0);
}

#[test]
fn a_bracket_limits_what_fits() {
    let free =
        GearRequest { most: 1000, ..GearRequest::new(3.0, 1.25, vec![20, 25, 30, 40, 50, 60, 80]) };
    let all = find_trains(&free).unwrap().found;
    let tight = GearRequest {
        bracket: Some(Bracket {
            centres_mm: Some(110.0),
            most_teeth: Some(60),
            ..Bracket::default()
        }),
        ..free.clone()
    };
    let some = find_trains(&tight).unwrap();
    assert!(some.found < all, "{} {all}", some.found);
    for t in &some.trains {
        assert!(t.drivers.iter().chain(&t.driven).all(|&x| x <= 60));
        let reach: u32 =
            t.drivers.iter().chain(&t.driven).chain(&t.idler).sum::<u32>() + t.idler.unwrap_or(0);
        assert!(f64::from(reach) * 0.75 >= 110.0 - 1e-9, "{t:?}");
    }
}

#[test]
fn half_nuts_and_starts() {
    // Shop rule: open where the pitches are multiples; 16 from 8 tpi, not 10 from 8, never metric.
    assert_eq!(half_nuts(&[40], &[80], tpi(8.0)), HalfNuts::OpenAnywhere);
    match half_nuts(&[80], &[100], tpi(8.0)) {
        // 10 from 8 tpi: every half inch.
        HalfNuts::OpenEvery { length_mm, leadscrew_turns } => {
            assert_relative_eq!(length_mm, 12.7);
            assert_eq!(leadscrew_turns, 4);
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(half_nuts(&[120], &[127], tpi(8.0)), HalfNuts::KeepClosed);
    let t = best(&GearRequest::new(3.0, 6.0, vec![60, 30]));
    assert_eq!(
        indexing(2, 3.0, &t),
        vec![
            Indexing::FirstDriver { teeth: 60, by_teeth: 30 },
            Indexing::TopSlide { advance_mm: 3.0 }
        ]
    );
    assert_eq!(indexing(7, 1.0, &t), vec![Indexing::TopSlide { advance_mm: 1.0 }]);
    assert!(indexing(1, 3.0, &t).is_empty());
}

#[test]
fn the_error_is_weighed_against_the_play() {
    let request = GearRequest {
        nut_length_mm: Some(40.0),
        play_mm: Some(0.08),
        ..GearRequest::new(1.0, 1.27, vec![28, 22])
    };
    let t = best(&request);
    // 2147 ppm over 40 mm: 0.086 mm, more than a quarter of 0.08.
    assert_abs_diff_eq!(t.error_over_nut_mm.unwrap(), 0.0859, epsilon = 1e-4);
    assert_eq!(t.within_quarter_play, Some(false));
    let t = best(&GearRequest { wheels: vec![80, 63], ..request });
    assert_eq!(t.within_quarter_play, Some(true));
}

#[test]
fn limits_are_named() {
    let text = |r: GearRequest| find_trains(&r).unwrap_err().to_string();
    assert!(text(GearRequest::new(0.0, 1.0, vec![20, 30])).contains("lead screw pitch 0 mm"));
    assert!(text(GearRequest::new(3.0, 1.0, vec![20])).contains("number of wheels, 1,"));
    assert!(text(GearRequest::new(3.0, 1.0, vec![20, 5])).contains("5 teeth"));
    let none = find_trains(&GearRequest::new(3.0, 0.1, vec![20, 30])).unwrap();
    assert!(none.trains.is_empty());
    assert!(none.notices.iter().any(|n| n.code == "no-train"));
}

#[test]
fn among_errors_that_are_alike_fewer_wheels_come_first() {
    // 35/30 too coarse, 55 × 127 / (75 × 80) too fine by 0.1 ppm less (own arithmetic).
    let two = 35.0 / 30.0;
    let four = 55.0 * 127.0 / (75.0 * 80.0);
    let want = (two + four) / (2.0 + 1e-7);
    let strict = GearRequest::new(1.0, want, vec![30, 35, 55, 75, 80, 127]);
    let places = |request: &GearRequest| {
        let trains = find_trains(request).unwrap().trains;
        let at = |wheels: usize, driven: u32| {
            trains
                .iter()
                .position(|t| t.drivers.len() == wheels && t.driven.contains(&driven))
                .unwrap()
        };
        assert_abs_diff_eq!(trains[at(1, 30)].error_ppm, 1072.63, epsilon = 0.02);
        assert_abs_diff_eq!(trains[at(2, 80)].error_ppm, -1072.53, epsilon = 0.02);
        (at(1, 30), at(2, 80))
    };
    let (plain, compound) = places(&strict);
    assert!(plain > compound, "the least error first, however little it is less");
    let (plain, compound) = places(&GearRequest { alike_ppm: 1.0, ..strict.clone() });
    assert!(plain < compound, "0.1 ppm is no reason for two more wheels");
    // What is exact is like nothing else.
    let exact = GearRequest { want_mm: four, tolerance_ppm: 3000.0, alike_ppm: 1e4, ..strict };
    let first = find_trains(&exact).unwrap().trains.remove(0);
    assert_eq!((first.drivers.len(), first.error_ppm), (2, 0.0));
}

#[test]
fn a_pitch_finer_than_anybody_cuts_is_doubted() {
    let fine = |leadscrew: f64, want: f64| {
        let gears = find_trains(&GearRequest::new(leadscrew, want, vec![20, 30, 98])).unwrap();
        let said = gears.notices.iter().filter(|n| n.code == "unusually-fine");
        said.map(|n| n.text.in_units(form::Units::Inch)).collect::<Vec<_>>()
    };
    assert!(fine(3.175, 25.4 / 80.0).is_empty() && fine(3.175, 0.35).is_empty());
    let said = fine(3.175, 25.4 / 98.0);
    assert!(said[0].starts_with("the lead to cut, 0.0102 in, is unusually fine, 98"), "{said:?}");
    assert!(fine(25.4 / 98.0, 1.0)[0].starts_with("the lead screw's pitch,"));
}

#[test]
fn no_wheel_is_advised_that_is_owned() {
    let said = |wheels: &[u32]| {
        // 3 mm from 8 tpi is 120/127 or 40·63·3/(80·100): exactly, or to 125 ppm.
        let gears = find_trains(&GearRequest::new(3.175, 3.0, wheels.to_vec())).unwrap();
        assert!(gears.trains.is_empty(), "{:?}", gears.trains);
        gears.notices[0].text.to_string()
    };
    let sixty = said(&[40, 60, 100, 120]);
    assert!(sixty.contains("add a 127 or a"), "{sixty}");
    assert!(sixty.contains("of 3.00000 mm:"), "{sixty}");
    // Three wheels that nothing helps are not promised a 127.
    let none = said(&[20, 40, 80]);
    assert!(!none.contains("127"), "{none}");
}

#[test]
fn why_a_train_is_not_possible_is_said() {
    let request = GearRequest::new(3.175, 3.0, vec![20, 40, 50, 60, 63, 80]);
    let why = |drivers: &[u32], driven: &[u32]| why_no_train(&request, drivers, driven).to_string();
    assert_eq!(why(&[40, 30], &[60, 50]), "there is no wheel of 30 teeth");
    assert_eq!(why(&[40], &[40]), "there are not that many wheels of 40 teeth");
    // 40/50 of 8 tpi is 2.54 mm: 0.46 of 3 too fine.
    let told = why(&[40], &[50]);
    assert!(told.starts_with("it cuts 2.54000 mm, -153333 ppm from 3.00000 mm"), "{told}");
}

#[test]
fn a_wheel_that_is_advised_gives_a_train() {
    for (leadscrew, want, wheels) in [
        (tpi(8.0), 3.0, vec![40, 60, 100, 120]),
        (tpi(8.0), 1.25, vec![20, 30, 40, 50, 60, 80]),
        (3.0, tpi(11.0), vec![20, 30, 40, 50, 60]),
        (6.0, 3.5, vec![20, 30, 40, 50, 60]),
    ] {
        let request =
            GearRequest { tolerance_ppm: 300.0, ..GearRequest::new(leadscrew, want, wheels) };
        let found = find_trains(&request).unwrap();
        if !found.trains.is_empty() {
            continue;
        }
        let text = found.notices[0].text.to_string();
        let Some((_, named)) = text.split_once("add a ") else { continue };
        let teeth: u32 = named.split(' ').next().unwrap().parse().unwrap();
        let mut with = request.clone();
        with.wheels.push(teeth);
        assert!(!find_trains(&with).unwrap().trains.is_empty(), "{text}");
    }
    // What is missing from 10 to 0.5 mm is a step of 20 to 1, and no 127.
    let wheels: Vec<u32> = (20..=100).step_by(5).collect();
    let found = find_trains(&GearRequest::new(10.0, 0.5, wheels)).unwrap();
    let text = found.notices[0].text.to_string();
    assert!(text.contains("19 to 1 at most, and 20 to 1 is wanted"), "{text}");
    assert!(!text.contains("127"), "{text}");
}

#[test]
fn no_wheel_runs_into_a_shaft_at_the_other_end() {
    // Own geometry: between centres 60 mm apart a wheel of t teeth on either end reaches
    // 0.75 (t + 2) mm, and the other shaft stands 8 mm nearer than its centre.
    let bracket = Bracket { centres_mm: Some(60.0), ..Bracket::default() };
    let wheels: Vec<u32> = (20..=80).step_by(5).collect();
    let request =
        GearRequest { bracket: Some(bracket), most: 1000, ..GearRequest::new(3.0, 1.25, wheels) };
    let found = find_trains(&request).unwrap();
    assert!(!found.trains.is_empty());
    for t in found.trains.iter().filter(|t| t.drivers.len() > 1) {
        for end in [t.drivers[0], *t.driven.last().unwrap()] {
            assert!(0.75 * (f64::from(end) + 2.0) + 8.0 < 60.0, "{t:?}");
        }
    }
}

#[test]
fn of_exact_trains_a_balanced_one_comes_first() {
    // 4 mm from 1 mm: 80/20 is a step of 4 to 1 up, 100/50 × 60/30 two of 2 to 1.
    let request = GearRequest::new(1.0, 4.0, vec![20, 30, 50, 60, 80, 100]);
    let found = find_trains(&request).unwrap();
    let first = &found.trains[0];
    assert_eq!(first.error_ppm, 0.0);
    let steps = first.drivers.iter().zip(&first.driven);
    let steepest = steps.map(|(&a, &b)| f64::from(a) / f64::from(b)).fold(0.0, f64::max);
    assert!(steepest <= 3.0, "{first:?}");
    assert!(found.trains.iter().any(|t| t.drivers == [80] && t.driven == [20]));
    // Where it is all there is, it is shown.
    let alone = find_trains(&GearRequest { wheels: vec![20, 80], ..request }).unwrap();
    assert_eq!(alone.trains[0].drivers, [80]);
}

#[test]
fn why_four_wheels_come_before_two_is_said() {
    let wheels = vec![30, 35, 55, 75, 80, 127];
    let want = 55.0 * 127.0 / (75.0 * 80.0) * (1.0 + 1019e-6);
    let found = find_trains(&GearRequest::new(1.0, want, wheels)).unwrap();
    assert_eq!(found.trains[0].drivers.len(), 2);
    let said = found.notices.iter().find(|n| n.code == "simpler-train").unwrap().text.to_string();
    assert!(said.contains("35 / 30") && said.contains("fewer wheels"), "{said}");
    // An exact train needs no excuse.
    let exact = find_trains(&GearRequest::new(1.0, 35.0 / 30.0, vec![30, 35, 40, 60])).unwrap();
    assert!(!exact.notices.iter().any(|n| n.code == "simpler-train"));
}
