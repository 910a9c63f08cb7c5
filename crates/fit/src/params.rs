//! The parameters of the shadow model, by name.

/// One parameter of the model. Lengths in mm in the plane through the axis unless said otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Param {
    /// Pitch, mm.
    Pitch,
    /// Tangent of the right flank angle; of a tapered thread that of the straightened section.
    TanRight,
    /// Tangent of the left flank angle, likewise.
    TanLeft,
    /// Depth, mm.
    Depth,
    /// Crest flat between theoretical corners, mm.
    CrestFlat,
    /// Crest radius as a fraction of the largest that fits.
    CrestRound,
    /// Root radius as a fraction of the largest that fits.
    RootRound,
    /// Half the major diameter, mm; of a tapered thread at the pivot.
    CrestR,
    /// Position of a crest centre along the axis, mm.
    Phase,
    /// Scale, px per mm.
    Scale,
    /// Rotation of the axis in the picture against the first estimate, radians.
    Roll,
    /// Offset of the axis from the pivot, upwards in the picture, mm.
    AxisX,
    /// 1 / distance of the eye, 1/mm.
    InverseDistance,
    /// Foot of the eye across the axis, mm from the axis.
    FootX,
    /// Foot of the eye along the axis, mm from the pivot.
    FootZ,
    /// Tilt of the axis, radians.
    Tilt,
    /// Offset of the bar's axis from the pivot, square to the bar, mm.
    BarOffset,
    /// Direction of the bar against the first estimate, radians.
    BarAngle,
    /// Width of the bar, mm.
    BarWidth,
    /// Drop of the bar below the axis, mm.
    BarDrop,
    /// Keystone along the axis, 1/mm.
    KeystoneZ,
    /// Keystone across the axis, 1/mm.
    KeystoneX,
    /// Stretch of the picture along the axis against across it, as a fraction.
    Aspect,
    /// Shear of the picture along the axis.
    Shear,
    /// Radial lens distortion at the corner of the picture, as a fraction.
    Lens,
    /// Taper: change of diameter per length along the axis, positive when the right end is thicker.
    Taper,
}

/// Number of parameters.
pub const COUNT: usize = 26;

impl Param {
    /// All parameters in order.
    pub const ALL: [Self; COUNT] = [
        Self::Pitch,
        Self::TanRight,
        Self::TanLeft,
        Self::Depth,
        Self::CrestFlat,
        Self::CrestRound,
        Self::RootRound,
        Self::CrestR,
        Self::Phase,
        Self::Scale,
        Self::Roll,
        Self::AxisX,
        Self::InverseDistance,
        Self::FootX,
        Self::FootZ,
        Self::Tilt,
        Self::BarOffset,
        Self::BarAngle,
        Self::BarWidth,
        Self::BarDrop,
        Self::KeystoneZ,
        Self::KeystoneX,
        Self::Aspect,
        Self::Shear,
        Self::Lens,
        Self::Taper,
    ];

    /// How far back on the way from screw to pixel a change of the parameter reaches.
    pub fn touches(self) -> Stage {
        match self {
            Self::BarOffset | Self::BarAngle | Self::BarWidth | Self::BarDrop => Stage::Bar,
            Self::Scale
            | Self::Roll
            | Self::AxisX
            | Self::KeystoneZ
            | Self::KeystoneX
            | Self::Aspect
            | Self::Shear
            | Self::Lens => Stage::Pixels,
            Self::InverseDistance | Self::FootX | Self::FootZ | Self::Tilt => Stage::Plane,
            _ => Stage::Surface,
        }
    }

    /// A step over which the model is as good as straight, in the unit of the parameter: large
    /// enough for differences not to drown in rounding.
    pub fn difference_step(self) -> f64 {
        match self {
            Self::TanRight | Self::TanLeft | Self::CrestRound | Self::RootRound => 1e-5,
            Self::Roll | Self::Tilt | Self::BarAngle => 1e-6,
            Self::Scale => 1e-4,
            Self::InverseDistance => 1e-7,
            Self::FootX | Self::FootZ => 1e-3,
            Self::KeystoneZ | Self::KeystoneX => 1e-8,
            Self::Aspect | Self::Shear | Self::Lens | Self::Taper => 1e-6,
            _ => 1e-5,
        }
    }
}

/// A place of the screw on its way into the picture, earliest last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Not on it: the parameter is one of the bar's.
    Bar,
    /// From the plane through the axis to pixels.
    Pixels,
    /// From the surface to the plane.
    Plane,
    /// On the surface of the screw.
    Surface,
}

/// A value for every parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Params([f64; COUNT]);

impl Params {
    /// All zero.
    pub const ZERO: Self = Self([0.0; COUNT]);

    /// The same with one parameter moved.
    #[must_use]
    pub fn moved(mut self, param: Param, by: f64) -> Self {
        self[param] += by;
        self
    }
}

impl std::ops::Index<Param> for Params {
    type Output = f64;
    fn index(&self, p: Param) -> &f64 {
        &self.0[p as usize]
    }
}

impl std::ops::IndexMut<Param> for Params {
    fn index_mut(&mut self, p: Param) -> &mut f64 {
        &mut self.0[p as usize]
    }
}
