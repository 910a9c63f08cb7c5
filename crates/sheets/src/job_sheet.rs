//! The one page a person pins beside the lathe.

use crate::info::{SheetError, SheetInfo, within};
use crate::number::{Row, dimension, dimension_angle, trimmed};
use crate::page::{Page, SMALL_MM};
use crate::paper::dimension::{self as dims, Side};
use crate::paper::drawing::{Anchor, Canvas, Drawing, Pen, number_pages};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::{Rect, pt};
use crate::refusal::refused;
use crate::table::{Column, Table};
use crate::tool_form::{FlankSide, ToolForm};
use crate::wheels::{FRACTION_MM, GearTrain, fraction};
use form::Units;
use shop::About;

/// One cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// Radial infeed of this cut, mm; 0 for a spring pass.
    pub cut_mm: f64,
    /// Radial depth after it, from touching the bore, mm.
    pub depth_mm: f64,
    /// What the dial shows, as it is divided: `0.42`, `1 + 17`.
    pub dial: String,
    /// Remark: `spring`.
    pub note: String,
    /// After this pass the machine is stopped and the screw tried.
    pub try_on: bool,
}

/// What the job sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct JobSheet {
    /// What is made: `bronze nut for the mast screw`.
    pub subject: String,
    /// Thread: pitch, lead, starts, hand, diameters.
    pub thread: Vec<Row>,
    /// Change wheels; `None` when none were found or asked for.
    pub gears: Option<GearTrain>,
    /// What to turn and bore before threading: bore, groove diameter, length.
    pub blank: Vec<Row>,
    /// Tool.
    pub tool: ToolForm,
    /// The side of the tool that leads.
    pub leading: FlankSide,
    /// How it is set: `square to the axis, edge at centre height`.
    pub tool_setting: String,
    /// What is done, one after the other, from facing to parting off.
    pub order: Vec<String>,
    /// The cuts in order.
    pub passes: Vec<Pass>,
    /// How the dial reads: `cross slide, reads diameter, 0.02 mm a division`.
    pub dial: String,
    /// Expected play, play for infeed, radial float.
    pub play: Vec<Row>,
    /// Over wires, gauges.
    pub checks: Vec<Row>,
    /// What else to mind: half nuts, indexing of starts, run-out, which slide feeds.
    pub remarks: Vec<String>,
}

const CAUTIONS: &[About] = &[About::Lathe, About::Wheels, About::Grinding];

/// Type sizes tried for the tables, largest first, mm.
const SIZES: [f64; 5] = [3.6, 3.4, 3.1, 2.8, 2.6];
const SKETCH_MM: f64 = 36.0;
const GAP_MM: f64 = 5.0;

/// The job sheet: one page, and a second for the order of work and the remarks where the first has no room
/// for that order.
///
/// # Errors
/// [`SheetError::Limits`] for a tool that cannot be drawn, [`SheetError::TooMany`] for more than
/// one page holds.
pub fn job_sheet(info: &SheetInfo, job: &JobSheet) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Job sheet: {}", job.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
    }
    job.tool.check()?;
    for p in &job.passes {
        within("depth of a pass", p.depth_mm, "mm", 0.0, 1000.0)?;
        within("cut of a pass", p.cut_mm, "mm", 0.0, 1000.0)?;
    }
    let mut page = Page::new(info, &title, CAUTIONS, &[]);
    let foot = footnote(&mut page);
    let whole = page.body;
    let mid = whole.left + 0.53 * whole.width();
    let (job, fitting, second) = match fitted(info.units, job, whole, mid) {
        Ok((job, fitting)) => (job, fitting, None),
        Err(_) if !job.order.is_empty() => {
            let (first, fitting) = fitted(info.units, &without_order(job), whole, mid)?;
            (first, fitting, Some(order_page(info, &title, job)?))
        }
        Err(e) => return Err(e),
    };
    let job = &job;
    let Layout { mind, under, body, left, blocks, right, checks } = fitting;
    let d = page.canvas();
    d.line(pt(mid, body.top - 2.0), pt(mid, body.bottom), Pen::RULE);
    let mut y = left.top;
    // What is left over is spread between the blocks, up to a little.
    let spare = left.height() - blocks.iter().map(Block::height).sum::<f64>();
    let between = (spare / blocks.len() as f64).min(3.0);
    for block in &blocks {
        y = block.draw(d, left.left, y) - between;
    }

    if !mind.is_empty() {
        d.line(pt(under.left, under.top), pt(under.right, under.top), Pen::RULE);
    }
    mind.iter().fold(under.top, |y, block| block.draw(d, under.left, y));
    let (sketch_place, passes_place) = right.cut_top(SKETCH_MM + 14.0);
    sketch(d, job, info.units, sketch_place);
    passes(d, job, info.units, passes_place, 0.0)?;
    if let Some(checks) = checks {
        d.line(pt(right.left, right.bottom), pt(right.right, right.bottom), Pen::RULE);
        checks.draw(d, right.left, right.bottom);
    }
    d.write(pt(foot.left, foot.bottom + 1.4), FOOTNOTE, 2.8, Anchor::Start);
    let mut drawings = vec![page.drawing];
    drawings.extend(second);
    number_pages(&mut drawings);
    Ok(drawings)
}

