//! `flanklight match`.

use super::args::Match;
use super::failure::Failure;
use super::round::RoundWanted;
use super::{print, print_json, round, text};
use form::{Quantity, Sentence, mm_as_given, sentence};
use job::{CandidateRecord, FormSaid, Identity, Job, ReadingSaid, identify};
use serde::Serialize;
use standards::{Evidence, Measured, Ranking, Residual, Rounded, Verdict};
use std::path::Path;

#[derive(Serialize)]
struct MatchRecord<'a> {
    schema: &'static str,
    candidates: Vec<CandidateRecord>,
    no_standard_probability: f64,
    cannot_tell: &'a [Vec<String>],
    verdict: Verdict,
    /// Where the verdict is none: the nearest listed thread.
    nearest: Option<CandidateRecord>,
    explanation: &'a [Sentence],
    /// Every number, as given and with the readings in it.
    estimates: Vec<EstimateRecord>,
    /// Number of starts, where it is known or follows from a lead.
    starts: Option<StartsRecord>,
    /// Every reading beside what the others make of it.
    readings: &'a [Residual],
    agreement: AgreementRecord,
    contradictions: Vec<&'a Sentence>,
    notes: &'a [Sentence],
    next: Vec<&'a Sentence>,
    rounding: Option<&'a Rounded>,
}

#[derive(Serialize)]
struct EstimateRecord {
    what: &'static str,
    given: Option<Quantity>,
    together: Quantity,
}

#[derive(Serialize)]
struct StartsRecord {
    value: u32,
    probability: f64,
}

/// χ² of all readings, its degrees of freedom, and how often chance alone makes one so large.
#[derive(Serialize)]
struct AgreementRecord {
    chi2: f64,
    dof: usize,
    by_chance: f64,
}

/// More suggestions than these help nobody.
const MOST_SUGGESTED: usize = 2;

pub(super) fn run(m: &Match) -> Result<(), Failure> {
    checked(m)?;
    let measured = Measured {
        pitch_mm: m.pitch,
        lead_mm: m.lead,
        right_flank_deg: m.right_flank,
        left_flank_deg: m.left_flank,
        included_angle_deg: m.angle,
        depth_mm: m.depth,
        crest_flat_mm: m.crest_flat,
        major_diameter_mm: m.major,
        taper: m.taper,
        ..Measured::default()
    };
    let mut job = Job {
        evidence: m.evidence.iter().cloned().map(ReadingSaid::new).collect(),
        ..Job::default()
    };
    job.nut.length_mm = m.nut_length;
    m.to.over(&mut job);
    let (identity, ranking) = identify(&job, &measured);
    let rounding = match m.to.round {
        Some(_) => m.to.made(&job, Some(&identity)).map(|form| (form, None)),
        None => Ok((None, None)),
    };
    // What was found is said even when the rounding is refused.
    let (rounding, mut refused) = rounding.unwrap_or_else(|failure| (None, Some(failure)));
    let mut written = String::new();
    if let (Some(file), None) = (&m.job, &refused) {
        let of_standard = match (&rounding, m.to.round) {
            (Some(_), Some(RoundWanted::Standard)) => tapers(m, &ranking),
            _ => None,
        };
        let taper = m.taper.or(of_standard);
        match written_down(m, &identity, rounding.as_ref(), taper, file) {
            Ok(sentence) => written = sentence,
            Err(failure) => refused = Some(failure),
        }
    }
    if m.how.json {
        print_json(&record(&identity, &ranking, rounding.as_ref()))?;
    } else {
        shown(m, &identity, &ranking, rounding.as_ref());
        print(&written);
    }
    refused.map_or(Ok(()), Err)
}

/// Limits of what may be a thread at all.
const PITCH_MM: std::ops::RangeInclusive<f64> = 0.05..=100.0;
const MAJOR_MM: std::ops::RangeInclusive<f64> = 0.2..=2000.0;
pub(super) const MOST_FLANK_DEG: f64 = 80.0;
/// Numbers that say the same may differ by so many of their standard uncertainties.
const MOST_APART_U: f64 = 4.0;

