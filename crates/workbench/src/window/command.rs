//! Everything that can be asked of the window, and the one place where it is done.

use super::arrived;
use super::changed;
use super::edit::{self, Edit};
use super::evidence;
use super::field::Field;
use super::ground_view::Seen;
use super::guide::{self, Guide};
use super::levels::Levels;
use super::news::tell;
use super::opening;
use super::preview::Page;
use super::stage::Stage;
use super::state::{
    About, Asked, Bench, Leaving, Offers, Pointer, Shown, Strip, ToWrite, Tone, Work,
};
use super::taking;
use super::text_size;
use super::thread_name;
use super::typed_path;
use super::way;
use eframe::egui::ColorImage;
use job::{Duty, Findings, History, Job, Loaded, Mark, PictureRef, Recovered, Written};
use shop::Survey;
use std::path::PathBuf;
use std::sync::Arc;

/// Something the person, or work that ended, asks for.
#[derive(Debug)]
pub enum Command {
    /// A change of the job.
    Edit(Edit),
    /// Take the last change back.
    Undo,
    /// Do it again.
    Redo,
    /// The next change is a step of its own, whatever it is like.
    Settle,
    /// Go to a stage.
    GoTo(Stage),
    /// So many stages on, or back.
    Step(isize),
    /// Where the coloured button leads.
    Onward,
    /// Text and everything else larger or smaller.
    Text(TextSize),
    /// Take a pointer in hand.
    Take(Pointer),
    /// Show shadow or section.
    Show(Shown),
    /// Show this under the picture.
    Strip(Strip),
    /// Compare with this candidate.
    Compare(usize),
    /// Take the thread of this name.
    Named(String),
    /// Typed text is given up.
    Untype(Field),
    /// Use this train of wheels.
    Train(usize),
    /// Set out the blank, or cut the thread.
    SetOut(bool),
    /// Look at this page of the sheets.
    Page(usize),
    /// Turn the picture to this angle, radians, counter-clockwise.
    Turn(f64),
    /// Choose a clicked point.
    Choose(Option<usize>),
    /// The entry that was to be typed in has the keyboard.
    Focused,
    /// Text was typed.
    Type(Field, String),
    /// Typed text is to be taken; after Enter the keyboard stays there when it cannot be.
    Enter {
        /// The entry.
        field: Field,
        /// Whether by the key, rather than by going elsewhere.
        by_key: bool,
    },
    /// Ask for a file.
    Ask(Asked),
    /// The desktop has no dialog: the path is typed.
    TypePath(Asked),
    /// The path typed so far.
    PathText(String),
    /// What there is in the folder of a path that is typed.
    Listed(Offers),
    /// The typed path is to be taken.
    PathDone,
    /// No path after all.
    PathDropped,
    /// Open a job or a picture.
    Open(PathBuf),
    /// Read a survey of lost motion.
    OpenSurvey(PathBuf),
    /// Check the ground tool by this picture.
    OpenGround(PathBuf),
    /// Put this picture in the place of the job's.
    Retake(PathBuf),
    /// A picture was pasted.
    Paste(Arc<ColorImage>),
    /// Begin an empty job.
    New,
    /// Show a demonstration.
    Demonstrate(usize),
    /// Save the job where it lives; asks where when it has no home.
    Save,
    /// Save the job here.
    SaveAs(PathBuf),
    /// Write the sheets into this folder.
    Export(PathBuf),
    /// Write the sheet that is shown into this folder.
    ExportSheet(PathBuf),
    /// Files of another job have the names of these sheets.
    Taken(ToWrite, String),
    /// Replace them.
    Replace,
    /// Leave them as they are.
    KeepTaken,
    /// Show all pages, or the one at this place, in the desktop's viewer, which prints.
    Print(Option<usize>),
    /// Leave unsaved work.
    Leave,
    /// Save it, and then do what it was to be left for.
    SaveFirst,
    /// Stay with it.
    Stay,
    /// The window is to be closed.
    Quit,
    /// Stop what is being worked on.
    Cancel,
    /// Put a message away.
    Dismiss(usize),
    /// Put all messages away.
    DismissAll,
    /// Show the guide at the page of the step, or hide it.
    Help(bool),
    /// Go to this page of the guide.
    GuidePage(usize),
    /// Look for this in the guide.
    GuideSought(String),
    /// Go on with a job a crash left behind.
    Recover(usize),
    /// Ask whether a job that a crash left behind is to be thrown away; or not after all.
    Forgetting(Option<usize>),
    /// Throw a job away that a crash left behind.
    Forget(usize),
    /// What is said of journals that cannot be read was understood.
    Lost,
    /// Something was read.
    Opened(Box<Opened>),
    /// Something could not be read.
    NotOpened(String),
    /// The picture of an earlier or later step was read again, or could not be.
    PictureRead(Result<(Arc<Loaded>, Arc<Levels>), String>),
    /// A survey was read.
    SurveyRead(Box<Survey>),
    /// A picture of the ground tool was read.
    GroundRead(PictureRef),
    /// The ground tool in its picture, to be shown.
    GroundSeen(Option<Arc<Seen>>),
    /// The pages as they will print, and the findings they were drawn from.
    Previewed(Arc<Job>, Result<Vec<Page>, String>),
    /// The job cannot be kept against a crash, or can again.
    Journal(Option<String>),
    /// How far the work is.
    Progress(String, f32),
    /// Findings are there.
    Found(Arc<Job>, Arc<Findings>),
    /// Work was stopped.
    Stopped,
    /// The job was saved.
    Saved(PathBuf, Arc<Job>, Mark),
    /// The job was not saved: its file was changed by another since it was read.
    Changed {
        /// The file.
        path: PathBuf,
        /// What it holds.
        theirs: Arc<Job>,
        /// Its mark.
        mark: Mark,
    },
    /// Which of two states of the job is kept; `None` decides nothing.
    Keep(Option<Which>),
    /// Sheets were written.
    Exported(Box<Written>),
    /// Pages for printing were written; how many, where, and why no viewer shows them, if none does.
    Printed {
        /// Number of pages.
        pages: usize,
        /// The file.
        path: PathBuf,
        /// What the desktop said.
        shown: Result<(), String>,
    },
    /// Something could not be done.
    Failed(About, String),
}

