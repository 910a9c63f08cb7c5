//! Pictures as files.

use crate::cast::Picture;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};
use thiserror::Error;

/// Why a file could not be written.
#[derive(Debug, Error)]
pub enum FileError {
    /// The encoder refused.
    #[error("the picture of {width_px} × {height_px} px could not be encoded: {source}")]
    Encoding {
        /// Width, px.
        width_px: u32,
        /// Height, px.
        height_px: u32,
        /// What the encoder said.
        source: image::ImageError,
    },
    /// A quality outside its limits.
    #[error("JPEG quality {0} is outside 1 to 100")]
    Quality(u8),
    /// A focal length outside its limits.
    #[error("focal length {0} mm is outside 1 to 65535 mm")]
    Focal(f64),
}

/// Whether a file keeps colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Channels {
    /// Red, green and blue.
    #[default]
    Rgb,
    /// Brightness alone.
    Grey,
}

/// How the camera was held, as EXIF tag 0x0112 says it: what a viewer must do to show the picture
/// upright. The file's pixels are stored so that a viewer that obeys shows the picture as cast.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turned {
    /// Stored upright.
    #[default]
    Upright = 1,
    /// Stored mirrored left to right.
    Mirrored = 2,
    /// Stored upside down.
    HalfTurn = 3,
    /// Stored mirrored top to bottom.
    MirroredHalfTurn = 4,
    /// Stored with rows and columns exchanged.
    Transposed = 5,
    /// To be turned a quarter clockwise.
    QuarterClockwise = 6,
    /// Stored with rows and columns exchanged about the other diagonal.
    Transversed = 7,
    /// To be turned a quarter counterclockwise.
    QuarterCounterclockwise = 8,
}

impl Turned {
    /// All eight.
    pub const ALL: [Self; 8] = [
        Self::Upright,
        Self::Mirrored,
        Self::HalfTurn,
        Self::MirroredHalfTurn,
        Self::Transposed,
        Self::QuarterClockwise,
        Self::Transversed,
        Self::QuarterCounterclockwise,
    ];

    fn exchanges_sides(self) -> bool {
        self as u16 >= 5
    }

    /// Pixel of the upright picture (`width` × `height`) that is stored at column `i`, row `j`.
    ///
    /// EXIF 2.32, tag Orientation, names where the stored row 0 and column 0 belong: 1 top left,
    /// 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom,
    /// 8 left bottom.
    fn source(self, (width, height): (usize, usize), (i, j): (usize, usize)) -> (usize, usize) {
        let (right, bottom) = (width - 1, height - 1);
        match self {
            Self::Upright => (i, j),
            Self::Mirrored => (right - i, j),
            Self::HalfTurn => (right - i, bottom - j),
            Self::MirroredHalfTurn => (i, bottom - j),
            Self::Transposed => (j, i),
            Self::QuarterClockwise => (right - j, i),
            Self::Transversed => (right - j, bottom - i),
            Self::QuarterCounterclockwise => (j, bottom - i),
        }
    }
}

/// How a JPEG is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JpegOptions {
    /// 1 to 100.
    pub quality: u8,
    /// 35 mm-equivalent focal length to write into the EXIF data, mm.
    pub focal_35mm: Option<f64>,
    /// How the camera was held.
    pub turned: Turned,
    /// Colour or brightness alone.
    pub channels: Channels,
}

impl Default for JpegOptions {
    fn default() -> Self {
        Self { quality: 92, focal_35mm: None, turned: Turned::Upright, channels: Channels::Rgb }
    }
}

impl Picture {
    /// Brightness alone: the middle (green) channel, which is all three under white light.
    #[must_use]
    pub fn green(&self) -> Vec<u8> {
        self.rgb.chunks_exact(3).map(|p| p[1]).collect()
    }

    /// The picture as a PNG file.
    ///
    /// # Errors
    /// [`FileError::Encoding`] when the encoder fails.
    pub fn to_png(&self, channels: Channels) -> Result<Vec<u8>, FileError> {
        let mut out = Vec::new();
        let (data, colour) = self.channels(channels);
        PngEncoder::new(&mut out)
            .write_image(&data, self.width_px, self.height_px, colour)
            .map_err(|source| self.failed(source))?;
        Ok(out)
    }

