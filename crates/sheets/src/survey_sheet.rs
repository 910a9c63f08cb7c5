//! Where the lost motion comes from, along the travel.

use crate::info::{SheetError, SheetInfo, within};
use crate::number::{Row, dimension};
use crate::page::Page;
use crate::paper::drawing::{Anchor, Canvas, Dash, Drawing, Ink, Layer, Pen, number_pages};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::{Path, Point, Rect, pt};
use crate::plot::{Frame, Scale};
use crate::refusal::refused;
use crate::table::{self, Column, Table, tallest};
use form::{Quantity, Units};

/// Lost motion at one place along the travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Place along the travel, mm.
    pub position_mm: f64,
    /// Lost motion read there, end-float included, mm.
    pub total_mm: Quantity,
    /// The part the nut has, mm.
    pub nut_mm: Quantity,
    /// The part the screw's wear has, mm.
    pub screw_mm: Quantity,
    /// What a new nut alone would leave, end-float included, mm.
    pub forecast_mm: Quantity,
}

/// What the survey sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveySheet {
    /// Which slide or screw.
    pub subject: String,
    /// End-float of the thrust collar, mm.
    pub end_float_mm: Quantity,
    /// The stations, in order along the travel.
    pub stations: Vec<Station>,
    /// Further numbers.
    pub rows: Vec<Row>,
    /// What to do, in a sentence.
    pub verdict: String,
    /// Why.
    pub reasons: Vec<String>,
}

const CAUTIONS: [&str; 1] = ["Isolate the machine before taking readings by hand."];
const MOST_STATIONS: usize = 60;
/// More stations than this run together when every one has a mark.
const MOST_MARKED: usize = 30;

/// The survey sheet; a second page when the readings need one.
///
/// # Errors
/// [`SheetError`] when a reading cannot be plotted or there are too few or too many stations.
pub fn survey_sheet(info: &SheetInfo, survey: &SurveySheet) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Backlash survey: {}", survey.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
    }
    within("number of stations", survey.stations.len() as f64, "", 2.0, MOST_STATIONS as f64)?;
    within("end-float", survey.end_float_mm.value, "mm", -1.0, 100.0)?;
    for s in &survey.stations {
        within("position", s.position_mm, "mm", -1e6, 1e6)?;
        within("lost motion", s.total_mm.value, "mm", -10.0, 100.0)?;
        within("part of the nut", s.nut_mm.value, "mm", -100.0, 100.0)?;
        within("part of the screw", s.screw_mm.value, "mm", -100.0, 100.0)?;
        within("forecast", s.forecast_mm.value, "mm", -100.0, 100.0)?;
    }
    let mut page = Page::new(info, &title, &[], &CAUTIONS);
    let width = page.body.width();

    let verdict = font::wrap(&survey.verdict, width, 4.4, Weight::Bold);
    let mut reasons = Vec::new();
    for r in &survey.reasons {
        reasons.extend(font::wrap(r, width - 3.0, 3.5, Weight::Regular).into_iter().enumerate());
    }
    let head = page.take_top(3.0 + 5.6 * verdict.len() as f64 + 4.5 * reasons.len() as f64 + 2.0);
    let d = page.canvas();
    let mut y = head.top - 5.6;
    for line in &verdict {
        d.write_bold(pt(head.left, y), line, 4.4, Anchor::Start);
        y -= 5.6;
    }
    for (i, line) in &reasons {
        if *i == 0 {
            d.write(pt(head.left, y), "•", 3.5, Anchor::Start);
        }
        d.write(pt(head.left + 3.0, y), line, 3.5, Anchor::Start);
        y -= 4.5;
    }

    let mut numbers = vec![Row::length("End-float (thrust)", survey.end_float_mm)];
    numbers.extend(survey.rows.iter().cloned());
    let tables = table::numbers(&numbers, info.units, 2, width);
    let stations = station_tables(&survey.stations, info.units, width, 1, 3.2);
    let two = station_tables(&survey.stations, info.units, width, 2, 2.7);
    let least_plot = 72.0;
    let room = page.body.height() - tallest(&tables) - least_plot - 16.0;
    let chosen = [&stations, &two].into_iter().find(|t| tallest(t) <= room);
    let mut drawings = Vec::new();
    let area = page.take_bottom(tallest(&tables) + 7.0 + chosen.map_or(0.0, |t| tallest(t) + 4.0));
    let plot = page.body;
    let d = page.canvas();
    draw_plot(d, survey, info.units, plot);
    let mut low = table::draw_beside(&tables, d, area.left, area.top - 1.0, 6.0);
    if let Some(t) = chosen {
        low = table::draw_beside(t, d, area.left, low - 4.0, 6.0);
    }
    d.write(pt(area.left, low - 4.2), FOOTNOTE, 2.8, Anchor::Start);
    drawings.push(page.drawing);
    if chosen.is_none() {
        let mut page = Page::new(info, &title, &[], &CAUTIONS);
        let body = page.body;
        let d = page.canvas();
        d.write_bold(pt(body.left, body.top - 6.0), "Stations", 4.2, Anchor::Start);
        let t = station_tables(&survey.stations, info.units, width, 2, 2.7);
        table::draw_beside(&t, d, body.left, body.top - 9.0, 6.0);
        drawings.push(page.drawing);
    }
    number_pages(&mut drawings);
    Ok(drawings)
}

