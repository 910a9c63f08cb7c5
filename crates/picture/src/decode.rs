//! From a file or its bytes to a grey picture, upright, within limits.

use std::fs::File;
use std::io::{BufRead, BufReader, Cursor, Read, Seek};
use std::path::Path;

use image::ImageDecoder;

use crate::grey::{Grey, Samples};
use crate::jpeg;
use crate::luma::{luma8, luma16};
use crate::notice::PictureError;
use crate::tiff_file;

/// The least width and height, in pixels, of a picture that could hold a screw and a bar.
pub(crate) const LEAST_SIDE: usize = 48;

/// What is read at most. Checked from the file's header, before memory is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Most pixels; 150 million by default.
    pub max_pixels: u64,
    /// Longest file in bytes; 600 million by default.
    pub max_file_bytes: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self { max_pixels: 150_000_000, max_file_bytes: 600_000_000 }
    }
}

/// A picture as a viewer shows it: orientation applied.
#[derive(Clone, Debug)]
pub struct Picture {
    /// The brightness.
    pub grey: Grey,
    /// 35 mm-equivalent focal length in millimetres of the camera's film format, when the file
    /// says so.
    pub focal_35mm: Option<f64>,
}

/// Reads a picture file.
///
/// # Errors
/// When the file cannot be read, is no picture, is damaged or cut short, or exceeds the limits.
pub fn open(path: &Path, limits: &Limits) -> Result<Picture, PictureError> {
    let shown = path.display().to_string();
    let io = |source| PictureError::Io { path: shown.clone(), source };
    let about = std::fs::metadata(path).map_err(io)?;
    if about.is_dir() {
        return Err(PictureError::Folder { path: shown });
    }
    if !about.is_file() {
        let source = std::io::Error::other("it is a pipe or a device, and no ordinary file");
        return Err(io(source));
    }
    if about.len() > limits.max_file_bytes {
        return Err(PictureError::FileTooLarge {
            bytes: about.len(),
            limit: limits.max_file_bytes,
        });
    }
    let mut file = BufReader::with_capacity(1 << 16, File::open(path).map_err(io)?);
    let start = file.fill_buf().map_err(io)?;
    if start.is_empty() {
        return Err(PictureError::Empty);
    }
    match recognise(start)? {
        // The decoder is fastest on bytes in memory, and a JPEG has few.
        Format::Jpeg => {
            let mut bytes = Vec::with_capacity(about.len() as usize);
            file.read_to_end(&mut bytes).map_err(io)?;
            decode(&bytes, limits)
        }
        format => read(file, format, limits),
    }
}

/// Reads a picture from the bytes of a file.
///
/// # Errors
/// As [`open`].
pub fn decode(bytes: &[u8], limits: &Limits) -> Result<Picture, PictureError> {
    if bytes.is_empty() {
        return Err(PictureError::Empty);
    }
    if bytes.len() as u64 > limits.max_file_bytes {
        return Err(PictureError::FileTooLarge {
            bytes: bytes.len() as u64,
            limit: limits.max_file_bytes,
        });
    }
    match recognise(bytes)? {
        Format::Jpeg => {
            let grey = jpeg::decode(bytes, limits)?;
            upright(grey, CameraNotes::read(&mut Cursor::new(bytes)))
        }
        format => read(Cursor::new(bytes), format, limits),
    }
}

/// Reads a picture as a stream, so that file and picture need not both be in memory (but those of a JPEG,
/// which has few bytes).
fn read<R: BufRead + Seek>(
    mut source: R,
    format: Format,
    limits: &Limits,
) -> Result<Picture, PictureError> {
    let camera = CameraNotes::read(&mut source);
    source.rewind().map_err(|e| damaged(&e.to_string()))?;
    let grey = match format {
        Format::Jpeg => {
            let mut bytes = Vec::new();
            source.read_to_end(&mut bytes).map_err(|e| damaged(&e.to_string()))?;
            jpeg::decode(&bytes, limits)?
        }
        Format::Png => decode_png(source, limits)?,
        Format::Tiff => tiff_file::decode(source, limits)?,
        Format::Bmp => {
            decode_with(image::codecs::bmp::BmpDecoder::new(source).map_err(broken)?, limits)?
        }
        Format::WebP => {
            decode_with(image::codecs::webp::WebPDecoder::new(source).map_err(broken)?, limits)?
        }
    };
    upright(grey, camera)
}

