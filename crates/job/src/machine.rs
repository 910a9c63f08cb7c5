//! What is said about the machine and the work at it, beyond the thread and its picture. Each part
//! can be filled in by itself: whoever only wants the change wheels needs nothing else.
//!
//! These are plain enough that the job file holds them as they are; every field has a default, so
//! that older files stay readable.

use form::{Quantity, Units};
use serde::{Deserialize, Serialize};
use shop::{Bracket, Dial, Gears, JawReadings, PassRule, Reading, Survey, Train, WorkMaterial};

/// A thread typed in, for work without a picture; where there is a picture, the picture's form
/// holds, and of this only the flanks that the picture does not tell.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct FormSaid {
    /// Pitch, mm.
    pub pitch_mm: Option<Quantity>,
    /// Right flank from the normal to the axis, degrees.
    pub right_flank_deg: Option<Quantity>,
    /// Left flank, degrees.
    pub left_flank_deg: Option<Quantity>,
    /// Radial depth, mm.
    pub depth_mm: Option<Quantity>,
    /// Crest flat, mm.
    pub crest_flat_mm: Option<Quantity>,
    /// Radius at the corners of the crest, mm; `None` is sharp.
    pub crest_radius_mm: Option<Quantity>,
    /// Radius at the corners of the root, mm; `None` is sharp.
    pub root_radius_mm: Option<Quantity>,
}

/// The survey of the lost motion.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SurveySaid {
    /// Stations in the order in which they were taken.
    pub readings: Vec<Reading>,
    /// End-float of the screw in its thrust, mm.
    pub end_float_mm: Option<Quantity>,
    /// Lost motion that would be put up with, mm; `None` takes the usual.
    pub acceptable_mm: Option<f64>,
    /// End-float that adjusting the thrust can reach, mm; `None` takes the usual.
    pub adjusted_end_float_mm: Option<f64>,
}

impl From<&Survey> for SurveySaid {
    /// All of a survey but the play of the new nut, which is the nut's.
    fn from(survey: &Survey) -> Self {
        let usual = Survey::new(Vec::new(), None);
        let unusual = |said: f64, usual: f64| (said != usual).then_some(said);
        Self {
            readings: survey.readings.clone(),
            end_float_mm: survey.end_float_mm,
            acceptable_mm: unusual(survey.acceptable_mm, usual.acceptable_mm),
            adjusted_end_float_mm: unusual(
                survey.adjusted_end_float_mm,
                usual.adjusted_end_float_mm,
            ),
        }
    }
}

impl SurveySaid {
    /// The survey as the shop evaluates it; the new nut's play is the job's. `None` while nothing
    /// was read.
    #[must_use]
    pub fn survey(&self, new_nut_play_mm: Quantity) -> Option<Survey> {
        if self.readings.is_empty() {
            return None;
        }
        let mut survey = Survey::new(self.readings.clone(), self.end_float_mm);
        survey.new_nut_play_mm.value = new_nut_play_mm.value;
        survey.new_nut_play_mm.source = new_nut_play_mm.source;
        if new_nut_play_mm.u > 0.0 {
            survey.new_nut_play_mm.u = new_nut_play_mm.u;
        }
        if let Some(acceptable_mm) = self.acceptable_mm {
            survey.acceptable_mm = acceptable_mm;
        }
        if let Some(adjusted_mm) = self.adjusted_end_float_mm {
            survey.adjusted_end_float_mm = adjusted_mm;
        }
        Some(survey)
    }
}

/// The change wheels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct WheelsSaid {
    /// Pitch of the lathe's lead screw, mm.
    pub leadscrew_mm: Option<f64>,
    /// Lead to be cut, mm; `None` takes the nut's.
    pub want_mm: Option<f64>,
    /// Teeth of every wheel owned; one owned twice is listed twice.
    pub wheels: Vec<u32>,
    /// A pair fixed on one shaft: driven teeth, driver teeth.
    pub pair: Option<(u32, u32)>,
    /// Most error looked at, parts per million.
    pub tolerance_ppm: f64,
    /// Where the shafts are, when known.
    pub bracket: Option<Bracket>,
    /// The train to be used; `None` takes the best.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub train: Option<TrainSaid>,
}

/// A train of change wheels, by its wheels: their order on the shafts follows from the bracket.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TrainSaid {
    /// Drivers.
    pub drivers: Vec<u32>,
    /// Driven wheels.
    pub driven: Vec<u32>,
}

impl TrainSaid {
    /// The same train among others.
    #[must_use]
    pub fn place(&self, trains: &[Train]) -> Option<usize> {
        trains.iter().position(|t| t.is_of(&self.drivers, &self.driven))
    }
}

impl From<&Train> for TrainSaid {
    fn from(train: &Train) -> Self {
        Self { drivers: train.drivers.clone(), driven: train.driven.clone() }
    }
}

