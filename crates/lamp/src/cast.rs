//! From a scene to a picture.

use crate::coverage::{Kernel, Loop, Raster};
use crate::light::{self, Encoder, Illumination};
use crate::pencil::{self, Stroke};
use crate::rod;
use crate::scene::{Blob, Drawn, Noise, Scene, SceneError, Shank};
use crate::screw::Screw;
use form::View;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

pub use crate::screw::ToothLoss;

/// Rows cast at a time: few enough to stay in the cache, many enough that the blur's border is
/// little work.
const BAND_ROWS: usize = 64;
/// How far a plain shank reaches under the thread, mm, so that no light leaks between them.
const SHANK_OVERLAP_MM: f64 = 0.05;

/// What the picture shows, exactly, in pixels.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Truth {
    /// Upper edge of the thread's shadow (the edge of greatest `x`), `z` increasing, without burrs
    /// and without the trembling of a hand.
    pub upper: Vec<(f64, f64)>,
    /// Lower edge, `z` increasing.
    pub lower: Vec<(f64, f64)>,
    /// The bar's two long edges; straight lines but for the lens.
    pub bar_edges: Option<[Vec<(f64, f64)>; 2]>,
    /// Metal lost from each tooth of a worn screw.
    pub losses: Vec<ToothLoss>,
}

/// A picture: 8-bit sRGB, red, green and blue per pixel, row by row from the top.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Width, px.
    pub width_px: u32,
    /// Height, px.
    pub height_px: u32,
    /// `3 × width × height` numbers.
    pub rgb: Vec<u8>,
    /// What is in it.
    pub truth: Truth,
}

/// Linear light before clipping and encoding, one number per pixel, for work on the physical limit.
#[derive(Debug, Clone, PartialEq)]
pub struct LinearPicture {
    /// Width, px.
    pub width_px: u32,
    /// Height, px.
    pub height_px: u32,
    /// `width × height` numbers; 1 is the brightest an encoded picture holds.
    pub light: Vec<f32>,
    /// What is in it.
    pub truth: Truth,
}

/// Casts the scene. The same scene gives the same picture, on however many cores.
///
/// # Errors
/// [`SceneError`] names the first thing that cannot be cast.
pub fn cast(scene: &Scene) -> Result<Picture, SceneError> {
    let (layout, truth) = Layout::of(scene)?;
    let width = scene.width_px as usize;
    let mut rgb = vec![0u8; 3 * width * scene.height_px as usize];
    let encoder = Encoder::new();
    let illumination = Illumination::of(scene);
    rgb.par_chunks_mut(3 * width * BAND_ROWS).enumerate().for_each(|(band, out)| {
        let y0 = (band * BAND_ROWS) as i64;
        let rows = out.len() / (3 * width);
        let open = layout.openness(scene, y0, rows);
        let fields: Vec<Raster> = noise_fields(scene, y0, rows);
        let mut plain = vec![0f32; width];
        let mut light = vec![0f32; width];
        for (row, out) in out.chunks_exact_mut(3 * width).enumerate() {
            illumination.shine(y0 + row as i64, open.row(row), &mut plain);
            for channel in 0..3 {
                let tint = scene.light.tint[channel] as f32;
                for (l, p) in light.iter_mut().zip(&plain) {
                    *l = p * tint;
                }
                if let Some(field) = fields.get(channel).or_else(|| fields.first()) {
                    light::add_noise(&scene.noise, &mut light, field.row(row));
                }
                for (pixel, l) in out.chunks_exact_mut(3).zip(&light) {
                    pixel[channel] = encoder.encode(*l);
                }
            }
        }
    });
    Ok(Picture { width_px: scene.width_px, height_px: scene.height_px, rgb, truth })
}

