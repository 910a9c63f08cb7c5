//! Everything that can be asked of the window, and the one place where it is done.

use super::edit::{self, Edit};
use super::field::Field;
use super::ground_view::Seen;
use super::levels::Levels;
use super::news::{self, tell};
use super::opening;
use super::preview::Page;
use super::stage::Stage;
use super::state::{
    About, Asked, Bench, Leaving, Offers, Pointer, Shown, Strip, Tone, TypedPath, Work,
};
use super::taking;
use super::text_size;
use super::typed_path;
use super::way;
use eframe::egui::ColorImage;
use job::{Duty, Findings, History, Job, Loaded, PictureRef, Recovered};
use shop::Survey;
use std::path::{Path, PathBuf};
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
    /// Show all pages, or the one at this place, in the desktop's viewer, which prints.
    Print(Option<usize>),
    /// Leave unsaved work.
    Leave,
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
    /// Show or hide the help.
    Help(bool),
    /// Go on with a job a crash left behind.
    Recover(usize),
    /// Throw a job away that a crash left behind.
    Forget(usize),
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
    Saved(PathBuf, Arc<Job>),
    /// Sheets were written.
    Exported(Vec<PathBuf>),
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
    /// Save the job here.
    Save(PathBuf),
    /// Write the sheets into this folder.
    Export(PathBuf),
    /// Have all pages, or one, shown for printing.
    Print(Option<usize>),
    /// Throw a journal away.
    Forget(PathBuf),
    /// Close the window.
    Quit,
}

