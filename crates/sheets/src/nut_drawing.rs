//! The nut as a workshop drawing: half section, detail of the groove, dimensions, tolerances.

use crate::info::{SheetError, SheetInfo, within};
use crate::number::{Row, dimension, dimension_angle, trimmed};
use crate::page::Page;
use crate::paper::dimension::{self as dims, Side};
use crate::paper::drawing::{Anchor, Canvas, Drawing, Pen, number_pages};
use crate::paper::geometry::{Path, Point, Rect, pt};
use crate::paper::hatch::hatch;
use crate::refusal::refused;
use crate::table::{self, tallest};
use crate::tool_form::{FlankSide, ToolForm};
use form::{Hand, Quantity, Source, Units};
use shop::About;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// A size with the deviations it may have when made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Toleranced {
    /// Nominal size, mm, with the uncertainty and source of the nominal.
    pub size_mm: Quantity,
    /// Upper deviation, mm.
    pub upper_mm: f64,
    /// Lower deviation, mm.
    pub lower_mm: f64,
}

/// How the nut is made up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NutBody {
    /// One piece.
    Solid,
    /// Sawn in two lengthwise.
    Split {
        /// Width of either cut, mm.
        kerf_mm: f64,
    },
    /// A threaded sleeve, pressed in.
    Sleeve,
}

/// What the nut drawing shows.
#[derive(Debug, Clone, PartialEq)]
pub struct NutDrawing {
    /// What is made: `bronze nut for the mast screw`.
    pub subject: String,
    /// Solid, split or sleeve.
    pub body: NutBody,
    /// Outer diameter.
    pub outer_diameter_mm: Toleranced,
    /// Length.
    pub length_mm: Toleranced,
    /// Chamfer at the mouths of the thread, mm; 0 for none.
    pub chamfer_mm: f64,
    /// Diameter bored before threading.
    pub bore_mm: Toleranced,
    /// Diameter at the bottom of the groove.
    pub groove_diameter_mm: Toleranced,
    /// The groove as the upper half of the section shows it, its bottom up, in the axial plane;
    /// its depth is taken from the diameters.
    pub groove: ToolForm,
    /// Pitch, mm.
    pub pitch_mm: Quantity,
    /// Starts.
    pub starts: u32,
    /// Hand.
    pub hand: Hand,
    /// Where starts and hand come from.
    pub winding_source: Source,
    /// Further numbers for the table (material, play, roughness …).
    pub rows: Vec<Row>,
    /// Remarks.
    pub notes: Vec<String>,
}

const CAUTIONS: &[About] = &[About::Grinding, About::Lathe];

/// Scales tried for the half section (ISO 5455), largest first.
const SCALES: [f64; 9] = [10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02];
/// Scales tried for the detail.
const DETAIL_SCALES: [f64; 6] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0];
const DIM_MM: f64 = 3.6;

/// The nut drawing, one page.
///
/// # Errors
/// [`SheetError::Limits`] when the numbers do not make a nut.
pub fn nut_drawing(info: &SheetInfo, nut: &NutDrawing) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Nut: {}", nut.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
    }
    check(nut)?;
    let mut page = Page::new(info, &title, CAUTIONS, &[]);
    let tables = table::numbers(&rows(nut), info.units, 2, page.body.width());
    let table_area = page.take_bottom(tallest(&tables) + 7.5);
    let mut lines = Vec::new();
    for note in &nut.notes {
        lines.extend(crate::paper::font::wrap(
            note,
            page.body.width(),
            3.2,
            crate::Weight::Regular,
        ));
    }
    let notes_area = page.take_bottom(4.2 * lines.len() as f64);
    let body = page.body;
    let d = page.canvas();
    let (top, bottom) = body.cut_top(0.55 * body.height());
    largest(d, top, &SCALES, "Half section", |s| half_section(nut, s, info.units));
    let starts = if nut.starts == 1 { "single start" } else { "starts" };
    let count = if nut.starts == 1 { String::new() } else { format!("{} ", nut.starts) };
    d.write(
        pt(top.right, top.top - 4.6),
        &format!(
            "thread: pitch {}, {} hand, {count}{starts}, form as the detail",
            crate::number::length(nut.pitch_mm, info.units),
            nut.hand
        ),
        3.4,
        Anchor::End,
    );
    let columns = bottom.columns(2, 4.0);
    largest(d, columns[0], &DETAIL_SCALES, "Groove", |s| detail(nut, s, info.units));
    let end_scales: Vec<f64> = SCALES.into_iter().filter(|s| *s <= 2.0).collect();
    largest(d, columns[1], &end_scales, "End view", |s| end_view(nut, s));
    let mut y = notes_area.top - 3.0;
    for line in &lines {
        d.write(pt(notes_area.left, y), line, 3.2, Anchor::Start);
        y -= 4.2;
    }
    let low = table::draw_beside(&tables, d, table_area.left, table_area.top - 1.5, 6.0);
    d.write(
        pt(table_area.left, low - 4.2),
        "u: standard uncertainty (k = 1). Without ±: taken as exact. Deviations in brackets are \
         limits for making. Break sharp edges.",
        2.9,
        Anchor::Start,
    );
    let mut drawings = vec![page.drawing];
    number_pages(&mut drawings);
    Ok(drawings)
}

