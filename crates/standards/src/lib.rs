//! Thread families and size series as data, and the honest ranking of candidates.
//!
//! This crate must know nothing of pictures, files on disk, machines' gearing or windows. It gets
//! numbers with uncertainties ([`Measured`], [`Evidence`]) and answers with odds ([`Ranking`]),
//! with the measurement that would help most ([`what_next`]) and with what a rounding would cost
//! ([`rounded`]). All families and sizes live in `data/`, with their sources.

mod catalogue;
mod combine;
mod evidence;
mod explain;
mod family;
mod likelihood;
mod linear;
mod measured;
mod next;
mod prior;
mod propose;
mod rank;
mod rounding;
mod tolerance;

pub use catalogue::{Catalogue, DataError, catalogue, families, family, forms};
pub use combine::{Combined, Contradiction, Residual, combine};
pub use evidence::{Evidence, Instrument};
pub use family::{Clearance, Diameters, Family, Form, Region, Size, System, sizes};
pub use measured::{Feature, Measured, assumed_u};
pub use next::{Expected, Means, Suggestion, what_next};
pub use prior::{Misfit, Origin, Prior};
pub use rank::{Candidate, Deviation, Ranking, Verdict, rank, rank_exhaustively};
pub use rounding::{Rounded, Rounding, RoundingError, round_pitch_mm, rounded};
pub use tolerance::{Limits, Rule, Side, ThreadLimits, ToleranceError, limits, limits_of};
