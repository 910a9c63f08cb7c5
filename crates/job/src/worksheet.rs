//! The job sheet: everything the person at the lathe needs for the nut, on one page.

use crate::findings::{Findings, Part};
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, drawn, info, leading, winding_source};
use crate::wheels_sheet::Over;
use crate::workshop::Cutting;
use form::{Quantity, Sentence, Source, Units, mm, mm_as_given, sentence, units};
use sheets::{Drawing, JobSheet, Pass, Row, Value};
use shop::{DialReads, OverWires, ScrewForm, Train};

/// How a tool is set, in words.
pub(crate) fn set_up(form: &shop::ToolForm) -> Sentence {
    let tool = &form.setting;
    let mut text = Sentence::from(match &form.turn {
        None => "square to the axis".to_owned(),
        Some(turn) => turn.words(),
    });
    if tool.top_rake_deg != 0.0 {
        text.push(format!(", top rake {}°", tool.top_rake_deg));
    }
    text.push(match tool.above_centre_mm {
        0.0 => ", edge at centre height".into(),
        above if above > 0.0 => sentence!(", edge {} above centre", mm_as_given(above)),
        below => sentence!(", edge {} below centre", mm_as_given(-below)),
    });
    text.push(match tool.stance {
        shop::Stance::Near => "",
        shop::Stance::FarUpsideDown => ", on the far side, rake face down",
        shop::Stance::FarReverse => ", on the far side, spindle in reverse",
    });
    text
}

/// Which way the tool is fed in, in words.
fn fed(feed: shop::Feed) -> String {
    match feed {
        shop::Feed::Radial => "straight in".into(),
        shop::Feed::Flank { top_slide_deg } => {
            format!("along the flank, top slide {top_slide_deg:.1}° from the cross slide")
        }
    }
}

/// A length told no better than to `step_mm`, as a whole number of about such steps of `units`: what is
/// only chosen, or told roughly, has no more digits.
pub(crate) fn roughly(length_mm: f64, step_mm: f64, units: Units) -> f64 {
    let step_mm = match units {
        Units::Mm => step_mm,
        // Steps of 5 in the decimal next below: 0.5 in for 10 mm, 0.0005 in for 0.01 mm.
        Units::Inch | Units::Thou => 0.05 * step_mm * units::MM_PER_INCH,
    };
    (length_mm / step_mm).round() * step_mm
}

