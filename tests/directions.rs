//! The rules of the house: which crate may know which, and what may stand in none of them.
//!
//! Every detector is first shown something bad and must see it; then it looks at the project.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::path::Path;
use whole_job_tests::house::{files, packages, read, root, shown};
use whole_job_tests::manifest::{Arrow, Kind, arrows};
use whole_job_tests::source;

/// What each package may depend on among those of the workspace.
const HOUSE: &[(&str, &[&str])] = &[
    ("form", &[]),
    ("picture", &[]),
    ("fit", &["form", "picture"]),
    ("standards", &["form"]),
    ("shop", &["form"]),
    ("sheets", &["form", "shop"]),
    ("job", &["form", "picture", "fit", "standards", "shop", "sheets"]),
    ("lamp", &["form"]),
    ("workbench", &["form", "picture", "fit", "standards", "shop", "sheets", "job", "lamp"]),
    // What a package holds beside the program; nothing depends on it.
    ("xtask", &["workbench"]),
    (
        "whole-job-tests",
        &["form", "picture", "fit", "standards", "shop", "sheets", "job", "lamp", "workbench"],
    ),
];

/// Tests and examples of any crate may cast shadows to look at: `lamp` knows nothing of them.
const FOR_TESTS: &str = "lamp";

/// Crates that make windows, dialogs or command lines; whatever is named after them, too.
const OF_THE_SURFACE: &[&str] =
    &["accesskit", "clap", "eframe", "egui", "epaint", "glow", "glutin", "rfd", "wgpu", "winit"];

/// The one package that may know them.
const SURFACE: &str = "workbench";

/// Crates that turn a command line into man pages and completions, and the one package that may know them.
const OF_PAPERWORK: &[&str] = &["clap_complete", "clap_mangen"];
const PAPERWORK: &str = "xtask";

/// Whether `from` may not know `to`, because of what `to` is for.
fn is_beyond(from: &str, to: &str) -> bool {
    let paperwork = from == PAPERWORK && OF_PAPERWORK.contains(&to);
    belongs_to_surface(to) && from != SURFACE && !paperwork
}

/// Modules of the standard library that none of the pure crates may name outside tests.
const IMPURE: &[&str] = &["env", "fs", "net", "process", "time"];

/// Functions of numbers: no files, no clock, no network.
const PURE: &[&str] = &["form", "fit", "standards", "shop", "sheets"];

const MOST_LINES: usize = 900;

fn belongs_to_surface(name: &str) -> bool {
    OF_THE_SURFACE.iter().any(|s| {
        name.strip_prefix(s).is_some_and(|rest| rest.is_empty() || rest.starts_with(['_', '-']))
    })
}

fn allowed(from: &str) -> Option<&'static [&'static str]> {
    HOUSE.iter().find(|(name, _)| *name == from).map(|(_, to)| *to)
}

/// What is wrong with these arrows, a sentence each.
fn faults(arrows: &[Arrow]) -> Vec<String> {
    let mut found = Vec::new();
    for Arrow { from, to, kind } in arrows {
        let inside = allowed(to).is_some();
        match allowed(from) {
            None => found.push(format!("{from} has no place in the house: add it to HOUSE")),
            Some(may) if inside => {
                let for_tests = *kind == Kind::Dev && to == FOR_TESTS;
                if !may.contains(&to.as_str()) && !for_tests {
                    found.push(format!("{from} must not depend on {to}"));
                }
            }
            Some(_) => {}
        }
        if is_beyond(from, to) {
            found.push(format!("{from} must not know {to}: only {SURFACE} may"));
        }
    }
    found
}

/// Files of a package's program or library, its examples and its benches: everything but tests.
fn code(package: &Path) -> Vec<std::path::PathBuf> {
    ["src", "examples", "benches"].iter().flat_map(|d| files(&package.join(d), &[".rs"])).collect()
}

fn name_of(package: &Path) -> String {
    package.file_name().unwrap().to_string_lossy().into_owned()
}

