//! Getting a job onto the disk and back so that no failure, crash or power cut loses it.

use crate::clock::stamp;
use crate::disk::{self, Lock, ReadError};
use crate::file::{self, FormatError};
use crate::job::Job;
use sha2::{Digest, Sha256};
use std::fs::{self, File, Metadata};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::SystemTime;
use thiserror::Error;

/// Longest job file that is read, bytes: a job is a few thousand, with a thousand clicked points a hundred
/// thousand.
const MOST_BYTES: u64 = 8_000_000;

/// Longest file whose digest is taken, bytes: the longest picture that is read.
const MOST_DIGESTED: u64 = 600_000_000;

/// Versions that are kept of a job: the last few, and one of each day before.
const LAST_BACKUPS: usize = 4;
const DAYS_OF_BACKUPS: usize = 6;

/// What a job's file held when it was last read or written; nothing where there was none.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Mark(Option<String>);

impl Mark {
    fn of(bytes: &[u8]) -> Self {
        Self(Some(sha256_of(bytes)))
    }
}

/// Why a job could not be loaded or saved.
#[derive(Debug, Error)]
pub enum SaveError {
    /// The operating system refused.
    #[error("cannot {what} {path}: {source}. {advice}")]
    Io {
        /// `"read"` or `"write"`.
        what: &'static str,
        /// The file.
        path: String,
        /// Its reason.
        source: io::Error,
        /// What to do.
        advice: &'static str,
    },
    /// The file is far too long for a job.
    #[error("{path} has {bytes} bytes; a job file has at most {limit}. Is this a job file?")]
    TooLong {
        /// The file.
        path: String,
        /// Its length.
        bytes: u64,
        /// The limit.
        limit: u64,
    },
    /// It holds something else, which a job would replace.
    #[error(
        "{path} is there already and is no job file: it is not written over. Give the job another name."
    )]
    NotOurs {
        /// The file.
        path: String,
    },
    /// Somebody else wrote it since it was read.
    #[error(
        "{path} was changed by another window or command since it was read: nothing was written over it. \
         Read it again, and make the change once more."
    )]
    Changed {
        /// The file.
        path: String,
    },
    /// Whoever made it wants it to stay as it is.
    #[error(
        "{path} is marked as not to be written: nothing was changed. Give the job another name, or allow \
         writing."
    )]
    ReadOnly {
        /// The file.
        path: String,
    },
    /// It cannot be read, for a reason of its own.
    #[error("cannot read {path}: {source}. {advice}")]
    Unread {
        /// The file.
        path: String,
        /// Why.
        source: ReadError,
        /// What to do.
        advice: &'static str,
    },
    /// It was read and is no job.
    #[error("{path}: {source}{backup}")]
    Format {
        /// The file.
        path: String,
        /// What is wrong.
        source: FormatError,
        /// A sentence about a backup beside it, or nothing.
        backup: String,
    },
}

/// The folder a path lies in.
pub(crate) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    }
}

/// Writes `bytes` to `path` so that at every moment either the old or the new file is whole: into a
/// new file beside it, flushed to the disk, then renamed over the old one. Who may read the old one may
/// read the new one; behind a link, the file it leads to is replaced.
///
/// # Errors
/// The operating system's; the old file is untouched then.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let path = &path.canonicalize().unwrap_or_else(|_| path.to_owned());
    write_like(path, bytes, fs::metadata(path).ok().as_ref())
}

/// [`write_whole`], to be read by whom `like` may be read.
fn write_like(path: &Path, bytes: &[u8], like: Option<&Metadata>) -> io::Result<()> {
    let temporary = beside(path, &format!("new-{}", unique()));
    let written = (|| {
        let mut file = new_file(&temporary, like.is_some())?;
        file.write_all(bytes)?;
        if let Some(old) = like {
            file.set_permissions(old.permissions())?;
        }
        file.sync_all()?;
        fs::rename(&temporary, path)
    })();
    if written.is_err() {
        // Nothing useful can be done when even this fails.
        let _ = fs::remove_file(&temporary);
        return written;
    }
    sync_folder(folder_of(path));
    Ok(())
}

/// A file that is not there yet; one that takes over from another is nobody else's until it may be read by
/// the same.
fn new_file(path: &Path, private: bool) -> io::Result<File> {
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    if private {
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    }
    #[cfg(not(unix))]
    let _ = private;
    options.open(path)
}

/// A rename must reach the disk; some file systems cannot be asked, which is no failure.
pub(crate) fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// Saves a job whatever its file holds by now, keeping the version before; see [`save_over`].
///
/// # Errors
/// As [`save_over`].
pub fn save(job: &Job, path: &Path) -> Result<(), SaveError> {
    save_over(job, path, None).map(drop)
}

