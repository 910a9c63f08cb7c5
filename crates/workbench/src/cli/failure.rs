//! How a command ends when it does not end well.

use form::{Said, Sentence, Units, sentence};
use job::{Findings, Part, Remark, SaveError, TemplateError};
use std::process::ExitCode;

/// Why a command could not do what it was asked; the kind is the exit status.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Failure {
    /// The command line itself: exit status 2.
    Usage(Sentence),
    /// An input that cannot be read, or is refused: exit status 3.
    Refused(Sentence),
    /// Read, but it could not be measured: exit status 4.
    NotMeasured(Sentence),
}

impl Failure {
    /// What to tell the person.
    #[must_use]
    pub fn text(&self) -> &Sentence {
        match self {
            Self::Usage(t) | Self::Refused(t) | Self::NotMeasured(t) => t,
        }
    }

    /// The exit status.
    #[must_use]
    pub fn status(&self) -> u8 {
        match self {
            Self::Usage(_) => 2,
            Self::Refused(_) => 3,
            Self::NotMeasured(_) => 4,
        }
    }

    /// Prints the one form of error there is, its lengths in `units`, and gives the exit status.
    #[must_use]
    pub fn report(&self, units: Units) -> ExitCode {
        super::complain(&self.text().in_units(units));
        ExitCode::from(self.status())
    }

    /// What ended the work on a picture that could be read.
    #[must_use]
    pub fn of(trouble: &Remark) -> Self {
        let place = trouble.at_px.map_or_else(String::new, |(x, y, w, h)| {
            format!(" (in the picture at {x:.0}, {y:.0}, {w:.0} × {h:.0} px)")
        });
        let what = match trouble.part {
            Part::Survey => "the lost motion could not be split",
            Part::Picture => "the picture could not be measured",
            // What is not found says so itself.
            Part::Bar | Part::Thread => {
                return Self::NotMeasured(sentence!("{}{}", &trouble.text, place));
            }
            Part::Form => "the form could not be measured",
            Part::Identity => "no standard could be compared",
            Part::Nut => "the nut could not be designed",
            Part::Tool => "the tool could not be designed",
            Part::Wheels => "no change wheels could be found",
            Part::Passes => "the passes could not be planned",
            Part::Checks => "the checks could not be worked out",
            Part::Sheets => "the sheets could not be drawn",
        };
        Self::NotMeasured(sentence!("{}: {}{}", what, &trouble.text, place))
    }

    /// What ended the work, when there is no measurement.
    #[must_use]
    pub fn without_measurement(findings: &Findings) -> Self {
        findings
            .first_trouble()
            .map_or_else(|| Self::NotMeasured("nothing could be measured".into()), Self::of)
    }
}

impl From<SaveError> for Failure {
    fn from(e: SaveError) -> Self {
        Self::Refused(e.to_string().into())
    }
}

impl From<TemplateError> for Failure {
    fn from(e: TemplateError) -> Self {
        match e {
            TemplateError::Taken { .. } => {
                Self::Refused(sentence!("{} --replace replaces what is there.", &e.said()))
            }
            TemplateError::NoSuchSheet { .. }
            | TemplateError::NoTool(_)
            | TemplateError::Sheet(_)
            | TemplateError::Pdf(_) => Self::NotMeasured(e.said()),
            TemplateError::Refused(_) | TemplateError::Survey(_) | TemplateError::Io { .. } => {
                Self::Refused(e.said())
            }
        }
    }
}
