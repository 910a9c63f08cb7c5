//! What may stand on the command line.

use super::read::{
    Division, Owned, SectionWanted, TrainWanted, angle, cylinder, division, drop, duty, force,
    from_zero, jaws, length, owned, pitch, pixel_box, plain_length, section, signed_angle,
    signed_length, train, view, wheel_pair, work_material,
};
use super::round::RoundTo;
use clap::{Args, Parser, Subcommand, ValueEnum};
use fit::{BarDrop, BarShape, ViewWanted};
use form::{Hand, Quantity, Units};
use job::Duty;
use picture::{DrawnWanted, PixelBox};
use std::path::PathBuf;

/// Reads a picture of a screw thread's shadow and designs what fits it.
///
/// Without a command the window opens. Lengths carry a unit (5mm, 0.25in, 1/4in, 250thou), pitches
/// may be threads per inch (8tpi), angles are 30deg or 14d30m, and any of them may carry its
/// standard uncertainty (2.5mm±0.01mm or 2.5mm+-0.01mm).
#[derive(Debug, Parser)]
#[command(name = "flanklight", version, about, long_about, disable_help_subcommand = true)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the window on a job file or a picture.
    Open {
        /// Job file or picture.
        job: PathBuf,
    },
    /// The whole job on a built-in demonstration, without a window.
    Demo {
        /// Which demonstration; the first if none is named.
        name: Option<String>,
        /// Folder for the results.
        #[arg(long, default_value = "flanklight-demo")]
        out: PathBuf,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// Measure the thread in a picture.
    Measure(Box<Measure>),
    /// Name the standard threads that fit given numbers.
    Match(Box<Match>),
    /// Design a nut for a job.
    Nut {
        /// Job file.
        job: PathBuf,
        /// Axial play aimed for.
        #[arg(long, value_parser = from_zero)]
        play: Quantity,
        /// Radial clearance; the standard's for the pitch if not given.
        #[arg(long, value_parser = from_zero)]
        radial_clearance: Option<Quantity>,
        /// Length, make and load of the nut.
        #[command(flatten)]
        made: NutMade,
        /// What it is made to.
        #[command(flatten)]
        to: RoundTo,
        /// Whether it is kept.
        #[command(flatten)]
        keep: Keep,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// The single-point tool for a job.
    Tool {
        /// Job file.
        job: PathBuf,
        /// What it cuts: the nut (copies the screw's ridge) or the screw (copies its groove).
        #[arg(long = "for", value_enum)]
        what: WhatFor,
        /// What it is made to.
        #[command(flatten)]
        to: RoundTo,
        /// How the tool is ground and set.
        #[command(flatten)]
        set: ToolSet,
        /// Whether it is kept.
        #[command(flatten)]
        keep: Keep,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// Check a ground tool for the nut by a picture of itself, seen square on its rake face.
    Ground(Ground),
    /// How deep the axis of a blank lies, or how to bring it to the spindle.
    Blank(Blank),
    /// The screw for a nut, from a picture of a cast of that nut.
    Cast(Cast),
    /// Change wheels for a pitch.
    Gears(Gears),
    /// A cutting plan for the nut of a job.
    Passes {
        /// Job file.
        job: PathBuf,
        /// What the job does not say, or says otherwise.
        #[command(flatten)]
        cut: Cut,
        /// What the nut is made to.
        #[command(flatten)]
        to: RoundTo,
        /// Whether it is kept.
        #[command(flatten)]
        keep: Keep,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// Measurement over three wires.
    Wires(Wires),
    /// Split lost motion into thrust, nut and screw.
    Survey {
        /// Readings: CSV with the columns position_mm and lost_motion_mm (or _in, _thou). A line
        /// "# end_float_mm = 0.05 ± 0.01" above them says the end-float.
        readings: PathBuf,
        /// End-float of the screw in its thrust bearing, with ± its standard uncertainty; before what
        /// the file says.
        #[arg(long, value_parser = from_zero)]
        end_float: Option<Quantity>,
        /// Play of a new nut.
        #[arg(long, value_parser = from_zero)]
        play: Option<Quantity>,
        /// Lost motion that would be put up with.
        #[arg(long, value_parser = length)]
        acceptable: Option<Quantity>,
        /// Also write the survey as a sheet into this folder.
        #[arg(long)]
        out: Option<PathBuf>,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// Write the drawings of a job.
    Sheets {
        /// Job file.
        job: PathBuf,
        /// Folder for the drawings.
        #[arg(long)]
        out: PathBuf,
        /// Only these sheets: template, job, nut, wheels, chart, passes, wires, record, identity, blank,
        /// survey; all that there are if not given.
        #[arg(long, value_name = "KIND", value_delimiter = ',', value_parser = sheet)]
        only: Vec<&'static str>,
        /// Replace files of another job that have the same names; what was not written here is kept beside
        /// them.
        #[arg(long)]
        replace: bool,
        /// Magnification of the chart for a projector; the one that fills the page if not given.
        #[arg(long, value_name = "TIMES")]
        chart: Option<f64>,
        /// Axial play of the nut, if another than the job says.
        #[arg(long, value_parser = from_zero)]
        play: Option<Quantity>,
        /// What nut and tool are made to.
        #[command(flatten)]
        to: RoundTo,
        /// How the tool is ground and set, if otherwise than the job says.
        #[command(flatten)]
        set: ToolSet,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
}

impl Command {
    /// Units that were asked for, or mm.
    #[must_use]
    pub fn units(&self) -> Units {
        match self {
            Self::Open { .. } => Units::Mm,
            Self::Demo { how, .. }
            | Self::Nut { how, .. }
            | Self::Tool { how, .. }
            | Self::Passes { how, .. }
            | Self::Survey { how, .. }
            | Self::Sheets { how, .. } => how.units(),
            Self::Measure(m) => m.how.units(),
            Self::Match(m) => m.how.units(),
            Self::Ground(g) => g.how.units(),
            Self::Blank(b) => b.how.units(),
            Self::Cast(c) => c.how.units(),
            Self::Gears(g) => g.how.units(),
            Self::Wires(w) => w.how.units(),
        }
    }
}

/// How results are shown.
#[derive(Debug, Clone, Copy, Args)]
pub struct How {
    /// The result alone, as JSON, on standard output.
    #[arg(long)]
    pub json: bool,
    /// Units of printed lengths; those of the job, or mm, if not given.
    #[arg(long, value_enum)]
    pub units: Option<UnitsWanted>,
}

impl How {
    /// The units asked for, or mm.
    #[must_use]
    pub fn units(&self) -> Units {
        self.units_or(Units::Mm)
    }

    /// The units asked for, or those of a job.
    #[must_use]
    pub fn units_or(&self, of_job: Units) -> Units {
        self.units.map_or(of_job, UnitsWanted::units)
    }
}

/// Whether what was asked goes into the job file.
#[derive(Debug, Clone, Copy, Args)]
pub struct Keep {
    /// Also write what is asked here into the job file, so that the sheets show it.
    #[arg(long)]
    pub keep: bool,
}

/// A kind of sheet, as the stem of its files.
fn sheet(text: &str) -> Result<&'static str, String> {
    job::sheet_named(text).ok_or_else(|| {
        let kinds: Vec<&str> = job::SHEET_KINDS.iter().map(|(kind, _)| *kind).collect();
        format!("there is no sheet \"{}\"; there are {}", text.trim(), kinds.join(", "))
    })
}

/// Units of printed lengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsWanted {
    /// Millimetres.
    Mm,
    /// Inches.
    Inch,
}

impl UnitsWanted {
    /// The units.
    #[must_use]
    pub fn units(self) -> Units {
        match self {
            Self::Mm => Units::Mm,
            Self::Inch => Units::Inch,
        }
    }
}

/// What a tool cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WhatFor {
    /// The nut.
    Nut,
    /// The screw.
    Screw,
}

/// `measure`.
#[derive(Debug, Args)]
pub struct Measure {
    /// Picture of the shadow: JPEG, PNG, TIFF, BMP or WebP.
    pub picture: PathBuf,
    /// Known width of the reference bar, with ± its standard uncertainty.
    #[arg(long, value_name = "WIDTH", value_parser = length)]
    pub bar: Quantity,
    /// A rod, or a plate or strip whose edges lie in one plane; a rod if not given.
    #[arg(long, value_enum)]
    pub bar_shape: Option<Shape>,
    /// How much farther from the camera than the screw's axis the bar's axis (round) or plane
    /// (flat) lies: `same-surface` (the default) or a length, with its ± if it
    /// is not exact.
    #[arg(long, value_parser = drop)]
    pub bar_drop: Option<BarDrop>,
    /// What the picture shows: a shadow's edge or a drawn line; found out if not given.
    #[arg(long, value_enum)]
    pub outline: Option<Outline>,
    /// Where the camera, lamp or lens stood: `auto` (the default), `parallel` or a distance.
    #[arg(long, value_parser = view)]
    pub view: Option<ViewWanted>,
    /// Major diameter, when a micrometer knows better or one edge alone is in the picture.
    #[arg(long, value_parser = length)]
    pub major_diameter: Option<Quantity>,
    /// Right flank from the normal to the axis, taken where the picture does not tell it: 0deg for a
    /// square thread.
    #[arg(long, value_parser = angle)]
    pub right_flank: Option<Quantity>,
    /// Left flank, likewise.
    #[arg(long, value_parser = angle)]
    pub left_flank: Option<Quantity>,
    /// Number of starts, fixed instead of found.
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=16))]
    pub starts: Option<u32>,
    /// Hand, fixed instead of found.
    #[arg(long, value_enum)]
    pub hand: Option<HandWanted>,
    /// The picture shows the shadow from behind.
    #[arg(long)]
    pub mirrored: bool,
    /// Where the bar is, px, when finding it fails.
    #[arg(long, value_name = "X,Y,W,H", value_parser = pixel_box)]
    pub bar_at: Option<PixelBox>,
    /// Where the thread is, px, when finding it fails.
    #[arg(long, value_name = "X,Y,W,H", value_parser = pixel_box)]
    pub thread_at: Option<PixelBox>,
    /// Clicked points instead of tracing: CSV with the columns `x_px,y_px,flank`.
    #[arg(long, value_name = "FILE")]
    pub points: Option<PathBuf>,
    /// What the thread does: adjusts, fastens, lifts, presses, brakes, steers or holds-pressure.
    #[arg(long, value_parser = duty)]
    pub duty: Option<Duty>,
    /// What was found out besides; may be given several times.
    #[arg(long, value_name = "KIND:READING", value_parser = super::evidence::evidence,
          long_help = super::evidence::FORMS)]
    pub evidence: Vec<standards::Evidence>,
    /// Also write a job file. One there already on the same picture keeps all it says besides: nut,
    /// wheels, evidence, what the thread does. What would be lost of it, or all of one on another picture,
    /// is kept beside it as JOB.1.
    #[arg(long, value_name = "JOB")]
    pub job: Option<PathBuf>,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// `match`.
