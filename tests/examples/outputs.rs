//! Has other programs read the drawings in a folder, and measures their check lines.
//!
//! `cargo run -p whole-job-tests --example outputs -- FOLDER`

use std::path::Path;
use std::process::ExitCode;

#[expect(clippy::print_stdout, reason = "this is its work")]
fn main() -> ExitCode {
    let Some(folder) = std::env::args().nth(1) else {
        eprintln!("which folder?");
        return ExitCode::from(2);
    };
    match whole_job_tests::outputs::check(Path::new(&folder)) {
        Ok(notes) => {
            notes.iter().for_each(|n| println!("{n}"));
            ExitCode::SUCCESS
        }
        Err(wrong) => {
            eprintln!("{wrong}");
            ExitCode::FAILURE
        }
    }
}
