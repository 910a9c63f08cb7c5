//! Work away from the window: one thread that reads, measures and draws sheets, one that saves the job,
//! and one that keeps it against a crash, so that a disk that hangs stops neither the others nor the
//! window. All answer with commands; a fault in one of them is a sentence, and the thread goes on.

use super::command::{Command, Opened};
use super::ground_view::Seen;
use super::levels::Levels;
use super::settings::Settings;
use super::state::{About, Asked, ToWrite};
use super::typed_path::{look_into, suggested_name};
use super::viewer::Viewer;
use crate::cli::today;
use crate::guard::caught;
use eframe::egui::ColorImage;
use form::Said;
use job::{
    Findings, Job, Journal, Kept, Loaded, Mark, PictureRef, Recovered, SaveError, TemplateError,
};
use shop::Survey;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// How often progress is told.
const PROGRESS_EVERY: Duration = Duration::from_millis(40);

/// Wakes the window when there is something to see.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

enum Task {
    Open(PathBuf),
    Picture(PathBuf),
    Survey(PathBuf),
    Ground(PathBuf),
    Paste(Arc<ColorImage>),
    Preview {
        job: Arc<Job>,
        findings: Arc<Findings>,
    },
    Demonstrate(usize),
    Recover(Box<Recovered>),
    Evaluate {
        job: Arc<Job>,
        loaded: Option<Arc<Loaded>>,
        turn: u64,
    },
    Export {
        job: Arc<Job>,
        findings: Arc<Findings>,
        written: ToWrite,
        by: Writer,
    },
    /// Ends in a fault (for tests).
    #[cfg(test)]
    Fault,
}

impl Task {
    /// What is not done when it ends in a fault.
    fn name(&self) -> (About, &'static str) {
        match self {
            Self::Open(_) | Self::Picture(_) | Self::Paste(_) | Self::Recover(_) => {
                (About::Opening, "Opening")
            }
            Self::Demonstrate(_) => (About::Opening, "The demonstration"),
            Self::Survey(_) => (About::Readings, "Reading the readings"),
            Self::Ground(_) => (About::Ground, "Reading the picture of the tool"),
            Self::Preview { .. } | Self::Export { .. } => (About::Sheets, "Drawing the sheets"),
            Self::Evaluate { .. } => (About::Other, "Working it out"),
            #[cfg(test)]
            Self::Fault => (About::Other, "Working it out"),
        }
    }
}

/// By what files that a job wrote before are known.
#[derive(Debug, Clone)]
pub struct Writer {
    /// The job's file.
    pub home: Option<PathBuf>,
    /// Its mark while it has none.
    pub session: String,
}

/// A job to be saved, over what its file held when it was read or saved last, if that is known.
struct Save {
    path: PathBuf,
    job: Arc<Job>,
    expected: Option<Mark>,
}

enum Keep {
    Journal {
        job: Arc<Job>,
        home: Option<PathBuf>,
        instead_of: Option<PathBuf>,
    },
    Clear,
    /// This job is safe in its file: what is kept of it needs no recovering.
    Saved(Arc<Job>),
    Forget(PathBuf),
    Settings(Settings),
}

/// The threads, seen from the window.
pub struct Hands {
    tasks: Sender<Task>,
    saving: Sender<Save>,
    keeping: Sender<Keep>,
    reports: Receiver<Command>,
    /// Counts requests to measure; older ones stop when it moves on.
    turn: Arc<AtomicU64>,
    /// Tasks not yet answered.
    open: Arc<AtomicUsize>,
    voice: Voice,
    /// Where journals, demonstrations and pages for printing live.
    folder: PathBuf,
}

