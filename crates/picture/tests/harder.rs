//! Screws and pictures that are not as tidy as one would like.

#![expect(clippy::panic, clippy::print_stdout, reason = "helpers of tests")]

mod scenes;

use picture::{DrawnWanted, EdgePoint, Grey, Scene, Thread, find_bar, find_thread, trace};
use scenes::{Polygon, Shot, distance};

/// Mirror image of an upper edge (left to right), closed into a screw.
fn screw(upper: &[(f64, f64)], shift: f64) -> Polygon {
    let mut all = upper.to_vec();
    let mut lower: Polygon = upper.iter().map(|&(x, y)| (x + shift, -y)).collect();
    lower.reverse();
    all.extend(lower);
    all
}

/// Upper edge of `teeth` teeth from `x0`: crest, flank, root, flank widths; top and depth.
fn teeth(x0: f64, n: usize, widths: [f64; 4], top: f64, depth: impl Fn(usize) -> f64) -> Polygon {
    let mut out = Vec::new();
    let mut x = x0;
    for i in 0..n {
        out.push((x, top));
        x += widths[0];
        out.push((x, top));
        x += widths[1];
        out.push((x, top + depth(i)));
        x += widths[2];
        out.push((x, top + depth(i)));
        x += widths[3];
    }
    out.push((x, top));
    out
}

fn moved(p: Polygon, dx: f64, dy: f64) -> Polygon {
    p.into_iter().map(|(x, y)| (x + dx, y + dy)).collect()
}

fn look(name: &str, shot: &Shot) -> (Scene, Thread) {
    let scene =
        trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap_or_else(|e| panic!("{name}: {e}"));
    let bar = find_bar(&scene, None).unwrap_or_else(|e| panic!("{name}: {e}"));
    let off = bar.width_px - shot.bar_width;
    println!(
        "{name}: bar {off:+.3}, notices {:?}",
        bar.notices.iter().map(|n| n.code).collect::<Vec<_>>()
    );
    let thread = find_thread(&scene, Some(&bar), None).unwrap_or_else(|e| panic!("{name}: {e}"));
    println!(
        "{name}: pitch {:.2}, teeth {}, depth {:.1}, points {} {}, ends {:.0} {:.0}, {:?}",
        thread.pitch_px,
        thread.teeth,
        thread.depth_px,
        thread.upper.len(),
        thread.lower.len(),
        thread.ends_px.0,
        thread.ends_px.1,
        thread.notices.iter().map(|n| n.code).collect::<Vec<_>>()
    );
    assert!(off.abs() < 0.05, "{name}: {off}");
    (scene, thread)
}

fn range(points: &[EdgePoint]) -> (f64, f64) {
    points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |r, p| (r.0.min(p.x), r.1.max(p.x)))
}

fn pitch_within(thread: &Thread, pitch: f64, part: f64) {
    assert!((thread.pitch_px / pitch - 1.0).abs() < part, "{}", thread.pitch_px);
}

#[test]
fn a_bolt_with_head_shank_and_point() {
    // Head to x = -500, shank to -200, nine teeth, a point.
    let mut upper = vec![(-650.0, -260.0), (-500.0, -260.0), (-500.0, -160.0)];
    upper.extend(teeth(-200.0, 9, [25.0, 22.0, 23.0, 20.0], -160.0, |_| 45.0));
    upper.push((680.0, -90.0));
    let shot = Shot { outline: Some(moved(screw(&upper, 0.0), 0.0, -200.0)), ..Shot::default() };
    let (_, thread) = look("bolt", &shot);
    pitch_within(&thread, 90.0, 1e-3);
    let (from, to) = range(&thread.upper);
    // Picture coordinates: the thread runs from 600 to 1410.
    assert!(from > 560.0 && from < 720.0 && to < 1420.0 && to > 1290.0, "{from} {to}");
    assert!(thread.lower.len() > 400);
}

