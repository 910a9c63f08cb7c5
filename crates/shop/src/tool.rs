//! The single-point tool, as a form in the plane of its rake face.
//!
//! The tool for a **nut** copies the screw's ridge; the tool for a new **screw** copies the groove.
//! The edge is where the helicoid to be cut meets the rake plane, computed point by point; the usual
//! formulas stand beside it as a check.

use crate::groove::{WallPoint, wall_at};
use crate::notice::{Notice, Provenance};
use crate::nut::NutDesign;
use crate::propagate::first_order;
use crate::rake::{RakePlane, Target};
use crate::screw::{ScrewError, ScrewForm};
use crate::shape::{FLANK_POINTS, Shape};
use crate::side_faces::{self, FrontFace, SideCheck};
use form::{Hand, Quantity, Thread};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use thiserror::Error;

/// Common practice for the margin added to and taken from the lead angle, degrees.
const SIDE_MARGIN_DEG: f64 = 4.0;
/// How far the side clearance is raised beyond common practice before giving up, degrees.
const MOST_RAISED_DEG: f64 = 14.0;

/// Why a tool cannot be drawn.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ToolError {
    /// The screw.
    #[error(transparent)]
    Screw(#[from] ScrewError),
    /// A number of the setting.
    #[error("{what} {value:.3} is outside {least:.3} to {most:.3}")]
    Setting {
        /// What.
        what: &'static str,
        /// Value given.
        value: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
    },
    /// The rake plane does not meet the helicoid at some radius.
    #[error(
        "the rake face does not meet the flank at radius {radius_mm:.3} mm: use less top rake, or set the tool nearer to centre height"
    )]
    NoEdge {
        /// Radius, mm.
        radius_mm: f64,
    },
    /// A side face runs into the thread it cuts.
    #[error(
        "the {side} side rubs: at {clearance_deg:.1}° clearance it stands {overlap_mm:.3} mm inside the thread, {below_mm:.2} mm below the edge at radius {radius_mm:.2} mm; least clearance that frees it: {needed}"
    )]
    Rubbing {
        /// `"leading"` or `"following"`.
        side: &'static str,
        /// Clearance angle, degrees.
        clearance_deg: f64,
        /// Overlap, mm.
        overlap_mm: f64,
        /// Distance below the edge, mm.
        below_mm: f64,
        /// Radius, mm.
        radius_mm: f64,
        /// The angle that would do, or that none would.
        needed: String,
    },
    /// The front face runs into the bottom of the groove.
    #[error(
        "the front rubs: {clearance_deg:.1}° clearance, at least {needed_deg:.1}° needed for a tool {height_mm:.1} mm high below the edge"
    )]
    FrontRubbing {
        /// Clearance angle, degrees.
        clearance_deg: f64,
        /// Least angle, degrees.
        needed_deg: f64,
        /// Height, mm.
        height_mm: f64,
    },
}

/// What a tool is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ToolFor {
    /// Cuts the groove of a nut: copies the screw's ridge.
    Nut,
    /// Cuts the groove of a screw: copies the screw's groove.
    Screw,
}

/// How the rake face stands to the helix.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Turned {
    /// Square: the rake face lies along the axis.
    Square,
    /// Turned about its shank to the lead angle at the pitch diameter, square to the helix.
    ToLeadAngle,
}

/// Where the tool cuts, and which way the spindle turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stance {
    /// On the near side, rake face up, spindle forward: the usual way.
    Near,
    /// On the far side, rake face down, spindle forward.
    FarUpsideDown,
    /// On the far side, rake face up, spindle in reverse.
    FarReverse,
}

impl Stance {
    /// Whether the spindle turns forward.
    #[must_use]
    pub fn forward(self) -> bool {
        !matches!(self, Self::FarReverse)
    }
}