/// Saves a job over the file that held `expected` when it was read, keeping the version before beside it
/// with its time in its name (see [`backups_of`]). A job file that is damaged, or newer than this program,
/// is set aside first, as `NAME.1`. Nobody else who saves jobs writes in the folder meanwhile.
///
/// # Errors
/// [`SaveError::Changed`] where the file holds something else by now, [`SaveError::NotOurs`] where something
/// else than a job stands there, [`SaveError::ReadOnly`], [`SaveError::Unread`] and [`SaveError::Io`]; what
/// was on the disk before is whole then.
pub fn save_over(job: &Job, path: &Path, expected: Option<&Mark>) -> Result<Mark, SaveError> {
    let shown = || path.display().to_string();
    let io_error = |source: io::Error| SaveError::Io {
        what: "write",
        path: shown(),
        advice: advice_for(&source),
        source,
    };
    let text = file::to_text(job, Some(folder_of(path)));
    let real = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let _lock = Lock::of(folder_of(&real)).map_err(io_error)?;
    clean_after_kills(folder_of(&real), Some(&real));
    let old = match disk::read_file(&real, MOST_BYTES) {
        Ok(bytes) => Some(bytes),
        Err(ReadError::Io(e)) if e.kind() == io::ErrorKind::NotFound => None,
        Err(ReadError::TooLong { .. }) => return Err(SaveError::NotOurs { path: shown() }),
        Err(source) => {
            let advice = "It is not written over: give the job another name.";
            return Err(SaveError::Unread { path: shown(), source, advice });
        }
    };
    let mark = Mark::of(text.as_bytes());
    let now = Mark(old.as_deref().map(sha256_of));
    if now == mark {
        return Ok(mark);
    }
    if expected.is_some_and(|e| *e != now) {
        return Err(SaveError::Changed { path: shown() });
    }
    if let Some(old) = old {
        let about = fs::metadata(&real).map_err(io_error)?;
        if about.permissions().readonly() {
            return Err(SaveError::ReadOnly { path: shown() });
        }
        match read(&old, path) {
            Ok(_) => back_up(&real, &old, &about).map_err(io_error)?,
            Err(_) if old.is_empty() => {}
            // A damaged file is no backup worth having, but it is not ours to throw away.
            Err(e) if looks_like_a_job(&old, &e) => drop(set_aside(&real)?),
            Err(_) => return Err(SaveError::NotOurs { path: shown() }),
        }
    }
    write_whole(&real, text.as_bytes()).map_err(io_error)?;
    Ok(mark)
}

/// Loads a job.
///
/// # Errors
/// [`SaveError`]; names the backup when there is one.
pub fn load(path: &Path) -> Result<Job, SaveError> {
    load_marked(path).map(|(job, _)| job)
}

/// [`load`], with a mark of what the file held.
///
/// # Errors
/// As [`load`].
pub fn load_marked(path: &Path) -> Result<(Job, Mark), SaveError> {
    let shown = path.display().to_string();
    let bytes = disk::read_file(path, MOST_BYTES).map_err(|e| match e {
        ReadError::TooLong { bytes, limit } => {
            SaveError::TooLong { path: shown.clone(), bytes, limit }
        }
        source => {
            let advice = "Check the name and that you may read the file.";
            SaveError::Unread { path: shown.clone(), source, advice }
        }
    })?;
    let job = read(&bytes, path).map_err(|source| {
        let backup = match backups_of(path).first() {
            Some(backup) => format!(" The version before is in {}.", backup.display()),
            None => String::new(),
        };
        SaveError::Format { path: shown.clone(), source, backup }
    })?;
    Ok((job, Mark::of(&bytes)))
}

/// Whether what could not be read for this reason was a job, or of a newer program.
fn looks_like_a_job(bytes: &[u8], why: &FormatError) -> bool {
    bytes.trim_ascii_start().starts_with(b"{") && !matches!(why, FormatError::NotAJob { .. })
}

/// The job in the bytes of `path`.
fn read(bytes: &[u8], path: &Path) -> Result<Job, FormatError> {
    let text = disk::text_of(bytes).map_err(|e| match e {
        ReadError::NotText { at } => FormatError::NotText { at },
        other => FormatError::NotJson { detail: other.to_string() },
    })?;
    file::from_text(&text, Some(folder_of(path)))
}

/// Between the name of a job's file and the time in the name of a version before.
const BACKUP: &str = "backup-";

/// The versions of `path` before its last saves, newest first: `NAME.backup-2024-02-29-235959`.
#[must_use]
pub fn backups_of(path: &Path) -> Vec<PathBuf> {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let start = format!("{name}.{BACKUP}");
    let ours = |p: &PathBuf| {
        let rest = p.file_name().and_then(|n| n.to_str()).and_then(|n| n.strip_prefix(&start));
        rest.is_some_and(|r| r.len() >= 17 && r.bytes().all(|b| b.is_ascii_digit() || b == b'-'))
    };
    let Ok(entries) = fs::read_dir(folder_of(path)) else { return Vec::new() };
    let mut found: Vec<_> = entries.filter_map(Result::ok).map(|e| e.path()).filter(ours).collect();
    found.sort_by(|a, b| b.cmp(a));
    found
}

