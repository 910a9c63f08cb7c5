//! `flanklight match`.

use super::args::Match;
use super::failure::Failure;
use super::{print, print_json, text};
use job::CandidateRecord;
use serde::Serialize;
use standards::{Measured, Prior, Verdict, combine, what_next};

#[derive(Serialize)]
struct MatchRecord {
    schema: &'static str,
    candidates: Vec<CandidateRecord>,
    no_standard_probability: f64,
    cannot_tell: Vec<Vec<String>>,
    verdict: Verdict,
    explanation: Vec<String>,
    contradictions: Vec<String>,
    next: Vec<String>,
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
        major_diameter_mm: m.major,
        ..Measured::default()
    };
    let together = combine(&measured, &Prior::default(), &m.evidence);
    let ranking = standards::rank(&together.measured, &together.prior);
    let next = what_next(&together.measured, &ranking);
    if m.how.json {
        return print_json(&MatchRecord {
            schema: "flanklight/match/1",
            candidates: ranking.candidates.iter().map(CandidateRecord::of).collect(),
            no_standard_probability: ranking.no_standard_probability,
            cannot_tell: ranking.cannot_tell,
            verdict: ranking.verdict,
            explanation: ranking.explanation,
            contradictions: together.contradictions.into_iter().map(|c| c.text).collect(),
            next: next.into_iter().map(|s| s.text).take(MOST_SUGGESTED).collect(),
        });
    }
    let verdict = match (ranking.verdict, ranking.candidates.first()) {
        (Verdict::Named, Some(first)) => format!("Most likely {}.", first.designation),
        (Verdict::CannotTell, Some(_)) if ranking.first_group().len() > 1 => {
            "Cannot tell which of several it is.".to_owned()
        }
        (Verdict::CannotTell, _) => "Cannot tell what it is.".to_owned(),
        _ => "None: it follows no listed standard.".to_owned(),
    };
    print(&format!("{verdict}\n\n"));
    print(&text::candidates(&ranking));
    let likeness = match ranking.verdict {
        Verdict::Named => "told apart only by how common they are",
        _ => "cannot be told apart",
    };
    for group in &ranking.cannot_tell {
        print(&text::bullet(&format!("{likeness}: {}", group.join(", "))));
    }
    if !together.contradictions.is_empty() {
        print("\nThe readings disagree\n\n");
    }
    for contradiction in &together.contradictions {
        print(&text::bullet(&contradiction.text));
    }
    if ranking.verdict == Verdict::CannotTell && !next.is_empty() {
        print("\nWhat would tell\n\n");
        for suggestion in next.iter().take(MOST_SUGGESTED) {
            print(&text::bullet(&suggestion.text));
        }
    }
    Ok(())
}
