//! The template a tool is ground to.

use crate::info::{SheetError, SheetInfo, within};
use crate::number::{Row, dimension_angle, trimmed};
use crate::page::{Page, SMALL_MM};
use crate::paper::drawing::{Anchor, Canvas, Drawing, Pen, number_pages};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::{Rect, pt};
use crate::refusal::refused;
use crate::table::{self, Table, tallest};
use crate::tool_form::{FlankSide, ToolForm};
use crate::tool_views as views;
use form::{Quantity, Units};
use shop::About;

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
    /// Magnification of the large view; the largest of 50, 20, 10, 5, 2 and 1 that fits when `None`.
    pub magnification: Option<f64>,
}

/// Magnifications tried, largest first (ISO 5455).
const USUAL: [f64; 6] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0];
/// Shallower tools cannot be judged against a card at true size, mm.
const LEAST_CARD_DEPTH_MM: f64 = 0.8;
/// Air over and under the large view, mm.
const AIR_MM: f64 = 1.5;
/// Large enough to compare a ground tool with.
const GOOD_SCALE: f64 = 5.0;

const CAUTIONS: &[About] = &[About::Print, About::Grinding];
const OWN: [&str; 1] = ["The true edge is the middle of a line."];

/// The tool-grinding template, one page; a second for the numbers when the form needs the room.
///
/// # Errors
/// [`SheetError`] when a number of the form is outside its limits or the magnification asked for
/// does not fit the paper.
pub fn tool_template(info: &SheetInfo, t: &ToolTemplate) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Tool template: {}", t.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
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

    let together = layout(info, &title, t, true);
    // The form is what the sheet is for: numbers and notes that leave it too little room move to
    // a second page.
    let mut drawings = match together {
        Ok((scale, pages)) if t.magnification.is_some() || scale >= GOOD_SCALE => pages,
        Ok((scale, pages)) => match layout(info, &title, t, false) {
            Ok((larger, apart)) if larger > scale => apart,
            _ => pages,
        },
        Err(_) => layout(info, &title, t, false)?.1,
    };
    number_pages(&mut drawings);
    Ok(drawings)
}

/// The pages and the magnification of the large view, with numbers and notes on the first page or
/// on a second.
fn layout(
    info: &SheetInfo,
    title: &str,
    t: &ToolTemplate,
    together: bool,
) -> Result<(f64, Vec<Drawing>), SheetError> {
    let mut page = Page::new(info, title, CAUTIONS, &OWN);
    let width = page.body.width();
    let tables = table::numbers(&rows(t), info.units, 2, width);
    let table_mm = tallest(&tables) + 7.0;
    let table_area = if together { page.take_bottom(table_mm) } else { page.take_bottom(0.0) };
    let small_views = small_views(t, info.units, width);
    let small = page.take_bottom(small_height(&small_views));
    let mut head_lines = font::wrap(&t.view, width - 18.0, SMALL_MM, Weight::Regular);
    let notes: Vec<String> = t
        .notes
        .iter()
        .flat_map(|n| font::wrap(n, width - 18.0, SMALL_MM, Weight::Regular))
        .collect();
    if together {
        head_lines.extend(notes.iter().cloned());
    } else {
        head_lines.push("Numbers with uncertainty and source, and notes: next page.".into());
    }
    let head = page.take_top(6.0 + 4.1 * (head_lines.len() as f64 - 1.0).max(0.0));
    let body = page.body;
    let (scale, view) = large_view(info, t, body)?;
    let d = page.canvas();
    let mut y = head.top - 5.2;
    d.write_bold(pt(head.left, y), &format!("{} : 1", trimmed(scale, 2)), 4.6, Anchor::Start);
    for line in &head_lines {
        d.write(pt(head.left + 18.0, y), line, SMALL_MM, Anchor::Start);
        y -= 4.1;
    }
    d.place_centred(&view, body);
    draw_small(d, &small_views, small);
    d.line(pt(small.left, small.top), pt(small.right, small.top), Pen::RULE);
    if together {
        write_numbers(d, &tables, table_area);
        return Ok((scale, vec![page.drawing]));
    }

    let mut second = Page::new(info, title, CAUTIONS, &OWN);
    let room = second.body.height() - 10.0 - 4.1 * notes.len() as f64;
    if table_mm > room {
        let most = (rows(t).len() as f64 * room / table_mm).max(0.0) as usize;
        return Err(SheetError::TooMany {
            what: "numbers and notes of the tool",
            count: rows(t).len(),
            most,
        });
    }
    let body = second.body;
    let d = second.canvas();
    let mut y = body.top - 6.0;
    for line in &notes {
        d.write(pt(body.left, y), line, SMALL_MM, Anchor::Start);
        y -= 4.1;
    }
    write_numbers(d, &tables, Rect::new(body.left, body.bottom, body.right, y));
    Ok((scale, vec![page.drawing, second.drawing]))
}

fn write_numbers(d: &mut Canvas, tables: &[Table], area: Rect) {
    let low = table::draw_beside(tables, d, area.left, area.top - 1.5, 6.0);
    d.write(
        pt(area.left, low - 4.0),
        "u: standard uncertainty (k = 1). Without ±: taken as exact.",
        2.9,
        Anchor::Start,
    );
}

