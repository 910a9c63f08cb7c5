//! A job that two changed at once: what only one changed is taken from each.

use crate::file;
use crate::job::Job;
use serde_json::{Map, Value};

/// A field that says one thing here and another there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Its name in the job file, `nut.play_mm`.
    pub field: String,
    /// What is said here.
    pub mine: String,
    /// What is said there.
    pub theirs: String,
}

/// What was last measured is found again and nobody said it; the version is the file's.
const NOT_SAID: [&str; 2] = ["remembered", "schema"];

/// The job with the changes that `mine` and `theirs` made to `base`.
///
/// # Errors
/// The fields that both changed, each otherwise.
pub fn merge(base: &Job, mine: &Job, theirs: &Job) -> Result<Job, Vec<Difference>> {
    let (base, ours) = (fields(base), fields(mine));
    let mut out = fields(theirs);
    let mut both = Vec::new();
    for (name, value) in &ours {
        if base.get(name) == Some(value) || out.get(name) == Some(value) {
            continue;
        }
        if out.get(name) == base.get(name) {
            out.insert(name.clone(), value.clone());
        } else {
            both.push(difference(name, Some(value), out.get(name)));
        }
    }
    // What was taken out here and not touched there.
    out.retain(|name, value| ours.contains_key(name) || base.get(name) != Some(value));
    if !both.is_empty() {
        return Err(both);
    }
    let text = Value::Object(whole(out)).to_string();
    let merged = file::from_text(&text, None).map_err(|e| {
        vec![Difference { field: "job".into(), mine: e.to_string(), theirs: String::new() }]
    })?;
    let memory = if mine.memory.is_empty() { &theirs.memory } else { &mine.memory };
    Ok(Job { memory: memory.clone(), ..merged })
}

/// What two jobs say otherwise.
#[must_use]
pub fn differences(mine: &Job, theirs: &Job) -> Vec<Difference> {
    let (ours, others) = (fields(mine), fields(theirs));
    let mut names: Vec<&String> = ours.keys().chain(others.keys()).collect();
    names.sort();
    names.dedup();
    names
        .into_iter()
        .filter(|name| ours.get(*name) != others.get(*name))
        .map(|name| difference(name, ours.get(name), others.get(name)))
        .collect()
}

/// A short digest of what a job says, for its sheets: two sheets with the same one are of the same job as it
/// was. Where its picture lies, and how an entry was written, is no part of it.
#[must_use]
pub fn digest(job: &Job) -> String {
    let mut said = fields(job);
    said.remove("picture");
    said.retain(|name, _| !name.starts_with("typed"));
    let picture = job.picture.as_ref().map_or("", |p| p.sha256.as_str());
    let text = format!("{picture}{}", Value::Object(said));
    crate::save::sha256_of(text.as_bytes())[..8].to_owned()
}

/// The fields of a job by their names: of its sections, each field; a quantity is one.
fn fields(job: &Job) -> Map<String, Value> {
    let text = file::to_text(job, None);
    let Ok(Value::Object(sections)) = serde_json::from_str(&text) else { return Map::new() };
    let mut out = Map::new();
    for (name, value) in sections {
        match value {
            _ if NOT_SAID.contains(&name.as_str()) => {}
            Value::Object(of_section) if name != "picture" => {
                out.extend(of_section.into_iter().map(|(k, v)| (format!("{name}.{k}"), v)));
            }
            value => drop(out.insert(name, value)),
        }
    }
    out
}

/// [`fields`] back in their sections.
fn whole(fields: Map<String, Value>) -> Map<String, Value> {
    let mut out = Map::new();
    out.insert("schema".into(), file::SCHEMA.into());
    for (name, value) in fields {
        match name.split_once('.') {
            Some((section, field)) => {
                let of_section =
                    out.entry(section.to_owned()).or_insert_with(|| Value::Object(Map::new()));
                if let Value::Object(of_section) = of_section {
                    of_section.insert(field.to_owned(), value);
                }
            }
            None => drop(out.insert(name, value)),
        }
    }
    out
}

fn difference(field: &str, mine: Option<&Value>, theirs: Option<&Value>) -> Difference {
    Difference { field: field.to_owned(), mine: shown(mine), theirs: shown(theirs) }
}

/// A value for people, at most so many letters.
fn shown(value: Option<&Value>) -> String {
    const MOST: usize = 60;
    let text = match value {
        None | Some(Value::Null) => "nothing".into(),
        Some(Value::String(text)) => format!("\"{text}\""),
        Some(Value::Object(q)) if q.contains_key("value") => {
            q.get("value").map_or_else(String::new, Value::to_string)
        }
        Some(other) => other.to_string(),
    };
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{} …", &text[..end]),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::Quantity;

    #[test]
    fn a_digest_is_of_what_is_said() {
        let job = Job { title: "loom".into(), ..Job::default() };
        let mut typed = job.clone();
        typed.typed.insert("play".into(), "0.08".into());
        assert_eq!(digest(&job), digest(&typed));
        assert_eq!(digest(&job).len(), 8);
        // It stands on every sheet, beside the date.
        let info = crate::template::info(&job, crate::job::PaperSaid::A4, "2024-02-29");
        assert_eq!(info.date, format!("2024-02-29 · job {}", digest(&job)));
        let mut other = job.clone();
        other.nut.set_play(Quantity::entered(0.08, 0.0));
        assert_ne!(digest(&job), digest(&other));
    }

    #[test]
    fn each_change_is_kept_and_a_clash_is_named() {
        let base = Job { title: "loom".into(), ..Job::default() };
        let mut mine = base.clone();
        mine.nut.set_play(Quantity::entered(0.08, 0.0));
        let mut theirs = base.clone();
        theirs.wheels.leadscrew_mm = Some(3.0);
        theirs.unknown.insert("later".into(), 7.into());
        let both = merge(&base, &mine, &theirs).unwrap();
        assert_eq!(both.nut.play_mm, mine.nut.play_mm);
        assert_eq!(both.wheels.leadscrew_mm, Some(3.0));
        assert_eq!(both.unknown["later"], 7);
        theirs.nut.set_play(Quantity::entered(0.2, 0.0));
        let clash = merge(&base, &mine, &theirs).unwrap_err();
        assert_eq!(clash.len(), 1, "{clash:?}");
        assert_eq!(
            clash[0],
            Difference { field: "nut.play_mm".into(), mine: "0.08".into(), theirs: "0.2".into() }
        );
        assert_eq!(differences(&mine, &theirs).len(), 3);
        assert_eq!(merge(&base, &base, &theirs).unwrap(), theirs);
    }
}
