//! Everything that can be asked of the window, and the one place where it is done.

use super::levels::Levels;
use super::stage::Stage;
use super::state::{Asked, Bench, Field, Leaving, Message, Pointer, Shown, Tone, TypedPath, Work};
use fit::{BarDrop, BarShape, ViewWanted};
use form::{Hand, Quantity, Source, Units, units};
use job::{Duty, Findings, History, Job, Loaded, PaperSaid, PointSaid, Recovered, ToolFor};
use picture::{DrawnWanted, PixelBox};
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
    /// Go to a stage.
    GoTo(Stage),
    /// Take a pointer in hand.
    Take(Pointer),
    /// Show shadow or section.
    Show(Shown),
    /// Compare with this candidate.
    Compare(usize),
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
    /// The typed path is to be taken.
    PathDone,
    /// No path after all.
    PathDropped,
    /// Open a job or a picture.
    Open(PathBuf),
    /// Show a demonstration.
    Demonstrate(usize),
    /// Save the job where it lives; asks where when it has no home.
    Save,
    /// Save the job here.
    SaveAs(PathBuf),
    /// Write the sheets into this folder.
    Export(PathBuf),
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
    /// Something could not be done.
    Failed(String),
}

/// A job and its picture, read.
#[derive(Debug)]
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
    pub recovered: bool,
}

/// A change of the job.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// What the picture shows.
    Outline(DrawnWanted),
    /// Where the bar is looked for.
    BarBox(Option<PixelBox>),
    /// Shape of the bar.
    BarShape(BarShape),
    /// Bar and screw lie on one surface.
    SameSurface,
    /// Where the thread is looked for.
    ThreadBox(Option<PixelBox>),
    /// A point is added.
    AddPoint(PointSaid),
    /// A point is moved.
    MovePoint(usize, f64, f64),
    /// A point is taken away.
    RemovePoint(usize),
    /// All points are taken away.
    ClearPoints,
    /// Number of starts, or to be found.
    Starts(Option<u32>),
    /// Hand, or to be found.
    Hand(Option<Hand>),
    /// The picture shows the shadow from behind.
    Mirrored(bool),
    /// The view is found.
    ViewAuto,
    /// Parallel light.
    ViewParallel,
    /// What the thread does.
    Duty(Duty),
    /// Units.
    Units(Units),
    /// Paper.
    Paper(PaperSaid),
    /// What the tool is for.
    ToolFor(ToolFor),
    /// Enlargement of the large view.
    Magnification(f64),
}

