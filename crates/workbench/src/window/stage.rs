//! The order of the work.

/// A place in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stage {
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
    /// The nut and the tool that cuts it.
    Tool,
    /// What is printed.
    Sheets,
}

impl Stage {
    /// All, in order.
    pub const ALL: [Self; 7] = [
        Self::Picture,
        Self::Bar,
        Self::Thread,
        Self::Form,
        Self::Identity,
        Self::Tool,
        Self::Sheets,
    ];

    /// Its name on the screen.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Picture => "Picture",
            Self::Bar => "Bar",
            Self::Thread => "Thread",
            Self::Form => "Form",
            Self::Identity => "Identity",
            Self::Tool => "Nut and tool",
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
            Self::Picture => "Which picture, and what does it show?",
            Self::Bar => "How large is it? The bar of known width says.",
            Self::Thread => "Where is the thread's outline?",
            Self::Form => "What does the screw look like, cut along its axis?",
            Self::Identity => "Is it a standard thread?",
            Self::Tool => "What is to be made, and with which tool?",
            Self::Sheets => "What goes to the workshop?",
        }
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
