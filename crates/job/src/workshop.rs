//! What follows for the work at the machine: the survey, change wheels, passes, checks. Each from
//! what was said about it alone where that suffices, else from the nut.

use crate::evaluate::Progress;
use crate::findings::{Findings, Part, Remark};
use crate::job::{Job, ToolFor};
use crate::machine::{TrainSaid, USUAL_WITHIN_MM, WheelsSaid};
use form::{Hand, Quantity, Said, Sentence, mm, mm_with_u, sentence};
use shop::{
    BarRequest, BoringBar, Centring, CylinderReading, GearError, GearRequest, Gears, Notice,
    NutDesign, PassPlan, PassRequest, ScrewForm, ToolHolding, WireThread,
};
use std::sync::Arc;

/// Most trains found.
const MOST_TRAINS: usize = 40;
/// A boring bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Free length, mm.
    pub overhang_mm: f64,
}

/// A blank as it is set out.
#[derive(Debug, Clone, PartialEq)]
pub struct Blank {
    /// How far the first cylinder's axis lies below the face, mm.
    pub axis_below_face_mm: Option<Quantity>,
    /// How far the second axis lies below the first, mm.
    pub axis_drop_mm: Option<Quantity>,
    /// How the centring goes.
    pub centring: Option<Centring>,
}

/// A cutting plan and what it was made for.
#[derive(Debug, Clone, PartialEq)]
pub struct Cutting {
    /// The boring bar; `None` when the tool is held stiffly (a screw, or no nut to bore).
    pub bar: Option<Bar>,
    /// What was asked.
    pub request: PassRequest,
    /// The plan.
    pub plan: PassPlan,
}

/// The survey needs neither picture nor thread.
pub(crate) fn survey(job: &Job, out: &mut Findings) {
    let Some(survey) = job.survey.survey(job.nut.play_mm) else { return };
    match shop::evaluate_survey(&survey) {
        Ok(found) => {
            warn(out, Part::Survey, &found.notices);
            out.survey = Some(Arc::new(found));
        }
        Err(e) => out.troubles.push(Remark::new(Part::Survey, "survey", e.said())),
    }
}

/// Change wheels, passes and checks, after nut and tool.
pub(crate) fn workshop(job: &Job, out: &mut Findings, progress: Progress<'_>) {
    // The measurement may be seen whatever the thread does; work at the machine may not.
    if out.refusal.is_some() {
        return;
    }
    progress(0.97);
    if let Some(remark) = another_lead(job, out) {
        let list = if remark.code == ANOTHER_LEAD { &mut out.troubles } else { &mut out.warnings };
        list.push(remark);
    }
    match gears(job, out) {
        Some(Ok(gears)) => {
            if let Some(said) = &job.wheels.train
                && let Some(best) = gears.trains.first()
                && said.place(&gears.trains).is_none()
            {
                let text = format!(
                    "the train chosen, {said}, is not possible any more for this lead with these \
                     wheels within {:.0} ppm: the best one, {}, is used instead",
                    job.wheels.tolerance_ppm,
                    TrainSaid::from(best)
                );
                out.warnings.push(Remark::new(Part::Wheels, "train-gone", text));
            }
            warn(out, Part::Wheels, &gears.notices);
            out.gears = Some(Arc::new(gears));
        }
        Some(Err(e)) => out.troubles.push(Remark::new(Part::Wheels, "wheels", e.said())),
        None => {}
    }
    let no_bar = match boring_bar(job, out) {
        Some(Ok(bar)) => {
            warn(out, Part::Tool, &bar.notices);
            out.boring_bar = Some(Arc::new(bar));
            None
        }
        // A nut too small for a bar is cut with a solid bit, and the plan says so.
        Some(Err(text)) => Some(text),
        None => None,
    };
    match blank(job) {
        Ok(found) => out.blank = found.map(Arc::new),
        Err(e) => out.troubles.push(Remark::new(Part::Passes, "blank", e.said())),
    }
    match cutting(job, out, no_bar) {
        Some(Ok(cutting)) => {
            warn(out, Part::Passes, &cutting.plan.notices);
            out.cutting = Some(Arc::new(cutting));
        }
        Some(Err(text)) => out.troubles.push(Remark::new(Part::Passes, "passes", text)),
        None => {}
    }
    checks(job, out);
}

fn warn(out: &mut Findings, part: Part, notices: &[Notice]) {
    out.warnings.extend(notices.iter().map(|n| Remark::new(part, &n.code, n.text.clone())));
}

/// A millionth is a micrometre in a metre: nobody puts four wheels on for it where two do.
const ALIKE_PPM: f64 = 1.0;

