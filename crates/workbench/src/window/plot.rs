//! What all plots of the window have in common: look, axes with units, names for screen readers.

use super::look::palette;
use eframe::egui::{self, Color32, Rangef, Response, RichText, Role, Ui, WidgetInfo};
use egui_plot::{AxisHints, HoverPosition, Plot};
use form::{Piece, Profile, Section};

/// Points along each rounded piece of a section.
const STEPS: u32 = 12;

/// A plot that stays where it is (the wheel belongs to the page), with units on its axes.
pub fn frame<'a>(ui: &Ui, id: &str, height: f32, x: &str, y: &str) -> Plot<'a> {
    let axis = |words: &str, hints: AxisHints<'a>, apart: Rangef| {
        hints.label(words.to_owned()).label_spacing(apart)
    };
    // Figures stand beside each other along one axis, above each other along the other.
    let (wide, high) = (Rangef::new(40.0, 80.0), Rangef::new(24.0, 48.0));
    Plot::new(id.to_owned())
        .height(height)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_drag(false)
        .set_margin_fraction(egui::vec2(0.04, 0.12))
        .custom_x_axes(vec![axis(x, AxisHints::new_x(), wide)])
        .custom_y_axes(vec![axis(y, AxisHints::new_y(), high)])
        .y_axis_min_width(34.0)
        .label_formatter(|position| {
            let (HoverPosition::NearDataPoint { position: at, .. }
            | HoverPosition::Elsewhere { position: at }) = position;
            Some(format!("{:.3}\n{:.3}", at.x, at.y))
        })
        .grid_color(palette(ui).rule)
}

/// Says what a plot is, for those who cannot see it.
pub fn named(response: &Response, name: &str) {
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
}

/// The colours of a plot in words.
pub fn legend(ui: &mut Ui, entries: &[(&str, Color32)]) {
    ui.horizontal_wrapped(|ui| {
        for (words, colour) in entries {
            let (rect, _) = ui.allocate_exact_size(egui::vec2(14.0, 10.0), egui::Sense::hover());
            ui.painter().rect_filled(rect.shrink2(egui::vec2(0.0, 3.0)), 1.0, *colour);
            ui.label(RichText::new(*words).small());
        }
    });
}

/// A section over whole pitches `from..=to`, crest line at zero, in units of `k` mm: along the axis,
/// out from it.
#[must_use]
pub fn section(section: &Section, k: f64, periods: std::ops::RangeInclusive<i32>) -> Vec<[f64; 2]> {
    let profile = Profile::new(section, 0.0);
    let mut out = Vec::new();
    for period in periods {
        for piece in Piece::ALL {
            let straight = profile.arc_radius_mm(piece) == 0.0;
            let steps = if straight { 1 } else { STEPS };
            for i in 0..=steps {
                let point = profile.point(piece, f64::from(i) / f64::from(steps));
                let z = point.z + f64::from(period) * section.pitch_mm();
                let at: [f64; 2] = [z / k, point.r / k];
                // Where one piece ends the next begins; twice the same point spoils the line.
                let again = |last: &[f64; 2]| {
                    (last[0] - at[0]).abs() < 1e-9 && (last[1] - at[1]).abs() < 1e-9
                };
                if !out.last().is_some_and(again) {
                    out.push(at);
                }
            }
        }
    }
    out
}
