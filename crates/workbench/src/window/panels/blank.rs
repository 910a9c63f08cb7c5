//! Setting out the blank: how deep its axis lies, and bringing that axis to the spindle.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::figure::Figure;
use crate::window::howto;
use crate::window::look::palette;
use crate::window::plot;
use crate::window::state::Bench;
use crate::window::widgets::{
    bold, card, cell, entry, example, heading, heads, hint, length, line,
};
use eframe::egui::{Align2, Grid, RichText, Role, Stroke, Ui, WidgetInfo};
use egui_plot::{Line, MarkerShape, PlotPoints, Points};
use form::Units;
use job::{Blank, USUAL_WITHIN_MM};
use shop::Centring;

/// Width of an entry in the table, points.
const CELL: f32 = 74.0;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let units = bench.units();
    heading(ui, "Depth of the axis, by a height gauge");
    hint(ui, "All heights from one datum. A cylinder: a pin in the bore, or the screw itself.");
    entry(
        ui,
        bench,
        out,
        Field::BlankFace,
        "Height of the face it lies under",
        example(units, ["70.00 mm", "2.756 in", "2756 thou"]),
    );
    // The first is the thicker one, and stands higher.
    for (which, top, diameter, examples) in [
        (
            "First",
            Field::FirstTop,
            Field::FirstDiameter,
            [["62.31 mm", "2.453 in", "2453 thou"], ["20 mm", "0.75 in", "750 thou"]],
        ),
        (
            "Second",
            Field::SecondTop,
            Field::SecondDiameter,
            [["40.10 mm", "1.579 in", "1579 thou"], ["12 mm", "0.5 in", "500 thou"]],
        ),
    ] {
        ui.columns(2, |sides| {
            let (high, wide) = (format!("{which} cylinder's top"), format!("{which}, diameter"));
            let [tall, thick] = examples.map(|e| example(units, e));
            entry(&mut sides[0], bench, out, top, &high, tall);
            entry(&mut sides[1], bench, out, diameter, &wide, thick);
        });
    }
    let found = bench.findings().and_then(|f| f.blank.as_deref());
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        for (name, q) in [
            ("axis below the face", found.and_then(|b| b.axis_below_face_mm)),
            ("second axis lower by", found.and_then(|b| b.axis_drop_mm)),
        ] {
            match q {
                Some(q) if q.u > 0.0 => length(ui, name, q, units),
                // Without a ± a reading is known to a hundredth at best.
                Some(q) => drop(line(ui, name, &units.plain(q.value, 2), "derived")),
                None => drop(line(ui, name, "–", "")),
            }
        }
    });
    heading(ui, "Centring in an independent chuck");
    hint(ui, "A dial gauge on the work at each jaw in turn, more when the work stands nearer.");
    table(ui, bench, out);
    let within = example(units, ["0.01 mm", "0.0004 in", "0.4 thou"]);
    entry(ui, bench, out, Field::Within, "Near enough to the spindle's axis", within);
    if let Some(centring) = found.and_then(|b| b.centring.as_ref()) {
        let within_mm = bench.job().blank.within_mm.unwrap_or(USUAL_WITHIN_MM);
        next_move(ui, centring, within_mm, units);
    }
}

fn table(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let rounds = bench.job().blank.jaws.len();
    let unit = bench.units().symbol();
    Grid::new("jaws").num_columns(6).min_col_width(12.0).spacing([5.0, 4.0]).show(ui, |ui| {
        heads(ui, &["", "jaw 1", "jaw 2", "jaw 3", "jaw 4", unit]);
        // The row behind the last waits for another round.
        for i in 0..=rounds {
            ui.label(RichText::new((i + 1).to_string()).small().weak());
            for jaw in 0..4 {
                let name = format!("Round {}, jaw {}", i + 1, jaw + 1);
                cell(ui, bench, out, Field::Jaw(i, jaw), &name, CELL);
            }
            if i < rounds {
                let name = format!("Remove round {}", i + 1);
                let remove = ui.small_button("×").on_hover_text(&name);
                if remove.clicked() {
                    out.push(Command::Edit(Edit::RemoveRound(i)));
                }
                remove.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
            }
            ui.end_row();
        }
    });
}

/// What to do with the jaws now.
fn next_move(ui: &mut Ui, centring: &Centring, within_mm: f64, units: Units) {
    let Some(last) = centring.rounds.last() else { return };
    card(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 3.0;
        line(ui, "off centre", &units.plain(last.off_centre_mm, 3), "derived");
        if !centring.done {
            ui.label(bold(job::jaw_move(last, units)));
        }
        ui.label(job::rounds_to_go(centring));
        if let Some(part) = centring.left_of_error {
            hint(ui, &format!("The last move left {:.0} % of the error.", 100.0 * part));
        }
        if last.out_of_round_mm.abs() > 2.0 * within_mm {
            let by = units.plain(last.out_of_round_mm.abs(), 3);
            hint(ui, &format!("Opposed pairs differ by {by}: out of round, or a misread dial."));
        }
    });
}

