//! What went wrong or deserves a second look, as data: a code for programs, a sentence for
//! people, and the place in the picture where it arose.

use crate::geometry::PixelBox;

/// A remark about a picture that was read: a warning, or the reason it could not be measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Notice {
    /// Short fixed name, for programs; kebab case.
    pub code: &'static str,
    /// Whole sentences: what was found, with the value and its limits, and what to do about it.
    pub text: String,
    /// Where in the picture, in pixels; `None` when it concerns the whole picture.
    pub at: Option<PixelBox>,
}

impl Notice {
    /// A notice about the place `at`.
    pub fn new(code: &'static str, text: impl Into<String>, at: Option<PixelBox>) -> Self {
        Self { code, text: text.into(), at }
    }
}

/// Why a picture could not be opened or measured.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// The operating system would not hand over the file.
    #[error("cannot read {path}: {source}. Check the name and that you may read the file.")]
    Io {
        /// The file asked for.
        path: String,
        /// The operating system's reason.
        source: std::io::Error,
    },
    /// The path names a folder.
    #[error("{path} is a folder, not a picture. Name a JPEG, PNG, TIFF, BMP or WebP file in it.")]
    Folder {
        /// The path asked for.
        path: String,
    },
    /// The file has no bytes.
    #[error("the picture file is empty (0 bytes). Copy it again from the camera or phone.")]
    Empty,
    /// The file is longer than the limit.
    #[error(
        "the picture file has {bytes} bytes; at most {limit} are read. \
         Save it again as a JPEG, or cut it down to the screw and the bar."
    )]
    FileTooLarge {
        /// Length of the file in bytes.
        bytes: u64,
        /// Largest length accepted, in bytes.
        limit: u64,
    },
    /// The header promises more pixels than the limit.
    #[error(
        "the picture is {width} x {height} pixels ({:.1} megapixels); at most {:.0} megapixels \
         are read. Reduce it, or cut it down to the screw and the bar.",
        (*width as f64) * (*height as f64) / 1e6, (*limit as f64) / 1e6
    )]
    TooManyPixels {
        /// Width the header promises, in pixels.
        width: u64,
        /// Height the header promises, in pixels.
        height: u64,
        /// Most pixels accepted.
        limit: u64,
    },
    /// Too small to hold a screw and a bar.
    #[error(
        "the picture is {width} x {height} pixels; at least {least} x {least} are needed. \
         Use the picture as the camera took it, not a thumbnail."
    )]
    TooFewPixels {
        /// Width in pixels.
        width: u64,
        /// Height in pixels.
        height: u64,
        /// Least width and height accepted, in pixels.
        least: u64,
    },
    /// The first bytes are those of no picture format read here.
    #[error(
        "this is not a picture in a format that can be read ({seen}). \
         JPEG, PNG, TIFF, BMP and WebP can; save or export the picture as one of these."
    )]
    Format {
        /// What the file seems to be.
        seen: String,
    },
    /// HEIC, HEIF or AVIF.
    #[error(
        "this is a {brand} picture, which cannot be read here. Make a JPEG of it: on a phone \
         choose \"Most compatible\" (or JPEG) in the camera's format settings and take it again, \
         or open this one in the phone's or computer's picture viewer and export it as JPEG."
    )]
    Heic {
        /// Name of the format.
        brand: &'static str,
    },
    /// The file stops before the picture is complete.
    #[error(
        "the picture file is cut short: {detail}. Copy it again from the camera or phone; \
         what is missing would be grey and could be taken for an edge."
    )]
    Truncated {
        /// Where it stops.
        detail: String,
    },
    /// The decoder found something it could not make sense of.
    #[error(
        "the picture file is damaged or of a kind that cannot be read: {detail}. \
         Copy it again, or open it in a picture viewer and save it as JPEG or PNG."
    )]
    Damaged {
        /// The decoder's reason.
        detail: String,
    },
    /// Its data is damaged where it carries no checksum, so that what follows would lie elsewhere.
    #[error(
        "the picture file is damaged: {detail}. What follows the damage would lie in the wrong place, so \
         nothing is measured in it. Copy the file again from the camera or phone; saved anew from a \
         viewer it would only look sound."
    )]
    Corrupt {
        /// What is wrong, and where.
        detail: String,
    },
    /// The caller's hook asked to stop.
    #[error("tracing was cancelled")]
    Cancelled,
    /// The picture was read but what was wanted is not in it, or not well enough.
    #[error("{}", .0.text)]
    Unmeasurable(Notice),
}

impl PictureError {
    /// Short fixed name of the failure, for programs; kebab case.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Io { .. } => "cannot-read",
            Self::Folder { .. } => "folder",
            Self::Empty => "empty-file",
            Self::FileTooLarge { .. } => "file-too-large",
            Self::TooManyPixels { .. } => "too-many-pixels",
            Self::TooFewPixels { .. } => "too-few-pixels",
            Self::Format { .. } => "not-a-picture",
            Self::Heic { .. } => "heic",
            Self::Truncated { .. } => "truncated",
            Self::Damaged { .. } | Self::Corrupt { .. } => "damaged",
            Self::Cancelled => "cancelled",
            Self::Unmeasurable(notice) => notice.code,
        }
    }

    /// Where in the picture, in pixels, if the failure has a place.
    pub fn at(&self) -> Option<PixelBox> {
        match self {
            Self::Unmeasurable(notice) => notice.at,
            _ => None,
        }
    }

    /// Whether the file itself was refused (rather than read and found not measurable).
    pub fn is_unreadable(&self) -> bool {
        !matches!(self, Self::Unmeasurable(_) | Self::Cancelled)
    }

    pub(crate) fn unmeasurable(
        code: &'static str,
        text: impl Into<String>,
        at: Option<PixelBox>,
    ) -> Self {
        Self::Unmeasurable(Notice::new(code, text, at))
    }
}
