//! What the project takes from others, and what its own text may not hold.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;
use toml::Table;
use whole_job_tests::house::{files, read, root, shown};
use whole_job_tests::{licence, source};

/// Crates that take long to build or whose types would clash: one major version each.
const ONE_OF_EACH: &[&str] = &[
    "clap",
    "eframe",
    "egui",
    "epaint",
    "glow",
    "image",
    "nalgebra",
    "pdf-writer",
    "png",
    "rand",
    "rayon",
    "rfd",
    "serde",
    "serde_json",
    "toml",
    "ttf-parser",
    "wgpu",
    "winit",
    "zune-jpeg",
];

const CRATES_IO: &str = "registry+https://github.com/rust-lang/crates.io-index";

/// `cargo metadata` without the network: for every platform when all of them were fetched,
/// otherwise for this one.
fn metadata() -> Value {
    let ask = |more: &[&str]| {
        Command::new(env!("CARGO"))
            .args(["metadata", "--format-version", "1", "--locked", "--offline"])
            .args(more)
            .current_dir(root())
            .output()
            .unwrap()
    };
    let all = ask(&[]);
    if all.status.success() {
        eprintln!("licences of all platforms");
        return serde_json::from_slice(&all.stdout).unwrap();
    }
    let version = Command::new(env!("CARGO")).arg("-vV").output().unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    eprintln!("licences of {host} alone: `cargo fetch` brings the others");
    let here = ask(&["--filter-platform", host]);
    assert!(here.status.success(), "{}", String::from_utf8_lossy(&here.stderr));
    let found: Value = serde_json::from_slice(&here.stdout).unwrap();
    found
}

fn lock() -> Vec<Table> {
    let lock: Table = read(&root().join("Cargo.lock")).parse().unwrap();
    let packages = lock["package"].as_array().unwrap();
    packages.iter().map(|p| p.as_table().unwrap().clone()).collect()
}

/// The part of a version that says "incompatible": `1.2.3` → `1`, `0.2.3` → `0.2`.
fn major(version: &str) -> String {
    let mut parts = version.split('.');
    match (parts.next().unwrap_or_default(), parts.next()) {
        ("0", Some(minor)) => format!("0.{minor}"),
        (major, _) => major.to_owned(),
    }
}

fn none(found: &[String]) {
    assert!(found.is_empty(), "\n{}\n", found.join("\n"));
}

#[test]
fn a_licence_that_asks_for_more_is_seen() {
    assert!(licence::lists_are_spdx());
    for good in [
        "MIT",
        "MIT OR Apache-2.0",
        "MIT/Apache-2.0",
        "MIT / Apache-2.0",
        "(MIT OR Apache-2.0) AND Unicode-3.0",
        "Apache-2.0 OR GPL-2.0-only",
        "Apache-2.0 WITH LLVM-exception OR Apache-2.0 OR MIT",
    ] {
        assert_eq!(licence::fault("some", Some(good)), None, "{good}");
    }
    for bad in [
        "GPL-3.0-only",
        "MIT AND GPL-3.0-only",
        "MPL-2.0",
        "LGPL-2.1-or-later OR AGPL-3.0-only",
        "(MIT OR Apache-2.0) AND OFL-1.1",
        "Proprietary",
        "MIT OR",
        "",
    ] {
        assert!(licence::fault("some", Some(bad)).is_some(), "{bad}");
    }
    assert!(licence::fault("some", None).is_some());
    let fonts = "(MIT OR Apache-2.0) AND OFL-1.1 AND Ubuntu-font-1.0";
    assert_eq!(licence::fault("epaint_default_fonts", Some(fonts)), None);
    assert!(licence::fault("epaint", Some(fonts)).is_some());
}

#[test]
fn every_dependency_is_permissive() {
    let metadata = metadata();
    let packages = metadata["packages"].as_array().unwrap();
    let mut found = Vec::new();
    let mut seen = BTreeSet::new();
    for p in packages {
        let name = p["name"].as_str().unwrap();
        seen.insert(name);
        found.extend(licence::fault(name, p["license"].as_str()));
        match p["source"].as_str() {
            // Our own: never published, and under both licences.
            None => {
                assert_eq!(p["license"], "MIT OR Apache-2.0", "{name}");
                assert_eq!(p["publish"], serde_json::json!([]), "{name} could be published");
            }
            Some(source) if source != CRATES_IO => {
                found.push(format!("{name} comes from {source}, not from crates.io"));
            }
            Some(_) => {}
        }
    }
    assert!(seen.contains("egui") && seen.contains("nalgebra"), "the list is not whole");
    for name in licence::excepted() {
        assert!(seen.contains(name), "the exception for {name} is no longer needed");
    }
    none(&found);
}

#[test]
fn the_lock_file_holds_crates_io_alone() {
    let mut found = Vec::new();
    let mut outside = 0;
    for p in lock() {
        let name = p["name"].as_str().unwrap();
        let Some(source) = p.get("source").and_then(|s| s.as_str()) else { continue };
        outside += 1;
        if source != CRATES_IO || !p.contains_key("checksum") {
            found.push(format!("{name} comes from {source}"));
        }
    }
    assert!(outside > 50, "only {outside} packages: not the lock file of this project");
    none(&found);
}

