//! Where the picture of a job is: written relative to the job file, and looked for when either was moved.

use crate::job::PictureRef;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::path::{Path, PathBuf};

/// The picture of a job, as its file names it.
#[derive(Serialize, Deserialize)]
pub(crate) struct PictureFile {
    /// From the folder of the job file, with `/` between parts; absolute when there is no such way.
    file: String,
    /// Where it was when the job was saved, from the person's own folder on (`~/…`): a job that is handed on
    /// names nobody. In files from before, absolute.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    was_at: Option<String>,
    #[serde(default)]
    sha256: String,
}

pub(crate) fn picture_to_file(picture: &PictureRef, folder: Option<&Path>) -> PictureFile {
    PictureFile {
        file: relative(&picture.path, folder),
        was_at: from_home(&picture.path, own_folder().as_deref()),
        sha256: picture.sha256.clone(),
    }
}

pub(crate) fn picture_from_file(file: PictureFile, folder: Option<&Path>) -> PictureRef {
    PictureRef { path: found_at(&file, folder), sha256: file.sha256 }
}

/// Takes a field out, and what held nothing else.
pub(crate) fn forget(fields: &mut Map<String, Value>, path: &[&str]) {
    let Some((first, rest)) = path.split_first() else { return };
    if rest.is_empty() {
        fields.remove(*first);
    } else if let Some(Value::Object(inner)) = fields.get_mut(*first) {
        forget(inner, rest);
        if inner.is_empty() {
            fields.remove(*first);
        }
    }
}

/// Where this person's files are.
fn own_folder() -> Option<PathBuf> {
    let variable = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    variable("HOME").or_else(|| variable("USERPROFILE"))
}

/// `path` from `home` on; nothing where it lies elsewhere.
fn from_home(path: &Path, home: Option<&Path>) -> Option<String> {
    let whole = std::path::absolute(path).ok()?;
    let home = home.filter(|h| h.parent().is_some())?;
    let rest = whole.strip_prefix(home).ok()?;
    let parts: Vec<_> =
        rest.components().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect();
    Some(format!("~/{}", parts.join("/")))
}

/// What [`from_home`] wrote, or a version before it.
fn at_home(written: &str, home: Option<&Path>) -> Option<PathBuf> {
    match written.strip_prefix("~/") {
        Some(rest) => Some(home?.join(rest)),
        None => Some(PathBuf::from(written)),
    }
}

/// `path` as seen from `folder`, when it lies in or beside it.
fn relative(path: &Path, folder: Option<&Path>) -> String {
    let shown = |p: &Path| {
        let parts: Vec<String> =
            p.components().map(|c| c.as_os_str().to_string_lossy().into_owned()).collect();
        if p.is_absolute() { p.to_string_lossy().into_owned() } else { parts.join("/") }
    };
    let Some(folder) = folder else { return shown(path) };
    let whole = |p: &Path| {
        std::path::absolute(p).map_or_else(|_| p.to_owned(), |p| p.canonicalize().unwrap_or(p))
    };
    let (path_whole, folder_whole) = (whole(path), whole(folder));
    let mut up = String::new();
    let mut at: Option<&Path> = Some(&folder_whole);
    for _ in 0..3 {
        let Some(base) = at else { break };
        if base.parent().is_some()
            && let Ok(rest) = path_whole.strip_prefix(base)
        {
            return format!("{up}{}", shown(rest));
        }
        up.push_str("../");
        at = base.parent();
    }
    shown(&path_whole)
}

/// Where a picture is now: as written, where it was, or beside the job file; the first that exists
/// and is the same file, else the first that exists, else as written.
fn found_at(file: &PictureFile, folder: Option<&Path>) -> PathBuf {
    let written = PathBuf::from(&file.file);
    let as_written = match folder {
        Some(folder) if written.is_relative() => folder.join(&written),
        _ => written,
    };
    let mut places = vec![as_written.clone()];
    places.extend(file.was_at.as_deref().and_then(|p| at_home(p, own_folder().as_deref())));
    if let (Some(folder), Some(name)) =
        (folder, file.file.rsplit(['/', '\\']).next().filter(|n| !n.is_empty()))
    {
        places.push(folder.join(name));
    }
    places.retain(|p| p.is_file());
    let same = |p: &PathBuf| crate::save::sha256_of_file(p).is_ok_and(|h| h == file.sha256);
    places
        .iter()
        .find(|p| same(p))
        .or(places.first())
        .cloned()
        .or_else(|| renamed(folder?, &file.sha256))
        .unwrap_or(as_written)
}

/// A picture that was renamed but still lies beside the job file.
fn renamed(folder: &Path, sha256: &str) -> Option<PathBuf> {
    const MOST_LOOKED_AT: usize = 200;
    // Two seconds of reading.
    const MOST_BYTES: u64 = 1_000_000_000;
    let picture = |p: &Path| {
        p.extension().and_then(|e| e.to_str()).is_some_and(|e| {
            ["jpg", "jpeg", "png", "tif", "tiff", "bmp", "webp"]
                .contains(&e.to_ascii_lowercase().as_str())
        })
    };
    let mut looked_at = 0;
    std::fs::read_dir(folder)
        .ok()?
        .filter_map(Result::ok)
        .map(|e| e.path())
        .filter(|p| picture(p))
        .take(MOST_LOOKED_AT)
        .take_while(|p| {
            looked_at += crate::disk::ordinary(p).unwrap_or(0);
            looked_at <= MOST_BYTES
        })
        .find(|p| crate::save::sha256_of_file(p).is_ok_and(|h| h == sha256))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_a_picture_was_names_nobody() {
        let home = Path::new("/home/someone");
        let path = Path::new("/home/someone/pictures/loom.jpg");
        let written = from_home(path, Some(home)).unwrap();
        assert_eq!(written, "~/pictures/loom.jpg");
        assert_eq!(at_home(&written, Some(home)).unwrap(), path);
        let other = Path::new("/home/other");
        assert_eq!(at_home(&written, Some(other)).unwrap(), other.join("pictures/loom.jpg"));
        assert_eq!(from_home(Path::new("/mnt/loom.jpg"), Some(home)), None);
        // As it was written before.
        assert_eq!(at_home("/mnt/loom.jpg", None).unwrap(), Path::new("/mnt/loom.jpg"));
    }
}
