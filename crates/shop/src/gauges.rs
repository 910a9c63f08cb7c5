//! Gauges: plugs that say go and no-go for the nut, and the thickness of a ridge at a depth.

use crate::mating::axial_play_mm;
use crate::nut::NutDesign;
use crate::nut_request::NutError;
use crate::screw::{ScrewError, ScrewForm};
use crate::wires::{WireError, WireThread, over_wires};
use form::{Quantity, Said, Sentence, Thread, mm, outside};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use thiserror::Error;

/// Why there is no gauge.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GaugeError {
    /// The screw.
    Screw(#[from] ScrewError),
    /// The nut.
    Nut(#[from] NutError),
    /// The wires.
    Wire(#[from] WireError),
    /// A number out of limits.
    Limits {
        /// What.
        what: &'static str,
        /// Value, mm.
        value_mm: f64,
        /// Least, mm.
        least_mm: f64,
        /// Most, mm.
        most_mm: f64,
    },
}

impl Said for GaugeError {
    fn said(&self) -> Sentence {
        match self {
            Self::Screw(e) => e.said(),
            Self::Nut(e) => e.said(),
            Self::Wire(e) => e.said(),
            Self::Limits { what, value_mm, least_mm, most_mm } => {
                outside(what, [*value_mm, *least_mm, *most_mm].map(|v| mm(v, 4)))
            }
        }
    }
}

form::said_by_display!(GaugeError);

/// A threaded plug.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlugGauge {
    /// By how much its ridge is thicker than the screw's thickest, mm.
    pub thicker_mm: f64,
    /// Thickness of its ridge at the screw's pitch diameter, mm.
    pub ridge_mm: f64,
    /// That diameter, mm.
    pub pitch_diameter_mm: f64,
    /// Diameter over its crests, mm.
    pub major_diameter_mm: f64,
    /// Diameter of its roots, mm; at most.
    pub minor_diameter_mm: f64,
    /// Wire for measuring it, mm; `None` for forms wires do not seat in.
    pub wire_mm: Option<f64>,
    /// Measurement over those wires, mm; `None` for forms wires do not seat in.
    pub over_wires_mm: Option<f64>,
}

/// Gauges for a nut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NutGauges {
    /// Must enter over the whole length: the nut then has at least the least play.
    pub go: PlugGauge,
    /// Must not enter more than two turns (practice of ISO 1502): the nut then has at most the most
    /// play. Its crests are cut down and its roots relieved, so that it bears on the flanks alone.
    pub no_go: PlugGauge,
    /// Plain plug that must enter the bore, mm.
    pub bore_go_mm: f64,
    /// Plain plug that must not, mm.
    pub bore_no_go_mm: f64,
    /// Least play, mm.
    pub least_play_mm: f64,
    /// Most play, mm.
    pub most_play_mm: f64,
}

/// Plug gauges that hold a nut between two plays.
///
/// # Errors
/// [`GaugeError::Limits`] when the plays are not in order.
pub fn nut_gauges(
    screw: &ScrewForm,
    nut: &NutDesign,
    least_play_mm: f64,
    most_play_mm: f64,
) -> Result<NutGauges, GaugeError> {
    if !(0.0..2.0).contains(&least_play_mm) {
        return Err(GaugeError::Limits {
            what: "least play",
            value_mm: least_play_mm,
            least_mm: 0.0,
            most_mm: 2.0,
        });
    }
    if !(most_play_mm > least_play_mm && most_play_mm <= 2.0) {
        return Err(GaugeError::Limits {
            what: "most play",
            value_mm: most_play_mm,
            least_mm: least_play_mm,
            most_mm: 2.0,
        });
    }
    let thread = screw.thickest().thread()?;
    let depth = thread.section().depth_mm();
    let plug = |thicker: f64, crest_off: f64, root_off: f64| -> Result<PlugGauge, GaugeError> {
        let pd = thread.pitch_diameter_mm();
        let below = 0.5 * (thread.major_diameter_mm() - pd);
        let ridge = thread.section().ridge_thickness_mm(below) + thicker;
        let s = thread.section();
        let wires = WireThread {
            pitch_mm: Quantity::derived(s.pitch_mm(), 0.0),
            right_flank_deg: Quantity::derived(s.right_flank_rad().to_degrees(), 0.0),
            left_flank_deg: Quantity::derived(s.left_flank_rad().to_degrees(), 0.0),
            pitch_diameter_mm: Quantity::derived(pd, 0.0),
            starts: thread.starts(),
            groove_width_mm: Some(s.pitch_mm() - ridge),
            major_diameter_mm: None,
            minor_diameter_mm: None,
        };
        // Wires that float above nearly parallel flanks measure nothing.
        let over = over_wires(&wires, None).ok();
        Ok(PlugGauge {
            thicker_mm: thicker,
            ridge_mm: ridge,
            pitch_diameter_mm: pd,
            major_diameter_mm: thread.major_diameter_mm() - 2.0 * crest_off,
            minor_diameter_mm: thread.minor_diameter_mm() - 2.0 * root_off,
            wire_mm: over.as_ref().map(|o| o.wire_mm),
            over_wires_mm: over.map(|o| o.over_wires_mm.value),
        })
    };
    Ok(NutGauges {
        go: plug(least_play_mm, 0.0, 0.0)?,
        no_go: plug(most_play_mm, 0.25 * depth, 0.1 * depth)?,
        bore_go_mm: nut.bore_mm.value - 0.5 * nut.bore_clearance_mm.value,
        bore_no_go_mm: nut.bore_mm.value + 0.1 * nut.engagement_mm.value,
        least_play_mm,
        most_play_mm,
    })
}

