//! What becomes of typed text that is to be taken into the job.

use super::as_typed;
use super::command::{Effect, changed};
use super::edit::{self, Edit};
use super::field::{self, Field};
use super::state::Bench;
use super::thread_name;
use form::Units;
use std::sync::Arc;

/// Takes typed text into the job, or says why not.
pub(super) fn enter(bench: &mut Bench, field: Field, by_key: bool) -> Vec<Effect> {
    let (stations, rounds) = (bench.job().survey.readings.len(), bench.job().blank.jaws.len());
    match field {
        Field::Station(i) | Field::Lost(i) if i >= stations => {
            let cells = [Field::Station(i), Field::Lost(i)];
            return new_row(
                bench,
                field,
                &cells,
                by_key.then_some(Field::Station(i + 1)),
                |t, u| field::station(&t[0], &t[1], i, u).map(Edit::AddStation),
            );
        }
        Field::Jaw(i, _) if i >= rounds => {
            let cells = [0, 1, 2, 3].map(|jaw| Field::Jaw(i, jaw));
            return new_row(
                bench,
                field,
                &cells,
                by_key.then_some(Field::Jaw(i + 1, 0)),
                |t, u| field::round(t, i, u).map(Edit::AddRound),
            );
        }
        _ => {}
    }
    if field == Field::ThreadName {
        // A name half typed is none: only the key takes it.
        return if by_key { thread_name::enter(bench) } else { Vec::new() };
    }
    let Some(text) = bench.drafts.get(&field).cloned() else { return Vec::new() };
    if text.trim() == bench.settled_text(field).trim() {
        bench.drafts.remove(&field);
        return Vec::new();
    }
    let before = Arc::clone(bench.job());
    match field.taken(&text, &before) {
        Ok(set) => {
            bench.drafts.remove(&field);
            bench.wrong.remove(&field);
            bench.history.edit(field.label(), |job| {
                set(job);
                as_typed::keep(job, field, &text);
            });
            changed(bench, &before)
        }
        Err(why) => {
            if let Some(thread) = thread_name::meant(bench, field, &text) {
                return thread_name::take(bench, &thread);
            }
            bench.wrong.insert(field, why);
            Vec::new()
        }
    }
}

/// The row behind the last is taken in once all its `cells` are filled; `next` is where the keyboard
/// goes then, when a key said so.
fn new_row(
    bench: &mut Bench,
    field: Field,
    cells: &[Field],
    next: Option<Field>,
    take: impl Fn(&[String], Units) -> Result<Edit, (Field, String)>,
) -> Vec<Effect> {
    let text = |f: &Field| bench.drafts.get(f).cloned().unwrap_or_default();
    let texts: Vec<String> = cells.iter().map(text).collect();
    let missing = texts.iter().position(|t| t.trim().is_empty());
    if let Some(missing) = missing {
        if next.is_some() && cells.get(missing) != Some(&field) {
            bench.focus = cells.get(missing).copied();
        }
        return Vec::new();
    }
    match take(&texts, bench.units()) {
        Ok(add) => {
            for f in cells {
                bench.drafts.remove(f);
                bench.wrong.remove(f);
            }
            bench.focus = next;
            let before = Arc::clone(bench.job());
            bench.history.edit(edit::label(&add).0, |job| {
                edit::change(job, &add);
                for (f, text) in cells.iter().zip(&texts) {
                    as_typed::keep(job, *f, text);
                }
            });
            changed(bench, &before)
        }
        Err((field, why)) => {
            bench.wrong.insert(field, why);
            Vec::new()
        }
    }
}
