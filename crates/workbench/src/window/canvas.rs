//! The picture, large, with what was found in it, and the pointer over it.

use super::camera::Camera;
use super::command::Command;
use super::edit::Edit;
use super::look::{self, over, palette};
use super::loupe::{Loupe, Sight};
use super::overlay;
use super::stage::Stage;
use super::state::{Bench, Pointer, Shown};
use super::tiles::Tiles;
use super::widgets::small_estimate;
use eframe::egui::{
    self, CursorIcon, Event, Key, Modifiers, PointerButton, Pos2, Rect, Response, Role, Sense, Ui,
    Vec2, WidgetInfo, vec2,
};
use form::Units;
use job::{Flank, PointSaid};
use picture::PixelBox;

/// How near, in screen points, a click must be to a point to take hold of it.
const GRASP: f32 = 7.0;
/// How far, in screen points, a click may be from an edge to be drawn to it.
const SNAP: f32 = 14.0;

/// What the canvas remembers between frames besides the bench.
#[derive(Default)]
pub struct Canvas {
    tiles: Tiles,
    loupe: Loupe,
    /// A box being drawn, in picture pixels.
    drawing: Option<(f64, f64)>,
    /// A point being dragged.
    dragging: Option<usize>,
    /// The chosen point was moved by keys, and the pointer not since.
    nudging: bool,
    /// Where the canvas was last shown.
    pub view: Option<Rect>,
}

/// What is under the pointer, for the status line.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Under {
    /// Picture point, px.
    pub at_px: Option<(f64, f64)>,
    /// An edge near by, px.
    pub edge_px: Option<(f64, f64)>,
}

