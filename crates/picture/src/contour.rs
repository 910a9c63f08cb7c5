//! Following the boundary of a mask, with the boundary placed between pixels where the
//! brightness crosses the threshold.

/// A bit mask of what belongs to objects, with room for a mark on each pixel.
pub(crate) struct Mask {
    pub w: usize,
    pub h: usize,
    bits: Vec<u8>,
}

const OBJECT: u8 = 1;
const SEEN: u8 = 2;

impl Mask {
    pub fn new(w: usize, h: usize) -> Self {
        Self { w, h, bits: vec![0; w * h] }
    }

    pub fn row_mut(&mut self, y: usize) -> &mut [u8] {
        &mut self.bits[y * self.w..(y + 1) * self.w]
    }

    pub fn get(&self, x: i64, y: i64) -> bool {
        x >= 0
            && y >= 0
            && (x as usize) < self.w
            && (y as usize) < self.h
            && self.bits[y as usize * self.w + x as usize] & OBJECT != 0
    }

    /// Fraction of the picture's border that the mask covers.
    pub fn border_fraction(&self) -> f64 {
        let (w, h) = (self.w as i64, self.h as i64);
        let across = (0..w).filter(|&x| self.get(x, 0)).count()
            + (0..w).filter(|&x| self.get(x, h - 1)).count();
        let down = (0..h).filter(|&y| self.get(0, y)).count()
            + (0..h).filter(|&y| self.get(w - 1, y)).count();
        (across + down) as f64 / (2 * (w + h)).max(1) as f64
    }

    /// The mask with object and background exchanged.
    pub fn inverted(&self) -> Self {
        Self {
            w: self.w,
            h: self.h,
            bits: self.bits.iter().map(|&b| b & OBJECT ^ OBJECT).collect(),
        }
    }
}

/// A closed boundary. Walking along it, the object is on the right hand (seen with y down), so
/// the outward normal of a step `(tx, ty)` is `(ty, -tx)`.
#[derive(Clone, Debug)]
pub(crate) struct Boundary {
    /// Where the boundary passes between an object pixel and a background pixel, in pixels of
    /// the mask; the flag says that the background there is only the world beyond the picture.
    pub points: Vec<(f32, f32, bool)>,
    /// Enclosed area in pixels of the mask; negative for the boundary of a hole.
    pub area: f64,
    /// x and y from, x and y to.
    pub extent: [f32; 4],
}

impl Boundary {
    pub fn diagonal(&self) -> f64 {
        f64::from((self.extent[2] - self.extent[0]).hypot(self.extent[3] - self.extent[1]))
    }
}

