//! The `flanklight` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    workbench::guard::watch();
    workbench::guard::threads();
    workbench::guard::main(workbench::cli::run)
}
