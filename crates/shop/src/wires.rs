//! Pitch diameter over wires.

use crate::notice::Notice;
use crate::screw::{ScrewError, ScrewForm};
use crate::wire_contact::WireGroove;
use form::{Quantity, Said, Sentence, Thread, figure, mm, outside, sentence};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use thiserror::Error;

/// Why nothing can be said over wires.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum WireError {
    /// A number out of limits.
    Limits {
        /// What.
        what: &'static str,
        /// Value.
        value: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
    },
    /// The wire does not rest on both flanks.
    NoSeat {
        /// Wire, mm.
        wire_mm: f64,
        /// The wire nearest to it that does, mm; `None` where none does.
        seats_mm: Option<f64>,
    },
}

impl Said for WireError {
    fn said(&self) -> Sentence {
        match self {
            Self::Limits { what, value, least, most } => {
                outside(what, [*value, *least, *most].map(|v| figure(v, 4)))
            }
            Self::NoSeat { wire_mm, seats_mm: Some(seats_mm) } => sentence!(
                "a wire of {} finds no seat on both flanks of so steep a lead: the nearest that does is one of {}",
                mm(*wire_mm, 4),
                mm(*seats_mm, 2)
            ),
            Self::NoSeat { wire_mm, seats_mm: None } => sentence!(
                "a wire of {} finds no seat on both flanks, nor does any other: the lead is too steep for wires. Measure the ridge's thickness at a depth instead",
                mm(*wire_mm, 4)
            ),
        }
    }
}

form::said_by_display!(WireError);

/// A thread to be measured over wires.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WireThread {
    /// Pitch, mm.
    pub pitch_mm: Quantity,
    /// Right flank, degrees.
    pub right_flank_deg: Quantity,
    /// Left flank, degrees.
    pub left_flank_deg: Quantity,
    /// Pitch diameter, mm.
    pub pitch_diameter_mm: Quantity,
    /// Starts.
    pub starts: u32,
    /// Axial width of the groove at the pitch diameter, mm; `None` is half the pitch, which is what
    /// makes it the pitch diameter.
    pub groove_width_mm: Option<f64>,
    /// Major diameter, mm, where known: to tell whether wire and contacts lie right.
    pub major_diameter_mm: Option<f64>,
    /// Minor diameter, mm, where known.
    pub minor_diameter_mm: Option<f64>,
}

impl WireThread {
    /// A symmetric thread of one included angle.
    #[must_use]
    pub fn symmetric(
        pitch_mm: Quantity,
        included_deg: Quantity,
        pitch_diameter_mm: Quantity,
        starts: u32,
    ) -> Self {
        let half = included_deg.scaled(0.5);
        Self {
            pitch_mm,
            right_flank_deg: half,
            left_flank_deg: half,
            pitch_diameter_mm,
            starts,
            groove_width_mm: None,
            major_diameter_mm: None,
            minor_diameter_mm: None,
        }
    }

    /// The thread of a screw in hand, its pitch diameter with the uncertainty of the whole form.
    ///
    /// # Errors
    /// [`ScrewError`] when the screw cannot be worked with.
    pub fn of_screw(screw: &ScrewForm) -> Result<Self, ScrewError> {
        screw.check()?;
        let thread = screw.thread()?;
        let pd = thread.pitch_diameter_mm();
        let below = 0.5 * (thread.major_diameter_mm() - pd);
        let groove = thread.section().pitch_mm() - thread.section().ridge_thickness_mm(below);
        Ok(Self {
            pitch_mm: screw.pitch_mm,
            right_flank_deg: screw.right_flank_deg,
            left_flank_deg: screw.left_flank_deg,
            pitch_diameter_mm: screw.derive(Thread::pitch_diameter_mm)?,
            starts: screw.starts,
            // Half the pitch, except for square forms, which have no pitch line.
            groove_width_mm: (thread.section().pitch_line_depth_mm().is_none()).then_some(groove),
            major_diameter_mm: Some(thread.major_diameter_mm()),
            minor_diameter_mm: Some(thread.minor_diameter_mm()),
        })
    }

