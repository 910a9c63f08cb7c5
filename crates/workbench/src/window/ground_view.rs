//! The ground tool in its own picture, with the lines that were laid along it.

use super::look::{over, palette};
use eframe::egui::{
    self, Color32, ColorImage, Pos2, Rect, Role, Sense, Shape, Stroke, TextureHandle,
    TextureOptions, Ui, WidgetInfo, pos2, vec2,
};
use job::GroundFound;
use picture::Grey;
use std::sync::Arc;

/// Longest side of what is shown, px.
const MOST_PX: f64 = 900.0;
/// Room left round the tool, as a part of its size.
const AROUND: f64 = 0.4;

/// The part of a picture that shows the ground tool.
#[derive(Debug)]
pub struct Seen {
    image: Arc<ColorImage>,
    /// Upper left corner in the picture, px.
    corner_px: (f64, f64),
    /// Picture pixels to one of `image`.
    step: usize,
    lines_px: [[(f64, f64); 2]; 3],
}

impl Seen {
    /// The part of `grey` in which the tool was found.
    #[must_use]
    pub fn of(grey: &Grey, found: &GroundFound) -> Self {
        let ends = || found.lines_px.iter().flatten();
        let least = |f: fn(&(f64, f64)) -> f64| ends().map(f).fold(f64::MAX, f64::min);
        let most = |f: fn(&(f64, f64)) -> f64| ends().map(f).fold(f64::MIN, f64::max);
        let (x0, x1, y0, y1) = (least(|p| p.0), most(|p| p.0), least(|p| p.1), most(|p| p.1));
        let margin = AROUND * (x1 - x0).max(y1 - y0);
        let within = |v: f64, size: usize| v.clamp(0.0, size as f64);
        let (left, right) = (within(x0 - margin, grey.width()), within(x1 + margin, grey.width()));
        let (top, bottom) =
            (within(y0 - margin, grey.height()), within(y1 + margin, grey.height()));
        let step = ((right - left).max(bottom - top) / MOST_PX).ceil().max(1.0) as usize;
        let (left, top) = (left.floor(), top.floor());
        let count = |from: f64, to: f64| (((to - from) / step as f64).floor() as usize).max(1);
        let size = [count(left, right), count(top, bottom)];
        let mut bytes = Vec::with_capacity(size[0] * size[1]);
        for j in 0..size[1] {
            for i in 0..size[0] {
                let at = |from: f64, k: usize| from as i64 + (k * step) as i64;
                let mut sum = 0usize;
                for dy in 0..step as i64 {
                    for dx in 0..step as i64 {
                        sum += usize::from(grey.encoded(at(left, i) + dx, at(top, j) + dy));
                    }
                }
                bytes.push((sum / (step * step)) as u8);
            }
        }
        Self {
            image: Arc::new(ColorImage::from_gray(size, &bytes)),
            corner_px: (left, top),
            step,
            lines_px: found.lines_px,
        }
    }
}

/// Draws it as large as the room allows.
pub fn show(ui: &mut Ui, seen: &Arc<Seen>) {
    let (room, response) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    response
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, "the ground tool in its picture"));
    let painter = ui.painter_at(room);
    painter.rect_filled(room, 0.0, palette(ui).table);
    let [w, h] = seen.image.size.map(|n| n as f32);
    let scale = (room.width() / w).min(room.height() / h);
    let place = Rect::from_center_size(room.center(), scale * vec2(w, h));
    let all = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
    painter.image(texture(ui, seen).id(), place, all, Color32::WHITE);
    let at = |(x, y): (f64, f64)| {
        let along = |v: f64, from: f64| ((v - from) / seen.step as f64) as f32 * scale;
        place.min + vec2(along(x, seen.corner_px.0), along(y, seen.corner_px.1))
    };
    for line in seen.lines_px {
        painter.add(Shape::line_segment(line.map(at), Stroke::new(2.0, over::BAR)));
    }
}

/// The texture is made when it is first seen, and goes when another takes its place.
fn texture(ui: &Ui, seen: &Arc<Seen>) -> TextureHandle {
    let id = egui::Id::unique("picture of the ground tool");
    let kept = ui.data(|d| d.get_temp::<(Arc<Seen>, TextureHandle)>(id));
    match kept.filter(|(of, _)| Arc::ptr_eq(of, seen)) {
        Some((_, texture)) => texture,
        None => {
            let image = egui::ImageData::Color(Arc::clone(&seen.image));
            let texture = ui.ctx().load_texture("tool", image, TextureOptions::LINEAR);
            ui.data_mut(|d| d.insert_temp(id, (Arc::clone(seen), texture.clone())));
            texture
        }
    }
}