impl Hands {
    /// Starts the threads; journals and demonstrations live in `state_folder`.
    ///
    /// # Errors
    /// The operating system's, when it gives no threads.
    pub fn start(wake: Wake, state_folder: PathBuf) -> std::io::Result<Self> {
        let (tasks, todo) = channel::<Task>();
        let (saving, to_save) = channel();
        let (keeping, to_keep) = channel();
        let (say, reports) = channel();
        let turn = Arc::new(AtomicU64::new(0));
        let open = Arc::new(AtomicUsize::new(0));
        let measurer = Measurer {
            kept: Kept::default(),
            tool: None,
            turn: Arc::clone(&turn),
            voice: Voice { say: say.clone(), wake: Arc::clone(&wake) },
            folder: state_folder.clone(),
        };
        let done = Arc::clone(&open);
        std::thread::Builder::new().name("flanklight-measure".into()).spawn(move || {
            let mut measurer = measurer;
            for task in todo {
                let (about, what) = task.name();
                if let Err(text) = caught(what, || measurer.run(task)) {
                    // What it had found so far may be half done.
                    (measurer.kept, measurer.tool) = (Kept::default(), None);
                    measurer.voice.say(Command::Failed(about, text));
                }
                done.fetch_sub(1, Ordering::SeqCst);
                (measurer.voice.wake)();
            }
        })?;
        let voice = Voice { say, wake };
        let own = voice.clone();
        let folder = state_folder.clone();
        let (done, saver, when_saved) = (Arc::clone(&open), voice.clone(), keeping.clone());
        std::thread::Builder::new().name("flanklight-save".into()).spawn(move || {
            for save in to_save {
                let saved = caught("Saving", || saved(&save));
                let answer = saved.unwrap_or_else(|text| Command::Failed(About::Saving, text));
                if let Command::Saved(..) = answer {
                    done.fetch_add(1, Ordering::SeqCst);
                    if when_saved.send(Keep::Saved(Arc::clone(&save.job))).is_err() {
                        done.fetch_sub(1, Ordering::SeqCst);
                    }
                }
                saver.say(answer);
                done.fetch_sub(1, Ordering::SeqCst);
                (saver.wake)();
            }
        })?;
        let done = Arc::clone(&open);
        std::thread::Builder::new().name("flanklight-keep".into()).spawn(move || {
            // Without a place for journals the window works on; only recovery is missing, and said.
            let mut journal = Journal::start(&state_folder).ok();
            let mut keeper = Keeper { failing: false, last: None };
            for keep in to_keep {
                if journal.is_none() {
                    journal = Journal::start(&state_folder).ok();
                }
                let kept = caught("Keeping the job against a crash", || {
                    keeper.keep(keep, journal.as_ref(), &state_folder, &voice);
                });
                if let Err(text) = kept {
                    voice.say(Command::Journal(Some(text)));
                }
                done.fetch_sub(1, Ordering::SeqCst);
                (voice.wake)();
            }
        })?;
        Ok(Self { tasks, saving, keeping, reports, turn, open, voice: own, folder })
    }

    /// What the threads have to say, oldest first.
    pub fn reports(&self) -> Vec<Command> {
        self.reports.try_iter().collect()
    }

    /// Whether every task was answered (for tests, and for closing).
    #[must_use]
    pub fn idle(&self) -> bool {
        self.open.load(Ordering::SeqCst) == 0
    }

