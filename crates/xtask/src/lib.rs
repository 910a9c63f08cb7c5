//! What a package holds beside the program: man pages, completions, the Debian package itself.
//!
//! This crate must know nothing of threads: it reads the command line, and copies files.

mod deb;
mod paperwork;

pub use deb::package;
pub use paperwork::{completions, man};
