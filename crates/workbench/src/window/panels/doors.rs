//! The page one begins on: the ways into the work.

use super::by_name;
use crate::window::command::Command;
use crate::window::look::palette;
use crate::window::preview;
use crate::window::stage::Stage;
use crate::window::state::{Asked, Bench, Work};
use crate::window::widgets::{bold, hint, main_button};
use eframe::egui::{
    self, Button, ColorImage, Frame, Image, Margin, RichText, ScrollArea, Stroke, Ui, vec2,
};
use std::sync::{Arc, OnceLock};

/// Widest that the page is, points.
const WIDEST: f32 = 880.0;
/// Two doors stand beside each other from this width on.
const TWO: f32 = 620.0;
/// Jobs and pictures of late that are shown.
const MOST_RECENT: usize = 5;

/// Whether the page is shown: there is no picture, and nothing else stands in the middle.
pub fn are_shown(bench: &Bench) -> bool {
    bench.stage == Stage::Picture && bench.loaded.is_none()
}

/// Shows the doors.
pub fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let p = palette(ui);
    ui.painter().rect_filled(ui.max_rect(), 0.0, p.table);
    if matches!(bench.work, Work::Busy { .. }) {
        ui.vertical_centered(|ui| {
            ui.add_space(0.28 * ui.available_height());
            ui.label(RichText::new("One moment …").heading());
        });
        return;
    }
    ScrollArea::vertical().id_salt("doors").auto_shrink(false).show(ui, |ui| {
        let room = ui.available_width();
        let width = (room - 40.0).min(WIDEST);
        ui.add_space(14.0);
        ui.horizontal(|ui| {
            ui.add_space(0.5 * (room - width));
            ui.vertical(|ui| {
                ui.set_width(width);
                all(ui, bench, width, out);
            });
        });
        ui.add_space(14.0);
    });
}

fn all(ui: &mut Ui, bench: &Bench, width: f32, out: &mut Vec<Command>) {
    ui.label(RichText::new("What do you have?").heading());
    ui.add_space(4.0);
    side_by_side(ui, width, |ui, which| match which {
        0 => door(ui, "A picture of the screw's shadow", |ui| {
            hint(
                ui,
                "A rod of known width beside the screw, light from behind. Drop it here, or paste it.",
            );
            ui.horizontal(|ui| {
                if main_button(ui, "Choose a picture …").clicked() {
                    out.push(Command::Ask(Asked::Open));
                }
            });
        }),
        _ => door(ui, "A thread whose name is known", |ui| by_name::show(ui, bench, out)),
    });
    side_by_side(ui, width, |ui, which| match which {
        0 => door(ui, "Only a lead to cut", |ui| {
            hint(ui, "Which wheels of your lathe cut it, and how far it is off.");
            ui.horizontal(|ui| {
                if ui.button("Change wheels only").clicked() {
                    out.push(Command::GoTo(Stage::Wheels));
                }
            });
        }),
        _ => door(ui, "Only a slide with lost motion", |ui| {
            hint(ui, "How much is the nut's, the screw's and the thrust collar's.");
            ui.horizontal(|ui| {
                if ui.button("Lost motion only").clicked() {
                    out.push(Command::GoTo(Stage::Survey));
                }
            });
        }),
    });
    recent(ui, bench, out);
    ui.add_space(8.0);
    ui.horizontal_wrapped(|ui| {
        ui.label(bold("Invented threads to look round in"));
        if ui.button("Show me on a demonstration").clicked() {
            out.push(Command::Demonstrate(0));
        }
    });
    demonstrations(ui, width, out);
}

/// Two doors beside each other where there is room, or one over the other.
fn side_by_side(ui: &mut Ui, width: f32, mut show: impl FnMut(&mut Ui, usize)) {
    if width < TWO {
        for i in 0..2 {
            show(ui, i);
        }
    } else {
        ui.columns(2, |sides| {
            for (i, side) in sides.iter_mut().enumerate() {
                show(side, i);
            }
        });
    }
}

fn door(ui: &mut Ui, title: &str, add: impl FnOnce(&mut Ui)) {
    let p = palette(ui);
    Frame::new()
        .fill(p.sheet)
        .stroke(Stroke::new(1.0, p.rule))
        .corner_radius(4.0)
        .inner_margin(Margin::symmetric(14, 10))
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.label(bold(title));
            add(ui);
        });
    ui.add_space(2.0);
}

