//! Files of all kinds: read rightly, or refused with a sentence; never a panic.

#![expect(clippy::unwrap_used, reason = "helpers of tests")]

mod scenes;

use std::io::Cursor;
use std::path::Path;

use image::{DynamicImage, ExtendedColorType, ImageEncoder, ImageFormat};
use picture::{DrawnWanted, Limits, PictureError, decode, find_bar, open, trace};
use scenes::{Noise, Shot};

fn shot() -> Shot {
    Shot {
        width: 800,
        height: 600,
        pitch: 55.0,
        depth: 30.0,
        crest: 20.0,
        root: 19.0,
        major: 240.0,
        thread_at: (0.0, -75.0),
        bar_at: (0.0, 150.0),
        bar_width: 75.4,
        bar_length: 650.0,
        ..Shot::default()
    }
}

fn bar_of(bytes: &[u8]) -> f64 {
    let picture = decode(bytes, &Limits::default()).unwrap();
    let scene = trace(&picture.grey, DrawnWanted::Auto, &|_| true).unwrap();
    find_bar(&scene, None).unwrap().width_px
}

fn colour() -> image::RgbImage {
    let shot = shot();
    // Amber light: the channels differ, their ratio does not.
    let samples: Vec<u8> = shot
        .light()
        .iter()
        .flat_map(|&l| {
            [1.0, 0.72, 0.35].map(|c| {
                (255.0 * scenes::linear_to_srgb(f64::from(l) * c)).round().clamp(0.0, 255.0) as u8
            })
        })
        .collect();
    image::RgbImage::from_raw(shot.width as u32, shot.height as u32, samples).unwrap()
}

fn written(image: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    image.write_to(&mut out, format).unwrap();
    out.into_inner()
}

#[test]
fn every_format_and_depth_gives_the_same_bar() {
    let rgb = DynamicImage::ImageRgb8(colour());
    let width = shot().bar_width;
    let near = |name: &str, bytes: &[u8], limit: f64| {
        let seen = bar_of(bytes);
        assert!((seen - width).abs() < limit, "{name}: {seen} for {width}");
    };
    near("png", &written(&rgb, ImageFormat::Png), 0.02);
    near("bmp", &written(&rgb, ImageFormat::Bmp), 0.02);
    near("tiff", &written(&rgb, ImageFormat::Tiff), 0.02);
    near("webp", &written(&rgb, ImageFormat::WebP), 0.02);
    near("jpeg", &written(&rgb, ImageFormat::Jpeg), 0.03);
    near("grey png", &written(&rgb.to_luma8().into(), ImageFormat::Png), 0.02);
    near("grey jpeg", &written(&rgb.to_luma8().into(), ImageFormat::Jpeg), 0.03);
    near("16-bit png", &written(&rgb.to_rgb16().into(), ImageFormat::Png), 0.02);
    near("16-bit tiff", &written(&rgb.to_luma16().into(), ImageFormat::Tiff), 0.02);
    near("alpha png", &written(&rgb.to_rgba8().into(), ImageFormat::Png), 0.02);
    near("grey alpha png", &written(&rgb.to_luma_alpha8().into(), ImageFormat::Png), 0.02);
    near("16-bit alpha tiff", &written(&rgb.to_rgba16().into(), ImageFormat::Tiff), 0.02);
}

#[test]
fn palette_and_one_bit_png() {
    let grey = DynamicImage::ImageRgb8(colour()).to_luma8();
    let (w, h) = grey.dimensions();
    let png = |colour, depth, palette: Option<Vec<u8>>, data: &[u8]| {
        let mut out = Vec::new();
        let mut encoder = png::Encoder::new(&mut out, w, h);
        encoder.set_color(colour);
        encoder.set_depth(depth);
        if let Some(p) = palette {
            encoder.set_palette(p);
        }
        let mut writer = encoder.write_header().unwrap();
        writer.write_image_data(data).unwrap();
        writer.finish().unwrap();
        out
    };
    let palette: Vec<u8> = (0..=255u8).rev().flat_map(|v| [v, v, v]).collect();
    let indices: Vec<u8> = grey.as_raw().iter().map(|v| 255 - v).collect();
    let bytes = png(png::ColorType::Indexed, png::BitDepth::Eight, Some(palette), &indices);
    assert!((bar_of(&bytes) - shot().bar_width).abs() < 0.02);
    let bits: Vec<u8> = grey
        .as_raw()
        .chunks(w as usize)
        .flat_map(|row| {
            row.chunks(8)
                .map(|c| {
                    c.iter().enumerate().fold(0u8, |b, (i, &v)| b | (u8::from(v > 150) << (7 - i)))
                })
                .collect::<Vec<_>>()
        })
        .collect();
    let bytes = png(png::ColorType::Grayscale, png::BitDepth::One, None, &bits);
    assert!((bar_of(&bytes) - shot().bar_width).abs() < 1.0);
}