    fn numbers(&self) -> Numbers {
        Numbers {
            pitch: self.pitch_mm.value,
            right_rad: self.right_flank_deg.value.to_radians(),
            left_rad: self.left_flank_deg.value.to_radians(),
            diameter: self.pitch_diameter_mm.value,
            starts: f64::from(self.starts),
            width: self.groove_width_mm,
        }
    }

    fn check(&self) -> Result<(), WireError> {
        let limits = |what, value: f64, least: f64, most: f64| {
            if (least..=most).contains(&value) {
                Ok(())
            } else {
                Err(WireError::Limits { what, value, least, most })
            }
        };
        limits("pitch (mm)", self.pitch_mm.value, 0.05, 500.0)?;
        limits("starts", f64::from(self.starts), 1.0, 16.0)?;
        for (what, q) in [
            ("right flank (degrees)", self.right_flank_deg),
            ("left flank (degrees)", self.left_flank_deg),
        ] {
            limits(what, q.value, -10.0, 80.0)?;
        }
        let both = self.right_flank_deg.value + self.left_flank_deg.value;
        limits("included angle (degrees)", both, 4.0, 150.0)?;
        let p = self.pitch_mm.value;
        limits("pitch diameter (mm)", self.pitch_diameter_mm.value, 0.5 * p, 1e4)?;
        if let Some(width) = self.groove_width_mm {
            limits("groove width (mm)", width, 0.02 * p, 0.98 * p)?;
        }
        Ok(())
    }
}

/// The plain numbers behind a measurement, for finding sensitivities.
#[derive(Debug, Clone, Copy)]
struct Numbers {
    pitch: f64,
    right_rad: f64,
    left_rad: f64,
    diameter: f64,
    starts: f64,
    width: Option<f64>,
}

impl Numbers {
    fn groove(&self) -> WireGroove {
        WireGroove {
            radius: 0.5 * self.diameter,
            width: self.width.unwrap_or(0.5 * self.pitch),
            tan: [self.right_rad.tan(), self.left_rad.tan()],
            advance: self.pitch * self.starts / (2.0 * PI),
        }
    }

    fn lead_angle_deg(&self) -> f64 {
        (self.pitch * self.starts / (PI * self.diameter)).atan().to_degrees()
    }

    fn best_flat(&self) -> f64 {
        let (mean, half) =
            (0.5 * (self.right_rad + self.left_rad), 0.5 * (self.right_rad - self.left_rad));
        let apex = 0.5 * self.pitch / (self.right_rad.tan() + self.left_rad.tan());
        2.0 * apex * mean.sin() / (half.cos() * mean.cos().powi(2))
    }

    fn over(&self, wire: f64) -> Option<f64> {
        self.groove().seat(0.5 * wire).map(|s| 2.0 * s.centre + wire)
    }

    fn over_flat(&self, wire: f64) -> f64 {
        2.0 * self.groove().flat_centre(0.5 * wire) + wire
    }

    /// First-order lead correction of a symmetric thread.
    fn first_order(&self, wire: f64) -> f64 {
        let tan_lead = self.pitch * self.starts / (PI * self.diameter);
        let half = 0.5 * (self.right_rad + self.left_rad);
        0.5 * wire * tan_lead * tan_lead * half.cos() / half.tan()
    }
}

