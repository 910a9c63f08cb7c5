//! Parts of the work by themselves on paper: setting out a blank, a thread's name, measuring over wires,
//! passes; each where no other sheet holds it.

use crate::findings::Findings;
use crate::job::{Job, PaperSaid, ToolFor};
use crate::template::{TemplateError, info};
use crate::workshop::Blank;
use form::{Quantity, Source, Units};
use sheets::{BenchPart, BenchSheet, Drawing, Row};
use shop::{About, Centring, JawMove};

/// Half the difference of opposed readings, from jaw to jaw.
#[must_use]
pub fn jaw_move(m: &JawMove, units: Units) -> String {
    let one = |mm: f64, a: u32, b: u32| {
        let (from, to) = if mm >= 0.0 { (a, b) } else { (b, a) };
        format!("{} from jaw {from} toward jaw {to}", units.plain(mm.abs(), 3))
    };
    format!("Move {}, and {}.", one(m.from_1_to_3_mm, 1, 3), one(m.from_2_to_4_mm, 2, 4))
}

/// How many rounds of readings are still to come.
#[must_use]
pub fn rounds_to_go(centring: &Centring) -> String {
    match centring.rounds_to_go {
        Some(0) => "Near enough.".to_owned(),
        Some(1) => "About one more round.".to_owned(),
        Some(n) => format!("About {n} more rounds."),
        None => "It does not come nearer: look for a loose jaw or a misread dial.".to_owned(),
    }
}

/// What lies below something by less than nothing lies above it.
#[must_use]
pub fn below_or_above(
    q: Quantity,
    below: &'static str,
    above: &'static str,
) -> (&'static str, Quantity) {
    (if q.value < 0.0 { above } else { below }, Quantity { value: q.value.abs(), ..q })
}

/// The blank as it is set out; `None` where nothing was read.
///
/// # Errors
/// [`TemplateError`].
pub fn setting_out_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Option<Vec<Drawing>>, TemplateError> {
    let Some(blank) = &findings.blank else { return Ok(None) };
    let sheet = BenchSheet {
        title: "Setting out the blank".into(),
        about: vec![About::Lathe],
        parts: blank_parts(job, blank),
    };
    Ok(Some(sheets::bench_sheet(&info(job, paper, date), &sheet)?))
}

fn blank_parts(job: &Job, blank: &Blank) -> Vec<BenchPart> {
    let said = &job.blank;
    let read = [
        ("Face", said.face_mm),
        ("First cylinder: its top", said.first_top_mm),
        ("First cylinder: diameter", said.first_diameter_mm),
        ("Second cylinder: its top", said.second_top_mm),
        ("Second cylinder: diameter", said.second_diameter_mm),
    ];
    let read = read.into_iter().filter_map(|(name, q)| Some(Row::length(name, q?))).collect();
    let axes = [
        (blank.axis_below_face_mm, "Axis below the face", "Axis above the face"),
        (blank.axis_drop_mm, "Second axis below the first", "Second axis above the first"),
    ];
    let axes = axes.into_iter().filter_map(|(q, below, above)| {
        let (name, q) = below_or_above(q?, below, above);
        Some(Row::length(name, q))
    });
    let mut parts = vec![
        BenchPart::Numbers("Where the axis lies".into(), axes.collect()),
        BenchPart::Numbers("Read with the height gauge".into(), read),
    ];
    if let Some(centring) = &blank.centring {
        let units = job.units;
        let rounds = centring.rounds.iter().enumerate().map(|(i, m)| {
            let off = units.plain(m.off_centre_mm, 3);
            format!("Round {}: off centre {off}. {}", i + 1, jaw_move(m, units))
        });
        let left = centring
            .left_of_error
            .map(|part| format!("The last move left {:.0} % of the error.", 100.0 * part));
        let lines = rounds.chain([rounds_to_go(centring)]).chain(left).collect();
        parts.push(BenchPart::Points("Centring in four jaws".into(), lines));
    }
    parts
}

/// What a thread without a picture may be, and what was read of it; `None` where nothing is known of it.
///
/// # Errors
/// [`TemplateError`].
pub fn identity_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Option<Vec<Drawing>>, TemplateError> {
    let (Some(identity), Some(ranking)) = (&findings.identity, &findings.ranking) else {
        return Ok(None);
    };
    if identity.estimates.is_empty() || findings.measurement.is_some() {
        return Ok(None);
    }
    let rows = identity.estimates.iter().map(|e| {
        let key = e.feature.key();
        let name = capital(&crate::record_sheet::words(key));
        match key {
            key if key.ends_with("_deg") => Row::angle(name, e.together),
            key if key.ends_with("_mm") => Row::length(name, e.together),
            _ => Row {
                name,
                value: sheets::Value::Other { quantity: e.together, unit: "", decimals: 4 },
            },
        }
    });
    let said: Vec<String> = job
        .evidence
        .iter()
        .map(|r| match r.note.trim() {
            "" => r.evidence.label().to_owned(),
            note => format!("{}: {note}", r.evidence.label()),
        })
        .collect();
    let sheet = BenchSheet {
        title: "What the thread may be".into(),
        about: Vec::new(),
        parts: vec![
            BenchPart::Numbers("What is known of it".into(), rows.collect()),
            BenchPart::Candidates(
                crate::record_sheet::candidates(findings, job.units),
                ranking.no_standard_probability,
            ),
            BenchPart::Points("Readings it rests on".into(), said),
            BenchPart::Points("Mind".into(), crate::record_sheet::warnings(findings, job.units)),
        ],
    };
    Ok(Some(sheets::bench_sheet(&info(job, paper, date), &sheet)?))
}

