//! What becomes of what the threads report: readings, findings, files written, failures.

use super::camera::Camera;
use super::command::{Effect, edit, preview};
use super::edit::Edit;
use super::field::Field;
use super::levels::Levels;
use super::news::{self, tell};
use super::opening;
use super::stage::Stage;
use super::state::{About, Bench, Tone, Work};
use super::typed_path;
use job::{Findings, Job, Loaded, Mark, PictureRef, Written};
use shop::Survey;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Something could not be done.
pub(super) fn failed(bench: &mut Bench, about: About, text: String) {
    bench.work = Work::Idle;
    if about == About::Opening {
        bench.retaking = false;
    }
    if about == About::Saving {
        bench.once_saved = None;
    }
    if let Some(text) = typed_path::again(bench, about, text) {
        tell(bench, about, Tone::Wrong, text);
    }
}

/// The picture of an earlier or later step is there again, or cannot be read; its job is worked out
/// either way.
pub(super) fn picture(
    bench: &mut Bench,
    read: Result<(Arc<Loaded>, Arc<Levels>), String>,
) -> Vec<Effect> {
    match read {
        Ok((loaded, levels)) => {
            (bench.loaded, bench.levels) = (Some(loaded), Some(levels));
            bench.camera = Camera::default();
            news::came_right(bench, About::Opening);
        }
        Err(text) => {
            (bench.loaded, bench.levels) = (None, None);
            tell(bench, About::Opening, Tone::Wrong, text);
        }
    }
    vec![Effect::Evaluate]
}

/// Takes a survey of lost motion into the job, and shows it.
pub(super) fn survey(bench: &mut Bench, said: Box<Survey>) -> Vec<Effect> {
    let stations = said.readings.len();
    bench.stage = Stage::Survey;
    let effects = edit(bench, &Edit::Stations(said));
    let text = format!("{stations} readings taken in.");
    tell(bench, About::Readings, Tone::Done, text);
    effects
}

/// Takes a picture of the ground tool into the job; the width of the bar in it is asked for.
pub(super) fn ground(bench: &mut Bench, picture: PictureRef) -> Vec<Effect> {
    bench.work = Work::Idle;
    news::came_right(bench, About::Ground);
    if bench.job().ground.bar_width_mm.is_none() {
        bench.focus = Some(Field::GroundBar);
    }
    edit(bench, &Edit::GroundPicture(Some(picture)))
}

/// The job cannot be kept against a crash, or can again.
pub(super) fn journal(bench: &mut Bench, trouble: Option<String>) {
    bench.journal_fails = trouble.is_some();
    match trouble {
        Some(text) => tell(bench, About::Journal, Tone::Wrong, text),
        None => news::came_right(bench, About::Journal),
    }
}

/// Takes what was found out of `job`.
pub(super) fn findings(bench: &mut Bench, job: Arc<Job>, findings: Arc<Findings>) -> Vec<Effect> {
    // Of a picture that has been left meanwhile; the one in hand is on its way.
    if job.picture != bench.job().picture {
        return Vec::new();
    }
    bench.work = Work::Idle;
    bench.history.remember(&findings.memory);
    let before = bench.findings.replace((job, findings)).map(|(_, f)| f);
    if let Some(before) = before {
        news::look_again(bench, &before);
        news::tip_follows_wheels(bench, &before);
    }
    let candidates =
        bench.findings().and_then(|f| f.ranking.as_ref()).map_or(0, |r| r.candidates.len());
    bench.candidate = bench.candidate.min(candidates.saturating_sub(1));
    if let Some(i) = beside(bench) {
        bench.candidate = i;
    }
    preview(bench)
}

/// Place among the candidates of the standard the job names.
fn beside(bench: &Bench) -> Option<usize> {
    let Some(name) = &bench.job().beside else { return Some(0) };
    let ranking = bench.findings()?.ranking.as_ref()?;
    ranking.candidates.iter().position(|c| c.designation == *name)
}

/// `job` was saved at `path`, and lives there from now on.
pub(super) fn saved(bench: &mut Bench, path: PathBuf, job: Arc<Job>, mark: Mark) -> Vec<Effect> {
    (bench.saved, bench.mark) = (job, Some(mark));
    opening::remember(bench, &path);
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
    let text = format!("Saved as {}.", name.unwrap_or_default());
    tell(bench, About::Saving, Tone::Done, text);
    bench.home = Some(path);
    // What the job was saved for goes on, unless it was changed meanwhile: then it is asked again.
    match bench.once_saved.take() {
        Some(what) => opening::leave_for(bench, what),
        None => Vec::new(),
    }
}

/// Pages for printing were written; `shown` says why no viewer shows them, if none does.
pub(super) fn printed(bench: &mut Bench, pages: usize, path: &Path, shown: Result<(), String>) {
    bench.work = Work::Idle;
    bench.given_out = Some(Arc::clone(bench.job()));
    news::printed(bench, pages, path, shown);
}

/// Sheets were written, the first of `files` before the others.
pub(super) fn exported(bench: &mut Bench, written: &Written) {
    let files = &written.files;
    bench.work = Work::Idle;
    bench.given_out = Some(Arc::clone(bench.job()));
    let folder = files.first().and_then(|f| f.parent()).map(|p| p.display().to_string());
    let first = files.first().and_then(|f| f.file_name());
    let first = first.map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let text = format!(
        "{} files written to {}; begin with {first}. Print at 100 % and measure the check lines \
         before grinding.",
        files.len(),
        folder.unwrap_or_default()
    );
    let text = format!("{text}{}", crate::cli::beside_written(written));
    tell(bench, About::Sheets, Tone::Done, text);
}