/// What is asked of the wheels of a job: for the lead that is wanted, or the screw's; `None` while lead
/// screw, lead or wheels are not known.
#[must_use]
pub fn gear_request(job: &Job, out: &Findings) -> Option<GearRequest> {
    let want_mm = job.wheels.want_mm.or_else(|| out.screw.as_ref().map(|s| s.lead_mm().value))?;
    if job.wheels.wheels.is_empty() {
        return None;
    }
    let mut request = for_lead(&job.wheels, want_mm)?;
    if let Some(nut) = &out.nut {
        request.nut_length_mm = Some(nut.length_mm);
        request.play_mm = Some(nut.axial_play_mm.value);
    } else if let Some(length_mm) = job.nut.length_mm {
        // Whoever only wants the wheels says how long the nut is.
        request.nut_length_mm = Some(length_mm);
        request.play_mm = Some(job.nut.play_mm.value);
    }
    Some(request)
}

/// The same for a lead, mm, and for no nut.
fn for_lead(said: &WheelsSaid, want_mm: f64) -> Option<GearRequest> {
    let mut request = GearRequest::new(said.leadscrew_mm?, want_mm, said.wheels.clone());
    request.tolerance_ppm = said.tolerance_ppm;
    request.translation_pair = said.pair;
    request.bracket = said.bracket;
    request.alike_ppm = ALIKE_PPM;
    request.most = MOST_TRAINS;
    Some(request)
}

/// The trains for a job.
fn gears(job: &Job, out: &Findings) -> Option<Result<Gears, GearError>> {
    let request = gear_request(job, out)?;
    let of_another = out.screw.as_deref().is_some_and(|s| is_of_another(request.want_mm, s));
    (!of_another).then(|| trains(&job.wheels, &request))
}

/// Part of a screw's lead from which one that was typed is that of another screw.
const MOST_APART: f64 = 0.005;
/// Part of it, and number of its uncertainties, from which the two are said to differ.
const APART: f64 = 2e-4;
const APART_U: f64 = 3.0;
/// Code of the trouble that change wheels are wanted for another lead than the screw has.
const ANOTHER_LEAD: &str = "another-lead";

/// Whether a lead is not this screw's at all.
fn is_of_another(want_mm: f64, screw: &ScrewForm) -> bool {
    let lead = screw.lead_mm();
    let doubt = APART_U * lead.u / lead.value;
    (want_mm / lead.value - 1.0).abs() > MOST_APART.max(doubt)
}

/// What is to be said of a lead that was typed beside the screw's.
fn another_lead(job: &Job, out: &Findings) -> Option<Remark> {
    let (want_mm, screw) = (job.wheels.want_mm?, out.screw.as_deref()?);
    let lead = screw.lead_mm();
    let off = (want_mm - lead.value).abs();
    let (typed, own) = (mm(want_mm, 4), mm_with_u(lead, 4));
    if is_of_another(want_mm, screw) {
        let text = sentence!(
            "the lead to cut was typed as {}, and the screw's is {}: wheels for that cut no nut for \
             this screw. Clear the lead to cut, or begin a job of its own for it",
            typed,
            own
        );
        return Some(Remark::new(Part::Wheels, ANOTHER_LEAD, text));
    }
    (off > (APART * lead.value).max(APART_U * lead.u)).then(|| {
        let text = sentence!(
            "the wheels are for the {} that was typed; the screw's lead is {}. Cleared, the lead to \
             cut is the screw's",
            typed,
            own
        );
        Remark::new(Part::Wheels, "lead-apart", text)
    })
}

/// The best trains, as many as `request` wants, the chosen one among them, and what is to be said of the one
/// that is used.
///
/// # Errors
/// As [`shop::find_trains`].
pub fn trains(said: &WheelsSaid, request: &GearRequest) -> Result<Gears, GearError> {
    let mut all = request.clone();
    if said.train.is_some() {
        // One that was chosen is looked for among all: a lead told anew may have moved it down the list.
        all.most = usize::MAX;
    }
    let mut gears = shop::find_trains(&all)?;
    let at = said.used_at(&gears.trains);
    if at > 0 {
        gears.notices = shop::train_notices(request, gears.trains.get(at), false);
    }
    // Far down the list it takes the last place that is shown.
    let most = request.most.max(1);
    if at >= most {
        gears.trains.swap(at, most - 1);
    }
    gears.trains.truncate(most);
    Ok(gears)
}