/// How a tool is ground and set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ToolSetting {
    /// Square or turned.
    pub turned: Turned,
    /// Top rake, degrees: positive when the rake face falls away from the tip along the shank.
    pub top_rake_deg: f64,
    /// Height of the tip above centre, mm; negative below. "Above" is against the movement of the work.
    pub above_centre_mm: f64,
    /// Front clearance, degrees; `None` takes 8° or what the bore demands.
    pub front_clearance_deg: Option<f64>,
    /// Leading and following side clearance, degrees; `None` takes the lead angle at the smallest
    /// diameter plus, and minus, 4° (common practice 3–5°), raised where the thread demands more.
    pub side_clearance_deg: Option<(f64, f64)>,
    /// Where it cuts.
    pub stance: Stance,
    /// Height of the faces below the edge that must stay clear, mm; `None` takes three tenths of
    /// the bore for a nut or the root diameter for a screw, at most 6 mm.
    pub height_mm: Option<f64>,
}

impl Default for ToolSetting {
    fn default() -> Self {
        Self {
            turned: Turned::Square,
            top_rake_deg: 0.0,
            above_centre_mm: 0.0,
            front_clearance_deg: None,
            side_clearance_deg: None,
            stance: Stance::Near,
            height_mm: None,
        }
    }
}

/// One side of a tool.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToolSide {
    /// Angle of the edge from the middle line of the drawing, degrees, in the rake plane.
    pub angle_deg: Quantity,
    /// Flank of the screw (as in the picture) that this side stands for: `"right"` or `"left"`.
    pub screw_flank: String,
    /// That flank's angle in the axial section, degrees.
    pub axial_angle_deg: Quantity,
    /// Whether this side goes first into the work.
    pub leading: bool,
    /// Side clearance, degrees, in the tool's own upright.
    pub clearance_deg: f64,
    /// Relief normal to the flank that the front clearance alone gives, degrees:
    /// `atan(tan γ · sin angle)`.
    pub relief_from_front_deg: f64,
    /// `atan(tan α cos λ)` with λ at the pitch diameter, for comparison with a turned tool.
    pub normal_plane_formula_deg: f64,
    /// Largest distance of the exact edge from the straight line ground for it, mm.
    pub straightness_mm: f64,
    /// The side face against the thread.
    pub check: SideCheck,
}

/// A tool to be ground, in the plane of its rake face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToolForm {
    /// Nut or screw.
    pub purpose: ToolFor,
    /// Outline in mm in the rake plane, page-right and page-up, from the shank's end on the left
    /// over the tip to the shank's end on the right. The middle of the tip is at (0, 0); the shank
    /// is toward negative y. Accurate to a few tenths of a micrometre between points.
    pub outline_mm: Vec<[f64; 2]>,
    /// Width of the tip between the sharp corners of the straight flanks, mm.
    pub tip_flat_mm: Quantity,
    /// Corner radius, mm; 0 is sharp.
    pub corner_radius_mm: f64,
    /// From the tip to where the thread ends (bore of the nut, crest of the screw), mm.
    pub form_depth_mm: Quantity,
    /// Width there, mm.
    pub width_at_depth_mm: Quantity,
    /// Left side of the drawing.
    pub left: ToolSide,
    /// Right side of the drawing.
    pub right: ToolSide,
    /// Both angles together, degrees.
    pub included_angle_deg: Quantity,
    /// The front face.
    pub front: FrontFace,
    /// Lead angle at the smallest diameter of the thread, degrees.
    pub lead_angle_deg: Quantity,
    /// That diameter, mm.
    pub smallest_diameter_mm: f64,
    /// Lead angle at the pitch diameter, degrees: what a turned tool is turned by.
    pub pitch_lead_angle_deg: f64,
    /// Radius the tip reaches at full depth, mm.
    pub tip_radius_mm: f64,
    /// Radius where the thread ends toward the shank, mm.
    pub edge_radius_mm: f64,
    /// Pitch, mm.
    pub pitch_mm: f64,
    /// Starts.
    pub starts: u32,
    /// Hand.
    pub hand: Hand,
    /// Which way to look, which side is which, which way it feeds: for the drawing.
    pub view: String,
    /// How it was ground and set.
    pub setting: ToolSetting,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
    /// Where the numbers come from.
    pub provenance: Vec<Provenance>,
}