#[derive(Debug, Args)]
pub struct Match {
    /// A thread by its name instead of its numbers: "Tr 16x4", "M20", "3/4-6 ACME", "Tr 20x8 P4 LH",
    /// "1/2 BSW".
    #[arg(value_name = "NAME", conflicts_with_all = ["pitch", "angle", "lead", "major", "depth",
          "right_flank", "left_flank", "crest_flat", "taper", "evidence", "standard"])]
    pub name: Vec<String>,
    /// Pitch: a length or threads per inch.
    #[arg(long, value_parser = pitch)]
    pub pitch: Option<Quantity>,
    /// Included angle.
    #[arg(long, value_parser = angle)]
    pub angle: Option<Quantity>,
    /// Major diameter.
    #[arg(long, value_parser = length)]
    pub major: Option<Quantity>,
    /// Depth.
    #[arg(long, value_parser = length)]
    pub depth: Option<Quantity>,
    /// Right flank, from the normal to the axis.
    #[arg(long, value_parser = angle, requires = "left_flank")]
    pub right_flank: Option<Quantity>,
    /// Left flank, from the normal to the axis.
    #[arg(long, value_parser = angle, requires = "right_flank")]
    pub left_flank: Option<Quantity>,
    /// Advance per turn.
    #[arg(long, value_parser = pitch)]
    pub lead: Option<Quantity>,
    /// Crest flat, between theoretical sharp corners; 0mm where the crest is an edge or an arc.
    #[arg(long, value_parser = from_zero)]
    pub crest_flat: Option<Quantity>,
    /// Change of diameter per unit of length: 1/16, 0.0625, or 0 for a parallel thread.
    #[arg(long, value_parser = super::evidence::taper)]
    pub taper: Option<Quantity>,
    /// What was found out besides; may be given several times.
    #[arg(long, value_name = "KIND:READING", value_parser = super::evidence::evidence,
          long_help = super::evidence::FORMS)]
    pub evidence: Vec<standards::Evidence>,
    /// What the form is to be rounded to.
    #[command(flatten)]
    pub to: RoundTo,
    /// Length of the nut, over which a rounded pitch adds up; one and a half major diameters if not
    /// given.
    #[arg(long, value_parser = plain_length, requires = "round")]
    pub nut_length: Option<f64>,
    /// Also write a job file that holds this thread, for nut, tool, passes and sheets without a picture.
    #[arg(long, value_name = "JOB")]
    pub job: Option<PathBuf>,
    /// Hand of that thread; right if not given.
    #[arg(long, value_enum, requires = "job")]
    pub hand: Option<HandWanted>,
    /// What that thread does: adjusts, fastens, lifts, presses, brakes, steers or holds-pressure.
    #[arg(long, value_parser = duty, requires = "job")]
    pub duty: Option<Duty>,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

