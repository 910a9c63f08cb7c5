//! What a thread is: its axial section, the helicoid it sweeps, and the shadow that casts.
//!
//! This crate must know nothing of files, images, standards or machines. Everything here is
//! geometry, in millimetres and radians unless a name says otherwise, and the [`Quantity`] type in
//! which every number that leaves the program travels.

mod quantity;
mod section;
mod thread;
pub mod units;

pub use quantity::{Quantity, Source, decimals_for};
pub use section::{Section, SectionError, SectionNumbers};
pub use thread::{Hand, Thread};
pub use units::Units;