/// Does what `command` asks; what remains to be done elsewhere is returned.
pub fn apply(bench: &mut Bench, command: Command) -> Vec<Effect> {
    use Command as C;
    match command {
        C::Edit(edit) => return self::edit(bench, &edit),
        C::Undo => return travel(bench, History::undo),
        C::Redo => return travel(bench, History::redo),
        C::GoTo(stage) => {
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
            return preview(bench);
        }
        C::Settle => bench.history.settle(),
        C::Step(by) => {
            let to = bench.stage.number().checked_add_signed(by).and_then(|n| n.checked_sub(1));
            if let Some(stage) = to.and_then(|i| Stage::ALL.get(i).copied()) {
                return apply(bench, C::GoTo(stage));
            }
        }
        C::Onward if bench.stage == Stage::Sheets => {
            let drawn = bench.preview.as_ref().is_some_and(|(job, pages)| {
                Arc::ptr_eq(job, bench.job()) && pages.as_ref().is_ok_and(|p| !p.is_empty())
            });
            if drawn {
                return apply(bench, C::Print(None));
            }
        }
        C::Onward => {
            if let Some(command) = way::pressed(bench) {
                return apply(bench, command);
            }
        }
        C::Text(size) => text_size::set(bench, size),
        C::Take(pointer) => bench.pointer = pointer,
        C::Show(shown) => bench.shown = shown,
        C::Strip(strip) => bench.strip = strip,
        C::Compare(index) => {
            bench.candidate = index;
            let name = bench
                .findings()
                .and_then(|f| f.ranking.as_ref()?.candidates.get(index))
                .map(|c| c.designation.clone());
            // The likeliest is what it is held beside without being asked.
            let name = name.filter(|_| index > 0);
            return edit(bench, &Edit::Beside(name));
        }
        C::Train(index) => {
            let gears = bench.findings().and_then(|f| f.gears.clone());
            let train = gears.as_ref().and_then(|g| g.trains.get(index));
            // One that was chosen stays, though another becomes the best.
            if let Some(train) = train {
                return edit(bench, &Edit::Train(Some(train.into())));
            }
        }
        C::SetOut(on) => bench.setting_out = on,
        C::Page(index) => bench.page = index,
        C::Turn(rad) => bench.camera.turn_rad = rad,
        C::Choose(point) => {
            // Moving another point is another step.
            bench.history.settle();
            bench.point = point;
        }
        C::Focused => bench.focus = None,
        C::Type(field, text) => {
            bench.wrong.remove(&field);
            bench.drafts.insert(field, text);
        }
        C::Enter { field, by_key } => {
            let effects = taking::enter(bench, field, by_key);
            if by_key && bench.wrong.contains_key(&field) {
                bench.focus = Some(field);
            }
            return effects;
        }
        C::Ask(asked) => {
            if asked == Asked::Export
                && let Some(why) = not_exportable(bench)
            {
                tell(bench, About::Sheets, Tone::Wrong, why);
                // Where it can be said.
                if bench.job().duty.is_none() && !nothing_to_print(bench) {
                    bench.stage = Stage::Nut;
                }
                return Vec::new();
            }
            return vec![Effect::Dialog(asked)];
        }
        C::TypePath(asked) => {
            let (text, offers) = (typed_path::suggested(bench, asked), Offers::default());
            bench.typed_path = Some(TypedPath { asked, text, wrong: None, offers });
            return typed_path::list(bench);
        }
        C::PathText(text) => {
            if let Some(typed) = &mut bench.typed_path {
                typed.text = text;
                typed.wrong = None;
            }
            return typed_path::list(bench);
        }
        C::Listed(offers) => {
            if let Some(typed) = &mut bench.typed_path {
                typed.offers = offers;
            }
        }
        C::PathDone => return typed_path::done(bench),
        C::PathDropped => bench.typed_path = None,
        C::Open(path) if is_survey(&path) => return vec![Effect::ReadSurvey(path)],
        C::Open(path) if is_of_tool(bench, &path) => return read_ground(bench, path),
        C::Open(path) if bench.unsaved() && !opening::joins(bench, &path) => {
            bench.leaving = Some(Leaving::Open(path));
        }
        C::Open(path) => return opening::begin(bench, Leaving::Open(path)),
        C::OpenSurvey(path) => return vec![Effect::ReadSurvey(path)],
        C::OpenGround(path) => return read_ground(bench, path),
        C::Paste(image) if bench.unsaved() && !opening::takes_picture(bench) => {
            bench.leaving = Some(Leaving::Paste(image));
        }
        C::Paste(image) => return opening::begin(bench, Leaving::Paste(image)),
        C::New if bench.unsaved() => bench.leaving = Some(Leaving::New),
        C::New => return opening::begin(bench, Leaving::New),
        C::Demonstrate(i) if bench.unsaved() => bench.leaving = Some(Leaving::Demonstration(i)),
        C::Demonstrate(i) => return opening::begin(bench, Leaving::Demonstration(i)),
        C::Quit if bench.unsaved() => bench.leaving = Some(Leaving::Quit),
        C::Quit => return vec![Effect::Quit],
        C::Leave => {
            if let Some(leaving) = bench.leaving.take() {
                return opening::begin(bench, leaving);
            }
        }
        C::Stay => bench.leaving = None,
        C::Save => {
            return vec![match &bench.home {
                Some(home) => Effect::Save(home.clone()),
                None => Effect::Dialog(Asked::SaveAs),
            }];
        }
        C::SaveAs(path) => return vec![Effect::Save(path)],
        C::Export(folder) => {
            if let Some(why) = not_exportable(bench) {
                tell(bench, About::Sheets, Tone::Wrong, why);
                return Vec::new();
            }
            bench.work = Work::Busy { what: "drawing the sheets".into(), done: 0.0 };
            return vec![Effect::Export(folder)];
        }
        C::Print(page) => {
            if let Some(why) = not_exportable(bench) {
                tell(bench, About::Sheets, Tone::Wrong, why);
                return Vec::new();
            }
            bench.work = Work::Busy { what: "drawing the pages".into(), done: 0.0 };
            return vec![Effect::Print(page)];
        }
        C::Cancel => return vec![Effect::Cancel],
        C::Dismiss(index) => {
            if index < bench.messages.len() {
                bench.messages.remove(index);
            }
        }
        C::DismissAll => bench.messages.clear(),
        C::Help(on) => bench.help = on,
        C::Recover(index) if bench.unsaved() => bench.leaving = Some(Leaving::Recover(index)),
        C::Recover(index) => return opening::begin(bench, Leaving::Recover(index)),
        C::Forget(index) => {
            if index < bench.recovered.len() {
                return vec![Effect::Forget(bench.recovered.remove(index).journal)];
            }
        }
        C::Opened(opened) => return opening::opened(bench, *opened),
        C::NotOpened(text) => {
            bench.work = Work::Idle;
            tell(bench, About::Opening, Tone::Wrong, text);
        }
        C::PictureRead(Ok((loaded, levels))) => {
            (bench.loaded, bench.levels) = (Some(loaded), Some(levels));
            bench.camera = super::camera::Camera::default();
            news::came_right(bench, About::Opening);
            return vec![Effect::Evaluate];
        }
        C::PictureRead(Err(text)) => {
            (bench.loaded, bench.levels) = (None, None);
            tell(bench, About::Opening, Tone::Wrong, text);
            return vec![Effect::Evaluate];
        }
        C::SurveyRead(said) => {
            let stations = said.readings.len();
            bench.stage = Stage::Survey;
            let effects = edit(bench, &Edit::Stations(said));
            let text = format!("{stations} readings taken in.");
            tell(bench, About::Readings, Tone::Done, text);
            return effects;
        }
        C::GroundRead(picture) => {
            bench.work = Work::Idle;
            news::came_right(bench, About::Ground);
            if bench.job().ground.bar_width_mm.is_none() {
                bench.focus = Some(Field::GroundBar);
            }
            return edit(bench, &Edit::GroundPicture(Some(picture)));
        }
        C::GroundSeen(seen) => bench.ground = seen,
        C::Previewed(job, pages) => bench.preview = Some((job, pages)),
        C::Journal(trouble) => {
            bench.journal_fails = trouble.is_some();
            match trouble {
                Some(text) => tell(bench, About::Journal, Tone::Wrong, text),
                None => news::came_right(bench, About::Journal),
            }
        }
        C::Progress(what, done) => bench.work = Work::Busy { what, done },
        C::Found(job, findings) => {
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
            return preview(bench);
        }
        C::Stopped => bench.work = Work::Idle,
        C::Saved(path, job) => {
            bench.saved = job;
            opening::remember(bench, &path);
            let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
            let text = format!("Saved as {}.", name.unwrap_or_default());
            tell(bench, About::Saving, Tone::Done, text);
            bench.home = Some(path);
        }
        C::Printed { pages, path, shown } => {
            bench.work = Work::Idle;
            bench.given_out = Some(Arc::clone(bench.job()));
            news::printed(bench, pages, &path, shown);
        }
        C::Exported(files) => {
            bench.work = Work::Idle;
            bench.given_out = Some(Arc::clone(bench.job()));
            let folder = files.first().and_then(|f| f.parent()).map(|p| p.display().to_string());
            let first = files.first().and_then(|f| f.file_name());
            let first = first.map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
            tell(
                bench,
                About::Sheets,
                Tone::Done,
                format!(
                    "{} files written to {}; begin with {first}. Print at 100 % and measure the \
                     check lines before grinding.",
                    files.len(),
                    folder.unwrap_or_default()
                ),
            );
        }
        C::Failed(about, text) => {
            bench.work = Work::Idle;
            tell(bench, about, Tone::Wrong, text);
        }
    }
    Vec::new()
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
        return Some(format!("There is nothing to print yet: {}.", what.trim_end_matches('.')));
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
        Some(f) => Some(format!("There is no tool to draw yet: {}", job::nothing_to_draw(job, f))),
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
fn preview(bench: &Bench) -> Vec<Effect> {
    let shown = bench.preview.as_ref().is_some_and(|(job, _)| Arc::ptr_eq(job, bench.job()));
    if bench.stage == Stage::Sheets && bench.up_to_date() && !shown {
        vec![Effect::Preview]
    } else {
        Vec::new()
    }
}

/// Place among the candidates of the standard the job names.
fn beside(bench: &Bench) -> Option<usize> {
    let Some(name) = &bench.job().beside else { return Some(0) };
    let ranking = bench.findings()?.ranking.as_ref()?;
    ranking.candidates.iter().position(|c| c.designation == *name)
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

fn read_ground(bench: &mut Bench, path: PathBuf) -> Vec<Effect> {
    bench.work = Work::Busy { what: "reading the picture of the tool".into(), done: 0.0 };
    vec![Effect::ReadGround(path)]
}

fn edit(bench: &mut Bench, edit: &Edit) -> Vec<Effect> {
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
        // What could not be done before this was said may be done now.
        Edit::Duty(_) => bench.messages.retain(|m| m.tone == Tone::Done),
        Edit::AddEvidence(_) => {
            bench.focus = Some(Field::Evidence(bench.job().evidence.len() - 1, 0));
        }
        Edit::AddPoint(_) => bench.point = Some(bench.job().thread.points.len() - 1),
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
        apply(&mut bench, Command::Saved("/home/a.json".into(), job));
        assert!(!said(&bench, "/full/a.json") && said(&bench, "Saved as a.json"));
        assert!(said(&bench, "/full/sheets"), "the sheets still are not written");
        apply(&mut bench, Command::Exported(vec!["/home/sheets/1.pdf".into()]));
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