/// Casts the scene into linear light, with noise but without tint, clipping and encoding.
///
/// # Errors
/// As [`cast`].
pub fn cast_linear(scene: &Scene) -> Result<LinearPicture, SceneError> {
    let (layout, truth) = Layout::of(scene)?;
    let width = scene.width_px as usize;
    let mut light = vec![0f32; width * scene.height_px as usize];
    let illumination = Illumination::of(scene);
    light.par_chunks_mut(width * BAND_ROWS).enumerate().for_each(|(band, out)| {
        let y0 = (band * BAND_ROWS) as i64;
        let rows = out.len() / width;
        let open = layout.openness(scene, y0, rows);
        let fields = noise_fields(scene, y0, rows);
        for (row, out) in out.chunks_exact_mut(width).enumerate() {
            illumination.shine(y0 + row as i64, open.row(row), out);
            if let Some(field) = fields.first() {
                light::add_noise(&scene.noise, out, field.row(row));
            }
        }
    });
    Ok(LinearPicture { width_px: scene.width_px, height_px: scene.height_px, light, truth })
}

fn noise_fields(scene: &Scene, y0: i64, rows: usize) -> Vec<Raster> {
    let Noise { coloured, .. } = scene.noise;
    let channels = if scene.noise.is_none() { 0 } else { 1 + 2 * u64::from(coloured) };
    (0..channels)
        .map(|c| light::normals(&scene.noise, scene.seed, c, y0, rows, scene.width_px as usize))
        .collect()
}

/// Everything of a scene that throws a shadow, in pixels.
struct Layout {
    metal: Vec<Loop>,
    strokes: Vec<Stroke>,
    /// Specks and how much light comes from them.
    specks: Vec<(Loop, f32)>,
}

impl Layout {
    fn of(scene: &Scene) -> Result<(Self, Truth), SceneError> {
        scene.check()?;
        let mapping = scene.mapping();
        let mut rng = Pcg64Mcg::seed_from_u64(scene.seed);
        let screw = Screw::of(scene, &mut rng);
        let bar = match &scene.bar {
            None => None,
            Some(bar) => Some(bar.silhouette(&scene.view).ok_or(SceneError::EyeTooNear {
                what: "the bar",
                distance_mm: scene.view.distance_mm().unwrap_or(f64::INFINITY),
                least_mm: bar.width_mm,
            })?),
        };
        let line = |points: &[(f64, f64)], closed: bool| {
            mapping.polyline(points, closed).ok_or(SceneError::Folded)
        };
        let truth = Truth {
            upper: line(&screw.upper, false)?,
            lower: line(&screw.lower, false)?,
            bar_edges: match &bar {
                None => None,
                Some(bar) => Some([line(&bar.edges[0], false)?, line(&bar.edges[1], false)?]),
            },
            losses: screw.losses.clone(),
        };
        let mut outlines: Vec<Vec<(f64, f64)>> = vec![screw.closed()];
        outlines.extend(bar.map(|b| b.outline));
        for blob in &scene.others {
            outlines.push(match blob {
                Blob::Polygon(points) => points.clone(),
                Blob::Disc { centre_mm, radius_mm } => circle_mm(*centre_mm, *radius_mm),
            });
        }
        let mut metal = Vec::new();
        let mut strokes = Vec::new();
        match &scene.drawn {
            Drawn::Shadow => {
                if let Some(shank) = &scene.shank {
                    outlines.push(shank_outline(scene, shank, &screw)?);
                }
                for _ in 0..scene.dirt.burrs {
                    outlines.extend(burr(scene, &screw, &mut rng));
                }
                for outline in &outlines {
                    metal.push(Loop::new(line(outline, true)?));
                }
                for _ in 0..scene.dirt.on_outline {
                    if let Some((place, _)) = screw.anywhere(&mut rng) {
                        metal.push(speck(scene, mapping.px(place), &mut rng));
                    }
                }
            }
            Drawn::Pencil(pencil) => {
                for outline in &outlines {
                    line(outline, true)?;
                    let scale = scene.px_per_mm;
                    strokes.extend(pencil::trace(outline, pencil, &mapping, scale, &mut rng));
                }
            }
        }
        let specks = (0..scene.dirt.specks)
            .map(|_| {
                let x = rng.random::<f64>() * f64::from(scene.width_px);
                let y = rng.random::<f64>() * f64::from(scene.height_px);
                let shape = speck(scene, (x, y), &mut rng);
                (shape, rng.random_range(0.05f32..0.5))
            })
            .collect();
        Ok((Self { metal, strokes, specks }, truth))
    }

