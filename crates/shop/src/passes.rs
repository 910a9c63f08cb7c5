//! The passes: how deep each, and what the dial shows.

use crate::dial::{Dial, DialReading};
use crate::material::{ToolHolding, WorkMaterial, cutting_force_n};
use crate::notice::Notice;
use crate::nut::NutDesign;
use form::{figure, mm, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Most passes a plan may have.
const MOST_PASSES: u32 = 400;
/// Radial part of the cutting force on a form tool (common practice).
const RADIAL_SHARE: f64 = 0.5;
/// Time from seeing the mark to half nuts open or spindle stopped, s (common practice).
const REACTION_S: f64 = 0.5;

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PassError {
    /// A number out of limits.
    #[error("{what} {value:.4} is outside {least:.4} to {most:.4}")]
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
    /// So many passes that something else is wrong.
    #[error(
        "the plan would take {passes} passes, more than {MOST_PASSES}: use a stiffer tool or a thicker chip"
    )]
    TooMany {
        /// Passes needed.
        passes: u32,
    },
}

/// How the depth is shared out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "rule")]
pub enum PassRule {
    /// Each pass takes the same area of the groove, computed from its section.
    ConstantArea,
    /// The square-root series of the insert makers for 60° and 55° threads, for comparison:
    /// cumulative depth = depth · √φ / √(n − 1), φ = 0.3, 1, 2, ….
    RootSeries,
    /// Each pass the same depth.
    Fixed {
        /// Depth, mm.
        step_mm: f64,
    },
}

/// Which way the tool goes in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "feed")]
pub enum Feed {
    /// Straight in: both flanks and the tip cut.
    Radial,
    /// Along one flank with the top slide set over to `top_slide_deg` from the cross slide: the
    /// other flank cuts. Usually half a degree less than the flank.
    Flank {
        /// Angle of the top slide from the cross slide, degrees.
        top_slide_deg: f64,
    },
}

/// What is to be cut, on what, with what.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PassRequest {
    /// Depth of the groove, mm (infeed from touching).
    pub depth_mm: f64,
    /// Tip flat of the tool, mm.
    pub tip_flat_mm: f64,
    /// Sum of the tangents of both flanks.
    pub flank_slope: f64,
    /// How the depth is shared out.
    pub rule: PassRule,
    /// Number of passes, or `None` to find it from material and stiffness.
    pub passes: Option<u32>,
    /// Radial or flank feed.
    pub feed: Feed,
    /// Material.
    pub material: WorkMaterial,
    /// How the tool is held.
    pub holding: ToolHolding,
    /// Most the tool may bend away from the work in a pass, mm.
    pub most_bending_mm: f64,
    /// Passes at full depth without further infeed.
    pub spring_passes: u32,
    /// The dial that feeds.
    pub dial: Dial,
    /// Lead, mm, for the run-out.
    pub lead_mm: f64,
    /// Spindle speed, turns per minute, for the run-out.
    pub speed_rpm: f64,
}

/// How far a bar may bend under the cut, mm: what it leaves uncut is taken by repeating a pass. Common
/// practice.
pub const USUAL_BENDING_MM: f64 = 0.04;

impl PassRequest {
    /// The passes for a nut: constant area, radial feed, two spring passes, a metric dial, 60 turns
    /// a minute, 0.04 mm of bending allowed; all of it can be changed.
    #[must_use]
    pub fn for_nut(nut: &NutDesign, holding: ToolHolding) -> Self {
        Self {
            depth_mm: nut.infeed_mm.value,
            tip_flat_mm: nut.tool_tip_flat_mm.value,
            flank_slope: nut.play_per_infeed.value,
            rule: PassRule::ConstantArea,
            passes: None,
            feed: Feed::Radial,
            material: nut.request.material.into(),
            holding,
            most_bending_mm: USUAL_BENDING_MM,
            spring_passes: 2,
            dial: Dial::METRIC,
            lead_mm: nut.lead_mm.value,
            speed_rpm: 60.0,
        }
    }
}

