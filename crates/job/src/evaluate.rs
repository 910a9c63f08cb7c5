//! From a job to its findings: a pure function of the job and the bytes of its picture.

use crate::asked::{asked, asked_of_screw};
use crate::disk::ReadError;
use crate::findings::{Findings, Part, Remark};
use crate::identity::{Standing, identify, rounded_screw, told_together, with_evidence};
use crate::job::{Duty, Job, ToolFor};
use crate::machine::FormSaid;
use crate::must_hold;
use crate::remembered::{Memory, recall};
use crate::save::sha256_of_file;
use crate::thumbnail::Thumbnail;
use fit::{FitError, Known, Measurement, Sighting};
use form::{Hand, Quantity, Said, Sentence, figure, mm, sentence};
use picture::{Bar, DrawnWanted, Limits, Picture, PictureError, PixelBox, Scene, Thread};
use shop::{NutDesign, NutRequest, ScrewForm, ToolForm, ToolSetting};
use standards::{Combined, Feature, Measured, Rounding};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A picture in memory.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The picture, upright.
    pub picture: Picture,
    /// Where it was read from.
    pub path: PathBuf,
    /// SHA-256 of its file, lower-case hexadecimal.
    pub sha256: String,
}

impl Loaded {
    /// Reads a picture file.
    ///
    /// # Errors
    /// As [`picture::open`].
    pub fn open(path: &Path) -> Result<Self, PictureError> {
        let limits = Limits::default();
        // Neither a pipe nor a drive that is gone is waited for.
        if let Err(e) = crate::disk::is_there(path)
            && !matches!(e, ReadError::Io(_) | ReadError::NotAFile("a folder"))
        {
            let source = std::io::Error::other(e);
            return Err(PictureError::Io { path: path.display().to_string(), source });
        }
        // `open` says best what is wrong with a path; the bytes are wanted once more for the hash,
        // and come from the system's cache then.
        let picture = picture::open(path, &limits)?;
        let sha256 = sha256_of_file(path)
            .map_err(|source| PictureError::Io { path: path.display().to_string(), source })?;
        Ok(Self { picture, path: path.to_owned(), sha256 })
    }
}

/// Somebody asked to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stopped;

/// Told how far the work is (0 to 1); answers whether to go on.
pub type Progress<'a> = &'a (dyn Fn(f32) -> bool + Sync);

/// Everything that follows from `job`. `picture` is the job's picture, once it has been read.
///
/// # Errors
/// [`Stopped`] when `progress` said so.
pub fn evaluate(
    job: &Job,
    picture: Option<&Loaded>,
    progress: Progress<'_>,
) -> Result<Findings, Stopped> {
    Kept::default().evaluate(job, picture, progress)
}

/// [`evaluate`] that keeps what it found on the way, so that a change late in the job does not
/// repeat the work before it. Never changes a result.
#[derive(Debug, Default)]
pub struct Kept {
    thumbnail: Option<(String, PathBuf, Option<Arc<Thumbnail>>)>,
    scene: Option<(SceneKey, Result<Arc<Scene>, Remark>)>,
    sight: Option<(SightKey, Sight)>,
    measurement: Option<(SightKey, Known, Result<Arc<Measurement>, Remark>)>,
    pub(crate) ground: Option<crate::ground_check::Seen>,
}

#[derive(Debug, Clone, PartialEq)]
struct SceneKey {
    sha256: String,
    wanted: DrawnWanted,
}

#[derive(Debug, Clone, PartialEq)]
struct SightKey {
    scene: SceneKey,
    bar_at: Option<PixelBox>,
    thread_at: Option<PixelBox>,
    points: Vec<crate::job::PointSaid>,
    excluded: Vec<PixelBox>,
}

#[derive(Debug, Clone)]
struct Sight {
    bar: Result<Arc<Bar>, Remark>,
    thread: Result<Arc<Thread>, Remark>,
}

/// How the time is shared out: tracing until here, fitting until 1.
const TRACED: f32 = 0.3;

