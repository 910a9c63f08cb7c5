//! The complete set of sheets of a job, as drawings and as files.

use crate::bench_sheet;
use crate::findings::Findings;
use crate::job::{Job, PaperSaid, ToolFor};
use crate::sheet_set::{Written, write_set};
use crate::template::TemplateError;
use sheets::Drawing;
use std::path::{Path, PathBuf};

/// A sheet of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Stem of its files: `template`, `job-sheet`, `nut`, `wheels`, `chart`, `passes`, `wires`,
    /// `record`, `identity`, `setting-out`, `survey`, `refusal`.
    pub name: &'static str,
    /// What it is, in words.
    pub title: &'static str,
    /// Its pages.
    pub pages: Vec<Drawing>,
    /// Whether its pages are worth having as a DXF: forms at true scale.
    pub for_machines: bool,
}

/// All sheets there can be of a job as it stands, in the order in which they are used; a job whose
/// thread's duty forbids them has one page that says so.
///
/// # Errors
/// [`TemplateError`]: nothing measured yet, or a sheet that cannot be drawn.
pub fn sheets_of(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Sheet>, TemplateError> {
    let sheet = |name, title, for_machines, pages| Sheet { name, title, pages, for_machines };
    if findings.refusal.is_some() {
        let pages = crate::record_sheet::record_sheet(job, findings, paper, date)?;
        return Ok(vec![sheet("refusal", "Refusal", false, pages)]);
    }
    let mut out = Vec::new();
    // What the parts before it gave is worth having even where it is not enough for a tool.
    let no_tool = match crate::template::template(job, findings, paper, date) {
        Ok(pages) => {
            out.push(sheet("template", "Template for grinding the tool", true, pages));
            None
        }
        Err(e @ TemplateError::NoTool(_)) => Some(e),
        Err(e) => return Err(e),
    };
    let of_nut =
        job.sheets.tool_for == ToolFor::Nut && findings.nut.is_some() && findings.tool.is_some();
    if of_nut {
        let pages = crate::worksheet::worksheet(job, findings, paper, date)?;
        out.push(sheet("job-sheet", "Job sheet", false, pages));
        match crate::nut_sheet::nut_sheet(job, findings, paper, date) {
            Ok(pages) => out.push(sheet("nut", "Drawing of the nut", true, pages)),
            // No gauges can be given for it; the trouble among the findings says why.
            Err(TemplateError::NoTool(_)) => {}
            Err(e) => return Err(e),
        }
    }
    // The job sheet shows wheels, passes and wires already.
    if !of_nut && findings.gears.as_ref().is_some_and(|g| !g.trains.is_empty()) {
        let pages = crate::wheels_sheet::wheels_sheet(job, findings, paper, date)?;
        out.push(sheet("wheels", "Change wheels", false, pages));
    }
    if findings.screw.is_some() {
        let pages = crate::chart_sheet::chart_sheet(job, findings, paper, date)?;
        out.push(sheet("chart", "Shadow chart for a projector", true, pages));
    }
    if !of_nut && let Some(pages) = bench_sheet::passes_sheet(job, findings, paper, date)? {
        out.push(sheet("passes", "Passes", false, pages));
    }
    if !of_nut && let Some(pages) = bench_sheet::wires_sheet(job, findings, paper, date)? {
        out.push(sheet("wires", "Over three wires", false, pages));
    }
    if findings.measurement.is_some() {
        let pages = crate::record_sheet::record_sheet(job, findings, paper, date)?;
        out.push(sheet("record", "Record of the measurement", false, pages));
    } else if let Some(pages) = bench_sheet::identity_sheet(job, findings, paper, date)? {
        out.push(sheet("identity", "What the thread may be", false, pages));
    }
    if let Some(pages) = bench_sheet::setting_out_sheet(job, findings, paper, date)? {
        out.push(sheet("setting-out", "Setting out the blank", false, pages));
    }
    if findings.survey.is_some() {
        let pages = crate::survey_sheet::survey_sheet(job, findings, paper, date)?;
        out.push(sheet("survey", "Backlash survey", false, pages));
    }
    match no_tool {
        Some(e) if out.is_empty() => Err(e),
        _ => Ok(out),
    }
}

/// Whether anything is known that can be printed without a thread: lost motion, readings, wheels, a blank
/// set out, wires.
fn parts_alone(f: &Findings) -> bool {
    let named = f.identity.as_ref().is_some_and(|i| !i.estimates.is_empty());
    let wheels = f.gears.as_ref().is_some_and(|g| !g.trains.is_empty());
    f.survey.is_some() || wheels || f.blank.is_some() || f.wires.is_some() || named
}

/// Whether all that can be printed of a job is what is read or reckoned without a thread: nothing is
/// designed, so it need not be known what the thread does.
#[must_use]
pub fn needs_no_duty(f: &Findings) -> bool {
    let designs = f.screw.is_some() || f.measurement.is_some() || f.cutting.is_some();
    !designs && parts_alone(f)
}

/// Whether there is anything to print.
#[must_use]
pub fn printable(f: &Findings) -> bool {
    f.tool.is_some() || f.measurement.is_some() || f.cutting.is_some() || parts_alone(f)
}

/// Writes the complete set into `folder`: each sheet as PDF for A4 and US Letter, and each page as
/// SVG and, where a form stands on it, as DXF, on the job's paper. Returns the files, the template
/// on the job's paper first.
///
/// # Errors
/// [`TemplateError`]; the folder is as it was then. [`TemplateError::Refused`] is
/// returned after the page that says so has been written.
pub fn export(
    job: &Job,
    findings: &Findings,
    folder: &Path,
    date: &str,
) -> Result<Vec<PathBuf>, TemplateError> {
    export_set(job, findings, folder, date).map(|written| written.files)
}

/// [`export`] that also says which files of an earlier export were out of date and are gone, and where files
/// are that somebody had changed.
///
/// # Errors
/// As [`export`].
pub fn export_set(
    job: &Job,
    findings: &Findings,
    folder: &Path,
    date: &str,
) -> Result<Written, TemplateError> {
    let (first, second) = match job.sheets.paper {
        PaperSaid::A4 => (PaperSaid::A4, PaperSaid::Letter),
        PaperSaid::Letter => (PaperSaid::Letter, PaperSaid::A4),
    };
    let mut files = Vec::new();
    for sheet in sheets_of(job, findings, first, date)? {
        files.push((pdf_name(&sheet, first), sheets::pdf(&sheet.pages)?));
        drawings(&sheet, &mut files);
    }
    for sheet in sheets_of(job, findings, second, date)? {
        files.push((pdf_name(&sheet, second), sheets::pdf(&sheet.pages)?));
    }
    // What the sheets are called by in the folder's list; the same however the job is changed.
    let set = if job.title.is_empty() { "untitled" } else { &job.title };
    let written = write_set(folder, (set, &crate::merge::digest(job)), &files, true)
        .map_err(|e| TemplateError::Io { path: e.path.display().to_string(), source: e.source })?;
    match &findings.refusal {
        Some(refusal) => Err(TemplateError::Refused(refusal.clone())),
        None => Ok(written),
    }
}

fn pdf_name(sheet: &Sheet, paper: PaperSaid) -> String {
    let paper = match paper {
        PaperSaid::A4 => "a4",
        PaperSaid::Letter => "letter",
    };
    format!("{}-{paper}.pdf", sheet.name)
}

fn drawings(sheet: &Sheet, files: &mut Vec<(String, Vec<u8>)>) {
    for (i, page) in sheet.pages.iter().enumerate() {
        let stem = if i == 0 { sheet.name.to_owned() } else { format!("{}-{}", sheet.name, i + 1) };
        files.push((format!("{stem}.svg"), sheets::svg(page).into_bytes()));
        if sheet.for_machines {
            files.push((format!("{stem}.dxf"), sheets::dxf(page).into_bytes()));
        }
    }
}
