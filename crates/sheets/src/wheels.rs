//! A train of change wheels: as a fraction, in words, and drawn to scale.

use crate::number::length;
use crate::page::SMALL_MM;
use crate::paper::drawing::{Anchor, Canvas, Dash, Pen};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::{Path, Rect, pt};
use form::{Quantity, Units};
use shop::{WheelDoes, WheelPlace};

/// A train of change wheels.
#[derive(Debug, Clone, PartialEq)]
pub struct GearTrain {
    /// Teeth of the driving wheels, from the spindle on.
    pub drivers: Vec<u32>,
    /// Teeth of the driven wheels, the last on the lead screw.
    pub driven: Vec<u32>,
    /// Lead screw in words: `3 mm`, `8 tpi`.
    pub lead_screw: String,
    /// Pitch the train cuts, mm.
    pub pitch_cut_mm: Quantity,
    /// Error against the pitch wanted, parts per million.
    pub error_ppm: f64,
    /// That error over a length, mm.
    pub error_over_mm: Quantity,
    /// The length, mm, where it is not that of the nut.
    pub over_mm: Option<f64>,
    /// Idler, mesh, when the half nuts may open.
    pub notes: Vec<String>,
}

impl GearTrain {
    /// Lead screw, pitch cut and error, in a sentence.
    pub(crate) fn sentence(&self, units: Units) -> String {
        let error = match error(self.error_ppm).as_str() {
            EXACT => EXACT.to_owned(),
            told => {
                format!("{told}, {} over {}", length(self.error_over_mm, units), self.over(units))
            }
        };
        let cut = units.lead(self.pitch_cut_mm.value);
        let source = self.pitch_cut_mm.source;
        format!("Lead screw {}; cuts {cut} ({source}); {error}.", self.lead_screw)
    }

    /// What the error is told over.
    pub(crate) fn over(&self, units: Units) -> String {
        match self.over_mm {
            None => "the nut".to_owned(),
            Some(mm) => length(Quantity::entered(mm, 0.0), units),
        }
    }
}

/// What is said of an error that is none.
pub(crate) const EXACT: &str = "exact";

/// An error of pitch in words.
pub(crate) fn error(error_ppm: f64) -> String {
    shop::ppm(error_ppm).replace('-', "−")
}

/// Teeth of wheels that count together.
pub(crate) fn product(wheels: &[u32]) -> String {
    wheels.iter().map(u32::to_string).collect::<Vec<_>>().join(" × ")
}

/// Height that [`fraction`] takes, mm.
pub(crate) const FRACTION_MM: f64 = 14.0;

/// Drivers over driven, as a fraction in large figures.
pub(crate) fn fraction(d: &mut Canvas, left: f64, top: f64, train: &GearTrain) {
    let (above, below) = (product(&train.drivers), product(&train.driven));
    let size = 5.4;
    let wide =
        font::width_mm(&above, size, Weight::Bold).max(font::width_mm(&below, size, Weight::Bold))
            + 4.0;
    let x = left + 19.0;
    let bar = top - 6.6;
    d.write_bold(pt(x + 0.5 * wide, bar + 1.5), &above, size, Anchor::Middle);
    d.line(pt(x, bar), pt(x + wide, bar), Pen::RULE.width(0.4));
    d.write_bold(pt(x + 0.5 * wide, bar - 5.2), &below, size, Anchor::Middle);
    d.write(pt(left, bar + 1.8), "drivers", SMALL_MM, Anchor::Start);
    d.write(pt(left, bar - 4.4), "driven", SMALL_MM, Anchor::Start);
}

/// Reductions tried, the largest drawing first (ISO 5455 and its halves).
const REDUCTIONS: [f64; 9] = [1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 20.0, 50.0, 100.0];
/// Room below the wheels for what turns the first and the last, mm.
const ENDS_MM: f64 = 8.0;

/// The wheels in a row, pitch circles to scale for this module; returns how many times smaller than they
/// are they are drawn.
pub(crate) fn drawn(d: &mut Canvas, row: &[WheelPlace], module_mm: f64, place: Rect) -> f64 {
    let low = row.iter().map(|w| w.at - w.radius).fold(0.0, f64::min);
    let high = row.iter().map(|w| w.at + w.radius).fold(0.0, f64::max);
    let tall = row.iter().map(|w| w.radius).fold(0.0, f64::max);
    let fits = |times: &f64| {
        let k = module_mm / times;
        k * (high - low) <= place.width() - 4.0 && 2.0 * k * tall <= place.height() - ENDS_MM - 2.0
    };
    let reduction = REDUCTIONS.into_iter().find(fits).unwrap_or(REDUCTIONS[8]);
    let k = module_mm / reduction;
    let middle = pt(
        place.centre().x - 0.5 * k * (low + high),
        place.bottom + ENDS_MM + 0.5 * (place.height() - ENDS_MM),
    );
    let centre = |w: &WheelPlace| middle + pt(k * w.at, 0.0);
    for w in row {
        let pen = match w.does {
            WheelDoes::Drives => Pen::OUTLINE,
            WheelDoes::Idles => Pen::OUTLINE.width(0.35).dash(Dash::Chain),
            WheelDoes::Driven => Pen::OUTLINE.width(0.35).dash(Dash::Dashed),
        };
        d.stroke(Path::circle(centre(w), k * w.radius), pen);
        d.stroke(Path::circle(centre(w), 0.9), Pen::THIN);
    }
    let foot = middle.y - k * tall - 2.0;
    for (w, name) in [(row.first(), "spindle"), (row.last(), "lead screw")] {
        let Some(at) = w.map(centre) else { continue };
        let rim = w.map_or(0.0, |w| k * w.radius);
        d.line(at - pt(0.0, rim + 0.6), pt(at.x, foot), Pen::CENTRE);
        d.write(pt(at.x, foot - 3.6), name, SMALL_MM, Anchor::Middle);
    }
    // A driver's number above its middle, a driven wheel's below: two on one shaft are both read.
    for w in row {
        let up = if w.does == WheelDoes::Driven { -1.0 } else { 1.0 };
        let away = (0.55 * k * w.radius).max(3.4);
        let at = centre(w) + pt(0.0, up * away - 1.4);
        d.write_lifted(at, &w.teeth.to_string(), 4.2, Anchor::Middle);
    }
    reduction
}
