//! Everything a picture depends on.

use crate::plane::{Homography, Mapping};
use crate::rod::{self, Silhouette};
use form::{Thread, View};
use thiserror::Error;

/// Longest side a picture may have, px.
const LARGEST_SIDE_PX: u32 = 20_000;
/// Widest blur, px.
const WIDEST_BLUR_PX: f64 = 20.0;
/// Most specks or burrs.
const MOST_SPECKS: u32 = 20_000;

/// Why a scene cannot be cast.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SceneError {
    /// A side of the picture is empty or too long.
    #[error("{side} of {value} px is outside 1 to {LARGEST_SIDE_PX} px")]
    Size {
        /// `"width"` or `"height"`.
        side: &'static str,
        /// Value given, px.
        value: u32,
    },
    /// A number outside its limits.
    #[error("{what} {value} is outside {least} to {most}")]
    Number {
        /// Name of the field.
        what: &'static str,
        /// Value given.
        value: f64,
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        most: f64,
    },
    /// The eye is inside or too near what it looks at.
    #[error(
        "the eye, {distance_mm:.1} mm from the axis, is nearer than {least_mm:.1} mm to {what}"
    )]
    EyeTooNear {
        /// What it is near to.
        what: &'static str,
        /// Distance of the eye from the plane through the axis, mm.
        distance_mm: f64,
        /// Least distance, mm.
        least_mm: f64,
    },
    /// The wall or the lens sends part of the scene to infinity or folds it over.
    #[error("wall or lens turn part of the picture over; use a smaller keystone or lens term")]
    Folded,
}

/// Shape of a reference bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BarShape {
    /// A rod: what the eye sees are its tangents, not its diameter.
    Round,
    /// A strip whose two edges lie in one plane.
    Flat,
}

/// A reference bar of known width beside the screw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Rod or strip.
    pub shape: BarShape,
    /// Diameter of a rod, width of a strip, mm.
    pub width_mm: f64,
    /// Length, mm.
    pub length_mm: f64,
    /// How much farther from the eye than the screw's axis the rod's axis, or the strip's plane,
    /// lies, mm.
    pub drop_mm: f64,
    /// Middle of the bar `(z, x)` in the axis frame, mm.
    pub centre_mm: (f64, f64),
    /// Direction of the bar from the direction of the axis, radians, counterclockwise as seen.
    pub roll_rad: f64,
}

impl Bar {
    /// Drop of a bar that lies on the same flat surface as a screw of this major diameter, mm: for
    /// a rod the difference of the radii, for a strip (its edges on the surface) the screw's
    /// radius.
    #[must_use]
    pub fn same_surface_drop_mm(shape: BarShape, width_mm: f64, major_diameter_mm: f64) -> f64 {
        match shape {
            BarShape::Round => 0.5 * (major_diameter_mm - width_mm),
            BarShape::Flat => 0.5 * major_diameter_mm,
        }
    }

    /// What the eye sees of the bar in the axis plane. `None` when the eye is inside it.
    #[must_use]
    pub fn silhouette(&self, view: &View) -> Option<Silhouette> {
        let (sin, cos) = self.roll_rad.sin_cos();
        let (half_length, half_width) = (0.5 * self.length_mm, 0.5 * self.width_mm);
        let at = |along: f64, across: f64| {
            let z = self.centre_mm.0 + along * cos - across * sin;
            let x = self.centre_mm.1 + along * sin + across * cos;
            [x, self.drop_mm, z]
        };
        match self.shape {
            BarShape::Round => {
                rod::silhouette(view, at(-half_length, 0.0), at(half_length, 0.0), half_width)
            }
            BarShape::Flat => {
                let corner = |along, across| view.project_untilted(at(along, across));
                let upper = [corner(-half_length, half_width), corner(half_length, half_width)];
                let lower = [corner(-half_length, -half_width), corner(half_length, -half_width)];
                let outline = vec![upper[0], upper[1], lower[1], lower[0]];
                Some(Silhouette { outline, edges: [upper, lower] })
            }
        }
    }
}

/// A plain round part of the screw beyond the thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shank {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Length beyond the end of the thread, mm.
    pub length_mm: f64,
    /// On the right end of the thread; otherwise on the left.
    pub right: bool,
}

/// Something else in the picture, given in the axis plane, `(z, x)` in mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Blob {
    /// A round shadow.
    Disc {
        /// Middle, mm.
        centre_mm: (f64, f64),
        /// Radius, mm.
        radius_mm: f64,
    },
    /// Any closed polygon that does not cross itself.
    Polygon(Vec<(f64, f64)>),
}

