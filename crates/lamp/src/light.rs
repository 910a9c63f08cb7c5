//! Light, noise and the encoding of a picture's numbers.

use crate::coverage::{Kernel, Raster};
use crate::scene::{Light, Noise, Scene};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// Light that reaches each pixel through the openings of the scene.
pub(crate) struct Illumination {
    light: Light,
    half_width: f64,
    half_height: f64,
}

impl Illumination {
    pub fn of(scene: &Scene) -> Self {
        Self {
            light: scene.light,
            half_width: 0.5 * f64::from(scene.width_px),
            half_height: 0.5 * f64::from(scene.height_px),
        }
    }

    /// Turns the openness of one row (0 shadow, 1 open ground) into linear light.
    pub fn shine(&self, row: i64, open: &[f32], out: &mut [f32]) {
        let Light { bright, dark, slope, falloff, .. } = self.light;
        let (w, h) = (self.half_width, self.half_height);
        let y = row as f64 + 0.5 - h;
        let corner = w * w + h * h;
        for (i, (o, t)) in open.iter().zip(out).enumerate() {
            let x = i as f64 + 0.5 - w;
            let even = (1.0 + slope[0] * x / w - slope[1] * y / h).max(0.0);
            let ground = bright * even * (1.0 - falloff * (x * x + y * y) / corner);
            *t = (dark + (ground - dark) * f64::from(*o)) as f32;
        }
    }
}

/// Standard normal numbers for rows of the picture, the same whichever rows are asked for.
pub(crate) fn normals(
    noise: &Noise,
    seed: u64,
    channel: u64,
    y0: i64,
    rows: usize,
    width: usize,
) -> Raster {
    let kernel = Kernel::gaussian(noise.grain_px);
    let radius = kernel.radius();
    let mut field =
        Raster::new(-(radius as i64), y0 - radius as i64, width + 2 * radius, rows + 2 * radius);
    let row_width = field.width;
    for (i, row) in field.data.chunks_exact_mut(row_width).enumerate() {
        let y = (y0 - radius as i64 + i as i64) as u64;
        // One generator per row, so that bands may be cast in any order.
        let key = seed ^ y.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ channel.rotate_left(40);
        let mut rng = Pcg64Mcg::seed_from_u64(key);
        for value in row {
            *value = StandardNormal.sample(&mut rng);
        }
    }
    let mut smooth = field.blurred(&kernel);
    let gain = (1.0 / kernel.power().sqrt()) as f32;
    if radius > 0 {
        for v in &mut smooth.data {
            *v *= gain;
        }
    }
    smooth
}

/// Adds noise to one row of light.
pub(crate) fn add_noise(noise: &Noise, light: &mut [f32], normals: &[f32]) {
    let (read, shot) = ((noise.read * noise.read) as f32, noise.shot as f32);
    for (l, n) in light.iter_mut().zip(normals) {
        *l += n * (read + shot * l.max(0.0)).sqrt();
    }
}

/// Steps of linear light in the encoding table.
const STEPS: usize = 65_535;

/// Linear light to the 8-bit numbers of IEC 61966-2-1 (sRGB).
pub(crate) struct Encoder(Vec<u8>);

impl Encoder {
    pub fn new() -> Self {
        Self((0..=STEPS).map(|i| encoded(i as f64 / STEPS as f64)).collect())
    }

    pub fn encode(&self, light: f32) -> u8 {
        // The cast saturates, so neither noise below black nor overexposure leaves the table.
        let step = (light * STEPS as f32 + 0.5) as u16;
        self.0[usize::from(step)]
    }
}

fn encoded(light: f64) -> u8 {
    let value =
        if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 };
    (255.0 * value).round().clamp(0.0, 255.0) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn encoding_has_the_values_of_the_standard() {
        let encoder = Encoder::new();
        // By the inverse transfer of IEC 61966-2-1, ((c / 255 + 0.055) / 1.055)^2.4.
        for (light, code) in
            [(0.0, 0), (0.003_035, 10), (0.215861, 128), (0.502886, 188), (1.0, 255)]
        {
            assert_eq!(encoder.encode(light), code, "{light}");
        }
        assert_eq!(encoder.encode(-0.3), 0);
        assert_eq!(encoder.encode(7.0), 255);
        assert_eq!(encoder.encode(f32::NAN), 0);
    }

    #[test]
    fn noise_has_its_variance_and_rows_do_not_depend_on_the_band() {
        for grain_px in [0.0, 0.5, 1.3] {
            let noise = Noise { grain_px, ..Noise::white(1.0) };
            let all = normals(&noise, 9, 0, 0, 64, 400);
            let n = all.data.len() as f64;
            let mean = all.data.iter().map(|v| f64::from(*v)).sum::<f64>() / n;
            let variance = all.data.iter().map(|v| f64::from(*v).powi(2)).sum::<f64>() / n;
            assert!(mean.abs() < 0.05, "{mean}");
            assert!((variance - 1.0).abs() < 0.06, "{grain_px}: {variance}");
            let part = normals(&noise, 9, 0, 20, 8, 400);
            assert_eq!(part.row(3), all.row(23));
            let other = normals(&noise, 9, 1, 20, 8, 400);
            assert_ne!(part.row(3), other.row(3));
        }
    }
}
