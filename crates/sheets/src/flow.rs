//! Blocks one under the other, over as many pages as they need.

use crate::info::SheetInfo;
use crate::number::Row;
use crate::page::Page;
use crate::paper::drawing::{Anchor, Drawing};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::pt;
use crate::record_sheet::{Candidate, percent};
use crate::table::{Column, Table};
use shop::About;

const SIZE_MM: f64 = 3.4;

/// Blocks one under the other, on a new page when one is full.
pub(crate) struct Flow<'a> {
    info: &'a SheetInfo,
    title: String,
    about: &'a [About],
    own: &'a [&'a str],
    pub page: Page,
    done: Vec<Drawing>,
}

impl<'a> Flow<'a> {
    pub fn new(info: &'a SheetInfo, title: &str, about: &'a [About], own: &'a [&'a str]) -> Self {
        let page = Page::new(info, title, about, own);
        Self { info, title: title.to_owned(), about, own, page, done: Vec::new() }
    }

    fn next_page(&mut self) {
        let fresh = Page::new(self.info, &self.title, self.about, self.own);
        let full = std::mem::replace(&mut self.page, fresh);
        self.done.push(full.drawing);
    }

    fn heading(&mut self, heading: &str, with: f64) {
        if self.page.body.height() < 9.0 + with {
            self.next_page();
        }
        if heading.is_empty() {
            self.page.take_top(1.5);
            return;
        }
        let place = self.page.take_top(7.4);
        self.page.canvas().write_bold(
            pt(place.left, place.bottom + 1.6),
            heading,
            4.0,
            Anchor::Start,
        );
    }

    pub fn numbers(&mut self, heading: &str, rows: &[Row]) {
        if rows.is_empty() {
            return;
        }
        let width = self.page.body.width();
        let tables = crate::table::numbers(rows, self.info.units, 2, width);
        let height = crate::table::tallest(&tables);
        self.heading(heading, height);
        let place = self.page.take_top(height + 1.0);
        crate::table::draw_beside(&tables, self.page.canvas(), place.left, place.top, 6.0);
    }

    /// A table that may run over several pages, its heading repeated.
    pub fn table(&mut self, heading: &str, columns: Vec<Column>, cells: &[Vec<String>]) {
        let width = self.page.body.width();
        let mut rest = cells;
        let mut name = heading.to_owned();
        while !rest.is_empty() {
            let least = Table::new(columns.clone(), &rest[..1], width, SIZE_MM).height();
            self.heading(&name, least);
            let room = self.page.body.height() - 1.0;
            let mut n = rest.len();
            let mut table = Table::new(columns.clone(), rest, width, SIZE_MM);
            while n > 1 && table.height() > room {
                n -= 1;
                table = Table::new(columns.clone(), &rest[..n], width, SIZE_MM);
            }
            let place = self.page.take_top(table.height() + 1.0);
            table.draw(self.page.canvas(), place.left, place.top);
            rest = &rest[n..];
            name = format!("{heading} (continued)");
        }
    }

    pub fn lines(&mut self, heading: &str, items: &[String]) {
        if items.is_empty() {
            return;
        }
        let width = self.page.body.width() - 3.0;
        self.heading(heading, 6.0);
        for item in items {
            let lines = font::wrap(item, width, SIZE_MM, Weight::Regular);
            for (i, line) in lines.iter().enumerate() {
                if self.page.body.height() < 5.5 {
                    self.next_page();
                    self.page.take_top(2.0);
                }
                let place = self.page.take_top(4.4);
                let d = self.page.canvas();
                if i == 0 && !heading.is_empty() {
                    d.write(pt(place.left, place.bottom + 1.2), "•", SIZE_MM, Anchor::Start);
                }
                d.write(pt(place.left + 3.0, place.bottom + 1.2), line, SIZE_MM, Anchor::Start);
            }
        }
    }

    /// What the standards make of it, and how likely it is that none of them is meant.
    pub fn candidates(&mut self, candidates: &[Candidate], no_standard_probability: f64) {
        let mut cells: Vec<Vec<String>> = candidates
            .iter()
            .map(|c| {
                let odds = percent(c.probability);
                vec![c.designation.clone(), odds, String::new(), c.remark.clone()]
            })
            .collect();
        let none = "none of the standards known here";
        cells.push(vec![none.into(), percent(no_standard_probability)]);
        let columns = vec![
            Column::left("Designation", 0.31),
            Column::right("Probability", 0.15),
            Column::left("", 0.005),
            Column::left("Remark", 0.53),
        ];
        self.table("What it may be", columns, &cells);
    }

    /// Words that explain the numbers above them.
    pub fn footnote(&mut self, text: &str) {
        self.lines("", &[text.to_owned()]);
    }

    pub fn finish(self) -> Vec<Drawing> {
        let mut done = self.done;
        done.push(self.page.drawing);
        done
    }
}
