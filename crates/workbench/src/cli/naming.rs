//! `flanklight match`.

use super::args::Match;
use super::failure::Failure;
use super::{print, print_json, text};
use job::CandidateRecord;
use serde::Serialize;
use standards::{Measured, Prior};

#[derive(Serialize)]
struct MatchRecord {
    schema: &'static str,
    candidates: Vec<CandidateRecord>,
    no_standard_probability: f64,
    cannot_tell: Vec<Vec<String>>,
}

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
    let ranking = standards::rank(&measured, &Prior::default());
    if m.how.json {
        return print_json(&MatchRecord {
            schema: "flanklight/match/1",
            candidates: ranking.candidates.iter().map(CandidateRecord::of).collect(),
            no_standard_probability: ranking.no_standard_probability,
            cannot_tell: ranking.cannot_tell,
        });
    }
    print(&text::candidates(&ranking));
    for group in &ranking.cannot_tell {
        print(&text::bullet(&format!("cannot be told apart: {}", group.join(", "))));
    }
    Ok(())
}
