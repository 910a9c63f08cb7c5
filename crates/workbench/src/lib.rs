//! The window and the command line; the only crate that knows egui or clap.
