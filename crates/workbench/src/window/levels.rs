//! A picture at full size and reduced by halves, for drawing: 48 million pixels stay fluid because
//! only what can be seen, at the size at which it is seen, becomes a texture.

use picture::Grey;

/// Side of a square of pixels that is drawn as one texture; every driver takes this.
pub const TILE: usize = 1024;

/// One size of the picture.
#[derive(Debug)]
pub struct Level {
    /// Width, px of this level.
    pub width: usize,
    /// Height, px of this level.
    pub height: usize,
    /// Grey, sRGB-encoded, row by row.
    pub grey: Vec<u8>,
}

/// All sizes, full size first.
#[derive(Debug)]
pub struct Levels {
    levels: Vec<Level>,
}

impl Levels {
    /// All sizes of `grey`, down to one tile.
    #[must_use]
    pub fn of(grey: &Grey) -> Self {
        let (width, height) = (grey.width(), grey.height());
        let mut bytes = Vec::with_capacity(width * height);
        for y in 0..height as i64 {
            bytes.extend((0..width as i64).map(|x| grey.encoded(x, y)));
        }
        let mut levels = vec![Level { width, height, grey: bytes }];
        while let Some(last) = levels.last()
            && last.width.max(last.height) > TILE
        {
            levels.push(last.halved());
        }
        Self { levels }
    }

    /// The level of this number; the smallest when there is none so small.
    #[must_use]
    pub fn level(&self, number: usize) -> Option<&Level> {
        self.levels.get(number.min(self.levels.len().saturating_sub(1)))
    }

    /// Number of the smallest level.
    #[must_use]
    pub fn smallest(&self) -> usize {
        self.levels.len().saturating_sub(1)
    }

    /// The level to draw at `zoom` screen pixels per picture pixel: the smallest that still has at
    /// least one of its pixels for each on the screen.
    #[must_use]
    pub fn for_zoom(&self, zoom: f32) -> usize {
        let halvings = (1.0 / zoom.max(1e-6)).log2().floor().max(0.0);
        (halvings as usize).min(self.smallest())
    }
}

impl Level {
    fn halved(&self) -> Self {
        let (width, height) = (self.width.div_ceil(2), self.height.div_ceil(2));
        let mut grey = Vec::with_capacity(width * height);
        for y in 0..height {
            let upper = &self.grey[2 * y * self.width..][..self.width];
            let lower_y = (2 * y + 1).min(self.height - 1);
            let lower = &self.grey[lower_y * self.width..][..self.width];
            for x in 0..width {
                let (a, b) = (2 * x, (2 * x + 1).min(self.width - 1));
                let sum = u16::from(upper[a])
                    + u16::from(upper[b])
                    + u16::from(lower[a])
                    + u16::from(lower[b]);
                grey.push(((sum + 2) / 4) as u8);
            }
        }
        Self { width, height, grey }
    }

    /// The pixels of a tile: width, height, grey.
    #[must_use]
    pub fn tile(&self, column: usize, row: usize) -> (usize, usize, Vec<u8>) {
        let (x0, y0) = (column * TILE, row * TILE);
        let w = TILE.min(self.width.saturating_sub(x0));
        let h = TILE.min(self.height.saturating_sub(y0));
        let mut bytes = Vec::with_capacity(w * h);
        for y in y0..y0 + h {
            bytes.extend_from_slice(&self.grey[y * self.width + x0..][..w]);
        }
        (w, h, bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_halve_and_keep_the_mean() {
        let (w, h) = (2501, 1203);
        let bytes: Vec<u8> = (0..w * h).map(|i| ((i % w) / 10) as u8).collect();
        let levels = Levels::of(&Grey::from_u8(w, h, bytes).unwrap());
        assert_eq!(levels.smallest(), 2);
        let (full, half) = (levels.level(0).unwrap(), levels.level(1).unwrap());
        assert_eq!((half.width, half.height), (1251, 602));
        let mean =
            |l: &Level| l.grey.iter().map(|&v| f64::from(v)).sum::<f64>() / l.grey.len() as f64;
        assert!((mean(full) - mean(half)).abs() < 0.6);
        let tiles: usize = (0..3)
            .flat_map(|c| (0..2).map(move |r| (c, r)))
            .map(|(c, r)| full.tile(c, r).2.len())
            .sum();
        assert_eq!(tiles, w * h);
    }

    #[test]
    fn the_level_fits_the_zoom() {
        let levels = Levels::of(&Grey::from_u8(4096, 4096, vec![0; 4096 * 4096]).unwrap());
        assert_eq!(levels.for_zoom(3.0), 0);
        assert_eq!(levels.for_zoom(0.6), 0);
        assert_eq!(levels.for_zoom(0.5), 1);
        assert_eq!(levels.for_zoom(0.01), 2);
    }
}