fn upright(grey: Grey, camera: CameraNotes) -> Result<Picture, PictureError> {
    Ok(Picture { grey: turn(grey, camera.orientation)?, focal_35mm: camera.focal_35mm })
}

enum Format {
    Jpeg,
    Png,
    Tiff,
    Bmp,
    WebP,
}

fn recognise(bytes: &[u8]) -> Result<Format, PictureError> {
    let starts = |magic: &[u8]| bytes.starts_with(magic);
    if starts(b"\xFF\xD8") {
        return Ok(Format::Jpeg);
    }
    if starts(b"\x89PNG\r\n\x1a\n") {
        return Ok(Format::Png);
    }
    if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") {
        return Ok(Format::Tiff);
    }
    if starts(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Ok(Format::WebP);
    }
    if starts(b"BM") && bytes.len() > 26 {
        return Ok(Format::Bmp);
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        let brand = bytes.get(8..12).unwrap_or_default();
        return Err(match brand {
            b"avif" | b"avis" => PictureError::Heic { brand: "AVIF" },
            b"heic" | b"heix" | b"hevc" | b"heim" | b"heis" | b"mif1" | b"msf1" => {
                PictureError::Heic { brand: "HEIC" }
            }
            _ => PictureError::Format { seen: "a film, by its first bytes".into() },
        });
    }
    let seen = if starts(b"GIF8") {
        "a GIF".to_owned()
    } else if starts(b"%PDF") {
        "a PDF document".to_owned()
    } else if starts(b"\x00\x00\x00\x0CJXL ") || starts(b"\xFF\x0A") {
        "a JPEG XL".to_owned()
    } else if bytes.iter().take(512).all(|&b| b >= 0x20 || matches!(b, b'\t' | b'\n' | b'\r')) {
        "a text file, by its first bytes".to_owned()
    } else {
        "its first bytes are those of no format known here".to_owned()
    };
    Err(PictureError::Format { seen })
}

/// Refuses a size before memory is asked for.
pub(crate) fn admit(width: u64, height: u64, limits: &Limits) -> Result<(), PictureError> {
    if width.saturating_mul(height) > limits.max_pixels {
        return Err(PictureError::TooManyPixels { width, height, limit: limits.max_pixels });
    }
    let least = LEAST_SIDE as u64;
    if width < least || height < least {
        return Err(PictureError::TooFewPixels { width, height, least });
    }
    Ok(())
}

fn broken(error: image::ImageError) -> PictureError {
    damaged(&error.to_string())
}

/// What a decoder says of a file, in words: its own are for programmers.
pub(crate) fn damaged(reason: &str) -> PictureError {
    let lower = reason.to_lowercase();
    let says = |signs: &[&str]| signs.iter().any(|sign| lower.contains(sign));
    if says(&[
        "end of file",
        "eof",
        "end of data",
        "fill whole buffer",
        "exhausted",
        "no more bytes",
    ]) {
        return PictureError::Truncated { detail: "it stops before its last row".into() };
    }
    let detail = if says(&["crc", "checksum", "adler"]) {
        "a checksum in it does not match"
    } else if says(&["unsupported", "not support", "not implemented", "unimplemented"]) {
        "it is written in a way that is not read here"
    } else if says(&["limit", "memory", "too large", "allocation"]) {
        "it asks for more memory than a picture needs"
    } else if says(&["deflate", "zlib", "lzw", "huffman", "compress", "inflate"]) {
        "its compressed data makes no sense"
    } else if says(&["header", "chunk", "marker", "tag", "signature"]) {
        "a part of its header is missing or makes no sense"
    } else {
        "its data makes no sense"
    };
    PictureError::Damaged { detail: detail.into() }
}

fn grey8(width: usize, height: usize, samples: Vec<u8>) -> Result<Grey, PictureError> {
    Grey::from_u8(width, height, samples).ok_or_else(wrong_length)
}

