//! What the usual practice would read off a shadow: straight lines laid along its flanks.

use super::outline::Outline;

/// Angles and widths read from an outline as if it were the section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightReading {
    /// Angle of the flank right of a crest from the normal to the axis, radians.
    pub right_flank_rad: f64,
    /// Angle of the flank left of a crest, radians.
    pub left_flank_rad: f64,
    /// Width of the groove at mid depth, mm.
    pub groove_mm: f64,
    /// Distance from the crest line to the lowest point seen, mm.
    pub depth_mm: f64,
}

/// Lays straight lines through 15 % to 80 % of the depth of one groove of an outline, as a person
/// with a protractor would.
///
/// `points` are `(z, x)` in mm along one groove from crest to crest with the metal below (turn a
/// lower edge over first). `None` when there are no two flanks to lay lines along.
#[must_use]
pub fn read_straight(points: &[(f64, f64)]) -> Option<StraightReading> {
    let top = points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    let (low, bottom) =
        points.iter().enumerate().min_by(|a, b| a.1.1.total_cmp(&b.1.1)).map(|(i, p)| (i, p.1))?;
    let depth = top - bottom;
    let within = |p: &&(f64, f64)| {
        let d = (top - p.1) / depth;
        (0.15..=0.80).contains(&d)
    };
    let line = |side: &[(f64, f64)]| -> Option<(f64, f64)> {
        let chosen: Vec<&(f64, f64)> = side.iter().filter(within).collect();
        slope_and_offset(&chosen)
    };
    let (right_slope, right_at) = line(&points[..=low])?;
    let (left_slope, left_at) = line(&points[low..])?;
    let middle = top - 0.5 * depth;
    Some(StraightReading {
        right_flank_rad: (-right_slope).atan(),
        left_flank_rad: left_slope.atan(),
        groove_mm: (left_at + left_slope * middle) - (right_at + right_slope * middle),
        depth_mm: depth,
    })
}

/// Least-squares `z = offset + slope x`.
fn slope_and_offset(points: &[&(f64, f64)]) -> Option<(f64, f64)> {
    if points.len() < 3 {
        return None;
    }
    let n = points.len() as f64;
    let mx = points.iter().map(|p| p.1).sum::<f64>() / n;
    let mz = points.iter().map(|p| p.0).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.1 - mx).powi(2)).sum();
    let sxz: f64 = points.iter().map(|p| (p.1 - mx) * (p.0 - mz)).sum();
    (sxx > 0.0).then(|| (sxz / sxx, mz - sxz / sxx * mx))
}

/// [`read_straight`] of one groove of a computed upper outline, read at even steps along the axis.
#[must_use]
pub fn seen_by_projector(outline: &Outline, groove: i32) -> Option<StraightReading> {
    let mut ends = outline
        .segments
        .iter()
        .filter(|s| outline.vertices[s.a].site.groove == groove)
        .map(|s| outline.ends(s));
    let first = ends.next()?;
    let (from, to) = (first.0.0, ends.next_back().unwrap_or(first).1.0);
    let points: Vec<(f64, f64)> = (0..=EVEN_STEPS)
        .filter_map(|i| {
            let z = from + (to - from) * i as f64 / EVEN_STEPS as f64;
            Some((z, outline.x_at(z)?))
        })
        .collect();
    read_straight(&points)
}

/// Steps along a groove when a computed outline is read.
const EVEN_STEPS: usize = 4000;
