//! `flanklight gears`, `passes`, `wires` and `survey`: what is done at the machine, each usable
//! without a picture but `passes`.

use super::args::{Cut, Gears, How, Keep, Wires};
use super::failure::Failure;
use super::round::RoundTo;
use super::{print, print_json, text, work};
use form::{Quantity, Said as _, Sentence, Units, sentence};
use job::{Job, Part, SurveySaid, WheelsSaid};
use serde::Serialize;
use shop::{GearRequest, HalfNuts, WireThread};
use std::path::Path;

fn usage(text: impl Into<Sentence>) -> Failure {
    Failure::Usage(text.into())
}

#[derive(Serialize)]
struct GearsRecord<'a> {
    schema: &'static str,
    trains: Vec<TrainRecord<'a>>,
    found: usize,
    notices: &'a [shop::Notice],
}

#[derive(Serialize)]
struct TrainRecord<'a> {
    #[serde(flatten)]
    train: &'a shop::Train,
    /// Whether it is the one that is used: the best, or the one chosen.
    used: bool,
}

pub(super) fn gears(g: &Gears) -> Result<(), Failure> {
    let (found, said) = match &g.job {
        Some(file) => gears_of_job(g, file)?,
        None => gears_alone(g)?,
    };
    if g.how.json {
        let record = |(i, train)| TrainRecord { train, used: i == said.used };
        return print_json(&GearsRecord {
            schema: "flanklight/gears/1",
            trains: found.trains.iter().enumerate().map(record).collect(),
            found: found.found,
            notices: &found.notices,
        });
    }
    shown(&found, &said);
    Ok(())
}

/// The trains for what is said on the command line.
fn gears_alone(g: &Gears) -> Result<(shop::Gears, About), Failure> {
    let mut wheels = WheelsSaid::default();
    g.over(&mut wheels);
    let request = GearRequest {
        tolerance_ppm: wheels.tolerance_ppm,
        translation_pair: wheels.pair,
        bracket: wheels.bracket,
        most: g.most as usize,
        nut_length_mm: g.nut_length.map(|q| q.value),
        play_mm: g.play.map(|q| q.value),
        ..GearRequest::new(
            wheels.leadscrew_mm.unwrap_or(f64::NAN),
            wheels.want_mm.unwrap_or(f64::NAN),
            wheels.wheels.clone(),
        )
    };
    let found = job::trains(&wheels, &request).map_err(|e| usage(e.said()))?;
    let chosen = chosen(g, &wheels, &found, &request)?;
    let used = chosen.unwrap_or(0);
    let ways = found
        .trains
        .get(used)
        .map(|t| shop::indexing(g.starts, t.pitch_mm / f64::from(g.starts.max(1)), t));
    let about = About {
        ways: ways.unwrap_or_default(),
        units: g.how.units(),
        used,
        chosen: chosen.is_some(),
        gone: None,
        kept: String::new(),
    };
    Ok((found, about))
}

/// Place of the train that was chosen.
///
/// # Errors
/// That it is not possible, and why, where it was asked for just now.
fn chosen(
    g: &Gears,
    said: &WheelsSaid,
    found: &shop::Gears,
    request: &GearRequest,
) -> Result<Option<usize>, Failure> {
    let Some(train) = &said.train else { return Ok(None) };
    let at = train.place(&found.trains);
    if at.is_none() && g.train.is_some() {
        let why = shop::why_no_train(request, &train.drivers, &train.driven);
        return Err(usage(sentence!("--train {} is not possible: {}", train.to_string(), why)));
    }
    Ok(at)
}

/// What trains are for.
struct About {
    /// From one start to the next.
    ways: Vec<shop::Indexing>,
    units: Units,
    /// Place of the train that is used.
    used: usize,
    /// Whether that was chosen.
    chosen: bool,
    /// That the one chosen is not possible.
    gone: Option<Sentence>,
    /// A sentence about the job file, or nothing.
    kept: String,
}

