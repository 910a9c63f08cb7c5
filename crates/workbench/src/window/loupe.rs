//! What lies under the pointer, enlarged, while points are placed.

use super::camera::Camera;
use super::look::over;
use eframe::egui::{
    Align2, Color32, ColorImage, Context, FontId, Painter, Pos2, Rect, Stroke, StrokeKind,
    TextureFilter, TextureHandle, TextureOptions, pos2, vec2,
};
use picture::Grey;

/// Picture pixels shown, along a side; odd, so that the pointer's stands in the middle.
const SIDE_PX: i64 = 31;
/// Side on the screen, points.
const SIDE: f32 = 186.0;

/// The loupe and its texture.
#[derive(Default)]
pub struct Loupe {
    texture: Option<TextureHandle>,
}

/// What the loupe shows: a place in the picture, an edge that was found there, what is said of it.
pub struct Sight {
    /// Where it looks, px.
    pub at_px: (f64, f64),
    /// The edge, px.
    pub edge_px: Option<(f64, f64)>,
    /// At its foot.
    pub words: String,
}

impl Loupe {
    /// Draws the surroundings of a place, beside it and clear of it.
    pub fn draw(
        &mut self,
        painter: &Painter,
        view: Rect,
        camera: &Camera,
        grey: &Grey,
        sight: &Sight,
    ) {
        let at_px = sight.at_px;
        let (column, row) = (at_px.0.floor() as i64, at_px.1.floor() as i64);
        let half = SIDE_PX / 2;
        let mut bytes = Vec::with_capacity((SIDE_PX * SIDE_PX) as usize);
        for y in row - half..=row + half {
            for x in column - half..=column + half {
                let inside =
                    (0..grey.width() as i64).contains(&x) && (0..grey.height() as i64).contains(&y);
                bytes.push(if inside { grey.encoded(x, y) } else { 127 });
            }
        }
        let image = ColorImage::from_gray([SIDE_PX as usize; 2], &bytes);
        let options =
            TextureOptions { magnification: TextureFilter::Nearest, ..TextureOptions::LINEAR };
        let texture = self.texture(painter.ctx(), image, options);
        let pointer = camera.on_screen(view, at_px.0, at_px.1);
        let place = beside(view, pointer);
        painter.rect_filled(place.expand(3.0), 4.0, Color32::from_black_alpha(140));
        let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        painter.image(texture, place, whole, Color32::WHITE);
        let scale = SIDE / SIDE_PX as f32;
        let first = (column - half, row - half);
        let on = |x: f64, y: f64| {
            place.min + scale * vec2((x - first.0 as f64) as f32, (y - first.1 as f64) as f32)
        };
        let cross = on(at_px.0, at_px.1);
        let thin = Stroke::new(1.0, Color32::from_rgb(0xff, 0xff, 0xff));
        let dark = Stroke::new(3.0, Color32::from_black_alpha(120));
        for stroke in [dark, thin] {
            painter.line_segment([cross - vec2(12.0, 0.0), cross + vec2(12.0, 0.0)], stroke);
            painter.line_segment([cross - vec2(0.0, 12.0), cross + vec2(0.0, 12.0)], stroke);
        }
        if let Some((x, y)) = sight.edge_px {
            let edge = on(x, y);
            if place.contains(edge) {
                painter.circle_stroke(edge, 5.0, Stroke::new(3.5, Color32::WHITE));
                painter.circle_stroke(edge, 5.0, Stroke::new(2.0, over::POINT));
            }
        }
        let foot = Rect::from_min_max(pos2(place.left(), place.bottom() - 18.0), place.max);
        painter.rect_filled(foot, 0.0, Color32::from_black_alpha(170));
        painter.text(
            foot.center(),
            Align2::CENTER_CENTER,
            &sight.words,
            FontId::proportional(11.5),
            Color32::WHITE,
        );
        painter.rect_stroke(place, 0.0, Stroke::new(1.0, Color32::WHITE), StrokeKind::Outside);
    }

    fn texture(
        &mut self,
        ctx: &Context,
        image: ColorImage,
        options: TextureOptions,
    ) -> eframe::egui::TextureId {
        match &mut self.texture {
            Some(texture) => {
                texture.set(image, options);
                texture.id()
            }
            None => {
                let texture = ctx.load_texture("loupe", image, options);
                let id = texture.id();
                self.texture = Some(texture);
                id
            }
        }
    }
}

/// Right of the pointer and below it, or where there is room.
fn beside(view: Rect, pointer: Pos2) -> Rect {
    const AWAY: f32 = 34.0;
    let size = vec2(SIDE, SIDE);
    let mut min = pointer + vec2(AWAY, AWAY);
    if min.x + SIDE > view.right() - 6.0 {
        min.x = pointer.x - AWAY - SIDE;
    }
    if min.y + SIDE > view.bottom() - 6.0 {
        min.y = pointer.y - AWAY - SIDE;
    }
    Rect::from_min_size(min, size)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_loupe_never_hides_what_it_enlarges_and_stays_in_view() {
        let view = Rect::from_min_size(pos2(0.0, 0.0), vec2(900.0, 600.0));
        for pointer in [pos2(20.0, 20.0), pos2(880.0, 590.0), pos2(880.0, 10.0), pos2(450.0, 300.0)]
        {
            let place = beside(view, pointer);
            assert!(!place.contains(pointer));
            assert!(view.contains_rect(place), "{place:?}");
        }
    }
}
