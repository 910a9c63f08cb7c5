//! What the thread does in its machine: asked before anything is made for it.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::look::palette;
use crate::window::state::Bench;
use crate::window::widgets::{bold, remark};
use eframe::egui::{self, Ui};
use job::Duty;

/// Asks, or shows the answer; returns whether something may be made.
pub(super) fn permits(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) -> bool {
    let duty = bench.job().duty;
    let ask = |ui: &mut Ui, out: &mut Vec<Command>| {
        for one in Duty::ALL {
            if ui.radio(duty == Some(one), format!("It {}", one.sentence())).clicked() {
                out.push(Command::Edit(Edit::Duty(one)));
            }
        }
    };
    match duty.filter(|d| d.refusal().is_none()) {
        // Answered, the question makes room.
        Some(duty) => {
            let short = duty.sentence().split(';').next().unwrap_or_default();
            egui::CollapsingHeader::new(format!("The thread {short}"))
                .id_salt("duty")
                .show(ui, |ui| ask(ui, out));
        }
        None => {
            ui.label(bold("What does the thread do?"));
            ask(ui, out);
        }
    }
    // A thread that must hold by itself may turn out not to.
    let found = bench.findings().and_then(|f| f.refusal.clone()).filter(|_| duty.is_some());
    if let Some(refusal) = duty.and_then(Duty::refusal).or(found) {
        remark(ui, palette(ui).bad, &refusal);
        return false;
    }
    duty.is_some()
}
