//! A ground tool, read from a picture of itself: the same edges and the same bar as for a thread, but
//! a flat thing seen square to its rake face, so that its outline is its form.
//!
//! Three straight lines are laid along tip and flanks. Which points belong to them is decided by
//! where the edge faces: the drawing of the tool says how the three normals stand to each other.

use form::{Quantity, Said, Sentence, Source, figure, mm, sentence};
use picture::{Bar, EdgePoint, Scene};
use shop::{GroundTool, ToolForm};
use thiserror::Error;

/// An edge may face this much away from where the drawing has it, degrees.
const FACING_DEG: f64 = 12.0;
/// So many teeth in a row are a thread.
const LEAST_TEETH: usize = 3;
/// Directions tried for the tool's middle line.
const DIRECTIONS: usize = 180;
/// A line needs at least this many points.
const LEAST_POINTS: usize = 12;
/// A tip narrower than this many pixels is too short to be square by; the flanks then are.
const SHORT_TIP_PX: f64 = 60.0;
/// Errors that neighbouring edge points share (lens, blur, the stone's marks), px.
const SHARED_PX: f64 = 0.1;

/// Why a picture says nothing of a tool.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ToolPictureError {
    /// Nothing in the picture has a tip and two flanks such as the drawing.
    NotFound {
        /// Tip of the drawing, mm.
        tip_flat_mm: f64,
        /// Left side of the drawing, degrees.
        left_deg: f64,
        /// Right side, degrees.
        right_deg: f64,
    },
    /// A thread.
    Thread(usize),
    /// The bar has no width in the picture.
    Bar(f64),
}

impl Said for ToolPictureError {
    fn said(&self) -> Sentence {
        match self {
            Self::NotFound { tip_flat_mm, left_deg, right_deg } => sentence!(
                "nothing in the picture looks like the tool that was drawn: a tip of {} between flanks of {}° and {}°. Look square on the rake face, with the light behind the tool, the tip and both flanks free.",
                mm(*tip_flat_mm, 2),
                figure(*left_deg, 1),
                figure(*right_deg, 1)
            ),
            Self::Thread(it) => sentence!(
                "the picture shows a row of {} teeth: a thread, not a tool. Choose the picture of the ground tool, one tip with the light behind it.",
                *it
            ),
            Self::Bar(it) => sentence!(
                "the bar is {} px wide in the picture: at least 8 px are needed for a scale",
                figure(*it, 1)
            ),
        }
    }
}

form::said_by_display!(ToolPictureError);

/// A ground tool as its picture shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundFound {
    /// Angles, tip and corner.
    pub tool: GroundTool,
    /// Pixels per millimetre.
    pub px_per_mm: Quantity,
    /// The three lines laid along it, px: left flank, tip, right flank, each from end to end.
    pub lines_px: [[(f64, f64); 2]; 3],
    /// Whether the middle line was taken from the flanks, because the tip is too short to be square by.
    pub square_by_flanks: bool,
}

/// A straight line through points: a point of it, its unit normal out of the metal, and how well it
/// is known.
#[derive(Debug, Clone, Copy)]
struct Line {
    at: (f64, f64),
    normal: (f64, f64),
    ends: (f64, f64),
    u_angle_rad: f64,
    u_place_px: f64,
}

