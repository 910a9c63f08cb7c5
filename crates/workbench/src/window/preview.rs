//! The sheets as they will print, on the screen.

use super::look::{BOLD, palette};
use eframe::egui::{
    self, Color32, ColorImage, FontFamily, FontId, Pos2, Rect, Role, Sense, Shape, Stroke,
    StrokeKind, Ui, WidgetInfo, epaint::TextShape, pos2, vec2,
};
use form::Said;
use job::{Findings, Job};
use sheets::{Anchor, Drawing, Ink, Item, Path, Pen, Text, Weight};
use std::sync::Arc;

/// Arcs are drawn as chords that leave them by at most this, mm.
const SAGITTA_MM: f64 = 0.03;
/// A line thinner than this on the screen would flicker, points.
const LEAST_LINE: f32 = 0.6;
/// Capitals of the face stand this much of the em below the top of a row of text.
const BASELINE: f32 = 0.905;

/// A page with its pictures ready to be shown.
#[derive(Debug)]
pub struct Page {
    /// Stem of the files of the sheet it belongs to.
    pub sheet: &'static str,
    /// What sheet it belongs to, in words.
    pub title: String,
    /// What is drawn.
    pub drawing: Drawing,
    /// The pictures on it, in the order in which they are drawn; `None` where one cannot be read.
    pictures: Vec<Option<Arc<ColorImage>>>,
}

/// All pages that will be written. The pictures on them are decoded here, away from the window.
///
/// # Errors
/// A sentence.
pub fn pages(job: &Job, findings: &Findings, date: &str) -> Result<Vec<Page>, String> {
    let sheets = job::sheets_of(job, findings, job.sheets.paper, date);
    let mut out = Vec::new();
    for sheet in sheets.map_err(|e| e.said().in_units(job.units))? {
        let many = sheet.pages.len() > 1;
        for (i, drawing) in sheet.pages.into_iter().enumerate() {
            let title =
                if many { format!("{}, {}", sheet.title, i + 1) } else { sheet.title.to_owned() };
            let pictures = drawing
                .canvas
                .items()
                .iter()
                .filter_map(|item| match item {
                    Item::Picture { bytes, .. } => Some(decoded(bytes.bytes())),
                    _ => None,
                })
                .collect();
            out.push(Page { sheet: sheet.name, title, drawing, pictures });
        }
    }
    Ok(out)
}

/// A picture ready to be shown.
pub(super) fn decoded(bytes: &[u8]) -> Option<Arc<ColorImage>> {
    let grey = picture::decode(bytes, &picture::Limits::default()).ok()?.grey;
    let (w, h) = (grey.width(), grey.height());
    let pixels: Vec<u8> = (0..h as i64)
        .flat_map(|y| (0..w as i64).map(move |x| (x, y)))
        .map(|(x, y)| grey.encoded(x, y))
        .collect();
    Some(Arc::new(ColorImage::from_gray([w, h], &pixels)))
}

/// The texture of a picture on a page, made when it is first seen and kept while it is looked at.
pub(super) fn texture(ui: &Ui, image: &Arc<ColorImage>) -> egui::TextureId {
    let id = egui::Id::unique(("picture on a sheet", Arc::as_ptr(image) as usize));
    let kept = ui.data(|d| d.get_temp::<egui::TextureHandle>(id));
    let texture = kept.unwrap_or_else(|| {
        let options = egui::TextureOptions::LINEAR;
        let made =
            ui.ctx().load_texture("sheet", egui::ImageData::Color(Arc::clone(image)), options);
        ui.data_mut(|d| d.insert_temp(id, made.clone()));
        made
    });
    texture.id()
}

/// Where a page is looked at: how much larger than whole, and by how much moved, points.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Look {
    zoom: f32,
    moved: egui::Vec2,
}

const WHOLE: Look = Look { zoom: 1.0, moved: egui::Vec2::ZERO };
/// Eight times the whole page shows a tenth of a millimetre well.
const LARGEST: f32 = 8.0;

impl Look {
    /// Larger by `factor`; what lies `from_centre` of the room, under the pointer, stays there.
    fn zoomed(self, from_centre: egui::Vec2, factor: f32) -> Self {
        let zoom = (self.zoom * factor).clamp(1.0, LARGEST);
        let moved = from_centre - (from_centre - self.moved) * (zoom / self.zoom);
        Self { zoom, moved }
    }

    /// Moved by `by` in a room of this size; some of the page is always in sight, and a whole page is
    /// in the middle.
    fn dragged(self, by: egui::Vec2, room: egui::Vec2) -> Self {
        if self.zoom <= 1.0 {
            return WHOLE;
        }
        let most = 0.5 * self.zoom * room;
        Self { moved: (self.moved + by).clamp(-most, most), ..self }
    }
}

/// Wheel, dragging and double click, as over the picture.
fn look(ui: &Ui, room: Rect, response: &egui::Response) -> Look {
    let id = egui::Id::unique("page looked at");
    let mut now = ui.data(|d| d.get_temp(id)).unwrap_or(WHOLE);
    if let Some(at) = response.hover_pos() {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
        now = now.zoomed(at - room.center(), pinch * (scroll * 0.002).exp());
    }
    now = now.dragged(response.drag_delta(), room.size());
    if response.double_clicked() {
        now = WHOLE;
    }
    ui.data_mut(|d| d.insert_temp(id, now));
    now
}

