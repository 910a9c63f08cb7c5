//! JPEG, brightness channel only.

use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use crate::decode::{Limits, admit, damaged};
use crate::grey::{Grey, Samples};
use crate::jpeg_check::{self, Fault, seams};
use crate::luma::luma8;
use crate::notice::PictureError;

pub(crate) fn decode(bytes: &[u8], limits: &Limits) -> Result<Grey, PictureError> {
    let shape = Shape::read(bytes)?;
    admit(shape.width.into(), shape.height.into(), limits)?;
    if !shape.complete {
        return Err(PictureError::Truncated {
            detail: format!("the end marker is missing after {} bytes", bytes.len()),
        });
    }
    // The codes are read while the picture is decoded: two passes over few bytes.
    let (blocks, grey) = rayon::join(|| jpeg_check::check(bytes), || samples(bytes, &shape));
    let blocks = blocks.map_err(|fault| match fault {
        Fault::Short(detail) => PictureError::Truncated { detail },
        Fault::Wrong(detail) => PictureError::Corrupt { detail },
    })?;
    let grey = grey?;
    if let (Some(blocks), Samples::Eight(samples)) = (blocks, &grey.samples)
        && let Some(place) = seams::find(samples, grey.width(), blocks)
    {
        return Err(PictureError::Corrupt {
            detail: format!(
                "a seam runs across it {place}, as where a part of the file was lost or written twice"
            ),
        });
    }
    Ok(grey)
}

fn samples(bytes: &[u8], shape: &Shape) -> Result<Grey, PictureError> {
    let fail = |e: zune_jpeg::errors::DecodeErrors| damaged(&e.to_string());
    let (w, h) = (usize::from(shape.width), usize::from(shape.height));
    let options = DecoderOptions::default()
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX));
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(fail)?;
    let luma = matches!(decoder.input_colorspace(), Some(ColorSpace::YCbCr | ColorSpace::Luma));
    let wanted = if luma { ColorSpace::Luma } else { ColorSpace::RGB };
    decoder.set_options(options.jpeg_set_out_colorspace(wanted));
    let mut samples = decoder.decode().map_err(fail)?;
    if !luma {
        for i in 0..samples.len() / 3 {
            samples[i] = luma8(&samples[3 * i..3 * i + 3], 3);
        }
        samples.truncate(w * h);
        samples.shrink_to_fit();
    }
    Grey::from_u8(w, h, samples).ok_or_else(|| PictureError::Damaged {
        detail: "the number of samples is not width times height".into(),
    })
}

/// What the markers say, without decoding.
struct Shape {
    width: u16,
    height: u16,
    /// Whether the end-of-image marker follows the scans.
    complete: bool,
}

impl Shape {
    /// Walks the marker segments (ITU-T T.81 annex B). A decoder may fill what is missing with
    /// grey; a grey band has edges, so completeness is checked here.
    fn read(bytes: &[u8]) -> Result<Self, PictureError> {
        let short = |at: usize| PictureError::Truncated {
            detail: format!("the header stops at byte {at} of {}", bytes.len()),
        };
        let mut shape = Self { width: 0, height: 0, complete: false };
        let mut at = 2;
        // Next marker: 0xFF, fill bytes, then neither 0x00 (stuffing) nor a restart.
        while let Some(found) = bytes.get(at..).and_then(|b| memchr::memchr(0xFF, b)) {
            at += found + 1;
            let Some(&marker) = bytes.get(at) else { break };
            match marker {
                0x00 | 0x01 | 0xD0..=0xD8 => at += 1,
                0xFF => {}
                0xD9 => {
                    shape.complete = true;
                    break;
                }
                _ => {
                    let Some(&[high, low]) = bytes.get(at + 1..at + 3) else { break };
                    let length = usize::from(u16::from_be_bytes([high, low]));
                    let frame =
                        matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC);
                    if frame {
                        let Some(&[y1, y0, x1, x0]) = bytes.get(at + 4..at + 8) else {
                            return Err(short(at));
                        };
                        shape.height = u16::from_be_bytes([y1, y0]);
                        shape.width = u16::from_be_bytes([x1, x0]);
                    }
                    at += 1 + length.max(2);
                }
            }
        }
        if shape.width == 0 || shape.height == 0 {
            return Err(short(at.min(bytes.len())));
        }
        Ok(shape)
    }
}
