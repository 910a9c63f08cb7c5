//! The picture as textures.

use super::camera::Camera;
use super::levels::{Levels, TILE};
use eframe::egui::{
    Color32, ColorImage, Context, Mesh, Painter, Rect, TextureFilter, TextureHandle,
    TextureOptions, TextureWrapMode, epaint::Vertex, pos2,
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
        let corners = [view.min, view.right_top(), view.max, view.left_bottom()]
            .map(|c| camera.in_picture(view, c));
        let (mut x0, mut x1, mut y0, mut y1) = (f64::MAX, f64::MIN, f64::MAX, f64::MIN);
        for (x, y) in corners {
            (x0, x1, y0, y1) = (x0.min(x), x1.max(x), y0.min(y), y1.max(y));
        }
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
                let (right, bottom) = (left + w as f64 * scale, top + h as f64 * scale);
                let mut mesh = Mesh::with_texture(texture.id());
                for (x, y, uv) in [
                    (left, top, pos2(0.0, 0.0)),
                    (right, top, pos2(1.0, 0.0)),
                    (right, bottom, pos2(1.0, 1.0)),
                    (left, bottom, pos2(0.0, 1.0)),
                ] {
                    mesh.vertices.push(Vertex { pos: at(x, y), uv, color: Color32::WHITE });
                }
                mesh.indices = vec![0, 1, 2, 0, 2, 3];
                painter.add(mesh);
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
