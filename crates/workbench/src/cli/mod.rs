//! The command line: every capability without a window.

mod args;
mod blank;
mod by_name;
mod demo;
mod evidence;
mod failure;
mod ground;
mod machine;
mod measure;
mod naming;
mod read;
mod round;
mod text;
mod work;
mod workshop;

pub use args::{Cli, Command};
pub use failure::Failure;
pub use text::{
    between, chosen, doubt, form_lines, gained, odds, quantity, straight_lines, words_of,
};
pub use work::today;

use clap::error::ErrorKind;
use clap::{CommandFactory, FromArgMatches};
use form::Units;
use std::process::ExitCode;

/// Runs the program.
#[must_use]
pub fn run() -> ExitCode {
    let cli = match command().try_get_matches().and_then(|m| Cli::from_arg_matches(&m)) {
        Ok(cli) => cli,
        Err(e) if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            // Help that cannot be printed needs no second complaint.
            let _ = e.print();
            return ExitCode::SUCCESS;
        }
        Err(e) => {
            let text = e.render().to_string();
            return Failure::Usage(text.trim_start_matches("error: ").into()).report(Units::Mm);
        }
    };
    let units = cli.command.as_ref().map_or(Units::Mm, Command::units);
    let done = match cli.command {
        None => crate::window::open(crate::window::Start::Last),
        Some(Command::Open { job }) => crate::window::open(crate::window::Start::Path(job)),
        Some(Command::Demo { name, out, how }) => demo::run(name.as_deref(), &out, how),
        Some(Command::Measure(m)) => measure::run(&m),
        Some(Command::Match(m)) if m.pitch.is_none() => by_name::run(&m),
        Some(Command::Match(m)) => naming::run(&m),
        Some(Command::Nut { job, play, radial_clearance, made, to, keep, how }) => {
            workshop::nut(&job, (play, radial_clearance), &made, &to, (keep, how))
        }
        Some(Command::Tool { job, what, to, set, keep, how }) => {
            workshop::tool(&job, what, &to, &set, (keep, how))
        }
        Some(Command::Ground(g)) => ground::run(&g),
        Some(Command::Blank(b)) => blank::run(&b),
        Some(Command::Cast(c)) => workshop::cast(&c),
        Some(Command::Gears(g)) => machine::gears(&g),
        Some(Command::Passes { job, cut, to, keep, how }) => {
            machine::passes(&job, &cut, &to, (keep, how))
        }
        Some(Command::Wires(w)) => machine::wires(&w),
        Some(Command::Survey { readings, end_float, play, acceptable, out, how }) => {
            let said = machine::Said { end_float, play, acceptable };
            machine::survey(&readings, &said, out.as_deref(), how)
        }
        Some(Command::Sheets { job, out, only, replace, chart, play, to, set, how }) => {
            let into = workshop::SheetsInto { out, only, replace };
            workshop::sheets(&job, &into, (chart, play), &to, &set, how)
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(units),
    }
}

/// The command line, where a value may begin with a minus: it is then refused for what it is, and not
/// for being an option nobody knows.
#[must_use]
pub fn command() -> clap::Command {
    let reads_numbers = |a: &clap::Arg| {
        let parser = a.get_value_parser();
        a.get_long().is_some()
            && a.get_action().takes_values()
            && parser.possible_values().is_none()
            && parser.type_id() != std::any::TypeId::of::<std::path::PathBuf>()
    };
    Cli::command().mut_subcommands(|c| {
        c.mut_args(|a| {
            let numbers = reads_numbers(&a);
            a.allow_hyphen_values(numbers)
        })
    })
}

/// Prints to standard output; a reader that went away (`| head`) is no failure.
fn print(text: &str) {
    use std::io::Write;
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

/// Prints a value as JSON.
fn print_json<T: serde::Serialize>(value: &T) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(value).map_err(|e| {
        Failure::NotMeasured(format!("the result cannot be written as JSON: {e}").into())
    })?;
    print(&text);
    print("\n");
    Ok(())
}