/// Of a job that was changed here and in its file, what is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// What is said here.
    Mine,
    /// What the file holds.
    Theirs,
    /// The changes of both.
    Both,
}

/// How large text is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextSize {
    /// One step larger.
    Larger,
    /// One step smaller.
    Smaller,
    /// As it is at first.
    Usual,
}

/// A job and its picture, read.
#[derive(Debug, Default)]
pub struct Opened {
    /// The job.
    pub job: Job,
    /// Its file; `None` for a picture or a demonstration.
    pub home: Option<PathBuf>,
    /// The picture; `None` when it is missing.
    pub loaded: Option<Arc<Loaded>>,
    /// The picture as it is drawn.
    pub levels: Option<Arc<Levels>>,
    /// What to know: missing picture, fields nobody knows.
    pub notes: Vec<String>,
    /// What was opened, for the list of recent ones.
    pub path: Option<PathBuf>,
    /// What a crash left behind: nobody saved it yet.
    pub recovered: Option<PathBuf>,
    /// An invented thread, to look round in.
    pub demonstration: bool,
    /// What its file held.
    pub mark: Option<Mark>,
}

/// Work that is done away from the window.
#[derive(Debug, Clone)]
pub enum Effect {
    /// Read a job or a picture.
    Open(PathBuf),
    /// Read a picture again.
    Picture(PathBuf),
    /// Read a survey.
    ReadSurvey(PathBuf),
    /// Read a picture of the ground tool.
    ReadGround(PathBuf),
    /// Keep a pasted picture and open it.
    Paste(Arc<ColorImage>),
    /// Draw the sheets for looking at.
    Preview,
    /// Read a demonstration.
    Demonstrate(usize),
    /// Read the picture of a recovered job.
    Recover(Box<Recovered>),
    /// Find out what follows from the job.
    Evaluate,
    /// Stop.
    Cancel,
    /// Ask the desktop for a file.
    Dialog(Asked),
    /// Look what is in a folder.
    List(PathBuf, Asked),
    /// Save the job here, over what the file held last, if that is known.
    Save(PathBuf, Option<Mark>),
    /// Write sheets.
    Export(ToWrite),
    /// Have all pages, or one, shown for printing.
    Print(Option<usize>),
    /// Throw a journal away.
    Forget(PathBuf),
    /// Close the window.
    Quit,
}

