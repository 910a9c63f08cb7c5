//! Pressure on the flanks of a nut under load, against what common practice allows.

use crate::notice::Notice;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// What a nut is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NutMaterial {
    /// Tin bronze.
    Bronze,
    /// Brass.
    Brass,
    /// Grey cast iron.
    CastIron,
    /// Steel.
    Steel,
    /// Acetal and similar plastics.
    Acetal,
}

impl NutMaterial {
    /// All of them, for a list to choose from.
    pub const ALL: [Self; 5] =
        [Self::Bronze, Self::Brass, Self::CastIron, Self::Steel, Self::Acetal];

    /// Permissible flank pressure on a steel screw, N/mm², and where the figure comes from.
    #[must_use]
    pub fn permissible_n_per_mm2(self) -> (f64, &'static str) {
        match self {
            Self::Bronze => {
                (10.0, "one printed source, steel screw in a bronze nut, slow movement")
            }
            Self::Brass => (7.0, "common practice, from memory"),
            Self::CastIron => (6.0, "common practice, from memory"),
            Self::Steel => (8.0, "common practice, from memory; seizes without lubricant"),
            Self::Acetal => (3.0, "common practice, from memory; cool and dry"),
        }
    }

    /// Name in a sentence.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Bronze => "bronze",
            Self::Brass => "brass",
            Self::CastIron => "cast iron",
            Self::Steel => "steel",
            Self::Acetal => "acetal",
        }
    }
}

/// Pressure on the flanks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FlankPressure {
    /// Axial load, N.
    pub load_n: f64,
    /// Projected area of all engaged threads, mm².
    pub area_mm2: f64,
    /// Load over area, N/mm²; assumes that all threads share it, which they do only when run in.
    pub pressure_n_per_mm2: f64,
    /// Limit of common practice, N/mm².
    pub permissible_n_per_mm2: f64,
    /// Where the limit comes from.
    pub source: String,
    /// Set when the limit is exceeded.
    pub notices: Vec<Notice>,
}

/// Pressure of `load_n` on `threads` turns of a ring of mean diameter `mean_diameter_mm` and height
/// `engagement_mm`.
#[must_use]
pub fn flank_pressure(
    load_n: f64,
    mean_diameter_mm: f64,
    engagement_mm: f64,
    threads: f64,
    material: NutMaterial,
) -> FlankPressure {
    let area_mm2 = PI * mean_diameter_mm * engagement_mm * threads;
    let pressure = load_n / area_mm2;
    let (permissible, source) = material.permissible_n_per_mm2();
    let mut notices = Vec::new();
    if pressure.is_nan() || pressure > permissible {
        notices.push(Notice::new(
            "flank-pressure",
            format!(
                "{pressure:.1} N/mm² on the flanks exceeds {permissible:.0} N/mm² for {} ({source}): a longer nut of {:.1} turns would come down to it",
                material.name(),
                threads * pressure / permissible
            ),
        ));
    }
    FlankPressure {
        load_n,
        area_mm2,
        pressure_n_per_mm2: pressure,
        permissible_n_per_mm2: permissible,
        source: source.to_owned(),
        notices,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn pressure_is_load_over_the_rings() {
        // Tr 16 x 4: d2 14, H1 2; five turns carry 4398 N at 10 N/mm².
        let p = flank_pressure(4398.2, 14.0, 2.0, 5.0, NutMaterial::Bronze);
        assert_relative_eq!(p.pressure_n_per_mm2, 10.0, max_relative = 1e-4);
        let p = flank_pressure(9000.0, 14.0, 2.0, 5.0, NutMaterial::Bronze);
        assert_eq!(p.notices[0].code, "flank-pressure");
    }
}