pub(crate) fn wrong_length() -> PictureError {
    PictureError::Damaged { detail: "the number of samples is not width times height".into() }
}

/// PNG, row by row: never more than one row in colour.
fn decode_png(source: impl BufRead + Seek, limits: &Limits) -> Result<Grey, PictureError> {
    let fail = |e: png::DecodingError| damaged(&e.to_string());
    let mut decoder = png::Decoder::new(source);
    decoder.set_transformations(png::Transformations::EXPAND);
    decoder.ignore_checksums(false);
    let header = decoder.read_header_info().map_err(fail)?;
    let (w, h) = (header.width, header.height);
    let interlaced = header.interlaced;
    admit(w.into(), h.into(), limits)?;
    let (w, h) = (w as usize, h as usize);
    let mut reader = decoder.read_info().map_err(fail)?;
    let (colour, depth) = reader.output_color_type();
    let channels = colour.samples();
    let wide = depth == png::BitDepth::Sixteen;
    let mut eight = Vec::with_capacity(if wide { 0 } else { w * h });
    let mut sixteen = Vec::with_capacity(if wide { w * h } else { 0 });
    let mut take = |row: &[u8]| {
        if wide {
            sixteen.extend(row.chunks_exact(2 * channels).take(w).map(|p| luma16(p, channels)));
        } else {
            eight.extend(row.chunks_exact(channels).take(w).map(|p| luma8(p, channels)));
        }
    };
    if interlaced {
        let size = reader.output_buffer_size().ok_or_else(wrong_length)?;
        let mut buffer = vec![0u8; size];
        reader.next_frame(&mut buffer).map_err(fail)?;
        let line = size / h;
        buffer.chunks_exact(line.max(1)).take(h).for_each(&mut take);
    } else {
        while let Some(row) = reader.next_row().map_err(fail)? {
            take(row.data());
        }
    }
    if wide { Grey::from_u16(w, h, sixteen).ok_or_else(wrong_length) } else { grey8(w, h, eight) }
}

/// Formats read through `image`: whole picture in the file's own colours, reduced in place.
pub(crate) fn decode_with(
    decoder: impl ImageDecoder,
    limits: &Limits,
) -> Result<Grey, PictureError> {
    use image::ColorType;
    let (w, h) = decoder.dimensions();
    admit(w.into(), h.into(), limits)?;
    let (w, h) = (w as usize, h as usize);
    let colour = decoder.color_type();
    let channels = colour.channel_count() as usize;
    let total = decoder.total_bytes();
    // 16 bytes a pixel is the widest a colour picture comes (four 32-bit floats).
    if total > 16 * (w as u64) * (h as u64) {
        return Err(wrong_length());
    }
    let mut buffer = vec![0u8; total as usize];
    decoder.read_image(&mut buffer).map_err(broken)?;
    match colour {
        ColorType::L8 | ColorType::La8 | ColorType::Rgb8 | ColorType::Rgba8 => {
            if channels > 1 {
                for i in 0..w * h {
                    buffer[i] = luma8(&buffer[i * channels..(i + 1) * channels], channels);
                }
                buffer.truncate(w * h);
                buffer.shrink_to_fit();
            }
            grey8(w, h, buffer)
        }
        ColorType::L16 | ColorType::La16 | ColorType::Rgb16 | ColorType::Rgba16 => {
            // `image` hands 16-bit samples over in the machine's byte order.
            let samples = buffer
                .chunks_exact(2 * channels)
                .map(|p| {
                    let mut big = [0u8; 8];
                    for (to, from) in big.chunks_exact_mut(2).zip(p.chunks_exact(2)) {
                        to.copy_from_slice(&u16::from_ne_bytes([from[0], from[1]]).to_be_bytes());
                    }
                    luma16(&big[..2 * channels], channels)
                })
                .collect();
            Grey::from_u16(w, h, samples).ok_or_else(wrong_length)
        }
        other => Err(PictureError::Damaged {
            detail: format!("samples of kind {other:?}; 8-bit and 16-bit grey or colour are read"),
        }),
    }
}

