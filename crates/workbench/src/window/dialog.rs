//! Asking the desktop for a file. Where it offers no such service, the path is typed.

use super::command::Command;
use super::state::Asked;
use super::work::Wake;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

/// A dialog that ends sooner than a hand could end it never was there.
const SOONER_THAN_A_HAND: Duration = Duration::from_millis(350);

/// Endings of pictures; where they matter, both ways of writing them that cameras use.
const PICTURES: [&str; 10] =
    ["jpg", "jpeg", "png", "tif", "tiff", "bmp", "webp", "JPG", "JPEG", "PNG"];

/// Dialogs under way.
pub struct Dialogs {
    say: Sender<Command>,
    answers: Receiver<Command>,
    wake: Wake,
    open: bool,
}

impl Dialogs {
    /// None under way; `wake` is called when one ends.
    #[must_use]
    pub fn new(wake: Wake) -> Self {
        let (say, answers) = channel();
        Self { say, answers, wake, open: false }
    }

    /// What was answered.
    pub fn answers(&mut self) -> Vec<Command> {
        let answers: Vec<Command> = self.answers.try_iter().collect();
        if !answers.is_empty() {
            self.open = false;
        }
        answers
    }

    /// Asks, on a thread of its own.
    pub fn ask(&mut self, asked: Asked, folder: Option<PathBuf>, name: String) {
        if self.open {
            return;
        }
        self.open = true;
        let (say, wake) = (self.say.clone(), self.wake.clone());
        let ask = move || {
            let began = Instant::now();
            let answer = if offered() { shown(asked, folder, &name) } else { None };
            let command = match answer {
                Some(path) => match asked {
                    Asked::Open => Command::Open(path),
                    Asked::Survey => Command::OpenSurvey(path),
                    Asked::Ground => Command::OpenGround(path),
                    Asked::Retake => Command::Retake(path),
                    Asked::SaveAs => Command::SaveAs(path),
                    Asked::Export => Command::Export(path),
                    Asked::ExportSheet => Command::ExportSheet(path),
                },
                None if began.elapsed() < SOONER_THAN_A_HAND => Command::TypePath(asked),
                None => Command::PathDropped,
            };
            // The window may be gone by now.
            let _ = say.send(command);
            wake();
        };
        if std::thread::Builder::new().name("flanklight-dialog".into()).spawn(ask).is_err() {
            let _ = self.say.send(Command::TypePath(asked));
        }
    }
}

/// Whether there is a message bus to ask on.
fn offered() -> bool {
    if !cfg!(target_os = "linux") {
        return true;
    }
    let set = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty());
    set("DBUS_SESSION_BUS_ADDRESS").is_some()
        || set("XDG_RUNTIME_DIR").is_some_and(|d| PathBuf::from(d).join("bus").exists())
}

fn shown(asked: Asked, folder: Option<PathBuf>, name: &str) -> Option<PathBuf> {
    let mut dialog = rfd::FileDialog::new();
    if let Some(folder) = folder {
        dialog = dialog.set_directory(folder);
    }
    match asked {
        Asked::Open => dialog
            .set_title("Open a picture or a job")
            .add_filter("Pictures and jobs", &[&PICTURES[..], &["json"]].concat())
            .add_filter("All files", &["*"])
            .pick_file(),
        Asked::Ground | Asked::Retake => dialog
            .set_title(match asked {
                Asked::Retake => "Open another picture of the same screw",
                _ => "Open a picture of the ground tool",
            })
            .add_filter("Pictures", &PICTURES)
            .add_filter("All files", &["*"])
            .pick_file(),
        Asked::Survey => dialog
            .set_title("Open readings of lost motion")
            .add_filter("Readings", &["csv", "txt", "CSV", "TXT"])
            .add_filter("All files", &["*"])
            .pick_file(),
        Asked::SaveAs => dialog.set_title("Save the job").set_file_name(name).save_file(),
        Asked::Export => dialog.set_title("Folder for the sheets").pick_folder(),
        Asked::ExportSheet => dialog.set_title("Folder for the sheet").pick_folder(),
    }
}
