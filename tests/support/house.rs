//! Where things are in the project's folder.

use std::path::{Path, PathBuf};

/// The folder of the workspace.
#[must_use]
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("tests/ lies in the workspace")
}

/// Text of a file.
#[must_use]
pub fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// The path as it stands in the project, for messages.
#[must_use]
pub fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).display().to_string()
}

/// Folders of the workspace's packages: every `crates/*`, and `tests`.
#[must_use]
pub fn packages() -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = entries(&root().join("crates"))
        .into_iter()
        .filter(|p| p.join("Cargo.toml").is_file())
        .collect();
    found.push(root().join("tests"));
    found
}

/// Every file under `folder` whose name ends in one of `endings`; build folders and hidden ones are
/// left out.
#[must_use]
pub fn files(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for path in entries(folder) {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        if path.is_dir() {
            if name != "target" && !name.starts_with('.') {
                found.extend(files(&path, endings));
            }
        } else if endings.iter().any(|e| name.ends_with(e)) {
            found.push(path);
        }
    }
    found
}

/// What lies in a folder, in order; nothing when there is no such folder.
fn entries(folder: &Path) -> Vec<PathBuf> {
    let Ok(listed) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut found: Vec<PathBuf> = listed.filter_map(|e| e.ok().map(|e| e.path())).collect();
    found.sort();
    found
}