/// Keeps a version of a job beside it, and of those before the last few and one of each day.
fn back_up(path: &Path, bytes: &[u8], like: &Metadata) -> io::Result<()> {
    let time = stamp(SystemTime::now());
    // Of several in a second, each has a number above those before.
    let last = backups_of(path).first().and_then(|p| {
        let (_, rest) = p.to_str()?.rsplit_once(&format!("{BACKUP}{time}"))?;
        Some(rest.strip_prefix('-').map_or(1, |n| n.parse().unwrap_or(1_u32)))
    });
    let ending = last.map_or_else(String::new, |n| format!("-{:04}", n + 1));
    let free = beside(path, &format!("{BACKUP}{time}{ending}"));
    write_like(&free, bytes, Some(like))?;
    let day = |p: &Path| p.to_string_lossy().rsplit_once(BACKUP).map(|(_, t)| t[..10].to_owned());
    let mut days: Vec<Option<String>> = Vec::new();
    for (i, old) in backups_of(path).iter().enumerate() {
        let new_day = !days.contains(&day(old));
        if new_day {
            days.push(day(old));
        }
        if i >= LAST_BACKUPS && (!new_day || days.len() > DAYS_OF_BACKUPS) {
            // One too many does no harm.
            let _ = fs::remove_file(old);
        }
    }
    Ok(())
}

/// Takes away new files that were never finished because their program was killed: in `folder`, of `path`
/// where one is given. Called while the folder is locked, or is this person's own.
pub(crate) fn clean_after_kills(folder: &Path, path: Option<&Path>) {
    let of = path.and_then(Path::file_name).map(|n| format!("{}.new-", n.to_string_lossy()));
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.filter_map(Result::ok) {
        let name = entry.file_name().to_string_lossy().into_owned();
        let Some((_, rest)) = name.rsplit_once(".new-") else { continue };
        if of.as_ref().is_some_and(|of| name.strip_prefix(of.as_str()) != Some(rest)) {
            continue;
        }
        let id = rest.split_once('-').filter(|(_, n)| n.parse::<u64>().is_ok());
        if let Some(id) = id.and_then(|(id, _)| id.parse::<u32>().ok())
            && id != std::process::id()
            && !crate::journal::is_running(id)
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Keeps what `path` holds under the first free name `NAME.1`, `NAME.2` …, before something else is
/// written there; answers with that name.
///
/// # Errors
/// [`SaveError::Io`]; the file is untouched in any case.
pub fn set_aside(path: &Path) -> Result<PathBuf, SaveError> {
    let failed = |what, at: &Path, source: io::Error| SaveError::Io {
        what,
        path: at.display().to_string(),
        advice: advice_for(&source),
        source,
    };
    let bytes = disk::read_file(path, MOST_BYTES).map_err(|e| match e {
        ReadError::Io(e) => failed("read", path, e),
        other => failed("read", path, io::Error::other(other)),
    })?;
    let like = fs::metadata(path).map_err(|e| failed("read", path, e))?;
    for number in 1_u32..10_000 {
        let free = beside(path, &number.to_string());
        match new_file(&free, true) {
            Ok(mut file) => {
                let written = file
                    .write_all(&bytes)
                    .and_then(|()| file.set_permissions(like.permissions()))
                    .and_then(|()| file.sync_all());
                if written.is_err() {
                    // Half a copy would pass for a whole one.
                    let _ = fs::remove_file(&free);
                }
                return written.map(|()| free.clone()).map_err(|e| failed("write", &free, e));
            }
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
            Err(e) => return Err(failed("write", &free, e)),
        }
    }
    Err(failed("write", path, io::Error::from(io::ErrorKind::AlreadyExists)))
}

/// SHA-256 of an ordinary file of at most 600 million bytes, lower-case hexadecimal.
///
/// # Errors
/// The operating system's, and where it is another kind of file or longer.
pub fn sha256_of_file(path: &Path) -> io::Result<String> {
    let bytes = disk::is_there(path).map_err(io::Error::other)?;
    if bytes > MOST_DIGESTED {
        let limit = MOST_DIGESTED;
        return Err(io::Error::other(ReadError::TooLong { bytes, limit }));
    }
    let mut file = File::open(path)?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    loop {
        match file.read(&mut buffer)? {
            0 => return Ok(hex(&hasher.finalize())),
            n => hasher.update(&buffer[..n]),
        }
    }
}

/// SHA-256 of bytes, lower-case hexadecimal.
#[must_use]
pub fn sha256_of(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    path.with_file_name(format!("{name}.{ending}"))
}

pub(crate) fn unique() -> String {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    format!("{}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed))
}

fn advice_for(error: &io::Error) -> &'static str {
    match error.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "Choose a folder you may write to; nothing was lost."
        }
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "The disk is full: make room or choose another; the file from before is whole."
        }
        io::ErrorKind::NotFound => "The folder does not exist; choose another.",
        _ => "The file from before, if there was one, is whole.",
    }
}

#[cfg(test)]
#[path = "save_tests.rs"]
mod tests;
