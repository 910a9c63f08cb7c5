//! Choosing the picture, and what to know for taking a good one.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::state::{Asked, Bench};
use crate::window::widgets::{card, choice, entry, heading, hint, main_button, remark};
use eframe::egui::{self, Ui};
use picture::DrawnWanted;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    ui.horizontal_wrapped(|ui| {
        if main_button(ui, "Open a picture or job …").clicked() {
            out.push(Command::Ask(Asked::Open));
        }
        if ui.button("Type its path …").clicked() {
            out.push(Command::TypePath(Asked::Open));
        }
    });
    hint(
        ui,
        "Or drop it on the window, or paste it (Ctrl+V). JPEG, PNG, TIFF, BMP, WebP; phone pictures as they are.",
    );
    if let Some(picture) = bench.job().picture.as_ref().filter(|_| bench.loaded.is_none()) {
        let p = palette(ui);
        let text = format!(
            "{} is not there, or cannot be read. Open it where it is now: the job takes it up \
             again, with everything that was entered.",
            picture.path.display()
        );
        remark(ui, p.bad, &text);
    }
    if let (Some(loaded), Some(picture)) = (&bench.loaded, &bench.job().picture) {
        card(ui, |ui| {
            let grey = &loaded.picture.grey;
            ui.label(picture.path.display().to_string());
            let megapixels = (grey.width() * grey.height()) as f64 / 1e6;
            let size =
                format!("{} × {} px, {megapixels:.1} megapixels", grey.width(), grey.height());
            hint(ui, &size);
            if let Some(f) = loaded.picture.focal_35mm {
                hint(ui, &format!("lens like {f:.0} mm on 35 mm film (a hint for the distance)"));
            }
        });
        let about =
            "The same screw and bar again, sharper or from another side: what was entered stays";
        ui.horizontal(|ui| {
            if ui.button("Retake: another picture …").on_hover_text(about).clicked() {
                out.push(Command::Ask(Asked::Retake));
            }
        });
        entry(ui, bench, out, Field::Title, "Name of the job", "Tension screw, floor loom");
        choice(
            ui,
            "The picture shows",
            bench.job().outline,
            &[
                (DrawnWanted::Auto, "find out"),
                (DrawnWanted::Shadow, "a shadow"),
                (DrawnWanted::Line, "a drawn line"),
            ],
            |wanted| out.push(Command::Edit(Edit::Outline(wanted))),
        );
    }
    // While there is no picture, these stand in the middle.
    if super::doors::are_shown(bench) {
        super::remarks(ui, bench);
        return;
    }
    heading(ui, "Demonstrations");
    for (i, (title, story)) in super::super::demonstrations().iter().enumerate() {
        if ui.button(*title).on_hover_text(*story).clicked() {
            out.push(Command::Demonstrate(i));
        }
    }
    if !bench.recent.is_empty() {
        heading(ui, "Lately");
        for path in &bench.recent {
            let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into());
            let shown = ui.add(egui::Button::new(name).truncate());
            if shown.on_hover_text(path.display().to_string()).clicked() {
                out.push(Command::Open(path.clone()));
            }
        }
    }
    super::remarks(ui, bench);
}
