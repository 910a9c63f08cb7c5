//! What the window is about, as plain data: no pixels, no threads, no files.

use super::as_typed;
use super::camera::Camera;
use super::field::Field;
use super::ground_view::Seen;
use super::guide::Guide;
use super::levels::Levels;
use super::preview::Page;
use super::refused;
use super::stage::{Stage, Standing};
use eframe::egui::ColorImage;
use form::Units;
use job::{Findings, Flank, History, Job, Loaded};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::Arc;

/// What the pointer does over the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Pointer {
    /// Moves the picture.
    #[default]
    Look,
    /// Draws the box in which the bar is looked for.
    BarBox,
    /// Draws the box in which the thread is looked for.
    ThreadBox,
    /// Draws a box in which the outline does not count.
    Exclude,
    /// Sets points on the outline.
    Points(Flank),
}

/// What is drawn over the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shown {
    /// The outline that was seen, and the shadow the fitted screw casts.
    #[default]
    Shadow,
    /// The axial section where it lies: what is there.
    Section,
}

/// What stands in the strip under the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Strip {
    /// Nothing: the picture has all the room.
    Nothing,
    /// How far the outline lies from the fitted shadow, flank by flank.
    #[default]
    Residuals,
    /// Pitch error and wear, tooth by tooth.
    Teeth,
}

/// What a file is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Asked {
    /// A picture or job to open.
    Open,
    /// Where to save the job.
    SaveAs,
    /// Folder for the sheets.
    Export,
    /// Folder for the one sheet that is shown.
    ExportSheet,
    /// Readings of lost motion.
    Survey,
    /// A picture of the ground tool.
    Ground,
    /// Another picture of the same screw.
    Retake,
}

/// A path being typed, where the desktop offers no dialog or the person prefers typing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TypedPath {
    /// What for.
    pub asked: Asked,
    /// The text so far.
    pub text: String,
    /// Why the last one was no good.
    pub wrong: Option<String>,
    /// What there is in the folder typed so far.
    pub offers: Offers,
}

/// Files and folders that may be meant.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Offers {
    /// The folder that was looked into.
    pub folder: PathBuf,
    /// What is in it that may be opened; folders end with a `/`.
    pub names: Vec<String>,
}

/// Where sheets are to be written, and which.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToWrite {
    /// The folder.
    pub folder: PathBuf,
    /// Only the sheet with this stem, or all.
    pub only: Option<&'static str>,
    /// Whether files of another job are replaced.
    pub replace: bool,
}

/// How serious a message is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Something was done.
    Done,
    /// Something could not be done.
    Wrong,
}

/// What a message is about: what comes right takes the failures of its own kind away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// Saving the job.
    Saving,
    /// Keeping it against a crash.
    Journal,
    /// Reading a picture or a job.
    Opening,
    /// Reading readings of lost motion.
    Readings,
    /// Reading a picture of the ground tool.
    Ground,
    /// Printing or writing the sheets.
    Sheets,
    /// How large text is.
    TextSize,
    /// Anything else.
    Other,
}

/// Something to tell the person, until dismissed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// What it is about.
    pub about: About,
    /// How serious.
    pub tone: Tone,
    /// A sentence.
    pub text: String,
}

/// What is being worked on away from the window.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Work {
    /// Nothing.
    #[default]
    Idle,
    /// Something.
    Busy {
        /// What, in words.
        what: String,
        /// Fraction done, 0 to 1.
        done: f32,
    },
}

/// Pages as they will print, or why there are none, and the job they are of.
pub type Preview = (Arc<Job>, Result<Vec<Page>, String>);

