//! What the dial of a slide shows.

use form::units::MM_PER_INCH;
use serde::{Deserialize, Serialize};

/// What one division of a dial counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DialReads {
    /// Movement of the slide.
    Direct,
    /// Change of diameter: twice the movement.
    Diameter,
}

/// Unit of a dial's divisions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum DialUnit {
    /// Millimetres.
    Mm,
    /// Inches.
    Inch,
}

/// A dial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Dial {
    /// Direct or diameter.
    pub reads: DialReads,
    /// Millimetres or inches.
    pub unit: DialUnit,
    /// One division, in the dial's unit (0.02 mm, 0.001 in).
    pub division: f64,
    /// Divisions in a turn.
    pub divisions_per_turn: u32,
    /// The figures fall as the slide goes away from the operator; on most they rise.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub falls_inward: bool,
}

impl Dial {
    /// One division with its unit: `0.02 mm`, `0.001 in`.
    #[must_use]
    pub fn division_in_words(&self) -> String {
        let unit = match self.unit {
            DialUnit::Mm => "mm",
            DialUnit::Inch => "in",
        };
        format!("{} {unit}", self.division)
    }

    /// 0.02 mm divisions, direct, two millimetres a turn.
    pub const METRIC: Self = Self {
        reads: DialReads::Direct,
        unit: DialUnit::Mm,
        division: 0.02,
        divisions_per_turn: 100,
        falls_inward: false,
    };
    /// 0.001 in divisions, direct, a tenth of an inch a turn.
    pub const INCH: Self = Self {
        reads: DialReads::Direct,
        unit: DialUnit::Inch,
        division: 0.001,
        divisions_per_turn: 100,
        falls_inward: false,
    };

    /// Whether the divisions make sense.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.division.is_finite() && self.division > 0.0 && self.divisions_per_turn > 0
    }

    /// Slide movement of one division, mm.
    #[must_use]
    pub fn division_mm(&self) -> f64 {
        let unit = match self.unit {
            DialUnit::Mm => 1.0,
            DialUnit::Inch => MM_PER_INCH,
        };
        let halved = match self.reads {
            DialReads::Direct => 1.0,
            DialReads::Diameter => 0.5,
        };
        self.division * unit * halved
    }

    /// The reading nearest to a movement of the slide by `movement_mm` from zero, away from the operator.
    #[must_use]
    pub fn reading(&self, movement_mm: f64) -> DialReading {
        self.reading_of(movement_mm, false)
    }

    /// Whether the figures fall while the slide moves so.
    #[must_use]
    pub fn counts_down(&self, outward: bool) -> bool {
        outward != self.falls_inward
    }

    /// The same for a movement away from the operator or, `outward`, toward him: there the figures of most
    /// dials fall, and what stands opposite the mark is what is missing to a whole turn.
    #[must_use]
    pub fn reading_of(&self, movement_mm: f64, outward: bool) -> DialReading {
        let divisions = (movement_mm / self.division_mm()).round();
        let per_turn = f64::from(self.divisions_per_turn);
        let turns = (divisions / per_turn).floor();
        let beyond = (divisions - turns * per_turn) as u32;
        let down = self.counts_down(outward) && beyond > 0;
        DialReading {
            turns: turns as i64,
            divisions: if down { self.divisions_per_turn - beyond } else { beyond },
            shown: divisions * self.division,
            movement_mm: divisions * self.division_mm(),
        }
    }
}

/// A reading of a dial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DialReading {
    /// Whole turns from zero.
    pub turns: i64,
    /// Divisions beyond them.
    pub divisions: u32,
    /// What the dial's figures add up to, in the dial's unit and manner.
    pub shown: f64,
    /// Movement of the slide this stands for, mm: the wanted one rounded to a division.
    pub movement_mm: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn toward_the_operator_most_dials_count_down() {
        let at = |mm: f64| {
            let r = Dial::METRIC.reading_of(mm, true);
            (r.turns, r.divisions)
        };
        // From 0 back: 11 divisions leave 89 to the mark, 113 a whole turn and 87.
        assert_eq!([at(0.22), at(2.0), at(2.26)], [(0, 89), (1, 0), (1, 87)]);
        let odd = Dial { falls_inward: true, ..Dial::METRIC };
        assert_eq!(odd.reading_of(0.22, true).divisions, 11);
        assert_eq!(odd.reading(0.22).divisions, 89);
        assert_relative_eq!(odd.reading(0.22).movement_mm, 0.22);
    }

    #[test]
    fn direct_and_diameter_dials() {
        let direct = Dial::METRIC.reading(2.25);
        assert_eq!((direct.turns, direct.divisions), (1, 13));
        assert_relative_eq!(direct.movement_mm, 2.26);
        let diameter = Dial { reads: DialReads::Diameter, ..Dial::METRIC }.reading(2.25);
        assert_eq!((diameter.turns, diameter.divisions), (2, 25));
        assert_relative_eq!(diameter.shown, 4.5);
        let inch = Dial::INCH.reading(2.54);
        assert_eq!((inch.turns, inch.divisions), (1, 0));
    }
}
