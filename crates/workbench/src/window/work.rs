//! Work away from the window: one thread that reads, measures and draws sheets, one that keeps the
//! job safe on the disk. Both answer with commands.

use super::command::{Command, Opened};
use super::ground_view::Seen;
use super::levels::Levels;
use super::settings::Settings;
use super::state::{About, Asked, Written};
use super::typed_path::{look_into, suggested_name};
use super::viewer::Viewer;
use crate::cli::today;
use eframe::egui::ColorImage;
use form::Said;
use job::{Findings, Job, Journal, Kept, Loaded, PictureRef, Recovered, TemplateError};
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
    Preview { job: Arc<Job>, findings: Arc<Findings> },
    Demonstrate(usize),
    Recover(Box<Recovered>),
    Evaluate { job: Arc<Job>, loaded: Option<Arc<Loaded>>, turn: u64 },
    Export { job: Arc<Job>, findings: Arc<Findings>, written: Written, by: Writer },
}

/// By what files that a job wrote before are known.
#[derive(Debug, Clone)]
pub struct Writer {
    /// The job's file.
    pub home: Option<PathBuf>,
    /// Its mark while it has none.
    pub session: String,
}

enum Keep {
    Save(PathBuf, Arc<Job>),
    Journal { job: Arc<Job>, home: Option<PathBuf>, instead_of: Option<PathBuf> },
    Clear,
    Forget(PathBuf),
    Settings(Settings),
}

/// The two threads, seen from the window.
pub struct Hands {
    tasks: Sender<Task>,
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
        let (tasks, todo) = channel();
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
                measurer.run(task);
                done.fetch_sub(1, Ordering::SeqCst);
                (measurer.voice.wake)();
            }
        })?;
        let voice = Voice { say, wake };
        let own = voice.clone();
        let folder = state_folder.clone();
        let done = Arc::clone(&open);
        std::thread::Builder::new().name("flanklight-keep".into()).spawn(move || {
            // Without a place for journals the window works on; only recovery is missing, and said.
            let mut journal = Journal::start(&state_folder).ok();
            let mut failing = false;
            for keep in to_keep {
                if journal.is_none() {
                    journal = Journal::start(&state_folder).ok();
                }
                keep_safe(keep, journal.as_ref(), &state_folder, &mut failing, &voice);
                done.fetch_sub(1, Ordering::SeqCst);
                (voice.wake)();
            }
        })?;
        Ok(Self { tasks, keeping, reports, turn, open, voice: own, folder })
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
    pub fn export(&self, job: Arc<Job>, findings: Arc<Findings>, written: Written, by: Writer) {
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
            let answer = match pages_to_print(&job, &findings, only, &folder) {
                Ok((pages, path)) => Command::Printed { pages, shown: viewer(&path), path },
                Err(text) => Command::Failed(About::Sheets, text),
            };
            voice.say(answer);
            done.fetch_sub(1, Ordering::SeqCst);
            (voice.wake)();
        };
        if let Err(e) = std::thread::Builder::new().name("flanklight-print".into()).spawn(print) {
            self.open.fetch_sub(1, Ordering::SeqCst);
            self.voice
                .say(Command::Failed(About::Sheets, format!("the pages cannot be drawn: {e}")));
        }
    }
    /// Saves the job.
    pub fn save(&self, path: PathBuf, job: Arc<Job>) {
        self.keep(Keep::Save(path, job));
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
                let Recovered { journal, home, job } = *left;
                let opened = with_picture(job, home, None);
                Command::Opened(Box::new(Opened { recovered: Some(journal), ..opened }))
            }
            Task::Evaluate { job, loaded, turn } => {
                match self.evaluate(&job, loaded.as_deref(), turn) {
                    Some(findings) => Command::Found(job, Arc::new(findings)),
                    None => Command::Stopped,
                }
            }
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
                    Ok(files) => Command::Exported(files),
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

fn keep_safe(
    keep: Keep,
    journal: Option<&Journal>,
    folder: &Path,
    failing: &mut bool,
    voice: &Voice,
) {
    match keep {
        Keep::Save(path, job) => match job::save(&job, &path) {
            Ok(()) => {
                if let Some(journal) = journal {
                    journal.clear();
                }
                voice.say(Command::Saved(path, job));
            }
            Err(e) => voice.say(Command::Failed(About::Saving, e.to_string())),
        },
        Keep::Journal { job, home, instead_of } => {
            let kept = match journal {
                Some(journal) => journal.keep(&job, home.as_deref()).map_err(|e| e.to_string()),
                None => Err("the folder cannot be made".into()),
            };
            if let (Ok(()), Some(old)) = (&kept, instead_of) {
                let _ = std::fs::remove_file(old);
            }
            // Said once, not every second; the job is in memory all the while.
            if kept.is_err() != *failing {
                *failing = kept.is_err();
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
        Keep::Clear => {
            if let Some(journal) = journal {
                journal.clear();
            }
        }
        Keep::Forget(path) => {
            let _ = std::fs::remove_file(path);
        }
    }
}

/// Longest text of readings, bytes.
const MOST_READINGS: u64 = 4_000_000;

fn read_survey(path: &Path) -> Result<Survey, String> {
    let named = |what: String| format!("{}: {what}", path.display());
    let about = std::fs::metadata(path).map_err(|e| named(e.to_string()))?;
    if about.len() > MOST_READINGS {
        return Err(named(format!("{} bytes are more than {MOST_READINGS}", about.len())));
    }
    let text = std::fs::read(path).map_err(|e| named(e.to_string()))?;
    shop::parse_survey(&String::from_utf8_lossy(&text)).map_err(|e| named(e.to_string()))
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
        let job = job::load(&path).map_err(|e| e.to_string())?;
        return Ok(with_picture(job, Some(path.clone()), Some(path)));
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
        recovered: None,
        demonstration: false,
    })
}

fn is_job(path: &Path) -> bool {
    use std::io::Read;
    let mut start = [0u8; 64];
    let Ok(n) = std::fs::File::open(path).and_then(|mut f| f.read(&mut start)) else {
        return false;
    };
    let start = start[..n].trim_ascii_start();
    start.starts_with(b"{") || path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"))
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
    Opened {
        job,
        home,
        loaded: loaded.map(Arc::new),
        levels,
        notes,
        path,
        recovered: None,
        demonstration: false,
    }
}

fn demonstration(index: usize, folder: &Path) -> Result<Opened, String> {
    let all = lamp::demonstrations();
    let shown = all.get(index).ok_or("there is no such demonstration")?;
    let folder = folder.join("demonstrations").join(shown.name);
    let (job, _) = crate::demonstration::write(shown, &folder)?;
    Ok(Opened { demonstration: true, ..with_picture(job, None, None) })
}
