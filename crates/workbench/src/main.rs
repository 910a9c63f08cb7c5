//! The `flanklight` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    workbench::cli::run()
}
