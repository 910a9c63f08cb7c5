//! The template a tool is ground to.

use crate::info::{SheetError, SheetInfo, Use, within};
use crate::number::{Row, trimmed};
use crate::page::{Page, SMALL_MM};
use crate::paper::drawing::{Anchor, Canvas, Drawing, Pen, number_pages};
use crate::paper::geometry::{Rect, pt};
use crate::refusal::refusal;
use crate::table::{self, tallest};
use crate::tool_form::{FlankSide, ToolForm};
use crate::tool_views as views;
use form::Quantity;

/// Clearances of the sides and the front of a tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideClearance {
    /// Lead angle at the smallest diameter cut, degrees.
    pub lead_angle_deg: Quantity,
    /// Clearance ground on the leading side, degrees from the vertical.
    pub leading_deg: Quantity,
    /// Clearance ground on the following side, degrees from the vertical.
    pub following_deg: Quantity,
    /// Clearance of the front, degrees.
    pub front_deg: Quantity,
}

/// What the template of a tool shows.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolTemplate {
    /// What the tool is for, as the sheet's subject: `tool for the nut: copies the screw's ridge`.
    pub subject: String,
    /// Form of the cutting edge in the plane of the rake face.
    pub form: ToolForm,
    /// The side that leads when cutting.
    pub leading: FlankSide,
    /// Clearances.
    pub clearance: SideClearance,
    /// How the tool is seen and how it is set: `seen from above on the rake face, tip up; set
    /// square to the axis, edge at centre height`.
    pub view: String,
    /// Further numbers for the table (rake, height above centre, thread, nose to set by …).
    pub rows: Vec<Row>,
    /// What the person must know: least clearance, rubbing, what moved the form.
    pub notes: Vec<String>,
    /// Magnification of the large view; the largest of 20, 10, 5, 2 and 1 that fits when `None`.
    pub magnification: Option<f64>,
}

/// Magnifications tried, largest first (ISO 5455).
const USUAL: [f64; 5] = [20.0, 10.0, 5.0, 2.0, 1.0];
/// Shallower tools cannot be judged against a card at true size, mm.
const LEAST_CARD_DEPTH_MM: f64 = 0.8;
const SMALL_VIEWS_MM: f64 = 42.0;
const TABLE_MM: f64 = 3.2;

const CAUTIONS: [&str; 2] = [
    "Measure the check lines of a print before using it; the true edge is the middle of a line.",
    "Grinding carbide, bronze and brass dust needs extraction, mask and goggles; know the alloy \
     (beryllium copper dust is deadly).",
];

/// The tool-grinding template, one page (a second for many notes).
///
/// # Errors
/// [`SheetError`] when a number of the form is outside its limits or the magnification asked for
/// does not fit the paper.
pub fn tool_template(info: &SheetInfo, t: &ToolTemplate) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Tool template: {}", t.subject);
    if let Use::Refused(refused) = info.thread_use {
        return Ok(refusal(info, &title, refused));
    }
    t.form.check()?;
    let c = &t.clearance;
    for (what, q) in [
        ("leading side clearance", c.leading_deg),
        ("following side clearance", c.following_deg),
        ("front clearance", c.front_deg),
        ("lead angle", c.lead_angle_deg),
    ] {
        within(what, q.value, "°", -60.0, 60.0)?;
    }
    if let Some(m) = t.magnification {
        within("magnification", m, ": 1", 1.0, 100.0)?;
    }

    let mut page = Page::new(info, &title, &CAUTIONS);
    let width = page.body.width();
    let tables = table::numbers(&rows(t), info.units, 2, width, TABLE_MM);
    let table_area = page.take_bottom(tallest(&tables) + 7.0);
    let notes = write_notes(&mut page, t);
    let small = page.take_bottom(SMALL_VIEWS_MM);

    let head = page.take_top(6.0 + notes.1);
    let d = page.canvas();
    notes.0.write(d, head);
    let body = page.body;
    let (scale, view) = large_view(info, t, body)?;
    let d = page.canvas();
    d.write_bold(
        pt(head.left, head.top - 5.2),
        &format!("{} : 1", trimmed(scale, 2)),
        4.6,
        Anchor::Start,
    );
    d.place_centred(&view, body);
    small_views(d, t, small);
    d.line(pt(small.left, small.top), pt(small.right, small.top), Pen::RULE);
    let low = table::draw_beside(&tables, d, table_area.left, table_area.top - 1.5, 6.0);
    d.write(
        pt(table_area.left, low - 4.0),
        "u: standard uncertainty (k = 1). Without ±: taken as exact.",
        2.9,
        Anchor::Start,
    );
    let mut drawings = vec![page.drawing];
    number_pages(&mut drawings);
    Ok(drawings)
}

