//! How much the fast ways save over the certain ones, as ratios measured side by side.
#![expect(clippy::print_stdout, reason = "a bench shows what it measured")]

use form::{Hand, Section, Source, Thread, units::MM_PER_INCH};
use shop::{
    GearRequest, NutRequest, ScrewForm, ToolSetting, Workmanship, design_nut, find_trains,
    tool_for_nut,
};
use std::hint::black_box;
use std::time::Instant;

/// Seconds for one run, the least of several.
fn seconds<T>(runs: u32, mut f: impl FnMut() -> T) -> f64 {
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            black_box(f());
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Every ordered choice of four wheels, counted.
fn every_choice(wheels: &[u32], wanted: f64, tolerance: f64) -> usize {
    let n = wheels.len();
    let mut found = 0;
    for a in 0..n {
        for b in (0..n).filter(|&b| b != a) {
            for c in (0..n).filter(|&c| c != a && c != b) {
                for d in (0..n).filter(|&d| d != a && d != b && d != c) {
                    let w = |i: usize| f64::from(wheels[i]);
                    let ratio = w(a) * w(c) / (w(b) * w(d));
                    found += usize::from((ratio / wanted - 1.0).abs() <= tolerance);
                }
            }
        }
    }
    found
}

fn main() {
    let wheels: Vec<u32> = (20..=110).step_by(5).chain([63, 80, 127]).collect();
    assert_eq!(wheels.len(), 22);
    let request = GearRequest::new(MM_PER_INCH / 8.0, 1.25, wheels.clone());
    let fast = seconds(20, || find_trains(&request));
    let slow = seconds(5, || every_choice(&wheels, 1.25 / request.leadscrew_mm, 3000e-6));
    println!(
        "change wheels, 22 owned: {:.2} ms; trying every order takes {:.1} times as long",
        fast * 1e3,
        slow / fast
    );

    let Ok(section) = Section::symmetric(4.0, 15f64.to_radians(), 2.25, 1.464) else { return };
    let Ok(thread) = Thread::new(section, 24.0, 1, Hand::Right) else { return };
    let exact = ScrewForm::from_thread(&thread, Source::Entered);
    let perfect = NutRequest { workmanship: Workmanship::PERFECT, ..NutRequest::with_play(0.08) };
    let mut doubtful = exact.clone();
    doubtful.crest_flat_mm.u = 0.004;
    let one = seconds(10, || design_nut(&exact, &perfect));
    let drawn = seconds(10, || design_nut(&doubtful, &NutRequest::with_play(0.08)));
    println!(
        "nut: {:.2} ms without doubt; drawing its doubt takes {:.1} times as long",
        one * 1e3,
        drawn / one
    );
    if let Ok(nut) = design_nut(&exact, &perfect) {
        let tool = seconds(10, || tool_for_nut(&exact, &nut, &ToolSetting::default()));
        println!("tool, side faces sampled: {:.2} ms, {:.2} of a nut", tool * 1e3, tool / one);
    }
}