impl Kept {
    /// See [`evaluate`].
    ///
    /// # Errors
    /// [`Stopped`] when `progress` said so.
    pub fn evaluate(
        &mut self,
        job: &Job,
        picture: Option<&Loaded>,
        progress: Progress<'_>,
    ) -> Result<Findings, Stopped> {
        let mut out = Findings { refusal: job.duty.and_then(Duty::refusal), ..Findings::default() };
        crate::workshop::survey(job, &mut out);
        match picture {
            Some(loaded) => {
                self.measure(job, loaded, &mut out, progress)?;
                out.memory = Memory::of(job, &out);
            }
            None => recall(job, &mut out),
        }
        design(job, &mut out);
        crate::workshop::workshop(job, &mut out, progress);
        let mut told: Vec<Remark> = Vec::with_capacity(out.warnings.len());
        for warning in std::mem::take(&mut out.warnings) {
            // Said once, by the part it first concerns.
            let same = |t: &Remark| t.code == warning.code && t.text == warning.text;
            if !told.iter().any(same) {
                told.push(warning);
            }
        }
        out.warnings = told;
        progress(1.0);
        Ok(out)
    }

    /// What the picture tells, as far as it can be told.
    fn measure(
        &mut self,
        job: &Job,
        loaded: &Loaded,
        out: &mut Findings,
        progress: Progress<'_>,
    ) -> Result<(), Stopped> {
        let grey = &loaded.picture.grey;
        out.size_px = Some((grey.width(), grey.height()));
        out.thumbnail = self.thumbnail(loaded);
        let scene_key = SceneKey { sha256: loaded.sha256.clone(), wanted: job.outline };
        let scene = match self.scene(&scene_key, loaded, progress)? {
            Ok(scene) => scene,
            Err(trouble) => {
                out.troubles.push(trouble);
                return Ok(());
            }
        };
        out.warnings.extend(scene.warnings.iter().map(|n| notice(Part::Picture, n)));
        let sight_key = SightKey {
            scene: scene_key,
            bar_at: job.bar.at_px,
            thread_at: job.thread.at_px,
            points: job.thread.points.clone(),
            excluded: job.thread.excluded_px.clone(),
        };
        let sight = self.sight(&sight_key, &scene, loaded);
        out.drawn = Some(scene.drawn);
        out.scene = Some(Arc::clone(&scene));
        match &sight.bar {
            Ok(bar) => {
                out.warnings.extend(bar.notices.iter().map(|n| notice(Part::Bar, n)));
                out.bar = Some(Arc::clone(bar));
            }
            Err(trouble) => out.troubles.push(trouble.clone()),
        }
        match &sight.thread {
            Ok(thread) => {
                out.warnings.extend(thread.notices.iter().map(|n| notice(Part::Thread, n)));
                out.thread = Some(Arc::clone(thread));
            }
            Err(trouble) => out.troubles.push(trouble.clone()),
        }
        let (Some(bar), Some(thread)) = (&out.bar, &out.thread) else { return Ok(()) };
        let Some(known) = known(job, loaded.picture.focal_35mm) else {
            out.troubles.push(Remark::new(
                Part::Bar,
                "bar-width",
                "the width of the bar is not known yet: measure it with a micrometer and enter it \
                 with its unit, for example 6 mm or 1/4 in.",
            ));
            return Ok(());
        };
        let sighting = Sighting {
            width_px: grey.width(),
            height_px: grey.height(),
            drawn: scene.drawn,
            bar: (**bar).clone(),
            thread: (**thread).clone(),
        };
        match self.measured(&sight_key, &sighting, &known, progress)? {
            Ok(measurement) => {
                out.warnings.extend(measurement.warnings.iter().map(|w| Remark {
                    part: Part::Form,
                    code: w.code.to_owned(),
                    text: w.text.clone(),
                    at_px: w.at_px,
                }));
                let view = measurement.view.camera_distance_mm;
                let text = unlikely(measurement.form.major_diameter_mm, view);
                out.warnings.extend(text.map(|t| Remark::new(Part::Bar, "bar-unlikely", t)));
                out.measurement = Some(measurement);
            }
            Err(trouble) => out.troubles.push(trouble),
        }
        Ok(())
    }

    fn thumbnail(&mut self, loaded: &Loaded) -> Option<Arc<Thumbnail>> {
        if let Some((sha256, path, thumbnail)) = &self.thumbnail
            && *sha256 == loaded.sha256
            && *path == loaded.path
        {
            return thumbnail.clone();
        }
        let name = loaded.path.file_name().map(|n| n.to_string_lossy().into_owned());
        let made = Thumbnail::of(&loaded.picture.grey, name.unwrap_or_default()).map(Arc::new);
        self.thumbnail = Some((loaded.sha256.clone(), loaded.path.clone(), made.clone()));
        made
    }

