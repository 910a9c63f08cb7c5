//! What may stand on the command line.

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
        #[arg(long, value_parser = length)]
        play: Quantity,
        /// Radial clearance; the standard's for the pitch if not given.
        #[arg(long, value_parser = length)]
        radial_clearance: Option<Quantity>,
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
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// Change wheels for a pitch.
    Gears(Gears),
    /// A cutting plan for the nut of a job.
    Passes {
        /// Job file.
        job: PathBuf,
        /// How results are shown.
        #[command(flatten)]
        how: How,
    },
    /// Measurement over three wires.
    Wires(Wires),
    /// Split lost motion into thrust, nut and screw.
    Survey {
        /// Readings: CSV with the columns position_mm and lost_motion_mm (or _in, _thou).
        readings: PathBuf,
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
    #[arg(long, value_name = "WIDTH", value_parser = length)]
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
    /// What was found out besides; may be given several times.
    #[arg(long, value_name = "KIND:READING", value_parser = super::evidence::evidence,
          long_help = super::evidence::FORMS)]
    pub evidence: Vec<standards::Evidence>,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
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
    #[arg(long, value_delimiter = ',', required = true)]
    pub wheels: Vec<u32>,
    /// Most trains shown.
    #[arg(long, default_value_t = 10)]
    pub most: usize,
    /// How results are shown.
    #[command(flatten)]
    pub how: How,
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