/// The sheet without its order of work and remarks, which stand on the next page.
fn without_order(job: &JobSheet) -> JobSheet {
    let remarks = vec!["The order of work, and what to mind: next page.".to_owned()];
    JobSheet { order: Vec::new(), remarks, ..job.clone() }
}

/// The page of the order of work and all remarks, where the first has no room for them.
fn order_page(info: &SheetInfo, title: &str, job: &JobSheet) -> Result<Drawing, SheetError> {
    let mut page = Page::new(info, title, CAUTIONS, &[]);
    let body = page.body;
    let fits = |size: &f64| {
        let blocks = mind(job, body.width(), *size);
        blocks.iter().map(Block::height).sum::<f64>() <= body.height() - 4.0
    };
    let Some(size) = SIZES.into_iter().find(fits) else {
        let count = job.order.len() + job.remarks.len();
        return Err(SheetError::TooMany { what: "steps and remarks", count, most: 40 });
    };
    let d = page.canvas();
    mind(job, body.width(), size).iter().fold(body.top - 2.0, |y, b| b.draw(d, body.left, y));
    Ok(page.drawing)
}

/// The layout in the largest type that everything fits in, and what of the job it shows: remarks that
/// find no room are counted instead.
fn fitted(
    units: Units,
    job: &JobSheet,
    whole: Rect,
    mid: f64,
) -> Result<(JobSheet, Layout), SheetError> {
    let all = job.remarks.len();
    // The passes are what is read at the machine: their type is kept large before all else, and the last
    // half of the remarks gives way to it.
    let large = LEAST_PASS_MM.map(|least| (0, least)).into_iter().take(2);
    let fewer = (1..=all / 2).map(|left_out| (left_out, LEAST_PASS_MM[1]));
    let small = (0..=all).flat_map(|left_out| LEAST_PASS_MM.map(|least| (left_out, least)));
    for (left_out, least) in large.chain(fewer).chain(small) {
        let mut shown = job.clone();
        if left_out > 0 {
            shown.remarks.truncate(all - left_out);
            shown.remarks.push(format!("{left_out} more remarks stand in the window."));
        }
        for (size, checks_right) in SIZES.iter().flat_map(|s| [(*s, true), (*s, false)]) {
            let layout = Layout::of(units, &shown, whole, mid, (size, least), checks_right);
            if let Some(layout) = layout {
                return Ok((shown, layout));
            }
        }
    }
    let count = job.thread.len() + job.blank.len() + job.play.len() + job.checks.len();
    Err(SheetError::TooMany { what: "rows", count, most: 25 })
}

/// Least size of type of the passes, mm, tried one after the other.
const LEAST_PASS_MM: [f64; 3] = [2.9, 2.6, 2.3];

/// How the page is shared out in one size of type.
struct Layout {
    mind: Vec<Block>,
    under: Rect,
    body: Rect,
    left: Rect,
    blocks: Vec<Block>,
    right: Rect,
    checks: Option<Block>,
}