/// The cylinders under the height gauge, and the way of the axis toward the spindle's.
pub(super) fn middle(ui: &mut Ui, bench: &Bench) {
    let Some(found) = bench.findings().and_then(|f| f.blank.as_deref()) else {
        ui.vertical_centered(|ui| {
            ui.add_space(0.12 * ui.available_height());
            ui.label(RichText::new("Where is the axis of the thread?").heading());
            ui.label("Enter heights on two cylinders, or readings at the four jaws, at the right.");
            ui.add_space(12.0);
            ui.set_max_width(620.0);
            howto::blank(ui, "the blank in four jaws, and a dial gauge on it", 280.0);
        });
        return;
    };
    let heights = found.axis_below_face_mm.is_some() || found.axis_drop_mm.is_some();
    let half = ui.available_height() - 8.0;
    let half = if heights && found.centring.is_some() { 0.48 * half } else { half - 20.0 };
    if heights {
        cylinders(ui, bench, found, half);
    }
    if let Some(centring) = &found.centring {
        let within = bench.job().blank.within_mm.unwrap_or(USUAL_WITHIN_MM);
        way(ui, centring, within, bench.units(), half);
    }
}

fn cylinders(ui: &mut Ui, bench: &Bench, found: &Blank, height: f32) {
    let (said, units) = (&bench.job().blank, bench.units());
    let round = |top: Option<form::Quantity>, diameter: Option<form::Quantity>| {
        let (top, r) = (top?.value, 0.5 * diameter?.value);
        Some((top - r, r))
    };
    let Some(first) = round(said.first_top_mm, said.first_diameter_mm) else { return };
    let second = round(said.second_top_mm, said.second_diameter_mm);
    let face = said.face_mm.filter(|_| found.axis_below_face_mm.is_some()).map(|q| q.value);
    let wide = 2.0 * (first.1 + second.map_or(0.0, |s| s.1)) + 6.0 * first.1;
    let (x1, x2) = (0.3 * wide, 0.7 * wide);
    let tops = [Some(first), second].into_iter().flatten();
    let low = tops.clone().map(|(at, r)| at - r).fold(f64::MAX, f64::min);
    let high = tops.map(|(at, r)| at + r).chain(face).fold(f64::MIN, f64::max);
    let f = Figure::new(
        ui,
        height,
        [0.0, low, wide, high + 0.1 * (high - low)],
        "cylinders under the height gauge, to scale",
    );
    let draw = |x: f64, (at, r): (f64, f64), name: &str| {
        f.circle((x, at), r, f.p.accent.gamma_multiply(0.12), Stroke::new(2.0, f.p.accent));
        f.dashed(&[(x - 1.3 * r, at), (x + 1.3 * r, at)], Stroke::new(1.0, f.p.faint));
        f.text((x, at + r), Align2::CENTER_BOTTOM, name, f.p.faint);
    };
    draw(x1, first, "first");
    if let Some(second) = second {
        draw(x2, second, "second");
    }
    if let (Some(face), Some(q)) = (face, found.axis_below_face_mm) {
        f.line(&[(0.02 * wide, face), (0.98 * wide, face)], Stroke::new(2.0, f.p.ink));
        f.text((0.98 * wide, face), Align2::RIGHT_BOTTOM, "face", f.p.ink);
        let x = 0.08 * wide;
        f.dashed(&[(x, first.0), (x1, first.0)], Stroke::new(1.0, f.p.faint));
        f.upright(first.0, face, x, &units.plain(q.value, 2));
    }
    if let (Some(second), Some(q)) = (second, found.axis_drop_mm) {
        let x = 0.5 * wide;
        f.dashed(&[(x1, first.0), (x, first.0)], Stroke::new(1.0, f.p.faint));
        f.dashed(&[(x, second.0), (x2, second.0)], Stroke::new(1.0, f.p.faint));
        f.upright(first.0.min(second.0), first.0.max(second.0), x, &units.plain(q.value.abs(), 2));
    }
}

/// The work's axis, round by round, seen along the spindle; jaw 1 above, jaw 2 at the right.
fn way(ui: &mut Ui, centring: &Centring, within_mm: f64, units: Units, height: f32) {
    let p = palette(ui);
    let k = units.in_mm();
    // A reading is greater where the work stands nearer to the gauge: toward that jaw.
    let path: Vec<[f64; 2]> =
        centring.rounds.iter().map(|m| [m.from_2_to_4_mm / k, m.from_1_to_3_mm / k]).collect();
    let ring: Vec<[f64; 2]> = (0..=64)
        .map(|i| {
            let a = std::f64::consts::TAU * f64::from(i) / 64.0;
            [within_mm * a.cos() / k, within_mm * a.sin() / k]
        })
        .collect();
    plot::legend(ui, &[("the work's axis, round by round", p.accent), ("near enough", p.good)]);
    let symbol = units.symbol();
    let shown = plot::frame(
        ui,
        "centring",
        height - 20.0,
        &format!("jaw 4 … jaw 2, {symbol}"),
        &format!("jaw 3 … jaw 1, {symbol}"),
    )
    .data_aspect(1.0)
    .show(ui, |plot| {
        plot.line(
            Line::new("near enough", PlotPoints::from(ring)).stroke(Stroke::new(2.0, p.good)),
        );
        let all = PlotPoints::from(path.clone());
        plot.line(Line::new("way", all).stroke(Stroke::new(1.0, p.accent)));
        let dots = Points::new("rounds", PlotPoints::from(path));
        plot.points(dots.shape(MarkerShape::Circle).radius(4.5).color(p.accent));
    });
    plot::named(&shown.response, "how the work's axis comes to the spindle's");
}
