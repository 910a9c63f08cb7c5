//! From a tool to the template it is ground to.

use crate::findings::Findings;
use crate::job::{Duty, Job, PaperSaid, ToolFor};
use form::{Quantity, Said, Sentence, Source, sentence};
use sheets::{
    Drawing, FlankSide, Paper, PdfError, Row, SheetError, SheetInfo, SideClearance, ToolTemplate,
    Value,
};
use shop::UseOfThread;
use thiserror::Error;

/// Why there is no template.
#[derive(Debug, Error)]
pub enum TemplateError {
    /// The duty forbids it.
    Refused(String),
    /// Something before it is missing.
    NoTool(Sentence),
    /// Readings that make no survey.
    Survey(Sentence),
    /// The drawing.
    Sheet(#[from] SheetError),
    /// The PDF.
    Pdf(#[from] PdfError),
    /// The job has no sheet of this kind.
    NoSuchSheet {
        /// What was asked for.
        asked: String,
        /// What there is.
        there: String,
    },
    /// Files that another job wrote, or nobody knows who, have the names of these sheets.
    Taken {
        /// The folder.
        folder: String,
        /// Their names.
        files: Vec<String>,
    },
    /// The disk.
    Io {
        /// The file.
        path: String,
        /// The operating system's reason.
        source: std::io::Error,
    },
}

impl Said for TemplateError {
    fn said(&self) -> Sentence {
        match self {
            Self::Refused(why) => why.as_str().into(),
            Self::NoTool(why) => sentence!("there is no tool to draw yet: {}", why),
            Self::Survey(why) => sentence!("the survey cannot be drawn: {}", why),
            Self::Sheet(e) => sentence!("the sheet cannot be drawn: {}", e.said()),
            Self::Pdf(e) => sentence!("the PDF cannot be written: {}", e.to_string()),
            Self::NoSuchSheet { asked, there } => {
                format!("this job has no sheet \"{asked}\" as it stands; it has {there}").into()
            }
            Self::Taken { folder, files } => {
                let others = match files.len() {
                    1 => String::new(),
                    2 => " and one more".to_owned(),
                    n => format!(" and {} more", n - 1),
                };
                format!(
                    "{folder} holds {}{others} already, and this job did not write it: nothing is \
                     replaced and nothing is written. Choose another folder, or give the job another name.",
                    files.first().map_or("", String::as_str),
                )
                .into()
            }
            Self::Io { path, source } => sentence!(
                "cannot write {}: {}. Choose another folder; what was there before is whole.",
                path,
                source.to_string()
            ),
        }
    }
}

form::said_by_display!(TemplateError);

/// What every sheet and answer says as long as the job's duty is not entered.
pub const NOBODY_SAID: &str = "Nobody said what this thread does: find out before anything is cut.";

/// What every sheet of this job is told. `date` is printed as it is.
#[must_use]
pub fn info(job: &Job, paper: PaperSaid, date: &str) -> SheetInfo {
    SheetInfo {
        job: if job.title.is_empty() { "Untitled thread".into() } else { job.title.clone() },
        // Sheets that do not belong together show it.
        date: format!("{date} · job {}", crate::merge::digest(job)),
        made_by: concat!("Flanklight ", env!("CARGO_PKG_VERSION")).to_owned(),
        units: job.units,
        paper: match paper {
            PaperSaid::A4 => Paper::A4,
            PaperSaid::Letter => Paper::Letter,
        },
        // A sheet carries the cautions of its kind by itself.
        cautions: match job.duty {
            None => vec![NOBODY_SAID.to_owned()],
            Some(duty) => duty.caution().map(str::to_owned).into_iter().collect(),
        },
        thread_use: job.duty.map_or(UseOfThread::MovesOrAdjusts, Duty::thread_use),
    }
}

/// The pages of the tool template.
///
/// # Errors
/// [`TemplateError`].
pub fn template(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if let Some(refusal) = &findings.refusal {
        return Err(TemplateError::Refused(refusal.clone()));
    }
    let Some(tool) = &findings.tool else {
        return Err(TemplateError::NoTool(nothing_to_draw(job, findings)));
    };
    let leading = leading(tool);
    let (lead, follow) =
        if tool.right.leading { (&tool.right, &tool.left) } else { (&tool.left, &tool.right) };
    // A clearance is ground to a tenth of a degree at best.
    let taken = |degrees: f64| Quantity::assumed((10.0 * degrees).round() / 10.0, 0.0);
    let mut rows = vec![
        Row::length("Pitch", pitch(tool, findings)),
        Row {
            name: "Starts, hand".into(),
            value: Value::Words(
                format!("{}, {}", tool.starts, tool.hand),
                Some(winding_source(job, findings)),
            ),
        },
    ];
    if let (ToolFor::Nut, Some(nut)) = (job.sheets.tool_for, &findings.nut) {
        rows.push(Row::length("Bore of the nut", nut.bore_mm));
        rows.push(Row::length("Infeed from touching", nut.infeed_mm));
        rows.extend(crate::worksheet::axial_play(nut, job.units));
    }
    let mut notes: Vec<String> =
        tool.notices.iter().map(|n| crate::nut_sheet::sentence(&n.text, job.units)).collect();
    if let (ToolFor::Nut, Some(nut)) = (job.sheets.tool_for, &findings.nut) {
        notes.extend(crate::worksheet::widened(nut, job.units));
    }
    let by_name = findings.screw.as_ref().is_some_and(|s| s.pitch_mm.source == Source::Standard)
        && job.rounding == standards::Rounding::AsMeasured;
    if let (Some(name), true) = (&job.beside, by_name) {
        notes.push(format!("Drawn to the numbers of {name}."));
    } else if let Some(first) = findings.ranking.as_ref().and_then(|r| r.candidates.first())
        && first.probability > 0.5
    {
        notes.push(format!(
            "Likeliest standard: {} ({}). The form drawn is the {} one.",
            first.designation,
            sheets::percent(first.probability),
            if job.picture.is_some() { "measured" } else { "entered" }
        ));
    }
    let template = ToolTemplate {
        subject: match job.sheets.tool_for {
            ToolFor::Nut => match findings.nut.as_deref().map_or("", crate::nut_sheet::not_yet) {
                "" => "tool for the nut, copies the screw's ridge".into(),
                not_yet => format!("tool for the nut{not_yet}"),
            },
            ToolFor::Screw => "tool for the screw, copies its groove".into(),
        },
        form: drawn(tool),
        leading,
        clearance: SideClearance {
            lead_angle_deg: tool.lead_angle_deg,
            leading_deg: taken(lead.clearance_deg),
            following_deg: taken(follow.clearance_deg),
            front_deg: taken(tool.front.clearance_deg),
        },
        view: format!(
            "{} Set {}. {}",
            if job.picture.is_some() { tool.view.clone() } else { tool.view_without_picture() },
            crate::worksheet::set_up(tool).in_units(job.units),
            tool.clearances_hold_for().in_units(job.units)
        ),
        rows,
        notes,
        magnification: None,
    };
    let info = info(job, paper, date);
    // Where nobody asked for another, the largest that fits is chosen.
    let usual = crate::job::SheetsSaid::default().magnification;
    let magnification = Some(job.sheets.magnification).filter(|m| *m != usual);
    match sheets::tool_template(&info, &ToolTemplate { magnification, ..template.clone() }) {
        // The enlargement is a wish: a form too large for the paper gets the largest that fits.
        Err(SheetError::Magnification { .. }) => Ok(sheets::tool_template(&info, &template)?),
        other => Ok(other?),
    }
}

/// Why there is no tool to draw, and what would give one.
#[must_use]
pub fn nothing_to_draw(job: &Job, findings: &Findings) -> Sentence {
    if let Some(trouble) = findings.first_trouble() {
        return trouble.text.clone();
    }
    match &job.picture {
        Some(picture) if findings.scene.is_none() => format!(
            "the picture is missing: {} is not there, or cannot be read. Open it from its new place \
             (2 Picture), and everything comes back.",
            picture.path.display()
        )
        .into(),
        Some(_) => "enter the width of the bar (3 Bar)".into(),
        None => "open a picture and enter the width of the bar, or type the thread in (5 Form). Lost \
                 motion (1), readings (6), change wheels (9), setting out (10) and wires (11) can be \
                 printed by themselves, too"
            .into(),
    }
}

/// The side of a tool that goes first.
pub(crate) fn leading(tool: &shop::ToolForm) -> FlankSide {
    if tool.right.leading { FlankSide::Right } else { FlankSide::Left }
}

/// A tool as it is drawn.
pub(crate) fn drawn(tool: &shop::ToolForm) -> sheets::ToolForm {
    let (left_flank_deg, right_flank_deg) = tool.angles_to_grind();
    sheets::ToolForm {
        right_flank_deg,
        left_flank_deg,
        tip_flat_mm: tool.tip_flat_mm,
        corner_radius_mm: Quantity::derived(tool.corner_radius_mm, 0.0),
        depth_mm: tool.form_depth_mm,
        included_angle_deg: Some(tool.included_angle_deg),
    }
}

/// Where starts and hand came from: the weaker of the two.
pub(crate) fn winding_source(job: &Job, findings: &Findings) -> Source {
    let told =
        findings.measurement.as_ref().is_some_and(|m| m.hand.is_some() && m.starts.is_some());
    if job.thread.hand.is_some() && job.thread.starts.is_some() {
        Source::Entered
    } else if told {
        Source::Measured
    } else {
        Source::Assumed
    }
}

/// The pitch of the tool's thread, as well as it is known.
fn pitch(tool: &shop::ToolForm, findings: &Findings) -> Quantity {
    let of_screw = findings.screw.as_ref().map(|s| s.pitch_mm);
    of_screw
        .map_or(Quantity::derived(tool.pitch_mm, 0.0), |q| Quantity { value: tool.pitch_mm, ..q })
}
