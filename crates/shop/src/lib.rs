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
mod wire_contact;
mod wires;
pub use wires::{
    OverWires, WireError, WireThread, best_wire_mm, over_wires, pitch_diameter_from_wires,
};
mod gears;
mod mesh;
pub use gears::{
    GearError, GearRequest, Gears, HalfNuts, Indexing, Train, find_trains, half_nuts, indexing,
};
pub use mesh::Bracket;
mod dial;
mod material;
mod passes;
pub use dial::{Dial, DialReading, DialReads, DialUnit};
pub use material::{ToolHolding, WorkMaterial, cutting_force_n};
pub use passes::{
    Feed, Pass, PassError, PassPlan, PassRequest, PassRule, plan_passes, root_series,
};
mod bar;
mod cautions;
mod gauges;
mod replica;
mod setting_out;
mod survey;
mod survey_csv;
pub use bar::{
    BarError, BarRequest, BoringBar, RoundBlank, SettingGauge, boring_bar, largest_bar_mm,
    round_blank, setting_gauge,
};
pub use cautions::{About, CAUTIONS, Caution, Refusal, UseOfThread, cautions_for};
pub use gauges::{GaugeError, NutGauges, PlugGauge, ToothThickness, nut_gauges, tooth_thickness};
pub use replica::{CastMaterial, ReplicaError, form_from_cast, screw_for_groove};
pub use setting_out::{
    Centring, CylinderReading, JawMove, JawReadings, SettingOutError, axis_below_face_mm,
    axis_drop_mm, centring, jaw_move,
};
pub use survey::{
    Findings, READING_U_MM, Reading, Station, Survey, SurveyError, Verdict, evaluate_survey,
};
pub use survey_csv::{SurveyTextError, parse_survey};