/// The pages of the job sheet of a nut.
///
/// # Errors
/// [`TemplateError`].
pub fn worksheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if let Some(refusal) = &findings.refusal {
        return Err(TemplateError::Refused(refusal.clone()));
    }
    let (Some(screw), Some(nut), Some(tool)) = (&findings.screw, &findings.nut, &findings.tool)
    else {
        return Err(TemplateError::NoTool("there is no nut to make yet".into()));
    };
    // Without a plan of passes everything else still stands.
    let cutting = findings.cutting.as_deref();
    let plan = cutting.map(|c| &c.plan);
    let train = findings.gears.as_ref().and_then(|g| job.wheels.used(g));
    let words = |name: &str, text: String, source: Source| Row::words(name, text, source);
    let infeed_source = if job.passes.flank_feed { Source::Entered } else { Source::Assumed };
    let units = job.units;
    let mut thread = vec![
        Row::length("Pitch", screw.pitch_mm),
        Row::length("Lead", screw.lead_mm()),
        words(
            "Starts, hand",
            format!("{}, {}", screw.starts, screw.hand),
            winding_source(job, findings),
        ),
        Row::length("Major diameter", screw.major_diameter_mm),
        Row::angle("Right flank", screw.right_flank_deg),
        Row::angle("Left flank", screw.left_flank_deg),
    ];
    if let Some(first) = findings.ranking.as_ref().and_then(|r| r.candidates.first())
        && first.probability > 0.5
    {
        thread.push(words("Likeliest standard", first.designation.clone(), Source::Standard));
    }
    let mut checks = Vec::new();
    if let Some(over) = &findings.wires {
        let name = if job.checks.wire_mm.is_some() { "Screw: wire" } else { "Screw: best wire" };
        checks.push(Row::length(name, wire(job, over)));
        checks.push(Row::length("Screw: over wires", over.over_wires_mm));
    }
    if let Ok(tooth) = shop::tooth_thickness(screw, jaw_depth_mm(screw, units)) {
        let name = format!(
            "Screw: ridge {} down, jaws turned {:.1}°",
            units.plain(tooth.depth_mm, 2),
            tooth.lead_angle_deg.value
        );
        checks.push(Row::length(name, tooth.thickness_mm));
    }
    if let Some(gauges) = &findings.gauges {
        let u = nut.bore_mm.u;
        checks.push(Row::length("Bore: goes", Quantity::derived(gauges.bore_go_mm, u)));
        checks.push(Row::length("Bore: does not go", Quantity::derived(gauges.bore_no_go_mm, u)));
    }
    let sheet = JobSheet {
        subject: crate::nut_sheet::subject(nut),
        thread,
        gears: train.map(|t| {
            let over = Over { mm: nut.length_mm, nut: true };
            crate::wheels_sheet::printed(job, t, screw.lead_mm(), over)
        }),
        blank: vec![
            Row::length("Bore", nut.bore_mm),
            Row::length("Groove diameter", nut.groove_diameter_mm),
            Row::length("Length of thread", crate::nut_sheet::length(nut, units)),
            infeed(nut, units),
        ]
        .into_iter()
        .chain(cutting.iter().flat_map(|c| {
            let run_out_mm = roughly(c.plan.run_out_mm, 0.1, units);
            [
                Row::length("Free behind the blank", Quantity::assumed(run_out_mm, 0.0)),
                words("Fed in", fed(c.request.feed), infeed_source),
            ]
        }))
        .chain(cutting.and_then(|c| c.bar).iter().flat_map(|bar| {
            let row = |name, said: Option<f64>, value: f64, decimals| match said {
                Some(_) => Row::length(name, Quantity::entered(value, 0.0)),
                None => Row::words(name, units.plain(value, decimals), Source::Assumed),
            };
            let p = &job.passes;
            [
                row("Boring bar", p.bar_diameter_mm, bar.diameter_mm, 1),
                row("Bar stands out", p.overhang_mm, bar.overhang_mm, 0),
            ]
        }))
        .collect(),
        tool: drawn(tool),
        leading: leading(tool),
        tool_setting: set_up(tool).in_units(units),
        order: order(job, findings, (screw, nut, tool), cutting, train),
        passes: plan.map(passes).unwrap_or_default(),
        dial: dial_read(job, plan),
        play: axial_play(nut, units)
            .into_iter()
            .chain([
                Row::length("Radial clearance", nut.radial_clearance_mm),
                Row {
                    name: "Play per infeed".into(),
                    value: Value::Other { quantity: nut.play_per_infeed, unit: "", decimals: 3 },
                },
                Row::length(
                    "Sideways float",
                    Quantity::derived(roughly(nut.radial_float_mm, 0.01, units), 0.0),
                ),
            ])
            .collect(),
        checks,
        remarks: remarks(job, findings, nut, cutting),
    };
    Ok(sheets::job_sheet(&info(job, paper, date), &sheet)?)
}

/// Depth at which the jaws of a tooth gauge are set, mm: half that of the thread, as one can set it.
#[must_use]
pub fn jaw_depth_mm(screw: &ScrewForm, units: Units) -> f64 {
    roughly(0.5 * screw.depth_mm.value, 0.01, units)
}

/// The wires: those at hand, or the best.
fn wire(job: &Job, over: &OverWires) -> Quantity {
    match job.checks.wire_mm {
        Some(mm) => Quantity::entered(mm, 0.0),
        None => over.best_wire_mm,
    }
}

/// How far the tool goes in, from touching the bore; where the nut is opened on the screw, so far by
/// numbers.
fn infeed(nut: &shop::NutDesign, units: Units) -> Row {
    match nut.try_on {
        // As the last of the passes has it, and the sentence that says what to do then.
        Some(t) => {
            Row::words("Infeed, first trial", units.plain(t.first_infeed_mm, 3), Source::Derived)
        }
        None => Row::length("Infeed, radial", nut.infeed_mm),
    }
}

/// The play as it is forecast, and between what it lies: doubt about pitch and angles only takes play,
/// and its ± alone would promise as much on either side. Where there is no forecast, what is possible.
pub(crate) fn axial_play(nut: &shop::NutDesign, units: Units) -> Vec<Row> {
    let play = nut.axial_play_mm;
    let limits = nut.play_limits_mm.filter(|(low, high)| high > low).map(|(low, high)| {
        let text = sentence!("{} to {}", mm(low, 2), mm(high, 2));
        let text = text.in_units(units).replace('-', "\u{2212}");
        Row::words("Axial play, 95 %", text, Source::Derived)
    });
    let best = || Row::length("Axial play", play);
    match limits {
        Some(limits) if play.u.is_finite() => vec![best(), limits],
        Some(limits) => vec![limits],
        None => vec![best()],
    }
}

