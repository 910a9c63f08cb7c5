//! Casts and measures any number of random pictures, and prints how often 95 % intervals hold the
//! truth.
//!
//! `cargo run --release -p whole-job-tests --example coverage [-- N [WORST [FIRST [RUN]]]]`; 510
//! pictures from seed 0 and the 15 furthest off when not given. With RUN every thread is put on a cone
//! of 1:RUN.

#[path = "../coverage.rs"]
mod coverage;

use lamp::Difficulty;

#[expect(clippy::print_stdout, reason = "this is its work")]
fn main() -> Result<(), std::num::ParseIntError> {
    let mut numbers = std::env::args().skip(1);
    let mut number = |or: usize| numbers.next().map_or(Ok(or), |n| n.parse());
    let (n, show, first) = (number(510)?, number(15)?, number(0)?);
    let run = number(0)?;
    let taper = if run > 0 { 1.0 / run as f64 } else { 0.0 };
    let trials = coverage::trials(first..first + n, &Difficulty::ALL, taper);
    println!("{}", coverage::table(&trials));
    println!("Furthest off\n{}", coverage::worst(&trials, show));
    Ok(())
}
