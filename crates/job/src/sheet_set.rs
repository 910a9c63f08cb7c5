//! The files of one job in a folder, as one set: written aside and swapped in together, or not at all.
//!
//! A list in the folder says which files are written here, of which job, and what they held. A file that is
//! not in it, and does not name this program in itself, is never replaced; one that was changed since is
//! moved aside first. What an earlier export of the same job left and this one does not have is taken away:
//! a template must not lie beside the page that says nothing may be made.

use crate::disk::{self, Lock, ReadError};
use crate::save::{beside, clean_after_kills, sha256_of, sync_folder, unique, write_whole};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Name of the list in each folder.
pub const LIST: &str = ".flanklight-files.json";
const SCHEMA: &str = "flanklight/files/1";

/// Longest file that is looked into, bytes; a sheet has at most a few million.
pub const MOST_BYTES: u64 = 64_000_000;

/// What was written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    /// The files, in the order in which they were given.
    pub files: Vec<PathBuf>,
    /// Files of an earlier set of the same job that were out of date, and are gone.
    pub removed: Vec<PathBuf>,
    /// Where files are now that somebody changed after they were written here.
    pub set_aside: Vec<PathBuf>,
}

/// Why nothing was written.
#[derive(Debug)]
pub struct SetError {
    /// The file or folder.
    pub path: PathBuf,
    /// The reason.
    pub source: io::Error,
}

/// A file of the list.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Listed {
    /// Which set it belongs to.
    set: String,
    /// Digest of the job it was drawn from.
    job: String,
    /// Digests of what it may hold: one, and two while a set is being swapped in.
    sha256: Vec<String>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct List {
    schema: String,
    about: String,
    files: BTreeMap<String, Listed>,
}

impl Default for List {
    fn default() -> Self {
        Self {
            schema: SCHEMA.into(),
            about: "Files that Flanklight wrote here. It replaces these and no others.".into(),
            files: BTreeMap::new(),
        }
    }
}

/// What stands where a file is to be written.
enum There {
    Nothing,
    Ours,
    /// Ours, and changed by somebody since.
    Changed,
}

/// Writes `files`, names and bytes, into `folder` as the set named `set`, drawn from the job with the digest
/// `job`: all of them, or none. With `whole`, files of the same set that are not among them are out of date
/// and taken away.
///
/// # Errors
/// [`SetError`], also where a file of the same name is not ours, may not be written, or is a link; nothing in
/// the folder is changed then.
pub fn write_set(
    folder: &Path,
    (set, job): (&str, &str),
    files: &[(String, Vec<u8>)],
    whole: bool,
) -> Result<Written, SetError> {
    let owner = Owner { sets: &[set.to_owned()], name: set, job };
    write_set_of(folder, &owner, files, How { whole, replace: false })
}

/// Whose files are written.
#[derive(Debug, Clone, Copy)]
pub struct Owner<'a> {
    /// The sets that are its own; new files join the first. None where nothing tells it from others: its
    /// files are then a set that is never taken for out of date.
    pub sets: &'a [String],
    /// Its name, for a set of nobody.
    pub name: &'a str,
    /// Digest of the job.
    pub job: &'a str,
}

/// How files are written.
#[derive(Debug, Clone, Copy)]
pub struct How {
    /// Files of the owner's sets that are not among the new ones are out of date and taken away.
    pub whole: bool,
    /// Files that were not written here are moved aside, instead of stopping all.
    pub replace: bool,
}

/// Which set each file belongs to that is listed in `folder`.
///
/// # Errors
/// [`SetError`] where there is a list that cannot be read.
pub fn sets_in(folder: &Path) -> Result<BTreeMap<String, String>, SetError> {
    let path = folder.join(LIST);
    let (list, _) = read_list(&path).map_err(|source| SetError { path, source })?;
    Ok(list.files.into_iter().map(|(name, listed)| (name, listed.set)).collect())
}

