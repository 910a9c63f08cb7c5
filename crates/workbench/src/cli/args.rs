//! What may stand on the command line.

use super::round::RoundTo;
use clap::{Args, Parser, Subcommand, ValueEnum};
use fit::{BarDrop, BarShape, ViewWanted};
use form::{Hand, Quantity, Units, units};
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
        #[arg(long, value_parser = length, allow_hyphen_values = true)]
        play: Quantity,
        /// Radial clearance; the standard's for the pitch if not given.
        #[arg(long, value_parser = length, allow_hyphen_values = true)]
        radial_clearance: Option<Quantity>,
        /// Length, make and load of the nut.
        #[command(flatten)]
        made: NutMade,
        /// What it is made to.
        #[command(flatten)]
        to: RoundTo,
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
        #[arg(long, value_parser = length)]
        end_float: Option<Quantity>,
        /// Play of a new nut.
        #[arg(long, value_parser = length)]
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
        /// Magnification of the chart for a projector; the one that fills the page if not given.
        #[arg(long, value_name = "TIMES")]
        chart: Option<f64>,
        /// Axial play of the nut, if another than the job says.
        #[arg(long, value_parser = length)]
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

/// How results are shown.
#[derive(Debug, Clone, Copy, Args)]
pub struct How {
    /// The result alone, as JSON, on standard output.
    #[arg(long)]
    pub json: bool,
    /// Units of printed lengths.
    #[arg(long, value_enum, default_value_t = UnitsWanted::Mm)]
    pub units: UnitsWanted,
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
    #[arg(long, value_name = "WIDTH", value_parser = length, allow_hyphen_values = true)]
    pub bar: Quantity,
    /// A rod, or a plate or strip whose edges lie in one plane.
    #[arg(long, value_enum, default_value_t = Shape::Round)]
    pub bar_shape: Shape,
    /// How much farther from the camera than the screw's axis the bar's axis (round) or plane
    /// (flat) lies: `same-surface` or a length.
    #[arg(long, value_parser = drop, default_value = "same-surface", allow_hyphen_values = true)]
    pub bar_drop: BarDrop,
    /// What the picture shows: a shadow's edge or a drawn line.
    #[arg(long, value_enum, default_value_t = Outline::Auto)]
    pub outline: Outline,
    /// Where the camera, lamp or lens stood: `auto`, `parallel` or a distance.
    #[arg(long, value_parser = view, default_value = "auto")]
    pub view: ViewWanted,
    /// Major diameter, when a micrometer knows better or one edge alone is in the picture.
    #[arg(long, value_parser = length)]
    pub major_diameter: Option<Quantity>,
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
    /// Also write a job file.
    #[arg(long, value_name = "JOB")]
    pub job: Option<PathBuf>,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// `match`.
#[derive(Debug, Args)]
pub struct Match {
    /// Pitch: a length or threads per inch.
    #[arg(long, value_parser = pitch)]
    pub pitch: Quantity,
    /// Included angle.
    #[arg(long, value_parser = angle, required_unless_present_all = ["right_flank", "left_flank"])]
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
    /// Crest flat, between theoretical sharp corners.
    #[arg(long, value_parser = length)]
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
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

/// How a nut is made up.
#[derive(Debug, Clone, Args)]
pub struct NutMade {
    /// Length of its thread; one and a half major diameters if not given.
    #[arg(long, value_parser = length)]
    pub length: Option<Quantity>,
    /// Sawn through lengthwise, the cut this wide.
    #[arg(long, value_name = "KERF", value_parser = length, conflicts_with = "sleeve")]
    pub split: Option<Quantity>,
    /// A sleeve of this outer diameter, pressed in.
    #[arg(long, value_name = "OUTSIDE", value_parser = length)]
    pub sleeve: Option<Quantity>,
    /// Interference of the sleeve on its outer diameter.
    #[arg(long, value_parser = length, requires = "sleeve")]
    pub interference: Option<Quantity>,
    /// What it is made of.
    #[arg(long, value_enum)]
    pub material: Option<Material>,
    /// Axial load with its unit, for the pressure on the flanks: 300N.
    #[arg(long, value_parser = force)]
    pub load: Option<f64>,
    /// By how much the ridge of the screw is thicker at its unworn ends than in the picture.
    #[arg(long, value_parser = length)]
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
    /// Fed in along a flank, top slide half a degree less over than the lesser flank.
    #[arg(long)]
    pub flank_feed: bool,
    /// Angle of the top slide from the cross slide, for --flank-feed.
    #[arg(long, value_parser = signed_angle, requires = "flank_feed")]
    pub top_slide: Option<f64>,
    /// One division of the dial that feeds: 0.02mm, 0.001in.
    #[arg(long, value_parser = plain_length)]
    pub division: Option<f64>,
    /// The dial counts diameter, not the way of the slide.
    #[arg(long)]
    pub diameter_dial: bool,
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
}

impl Cut {
    /// Writes what was given over what the job says.
    pub fn over(&self, said: &mut job::PassesSaid) {
        said.passes = self.passes.or(said.passes);
        if let Some(step_mm) = self.step {
            said.rule = shop::PassRule::Fixed { step_mm };
        }
        said.flank_feed |= self.flank_feed;
        said.top_slide_deg = self.top_slide.or(said.top_slide_deg);
        if let Some(mm) = self.division {
            said.dial.unit = shop::DialUnit::Mm;
            said.dial.division = mm;
        }
        if self.diameter_dial {
            said.dial.reads = shop::DialReads::Diameter;
        }
        said.spring_passes = self.spring.unwrap_or(said.spring_passes);
        said.bar_diameter_mm = self.bar.or(said.bar_diameter_mm);
        said.overhang_mm = self.overhang.or(said.overhang_mm);
        said.speed_rpm = self.rpm.map_or(said.speed_rpm, f64::from);
    }
}

/// How a tool is ground and set.
#[derive(Debug, Clone, Args)]
pub struct ToolSet {
    /// Turned about its shank to the lead angle instead of square to the axis.
    #[arg(long)]
    pub turned: bool,
    /// Top rake; negative rises from the tip.
    #[arg(long, value_parser = signed_angle, default_value = "0deg", allow_hyphen_values = true)]
    pub top_rake: f64,
    /// Height of the tip above centre; negative below.
    #[arg(long, value_parser = signed_length, default_value = "0mm", allow_hyphen_values = true)]
    pub above_centre: f64,
    /// Where it cuts and which way the spindle turns.
    #[arg(long, value_enum, default_value_t = StanceWanted::Near)]
    pub stance: StanceWanted,
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

impl ToolSet {
    /// As given, or as the job has it where nothing was given.
    #[must_use]
    pub fn or(&self, of_job: shop::ToolSetting) -> shop::ToolSetting {
        let given = self.setting();
        if given == shop::ToolSetting::default() { of_job } else { given }
    }

