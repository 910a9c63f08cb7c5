//! A job: what was entered, what was clicked, which picture, which choices; its file; and what
//! follows from it.
//!
//! This crate must know nothing of windows, command lines or screens. The one idea it carries: a
//! [`Job`] is plain data, and [`Findings`] are a pure function of a job and the bytes of its
//! picture. Undo, autosave, batch runs and tests follow from that for nothing.

mod asked;
mod bench_sheet;
mod by_name;
mod chart_sheet;
mod clicked;
mod clock;
mod disk;
mod evaluate;
mod export;
mod file;
mod findings;
mod ground;
mod ground_check;
mod history;
mod identity;
mod job;
mod journal;
mod json_words;
mod machine;
mod merge;
mod must_hold;
mod nut_sheet;
mod record;
mod record_sheet;
mod remembered;
mod save;
mod sheet_set;
mod survey_sheet;
mod template;
mod thumbnail;
mod wheels_sheet;
mod whereabouts;
mod worksheet;
mod workshop;

pub use asked::asked;
pub use bench_sheet::{below_or_above, jaw_move, rounds_to_go};
pub use by_name::{form_of_name, take_name};
pub use chart_sheet::chart_sheet;
pub use clock::{today, when};
pub use disk::{PATIENCE, ReadError, is_there, patiently, read_file, read_text};
pub use evaluate::{
    Kept, Loaded, Progress, READING_NEEDED, Stopped, evaluate, nut_for, screw_of, tool_for,
};
pub use export::{
    ExportTo, SHEET_KINDS, Sheet, export, name_in_files, needs_no_duty, printable, sheet_named,
    sheets_of,
};
pub use file::{FormatError, MOST_OF_TITLE, SCHEMA, from_text, names_of, to_text};
pub use findings::{Findings, Part, Remark};
pub use ground::{GroundFound, ToolPictureError, read_ground_tool};
pub use ground_check::Ground;
pub use history::History;
pub use identity::{
    Disagreement, Estimate, Identity, ROUNDINGS, ReadingFound, ReadingSaid, RoundingOffer,
    Standing, StartsFound, identify,
};
pub use job::{
    BarSaid, Duty, Flank, GroundSaid, Job, NutSaid, PaperSaid, PictureRef, PointSaid, SheetsSaid,
    ThreadSaid, ToolFor, USUAL_PLAY_MM,
};
pub use journal::{Journal, LeftBehind, Recovered, state_folder};
pub use machine::{
    BlankSaid, ChecksSaid, FormSaid, PassesSaid, SurveySaid, TrainSaid, USUAL_WITHIN_MM, WheelsSaid,
};
pub use merge::{Difference, differences, digest, merge};
pub use nut_sheet::nut_sheet;
pub use record::{CandidateRecord, ChoiceRecord, FormRecord, Record};
pub use record_sheet::record_sheet;
pub use remembered::{Memory, PICTURE_AWAY, Remembered};
pub use save::{
    Mark, SaveError, backups_of, load, load_marked, save, save_over, set_aside, sha256_of,
    sha256_of_file, write_whole,
};
pub use sheet_set::{LIST, SetError, Written, write_set};
pub use survey_sheet::{survey_sheet, verdict, verdict_of};
pub use template::{NOBODY_SAID, TemplateError, info, nothing_to_draw, template};
pub use thumbnail::Thumbnail;
pub use wheels_sheet::next_starts;
pub use wheels_sheet::wheels_sheet;
pub use worksheet::worksheet;
pub use worksheet::{dial, dial_read, jaw_depth_mm};
pub use workshop::{Bar, Blank, Cutting, bar_request, gear_request, trains};
