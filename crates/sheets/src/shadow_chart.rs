//! A chart of the shadow that is to be expected, to hold the real one against on a projector.

use crate::info::{SheetError, SheetInfo, within};
use crate::number::{Row, trimmed};
use crate::page::{Page, SMALL_MM};
use crate::paper::drawing::{Anchor, Canvas, Dash, Drawing, Ink, Pen, number_pages};
use crate::paper::geometry::{Point, Rect, pt};
use crate::plot;
use crate::refusal::refused;
use crate::table::{self, tallest};
use form::Units;
use shop::About;

/// One edge of the expected shadow.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadowEdge {
    /// `upper edge`, `lower edge`.
    pub name: String,
    /// The edge: mm at the plane through the axis, `x` along the axis, `y` up in the shadow.
    pub line_mm: Vec<[f64; 2]>,
    /// Limits beside it, drawn thin and dashed.
    pub limits_mm: Vec<Vec<[f64; 2]>>,
}

/// What the chart shows.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadowChart {
    /// What it is compared with: `ground tool`, `mast screw`.
    pub subject: String,
    /// The edges, one page each.
    pub edges: Vec<ShadowEdge>,
    /// Pitch, mm: how much must be in view.
    pub pitch_mm: f64,
    /// Magnification of the projector; a usual one that shows two pitches when `None`.
    pub magnification: Option<f64>,
    /// How the shadow falls: `parallel view, square to the axis`, `lamp 1200 mm from the axis`.
    pub view: String,
    /// Numbers the shadow was computed from.
    pub rows: Vec<Row>,
    /// Remarks.
    pub notes: Vec<String>,
}

/// Usual magnifications of profile projectors, largest first.
const USUAL: [f64; 6] = [100.0, 50.0, 20.0, 10.0, 5.0, 2.0];
const CAUTIONS: [&str; 1] =
    ["Compare shadow with shadow: the outline differs from the axial section a tool is ground to."];

/// The chart, a page for each edge.
///
/// # Errors
/// [`SheetError::Limits`] for a magnification or points that cannot be drawn.
pub fn shadow_chart(info: &SheetInfo, chart: &ShadowChart) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Shadow chart: {}", chart.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
    }
    within("pitch", chart.pitch_mm, "mm", 0.05, 500.0)?;
    if let Some(m) = chart.magnification {
        within("magnification", m, ": 1", 0.5, 200.0)?;
    }
    if chart.edges.is_empty() {
        return Err(SheetError::Limits {
            what: "number of edges",
            value: 0.0,
            unit: "",
            limits: "1 or more".into(),
        });
    }
    for e in &chart.edges {
        for p in e.line_mm.iter().chain(e.limits_mm.iter().flatten()) {
            within("point along the axis", p[0], "mm", -1e5, 1e5)?;
            within("point across the axis", p[1], "mm", -1e5, 1e5)?;
        }
        if e.line_mm.len() < 2 {
            return Err(SheetError::Limits {
                what: "number of points of an edge",
                value: e.line_mm.len() as f64,
                unit: "",
                limits: "2 or more".into(),
            });
        }
    }
    let mut drawings: Vec<Drawing> =
        chart.edges.iter().map(|e| edge_page(info, &title, chart, e)).collect();
    number_pages(&mut drawings);
    Ok(drawings)
}

