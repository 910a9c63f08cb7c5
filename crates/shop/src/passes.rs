//! The passes: how deep each, and what the dial shows.

use crate::dial::{Dial, DialReading};
use crate::material::{ToolHolding, WorkMaterial, cutting_force_n};
use crate::notice::Notice;
use crate::nut::NutDesign;
use form::{Said, Sentence, figure, mm, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Most passes a plan may have.
const MOST_PASSES: u32 = 400;
/// Radial part of the cutting force on a form tool (common practice).
const RADIAL_SHARE: f64 = 0.5;
/// Thickness aimed at for a finishing cut, mm: common practice for a sharp form tool.
const FINISHING_MM: f64 = 0.04;
/// From this depth on there are two finishing cuts, mm.
const TWO_FINISHING_FROM_MM: f64 = 1.0;
/// A groove of fewer finishing cuts than this has none of its own.
const LEAST_IN_FINISHING: i64 = 6;
/// Part of the growing width that a pass may cut as thick as a tool's tip: as the groove widens the
/// infeed falls. Empirical: M20 x 2.5 so comes to about the twelve to fourteen passes of insert makers'
/// tables (from memory).
const WIDER_PART: f64 = 0.25;
/// How much larger a chip may be that leaves along one flank (empirical).
const FREER_CHIP: f64 = 1.25;
/// So many times the bending allowed, a bar is too slender for any plan; below it each pass is repeated.
const SLENDER: f64 = 2.5;
/// Time from seeing the mark to half nuts open or spindle stopped, s (common practice).
const REACTION_S: f64 = 0.5;

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PassError {
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
    /// So many passes that something else is wrong.
    TooMany {
        /// Passes needed.
        passes: u32,
    },
    /// The bar bends too much under the thinnest pass that cuts and that the dial shows.
    TooSlender {
        /// That pass, mm.
        thinnest_mm: f64,
        /// How far it bends the bar, mm.
        bending_mm: f64,
        /// How far it may bend, mm.
        most_mm: f64,
        /// Diameter of the bar, mm.
        diameter_mm: f64,
        /// Its free length, mm.
        overhang_mm: f64,
        /// Least diameter that would do at this length, mm.
        needs_diameter_mm: f64,
        /// Longest this bar may stand out, mm.
        may_stand_out_mm: f64,
    },
}

impl Said for PassError {
    fn said(&self) -> Sentence {
        match self {
            Self::Limits { what, value, least, most } => {
                format!("{what} {value:.4} is outside {least:.4} to {most:.4}").into()
            }
            Self::TooMany { passes } => format!(
                "the plan would take {passes} passes, more than {MOST_PASSES}: use a stiffer tool or a thicker chip"
            )
            .into(),
            Self::TooSlender {
                thinnest_mm,
                bending_mm,
                most_mm,
                diameter_mm,
                overhang_mm,
                needs_diameter_mm,
                may_stand_out_mm,
            } => sentence!(
                "the bar is too slender: a pass of {}, the thinnest that cuts and that the dial shows, bends a bar of {} standing out {} by about {}, and {} is the most. At that length it takes a bar of {}; this bar may stand out {}. Shorten it, take a thicker one or solid carbide, or cut the thread with a tap",
                mm(*thinnest_mm, 2),
                mm(*diameter_mm, 1),
                mm(*overhang_mm, 0),
                mm(*bending_mm, 2),
                mm(*most_mm, 2),
                mm(*needs_diameter_mm, 1),
                mm(*may_stand_out_mm, 0)
            ),
        }
    }
}

form::said_by_display!(PassError);

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
    /// The slide feeds toward the operator: a bore cut on its near side, a screw on its far side.
    #[serde(default)]
    pub outward: bool,
    /// A through nut: the tool runs out behind it.
    #[serde(default)]
    pub through: bool,
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
            outward: true,
            through: true,
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
    /// A finishing cut: thin, so that the size comes out.
    #[serde(default)]
    pub finishing: bool,
    /// After this pass the machine is stopped and the screw is tried (for a new screw, its nut).
    #[serde(default)]
    pub try_on: bool,
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
/// Where neither their number nor a fixed step is asked for, the last one or two are finishing cuts, every
/// pass but the last ends on a division of the dial, and none is thinner than a division or than what cuts.
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
    let dial = DialSteps::of(request);
    let mut notices = Vec::new();
    let (depths, finishing) = match (request.passes, request.rule) {
        (None, PassRule::ConstantArea | PassRule::RootSeries) => {
            notices.extend(too_slender(request, &groove, &dial)?);
            planned(request, &groove, &dial)?
        }
        (n, rule) => {
            let asked = groove.depths(rule, n.unwrap_or(1));
            let shown = dial.told_apart(&asked);
            if shown.len() < asked.len() {
                notices.push(Notice::new(
                    "fewer-passes",
                    sentence!(
                        "{} passes were asked for; the dial tells only {} apart, one division is {}",
                        asked.len().to_string(),
                        shown.len().to_string(),
                        mm(dial.step_mm, 3)
                    ),
                ));
            }
            (shown, 0)
        }
    };
    let along = along(request.feed);
    let mut passes = Vec::with_capacity(depths.len() + request.spring_passes as usize);
    let mut before = 0.0;
    let count = depths.len();
    // The screw is tried while there is still a cut to take.
    let tried = if count > 1 { count - 2 } else { 0 };
    for (i, &depth) in depths.iter().enumerate() {
        let (force, bending) = load(request, &groove, before, depth);
        passes.push(Pass {
            number: i as u32 + 1,
            increment_mm: depth - before,
            depth_mm: depth,
            area_mm2: groove.area(depth) - groove.area(before),
            force_n: force,
            bending_mm: bending,
            dial: request.dial.reading_of(depth * along, request.outward),
            spring: false,
            finishing: i + finishing >= count,
            try_on: i == tried,
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
                finishing: false,
                try_on: false,
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
    let slender = notices.iter().any(|n: &Notice| n.code == "slender-for-passes");
    notices.extend(
        remarks(request, &passes, dial_error_mm, travel)
            .into_iter()
            .filter(|n| !(slender && n.code == "bends-too-much")),
    );
    Ok(PassPlan {
        notices,
        passes,
        area_mm2: groove.area(groove.depth),
        run_out_mm: travel + width,
        sideways_mm,
        dial_error_mm,
    })
}

/// Movement of the slide that feeds per radial depth.
fn along(feed: Feed) -> f64 {
    match feed {
        Feed::Radial => 1.0,
        Feed::Flank { top_slide_deg } => 1.0 / top_slide_deg.to_radians().cos(),
    }
}

/// The dial's divisions as radial depths.
struct DialSteps {
    /// Radial depth of a division, mm.
    step_mm: f64,
    /// Divisions of the thinnest pass that cuts rather than rubs.
    least: i64,
    /// Divisions of the whole depth, to the nearest.
    whole: i64,
}

impl DialSteps {
    fn of(request: &PassRequest) -> Self {
        let step_mm = request.dial.division_mm() / along(request.feed);
        let least = (request.material.least_infeed_mm() / step_mm - 1e-6).ceil().max(1.0);
        let whole = (request.depth_mm / step_mm).round().max(1.0);
        Self { step_mm, least: least as i64, whole: whole as i64 }
    }

    fn depth(&self, divisions: i64) -> f64 {
        divisions as f64 * self.step_mm
    }

    /// The depths whose readings differ: the last stays.
    fn told_apart(&self, depths: &[f64]) -> Vec<f64> {
        let reading = |d: f64| (d / self.step_mm).round();
        let last = depths.last().copied().unwrap_or(0.0);
        let mut out: Vec<f64> = Vec::with_capacity(depths.len());
        for &d in depths {
            let before = out.last().map_or(0.0, |b| reading(*b));
            if reading(d) > before && (d >= last || reading(d) < reading(last)) {
                out.push(d);
            }
        }
        if out.is_empty() {
            out.push(last);
        }
        out
    }
}

/// The thinnest pass at the full depth bends the bar too much: an error, or, where repeating each pass
/// still helps, a notice.
fn too_slender(
    request: &PassRequest,
    groove: &GrooveArea,
    dial: &DialSteps,
) -> Result<Option<Notice>, PassError> {
    let thinnest_mm = dial.depth(dial.least).min(request.depth_mm);
    let (_, bending_mm) = load(request, groove, request.depth_mm - thinnest_mm, request.depth_mm);
    let most_mm = request.most_bending_mm;
    let ToolHolding::Bar { diameter_mm, overhang_mm, .. } = request.holding else {
        return Ok(None);
    };
    if bending_mm <= most_mm {
        return Ok(None);
    }
    if bending_mm <= SLENDER * most_mm {
        return Ok(Some(Notice::new(
            "slender-for-passes",
            sentence!(
                "the bar is slender for this cut: even a pass of {} bends it by about {}. Repeat each pass until it takes no more, or take a thicker or shorter bar",
                mm(thinnest_mm, 2),
                mm(bending_mm, 2)
            ),
        )));
    }
    let bends = |diameter_mm: f64, overhang_mm: f64| {
        let ToolHolding::Bar { carbide, .. } = request.holding else { return 0.0 };
        let holding = ToolHolding::Bar { diameter_mm, overhang_mm, carbide };
        bending_mm * holding.compliance_mm_per_n() / request.holding.compliance_mm_per_n()
    };
    let mut needs_diameter_mm = diameter_mm;
    while needs_diameter_mm < 200.0 && bends(needs_diameter_mm, overhang_mm) > most_mm {
        needs_diameter_mm += 0.5;
    }
    let mut may_stand_out_mm = overhang_mm.floor();
    while may_stand_out_mm > 0.0 && bends(diameter_mm, may_stand_out_mm) > most_mm {
        may_stand_out_mm -= 1.0;
    }
    Err(PassError::TooSlender {
        thinnest_mm,
        bending_mm,
        most_mm,
        diameter_mm,
        overhang_mm,
        needs_diameter_mm,
        may_stand_out_mm,
    })
}

/// Depths of the passes by dial, roughing and finishing, and how many of them finish.
fn planned(
    request: &PassRequest,
    groove: &GrooveArea,
    dial: &DialSteps,
) -> Result<(Vec<f64>, usize), PassError> {
    let thin = dial.least.max((FINISHING_MM / dial.step_mm).round() as i64);
    let finishing = if dial.whole < LEAST_IN_FINISHING * thin {
        0
    } else if request.depth_mm < TWO_FINISHING_FROM_MM {
        1
    } else {
        2
    };
    let rough = dial.whole - finishing * thin;
    let mut readings = match request.rule {
        PassRule::RootSeries => by_series(request, groove, dial, rough)?,
        _ => by_area(request, groove, dial, rough)?,
    };
    readings.extend((1..=finishing).map(|k| rough + k * thin));
    let mut depths: Vec<f64> = readings.iter().map(|n| dial.depth(*n)).collect();
    if let Some(last) = depths.last_mut() {
        *last = request.depth_mm;
    }
    Ok((depths, finishing as usize))
}

/// Readings of the roughing passes by the square-root series: as few as chip and bending allow.
fn by_series(
    request: &PassRequest,
    groove: &GrooveArea,
    dial: &DialSteps,
    rough: i64,
) -> Result<Vec<i64>, PassError> {
    let whole = dial.depth(rough);
    let most_bending = request.most_bending_mm.max(bending_of_least(request, groove, dial));
    let good = |n: &u32| {
        let mut before = 0.0;
        root_series(whole, *n).into_iter().all(|depth| {
            let (_, bending) = load(request, groove, before, depth);
            let increment = depth - before;
            before = depth;
            bending <= most_bending && increment <= request.material.most_infeed_mm() + 1e-9
        })
    };
    // A bar so slender that its first cuts must be as thin as its last leaves the series no choice.
    let Some(n) = (1..=MOST_PASSES).find(good) else {
        return by_area(request, groove, dial, rough);
    };
    let most_steps = (request.material.most_infeed_mm() / dial.step_mm + 1e-6).floor() as i64;
    let most_steps = most_steps.max(dial.least);
    let mut readings = Vec::new();
    let mut before = 0;
    for depth in root_series(whole, n) {
        let at = ((depth / dial.step_mm).round() as i64).min(rough).min(before + most_steps);
        let enough = at - before >= dial.least && (at == rough || rough - at >= dial.least);
        if enough || (at == rough && before < rough) {
            readings.push(at);
            before = at;
        }
    }
    Ok(readings)
}

/// Bending under the thinnest pass at full depth, mm.
fn bending_of_least(request: &PassRequest, groove: &GrooveArea, dial: &DialSteps) -> f64 {
    let thinnest = dial.depth(dial.least).min(request.depth_mm);
    load(request, groove, request.depth_mm - thinnest, request.depth_mm).1
}

/// Readings of the roughing passes, of as equal areas as the dial allows; none beyond the limits of
/// chip and bending.
fn by_area(
    request: &PassRequest,
    groove: &GrooveArea,
    dial: &DialSteps,
    rough: i64,
) -> Result<Vec<i64>, PassError> {
    let width = groove.flat + groove.slope.max(0.0) * groove.depth;
    let freer = if matches!(request.feed, Feed::Flank { .. }) { FREER_CHIP } else { 1.0 };
    let most = freer
        * request.material.most_infeed_mm()
        * (groove.flat + WIDER_PART * (width - groove.flat));
    let readings = |most_area: f64| roughed(request, groove, dial, rough, most_area);
    let fewest = readings(most);
    if fewest.len() > MOST_PASSES as usize {
        return Err(PassError::TooMany { passes: fewest.len() as u32 });
    }
    // The least area that needs no pass more shares out the load.
    let (mut low, mut high, mut best) = (0.0, most, fewest);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        let found = readings(middle);
        if found.len() <= best.len() {
            (high, best) = (middle, found);
        } else {
            low = middle;
        }
    }
    Ok(best)
}

/// Readings of passes as deep as chip, area and bending allow, none thinner than what cuts.
fn roughed(
    request: &PassRequest,
    groove: &GrooveArea,
    dial: &DialSteps,
    rough: i64,
    most_area: f64,
) -> Vec<i64> {
    let most_steps = (request.material.most_infeed_mm() / dial.step_mm + 1e-6).floor() as i64;
    let fits = |from: i64, steps: i64| {
        let (before, depth) = (dial.depth(from), dial.depth(from + steps));
        let (_, bending) = load(request, groove, before, depth);
        groove.area(depth) - groove.area(before) <= most_area && bending <= request.most_bending_mm
    };
    let mut readings = Vec::new();
    let mut at = 0;
    while at < rough && readings.len() <= MOST_PASSES as usize {
        let left = rough - at;
        // The load grows with the step.
        let (mut good, mut bad) = (dial.least, most_steps.max(dial.least) + 1);
        while bad - good > 1 {
            let middle = good + (bad - good) / 2;
            if fits(at, middle) { good = middle } else { bad = middle }
        }
        let mut steps = good.min(left);
        let rest = left - steps;
        if rest > 0 && rest < dial.least {
            // No rest too thin to cut: this pass leaves more, or the first, which cuts least, takes it.
            steps = left - dial.least;
            if steps < dial.least {
                let first = readings.first().copied().unwrap_or(most_steps);
                let over = left - dial.least;
                if first + over <= most_steps {
                    readings.iter_mut().for_each(|r| *r += over);
                    at += over;
                    steps = dial.least;
                } else {
                    steps = left;
                }
            }
        }
        at += steps;
        readings.push(at);
    }
    readings
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

/// Main force and bending of a pass, N and mm: tip and flanks as edges, each with the chip that it takes.
///
/// Straight in, both flanks cut and their chips jam against each other: half of all the force pushes the
/// tool away. Along one flank only the other cuts, its chip leaves freely, and what it pushes back is
/// square to that flank: `sin α` of its share lies along the infeed (common practice for the shares).
fn load(request: &PassRequest, groove: &GrooveArea, before: f64, depth: f64) -> (f64, f64) {
    let thickness = depth - before;
    let force = |width: f64, chip: f64| cutting_force_n(request.material, width, chip);
    let tip = force(groove.flat, thickness);
    let flank_rad = (0.5 * groove.slope).atan().max(0.0);
    let length = depth / flank_rad.cos();
    let (main, away) = match request.feed {
        Feed::Radial => {
            let flanks = 2.0 * force(length, thickness * flank_rad.sin());
            (tip + flanks, tip + flanks)
        }
        Feed::Flank { top_slide_deg } => {
            let over = top_slide_deg.to_radians().tan();
            let chip = thickness * (flank_rad.sin() + over * flank_rad.cos());
            let flank = force(length, chip);
            (tip + flank, tip + flank * flank_rad.sin())
        }
    };
    (main, RADIAL_SHARE * away * request.holding.compliance_mm_per_n())
}

fn remarks(r: &PassRequest, passes: &[Pass], dial_error: f64, travel: f64) -> Vec<Notice> {
    let mut notices = Vec::new();
    let cutting = || passes.iter().filter(|p| !p.spring);
    let least = cutting().map(|p| p.increment_mm).fold(f64::INFINITY, f64::min);
    // The last ends at the exact depth, up to half a division short of what the dial moves.
    let rubs = r.material.least_infeed_mm() - 0.5 * r.dial.division_mm() - 1e-9;
    if least < rubs {
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
                "at {} turns per minute the tool travels {} in half a second: {}, or turn the spindle by hand",
                figure(r.speed_rpm, 0),
                mm(travel, 1),
                if r.through {
                    "leave that and the tool's width free behind the nut"
                } else {
                    "cut the run-out groove first"
                }
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
