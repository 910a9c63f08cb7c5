//! The complete set of sheets of a job, as drawings and as files.

use crate::bench_sheet;
use crate::findings::Findings;
use crate::job::{Job, PaperSaid, ToolFor};
use crate::sheet_set::{How, MOST_BYTES, Owner, SetError, Written, sets_in, write_set_of};
use crate::template::TemplateError;
use sheets::Drawing;
use std::path::Path;

/// The sheets there are: the word by which one is asked for, and the stem of its files.
pub const SHEET_KINDS: [(&str, &str); 11] = [
    ("template", "template"),
    ("job", "job-sheet"),
    ("nut", "nut"),
    ("wheels", "wheels"),
    ("chart", "chart"),
    ("passes", "passes"),
    ("wires", "wires"),
    ("record", "record"),
    ("identity", "identity"),
    ("blank", "setting-out"),
    ("survey", "survey"),
];

/// The stem of the files of the sheet asked for by `word`: its kind, or the stem itself.
#[must_use]
pub fn sheet_named(word: &str) -> Option<&'static str> {
    let word = word.trim().to_lowercase();
    SHEET_KINDS.iter().find(|(kind, stem)| *kind == word || *stem == word).map(|(_, stem)| *stem)
}

/// Where sheets are written, and which.
#[derive(Debug, Clone, Copy)]
pub struct ExportTo<'a> {
    /// The folder; it is made where it is missing.
    pub folder: &'a Path,
    /// The date that is printed on the sheets.
    pub date: &'a str,
    /// The job's own file, where it has one: files that this job wrote before are known by it.
    pub home: Option<&'a Path>,
    /// What else marks files as this job's: the window gives each job it opens a mark of its own.
    pub session: &'a str,
    /// Only these sheets, by their stems; all where it is empty.
    pub only: &'a [&'static str],
    /// Whether files of another job are replaced.
    pub replace: bool,
}

impl<'a> ExportTo<'a> {
    /// All sheets into `folder`, and nothing of another job replaced.
    #[must_use]
    pub fn new(folder: &'a Path, date: &'a str) -> Self {
        Self { folder, date, home: None, session: "", only: &[], replace: false }
    }

    /// The marks by which files of this job are known; new files carry the first.
    fn marks(&self) -> Vec<String> {
        let file = self.home.map(|path| {
            let whole = path.canonicalize().or_else(|_| std::path::absolute(path));
            whole.unwrap_or_else(|_| path.to_owned()).to_string_lossy().into_owned()
        });
        let session = (!self.session.is_empty()).then(|| self.session.to_owned());
        // A digest: where a job's file lies is nobody's business.
        let mark = |text: String| format!("job {}", &crate::save::sha256_of(text.as_bytes())[..16]);
        file.into_iter().chain(session).map(mark).collect()
    }
}

/// A job's name as file names carry it: letters, digits and hyphens. A job without a title is called
/// after its file.
#[must_use]
pub fn name_in_files(job: &Job, home: Option<&Path>) -> String {
    let stem = || {
        let name = home?.file_name()?.to_string_lossy().into_owned();
        let name = name.strip_suffix(".json").unwrap_or(&name);
        Some(name.strip_suffix(".flanklight").unwrap_or(name).to_owned())
    };
    let plain = |text: &str| {
        let mut out = String::new();
        for c in text.chars() {
            if c.is_alphanumeric() {
                out.push(c);
            } else if !out.is_empty() && !out.ends_with('-') {
                out.push('-');
            }
        }
        out.trim_end_matches('-').chars().take(MOST_OF_NAME).collect::<String>()
    };
    let title = plain(job.title.strip_suffix(".flanklight").unwrap_or(&job.title));
    let name = if title.is_empty() { plain(&stem().unwrap_or_default()) } else { title };
    let name = name.trim_end_matches('-');
    if name.is_empty() { "thread".to_owned() } else { name.to_owned() }
}

/// File systems take 255 bytes; a letter has up to four.
const MOST_OF_NAME: usize = 48;

/// A sheet of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Stem of its files, behind the job's name: one of [`SHEET_KINDS`], or `refusal`.
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
    chosen_sheets(job, findings, paper, date, &[])
}

