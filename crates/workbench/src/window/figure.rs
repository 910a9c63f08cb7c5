//! Small true-to-scale drawings in panels and pages: millimetres with `y` up, laid into a rectangle
//! of the window.

use super::look::{Palette, palette};
use eframe::egui::{
    Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui,
    WidgetInfo, pos2, vec2,
};

/// Part of the rectangle that stays free round the drawing.
const MARGIN: f32 = 0.08;

/// A drawing surface.
pub struct Figure {
    painter: Painter,
    /// Colours of the theme.
    pub p: &'static Palette,
    /// The rectangle on the screen.
    pub rect: Rect,
    /// Screen points per millimetre.
    pub scale: f32,
    centre_mm: (f64, f64),
}

impl Figure {
    /// A surface `height` points high that shows `[left, bottom, right, top]`, in mm; `name` is what
    /// a screen reader says.
    pub fn new(ui: &mut Ui, height: f32, bounds_mm: [f64; 4], name: &str) -> Self {
        let size = vec2(ui.available_width(), height);
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
        let p = palette(ui);
        let painter = ui.painter_at(rect);
        painter.rect(rect, 3.0, p.card, Stroke::new(1.0, p.rule), StrokeKind::Inside);
        let [left, bottom, right, top] = bounds_mm;
        let fit = |room: f32, mm: f64| room * (1.0 - 2.0 * MARGIN) / (mm.max(1e-6) as f32);
        let scale = fit(rect.width(), right - left).min(fit(rect.height(), top - bottom));
        let centre_mm = (0.5 * (left + right), 0.5 * (bottom + top));
        Self { painter, p, rect, scale, centre_mm }
    }

    /// What of a length of the rectangle, points, a drawing may take.
    #[must_use]
    pub fn free(length: f32) -> f64 {
        f64::from(length * (1.0 - 2.0 * MARGIN)).max(1.0)
    }

    /// Where a point lies on the screen.
    #[must_use]
    pub fn at(&self, x_mm: f64, y_mm: f64) -> Pos2 {
        let c = self.rect.center();
        pos2(
            c.x + (x_mm - self.centre_mm.0) as f32 * self.scale,
            c.y - (y_mm - self.centre_mm.1) as f32 * self.scale,
        )
    }

    /// An open line.
    pub fn line(&self, points_mm: &[(f64, f64)], stroke: Stroke) {
        let points = points_mm.iter().map(|p| self.at(p.0, p.1)).collect();
        self.painter.add(Shape::line(points, stroke));
    }

    /// A broken line.
    pub fn dashed(&self, points_mm: &[(f64, f64)], stroke: Stroke) {
        let points: Vec<Pos2> = points_mm.iter().map(|p| self.at(p.0, p.1)).collect();
        self.painter.extend(Shape::dashed_line(&points, stroke, 6.0, 4.0));
    }

    /// A filled upright strip between two heights under a line: the metal below a section.
    pub fn below(&self, points_mm: &[(f64, f64)], floor_mm: f64, fill: Color32) {
        // A mesh, because polygons side by side would show their seams.
        let mut mesh = Mesh::default();
        for pair in points_mm.windows(2) {
            let [(x0, y0), (x1, y1)] = [pair[0], pair[1]];
            let first = mesh.vertices.len() as u32;
            for (x, y) in [(x0, y0), (x1, y1), (x1, floor_mm), (x0, floor_mm)] {
                mesh.colored_vertex(self.at(x, y), fill);
            }
            mesh.add_triangle(first, first + 1, first + 2);
            mesh.add_triangle(first, first + 2, first + 3);
        }
        self.painter.add(mesh);
    }

    /// A circle.
    pub fn circle(&self, centre_mm: (f64, f64), radius_mm: f64, fill: Color32, stroke: Stroke) {
        let radius = (radius_mm as f32 * self.scale).max(1.0);
        self.painter.circle(self.at(centre_mm.0, centre_mm.1), radius, fill, stroke);
    }

