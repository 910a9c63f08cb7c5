//! A job: what was entered, what was clicked, which picture, which choices. Plain data.

use crate::identity::ReadingSaid;
use crate::machine::{BlankSaid, ChecksSaid, FormSaid, PassesSaid, SurveySaid, WheelsSaid};
use crate::remembered::Memory;
use fit::{BarDrop, BarShape, ViewWanted};
use form::{Hand, Quantity, Source, Units};
use picture::{DrawnWanted, PixelBox};
use shop::{NutKind, NutMaterial, UseOfThread, WorkMaterial};
use standards::Rounding;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Everything a person decided about one thread.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What the part is, in the person's words.
    pub title: String,
    /// Anything worth keeping: machine, country, dial divisions.
    pub notes: String,
    /// The picture of the shadow.
    pub picture: Option<PictureRef>,
    /// What the picture shows.
    pub outline: DrawnWanted,
    /// The reference bar.
    pub bar: BarSaid,
    /// The thread in the picture.
    pub thread: ThreadSaid,
    /// Where the eye stood.
    pub view: ViewWanted,
    /// What the thread does in its machine.
    pub duty: Option<Duty>,
    /// Designation of the standard the person holds it beside; `None` is the likeliest.
    pub beside: Option<String>,
    /// The lost motion along the travel.
    pub survey: SurveySaid,
    /// A thread typed in, for work without a picture.
    pub form: FormSaid,
    /// What was found out beside the picture.
    pub evidence: Vec<ReadingSaid>,
    /// Whether nut and tool are made to the form as measured, to a standard, or to round numbers.
    pub rounding: Rounding,
    /// The nut to be made.
    pub nut: NutSaid,
    /// How the tool is ground and set.
    pub tool: shop::ToolSetting,
    /// The ground tool in a picture of its own.
    pub ground: GroundSaid,
    /// Change wheels.
    pub wheels: WheelsSaid,
    /// Setting out the blank.
    pub blank: BlankSaid,
    /// Passes.
    pub passes: PassesSaid,
    /// Checks.
    pub checks: ChecksSaid,
    /// The drawings to be made.
    pub sheets: SheetsSaid,
    /// Units lengths are shown in.
    pub units: Units,
    /// Entries as they were typed, by the entry's name: shown back as long as they still mean what
    /// the job holds. Nothing is computed from them.
    pub typed: BTreeMap<String, String>,
    /// What the picture told when it was last measured, for while it is not there.
    pub memory: Memory,
    /// Fields of the job file that this version does not know, kept as they came.
    pub unknown: serde_json::Map<String, serde_json::Value>,
}

/// Which picture, and how to know it again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureRef {
    /// Where it is.
    pub path: PathBuf,
    /// SHA-256 of the file, lower-case hexadecimal.
    pub sha256: String,
}

/// What is said about the bar.
#[derive(Debug, Clone, PartialEq)]
pub struct BarSaid {
    /// Width, mm.
    pub width_mm: Option<Quantity>,
    /// Shape.
    pub shape: BarShape,
    /// Where it lies.
    pub drop: BarDrop,
    /// Nobody has said that shape: it is what is usual. Nothing is computed from this.
    pub shape_assumed: bool,
    /// Nobody has said that it lies there.
    pub drop_assumed: bool,
    /// Box it is looked for in, px.
    pub at_px: Option<PixelBox>,
}

impl Default for BarSaid {
    fn default() -> Self {
        Self {
            width_mm: None,
            shape: BarShape::default(),
            drop: BarDrop::default(),
            shape_assumed: true,
            drop_assumed: true,
            at_px: None,
        }
    }
}

impl BarSaid {
    /// Whether shape or place is only what is usual: then every length rests on what nobody has said.
    #[must_use]
    pub fn is_assumed(&self) -> bool {
        self.shape_assumed || self.drop_assumed
    }

    /// The same bar, its shape and place said to be as they are.
    #[must_use]
    pub fn confirmed(&self) -> Self {
        Self { shape_assumed: false, drop_assumed: false, ..self.clone() }
    }
}

