//! Drawings in millimetres on paper as PDF, SVG and DXF. Measures nothing.
//!
//! This crate must not know how any number came about: it receives quantities with their
//! uncertainties and sources and puts them on paper, at true scale. It reads no clock (dates are
//! passed in), no files and no pictures beyond the bytes it is to place on a page, and knows
//! neither jobs nor windows.
//!
//! On paper lengths are millimetres, the origin is the lower left corner of the page and `y` runs
//! up.

mod bench_sheet;
mod flow;
mod info;
mod job_sheet;
mod number;
mod nut_drawing;
mod page;
mod paper;
mod plot;
mod record_sheet;
mod refusal;
mod shadow_chart;
mod survey_sheet;
mod table;
mod tool_form;
mod tool_template;
mod tool_views;
mod wheels;
mod wheels_sheet;

pub use bench_sheet::{BenchPart, BenchSheet, bench_sheet};
pub use info::{SheetError, SheetInfo};
pub use job_sheet::{JobSheet, Pass, job_sheet};
pub use number::{Row, Value};
pub use nut_drawing::{NutBody, NutDrawing, Toleranced, nut_drawing};
pub use paper::drawing::{
    Anchor, Canvas, Dash, Drawing, Ink, Item, Layer, Paper, Pen, PictureBytes, Text, number_pages,
};
pub use paper::dxf::dxf;
pub use paper::faults::faults;
pub use paper::font::{Weight, width_mm};
pub use paper::geometry::{Path, Point, Rect, Segment, Vertex, pt};
pub use paper::pdf::{PdfError, pdf, pdf_titled};
pub use paper::svg::svg;
pub use record_sheet::{Candidate, Overlay, RecordPicture, RecordSheet, percent, record_sheet};
pub use shadow_chart::{ShadowChart, ShadowEdge, shadow_chart};
pub use survey_sheet::{Station, SurveySheet, survey_sheet};
pub use tool_form::{FlankSide, ToolForm};
pub use tool_template::{SideClearance, ToolTemplate, tool_template};
pub use wheels::GearTrain;
pub use wheels_sheet::{OtherTrain, WheelsSheet, wheels_sheet};
