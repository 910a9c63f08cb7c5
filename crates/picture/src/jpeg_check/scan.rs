//! The blocks of one scan.

use super::Tables;
use super::bits::{Bits, Huffman};
use std::ops::Range;

/// Where the coefficient at each place of the zigzag lies does not matter here: steps and energies are in
/// the order of the zigzag, as the file has them.
const BLOCK: usize = 64;

/// Largest level of a block's mean: 8 x 128 for 8-bit samples (T.81 A.3.3), and a quarter for encoders that
/// overshoot on purpose where a picture is white.
const MOST_MEAN: i32 = 8 * (128 + 32);

/// Largest energy of a block, the sum of the squares of its coefficients: by Parseval's theorem that of
/// 64 samples at +-128, and half as much again for what is cut off at black and white.
const MOST_ENERGY: u64 = 64 * 128 * 128 * 3 / 2;

/// What is wrong in a scan.
pub(super) struct Wrong {
    pub why: &'static str,
    /// Row of pixels, from the top of the picture as it is stored.
    pub row_px: usize,
}

const NO_CODE: &str = "a code that does not exist stands in the data";
const TOO_MANY: &str = "a block holds more than 64 values";
const TOO_BRIGHT: &str = "a block is brighter or darker than a picture can be";
const TOO_STRONG: &str = "a block holds values that no picture has";
const RUN: &str = "the data ends before its last block";

pub(super) struct Component {
    pub id: u8,
    h: usize,
    v: usize,
    steps: usize,
    /// Blocks across and down that hold the picture, and blocks across with what fills up the last unit.
    across: usize,
    down: usize,
    stride: usize,
    /// For each block, which of its values are not zero so far (progressive).
    known: Vec<u64>,
    seen: bool,
}

pub(super) struct Frame {
    pub height: usize,
    width: usize,
    progressive: bool,
    h_most: usize,
    v_most: usize,
    components: Vec<Component>,
}

impl Frame {
    /// The frame header (T.81 B.2.2); `None` for a precision that is not read here.
    pub fn read(body: &[u8], progressive: bool) -> Result<Option<Self>, ()> {
        let &[precision, y1, y0, x1, x0, count, ref rest @ ..] = body else { return Err(()) };
        if precision != 8 {
            return Ok(None);
        }
        let height = usize::from(u16::from_be_bytes([y1, y0]));
        let width = usize::from(u16::from_be_bytes([x1, x0]));
        let (parts, beyond) = rest.as_chunks::<3>();
        if height == 0
            || width == 0
            || parts.len() != usize::from(count)
            || !beyond.is_empty()
            || !(1..=4).contains(&count)
        {
            return Err(());
        }
        let (mut h_most, mut v_most) = (1, 1);
        for [_, hv, _] in parts {
            let (h, v) = (usize::from(hv >> 4), usize::from(hv & 15));
            if !(1..=4).contains(&h) || !(1..=4).contains(&v) {
                return Err(());
            }
            (h_most, v_most) = (h_most.max(h), v_most.max(v));
        }
        let (units_across, units_down) = (width.div_ceil(8 * h_most), height.div_ceil(8 * v_most));
        let components = parts
            .iter()
            .map(|&[id, hv, steps]| {
                let (h, v) = (usize::from(hv >> 4), usize::from(hv & 15));
                let stride = units_across * h;
                let blocks = if progressive { stride * units_down * v } else { 0 };
                Component {
                    id,
                    h,
                    v,
                    steps: usize::from(steps),
                    across: (width * h).div_ceil(h_most).div_ceil(8),
                    down: (height * v).div_ceil(v_most).div_ceil(8),
                    stride,
                    known: vec![0; blocks],
                    seen: false,
                }
            })
            .collect();
        Ok(Some(Self { height, width, progressive, h_most, v_most, components }))
    }

    /// Width and height, px, of a unit.
    pub fn unit_px(&self) -> (usize, usize) {
        match self.components.as_slice() {
            // A single component lies block by block, whatever its factors.
            [_] => (8, 8),
            _ => (8 * self.h_most, 8 * self.v_most),
        }
    }

    /// Step between two values of a whole block's brightness, in levels of 255 (T.81 A.3.3 and A.3.4: the
    /// first coefficient is eight times the mean).
    pub fn coarseness(&self, tables: &Tables) -> f32 {
        let first = self.components.first().and_then(|c| tables.steps.get(c.steps)?.as_ref());
        first.map_or(0.0, |steps| f32::from(steps[0]) / 8.0)
    }

    /// Whether every component had its data.
    pub fn complete(&self) -> bool {
        self.components.iter().all(|c| c.seen)
    }
}

/// What one component's values are read with.
struct Part<'a> {
    index: usize,
    dc: Option<&'a Huffman>,
    ac: Option<&'a Huffman>,
    /// Step of the mean.
    step: i32,
    /// Least energy of a value of so many bits at each place of the zigzag.
    energy: Vec<[u32; 16]>,
}