fn rows(t: &ToolTemplate) -> Vec<Row> {
    let f = &t.form;
    let c = &t.clearance;
    let mut rows = vec![
        Row::angle("Right flank", f.right_flank_deg),
        Row::angle("Left flank", f.left_flank_deg),
        Row::angle("Included angle", f.included_deg()),
        Row::length("Tip flat", f.tip_flat_mm),
        Row::length("Corner radius", f.corner_radius_mm),
        Row::length("Depth", f.depth_mm),
        Row::length("Width at full depth", f.width_at_depth_mm()),
        Row::angle("Leading clearance", c.leading_deg),
        Row::angle("Following clearance", c.following_deg),
        Row::angle("Front clearance", c.front_deg),
        Row::angle("Lead angle, smallest Ø", c.lead_angle_deg),
    ];
    rows.extend(t.rows.iter().cloned());
    rows
}

/// Lines of text ready to be written under the head of the page.
struct Notes {
    lines: Vec<String>,
}

impl Notes {
    fn write(&self, d: &mut Canvas, head: Rect) {
        let mut y = head.top - 5.2;
        for line in &self.lines {
            d.write(pt(head.left + 18.0, y), line, SMALL_MM, Anchor::Start);
            y -= 4.1;
        }
    }
}

fn write_notes(page: &mut Page, t: &ToolTemplate) -> (Notes, f64) {
    let width = page.body.width() - 18.0;
    let mut lines = crate::paper::font::wrap(&t.view, width, SMALL_MM, crate::Weight::Regular);
    for note in &t.notes {
        lines.extend(crate::paper::font::wrap(note, width, SMALL_MM, crate::Weight::Regular));
    }
    let more = 4.1 * (lines.len() as f64 - 1.0).max(0.0);
    (Notes { lines }, more)
}

fn large_view(
    info: &SheetInfo,
    t: &ToolTemplate,
    space: Rect,
) -> Result<(f64, Canvas), SheetError> {
    let draw = |scale: f64| views::magnified(&t.form, t.leading, scale, info.units);
    let fits = |view: &Canvas| {
        view.bounds().is_some_and(|b| b.width() <= space.width() && b.height() <= space.height())
    };
    let usual = USUAL.into_iter().map(|s| (s, draw(s))).find(|(_, v)| fits(v));
    let asked = match (t.magnification, usual) {
        (None, Some(found)) => return Ok(found),
        (None, None) => 1.0,
        (Some(asked), found) => {
            let view = draw(asked);
            if fits(&view) {
                return Ok((asked, view));
            }
            if let Some((largest, _)) = found {
                return Err(too_large(info, asked, largest, &view, space));
            }
            asked
        }
    };
    Err(too_large(info, asked, 1.0, &draw(asked), space))
}

fn too_large(info: &SheetInfo, asked: f64, largest: f64, view: &Canvas, space: Rect) -> SheetError {
    let b = view.bounds().unwrap_or(space);
    SheetError::Magnification {
        asked,
        paper: info.paper.name(),
        width_mm: b.width(),
        height_mm: b.height(),
        space_width_mm: space.width(),
        space_height_mm: space.height(),
        largest,
    }
}

fn small_views(d: &mut Canvas, t: &ToolTemplate, place: Rect) {
    let inner = Rect::new(place.left, place.bottom + 1.0, place.right, place.top - 1.0);
    let columns = inner.columns(3, 4.0);
    views::headed(d, &views::true_size(&t.form), columns[0], "Tool 1 : 1");
    let widest = t.form.width_mm(t.form.depth_mm.value);
    let card = views::gauge(&t.form, (widest + 24.0).max(44.0), t.form.depth_mm.value + 12.0);
    views::headed(d, &card, columns[1], "Gauge 1 : 1, cut out on the line");
    if t.form.depth_mm.value < LEAST_CARD_DEPTH_MM {
        d.write(
            pt(columns[1].centre().x, columns[1].bottom + 3.0),
            "too small for a card: use the large view",
            SMALL_MM,
            Anchor::Middle,
        );
    } else {
        d.write(
            pt(columns[1].centre().x, columns[1].bottom + 3.0),
            "upper edge along the work, notch to the tool",
            SMALL_MM,
            Anchor::Middle,
        );
    }
    let c = &t.clearance;
    let (left, right) = match t.leading {
        FlankSide::Left => (c.leading_deg, c.following_deg),
        FlankSide::Right => (c.following_deg, c.leading_deg),
    };
    let front = views::front(left, right, t.leading);
    views::headed(d, &front, columns[2], "Front view: side clearances");
}
