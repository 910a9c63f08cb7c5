//! Autosave: the job as it is, kept apart from its file until it is saved or given up.

use crate::file;
use crate::job::Job;
use crate::save::{SaveError, write_whole};
use std::io;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// Ending of journal files.
const ENDING: &str = "recovery.json";

/// The recovery file of one running window.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
}

/// A job found in a journal that its window never closed.
#[derive(Debug, Clone)]
pub struct Recovered {
    /// The journal.
    pub journal: PathBuf,
    /// Where the job was last saved; `None` if never.
    pub home: Option<PathBuf>,
    /// The job.
    pub job: Job,
}

impl Journal {
    /// A journal in `folder` for this process.
    ///
    /// # Errors
    /// The operating system's, when the folder cannot be made.
    pub fn start(folder: &Path) -> io::Result<Self> {
        std::fs::create_dir_all(folder)?;
        // Numbers of processes come round again; with the time, no old journal is written over.
        let since = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_millis());
        Ok(Self { path: folder.join(format!("{}-{since}.{ENDING}", std::process::id())) })
    }

    /// Keeps the job as it is, with the file it belongs to.
    ///
    /// # Errors
    /// The operating system's; the last entry is whole then.
    pub fn keep(&self, job: &Job, home: Option<&Path>) -> io::Result<()> {
        let mut job = job.clone();
        if let Some(home) = home {
            job.unknown.insert(HOME.into(), home.to_string_lossy().into_owned().into());
        }
        write_whole(&self.path, file::to_text(&job, None).as_bytes())
    }

    /// Nothing needs recovering any more.
    pub fn clear(&self) {
        // A journal that stays is only offered once too often.
        let _ = std::fs::remove_file(&self.path);
    }

    /// Jobs whose windows ended without closing, newest first. Journals of processes that still run
    /// are left alone.
    #[must_use]
    pub fn left_behind(folder: &Path) -> Vec<Recovered> {
        let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
        let mut found: Vec<_> = entries
            .filter_map(Result::ok)
            .filter(|e| e.file_name().to_string_lossy().ends_with(ENDING))
            .filter(|e| !still_runs(&e.file_name().to_string_lossy()))
            .filter_map(|e| {
                let when = e.metadata().and_then(|m| m.modified()).ok()?;
                let recovered = read(&e.path()).ok()?;
                Some((when, recovered))
            })
            .collect();
        found.sort_by_key(|(when, _)| std::cmp::Reverse(*when));
        found.into_iter().map(|(_, r)| r).collect()
    }
}

const HOME: &str = "journal_home";

fn read(path: &Path) -> Result<Recovered, SaveError> {
    let mut job = crate::save::load(path)?;
    let home = job.unknown.remove(HOME).and_then(|v| v.as_str().map(PathBuf::from));
    Ok(Recovered { journal: path.to_owned(), home, job })
}

/// Whether the process that writes this journal is alive (where the system tells).
fn still_runs(name: &str) -> bool {
    let Some(id) = name.split(['-', '.']).next().and_then(|n| n.parse::<u32>().ok()) else {
        return false;
    };
    id != std::process::id() && is_one_of_us(&id.to_string())
}

/// Whether a process of this number runs, this program or another (where the system tells).
pub(crate) fn is_running(id: u32) -> bool {
    Path::new("/proc").join(id.to_string()).exists()
}

/// Whether a process is this program and not dead. After a power cut its number may belong to any
/// other, and one that was killed may stay on the list until somebody has asked what became of it.
fn is_one_of_us(id: &str) -> bool {
    let stat = |id: &str| std::fs::read_to_string(Path::new("/proc").join(id).join("stat")).ok();
    // "number (name) state …"; a name may hold brackets of its own.
    let named = |stat: String| {
        let (head, rest) = stat.rsplit_once(')')?;
        let (_, name) = head.split_once('(')?;
        Some((name.to_owned(), rest.trim_start().chars().next()?))
    };
    match (stat(id).and_then(named), stat("self").and_then(named)) {
        (Some((name, state)), Some((ours, _))) => name == ours && !matches!(state, 'Z' | 'X'),
        _ => false,
    }
}

/// Where this person's journals are kept: `$XDG_STATE_HOME/flanklight`, else `%LOCALAPPDATA%\flanklight`,
/// else `~/.local/state/flanklight`, else the folder for temporary files.
#[must_use]
pub fn state_folder() -> PathBuf {
    let variable = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    variable("XDG_STATE_HOME")
        .or_else(|| variable("LOCALAPPDATA"))
        .or_else(|| variable("HOME").map(|h| h.join(".local").join("state")))
        .unwrap_or_else(std::env::temp_dir)
        .join("flanklight")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_kept_is_found_and_cleared() {
        let dir = tempfile::tempdir().unwrap();
        let journal = Journal::start(dir.path()).unwrap();
        let job = Job { title: "half done".into(), ..Job::default() };
        journal.keep(&job, Some(Path::new("/x/loom.json"))).unwrap();
        let found = Journal::left_behind(dir.path());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].job, job);
        assert_eq!(found[0].home.as_deref(), Some(Path::new("/x/loom.json")));
        journal.clear();
        assert!(Journal::left_behind(dir.path()).is_empty());
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_number_that_went_to_another_hides_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let mut other = std::process::Command::new("sleep").arg("60").spawn().unwrap();
        let name = format!("{}-1{ENDING}", other.id());
        crate::save::save(&Job::default(), &dir.path().join(name)).unwrap();
        assert_eq!(Journal::left_behind(dir.path()).len(), 1);
        // Killed, and nobody has asked what became of it.
        other.kill().unwrap();
        assert_eq!(Journal::left_behind(dir.path()).len(), 1);
        other.wait().unwrap();
        assert!(!is_one_of_us("none") && is_one_of_us("self"));
    }
}