impl Match {
    /// Whether any number of a thread is given.
    #[must_use]
    pub fn numbers(&self) -> bool {
        [self.angle, self.major, self.depth, self.right_flank, self.lead, self.crest_flat]
            .iter()
            .any(Option::is_some)
    }
}

/// How a nut is made up.
#[derive(Debug, Clone, Args)]
pub struct NutMade {
    /// Length of its thread; one and a half major diameters if not given.
    #[arg(long, value_parser = length)]
    pub length: Option<Quantity>,
    /// Sawn in two lengthwise, each cut this wide.
    #[arg(long, value_name = "KERF", value_parser = length, conflicts_with = "sleeve")]
    pub split: Option<Quantity>,
    /// A sleeve of this outer diameter, pressed in.
    #[arg(long, value_name = "OUTSIDE", value_parser = length)]
    pub sleeve: Option<Quantity>,
    /// Interference of the sleeve on its outer diameter.
    #[arg(long, value_parser = from_zero, requires = "sleeve")]
    pub interference: Option<Quantity>,
    /// What it is made of.
    #[arg(long, value_enum)]
    pub material: Option<Material>,
    /// Axial load with its unit, for the pressure on the flanks: 300N.
    #[arg(long, value_parser = force)]
    pub load: Option<f64>,
    /// Radial clearance of the bore over the screw's root; the same as over its crest if not given, or
    /// more where the corner of the root cannot be seen.
    #[arg(long, value_parser = from_zero)]
    pub bore_clearance: Option<Quantity>,
    /// By how much the ridge of the screw is thicker at its unworn ends than in the picture.
    #[arg(long, value_parser = from_zero)]
    pub unworn_thicker: Option<Quantity>,
}

