//! From the axis plane to the pixels of the picture.

use crate::scene::Scene;

/// A projective map of a plane onto a plane, row by row; `w` is normalised so that the origin maps
/// with weight `m[2][2]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography(pub [[f64; 3]; 3]);

impl Homography {
    /// A wall square to the light.
    pub const IDENTITY: Self = Self([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]);

    /// A wall that leans: the scale falls off as `1 / (1 + across u + up v)`, with `u` to the right
    /// and `v` up in mm.
    #[must_use]
    pub fn keystone(across_per_mm: f64, up_per_mm: f64) -> Self {
        Self([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [across_per_mm, up_per_mm, 1.0]])
    }

    /// The map that takes the rectangle of half sides `half` about the origin onto `corners`, given
    /// in the order lower left, lower right, upper right, upper left. `None` when the corners do
    /// not make a convex quadrilateral.
    ///
    /// Closed form for the unit square after P. Heckbert, *Fundamentals of Texture Mapping and
    /// Image Warping* (1989), section 2.2.3.
    #[must_use]
    pub fn from_corners(half: (f64, f64), corners: [(f64, f64); 4]) -> Option<Self> {
        let [(x0, y0), (x1, y1), (x2, y2), (x3, y3)] = corners;
        let (dx1, dx2, sx) = (x1 - x2, x3 - x2, x0 - x1 + x2 - x3);
        let (dy1, dy2, sy) = (y1 - y2, y3 - y2, y0 - y1 + y2 - y3);
        let determinant = dx1 * dy2 - dx2 * dy1;
        let g = (sx * dy2 - dx2 * sy) / determinant;
        let h = (dx1 * sy - sx * dy1) / determinant;
        let square = Self([
            [x1 - x0 + g * x1, x3 - x0 + h * x3, x0],
            [y1 - y0 + g * y1, y3 - y0 + h * y3, y0],
            [g, h, 1.0],
        ]);
        let unit = Self([[0.5 / half.0, 0.0, 0.5], [0.0, 0.5 / half.1, 0.5], [0.0, 0.0, 1.0]]);
        let positive = [1.0, 1.0 + g, 1.0 + h, 1.0 + g + h].iter().all(|w| *w > 1e-9);
        positive.then(|| square.after(&unit))
    }

    /// This map after `first`.
    #[must_use]
    pub fn after(&self, first: &Self) -> Self {
        let mut m = [[0.0; 3]; 3];
        for (row, target) in self.0.iter().zip(&mut m) {
            for (j, cell) in target.iter_mut().enumerate() {
                *cell = (0..3).map(|k| row[k] * first.0[k][j]).sum();
            }
        }
        Self(m)
    }

    /// The image of a point and the weight it was divided by (positive on the near side).
    fn apply(&self, (u, v): (f64, f64)) -> ((f64, f64), f64) {
        let row = |r: &[f64; 3]| r[0] * u + r[1] * v + r[2];
        let [a, b, c] = &self.0;
        let w = row(c);
        ((row(a) / w, row(b) / w), w)
    }

    fn is_affine(&self) -> bool {
        self.0[2][0] == 0.0 && self.0[2][1] == 0.0
    }
}

/// The whole way from the axis plane, `(z, x)` in mm, to the picture, px.
#[derive(Debug, Clone, Copy)]
pub struct Mapping {
    roll: (f64, f64),
    wall: Homography,
    flip: f64,
    scale: f64,
    centre: (f64, f64),
    middle: (f64, f64),
    half_diagonal: f64,
    k1: f64,
}

/// Straight lines are cut into pieces this long, px, where the lens bends them.
const STRAIGHT_PX: f64 = 4.0;

impl Mapping {
    pub(crate) fn of(scene: &Scene) -> Self {
        let (width, height) = (f64::from(scene.width_px), f64::from(scene.height_px));
        Self {
            roll: scene.roll_rad.sin_cos(),
            wall: scene.wall,
            flip: if scene.mirrored { -1.0 } else { 1.0 },
            scale: scene.px_per_mm,
            centre: scene.centre_px,
            middle: (0.5 * width, 0.5 * height),
            half_diagonal: 0.5 * width.hypot(height),
            k1: scene.lens_k1,
        }
    }