fn check(nut: &NutDrawing) -> Result<(), SheetError> {
    let bore = nut.bore_mm.size_mm.value;
    let groove = nut.groove_diameter_mm.size_mm.value;
    let outer = nut.outer_diameter_mm.size_mm.value;
    within("bore", bore, "mm", 0.1, 2000.0)?;
    within("groove diameter", groove, "mm", bore * 1.0001, bore * 4.0)?;
    within("outer diameter", outer, "mm", groove * 1.0001, 5000.0)?;
    within("length", nut.length_mm.size_mm.value, "mm", 0.1, 5000.0)?;
    let pitch = nut.pitch_mm.value;
    within("pitch", pitch, "mm", 0.05, 500.0)?;
    within("chamfer", nut.chamfer_mm, "mm", 0.0, 0.45 * nut.length_mm.size_mm.value)?;
    let form = groove_form(nut);
    form.check()?;
    within("groove width at the bore", form.width_mm(form.depth_mm.value), "mm", 0.0, pitch)?;
    if let NutBody::Split { kerf_mm } = nut.body {
        within("kerf", kerf_mm, "mm", 0.0, bore)?;
    }
    Ok(())
}

/// Width of either cut of a split nut, mm; 0 for one that is in one piece.
fn kerf_mm(nut: &NutDrawing) -> f64 {
    match nut.body {
        NutBody::Split { kerf_mm } => kerf_mm,
        NutBody::Solid | NutBody::Sleeve => 0.0,
    }
}

/// The groove with its depth from the diameters.
fn groove_form(nut: &NutDrawing) -> ToolForm {
    let (g, b) = (nut.groove_diameter_mm.size_mm, nut.bore_mm.size_mm);
    // Both diameters move together with the screw's: their difference is known as well as the infeed.
    let depth = Quantity::derived(0.5 * (g.value - b.value), nut.groove.depth_mm.u);
    ToolForm { depth_mm: depth, ..nut.groove }
}

fn rows(nut: &NutDrawing) -> Vec<Row> {
    let f = groove_form(nut);
    let mut rows = vec![
        Row::length("Pitch", nut.pitch_mm),
        Row::words("Hand, starts", format!("{}, {}", nut.hand, nut.starts), nut.winding_source),
        Row::length("Bore Ø", nut.bore_mm.size_mm),
        Row::length("Groove Ø", nut.groove_diameter_mm.size_mm),
        Row::length("Outer Ø", nut.outer_diameter_mm.size_mm),
        Row::length("Length", nut.length_mm.size_mm),
        Row::angle("Right wall", f.right_flank_deg),
        Row::angle("Left wall", f.left_flank_deg),
        Row::length("Groove bottom flat", f.tip_flat_mm),
        Row::radius("Bottom corner radius", f.corner_radius_mm),
        Row::length("Groove depth", f.depth_mm),
    ];
    rows.extend(nut.rows.iter().cloned());
    rows
}

/// Draws the largest view that fits under its heading.
fn largest(
    d: &mut Canvas,
    place: Rect,
    scales: &[f64],
    heading: &str,
    view: impl Fn(f64) -> Canvas,
) {
    let inner = Rect::new(place.left, place.bottom + 1.5, place.right, place.top - 7.0);
    let fits = |c: &Canvas| {
        c.bounds().is_some_and(|b| b.width() <= inner.width() && b.height() <= inner.height())
    };
    let last = scales.last().copied().unwrap_or(1.0);
    let (scale, drawn) = scales
        .iter()
        .map(|s| (*s, view(*s)))
        .find(|(_, c)| fits(c))
        .unwrap_or_else(|| (last, view(last)));
    let ratio = if scale >= 1.0 {
        format!("{} : 1", trimmed(scale, 2))
    } else {
        format!("1 : {}", trimmed(1.0 / scale, 2))
    };
    d.write_bold(
        pt(place.left, place.top - 4.6),
        &format!("{heading}  {ratio}"),
        3.8,
        Anchor::Start,
    );
    d.place_centred(&drawn, inner);
}