/// One pass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pass {
    /// Counted from 1.
    pub number: u32,
    /// Depth this pass adds, mm radial.
    pub increment_mm: f64,
    /// Depth reached, mm radial.
    pub depth_mm: f64,
    /// Area of groove this pass takes, mm².
    pub area_mm2: f64,
    /// Estimated main cutting force, N; good to a third.
    pub force_n: f64,
    /// Estimated bending away from the work, mm; good to a third.
    pub bending_mm: f64,
    /// Reading of the dial.
    pub dial: DialReading,
    /// A spring pass: no infeed, takes what the tool had bent away from.
    pub spring: bool,
}

/// The plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassPlan {
    /// In order.
    pub passes: Vec<Pass>,
    /// Area of the whole groove, mm².
    pub area_mm2: f64,
    /// Width of run-out groove that stops the tool in time, mm: travel in half a second, and a tool
    /// width.
    pub run_out_mm: f64,
    /// Sideways travel along the axis at full depth under flank feed, mm; 0 for radial feed.
    pub sideways_mm: f64,
    /// Rounding the last reading to a division leaves this much depth over (+) or short (−), mm.
    pub dial_error_mm: f64,
    /// What is to be said besides.
    pub notices: Vec<Notice>,
}

/// Cumulative depths of the square-root series: `depth · √φ / √(n − 1)`, `φ = 0.3, 1, 2, … n − 1`.
///
/// For one pass the whole depth.
#[must_use]
pub fn root_series(depth_mm: f64, passes: u32) -> Vec<f64> {
    if passes < 2 {
        return vec![depth_mm];
    }
    let whole = f64::from(passes - 1).sqrt();
    (0..passes)
        .map(|k| if k == 0 { 0.3 } else { f64::from(k) })
        .map(|phi: f64| depth_mm * phi.sqrt() / whole)
        .collect()
}

/// Plans the passes.
///
/// # Errors
/// [`PassError`] names the number and its limits.
pub fn plan_passes(request: &PassRequest) -> Result<PassPlan, PassError> {
    check(request)?;
    let groove = GrooveArea {
        flat: request.tip_flat_mm,
        slope: request.flank_slope,
        depth: request.depth_mm,
    };
    let count = match request.passes {
        Some(n) => n,
        None => passes_needed(request, &groove)?,
    };
    let depths = groove.depths(request.rule, count);
    let along = match request.feed {
        Feed::Radial => 1.0,
        Feed::Flank { top_slide_deg } => 1.0 / top_slide_deg.to_radians().cos(),
    };
    let mut passes = Vec::with_capacity(depths.len() + request.spring_passes as usize);
    let mut before = 0.0;
    for (i, &depth) in depths.iter().enumerate() {
        let (force, bending) = load(request, &groove, before, depth);
        passes.push(Pass {
            number: i as u32 + 1,
            increment_mm: depth - before,
            depth_mm: depth,
            area_mm2: groove.area(depth) - groove.area(before),
            force_n: force,
            bending_mm: bending,
            dial: request.dial.reading(depth * along),
            spring: false,
        });
        before = depth;
    }
    let dial_error_mm =
        passes.last().map_or(0.0, |p| p.dial.movement_mm / along - request.depth_mm);
    for _ in 0..request.spring_passes {
        let number = passes.len() as u32 + 1;
        if let Some(&last) = passes.last() {
            passes.push(Pass {
                number,
                increment_mm: 0.0,
                area_mm2: 0.0,
                force_n: 0.0,
                bending_mm: 0.0,
                spring: true,
                ..last
            });
        }
    }
    let sideways_mm = match request.feed {
        Feed::Radial => 0.0,
        Feed::Flank { top_slide_deg } => request.depth_mm * top_slide_deg.to_radians().tan(),
    };
    let travel = request.lead_mm * request.speed_rpm / 60.0 * REACTION_S;
    let width = groove.flat + groove.slope * groove.depth;
    Ok(PassPlan {
        notices: remarks(request, &passes, dial_error_mm, travel),
        passes,
        area_mm2: groove.area(groove.depth),
        run_out_mm: travel + width,
        sideways_mm,
        dial_error_mm,
    })
}

