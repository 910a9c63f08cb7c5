//! Views of a tool: magnified with its dimensions, true to scale, as a gauge, and from the front.

use crate::number::{dimension, dimension_angle};
use crate::paper::dimension::{self as dims, Side};
use crate::paper::drawing::{Anchor, Canvas, Pen};
use crate::paper::geometry::{Path, Point, Rect, pt};
use crate::tool_form::{FlankSide, ToolForm};
use form::{Quantity, Units};
use std::f64::consts::{FRAC_PI_2, PI};

/// Type size of dimensions, mm.
const DIM_MM: f64 = 3.6;
/// How far the body is drawn beyond the depth that cuts, mm on paper.
const BODY_BELOW_MM: f64 = 17.0;
/// Radius of the arcs of the flank angles, mm.
const ANGLE_ARC_MM: f64 = 15.0;
/// Flanks nearer to parallel than this have no included angle worth an arc, degrees.
const LEAST_ARC_DEG: f64 = 0.5;

/// The tool `scale` times its size with all dimensions; tip centre at the origin, tip up.
pub(crate) fn magnified(tool: &ToolForm, leading: FlankSide, scale: f64, units: Units) -> Canvas {
    use FlankSide::{Left, Right};
    let mut c = Canvas::default();
    let d = &mut c;
    let depth = tool.depth_mm.value;
    let below = depth + body_below(tool) / scale;
    let at = |side: FlankSide, y: f64| tool.flank_point(side, y) * scale;
    let edge = tool.edge(below).placed(scale, pt(0.0, 0.0));
    let (end_left, end_right) = (at(Left, below), at(Right, below));
    let (full_left, full_right) = (at(Left, depth), at(Right, depth));

    // The axis of symmetry of a symmetric tool, and in any case the normal to the thread's axis.
    d.line(pt(0.0, 5.0), pt(0.0, end_left.y - 3.0), Pen::CENTRE);
    break_line(d, end_left, end_right);
    d.stroke(edge, Pen::OUTLINE);
    if tool.corner_radius_mm.value > 0.0 {
        sharp_corners(d, tool, scale);
    }

    dims::horizontal(
        d,
        at(Left, 0.0),
        at(Right, 0.0),
        8.0,
        &dimension(tool.tip_flat_mm, units),
        DIM_MM,
        Side::Before,
    );
    let label = dimension(tool.width_at_depth_mm(), units);
    let room = full_right.x - full_left.x;
    let tall_enough = depth * scale > 2.0 * DIM_MM;
    if tall_enough && room > crate::width_mm(&label, DIM_MM, crate::Weight::Regular) + 8.0 {
        dims::horizontal(d, full_left, full_right, full_left.y, &label, DIM_MM, Side::Before);
    }
    let mut line_x = full_right.x.max(at(Right, 0.0).x) + 19.0;
    if depth * scale < 8.0 {
        // Arrows and label of a short dimension stand above and below it: clear of the radius's
        // leader and of the flank angle's label.
        let shelf = radius_shelf(tool, scale, units).map_or(0.0, |(_, _, x)| x);
        let label = dimension_angle(tool.right_flank_deg);
        let flank = full_right.x
            + ANGLE_ARC_MM
            + 1.0
            + crate::width_mm(&label, DIM_MM, crate::Weight::Regular);
        line_x = line_x.max(shelf + 4.0).max(flank + 3.0);
    }
    dims::vertical(
        d,
        full_right,
        at(Right, 0.0),
        line_x,
        &dimension(tool.depth_mm, units),
        DIM_MM,
        Side::After,
    );
    // On a narrow tool the arcs of one flank would run into the label of the other.
    let narrow = full_right.x - full_left.x < 16.0;
    let left_arc = if narrow { 0.6 * ANGLE_ARC_MM } else { ANGLE_ARC_MM };
    flank_angle(d, full_right, tool.right_flank_deg, Right, ANGLE_ARC_MM);
    flank_angle(d, full_left, tool.left_flank_deg, Left, left_arc);
    included_angle(d, tool, scale, end_left, end_right);
    if tool.corner_radius_mm.value > 0.0 {
        radius_leader(d, tool, scale, units);
    }
    sides(d, leading);
    c
}

/// Steep flanks would run far to the side: their body is drawn shorter.
fn body_below(tool: &ToolForm) -> f64 {
    let steepest = tool.right_flank_deg.value.max(tool.left_flank_deg.value);
    if steepest > 50.0 { 0.5 * BODY_BELOW_MM } else { BODY_BELOW_MM }
}