/// Everything the window shows.
#[derive(Debug)]
pub struct Bench {
    /// The job with everything that was done to it.
    pub history: History,
    /// The job's file, once it has one.
    pub home: Option<PathBuf>,
    /// The job as it is on the disk.
    pub saved: Arc<Job>,
    /// What its file held when it was read or saved last.
    pub mark: Option<job::Mark>,
    /// What another made of its file since, until it is said which is kept.
    pub changed: Option<super::changed::Changed>,
    /// What is said of journals that cannot be read.
    pub lost: Vec<String>,
    /// The job a crash left behind that is to be thrown away, once that is confirmed.
    pub forgetting: Option<usize>,
    /// The picture, once read.
    pub loaded: Option<Arc<Loaded>>,
    /// The picture as it is drawn.
    pub levels: Option<Arc<Levels>>,
    /// The last good findings, and the job they follow from.
    pub findings: Option<(Arc<Job>, Arc<Findings>)>,
    /// Work under way.
    pub work: Work,
    /// Where in the order of the work the person is.
    pub stage: Stage,
    /// Steps that were looked at since what is to be said of them changed.
    pub visited: BTreeSet<Stage>,
    /// What is open is a demonstration.
    pub demonstration: bool,
    /// The job whose sheets were printed or written last.
    pub given_out: Option<Arc<Job>>,
    /// What the pointer does.
    pub pointer: Pointer,
    /// Where the picture is looked at.
    pub camera: Camera,
    /// What is drawn over it.
    pub shown: Shown,
    /// What stands under the picture.
    pub strip: Strip,
    /// The blank is set out, before the thread is cut.
    pub setting_out: bool,
    /// The ground tool in its own picture, and which picture that is, by its hash.
    pub ground: Option<Arc<Seen>>,
    /// Page of the sheets that is looked at.
    pub page: usize,
    /// The pages as they will print, and the job they are of.
    pub preview: Option<Preview>,
    /// The job cannot be kept against a crash at present.
    pub journal_fails: bool,
    /// Candidate the section is compared with, by its place among them.
    pub candidate: usize,
    /// Entry that is to be typed in next.
    pub focus: Option<Field>,
    /// Text typed and not yet taken.
    pub drafts: BTreeMap<Field, String>,
    /// Why typed text was not taken.
    pub wrong: BTreeMap<Field, String>,
    /// The point chosen among those clicked.
    pub point: Option<usize>,
    /// A path being typed.
    pub typed_path: Option<TypedPath>,
    /// The path that was typed for what is being read: asked for again when that cannot be read.
    pub tried_path: Option<TypedPath>,
    /// A question before unsaved work is left: what happens on "leave it".
    pub leaving: Option<Leaving>,
    /// What is done as soon as the job is saved: what unsaved work was to be left for.
    pub once_saved: Option<Leaving>,
    /// Sheets that were not written, because files of another job have their names, and the sentence that
    /// says so.
    pub taken: Option<(ToWrite, String)>,
    /// A mark of the job in hand, by which the sheets written from it are known before it has a file.
    pub session: String,
    /// Messages, oldest first.
    pub messages: Vec<Message>,
    /// Jobs and pictures opened lately, newest first.
    pub recent: Vec<PathBuf>,
    /// The guide is shown.
    pub help: bool,
    /// Where in it one reads.
    pub guide: Guide,
    /// Size of text and everything else that is wanted; 1 is usual.
    pub text_size: f32,
    /// The largest that the window carries.
    pub text_most: f32,
    /// The picture that is being read takes the place of the job's.
    pub retaking: bool,
    /// Units a new job begins with: those that were chosen last.
    pub usual_units: Units,
    /// How often a step was gone to: its page begins at its top each time.
    pub visits: u32,
    /// Jobs that a crash left behind.
    pub recovered: Vec<job::Recovered>,
    /// Where the job in hand was left behind: thrown away once it is safe elsewhere.
    pub left_behind: Option<PathBuf>,
}

/// What unsaved work would be left for.
#[derive(Debug, Clone, PartialEq)]
pub enum Leaving {
    /// To open something else.
    Open(PathBuf),
    /// To begin with nothing.
    New,
    /// To look at a demonstration.
    Demonstration(usize),
    /// For a picture that was pasted.
    Paste(Arc<ColorImage>),
    /// To take up what a crash left behind.
    Recover(usize),
    /// To close the window.
    Quit,
}

