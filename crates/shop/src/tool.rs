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
use crate::tool_words::{ToolSection, Turn, view};
use form::{Hand, Quantity, Said, Sentence, Thread, figure, mm, outside, sentence};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use thiserror::Error;

/// Common practice for the margin added to and taken from the lead angle, degrees.
const SIDE_MARGIN_DEG: f64 = 4.0;
/// How far the side clearance is raised beyond common practice before giving up, degrees.
const MOST_RAISED_DEG: f64 = 14.0;

/// Front clearance from which a land and a second relief are advised, degrees: common practice.
const STEEP_FRONT_DEG: f64 = 20.0;
/// Bow of an edge that nobody can grind anyway, mm.
const STRAIGHT_MM: f64 = 0.002;

/// Why a tool cannot be drawn.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ToolError {
    /// The screw.
    Screw(#[from] ScrewError),
    /// A number of the setting.
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
    NoEdge {
        /// Radius, mm.
        radius_mm: f64,
    },
    /// A side face runs into the thread it cuts.
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
    FrontRubbing {
        /// Clearance angle, degrees.
        clearance_deg: f64,
        /// Least angle, degrees.
        needed_deg: f64,
        /// Height, mm.
        height_mm: f64,
    },
}

impl Said for ToolError {
    fn said(&self) -> Sentence {
        match self {
            Self::Screw(e) => e.said(),
            Self::Setting { what, value, least, most } => {
                outside(what, [*value, *least, *most].map(|v| figure(v, 3)))
            }
            Self::NoEdge { radius_mm } => sentence!(
                "the rake face does not meet the flank at radius {}: use less top rake, or set the tool nearer to centre height",
                mm(*radius_mm, 3)
            ),
            Self::Rubbing { side, clearance_deg, overlap_mm, below_mm, radius_mm, needed } => {
                sentence!(
                    "the {} side rubs: at {}° clearance it stands {} inside the thread, {} below the edge at radius {}; least clearance that frees it: {}",
                    *side,
                    figure(*clearance_deg, 1),
                    mm(*overlap_mm, 3),
                    mm(*below_mm, 2),
                    mm(*radius_mm, 2),
                    needed
                )
            }
            Self::FrontRubbing { clearance_deg, needed_deg, height_mm } => sentence!(
                "the front rubs: {}° clearance, at least {}° needed for a tool {} high below the edge",
                figure(*clearance_deg, 1),
                figure(*needed_deg, 1),
                mm(*height_mm, 1)
            ),
        }
    }
}

form::said_by_display!(ToolError);

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
    /// Height of the faces below the edge that must stay clear, mm; `None` takes that of the section.
    pub height_mm: Option<f64>,
    /// What the tool is ground from. `None` takes, for a nut, the round blank that is recommended for
    /// its width (the larger of the metric and the inch one); for a screw, three tenths of the root
    /// diameter, at most 6 mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub section: Option<ToolSection>,
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
            section: None,
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
    /// How a turned tool is turned; `None` for one set square.
    #[serde(default)]
    pub turn: Option<Turn>,
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
    Drawing::new(screw, thread, shape, setting)?.form()
}

/// A tool being drawn.
struct Drawing<'a> {
    screw: &'a ScrewForm,
    thread: &'a Thread,
    shape: Shape,
    setting: &'a ToolSetting,
    /// The rake face, and the thread to be cut, in the tool's own frame.
    plane: RakePlane,
    target: Target,
    /// `+1` when picture-right is `+z` of that frame.
    picture: f64,
    /// Page-right and page-left edge.
    right: Edge,
    left: Edge,
}

/// One edge of the tool on the page.
struct Edge {
    /// From the shank's end to the tip, mm.
    points: Vec<[f64; 2]>,
    /// Straight line along its flank: place at the tip, mm, and slope outwards down the page.
    line: (f64, f64),
    /// Largest distance of the flank from that line, mm.
    off_mm: f64,
}

/// One side face as it is ground.
struct Ground {
    clearance_deg: f64,
    check: SideCheck,
    leading: bool,
}

impl<'a> Drawing<'a> {
    fn new(
        screw: &'a ScrewForm,
        thread: &'a Thread,
        shape: Shape,
        setting: &'a ToolSetting,
    ) -> Result<Self, ToolError> {
        within("top rake (degrees)", setting.top_rake_deg, -20.0, 30.0)?;
        let most = 0.2 * shape.tip_radius_mm.min(shape.edge_radius_mm);
        within("height above centre (mm)", setting.above_centre_mm, -most, most)?;
        let plane = rake_plane(
            shape.purpose,
            shape.tip_radius_mm,
            thread.lead_angle_rad(thread.pitch_diameter_mm()),
            thread.lead_mm(),
            thread.hand(),
            setting,
        );
        let picture = picture_right_sign(setting.stance);
        let target = in_tool_frame(&shape, picture);
        let (right_wall, left_wall) = page_walls(&plane, &target);
        let edge = |wall| Edge::new(&plane, wall, shape.edge_radius_mm);
        let (right, left) = (edge(right_wall)?, edge(left_wall)?);
        Ok(Self { screw, thread, shape, setting, plane, target, picture, right, left })
    }

