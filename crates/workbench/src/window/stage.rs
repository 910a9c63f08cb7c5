//! The order of the work.

use job::Part;

/// A place in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stage {
    /// Where the lost motion comes from.
    Survey,
    /// Choosing the picture.
    Picture,
    /// The bar of known width.
    Bar,
    /// The thread's outline.
    Thread,
    /// The axial section.
    Form,
    /// Which standard it may be.
    Identity,
    /// The nut.
    Nut,
    /// The tool that cuts it.
    Tool,
    /// Change wheels.
    Wheels,
    /// Passes.
    Passes,
    /// Checks over wires and by gauges.
    Checks,
    /// What is printed.
    Sheets,
}

impl Stage {
    /// All, in order.
    pub const ALL: [Self; 12] = [
        Self::Survey,
        Self::Picture,
        Self::Bar,
        Self::Thread,
        Self::Form,
        Self::Identity,
        Self::Nut,
        Self::Tool,
        Self::Wheels,
        Self::Passes,
        Self::Checks,
        Self::Sheets,
    ];

    /// Its name on the screen.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Survey => "Lost motion",
            Self::Picture => "Picture",
            Self::Bar => "Bar",
            Self::Thread => "Thread",
            Self::Form => "Form",
            Self::Identity => "Identity",
            Self::Nut => "Nut",
            Self::Tool => "Tool",
            Self::Wheels => "Change wheels",
            Self::Passes => "Passes",
            Self::Checks => "Checks",
            Self::Sheets => "Sheets",
        }
    }

    /// Its number, from 1.
    #[must_use]
    pub fn number(self) -> usize {
        Self::ALL.iter().position(|s| *s == self).unwrap_or(0) + 1
    }

    /// The question it answers.
    #[must_use]
    pub fn question(self) -> &'static str {
        match self {
            Self::Survey => "Is it the thrust, the nut or the screw?",
            Self::Picture => "Which picture, and what does it show?",
            Self::Bar => "How large is it? The bar of known width says.",
            Self::Thread => "Where is the thread's outline?",
            Self::Form => "What does the screw look like, cut along its axis?",
            Self::Identity => "Is it a standard thread?",
            Self::Nut => "Which nut fits the screw, with how much play?",
            Self::Tool => "What is the tool ground to?",
            Self::Wheels => "Which wheels cut the pitch?",
            Self::Passes => "How deep, in how many cuts?",
            Self::Checks => "Has it come out right?",
            Self::Sheets => "What goes to the workshop?",
        }
    }

    /// The part of the findings it shows.
    #[must_use]
    pub fn part(self) -> Part {
        match self {
            Self::Survey => Part::Survey,
            Self::Picture => Part::Picture,
            Self::Bar => Part::Bar,
            Self::Thread => Part::Thread,
            Self::Form => Part::Form,
            Self::Identity => Part::Identity,
            Self::Nut => Part::Nut,
            Self::Tool => Part::Tool,
            Self::Wheels => Part::Wheels,
            Self::Passes => Part::Passes,
            Self::Checks => Part::Checks,
            Self::Sheets => Part::Sheets,
        }
    }

    /// Whether the picture stands in the middle of the window.
    #[must_use]
    pub fn shows_picture(self) -> bool {
        matches!(self, Self::Picture | Self::Bar | Self::Thread | Self::Form)
    }
}

/// How far a stage has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Nothing to work on yet.
    Waiting,
    /// The person has something to say here.
    Asks,
    /// Done, with something to look at.
    Doubtful,
    /// Done.
    Done,
}

impl Standing {
    /// In words, for the screen reader and the tool tip.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Waiting => "waits for the step before",
            Self::Asks => "needs you",
            Self::Doubtful => "done, with warnings",
            Self::Done => "done",
        }
    }
}