impl Default for Bench {
    fn default() -> Self {
        let history = History::new(Job::default());
        Self {
            saved: Arc::clone(history.now()),
            history,
            home: None,
            mark: None,
            changed: None,
            lost: Vec::new(),
            forgetting: None,
            loaded: None,
            levels: None,
            findings: None,
            work: Work::default(),
            stage: Stage::Picture,
            visited: BTreeSet::new(),
            demonstration: false,
            given_out: None,
            pointer: Pointer::default(),
            camera: Camera::default(),
            shown: Shown::default(),
            strip: Strip::default(),
            setting_out: false,
            ground: None,
            page: 0,
            preview: None,
            journal_fails: false,
            candidate: 0,
            focus: None,
            drafts: BTreeMap::new(),
            wrong: BTreeMap::new(),
            point: None,
            typed_path: None,
            tried_path: None,
            leaving: None,
            once_saved: None,
            taken: None,
            session: super::opening::session(),
            messages: Vec::new(),
            recent: Vec::new(),
            help: false,
            guide: Guide::default(),
            text_size: 1.0,
            text_most: super::text_size::LARGEST,
            retaking: false,
            usual_units: Units::Mm,
            visits: 0,
            recovered: Vec::new(),
            left_behind: None,
        }
    }
}

impl Bench {
    /// The job as it is now.
    #[must_use]
    pub fn job(&self) -> &Arc<Job> {
        self.history.now()
    }

    /// The last good findings.
    #[must_use]
    pub fn findings(&self) -> Option<&Arc<Findings>> {
        self.findings.as_ref().map(|(_, f)| f)
    }

    /// Whether the findings shown follow from the job as it is now.
    #[must_use]
    pub fn up_to_date(&self) -> bool {
        self.findings.as_ref().is_some_and(|(j, _)| same_result(j, self.job()))
    }

    /// Whether the picture is being measured and there is no last result that could stand meanwhile.
    #[must_use]
    pub fn being_measured(&self) -> bool {
        let nothing = self.findings().is_none_or(|f| f.measurement.is_none());
        let busy = !self.up_to_date() && matches!(self.work, Work::Busy { .. });
        nothing && busy && self.loaded.is_some() && self.job().bar.width_mm.is_some()
    }

    /// Whether the bar is taken for what is usual, and nobody has said that it is.
    #[must_use]
    pub fn bar_unconfirmed(&self) -> bool {
        let bar = &self.job().bar;
        self.loaded.is_some() && bar.width_mm.is_some() && bar.is_assumed()
    }

    /// Whether what was measured rests on such a bar.
    #[must_use]
    pub fn rests_on_bar(&self) -> bool {
        self.bar_unconfirmed() && self.findings().is_some_and(|f| f.measurement.is_some())
    }

    /// Whether what was printed or written last is of another state of the job.
    #[must_use]
    pub fn sheets_are_old(&self) -> bool {
        self.given_out.as_ref().is_some_and(|job| !same_result(job, self.job()))
    }

    /// Whether anything would be lost by closing.
    #[must_use]
    pub fn unsaved(&self) -> bool {
        let job = self.job();
        // Other units alone lose nothing: they are the window's as much as the job's.
        **job != *self.saved && Job { units: self.saved.units, ..(**job).clone() } != *self.saved
    }

    /// Units lengths are shown in.
    #[must_use]
    pub fn units(&self) -> Units {
        self.job().units
    }

