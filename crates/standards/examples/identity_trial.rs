//! How often the odds are right: the table of the README, on threads invented, worn and measured by
//! rules of their own.
//!
//! `cargo run --release -p standards --example identity_trial [-- MEASUREMENTS]`

#![expect(clippy::print_stdout, reason = "an example prints")]

#[path = "../tests/support/mod.rs"]
mod support;

use standards::{Measured, Prior, rank};
use std::time::Instant;
use support::trials::{Outcome, Population, calibrate, trial};
use support::{Care, Rng, any_listed, made, measure};

fn main() {
    let cases = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(2000);
    let o = trial(300, 20_240_501, 1.0);
    println!("Held-in trial of 300 forms");
    print_outcome(&o);
    let mut sum = Outcome::default();
    for seed in 1..=20 {
        let o = trial(300, seed, 1.0);
        sum.listed += o.listed;
        sum.in_first_group += o.in_first_group;
        sum.unlisted += o.unlisted;
        sum.called_none += o.called_none;
        sum.sure_and_wrong.extend(o.sure_and_wrong);
    }
    println!("The same with 20 other seeds");
    print_outcome(&sum);
    for says in &sum.sure_and_wrong {
        println!("    {says}");
    }
    let o = trial(300, 20_240_501, 0.25);
    println!("Uncertainties stated four times too small");
    print_outcome(&o);
    for (population, seed, title) in [
        (Population::Believed, 77, "sizes as common as believed"),
        (Population::Judged, 79, "sizes as uneven as judged"),
        (Population::Alike, 78, "every family and size alike"),
    ] {
        let (first, every, outside) = calibrate(cases, seed, population);
        first.print(&format!("\n{cases} measurements, {title}: the answer given first"));
        if population == Population::Believed {
            every.print("The same measurements: every odds given");
        }
        println!("outside the first group: {outside}");
    }
    answer_time();
}

fn print_outcome(o: &Outcome) {
    println!("  listed, first or in the first group: {} of {}", o.in_first_group, o.listed);
    println!("  not listed, called none:             {} of {}", o.called_none, o.unlisted);
    let all = o.listed + o.unlisted;
    println!("  wrong at odds above 95 %:            {} of {all}", o.sure_and_wrong.len());
}

/// Time of one answer over all families, from 500 answers of every care.
fn answer_time() {
    let mut rng = Rng(5);
    let asked: Vec<Measured> = (0..500)
        .map(|_| {
            let (family, size) = any_listed(&mut rng);
            let mut care = Care::of(10f64.powf(rng.between(-0.3, 1.6)));
            care.form_known = rng.even() < 0.75;
            care.diameter_known = rng.even() < 0.9;
            measure(&made(family, size, &mut rng), care, &mut rng)
        })
        .collect();
    let prior = Prior::default();
    let mut times_ms: Vec<f64> = asked
        .iter()
        .map(|m| {
            let start = Instant::now();
            let ranking = rank(m, &prior);
            assert!(ranking.no_standard_probability >= 0.0);
            1e3 * start.elapsed().as_secs_f64()
        })
        .collect();
    times_ms.sort_by(f64::total_cmp);
    let at = |share: f64| times_ms[(share * (times_ms.len() - 1) as f64) as usize];
    println!(
        "\nTime of an answer over all families, ms: median {:.2}, 95 % below {:.2}, longest {:.2}",
        at(0.5),
        at(0.95),
        at(1.0)
    );
}
