//! The spread of located edges against the Cramér-Rao bound, and their bias.
//!
//! Bound for a straight edge in white noise with known levels (derivation in `src/profile.rs`; the
//! approach is that of Stanford report CSL-TR-93-560): along one row or column of pixels,
//! `sigma_min = noise / (contrast * sqrt(sum P'(u_i)^2))`.

#![expect(clippy::unwrap_used, reason = "helpers of tests")]

mod scenes;

use picture::{DrawnWanted, Grey, Limits, trace};
use scenes::{Noise, blur, coverage, linear_to_srgb};

const W: usize = 640;
const H: usize = 480;
const DARK: f64 = 0.15;
const LIGHT: f64 = 0.75;

/// A bar through the middle at `angle`, in linear light.
fn bar(angle: f64, optical: f64) -> (Vec<f32>, [(f64, f64); 4]) {
    let (s, c) = angle.sin_cos();
    let at = |x: f64, y: f64| (320.3 + x * c - y * s, 240.6 + x * s + y * c);
    let corners = [at(-170.0, -40.0), at(170.0, -40.0), at(170.0, 40.0), at(-170.0, 40.0)];
    let mut v = coverage(W, H, &corners);
    blur(&mut v, W, H, optical);
    (v, corners)
}

/// Offsets outward of the points found on the two long sides, ends left out, and the mean of the
/// uncertainties stated.
fn offsets(grey: &Grey, angle: f64) -> (Vec<f64>, f64) {
    let scene = trace(grey, DrawnWanted::Shadow, &|_| true).unwrap();
    assert_eq!(scene.outlines.len(), 1);
    let (s, c) = angle.sin_cos();
    let mut out = Vec::new();
    let mut stated = 0.0;
    for p in &scene.outlines[0].points {
        let (x, y) = (p.x - 320.3, p.y - 240.6);
        let (u, v) = (x * c + y * s, y * c - x * s);
        if u.abs() < 140.0 && (v.abs() - 40.0).abs() < 3.0 {
            out.push(v.abs() - 40.0);
            stated += p.sigma_px.powi(2);
        }
    }
    let n = out.len() as f64;
    (out, (stated / n).sqrt())
}

/// Mean over positions of the edge between pixels of the smallest possible standard deviation.
fn bound(angle: f64, optical: f64, noise: f64) -> f64 {
    let (s, c) = (angle.sin().abs(), angle.cos().abs());
    let (major, minor) = (s.max(c), s.min(c));
    // Light of a pixel at distance u, by quadrature over the pixel and its blur.
    let pixel = |u: f64| {
        let m = 24;
        let mut sum = 0.0;
        for i in 0..m {
            for j in 0..m {
                let (a, b) = ((i as f64 + 0.5) / m as f64 - 0.5, (j as f64 + 0.5) / m as f64 - 0.5);
                sum +=
                    libm::erfc(-(u + a * major + b * minor) / optical / std::f64::consts::SQRT_2);
            }
        }
        sum / (2 * m * m) as f64
    };
    let slope = |u: f64| (pixel(u + 0.01) - pixel(u - 0.01)) / 0.02;
    let mut mean = 0.0;
    let phases = 12;
    for phase in 0..phases {
        let information: f64 = (-20..=20)
            .map(|i| slope((i as f64 + phase as f64 / phases as f64) * major).powi(2))
            .sum();
        mean += (noise / (LIGHT - DARK)).powi(2) / information / phases as f64;
    }
    mean.sqrt()
}

