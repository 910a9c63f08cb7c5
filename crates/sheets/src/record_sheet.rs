//! What was measured, from which picture, and how far it can be trusted.

use crate::flow::Flow;
use crate::info::{SheetError, SheetInfo, within};
use crate::number::Row;
use crate::paper::drawing::{Anchor, Canvas, Dash, Drawing, Ink, Pen, PictureBytes, number_pages};
use crate::paper::font::{self, Weight};
use crate::paper::geometry::{Point, Rect, pt};
use crate::plot;
use crate::refusal::refused;

/// A picture and its size in pixels, upright.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordPicture {
    /// The encoded picture, upright by itself.
    pub bytes: PictureBytes,
    /// Width, pixels, of the coordinates the overlays are given in.
    pub width_px: f64,
    /// Height, pixels.
    pub height_px: f64,
    /// Name of the file, for the caption.
    pub name: String,
}

/// A line laid over the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// What it is, for the legend; the same name twice is one entry.
    pub name: String,
    /// Points in pixels, `y` down, (0, 0) the upper left corner of the picture.
    pub points_px: Vec<[f64; 2]>,
    /// Unbroken, dashed …
    pub dash: Dash,
}

/// A standard thread the form may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Designation.
    pub designation: String,
    /// Probability, 0 to 1.
    pub probability: f64,
    /// What speaks for or against it.
    pub remark: String,
}

/// What the record shows.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordSheet {
    /// What was measured.
    pub subject: String,
    /// The picture; `None` when numbers were typed.
    pub picture: Option<RecordPicture>,
    /// Found edges, bar, clicked points.
    pub overlays: Vec<Overlay>,
    /// The form of the axial section.
    pub form: Vec<Row>,
    /// Scale, view, bar.
    pub view: Vec<Row>,
    /// Candidates, likeliest first.
    pub candidates: Vec<Candidate>,
    /// Probability that it is no standard that is known here.
    pub no_standard_probability: f64,
    /// What the program warns of.
    pub warnings: Vec<String>,
    /// Remarks of the person.
    pub notes: Vec<String>,
}

impl RecordSheet {
    /// One on which nothing was measured.
    #[must_use]
    pub fn empty(subject: String) -> Self {
        Self {
            subject,
            picture: None,
            overlays: Vec::new(),
            form: Vec::new(),
            view: Vec::new(),
            candidates: Vec::new(),
            no_standard_probability: f64::NAN,
            warnings: Vec::new(),
            notes: Vec::new(),
        }
    }
}

const CAUTIONS: [&str; 1] = ["The form is that of the axial section, not of the shadow."];
/// Tallest a picture may be, as a part of the body; the first that saves a page is taken.
const PICTURE_SHARES: [f64; 4] = [0.46, 0.38, 0.31, 0.25];

/// The record, as many pages as it needs.
///
/// # Errors
/// [`SheetError::Limits`] when the picture has no size.
pub fn record_sheet(info: &SheetInfo, record: &RecordSheet) -> Result<Vec<Drawing>, SheetError> {
    let title = format!("Measurement: {}", record.subject);
    if let Some(page) = refused(info, &title) {
        return Ok(page);
    }
    if let Some(p) = &record.picture {
        within("width of the picture", p.width_px, "px", 1.0, 1e6)?;
        within("height of the picture", p.height_px, "px", 1.0, 1e6)?;
    }
    let mut drawings = compose(info, &title, record, PICTURE_SHARES[0]);
    for share in &PICTURE_SHARES[1..] {
        // A smaller picture only where it saves a page.
        if record.picture.is_some() && drawings.len() > 1 {
            let tighter = compose(info, &title, record, *share);
            if tighter.len() < drawings.len() {
                drawings = tighter;
            }
        }
    }
    number_pages(&mut drawings);
    Ok(drawings)
}

