//! The nut for a screw in hand: designed round the screw's thickest ridge.
//!
//! ```text
//!   nut   |‾‾‾‾‾\          tip flat         /‾‾‾‾‾|
//!         |      \________________________ /      |   groove bottom, groove diameter / 2
//!         |          crest clearance  ↕           |
//!         |       \  ______________________ /     |   screw's crest, major diameter / 2
//!         |        \/                      \/     |
//!         |   ↔ half the play each side           |
//!  bore __|     bore clearance over the root      |__
//! ```
//!
//! The tool that cuts the groove copies the screw's **ridge**. With flanks inclined, tip flat and
//! depth are two handles on one play: every millimetre of infeed past contact adds `tan right + tan
//! left` to it. With square flanks only the tip flat counts.

use crate::groove::{Groove, GrooveError, StraightGroove};
use crate::mating::{self, Mating, MatingError};
use crate::notice::{Notice, Provenance};
use crate::pressure::{FlankPressure, NutMaterial, flank_pressure};
use crate::propagate::{Draws, first_order, mean_and_deviation};
use crate::screw::{ScrewError, ScrewForm};
use form::{Quantity, Thread};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Draw pairs behind a forecast of play.
const PAIRS: usize = 400;
/// Points of the play curve.
const CURVE_POINTS: usize = 41;
/// Play may be asked for in this range, mm.
const PLAY_LIMITS_MM: (f64, f64) = (0.0, 2.0);
/// Below this sum of tangents the infeed is said to do nothing for the play.
const SQUARE_SLOPE: f64 = 0.01;

/// Why a nut cannot be designed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NutError {
    /// The screw.
    #[error(transparent)]
    Screw(#[from] ScrewError),
    /// The groove.
    #[error(transparent)]
    Groove(#[from] GrooveError),
    /// The assembly.
    #[error(transparent)]
    Mating(#[from] MatingError),
    /// The play asked for.
    #[error("axial play {0:.4} mm is outside 0 to 2 mm")]
    Play(f64),
    /// A clearance.
    #[error("{which} clearance {value_mm:.4} mm is outside 0 to {most_mm:.4} mm")]
    Clearance {
        /// `"radial"` or `"bore"`.
        which: &'static str,
        /// Value asked for, mm.
        value_mm: f64,
        /// Largest, mm.
        most_mm: f64,
    },
    /// The length of the nut.
    #[error("nut length {length_mm:.2} mm is outside {least_mm:.2} mm (one pitch) to 1000 mm")]
    Length {
        /// Length asked for, mm.
        length_mm: f64,
        /// Least length, mm.
        least_mm: f64,
    },
    /// Any other number of the request.
    #[error("{what} {value} is not a positive number")]
    Positive {
        /// What.
        what: &'static str,
        /// Value.
        value: f64,
    },
    /// Infeed cannot give this play.
    #[error(
        "the flanks are square to the axis: infeed does not change the play of {play_mm:.3} mm; grind the tip {change_mm:+.3} mm wider instead"
    )]
    DepthDoesNothing {
        /// Play whatever the infeed, mm.
        play_mm: f64,
        /// How much wider the tip must be for the play asked, mm.
        change_mm: f64,
    },
    /// Infeed that gives the play but leaves no clearance or no groove.
    #[error(
        "infeed {infeed_mm:.3} mm is outside {least_mm:.3} mm (the screw's crest just clears) to {most_mm:.3} mm"
    )]
    Infeed {
        /// Infeed that results, mm.
        infeed_mm: f64,
        /// Least, mm.
        least_mm: f64,
        /// Most, mm.
        most_mm: f64,
    },
}

/// How well the work will be done, standard uncertainties (k = 1).
///
/// The defaults are common practice for a hand-ground tool checked against a magnified template and
/// a cross slide read from its dial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Workmanship {
    /// Tip flat, mm.
    pub tip_flat_mm: f64,
    /// Each flank angle, degrees.
    pub flank_deg: f64,
    /// Infeed, mm.
    pub infeed_mm: f64,
}

impl Workmanship {
    /// Nothing goes wrong: what the form alone leaves uncertain.
    pub const PERFECT: Self = Self { tip_flat_mm: 0.0, flank_deg: 0.0, infeed_mm: 0.0 };
}

impl Default for Workmanship {
    fn default() -> Self {
        Self { tip_flat_mm: 0.01, flank_deg: 0.1, infeed_mm: 0.01 }
    }
}