    fn scene(
        &mut self,
        key: &SceneKey,
        loaded: &Loaded,
        progress: Progress<'_>,
    ) -> Result<Result<Arc<Scene>, Remark>, Stopped> {
        if let Some((k, scene)) = &self.scene
            && k == key
        {
            return Ok(scene.clone());
        }
        let traced =
            picture::trace(&loaded.picture.grey, key.wanted, &|done| progress(TRACED * done));
        let scene = match traced {
            Ok(scene) => Ok(Arc::new(scene)),
            Err(PictureError::Cancelled) => return Err(Stopped),
            Err(e) => Err(refused(Part::Picture, &e)),
        };
        self.scene = Some((key.clone(), scene.clone()));
        Ok(scene)
    }

    fn sight(&mut self, key: &SightKey, scene: &Scene, loaded: &Loaded) -> Sight {
        if let Some((k, sight)) = &self.sight
            && k == key
        {
            return sight.clone();
        }
        let bar = picture::find_bar(scene, key.bar_at);
        let thread = if key.points.is_empty() {
            picture::find_thread(scene, bar.as_ref().ok(), key.thread_at)
                .map_err(|e| refused(Part::Thread, &e))
        } else {
            crate::clicked::thread(&key.points, &loaded.picture.grey)
        };
        let thread = thread.and_then(|t| without(t, &key.excluded));
        let sight = Sight {
            bar: bar.map(Arc::new).map_err(|e| refused(Part::Bar, &e)),
            thread: thread.map(Arc::new),
        };
        self.sight = Some((key.clone(), sight.clone()));
        sight
    }

    fn measured(
        &mut self,
        key: &SightKey,
        sighting: &Sighting,
        known: &Known,
        progress: Progress<'_>,
    ) -> Result<Result<Arc<Measurement>, Remark>, Stopped> {
        if let Some((k, said, measurement)) = &self.measurement
            && k == key
            && said == known
        {
            return Ok(measurement.clone());
        }
        let fitted =
            fit::measure(sighting, known, &|done| progress(TRACED + (1.0 - TRACED) * done));
        let measurement = match fitted {
            Ok(measurement) => Ok(Arc::new(measurement)),
            Err(FitError::Cancelled) => return Err(Stopped),
            Err(e) => Err(Remark::new(Part::Form, "not-measured", e.said())),
        };
        self.measurement = Some((key.clone(), known.clone(), measurement.clone()));
        Ok(measurement)
    }
}

/// Diameter of a screw, mm, and distance of a camera, mm, beyond which the width of the bar is asked
/// about again: a picture has no size, and a bar ten times too wide makes everything so.
const UNLIKELY_DIAMETER_MM: f64 = 120.0;
const UNLIKELY_DISTANCE_MM: f64 = 1500.0;

/// What the bar's width makes of the picture, where that is hardly so.
fn unlikely(major_mm: Option<Quantity>, camera_mm: Option<Quantity>) -> Option<Sentence> {
    let beyond = |q: Option<Quantity>, most: f64| q.filter(|q| q.value > most);
    let mut makes = Vec::new();
    if let Some(q) = beyond(major_mm, UNLIKELY_DIAMETER_MM) {
        makes.push(sentence!("the screw {} across", mm(q.value, 0)));
    }
    if let Some(q) = beyond(camera_mm, UNLIKELY_DISTANCE_MM) {
        makes.push(sentence!("the camera {} m away", figure(q.value / 1000.0, 1)));
    }
    (!makes.is_empty()).then(|| {
        sentence!(
            "this bar makes {}. If that is not so, its width was entered wrong: look at it again.",
            Sentence::joined(makes, " and ")
        )
    })
}

/// The outline without what lies in the boxes.
fn without(mut thread: Thread, boxes: &[PixelBox]) -> Result<Thread, Remark> {
    if boxes.is_empty() {
        return Ok(thread);
    }
    let inside = |x: f64, y: f64| {
        boxes.iter().any(|b| (b.x..=b.x + b.w).contains(&x) && (b.y..=b.y + b.h).contains(&y))
    };
    let before = thread.upper.len() + thread.lower.len();
    thread.upper.retain(|p| !inside(p.x, p.y));
    thread.lower.retain(|p| !inside(p.x, p.y));
    let left = thread.upper.len() + thread.lower.len();
    if 5 * left < before {
        return Err(Remark::new(
            Part::Thread,
            "excluded",
            format!(
                "only {left} of {before} points of the outline are left outside the boxes that \
                 do not count; a fifth at least is needed. Take a box away."
            ),
        ));
    }
    Ok(thread)
}

