//! What becomes of jobs and pictures that were asked for and read, and of the job they take the place of.

use super::camera::Camera;
use super::command::{Effect, Opened};
use super::field::Field;
use super::news::tell;
use super::stage::Stage;
use super::state::{About, Bench, Leaving, Pointer, Tone, Work};
use fit::{BarDrop, ViewWanted};
use form::Units;
use job::{BarSaid, History, Job, PictureRef};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Whether the job in hand would take a picture: it has none, or its own could not be read.
fn takes_picture(bench: &Bench) -> bool {
    bench.loaded.is_none()
}

/// Whether opening `path` leaves the job in hand: a picture joins a job that has none.
fn joins(bench: &Bench, path: &Path) -> bool {
    let is_job = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
    takes_picture(bench) && !is_job
}

/// A mark that no other job opened anywhere has: by it the sheets of a job without a file are known.
pub(super) fn session() -> String {
    use std::sync::atomic::{AtomicU64, Ordering};
    static COUNT: AtomicU64 = AtomicU64::new(0);
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    let nanos = now.map_or(0, |d| d.as_nanos());
    format!("{}-{nanos}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed))
}

/// Puts a path at the head of those opened lately.
pub(super) fn remember(bench: &mut Bench, path: &Path) {
    const MOST: usize = 8;
    bench.recent.retain(|p| p != path);
    bench.recent.insert(0, path.to_owned());
    bench.recent.truncate(MOST);
}

/// Readings of lost motion come as text in columns.
fn is_survey(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv"))
}

/// A picture dropped where the ground tool is asked about is one of it.
fn is_of_tool(bench: &Bench, path: &Path) -> bool {
    let is_job = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
    let tool = bench.findings().and_then(|f| f.tool.as_ref());
    bench.stage == Stage::Tool && !is_job && tool.is_some_and(|t| t.purpose == shop::ToolFor::Nut)
}

/// Sets about reading a picture of the ground tool.
pub(super) fn read_ground(bench: &mut Bench, path: PathBuf) -> Vec<Effect> {
    bench.work = Work::Busy { what: "reading the picture of the tool".into(), done: 0.0 };
    vec![Effect::ReadGround(path)]
}

/// Sets about reading another picture of the job's screw.
pub(super) fn retake(bench: &mut Bench, path: PathBuf) -> Vec<Effect> {
    bench.retaking = true;
    bench.work = Work::Busy { what: "reading the new picture".into(), done: 0.0 };
    vec![Effect::Open(path)]
}

/// Puts the new picture in the place of the job's. What was entered stays; where things lie was said of the
/// old picture, and is found anew.
fn retaken(bench: &mut Bench, opened: Opened) -> Vec<Effect> {
    bench.work = Work::Idle;
    let Opened { job, home, loaded, levels, .. } = opened;
    let (Some(picture), Some(_), None) = (job.picture, &loaded, home) else {
        let text = "That is no picture: choose another picture of the same screw.";
        tell(bench, About::Opening, Tone::Wrong, text.into());
        return Vec::new();
    };
    bench.history.settle();
    bench.history.edit("retake the picture", |j| {
        j.picture = Some(picture);
        j.bar.at_px = None;
        // The same bar, laid anew.
        j.bar.drop_assumed |= j.bar.drop == BarDrop::SameSurface;
        j.thread.at_px = None;
        j.thread.points.clear();
        j.thread.excluded_px.clear();
    });
    (bench.loaded, bench.levels) = (loaded, levels);
    (bench.pointer, bench.point) = (Pointer::Look, None);
    bench.camera = Camera::default();
    bench.messages.clear();
    let text = "The new picture takes the place of the old one; what was entered stays. Undo takes the old \
                one back.";
    tell(bench, About::Opening, Tone::Done, text.into());
    bench.stage = Stage::Bar;
    bench.visited.insert(Stage::Bar);
    if bench.job().bar.width_mm.is_none() {
        bench.focus = Some(Field::BarWidth);
    }
    vec![Effect::Evaluate]
}

/// Opens what the file is: readings, a picture of the tool, or a job or picture to work on.
pub(super) fn open(bench: &mut Bench, path: PathBuf) -> Vec<Effect> {
    if is_survey(&path) {
        return vec![Effect::ReadSurvey(path)];
    }
    if is_of_tool(bench, &path) {
        return read_ground(bench, path);
    }
    leave_for(bench, Leaving::Open(path))
}

/// Sets about opening something, or closing the window; where unsaved work would be left for it, that is
/// asked first.
pub(super) fn leave_for(bench: &mut Bench, what: Leaving) -> Vec<Effect> {
    let joins = match &what {
        Leaving::Open(path) => joins(bench, path),
        Leaving::Paste(_) => takes_picture(bench),
        Leaving::New | Leaving::Demonstration(_) | Leaving::Recover(_) | Leaving::Quit => false,
    };
    if bench.unsaved() && !joins {
        bench.leaving = Some(what);
        return Vec::new();
    }
    begin(bench, what)
}

/// Leaves unsaved work for what was asked.
pub(super) fn leave(bench: &mut Bench) -> Vec<Effect> {
    match bench.leaving.take() {
        Some(what) => begin(bench, what),
        None => Vec::new(),
    }
}

/// Throws a job away that a crash left behind.
pub(super) fn forget(bench: &mut Bench, index: usize) -> Vec<Effect> {
    bench.forgetting = None;
    if index < bench.recovered.len() {
        vec![Effect::Forget(bench.recovered.remove(index).journal)]
    } else {
        Vec::new()
    }
}

/// Sets about it, whatever is left for it.
fn begin(bench: &mut Bench, what: Leaving) -> Vec<Effect> {
    bench.retaking = false;
    match what {
        Leaving::Open(path) => {
            bench.work = Work::Busy { what: "opening".into(), done: 0.0 };
            vec![Effect::Open(path)]
        }
        Leaving::New => {
            let job = Job { units: bench.usual_units, ..Job::default() };
            opened(bench, Opened { job, ..Opened::default() })
        }
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

/// Begins with an empty job in these units.
pub(super) fn begin_in(bench: &mut Bench, units: Units) {
    bench.usual_units = units;
    bench.history = History::new(Job { units, ..Job::default() });
    bench.saved = Arc::clone(bench.history.now());
}

/// Takes what was read.
pub(super) fn opened(bench: &mut Bench, opened: Opened) -> Vec<Effect> {
    if std::mem::take(&mut bench.retaking) {
        return retaken(bench, opened);
    }
    let Opened { mut job, home, loaded, levels, notes, path, recovered, demonstration, mark } =
        opened;
    // A demonstration and a job that was kept are jobs of their own.
    let picture_alone = home.is_none() && path.is_some() && loaded.is_some() && recovered.is_none();
    // What has no units of its own is shown in those that were chosen last.
    if picture_alone || demonstration {
        job.units = bench.usual_units;
    }
    let empty = Job { units: bench.units(), ..Job::default() };
    if picture_alone && takes_picture(bench) && **bench.job() != empty {
        // The picture of the job in hand was missing, or there was none yet: this is it.
        let before = bench.job().picture.clone();
        let same = |p: &PictureRef| job.picture.as_ref().is_some_and(|q| q.sha256 == p.sha256);
        let found_again = before.as_ref().is_some_and(same);
        let another = before.as_ref().is_some_and(|p| !p.sha256.is_empty() && !same(p));
        bench.history.edit("open the picture", |j| {
            j.picture.clone_from(&job.picture);
            if another {
                // The bar, and where things lie, were those of the other picture.
                (j.bar, j.view) = (BarSaid::default(), ViewWanted::default());
                j.thread.at_px = None;
                j.thread.points.clear();
                j.thread.excluded_px.clear();
            }
            if j.title.is_empty() {
                j.title = job.title;
            }
        });
        (bench.loaded, bench.levels) = (loaded, levels);
        bench.work = Work::Idle;
        bench.messages.clear();
        bench.camera = Camera::default();
        if found_again {
            let text = "This is the job's own picture: everything is as it was.";
            tell(bench, About::Opening, Tone::Done, text.into());
        }
        if another {
            let text = "This is not the picture the job was measured from. The rest of the job stays; its bar, \
                        and what was said of where things lie in the picture, are asked for anew. Undo takes \
                        the old one back.";
            tell(bench, About::Opening, Tone::Wrong, text.into());
        }
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
    bench.session = session();
    bench.taken = None;
    (bench.mark, bench.changed) = (mark, None);
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
