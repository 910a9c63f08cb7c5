//! Where the eye stands.

/// How a screw is looked at: from a finite distance or by parallel light, square or tilted.
///
/// Frame of the shadow: `z` along the picture to the right (the axis of an untilted screw), `x` up,
/// `y` away from the eye, origin on the axis. The eye stands at `y = -distance` above the *foot*
/// `(foot_x_mm, foot_z_mm)` and everything is projected onto the plane `y = 0`.
///
/// ```text
///            eye
///             |  distance              y
///             |                        |  away from the eye
///   ----------+-----------------> z    v
///           foot          plane of the shadow
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// 1 / distance of the eye from the plane through the axis, 1/mm; 0 is parallel light. The
    /// inverse is kept because it stays regular where the two cases meet.
    pub inverse_distance_per_mm: f64,
    /// Foot of the perpendicular from the eye, across the axis, mm.
    pub foot_x_mm: f64,
    /// Foot of the perpendicular from the eye, along the axis, mm.
    pub foot_z_mm: f64,
    /// Tilt of the axis out of the plane, radians: positive when the right end is farther away.
    pub tilt_rad: f64,
}

/// A point `[x, y, z]` in mm.
pub type Point3 = [f64; 3];

impl View {
    /// Parallel light square to the axis.
    pub const PARALLEL: Self =
        Self { inverse_distance_per_mm: 0.0, foot_x_mm: 0.0, foot_z_mm: 0.0, tilt_rad: 0.0 };

    /// An eye `distance_mm` from the plane through the axis, above the origin, square to the axis.
    #[must_use]
    pub fn from_distance(distance_mm: f64) -> Self {
        Self { inverse_distance_per_mm: 1.0 / distance_mm, ..Self::PARALLEL }
    }

    /// Distance of the eye, mm; `None` for parallel light.
    #[must_use]
    pub fn distance_mm(&self) -> Option<f64> {
        (self.inverse_distance_per_mm > 0.0).then(|| 1.0 / self.inverse_distance_per_mm)
    }

    /// Projects a point given in the frame of the *screw* (before the tilt) onto the plane;
    /// returns `(z, x)` in mm.
    #[must_use]
    pub fn project(&self, [x, y, z]: Point3) -> (f64, f64) {
        Projection::new(self).cast([x, y, z])
    }

    /// Projects a point of the frame of the plane (nothing to do with the screw's tilt).
    #[must_use]
    pub fn project_untilted(&self, [x, y, z]: Point3) -> (f64, f64) {
        let s = 1.0 / (1.0 + y * self.inverse_distance_per_mm);
        (self.foot_z_mm + (z - self.foot_z_mm) * s, self.foot_x_mm + (x - self.foot_x_mm) * s)
    }

    /// The same view of the screw turned half a turn about its axis, which shows the lower edge
    /// where the upper one was.
    #[must_use]
    pub(crate) fn half_turned(&self) -> Self {
        Self { foot_x_mm: -self.foot_x_mm, ..*self }
    }

    /// The eye in the frame of the screw, as the three numbers the contour condition needs; all
    /// stay finite for parallel light.
    pub(crate) fn eye(&self) -> Eye {
        let (sin, cos) = self.tilt_rad.sin_cos();
        let q = self.inverse_distance_per_mm;
        // Eye at C = (x0, -d cos δ - z0 sin δ, z0 cos δ - d sin δ); everything is divided by -C_y.
        let denominator = cos + q * self.foot_z_mm * sin;
        let w = q / denominator;
        Eye { w, a: self.foot_x_mm * w, b: (q * self.foot_z_mm * cos - sin) / denominator }
    }
}

/// A view with its tilt worked out, for casting many points.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Projection {
    view: View,
    /// Sine and cosine of the tilt.
    tilt: (f64, f64),
}

impl Projection {
    pub(crate) fn new(view: &View) -> Self {
        Self { view: *view, tilt: view.tilt_rad.sin_cos() }
    }

    /// See [`View::project`].
    pub(crate) fn cast(&self, [x, y, z]: Point3) -> (f64, f64) {
        let (sin, cos) = self.tilt;
        self.view.project_untilted([x, y * cos + z * sin, z * cos - y * sin])
    }
}

/// The eye in the frame of the screw: `w = 1/-C_y`, `a = C_x w`, `b = C_z w`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Eye {
    pub w: f64,
    pub a: f64,
    pub b: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_far_eye_is_parallel_light() {
        let far = View { tilt_rad: 0.01, foot_z_mm: 3.0, ..View::from_distance(1e9) };
        let parallel = View { tilt_rad: 0.01, foot_z_mm: 3.0, ..View::PARALLEL };
        let p = [5.0, 2.0, 7.0];
        assert_abs_diff_eq!(far.project(p).0, parallel.project(p).0, epsilon = 1e-6);
        assert_abs_diff_eq!(far.project(p).1, parallel.project(p).1, epsilon = 1e-6);
        assert_abs_diff_eq!(far.eye().b, parallel.eye().b, epsilon = 1e-7);
    }

    #[test]
    fn what_is_nearer_looks_larger() {
        let view = View::from_distance(200.0);
        assert!(view.project([10.0, -5.0, 0.0]).1 > 10.0);
        assert!(view.project([10.0, 5.0, 0.0]).1 < 10.0);
    }
}