/// Does what `command` asks; what remains to be done elsewhere is returned. One line for each command:
/// what takes more is a function of its own.
pub fn apply(bench: &mut Bench, command: Command) -> Vec<Effect> {
    use Command as C;
    typed_path::let_go(bench, &command);
    match command {
        // The job.
        C::Edit(edit) => return self::edit(bench, &edit),
        C::Undo => return travel(bench, History::undo),
        C::Redo => return travel(bench, History::redo),
        C::Settle => bench.history.settle(),
        C::Compare(index) => return compare(bench, index),
        C::Train(index) => return use_train(bench, index),
        C::Named(name) => return thread_name::chosen(bench, &name),
        C::Untype(field) => forget(bench, &[field]),
        C::Type(field, text) => type_in(bench, field, text),
        C::Enter { field, by_key } => return enter(bench, field, by_key),
        // The way through it.
        C::GoTo(stage) => return go_to(bench, stage),
        C::Step(by) => return step(bench, by),
        C::Onward => return onward(bench),
        // What only changes the look.
        C::Text(size) => text_size::set(bench, size),
        C::Take(pointer) => bench.pointer = pointer,
        C::Show(shown) => bench.shown = shown,
        C::Strip(strip) => bench.strip = strip,
        C::SetOut(on) => bench.setting_out = on,
        C::Page(index) => bench.page = index,
        C::Turn(rad) => bench.camera.turn_rad = rad,
        C::Choose(point) => choose(bench, point),
        C::Focused => bench.focus = None,
        C::Help(on) => {
            bench.help = on;
            bench.guide = Guide { page: guide::page_of(bench.stage), ..Guide::default() };
        }
        C::GuidePage(page) => bench.guide.page = page,
        C::GuideSought(text) => look_for(bench, text),
        C::Dismiss(index) => dismiss(bench, index),
        C::DismissAll => bench.messages.clear(),
        // Paths.
        C::Ask(asked) => return ask(bench, asked),
        C::TypePath(asked) => return typed_path::begin(bench, asked),
        C::PathText(text) => return typed_path::typed(bench, text),
        C::Listed(offers) => typed_path::listed(bench, offers),
        C::PathDone => return typed_path::done(bench),
        C::PathDropped => (bench.typed_path, bench.once_saved) = (None, None),
        // What opens and leaves.
        C::Open(path) => return opening::open(bench, path),
        C::OpenSurvey(path) => return vec![Effect::ReadSurvey(path)],
        C::OpenGround(path) => return opening::read_ground(bench, path),
        C::Retake(path) => return opening::retake(bench, path),
        C::Paste(image) => return opening::leave_for(bench, Leaving::Paste(image)),
        C::New => return opening::leave_for(bench, Leaving::New),
        C::Demonstrate(i) => return opening::leave_for(bench, Leaving::Demonstration(i)),
        C::Recover(index) => return opening::leave_for(bench, Leaving::Recover(index)),
        C::Forgetting(index) => bench.forgetting = index,
        C::Forget(index) => return opening::forget(bench, index),
        C::Lost => bench.lost.clear(),
        C::Quit => return opening::leave_for(bench, Leaving::Quit),
        C::Leave => return opening::leave(bench),
        C::SaveFirst => {
            bench.once_saved = bench.leaving.take();
            return save(bench);
        }
        C::Stay => (bench.leaving, bench.once_saved) = (None, None),
        // Files and paper.
        C::Save => return save(bench),
        C::SaveAs(path) => return vec![changed::save_at(bench, path)],
        C::Export(folder) => return export(bench, folder, None),
        C::ExportSheet(folder) => {
            let shown = shown_sheet(bench);
            return export(bench, folder, shown);
        }
        C::Taken(written, why) => {
            bench.work = Work::Idle;
            bench.taken = Some((written, why));
        }
        C::Replace => return replace(bench),
        C::KeepTaken => bench.taken = None,
        C::Print(page) => return draw(bench, "drawing the pages", Effect::Print(page)),
        // What the threads report.
        C::Opened(opened) => return opening::opened(bench, *opened),
        C::NotOpened(text) => arrived::failed(bench, About::Opening, text),
        C::PictureRead(read) => return arrived::picture(bench, read),
        C::SurveyRead(said) => return arrived::survey(bench, said),
        C::GroundRead(picture) => return arrived::ground(bench, picture),
        C::GroundSeen(seen) => bench.ground = seen,
        C::Previewed(job, pages) => bench.preview = Some((job, pages)),
        C::Journal(trouble) => arrived::journal(bench, trouble),
        C::Progress(what, done) => bench.work = Work::Busy { what, done },
        C::Found(job, findings) => return arrived::findings(bench, job, findings),
        C::Saved(path, job, mark) => return arrived::saved(bench, path, job, mark),
        C::Changed { path, theirs, mark } => changed::begin(bench, path, theirs, mark),
        C::Keep(which) => return changed::settle(bench, which),
        C::Exported(written) => arrived::exported(bench, &written),
        C::Printed { pages, path, shown } => arrived::printed(bench, pages, &path, shown),
        C::Failed(about, text) => arrived::failed(bench, about, text),
        C::Cancel => return vec![Effect::Cancel],
        C::Stopped => bench.work = Work::Idle,
    }
    Vec::new()
}

