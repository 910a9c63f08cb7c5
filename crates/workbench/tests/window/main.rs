//! The window, driven by its labels, without a display.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on stops")]

mod controls;
mod machine;
mod newcomer;
mod pages;
mod picture;
mod support;
mod trouble;
mod whole_job;