    /// How far a stage has come.
    #[must_use]
    pub fn standing(&self, stage: Stage) -> Standing {
        let job = self.job();
        let nothing = Findings::default();
        let findings = self.findings().map_or(&nothing, |f| f);
        let waits_for_picture = stage.shows_picture() && stage != Stage::Picture;
        let done = |there: bool| {
            if findings.trouble(stage.part()).is_some() {
                Standing::Asks
            } else if !there {
                Standing::Waiting
            } else if findings.warned(stage.part()) {
                Standing::Doubtful
            } else {
                Standing::Done
            }
        };
        let machine = |there: bool| {
            if there && job.duty.is_none() { Standing::Asks } else { done(there) }
        };
        // What is shown does not rest on what stands in the entry.
        if stage != Stage::Sheets && refused::at(self, stage).is_some() {
            return Standing::Asks;
        }
        match stage {
            Stage::Survey => done(findings.survey.is_some()),
            Stage::Picture if self.loaded.is_none() && job.picture.is_some() => Standing::Asks,
            // What is done without a picture asks for none.
            Stage::Picture
                if self.loaded.is_none()
                    && (findings.screw.is_some() || job::needs_no_duty(findings)) =>
            {
                Standing::Waiting
            }
            Stage::Picture if self.loaded.is_none() => Standing::Asks,
            Stage::Picture if self.findings.is_none() => Standing::Done,
            Stage::Picture => done(findings.scene.is_some()),
            _ if waits_for_picture && self.loaded.is_none() && stage != Stage::Form => {
                Standing::Waiting
            }
            Stage::Bar if job.bar.width_mm.is_none() && self.findings.is_some() => Standing::Asks,
            // What was found before the width was typed asks for it no more.
            Stage::Bar if self.being_measured() => Standing::Waiting,
            Stage::Bar if self.bar_unconfirmed() => Standing::Asks,
            Stage::Bar => done(findings.bar.is_some()),
            Stage::Thread => done(findings.thread.is_some()),
            Stage::Form if self.rests_on_bar() && findings.trouble(stage.part()).is_none() => {
                Standing::Doubtful
            }
            // Some numbers of a thread were typed, and not all.
            Stage::Form if !super::thread_name::missing(job).is_empty() => Standing::Asks,
            Stage::Form => done(findings.measurement.is_some() || findings.screw.is_some()),
            Stage::Identity if reading_needed(findings).is_some() => Standing::Asks,
            Stage::Identity if reading_helps(findings).is_some() => Standing::Doubtful,
            Stage::Identity => match &findings.ranking {
                None => Standing::Waiting,
                Some(r) if r.verdict == standards::Verdict::CannotTell => Standing::Doubtful,
                Some(_) => Standing::Done,
            },
            Stage::Nut | Stage::Tool if findings.refusal.is_some() => Standing::Asks,
            Stage::Nut if will_not_fit(findings).is_some() && job.duty.is_some() => {
                Standing::Doubtful
            }
            Stage::Nut => machine(findings.nut.is_some()),
            // Nothing is shown before it is known what the thread does.
            Stage::Tool | Stage::Passes if job.duty.is_none() => Standing::Waiting,
            Stage::Tool if will_not_fit(findings).is_some() => Standing::Asks,
            Stage::Tool => done(findings.tool.is_some()),
            Stage::Wheels => done(findings.gears.as_ref().is_some_and(|g| !g.trains.is_empty())),
            Stage::Passes => done(findings.cutting.is_some()),
            Stage::Checks => done(findings.wires.is_some()),
            // A page that says why there is none is nothing to be ready with.
            Stage::Sheets if findings.refusal.is_some() => Standing::Waiting,
            Stage::Sheets if findings.tool.is_some() && job.duty.is_some() => {
                let doubt = will_not_fit(findings).is_some() || not_to_be_cut(findings);
                match doubt || self.rests_on_bar() || !self.wrong.is_empty() {
                    true => Standing::Doubtful,
                    false => Standing::Done,
                }
            }
            Stage::Sheets if job.picture.is_none() && job::needs_no_duty(findings) => {
                Standing::Done
            }
            Stage::Sheets => Standing::Waiting,
        }
    }

