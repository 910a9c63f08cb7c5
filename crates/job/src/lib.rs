//! A job: what was entered, what was clicked, which picture, which choices; its file; and what
//! follows from it.
//!
//! This crate must know nothing of windows, command lines or screens. The one idea it carries: a
//! [`Job`] is plain data, and [`Findings`] are a pure function of a job and the bytes of its
//! picture. Undo, autosave, batch runs and tests follow from that for nothing.

mod asked;
mod clicked;
mod evaluate;
mod file;
mod findings;
mod history;
mod identity;
mod job;
mod journal;
mod machine;
mod record;
mod save;
mod template;
mod worksheet;
mod workshop;

pub use asked::asked;
pub use evaluate::{Kept, Loaded, Progress, Stopped, evaluate, nut_for, screw_of, tool_for};
pub use file::{FormatError, SCHEMA, from_text, names_of, to_text};
pub use findings::{Findings, Part, Remark};
pub use history::History;
pub use identity::{
    Disagreement, Estimate, Identity, ROUNDINGS, ReadingFound, ReadingSaid, RoundingOffer,
    Standing, StartsFound, identify,
};
pub use job::{
    BarSaid, Duty, Flank, Job, NutSaid, PaperSaid, PictureRef, PointSaid, SheetsSaid, ThreadSaid,
    ToolFor, USUAL_PLAY_MM,
};
pub use journal::{Journal, Recovered, state_folder};
pub use machine::{ChecksSaid, FormSaid, PassesSaid, SurveySaid, WheelsSaid};
pub use record::{CandidateRecord, Record};
pub use save::{SaveError, backup_of, load, save, sha256_of, sha256_of_file, write_whole};
pub use template::{TemplateError, export, info, template};
pub use worksheet::{Bar, passes, worksheet};
pub use workshop::Cutting;
