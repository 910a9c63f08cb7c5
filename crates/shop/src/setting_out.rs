//! Setting out the blank of a nut: how deep its axis lies, and bringing that axis to the spindle.

use form::{Quantity, Said, Sentence, mm, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a blank cannot be set out.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SettingOutError {
    /// A diameter.
    Diameter(f64),
    /// Nothing measured.
    NoReadings,
    /// Something that is not a number.
    NotANumber(f64),
}

impl Said for SettingOutError {
    fn said(&self) -> Sentence {
        match self {
            Self::Diameter(it) => sentence!("diameter {} is not a positive length", mm(*it, 3)),
            Self::NoReadings => sentence!("no readings: turn the work and read all four jaws"),
            Self::NotANumber(it) => sentence!("reading {} is not a number", it.to_string()),
        }
    }
}

form::said_by_display!(SettingOutError);

/// A cylinder lying under a height gauge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CylinderReading {
    /// Height of its top, mm, from any datum common to all readings.
    pub top_mm: Quantity,
    /// Its diameter, mm.
    pub diameter_mm: Quantity,
}

impl CylinderReading {
    /// Height of its axis, mm.
    ///
    /// # Errors
    /// [`SettingOutError::Diameter`] when the diameter is no length.
    pub fn axis_mm(&self) -> Result<Quantity, SettingOutError> {
        let d = self.diameter_mm;
        if !d.value.is_finite() || d.value <= 0.0 {
            return Err(SettingOutError::Diameter(d.value));
        }
        Ok(Quantity::derived(self.top_mm.value - 0.5 * d.value, self.top_mm.u.hypot(0.5 * d.u)))
    }
}

/// How far the second cylinder's axis lies below the first's, mm: the drop between the tops, with
/// the radii put right. Negative when it lies above.
///
/// ```text
///    top 1 ───___
///            /   \      axis 1 = top 1 - d1/2
///            \___/   ___ ─── top 2
///                   (   )    axis 2 = top 2 - d2/2
/// ```
///
/// # Errors
/// [`SettingOutError::Diameter`].
pub fn axis_drop_mm(
    first: &CylinderReading,
    second: &CylinderReading,
) -> Result<Quantity, SettingOutError> {
    let (a, b) = (first.axis_mm()?, second.axis_mm()?);
    Ok(Quantity::derived(a.value - b.value, a.u.hypot(b.u)))
}

/// How far an axis lies below a face, mm.
///
/// # Errors
/// [`SettingOutError::Diameter`].
pub fn axis_below_face_mm(
    face_mm: Quantity,
    cylinder: &CylinderReading,
) -> Result<Quantity, SettingOutError> {
    let axis = cylinder.axis_mm()?;
    Ok(Quantity::derived(face_mm.value - axis.value, face_mm.u.hypot(axis.u)))
}

/// Dial-gauge readings at the four jaws of an independent chuck, mm: greater when the work stands
/// nearer to the gauge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct JawReadings {
    /// At jaws 1, 2, 3, 4, in order round the chuck: 1 opposes 3, 2 opposes 4.
    pub at_mm: [f64; 4],
}

/// What to do with the jaws next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct JawMove {
    /// Move the work from jaw 1 toward jaw 3 by this much, mm: half the difference of their
    /// readings. Negative: the other way.
    pub from_1_to_3_mm: f64,
    /// The same from jaw 2 toward jaw 4.
    pub from_2_to_4_mm: f64,
    /// Distance of the work's axis from the spindle's, mm.
    pub off_centre_mm: f64,
    /// Total reading over a turn, mm: twice that.
    pub total_reading_mm: f64,
    /// Half the sum of one pair less that of the other, mm: not zero when the work is out of round,
    /// or a reading is wrong.
    pub out_of_round_mm: f64,
}

/// The next move of the jaws: half the difference of opposed readings.
///
/// # Errors
/// [`SettingOutError::NotANumber`].
pub fn jaw_move(readings: &JawReadings) -> Result<JawMove, SettingOutError> {
    if let Some(&bad) = readings.at_mm.iter().find(|v| !v.is_finite()) {
        return Err(SettingOutError::NotANumber(bad));
    }
    let [a, b, c, d] = readings.at_mm;
    let (x, y) = (0.5 * (a - c), 0.5 * (b - d));
    let off_centre_mm = x.hypot(y);
    Ok(JawMove {
        from_1_to_3_mm: x,
        from_2_to_4_mm: y,
        off_centre_mm,
        total_reading_mm: 2.0 * off_centre_mm,
        out_of_round_mm: 0.5 * ((a + c) - (b + d)),
    })
}

/// How the centring converges.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Centring {
    /// The move after each round of readings.
    pub rounds: Vec<JawMove>,
    /// Part of the error left by the last round; `None` before the second.
    pub left_of_error: Option<f64>,
    /// Further rounds expected until within the tolerance; 0 when it is; `None` when the rounds do
    /// not converge.
    pub rounds_to_go: Option<u32>,
    /// Whether the last round is within the tolerance.
    pub done: bool,
}

/// Follows the rounds of readings toward `tolerance_mm` off centre.
///
/// # Errors
/// [`SettingOutError`].
pub fn centring(rounds: &[JawReadings], tolerance_mm: f64) -> Result<Centring, SettingOutError> {
    let moves: Vec<JawMove> = rounds.iter().map(jaw_move).collect::<Result<_, _>>()?;
    let last = moves.last().ok_or(SettingOutError::NoReadings)?;
    let done = last.off_centre_mm <= tolerance_mm;
    let left_of_error = moves.len().checked_sub(2).and_then(|i| moves.get(i)).and_then(|before| {
        (before.off_centre_mm > 0.0).then(|| last.off_centre_mm / before.off_centre_mm)
    });
    let rounds_to_go = if done {
        Some(0)
    } else {
        match left_of_error {
            // One move should do; jaws that spring leave a quarter (common practice).
            None => Some(geometric(last.off_centre_mm, tolerance_mm, 0.25)),
            Some(part) if part < 0.95 => {
                Some(geometric(last.off_centre_mm, tolerance_mm, part.max(0.05)))
            }
            Some(_) => None,
        }
    };
    Ok(Centring { rounds: moves, left_of_error, rounds_to_go, done })
}

fn geometric(from: f64, to: f64, part: f64) -> u32 {
    if to <= 0.0 {
        return u32::MAX;
    }
    ((to / from).ln() / part.ln()).ceil().clamp(1.0, 1e6) as u32
}