/// How the nut is made up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", tag = "kind")]
pub enum NutKind {
    /// One piece.
    Solid,
    /// Sawn through lengthwise, to be closed on the screw; the saw takes `kerf_mm`.
    Split {
        /// Width of the cut, mm.
        kerf_mm: f64,
    },
    /// A threaded sleeve pressed into a housing with `interference_mm` on its outer diameter.
    Sleeve {
        /// Outer diameter, mm.
        outer_diameter_mm: f64,
        /// Interference on the diameter, mm.
        interference_mm: f64,
    },
}

/// What is wanted of the nut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NutRequest {
    /// Axial play at the thickest ridge of the screw, mm.
    pub axial_play_mm: f64,
    /// Radial clearance over the screw's crest, mm; `None` takes the crest clearance of ISO 2904
    /// for the pitch.
    pub radial_clearance_mm: Option<f64>,
    /// Radial clearance of the bore over the screw's root, mm; `None` takes the same as over the crest.
    pub bore_clearance_mm: Option<f64>,
    /// Length of the thread in the nut, mm; `None` takes one and a half major diameters.
    pub length_mm: Option<f64>,
    /// Corner radius of the tool, mm; `None` takes the screw's crest radius, or a sharp corner.
    pub corner_radius_mm: Option<f64>,
    /// Pitch the change wheels really cut, mm; `None` takes the screw's.
    pub cut_pitch_mm: Option<f64>,
    /// How well the work will be done.
    pub workmanship: Workmanship,
    /// Solid, split or sleeve.
    pub kind: NutKind,
    /// Material, for the flank pressure.
    pub material: NutMaterial,
    /// Axial load, N, for the flank pressure.
    pub load_n: Option<f64>,
}

impl NutRequest {
    /// A solid bronze nut with this axial play and everything else by default.
    #[must_use]
    pub fn with_play(axial_play_mm: f64) -> Self {
        Self {
            axial_play_mm,
            radial_clearance_mm: None,
            bore_clearance_mm: None,
            length_mm: None,
            corner_radius_mm: None,
            cut_pitch_mm: None,
            workmanship: Workmanship::default(),
            kind: NutKind::Solid,
            material: NutMaterial::Bronze,
            load_n: None,
        }
    }
}

/// Play at one infeed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlayPoint {
    /// Radial infeed from touching the bore, mm.
    pub infeed_mm: f64,
    /// Axial play on the screw's thickest ridge, mm; negative: the screw does not enter.
    pub play_mm: f64,
    /// Whether the screw's crest clears the bottom of the groove.
    pub crest_clears: bool,
}

/// A nut, its groove, and what assembling it will give.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NutDesign {
    /// Diameter to bore before threading, mm.
    pub bore_mm: Quantity,
    /// Diameter at the bottom of the groove, mm.
    pub groove_diameter_mm: Quantity,
    /// Width of the tool at its tip, between sharp corners, mm.
    pub tool_tip_flat_mm: Quantity,
    /// Corner radius of the tool, mm.
    pub tool_corner_radius_mm: f64,
    /// Largest corner radius that still clears the screw's crest at this play, mm.
    pub most_corner_radius_mm: f64,
    /// Right wall from the normal to the axis, degrees.
    pub right_flank_deg: Quantity,
    /// Left wall, degrees.
    pub left_flank_deg: Quantity,
    /// Pitch, mm.
    pub pitch_mm: Quantity,
    /// Lead, mm.
    pub lead_mm: Quantity,
    /// Length of thread, mm.
    pub length_mm: f64,
    /// Radial infeed from touching the bore, mm.
    pub infeed_mm: Quantity,
    /// Axial play forecast on the thickest ridge, mm.
    pub axial_play_mm: Quantity,
    /// Axial play forecast where the screw's ridge is thinnest, mm.
    pub play_where_thinnest_mm: Quantity,
    /// Radial clearance over the screw's crest, mm.
    pub radial_clearance_mm: Quantity,
    /// Radial clearance of the bore over the screw's root, mm.
    pub bore_clearance_mm: Quantity,
    /// How far the screw can move sideways, mm.
    pub radial_float_mm: f64,
    /// Radial height the threads share, mm.
    pub engagement_mm: Quantity,
    /// That height as a part of the screw's depth.
    pub engagement_fraction: f64,
    /// Axial play added per millimetre of radial infeed past contact; halve for a dial that reads
    /// diameter.
    pub play_per_infeed: Quantity,
    /// Infeed at which the screw would just enter, mm; `None` for square flanks.
    pub infeed_at_no_play_mm: Option<f64>,
    /// Play against infeed.
    pub play_curve: Vec<PlayPoint>,
    /// The groove in its axial section, as designed.
    pub groove: Groove,
    /// The groove assembled with the screw's thickest ridge.
    pub mating: Mating,
    /// Whether the nut passes the screw's thickest ridge (its unworn ends) within two standard
    /// uncertainties.
    pub passes_unworn_ends: bool,
    /// Flank pressure under the stated load.
    pub pressure: Option<FlankPressure>,
    /// Play lost to the change wheels' error over the length of the nut, mm.
    pub play_lost_to_lead_mm: f64,
    /// For a split nut: play taken up by closing the kerf; for a sleeve: play lost in pressing, mm.
    pub play_taken_by_closing_mm: Option<f64>,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
    /// Where the numbers come from.
    pub provenance: Vec<Provenance>,
    /// What was asked for.
    pub request: NutRequest,
}

