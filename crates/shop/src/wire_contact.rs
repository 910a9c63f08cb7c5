//! A wire lying in the groove of a helicoid, touching both true flanks.
//!
//! The wire is a straight cylinder of radius `ρ`. Its axis is square to the line of measurement, at
//! the height `c` from the screw's axis, and inclined to the screw's transverse plane by `ψ`, about
//! the lead angle. A point `(r, θ)` of the flank `z = Z(r) + p θ` keeps the wire's middle below
//!
//! ```text
//! z0 = Z(r) + p θ - (sin ψ · r sin θ + √(ρ² - (r cos θ - c)²)) / cos ψ
//! ```
//!
//! so the least of these over a flank is how far toward it the wire can move at the height `c`. The
//! wire lies at the height where both flanks leave it no room, and it swivels to where that height
//! is least, which settles `ψ`.

/// Groove at the place where a wire lies; lengths in any one unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WireGroove {
    /// Radius at which the width is given.
    pub radius: f64,
    /// Axial width of the groove there.
    pub width: f64,
    /// Tangents of the flank angles, `+z` and `-z` side.
    pub tan: [f64; 2],
    /// Advance per radian.
    pub advance: f64,
}

/// Where a wire comes to lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct WireSeat {
    /// Height of the wire's axis over the screw's axis.
    pub centre: f64,
    /// Radii of the two contacts.
    pub contact_radius: [f64; 2],
}

impl WireGroove {
    /// Height of the wire's axis if the thread had no lead.
    pub(crate) fn flat_centre(&self, wire_radius: f64) -> f64 {
        let [a, b] = self.tan.map(f64::atan);
        let (mean, half_difference) = (0.5 * (a + b), 0.5 * (a - b));
        self.radius - self.width / (self.tan[0] + self.tan[1])
            + wire_radius * half_difference.cos() / mean.sin()
    }

    /// How far toward one flank the wire's middle can move along the axis at the height `c`, and the
    /// radius of contact. `None` when there is no contact.
    ///
    /// Half a turn about the line of measurement carries one flank into the other, so both sides
    /// are the same problem with their own angle.
    fn room(&self, side: usize, rho: f64, psi: f64, c: f64) -> Option<(f64, f64)> {
        let tan = self.tan[side];
        let p = self.advance;
        let (sp, cp) = psi.sin_cos();
        let value = |r: f64, theta: f64| {
            let e = r * theta.cos() - c;
            let q2 = rho * rho - e * e;
            (q2 > 0.0).then(|| {
                0.5 * self.width + (r - self.radius) * tan + p * theta
                    - (sp * r * theta.sin() + q2.sqrt()) / cp
            })
        };
        let mut r = c - rho * tan.atan().sin();
        let mut theta = 0.0;
        let mut f = value(r, theta)?;
        for _ in 0..60 {
            let (st, ct) = f64::sin_cos(theta);
            let e = r * ct - c;
            let q = (rho * rho - e * e).sqrt();
            let (er, et, ert, ett) = (ct, -r * st, -st, -r * ct);
            let second =
                |a: f64, b: f64, ab: f64| -(a * b + e * ab) / q - e * e * a * b / (q * q * q);
            let g = [tan - (sp * st - e * er / q) / cp, p - (sp * r * ct - e * et / q) / cp];
            let h = [
                -second(er, er, 0.0) / cp,
                -(sp * ct + second(er, et, ert)) / cp,
                (sp * r * st - second(et, et, ett)) / cp,
            ];
            let det = h[0] * h[2] - h[1] * h[1];
            let (dr, dt) = if det > 0.0 && h[0] > 0.0 {
                ((g[1] * h[1] - g[0] * h[2]) / det, (g[0] * h[1] - g[1] * h[0]) / det)
            } else {
                (-0.1 * rho * g[0].signum(), -0.1 * rho / r * g[1].signum())
            };
            // Newton, shortened until it goes downhill: the root ends where the wire ends.
            let mut part = 1.0;
            let next = loop {
                match value(r + part * dr, theta + part * dt) {
                    Some(v) if v <= f + 1e-15 * rho => break Some(v),
                    _ if part < 1e-6 => break None,
                    _ => part *= 0.5,
                }
            };
            let Some(v) = next else { break };
            r += part * dr;
            theta += part * dt;
            f = v;
            if !(r > 0.0 && theta.abs() < 1.2) {
                return None;
            }
            if dr.abs() < 1e-12 * rho && (dt * r).abs() < 1e-12 * rho {
                break;
            }
        }
        Some((f, r))
    }

    /// Seat at a fixed inclination: the height at which the two flanks leave no room.
    fn seat_at(&self, rho: f64, psi: f64) -> Option<WireSeat> {
        let room = |c: f64| {
            let (a, b) = (self.room(0, rho, psi, c)?, self.room(1, rho, psi, c)?);
            Some((a.0 + b.0, [a.1, b.1]))
        };
        let slope = self.tan[0] + self.tan[1];
        let mut centre = self.flat_centre(rho);
        let (mut gap, mut contact_radius) = room(centre)?;
        for _ in 0..60 {
            if gap.abs() < 1e-13 * rho {
                break;
            }
            centre -= gap / slope;
            (gap, contact_radius) = room(centre)?;
        }
        (gap.abs() < 1e-9 * rho).then_some(WireSeat { centre, contact_radius })
    }