/// Goes to a stage, and begins there.
fn go_to(bench: &mut Bench, stage: Stage) -> Vec<Effect> {
    if bench.stage != stage {
        bench.visits = bench.visits.wrapping_add(1);
    }
    bench.stage = stage;
    bench.visited.insert(stage);
    // What was done is known by now; what went wrong stays until it was read.
    bench.messages.retain(|m| m.tone == Tone::Wrong);
    bench.focus = first_entry(bench, stage);
    let fits = matches!(
        (bench.pointer, stage),
        (Pointer::Look, _)
            | (Pointer::BarBox, Stage::Bar)
            | (Pointer::ThreadBox | Pointer::Exclude | Pointer::Points(_), Stage::Thread)
    );
    if !fits {
        bench.pointer = Pointer::Look;
    }
    preview(bench)
}

/// So many stages on, or back; at the ends there is nowhere to go.
fn step(bench: &mut Bench, by: isize) -> Vec<Effect> {
    let to = bench.stage.number().checked_add_signed(by).and_then(|n| n.checked_sub(1));
    match to.and_then(|i| Stage::ALL.get(i).copied()) {
        Some(stage) => go_to(bench, stage),
        None => Vec::new(),
    }
}

/// Where the coloured button leads: at the end of the way to the printer, once the pages of this job
/// are drawn.
fn onward(bench: &mut Bench) -> Vec<Effect> {
    let command = if bench.stage == Stage::Sheets {
        let drawn = bench.preview.as_ref().is_some_and(|(job, pages)| {
            Arc::ptr_eq(job, bench.job()) && pages.as_ref().is_ok_and(|p| !p.is_empty())
        });
        drawn.then_some(Command::Print(None))
    } else {
        way::pressed(bench)
    };
    command.map_or_else(Vec::new, |command| apply(bench, command))
}

/// Holds the screw beside the candidate at this place; the job keeps which.
fn compare(bench: &mut Bench, index: usize) -> Vec<Effect> {
    bench.candidate = index;
    let name = bench
        .findings()
        .and_then(|f| f.ranking.as_ref()?.candidates.get(index))
        .map(|c| c.designation.clone());
    // The likeliest is what it is held beside without being asked.
    let name = name.filter(|_| index > 0);
    edit(bench, &Edit::Beside(name))
}

/// Takes the train of wheels at this place.
fn use_train(bench: &mut Bench, index: usize) -> Vec<Effect> {
    let gears = bench.findings().and_then(|f| f.gears.clone());
    // One that was chosen stays, though another becomes the best.
    match gears.as_ref().and_then(|g| g.trains.get(index)) {
        Some(train) => edit(bench, &Edit::Train(Some(train.into()))),
        None => Vec::new(),
    }
}

/// Chooses a clicked point; moving another point is another step.
fn choose(bench: &mut Bench, point: Option<usize>) {
    bench.history.settle();
    bench.point = point;
}

/// Looks for words in the guide, and turns to the first page that holds them where the one in view does
/// not.
fn look_for(bench: &mut Bench, sought: String) {
    let pages = guide::found(&sought);
    if !pages.contains(&bench.guide.page)
        && let Some(first) = pages.first()
    {
        bench.guide.page = *first;
    }
    bench.guide.sought = sought;
}

/// Text is kept as it is typed; what was wrong with it before may be right by now.
fn type_in(bench: &mut Bench, field: Field, text: String) {
    bench.wrong.remove(&field);
    bench.drafts.insert(field, text);
}

/// Takes what was typed; where it cannot be, the keyboard stays after Enter.
fn enter(bench: &mut Bench, field: Field, by_key: bool) -> Vec<Effect> {
    let effects = taking::enter(bench, field, by_key);
    if by_key && bench.wrong.contains_key(&field) {
        bench.focus = Some(field);
    }
    effects
}

/// Puts a message away.
fn dismiss(bench: &mut Bench, index: usize) {
    if index < bench.messages.len() {
        bench.messages.remove(index);
    }
}