/// What the camera noted about the picture.
#[derive(Default)]
struct CameraNotes {
    /// 1 to 8 as in the Exif standard (CIPA DC-008), 1 when not told.
    orientation: u32,
    focal_35mm: Option<f64>,
}

impl CameraNotes {
    /// Notes that are missing or damaged are no reason to refuse a picture.
    fn read<R: BufRead + Seek>(source: &mut R) -> Self {
        let mut notes = Self { orientation: 1, focal_35mm: None };
        let Ok(exif) = exif::Reader::new().read_from_container(source) else {
            return notes;
        };
        let uint =
            |tag| exif.get_field(tag, exif::In::PRIMARY).and_then(|field| field.value.get_uint(0));
        notes.orientation =
            uint(exif::Tag::Orientation).filter(|o| (1..=8).contains(o)).unwrap_or(1);
        // Zero means unknown in the standard.
        notes.focal_35mm =
            uint(exif::Tag::FocalLengthIn35mmFilm).filter(|&f| f > 0 && f < 10_000).map(f64::from);
        notes
    }
}

/// Turns and mirrors so that the picture stands as a viewer shows it.
fn turn(grey: Grey, orientation: u32) -> Result<Grey, PictureError> {
    if !(2..=8).contains(&orientation) {
        return Ok(grey);
    }
    let (w, h) = (grey.width(), grey.height());
    let swap = orientation >= 5;
    let (nw, nh) = if swap { (h, w) } else { (w, h) };
    let turned = match grey.samples {
        Samples::Eight(s) => Grey::from_u8(nw, nh, turned(&s, w, h, orientation)),
        Samples::Sixteen(s) => Grey::from_u16(nw, nh, turned(&s, w, h, orientation)),
    };
    turned.ok_or_else(wrong_length)
}

fn turned<T: Copy>(s: &[T], w: usize, h: usize, orientation: u32) -> Vec<T> {
    if orientation <= 4 {
        let mut out = Vec::with_capacity(s.len());
        for y in 0..h {
            let from = if orientation == 2 { y } else { h - 1 - y };
            let row = &s[from * w..(from + 1) * w];
            if orientation == 4 {
                out.extend_from_slice(row);
            } else {
                out.extend(row.iter().rev().copied());
            }
        }
        return out;
    }
    let Some(&first) = s.first() else { return Vec::new() };
    let mut out = vec![first; s.len()];
    // In blocks, so that both the rows read and the columns written stay in the cache.
    const BLOCK: usize = 32;
    for y0 in (0..h).step_by(BLOCK) {
        for x0 in (0..w).step_by(BLOCK) {
            for y in y0..(y0 + BLOCK).min(h) {
                for x in x0..(x0 + BLOCK).min(w) {
                    let (row, column) = match orientation {
                        5 => (x, y),
                        6 => (x, h - 1 - y),
                        7 => (w - 1 - x, h - 1 - y),
                        _ => (w - 1 - x, y),
                    };
                    out[row * h + column] = s[y * w + x];
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_orientation_brings_the_marked_corner_home() {
        // A 3 x 2 picture stored so that, once turned, it reads 1 2 3 / 4 5 6; the stored forms
        // are those of CIPA DC-008 "Orientation" (row 0 is top / right / bottom / left ...).
        let upright = [1, 2, 3, 4, 5, 6];
        let cases: [(u32, usize, usize, [i32; 6]); 7] = [
            (2, 3, 2, [3, 2, 1, 6, 5, 4]),
            (3, 3, 2, [6, 5, 4, 3, 2, 1]),
            (4, 3, 2, [4, 5, 6, 1, 2, 3]),
            (5, 2, 3, [1, 4, 2, 5, 3, 6]),
            (6, 2, 3, [3, 6, 2, 5, 1, 4]),
            (7, 2, 3, [6, 3, 5, 2, 4, 1]),
            (8, 2, 3, [4, 1, 5, 2, 6, 3]),
        ];
        for (orientation, w, h, stored) in cases {
            assert_eq!(turned(&stored, w, h, orientation), upright, "orientation {orientation}");
        }
    }
}