/// The screw over wires; `None` where nothing is to be expected.
///
/// # Errors
/// [`TemplateError`].
pub fn wires_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Option<Vec<Drawing>>, TemplateError> {
    let Some(over) = &findings.wires else { return Ok(None) };
    let form = &job.form;
    // The screw's where there is one: it is what is measured.
    let screw = findings.screw.as_deref();
    let pitch = screw.map(|s| s.pitch_mm).or(form.pitch_mm);
    let right = screw.map(|s| s.right_flank_deg).or(form.right_flank_deg);
    let left = screw.map(|s| s.left_flank_deg).or(form.left_flank_deg);
    let starts = screw.map_or(job.thread.starts.unwrap_or(1), |s| s.starts);
    let starts_from = match job.thread.starts {
        Some(_) => Source::Entered,
        None => crate::template::winding_source(job, findings),
    };
    // What was entered goes before what follows from the screw's form.
    let pitch_diameter = job.checks.pitch_diameter_mm.or_else(|| {
        let thread = screw?.thread().ok()?;
        let u = screw.map_or(0.0, |s| s.major_diameter_mm.u);
        Some(Quantity::derived(thread.pitch_diameter_mm(), u))
    });
    let thread = [
        ("Pitch", pitch.map(sheets::Value::LengthMm)),
        ("Starts", Some(sheets::Value::Words(starts.to_string(), Some(starts_from)))),
        ("Right flank", right.map(sheets::Value::AngleDeg)),
        ("Left flank", left.map(sheets::Value::AngleDeg)),
        ("Pitch diameter", pitch_diameter.map(sheets::Value::LengthMm)),
    ];
    let thread =
        thread.into_iter().filter_map(|(name, v)| Some(Row { name: name.into(), value: v? }));
    let wire = match job.checks.wire_mm {
        Some(mm) => Quantity::entered(mm, 0.0),
        None => over.best_wire_mm,
    };
    let mut expected = vec![
        Row::length("Best wire", over.best_wire_mm),
        Row::length("Wire used", wire),
        Row::length("Over wires", over.over_wires_mm),
        Row::angle("Lead angle", over.lead_angle_deg),
    ];
    // Where the wire bears: on a worn flank that is the place to look at.
    let [right, left] =
        over.contact_diameter_mm.map(|d| Quantity::derived((1e3 * d).round() / 1e3, 0.0));
    expected.push(Row::length("Touches the right flank at Ø", right));
    expected.push(Row::length("Touches the left flank at Ø", left));
    if let Some(drill) = drill_shank_mm(over.best_wire_mm.value) {
        expected.push(Row::length("Nearest drill shank", Quantity::assumed(drill, 0.0)));
    }
    if let Some(read) = job.checks.over_wires_mm {
        let off = Quantity::derived(
            read.value - over.over_wires_mm.value,
            read.u.hypot(over.over_wires_mm.u),
        );
        expected.push(Row::length("Read over the wires", read));
        expected.push(Row::length("Read less expected", off));
    }
    let said = over.notices.iter().map(|n| crate::nut_sheet::sentence(&n.text, job.units));
    let sheet = BenchSheet {
        title: "Over three wires".into(),
        about: Vec::new(),
        parts: vec![
            BenchPart::Numbers("The thread".into(), thread.collect()),
            BenchPart::Numbers("Over the wires".into(), expected),
            BenchPart::Points("Mind".into(), said.collect()),
        ],
    };
    Ok(Some(sheets::bench_sheet(&info(job, paper, date), &sheet)?))
}

/// The drill, in steps of a tenth of a millimetre, whose shank is nearest to a wire, mm; `None` where
/// drills do not come so small or so large.
fn drill_shank_mm(wire_mm: f64) -> Option<f64> {
    let drill = (10.0 * wire_mm).round() / 10.0;
    (0.5..=13.0).contains(&drill).then_some(drill)
}

