//! Reading and locking files so that nothing waits for ever: ordinary files only, no longer than they may
//! be, and not waited for longer than anybody would.

use std::fs::{self, File, TryLockError};
use std::io::{self, Read};
use std::path::Path;
use std::sync::mpsc::channel;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use thiserror::Error;

/// How long a file is waited for. A disk that sleeps answers in ten seconds; a network drive that does not
/// answer in this time is gone.
pub const PATIENCE: Duration = Duration::from_secs(20);

/// How long another program may hold a folder while it saves.
const LOCK_PATIENCE: Duration = Duration::from_secs(10);

/// Why a file was not read.
#[derive(Debug, Error)]
pub enum ReadError {
    /// The operating system refused.
    #[error("{0}")]
    Io(#[from] io::Error),
    /// It is a folder, a pipe or a device.
    #[error("it is {0}, and no ordinary file")]
    NotAFile(&'static str),
    /// It is longer than it may be.
    #[error("it has {bytes} bytes; at most {limit} are read")]
    TooLong {
        /// Its length.
        bytes: u64,
        /// Longest length that is read.
        limit: u64,
    },
    /// The disk does not answer.
    #[error("its disk or network drive did not answer within {} s", .0.as_secs())]
    Slow(Duration),
    /// It is text in an encoding that is not read.
    #[error(
        "byte {at} is not UTF-8; an editor has changed its encoding: save it from there as UTF-8"
    )]
    NotText {
        /// Which byte, from 0.
        at: usize,
    },
}

/// Does `work` on a thread of its own and waits for it no longer than `limit`; a disk that hangs then
/// hangs there alone. Where the system gives no more threads, it is done on this one.
///
/// # Errors
/// [`ReadError::Slow`] when it took too long.
pub fn patiently<T: Send + 'static>(
    limit: Duration,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, ReadError> {
    let (done, answer) = channel();
    let work = Arc::new(Mutex::new(Some(work)));
    let its = Arc::clone(&work);
    let take = |work: &Mutex<Option<_>>| work.lock().ok().and_then(|mut w| w.take());
    let started = std::thread::Builder::new().name("flanklight-read".into()).spawn(move || {
        if let Some(work) = take(&its) {
            // Nobody may be waiting any more.
            let _ = done.send(work());
        }
    });
    match started {
        Ok(_) => answer.recv_timeout(limit).map_err(|_| ReadError::Slow(limit)),
        Err(_) => take(&work).map(|work| work()).ok_or(ReadError::Slow(limit)),
    }
}

/// Whether `path` is an ordinary file, and how long it is.
///
/// # Errors
/// [`ReadError`].
pub fn ordinary(path: &Path) -> Result<u64, ReadError> {
    let about = fs::metadata(path)?;
    if about.is_dir() {
        return Err(ReadError::NotAFile("a folder"));
    }
    if !about.is_file() {
        return Err(ReadError::NotAFile("a pipe or a device"));
    }
    Ok(about.len())
}

/// [`ordinary`], not waited for longer than [`PATIENCE`].
///
/// # Errors
/// [`ReadError`].
pub fn is_there(path: &Path) -> Result<u64, ReadError> {
    let asked = path.to_owned();
    patiently(PATIENCE, move || ordinary(&asked))?
}

/// The bytes of an ordinary file of at most `limit` bytes.
///
/// # Errors
/// [`ReadError`].
pub fn read_file(path: &Path, limit: u64) -> Result<Vec<u8>, ReadError> {
    let asked = path.to_owned();
    let read = move || {
        let bytes = ordinary(&asked)?;
        if bytes > limit {
            return Err(ReadError::TooLong { bytes, limit });
        }
        let mut out = Vec::new();
        // It may grow while it is read.
        File::open(&asked)?.take(limit + 1).read_to_end(&mut out)?;
        match out.len() as u64 {
            bytes if bytes > limit => Err(ReadError::TooLong { bytes, limit }),
            _ => Ok(out),
        }
    };
    patiently(PATIENCE, read)?
}