/// Reads the tool drawn as `tool` from a picture, seen from the side the drawing shows; `from_below`
/// when the picture shows it from the other.
///
/// # Errors
/// [`ToolPictureError`].
pub fn read_ground_tool(
    scene: &Scene,
    bar: &Bar,
    bar_width_mm: Quantity,
    tool: &ToolForm,
    from_below: bool,
) -> Result<GroundFound, ToolPictureError> {
    if bar.width_px.is_nan() || bar.width_px < 8.0 {
        return Err(ToolPictureError::Bar(bar.width_px));
    }
    if let Ok(thread) = picture::find_thread(scene, Some(bar), None)
        && thread.teeth >= LEAST_TEETH
    {
        return Err(ToolPictureError::Thread(thread.teeth));
    }
    let scale = bar.width_px / bar_width_mm.value;
    let u_bar_px = SHARED_PX * std::f64::consts::SQRT_2;
    let u_scale = (u_bar_px / bar.width_px).hypot(bar_width_mm.u / bar_width_mm.value);
    let px_per_mm = Quantity::new(scale, scale * u_scale, Source::Measured);

    // In the picture y runs down; the drawing is looked at with y up.
    let (page_left, page_right) = (tool.left.angle_deg.value, tool.right.angle_deg.value);
    let (left_deg, right_deg) =
        if from_below { (page_right, page_left) } else { (page_left, page_right) };
    let wanted = Wanted {
        left_rad: left_deg.to_radians(),
        right_rad: right_deg.to_radians(),
        tip_px: tool.tip_flat_mm.value * scale,
        depth_px: tool.form_depth_mm.value * scale,
    };
    let not_found = || ToolPictureError::NotFound {
        tip_flat_mm: tool.tip_flat_mm.value,
        left_deg: page_left,
        right_deg: page_right,
    };
    let of_bar = |p: &EdgePoint| {
        bar.edges.iter().flatten().any(|b| (b.x - p.x).abs() < 0.01 && (b.y - p.y).abs() < 0.01)
    };
    let best = scene
        .outlines
        .iter()
        .filter(|o| !o.points.iter().step_by(1 + o.points.len() / 50).all(of_bar))
        .filter_map(|o| wanted.direction(&o.points).map(|(score, axis)| (score, axis, o)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let (_, axis, outline) = best.ok_or_else(not_found)?;
    let [left, tip, right] = wanted.lines(&outline.points, axis).ok_or_else(not_found)?;

    let along = |l: &Line| l.normal.1.atan2(l.normal.0);
    let turned = |from: f64, to: f64| {
        let d = to - from;
        d - std::f64::consts::TAU * (d / std::f64::consts::TAU).round()
    };
    // Seen with y down, the normal of the left flank is reached from the tip's by turning to the
    // left, which there is the negative sense.
    let to_left = -turned(along(&tip), along(&left));
    let to_right = turned(along(&tip), along(&right));
    let quarter = std::f64::consts::FRAC_PI_2;
    let (mut left_rad, mut right_rad) = (quarter - to_left, quarter - to_right);
    let square_by_flanks = wanted.tip_px < SHORT_TIP_PX;
    let mut u_tip = tip.u_angle_rad;
    if square_by_flanks {
        // Only the sum is seen; its error is shared out as the drawing has it.
        let half = 0.5 * (left_rad + right_rad - wanted.left_rad - wanted.right_rad);
        (left_rad, right_rad) = (wanted.left_rad + half, wanted.right_rad + half);
        u_tip = 0.0;
    }
    let left_u = left.u_angle_rad.hypot(u_tip).to_degrees();
    let right_u = right.u_angle_rad.hypot(u_tip).to_degrees();
    let a = meet(&left, &tip).ok_or_else(not_found)?;
    let b = meet(&tip, &right).ok_or_else(not_found)?;
    let flat_px = (a.0 - b.0).hypot(a.1 - b.1);
    // A flank that moves square to itself moves its corner along the tip by 1 / cos of its angle; the
    // tip that moves takes both corners along the flanks.
    let flat_u = [
        left.u_place_px / left_rad.cos(),
        right.u_place_px / right_rad.cos(),
        tip.u_place_px * (left_rad.tan() + right_rad.tan()),
    ]
    .iter()
    .fold(0.0f64, |sum, u| sum.hypot(*u));
    let flat_mm = flat_px / scale;
    let tip_flat_mm = Quantity::measured(flat_mm, (flat_u / scale).hypot(flat_mm * u_scale));
    let corner_px = 0.5
        * (corner_radius(&outline.points, a, quarter + left_rad)
            + corner_radius(&outline.points, b, quarter + right_rad));
    // A corner blurred by the lens looks rounded by about its blur.
    let corner_radius_mm =
        if corner_px > 3.0 * scene.blur_px.max(0.5) { corner_px / scale } else { 0.0 };
    let (l, r) = (
        Quantity::measured(left_rad.to_degrees(), left_u),
        Quantity::measured(right_rad.to_degrees(), right_u),
    );
    let (left_deg, right_deg) = if from_below { (r, l) } else { (l, r) };
    let ends = |l: &Line| {
        let d = (-l.normal.1, l.normal.0);
        let p = |t: f64| (l.at.0 + t * d.0, l.at.1 + t * d.1);
        [p(l.ends.0), p(l.ends.1)]
    };
    Ok(GroundFound {
        tool: GroundTool { left_deg, right_deg, tip_flat_mm, corner_radius_mm },
        px_per_mm,
        lines_px: [ends(&left), ends(&tip), ends(&right)],
        square_by_flanks,
    })
}

/// What is looked for, in pixels.
struct Wanted {
    left_rad: f64,
    right_rad: f64,
    tip_px: f64,
    depth_px: f64,
}

impl Wanted {
    /// Outward normals of left flank, tip and right flank for a tool whose tip faces `axis_rad`.
    fn facing(&self, axis_rad: f64) -> [f64; 3] {
        let quarter = std::f64::consts::FRAC_PI_2;
        [axis_rad - (quarter - self.left_rad), axis_rad, axis_rad + (quarter - self.right_rad)]
    }

    /// How much of tip and flanks `points` show for the direction that shows most of them.
    fn direction(&self, points: &[EdgePoint]) -> Option<(f64, f64)> {
        (0..DIRECTIONS)
            .map(|i| std::f64::consts::TAU * i as f64 / DIRECTIONS as f64)
            .filter_map(|axis| {
                let groups = self.groups(points, axis)?;
                let flank = |angle: f64| self.depth_px / angle.cos();
                let part = |group: &[EdgePoint], length: f64| {
                    (group.len() as f64 / length.max(1.0)).min(1.0)
                };
                let shown = part(&groups[0], flank(self.left_rad))
                    .min(part(&groups[2], flank(self.right_rad)))
                    .min(part(&groups[1], 0.7 * self.tip_px));
                // Among directions that show all, the one whose edges face best.
                let facing = self.facing(axis);
                let mut off = 0.0;
                let mut n = 0.0;
                for (group, want) in groups.iter().zip(facing) {
                    for p in group {
                        off += 1.0 - (p.nx * want.cos() + p.ny * want.sin());
                        n += 1.0;
                    }
                }
                (shown > 0.4).then_some((shown - off / n, axis))
            })
            .max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Points of left flank, tip and right flank for a tool whose tip faces `axis_rad`.
    fn groups(&self, points: &[EdgePoint], axis_rad: f64) -> Option<[Vec<EdgePoint>; 3]> {
        let (c, s) = (axis_rad.cos(), axis_rad.sin());
        let out = |p: &EdgePoint| p.x * c + p.y * s;
        let across = |p: &EdgePoint| -p.x * s + p.y * c;
        let top = points.iter().map(out).fold(f64::NEG_INFINITY, f64::max);
        let near = FACING_DEG.to_radians().cos();
        let facing = self.facing(axis_rad);
        let faces =
            |p: &EdgePoint, k: usize| p.nx * facing[k].cos() + p.ny * facing[k].sin() > near;
        let slack = (0.12 * self.depth_px).max(3.0);
        let tip: Vec<EdgePoint> =
            points.iter().filter(|p| top - out(p) < slack && faces(p, 1)).copied().collect();
        if tip.len() < LEAST_POINTS {
            return None;
        }
        // A tool has one tip.
        let (low, high) = tip
            .iter()
            .map(across)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
        if high - low > 1.6 * self.tip_px + 6.0 {
            return None;
        }
        let n = tip.len() as f64;
        let (mid_out, mid_across) =
            (tip.iter().map(out).sum::<f64>() / n, tip.iter().map(across).sum::<f64>() / n);
        let widest = 0.75 * self.tip_px
            + 1.5 * self.depth_px * (self.left_rad.tan() + self.right_rad.tan()).max(0.2);
        let flank = |k: usize, sign: f64| -> Vec<EdgePoint> {
            points
                .iter()
                .filter(|p| {
                    let below = mid_out - out(p);
                    let beside = sign * (across(p) - mid_across);
                    (0.0..self.depth_px).contains(&below)
                        && beside > 0.0
                        && beside < widest
                        && faces(p, k)
                })
                .copied()
                .collect()
        };
        let (left, right) = (flank(0, -1.0), flank(2, 1.0));
        (left.len() >= LEAST_POINTS && right.len() >= LEAST_POINTS).then_some([left, tip, right])
    }

    fn lines(&self, points: &[EdgePoint], axis_rad: f64) -> Option<[Line; 3]> {
        let mut groups = self.groups(points, axis_rad)?;
        let mut lines: Option<[Line; 3]> = None;
        for _ in 0..4 {
            let fitted = [line(&groups[0])?, line(&groups[1])?, line(&groups[2])?];
            // Corners are round or burred: what lies near them belongs to no line.
            let corners = [meet(&fitted[0], &fitted[1])?, meet(&fitted[1], &fitted[2])?];
            let flat = (corners[0].0 - corners[1].0).hypot(corners[0].1 - corners[1].1);
            let away = (0.12 * flat).clamp(2.0, 40.0).min(0.15 * self.depth_px);
            let again = self.groups(points, axis_rad)?;
            for (k, group) in again.into_iter().enumerate() {
                let clear = |p: &EdgePoint| {
                    corners.iter().all(|c| (p.x - c.0).hypot(p.y - c.1) > away)
                        && off(&fitted[k], p).abs() < 1.5
                };
                let kept: Vec<EdgePoint> = group.into_iter().filter(clear).collect();
                if kept.len() >= LEAST_POINTS {
                    groups[k] = kept;
                }
            }
            lines = Some(fitted);
        }
        lines
    }
}

fn off(l: &Line, p: &EdgePoint) -> f64 {
    (p.x - l.at.0) * l.normal.0 + (p.y - l.at.1) * l.normal.1
}

/// Total least squares; the normal points as the points' normals do.
fn line(points: &[EdgePoint]) -> Option<Line> {
    let n = points.len() as f64;
    if points.len() < LEAST_POINTS {
        return None;
    }
    let (mx, my) =
        (points.iter().map(|p| p.x).sum::<f64>() / n, points.iter().map(|p| p.y).sum::<f64>() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (x, y) = (p.x - mx, p.y - my);
        xx += x * x;
        xy += x * y;
        yy += y * y;
    }
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    let (dx, dy) = (angle.cos(), angle.sin());
    let mut normal = (dy, -dx);
    let facing: f64 = points.iter().map(|p| p.nx * normal.0 + p.ny * normal.1).sum();
    if facing < 0.0 {
        normal = (-normal.0, -normal.1);
    }
    let mut found =
        Line { at: (mx, my), normal, ends: (0.0, 0.0), u_angle_rad: 0.0, u_place_px: 0.0 };
    let scatter = (points.iter().map(|p| off(&found, p).powi(2)).sum::<f64>() / (n - 2.0)).sqrt();
    let along = |p: &EdgePoint| (p.x - mx) * -normal.1 + (p.y - my) * normal.0;
    let spread = (points.iter().map(|p| along(p).powi(2)).sum::<f64>() / n).sqrt();
    found.ends = points
        .iter()
        .map(along)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
    let length = (found.ends.1 - found.ends.0).max(1.0);
    found.u_angle_rad = (scatter / (spread * n.sqrt())).hypot(SHARED_PX / length);
    found.u_place_px = (scatter / n.sqrt()).hypot(SHARED_PX);
    Some(found)
}

fn meet(a: &Line, b: &Line) -> Option<(f64, f64)> {
    let det = a.normal.0 * b.normal.1 - a.normal.1 * b.normal.0;
    if det.abs() < 1e-6 {
        return None;
    }
    let ka = a.at.0 * a.normal.0 + a.at.1 * a.normal.1;
    let kb = b.at.0 * b.normal.0 + b.at.1 * b.normal.1;
    Some(((ka * b.normal.1 - kb * a.normal.1) / det, (a.normal.0 * kb - b.normal.0 * ka) / det))
}

/// Radius of the arc that keeps the outline as far from a corner of this inside angle as it is.
fn corner_radius(points: &[EdgePoint], corner: (f64, f64), inside_rad: f64) -> f64 {
    let gap =
        points.iter().map(|p| (p.x - corner.0).hypot(p.y - corner.1)).fold(f64::INFINITY, f64::min);
    let per_radius = 1.0 / (0.5 * inside_rad).sin() - 1.0;
    if per_radius > 1e-6 && gap.is_finite() { gap / per_radius } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::{Hand, Section, Thread};
    use picture::{DrawnWanted, Grey};
    use shop::{NutRequest, ScrewForm, ToolSetting, Workmanship};

    fn drawn() -> (ScrewForm, shop::NutDesign, ToolForm) {
        let section = Section::symmetric(4.0, 15f64.to_radians(), 2.25, 1.46).unwrap();
        let thread = Thread::new(section, 24.0, 1, Hand::Right).unwrap();
        let screw = ScrewForm::from_thread(&thread, Source::Measured);
        let request =
            NutRequest { workmanship: Workmanship::PERFECT, ..NutRequest::with_play(0.08) };
        let nut = shop::design_nut(&screw, &request).unwrap();
        let tool = shop::tool_for_nut(&screw, &nut, &ToolSetting::default()).unwrap();
        (screw, nut, tool)
    }

    /// A picture of a tool with these angles and tip, turned, beside a bar of 3 mm; 60 px/mm, 4 × 4
    /// samples a pixel.
    fn cast(left: f64, right: f64, flat: f64, corner: f64, turn: f64) -> Grey {
        let (w, h, scale) = (900usize, 900usize, 60.0);
        let (tl, tr) = (left.to_radians().tan(), right.to_radians().tan());
        let (s, c) = turn.to_radians().sin_cos();
        let inside = |x: f64, y: f64| {
            // Picture to the tool's own frame: tip at (0, 0), up.
            let (px, py) = ((x - 450.0) / scale, -(y - 200.0) / scale);
            let (u, v) = (px * c - py * s, px * s + py * c);
            let body = v < 0.0
                && v > -6.0
                && u > -0.5 * flat - tl * (-v).min(3.0)
                && u < 0.5 * flat + tr * (-v).min(3.0);
            let rounded = |sign: f64, tan: f64| {
                let a = tan.atan();
                let centre = 0.5 * flat - corner * (0.5 * (std::f64::consts::FRAC_PI_2 - a)).tan();
                let (du, dv) = (sign * u - centre, v + corner);
                du > 0.0
                    && dv > du * -(a.tan())
                    && du.hypot(dv) > corner
                    && dv > corner * a.sin() - 1e-9
                    && du > corner * a.sin()
            };
            let cut = corner > 0.0 && (rounded(-1.0, tl) || rounded(1.0, tr));
            (body && !cut) || (px.abs() < 6.5 && (py + 9.0).abs() < 1.5)
        };
        let mut samples = Vec::with_capacity(w * h);
        for y in 0..h {
            for x in 0..w {
                let mut n = 0.0;
                for j in 0..4 {
                    for i in 0..4 {
                        let at = |o: usize, k: usize| o as f64 + (k as f64 + 0.5) / 4.0;
                        n += f64::from(u8::from(inside(at(x, i), at(y, j))));
                    }
                }
                let light = 0.7 * (1.0 - n / 16.0) + 0.02;
                let encoded = 1.055 * light.powf(1.0 / 2.4) - 0.055;
                samples.push((255.0 * encoded).round() as u8);
            }
        }
        Grey::from_u8(w, h, samples).unwrap()
    }

    fn read(
        grey: &Grey,
        tool: &ToolForm,
        from_below: bool,
    ) -> Result<GroundFound, ToolPictureError> {
        let scene = picture::trace(grey, DrawnWanted::Shadow, &|_| true).unwrap();
        let bar = picture::find_bar(&scene, None).unwrap();
        read_ground_tool(&scene, &bar, Quantity::entered(3.0, 0.002), tool, from_below)
    }

    #[test]
    fn planted_angles_and_tips_are_found() {
        let (_, _, tool) = drawn();
        let flat = tool.tip_flat_mm.value;
        for (left, right, wider, turn) in
            [(15.0, 15.0, 0.0, 0.0), (14.2, 15.6, 0.04, 8.0), (16.0, 14.5, -0.03, -13.0)]
        {
            let found = read(&cast(left, right, flat + wider, 0.0, turn), &tool, false).unwrap();
            let t = &found.tool;
            for (got, want) in
                [(t.left_deg, left), (t.right_deg, right), (t.tip_flat_mm, flat + wider)]
            {
                let off = (got.value - want).abs();
                assert!(off < 3.0 * got.u, "{want}: {got:?}");
            }
            assert!(t.left_deg.u < 0.2 && t.tip_flat_mm.u < 0.01, "{t:?}");
            assert!(t.corner_radius_mm < 0.04, "{t:?}");
            // Seen from the other side left is right.
            let other = read(&cast(right, left, flat + wider, 0.0, turn), &tool, true).unwrap();
            assert!((other.tool.left_deg.value - left).abs() < 3.0 * other.tool.left_deg.u);
        }
    }

    #[test]
    fn what_its_errors_do_to_the_play() {
        let (screw, nut, tool) = drawn();
        let flat = tool.tip_flat_mm.value;
        let found = read(&cast(15.0, 15.0, flat + 0.05, 0.0, 3.0), &tool, false).unwrap();
        let check = shop::check_ground_tool(&screw, &nut, &tool, &found.tool).unwrap();
        assert!((check.play_change_mm.value - 0.05).abs() < 2.0 * check.play_change_mm.u);
    }

    #[test]
    fn something_else_is_not_taken_for_the_tool() {
        let (_, _, tool) = drawn();
        let found = read(&cast(40.0, 40.0, 0.3, 0.0, 0.0), &tool, false);
        assert!(matches!(found, Err(ToolPictureError::NotFound { .. })), "{found:?}");
    }
}