/// What is said about the thread.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ThreadSaid {
    /// Box it is looked for in, px.
    pub at_px: Option<PixelBox>,
    /// Points clicked by hand; when there are any, they take the place of tracing.
    pub points: Vec<PointSaid>,
    /// Boxes in which the outline does not count: dirt, damage, a holder.
    pub excluded_px: Vec<PixelBox>,
    /// Major diameter by another instrument, mm.
    pub major_diameter_mm: Option<Quantity>,
    /// Number of starts, when known.
    pub starts: Option<u32>,
    /// Hand, when known.
    pub hand: Option<Hand>,
    /// The picture shows the shadow from behind.
    pub mirrored: bool,
}

/// Which part of the outline a point was clicked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Flank {
    /// Right of a crest on the upper edge of the picture.
    Right,
    /// Left of a crest on the upper edge.
    Left,
    /// On a crest.
    Crest,
    /// In a root.
    Root,
}

impl Flank {
    /// All, in the order they are offered.
    pub const ALL: [Self; 4] = [Self::Right, Self::Left, Self::Crest, Self::Root];

    /// The word used in files and on the screen.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Left => "left",
            Self::Crest => "crest",
            Self::Root => "root",
        }
    }

    /// The part a word names.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.word() == word.trim())
    }
}

/// A point on the outline, clicked by hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointSaid {
    /// From the left side of the picture, px.
    pub x_px: f64,
    /// From its upper side, px.
    pub y_px: f64,
    /// What it lies on.
    pub flank: Flank,
}

/// What a thread does in its machine. Some answers end the job: see [`Duty::refusal`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Duty {
    /// Sets or moves something and nobody is hurt when it slips.
    Adjusts,
    /// Holds something together and nobody is hurt when it lets go.
    Fastens,
    /// Moves a slide of a machine up and down by hand, and holds it there because the thread is
    /// self-locking: a mill's knee, a vertical slide.
    HoldsSlide,
    /// Presses or clamps by a hand on its handle: a bookbinder's press, a bench vice.
    ClampsByHand,
    /// Lifts or holds up a load or a person.
    Lifts,
    /// Presses or clamps with force.
    Presses,
    /// Is part of a brake.
    Brakes,
    /// Is part of a steering.
    Steers,
    /// Closes something under pressure.
    HoldsPressure,
}

impl Duty {
    /// All, in the order they are offered.
    pub const ALL: [Self; 9] = [
        Self::Adjusts,
        Self::Fastens,
        Self::HoldsSlide,
        Self::ClampsByHand,
        Self::Lifts,
        Self::Presses,
        Self::Brakes,
        Self::Steers,
        Self::HoldsPressure,
    ];