/// The cuts of a plan as they are printed.
pub(crate) fn passes(plan: &shop::PassPlan) -> Vec<Pass> {
    let printed = |p: &shop::Pass| Pass {
        cut_mm: if p.spring { 0.0 } else { p.increment_mm },
        depth_mm: p.depth_mm,
        dial: reading(p.dial),
        note: if p.spring { "spring".into() } else { String::new() },
        try_on: p.try_on,
    };
    plan.passes.iter().map(printed).collect()
}

/// A reading as it is dialled: whole turns and divisions.
fn reading(r: shop::DialReading) -> String {
    match r.turns {
        0 => format!("{}", r.divisions),
        n => format!("{n} + {}", r.divisions),
    }
}

/// The dial in words, and how its readings are written where they go beyond a turn.
#[must_use]
pub fn dial_read(job: &Job, plan: Option<&shop::PassPlan>) -> String {
    let last = plan.and_then(|plan| plan.passes.last()).map(|p| p.dial);
    let down = job.passes.dial(job.units).counts_down(crate::workshop::outward(job));
    let way = if down { "; it counts down in this cut" } else { "" };
    match last.filter(|r| r.turns > 0) {
        Some(r) => format!(
            "{}{way}. {} is {} turn{} and the figure {}",
            dial(job),
            // In one piece on the line.
            reading(r).replace(' ', "\u{a0}"),
            r.turns,
            if r.turns == 1 { "" } else { "s" },
            r.divisions
        ),
        None => format!("{}{way}", dial(job)),
    }
}

/// The dial in words.
#[must_use]
pub fn dial(job: &Job) -> String {
    let d = job.passes.dial(job.units);
    // Along a flank the top slide feeds, and its dial is the one that is read.
    let slide = if job.passes.flank_feed { "top slide" } else { "cross slide" };
    let reads = match d.reads {
        DialReads::Direct => "movement",
        DialReads::Diameter => "diameter",
    };
    let assumed = if job.passes.dial.is_none() { ", assumed" } else { "" };
    let division = d.division_in_words();
    format!("{slide}, {reads}, {division} × {} a turn{assumed}", d.divisions_per_turn)
}

/// Play that the wheels take and the tip gives back from which it is worth a sentence, mm.
const WORTH_WIDENING_MM: f64 = 0.002;

/// That the tip gives back what the wheels take, where that is worth a sentence.
pub(crate) fn widened(nut: &shop::NutDesign, units: Units) -> Option<String> {
    let wider_mm = nut.play_lost_to_lead_mm;
    (wider_mm > WORTH_WIDENING_MM).then(|| {
        format!(
            "The tip is {} wider for what these wheels take of the play: other wheels want another template.",
            units.plain(wider_mm, 3)
        )
    })
}

fn remarks(
    job: &Job,
    findings: &Findings,
    nut: &shop::NutDesign,
    cutting: Option<&Cutting>,
) -> Vec<String> {
    let units = job.units;
    let said = |n: &shop::Notice| crate::nut_sheet::sentence(&n.text, units);
    let bar = findings.boring_bar.as_deref();
    let mut out: Vec<String> = Vec::new();
    // What the ground tool changes about the infeed comes before everything else.
    if let Some(ground) = &findings.ground {
        let said = ground.check.notices.iter();
        out.extend(said.map(|n| format!("The tool as ground: {}.", n.text.in_units(units))));
    }
    out.extend(
        nut.notices
            .iter()
            .filter(|n| {
                [
                    "not-yet",
                    "may-bind",
                    "cannot-forecast",
                    "play-lost-to-doubt",
                    "depth-does-nothing",
                    "bored-past-root",
                    "split-shim",
                    "sleeve-closes",
                ]
                .contains(&n.code.as_str())
            })
            .map(said),
    );
    out.extend(widened(nut, units));
    out.push(
        "Infeed counts from touching a bore as drawn; where the bore is larger, feed in half the difference less."
            .into(),
    );
    let ended = |part: Part, what: &str| {
        let trouble = findings.trouble(part)?;
        Some(format!("{what}: {}.", trouble.text.in_units(units)))
    };
    out.extend(ended(Part::Wheels, "No wheels are given"));
    match cutting {
        Some(cutting) => out.extend(cutting.plan.notices.iter().map(said)),
        None => out.extend(ended(Part::Passes, "No passes are planned")),
    }
    out.extend(bar.iter().flat_map(|b| &b.notices).map(said));
    let tip = bar.map_or_else(String::new, |b| {
        format!(" with the tip {} out of it", units.plain(b.projection_mm, 1))
    });
    out.extend(cutting.map(|cutting| {
        format!(
            "The plan is for {} and a {} {}{tip}; forces are estimates, good to a third.",
            cutting.request.material.name(),
            if job.passes.carbide { "carbide" } else { "steel" },
            if cutting.bar.is_some() { "bar" } else { "bit held short and stiff" },
        )
    }));
    // Lost motion is that of a slide, and often of the very slide that would feed.
    if !job.survey.readings.is_empty() {
        out.push("Lock the slide whose nut is being made, if it is this lathe's, and feed with the other.".into());
    }
    out
}