#[test]
fn square_round_sharp_and_fine_threads() {
    let one = |upper: Polygon, shift: f64| Shot {
        outline: Some(moved(screw(&upper, shift), 0.0, -180.0)),
        ..Shot::default()
    };
    let shot = one(teeth(-600.0, 11, [55.0, 0.0, 55.0, 0.0], -240.0, |_| 50.0), 55.0);
    pitch_within(&look("square", &shot).1, 110.0, 1e-3);
    let round: Polygon = (0..=550)
        .map(|i| {
            let x = -600.0 + 2.0 * i as f64;
            (x, -220.0 + 25.0 * (x / 100.0 * std::f64::consts::TAU).cos())
        })
        .collect();
    pitch_within(&look("round", &one(round, 0.0)).1, 100.0, 1e-3);
    let shot = one(teeth(-600.0, 20, [0.0, 30.0, 0.0, 30.0], -220.0, |_| 50.0), 30.0);
    pitch_within(&look("sharp", &shot).1, 60.0, 1e-3);
    let shot = one(teeth(-630.0, 70, [3.0, 6.0, 3.0, 6.0], -220.0, |_| 9.0), 9.0);
    let thread = look("fine", &shot).1;
    pitch_within(&thread, 18.0, 1e-3);
    assert!(thread.notices.iter().any(|n| n.code == "thread-small"));
    let shot = one(teeth(-600.0, 11, [20.0, 10.0, 20.0, 60.0], -220.0, |_| 60.0), 55.0);
    pitch_within(&look("buttress", &shot).1, 110.0, 1e-3);
}

#[test]
fn run_out_and_worn_teeth() {
    // The last four roots get shallower: the run-out of a cut thread.
    let depth = |i: usize| if i < 9 { 50.0 } else { 50.0 - 12.0 * (i - 8) as f64 };
    let upper = teeth(-620.0, 13, [25.0, 20.0, 25.0, 20.0], -220.0, depth);
    let shot = Shot { outline: Some(moved(screw(&upper, 0.0), 0.0, -200.0)), ..Shot::default() };
    pitch_within(&look("run-out", &shot).1, 90.0, 2e-3);
    let wear = |i: usize| 50.0 - 6.0 * (-((i as f64 - 6.0) / 2.0).powi(2)).exp();
    let upper = teeth(-620.0, 13, [25.0, 20.0, 25.0, 20.0], -220.0, wear);
    let shot = Shot { outline: Some(moved(screw(&upper, 0.0), 0.0, -200.0)), ..Shot::default() };
    let thread = look("worn", &shot).1;
    pitch_within(&thread, 90.0, 1e-3);
    assert!(thread.teeth >= 12);
}

#[test]
fn a_leaning_wall() {
    for (keystone, turn) in [((0.06, 0.08), 0.1), ((0.15, 0.0), 0.0), ((-0.1, 0.2), -0.1)] {
        let shot = Shot { keystone, turn, thread_at: (0.0, -150.0), ..Shot::default() };
        let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
        let bar = find_bar(&scene, None).unwrap();
        let truth = shot.bar();
        assert!(bar.edges.iter().flatten().all(|p| distance(&truth, p.x, p.y).abs() < 0.3));
        let thread = find_thread(&scene, Some(&bar), None).unwrap();
        println!(
            "leaning {keystone:?}: {} teeth, {} {}",
            thread.teeth,
            thread.upper.len(),
            thread.lower.len()
        );
        assert!(thread.teeth >= 10 && thread.upper.len() > 1500 && thread.lower.len() > 1500);
        let truth = shot.thread();
        let off = thread.upper.iter().map(|p| distance(&truth, p.x, p.y).abs());
        assert!(off.sum::<f64>() / (thread.upper.len() as f64) < 0.1);
    }
}