    /// The picture as a JPEG file, with EXIF data if a focal length is given or the picture is
    /// stored turned.
    ///
    /// # Errors
    /// [`FileError`] for a quality or focal length outside its limits, or when the encoder fails.
    pub fn to_jpeg(&self, options: &JpegOptions) -> Result<Vec<u8>, FileError> {
        if !(1..=100).contains(&options.quality) {
            return Err(FileError::Quality(options.quality));
        }
        let focal = match options.focal_35mm {
            None => None,
            Some(mm) if (1.0..=65_535.0).contains(&mm) => Some(mm.round() as u16),
            Some(mm) => return Err(FileError::Focal(mm)),
        };
        let (data, colour) = self.channels(options.channels);
        let samples = data.len() / (self.width_px as usize * self.height_px as usize).max(1);
        let (data, width, height) = self.stored(&data, samples, options.turned);
        let mut out = Vec::new();
        let mut encoder = JpegEncoder::new_with_quality(&mut out, options.quality);
        if focal.is_some() || options.turned != Turned::Upright {
            let said = encoder.set_exif_metadata(exif(options.turned, focal));
            said.map_err(|e| self.failed(image::ImageError::Unsupported(e)))?;
        }
        encoder.write_image(&data, width, height, colour).map_err(|source| self.failed(source))?;
        Ok(out)
    }

    fn channels(&self, channels: Channels) -> (Vec<u8>, ExtendedColorType) {
        match channels {
            Channels::Rgb => (self.rgb.clone(), ExtendedColorType::Rgb8),
            Channels::Grey => (self.green(), ExtendedColorType::L8),
        }
    }

    fn stored(&self, data: &[u8], samples: usize, turned: Turned) -> (Vec<u8>, u32, u32) {
        let (width, height) = (self.width_px, self.height_px);
        if turned == Turned::Upright {
            return (data.to_vec(), width, height);
        }
        let size = if turned.exchanges_sides() { (height, width) } else { (width, height) };
        let upright = (width as usize, height as usize);
        let mut out = Vec::with_capacity(data.len());
        for j in 0..size.1 as usize {
            for i in 0..size.0 as usize {
                let (x, y) = turned.source(upright, (i, j));
                let from = (y * upright.0 + x) * samples;
                out.extend_from_slice(&data[from..from + samples]);
            }
        }
        (out, size.0, size.1)
    }

    fn failed(&self, source: image::ImageError) -> FileError {
        FileError::Encoding { width_px: self.width_px, height_px: self.height_px, source }
    }
}

/// EXIF data (a TIFF of two directories, big-endian): Orientation in the first, the 35 mm-equivalent
/// focal length in the second.
///
/// Tags after EXIF 2.32: 0x0112 Orientation, 0x8769 pointer to the Exif directory,
/// 0xA405 `FocalLengthIn35mmFilm`.
fn exif(turned: Turned, focal: Option<u16>) -> Vec<u8> {
    const SHORT: u16 = 3;
    const LONG: u16 = 4;
    let mut out = b"MM\0\x2a\0\0\0\x08".to_vec();
    let entry = |out: &mut Vec<u8>, tag: u16, kind: u16, value: u32| {
        out.extend(tag.to_be_bytes());
        out.extend(kind.to_be_bytes());
        out.extend(1u32.to_be_bytes());
        // A SHORT lies in the left half of the value's four bytes.
        out.extend((if kind == SHORT { value << 16 } else { value }).to_be_bytes());
    };
    let entries = 1 + u16::from(focal.is_some());
    out.extend(entries.to_be_bytes());
    entry(&mut out, 0x0112, SHORT, turned as u32);
    if let Some(focal) = focal {
        let second = 8 + 2 + 12 * u32::from(entries) + 4;
        entry(&mut out, 0x8769, LONG, second);
        out.extend(0u32.to_be_bytes());
        out.extend(1u16.to_be_bytes());
        entry(&mut out, 0xA405, SHORT, u32::from(focal));
    }
    out.extend(0u32.to_be_bytes());
    out
}