/// Thin continuous line with zigzags (ISO 128-3) between the ends of the body.
pub(crate) fn break_line(d: &mut Canvas, a: Point, b: Point) {
    let along = b - a;
    let n = along.unit().turned();
    let length = along.length();
    let z = (0.08 * length).clamp(0.4, 1.6);
    let mid = a + along * 0.5;
    let u = along.unit();
    d.stroke(
        Path::open([
            a,
            mid - u * (1.2 * z),
            mid - u * (0.5 * z) + n * (1.6 * z),
            mid + u * (0.5 * z) - n * (1.6 * z),
            mid + u * (1.2 * z),
            b,
        ]),
        Pen::THIN.width(0.18),
    );
}

/// The theoretical corners that the radii cut off, thin.
fn sharp_corners(d: &mut Canvas, tool: &ToolForm, scale: f64) {
    let edge = tool.edge(tool.depth_mm.value);
    let points: Vec<Point> = edge.vertices.iter().map(|v| v.at * scale).collect();
    let n = points.len();
    for (side, on_flank, on_tip) in
        [(FlankSide::Left, points[1], points[2]), (FlankSide::Right, points[n - 2], points[n - 3])]
    {
        let corner = tool.flank_point(side, 0.0) * scale;
        d.stroke(Path::open([on_flank, corner, on_tip]), Pen::DIMENSION);
    }
}

/// Angle of a flank from the normal, at its point of full depth.
fn flank_angle(d: &mut Canvas, at: Point, flank_deg: Quantity, side: FlankSide, arc_mm: f64) {
    let flank = flank_deg.value.to_radians();
    let label = dimension_angle(flank_deg);
    let reach = arc_mm + 3.0;
    d.line(at - pt(0.0, 0.8), at - pt(0.0, reach), Pen::DIMENSION);
    let down = -FRAC_PI_2;
    if flank.abs().to_degrees() < LEAST_ARC_DEG {
        // Flank and normal coincide: nothing to span an arc.
        let (x, anchor) = match side {
            FlankSide::Right => (4.0, Anchor::Start),
            FlankSide::Left => (-4.0, Anchor::End),
        };
        d.write(at + pt(x, -arc_mm), &label, DIM_MM, anchor);
        return;
    }
    let (a, b, outside) = match side {
        FlankSide::Right => (down, down + flank, Side::After),
        FlankSide::Left => (down - flank, down, Side::Before),
    };
    let (a, b) = if a <= b { (a, b) } else { (b, a) };
    dims::angle_outside(d, at, arc_mm, (a, b), &label, DIM_MM, outside);
}

/// The included angle on an arc under the body, about the point where the flanks meet.
fn included_angle(d: &mut Canvas, tool: &ToolForm, scale: f64, left: Point, right: Point) {
    let (r, l) = (tool.right_flank_deg.value.to_radians(), tool.left_flank_deg.value.to_radians());
    let slope = r.tan() + l.tan();
    if (r + l).to_degrees() < LEAST_ARC_DEG || slope <= 0.0 {
        return;
    }
    let above = tool.tip_flat_mm.value / slope;
    let apex = tool.flank_point(FlankSide::Right, -above) * scale;
    let beyond = 4.2;
    let radius = (left - apex).length().max((right - apex).length()) + beyond;
    for p in [left, right] {
        let u = (p - apex).unit();
        d.line(p + u * 0.8, apex + u * (radius + 1.6), Pen::DIMENSION);
    }
    let label = dimension_angle(tool.included_deg());
    dims::angle_below(d, apex, radius, -FRAC_PI_2 - l, -FRAC_PI_2 + r, &label, DIM_MM);
}

fn radius_label(tool: &ToolForm, units: Units) -> String {
    let radius = dimension(tool.corner_radius_mm, units);
    // A tip that is round all over has one radius, not two.
    if tool.corner_radius_mm.value > 0.99 * tool.largest_radius_mm() {
        format!("R {radius}, full")
    } else {
        format!("R {radius} (2×)")
    }
}

