//! What a thread is: its axial section, the helicoid it sweeps, and the shadow that casts.
//!
//! This crate must know nothing of files, images, standards or machines. Everything here is
//! geometry, in millimetres and radians unless a name says otherwise, and the [`Quantity`] type in
//! which every number that leaves the program travels.

mod profile;
mod quantity;
mod section;
pub mod shadow;
mod thread;
pub mod units;
mod view;

pub use profile::{Piece, Profile, ProfilePoint};
pub use quantity::{Quantity, Source, decimals_for};
pub use section::{Section, SectionError, SectionNumbers};
pub use thread::{Hand, Thread};
pub use units::Units;
pub use view::{Point3, View};
