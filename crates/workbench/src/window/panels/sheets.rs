//! What is printed.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::preview;
use crate::window::state::{Asked, Bench};
use crate::window::widgets::{cautions, choice, entry, heading, hint, main_button, remark};
use eframe::egui::{Button, Ui};
use job::{Duty, PaperSaid};
use shop::About;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
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
        if main_button(ui, "Export the sheets …").clicked() {
            out.push(Command::Ask(Asked::Export));
        }
        if ui.button("Type the folder …").clicked() {
            out.push(Command::TypePath(Asked::Export));
        }
    });
    if job.duty.is_none() {
        hint(ui, "First say what the thread does (7 Nut).");
    }
    hint(
        ui,
        "Each sheet as PDF for A4 and US Letter and as SVG; forms at true scale as DXF, too. All \
         carry check lines in both directions. Print at 100 %, never \"fit to page\".",
    );
    pages(ui, bench, out);
    cautions(ui, &[About::Print, About::Grinding, About::Lathe]);
}

/// The pages there are, to choose which is looked at.
fn pages(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let Some((_, Ok(pages))) = &bench.preview else { return };
    heading(ui, "Pages");
    for (i, page) in pages.iter().enumerate() {
        let here = bench.page.min(pages.len().saturating_sub(1)) == i;
        let words = format!("{} · {}", i + 1, page.title);
        let button = Button::selectable(here, words).frame_when_inactive(true).truncate();
        if ui.add(button).clicked() {
            out.push(Command::Page(i));
        }
    }
}

/// The page as it will print.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, _: &mut Vec<Command>) {
    match &bench.preview {
        Some((_, Ok(pages))) if !pages.is_empty() => {
            preview::show(ui, &pages[bench.page.min(pages.len() - 1)]);
        }
        Some((_, Err(why))) => super::empty(ui, "Nothing to print yet", why),
        _ => super::empty(
            ui,
            "Nothing to print yet",
            "The sheets follow from nut and tool (steps 7 and 8).",
        ),
    }
}
