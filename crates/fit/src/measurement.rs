//! What a fit found out, and how sure it is.

use crate::budget::{self, Remedy};
use crate::lean;
use form::shadow::{Edge, StraightReading};
use form::{Hand, Piece, Quantity, Sentence};

/// The result of measuring one picture.
///
/// Pixel coordinates have the centre of pixel `(i, j)` at `(i + 0.5, j + 0.5)`, `x` right, `y` down.
/// A quantity the data cannot tell is `None`, and a warning says why.
#[derive(Debug, Clone)]
pub struct Measurement {
    /// Pixels per millimetre in the plane through the axis, at the middle of the thread.
    pub px_per_mm: Quantity,
    /// The view.
    pub view: ViewFound,
    /// The axial section.
    pub form: FormFound,
    /// Where the diameters of a tapered thread are those stated: the middle of the thread shown, px.
    pub diameters_at_px: (f64, f64),
    /// Correlation coefficients of the form's numbers in the order of [`FORM_PARAMETERS`]. What is
    /// computed from several of them (a tool, a play) needs these: a wrong scale moves all alike.
    pub correlation: [[f64; FORM_PARAMETERS.len()]; FORM_PARAMETERS.len()],
    /// Number of starts and how probable it is.
    pub starts: Option<Chosen<u32>>,
    /// Hand and how probable it is.
    pub hand: Option<Chosen<Hand>>,
    /// The fitted shadow, as polylines in pixels: what the model says should be seen.
    pub shadow_px: Vec<Vec<(f64, f64)>>,
    /// The axial section in its place, as polylines in pixels: what is there.
    pub section_px: Vec<Vec<(f64, f64)>>,
    /// Fitted edges of the bar, each a line from end to end in pixels.
    pub bar_px: Vec<[(f64, f64); 2]>,
    /// Every edge point used, and how far it lies from the fitted shadow.
    pub residuals: Vec<Residual>,
    /// What straight lines along the flanks of the same outline would have told: medians over
    /// the grooves, with the scale taken straight from the bar's apparent width.
    pub straight: Option<Straight>,
    /// Each tooth by itself.
    pub teeth: Vec<Tooth>,
    /// What the uncertainty of the main quantities is made of.
    pub budget: Vec<BudgetLine>,
    /// What should be known before the numbers are used.
    pub warnings: Vec<Warning>,
}

/// Order of the rows and columns of [`Measurement::correlation`], by the names of [`FormFound`].
pub const FORM_PARAMETERS: [&str; 8] = [
    "pitch_mm",
    "right_flank_deg",
    "left_flank_deg",
    "depth_mm",
    "crest_flat_mm",
    "crest_radius_mm",
    "root_radius_mm",
    "major_diameter_mm",
];

impl Measurement {
    /// What would make the numbers surer, the greatest gain first.
    #[must_use]
    pub fn remedies(&self) -> Vec<Remedy> {
        budget::remedies(&self.budget)
    }
}

/// A choice among few, with the probability that it is right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chosen<T> {
    /// The choice.
    pub value: T,
    /// Probability that it is right, 0 to 1; 1 when it was entered.
    pub probability: f64,
}

/// The view as found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewFound {
    /// Whether the eye stood at a finite distance that the data, or the person, tell.
    pub perspective: bool,
    /// Distance of the eye from the plane through the axis, mm.
    pub camera_distance_mm: Option<Quantity>,
    /// Tilt of the axis out of the picture plane, degrees; positive when the right end is farther.
    pub tilt_deg: Option<Quantity>,
    /// Rotation of the axis in the picture, degrees; positive when the right end is higher.
    pub roll_deg: Option<Quantity>,
}