fn limits(t: &Toleranced, prefix: &str, units: Units) -> String {
    let size = dimension(t.size_mm, units);
    if t.upper_mm == 0.0 && t.lower_mm == 0.0 {
        return format!("{prefix}{size}");
    }
    // Limits toward nothing, in steps that can be kept: no more room is drawn than there is.
    let kept = |mm: f64| {
        let step_mm = match units {
            Units::Mm => 0.01,
            Units::Inch => 0.0001 * form::units::MM_PER_INCH,
            Units::Thou => 0.1 * Units::Thou.in_mm(),
        };
        let steps = (mm.abs() / step_mm + 1e-6).floor();
        if steps > 0.0 { steps * step_mm } else { mm.abs() }
    };
    let deviation = |v: f64| {
        let text = dimension(Quantity::derived(kept(v), 0.0), units);
        match v {
            v if v > 0.0 => format!("+{text}"),
            v if v < 0.0 => format!("−{text}"),
            _ => "0".into(),
        }
    };
    if t.upper_mm == -t.lower_mm {
        let text = dimension(Quantity::derived(kept(t.upper_mm), 0.0), units);
        return format!("{prefix}{size} (± {text})");
    }
    format!("{prefix}{size} ({} / {})", deviation(t.upper_mm), deviation(t.lower_mm))
}

/// The edge of the cut face toward the axis, left to right, mm; axis at y = 0.
fn threaded_edge(nut: &NutDrawing) -> Path {
    let f = groove_form(nut);
    let (length, pitch) = (nut.length_mm.size_mm.value, nut.pitch_mm.value);
    let bore = 0.5 * nut.bore_mm.size_mm.value;
    let depth = f.depth_mm.value;
    let groove_top = bore + depth;
    let c = nut.chamfer_mm;
    let mut path = Path::default();
    // Grooves are placed so that they lie evenly in the length, and only whole ones are drawn.
    let width = f.width_mm(depth);
    let middle =
        0.5 * (f.flank_point(FlankSide::Left, depth).x + f.flank_point(FlankSide::Right, depth).x);
    let room = length - 2.0 * c - width;
    let count = if room < 0.0 { 0 } else { (room / pitch).floor() as usize + 1 };
    path.push(pt(0.0, bore + c), 0.0);
    if c > 0.0 {
        path.push(pt(c, bore), 0.0);
    }
    let first = 0.5 * (length - pitch * (count as f64 - 1.0)) - middle;
    for i in 0..count {
        let at = pt(first + pitch * i as f64, groove_top);
        path.vertices.extend(f.edge(depth).placed(1.0, at).vertices);
    }
    if c > 0.0 {
        path.push(pt(length - c, bore), 0.0);
    }
    path.push(pt(length, bore + c), 0.0);
    path
}

fn half_section(nut: &NutDrawing, scale: f64, units: Units) -> Canvas {
    let mut canvas = Canvas::default();
    let d = &mut canvas;
    let origin = pt(0.0, 0.0);
    let length = nut.length_mm.size_mm.value * scale;
    let outer = 0.5 * nut.outer_diameter_mm.size_mm.value * scale;
    let bore = 0.5 * nut.bore_mm.size_mm.value * scale;
    let groove = 0.5 * nut.groove_diameter_mm.size_mm.value * scale;
    let edge = threaded_edge(nut).placed(scale, origin);

    let mut face = edge.clone();
    face.push(pt(length, outer), 0.0);
    face.push(pt(0.0, outer), 0.0);
    face.closed = true;
    hatch(d, std::slice::from_ref(&face), 45.0, 2.2);
    // Fine threads at a small scale would run together under a thick line.
    let fine = nut.pitch_mm.value * scale;
    d.stroke(face, if fine < 2.5 { Pen::THIN.width(0.18) } else { Pen::OUTLINE });
    // Both cuts of a split nut lie level with the axis, on the near side and the far: the half below is
    // seen from outside up to one, the inside of the half above down to the other.
    let cut = 0.5 * kerf_mm(nut) * scale;
    if fine >= 1.5 {
        helix_lines(d, nut, scale, &edge);
    }
    d.line(pt(-7.0, 0.0), pt(length + 7.0, 0.0), Pen::CENTRE);
    for x in [0.0, length] {
        d.line(pt(x, cut), pt(x, bore + nut.chamfer_mm * scale), Pen::OUTLINE);
    }
    d.stroke(
        Path::open([pt(0.0, -cut), pt(0.0, -outer), pt(length, -outer), pt(length, -cut)]),
        Pen::OUTLINE,
    );
    if cut > 0.0 {
        for y in [cut, -cut] {
            d.line(pt(0.0, y), pt(length, y), Pen::OUTLINE);
        }
    }

    dims::horizontal(
        d,
        pt(0.0, -outer),
        pt(length, -outer),
        -outer - 8.0,
        &limits(&nut.length_mm, "", units),
        DIM_MM,
        Side::Before,
    );
    dims::vertical(
        d,
        pt(0.0, -outer),
        pt(0.0, outer),
        -15.0,
        &limits(&nut.outer_diameter_mm, "Ø ", units),
        DIM_MM,
        Side::Before,
    );
    let label = limits(&nut.bore_mm, "Ø ", units);
    half_diameter(d, bore, length, length + 14.0, &label);
    let label = limits(&nut.groove_diameter_mm, "Ø ", units);
    half_diameter(d, groove, length, length + 27.0, &label);
    canvas
}

