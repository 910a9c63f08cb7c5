//! What the commands have in common: a job, its picture, its findings.

use super::failure::Failure;
use super::round::RoundTo;
use form::Sentence;
use job::{Findings, Job, Loaded};
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

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
        job::save(&self.job, &self.file)?;
        Ok(format!("Kept in {file}, and on its sheets.\n\n"))
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
    let mut job = job::load(path)?;
    for name in job::names_of(&job.unknown) {
        eprintln!("flanklight: note: the job's \"{name}\" is not known here; it is kept.");
    }
    let stored = job.clone();
    change(&mut job);
    let loaded = match &job.picture {
        // What was measured in it is remembered: the work goes on with that.
        Some(picture) if !job.memory.is_empty() && !picture.path.exists() => {
            eprintln!(
                "flanklight: note: {} is not there: the numbers are those measured when it last was.",
                picture.path.display()
            );
            None
        }
        Some(picture) => {
            let loaded = read(&picture.path)?;
            if !picture.sha256.is_empty() && loaded.sha256 != picture.sha256 {
                eprintln!(
                    "flanklight: note: {} is not the picture this job was made with (its contents \
                     changed); it is measured as it is now.",
                    picture.path.display()
                );
            }
            Some(loaded)
        }
        None => None,
    };
    let findings = findings(&job, loaded.as_ref());
    job.remember(&findings.memory);
    let loaded = loaded.is_some();
    Ok(Opened { job, findings, loaded, file: path.to_owned(), stored })
}

/// Today as it is printed on sheets, `2024-02-29`.
#[must_use]
pub fn today() -> String {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs());
    date(seconds)
}

/// Days since 1970-01-01 as a date of the Gregorian calendar (years begin in March, so that the day
/// that comes and goes is the last).
fn date(seconds: u64) -> String {
    const DAYS_IN_400_YEARS: u64 = 146_097;
    let days = seconds / 86_400 + 719_468;
    let (era, day) = (days / DAYS_IN_400_YEARS, days % DAYS_IN_400_YEARS);
    let year_of_era = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day_of_year = day - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let march_month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * march_month + 2) / 5 + 1;
    let month = if march_month < 10 { march_month + 3 } else { march_month - 9 };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::date;

    #[test]
    fn dates() {
        // `date -u -d @SECONDS +%F` of GNU coreutils.
        for (seconds, text) in [
            (0, "1970-01-01"),
            (951_782_400, "2000-02-29"),
            (1_709_164_800, "2024-02-29"),
            (1_735_689_599, "2024-12-31"),
            (4_107_542_400, "2100-03-01"),
        ] {
            assert_eq!(date(seconds), text);
        }
    }
}