impl Canvas {
    /// Shows the picture; the camera is the one thing that is changed at once, because it is looked
    /// through, not worked on.
    pub fn show(&mut self, ui: &mut Ui, bench: &mut Bench, out: &mut Vec<Command>) -> Under {
        let (view, response) = ui.allocate_exact_size(ui.available_size(), Sense::click_and_drag());
        self.view = Some(view);
        let p = palette(ui);
        let painter = ui.painter_at(view);
        painter.rect_filled(view, 0.0, p.table);
        let (Some(levels), Some(loaded)) = (bench.levels.clone(), bench.loaded.clone()) else {
            return Under::default();
        };
        let grey = &loaded.picture.grey;
        let (width, height) = (grey.width(), grey.height());
        bench.camera.settle(view, width, height);
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "picture"));
        self.look(ui, view, &response, &mut bench.camera, bench.pointer, (width, height));
        let nudged = keys(ui, view, &response, bench, out, (width, height));
        // From a nudge on the loupe shows the point, until the hand moves again.
        let moved = |e: &Event| matches!(e, Event::PointerMoved(_) | Event::PointerButton { .. });
        if nudged || ui.input(|i| i.events.iter().any(moved)) {
            self.nudging = nudged;
        }
        self.tiles.draw(&painter, view, &bench.camera, &levels);
        overlay::draw(&painter, view, bench);
        let under = self.point(ui, view, &response, bench, grey, out);
        self.draw_box(&painter, view, bench, under.at_px);
        let chosen = bench.point.and_then(|i| bench.job().thread.points.get(i));
        if let Some(point) = chosen.filter(|_| self.nudging) {
            let at = (point.x_px, point.y_px);
            let edge_px = snapped(bench, grey, at);
            let words = match edge_px {
                Some(edge) => format!("the point: {:.1} px from the edge", apart(edge, at)),
                None => "the point: no edge near".to_owned(),
            };
            let sight = Sight { at_px: at, edge_px, words };
            self.loupe.draw(&painter, view, &bench.camera, grey, &sight);
        } else if let Some(at) = under.at_px.filter(|_| matches!(bench.pointer, Pointer::Points(_)))
        {
            let words = match under.edge_px {
                Some(edge) => format!("jumps to the edge, {:.1} px", apart(edge, at)),
                None => "no edge near: stays here".to_owned(),
            };
            // While a point is held, the loupe follows it rather than the hand.
            let held = under.edge_px.filter(|_| self.dragging.is_some()).unwrap_or(at);
            let sight = Sight { at_px: held, edge_px: under.edge_px, words };
            self.loupe.draw(&painter, view, &bench.camera, grey, &sight);
        }
        buttons(ui, view, bench, out, (width, height));
        cursor(&response, bench.pointer, self.dragging.is_some());
        under
    }

    /// Wheel, pinch and dragging.
    fn look(
        &self,
        ui: &Ui,
        view: Rect,
        response: &Response,
        camera: &mut Camera,
        pointer: Pointer,
        (width, height): (usize, usize),
    ) {
        if let Some(at) = response.hover_pos() {
            let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta().y, i.zoom_delta()));
            let factor = pinch * (scroll * 0.002).exp();
            if (factor - 1.0).abs() > 1e-4 {
                camera.zoom_at(view, at, factor, width, height);
            }
        }
        let panning = response.dragged_by(PointerButton::Middle)
            || response.dragged_by(PointerButton::Secondary)
            || (response.dragged_by(PointerButton::Primary) && pointer == Pointer::Look);
        if panning {
            camera.pan(response.drag_delta());
        }
        if response.double_clicked() && pointer == Pointer::Look {
            camera.fitted = true;
        }
        if !camera.fitted {
            camera.keep_over(width, height);
        }
    }

    /// What the pointer does besides looking.
    fn point(
        &mut self,
        ui: &Ui,
        view: Rect,
        response: &Response,
        bench: &Bench,
        grey: &picture::Grey,
        out: &mut Vec<Command>,
    ) -> Under {
        let screen = response.interact_pointer_pos().or(response.hover_pos());
        let at_px = screen.map(|s| bench.camera.in_picture(view, s));
        let mut under = Under { at_px, edge_px: None };
        match bench.pointer {
            Pointer::Look => {
                self.drawing = None;
                self.dragging = None;
            }
            Pointer::BarBox | Pointer::ThreadBox | Pointer::Exclude => {
                if response.drag_started_by(PointerButton::Primary) {
                    let from = ui.input(|i| i.pointer.press_origin()).or(screen);
                    self.drawing = from.map(|s| bench.camera.in_picture(view, s));
                }
                if response.drag_stopped_by(PointerButton::Primary)
                    && let (Some(from), Some(to)) = (self.drawing.take(), at_px)
                    && let Some(drawn) = box_between(from, to, grey)
                {
                    out.push(Command::Edit(match bench.pointer {
                        Pointer::BarBox => Edit::BarBox(Some(drawn)),
                        Pointer::Exclude => Edit::Exclude(drawn),
                        _ => Edit::ThreadBox(Some(drawn)),
                    }));
                }
            }
            Pointer::Points(flank) => {
                under.edge_px = at_px.and_then(|at| snapped(bench, grey, at));
                self.points(response, view, bench, under, flank, out);
            }
        }
        under
    }

    fn points(
        &mut self,
        response: &Response,
        view: Rect,
        bench: &Bench,
        under: Under,
        flank: Flank,
        out: &mut Vec<Command>,
    ) {
        let Some(at) = under.at_px else { return };
        let grasped = |screen: Pos2| {
            bench
                .job()
                .thread
                .points
                .iter()
                .map(|p| bench.camera.on_screen(view, p.x_px, p.y_px).distance(screen))
                .enumerate()
                .filter(|(_, d)| *d < GRASP)
                .min_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(i, _)| i)
        };
        let screen = bench.camera.on_screen(view, at.0, at.1);
        if response.drag_started_by(PointerButton::Primary) {
            self.dragging = grasped(screen);
            out.push(Command::Choose(self.dragging));
        }
        if let Some(i) = self.dragging
            && response.dragged_by(PointerButton::Primary)
        {
            let (x, y) = under.edge_px.unwrap_or(at);
            out.push(Command::Edit(Edit::MovePoint(i, x, y)));
        }
        if response.drag_stopped() {
            self.dragging = None;
        }
        if response.clicked_by(PointerButton::Primary) {
            match grasped(screen) {
                Some(i) => out.push(Command::Choose(Some(i))),
                None => {
                    let (x_px, y_px) = under.edge_px.unwrap_or(at);
                    out.push(Command::Edit(Edit::AddPoint(PointSaid { x_px, y_px, flank })));
                }
            }
        }
        if response.clicked_by(PointerButton::Secondary)
            && let Some(i) = grasped(screen)
        {
            out.push(Command::Edit(Edit::RemovePoint(i)));
        }
    }

    fn draw_box(
        &self,
        painter: &egui::Painter,
        view: Rect,
        bench: &Bench,
        at_px: Option<(f64, f64)>,
    ) {
        if let (Some(from), Some(to)) = (self.drawing, at_px) {
            let at = |x: f64, y: f64| bench.camera.on_screen(view, x, y);
            let drawn = PixelBox {
                x: from.0.min(to.0),
                y: from.1.min(to.1),
                w: (to.0 - from.0).abs(),
                h: (to.1 - from.1).abs(),
            };
            overlay::outlined(painter, drawn, &at, over::BAR);
        }
    }
}

