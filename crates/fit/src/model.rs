//! The whole model of a picture: screw, view, bar, and how the plane of the shadow lies in pixels.

use crate::known::BarShape;
use crate::params::{Param, Params};
use form::shadow::{Edge, Outline, Placer, outline_within};
use form::{Profile, Section, SectionNumbers, View};
use std::f64::consts::TAU;
use std::ops::RangeInclusive;

/// Taper on the diameter beyond which nothing is a screw.
const STEEPEST_TAPER: f64 = 0.4;

/// What stays fixed while parameters move.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// A point near the middle of the thread, px: the origin along the axis.
    pub pivot: (f64, f64),
    /// First estimate of the axis direction in pixels, unit, pointing right.
    pub axis: (f64, f64),
    /// First estimate of the bar's direction in pixels, unit.
    pub bar_axis: (f64, f64),
    /// Centre of the picture, px.
    pub centre: (f64, f64),
    /// Half the diagonal of the picture, px.
    pub half_diagonal: f64,
    /// Shape of the bar.
    pub bar_shape: BarShape,
    /// Signed number of starts: lead = starts × pitch, negative for a right-hand thread.
    pub signed_starts: f64,
}

/// The model at one set of parameters.
#[derive(Debug, Clone)]
pub struct Model {
    /// The frame.
    pub frame: Frame,
    /// The section as a curve.
    pub profile: Profile,
    /// Advance per radian, signed, mm.
    pub advance: f64,
    /// Crest position, mm.
    pub phase: f64,
    /// The view.
    pub view: View,
    /// Plane to pixels.
    pub map: Map,
}

impl Model {
    /// Builds the model; `None` where the parameters make no screw.
    pub fn new(p: &Params, frame: &Frame) -> Option<Self> {
        // A flank cannot lean over its own groove: a search that tries is turned round.
        let (right, left) = (p[Param::TanRight].abs().atan(), p[Param::TanLeft].abs().atan());
        let sharp = Section::new(SectionNumbers {
            pitch_mm: p[Param::Pitch],
            depth_mm: p[Param::Depth],
            right_flank_rad: right,
            left_flank_rad: left,
            crest_flat_mm: p[Param::CrestFlat],
            ..SectionNumbers::default()
        })
        .ok()?;
        let rounded = |fraction: f64, flat: f64| folded(fraction) * sharp.largest_radius_mm(flat);
        let section = Section::new(SectionNumbers {
            crest_radius_mm: rounded(p[Param::CrestRound], sharp.crest_flat_mm()),
            root_radius_mm: rounded(p[Param::RootRound], sharp.root_flat_mm()),
            ..sharp.numbers()
        })
        .ok()?;
        let crest_r = p[Param::CrestR];
        let (inverse, tilt) = (p[Param::InverseDistance], p[Param::Tilt]);
        let exists = crest_r > 1.01 * section.depth_mm()
            && p[Param::Scale] > 0.0
            && (-1e-4..0.6 / crest_r).contains(&inverse)
            && tilt.abs() < 0.35
            && p[Param::Taper].abs() < STEEPEST_TAPER
            && p[Param::BarWidth] > 0.0;
        exists.then(|| Self {
            frame: *frame,
            profile: Profile::new(&section, crest_r).on_cone(0.5 * p[Param::Taper]),
            advance: frame.signed_starts * p[Param::Pitch] / TAU,
            phase: p[Param::Phase],
            view: View {
                inverse_distance_per_mm: inverse,
                foot_x_mm: p[Param::FootX],
                foot_z_mm: p[Param::FootZ],
                tilt_rad: tilt,
            },
            map: Map::new(p, frame),
        })
    }

    /// One edge of the shadow over some grooves, in the plane.
    pub fn outline(&self, edge: Edge, grooves: RangeInclusive<i32>, tolerance_mm: f64) -> Outline {
        outline_within(
            &self.profile,
            self.advance,
            self.phase,
            &self.view,
            edge,
            grooves,
            tolerance_mm,
        )
    }

    /// Places sites of one edge in the plane.
    pub fn placer(&self, edge: Edge) -> Placer<'_> {
        Placer::new(&self.profile, self.advance, self.phase, &self.view, edge)
    }

    /// Grooves of an edge that cover `z` from `from` to `to` in the plane.
    pub fn grooves(&self, edge: Edge, from: f64, to: f64) -> RangeInclusive<i32> {
        let pitch = self.profile.section().pitch_mm();
        // A crest is seen near, not at, its place in the meridian: find where crest 0 shows.
        let probe = self.outline(edge, 0..=0, 0.01);
        let at = probe.vertices.first().map_or(self.phase, |v| v.z);
        let first = ((from - at) / pitch).floor() as i32 - 1;
        let last = ((to - at) / pitch).ceil() as i32;
        first..=last.max(first)
    }
}

