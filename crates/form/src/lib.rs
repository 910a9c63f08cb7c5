//! What a thread is: its axial section, the helicoid it sweeps, and the shadow that casts.
//!
//! This crate must know nothing of files, images, standards or machines. Everything here is
//! geometry, in millimetres and radians unless a name says otherwise, and the [`Quantity`] type in
//! which every number that leaves the program travels. What is said of numbers is a [`Sentence`], whose
//! lengths are still lengths.

mod profile;
mod quantity;
mod section;
pub mod sentence;
pub mod shadow;
mod thread;
pub mod units;
mod view;

pub use profile::{Piece, Profile, ProfilePoint};
pub use quantity::{Quantity, Source, decimals_for};
pub use section::{Section, SectionError, SectionNumbers};
pub use sentence::{
    Length, Part, Said, Sentence, figure, mm, mm_as_given, mm_doubt, mm_lead, mm_short, mm_with_u,
    outside,
};
pub use thread::{Hand, Thread};
pub use units::Units;
pub use view::{Point3, View};
