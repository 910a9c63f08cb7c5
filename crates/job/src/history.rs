//! Undo and redo, by snapshots: a job is small and plain, so whole copies are simplest.

use crate::job::Job;
use crate::remembered::Memory;
use std::sync::Arc;

/// Most steps that can be taken back.
const MOST_STEPS: usize = 1000;

/// A job with everything that was done to it.
#[derive(Debug, Clone)]
pub struct History {
    now: Arc<Job>,
    past: Vec<Step>,
    future: Vec<Step>,
}

#[derive(Debug, Clone)]
struct Step {
    /// What was done between this snapshot and the next one in time.
    label: String,
    /// Edits of the same kind that follow each other at once make one step.
    merges: Option<&'static str>,
    job: Arc<Job>,
}

impl History {
    /// A history that begins with `job`.
    #[must_use]
    pub fn new(job: Job) -> Self {
        Self { now: Arc::new(job), past: Vec::new(), future: Vec::new() }
    }

    /// The job as it is now.
    #[must_use]
    pub fn now(&self) -> &Arc<Job> {
        &self.now
    }

    /// Changes the job, as one step called `label`. Returns whether anything changed.
    pub fn edit(&mut self, label: &str, change: impl FnOnce(&mut Job)) -> bool {
        self.edit_merging(label, None, change)
    }

    /// [`History::edit`], melting into the step before when that had the same `merges` (dragging,
    /// nudging, typing).
    pub fn edit_merging(
        &mut self,
        label: &str,
        merges: Option<&'static str>,
        change: impl FnOnce(&mut Job),
    ) -> bool {
        let mut next = (*self.now).clone();
        change(&mut next);
        if next == *self.now {
            return false;
        }
        let same = merges.is_some()
            && self.future.is_empty()
            && self.past.last().is_some_and(|step| step.merges == merges);
        if !same {
            self.past.push(Step { label: label.to_owned(), merges, job: Arc::clone(&self.now) });
            if self.past.len() > MOST_STEPS {
                self.past.remove(0);
            }
        }
        self.future.clear();
        self.now = Arc::new(next);
        true
    }

    /// Keeps what was found in the job's picture; no step, for nobody said it.
    pub fn remember(&mut self, memory: &Memory) {
        if !memory.is_empty() {
            Arc::make_mut(&mut self.now).memory = memory.clone();
        }
    }

    /// Ends a run of merging edits: the next edit is a step of its own.
    pub fn settle(&mut self) {
        if let Some(step) = self.past.last_mut() {
            step.merges = None;
        }
    }

    /// Takes the last step back. Returns what it was called.
    pub fn undo(&mut self) -> Option<String> {
        let step = self.past.pop()?;
        let label = step.label.clone();
        let then = std::mem::replace(&mut self.now, step.job);
        self.future.push(Step { label: step.label, merges: None, job: then });
        Some(label)
    }

    /// Does the step again that was last taken back. Returns what it was called.
    pub fn redo(&mut self) -> Option<String> {
        let step = self.future.pop()?;
        let label = step.label.clone();
        let before = std::mem::replace(&mut self.now, step.job);
        self.past.push(Step { label: step.label, merges: None, job: before });
        Some(label)
    }

    /// What [`History::undo`] would take back.
    #[must_use]
    pub fn undo_label(&self) -> Option<&str> {
        self.past.last().map(|s| s.label.as_str())
    }

    /// What [`History::redo`] would do again.
    #[must_use]
    pub fn redo_label(&self) -> Option<&str> {
        self.future.last().map(|s| s.label.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_the_way_back_and_forward_again() {
        let mut history = History::new(Job::default());
        for i in 0..20 {
            assert!(history.edit(&format!("step {i}"), |j| j.title = format!("title {i}")));
        }
        assert!(!history.edit("nothing", |_| {}));
        let end = Arc::clone(history.now());
        for i in (0..20).rev() {
            assert_eq!(history.undo(), Some(format!("step {i}")));
        }
        assert_eq!(history.undo(), None);
        assert_eq!(**history.now(), Job::default());
        while history.redo().is_some() {}
        assert_eq!(*history.now(), end);
    }

    #[test]
    fn a_drag_is_one_step_and_a_new_edit_forgets_the_future() {
        let mut history = History::new(Job::default());
        for i in 0..5 {
            history.edit_merging("drag", Some("drag"), |j| j.notes = i.to_string());
        }
        history.settle();
        history.edit_merging("drag", Some("drag"), |j| j.notes = "second drag".into());
        history.undo();
        assert_eq!(history.now().notes, "4");
        history.undo();
        assert_eq!(history.now().notes, "");
        history.edit("other", |j| j.notes = "other".into());
        assert_eq!(history.redo(), None);
    }
}
