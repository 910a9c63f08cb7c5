//! Entries for typed text: what stands in each, and what becomes of what is typed.

use super::edit::USUAL_KERF_MM;
use super::evidence;
use super::thread_name;
pub use super::written::entered;
pub(super) use super::written::trimmed;
use super::written::{angle, bare, lead, place};
use fit::{BarDrop, ViewWanted};
use form::{Quantity, Units, units};
use job::Job;
use shop::{Bracket, DialUnit, JawReadings, NutKind, PassRule, Reading};

/// An entry for typed text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "each name says which number of the job it is")]
pub enum Field {
    Title,
    Notes,
    /// The thread by its name.
    ThreadName,
    /// Place of a station of the survey, by its row; the row behind the last adds one.
    Station(usize),
    /// Lost motion there.
    Lost(usize),
    EndFloat,
    Acceptable,
    BarWidth,
    BarDrop,
    Distance,
    /// Major diameter by micrometer.
    Major,
    FormPitch,
    FormRight,
    FormLeft,
    FormDepth,
    FormCrest,
    FormCrestRadius,
    FormRootRadius,
    Play,
    RadialClearance,
    NutLength,
    /// Axial load, N.
    Load,
    /// By how much the unworn ridge is thicker.
    Unworn,
    /// Width of a split nut's cut.
    Kerf,
    /// Outer diameter of a sleeve.
    SleeveOutside,
    /// By how much the sleeve is larger than its housing.
    Interference,
    Leadscrew,
    LeadWanted,
    WheelsOwned,
    WheelPair,
    WheelTolerance,
    PassDepth,
    PassTip,
    /// Depth of every pass.
    PassStep,
    /// Angle of the top slide.
    TopSlide,
    /// Top rake of the tool.
    TopRake,
    /// Height of the tool above centre.
    AboveCentre,
    BoringBar,
    Overhang,
    /// Width of the bar beside the ground tool.
    GroundBar,
    Module,
    ShaftDiameter,
    /// From the first driver to the lead screw.
    Centres,
    LargestWheel,
    BlankFace,
    FirstTop,
    FirstDiameter,
    SecondTop,
    SecondDiameter,
    /// How near to the spindle's axis is near enough.
    Within,
    /// Reading at a jaw: round, jaw; the round behind the last adds one.
    Jaw(usize, usize),
    PassCount,
    SpringPasses,
    Speed,
    DialDivision,
    DialDivisions,
    Wire,
    PitchDiameter,
    OverWires,
    LeastPlay,
    MostPlay,
    /// A number of a line of evidence: line, place in it.
    Evidence(usize, usize),
    /// The note of a line of evidence.
    EvidenceNote(usize),
}

/// A change of the job that was typed.
pub type Set = Box<dyn FnOnce(&mut Job)>;

/// What kind of text an entry takes, and where in the job it belongs.
enum Place {
    /// A length with ±, or nothing.
    Length(fn(&Job) -> Option<Quantity>, fn(&mut Job, Option<Quantity>)),
    /// A length with ± that is never missing.
    Needed(fn(&Job) -> Quantity, fn(&mut Job, Quantity)),
    /// A length without ±, or nothing.
    Plain(fn(&Job) -> Option<f64>, fn(&mut Job, Option<f64>)),
    /// A pitch without ±, or nothing.
    Lead(fn(&Job) -> Option<f64>, fn(&mut Job, Option<f64>)),
    /// A pitch with ±, or nothing.
    Pitch(fn(&Job) -> Option<Quantity>, fn(&mut Job, Option<Quantity>)),
    /// An angle with ±, or nothing.
    Angle(fn(&Job) -> Option<Quantity>, fn(&mut Job, Option<Quantity>)),
    /// A length of either sign without ±; nothing is 0.
    SignedLength(fn(&Job) -> f64, fn(&mut Job, f64)),
    /// An angle of either sign without ±, degrees; nothing is 0.
    SignedAngle(fn(&Job) -> f64, fn(&mut Job, f64)),
    /// A whole number in a range, or nothing.
    Count(fn(&Job) -> Option<u32>, fn(&mut Job, Option<u32>), std::ops::RangeInclusive<u32>),
    /// Text that has rules of its own.
    Own,
}

