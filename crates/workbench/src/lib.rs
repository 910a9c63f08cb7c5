//! The window and the command line.
//!
//! The only crate that knows egui or clap. It must know nothing of geometry, of pictures' insides or
//! of standards beyond showing them: everything it shows is among the findings of a job.

pub mod cli;
pub mod demonstration;
pub mod guard;
pub mod window;