/// Metal lost from the flanks by use.
///
/// A nut wears a flank over its whole height, so a worn flank is modelled as the unworn piece of
/// the *outline* moved along the axis into the metal, by the same amount at every height; crest
/// and root keep their lines. The loss is greatest at `centre_mm` and falls off to both sides as a
/// Gaussian of `reach_mm`, as the busy stretch of a feed screw does; each tooth departs from that
/// by its own random `scatter`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wear {
    /// Greatest loss along the axis of right and left flanks, mm.
    pub deepest_mm: [f64; 2],
    /// Where the loss is greatest, along the axis, mm.
    pub centre_mm: f64,
    /// Standard deviation of the fall-off along the axis, mm.
    pub reach_mm: f64,
    /// Standard deviation of a tooth's loss, as a fraction of the loss at its place.
    pub scatter: f64,
}

/// Dust and chips.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Dirt {
    /// Specks anywhere in the picture, dark on the light ground, pale on the dark metal.
    pub specks: u32,
    /// Dark specks that stick to the outline of the thread.
    pub on_outline: u32,
    /// Greatest diameter of a speck, mm.
    pub largest_mm: f64,
    /// Burrs standing out of the outline of the thread.
    pub burrs: u32,
    /// Greatest height of a burr, mm.
    pub burr_mm: f64,
}

/// A shadow's outline traced with a pencil, photographed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pencil {
    /// Mean width of the stroke, mm.
    pub stroke_mm: f64,
    /// Standard deviation of the hand's departure from the outline in each direction, mm.
    pub wobble_mm: f64,
    /// Length along the line over which the hand wanders, mm.
    pub wobble_length_mm: f64,
    /// Part of the light a stroke takes away, 0 to 1.
    pub darkness: f64,
    /// How much width and darkness vary along the line, as a fraction of each.
    pub unevenness: f64,
}

impl Default for Pencil {
    fn default() -> Self {
        Self {
            stroke_mm: 0.09,
            wobble_mm: 0.012,
            wobble_length_mm: 1.5,
            darkness: 0.75,
            unevenness: 0.25,
        }
    }
}

/// What is photographed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drawn {
    /// The shadow itself.
    Shadow,
    /// A pencilled trace of it.
    Pencil(Pencil),
}

/// The light, in linear units where 1 is the brightest the picture can hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Light {
    /// Light of the open ground in the middle of the picture; above 1 it is overexposed.
    pub bright: f64,
    /// Light that comes from the shadow itself.
    pub dark: f64,
    /// Change of the ground from the middle to the right and to the upper border, as fractions.
    pub slope: [f64; 2],
    /// Fraction of the ground's light lost in the corners (it grows with the square of the
    /// distance from the middle).
    pub falloff: f64,
    /// Colour of the light: red, green and blue are multiplied by these.
    pub tint: [f64; 3],
}

impl Light {
    /// Even white light.
    pub const EVEN: Self =
        Self { bright: 0.8, dark: 0.03, slope: [0.0; 2], falloff: 0.0, tint: [1.0; 3] };
}

/// Noise, added in linear light. Its variance is `read² + shot × light`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Noise {
    /// Standard deviation in the dark, as a fraction of the brightest light.
    pub read: f64,
    /// Variance per unit of light.
    pub shot: f64,
    /// Gaussian standard deviation, px, over which neighbouring pixels share their noise; 0 is
    /// white. The variance of a pixel does not depend on it.
    pub grain_px: f64,
    /// Each colour has noise of its own; otherwise all share one.
    pub coloured: bool,
}

impl Noise {
    /// No noise.
    pub const NONE: Self = Self { read: 0.0, shot: 0.0, grain_px: 0.0, coloured: false };

    /// White noise of one standard deviation at every brightness.
    #[must_use]
    pub fn white(sigma: f64) -> Self {
        Self { read: sigma, ..Self::NONE }
    }

    pub(crate) fn is_none(&self) -> bool {
        self.read == 0.0 && self.shot == 0.0
    }
}