impl Layout {
    /// The layout, if everything fits; the checks below the passes or in the left column.
    fn of(
        units: Units,
        job: &JobSheet,
        whole: Rect,
        mid: f64,
        (size, least_pass): (f64, f64),
        checks_right: bool,
    ) -> Option<Self> {
        let mind = mind(job, whole.width(), size);
        let below = mind.iter().map(Block::height).sum::<f64>();
        let below = if mind.is_empty() { 0.0 } else { below + 2.0 };
        let (under, body) = whole.cut_bottom(below);
        let left = Rect::new(body.left, body.bottom, mid - 0.5 * GAP_MM, body.top);
        let right = Rect::new(mid + 0.5 * GAP_MM, body.bottom, body.right, body.top);
        let mut blocks = left_blocks(units, job, left.width(), size);
        let mut checks = None;
        if !job.checks.is_empty() {
            let block = |width| Block {
                heading: "Checks",
                heading_size: 1.12 * size,
                content: Content::Table(value_table(&job.checks, units, width, size)),
            };
            if checks_right {
                checks = Some(block(right.width()));
            } else {
                blocks.push(block(left.width()));
            }
        }
        let (_, right) = right.cut_bottom(checks.as_ref().map_or(0.0, |c| c.height() + 1.0));
        let height = blocks.iter().map(Block::height).sum::<f64>();
        let (_, place) = right.cut_top(SKETCH_MM + 14.0);
        let fits = height <= left.height()
            && passes(&mut Canvas::default(), job, units, place, least_pass).is_ok();
        fits.then_some(Self { mind, under, body, left, blocks, right, checks })
    }
}

const FOOTNOTE: &str =
    "± u: standard uncertainty (k = 1); without ±: taken as exact. Passes and tool: derived.";

fn footnote(page: &mut Page) -> Rect {
    page.take_bottom(4.8)
}

/// A heading with what stands under it.
struct Block {
    heading: &'static str,
    heading_size: f64,
    content: Content,
}

enum Content {
    Table(Table),
    Lines {
        lines: Vec<String>,
        size: f64,
    },
    /// Lines in two columns, the second so far to the right.
    Beside {
        left: Vec<String>,
        right: Vec<String>,
        right_mm: f64,
        size: f64,
    },
    Gears {
        train: Box<GearTrain>,
        lines: Vec<String>,
        size: f64,
    },
}

impl Block {
    fn height(&self) -> f64 {
        let content = match &self.content {
            Content::Table(t) => t.height(),
            Content::Lines { lines, size } => 1.28 * size * lines.len() as f64,
            Content::Beside { left, right, size, .. } => {
                1.28 * size * left.len().max(right.len()) as f64
            }
            Content::Gears { lines, size, .. } => FRACTION_MM + 1.28 * size * lines.len() as f64,
        };
        1.9 * self.heading_size + content
    }

    fn draw(&self, d: &mut Canvas, left: f64, top: f64) -> f64 {
        let base = top - 1.3 * self.heading_size;
        d.write_bold(pt(left, base), self.heading, self.heading_size, Anchor::Start);
        let y = top - 1.9 * self.heading_size;
        match &self.content {
            Content::Table(t) => {
                t.draw(d, left, y);
            }
            Content::Lines { lines, size } => write_lines(d, left, y, lines, *size),
            Content::Beside { left: first, right, right_mm, size } => {
                write_lines(d, left, y, first, *size);
                write_lines(d, left + right_mm, y, right, *size);
            }
            Content::Gears { train, lines, size } => {
                fraction(d, left, y, train);
                write_lines(d, left, y - FRACTION_MM, lines, *size);
            }
        }
        top - self.height()
    }
}

fn write_lines(d: &mut Canvas, left: f64, top: f64, lines: &[String], size: f64) {
    let mut y = top - 0.95 * size;
    for line in lines {
        d.write(pt(left, y), line, size, Anchor::Start);
        y -= 1.28 * size;
    }
}

fn left_blocks(units: Units, job: &JobSheet, width: f64, size: f64) -> Vec<Block> {
    let heading_size = 1.12 * size;
    let table = |heading, rows: &[Row]| Block {
        heading,
        heading_size,
        content: Content::Table(value_table(rows, units, width, size)),
    };
    let mut blocks = Vec::new();
    if !job.thread.is_empty() {
        blocks.push(table("Thread", &job.thread));
    }
    match &job.gears {
        Some(g) => blocks.push(Block {
            heading: "Change wheels",
            heading_size,
            content: gears(g, units, width, size),
        }),
        None => blocks.push(Block {
            heading: "Change wheels",
            heading_size,
            content: Content::Lines { lines: vec!["no train chosen".into()], size },
        }),
    }
    for (heading, rows) in [("Bore and blank", &job.blank), ("Expected play", &job.play)] {
        if !rows.is_empty() {
            blocks.push(table(heading, rows));
        }
    }
    blocks
}