fn known(job: &Job, focal_35mm: Option<f64>) -> Option<Known> {
    Some(Known {
        bar_width_mm: job.bar.width_mm?,
        bar_shape: job.bar.shape,
        bar_drop: job.bar.drop,
        view: job.view,
        major_diameter_mm: job.thread.major_diameter_mm,
        starts: job.thread.starts,
        hand: job.thread.hand,
        mirrored: job.thread.mirrored,
        focal_35mm,
    })
}

fn notice(part: Part, n: &picture::Notice) -> Remark {
    Remark {
        part,
        code: n.code.to_owned(),
        text: n.text.as_str().into(),
        at_px: n.at.map(|b| (b.x, b.y, b.w, b.h)),
    }
}

fn refused(part: Part, e: &PictureError) -> Remark {
    Remark {
        part,
        code: e.code().to_owned(),
        text: e.to_string().into(),
        at_px: e.at().map(|b| (b.x, b.y, b.w, b.h)),
    }
}

/// Picture (or typed form) and evidence together, and the odds; either may be missing.
fn name(job: &Job, told: &Measured, out: &mut Findings) {
    let (identity, ranking) = identify(job, told);
    if let Some(disagreement) = &identity.disagreement {
        for text in &disagreement.sentences {
            out.warnings.push(Remark::new(Part::Identity, "readings-disagree", text.clone()));
        }
    }
    for (said, found) in job.evidence.iter().zip(&identity.readings) {
        if let Standing::NotUsed(why) = &found.standing {
            let text = sentence!("{} is not used: {}", said.evidence.label(), why);
            out.warnings.push(Remark::new(Part::Identity, "reading-not-used", text));
        }
    }
    out.identity = Some(Arc::new(identity));
    out.ranking = Some(ranking);
}

/// The screw as the job asks for it: as it is, or rounded, with the cost said.
fn as_asked(job: &Job, screw: ScrewForm, out: &mut Findings) -> ScrewForm {
    if job.rounding == Rounding::AsMeasured {
        return screw;
    }
    let offer = out.identity.as_ref().and_then(|i| i.rounding(job.rounding)).cloned();
    let Some(offer) = offer else { return screw };
    let code = if offer.form.is_ok() { "rounded" } else { "not-rounded" };
    out.warnings.push(Remark::new(Part::Nut, code, offer.text().clone()));
    match &offer.form {
        Ok(form) => rounded_screw(&screw, form),
        Err(_) => screw,
    }
}

/// Everything after the measurement: names, nut, tool.
fn design(job: &Job, out: &mut Findings) {
    // What was entered stands in for what the picture does not tell.
    let measurement = out.measurement.clone().map(|m| {
        let (known, filled) = filled_in(&m, &job.form);
        out.warnings.extend(filled);
        known
    });
    let typed = match &measurement {
        Some(_) => None,
        None => {
            let fine = job.form.pitch_mm.and_then(|q| shop::unusually_fine("the pitch", q.value));
            out.warnings.extend(fine.map(|n| Remark::new(Part::Form, &n.code, n.text)));
            crate::workshop::typed_screw(job)
        }
    };
    let told = match (&measurement, &typed) {
        (Some(measurement), _) => asked(measurement),
        (None, Some(Ok(screw))) => asked_of_screw(screw),
        (None, _) => Measured::default(),
    };
    if told != Measured::default() || !job.evidence.is_empty() {
        name(job, &told, out);
    }
    let together = out.identity.as_ref().filter(|_| !job.evidence.is_empty()).map(|i| &i.combined);
    let screw = match &measurement {
        Some(measurement) => Some(screw_told(measurement, together)),
        None => typed.map(|t| {
            t.map(|screw| together.map_or(screw.clone(), |all| with_evidence(&screw, all)))
                .map_err(|text| Untold { text, by_reading: false })
        }),
    };
    if let Some(remark) = tapered(out) {
        let parallel = remark.code != "tapered";
        if parallel { &mut out.warnings } else { &mut out.troubles }.push(remark);
        if !parallel {
            return;
        }
    }
    let worn_mm;
    let screw = match screw {
        Some(Ok(screw)) => {
            let real = with_unworn(job, screw);
            worn_mm = real.thickest_extra_mm.value;
            Arc::new(as_asked(job, real, out))
        }
        Some(Err(Untold { text, by_reading })) => {
            let code = if by_reading { READING_NEEDED } else { "form-incomplete" };
            out.troubles.push(Remark::new(Part::Nut, code, text));
            return;
        }
        None => return,
    };
    out.screw = Some(Arc::clone(&screw));
    out.warnings.extend(measurement.as_ref().map(assumptions).unwrap_or_default());
    if out.refusal.is_none() {
        out.refusal = must_hold::holds(job, &screw, out);
    }
    if out.refusal.is_some() {
        return;
    }
    // What a rounding adds to it is no wear.
    if worn_mm > 0.0 && job.sheets.tool_for == ToolFor::Nut {
        out.warnings.push(Remark::new(
            Part::Nut,
            "worn-screw",
            sentence!(
                "the screw's thickest ridge is thicker than its form by {}: the nut is made \
                 to pass it, and has that much more play where the screw is worn. Check that an \
                 unworn end is in the picture, or gauge one.",
                mm(worn_mm, 2)
            ),
        ));
    }
    match nut_for(job, &screw) {
        Ok(nut) => {
            // With a tool for the screw, the nut is no part of what is looked at.
            let notices = if job.sheets.tool_for == ToolFor::Nut { &nut.notices[..] } else { &[] };
            for n in notices {
                out.warnings.push(Remark::new(Part::Nut, &n.code, n.text.clone()));
            }
            if let Some(refusal) = must_hold::bears(job, &nut, out) {
                out.refusal = Some(refusal);
                return;
            }
            out.nut = Some(Arc::new(nut));
        }
        Err(text) => out.troubles.push(Remark::new(Part::Nut, "nut", text)),
    }
    match tool_for(job.sheets.tool_for, &job.tool, &screw, out.nut.as_deref()) {
        Some(Ok(tool)) => {
            for n in &tool.notices {
                out.warnings.push(Remark::new(Part::Tool, &n.code, n.text.clone()));
            }
            out.tool = Some(Arc::new(tool));
        }
        Some(Err(text)) => out.troubles.push(Remark::new(Part::Tool, "tool", text)),
        None => {}
    }
}

