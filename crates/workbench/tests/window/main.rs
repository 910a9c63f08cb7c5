//! The window, driven by its labels, without a display.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on stops")]

mod assumed;
mod by_name;
mod controls;
mod export;
mod machine;
mod newcomer;
mod pages;
mod picture;
mod plain_words;
mod presses;
mod refused;
mod sizes;
mod support;
mod trouble;
mod units;
mod whole_job;
