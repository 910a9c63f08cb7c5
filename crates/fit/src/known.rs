//! What the person says about a picture, beside the picture itself.

use form::{Hand, Quantity};

/// Shape of the reference bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BarShape {
    /// A rod: what is seen are its tangents from the eye, not its diameter.
    #[default]
    Round,
    /// A plate or strip whose two edges lie in one plane.
    Flat,
}

/// How much farther from the eye than the screw's axis the bar lies.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum BarDrop {
    /// Bar and screw lie on one surface: the drop of a rod's axis is half the difference of the
    /// diameters; a strip's plane is the surface itself.
    #[default]
    SameSurface,
    /// A given drop of the rod's axis or the strip's plane, mm; negative is nearer the eye.
    Given(Quantity),
}

/// What is said about the view.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ViewWanted {
    /// To be found.
    #[default]
    Auto,
    /// Parallel light: a scanner, a profile projector.
    Parallel,
    /// The eye stood this far from the plane through the axis, mm.
    Distance(Quantity),
}

/// Everything said about a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Width of the bar, mm.
    pub bar_width_mm: Quantity,
    /// Shape of the bar.
    pub bar_shape: BarShape,
    /// Where the bar lies.
    pub bar_drop: BarDrop,
    /// The view.
    pub view: ViewWanted,
    /// Major diameter by another instrument, mm.
    pub major_diameter_mm: Option<Quantity>,
    /// Number of starts, when known.
    pub starts: Option<u32>,
    /// Hand, when known.
    pub hand: Option<Hand>,
    /// The picture shows the shadow from behind.
    pub mirrored: bool,
    /// 35 mm-equivalent focal length of the camera: a hint about the distance, never the truth.
    pub focal_35mm: Option<f64>,
}

impl Known {
    /// A round bar on the same surface and nothing else known.
    #[must_use]
    pub fn bar(width_mm: Quantity) -> Self {
        Self {
            bar_width_mm: width_mm,
            bar_shape: BarShape::default(),
            bar_drop: BarDrop::default(),
            view: ViewWanted::default(),
            major_diameter_mm: None,
            starts: None,
            hand: None,
            mirrored: false,
            focal_35mm: None,
        }
    }
}
