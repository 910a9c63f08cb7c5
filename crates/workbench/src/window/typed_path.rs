//! Paths that are typed.

use super::command::{Command, Effect, apply};
use super::state::{About, Asked, Bench, Offers, TypedPath};
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
fn suggested(bench: &Bench, asked: Asked) -> String {
    let folder = likely_folder(bench);
    let path = match asked {
        Asked::Open | Asked::Survey | Asked::Ground | Asked::Retake => folder.join(""),
        Asked::Export | Asked::ExportSheet => folder.join("sheets"),
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

/// The folder in which the text so far would name something, and what it begins with there.
fn parts(text: &str) -> (PathBuf, String) {
    let text = afresh(text.trim());
    let at = text.rfind('/').map_or(0, |i| i + 1);
    (at_home(&text[..at]), text[at..].to_owned())
}

/// `~` is the person's own folder.
fn at_home(text: &str) -> PathBuf {
    match (text.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => PathBuf::from(home).join(rest),
        _ => PathBuf::from(text),
    }
}

/// Begins typing a path, where the desktop has no dialog for it.
pub(super) fn begin(bench: &mut Bench, asked: Asked) -> Vec<Effect> {
    let (text, offers) = (suggested(bench, asked), Offers::default());
    bench.typed_path = Some(TypedPath { asked, text, wrong: None, offers });
    list(bench)
}

/// Keeps the path typed so far; what was wrong with it before may be right by now.
pub(super) fn typed(bench: &mut Bench, text: String) -> Vec<Effect> {
    if let Some(typed) = &mut bench.typed_path {
        typed.text = text;
        typed.wrong = None;
    }
    list(bench)
}

/// Keeps what there is in a folder, to be offered. Folders are looked into side by side: what comes late
/// of one that was left meanwhile must not take the place of the one that is typed.
pub(super) fn listed(bench: &mut Bench, offers: Offers) {
    if let Some(typed) = bench.typed_path.as_mut().filter(|t| parts(&t.text).0 == offers.folder) {
        typed.offers = offers;
    }
}

/// Asks what there is in the folder of the path, where that is another than the one looked into last.
fn list(bench: &Bench) -> Vec<Effect> {
    let Some(typed) = &bench.typed_path else { return Vec::new() };
    let (folder, _) = parts(&typed.text);
    match folder != typed.offers.folder {
        true => vec![Effect::List(folder, typed.asked)],
        false => Vec::new(),
    }
}

/// What of a folder may be meant, as whole paths: what begins with what was typed, at most `most`.
#[must_use]
pub fn offered(typed: &TypedPath, most: usize) -> Vec<String> {
    let (folder, begun) = parts(&typed.text);
    if folder != typed.offers.folder {
        return Vec::new();
    }
    let begun = begun.to_lowercase();
    let fits = |name: &&String| name.to_lowercase().starts_with(&begun);
    typed.offers.names.iter().filter(fits).take(most).cloned().collect()
}

/// The text with `name` in the place of what was typed of it.
#[must_use]
pub fn completed(text: &str, name: &str) -> String {
    let at = text.rfind('/').map_or(0, |i| i + 1);
    format!("{}{name}", &text[..at])
}

/// Looks into a folder: pictures and jobs, readings, or only folders where one is to be named, each sort
/// by name, folders last. What cannot be read is empty.
#[must_use]
pub fn look_into(folder: &std::path::Path, asked: Asked) -> Offers {
    const MOST: usize = 5000;
    let ending = |name: &str| name.rsplit_once('.').map(|(_, e)| e.to_lowercase());
    let wanted: &[&str] = match asked {
        Asked::Open => &["jpg", "jpeg", "png", "tif", "tiff", "bmp", "webp", "json"],
        Asked::Ground | Asked::Retake => &["jpg", "jpeg", "png", "tif", "tiff", "bmp", "webp"],
        Asked::Survey => &["csv", "txt"],
        Asked::SaveAs => &["json"],
        Asked::Export | Asked::ExportSheet => &[],
    };
    let (mut folders, mut files) = (Vec::new(), Vec::new());
    for entry in std::fs::read_dir(folder).into_iter().flatten().take(MOST).flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with('.') {
            continue;
        }
        if entry.path().is_dir() {
            folders.push(format!("{name}/"));
        } else if ending(&name).is_some_and(|e| wanted.contains(&e.as_str())) {
            files.push(name);
        }
    }
    folders.sort_by_key(|n| n.to_lowercase());
    files.sort_by_key(|n| n.to_lowercase());
    // What is looked for stands before what leads further away.
    files.extend(folders);
    Offers { folder: folder.to_owned(), names: files }
}

/// Takes the typed path, or says what is wrong with it.
pub(super) fn done(bench: &mut Bench) -> Vec<Effect> {
    let Some(typed) = &mut bench.typed_path else { return Vec::new() };
    let meant = |text: &str| at_home(afresh(text.strip_prefix("file://").unwrap_or(text)));
    let mut path = meant(typed.text.trim());
    let sought = matches!(typed.asked, Asked::Open | Asked::Survey | Asked::Ground | Asked::Retake);
    // What was begun and can be only one thing is that.
    if sought
        && !path.exists()
        && let [only] = offered(typed, 2).as_slice()
    {
        typed.text = completed(typed.text.trim(), only);
        path = meant(&typed.text);
        if only.ends_with('/') {
            typed.wrong = None;
            return list(bench);
        }
    }
    let text = typed.text.trim();
    let wrong = match typed.asked {
        _ if text.is_empty() => Some("Type a path.".to_owned()),
        Asked::Open | Asked::Survey | Asked::Ground | Asked::Retake if !path.exists() => {
            Some(format!("There is no {}.", path.display()))
        }
        Asked::Open | Asked::Survey | Asked::Ground | Asked::Retake if path.is_dir() => {
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
    let tried = bench.typed_path.take().filter(|_| sought);
    let command = match asked {
        Asked::Open => Command::Open(path),
        Asked::Survey => Command::OpenSurvey(path),
        Asked::Ground => Command::OpenGround(path),
        Asked::Retake => Command::Retake(path),
        Asked::SaveAs => Command::SaveAs(path),
        Asked::Export => Command::Export(path),
        Asked::ExportSheet => Command::ExportSheet(path),
    };
    let effects = apply(bench, command);
    bench.tried_path = tried;
    effects
}

/// Lets the path that was tried go, where it is no more what a failure to come may be of: something else is
/// asked for or opened, or it was read.
pub(super) fn let_go(bench: &mut Bench, command: &Command) {
    use Command as C;
    let another = matches!(
        command,
        C::Ask(_)
            | C::TypePath(_)
            | C::Open(_)
            | C::OpenSurvey(_)
            | C::OpenGround(_)
            | C::Retake(_)
            | C::Paste(_)
            | C::New
            | C::Demonstrate(_)
            | C::Recover(_)
            | C::Stay
            | C::Opened(_)
            | C::SurveyRead(_)
            | C::GroundRead(_)
    );
    if another {
        bench.tried_path = None;
    }
}

/// Asks again for the path of what could not be read, with the reason beside it, so that it need not be
/// typed anew; gives the reason back where no path was typed for it.
pub(super) fn again(bench: &mut Bench, about: About, why: String) -> Option<String> {
    let of_a_file = matches!(about, About::Opening | About::Readings | About::Ground);
    let free = bench.typed_path.is_none() && bench.leaving.is_none();
    match bench.tried_path.take_if(|_| of_a_file) {
        Some(tried) if free => {
            bench.typed_path = Some(TypedPath { wrong: Some(why), ..tried });
            None
        }
        _ => Some(why),
    }
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
    fn what_is_in_the_folder_is_offered_as_it_is_typed() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["Shadow.JPG", "second.png", "notes.txt", ".hidden.png", "job.json"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        std::fs::create_dir(folder.path().join("screws")).unwrap();
        let text = format!("{}/", folder.path().display());
        let offers = look_into(&parts(&text).0, Asked::Open);
        assert_eq!(offers.names, ["job.json", "second.png", "Shadow.JPG", "screws/"]);
        let mut typed = TypedPath { asked: Asked::Open, text, wrong: None, offers };
        assert_eq!(offered(&typed, 2), ["job.json", "second.png"]);
        typed.text.push_str("sh");
        assert_eq!(offered(&typed, 9), ["Shadow.JPG"]);
        assert!(completed(&typed.text, "Shadow.JPG").ends_with("/Shadow.JPG"));
        // Of another folder nothing is known before it was looked into.
        typed.text.push_str("/x");
        assert!(offered(&typed, 9).is_empty());
        assert!(look_into(std::path::Path::new("/no/such"), Asked::Open).names.is_empty());
    }

    #[test]
    fn what_comes_late_of_another_folder_is_not_kept() {
        let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
        std::fs::write(folders[1].path().join("shadow.jpg"), "").unwrap();
        let mut bench = Bench::default();
        let text = format!("{}/s", folders[1].path().display());
        let offers = Offers::default();
        bench.typed_path = Some(TypedPath { asked: Asked::Open, text, wrong: None, offers });
        for late in [&folders[1], &folders[0]] {
            listed(&mut bench, look_into(&late.path().join(""), Asked::Open));
            assert_eq!(offered(bench.typed_path.as_ref().unwrap(), 9), ["shadow.jpg"]);
        }
    }

    #[test]
    fn what_can_be_only_one_thing_need_not_be_typed_out() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("screws")).unwrap();
        std::fs::write(folder.path().join("screws/loom.flanklight.json"), "").unwrap();
        std::fs::write(folder.path().join("screws/Shadow.JPG"), "").unwrap();
        let mut bench = Bench::default();
        let mut enter = |typed: &str| {
            let text = format!("{}/{typed}", folder.path().display());
            let offers = look_into(&parts(&text).0, Asked::Open);
            bench.typed_path = Some(TypedPath { asked: Asked::Open, text, wrong: None, offers });
            let effects = done(&mut bench);
            (effects, bench.typed_path.clone())
        };
        // A folder is gone into, a file taken; what may be two things, or none, is asked for.
        let (effects, typed) = enter("scr");
        assert!(matches!(&effects[..], [Effect::List(to, _)] if to.ends_with("screws")));
        assert!(typed.unwrap().text.ends_with("/screws/"));
        assert!(enter("screws/sha").1.is_none());
        for begun in ["screws/x", "screws/"] {
            let wrong = enter(begun).1.and_then(|t| t.wrong);
            assert!(wrong.is_some(), "{begun}");
        }
    }

    #[test]
    fn names_of_files_are_harmless() {
        let job = Job { title: "../a b/c?".into(), ..Job::default() };
        assert_eq!(suggested_name(&job), "a-b-c.flanklight.json");
        assert_eq!(suggested_name(&Job::default()), "thread.flanklight.json");
    }
}
