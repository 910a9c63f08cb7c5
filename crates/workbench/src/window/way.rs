//! The way on: the next step that needs the person, or deserves a look before anything is printed.

use super::command::Command;
use super::edit::Edit;
use super::refused;
use super::stage::{Stage, Standing};
use super::state::{Bench, reading_needed, will_not_fit};
use job::Part;

/// Where to go next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    /// The step.
    pub to: Stage,
    /// What is to be done there, in a few words; nothing where it is only the next in the order.
    pub why: &'static str,
    /// Whether this step is done with, so that going on is the next thing to do.
    pub ready: bool,
}

/// The way on from where the person is; nothing at its end. Steps that ask for nothing are passed
/// over: each is one press away in the route card.
#[must_use]
pub fn on(bench: &Bench) -> Option<Way> {
    let here = bench.stage;
    let standing = bench.standing(here);
    let next = || Stage::ALL.get(here.number()).copied();
    let worked = bench.findings().filter(|f| bench.loaded.is_some() || f.screw.is_some());
    let Some(findings) = worked else {
        // Only the wheels, the blank or the wires: what came of it is a sheet.
        let alone = here >= Stage::Wheels && here != Stage::Sheets && standing == Standing::Done;
        if alone && bench.standing(Stage::Sheets) == Standing::Done {
            return Some(Way { to: Stage::Sheets, why: "print it", ready: true });
        }
        // Only the lost motion: the steps in their order.
        let to = next()?;
        let waits = bench.standing(to) == Standing::Waiting && standing == Standing::Waiting;
        let ready = standing != Standing::Asks && !waits;
        return Some(Way { to, why: "", ready });
    };
    // What is about to change is no ground for going anywhere.
    let waits = bench.being_measured();
    let ready = standing != Standing::Asks && !waits;
    let stop = |stage: Stage| {
        // The answer was given, and is no: nothing is missing.
        let refused = findings.refusal.is_some() && matches!(stage, Stage::Nut | Stage::Tool);
        let why = match bench.standing(stage) {
            _ if refused => return None,
            Standing::Asks if refused::at(bench, stage).is_some() => "an entry there is refused",
            Standing::Asks if stage == Stage::Bar && bench.bar_unconfirmed() => {
                "is it what it is taken for?"
            }
            Standing::Asks if stage == Stage::Bar => "how wide is it?",
            Standing::Asks if stage == Stage::Identity => "a reading beside the picture is needed",
            Standing::Asks if stage == Stage::Nut && bench.job().duty.is_none() => {
                "what does the thread do?"
            }
            // What it waits for is said at the step that takes it.
            Standing::Asks if stage == Stage::Nut && reading_needed(findings).is_some() => {
                return None;
            }
            Standing::Asks if stage == Stage::Tool && will_not_fit(findings).is_some() => {
                "a nut cut with the ground tool will not go on"
            }
            Standing::Asks => "something is missing there",
            _ if bench.visited.contains(&stage) => return None,
            Standing::Doubtful => "there is a doubt to look at",
            // A lathe with a gearbox needs none; whoever looked has seen that.
            Standing::Waiting if stage == Stage::Wheels && findings.nut.is_some() => {
                "which wheels cut this lead?"
            }
            Standing::Done if stage == Stage::Form && findings.measurement.is_some() => {
                "look at what was found"
            }
            _ => return None,
        };
        Some(Way { to: stage, why, ready })
    };
    if waits {
        return Some(Way { to: Stage::Form, why: "being measured …", ready });
    }
    if let Some(way) = Stage::ALL.into_iter().filter(|s| *s != here).find_map(stop) {
        return Some(way);
    }
    let printable = matches!(bench.standing(Stage::Sheets), Standing::Done | Standing::Doubtful);
    if here != Stage::Sheets && printable {
        return Some(Way { to: Stage::Sheets, why: "print them", ready });
    }
    next().map(|to| Way { to, why: "", ready })
}

/// Whether the one thing this step waits for is a yes: the bar was found, and is it what it is taken
/// for?
#[must_use]
pub fn asks_for_yes(bench: &Bench) -> bool {
    let fine = bench.findings().is_some_and(|f| f.bar.is_some() && f.trouble(Part::Bar).is_none());
    let fine = fine && refused::at(bench, Stage::Bar).is_none();
    bench.stage == Stage::Bar && fine && bench.bar_unconfirmed() && !bench.being_measured()
}

/// What a press of Enter, or of the coloured button, does here; nothing where something has to be said
/// first.
#[must_use]
pub fn pressed(bench: &Bench) -> Option<Command> {
    if asks_for_yes(bench) {
        return Some(Command::Edit(Edit::BarConfirmed));
    }
    on(bench).filter(|way| way.ready).map(|way| Command::GoTo(way.to))
}