/// The tool that cuts the groove of `nut`.
///
/// # Errors
/// [`ToolError`]; a face that would rub is an error.
pub fn tool_for_nut(
    screw: &ScrewForm,
    nut: &NutDesign,
    setting: &ToolSetting,
) -> Result<ToolForm, ToolError> {
    let thickest = screw.thickest();
    let thread = thickest.thread()?;
    let cut = nut.cut();
    let mut shape = Shape::for_nut(&cut);
    shape.tip_flat = nut.tool_tip_flat_mm;
    shape.depth = nut.infeed_mm;
    draw(&thickest, &thread, shape, setting)
}

/// The tool that cuts a new screw of this form.
///
/// # Errors
/// [`ToolError`]; a face that would rub is an error.
pub fn tool_for_screw(screw: &ScrewForm, setting: &ToolSetting) -> Result<ToolForm, ToolError> {
    screw.check()?;
    let thread = screw.thread()?;
    let mut shape = Shape::for_screw(&thread);
    shape.tip_flat = first_order(screw, &thread, |t| t.section().root_flat_mm());
    shape.depth = screw.depth_mm;
    draw(screw, &thread, shape, setting)
}

fn within(what: &'static str, value: f64, least: f64, most: f64) -> Result<(), ToolError> {
    if (least..=most).contains(&value) {
        Ok(())
    } else {
        Err(ToolError::Setting { what, value, least, most })
    }
}

/// Rake plane and target in the tool's own frame for a stance.
pub(crate) fn rake_plane(
    purpose: ToolFor,
    tip_radius_mm: f64,
    pitch_lead_rad: f64,
    lead_mm: f64,
    hand: Hand,
    setting: &ToolSetting,
) -> RakePlane {
    let sign = match hand {
        Hand::Right => 1.0,
        Hand::Left => -1.0,
    };
    RakePlane {
        inside: purpose == ToolFor::Nut,
        tip_radius_mm,
        above_mm: setting.above_centre_mm,
        rake_rad: setting.top_rake_deg.to_radians(),
        turn_rad: match setting.turned {
            Turned::Square => 0.0,
            Turned::ToLeadAngle => sign * pitch_lead_rad,
        },
        advance_mm: sign * lead_mm / (2.0 * PI),
    }
}

/// `+1` when picture-right is `+z` of the tool's frame. The work is held so that the right of the
/// picture faces the tailstock; `z` points to the headstock with the spindle forward.
pub(crate) fn picture_right_sign(stance: Stance) -> f64 {
    if stance.forward() { -1.0 } else { 1.0 }
}