/// The text of bytes: UTF-8, or UTF-16 as some editors and spreadsheets write it, with its mark in front.
///
/// # Errors
/// [`ReadError::NotText`].
pub fn text_of(bytes: &[u8]) -> Result<String, ReadError> {
    let wide = |of_two: fn([u8; 2]) -> u16| {
        let (pairs, odd) = bytes[2..].as_chunks::<2>();
        let units: Vec<u16> = pairs.iter().map(|&p| of_two(p)).collect();
        match String::from_utf16(&units) {
            Ok(text) if odd.is_empty() => Ok(text),
            _ => Err(ReadError::NotText { at: 0 }),
        }
    };
    match bytes {
        [0xFF, 0xFE, ..] => wide(u16::from_le_bytes),
        [0xFE, 0xFF, ..] => wide(u16::from_be_bytes),
        _ => {
            let plain = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
            let text = std::str::from_utf8(plain).map_err(|e| ReadError::NotText {
                at: e.valid_up_to() + bytes.len() - plain.len(),
            })?;
            Ok(text.to_owned())
        }
    }
}

/// The text of an ordinary file of at most `limit` bytes.
///
/// # Errors
/// [`ReadError`].
pub fn read_text(path: &Path, limit: u64) -> Result<String, ReadError> {
    text_of(&read_file(path, limit)?)
}

/// A folder that nobody else who asks for it writes into meanwhile.
#[derive(Debug)]
pub struct Lock {
    _held: Option<File>,
}

impl Lock {
    /// Waits until no other program holds `folder`. Where a folder cannot be locked, a file among the
    /// temporary ones stands for it.
    ///
    /// # Errors
    /// When another program holds it all the while.
    pub fn of(folder: &Path) -> io::Result<Self> {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let until = Instant::now() + LOCK_PATIENCE;
        if let Ok(held) = File::open(folder)
            && let Some(lock) = Self::on(held, until)?
        {
            return Ok(lock);
        }
        let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
        let name = crate::save::sha256_of(whole.to_string_lossy().as_bytes());
        let stand_in = std::env::temp_dir().join(format!("flanklight-{}.lock", &name[..16]));
        let made = File::options().create(true).truncate(false).write(true).open(stand_in);
        if let Ok(held) = made
            && let Some(lock) = Self::on(held, until)?
        {
            return Ok(lock);
        }
        // Nothing can be locked here; whether a file was changed is looked at all the same.
        Ok(Self { _held: None })
    }

    /// `None` where this cannot be locked at all.
    fn on(held: File, until: Instant) -> io::Result<Option<Self>> {
        loop {
            match held.try_lock() {
                Ok(()) => return Ok(Some(Self { _held: Some(held) })),
                Err(TryLockError::Error(_)) => return Ok(None),
                Err(TryLockError::WouldBlock) if Instant::now() > until => {
                    return Err(io::Error::new(
                        io::ErrorKind::WouldBlock,
                        "another program has been writing there all the while",
                    ));
                }
                Err(TryLockError::WouldBlock) => std::thread::sleep(Duration::from_millis(10)),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_ordinary_files_no_longer_than_allowed() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.csv");
        fs::write(&path, "12345").unwrap();
        assert_eq!(read_file(&path, 5).unwrap(), b"12345");
        let text = read_file(&path, 4).unwrap_err().to_string();
        assert!(text.contains("5 bytes") && text.contains("at most 4"), "{text}");
        assert!(read_file(dir.path(), 5).unwrap_err().to_string().contains("a folder"));
    }

    #[cfg(unix)]
    #[test]
    fn pipes_and_devices_are_not_waited_for() {
        let dir = tempfile::tempdir().unwrap();
        let pipe = dir.path().join("pipe.json");
        let made = std::process::Command::new("mkfifo").arg(&pipe).status().unwrap();
        assert!(made.success());
        for path in [pipe.as_path(), Path::new("/dev/zero")] {
            let text = read_file(path, 100).unwrap_err().to_string();
            assert!(text.contains("a pipe or a device"), "{text}");
        }
    }

    #[test]
    fn what_does_not_answer_is_left() {
        let (go, wait) = channel::<()>();
        let text = patiently(Duration::from_millis(1), move || wait.recv().is_ok()).unwrap_err();
        assert!(text.to_string().contains("did not answer"), "{text}");
        drop(go);
        assert_eq!(patiently(PATIENCE, || 7).unwrap(), 7);
    }

    #[test]
    fn text_comes_in_more_encodings_than_one() {
        let wide: Vec<u8> = [0xFF, 0xFE]
            .into_iter()
            .chain("1,µ".encode_utf16().flat_map(u16::to_le_bytes))
            .collect();
        assert_eq!(text_of(&wide).unwrap(), "1,µ");
        assert_eq!(text_of(b"\xEF\xBB\xBFx").unwrap(), "x");
        let text = text_of(b"M\xFCller").unwrap_err().to_string();
        assert!(text.contains("byte 1 is not UTF-8"), "{text}");
    }
}
