//! Changes of the job that are made by pressing, drawing and dragging.

use super::as_typed;
use super::field::Field;
use fit::{BarDrop, BarShape, ViewWanted};
use form::{Hand, Quantity, Source, Units};
use job::{
    Duty, Job, PaperSaid, PictureRef, PointSaid, ReadingSaid, SurveySaid, ToolFor, TrainSaid,
};
use picture::{DrawnWanted, PixelBox};
use shop::{
    DialReads, JawReadings, NutKind, NutMaterial, PassRule, Reading, Stance, Survey, Turned,
    WorkMaterial,
};
use standards::{Evidence, EvidenceKind, Rounding};

/// Wheels that many small lathes come with (common practice): every fifth tooth, two of twenty, and
/// 127 for inches.
const USUAL_WHEELS: [u32; 16] = [20, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 100, 127];

/// Width of a slitting saw's cut, mm (common practice).
pub const USUAL_KERF_MM: f64 = 1.5;

/// A change of the job.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// What the picture shows.
    Outline(DrawnWanted),
    /// Where the bar is looked for.
    BarBox(Option<PixelBox>),
    /// How sure the width of the bar is: standard uncertainty, mm.
    BarSure(f64),
    /// Shape of the bar.
    BarShape(BarShape),
    /// The bar is what it is taken for, and lies there.
    BarConfirmed,
    /// Bar and screw lie on one surface.
    SameSurface,
    /// The bar lies at the height of the screw's axis.
    AtAxis,
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
    /// What lies in this box does not count.
    Exclude(PixelBox),
    /// Everything counts again.
    ExcludeNothing,
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
    /// A station is added to the survey.
    AddStation(Reading),
    /// A station is taken away.
    RemoveStation(usize),
    /// A round of readings at the jaws is added.
    AddRound(JawReadings),
    /// One is taken away.
    RemoveRound(usize),
    /// The picture of the ground tool, or none.
    GroundPicture(Option<PictureRef>),
    /// Which side of the ground tool its picture shows.
    FromBelow(bool),
    /// A whole survey, read from a file.
    Stations(Box<Survey>),
    /// A line of evidence is added, not yet read.
    AddEvidence(EvidenceKind),
    /// A line of evidence is changed.
    SetEvidence(usize, Box<Evidence>),
    /// A line of evidence is taken away.
    RemoveEvidence(usize),
    /// What nut and tool are made to.
    Rounding(Rounding),
    /// The standard the form is held beside; `None` is the likeliest.
    Beside(Option<String>),
    /// What the thread does.
    Duty(Duty),
    /// Along the curve of play against infeed, with the tool as it is: play, radial clearance, bore
    /// clearance, mm.
    AlongCurve {
        /// Play, mm.
        play_mm: f64,
        /// Radial clearance over the crest, mm.
        radial_clearance_mm: f64,
        /// Clearance of the bore, mm.
        bore_clearance_mm: f64,
    },
    /// In one piece, split or a sleeve.
    NutKind(NutKind),
    /// Material of the nut.
    NutMaterial(NutMaterial),
    /// Material that is cut.
    Material(WorkMaterial),
    /// What the dial counts.
    DialReads(DialReads),
    /// Whether the figures of the dial fall as the slide goes away from the operator.
    DialFalls(bool),
    /// What the tool is ground from; `None` is the round blank that is recommended.
    ToolSection(Option<shop::ToolSection>),
    /// How the depth is shared out.
    PassRule(PassRule),
    /// Along a flank or straight in.
    FlankFeed(bool),
    /// Square or turned to the lead angle.
    ToolTurned(Turned),
    /// Where the tool cuts.
    ToolStance(Stance),
    /// Steel or carbide bar.
    Carbide(bool),
    /// Wheels that many small lathes come with.
    UsualWheels,
    /// The train that is used; `None` is the best.
    Train(Option<TrainSaid>),
    /// Units.
    Units(Units),
    /// Paper.
    Paper(PaperSaid),
    /// What the tool is for.
    ToolFor(ToolFor),
    /// Enlargement of the large view.
    Magnification(f64),
}

/// How well a bar is laid at the height of the axis by eye and packing, standard uncertainty in mm: common
/// practice. Whoever measured it types a smaller one behind the ±.
const AT_AXIS_U_MM: f64 = 0.2;