/// The order of work and what to mind, a point each, across the page.
fn mind(job: &JobSheet, width: f64, size: f64) -> Vec<Block> {
    let mut blocks = Vec::new();
    let heading_size = 1.12 * size;
    if !job.order.is_empty() {
        let right_mm = 0.5 * (width + GAP_MM);
        let steps: Vec<Vec<String>> = job
            .order
            .iter()
            .enumerate()
            .map(|(n, step)| point(&format!("{}.", n + 1), step, right_mm - GAP_MM, size))
            .collect();
        // As even as the steps allow, read down the left column first.
        let lines: Vec<usize> = steps.iter().map(Vec::len).collect();
        let height = |k: usize| lines[..k].iter().sum::<usize>().max(lines[k..].iter().sum());
        let half = (1..=steps.len()).min_by_key(|k| height(*k)).unwrap_or(steps.len());
        let (left, right) = (steps[..half].concat(), steps[half..].concat());
        let content = Content::Beside { left, right, right_mm, size };
        blocks.push(Block { heading: "In this order", heading_size, content });
    }
    if !job.remarks.is_empty() {
        let lines = job.remarks.iter().flat_map(|r| point("•", r, width, size)).collect();
        let content = Content::Lines { lines, size };
        blocks.push(Block { heading: "Mind", heading_size, content });
    }
    blocks
}

/// The lines of a point behind its mark.
fn point(mark: &str, text: &str, width: f64, size: f64) -> Vec<String> {
    let wrapped = font::wrap(text, width - 5.0, size, Weight::Regular);
    let line = |(i, line): (usize, String)| match i {
        0 => format!("{mark} {line}"),
        _ => format!("    {line}"),
    };
    wrapped.into_iter().enumerate().map(line).collect()
}

fn value_table(rows: &[Row], units: Units, width: f64, size: f64) -> Table {
    let cells: Vec<Vec<String>> = rows
        .iter()
        .map(|r| {
            let source = r.value.source().map(|s| s.to_string()).unwrap_or_default();
            vec![r.name.clone(), r.value.text(units), source]
        })
        .collect();
    // Sources and what is no sentence keep to one line; names and designations may take a second.
    let free = width - 2.0 * crate::table::GUTTER_MM;
    let natural = |i: usize, most: f64| {
        let widths = cells.iter().map(|c| 1.02 * font::width_mm(&c[i], size, Weight::Regular));
        widths.filter(|w| *w <= most).fold(0.0, f64::max)
    };
    let source = natural(2, free);
    let value = natural(1, 0.5 * free).max(0.36 * free);
    let name = free - value - source;
    let columns = [name, value, source].map(|w| Column::left("", w)).to_vec();
    Table::new(columns, &cells, width, size)
}

fn gears(g: &GearTrain, units: Units, width: f64, size: f64) -> Content {
    let text = g.sentence(units);
    let lines = std::iter::once(&text)
        .chain(&g.notes)
        .flat_map(|s| font::wrap(s, width, size, Weight::Regular))
        .collect();
    Content::Gears { train: Box::new(g.clone()), lines, size }
}