/// A fraction folded back into 0 to 1, so that a search that oversteps a bound is turned round there
/// and not stopped: 1.1 means 0.9, -0.2 means 0.2.
pub fn folded(fraction: f64) -> f64 {
    let f = fraction.rem_euclid(2.0);
    if f > 1.0 { 2.0 - f } else { f }
}

/// From the plane through the axis to pixels: keystone, similarity, lens.
#[derive(Debug, Clone, Copy)]
pub struct Map {
    pivot: (f64, f64),
    /// Axis direction in px, unit.
    pub axis: (f64, f64),
    /// Up, square to the axis, in px, unit.
    pub up: (f64, f64),
    scale: f64,
    axis_x: f64,
    keystone: (f64, f64),
    aspect: f64,
    shear: f64,
    lens: f64,
    centre: (f64, f64),
    half_diagonal: f64,
}

impl Map {
    fn new(p: &Params, frame: &Frame) -> Self {
        let (sin, cos) = p[Param::Roll].sin_cos();
        let (ax, ay) = frame.axis;
        // Positive roll lifts the right end: pixels count downwards.
        let axis = (ax * cos + ay * sin, ay * cos - ax * sin);
        Self {
            pivot: frame.pivot,
            axis,
            up: (axis.1, -axis.0),
            scale: p[Param::Scale],
            axis_x: p[Param::AxisX],
            keystone: (p[Param::KeystoneZ], p[Param::KeystoneX]),
            aspect: 1.0 + p[Param::Aspect],
            shear: p[Param::Shear],
            lens: p[Param::Lens],
            centre: frame.centre,
            half_diagonal: frame.half_diagonal,
        }
    }

    /// Plane `(z, x)` in mm to pixels.
    pub fn px_of(&self, z: f64, x: f64) -> (f64, f64) {
        let w = 1.0 + self.keystone.0 * z + self.keystone.1 * x;
        let along = self.scale * (z * self.aspect + x * self.shear) / w;
        let across = self.scale * (x / w + self.axis_x);
        let ideal = (
            self.pivot.0 + along * self.axis.0 + across * self.up.0,
            self.pivot.1 + along * self.axis.1 + across * self.up.1,
        );
        if self.lens == 0.0 {
            return ideal;
        }
        let (dx, dy) = (ideal.0 - self.centre.0, ideal.1 - self.centre.1);
        let factor = 1.0 + self.lens * (dx * dx + dy * dy) / self.half_diagonal.powi(2);
        (self.centre.0 + dx * factor, self.centre.1 + dy * factor)
    }

    /// Pixels to plane `(z, x)` in mm.
    pub fn plane_of(&self, (u, v): (f64, f64)) -> (f64, f64) {
        let (mut iu, mut iv) = (u, v);
        if self.lens != 0.0 {
            for _ in 0..4 {
                let (dx, dy) = (iu - self.centre.0, iv - self.centre.1);
                let factor = 1.0 + self.lens * (dx * dx + dy * dy) / self.half_diagonal.powi(2);
                iu = self.centre.0 + (u - self.centre.0) / factor;
                iv = self.centre.1 + (v - self.centre.1) / factor;
            }
        }
        let (dx, dy) = (iu - self.pivot.0, iv - self.pivot.1);
        let a = (dx * self.axis.0 + dy * self.axis.1) / self.scale;
        let b = (dx * self.up.0 + dy * self.up.1) / self.scale - self.axis_x;
        // a = z / w and b = x / w with w = 1 + kz z + kx x give w = 1 / (1 - kz a - kx b).
        let (a, b) = ((a - self.shear * b) / self.aspect, b);
        let w = 1.0 / (1.0 - self.keystone.0 * a - self.keystone.1 * b);
        (a * w, b * w)
    }

