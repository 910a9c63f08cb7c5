//! How near to the Cramér-Rao bound edges are located: a Monte Carlo over straight edges in white
//! noise, at several slopes and blurs. The bound is derived in `docs/edge-limit.md`.
//!
//! `cargo run --release -p picture --example edge_limit -- DIR [ROUNDS]` writes the pictures into
//! `DIR` as 16-bit PNGs with what is true of them (`pictures.csv`), reads them back as any file is
//! read, and prints a table (also `ours.csv`). `tests/peers/edge_limit.py DIR` then judges a
//! general-purpose contour on the same pictures and prints both.
//!
//! The information in a picture is not taken from a formula but from the picture: the same scene
//! is drawn with its edges moved by a little, and the differences are squared and summed.

#![expect(clippy::print_stdout, reason = "an example whose output is its purpose")]

use picture::{DrawnWanted, Limits, trace};
use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;

#[path = "../tests/scenes/mod.rs"]
mod scenes;

const SIDE: usize = 400;
/// Middle of the bar, px; between pixels, so that nothing falls on the grid.
const MIDDLE: (f64, f64) = (200.3, 199.6);
const HALF_WIDTH: f64 = 40.0;
const HALF_LENGTH: f64 = 175.0;
const DARK: f64 = 0.15;
const LIGHT: f64 = 0.75;
/// White noise in linear light: a thirtieth of the contrast.
const NOISE: f64 = 0.02;
const BLURS: [f64; 4] = [0.6, 1.0, 1.6, 2.5];
const ANGLES_DEG: [f64; 7] = [0.0, 1.2, 17.0, 35.0, 45.0, 69.0, 90.0];
/// Each long side is cut into stretches, px along the bar, and a line laid through each.
const STRETCHES: [(f64, f64); 4] = [(-140.0, -70.0), (-70.0, 0.0), (0.0, 70.0), (70.0, 140.0)];

/// One slope and blur.
struct Setting {
    angle_deg: f64,
    blur_px: f64,
}

/// Smallest possible standard deviations, px.
struct Bounds {
    /// Of one row or column of pixels.
    cut: f64,
    /// Of the middle of a stretch, the levels on both sides being known.
    stretch: f64,
    /// The same, the levels having to be found within the window a profile takes in.
    stretch_alone: f64,
}

impl Setting {
    /// Linear light of the bar with its long edges at `half_width` from its middle: an exact
    /// Gaussian blur (separable along and across a rectangle), then integrated over each pixel's
    /// square by Gauss and Legendre's rule of four points each way.
    fn light(&self, half_width: f64) -> Vec<f64> {
        const NODES: [(f64, f64); 4] = [
            (-0.430_568_155_797_026_3, 0.173_927_422_568_726_9),
            (-0.169_990_521_792_428_1, 0.326_072_577_431_273_1),
            (0.169_990_521_792_428_1, 0.326_072_577_431_273_1),
            (0.430_568_155_797_026_3, 0.173_927_422_568_726_9),
        ];
        let slab = |t: f64, half: f64| {
            let edge = |t: f64| 0.5 * libm::erfc(-t / self.blur_px / std::f64::consts::SQRT_2);
            edge(half - t) - edge(-half - t)
        };
        let mut light = Vec::with_capacity(SIDE * SIDE);
        for y in 0..SIDE {
            for x in 0..SIDE {
                let mut shade = 0.0;
                for (dy, wy) in NODES {
                    for (dx, wx) in NODES {
                        let (u, v) = self.along_and_out(x as f64 + 0.5 + dx, y as f64 + 0.5 + dy);
                        shade += wx * wy * slab(u, HALF_LENGTH) * slab(v, half_width);
                    }
                }
                light.push(LIGHT + (DARK - LIGHT) * shade);
            }
        }
        light
    }

    /// Along the bar and outward from its middle.
    fn along_and_out(&self, x: f64, y: f64) -> (f64, f64) {
        let (s, c) = self.angle_deg.to_radians().sin_cos();
        let (dx, dy) = (x - MIDDLE.0, y - MIDDLE.1);
        (dx * c + dy * s, dy * c - dx * s)
    }

