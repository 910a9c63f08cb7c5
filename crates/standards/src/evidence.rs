//! What a workshop can find out beside a picture.

use crate::family::{Region, System};
use form::Quantity;
use serde::{Deserialize, Serialize};

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

impl Evidence {
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
