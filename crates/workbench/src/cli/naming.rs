//! `flanklight match`.

use super::args::Match;
use super::failure::Failure;
use super::{print, print_json, round, text};
use form::Quantity;
use job::{CandidateRecord, Identity, Job, ReadingSaid, identify};
use serde::Serialize;
use standards::{Measured, Ranking, Residual, Rounded, Verdict};

#[derive(Serialize)]
struct MatchRecord<'a> {
    schema: &'static str,
    candidates: Vec<CandidateRecord>,
    no_standard_probability: f64,
    cannot_tell: &'a [Vec<String>],
    verdict: Verdict,
    /// Where the verdict is none: the nearest listed thread.
    nearest: Option<CandidateRecord>,
    explanation: &'a [String],
    /// Every number, as given and with the readings in it.
    estimates: Vec<EstimateRecord>,
    /// Number of starts, where it is known or follows from a lead.
    starts: Option<StartsRecord>,
    /// Every reading beside what the others make of it.
    readings: &'a [Residual],
    agreement: AgreementRecord,
    contradictions: Vec<&'a str>,
    notes: &'a [String],
    next: Vec<&'a str>,
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
    let measured = Measured {
        pitch_mm: Some(m.pitch),
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
    let (rounding, refused) = rounding.unwrap_or_else(|failure| (None, Some(failure)));
    if m.how.json {
        print_json(&record(&identity, &ranking, rounding.as_ref()))?;
    } else {
        shown(m, &identity, &ranking, rounding.as_ref());
    }
    refused.map_or(Ok(()), Err)
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
        contradictions: together.contradictions.iter().map(|c| c.text.as_str()).collect(),
        notes: &together.notes,
        next: identity.next.iter().map(|s| s.text.as_str()).take(MOST_SUGGESTED).collect(),
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
    print(&text::candidates(ranking));
    let likeness = match ranking.verdict {
        Verdict::Named => "told apart only by how common they are",
        _ => "cannot be told apart",
    };
    for group in &ranking.cannot_tell {
        print(&text::bullet(&format!("{likeness}: {}", group.join(", "))));
    }
    let units = m.how.units.units();
    if m.evidence.is_empty() {
        for note in &identity.combined.notes {
            print(&text::bullet(note));
        }
    } else {
        print("\n");
        print(&text::together(identity, &m.evidence, units));
    }
    if ranking.verdict == Verdict::CannotTell && !identity.next.is_empty() {
        print("\nWhat would tell\n\n");
        for suggestion in identity.next.iter().take(MOST_SUGGESTED) {
            print(&text::bullet(&suggestion.text));
        }
    }
    if let Some(form) = rounding {
        print("\n");
        print(&round::table(form, units));
    }
}