/// Result of a calculation over wires.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OverWires {
    /// Wire that touches at the pitch line of a thread without lead: `P / (2 cos α)` when symmetric.
    pub best_wire_mm: Quantity,
    /// Wire that touches the true helicoid flanks at the pitch line; `None` when none does.
    pub best_wire_at_lead_mm: Option<f64>,
    /// Wire used, mm.
    pub wire_mm: f64,
    /// Measurement over wires, by contact with both true helicoid flanks, mm.
    pub over_wires_mm: Quantity,
    /// The same for a thread without lead, mm.
    pub over_wires_no_lead_correction_mm: f64,
    /// The same by the usual formula, first order in the lead (EURAMET cg-10; Machinery's Handbook):
    /// `+ W/2 · tan²λ cos α cot α`; `None` for unequal flanks, for which it does not hold.
    pub over_wires_first_order_mm: Option<f64>,
    /// Lead angle at the pitch diameter, degrees.
    pub lead_angle_deg: Quantity,
    /// Diameters at which the wire touches the right and the left flank, mm.
    pub contact_diameter_mm: [f64; 2],
    /// What is to be said besides.
    pub notices: Vec<Notice>,
}

/// Wire that touches at the pitch line of a thread without lead, mm. For unequal flanks the wire
/// whose two contacts lie, on average, at the pitch line.
#[must_use]
pub fn best_wire_mm(pitch_mm: f64, right_flank_deg: f64, left_flank_deg: f64) -> f64 {
    Numbers {
        pitch: pitch_mm,
        right_rad: right_flank_deg.to_radians(),
        left_rad: left_flank_deg.to_radians(),
        diameter: 1.0,
        starts: 1.0,
        width: None,
    }
    .best_flat()
}

/// Measurement over wires of `wire_mm`, or over best wires.
///
/// # Errors
/// [`WireError`] names the number and its limits.
pub fn over_wires(thread: &WireThread, wire_mm: Option<f64>) -> Result<OverWires, WireError> {
    thread.check()?;
    let n = thread.numbers();
    let best = n.best_flat();
    let wire = wire_mm.unwrap_or(best);
    if !(0.2 * best..=4.0 * best).contains(&wire) {
        return Err(WireError::Limits {
            what: "wire (mm)",
            value: wire,
            least: 0.2 * best,
            most: 4.0 * best,
        });
    }
    let no_seat = || WireError::NoSeat { wire_mm: wire, seats_mm: nearest_seat(&n, wire, best) };
    let seat = n.groove().seat(0.5 * wire).ok_or_else(no_seat)?;
    let over = 2.0 * seat.centre + wire;
    let u = doubt(thread, |n| n.over(wire));
    let u_best = doubt(thread, |n| Some(n.best_flat()));
    let at_lead = n.groove().wire_touching_at(n.groove().radius, 0.5 * best).map(|rho| 2.0 * rho);
    let symmetric = (n.right_rad - n.left_rad).abs() < 1e-6;
    let contact = seat.contact_radius.map(|r| 2.0 * r);
    Ok(OverWires {
        best_wire_mm: Quantity::derived(best, u_best),
        best_wire_at_lead_mm: at_lead,
        wire_mm: wire,
        over_wires_mm: Quantity::derived(over, u),
        over_wires_no_lead_correction_mm: n.over_flat(wire),
        over_wires_first_order_mm: symmetric.then(|| n.over_flat(wire) + n.first_order(wire)),
        lead_angle_deg: Quantity::derived(
            n.lead_angle_deg(),
            doubt(thread, |n| Some(n.lead_angle_deg())),
        ),
        contact_diameter_mm: contact,
        notices: remarks(thread, &n, over, wire, contact),
    })
}

/// The wire nearest in size to `wire` that rests on both flanks, mm, to a hundredth; between the limits
/// of the wires that are taken at all.
fn nearest_seat(n: &Numbers, wire: f64, best: f64) -> Option<f64> {
    let step = (0.002 * best).max(0.01);
    let hundredth = |w: f64| (100.0 * w).round() / 100.0;
    let seats = |w: &f64| {
        let within = (0.2 * best..=4.0 * best).contains(w);
        within && n.groove().seat(0.5 * *w).is_some()
    };
    (1..=2000)
        .flat_map(|k| [wire - f64::from(k) * step, wire + f64::from(k) * step])
        .map(hundredth)
        .find(seats)
}