/// The passes where no job sheet of a nut holds them; `None` where none are planned.
///
/// # Errors
/// [`TemplateError`].
pub fn passes_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Option<Vec<Drawing>>, TemplateError> {
    let Some(cutting) = &findings.cutting else { return Ok(None) };
    let units = job.units;
    let passes = crate::worksheet::passes(&cutting.plan);
    let said = cutting.plan.notices.iter().map(|n| crate::nut_sheet::sentence(&n.text, units));
    let run_out_mm = crate::worksheet::roughly(cutting.plan.run_out_mm, 0.1, units);
    let what = match (job.sheets.tool_for, cutting.bar.is_some()) {
        (ToolFor::Screw, _) => "a new screw, from its outside",
        (ToolFor::Nut, true) => "a nut, with a boring bar",
        (ToolFor::Nut, false) => "a nut",
    };
    let sheet = BenchSheet {
        title: "Passes".into(),
        about: vec![About::Lathe],
        parts: vec![
            BenchPart::Numbers(
                "The cut".into(),
                vec![
                    Row::words("Cut into", what, Source::Derived),
                    Row::words("Material", cutting.request.material.name(), job.work_material().1),
                    Row::length("Depth", Quantity::derived(cutting.request.depth_mm, 0.0)),
                    Row::length(
                        "Tip flat of the tool",
                        Quantity::derived(cutting.request.tip_flat_mm, 0.0),
                    ),
                    Row::length("Lead", Quantity::derived(cutting.request.lead_mm, 0.0)),
                    Row::length(
                        if cutting.request.through {
                            "Free behind the nut, least"
                        } else {
                            "Run-out groove, least"
                        },
                        Quantity::assumed(run_out_mm, 0.0),
                    ),
                ],
            ),
            BenchPart::Passes(crate::worksheet::dial_read(job, Some(&cutting.plan)), passes),
            BenchPart::Points("Mind".into(), said.collect()),
        ],
    };
    Ok(Some(sheets::bench_sheet(&info(job, paper, date), &sheet)?))
}

/// `text` with a capital.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evaluate::evaluate;

    fn printed(job: &Job) -> Vec<(&'static str, String)> {
        let found = evaluate(job, None, &|_| true).unwrap();
        assert!(crate::needs_no_duty(&found) || found.cutting.is_some());
        let sheets = crate::sheets_of(job, &found, PaperSaid::A4, "2026-01-01").unwrap();
        let text = |s: &crate::Sheet| {
            format!("{:?}", s.pages.iter().map(|p| p.canvas.items()).collect::<Vec<_>>())
        };
        sheets.iter().map(|s| (s.name, text(s))).collect()
    }

    fn only<'a>(sheets: &'a [(&'static str, String)], name: &str) -> &'a str {
        let [(is, text)] = sheets else { panic!("{sheets:?}") };
        assert_eq!(*is, name);
        text
    }

    #[test]
    fn a_blank_set_out_is_a_sheet_by_itself() {
        let mut job = Job::default();
        let q = |value| Some(Quantity::entered(value, 0.01));
        job.blank.face_mm = q(70.0);
        job.blank.first_top_mm = q(62.31);
        job.blank.first_diameter_mm = q(20.0);
        job.blank.jaws = vec![shop::JawReadings { at_mm: [0.4, 0.1, -0.2, 0.0] }];
        let sheets = printed(&job);
        let text = only(&sheets, "setting-out");
        // 70 - (62.31 - 10); half of 0.4 + 0.2 and of 0.1 - 0.
        assert!(text.contains("Axis below the face") && text.contains("17.69"), "{text}");
        assert!(
            text.contains("0.300 mm from jaw 1 toward jaw 3, and 0.050 mm from jaw 2"),
            "{text}"
        );
    }

    #[test]
    fn wires_and_passes_and_a_name_are_sheets_by_themselves() {
        let mut job = Job::default();
        let q = |value, u| Some(Quantity::entered(value, u));
        job.form.pitch_mm = q(4.0, 0.002);
        job.form.right_flank_deg = q(15.0, 0.1);
        job.form.left_flank_deg = q(15.0, 0.1);
        job.checks.pitch_diameter_mm = q(18.0, 0.01);
        // Best wire 0.5176 P at 30°.
        let sheets = printed(&job);
        let wires = only(&sheets, "wires");
        assert!(wires.contains("2.070"), "{sheets:?}");
        for name in ["Pitch diameter", "Starts", "Touches the right flank", "Nearest drill shank"] {
            assert!(wires.contains(name), "{name}: {wires}");
        }
        job.passes.depth_mm = Some(2.25);
        job.passes.tip_flat_mm = Some(1.4);
        let names: Vec<&str> = printed(&job).iter().map(|s| s.0).collect();
        assert_eq!(names, ["passes", "wires"]);
        let mut job = Job::default();
        let major_mm = Quantity::measured(20.0, 0.01);
        let evidence = standards::Evidence::Major { major_mm };
        job.evidence.push(crate::ReadingSaid { evidence, note: "by micrometer".into() });
        let sheets = printed(&job);
        let text = only(&sheets, "identity");
        assert!(text.contains("Major diameter") && text.contains("by micrometer"), "{text}");
        assert!(text.contains("none of the standards known here"), "{text}");
    }

    #[test]
    fn with_nothing_to_print_it_is_said_what_can_be() {
        let found = evaluate(&Job::default(), None, &|_| true).unwrap();
        assert!(!crate::needs_no_duty(&found));
        let said = crate::sheets_of(&Job::default(), &found, PaperSaid::A4, "").unwrap_err();
        assert!(said.to_string().contains("change wheels (9)"), "{said}");
    }
}