/// What the step is called, and with which steps it melts.
#[must_use]
pub fn label(edit: &Edit) -> (&'static str, Option<&'static str>) {
    match edit {
        Edit::Outline(_) => ("what the picture shows", None),
        Edit::BarBox(_) => ("where the bar is", None),
        Edit::BarSure(_) => ("how sure the width is", None),
        Edit::BarShape(_) => ("shape of the bar", None),
        Edit::BarConfirmed => ("what the bar is taken for", None),
        Edit::SameSurface | Edit::AtAxis => ("where the bar lies", None),
        Edit::ThreadBox(_) => ("where the thread is", None),
        Edit::AddPoint(_) => ("add a point", None),
        Edit::MovePoint(..) => ("move a point", Some("move")),
        Edit::RemovePoint(_) => ("remove a point", None),
        Edit::ClearPoints => ("remove all points", None),
        Edit::Exclude(_) => ("leave a part of the outline out", None),
        Edit::ExcludeNothing => ("count the whole outline", None),
        Edit::AddEvidence(_) => ("add a reading", None),
        Edit::SetEvidence(..) => ("a reading", None),
        Edit::RemoveEvidence(_) => ("remove a reading", None),
        Edit::Rounding(_) => ("rounding", None),
        Edit::Beside(_) => ("standard beside it", None),
        Edit::AddStation(_) => ("add a station", None),
        Edit::RemoveStation(_) => ("remove a station", None),
        Edit::AddRound(_) => ("add a round of readings", None),
        Edit::RemoveRound(_) => ("remove a round of readings", None),
        Edit::GroundPicture(_) => ("picture of the ground tool", None),
        Edit::FromBelow(_) => ("side of the ground tool", None),
        Edit::Stations(_) => ("read a survey", None),
        Edit::AlongCurve { .. } => ("infeed", Some("infeed")),
        Edit::NutKind(_) => ("how the nut is made up", None),
        Edit::NutMaterial(_) => ("material of the nut", None),
        Edit::Material(_) => ("material", None),
        Edit::DialReads(_) => ("what the dial counts", None),
        Edit::DialFalls(_) => ("which way the dial counts", None),
        Edit::ToolSection(_) => ("what the tool is ground from", None),
        Edit::PassRule(_) => ("how the depth is shared out", None),
        Edit::FlankFeed(_) => ("infeed", None),
        Edit::ToolTurned(_) | Edit::ToolStance(_) => ("how the tool is set", None),
        Edit::Carbide(_) => ("boring bar", None),
        Edit::UsualWheels => ("wheels owned", None),
        Edit::Train(_) => ("train of wheels", None),
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

/// Carries the change out.
pub fn change(job: &mut Job, edit: &Edit) {
    match *edit {
        Edit::AddEvidence(kind) => job.evidence.push(ReadingSaid::blank(kind)),
        Edit::SetEvidence(i, ref evidence) => {
            if let Some(line) = job.evidence.get_mut(i) {
                line.evidence = (**evidence).clone();
            }
        }
        Edit::RemoveEvidence(i) => {
            if i < job.evidence.len() {
                job.evidence.remove(i);
            }
        }
        Edit::Rounding(rounding) => job.rounding = rounding,
        Edit::Beside(ref name) => job.beside = name.clone(),
        Edit::Stations(ref survey) => {
            job.survey = SurveySaid::from(&**survey);
            if survey.new_nut_play_mm.source == Source::Entered {
                job.nut.play_mm = survey.new_nut_play_mm;
            }
        }
        Edit::Outline(wanted) => job.outline = wanted,
        Edit::BarBox(at) => job.bar.at_px = at,
        Edit::BarSure(u) => {
            if let Some(width) = &mut job.bar.width_mm {
                width.u = u;
                as_typed::with_doubt(job, Field::BarWidth, u);
            }
        }
        Edit::BarShape(shape) => (job.bar.shape, job.bar.shape_assumed) = (shape, false),
        Edit::BarConfirmed => job.bar = job.bar.confirmed(),
        Edit::SameSurface => (job.bar.drop, job.bar.drop_assumed) = (BarDrop::SameSurface, false),
        Edit::AtAxis => {
            job.bar.drop = BarDrop::Given(Quantity::entered(0.0, AT_AXIS_U_MM));
            job.bar.drop_assumed = false;
        }
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
        Edit::Exclude(at) => job.thread.excluded_px.push(at),
        Edit::ExcludeNothing => job.thread.excluded_px.clear(),
        Edit::AddStation(reading) => job.survey.readings.push(reading),
        Edit::RemoveStation(i) => {
            if i < job.survey.readings.len() {
                job.survey.readings.remove(i);
            }
        }
        Edit::AddRound(round) => job.blank.jaws.push(round),
        Edit::RemoveRound(i) => {
            if i < job.blank.jaws.len() {
                job.blank.jaws.remove(i);
            }
        }
        Edit::GroundPicture(ref picture) => job.ground.picture = picture.clone(),
        Edit::FromBelow(on) => job.ground.from_below = on,
        Edit::AlongCurve { play_mm, radial_clearance_mm, bore_clearance_mm } => {
            job.nut.play_mm = Quantity::entered(play_mm, job.nut.play_mm.u);
            // Nobody asked for it: it is what the same tool leaves there.
            job.nut.radial_clearance_mm = Some(Quantity::derived(radial_clearance_mm, 0.0));
            job.nut.bore_clearance_mm = Some(bore_clearance_mm);
        }
        Edit::NutKind(kind) => job.nut.kind = kind,
        Edit::NutMaterial(material) => {
            // What the nut is made of is what is cut.
            job.nut.material = material;
            job.nut.material_said = true;
            job.passes.material = None;
        }
        Edit::Material(material) => job.passes.material = Some(material),
        Edit::DialReads(reads) => job.passes.read_dial(job.units, |d| d.reads = reads),
        Edit::DialFalls(falls) => job.passes.read_dial(job.units, |d| d.falls_inward = falls),
        Edit::ToolSection(section) => job.tool.section = section,
        Edit::PassRule(rule) => job.passes.rule = rule,
        Edit::FlankFeed(on) => job.passes.flank_feed = on,
        Edit::ToolTurned(turned) => job.tool.turned = turned,
        Edit::ToolStance(stance) => job.tool.stance = stance,
        Edit::Carbide(on) => job.passes.carbide = on,
        Edit::Train(ref said) => job.wheels.train.clone_from(said),
        Edit::UsualWheels => job.wheels.wheels = USUAL_WHEELS.to_vec(),
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
