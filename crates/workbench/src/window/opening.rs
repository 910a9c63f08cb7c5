//! What becomes of jobs and pictures that were asked for and read.

use super::camera::Camera;
use super::command::{Effect, Opened};
use super::field::Field;
use super::news::tell;
use super::stage::Stage;
use super::state::{About, Bench, Leaving, Pointer, Tone, Work};
use job::{History, Job};
use std::path::Path;
use std::sync::Arc;

/// Whether the job in hand would take a picture: it has none, or its own could not be read.
pub(super) fn takes_picture(bench: &Bench) -> bool {
    bench.loaded.is_none()
}

/// Whether opening `path` leaves the job in hand: a picture joins a job that has none.
pub(super) fn joins(bench: &Bench, path: &Path) -> bool {
    let is_job = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
    takes_picture(bench) && !is_job
}

/// Puts a path at the head of those opened lately.
pub(super) fn remember(bench: &mut Bench, path: &Path) {
    const MOST: usize = 8;
    bench.recent.retain(|p| p != path);
    bench.recent.insert(0, path.to_owned());
    bench.recent.truncate(MOST);
}

/// Sets about opening something.
pub(super) fn begin(bench: &mut Bench, what: Leaving) -> Vec<Effect> {
    match what {
        Leaving::Open(path) => {
            bench.work = Work::Busy { what: "opening".into(), done: 0.0 };
            vec![Effect::Open(path)]
        }
        Leaving::New => opened(bench, Opened::default()),
        Leaving::Demonstration(i) => {
            bench.work = Work::Busy { what: "preparing the demonstration".into(), done: 0.0 };
            vec![Effect::Demonstrate(i)]
        }
        Leaving::Paste(image) => {
            bench.work = Work::Busy { what: "keeping the pasted picture".into(), done: 0.0 };
            vec![Effect::Paste(image)]
        }
        Leaving::Recover(index) if index < bench.recovered.len() => {
            bench.work = Work::Busy { what: "opening".into(), done: 0.0 };
            vec![Effect::Recover(Box::new(bench.recovered.remove(index)))]
        }
        Leaving::Recover(_) => Vec::new(),
        Leaving::Quit => vec![Effect::Quit],
    }
}

/// Takes what was read.
pub(super) fn opened(bench: &mut Bench, opened: Opened) -> Vec<Effect> {
    let Opened { job, home, loaded, levels, notes, path, recovered, demonstration } = opened;
    // A demonstration and a job that was kept are jobs of their own.
    let picture_alone = home.is_none() && path.is_some() && loaded.is_some() && recovered.is_none();
    if picture_alone && takes_picture(bench) && **bench.job() != Job::default() {
        // The picture of the job in hand was missing, or there was none yet: this is it.
        bench.history.edit("open the picture", |j| {
            j.picture = job.picture;
            if j.title.is_empty() {
                j.title = job.title;
            }
        });
        (bench.loaded, bench.levels) = (loaded, levels);
        bench.work = Work::Idle;
        bench.messages.clear();
        bench.camera = Camera::default();
        if bench.job().bar.width_mm.is_none() {
            bench.focus = Some(Field::BarWidth);
            bench.stage = Stage::Bar;
        }
        return vec![Effect::Evaluate];
    }
    bench.history = History::new(job);
    bench.saved = if recovered.is_some() {
        Arc::new(Job::default())
    } else {
        Arc::clone(bench.history.now())
    };
    bench.left_behind = recovered;
    bench.home = home;
    bench.loaded = loaded;
    bench.levels = levels;
    bench.findings = None;
    bench.demonstration = demonstration;
    bench.given_out = None;
    bench.visited.clear();
    bench.work = Work::Idle;
    bench.pointer = Pointer::Look;
    bench.point = None;
    (bench.candidate, bench.page) = (0, 0);
    bench.preview = None;
    bench.ground = None;
    bench.drafts.clear();
    bench.wrong.clear();
    bench.camera = Camera::default();
    bench.messages.clear();
    for note in notes {
        tell(bench, About::Opening, Tone::Wrong, note);
    }
    if let Some(path) = path {
        remember(bench, &path);
    }
    bench.focus = None;
    bench.stage = if bench.job().picture.is_none() || bench.loaded.is_none() {
        Stage::Picture
    } else if bench.job().bar.width_mm.is_none() {
        bench.focus = Some(Field::BarWidth);
        Stage::Bar
    } else {
        Stage::Form
    };
    bench.visited.insert(bench.stage);
    vec![Effect::Evaluate]
}
