//! What stands beside the picture, stage by stage.

mod bar;
mod checks;
mod compared;
mod duty;
mod form;
mod identity;
mod nut;
mod passes;
mod picture;
mod readings;
mod sheets;
pub mod strip;
mod survey;
mod thread;
mod tool;
mod typed_form;
mod wheels;

use super::command::Command;
use super::howto;
use super::look::palette;
use super::stage::{Stage, Standing};
use super::state::Bench;
use super::widgets;
use eframe::egui::{self, RichText, TextStyle, Ui};

/// Most warnings shown without being asked for.
const MOST_OPEN: usize = 2;

/// Shows the panel of the stage the person is at.
pub fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let stage = bench.stage;
    ui.label(RichText::new(stage.name()).text_style(TextStyle::Heading));
    ui.label(RichText::new(stage.question()).weak());
    ui.add_space(4.0);
    troubles(ui, bench, stage);
    // Until it is known what the thread does, that is the one thing to be read.
    if !withheld(bench) {
        warnings(ui, bench, stage);
    }
    match stage {
        Stage::Survey => survey::side(ui, bench, out),
        Stage::Picture => picture::side(ui, bench, out),
        Stage::Bar => bar::side(ui, bench, out),
        Stage::Thread => thread::side(ui, bench, out),
        Stage::Form => form::side(ui, bench, out),
        Stage::Identity => identity::side(ui, bench, out),
        Stage::Nut => nut::side(ui, bench, out),
        Stage::Tool => tool::side(ui, bench, out),
        Stage::Wheels => wheels::side(ui, bench, out),
        Stage::Passes => passes::side(ui, bench, out),
        Stage::Checks => checks::side(ui, bench, out),
        Stage::Sheets => sheets::side(ui, bench, out),
    }
    next(ui, bench, out);
    ui.add_space(8.0);
    howto::show(ui, stage);
    ui.add_space(12.0);
}

/// Whether this page designs something, and it is not known yet what the thread does.
fn withheld(bench: &Bench) -> bool {
    let designs = matches!(bench.stage, Stage::Nut | Stage::Tool | Stage::Passes | Stage::Sheets);
    let survey_alone = bench.stage == Stage::Sheets
        && bench.findings().is_some_and(|f| f.survey.is_some() && f.screw.is_none());
    designs && !survey_alone && bench.job().duty.is_none()
}

/// Shows what stands in the middle of the window where that is not the picture.
pub fn middle(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if withheld(bench) {
        let text = if bench.stage == Stage::Sheets {
            "Say it at step 7: for some uses nothing is drawn here."
        } else {
            "Say it at the right: for some uses nothing is designed here."
        };
        return empty(ui, "What does the thread do?", text);
    }
    match bench.stage {
        Stage::Survey => survey::middle(ui, bench, out),
        Stage::Identity => identity::middle(ui, bench, out),
        Stage::Nut => nut::middle(ui, bench, out),
        Stage::Tool => tool::middle(ui, bench, out),
        Stage::Wheels => wheels::middle(ui, bench, out),
        Stage::Passes => passes::middle(ui, bench, out),
        Stage::Checks => checks::middle(ui, bench, out),
        Stage::Sheets => sheets::middle(ui, bench, out),
        Stage::Picture | Stage::Bar | Stage::Thread | Stage::Form => {}
    }
}

/// The middle of a page that has nothing to show yet: what it is for, and what it waits for.
fn empty(ui: &mut Ui, title: &str, text: &str) {
    ui.vertical_centered(|ui| {
        ui.add_space(0.3 * ui.available_height());
        ui.label(RichText::new(title).text_style(TextStyle::Heading));
        ui.add_space(4.0);
        ui.scope(|ui| {
            ui.set_max_width(520.0);
            ui.label(RichText::new(widgets::sentence(text)).weak());
        });
        ui.add_space(10.0);
    });
}

/// The way on, for those who do not yet know it.
fn next(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let Some(next) = Stage::ALL.get(bench.stage.number()).copied() else { return };
    let here = bench.standing(bench.stage);
    let waits = bench.standing(next) == Standing::Waiting;
    if here == Standing::Asks || (waits && here == Standing::Waiting) {
        return;
    }
    ui.add_space(10.0);
    let words = format!("Next: {}", next.name());
    if widgets::main_button(ui, &words).clicked() {
        out.push(Command::GoTo(next));
    }
}

/// What ended this stage, or the one before it that it waits for.
fn troubles(ui: &mut Ui, bench: &Bench, stage: Stage) {
    let Some(findings) = bench.findings() else { return };
    let p = palette(ui);
    let here = stage.part();
    for t in findings.troubles.iter().filter(|t| t.part == here) {
        // What was not entered yet is no failure.
        let colour = if t.code == "bar-width" { p.accent } else { p.bad };
        widgets::remark(ui, colour, &t.text);
    }
    let waiting = bench.standing(stage) == Standing::Waiting;
    if let Some(before) = findings.first_trouble().filter(|t| waiting && t.part < here) {
        let name = Stage::ALL.into_iter().find(|s| s.part() == before.part).map_or("", Stage::name);
        widgets::remark(ui, p.doubt, &format!("Waits for {name}: {}", before.text));
    }
}

fn warnings(ui: &mut Ui, bench: &Bench, stage: Stage) {
    let Some(findings) = bench.findings() else { return };
    let p = palette(ui);
    let here = stage.part();
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
    let text = if bench.loaded.is_none() && bench.stage.shows_picture() {
        "Open a picture, or type the thread in at step 5."
    } else if bench.loaded.is_none() {
        what
    } else if bench.job().bar.width_mm.is_none() {
        "Enter the width of the bar first: without it nothing has a size."
    } else if matches!(bench.work, super::state::Work::Busy { .. }) {
        "Being worked out …"
    } else {
        what
    };
    ui.label(RichText::new(text).weak());
}
