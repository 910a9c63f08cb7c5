//! From a picture file to sub-pixel outlines in pixels: objects, the reference bar's two long
//! edges, a thread's toothed edges. This crate must not know millimetres, thread standards or how
//! a screw casts its shadow; what it finds is where light ends, in the picture.
//!
//! Coordinates are continuous pixels: the centre of the pixel in column `i`, row `j` is
//! `(i + 0.5, j + 0.5)`, x to the right, y **down**, the picture standing as a viewer shows it.
//!
//! ```text
//! open / decode → Grey → trace → Scene → find_bar, find_thread
//!                    └──────────→ snap (one edge near a clicked point)
//! ```

mod background;
mod bar;
mod contour;
mod decode;
mod edges;
mod geometry;
mod grey;
mod jpeg;
mod jpeg_check;
mod least;
mod levels;
mod line;
mod luma;
mod notice;
mod objects;
mod outline;
mod profile;
mod reduce;
mod snap;
mod straight;
mod strokes;
mod teeth;
mod thread;
mod tiff_file;
mod tone;
mod trace;
mod walk;

pub use bar::{ALONE_PX, Bar, TOGETHER_PX, find_bar};
pub use decode::{Limits, Picture, decode, open};
pub use geometry::PixelBox;
pub use grey::{Grey, srgb_to_linear};
pub use notice::{Notice, PictureError};
pub use outline::{EdgePoint, Outline};
pub use snap::snap;
pub use thread::{Thread, find_thread};
pub use tone::Tone;
pub use trace::{Drawn, DrawnWanted, Scene, trace};
