//! Which part of the picture is looked at, and how large.

use eframe::egui::{Pos2, Rect, Vec2, pos2};

/// Largest magnification, screen points per picture pixel.
const MOST_ZOOM: f32 = 64.0;

/// From picture pixels to screen points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// Screen points per picture pixel.
    pub zoom: f32,
    /// Picture pixel in the middle of the view.
    pub centre_px: (f64, f64),
    /// The picture is turned by this angle, radians, counter-clockwise as it is seen.
    pub turn_rad: f64,
    /// The whole picture is kept in view until the person zooms or pans.
    pub fitted: bool,
}

impl Default for Camera {
    fn default() -> Self {
        Self { zoom: 1.0, centre_px: (0.0, 0.0), turn_rad: 0.0, fitted: true }
    }
}

impl Camera {
    /// Shows the whole picture in `view`, if that is wished.
    pub fn settle(&mut self, view: Rect, width_px: usize, height_px: usize) {
        if self.fitted && width_px > 0 && height_px > 0 && view.is_positive() {
            self.zoom = self.whole(view, width_px, height_px);
            self.centre_px = (0.5 * width_px as f64, 0.5 * height_px as f64);
        }
    }

    fn whole(&self, view: Rect, width_px: usize, height_px: usize) -> f32 {
        let margin = 0.96;
        let (sin, cos) = (self.turn_rad.sin().abs() as f32, self.turn_rad.cos().abs() as f32);
        let (w, h) = (width_px as f32, height_px as f32);
        let (across, down) = (w * cos + h * sin, w * sin + h * cos);
        (margin * view.width() / across).min(margin * view.height() / down)
    }

    /// Where a picture point lies on the screen.
    #[must_use]
    pub fn on_screen(&self, view: Rect, x_px: f64, y_px: f64) -> Pos2 {
        let zoom = f64::from(self.zoom);
        let centre = view.center();
        let (sin, cos) = self.turn_rad.sin_cos();
        let (dx, dy) = ((x_px - self.centre_px.0) * zoom, (y_px - self.centre_px.1) * zoom);
        pos2(
            (f64::from(centre.x) + dx * cos + dy * sin) as f32,
            (f64::from(centre.y) - dx * sin + dy * cos) as f32,
        )
    }

    /// Which picture point lies under a screen point.
    #[must_use]
    pub fn in_picture(&self, view: Rect, at: Pos2) -> (f64, f64) {
        let (dx, dy) = self.away(at - view.center());
        (self.centre_px.0 + dx, self.centre_px.1 + dy)
    }

    /// A distance on the screen as one in the picture, px.
    #[must_use]
    pub fn away(&self, by: Vec2) -> (f64, f64) {
        let (sin, cos) = self.turn_rad.sin_cos();
        let (x, y) = (f64::from(by.x / self.zoom), f64::from(by.y / self.zoom));
        (x * cos - y * sin, x * sin + y * cos)
    }

    /// Moves the picture by a screen distance.
    pub fn pan(&mut self, by: Vec2) {
        let (x, y) = self.away(by);
        self.centre_px = (self.centre_px.0 - x, self.centre_px.1 - y);
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
        let least = 0.25 * self.whole(view, width_px.max(1), height_px.max(1));
        let zoom = (self.zoom * factor).clamp(least.min(MOST_ZOOM), MOST_ZOOM);
        let under = self.in_picture(view, at);
        self.zoom = zoom;
        let (x, y) = self.away(at - view.center());
        self.centre_px = (under.0 - x, under.1 - y);
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
    use eframe::egui::vec2;

    fn view() -> Rect {
        Rect::from_min_size(pos2(100.0, 50.0), vec2(800.0, 600.0))
    }

    #[test]
    fn the_point_under_the_pointer_stays_under_it() {
        let mut camera = Camera { turn_rad: 0.4, ..Camera::default() };
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
    fn turned_counter_clockwise_what_was_right_is_above() {
        let mut camera = Camera { turn_rad: std::f64::consts::FRAC_PI_2, ..Camera::default() };
        camera.settle(view(), 4000, 3000);
        let (middle, right) =
            (camera.on_screen(view(), 2000.0, 1500.0), camera.on_screen(view(), 3000.0, 1500.0));
        assert!(right.y < middle.y && (right.x - middle.x).abs() < 1e-2);
        // Turned, the whole of it is still in view.
        assert!(view().contains(camera.on_screen(view(), 0.0, 0.0)));
        assert!(view().contains(camera.on_screen(view(), 4000.0, 3000.0)));
    }

    #[test]
    fn there_and_back() {
        let mut camera = Camera { turn_rad: -1.1, ..Camera::default() };
        camera.settle(view(), 4000, 3000);
        camera.pan(vec2(33.0, -20.0));
        let p = camera.on_screen(view(), 1234.5, 987.25);
        let (x, y) = camera.in_picture(view(), p);
        assert!((x - 1234.5).abs() < 1e-2 && (y - 987.25).abs() < 1e-2);
        assert!(!camera.fitted);
    }
}
