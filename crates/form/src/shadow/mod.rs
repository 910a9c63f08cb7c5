//! The shadow a screw casts, found in two independent ways.
//!
//! [`outline`](self::outline()) follows the contour, where the line of sight grazes the surface,
//! and is fast; [`envelope`] takes the greatest height over all meridians, is slow, and is the
//! judge of the other.

mod contour;
pub mod envelope;
mod outline;
mod reading;
mod upper;

pub use contour::Site;
pub use outline::{Edge, Outline, Placer, Segment, Vertex, outline, outline_within};
pub use reading::{StraightReading, read_straight, seen_by_projector};
