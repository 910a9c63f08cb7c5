//! The record of a measurement on paper, with its picture.

use crate::findings::{Findings, Part};
use crate::job::{Job, PaperSaid};
use crate::template::{TemplateError, info};
use fit::{BarDrop, BarShape, Measurement};
use form::{Quantity, Source, Units};
use sheets::{
    Candidate, Dash, Drawing, Overlay, PictureBytes, RecordPicture, RecordSheet, Row, Value,
};

/// Candidates less probable than this are not printed.
const LEAST_PROBABILITY: f64 = 0.001;
const MOST_CANDIDATES: usize = 8;

/// The record, as many pages as it needs.
///
/// # Errors
/// [`TemplateError`].
pub fn record_sheet(
    job: &Job,
    findings: &Findings,
    paper: PaperSaid,
    date: &str,
) -> Result<Vec<Drawing>, TemplateError> {
    if findings.refusal.is_some() {
        // No number is printed; what would be needs no measurement.
        let subject = if job.title.is_empty() { "screw".into() } else { job.title.clone() };
        return Ok(sheets::record_sheet(&info(job, paper, date), &RecordSheet::empty(subject))?);
    }
    let Some(m) = &findings.measurement else {
        return Err(TemplateError::NoTool("nothing has been measured yet".into()));
    };
    let record = RecordSheet {
        subject: if job.title.is_empty() { "screw".into() } else { job.title.clone() },
        picture: findings.thumbnail.as_ref().map(|t| RecordPicture {
            bytes: PictureBytes::Jpeg(t.jpeg.clone()),
            width_px: t.of_width_px as f64,
            height_px: t.of_height_px as f64,
            name: t.name.clone(),
        }),
        overlays: overlays(m, findings),
        form: form_rows(m),
        view: view_rows(job, m),
        candidates: candidates(findings, job.units),
        no_standard_probability: findings
            .ranking
            .as_ref()
            .map_or(f64::NAN, |r| r.no_standard_probability),
        warnings: warnings(findings, job.units),
        notes: notes(job, findings, m),
    };
    Ok(sheets::record_sheet(&info(job, paper, date), &record)?)
}

/// What is to be said of the measurement, each sentence once: the same may be said of two places in the
/// picture.
pub(crate) fn warnings(findings: &Findings, units: Units) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for w in &findings.warnings {
        let text = w.text.in_units(units);
        if (Part::Picture..=Part::Identity).contains(&w.part) && !out.contains(&text) {
            out.push(text);
        }
    }
    out
}

fn overlays(m: &Measurement, findings: &Findings) -> Vec<Overlay> {
    let points = |line: &[(f64, f64)]| line.iter().map(|p| [p.0, p.1]).collect();
    // The form found goes on for ever; only where the thread was seen does it say something.
    let seen = |p: &(f64, f64)| {
        findings.thread.as_ref().is_none_or(|t| {
            let along = p.0 * t.axis.0 + p.1 * t.axis.1;
            (t.ends_px.0..=t.ends_px.1).contains(&along)
        })
    };
    let mut out: Vec<Overlay> = m
        .shadow_px
        .iter()
        .map(|line| line.iter().copied().filter(seen).collect::<Vec<_>>())
        .map(|line| Overlay {
            name: "shadow of the form found".into(),
            points_px: points(&line),
            dash: Dash::Solid,
        })
        .collect();
    out.extend(m.bar_px.iter().map(|line| Overlay {
        name: "edges of the bar".into(),
        points_px: points(line),
        dash: Dash::Dashed,
    }));
    out
}

fn known(q: Option<Quantity>) -> Quantity {
    q.unwrap_or_else(|| Quantity::measured(f64::NAN, f64::INFINITY))
}

fn form_rows(m: &Measurement) -> Vec<Row> {
    let f = &m.form;
    let mut rows = vec![
        Row::length("Pitch", known(f.pitch_mm)),
        Row::length("Lead", known(f.lead_mm)),
        Row::angle("Right flank", known(f.right_flank_deg)),
        Row::angle("Left flank", known(f.left_flank_deg)),
        Row::angle("Included angle", known(f.included_angle_deg)),
        Row::length("Depth", known(f.depth_mm)),
        Row::length("Crest flat", known(f.crest_flat_mm)),
        Row::length("Root flat", known(f.root_flat_mm)),
        Row::length("Crest radius", known(f.crest_radius_mm)),
        Row::length("Root radius", known(f.root_radius_mm)),
        Row::length("Major diameter", known(f.major_diameter_mm)),
        Row::length("Minor diameter", known(f.minor_diameter_mm)),
        Row::length("Pitch diameter", known(f.pitch_diameter_mm)),
    ];
    rows.push(match f.taper {
        Some(_) => Row::words("Taper", f.taper_in_words(), Source::Measured),
        None => Row { name: "Taper".into(), value: Value::Words("cannot tell".into(), None) },
    });
    let chosen = |p: f64| {
        if p >= 1.0 {
            (String::new(), Source::Entered)
        } else {
            (format!(" ({})", sheets::percent(p)), Source::Measured)
        }
    };
    for (name, told) in [
        ("Starts", m.starts.map(|s| (s.value.to_string(), s.probability))),
        ("Hand", m.hand.map(|h| (h.value.to_string(), h.probability))),
    ] {
        rows.push(match told {
            Some((value, p)) => {
                let (odds, source) = chosen(p);
                Row::words(name, format!("{value}{odds}"), source)
            }
            None => Row { name: name.into(), value: Value::Words("cannot tell".into(), None) },
        });
    }
    rows
}

