//! The `flanklight` program, built like this test was, and what it answers.

use crate::house;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use std::time::SystemTime;

/// The program. It lies beside the tests' own executables; if it is not there, or older than what
/// it was made from, it is built first, once. `FLANKLIGHT_PROGRAM` names another one to be tested.
#[must_use]
pub fn path() -> &'static Path {
    static FOUND: OnceLock<PathBuf> = OnceLock::new();
    FOUND.get_or_init(|| {
        if let Some(named) = std::env::var_os("FLANKLIGHT_PROGRAM") {
            return PathBuf::from(named);
        }
        let test = std::env::current_exe().expect("a test knows where it is");
        let profile = test.parent().and_then(Path::parent).expect("a test lies in PROFILE/deps");
        let program = profile.join(format!("flanklight{}", std::env::consts::EXE_SUFFIX));
        if !is_fresh(&program) {
            build(profile);
        }
        program
    })
}

/// Whether the program is younger than every source that cargo noted beside it.
fn is_fresh(program: &Path) -> bool {
    let changed = |p: &Path| p.metadata().and_then(|m| m.modified()).ok();
    let (Some(made), Ok(noted)) =
        (changed(program), std::fs::read_to_string(program.with_extension("d")))
    else {
        return false;
    };
    let Some((_, sources)) = noted.split_once(':') else { return false };
    // A space inside a name is written with a backslash.
    sources.replace("\\ ", "\u{0}").split_whitespace().all(|s| {
        let source = s.replace('\u{0}', " ");
        changed(Path::new(&source)).unwrap_or(SystemTime::now()) <= made
    })
}

/// Cargo's own lock on the build folder makes one of several tests build and the others wait.
fn build(profile: &Path) {
    let name = profile.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let name = if name == "debug" { "dev".to_owned() } else { name };
    let done = Command::new(env!("CARGO"))
        .args(["build", "--quiet", "--package", "workbench", "--bin", "flanklight"])
        .args(["--profile", &name, "--target-dir"])
        .arg(profile.parent().expect("a profile lies in the target folder"))
        .current_dir(house::root())
        .status()
        .expect("cargo can be started");
    assert!(done.success(), "the program could not be built");
}

/// What a run of the program came to.
#[derive(Debug, Clone)]
pub struct Ran {
    /// Exit status; `None` when a signal ended it.
    pub status: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Ran {
    fn of(output: &Output) -> Self {
        Self {
            status: output.status.code(),
            out: String::from_utf8_lossy(&output.stdout).into_owned(),
            err: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }

    /// Fails the test unless the program ended with `status` and said nothing that looks like a
    /// crash.
    pub fn ended_with(&self, status: i32) -> &Self {
        assert_eq!(self.status, Some(status), "{self:#?}");
        for crash in ["panicked", "RUST_BACKTRACE", "overflow", "Os {", "Error("] {
            assert!(!self.err.contains(crash), "{}", self.err);
        }
        self
    }

    /// Fails the test unless the error is one sentence of the program's form holding all `words`,
    /// and standard output stayed empty.
    pub fn says(&self, words: &[&str]) -> &Self {
        assert!(self.out.is_empty(), "{}", self.out);
        assert!(self.err.starts_with("flanklight: "), "{}", self.err);
        for word in words {
            assert!(self.err.contains(word), "\"{word}\" is missing in:\n{}", self.err);
        }
        self
    }
}

/// The program in `folder`, with no display and a home of its own.
#[must_use]
pub fn command(folder: &Path) -> Command {
    let mut command = Command::new(path());
    command.current_dir(folder).env("HOME", folder).env("XDG_STATE_HOME", folder.join("state"));
    for display in ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"] {
        command.env_remove(display);
    }
    command
}

/// Runs the program in `folder`.
#[must_use]
pub fn run(folder: &Path, args: &[&str]) -> Ran {
    let output = command(folder).args(args).output();
    Ran::of(&output.unwrap_or_else(|e| panic!("{}: {e}", path().display())))
}