fn check(r: &PassRequest) -> Result<(), PassError> {
    let limits = |what, value: f64, least: f64, most: f64| {
        if (least..=most).contains(&value) {
            Ok(())
        } else {
            Err(PassError::Limits { what, value, least, most })
        }
    };
    limits("depth (mm)", r.depth_mm, 0.01, 100.0)?;
    limits("tip flat (mm)", r.tip_flat_mm, 0.0, 200.0)?;
    limits("sum of the flanks' tangents", r.flank_slope, -0.36, 12.0)?;
    limits("width at the surface (mm)", r.tip_flat_mm + r.depth_mm * r.flank_slope, 1e-6, 1e3)?;
    limits("bending allowed (mm)", r.most_bending_mm, 0.001, 1.0)?;
    limits("spring passes", f64::from(r.spring_passes), 0.0, 20.0)?;
    limits("lead (mm)", r.lead_mm, 0.01, 500.0)?;
    limits("speed (turns per minute)", r.speed_rpm, 0.0, 3000.0)?;
    limits(
        "dial division",
        if r.dial.is_sound() { r.dial.division } else { f64::NAN },
        1e-6,
        10.0,
    )?;
    if let Some(n) = r.passes {
        limits("passes", f64::from(n), 1.0, f64::from(MOST_PASSES))?;
    }
    if let PassRule::Fixed { step_mm } = r.rule {
        limits("depth of each pass (mm)", step_mm, r.depth_mm / f64::from(MOST_PASSES), 50.0)?;
    }
    if let Feed::Flank { top_slide_deg } = r.feed {
        limits("top slide (degrees)", top_slide_deg, 0.0, 60.0)?;
    }
    if let ToolHolding::Bar { diameter_mm, overhang_mm, .. } = r.holding {
        limits("bar diameter (mm)", diameter_mm, 1.0, 200.0)?;
        limits("bar overhang (mm)", overhang_mm, 0.0, 2000.0)?;
    }
    Ok(())
}

/// Part of a fixed step that is worth a pass of its own.
const LEAST_REST: f64 = 0.2;

struct GrooveArea {
    flat: f64,
    slope: f64,
    depth: f64,
}

impl GrooveArea {
    /// Area of the groove down to `depth`: the tool's tip width and its flanks so far in, mm².
    fn area(&self, depth: f64) -> f64 {
        depth * (self.flat + 0.5 * self.slope * depth)
    }

    fn depth_for(&self, area: f64) -> f64 {
        // The positive root of slope/2 d² + flat d - area, in the form that stays good for slope 0.
        let root = (self.flat * self.flat + 2.0 * self.slope * area).max(0.0).sqrt();
        2.0 * area / (self.flat + root)
    }

    fn depths(&self, rule: PassRule, passes: u32) -> Vec<f64> {
        match rule {
            PassRule::ConstantArea => {
                let whole = self.area(self.depth);
                let n = f64::from(passes);
                (1..=passes)
                    .map(|k| {
                        if k == passes {
                            self.depth
                        } else {
                            self.depth_for(whole * f64::from(k) / n)
                        }
                    })
                    .collect()
            }
            PassRule::RootSeries => root_series(self.depth, passes),
            PassRule::Fixed { step_mm } => {
                // What is left at the end and too thin to cut goes with the last pass.
                let n = (self.depth / step_mm - LEAST_REST).ceil().max(1.0) as u32;
                (1..n).map(|k| f64::from(k) * step_mm).chain([self.depth]).collect()
            }
        }
    }
}