impl Field {
    /// What the step of the history is called.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::Title => "name of the job",
            Self::Notes => "notes",
            Self::ThreadName => "thread by its name",
            Self::Station(_) => "place of a station",
            Self::Lost(_) => "lost motion at a station",
            Self::EndFloat => "end-float",
            Self::Acceptable => "lost motion put up with",
            Self::BarWidth => "width of the bar",
            Self::BarDrop => "where the bar lies",
            Self::Distance => "where the camera stood",
            Self::Major => "major diameter",
            Self::FormPitch => "pitch",
            Self::FormRight => "right flank",
            Self::FormLeft => "left flank",
            Self::FormDepth => "depth",
            Self::FormCrest => "crest flat",
            Self::FormCrestRadius => "crest radius",
            Self::FormRootRadius => "root radius",
            Self::Play => "play of the nut",
            Self::RadialClearance => "radial clearance",
            Self::NutLength => "length of the nut",
            Self::Load => "load",
            Self::Unworn => "thickness of the unworn ridge",
            Self::Kerf => "width of the cut",
            Self::SleeveOutside => "outside of the sleeve",
            Self::Interference => "fit of the sleeve",
            Self::Leadscrew => "lead screw",
            Self::LeadWanted => "lead to cut",
            Self::WheelsOwned => "wheels owned",
            Self::WheelPair => "pair of wheels",
            Self::WheelTolerance => "error allowed",
            Self::PassDepth => "depth to cut",
            Self::PassTip => "tip of the tool",
            Self::PassStep => "depth of a pass",
            Self::TopSlide => "angle of the top slide",
            Self::TopRake => "top rake",
            Self::AboveCentre => "height of the tool",
            Self::BoringBar => "boring bar",
            Self::GroundBar => "bar beside the tool",
            Self::Module => "module of the wheels",
            Self::ShaftDiameter => "shafts of the wheels",
            Self::Centres => "reach of the bracket",
            Self::LargestWheel => "largest wheel",
            Self::BlankFace | Self::FirstTop | Self::SecondTop => "height on the blank",
            Self::FirstDiameter | Self::SecondDiameter => "diameter of a cylinder",
            Self::Within => "near enough to the axis",
            Self::Jaw(..) => "reading at a jaw",
            Self::Overhang => "overhang of the bar",
            Self::PassCount => "number of passes",
            Self::SpringPasses => "spring passes",
            Self::Speed => "spindle speed",
            Self::DialDivision => "division of the dial",
            Self::DialDivisions => "divisions of the dial",
            Self::Wire => "wires",
            Self::PitchDiameter => "pitch diameter",
            Self::OverWires => "reading over wires",
            Self::LeastPlay => "least play",
            Self::MostPlay => "most play",
            Self::Evidence(..) => "a reading",
            Self::EvidenceNote(_) => "note of a reading",
        }
    }

    /// Whether its text is a list or a sentence, which may need more than one row.
    #[must_use]
    pub fn is_long(self) -> bool {
        matches!(self, Self::WheelsOwned | Self::Notes)
    }

    /// Whether a length of nothing means something in it.
    fn may_be_nothing(self) -> bool {
        matches!(
            self,
            Self::EndFloat
                | Self::Play
                | Self::RadialClearance
                | Self::FormCrest
                | Self::FormCrestRadius
                | Self::FormRootRadius
                | Self::Unworn
                | Self::BlankFace
                | Self::LeastPlay
        )
    }

    fn place(self) -> Place {
        match self {
            Self::EndFloat => {
                Place::Length(|j| j.survey.end_float_mm, |j, q| j.survey.end_float_mm = q)
            }
            Self::Acceptable => {
                Place::Plain(|j| j.survey.acceptable_mm, |j, v| j.survey.acceptable_mm = v)
            }
            Self::BarWidth => Place::Length(|j| j.bar.width_mm, |j, q| j.bar.width_mm = q),
            Self::Major => {
                Place::Length(|j| j.thread.major_diameter_mm, |j, q| j.thread.major_diameter_mm = q)
            }
            Self::FormPitch => Place::Pitch(|j| j.form.pitch_mm, |j, q| j.form.pitch_mm = q),
            Self::FormRight => {
                Place::Angle(|j| j.form.right_flank_deg, |j, q| j.form.right_flank_deg = q)
            }
            Self::FormLeft => {
                Place::Angle(|j| j.form.left_flank_deg, |j, q| j.form.left_flank_deg = q)
            }
            Self::FormDepth => Place::Length(|j| j.form.depth_mm, |j, q| j.form.depth_mm = q),
            Self::FormCrest => {
                Place::Length(|j| j.form.crest_flat_mm, |j, q| j.form.crest_flat_mm = q)
            }
            Self::FormCrestRadius => {
                Place::Length(|j| j.form.crest_radius_mm, |j, q| j.form.crest_radius_mm = q)
            }
            Self::FormRootRadius => {
                Place::Length(|j| j.form.root_radius_mm, |j, q| j.form.root_radius_mm = q)
            }
            Self::Play => Place::Needed(|j| j.nut.play_mm, |j, q| j.nut.set_play(q)),
            Self::RadialClearance => Place::Length(
                |j| j.nut.radial_clearance_said_mm(),
                |j, q| {
                    j.nut.radial_clearance_mm = q;
                    j.nut.bore_clearance_mm = None;
                },
            ),
            Self::NutLength => Place::Plain(|j| j.nut.length_mm, |j, v| j.nut.length_mm = v),
            Self::Load => Place::Count(
                |j| j.nut.load_n.map(|n| n.round() as u32),
                |j, n| j.nut.load_n = n.map(f64::from),
                1..=1_000_000,
            ),
            Self::Unworn => {
                Place::Length(|j| j.nut.unworn_thicker_mm, |j, q| j.nut.unworn_thicker_mm = q)
            }
            Self::Kerf => Place::Plain(
                |j| match j.nut.kind {
                    NutKind::Split { kerf_mm } => Some(kerf_mm),
                    _ => None,
                },
                |j, v| {
                    if let NutKind::Split { kerf_mm } = &mut j.nut.kind {
                        *kerf_mm = v.unwrap_or(USUAL_KERF_MM);
                    }
                },
            ),
            Self::SleeveOutside => Place::Plain(
                |j| match j.nut.kind {
                    NutKind::Sleeve { outer_diameter_mm, .. } => Some(outer_diameter_mm),
                    _ => None,
                },
                |j, v| {
                    if let (NutKind::Sleeve { outer_diameter_mm, .. }, Some(mm)) =
                        (&mut j.nut.kind, v)
                    {
                        *outer_diameter_mm = mm;
                    }
                },
            ),
            Self::Interference => Place::Plain(
                |j| match j.nut.kind {
                    NutKind::Sleeve { interference_mm, .. } if interference_mm > 0.0 => {
                        Some(interference_mm)
                    }
                    _ => None,
                },
                |j, v| {
                    if let NutKind::Sleeve { interference_mm, .. } = &mut j.nut.kind {
                        *interference_mm = v.unwrap_or(0.0);
                    }
                },
            ),
            Self::Leadscrew => {
                Place::Lead(|j| j.wheels.leadscrew_mm, |j, v| j.wheels.leadscrew_mm = v)
            }
            Self::LeadWanted => Place::Lead(|j| j.wheels.want_mm, |j, v| j.wheels.want_mm = v),
            Self::PassDepth => Place::Plain(|j| j.passes.depth_mm, |j, v| j.passes.depth_mm = v),
            Self::PassTip => {
                Place::Plain(|j| j.passes.tip_flat_mm, |j, v| j.passes.tip_flat_mm = v)
            }
            Self::PassStep => Place::Plain(
                |j| match j.passes.rule {
                    PassRule::Fixed { step_mm } => Some(step_mm),
                    _ => None,
                },
                |j, v| {
                    j.passes.rule =
                        v.map_or(PassRule::ConstantArea, |step_mm| PassRule::Fixed { step_mm });
                },
            ),
            Self::TopSlide => Place::Angle(
                |j| j.passes.top_slide_deg.map(|v| Quantity::entered(v, 0.0)),
                |j, q| j.passes.top_slide_deg = q.map(|q| q.value),
            ),
            Self::TopRake => {
                Place::SignedAngle(|j| j.tool.top_rake_deg, |j, v| j.tool.top_rake_deg = v)
            }
            Self::AboveCentre => {
                Place::SignedLength(|j| j.tool.above_centre_mm, |j, v| j.tool.above_centre_mm = v)
            }
            Self::BoringBar => {
                Place::Plain(|j| j.passes.bar_diameter_mm, |j, v| j.passes.bar_diameter_mm = v)
            }
            Self::Overhang => {
                Place::Plain(|j| j.passes.overhang_mm, |j, v| j.passes.overhang_mm = v)
            }
            Self::GroundBar => {
                Place::Length(|j| j.ground.bar_width_mm, |j, q| j.ground.bar_width_mm = q)
            }
            Self::Module => Place::Plain(
                |j| j.wheels.bracket.map(|b| b.module_mm),
                |j, v| bracket(j, |b, usual| b.module_mm = v.unwrap_or(usual.module_mm)),
            ),
            Self::ShaftDiameter => Place::Plain(
                |j| j.wheels.bracket.map(|b| b.shaft_diameter_mm),
                |j, v| {
                    bracket(j, |b, usual| {
                        b.shaft_diameter_mm = v.unwrap_or(usual.shaft_diameter_mm);
                    });
                },
            ),
            Self::Centres => Place::Plain(
                |j| j.wheels.bracket.and_then(|b| b.centres_mm),
                |j, v| bracket(j, |b, _| b.centres_mm = v),
            ),
            Self::LargestWheel => Place::Count(
                |j| j.wheels.bracket.and_then(|b| b.most_teeth),
                |j, n| bracket(j, |b, _| b.most_teeth = n),
                8..=400,
            ),
            Self::BlankFace => Place::Length(|j| j.blank.face_mm, |j, q| j.blank.face_mm = q),
            Self::FirstTop => {
                Place::Length(|j| j.blank.first_top_mm, |j, q| j.blank.first_top_mm = q)
            }
            Self::FirstDiameter => {
                Place::Length(|j| j.blank.first_diameter_mm, |j, q| j.blank.first_diameter_mm = q)
            }
            Self::SecondTop => {
                Place::Length(|j| j.blank.second_top_mm, |j, q| j.blank.second_top_mm = q)
            }
            Self::SecondDiameter => {
                Place::Length(|j| j.blank.second_diameter_mm, |j, q| j.blank.second_diameter_mm = q)
            }
            Self::Within => Place::Plain(|j| j.blank.within_mm, |j, v| j.blank.within_mm = v),
            Self::PassCount => {
                Place::Count(|j| j.passes.passes, |j, n| j.passes.passes = n, 1..=400)
            }
            Self::SpringPasses => Place::Count(
                |j| Some(j.passes.spring_passes),
                |j, n| j.passes.spring_passes = n.unwrap_or(2),
                0..=20,
            ),
            Self::Speed => Place::Count(
                |j| Some(j.passes.speed_rpm.round() as u32),
                |j, n| j.passes.speed_rpm = n.map_or(60.0, f64::from),
                1..=3000,
            ),
            Self::DialDivisions => Place::Count(
                |j| j.passes.dial.map(|d| d.divisions_per_turn),
                |j, n| {
                    if let Some(n) = n {
                        j.passes.read_dial(j.units, |d| d.divisions_per_turn = n);
                    }
                },
                1..=2000,
            ),
            Self::WheelTolerance => Place::Count(
                |j| Some(j.wheels.tolerance_ppm.round() as u32),
                |j, n| j.wheels.tolerance_ppm = n.map_or(3000.0, f64::from),
                1..=100_000,
            ),
            Self::Wire => Place::Plain(|j| j.checks.wire_mm, |j, v| j.checks.wire_mm = v),
            Self::PitchDiameter => {
                Place::Length(|j| j.checks.pitch_diameter_mm, |j, q| j.checks.pitch_diameter_mm = q)
            }
            Self::OverWires => {
                Place::Length(|j| j.checks.over_wires_mm, |j, q| j.checks.over_wires_mm = q)
            }
            Self::LeastPlay => {
                Place::Plain(|j| j.checks.least_play_mm, |j, v| j.checks.least_play_mm = v)
            }
            Self::MostPlay => {
                Place::Plain(|j| j.checks.most_play_mm, |j, v| j.checks.most_play_mm = v)
            }
            _ => Place::Own,
        }
    }

    /// What stands in the entry when nobody is typing in it.
    #[must_use]
    pub fn settled(self, job: &Job) -> String {
        let length = |q: Option<Quantity>| q.map_or_else(String::new, |q| entered(q, job.units));
        let plain = |v: Option<f64>| length(v.map(|v| Quantity::entered(v, 0.0)));
        match self.place() {
            Place::Length(get, _) => length(get(job)),
            Place::Needed(get, _) => length(Some(get(job))),
            Place::Plain(get, _) => plain(get(job)),
            Place::Lead(get, _) => get(job).map_or_else(String::new, |v| lead(v, job.units)),
            Place::Pitch(get, _) => length(get(job)),
            Place::Angle(get, _) => get(job).map_or_else(String::new, angle),
            Place::SignedLength(get, _) => plain(Some(get(job))),
            Place::SignedAngle(get, _) => angle(Quantity::entered(get(job), 0.0)),
            Place::Count(get, ..) => get(job).map_or_else(String::new, |n| n.to_string()),
            Place::Own => self.settled_own(job),
        }
    }

    fn settled_own(self, job: &Job) -> String {
        let reading = |i: usize| job.survey.readings.get(i);
        let length = |q: Quantity| entered(q, job.units);
        match self {
            Self::Title => job.title.clone(),
            Self::Notes => job.notes.clone(),
            Self::ThreadName => thread_name::settled(job),
            // The head of the column names the unit.
            Self::Station(i) => {
                reading(i).map_or_else(String::new, |r| place(r.position_mm, job.units))
            }
            Self::Lost(i) => {
                reading(i).map_or_else(String::new, |r| bare(&length(r.lost_motion_mm), job.units))
            }
            Self::Jaw(i, jaw) => job
                .blank
                .jaws
                .get(i)
                .and_then(|r| r.at_mm.get(jaw))
                .map_or_else(String::new, |mm| {
                    bare(&length(Quantity::entered(*mm, 0.0)), job.units)
                }),
            Self::Evidence(i, slot) => job
                .evidence
                .get(i)
                .map_or_else(String::new, |r| evidence::settled(&r.evidence, slot, job.units)),
            Self::EvidenceNote(i) => {
                job.evidence.get(i).map_or_else(String::new, |r| r.note.clone())
            }
            Self::BarDrop => match job.bar.drop {
                BarDrop::SameSurface => String::new(),
                BarDrop::Given(q) => length(q),
            },
            Self::Distance => match job.view {
                ViewWanted::Distance(q) => length(q),
                _ => String::new(),
            },
            Self::WheelsOwned => {
                let teeth: Vec<String> = job.wheels.wheels.iter().map(u32::to_string).collect();
                teeth.join(", ")
            }
            Self::WheelPair => {
                job.wheels.pair.map_or_else(String::new, |(a, b)| format!("{a}/{b}"))
            }
            Self::DialDivision => {
                job.passes.dial.map_or_else(String::new, |d| d.division_in_words())
            }
            _ => String::new(),
        }
    }

    /// Takes typed text, or says why not. In a table numbers may stand without a unit: the head of
    /// their column names it.
    ///
    /// # Errors
    /// A sentence that names the text and what would do.
    pub fn taken(self, text: &str, job: &Job) -> Result<Set, String> {
        let text = text.trim();
        let none = text.is_empty();
        let read = match self.may_be_nothing() {
            true => units::length_from_zero_quantity_mm,
            false => units::length_quantity_mm,
        };
        let length = |text: &str| read(text).map_err(|e| e.to_string());
        Ok(match self.place() {
            Place::Length(_, set) => {
                let q = if none { None } else { Some(length(text)?) };
                Box::new(move |j| set(j, q))
            }
            Place::Needed(_, set) => {
                let q = length(text)?;
                Box::new(move |j| set(j, q))
            }
            Place::Plain(_, set) => {
                let v = if none { None } else { Some(length(text)?.value) };
                Box::new(move |j| set(j, v))
            }
            Place::Lead(_, set) => {
                let v = match none {
                    true => None,
                    false => Some(units::pitch_mm(text).map_err(|e| e.to_string())?),
                };
                Box::new(move |j| set(j, v))
            }
            Place::Pitch(_, set) => {
                let q = match none {
                    true => None,
                    false => Some(units::pitch_quantity_mm(text).map_err(|e| e.to_string())?),
                };
                Box::new(move |j| set(j, q))
            }
            Place::SignedLength(_, set) => {
                let v = match none {
                    true => 0.0,
                    false => units::signed_length_mm(text).map_err(|e| e.to_string())?,
                };
                Box::new(move |j| set(j, v))
            }
            Place::SignedAngle(_, set) => {
                let v = match none {
                    true => 0.0,
                    false => {
                        units::signed_angle_deg(&in_degrees(text)).map_err(|e| e.to_string())?
                    }
                };
                Box::new(move |j| set(j, v))
            }
            Place::Angle(_, set) => {
                let q = match none {
                    true => None,
                    false => Some(
                        units::angle_quantity_deg(&in_degrees(text)).map_err(|e| e.to_string())?,
                    ),
                };
                Box::new(move |j| set(j, q))
            }
            Place::Count(_, set, range) => {
                let n = if none { None } else { Some(count(text, &range)?) };
                Box::new(move |j| set(j, n))
            }
            Place::Own => return self.taken_own(text, job),
        })
    }

    fn taken_own(self, text: &str, job: &Job) -> Result<Set, String> {
        let none = text.is_empty();
        let length = |text: &str| units::length_quantity_mm(text).map_err(|e| e.to_string());
        Ok(match self {
            Self::Title => {
                let text = text.to_owned();
                let text = text.chars().take(job::MOST_OF_TITLE).collect::<String>();
                Box::new(move |j| j.title = text)
            }
            Self::Notes => {
                let text = text.to_owned();
                Box::new(move |j| j.notes = text)
            }
            Self::Station(i) => {
                let at = signed(&with_unit(text, job.units), 100_000.0)?;
                Box::new(move |j| {
                    if let Some(r) = j.survey.readings.get_mut(i) {
                        r.position_mm = at;
                    }
                })
            }
            Self::Lost(i) => {
                let q = lost(text, job.units)?;
                Box::new(move |j| {
                    if let Some(r) = j.survey.readings.get_mut(i) {
                        r.lost_motion_mm = q;
                    }
                })
            }
            Self::Jaw(i, jaw) => {
                let at = self::jaw(text, job.units)?;
                Box::new(move |j| {
                    if let Some(at_mm) = j.blank.jaws.get_mut(i).and_then(|r| r.at_mm.get_mut(jaw))
                    {
                        *at_mm = at;
                    }
                })
            }
            Self::Evidence(i, slot) => {
                let Some(line) = job.evidence.get(i) else { return Ok(Box::new(|_| {})) };
                let read = evidence::taken(&line.evidence, slot, text, job.units)?;
                Box::new(move |j| {
                    if let Some(line) = j.evidence.get_mut(i) {
                        line.evidence = read;
                    }
                })
            }
            Self::EvidenceNote(i) => {
                let text = text.to_owned();
                Box::new(move |j| {
                    if let Some(line) = j.evidence.get_mut(i) {
                        line.note = text;
                    }
                })
            }
            Self::BarDrop => {
                let drop = if none {
                    BarDrop::SameSurface
                } else {
                    BarDrop::Given(signed_quantity(text, 1000.0)?)
                };
                // An empty entry is the usual again, said by nobody.
                Box::new(move |j| (j.bar.drop, j.bar.drop_assumed) = (drop, none))
            }
            Self::Distance => {
                let view =
                    if none { ViewWanted::Auto } else { ViewWanted::Distance(length(text)?) };
                Box::new(move |j| j.view = view)
            }
            Self::WheelsOwned => {
                let wheels = shop::wheel_list(text).map_err(|e| e.to_string())?;
                Box::new(move |j| j.wheels.wheels = wheels)
            }
            Self::WheelPair => {
                // Whatever stands between the two: a pair has no range.
                let two = text.replace(['-', '–', '.'], " ");
                let pair = match shop::wheel_list(&two).map_err(|e| e.to_string())?.as_slice() {
                    [] => None,
                    [a, b] => Some((*a, *b)),
                    _ => return Err(format!("\"{text}\" is not a pair: write 127/120")),
                };
                Box::new(move |j| j.wheels.pair = pair)
            }
            // Nobody has read it after all.
            Self::DialDivision if none => Box::new(|j| j.passes.dial = None),
            Self::DialDivision => {
                let mm = length(text)?.value;
                let lower = text.to_lowercase();
                let metric = lower.ends_with("mm") || lower.ends_with("µm");
                Box::new(move |j| {
                    j.passes.read_dial(j.units, |dial| {
                        (dial.unit, dial.division) = match metric {
                            true => (DialUnit::Mm, mm),
                            false => (DialUnit::Inch, mm / units::MM_PER_INCH),
                        };
                    });
                })
            }
            _ => Box::new(|_| {}),
        })
    }
}