/// Those of the sheets that have one of the stems `only`, or all. What the job sheet shows already gets a
/// sheet of its own where it is asked for.
fn chosen_sheets(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
    only: &[&str],
) -> Result<Vec<Sheet>, TemplateError> {
    let sheet = |name, title, for_machines, pages| Sheet { name, title, pages, for_machines };
    if findings.refusal.is_some() {
        let pages = crate::record_sheet::record_sheet(job, findings, paper, date)?;
        return Ok(vec![sheet("refusal", "Refusal", false, pages)]);
    }
    let mut out = Vec::new();
    let alone = |stem: &str| only.contains(&stem);
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
    if (!of_nut || alone("wheels")) && findings.gears.as_ref().is_some_and(|g| !g.trains.is_empty())
    {
        let pages = crate::wheels_sheet::wheels_sheet(job, findings, paper, date)?;
        out.push(sheet("wheels", "Change wheels", false, pages));
    }
    if findings.screw.is_some() {
        let pages = crate::chart_sheet::chart_sheet(job, findings, paper, date)?;
        out.push(sheet("chart", "Shadow chart for a projector", true, pages));
    }
    if (!of_nut || alone("passes"))
        && let Some(pages) = bench_sheet::passes_sheet(job, findings, paper, date)?
    {
        out.push(sheet("passes", "Passes", false, pages));
    }
    if (!of_nut || alone("wires"))
        && let Some(pages) = bench_sheet::wires_sheet(job, findings, paper, date)?
    {
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
        _ if only.is_empty() => Ok(out),
        _ => picked(out, only),
    }
}