/// The tool in small, with the dimensions that matter at the grinder.
fn sketch(d: &mut Canvas, job: &JobSheet, units: Units, place: Rect) {
    d.write_bold(pt(place.left, place.top - 4.8), "Tool", 4.0, Anchor::Start);
    let t = &job.tool;
    let depth = t.depth_mm.value;
    let below = 1.35 * depth;
    let widest = t.width_mm(below).max(t.tip_flat_mm.value);
    let scale = (17.0 / below).min(34.0 / widest);
    let mut view = Canvas::default();
    view.stroke(t.edge(below).placed(scale, pt(0.0, 0.0)), Pen::OUTLINE);
    crate::tool_views::break_line(
        &mut view,
        t.flank_point(FlankSide::Left, below) * scale,
        t.flank_point(FlankSide::Right, below) * scale,
    );
    let at = |side, y: f64| t.flank_point(side, y) * scale;
    let fr = at(FlankSide::Right, depth);
    dims::horizontal(
        &mut view,
        at(FlankSide::Left, 0.0),
        at(FlankSide::Right, 0.0),
        5.5,
        &dimension(t.tip_flat_mm, units),
        3.4,
        Side::Before,
    );
    dims::vertical(
        &mut view,
        fr,
        at(FlankSide::Right, 0.0),
        fr.x.max(at(FlankSide::Right, 0.0).x) + 9.0,
        &dimension(t.depth_mm, units),
        3.4,
        Side::After,
    );
    let (el, er) = (at(FlankSide::Left, below), at(FlankSide::Right, below));
    let base = el.y - 6.0;
    view.write(pt(el.x - 2.0, base), &dimension_angle(t.left_flank_deg), 3.4, Anchor::End);
    view.write(pt(er.x + 2.0, base), &dimension_angle(t.right_flank_deg), 3.4, Anchor::Start);
    let lead = match job.leading {
        FlankSide::Left => "← leads",
        FlankSide::Right => "leads →",
    };
    view.write(pt(0.5 * (el.x + er.x), base), lead, 3.1, Anchor::Middle);
    let (_, rest) = place.cut_top(6.0);
    let (text, drawing) = rest.cut_bottom(9.0);
    d.place_centred(&view, drawing);
    let radius = if t.corner_radius_mm.value > 0.0 {
        format!("corner R {}; ", dimension(t.corner_radius_mm, units))
    } else {
        String::new()
    };
    let note = format!("{radius}{}. Grind by the template, not by this sketch.", job.tool_setting);
    let mut lines = font::wrap(&note, text.width(), SMALL_MM, Weight::Regular);
    if lines.len() > SETTING_LINES {
        // What does not fit here stands on the template, which the last words point to.
        let start = lines[..SETTING_LINES - 1].join(" ");
        let start = font::shortened(&start, 0.92 * text.width(), SMALL_MM, Weight::Regular);
        lines = vec![start, "Grind by the template, not by this sketch.".into()];
    }
    for (i, line) in lines.iter().enumerate() {
        let y = text.top - 3.0 - 3.9 * i as f64;
        d.write(pt(text.left, y), line, SMALL_MM, Anchor::Start);
    }
}

/// Lines of setting instructions that fit below the sketch.
const SETTING_LINES: usize = 2;

/// What is said of each pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    /// Dial, depth and cut.
    All,
    /// Dial and cut.
    DialAndCut,
    /// The dial alone.
    Dial,
}

/// Columns, size of type and what is told, the most readable first.
const PASS_TABLES: [(usize, f64, Told); 11] = [
    (1, 3.6, Told::All),
    (1, 3.2, Told::All),
    (2, 3.2, Told::DialAndCut),
    (2, 2.9, Told::DialAndCut),
    (3, 2.9, Told::DialAndCut),
    (4, 3.1, Told::Dial),
    (4, 2.9, Told::Dial),
    (3, 2.6, Told::DialAndCut),
    (5, 2.6, Told::Dial),
    (5, 2.3, Told::Dial),
    (6, 2.3, Told::Dial),
];
/// Where even those do not fit, only every so many of the passes are shown.
const EVERY: [usize; 5] = [1, 2, 3, 5, 10];

