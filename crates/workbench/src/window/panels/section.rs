//! The measured section, drawn true to scale, alone or beside a candidate.

use crate::window::look::palette;
use crate::window::state::Bench;
use eframe::egui::{self, Rangef, RichText, Stroke, Ui};
use egui_plot::{AxisHints, HoverPosition, Line, Plot, PlotPoints};
use form::{Piece, Profile, Section};

/// Points along each piece of the section.
const STEPS: u32 = 12;

/// Shows the measured section over two pitches; `candidate` is drawn beside it, crests level.
pub(super) fn show(ui: &mut Ui, bench: &Bench, candidate: Option<(&str, Section)>) {
    let Some(thread) =
        bench.findings().and_then(|f| f.screw.as_ref()).and_then(|s| s.thread().ok())
    else {
        return;
    };
    let p = palette(ui);
    let units = bench.units();
    let k = units.in_mm();
    let measured = points(thread.section(), k);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("measured").small().color(p.accent));
        if let Some((name, _)) = candidate {
            ui.label(RichText::new(name).small().color(p.doubt));
        }
        ui.label(RichText::new("true to scale").small().weak());
    });
    let plot = Plot::new("section")
        .height(180.0)
        .data_aspect(1.0)
        .show_grid(true)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .set_margin_fraction(egui::vec2(0.03, 0.12))
        .custom_x_axes(vec![
            AxisHints::new_x()
                .label(format!("along the axis, {}", units.symbol()))
                .label_spacing(Rangef::new(16.0, 32.0)),
        ])
        .y_axis_min_width(34.0)
        .label_formatter(move |position| {
            let (HoverPosition::NearDataPoint { position: at, .. }
            | HoverPosition::Elsewhere { position: at }) = position;
            Some(format!("{:.3}\n{:.3}", at.x, at.y))
        })
        .grid_color(p.rule);
    let response = plot.show(ui, |plot| {
        if let Some((name, section)) = candidate {
            let line = Line::new(name.to_owned(), PlotPoints::from(points(&section, k)))
                .stroke(Stroke::new(2.0, p.doubt));
            plot.line(line);
        }
        let line =
            Line::new("measured", PlotPoints::from(measured)).stroke(Stroke::new(2.0, p.accent));
        plot.line(line);
    });
    response.response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::Role::Image, true, "section, true to scale")
    });
}

/// Two pitches of a section, crest line at zero, in units of `k` mm.
fn points(section: &Section, k: f64) -> Vec<[f64; 2]> {
    let profile = Profile::new(section, 0.0);
    let mut out = Vec::new();
    for period in -1..=0 {
        for piece in Piece::ALL {
            let straight = profile.arc_radius_mm(piece) == 0.0;
            let steps = if straight { 1 } else { STEPS };
            for i in 0..=steps {
                let point = profile.point(piece, f64::from(i) / f64::from(steps));
                let z = point.z + f64::from(period) * section.pitch_mm();
                out.push([z / k, point.r / k]);
            }
        }
    }
    out
}
