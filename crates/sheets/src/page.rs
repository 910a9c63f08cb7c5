//! The parts every page has: border, title, check lines, cautions.

use crate::info::SheetInfo;
use crate::paper::drawing::{Anchor, Canvas, Drawing, Pen, Text};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::{Rect, pt};
use shop::About;

/// Length of the check lines, mm.
pub(crate) const CHECK_MM: f64 = 100.0;
/// Filing margin at the left (ISO 5457), mm.
const MARGIN_LEFT_MM: f64 = 20.0;
const MARGIN_MM: f64 = 10.0;
const HEADER_MM: f64 = 18.5;
const FOOTER_MM: f64 = 14.5;
const CAUTION_SIZE_MM: f64 = 2.8;
const CAUTION_LEADING_MM: f64 = 3.55;

/// Type sizes (the em), mm.
pub(crate) const BODY_MM: f64 = 3.7;
pub(crate) const SMALL_MM: f64 = 3.1;

/// A page in the making: what is drawn, and the space left for the sheet itself.
pub(crate) struct Page {
    pub drawing: Drawing,
    pub body: Rect,
}

impl Page {
    /// A page with everything but its body. The cautions are those for everything, those `about`
    /// this sheet's work, the sheet's `own`, and those of the job.
    pub fn new(info: &SheetInfo, title: &str, about: &[About], own: &[&str]) -> Self {
        let mut drawing = Drawing::new(title, info.paper);
        let frame = Rect::new(
            MARGIN_LEFT_MM,
            MARGIN_MM,
            info.paper.width_mm() - MARGIN_MM,
            info.paper.height_mm() - MARGIN_MM,
        );
        let d = &mut drawing.canvas;
        d.stroke(frame.path(), Pen::FRAME);
        let (header, rest) = frame.cut_top(HEADER_MM);
        let (footer, rest) = rest.cut_bottom(FOOTER_MM);
        drawing.page_mark_at = write_header(d, header, info, title);
        check_lines(d, footer);
        let body = write_cautions(d, rest, about, own, &info.cautions);
        Self { drawing, body: Rect::new(body.left + 2.5, body.bottom, body.right - 2.5, body.top) }
    }

    pub fn canvas(&mut self) -> &mut Canvas {
        &mut self.drawing.canvas
    }

    /// Takes `height` mm from the top of the body.
    pub fn take_top(&mut self, height: f64) -> Rect {
        let (cut, rest) = self.body.cut_top(height);
        self.body = rest;
        cut
    }

    /// Takes `height` mm from the bottom of the body.
    pub fn take_bottom(&mut self, height: f64) -> Rect {
        let (cut, rest) = self.body.cut_bottom(height);
        self.body = rest;
        cut
    }
}

/// Returns where the page mark ends.
fn write_header(
    d: &mut Canvas,
    header: Rect,
    info: &SheetInfo,
    title: &str,
) -> crate::paper::geometry::Point {
    let right = header.right - 2.5;
    let left = header.left + 2.5;
    d.line(pt(header.left, header.bottom), pt(header.right, header.bottom), Pen::RULE.width(0.35));
    let first = header.top - 6.6;
    let parts = [info.date.as_str(), info.made_by.as_str()];
    let parts: Vec<&str> = parts.into_iter().filter(|s| !s.is_empty()).collect();
    let aside = [
        parts.join(" · "),
        format!("{} · dimensions in {}", info.paper.name(), unit_name(info.units)),
    ];
    let aside_width = aside
        .iter()
        .map(|s| font::width_mm(&font::printable(s), SMALL_MM, Weight::Regular))
        .fold(24.0, f64::max)
        .min(0.42 * header.width());
    let room = right - left - aside_width - 5.0;
    let title_size = [5.6, 5.0, 4.4]
        .into_iter()
        .find(|s| font::width_mm(title, *s, Weight::Bold) <= room)
        .unwrap_or(4.0);
    let shown = font::shortened(title, room, title_size, Weight::Bold);
    d.write_bold(pt(left, first), &shown, title_size, Anchor::Start);
    let job = font::printable(&info.job);
    let lines = font::wrap(&job, room, BODY_MM, Weight::Regular);
    if lines.len() <= 1 {
        d.write(pt(left, first - 6.6), &job, BODY_MM, Anchor::Start);
    } else {
        // A name too long for two lines ends in an ellipsis; the whole name is in the job file.
        let lines = font::wrap(&job, room, SMALL_MM, Weight::Regular);
        d.write(pt(left, first - 5.0), &lines[0], SMALL_MM, Anchor::Start);
        let rest = lines[1..].join(" ");
        let second = font::shortened(&rest, room, SMALL_MM, Weight::Regular);
        d.write(pt(left, first - 9.0), &second, SMALL_MM, Anchor::Start);
    }
    for (i, s) in aside.iter().enumerate() {
        let s = font::shortened(&font::printable(s), aside_width, SMALL_MM, Weight::Regular);
        d.write(pt(right, first - 4.8 - 4.2 * i as f64), &s, SMALL_MM, Anchor::End);
    }
    pt(right, first)
}