/// `tests/data` holds one drawing of our own (a comb above a bar of 41 px) in two forms that no
/// encoder at hand here writes: CMYK JPEG (by Pillow) and interlaced PNG (by ImageMagick).
#[test]
fn cmyk_jpeg_and_interlaced_png() {
    for name in ["cmyk.jpg", "interlaced.png"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
        let picture = open(&path, &Limits::default()).unwrap();
        let scene = trace(&picture.grey, DrawnWanted::Auto, &|_| true).unwrap();
        assert!(scene.object_is_dark, "{name}");
        let width = find_bar(&scene, None).unwrap().width_px;
        assert!((width - 41.0).abs() < 1.0, "{name}: {width}");
    }
}

#[test]
fn orientation_and_focal_length_come_from_the_camera() {
    let bytes = shot().jpeg(92);
    // A minimal Exif segment: orientation 6 and a 35 mm-equivalent focal length of 77 mm.
    let mut tiff = b"II*\0\x08\0\0\0\x02\0".to_vec();
    tiff.extend([0x12, 0x01, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0]);
    tiff.extend([0x69, 0x87, 4, 0, 1, 0, 0, 0, 38, 0, 0, 0]);
    tiff.extend([0, 0, 0, 0]);
    tiff.extend([1, 0, 0x05, 0xA4, 3, 0, 1, 0, 0, 0, 77, 0, 0, 0, 0, 0, 0, 0]);
    let mut with = bytes[..2].to_vec();
    with.extend([0xFF, 0xE1]);
    with.extend(((tiff.len() + 8) as u16).to_be_bytes());
    with.extend(b"Exif\0\0");
    with.extend(&tiff);
    with.extend(&bytes[2..]);
    let picture = decode(&with, &Limits::default()).unwrap();
    assert_eq!((picture.grey.width(), picture.grey.height()), (600, 800));
    assert_eq!(picture.focal_35mm, Some(77.0));
    // Orientation 6: the stored upper left corner is shown at the upper right.
    let stored = decode(&bytes, &Limits::default()).unwrap();
    assert_eq!(stored.grey.linear(3, 5), picture.grey.linear(600 - 1 - 5, 3));
}

fn refused(bytes: &[u8]) -> PictureError {
    decode(bytes, &Limits::default()).unwrap_err()
}

#[test]
fn what_cannot_be_read_is_refused_with_what_to_do() {
    let dir = tempfile::tempdir().unwrap();
    let limits = Limits::default();
    assert_eq!(open(dir.path(), &limits).unwrap_err().code(), "folder");
    assert_eq!(open(&dir.path().join("none.jpg"), &limits).unwrap_err().code(), "cannot-read");
    assert_eq!(refused(b"").code(), "empty-file");
    assert_eq!(refused(b"Dear sir, the pitch is about three.").code(), "not-a-picture");
    assert_eq!(refused(b"\0\0\0\x18ftypheic\0\0\0\0").code(), "heic");
    assert!(refused(b"\0\0\0\x18ftypheic\0\0\0\0").to_string().contains("export it as JPEG"));
    assert_eq!(refused(b"GIF89a....................").code(), "not-a-picture");
    let jpeg = shot().jpeg(90);
    for part in [0.1, 0.4, 0.8, 0.99] {
        let error = refused(&jpeg[..(jpeg.len() as f64 * part) as usize]);
        assert_eq!(error.code(), "truncated", "{part}: {error}");
        assert!(error.is_unreadable());
    }
    let png = written(&DynamicImage::ImageRgb8(colour()), ImageFormat::Png);
    for part in [0.01, 0.3, 0.9] {
        let error = refused(&png[..(png.len() as f64 * part) as usize]);
        assert_eq!(error.code(), "truncated", "{part}: {error}");
    }
    for format in [ImageFormat::Tiff, ImageFormat::Bmp, ImageFormat::WebP] {
        let whole = written(&DynamicImage::ImageRgb8(colour()), format);
        let error = refused(&whole[..whole.len() / 2]);
        assert!(matches!(error.code(), "truncated" | "damaged"), "{format:?}: {error}");
    }
    let small = Limits { max_file_bytes: 1000, ..limits };
    assert_eq!(decode(&jpeg, &small).unwrap_err().code(), "file-too-large");
    let few = Limits { max_pixels: 1000, ..limits };
    assert_eq!(decode(&jpeg, &few).unwrap_err().code(), "too-many-pixels");
    let tiny = image::GrayImage::new(20, 20);
    assert_eq!(refused(&written(&tiny.into(), ImageFormat::Png)).code(), "too-few-pixels");
}