fn rows(t: &ToolTemplate) -> Vec<Row> {
    let f = &t.form;
    let c = &t.clearance;
    let mut rows = vec![
        Row::angle("Right side", f.right_flank_deg),
        Row::angle("Left side", f.left_flank_deg),
        Row::angle("Included angle", f.included_deg()),
        Row::length("Tip flat", f.tip_flat_mm),
        Row::radius("Corner radius", f.corner_radius_mm),
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

fn large_view(
    info: &SheetInfo,
    t: &ToolTemplate,
    space: Rect,
) -> Result<(f64, Canvas), SheetError> {
    let draw = |scale: f64| views::magnified(&t.form, t.leading, scale, info.units);
    let fits = |view: &Canvas| {
        view.bounds().is_some_and(|b| {
            b.width() <= space.width() && b.height() + 2.0 * AIR_MM <= space.height()
        })
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

/// A small view with the words over and under it.
struct SmallView {
    heading: &'static str,
    /// From where it is seen, or how it is used.
    caption: String,
    /// Left out where there is no room for all.
    spare: bool,
    view: Canvas,
}

impl SmallView {
    /// What it takes up, with the words under it.
    fn size(&self) -> (f64, f64) {
        let words = font::width_mm(&self.caption, SMALL_MM, Weight::Regular);
        self.view.bounds().map_or((0.0, 0.0), |b| (b.width().max(words), b.height()))
    }
}

/// Words over and under a small view, mm.
const WORDS_MM: f64 = 14.0;

/// The views at true size and the front view; what does not fit beside the card is left out.
fn small_views(t: &ToolTemplate, units: Units, width: f64) -> Vec<SmallView> {
    let depth = t.form.depth_mm.value;
    let widest = t.form.width_mm(depth).max(t.form.tip_flat_mm.value);
    let c = &t.clearance;
    let (left, right) = match t.leading {
        FlankSide::Left => (c.leading_deg, c.following_deg),
        FlankSide::Right => (c.following_deg, c.leading_deg),
    };
    let card_depth = (depth + 12.0).min(24.0).max(depth + 3.0);
    let mut views = vec![
        SmallView {
            heading: "Tool 1 : 1",
            caption: "seen as above".into(),
            spare: false,
            view: views::true_size(&t.form),
        },
        SmallView {
            heading: "Gauge 1 : 1, cut out on the line",
            caption: if depth < LEAST_CARD_DEPTH_MM {
                "too small a card: use the large view".into()
            } else {
                let tip = views::tip_width(&t.form, units);
                format!("tip {tip}; upper edge along the work")
            },
            spare: true,
            view: views::gauge(&t.form, (widest + 16.0).max(44.0), card_depth),
        },
        SmallView {
            heading: "Side clearances, facing the tip",
            caption: "rake face up: the sides swap hands".into(),
            spare: false,
            view: views::front(left, right, t.leading),
        },
    ];
    let angles = [t.form.right_flank_deg.value, t.form.left_flank_deg.value];
    if angles.iter().all(|a| *a >= 0.0) && angles.iter().sum::<f64>() >= LEAST_V_DEG {
        // Behind the card, before the front view.
        let place = views.len() - 1;
        views.insert(
            place,
            SmallView {
                heading: "Angle gauge, cut out the V",
                caption: format!(
                    "tool tip down: {}, {}",
                    dimension_angle(t.form.right_flank_deg),
                    dimension_angle(t.form.left_flank_deg)
                ),
                spare: true,
                view: views::angle_gauge(&t.form),
            },
        );
    }
    let needed = |views: &[SmallView]| views.iter().map(|v| v.size().0 + 6.0).sum::<f64>();
    if needed(&views) > width {
        // The card shows the true size as well.
        views.remove(0);
    }
    if needed(&views) > width {
        views.retain(|v| !v.heading.starts_with("Angle"));
    }
    if needed(&views) > width {
        views.retain(|v| !v.spare);
    }
    views
}

/// A V narrower than this cannot be cut out of paper, degrees.
const LEAST_V_DEG: f64 = 8.0;

fn small_height(views: &[SmallView]) -> f64 {
    views.iter().map(|v| v.size().1).fold(0.0, f64::max) + WORDS_MM
}

fn draw_small(d: &mut Canvas, views: &[SmallView], place: Rect) {
    let total: f64 = views.iter().map(|v| v.size().0).sum();
    // A heading needs its width too: what is left over is shared equally.
    let spare = (place.width() - total) / views.len() as f64;
    let mut left = place.left;
    for v in views {
        let width = v.size().0 + spare;
        let bottom = place.bottom + 6.0;
        let column = Rect::new(left, bottom, left + width, place.top - 1.0);
        views::headed(d, &v.view, column, v.heading);
        let at = pt(column.centre().x, place.bottom + 2.0);
        d.write(at, &v.caption, SMALL_MM, Anchor::Middle);
        left += width;
    }
}
