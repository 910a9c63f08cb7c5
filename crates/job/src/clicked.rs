//! Points clicked by hand, as the edges of a thread.

use crate::findings::{Part, Remark};
use crate::job::{Flank, PointSaid};
use picture::{EdgePoint, Grey, Thread};

/// How far a clicked point may lie from the edge it is meant for, px, as a share of the spread of
/// all points.
const REACH: f64 = 0.01;
/// Least reach, px.
const LEAST_REACH_PX: f64 = 4.0;
/// Least number of points on the flanks of one side.
const LEAST_ON_FLANK: usize = 4;
/// Standard uncertainty of a point where no edge could be found near the click, px: a steady hand
/// at moderate magnification (estimate, not measured).
const HAND_SIGMA_PX: f64 = 1.5;

/// The thread that `points` outline.
///
/// # Errors
/// A remark that says how many more points are needed, and where.
pub(crate) fn thread(points: &[PointSaid], grey: &Grey) -> Result<Thread, Remark> {
    let _ = (points, grey, Flank::Right, REACH, LEAST_REACH_PX, LEAST_ON_FLANK, HAND_SIGMA_PX);
    let _: Option<EdgePoint> = None;
    Err(Remark::new(Part::Thread, "points", "clicked points cannot be used yet"))
}