/// A station from the texts of a new row.
///
/// # Errors
/// The entry that is wrong, and why.
pub fn station(at: &str, read: &str, i: usize, units: Units) -> Result<Reading, (Field, String)> {
    let position_mm =
        signed(&with_unit(at.trim(), units), 100_000.0).map_err(|e| (Field::Station(i), e))?;
    let lost_motion_mm = lost(read, units).map_err(|e| (Field::Lost(i), e))?;
    Ok(Reading { position_mm, lost_motion_mm })
}

/// A round of readings from the texts of a new row.
///
/// # Errors
/// The entry that is wrong, and why.
pub fn round(texts: &[String], i: usize, units: Units) -> Result<JawReadings, (Field, String)> {
    let mut at_mm = [0.0; 4];
    for (k, (at, text)) in at_mm.iter_mut().zip(texts).enumerate() {
        *at = jaw(text, units).map_err(|e| (Field::Jaw(i, k), e))?;
    }
    Ok(JawReadings { at_mm })
}

/// A dial gauge reads either side of nothing.
fn jaw(text: &str, units: Units) -> Result<f64, String> {
    signed(&with_unit(text.trim(), units), 100.0)
}

/// Changes what is said of the bracket; where only the usual is left, nothing is said.
fn bracket(job: &mut Job, change: impl FnOnce(&mut Bracket, Bracket)) {
    let usual = Bracket::default();
    let mut said = job.wheels.bracket.unwrap_or_default();
    change(&mut said, usual);
    job.wheels.bracket = (said != usual).then_some(said);
}