/// Asks for a file; not for a folder for sheets that cannot be written.
fn ask(bench: &mut Bench, asked: Asked) -> Vec<Effect> {
    if matches!(asked, Asked::Export | Asked::ExportSheet)
        && let Some(why) = not_exportable(bench)
    {
        tell(bench, About::Sheets, Tone::Wrong, why);
        // Where it can be said.
        if bench.job().duty.is_none() && !nothing_to_print(bench) {
            bench.stage = Stage::Nut;
        }
        return Vec::new();
    }
    vec![Effect::Dialog(asked)]
}

/// Saves the job where it lives; asks where when it has no home.
fn save(bench: &Bench) -> Vec<Effect> {
    vec![match &bench.home {
        Some(home) => changed::save_at(bench, home.clone()),
        None => Effect::Dialog(Asked::SaveAs),
    }]
}

/// Writes the sheets, or the one with the stem `only`.
fn export(bench: &mut Bench, folder: PathBuf, only: Option<&'static str>) -> Vec<Effect> {
    let written = ToWrite { folder, only, replace: false };
    draw(bench, "drawing the sheets", Effect::Export(written))
}

/// Stem of the sheet whose page is shown.
fn shown_sheet(bench: &Bench) -> Option<&'static str> {
    let (_, Ok(pages)) = bench.preview.as_ref()? else { return None };
    pages.get(bench.page.min(pages.len().saturating_sub(1))).map(|p| p.sheet)
}

/// Writes the sheets that were held back, whatever they replace.
fn replace(bench: &mut Bench) -> Vec<Effect> {
    match bench.taken.take() {
        Some((written, _)) => {
            let written = ToWrite { replace: true, ..written };
            draw(bench, "drawing the sheets", Effect::Export(written))
        }
        None => Vec::new(),
    }
}

/// Sets about `drawing`, which says `what` is done meanwhile, or tells why nothing can be drawn.
fn draw(bench: &mut Bench, what: &str, drawing: Effect) -> Vec<Effect> {
    if let Some(why) = not_exportable(bench) {
        tell(bench, About::Sheets, Tone::Wrong, why);
        return Vec::new();
    }
    bench.work = Work::Busy { what: what.into(), done: 0.0 };
    vec![drawing]
}

/// The entry a step begins with, where it is still empty.
fn first_entry(bench: &Bench, stage: Stage) -> Option<Field> {
    match stage {
        Stage::Bar if bench.loaded.is_some() && bench.job().bar.width_mm.is_none() => {
            Some(Field::BarWidth)
        }
        Stage::Form if bench.job().picture.is_none() && bench.job().form.pitch_mm.is_none() => {
            Some(Field::FormPitch)
        }
        Stage::Wheels if bench.job().wheels.leadscrew_mm.is_none() => Some(Field::Leadscrew),
        _ => None,
    }
}

/// Whether the job is worked out, and nothing came of it that could be printed.
fn nothing_to_print(bench: &Bench) -> bool {
    bench.up_to_date() && bench.findings().is_some_and(|f| !job::printable(f))
}

/// Why sheets cannot be written now.
fn not_exportable(bench: &Bench) -> Option<String> {
    let job = bench.job();
    if let Some(refusal) = job.duty.and_then(Duty::refusal) {
        return Some(refusal);
    }
    // What is read or reckoned by itself stands by itself: there may be no thread yet.
    if bench.up_to_date() && bench.findings().is_some_and(|f| job::needs_no_duty(f)) {
        return None;
    }
    if nothing_to_print(bench)
        && let Some(f) = bench.findings()
    {
        let what = job::nothing_to_draw(job, f);
        return Some(format!(
            "There is nothing to print yet: {}.",
            what.in_units(job.units).trim_end_matches('.')
        ));
    }
    if job.duty.is_none() {
        return Some(
            "First say what the thread does (7 Nut): for some uses nothing is drawn.".into(),
        );
    }
    if !bench.up_to_date() {
        return Some("The job is still being worked out; export when that is done.".into());
    }
    match bench.findings() {
        Some(f) if job::printable(f) => None,
        Some(f) => Some(format!(
            "There is no tool to draw yet: {}",
            job::nothing_to_draw(job, f).in_units(job.units)
        )),
        None => Some(
            "There is nothing to draw yet: open a picture, or type the thread in (5 Form).".into(),
        ),
    }
}

fn travel(bench: &mut Bench, step: impl FnOnce(&mut History) -> Option<String>) -> Vec<Effect> {
    bench.drafts.clear();
    bench.wrong.clear();
    let before = Arc::clone(bench.job());
    if step(&mut bench.history).is_none() {
        return Vec::new();
    }
    bench.point = None;
    changed(bench, &before)
}