/// Where the leader of the right corner's radius points, bends, and where its shelf ends.
fn radius_shelf(tool: &ToolForm, scale: f64, units: Units) -> Option<(Point, Point, f64)> {
    let edge = tool.edge(tool.depth_mm.value);
    let (centre, radius, middle) = edge.segments().into_iter().rev().find_map(|s| match s {
        crate::Segment::Arc { centre, radius, start_rad, sweep_rad, .. } => {
            Some((centre, radius, start_rad + 0.5 * sweep_rad))
        }
        crate::Segment::Line(..) => None,
    })?;
    let tip = (centre + Point::toward(middle) * radius) * scale;
    // The label stands right of the arrows of the tip flat.
    let corner = tool.flank_point(FlankSide::Right, 0.0).x * scale;
    let elbow = pt((tip.x + 7.0).max(corner + 7.0), 6.0);
    let width = crate::width_mm(&radius_label(tool, units), DIM_MM, crate::Weight::Regular);
    Some((tip, elbow, elbow.x + width + 1.0))
}

fn radius_leader(d: &mut Canvas, tool: &ToolForm, scale: f64, units: Units) {
    if let Some((tip, elbow, _)) = radius_shelf(tool, scale, units) {
        dims::leader(d, tip, elbow, &radius_label(tool, units), DIM_MM, Side::After);
    }
}

/// Which side leads, above the tool, with the direction of the feed.
fn sides(d: &mut Canvas, leading: FlankSide) {
    let y = 15.6;
    let (left, right) = match leading {
        FlankSide::Left => ("leading side", "following side"),
        FlankSide::Right => ("following side", "leading side"),
    };
    d.write(pt(-14.0, y), left, DIM_MM, Anchor::End);
    d.write(pt(14.0, y), right, DIM_MM, Anchor::Start);
    let (from, to) = match leading {
        FlankSide::Left => (11.0, -11.0),
        FlankSide::Right => (-11.0, 11.0),
    };
    let y = y + 1.2;
    d.line(pt(from, y), pt(to, y), Pen::DIMENSION.width(0.35));
    dims::arrow(d, pt(to, y), if to < 0.0 { PI } else { 0.0 });
    d.write(pt(0.0, y + 1.2), "feed", 3.1, Anchor::Middle);
}

/// The tool at its true size, edge line only.
pub(crate) fn true_size(tool: &ToolForm) -> Canvas {
    let mut c = Canvas::default();
    let depth = tool.depth_mm.value;
    let below = depth + 6.0;
    c.stroke(tool.edge(below), Pen::GAUGE);
    let (l, r) =
        (tool.flank_point(FlankSide::Left, below), tool.flank_point(FlankSide::Right, below));
    c.line(l, r, Pen::GAUGE);
    // Ticks outside the edge at full depth.
    for (side, s) in [(FlankSide::Left, -1.0), (FlankSide::Right, 1.0)] {
        let p = tool.flank_point(side, depth);
        c.line(p + pt(s, 0.0), p + pt(4.0 * s, 0.0), Pen::GAUGE);
    }
    c
}

/// A card 1:1 with a notch the ground tool must fill, and an edge to lay along the work.
pub(crate) fn gauge(tool: &ToolForm, width: f64, height: f64) -> Canvas {
    let mut c = Canvas::default();
    let depth = tool.depth_mm.value;
    // The notch is the tool turned tip down, entering from the upper edge: seen from above the
    // rake face the right flank then stands left.
    let turn = |p: Point| pt(-p.x, -p.y - depth);
    let edge = tool.edge(depth);
    let mut card = Path { closed: true, ..Path::default() };
    let flat = |p: Point| p.y.abs() < 1e-9;
    for (i, v) in edge.vertices.iter().enumerate() {
        card.push(turn(v.at), v.bulge);
        // A slot over the tip, so that the flanks bear first.
        let next = edge.vertices.get(i + 1).map(|n| n.at).filter(|n| flat(*n) && flat(v.at));
        if let Some(next) = next {
            let (a, b) = (0.9 * v.at.x + 0.1 * next.x, 0.1 * v.at.x + 0.9 * next.x);
            for p in [pt(a, 0.0), pt(a, TIP_RELIEF_MM), pt(b, TIP_RELIEF_MM), pt(b, 0.0)] {
                card.push(turn(p), 0.0);
            }
        }
    }
    let half = 0.5 * width;
    card.push(pt(-half, 0.0), 0.0);
    card.push(pt(-half, -height), 0.0);
    card.push(pt(half, -height), 0.0);
    card.push(pt(half, 0.0), 0.0);
    c.stroke(card, Pen::GAUGE);
    c
}

/// How much deeper the notch of the card is than the tool's tip, mm.
const TIP_RELIEF_MM: f64 = 0.6;
/// Length of the sides of the angle gauge, mm.
const V_SIDE_MM: f64 = 30.0;

/// Width of the tip to a hundredth of a millimetre, or half a thousandth of an inch.
pub(crate) fn tip_width(tool: &ToolForm, units: Units) -> String {
    units.plain(tool.tip_flat_mm.value, if units == Units::Mm { 2 } else { 3 })
}