    /// Reads a job or a picture.
    pub fn open(&self, path: PathBuf) {
        self.task(Task::Open(path));
    }
    /// Reads a picture again.
    pub fn picture(&self, path: PathBuf) {
        self.task(Task::Picture(path));
    }
    /// Reads readings of lost motion.
    pub fn survey(&self, path: PathBuf) {
        self.task(Task::Survey(path));
    }
    /// Reads a picture of the ground tool.
    pub fn ground(&self, path: PathBuf) {
        self.task(Task::Ground(path));
    }
    /// Keeps a pasted picture as a file, and opens that.
    pub fn paste(&self, image: Arc<ColorImage>) {
        self.task(Task::Paste(image));
    }
    /// Draws the sheets for looking at.
    pub fn preview(&self, job: Arc<Job>, findings: Arc<Findings>) {
        self.task(Task::Preview { job, findings });
    }
    /// Casts and reads a demonstration.
    pub fn demonstrate(&self, index: usize) {
        self.task(Task::Demonstrate(index));
    }
    /// Reads the picture of a recovered job.
    pub fn recover(&self, left: Box<Recovered>) {
        self.task(Task::Recover(left));
    }
    /// Finds out what follows from the job; what was being found out stops.
    pub fn evaluate(&self, job: Arc<Job>, loaded: Option<Arc<Loaded>>) {
        let turn = self.turn.fetch_add(1, Ordering::SeqCst) + 1;
        self.task(Task::Evaluate { job, loaded, turn });
    }
    /// Stops measuring.
    pub fn cancel(&self) {
        self.turn.fetch_add(1, Ordering::SeqCst);
    }
    /// Writes the sheets.
    pub fn export(&self, job: Arc<Job>, findings: Arc<Findings>, written: ToWrite, by: Writer) {
        self.task(Task::Export { job, findings, written, by });
    }
    /// Looks what is in a folder; on a thread of its own, because folders may lie far away.
    pub fn list(&self, folder: PathBuf, asked: Asked) {
        let voice = self.voice.clone();
        // A list that never comes is only a convenience missing.
        let _ = std::thread::Builder::new()
            .name("flanklight-list".into())
            .spawn(move || voice.say(Command::Listed(look_into(&folder, asked))));
    }
    /// Draws the pages, or the one at `only`, as one PDF and has `viewer` show it; on a thread of its
    /// own, because viewers take their time.
    pub fn print(
        &self,
        job: Arc<Job>,
        findings: Arc<Findings>,
        only: Option<usize>,
        viewer: Viewer,
    ) {
        self.open.fetch_add(1, Ordering::SeqCst);
        let (voice, folder) = (self.voice.clone(), self.folder.clone());
        let done = Arc::clone(&self.open);
        let print = move || {
            let answer = caught("Drawing the pages", || {
                match pages_to_print(&job, &findings, only, &folder) {
                    Ok((pages, path)) => Command::Printed { pages, shown: viewer(&path), path },
                    Err(text) => Command::Failed(About::Sheets, text),
                }
            });
            voice.say(answer.unwrap_or_else(|text| Command::Failed(About::Sheets, text)));
            done.fetch_sub(1, Ordering::SeqCst);
            (voice.wake)();
        };
        if let Err(e) = std::thread::Builder::new().name("flanklight-print".into()).spawn(print) {
            self.open.fetch_sub(1, Ordering::SeqCst);
            self.voice
                .say(Command::Failed(About::Sheets, format!("the pages cannot be drawn: {e}")));
        }
    }
    /// Saves the job over what its file held last; whatever is there, where that is not known.
    pub fn save(&self, path: PathBuf, job: Arc<Job>, expected: Option<Mark>) {
        self.open.fetch_add(1, Ordering::SeqCst);
        if self.saving.send(Save { path, job, expected }).is_err() {
            self.open.fetch_sub(1, Ordering::SeqCst);
        }
    }
    /// Keeps the job as it is against a crash; when that is done, `instead_of`, what an earlier crash left
    /// of it, is thrown away.
    pub fn journal(&self, job: Arc<Job>, home: Option<PathBuf>, instead_of: Option<PathBuf>) {
        self.keep(Keep::Journal { job, home, instead_of });
    }
    /// Keeps what was set for the window itself.
    pub fn settings(&self, settings: Settings) {
        self.keep(Keep::Settings(settings));
    }
    /// Nothing needs recovering.
    pub fn clear_journal(&self) {
        self.keep(Keep::Clear);
    }
    /// Throws away what a crash left behind.
    pub fn forget(&self, journal: PathBuf) {
        self.keep(Keep::Forget(journal));
    }

    fn task(&self, task: Task) {
        self.open.fetch_add(1, Ordering::SeqCst);
        if self.tasks.send(task).is_err() {
            self.open.fetch_sub(1, Ordering::SeqCst);
        }
    }

    fn keep(&self, keep: Keep) {
        self.open.fetch_add(1, Ordering::SeqCst);
        if self.keeping.send(keep).is_err() {
            self.open.fetch_sub(1, Ordering::SeqCst);
        }
    }
}

#[derive(Clone)]
struct Voice {
    say: Sender<Command>,
    wake: Wake,
}