    /// Whether a stage that needs the person only has a question, and nothing went wrong there.
    #[must_use]
    pub fn only_asks(&self, stage: Stage) -> bool {
        let trouble = self.findings().and_then(|f| f.trouble(stage.part()));
        let question = |t: &job::Remark| {
            ["bar-width", "ground-bar-width", job::READING_NEEDED].contains(&t.code.as_str())
        };
        let gone = stage == Stage::Picture && self.loaded.is_none() && self.job().picture.is_some();
        let forbidden = self.findings().is_some_and(|f| f.refusal.is_some());
        refused::at(self, stage).is_none()
            && trouble.is_none_or(question)
            && !gone
            && !forbidden
            && !(stage == Stage::Tool && self.findings().is_some_and(|f| will_not_fit(f).is_some()))
    }

    /// What stands in an entry when nobody is typing in it.
    #[must_use]
    pub fn settled_text(&self, field: Field) -> String {
        as_typed::shown(field, self.job())
    }

    /// What an entry shows.
    #[must_use]
    pub fn text_of(&self, field: Field) -> String {
        self.drafts.get(&field).cloned().unwrap_or_else(|| self.settled_text(field))
    }
}

/// That a nut cut with the tool as ground will not go on, where that is so.
#[must_use]
pub fn will_not_fit(findings: &Findings) -> Option<&job::Remark> {
    findings.warnings.iter().find(|w| w.code == shop::TOOL_WILL_NOT_FIT)
}

/// What the picture does not tell and a reading beside it would, if nothing can be designed without it.
#[must_use]
pub fn reading_needed(findings: &Findings) -> Option<&job::Remark> {
    findings.troubles.iter().find(|t| t.code == job::READING_NEEDED)
}

/// The reading that would tell most of what keeps the play from being forecast, where one would.
#[must_use]
pub fn reading_helps(findings: &Findings) -> Option<String> {
    let vague = |w: &job::Remark| w.code == "not-yet" || w.code == "cannot-forecast";
    findings.warnings.iter().find(|w| vague(w))?;
    let (what, reading) = match shop::PARAMETER_NAMES.get(findings.nut.as_ref()?.doubt?.parameter) {
        Some(&"pitch_mm") => ("the pitch", "a caliper over ten threads"),
        Some(&"depth_mm") => ("the depth", "the minor diameter"),
        Some(&"major_diameter_mm") => ("the major diameter", "a micrometer over it"),
        _ => return None,
    };
    Some(format!(
        "The play of the nut cannot be forecast, most of all because of {what}: {reading}, entered \
         under \"Readings beside the picture\", would help"
    ))
}

/// Whether the nut is in so much doubt that nothing should be cut to its numbers yet; its sheets say so
/// in their titles.
#[must_use]
pub fn not_to_be_cut(findings: &Findings) -> bool {
    findings.warnings.iter().any(|w| w.code == "not-yet")
}

/// Whether two jobs have the same findings: names, notes and units change nothing.
fn same_result(a: &Job, b: &Job) -> bool {
    let strip = |j: &Job| Job {
        title: String::new(),
        notes: String::new(),
        units: Units::Mm,
        // The standard held beside it matters only to a form rounded to it.
        beside: j.beside.clone().filter(|_| j.rounding == standards::Rounding::NearestStandard),
        sheets: job::SheetsSaid { tool_for: j.sheets.tool_for, ..job::SheetsSaid::default() },
        // Said or assumed, the bar is the same bar.
        bar: j.bar.confirmed(),
        typed: BTreeMap::new(),
        unknown: serde_json::Map::new(),
        ..j.clone()
    };
    strip(a) == strip(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_units_do_not_change_the_result() {
        let a = Job::default();
        let b = Job { title: "x".into(), units: Units::Inch, ..Job::default() };
        assert!(same_result(&a, &b));
        let c = Job { outline: picture::DrawnWanted::Line, ..Job::default() };
        assert!(!same_result(&a, &c));
        let d = Job { bar: a.bar.confirmed(), ..Job::default() };
        assert!(d != a && same_result(&a, &d));
    }
}