/// Lost motion may be nothing at all.
fn lost(text: &str, shown: Units) -> Result<Quantity, String> {
    let text = with_unit(text.trim(), shown);
    let mut q = units::length_from_zero_quantity_mm(&text).map_err(|e| e.to_string())?;
    if q.u == 0.0 {
        q.u = READING_U_MM;
    }
    Ok(Quantity::measured(q.value, q.u))
}

/// A dial of a hundredth, read by eye (common practice).
const READING_U_MM: f64 = 0.01;

/// A bare number in a column whose head names the unit.
pub(super) fn with_unit(text: &str, units: Units) -> String {
    let bare = text.ends_with(|c: char| c.is_ascii_digit());
    if bare { format!("{text} {}", units.symbol()) } else { text.to_owned() }
}

/// A bare number where only an angle can be meant: degrees.
fn in_degrees(text: &str) -> String {
    let bare = text.ends_with(|c: char| c.is_ascii_digit());
    if bare { format!("{text}°") } else { text.to_owned() }
}

/// A length of either sign, mm.
fn signed(text: &str, most_mm: f64) -> Result<f64, String> {
    Ok(signed_quantity(text, most_mm)?.value)
}

/// A length of either sign with its uncertainty, mm.
fn signed_quantity(text: &str, most_mm: f64) -> Result<Quantity, String> {
    let length = units::signed_length_quantity_mm(text).map_err(|e| e.to_string())?;
    if length.value.abs() > most_mm {
        let m = most_mm / 1000.0;
        return Err(format!("\"{}\" is outside -{m} m to {m} m", text.trim()));
    }
    Ok(length)
}