fn draw(
    screw: &ScrewForm,
    thread: &Thread,
    shape: Shape,
    setting: &ToolSetting,
) -> Result<ToolForm, ToolError> {
    within("top rake (degrees)", setting.top_rake_deg, -20.0, 30.0)?;
    let most = 0.2 * shape.tip_radius_mm.min(shape.edge_radius_mm);
    within("height above centre (mm)", setting.above_centre_mm, -most, most)?;
    let pitch_lead = thread.lead_angle_rad(thread.pitch_diameter_mm());
    let plane = rake_plane(
        shape.purpose,
        shape.tip_radius_mm,
        pitch_lead,
        thread.lead_mm(),
        thread.hand(),
        setting,
    );
    let inside = plane.inside;
    let picture = picture_right_sign(setting.stance);
    let target = in_tool_frame(&shape, picture);
    // Page-right is +z for a tool inside a bore, -z for one outside.
    let plus_is_page_right = inside;
    let (right_wall, left_wall) = if plus_is_page_right {
        (&target.plus, &target.minus)
    } else {
        (&target.minus, &target.plus)
    };
    let right_edge = edge(&plane, right_wall)?;
    let left_edge = edge(&plane, left_wall)?;
    let (right_line, right_off) = straight_line(&right_edge[..FLANK_POINTS]);
    let (left_line, left_off) = straight_line(&left_edge[..FLANK_POINTS]);
    let tip_flat_page = right_line.0 - left_line.0;

    let smallest_diameter_mm =
        if inside { 2.0 * shape.edge_radius_mm } else { 2.0 * shape.tip_radius_mm };
    let lead_angle = first_order(screw, thread, |t| {
        let d = if inside {
            smallest_diameter_mm - thread.minor_diameter_mm() + t.minor_diameter_mm()
        } else {
            t.minor_diameter_mm()
        };
        t.lead_angle_rad(d).to_degrees()
    });
    // Three tenths of the diameter, whichever side of the work the tool is on.
    let height_mm = setting.height_mm.unwrap_or((0.3 * smallest_diameter_mm).min(6.0));
    within("height below the edge (mm)", height_mm, 0.1, 0.9 * shape.tip_radius_mm)?;

    let mut notices = Vec::new();
    let front = side_faces::front_face(&plane, height_mm, setting.front_clearance_deg)?;
    if front.needed_deg > 20.0 {
        notices.push(Notice::new(
            "second-relief",
            format!(
                "the bore curves in so much that {:.0}° front clearance is needed for {height_mm:.1} mm of height: grind a land of about 1.5 mm and a second, steeper relief below it",
                front.needed_deg
            ),
        ));
    }
    // The leading side is the one toward the feed: +z for the right hand.
    let plus_leads = thread.hand() == Hand::Right;
    let turned_by = plane.turn_rad.abs().to_degrees();
    let relative = lead_angle.value - turned_by;
    let side = |plus: bool, page: &[[f64; 2]]| -> Result<(f64, SideCheck, bool), ToolError> {
        let leading = plus == plus_leads;
        let (given, rule) = match (setting.side_clearance_deg, leading) {
            (Some((lead, _)), true) => (true, lead),
            (Some((_, follow)), false) => (true, follow),
            (None, true) => (false, relative + SIDE_MARGIN_DEG),
            (None, false) => (false, SIDE_MARGIN_DEG - relative),
        };
        let faces = side_faces::Side { plane: &plane, target: &target, plus, edge: page };
        let name = if leading { "leading" } else { "following" };
        side_faces::clear_side(
            &faces,
            name,
            rule,
            if given { 0.0 } else { MOST_RAISED_DEG },
            height_mm,
            front.clearance_deg,
        )
        .map(|(angle, check)| (angle, check, leading))
    };
    let right_side = side(plus_is_page_right, &right_edge)?;
    let left_side = side(!plus_is_page_right, &left_edge)?;
    for (clearance, _, leading) in [&right_side, &left_side] {
        let rule = if *leading { relative + SIDE_MARGIN_DEG } else { SIDE_MARGIN_DEG - relative };
        if setting.side_clearance_deg.is_none() && *clearance > rule + 0.01 {
            // Nought has no sign in print.
            let rule = if rule.abs() < 0.05 { 0.0 } else { rule };
            notices.push(Notice::new(
                "side-clearance-raised",
                format!(
                    "the {} side needs {clearance:.1}° to stay clear by 2°; the rule of thumb would give {rule:.1}°",
                    if *leading { "leading" } else { "following" }
                ),
            ));
        }
    }

    let right_flank = u_of_flank(screw, &shape, picture, inside, true);
    let left_flank = u_of_flank(screw, &shape, picture, inside, false);
    let make_side = |line: (f64, f64),
                     sign: f64,
                     off: f64,
                     found: (f64, SideCheck, bool),
                     flank: (&'static str, Quantity)| {
        let angle = (sign * line.1).atan().to_degrees();
        ToolSide {
            angle_deg: Quantity::derived(angle, flank.1.u),
            screw_flank: flank.0.to_owned(),
            axial_angle_deg: flank.1,
            leading: found.2,
            clearance_deg: found.0,
            relief_from_front_deg: relief_normal_to_flank_deg(front.clearance_deg, angle),
            normal_plane_formula_deg: normal_plane_angle_deg(
                flank.1.value,
                pitch_lead.to_degrees(),
            ),
            straightness_mm: off,
            check: found.1,
        }
    };
    let right = make_side(right_line, 1.0, right_off, right_side, right_flank);
    let left = make_side(left_line, -1.0, left_off, left_side, left_flank);
    let worst = right.straightness_mm.max(left.straightness_mm);
    if worst > 0.002 {
        notices.push(Notice::new(
            "edge-not-straight",
            format!("the exact edge bows {worst:.4} mm from a straight line; ground straight, the flank it cuts bows as much"),
        ));
    }
    // The drawing's zero is the middle of the tip.
    let shift = 0.5 * (right_line.0 + left_line.0);
    let outline_mm: Vec<[f64; 2]> =
        left_edge.iter().chain(right_edge.iter().rev()).map(|p| [p[0] - shift, p[1]]).collect();
    let page_depth = {
        let end = |wall: &[WallPoint]| {
            plane
                .page_of(WallPoint {
                    radius_mm: shape.edge_radius_mm,
                    along_mm: wall_at(wall, shape.edge_radius_mm),
                })
                .map(|p| -p[1])
        };
        0.5 * (end(right_wall).unwrap_or(shape.depth.value)
            + end(left_wall).unwrap_or(shape.depth.value))
    };
    let width = tip_flat_page + page_depth * (right_line.1 - left_line.1);
    // As on the printed template: tip, depth and both angles as if they were independent, which is no
    // less than it is.
    let tilt = |side: &ToolSide| {
        let slope = 1.0 + side.angle_deg.value.to_radians().tan().powi(2);
        page_depth * slope * side.angle_deg.u.to_radians()
    };
    let u_width = shape
        .tip_flat
        .u
        .hypot(shape.depth.u * (right_line.1 - left_line.1))
        .hypot(tilt(&right))
        .hypot(tilt(&left));
    Ok(ToolForm {
        purpose: shape.purpose,
        outline_mm,
        tip_flat_mm: Quantity::derived(tip_flat_page, shape.tip_flat.u),
        corner_radius_mm: shape.corner_radius_mm,
        form_depth_mm: Quantity::derived(page_depth, shape.depth.u),
        width_at_depth_mm: Quantity::derived(width, u_width),
        included_angle_deg: Quantity::derived(
            right.angle_deg.value + left.angle_deg.value,
            first_order(screw, thread, |t| t.section().included_angle_rad().to_degrees()).u,
        ),
        view: view(shape.purpose, setting, &right, &left, thread.hand()),
        left,
        right,
        front,
        lead_angle_deg: lead_angle,
        smallest_diameter_mm,
        pitch_lead_angle_deg: pitch_lead.to_degrees(),
        tip_radius_mm: shape.tip_radius_mm,
        edge_radius_mm: shape.edge_radius_mm,
        pitch_mm: thread.section().pitch_mm(),
        starts: thread.starts(),
        hand: thread.hand(),
        setting: *setting,
        notices,
        provenance: vec![
            Provenance::new(
                "outline_mm",
                "the helicoid to be cut, intersected point by point with the rake plane as set",
            ),
            Provenance::new(
                "clearance_deg",
                "lead angle at the smallest diameter plus (leading) or subtracted from (following) 4°, common practice 3–5°; side faces sampled against the thread",
            ),
        ],
    })
}