impl Voice {
    fn say(&self, command: Command) {
        // Nobody listens any more when the window is closing.
        let _ = self.say.send(command);
        (self.wake)();
    }
}

struct Measurer {
    kept: Kept,
    /// The picture of the ground tool looked at last.
    tool: Option<Arc<Loaded>>,
    turn: Arc<AtomicU64>,
    voice: Voice,
    folder: PathBuf,
}

impl Measurer {
    fn run(&mut self, task: Task) {
        let answer = match task {
            Task::Open(path) => match opened(&path) {
                Ok(opened) => Command::Opened(Box::new(opened)),
                Err(text) => Command::NotOpened(text),
            },
            Task::Picture(path) => Command::PictureRead(read_picture(&path)),
            Task::Survey(path) => match read_survey(&path) {
                Ok(said) => Command::SurveyRead(Box::new(said)),
                Err(text) => Command::Failed(About::Readings, text),
            },
            Task::Ground(path) => match tool_picture(&mut self.tool, &path, "") {
                Ok(loaded) => Command::GroundRead(PictureRef {
                    path: loaded.path.clone(),
                    sha256: loaded.sha256.clone(),
                }),
                Err(text) => Command::Failed(About::Ground, text),
            },
            Task::Paste(image) => match pasted(&image, &self.folder) {
                Ok(opened) => Command::Opened(Box::new(opened)),
                Err(text) => Command::NotOpened(text),
            },
            Task::Preview { job, findings } => {
                let pages = super::preview::pages(&job, &findings, &today());
                Command::Previewed(job, pages)
            }
            Task::Demonstrate(index) => match demonstration(index, &self.folder) {
                Ok(opened) => Command::Opened(Box::new(opened)),
                Err(text) => Command::NotOpened(text),
            },
            Task::Recover(left) => {
                let Recovered { journal, home, job, .. } = *left;
                let opened = with_picture(job, home, None);
                Command::Opened(Box::new(Opened { recovered: Some(journal), ..opened }))
            }
            Task::Evaluate { job, loaded, turn } => {
                match self.evaluate(&job, loaded.as_deref(), turn) {
                    Some(findings) => Command::Found(job, Arc::new(findings)),
                    None => Command::Stopped,
                }
            }
            #[cfg(test)]
            Task::Fault => std::panic::panic_any("planted"),
            Task::Export { job, findings, written, by } => {
                let today = today();
                let to = job::ExportTo {
                    home: by.home.as_deref(),
                    session: &by.session,
                    only: written.only.as_slice(),
                    replace: written.replace,
                    ..job::ExportTo::new(&written.folder, &today)
                };
                match job::export(&job, &findings, &to) {
                    Ok(written) => Command::Exported(Box::new(written)),
                    Err(e @ TemplateError::Taken { .. }) => Command::Taken(written, e.to_string()),
                    Err(e) => Command::Failed(About::Sheets, e.said().in_units(job.units)),
                }
            }
        };
        self.voice.say(answer);
    }

    fn evaluate(&mut self, job: &Job, loaded: Option<&Loaded>, turn: u64) -> Option<Findings> {
        let wanted = || self.turn.load(Ordering::SeqCst) == turn;
        if !wanted() {
            return None;
        }
        let told = Mutex::new(None::<Instant>);
        let voice = &self.voice;
        let tell = |what: &str, done: f32| {
            // Whoever finds it taken leaves the telling to the other.
            if let Ok(mut told) = told.try_lock()
                && told.is_none_or(|t| t.elapsed() > PROGRESS_EVERY)
            {
                *told = Some(Instant::now());
                voice.say(Command::Progress(what.into(), done));
            }
            self.turn.load(Ordering::SeqCst) == turn
        };
        let mut findings = self.kept.evaluate(job, loaded, &|done| tell("measuring", done)).ok()?;
        if let Some(said) = &job.ground.picture {
            let picture = tool_picture(&mut self.tool, &said.path, &said.sha256);
            let seen = picture.as_deref().map_err(String::as_str);
            let progress = |done| tell("checking the ground tool", done);
            self.kept.check_ground(job, &mut findings, seen, &progress).ok()?;
            let shown = findings.ground.as_ref().zip(picture.as_ref().ok());
            let shown = shown.map(|(g, l)| Arc::new(Seen::of(&l.picture.grey, &g.found)));
            voice.say(Command::GroundSeen(shown));
        }
        Some(findings)
    }
}