/// Crest clearance of ISO 2904 for a metric trapezoidal thread of this pitch, mm; below 1.5 mm,
/// where that table ends, a tenth of the pitch (common practice).
#[must_use]
pub fn crest_clearance_mm(pitch_mm: f64) -> f64 {
    match pitch_mm {
        p if p < 1.5 - 1e-6 => 0.1 * p,
        p if p < 2.0 - 1e-6 => 0.15,
        p if p < 5.5 => 0.25,
        p if p < 13.0 => 0.5,
        _ => 1.0,
    }
}

/// Designs the nut for the screw's thickest ridge.
///
/// # Errors
/// [`NutError`] names the number that does not go, and its limits.
pub fn design_nut(screw: &ScrewForm, request: &NutRequest) -> Result<NutDesign, NutError> {
    let plan = Plan::new(screw, request)?;
    plan.design()
}

struct Plan<'a> {
    screw: &'a ScrewForm,
    thickest: ScrewForm,
    thread: Thread,
    request: NutRequest,
    length_mm: f64,
    slope: f64,
    crest_clearance_mm: f64,
    bore_clearance_mm: f64,
    notices: Vec<Notice>,
    provenance: Vec<Provenance>,
}

impl<'a> Plan<'a> {
    fn new(screw: &'a ScrewForm, request: &NutRequest) -> Result<Self, NutError> {
        screw.check()?;
        let thickest = screw.thickest();
        thickest.check()?;
        let thread = thickest.thread()?;
        let section = *thread.section();
        let play = request.axial_play_mm;
        if !(PLAY_LIMITS_MM.0..=PLAY_LIMITS_MM.1).contains(&play) {
            return Err(NutError::Play(play));
        }
        for (what, value) in [
            ("load (N)", request.load_n.unwrap_or(1.0)),
            ("pitch cut (mm)", request.cut_pitch_mm.unwrap_or(1.0)),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(NutError::Positive { what, value });
            }
        }
        let pitch_mm = section.pitch_mm();
        let length_mm = request.length_mm.unwrap_or(1.5 * thread.major_diameter_mm());
        if !(length_mm >= pitch_mm && length_mm <= 1000.0) {
            return Err(NutError::Length { length_mm, least_mm: pitch_mm });
        }
        let slope = section.right_flank_rad().tan() + section.left_flank_rad().tan();
        let mut notices = Vec::new();
        let mut provenance = Vec::new();
        // A tip narrower than this breaks off in the cut (common practice).
        let least_flat = (0.03 * pitch_mm).max(0.05);
        let room = section.crest_flat_mm() + play - least_flat;
        let most_mm = if slope > 1e-9 { (room / slope).min(pitch_mm) } else { pitch_mm };
        let crest_clearance_mm = match request.radial_clearance_mm {
            Some(value_mm) => {
                if !(value_mm >= 0.0 && value_mm <= most_mm.max(0.0)) {
                    return Err(NutError::Clearance { which: "radial", value_mm, most_mm });
                }
                provenance.push(Provenance::new("radial_clearance_mm", "entered"));
                value_mm
            }
            None => {
                let table = crest_clearance_mm(pitch_mm);
                // A rounded crest already stands back from the corner of the groove.
                let value = table.min(0.9 * most_mm).max(0.0);
                if value < table {
                    notices.push(Notice::new(
                        "crest-clearance-reduced",
                        format!(
                            "the usual crest clearance of {table:.2} mm would leave the tool no tip; {value:.3} mm is taken"
                        ),
                    ));
                }
                provenance.push(Provenance::new(
                    "radial_clearance_mm",
                    "ISO 2904 crest clearance for the pitch; a tenth of the pitch below 1.5 mm (common practice)",
                ));
                value
            }
        };
        let bore_clearance_mm = request.bore_clearance_mm.unwrap_or(crest_clearance_mm);
        let most_mm = 0.9 * section.depth_mm();
        if !(bore_clearance_mm >= 0.0 && bore_clearance_mm <= most_mm) {
            return Err(NutError::Clearance {
                which: "bore",
                value_mm: bore_clearance_mm,
                most_mm,
            });
        }
        Ok(Self {
            screw,
            thickest,
            thread,
            request: *request,
            length_mm,
            slope,
            crest_clearance_mm,
            bore_clearance_mm,
            notices,
            provenance,
        })
    }

    /// The groove that gives `play` on the best values of the thickest ridge, half on each side.
    fn straight(&self, thread: &Thread, play_mm: f64) -> StraightGroove {
        let s = thread.section();
        let corner = |flank: f64| {
            0.5 * (s.crest_flat_mm() + play_mm) - self.crest_clearance_mm * flank.tan()
        };
        StraightGroove {
            bore_radius_mm: 0.5 * thread.minor_diameter_mm() + self.bore_clearance_mm,
            bottom_radius_mm: 0.5 * thread.major_diameter_mm() + self.crest_clearance_mm,
            right_corner_mm: corner(s.right_flank_rad()),
            left_corner_mm: corner(s.left_flank_rad()),
            right_flank_rad: s.right_flank_rad(),
            left_flank_rad: s.left_flank_rad(),
            corner_radius_mm: 0.0,
            pitch_mm: s.pitch_mm(),
            starts: thread.starts(),
            hand: thread.hand(),
        }
    }

    /// Corner radius wanted, and the largest that costs no play.
    fn corner(&self, sharp: &StraightGroove) -> Result<(f64, f64), NutError> {
        let most_fit = sharp.most_corner_radius_mm();
        let free = mating::axial_play_mm(&self.thread, &sharp.groove()?)?;
        let clears = |radius: f64| -> Result<bool, NutError> {
            let g = StraightGroove { corner_radius_mm: radius, ..*sharp }.groove()?;
            Ok(mating::axial_play_mm(&self.thread, &g)? >= free - 1e-6)
        };
        let mut most = most_fit;
        if !clears(most_fit)? {
            let (mut lo, mut hi) = (0.0, most_fit);
            for _ in 0..30 {
                let mid = 0.5 * (lo + hi);
                if clears(mid)? { lo = mid } else { hi = mid }
            }
            most = lo;
        }
        let wanted = match self.request.corner_radius_mm {
            Some(radius_mm) => {
                if !(0.0..=most_fit).contains(&radius_mm) {
                    return Err(GrooveError::CornerRadius { radius_mm, most_mm: most_fit }.into());
                }
                radius_mm
            }
            None => self.thread.section().crest_radius_mm().min(most),
        };
        Ok((wanted, most))
    }

    /// Plays over the draws: the form's doubt, the workmanship's, and the pitch's over the length.
    fn plays(&self, form: &ScrewForm, cut: &StraightGroove, pairs: usize) -> Vec<f64> {
        let w = self.request.workmanship;
        let pitch = self.request.cut_pitch_mm.unwrap_or(self.thickest.pitch_mm.value);
        Draws::new(form)
            .pairs::<4>(pairs)
            .into_iter()
            .filter_map(|(values, e)| {
                let screw = form.thread_near(values).ok()?;
                let groove = cut
                    .with_errors(
                        w.tip_flat_mm * e[0],
                        w.flank_deg.to_radians() * e[1],
                        w.flank_deg.to_radians() * e[2],
                        w.infeed_mm * e[3],
                    )
                    .groove()
                    .ok()?;
                let play = mating::axial_play_mm(&screw, &groove).ok()?;
                let lead = mating::play_lost_to_lead_mm(pitch / values[0] - 1.0, self.length_mm);
                Some(play - lead)
            })
            .collect()
    }

    fn forecast(&self, form: &ScrewForm, cut: &StraightGroove) -> Quantity {
        let exact = form.quantities().iter().all(|q| q.u == 0.0)
            && self.request.workmanship == Workmanship::PERFECT;
        let pairs = if exact { 1 } else { PAIRS };
        let plays = self.plays(form, cut, pairs);
        match mean_and_deviation(&plays) {
            // All draws are the same; their scatter is rounding.
            Some((mean, _)) if exact => Quantity::derived(mean, 0.0),
            // Draws that make no thread at all mean the form is too vague to forecast from.
            Some((mean, deviation)) if plays.len() >= PAIRS => Quantity::derived(mean, deviation),
            _ => Quantity::derived(self.request.axial_play_mm, f64::INFINITY),
        }
    }

    fn design(mut self) -> Result<NutDesign, NutError> {
        let asked = self.request.axial_play_mm;
        let mut cut = self.straight(&self.thread, asked);
        let (corner, most_corner) = self.corner(&cut)?;
        cut.corner_radius_mm = corner;
        // Errors of angle and pitch can only lower the least clearance: the tip is widened by what
        // they take on average, so that the play asked for is the play expected.
        let first = self.forecast(&self.thickest, &cut);
        let loss = asked - first.value;
        if first.u.is_finite() && loss.abs() > 1e-9 && loss.abs() < 0.5 {
            let corner_radius_mm = cut.corner_radius_mm;
            cut = StraightGroove { corner_radius_mm, ..self.straight(&self.thread, asked + loss) };
            if loss > 0.005 {
                self.notices.push(Notice::new(
                    "play-lost-to-doubt",
                    format!(
                        "the tip is ground {loss:.3} mm wider: doubt about angles and pitch takes that much of the play on average"
                    ),
                ));
            }
        }
        let groove = cut.groove()?;
        let mating = mating::mate(&self.thread, &groove)?;
        let play = self.forecast(&self.thickest, &cut);
        let thinnest = self.screw.thinnest();
        let play_where_thinnest_mm = match thinnest.check() {
            Ok(()) => self.forecast(&thinnest, &cut),
            Err(_) => Quantity::derived(f64::NAN, f64::INFINITY),
        };
        let q = |f: &dyn Fn(&Thread) -> f64| first_order(&self.thickest, &self.thread, f);
        let (crest, bore) = (self.crest_clearance_mm, self.bore_clearance_mm);
        let slope_of =
            |t: &Thread| t.section().right_flank_rad().tan() + t.section().left_flank_rad().tan();
        let nominal_play =
            asked + cut.tip_flat_mm() - self.straight(&self.thread, asked).tip_flat_mm();
        let bore_mm = q(&|t| t.minor_diameter_mm() + 2.0 * bore);
        let groove_diameter_mm = q(&|t| t.major_diameter_mm() + 2.0 * crest);
        let tool_tip_flat_mm =
            q(&|t| t.section().crest_flat_mm() + nominal_play - crest * slope_of(t));
        let infeed_mm = q(&|t| t.section().depth_mm() + crest - bore);
        let engagement_mm = q(&|t| t.section().depth_mm() - bore);
        let play_per_infeed = q(&slope_of);
        let pressure = self.request.load_n.map(|load| {
            flank_pressure(
                load,
                0.5 * (self.thread.major_diameter_mm() + 2.0 * groove.bore_radius_mm),
                engagement_mm.value,
                self.length_mm / self.thread.section().pitch_mm(),
                self.request.material,
            )
        });
        if let Some(p) = &pressure {
            self.notices.extend(p.notices.iter().cloned());
        }
        let square = self.slope.abs() < SQUARE_SLOPE;
        if square {
            self.notices.push(Notice::new(
                "depth-does-nothing",
                "the flanks stand square to the axis: more infeed adds no play, only the width of the tool does",
            ));
        }
        if play.value - 2.0 * play.u < 0.0 {
            self.notices.push(Notice::new(
                "may-bind",
                format!(
                    "a play of {:.3} mm with a standard uncertainty of {:.3} mm may turn out below nothing: try the screw before the last pass",
                    play.value, play.u
                ),
            ));
        }
        self.notices.push(Notice::new(
            "corner",
            if corner > 0.0 {
                format!("tool corners rounded to {corner:.3} mm; more than {most_corner:.3} mm would touch the screw's crest")
            } else {
                format!("break the tool's corners with a stone, at most to {most_corner:.3} mm: more would touch the screw's crest")
            },
        ));
        let lost = self.request.cut_pitch_mm.map_or(0.0, |p| {
            mating::play_lost_to_lead_mm(p / self.thickest.pitch_mm.value - 1.0, self.length_mm)
        });
        let closing = self.closing(&cut)?;
        self.provenance.extend([
            Provenance::new("bore_mm", "screw's root diameter plus twice the bore clearance"),
            Provenance::new("groove_diameter_mm", "screw's major diameter plus twice the radial clearance"),
            Provenance::new("tool_tip_flat_mm", "thickest crest flat plus play less clearance × (tan right + tan left)"),
            Provenance::new("axial_play_mm", "least axial clearance of both flanks, section on section, averaged over the doubt of form and workmanship"),
        ]);
        let curve = play_curve(&self.thread, &cut)?;
        Ok(NutDesign {
            bore_mm,
            groove_diameter_mm,
            tool_tip_flat_mm,
            tool_corner_radius_mm: corner,
            most_corner_radius_mm: most_corner,
            right_flank_deg: self.thickest.right_flank_deg,
            left_flank_deg: self.thickest.left_flank_deg,
            pitch_mm: self.thickest.pitch_mm,
            lead_mm: self.thickest.lead_mm(),
            length_mm: self.length_mm,
            infeed_mm,
            axial_play_mm: play,
            play_where_thinnest_mm,
            radial_clearance_mm: Quantity::derived(
                mating.crest_clearance_mm,
                0.5 * self.screw.major_diameter_mm.u,
            ),
            bore_clearance_mm: Quantity::derived(mating.bore_clearance_mm, 0.5 * bore_mm.u),
            radial_float_mm: mating.radial_float_mm,
            engagement_mm,
            engagement_fraction: engagement_mm.value / self.thread.section().depth_mm(),
            play_per_infeed,
            infeed_at_no_play_mm: (!square)
                .then(|| infeed_mm.value - mating.axial_play_mm / self.slope),
            play_curve: curve,
            passes_unworn_ends: mating.passes() && play.value - 2.0 * play.u >= 0.0,
            groove,
            mating,
            pressure,
            play_lost_to_lead_mm: lost,
            play_taken_by_closing_mm: closing,
            notices: self.notices,
            provenance: self.provenance,
            request: self.request,
        })
    }

    /// What closing a split nut, or pressing a sleeve, does to the play; adds what is to be said.
    fn closing(&mut self, cut: &StraightGroove) -> Result<Option<f64>, NutError> {
        match self.request.kind {
            NutKind::Solid => Ok(None),
            NutKind::Split { kerf_mm } => {
                if !(kerf_mm.is_finite() && kerf_mm > 0.0) {
                    return Err(NutError::Positive { what: "kerf (mm)", value: kerf_mm });
                }
                let taken = 0.5 * kerf_mm * self.slope;
                self.notices.push(Notice::new(
                    "split-shim",
                    format!(
                        "saw the blank first and bore and thread it with a shim of {kerf_mm:.2} mm in the cut; taking shim out moves each half inward by half as much and takes up to {taken:.3} mm of play"
                    ),
                ));
                Ok(Some(taken))
            }
            NutKind::Sleeve { outer_diameter_mm, interference_mm } => {
                if !(interference_mm.is_finite() && interference_mm >= 0.0) {
                    return Err(NutError::Positive {
                        what: "interference (mm)",
                        value: interference_mm,
                    });
                }
                let (a, b) = (cut.bottom_radius_mm, 0.5 * outer_diameter_mm);
                let wall = b - a;
                if wall.is_nan() || wall <= 0.0 {
                    return Err(NutError::Clearance {
                        which: "sleeve wall",
                        value_mm: wall,
                        most_mm: outer_diameter_mm,
                    });
                }
                let least_wall = (0.1 * 2.0 * a).max(2.0);
                if wall < least_wall {
                    self.notices.push(Notice::new(
                        "thin-sleeve",
                        format!("the wall outside the groove is {wall:.2} mm; at least {least_wall:.2} mm is common practice"),
                    ));
                }
                // Lamé, thick ring under outer pressure, rigid housing: inward movement of the
                // groove for a given inward movement of the outside.
                const POISSON: f64 = 0.34;
                let ratio = 2.0 * a * b / ((b * b + a * a) - POISSON * (b * b - a * a));
                let taken = 0.5 * interference_mm * ratio * self.slope;
                self.notices.push(Notice::new(
                    "sleeve-closes",
                    format!("pressed in, the sleeve closes and takes up to {taken:.3} mm of play: thread it in place, or allow for it"),
                ));
                Ok(Some(taken))
            }
        }
    }
}