/// What is done, one after the other.
fn order(
    job: &Job,
    findings: &Findings,
    (screw, nut, tool): (&ScrewForm, &shop::NutDesign, &shop::ToolForm),
    cutting: Option<&Cutting>,
    train: Option<&Train>,
) -> Vec<String> {
    let units = job.units;
    let (left, right) = tool.angles_to_grind();
    let apart = (left.value - right.value).abs() > 2.0 * left.u.hypot(right.u).max(0.05);
    let mark = "Face the blank; mark its tailstock end, and the nut's later";
    let mut out = vec![
        match apart {
            true => format!("{mark}: turned end for end this nut does not fit."),
            false => format!("{mark}."),
        },
        format!("Bore through to {}.", units.plain(nut.bore_mm.value, 2)),
        format!("Set the tool {} by the gauge against the face.", set_up(tool).in_units(units)),
        format!(
            "Touch the bore, dial to 0.{} Scratch cut: check the pitch.",
            if findings.gears.is_some() {
                " Turn by hand, watch which way the saddle goes."
            } else {
                ""
            }
        ),
    ];
    let Some(cutting) = cutting else {
        out.extend(next_starts(job, findings, screw, train));
        out.push("Chamfer both ends; part off.".into());
        return out;
    };
    if let shop::Feed::Flank { top_slide_deg } = cutting.request.feed {
        out.push(swing(job, tool, top_slide_deg));
    }
    let tried = cutting.plan.passes.iter().find(|p| p.try_on).map(|p| p.number);
    let slope = nut.play_per_infeed.value;
    let division_mm = cutting.request.dial.division_mm();
    let deeper = if slope > 0.01 {
        format!(" One division deeper adds {} of play.", units.plain(division_mm * slope, 3))
    } else {
        String::new()
    };
    if let Some(tried) = tried {
        out.push(format!(
            "Passes to {tried}, each depth come to from the same side (back off half a turn, then in). Clean \
             the bore, try the screw."
        ));
        out.push(format!("Last passes, trying the screw between.{deeper}"));
    }
    out.extend(next_starts(job, findings, screw, train));
    out.push("Chamfer both ends; part off.".into());
    out
}

/// How to come to the next start; nothing where there is one.
fn next_starts(
    job: &Job,
    findings: &Findings,
    screw: &ScrewForm,
    train: Option<&Train>,
) -> Vec<String> {
    if screw.starts < 2 {
        return Vec::new();
    }
    let ways = crate::wheels_sheet::next_starts(job, findings, train);
    let said = ways.iter().map(|way| crate::wheels_sheet::next_start(way, job.units));
    // Either does: they are one step of the work.
    let either = said.reduce(|a, b| format!("{a} Or: {}", b.trim_start_matches("Next start: ")));
    let mut out: Vec<String> = either.into_iter().collect();
    if ways.is_empty() {
        out.push(
            "Next start: not by the top slide, which feeds along the flank. Feed straight in, or take a train \
             whose first driver divides by the starts."
                .into(),
        );
    }
    out.push("The passes are those of one start: all of them again for each.".into());
    out
}

/// Which way the top slide is set over to feed along a flank.
pub(crate) fn swing(job: &Job, tool: &shop::ToolForm, top_slide_deg: f64) -> String {
    let toward_head = (tool.hand == form::Hand::Right) == tool.setting.stance.forward();
    let (feeds, other) =
        if toward_head { ("headstock", "tailstock") } else { ("tailstock", "headstock") };
    // Toward the operator the slide goes where its handle points.
    let handle = if crate::workshop::outward(job) { feeds } else { other };
    format!(
        "Swing the top slide {top_slide_deg:.1}° from the cross slide, its handle toward the {handle}: fed in, it \
         also moves toward the {feeds}, and the leading flank cuts."
    )
}