    /// From squared differences of pictures with the edges moved by `±STEP`.
    fn bounds(&self) -> Bounds {
        const STEP: f64 = 0.05;
        let (out, inward) = (self.light(HALF_WIDTH + STEP), self.light(HALF_WIDTH - STEP));
        let steep = (45.0..135.0).contains(&self.angle_deg);
        let mut cuts = vec![0.0; SIDE];
        // Information about the edge's place, about both levels, and what they share.
        let (mut stretch, mut alone) = (0.0, Alone::default());
        let light = self.light(HALF_WIDTH);
        let window = 4.0 * self.blur_px.hypot(1.0 / 12f64.sqrt()) + 2.0;
        for y in 0..SIDE {
            for x in 0..SIDE {
                let i = y * SIDE + x;
                let (u, v) = self.along_and_out(x as f64 + 0.5, y as f64 + 0.5);
                // One side of the bar, well away from its corners.
                if v < 0.0 || u.abs() > 160.0 {
                    continue;
                }
                let slope = (out[i] - inward[i]) / (2.0 * STEP) / NOISE;
                let information = slope * slope;
                cuts[if steep { y } else { x }] += information;
                if u.abs() < 140.0 {
                    stretch += information / STRETCHES.len() as f64;
                    if (v - HALF_WIDTH).abs() < window {
                        alone.add(slope, (light[i] - DARK) / (LIGHT - DARK) / NOISE);
                    }
                }
            }
        }
        // Cuts wholly within the part looked at.
        let most = cuts.iter().copied().fold(0.0, f64::max);
        let whole: Vec<f64> = cuts.into_iter().filter(|i| *i > 0.5 * most).collect();
        let variance = whole.iter().map(|i| 1.0 / i).sum::<f64>() / whole.len() as f64;
        let stretch_alone = (STRETCHES.len() as f64 / alone.information()).sqrt();
        Bounds { cut: variance.sqrt(), stretch: 1.0 / stretch.sqrt(), stretch_alone }
    }

    fn write(&self, path: &Path, light: &[f64], seed: u64) -> Result<(), Box<dyn Error>> {
        let mut rng = scenes::Noise(seed);
        let bytes: Vec<u8> = light
            .iter()
            .flat_map(|l| {
                let l = scenes::linear_to_srgb((l + NOISE * rng.normal()).clamp(0.0, 1.0));
                ((65535.0 * l).round() as u16).to_be_bytes()
            })
            .collect();
        let file = std::io::BufWriter::new(std::fs::File::create(path)?);
        let mut encoder = png::Encoder::new(file, SIDE as u32, SIDE as u32);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Sixteen);
        encoder.set_compression(png::Compression::Fast);
        encoder.write_header()?.write_image_data(&bytes)?;
        Ok(())
    }
}

/// Fisher information about place, inner and outer level, in white noise.
#[derive(Default)]
struct Alone {
    place: f64,
    shared: [f64; 2],
    levels: [f64; 3],
}

impl Alone {
    /// One pixel: slope of its light by the place, and by the outer level, over the noise.
    fn add(&mut self, slope: f64, outer: f64) {
        let inner = 1.0 / NOISE - outer;
        self.place += slope * slope;
        self.shared = [self.shared[0] + slope * inner, self.shared[1] + slope * outer];
        let [ii, io, oo] = self.levels;
        self.levels = [ii + inner * inner, io + inner * outer, oo + outer * outer];
    }

    /// About the place, the levels being unknown (Schur complement).
    fn information(&self) -> f64 {
        let ([a, b], [ii, io, oo]) = (self.shared, self.levels);
        self.place - (a * a * oo - 2.0 * a * b * io + b * b * ii) / (ii * oo - io * io)
    }
}

/// Offsets outward of the two long sides: of points, and of the middles of lines through the points
/// of each stretch.
#[derive(Default)]
struct Found {
    points: [Vec<f64>; 2],
    lines: [Vec<f64>; 2],
}