/// Play on the screw for infeeds from touching the bore to a little past the design.
fn play_curve(thread: &Thread, cut: &StraightGroove) -> Result<Vec<PlayPoint>, NutError> {
    let full = cut.bottom_radius_mm - cut.bore_radius_mm;
    let most = full + 0.15 * thread.section().depth_mm();
    let mut curve = Vec::with_capacity(CURVE_POINTS);
    for i in 1..=CURVE_POINTS {
        let infeed_mm = most * i as f64 / CURVE_POINTS as f64;
        let Ok(groove) =
            StraightGroove { bottom_radius_mm: cut.bore_radius_mm + infeed_mm, ..*cut }.groove()
        else {
            continue;
        };
        let play_mm = mating::axial_play_mm(thread, &groove)?;
        let crest_clears = groove.bottom_radius_mm >= 0.5 * thread.major_diameter_mm();
        curve.push(PlayPoint { infeed_mm, play_mm, crest_clears });
    }
    Ok(curve)
}

impl NutDesign {
    /// Play on the thickest ridge if the tool of this design is fed in by `infeed_mm` from touching
    /// the bore, mm.
    ///
    /// # Errors
    /// [`NutError`] when that is no groove.
    pub fn play_at_infeed(&self, screw: &ScrewForm, infeed_mm: f64) -> Result<f64, NutError> {
        let thread = screw.thickest().thread()?;
        let cut = self.cut();
        let groove =
            StraightGroove { bottom_radius_mm: cut.bore_radius_mm + infeed_mm, ..cut }.groove()?;
        Ok(mating::axial_play_mm(&thread, &groove)?)
    }