    /// The word used in files and on the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Adjusts => "adjusts",
            Self::Fastens => "fastens",
            Self::HoldsSlide => "holds-slide",
            Self::ClampsByHand => "clamps-by-hand",
            Self::Lifts => "lifts",
            Self::Presses => "presses",
            Self::Brakes => "brakes",
            Self::Steers => "steers",
            Self::HoldsPressure => "holds-pressure",
        }
    }

    /// The duty a word names.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.word() == word.trim())
    }

    /// The answer as it is offered to the person.
    #[must_use]
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Adjusts => "sets or moves something; nobody is hurt if it slips",
            Self::Fastens => "holds parts together; nobody is hurt if it lets go",
            Self::HoldsSlide => {
                "moves a machine's slide up and down by hand, and holds it by itself (a knee, a vertical slide)"
            }
            Self::ClampsByHand => {
                "presses or clamps by hand on its own handle (a book press, a bench vice)"
            }
            Self::Lifts => "lifts or holds up a load or a person",
            Self::Presses => "presses or clamps with force",
            Self::Brakes => "is part of a brake",
            Self::Steers => "is part of a steering",
            Self::HoldsPressure => "holds pressure",
        }
    }

    /// The duty as the shop knows it.
    #[must_use]
    pub fn thread_use(self) -> UseOfThread {
        match self {
            Self::Adjusts | Self::Fastens | Self::HoldsSlide | Self::ClampsByHand => {
                UseOfThread::MovesOrAdjusts
            }
            Self::Lifts => UseOfThread::Lifts,
            Self::Presses => UseOfThread::Presses,
            Self::Brakes => UseOfThread::Brakes,
            Self::Steers => UseOfThread::Steers,
            Self::HoldsPressure => UseOfThread::HoldsPressure,
        }
    }

    /// Whether a part is made for it only where the thread holds by itself and its flanks bear the load.
    #[must_use]
    pub fn must_hold(self) -> bool {
        matches!(self, Self::HoldsSlide | Self::ClampsByHand)
    }

    /// What whoever makes a part for this duty must know, on every sheet.
    #[must_use]
    pub fn caution(self) -> Option<&'static str> {
        match self {
            Self::HoldsSlide => Some(
                "The slide hangs on this nut: prop it up while the nut is out, keep hands and feet from \
                 under it, and try whether it creeps when the machine shakes. Not for anything but a \
                 machine's own slide.",
            ),
            Self::ClampsByHand => Some(
                "Made for the force of a hand on its own handle: no longer lever, no hammer, no motor.",
            ),
            _ => None,
        }
    }

    /// Why no part is designed for this duty; `None` when one may be.
    #[must_use]
    pub fn refusal(self) -> Option<String> {
        self.thread_use().permit().err().map(|refusal| refusal.to_string())
    }
}

/// What is said about the nut.
#[derive(Debug, Clone, PartialEq)]
pub struct NutSaid {
    /// Axial play aimed for, mm.
    pub play_mm: Quantity,
    /// Radial clearance, mm; `None` takes the standard's. One whose source is derived was not asked for:
    /// with it the tool stays as it was when the play was changed.
    pub radial_clearance_mm: Option<Quantity>,
    /// Clearance of the bore over the screw's root, mm; `None` takes the same as over the crest, or more
    /// where the root's corner is in doubt and might touch.
    pub bore_clearance_mm: Option<f64>,
    /// Length of the thread in the nut, mm; `None` takes one and a half major diameters.
    pub length_mm: Option<f64>,
    /// Solid, split or sleeve.
    pub kind: NutKind,
    /// What it is made of.
    pub material: NutMaterial,
    /// Whether somebody said so; otherwise it is assumed.
    pub material_said: bool,
    /// Axial load, N, where the flank pressure is wanted.
    pub load_n: Option<f64>,
    /// By how much the screw's ridge is thicker at its unworn ends than in the picture, mm, by a
    /// tooth-thickness gauge; `None` takes the thickest tooth in the picture.
    pub unworn_thicker_mm: Option<Quantity>,
}

/// What is said about the picture of the ground tool.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GroundSaid {
    /// The picture.
    pub picture: Option<PictureRef>,
    /// Width of the bar beside the tool, mm.
    pub bar_width_mm: Option<Quantity>,
    /// The picture shows the tool from below, not its rake face.
    pub from_below: bool,
}

/// Paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum PaperSaid {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// What the tool is ground for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum ToolFor {
    /// Cuts the mating nut: copies the screw's ridge.
    #[default]
    Nut,
    /// Cuts the screw itself: copies its groove.
    Screw,
}

impl ToolFor {
    /// The word used in files and on the command line.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Nut => "nut",
            Self::Screw => "screw",
        }
    }
}

/// What is said about the drawings.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetsSaid {
    /// Paper.
    pub paper: PaperSaid,
    /// Enlargement of the second, large template.
    pub magnification: f64,
    /// What the tool is ground for.
    pub tool_for: ToolFor,
    /// Enlargement of the shadow chart; `None` takes the largest usual one that shows two pitches.
    pub chart_magnification: Option<f64>,
}

/// Axial play aimed for in a small nut when nothing else is said, mm (common practice: 0.05 to
/// 0.10 mm).
pub const USUAL_PLAY_MM: f64 = 0.08;