    /// How open each pixel of some rows is to the light, 0 to 1, after the blur.
    fn openness(&self, scene: &Scene, y0: i64, rows: usize) -> Raster {
        let kernel = Kernel::gaussian(scene.blur_px);
        let radius = kernel.radius();
        let mut field = Raster::new(
            -(radius as i64),
            y0 - radius as i64,
            scene.width_px as usize + 2 * radius,
            rows + 2 * radius,
        );
        // Where shapes overlap, the one that covers more of a pixel stands for both: exact unless
        // their edges cross within it.
        for shape in &self.metal {
            field.paint(shape, |pixel, covered| *pixel = pixel.max(covered));
        }
        for stroke in &self.strokes {
            stroke.draw(&mut field);
        }
        if !scene.inverted {
            for v in &mut field.data {
                *v = 1.0 - *v;
            }
        }
        for (shape, level) in &self.specks {
            field.paint(shape, |pixel, covered| *pixel += covered * (level - *pixel));
        }
        field.blurred(&kernel)
    }
}

fn circle_mm(centre: (f64, f64), radius: f64) -> Vec<(f64, f64)> {
    (0..720)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 720.0).sin_cos();
            (centre.0 + radius * cos, centre.1 + radius * sin)
        })
        .collect()
}

/// A speck at `place`; small ones are much more frequent than large ones.
fn speck(scene: &Scene, place: (f64, f64), rng: &mut Pcg64Mcg) -> Loop {
    let size = rng.random::<f64>();
    let radius_mm = 0.5 * scene.dirt.largest_mm * (0.15 + 0.85 * size * size * size);
    Loop::disc(place, radius_mm * scene.px_per_mm)
}

/// A thin triangle of metal standing on the outline of the thread.
fn burr(scene: &Scene, screw: &Screw, rng: &mut Pcg64Mcg) -> Option<Vec<(f64, f64)>> {
    let ((z, x), out) = screw.anywhere(rng)?;
    let height = scene.dirt.burr_mm * rng.random_range(0.3..1.0);
    let half_base = height * rng.random_range(0.2..0.6);
    let lean = height * rng.random_range(-0.5..0.5);
    let along = (out.1, -out.0);
    let at = |a: f64, h: f64| (z + a * along.0 + h * out.0, x + a * along.1 + h * out.1);
    Some(vec![at(-half_base, 0.0), at(lean, height), at(half_base, 0.0), at(0.0, -0.5 * half_base)])
}

/// The plain part of the screw, from just under the end of the thread outward.
fn shank_outline(
    scene: &Scene,
    shank: &Shank,
    screw: &Screw,
) -> Result<Vec<(f64, f64)>, SceneError> {
    let view = &scene.view;
    // Where on the axis the thread ends: the shadow is cut in the plane of projection.
    let side = if shank.right { 1.0 } else { -1.0 };
    let cut = if shank.right { screw.upper.last() } else { screw.upper.first() };
    let cut = cut.map_or(0.5 * side * scene.length_mm, |p| p.0);
    let start = axial_at(view, cut) - side * SHANK_OVERLAP_MM;
    let end = start + side * (shank.length_mm + SHANK_OVERLAP_MM);
    let at = |z: f64| rod::tilted(view, [0.0, 0.0, z]);
    rod::silhouette(view, at(start), at(end), 0.5 * shank.diameter_mm).map(|s| s.outline).ok_or(
        SceneError::EyeTooNear {
            what: "the shank",
            distance_mm: view.distance_mm().unwrap_or(f64::INFINITY),
            least_mm: 0.5 * shank.diameter_mm,
        },
    )
}

/// The place along the axis whose projection lies at `z_plane`.
fn axial_at(view: &View, z_plane: f64) -> f64 {
    let (sin, cos) = view.tilt_rad.sin_cos();
    let off = z_plane - view.foot_z_mm;
    // foot + (z cos δ - foot) / (1 + q z sin δ) = plane, solved for z.
    let q = view.inverse_distance_per_mm;
    (off + view.foot_z_mm) / (cos - off * q * sin)
}
