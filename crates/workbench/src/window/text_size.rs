//! The size of the text: what a window carries, and the two buttons that change it.

use super::command::{Command, TextSize};
use super::news::tell;
use super::state::{About, Bench, Tone};
use eframe::egui::{
    self, Button, Context, Layout, Pos2, Rect, RichText, Ui, UiBuilder, Vec2, vec2,
};

/// Largest and smallest text, of the usual.
pub const LARGEST: f32 = 2.5;
const SMALLEST: f32 = 0.7;

/// The nearest size there is.
#[must_use]
pub fn within(size: f32) -> f32 {
    size.clamp(SMALLEST, LARGEST)
}

/// Room everything needs at the least, points: less, and entries are out of reach.
const LEAST: Vec2 = vec2(680.0, 400.0);

/// Whether the window is too narrow, in points, for all of its upper bar in one row.
#[must_use]
pub fn is_narrow(ctx: &Context) -> bool {
    ctx.content_rect().width() < 964.0
}

/// Whether it is so low, in points, that what is entered needs the room of what only tells.
#[must_use]
pub fn is_low(ctx: &Context) -> bool {
    ctx.content_rect().height() < 560.0
}

/// Sets the size that is wanted, as far as the window carries it; which that is, from the next frame on.
pub fn fit(ctx: &Context, bench: &mut Bench) -> f32 {
    let now = ctx.zoom_factor();
    let room = now * ctx.content_rect().size() / LEAST;
    bench.text_most = room.x.min(room.y).clamp(1.0, LARGEST);
    let fits = bench.text_size.min(bench.text_most);
    if (fits - now).abs() > 1e-3 {
        ctx.set_zoom_factor(fits);
        fits
    } else {
        now
    }
}

/// Sets the size of text; where the window carries no larger one, that is said.
pub fn set(bench: &mut Bench, size: TextSize) {
    const STEP: f32 = 1.1;
    let most = bench.text_most;
    let wanted = match size {
        TextSize::Usual => 1.0,
        TextSize::Larger => bench.text_size * STEP,
        // Down from what is seen, not from what the window could not carry.
        TextSize::Smaller => bench.text_size.min(most) / STEP,
    };
    // Up and down again is where it was, to the last digit.
    let wanted = if (wanted - 1.0).abs() < 0.01 { 1.0 } else { wanted };
    if size == TextSize::Larger && wanted > most * 1.001 {
        let text = match most < LARGEST {
            true => {
                "The text is as large as this window can carry. A larger window carries larger text."
            }
            false => "The text is as large as it goes.",
        };
        tell(bench, About::TextSize, Tone::Done, text.to_owned());
        // What a larger window would carry stays wanted.
        bench.text_size = bench.text_size.max(most);
        return;
    }
    // That it was as large as it goes is past.
    bench.messages.retain(|m| m.about != About::TextSize);
    bench.text_size = wanted.clamp(SMALLEST, most.max(SMALLEST));
}

/// From the corner of the window on, at the usual size of text: where the buttons stand.
const CORNER: Vec2 = vec2(12.0, 9.0);
const BUTTON: Vec2 = vec2(28.0, 22.0);
const GAP: f32 = 4.0;

/// Height the bar must have for the buttons, of the points of now.
#[must_use]
pub fn height(ctx: &Context) -> f32 {
    (CORNER.y + BUTTON.y) / ctx.zoom_factor()
}

/// The two buttons in the `corner` of the window, of a size and in a place that no size of text changes: whoever presses
/// twice presses the same one twice. What stands beside begins to their left.
pub fn buttons(ui: &mut Ui, corner: Pos2, bench: &Bench, out: &mut Vec<Command>) {
    let by = 1.0 / ui.ctx().zoom_factor();
    let inner = ui.max_rect().right();
    let place = |from_right: f32| {
        let right = corner.x - by * (CORNER.x + from_right);
        Rect::from_min_size(Pos2::new(right - by * BUTTON.x, corner.y + by * CORNER.y), by * BUTTON)
    };
    let mut left = inner;
    for (from_right, words, name, size) in [
        (0.0, "A+", "Larger text", TextSize::Larger),
        (BUTTON.x + GAP, "A−", "Smaller text", TextSize::Smaller),
    ] {
        let rect = place(from_right);
        left = left.min(rect.left());
        let builder = UiBuilder::new()
            .id_salt(words)
            .max_rect(rect)
            .layout(Layout::centered_and_justified(egui::Direction::LeftToRight));
        let mut at = ui.new_child(builder);
        at.spacing_mut().button_padding = Vec2::ZERO;
        at.spacing_mut().interact_size = rect.size();
        let button = at.add(Button::new(RichText::new(words).size(by * 13.5)));
        let most = match bench.text_most < LARGEST {
            true => format!("; this window carries up to {:.0} %", 100.0 * bench.text_most),
            false => String::new(),
        };
        if button.on_hover_text(format!("{name} (Ctrl + and -){most}")).clicked() {
            out.push(Command::Text(size));
        }
    }
    ui.add_space(inner - left + ui.spacing().item_spacing.x);
}