/// A diameter of which the half section shows one end: the dimension line at `x` runs past the
/// axis without a second arrow (ISO 129-1).
fn half_diameter(d: &mut Canvas, radius: f64, from_x: f64, x: f64, label: &str) {
    // Size and deviations stand on either side of the line, which is half as long for it.
    let (size, deviations) = match label.find(" (") {
        Some(at) => (&label[..at], label[at..].trim()),
        None => (label, ""),
    };
    let width = |text: &str| crate::width_mm(text, DIM_MM, crate::Weight::Regular);
    let foot = (radius - dims::ARROW_MM - width(size).max(width(deviations)) - 3.0).min(-4.0);
    let middle = 0.5 * (radius - dims::ARROW_MM + foot);
    d.line(pt(from_x + 0.8, radius), pt(x + 1.6, radius), Pen::DIMENSION);
    d.line(pt(x, foot), pt(x, radius), Pen::DIMENSION);
    dims::arrow(d, pt(x, radius), FRAC_PI_2);
    dims::turned(d, pt(x - dims::LIFT_MM, middle), size, DIM_MM);
    if !deviations.is_empty() {
        dims::turned(d, pt(x + dims::LIFT_MM + 0.75 * DIM_MM, middle), deviations, DIM_MM);
    }
}

/// Edges of the ridges on the far half of the bore.
fn helix_lines(d: &mut Canvas, nut: &NutDrawing, scale: f64, edge: &Path) {
    let bore = 0.5 * nut.bore_mm.size_mm.value * scale;
    let length = nut.length_mm.size_mm.value * scale;
    let cut = 0.5 * kerf_mm(nut) * scale;
    let lead = nut.pitch_mm.value * f64::from(nut.starts) * scale;
    // On the far side a right-hand thread leans like `/`: it is further left on the axis than at
    // the top.
    let drift = match nut.hand {
        Hand::Right => -0.25 * lead,
        Hand::Left => 0.25 * lead,
    };
    let corners: Vec<f64> =
        edge.vertices.iter().filter(|v| (v.at.y - bore).abs() < 1e-6).map(|v| v.at.x).collect();
    for x in corners {
        let points: Vec<Point> = (0..=16)
            .map(|i| f64::from(i) / 16.0)
            .map(|t| pt(x + drift * t, bore * (FRAC_PI_2 * t).cos()))
            .filter(|p| p.x > 0.0 && p.x < length && p.y >= cut)
            .collect();
        d.stroke(Path::open(points), Pen::THIN.width(0.18));
    }
}

