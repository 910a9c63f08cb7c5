//! Lost motion along the travel: whose it is, and what each remedy would leave.

use crate::window::command::Command;
use crate::window::edit::Edit;
use crate::window::field::Field;
use crate::window::look::palette;
use crate::window::plot;
use crate::window::state::{Asked, Bench};
use crate::window::widgets::{
    bullets, card, cell, entry, example, heading, heads, hint, length, main_button, sentence,
};
use eframe::egui::{Color32, Grid, RichText, Stroke, Ui};
use egui_plot::{Bar, BarChart, HLine, Line, MarkerShape, PlotPoints, Points};
use form::Quantity;
use shop::{Station, Verdict};

/// Widths of the entries in the table, points: a place, and a reading with its ± in inches.
const PLACE: f32 = 96.0;
const READING: f32 = 164.0;

pub(super) fn side(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let units = bench.units();
    heading(ui, "Readings");
    table(ui, bench, out);
    ui.horizontal_wrapped(|ui| {
        if ui.button("Read a file …").on_hover_text("columns position_mm, lost_motion_mm").clicked()
        {
            out.push(Command::Ask(Asked::Survey));
        }
        if ui.button("Type its path …").clicked() {
            out.push(Command::TypePath(Asked::Survey));
        }
    });
    entry(
        ui,
        bench,
        out,
        Field::EndFloat,
        "End-float of the screw in its thrust",
        example(units, ["0.06 ± 0.01 mm", "0.0024 ± 0.0004 in", "2.4 ± 0.4 thou"]),
    );
    entry(
        ui,
        bench,
        out,
        Field::Acceptable,
        "Lost motion you would put up with",
        example(units, ["0.13 mm", "0.005 in", "5 thou"]),
    );
    let usual = example(
        units,
        [
            "new 0.05 to 0.13 mm, used 0.25 to 0.45 mm",
            "new 0.002 to 0.005 in, used 0.010 to 0.018 in",
            "new 2 to 5 thou, used 10 to 18 thou",
        ],
    );
    hint(ui, &format!("Common practice: {usual}."));
    super::remarks(ui, bench);
    if let Some(found) = bench.findings().and_then(|f| f.survey.as_ref()) {
        heading(ui, "Why");
        card(ui, |ui| {
            let reasons: Vec<String> =
                found.reasons.iter().map(|r| sentence(&r.in_units(units))).collect();
            bullets(ui, &reasons);
        });
        card(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            length(ui, "thrust", found.thrust_mm, units);
            length(ui, "nut", found.nut_mm, units);
            length(ui, "screw, at worst", found.most_screw_mm, units);
            ui.separator();
            length(ui, "now, at worst", found.worst_now_mm, units);
            length(ui, "with a new nut", found.worst_with_new_nut_mm, units);
            length(ui, "nut and thrust", found.worst_with_both_mm, units);
        });
    }
    if let Some(stations) = bench
        .findings()
        .and_then(|f| f.survey.as_ref())
        .map(|s| s.stations.len())
        .filter(|n| *n > 0)
    {
        hint(ui, &format!("{stations} stations; repeats at one place are averaged."));
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::LeaveIt => "Leave it as it is.",
        Verdict::AdjustThrust => "Adjust the thrust: that alone is enough.",
        Verdict::NewNut => "A new nut.",
        Verdict::ScrewToo => "A new nut will not be enough: the screw too.",
        Verdict::CannotTell => "The readings do not tell.",
    }
}

fn table(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let unit = bench.units().symbol();
    let rows = bench.job().survey.readings.len();
    Grid::new("stations").num_columns(4).min_col_width(12.0).spacing([8.0, 4.0]).show(ui, |ui| {
        heads(ui, &["", &format!("at, {unit}"), &format!("lost motion, {unit}"), ""]);
        // The row behind the last waits for another station.
        for i in 0..=rows {
            ui.label(RichText::new((i + 1).to_string()).small().weak());
            let name = |what: &str| format!("{what} {}", i + 1);
            cell(ui, bench, out, Field::Station(i), &name("Place of station"), PLACE);
            cell(ui, bench, out, Field::Lost(i), &name("Lost motion at station"), READING);
            if i < rows {
                let remove = ui.small_button("remove").on_hover_text(name("Remove station"));
                if remove.clicked() {
                    out.push(Command::Edit(Edit::RemoveStation(i)));
                }
            } else {
                ui.label(RichText::new("Enter adds it").small().weak());
            }
            ui.end_row();
        }
    });
}

