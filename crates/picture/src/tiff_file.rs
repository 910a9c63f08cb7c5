//! TIFF, strip by strip or tile by tile: never more than one in colour.

use std::io::{BufRead, Seek};

use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult};
use tiff::tags::Tag;

use crate::decode::{Limits, admit, damaged, decode_with, wrong_length};
use crate::grey::Grey;
use crate::luma::{luma8, luma16};
use crate::notice::PictureError;

pub(crate) fn decode<R: BufRead + Seek>(
    mut source: R,
    limits: &Limits,
) -> Result<Grey, PictureError> {
    if let Some(grey) = by_chunks(&mut source, limits)? {
        return Ok(grey);
    }
    // Rarer layouts go through the general decoder.
    source.rewind().map_err(|e| damaged(&e.to_string()))?;
    let decoder = image::codecs::tiff::TiffDecoder::new(source);
    decode_with(decoder.map_err(|e| damaged(&e.to_string()))?, limits)
}

/// What the decoder may ask for: a whole picture may lie in one strip, which is read at once, as it is in the
/// file and as samples.
fn in_one_strip(limits: &Limits) -> tiff::decoder::Limits {
    let most = usize::try_from(limits.max_file_bytes).unwrap_or(usize::MAX);
    let mut of_strip = tiff::decoder::Limits::default();
    of_strip.decoding_buffer_size = of_strip.decoding_buffer_size.max(most);
    of_strip.intermediate_buffer_size = of_strip.intermediate_buffer_size.max(most);
    of_strip
}

/// The common layouts: 8 or 16 bits of grey or colour, interleaved. `None` for any other.
fn by_chunks<R: BufRead + Seek>(
    source: &mut R,
    limits: &Limits,
) -> Result<Option<Grey>, PictureError> {
    let fail = |e: tiff::TiffError| damaged(&e.to_string());
    let mut decoder = Decoder::new(source).map_err(fail)?.with_limits(in_one_strip(limits));
    let (w, h) = decoder.dimensions().map_err(fail)?;
    admit(w.into(), h.into(), limits)?;
    let (channels, bits) = match decoder.colortype().map_err(fail)? {
        ColorType::Gray(bits) => (1, bits),
        ColorType::GrayA(bits) => (2, bits),
        ColorType::RGB(bits) => (3, bits),
        ColorType::RGBA(bits) => (4, bits),
        _ => return Ok(None),
    };
    let tag =
        |decoder: &mut Decoder<_>, tag| decoder.find_tag_unsigned_vec::<u16>(tag).map_err(fail);
    let interleaved = tag(&mut decoder, Tag::PlanarConfiguration)?.is_none_or(|v| v == [1]);
    let whole_numbers =
        tag(&mut decoder, Tag::SampleFormat)?.is_none_or(|v| v.iter().all(|&f| f == 1));
    if !interleaved || !whole_numbers || !matches!(bits, 8 | 16) {
        return Ok(None);
    }
    let (w, h) = (w as usize, h as usize);
    let (cw, ch) = decoder.chunk_dimensions();
    let (cw, ch) = (cw as usize, ch as usize);
    if cw == 0 || ch == 0 {
        return Err(wrong_length());
    }
    let across = w.div_ceil(cw);
    let mut eight = vec![0u8; if bits == 8 { w * h } else { 0 }];
    let mut sixteen = vec![0u16; if bits == 16 { w * h } else { 0 }];
    for chunk in 0..across * h.div_ceil(ch) {
        let index = chunk as u32;
        let (dw, dh) = decoder.chunk_data_dimensions(index);
        let (dw, dh) = (dw as usize, dh as usize);
        let (x0, y0) = (chunk % across * cw, chunk / across * ch);
        if dw == 0 || x0 + dw > w || y0 + dh > h {
            return Err(wrong_length());
        }
        match decoder.read_chunk(index).map_err(fail)? {
            DecodingResult::U8(v) if bits == 8 => {
                for (row, y) in v.chunks_exact(dw * channels).zip(y0..y0 + dh) {
                    let to = &mut eight[y * w + x0..][..dw];
                    for (to, p) in to.iter_mut().zip(row.chunks_exact(channels)) {
                        *to = luma8(p, channels);
                    }
                }
            }
            DecodingResult::U16(v) if bits == 16 => {
                for (row, y) in v.chunks_exact(dw * channels).zip(y0..y0 + dh) {
                    let to = &mut sixteen[y * w + x0..][..dw];
                    for (to, p) in to.iter_mut().zip(row.chunks_exact(channels)) {
                        let mut big = [0u8; 8];
                        for (b, v) in big.chunks_exact_mut(2).zip(p) {
                            b.copy_from_slice(&v.to_be_bytes());
                        }
                        *to = luma16(&big[..2 * channels], channels);
                    }
                }
            }
            _ => return Err(wrong_length()),
        }
    }
    let grey = if bits == 8 { Grey::from_u8(w, h, eight) } else { Grey::from_u16(w, h, sixteen) };
    grey.map(Some).ok_or_else(wrong_length)
}