/// Taper on the diameter from which a thread is meant to taper, and not worn or ground so: 1:50.
const MEANT_TAPER: f64 = 0.02;

/// What a taper, by picture and evidence together, means for the work: nuts, tools and passes here are
/// those of parallel threads.
fn tapered(out: &Findings) -> Option<Remark> {
    let taper = out.identity.as_ref()?.combined.measured.taper?;
    let size = taper.value.abs();
    if !fit::is_notable(taper) {
        return None;
    }
    let one_in = 1.0 / size;
    if size < MEANT_TAPER {
        let text = sentence!(
            "the diameter of the screw changes by {} with every {} along it (1:{}): \
             worn, or ground out of line. The nut is designed for the diameter given, that at the \
             middle of the thread shown; measure the thickest end the nut must pass.",
            mm(10.0 * size, 3),
            mm(10.0, 0),
            figure(one_in, 0)
        );
        return Some(Remark::new(Part::Nut, "slightly-tapered", text));
    }
    let text = format!(
        "the thread tapers 1:{one_in:.0} on the diameter, and the nut, the tool and the passes here are \
         those of parallel threads: none is designed. Tapered pipe threads hold pressure, and such a \
         joint has to be made to its standard by a competent, licensed person under the local code."
    );
    Some(Remark::new(Part::Nut, "tapered", text))
}

/// What is taken for granted where the picture does not tell.
fn assumptions(measurement: &Measurement) -> Vec<Remark> {
    let mut out = Vec::new();
    if measurement.hand.is_none() {
        out.push(Remark::new(
            Part::Tool,
            "hand-assumed",
            "the picture does not tell the hand; right is assumed. Which side of the tool leads, \
             and with it both side clearances, depends on it: look at the screw and enter its hand.",
        ));
    }
    if measurement.starts.is_none() {
        out.push(Remark::new(
            Part::Tool,
            "starts-assumed",
            "the picture does not tell the number of starts; one is assumed. Lead and side \
             clearances depend on it: follow one groove for a turn, count, and enter it.",
        ));
    }
    out
}

/// Standard uncertainty beyond which no nut is designed: of the pitch as a part of it, of an angle in
/// degrees, of what makes up the form as a part of pitch or diameter.
const MOST_PITCH_U: f64 = 0.02;
const MOST_ANGLE_U_DEG: f64 = 4.0;
const MOST_OF_FORM_U: f64 = 0.1;

/// A tooth that differs from the form by less than this, mm, or by less than so many of its standard
/// uncertainties, is taken to agree with it.
const WORN_MM: f64 = 0.02;
const WORN_U: f64 = 4.0;

