//! What was found, drawn over the picture.

use super::field::entered;
use super::look::{over, residual_colour};
use super::stage::Stage;
use super::state::{Bench, Shown};
use eframe::egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, vec2};
use fit::Measurement;
use picture::EdgePoint;

/// Dark line under a coloured one, so that it shows on black and on white.
fn line(painter: &Painter, points: Vec<Pos2>, width: f32, colour: Color32) {
    if points.len() < 2 {
        return;
    }
    painter
        .add(Shape::line(points.clone(), Stroke::new(width + 2.0, Color32::from_white_alpha(150))));
    painter.add(Shape::line(points, Stroke::new(width, colour)));
}

/// Text on a plate, readable over anything.
fn plate(painter: &Painter, at: Pos2, align: Align2, text: &str, colour: Color32) {
    let galley =
        painter.layout_no_wrap(text.to_owned(), FontId::proportional(12.5), Color32::WHITE);
    let rect = align.anchor_size(at, galley.size() + vec2(10.0, 5.0));
    painter.rect_filled(rect, 3.0, colour);
    painter.galley(rect.min + vec2(5.0, 2.5), galley, Color32::WHITE);
}

/// Draws everything the stage calls for.
pub fn draw(painter: &Painter, view: Rect, bench: &Bench) {
    let at = |x: f64, y: f64| bench.camera.on_screen(view, x, y);
    if let Some(findings) = bench.findings() {
        if let Some(m) = &findings.measurement {
            bar_fitted(painter, m, &at);
            // The model goes on for ever; the picture's thread does not.
            let ends = findings.thread.as_ref().map(|t| (t.axis, t.ends_px));
            let seen = |part: &[(f64, f64)]| -> Vec<Pos2> {
                part.iter()
                    .filter(|p| {
                        ends.is_none_or(|(axis, (from, to))| {
                            (from..=to).contains(&(p.0 * axis.0 + p.1 * axis.1))
                        })
                    })
                    .map(|p| at(p.0, p.1))
                    .collect()
            };
            match bench.shown {
                Shown::Shadow => {
                    residuals(painter, view, m, &at);
                    if bench.camera.zoom > 0.8 {
                        for part in &m.shadow_px {
                            painter.add(Shape::line(seen(part), Stroke::new(1.0, over::SHADOW)));
                        }
                    }
                }
                Shown::Section => {
                    for part in &m.section_px {
                        line(painter, seen(part), 2.0, over::SECTION);
                    }
                }
            }
        } else {
            if let Some(bar) = &findings.bar {
                for edge in &bar.edges {
                    edge_points(painter, view, edge, &at, over::BAR);
                }
            }
            if let Some(thread) = &findings.thread {
                for edge in [&thread.upper, &thread.lower] {
                    edge_points(painter, view, edge, &at, over::ON);
                }
            }
        }
        bar_label(painter, bench, &at);
        warnings(painter, bench, &at);
    }
    boxes(painter, bench, &at);
    if bench.stage == Stage::Thread || !bench.job().thread.points.is_empty() {
        clicked(painter, bench, &at);
    }
}

fn bar_fitted(painter: &Painter, m: &Measurement, at: &dyn Fn(f64, f64) -> Pos2) {
    for [a, b] in &m.bar_px {
        line(painter, vec![at(a.0, a.1), at(b.0, b.1)], 2.0, over::BAR);
    }
}

fn bar_label(painter: &Painter, bench: &Bench, at: &dyn Fn(f64, f64) -> Pos2) {
    let Some(bar) = bench.findings().and_then(|f| f.bar.as_ref()) else { return };
    let corners: Vec<Pos2> = bar.corners.iter().map(|c| at(c.0, c.1)).collect();
    let width = bench
        .job()
        .bar
        .width_mm
        .map_or_else(|| "bar: width?".to_owned(), |q| format!("bar {}", entered(q, bench.units())));
    let middle = corners.iter().fold(vec2(0.0, 0.0), |s, c| s + c.to_vec2() / 4.0).to_pos2();
    plate(painter, middle, Align2::CENTER_CENTER, &width, over::BAR);
}

/// Edge points as a dotted line, no denser than the screen shows.
fn edge_points(
    painter: &Painter,
    view: Rect,
    edge: &[EdgePoint],
    at: &dyn Fn(f64, f64) -> Pos2,
    colour: Color32,
) {
    let mut last = Pos2::new(f32::NEG_INFINITY, 0.0);
    for point in edge {
        let screen = at(point.x, point.y);
        if view.contains(screen) && screen.distance(last) > 2.5 {
            painter.circle_filled(screen, 1.7, colour);
            last = screen;
        }
    }
}