/// What a change of the job sets in motion.
pub(super) fn changed(bench: &mut Bench, before: &Job) -> Vec<Effect> {
    let job = bench.job();
    if before.picture != job.picture {
        if let Some(picture) = &job.picture {
            return vec![Effect::Picture(picture.path.clone())];
        }
        (bench.loaded, bench.levels) = (None, None);
    }
    if !bench.up_to_date() { vec![Effect::Evaluate] } else { preview(bench) }
}

/// The sheets are drawn for looking at when they are looked at and are not those of this job.
pub(super) fn preview(bench: &Bench) -> Vec<Effect> {
    let shown = bench.preview.as_ref().is_some_and(|(job, _)| Arc::ptr_eq(job, bench.job()));
    if bench.stage == Stage::Sheets && bench.up_to_date() && !shown {
        vec![Effect::Preview]
    } else {
        Vec::new()
    }
}

/// Changes the job, and what of the window hangs on the change.
pub(super) fn edit(bench: &mut Bench, edit: &Edit) -> Vec<Effect> {
    let before = Arc::clone(bench.job());
    let (label, merges) = edit::label(edit);
    let drawn = bench.history.edit_merging(label, merges, |job| edit::change(job, edit));
    if !drawn {
        return Vec::new();
    }
    match edit {
        // What was typed in the lines behind moves up with them.
        Edit::RemoveEvidence(_) | Edit::RemoveStation(_) | Edit::RemoveRound(_) => {
            bench.drafts.clear();
            bench.wrong.clear();
        }
        Edit::Units(units) => bench.usual_units = *units,
        // What could not be done before this was said may be done now.
        Edit::Duty(_) => bench.messages.retain(|m| m.tone == Tone::Done),
        Edit::AddEvidence(_) => {
            let last = bench.job().evidence.last();
            let slot = last.map_or(0, |said| evidence::first_to_read(&said.evidence));
            bench.focus = Some(Field::Evidence(bench.job().evidence.len() - 1, slot));
        }
        Edit::AddPoint(_) => {
            let points = bench.job().thread.points.len();
            bench.point = Some(points - 1);
            let traced = bench.findings().is_some_and(|f| f.thread.is_some());
            if points == 1 && traced {
                tell(bench, About::Other, Tone::Done, TRACE_ASIDE.into());
            }
        }
        Edit::MovePoint(i, ..) => bench.point = Some(*i),
        Edit::RemovePoint(_) | Edit::ClearPoints => bench.point = None,
        Edit::BarBox(_) | Edit::ThreadBox(_) | Edit::Exclude(_) => bench.pointer = Pointer::Look,
        // What is asked no more is not refused any more.
        Edit::NutKind(_) => {
            forget(bench, &[Field::Kerf, Field::SleeveOutside, Field::Interference]);
        }
        Edit::PassRule(_) => forget(bench, &[Field::PassStep]),
        Edit::FlankFeed(_) => forget(bench, &[Field::TopSlide]),
        Edit::GroundPicture(None) => forget(bench, &[Field::GroundBar]),
        Edit::SameSurface | Edit::AtAxis => forget(bench, &[Field::BarDrop]),
        Edit::ViewAuto | Edit::ViewParallel => forget(bench, &[Field::Distance]),
        _ => {}
    }
    changed(bench, &before)
}

/// Said at the first clicked point.
const TRACE_ASIDE: &str = "The traced outline is put aside: from now on only the points that are clicked \
    count. Undo, or \"Remove all points\", brings it back.";