#[test]
fn a_large_tiff_in_one_strip_is_read() {
    // 24 megapixels of 16-bit colour, as scanners and raw converters write them: 144 MB in one strip.
    let (w, h) = (6000_u32, 4000_u32);
    let bytes = w * h * 6;
    let mut tiff = b"II*\0\x08\0\0\0\x0a\0".to_vec();
    let mut entry = |tag: u16, kind: u16, count: u32, value: u32| {
        tiff.extend(tag.to_le_bytes());
        tiff.extend(kind.to_le_bytes());
        tiff.extend(count.to_le_bytes());
        tiff.extend(value.to_le_bytes());
    };
    // TIFF 6.0: width, length, bits, compression, photometric, strip, samples, rows, bytes, planes.
    for (tag, kind, count, value) in [
        (256, 4, 1, w),
        (257, 4, 1, h),
        (258, 3, 3, 134),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, 1, 140),
        (277, 3, 1, 3),
        (278, 4, 1, h),
        (279, 4, 1, bytes),
        (284, 3, 1, 1),
    ] {
        entry(tag, kind, count, value);
    }
    tiff.extend([0, 0, 0, 0]);
    tiff.extend([16, 0, 16, 0, 16, 0]);
    tiff.resize(140 + bytes as usize, 0x80);
    let picture = decode(&tiff, &Limits::default()).unwrap();
    assert_eq!((picture.grey.width(), picture.grey.height()), (6000, 4000));
}

#[test]
fn three_thousand_stripes_come_to_an_end() {
    // Thousands of lines of which each pair could be a bar: with a glance at every point of every outline for
    // every pair this took most of a minute.
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/bars3000.png");
    let stripes = open(&file, &Limits::default()).unwrap();
    let scene = trace(&stripes.grey, DrawnWanted::Auto, &|_| true).unwrap();
    let _ = find_bar(&scene, None);
}

#[test]
fn no_word_of_a_decoder_is_left() {
    let png = written(&DynamicImage::ImageRgb8(colour()), ImageFormat::Png);
    let mut seen = std::collections::BTreeSet::new();
    for format in [ImageFormat::Png, ImageFormat::Tiff, ImageFormat::Bmp, ImageFormat::WebP] {
        let whole = match format {
            ImageFormat::Png => png.clone(),
            format => written(&DynamicImage::ImageRgb8(colour()), format),
        };
        for at in (8..whole.len()).step_by(whole.len() / 40) {
            let mut bytes = whole.clone();
            bytes[at] ^= 0x5A;
            if let Err(e) = decode(&bytes, &Limits::default()) {
                seen.insert(e.to_string());
            }
        }
    }
    assert!(seen.iter().any(|text| text.contains("a checksum in it does not match")), "{seen:?}");
    for text in &seen {
        for word in ["{", "::", "Error", "ChunkType", "_", "invalid"] {
            assert!(!text.contains(word), "{text}");
        }
        assert!(text.len() < 400, "{text}");
    }
}

#[test]
fn bombs_are_refused_from_their_header() {
    // 65,000 x 65,000: the header alone, so that allocating would come before failing.
    let mut png = Vec::new();
    let encoder = png::Encoder::new(&mut png, 65_000, 65_000);
    drop(encoder.write_header().unwrap());
    let error = refused(&png);
    assert_eq!(error.code(), "too-many-pixels");
    assert!(error.to_string().contains("65000 x 65000"), "{error}");
    let mut jpeg = shot().jpeg(50);
    let frame = jpeg.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0xFD, 0xE8, 0xFD, 0xE8]);
    assert_eq!(refused(&jpeg).code(), "too-many-pixels");
    let mut bmp = written(&image::GrayImage::new(100, 100).into(), ImageFormat::Bmp);
    bmp[18..22].copy_from_slice(&65_000u32.to_le_bytes());
    bmp[22..26].copy_from_slice(&65_000u32.to_le_bytes());
    assert_eq!(refused(&bmp).code(), "too-many-pixels");
}