const FOOTNOTE: &str = "± u: standard uncertainty (k = 1). Lost motion: measured; parts of nut and \
                        screw, forecast: derived.";

fn station_tables(
    stations: &[Station],
    units: Units,
    width: f64,
    columns: usize,
    size: f64,
) -> Vec<Table> {
    let gap = 6.0;
    let each = (width - gap * (columns as f64 - 1.0)) / columns as f64;
    let unit = units.symbol();
    let q = |q: Quantity| {
        if q.u > 0.0 && columns == 1 {
            let text = crate::number::length(q, units);
            text.trim_end_matches(unit).trim_end().to_owned()
        } else {
            dimension(q, units)
        }
    };
    let cells: Vec<Vec<String>> = stations
        .iter()
        .map(|s| {
            let place = dimension(Quantity::entered(s.position_mm, 0.0), units);
            vec![place, q(s.total_mm), q(s.nut_mm), q(s.screw_mm), q(s.forecast_mm)]
        })
        .collect();
    let per = cells.len().div_ceil(columns).max(1);
    let first = if columns == 1 { format!("Position, {unit}") } else { "Pos.".into() };
    cells
        .chunks(per)
        .map(|chunk| {
            Table::new(
                vec![
                    Column::right(&first, 0.16),
                    Column::right("Total", 0.2),
                    Column::right("Nut", 0.2),
                    Column::right("Screw", 0.2),
                    Column::right("New nut", 0.22),
                ],
                chunk,
                each,
                size,
            )
        })
        .collect()
}

