//! Change wheels on paper: on the job sheet of a nut, and by themselves where there is none.

use crate::findings::{Findings, Part};
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, info};
use form::{Quantity, Source, Units, units};
use sheets::{Drawing, GearTrain, OtherTrain, Row, Value, WheelsSheet};
use shop::{Feed, HalfNuts, Indexing, Train};

/// Length that an error is told over where no nut is known, mm, by the units lengths are shown in.
fn usual_length_mm(units: Units) -> f64 {
    match units {
        Units::Mm => 25.0,
        Units::Inch | Units::Thou => units::MM_PER_INCH,
    }
}

/// Other trains that are printed, where they find room.
const MOST_OTHERS: usize = 8;

/// The sheet of the change wheels, one page.
///
/// # Errors
/// [`TemplateError`].
pub fn wheels_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if let Some(refusal) = &findings.refusal {
        return Err(TemplateError::Refused(refusal.clone()));
    }
    let found = findings.gears.as_deref();
    let Some((gears, train)) = found.and_then(|g| Some((g, job.wheels.used(g)?))) else {
        return Err(TemplateError::NoTool("there is no train of change wheels yet".into()));
    };
    let units = job.units;
    let said = &job.wheels;
    let lead = findings.screw.as_ref().map(|s| s.lead_mm());
    let want = said.want_mm.map(|mm| Quantity::entered(mm, 0.0)).or(lead);
    let Some(want) = want else {
        return Err(TemplateError::NoTool("the lead to cut is not known (9 Wheels)".into()));
    };
    let bracket = said.bracket.unwrap_or_default();
    let module_mm = match said.bracket {
        Some(b) => Quantity::entered(b.module_mm, 0.0),
        None => Quantity::assumed(bracket.module_mm, 0.0),
    };
    let nut_mm = findings.nut.as_ref().map(|n| n.length_mm).or(job.nut.length_mm);
    let over = Over { mm: nut_mm.unwrap_or(usual_length_mm(units)), nut: nut_mm.is_some() };
    let lead_screw = said.leadscrew_mm.map_or_else(String::new, |mm| as_named(mm, units));
    let mut rows = vec![
        if want.u > 0.0 {
            Row::length("Lead wanted", want)
        } else {
            Row::words("Lead wanted", units.lead(want.value), want.source)
        },
        Row {
            name: "Drivers / driven".into(),
            value: Value::Other {
                quantity: Quantity::derived(train.ratio, 0.0),
                unit: "",
                decimals: 6,
            },
        },
        Row::words(
            format!("Trains within {:.0} ppm", said.tolerance_ppm),
            gears.found.to_string(),
            Source::Derived,
        ),
    ];
    if let Some((driven, driver)) = said.pair
        && train.driven.contains(&driven)
        && train.drivers.contains(&driver)
    {
        let text = format!("{driven} and {driver}");
        rows.push(Row::words("Fixed on one shaft", text, Source::Entered));
    }
    if said.bracket.is_some() {
        rows.extend(shafts(train, bracket.module_mm));
    }
    let others = gears.trains.iter().filter(|t| *t != train).take(MOST_OTHERS);
    let sheet = WheelsSheet {
        subject: format!("{} from a lead screw of {lead_screw}", spoken(want, units)),
        train: printed(job, train, want, over),
        idler: train.idler,
        module_mm,
        owned: said.wheels.clone(),
        rows,
        others: others.map(|t| other(t, over)).collect(),
        notes: notes(job, findings, train),
    };
    Ok(sheets::wheels_sheet(&info(job, paper, date), &sheet)?)
}

/// A length that the error of a pitch is told over.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Over {
    /// The length, mm.
    pub mm: f64,
    /// Whether it is the nut's.
    pub nut: bool,
}

/// How far the shafts of wheels in mesh stand apart.
fn shafts(train: &Train, module_mm: f64) -> Vec<Row> {
    let row = train.row();
    let meshing = row.windows(2).filter(|w| w[1].at > w[0].at);
    meshing
        .map(|w| {
            let apart = Quantity::derived(module_mm * (w[1].at - w[0].at), 0.0);
            Row::length(format!("Shafts of {} and {}", w[0].teeth, w[1].teeth), apart)
        })
        .collect()
}

/// A lead as it is named: threads per inch where it was entered as such.
fn spoken(lead: Quantity, units: Units) -> String {
    match lead.source {
        Source::Entered => as_named(lead.value, units),
        _ => units.plain(lead.value, 3),
    }
}

