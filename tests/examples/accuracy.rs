//! Prints the README's table: what is true, what the shadow would have told, what was measured.
//!
//! `cargo run --release -p whole-job-tests --example accuracy [-- FOLDER]`; `FOLDER` holds pictures
//! and `truth.json`, and is the project's own when not given.

use whole_job_tests::{house, shadows};

#[expect(clippy::print_stdout, reason = "this is its work")]
fn main() {
    let folder = std::env::args()
        .nth(1)
        .map_or_else(|| house::root().join("tests/data/shadows"), std::path::PathBuf::from);
    let rows: Vec<_> = shadows::in_folder(&folder)
        .into_iter()
        .map(|s| {
            let measured = s.measured(&folder);
            (s, measured)
        })
        .collect();
    print!("{}", shadows::markdown(&rows));
}
