//! The window beside the screen it is on.

use eframe::egui::{Context, Vec2, ViewportCommand, pos2};
use std::time::{Duration, Instant};

/// A desktop that fills the screen with the window does so within this time.
const PATIENCE: Duration = Duration::from_millis(1500);
/// What the desktop may keep for itself, and the title of the window, of each way across the screen.
const KEPT: f32 = 0.88;

/// Whether the window fills its screen yet.
#[derive(Debug, Default)]
pub struct Fitting {
    since: Option<Instant>,
    done: bool,
}

impl Fitting {
    /// Where the desktop did not fill the screen with the window, and nobody has it in hand: it is given
    /// the size of the screen. A window that sticks out hides the lowest row, which says what is to be done;
    /// a small one in a corner of a large screen cannot be drawn larger where nothing manages windows.
    pub fn see(&mut self, ctx: &Context) {
        if self.done {
            return;
        }
        let (screen, inner, maximized) = ctx.input(|i| {
            let v = i.viewport();
            (v.monitor_size, v.inner_rect, v.maximized == Some(true))
        });
        let (Some(screen), Some(inner)) = (screen, inner) else { return };
        if maximized || fills(inner.size(), screen) {
            self.done = true;
            return;
        }
        if self.since.get_or_insert_with(Instant::now).elapsed() < PATIENCE {
            ctx.request_repaint_after(PATIENCE);
            return;
        }
        self.done = true;
        ctx.send_viewport_cmd(ViewportCommand::OuterPosition(pos2(0.0, 0.0)));
        ctx.send_viewport_cmd(ViewportCommand::InnerSize(screen));
    }
}

/// Whether a window of this size is about as large as the screen, and no larger.
fn fills(inner: Vec2, screen: Vec2) -> bool {
    let part = inner / screen;
    (KEPT..=1.0).contains(&part.x) && (KEPT..=1.0).contains(&part.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::vec2;

    #[test]
    fn a_window_too_large_or_too_small_does_not_fill_the_screen() {
        let screen = vec2(1366.0, 768.0);
        assert!(!fills(vec2(1360.0, 800.0), screen), "its lowest row is hidden");
        assert!(fills(vec2(1366.0, 702.0), screen), "with a bar and a title");
        assert!(fills(screen, screen));
        assert!(!fills(vec2(1360.0, 800.0), vec2(2560.0, 1440.0)));
    }
}
