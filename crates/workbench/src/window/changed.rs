//! A job that was changed here and, by another window or command, in its file: which is kept is asked.

use super::command::{Command, Effect, Which};
use super::news::tell;
use super::state::{About, Bench, Tone};
use super::widgets::{bold, main_button};
use eframe::egui::{Grid, Id, Modal, ScrollArea, Ui};
use job::{Difference, Job, Mark};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What another made of the job's file.
#[derive(Debug, Clone)]
pub struct Changed {
    path: PathBuf,
    theirs: Arc<Job>,
    mark: Mark,
    differences: Vec<Difference>,
    /// The changes of both, where they do not concern the same.
    both: Option<Arc<Job>>,
}

/// Saves the job: over what its file held last, or, elsewhere, over whatever was chosen.
pub(super) fn save_at(bench: &Bench, path: PathBuf) -> Effect {
    let at_home = bench.home.as_ref() == Some(&path);
    let mark = if at_home { bench.mark.clone() } else { None };
    Effect::Save(path, mark)
}

/// The file was changed: nothing was saved.
pub(super) fn begin(bench: &mut Bench, path: PathBuf, theirs: Arc<Job>, mark: Mark) {
    let mine = bench.job();
    let differences = job::differences(mine, &theirs);
    let both = job::merge(&bench.saved, mine, &theirs).ok().map(Arc::new);
    bench.changed = Some(Changed { path, theirs, mark, differences, both });
}

/// Keeps what was chosen; the other state of the job is a version before it, or a step to undo.
pub(super) fn settle(bench: &mut Bench, which: Option<Which>) -> Vec<Effect> {
    let Some(changed) = bench.changed.take() else { return Vec::new() };
    let Changed { path, theirs, mark, both, .. } = changed;
    if !matches!(which, Some(Which::Mine | Which::Both)) {
        // Nothing is saved now, so what the job was to be saved for does not go on later by itself.
        bench.once_saved = None;
    }
    match which {
        None => Vec::new(),
        Some(Which::Mine) => vec![Effect::Save(path, Some(mark))],
        Some(Which::Theirs) => {
            bench.history.edit("take what the file holds", |j| *j = (*theirs).clone());
            (bench.saved, bench.mark) = (Arc::clone(bench.history.now()), Some(mark));
            let text =
                format!("This is the job as {} holds it. Undo brings yours back.", name(&path));
            tell(bench, About::Saving, Tone::Done, text);
            vec![Effect::Evaluate]
        }
        Some(Which::Both) => match both {
            Some(both) => {
                bench.history.edit("keep the changes of both", |j| *j = (*both).clone());
                vec![Effect::Save(path, Some(mark)), Effect::Evaluate]
            }
            None => Vec::new(),
        },
    }
}

fn name(path: &Path) -> String {
    path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Shows both, and asks.
pub(super) fn show(ui: &Ui, bench: &Bench, changed: &Changed, out: &mut Vec<Command>) {
    let shown = Modal::new(Id::unique("changed by another")).show(ui.ctx(), |ui| {
        ui.set_width(620.0);
        let file = name(&changed.path);
        ui.label(bold(format!(
            "{file} was changed by another window or command since it was read here."
        )));
        ui.label("Nothing has been saved. What is to be kept?");
        ScrollArea::vertical().max_height(240.0).show(ui, |ui| {
            Grid::new("differences").num_columns(3).spacing([16.0, 4.0]).show(ui, |ui| {
                for head in ["", "here", "in the file"] {
                    ui.label(bold(head));
                }
                ui.end_row();
                for d in &changed.differences {
                    ui.label(d.field.replace(['.', '_'], " "));
                    ui.label(&d.mine);
                    ui.label(&d.theirs);
                    ui.end_row();
                }
            });
        });
        ui.horizontal(|ui| {
            if changed.both.is_some() && main_button(ui, "Keep both changes").clicked() {
                out.push(Command::Keep(Some(Which::Both)));
            }
            if ui.button("Keep mine").clicked() {
                out.push(Command::Keep(Some(Which::Mine)));
            }
            if ui.button("Take what the file holds").clicked() {
                out.push(Command::Keep(Some(Which::Theirs)));
            }
            if ui.button("Not now").clicked() {
                out.push(Command::Keep(None));
            }
        });
        let _ = bench;
    });
    if shown.should_close() {
        out.push(Command::Keep(None));
    }
}

#[cfg(test)]
mod tests {
    use super::super::command::apply;
    use super::*;
    use form::Quantity;

    #[test]
    fn what_another_changed_is_asked_about_and_nothing_is_lost() {
        let path = PathBuf::from("/jobs/loom.json");
        let begun = || {
            let mut bench = Bench { home: Some(path.clone()), ..Bench::default() };
            bench.history.edit("play", |j| j.nut.set_play(Quantity::entered(0.08, 0.0)));
            let mut theirs = (*bench.saved).clone();
            theirs.title = "theirs".into();
            begin(&mut bench, path.clone(), Arc::new(theirs), Mark::default());
            bench
        };
        let mut bench = begun();
        assert_eq!(bench.changed.as_ref().unwrap().differences.len(), 2);
        let effects = apply(&mut bench, Command::Keep(Some(Which::Both)));
        assert!(matches!(&effects[0], Effect::Save(p, Some(_)) if *p == path));
        assert_eq!((bench.job().title.as_str(), bench.job().nut.play_mm.value), ("theirs", 0.08));
        let mut bench = begun();
        let effects = apply(&mut bench, Command::Keep(Some(Which::Mine)));
        assert!(matches!(&effects[0], Effect::Save(_, Some(_))) && bench.job().title.is_empty());
        let mut bench = begun();
        apply(&mut bench, Command::Keep(Some(Which::Theirs)));
        assert!(!bench.unsaved() && bench.job().title == "theirs");
        apply(&mut bench, Command::Undo);
        assert!(bench.unsaved() && bench.job().nut.play_mm.value == 0.08);
        let mut bench = begun();
        assert!(apply(&mut bench, Command::Keep(None)).is_empty() && bench.changed.is_none());
        // A job that was to be saved before the window closes: it closes once it is saved, and not when
        // that was put off.
        for (which, goes_on) in
            [(None, false), (Some(Which::Theirs), false), (Some(Which::Mine), true)]
        {
            let mut bench = begun();
            bench.changed = None;
            apply(&mut bench, Command::Quit);
            assert_eq!(apply(&mut bench, Command::SaveFirst).len(), 1);
            let theirs = Arc::new(Job { title: "theirs".into(), ..Job::default() });
            begin(&mut bench, path.clone(), theirs, Mark::default());
            apply(&mut bench, Command::Keep(which));
            let job = Arc::clone(bench.job());
            let saved = Command::Saved(path.clone(), job, Mark::default());
            let goes = apply(&mut bench, saved).iter().any(|e| matches!(e, Effect::Quit));
            assert_eq!(goes, goes_on, "{which:?}");
        }
    }
}
