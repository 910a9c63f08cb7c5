//! Tables ruled with thin lines; long cells are wrapped.

use crate::number::Row;
use crate::paper::drawing::{Anchor, Canvas, Pen};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::pt;
use form::Units;

/// A column: heading, share of the width, and which way its cells are set.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    pub heading: String,
    pub share: f64,
    pub anchor: Anchor,
}

impl Column {
    pub fn left(heading: &str, share: f64) -> Self {
        Self { heading: heading.into(), share, anchor: Anchor::Start }
    }
    pub fn right(heading: &str, share: f64) -> Self {
        Self { heading: heading.into(), share, anchor: Anchor::End }
    }
}

/// A table laid out for a width, ready to be measured and drawn.
#[derive(Debug, Clone)]
pub(crate) struct Table {
    columns: Vec<Column>,
    /// Left edge and width of each column, mm from the left of the table.
    places: Vec<(f64, f64)>,
    /// Cells as wrapped lines; row 0 is the heading.
    rows: Vec<Vec<Vec<String>>>,
    width: f64,
    size_mm: f64,
    /// Air over and under the lines of a row together, in sizes of type.
    air: f64,
}

/// Space between columns, mm.
pub(crate) const GUTTER_MM: f64 = 2.2;

impl Table {
    pub fn new(columns: Vec<Column>, rows: &[Vec<String>], width: f64, size_mm: f64) -> Self {
        let total: f64 = columns.iter().map(|c| c.share).sum();
        let free = width - GUTTER_MM * (columns.len() as f64 - 1.0);
        let mut places = Vec::with_capacity(columns.len());
        let mut x = 0.0;
        for c in &columns {
            let w = free * c.share / total;
            places.push((x, w));
            x += w + GUTTER_MM;
        }
        let set = |cells: &[String], weight: Weight| -> Vec<Vec<String>> {
            places
                .iter()
                .enumerate()
                .map(|(i, (_, w))| {
                    let text = cells.get(i).map_or("", String::as_str);
                    font::wrap(text, *w, size_mm, weight)
                })
                .collect()
        };
        let headings: Vec<String> = columns.iter().map(|c| c.heading.clone()).collect();
        let mut laid = Vec::with_capacity(rows.len() + 1);
        if headings.iter().any(|h| !h.is_empty()) {
            laid.push(set(&headings, Weight::Bold));
        } else {
            laid.push(Vec::new());
        }
        laid.extend(rows.iter().map(|r| set(r, Weight::Regular)));
        Self { columns, places, rows: laid, width, size_mm, air: 0.42 }
    }

    /// The same with less air in it.
    pub fn tight(self) -> Self {
        Self { air: 0.2, ..self }
    }

    fn leading(&self) -> f64 {
        1.22 * self.size_mm
    }

    fn row_height(&self, row: usize) -> f64 {
        let lines = self.rows[row].iter().map(Vec::len).max().unwrap_or(0);
        if lines == 0 { 0.0 } else { self.air * self.size_mm + self.leading() * lines as f64 }
    }

    pub fn height(&self) -> f64 {
        (0..self.rows.len()).map(|i| self.row_height(i)).sum()
    }

    /// Draws the table with its upper left corner at (`left`, `top`); returns its lower edge.
    pub fn draw(&self, d: &mut Canvas, left: f64, top: f64) -> f64 {
        let mut y = top;
        for (i, row) in self.rows.iter().enumerate() {
            let height = self.row_height(i);
            if height == 0.0 {
                d.line(pt(left, y), pt(left + self.width, y), Pen::RULE.width(0.3));
                continue;
            }
            for ((cell, (x, w)), column) in row.iter().zip(&self.places).zip(&self.columns) {
                let mut base = y - (0.5 * self.air + 0.86) * self.size_mm;
                for line in cell {
                    let at = match column.anchor {
                        Anchor::Start => pt(left + x, base),
                        Anchor::Middle => pt(left + x + 0.5 * w, base),
                        Anchor::End => pt(left + x + w, base),
                    };
                    if i == 0 {
                        d.write_bold(at, line, self.size_mm, column.anchor);
                    } else {
                        d.write(at, line, self.size_mm, column.anchor);
                    }
                    base -= self.leading();
                }
            }
            y -= height;
            let pen = if i == 0 { Pen::RULE.width(0.3) } else { Pen::RULE.width(0.1) };
            d.line(pt(left, y), pt(left + self.width, y), pen);
        }
        y
    }
}

/// Type sizes tried for tables of numbers, largest first, mm.
const NUMBER_SIZES_MM: [f64; 3] = [3.5, 3.3, 3.1];

/// Rows of numbers side by side in `columns` tables of name, value and source, as large as they
/// need no second line.
pub(crate) fn numbers(rows: &[Row], units: Units, columns: usize, width: f64) -> Vec<Table> {
    let gap = 6.0;
    let each = (width - gap * (columns as f64 - 1.0)) / columns as f64;
    let cells: Vec<Vec<String>> = rows
        .iter()
        .map(|r| {
            let source = r.value.source().map(|s| s.to_string()).unwrap_or_default();
            vec![r.name.clone(), r.value.text(units), source]
        })
        .collect();
    let headings = ["Quantity", "Value ± u", "Source"];
    let natural = |i: usize| {
        let heading = font::width_mm(headings[i], 1.0, Weight::Bold);
        cells.iter().map(|c| font::width_mm(&c[i], 1.0, Weight::Regular)).fold(heading, f64::max)
    };
    let free = each - 2.0 * GUTTER_MM;
    // Values and sources keep to one line; names may take a second.
    let (value, source) = (1.01 * natural(1), 1.01 * natural(2));
    let fits = |size: &f64| size * (natural(0) + value + source) <= free;
    let size = NUMBER_SIZES_MM.into_iter().find(fits).unwrap_or(3.1);
    let name = (free / size - value - source).max(0.3 * free / size);
    let per = rows.len().div_ceil(columns).max(1);
    cells
        .chunks(per)
        .map(|chunk| {
            let columns = headings
                .iter()
                .zip([name, value, source])
                .map(|(heading, share)| Column::left(heading, share))
                .collect();
            Table::new(columns, chunk, each, size)
        })
        .collect()
}

/// Height of tables set side by side.
pub(crate) fn tallest(tables: &[Table]) -> f64 {
    tables.iter().map(Table::height).fold(0.0, f64::max)
}

/// Draws tables side by side, equally wide, over `width`; returns the lowest edge.
pub(crate) fn draw_beside(tables: &[Table], d: &mut Canvas, left: f64, top: f64, gap: f64) -> f64 {
    let mut x = left;
    let mut low = top;
    for t in tables {
        low = low.min(t.draw(d, x, top));
        x += t.width + gap;
    }
    low
}