pub(crate) fn unit_name(units: form::Units) -> &'static str {
    match units {
        form::Units::Mm => "mm",
        form::Units::Inch => "inches",
        form::Units::Thou => "thousandths of an inch",
    }
}

/// A level check line in the footer and an upright one in the filing margin, each with ticks.
fn check_lines(d: &mut Canvas, footer: Rect) {
    d.line(pt(footer.left, footer.top), pt(footer.right, footer.top), Pen::RULE.width(0.35));
    let tick = 1.8;
    let left = footer.left + 4.0;
    let y = footer.bottom + 4.4;
    d.line(pt(left, y), pt(left + CHECK_MM, y), Pen::CHECK);
    for i in 0..=10 {
        let x = left + 0.1 * CHECK_MM * f64::from(i);
        let h = if i % 10 == 0 { tick } else { 0.5 * tick };
        d.line(pt(x, y - h), pt(x, y + h), Pen::CHECK);
    }
    d.write(pt(left + 0.5 * CHECK_MM, y + 3.2), "100 mm check line", SMALL_MM, Anchor::Middle);

    let x = footer.left - 3.2;
    let low = footer.top + 6.0;
    d.line(pt(x, low), pt(x, low + CHECK_MM), Pen::CHECK);
    for i in 0..=10 {
        let y = low + 0.1 * CHECK_MM * f64::from(i);
        let h = if i % 10 == 0 { tick } else { 0.5 * tick };
        d.line(pt(x - h, y), pt(x + h, y), Pen::CHECK);
    }
    d.text(Text {
        text: "100 mm check line".into(),
        at: pt(x - 3.2, low + 0.5 * CHECK_MM),
        size_mm: SMALL_MM,
        anchor: Anchor::Middle,
        turn_deg: 90.0,
        weight: Weight::Regular,
    });

    let text_left = left + CHECK_MM + 5.0;
    let width = footer.right - 2.5 - text_left;
    d.write_wrapped(
        pt(text_left, footer.top - 4.2),
        "Measure both check lines before use: each must be 100\u{a0}mm. Print at 100\u{a0}%; “fit to \
         page” gives 94–97\u{a0}% (common practice).",
        width,
        2.9,
        3.7,
    );
}

/// Returns what is left of `space`.
fn write_cautions(
    d: &mut Canvas,
    space: Rect,
    about: &[About],
    own: &[&str],
    of_job: &[String],
) -> Rect {
    let width = space.width() - 8.5;
    let mut seen: Vec<String> = Vec::new();
    let all = shop::cautions_for(about)
        .into_iter()
        .map(|n| n.text.to_string())
        .chain(own.iter().map(|s| (*s).to_owned()))
        .chain(of_job.iter().map(|s| font::printable(s)));
    for text in all {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    let blocks: Vec<Vec<String>> =
        seen.iter().map(|s| font::wrap(s, width, CAUTION_SIZE_MM, Weight::Regular)).collect();
    let lines: usize = blocks.iter().map(Vec::len).sum();
    let height = 2.6 + 4.6 + CAUTION_LEADING_MM * lines as f64;
    let (block, rest) = space.cut_bottom(height);
    d.line(pt(block.left, block.top), pt(block.right, block.top), Pen::RULE.width(0.35));
    let left = block.left + 2.5;
    let mut y = block.top - 4.6;
    d.write_bold(pt(left, y), "Cautions", 3.5, Anchor::Start);
    y -= 4.6;
    for lines in blocks {
        d.write(pt(left, y), "•", CAUTION_SIZE_MM, Anchor::Start);
        for line in lines {
            d.write(pt(left + 2.6, y), &line, CAUTION_SIZE_MM, Anchor::Start);
            y -= CAUTION_LEADING_MM;
        }
    }
    rest
}
