//! What the commands have in common: a job, its picture, its findings.

use super::failure::Failure;
use super::round::RoundTo;
use form::Sentence;
use job::{Findings, Job, Loaded, Mark, SaveError};
use std::path::{Path, PathBuf};

/// Findings of a job; nobody stops the command line but its signal.
pub fn findings(job: &Job, loaded: Option<&Loaded>) -> Findings {
    job::evaluate(job, loaded, &|_| true).unwrap_or_default()
}

/// Reads a picture; what is wrong with it names its file.
///
/// # Errors
/// [`Failure`].
pub fn read(path: &Path) -> Result<Loaded, Failure> {
    Loaded::open(path).map_err(|e| {
        let text = e.to_string();
        let name = path.display().to_string();
        let text: Sentence =
            if text.contains(&name) { text } else { format!("{name}: {text}") }.into();
        if e.is_unreadable() { Failure::Refused(text) } else { Failure::NotMeasured(text) }
    })
}

/// A job file with its picture and findings.
pub struct Opened {
    /// The job, as it was asked for.
    pub job: Job,
    /// What follows from it.
    pub findings: Findings,
    /// Whether its picture was read.
    loaded: bool,
    /// Where it came from, and as it is there.
    file: PathBuf,
    stored: Job,
    mark: Mark,
}

impl Opened {
    /// The same, if a thread is known.
    ///
    /// # Errors
    /// [`Failure`]: what is missing, or why nothing could be measured.
    pub fn with_thread(self) -> Result<Self, Failure> {
        let f = &self.findings;
        if f.measurement.is_some() || (!self.loaded && f.screw.is_some()) {
            return Ok(self);
        }
        if !self.loaded && f.first_trouble().is_none() {
            return Err(Failure::Refused(format!(
                "{} holds neither a picture nor a whole thread: measure a picture with --job, give \
                 the thread to match with --job, or open the file in the window",
                self.file.display()
            ).into()));
        }
        Err(Failure::without_measurement(f))
    }

    /// The rounded form that nut and tool are made to.
    ///
    /// # Errors
    /// [`Failure`] when `to` asks for one that cannot be had.
    pub fn rounded(&self, to: &RoundTo) -> Result<Option<standards::Rounded>, Failure> {
        to.made(&self.job, self.findings.identity.as_deref())
    }

    /// Writes what was asked into the job file, if it is to be kept; answers with a sentence about it,
    /// or with nothing where the file says the same already.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be written.
    pub fn keep(&self, keep: bool) -> Result<String, Failure> {
        let file = self.file.display();
        if self.job == self.stored {
            return Ok(String::new());
        }
        if !keep {
            return Ok(format!("{file} stays as it is: --keep writes this into it.\n\n"));
        }
        let merged = keep_over(&self.job, &self.stored, &self.file, &self.mark)?;
        let beside = if merged { ", beside what another changed there meanwhile," } else { "," };
        Ok(format!("Kept in {file}{beside} and on its sheets.\n\n"))
    }
}

/// Opens and evaluates a job after `change` has been made to it.
///
/// # Errors
/// [`Failure`] when job or picture cannot be read, or nothing could be measured.
pub fn open(path: &Path, change: impl FnOnce(&mut Job)) -> Result<Opened, Failure> {
    open_any(path, change)?.with_thread()
}

/// The same where work that needs no thread is asked for.
///
/// # Errors
/// [`Failure`] when job or picture cannot be read.
pub fn open_any(path: &Path, change: impl FnOnce(&mut Job)) -> Result<Opened, Failure> {
    let (mut job, mark) = job::load_marked(path)?;
    for name in job::names_of(&job.unknown) {
        super::complain(&format!("note: the job's \"{name}\" is not known here; it is kept."));
    }
    let stored = job.clone();
    change(&mut job);
    let loaded = match &job.picture {
        Some(picture) => match read(&picture.path) {
            Ok(loaded) => {
                if !picture.sha256.is_empty() && loaded.sha256 != picture.sha256 {
                    super::complain(&format!(
                        "note: {} is not the picture this job was made with (its contents changed); it \
                         is measured as it is now.",
                        picture.path.display()
                    ));
                }
                Some(loaded)
            }
            // What was measured in it is remembered: the work goes on with that.
            Err(_) if !job.memory.is_empty() && !picture.path.exists() => {
                super::complain(&format!(
                    "note: {} is not there: the numbers are those measured when it last was.",
                    picture.path.display()
                ));
                None
            }
            Err(failure) if !job.memory.is_empty() => {
                super::complain(&format!(
                    "note: {} The numbers are those measured when it could last be read.",
                    failure.text()
                ));
                None
            }
            Err(failure) => return Err(failure),
        },
        None => None,
    };
    let findings = findings(&job, loaded.as_ref());
    job.remember(&findings.memory);
    let loaded = loaded.is_some();
    Ok(Opened { job, findings, loaded, file: path.to_owned(), stored, mark })
}

/// Saves `job` over its file, which held `stored` when it was read. What another changed there meanwhile
/// stays; answers whether there was anything.
///
/// # Errors
/// [`Failure::Refused`] where both changed the same, with both values; nothing is written then.
pub fn keep_over(job: &Job, stored: &Job, file: &Path, mark: &Mark) -> Result<bool, Failure> {
    const TRIES: usize = 20;
    let (mut job, mut mark, mut merged) = (job.clone(), mark.clone(), false);
    for _ in 0..TRIES {
        match job::save_over(&job, file, Some(&mark)) {
            Ok(_) => return Ok(merged),
            Err(SaveError::Changed { .. }) => {}
            Err(e) => return Err(e.into()),
        }
        let (theirs, now) = job::load_marked(file)?;
        job = job::merge(stored, &job, &theirs).map_err(|both| {
            let named: Vec<String> = both
                .iter()
                .take(3)
                .map(|d| format!("{} is {} there by now and {} here", d.field, d.theirs, d.mine))
                .collect();
            Failure::Refused(
                format!(
                    "{} was changed by another meanwhile: {}. Nothing was written; look at the job and \
                     give the command again.",
                    file.display(),
                    named.join("; ")
                )
                .into(),
            )
        })?;
        (mark, merged) = (now, true);
    }
    Err(SaveError::Changed { path: file.display().to_string() }.into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::Quantity;

    #[test]
    fn of_two_commands_at_once_both_are_kept_or_one_is_told() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("a.json");
        let before = Job { title: "loom".into(), ..Job::default() };
        job::save(&before, &file).unwrap();
        let (stored, mark) = job::load_marked(&file).unwrap();
        let mut nut = stored.clone();
        nut.nut.set_play(Quantity::entered(0.08, 0.0));
        let mut gears = stored.clone();
        gears.wheels.leadscrew_mm = Some(3.0);
        assert_eq!(keep_over(&nut, &stored, &file, &mark), Ok(false));
        assert_eq!(keep_over(&gears, &stored, &file, &mark), Ok(true));
        let both = job::load(&file).unwrap();
        assert_eq!((both.nut.play_mm.value, both.wheels.leadscrew_mm), (0.08, Some(3.0)));
        let mut other = stored.clone();
        other.nut.set_play(Quantity::entered(0.2, 0.0));
        let failure = keep_over(&other, &stored, &file, &mark).unwrap_err();
        let text = failure.text().to_string();
        assert_eq!(failure.status(), 3);
        assert!(text.contains("nut.play_mm is 0.08 there by now and 0.2 here"), "{text}");
        assert_eq!(job::load(&file).unwrap().nut.play_mm.value, 0.08);
    }
}