/// A scene: thread, view, bar, light, and what the camera makes of them.
///
/// From the axis plane to the picture: turned by `roll_rad`, put on the `wall`, flipped left to
/// right if `mirrored`, scaled by `px_per_mm` and moved so that the origin falls on `centre_px`,
/// bent by the lens.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// The thread. A tapered one has its diameters in the middle of the visible length.
    pub thread: Thread,
    /// Length of thread shown, mm, from `-length_mm / 2` to `length_mm / 2` in the axis plane; its
    /// shadow is cut off square there.
    pub length_mm: f64,
    /// Position of a crest centre in the meridian of the upper edge, mm.
    pub phase_mm: f64,
    /// Where the eye (camera, lamp, projector lens) stands.
    pub view: View,
    /// Roll of the axis in the picture, radians, counterclockwise as seen.
    pub roll_rad: f64,
    /// Scale in the axis plane, before wall and lens, px/mm.
    pub px_per_mm: f64,
    /// Width of the picture, px.
    pub width_px: u32,
    /// Height of the picture, px.
    pub height_px: u32,
    /// Where the origin of the axis plane lies, px.
    pub centre_px: (f64, f64),
    /// The reference bar.
    pub bar: Option<Bar>,
    /// A plain part of the screw.
    pub shank: Option<Shank>,
    /// Other things in the picture.
    pub others: Vec<Blob>,
    /// The shadow or a trace of it.
    pub drawn: Drawn,
    /// Light.
    pub light: Light,
    /// Gaussian blur, standard deviation, px; the extent of a pixel comes on top of it.
    pub blur_px: f64,
    /// Noise.
    pub noise: Noise,
    /// Dust, chips and burrs.
    pub dirt: Dirt,
    /// Wear of the flanks.
    pub wear: Option<Wear>,
    /// The surface the shadow falls on, or the paper as the camera sees it: a plane homography of
    /// the rolled axis plane, mm to mm.
    pub wall: Homography,
    /// Radial distortion of the lens: a point at `r` half diagonals from the middle of the picture
    /// is imaged at `r (1 + lens_k1 r²)`.
    pub lens_k1: f64,
    /// Light thread on dark ground.
    pub inverted: bool,
    /// The picture shows the shadow from behind.
    pub mirrored: bool,
    /// Everything random follows from this.
    pub seed: u64,
}

impl Scene {
    /// A plain scene: parallel light, eight teeth or so in the middle of a picture of 1600 by 1200
    /// px, no bar, no noise, blur of 1 px.
    #[must_use]
    pub fn of(thread: Thread) -> Self {
        let length_mm = 8.0 * thread.section().pitch_mm();
        let (width_px, height_px) = (1600, 1200);
        let scale = (0.8 * f64::from(width_px) / length_mm)
            .min(0.8 * f64::from(height_px) / thread.major_diameter_mm());
        Self {
            thread,
            length_mm,
            phase_mm: 0.0,
            view: View::PARALLEL,
            roll_rad: 0.0,
            px_per_mm: scale,
            width_px,
            height_px,
            centre_px: (800.0, 600.0),
            bar: None,
            shank: None,
            others: Vec::new(),
            drawn: Drawn::Shadow,
            light: Light::EVEN,
            blur_px: 1.0,
            noise: Noise::NONE,
            dirt: Dirt::default(),
            wear: None,
            wall: Homography::IDENTITY,
            lens_k1: 0.0,
            inverted: false,
            mirrored: false,
            seed: 0,
        }
    }

    /// The way from the axis plane to the picture.
    #[must_use]
    pub fn mapping(&self) -> Mapping {
        Mapping::of(self)
    }

    /// The 35 mm-equivalent focal length a camera at the eye would write for this field of view, by
    /// the diagonal; `None` for parallel light.
    #[must_use]
    pub fn focal_35mm(&self) -> Option<f64> {
        let diagonal_mm =
            f64::from(self.width_px).hypot(f64::from(self.height_px)) / self.px_per_mm;
        Some(self.view.distance_mm()? * 36f64.hypot(24.0) / diagonal_mm)
    }

    /// Whether roll or mirror make the axis point to the left of the picture.
    #[must_use]
    pub fn points_left(&self) -> bool {
        (self.roll_rad.cos() < 0.0) != self.mirrored
    }

    /// Flank angles, radians, right and left of a crest as the picture shows them on its upper
    /// edge: those of the section exchanged when the axis [points left](Self::points_left).
    #[must_use]
    pub fn flanks_in_picture_rad(&self) -> (f64, f64) {
        let section = self.thread.section();
        let (right, left) = (section.right_flank_rad(), section.left_flank_rad());
        if self.points_left() { (left, right) } else { (right, left) }
    }