/// Numbers that no thread has, or that contradict each other.
fn checked(m: &Match) -> Result<(), Failure> {
    let wrong = |text: Sentence| Err(Failure::Usage(text));
    if m.angle.is_none() && m.right_flank.is_none() {
        return wrong(
            "the flanks are missing: give --angle, or --right-flank and --left-flank".into(),
        );
    }
    for (option, q) in [("--pitch", m.pitch), ("--lead", m.lead)] {
        // A lead is that of up to sixteen starts.
        let most = PITCH_MM.end() * if option == "--lead" { 16.0 } else { 1.0 };
        if let Some(q) = q.filter(|q| !(*PITCH_MM.start()..=most).contains(&q.value)) {
            let least = PITCH_MM.start();
            return wrong(sentence!(
                "{} {} is outside {} to {}",
                option,
                mm_as_given(q.value),
                mm_as_given(*least),
                mm_as_given(most)
            ));
        }
    }
    if let Some(q) = m.major.filter(|q| !MAJOR_MM.contains(&q.value)) {
        let (least, most) = (MAJOR_MM.start(), MAJOR_MM.end());
        return wrong(sentence!(
            "--major {} is outside {} to {}",
            mm_as_given(q.value),
            mm_as_given(*least),
            mm_as_given(*most)
        ));
    }
    for (option, q, most) in [
        ("--right-flank", m.right_flank, MOST_FLANK_DEG),
        ("--left-flank", m.left_flank, MOST_FLANK_DEG),
        ("--angle", m.angle, 2.0 * MOST_FLANK_DEG),
    ] {
        if let Some(q) = q.filter(|q| q.value > most) {
            return wrong(format!("{option} {}° is outside 0° to {most}°", q.value).into());
        }
    }
    if let (Some(both), Some(right), Some(left)) = (m.angle, m.right_flank, m.left_flank) {
        let sum = right.value + left.value;
        let u = both.u.hypot(right.u).hypot(left.u).max(0.5);
        if (both.value - sum).abs() > MOST_APART_U * u {
            return wrong(format!(
                "--angle {}° contradicts the flanks, which make {sum}° together: give one or the other",
                both.value
            ).into());
        }
    }
    if let (Some(depth), Some(major)) = (m.depth, m.major)
        && depth.value >= 0.5 * major.value
    {
        return wrong(sentence!(
            "--depth {} reaches the axis of a screw of {}: it is outside 0 to {}",
            mm_as_given(depth.value),
            mm_as_given(major.value),
            mm_as_given(0.5 * major.value)
        ));
    }
    Ok(())
}

/// The taper of the standard that is rounded to, where it has one: what is designed is for parallel
/// threads, and a job of a taper thread must say that it is one.
fn tapers(m: &Match, ranking: &Ranking) -> Option<Quantity> {
    let chosen = match &m.to.standard {
        Some(name) => ranking.candidates.iter().find(|c| c.is_called(name)),
        None => ranking.candidates.first(),
    };
    let taper = standards::family(chosen?.family_id)?.form.taper;
    (taper > 0.0).then(|| Quantity::standard(taper))
}

/// Writes a job file that holds this thread as if it had been typed in, rounded where that was asked.
fn written_down(
    m: &Match,
    identity: &Identity,
    rounding: Option<&Rounded>,
    taper: Option<Quantity>,
    file: &Path,
) -> Result<String, Failure> {
    if file.exists() {
        return Err(Failure::Refused(
            format!(
                "{} is there already and is not written over: give --job another name",
                file.display()
            )
            .into(),
        ));
    }
    let half = m.angle.map(|q| Quantity { value: 0.5 * q.value, u: 0.5 * q.u, ..q });
    let standard = |value: f64| Some(Quantity::standard(value));
    let form = match rounding {
        Some(r) => FormSaid {
            pitch_mm: standard(r.pitch_mm),
            right_flank_deg: standard(r.right_flank_deg),
            left_flank_deg: standard(r.left_flank_deg),
            depth_mm: standard(r.depth_mm),
            crest_flat_mm: standard(r.crest_flat_mm),
            crest_radius_mm: standard(r.section.crest_radius_mm()),
            root_radius_mm: standard(r.section.root_radius_mm()),
        },
        None => FormSaid {
            pitch_mm: m.pitch,
            right_flank_deg: m.right_flank.or(half),
            left_flank_deg: m.left_flank.or(half),
            depth_mm: m.depth,
            crest_flat_mm: m.crest_flat,
            crest_radius_mm: None,
            root_radius_mm: None,
        },
    };
    let major_mm = rounding.and_then(|r| r.major_diameter_mm).and_then(standard).or(m.major);
    let missing: Vec<&str> = [
        ("--major", major_mm.is_none()),
        ("--depth", form.depth_mm.is_none()),
        ("--crest-flat", form.crest_flat_mm.is_none()),
    ]
    .into_iter()
    .filter_map(|(option, lacks)| lacks.then_some(option))
    .collect();
    if !missing.is_empty() {
        return Err(Failure::Usage(
            format!(
                "a job needs the whole thread, which lacks {}: give that, or --round standard",
                missing.join(" and ")
            )
            .into(),
        ));
    }
    let mut job = Job {
        title: file.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default(),
        form,
        units: m.how.units(),
        evidence: m.evidence.iter().cloned().map(ReadingSaid::new).collect(),
        ..Job::default()
    };
    job.duty = m.duty;
    job.evidence.extend(taper.map(|taper| ReadingSaid::new(Evidence::Taper { taper })));
    job.thread.major_diameter_mm = major_mm;
    job.thread.starts = identity.combined.measured.starts.map(|(n, _)| n);
    job.thread.hand = m.hand.map(Into::into);
    job.nut.length_mm = m.nut_length;
    job::save(&job, file)?;
    Ok(format!("\nJob written to {}.\n", file.display()))
}

