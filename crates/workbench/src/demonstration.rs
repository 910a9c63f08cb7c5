//! The built-in demonstrations as jobs.

use fit::{BarDrop, BarShape};
use form::Quantity;
use form::units::MM_PER_INCH;
use job::{Duty, Job};
use lamp::Demonstration;
use shop::Reading;
use std::path::{Path, PathBuf};

/// The demonstration of this name; the first if none is asked for.
#[must_use]
pub fn named(name: Option<&str>) -> Option<Demonstration> {
    let mut all = lamp::demonstrations().into_iter();
    match name {
        None => all.next(),
        Some(name) => all.find(|d| d.name == name),
    }
}

/// The job that goes with a demonstration's picture.
#[must_use]
pub fn job(shown: &Demonstration, picture: &Path, sha256: String) -> Job {
    let mut job = Job::on_picture(picture, sha256);
    job.title = shown.title.to_owned();
    job.notes = shown.story.to_owned();
    job.bar.width_mm = Some(Quantity::entered(shown.bar_width_mm, shown.bar_width_u_mm));
    job.bar.shape = match shown.bar_shape {
        lamp::BarShape::Round => BarShape::Round,
        lamp::BarShape::Flat => BarShape::Flat,
    };
    if let Some(drop_mm) = shown.bar_drop_mm {
        job.bar.drop = BarDrop::Given(Quantity::entered(drop_mm, 0.0));
    }
    // Its bar was laid there when the picture was cast.
    job.bar = job.bar.confirmed();
    job.duty = Some(Duty::Adjusts);
    job.survey.readings = LOST_MOTION_MM
        .iter()
        .map(|&(position_mm, lost)| Reading {
            position_mm,
            lost_motion_mm: Quantity::measured(lost, 0.01),
        })
        .collect();
    job.survey.end_float_mm = Some(Quantity::measured(0.06, 0.01));
    job.passes.dial = Some(shop::Dial::METRIC);
    job.wheels.leadscrew_mm = Some(MM_PER_INCH / 8.0);
    job.wheels.wheels = WHEELS.to_vec();
    job
}

/// Lost motion along the travel of every demonstration, invented: the nut is worn, the screw a little in
/// its busy middle, mm.
const LOST_MOTION_MM: [(f64, f64); 6] =
    [(0.0, 0.30), (30.0, 0.305), (60.0, 0.32), (90.0, 0.325), (120.0, 0.31), (150.0, 0.30)];

/// Wheels of the lathe it is to be cut on, invented; its lead screw has 8 threads per inch.
const WHEELS: [u32; 15] = [20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 120, 127];

/// Casts a demonstration's picture into `folder` and makes the job that goes with it.
///
/// # Errors
/// A sentence.
pub fn write(shown: &Demonstration, folder: &Path) -> Result<(Job, PathBuf), String> {
    let cannot = |what: &Path, e: std::io::Error| {
        format!("cannot write {}: {e}. Choose another folder.", what.display())
    };
    let jpeg = shown.to_jpeg().map_err(|e| format!("the demonstration cannot be cast: {e}"))?;
    std::fs::create_dir_all(folder).map_err(|e| cannot(folder, e))?;
    let picture = folder.join(shown.file_name());
    job::write_whole(&picture, &jpeg).map_err(|e| cannot(&picture, e))?;
    let whole = std::path::absolute(&picture).unwrap_or_else(|_| picture.clone());
    let job = job(shown, &whole, job::sha256_of(&jpeg));
    Ok((job, picture))
}