    /// Where a wire of radius `rho` comes to lie; `None` when it finds no seat on the flanks.
    pub(crate) fn seat(&self, rho: f64) -> Option<WireSeat> {
        let lead = (self.advance / self.radius).atan();
        if lead.abs() < 1e-9 {
            return self.seat_at(rho, 0.0);
        }
        // Golden section around the lead angle; the height is flat there, so few steps do.
        let ratio = 0.5 * (5f64.sqrt() - 1.0);
        let (mut lo, mut hi) = (0.5 * lead, 1.4 * lead);
        let height = |psi: f64| self.seat_at(rho, psi).map(|s| s.centre);
        let (mut x1, mut x2) = (hi - ratio * (hi - lo), lo + ratio * (hi - lo));
        let (mut f1, mut f2) = (height(x1)?, height(x2)?);
        for _ in 0..40 {
            if f1 < f2 {
                (hi, x2, f2) = (x2, x1, f1);
                x1 = hi - ratio * (hi - lo);
                f1 = height(x1)?;
            } else {
                (lo, x1, f1) = (x1, x2, f2);
                x2 = lo + ratio * (hi - lo);
                f2 = height(x2)?;
            }
        }
        self.seat_at(rho, 0.5 * (lo + hi)).filter(|s| s.centre.is_finite())
    }

    /// Radius of the wire whose contacts lie, on average, at the given radius.
    pub(crate) fn wire_touching_at(&self, radius: f64, guess: f64) -> Option<f64> {
        let miss = |rho: f64| {
            self.seat(rho).map(|s| 0.5 * (s.contact_radius[0] + s.contact_radius[1]) - radius)
        };
        let mut rho = guess;
        for _ in 0..30 {
            let f = miss(rho)?;
            let step = 1e-4 * rho;
            let slope = (miss(rho + step)? - f) / step;
            if slope.abs() < 1e-9 {
                return None;
            }
            let move_by = (-f / slope).clamp(-0.2 * rho, 0.2 * rho);
            rho += move_by;
            if move_by.abs() < 1e-9 * rho {
                break;
            }
        }
        Some(rho)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use std::f64::consts::PI;

    fn groove(lead_deg: f64, starts: f64, tan: [f64; 2]) -> WireGroove {
        // Pitch 1, lead angle at the pitch diameter.
        let radius = starts / (2.0 * PI * lead_deg.to_radians().tan());
        WireGroove { radius, width: 0.5, tan, advance: starts / (2.0 * PI) }
    }

    /// Slow and certain: the height every point of a grid over each flank lifts the wire to, the
    /// wire swivelled and shifted by steps.
    fn by_grid(g: &WireGroove, rho: f64) -> f64 {
        let lead = (g.advance / g.radius).atan();
        let [a, b] = g.tan.map(f64::atan);
        let middle = 0.5 * g.width * (1.0 - 2.0 * g.tan[0] / (g.tan[0] + g.tan[1]))
            + rho / (0.5 * (a + b)).sin() * (0.5 * (a - b)).sin();
        let mut best = f64::INFINITY;
        for i in 0..=10 {
            let psi = lead * (0.85 + 0.3 * f64::from(i) / 10.0);
            for j in 0..=20 {
                let z0 = middle + 0.02 * rho * (f64::from(j) / 10.0 - 1.0);
                let mut height = f64::NEG_INFINITY;
                for (side, sign) in [(0, 1.0), (1, -1.0)] {
                    let contact = g.flat_centre(rho) - rho * g.tan[side].atan().sin();
                    for a in 0..=120 {
                        let r = contact + rho * 0.2 * (f64::from(a) / 60.0 - 1.0);
                        for b in 0..=120 {
                            let theta = 0.25 * (f64::from(b) / 60.0 - 1.0);
                            let z = sign * (0.5 * g.width + (r - g.radius) * g.tan[side])
                                + g.advance * theta;
                            let d = -psi.sin() * r * theta.sin() + psi.cos() * (z - z0);
                            if d.abs() < rho {
                                height = height.max(r * theta.cos() + (rho * rho - d * d).sqrt());
                            }
                        }
                    }
                }
                best = best.min(height);
            }
        }
        best
    }

    #[test]
    fn the_seat_agrees_with_a_grid() {
        let t = 14.5f64.to_radians().tan();
        let (x, y) = (25f64.to_radians().tan(), 10f64.to_radians().tan());
        for (lead, starts, tan) in [(5.0, 1.0, [t, t]), (12.0, 3.0, [t, t]), (4.0, 1.0, [x, y])] {
            let g = groove(lead, starts, tan);
            let rho = 0.2565;
            // The grid's own step along the axis shows where the seat is not at its middle.
            let fine = if tan[0] == tan[1] { 2e-4 } else { 1e-3 };
            assert_abs_diff_eq!(g.seat(rho).unwrap().centre, by_grid(&g, rho), epsilon = fine);
        }
    }

    #[test]
    fn without_lead_it_is_plane_geometry() {
        for tan in [[0.26, 0.26], [0.6, 0.05], [1.0, 0.02], [0.1, 0.4]] {
            let g = WireGroove { radius: 10.0, width: 0.5, tan, advance: 0.0 };
            let seat = g.seat(0.27).unwrap();
            assert_abs_diff_eq!(seat.centre, g.flat_centre(0.27), epsilon = 1e-10);
        }
    }
}
