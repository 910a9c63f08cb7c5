//! How long a picture takes from file to fitted form, and how much memory.
//!
//! ```text
//! stopwatch PICTURE BAR_MM [round|flat] [DROP_MM] [--threads N] [--runs N]   median of N (7) runs; peak memory
//! stopwatch --folder DIR BAR_MM [round|flat] [DROP_MM] [--threads N]   every picture once
//! ```
//!
//! Prints one line of JSON, times in milliseconds. `tests/peers/read_speed.py` sets them beside
//! those of a general-purpose library. The first run of a process, not counted, warms the caches,
//! so that the disk plays no part.

#![expect(clippy::print_stdout, reason = "an example reports on standard output")]

use fit::{BarDrop, BarShape, Known, Measurement, Sighting, measure};
use form::Quantity;
use rayon::prelude::*;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// What is asked of a run.
struct Asked {
    path: PathBuf,
    known: Known,
    folder: bool,
    runs: usize,
    threads: usize,
}

impl Asked {
    fn read() -> Result<Self, Box<dyn Error>> {
        let mut words = Vec::new();
        let (mut folder, mut runs, mut threads) = (false, 7, 1);
        let mut arguments = std::env::args().skip(1);
        while let Some(word) = arguments.next() {
            let number = match word.as_str() {
                "--runs" => &mut runs,
                "--threads" => &mut threads,
                "--folder" => {
                    folder = true;
                    continue;
                }
                _ => {
                    words.push(word);
                    continue;
                }
            };
            *number = arguments.next().ok_or(format!("{word}: how many?"))?.parse()?;
        }
        let [path, bar, rest @ ..] = words.as_slice() else {
            return Err("usage: stopwatch [--folder] PATH BAR_MM [round|flat] [DROP_MM]".into());
        };
        let mut known = Known::bar(Quantity::entered(bar.parse()?, 0.0));
        if rest.first().is_some_and(|shape| shape == "flat") {
            known.bar_shape = BarShape::Flat;
        }
        if let Some(drop) = rest.get(1) {
            known.bar_drop = BarDrop::Given(Quantity::entered(drop.parse()?, 0.0));
        }
        Ok(Self { path: path.into(), known, folder, runs: runs.max(1), threads: threads.max(1) })
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let asked = Asked::read()?;
    let pool = rayon::ThreadPoolBuilder::new().num_threads(asked.threads).build()?;
    let work = || if asked.folder { whole_folder(&asked) } else { one_picture(&asked) };
    // An error need not be able to leave the pool as it is; its sentence is.
    pool.install(|| work().map_err(|e| e.to_string())).map_err(Into::into)
}

/// Milliseconds spent opening, finding outlines, finding bar and thread, fitting.
type Laps = [f64; 4];

/// From a file to a measurement.
fn judge(path: &Path, known: &Known) -> Result<(Measurement, usize, Laps), Box<dyn Error>> {
    let mut last = Instant::now();
    let mut lap = || {
        let now = Instant::now();
        let spent = (now - std::mem::replace(&mut last, now)).as_secs_f64();
        1e3 * spent
    };
    let picture = picture::open(path, &picture::Limits::default())?;
    let opened = lap();
    let scene = picture::trace(&picture.grey, picture::DrawnWanted::Auto, &|_| true)?;
    let traced = lap();
    let bar = picture::find_bar(&scene, None)?;
    let thread = picture::find_thread(&scene, Some(&bar), None)?;
    let found = lap();
    let known = Known { focal_35mm: picture.focal_35mm, ..known.clone() };
    let (width_px, height_px) = (picture.grey.width(), picture.grey.height());
    let sighting = Sighting { width_px, height_px, drawn: scene.drawn, bar, thread };
    let measurement = measure(&sighting, &known, &|_| true)?;
    Ok((measurement, width_px * height_px, [opened, traced, found, lap()]))
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

fn one_picture(asked: &Asked) -> Result<(), Box<dyn Error>> {
    let (measurement, pixels, _) = judge(&asked.path, &asked.known)?;
    // Of one run, before the runs that are timed: what a single measurement needs.
    let peak = peak_bytes()?;
    let (mut laps, mut busy) = (Vec::new(), Vec::new());
    for _ in 0..asked.runs {
        let before = busy_ms()?;
        laps.push(judge(&asked.path, &asked.known)?.2);
        busy.push(busy_ms()? - before);
    }
    let part = |i: usize| median(laps.iter().map(|l| l[i]));
    println!(
        "{{\"ms\": {:.1}, \"open_ms\": {:.1}, \"trace_ms\": {:.1}, \"find_ms\": {:.1}, \
         \"fit_ms\": {:.1}, \"busy_ms\": {:.1}, \"pixels\": {pixels}, \"peak_bytes\": {peak}, \
         \"pitch_mm\": {:.6}}}",
        median(laps.iter().map(|l| l.iter().sum())),
        part(0),
        part(1),
        part(2),
        part(3),
        median(busy.into_iter()),
        measurement.form.pitch_mm.map_or(f64::NAN, |q| q.value),
    );
    Ok(())
}

fn whole_folder(asked: &Asked) -> Result<(), Box<dyn Error>> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(&asked.path)? {
        let path = entry?.path();
        // Read once, so that the disk plays no part in what follows.
        if !std::fs::read(&path)?.is_empty() {
            files.push(path);
        }
    }
    files.sort();
    let start = Instant::now();
    let failed = files.par_iter().filter(|file| judge(file, &asked.known).is_err()).count();
    println!(
        "{{\"ms\": {:.1}, \"pictures\": {}, \"failed\": {}, \"threads\": {}}}",
        1e3 * start.elapsed().as_secs_f64(),
        files.len(),
        failed,
        asked.threads
    );
    Ok(())
}

/// Time all threads together have had a processor, ms: what a busy machine cannot falsify.
fn busy_ms() -> Result<f64, Box<dyn Error>> {
    let mut sum = 0.0;
    for task in std::fs::read_dir("/proc/self/task")? {
        let said = std::fs::read_to_string(task?.path().join("schedstat"))?;
        sum += said.split_whitespace().next().ok_or("empty schedstat")?.parse::<f64>()?;
    }
    Ok(1e-6 * sum)
}

/// Largest resident memory of this process so far, bytes.
fn peak_bytes() -> Result<u64, Box<dyn Error>> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:")).ok_or("no VmHWM")?;
    let kib: u64 = line.split_whitespace().nth(1).ok_or("no number")?.parse()?;
    Ok(1024 * kib)
}