/// The axial section as found; lengths in mm, angles in degrees.
///
/// "Right" and "left" are the sides of a crest on the upper edge of the picture as shown upright.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[expect(missing_docs, reason = "each name says quantity and unit")]
pub struct FormFound {
    pub pitch_mm: Option<Quantity>,
    pub lead_mm: Option<Quantity>,
    pub right_flank_deg: Option<Quantity>,
    pub left_flank_deg: Option<Quantity>,
    pub included_angle_deg: Option<Quantity>,
    pub depth_mm: Option<Quantity>,
    pub crest_flat_mm: Option<Quantity>,
    pub root_flat_mm: Option<Quantity>,
    pub crest_radius_mm: Option<Quantity>,
    pub root_radius_mm: Option<Quantity>,
    pub major_diameter_mm: Option<Quantity>,
    pub minor_diameter_mm: Option<Quantity>,
    pub pitch_diameter_mm: Option<Quantity>,
    /// Change of diameter per length along the axis, without a unit: 0.0625 is 1:16. Positive when the
    /// right end is thicker; nought within its uncertainty for a parallel thread. The diameters of a
    /// tapered thread are those at the middle of the thread shown.
    pub taper: Option<Quantity>,
}

impl FormFound {
    /// The taper in words: `0.0625 ± 0.0004 (1:16)`, `0.0001 ± 0.0004 (parallel)`, `cannot tell`.
    #[must_use]
    pub fn taper_in_words(&self) -> String {
        let Some(taper) = self.taper else { return "cannot tell".into() };
        let called = if lean::is_notable(taper) { lean::ratio(taper) } else { "parallel".into() };
        format!("{} ({called})", taper.with_u(4))
    }
}

/// An edge point against the fitted shadow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// Where the point lies, px.
    pub x_px: f64,
    /// Where the point lies, px.
    pub y_px: f64,
    /// Distance from the fitted shadow, px; positive is outside the metal.
    pub off_px: f64,
    /// Weight the robust fit gave it, 0 to 1.
    pub weight: f64,
    /// Piece of the section it belongs to.
    pub piece: Piece,
    /// Groove it belongs to, counted along the axis.
    pub groove: i32,
    /// Edge of the shadow it belongs to.
    pub edge: Edge,
}

/// What straight lines laid along the shadow would have told, mm and degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "each name says quantity and unit")]
pub struct Straight {
    pub pitch_mm: f64,
    pub right_flank_deg: f64,
    pub left_flank_deg: f64,
    pub crest_flat_mm: f64,
    pub root_flat_mm: f64,
    pub major_diameter_mm: Option<f64>,
}

impl Straight {
    /// Angles and groove of a reading of one groove, for comparison with others.
    #[must_use]
    pub fn angles_deg(reading: &StraightReading) -> (f64, f64) {
        (reading.right_flank_rad.to_degrees(), reading.left_flank_rad.to_degrees())
    }
}

/// One tooth (a crest and the flanks beside it) against the fitted form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tooth {
    /// Edge it is seen on.
    pub edge: Edge,
    /// Number along the axis, as in [`Residual::groove`]: the tooth left of that groove.
    pub number: i32,
    /// Where its crest is, px.
    pub at_px: (f64, f64),
    /// Error of its position along the axis against an even pitch, mm.
    pub pitch_error_mm: Quantity,
    /// Metal missing from its right flank, along the axis, mm.
    pub right_wear_mm: Quantity,
    /// Metal missing from its left flank, along the axis, mm.
    pub left_wear_mm: Quantity,
}

/// One line of the uncertainty budget: the standard uncertainty that one source alone would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetLine {
    /// Quantity it is about, as in [`FormFound`].
    pub quantity: String,
    /// Source of uncertainty, in words.
    pub source: String,
    /// Its share, in the unit of the quantity (k = 1).
    pub u: f64,
    /// What would make it smaller, when the person can do something about it.
    pub remedy: Option<String>,
}

/// Something to know before using the numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    /// Stable name.
    pub code: &'static str,
    /// A sentence.
    pub text: Sentence,
    /// Where in the picture, as `(x, y, width, height)` px.
    pub at_px: Option<(f64, f64, f64, f64)>,
}

impl Warning {
    /// A warning without a place.
    #[must_use]
    pub fn new(code: &'static str, text: impl Into<Sentence>) -> Self {
        Self { code, text: text.into(), at_px: None }
    }
}