impl std::fmt::Display for TrainSaid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let join = |teeth: &[u32]| {
            let words: Vec<String> = teeth.iter().map(u32::to_string).collect();
            words.join(" × ")
        };
        write!(f, "{} / {}", join(&self.drivers), join(&self.driven))
    }
}

impl WheelsSaid {
    /// Place among `trains` of the one that is used: the chosen one, or the best.
    #[must_use]
    pub fn used_at(&self, trains: &[Train]) -> usize {
        self.train.as_ref().and_then(|said| said.place(trains)).unwrap_or(0)
    }

    /// The train that is used: the chosen one while it is possible, else the best.
    #[must_use]
    pub fn used<'a>(&self, gears: &'a Gears) -> Option<&'a Train> {
        gears.trains.get(self.used_at(&gears.trains))
    }
}

impl Default for WheelsSaid {
    fn default() -> Self {
        Self {
            leadscrew_mm: None,
            want_mm: None,
            wheels: Vec::new(),
            pair: None,
            tolerance_ppm: 3000.0,
            bracket: None,
            train: None,
        }
    }
}

/// How the thread of the nut is cut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PassesSaid {
    /// Depth to cut, mm radial; `None` takes the nut's infeed.
    pub depth_mm: Option<f64>,
    /// Tip flat of the tool as ground, mm; `None` takes the drawn one.
    pub tip_flat_mm: Option<f64>,
    /// What is cut; `None` takes what the nut is made of, or steel for a new screw.
    pub material: Option<WorkMaterial>,
    /// Diameter of the boring bar, mm; `None` takes the largest usual one.
    pub bar_diameter_mm: Option<f64>,
    /// Free length of the bar, mm; `None` takes the nut's length and a little.
    pub overhang_mm: Option<f64>,
    /// A bar of solid carbide.
    pub carbide: bool,
    /// The dial that feeds; `None` while nobody has read it.
    pub dial: Option<Dial>,
    /// How the depth is shared out.
    pub rule: PassRule,
    /// Fed in along a flank with the top slide set over, not straight in.
    pub flank_feed: bool,
    /// Angle of the top slide from the cross slide, degrees; `None` takes half a degree less than
    /// the lesser flank (common practice).
    pub top_slide_deg: Option<f64>,
    /// Number of passes; `None` finds it.
    pub passes: Option<u32>,
    /// Passes at full depth without further infeed.
    pub spring_passes: u32,
    /// Spindle speed, turns a minute.
    pub speed_rpm: f64,
}

impl Default for PassesSaid {
    fn default() -> Self {
        Self {
            depth_mm: None,
            tip_flat_mm: None,
            material: None,
            bar_diameter_mm: None,
            overhang_mm: None,
            carbide: false,
            dial: None,
            rule: PassRule::ConstantArea,
            flank_feed: false,
            top_slide_deg: None,
            passes: None,
            spring_passes: 2,
            speed_rpm: 60.0,
        }
    }
}

impl PassesSaid {
    /// The dial as it was read, or one that is usual where people work in these units.
    #[must_use]
    pub fn dial(&self, units: Units) -> Dial {
        self.dial.unwrap_or(match units {
            Units::Mm => Dial::METRIC,
            Units::Inch | Units::Thou => Dial::INCH,
        })
    }

    /// Changes the dial, which has been read then.
    pub fn read_dial(&mut self, units: Units, change: impl FnOnce(&mut Dial)) {
        let mut dial = self.dial(units);
        change(&mut dial);
        self.dial = Some(dial);
    }
}

/// Setting out the blank of the nut: readings of a height gauge, and of a dial gauge at the jaws.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct BlankSaid {
    /// Height of the face the axis lies below, mm.
    pub face_mm: Option<Quantity>,
    /// Height of the top of a cylinder on the axis, mm.
    pub first_top_mm: Option<Quantity>,
    /// Its diameter, mm.
    pub first_diameter_mm: Option<Quantity>,
    /// Height of the top of a second cylinder, mm.
    pub second_top_mm: Option<Quantity>,
    /// Its diameter, mm.
    pub second_diameter_mm: Option<Quantity>,
    /// Rounds of readings at jaws 1 to 4.
    pub jaws: Vec<JawReadings>,
    /// How near to the spindle's axis is near enough, mm; `None` takes a hundredth.
    pub within_mm: Option<f64>,
}

/// Near enough to the spindle's axis when nothing else is said, mm.
pub const USUAL_WITHIN_MM: f64 = 0.01;

/// How screw and nut are checked.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ChecksSaid {
    /// Wires at hand, mm; `None` takes the best.
    pub wire_mm: Option<f64>,
    /// Pitch diameter to be checked, mm; `None` takes the screw's.
    pub pitch_diameter_mm: Option<Quantity>,
    /// What was read over the wires, mm.
    pub over_wires_mm: Option<Quantity>,
    /// Least play the plug gauge lets pass, mm; `None` is half the play aimed for.
    pub least_play_mm: Option<f64>,
    /// Most play, mm; `None` is one and a half times the play aimed for.
    pub most_play_mm: Option<f64>,
}
