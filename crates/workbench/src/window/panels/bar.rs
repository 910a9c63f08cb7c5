//! The bar of known width.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::state::{Bench, Pointer};
use crate::window::widgets::{MAIN_BUTTON, card, choice, entry, heading, hint, line, main_button};
use eframe::egui::{self, Align2, FontId, Sense, Stroke, StrokeKind, Ui, pos2, vec2};
use fit::{BarDrop, BarShape};

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let job = bench.job();
    entry(ui, bench, out, Field::BarWidth, "Width of the bar", "6 mm, 1/4 in, 6.000 ± 0.005 mm");
    hint(
        ui,
        "By micrometer, with its unit. Behind ±, how sure you are (one standard uncertainty).",
    );
    choice(
        ui,
        "Shape",
        job.bar.shape,
        &[(BarShape::Round, "a rod"), (BarShape::Flat, "a plate or strip")],
        |shape| out.push(Command::Edit(Edit::BarShape(shape))),
    );
    figure(ui, bench);
    let same = job.bar.drop == BarDrop::SameSurface;
    if ui.radio(same, "lies on the same surface as the screw").clicked() && !same {
        out.push(Command::Edit(Edit::SameSurface));
    }
    entry(
        ui,
        bench,
        out,
        Field::BarDrop,
        "or: lies deeper than the screw's axis by",
        "0 mm (same height), 4.5 mm, -2 mm (nearer)",
    );
    heading(ui, "In the picture");
    ui.horizontal_wrapped(|ui| {
        ui.set_min_height(MAIN_BUTTON);
        let drawing = bench.pointer == Pointer::BarBox;
        let text = if drawing { "Draw a box round it …" } else { "Draw a box round the bar" };
        let pressed = if bench.findings().is_some_and(|f| f.bar.is_none()) && !drawing {
            main_button(ui, text)
        } else {
            ui.add(egui::Button::selectable(drawing, text).frame_when_inactive(true))
        };
        if pressed.clicked() {
            out.push(Command::Take(if drawing { Pointer::Look } else { Pointer::BarBox }));
        }
        let boxed = job.bar.at_px.is_some();
        if ui.add_enabled(boxed, egui::Button::new("Find it everywhere")).clicked() {
            out.push(Command::Edit(Edit::BarBox(None)));
        }
    });
    super::remarks(ui, bench);
    let Some(findings) = bench.findings() else { return };
    card(ui, |ui| {
        match &findings.bar {
            Some(bar) => {
                line(ui, "seen", &format!("{:.2} px wide", bar.width_px), "measured");
            }
            None => {
                ui.label("not found");
            }
        }
        if let Some(m) = &findings.measurement {
            let scale = m.px_per_mm;
            line(ui, "scale", &format!("{} px/mm", scale.with_u(4)), "derived");
            if let (Some(width), Some(bar)) = (job.bar.width_mm, &findings.bar) {
                let apparent = bar.width_px / width.value;
                let off = 100.0 * (apparent / scale.value - 1.0);
                hint(
                    ui,
                    &format!(
                        "Scale at the screw's axis. Read straight off the bar it would be \
                         {off:+.2} % off, because the bar is not at the axis's distance from the \
                         camera."
                    ),
                );
            }
        }
    });
}

/// Camera, screw and bar seen from the end: where the bar lies is where its scale holds.
fn figure(ui: &mut Ui, bench: &Bench) {
    let p = palette(ui);
    let job = bench.job();
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 96.0), Sense::hover());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::Role::Image, true, "where the bar lies, seen from the end")
    });
    let painter = ui.painter_at(rect);
    let floor = rect.bottom() - 18.0;
    let ink = Stroke::new(1.5, p.ink);
    let thin = Stroke::new(1.0, p.faint);
    let screw = pos2(rect.left() + 0.38 * rect.width(), floor - 24.0);
    painter.circle_stroke(screw, 24.0, ink);
    painter.circle_stroke(screw, 18.0, thin);
    painter.text(screw, Align2::CENTER_CENTER, "screw", FontId::proportional(11.0), p.faint);
    let right = rect.left() + 0.72 * rect.width();
    let drop = match job.bar.drop {
        BarDrop::SameSurface => None,
        // Drawn to no scale; the sign and the order of size show.
        BarDrop::Given(q) => Some((q.value as f32 * 2.0).clamp(-34.0, 30.0)),
    };
    let half = match job.bar.shape {
        BarShape::Round => 9.0,
        BarShape::Flat => 2.0,
    };
    let bar_y = drop.map_or(floor - half, |d| screw.y + d);
    let fill = p.accent.gamma_multiply(0.35);
    match job.bar.shape {
        BarShape::Round => {
            painter.circle(pos2(right, bar_y), half, fill, Stroke::new(1.5, p.accent));
        }
        BarShape::Flat => {
            let r = egui::Rect::from_center_size(pos2(right, bar_y), vec2(34.0, 4.0));
            painter.rect(r, 0.0, fill, Stroke::new(1.5, p.accent), StrokeKind::Middle);
        }
    }
    if drop.is_none() {
        painter.hline(rect.left() + 20.0..=rect.right() - 20.0, floor, ink);
    }
    painter.hline(screw.x + 24.0..=right + 40.0, screw.y, thin);
    let level = match job.bar.shape {
        BarShape::Round => bar_y,
        BarShape::Flat => bar_y + if drop.is_none() { half } else { 0.0 },
    };
    if (level - screw.y).abs() > 3.0 {
        painter.arrow(
            pos2(right + 32.0, screw.y),
            vec2(0.0, level - screw.y),
            Stroke::new(1.5, p.accent),
        );
        painter.text(
            pos2(right + 38.0, 0.5 * (level + screw.y)),
            Align2::LEFT_CENTER,
            "drop",
            FontId::proportional(12.0),
            p.accent,
        );
    }
    let eye = pos2(screw.x, rect.top() + 2.0);
    painter.text(
        pos2(eye.x - 34.0, eye.y + 6.0),
        Align2::RIGHT_CENTER,
        "camera above",
        FontId::proportional(11.0),
        p.faint,
    );
    painter.arrow(pos2(eye.x, eye.y), vec2(0.0, 16.0), thin);
}
