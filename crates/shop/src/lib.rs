//! What to do at the machine: nut, tool, change wheels, passes, checks over wires, the backlash
//! survey, setting out.
//!
//! This crate must know nothing of pictures, of drawings and paper, of job files or of windows. It
//! knows the trade: every function here is a pure function of numbers, and what it has to say
//! beside its numbers it says as [`Notice`]s. Lengths are millimetres and angles degrees in public
//! fields unless a name says otherwise.
//!
//! - The screw in hand: [`ScrewForm`].
//! - The nut: [`design_nut`] → [`NutDesign`]; assembled: [`mate`]; gauged: [`nut_gauges`].
//! - The tool: [`tool_for_nut`], [`tool_for_screw`] → [`ToolForm`]; what it really cuts:
//!   [`groove_cut_by`]; as ground: [`check_ground_tool`]; its bar and blank: [`boring_bar`],
//!   [`round_blank`], [`setting_gauge`].
//! - At the lathe: [`find_trains`], [`plan_passes`], [`axis_drop_mm`], [`centring`].
//! - Checks: [`over_wires`], [`tooth_thickness`].
//! - Before anything is cut: [`evaluate_survey`], [`UseOfThread::permit`], [`cautions_for`].

mod bar;
mod cautions;
mod dial;
mod gauges;
mod gears;
mod groove;
mod ground;
mod material;
mod mating;
mod mesh;
mod notice;
mod nut;
mod nut_request;
mod passes;
mod play;
mod pressure;
mod propagate;
mod rake;
mod replica;
mod ridge;
mod screw;
mod self_locking;
mod setting_out;
mod shape;
mod side_faces;
mod survey;
mod survey_csv;
mod tool;
mod tool_words;
mod try_on;
mod wheel_list;
mod wheel_row;
mod wire_contact;
mod wires;

pub use bar::{
    BarError, BarRequest, BoringBar, RoundBlank, SettingGauge, boring_bar, largest_bar_mm,
    round_blank, setting_gauge,
};
pub use cautions::{About, CAUTIONS, Caution, Refusal, UseOfThread, cautions_for};
pub use dial::{Dial, DialReading, DialReads, DialUnit};
pub use gauges::{GaugeError, NutGauges, PlugGauge, ToothThickness, nut_gauges, tooth_thickness};
pub use gears::{
    GearError, GearRequest, Gears, HalfNuts, Indexing, Train, find_trains, half_nuts, indexing,
    ppm, train_notices, unusually_fine, why_no_train,
};
pub use groove::{Groove, GrooveError, WallPoint};
pub use ground::{
    GroundCheck, GroundError, GroundTool, TOOL_WILL_NOT_FIT, check_ground_tool, groove_cut_by,
};
pub use material::{ToolHolding, WorkMaterial, cutting_force_n};
pub use mating::{
    FlankGap, GapPoint, Mating, MatingError, axial_play_mm, axial_play_offset_mm, mate,
    play_lost_to_lead_mm,
};
pub use mesh::Bracket;
pub use notice::{Notice, Provenance};
pub use nut::{Doubt, NutDesign, design_nut};
pub use nut_request::{NutError, NutKind, NutRequest, Workmanship, crest_clearance_mm};
pub use passes::{
    Feed, Pass, PassError, PassPlan, PassRequest, PassRule, USUAL_BENDING_MM, plan_passes,
    root_series,
};
pub use play::PlayPoint;
pub use pressure::{FlankPressure, NutMaterial, flank_pressure};
pub use replica::{CastMaterial, ReplicaError, form_from_cast, screw_for_groove};
pub use screw::{PARAMETER_NAMES, PARAMETERS, ScrewError, ScrewForm};
pub use self_locking::{LEAST_FRICTION, SelfLocking};
pub use setting_out::{
    Centring, CylinderReading, JawMove, JawReadings, SettingOutError, axis_below_face_mm,
    axis_drop_mm, centring, jaw_move,
};
pub use side_faces::{FrontFace, SideCheck};
pub use survey::{
    Findings, READING_U_MM, Reading, Station, Survey, SurveyError, Verdict, evaluate_survey,
    in_per_cent,
};
pub use survey_csv::{SurveyTextError, parse_survey};
pub use tool::{
    Stance, ToolError, ToolFor, ToolForm, ToolSetting, ToolSide, Turned, normal_plane_angle_deg,
    relief_normal_to_flank_deg, tool_for_nut, tool_for_screw,
};
pub use tool_words::{ToolSection, Turn};
pub use try_on::{Opening, TryOn};
pub use wheel_list::{WheelListError, wheel_list};
pub use wheel_row::{WheelDoes, WheelPlace, wheel_row};
pub use wires::{
    OverWires, WireError, WireThread, best_wire_mm, over_wires, pitch_diameter_from_wires,
};
