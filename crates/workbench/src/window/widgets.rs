//! Small things that panels are made of.

use super::command::Command;
use super::field::Field;
use super::look::{BOLD, RING, palette};
use super::refused;
use super::state::Bench;
use eframe::egui::text::{CCursor, CCursorRange};
use eframe::egui::{
    self, Align, Color32, FontFamily, FontId, Frame, Id, Key, Layout, Margin, RichText, Stroke,
    TextEdit, TextStyle, Ui, vec2,
};
use form::units::MM_PER_INCH;
use form::{Quantity, Units};
use std::sync::Arc;

/// Height of the button one would press next.
pub const MAIN_BUTTON: f32 = 34.0;

/// Text in bold.
#[must_use]
pub fn bold(text: impl Into<String>) -> RichText {
    RichText::new(text).text_style(TextStyle::Name(BOLD.into()))
}

/// `text`, or as much of its beginning and its end as `fits`, with a sign of what is left out between.
#[must_use]
pub fn shortened_within(text: &str, fits: impl Fn(&str) -> bool) -> String {
    if fits(text) {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().collect();
    for kept in (0..letters.len()).rev() {
        let (head, tail) = (kept - kept / 2, kept / 2);
        let head: String = letters[..head].iter().collect();
        let tail: String = letters[letters.len() - tail..].iter().collect();
        let short = format!("{}…{}", head.trim_end(), tail.trim_start());
        if fits(&short) {
            return short;
        }
    }
    "…".to_owned()
}

/// A heading within a panel.
pub fn heading(ui: &mut Ui, text: &str) {
    ui.add_space(12.0);
    ui.label(bold(text));
}

/// A paragraph of less weight.
pub fn hint(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).small().weak());
}

/// A box that sets a group of things apart.
pub fn card<R>(ui: &mut Ui, add: impl FnOnce(&mut Ui) -> R) -> R {
    let p = palette(ui);
    Frame::new()
        .fill(p.card)
        .stroke(Stroke::new(1.0, p.rule))
        .corner_radius(3.0)
        .inner_margin(Margin::symmetric(10, 8))
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            add(ui)
        })
        .inner
}

/// A sentence with a coloured edge: a warning, an error, a refusal.
pub fn remark(ui: &mut Ui, colour: Color32, text: &str) {
    let p = palette(ui);
    let shown = Frame::new()
        .fill(p.card)
        .inner_margin(Margin { left: 12, right: 8, top: 6, bottom: 6 })
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            ui.label(whole_sentence(text));
        });
    let rect = shown.response.rect;
    ui.painter().rect_filled(
        egui::Rect::from_min_size(rect.min, vec2(4.0, rect.height())),
        0.0,
        colour,
    );
}

