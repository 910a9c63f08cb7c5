//! A small copy of the picture, for paper.

use image::ExtendedColorType;
use image::codecs::jpeg::JpegEncoder;
use picture::Grey;
use std::sync::Arc;

/// Longest side of a copy, px: 170 mm at 240 dots per inch.
const MOST_PX: usize = 1600;
/// Good enough that the edge of the shadow is not doubled by blocks.
const QUALITY: u8 = 85;

/// A picture made small enough to go on a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thumbnail {
    /// A grey JPEG, upright.
    pub jpeg: Arc<Vec<u8>>,
    /// Width of the picture it was made from, px: what overlays are measured in.
    pub of_width_px: usize,
    /// Its height, px.
    pub of_height_px: usize,
    /// Name of its file.
    pub name: String,
}

impl Thumbnail {
    /// A copy of `grey`; `None` for a picture without pixels.
    #[must_use]
    pub fn of(grey: &Grey, name: String) -> Option<Self> {
        let (of_width_px, of_height_px) = (grey.width(), grey.height());
        let side = of_width_px.max(of_height_px).div_ceil(MOST_PX).max(1);
        let (width, height) = (of_width_px / side, of_height_px / side);
        let mut pixels = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0u32;
                for j in 0..side {
                    for i in 0..side {
                        let at = |k: usize, o: usize| (k * side + o) as i64;
                        sum += u32::from(grey.encoded(at(x, i), at(y, j)));
                    }
                }
                pixels.push((sum / (side * side) as u32) as u8);
            }
        }
        let mut jpeg = Vec::new();
        JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
            .encode(
                &pixels,
                u32::try_from(width).ok()?,
                u32::try_from(height).ok()?,
                ExtendedColorType::L8,
            )
            .ok()?;
        Some(Self { jpeg: Arc::new(jpeg), of_width_px, of_height_px, name })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_picture_becomes_small_and_stays_the_same_picture() {
        let (w, h) = (4000, 1000);
        let samples = (0..w * h).map(|i| if i % w < w / 2 { 20 } else { 220 }).collect();
        let grey = Grey::from_u8(w, h, samples).unwrap();
        let small = Thumbnail::of(&grey, "half.png".into()).unwrap();
        assert_eq!((small.of_width_px, small.of_height_px), (w, h));
        let back = picture::decode(&small.jpeg, &picture::Limits::default()).unwrap().grey;
        assert_eq!((back.width(), back.height()), (1333, 333));
        assert!(back.encoded(300, 100) < 40 && back.encoded(1000, 100) > 200);
    }
}