    /// Where a point `(z, x)` of the axis plane, mm, appears in the picture, px.
    #[must_use]
    pub fn px(&self, point_mm: (f64, f64)) -> (f64, f64) {
        self.bent(self.straight(point_mm).0)
    }

    /// Like [`Mapping::px`], or `None` when the point lies behind the wall's vanishing line or
    /// where the lens folds the picture over.
    pub(crate) fn checked(&self, point_mm: (f64, f64)) -> Option<(f64, f64)> {
        let (p, weight) = self.straight(point_mm);
        let r2 = self.radius_squared(p);
        // d/dr of r (1 + k r²) must stay positive.
        (weight > 1e-6 && 1.0 + 3.0 * self.k1 * r2 > 0.0).then(|| self.bent(p))
    }

    fn straight(&self, (z, x): (f64, f64)) -> ((f64, f64), f64) {
        let (sin, cos) = self.roll;
        let ((u, v), weight) = self.wall.apply((z * cos - x * sin, z * sin + x * cos));
        let p = (self.centre.0 + self.flip * self.scale * u, self.centre.1 - self.scale * v);
        (p, weight)
    }

    fn radius_squared(&self, p: (f64, f64)) -> f64 {
        let (dx, dy) = (p.0 - self.middle.0, p.1 - self.middle.1);
        (dx * dx + dy * dy) / (self.half_diagonal * self.half_diagonal)
    }

    fn bent(&self, p: (f64, f64)) -> (f64, f64) {
        if self.k1 == 0.0 {
            return p;
        }
        let factor = 1.0 + self.k1 * self.radius_squared(p);
        (
            self.middle.0 + (p.0 - self.middle.0) * factor,
            self.middle.1 + (p.1 - self.middle.1) * factor,
        )
    }

    /// A polyline of the axis plane in the picture. `None` as for [`Mapping::checked`].
    pub(crate) fn polyline(
        &self,
        points_mm: &[(f64, f64)],
        closed: bool,
    ) -> Option<Vec<(f64, f64)>> {
        if self.k1 == 0.0 && (self.wall.is_affine() || points_mm.is_empty()) {
            return Some(points_mm.iter().map(|&p| self.px(p)).collect());
        }
        let mut out = Vec::with_capacity(2 * points_mm.len());
        let n = points_mm.len();
        for (i, &a) in points_mm.iter().enumerate() {
            let from = self.checked(a)?;
            out.push(from);
            let b = match points_mm.get(i + 1) {
                Some(&b) => b,
                None if closed && n > 2 => points_mm[0],
                None => break,
            };
            // A homography keeps lines straight; only the lens needs points in between.
            if self.k1 != 0.0 {
                let to = self.checked(b)?;
                let pieces = ((to.0 - from.0).hypot(to.1 - from.1) / STRAIGHT_PX).ceil().min(1e5);
                for k in 1..pieces as u32 {
                    let t = f64::from(k) / pieces;
                    out.push(self.checked((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)))?);
                }
            }
        }
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn corners_go_where_they_are_told() {
        let half = (30.0, 20.0);
        let corners = [(-31.0, -19.0), (28.0, -21.5), (33.0, 24.0), (-29.0, 18.0)];
        let map = Homography::from_corners(half, corners).unwrap();
        for (from, to) in
            [(-30.0, -20.0), (30.0, -20.0), (30.0, 20.0), (-30.0, 20.0)].into_iter().zip(corners)
        {
            let (p, weight) = map.apply(from);
            assert!(weight > 0.0);
            assert_abs_diff_eq!(p.0, to.0, epsilon = 1e-9);
            assert_abs_diff_eq!(p.1, to.1, epsilon = 1e-9);
        }
        // The diagonals of a quadrilateral meet in the image of the rectangle's middle.
        let ((u, v), _) = map.apply((0.0, 0.0));
        let on = |a: (f64, f64), b: (f64, f64)| (b.0 - a.0) * (v - a.1) - (b.1 - a.1) * (u - a.0);
        assert_abs_diff_eq!(on(corners[0], corners[2]), 0.0, epsilon = 1e-9);
        assert_abs_diff_eq!(on(corners[1], corners[3]), 0.0, epsilon = 1e-9);
        let crossed = [corners[0], corners[2], corners[1], corners[3]];
        assert!(Homography::from_corners(half, crossed).is_none());
    }
}
