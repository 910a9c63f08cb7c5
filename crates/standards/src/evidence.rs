//! What a workshop can find out beside a picture.

use crate::family::{Region, System};
use crate::measured::Feature;
use form::{Quantity, Said, Sentence, mm_as_given, sentence};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Travel read from dials, a micrometer, a caliper between points: what is usual when a reading
/// comes without its uncertainty, mm (common practice).
const USUAL_TRAVEL_U_MM: f64 = 0.02;
const USUAL_MICROMETER_U_MM: f64 = 0.01;
const USUAL_MINOR_U_MM: f64 = 0.05;
/// A count of threads beside a rule is read to a quarter of a thread (common practice).
const USUAL_COUNT_U: f64 = 0.25;
/// Taper from two diameters (common practice).
const USUAL_TAPER_U: f64 = 0.003;
/// Light shows under a leaf of a pitch gauge from this gap at its end, mm (common practice).
const LEAF_GAP_MM: f64 = 0.06;
/// A dial is taken as exact to this share of a division.
const DIAL_SHARE: f64 = 0.1;

/// Pitches and leads anybody has cut, mm.
const PITCH_LIMITS_MM: (f64, f64) = (0.05, 500.0);
/// Diameters this program is for, mm.
const DIAMETER_LIMITS_MM: (f64, f64) = (0.2, 2000.0);

/// What a length over several threads was taken with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Instrument {
    /// A caliper on corresponding flanks or crests: ± 0.03 mm (common practice).
    Caliper,
    /// A rule: ± 0.15 mm (common practice).
    Rule,
}

impl Instrument {
    /// Usual standard uncertainty of a length, mm (common practice).
    #[must_use]
    pub fn usual_u_mm(self) -> f64 {
        match self {
            Self::Caliper => 0.03,
            Self::Rule => 0.15,
        }
    }
    fn word(self) -> &'static str {
        match self {
            Self::Caliper => "caliper",
            Self::Rule => "rule",
        }
    }
}

/// One piece of evidence. Standard uncertainties (k = 1) travel in the quantities; one of 0 means
/// "not given" and is replaced by what is usual for the instrument.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Evidence {
    /// Travel of the slide over so many turns of the screw, read from dials: the lead.
    Travel {
        /// Turns of the screw.
        turns: f64,
        /// Travel in those turns, mm.
        travel_mm: Quantity,
    },
    /// A dial of the machine: divisions per turn and the value of one: the lead, taken as exact to
    /// a tenth of a division.
    DialTurn {
        /// Divisions round the dial.
        divisions: f64,
        /// Travel per division, mm.
        division_mm: f64,
    },
    /// Length over so many pitches.
    OverThreads {
        /// Number of pitches spanned.
        threads: u32,
        /// Length, mm.
        length_mm: Quantity,
        /// What it was taken with.
        instrument: Instrument,
    },
    /// Threads counted in one inch (or another length).
    Count {
        /// Threads counted, with the uncertainty of the count.
        threads: Quantity,
        /// Length in which they were counted, mm.
        length_mm: f64,
    },
    /// A leaf of a screw-pitch gauge.
    PitchGauge {
        /// Pitch of the leaf, mm.
        pitch_mm: f64,
        /// Included angle of the leaf, degrees.
        included_deg: f64,
        /// Teeth that lie in the thread.
        teeth: u32,
        /// Whether it fits without light.
        fits: bool,
    },
    /// Major diameter by micrometer.
    Major {
        /// Reading, mm.
        major_mm: Quantity,
    },
    /// Minor diameter, by thread-root points or blade caliper.
    Minor {
        /// Reading, mm.
        minor_mm: Quantity,
    },
    /// Over three wires.
    OverWires {
        /// Reading over the wires, mm.
        over_mm: Quantity,
        /// Diameter of the wires, mm.
        wire_mm: f64,
    },
    /// Diameter change over a length: the taper.
    Taper {
        /// Change of diameter per unit of length.
        taper: Quantity,
    },
    /// Starts, by following one groove for one turn.
    Starts {
        /// How many.
        starts: u32,
    },
    /// What the machine's dials are divided in.
    Dials {
        /// Metric or inch.
        system: System,
    },
    /// Country and period of the machine.
    Machine {
        /// Part of the world.
        region: Option<Region>,
        /// Year.
        year: Option<u32>,
    },
}

