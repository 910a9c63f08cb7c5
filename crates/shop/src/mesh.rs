//! Whether wheels mesh, clear each other's shafts, and reach from spindle to lead screw.

use serde::{Deserialize, Serialize};

/// The change-wheel bracket of a lathe.
///
/// The defaults ask for clearance only: module 1.5 mm, shafts of 16 mm, no limit of reach. They are
/// common for small lathes; measure your own.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bracket {
    /// Module of the wheels, mm (25.4 / diametral pitch).
    pub module_mm: f64,
    /// Diameter of shafts, studs and collars that a neighbouring wheel must miss, mm.
    pub shaft_diameter_mm: f64,
    /// From the first driver's shaft to the lead screw, mm; `None`: not limited.
    pub centres_mm: Option<f64>,
    /// Largest wheel the guard takes, teeth; `None`: not limited.
    pub most_teeth: Option<u32>,
}

impl Default for Bracket {
    fn default() -> Self {
        Self { module_mm: 1.5, shaft_diameter_mm: 16.0, centres_mm: None, most_teeth: None }
    }
}

/// Wheels in the order in which they stand.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Chain<'a> {
    pub drivers: &'a [u32],
    pub driven: &'a [u32],
}

impl Chain<'_> {
    /// No wheel runs into the shaft beside it.
    ///
    /// Driven `i` and driver `i + 1` share a shaft. Beside driver `i` and driven `i` in mesh, the
    /// wheel on the far side of the shared shaft must miss the neighbour's shaft.
    pub(crate) fn clears(&self, bracket: &Bracket) -> bool {
        let m = bracket.module_mm;
        let shaft = 0.5 * bracket.shaft_diameter_mm;
        let outer = |t: u32| 0.5 * m * (f64::from(t) + 2.0);
        if let Some(most) = bracket.most_teeth
            && self.drivers.iter().chain(self.driven).any(|&t| t > most)
        {
            return false;
        }
        let n = self.drivers.len();
        (0..n).all(|i| {
            let centres = 0.5 * m * (f64::from(self.drivers[i]) + f64::from(self.driven[i]));
            // On the shaft of driven i sits driver i + 1; it must miss the shaft of driver i.
            let ahead = self.drivers.get(i + 1).is_none_or(|&t| centres > outer(t) + shaft);
            // On the shaft of driver i sits driven i - 1; it must miss the shaft of driven i.
            let behind = i == 0 || centres > outer(self.driven[i - 1]) + shaft;
            ahead && behind
        })
    }

    /// First driver and last driven miss the shaft at the other end of the bracket, whose centres are
    /// fixed: a train of four or six bends round, and its end wheels may reach across.
    pub(crate) fn clears_far(&self, bracket: &Bracket) -> bool {
        let Some(span) = bracket.centres_mm.filter(|_| self.drivers.len() > 1) else { return true };
        let reach = |t: u32| {
            0.5 * bracket.module_mm * (f64::from(t) + 2.0) + 0.5 * bracket.shaft_diameter_mm
        };
        let ends = [self.drivers.first(), self.driven.last()];
        ends.into_iter().flatten().all(|&t| span > reach(t))
    }

    /// The steepest single step, up or down: how far one pair in mesh is from turning alike.
    pub(crate) fn steepest(&self) -> f64 {
        let steps = self.drivers.iter().zip(self.driven);
        steps.map(|(&a, &b)| f64::from(a.max(b)) / f64::from(a.min(b).max(1))).fold(1.0, f64::max)
    }

    /// The steepest step up, driver over driven: what strains teeth and shakes the lead screw.
    pub(crate) fn steepest_up(&self) -> f64 {
        let steps = self.drivers.iter().zip(self.driven);
        steps.map(|(&a, &b)| f64::from(a) / f64::from(b.max(1))).fold(0.0, f64::max)
    }

    /// The chain bends to span the centres: no link is longer than all others and the span together.
    pub(crate) fn reaches(&self, bracket: &Bracket) -> bool {
        let Some(span) = bracket.centres_mm else { return true };
        let links: Vec<f64> = self
            .drivers
            .iter()
            .zip(self.driven)
            .map(|(&a, &b)| 0.5 * bracket.module_mm * f64::from(a + b))
            .collect();
        let total: f64 = links.iter().sum();
        let longest = links.iter().copied().fold(span, f64::max);
        // With one link both are fixed: it must be the span itself.
        if links.len() == 1 {
            return (total - span).abs() < 0.1 * bracket.module_mm;
        }
        2.0 * longest <= total + span
    }
}

impl Bracket {
    /// The smallest wheel owned that carries the drive over from `first` to `last`.
    pub(crate) fn idler(&self, first: u32, last: u32, owned: &[u32]) -> Option<u32> {
        let span = self.centres_mm?;
        let m = self.module_mm;
        let mut left = owned.to_vec();
        for used in [first, last] {
            let at = left.iter().position(|&t| t == used)?;
            left.swap_remove(at);
        }
        left.sort_unstable();
        let apart = 0.5 * m * (f64::from(first + last) + 4.0);
        if span <= apart {
            return None;
        }
        left.into_iter().find(|&t| {
            let (a, b) = (0.5 * m * f64::from(first + t), 0.5 * m * f64::from(last + t));
            a + b >= span && (a - b).abs() <= span && self.most_teeth.is_none_or(|most| t <= most)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_driver_hits_the_spindle_shaft() {
        // 20 drives 30, on whose shaft sits 80: its edge (61.5 mm) reaches past the first shaft,
        // 37.5 mm away.
        let b = Bracket::default();
        assert!(!Chain { drivers: &[20, 80], driven: &[30, 40] }.clears(&b));
        assert!(Chain { drivers: &[40, 30], driven: &[60, 50] }.clears(&b));
    }

    #[test]
    fn an_end_wheel_hits_the_shaft_at_the_other_end() {
        // 60 mm between first driver and lead screw: a last wheel of 75 reaches 57.75 mm and the
        // shaft is 8 mm thick each way (own arithmetic: 0.5 · 1.5 · 77 + 8 = 65.75).
        let b = Bracket { centres_mm: Some(60.0), ..Bracket::default() };
        assert!(!Chain { drivers: &[30, 40], driven: &[50, 75] }.clears_far(&b));
        assert!(!Chain { drivers: &[75, 40], driven: &[50, 30] }.clears_far(&b));
        // 0.5 · 1.5 · 62 + 8 = 54.5.
        assert!(Chain { drivers: &[30, 40], driven: &[50, 60] }.clears_far(&b));
        // Not limited, the lead screw is far enough away.
        assert!(Chain { drivers: &[75, 40], driven: &[50, 30] }.clears_far(&Bracket::default()));
    }

    #[test]
    fn an_idler_spans_what_two_wheels_cannot() {
        let b = Bracket { centres_mm: Some(120.0), ..Bracket::default() };
        assert!(!Chain { drivers: &[40], driven: &[60] }.reaches(&b));
        // 40 and 60: 150 mm of pitch circles' diameters; 30 + 45 + 2 × idler radius ≥ 120.
        assert_eq!(b.idler(40, 60, &[20, 40, 60, 65]), Some(65));
        assert_eq!(b.idler(40, 60, &[20, 40, 60]), None);
        assert!(Chain { drivers: &[40, 30], driven: &[60, 50] }.reaches(&b));
    }
}
