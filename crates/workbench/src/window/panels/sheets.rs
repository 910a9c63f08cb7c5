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
    // Side by side, so that the pages are in view.
    ui.columns(2, |sides| {
        choice(
            &mut sides[0],
            "Paper",
            job.sheets.paper,
            &[(PaperSaid::A4, "A4"), (PaperSaid::Letter, "US Letter")],
            |paper| out.push(Command::Edit(Edit::Paper(paper))),
        );
        if bench.findings().is_some_and(|f| f.tool.is_some()) {
            choice(
                &mut sides[1],
                "Large view of the tool",
                job.sheets.magnification.round() as i64,
                &[(10, "as large as fits"), (5, "5 : 1"), (20, "20 : 1")],
                |m| out.push(Command::Edit(Edit::Magnification(m as f64))),
            );
        }
    });
    if bench.sheets_are_old() {
        remark(ui, p.doubt, "What was printed before is of an earlier state of the job.");
    }
    pages(ui, bench, out);
    heading(ui, "As files");
    ui.horizontal_wrapped(|ui| {
        if ui.button("Export the sheets …").on_hover_text("Ctrl+E").clicked() {
            out.push(Command::Ask(Asked::Export));
        }
        if ui.button("Type the folder …").clicked() {
            out.push(Command::TypePath(Asked::Export));
        }
        if let Some((_, Ok(pages))) = &bench.preview
            && let Some(page) = pages.get(bench.page.min(pages.len().saturating_sub(1)))
        {
            let about = format!("of \"{}\", which is shown", page.title);
            if ui.button("Export only this sheet …").on_hover_text(about).clicked() {
                out.push(Command::Ask(Asked::ExportSheet));
            }
        }
    });
    hint(
        ui,
        "Each sheet as PDF for A4 and US Letter and as SVG; forms at true scale as DXF, too. \
              The job's name stands first in every file name.",
    );
    cautions(ui, &[About::Print, About::Grinding, About::Lathe]);
}

/// Printing, where the way on stands on other pages.
pub(super) fn print(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if bench.job().duty.and_then(Duty::refusal).is_some() {
        return;
    }
    if let Some((_, Ok(pages))) = &bench.preview
        && !pages.is_empty()
    {
        hint(ui, "At 100 %, not \"fit to page\". Then measure the check lines: 100 mm.");
        ui.horizontal(|ui| {
            let all = match pages.len() {
                1 => "Print the page …".to_owned(),
                n => format!("Print all {n} pages …"),
            };
            let about = "Ctrl+P: shown in the desktop's PDF viewer, which prints";
            if main_button(ui, &all).on_hover_text(about).clicked() {
                out.push(Command::Print(None));
            }
            if pages.len() > 1 && ui.button("Only the one shown").clicked() {
                out.push(Command::Print(Some(bench.page.min(pages.len() - 1))));
            }
        });
    }
}

/// The pages there are, to choose which is looked at.
fn pages(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let Some((_, Ok(pages))) = &bench.preview else { return };
    heading(ui, "Pages");
    ui.scope(|ui| listed(ui, bench, pages, out));
}

fn listed(ui: &mut Ui, bench: &Bench, pages: &[preview::Page], out: &mut Vec<Command>) {
    hint(ui, "Over the page: wheel zooms, drag moves, double click fits.");
    ui.spacing_mut().item_spacing.y = 3.0;
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