/// [`write_set`] for an owner of several sets.
///
/// # Errors
/// As [`write_set`].
pub fn write_set_of(
    folder: &Path,
    owner: &Owner,
    files: &[(String, Vec<u8>)],
    how: How,
) -> Result<Written, SetError> {
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |source: io::Error| SetError { path, source }
    };
    fs::create_dir_all(folder).map_err(failed(folder))?;
    let _lock = Lock::of(folder).map_err(failed(folder))?;
    clean_after_kills(folder, Some(&folder.join(LIST)));
    let list_file = folder.join(LIST);
    let (list, list_before) = read_list(&list_file).map_err(failed(&list_file))?;
    let mut swap = Swap::default();
    for (name, bytes) in files {
        let target = folder.join(name);
        match there(&target, name, bytes, &list, how.replace).map_err(failed(&target))? {
            There::Nothing => {}
            There::Ours => swap.replaced.push(name.clone()),
            There::Changed => swap.changed.push(name.clone()),
        }
    }
    if how.whole {
        for name in list.files.iter().filter(|(_, l)| owner.sets.contains(&l.set)).map(|(n, _)| n) {
            let target = folder.join(name);
            if files.iter().any(|(n, _)| n == name) || !is_plain(name) {
                continue;
            }
            match there(&target, name, &[], &list, false) {
                Ok(There::Ours) => swap.stale.push(name.clone()),
                Ok(There::Changed) => swap.changed.push(name.clone()),
                // What became something else is not ours any more.
                Ok(There::Nothing) | Err(_) => {}
            }
        }
    }
    let aside = folder.join(format!("{LIST}.new-{}", unique()));
    let done = stage(&aside, files).and_then(|()| {
        let next = next_list(&list, owner, files, how.whole);
        // While files are swapped, each may hold the one or the other.
        write_list(&list_file, &both(&list, &next))?;
        let moved = swap.carry_out(folder, &aside, files);
        match &moved {
            Ok(_) => write_list(&list_file, &next)?,
            Err(_) => match &list_before {
                Some(before) => write_whole(&list_file, before).map_err(failed(&list_file))?,
                None => drop(fs::remove_file(&list_file)),
            },
        }
        moved
    });
    // Nothing useful can be done when this fails; the next export takes it away.
    let _ = fs::remove_dir_all(&aside);
    remove_left_behind(folder);
    sync_folder(folder);
    done
}

/// A name that stays in its folder.
fn is_plain(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    matches!((parts.next(), parts.next()), (Some(std::path::Component::Normal(_)), None))
        && !name.contains(['/', '\\'])
        && name != LIST
}

fn there(target: &Path, name: &str, bytes: &[u8], list: &List, replace: bool) -> io::Result<There> {
    let refused = |why: &str| Err(io::Error::other(why.to_owned()));
    if !is_plain(name) {
        return refused("it is no name of a file");
    }
    let about = match fs::symlink_metadata(target) {
        Ok(about) => about,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(There::Nothing),
        Err(e) => return Err(e),
    };
    if about.is_symlink() {
        return refused("it is a link, and nothing is written through a link");
    }
    if !about.is_file() {
        return refused("a folder or a device of this name is there already");
    }
    if about.permissions().readonly() {
        return refused("the file there is marked as not to be written");
    }
    let old = match disk::read_file(target, MOST_BYTES) {
        Ok(old) => old,
        Err(ReadError::Io(e)) => return Err(e),
        Err(e) => return Err(io::Error::other(e)),
    };
    let listed = list.files.get(name).map(|l| l.sha256.contains(&sha256_of(&old)));
    Ok(match listed {
        Some(true) => There::Ours,
        _ if old == bytes => There::Ours,
        Some(false) => There::Changed,
        // From before there was a list.
        None if names_us(&old) => There::Ours,
        None if replace => There::Changed,
        None => return refused("it is there already, and was not written by Flanklight"),
    })
}

