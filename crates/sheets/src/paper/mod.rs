//! Paper: what can be drawn on a page and how a page becomes a file.

pub(crate) mod dimension;
pub(crate) mod drawing;
pub(crate) mod dxf;
pub(crate) mod faults;
pub(crate) mod font;
pub(crate) mod geometry;
pub(crate) mod hatch;
pub(crate) mod pdf;
pub(crate) mod svg;
