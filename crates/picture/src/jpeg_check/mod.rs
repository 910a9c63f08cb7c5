//! Whether the entropy-coded data of a JPEG is whole: every block is there, no code is impossible, the
//! restart markers come in order and the end comes where it belongs.
//!
//! JPEG has no checksum. A decoder that meets a damaged stretch finds its way back into the codes a few
//! blocks later and goes on, with everything after it shifted and of another brightness; such a picture
//! looks sound and measures wrong. So the codes are read once more, without turning them into samples:
//! ITU-T T.81, annexes B (markers), F (sequential) and G (progressive).

mod bits;
mod scan;
pub(crate) mod seams;

use bits::{Bits, Huffman};
use scan::{Frame, Layout};

/// Most scans of one picture; a progressive one has about ten.
const MOST_SCANS: usize = 200;

/// What is wrong with a JPEG, in words that follow "the picture file is damaged: ".
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Fault {
    /// It stops before the picture is complete.
    Short(String),
    /// What stands there cannot be.
    Wrong(String),
}

/// The blocks of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Blocks {
    /// Width and height of a unit, px, whose rows the data goes along.
    pub unit: (usize, usize),
    /// Step between two values of a whole block's brightness, in levels of 255.
    pub coarseness: f32,
}

/// Tables that hold until they are replaced.
#[derive(Default)]
struct Tables {
    dc: [Option<Huffman>; 4],
    ac: [Option<Huffman>; 4],
    /// Steps in zigzag order.
    steps: [Option<[u16; 64]>; 4],
    restart_every: usize,
}

/// Reads all codes of a JPEG. Kinds that are not read here (arithmetic codes, lossless, 12 bits) pass: the
/// decoder refuses them.
///
/// Answers with what blocks it is of; `None` where it was not read.
///
/// # Errors
/// The first [`Fault`].
pub(crate) fn check(bytes: &[u8]) -> Result<Option<Blocks>, Fault> {
    let mut tables = Tables::default();
    let mut frame: Option<Frame> = None;
    let mut scans = 0;
    let mut at = 2;
    loop {
        let (marker, after) = next_marker(bytes, at)?;
        at = after;
        match marker {
            0xD9 => break,
            0x01 | 0xD8 => continue,
            0xD0..=0xD7 => {
                return Err(Fault::Wrong(format!(
                    "a restart marker stands outside the picture's data, at byte {at}"
                )));
            }
            _ => {}
        }
        let body = segment(bytes, at)?;
        at += 2 + body.len();
        match marker {
            0xDB => quantisation(body, &mut tables)?,
            0xC4 => huffman(body, &mut tables)?,
            0xDD => match body {
                [high, low] => {
                    tables.restart_every = usize::from(u16::from_be_bytes([*high, *low]));
                }
                _ => return Err(header("restart interval")),
            },
            0xC0..=0xC2 => {
                if frame.is_some() {
                    return Err(Fault::Wrong("it holds two pictures in one".into()));
                }
                match Frame::read(body, marker == 0xC2) {
                    Ok(Some(read)) => frame = Some(read),
                    Ok(None) => return Ok(None),
                    Err(()) => return Err(header("frame")),
                }
            }
            // Kinds that are refused by the decoder.
            0xC3 | 0xC5..=0xC7 | 0xC8..=0xCB | 0xCD..=0xCF => return Ok(None),
            0xDA => {
                let Some(frame) = &mut frame else { return Err(header("scan")) };
                scans += 1;
                if scans > MOST_SCANS {
                    return Err(Fault::Wrong(format!("it has more than {MOST_SCANS} scans")));
                }
                at = scan(bytes, at, body, frame, &tables)?;
            }
            _ => {}
        }
    }
    match frame {
        Some(frame) if frame.complete() => {
            Ok(Some(Blocks { unit: frame.unit_px(), coarseness: frame.coarseness(&tables) }))
        }
        Some(_) => Err(Fault::Wrong("one of its colours has no data".into())),
        None => Err(header("frame")),
    }
}

fn header(which: &str) -> Fault {
    Fault::Wrong(format!("the {which} header makes no sense"))
}

