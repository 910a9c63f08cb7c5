//! What a person set for the window itself, kept between sessions: light or dark, size of the text,
//! what was opened lately.

use super::state::Bench;
use super::text_size;
use eframe::egui::{Context, ThemePreference};
use form::Units;
use std::fmt::Write;
use std::path::{Path, PathBuf};

const FILE: &str = "window.txt";
/// Sizes of text that may ever have been set.
const ZOOM: std::ops::RangeInclusive<f32> = 0.2..=5.0;

/// The settings.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Light, dark, or as the desktop.
    pub theme: ThemePreference,
    /// Size of text and everything else; 1 is usual.
    pub zoom: f32,
    /// Jobs and pictures opened lately, newest first.
    pub recent: Vec<PathBuf>,
    /// Units a new job begins with.
    pub units: Units,
}

impl Default for Settings {
    fn default() -> Self {
        Self { theme: ThemePreference::System, zoom: 1.0, recent: Vec::new(), units: Units::Mm }
    }
}

impl Settings {
    /// As they were kept in `folder`; what cannot be read is as usual.
    #[must_use]
    pub fn read(folder: &Path) -> Self {
        let mut out = Self::default();
        for line in std::fs::read_to_string(folder.join(FILE)).unwrap_or_default().lines() {
            match line.split_once(' ') {
                Some(("theme", "light")) => out.theme = ThemePreference::Light,
                Some(("theme", "dark")) => out.theme = ThemePreference::Dark,
                Some(("zoom", text)) => {
                    let set = text.parse().ok().filter(|z| ZOOM.contains(z)).unwrap_or(1.0);
                    out.zoom = text_size::within(set);
                }
                Some(("units", "inch")) => out.units = Units::Inch,
                Some(("units", "thou")) => out.units = Units::Thou,
                Some(("recent", path)) => out.recent.push(PathBuf::from(path)),
                _ => {}
            }
        }
        out.recent.retain(|p| p.is_file());
        out
    }

    /// As they are in a window now.
    #[must_use]
    pub fn of(ctx: &Context, bench: &Bench) -> Self {
        let theme = ctx.options(|o| o.theme_preference);
        Self {
            theme,
            zoom: bench.text_size,
            recent: bench.recent.clone(),
            units: bench.usual_units,
        }
    }

    /// Sets a window up; the size of the text is what it may carry, and seen to in each frame.
    pub fn apply(&self, ctx: &Context) {
        ctx.set_theme(self.theme);
    }

    /// Keeps them. What cannot be kept is only a convenience lost.
    pub fn keep(&self, folder: &Path) {
        let theme = match self.theme {
            ThemePreference::Light => "light",
            ThemePreference::Dark => "dark",
            ThemePreference::System => "system",
        };
        let units = match self.units {
            Units::Mm => "mm",
            Units::Inch => "inch",
            Units::Thou => "thou",
        };
        let mut text = format!("theme {theme}\nzoom {}\nunits {units}\n", self.zoom);
        for path in &self.recent {
            let _ = writeln!(text, "recent {}", path.display());
        }
        let _ = std::fs::create_dir_all(folder);
        let _ = job::write_whole(&folder.join(FILE), text.as_bytes());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_set_is_set_again() {
        let folder = tempfile::tempdir().unwrap();
        let there = folder.path().join("a job.json");
        std::fs::write(&there, "").unwrap();
        let gone = folder.path().join("gone.json");
        let set = Settings {
            theme: ThemePreference::Dark,
            zoom: 1.25,
            recent: vec![there.clone(), gone],
            units: Units::Thou,
        };
        set.keep(folder.path());
        let again = Settings::read(folder.path());
        assert_eq!(again, Settings { recent: vec![there], ..set });
        // Larger than text goes now: as large as it goes.
        std::fs::write(folder.path().join(FILE), "zoom 4").unwrap();
        assert_eq!(Settings::read(folder.path()).zoom, text_size::LARGEST);
        std::fs::write(folder.path().join(FILE), "zoom 1e9\ntheme loud\nwhat").unwrap();
        assert_eq!(Settings::read(folder.path()), Settings::default());
    }
}