impl Default for NutSaid {
    fn default() -> Self {
        Self {
            play_mm: Quantity::assumed(USUAL_PLAY_MM, 0.0),
            radial_clearance_mm: None,
            bore_clearance_mm: None,
            length_mm: None,
            kind: NutKind::Solid,
            material: NutMaterial::Bronze,
            material_said: false,
            load_n: None,
            unworn_thicker_mm: None,
        }
    }
}

impl NutSaid {
    /// Sets the play that is aimed for. Clearances that only followed from another play, with the tool
    /// kept as it was, are the usual ones again.
    pub fn set_play(&mut self, play_mm: Quantity) {
        self.play_mm = play_mm;
        if self.radial_clearance_mm.is_some_and(|q| q.source == Source::Derived) {
            (self.radial_clearance_mm, self.bore_clearance_mm) = (None, None);
        }
    }

    /// The radial clearance that was asked for; nothing where it only follows from the play and the tool.
    #[must_use]
    pub fn radial_clearance_said_mm(&self) -> Option<Quantity> {
        self.radial_clearance_mm.filter(|q| q.source != Source::Derived)
    }
}

impl Default for SheetsSaid {
    fn default() -> Self {
        Self {
            paper: PaperSaid::default(),
            magnification: 10.0,
            tool_for: ToolFor::default(),
            chart_magnification: None,
        }
    }
}

impl Default for Job {
    fn default() -> Self {
        Self {
            title: String::new(),
            notes: String::new(),
            picture: None,
            outline: DrawnWanted::Auto,
            bar: BarSaid::default(),
            thread: ThreadSaid::default(),
            view: ViewWanted::default(),
            duty: None,
            beside: None,
            survey: SurveySaid::default(),
            form: FormSaid::default(),
            evidence: Vec::new(),
            rounding: Rounding::default(),
            nut: NutSaid::default(),
            tool: shop::ToolSetting::default(),
            ground: GroundSaid::default(),
            wheels: WheelsSaid::default(),
            blank: BlankSaid::default(),
            passes: PassesSaid::default(),
            checks: ChecksSaid::default(),
            sheets: SheetsSaid::default(),
            units: Units::default(),
            typed: BTreeMap::new(),
            memory: Memory::default(),
            unknown: serde_json::Map::new(),
        }
    }
}

impl Job {
    /// A job on a picture nobody has looked at yet, titled after its file.
    #[must_use]
    pub fn on_picture(path: &Path, sha256: String) -> Self {
        Self {
            title: path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default(),
            picture: Some(PictureRef { path: path.to_owned(), sha256 }),
            ..Self::default()
        }
    }

    /// What is cut, and whether somebody said so: what the passes are said to be for; else, for a nut, what
    /// the nut is made of; for a new screw, steel.
    #[must_use]
    pub fn work_material(&self) -> (WorkMaterial, Source) {
        match (self.passes.material, self.sheets.tool_for) {
            (Some(material), _) => (material, Source::Entered),
            (None, ToolFor::Screw) => (WorkMaterial::Steel, Source::Assumed),
            (None, ToolFor::Nut) if self.nut.material_said => {
                (self.nut.material.into(), Source::Entered)
            }
            (None, ToolFor::Nut) => (self.nut.material.into(), Source::Assumed),
        }
    }

    /// Keeps what was found in its picture, where something was.
    pub fn remember(&mut self, memory: &Memory) {
        if !memory.is_empty() {
            self.memory = memory.clone();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_dangerous_duty_is_refused_and_the_others_are_not() {
        for duty in Duty::ALL {
            let harmless = matches!(duty, Duty::Adjusts | Duty::Fastens) || duty.must_hold();
            assert_eq!(duty.refusal().is_none(), harmless, "{duty:?}");
            assert_eq!(Duty::from_word(duty.word()), Some(duty));
            if let Some(text) = duty.refusal() {
                assert!(text.contains("licensed"), "{text}");
            }
        }
    }
}