/// A scan header, and how its units lie.
pub(super) struct Layout<'a> {
    parts: Vec<Part<'a>>,
    from: usize,
    to: usize,
    high: u32,
    low: u32,
    progressive: bool,
    units_across: usize,
    units_down: usize,
    unit_height_px: usize,
}

impl<'a> Layout<'a> {
    /// The scan header (T.81 B.2.3); `None` where it makes no sense.
    pub fn read(head: &[u8], frame: &mut Frame, tables: &'a Tables) -> Option<Self> {
        let (&count, rest) = head.split_first()?;
        let count = usize::from(count);
        let (named, last) = rest.split_at_checked(2 * count)?;
        let &[from, to, approximation] = last else { return None };
        let (mut from, mut to) = (usize::from(from), usize::from(to));
        let (mut high, mut low) = (u32::from(approximation >> 4), u32::from(approximation & 15));
        if frame.progressive {
            let means = from == 0;
            if to > 63 || from > to || means != (to == 0) || (!means && count != 1) || low > 13 {
                return None;
            }
        } else {
            (from, to, high, low) = (0, 63, 0, 0);
        }
        let mut parts: Vec<Part<'a>> = Vec::with_capacity(count);
        for &[id, which] in named.as_chunks::<2>().0 {
            let index = frame.components.iter().position(|c| c.id == id)?;
            if parts.iter().any(|p| p.index == index) {
                return None;
            }
            let c = frame.components.get_mut(index)?;
            if from == 0 {
                if c.seen && high == 0 {
                    return None;
                }
                c.seen = true;
            }
            let steps = tables.steps.get(c.steps)?.as_ref()?;
            let table =
                |of: &'a [Option<Huffman>; 4], which: u8| of.get(usize::from(which))?.as_ref();
            let dc = table(&tables.dc, which >> 4);
            let ac = table(&tables.ac, which & 15);
            if (from == 0 && high == 0 && dc.is_none()) || (to > 0 && ac.is_none()) {
                return None;
            }
            let least = |step: u16| {
                std::array::from_fn(|size| {
                    let value = if size == 0 { 0 } else { 1u64 << (size - 1) << low };
                    let value = (value * u64::from(step)).min(u64::from(u16::MAX));
                    (value * value) as u32
                })
            };
            let energy = steps.iter().map(|&step| least(step)).collect();
            parts.push(Part { index, dc, ac, step: i32::from(steps[0]), energy });
        }
        let (units_across, units_down, unit_height_px) = match parts.as_slice() {
            [] => return None,
            [one] => {
                let c = frame.components.get(one.index)?;
                (c.across, c.down, (8 * frame.v_most / c.v).max(1))
            }
            many => {
                let blocks = |p: &Part<'_>| frame.components.get(p.index).map_or(0, |c| c.h * c.v);
                if many.iter().map(blocks).sum::<usize>() > 10 {
                    return None;
                }
                let (h, v) = (8 * frame.h_most, 8 * frame.v_most);
                (frame.width.div_ceil(h), frame.height.div_ceil(v), v)
            }
        };
        let progressive = frame.progressive;
        Some(Self {
            parts,
            from,
            to,
            high,
            low,
            progressive,
            units_across,
            units_down,
            unit_height_px,
        })
    }

    /// How many units there are.
    pub fn units(&self) -> usize {
        self.units_across * self.units_down
    }

    /// Reads the units of one stretch between restarts.
    ///
    /// # Errors
    /// What is [`Wrong`], and where.
    pub fn read_units(
        &self,
        units: Range<usize>,
        frame: &mut Frame,
        bits: &mut Bits<'_>,
    ) -> Result<(), Wrong> {
        let mut means = [0i32; 4];
        // Blocks that still have nothing more in them (progressive).
        let mut run = 0u32;
        let end = units.end;
        for unit in units {
            let (x, y) = (unit % self.units_across, unit / self.units_across);
            let at = |why| Wrong { why, row_px: y * self.unit_height_px };
            for (part, mean) in self.parts.iter().zip(&mut means) {
                let Some(component) = frame.components.get_mut(part.index) else { continue };
                let (h, v) = if self.parts.len() > 1 { (component.h, component.v) } else { (1, 1) };
                for block in 0..h * v {
                    let read = if !self.progressive {
                        whole_block(bits, part, mean)
                    } else {
                        let index = (y * v + block / h) * component.stride + x * h + block % h;
                        match component.known.get_mut(index) {
                            Some(known) => self.pass(bits, part, mean, &mut run, known),
                            None => Err(RUN),
                        }
                    };
                    read.map_err(at)?;
                }
            }
            if bits.ran_out() {
                return Err(at(RUN));
            }
        }
        if run > 0 {
            let row_px = end.div_ceil(self.units_across) * self.unit_height_px;
            return Err(Wrong { why: "a run of blocks goes on beyond the last one", row_px });
        }
        Ok(())
    }