fn other(t: &Train, over: Over) -> OtherTrain {
    OtherTrain {
        drivers: t.drivers.clone(),
        driven: t.driven.clone(),
        idler: t.idler,
        pitch_cut_mm: Quantity::derived(t.pitch_mm, 0.0),
        error_ppm: t.error_ppm,
        error_over_mm: Quantity::derived(t.error_ppm * 1e-6 * over.mm, 0.0),
        half_nuts: match t.half_nuts {
            HalfNuts::OpenAnywhere => "open anywhere".into(),
            HalfNuts::OpenEvery { leadscrew_turns, .. } => format!("every {leadscrew_turns} turns"),
            HalfNuts::KeepClosed => "stay closed".into(),
        },
    }
}

/// What is said of the wheels besides: the way from one start to the next, and the cautions of the step.
fn notes(job: &Job, findings: &Findings, train: &Train) -> Vec<String> {
    let ways = next_starts(job, findings, Some(train));
    // What every train says of hand and half nuts stands with it already.
    let said = findings.warnings.iter().filter(|w| {
        w.part == Part::Wheels && !["hand", "half-nuts-closed"].contains(&w.code.as_str())
    });
    ways.into_iter()
        .map(|way| next_start(&way, job.units))
        .chain(said.map(|w| crate::nut_sheet::sentence(&w.text, job.units)))
        .collect()
}

/// The ways from one start to the next with this train, or without any: none where there is one start, and
/// not by a top slide that is set over to feed along the flank, for it does not stand along the axis.
#[must_use]
pub fn next_starts(job: &Job, findings: &Findings, train: Option<&Train>) -> Vec<Indexing> {
    let screw = findings.screw.as_deref();
    let starts = screw.map_or(job.thread.starts.unwrap_or(1), |s| s.starts);
    if starts < 2 {
        return Vec::new();
    }
    let by_hand = || screw.map(|s| Indexing::TopSlide { advance_mm: s.pitch_mm.value });
    let ways = match train {
        Some(t) => shop::indexing(starts, t.pitch_mm / f64::from(starts), t),
        None => by_hand().into_iter().collect(),
    };
    let feed = findings.cutting.as_ref().map(|c| c.request.feed);
    let set_over = matches!(feed, Some(Feed::Flank { .. }));
    ways.into_iter().filter(|w| !(set_over && matches!(w, Indexing::TopSlide { .. }))).collect()
}

/// A way from one start to the next, in a sentence.
pub(crate) fn next_start(way: &Indexing, units: Units) -> String {
    match way {
        Indexing::FirstDriver { teeth, by_teeth } => format!(
            "Next start: unmesh the first driver ({teeth}), turn the spindle by {by_teeth} of its teeth, mesh again."
        ),
        Indexing::TopSlide { advance_mm } => format!(
            "Next start: top slide along the axis by one pitch, {}.",
            units.plain(*advance_mm, 3)
        ),
    }
}

/// A train as it is printed, for this lead; its error over this length.
pub(crate) fn printed(job: &Job, t: &Train, lead: Quantity, over: Over) -> GearTrain {
    let units = job.units;
    let mut notes = Vec::new();
    if let Some(idler) = t.idler {
        notes.push(format!("Idler {idler} between them."));
    }
    notes.push(match t.half_nuts {
        HalfNuts::OpenAnywhere => "Half nuts may open anywhere.".into(),
        HalfNuts::OpenEvery { length_mm, leadscrew_turns } => format!(
            "Half nuts may open every {} of travel ({leadscrew_turns} turns of the lead screw).",
            units.plain(length_mm, 2)
        ),
        HalfNuts::KeepClosed => "Half nuts stay closed until the thread is done.".into(),
    });
    match t.within_quarter_play {
        Some(true) => notes.push(
            "The error stays within a quarter of the play, if the lead is as measured.".into(),
        ),
        Some(false) => notes.push("The error exceeds a quarter of the play.".into()),
        None => {}
    }
    notes.push("Right or left hand by one idler more or less: turn by hand and watch.".into());
    GearTrain {
        drivers: t.drivers.clone(),
        driven: t.driven.clone(),
        lead_screw: job.wheels.leadscrew_mm.map_or_else(String::new, |mm| as_named(mm, units)),
        pitch_cut_mm: Quantity::derived(t.pitch_mm, 0.0),
        error_ppm: t.error_ppm,
        error_over_mm: Quantity::derived(
            t.error_over_nut_mm.filter(|_| over.nut).unwrap_or(t.error_ppm * 1e-6 * over.mm),
            lead.u / lead.value * over.mm,
        ),
        over_mm: (!over.nut).then_some(over.mm),
        notes,
    }
}

