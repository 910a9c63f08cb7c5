//! The faces below a tool's edge, sampled against the thread it cuts.
//!
//! A side face holds the edge and slopes inward, going down, by the side clearance. Below the edge
//! the thread runs on along its helix: on the leading side it closes in on the tool by the lead
//! angle, on the following side it falls away. In a bore the groove also narrows toward its bottom
//! as the circle curves in.

use crate::rake::{RakePlane, Target};
use crate::tool::ToolError;
use serde::{Deserialize, Serialize};

/// Levels below the edge that are looked at.
const LEVELS: usize = 60;
/// Overlap below this is rounding, mm.
const ROUNDING_MM: f64 = 1e-7;
/// Gaps nearer to the edge than this say nothing, they start from nothing at the edge, mm.
const FIRST_LEVEL_MM: f64 = 1.0;
/// Least angle between face and thread that is aimed at when the clearance is chosen here, degrees.
const WANTED_DEG: f64 = 2.0;
/// Step by which a clearance is raised, degrees.
const RAISE_DEG: f64 = 0.5;

/// What sampling a side face against the thread gave.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SideCheck {
    /// Least angle between face and thread, degrees.
    pub least_clearance_deg: f64,
    /// Least axial gap a millimetre or more below the edge, mm.
    pub least_clearance_mm: f64,
    /// Radius of that least gap, mm.
    pub at_radius_mm: f64,
    /// How far below the edge it is, mm.
    pub below_edge_mm: f64,
    /// Height of face that was looked at, mm.
    pub height_mm: f64,
}

/// The front face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FrontFace {
    /// Front clearance, degrees.
    pub clearance_deg: f64,
    /// Least front clearance that keeps the heel out of the work over the height, degrees; 0 for a
    /// tool outside.
    pub needed_deg: f64,
    /// Height, mm.
    pub height_mm: f64,
}

pub(crate) struct Side<'a> {
    pub plane: &'a RakePlane,
    pub target: &'a Target,
    pub plus: bool,
    pub edge: &'a [[f64; 2]],
}

/// Picks or checks the front clearance.
pub(crate) fn front_face(
    plane: &RakePlane,
    height_mm: f64,
    given_deg: Option<f64>,
) -> Result<FrontFace, ToolError> {
    let r = plane.tip_radius_mm;
    let tip = plane.above_mm;
    let x = (r * r - tip * tip).max(0.0).sqrt();
    let mut needed_deg = 0.0f64;
    for i in 1..=LEVELS {
        let d = height_mm * i as f64 / LEVELS as f64;
        let surface = (r * r - (tip - d).powi(2)).max(0.0).sqrt();
        // Inside, the work stands beyond the surface; outside, within it.
        let back = if plane.inside { x - surface } else { surface - x };
        needed_deg = needed_deg.max((back / d).atan().to_degrees());
    }
    let clearance_deg = given_deg.unwrap_or((needed_deg + 3.0).max(8.0));
    if clearance_deg < needed_deg - 1e-9 {
        return Err(ToolError::FrontRubbing { clearance_deg, needed_deg, height_mm });
    }
    if !(0.0..=60.0).contains(&clearance_deg) {
        return Err(ToolError::Setting {
            what: "front clearance (degrees)",
            value: clearance_deg,
            least: needed_deg,
            most: 60.0,
        });
    }
    Ok(FrontFace { clearance_deg, needed_deg, height_mm })
}

struct Overlap {
    mm: f64,
    below_mm: f64,
    radius_mm: f64,
}

/// Samples the face at `clearance_deg`.
fn sample(
    side: &Side<'_>,
    clearance_deg: f64,
    height_mm: f64,
    front_deg: f64,
) -> Result<SideCheck, Overlap> {
    let (st, ct) = side.plane.turn_rad.sin_cos();
    let inward = clearance_deg.to_radians().tan() * if side.plus { -1.0 } else { 1.0 };
    let front = front_deg.to_radians().tan();
    let mut check = SideCheck {
        least_clearance_deg: f64::INFINITY,
        least_clearance_mm: f64::INFINITY,
        at_radius_mm: f64::NAN,
        below_edge_mm: f64::NAN,
        height_mm,
    };
    let mut worst: Option<Overlap> = None;
    let first = FIRST_LEVEL_MM.min(0.5 * height_mm);
    for &page in side.edge {
        let from = side.plane.in_work(page);
        for i in 1..=LEVELS {
            let d = height_mm * i as f64 / LEVELS as f64;
            // The front relief has taken this part of the face away.
            if -page[1] < d * front {
                break;
            }
            // Down in the tool's own upright, and inward across it.
            let point =
                [from[0], from[1] - d * ct - d * inward * st, from[2] - d * st + d * inward * ct];
            let Some(gap) = side.target.gap(side.plane, point, side.plus) else { continue };
            let radius_mm = point[0].hypot(point[1]);
            if gap < -ROUNDING_MM && worst.as_ref().is_none_or(|w| -gap > w.mm) {
                worst = Some(Overlap { mm: -gap, below_mm: d, radius_mm });
            }
            check.least_clearance_deg =
                check.least_clearance_deg.min((gap / d).atan().to_degrees());
            if d >= first - 1e-9 && gap < check.least_clearance_mm {
                check.least_clearance_mm = gap;
                check.at_radius_mm = radius_mm;
                check.below_edge_mm = d;
            }
        }
    }
    worst.map_or(Ok(check), Err)
}

/// The clearance from `start_deg` up, by at most `raise_deg`, at which the face is clear.
///
/// # Errors
/// [`ToolError::Rubbing`] when it is not.
pub(crate) fn clear_side(
    side: &Side<'_>,
    name: &'static str,
    start_deg: f64,
    raise_deg: f64,
    height_mm: f64,
    front_deg: f64,
) -> Result<(f64, SideCheck), ToolError> {
    let mut angle = start_deg;
    let mut clear = None;
    let first = loop {
        let found = sample(side, angle, height_mm, front_deg);
        let last = angle + RAISE_DEG > start_deg + raise_deg + 1e-9;
        match found {
            // A given angle is taken as it is; a chosen one must leave room for a hand on the wheel.
            Ok(check) if raise_deg == 0.0 || check.least_clearance_deg >= WANTED_DEG => {
                return Ok((angle, check));
            }
            Ok(check) => clear = Some((angle, check)),
            Err(overlap) if last => match clear {
                Some(found) => return Ok(found),
                None => break overlap,
            },
            Err(_) => {}
        }
        if last && let Some(found) = clear {
            return Ok(found);
        }
        angle += RAISE_DEG;
    };
    let needed = (1..=80)
        .map(|i| angle + RAISE_DEG * f64::from(i))
        .find(|&a| a < 45.0 && sample(side, a, height_mm, front_deg).is_ok())
        .map_or_else(
            || "none below 45°, make the tool less high".to_owned(),
            |a| format!("{a:.1}°"),
        );
    Err(ToolError::Rubbing {
        side: name,
        clearance_deg: angle,
        overlap_mm: first.mm,
        below_mm: first.below_mm,
        radius_mm: first.radius_mm,
        needed,
    })
}
