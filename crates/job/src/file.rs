//! The job file: JSON, versioned, and apart from the domain types so that either may change.

use crate::identity::ReadingSaid;
use crate::job::{
    BarSaid, Duty, Flank, GroundSaid, Job, NutSaid, PaperSaid, PointSaid, SheetsSaid, ThreadSaid,
    ToolFor,
};
use crate::json_words;
use crate::machine::{BlankSaid, ChecksSaid, FormSaid, PassesSaid, SurveySaid, WheelsSaid};
use crate::remembered::Memory;
use crate::whereabouts::{self, PictureFile, picture_from_file, picture_to_file};
use fit::{BarDrop, BarShape, ViewWanted};
use form::{Hand, Quantity, Units};
use picture::{DrawnWanted, PixelBox};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use shop::{NutKind, NutMaterial};
use standards::Rounding;
use std::collections::BTreeMap;
use std::path::Path;
use thiserror::Error;

/// Name and version of the file format written here.
pub const SCHEMA: &str = "flanklight/job/1";
const SCHEMA_STEM: &str = "flanklight/job/";
const NEWEST: u32 = 1;

/// Why a text is not a job file.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FormatError {
    /// Not JSON at all, or cut short.
    #[error(
        "this is not a job file ({detail}). A picture is opened as a picture; measuring it makes the \
         job file."
    )]
    NotJson {
        /// The parser's reason, with line and column.
        detail: String,
    },
    /// Written in another encoding.
    #[error(
        "this is no job file as one is written: byte {at} is not UTF-8. An editor has changed its \
         encoding; save it from there as UTF-8."
    )]
    NotText {
        /// Which byte, from 0.
        at: usize,
    },
    /// JSON, but a field of it is of another kind than it must be.
    #[error("this job file cannot be read: {detail}. Nothing in the file was changed.")]
    Shape {
        /// Which field, what stands there and what is expected.
        detail: String,
    },
    /// JSON, but no job.
    #[error(
        "this is not a job file: its \"schema\" is {found}, and \"flanklight/job/1\" is expected"
    )]
    NotAJob {
        /// What stands in `schema`.
        found: String,
    },
    /// Written by a newer program.
    #[error(
        "this job file has version {found}; this program reads up to version {newest}. It was \
         written by a newer Flanklight: open it with that one. Nothing in the file was changed."
    )]
    Newer {
        /// Version of the file.
        found: u32,
        /// Newest version read here.
        newest: u32,
    },
    /// A field holds something impossible.
    #[error("the job file's {field} is {found}, outside {limits}")]
    Field {
        /// Name of the field.
        field: &'static str,
        /// What stands there.
        found: String,
        /// What may stand there.
        limits: &'static str,
    },
}