fn recent(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if bench.recent.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.label(bold("Lately"));
    ui.horizontal_wrapped(|ui| {
        for path in bench.recent.iter().take(MOST_RECENT) {
            let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into());
            let button = ui.add(Button::new(name));
            if button.on_hover_text(path.display().to_string()).clicked() {
                out.push(Command::Open(path.clone()));
            }
        }
    });
}

/// The demonstrations, each with a small picture of its shadow.
fn demonstrations(ui: &mut Ui, width: f32, out: &mut Vec<Command>) {
    const ASIDE: f32 = 12.0;
    let titles = crate::window::demonstrations();
    let pictures = pictures();
    let many = if width < TWO { 1 } else { titles.len().max(1) };
    let each = (width - ASIDE * (many as f32 - 1.0)) / many as f32;
    let tile = |ui: &mut Ui, i: usize, (title, story): &(&str, &str), out: &mut Vec<Command>| {
        ui.vertical(|ui| {
            ui.set_width(each);
            if let Some(picture) = pictures.get(i) {
                let size = vec2(each, 0.42 * each.min(300.0));
                let texture = preview::texture(ui, picture);
                let image = Image::new((texture, vec2(each, 0.5 * each)))
                    .maintain_aspect_ratio(false)
                    .fit_to_exact_size(size)
                    .alt_text(format!("shadow of the {}", title.to_lowercase()))
                    .uv(middle_of(size, picture))
                    .sense(egui::Sense::click());
                if ui.add(image).on_hover_text(*story).clicked() {
                    out.push(Command::Demonstrate(i));
                }
            }
            if ui.add(Button::new(*title).wrap()).on_hover_text(*story).clicked() {
                out.push(Command::Demonstrate(i));
            }
        });
    };
    if many == 1 {
        for (i, one) in titles.iter().enumerate() {
            tile(ui, i, one, out);
        }
        return;
    }
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = ASIDE;
        for (i, one) in titles.iter().enumerate() {
            tile(ui, i, one, out);
        }
    });
}

/// The part of a picture round its middle that has the shape of `size`.
fn middle_of(size: egui::Vec2, picture: &ColorImage) -> egui::Rect {
    let [w, h] = picture.size.map(|n| n as f32);
    let (wide, shape) = (w / h.max(1.0), size.x / size.y.max(1.0));
    let part = vec2((shape / wide).min(1.0), (wide / shape).min(1.0));
    egui::Rect::from_center_size(egui::pos2(0.5, 0.5), part)
}

/// Small pictures of the demonstrations, in their order.
fn pictures() -> &'static [Arc<ColorImage>] {
    static PICTURES: OnceLock<Vec<Arc<ColorImage>>> = OnceLock::new();
    PICTURES.get_or_init(|| {
        let files: [&[u8]; 3] = [
            include_bytes!("../../../../../assets/demonstrations/loom.png"),
            include_bytes!("../../../../../assets/demonstrations/slit.png"),
            include_bytes!("../../../../../assets/demonstrations/ruling.png"),
        ];
        files.into_iter().filter_map(preview::decoded).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_demonstration_has_its_small_picture() {
        assert_eq!(pictures().len(), lamp::demonstrations().len());
        for (shown, small) in lamp::demonstrations().iter().zip(pictures()) {
            // Reduced to the size of the small one, the picture that is cast looks like it.
            let jpeg = shown.to_jpeg().unwrap();
            let grey = picture::decode(&jpeg, &picture::Limits::default()).unwrap().grey;
            let [w, h] = small.size;
            let scale = (grey.width() as f64 / w as f64).min(grey.height() as f64 / h as f64);
            let left = 0.5 * (grey.width() as f64 - scale * w as f64);
            let top = 0.5 * (grey.height() as f64 - scale * h as f64);
            let mut far = 0.0;
            for y in 0..h {
                for x in 0..w {
                    let at = |i: usize, from: f64| (from + scale * (i as f64 + 0.5)) as i64;
                    let there = f64::from(grey.encoded(at(x, left), at(y, top)));
                    far += (there - f64::from(small.pixels[y * w + x].r())).abs();
                }
            }
            let mean = far / (w * h) as f64;
            assert!(mean < 15.0, "{}: {mean:.1} grey levels", shown.name);
        }
    }
}
