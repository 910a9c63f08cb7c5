//! Getting a job onto the disk and back so that no failure, crash or power cut loses it.

use crate::file::{self, FormatError};
use crate::job::Job;
use sha2::{Digest, Sha256};
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use thiserror::Error;

/// Longest job file that is read, bytes: a job is a few thousand.
const MOST_BYTES: u64 = 64_000_000;

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

/// Writes `bytes` to `path` so that at every moment either the old or the new file is whole: into a
/// new file beside it, flushed to the disk, then renamed over the old one. Who may read the old one may
/// read the new one; behind a link, the file it leads to is replaced.
///
/// # Errors
/// The operating system's; the old file is untouched then.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let path = &path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let temporary = beside(path, &format!("new-{}", unique()));
    let written = (|| {
        let mut file = File::options().write(true).create_new(true).open(&temporary)?;
        file.write_all(bytes)?;
        if let Ok(old) = fs::metadata(path) {
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
    // The rename itself must reach the disk; some file systems cannot be asked, which is no failure.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// Saves a job, keeping the version before as `NAME.backup`. A job file that is damaged, or newer than this
/// program, is set aside first, as `NAME.1`.
///
/// # Errors
/// [`SaveError::Io`], and [`SaveError::NotOurs`] where something else than a job stands there; what was on
/// the disk before is whole then.
pub fn save(job: &Job, path: &Path) -> Result<(), SaveError> {
    let io_error = |source: io::Error| SaveError::Io {
        what: "write",
        path: path.display().to_string(),
        advice: advice_for(&source),
        source,
    };
    let text = file::to_text(job, path.parent());
    if let Ok(old) = fs::read(path) {
        if old == text.as_bytes() {
            return Ok(());
        }
        match read(&old, path) {
            Ok(_) => write_whole(&backup_of(path), &old).map_err(io_error)?,
            Err(_) if old.is_empty() => {}
            // A damaged file is no backup worth having, but it is not ours to throw away.
            Err(e) if looks_like_a_job(&old, &e) => drop(set_aside(path)?),
            Err(_) => return Err(SaveError::NotOurs { path: path.display().to_string() }),
        }
    }
    write_whole(path, text.as_bytes()).map_err(io_error)
}

/// Loads a job.
///
/// # Errors
/// [`SaveError`]; names the backup when there is one.
pub fn load(path: &Path) -> Result<Job, SaveError> {
    let shown = path.display().to_string();
    let io_error = |source: io::Error| SaveError::Io {
        what: "read",
        path: shown.clone(),
        advice: "Check the name and that you may read the file.",
        source,
    };
    let about = fs::metadata(path).map_err(io_error)?;
    if about.is_dir() {
        return Err(io_error(io::Error::new(io::ErrorKind::IsADirectory, "it is a folder")));
    }
    if about.len() > MOST_BYTES {
        return Err(SaveError::TooLong { path: shown, bytes: about.len(), limit: MOST_BYTES });
    }
    let bytes = fs::read(path).map_err(io_error)?;
    read(&bytes, path).map_err(|source| {
        let backup = backup_of(path);
        let backup = if backup.is_file() {
            format!(" The version before is in {}.", backup.display())
        } else {
            String::new()
        };
        SaveError::Format { path: shown.clone(), source, backup }
    })
}

/// Whether what could not be read for this reason was a job, or of a newer program.
fn looks_like_a_job(bytes: &[u8], why: &FormatError) -> bool {
    bytes.trim_ascii_start().starts_with(b"{") && !matches!(why, FormatError::NotAJob { .. })
}

/// The job in the bytes of `path`.
fn read(bytes: &[u8], path: &Path) -> Result<Job, FormatError> {
    let text =
        std::str::from_utf8(bytes).map_err(|e| FormatError::NotText { at: e.valid_up_to() })?;
    file::from_text(text, path.parent())
}

/// Where the version before the last save of `path` is kept.
#[must_use]
pub fn backup_of(path: &Path) -> PathBuf {
    beside(path, "backup")
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
    let bytes = fs::read(path).map_err(|e| failed("read", path, e))?;
    for number in 1_u32.. {
        let free = beside(path, &number.to_string());
        match File::options().write(true).create_new(true).open(&free) {
            Ok(mut file) => {
                let written = file.write_all(&bytes).and_then(|()| file.sync_all());
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

/// SHA-256 of a file, lower-case hexadecimal.
///
/// # Errors
/// The operating system's.
pub fn sha256_of_file(path: &Path) -> io::Result<String> {
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

fn beside(path: &Path, ending: &str) -> PathBuf {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    path.with_file_name(format!("{name}.{ending}"))
}

fn unique() -> String {
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
mod tests {
    use super::*;

    #[test]
    fn saving_keeps_the_version_before() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("loom.flanklight.json");
        let mut job = Job { title: "first".into(), ..Job::default() };
        save(&job, &path).unwrap();
        assert!(!backup_of(&path).exists());
        job.title = "second".into();
        save(&job, &path).unwrap();
        assert_eq!(load(&path).unwrap().title, "second");
        assert_eq!(load(&backup_of(&path)).unwrap().title, "first");
        // No temporary files stay behind.
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    #[test]
    fn a_damaged_file_names_its_backup_and_does_not_replace_it() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.json");
        for title in ["one", "two"] {
            save(&Job { title: title.into(), ..Job::default() }, &path).unwrap();
        }
        fs::write(&path, b"{\"schema\": \"flankli").unwrap();
        let text = load(&path).unwrap_err().to_string();
        assert!(text.contains("a.json.backup"), "{text}");
        save(&Job { title: "three".into(), ..Job::default() }, &path).unwrap();
        assert_eq!(load(&backup_of(&path)).unwrap().title, "one");
        assert_eq!(fs::read(dir.path().join("a.json.1")).unwrap(), b"{\"schema\": \"flankli");
    }

    #[test]
    fn nothing_but_a_job_is_written_over() {
        let dir = tempfile::tempdir().unwrap();
        for (name, bytes) in [
            ("shadow.jpg", &b"\xff\xd8\xff\xe0 a picture"[..]),
            ("package.json", b"{\"schema\": \"something else\"}"),
            ("notes.txt", b"turn the nut"),
        ] {
            let path = dir.path().join(name);
            fs::write(&path, bytes).unwrap();
            let text = save(&Job::default(), &path).unwrap_err().to_string();
            assert!(text.contains("is no job file") && text.contains(name), "{text}");
            assert_eq!(fs::read(&path).unwrap(), bytes);
        }
    }

    #[test]
    fn a_letter_of_another_encoding_is_named_and_kept() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.json");
        save(&Job { title: "M?ller".into(), ..Job::default() }, &path).unwrap();
        let mut bytes = fs::read(&path).unwrap();
        let at = bytes.iter().position(|b| *b == b'?').unwrap();
        bytes[at] = 0xfc;
        fs::write(&path, &bytes).unwrap();
        let text = load(&path).unwrap_err().to_string();
        assert!(text.contains("UTF-8") && text.contains(&at.to_string()), "{text}");
        save(&Job::default(), &path).unwrap();
        assert_eq!(fs::read(dir.path().join("a.json.1")).unwrap(), bytes);
    }

    #[cfg(unix)]
    #[test]
    fn who_may_read_it_and_where_it_leads_stay() {
        use std::os::unix::fs::PermissionsExt;
        let dir = tempfile::tempdir().unwrap();
        let (file, link) = (dir.path().join("a.json"), dir.path().join("link.json"));
        fs::write(&file, b"").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        save(&Job { title: "behind it".into(), ..Job::default() }, &link).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
        assert_eq!(load(&file).unwrap().title, "behind it");
    }

    #[test]
    fn what_is_set_aside_is_kept_under_a_free_name() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.json");
        for (title, kept) in [("one", "a.json.1"), ("two", "a.json.2")] {
            save(&Job { title: title.into(), ..Job::default() }, &path).unwrap();
            assert_eq!(set_aside(&path).unwrap(), dir.path().join(kept));
        }
        assert_eq!(load(&dir.path().join("a.json.1")).unwrap().title, "one");
        assert_eq!(load(&path).unwrap().title, "two");
        assert!(set_aside(&dir.path().join("none.json")).is_err());
    }

    #[test]
    fn a_folder_that_is_not_there_is_a_sentence() {
        let e = save(&Job::default(), Path::new("/no/such/folder/a.json")).unwrap_err();
        assert!(e.to_string().contains("folder does not exist"), "{e}");
        let e = load(Path::new("/")).unwrap_err();
        assert!(e.to_string().contains("folder"), "{e}");
    }

    #[test]
    fn the_hash_is_sha_256() {
        // FIPS 180-4, example "abc" (NIST, Examples with Intermediate Values).
        assert_eq!(
            sha256_of(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
