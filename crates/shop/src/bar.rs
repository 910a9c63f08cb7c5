//! The boring bar, and the tool bit in it.

use crate::material::{ToolHolding, WorkMaterial, cutting_force_n};
use crate::notice::Notice;
use crate::nut::NutDesign;
use crate::tool::{ToolFor, ToolForm};
use form::{Quantity, Said, Sentence, mm, outside, sentence, units::MM_PER_INCH};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Bars sold by diameter, mm.
const BARS_MM: [f64; 16] =
    [3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 25.0, 32.0, 40.0, 50.0];
/// Round tool blanks, mm.
const BLANKS_MM: [f64; 10] = [2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0];
/// Round tool blanks, sixteenths of an inch.
const BLANKS_SIXTEENTHS: [f64; 7] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0];
/// Relative uncertainty of a force estimate.
const FORCE_U: f64 = 0.33;

/// Why no bar fits.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BarError {
    /// Nothing goes in.
    NoRoom {
        /// Bore, mm.
        bore_mm: f64,
        /// Infeed, mm.
        infeed_mm: f64,
        /// Largest bar that enters and retracts, mm.
        largest_mm: f64,
        /// Least, mm.
        least_mm: f64,
    },
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
    /// No blank holds the tool.
    NoBlank {
        /// Width, mm.
        width_mm: f64,
        /// Largest blank, mm.
        largest_mm: f64,
    },
    /// Not a nut tool.
    NotForNut,
}

impl Said for BarError {
    fn said(&self) -> Sentence {
        match self {
            Self::NoRoom { bore_mm, infeed_mm, largest_mm, least_mm } => sentence!(
                "a bore of {} with {} of infeed leaves room for a bar of {}; the least is {}: use a tap, or a solid bit ground from the shank",
                mm(*bore_mm, 2),
                mm(*infeed_mm, 2),
                mm(*largest_mm, 2),
                mm(*least_mm, 1)
            ),
            Self::Limits { what, value_mm, least_mm, most_mm } => {
                outside(what, [*value_mm, *least_mm, *most_mm].map(|v| mm(v, 3)))
            }
            Self::NoBlank { width_mm, largest_mm } => sentence!(
                "the form is {} wide; the largest round blank is {}",
                mm(*width_mm, 2),
                mm(*largest_mm, 1)
            ),
            Self::NotForNut => sentence!("a boring bar is for a nut, not for a screw"),
        }
    }
}

form::said_by_display!(BarError);

/// What is known of bar and cut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BarRequest {
    /// A bar at hand, mm; `None` takes the largest usual one.
    pub diameter_mm: Option<f64>,
    /// Its free length, mm; `None` takes the nut's and what is needed beyond it.
    pub overhang_mm: Option<f64>,
    /// Room left for chips between bar and bore, mm.
    pub chip_room_mm: f64,
    /// Length beyond the nut: run-out and what the holder needs, mm.
    pub beyond_mm: f64,
    /// Solid carbide instead of steel.
    pub carbide: bool,
    /// Infeed of a finishing pass, mm.
    pub last_infeed_mm: f64,
    /// Material.
    pub material: WorkMaterial,
}

impl Default for BarRequest {
    fn default() -> Self {
        Self {
            diameter_mm: None,
            overhang_mm: None,
            chip_room_mm: 0.5,
            beyond_mm: 8.0,
            carbide: false,
            last_infeed_mm: 0.05,
            material: WorkMaterial::Bronze,
        }
    }
}

/// A boring bar for a nut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BoringBar {
    /// Largest diameter that enters with the tool retracted and clears at full depth, mm.
    pub largest_mm: f64,
    /// Diameter of the bar at hand, or the largest usual one within that, mm.
    pub diameter_mm: f64,
    /// How far the tip stands out of the bar, mm.
    pub projection_mm: f64,
    /// Free length, mm.
    pub overhang_mm: f64,
    /// Free length over diameter.
    pub overhang_ratio: f64,
    /// Estimated main force in a finishing pass, N.
    pub force_n: Quantity,
    /// Bending away from the work in a finishing pass, mm.
    pub radial_bending_mm: Quantity,
    /// Bending downward, mm: the tip sinks by this below where it was set.
    pub downward_bending_mm: Quantity,
    /// Play not cut because the bar bends away, mm: what a spring pass gives back.
    pub play_not_cut_mm: Quantity,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
}

