//! What is taken to the bench when only a part of the work was done here: setting out a blank,
//! measuring over wires, finding a name.

use crate::flow::Flow;
use crate::info::{SheetError, SheetInfo};
use crate::job_sheet::Pass;
use crate::number::Row;
use crate::paper::drawing::{Drawing, number_pages};
use crate::record_sheet::Candidate;
use crate::refusal::refused;
use crate::table::Column;
use form::Units;
use shop::About;

/// A block of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum BenchPart {
    /// Numbers under a heading.
    Numbers(String, Vec<Row>),
    /// Sentences under a heading.
    Points(String, Vec<String>),
    /// How the dial reads, and the cuts in order.
    Passes(String, Vec<Pass>),
    /// What the standards make of it, and the probability that none of them is meant.
    Candidates(Vec<Candidate>, f64),
}

/// What the sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchSheet {
    /// What it is for: `Setting out the blank`.
    pub title: String,
    /// Which work its cautions are about.
    pub about: Vec<About>,
    /// The blocks, in order; empty ones are left out.
    pub parts: Vec<BenchPart>,
}

/// The sheet, as many pages as it needs.
///
/// # Errors
/// None at present: whatever it holds is words and numbers, and flows on.
pub fn bench_sheet(info: &SheetInfo, sheet: &BenchSheet) -> Result<Vec<Drawing>, SheetError> {
    if let Some(page) = refused(info, &sheet.title) {
        return Ok(page);
    }
    let mut flow = Flow::new(info, &sheet.title, &sheet.about, &[]);
    for part in &sheet.parts {
        match part {
            BenchPart::Numbers(heading, rows) => flow.numbers(heading, rows),
            BenchPart::Points(heading, lines) => flow.lines(heading, lines),
            BenchPart::Passes(dial, passes) => {
                flow.table("Passes", columns(), &cells(passes, info.units));
                flow.lines("", &[format!("Dial: {dial}.")]);
            }
            BenchPart::Candidates(candidates, none) => flow.candidates(candidates, *none),
        }
    }
    flow.footnote("± u: standard uncertainty (k = 1). Without ±: taken as exact.");
    let mut drawings = flow.finish();
    number_pages(&mut drawings);
    Ok(drawings)
}

fn columns() -> Vec<Column> {
    [("No.", 0.1), ("Dial", 0.2), ("Depth", 0.3), ("Cut", 0.3)]
        .map(|(name, share)| Column::right(name, share))
        .to_vec()
}

fn cells(passes: &[Pass], units: Units) -> Vec<Vec<String>> {
    let row = |(i, p): (usize, &Pass)| {
        let cut = match p.note.as_str() {
            "" => units.plain(p.cut_mm, 2),
            note => note.to_owned(),
        };
        vec![(i + 1).to_string(), p.dial.clone(), units.plain(p.depth_mm, 2), cut]
    };
    passes.iter().enumerate().map(row).collect()
}