/// How much thicker than the form the screw's thickest ridge is, and how much thinner the thinnest.
///
/// One tooth alone may be dirt or a dent; what two show is the screw.
fn worn(teeth: &[fit::Tooth]) -> (Quantity, Quantity) {
    let mut extra: Vec<Quantity> = teeth
        .iter()
        .map(|t| {
            let (r, l) = (t.right_wear_mm, t.left_wear_mm);
            Quantity::measured(-(r.value + l.value), r.u.hypot(l.u))
        })
        .collect();
    extra.sort_by(|a, b| a.value.total_cmp(&b.value));
    let agrees = Quantity::assumed(0.0, 0.0);
    let notable = |q: Quantity| q.value > WORN_MM.max(WORN_U * q.u);
    let thick = extra.iter().rev().nth(1).copied().filter(|q| notable(*q));
    let thin = extra.get(1).map(|q| Quantity::measured(-q.value, q.u)).filter(|q| notable(*q));
    let thin = thin.unwrap_or(agrees);
    // Teeth thicker than the form say that the form is that of worn ones, and that an end less worn
    // than any in the picture may be thicker by as much again.
    let thick = thick
        .map_or(agrees, |q| Quantity::measured(q.value, q.u.hypot(0.5 * (q.value + thin.value))));
    (thick, thin)
}

/// The screw that a measurement describes, with what other readings say of it: see
/// [`standards::combine`].
///
/// # Errors
/// A sentence that names the number nothing can be designed without, and how else it may be had.
pub fn screw_of(
    measurement: &Measurement,
    together: Option<&Combined>,
) -> Result<ScrewForm, Sentence> {
    screw_told(measurement, together).map_err(|untold| untold.text)
}

/// Code of the trouble that a number nothing can be designed without is not told by the picture, and
/// that a reading beside it would tell it.
pub const READING_NEEDED: &str = "reading-needed";

/// Why no screw follows from a measurement.
struct Untold {
    /// A sentence.
    text: Sentence,
    /// Whether a reading beside the picture would tell it.
    by_reading: bool,
}

fn screw_told(measurement: &Measurement, together: Option<&Combined>) -> Result<ScrewForm, Untold> {
    let f = &measurement.form;
    let together = together.filter(|all| all.contradictions.is_empty());
    let told = |feature: Feature, q: Option<Quantity>| match together {
        Some(all) => told_together(q, feature, all),
        None => q,
    };
    let need = |name: &str, q: Option<Quantity>, most_u: f64, way: Way| {
        let told = q.filter(|q| q.value.is_finite() && q.u.is_finite());
        told.filter(|q| q.u <= most_u).ok_or_else(|| {
            let how = match told {
                Some(_) => "could hardly be told",
                None => "could not be told",
            };
            let (by_reading, way) = match way {
                Way::Reading(how) => {
                    (true, format!("{how}, and enter that under \"Readings beside the picture\""))
                }
                Way::Otherwise(how) => (false, how.to_owned()),
            };
            let text = sentence!(
                "the {} {} from the picture, and neither nut nor tool can be designed without it: {}.",
                name,
                how,
                way
            );
            Untold { text, by_reading }
        })
    };
    let pitch_mm = told(Feature::Pitch, f.pitch_mm);
    let between = || {
        let all = &together?.measured;
        let (major, minor) = (all.major_diameter_mm?, all.minor_diameter_mm?);
        Some(Quantity::derived(0.5 * (major.value - minor.value), 0.5 * major.u.hypot(minor.u)))
    };
    let major_mm = told(Feature::MajorDiameter, f.major_diameter_mm);
    // In more doubt than this nothing fits anything: three pitches of the nearest series come into it.
    let pitch = pitch_mm.map_or(0.0, |q| q.value.abs());
    let major = major_mm.map_or(0.0, |q| q.value.abs());
    // A crest's corner nobody could see a radius at is taken as sharp: a nut that clears that clears any.
    let radius = |q: Option<Quantity>| {
        q.filter(|q| q.u.is_finite()).unwrap_or_else(|| Quantity::assumed(0.0, 0.0))
    };
    let (thickest_extra_mm, thinnest_deficit_mm) = worn(&measurement.teeth);
    let screw = ScrewForm {
        pitch_mm: need("pitch", pitch_mm, MOST_PITCH_U * pitch, PITCH_BY)?,
        right_flank_deg: need(
            "right flank's angle",
            told(Feature::RightFlank, f.right_flank_deg),
            MOST_ANGLE_U_DEG,
            FLANK_BY,
        )?,
        left_flank_deg: need(
            "left flank's angle",
            told(Feature::LeftFlank, f.left_flank_deg),
            MOST_ANGLE_U_DEG,
            FLANK_BY,
        )?,
        depth_mm: need(
            "depth",
            told(Feature::Depth, f.depth_mm).or_else(between),
            MOST_OF_FORM_U * pitch,
            DEPTH_BY,
        )?,
        crest_flat_mm: need(
            "crest flat",
            told(Feature::CrestFlat, f.crest_flat_mm),
            MOST_OF_FORM_U * pitch,
            CREST_BY,
        )?,
        crest_radius_mm: radius(f.crest_radius_mm),
        root_radius_mm: radius(f.root_radius_mm),
        major_diameter_mm: need("major diameter", major_mm, MOST_OF_FORM_U * major, MAJOR_BY)?,
        starts: measurement.starts.map_or(1, |s| s.value),
        hand: measurement.hand.map_or(Hand::Right, |h| h.value),
        correlation: Some(measurement.correlation),
        thickest_extra_mm,
        thinnest_deficit_mm,
    };
    let mut screw = together.map_or(screw.clone(), |all| with_evidence(&screw, all));
    fit_radii(&mut screw);
    if f.root_radius_mm.is_none_or(|q| !q.u.is_finite()) {
        screw.root_radius_mm = unseen_root(&screw);
    }
    let text = |e: shop::ScrewError| Untold { text: e.said(), by_reading: false };
    screw.check().map_err(text)?;
    Ok(screw)
}