/// Writes the pages for printing; how many they are, and their file.
fn pages_to_print(
    job: &Job,
    findings: &Findings,
    only: Option<usize>,
    folder: &Path,
) -> Result<(usize, PathBuf), String> {
    let sheets = job::sheets_of(job, findings, job.sheets.paper, &today());
    let mut pages: Vec<sheets::Drawing> = sheets
        .map_err(|e| e.said().in_units(job.units))?
        .into_iter()
        .flat_map(|s| s.pages)
        .collect();
    let stem = suggested_name(job).replace(".flanklight.json", "");
    let name = match only {
        Some(i) if i < pages.len() => {
            pages = vec![pages.swap_remove(i)];
            format!("{stem}-page-{}.pdf", i + 1)
        }
        _ => format!("{stem}-all.pdf"),
    };
    let bytes = sheets::pdf(&pages).map_err(|e| e.to_string())?;
    let folder = folder.join("prints");
    let path = folder.join(name);
    std::fs::create_dir_all(&folder)
        .and_then(|()| job::write_whole(&path, &bytes))
        .map_err(|e| format!("the pages cannot be written to {}: {e}", path.display()))?;
    Ok((pages.len(), path))
}

/// Saves a job, or tells what stands in its way.
fn saved(save: &Save) -> Command {
    match job::save_over(&save.job, &save.path, save.expected.as_ref()) {
        Ok(mark) => Command::Saved(save.path.clone(), Arc::clone(&save.job), mark),
        Err(SaveError::Changed { .. }) => match job::load_marked(&save.path) {
            Ok((theirs, mark)) => {
                Command::Changed { path: save.path.clone(), theirs: Arc::new(theirs), mark }
            }
            Err(e) => Command::Failed(About::Saving, e.to_string()),
        },
        Err(e) => Command::Failed(About::Saving, e.to_string()),
    }
}

/// What the thread that keeps jobs against a crash remembers.
struct Keeper {
    failing: bool,
    /// What is in the journal.
    last: Option<Arc<Job>>,
}

impl Keeper {
    fn keep(&mut self, keep: Keep, journal: Option<&Journal>, folder: &Path, voice: &Voice) {
        match keep {
            Keep::Journal { job, home, instead_of } => {
                let kept = match journal {
                    Some(journal) => journal.keep(&job, home.as_deref()).map_err(|e| e.to_string()),
                    None => Err("the folder cannot be made".into()),
                };
                if let (Ok(()), Some(old)) = (&kept, instead_of) {
                    let _ = std::fs::remove_file(old);
                }
                self.last = Some(job);
                // Said once, not every second; the job is in memory all the while.
                if kept.is_err() != self.failing {
                    self.failing = kept.is_err();
                    voice.say(Command::Journal(kept.err().map(|e| {
                        format!(
                            "The job cannot be kept against a crash in {}: {e}. Save it yourself, \
                             elsewhere if need be; nothing is lost while the window stays open.",
                            folder.display()
                        )
                    })));
                }
            }
            Keep::Settings(settings) => settings.keep(folder),
            // What was changed while it was being saved is kept on.
            Keep::Saved(job) if self.last.as_ref().is_some_and(|last| **last != *job) => {}
            Keep::Saved(_) | Keep::Clear => {
                self.last = None;
                if let Some(journal) = journal {
                    journal.clear();
                }
            }
            Keep::Forget(path) => {
                let _ = std::fs::remove_file(path);
            }
        }
    }
}

fn read_survey(path: &Path) -> Result<Survey, String> {
    let named = |what: String| format!("{}: {what}", path.display());
    let text = job::read_text(path, crate::cli::MOST_READINGS_BYTES);
    let text = text.map_err(|e| named(e.to_string()))?;
    shop::parse_survey(&text).map_err(|e| named(e.to_string()))
}

