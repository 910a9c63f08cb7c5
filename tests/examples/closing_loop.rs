//! Casts, measures, designs, cuts and assembles any number of random screws, and prints how the play
//! came out against its forecast.
//!
//! `cargo run --release -p whole-job-tests --example closing_loop [-- N [WORST]]`; 200 screws and the
//! 15 worst when not given.

#[path = "../closing_loop.rs"]
mod closing_loop;

use lamp::Difficulty;

#[expect(clippy::print_stdout, reason = "this is its work")]
fn main() -> Result<(), std::num::ParseIntError> {
    let mut numbers = std::env::args().skip(1);
    let mut number = |or: usize| numbers.next().map_or(Ok(or), |n| n.parse());
    let (n, show) = (number(200)?, number(15)?);
    let trials = closing_loop::trials(0..n, &[Difficulty::Clean, Difficulty::Workshop]);
    println!("{}", closing_loop::table(&trials));
    println!("Worst\n{}", closing_loop::worst(&trials, show));
    println!("No nut\n{}", closing_loop::refused(&trials));
    Ok(())
}
