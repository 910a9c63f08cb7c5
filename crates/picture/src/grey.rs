//! A grey picture kept as the file's own samples, with a table from sample to linear light.

/// The samples, as many bits as the file had.
#[derive(Clone, Debug)]
pub(crate) enum Samples {
    Eight(Vec<u8>),
    Sixteen(Vec<u16>),
}

/// A grey picture. Samples stay as they came (8 or 16 bits, sRGB-encoded); light is looked up.
///
/// Luma is a weighted sum of *encoded* red, green and blue. Where an edge runs from black to
/// light of any one colour the three grow in proportion, so the looked-up light is still
/// proportional to the light that arrived; coloured light does not move an edge.
#[derive(Clone, Debug)]
pub struct Grey {
    width: usize,
    height: usize,
    pub(crate) samples: Samples,
    to_linear: Vec<f32>,
}

/// Electro-optical transfer of IEC 61966-2-1 (sRGB): encoded 0..1 to linear light 0..1.
pub fn srgb_to_linear(encoded: f64) -> f64 {
    if encoded <= 0.04045 { encoded / 12.92 } else { ((encoded + 0.055) / 1.055).powf(2.4) }
}

impl Grey {
    /// Wraps rows of 8-bit samples. `None` when the length is not `width * height`.
    pub fn from_u8(width: usize, height: usize, samples: Vec<u8>) -> Option<Self> {
        if width.checked_mul(height) != Some(samples.len()) {
            return None;
        }
        let to_linear = (0..256).map(|i| srgb_to_linear(f64::from(i) / 255.0) as f32).collect();
        Some(Self { width, height, samples: Samples::Eight(samples), to_linear })
    }

    /// Wraps rows of 16-bit samples. `None` when the length is not `width * height`.
    pub fn from_u16(width: usize, height: usize, samples: Vec<u16>) -> Option<Self> {
        if width.checked_mul(height) != Some(samples.len()) {
            return None;
        }
        let to_linear = (0..65536).map(|i| srgb_to_linear(f64::from(i) / 65535.0) as f32).collect();
        Some(Self { width, height, samples: Samples::Sixteen(samples), to_linear })
    }

    /// Width in pixels.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Height in pixels.
    pub fn height(&self) -> usize {
        self.height
    }

    /// Linear light (0 black, 1 the brightest the file can say) of a pixel; outside the picture
    /// that of the nearest pixel, and 0 if there is none.
    pub fn linear(&self, x: i64, y: i64) -> f32 {
        if self.width == 0 || self.height == 0 {
            return 0.0;
        }
        let x = x.clamp(0, self.width as i64 - 1) as usize;
        let y = y.clamp(0, self.height as i64 - 1) as usize;
        self.light_at(y * self.width + x)
    }

    /// Encoded sample scaled to 8 bits, for drawing; outside the picture as [`Grey::linear`].
    pub fn encoded(&self, x: i64, y: i64) -> u8 {
        if self.width == 0 || self.height == 0 {
            return 0;
        }
        let x = x.clamp(0, self.width as i64 - 1) as usize;
        let y = y.clamp(0, self.height as i64 - 1) as usize;
        match &self.samples {
            Samples::Eight(s) => s[y * self.width + x],
            Samples::Sixteen(s) => (s[y * self.width + x] >> 8) as u8,
        }
    }

    fn light_at(&self, index: usize) -> f32 {
        match &self.samples {
            Samples::Eight(s) => self.to_linear[s[index] as usize],
            Samples::Sixteen(s) => self.to_linear[s[index] as usize],
        }
    }

    /// Linear light of `out.len()` pixels of column `x` from row `y0` down. The caller keeps the
    /// run inside the picture.
    pub(crate) fn column(&self, x: usize, y0: usize, out: &mut [f32]) {
        let mut index = y0 * self.width + x;
        for o in out {
            *o = self.light_at(index);
            index += self.width;
        }
    }

    /// Linear light of `out.len()` pixels of row `y` from column `x0` right. The caller keeps
    /// the run inside the picture.
    pub(crate) fn row(&self, y: usize, x0: usize, out: &mut [f32]) {
        let start = y * self.width + x0;
        for (i, o) in out.iter_mut().enumerate() {
            *o = self.light_at(start + i);
        }
    }

    /// Linear light between pixel centres, bilinear, at continuous coordinates.
    pub(crate) fn light_between(&self, x: f64, y: f64) -> f64 {
        let (fx, fy) = ((x - 0.5).floor(), (y - 0.5).floor());
        let (tx, ty) = (x - 0.5 - fx, y - 0.5 - fy);
        let (i, j) = (fx as i64, fy as i64);
        let at = |i, j| f64::from(self.linear(i, j));
        (at(i, j) * (1.0 - tx) + at(i + 1, j) * tx) * (1.0 - ty)
            + (at(i, j + 1) * (1.0 - tx) + at(i + 1, j + 1) * tx) * ty
    }

    /// Linear light of the largest sample.
    pub(crate) fn brightest(&self) -> f32 {
        self.to_linear.last().copied().unwrap_or(1.0)
    }

    /// Bytes held by the samples.
    pub fn bytes(&self) -> usize {
        match &self.samples {
            Samples::Eight(s) => s.len(),
            Samples::Sixteen(s) => 2 * s.len(),
        }
    }
}
