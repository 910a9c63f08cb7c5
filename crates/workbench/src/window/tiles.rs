//! The picture as textures.

use super::camera::Camera;
use super::levels::{Levels, TILE};
use eframe::egui::{
    Color32, ColorImage, Context, Painter, Rect, TextureFilter, TextureHandle, TextureOptions,
    TextureWrapMode, pos2,
};
use std::collections::HashMap;
use std::sync::Arc;

/// Most textures kept: 64 of 4 MB.
const MOST_KEPT: usize = 64;
/// Most made in one frame besides the smallest level, so that no frame takes long.
const MOST_PER_FRAME: usize = 1;

/// Textures of the tiles that were seen lately.
#[derive(Default)]
pub struct Tiles {
    of: Option<Arc<Levels>>,
    kept: HashMap<(usize, usize, usize), (TextureHandle, u64)>,
    frame: u64,
}

impl Tiles {
    /// Draws what can be seen of the picture.
    pub fn draw(&mut self, painter: &Painter, view: Rect, camera: &Camera, levels: &Arc<Levels>) {
        if self.of.as_ref().is_none_or(|l| !Arc::ptr_eq(l, levels)) {
            self.kept.clear();
            self.of = Some(Arc::clone(levels));
        }
        self.frame += 1;
        let ctx = painter.ctx().clone();
        let wanted = levels.for_zoom(camera.zoom * ctx.pixels_per_point());
        // The smallest level is one tile and always there: nothing is ever blank.
        let mut made = self.draw_level(painter, view, camera, levels, levels.smallest());
        if wanted != levels.smallest() {
            made = self.draw_level(painter, view, camera, levels, wanted);
        }
        if made >= MOST_PER_FRAME {
            ctx.request_repaint();
        }
        if self.kept.len() > MOST_KEPT {
            let mut ages: Vec<u64> = self.kept.values().map(|(_, frame)| *frame).collect();
            ages.sort_unstable();
            let oldest = ages[self.kept.len() - MOST_KEPT];
            self.kept.retain(|_, (_, frame)| *frame >= oldest);
        }
    }

    /// Draws one level; returns how many textures had to be made.
    fn draw_level(
        &mut self,
        painter: &Painter,
        view: Rect,
        camera: &Camera,
        levels: &Levels,
        number: usize,
    ) -> usize {
        let mut made = 0;
        let Some(level) = levels.level(number) else { return made };
        let scale = (1u64 << number) as f64;
        let side = TILE as f64 * scale;
        let (x0, y0) = camera.in_picture(view, view.min);
        let (x1, y1) = camera.in_picture(view, view.max);
        let last = |pixels: usize| pixels.div_ceil(TILE).saturating_sub(1);
        let range = |from: f64, to: f64, pixels: usize| {
            let clamp = |v: f64| (v / side).floor().clamp(0.0, last(pixels) as f64) as usize;
            clamp(from)..=clamp(to)
        };
        for row in range(y0, y1, level.height) {
            for column in range(x0, x1, level.width) {
                let key = (number, column, row);
                if !self.kept.contains_key(&key) {
                    if made >= MOST_PER_FRAME {
                        continue;
                    }
                    made += 1;
                    let texture = texture(painter.ctx(), level.tile(column, row), key);
                    self.kept.insert(key, (texture, self.frame));
                }
                let Some((texture, used)) = self.kept.get_mut(&key) else { continue };
                *used = self.frame;
                let [w, h] = texture.size();
                let at = |x: f64, y: f64| camera.on_screen(view, x, y);
                let (left, top) = (column as f64 * side, row as f64 * side);
                let rect = Rect::from_min_max(
                    at(left, top),
                    at(left + w as f64 * scale, top + h as f64 * scale),
                );
                let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
                painter.image(texture.id(), rect, whole, Color32::WHITE);
            }
        }
        made
    }
}

fn texture(
    ctx: &Context,
    (w, h, grey): (usize, usize, Vec<u8>),
    (level, column, row): (usize, usize, usize),
) -> TextureHandle {
    let options = TextureOptions {
        // Enlarged, the pixels the camera gave are shown, not a guess between them.
        magnification: TextureFilter::Nearest,
        minification: TextureFilter::Linear,
        wrap_mode: TextureWrapMode::ClampToEdge,
        mipmap_mode: None,
    };
    ctx.load_texture(
        format!("picture {level} {column} {row}"),
        ColorImage::from_gray([w, h], &grey),
        options,
    )
}