    /// As the shop knows it.
    fn setting(&self) -> shop::ToolSetting {
        shop::ToolSetting {
            turned: if self.turned { shop::Turned::ToLeadAngle } else { shop::Turned::Square },
            top_rake_deg: self.top_rake,
            above_centre_mm: self.above_centre,
            stance: match self.stance {
                StanceWanted::Near => shop::Stance::Near,
                StanceWanted::FarUpsideDown => shop::Stance::FarUpsideDown,
                StanceWanted::FarReverse => shop::Stance::FarReverse,
            },
            ..shop::ToolSetting::default()
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
    #[arg(long, value_name = "WIDTH", value_parser = length, allow_hyphen_values = true)]
    pub bar: Quantity,
    /// The picture shows the tool from below, not its rake face.
    #[arg(long)]
    pub from_below: bool,
    /// How the tool is ground and set.
    #[command(flatten)]
    pub set: ToolSet,
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
    #[arg(long, value_name = "1,2,3,4", value_parser = jaws, allow_hyphen_values = true)]
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
    #[arg(long, allow_hyphen_values = true)]
    pub shrinkage: Option<f64>,
    /// What it is cast of.
    #[arg(long, value_enum, default_value_t = CastOf::ReplicaResin)]
    pub material: CastOf,
    /// Axial play of the screw in the nut.
    #[arg(long, value_parser = length, default_value = "0.08mm")]
    pub play: Quantity,
    /// Radial clearance; the standard's for the pitch if not given.
    #[arg(long, value_parser = length)]
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
    #[arg(long, value_parser = pitch)]
    pub leadscrew: Quantity,
    /// Lead to cut (pitch times starts): a length or threads per inch.
    #[arg(long, value_parser = pitch)]
    pub want: Quantity,
    /// Teeth of every wheel owned, with commas; one owned twice is listed twice.
    #[arg(long, value_delimiter = ',', required = true, value_parser = teeth)]
    pub wheels: Vec<u32>,
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
    /// Most error shown, parts per million.
    #[arg(long, value_name = "PPM", default_value_t = 3000.0)]
    pub tolerance: f64,
    /// Length of the nut, to see what the error comes to over it.
    #[arg(long, value_parser = length)]
    pub nut_length: Option<Quantity>,
    /// Play of the nut, a quarter of which the error may take.
    #[arg(long, value_parser = length, requires = "nut_length")]
    pub play: Option<Quantity>,
    /// Starts of the thread, for the way from one to the next.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=16))]
    pub starts: u32,
    /// Most trains shown.
    #[arg(long, default_value_t = 10)]
    pub most: usize,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
}

impl Gears {
    /// The bracket, if anything was said of it.
    #[must_use]
    pub fn bracket(&self) -> Option<shop::Bracket> {
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

fn length(text: &str) -> Result<Quantity, String> {
    units::length_quantity_mm(text).map_err(|e| e.to_string())
}

fn pitch(text: &str) -> Result<Quantity, String> {
    units::pitch_quantity_mm(text).map_err(|e| e.to_string())
}

fn angle(text: &str) -> Result<Quantity, String> {
    units::angle_quantity_deg(text).map_err(|e| e.to_string())
}

/// A length above nothing, without ±, mm.
fn plain_length(text: &str) -> Result<f64, String> {
    let mm = length(text)?.value;
    if mm > 0.0 { Ok(mm) } else { Err(format!("{text} is not above 0")) }
}

fn signed_length(text: &str) -> Result<f64, String> {
    units::signed_length_mm(text).map_err(|e| e.to_string())
}

fn signed_angle(text: &str) -> Result<f64, String> {
    units::signed_angle_deg(text).map_err(|e| e.to_string())
}

fn force(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix('N').map(|n| n.trim().parse::<f64>());
    match number {
        Some(Ok(n)) if n > 0.0 && n.is_finite() => Ok(n),
        _ => Err(format!("\"{text}\" is not a force above nothing: write 300N")),
    }
}

fn teeth(text: &str) -> Result<u32, String> {
    text.trim()
        .parse()
        .map_err(|_| format!("\"{text}\" is not a number of teeth: write 20,25,30 with commas"))
}

fn wheel_pair(text: &str) -> Result<(u32, u32), String> {
    let parts: Result<Vec<u32>, _> = text.split(',').map(|n| n.trim().parse::<u32>()).collect();
    match parts.as_deref() {
        Ok(&[driven, driver]) => Ok((driven, driver)),
        _ => Err(format!("\"{text}\" is not two numbers of teeth: write 127,120")),
    }
}

fn cylinder(text: &str) -> Result<shop::CylinderReading, String> {
    let (top, diameter) = text
        .split_once(',')
        .ok_or_else(|| format!("\"{text}\" is not a height and a diameter: write 62.31mm,20mm"))?;
    let (top_mm, diameter_mm) = (length(top)?, length(diameter)?);
    Ok(shop::CylinderReading { top_mm, diameter_mm })
}

fn jaws(text: &str) -> Result<shop::JawReadings, String> {
    let readings: Result<Vec<f64>, String> = text.split(',').map(signed_length).collect();
    match readings?.as_slice() {
        &[a, b, c, d] => Ok(shop::JawReadings { at_mm: [a, b, c, d] }),
        other => Err(format!(
            "\"{text}\" holds {} readings; four are needed, one at each jaw: 0.12mm,0mm,-0.08mm,0.03mm",
            other.len()
        )),
    }
}

fn drop(text: &str) -> Result<BarDrop, String> {
    if text.trim() == "same-surface" {
        return Ok(BarDrop::SameSurface);
    }
    let value = units::signed_length_mm(text).map_err(|e| format!("{e}; or write same-surface"))?;
    if value.abs() > 1000.0 {
        return Err(format!("\"{text}\" is outside -1 m to 1 m"));
    }
    Ok(BarDrop::Given(Quantity::entered(value, 0.0)))
}

fn view(text: &str) -> Result<ViewWanted, String> {
    match text.trim() {
        "auto" => Ok(ViewWanted::Auto),
        "parallel" => Ok(ViewWanted::Parallel),
        other => units::length_quantity_mm(other)
            .map(ViewWanted::Distance)
            .map_err(|e| format!("{e}; or write auto or parallel")),
    }
}

fn duty(text: &str) -> Result<Duty, String> {
    Duty::from_word(text).ok_or_else(|| {
        let words: Vec<&str> = Duty::ALL.iter().map(|d| d.word()).collect();
        format!("\"{text}\" is none of {}", words.join(", "))
    })
}

fn pixel_box(text: &str) -> Result<PixelBox, String> {
    let numbers: Result<Vec<f64>, _> = text.split(',').map(|n| n.trim().parse::<f64>()).collect();
    match numbers.as_deref() {
        Ok(&[x, y, w, h]) if [x, y, w, h].iter().all(|v| v.is_finite()) && w > 0.0 && h > 0.0 => {
            Ok(PixelBox { x, y, w, h })
        }
        _ => Err(format!(
            "\"{text}\" is not a box: write left, top, width and height in pixels, for example \
             100,200,1500,300; width and height are above 0"
        )),
    }
}