    /// One pass of a progressive picture over one block (T.81 annex G).
    #[inline]
    fn pass(
        &self,
        bits: &mut Bits<'_>,
        part: &Part<'_>,
        mean: &mut i32,
        run: &mut u32,
        known: &mut u64,
    ) -> Result<(), &'static str> {
        match (self.from, self.high) {
            (0, 0) => next_mean(bits, part, mean, self.low),
            (0, _) => {
                bits.take(1);
                Ok(())
            }
            (_, 0) => self.first(bits, part, run, known),
            _ => self.refine(bits, part, run, known),
        }
    }

    /// First bits of the values `from` to `to`.
    fn first(
        &self,
        bits: &mut Bits<'_>,
        part: &Part<'_>,
        run: &mut u32,
        known: &mut u64,
    ) -> Result<(), &'static str> {
        if *run > 0 {
            *run -= 1;
            return Ok(());
        }
        let table = part.ac.ok_or(NO_CODE)?;
        let mut k = self.from;
        let mut energy = 0;
        while k <= self.to {
            let symbol = bits.symbol(table).ok_or(NO_CODE)?;
            let (zeros, size) = (usize::from(symbol >> 4), u32::from(symbol & 15));
            if size == 0 {
                if zeros < 15 {
                    *run = (1 << zeros) - 1 + bits.take(zeros as u32);
                    break;
                }
                k += 16;
                continue;
            }
            k += zeros;
            if k > self.to {
                return Err(TOO_MANY);
            }
            energy += u64::from(part.energy[k][size as usize]);
            bits.drop(size);
            *known |= 1 << k;
            k += 1;
        }
        if energy > MOST_ENERGY { Err(TOO_STRONG) } else { Ok(()) }
    }

    /// One bit more of the values `from` to `to`.
    fn refine(
        &self,
        bits: &mut Bits<'_>,
        part: &Part<'_>,
        run: &mut u32,
        known: &mut u64,
    ) -> Result<(), &'static str> {
        let mut k = self.from;
        if *run == 0 {
            let table = part.ac.ok_or(NO_CODE)?;
            while k <= self.to {
                let symbol = bits.symbol(table).ok_or(NO_CODE)?;
                let (mut zeros, size) = (symbol >> 4, symbol & 15);
                match size {
                    0 if zeros < 15 => {
                        *run = (1 << zeros) + bits.take(u32::from(zeros));
                        break;
                    }
                    0 => {}
                    1 => drop(bits.take(1)),
                    _ => return Err(NO_CODE),
                }
                while k <= self.to {
                    if *known >> k & 1 == 1 {
                        bits.take(1);
                    } else if zeros == 0 {
                        break;
                    } else {
                        zeros -= 1;
                    }
                    k += 1;
                }
                if size == 1 {
                    if k > self.to {
                        return Err(TOO_MANY);
                    }
                    *known |= 1 << k;
                }
                k += 1;
            }
        }
        if *run > 0 {
            // What is known already from here on has one bit more each.
            let mut rest = *known & (u64::MAX << k.min(63)) & (u64::MAX >> (63 - self.to));
            if k > self.to {
                rest = 0;
            }
            let mut count = rest.count_ones();
            while count > 0 {
                let some = count.min(16);
                bits.take(some);
                count -= some;
            }
            *run -= 1;
        }
        Ok(())
    }
}

/// The mean of a block, as the difference from the one before.
#[inline]
fn next_mean(
    bits: &mut Bits<'_>,
    part: &Part<'_>,
    mean: &mut i32,
    low: u32,
) -> Result<(), &'static str> {
    let size = bits.symbol(part.dc.ok_or(NO_CODE)?).ok_or(NO_CODE)?;
    // T.81 table F.1: differences of 8-bit pictures have at most 11 bits.
    if size > 11 {
        return Err(NO_CODE);
    }
    *mean += bits.value(u32::from(size));
    // Half a step for the rounding, and the bits still to come.
    if ((*mean << low) * part.step).abs() > MOST_MEAN + (part.step << low) {
        return Err(TOO_BRIGHT);
    }
    Ok(())
}

/// A whole block of a sequential picture (T.81 F.2.2).
#[inline]
fn whole_block(bits: &mut Bits<'_>, part: &Part<'_>, mean: &mut i32) -> Result<(), &'static str> {
    next_mean(bits, part, mean, 0)?;
    let table = part.ac.ok_or(NO_CODE)?;
    let mut k = 1;
    let mut energy = 0u64;
    while k < BLOCK {
        let symbol = bits.symbol(table).ok_or(NO_CODE)?;
        let (zeros, size) = (usize::from(symbol >> 4), usize::from(symbol & 15));
        if size == 0 {
            match zeros {
                0 => break,
                15 => k += 16,
                _ => return Err(NO_CODE),
            }
            continue;
        }
        k += zeros;
        let Some(of_place) = part.energy.get(k) else { return Err(TOO_MANY) };
        energy += u64::from(of_place[size]);
        bits.drop(size as u32);
        k += 1;
    }
    if k > BLOCK {
        return Err(TOO_MANY);
    }
    if energy > MOST_ENERGY { Err(TOO_STRONG) } else { Ok(()) }
}
