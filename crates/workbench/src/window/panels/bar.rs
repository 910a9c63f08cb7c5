//! The bar of known width.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::{Palette, palette};
use crate::window::state::{Bench, Pointer};
use crate::window::widgets::{
    MAIN_BUTTON, card, entry, example, heading, hint, line, main_button, minus,
};
use eframe::egui::{
    self, Align2, FontId, Painter, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2,
    vec2,
};
use fit::{BarDrop, BarShape};
use form::Quantity;
use job::BarSaid;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let (job, units) = (bench.job(), bench.units());
    entry(
        ui,
        bench,
        out,
        Field::BarWidth,
        "Width of the bar",
        example(
            units,
            [
                "6 mm, 1/4 in, 6.000 ± 0.005 mm",
                "1/4 in, 0.2500 ± 0.0002 in, 6 mm",
                "250 thou, 250.0 ± 0.2 thou, 6 mm",
            ],
        ),
    );
    sure(ui, bench, out);
    tiles(ui, bench, out);
    entry(
        ui,
        bench,
        out,
        Field::BarDrop,
        "or: deeper than the screw's axis by",
        example(
            units,
            [
                "4.5 mm; -2 mm is nearer to the camera",
                "0.18 in; -0.08 in is nearer to the camera",
                "180 thou; -80 thou is nearer to the camera",
            ],
        ),
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
                let wide = Quantity::measured(bar.width_px, bar.width_u_px());
                line(ui, "seen", &format!("{} px wide", wide.with_u(2)), "measured");
            }
            // Looked at when the picture was there.
            None if findings.recalled => {}
            None => {
                ui.label("not found");
            }
        }
        if let Some(m) = &findings.measurement {
            let scale = m.px_per_mm;
            let shown = scale.scaled(bench.units().in_mm()).with_u(4);
            let text = format!("{shown} px/{}", bench.units().symbol());
            line(ui, "scale", &text, &scale.source.to_string());
            if let (Some(width), Some(bar)) = (job.bar.width_mm, &findings.bar) {
                let apparent = bar.width_px / width.value;
                let off = 100.0 * (apparent / scale.value - 1.0);
                let why = if off.abs() < 0.005 {
                    "Scale at the screw's axis. Read straight off the bar it is the same."
                        .to_owned()
                } else {
                    let level = matches!(job.bar.drop, BarDrop::Given(q) if q.value == 0.0);
                    // At the axis it is something else: tilt, lens, or that a round bar is seen by
                    // its tangents; which, the picture alone does not tell.
                    let why = match level {
                        false => ", because the bar is not at the axis's distance from the camera",
                        true => "",
                    };
                    format!(
                        "Scale at the screw's axis. Read straight off the bar it would be {off:+.2} % \
                         off{why}."
                    )
                };
                hint(ui, &minus(&why));
            }
        }
    });
}

/// How sure the width is: said with one press by those who would not write it behind a ±.
fn sure(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let units = bench.units();
    let now = bench.job().bar.width_mm.map(|q| q.u);
    let options =
        [(0.0, "taken as exact"), (MICROMETER_MM, "by micrometer"), (CALIPER_MM, "by caliper")];
    ui.add_enabled_ui(now.is_some(), |ui| {
        ui.horizontal_wrapped(|ui| {
            for (u, words) in options {
                let on = now.is_some_and(|now| (now - u).abs() < 1e-9);
                let button = egui::Button::selectable(on, words).frame_when_inactive(true);
                let about = match u {
                    0.0 => "its doubt is left out of every number".to_owned(),
                    u => format!(
                        "± {}, one standard uncertainty (common practice); or write your own behind ±",
                        units.plain(u, 3)
                    ),
                };
                if ui.add(button).on_hover_text(about).clicked() && !on {
                    out.push(Command::Edit(Edit::BarSure(u)));
                }
            }
        });
    });
}

/// What the bar is taken for, said or not.
pub(super) fn taken_for(bar: &BarSaid) -> &'static str {
    let axis = matches!(bar.drop, BarDrop::Given(q) if q.value == 0.0);
    match (bar.shape, bar.drop) {
        (BarShape::Round, BarDrop::SameSurface) => "a round rod on the surface the screw lies on",
        (BarShape::Flat, BarDrop::SameSurface) => "a flat strip on the surface the screw lies on",
        (BarShape::Round, BarDrop::Given(_)) if axis => {
            "a round rod at the height of the screw's axis"
        }
        (BarShape::Flat, BarDrop::Given(_)) if axis => {
            "a flat strip at the height of the screw's axis"
        }
        (BarShape::Round, BarDrop::Given(_)) => "a round rod at the depth that was entered",
        (BarShape::Flat, BarDrop::Given(_)) => "a flat strip at the depth that was entered",
    }
}

/// The same in the words of the drawn choices.
pub(super) fn in_short(bar: &BarSaid) -> String {
    let shape = match bar.shape {
        BarShape::Round => "a rod",
        BarShape::Flat => "a strip",
    };
    let place = match bar.drop {
        BarDrop::SameSurface => "on the same surface",
        BarDrop::Given(q) if q.value == 0.0 => "at axis height",
        BarDrop::Given(_) => "as deep as entered",
    };
    format!("{shape} {place}")
}

/// A workshop's micrometer and caliper, standard uncertainty in mm (common practice).
const MICROMETER_MM: f64 = 0.003;
const CALIPER_MM: f64 = 0.02;