#[derive(Serialize, Deserialize)]
#[serde(default)]
struct JobFile {
    schema: String,
    title: String,
    notes: String,
    picture: Option<PictureFile>,
    outline: OutlineFile,
    bar: BarFile,
    thread: ThreadFile,
    view: ViewFile,
    duty: Option<String>,
    beside: Option<String>,
    /// Each line as [`standards::Evidence`] is serialised, with its note.
    evidence: Vec<Value>,
    rounding: Rounding,
    survey: SurveySaid,
    form: FormSaid,
    nut: NutFile,
    tool: shop::ToolSetting,
    ground: GroundFile,
    wheels: WheelsSaid,
    blank: BlankSaid,
    passes: PassesSaid,
    checks: ChecksSaid,
    sheets: SheetsFile,
    units: Units,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    typed: BTreeMap<String, String>,
    /// What the picture told when it was last measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    remembered: Option<Value>,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(default)]
struct GroundFile {
    picture: Option<PictureFile>,
    bar_width_mm: Option<Quantity>,
    from_below: bool,
}

#[derive(Serialize, Deserialize, Clone, Copy, Default)]
#[serde(rename_all = "lowercase")]
enum OutlineFile {
    #[default]
    Auto,
    Shadow,
    Line,
}

#[derive(Serialize, Deserialize)]
#[serde(default)]
struct BarFile {
    width_mm: Option<Quantity>,
    shape: ShapeFile,
    /// `null` is on the same surface.
    drop_mm: Option<Quantity>,
    at_px: Option<BoxFile>,
    /// What nobody has said. In files from before this was asked it is not there: what they measured with
    /// counts as said, and where they have no width nothing was.
    #[serde(skip_serializing_if = "Option::is_none")]
    assumed: Option<Vec<AssumedFile>>,
}

#[derive(Serialize, Deserialize, Clone, Copy, PartialEq)]
#[serde(rename_all = "lowercase")]
enum AssumedFile {
    Shape,
    Drop,
}

#[derive(Serialize, Deserialize, Clone, Copy, Default)]
#[serde(rename_all = "lowercase")]
enum ShapeFile {
    #[default]
    Round,
    Flat,
}

#[derive(Serialize, Deserialize, Clone, Copy)]
struct BoxFile {
    x: f64,
    y: f64,
    w: f64,
    h: f64,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(default)]
struct ThreadFile {
    at_px: Option<BoxFile>,
    points: Vec<PointFile>,
    excluded_px: Vec<BoxFile>,
    major_diameter_mm: Option<Quantity>,
    starts: Option<u32>,
    hand: Option<Hand>,
    mirrored: bool,
}

#[derive(Serialize, Deserialize)]
struct PointFile {
    x_px: f64,
    y_px: f64,
    flank: String,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(default)]
struct ViewFile {
    kind: ViewKindFile,
    distance_mm: Option<Quantity>,
}

#[derive(Serialize, Deserialize, Clone, Copy, Default)]
#[serde(rename_all = "lowercase")]
enum ViewKindFile {
    #[default]
    Auto,
    Parallel,
    Distance,
}

#[derive(Serialize, Deserialize)]
#[serde(default)]
struct NutFile {
    play_mm: Quantity,
    radial_clearance_mm: Option<Quantity>,
    bore_clearance_mm: Option<f64>,
    length_mm: Option<f64>,
    made: NutKind,
    material: NutMaterial,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    material_said: bool,
    load_n: Option<f64>,
    unworn_thicker_mm: Option<Quantity>,
}

#[derive(Serialize, Deserialize)]
#[serde(default)]
struct SheetsFile {
    paper: PaperFile,
    magnification: f64,
    tool_for: ToolForFile,
    chart_magnification: Option<f64>,
}

#[derive(Serialize, Deserialize, Clone, Copy, Default)]
#[serde(rename_all = "lowercase")]
enum PaperFile {
    #[default]
    A4,
    Letter,
}

#[derive(Serialize, Deserialize, Clone, Copy, Default)]
#[serde(rename_all = "lowercase")]
enum ToolForFile {
    #[default]
    Nut,
    Screw,
}

impl Default for JobFile {
    fn default() -> Self {
        to_file(&Job::default(), None)
    }
}
impl Default for BarFile {
    fn default() -> Self {
        Self { width_mm: None, shape: ShapeFile::Round, drop_mm: None, at_px: None, assumed: None }
    }
}
impl Default for NutFile {
    fn default() -> Self {
        nut_to_file(&NutSaid::default())
    }
}
impl Default for SheetsFile {
    fn default() -> Self {
        let said = SheetsSaid::default();
        Self {
            paper: PaperFile::A4,
            magnification: said.magnification,
            tool_for: ToolForFile::Nut,
            chart_magnification: said.chart_magnification,
        }
    }
}

impl From<PixelBox> for BoxFile {
    fn from(b: PixelBox) -> Self {
        Self { x: b.x, y: b.y, w: b.w, h: b.h }
    }
}
impl From<BoxFile> for PixelBox {
    fn from(b: BoxFile) -> Self {
        Self { x: b.x, y: b.y, w: b.w.max(0.0), h: b.h.max(0.0) }
    }
}

fn nut_to_file(said: &NutSaid) -> NutFile {
    NutFile {
        play_mm: said.play_mm,
        radial_clearance_mm: said.radial_clearance_mm,
        bore_clearance_mm: said.bore_clearance_mm,
        length_mm: said.length_mm,
        made: said.kind,
        material: said.material,
        material_said: said.material_said,
        load_n: said.load_n,
        unworn_thicker_mm: said.unworn_thicker_mm,
    }
}

/// What of the bar is assumed; nothing is written where that is what its absence means.
fn assumed_to_file(said: &BarSaid) -> Option<Vec<AssumedFile>> {
    let all = [(AssumedFile::Shape, said.shape_assumed), (AssumedFile::Drop, said.drop_assumed)];
    let list: Vec<_> = all.into_iter().filter_map(|(what, is)| is.then_some(what)).collect();
    let understood =
        if said.width_mm.is_some() { list.is_empty() } else { list.len() == all.len() };
    (!understood).then_some(list)
}

fn outline_to_file(outline: DrawnWanted) -> OutlineFile {
    match outline {
        DrawnWanted::Auto => OutlineFile::Auto,
        DrawnWanted::Shadow => OutlineFile::Shadow,
        DrawnWanted::Line => OutlineFile::Line,
    }
}

fn bar_to_file(bar: &BarSaid) -> BarFile {
    BarFile {
        width_mm: bar.width_mm,
        shape: match bar.shape {
            BarShape::Round => ShapeFile::Round,
            BarShape::Flat => ShapeFile::Flat,
        },
        drop_mm: match bar.drop {
            BarDrop::SameSurface => None,
            BarDrop::Given(q) => Some(q),
        },
        at_px: bar.at_px.map(BoxFile::from),
        assumed: assumed_to_file(bar),
    }
}

fn thread_to_file(thread: &ThreadSaid) -> ThreadFile {
    ThreadFile {
        at_px: thread.at_px.map(BoxFile::from),
        points: thread
            .points
            .iter()
            .map(|p| PointFile { x_px: p.x_px, y_px: p.y_px, flank: p.flank.word().into() })
            .collect(),
        excluded_px: thread.excluded_px.iter().map(|b| BoxFile::from(*b)).collect(),
        major_diameter_mm: thread.major_diameter_mm,
        starts: thread.starts,
        hand: thread.hand,
        mirrored: thread.mirrored,
    }
}

fn view_to_file(view: ViewWanted) -> ViewFile {
    match view {
        ViewWanted::Auto => ViewFile::default(),
        ViewWanted::Parallel => ViewFile { kind: ViewKindFile::Parallel, distance_mm: None },
        ViewWanted::Distance(q) => ViewFile { kind: ViewKindFile::Distance, distance_mm: Some(q) },
    }
}

fn to_file(job: &Job, folder: Option<&Path>) -> JobFile {
    JobFile {
        schema: SCHEMA.to_owned(),
        title: job.title.clone(),
        notes: job.notes.clone(),
        picture: job.picture.as_ref().map(|p| picture_to_file(p, folder)),
        outline: outline_to_file(job.outline),
        bar: bar_to_file(&job.bar),
        thread: thread_to_file(&job.thread),
        view: view_to_file(job.view),
        duty: job.duty.map(|d| d.word().to_owned()),
        beside: job.beside.clone(),
        evidence: job
            .evidence
            .iter()
            .map(|r| serde_json::to_value(r).unwrap_or(Value::Null))
            .collect(),
        rounding: job.rounding,
        survey: job.survey.clone(),
        form: job.form,
        tool: job.tool,
        ground: GroundFile {
            picture: job.ground.picture.as_ref().map(|p| picture_to_file(p, folder)),
            bar_width_mm: job.ground.bar_width_mm,
            from_below: job.ground.from_below,
        },
        wheels: job.wheels.clone(),
        blank: job.blank.clone(),
        passes: job.passes,
        checks: job.checks,
        nut: nut_to_file(&job.nut),
        sheets: SheetsFile {
            paper: match job.sheets.paper {
                PaperSaid::A4 => PaperFile::A4,
                PaperSaid::Letter => PaperFile::Letter,
            },
            magnification: job.sheets.magnification,
            tool_for: match job.sheets.tool_for {
                ToolFor::Nut => ToolForFile::Nut,
                ToolFor::Screw => ToolForFile::Screw,
            },
            chart_magnification: job.sheets.chart_magnification,
        },
        units: job.units,
        typed: job.typed.clone(),
        remembered: job.memory.to_file(),
    }
}

/// SHA-256 of all that a measurement of `job`'s picture hangs on: the picture's bytes and what is said of
/// outline, bar, thread and view. What nobody has said of the bar, but is taken for granted, counts as
/// what it is taken for.
pub(crate) fn measured_of(job: &Job) -> String {
    let picture = job.picture.as_ref().map(|p| p.sha256.as_str());
    let bar = BarFile { assumed: None, ..bar_to_file(&job.bar) };
    let thread = thread_to_file(&job.thread);
    let (outline, view) = (outline_to_file(job.outline), view_to_file(job.view));
    let said = serde_json::json!([picture, outline, bar, thread, view]);
    crate::save::sha256_of(said.to_string().as_bytes())
}

/// Longest title, longest notes, most clicked points: a page has room for far less, and a hand clicks some
/// dozens.
pub const MOST_OF_TITLE: usize = 500;
const MOST_OF_NOTES: usize = 20_000;
const MOST_POINTS: usize = 5_000;

/// The job a file says. Faults are looked for in the order of these lines: of several, the first is named.
fn from_file(file: JobFile, folder: Option<&Path>) -> Result<Job, FormatError> {
    for (field, text, most, limits) in [
        ("title", Some(&file.title), MOST_OF_TITLE, "0 to 500 characters"),
        ("notes", Some(&file.notes), MOST_OF_NOTES, "0 to 20000 characters"),
        ("beside", file.beside.as_ref(), MOST_OF_TITLE, "0 to 500 characters"),
    ] {
        let count = text.map_or(0, |t| t.chars().count());
        if count > most {
            return Err(outside(field, format!("{count} characters long"), limits));
        }
    }
    if file.thread.points.len() > MOST_POINTS {
        let found = format!("a list of {}", file.thread.points.len());
        return Err(outside("thread.points", found, "0 to 5000 points"));
    }
    let duty = file.duty.as_deref().map(duty_from_file).transpose()?;
    let points = file.thread.points.iter().map(point_from_file).collect::<Result<Vec<_>, _>>()?;
    let bar = bar_from_file(&file.bar)?;
    let thread = thread_from_file(file.thread, points)?;
    let evidence = file.evidence.iter().map(evidence_line).collect::<Result<Vec<_>, _>>()?;
    let sheets = sheets_from_file(&file.sheets)?;
    let passes = passes_from_file(file.passes, file.nut.material)?;
    // Only now: looking for pictures goes to the disk.
    let picture = file.picture.map(|p| picture_from_file(p, folder));
    let ground = ground_from_file(file.ground, folder);
    Ok(Job {
        title: file.title,
        notes: file.notes,
        picture,
        outline: outline_from_file(file.outline),
        bar,
        thread,
        view: view_from_file(&file.view),
        duty,
        beside: file.beside,
        evidence,
        rounding: file.rounding,
        survey: file.survey,
        form: file.form,
        tool: file.tool,
        ground,
        wheels: file.wheels,
        blank: file.blank,
        passes,
        checks: file.checks,
        nut: nut_from_file(&file.nut),
        sheets,
        units: file.units,
        // Longer than any entry: nobody typed that.
        typed: file.typed.into_iter().filter(|(_, t)| t.chars().count() <= 200).collect(),
        memory: Memory::from_file(file.remembered.as_ref()),
        unknown: Map::new(),
    })
}

/// That a field holds what it cannot; words come in quotation marks, numbers as they stand.
fn outside(field: &'static str, found: String, limits: &'static str) -> FormatError {
    FormatError::Field { field, found, limits }
}

fn duty_from_file(word: &str) -> Result<Duty, FormatError> {
    const LIMITS: &str = "adjusts, fastens, holds-slide, clamps-by-hand, lifts, presses, brakes, steers and \
                          holds-pressure";
    Duty::from_word(word).ok_or_else(|| outside("duty", format!("\"{word}\""), LIMITS))
}

fn outline_from_file(outline: OutlineFile) -> DrawnWanted {
    match outline {
        OutlineFile::Auto => DrawnWanted::Auto,
        OutlineFile::Shadow => DrawnWanted::Shadow,
        OutlineFile::Line => DrawnWanted::Line,
    }
}

fn bar_from_file(bar: &BarFile) -> Result<BarSaid, FormatError> {
    if let Some(width) = bar.width_mm.filter(|q| !(q.value > 0.0 && q.value.is_finite())) {
        return Err(outside("bar width", format!("{} mm", width.value), "lengths above 0 mm"));
    }
    // What its absence means is said at the field.
    let assumed = |what: AssumedFile| match &bar.assumed {
        Some(list) => list.contains(&what),
        None => bar.width_mm.is_none(),
    };
    Ok(BarSaid {
        width_mm: bar.width_mm,
        shape: match bar.shape {
            ShapeFile::Round => BarShape::Round,
            ShapeFile::Flat => BarShape::Flat,
        },
        drop: bar.drop_mm.map_or(BarDrop::SameSurface, BarDrop::Given),
        shape_assumed: assumed(AssumedFile::Shape),
        drop_assumed: assumed(AssumedFile::Drop),
        at_px: bar.at_px.map(PixelBox::from),
    })
}

fn point_from_file(point: &PointFile) -> Result<PointSaid, FormatError> {
    const LIMITS: &str = "right, left, crest and root";
    let word = &point.flank;
    let flank = Flank::from_word(word)
        .ok_or_else(|| outside("point's flank", format!("\"{word}\""), LIMITS))?;
    Ok(PointSaid { x_px: point.x_px, y_px: point.y_px, flank })
}

/// What is said of the thread; its `points` were read before the bar was, and are handed in.
fn thread_from_file(thread: ThreadFile, points: Vec<PointSaid>) -> Result<ThreadSaid, FormatError> {
    if let Some(starts) = thread.starts.filter(|n| !(1..=16).contains(n)) {
        return Err(outside("number of starts", starts.to_string(), "1 to 16"));
    }
    Ok(ThreadSaid {
        at_px: thread.at_px.map(PixelBox::from),
        points,
        excluded_px: thread.excluded_px.into_iter().map(PixelBox::from).collect(),
        major_diameter_mm: thread.major_diameter_mm,
        starts: thread.starts,
        hand: thread.hand,
        mirrored: thread.mirrored,
    })
}

/// The view that is wanted; a distance without its number is as good as none.
fn view_from_file(view: &ViewFile) -> ViewWanted {
    match (view.kind, view.distance_mm) {
        (ViewKindFile::Parallel, _) => ViewWanted::Parallel,
        (ViewKindFile::Distance, Some(q)) => ViewWanted::Distance(q),
        _ => ViewWanted::Auto,
    }
}

fn ground_from_file(ground: GroundFile, folder: Option<&Path>) -> GroundSaid {
    GroundSaid {
        picture: ground.picture.map(|p| picture_from_file(p, folder)),
        bar_width_mm: ground.bar_width_mm,
        from_below: ground.from_below,
    }
}

fn passes_from_file(mut passes: PassesSaid, nut: NutMaterial) -> Result<PassesSaid, FormatError> {
    if let Some(dial) = passes.dial.filter(|d| !d.is_sound()) {
        let found = format!("{} per division", dial.division);
        return Err(outside("dial", found, "divisions above 0"));
    }
    // Older files always name one: the same as the nut's follows the nut.
    passes.material = passes.material.filter(|m| *m != nut.into());
    Ok(passes)
}

fn nut_from_file(nut: &NutFile) -> NutSaid {
    NutSaid {
        play_mm: nut.play_mm,
        radial_clearance_mm: nut.radial_clearance_mm,
        bore_clearance_mm: nut.bore_clearance_mm,
        length_mm: nut.length_mm,
        kind: nut.made,
        material: nut.material,
        // Older files do not say; what is not the usual was chosen.
        material_said: nut.material_said || nut.material != NutMaterial::Bronze,
        load_n: nut.load_n,
        unworn_thicker_mm: nut.unworn_thicker_mm,
    }
}

fn sheets_from_file(sheets: &SheetsFile) -> Result<SheetsSaid, FormatError> {
    let magnification = sheets.magnification;
    if !(1.0..=100.0).contains(&magnification) {
        return Err(outside("magnification", magnification.to_string(), "1 to 100"));
    }
    if let Some(m) = sheets.chart_magnification.filter(|m| !(0.5..=200.0).contains(m)) {
        return Err(outside("magnification of the chart", m.to_string(), "0.5 to 200"));
    }
    Ok(SheetsSaid {
        paper: match sheets.paper {
            PaperFile::A4 => PaperSaid::A4,
            PaperFile::Letter => PaperSaid::Letter,
        },
        magnification,
        tool_for: match sheets.tool_for {
            ToolForFile::Nut => ToolFor::Nut,
            ToolForFile::Screw => ToolFor::Screw,
        },
        chart_magnification: sheets.chart_magnification,
    })
}

/// One line of the table of evidence. Unread numbers may stand in it; a kind nobody knows may not,
/// because a job without it would be another job.
fn evidence_line(line: &Value) -> Result<ReadingSaid, FormatError> {
    serde_json::from_value(line.clone()).map_err(|_| FormatError::Field {
        field: "line of evidence",
        found: line.to_string().chars().take(120).collect(),
        limits: "what this version knows: an object with a \"kind\" and that kind's numbers",
    })
}

/// The job as the text of a file in `folder`.
#[must_use]
pub fn to_text(job: &Job, folder: Option<&Path>) -> String {
    let mut value = serde_json::to_value(to_file(job, folder)).unwrap_or(Value::Null);
    add_missing(&mut value, &job.unknown);
    let mut text = serde_json::to_string_pretty(&value).unwrap_or_default();
    text.push('\n');
    text
}

/// The job in the text of a file in `folder`; fields nobody knows are kept in [`Job::unknown`].
///
/// # Errors
/// [`FormatError`] says what is wrong and where.
pub fn from_text(text: &str, folder: Option<&Path>) -> Result<Job, FormatError> {
    let not_json = |e: serde_json::Error| FormatError::NotJson { detail: json_words::not_json(&e) };
    let raw: Value = serde_json::from_str(text).map_err(not_json)?;
    let found = raw.get("schema").cloned().unwrap_or(Value::Null);
    let version = found
        .as_str()
        .and_then(|s| s.strip_prefix(SCHEMA_STEM))
        .and_then(|v| v.parse::<u32>().ok())
        .filter(|&v| v > 0);
    match version {
        None => return Err(FormatError::NotAJob { found: found.to_string() }),
        Some(v) if v > NEWEST => return Err(FormatError::Newer { found: v, newest: NEWEST }),
        Some(_) => {}
    }
    // From the text once more: that way an error names its line and column.
    let file: JobFile = serde_json::from_str(text)
        .map_err(|e| FormatError::Shape { detail: json_words::wrong_shape(&e) })?;
    let mut job = from_file(file, folder)?;
    let written = serde_json::to_value(to_file(&job, folder)).unwrap_or(Value::Null);
    job.unknown = left_over(&raw, &written);
    // What is remembered and cannot be read is found again in the picture.
    job.unknown.remove("remembered");
    // Where a picture was, absolute in files from before, is known and not written again.
    whereabouts::forget(&mut job.unknown, &["picture", "was_at"]);
    whereabouts::forget(&mut job.unknown, &["ground", "picture", "was_at"]);
    Ok(job)
}

/// Names of the fields in `unknown`, with dots between levels.
#[must_use]
pub fn names_of(unknown: &Map<String, Value>) -> Vec<String> {
    let mut names = Vec::new();
    for (key, value) in unknown {
        match value {
            Value::Object(inner) if !inner.is_empty() => {
                names.extend(names_of(inner).into_iter().map(|n| format!("{key}.{n}")));
            }
            _ => names.push(key.clone()),
        }
    }
    names
}

/// What stands in `raw` and not in `known`. A whole object stands in for a known `null` only when
/// that null is what an optional object looks like, so such objects are not taken apart.
fn left_over(raw: &Value, known: &Value) -> Map<String, Value> {
    let (Value::Object(raw), Value::Object(known)) = (raw, known) else { return Map::new() };
    let mut out = Map::new();
    for (key, value) in raw {
        match known.get(key) {
            None => {
                out.insert(key.clone(), value.clone());
            }
            Some(inner) => {
                let rest = left_over(value, inner);
                if !rest.is_empty() {
                    out.insert(key.clone(), Value::Object(rest));
                }
            }
        }
    }
    out
}

fn add_missing(value: &mut Value, rest: &Map<String, Value>) {
    let Value::Object(fields) = value else { return };
    for (key, extra) in rest {
        match (fields.get_mut(key), extra) {
            (None, _) => {
                fields.insert(key.clone(), extra.clone());
            }
            (Some(inner @ Value::Object(_)), Value::Object(extra)) => add_missing(inner, extra),
            // The person has since cleared what these fields belonged to.
            (Some(_), _) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::PictureRef;

    fn full() -> Job {
        Job {
            typed: [("bar-width".to_owned(), "1/4 in".to_owned())].into(),
            title: "Tension screw".into(),
            picture: Some(PictureRef { path: "/nowhere/shadow.jpg".into(), sha256: "ab".into() }),
            outline: DrawnWanted::Line,
            bar: BarSaid {
                width_mm: Some(Quantity::entered(6.0, 0.01)),
                shape: BarShape::Flat,
                drop: BarDrop::Given(Quantity::entered(2.5, 0.0)),
                shape_assumed: false,
                drop_assumed: true,
                at_px: Some(PixelBox { x: 1.0, y: 2.0, w: 3.0, h: 4.0 }),
            },
            thread: ThreadSaid {
                at_px: None,
                points: vec![PointSaid { x_px: 10.5, y_px: 20.25, flank: Flank::Left }],
                excluded_px: vec![PixelBox { x: 5.0, y: 6.0, w: 7.0, h: 8.0 }],
                major_diameter_mm: Some(Quantity::entered(20.0, 0.02)),
                starts: Some(2),
                hand: Some(Hand::Left),
                mirrored: true,
            },
            view: ViewWanted::Distance(Quantity::entered(250.0, 10.0)),
            duty: Some(Duty::Adjusts),
            beside: Some("Tr 20 x 4".into()),
            survey: SurveySaid {
                readings: vec![shop::Reading {
                    position_mm: 40.0,
                    lost_motion_mm: Quantity::measured(0.21, 0.01),
                }],
                end_float_mm: Some(Quantity::measured(0.06, 0.01)),
                acceptable_mm: Some(0.1),
                adjusted_end_float_mm: Some(0.03),
            },
            form: FormSaid { pitch_mm: Some(Quantity::entered(4.0, 0.01)), ..FormSaid::default() },
            wheels: WheelsSaid {
                leadscrew_mm: Some(3.175),
                wheels: vec![20, 20, 127],
                pair: Some((127, 120)),
                bracket: Some(shop::Bracket::default()),
                ..WheelsSaid::default()
            },
            passes: PassesSaid {
                dial: Some(shop::Dial::INCH),
                passes: Some(9),
                rule: shop::PassRule::Fixed { step_mm: 0.1 },
                flank_feed: true,
                top_slide_deg: Some(14.5),
                ..PassesSaid::default()
            },
            tool: shop::ToolSetting {
                turned: shop::Turned::ToLeadAngle,
                top_rake_deg: -2.0,
                above_centre_mm: 0.1,
                ..shop::ToolSetting::default()
            },
            nut: NutSaid {
                play_mm: Quantity::entered(0.1, 0.0),
                kind: NutKind::Split { kerf_mm: 1.2 },
                material: NutMaterial::CastIron,
                material_said: true,
                load_n: Some(300.0),
                unworn_thicker_mm: Some(Quantity::entered(0.04, 0.01)),
                ..NutSaid::default()
            },
            checks: ChecksSaid { wire_mm: Some(2.05), ..ChecksSaid::default() },
            ground: GroundSaid {
                picture: Some(PictureRef { path: "/nowhere/tool.jpg".into(), sha256: "cd".into() }),
                bar_width_mm: Some(Quantity::entered(3.0, 0.002)),
                from_below: true,
            },
            blank: BlankSaid {
                face_mm: Some(Quantity::entered(70.0, 0.01)),
                jaws: vec![shop::JawReadings { at_mm: [0.4, 0.1, -0.2, 0.0] }],
                within_mm: Some(0.02),
                ..BlankSaid::default()
            },
            units: Units::Thou,
            ..Job::default()
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        for job in [Job::default(), full()] {
            assert_eq!(from_text(&to_text(&job, None), None).unwrap(), job);
        }
    }

    #[test]
    fn the_first_version_stays_readable() {
        let text = include_str!("../tests/data/version-1.flanklight.json");
        let job = from_text(text, None).unwrap();
        assert_eq!(job.title, "Floor loom, tension screw");
        assert_eq!(job.bar.width_mm, Some(Quantity::entered(6.0, 0.005)));
        assert_eq!(job.thread.points.len(), 2);
        assert_eq!(job.duty, Some(Duty::Adjusts));
        // From before it was asked whether the bar is what it is taken for.
        assert!(!job.bar.is_assumed());
        assert!(!to_text(&job, None).contains("assumed\": ["), "written as it came");
    }

    #[test]
    fn what_nobody_said_of_the_bar_is_kept_as_such() {
        let new = Job::on_picture(Path::new("/x/a.png"), String::new());
        assert!(new.bar.shape_assumed && new.bar.drop_assumed);
        assert_eq!(from_text(&to_text(&new, None), None).unwrap().bar, new.bar);
        assert!(!to_text(&new, None).contains("\"assumed\": ["), "as jobs always were");
        let widths = [None, Some(Quantity::entered(6.0, 0.0))];
        for (width_mm, shape_assumed, drop_assumed) in widths.into_iter().flat_map(|w| {
            [(true, true), (true, false), (false, true), (false, false)].map(|(s, d)| (w, s, d))
        }) {
            let bar = BarSaid { width_mm, shape_assumed, drop_assumed, ..new.bar.clone() };
            let job = Job { bar: bar.clone(), ..new.clone() };
            let again = from_text(&to_text(&job, None), None).unwrap();
            assert_eq!(again.bar, bar);
            assert!(again.unknown.is_empty(), "{:?}", again.unknown);
        }
        // A job on wheels alone, from before it was asked: nobody has said anything of a bar.
        let old =
            from_text("{\"schema\": \"flanklight/job/1\", \"bar\": {\"width_mm\": null}}", None);
        assert!(old.unwrap().bar.is_assumed());
    }

    #[test]
    fn fields_nobody_knows_survive() {
        let mut value: Value = serde_json::from_str(&to_text(&full(), None)).unwrap();
        value["later"] = serde_json::json!({"a": [1, 2]});
        value["bar"]["colour"] = serde_json::json!("blue");
        let job = from_text(&value.to_string(), None).unwrap();
        assert_eq!(names_of(&job.unknown), ["bar.colour", "later.a"]);
        let again: Value = serde_json::from_str(&to_text(&job, None)).unwrap();
        assert_eq!(again["later"], value["later"]);
        assert_eq!(again["bar"]["colour"], value["bar"]["colour"]);
        assert_eq!(from_text(&again.to_string(), None).unwrap(), job);
    }

    #[test]
    fn what_is_no_job_is_refused_by_name() {
        let text = |t: &str| from_text(t, None).unwrap_err().to_string();
        assert!(text("").contains("not a job file"));
        assert!(text("{\"schema\": 3}").contains("\"schema\" is 3"));
        assert!(text("[]").contains("null"));
        let newer = text("{\"schema\": \"flanklight/job/7\"}");
        assert!(newer.contains("version 7") && newer.contains("up to version 1"), "{newer}");
        let mut job = full();
        job.title = "x".repeat(16_000);
        let long = text(&to_text(&job, None));
        assert!(long.contains("title is 16000 characters long"), "{long}");
        job = full();
        job.thread.starts = Some(40);
        assert!(text(&to_text(&job, None)).contains("40"));
        job = full();
        job.bar.width_mm = Some(Quantity::entered(-1.0, 0.0));
        assert!(text(&to_text(&job, None)).contains("-1 mm"));
    }

    #[test]
    fn a_moved_job_finds_its_picture() {
        let dir = tempfile::tempdir().unwrap();
        let (here, there) = (dir.path().join("here"), dir.path().join("there"));
        std::fs::create_dir_all(here.join("pictures")).unwrap();
        std::fs::create_dir_all(&there).unwrap();
        let picture = here.join("pictures/shadow.png");
        std::fs::write(&picture, b"picture").unwrap();
        let sha256 = crate::save::sha256_of_file(&picture).unwrap();
        let mut job = full();
        job.picture = Some(PictureRef { path: picture.clone(), sha256 });
        let text = to_text(&job, Some(&here));
        assert!(text.contains("\"pictures/shadow.png\""), "{text}");
        let at = |folder: &Path| from_text(&text, Some(folder)).unwrap().picture.unwrap().path;
        assert_eq!(at(&here), picture);
        // Nobody's folder is named in it.
        assert!(!text.contains(&*dir.path().to_string_lossy()), "{text}");
        // Both moved, flat, and the old place is gone.
        std::fs::rename(&picture, there.join("shadow.png")).unwrap();
        assert_eq!(at(&there), there.join("shadow.png"));
        // Renamed as well.
        std::fs::rename(there.join("shadow.png"), there.join("renamed.png")).unwrap();
        assert_eq!(at(&there), there.join("renamed.png"));
    }
}