/// Largest bar that enters a bore and lets the tool retract, mm.
///
/// At full depth the bar's near side must clear the bore although the tip is `infeed` beyond it, so
/// the tip stands out by infeed and chip room. Retracted, tip and far side must both clear.
#[must_use]
pub fn largest_bar_mm(bore_mm: f64, infeed_mm: f64, chip_room_mm: f64) -> f64 {
    bore_mm - infeed_mm - 3.0 * chip_room_mm
}

/// The bar for this nut.
///
/// # Errors
/// [`BarError`].
pub fn boring_bar(
    nut: &NutDesign,
    tool: &ToolForm,
    request: &BarRequest,
) -> Result<BoringBar, BarError> {
    if tool.purpose != ToolFor::Nut {
        return Err(BarError::NotForNut);
    }
    let limits = |what, value_mm: f64, least_mm: f64, most_mm: f64| {
        if (least_mm..=most_mm).contains(&value_mm) {
            Ok(())
        } else {
            Err(BarError::Limits { what, value_mm, least_mm, most_mm })
        }
    };
    limits("chip room", request.chip_room_mm, 0.05, 20.0)?;
    limits("length beyond the nut", request.beyond_mm, 0.0, 500.0)?;
    limits("infeed of a finishing pass", request.last_infeed_mm, 0.001, 1.0)?;
    let (bore_mm, infeed_mm) = (nut.bore_mm.value, nut.infeed_mm.value);
    let largest_mm = largest_bar_mm(bore_mm, infeed_mm, request.chip_room_mm);
    let diameter_mm = match request.diameter_mm {
        Some(mm) => {
            limits("bar's diameter", mm, 0.5, 200.0)?;
            mm
        }
        None => BARS_MM.into_iter().rev().find(|&d| d <= largest_mm).ok_or(BarError::NoRoom {
            bore_mm,
            infeed_mm,
            largest_mm,
            least_mm: BARS_MM[0],
        })?,
    };
    let needed_mm = nut.length_mm + request.beyond_mm + tool.width_at_depth_mm.value;
    let overhang_mm = request.overhang_mm.unwrap_or(needed_mm);
    limits("bar's free length", overhang_mm, 1.0, 2000.0)?;
    let holding = ToolHolding::Bar { diameter_mm, overhang_mm, carbide: request.carbide };
    let width = tool.width_at_depth_mm.value;
    let force = cutting_force_n(request.material, width, request.last_infeed_mm);
    let compliance = holding.compliance_mm_per_n();
    let estimate = |value: f64| Quantity::assumed(value, FORCE_U * value);
    // Half the main force pushes a form tool away (common practice).
    let radial = 0.5 * force * compliance;
    let down = force * compliance;
    let slope = nut.play_per_infeed.value;
    let mut notices = Vec::new();
    if diameter_mm > largest_mm {
        notices.push(Notice::new(
            "bar-too-thick",
            sentence!(
                "a bar of {} does not enter, or does not let the tool retract: {} is the most this bore takes",
                mm(diameter_mm, 1),
                mm(largest_mm.max(0.0), 1)
            ),
        ));
    }
    let through_mm = nut.length_mm + tool.width_at_depth_mm.value;
    if overhang_mm < through_mm {
        notices.push(Notice::new(
            "bar-too-short",
            sentence!(
                "a bar standing out {} does not reach through the nut: {} and some room behind it are needed",
                mm(overhang_mm, 0),
                mm(through_mm, 0)
            ),
        ));
    }
    let ratio = overhang_mm / diameter_mm;
    let most = if request.carbide { 6.0 } else { 4.0 };
    if ratio > most {
        notices.push(Notice::new(
            "slender-bar",
            format!(
                "the bar stands out {ratio:.1} times its diameter; {most:.0} is the limit of common practice for {}: expect chatter, or cut from both ends",
                if request.carbide { "carbide" } else { "steel" }
            ),
        ));
    }
    if radial * slope > 0.01 {
        notices.push(Notice::new(
            "spring-passes",
            sentence!(
                "bending leaves about {} of play uncut: repeat the last pass until it takes no more",
                mm(radial * slope, 3)
            ),
        ));
    }
    Ok(BoringBar {
        largest_mm,
        diameter_mm,
        projection_mm: infeed_mm + request.chip_room_mm,
        overhang_mm,
        overhang_ratio: ratio,
        force_n: estimate(force),
        radial_bending_mm: estimate(radial),
        downward_bending_mm: estimate(down),
        play_not_cut_mm: estimate(radial * slope),
        notices,
    })
}