fn tokens(file: &Path) -> Vec<source::Token> {
    source::tokens(&read(file)).unwrap_or_else(|e| panic!("{}: {e}", shown(file)))
}

fn none(found: &[String]) {
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn a_planted_wrong_arrow_is_seen() {
    let workspace = r#"
        [workspace.dependencies]
        job = { path = "crates/job" }
        pretty = { package = "egui", version = "0" }
    "#;
    let bad = r#"
        [package]
        name = "picture"
        [dependencies]
        job.workspace = true
        serde = "1"
        pretty.workspace = true
        [dev-dependencies]
        lamp = { path = "../lamp" }
        shop = { path = "../shop" }
        [target.'cfg(unix)'.build-dependencies]
        renamed = { package = "standards", path = "../standards" }
        [target.'cfg(windows)'.dependencies]
        egui_plot = "0"
    "#;
    let mut found = faults(&arrows(bad, workspace).unwrap());
    found.sort();
    assert_eq!(
        found,
        [
            "picture must not depend on job",
            "picture must not depend on shop",
            "picture must not depend on standards",
            "picture must not know egui: only workbench may",
            "picture must not know egui_plot: only workbench may",
        ]
    );
    let stranger = "[package]\nname = \"cellar\"\n[dependencies]\nform = \"0\"";
    assert_eq!(
        faults(&arrows(stranger, workspace).unwrap()),
        ["cellar has no place in the house: add it to HOUSE"]
    );
    let good = "[package]\nname = \"fit\"\n[dependencies]\nform = \"0\"\nserde = \"1\"";
    assert_eq!(faults(&arrows(good, workspace).unwrap()), [""; 0]);
    assert!(arrows("[package", workspace).is_err());
    assert!(belongs_to_surface("egui_kittest") && belongs_to_surface("egui"));
    assert!(!belongs_to_surface("glowing"));
}

#[test]
fn arrows_run_one_way() {
    let workspace = read(&root().join("Cargo.toml"));
    let mut seen = Vec::new();
    let mut found = Vec::new();
    for package in packages() {
        let file = package.join("Cargo.toml");
        let listed =
            arrows(&read(&file), &workspace).unwrap_or_else(|e| panic!("{}: {e}", shown(&file)));
        found.extend(faults(&listed));
        let folder = name_of(&package);
        seen.push(if folder == "tests" { "whole-job-tests".to_owned() } else { folder });
    }
    none(&found);
    // The table itself: it names what exists, and no arrow in it could close a ring.
    seen.sort();
    let mut named: Vec<&str> = HOUSE.iter().map(|(name, _)| *name).collect();
    named.sort_unstable();
    assert_eq!(seen, named, "HOUSE and the folders differ");
    for (from, to) in HOUSE {
        for &t in *to {
            assert!(!allowed(t).unwrap().contains(from), "{from} and {t} point at each other");
        }
    }
}

#[test]
fn only_the_workbench_names_windows_and_command_lines() {
    let planted = source::tokens("fn f() { let c = egui::Context::default(); }\nuse clap as c;");
    let planted = planted.unwrap();
    assert_eq!(source::crate_uses(&planted, "egui"), [1]);
    assert_eq!(source::crate_uses(&planted, "clap"), [2]);
    let mut found = Vec::new();
    for package in packages().iter().filter(|p| name_of(p) != SURFACE) {
        for file in files(package, &[".rs"]) {
            let tokens = tokens(&file);
            for name in OF_THE_SURFACE {
                for line in source::crate_uses(&tokens, name) {
                    found.push(format!("{}:{line} names {name}", shown(&file)));
                }
            }
        }
    }
    // This file plants what it looks for, but in strings, which are no paths.
    none(&found);
}

#[test]
fn pure_crates_touch_no_files_no_clock_and_no_network() {
    let planted =
        source::tokens("use std::{collections::{BTreeMap, fs}, fs::File};\nstd::net::x();");
    let names: Vec<(String, usize)> = source::std_modules(&planted.unwrap());
    assert_eq!(names, [("collections".to_owned(), 1), ("fs".to_owned(), 1), ("net".to_owned(), 2)]);
    let mut found = Vec::new();
    for package in packages() {
        let pure = PURE.contains(&name_of(&package).as_str());
        for file in files(&package.join("src"), &[".rs"]) {
            for (module, line) in source::std_modules(&tokens(&file)) {
                if module == "net" || (pure && IMPURE.contains(&module.as_str())) {
                    found.push(format!("{}:{line} names std::{module}", shown(&file)));
                }
            }
        }
    }
    none(&found);
}

#[test]
fn a_planted_unwrap_is_seen() {
    let text = r##"
        //! Says `x.unwrap()` in words.
        /// And `y.unwrap()` in an example.
        fn f(x: Option<u8>) -> u8 { x.unwrap_or(0) + x.unwrap() }
        fn g() { let s = "x.unwrap()"; println!("{}", s.parse::<u8>().unwrap()); } // .unwrap()
        fn h(x: Option<u8>) -> Option<u8> { x.map(Some).map(Option::unwrap) }
        #[cfg(not(test))]
        fn i() { j().unwrap(); }
        #[cfg(test)]
        mod tests { fn k() { l().unwrap(); } }
        #[test]
        #[ignore]
        fn m() { n().unwrap(); }
        #[cfg(all(test, unix))]
        use o::unwrap;
    "##;
    assert_eq!(source::unwraps(&source::tokens(text).unwrap()), [4, 5, 6, 8]);
    assert!(source::tokens("fn f( {").is_err());
}

#[test]
fn nothing_unwraps_outside_tests() {
    let mut found = Vec::new();
    for package in packages() {
        for file in code(&package) {
            for line in source::unwraps(&tokens(&file)) {
                found.push(format!("{}:{line} unwraps", shown(&file)));
            }
        }
    }
    none(&found);
}

/// Lines of code, tests left out, that write a length into text: it could never be said in other units.
fn lengths_in_text(text: &str) -> Vec<usize> {
    let code = text.lines().take_while(|l| !l.contains("#[cfg(test)]")).enumerate();
    let said = |l: &str| l.contains("} mm") && !l.trim_start().starts_with("//");
    code.filter(|(_, l)| said(l)).map(|(i, _)| i + 1).collect()
}

#[test]
fn what_is_computed_is_said_with_its_lengths_as_lengths() {
    let planted = "/// Of {} mm.\nfn f() { format!(\"a bar of {d:.1} mm\") }\n#[cfg(test)]\n{} mm";
    assert_eq!(lengths_in_text(planted), [2]);
    let mut found = Vec::new();
    for package in packages().iter().filter(|p| ["shop", "fit"].contains(&name_of(p).as_str())) {
        for file in files(&package.join("src"), &[".rs"]) {
            for line in lengths_in_text(&read(&file)) {
                found.push(format!("{}:{line} writes a length into text", shown(&file)));
            }
        }
    }
    none(&found);
}

#[test]
fn no_source_file_grows_past_its_seam() {
    let found: Vec<String> = files(root(), &[".rs"])
        .iter()
        .map(|f| (f, read(f).lines().count()))
        .filter(|(_, lines)| *lines > MOST_LINES)
        .map(|(f, lines)| format!("{} has {lines} lines; at most {MOST_LINES}", shown(f)))
        .collect();
    none(&found);
}

#[test]
fn each_crate_says_first_what_it_must_not_know() {
    let mut found = Vec::new();
    for package in packages() {
        let at = if name_of(&package) == "tests" { "support/lib.rs" } else { "src/lib.rs" };
        let text = read(&package.join(at));
        let paragraphs: Vec<String> = text
            .lines()
            .map_while(|l| l.strip_prefix("//!"))
            .collect::<Vec<_>>()
            .join("\n")
            .split("\n\n")
            .map(|p| p.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        let says = |p: &String| p.contains("must not know") || p.contains("must know nothing");
        let first = paragraphs.iter().take(2).any(says);
        if !first {
            found.push(format!("{} does not say what it must not know", shown(&package)));
        }
    }
    none(&found);
}