    /// Lettering at a point.
    pub fn text(&self, at_mm: (f64, f64), align: Align2, text: &str, colour: Color32) {
        let at = self.at(at_mm.0, at_mm.1);
        self.painter.text(at, align, text, FontId::proportional(12.5), colour);
    }

    /// A dimension between two points of the same height: line, arrowheads, words above it.
    pub fn across(&self, from_mm: f64, to_mm: f64, y_mm: f64, text: &str) {
        let (a, b) = (self.at(from_mm, y_mm), self.at(to_mm, y_mm));
        self.dimension(a, b);
        let middle = pos2(0.5 * (a.x + b.x), a.y - 2.0);
        self.painter.text(
            middle,
            Align2::CENTER_BOTTOM,
            text,
            FontId::proportional(12.0),
            self.p.ink,
        );
    }

    /// A dimension between two heights, words right of it.
    pub fn upright(&self, from_mm: f64, to_mm: f64, x_mm: f64, text: &str) {
        let (a, b) = (self.at(x_mm, from_mm), self.at(x_mm, to_mm));
        self.dimension(a, b);
        let middle = pos2(a.x + 5.0, 0.5 * (a.y + b.y));
        self.painter.text(
            middle,
            Align2::LEFT_CENTER,
            text,
            FontId::proportional(12.0),
            self.p.ink,
        );
    }

    fn dimension(&self, a: Pos2, b: Pos2) {
        let stroke = Stroke::new(1.0, self.p.faint);
        self.painter.line_segment([a, b], stroke);
        let along = b - a;
        if along.length() < 14.0 {
            return;
        }
        let u = along.normalized();
        let side = vec2(-u.y, u.x);
        for (tip, back) in [(a, u), (b, -u)] {
            let head = vec![tip, tip + 7.0 * back + 2.2 * side, tip + 7.0 * back - 2.2 * side];
            self.painter.add(Shape::convex_polygon(head, self.p.faint, Stroke::NONE));
        }
    }
}

/// A wheel with this many teeth, drawn as its pitch circle with a toothed rim. Its number stands inside
/// the rim, clear of another wheel of radius `beside_mm` on the same shaft (nothing where there is none).
pub fn wheel(
    figure: &Figure,
    centre_mm: (f64, f64),
    radius_mm: f64,
    teeth: u32,
    driver: bool,
    beside_mm: f64,
) {
    let p = figure.p;
    let (line, fill) = if driver {
        (p.accent, p.accent.gamma_multiply(0.14))
    } else {
        (p.doubt, p.doubt.gamma_multiply(0.12))
    };
    figure.circle(centre_mm, radius_mm, fill, Stroke::new(1.5, line));
    figure.circle(centre_mm, 0.9, p.ink, Stroke::NONE);
    let half = 0.5 * std::f64::consts::TAU * radius_mm / f64::from(teeth) / 2.0;
    for i in 0..teeth {
        let a = std::f64::consts::TAU * f64::from(i) / f64::from(teeth);
        let (sin, cos) = a.sin_cos();
        let at = |r: f64| (centre_mm.0 + r * cos, centre_mm.1 + r * sin);
        figure.line(&[at(radius_mm - half), at(radius_mm + half)], Stroke::new(1.0, line));
    }
    // A driver's number above its middle, a driven wheel's below: two on one shaft are both read.
    let side = if driver { 1.0 } else { -1.0 };
    let words = teeth.to_string();
    // Half a row of letters, in the drawing's measure.
    let row = 9.0 / f64::from(figure.scale.max(1e-6));
    let free = radius_mm - beside_mm;
    let from_middle = match beside_mm > 0.0 && free > 0.0 {
        true if free > 2.0 * row => radius_mm - 0.5 * free,
        true => radius_mm + row,
        false => 0.7 * radius_mm,
    };
    figure.text(
        (centre_mm.0, centre_mm.1 + side * from_middle),
        Align2::CENTER_CENTER,
        &words,
        p.ink,
    );
}
