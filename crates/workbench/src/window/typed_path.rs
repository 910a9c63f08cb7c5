//! Paths that are typed.

use super::command::{Command, Effect, apply};
use super::state::{Asked, Bench};
use job::Job;
use std::path::PathBuf;

/// The folder a person is likely to look in: the job's, its picture's, that of what was opened last, or
/// their own; never the one where demonstrations are kept.
#[must_use]
pub fn likely_folder(bench: &Bench) -> PathBuf {
    let picture = bench.job().picture.as_ref().filter(|_| !bench.demonstration);
    bench
        .home
        .as_deref()
        .or(picture.map(|p| p.path.as_path()))
        .or(bench.recent.first().map(PathBuf::as_path))
        .and_then(|p| p.parent())
        .map(std::path::Path::to_owned)
        .or_else(|| std::env::var_os("HOME").map(PathBuf::from))
        .unwrap_or_default()
}

/// A path to begin typing from.
pub(super) fn suggested(bench: &Bench, asked: Asked) -> String {
    let folder = likely_folder(bench);
    let path = match asked {
        Asked::Open | Asked::Survey | Asked::Ground => folder.join(""),
        Asked::Export => folder.join("sheets"),
        Asked::SaveAs => folder.join(suggested_name(bench.job())),
    };
    path.display().to_string()
}

/// A name for a job's file.
#[must_use]
pub fn suggested_name(job: &Job) -> String {
    let plain: String = job
        .title
        .chars()
        .map(|c| if c.is_alphanumeric() || matches!(c, '-' | '_') { c } else { '-' })
        .collect();
    let plain = plain.trim_matches('-');
    format!("{}.flanklight.json", if plain.is_empty() { "thread" } else { plain })
}

/// What was typed behind the folder that stood there already: a whole path of its own begins afresh.
fn afresh(text: &str) -> &str {
    let begins = |mark| text.rfind(mark).filter(|at| *at > 0).map(|at| at + 1);
    begins("//").max(begins("/~/")).map_or(text, |at| &text[at..])
}

/// Takes the typed path, or says what is wrong with it.
pub(super) fn done(bench: &mut Bench) -> Vec<Effect> {
    let Some(typed) = &mut bench.typed_path else { return Vec::new() };
    let text = typed.text.trim();
    let text = afresh(text.strip_prefix("file://").unwrap_or(text));
    let path = match (text.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => PathBuf::from(home).join(rest),
        _ => PathBuf::from(text),
    };
    let wrong = match typed.asked {
        _ if text.is_empty() => Some("Type a path.".to_owned()),
        Asked::Open | Asked::Survey | Asked::Ground if !path.exists() => {
            Some(format!("There is no {}.", path.display()))
        }
        Asked::Open | Asked::Survey | Asked::Ground if path.is_dir() => {
            Some(format!("{} is a folder; name a file in it.", path.display()))
        }
        Asked::SaveAs if path.is_dir() => {
            Some(format!("{} is a folder; add a file name.", path.display()))
        }
        _ => None,
    };
    if wrong.is_some() {
        typed.wrong = wrong;
        return Vec::new();
    }
    let asked = typed.asked;
    bench.typed_path = None;
    let command = match asked {
        Asked::Open => Command::Open(path),
        Asked::Survey => Command::OpenSurvey(path),
        Asked::Ground => Command::OpenGround(path),
        Asked::SaveAs => Command::SaveAs(path),
        Asked::Export => Command::Export(path),
    };
    apply(bench, command)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_path_typed_behind_the_folder_begins_afresh() {
        assert_eq!(afresh("/home/a/loom//media/shadow.jpg"), "/media/shadow.jpg");
        assert_eq!(afresh("/home/a/loom/~/shadow.jpg"), "~/shadow.jpg");
        assert_eq!(afresh("/home/a/shadow.jpg"), "/home/a/shadow.jpg");
        assert_eq!(afresh("shadow.jpg"), "shadow.jpg");
        assert_eq!(afresh("//server/shadow.jpg"), "//server/shadow.jpg");
    }

    #[test]
    fn names_of_files_are_harmless() {
        let job = Job { title: "../a b/c?".into(), ..Job::default() };
        assert_eq!(suggested_name(&job), "a-b-c.flanklight.json");
        assert_eq!(suggested_name(&Job::default()), "thread.flanklight.json");
    }
}