/// The picture of a ground tool: the one looked at last, when it is that. With a hash that is not its
/// own, it is another picture than the job was made with.
fn tool_picture(
    kept: &mut Option<Arc<Loaded>>,
    path: &Path,
    sha256: &str,
) -> Result<Arc<Loaded>, String> {
    if let Some(loaded) = kept.as_ref().filter(|l| !sha256.is_empty() && l.sha256 == sha256) {
        return Ok(Arc::clone(loaded));
    }
    let loaded = Loaded::open(path).map_err(|e| naming(path, &e))?;
    if !sha256.is_empty() && loaded.sha256 != sha256 {
        return Err(format!(
            "{} is not the picture of the tool this job was made with: its contents changed. \
             Choose it again.",
            path.display()
        ));
    }
    let loaded = Arc::new(loaded);
    *kept = Some(Arc::clone(&loaded));
    Ok(loaded)
}

fn read_picture(path: &Path) -> Result<(Arc<Loaded>, Arc<Levels>), String> {
    let loaded =
        Loaded::open(path).map_err(|e| format!("The job's picture cannot be shown: {e}"))?;
    let levels = Arc::new(Levels::of(&loaded.picture.grey));
    Ok((Arc::new(loaded), levels))
}

/// A pasted picture becomes a file, so that the job finds it again.
fn pasted(image: &ColorImage, folder: &Path) -> Result<Opened, String> {
    let failed = |e: String| format!("the pasted picture cannot be kept: {e}");
    let [width, height] = image.size;
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width as u32, height as u32);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let rgb: Vec<u8> = image.pixels.iter().flat_map(|c| [c.r(), c.g(), c.b()]).collect();
    encoder
        .write_header()
        .and_then(|mut writer| writer.write_image_data(&rgb))
        .map_err(|e| failed(e.to_string()))?;
    let folder = folder.join("pasted");
    std::fs::create_dir_all(&folder).map_err(|e| failed(e.to_string()))?;
    let path = folder.join(format!("pasted-{}.png", &job::sha256_of(&bytes)[..12]));
    job::write_whole(&path, &bytes).map_err(|e| failed(e.to_string()))?;
    opened(&path)
}

/// What went wrong with a file, with its name: several may have been dropped or tried.
fn naming(path: &Path, e: &impl std::fmt::Display) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let text = e.to_string();
    if text.contains(&*name) { text } else { format!("{name}: {text}") }
}

/// Reads what a path names: a job, by its first bytes, or a picture.
fn opened(path: &Path) -> Result<Opened, String> {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    if is_job(&path) {
        let (job, mark) = job::load_marked(&path).map_err(|e| e.to_string())?;
        let opened = with_picture(job, Some(path.clone()), Some(path));
        return Ok(Opened { mark: Some(mark), ..opened });
    }
    let loaded = Loaded::open(&path).map_err(|e| naming(&path, &e))?;
    let job = Job::on_picture(&path, loaded.sha256.clone());
    let levels = Arc::new(Levels::of(&loaded.picture.grey));
    Ok(Opened {
        job,
        home: None,
        loaded: Some(Arc::new(loaded)),
        levels: Some(levels),
        notes: Vec::new(),
        path: Some(path),
        ..Opened::default()
    })
}

fn is_job(path: &Path) -> bool {
    let asked = path.to_owned();
    let start = job::patiently(job::PATIENCE, move || {
        use std::io::Read;
        let mut start = Vec::new();
        if asked.is_file() {
            let file = std::fs::File::open(&asked).ok()?;
            file.take(64).read_to_end(&mut start).ok()?;
        }
        Some(start)
    });
    let Some(start) = start.ok().flatten() else { return false };
    start.trim_ascii_start().starts_with(b"{")
        || path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"))
}