/// Height of a drawn choice, points.
const TILE: f32 = 76.0;

/// What the bar is and where it lies, as drawn choices: camera above, screw and bar from the end.
fn tiles(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let bar = &bench.job().bar;
    let (shape, drop) = (bar.shape, bar.drop);
    // What is only assumed is said by a press on it, too.
    let (any_shape, any_drop) = (bar.shape_assumed, bar.drop_assumed);
    let axis = matches!(drop, BarDrop::Given(q) if q.value == 0.0);
    let width = (ui.available_width() - 3.0 * ui.spacing().item_spacing.x) / 4.0;
    ui.horizontal(|ui| {
        let mut offer = |name: &str, on: bool, assumed: bool, draw: &dyn Fn(&Seen), edit: Edit| {
            if tile(ui, width, name, on, assumed, draw) && (assumed || !on) {
                out.push(Command::Edit(edit));
            }
        };
        for (is, name) in [(BarShape::Round, "a rod"), (BarShape::Flat, "plate or strip")] {
            let draw = move |seen: &Seen| {
                seen.floor();
                seen.bar(0.5, is, true);
            };
            offer(name, shape == is, any_shape, &draw, Edit::BarShape(is));
        }
        let same = move |seen: &Seen| {
            seen.floor();
            seen.screw();
            seen.bar(0.72, shape, true);
        };
        let on = drop == BarDrop::SameSurface;
        offer("same surface", on, any_drop, &same, Edit::SameSurface);
        let level = move |seen: &Seen| {
            seen.axis();
            seen.screw();
            seen.bar(0.72, shape, false);
        };
        offer("at axis height", axis, any_drop, &level, Edit::AtAxis);
    });
}

/// A choice with a figure in it; whether it was pressed. One that holds and is only assumed has a broken
/// edge and a question mark.
fn tile(
    ui: &mut Ui,
    width: f32,
    name: &str,
    on: bool,
    assumed: bool,
    draw: &dyn Fn(&Seen),
) -> bool {
    let p = palette(ui);
    let (rect, response) = ui.allocate_exact_size(vec2(width, TILE), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::RadioButton, true, on, name));
    let marked = on || response.has_focus() || response.hovered();
    let edge = Stroke::new(if on { 2.0 } else { 1.0 }, if marked { p.accent } else { p.rule });
    let fill = if on { p.accent.gamma_multiply(0.14) } else { p.card };
    if on && assumed {
        ui.painter().rect_filled(rect, 3.0, fill);
        let r = rect.shrink(1.0);
        let round = [r.left_top(), r.right_top(), r.right_bottom(), r.left_bottom(), r.left_top()];
        ui.painter().extend(egui::Shape::dashed_line(&round, edge, 5.0, 4.0));
        let at = pos2(rect.right() - 10.0, rect.top() + 11.0);
        ui.painter().text(at, Align2::CENTER_CENTER, "?", FontId::proportional(15.0), p.accent);
    } else {
        ui.painter().rect(rect, 3.0, fill, edge, StrokeKind::Inside);
    }
    let at = pos2(rect.center().x, rect.bottom() - 11.0);
    let ink = if on { p.ink } else { p.faint };
    ui.painter().text(at, Align2::CENTER_CENTER, name, FontId::proportional(12.5), ink);
    let room = Rect::from_min_max(rect.min, pos2(rect.right(), rect.bottom() - 22.0)).shrink(6.0);
    draw(&Seen { painter: ui.painter_at(rect), room, p });
    response.clicked()
}

/// Screw and bar from the end, in a small rectangle.
struct Seen {
    painter: Painter,
    room: Rect,
    p: &'static Palette,
}

impl Seen {
    /// Radius of the screw.
    const SCREW: f32 = 15.0;

    fn floor(&self) {
        let y = self.room.bottom();
        self.painter.hline(self.room.x_range(), y, Stroke::new(1.5, self.p.ink));
    }

    fn axis(&self) {
        let y = self.room.bottom() - Self::SCREW;
        self.painter.hline(self.room.x_range(), y, Stroke::new(1.0, self.p.faint));
    }

    fn screw(&self) {
        let at = pos2(self.room.left() + 0.3 * self.room.width(), self.room.bottom() - Self::SCREW);
        self.painter.circle_stroke(at, Self::SCREW - 1.0, Stroke::new(1.5, self.p.ink));
        self.painter.circle_stroke(at, Self::SCREW - 5.0, Stroke::new(1.0, self.p.faint));
    }

    /// The bar at a part of the width, on the floor or with its edges at the height of the axis.
    fn bar(&self, across: f32, shape: BarShape, on_floor: bool) {
        let x = self.room.left() + across * self.room.width();
        let half = match shape {
            BarShape::Round => 8.0,
            BarShape::Flat => 2.5,
        };
        let y = self.room.bottom() - if on_floor { half } else { Self::SCREW };
        let (fill, edge) = (self.p.accent.gamma_multiply(0.35), Stroke::new(1.5, self.p.accent));
        match shape {
            BarShape::Round => {
                self.painter.circle(pos2(x, y), half, fill, edge);
            }
            BarShape::Flat => {
                let rect = Rect::from_center_size(pos2(x, y), vec2(26.0, 2.0 * half));
                self.painter.rect(rect, 0.0, fill, edge, StrokeKind::Middle);
            }
        }
    }
}