/// What a nut is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Material {
    Bronze,
    Brass,
    CastIron,
    Steel,
    Acetal,
}

impl From<Material> for shop::NutMaterial {
    fn from(m: Material) -> Self {
        match m {
            Material::Bronze => Self::Bronze,
            Material::Brass => Self::Brass,
            Material::CastIron => Self::CastIron,
            Material::Steel => Self::Steel,
            Material::Acetal => Self::Acetal,
        }
    }
}

/// How a thread is cut; what is not given stays as the job has it.
#[derive(Debug, Clone, Args)]
pub struct Cut {
    /// Number of passes.
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=400))]
    pub passes: Option<u32>,
    /// Every pass the same depth instead of the same area.
    #[arg(long, value_parser = plain_length)]
    pub step: Option<f64>,
    /// Every pass the same area, where the job says otherwise.
    #[arg(long, conflicts_with = "step")]
    pub equal_areas: bool,
    /// Fed in along a flank, top slide half a degree less over than the lesser flank.
    #[arg(long)]
    pub flank_feed: bool,
    /// Fed straight in, where the job says otherwise.
    #[arg(long, conflicts_with = "flank_feed")]
    pub straight_in: bool,
    /// Angle of the top slide from the cross slide, for --flank-feed.
    #[arg(long, value_parser = signed_angle, requires = "flank_feed")]
    pub top_slide: Option<f64>,
    /// One division of the dial that feeds: 0.02mm, 0.001in.
    #[arg(long, value_parser = division)]
    pub division: Option<Division>,
    /// Divisions in a turn of that dial.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub divisions: Option<u32>,
    /// The dial counts diameter, not the way of the slide.
    #[arg(long)]
    pub diameter_dial: bool,
    /// The dial counts the way of the slide, where the job says otherwise.
    #[arg(long, conflicts_with = "diameter_dial")]
    pub direct_dial: bool,
    /// What the figures of the dial do as the slide goes away from the operator; on most they rise.
    #[arg(long, value_enum, value_name = "DO")]
    pub dial_inward: Option<DialInward>,
    /// Passes at full depth without further infeed.
    #[arg(long, value_parser = clap::value_parser!(u32).range(0..=20))]
    pub spring: Option<u32>,
    /// Diameter of the boring bar.
    #[arg(long, value_parser = plain_length)]
    pub bar: Option<f64>,
    /// How far it stands out.
    #[arg(long, value_parser = plain_length)]
    pub overhang: Option<f64>,
    /// Spindle speed, turns a minute.
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=3000))]
    pub rpm: Option<u32>,
    /// What is cut, where that is not what the nut is made of, or steel for a new screw.
    #[arg(long, value_parser = work_material)]
    pub material: Option<shop::WorkMaterial>,
}