/// Fit, 1 : 1, turning and levelling, over a corner of the picture.
fn buttons(
    ui: &mut Ui,
    view: Rect,
    bench: &mut Bench,
    out: &mut Vec<Command>,
    (width, height): (usize, usize),
) {
    let place = Rect::from_min_size(view.min + vec2(8.0, 8.0), vec2(420.0, 30.0));
    let mut over = ui.new_child(egui::UiBuilder::new().max_rect(place));
    over.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        if ui.button("Fit").on_hover_text("the whole picture (F)").clicked() {
            bench.camera.fitted = true;
        }
        if ui.button("1 : 1").on_hover_text("one pixel to one (1)").clicked() {
            one_to_one(ui, view, view.center(), bench, (width, height));
        }
        let turn = bench.camera.turn_rad;
        let quarter = std::f64::consts::FRAC_PI_2;
        if ui.button("90°").on_hover_text("turn the view (Shift+]; by 1°: [ and ])").clicked() {
            out.push(Command::Turn(turn + quarter));
        }
        let level = level(bench);
        let can = level.is_some();
        let button = ui.add_enabled(can, egui::Button::new("Level"));
        if button.on_hover_text("lay the screw's axis level in view (H)").clicked()
            && let Some(rad) = level
        {
            out.push(Command::Turn(rad));
        }
        if turn != 0.0 {
            let upright = format!("{:.1}° turned: upright again", turn.to_degrees());
            if ui.button(upright).clicked() {
                out.push(Command::Turn(0.0));
            }
        }
    });
}

/// The turn at which the screw's axis lies level, least of those that do.
fn level(bench: &Bench) -> Option<f64> {
    let axis = bench.findings()?.thread.as_ref()?.axis;
    let turn = axis.1.atan2(axis.0);
    let half = std::f64::consts::PI;
    Some(turn - half * (turn / half).round())
}

fn one_to_one(ui: &Ui, view: Rect, at: Pos2, bench: &mut Bench, (width, height): (usize, usize)) {
    let zoom = 1.0 / ui.ctx().pixels_per_point();
    let factor = zoom / bench.camera.zoom;
    bench.camera.zoom_at(view, at, factor, width, height);
}