#[test]
fn heavy_crates_come_once() {
    assert_eq!(
        (major("1.2.3"), major("0.25.10"), major("3.0.0+x")),
        ("1".into(), "0.25".into(), "3".into())
    );
    let mut majors: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for p in lock() {
        let text = |key: &str| p[key].as_str().unwrap().to_owned();
        majors.entry(text("name")).or_default().insert(major(&text("version")));
    }
    // Some crate that does come twice shows that twice would be seen.
    assert!(majors.values().any(|v| v.len() > 1));
    let twice = |name: &&&str| majors.get(**name).is_some_and(|v| v.len() > 1);
    let found: Vec<String> =
        ONE_OF_EACH.iter().filter(twice).map(|n| format!("{n}: {:?}", majors[*n])).collect();
    none(&found);
}

/// What no text of the project may hold. Written in halves, so that this file does not hold it.
fn forbidden(text: &str) -> Vec<(usize, &'static str)> {
    const PIECES: &[&str] = &[
        concat!("../", "shared"),
        concat!("/wo", "rk/"),
        concat!("/ro", "ot/"),
        concat!("/tm", "p/"),
        concat!("C:", "\\Users"),
    ];
    const WORDS: &[&str] = &[concat!("TO", "DO"), concat!("FIX", "ME")];
    let here = root().display().to_string();
    let home = std::env::var("HOME").unwrap_or_default();
    let mine = |line: &str| [&here, &home].iter().any(|p| p.len() > 6 && line.contains(p.as_str()));
    let word = |line: &str, w: &str| line.split(|c: char| !c.is_alphanumeric()).any(|p| p == w);
    let mut found = Vec::new();
    for (i, line) in text.lines().enumerate() {
        found.extend(PIECES.iter().filter(|p| line.contains(**p)).map(|p| (i + 1, *p)));
        if mine(line) {
            found.push((i + 1, "a path of this machine"));
        }
        found.extend(WORDS.iter().filter(|w| word(line, w)).map(|w| (i + 1, *w)));
    }
    found
}

#[test]
fn project_text_is_finished_and_at_home_anywhere() {
    let planted = format!("a\n// {}: b\nc {}shadows", concat!("TO", "DO"), concat!("/wo", "rk/"));
    assert_eq!(forbidden(&planted), [(2, concat!("TO", "DO")), (3, concat!("/wo", "rk/"))]);
    assert!(forbidden("a photodiode in TODOS, network/x").is_empty());
    let mut texts = files(root(), &[".rs", ".toml", ".md", ".csv", ".json", ".sh", ".txt"]);
    texts.push(root().join(".ci").join("run"));
    let mut found = Vec::new();
    for file in texts.iter().filter(|f| f.is_file()) {
        for (line, what) in forbidden(&read(file)) {
            found.push(format!("{}:{line} holds \"{what}\"", shown(file)));
        }
    }
    none(&found);
}

#[test]
fn nothing_is_left_to_be_written() {
    let planted = source::tokens("fn f() { todo!() }\nfn g() { unimplemented!(\"x\") }").unwrap();
    assert_eq!(source::macro_uses(&planted, "todo"), [1]);
    assert_eq!(source::macro_uses(&planted, "unimplemented"), [2]);
    let mut found = Vec::new();
    for file in files(root(), &[".rs"]) {
        let tokens =
            source::tokens(&read(&file)).unwrap_or_else(|e| panic!("{}: {e}", shown(&file)));
        for name in ["todo", "unimplemented", "dbg"] {
            for line in source::macro_uses(&tokens, name) {
                found.push(format!("{}:{line} uses {name}!", shown(&file)));
            }
        }
    }
    none(&found);
}

#[test]
fn both_licences_are_there() {
    let mit = read(&root().join("LICENSE-MIT"));
    assert!(mit.contains("Copyright (c) The Flanklight authors"));
    assert!(mit.contains("without restriction, including without"));
    let apache = read(&root().join("LICENSE-APACHE"));
    assert!(apache.contains("Version 2.0, January 2004"));
    assert!(apache.contains("END OF TERMS AND CONDITIONS"));
}

/// Crates that nobody looks after any more, with the advisory that says so (RustSec database, from memory).
const UNMAINTAINED: &[(&str, &str)] = &[
    ("paste", "RUSTSEC-2024-0436"),
    ("instant", "RUSTSEC-2024-0384"),
    ("proc-macro-error", "RUSTSEC-2024-0370"),
    ("derivative", "RUSTSEC-2024-0388"),
    ("atty", "RUSTSEC-2024-0375"),
    ("fxhash", "RUSTSEC-2025-0057"),
];

#[test]
fn nothing_is_taken_that_nobody_looks_after() {
    let lock: Table = read(&root().join("Cargo.lock")).parse().unwrap();
    let names: BTreeSet<&str> = lock["package"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|p| p.get("name").and_then(toml::Value::as_str))
        .collect();
    assert!(names.contains("nalgebra"), "{} names", names.len());
    for (name, advisory) in UNMAINTAINED {
        assert!(!names.contains(name), "{name}: {advisory}");
    }
}
