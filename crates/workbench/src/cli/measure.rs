//! `flanklight measure`.

use super::args::Measure;
use super::failure::Failure;
use super::naming::MOST_FLANK_DEG;
use super::{print, print_json, text, work};
use job::{BarSaid, Flank, Job, Mark, Part, PointSaid, ReadingSaid, Record, ThreadSaid};
use picture::DrawnWanted;
use std::path::Path;

pub(super) fn run(m: &Measure) -> Result<(), Failure> {
    let loaded = work::read(&m.picture)?;
    let path = std::path::absolute(&m.picture).unwrap_or_else(|_| m.picture.clone());
    let fresh = || Job::on_picture(&path, loaded.sha256.clone());
    let found = m.job.as_deref().map_or(Ok(Found::Nothing), |file| found(file, &loaded.sha256))?;
    let of_another = matches!(found, Found::OfAnother);
    let (mut job, before) = match found {
        Found::Same(job, mark) => {
            (Job { picture: fresh().picture, ..(*job).clone() }, Some((*job, mark)))
        }
        Found::Nothing | Found::OfAnother => (fresh(), None),
    };
    said(m, &mut job)?;
    let set_aside = before.as_ref().map_or(of_another, |(before, _)| sees_otherwise(before, &job));
    for q in [m.right_flank, m.left_flank].into_iter().flatten() {
        if q.value > MOST_FLANK_DEG {
            return Err(Failure::Usage(
                format!(
                    "a flank of {}° is outside 0° to {MOST_FLANK_DEG}° from the normal to the axis",
                    q.value
                )
                .into(),
            ));
        }
    }
    let findings = work::findings(&job, Some(&loaded));
    job.remember(&findings.memory);
    // The job is worth keeping even when the measurement failed: it can be mended in the window.
    let written = m.job.as_deref();
    let written = written.map(|file| write(&job, file, set_aside, before.as_ref())).transpose()?;
    let Some(record) = Record::of(&findings, &m.picture) else {
        return Err(Failure::without_measurement(&findings));
    };
    if m.how.json {
        return print_json(&record);
    }
    let units = m.how.units_or(job.units);
    print(&text::measurement(&findings, units));
    print("\n");
    if let Some(m) = &findings.measurement {
        print(&text::budget(m, units));
        print("\n");
    }
    if let Some(ranking) = &findings.ranking {
        print(&text::candidates(ranking, units));
        print("\n");
    }
    if let Some(identity) = findings.identity.as_ref().filter(|_| !m.evidence.is_empty()) {
        print(&text::together(identity, &m.evidence, units));
        print("\n");
    }
    print(&text::remarks(&findings, Part::Identity, units));
    if let Some(written) = written {
        print(&format!("{written}\n\n"));
    }
    print(&text::cautions_for(&job, &[]));
    Ok(())
}

/// What stands where the job is to be written.
enum Found {
    Nothing,
    /// A job on the same picture, or on none yet.
    Same(Box<Job>, Mark),
    /// A job on another picture.
    OfAnother,
}

/// What stands in `file`.
///
/// # Errors
/// [`Failure::Refused`] when that is no job file: nothing else is written over.
fn found(file: &Path, sha256: &str) -> Result<Found, Failure> {
    if !file.exists() {
        return Ok(Found::Nothing);
    }
    let (job, mark) = job::load_marked(file).map_err(|e| {
        let what = e.to_string();
        let what = what.trim_end_matches('.');
        Failure::Refused(format!("{what}. It is not written over: give --job another name.").into())
    })?;
    Ok(match &job.picture {
        Some(picture) if picture.sha256 != sha256 => Found::OfAnother,
        _ => Found::Same(Box::new(job), mark),
    })
}

/// Whether a job looks at its picture otherwise than one before, the width of the bar aside: boxes,
/// clicked points, what was fixed instead of found.
fn sees_otherwise(before: &Job, job: &Job) -> bool {
    let seen = |j: &Job| {
        // Whether it was said or assumed changes nothing in how it is looked at.
        let bar = BarSaid { width_mm: None, ..j.bar.confirmed() };
        (bar, j.outline, j.view, j.thread.clone())
    };
    seen(before) != seen(job)
}

