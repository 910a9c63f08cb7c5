//! What to do at the machine: nut, tool, change wheels, passes, checks over wires, the backlash
//! survey, setting out.
//!
//! This crate must know nothing of pictures, of drawings and paper, of job files or of windows. It
//! knows the trade: every function here is a pure function of numbers, and what it has to say
//! beside its numbers it says as [`Notice`]s. Lengths are millimetres and angles degrees in public
//! fields unless a name says otherwise.

mod groove;
mod ground;
mod mating;
mod notice;
mod nut;
mod pressure;
mod propagate;
mod rake;
mod ridge;
mod screw;
mod side_faces;
mod tool;

pub use groove::{Groove, GrooveError, WallPoint};
pub use ground::{GroundCheck, GroundError, GroundTool, check_ground_tool, groove_cut_by};
pub use mating::{
    FlankGap, GapPoint, Mating, MatingError, axial_play_mm, axial_play_offset_mm, mate,
    play_lost_to_lead_mm,
};
pub use notice::{Notice, Provenance};
pub use nut::{
    NutDesign, NutError, NutKind, NutRequest, PlayPoint, Workmanship, crest_clearance_mm,
    design_nut,
};
pub use pressure::{FlankPressure, NutMaterial, flank_pressure};
pub use screw::{PARAMETER_NAMES, PARAMETERS, ScrewError, ScrewForm};
pub use side_faces::{FrontFace, SideCheck};
pub use tool::{
    Stance, ToolError, ToolFor, ToolForm, ToolSetting, ToolSide, Turned, normal_plane_angle_deg,
    relief_normal_to_flank_deg, tool_for_nut, tool_for_screw,
};