/// `text` with a capital: messages begin in the middle of a sentence on the command line. The name of a file
/// keeps its own.
#[must_use]
pub fn sentence(text: &str) -> String {
    let first = text.split([' ', ':']).next().unwrap_or_default();
    if first.trim_end_matches('.').contains('.') {
        return text.to_owned();
    }
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The same with a full stop where it has no end of its own.
#[must_use]
pub fn whole_sentence(text: &str) -> String {
    let mut text = sentence(text);
    if !text.ends_with(['.', '!', '?', '…', ':']) {
        text.push('.');
    }
    text
}

/// An example in the units lengths are shown in: of what is written in mm, inch and thou.
#[must_use]
pub fn example(units: Units, [mm, inch, thou]: [&'static str; 3]) -> &'static str {
    match units {
        Units::Mm => mm,
        Units::Inch => inch,
        Units::Thou => thou,
    }
}

/// An entry with its name above it; what is wrong with the text stands beside the page, see
/// [`refused::why`].
pub fn entry(
    ui: &mut Ui,
    bench: &Bench,
    out: &mut Vec<Command>,
    field: Field,
    name: &str,
    example: &str,
) {
    let label = ui.label(name);
    let mut text = bench.text_of(field);
    let response = ui
        .scope(|ui| {
            quiet(ui, bench.wrong.contains_key(&field));
            let id = entry_id(field);
            let mut wrapped = wrapped;
            let mut edit = TextEdit::singleline(&mut text)
                .id(id)
                .hint_text(example)
                .margin(vec2(8.0, 5.0))
                .desired_width(f32::INFINITY);
            if field.is_long() {
                edit = edit.layouter(&mut wrapped);
            }
            ui.add(edit)
        })
        .inner
        .labelled_by(label.id);
    typed(ui, bench, out, field, &response, text);
}

/// Where the keyboard is when it is in the entry of a field.
#[must_use]
pub fn entry_id(field: Field) -> Id {
    Id::unique(("entry", field))
}

/// Text in as many rows as it needs: a list is read as a whole.
fn wrapped(ui: &Ui, text: &dyn egui::TextBuffer, width: f32) -> Arc<egui::Galley> {
    let colour = ui.visuals().widgets.inactive.text_color();
    let font = TextStyle::Body.resolve(ui.style());
    let mut job = egui::text::LayoutJob::simple(text.as_str().to_owned(), font, colour, width);
    job.keep_trailing_whitespace = true;
    ui.fonts_mut(|f| f.layout_job(job))
}

/// The frame of an entry before it has the keyboard: one that the pointer is over must not look like
/// one that is typed in.
fn quiet(ui: &mut Ui, wrong: bool) {
    let p = palette(ui);
    let widgets = &mut ui.visuals_mut().widgets;
    let stroke = if wrong { Stroke::new(1.5, p.bad) } else { Stroke::new(1.0, p.faint) };
    widgets.hovered.bg_stroke = stroke;
    if wrong {
        widgets.inactive.bg_stroke = stroke;
    }
}

/// An entry without a visible name, in a table; `name` is what a screen reader says.
pub fn cell(
    ui: &mut Ui,
    bench: &Bench,
    out: &mut Vec<Command>,
    field: Field,
    name: &str,
    width: f32,
) {
    let mut text = bench.text_of(field);
    let response = ui
        .scope(|ui| {
            quiet(ui, bench.wrong.contains_key(&field));
            let edit = TextEdit::singleline(&mut text)
                .id(entry_id(field))
                .margin(vec2(6.0, 4.0))
                .desired_width(width);
            ui.add_sized(vec2(width, 26.0), edit)
        })
        .inner;
    named_entry(ui, &response, name);
    typed(ui, bench, out, field, &response, text);
}

/// Width of a [`cell`] that shows `text` whole, points, and no less than `least`.
#[must_use]
pub fn wide_enough(ui: &Ui, text: &str, least: f32) -> f32 {
    let font = TextStyle::Body.resolve(ui.style());
    let text = ui.fonts_mut(|f| f.layout_no_wrap(text.to_owned(), font, Color32::BLACK).size().x);
    // Margins, and room for the cursor.
    least.max(text + 16.0)
}

/// Gives an entry a name that is not written beside it.
fn named_entry(ui: &Ui, response: &egui::Response, name: &str) {
    ui.ctx().accesskit_node_builder(response.id, |node| node.set_label(name));
}

/// What becomes of an entry that was shown.
fn typed(
    ui: &Ui,
    bench: &Bench,
    out: &mut Vec<Command>,
    field: Field,
    response: &egui::Response,
    text: String,
) {
    keyboard(ui, bench, out, field, response, &text);
    if response.has_focus() {
        // One frame says where keys go, and it goes when they go elsewhere.
        let colour =
            if bench.wrong.contains_key(&field) { palette(ui).bad } else { palette(ui).accent };
        let stroke = Stroke::new(2.0, colour);
        ui.painter().rect_stroke(response.rect, 3.0, stroke, egui::StrokeKind::Inside);
    }
    refused::why(ui, bench, out, field, response, &text);
    if response.changed() {
        out.push(Command::Type(field, text));
    }
    left(ui, out, field, response);
}

/// What becomes of typed text when the keyboard goes: it is taken, or given up with Escape.
pub fn left(ui: &Ui, out: &mut Vec<Command>, field: Field, response: &egui::Response) {
    if response.lost_focus() {
        out.push(match pressed(ui, Key::Escape) {
            // What stood there before stands there again.
            true => Command::Untype(field),
            false => Command::Enter { field, by_key: pressed(ui, Key::Enter) },
        });
    }
}

/// How the keyboard comes to an entry: when it is asked for; and what stands there is marked.
pub fn keyboard(
    ui: &Ui,
    bench: &Bench,
    out: &mut Vec<Command>,
    field: Field,
    response: &egui::Response,
    text: &str,
) {
    if bench.focus == Some(field) {
        response.request_focus();
        out.push(Command::Focused);
    }
    let came = by_tab(ui);
    // What another entry filled in under the cursor is typed over, not typed on.
    let stood = response.id.with("what stood in it");
    let before = ui.data(|d| d.get_temp::<String>(stood));
    let untouched = !response.changed() && !bench.drafts.contains_key(&field);
    let filled = response.has_focus() && untouched && before.is_some_and(|b| b != text);
    if (response.gained_focus() && came) || filled {
        mark(ui, response.id, text, 0);
    }
    ui.data_mut(|d| d.insert_temp(stood, text.to_owned()));
}

/// Whether Tab was pressed in this frame or the one before: backwards, the keyboard arrives a frame later.
fn by_tab(ui: &Ui) -> bool {
    let id = Id::unique("Tab was pressed in this frame");
    let now = ui.ctx().cumulative_pass_nr();
    if ui.input(|i| i.key_pressed(Key::Tab)) {
        ui.data_mut(|d| d.insert_temp(id, now));
    }
    ui.data(|d| d.get_temp::<u64>(id)).is_some_and(|then| now <= then + 1)
}

/// Marks the text of an entry from a character on, and puts the cursor behind it: what is typed next
/// replaces what is marked.
pub fn mark(ui: &Ui, entry: Id, text: &str, from: usize) {
    let mut state = TextEdit::load_state(ui.ctx(), entry).unwrap_or_default();
    let end = CCursor::new(text.chars().count());
    state.cursor.set_char_range(Some(CCursorRange::two(CCursor::new(from), end)));
    state.store(ui.ctx(), entry);
}

/// Puts the cursor behind the text of an entry: one goes on typing there.
pub fn go_on_behind(ui: &Ui, entry: Id, text: &str) {
    mark(ui, entry, text, text.chars().count());
}

/// A heading that unfolds what stands under it.
pub fn folded(
    ui: &mut Ui,
    id: impl egui::AsIdSalt,
    title: &str,
    open: bool,
    add: impl FnOnce(&mut Ui),
) {
    egui::CollapsingHeader::new(bold(title)).id_salt(id).default_open(open).show(ui, add);
}

/// The same over entries: it does not close over one that is refused, whose reason stands beside it, nor
/// over one that is to be typed in.
pub fn folded_entries(
    ui: &mut Ui,
    bench: &Bench,
    entries: &[Field],
    id: impl egui::AsIdSalt,
    title: &str,
    open: bool,
    add: impl FnOnce(&mut Ui),
) {
    let asks = |f: &Field| bench.wrong.contains_key(f) || bench.focus == Some(*f);
    let kept_open = entries.iter().any(asks).then_some(true);
    let header = egui::CollapsingHeader::new(bold(title)).id_salt(id).default_open(open);
    header.open(kept_open).show(ui, add);
}

/// Sentences, each behind a point.
pub fn bullets<S: AsRef<str>>(ui: &mut Ui, lines: &[S]) {
    for line in lines {
        ui.horizontal_top(|ui| {
            ui.label("•");
            ui.add(egui::Label::new(line.as_ref()).wrap());
        });
    }
}

/// A length with ± and its source, as a line of a table.
pub fn length(ui: &mut Ui, name: &str, q: Quantity, units: Units) {
    line(ui, name, &shown(Some(q), false, units), &q.source.to_string());
}

/// An angle with ± and its source.
pub fn angle(ui: &mut Ui, name: &str, q: Quantity) {
    line(ui, name, &shown(Some(q), true, Units::Mm), &q.source.to_string());
}

/// The cautions that belong to a page.
pub fn cautions(ui: &mut Ui, about: &[shop::About]) {
    heading(ui, "Cautions");
    card(ui, |ui| {
        let all = shop::cautions_for(about);
        let lines: Vec<String> = all.iter().map(|n| n.text.to_string()).collect();
        bullets(ui, &lines);
    });
}

/// The heads of a table.
pub fn heads(ui: &mut Ui, names: &[&str]) {
    for name in names {
        ui.label(RichText::new(*name).small().weak());
    }
    ui.end_row();
}

/// A choice among few, side by side. `chosen` is the one that holds.
pub fn choice<T: Copy + PartialEq>(
    ui: &mut Ui,
    name: &str,
    chosen: T,
    options: &[(T, &str)],
    mut choose: impl FnMut(T),
) {
    ui.add_space(3.0);
    ui.label(name);
    ui.horizontal_wrapped(|ui| {
        for (value, words) in options {
            let text = RichText::new(*words);
            let response =
                ui.add(egui::Button::selectable(chosen == *value, text).frame_when_inactive(true));
            if response.clicked() && chosen != *value {
                choose(*value);
            }
        }
    });
}

/// The button one would press next.
pub fn main_button(ui: &mut Ui, text: &str) -> egui::Response {
    let p = palette(ui);
    let text = RichText::new(text)
        .color(p.on_accent)
        .font(FontId::new(15.0, FontFamily::Name(BOLD.into())));
    let response = ui.add(
        egui::Button::new(text)
            .fill(p.accent)
            .stroke(Stroke::new(1.0, p.accent))
            .min_size(vec2(120.0, MAIN_BUTTON)),
    );
    ring(ui, &response);
    response
}

/// The ring round a coloured button that has the keyboard.
fn ring(ui: &Ui, response: &egui::Response) {
    if response.has_focus() {
        let stroke = Stroke::new(RING, palette(ui).ink);
        ui.painter().rect_stroke(response.rect, 3.0, stroke, egui::StrokeKind::Outside);
    }
}

/// A button of ordinary size that stands out.
pub fn accented(ui: &mut Ui, text: &str) -> egui::Response {
    let p = palette(ui);
    let button = egui::Button::new(RichText::new(text).color(p.on_accent)).fill(p.accent);
    let response = ui.add(button.stroke(Stroke::new(1.0, p.accent)));
    ring(ui, &response);
    response
}

/// A quantity with its uncertainty.
#[must_use]
pub fn shown(q: Option<Quantity>, angle: bool, units: Units) -> String {
    crate::cli::quantity(q, angle, units)
}

/// A small signed length in the unit it is small in; what would be shown as nothing has no sign.
#[must_use]
pub fn small(mm: f64, units: Units) -> String {
    let (value, decimals, unit) = match units {
        Units::Mm => (1000.0 * mm, 1, "µm"),
        Units::Inch | Units::Thou => (1000.0 * mm / MM_PER_INCH, 2, "thou"),
    };
    let text = format!("{value:+.decimals$}");
    match text.trim_start_matches(['+', '-', '0', '.']) {
        "" => format!("0 {unit}"),
        _ => format!("{} {unit}", minus(&text)),
    }
}

/// A difference of lengths with its sign, to a thousandth of a millimetre or about that.
#[must_use]
pub fn signed(mm: f64, units: Units) -> String {
    let text = units.plain(mm.abs(), 3);
    match text.trim_start_matches(['0', '.', ' ']).starts_with(|c: char| c.is_ascii_digit()) {
        true if mm < 0.0 => format!("−{text}"),
        true => format!("+{text}"),
        false => text,
    }
}

/// `text` with the sign of a number below nothing for each hyphen that stands for one.
#[must_use]
pub fn minus(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = ' ';
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        let number = letters.peek().is_some_and(char::is_ascii_digit);
        let begins = before.is_whitespace() || before == '(';
        out.push(if c == '-' && number && begins { '−' } else { c });
        before = c;
    }
    out
}

/// A small estimated length, with no digits it does not have.
#[must_use]
pub fn small_estimate(mm: f64, units: Units) -> String {
    match units {
        Units::Mm => format!("{:.0} µm", rough(1000.0 * mm)),
        Units::Inch => format!("{:.4} in", rough(1000.0 * mm / MM_PER_INCH) / 1000.0),
        Units::Thou => format!("{:.1} thou", rough(1000.0 * mm / MM_PER_INCH)),
    }
}

/// A line of a table: name, value with ±, source.
pub fn line(ui: &mut Ui, name: &str, value: &str, source: &str) -> egui::Response {
    let row = ui.scope(|ui| {
        ui.spacing_mut().interact_size.y = 21.0;
        ui.horizontal(|ui| {
            let full = ui.available_width();
            ui.allocate_ui_with_layout(
                vec2(0.36 * full, 20.0),
                Layout::left_to_right(Align::Center),
                |ui| {
                    ui.set_min_width(0.36 * full);
                    ui.label(name);
                },
            );
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.add_sized(
                    vec2(62.0, 18.0),
                    egui::Label::new(RichText::new(source).small().weak()).halign(Align::LEFT),
                );
                ui.label(bold(minus(value)));
            });
        });
    });
    row.response
}

