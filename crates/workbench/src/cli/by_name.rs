//! `flanklight match NAME`: a thread by its name.

use super::args::{HandWanted, Match};
use super::failure::Failure;
use super::{print, print_json, text};
use form::{Hand, Quantity, Units};
use job::{CandidateRecord, ChoiceRecord, FormRecord, Job, form_of_name, take_name};
use serde::Serialize;
use standards::{NameError, Named, Verdict, named};
use std::path::Path;

#[derive(Serialize)]
struct NameRecord {
    schema: &'static str,
    candidates: Vec<CandidateRecord>,
    no_standard_probability: f64,
    cannot_tell: Vec<Vec<String>>,
    verdict: Verdict,
    form: FormRecord,
    starts: ChoiceRecord<u32>,
    hand: ChoiceRecord<Hand>,
    standard: StandardRecord,
}

#[derive(Serialize)]
struct StandardRecord {
    name: &'static str,
    edition: &'static str,
}

pub(super) fn run(m: &Match) -> Result<(), Failure> {
    // Numbers beside no pitch were meant for one.
    if m.name.is_empty() && m.to.standard.is_none() && m.numbers() {
        return Err(Failure::Usage("--pitch is missing: a length or threads per inch".into()));
    }
    let typed = match &m.to.standard {
        Some(name) if m.name.is_empty() => name.clone(),
        _ => m.name.join(" "),
    };
    let thread = named(&typed).map_err(|e| unknown(&e))?;
    let own = if thread.left_hand { HandWanted::Left } else { HandWanted::Right };
    let given = |n: &Named| Named { left_hand: m.hand == Some(HandWanted::Left), ..n.clone() };
    // A name without LH is right-handed by custom; whoever says the hand knows better.
    let thread = match m.hand {
        Some(hand) if hand != own && thread.left_hand => {
            return Err(Failure::Usage(
                format!("--hand right contradicts {}", thread.designation).into(),
            ));
        }
        Some(_) => relabelled(given(&thread)),
        None => thread,
    };
    let form = form_of_name(&thread).map_err(|e| Failure::NotMeasured(e.to_string().into()))?;
    let written = match &m.job {
        Some(file) => written_down(m, &thread, file)?,
        None => String::new(),
    };
    if m.how.json {
        return print_json(&record(&thread, form));
    }
    shown(&thread, &form, m.how.units());
    print(&written);
    Ok(())
}

/// The name as it is written for this hand.
fn relabelled(n: Named) -> Named {
    Named { designation: n.family.designate(n.size, n.starts, n.left_hand), ..n }
}

fn unknown(e: &NameError) -> Failure {
    let how = match e {
        NameError::Empty => ". One without a name is given by its numbers: --pitch and --angle",
        NameError::Unknown { .. } => {
            ". A thread that is in no list is given by its numbers: --pitch, --angle, --major"
        }
        _ => "",
    };
    Failure::Usage(format!("{e}{how}").into())
}

fn written_down(m: &Match, thread: &Named, file: &Path) -> Result<String, Failure> {
    if file.exists() {
        return Err(Failure::Refused(
            format!(
                "{} is there already and is not written over: give --job another name",
                file.display()
            )
            .into(),
        ));
    }
    let mut job = Job {
        title: job::name_in_files(&Job::default(), Some(file)),
        units: m.how.units(),
        duty: m.duty,
        ..Job::default()
    };
    take_name(&mut job, thread).map_err(|e| Failure::NotMeasured(e.to_string().into()))?;
    job.nut.length_mm = m.nut_length;
    job::save(&job, file)?;
    Ok(format!("\nJob written to {}.\n", file.display()))
}

fn record(thread: &Named, form: FormRecord) -> NameRecord {
    NameRecord {
        schema: "flanklight/match/1",
        candidates: vec![CandidateRecord {
            designation: thread.designation.clone(),
            family: thread.family.name.clone(),
            probability: 1.0,
            deviations: Vec::new(),
        }],
        no_standard_probability: 0.0,
        cannot_tell: Vec::new(),
        verdict: Verdict::Named,
        form,
        starts: ChoiceRecord { value: thread.starts, probability: 1.0 },
        hand: ChoiceRecord {
            value: if thread.left_hand { Hand::Left } else { Hand::Right },
            probability: 1.0,
        },
        standard: StandardRecord { name: &thread.family.standard, edition: &thread.family.edition },
    }
}

/// An angle of a standard: as many decimals as it has, three at most.
fn degrees(value: f64) -> String {
    let text = format!("{value:.3}");
    format!("{}°", text.trim_end_matches('0').trim_end_matches('.'))
}

fn shown(thread: &Named, form: &FormRecord, units: Units) {
    let family = thread.family;
    print(&format!("{}\n\n", thread.designation));
    print(&text::wrapped(
        &format!("{}; {}, {}.", family.name, family.standard, family.edition),
        "  ",
    ));
    print("\n");
    let length = |q: Option<Quantity>| q.map_or_else(String::new, |q| units.plain(q.value, 4));
    let angle = |q: Option<Quantity>| q.map_or_else(String::new, |q| degrees(q.value));
    let hand = if thread.left_hand { "left" } else { "right" };
    print(&text::rows(&[
        ("pitch", length(form.pitch_mm)),
        ("lead", length(form.lead_mm)),
        ("starts, hand", format!("{}, {hand}", thread.starts)),
        ("right flank", angle(form.right_flank_deg)),
        ("left flank", angle(form.left_flank_deg)),
        ("included angle", angle(form.included_angle_deg)),
        ("depth", length(form.depth_mm)),
        ("crest flat", length(form.crest_flat_mm)),
        ("root flat", length(form.root_flat_mm)),
        ("major diameter", length(form.major_diameter_mm)),
        ("pitch diameter", length(form.pitch_diameter_mm)),
        ("minor diameter", length(form.minor_diameter_mm)),
    ]));
    print("\n");
    print(&text::wrapped(
        "These are the standard's own numbers of the screw, at its greatest size. A screw in hand is \
         smaller by its tolerance and its wear: measure it before a nut is cut to them.",
        "  ",
    ));
}