/// A lead as it is spoken of: whole threads per inch where it has them, else in whichever of the two
/// worlds it is a short number, and where it is one in neither, in `units` to the last digit of a lead.
fn as_named(lead_mm: f64, units: Units) -> String {
    let per_inch = units::MM_PER_INCH / lead_mm;
    if (per_inch - per_inch.round()).abs() < 1e-6 {
        return format!("{} tpi", per_inch.round());
    }
    let short = |units: Units| {
        let value = lead_mm / units.in_mm();
        let rounded = (value * 1e4).round() / 1e4;
        ((value - rounded).abs() < 1e-9).then(|| format!("{rounded} {}", units.symbol()))
    };
    short(Units::Mm).or_else(|| short(Units::Inch)).unwrap_or_else(|| units.lead(lead_mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evaluate::evaluate;
    use crate::job::Duty;

    fn alone() -> Job {
        let mut job = Job::default();
        job.wheels.leadscrew_mm = Some(3.175);
        job.wheels.want_mm = Some(3.0);
        job.wheels.wheels = vec![20, 40, 45, 50, 60, 63, 80];
        job
    }

    #[test]
    fn a_lead_is_named_in_the_world_where_it_is_a_short_number() {
        let named = |mm| as_named(mm, Units::Inch);
        assert_eq!(named(3.175), "8 tpi");
        assert_eq!(named(3.0), "3 mm");
        assert_eq!(named(0.07 * 25.4), "1.778 mm");
        assert_eq!(named(0.1181 * 25.4), "0.1181 in");
        assert_eq!(named(25.4 / 4.5), "0.222222 in");
        assert_eq!(as_named(25.4 / 4.5, Units::Mm), "5.64444 mm");
    }

    #[test]
    fn in_inches_trains_125_parts_per_million_apart_cut_other_numbers() {
        let mut job = alone();
        job.units = Units::Inch;
        job.wheels.wheels.extend([120, 127]);
        let [(_, text)] = &printed(&job)[..] else { panic!() };
        // 120/127 of an eighth of an inch, and 0.945 of it; what is wanted is 3 mm.
        for said in ["0.118110 in", "0.118125 in", "3 mm"] {
            assert!(text.contains(said), "{said}: {text}");
        }
    }

    fn printed(job: &Job) -> Vec<(&'static str, String)> {
        let found = evaluate(job, None, &|_| true).unwrap();
        let sheets = crate::sheets_of(job, &found, PaperSaid::A4, "2026-01-01").unwrap();
        let text = |s: &crate::Sheet| {
            format!("{:?}", s.pages.iter().map(|p| p.canvas.items()).collect::<Vec<_>>())
        };
        sheets.iter().map(|s| (s.name, text(s))).collect()
    }

    #[test]
    fn wheels_alone_are_a_sheet_by_themselves() {
        let sheets = printed(&alone());
        let [(name, text)] = &sheets[..] else { panic!("{sheets:?}") };
        assert_eq!(*name, "wheels");
        // The error of 45 × 63 / (50 × 60): 3.175 · 0.945 = 3.000375, +125 ppm; of 25 mm 3.1 µm.
        assert!(text.contains("45 × 63") && text.contains("50 × 60"), "{text}");
        assert!(text.contains("+125 ppm, 0.0031 mm over 25 mm"), "{text}");
        assert!(text.contains("3 mm from a lead screw of 8 tpi"));
        assert!(text.contains("The next best") && text.contains("Isolate the machine"));
        let mut job = alone();
        job.units = Units::Inch;
        job.nut.length_mm = Some(50.8);
        let text = &printed(&job)[0].1;
        // Over 2 in: 0.00025 in.
        assert!(text.contains("+125 ppm, 0.00025 in over the nut"), "{text}");
    }

    #[test]
    fn they_stand_on_the_job_sheet_where_there_is_one_and_are_refused_with_the_rest() {
        let mut job = alone();
        let q = |v: f64| Some(Quantity::entered(v, 0.001));
        job.form.pitch_mm = q(3.0);
        job.form.right_flank_deg = q(15.0);
        job.form.left_flank_deg = q(15.0);
        job.form.depth_mm = q(1.75);
        job.form.crest_flat_mm = q(1.098);
        job.thread.major_diameter_mm = q(20.0);
        job.duty = Some(Duty::Adjusts);
        let names = |job: &Job| printed(job).iter().map(|s| s.0).collect::<Vec<_>>();
        assert!(names(&job).contains(&"job-sheet") && !names(&job).contains(&"wheels"));
        // For the screw there is no job sheet.
        job.sheets.tool_for = crate::ToolFor::Screw;
        let screw = names(&job);
        assert!(screw.contains(&"wheels") && !screw.contains(&"job-sheet"));
        assert!(screw.contains(&"passes") && screw.contains(&"wires"), "{screw:?}");
        let mut job = alone();
        job.duty = Some(Duty::Lifts);
        let sheets = printed(&job);
        assert_eq!(sheets.len(), 1);
        assert_eq!(sheets[0].0, "refusal");
        assert!(!sheets[0].1.contains("45 × 63"));
    }
}