impl Cut {
    /// Writes what was given over what the job says.
    pub fn over(&self, said: &mut job::PassesSaid, units: Units) {
        said.passes = self.passes.or(said.passes);
        if let Some(step_mm) = self.step {
            said.rule = shop::PassRule::Fixed { step_mm };
        } else if self.equal_areas {
            said.rule = shop::PassRule::ConstantArea;
        }
        said.flank_feed = self.flank_feed || said.flank_feed && !self.straight_in;
        said.top_slide_deg = self.top_slide.or(said.top_slide_deg);
        let reads = match (self.diameter_dial, self.direct_dial) {
            (true, _) => Some(shop::DialReads::Diameter),
            (false, true) => Some(shop::DialReads::Direct),
            (false, false) => None,
        };
        let inward = self.dial_inward;
        if self.division.is_some()
            || self.divisions.is_some()
            || reads.is_some()
            || inward.is_some()
        {
            said.read_dial(units, |dial| {
                if let Some(division) = self.division {
                    dial.unit = division.unit;
                    dial.division = division.value;
                }
                dial.divisions_per_turn = self.divisions.unwrap_or(dial.divisions_per_turn);
                dial.reads = reads.unwrap_or(dial.reads);
                dial.falls_inward = inward.map_or(dial.falls_inward, |i| i == DialInward::Falls);
            });
        }
        said.spring_passes = self.spring.unwrap_or(said.spring_passes);
        said.bar_diameter_mm = self.bar.or(said.bar_diameter_mm);
        said.overhang_mm = self.overhang.or(said.overhang_mm);
        said.speed_rpm = self.rpm.map_or(said.speed_rpm, f64::from);
        said.material = self.material.or(said.material);
    }
}