fn record<'a>(
    identity: &'a Identity,
    ranking: &'a Ranking,
    rounding: Option<&'a Rounded>,
) -> MatchRecord<'a> {
    let together = &identity.combined;
    MatchRecord {
        schema: "flanklight/match/1",
        candidates: ranking.candidates.iter().map(CandidateRecord::of).collect(),
        no_standard_probability: ranking.no_standard_probability,
        cannot_tell: &ranking.cannot_tell,
        verdict: ranking.verdict,
        nearest: ranking.nearest.as_ref().map(CandidateRecord::of),
        explanation: &ranking.explanation,
        estimates: identity
            .estimates
            .iter()
            .map(|e| EstimateRecord {
                what: e.feature.key(),
                given: e.picture,
                together: e.together,
            })
            .collect(),
        starts: together
            .measured
            .starts
            .map(|(value, probability)| StartsRecord { value, probability }),
        readings: &together.residuals,
        agreement: AgreementRecord {
            chi2: together.chi2,
            dof: together.dof,
            by_chance: together.p_value,
        },
        contradictions: together.contradictions.iter().map(|c| &c.text).collect(),
        notes: &together.notes,
        next: identity.next.iter().map(|s| &s.text).take(MOST_SUGGESTED).collect(),
        rounding,
    }
}

fn shown(m: &Match, identity: &Identity, ranking: &Ranking, rounding: Option<&Rounded>) {
    let verdict = match (ranking.verdict, ranking.candidates.first()) {
        (Verdict::Named, Some(first)) => format!("Most likely {}.", first.designation),
        (Verdict::CannotTell, Some(_)) if ranking.first_group().len() > 1 => {
            "Cannot tell which of several it is.".to_owned()
        }
        (Verdict::CannotTell, _) => "Cannot tell what it is.".to_owned(),
        _ => "None: it follows no listed standard.".to_owned(),
    };
    print(&format!("{verdict}\n\n"));
    print(&text::candidates(ranking, m.how.units()));
    let likeness = match ranking.verdict {
        Verdict::Named => "told apart only by how common they are",
        _ => "cannot be told apart",
    };
    for group in &ranking.cannot_tell {
        print(&text::bullet(&format!("{likeness}: {}", text::group(group))));
    }
    let units = m.how.units();
    if m.evidence.is_empty() {
        for contradiction in &identity.combined.contradictions {
            print(&text::said(&contradiction.text, units));
        }
        for note in &identity.combined.notes {
            print(&text::said(note, units));
        }
    } else {
        print("\n");
        print(&text::together(identity, &m.evidence, units));
    }
    if ranking.verdict == Verdict::CannotTell && !identity.next.is_empty() {
        print("\nWhat would tell\n\n");
        for suggestion in identity.next.iter().take(MOST_SUGGESTED) {
            print(&text::bullet(&text::suggestion(&suggestion.text.in_units(units))));
        }
    }
    if let Some(form) = rounding {
        print("\n");
        print(&round::table(form, units));
    }
}
