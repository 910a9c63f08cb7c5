//! A backlash survey on paper.

use crate::findings::{Findings, Part};
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, info};
use form::Quantity;
use sheets::{Drawing, Row, Station, SurveySheet};
use shop::Verdict;

/// What a verdict says to do.
#[must_use]
pub fn verdict(v: Verdict) -> &'static str {
    match v {
        Verdict::LeaveIt => "Leave it as it is.",
        Verdict::AdjustThrust => "Adjust the thrust: that alone is enough.",
        Verdict::NewNut => "Make a new nut.",
        Verdict::ScrewToo => "A new nut alone will not do: the screw too.",
        Verdict::CannotTell => "The readings do not tell.",
    }
}

/// From this chance on, what is to be done is said without one.
const AS_GOOD_AS_SURE: f64 = 0.95;

/// What a survey says to do, with the chance that it is enough where that is not as good as sure.
#[must_use]
pub fn verdict_of(found: &shop::Findings) -> String {
    let said = verdict(found.verdict);
    let unsure = found.chance_enough.filter(|p| *p < AS_GOOD_AS_SURE);
    match (found.verdict, unsure) {
        (Verdict::AdjustThrust, Some(p)) => {
            format!(
                "Adjust the thrust: with a chance of {} that alone is enough.",
                shop::in_per_cent(p)
            )
        }
        (Verdict::NewNut, Some(p)) => {
            format!("Make a new nut: with a chance of {} it is enough.", shop::in_per_cent(p))
        }
        _ => said.to_owned(),
    }
}

/// The sheet of the job's survey.
///
/// # Errors
/// [`TemplateError::Survey`] when there is none.
pub fn survey_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    let Some(found) = &findings.survey else {
        let why = findings.trouble(Part::Survey).map(|t| t.text.clone());
        return Err(TemplateError::Survey(why.unwrap_or_else(|| "there are no readings".into())));
    };
    let sheet = SurveySheet {
        subject: if job.title.is_empty() { "slide".into() } else { job.title.clone() },
        end_float_mm: found.thrust_mm,
        stations: found
            .stations
            .iter()
            .map(|s| Station {
                position_mm: s.position_mm,
                total_mm: s.lost_motion_mm,
                nut_mm: s.nut_mm,
                screw_mm: s.screw_mm,
                forecast_mm: s.with_new_nut_mm,
            })
            .collect(),
        rows: vec![
            Row::length("Nut, least worn place", found.nut_mm),
            Row::length("Screw's wear, most", found.most_screw_mm),
            Row::length("Worst now", found.worst_now_mm),
            Row::length("Worst with a new nut", found.worst_with_new_nut_mm),
            Row::length("Worst with nut and thrust", found.worst_with_both_mm),
            Row::length("Play of the new nut", job.nut.play_mm),
            Row::length(
                "End-float that remains",
                Quantity::assumed(found.remaining_end_float_mm, 0.0),
            ),
        ],
        verdict: verdict_of(found),
        reasons: found
            .reasons
            .iter()
            .chain(found.notices.iter().map(|n| &n.text))
            .map(|text| crate::nut_sheet::sentence(text, job.units))
            .collect(),
    };
    Ok(sheets::survey_sheet(&info(job, paper, date), &sheet)?)
}