fn view_rows(job: &Job, m: &Measurement) -> Vec<Row> {
    let mut rows = Vec::new();
    if let Some(width) = job.bar.width_mm {
        rows.push(Row::length("Width of the bar", width));
    }
    let shape = match job.bar.shape {
        BarShape::Round => "round",
        BarShape::Flat => "flat",
    };
    let source = |assumed| if assumed { Source::Assumed } else { Source::Entered };
    rows.push(Row::words("Bar", shape, source(job.bar.shape_assumed)));
    rows.push(match job.bar.drop {
        BarDrop::SameSurface => {
            Row::words("Bar below the axis", "on the screw's surface", source(job.bar.drop_assumed))
        }
        BarDrop::Given(q) => Row::length("Bar below the axis", q),
    });
    rows.push(Row {
        name: "Scale".into(),
        value: Value::Other {
            quantity: m.px_per_mm.scaled(job.units.in_mm()),
            unit: match job.units {
                Units::Mm => "px/mm",
                Units::Inch => "px/in",
                Units::Thou => "px/thou",
            },
            decimals: 4,
        },
    });
    if m.view.perspective {
        rows.push(Row::length("Eye from the axis", known(m.view.camera_distance_mm)));
    } else {
        rows.push(Row::words("View", "parallel light", Source::Measured));
    }
    rows.push(Row::angle("Tilt of the axis", known(m.view.tilt_deg)));
    rows.push(Row::angle("Turned in the picture", known(m.view.roll_deg)));
    rows
}

pub(crate) fn candidates(findings: &Findings, units: Units) -> Vec<Candidate> {
    let Some(ranking) = &findings.ranking else { return Vec::new() };
    ranking
        .candidates
        .iter()
        .take_while(|c| c.probability >= LEAST_PROBABILITY)
        .take(MOST_CANDIDATES)
        .map(|c| {
            let worst = c.deviations.iter().max_by(|a, b| a.in_u.abs().total_cmp(&b.in_u.abs()));
            let remark = match worst {
                Some(d) if d.in_u.abs() > 2.0 => beside(d, units),
                Some(_) => "every number within two standard uncertainties".into(),
                None => String::new(),
            };
            Candidate { designation: c.designation.clone(), probability: c.probability, remark }
        })
        .collect()
}

/// The number that is farthest from the standard's, both as they are: how many of its uncertainties
/// that is says nothing of a thread that was made to a tolerance.
fn beside(d: &standards::Deviation, units: Units) -> String {
    let name = words(d.what);
    match d.what {
        what if what.ends_with("_deg") => {
            format!("{name} {:.2}°, the standard's {:.2}°", d.measured, d.standard)
        }
        what if what.ends_with("_mm") => format!(
            "{name} {}, the standard's {}",
            units.plain(d.measured, 3),
            units.plain(d.standard, 3)
        ),
        _ => format!("{name} {:.4}, the standard's {:.4}", d.measured, d.standard),
    }
}

/// A field name as words: `right_flank_deg` is the right flank.
pub(crate) fn words(what: &str) -> String {
    what.trim_end_matches("_mm").trim_end_matches("_deg").replace('_', " ")
}

fn notes(job: &Job, findings: &Findings, m: &Measurement) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(refusal) = &findings.refusal {
        notes.push(refusal.clone());
    }
    if !job.notes.trim().is_empty() {
        notes.push(job.notes.trim().to_owned());
    }
    if let Some(s) = &m.straight {
        let units = job.units;
        notes.push(format!(
            "For comparison, straight lines along the shadow, with the scale straight from the \
             bar, would have said: pitch {}, flanks {:.2}° right and {:.2}° left, crest flat {}. \
             Those are the shadow's, not the screw's.",
            units.plain(s.pitch_mm, 3),
            s.right_flank_deg,
            s.left_flank_deg,
            units.plain(s.crest_flat_mm, 3)
        ));
    }
    let worn = m.teeth.len();
    if worn > 0 {
        notes.push(format!("{worn} teeth were compared with each other, both edges counted."));
    }
    let remedies: Vec<String> = m.remedies().into_iter().map(|r| r.advice).collect();
    if !remedies.is_empty() {
        notes.push(format!("What would make it surer: {}.", remedies.join("; ")));
    }
    if let Some(p) = &job.picture {
        let short: String = p.sha256.chars().take(16).collect();
        if !short.is_empty() {
            notes.push(format!("SHA-256 of the picture begins {short}."));
        }
    }
    notes
}
