//! What must be said wherever a result leaves the program, and what is refused.

use crate::notice::Notice;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// What the thread does in the machine it belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum UseOfThread {
    /// Moves a slide, sets an instrument, tensions or adjusts something that harms nobody if it lets go.
    MovesOrAdjusts,
    /// Lifts or holds up a load or a person.
    Lifts,
    /// Presses or clamps with force: presses, heavy vices.
    Presses,
    /// Brakes.
    Brakes,
    /// Steers a vehicle.
    Steers,
    /// Closes or holds pressure, or carries people.
    HoldsPressure,
}

impl UseOfThread {
    /// All of them, for a list to choose from.
    pub const ALL: [Self; 6] = [
        Self::MovesOrAdjusts,
        Self::Lifts,
        Self::Presses,
        Self::Brakes,
        Self::Steers,
        Self::HoldsPressure,
    ];

    /// What it does, in words that complete "a thread that …".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::MovesOrAdjusts => "moves or adjusts",
            Self::Lifts => "lifts or holds up a load",
            Self::Presses => "presses or clamps with force",
            Self::Brakes => "brakes",
            Self::Steers => "steers",
            Self::HoldsPressure => "holds pressure or carries people",
        }
    }

    /// Whether working drawings may be made for it from a picture.
    ///
    /// # Errors
    /// [`Refusal`] for threads on which a life can hang.
    pub fn permit(self) -> Result<(), Refusal> {
        match self {
            Self::MovesOrAdjusts => Ok(()),
            other => Err(Refusal { use_of_thread: other }),
        }
    }
}

/// A polite no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error(
    "No nut, tool or sheet is made here for a thread that {}: measured from a picture it is not certain enough where somebody can be hurt. A competent, licensed person has to specify it, under the code that holds where you are. The measurement itself you can still see and keep.",
    .use_of_thread.words()
)]
pub struct Refusal {
    /// What the thread does.
    pub use_of_thread: UseOfThread,
}

/// A caution: a code for programs, words for people, and where it belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// Stable identifier.
    pub code: &'static str,
    /// The words.
    pub text: &'static str,
    /// What it goes with.
    pub about: About,
}

/// What a caution goes with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum About {
    /// Everything that leaves the program.
    Everything,
    /// Grinding and materials.
    Grinding,
    /// Work at the lathe.
    Lathe,
    /// Change wheels.
    Wheels,
    /// Printed sheets.
    Print,
}

impl About {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::Everything, Self::Grinding, Self::Lathe, Self::Wheels, Self::Print];
}

/// The cautions, in the order in which they stand on a sheet.
pub const CAUTIONS: [Caution; 7] = [
    Caution {
        code: "not-for-life",
        text: "Not for threads that lift, hold up, press, brake or steer, or that carry pressure or people (jacks, hoists, stands, presses, vehicles, vessels). A competent, licensed person specifies those, under the local code.",
        about: About::Everything,
    },
    Caution {
        code: "provisional",
        text: "Values from a picture are provisional. Prove them on the actual screw over its whole travel.",
        about: About::Everything,
    },
    Caution {
        code: "dust",
        text: "Eyes and lungs: grinding carbide, and bronze and brass dust, need extraction, a mask and goggles. Know the alloy: beryllium copper dust is deadly; after leaded alloys wash your hands. Fusible alloys may hold lead and cadmium.",
        about: About::Grinding,
    },
    Caution {
        code: "lathe",
        text: "Goggles on, chuck key out. No gloves, sleeves or rings. Turn by hand first and confirm direction and run-out. No fingers in a turning bore. A screwed-on chuck unscrews in reverse.",
        about: About::Lathe,
    },
    Caution {
        code: "wheels",
        text: "Isolate the machine before changing wheels; guard back on before it turns.",
        about: About::Wheels,
    },
    Caution {
        code: "half-nuts",
        text: "Half nuts stay closed, unless the train says where they may open.",
        about: About::Wheels,
    },
    Caution {
        code: "check-lines",
        text: "Measure the check lines of this print, in both directions, before using it.",
        about: About::Print,
    },
];

/// The cautions that go with a subject, those for everything first.
#[must_use]
pub fn cautions_for(about: &[About]) -> Vec<Notice> {
    CAUTIONS
        .iter()
        .filter(|c| c.about == About::Everything || about.contains(&c.about))
        .map(|c| Notice::new(c.code, c.text))
        .collect()
}
