//! A thread known by its name: typed, completed and taken into the job.

use super::as_typed;
use super::command::{Effect, changed, edit};
use super::edit::Edit;
use super::field::Field;
use super::news::tell;
use super::stage::Stage;
use super::state::{About, Bench, Tone};
use form::Source;
use job::Job;
use standards::{NameError, Named, named};
use std::sync::Arc;

/// Names offered below the entry.
const MOST_OFFERED: usize = 6;

/// The name the job's thread goes by: of a thread that was taken by its name, or of the standard a
/// measured one is held beside.
pub(super) fn settled(job: &Job) -> String {
    let by_name = job.form.pitch_mm.is_some_and(|q| q.source == Source::Standard);
    let name = job.beside.clone().filter(|_| job.picture.is_some() || by_name);
    name.unwrap_or_default()
}

/// Names that may be meant by what is typed so far; of a text that is no beginning of a name, the nearest.
#[must_use]
pub fn offered(text: &str) -> Vec<String> {
    let begun = standards::completions(text, MOST_OFFERED);
    if !begun.is_empty() || text.trim().chars().count() < 3 {
        return begun;
    }
    match named(text) {
        Err(e) => e.instead().iter().take(MOST_OFFERED).cloned().collect(),
        Ok(_) => Vec::new(),
    }
}

/// Whether a text in another entry is a thread's name, which is taken as such: who knows the name types it
/// where the first number is asked for.
#[must_use]
pub(super) fn meant(bench: &Bench, field: Field, text: &str) -> Option<Named> {
    let here = field == Field::FormPitch && bench.job().picture.is_none();
    named(text).ok().filter(|_| here)
}

/// Takes the name that was typed, or says why not.
pub(super) fn enter(bench: &mut Bench) -> Vec<Effect> {
    let Some(text) = bench.drafts.get(&Field::ThreadName).cloned() else { return Vec::new() };
    match named(&text) {
        Ok(thread) => take(bench, &thread),
        // Nothing typed is no name to complain of.
        Err(NameError::Empty) => {
            bench.drafts.remove(&Field::ThreadName);
            bench.wrong.remove(&Field::ThreadName);
            Vec::new()
        }
        // What can be completed in one way only is that.
        Err(e) => match standards::completions(&text, 2).as_slice() {
            [only] => chosen(bench, only),
            _ => {
                bench.wrong.insert(Field::ThreadName, e.to_string());
                Vec::new()
            }
        },
    }
}

/// Takes a thread by the name it was offered under.
pub(super) fn chosen(bench: &mut Bench, name: &str) -> Vec<Effect> {
    match named(name) {
        Ok(thread) => take(bench, &thread),
        Err(e) => {
            tell(bench, About::Other, Tone::Wrong, e.to_string());
            Vec::new()
        }
    }
}

/// Makes it the job's thread, or, where a picture is measured, holds that beside it.
pub(super) fn take(bench: &mut Bench, thread: &Named) -> Vec<Effect> {
    for field in [Field::ThreadName, Field::FormPitch] {
        bench.drafts.remove(&field);
        bench.wrong.remove(&field);
    }
    if bench.job().picture.is_some() {
        let name = thread.designation.clone();
        let place = bench
            .findings()
            .and_then(|f| f.ranking.as_ref())
            .and_then(|r| r.candidates.iter().position(|c| c.is_called(&name)));
        if let Some(i) = place {
            bench.candidate = i;
        }
        return edit(bench, &Edit::Beside(Some(name)));
    }
    let before = Arc::clone(bench.job());
    let mut refused = None;
    bench.history.edit(Field::ThreadName.label(), |job| {
        refused = job::take_name(job, thread).err();
        if refused.is_none() {
            for field in FORM {
                as_typed::keep(job, field, "");
            }
            if job.title.is_empty() {
                job.title.clone_from(&thread.designation);
            }
        }
    });
    if let Some(e) = refused {
        tell(bench, About::Other, Tone::Wrong, e.to_string());
        return Vec::new();
    }
    // What was typed and refused before is answered by the name.
    for field in FORM {
        bench.drafts.remove(&field);
        bench.wrong.remove(&field);
    }
    if bench.stage == Stage::Picture {
        bench.stage = Stage::Form;
        bench.visited.insert(Stage::Form);
    }
    changed(bench, &before)
}

/// The entries whose numbers a name gives.
const FORM: [Field; 8] = [
    Field::FormPitch,
    Field::FormRight,
    Field::FormLeft,
    Field::FormDepth,
    Field::FormCrest,
    Field::FormCrestRadius,
    Field::FormRootRadius,
    Field::Major,
];

/// The numbers a typed thread still lacks before a nut can be designed for it, in words; nothing where
/// none was typed at all, or the picture gives them.
#[must_use]
pub fn missing(job: &Job) -> Vec<&'static str> {
    let form = &job.form;
    let needed = [
        ("pitch", form.pitch_mm.is_some()),
        ("right flank", form.right_flank_deg.is_some()),
        ("left flank", form.left_flank_deg.is_some()),
        ("depth", form.depth_mm.is_some()),
        ("crest flat", form.crest_flat_mm.is_some()),
        ("major diameter", job.thread.major_diameter_mm.is_some()),
    ];
    if job.picture.is_some() || needed.iter().all(|(_, there)| !there) {
        return Vec::new();
    }
    needed.into_iter().filter_map(|(name, there)| (!there).then_some(name)).collect()
}
