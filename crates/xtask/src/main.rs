//! Makes what a package holds beside the program.
//!
//! ```sh
//! cargo run -p xtask -- man FOLDER              # a man page for the program and each of its commands
//! cargo run -p xtask -- completions FOLDER      # for bash, zsh and fish
//! cargo run -p xtask -- deb PROGRAM FOLDER      # a Debian package of a program that was built
//! ```

use std::path::Path;
use std::process::ExitCode;

/// What is said when it is asked in no way it knows.
const USAGE: &str = "usage: xtask man FOLDER | completions FOLDER | deb PROGRAM FOLDER";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match arguments.as_slice() {
        ["man", folder] => xtask::man(Path::new(folder)),
        ["completions", folder] => xtask::completions(Path::new(folder)),
        ["deb", program, folder] => xtask::package(Path::new(program), Path::new(folder)),
        _ => Err(USAGE.to_owned()),
    };
    match done {
        Ok(files) => {
            let mut out = std::io::stdout().lock();
            for file in files {
                // A reader that went away is no failure.
                let _ = std::io::Write::write_fmt(&mut out, format_args!("{}\n", file.display()));
            }
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("xtask: {why}");
            ExitCode::FAILURE
        }
    }
}
