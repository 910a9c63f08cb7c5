//! From a sighting to a measurement.

use crate::known::Known;
use crate::measurement::Measurement;
use picture::{Bar, Drawn, Thread};
use thiserror::Error;

/// What was found in a picture.
#[derive(Debug, Clone)]
pub struct Sighting {
    /// Width of the picture, px.
    pub width_px: usize,
    /// Height of the picture, px.
    pub height_px: usize,
    /// Shadow or drawn line.
    pub drawn: Drawn,
    /// The reference bar's edges.
    pub bar: Bar,
    /// The thread's edges.
    pub thread: Thread,
}

/// Why a sighting could not be measured.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FitError {
    /// Stopped by the person.
    #[error("stopped")]
    Cancelled,
    /// Too little to fit.
    #[error("{0}")]
    TooLittle(String),
}

/// Measures the thread in a sighting. `progress` is told a fraction done (0 to 1) and answers
/// whether to go on.
///
/// # Errors
/// [`FitError`] when the sighting holds too little, or `progress` said stop.
pub fn measure(
    _sighting: &Sighting,
    _known: &Known,
    _progress: &dyn Fn(f32) -> bool,
) -> Result<Measurement, FitError> {
    Err(FitError::TooLittle("not built yet".into()))
}