/// Pitch diameter from a measurement over wires, mm: the inverse of [`over_wires`].
///
/// # Errors
/// As [`over_wires`]; the pitch diameter of `thread` is only a starting value.
pub fn pitch_diameter_from_wires(
    thread: &WireThread,
    wire_mm: f64,
    over_wires_mm: Quantity,
) -> Result<Quantity, WireError> {
    let mut t = *thread;
    // Over wires and pitch diameter rise nearly one for one: the difference shrinks fast.
    for _ in 0..30 {
        let off = over_wires_mm.value - over_wires(&t, Some(wire_mm))?.over_wires_mm.value;
        t.pitch_diameter_mm.value += off;
        if off.abs() < 1e-10 {
            break;
        }
    }
    t.pitch_diameter_mm.u = 0.0;
    let u = over_wires(&t, Some(wire_mm))?.over_wires_mm.u.hypot(over_wires_mm.u);
    Ok(Quantity::derived(t.pitch_diameter_mm.value, u))
}

fn doubt(thread: &WireThread, f: impl Fn(&Numbers) -> Option<f64>) -> f64 {
    let n = thread.numbers();
    let same = thread.right_flank_deg == thread.left_flank_deg;
    let mut variance = 0.0;
    let mut add = |u: f64, change: &dyn Fn(&mut Numbers, f64)| {
        if u == 0.0 {
            return;
        }
        let (mut hi, mut lo) = (n, n);
        change(&mut hi, 0.1 * u);
        change(&mut lo, -0.1 * u);
        variance += match (f(&hi), f(&lo)) {
            (Some(hi), Some(lo)) if u.is_finite() => ((hi - lo) / 0.2).powi(2),
            _ => f64::INFINITY,
        };
    };
    add(thread.pitch_mm.u, &|n, d| n.pitch += d);
    add(thread.pitch_diameter_mm.u, &|n, d| n.diameter += d);
    if same {
        // One included angle was given: both flanks err together.
        add(thread.right_flank_deg.u.to_radians(), &|n, d| {
            n.right_rad += d;
            n.left_rad += d;
        });
    } else {
        add(thread.right_flank_deg.u.to_radians(), &|n, d| n.right_rad += d);
        add(thread.left_flank_deg.u.to_radians(), &|n, d| n.left_rad += d);
    }
    variance.sqrt()
}

fn remarks(
    thread: &WireThread,
    n: &Numbers,
    over: f64,
    wire: f64,
    contact: [f64; 2],
) -> Vec<Notice> {
    let mut notices = Vec::new();
    if let Some(major) = thread.major_diameter_mm {
        if over <= major {
            notices.push(Notice::new(
                "wire-below-crest",
                sentence!(
                    "the wire of {} lies below the crests ({} over wires, {} major diameter): use a thicker one",
                    mm(wire, 3),
                    mm(over, 3),
                    mm(major, 3)
                ),
            ));
        }
        if contact.iter().any(|&d| d >= major) {
            notices.push(Notice::new(
                "wire-on-crest",
                sentence!(
                    "the wire of {} rests on the edge of the crest, not on the flanks: use a thinner one",
                    mm(wire, 3)
                ),
            ));
        }
    }
    if let Some(minor) = thread.minor_diameter_mm {
        let bottom = over - 2.0 * wire;
        if bottom <= minor {
            notices.push(Notice::new(
                "wire-on-root",
                sentence!(
                    "the wire of {} would stand on the root, not on the flanks: use a thicker one",
                    mm(wire, 3)
                ),
            ));
        }
        if contact.iter().any(|&d| d <= minor) {
            notices.push(Notice::new(
                "contact-below-flank",
                sentence!(
                    "the wire of {} would touch below the flanks: use a thicker one",
                    mm(wire, 3)
                ),
            ));
        }
    }
    let first_order = n.first_order(wire);
    if first_order > 0.02 * n.pitch {
        notices.push(Notice::new(
            "large-lead",
            sentence!(
                "the lead raises the wires by about {}: no formula of first order will do, the contact with both flanks is computed",
                mm(first_order, 3)
            ),
        ));
    }
    notices
}