/// The edge near a picture point, if it lies on the picture.
fn snapped(bench: &Bench, grey: &picture::Grey, at: (f64, f64)) -> Option<(f64, f64)> {
    let radius = f64::from(SNAP / bench.camera.zoom).clamp(3.0, 40.0);
    picture::snap(grey, at.0, at.1, radius).map(|e| (e.x, e.y))
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

fn box_between(a: (f64, f64), b: (f64, f64), grey: &picture::Grey) -> Option<PixelBox> {
    const LEAST_PX: f64 = 8.0;
    let clamp = |v: f64, most: usize| v.clamp(0.0, most as f64);
    let (x0, x1) = (clamp(a.0.min(b.0), grey.width()), clamp(a.0.max(b.0), grey.width()));
    let (y0, y1) = (clamp(a.1.min(b.1), grey.height()), clamp(a.1.max(b.1), grey.height()));
    let drawn = PixelBox { x: x0, y: y0, w: x1 - x0, h: y1 - y0 };
    (drawn.w >= LEAST_PX && drawn.h >= LEAST_PX).then_some(drawn)
}

fn cursor(response: &Response, pointer: Pointer, dragging: bool) {
    let icon = match pointer {
        Pointer::Look if response.dragged() => CursorIcon::Grabbing,
        Pointer::Look => CursorIcon::Grab,
        Pointer::Points(_) if dragging => CursorIcon::Grabbing,
        _ => CursorIcon::Crosshair,
    };
    response.clone().on_hover_and_drag_cursor(icon);
}

/// Keys that work while nothing is being typed; whether the chosen point was moved by them.
fn keys(
    ui: &Ui,
    view: Rect,
    response: &Response,
    bench: &mut Bench,
    out: &mut Vec<Command>,
    (width, height): (usize, usize),
) -> bool {
    if ui.ctx().text_edit_focused() || bench.typed_path.is_some() || bench.leaving.is_some() {
        return false;
    }
    let middle = response.hover_pos().unwrap_or(view.center());
    let free = ui.memory(|m| m.focused().is_none()) || response.has_focus();
    // By the modifiers of the key itself: in a slow frame Ctrl may be up again before it is looked at, and
    // a key may have been pressed more than once.
    let presses: Vec<(Key, Modifiers)> = ui.input(|i| {
        let presses = i.events.iter().filter_map(|e| match e {
            Event::Key { key, pressed: true, modifiers, .. } => Some((*key, *modifiers)),
            _ => None,
        });
        presses.collect()
    });
    let (mut turn, mut shown) = (bench.camera.turn_rad, bench.shown);
    // Of the chosen point: where the keys have moved it, and that it is not removed twice.
    let mut moved: Option<(f64, f64)> = None;
    let mut removed = false;
    for (key, modifiers) in presses {
        let plain = modifiers.is_none();
        match key {
            Key::F if plain => bench.camera.fitted = true,
            Key::Num1 if plain => one_to_one(ui, view, middle, bench, (width, height)),
            Key::R | Key::L | Key::C | Key::B if plain && bench.stage == Stage::Thread => {
                let flank = match key {
                    Key::R => Flank::Right,
                    Key::L => Flank::Left,
                    Key::C => Flank::Crest,
                    _ => Flank::Root,
                };
                out.push(Command::Take(Pointer::Points(flank)));
            }
            Key::H if plain => {
                if let Some(rad) = level(bench) {
                    turn = rad;
                    out.push(Command::Turn(turn));
                }
            }
            Key::OpenBracket | Key::CloseBracket if !modifiers.command => {
                let by = match modifiers.shift {
                    true => std::f64::consts::FRAC_PI_2,
                    false => 1f64.to_radians(),
                };
                turn += if key == Key::OpenBracket { by } else { -by };
                out.push(Command::Turn(turn));
            }
            // With Ctrl these make the text of the window larger.
            Key::Plus | Key::Equals if !modifiers.command => {
                bench.camera.zoom_at(view, middle, 1.25, width, height);
            }
            Key::Minus if plain => bench.camera.zoom_at(view, middle, 0.8, width, height),
            Key::S if plain => {
                shown = match shown {
                    Shown::Shadow => Shown::Section,
                    Shown::Section => Shown::Shadow,
                };
                out.push(Command::Show(shown));
            }
            Key::Escape if plain => {
                out.push(Command::Choose(None));
                out.push(Command::Take(Pointer::Look));
            }
            Key::ArrowLeft | Key::ArrowRight | Key::ArrowUp | Key::ArrowDown if free => {
                let by = match key {
                    Key::ArrowLeft => vec2(-1.0, 0.0),
                    Key::ArrowRight => vec2(1.0, 0.0),
                    Key::ArrowUp => vec2(0.0, -1.0),
                    _ => vec2(0.0, 1.0),
                };
                match bench.point.and_then(|i| Some((i, bench.job().thread.points.get(i)?))) {
                    Some((i, point)) if !removed => {
                        let at = moved.unwrap_or((point.x_px, point.y_px));
                        let to = nudged_by(&bench.camera, at, by, modifiers.shift);
                        moved = Some(to);
                        out.push(Command::Edit(Edit::MovePoint(i, to.0, to.1)));
                    }
                    Some(_) => {}
                    None => bench.camera.pan(-40.0 * by),
                }
            }
            Key::Delete | Key::Backspace if plain && !removed => {
                if let Some(i) = bench.point {
                    removed = true;
                    out.push(Command::Edit(Edit::RemovePoint(i)));
                }
            }
            _ => {}
        }
    }
    moved.is_some() && !removed
}

/// A point moved by an arrow: a tenth of a picture pixel with Shift, else one screen point; along the
/// screen, however the picture is turned.
fn nudged_by(camera: &Camera, at: (f64, f64), by: Vec2, finely: bool) -> (f64, f64) {
    let step = if finely { 0.1 } else { f64::from(1.0 / camera.zoom).min(1.0) };
    let (dx, dy) = camera.away(by * camera.zoom);
    (at.0 + step * dx, at.1 + step * dy)
}

/// The legend of the colours drawn over the picture.
pub fn legend(ui: &mut Ui, limit_px: f64, px_per_mm: f64, units: Units) {
    ui.horizontal_wrapped(|ui| {
        for (off, words) in
            [(-1.0, "metal missing"), (0.0, "on the model"), (1.0, "metal standing out")]
        {
            let (rect, _) = ui.allocate_exact_size(vec2(14.0, 10.0), Sense::hover());
            ui.painter().rect_filled(rect, 2.0, look::residual_colour(off));
            ui.label(egui::RichText::new(words).small());
        }
    });
    let length = match px_per_mm > 0.0 {
        true => format!(" = {}", small_estimate(limit_px / px_per_mm, units)),
        false => String::new(),
    };
    ui.label(
        egui::RichText::new(format!(
            "full colour at {limit_px:.1} px{length} from the fitted shadow"
        ))
        .small()
        .weak(),
    );
}
