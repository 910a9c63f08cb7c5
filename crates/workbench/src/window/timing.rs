//! How long the window's own code takes in a real window, for who wants to know: with
//! `FLANKLIGHT_FRAMES=FILE` in the environment, closing the window writes the report there.

use std::fmt::Write;
use std::path::PathBuf;
use std::time::{Duration, Instant};

const VARIABLE: &str = "FLANKLIGHT_FRAMES";
/// Frames remembered; a day of work has more, but its first million tell enough.
const MOST_FRAMES: usize = 1_000_000;

/// Times of frames, when they are asked for.
pub struct Timing {
    file: Option<PathBuf>,
    began: Instant,
    first: Option<Duration>,
    own: Vec<Duration>,
}

impl Timing {
    /// From now on; call it when the program starts.
    #[must_use]
    pub fn start() -> Self {
        let file = std::env::var_os(VARIABLE).filter(|v| !v.is_empty()).map(PathBuf::from);
        Self { file, began: Instant::now(), first: None, own: Vec::new() }
    }

    /// Notes a frame that was shown between `from` and now.
    pub fn frame(&mut self, from: Instant) {
        if self.file.is_none() || self.own.len() >= MOST_FRAMES {
            return;
        }
        self.first.get_or_insert_with(|| self.began.elapsed());
        self.own.push(from.elapsed());
    }

    /// Writes the report, if one is wanted.
    pub fn report(&mut self) {
        let Some(file) = &self.file else { return };
        let worst = self.own.iter().enumerate().max_by_key(|(_, d)| **d).map_or(0, |(i, _)| i + 1);
        self.own.sort_unstable();
        let ms = |d: Duration| 1000.0 * d.as_secs_f64();
        let at = |per_mille: usize| {
            let last = self.own.len().saturating_sub(1);
            self.own.get(last * per_mille / 1000).copied().map_or(0.0, ms)
        };
        let mut text = String::new();
        let _ = writeln!(text, "first frame laid out after {:.0} ms", self.first.map_or(0.0, ms));
        let _ = writeln!(
            text,
            "{} frames, own code: median {:.2} ms, 99 % {:.2} ms, worst {:.2} ms (frame {worst})",
            self.own.len(),
            at(500),
            at(990),
            at(1000)
        );
        let _ = writeln!(
            text,
            "memory: {:.0} MB now, {:.0} MB at most",
            memory_mb("VmRSS:"),
            memory_mb("VmHWM:")
        );
        let _ = std::fs::write(file, text);
    }
}

/// What the system says of this process's memory, MB; 0 where it does not tell.
fn memory_mb(what: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with(what)).unwrap_or_default();
    let kb = line.split_whitespace().nth(1).and_then(|n| n.parse::<f64>().ok());
    kb.unwrap_or(0.0) / 1024.0
}
