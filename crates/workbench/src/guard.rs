//! Where the program itself is at fault: a sentence, the job kept, and a report that can be sent. The report
//! holds neither pictures nor names of files.

use crate::cli::complain;
use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Mutex;

/// Exit status of a fault in the program.
const FAULT: u8 = 1;

/// What the last fault was, and where.
static LAST: Mutex<Option<String>> = Mutex::new(None);

/// From now on faults are noted, and not printed with a trace.
pub fn watch() {
    std::panic::set_hook(Box::new(|info| {
        if let Ok(mut last) = LAST.lock() {
            *last = Some(described(info));
        }
    }));
}

fn described(info: &PanicHookInfo<'_>) -> String {
    let text = info.payload_as_str().unwrap_or("no message");
    let at = info.location().map_or_else(String::new, |l| {
        // Of where the program was built, the file alone.
        let file = l.file().rsplit(['/', '\\']).next().unwrap_or_default();
        format!("{file}, line {}", l.line())
    });
    let thread = std::thread::current().name().unwrap_or("unnamed").to_owned();
    let trace = std::backtrace::Backtrace::force_capture();
    format!("{}\nat {at}, on thread {thread}\n\n{}", nameless(text), nameless(&trace.to_string()))
}

/// A text without anything that looks like a path.
fn nameless(text: &str) -> String {
    let path = |word: &str| word.contains('/') || word.contains('\\');
    let words = |line: &str| {
        let shown = line.split(' ').map(|w| if path(w) { "(a path)" } else { w });
        shown.collect::<Vec<_>>().join(" ")
    };
    text.lines().map(words).collect::<Vec<_>>().join("\n")
}

/// Does `work`; where it ends in a fault, a sentence says that `what` was not done.
///
/// # Errors
/// The sentence.
pub fn caught<T>(what: &str, work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| {
        let last = LAST.lock().ok().and_then(|mut last| last.take());
        let report = match last.and_then(|text| written(&text)) {
            Some(path) => {
                format!(" A report without pictures and names of files is in {}.", path.display())
            }
            None => String::new(),
        };
        format!(
            "{what} ended in a fault of this program, not of the job. Nothing on the disk was damaged by \
             it.{report}"
        )
    })
}

/// Writes a report; where.
fn written(text: &str) -> Option<PathBuf> {
    let folder = job::state_folder().join("reports");
    std::fs::create_dir_all(&folder).ok()?;
    let time = job::when(std::time::SystemTime::now());
    let name: String = time.chars().filter(char::is_ascii_digit).collect();
    let path = folder.join(format!("fault-{name}.txt"));
    let text = format!(
        "Flanklight {}, {} {}, {time}\n\n{text}\n",
        env!("CARGO_PKG_VERSION"),
        std::env::consts::OS,
        std::env::consts::ARCH
    );
    job::write_whole(&path, text.as_bytes()).ok()?;
    Some(path)
}

/// Runs the program.
pub fn main(run: impl FnOnce() -> ExitCode) -> ExitCode {
    match caught("The command", run) {
        Ok(code) => code,
        Err(text) => {
            complain(&text);
            ExitCode::from(FAULT)
        }
    }
}

/// Sees to it that work can be shared out even where the system gives no more threads: then there is this
/// one alone.
pub fn threads() {
    if rayon::ThreadPoolBuilder::new().build_global().is_err() {
        // Where not even that can be had, the first work that needs it ends in a fault, which is caught.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build_global();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_a_sentence_and_a_status() {
        let text = caught("Measuring", || -> u8 { panic!("planted") }).unwrap_err();
        assert!(text.starts_with("Measuring ended in a fault of this program"), "{text}");
        assert_eq!(caught("Measuring", || 7), Ok(7));
        let code = main(|| -> ExitCode { panic!("planted") });
        assert_eq!(format!("{code:?}"), format!("{:?}", ExitCode::from(FAULT)));
    }

    #[test]
    fn a_report_names_no_files() {
        assert_eq!(
            nameless("cannot read /home/me/a.jpg now\nC:\\x y"),
            "cannot read (a path) now\n(a path) y"
        );
    }
}