/// The next marker at or after `at`, and the byte after it; between segments there may be fill bytes
/// only.
fn next_marker(bytes: &[u8], at: usize) -> Result<(u8, usize), Fault> {
    let short = || Fault::Short(format!("the end marker is missing after {} bytes", bytes.len()));
    let rest = bytes.get(at..).ok_or_else(short)?;
    // Some cameras leave zeros between segments; anything else is damage.
    let zeros = rest.iter().take_while(|&&b| b == 0).count();
    let rest = &rest[zeros..];
    let fill = rest.iter().take_while(|&&b| b == 0xFF).count();
    match rest.get(fill) {
        None => Err(short()),
        Some(&marker) if fill > 0 && marker != 0 => Ok((marker, at + zeros + fill + 1)),
        Some(_) => Err(Fault::Wrong(format!(
            "bytes that belong to nothing stand before byte {} of {}",
            at + zeros + fill + 1,
            bytes.len()
        ))),
    }
}

/// The body of the segment whose length stands at `at`.
fn segment(bytes: &[u8], at: usize) -> Result<&[u8], Fault> {
    let short = || Fault::Short(format!("the header stops at byte {at} of {}", bytes.len()));
    let Some(&[high, low]) = bytes.get(at..at + 2) else { return Err(short()) };
    let length = usize::from(u16::from_be_bytes([high, low]));
    if length < 2 {
        return Err(Fault::Wrong(format!("a header of length {length} stands at byte {at}")));
    }
    bytes.get(at + 2..at + length).ok_or_else(short)
}

fn quantisation(mut body: &[u8], tables: &mut Tables) -> Result<(), Fault> {
    let bad = || header("quantisation");
    while let [kind, rest @ ..] = body {
        let to = tables.steps.get_mut(usize::from(kind & 15)).ok_or_else(bad)?;
        let mut steps = [0; 64];
        let wide = kind >> 4 != 0;
        let size = if wide { 128 } else { 64 };
        let values = rest.get(..size).ok_or_else(bad)?;
        for (i, step) in steps.iter_mut().enumerate() {
            *step = if wide {
                u16::from_be_bytes([values[2 * i], values[2 * i + 1]])
            } else {
                u16::from(values[i])
            };
        }
        *to = Some(steps);
        body = &rest[size..];
    }
    Ok(())
}

fn huffman(mut body: &[u8], tables: &mut Tables) -> Result<(), Fault> {
    let bad = || header("code");
    while let [kind, rest @ ..] = body {
        let counts = rest.get(..16).ok_or_else(bad)?;
        let total: usize = counts.iter().map(|&n| usize::from(n)).sum();
        let symbols = rest.get(16..16 + total).ok_or_else(bad)?;
        let table = Huffman::new(counts, symbols).ok_or_else(bad)?;
        let of_kind = if kind >> 4 == 0 { &mut tables.dc } else { &mut tables.ac };
        *of_kind.get_mut(usize::from(kind & 15)).ok_or_else(bad)? = Some(table);
        body = &rest[16 + total..];
    }
    Ok(())
}

/// Reads one scan whose data begins at `at`; answers with the byte after it.
fn scan(
    bytes: &[u8],
    at: usize,
    head: &[u8],
    frame: &mut Frame,
    tables: &Tables,
) -> Result<usize, Fault> {
    let layout = Layout::read(head, frame, tables).ok_or_else(|| header("scan"))?;
    let mut bits = Bits::new(bytes, at);
    let units = layout.units();
    let mut unit = 0;
    let mut restart = 0u8;
    while unit < units {
        let until = match tables.restart_every {
            0 => units,
            every => (unit + every).min(units),
        };
        layout.read_units(unit..until, frame, &mut bits).map_err(|wrong| {
            let (y, height) = (wrong.row_px, frame.height);
            if bits.ran_out() && bits.at_end_of_file() {
                Fault::Short(format!("the data stops near row {y} of {height}"))
            } else {
                Fault::Wrong(format!("{} near row {y} of {height}", wrong.why))
            }
        })?;
        unit = until;
        bits.finish().map_err(|left| {
            Fault::Wrong(format!("{left} bytes of data are left over where its data should end"))
        })?;
        if unit < units {
            bits.restart(restart).map_err(|seen| {
                Fault::Wrong(format!(
                    "restart marker {restart} is missing (found: {seen:#04x} at byte {})",
                    bits.at()
                ))
            })?;
            restart = (restart + 1) % 8;
        }
    }
    Ok(bits.at())
}