/// Pitch that the train the job uses cuts for this screw, mm.
pub(crate) fn pitch_cut_mm(job: &Job, screw: &ScrewForm) -> Option<f64> {
    let said = &job.wheels;
    let want_mm = said.want_mm.unwrap_or(screw.lead_mm().value);
    if is_of_another(want_mm, screw) {
        return None;
    }
    let gears = trains(said, &for_lead(said, want_mm)?).ok()?;
    Some(said.used(&gears)?.pitch_mm / f64::from(screw.starts.max(1)))
}

/// The bar at hand, or the largest usual bar that enters the nut and lets the tool retract.
fn boring_bar(job: &Job, out: &Findings) -> Option<Result<BoringBar, Sentence>> {
    let (nut, tool) = (out.nut.as_deref()?, out.tool.as_deref()?);
    (tool.purpose == shop::ToolFor::Nut)
        .then(|| shop::boring_bar(nut, tool, &bar_request(job)).map_err(|e| e.said()))
}

/// The boring bar as a job asks for it.
#[must_use]
pub fn bar_request(job: &Job) -> BarRequest {
    BarRequest {
        diameter_mm: job.passes.bar_diameter_mm,
        overhang_mm: job.passes.overhang_mm,
        carbide: job.passes.carbide,
        material: job.work_material().0,
        ..BarRequest::default()
    }
}

/// The boring bar the cut is made with; without a nut, as said.
fn bar(job: &Job, found: Option<&BoringBar>) -> Option<Bar> {
    let said = &job.passes;
    Some(match found {
        Some(b) => Bar { diameter_mm: b.diameter_mm, overhang_mm: b.overhang_mm },
        None => Bar { diameter_mm: said.bar_diameter_mm?, overhang_mm: said.overhang_mm? },
    })
}

/// What the readings on the blank come to; `None` where nothing was read.
fn blank(job: &Job) -> Result<Option<Blank>, shop::SettingOutError> {
    let said = &job.blank;
    let cylinder = |top: Option<Quantity>, diameter: Option<Quantity>| {
        Some(CylinderReading { top_mm: top?, diameter_mm: diameter? })
    };
    let first = cylinder(said.first_top_mm, said.first_diameter_mm);
    let second = cylinder(said.second_top_mm, said.second_diameter_mm);
    let axis_below_face_mm = match (said.face_mm, &first) {
        (Some(face), Some(first)) => Some(shop::axis_below_face_mm(face, first)?),
        _ => None,
    };
    let axis_drop_mm = match (&first, &second) {
        (Some(first), Some(second)) => Some(shop::axis_drop_mm(first, second)?),
        _ => None,
    };
    let centring = match said.jaws.as_slice() {
        [] => None,
        rounds => Some(shop::centring(rounds, said.within_mm.unwrap_or(USUAL_WITHIN_MM))?),
    };
    let any = axis_below_face_mm.is_some() || axis_drop_mm.is_some() || centring.is_some();
    Ok(any.then_some(Blank { axis_below_face_mm, axis_drop_mm, centring }))
}