impl Found {
    /// Sorts points `(along, out)` into sides and stretches.
    fn add(&mut self, points: &[(f64, f64)]) {
        for (side, sign) in [-1.0, 1.0].into_iter().enumerate() {
            for (from, to) in STRETCHES {
                let middle = 0.5 * (from + to);
                let near: Vec<(f64, f64)> = points
                    .iter()
                    .map(|(u, v)| (u - middle, sign * v - HALF_WIDTH))
                    .filter(|(u, v)| u.abs() < 0.5 * (to - from) && v.abs() < 3.0)
                    .collect();
                self.points[side].extend(near.iter().map(|p| p.1));
                // Least squares for offset and slope; the offset at the middle of the stretch.
                let n = near.len() as f64;
                let (su, sv) = near.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0, s.1 + p.1));
                let (suu, suv) =
                    near.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0 * p.0, s.1 + p.0 * p.1));
                self.lines[side].push((suu * sv - su * suv) / (n * suu - su * su));
            }
        }
    }
}

/// The larger mean of the two sides, and the standard deviation within sides. (Each side lies at
/// its own place between the pixels; pooled, their biases could cancel.)
fn moments(sides: &[Vec<f64>; 2]) -> (f64, f64) {
    let of = sides.each_ref().map(|values| {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        (mean, values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0))
    });
    let bias = if of[0].0.abs() > of[1].0.abs() { of[0].0 } else { of[1].0 };
    (bias, (0.5 * (of[0].1 + of[1].1)).sqrt())
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let directory = arguments.next().ok_or("usage: edge_limit DIR [ROUNDS]")?;
    let directory = Path::new(&directory);
    let rounds: u64 = arguments.next().map_or(Ok(20), |r| r.parse())?;
    std::fs::create_dir_all(directory)?;
    let mut pictures =
        String::from("file,blur_px,angle_deg,cut_bound_px,stretch_bound_px,stretch_alone_px\n");
    let mut ours =
        String::from("blur_px,angle_deg,bias_px,point_ratio,line_ratio,line_alone_ratio\n");
    println!("| blur px | slope | bias px | points / bound | lines / bound | levels unknown |");
    println!("|---|---|---|---|---|---|");
    for blur_px in BLURS {
        for angle_deg in ANGLES_DEG {
            let setting = Setting { angle_deg, blur_px };
            let bounds = setting.bounds();
            let light = setting.light(HALF_WIDTH);
            let mut found = Found::default();
            for round in 0..rounds {
                let file = format!("edge_{blur_px}_{angle_deg}_{round}.png");
                let path = directory.join(&file);
                let seed = (1000.0 * blur_px + angle_deg) as u64 * 7919 + round;
                setting.write(&path, &light, seed)?;
                writeln!(
                    pictures,
                    "{file},{blur_px},{angle_deg},{},{},{}",
                    bounds.cut, bounds.stretch, bounds.stretch_alone
                )?;
                let grey = picture::open(&path, &Limits::default())?.grey;
                let scene = trace(&grey, DrawnWanted::Shadow, &|_| true)?;
                let points: Vec<(f64, f64)> = scene.outlines[0]
                    .points
                    .iter()
                    .map(|p| setting.along_and_out(p.x, p.y))
                    .collect();
                found.add(&points);
            }
            let (bias, spread) = moments(&found.points);
            let (_, line_spread) = moments(&found.lines);
            let (point, line) = (spread / bounds.cut, line_spread / bounds.stretch);
            let alone = line_spread / bounds.stretch_alone;
            println!(
                "| {blur_px} | {angle_deg}° | {bias:+.4} | {point:.2} | {line:.2} | {alone:.2} |"
            );
            writeln!(ours, "{blur_px},{angle_deg},{bias},{point},{line},{alone}")?;
        }
    }
    std::fs::write(directory.join("pictures.csv"), pictures)?;
    std::fs::write(directory.join("ours.csv"), ours)?;
    Ok(())
}
