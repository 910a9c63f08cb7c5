//! Prints the README's tables: what is true, what the shadow would have told, what was measured; and
//! how far it is off beside what it may be.
//!
//! `cargo run --release -p whole-job-tests --example accuracy [-- FOLDER]`; `FOLDER` holds pictures
//! and `truth.json`. When not given it is the folder `shared/shadows` beside the project's, where there
//! is one, and otherwise the project's own set.

use std::path::PathBuf;
use whole_job_tests::{house, shadows};

#[expect(clippy::print_stdout, reason = "this is its work")]
fn main() {
    let own = house::root().join("tests/data/shadows");
    let beside = house::root().parent().map(|p| p.join("shared").join("shadows"));
    let folder = std::env::args()
        .nth(1)
        .map(PathBuf::from)
        .unwrap_or_else(|| beside.filter(|f| f.join("truth.json").is_file()).unwrap_or(own));
    let rows: Vec<_> = shadows::in_folder(&folder)
        .into_iter()
        .map(|s| {
            let measured = s.measured(&folder);
            (s, measured)
        })
        .collect();
    println!("{}: {} pictures\n", folder.display(), rows.len());
    println!("{}", shadows::markdown(&rows));
    print!("{}", shadows::limits(&rows));
}
