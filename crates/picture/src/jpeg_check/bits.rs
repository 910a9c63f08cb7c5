//! The bits of a scan, without the bytes stuffed between them, and the codes in them.

/// Bits looked up at once; longer codes are rare.
const LOOKED_UP: u32 = 10;

/// A Huffman table (T.81 annex C).
pub(super) struct Huffman {
    /// For each start of a code: its length in the low byte (0: longer or none), its symbol above.
    quick: Vec<u16>,
    /// First code above each length, left-aligned to 16 bits, and what leads from code to symbol.
    above: [u32; 18],
    offset: [i32; 17],
    symbols: Vec<u8>,
}

impl Huffman {
    /// From the number of codes of each length and their symbols; `None` where there are too many.
    pub fn new(counts: &[u8], symbols: &[u8]) -> Option<Self> {
        let mut table = Self {
            quick: vec![0; 1 << LOOKED_UP],
            above: [0; 18],
            offset: [0; 17],
            symbols: symbols.to_vec(),
        };
        let (mut code, mut index) = (0u32, 0usize);
        for length in 1..=16u32 {
            let count = u32::from(*counts.get(length as usize - 1)?);
            table.offset[length as usize] = index as i32 - code as i32;
            for _ in 0..count {
                if code >= 1 << length {
                    return None;
                }
                if length <= LOOKED_UP {
                    let from = (code << (LOOKED_UP - length)) as usize;
                    let to = from + (1 << (LOOKED_UP - length));
                    let symbol = u16::from(*symbols.get(index)?);
                    table.quick.get_mut(from..to)?.fill(symbol << 8 | length as u16);
                }
                code += 1;
                index += 1;
            }
            table.above[length as usize] = code << (16 - length);
            code <<= 1;
        }
        table.above[17] = u32::MAX;
        Some(table)
    }
}

/// Reads bits; past the end of the data it reads zeros and knows that it did.
pub(super) struct Bits<'a> {
    bytes: &'a [u8],
    /// Next byte not yet taken in.
    at: usize,
    /// Bits taken in, left-aligned.
    held: u64,
    count: u32,
    /// A marker or the end of the file stands at `at`.
    ended: bool,
    /// Bits read past the end.
    missing: u32,
}

impl<'a> Bits<'a> {
    pub fn new(bytes: &'a [u8], at: usize) -> Self {
        Self { bytes, at, held: 0, count: 0, ended: false, missing: 0 }
    }

    /// Takes in bits until at least 32 are held.
    #[inline]
    fn fill(&mut self) {
        if self.count >= 32 {
            return;
        }
        if let Some(&four) = self.bytes.get(self.at..).and_then(<[u8]>::first_chunk::<4>)
            && !self.ended
        {
            let word = u32::from_be_bytes(four);
            // None of the four is 0xFF: no byte of the complement is zero.
            let complement = !word;
            if complement.wrapping_sub(0x0101_0101) & !complement & 0x8080_8080 == 0 {
                self.held |= u64::from(word) << (32 - self.count);
                self.count += 32;
                self.at += 4;
                return;
            }
        }
        self.fill_slowly();
    }

    #[cold]
    fn fill_slowly(&mut self) {
        while self.count <= 56 {
            let byte = match (self.ended, self.bytes.get(self.at)) {
                (false, Some(0xFF)) if self.bytes.get(self.at + 1) == Some(&0) => {
                    self.at += 2;
                    0xFF
                }
                (false, Some(&byte)) if byte != 0xFF => {
                    self.at += 1;
                    byte
                }
                _ => {
                    self.ended = true;
                    self.missing += 8;
                    0
                }
            };
            self.held |= u64::from(byte) << (56 - self.count);
            self.count += 8;
        }
    }

    /// Steps over `n` bits that belong to the symbol just read; at most 15, which are held by then.
    #[inline]
    pub fn drop(&mut self, n: u32) {
        self.held <<= n;
        self.count -= n;
    }

    /// Whether more was read than there is.
    pub fn ran_out(&self) -> bool {
        self.missing > self.count
    }

    /// Whether the data ended with the file, and not at a marker.
    pub fn at_end_of_file(&self) -> bool {
        self.bytes.len() <= self.at + 1
    }

    /// The next symbol; `None` where no code is like that.
    #[inline]
    pub fn symbol(&mut self, table: &Huffman) -> Option<u8> {
        self.fill();
        let entry = table.quick[(self.held >> (64 - LOOKED_UP)) as usize];
        if entry & 0xFF != 0 {
            self.drop(u32::from(entry & 0xFF));
            return Some((entry >> 8) as u8);
        }
        self.long_symbol(table)
    }

    #[cold]
    fn long_symbol(&mut self, table: &Huffman) -> Option<u8> {
        let head = (self.held >> 48) as u32;
        let length = (LOOKED_UP + 1..=16).find(|&n| head < table.above[n as usize])?;
        let code = (head >> (16 - length)) as i32;
        let symbol = *table.symbols.get((code + table.offset[length as usize]) as usize)?;
        self.drop(length);
        Some(symbol)
    }

    /// The next `n` bits, at most 16.
    #[inline]
    pub fn take(&mut self, n: u32) -> u32 {
        if n == 0 {
            return 0;
        }
        self.fill();
        let value = (self.held >> (64 - n)) as u32;
        self.drop(n);
        value
    }

    /// The signed value of `n` bits (T.81 F.2.2.1, EXTEND).
    #[inline]
    pub fn value(&mut self, n: u32) -> i32 {
        let v = self.take(n) as i32;
        if n > 0 && v < 1 << (n - 1) { v - (1 << n) + 1 } else { v }
    }

    /// Ends a stretch: what is left is part of a byte, and a marker follows. Fill bytes and zeros that
    /// some encoders leave pass.
    ///
    /// # Errors
    /// How many bytes are left over.
    pub fn finish(&mut self) -> Result<(), usize> {
        let real = self.count.saturating_sub(self.missing);
        let mut left = (real / 8) as usize;
        if left > 0 {
            let whole = self.held << (real % 8) >> (64 - 8 * left);
            if whole == 0 {
                left = 0;
            }
        }
        let mut beyond = 0;
        let mut zeros = true;
        while let Some(&byte) = self.bytes.get(self.at) {
            if byte == 0xFF && self.bytes.get(self.at + 1) != Some(&0) {
                break;
            }
            zeros &= byte == 0;
            beyond += 1;
            self.at += 1;
        }
        if !zeros || (beyond > 0 && left > 0) {
            left += beyond;
        }
        (self.held, self.count, self.missing) = (0, 0, 0);
        if left == 0 { Ok(()) } else { Err(left) }
    }

    /// Steps over restart marker `number`.
    ///
    /// # Errors
    /// The byte that stands there instead.
    pub fn restart(&mut self, number: u8) -> Result<(), u8> {
        while self.bytes.get(self.at) == Some(&0xFF) {
            self.at += 1;
        }
        match self.bytes.get(self.at) {
            Some(&seen) if seen == 0xD0 + number => {
                self.at += 1;
                self.ended = false;
                Ok(())
            }
            other => Err(other.copied().unwrap_or(0)),
        }
    }

    /// Where the next byte is.
    pub fn at(&self) -> usize {
        self.at
    }
}
