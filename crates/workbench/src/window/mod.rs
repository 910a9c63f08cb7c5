//! The window.
//!
//! [`state::Bench`] is all that it shows, as plain data; panels take it by shared reference and
//! answer with [`command::Command`]s, which [`command::apply`] alone carries out; what takes time
//! happens on the threads of [`work::Hands`].

mod app;
mod arrived;
mod as_typed;
mod camera;
mod canvas;
mod changed;
pub mod command;
mod dialog;
pub mod edit;
mod evidence;
pub mod field;
mod figure;
mod fitted;
mod ground_view;
mod guide;
mod hearing;
mod howto;
mod keys;
mod levels;
pub mod look;
mod loupe;
mod news;
mod opening;
mod overlay;
mod panels;
mod plot;
pub mod preview;
mod refused;
mod route;
mod settings;
pub mod stage;
pub mod state;
mod status;
mod taking;
mod text_size;
mod thread_name;
mod tiles;
mod timing;
mod typed_path;
mod viewer;
mod way;
mod widgets;
pub mod work;
mod written;

pub use app::Window;
pub use route::result as route_result;

use crate::cli::Failure;
use command::Command;
use eframe::egui;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

/// What the window begins with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Start {
    /// The job opened last, or the page of doors.
    Last,
    /// A job file or a picture.
    Path(PathBuf),
}

/// Titles and stories of the demonstrations.
fn demonstrations() -> &'static [(&'static str, &'static str)] {
    static TITLES: OnceLock<Vec<(&'static str, &'static str)>> = OnceLock::new();
    TITLES.get_or_init(|| lamp::demonstrations().iter().map(|d| (d.title, d.story)).collect())
}

/// Opens the window.
///
/// # Errors
/// [`Failure::Refused`] when there is no display, or what is to be opened cannot be read.
pub fn open(start: Start) -> Result<(), Failure> {
    let timing = timing::Timing::start();
    if let Start::Path(path) = &start {
        // Said before a window appears, so that a script sees it.
        job::is_there(path).map_err(|e| {
            Failure::Refused(
                format!(
                    "cannot read {}: {e}. Check the name and that you may read the file.",
                    path.display()
                )
                .into(),
            )
        })?;
    }
    if !has_display() {
        return Err(Failure::Refused(NO_DISPLAY.into()));
    }
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title("Flanklight")
            .with_app_id("flanklight")
            .with_inner_size([1360.0, 800.0])
            .with_min_inner_size([900.0, 560.0])
            // A picture and a page of numbers want all the room there is.
            .with_maximized(true)
            .with_drag_and_drop(true),
        ..eframe::NativeOptions::default()
    };
    let made = eframe::run_native(
        "flanklight",
        options,
        Box::new(move |creation| {
            look::dress(&creation.egui_ctx);
            let ctx = creation.egui_ctx.clone();
            let wake: work::Wake = Arc::new(move || ctx.request_repaint());
            let mut window = Window::new(wake, job::state_folder())?;
            window.timing = timing;
            window.settings.apply(&creation.egui_ctx);
            let first = match start {
                Start::Path(path) => Command::Open(path),
                Start::Last => match window.bench.recent.first() {
                    Some(path) => Command::Open(path.clone()),
                    // The page of doors.
                    None => Command::New,
                },
            };
            window.command(&creation.egui_ctx, first);
            Ok(Box::new(window))
        }),
    );
    made.map_err(|e| {
        // The toolkit's error names its own source files; the last clause is the reason.
        let text = e.to_string();
        let reason = text.rsplit(": ").next().unwrap_or(&text);
        Failure::Refused(format!("the window cannot be opened ({reason}). {NO_DISPLAY}").into())
    })
}

const NO_DISPLAY: &str = "There is no display for a window here: neither WAYLAND_DISPLAY nor \
    DISPLAY leads to one. Every capability is also a command: see flanklight --help, for example \
    flanklight measure PICTURE --bar 6mm.";

/// Whether the environment names a display at all; whether it answers is seen when it is asked.
fn has_display() -> bool {
    if !cfg!(all(unix, not(target_os = "macos"))) {
        return true;
    }
    ["WAYLAND_DISPLAY", "WAYLAND_SOCKET", "DISPLAY"]
        .iter()
        .any(|name| std::env::var_os(name).is_some_and(|v| !v.is_empty()))
}