/// The radius of a root that was never seen: none, or any that fits, alike.
fn unseen_root(screw: &ScrewForm) -> Quantity {
    let largest_mm = screw.thread().map_or(0.0, |thread| {
        let section = thread.section();
        section.largest_radius_mm(section.root_flat_mm())
    });
    Quantity::assumed(0.0, largest_mm / 3f64.sqrt())
}

/// The measurement with the flanks that were entered where the picture does not tell them: those of a
/// square thread hide behind its crests, and whoever holds the screw sees that they are square.
fn filled_in(measurement: &Measurement, said: &FormSaid) -> (Measurement, Vec<Remark>) {
    let mut known = measurement.clone();
    let mut remarks = Vec::new();
    for (name, at, found, entered) in [
        ("right", 1, &mut known.form.right_flank_deg, said.right_flank_deg),
        ("left", 2, &mut known.form.left_flank_deg, said.left_flank_deg),
    ] {
        let Some(entered) = entered else { continue };
        if found.is_some_and(|q| q.u <= MOST_ANGLE_U_DEG) {
            continue;
        }
        *found = Some(entered);
        // What was entered hangs together with nothing in the picture.
        for k in (0..known.correlation.len()).filter(|k| *k != at) {
            known.correlation[at][k] = 0.0;
            known.correlation[k][at] = 0.0;
        }
        known.correlation[at][at] = 1.0;
        let text = format!(
            "the picture does not tell the {name} flank's angle: {}° is taken, as it was entered.",
            entered.with_u(2)
        );
        remarks.push(Remark::new(Part::Form, "flank-entered", text));
    }
    (known, remarks)
}