/// The flank a page side stands for, with the screw's own quantity.
fn u_of_flank(
    screw: &ScrewForm,
    shape: &Shape,
    picture: f64,
    inside: bool,
    page_right: bool,
) -> (&'static str, Quantity) {
    // Page-right is +z inside, -z outside; picture-right is `picture`·z.
    let plus = page_right == inside;
    let picture_right = plus == (picture > 0.0);
    let (name, axial) = if picture_right { shape.right_is } else { shape.left_is };
    let of_screw = if name == "right" { screw.right_flank_deg } else { screw.left_flank_deg };
    (name, Quantity::new(axial.value, of_screw.u, of_screw.source))
}

fn in_tool_frame(shape: &Shape, picture: f64) -> Target {
    let turn = |wall: &[WallPoint]| -> Vec<WallPoint> {
        wall.iter()
            .map(|p| WallPoint { radius_mm: p.radius_mm, along_mm: picture * p.along_mm })
            .collect()
    };
    let (right, left) = (turn(&shape.right), turn(&shape.left));
    if picture > 0.0 {
        Target { plus: right, minus: left }
    } else {
        Target { plus: left, minus: right }
    }
}

fn edge(plane: &RakePlane, wall: &[WallPoint]) -> Result<Vec<[f64; 2]>, ToolError> {
    wall.iter()
        .map(|&p| plane.page_of(p).ok_or(ToolError::NoEdge { radius_mm: p.radius_mm }))
        .collect()
}