fn names_us(bytes: &[u8]) -> bool {
    bytes.windows(10).any(|w| w.eq_ignore_ascii_case(b"flanklight"))
}

/// The list, and its bytes as they are; an empty one where there is none.
fn read_list(path: &Path) -> io::Result<(List, Option<Vec<u8>>)> {
    match fs::symlink_metadata(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok((List::default(), None)),
        Ok(about) if about.is_symlink() => return Err(io::Error::other("it is a link")),
        _ => {}
    }
    let bytes = disk::read_file(path, MOST_BYTES).map_err(io::Error::other)?;
    match serde_json::from_slice::<List>(&bytes) {
        Ok(list) if list.schema == SCHEMA => Ok((list, Some(bytes))),
        _ => Err(io::Error::other(
            "it is no list of files that is read here; without it nobody knows which files may be \
             replaced. Take it away, or choose another folder",
        )),
    }
}

fn write_list(path: &Path, list: &List) -> Result<(), SetError> {
    let failed = |source| SetError { path: path.to_owned(), source };
    let text = serde_json::to_vec_pretty(list).map_err(|e| failed(io::Error::other(e)))?;
    write_whole(path, &text).map_err(failed)
}

/// The list when all is done.
fn next_list(list: &List, owner: &Owner, files: &[(String, Vec<u8>)], whole: bool) -> List {
    let set = owner.sets.first().map_or(owner.name, String::as_str);
    let mut next = list.clone();
    if whole {
        next.files.retain(|_, l| !owner.sets.contains(&l.set));
    }
    for (name, bytes) in files {
        let sha256 = vec![sha256_of(bytes)];
        let listed = Listed { set: set.to_owned(), job: owner.job.to_owned(), sha256 };
        next.files.insert(name.clone(), listed);
    }
    next
}

/// The list while files are swapped.
fn both(before: &List, next: &List) -> List {
    let mut both = before.clone();
    for (name, listed) in &next.files {
        let held = both.files.entry(name.clone()).or_insert_with(|| listed.clone());
        for sha256 in &listed.sha256 {
            if !held.sha256.contains(sha256) {
                held.sha256.push(sha256.clone());
            }
        }
    }
    both
}

/// Writes all files aside, down to the disk.
fn stage(aside: &Path, files: &[(String, Vec<u8>)]) -> Result<(), SetError> {
    let failed = |path: &Path, source| SetError { path: path.to_owned(), source };
    let (new, old) = (aside.join("new"), aside.join("old"));
    for folder in [aside, &new, &old] {
        fs::create_dir(folder).map_err(|e| failed(folder, e))?;
    }
    for (name, bytes) in files {
        let path = new.join(name);
        File::options()
            .write(true)
            .create_new(true)
            .open(&path)
            .and_then(|mut f| f.write_all(bytes).and_then(|()| f.sync_all()))
            .map_err(|e| failed(&path, e))?;
    }
    Ok(())
}

/// What changes places.
#[derive(Default)]
struct Swap {
    replaced: Vec<String>,
    changed: Vec<String>,
    stale: Vec<String>,
}

impl Swap {
    /// Moves the old files out and the new ones in; where one cannot be moved, all are moved back.
    fn carry_out(
        &self,
        folder: &Path,
        aside: &Path,
        files: &[(String, Vec<u8>)],
    ) -> Result<Written, SetError> {
        let (new, old) = (aside.join("new"), aside.join("old"));
        let mut written = Written::default();
        let mut moves: Vec<(PathBuf, PathBuf)> = Vec::new();
        for name in &self.changed {
            let free = free_name(&folder.join(name));
            moves.push((folder.join(name), free.clone()));
            written.set_aside.push(free);
        }
        for name in self.replaced.iter().chain(&self.stale) {
            moves.push((folder.join(name), old.join(name)));
        }
        written.removed.extend(self.stale.iter().map(|name| folder.join(name)));
        for (name, _) in files {
            moves.push((new.join(name), folder.join(name)));
            written.files.push(folder.join(name));
        }
        for (done, (from, to)) in moves.iter().enumerate() {
            if let Err(source) = fs::rename(from, to) {
                for (from, to) in moves[..done].iter().rev() {
                    // Where not even this can be done, the old files are in the folder set aside.
                    let _ = fs::rename(to, from);
                }
                return Err(SetError { path: to.clone(), source });
            }
        }
        Ok(written)
    }
}

