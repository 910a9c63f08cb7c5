//! From outlines to a thread's form, with honest uncertainties.
//!
//! This crate must not read files, must not know any standard, and must not know how outlines were
//! found in a picture. It knows the shadow model of `form` and how to turn it round: from the
//! shadow back to the section, the view and the scale.

mod budget;
mod candidates;
mod corners;
mod data;
mod known;
mod lean;
mod matching;
mod measure;
mod measurement;
mod model;
mod params;
mod problem;
mod report;
mod robust;
mod seen;
pub mod solver;
mod start;
mod straight;
mod teeth;
mod uncertainty;
mod worn;

pub use budget::{Gain, Remedy};
pub use known::{BarDrop, BarShape, Known, ViewWanted};
pub use lean::is_notable;
pub use measure::{FitError, Sighting, measure};
pub use measurement::{
    BudgetLine, Chosen, FORM_PARAMETERS, FormFound, Measurement, Residual, Straight, Tooth,
    ViewFound, Warning,
};
