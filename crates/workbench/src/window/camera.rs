//! Which part of the picture is looked at, and how large.

use eframe::egui::{Pos2, Rect, Vec2, pos2, vec2};

/// Largest magnification, screen points per picture pixel.
const MOST_ZOOM: f32 = 64.0;

/// From picture pixels to screen points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// Screen points per picture pixel.
    pub zoom: f32,
    /// Picture pixel in the middle of the view.
    pub centre_px: (f64, f64),
    /// The whole picture is kept in view until the person zooms or pans.
    pub fitted: bool,
}

impl Default for Camera {
    fn default() -> Self {
        Self { zoom: 1.0, centre_px: (0.0, 0.0), fitted: true }
    }
}

impl Camera {
    /// Shows the whole picture in `view`, if that is wished.
    pub fn settle(&mut self, view: Rect, width_px: usize, height_px: usize) {
        if self.fitted && width_px > 0 && height_px > 0 && view.is_positive() {
            self.zoom = Self::whole(view, width_px, height_px);
            self.centre_px = (0.5 * width_px as f64, 0.5 * height_px as f64);
        }
    }

    fn whole(view: Rect, width_px: usize, height_px: usize) -> f32 {
        let margin = 0.96;
        (margin * view.width() / width_px as f32).min(margin * view.height() / height_px as f32)
    }

    /// Where a picture point lies on the screen.
    #[must_use]
    pub fn on_screen(&self, view: Rect, x_px: f64, y_px: f64) -> Pos2 {
        let zoom = f64::from(self.zoom);
        let centre = view.center();
        pos2(
            (f64::from(centre.x) + (x_px - self.centre_px.0) * zoom) as f32,
            (f64::from(centre.y) + (y_px - self.centre_px.1) * zoom) as f32,
        )
    }

    /// Which picture point lies under a screen point.
    #[must_use]
    pub fn in_picture(&self, view: Rect, at: Pos2) -> (f64, f64) {
        let away = (at - view.center()) / self.zoom;
        (self.centre_px.0 + f64::from(away.x), self.centre_px.1 + f64::from(away.y))
    }

    /// Moves the picture by a screen distance.
    pub fn pan(&mut self, by: Vec2) {
        self.centre_px.0 -= f64::from(by.x / self.zoom);
        self.centre_px.1 -= f64::from(by.y / self.zoom);
        self.fitted = false;
    }

    /// Zooms by `factor` so that the picture point under `at` stays there.
    pub fn zoom_at(
        &mut self,
        view: Rect,
        at: Pos2,
        factor: f32,
        width_px: usize,
        height_px: usize,
    ) {
        let least = 0.25 * Self::whole(view, width_px.max(1), height_px.max(1));
        let zoom = (self.zoom * factor).clamp(least.min(MOST_ZOOM), MOST_ZOOM);
        let under = self.in_picture(view, at);
        self.zoom = zoom;
        let away: Vec2 = vec2(at.x - view.center().x, at.y - view.center().y) / zoom;
        self.centre_px = (under.0 - f64::from(away.x), under.1 - f64::from(away.y));
        self.fitted = false;
    }

    /// Keeps at least the middle of the view over the picture.
    pub fn keep_over(&mut self, width_px: usize, height_px: usize) {
        self.centre_px.0 = self.centre_px.0.clamp(0.0, width_px as f64);
        self.centre_px.1 = self.centre_px.1.clamp(0.0, height_px as f64);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view() -> Rect {
        Rect::from_min_size(pos2(100.0, 50.0), vec2(800.0, 600.0))
    }

    #[test]
    fn the_point_under_the_pointer_stays_under_it() {
        let mut camera = Camera::default();
        camera.settle(view(), 4000, 3000);
        for (at, factor) in
            [(pos2(130.0, 80.0), 1.7), (pos2(880.0, 640.0), 3.0), (pos2(500.0, 350.0), 0.4)]
        {
            let before = camera.in_picture(view(), at);
            camera.zoom_at(view(), at, factor, 4000, 3000);
            let after = camera.in_picture(view(), at);
            assert!((before.0 - after.0).abs() < 1e-2 && (before.1 - after.1).abs() < 1e-2);
        }
    }

    #[test]
    fn there_and_back() {
        let mut camera = Camera::default();
        camera.settle(view(), 4000, 3000);
        camera.pan(vec2(33.0, -20.0));
        let p = camera.on_screen(view(), 1234.5, 987.25);
        let (x, y) = camera.in_picture(view(), p);
        assert!((x - 1234.5).abs() < 1e-2 && (y - 987.25).abs() < 1e-2);
        assert!(!camera.fitted);
    }
}