/// Why a piece of evidence cannot be used: a number is missing (0) or outside its limits.
#[derive(Debug, Clone, PartialEq, Error)]
pub struct EvidenceError {
    /// Which number.
    pub what: &'static str,
    /// What was given.
    pub value: f64,
    /// Least allowed.
    pub least: f64,
    /// Most allowed.
    pub most: f64,
    /// What kind of number it is.
    pub unit: EvidenceUnit,
}

/// What kind of number a piece of evidence has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EvidenceUnit {
    /// A length, mm.
    Length,
    /// An angle, degrees.
    Angle,
    /// A count, a year, a taper.
    Number,
}

impl Said for EvidenceError {
    fn said(&self) -> Sentence {
        let Self { what, value, least, most, unit } = *self;
        match unit {
            EvidenceUnit::Length => sentence!(
                "{} {} is outside {} to {}",
                what,
                mm_as_given(value),
                mm_as_given(least).bare(),
                mm_as_given(most)
            ),
            EvidenceUnit::Angle => sentence!(
                "{} {}° is outside {} to {}°",
                what,
                value.to_string(),
                least.to_string(),
                most.to_string()
            ),
            EvidenceUnit::Number => sentence!(
                "{} {} is outside {} to {}",
                what,
                value.to_string(),
                least.to_string(),
                most.to_string()
            ),
        }
    }
}

form::said_by_display!(EvidenceError);

/// The kinds of evidence as a person chooses among them; a caliper and a rule over several threads
/// are two kinds here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is described where the evidence is, and by its sentence")]
pub enum EvidenceKind {
    Caliper,
    Rule,
    Count,
    PitchGauge,
    Travel,
    DialTurn,
    Starts,
    Major,
    Minor,
    OverWires,
    Taper,
    Dials,
    Machine,
}

impl EvidenceKind {
    /// All, in the order they are offered.
    pub const ALL: [Self; 13] = [
        Self::Caliper,
        Self::Rule,
        Self::Count,
        Self::PitchGauge,
        Self::Travel,
        Self::DialTurn,
        Self::Starts,
        Self::Major,
        Self::Minor,
        Self::OverWires,
        Self::Taper,
        Self::Dials,
        Self::Machine,
    ];

    /// What a person reads in a list of kinds.
    #[must_use]
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Caliper => "caliper over several threads",
            Self::Rule => "rule over several threads",
            Self::Count => "threads counted in a length",
            Self::PitchGauge => "screw-pitch gauge",
            Self::Travel => "travel over several turns",
            Self::DialTurn => "divisions of the screw's own dial",
            Self::Starts => "starts, by following one groove",
            Self::Major => "major diameter by micrometer",
            Self::Minor => "minor diameter",
            Self::OverWires => "over three wires",
            Self::Taper => "taper",
            Self::Dials => "what the machine's dials are divided in",
            Self::Machine => "country and period of the machine",
        }
    }

    /// Evidence of this kind before anything has been read: numbers that cannot be guessed are 0 and
    /// fail [`Evidence::check`] until they are entered; the rest are what is usual.
    #[must_use]
    pub fn blank(self) -> Evidence {
        let unread = Quantity::entered(0.0, 0.0);
        let over =
            |instrument| Evidence::OverThreads { threads: 10, length_mm: unread, instrument };
        match self {
            Self::Caliper => over(Instrument::Caliper),
            Self::Rule => over(Instrument::Rule),
            Self::Count => Evidence::Count { threads: unread, length_mm: form::units::MM_PER_INCH },
            Self::PitchGauge => {
                Evidence::PitchGauge { pitch_mm: 0.0, included_deg: 60.0, teeth: 8, fits: true }
            }
            Self::Travel => Evidence::Travel { turns: 10.0, travel_mm: unread },
            Self::DialTurn => Evidence::DialTurn { divisions: 0.0, division_mm: 0.0 },
            Self::Starts => Evidence::Starts { starts: 1 },
            Self::Major => Evidence::Major { major_mm: unread },
            Self::Minor => Evidence::Minor { minor_mm: unread },
            Self::OverWires => Evidence::OverWires { over_mm: unread, wire_mm: 0.0 },
            Self::Taper => Evidence::Taper { taper: unread },
            Self::Dials => Evidence::Dials { system: System::Metric },
            Self::Machine => Evidence::Machine { region: None, year: None },
        }
    }
}