/// Main force and bending of a pass, N and mm.
fn load(request: &PassRequest, groove: &GrooveArea, before: f64, depth: f64) -> (f64, f64) {
    let thickness = depth - before;
    let area = groove.area(depth) - groove.area(before);
    let force = match request.feed {
        // The chip is as wide as the groove and as thick as the infeed.
        Feed::Radial => cutting_force_n(request.material, area / thickness.max(1e-9), thickness),
        // One flank and the tip: as long as the flank, as thick as area over length.
        Feed::Flank { .. } => {
            let length = groove.flat + depth;
            cutting_force_n(request.material, length, area / length)
        }
    };
    (force, RADIAL_SHARE * force * request.holding.compliance_mm_per_n())
}

/// Fewest passes that keep chip and bending within limits.
fn passes_needed(request: &PassRequest, groove: &GrooveArea) -> Result<u32, PassError> {
    if let PassRule::Fixed { .. } = request.rule {
        return Ok(1);
    }
    let good = |n: u32| {
        let mut before = 0.0;
        groove.depths(request.rule, n).into_iter().all(|depth| {
            let (_, bending) = load(request, groove, before, depth);
            let increment = depth - before;
            before = depth;
            bending <= request.most_bending_mm && increment <= request.material.most_infeed_mm()
        })
    };
    (1..=MOST_PASSES).find(|&n| good(n)).ok_or(PassError::TooMany { passes: MOST_PASSES + 1 })
}

fn remarks(r: &PassRequest, passes: &[Pass], dial_error: f64, travel: f64) -> Vec<Notice> {
    let mut notices = Vec::new();
    let cutting = || passes.iter().filter(|p| !p.spring);
    let least = cutting().map(|p| p.increment_mm).fold(f64::INFINITY, f64::min);
    if least < r.material.least_infeed_mm() {
        notices.push(Notice::new(
            "chip-too-thin",
            sentence!(
                "the thinnest pass is {}; below {} {} is rubbed rather than cut",
                mm(least, 3),
                mm(r.material.least_infeed_mm(), 2),
                r.material.name()
            ),
        ));
    }
    let thickest = cutting().map(|p| p.increment_mm).fold(0.0, f64::max);
    if thickest > r.material.most_infeed_mm() {
        notices.push(Notice::new(
            "chip-too-thick",
            sentence!(
                "the thickest pass is {}; {} is common practice for a form tool in {}",
                mm(thickest, 3),
                mm(r.material.most_infeed_mm(), 2),
                r.material.name()
            ),
        ));
    }
    let bending = cutting().map(|p| p.bending_mm).fold(0.0, f64::max);
    if bending > r.most_bending_mm {
        notices.push(Notice::new(
            "bends-too-much",
            sentence!(
                "the tool bends away by about {}, more than the {} allowed: take thinner passes or a stiffer bar",
                mm(bending, 3),
                mm(r.most_bending_mm, 3)
            ),
        ));
    }
    // A twentieth of a division is not seen on any dial.
    if dial_error.abs() > 0.05 * r.dial.division_mm() {
        notices.push(Notice::new(
            "dial-rounding",
            sentence!(
                "the last reading, rounded to a division, is {} from the depth wanted",
                mm(dial_error, 3).signed()
            ),
        ));
    }
    if travel > 0.0 {
        notices.push(Notice::new(
            "run-out",
            sentence!(
                "at {} turns per minute the tool travels {} in half a second: cut the run-out groove first, or turn the spindle by hand",
                figure(r.speed_rpm, 0),
                mm(travel, 1)
            ),
        ));
    }
    // Wide grooves are where flank feed earns its keep; a wide plunge chatters.
    let widest = cutting().next_back().map_or(0.0, |p| r.tip_flat_mm + r.flank_slope * p.depth_mm);
    if matches!(r.feed, Feed::Radial) && widest > 4.0 {
        notices.push(Notice::new(
            "wide-plunge",
            sentence!(
                "at full depth {} of edge cut at once: rough with a narrower tool, finish with this one",
                mm(widest, 1)
            ),
        ));
    }
    notices
}