/// The trains of a job, for its screw and its nut.
fn gears_of_job(g: &Gears, file: &Path) -> Result<(shop::Gears, About), Failure> {
    let opened = work::open_any(file, |job| g.over(&mut job.wheels))?;
    let findings = &opened.findings;
    if let Some(refusal) = &findings.refusal {
        return Err(super::workshop::refused(refusal, g.how));
    }
    let Some(found) = &findings.gears else {
        // What the command line did not say is the job's to answer for.
        let typed = {
            let mut said = WheelsSaid::default();
            g.over(&mut said);
            said != WheelsSaid::default()
        };
        return Err(match findings.trouble(Part::Wheels) {
            Some(t) if typed => usage(t.text.clone()),
            Some(t) => Failure::of(t),
            None if typed => usage("the job says neither --leadscrew nor --wheels: give both"),
            None => Failure::Refused(
                format!(
                    "{} holds no lead screw and no wheels: give both with --leadscrew and --wheels",
                    file.display()
                )
                .into(),
            ),
        });
    };
    let mut found = (**found).clone();
    let wheels = &opened.job.wheels;
    let request = job::gear_request(&opened.job, findings);
    let chosen = request.map_or(Ok(None), |request| chosen(g, wheels, &found, &request))?;
    let used = chosen.unwrap_or(0);
    found.trains.truncate((g.most as usize).max(used + 1));
    let about = About {
        ways: job::next_starts(&opened.job, findings, found.trains.get(used)),
        units: g.how.units_or(opened.job.units),
        used,
        chosen: chosen.is_some(),
        gone: findings.warnings.iter().find(|w| w.code == "train-gone").map(|w| w.text.clone()),
        kept: opened.keep(g.keep)?,
    };
    Ok((found, about))
}

fn shown(found: &shop::Gears, about: &About) {
    let units = about.units;
    if found.trains.is_empty() {
        print("No train of these wheels comes near enough.\n");
    } else {
        print("Change wheels, best first. Pitch cut = lead screw × drivers / driven.\n\n");
        print("  drivers      driven          pitch cut     error       half nuts\n");
    }
    let wheels = |w: &[u32]| w.iter().map(ToString::to_string).collect::<Vec<_>>().join(" × ");
    for (i, t) in found.trains.iter().enumerate() {
        let half_nuts = match t.half_nuts {
            HalfNuts::OpenAnywhere => "open anywhere".to_owned(),
            HalfNuts::OpenEvery { length_mm, .. } => {
                format!("open every {}", units.plain(length_mm, 2))
            }
            HalfNuts::KeepClosed => "stay closed".to_owned(),
        };
        let error = shop::ppm(t.error_ppm);
        // Less than a twentieth of a micrometre is rounding.
        let over_nut = t.error_over_nut_mm.filter(|e| e.abs() > 5e-5);
        let over = match (over_nut, t.within_quarter_play) {
            (Some(e), Some(true)) => format!(", {} over the nut", units.plain(e, 4)),
            (Some(e), Some(false)) => {
                format!(", {} over the nut: more than a quarter of the play", units.plain(e, 4))
            }
            (Some(e), None) => format!(", {} over the nut", units.plain(e, 4)),
            (None, _) => String::new(),
        };
        let chosen = if about.chosen && about.used == i { ", chosen" } else { "" };
        let line = format!(
            "  {:<12} {:<12} {:>14}  {:>10}   {half_nuts}{over}{chosen}",
            wheels(&t.drivers),
            wheels(&t.driven),
            units.lead(t.pitch_mm),
            error
        );
        print(&format!("{line}\n"));
    }
    if !about.ways.is_empty() {
        print("\nFrom one start to the next\n\n");
        for way in &about.ways {
            print(&text::bullet(&match *way {
                shop::Indexing::FirstDriver { teeth, by_teeth } => format!(
                    "with this train: unmesh the first driver ({teeth}) and turn the spindle \
                     by {by_teeth} of its teeth"
                ),
                shop::Indexing::TopSlide { advance_mm } => format!(
                    "advance the top slide, set along the axis, by {}",
                    units.plain(advance_mm, 3)
                ),
            }));
        }
    }
    notices(&found.notices, units);
    if let Some(gone) = &about.gone {
        print(&text::said(gone, units));
    }
    if !about.kept.is_empty() {
        print(&format!("\n{}", about.kept));
    }
    print("\n");
    print(&text::cautions(&[shop::About::Wheels, shop::About::Lathe]));
}

#[derive(Serialize)]
struct WiresRecord<'a> {
    schema: &'static str,
    best_wire_mm: f64,
    wire_mm: f64,
    over_wires_mm: f64,
    over_wires_no_lead_correction_mm: f64,
    quantities: WiresQuantities,
    lead_angle_deg: f64,
    notices: &'a [shop::Notice],
}

#[derive(Serialize)]
struct WiresQuantities {
    best_wire_mm: Quantity,
    over_wires_mm: Quantity,
}