#[test]
fn close_to_the_bound_and_without_bias_in_white_noise() {
    let noise = 0.02;
    for optical in [0.6, 1.2, 2.5] {
        for angle in [0.0, 0.02, 0.3, 0.61, 0.785, 1.2, 1.571] {
            let (clean, _) = bar(angle, optical);
            let mut all = Vec::new();
            let mut stated = 0.0;
            let rounds = 5;
            for seed in 0..rounds {
                let mut rng = Noise(seed * 77 + 5);
                // White in linear light, carried in 16 bits so that rounding plays no part.
                let samples = clean
                    .iter()
                    .map(|&s| {
                        let l = LIGHT + (DARK - LIGHT) * f64::from(s) + noise * rng.normal();
                        (65535.0 * linear_to_srgb(l)).round().clamp(0.0, 65535.0) as u16
                    })
                    .collect();
                let (off, sigma) = offsets(&Grey::from_u16(W, H, samples).unwrap(), angle);
                all.extend(off);
                stated += sigma / rounds as f64;
            }
            let n = all.len() as f64;
            let bias = all.iter().sum::<f64>() / n;
            let spread = (all.iter().map(|o| (o - bias).powi(2)).sum::<f64>() / n).sqrt();
            let limit = bound(angle, optical, noise);
            println!(
                "blur {optical}, {:.0} deg: bias {bias:+.4} px, spread {spread:.4}, bound {limit:.4}, ratio {:.3}, stated {stated:.4}",
                angle.to_degrees(),
                spread / limit
            );
            assert!(n > 1800.0, "{n}");
            assert!(bias.abs() < 0.01, "bias {bias}");
            assert!(spread / limit < 1.3, "ratio {}", spread / limit);
            assert!(spread / limit > 0.9, "below the bound: {}", spread / limit);
            assert!((stated / spread - 1.0).abs() < 0.25, "stated {stated}, spread {spread}");
        }
    }
}

#[test]
fn no_bias_in_sharp_or_compressed_pictures() {
    for (optical, quality, limit) in
        [(0.0, None, 0.01), (0.3, None, 0.01), (1.0, Some(90), 0.01), (1.0, Some(60), 0.03)]
    {
        for angle in [0.0, 0.013, 0.3, 0.8, 1.45] {
            let (clean, _) = bar(angle, optical);
            let mut rng = Noise(3);
            let samples: Vec<u8> = clean
                .iter()
                .map(|&s| {
                    let l = LIGHT + (DARK - LIGHT) * f64::from(s);
                    (255.0 * linear_to_srgb(l) + 1.0 * rng.normal()).round() as u8
                })
                .collect();
            let grey = match quality {
                None => Grey::from_u8(W, H, samples).unwrap(),
                Some(q) => {
                    let mut jpeg = Vec::new();
                    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, q)
                        .encode(&samples, W as u32, H as u32, image::ExtendedColorType::L8)
                        .unwrap();
                    picture::decode(&jpeg, &Limits::default()).unwrap().grey
                }
            };
            let (off, stated) = offsets(&grey, angle);
            let n = off.len() as f64;
            let bias = off.iter().sum::<f64>() / n;
            let spread = (off.iter().map(|o| (o - bias).powi(2)).sum::<f64>() / n).sqrt();
            println!(
                "blur {optical}, jpeg {quality:?}, {angle}: bias {bias:+.4}, spread {spread:.4}, stated {stated:.4}"
            );
            assert!(bias.abs() < limit, "bias {bias}");
            // The blocks of a hard compression, which an edge along them follows, are no noise.
            assert!((0.55..2.0).contains(&(stated / spread)), "stated {stated}, spread {spread}");
        }
    }
}

#[test]
fn uneven_light_does_not_move_an_edge() {
    // Light falling off across the edge by 0.1 % of itself per pixel: across this small picture it
    // loses more than a third.
    for angle in [0.0, 0.5] {
        for optical in [1.0, 3.0] {
            let (clean, _) = bar(angle, optical);
            let samples = clean
                .iter()
                .enumerate()
                .map(|(i, &s)| {
                    let fall = (-0.001 * ((i / W) as f64 - 240.0)).exp();
                    let l = 0.5 * fall * (1.0 - 0.95 * f64::from(s));
                    (65535.0 * linear_to_srgb(l)).round().clamp(0.0, 65535.0) as u16
                })
                .collect();
            let grey = Grey::from_u16(W, H, samples).unwrap();
            let scene = trace(&grey, DrawnWanted::Shadow, &|_| true).unwrap();
            let bar = picture::find_bar(&scene, None).unwrap();
            let (s, c) = (f64::sin(angle), f64::cos(angle));
            let side = |edge: &[picture::EdgePoint]| {
                edge.iter().map(|p| (p.y - 240.6) * c - (p.x - 320.3) * s).sum::<f64>()
                    / edge.len() as f64
            };
            let (a, b) = (side(&bar.edges[0]) + 40.0, side(&bar.edges[1]) - 40.0);
            println!("blur {optical}, {angle}: {a:+.4} {b:+.4}");
            assert!(a.abs() < 0.02 && b.abs() < 0.02, "{a} {b}");
        }
    }
}