/// A reading's own uncertainty, or what is usual when it came without.
fn usual(q: Quantity, usual_u: f64) -> f64 {
    if q.u > 0.0 { q.u } else { usual_u }
}

impl Evidence {
    /// Which kind it is.
    #[must_use]
    pub fn kind(&self) -> EvidenceKind {
        match self {
            Self::OverThreads { instrument: Instrument::Caliper, .. } => EvidenceKind::Caliper,
            Self::OverThreads { instrument: Instrument::Rule, .. } => EvidenceKind::Rule,
            Self::Count { .. } => EvidenceKind::Count,
            Self::PitchGauge { .. } => EvidenceKind::PitchGauge,
            Self::Travel { .. } => EvidenceKind::Travel,
            Self::DialTurn { .. } => EvidenceKind::DialTurn,
            Self::Starts { .. } => EvidenceKind::Starts,
            Self::Major { .. } => EvidenceKind::Major,
            Self::Minor { .. } => EvidenceKind::Minor,
            Self::OverWires { .. } => EvidenceKind::OverWires,
            Self::Taper { .. } => EvidenceKind::Taper,
            Self::Dials { .. } => EvidenceKind::Dials,
            Self::Machine { .. } => EvidenceKind::Machine,
        }
    }

    /// Standard uncertainty of what was read, in its unit: the given one, or what is usual for the
    /// instrument (common practice). `None` for evidence that is no reading.
    #[must_use]
    pub fn reading_u(&self) -> Option<f64> {
        Some(match self {
            Self::Travel { travel_mm, .. } => usual(*travel_mm, USUAL_TRAVEL_U_MM),
            Self::DialTurn { divisions, division_mm } => {
                (DIAL_SHARE * division_mm).max(1e-4 * divisions * division_mm)
            }
            Self::OverThreads { length_mm, instrument, .. } => {
                usual(*length_mm, instrument.usual_u_mm())
            }
            Self::Count { threads, .. } => usual(*threads, USUAL_COUNT_U),
            Self::PitchGauge { pitch_mm, teeth, .. } => {
                (LEAF_GAP_MM / f64::from((*teeth).max(2))).max(0.003 * pitch_mm)
            }
            Self::Major { major_mm } => usual(*major_mm, USUAL_MICROMETER_U_MM),
            Self::Minor { minor_mm } => usual(*minor_mm, USUAL_MINOR_U_MM),
            Self::OverWires { over_mm, .. } => usual(*over_mm, USUAL_MICROMETER_U_MM),
            Self::Taper { taper } => usual(*taper, USUAL_TAPER_U),
            Self::Starts { .. } | Self::Dials { .. } | Self::Machine { .. } => return None,
        })
    }

    /// What the reading says by itself of a number of the thread: a length over ten threads says the
    /// pitch. `None` for what only shifts beliefs (country, dials, a gauge that does not fit) and for
    /// wires, which say nothing without the form.
    #[must_use]
    pub fn says(&self) -> Option<(Feature, Quantity)> {
        let u = self.reading_u()?;
        Some(match self {
            Self::Travel { turns, travel_mm } => {
                (Feature::Lead, Quantity::derived(travel_mm.value / turns, u / turns))
            }
            Self::DialTurn { divisions, division_mm } => {
                (Feature::Lead, Quantity::derived(divisions * division_mm, u))
            }
            Self::OverThreads { threads, length_mm, .. } => {
                let n = f64::from(*threads);
                (Feature::Pitch, Quantity::derived(length_mm.value / n, u / n))
            }
            Self::Count { threads, length_mm } => {
                let pitch_mm = length_mm / threads.value;
                (Feature::Pitch, Quantity::derived(pitch_mm, pitch_mm * u / threads.value))
            }
            Self::PitchGauge { pitch_mm, fits: true, .. } => {
                (Feature::Pitch, Quantity::entered(*pitch_mm, u))
            }
            Self::Major { major_mm } => {
                (Feature::MajorDiameter, Quantity::entered(major_mm.value, u))
            }
            Self::Minor { minor_mm } => {
                (Feature::MinorDiameter, Quantity::entered(minor_mm.value, u))
            }
            Self::Taper { taper } => (Feature::Taper, Quantity::entered(taper.value, u)),
            _ => return None,
        })
    }

