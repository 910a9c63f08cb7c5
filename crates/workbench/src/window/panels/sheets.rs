//! What is printed.

use crate::window::command::{Command, Edit};
use crate::window::look::palette;
use crate::window::state::{Asked, Bench, Field};
use crate::window::widgets::{card, choice, entry, heading, hint, main_button, remark};
use eframe::egui::{self, Ui};
use job::{Duty, PaperSaid};

pub(super) fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let job = bench.job();
    let p = palette(ui);
    if let Some(refusal) = job.duty.and_then(Duty::refusal) {
        remark(ui, p.bad, &refusal);
        return;
    }
    entry(ui, bench, out, Field::Title, "Name on the sheets", "Tension screw, floor loom");
    choice(
        ui,
        "Paper",
        job.sheets.paper,
        &[(PaperSaid::A4, "A4"), (PaperSaid::Letter, "US Letter")],
        |paper| out.push(Command::Edit(Edit::Paper(paper))),
    );
    choice(
        ui,
        "Large view of the tool",
        job.sheets.magnification.round() as i64,
        &[(5, "5 : 1"), (10, "10 : 1"), (20, "20 : 1")],
        |m| out.push(Command::Edit(Edit::Magnification(m as f64))),
    );
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        if main_button(ui, "Export the template …").clicked() {
            out.push(Command::Ask(Asked::Export));
        }
        if ui.button("Type the folder …").clicked() {
            out.push(Command::TypePath(Asked::Export));
        }
    });
    if job.duty.is_none() {
        hint(ui, "First say what the thread does (6 Nut and tool).");
    }
    hint(
        ui,
        "PDF for A4 and US Letter, SVG and DXF: the tool at 1 : 1 and enlarged, dimensioned, with \
         check lines in both directions, and where each number came from. Print at 100 %, never \
         \"fit to page\".",
    );
    heading(ui, "Cautions");
    card(ui, |ui| {
        for c in &shop::CAUTIONS {
            ui.horizontal_top(|ui| {
                ui.label("•");
                ui.add(egui::Label::new(c.text).wrap());
            });
        }
    });
}
