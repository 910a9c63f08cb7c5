//! A Debian package of a program that was built.

use crate::paperwork::{completions, failed, man};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Files that are copied as they are: from the root of the project, to the root of the system.
const COPIED: [(&str, &str); 4] = [
    ("packaging/flanklight.desktop", "usr/share/applications/flanklight.desktop"),
    ("packaging/flanklight.svg", "usr/share/icons/hicolor/scalable/apps/flanklight.svg"),
    ("packaging/flanklight.xml", "usr/share/mime/packages/flanklight.xml"),
    ("packaging/copyright", "usr/share/doc/flanklight/copyright"),
];

/// What the program loads at run time, as Debian names it.
const DEPENDS: &str = "libc6, libgcc-s1, libgl1, libegl1, libxkbcommon-x11-0, libwayland-client0";

/// Makes the package in `folder`; answers with its file.
///
/// # Errors
/// A sentence that names the file.
pub fn package(program: &Path, folder: &Path) -> Result<Vec<PathBuf>, String> {
    if !program.is_file() {
        return Err(format!(
            "there is no program {}: build it first, cargo build --release",
            program.display()
        ));
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let stage = folder.join("flanklight-deb");
    if stage.exists() {
        fs::remove_dir_all(&stage).map_err(|e| failed(&stage, &e))?;
    }
    place(program, &stage.join("usr/bin/flanklight"))?;
    for (from, to) in COPIED {
        place(&root.join(from), &stage.join(to))?;
    }
    for page in man(&stage.join("usr/share/man/man1"))? {
        run(Command::new("gzip").arg("-9n").arg(&page))?;
    }
    let made = completions(&folder.join("completions"))?;
    let places = [
        "usr/share/bash-completion/completions/flanklight",
        "usr/share/zsh/vendor-completions/_flanklight",
        "usr/share/fish/vendor_completions.d/flanklight.fish",
    ];
    for (file, to) in made.iter().zip(places) {
        place(file, &stage.join(to))?;
    }
    let architecture = run(Command::new("dpkg").arg("--print-architecture"))?;
    let version = env!("CARGO_PKG_VERSION");
    let control = control(version, architecture.trim(), installed_kib(&stage)?);
    let at = stage.join("DEBIAN/control");
    write(&at, &control)?;
    let file = folder.join(format!("flanklight_{version}_{}.deb", architecture.trim()));
    run(Command::new("dpkg-deb").args(["--root-owner-group", "--build"]).arg(&stage).arg(&file))?;
    Ok(vec![file])
}

fn control(version: &str, architecture: &str, kib: u64) -> String {
    format!(
        "Package: flanklight\nVersion: {version}\nArchitecture: {architecture}\nMaintainer: The \
         Flanklight authors <flanklight@localhost>\nInstalled-Size: {kib}\nDepends: {DEPENDS}\nSection: \
         science\nPriority: optional\nDescription: measures a thread from its shadow and designs the nut\n \
         Reads a picture of a screw's shadow beside a bar of known width, finds the form\n of its axial \
         section with uncertainties, names the standard or none, and designs\n nut, tool, change wheels, \
         passes and checks, with sheets at true scale.\n"
    )
}

/// Copies a file to where it belongs; programs stay programs.
fn place(from: &Path, to: &Path) -> Result<(), String> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
    }
    fs::copy(from, to).map_err(|e| failed(from, &e))?;
    Ok(())
}

fn write(to: &Path, text: &str) -> Result<(), String> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
    }
    fs::write(to, text).map_err(|e| failed(to, &e))
}

/// Size of all files under a folder, KiB.
fn installed_kib(folder: &Path) -> Result<u64, String> {
    let mut sum = 0;
    for entry in fs::read_dir(folder).map_err(|e| failed(folder, &e))? {
        let path = entry.map_err(|e| failed(folder, &e))?.path();
        sum += match path.is_dir() {
            true => installed_kib(&path)?,
            false => fs::metadata(&path).map_err(|e| failed(&path, &e))?.len().div_ceil(1024),
        };
    }
    Ok(sum)
}

/// Runs a program to its end; answers with what it printed.
fn run(command: &mut Command) -> Result<String, String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let done = command.output().map_err(|e| format!("{name} cannot be started: {e}"))?;
    if !done.status.success() {
        return Err(format!("{name}: {}", String::from_utf8_lossy(&done.stderr).trim()));
    }
    Ok(String::from_utf8_lossy(&done.stdout).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_package_holds_what_it_should() {
        if Command::new("dpkg-deb").arg("--version").output().is_err() {
            eprintln!("note: left out: a package needs dpkg-deb");
            return;
        }
        let folder = tempfile::tempdir().unwrap();
        let program = folder.path().join("program");
        assert!(package(&program, folder.path()).unwrap_err().contains("build it first"));
        fs::write(&program, "#!/bin/sh\n").unwrap();
        let files = package(&program, folder.path()).unwrap();
        let listed = run(Command::new("dpkg-deb").arg("--contents").arg(&files[0])).unwrap();
        for name in [
            "./usr/bin/flanklight",
            "./usr/share/applications/flanklight.desktop",
            "./usr/share/man/man1/flanklight.1.gz",
            "./usr/share/man/man1/flanklight-measure.1.gz",
            "./usr/share/bash-completion/completions/flanklight",
            "./usr/share/zsh/vendor-completions/_flanklight",
            "./usr/share/fish/vendor_completions.d/flanklight.fish",
            "./usr/share/mime/packages/flanklight.xml",
            "./usr/share/icons/hicolor/scalable/apps/flanklight.svg",
        ] {
            assert!(listed.lines().any(|l| l.ends_with(name)), "{name} is not in:\n{listed}");
        }
        assert!(listed.contains("root/root"), "{listed}");
        let about = run(Command::new("dpkg-deb").arg("--field").arg(&files[0])).unwrap();
        assert!(
            about.contains("Package: flanklight") && about.contains("Depends: libc6"),
            "{about}"
        );
    }
}