pub(super) fn wires(w: &Wires) -> Result<(), Failure> {
    let mut thread = WireThread::symmetric(w.pitch, w.angle, w.pitch_diameter, w.starts);
    if let Some(flank) = w.flank {
        let rest = w.angle.value - flank.value;
        if !(flank.value >= 0.0 && rest >= 0.0) {
            return Err(Failure::Usage(
                format!(
                    "--flank {} is outside 0 to the included angle, {}",
                    flank.value, w.angle.value
                )
                .into(),
            ));
        }
        thread.right_flank_deg = flank;
        thread.left_flank_deg = Quantity::derived(rest, w.angle.u.hypot(flank.u));
    }
    let over = shop::over_wires(&thread, w.wire.map(|q| q.value)).map_err(|e| usage(e.said()))?;
    if w.how.json {
        return print_json(&WiresRecord {
            schema: "flanklight/wires/1",
            best_wire_mm: over.best_wire_mm.value,
            wire_mm: over.wire_mm,
            over_wires_mm: over.over_wires_mm.value,
            over_wires_no_lead_correction_mm: over.over_wires_no_lead_correction_mm,
            quantities: WiresQuantities {
                best_wire_mm: over.best_wire_mm,
                over_wires_mm: over.over_wires_mm,
            },
            lead_angle_deg: over.lead_angle_deg.value,
            notices: &over.notices,
        });
    }
    let units = w.how.units();
    print("Over three wires. ± is one standard uncertainty (k = 1).\n\n");
    print(&text::rows(&[
        ("best wire", units.show(over.best_wire_mm)),
        ("wire used", units.plain(over.wire_mm, 4)),
        ("over wires", units.show(over.over_wires_mm)),
        ("the same without the lead's part", units.plain(over.over_wires_no_lead_correction_mm, 4)),
        ("lead angle", format!("{:.2}°", over.lead_angle_deg.value)),
    ]));
    notices(&over.notices, units);
    Ok(())
}

pub(super) fn passes(
    path: &Path,
    cut: &Cut,
    to: &RoundTo,
    (keep, how): (Keep, How),
) -> Result<(), Failure> {
    let opened = work::open(path, |job| {
        cut.over(&mut job.passes, job.units);
        to.over(job);
    })?;
    if let Some(refusal) = &opened.findings.refusal {
        return Err(super::workshop::refused(refusal, how));
    }
    opened.rounded(to)?;
    let Some(cutting) = &opened.findings.cutting else {
        return Err(opened
            .findings
            .trouble(Part::Passes)
            .map_or_else(|| Failure::without_measurement(&opened.findings), Failure::of));
    };
    let kept = opened.keep(keep.keep)?;
    let plan = &cutting.plan;
    if how.json {
        return print_json(plan);
    }
    let units = how.units_or(opened.job.units);
    let bar = cutting.bar.map_or_else(
        || "a tool held stiffly".to_owned(),
        |b| {
            format!(
                "a bar of {} standing out {}",
                units.plain(b.diameter_mm, 1),
                units.plain(b.overhang_mm, 0)
            )
        },
    );
    print(&format!(
        "Passes for the {}, {}, {}, in {} with {bar}. Forces are estimates.\n\n",
        match opened.job.sheets.tool_for {
            job::ToolFor::Nut => "nut",
            job::ToolFor::Screw => "new screw",
        },
        match cutting.request.feed {
            shop::Feed::Radial => "straight in".to_owned(),
            shop::Feed::Flank { top_slide_deg } => format!(
                "along the flank with the top slide at {top_slide_deg:.1}° to the cross slide"
            ),
        },
        match cutting.request.rule {
            shop::PassRule::ConstantArea => "equal areas",
            shop::PassRule::RootSeries => "square-root series",
            shop::PassRule::Fixed { .. } => "equal depths",
        },
        cutting.request.material.name(),
    ));
    print(&format!("Dial: {}.\n\n", job::dial_read(&opened.job, Some(plan))));
    print("  pass     adds          depth         dial (turns, divisions)\n");
    let other = match opened.job.sheets.tool_for {
        job::ToolFor::Nut => "screw",
        job::ToolFor::Screw => "nut",
    };
    for p in &plan.passes {
        let adds = if p.spring { "spring".to_owned() } else { units.plain(p.increment_mm, 3) };
        let note = if p.finishing { "   finishing" } else { "" };
        print(&format!(
            "  {:>4}     {:<12}  {:<12}  {}, {}{note}\n",
            p.number,
            adds,
            units.plain(p.depth_mm, 3),
            p.dial.turns,
            p.dial.divisions
        ));
        if p.try_on {
            print(&format!("           stop: try the {other} before the next cut\n"));
        }
    }
    print("\n");
    let run_out = if cutting.request.through {
        "free behind the nut, at least"
    } else {
        "run-out groove, at least"
    };
    print(&text::rows(&[(run_out, units.plain(plan.run_out_mm, 1))]));
    print("\n");
    print(&kept);
    print(&text::remarks(&opened.findings, Part::Passes, units));
    print(&text::cautions_for(&opened.job, &[shop::About::Lathe, shop::About::Grinding]));
    Ok(())
}

