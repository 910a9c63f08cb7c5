//! From outlines to a thread's form, with honest uncertainties.
//!
//! This crate must not read files, must not know any standard, and must not know how outlines were
//! found in a picture. It knows the shadow model of `form` and how to turn it round: from the
//! shadow back to the section, the view and the scale.

mod known;
mod measurement;

pub use known::{BarDrop, BarShape, Known, ViewWanted};
pub use measurement::{
    BudgetLine, Chosen, FormFound, Measurement, Residual, Straight, Tooth, ViewFound, Warning,
};

mod measure;
pub use measure::{FitError, Sighting, measure};