/// What was typed in these entries and not taken is given up.
fn forget(bench: &mut Bench, fields: &[Field]) {
    for field in fields {
        bench.drafts.remove(field);
        bench.wrong.remove(field);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fit::BarShape;
    use form::{Hand, Quantity, Units};
    use job::{Flank, PaperSaid, PointSaid, ToolFor};
    use picture::{DrawnWanted, PixelBox};
    use shop::Reading;
    use std::path::Path;

    fn typed(bench: &mut Bench, field: Field, text: &str) -> Vec<Effect> {
        apply(bench, Command::Type(field, text.into()));
        apply(bench, Command::Enter { field, by_key: true })
    }

    #[test]
    fn a_width_without_unit_is_refused_where_it_is_typed() {
        let mut bench = Bench::default();
        typed(&mut bench, Field::BarWidth, "6");
        assert!(bench.wrong[&Field::BarWidth].contains("no unit"));
        assert_eq!(bench.job().bar.width_mm, None);
        assert_eq!(bench.text_of(Field::BarWidth), "6");
        typed(&mut bench, Field::BarWidth, "1/4 in");
        assert!(bench.wrong.is_empty());
        assert_eq!(bench.job().bar.width_mm, Some(Quantity::entered(6.35, 0.0)));
        assert_eq!(bench.text_of(Field::BarWidth), "1/4 in");
    }

    #[test]
    fn everything_can_be_undone_and_done_again() {
        let mut bench = Bench::default();
        let point = |x_px| PointSaid { x_px, y_px: 5.0, flank: Flank::Right };
        let edits = [
            Edit::Outline(DrawnWanted::Line),
            Edit::BarBox(Some(PixelBox { x: 1.0, y: 2.0, w: 3.0, h: 4.0 })),
            Edit::BarConfirmed,
            Edit::BarShape(BarShape::Flat),
            Edit::AtAxis,
            Edit::ThreadBox(Some(PixelBox { x: 5.0, y: 2.0, w: 3.0, h: 4.0 })),
            Edit::AddPoint(point(1.0)),
            Edit::AddPoint(point(2.0)),
            Edit::MovePoint(0, 7.0, 8.0),
            Edit::RemovePoint(1),
            Edit::Exclude(PixelBox { x: 9.0, y: 2.0, w: 3.0, h: 4.0 }),
            Edit::ExcludeNothing,
            Edit::AddStation(Reading {
                position_mm: 3.0,
                lost_motion_mm: Quantity::measured(0.1, 0.01),
            }),
            Edit::RemoveStation(0),
            Edit::AddRound(shop::JawReadings { at_mm: [0.1, 0.0, 0.0, 0.0] }),
            Edit::RemoveRound(0),
            Edit::GroundPicture(Some(PictureRef {
                path: "/x/tool.png".into(),
                sha256: String::new(),
            })),
            Edit::FromBelow(true),
            Edit::AddEvidence(standards::EvidenceKind::Caliper),
            Edit::SetEvidence(0, Box::new(standards::EvidenceKind::Rule.blank())),
            Edit::RemoveEvidence(0),
            Edit::Rounding(standards::Rounding::RoundNumbers),
            Edit::Beside(Some("Tr 20 x 4".into())),
            Edit::AlongCurve { play_mm: 0.1, radial_clearance_mm: 0.3, bore_clearance_mm: 0.25 },
            Edit::NutKind(shop::NutKind::Split { kerf_mm: 1.0 }),
            Edit::NutMaterial(shop::NutMaterial::CastIron),
            Edit::Material(shop::WorkMaterial::Brass),
            Edit::DialReads(shop::DialReads::Diameter),
            Edit::DialFalls(true),
            Edit::ToolSection(Some(shop::ToolSection::Square { side_mm: 8.0 })),
            Edit::Carbide(true),
            Edit::UsualWheels,
            Edit::Train(Some(job::TrainSaid { drivers: vec![20], driven: vec![40] })),
            Edit::Starts(Some(2)),
            Edit::Hand(Some(Hand::Left)),
            Edit::Mirrored(true),
            Edit::ViewParallel,
            Edit::Duty(Duty::Adjusts),
            Edit::Units(Units::Inch),
            Edit::Paper(PaperSaid::Letter),
            Edit::ToolFor(ToolFor::Screw),
            Edit::Magnification(5.0),
        ];
        let start = Arc::clone(bench.job());
        for edit in &edits {
            let before = Arc::clone(bench.job());
            apply(&mut bench, Command::Edit(edit.clone()));
            assert_ne!(*bench.job(), before, "{edit:?} changed nothing");
        }
        let end = Arc::clone(bench.job());
        for _ in &edits {
            apply(&mut bench, Command::Undo);
        }
        assert_eq!(*bench.job(), start);
        for _ in &edits {
            apply(&mut bench, Command::Redo);
        }
        assert_eq!(*bench.job(), end);
    }

    #[test]
    fn what_comes_right_takes_its_own_failure_away_and_no_other() {
        let mut bench = Bench::default();
        let said = |b: &Bench, text: &str| b.messages.iter().any(|m| m.text.contains(text));
        let job = Arc::clone(bench.job());
        let fail = |about, text: &str| Command::Failed(about, text.into());
        apply(&mut bench, fail(About::Saving, "cannot write /full/a.json"));
        apply(&mut bench, fail(About::Sheets, "cannot write /full/sheets"));
        apply(&mut bench, Command::Saved("/home/a.json".into(), job, Mark::default()));
        assert!(!said(&bench, "/full/a.json") && said(&bench, "Saved as a.json"));
        assert!(said(&bench, "/full/sheets"), "the sheets still are not written");
        let written = Written { files: vec!["/home/sheets/1.pdf".into()], ..Written::default() };
        apply(&mut bench, Command::Exported(Box::new(written)));
        assert!(!said(&bench, "/full/sheets"));
        apply(&mut bench, Command::Journal(Some("cannot be kept".into())));
        apply(&mut bench, Command::Journal(None));
        assert!(!said(&bench, "cannot be kept"));
        // What failed since is news.
        apply(&mut bench, fail(About::Saving, "cannot write /full/b.json"));
        assert!(said(&bench, "/full/b.json") && !said(&bench, "Saved as"));
    }

    #[test]
    fn nothing_is_exported_for_a_refused_duty() {
        let mut bench = Bench::default();
        apply(&mut bench, Command::Ask(Asked::Export));
        assert!(bench.messages[0].text.contains("what the thread does"));
        apply(&mut bench, Command::Edit(Edit::Duty(Duty::Lifts)));
        assert!(apply(&mut bench, Command::Export("/tmp".into())).is_empty());
        assert!(bench.messages.last().unwrap().text.contains("licensed"));
    }

    #[test]
    fn unsaved_work_is_not_left_unasked() {
        let mut bench = Bench::default();
        let job = Job::on_picture(Path::new("/x/a.png"), String::new());
        let grey = picture::Grey::from_u8(1, 1, vec![0]).unwrap();
        let loaded = Loaded {
            picture: picture::Picture { grey, focal_35mm: None },
            path: "/x/a.png".into(),
            sha256: String::new(),
        };
        let loaded = Some(Arc::new(loaded));
        let opened = Opened {
            job,
            home: None,
            loaded,
            levels: None,
            notes: vec![],
            path: None,
            recovered: None,
            demonstration: false,
            mark: None,
        };
        apply(&mut bench, Command::Opened(Box::new(opened)));
        assert!(matches!(apply(&mut bench, Command::Quit)[..], [Effect::Quit]));
        apply(&mut bench, Command::Edit(Edit::Mirrored(true)));
        assert!(apply(&mut bench, Command::Quit).is_empty());
        assert_eq!(bench.leaving, Some(Leaving::Quit));
        apply(&mut bench, Command::Stay);
        assert!(apply(&mut bench, Command::Open("/x/b.png".into())).is_empty());
        let left = apply(&mut bench, Command::Leave);
        assert!(matches!(&left[..], [Effect::Open(p)] if p == Path::new("/x/b.png")));
    }

    #[test]
    fn a_typed_path_that_leads_nowhere_says_so() {
        let mut bench = Bench::default();
        apply(&mut bench, Command::TypePath(Asked::Open));
        apply(&mut bench, Command::PathText("/no/such/file.png".into()));
        assert!(apply(&mut bench, Command::PathDone).is_empty());
        assert!(bench.typed_path.as_ref().unwrap().wrong.as_ref().unwrap().contains("/no/such"));
    }

    #[test]
    fn a_row_of_the_survey_is_added_when_both_its_entries_are_filled() {
        let mut bench = Bench::default();
        typed(&mut bench, Field::Station(0), "0");
        assert_eq!(bench.focus, Some(Field::Lost(0)));
        typed(&mut bench, Field::Lost(0), "much");
        assert!(bench.wrong[&Field::Lost(0)].contains("much"));
        let effects = typed(&mut bench, Field::Lost(0), "0.3");
        assert!(matches!(effects[..], [Effect::Evaluate]));
        assert_eq!(bench.job().survey.readings.len(), 1);
        assert_eq!(bench.focus, Some(Field::Station(1)));
        typed(&mut bench, Field::Lost(0), "0.31");
        assert_eq!(bench.job().survey.readings[0].lost_motion_mm.value, 0.31);
    }

    #[test]
    fn a_picture_joins_a_job_that_has_none() {
        let mut bench = Bench::default();
        typed(&mut bench, Field::Leadscrew, "8 tpi");
        assert!(bench.unsaved());
        let open = apply(&mut bench, Command::Open("/x/a.png".into()));
        assert!(matches!(&open[..], [Effect::Open(_)]));
        let job = apply(&mut bench, Command::Open("/x/a.flanklight.json".into()));
        assert!(job.is_empty() && bench.leaving.is_some());
    }
}