/// Work that is done away from the window.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Read a job or a picture.
    Open(PathBuf),
    /// Read a demonstration.
    Demonstrate(usize),
    /// Read the picture of a recovered job.
    Recover(Box<(Job, Option<PathBuf>)>),
    /// Find out what follows from the job.
    Evaluate,
    /// Stop.
    Cancel,
    /// Ask the desktop for a file.
    Dialog(Asked),
    /// Save the job here.
    Save(PathBuf),
    /// Write the sheets into this folder.
    Export(PathBuf),
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
            let fits = matches!(
                (bench.pointer, stage),
                (Pointer::Look, _)
                    | (Pointer::BarBox, Stage::Bar)
                    | (Pointer::ThreadBox | Pointer::Points(_), Stage::Thread)
            );
            if !fits {
                bench.pointer = Pointer::Look;
            }
        }
        C::Take(pointer) => bench.pointer = pointer,
        C::Show(shown) => bench.shown = shown,
        C::Compare(index) => bench.candidate = index,
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
            let effects = enter(bench, field);
            if by_key && bench.wrong.contains_key(&field) {
                bench.focus = Some(field);
            }
            return effects;
        }
        C::Ask(asked) => {
            if asked == Asked::Export
                && let Some(why) = not_exportable(bench)
            {
                tell(bench, Tone::Wrong, why);
                return Vec::new();
            }
            return vec![Effect::Dialog(asked)];
        }
        C::TypePath(asked) => {
            bench.typed_path =
                Some(TypedPath { asked, text: suggested(bench, asked), wrong: None });
        }
        C::PathText(text) => {
            if let Some(typed) = &mut bench.typed_path {
                typed.text = text;
                typed.wrong = None;
            }
        }
        C::PathDone => return path_done(bench),
        C::PathDropped => bench.typed_path = None,
        C::Open(path) if bench.unsaved() && !lost_its_picture(bench) => {
            bench.leaving = Some(Leaving::Open(path))
        }
        C::Open(path) => return begin(bench, Leaving::Open(path)),
        C::Demonstrate(i) if bench.unsaved() => bench.leaving = Some(Leaving::Demonstration(i)),
        C::Demonstrate(i) => return begin(bench, Leaving::Demonstration(i)),
        C::Quit if bench.unsaved() => bench.leaving = Some(Leaving::Quit),
        C::Quit => return vec![Effect::Quit],
        C::Leave => {
            if let Some(leaving) = bench.leaving.take() {
                return begin(bench, leaving);
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
                tell(bench, Tone::Wrong, why);
                return Vec::new();
            }
            bench.work = Work::Busy { what: "drawing the sheets".into(), done: 0.0 };
            return vec![Effect::Export(folder)];
        }
        C::Cancel => return vec![Effect::Cancel],
        C::Dismiss(index) => {
            if index < bench.messages.len() {
                bench.messages.remove(index);
            }
        }
        C::Help(on) => bench.help = on,
        C::Recover(index) => {
            if index < bench.recovered.len() {
                let Recovered { home, job, journal } = bench.recovered.remove(index);
                return vec![Effect::Forget(journal), Effect::Recover(Box::new((job, home)))];
            }
        }
        C::Forget(index) => {
            if index < bench.recovered.len() {
                return vec![Effect::Forget(bench.recovered.remove(index).journal)];
            }
        }
        C::Opened(opened) => return self::opened(bench, *opened),
        C::NotOpened(text) => {
            bench.work = Work::Idle;
            tell(bench, Tone::Wrong, text);
        }
        C::Progress(what, done) => bench.work = Work::Busy { what, done },
        C::Found(job, findings) => {
            bench.work = Work::Idle;
            bench.findings = Some((job, findings));
            let candidates =
                bench.findings().and_then(|f| f.ranking.as_ref()).map_or(0, |r| r.candidates.len());
            bench.candidate = bench.candidate.min(candidates.saturating_sub(1));
        }
        C::Stopped => bench.work = Work::Idle,
        C::Saved(path, job) => {
            bench.saved = job;
            remember(bench, &path);
            let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
            tell(bench, Tone::Done, format!("Saved as {}.", name.unwrap_or_default()));
            bench.home = Some(path);
        }
        C::Exported(files) => {
            bench.work = Work::Idle;
            let folder = files.first().and_then(|f| f.parent()).map(|p| p.display().to_string());
            let names: Vec<String> = files
                .iter()
                .filter_map(|f| f.file_name().map(|n| n.to_string_lossy().into_owned()))
                .collect();
            tell(
                bench,
                Tone::Done,
                format!(
                    "Written to {}: {}. Print at 100 % and measure the check lines before grinding.",
                    folder.unwrap_or_default(),
                    names.join(", ")
                ),
            );
        }
        C::Failed(text) => {
            bench.work = Work::Idle;
            tell(bench, Tone::Wrong, text);
        }
    }
    Vec::new()
}

/// Whether the job in hand names a picture that could not be read.
fn lost_its_picture(bench: &Bench) -> bool {
    bench.job().picture.is_some() && bench.loaded.is_none()
}

/// Why sheets cannot be written now.
fn not_exportable(bench: &Bench) -> Option<String> {
    let job = bench.job();
    if job.duty.is_none() {
        return Some(
            "First say what the thread does (Nut and tool): for some uses nothing is drawn.".into(),
        );
    }
    if let Some(refusal) = job.duty.and_then(Duty::refusal) {
        return Some(refusal);
    }
    if !bench.up_to_date() {
        return Some("The job is still being worked out; export when that is done.".into());
    }
    match bench.findings() {
        Some(f) if f.tool.is_some() => None,
        Some(f) => Some(f.first_trouble().map_or_else(
            || "There is no tool to draw yet.".into(),
            |t| format!("There is no tool to draw yet: {}", t.text),
        )),
        None => Some("There is nothing to draw yet: open a picture.".into()),
    }
}

fn tell(bench: &mut Bench, tone: Tone, text: String) {
    const MOST: usize = 4;
    bench.messages.retain(|m| m.text != text && (m.tone != Tone::Done || tone != Tone::Done));
    bench.messages.push(Message { tone, text });
    if bench.messages.len() > MOST {
        bench.messages.remove(0);
    }
}

fn remember(bench: &mut Bench, path: &std::path::Path) {
    const MOST: usize = 8;
    bench.recent.retain(|p| p != path);
    bench.recent.insert(0, path.to_owned());
    bench.recent.truncate(MOST);
}