/// Follows every boundary of the mask that is at least `least` steps long.
///
/// `level(x, y)` is positive in object pixels and negative in background pixels; the boundary is
/// placed where it would be zero between them. Object pixels that touch by a corner only are
/// apart.
pub(crate) fn boundaries(
    mask: &mut Mask,
    least: usize,
    level: impl Fn(usize, usize) -> f32,
) -> Vec<Boundary> {
    let (w, h) = (mask.w as i64, mask.h as i64);
    let mut found = Vec::new();
    let mut points: Vec<(f32, f32, bool)> = Vec::new();
    for y in 0..h {
        for x in 0..w {
            let here = y as usize * mask.w + x as usize;
            if mask.bits[here] & (OBJECT | SEEN) != OBJECT || mask.get(x - 1, y) {
                continue;
            }
            points.clear();
            let mut doubled_area = 0i64;
            // Corners of pixels; heading 0 east, 1 south, 2 west, 3 north. Start up the left side.
            let (start_x, start_y) = (x, y + 1);
            let (mut cx, mut cy, mut heading) = (start_x, start_y, 3u8);
            loop {
                let (dx, dy) = [(1, 0), (0, 1), (-1, 0), (0, -1)][heading as usize];
                // The pixels on the right hand and the left hand of the step.
                let ((rx, ry), (lx, ly)) = match heading {
                    0 => ((cx, cy), (cx, cy - 1)),
                    1 => ((cx - 1, cy), (cx, cy)),
                    2 => ((cx - 1, cy - 1), (cx - 1, cy)),
                    _ => ((cx, cy - 1), (cx - 1, cy - 1)),
                };
                if heading == 3 {
                    mask.bits[ry as usize * mask.w + rx as usize] |= SEEN;
                }
                let outside = lx < 0 || ly < 0 || lx >= w || ly >= h;
                let t = if outside {
                    0.5
                } else {
                    let inner = level(rx as usize, ry as usize);
                    let outer = level(lx as usize, ly as usize);
                    if inner > 0.0 && outer < 0.0 { inner / (inner - outer) } else { 0.5 }
                };
                points.push((
                    rx as f32 + 0.5 + t * (lx - rx) as f32,
                    ry as f32 + 0.5 + t * (ly - ry) as f32,
                    outside,
                ));
                doubled_area += cx * (cy + dy) - (cx + dx) * cy;
                cx += dx;
                cy += dy;
                // Ahead on the right and on the left.
                let ((ax, ay), (bx, by)) = match heading {
                    0 => ((cx, cy), (cx, cy - 1)),
                    1 => ((cx - 1, cy), (cx, cy)),
                    2 => ((cx - 1, cy - 1), (cx - 1, cy)),
                    _ => ((cx, cy - 1), (cx - 1, cy - 1)),
                };
                if !mask.get(ax, ay) {
                    heading = (heading + 1) % 4;
                } else if mask.get(bx, by) {
                    heading = (heading + 3) % 4;
                }
                if (cx, cy, heading) == (start_x, start_y, 3) {
                    break;
                }
            }
            if points.len() >= least {
                let mut extent =
                    [f32::INFINITY, f32::INFINITY, f32::NEG_INFINITY, f32::NEG_INFINITY];
                for &(px, py, _) in &points {
                    extent[0] = extent[0].min(px);
                    extent[1] = extent[1].min(py);
                    extent[2] = extent[2].max(px);
                    extent[3] = extent[3].max(py);
                }
                found.push(Boundary {
                    points: points.clone(),
                    area: doubled_area as f64 / 2.0,
                    extent,
                });
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask_of(rows: &[&str]) -> Mask {
        let mut mask = Mask::new(rows[0].len(), rows.len());
        for (y, row) in rows.iter().enumerate() {
            for (to, c) in mask.row_mut(y).iter_mut().zip(row.bytes()) {
                *to = u8::from(c == b'#');
            }
        }
        mask
    }

    #[test]
    fn a_square_with_a_hole_and_a_corner_neighbour() {
        let mut mask = mask_of(&["......", ".###..", ".#.#..", ".###..", "....#.", "......"]);
        let found = boundaries(&mut mask, 1, |_, _| 0.0);
        let mut areas: Vec<f64> = found.iter().map(|b| b.area).collect();
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas, [-1.0, 1.0, 9.0]);
    }

    #[test]
    fn the_normal_points_outward() {
        let mut mask = mask_of(&[".....", ".###.", ".###.", ".###.", "....."]);
        let found = boundaries(&mut mask, 1, |_, _| 0.0);
        let p = &found[0].points;
        let n = p.len();
        for i in 0..n {
            let (a, b) = (p[i], p[(i + 1) % n]);
            let (tx, ty) = (b.0 - a.0, b.1 - a.1);
            let (mx, my) = ((a.0 + b.0) / 2.0 - 2.5, (a.1 + b.1) / 2.0 - 2.5);
            assert!(ty * mx - tx * my > 0.0);
        }
    }

    #[test]
    fn the_boundary_follows_the_level() {
        let (w, h) = (8, 6);
        let mut mask = Mask::new(w, h);
        let level = |x: usize, _: usize| x as f32 + 0.5 - 3.8;
        for y in 0..h {
            for (x, to) in mask.row_mut(y).iter_mut().enumerate() {
                *to = u8::from(level(x, y) > 0.0);
            }
        }
        let found = boundaries(&mut mask, 1, level);
        assert_eq!(found.len(), 1);
        let inner: Vec<_> = found[0].points.iter().filter(|p| !p.2).collect();
        assert_eq!(inner.len(), h);
        assert!(inner.iter().all(|p| (p.0 - 3.8).abs() < 1e-6));
    }
}