/// The sheets with one of these stems.
fn picked(sheets: Vec<Sheet>, only: &[&str]) -> Result<Vec<Sheet>, TemplateError> {
    let words = |stem: &str| SHEET_KINDS.iter().find(|k| k.1 == stem).map_or("", |k| k.0);
    if let Some(missing) = only.iter().find(|o| sheets.iter().all(|s| s.name != **o)) {
        let there: Vec<&str> = sheets.iter().map(|s| words(s.name)).collect();
        return Err(TemplateError::NoSuchSheet {
            asked: words(missing).to_owned(),
            there: there.join(", "),
        });
    }
    Ok(sheets.into_iter().filter(|s| only.contains(&s.name)).collect())
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

/// Writes the sheets into a folder: each as PDF for A4 and US Letter, and each page as SVG and, where a
/// form stands on it, as DXF, on the job's paper. The job's name stands first in every file name. Returns
/// the files, the template on the job's paper first, which files of an earlier export were out of date and
/// are gone, and where files are that somebody had changed.
///
/// # Errors
/// [`TemplateError`]; the folder is as it was then. [`TemplateError::Taken`] where files of another job, or
/// of nobody knows whom, have these names: nothing is written then, unless they are to be replaced.
/// [`TemplateError::Refused`] is returned after the page that says so has been written.
pub fn export(job: &Job, findings: &Findings, to: &ExportTo) -> Result<Written, TemplateError> {
    let (first, second) = match job.sheets.paper {
        PaperSaid::A4 => (PaperSaid::A4, PaperSaid::Letter),
        PaperSaid::Letter => (PaperSaid::Letter, PaperSaid::A4),
    };
    let name = name_in_files(job, to.home);
    let marks = to.marks();
    let mark = marks.first().map_or("", String::as_str);
    let title = match job.title.strip_suffix(".flanklight").unwrap_or(&job.title) {
        "" => name.as_str(),
        title => title,
    };
    let pdf = |sheet: &Sheet| {
        sheets::pdf_titled(&sheet.pages, &format!("{title}: {}", sheet.title), mark)
    };
    let mut files = Vec::new();
    for sheet in chosen_sheets(job, findings, first, to.date, to.only)? {
        files.push((pdf_name(&sheet, first), pdf(&sheet)?));
        drawings(&sheet, mark, &mut files);
    }
    for sheet in chosen_sheets(job, findings, second, to.date, to.only)? {
        files.push((pdf_name(&sheet, second), pdf(&sheet)?));
    }
    for (file, _) in &mut files {
        *file = format!("{name}-{file}");
    }
    let sets: Vec<String> = marks.iter().map(|mark| format!("{name} {mark}")).collect();
    let of = Owner { sets: &sets, name: &name, job: &crate::merge::digest(job) };
    let failed =
        |e: SetError| TemplateError::Io { path: e.path.display().to_string(), source: e.source };
    if !to.replace {
        let listed = sets_in(to.folder).map_err(failed)?;
        let is_ours = |file: &str| listed.get(file).is_some_and(|set| sets.contains(set));
        let taken: Vec<String> = files
            .iter()
            .filter(|(file, _)| !is_ours(file) && is_of_another(&to.folder.join(file), &marks))
            .map(|(file, _)| file.clone())
            .collect();
        if !taken.is_empty() {
            let folder = to.folder.display().to_string();
            return Err(TemplateError::Taken { folder, files: taken });
        }
    }
    // One sheet leaves the others; the page that says nothing may be made leaves none.
    let whole = to.only.is_empty() || findings.refusal.is_some();
    let written =
        write_set_of(to.folder, &of, &files, How { whole, replace: to.replace }).map_err(failed)?;
    match &findings.refusal {
        Some(refusal) => Err(TemplateError::Refused(refusal.clone())),
        None => Ok(written),
    }
}

/// Whether a file stands at `path` that does not carry one of `marks`.
fn is_of_another(path: &Path, marks: &[String]) -> bool {
    // Links, folders and devices are refused when it comes to writing, whoever they are of.
    if !path.symlink_metadata().is_ok_and(|about| about.is_file()) {
        return false;
    }
    let Ok(bytes) = crate::disk::read_file(path, MOST_BYTES) else { return true };
    !marks.iter().any(|m| bytes.windows(m.len()).any(|w| w == m.as_bytes()))
}

fn pdf_name(sheet: &Sheet, paper: PaperSaid) -> String {
    let paper = match paper {
        PaperSaid::A4 => "a4",
        PaperSaid::Letter => "letter",
    };
    format!("{}-{paper}.pdf", sheet.name)
}

fn drawings(sheet: &Sheet, mark: &str, files: &mut Vec<(String, Vec<u8>)>) {
    for (i, page) in sheet.pages.iter().enumerate() {
        let stem = if i == 0 { sheet.name.to_owned() } else { format!("{}-{}", sheet.name, i + 1) };
        let (mut svg, mut dxf) = (sheets::svg(page), String::new());
        if !mark.is_empty() {
            // Comments of either format.
            svg.push_str(&format!("<!-- {mark} -->\n"));
            dxf.push_str(&format!("999\n{mark}\n"));
        }
        files.push((format!("{stem}.svg"), svg.into_bytes()));
        if sheet.for_machines {
            dxf.push_str(&sheets::dxf(page));
            files.push((format!("{stem}.dxf"), dxf.into_bytes()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::BlankSaid;

    /// A job with two sheets that need no thread.
    fn job(title: &str) -> Job {
        let mut job = Job { title: title.into(), ..Job::default() };
        job.wheels.leadscrew_mm = Some(3.0);
        job.wheels.want_mm = Some(2.0);
        job.wheels.wheels = vec![20, 30, 40, 60];
        job.blank = BlankSaid::default();
        job
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|name| name != crate::LIST)
            .collect();
        names.sort();
        names
    }

    #[test]
    fn sheets_of_another_job_are_never_replaced_unasked() {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("sheets");
        let (one, two) = (job("Loom, left"), job("Vice"));
        let findings = crate::evaluate(&one, None, &|_| true).unwrap();
        let to = ExportTo { session: "one", ..ExportTo::new(&folder, "2026-01-01") };
        let files = export(&one, &findings, &to).unwrap().files;
        assert!(files.iter().any(|f| f.ends_with("Loom-left-wheels-a4.pdf")), "{files:?}");
        let before = names(&folder);
        assert!(before.iter().all(|n| n.starts_with("Loom-left-")), "{before:?}");
        // The job's name is the title of the document, too.
        let pdf = std::fs::read(&files[0]).unwrap();
        let title = b"Loom, left: Change wheels";
        assert!(pdf.windows(title.len()).any(|w| w == title));
        // Another job of another name stands beside it.
        export(&two, &findings, &ExportTo { session: "two", ..to }).unwrap();
        assert_eq!(names(&folder).len(), 2 * before.len());
        // Another of the same name is stopped before anything is written.
        let kept = std::fs::read(&files[0]).unwrap();
        let other = ExportTo { session: "three", date: "2026-02-02", ..to };
        let e = export(&one, &findings, &other).unwrap_err();
        assert!(matches!(&e, TemplateError::Taken { files, .. } if files.len() == before.len()));
        assert!(e.to_string().contains("Loom-left-wheels-a4.pdf"), "{e}");
        assert_eq!(std::fs::read(&files[0]).unwrap(), kept);
        // The job itself, and whoever says so, replaces them.
        export(&one, &findings, &ExportTo { date: "2026-02-02", ..to }).unwrap();
        assert_ne!(std::fs::read(&files[0]).unwrap(), kept);
        export(&one, &findings, &ExportTo { replace: true, ..other }).unwrap();
        // A file that is no sheet at all stays; who says so has it moved aside, not lost.
        let (three, notes) = (job("Lathe"), folder.join("Lathe-wheels.svg"));
        std::fs::write(&notes, "my own notes").unwrap();
        let to = ExportTo { session: "two", ..to };
        let e = export(&three, &findings, &to).unwrap_err();
        assert!(matches!(&e, TemplateError::Taken { files, .. } if files.len() == 1), "{e}");
        assert_eq!(names(&folder).iter().filter(|n| n.starts_with("Lathe")).count(), 1);
        assert_eq!(std::fs::read(&notes).unwrap(), b"my own notes");
        let written = export(&three, &findings, &ExportTo { replace: true, ..to }).unwrap();
        assert_eq!(std::fs::read(&written.set_aside[0]).unwrap(), b"my own notes");
        // So is a sheet of this job that somebody changed.
        std::fs::write(&notes, "with my own holes").unwrap();
        let written = export(&three, &findings, &to).unwrap();
        assert_eq!(std::fs::read(&written.set_aside[0]).unwrap(), b"with my own holes");
    }

    #[test]
    fn two_jobs_of_one_name_are_not_one_set_and_one_sheet_leaves_the_others() {
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("sheets");
        let one = job("Loom");
        let findings = crate::evaluate(&one, None, &|_| true).unwrap();
        let home = dir.path().join("loom.json");
        std::fs::write(&home, "").unwrap();
        // First without a file, then with one: it is the same job.
        let to = ExportTo { session: "one", ..ExportTo::new(&folder, "2026-01-01") };
        export(&one, &findings, &to).unwrap();
        let saved = ExportTo { home: Some(&home), ..to };
        let all = names(&folder);
        let wheels = [sheet_named("wheels").unwrap()];
        let written = export(&one, &findings, &ExportTo { only: &wheels, ..saved }).unwrap();
        assert!(written.removed.is_empty(), "{written:?}");
        // What lies under this name and is of another job is no stale sheet of this one.
        let foreign = [("Loom-nut.svg".to_owned(), vec![1])];
        crate::write_set(&folder, ("Loom another", ""), &foreign, true).unwrap();
        // What this job wrote before it had a file, and does not have any more, is.
        let mine = [("Loom-chart.svg".to_owned(), vec![1])];
        let sets: Vec<String> = to.marks().iter().map(|mark| format!("Loom {mark}")).collect();
        let of = Owner { sets: &sets, name: "Loom", job: "" };
        write_set_of(&folder, &of, &mine, How { whole: false, replace: false }).unwrap();
        let written = export(&one, &findings, &saved).unwrap();
        assert_eq!(written.removed, [folder.join("Loom-chart.svg")]);
        let mut left = names(&folder);
        left.retain(|n| n != "Loom-nut.svg");
        assert_eq!(left, all);
    }

    #[test]
    fn a_job_is_known_by_its_file_however_the_path_is_written() {
        let dir = tempfile::tempdir().unwrap();
        let (file, folder) = (dir.path().join("a.json"), dir.path().join("out"));
        std::fs::write(&file, "").unwrap();
        let there = dir.path().join("out/../a.json");
        let job = job("");
        let findings = crate::evaluate(&job, None, &|_| true).unwrap();
        let to = ExportTo { home: Some(&file), ..ExportTo::new(&folder, "") };
        let files = export(&job, &findings, &to).unwrap().files;
        // A job without a title is called after its file.
        assert!(files[0].ends_with("a-wheels-a4.pdf"), "{files:?}");
        export(&job, &findings, &ExportTo { home: Some(&there), ..to }).unwrap();
        // Where the job lies does not stand in its sheets.
        let text = std::fs::read(&files[0]).unwrap();
        let place = dir.path().display().to_string();
        assert!(!text.windows(place.len()).any(|w| w == place.as_bytes()));
    }

    #[test]
    fn one_sheet_alone() {
        let dir = tempfile::tempdir().unwrap();
        let job = job("x");
        let findings = crate::evaluate(&job, None, &|_| true).unwrap();
        let to = ExportTo::new(dir.path(), "");
        let wheels = [sheet_named("Wheels").unwrap()];
        export(&job, &findings, &ExportTo { only: &wheels, ..to }).unwrap();
        assert!(names(dir.path()).iter().all(|n| n.contains("wheels")));
        let nut = [sheet_named("nut").unwrap()];
        let e = export(&job, &findings, &ExportTo { only: &nut, ..to }).unwrap_err().to_string();
        assert!(e.contains("no sheet \"nut\"") && e.contains("wheels"), "{e}");
        assert_eq!(sheet_named("job-sheet"), sheet_named("job"));
        assert_eq!(sheet_named("poster"), None);
    }

    #[test]
    fn names_are_letters_digits_and_hyphens() {
        let named = |title: &str, home: Option<&str>| {
            name_in_files(&Job { title: title.into(), ..Job::default() }, home.map(Path::new))
        };
        assert_eq!(named("Tension screw, floor loom", None), "Tension-screw-floor-loom");
        assert_eq!(named("../etc/a b", None), "etc-a-b");
        assert_eq!(named("Spindel für Müller", None), "Spindel-für-Müller");
        assert_eq!(named("", Some("/x/loom.flanklight.json")), "loom");
        assert_eq!(named("tr.flanklight", None), "tr");
        assert_eq!(named("---", None), "thread");
        assert!(named(&"ß".repeat(400), None).len() <= 200);
    }
}