    fn form(self) -> Result<ToolForm, ToolError> {
        let (shape, thread, setting) = (&self.shape, self.thread, self.setting);
        let inside = self.plane.inside;
        let smallest_diameter_mm =
            2.0 * if inside { shape.edge_radius_mm } else { shape.tip_radius_mm };
        let lead_angle = self.steepest_lead_deg(smallest_diameter_mm);
        let depth_mm = self.depth_mm();
        let (spread, tip_flat_mm) =
            (self.right.line.1 - self.left.line.1, self.right.line.0 - self.left.line.0);
        let height_mm = self.height_mm(smallest_diameter_mm, tip_flat_mm + depth_mm * spread);
        within("height below the edge (mm)", height_mm, 0.1, 0.9 * shape.tip_radius_mm)?;
        let front = side_faces::front_face(&self.plane, height_mm, setting.front_clearance_deg)?;
        let relative = lead_angle.value - self.plane.turn_rad.abs().to_degrees();
        let side = |page_right: bool| -> Result<ToolSide, ToolError> {
            let ground = self.ground(page_right, relative, height_mm, front.clearance_deg)?;
            Ok(self.side(page_right, ground, front.clearance_deg))
        };
        let (right, left) = (side(true)?, side(false)?);
        let notices = self.notices(&front, height_mm, relative, [&right, &left]);
        let width_u = self.width_u_mm(depth_mm, spread, [&right, &left]);
        Ok(ToolForm {
            purpose: shape.purpose,
            outline_mm: self.outline_mm(),
            tip_flat_mm: Quantity::derived(tip_flat_mm, shape.tip_flat.u),
            corner_radius_mm: shape.corner_radius_mm,
            form_depth_mm: Quantity::derived(depth_mm, shape.depth.u),
            width_at_depth_mm: Quantity::derived(tip_flat_mm + depth_mm * spread, width_u),
            included_angle_deg: Quantity::derived(
                right.angle_deg.value + left.angle_deg.value,
                first_order(self.screw, thread, |t| t.section().included_angle_rad().to_degrees())
                    .u,
            ),
            turn: self.turn(),
            view: view(shape.purpose, setting, &right, &left, thread.hand()),
            left,
            right,
            front,
            lead_angle_deg: lead_angle,
            smallest_diameter_mm,
            pitch_lead_angle_deg: self.pitch_lead_deg(),
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

    /// Height of the faces that must stay clear, mm, for a form `width_mm` wide.
    fn height_mm(&self, smallest_diameter_mm: f64, width_mm: f64) -> f64 {
        let said = self.setting.height_mm.or(self.setting.section.map(ToolSection::height_mm));
        // Three tenths of the diameter, whichever side of the work the tool is on.
        let usual = (0.3 * smallest_diameter_mm).min(6.0);
        said.unwrap_or_else(|| {
            let blank = |inch| crate::bar::blank_diameter_mm(width_mm, inch).unwrap_or(0.0);
            let of_blank = 0.5 * blank(false).max(blank(true));
            let holds = of_blank > 0.0 && of_blank < 0.9 * self.shape.tip_radius_mm;
            if self.plane.inside && holds { of_blank } else { usual }
        })
    }

    fn pitch_lead_deg(&self) -> f64 {
        self.thread.lead_angle_rad(self.thread.pitch_diameter_mm()).to_degrees()
    }

    /// How the tool is turned, and what turning it the other way costs.
    fn turn(&self) -> Option<Turn> {
        if self.setting.turned == Turned::Square {
            return None;
        }
        let wrong = RakePlane { turn_rad: -self.plane.turn_rad, ..self.plane };
        // Width cut by both edges where they cut the radius, as set the other way.
        let narrower = |radius_mm: f64| -> f64 {
            let (right, left) = page_walls(&self.plane, &self.target);
            let width = |plane: &RakePlane| {
                let ends = [right, left].map(|wall| {
                    let at = WallPoint { radius_mm, along_mm: wall_at(wall, radius_mm) };
                    self.plane.page_of(at).map(|page| plane.cuts(page).along_mm)
                });
                ends[0].zip(ends[1]).map(|(a, b)| (a - b).abs())
            };
            width(&self.plane).zip(width(&wrong)).map_or(0.0, |(right, wrong)| right - wrong)
        };
        Some(Turn {
            by_deg: self.pitch_lead_deg(),
            at_diameter_mm: self.thread.pitch_diameter_mm(),
            // The face falls away toward the side that leads, against the tool's own upright.
            leading_side_down: self.setting.stance != Stance::FarUpsideDown,
            wrong_way_narrower_mm: (
                narrower(self.shape.tip_radius_mm),
                narrower(self.shape.edge_radius_mm),
            ),
        })
    }

    /// Lead angle at the smallest diameter the tool meets, degrees.
    fn steepest_lead_deg(&self, smallest_diameter_mm: f64) -> Quantity {
        // The bore of a nut follows the root of the screw it is made for.
        let beyond_root = match self.plane.inside {
            true => smallest_diameter_mm - self.thread.minor_diameter_mm(),
            false => 0.0,
        };
        first_order(self.screw, self.thread, |t| {
            t.lead_angle_rad(t.minor_diameter_mm() + beyond_root).to_degrees()
        })
    }

    /// Whether a page side is toward `+z`: page-right is for a tool inside a bore.
    fn is_plus(&self, page_right: bool) -> bool {
        page_right == self.plane.inside
    }

    fn edge(&self, page_right: bool) -> &Edge {
        if page_right { &self.right } else { &self.left }
    }

    /// Side clearance by common practice, degrees: `relative` is the lead angle as the tool stands to it.
    /// Never less than upright: nobody grinds a face that overhangs.
    fn rule_deg(leading: bool, relative: f64) -> f64 {
        let rule = if leading { relative + SIDE_MARGIN_DEG } else { SIDE_MARGIN_DEG - relative };
        rule.max(0.0)
    }

    /// A side face that stays clear of the thread it cuts.
    fn ground(
        &self,
        page_right: bool,
        relative: f64,
        height_mm: f64,
        front_deg: f64,
    ) -> Result<Ground, ToolError> {
        let plus = self.is_plus(page_right);
        // The leading side is the one toward the feed: +z for the right hand.
        let leading = plus == (self.thread.hand() == Hand::Right);
        let given = self.setting.side_clearance_deg.map(|(l, f)| if leading { l } else { f });
        let edge = &self.edge(page_right).points;
        let faces = side_faces::Side { plane: &self.plane, target: &self.target, plus, edge };
        let (clearance_deg, check) = side_faces::clear_side(
            &faces,
            if leading { "leading" } else { "following" },
            given.unwrap_or(Self::rule_deg(leading, relative)),
            if given.is_some() { 0.0 } else { MOST_RAISED_DEG },
            height_mm,
            front_deg,
        )?;
        Ok(Ground { clearance_deg, check, leading })
    }

    fn side(&self, page_right: bool, ground: Ground, front_deg: f64) -> ToolSide {
        let edge = self.edge(page_right);
        let slope = if page_right { edge.line.1 } else { -edge.line.1 };
        let angle = slope.atan().to_degrees();
        let (flank, axial) = self.flank(page_right);
        ToolSide {
            angle_deg: Quantity::derived(angle, axial.u),
            screw_flank: flank.to_owned(),
            axial_angle_deg: axial,
            leading: ground.leading,
            clearance_deg: ground.clearance_deg,
            relief_from_front_deg: relief_normal_to_flank_deg(front_deg, angle),
            normal_plane_formula_deg: normal_plane_angle_deg(axial.value, self.pitch_lead_deg()),
            straightness_mm: edge.off_mm,
            check: ground.check,
        }
    }

    /// The flank of the screw a page side stands for, with its angle.
    fn flank(&self, page_right: bool) -> (&'static str, Quantity) {
        let picture_right = self.is_plus(page_right) == (self.picture > 0.0);
        let (name, axial) = if picture_right { self.shape.right_is } else { self.shape.left_is };
        let of_screw = match name {
            "right" => self.screw.right_flank_deg,
            _ => self.screw.left_flank_deg,
        };
        (name, Quantity::new(axial.value, of_screw.u, of_screw.source))
    }

    fn notices(
        &self,
        front: &FrontFace,
        height_mm: f64,
        relative: f64,
        sides: [&ToolSide; 2],
    ) -> Vec<Notice> {
        let mut notices = Vec::new();
        if front.needed_deg > STEEP_FRONT_DEG {
            notices.push(Notice::new(
                "second-relief",
                sentence!(
                    "the bore curves in so much that {}° front clearance is needed for {} of height: grind a land of about {} and a second, steeper relief below it",
                    figure(front.needed_deg, 0),
                    mm(height_mm, 1),
                    mm(1.5, 1)
                ),
            ));
        }
        for side in sides {
            let rule = Self::rule_deg(side.leading, relative);
            let clearance = side.clearance_deg;
            if self.setting.side_clearance_deg.is_none() && clearance > rule + 0.01 {
                notices.push(Notice::new(
                    "side-clearance-raised",
                    format!(
                        "the {} side needs {clearance:.1}° to stay clear by 2°; the rule of thumb would give {rule:.1}°",
                        if side.leading { "leading" } else { "following" }
                    ),
                ));
            }
        }
        if let Some(turn) = self.turn() {
            let (bottom, end) = turn.wrong_way_narrower_mm;
            notices.push(Notice::new(
                "turn-direction",
                sentence!(
                    "set it {}; turned the other way it cuts the groove {} too narrow at the bottom and {} at the {}",
                    turn.words(),
                    mm(bottom, 3),
                    mm(end, 3),
                    if self.plane.inside { "bore" } else { "crest" }
                ),
            ));
        }
        let worst = sides.map(|s| s.straightness_mm).into_iter().fold(0.0, f64::max);
        if worst > STRAIGHT_MM {
            notices.push(Notice::new(
                "edge-not-straight",
                sentence!(
                    "the exact edge bows {} from a straight line; ground straight, the flank it cuts bows as much",
                    mm(worst, 4)
                ),
            ));
        }
        notices
    }

    /// Both edges as one line from shank to shank; the drawing's zero is the middle of the tip.
    fn outline_mm(&self) -> Vec<[f64; 2]> {
        let shift = 0.5 * (self.right.line.0 + self.left.line.0);
        let points = self.left.points.iter().chain(self.right.points.iter().rev());
        points.map(|p| [p[0] - shift, p[1]]).collect()
    }

    /// From the tip to where the thread ends, on the page, mm.
    fn depth_mm(&self) -> f64 {
        let radius_mm = self.shape.edge_radius_mm;
        let (right, left) = page_walls(&self.plane, &self.target);
        let ends = [right, left].map(|wall| {
            let end = WallPoint { radius_mm, along_mm: wall_at(wall, radius_mm) };
            self.plane.page_of(end).map_or(self.shape.depth.value, |p| -p[1])
        });
        0.5 * (ends[0] + ends[1])
    }

    /// Standard uncertainty of the width at that depth, mm. As on the printed template: tip, depth and both
    /// angles as if they were independent, which is no less than it is.
    fn width_u_mm(&self, depth_mm: f64, spread: f64, sides: [&ToolSide; 2]) -> f64 {
        let tilt = |side: &ToolSide| {
            let slope = 1.0 + side.angle_deg.value.to_radians().tan().powi(2);
            depth_mm * slope * side.angle_deg.u.to_radians()
        };
        let [right, left] = sides.map(tilt);
        self.shape.tip_flat.u.hypot(self.shape.depth.u * spread).hypot(right).hypot(left)
    }
}

impl Edge {
    /// The edge along a wall; its straight line is fitted where the flank cuts, between the tip and
    /// `edge_radius_mm`, and not along what runs on into the shank.
    fn new(plane: &RakePlane, wall: &[WallPoint], edge_radius_mm: f64) -> Result<Self, ToolError> {
        let meets =
            |p: &WallPoint| plane.page_of(*p).ok_or(ToolError::NoEdge { radius_mm: p.radius_mm });
        let points: Vec<[f64; 2]> = wall.iter().map(meets).collect::<Result<_, _>>()?;
        let inside = plane.inside;
        let cuts = |p: &WallPoint| {
            let beyond =
                if inside { edge_radius_mm - p.radius_mm } else { p.radius_mm - edge_radius_mm };
            beyond <= 1e-9
        };
        let flank = &wall[..FLANK_POINTS.min(wall.len())];
        let first = flank.iter().position(cuts).unwrap_or(0);
        let mut along: Vec<[f64; 2]> = points[first..flank.len()].to_vec();
        if first > 0 {
            // Up to where the thread ends, to the last micrometre.
            let end =
                WallPoint { radius_mm: edge_radius_mm, along_mm: wall_at(wall, edge_radius_mm) };
            along.insert(0, meets(&end)?);
        }
        let (line, off_mm) = straight_line(&along);
        Ok(Self { points, line, off_mm })
    }
}

/// Walls of the thread behind page-right and page-left: page-right is `+z` for a tool inside a bore, `-z`
/// for one outside.
fn page_walls<'t>(plane: &RakePlane, target: &'t Target) -> (&'t [WallPoint], &'t [WallPoint]) {
    if plane.inside { (&target.plus, &target.minus) } else { (&target.minus, &target.plus) }
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
