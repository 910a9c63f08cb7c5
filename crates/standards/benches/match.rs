//! What a match over all families costs: the time of one ranking, and the pruned search against
//! the exhaustive one.
//!
//! `cargo bench -p standards` prints both; nothing is asserted.

use form::Quantity;
use standards::{Measured, Prior, families, rank, rank_exhaustively, what_next};
use std::hint::black_box;
use std::time::Instant;

fn cases() -> Vec<(&'static str, Measured)> {
    let q = Quantity::measured;
    let fine = Measured {
        pitch_mm: Some(q(4.0, 0.0012)),
        right_flank_deg: Some(q(15.0, 0.05)),
        left_flank_deg: Some(q(15.0, 0.05)),
        depth_mm: Some(q(2.25, 0.01)),
        crest_flat_mm: Some(q(1.464, 0.006)),
        major_diameter_mm: Some(q(24.0, 0.015)),
        ..Measured::default()
    };
    let coarse = Measured {
        major_diameter_mm: Some(q(20.0, 0.3)),
        depth_mm: Some(q(2.2, 0.2)),
        ..Measured::pitch_and_angle(q(4.1, 0.1), q(30.0, 2.0))
    };
    let lead_only = Measured {
        lead_mm: Some(q(8.0, 0.02)),
        included_angle_deg: Some(q(30.0, 1.0)),
        major_diameter_mm: Some(q(20.0, 0.1)),
        ..Measured::default()
    };
    let bare = Measured::pitch_and_angle(q(1.5, 0.03), q(60.0, 2.0));
    let no_pitch = Measured {
        included_angle_deg: Some(q(60.0, 2.0)),
        major_diameter_mm: Some(q(12.0, 0.3)),
        ..Measured::default()
    };
    let hopeless = Measured {
        major_diameter_mm: Some(q(25.0, 2.0)),
        lead_mm: Some(q(4.0, 0.6)),
        ..Measured::pitch_and_angle(q(4.0, 0.6), q(40.0, 15.0))
    };
    vec![
        ("fine", fine),
        ("coarse", coarse),
        ("pitch and angle alone", bare),
        ("lead alone", lead_only),
        ("no pitch", no_pitch),
        ("hopelessly coarse", hopeless),
    ]
}

/// Least time of one call in several rounds, milliseconds.
fn time_ms(mut call: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..7 {
        let start = Instant::now();
        for _ in 0..5 {
            call();
        }
        best = best.min(start.elapsed().as_secs_f64() * 1e3 / 5.0);
    }
    best
}

#[expect(clippy::print_stdout, reason = "a bench prints its result")]
fn main() {
    let prior = Prior::default();
    let sizes: usize = families().iter().map(|f| f.sizes.len()).sum();
    println!("{} families, {sizes} sizes", families().len());
    for (name, measured) in cases() {
        let pruned = time_ms(|| drop(black_box(rank(black_box(&measured), &prior))));
        let all = time_ms(|| drop(black_box(rank_exhaustively(black_box(&measured), &prior))));
        let ranking = rank(&measured, &prior);
        let next = time_ms(|| drop(black_box(what_next(black_box(&measured), &ranking))));
        println!(
            "{name}: {pruned:.2} ms (goal 20 ms), exhaustive {:.1} times that, what next {next:.2} ms",
            all / pruned
        );
    }
}