/// Whether Enter or Escape was pressed.
#[must_use]
pub fn pressed(ui: &Ui, key: Key) -> bool {
    ui.input(|i| i.key_pressed(key))
}

/// An estimate good to a third has one digit, two when it begins with 1.
#[must_use]
pub fn rough(value: f64) -> f64 {
    if value <= 0.0 {
        return 0.0;
    }
    let exponent = value.log10().floor();
    let leading = value / 10f64.powf(exponent);
    let step = 10f64.powf(if leading < 2.0 { exponent - 1.0 } else { exponent });
    (value / step).round() * step
}

#[cfg(test)]
mod tests {
    use super::{minus, rough, sentence, shortened_within, signed, small};
    use form::Units;

    #[test]
    fn a_number_below_nothing_has_a_minus_and_nothing_has_no_sign() {
        assert_eq!(minus("-1.3° and (-2) of 20-65"), "−1.3° and (−2) of 20-65");
        assert_eq!(small(-0.00001, Units::Inch), "0 thou");
        assert_eq!(small(-0.0288, Units::Mm), "−28.8 µm");
        assert_eq!(small(0.0254, Units::Thou), "+1.00 thou");
        assert_eq!(signed(-0.0519, Units::Mm), "−0.052 mm");
        assert_eq!(signed(0.25, Units::Mm), "+0.250 mm");
        assert_eq!(signed(-0.0001, Units::Mm), "0.000 mm");
    }

    #[test]
    fn a_long_name_loses_its_middle() {
        let fits = |most: usize| move |text: &str| text.chars().count() <= most;
        assert_eq!(shortened_within("cross slide", fits(11)), "cross slide");
        assert_eq!(shortened_within("cross slide of the lathe", fits(11)), "cross…lathe");
        assert_eq!(shortened_within("Größe", fits(3)), "G…e");
        assert_eq!(shortened_within("cross slide", fits(0)), "…");
        assert_eq!(sentence("no bar was found"), "No bar was found");
        assert_eq!(sentence("blank.jpg: no bar was found"), "blank.jpg: no bar was found");
    }

    #[test]
    fn estimates_show_no_digits_they_do_not_have() {
        for (value, shown) in [(0.0, 0.0), (12.4, 12.0), (27.0, 30.0), (3.4, 3.0), (480.0, 500.0)] {
            assert_eq!(rough(value), shown);
        }
    }
}