/// What the figures of a dial do as the slide goes away from the operator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DialInward {
    /// They rise: the usual way.
    Rises,
    /// They fall.
    Falls,
}

/// How a tool is ground and set; what is not given stays as the job has it.
#[derive(Debug, Clone, Args)]
pub struct ToolSet {
    /// Turned about its shank to the lead angle instead of square to the axis.
    #[arg(long)]
    pub turned: bool,
    /// Square to the axis, where the job says otherwise.
    #[arg(long, conflicts_with = "turned")]
    pub square: bool,
    /// Top rake; negative rises from the tip.
    #[arg(long, value_parser = signed_angle)]
    pub top_rake: Option<f64>,
    /// Height of the tip above centre; negative below.
    #[arg(long, value_parser = signed_length)]
    pub above_centre: Option<f64>,
    /// Where it cuts and which way the spindle turns.
    #[arg(long, value_enum)]
    pub stance: Option<StanceWanted>,
    /// What it is ground from, for the clearances: round:4mm (a round blank, ground down to its middle),
    /// square:8mm, or insert:3mm; "usual" for the round blank that is recommended.
    #[arg(long, value_name = "KIND:SIZE", value_parser = section)]
    pub section: Option<SectionWanted>,
}

/// Where a tool cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum StanceWanted {
    /// On the near side, rake face up.
    Near,
    /// On the far side, rake face down.
    FarUpsideDown,
    /// On the far side, spindle in reverse.
    FarReverse,
}

impl From<StanceWanted> for shop::Stance {
    fn from(s: StanceWanted) -> Self {
        match s {
            StanceWanted::Near => Self::Near,
            StanceWanted::FarUpsideDown => Self::FarUpsideDown,
            StanceWanted::FarReverse => Self::FarReverse,
        }
    }
}

impl ToolSet {
    /// As given, and as the job has it where nothing was given.
    #[must_use]
    pub fn or(&self, of_job: shop::ToolSetting) -> shop::ToolSetting {
        shop::ToolSetting {
            turned: match (self.turned, self.square) {
                (true, _) => shop::Turned::ToLeadAngle,
                (_, true) => shop::Turned::Square,
                _ => of_job.turned,
            },
            top_rake_deg: self.top_rake.unwrap_or(of_job.top_rake_deg),
            above_centre_mm: self.above_centre.unwrap_or(of_job.above_centre_mm),
            stance: self.stance.map_or(of_job.stance, Into::into),
            section: self.section.map_or(of_job.section, |wanted| wanted.0),
            ..of_job
        }
    }
}

