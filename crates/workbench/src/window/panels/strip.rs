//! Plots under the picture: the outline against the fitted shadow, and the teeth one by one.

use crate::window::look::palette;
use crate::window::plot;
use crate::window::state::{Bench, Strip};
use eframe::egui::{Color32, Stroke, Ui};
use egui_plot::{HLine, Line, MarkerShape, PlotPoints, Points};
use fit::{Measurement, Tooth};
use form::shadow::Edge;
use form::{Piece, Units};

/// Most points of a kind that are drawn: more would not show.
const MOST_POINTS: usize = 1500;

/// Height of the strip in a window of this height; nothing when it is not wanted.
pub fn height(bench: &Bench, room: f32) -> Option<f32> {
    let measured = bench.findings().is_some_and(|f| f.measurement.is_some());
    (measured && bench.strip != Strip::Nothing).then(|| (0.34 * room).clamp(150.0, 300.0))
}

pub fn show(ui: &mut Ui, bench: &Bench) {
    let Some(m) = bench.findings().and_then(|f| f.measurement.as_ref()) else { return };
    match bench.strip {
        Strip::Nothing => {}
        Strip::Residuals => residuals(ui, m, bench.units()),
        Strip::Teeth => teeth(ui, m, bench.units()),
    }
}

/// Name, colour and mark of a kind of points, and which pieces of the section are of it.
type Kind = (&'static str, Color32, MarkerShape, fn(Piece) -> bool);

fn residuals(ui: &mut Ui, m: &Measurement, units: Units) {
    let p = palette(ui);
    let (small, um) = plot::fine(units);
    let per_px = 1000.0 / m.px_per_mm.value.max(1e-9) / um;
    let kinds: [Kind; 4] = [
        ("right flank", p.accent, MarkerShape::Circle, |q| q == Piece::FlankRight),
        ("left flank", p.doubt, MarkerShape::Square, |q| q == Piece::FlankLeft),
        ("root", p.good, MarkerShape::Diamond, |q| q.is_root()),
        ("crest", p.faint, MarkerShape::Cross, |q| {
            !q.is_root() && q != Piece::FlankRight && q != Piece::FlankLeft
        }),
    ];
    let entries: Vec<(&str, Color32)> = kinds.iter().map(|k| (k.0, k.1)).collect();
    plot::legend(ui, &entries);
    let axis = axis(m);
    let x0 = m.residuals.iter().map(|r| along(r, axis)).fold(f64::MAX, f64::min);
    let long = 1.0 / m.px_per_mm.value.max(1e-9) / units.in_mm();
    let series: Vec<_> = kinds
        .iter()
        .map(|(name, colour, shape, is)| {
            let all: Vec<_> =
                m.residuals.iter().filter(|r| is(r.piece) && r.weight >= 0.3).collect();
            let step = all.len().div_ceil(MOST_POINTS).max(1);
            let points: Vec<[f64; 2]> = all
                .iter()
                .step_by(step)
                .map(|r| [(along(r, axis) - x0) * long, r.off_px * per_px])
                .collect();
            (*name, *colour, *shape, points)
        })
        .collect();
    let height = ui.available_height() - 6.0;
    let (x, y) = (format!("along the axis, {}", units.symbol()), format!("off the model, {small}"));
    let shown = plot::frame(ui, "residuals", height, &x, &y).show(ui, |plot| {
        plot.hline(HLine::new("model", 0.0).stroke(Stroke::new(1.0, p.ink)));
        for (name, colour, shape, points) in series {
            plot.points(
                Points::new(name, PlotPoints::from(points)).color(colour).shape(shape).radius(1.8),
            );
        }
    });
    plot::named(&shown.response, "how far the outline lies from the fitted shadow");
}

/// Direction of the axis in the picture, from the fitted section.
fn axis(m: &Measurement) -> (f64, f64) {
    let roll = m.view.roll_deg.map_or(0.0, |q| q.value.to_radians());
    (roll.cos(), -roll.sin())
}

fn along(r: &fit::Residual, axis: (f64, f64)) -> f64 {
    r.x_px * axis.0 + r.y_px * axis.1
}

fn teeth(ui: &mut Ui, m: &Measurement, units: Units) {
    let p = palette(ui);
    if m.teeth.is_empty() {
        ui.label("The teeth cannot be told apart in this picture.");
        return;
    }
    plot::legend(
        ui,
        &[
            ("pitch error, upper edge", p.accent),
            ("lower edge", p.good),
            ("worn off the right flank", p.doubt),
            ("off the left flank", p.bad),
        ],
    );
    let (small, um) = plot::fine(units);
    let fine = |q: form::Quantity| (1000.0 * q.value / um, 1000.0 * q.u / um);
    let of = |edge: Edge| m.teeth.iter().filter(move |t| t.edge == edge);
    // One axis for both edges: numbers count along it on each.
    let place = |t: &Tooth, off: f64| f64::from(t.number) + off;
    let series = [
        ("upper", p.accent, Edge::Upper, -0.09, 0),
        ("lower", p.good, Edge::Lower, 0.09, 0),
        ("right", p.doubt, Edge::Upper, -0.2, 1),
        ("left", p.bad, Edge::Upper, 0.2, 2),
    ];
    let height = ui.available_height() - 6.0;
    let shown =
        plot::frame(ui, "teeth", height, "tooth along the axis", &format!("± one u, {small}"))
            .show(ui, |plot| {
                plot.hline(HLine::new("none", 0.0).stroke(Stroke::new(1.0, p.ink)));
                for (name, colour, edge, off, what) in series {
                    let mut points = Vec::new();
                    for t in of(edge) {
                        let (y, u) = fine(match what {
                            0 => t.pitch_error_mm,
                            1 => t.right_wear_mm,
                            _ => t.left_wear_mm,
                        });
                        if !u.is_finite() {
                            continue;
                        }
                        let x = place(t, off);
                        points.push([x, y]);
                        let whisker = Line::new("", PlotPoints::from(vec![[x, y - u], [x, y + u]]));
                        plot.line(whisker.stroke(Stroke::new(1.2, colour)));
                    }
                    let shape = if what == 0 { MarkerShape::Circle } else { MarkerShape::Down };
                    plot.points(
                        Points::new(name, PlotPoints::from(points))
                            .color(colour)
                            .shape(shape)
                            .radius(3.5),
                    );
                }
            });
    plot::named(&shown.response, "pitch error and wear, tooth by tooth");
}