fn compose(info: &SheetInfo, title: &str, record: &RecordSheet, share: f64) -> Vec<Drawing> {
    let mut flow = Flow::new(info, title, &[], &CAUTIONS);
    if let Some(p) = &record.picture {
        picture(&mut flow, p, &record.overlays, share);
    }
    flow.numbers("Form of the axial section", &record.form);
    flow.candidates(&record.candidates, record.no_standard_probability);
    flow.numbers("Scale and view", &record.view);
    flow.lines("Warnings", &record.warnings);
    flow.lines("Remarks", &record.notes);
    flow.footnote(
        "± u: standard uncertainty (k = 1). Without ±: taken as exact. “Cannot tell”: the picture \
         does not determine it.",
    );
    flow.finish()
}

/// A probability as it is printed and shown, without false certainty: nothing measured is certain.
#[must_use]
pub fn percent(p: f64) -> String {
    if !p.is_finite() {
        "cannot tell".to_owned()
    } else if p < 0.001 {
        "< 0.1 %".to_owned()
    } else if p > 0.999 {
        "> 99.9 %".to_owned()
    } else if (0.01..=0.99).contains(&p) {
        format!("{:.0} %", 100.0 * p)
    } else {
        format!("{:.1} %", 100.0 * p)
    }
}

fn picture(flow: &mut Flow<'_>, p: &RecordPicture, overlays: &[Overlay], share: f64) {
    let body = flow.page.body;
    let scale = (body.width() / p.width_px).min(share * body.height() / p.height_px);
    let (w, h) = (p.width_px * scale, p.height_px * scale);
    let legend = legend_entries(overlays);
    let space = flow.page.take_top(h + 3.0 + 5.0 + if legend.is_empty() { 0.0 } else { 5.0 });
    let left = space.centre().x - 0.5 * w;
    let top = space.top - 3.0;
    let place = Rect::new(left, top - h, left + w, top);
    let d = flow.page.canvas();
    d.picture(place, p.bytes.clone());
    d.stroke(place.path(), Pen::RULE);
    for o in overlays {
        let points: Vec<Point> = o
            .points_px
            .iter()
            .filter(|q| q[0].is_finite() && q[1].is_finite())
            .map(|q| pt(left + q[0] * scale, top - q[1] * scale))
            .collect();
        for part in plot::cut(&points, &place) {
            overlay_line(d, part, o.dash);
        }
    }
    let mut y = place.bottom - 4.2;
    let caption = font::shortened(
        &format!("{} · {:.0} × {:.0} px", p.name, p.width_px, p.height_px),
        body.width(),
        3.1,
        Weight::Regular,
    );
    d.write(pt(space.left, y), &caption, 3.1, Anchor::Start);
    y -= 4.8;
    let mut x = space.left;
    for (name, dash) in legend {
        overlay_line(d, crate::Path::open([pt(x, y + 1.0), pt(x + 9.0, y + 1.0)]), dash);
        d.write(pt(x + 10.5, y), &name, 3.1, Anchor::Start);
        x += 15.0 + font::width_mm(&name, 3.1, Weight::Regular);
    }
}

/// Black on white, so that it shows on dark and on light.
fn overlay_line(d: &mut Canvas, path: crate::Path, dash: Dash) {
    let pen = Pen::AXIS.on(crate::Layer::Overlay);
    d.stroke(path.clone(), pen.width(0.6).ink(Ink::White));
    d.stroke(path, pen.width(0.22).dash(dash));
}

fn legend_entries(overlays: &[Overlay]) -> Vec<(String, Dash)> {
    let mut out: Vec<(String, Dash)> = Vec::new();
    for o in overlays {
        if !out.iter().any(|(n, _)| *n == o.name) {
            out.push((font::shortened(&o.name, 40.0, 3.1, Weight::Regular), o.dash));
        }
    }
    out.truncate(3);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_nearly_certain_is_not_printed_as_certain() {
        let printed = [0.0004, 0.004, 0.42, 0.9985, 0.9991, 1.0, f64::NAN].map(percent);
        let said = ["< 0.1 %", "0.4 %", "42 %", "99.9 %", "> 99.9 %", "> 99.9 %", "cannot tell"];
        assert_eq!(printed, said);
    }
}