    /// Refuses what cannot be cast.
    pub(crate) fn check(&self) -> Result<(), SceneError> {
        for (side, value) in [("width", self.width_px), ("height", self.height_px)] {
            if !(1..=LARGEST_SIDE_PX).contains(&value) {
                return Err(SceneError::Size { side, value });
            }
        }
        let pitch = self.thread.section().pitch_mm();
        let bar = self.bar;
        let wear = self.wear.unwrap_or(Wear {
            deepest_mm: [0.0; 2],
            centre_mm: 0.0,
            reach_mm: 1.0,
            scatter: 0.0,
        });
        let pencil = match self.drawn {
            Drawn::Pencil(pencil) => pencil,
            Drawn::Shadow => Pencil::default(),
        };
        for (what, value, least, most) in [
            ("length_mm", self.length_mm, 0.01 * pitch, 2000.0 * pitch),
            ("phase_mm", self.phase_mm, -1e6, 1e6),
            ("px_per_mm", self.px_per_mm, 1e-3, 1e5),
            ("centre_px.0", self.centre_px.0, -1e6, 1e6),
            ("centre_px.1", self.centre_px.1, -1e6, 1e6),
            ("roll_rad", self.roll_rad, -100.0, 100.0),
            ("view.tilt_rad", self.view.tilt_rad, -0.5, 0.5),
            ("view.inverse_distance_per_mm", self.view.inverse_distance_per_mm, 0.0, 1.0),
            ("view.foot_x_mm", self.view.foot_x_mm, -1e4, 1e4),
            ("view.foot_z_mm", self.view.foot_z_mm, -1e4, 1e4),
            ("blur_px", self.blur_px, 0.0, WIDEST_BLUR_PX),
            ("noise.read", self.noise.read, 0.0, 1.0),
            ("noise.shot", self.noise.shot, 0.0, 1.0),
            ("noise.grain_px", self.noise.grain_px, 0.0, WIDEST_BLUR_PX),
            ("lens_k1", self.lens_k1, -0.3, 0.3),
            ("dirt.specks", f64::from(self.dirt.specks), 0.0, f64::from(MOST_SPECKS)),
            ("dirt.on_outline", f64::from(self.dirt.on_outline), 0.0, f64::from(MOST_SPECKS)),
            ("dirt.burrs", f64::from(self.dirt.burrs), 0.0, f64::from(MOST_SPECKS)),
            ("dirt.largest_mm", self.dirt.largest_mm, 0.0, 10.0 * pitch),
            ("dirt.burr_mm", self.dirt.burr_mm, 0.0, pitch),
            ("light.bright", self.light.bright, 0.0, 10.0),
            ("light.dark", self.light.dark, 0.0, 10.0),
            ("light.falloff", self.light.falloff, -1.0, 1.0),
            ("wear.deepest_mm right", wear.deepest_mm[0], 0.0, 0.5 * pitch),
            ("wear.deepest_mm left", wear.deepest_mm[1], 0.0, 0.5 * pitch),
            ("wear.reach_mm", wear.reach_mm, 1e-3, 1e6),
            ("pencil.stroke_mm", pencil.stroke_mm, 1e-4, 10.0),
            ("pencil.wobble_mm", pencil.wobble_mm, 0.0, 10.0),
            ("pencil.wobble_length_mm", pencil.wobble_length_mm, 1e-3, 1e4),
            ("pencil.darkness", pencil.darkness, 0.0, 1.0),
            ("pencil.unevenness", pencil.unevenness, 0.0, 1.0),
            ("bar.width_mm", bar.map_or(1.0, |b| b.width_mm), 1e-3, 1e4),
            ("bar.length_mm", bar.map_or(1.0, |b| b.length_mm), 1e-3, 1e5),
            ("bar.drop_mm", bar.map_or(0.0, |b| b.drop_mm), -1e4, 1e4),
        ] {
            // Written so that NaN is refused as well.
            if !(value >= least && value <= most) {
                return Err(SceneError::Number { what, value, least, most });
            }
        }
        self.check_eye()
    }

    fn check_eye(&self) -> Result<(), SceneError> {
        let Some(distance_mm) = self.view.distance_mm() else { return Ok(()) };
        let reach = 0.5 * self.length_mm * self.view.tilt_rad.sin().abs();
        let mut nearest = vec![("the screw", 0.55 * self.thread.major_diameter_mm() + reach)];
        if let Some(bar) = self.bar {
            nearest.push(("the bar", 0.55 * bar.width_mm - bar.drop_mm));
        }
        if let Some(shank) = self.shank {
            nearest.push(("the shank", 0.55 * shank.diameter_mm + reach));
        }
        for (what, least_mm) in nearest {
            if distance_mm <= least_mm {
                return Err(SceneError::EyeTooNear { what, distance_mm, least_mm });
            }
        }
        Ok(())
    }
}