fn begin(bench: &mut Bench, what: Leaving) -> Vec<Effect> {
    match what {
        Leaving::Open(path) => {
            bench.work = Work::Busy { what: "opening".into(), done: 0.0 };
            vec![Effect::Open(path)]
        }
        Leaving::Demonstration(i) => {
            bench.work = Work::Busy { what: "preparing the demonstration".into(), done: 0.0 };
            vec![Effect::Demonstrate(i)]
        }
        Leaving::Quit => vec![Effect::Quit],
    }
}

fn opened(bench: &mut Bench, opened: Opened) -> Vec<Effect> {
    let Opened { job, home, loaded, levels, notes, path, recovered } = opened;
    if home.is_none() && lost_its_picture(bench) && loaded.is_some() {
        // The picture of the job in hand was missing: this is it, or takes its place.
        bench.history.edit("find the picture again", |j| j.picture = job.picture);
        (bench.loaded, bench.levels) = (loaded, levels);
        bench.work = Work::Idle;
        bench.messages.clear();
        bench.camera = super::camera::Camera::default();
        return vec![Effect::Evaluate];
    }
    bench.history = History::new(job);
    bench.saved =
        if recovered { Arc::new(Job::default()) } else { Arc::clone(bench.history.now()) };
    bench.home = home;
    let evaluate = loaded.is_some();
    bench.loaded = loaded;
    bench.levels = levels;
    bench.findings = None;
    bench.work = Work::Idle;
    bench.pointer = Pointer::Look;
    bench.point = None;
    bench.candidate = 0;
    bench.drafts.clear();
    bench.wrong.clear();
    bench.camera = super::camera::Camera::default();
    bench.messages.clear();
    for note in notes {
        tell(bench, Tone::Wrong, note);
    }
    if let Some(path) = path {
        remember(bench, &path);
    }
    bench.focus = None;
    bench.stage = if bench.job().picture.is_none() {
        Stage::Picture
    } else if bench.job().bar.width_mm.is_none() {
        bench.focus = Some(Field::BarWidth);
        Stage::Bar
    } else {
        Stage::Form
    };
    if evaluate { vec![Effect::Evaluate] } else { Vec::new() }
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
fn changed(bench: &Bench, before: &Job) -> Vec<Effect> {
    let job = bench.job();
    if before.picture != job.picture
        && let Some(picture) = &job.picture
    {
        return vec![Effect::Open(picture.path.clone())];
    }
    if bench.loaded.is_some() && !bench.up_to_date() { vec![Effect::Evaluate] } else { Vec::new() }
}

fn edit(bench: &mut Bench, edit: &Edit) -> Vec<Effect> {
    let before = Arc::clone(bench.job());
    let (label, merges) = label(edit);
    let drawn = bench.history.edit_merging(label, merges, |job| change(job, edit));
    if !drawn {
        return Vec::new();
    }
    match edit {
        Edit::AddPoint(_) => bench.point = Some(bench.job().thread.points.len() - 1),
        Edit::MovePoint(i, ..) => bench.point = Some(*i),
        Edit::RemovePoint(_) | Edit::ClearPoints => bench.point = None,
        Edit::BarBox(_) | Edit::ThreadBox(_) => bench.pointer = Pointer::Look,
        Edit::SameSurface => {
            bench.drafts.remove(&Field::BarDrop);
            bench.wrong.remove(&Field::BarDrop);
        }
        Edit::ViewAuto | Edit::ViewParallel => {
            bench.drafts.remove(&Field::Distance);
            bench.wrong.remove(&Field::Distance);
        }
        _ => {}
    }
    changed(bench, &before)
}

fn label(edit: &Edit) -> (&'static str, Option<&'static str>) {
    match edit {
        Edit::Outline(_) => ("what the picture shows", None),
        Edit::BarBox(_) => ("where the bar is", None),
        Edit::BarShape(_) => ("shape of the bar", None),
        Edit::SameSurface => ("where the bar lies", None),
        Edit::ThreadBox(_) => ("where the thread is", None),
        Edit::AddPoint(_) => ("add a point", None),
        Edit::MovePoint(..) => ("move a point", Some("move")),
        Edit::RemovePoint(_) => ("remove a point", None),
        Edit::ClearPoints => ("remove all points", None),
        Edit::Starts(_) => ("number of starts", None),
        Edit::Hand(_) => ("hand", None),
        Edit::Mirrored(_) => ("mirrored", None),
        Edit::ViewAuto | Edit::ViewParallel => ("where the camera stood", None),
        Edit::Duty(_) => ("what the thread does", None),
        Edit::Units(_) => ("units", None),
        Edit::Paper(_) => ("paper", None),
        Edit::ToolFor(_) => ("what the tool is for", None),
        Edit::Magnification(_) => ("enlargement", Some("enlargement")),
    }
}

fn change(job: &mut Job, edit: &Edit) {
    match *edit {
        Edit::Outline(wanted) => job.outline = wanted,
        Edit::BarBox(at) => job.bar.at_px = at,
        Edit::BarShape(shape) => job.bar.shape = shape,
        Edit::SameSurface => job.bar.drop = BarDrop::SameSurface,
        Edit::ThreadBox(at) => {
            job.thread.at_px = at;
            job.thread.points.clear();
        }
        Edit::AddPoint(point) => job.thread.points.push(point),
        Edit::MovePoint(i, x_px, y_px) => {
            if let Some(point) = job.thread.points.get_mut(i) {
                (point.x_px, point.y_px) = (x_px, y_px);
            }
        }
        Edit::RemovePoint(i) => {
            if i < job.thread.points.len() {
                job.thread.points.remove(i);
            }
        }
        Edit::ClearPoints => job.thread.points.clear(),
        Edit::Starts(n) => job.thread.starts = n,
        Edit::Hand(hand) => job.thread.hand = hand,
        Edit::Mirrored(on) => job.thread.mirrored = on,
        Edit::ViewAuto => job.view = ViewWanted::Auto,
        Edit::ViewParallel => job.view = ViewWanted::Parallel,
        Edit::Duty(duty) => job.duty = Some(duty),
        Edit::Units(units) => job.units = units,
        Edit::Paper(paper) => job.sheets.paper = paper,
        Edit::ToolFor(what) => job.sheets.tool_for = what,
        Edit::Magnification(m) => job.sheets.magnification = m.clamp(1.0, 100.0),
    }
}

/// Takes typed text into the job, or says why not.
fn enter(bench: &mut Bench, field: Field) -> Vec<Effect> {
    let Some(text) = bench.drafts.get(&field).cloned() else { return Vec::new() };
    if text.trim() == bench.settled_text(field).trim() {
        bench.drafts.remove(&field);
        return Vec::new();
    }
    let before = Arc::clone(bench.job());
    match taken(&text, field) {
        Ok((label, set)) => {
            bench.drafts.remove(&field);
            bench.wrong.remove(&field);
            bench.history.edit(label, set);
            changed(bench, &before)
        }
        Err(why) => {
            bench.wrong.insert(field, why);
            Vec::new()
        }
    }
}

type Set = Box<dyn FnOnce(&mut Job)>;

fn taken(text: &str, field: Field) -> Result<(&'static str, Set), String> {
    let empty = text.trim().is_empty();
    let length = |text: &str| units::length_quantity_mm(text).map_err(|e| e.to_string());
    Ok(match field {
        Field::Title => {
            let text = text.trim().to_owned();
            ("name of the job", Box::new(move |j: &mut Job| j.title = text) as Set)
        }
        Field::Notes => {
            let text = text.to_owned();
            ("notes", Box::new(move |j: &mut Job| j.notes = text))
        }
        Field::BarWidth => {
            let q = if empty { None } else { Some(length(text)?) };
            ("width of the bar", Box::new(move |j: &mut Job| j.bar.width_mm = q))
        }
        Field::BarDrop => {
            let drop = if empty {
                BarDrop::SameSurface
            } else {
                let value = units::signed_length_mm(text).map_err(|e| e.to_string())?;
                if value.abs() > 1000.0 {
                    return Err(format!("\"{}\" is outside -1 m to 1 m", text.trim()));
                }
                BarDrop::Given(Quantity::new(value, 0.0, Source::Entered))
            };
            ("where the bar lies", Box::new(move |j: &mut Job| j.bar.drop = drop))
        }
        Field::Distance => {
            let view = if empty { ViewWanted::Auto } else { ViewWanted::Distance(length(text)?) };
            ("where the camera stood", Box::new(move |j: &mut Job| j.view = view))
        }
        Field::Major => {
            let q = if empty { None } else { Some(length(text)?) };
            ("major diameter", Box::new(move |j: &mut Job| j.thread.major_diameter_mm = q))
        }
        Field::Play => {
            let q = length(text)?;
            ("play of the nut", Box::new(move |j: &mut Job| j.nut.play_mm = q))
        }
    })
}

/// A path to begin typing from.
fn suggested(bench: &Bench, asked: Asked) -> String {
    let folder = bench
        .home
        .as_deref()
        .or(bench.job().picture.as_ref().map(|p| p.path.as_path()))
        .and_then(|p| p.parent())
        .map(std::path::Path::to_owned)
        .unwrap_or_default();
    let path = match asked {
        Asked::Open => folder.join(""),
        Asked::Export => folder.join("sheets"),
        Asked::SaveAs => folder.join(suggested_name(bench.job())),
    };
    path.display().to_string()
}

/// A name for a job's file.
#[must_use]
pub fn suggested_name(job: &Job) -> String {
    let plain: String = job
        .title
        .chars()
        .map(|c| if c.is_alphanumeric() || matches!(c, '-' | '_') { c } else { '-' })
        .collect();
    let plain = plain.trim_matches('-');
    format!("{}.flanklight.json", if plain.is_empty() { "thread" } else { plain })
}

fn path_done(bench: &mut Bench) -> Vec<Effect> {
    let Some(typed) = &mut bench.typed_path else { return Vec::new() };
    let text = typed.text.trim();
    let text = text.strip_prefix("file://").unwrap_or(text);
    let path = match (text.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => PathBuf::from(home).join(rest),
        _ => PathBuf::from(text),
    };
    let wrong = match typed.asked {
        _ if text.is_empty() => Some("Type a path.".to_owned()),
        Asked::Open if !path.exists() => Some(format!("There is no {}.", path.display())),
        Asked::Open if path.is_dir() => {
            Some(format!("{} is a folder; name a picture or a job in it.", path.display()))
        }
        Asked::SaveAs if path.is_dir() => {
            Some(format!("{} is a folder; add a file name.", path.display()))
        }
        _ => None,
    };
    if wrong.is_some() {
        typed.wrong = wrong;
        return Vec::new();
    }
    let asked = typed.asked;
    bench.typed_path = None;
    let command = match asked {
        Asked::Open => Command::Open(path),
        Asked::SaveAs => Command::SaveAs(path),
        Asked::Export => Command::Export(path),
    };
    apply(bench, command)
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::Flank;

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
        assert_eq!(bench.text_of(Field::BarWidth), "6.35 mm");
    }

    #[test]
    fn everything_can_be_undone_and_done_again() {
        let mut bench = Bench::default();
        let point = |x_px| PointSaid { x_px, y_px: 5.0, flank: Flank::Right };
        let edits = [
            Edit::Outline(DrawnWanted::Line),
            Edit::BarBox(Some(PixelBox { x: 1.0, y: 2.0, w: 3.0, h: 4.0 })),
            Edit::BarShape(BarShape::Flat),
            Edit::ThreadBox(Some(PixelBox { x: 5.0, y: 2.0, w: 3.0, h: 4.0 })),
            Edit::AddPoint(point(1.0)),
            Edit::AddPoint(point(2.0)),
            Edit::MovePoint(0, 7.0, 8.0),
            Edit::RemovePoint(1),
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
    fn nothing_is_exported_for_a_refused_duty() {
        let mut bench = Bench::default();
        apply(&mut bench, Command::Ask(Asked::Export));
        assert!(bench.messages[0].text.contains("what the thread does"));
        apply(&mut bench, Command::Edit(Edit::Duty(Duty::Lifts)));
        assert_eq!(apply(&mut bench, Command::Export("/tmp".into())), []);
        assert!(bench.messages.last().unwrap().text.contains("licensed"));
    }

    #[test]
    fn unsaved_work_is_not_left_unasked() {
        let mut bench = Bench::default();
        let job = Job::on_picture(std::path::Path::new("/x/a.png"), String::new());
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
            recovered: false,
        };
        apply(&mut bench, Command::Opened(Box::new(opened)));
        assert_eq!(apply(&mut bench, Command::Quit), [Effect::Quit]);
        apply(&mut bench, Command::Edit(Edit::Mirrored(true)));
        assert_eq!(apply(&mut bench, Command::Quit), []);
        assert_eq!(bench.leaving, Some(Leaving::Quit));
        apply(&mut bench, Command::Stay);
        assert_eq!(apply(&mut bench, Command::Open("/x/b.png".into())), []);
        assert_eq!(apply(&mut bench, Command::Leave), [Effect::Open("/x/b.png".into())]);
    }

    #[test]
    fn a_typed_path_that_leads_nowhere_says_so() {
        let mut bench = Bench::default();
        apply(&mut bench, Command::TypePath(Asked::Open));
        apply(&mut bench, Command::PathText("/no/such/file.png".into()));
        assert_eq!(apply(&mut bench, Command::PathDone), []);
        assert!(bench.typed_path.as_ref().unwrap().wrong.as_ref().unwrap().contains("/no/such"));
    }

    #[test]
    fn names_of_files_are_harmless() {
        let job = Job { title: "../a b/c?".into(), ..Job::default() };
        assert_eq!(suggested_name(&job), "a-b-c.flanklight.json");
        assert_eq!(suggested_name(&Job::default()), "thread.flanklight.json");
    }
}
