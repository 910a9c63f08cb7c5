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
mod output;
mod read;
mod round;
mod text;
mod work;
mod workshop;

pub use args::{Cli, Command};
pub use failure::Failure;
pub use job::today;
pub(crate) use machine::MOST_READINGS_BYTES;
use output::print;
pub use output::{complain, shortened, shown};
pub use text::{
    between, chosen, doubt, form_lines, gained, odds, quantity, straight_lines, words_of,
};

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
            output::raw(&e.render().to_string());
            return status(ExitCode::SUCCESS);
        }
        Err(e) => {
            let text = output::in_words(&e.render().to_string());
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
        Ok(()) => status(ExitCode::SUCCESS),
        Err(failure) => failure.report(units),
    }
}

/// The exit status of what was done: 1 where its result did not reach standard output.
fn status(done: ExitCode) -> ExitCode {
    if output::all_printed() { done } else { ExitCode::from(1) }
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

/// A sentence about what else changed in a folder where sheets were written, with a space in front; or nothing.
pub fn beside_written(written: &job::Written) -> String {
    let names = |paths: &[std::path::PathBuf]| {
        let shown = paths.iter().take(3).filter_map(|p| p.file_name()).map(|n| n.to_string_lossy());
        let more = if paths.len() > 3 { " …" } else { "" };
        format!("{}{more}", shown.collect::<Vec<_>>().join(", "))
    };
    let mut text = String::new();
    if !written.removed.is_empty() {
        let names = names(&written.removed);
        text += &format!(" Taken away, because they are out of date: {names}.");
    }
    if !written.set_aside.is_empty() {
        let names = names(&written.set_aside);
        text += &format!(" Not as they were written here, and kept as: {names}.");
    }
    text
}

/// Prints a value as JSON.
fn print_json<T: serde::Serialize>(value: &T) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(value).map_err(|e| {
        Failure::NotMeasured(format!("the result cannot be written as JSON: {e}").into())
    })?;
    output::raw(&text);
    output::raw("\n");
    Ok(())
}