/// A card with a V of the tool's angles, to be cut out: angles have no scale. The long edge above stands
/// square to the tool's middle line.
pub(crate) fn angle_gauge(tool: &ToolForm) -> Canvas {
    let mut c = Canvas::default();
    let (r, l) = (tool.right_flank_deg.value.to_radians(), tool.left_flank_deg.value.to_radians());
    // Turned tip down like the card of the notch: the right flank stands left.
    let left = pt(-V_SIDE_MM * r.sin(), V_SIDE_MM * r.cos());
    let right = pt(V_SIDE_MM * l.sin(), V_SIDE_MM * l.cos());
    let top = left.y.max(right.y);
    let reach = |p: Point| if p.y > 1e-9 { p * (top / p.y) } else { p };
    let (left, right) = (reach(left), reach(right));
    let side = 5.0;
    let mut card = Path { closed: true, ..Path::default() };
    for p in [
        left,
        pt(0.0, 0.0),
        right,
        pt(right.x + side, top),
        pt(right.x + side, -side),
        pt(left.x - side, -side),
        pt(left.x - side, top),
    ] {
        card.push(p, 0.0);
    }
    c.stroke(card, Pen::GAUGE);
    c
}

/// The tool facing its tip, rake face up, with the clearances of its sides; not to scale, angles true.
/// The sides are named as in the plan view, looking down on the rake face from behind the shank: whoever
/// faces the tip has the plan's right on the left.
pub(crate) fn front(plan_left: Quantity, plan_right: Quantity, plan_leading: FlankSide) -> Canvas {
    let mut c = Canvas::default();
    let (left_deg, right_deg) = (plan_right, plan_left);
    let leading = match plan_leading {
        FlankSide::Left => FlankSide::Right,
        FlankSide::Right => FlankSide::Left,
    };
    let d = &mut c;
    let (half, height) = (9.0, 20.0);
    let (l, r) = (left_deg.value.to_radians(), right_deg.value.to_radians());
    let top_left = pt(-half, 0.0);
    let top_right = pt(half, 0.0);
    let low_left = pt(-half + height * l.tan(), -height);
    let low_right = pt(half - height * r.tan(), -height);
    d.stroke(Path::open([low_left, top_left, top_right, low_right]), Pen::OUTLINE);
    break_line(d, low_left, low_right);
    for (corner, angle, q, side) in
        [(top_left, l, left_deg, FlankSide::Left), (top_right, r, right_deg, FlankSide::Right)]
    {
        d.line(corner - pt(0.0, 0.8), corner - pt(0.0, height), Pen::DIMENSION);
        let label = dimension_angle(q);
        let down = -FRAC_PI_2;
        if angle.abs().to_degrees() < LEAST_ARC_DEG {
            let (x, anchor) = match side {
                FlankSide::Left => (-3.0, Anchor::End),
                FlankSide::Right => (3.0, Anchor::Start),
            };
            // Nobody grinds a face to stand exactly upright, and none that overhangs.
            let label = format!("{label} or more");
            d.write(corner + pt(x, -0.8 * height), &label, DIM_MM, anchor);
            continue;
        }
        let (a, b, outside) = match side {
            FlankSide::Left => (down, down + angle, Side::Before),
            FlankSide::Right => (down - angle, down, Side::After),
        };
        let (a, b) = if a <= b { (a, b) } else { (b, a) };
        dims::angle_outside(d, corner, 0.8 * height, (a, b), &label, DIM_MM, outside);
    }
    let (left, right) = match leading {
        FlankSide::Left => ("leading", "following"),
        FlankSide::Right => ("following", "leading"),
    };
    d.write(pt(-half - 2.0, 1.6), left, 3.1, Anchor::Middle);
    d.write(pt(half + 2.0, 1.6), right, 3.1, Anchor::Middle);
    c
}

/// Centres `view` in `place` under a bold heading.
pub(crate) fn headed(d: &mut Canvas, view: &Canvas, place: Rect, heading: &str) {
    let width = place.width();
    let mut y = place.top - 4.2;
    for line in crate::paper::font::wrap(heading, width, 3.4, crate::Weight::Bold) {
        d.write_bold(pt(place.centre().x, y), &line, 3.4, Anchor::Middle);
        y -= 4.2;
    }
    let rest = Rect::new(place.left, place.bottom, place.right, y + 2.2);
    d.place_centred(view, rest);
}