/// `ground`.
#[derive(Debug, Args)]
pub struct Ground {
    /// Job file the tool was drawn for.
    pub job: PathBuf,
    /// Picture of the tool against the light, with a bar at the height of its rake face.
    pub picture: PathBuf,
    /// Known width of the bar, with ± its standard uncertainty.
    #[arg(long, value_name = "WIDTH", value_parser = length)]
    pub bar: Quantity,
    /// The picture shows the tool from below, not its rake face.
    #[arg(long)]
    pub from_below: bool,
    /// How the tool is ground and set.
    #[command(flatten)]
    pub set: ToolSet,
    /// Whether it is kept.
    #[command(flatten)]
    pub keep: Keep,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// `blank`: height-gauge readings on cylinders, or rounds of readings at four jaws.
#[derive(Debug, Args)]
pub struct Blank {
    /// Height of the top of a cylinder and its diameter, TOP,DIAMETER: once, and twice for the drop
    /// from the first axis to the second.
    #[arg(long, value_name = "TOP,DIAMETER", value_parser = cylinder)]
    pub cylinder: Vec<shop::CylinderReading>,
    /// Height of the face the axis lies below, by the same gauge.
    #[arg(long, value_parser = length)]
    pub face: Option<Quantity>,
    /// Dial-gauge readings at jaws 1, 2, 3 and 4 in order round the chuck, once for each round.
    #[arg(long, value_name = "1,2,3,4", value_parser = jaws)]
    pub jaws: Vec<shop::JawReadings>,
    /// How near to the spindle's axis is near enough.
    #[arg(long, value_parser = length, default_value = "0.01mm")]
    pub within: Quantity,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// `cast`.
#[derive(Debug, Args)]
pub struct Cast {
    /// Job file on the picture of the cast.
    pub job: PathBuf,
    /// Linear shrinkage of the cast as a part of the length, 0.004; what is usual for the material
    /// if not given. Negative where it grows.
    #[arg(long)]
    pub shrinkage: Option<f64>,
    /// What it is cast of.
    #[arg(long, value_enum, default_value_t = CastOf::ReplicaResin)]
    pub material: CastOf,
    /// Axial play of the screw in the nut.
    #[arg(long, value_parser = from_zero, default_value = "0.08mm")]
    pub play: Quantity,
    /// Radial clearance; the standard's for the pitch if not given.
    #[arg(long, value_parser = from_zero)]
    pub radial_clearance: Option<Quantity>,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// What a cast is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CastOf {
    FusibleAlloy,
    AdditionSilicone,
    CondensationSilicone,
    Epoxy,
    ReplicaResin,
}

impl From<CastOf> for shop::CastMaterial {
    fn from(c: CastOf) -> Self {
        match c {
            CastOf::FusibleAlloy => Self::FusibleAlloy,
            CastOf::AdditionSilicone => Self::AdditionSilicone,
            CastOf::CondensationSilicone => Self::CondensationSilicone,
            CastOf::Epoxy => Self::Epoxy,
            CastOf::ReplicaResin => Self::ReplicaResin,
        }
    }
}

/// `gears`.
#[derive(Debug, Args)]
pub struct Gears {
    /// Pitch of the lead screw: a length or threads per inch.
    #[arg(long, value_parser = pitch, required_unless_present = "job")]
    pub leadscrew: Option<Quantity>,
    /// Lead to cut (pitch times starts): a length or threads per inch; with --job the screw's, if not
    /// given.
    #[arg(long, value_parser = pitch, required_unless_present = "job")]
    pub want: Option<Quantity>,
    /// Teeth of every wheel owned, with commas; one owned twice is listed twice. A row of them may be
    /// given by its ends: 20-65,127 by fives, "20,24 .. 48" in its own step.
    #[arg(long, value_parser = owned, required_unless_present = "job")]
    pub wheels: Vec<Owned>,
    /// Job file: for its screw and its nut, with the wheels it holds where none are given.
    #[arg(long, value_name = "JOB", conflicts_with_all = ["nut_length", "play", "starts"])]
    pub job: Option<PathBuf>,
    /// Also write what is asked here into the job file, so that the sheets show the train.
    #[arg(long, requires = "job")]
    pub keep: bool,
    /// The train to be used, not the best: drivers over driven, 40x30/60x50, or pair by pair,
    /// 40/60x30/50; "best" is the best again.
    #[arg(long, value_name = "TRAIN", value_parser = train)]
    pub train: Option<TrainWanted>,
    /// A pair fixed on one shaft, driven teeth and driver teeth, between the others: 127,120.
    #[arg(long, value_name = "DRIVEN,DRIVER", value_parser = wheel_pair)]
    pub pair: Option<(u32, u32)>,
    /// Module of the wheels, mm: with it, or any of the next three, trains that do not mesh on the
    /// bracket are left out.
    #[arg(long, value_name = "MM")]
    pub module: Option<f64>,
    /// Diameter of shafts and collars that a neighbouring wheel must miss.
    #[arg(long, value_parser = plain_length)]
    pub shaft: Option<f64>,
    /// From the first driver's shaft to the lead screw, the reach of the bracket.
    #[arg(long, value_parser = plain_length)]
    pub centres: Option<f64>,
    /// Largest wheel the guard takes, teeth.
    #[arg(long, value_name = "TEETH")]
    pub largest_wheel: Option<u32>,
    /// Most error shown, parts per million; 3000 if not given.
    #[arg(long, value_name = "PPM")]
    pub tolerance: Option<f64>,
    /// Length of the nut, to see what the error comes to over it.
    #[arg(long, value_parser = length)]
    pub nut_length: Option<Quantity>,
    /// Play of the nut, a quarter of which the error may take.
    #[arg(long, value_parser = from_zero, requires = "nut_length")]
    pub play: Option<Quantity>,
    /// Starts of the thread, for the way from one to the next.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=16))]
    pub starts: u32,
    /// Most trains shown.
    #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub most: u32,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

impl Gears {
    /// Writes what was given over what a job says.
    pub fn over(&self, said: &mut job::WheelsSaid) {
        said.leadscrew_mm = self.leadscrew.map(|q| q.value).or(said.leadscrew_mm);
        said.want_mm = self.want.map(|q| q.value).or(said.want_mm);
        if !self.wheels.is_empty() {
            said.wheels = self.wheels.iter().flat_map(|w| w.0.clone()).collect();
        }
        match &self.train {
            Some(TrainWanted::Best) => said.train = None,
            Some(TrainWanted::These(train)) => said.train = Some(train.clone()),
            None => {}
        }
        said.pair = self.pair.or(said.pair);
        said.tolerance_ppm = self.tolerance.unwrap_or(said.tolerance_ppm);
        said.bracket = self.bracket().or(said.bracket);
    }