/// Limit, px, at which a residual has its full colour: what three quarters of the points stay well
/// within, at least a fifth of a pixel.
#[must_use]
pub fn residual_limit_px(m: &Measurement) -> f64 {
    let mut off: Vec<f64> = m.residuals.iter().map(|r| r.off_px.abs()).collect();
    if off.is_empty() {
        return 1.0;
    }
    let k = (off.len() - 1) * 3 / 4;
    let quartile = *off.select_nth_unstable_by(k, f64::total_cmp).1;
    (3.0 * quartile).max(0.2)
}

fn residuals(painter: &Painter, view: Rect, m: &Measurement, at: &dyn Fn(f64, f64) -> Pos2) {
    let limit = residual_limit_px(m);
    let mut last = Pos2::new(f32::NEG_INFINITY, 0.0);
    for r in &m.residuals {
        let screen = at(r.x_px, r.y_px);
        if view.contains(screen) && screen.distance(last) > 2.0 {
            let colour = residual_colour((r.off_px / limit) as f32);
            // A point the fit did not believe is hollow.
            if r.weight < 0.3 {
                painter.circle_stroke(screen, 3.0, Stroke::new(1.2, colour));
            } else {
                painter.circle_filled(screen, 2.2, colour);
            }
            last = screen;
        }
    }
}

fn warnings(painter: &Painter, bench: &Bench, at: &dyn Fn(f64, f64) -> Pos2) {
    let Some(findings) = bench.findings() else { return };
    for w in findings.warnings.iter().chain(&findings.troubles) {
        // What is only good to know is shown where it is said, not on every page.
        let here = !w.is_note() || w.part == bench.stage.part();
        if let Some((x, y, width, height)) = w.at_px.filter(|_| here) {
            let b = picture::PixelBox { x, y, w: width, h: height };
            outlined(painter, b, at, over::WARNING);
            let words = w.code.replace('-', " ");
            plate(painter, at(x, y), Align2::LEFT_BOTTOM, &words, over::WARNING);
        }
    }
}

fn boxes(painter: &Painter, bench: &Bench, at: &dyn Fn(f64, f64) -> Pos2) {
    let job = bench.job();
    let show = |b: Option<picture::PixelBox>, words: &str, colour: Color32| {
        let Some(b) = b else { return };
        outlined(painter, b, at, colour);
        plate(painter, at(b.x, b.y + b.h), Align2::LEFT_TOP, words, colour);
    };
    if bench.stage == Stage::Bar {
        show(job.bar.at_px, "the bar is looked for here", over::BAR);
    }
    if bench.stage == Stage::Thread {
        show(job.thread.at_px, "the thread is looked for here", over::ON);
        for b in &job.thread.excluded_px {
            show(Some(*b), "does not count", over::WARNING);
        }
    }
}

/// The edge of a box, however the picture is turned.
pub fn outlined(
    painter: &Painter,
    b: picture::PixelBox,
    at: &dyn Fn(f64, f64) -> Pos2,
    colour: Color32,
) {
    let corners = [(b.x, b.y), (b.x + b.w, b.y), (b.x + b.w, b.y + b.h), (b.x, b.y + b.h)]
        .map(|(x, y)| at(x, y));
    painter.add(Shape::closed_line(corners.to_vec(), Stroke::new(1.5, colour)));
}

fn clicked(painter: &Painter, bench: &Bench, at: &dyn Fn(f64, f64) -> Pos2) {
    for (i, p) in bench.job().thread.points.iter().enumerate() {
        let screen = at(p.x_px, p.y_px);
        let chosen = bench.point == Some(i);
        let radius = if chosen { 6.5 } else { 4.5 };
        painter.circle_filled(screen, radius, Color32::WHITE);
        painter.circle_stroke(screen, radius, Stroke::new(2.0, over::POINT));
        let letter = match p.flank {
            job::Flank::Right => "R",
            job::Flank::Left => "L",
            job::Flank::Crest => "C",
            job::Flank::Root => "B",
        };
        painter.text(
            screen + vec2(7.0, -7.0),
            Align2::LEFT_BOTTOM,
            letter,
            FontId::proportional(12.5),
            over::POINT,
        );
    }
}