/// The lost motion along the travel, shared out, with what each remedy would leave.
pub(super) fn middle(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let Some(found) = bench.findings().and_then(|f| f.survey.as_ref()) else {
        super::empty(
            ui,
            "Where does the lost motion come from?",
            "Take it at five stations along the travel and type the readings in at the right. \
             Nothing else is needed; or go straight to another step.",
        );
        ui.vertical_centered(|ui| {
            if main_button(ui, "Show me on a demonstration").clicked() {
                out.push(Command::Demonstrate(0));
            }
        });
        return;
    };
    let p = palette(ui);
    let units = bench.units();
    let k = units.in_mm();
    // Paler than the lines drawn over them.
    let (thrust, nut, screw) =
        (p.faint.gamma_multiply(0.5), p.accent.gamma_multiply(0.5), p.doubt.gamma_multiply(0.6));
    ui.label(RichText::new(verdict(found.verdict)).heading());
    if let Some(chance) = found.chance_enough {
        let enough = format!(
            "With a chance of {} that is enough; {} of end-float is taken to remain.",
            shop::in_per_cent(chance),
            bench.units().plain(found.remaining_end_float_mm, 3)
        );
        hint(ui, &enough);
    }
    plot::legend(
        ui,
        &[
            ("thrust", thrust),
            ("nut", nut),
            ("screw", screw),
            ("measured", p.ink),
            ("forecast: new nut, thrust adjusted", p.good),
            ("would be put up with", p.bad),
        ],
    );
    hint(ui, "Upright lines: ± one standard uncertainty.");
    let stations: Vec<Station> = found.stations.clone();
    let span = match (stations.first(), stations.last()) {
        (Some(a), Some(b)) => (b.position_mm - a.position_mm) / k,
        _ => 1.0,
    };
    // Readings may lie as unevenly as they were taken: bars never reach over their neighbours.
    let nearest = stations
        .windows(2)
        .map(|w| (w[1].position_mm - w[0].position_mm).abs() / k)
        .filter(|gap| *gap > 0.0)
        .fold(f64::INFINITY, f64::min);
    let width = (0.4 * span / stations.len().max(1) as f64).min(0.8 * nearest).max(0.004 * span);
    let share = |q: Quantity| if q.u.is_finite() { q.value.max(0.0) / k } else { 0.0 };
    let bars = |colour: Color32, name: &str, of: fn(&Station) -> Quantity| {
        let bars = stations
            .iter()
            .map(|s| Bar::new(s.position_mm / k, share(of(s))).width(width).fill(colour))
            .collect();
        let axis = format!("{name}, {}", units.symbol());
        let words = move |bar: &Bar, _: &BarChart| plot::at_pointer(&axis, bar.value);
        BarChart::new(name.to_owned(), bars).color(colour).element_formatter(Box::new(words))
    };
    let thrust_bars = bars(thrust, "thrust", |s| s.thrust_mm);
    let nut_bars = bars(nut, "nut", |s| s.nut_mm).stack_on(&[&thrust_bars]);
    let screw_bars = bars(screw, "screw", |s| s.screw_mm).stack_on(&[&thrust_bars, &nut_bars]);
    let measured: Vec<[f64; 2]> =
        stations.iter().map(|s| [s.position_mm / k, s.lost_motion_mm.value / k]).collect();
    let with_both: Vec<[f64; 2]> =
        stations.iter().map(|s| [s.position_mm / k, s.with_both_mm.value / k]).collect();
    let job = bench.job();
    let aim = job.survey.survey(job.nut.play_mm).map(|s| s.acceptable_mm / k);
    let height = ui.available_height() - 12.0;
    let unit = units.symbol();
    let shown = plot::frame(
        ui,
        "survey",
        height,
        &format!("along the travel, {unit}"),
        &format!("lost motion, {unit}"),
    )
    .include_y(0.0)
    .show(ui, |plot| {
        plot.bar_chart(thrust_bars);
        plot.bar_chart(nut_bars);
        plot.bar_chart(screw_bars);
        for s in &stations {
            let (x, y, u) = (s.position_mm / k, s.lost_motion_mm.value / k, s.lost_motion_mm.u / k);
            let whisker = Line::new("", PlotPoints::from(vec![[x, y - u], [x, y + u]]));
            plot.line(whisker.stroke(Stroke::new(2.0, p.ink)));
        }
        plot.points(
            Points::new("measured", PlotPoints::from(measured))
                .shape(MarkerShape::Circle)
                .radius(4.0)
                .color(p.ink),
        );
        plot.line(
            Line::new("forecast", PlotPoints::from(with_both)).stroke(Stroke::new(2.0, p.good)),
        );
        for s in stations.iter().filter(|s| s.with_both_mm.u.is_finite()) {
            // A little aside, so that both marks of ± are seen.
            let (x, q) = (s.position_mm / k + 0.012 * span, s.with_both_mm);
            let ends = vec![[x, (q.value - q.u) / k], [x, (q.value + q.u) / k]];
            plot.line(Line::new("±", PlotPoints::from(ends)).stroke(Stroke::new(2.0, p.good)));
        }
        if let Some(aim) = aim {
            plot.hline(HLine::new("put up with", aim).stroke(Stroke::new(1.0, p.bad)));
        }
    });
    plot::named(&shown.response, "lost motion along the travel");
}
