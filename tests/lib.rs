//! What the whole-job tests share: where the project's files are, and how its sources and manifests
//! are read.
//!
//! Nothing may depend on this package; it may know every other. It must not know a display.

#![expect(clippy::expect_used, clippy::panic, reason = "helpers of tests stop the test")]

pub mod house;
pub mod licence;
pub mod manifest;
pub mod source;