    /// Infeed that gives `play_mm` with a tool whose tip is `tip_flat_mm` wide (as ground, not as
    /// drawn), mm.
    ///
    /// # Errors
    /// [`NutError::DepthDoesNothing`] for square flanks, [`NutError::Infeed`] when the crest would
    /// foul the bottom or the groove would be too deep.
    pub fn infeed_for_play(
        &self,
        screw: &ScrewForm,
        tip_flat_mm: f64,
        play_mm: f64,
    ) -> Result<f64, NutError> {
        let thread = screw.thickest().thread()?;
        let mut cut = self.cut();
        let wider = tip_flat_mm - cut.tip_flat_mm();
        cut = cut.with_errors(wider, 0.0, 0.0, 0.0);
        let now = mating::axial_play_mm(&thread, &cut.groove()?)?;
        let slope = cut.right_flank_rad.tan() + cut.left_flank_rad.tan();
        if slope.abs() < SQUARE_SLOPE {
            return Err(NutError::DepthDoesNothing { play_mm: now, change_mm: play_mm - now });
        }
        let designed = cut.bottom_radius_mm - cut.bore_radius_mm;
        let infeed_mm = designed + (play_mm - now) / slope;
        let least_mm = 0.5 * thread.major_diameter_mm() - cut.bore_radius_mm;
        let most_mm = designed + 0.5 * thread.section().depth_mm();
        if !(least_mm..=most_mm).contains(&infeed_mm) {
            return Err(NutError::Infeed { infeed_mm, least_mm, most_mm });
        }
        Ok(infeed_mm)
    }

    /// The straight groove behind the walls.
    pub(crate) fn cut(&self) -> StraightGroove {
        let (right, left) =
            (self.right_flank_deg.value.to_radians(), self.left_flank_deg.value.to_radians());
        let groove = &self.groove;
        let height = groove.bottom_radius_mm - groove.bore_radius_mm;
        StraightGroove {
            bore_radius_mm: groove.bore_radius_mm,
            bottom_radius_mm: groove.bottom_radius_mm,
            right_corner_mm: groove.right_mm(groove.bore_radius_mm) - height * right.tan(),
            left_corner_mm: -groove.left_mm(groove.bore_radius_mm) - height * left.tan(),
            right_flank_rad: right,
            left_flank_rad: left,
            corner_radius_mm: self.tool_corner_radius_mm,
            pitch_mm: groove.pitch_mm,
            starts: groove.starts,
            hand: groove.hand,
        }
    }
}