/// Whatever comes of it, it must come without a panic.
fn survive(bytes: &[u8]) {
    if let Ok(picture) = decode(bytes, &Limits::default()) {
        for wanted in [DrawnWanted::Auto, DrawnWanted::Line] {
            if let Ok(scene) = trace(&picture.grey, wanted, &|_| true) {
                let bar = find_bar(&scene, None);
                let thread = picture::find_thread(&scene, bar.as_ref().ok(), None);
                let (w, h) = (scene.width as f64, scene.height as f64);
                for (x, y) in [(0.0, 0.0), (0.3, 0.2), (-0.5, 0.5), (0.9, 0.9)] {
                    let part = picture::PixelBox { x: x * w, y: y * h, w: 0.6 * w, h: 0.5 * h };
                    let _ = find_bar(&scene, Some(part));
                    let _ = picture::find_thread(&scene, None, Some(part));
                    let _ = picture::snap(&picture.grey, x * w, y * h, 0.05 * w);
                }
                let points = scene.outlines.iter().flat_map(|o| &o.points);
                let found = thread.iter().flat_map(|t| t.upper.iter().chain(&t.lower));
                for p in points.chain(found) {
                    assert!(p.x.is_finite() && p.y.is_finite() && p.sigma_px > 0.0);
                    assert!((p.nx.hypot(p.ny) - 1.0).abs() < 1e-6);
                }
            }
        }
    }
}

#[test]
fn mutilated_files_do_not_panic() {
    let mut rng = Noise(11);
    let small = Shot { noise: 3.0, ..shot() };
    let sources = [
        small.jpeg(80),
        written(&DynamicImage::ImageRgb8(colour()), ImageFormat::Png),
        written(&DynamicImage::ImageRgb8(colour()), ImageFormat::Tiff),
        written(&DynamicImage::ImageRgb8(colour()), ImageFormat::WebP),
        written(&DynamicImage::ImageRgb8(colour()), ImageFormat::Bmp),
    ];
    for source in &sources {
        for _ in 0..12 {
            let mut bytes = source.clone();
            for _ in 0..1 + rng.bits() % 6 {
                // Half the flips go into the header, where they do most harm.
                let span =
                    if rng.bits().is_multiple_of(2) { 700.min(bytes.len()) } else { bytes.len() };
                let at = (rng.bits() as usize) % span;
                bytes[at] ^= 1 << (rng.bits() % 8);
            }
            if rng.bits().is_multiple_of(4) {
                bytes.truncate((rng.bits() as usize) % bytes.len());
            }
            survive(&bytes);
        }
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(24))]
    #[test]
    fn mutilated_pictures_do_not_panic(
        seed in 0u64..1000,
        noise in 0.0f64..60.0,
        blur in 0.0f64..20.0,
        x in 0usize..700, y in 0usize..500, w in 48usize..800, h in 48usize..600,
        turn in 0.0f64..6.3,
        pepper in 0.0f64..0.2,
        inverted: bool,
        pencil: bool,
    ) {
        let shot = Shot {
            turn, blur, noise, seed, light_object: inverted,
            stroke: pencil.then_some(3.0), specks: (seed % 30) as usize, ..shot()
        };
        let samples = shot.samples();
        let (w, h) = (w.min(800 - x), h.min(600 - y));
        let mut rng = Noise(seed);
        let mut cut = Vec::with_capacity(w * h);
        for row in samples.chunks(800).skip(y).take(h) {
            cut.extend(row[x..x + w].iter().map(|&v| {
                if rng.uniform() < pepper { (rng.bits() & 255) as u8 } else { v }
            }));
        }
        let mut png = Vec::new();
        image::codecs::png::PngEncoder::new(&mut png)
            .write_image(&cut, w as u32, h as u32, ExtendedColorType::L8)
            .unwrap();
        survive(&png);
    }
}

#[test]
fn blank_and_random_pictures_are_said_to_be_so() {
    let mut rng = Noise(2);
    for (name, samples) in [
        ("black", vec![0u8; 400 * 300]),
        ("white", vec![255u8; 400 * 300]),
        ("ramp", (0..400 * 300).map(|i| (i % 400 / 2) as u8).collect()),
        ("noise", (0..400 * 300).map(|_| (rng.bits() & 255) as u8).collect()),
    ] {
        let grey = picture::Grey::from_u8(400, 300, samples).unwrap();
        let seen = trace(&grey, DrawnWanted::Auto, &|_| true).and_then(|scene| {
            find_bar(&scene, None)?;
            picture::find_thread(&scene, None, None)
        });
        let error = seen.map(|_| ()).unwrap_err();
        assert!(!error.is_unreadable(), "{name}: {error}");
    }
}

#[test]
fn tracing_can_be_cancelled() {
    let grey = shot().grey();
    for stop in [0.0f32, 0.1, 0.3, 0.5] {
        let seen = trace(&grey, DrawnWanted::Auto, &|done| done < stop);
        assert!(matches!(seen, Err(PictureError::Cancelled)));
    }
}