/// The first name `NAME.1`, `NAME.2` … that is free.
fn free_name(path: &Path) -> PathBuf {
    let names = (1..10_000).map(|n| beside(path, &n.to_string()));
    names
        .into_iter()
        .find(|p| fs::symlink_metadata(p).is_err())
        .unwrap_or_else(|| beside(path, "0"))
}

/// Takes away what exports that were killed had set aside.
fn remove_left_behind(folder: &Path) {
    let start = format!("{LIST}.new-");
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.filter_map(Result::ok) {
        let name = entry.file_name().to_string_lossy().into_owned();
        let id = name.strip_prefix(&start).and_then(|r| r.split_once('-')).map(|(id, _)| id);
        if let Some(id) = id.and_then(|id| id.parse::<u32>().ok())
            && id != std::process::id()
            && !crate::journal::is_running(id)
        {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(names: &[&str], what: &str) -> Vec<(String, Vec<u8>)> {
        names.iter().map(|n| ((*n).to_owned(), format!("{what} {n}").into_bytes())).collect()
    }

    fn held(folder: &Path) -> BTreeMap<String, String> {
        let read = |e: fs::DirEntry| {
            let text = fs::read_to_string(e.path()).unwrap_or_else(|_| "?".into());
            (e.file_name().to_string_lossy().into_owned(), text)
        };
        fs::read_dir(folder).unwrap().map(|e| read(e.unwrap())).filter(|(n, _)| n != LIST).collect()
    }

    fn names(folder: &Path) -> Vec<String> {
        held(folder).into_keys().collect()
    }

    #[test]
    fn what_a_set_does_not_have_any_more_is_taken_away() {
        let dir = tempfile::tempdir().unwrap();
        let write = |names: &[&str], of: &str, whole| {
            write_set(dir.path(), (of, "d"), &set(names, "first"), whole).unwrap()
        };
        write(&["template.pdf", "nut.pdf", "record.pdf"], "loom", true);
        write(&["other.pdf"], "slit", true);
        // One sheet alone leaves the others.
        assert!(write(&["nut.pdf"], "loom", false).removed.is_empty());
        let written = write(&["refusal.pdf", "record.pdf"], "loom", true);
        assert_eq!(written.removed, [dir.path().join("nut.pdf"), dir.path().join("template.pdf")]);
        assert_eq!(names(dir.path()), ["other.pdf", "record.pdf", "refusal.pdf"]);
    }

    #[test]
    fn what_is_not_ours_is_never_replaced_and_nothing_is_written_then() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("nut.pdf"), "my own drawing").unwrap();
        let files = set(&["a.pdf", "nut.pdf", "z.pdf"], "ours");
        let e = write_set(dir.path(), ("loom", "d"), &files, true).unwrap_err();
        assert_eq!(e.path, dir.path().join("nut.pdf"));
        assert!(e.source.to_string().contains("not written by Flanklight"), "{}", e.source);
        assert_eq!(held(dir.path()), [("nut.pdf".into(), "my own drawing".into())].into());
        // From before there was a list, it names its maker.
        fs::write(dir.path().join("nut.pdf"), "%PDF made by Flanklight 0.1").unwrap();
        write_set(dir.path(), ("loom", "d"), &files, true).unwrap();
        assert_eq!(held(dir.path())["nut.pdf"], "ours nut.pdf");
    }

    #[test]
    fn what_somebody_changed_is_moved_aside() {
        let dir = tempfile::tempdir().unwrap();
        write_set(dir.path(), ("loom", "d"), &set(&["nut.dxf", "old.dxf"], "one"), true).unwrap();
        fs::write(dir.path().join("nut.dxf"), "with my own holes").unwrap();
        fs::write(dir.path().join("old.dxf"), "with my own slots").unwrap();
        let written =
            write_set(dir.path(), ("loom", "e"), &set(&["nut.dxf"], "two"), true).unwrap();
        assert_eq!(written.set_aside.len(), 2, "{written:?}");
        let held = held(dir.path());
        assert_eq!(held["nut.dxf"], "two nut.dxf");
        assert_eq!(held["nut.dxf.1"], "with my own holes");
        assert_eq!(held["old.dxf.1"], "with my own slots");
        assert!(!held.contains_key("old.dxf"));
    }

    #[test]
    fn when_one_cannot_be_written_all_stay_as_they_were() {
        let dir = tempfile::tempdir().unwrap();
        let all = ["a.pdf", "b.pdf", "c.pdf"];
        write_set(dir.path(), ("loom", "d"), &set(&all, "one"), true).unwrap();
        let before = held(dir.path());
        // A folder stands where a new file is to go.
        fs::create_dir(dir.path().join("d.pdf")).unwrap();
        let files = set(&["a.pdf", "b.pdf", "c.pdf", "d.pdf"], "two");
        let e = write_set(dir.path(), ("loom", "e"), &files, true).unwrap_err();
        assert!(e.source.to_string().contains("folder"), "{}", e.source);
        fs::remove_dir(dir.path().join("d.pdf")).unwrap();
        assert_eq!(held(dir.path()), before);
        // Or one goes away between looking and moving: what was moved is moved back.
        let aside = dir.path().join("aside");
        stage(&aside, &set(&all, "two")).unwrap();
        fs::remove_file(aside.join("new/c.pdf")).unwrap();
        let swap = Swap { replaced: all.map(String::from).to_vec(), ..Swap::default() };
        assert!(swap.carry_out(dir.path(), &aside, &set(&all, "two")).is_err());
        fs::remove_dir_all(&aside).unwrap();
        assert_eq!(held(dir.path()), before);
    }

    #[cfg(unix)]
    #[test]
    fn nothing_is_written_through_a_link() {
        let dir = tempfile::tempdir().unwrap();
        let (inside, out) = (dir.path().join("sheets"), dir.path().join("precious.pdf"));
        fs::create_dir(&inside).unwrap();
        fs::write(&out, "Flanklight or not, it is elsewhere").unwrap();
        std::os::unix::fs::symlink(&out, inside.join("nut.pdf")).unwrap();
        let e = write_set(&inside, ("loom", "d"), &set(&["nut.pdf"], "x"), true).unwrap_err();
        assert!(e.source.to_string().contains("link"), "{}", e.source);
        assert_eq!(fs::read_to_string(&out).unwrap(), "Flanklight or not, it is elsewhere");
    }

    #[test]
    fn what_a_killed_export_had_set_aside_is_taken_away() {
        let dir = tempfile::tempdir().unwrap();
        // No process has this number: the largest on Linux is 2^22.
        let left = dir.path().join(format!("{LIST}.new-4294967294-0"));
        fs::create_dir_all(left.join("new")).unwrap();
        write_set(dir.path(), ("loom", "d"), &set(&["a.pdf"], "x"), true).unwrap();
        assert_eq!(names(dir.path()), ["a.pdf"]);
    }

    #[test]
    fn a_name_that_leads_elsewhere_is_refused() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["../a.pdf", "/a.pdf", "a/b.pdf", "", "..", LIST] {
            let e = write_set(dir.path(), ("loom", "d"), &set(&[name], "x"), true);
            assert!(e.is_err(), "{name}");
        }
    }
}