fn cutting(
    job: &Job,
    out: &Findings,
    no_bar: Option<Sentence>,
) -> Option<Result<Cutting, Sentence>> {
    let said = &job.passes;
    let nut = out.nut.as_deref();
    // What is cut: a new screw from its outside, or the nut from its bore.
    let new_screw = out.screw.as_deref().zip(out.tool.as_deref());
    let new_screw = new_screw.filter(|(_, tool)| tool.purpose == shop::ToolFor::Screw);
    // A nut that is opened on the screw is cut so far by numbers.
    let by_numbers = |n: &NutDesign| n.try_on.map_or(n.infeed_mm.value, |t| t.first_infeed_mm);
    let found = match new_screw {
        Some((screw, tool)) => Some((
            screw.depth_mm.value,
            tool.tip_flat_mm.value,
            slope(screw.right_flank_deg, screw.left_flank_deg),
            screw.lead_mm().value,
        )),
        None => nut.map(|n| {
            (by_numbers(n), n.tool_tip_flat_mm.value, n.play_per_infeed.value, n.lead_mm.value)
        }),
    };
    let depth_mm = said.depth_mm.or(found.map(|f| f.0))?;
    let tip_flat_mm = said.tip_flat_mm.or(found.map(|f| f.1))?;
    let typed = || Some(slope(job.form.right_flank_deg?, job.form.left_flank_deg?));
    let flank_slope = found.map(|f| f.2).or_else(typed)?;
    let lead_mm = found
        .map(|f| f.3)
        .or(job.wheels.want_mm)
        .or(job.form.pitch_mm.map(|q| q.value * f64::from(job.thread.starts.unwrap_or(1))))?;
    // A bar that was named is the one that cuts: where it does not do, nothing is planned without it.
    if let (Some(text), true) = (&no_bar, said.bar_diameter_mm.is_some()) {
        return Some(Err(text.clone()));
    }
    let bar = if new_screw.is_some() { None } else { bar(job, out.boring_bar.as_deref()) };
    let request = PassRequest {
        depth_mm,
        tip_flat_mm,
        flank_slope,
        rule: said.rule,
        passes: said.passes,
        feed: feed(job, out),
        material: job.work_material().0,
        holding: bar.map_or(ToolHolding::Stiff, |b| ToolHolding::Bar {
            diameter_mm: b.diameter_mm,
            overhang_mm: b.overhang_mm,
            carbide: said.carbide,
        }),
        most_bending_mm: shop::USUAL_BENDING_MM,
        spring_passes: said.spring_passes,
        dial: said.dial(job.units),
        lead_mm,
        speed_rpm: said.speed_rpm,
        outward: outward(job),
        through: job.sheets.tool_for == ToolFor::Nut,
    };
    Some(match shop::plan_passes(&request) {
        Ok(mut plan) => {
            if said.dial.is_none() {
                plan.notices.push(Notice::new(
                    "dial-assumed",
                    format!(
                        "nobody has read the dial: {} divisions of {} a turn are taken, and on another \
                         every reading is wrong. Look at the slide, and enter what stands there",
                        request.dial.divisions_per_turn,
                        request.dial.division_in_words()
                    ),
                ));
            }
            plan.notices.extend(no_bar.map(|text| Notice::new("no-bar", text)));
            if said.flank_feed && request.feed == shop::Feed::Radial {
                plan.notices.push(Notice::new(
                    "fed-straight",
                    "a tool cannot be fed along square flanks: it is fed straight in.",
                ));
            }
            Ok(Cutting { bar, request, plan })
        }
        Err(e) => Err(e.said()),
    })
}

/// Whether the slide feeds toward the operator: in a bore on the near side, on a screw from behind.
pub(crate) fn outward(job: &Job) -> bool {
    (job.sheets.tool_for == ToolFor::Nut) == (job.tool.stance == shop::Stance::Near)
}

/// Which way the tool goes in.
fn feed(job: &Job, out: &Findings) -> shop::Feed {
    if !job.passes.flank_feed {
        return shop::Feed::Radial;
    }
    let lesser = |right: Quantity, left: Quantity| right.value.min(left.value);
    let of_screw = out.screw.as_ref().map(|s| lesser(s.right_flank_deg, s.left_flank_deg));
    let typed = || Some(lesser(job.form.right_flank_deg?, job.form.left_flank_deg?));
    let flank_deg = of_screw.or_else(typed).unwrap_or(0.0);
    let along = flank_deg - LESS_THAN_FLANK_DEG;
    match job.passes.top_slide_deg {
        Some(top_slide_deg) => shop::Feed::Flank { top_slide_deg },
        None if along > 0.0 => shop::Feed::Flank { top_slide_deg: along },
        // Along a square flank there is no way in but straight.
        None => shop::Feed::Radial,
    }
}

/// By how much the top slide stands less over than the flank, degrees, so that the trailing flank is
/// cleaned up: common practice.
const LESS_THAN_FLANK_DEG: f64 = 0.5;

/// Sum of the tangents of both flanks.
fn slope(right_deg: Quantity, left_deg: Quantity) -> f64 {
    let tan = |q: Quantity| q.value.to_radians().tan();
    tan(right_deg) + tan(left_deg)
}

fn checks(job: &Job, out: &mut Findings) {
    if let Some(thread) = wire_thread(job, out) {
        match shop::over_wires(&thread, job.checks.wire_mm) {
            Ok(over) => {
                warn(out, Part::Checks, &over.notices);
                out.wires = Some(Arc::new(over));
            }
            Err(e) => out.troubles.push(Remark::new(Part::Checks, "wires", e.said())),
        }
    }
    if let (Some(screw), Some(nut)) = (&out.screw, &out.nut) {
        let play = nut.axial_play_mm.value;
        let least = job.checks.least_play_mm.unwrap_or(0.5 * play);
        let most = job.checks.most_play_mm.unwrap_or(1.5 * play);
        match shop::nut_gauges(screw, nut, least, most) {
            Ok(gauges) => out.gauges = Some(Arc::new(gauges)),
            Err(e) => out.troubles.push(Remark::new(Part::Checks, "gauges", e.said())),
        }
    }
}