    /// A line of the plane through `(z, x)` with this unit normal, as it lies in the picture: its unit
    /// normal, px, and the pixels per millimetre square to it.
    ///
    /// A leaning plane or a lens keeps no angles: normals go with the inverse transpose of the
    /// derivative, `M⁻ᵀ n`, and the distance of a point near the line, square to its image, is its
    /// distance in the plane over `|M⁻ᵀ n|`. Taking one for the other would pull on what the edges
    /// hardly tell.
    pub fn normal_px(&self, (z, x): (f64, f64), normal: (f64, f64)) -> ((f64, f64), f64) {
        let turned = |(along, across): (f64, f64)| {
            (along * self.axis.0 + across * self.up.0, along * self.axis.1 + across * self.up.1)
        };
        let (kz, kx) = self.keystone;
        let similar =
            kz == 0.0 && kx == 0.0 && self.aspect == 1.0 && self.shear == 0.0 && self.lens == 0.0;
        if similar {
            return (turned(normal), self.scale);
        }
        let w = 1.0 + kz * z + kx * x;
        let stretched = (z * self.aspect + x * self.shear) / w;
        let by_z =
            turned((self.scale * (self.aspect - stretched * kz) / w, -self.scale * x / w * kz / w));
        let by_x = turned((
            self.scale * (self.shear - stretched * kx) / w,
            self.scale * (1.0 - x / w * kx) / w,
        ));
        let (by_z, by_x) = if self.lens == 0.0 {
            (by_z, by_x)
        } else {
            let (along, across) = (self.scale * stretched, self.scale * (x / w + self.axis_x));
            let (u, v) = turned((along, across));
            let (dx, dy) = (self.pivot.0 + u - self.centre.0, self.pivot.1 + v - self.centre.1);
            let k = self.lens / self.half_diagonal.powi(2);
            let factor = 1.0 + k * (dx * dx + dy * dy);
            let bent = |(a, b): (f64, f64)| {
                let radial = 2.0 * k * (dx * a + dy * b);
                (factor * a + radial * dx, factor * b + radial * dy)
            };
            (bent(by_z), bent(by_x))
        };
        let determinant = by_z.0 * by_x.1 - by_z.1 * by_x.0;
        let (a, b) = (
            (by_x.1 * normal.0 - by_z.1 * normal.1) / determinant,
            (by_z.0 * normal.1 - by_x.0 * normal.0) / determinant,
        );
        let size = a.hypot(b);
        ((a / size, b / size), 1.0 / size)
    }

    /// Pixels per millimetre at a place of the plane, as its lean alone makes them (geometric mean over
    /// directions; stretch, shear and lens are left out): good enough for how wide a blur is.
    pub fn px_per_mm_at(&self, z: f64, x: f64) -> f64 {
        let w = 1.0 + self.keystone.0 * z + self.keystone.1 * x;
        self.scale / (w * w.sqrt())
    }
}

/// Direction of the bar in the plane and the offsets of its two seen edges, square to it, mm.
#[derive(Debug, Clone, Copy)]
pub struct BarLines {
    /// Unit direction `(z, x)`.
    pub along: (f64, f64),
    /// Unit normal `(z, x)`.
    pub across: (f64, f64),
    /// Offsets of the two edges along `across`, the larger first.
    pub offsets: [f64; 2],
}

impl Model {
    /// The bar's two edges as seen.
    ///
    /// A rod of radius `ρ` shows its tangents from the eye: with the eye's foot a distance `Δ` from
    /// the rod's axis and the rod dropped by `h - d`, they meet the plane at
    /// `d tan(β ± η)`, `tan β = Δ / h`, `sin η = ρ / √(Δ² + h²)`. Written with `1/d` so that it stays
    /// regular for parallel light.
    pub fn bar_lines(&self, p: &Params) -> BarLines {
        let (bx, by) = self.frame.bar_axis;
        // First estimate of the bar's direction, in plane axes, then turned.
        let z = bx * self.frame.axis.0 + by * self.frame.axis.1;
        let x = bx * self.frame.axis.1 - by * self.frame.axis.0;
        let (sin, cos) = (p[Param::BarAngle] - p[Param::Roll]).sin_cos();
        let along = (z * cos - x * sin, z * sin + x * cos);
        let across = (-along.1, along.0);
        // The offset is counted from the pivot, which lies at x = -axis_x in the plane.
        let pivot = -p[Param::AxisX] * across.1;
        let centre = p[Param::BarOffset] + pivot;
        let half = 0.5 * p[Param::BarWidth];
        let q = p[Param::InverseDistance];
        let foot = p[Param::FootZ] * across.0 + p[Param::FootX] * across.1;
        let near = 1.0 + q * p[Param::BarDrop];
        let delta = centre - foot;
        let offsets = match self.frame.bar_shape {
            BarShape::Flat => [foot + (delta + half) / near, foot + (delta - half) / near],
            BarShape::Round => {
                let t_beta = delta / near;
                let t_eta =
                    half / (q * q * (delta * delta - half * half) + near * near).max(1e-9).sqrt();
                let product = q * q * t_beta * t_eta;
                [
                    foot + (t_beta + t_eta) / (1.0 - product),
                    foot + (t_beta - t_eta) / (1.0 + product),
                ]
            }
        };
        BarLines { along, across, offsets }
    }
}