fn draw_plot(d: &mut Canvas, survey: &SurveySheet, units: Units, place: Rect) {
    let k = units.in_mm();
    let names = ["lost motion", "with a new nut", "without end-float", "end-float"];
    let label_size = 3.3;
    let aside =
        names.iter().map(|n| font::width_mm(n, label_size, Weight::Regular)).fold(0.0, f64::max);
    let inner = Rect::new(
        place.left + 13.0,
        place.bottom + 13.0,
        place.right - aside - 4.0,
        place.top - 8.0,
    );
    let stations = &survey.stations;
    let spread = |q: Quantity| if q.u.is_finite() { q.u } else { 0.0 };
    let tops = stations.iter().flat_map(|s| {
        [
            s.total_mm.value + spread(s.total_mm),
            s.total_mm.value - spread(s.total_mm),
            s.forecast_mm.value + spread(s.forecast_mm),
            s.nut_mm.value + s.screw_mm.value,
        ]
    });
    let frame = Frame {
        place: inner,
        x: Scale::over(stations.iter().map(|s| s.position_mm / k), 8.0),
        y: Scale::over(tops.chain([0.0, survey.end_float_mm.value]).map(|v| v / k), 5.0),
    };
    frame.draw(
        d,
        &format!("position along the travel, {}", units.symbol()),
        &format!("lost motion, {}", units.symbol()),
        3.2,
    );
    let curve = |f: &dyn Fn(&Station) -> f64| -> Vec<Point> {
        stations.iter().map(|s| frame.at(s.position_mm / k, f(s) / k)).collect()
    };
    let total = curve(&|s| s.total_mm.value);
    let forecast = curve(&|s| s.forecast_mm.value);
    let thread = curve(&|s| s.nut_mm.value + s.screw_mm.value);
    let float = vec![
        frame.at(frame.x.low, survey.end_float_mm.value / k),
        frame.at(frame.x.high, survey.end_float_mm.value / k),
    ];
    for (line, pen) in [
        (&float, Pen::CURVE.width(0.3).dash(Dash::Chain)),
        (&thread, Pen::CURVE.width(0.25)),
        (&forecast, Pen::CURVE.width(0.45).dash(Dash::Dashed)),
        (&total, Pen::CURVE.width(0.6)),
    ] {
        d.stroke(Path::open(line.iter().copied()), pen);
    }
    let marked = stations.len() <= MOST_MARKED;
    for (s, at) in stations.iter().zip(&total) {
        let u = spread(s.total_mm) / k * inner.height() / (frame.y.high - frame.y.low);
        if u > 0.6 {
            for y in [-u, u] {
                d.line(*at + pt(-0.9, y), *at + pt(0.9, y), Pen::AXIS.width(0.18));
            }
            d.line(*at - pt(0.0, u), *at + pt(0.0, u), Pen::AXIS.width(0.18));
        }
        if marked {
            d.fill(Path::circle(*at, 0.85), Layer::Plot, Ink::Black);
        }
    }
    for at in forecast.iter().filter(|_| marked) {
        d.fill(Path::circle(*at, 0.85), Layer::Plot, Ink::White);
        d.stroke(Path::circle(*at, 0.85), Pen::AXIS);
    }
    let ends: Vec<f64> = [&total, &forecast, &thread, &float]
        .iter()
        .map(|l| l.last().map_or(inner.bottom, |p| p.y))
        .collect();
    for ((name, y), line) in names
        .iter()
        .zip(spaced(&ends, 1.35 * label_size, inner))
        .zip([&total, &forecast, &thread, &float])
    {
        let x = inner.right + 3.0;
        if let Some(end) = line.last() {
            d.line(*end + pt(1.2, 0.0), pt(x - 0.4, y), Pen::DIMENSION.width(0.13));
        }
        d.write(pt(x, y - 0.34 * label_size), name, label_size, Anchor::Start);
    }
}

/// Heights for labels as near as may be to `wanted` and at least `apart` from each other.
fn spaced(wanted: &[f64], apart: f64, within: Rect) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    let mut out = wanted.to_vec();
    let mut floor = within.bottom + 0.5 * apart;
    for &i in &order {
        out[i] = out[i].max(floor);
        floor = out[i] + apart;
    }
    let mut ceiling = within.top;
    for &i in order.iter().rev() {
        out[i] = out[i].min(ceiling);
        ceiling = out[i] - apart;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_apart() {
        let r = Rect::new(0.0, 0.0, 100.0, 60.0);
        let y = spaced(&[10.0, 10.5, 59.9, 60.0], 4.0, r);
        let mut sorted = y.clone();
        sorted.sort_by(f64::total_cmp);
        assert!(sorted.windows(2).all(|w| w[1] - w[0] >= 4.0 - 1e-9), "{y:?}");
        assert!(y.iter().all(|v| (0.0..=60.0).contains(v)));
    }
}
