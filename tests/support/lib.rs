//! What the whole-job tests share: where the project's files are, and how its sources and manifests
//! are read.
//!
//! Nothing may depend on this package; it may know every other. It must not know a display.

#![expect(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "helpers of tests stop the test"
)]

pub mod house;
pub mod licence;
pub mod manifest;
pub mod measurement;
pub mod outputs;
pub mod program;
pub mod shadows;
pub mod source;
pub mod workers;
