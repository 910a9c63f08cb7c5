//! The window is killed at random moments of editing and saving, without warning: the job opens
//! each time, and what was kept is there.
//!
//! The test plays it shortly, with a journal kept every few milliseconds. How much is lost at the
//! window's own pace is measured by the ignored test, which takes some minutes:
//! `cargo test -p workbench --test window_killed -- --ignored --nocapture`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops")]

use eframe::egui::Context;
use job::Journal;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command as Process, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};
use workbench::window::Window;
use workbench::window::command::Command;
use workbench::window::field::Field;

const CHILD: &str = "FLANKLIGHT_TEST_CHILD";
const EVERY_MS: &str = "FLANKLIGHT_TEST_JOURNAL_MS";

/// Not a test by itself: the window that is killed. It names the job after the number of the edit,
/// says each number, and says when one is kept or saved.
#[test]
fn the_window_that_is_killed() {
    let Some(folder) = std::env::var_os(CHILD) else { return };
    let folder = Path::new(&folder);
    let ctx = Context::default();
    let mut window = Window::new(Arc::new(|| {}), folder.join("state")).unwrap();
    // Seldom enough that what is lost tells of the journal, not of the file.
    let mut save_every = 601;
    if let Some(ms) = std::env::var(EVERY_MS).ok().and_then(|v| v.parse().ok()) {
        window.journal_every = Duration::from_millis(ms);
        save_every = 37;
    }
    let home = folder.join("loom.flanklight.json");
    let mut out = std::io::stdout().lock();
    for n in 1u64.. {
        window.command(&ctx, Command::Type(Field::Title, n.to_string()));
        window.command(&ctx, Command::Enter { field: Field::Title, by_key: true });
        writeln!(out, "edit {n}").unwrap();
        // Now and then it is saved as well, in the midst of editing.
        if n.is_multiple_of(save_every) {
            window.command(&ctx, Command::SaveAs(home.clone()));
        }
        let until = Instant::now() + Duration::from_millis(7);
        while Instant::now() < until {
            window.tick(&ctx);
            std::thread::sleep(Duration::from_millis(1));
        }
        if window.kept() {
            writeln!(out, "kept {n}").unwrap();
        }
        out.flush().unwrap();
    }
}

/// What one kill left behind.
struct Left {
    /// Last edit made, last edit known to be kept, edit that was recovered.
    made: u64,
    kept: u64,
    found: u64,
    /// Time from the first edit that is missing to the kill.
    missing: Duration,
}

fn kill_once(after: Duration, journal_ms: Option<u64>) -> Left {
    let folder = tempfile::tempdir().unwrap();
    let mut process = Process::new(std::env::current_exe().unwrap());
    process
        .args(["--exact", "the_window_that_is_killed", "--nocapture"])
        .env(CHILD, folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    if let Some(ms) = journal_ms {
        process.env(EVERY_MS, ms.to_string());
    }
    let mut child = process.spawn().unwrap();
    let out = child.stdout.take().unwrap();
    let reader = std::thread::spawn(move || {
        let mut said = Vec::new();
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            let mut words = line.split_whitespace();
            if let (Some(what), Some(n)) = (words.next(), words.next().and_then(|n| n.parse().ok()))
                && (what == "edit" || what == "kept")
            {
                said.push((Instant::now(), what == "kept", n));
            }
        }
        said
    });
    std::thread::sleep(after);
    // On unix this is signal 9.
    child.kill().unwrap();
    let killed = Instant::now();
    child.wait().unwrap();
    let said: Vec<(Instant, bool, u64)> = reader.join().unwrap();
    let last = |kept: bool| said.iter().filter(|s| s.1 == kept).map(|s| s.2).max().unwrap_or(0);

    // What a window that starts now finds: the job's file, and what it was not told to save.
    let home = folder.path().join("loom.flanklight.json");
    let number = |title: &str| title.parse::<u64>().unwrap();
    let saved = if home.exists() { number(&job::load(&home).unwrap().title) } else { 0 };
    let state = folder.path().join("state");
    let journaled = Journal::left_behind(&state).jobs.first().map_or(0, |r| number(&r.job.title));
    // Every journal there is can be read: none is offered as damaged.
    for entry in std::fs::read_dir(&state).into_iter().flatten().map(Result::unwrap) {
        if entry.file_name().to_string_lossy().ends_with(".recovery.json") {
            job::load(&entry.path()).unwrap();
        }
    }
    let found = saved.max(journaled);
    let first_missing = said.iter().find(|s| !s.1 && s.2 > found).map(|s| s.0);
    Left {
        made: last(false),
        kept: last(true),
        found,
        missing: first_missing.map_or(Duration::ZERO, |t| killed.duration_since(t)),
    }
}

/// Moments that differ from run to run of the loop, not of the test.
fn moments(count: u32, from_ms: u64, to_ms: u64) -> impl Iterator<Item = Duration> {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    (0..count).map(move |_| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        Duration::from_millis(from_ms + state % (to_ms - from_ms))
    })
}

#[test]
fn what_was_kept_survives_being_killed() {
    let mut kept_at_all = 0;
    for after in moments(25, 120, 420) {
        let left = kill_once(after, Some(10));
        assert!(left.found >= left.kept, "{} was kept, {} was found", left.kept, left.found);
        assert!(left.found <= left.made + 1);
        kept_at_all += u64::from(left.kept > 0);
    }
    assert!(kept_at_all > 10, "the windows hardly got to work: {kept_at_all} of 25");
}

#[test]
#[ignore = "takes some minutes: measures what is lost at the window's own pace"]
fn two_hundred_kills() {
    let (mut worst, mut sum, mut count) = (Duration::ZERO, Duration::ZERO, 0);
    for after in moments(200, 200, 5000) {
        let left = kill_once(after, None);
        assert!(left.found >= left.kept);
        worst = worst.max(left.missing);
        sum += left.missing;
        count += 1;
    }
    println!(
        "{count} kills: every job opened; missing at most {:.2} s, {:.2} s on average",
        worst.as_secs_f64(),
        sum.as_secs_f64() / f64::from(count)
    );
    assert!(worst < Duration::from_secs(3));
}