    /// Whether every number is there and possible.
    ///
    /// # Errors
    /// [`EvidenceError`] names the first number that is not, with its limits.
    pub fn check(&self) -> Result<(), EvidenceError> {
        let within = |what, value: f64, (least, most): (f64, f64), unit| {
            if (least..=most).contains(&value) {
                Ok(())
            } else {
                Err(EvidenceError { what, value, least, most, unit })
            }
        };
        let pitch = |what, mm| within(what, mm, PITCH_LIMITS_MM, EvidenceUnit::Length);
        let diameter = |what, mm| within(what, mm, DIAMETER_LIMITS_MM, EvidenceUnit::Length);
        let threads = |n| within("number of threads", n, (0.5, 1000.0), EvidenceUnit::Number);
        match self {
            Self::Travel { turns, travel_mm } => {
                within("number of turns", *turns, (0.1, 1000.0), EvidenceUnit::Number)?;
                pitch("travel per turn", travel_mm.value / turns)?;
            }
            Self::DialTurn { divisions, division_mm } => {
                within("number of divisions", *divisions, (1.0, 5000.0), EvidenceUnit::Number)?;
                pitch("travel per turn", divisions * division_mm)?;
            }
            Self::OverThreads { threads: n, length_mm, .. } => {
                threads(f64::from(*n))?;
                pitch("length per thread", length_mm.value / f64::from(*n))?;
            }
            Self::Count { threads: n, length_mm } => {
                threads(n.value)?;
                pitch("length per thread", length_mm / n.value)?;
            }
            Self::PitchGauge { pitch_mm, included_deg, teeth, .. } => {
                pitch("pitch of the leaf", *pitch_mm)?;
                within("angle of the leaf", *included_deg, (5.0, 120.0), EvidenceUnit::Angle)?;
                within(
                    "number of teeth of the leaf",
                    f64::from(*teeth),
                    (2.0, 200.0),
                    EvidenceUnit::Number,
                )?;
            }
            Self::Major { major_mm } => diameter("major diameter", major_mm.value)?,
            Self::Minor { minor_mm } => diameter("minor diameter", minor_mm.value)?,
            Self::OverWires { over_mm, wire_mm } => {
                diameter("reading over the wires", over_mm.value)?;
                within("diameter of the wires", *wire_mm, (0.05, 100.0), EvidenceUnit::Length)?;
            }
            Self::Taper { taper } => {
                within("taper", taper.value, (-0.5, 0.5), EvidenceUnit::Number)?
            }
            Self::Starts { starts } => {
                within("number of starts", f64::from(*starts), (1.0, 16.0), EvidenceUnit::Number)?;
            }
            Self::Machine { year: Some(year), .. } => {
                within("year", f64::from(*year), (1750.0, 2100.0), EvidenceUnit::Number)?;
            }
            Self::Machine { .. } | Self::Dials { .. } => {}
        }
        match self.reading_u() {
            Some(u) => within("standard uncertainty", u, (0.0, 1000.0), EvidenceUnit::Number),
            None => Ok(()),
        }
    }

    /// A short name for tables and sentences.
    #[must_use]
    pub fn label(&self) -> String {
        match self {
            Self::Travel { turns, .. } => format!("travel over {turns} turns"),
            Self::DialTurn { divisions, .. } => format!("dial of {divisions} divisions"),
            Self::OverThreads { threads, instrument, .. } => {
                format!("{} over {threads} threads", instrument.word())
            }
            Self::Count { .. } => "thread count".to_owned(),
            Self::PitchGauge { fits: true, .. } => "screw-pitch gauge that fits".to_owned(),
            Self::PitchGauge { .. } => "screw-pitch gauge that does not fit".to_owned(),
            Self::Major { .. } => "major diameter by micrometer".to_owned(),
            Self::Minor { .. } => "minor diameter".to_owned(),
            Self::OverWires { .. } => "over wires".to_owned(),
            Self::Taper { .. } => "taper".to_owned(),
            Self::Starts { .. } => "starts".to_owned(),
            Self::Dials { .. } => "what the dials are divided in".to_owned(),
            Self::Machine { .. } => "country and period".to_owned(),
        }
    }
}
