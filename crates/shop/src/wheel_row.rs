//! A train of change wheels laid out in a straight row, to be drawn to scale.

use crate::gears::Train;

/// What a wheel does in a train.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WheelDoes {
    /// Drives the next.
    Drives,
    /// Only carries the drive over.
    Idles,
    /// Is driven.
    Driven,
}

/// A wheel in its place. Lengths are in modules: times the module they are millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelPlace {
    /// Its shaft, from the first driver's shaft.
    pub at: f64,
    /// Radius of its pitch circle.
    pub radius: f64,
    /// Teeth.
    pub teeth: u32,
    /// What it does.
    pub does: WheelDoes,
}

impl Train {
    /// The wheels in a straight row, from the spindle to the lead screw: pitch circles that mesh touch,
    /// a driven wheel and the next driver are on one shaft.
    #[must_use]
    pub fn row(&self) -> Vec<WheelPlace> {
        wheel_row(&self.drivers, &self.driven, self.idler)
    }
}

/// The same for wheels by their teeth; an idler stands between the first two.
#[must_use]
pub fn wheel_row(drivers: &[u32], driven: &[u32], idler: Option<u32>) -> Vec<WheelPlace> {
    let mut at = 0.0;
    let mut row: Vec<WheelPlace> = Vec::new();
    let place = |at, teeth, does| WheelPlace { at, radius: 0.5 * f64::from(teeth), teeth, does };
    for (i, (&driver, &driven)) in drivers.iter().zip(driven).enumerate() {
        let mut last = place(at, driver, WheelDoes::Drives);
        row.push(last);
        let between = idler.filter(|_| i == 0).map(|teeth| (teeth, WheelDoes::Idles));
        for (teeth, does) in between.into_iter().chain([(driven, WheelDoes::Driven)]) {
            at += last.radius + 0.5 * f64::from(teeth);
            last = place(at, teeth, does);
            row.push(last);
        }
    }
    row
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wheels_that_mesh_touch_and_those_on_one_shaft_share_it() {
        let row = wheel_row(&[40, 60], &[50, 127], None);
        let at: Vec<f64> = row.iter().map(|w| w.at).collect();
        // (40 + 50) / 2 and (60 + 127) / 2 further on.
        assert_eq!(at, [0.0, 45.0, 45.0, 138.5]);
        let idled = wheel_row(&[40], &[80], Some(30));
        let at: Vec<f64> = idled.iter().map(|w| w.at).collect();
        assert_eq!(at, [0.0, 35.0, 90.0]);
        assert_eq!(idled[1].does, WheelDoes::Idles);
    }
}
