//! What follows from a job.

use crate::ground_check::Ground;
use crate::identity::Identity;
use crate::remembered::Memory;
use crate::thumbnail::Thumbnail;
use crate::workshop::{Blank, Cutting};
use fit::Measurement;
use form::Sentence;
use picture::{Bar, Drawn, Scene, Thread};
use shop::{BoringBar, Gears, NutDesign, NutGauges, OverWires, ScrewForm, ToolForm};
use standards::Ranking;
use std::sync::Arc;

/// A part of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Part {
    /// Where the lost motion comes from.
    Survey,
    /// Reading the picture.
    Picture,
    /// Finding and knowing the bar.
    Bar,
    /// Finding the thread's outline.
    Thread,
    /// The axial section.
    Form,
    /// The likely standard.
    Identity,
    /// The nut.
    Nut,
    /// The tool.
    Tool,
    /// Change wheels.
    Wheels,
    /// Passes.
    Passes,
    /// Checks over wires and by gauges.
    Checks,
    /// Drawings.
    Sheets,
}

/// A remark with the part of the work and the place in the picture it belongs to.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// Part of the work.
    pub part: Part,
    /// Stable name.
    pub code: String,
    /// A sentence.
    pub text: Sentence,
    /// Where in the picture, `(x, y, width, height)` px.
    pub at_px: Option<(f64, f64, f64, f64)>,
}

/// Remarks that are made whenever they hold, and tell how the work goes rather than ask for anything:
/// nothing in them is to be decided or doubted.
const NOTES: [&str; 19] = [
    "bar-cut-off",
    "bored-past-root",
    "corner",
    "crest-clearance-reduced",
    "dial-rounding",
    "flank-entered",
    "half-nuts-closed",
    "hand",
    "large-lead",
    "least-worn-is-not-unworn",
    "play-lost-to-doubt",
    "rounded",
    "run-out",
    "second-relief",
    "self-locking",
    "side-clearance-raised",
    "spring-passes",
    "split-shim",
    "tool-as-drawn",
];

impl Remark {
    /// Whether it only tells how the work goes, and asks nobody to decide or to doubt anything.
    #[must_use]
    pub fn is_note(&self) -> bool {
        NOTES.contains(&self.code.as_str())
    }

    /// A remark without a place.
    #[must_use]
    pub fn new(part: Part, code: &str, text: impl Into<Sentence>) -> Self {
        Self { part, code: code.to_owned(), text: text.into(), at_px: None }
    }
}

/// Everything that follows from a job and the bytes of its picture.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    /// Where the lost motion comes from.
    pub survey: Option<Arc<shop::Findings>>,
    /// Size of the picture, px.
    pub size_px: Option<(usize, usize)>,
    /// A small copy of the picture, for paper.
    pub thumbnail: Option<Arc<Thumbnail>>,
    /// Shadow or drawn line, once the picture has been looked at.
    pub drawn: Option<Drawn>,
    /// The objects in the picture.
    pub scene: Option<Arc<Scene>>,
    /// The bar's edges.
    pub bar: Option<Arc<Bar>>,
    /// The thread's edges.
    pub thread: Option<Arc<Thread>>,
    /// The axial section with its uncertainties.
    pub measurement: Option<Arc<Measurement>>,
    /// Whether that is what the job remembers: its picture is not there.
    pub recalled: bool,
    /// What the job is to remember of its picture from now on; empty where nothing was measured.
    pub memory: Memory,
    /// Picture and evidence together, what disagrees, what to measure next, what rounding costs.
    pub identity: Option<Arc<Identity>>,
    /// Which standards it may be, by picture and evidence together.
    pub ranking: Option<Arc<Ranking>>,
    /// The screw everything is designed for, rounded as the job asks.
    pub screw: Option<Arc<ScrewForm>>,
    /// The nut.
    pub nut: Option<Arc<NutDesign>>,
    /// The tool.
    pub tool: Option<Arc<ToolForm>>,
    /// The boring bar for the nut, and what it does in the cut.
    pub boring_bar: Option<Arc<BoringBar>>,
    /// The ground tool by its own picture.
    pub ground: Option<Arc<Ground>>,
    /// Setting out the blank.
    pub blank: Option<Arc<Blank>>,
    /// Trains of change wheels for the lead.
    pub gears: Option<Arc<Gears>>,
    /// The cutting plan.
    pub cutting: Option<Arc<Cutting>>,
    /// The screw over wires.
    pub wires: Option<Arc<OverWires>>,
    /// Plugs that hold the nut between two plays.
    pub gauges: Option<Arc<NutGauges>>,
    /// Why nothing is designed, when the thread's duty forbids it.
    pub refusal: Option<String>,
    /// What ended a part of the work.
    pub troubles: Vec<Remark>,
    /// What should be known before the results are used.
    pub warnings: Vec<Remark>,
}

impl Findings {
    /// What ended this part of the work.
    #[must_use]
    pub fn trouble(&self, part: Part) -> Option<&Remark> {
        self.troubles.iter().find(|t| t.part == part)
    }

    /// The first thing that ended a part of the work, in the order of the work from the picture on:
    /// the survey before it stands by itself.
    #[must_use]
    pub fn first_trouble(&self) -> Option<&Remark> {
        self.troubles.iter().filter(|t| t.part >= Part::Picture).min_by_key(|t| t.part)
    }

    /// Whether there is something to decide or to doubt about a part.
    #[must_use]
    pub fn warned(&self, part: Part) -> bool {
        self.warnings.iter().any(|w| w.part == part && !w.is_note())
    }
}