/// Least-squares line `x = x0 + slope · (-y)` through page points, and the largest distance from it.
fn straight_line(points: &[[f64; 2]]) -> ((f64, f64), f64) {
    let n = points.len() as f64;
    let my = points.iter().map(|p| -p[1]).sum::<f64>() / n;
    let mx = points.iter().map(|p| p[0]).sum::<f64>() / n;
    let (mut sxy, mut syy) = (0.0, 0.0);
    for p in points {
        sxy += (-p[1] - my) * (p[0] - mx);
        syy += (-p[1] - my).powi(2);
    }
    let slope = if syy > 0.0 { sxy / syy } else { 0.0 };
    let x0 = mx - slope * my;
    let off = points
        .iter()
        .map(|p| (p[0] - x0 + slope * p[1]).abs() / slope.hypot(1.0))
        .fold(0.0, f64::max);
    ((x0, slope), off)
}

/// Flank angle in the plane normal to the helix: `tan αn = tan α cos λ`, degrees.
#[must_use]
pub fn normal_plane_angle_deg(axial_deg: f64, lead_angle_deg: f64) -> f64 {
    (axial_deg.to_radians().tan() * lead_angle_deg.to_radians().cos()).atan().to_degrees()
}

/// Relief normal to a flank that comes from the front clearance alone: `atan(tan γ · sin α)`, degrees.
#[must_use]
pub fn relief_normal_to_flank_deg(front_clearance_deg: f64, flank_deg: f64) -> f64 {
    (front_clearance_deg.to_radians().tan() * flank_deg.to_radians().sin()).atan().to_degrees()
}

fn view(
    purpose: ToolFor,
    setting: &ToolSetting,
    right: &ToolSide,
    left: &ToolSide,
    hand: Hand,
) -> String {
    let forward = setting.stance.forward();
    let inside = purpose == ToolFor::Nut;
    // Page-right is +z inside and -z outside; +z is the headstock with the spindle forward.
    let page_right_end = if inside == forward { "headstock" } else { "tailstock" };
    let toward = if (hand == Hand::Right) == forward { "headstock" } else { "tailstock" };
    let place = match setting.stance {
        Stance::Near => "on the near side, rake face up, spindle forward",
        Stance::FarUpsideDown => "on the far side, rake face down, spindle forward",
        Stance::FarReverse => "on the far side, rake face up, spindle in reverse",
    };
    let leads = if right.leading { "right" } else { "left" };
    format!(
        "As seen looking down on the rake face, tip up, shank toward you. Cuts {place}; the right of the drawing faces the {page_right_end}. {hand}-hand thread: feeds toward the {toward}, the {leads} side leads. Right side: the screw's {} flank; left side: its {} flank. \"Right\" and \"left\" of the screw are those of the picture; hold the work with the picture's right toward the tailstock.",
        right.screw_flank,
        left.screw_flank,
        hand = match hand {
            Hand::Right => "Right",
            Hand::Left => "Left",
        },
    )
}