fn count(text: &str, range: &std::ops::RangeInclusive<u32>) -> Result<u32, String> {
    text.parse::<u32>().ok().filter(|n| range.contains(n)).ok_or_else(|| {
        format!("\"{text}\" is no whole number from {} to {}", range.start(), range.end())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(field: Field, text: &str) -> Result<Job, String> {
        let mut job = Job::default();
        field.taken(text, &job)?(&mut job);
        Ok(job)
    }

    #[test]
    fn an_entry_shows_what_was_entered() {
        assert_eq!(entered(Quantity::entered(6.35, 0.0), Units::Inch), "0.25 in");
        assert_eq!(entered(Quantity::entered(6.0, 0.005), Units::Mm), "6.000 ± 0.005 mm");
        // Turned into other units it gets no digits that mean nothing.
        assert_eq!(entered(Quantity::entered(0.083, 0.0), Units::Inch), "0.00327 in");
        assert_eq!(entered(Quantity::entered(0.083, 0.0), Units::Thou), "3.27 thou");
        assert_eq!(entered(Quantity::entered(6.0, 0.003), Units::Inch), "0.23622 ± 0.00012 in");
    }

    #[test]
    fn lengths_are_understood_as_people_write_them() {
        for (text, mm) in
            [("1/4\"", 6.35), ("6.35 mm", 6.35), ("0,25 in", 6.35), ("250 thou", 6.35)]
        {
            let job = typed(Field::BarWidth, text).unwrap();
            assert!((job.bar.width_mm.unwrap().value - mm).abs() < 1e-9, "{text}");
        }
        let job = typed(Field::Leadscrew, "8 tpi").unwrap();
        assert_eq!(job.wheels.leadscrew_mm, Some(3.175));
        assert_eq!(Field::Leadscrew.settled(&job), "8 tpi");
        let job = typed(Field::Leadscrew, "6 mm").unwrap();
        assert_eq!(Field::Leadscrew.settled(&job), "6 mm");
    }

    #[test]
    fn wheels_are_read_whatever_stands_between_them() {
        let job = typed(Field::WheelsOwned, "20, 20 25;30\t127").unwrap();
        assert_eq!(job.wheels.wheels, [20, 20, 25, 30, 127]);
        assert_eq!(Field::WheelsOwned.settled(&job), "20, 20, 25, 30, 127");
        let row = typed(Field::WheelsOwned, "20, 25, ..., 40, 127").unwrap();
        assert_eq!(row.wheels.wheels, [20, 25, 30, 35, 40, 127]);
        assert!(typed(Field::WheelsOwned, "40-20").unwrap_err().contains("goes down"));
        assert!(typed(Field::WheelsOwned, "20, 5").unwrap_err().contains("\"5\""));
        assert_eq!(typed(Field::WheelPair, "127/120").unwrap().wheels.pair, Some((127, 120)));
        assert!(typed(Field::WheelPair, "127").unwrap_err().contains("not a pair"));
    }

    #[test]
    fn a_station_needs_no_unit_in_its_table() {
        let reading = station("40", "0,21", 0, Units::Mm).unwrap();
        assert_eq!(reading.position_mm, 40.0);
        assert_eq!(reading.lost_motion_mm, Quantity::measured(0.21, 0.01));
        let thou = station("0", "8 ± 1", 0, Units::Thou).unwrap();
        assert!((thou.lost_motion_mm.value - 0.2032).abs() < 1e-9);
        assert!((thou.lost_motion_mm.u - 0.0254).abs() < 1e-9);
        assert_eq!(station("x", "1", 3, Units::Mm).unwrap_err().0, Field::Station(3));
        assert_eq!(station("1", "", 3, Units::Mm).unwrap_err().0, Field::Lost(3));
    }

    #[test]
    fn what_every_entry_shows_it_also_takes() {
        let mut job = Job::default();
        job.bar.width_mm = Some(Quantity::entered(6.0, 0.01));
        job.form.pitch_mm = Some(Quantity::entered(4.0, 0.01));
        job.form.right_flank_deg = Some(Quantity::entered(15.0, 0.1));
        job.wheels.wheels = vec![20, 30];
        job.wheels.pair = Some((127, 120));
        job.wheels.leadscrew_mm = Some(3.175);
        job.tool.top_rake_deg = -2.5;
        job.tool.above_centre_mm = -0.2;
        job.wheels.bracket = Some(Bracket { most_teeth: Some(100), ..Bracket::default() });
        job.blank.jaws = vec![JawReadings { at_mm: [0.4, -0.1, 0.0, 0.02] }];
        job.nut.kind = NutKind::Sleeve { outer_diameter_mm: 26.0, interference_mm: 0.02 };
        for field in [
            Field::BarWidth,
            Field::FormPitch,
            Field::FormRight,
            Field::WheelsOwned,
            Field::WheelPair,
            Field::Leadscrew,
            Field::DialDivision,
            Field::TopRake,
            Field::AboveCentre,
            Field::Module,
            Field::Centres,
            Field::LargestWheel,
            Field::Jaw(0, 1),
            Field::Interference,
            Field::PassStep,
            Field::SpringPasses,
            Field::Play,
        ] {
            for units in [Units::Mm, Units::Inch] {
                let mut same = Job { units, ..job.clone() };
                let before = same.clone();
                let text = field.settled(&same);
                field.taken(&text, &before).unwrap()(&mut same);
                assert_eq!(field.settled(&same), text, "{field:?}");
            }
        }
    }
}