#[test]
fn burrs_and_fluff_on_edges() {
    let base = Shot::default();
    let blob = |x: f64, y: f64, r: f64| -> Polygon {
        (0..30)
            .map(|i| {
                let a = i as f64 * std::f64::consts::TAU / 30.0;
                (x + r * a.cos() * (1.0 + 0.3 * (3.0 * a).sin()), y + r * a.sin())
            })
            .collect()
    };
    let truth = base.thread();
    let hair: Polygon = vec![(300.0, 120.0), (380.0, 380.0), (383.0, 380.0), (303.0, 120.0)];
    let others = vec![
        blob(truth[9].0, truth[9].1, 14.0),
        blob(truth[30].0, truth[30].1, 22.0),
        blob(700.0, 830.0, 9.0),
        blob(1000.0, 975.0, 12.0),
        hair,
    ];
    let shot = Shot { others, ..base };
    let (_, thread) = look("burrs", &shot);
    pitch_within(&thread, 110.0, 2e-3);
    assert!(thread.teeth >= 10, "{}", thread.teeth);
    assert!(thread.upper.len() > 1600 && thread.lower.len() > 1500);
}

#[test]
fn a_tooth_in_the_middle_is_broken() {
    let mut upper = teeth(-620.0, 13, [25.0, 20.0, 25.0, 20.0], -220.0, |_| 50.0);
    // The seventh crest is split in two.
    let at = upper.iter().position(|p| p.0 > -620.0 + 6.0 * 90.0 + 1.0).unwrap();
    upper.splice(at..at, [(-74.0, -220.0), (-71.0, -175.0), (-66.0, -175.0), (-62.0, -220.0)]);
    let shot = Shot { outline: Some(moved(screw(&upper, 0.0), 0.0, -200.0)), ..Shot::default() };
    let thread = look("broken", &shot).1;
    pitch_within(&thread, 90.0, 1e-3);
    let (from, to) = range(&thread.upper);
    assert!(thread.teeth >= 12 && from < 260.0 && to > 1250.0, "{from} {to}");
}

#[test]
fn a_thread_running_out_of_the_picture_at_both_ends() {
    let shot = Shot { teeth: 21, ..Shot::default() };
    let (_, thread) = look("long", &shot);
    pitch_within(&thread, 110.0, 1e-3);
    let (from, to) = range(&thread.upper);
    assert!(from < 110.0 && to > 1490.0, "{from} {to}");
}

#[test]
fn faint_and_glaring_light() {
    look("faint", &Shot { dark: 0.3, light: 0.45, noise: 2.0, ..Shot::default() });
    look(
        "corner darker than the object",
        &Shot { dark: 0.12, light: 0.8, falloff: 0.9, ..Shot::default() },
    );
    let glints: Vec<Polygon> = (0..6)
        .map(|i| {
            let x = 300.0 + 170.0 * i as f64;
            vec![(x, 330.0), (x + 40.0, 330.0), (x + 60.0, 560.0), (x + 20.0, 560.0)]
        })
        .collect();
    let (_, thread) = look("glints", &Shot { glints, ..Shot::default() });
    pitch_within(&thread, 110.0, 1e-3);
}

#[test]
fn bent_contrast_is_doubted_by_as_much_as_it_moves_edges() {
    // A camera's "vivid": steeper in the middle of the file's values by a quarter, or by half.
    let seen = |steeper: f64| {
        let shot = Shot { dark: 0.03, light: 0.7, blur: 1.2, ..Shot::default() };
        let bent = |v: f64| v + 2.0 * steeper * v * (1.0 - v) * (2.0 * v - 1.0);
        let samples: Vec<u8> = shot
            .samples()
            .into_iter()
            .map(|v| (255.0 * bent(f64::from(v) / 255.0)).round().clamp(0.0, 255.0) as u8)
            .collect();
        let grey =
            Grey::from_u8(shot.width, shot.height, samples).unwrap_or_else(|| panic!("no picture"));
        let scene = trace(&grey, DrawnWanted::Auto, &|_| true).unwrap_or_else(|e| panic!("{e}"));
        let bar = find_bar(&scene, None).unwrap_or_else(|e| panic!("{e}"));
        (bar.displaced_px, bar.width_px - shot.bar_width, bar.notices)
    };
    let (plain, off, _) = seen(0.0);
    assert!(plain == 0.0 && off.abs() < 0.03, "{plain} {off}");
    for steeper in [0.25, 0.5] {
        let (displaced, off, notices) = seen(steeper);
        println!(
            "steeper by {steeper}: bar {off:+.3} px, each edge said to be {displaced:.3} px off"
        );
        assert!(off.abs() > 0.05 && off.abs() < 3.0 * 2.0 * displaced, "{off} {displaced}");
        assert!(notices.iter().any(|n| n.code == "tones-changed"), "{notices:?}");
    }
}