/// A job with its picture; a picture that is missing is a note, not an end.
fn with_picture(job: Job, home: Option<PathBuf>, path: Option<PathBuf>) -> Opened {
    let mut notes: Vec<String> = Vec::new();
    let unknown = job::names_of(&job.unknown);
    if !unknown.is_empty() {
        notes.push(format!(
            "The job file holds fields this version does not know; they are kept: {}.",
            unknown.join(", ")
        ));
    }
    let loaded = job.picture.as_ref().and_then(|picture| match Loaded::open(&picture.path) {
        Ok(loaded) => {
            if !picture.sha256.is_empty() && loaded.sha256 != picture.sha256 {
                notes.push(format!(
                    "{} is not the picture this job was made with: its contents changed.",
                    picture.path.display()
                ));
            }
            Some(loaded)
        }
        Err(e) => {
            notes.push(format!("The job's picture cannot be shown: {e}"));
            None
        }
    });
    let levels = loaded.as_ref().map(|l| Arc::new(Levels::of(&l.picture.grey)));
    Opened { job, home, loaded: loaded.map(Arc::new), levels, notes, path, ..Opened::default() }
}

fn demonstration(index: usize, folder: &Path) -> Result<Opened, String> {
    let all = lamp::demonstrations();
    let shown = all.get(index).ok_or("there is no such demonstration")?;
    let folder = folder.join("demonstrations").join(shown.name);
    let (job, _) = crate::demonstration::write(shown, &folder)?;
    Ok(Opened { demonstration: true, ..with_picture(job, None, None) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(hands: &Hands) -> Vec<Command> {
        while !hands.idle() {
            std::thread::yield_now();
        }
        hands.reports()
    }

    #[test]
    fn after_a_fault_the_thread_works_on() {
        let dir = tempfile::tempdir().unwrap();
        let hands = Hands::start(Arc::new(|| {}), dir.path().to_owned()).unwrap();
        hands.task(Task::Fault);
        let said = settled(&hands);
        assert!(
            matches!(said.as_slice(), [Command::Failed(About::Other, text)] if text.contains("fault of this program")),
            "{said:?}"
        );
        hands.evaluate(Arc::new(Job::default()), None);
        assert!(settled(&hands).iter().any(|c| matches!(c, Command::Found(..))));
    }

    #[test]
    fn a_file_that_another_changed_is_not_written_over_and_what_changed_meanwhile_stays_kept() {
        let dir = tempfile::tempdir().unwrap();
        let state = dir.path().join("state");
        let file = dir.path().join("a.json");
        let hands = Hands::start(Arc::new(|| {}), state.clone()).unwrap();
        let titled = |title: &str| Arc::new(Job { title: title.into(), ..Job::default() });
        hands.save(file.clone(), titled("one"), Some(Mark::default()));
        let said = settled(&hands);
        let [Command::Saved(_, _, mark)] = said.as_slice() else { panic!("{said:?}") };
        job::save(&titled("another's"), &file).unwrap();
        hands.journal(titled("mine"), Some(file.clone()), None);
        hands.save(file.clone(), titled("mine"), Some(mark.clone()));
        let said = settled(&hands);
        let [Command::Changed { theirs, .. }] = said.as_slice() else { panic!("{said:?}") };
        assert_eq!(theirs.title, "another's");
        assert_eq!(job::load(&file).unwrap().title, "another's");
        let journals = || std::fs::read_dir(&state).unwrap().count();
        assert_eq!(journals(), 1);
        // Saved is an older state than the one that is kept: that stays.
        hands.save(file.clone(), titled("older"), None);
        settled(&hands);
        assert_eq!(journals(), 1);
        hands.save(file.clone(), titled("mine"), None);
        settled(&hands);
        assert_eq!(journals(), 0);
    }

    #[cfg(unix)]
    #[test]
    fn a_pipe_is_not_waited_for() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["pipe.json", "pipe.jpg", "pipe.csv"] {
            let pipe = dir.path().join(name);
            assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
            let text = match name.ends_with("csv") {
                true => read_survey(&pipe).unwrap_err(),
                false => opened(&pipe).unwrap_err(),
            };
            assert!(text.contains("a pipe or a device"), "{text}");
        }
    }
}
