//! Which package depends on which, read from the manifests.

use toml::{Table, Value};

/// How one package depends on another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// `[dependencies]`.
    Normal,
    /// `[dev-dependencies]`.
    Dev,
    /// `[build-dependencies]`.
    Build,
}

/// One dependency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrow {
    /// Package it starts from.
    pub from: String,
    /// Package it points at: its real name, whatever it is called in the manifest.
    pub to: String,
    /// How.
    pub kind: Kind,
}

/// Every dependency in a manifest, of every kind and for every platform. `workspace` is the root
/// manifest, where inherited dependencies may be renamed.
///
/// # Errors
/// A sentence when a text is no manifest.
pub fn arrows(manifest: &str, workspace: &str) -> Result<Vec<Arrow>, String> {
    let manifest: Table = manifest.parse().map_err(|e| format!("not a manifest: {e}"))?;
    let workspace: Table = workspace.parse().map_err(|e| format!("not a manifest: {e}"))?;
    let from = manifest
        .get("package")
        .and_then(|p| p.get("name"))
        .and_then(Value::as_str)
        .ok_or("a manifest without a package name")?;
    let inherited = workspace.get("workspace").and_then(|w| w.get("dependencies"));
    let mut found = Vec::new();
    let mut take = |table: &Table| {
        for (section, kind) in [
            ("dependencies", Kind::Normal),
            ("dev-dependencies", Kind::Dev),
            ("build-dependencies", Kind::Build),
        ] {
            let Some(listed) = table.get(section).and_then(Value::as_table) else { continue };
            for (key, value) in listed {
                let renamed = |v: Option<&Value>| {
                    v?.get("package").and_then(Value::as_str).map(str::to_owned)
                };
                let to = renamed(Some(value))
                    .or_else(|| renamed(inherited.and_then(|i| i.get(key))))
                    .unwrap_or_else(|| key.clone());
                found.push(Arrow { from: from.to_owned(), to, kind });
            }
        }
    };
    take(&manifest);
    if let Some(platforms) = manifest.get("target").and_then(Value::as_table) {
        platforms.values().filter_map(Value::as_table).for_each(&mut take);
    }
    Ok(found)
}