    /// The bracket, if anything was said of it.
    fn bracket(&self) -> Option<shop::Bracket> {
        let said = self.module.is_some()
            || self.shaft.is_some()
            || self.centres.is_some()
            || self.largest_wheel.is_some();
        let usual = shop::Bracket::default();
        said.then(|| shop::Bracket {
            module_mm: self.module.unwrap_or(usual.module_mm),
            shaft_diameter_mm: self.shaft.unwrap_or(usual.shaft_diameter_mm),
            centres_mm: self.centres,
            most_teeth: self.largest_wheel,
        })
    }
}

/// `wires`.
#[derive(Debug, Args)]
pub struct Wires {
    /// Pitch: a length or threads per inch.
    #[arg(long, value_parser = pitch)]
    pub pitch: Quantity,
    /// Included angle.
    #[arg(long, value_parser = angle)]
    pub angle: Quantity,
    /// One flank's angle from the normal, where the two differ; the other is the rest of the included
    /// angle.
    #[arg(long, value_parser = angle)]
    pub flank: Option<Quantity>,
    /// Pitch diameter.
    #[arg(long, value_parser = length)]
    pub pitch_diameter: Quantity,
    /// Diameter of the wires; the best wire if not given.
    #[arg(long, value_parser = length)]
    pub wire: Option<Quantity>,
    /// Number of starts.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=16))]
    pub starts: u32,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// Shape of the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Shape {
    /// A rod.
    Round,
    /// A plate or strip.
    Flat,
}

impl From<Shape> for BarShape {
    fn from(s: Shape) -> Self {
        match s {
            Shape::Round => Self::Round,
            Shape::Flat => Self::Flat,
        }
    }
}

/// What the picture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Outline {
    /// As the picture suggests.
    Auto,
    /// A shadow's edge.
    Shadow,
    /// A drawn line.
    Line,
}

impl From<Outline> for DrawnWanted {
    fn from(o: Outline) -> Self {
        match o {
            Outline::Auto => Self::Auto,
            Outline::Shadow => Self::Shadow,
            Outline::Line => Self::Line,
        }
    }
}

/// Hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum HandWanted {
    /// Right-hand.
    Right,
    /// Left-hand.
    Left,
}

impl From<HandWanted> for Hand {
    fn from(h: HandWanted) -> Self {
        match h {
            HandWanted::Right => Self::Right,
            HandWanted::Left => Self::Left,
        }
    }
}
