//! The entry for a thread's name, with the names that may be meant.

use crate::window::command::Command;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::state::Bench;
use crate::window::thread_name;
use crate::window::widgets::{self, entry_id};
use eframe::egui::{Button, RichText, Stroke, StrokeKind, TextEdit, Ui, vec2};

/// What the entry is called.
pub const NAME: &str = "Thread by its name";

/// Shows the entry; under it, while something is typed, the names that it may be the beginning of.
pub(super) fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let field = Field::ThreadName;
    let p = palette(ui);
    let label = ui.label(NAME);
    let mut text = bench.text_of(field);
    let edit = TextEdit::singleline(&mut text)
        .id(entry_id(field))
        .hint_text("M20, Tr 16x4, 3/4-6 ACME, 1/2 BSW")
        .margin(vec2(8.0, 5.0))
        .desired_width(f32::INFINITY);
    let response = ui.add(edit).labelled_by(label.id);
    widgets::keyboard(ui, bench, out, field, &response, &text);
    let wrong = bench.wrong.get(&field);
    if response.has_focus() || wrong.is_some() {
        let colour = if wrong.is_some() { p.bad } else { p.accent };
        let stroke = Stroke::new(2.0, colour);
        ui.painter().rect_stroke(response.rect, 3.0, stroke, StrokeKind::Inside);
    }
    if response.changed() {
        out.push(Command::Type(field, text.clone()));
    }
    widgets::left(ui, out, field, &response);
    if bench.drafts.contains_key(&field) && !text.trim().is_empty() {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing = vec2(5.0, 4.0);
            for name in thread_name::offered(&text) {
                if ui.add(Button::new(RichText::new(&name).small())).clicked() {
                    out.push(Command::Named(name));
                }
            }
        });
    }
    if let Some(wrong) = wrong {
        ui.label(RichText::new(widgets::whole_sentence(wrong)).color(p.bad));
    }
}
