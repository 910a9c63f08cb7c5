//! What stands beside the picture, stage by stage.

mod bar;
mod form;
mod identity;
mod picture;
mod section;
mod sheets;
mod thread;
mod tool;

use super::command::Command;
use super::look::palette;
use super::stage::{Stage, Standing};
use super::state::Bench;
use super::widgets;
use eframe::egui::{self, RichText, TextStyle, Ui};
use job::Part;

/// Most warnings shown without being asked for.
const MOST_OPEN: usize = 2;

/// Shows the panel of the stage the person is at.
pub fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let stage = bench.stage;
    ui.label(RichText::new(stage.name()).text_style(TextStyle::Heading));
    ui.label(RichText::new(stage.question()).weak());
    ui.add_space(4.0);
    troubles(ui, bench, stage);
    warnings(ui, bench, stage);
    match stage {
        Stage::Picture => picture::show(ui, bench, out),
        Stage::Bar => bar::show(ui, bench, out),
        Stage::Thread => thread::show(ui, bench, out),
        Stage::Form => form::show(ui, bench, out),
        Stage::Identity => identity::show(ui, bench, out),
        Stage::Tool => tool::show(ui, bench, out),
        Stage::Sheets => sheets::show(ui, bench, out),
    }
    next(ui, bench, out);
    ui.add_space(12.0);
}

/// The way on, for those who do not yet know it.
fn next(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let Some(next) = Stage::ALL.get(bench.stage.number()).copied() else { return };
    if bench.standing(bench.stage) == Standing::Asks || bench.standing(next) == Standing::Waiting {
        return;
    }
    ui.add_space(10.0);
    let words = format!("Next: {}", next.name());
    if widgets::main_button(ui, &words).clicked() {
        out.push(Command::GoTo(next));
    }
}

fn part(stage: Stage) -> Part {
    match stage {
        Stage::Picture => Part::Picture,
        Stage::Bar => Part::Bar,
        Stage::Thread => Part::Thread,
        Stage::Form => Part::Form,
        Stage::Identity => Part::Identity,
        Stage::Tool => Part::Tool,
        Stage::Sheets => Part::Sheets,
    }
}

/// What ended this stage, or the one before it that it waits for.
fn troubles(ui: &mut Ui, bench: &Bench, stage: Stage) {
    let Some(findings) = bench.findings() else { return };
    let p = palette(ui);
    let here = part(stage);
    for t in findings.troubles.iter().filter(|t| t.part == here) {
        // What was not entered yet is no failure.
        let colour = if t.code == "bar-width" { p.accent } else { p.bad };
        widgets::remark(ui, colour, &t.text);
    }
    let waiting = bench.standing(stage) == Standing::Waiting;
    if let Some(before) = findings.first_trouble().filter(|t| waiting && t.part < here) {
        let name = Stage::ALL.into_iter().find(|s| part(*s) == before.part).map_or("", Stage::name);
        widgets::remark(ui, p.doubt, &format!("Waits for {name}: {}", before.text));
    }
}

fn warnings(ui: &mut Ui, bench: &Bench, stage: Stage) {
    let Some(findings) = bench.findings() else { return };
    let p = palette(ui);
    let here = part(stage);
    let mine: Vec<_> = findings.warnings.iter().filter(|w| w.part == here).collect();
    if mine.is_empty() {
        return;
    }
    let title = match mine.len() {
        1 => "One thing to know before using this".to_owned(),
        n => format!("{n} things to know before using this"),
    };
    // Few are read; many would hide what they are about.
    egui::CollapsingHeader::new(widgets::bold(title).color(p.doubt))
        .id_salt(("warnings", stage))
        .default_open(mine.len() <= MOST_OPEN)
        .show(ui, |ui| {
            for w in mine {
                widgets::remark(ui, p.doubt, &w.text);
            }
        });
    ui.add_space(4.0);
}

/// What is shown while there is nothing yet.
fn nothing_yet(ui: &mut Ui, bench: &Bench, what: &str) {
    let text = if bench.loaded.is_none() {
        "Open a picture first."
    } else if bench.job().bar.width_mm.is_none() {
        "Enter the width of the bar first: without it nothing has a size."
    } else if matches!(bench.work, super::state::Work::Busy { .. }) {
        "Being worked out …"
    } else {
        what
    };
    ui.label(RichText::new(text).weak());
}