fn edge_page(info: &SheetInfo, title: &str, chart: &ShadowChart, edge: &ShadowEdge) -> Drawing {
    let mut page = Page::new(info, title, &[About::Print], &CAUTIONS);
    let width = page.body.width();
    let tables = table::numbers(&chart.rows, info.units, 2, width);
    let table_area =
        page.take_bottom(if chart.rows.is_empty() { 0.0 } else { tallest(&tables) + 7.0 });
    let mut lines: Vec<String> =
        crate::paper::font::wrap(&chart.view, width - 42.0, SMALL_MM, crate::Weight::Regular);
    for n in &chart.notes {
        lines.extend(crate::paper::font::wrap(n, width - 42.0, SMALL_MM, crate::Weight::Regular));
    }
    let head = page.take_top(5.0 + (4.1 * lines.len() as f64).max(9.0));
    let scale_note = page.take_bottom(7.0);
    let place = page.body;
    let (low, high) = span(&edge.line_mm, 1);
    let (left, right) = span(&edge.line_mm, 0);
    let scale = chart.magnification.unwrap_or_else(|| {
        USUAL
            .into_iter()
            .find(|m| {
                2.0 * chart.pitch_mm * m <= place.width()
                    && (high - low + 0.4 * chart.pitch_mm) * m <= place.height()
            })
            .unwrap_or(1.0)
    });
    let middle = pt(0.5 * (left + right), 0.5 * (low + high));
    let d = page.canvas();
    d.write_bold(
        pt(head.left, head.top - 5.4),
        &format!("{} : 1", trimmed(scale, 2)),
        4.6,
        Anchor::Start,
    );
    d.write(pt(head.left, head.top - 10.6), &edge.name, 3.6, Anchor::Start);
    let mut y = head.top - 5.0;
    for line in &lines {
        d.write(pt(head.left + 42.0, y), line, SMALL_MM, Anchor::Start);
        y -= 4.1;
    }
    let cell = draw_grid(d, place, scale, info.units);
    let on_paper = |p: &[f64; 2]| (pt(p[0], p[1]) - middle) * scale + place.centre();
    let trace = |d: &mut Canvas, line: &[[f64; 2]], pen: Pen| {
        let points: Vec<Point> = line.iter().map(on_paper).collect();
        for part in plot::cut(&points, &place) {
            d.stroke(part, pen);
        }
    };
    for line in &edge.limits_mm {
        trace(d, line, Pen::CURVE.width(0.18).dash(Dash::Dashed));
    }
    // Fine: at this magnification the width of the line is part of what is compared.
    trace(d, &edge.line_mm, Pen::CURVE.width(0.25));
    d.stroke(place.path(), Pen::AXIS);
    d.write(
        pt(scale_note.left, scale_note.bottom + 2.0),
        &format!(
            "Grid: {} {} on the part. The edge is the middle of the line. Cross: middle of the \
             screw's stretch.",
            trimmed(cell, 4),
            info.units.symbol()
        ),
        SMALL_MM,
        Anchor::Start,
    );
    cross(d, place.centre());
    if !chart.rows.is_empty() {
        table::draw_beside(&tables, d, table_area.left, table_area.top - 1.5, 6.0);
    }
    page.drawing
}

fn span(line: &[[f64; 2]], axis: usize) -> (f64, f64) {
    line.iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p[axis]), h.max(p[axis])))
}

/// A grid from the middle outward; returns its cell on the part, in `units`.
fn draw_grid(d: &mut Canvas, place: Rect, scale: f64, units: Units) -> f64 {
    let cell = plot::round_step(10.0 / scale / units.in_mm(), 1.0);
    let step = cell * units.in_mm() * scale;
    let c = place.centre();
    let n = (0.5 * place.width().max(place.height()) / step) as i32;
    let pen = Pen::GRID.ink(Ink::Grey);
    for i in -n..=n {
        let o = f64::from(i) * step;
        if (c.x + o) > place.left && (c.x + o) < place.right {
            d.line(pt(c.x + o, place.bottom), pt(c.x + o, place.top), pen);
        }
        if (c.y + o) > place.bottom && (c.y + o) < place.top {
            d.line(pt(place.left, c.y + o), pt(place.right, c.y + o), pen);
        }
    }
    cell
}

fn cross(d: &mut Canvas, c: Point) {
    d.line(c - pt(2.0, 0.0), c + pt(2.0, 0.0), Pen::DIMENSION);
    d.line(c - pt(0.0, 2.0), c + pt(0.0, 2.0), Pen::DIMENSION);
}