#[test]
fn an_overexposed_picture_is_said_to_be_so() {
    let shot = Shot { light: 1.6, dark: 0.03, blur: 2.5, falloff: 0.1, ..Shot::default() };
    let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let warning = scene.warnings.iter().find(|n| n.code == "overexposed");
    assert!(warning.is_some_and(|n| n.at.is_some()));
    // A clean white that is no more than white is not overexposed.
    let shot =
        Shot { light: 1.0, dark: 0.0, blur: 0.0, falloff: 0.0, noise: 0.0, ..Shot::default() };
    let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    assert!(scene.warnings.is_empty(), "{:?}", scene.warnings);
    let shot =
        Shot { light: 1.0, dark: 0.0, blur: 1.5, falloff: 0.0, noise: 0.0, ..Shot::default() };
    let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    assert!(scene.warnings.is_empty(), "{:?}", scene.warnings);
}

#[test]
fn failures_name_their_reason() {
    let far = (0.0, 5000.0);
    let no_bar = Shot { bar_at: far, ..Shot::default() };
    let scene = trace(&no_bar.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    assert_eq!(find_bar(&scene, None).unwrap_err().code(), "no-bar");
    assert!(find_thread(&scene, None, None).is_ok());

    let no_thread = Shot { thread_at: far, ..Shot::default() };
    let scene = trace(&no_thread.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let bar = find_bar(&scene, None).unwrap();
    assert_eq!(find_thread(&scene, Some(&bar), None).unwrap_err().code(), "no-thread");

    let plain = Shot {
        outline: Some(vec![(-500.0, -350.0), (500.0, -350.0), (560.0, 0.0), (-440.0, 30.0)]),
        ..Shot::default()
    };
    let scene = trace(&plain.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let bar = find_bar(&scene, None).unwrap();
    assert_eq!(find_thread(&scene, Some(&bar), None).unwrap_err().code(), "too-few-teeth");

    // A banana of a bar.
    let bent: Polygon = {
        let arc = |r: f64| {
            move |i: usize| {
                let a = (i as f64 / 60.0 - 0.5) * 0.0625;
                (800.0 + r * a.sin(), 900.0 + 20000.0 - r * a.cos())
            }
        };
        let mut p: Polygon = (0..=60).map(arc(20060.0)).collect();
        p.extend((0..=60).rev().map(arc(19940.0)));
        p
    };
    let shot = Shot { bar_at: far, others: vec![bent], ..Shot::default() };
    let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let bar = find_bar(&scene, None).unwrap();
    let notice = bar.notices.iter().find(|n| n.code == "bar-not-straight").unwrap();
    assert!(notice.at.is_some());

    let few = Shot { teeth: 3, ..Shot::default() };
    let (_, thread) = look("three teeth", &few);
    assert!(thread.notices.iter().any(|n| n.code == "few-teeth"));

    let soft = Shot { blur: 11.0, ..Shot::default() };
    let scene = trace(&soft.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let thread = find_thread(&scene, None, None).unwrap();
    assert!(thread.notices.iter().any(|n| n.code == "thread-blurred"));
    let bar = find_bar(&scene, None).unwrap();
    println!("soft: bar {:+.3}, blur {:.1}", bar.width_px - soft.bar_width, scene.blur_px);
}

#[test]
fn two_bars_are_remarked_upon() {
    let other: Polygon = vec![(150.0, 1110.0), (1450.0, 1110.0), (1450.0, 1180.0), (150.0, 1180.0)];
    let shot = Shot { others: vec![other], ..Shot::default() };
    let scene = trace(&shot.grey(), DrawnWanted::Auto, &|_| true).unwrap();
    let bar = find_bar(&scene, None).unwrap();
    assert!(bar.notices.iter().any(|n| n.code == "two-bars"));
}