/// Writes what was said into the job. How the picture is looked at is said here and nowhere else, so that
/// a measurement does not hang on what a file held before; all the rest of the job stays.
fn said(m: &Measure, job: &mut Job) -> Result<(), Failure> {
    let (shape, drop) =
        (m.bar_shape.map(Into::into).unwrap_or_default(), m.bar_drop.unwrap_or_default());
    // What was confirmed before stays so while it is the same.
    let before = &job.bar;
    job.bar = BarSaid {
        width_mm: Some(m.bar),
        shape,
        drop,
        shape_assumed: m.bar_shape.is_none() && (before.shape_assumed || before.shape != shape),
        drop_assumed: m.bar_drop.is_none() && (before.drop_assumed || before.drop != drop),
        at_px: m.bar_at,
    };
    job.outline = m.outline.map_or(DrawnWanted::Auto, Into::into);
    job.view = m.view.unwrap_or_default();
    job.thread = ThreadSaid {
        at_px: m.thread_at,
        points: Vec::new(),
        excluded_px: std::mem::take(&mut job.thread.excluded_px),
        major_diameter_mm: m.major_diameter,
        starts: m.starts,
        hand: m.hand.map(Into::into),
        mirrored: m.mirrored,
    };
    job.form.right_flank_deg = m.right_flank.or(job.form.right_flank_deg);
    job.form.left_flank_deg = m.left_flank.or(job.form.left_flank_deg);
    job.duty = m.duty.or(job.duty);
    for reading in m.evidence.iter().cloned().map(ReadingSaid::new) {
        if !job.evidence.contains(&reading) {
            job.evidence.push(reading);
        }
    }
    job.units = m.how.units_or(job.units);
    if let Some(file) = &m.points {
        job.thread.points = points(file)?;
    }
    Ok(())
}

/// Writes the job, another one there before kept beside it; answers with a sentence about it.
fn write(
    job: &Job,
    file: &Path,
    set_aside: bool,
    found: Option<&(Job, Mark)>,
) -> Result<String, Failure> {
    let before = if set_aside { Some(job::set_aside(file)?) } else { None };
    match found {
        Some((stored, mark)) => drop(work::keep_over(job, stored, file, mark)?),
        // Another job was there, and was set aside.
        None if set_aside => job::save(job, file)?,
        None => drop(job::save_over(job, file, Some(&Mark::default()))?),
    }
    let written = format!("Job written to {}.", file.display());
    Ok(match before {
        Some(kept) => {
            format!("{written} What was there before is {}.", kept.display())
        }
        None => written,
    })
}

/// Longest file of clicked points, bytes, and most points in it: a hand clicks some dozens.
const MOST_POINTS_BYTES: u64 = 1_000_000;
const MOST_POINTS: usize = 5_000;

/// Clicked points from a CSV file.
fn points(file: &Path) -> Result<Vec<PointSaid>, Failure> {
    let bad = |what: String| Failure::Refused(format!("{}: {what}", file.display()).into());
    let text = job::read_text(file, MOST_POINTS_BYTES)
        .map_err(|e| bad(format!("cannot be read as text: {e}. Check the name.")))?;
    parse_points(&text).map_err(bad)
}

fn parse_points(text: &str) -> Result<Vec<PointSaid>, String> {
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, l)| (i + 1, l.trim()))
        .filter(|(_, l)| !l.is_empty() && !l.starts_with('#'));
    let columns = lines.next().map(|(_, l)| l.trim_start_matches('\u{feff}').replace(' ', ""));
    if columns.as_deref() != Some("x_px,y_px,flank") {
        return Err(format!(
            "the first line is \"{}\"; it must name the columns x_px,y_px,flank",
            columns.unwrap_or_default()
        ));
    }
    let mut points = Vec::new();
    for (number, line) in lines {
        let parts: Vec<&str> = line.split(',').map(str::trim).collect();
        let point = match parts.as_slice() {
            [x, y, flank] => match (x.parse::<f64>(), y.parse::<f64>(), Flank::from_word(flank)) {
                (Ok(x_px), Ok(y_px), Some(flank)) if x_px.is_finite() && y_px.is_finite() => {
                    Some(PointSaid { x_px, y_px, flank })
                }
                _ => None,
            },
            _ => None,
        };
        points.push(point.ok_or_else(|| {
            format!(
                "line {number} is \"{line}\"; it must hold two numbers of pixels and one of \
                 right, left, crest and root"
            )
        })?);
    }
    if points.is_empty() {
        return Err("holds no points".into());
    }
    if points.len() > MOST_POINTS {
        return Err(format!("holds {} points; at most {MOST_POINTS} are read", points.len()));
    }
    Ok(points)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_and_what_is_wrong_with_them() {
        let points = parse_points("x_px, y_px, flank\n# a note\n10.5,20,right\n\n11,22.25, left\n");
        assert_eq!(
            points.unwrap(),
            [
                PointSaid { x_px: 10.5, y_px: 20.0, flank: Flank::Right },
                PointSaid { x_px: 11.0, y_px: 22.25, flank: Flank::Left },
            ]
        );
        for (text, wanted) in [
            ("", "first line"),
            ("x,y\n1,2", "first line is \"x,y\""),
            ("x_px,y_px,flank\n", "no points"),
            ("x_px,y_px,flank\n1,2,right\n1,2,top", "line 3"),
            ("x_px,y_px,flank\n1,NaN,right", "line 2"),
        ] {
            let e = parse_points(text).unwrap_err();
            assert!(e.contains(wanted), "{text:?}: {e}");
        }
    }
}