/// A tool ground from a round blank.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RoundBlank {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// How much to grind off for the rake face, from the round, mm: to the middle, so that the full
    /// width is there.
    pub rake_face_depth_mm: f64,
    /// Stock beside the form at its widest, each side, mm.
    pub side_stock_mm: f64,
}

/// Usual round blanks, mm, in rising order.
fn blanks_mm(inch: bool) -> Vec<f64> {
    if inch {
        BLANKS_SIXTEENTHS.iter().map(|n| n * MM_PER_INCH / 16.0).collect()
    } else {
        BLANKS_MM.to_vec()
    }
}

/// The smallest usual round blank with a quarter of a millimetre beside a form of this width, mm.
pub(crate) fn blank_diameter_mm(width_mm: f64, inch: bool) -> Option<f64> {
    blanks_mm(inch).into_iter().find(|&d| d >= width_mm + 0.5)
}

/// The smallest usual round blank that holds the form with a quarter of a millimetre beside it.
///
/// # Errors
/// [`BarError::NoBlank`].
pub fn round_blank(tool: &ToolForm, inch: bool) -> Result<RoundBlank, BarError> {
    let width_mm = tool.width_at_depth_mm.value;
    let largest_mm = blanks_mm(inch).last().copied().unwrap_or(0.0);
    let diameter_mm =
        blank_diameter_mm(width_mm, inch).ok_or(BarError::NoBlank { width_mm, largest_mm })?;
    Ok(RoundBlank {
        diameter_mm,
        rake_face_depth_mm: 0.5 * diameter_mm,
        side_stock_mm: 0.5 * (diameter_mm - width_mm),
    })
}

/// A flat gauge with the tool's form as a notch: held against the tool it shows light where the tool
/// is wrong; its upper edge, laid along the work, sets the tool square.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SettingGauge {
    /// Closed outline, mm, in the frame of the tool's drawing: first point not repeated. The edge at
    /// the greatest y lies along the work's axis; the notch is open below.
    pub outline_mm: Vec<[f64; 2]>,
    /// How far the notch is deeper than the form at its tip, so that the flanks bear first, mm.
    pub tip_relief_mm: f64,
    /// How to use it.
    pub text: String,
}

/// The gauge for a tool: a plate `margin_mm` wider than the form on all sides.
///
/// # Errors
/// [`BarError::Limits`] for a margin that is not 1 to 50 mm.
pub fn setting_gauge(tool: &ToolForm, margin_mm: f64) -> Result<SettingGauge, BarError> {
    if !(1.0..=50.0).contains(&margin_mm) {
        return Err(BarError::Limits {
            what: "margin",
            value_mm: margin_mm,
            least_mm: 1.0,
            most_mm: 50.0,
        });
    }
    let depth = tool.outline_mm.iter().map(|p| -p[1]).fold(0.0, f64::max);
    let half = tool.outline_mm.iter().map(|p| p[0].abs()).fold(0.0, f64::max);
    let tip_relief_mm = 0.2f64.min(0.5 * tool.tip_flat_mm.value);
    let side = half + margin_mm;
    let mut outline_mm =
        vec![[-side, -depth], [-side, margin_mm], [side, margin_mm], [side, -depth]];
    // Back along the notch, right to left: up the right flank, a slot over the tip, down the left.
    let (mut right, mut left): (Vec<[f64; 2]>, Vec<[f64; 2]>) =
        tool.outline_mm.iter().copied().partition(|p| p[0] > 0.0);
    right.sort_by(|a, b| a[1].total_cmp(&b[1]));
    left.sort_by(|a, b| b[1].total_cmp(&a[1]));
    let flat = |side: &[[f64; 2]]| side.iter().map(|p| p[0].abs()).fold(f64::INFINITY, f64::min);
    let slot = 0.9 * flat(&right).min(flat(&left));
    outline_mm.extend(right);
    if slot > 0.05 {
        outline_mm.extend([
            [slot, 0.0],
            [slot, tip_relief_mm],
            [-slot, tip_relief_mm],
            [-slot, 0.0],
        ]);
    }
    outline_mm.extend(left);
    Ok(SettingGauge {
        outline_mm,
        tip_relief_mm,
        text: "Hold the tool in the notch against a light background: no light along the flanks. To set it, lay a short edge of the gauge against the faced end of the work, or the long edge along a bar held true in the spindle, and turn the tool until the notch closes on it.".to_owned(),
    })
}
