//! Casts shadows of known threads as pictures, for tests, benches and the demonstrations.
//!
//! This crate must know nothing of how pictures are read or fitted: it goes from a thread to a
//! picture and never back, so that what the other crates find in its pictures is found, not
//! remembered. Its geometry comes from [`form`]; everything else here is what lies between a
//! shadow and a file: the bar at its true height, wall, lens, blur, light, noise, encoding.
//!
//! # Frames
//! Scenes are laid out in the *axis frame* of [`form::View`]: `z` along the axis, `x` up, `y` away
//! from the eye, millimetres, origin on the axis in the middle of the visible length. Pictures use
//! continuous pixel coordinates, `x` right and `y` **down**; the pixel in column `i` and row `j`
//! covers `[i, i + 1) × [j, j + 1)`, so its centre is `(i + 0.5, j + 0.5)`.

mod cast;
mod coverage;
mod demonstrations;
mod file;
mod light;
mod pencil;
mod plane;
mod random;
mod rod;
mod scene;
mod screw;

pub use cast::{LinearPicture, Picture, ToothLoss, Truth, cast, cast_linear};
pub use demonstrations::{Demonstration, DemonstrationError, demonstrations};
pub use file::{Channels, FileError, JpegOptions, Turned};
pub use plane::{Homography, Mapping};
pub use random::{Difficulty, random_scene};
pub use rod::Silhouette;
pub use scene::{
    Bar, BarShape, Blob, Dirt, Drawn, Light, Noise, Pencil, Scene, SceneError, Shank, Wear,
};
