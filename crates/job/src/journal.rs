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
    /// When it was kept last.
    pub when: SystemTime,
}

/// What crashes left behind.
#[derive(Debug, Default)]
pub struct LeftBehind {
    /// Jobs, newest first.
    pub jobs: Vec<Recovered>,
    /// Journals that cannot be read, and why; they stay where they are.
    pub unread: Vec<SaveError>,
}

impl Journal {
    /// A journal in `folder` for this process.
    ///
    /// # Errors
    /// The operating system's, when the folder cannot be made.
    pub fn start(folder: &Path) -> io::Result<Self> {
        private_folder(folder)?;
        crate::save::clean_after_kills(folder, None);
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
    pub fn left_behind(folder: &Path) -> LeftBehind {
        let mut found = LeftBehind::default();
        let Ok(entries) = std::fs::read_dir(folder) else { return found };
        for entry in entries.filter_map(Result::ok) {
            let name = entry.file_name().to_string_lossy().into_owned();
            if !name.ends_with(ENDING) || still_runs(&name) {
                continue;
            }
            let when = entry.metadata().and_then(|m| m.modified()).unwrap_or(UNIX_EPOCH);
            match read(&entry.path(), when) {
                Ok(recovered) => found.jobs.push(recovered),
                Err(e) => found.unread.push(e),
            }
        }
        found.jobs.sort_by_key(|r| std::cmp::Reverse(r.when));
        found
    }
}

const HOME: &str = "journal_home";

fn read(path: &Path, when: SystemTime) -> Result<Recovered, SaveError> {
    let mut job = crate::save::load(path)?;
    let home = job.unknown.remove(HOME).and_then(|v| v.as_str().map(PathBuf::from));
    Ok(Recovered { journal: path.to_owned(), home, job, when })
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
/// else `~/.local/state/flanklight`, else a folder of this person's own among the temporary files.
#[must_use]
pub fn state_folder() -> PathBuf {
    let variable = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    variable("XDG_STATE_HOME")
        .or_else(|| variable("LOCALAPPDATA"))
        .or_else(|| variable("HOME").map(|h| h.join(".local").join("state")))
        .map_or_else(|| own_among(&std::env::temp_dir()), |folder| folder.join("flanklight"))
}

/// A folder among those of all, that is this person's and nobody else's.
fn own_among(shared: &Path) -> PathBuf {
    let whose = owner(Path::new("/proc/self")).map_or_else(String::new, |id| format!("-{id}"));
    let names = (1..100).map(|n| match n {
        1 => shared.join(format!("flanklight{whose}")),
        n => shared.join(format!("flanklight{whose}-{n}")),
    });
    // What another put there under that name, or a link of his, is not used.
    names
        .into_iter()
        .find(|path| match std::fs::symlink_metadata(path) {
            Ok(about) => about.is_dir() && owner(path) == owner(Path::new("/proc/self")),
            Err(_) => true,
        })
        .unwrap_or_else(|| shared.join(format!("flanklight{whose}-{}", crate::save::unique())))
}

/// Whose a file is; `None` where the system does not say.
fn owner(path: &Path) -> Option<u32> {
    #[cfg(unix)]
    return std::fs::symlink_metadata(path).ok().map(|m| std::os::unix::fs::MetadataExt::uid(&m));
    #[cfg(not(unix))]
    {
        let _ = path;
        None
    }
}

/// Makes a folder that this person alone may read, unless it is there.
fn private_folder(path: &Path) -> io::Result<()> {
    let mut maker = std::fs::DirBuilder::new();
    maker.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut maker, 0o700);
    maker.create(path)
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
        let found = Journal::left_behind(dir.path()).jobs;
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].job, job);
        assert_eq!(found[0].home.as_deref(), Some(Path::new("/x/loom.json")));
        journal.clear();
        assert!(Journal::left_behind(dir.path()).jobs.is_empty());
    }

    #[test]
    fn a_journal_that_cannot_be_read_is_told_and_stays() {
        let dir = tempfile::tempdir().unwrap();
        for (name, text) in [
            ("4294967294-1.recovery.json", "{\"schema\": \"flankli"),
            ("4294967294-2.recovery.json", "{\"schema\": \"flanklight/job/9\"}"),
        ] {
            std::fs::write(dir.path().join(name), text).unwrap();
        }
        let left = dir.path().join("4294967294-3.recovery.json.new-4294967294-0");
        std::fs::write(&left, "half").unwrap();
        let found = Journal::left_behind(dir.path());
        assert!(found.jobs.is_empty());
        let mut said: Vec<String> = found.unread.iter().map(ToString::to_string).collect();
        said.sort();
        assert!(
            said[0].contains("-1.recovery.json") && said[0].contains("stops too early"),
            "{said:?}"
        );
        assert!(said[1].contains("newer Flanklight"), "{said:?}");
        Journal::start(dir.path()).unwrap();
        assert!(!left.exists());
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    #[cfg(unix)]
    #[test]
    fn without_a_home_the_journal_is_in_a_folder_of_ones_own() {
        use std::os::unix::fs::PermissionsExt;
        let dir = tempfile::tempdir().unwrap();
        let first = own_among(dir.path());
        let id = owner(dir.path()).unwrap();
        assert!(first.ends_with(format!("flanklight-{id}")), "{}", first.display());
        // A link that somebody put there is not followed.
        std::os::unix::fs::symlink("/etc", &first).unwrap();
        let second = own_among(dir.path());
        assert_ne!(first, second);
        Journal::start(&second).unwrap();
        let mode = std::fs::metadata(&second).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o700);
        assert_eq!(own_among(dir.path()), second);
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_number_that_went_to_another_hides_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let mut other = std::process::Command::new("sleep").arg("60").spawn().unwrap();
        let name = format!("{}-1{ENDING}", other.id());
        crate::save::save(&Job::default(), &dir.path().join(name)).unwrap();
        assert_eq!(Journal::left_behind(dir.path()).jobs.len(), 1);
        // Killed, and nobody has asked what became of it.
        other.kill().unwrap();
        assert_eq!(Journal::left_behind(dir.path()).jobs.len(), 1);
        other.wait().unwrap();
        assert!(!is_one_of_us("none") && is_one_of_us("self"));
    }
}
