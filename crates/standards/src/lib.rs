//! Thread families and size series as data, and the honest ranking of candidates.
//!
//! This crate must know nothing of pictures, files on disk, machines' gearing or windows. It gets
//! numbers with uncertainties ([`Measured`], [`Evidence`]) and answers with odds ([`Ranking`]),
//! with the measurement that would help most ([`what_next`]) and with what a rounding would cost
//! ([`rounded`]).
//!
//! ```
//! use form::Quantity;
//! use standards::{Evidence, Instrument, Measured, Prior, Verdict, combine, rank, what_next};
//!
//! // A spectroscope's slit screw: pitch, angle and diameter as a coarse picture gave them.
//! let picture = Measured {
//!     major_diameter_mm: Some(Quantity::measured(12.35, 0.4)),
//!     ..Measured::pitch_and_angle(Quantity::measured(1.26, 0.02), Quantity::measured(60.0, 2.0))
//! };
//! let odds = rank(&picture, &Prior::default());
//! assert_eq!(odds.verdict, Verdict::CannotTell);
//! println!("{}", what_next(&picture, &odds)[0].text);
//!
//! let caliper = Evidence::OverThreads {
//!     threads: 30,
//!     length_mm: Quantity::entered(38.09, 0.03),
//!     instrument: Instrument::Caliper,
//! };
//! let all = combine(&picture, &Prior::default(), &[caliper]);
//! assert_eq!(rank(&all.measured, &all.prior).candidates[0].designation, "1/2-20 UNF");
//! ```
//!
//! # Adding a family
//!
//! Forms and families stand in `data/families.toml`, sizes in `data/*.csv`; each says where its
//! numbers come from and which were seen. A new family needs a `[[form]]` (unless one fits), a
//! `[[family]]`, a series named in `catalogue.rs`, and a published table in `tests/data` with a test
//! in `tests/published.rs` that recomputes all of it.

mod catalogue;
mod combine;
mod doubt;
mod evidence;
mod explain;
mod family;
mod least_squares;
mod likelihood;
mod linear;
mod measured;
mod named;
mod nearest;
mod next;
mod prior;
mod propose;
mod rank;
mod reading;
mod rounding;
mod tolerance;

pub use catalogue::{Catalogue, DataError, catalogue, families, family, forms};
pub use combine::{Combined, combine};
pub use doubt::{Contradiction, Residual};
pub use evidence::{Evidence, EvidenceError, EvidenceKind, EvidenceUnit, Instrument};
pub use family::{Clearance, Diameters, Family, Form, Region, Size, System, sizes};
pub use measured::{Correlation, Feature, Measured, assumed_u};
pub use named::{NameError, Named, completions, named};
pub use next::{Expected, Means, Suggestion, what_next};
pub use prior::{Misfit, Origin, Prior};
pub use rank::{Candidate, Deviation, Ranking, Verdict, rank, rank_exhaustively};
pub use rounding::{Rounded, Rounding, RoundingError, round_pitch_mm, rounded};
pub use tolerance::{Limits, Rule, Side, ThreadLimits, ToleranceError, limits, limits_of};