/// One groove, larger, with its dimensions; groove bottom at the origin.
fn detail(nut: &NutDrawing, scale: f64, units: Units) -> Canvas {
    use FlankSide::{Left, Right};
    let mut canvas = Canvas::default();
    let d = &mut canvas;
    let f = groove_form(nut);
    let depth = f.depth_mm.value;
    let at = |side, y: f64| f.flank_point(side, y) * scale;
    let (l, r) = (at(Left, depth), at(Right, depth));
    let half_ridge = 0.5 * (nut.pitch_mm.value * scale - (r.x - l.x));
    let wall = (0.35 * depth * scale).clamp(3.0, 8.0);
    let mut face = f.edge(depth).placed(scale, pt(0.0, 0.0));
    let (left, right) = (l.x - half_ridge.max(1.0), r.x + half_ridge.max(1.0));
    for p in [pt(right, r.y), pt(right, wall), pt(left, wall), pt(left, l.y)] {
        face.push(p, 0.0);
    }
    face.closed = true;
    hatch(d, std::slice::from_ref(&face), 45.0, 2.2);
    let mut edge = f.edge(depth).placed(scale, pt(0.0, 0.0));
    edge.vertices.insert(0, crate::Vertex { at: pt(left, l.y), bulge: 0.0 });
    edge.push(pt(right, r.y), 0.0);
    d.stroke(edge, Pen::OUTLINE);
    dims::horizontal(
        d,
        at(Left, 0.0),
        at(Right, 0.0),
        wall + 5.0,
        &dimension(f.tip_flat_mm, units),
        DIM_MM,
        Side::Before,
    );
    dims::vertical(
        d,
        pt(right, r.y),
        pt(right, 0.0),
        right + 8.0,
        &dimension(f.depth_mm, units),
        DIM_MM,
        Side::After,
    );
    for (corner, q, side) in [(l, f.left_flank_deg, Left), (r, f.right_flank_deg, Right)] {
        wall_angle(d, corner, q, side);
    }
    canvas
}

/// Angle of a wall from the normal, under the corner at the bore.
fn wall_angle(d: &mut Canvas, corner: Point, wall_deg: Quantity, side: FlankSide) {
    let reach = 13.0;
    let angle = wall_deg.value.to_radians();
    let label = dimension_angle(wall_deg);
    d.line(corner - pt(0.0, 0.8), corner - pt(0.0, reach), Pen::DIMENSION);
    let down = -FRAC_PI_2;
    if angle.abs().to_degrees() < 0.5 {
        let (x, anchor) = match side {
            FlankSide::Left => (-2.5, Anchor::End),
            FlankSide::Right => (2.5, Anchor::Start),
        };
        d.write(corner + pt(x, -reach), &label, DIM_MM, anchor);
        return;
    }
    let (a, b, outside, along) = match side {
        FlankSide::Left => (down - angle, down, Side::Before, down - angle),
        FlankSide::Right => (down, down + angle, Side::After, down + angle),
    };
    d.line(
        corner + Point::toward(along) * 0.8,
        corner + Point::toward(along) * reach,
        Pen::DIMENSION,
    );
    let (a, b) = if a <= b { (a, b) } else { (b, a) };
    dims::angle_outside(d, corner, reach - 3.0, (a, b), &label, DIM_MM, outside);
}

/// The end: outer circle, bore, and the groove's bottom as three quarters of a thin circle
/// (ISO 6410-1).
fn end_view(nut: &NutDrawing, scale: f64) -> Canvas {
    let mut canvas = Canvas::default();
    let d = &mut canvas;
    let centre = pt(0.0, 0.0);
    let outer = 0.5 * nut.outer_diameter_mm.size_mm.value * scale;
    let bore = 0.5 * nut.bore_mm.size_mm.value * scale;
    let groove = 0.5 * nut.groove_diameter_mm.size_mm.value * scale;
    let axis = outer + 4.0;
    d.line(pt(-axis, 0.0), pt(axis, 0.0), Pen::CENTRE);
    d.line(pt(0.0, -axis), pt(0.0, axis), Pen::CENTRE);
    let cut = 0.5 * kerf_mm(nut) * scale;
    // Half the angle a cut takes of a circle.
    let open = |r: f64| (cut / r).clamp(-1.0, 1.0).asin();
    if cut > 0.0 {
        // Sawn in two: a cut through either wall, level with the axis.
        for r in [outer, bore] {
            let a = open(r);
            d.stroke(Path::arc(centre, r, a, PI - 2.0 * a), Pen::OUTLINE);
            d.stroke(Path::arc(centre, r, PI + a, PI - 2.0 * a), Pen::OUTLINE);
        }
        let along = |r: f64| (r * r - cut * cut).max(0.0).sqrt();
        for (s, y) in [(1.0, cut), (1.0, -cut), (-1.0, cut), (-1.0, -cut)] {
            d.line(pt(s * along(bore), y), pt(s * along(outer), y), Pen::OUTLINE);
        }
    } else {
        d.stroke(Path::circle(centre, outer), Pen::OUTLINE);
        d.stroke(Path::circle(centre, bore), Pen::OUTLINE);
    }
    let (from, to, a) = (100f64.to_radians(), 370f64.to_radians(), open(groove));
    // Whole where nothing is cut: the pieces then join.
    for (from, to) in [(from, PI - a), (PI + a, TAU - a), (TAU + a, to)] {
        if to > from {
            d.stroke(Path::arc(centre, groove, from, to - from), Pen::THIN.width(0.18));
        }
    }
    canvas
}