/// The passes in as many columns, as large, as they fit; in no type smaller than `least`, mm.
fn passes(
    d: &mut Canvas,
    job: &JobSheet,
    units: Units,
    place: Rect,
    least: f64,
) -> Result<(), SheetError> {
    let dial = format!("Dial: {}", job.dial);
    let lines = font::wrap(&dial, place.width(), 2.8, Weight::Regular);
    let (head, rest) = place.cut_top(9.0 + 3.5 * lines.len() as f64);
    d.line(pt(head.left, head.top), pt(head.right, head.top), Pen::RULE);
    d.write_bold(pt(head.left, head.top - 5.4), "Passes", 4.0, Anchor::Start);
    if let Some(at) = job.passes.iter().position(|p| p.try_on) {
        let stop = format!("After pass {}: stop, try the fit", at + 1);
        d.write_bold(pt(head.right, head.top - 5.4), &stop, 3.2, Anchor::End);
    }
    for (i, line) in lines.iter().enumerate() {
        d.write(pt(head.left, head.top - 9.8 - 3.5 * i as f64), line, 2.8, Anchor::Start);
    }
    if job.passes.is_empty() {
        d.write(pt(rest.left, rest.top - 5.0), "no passes planned", 3.6, Anchor::Start);
        return Ok(());
    }
    let gap = 4.0;
    for every in EVERY {
        let shown = thinned(&job.passes, every);
        let (note, rest) = rest.cut_top(if every > 1 { 4.0 } else { 0.0 });
        for (columns, size, told) in PASS_TABLES {
            // What is thinned is told as briefly as can be.
            if size < least || (every > 1 && told != Told::Dial) {
                continue;
            }
            let width = (rest.width() - gap * (columns as f64 - 1.0)) / columns as f64;
            let Some(tables) = pass_tables(&shown, told, units, columns, width, size) else {
                continue;
            };
            if crate::table::tallest(&tables) > rest.height() {
                continue;
            }
            if every > 1 {
                let text =
                    format!("one in {every} of {} passes; share out the way", job.passes.len());
                d.write(pt(note.left, note.bottom + 1.0), &text, 2.8, Anchor::Start);
            }
            crate::table::draw_beside(&tables, d, rest.left, rest.top, gap);
            return Ok(());
        }
    }
    Err(SheetError::TooMany { what: "passes", count: job.passes.len(), most: 400 })
}

/// Every so many of the passes, with their numbers; those without further infeed, the last cut and the one
/// after which the fit is tried stay.
fn thinned(passes: &[Pass], every: usize) -> Vec<(usize, &Pass)> {
    let cuts = passes.iter().filter(|p| p.note.is_empty()).count();
    let kept =
        |i: usize, p: &Pass| i.is_multiple_of(every) || !p.note.is_empty() || i >= cuts || p.try_on;
    passes.iter().enumerate().map(|(i, p)| (i + 1, p)).filter(|(i, p)| kept(*i, p)).collect()
}

/// The passes in columns of `width` mm, if no cell needs a second line.
fn pass_tables(
    passes: &[(usize, &Pass)],
    told: Told,
    units: Units,
    columns: usize,
    width: f64,
    size: f64,
) -> Option<Vec<Table>> {
    let note_or = |p: &Pass, text: String| if p.note.is_empty() { text } else { p.note.clone() };
    let cells: Vec<Vec<String>> = passes
        .iter()
        .map(|(number, p)| {
            let number = number.to_string();
            let cut = note_or(p, short(p.cut_mm, units));
            match told {
                Told::All => vec![number, p.dial.clone(), short(p.depth_mm, units), cut],
                Told::DialAndCut => vec![number, p.dial.clone(), cut],
                Told::Dial => vec![number, note_or(p, p.dial.clone())],
            }
        })
        .collect();
    let headings: &[&str] = match told {
        Told::All => &["No.", "Dial", "Depth", "Cut"],
        Told::DialAndCut => &["No.", "Dial", "Cut"],
        Told::Dial => &["No.", "Dial"],
    };
    let natural = |i: usize| {
        let heading = font::width_mm(headings[i], size, Weight::Bold);
        cells.iter().map(|c| font::width_mm(&c[i], size, Weight::Regular)).fold(heading, f64::max)
    };
    let naturals: Vec<f64> = (0..headings.len()).map(|i| 1.02 * natural(i)).collect();
    let gutters = crate::table::GUTTER_MM * (headings.len() as f64 - 1.0);
    if naturals.iter().sum::<f64>() + gutters > width {
        return None;
    }
    let tables = cells.chunks(cells.len().div_ceil(columns)).map(|chunk| {
        let columns = headings.iter().zip(&naturals).map(|(h, w)| Column::right(h, *w)).collect();
        Table::new(columns, chunk, width, size).tight()
    });
    Some(tables.collect())
}

fn short(length_mm: f64, units: Units) -> String {
    let (v, decimals) = match units {
        Units::Mm => (length_mm, 2),
        Units::Inch => (length_mm / units.in_mm(), 4),
        Units::Thou => (length_mm / units.in_mm(), 1),
    };
    let text = format!("{v:.decimals$}");
    if text.len() > 9 { trimmed(v, 0) } else { text }
}