/// The thread that is measured over wires: the screw's, or as typed.
fn wire_thread(job: &Job, out: &Findings) -> Option<WireThread> {
    let typed = job.checks.pitch_diameter_mm;
    if let Some(mut thread) = out.screw.as_ref().and_then(|s| WireThread::of_screw(s).ok()) {
        if let Some(q) = typed {
            thread.pitch_diameter_mm = q;
        }
        return Some(thread);
    }
    let form = &job.form;
    Some(WireThread {
        pitch_mm: form.pitch_mm?,
        right_flank_deg: form.right_flank_deg?,
        left_flank_deg: form.left_flank_deg?,
        pitch_diameter_mm: typed?,
        starts: job.thread.starts.unwrap_or(1),
        groove_width_mm: None,
        major_diameter_mm: job.thread.major_diameter_mm.map(|q| q.value),
        minor_diameter_mm: None,
    })
}

/// The screw that was typed in; `None` while something it needs is missing.
pub(crate) fn typed_screw(job: &Job) -> Option<Result<ScrewForm, Sentence>> {
    let form = &job.form;
    let sharp = Quantity::assumed(0.0, 0.0);
    let screw = ScrewForm {
        pitch_mm: form.pitch_mm?,
        right_flank_deg: form.right_flank_deg?,
        left_flank_deg: form.left_flank_deg?,
        depth_mm: form.depth_mm?,
        crest_flat_mm: form.crest_flat_mm?,
        crest_radius_mm: form.crest_radius_mm.unwrap_or(sharp),
        root_radius_mm: form.root_radius_mm.unwrap_or(sharp),
        major_diameter_mm: job.thread.major_diameter_mm?,
        starts: job.thread.starts.unwrap_or(1),
        hand: job.thread.hand.unwrap_or(Hand::Right),
        correlation: None,
        thickest_extra_mm: Quantity::assumed(0.0, 0.0),
        thinnest_deficit_mm: Quantity::assumed(0.0, 0.0),
    };
    Some(screw.check().map(|()| screw).map_err(|e| e.said()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::PaperSaid;
    use crate::evaluate::evaluate;
    use crate::job::Duty;
    use form::Units;
    use shop::Reading;

    fn found(job: &Job) -> Findings {
        evaluate(job, None, &|_| true).unwrap()
    }

    #[test]
    fn wheels_for_a_lead_the_screw_does_not_have_cut_nothing_for_it() {
        let mut job = Job { duty: Some(Duty::Adjusts), ..Job::default() };
        let q = |value: f64| Some(Quantity::entered(value, 0.0005));
        job.form.pitch_mm = q(4.0);
        (job.form.right_flank_deg, job.form.left_flank_deg) = (q(15.0), q(15.0));
        (job.form.depth_mm, job.form.crest_flat_mm) = (q(2.25), q(1.4641));
        job.thread.major_diameter_mm = q(24.0);
        job.wheels.leadscrew_mm = Some(6.0);
        job.wheels.wheels = vec![20, 30, 40, 50, 60, 65, 80, 100, 120];
        let tip = |found: &Findings| found.tool.as_ref().unwrap().tip_flat_mm.value;
        let own = found(&job);
        assert!(own.gears.is_some() && own.trouble(Part::Wheels).is_none());
        // 3.9 mm: a tip that made room for that would spoil the nut in silence.
        job.wheels.want_mm = Some(3.9);
        let other = found(&job);
        assert_eq!(other.trouble(Part::Wheels).unwrap().code, ANOTHER_LEAD);
        assert!(other.gears.is_none() && (tip(&other) - tip(&own)).abs() < 1e-9);
        // A thousandth off it is told; as near as the screw is known, nothing is.
        job.wheels.want_mm = Some(4.004);
        let near = found(&job);
        assert!(near.gears.is_some() && near.warnings.iter().any(|w| w.code == "lead-apart"));
        job.wheels.want_mm = Some(4.0005);
        assert!(found(&job).warnings.iter().all(|w| w.code != "lead-apart"));
    }

    #[test]
    fn a_pitch_that_nobody_cuts_is_doubted() {
        let fine = |job: &Job| {
            let found = found(job);
            let said = found.warnings.iter().filter(|w| w.code == "unusually-fine");
            said.map(|w| (w.part, w.text.in_units(Units::Inch))).collect::<Vec<_>>()
        };
        let mut job = typed(0.001);
        assert!(fine(&job).is_empty());
        // That nothing can be designed for it is no reason to be silent.
        job.form.pitch_mm = Some(Quantity::entered(25.4 / 98.0, 0.0));
        let said = fine(&job);
        assert_eq!((said.len(), said[0].0), (1, Part::Form));
        assert!(said[0].1.starts_with("the pitch, 0.0102 in,"), "{}", said[0].1);
        // Wheels for it, without a thread.
        job = Job::default();
        (job.wheels.leadscrew_mm, job.wheels.want_mm) = (Some(3.175), Some(25.4 / 98.0));
        job.wheels.wheels = vec![20, 30, 98, 120];
        let said = fine(&job);
        assert_eq!((said.len(), said[0].0), (1, Part::Wheels));
        let text = "the lead to cut, 0.0102 in, is unusually fine, 98 threads to the inch";
        assert!(said[0].1.starts_with(text), "{}", said[0].1);
    }

    #[test]
    fn a_dial_that_nobody_read_is_asked_for() {
        let mut job = Job::default();
        job.passes.depth_mm = Some(1.0);
        job.passes.tip_flat_mm = Some(1.0);
        let angle = Some(Quantity::entered(15.0, 0.0));
        (job.form.right_flank_deg, job.form.left_flank_deg) = (angle, angle);
        job.form.pitch_mm = Some(Quantity::entered(4.0, 0.0));
        let asks = |job: &Job| found(job).warnings.iter().any(|w| w.code == "dial-assumed");
        let division = |job: &Job| found(job).cutting.as_ref().unwrap().request.dial.division;
        assert!(asks(&job) && (division(&job) - 0.02).abs() < 1e-12);
        // Where people work in inches, the usual dial is another.
        job.units = Units::Inch;
        assert!(asks(&job) && (division(&job) - 0.001).abs() < 1e-12);
        job.passes.read_dial(job.units, |d| d.divisions_per_turn = 125);
        assert!(!asks(&job));
    }

    #[test]
    fn the_wheels_alone_need_nothing_else() {
        let mut job = Job::default();
        job.wheels.leadscrew_mm = Some(3.175);
        job.wheels.want_mm = Some(3.0);
        job.wheels.wheels = vec![20, 40, 50, 60, 80, 120, 127];
        // 3 mm from 8 tpi is 120/127 exactly (trade arithmetic: 3 · 8 / 25.4).
        let best = found(&job).gears.unwrap().trains[0].clone();
        assert_eq!((best.drivers, best.driven), (vec![120], vec![127]));
        assert!(best.error_ppm.abs() < 1e-6);
        job.duty = Some(Duty::Lifts);
        assert!(found(&job).gears.is_none());
    }

    /// A 30° screw of 20 mm by 4, typed in, every number with this uncertainty.
    fn typed(u: f64) -> Job {
        let mut job = Job::default();
        let q = |v: f64| Some(Quantity::entered(v, u));
        job.form.pitch_mm = q(4.0);
        job.form.right_flank_deg = q(15.0);
        job.form.left_flank_deg = q(15.0);
        job.form.depth_mm = q(2.25);
        job.form.crest_flat_mm = q(1.4641);
        job.thread.major_diameter_mm = q(20.0);
        job
    }

    #[test]
    fn the_train_that_was_chosen_is_used_and_kept_while_it_is_possible() {
        let mut job = typed(0.001);
        job.duty = Some(Duty::Adjusts);
        job.wheels.leadscrew_mm = Some(3.175);
        job.wheels.wheels = vec![20, 40, 50, 60, 63, 80, 120, 127];
        let best = found(&job);
        let gears = best.gears.clone().unwrap();
        assert_eq!(gears.trains[0].error_ppm, 0.0);
        assert!(best.nut.as_ref().unwrap().play_lost_to_lead_mm < 1e-9);
        // The first that is not exact: 4 mm is not cut by it, and the tip gives back what it takes.
        let other = gears.trains.iter().find(|t| t.error_ppm.abs() > 100.0).unwrap().clone();
        job.wheels.train = Some(TrainSaid::from(&other));
        let now = found(&job);
        assert_eq!(job.wheels.used(now.gears.as_ref().unwrap()), Some(&other));
        let nut = now.nut.as_ref().unwrap();
        let lost = other.error_ppm.abs() * 1e-6 * nut.length_mm;
        assert!((nut.play_lost_to_lead_mm / lost - 1.0).abs() < 0.01, "{lost}");
        let tip = |f: &Findings| f.tool.as_ref().unwrap().tip_flat_mm.value;
        assert!(tip(&now) - tip(&best) > 0.9 * lost);
        let pages = crate::worksheet(&job, &now, PaperSaid::A4, "2026-01-01").unwrap();
        let paper = format!("{:?}", pages.iter().map(|p| p.canvas.items()).collect::<Vec<_>>());
        assert!(paper.contains(&format!("{:+.0} ppm", other.error_ppm).replace('-', "\u{2212}")));
        // Written to the job's file and read from it.
        let text = crate::to_text(&job, None);
        assert_eq!(crate::from_text(&text, None).unwrap().wheels.train, job.wheels.train);
        // With a wheel of it gone it is not possible: the best is used, and that is said.
        job.wheels.wheels.retain(|w| !other.drivers.contains(w));
        job.wheels.wheels.extend([25, 30, 35, 45]);
        let gone = found(&job);
        let warning = gone.warnings.iter().find(|w| w.code == "train-gone").unwrap();
        assert!(warning.text.to_string().contains("is used instead"), "{}", warning.text);
        assert_eq!(job.wheels.used_at(&gone.gears.unwrap().trains), 0);
    }

    #[test]
    fn a_blank_is_set_out_from_its_readings() {
        let mut job = Job::default();
        assert!(found(&job).blank.is_none());
        let q = |value| Some(Quantity::entered(value, 0.01));
        job.blank.first_top_mm = q(62.31);
        job.blank.first_diameter_mm = q(20.0);
        assert!(found(&job).blank.is_none());
        job.blank.second_top_mm = q(40.10);
        job.blank.second_diameter_mm = q(12.0);
        job.blank.face_mm = q(70.0);
        // Axes at 62.31 - 10 and 40.10 - 6 (own arithmetic).
        let blank = found(&job).blank.unwrap();
        assert!((blank.axis_drop_mm.unwrap().value - 18.21).abs() < 1e-9);
        assert!((blank.axis_below_face_mm.unwrap().value - 17.69).abs() < 1e-9);
        job.blank.jaws = vec![shop::JawReadings { at_mm: [0.4, 0.1, -0.2, 0.0] }];
        let centring = found(&job).blank.unwrap().centring.clone().unwrap();
        assert!((centring.rounds[0].from_1_to_3_mm - 0.3).abs() < 1e-12 && !centring.done);
        job.blank.first_diameter_mm = q(-1.0);
        assert_eq!(found(&job).trouble(Part::Passes).unwrap().code, "blank");
    }

    #[test]
    fn a_bar_that_was_named_is_the_one_that_cuts() {
        let mut job = typed(0.0);
        let own = found(&job);
        assert!(own.cutting.is_some() && own.trouble(Part::Passes).is_none());
        // One that does not enter the bore of 16 mm is warned of; no plan is made for one that is none.
        job.passes.bar_diameter_mm = Some(40.0);
        let warned = found(&job).warnings.iter().any(|w| w.code == "bar-too-thick");
        assert!(warned);
        job.passes.bar_diameter_mm = Some(500.0);
        let findings = found(&job);
        assert!(findings.cutting.is_none());
        let text = &findings.trouble(Part::Passes).unwrap().text;
        assert!(
            text.to_string().contains("500.000 mm is outside 0.500 mm to 200.000 mm"),
            "{text}"
        );
    }

    #[test]
    fn the_survey_alone_needs_nothing_else() {
        let mut job = Job::default();
        for (position_mm, lost) in [(0.0, 0.30), (50.0, 0.42), (100.0, 0.31)] {
            let lost_motion_mm = Quantity::measured(lost, 0.01);
            job.survey.readings.push(Reading { position_mm, lost_motion_mm });
        }
        job.survey.end_float_mm = Some(Quantity::measured(0.06, 0.01));
        let findings = found(&job);
        assert_eq!(findings.survey.unwrap().most_screw_at_mm, 50.0);
        job.survey.readings.truncate(2);
        let findings = found(&job);
        assert_eq!(findings.trouble(Part::Survey).unwrap().code, "survey");
        assert!(findings.first_trouble().is_none());
    }

    #[test]
    fn a_typed_thread_is_enough_for_nut_tool_passes_and_checks() {
        let mut job = Job::default();
        job.form.pitch_mm = Some(Quantity::entered(4.0, 0.002));
        job.form.right_flank_deg = Some(Quantity::entered(15.0, 0.1));
        job.form.left_flank_deg = Some(Quantity::entered(15.0, 0.1));
        assert!(found(&job).nut.is_none());
        job.form.depth_mm = Some(Quantity::entered(2.25, 0.01));
        job.form.crest_flat_mm = Some(Quantity::entered(1.464, 0.01));
        job.thread.major_diameter_mm = Some(Quantity::entered(20.0, 0.01));
        let findings = found(&job);
        assert!(findings.troubles.is_empty(), "{:?}", findings.troubles);
        let nut = findings.nut.unwrap();
        assert!((nut.axial_play_mm.value - 0.08).abs() < 1e-6);
        assert!(findings.tool.is_some() && findings.gauges.is_some());
        let cutting = findings.cutting.unwrap();
        let depth = cutting.plan.passes.last().unwrap().depth_mm;
        assert!((depth - nut.infeed_mm.value).abs() < 1e-9);
        // Best wire at 30°: 0.5176 P.
        assert!((findings.wires.unwrap().wire_mm / 4.0 - 0.5176).abs() < 1e-4);
    }

    #[test]
    fn every_sheet_that_prints_the_play_prints_its_limits_and_the_template_the_angle_that_is_known()
    {
        let mut job = Job::default();
        let q = |v: f64, u: f64| Some(Quantity::entered(v, u));
        job.form.pitch_mm = q(4.0, 0.002);
        job.form.right_flank_deg = q(15.0, 0.2);
        job.form.left_flank_deg = q(15.0, 0.2);
        job.form.depth_mm = q(2.25, 0.01);
        job.form.crest_flat_mm = q(1.464, 0.01);
        job.thread.major_diameter_mm = q(20.0, 0.01);
        job.duty = Some(Duty::Adjusts);
        let f = found(&job);
        let (low, high) = f.nut.as_ref().unwrap().play_limits_mm.unwrap();
        assert!(high - low > 0.01);
        let a4 = PaperSaid::A4;
        let paper = |pages: Vec<sheets::Drawing>| {
            format!("{:?}", pages.iter().map(|p| p.canvas.items()).collect::<Vec<_>>())
        };
        let template = paper(crate::template(&job, &f, a4, "").unwrap());
        let limits = format!("{low:.2} mm to {high:.2} mm");
        for (name, sheet) in [
            ("job sheet", paper(crate::worksheet(&job, &f, a4, "").unwrap())),
            ("nut", paper(crate::nut_sheet(&job, &f, a4, "").unwrap())),
            ("template", template.clone()),
        ] {
            assert!(sheet.contains(&limits), "{name}: {limits}");
        }
        // Two angles of which each was read by itself: their errors add in squares.
        let known = f.tool.as_ref().unwrap().included_angle_deg;
        assert!((known.u - 0.2f64.hypot(0.2)).abs() < 0.01, "{known:?}");
        let drawn = crate::template::drawn(f.tool.as_ref().unwrap()).included_deg();
        assert_eq!((drawn.value, drawn.u), (known.value, known.u));
    }

    #[test]
    fn a_nut_in_too_much_doubt_says_so_in_its_title() {
        let typed = |pitch_u: f64| {
            let mut job = Job::default();
            job.form.pitch_mm = Some(Quantity::entered(4.0, pitch_u));
            job.form.right_flank_deg = Some(Quantity::entered(15.0, 0.1));
            job.form.left_flank_deg = Some(Quantity::entered(15.0, 0.1));
            job.form.depth_mm = Some(Quantity::entered(2.25, 0.01));
            job.form.crest_flat_mm = Some(Quantity::entered(1.464, 0.01));
            job.thread.major_diameter_mm = Some(Quantity::entered(20.0, 0.01));
            job
        };
        let subject = |job: &Job| crate::nut_sheet::subject(found(job).nut.as_deref().unwrap());
        assert_eq!(subject(&typed(0.002)), "bronze nut");
        let job = typed(0.1);
        assert!(subject(&job).ends_with("NOT YET TO BE CUT"));
        let said = found(&job).warnings;
        assert!(
            said.iter().any(|w| w.code == "not-yet" && w.text.to_string().contains("do not cut"))
        );
        // In less doubt it is opened on the screw, and the passes end where the trials begin.
        let findings = found(&typed(0.02));
        let nut = findings.nut.unwrap();
        let first_mm = nut.try_on.unwrap().first_infeed_mm;
        let last_mm = findings.cutting.unwrap().plan.passes.last().unwrap().depth_mm;
        assert!(first_mm <= nut.infeed_mm.value && (last_mm - first_mm).abs() < 1e-9);
        // The sheet says where that is to the same digits as the sentence, in either unit.
        for units in [Units::Mm, Units::Inch] {
            let job = Job { units, duty: Some(Duty::Adjusts), ..typed(0.02) };
            let findings = found(&job);
            let sheets = crate::sheets_of(&job, &findings, PaperSaid::A4, "2026-01-01").unwrap();
            let sheet = sheets.iter().find(|s| s.name == "job-sheet").unwrap();
            let printed = format!("{:?}", sheet.pages[0].canvas.items());
            let first = units.plain(first_mm, 3);
            assert!(printed.contains(&first), "{first}: {printed}");
            let mut said = findings.warnings.iter().map(|w| w.text.in_units(units));
            assert!(said.any(|w| w.contains(&format!("cut to an infeed of {first}"))), "{first}");
        }
    }
}