/// Draws a page as large as the room allows, or larger where it is looked at closely.
pub fn show(ui: &mut Ui, page: &Page) {
    let mut pictures = page.pictures.iter();
    let page = &page.drawing;
    let (room, response) = ui.allocate_exact_size(ui.available_size(), Sense::click_and_drag());
    response.widget_info(|| {
        WidgetInfo::labeled(Role::Image, true, format!("{}, as it will print", page.title))
    });
    let (w, h) = (page.paper.width_mm() as f32, page.paper.height_mm() as f32);
    let look = look(ui, room, &response);
    let scale = look.zoom * (0.97 * room.width() / w).min(0.97 * room.height() / h);
    let sheet = Rect::from_center_size(room.center() + look.moved, scale * vec2(w, h));
    let painter = ui.painter_at(room);
    painter.rect_filled(room, 0.0, palette(ui).table);
    painter.rect_filled(sheet.translate(vec2(3.0, 3.0)), 0.0, Color32::from_black_alpha(60));
    painter.rect_filled(sheet, 0.0, Color32::WHITE);
    let at = |p: sheets::Point| {
        pos2(sheet.left() + p.x as f32 * scale, sheet.bottom() - p.y as f32 * scale)
    };
    for item in page.items() {
        match item {
            Item::Stroke { path, pen } => stroke(&painter, &path, pen, scale, &at),
            Item::Fill { path, ink, .. } => {
                let points: Vec<Pos2> = path.flattened(SAGITTA_MM).into_iter().map(&at).collect();
                painter.add(Shape::convex_polygon(points, grey(ink), Stroke::NONE));
            }
            Item::Text(text) => letter(&painter, &text, scale, &at),
            Item::Picture { place, .. } => {
                let rect = Rect::from_two_pos(
                    at(sheets::pt(place.left, place.bottom)),
                    at(sheets::pt(place.right, place.top)),
                );
                match pictures.next() {
                    Some(Some(image)) => {
                        let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
                        painter.image(texture(ui, image), rect, whole, Color32::WHITE);
                    }
                    _ => {
                        let line = Stroke::new(1.0, Color32::GRAY);
                        painter.rect(rect, 0.0, Color32::from_gray(225), line, StrokeKind::Inside);
                    }
                }
            }
        }
    }
}

fn grey(ink: Ink) -> Color32 {
    Color32::from_gray(ink.luma())
}

fn stroke(
    painter: &egui::Painter,
    path: &Path,
    pen: Pen,
    scale: f32,
    at: &dyn Fn(sheets::Point) -> Pos2,
) {
    let points: Vec<Pos2> = path.flattened(SAGITTA_MM).into_iter().map(at).collect();
    let wanted = pen.width_mm as f32 * scale;
    // What is too thin to show at its width is shown paler instead.
    let colour = grey(pen.ink).gamma_multiply((wanted / LEAST_LINE).clamp(0.35, 1.0));
    let stroke = Stroke::new(wanted.max(LEAST_LINE), colour);
    match pen.dash.pattern_mm() {
        [dash, gap, ..] => {
            let (dash, gap) = ((*dash as f32 * scale).max(2.0), (*gap as f32 * scale).max(1.5));
            painter.extend(Shape::dashed_line(&points, stroke, dash, gap));
        }
        _ => {
            painter.add(Shape::line(points, stroke));
        }
    }
}

fn letter(painter: &egui::Painter, text: &Text, scale: f32, at: &dyn Fn(sheets::Point) -> Pos2) {
    let size = text.size_mm as f32 * scale;
    if size < 1.5 {
        return;
    }
    let family = match text.weight {
        Weight::Regular => FontFamily::Proportional,
        Weight::Bold => FontFamily::Name(BOLD.into()),
    };
    let galley =
        painter.layout_no_wrap(text.text.clone(), FontId::new(size, family), Color32::BLACK);
    let back = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => 0.5,
        Anchor::End => 1.0,
    } * galley.size().x;
    let turn = -text.turn_deg.to_radians() as f32;
    let (sin, cos) = turn.sin_cos();
    let up = BASELINE * size;
    let corner = at(text.at) + vec2(-back * cos + up * sin, -back * sin - up * cos);
    let mut shape = TextShape::new(corner, galley, Color32::BLACK);
    shape.angle = turn;
    painter.add(shape);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_looked_at_closely_and_never_lost() {
        let (room, at) = (vec2(800.0, 600.0), vec2(120.0, -80.0));
        let near = WHOLE.zoomed(at, 4.0);
        assert_eq!(near.zoom, 4.0);
        // The point of the page under the pointer: where it lay on the whole page, four times as far
        // from its middle.
        assert_eq!(near.moved + 4.0 * at, at);
        assert_eq!(near.zoomed(at, 100.0).zoom, LARGEST);
        let back = near.zoomed(at, 0.25).dragged(egui::Vec2::ZERO, room);
        assert_eq!(back, WHOLE);
        assert_eq!(WHOLE.dragged(vec2(50.0, 0.0), room), WHOLE);
        let far = near.dragged(vec2(1e6, -1e6), room);
        assert_eq!(far.moved, vec2(1600.0, -1200.0));
    }
}