/// How a number that the picture does not tell may be had.
#[derive(Clone, Copy)]
enum Way {
    /// By a reading that is entered beside the picture.
    Reading(&'static str),
    /// In no such way.
    Otherwise(&'static str),
}

const PITCH_BY: Way = Way::Reading(
    "measure it with a caliper over ten threads, or over as many threads as can be reached",
);
const FLANK_BY: Way = Way::Otherwise(
    "a sharper picture, larger, of more teeth would tell it; or, where the screw itself shows it, a \
     square flank above all, enter the angle",
);
const DEPTH_BY: Way = Way::Reading("measure the root diameter (minor diameter)");
const CREST_BY: Way = Way::Otherwise("a sharper picture, larger, of more teeth would tell it");
const MAJOR_BY: Way = Way::Reading("measure it with a micrometer");

/// A slight taper turns both flanks by a little, and radii that fill their flats on the cone may then
/// be too large by a hair for the parallel thread the nut is made for.
fn fit_radii(screw: &mut ScrewForm) {
    let sharp = form::Section::new(form::SectionNumbers {
        pitch_mm: screw.pitch_mm.value,
        depth_mm: screw.depth_mm.value,
        right_flank_rad: screw.right_flank_deg.value.to_radians(),
        left_flank_rad: screw.left_flank_deg.value.to_radians(),
        crest_flat_mm: screw.crest_flat_mm.value,
        ..form::SectionNumbers::default()
    });
    let Ok(sharp) = sharp else { return };
    for (radius, flat) in [
        (&mut screw.crest_radius_mm, sharp.crest_flat_mm()),
        (&mut screw.root_radius_mm, sharp.root_flat_mm()),
    ] {
        let largest = sharp.largest_radius_mm(flat);
        if (largest..RADIUS_SLACK * largest).contains(&radius.value) {
            radius.value = largest;
        }
    }
}

/// How many times the largest that fits a radius may be and be cut to it.
const RADIUS_SLACK: f64 = 1.01;

/// The screw with what a gauge said of its unworn ends.
fn with_unworn(job: &Job, mut screw: ScrewForm) -> ScrewForm {
    if let Some(thicker) = job.nut.unworn_thicker_mm {
        screw.thickest_extra_mm = thicker;
    }
    screw
}

/// The nut a job asks for, cut with the best train of the job's change wheels where there are any.
///
/// # Errors
/// A sentence.
pub fn nut_for(job: &Job, screw: &ScrewForm) -> Result<NutDesign, Sentence> {
    let said = &job.nut;
    let request = NutRequest {
        radial_clearance_mm: said.radial_clearance_mm.map(|q| q.value),
        bore_clearance_mm: said.bore_clearance_mm,
        length_mm: said.length_mm,
        kind: said.kind,
        material: said.material,
        load_n: said.load_n,
        cut_pitch_mm: crate::workshop::pitch_cut_mm(job, screw),
        ..NutRequest::with_play(said.play_mm.value)
    };
    shop::design_nut(screw, &request).map_err(|e| e.said())
}

/// The tool for a nut or a screw; `None` when it is for a nut that could not be designed.
#[must_use]
pub fn tool_for(
    what: ToolFor,
    setting: &ToolSetting,
    screw: &ScrewForm,
    nut: Option<&NutDesign>,
) -> Option<Result<ToolForm, Sentence>> {
    let tool = match what {
        ToolFor::Nut => shop::tool_for_nut(screw, nut?, setting),
        ToolFor::Screw => shop::tool_for_screw(screw, setting),
    };
    Some(tool.map_err(|e| e.said()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::shadow::Edge;

    fn tooth(extra_mm: f64, u: f64) -> fit::Tooth {
        let half = Quantity::measured(-0.5 * extra_mm, u / std::f64::consts::SQRT_2);
        fit::Tooth {
            edge: Edge::Upper,
            number: 0,
            at_px: (0.0, 0.0),
            pitch_error_mm: Quantity::measured(0.0, u),
            right_wear_mm: half,
            left_wear_mm: half,
        }
    }

    #[test]
    fn a_bar_that_makes_a_giant_is_asked_about() {
        let mm = |value: f64| Some(Quantity::measured(value, 0.1));
        assert_eq!(unlikely(mm(18.0), mm(204.0)), None);
        assert_eq!(unlikely(None, None), None);
        let said = unlikely(mm(180.08), mm(2042.0)).unwrap();
        assert!(said.to_string().contains("180 mm across and the camera 2.0 m away"), "{said}");
    }

    #[test]
    fn two_teeth_show_wear_and_one_does_not() {
        let of = |extras: &[f64]| {
            let teeth: Vec<_> = extras.iter().map(|e| tooth(*e, 0.004)).collect();
            let (thick, thin) = worn(&teeth);
            (thick.value, thin.value)
        };
        assert_eq!(of(&[]), (0.0, 0.0));
        assert_eq!(of(&[0.0, 0.005, -0.01, 0.003]), (0.0, 0.0));
        assert_eq!(of(&[0.0, 0.2, -0.01, 0.003]), (0.0, 0.0));
        let (thick, thin) = of(&[0.0, 0.06, 0.07, 0.0, -0.05, -0.08]);
        assert!(worn(&[tooth(0.06, 0.004), tooth(0.07, 0.004), tooth(-0.01, 0.004)]).0.u > 0.02);
        assert!((thick - 0.06).abs() < 1e-12 && (thin - 0.05).abs() < 1e-12);
        // In doubt nothing is claimed.
        assert_eq!(worn(&[tooth(0.06, 0.05), tooth(0.07, 0.05)]).0.value, 0.0);
    }
}