/// Longest text of readings, bytes.
pub(crate) const MOST_READINGS_BYTES: u64 = 4_000_000;

/// What is said on the command line of a survey, before what its file says.
pub(super) struct Said {
    pub end_float: Option<Quantity>,
    pub play: Option<Quantity>,
    pub acceptable: Option<Quantity>,
}

pub(super) fn survey(
    path: &Path,
    said: &Said,
    out: Option<&Path>,
    how: How,
) -> Result<(), Failure> {
    let refused =
        |e: &dyn std::fmt::Display| Failure::Refused(format!("{}: {e}", path.display()).into());
    let content = job::read_text(path, MOST_READINGS_BYTES)
        .map_err(|e| refused(&format!("cannot be read as text: {e}. Check the name.")))?;
    let mut survey = shop::parse_survey(&content).map_err(|e| refused(&e))?;
    survey.end_float_mm = said.end_float.map(read_by_dial).or(survey.end_float_mm);
    survey.new_nut_play_mm = said.play.unwrap_or(survey.new_nut_play_mm);
    survey.acceptable_mm = said.acceptable.map_or(survey.acceptable_mm, |q| q.value);
    let found = shop::evaluate_survey(&survey).map_err(|e| {
        Failure::NotMeasured(sentence!("{}: {}", path.display().to_string(), e.said()))
    })?;
    if let Some(folder) = out {
        let mut job = Job {
            title: path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default(),
            units: how.units(),
            ..Job::default()
        };
        job.nut.play_mm = survey.new_nut_play_mm;
        job.survey = SurveySaid::from(&survey);
        let findings = work::findings(&job, None);
        let today = job::today();
        let to = job::ExportTo { home: Some(path), ..job::ExportTo::new(folder, &today) };
        job::export(&job, &findings, &to)?;
    }
    if how.json {
        return print_json(&found);
    }
    let units = how.units();
    let length = |q: Quantity| text::quantity(Some(q), false, units);
    print(&format!("{}\n\n", job::verdict_of(&found)));
    print("Lost motion. ± is one standard uncertainty (k = 1).\n\n");
    print(&text::rows(&[
        ("end-float of the thrust", length(found.thrust_mm)),
        ("the nut's share", length(found.nut_mm)),
        ("the screw's share, at most", length(found.most_screw_mm)),
        ("worst now", length(found.worst_now_mm)),
        ("worst with a new nut", length(found.worst_with_new_nut_mm)),
        ("worst with nut and thrust", length(found.worst_with_both_mm)),
        (
            "end-float taken to remain then",
            format!("{}  assumed", units.plain(found.remaining_end_float_mm, 3)),
        ),
        ("put up with", units.plain(found.acceptable_mm, 3)),
    ]));
    print("\n");
    print(&stations(&found, units));
    for reason in &found.reasons {
        print(&text::said(reason, units));
    }
    notices(&found.notices, units);
    Ok(())
}

/// What each station shows, and what each remedy would leave there.
fn stations(found: &shop::Findings, units: Units) -> String {
    let shown = |q: Quantity| match q.u.is_finite() {
        true => units.plain(q.value, 3),
        false => "?".to_owned(),
    };
    let mut out = format!(
        "  {:>12} {:>10} {:>10} {:>10} {:>14} {:>14}\n",
        "at", "now", "nut", "screw", "with new nut", "nut and thrust"
    );
    for s in &found.stations {
        out += &format!(
            "  {:>12} {:>10} {:>10} {:>10} {:>14} {:>14}\n",
            units.plain(s.position_mm, 1),
            shown(s.lost_motion_mm),
            shown(s.nut_mm),
            shown(s.screw_mm),
            shown(s.with_new_nut_mm),
            shown(s.with_both_mm)
        );
    }
    out + "\n"
}

/// A reading without ± is good to what a dial gauge is.
fn read_by_dial(q: Quantity) -> Quantity {
    let u = if q.u > 0.0 { q.u } else { shop::READING_U_MM };
    Quantity::measured(q.value, u)
}

fn notices(notices: &[shop::Notice], units: Units) {
    if !notices.is_empty() {
        print("\nWarnings\n\n");
    }
    for n in notices {
        print(&text::said(&n.text, units));
    }
}
