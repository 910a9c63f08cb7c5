//! What all plots of the window have in common: look, axes with units, names for screen readers.

use super::look::palette;
use eframe::egui::{self, Color32, Rangef, Response, RichText, Role, TextStyle, Ui, WidgetInfo};
use egui_plot::{AxisHints, GridInput, HoverPosition, Plot, uniform_grid_spacer};
use form::{Piece, Profile, Section, Units};

/// A plot lower than this is shorter than what its axis is called, points.
const LOW: f32 = 130.0;

/// So many figures along an axis, about.
const MOST_FIGURES: f32 = 16.0;

/// Lines of a grid never stand nearer than this, points.
const LEAST_APART: f32 = 8.0;

/// Points along each rounded piece of a section.
const STEPS: u32 = 12;

/// A plot that stays where it is (the wheel belongs to the page), with units on its axes.
pub fn frame<'a>(ui: &Ui, id: &str, height: f32, x: &str, y: &str) -> Plot<'a> {
    let (along_x, along_y) = (x.to_owned(), y.to_owned());
    // Beside a low plot there is room for the unit alone.
    let y = if height < LOW { y.rsplit(", ").next().unwrap_or(y) } else { y };
    let axis = |words: &str, hints: AxisHints<'a>, apart: f32| {
        hints
            .label(words.to_owned())
            .label_spacing(Rangef::new(0.5 * apart, 0.9 * apart))
            .formatter(|mark, _| figure(mark.value, mark.step_size))
    };
    // Figures stand beside each other along one axis, above each other along the other; on a large screen
    // not more of them than can be taken in.
    let wide = (ui.available_width() / MOST_FIGURES).max(64.0);
    let high = (height / MOST_FIGURES).max(26.0);
    Plot::new(id.to_owned())
        .height(height)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_drag(false)
        .set_margin_fraction(egui::vec2(0.04, 0.12))
        .custom_x_axes(vec![axis(x, AxisHints::new_x(), wide)])
        .custom_y_axes(vec![axis(y, AxisHints::new_y(), high)])
        .y_axis_min_width(44.0)
        .grid_spacing(Rangef::new(LEAST_APART, 300.0))
        .x_grid_spacer(uniform_grid_spacer(move |input| steps(&input, wide)))
        .y_grid_spacer(uniform_grid_spacer(move |input| steps(&input, high)))
        .label_formatter(move |position| {
            let (HoverPosition::NearDataPoint { position: at, .. }
            | HoverPosition::Elsewhere { position: at }) = position;
            Some(format!("{}\n{}", at_pointer(&along_x, at.x), at_pointer(&along_y, at.y)))
        })
        .grid_color(palette(ui).rule)
}

/// What stands at the pointer: a value in the words and the unit of its axis, as `along the axis, mm` has
/// them.
#[must_use]
pub fn at_pointer(axis: &str, value: f64) -> String {
    let (words, unit) = axis.rsplit_once(", ").unwrap_or((axis, ""));
    let decimals = match unit {
        "in" => 4,
        "thou" | "µm" => 1,
        _ => 3,
    };
    format!("{words}: {} {unit}", figure(value, 10f64.powi(-decimals))).trim_end().to_owned()
}

/// Lines of a grid with figures at them, at least `apart` points from one to the next: at every 1, 2 or
/// 5 of some decade, so that even a low plot has several.
fn steps(input: &GridInput, apart: f32) -> [f64; 3] {
    let per_point = input.base_step_size / f64::from(LEAST_APART);
    let step = round_up(per_point * f64::from(apart));
    // All alike: a figure's decimals follow from the step of its line.
    [step; 3]
}

/// The figure at a line of the grid, with the decimals its step needs.
fn figure(value: f64, step: f64) -> String {
    let decimals =
        (-(step.abs().max(1e-12) * (1.0 + 1e-9)).log10().floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// The next 1, 2 or 5 of a decade at or above `value`; 1 where there is none.
fn round_up(value: f64) -> f64 {
    if !(value.is_finite() && value > 0.0) {
        return 1.0;
    }
    let decade = 10f64.powf(value.log10().floor());
    let leads = [1.0, 2.0, 5.0, 10.0];
    leads
        .into_iter()
        .map(|m| m * decade)
        .find(|v| *v >= value * (1.0 - 1e-9))
        .unwrap_or(10.0 * decade)
}

/// The unit small errors are shown in, and how many µm it has.
#[must_use]
pub fn fine(units: Units) -> (&'static str, f64) {
    match units {
        Units::Mm => ("µm", 1.0),
        Units::Inch | Units::Thou => ("thou", 25.4),
    }
}

/// Says what a plot is, for those who cannot see it.
pub fn named(response: &Response, name: &str) {
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
}

/// The colours of a plot in words.
pub fn legend(ui: &mut Ui, entries: &[(&str, Color32)]) {
    ui.horizontal_wrapped(|ui| {
        let font = TextStyle::Small.resolve(ui.style());
        for (words, colour) in entries {
            // An entry is not parted: mark and words stand in one row.
            let words_wide = ui.fonts_mut(|f| {
                f.layout_no_wrap((*words).to_owned(), font.clone(), *colour).size().x
            });
            if ui.available_size_before_wrap().x < words_wide + 14.0 + ui.spacing().item_spacing.x {
                ui.end_row();
            }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_a_low_plot_has_several_figures() {
        for (value, up) in [(0.7, 1.0), (1.0, 1.0), (1.2, 2.0), (3.0, 5.0), (5.1, 10.0), (0.0, 1.0)]
        {
            assert_eq!(round_up(value), up);
        }
        let figures =
            [(-0.5, 0.5, "−0.5"), (-1e-17, 0.1, "0.0"), (1.25, 0.05, "1.25"), (30.0, 10.0, "30")];
        for (value, step, text) in figures {
            assert_eq!(figure(value, step), text);
        }
        assert_eq!(at_pointer("along the axis, mm", -0.9478), "along the axis: −0.948 mm");
        assert_eq!(at_pointer("play, in", 0.00314), "play: 0.0031 in");
        assert_eq!((fine(Units::Mm), fine(Units::Inch)), (("µm", 1.0), ("thou", 25.4)));
        // 130 points for 4.8 µm: a figure at every micrometre, not one at nought alone.
        let input = GridInput { bounds: (-2.4, 2.4), base_step_size: 8.0 * 4.8 / 130.0 };
        let [step, ..] = steps(&input, 26.0);
        assert_eq!(step, 1.0);
    }
}