impl NutGauges {
    /// What the two threaded plugs would say of a groove: whether go enters, and whether no-go
    /// enters.
    ///
    /// # Errors
    /// [`GaugeError`] when a plug is no thread.
    pub fn try_on(
        &self,
        screw: &ScrewForm,
        groove: &crate::Groove,
    ) -> Result<(bool, bool), GaugeError> {
        let enters = |plug: &PlugGauge| -> Result<bool, GaugeError> {
            let mut form = screw.thickest();
            form.crest_flat_mm.value += plug.thicker_mm;
            let cut = 0.5 * (form.major_diameter_mm.value - plug.major_diameter_mm);
            let slope = form.right_flank_deg.value.to_radians().tan()
                + form.left_flank_deg.value.to_radians().tan();
            form.major_diameter_mm.value -= 2.0 * cut;
            form.depth_mm.value -= cut;
            form.crest_flat_mm.value += cut * slope;
            let play = axial_play_mm(&form.thread()?, groove)
                .map_err(|e| GaugeError::Nut(NutError::Mating(e)))?;
            Ok(play >= 0.0)
        };
        Ok((enters(&self.go)?, enters(&self.no_go)?))
    }
}

/// Thickness of a ridge between jaws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ToothThickness {
    /// Depth of the jaws below the crest, mm.
    pub depth_mm: f64,
    /// Lead angle there, to which the jaws are turned, degrees.
    pub lead_angle_deg: Quantity,
    /// Thickness between the jaws, mm, by contact with both helicoid flanks.
    pub thickness_mm: Quantity,
    /// The usual formula, axial thickness times the cosine of the lead angle, mm.
    pub by_formula_mm: f64,
}

/// Thickness a tooth-thickness gauge reads with its jaws set `depth_mm` below the crest and turned
/// to the lead angle there.
///
/// # Errors
/// [`GaugeError::Limits`] when the depth is outside the thread.
pub fn tooth_thickness(screw: &ScrewForm, depth_mm: f64) -> Result<ToothThickness, GaugeError> {
    screw.check()?;
    let thread = screw.thread()?;
    let whole = thread.section().depth_mm();
    if !(depth_mm > 0.0 && depth_mm < whole) {
        return Err(GaugeError::Limits {
            what: "depth of the jaws",
            value_mm: depth_mm,
            least_mm: 0.0,
            most_mm: whole,
        });
    }
    let x = 0.5 * thread.major_diameter_mm() - depth_mm;
    let lead = thread.lead_angle_rad(2.0 * x);
    let thickness_mm = crate::propagate::first_order(screw, &thread, |t| between_jaws(t, depth_mm));
    Ok(ToothThickness {
        depth_mm,
        lead_angle_deg: crate::propagate::first_order(screw, &thread, |t| {
            t.lead_angle_rad(t.major_diameter_mm() - 2.0 * depth_mm).to_degrees()
        }),
        thickness_mm,
        by_formula_mm: thread.section().ridge_thickness_mm(depth_mm) * lead.cos(),
    })
}

fn between_jaws(thread: &Thread, depth_mm: f64) -> f64 {
    let crest = 0.5 * thread.major_diameter_mm();
    let x = crest - depth_mm;
    let p = thread.lead_mm() / (2.0 * PI);
    let (s, c) = thread.lead_angle_rad(2.0 * x).sin_cos();
    let ridge = crate::ridge::Ridge::new(thread.section());
    // The jaw's edge lies in the plane at height x; the flank meets that plane in a curve.
    let half_width = (crest * crest - x * x).sqrt();
    let reach = |right: bool| {
        let across = |y: f64| {
            let r = x.hypot(y);
            let depth = crest - r;
            let half = if right { ridge.right_mm(depth) } else { ridge.left_mm(depth) };
            let z = p * y.atan2(x) + if right { half } else { -half };
            let n = z * c - y * s;
            if right { n } else { -n }
        };
        let ratio = 0.5 * (5f64.sqrt() - 1.0);
        let (mut lo, mut hi) = (-0.99 * half_width, 0.99 * half_width);
        for _ in 0..80 {
            let (a, b) = (hi - ratio * (hi - lo), lo + ratio * (hi - lo));
            if across(a) > across(b) { hi = b } else { lo = a }
        }
        across(0.5 * (lo + hi))
    };
    reach(true) + reach(false)
}
