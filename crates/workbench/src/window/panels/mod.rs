//! What stands beside the picture, stage by stage.

mod bar;
mod blank;
mod by_name;
mod checks;
mod compared;
pub mod doors;
mod duty;
mod form;
mod ground;
mod identity;
mod nut;
mod passes;
mod picture;
mod readings;
mod sheets;
pub mod strip;
mod survey;
mod thread;
mod tool;
mod typed_form;
mod wheels;

use super::command::Command;
use super::edit::Edit;
use super::evidence;
use super::field::Field;
use super::howto;
use super::look::palette;
use super::refused;
use super::stage::{Stage, Standing};
use super::state::{Bench, Shown, not_to_be_cut, reading_helps, reading_needed, will_not_fit};
use super::text_size;
use super::thread_name;
use super::way;
use super::widgets;
use ::form::{Sentence, Source};
use eframe::egui::text::LayoutJob;
use eframe::egui::{
    self, Color32, CursorIcon, RichText, Role, Sense, TextStyle, Ui, WidgetInfo, vec2,
};
use std::sync::Arc;

/// Height of the line that says how the step stands, points: two rows of text, or three of small letters,
/// whatever it says, so that nothing under it moves when a result arrives; one in a low window.
const STANDING: f32 = 46.0;
const STANDING_LOW: f32 = 24.0;

/// Shows the panel of the stage the person is at. What a result changes stands under what is entered.
pub fn show(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    let stage = bench.stage;
    let name = RichText::new(stage.name()).text_style(TextStyle::Heading);
    let question = egui::Label::new(RichText::new(stage.question()).weak());
    if text_size::is_low(ui.ctx()) {
        ui.horizontal(|ui| {
            let heading = ui.label(name);
            to_entries(ui, heading.rect);
            // Whole or not at all.
            let font = TextStyle::Body.resolve(ui.style());
            let words = stage.question().to_owned();
            let wide = ui.painter().layout_no_wrap(words, font, Color32::WHITE).size().x;
            match wide < ui.available_width() {
                true => drop(ui.add(question)),
                false => drop(heading.on_hover_text(stage.question())),
            }
        });
    } else {
        let heading = ui.label(name);
        to_entries(ui, heading.rect);
        ui.add(question);
    }
    standing(ui, bench);
    match stage {
        Stage::Survey => survey::side(ui, bench, out),
        Stage::Picture => picture::side(ui, bench, out),
        Stage::Bar => bar::side(ui, bench, out),
        Stage::Thread => thread::side(ui, bench, out),
        Stage::Form => form::side(ui, bench, out),
        Stage::Identity => identity::side(ui, bench, out),
        Stage::Nut => nut::side(ui, bench, out),
        Stage::Tool => tool::side(ui, bench, out),
        Stage::Wheels => wheels::side(ui, bench, out),
        Stage::Passes => passes::side(ui, bench, out),
        Stage::Checks => checks::side(ui, bench, out),
        Stage::Sheets => sheets::side(ui, bench, out),
    }
    ui.add_space(8.0);
    match stage {
        Stage::Passes if bench.setting_out => howto::setting_out(ui),
        _ => howto::show(ui, stage),
    }
    ui.add_space(12.0);
}

/// F6 puts the keyboard at the head of the page, past bar and route card; Tab goes on from there.
fn to_entries(ui: &Ui, heading: egui::Rect) {
    let head = ui.interact(
        heading,
        egui::Id::unique("head of the page"),
        Sense::focusable_noninteractive(),
    );
    if ui.input(|i| i.key_pressed(egui::Key::F6)) {
        head.request_focus();
    }
    if head.has_focus() {
        let stroke = egui::Stroke::new(2.0, palette(ui).accent);
        ui.painter().rect_stroke(heading.expand(3.0), 3.0, stroke, egui::StrokeKind::Outside);
    }
}

/// What there is to say about a step before its result is used.
#[derive(Default)]
struct Said {
    /// What ended it, what it asks, or the step it waits for; the colour it is said in.
    ended: Vec<(Color32, String)>,
    /// What is to be decided or doubted.
    doubts: Vec<String>,
    /// How the work goes.
    notes: Vec<String>,
}

fn said(ui: &Ui, bench: &Bench) -> Said {
    let mut said = Said::default();
    let refused = refused::spoken_of(ui.ctx(), bench);
    if let Some(field) = refused {
        said.ended.push((palette(ui).bad, refused::said(bench, field)));
    }
    let Some(findings) = bench.findings() else { return said };
    let lacks = thread_name::missing(bench.job());
    if bench.stage == Stage::Form && !lacks.is_empty() && refused.is_none() {
        said.ended.push((palette(ui).accent, format!("Still missing: {}", lacks.join(", "))));
    }
    let (p, stage) = (palette(ui), bench.stage);
    let here = stage.part();
    let words = |text: &Sentence| text.in_units(bench.units());
    // What was typed there is being measured, or was refused: it was not forgotten.
    let typed = bench.being_measured() || refused == Some(Field::BarWidth);
    let stale = |t: &job::Remark| t.code == "bar-width" && typed;
    for t in findings.troubles.iter().filter(|t| t.part == here && !stale(t)) {
        // What was not entered yet is no failure.
        said.ended.push(match t.code.as_str() {
            // The entry stands just below, and the keyboard is in it.
            "bar-width" => {
                (p.accent, "How wide is the bar? Measure it with a micrometer".to_owned())
            }
            "ground-bar-width" => (p.accent, words(&t.text)),
            _ => (p.bad, words(&t.text)),
        });
    }
    if stage == Stage::Identity
        && let Some(t) = reading_needed(findings)
    {
        said.ended.push((p.accent, words(&t.text)));
    }
    if stage == Stage::Identity {
        said.doubts.extend(reading_helps(findings));
    }
    if matches!(stage, Stage::Nut | Stage::Tool | Stage::Sheets)
        && let Some(w) = will_not_fit(findings)
    {
        said.ended.insert(0, (p.bad, words(&w.text)));
    }
    // These can be used without a picture, and wait for nothing.
    let alone = matches!(stage, Stage::Survey | Stage::Wheels | Stage::Checks);
    let waiting = !alone && bench.standing(stage) == Standing::Waiting;
    if let Some(before) = findings.first_trouble().filter(|t| waiting && t.part < here) {
        let name = Stage::ALL.into_iter().find(|s| s.part() == before.part).map_or("", Stage::name);
        said.ended.push((p.doubt, format!("Waits for {name}: {}", words(&before.text))));
    }
    let bar = &bench.job().bar;
    if stage == Stage::Bar
        && bench.bar_unconfirmed()
        && said.ended.is_empty()
        && !bench.being_measured()
    {
        let text = format!("Taken for {}. Is that so? If not, choose below", bar::taken_for(bar));
        said.ended.push((p.accent, text));
    }
    if matches!(stage, Stage::Form | Stage::Sheets) && bench.rests_on_bar() {
        said.doubts.push(format!(
            "All lengths rest on the bar being {}: confirm it (step 3)",
            bar::taken_for(bar)
        ));
    }
    if stage == Stage::Sheets
        && let Some((step, field)) = refused::first(bench)
    {
        said.doubts.push(format!(
            "An entry is refused: {} at step {}. These sheets do not rest on it",
            refused::named(field),
            step.number()
        ));
    }
    if stage == Stage::Sheets && not_to_be_cut(findings) {
        said.doubts.push(
            "These can be printed, but nothing is to be cut to them yet: see the nut, step 7"
                .into(),
        );
    }
    // Until it is known what the thread does, that is the one thing to be read.
    if !withheld(bench) {
        // A line that was just added is no doubt; it is typed in below.
        let unread = bench.job().evidence.iter().filter(|r| evidence::unread(&r.evidence));
        let unread: Vec<String> =
            unread.map(|r| format!("{} is not used", r.evidence.label())).collect();
        let typed = |text: &str| !unread.iter().any(|u| text.starts_with(u));
        for w in findings.warnings.iter().filter(|w| {
            w.part == here && typed(&w.text.to_string()) && w.code != shop::TOOL_WILL_NOT_FIT
        }) {
            match w.is_note() {
                true => said.notes.push(words(&w.text)),
                false => said.doubts.push(words(&w.text)),
            }
        }
    }
    said
}

fn all_said() -> egui::Id {
    egui::Id::unique("all is said above")
}

fn too_long() -> egui::Id {
    egui::Id::unique("too long for the head of the page")
}

fn to_remarks() -> egui::Id {
    egui::Id::unique("to the remarks")
}

/// How the step stands, in words, and the colour it is said in where it asks for something.
fn standing_words(ui: &Ui, bench: &Bench, said: &Said) -> (Option<Color32>, String) {
    let p = palette(ui);
    match (said.ended.first(), said.doubts.as_slice()) {
        (Some((colour, text)), _) => (Some(*colour), widgets::whole_sentence(text)),
        (None, [one]) => (Some(p.doubt), widgets::whole_sentence(one)),
        (None, [first, ..]) => {
            let more = said.doubts.len() - 1;
            let first = widgets::whole_sentence(first);
            (Some(p.doubt), format!("{} doubts. The first: {first}", more + 1))
        }
        (None, []) if bench.being_measured() => (None, "Being measured …".to_owned()),
        (None, []) if bench.standing(bench.stage) == Standing::Done => {
            (None, done(bench).to_owned())
        }
        (None, []) => (None, String::new()),
    }
}

/// The words as they are laid out in the room there is for them, if they can be read whole there: in
/// ordinary letters, or in small ones.
fn fitting(ui: &Ui, text: &str, ink: Color32, room: egui::Vec2) -> Option<Arc<egui::Galley>> {
    [TextStyle::Body, TextStyle::Small].into_iter().find_map(|style| {
        let job = LayoutJob::simple(text.to_owned(), style.resolve(ui.style()), ink, room.x);
        let galley = ui.painter().layout_job(job);
        (galley.size().y <= room.y).then_some(galley)
    })
}

/// Room for the words, and what is left of it by their coloured edge.
fn standing_room(ui: &Ui, coloured: bool) -> (f32, egui::Vec2) {
    let height = if text_size::is_low(ui.ctx()) { STANDING_LOW } else { STANDING };
    let left = if coloured { 12.0 } else { 0.0 };
    (left, vec2(ui.available_width() - left - 8.0, height))
}

/// How the step stands, in rows that are always there; pressed, it leads to the remarks. What is too long
/// for them stands whole at the foot of the page, where it moves nothing that is entered.
fn standing(ui: &mut Ui, bench: &Bench) {
    let p = palette(ui);
    let said = said(ui, bench);
    let (colour, text) = standing_words(ui, bench, &said);
    let (sense, role) = match colour {
        Some(_) => (Sense::click(), Role::Link),
        None => (Sense::hover(), Role::Label),
    };
    let ink = if colour.is_some() { p.ink } else { p.faint };
    let (left, room) = standing_room(ui, colour.is_some());
    let whole = fitting(ui, &text, ink, room);
    let shown = if whole.is_some() { text.as_str() } else { AT_THE_FOOT };
    // The foot of the page is laid out before its head: it hears of it in the next frame.
    let is_long = whole.is_none();
    let was_long = ui.data_mut(|d| {
        let was = d.get_temp::<bool>(too_long()).unwrap_or(false);
        d.insert_temp(too_long(), is_long);
        was
    });
    if is_long != was_long {
        ui.ctx().request_repaint();
    }
    let galley = whole.or_else(|| fitting(ui, AT_THE_FOOT, ink, room));
    let size = vec2(ui.available_width(), room.y);
    let (rect, response) = ui.allocate_exact_size(size, sense);
    if !text.is_empty() {
        response.widget_info(|| WidgetInfo::labeled(role, true, shown));
    }
    // What stands here whole, or at the foot, need not be said again further down.
    let all = said.ended.len() + said.doubts.len() == 1;
    ui.data_mut(|d| d.insert_temp(all_said(), all));
    if let Some(colour) = colour {
        ui.painter().rect_filled(rect, 0.0, p.card);
        let edge = egui::Rect::from_min_size(rect.min, vec2(4.0, rect.height()));
        ui.painter().rect_filled(edge, 0.0, colour);
    }
    if let Some(galley) = galley {
        let top = rect.center().y - 0.5 * galley.size().y;
        ui.painter().galley(egui::pos2(rect.left() + left, top), galley, ink);
    }
    if colour.is_some() {
        let response = response.on_hover_cursor(CursorIcon::PointingHand).on_hover_text(text);
        if response.clicked() {
            ui.data_mut(|d| d.insert_temp(to_remarks(), Some(bench.stage)));
        }
    }
    ui.add_space(2.0);
}

/// Said where there is no room for the whole.
const AT_THE_FOOT: &str = "Read what stands at the foot of this page.";

/// What is too long for the head of the page, whole.
fn at_the_foot(ui: &mut Ui, bench: &Bench) {
    let said = said(ui, bench);
    let (colour, text) = standing_words(ui, bench, &said);
    let too_long = ui.data(|d| d.get_temp::<bool>(too_long())).unwrap_or(false);
    let Some(colour) = colour.filter(|_| too_long) else { return };
    let most = if text_size::is_low(ui.ctx()) { 78.0 } else { 150.0 };
    egui::ScrollArea::vertical()
        .id_salt("at the foot")
        .max_height(most)
        .min_scrolled_height(most)
        .auto_shrink([false, true])
        .show(ui, |ui| widgets::remark(ui, colour, &text));
    ui.add_space(4.0);
}

/// What a step that came to its end is worth looking at for.
fn done(bench: &Bench) -> &'static str {
    match bench.stage {
        Stage::Bar => "Found. Do the two lines lie along its edges?",
        Stage::Thread if !bench.job().thread.points.is_empty() => {
            "By hand. Does every point lie on the edge?"
        }
        Stage::Thread => "Traced. Does the line follow the thread all along?",
        Stage::Form if bench.job().form.pitch_mm.is_some_and(|q| q.source == Source::Standard) => {
            "By its name: the standard's own numbers, without tolerance or wear."
        }
        Stage::Form if bench.findings().is_some_and(|f| f.measurement.is_none()) => {
            "Typed in: each ± is as it was entered."
        }
        Stage::Form if bench.findings().is_some_and(|f| f.recalled) => "Measured earlier.",
        Stage::Form if bench.shown == Shown::Section => {
            "Measured. The section lies inside the shadow it casts."
        }
        Stage::Form => "Measured. Does the coloured line follow the thread all along?",
        Stage::Nut => "Designed. More play turns easier, less play is tighter.",
        Stage::Sheets => "Ready to print.",
        _ => "Done; nothing here to decide.",
    }
}

/// Everything there is to say about this step, where it moves nothing that is entered.
fn remarks(ui: &mut Ui, bench: &Bench) {
    let p = palette(ui);
    let said = said(ui, bench);
    let shown = ui.scope(|ui| {
        if !ui.data(|d| d.get_temp::<bool>(all_said())).unwrap_or(false) {
            for (colour, text) in &said.ended {
                widgets::remark(ui, *colour, text);
            }
            for text in &said.doubts {
                widgets::remark(ui, p.doubt, text);
            }
        }
        if !said.notes.is_empty() {
            widgets::folded(ui, ("good to know", bench.stage), "Good to know", false, |ui| {
                let whole = |n: &String| widgets::whole_sentence(n);
                let lines: Vec<String> = said.notes.iter().map(whole).collect();
                widgets::bullets(ui, &lines);
            });
        }
    });
    // Asked for on another page, it is no more what is wanted.
    let asked = ui.data_mut(|d| d.remove_temp::<Option<Stage>>(to_remarks()));
    if asked.flatten() == Some(bench.stage) {
        shown.response.scroll_to_me(Some(egui::Align::Center));
    }
}

/// Whether this page designs something, and it is not known yet what the thread does.
fn withheld(bench: &Bench) -> bool {
    let designs = matches!(bench.stage, Stage::Nut | Stage::Tool | Stage::Passes | Stage::Sheets);
    // What is read or reckoned without a thread is printed without its duty; where there is nothing to
    // print, that is what is said.
    let alone = bench.stage == Stage::Sheets
        && bench.findings().is_some_and(|f| job::needs_no_duty(f) || !job::printable(f));
    designs && !alone && bench.job().duty.is_none()
}

/// Shows what stands in the middle of the window where that is not the picture.
pub fn middle(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    if withheld(bench) {
        let text = if bench.stage == Stage::Sheets {
            "Say it at step 7: for some uses nothing is drawn here."
        } else {
            "Choose at the right: for some uses nothing is designed here."
        };
        return empty(ui, "What does the thread do?", text);
    }
    let refused = bench.findings().is_some_and(|f| f.refusal.is_some());
    let of_the_nut = matches!(
        bench.stage,
        Stage::Nut | Stage::Tool | Stage::Wheels | Stage::Passes | Stage::Checks
    );
    if refused && of_the_nut {
        let text = "Why stands at the right. The measurement can still be seen and kept.";
        return empty(ui, "Nothing is made here for this thread", text);
    }
    if let Some(trouble) = ended(bench) {
        return empty(ui, "This could not be worked out", &trouble);
    }
    match bench.stage {
        Stage::Survey => survey::middle(ui, bench, out),
        Stage::Identity => identity::middle(ui, bench, out),
        Stage::Nut => nut::middle(ui, bench, out),
        Stage::Tool => tool::middle(ui, bench, out),
        Stage::Wheels => wheels::middle(ui, bench, out),
        Stage::Passes => passes::middle(ui, bench, out),
        Stage::Checks => checks::middle(ui, bench, out),
        Stage::Sheets => sheets::middle(ui, bench, out),
        Stage::Picture | Stage::Bar | Stage::Thread | Stage::Form => {}
    }
}

/// Whether it is about a thread that was typed in, without a picture.
pub fn typed_alone(bench: &Bench) -> bool {
    bench.stage == Stage::Form
        && bench.loaded.is_none()
        && bench.findings().is_some_and(|f| f.screw.is_some())
}

/// The section of such a thread.
pub fn typed_section(ui: &mut Ui, bench: &Bench) {
    compared::show(ui, bench, None);
}

/// What ended this step, where it left nothing to show.
fn ended(bench: &Bench) -> Option<String> {
    let findings = bench.findings()?;
    let nothing = match bench.stage {
        Stage::Survey => findings.survey.is_none(),
        Stage::Nut => findings.nut.is_none(),
        Stage::Tool => findings.tool.is_none(),
        Stage::Wheels => findings.gears.is_none(),
        Stage::Passes => findings.cutting.is_none() && !bench.setting_out,
        Stage::Checks => findings.wires.is_none(),
        _ => false,
    };
    findings.trouble(bench.stage.part()).filter(|_| nothing).map(|t| t.text.in_units(bench.units()))
}

/// The middle of a page that has nothing to show yet: what it is for, and what it waits for.
fn empty(ui: &mut Ui, title: &str, text: &str) {
    // Where the page is wider than what is seen of it, words need not be.
    let seen = ui.clip_rect().intersect(ui.max_rect()).width();
    ui.set_max_width(ui.available_width().min(seen));
    ui.vertical_centered(|ui| {
        ui.add_space(0.3 * ui.available_height());
        ui.label(RichText::new(title).text_style(TextStyle::Heading));
        ui.add_space(4.0);
        ui.scope(|ui| {
            ui.set_max_width(ui.available_width().min(520.0));
            ui.label(RichText::new(widgets::sentence(text)).weak());
        });
        ui.add_space(10.0);
    });
}

/// The way on, for those who do not yet know it: always in the same place. On the last page that is
/// printing.
pub fn next(ui: &mut Ui, bench: &Bench, out: &mut Vec<Command>) {
    at_the_foot(ui, bench);
    if bench.stage == Stage::Sheets {
        return sheets::print(ui, bench, out);
    }
    if way::asks_for_yes(bench) {
        ui.horizontal(|ui| {
            let button = widgets::main_button(ui, "Yes, so it is");
            if button.on_hover_text("Enter, while nothing is typed").clicked() {
                out.push(Command::Edit(Edit::BarConfirmed));
            }
            let what = format!("{}?", bar::in_short(&bench.job().bar));
            ui.add(egui::Label::new(RichText::new(what).weak()).wrap());
        });
        return;
    }
    let Some(way) = way::on(bench) else { return };
    // What lies behind is not next.
    let words = match way.to < bench.stage {
        true => format!("Back to {}", way.to.name()),
        false => format!("Next: {}", way.to.name()),
    };
    ui.horizontal(|ui| {
        let button = match way.ready {
            true => widgets::main_button(ui, &words),
            false => ui.add(egui::Button::new(words).min_size(vec2(120.0, widgets::MAIN_BUTTON))),
        };
        let hint = match (way.ready, bench.being_measured()) {
            (true, _) => "Enter, while nothing is typed",
            (false, true) => "one moment: it is being measured",
            (false, false) => "this step needs you first",
        };
        if button.on_hover_text(hint).clicked() {
            out.push(Command::GoTo(way.to));
        }
        ui.add(egui::Label::new(RichText::new(way.why).weak()).wrap());
    });
}

/// What is shown while there is nothing yet.
fn nothing_yet(ui: &mut Ui, bench: &Bench, what: &str) {
    let text = if bench.loaded.is_none() && bench.stage.shows_picture() {
        "Open a picture, or type the thread in at step 5."
    } else if bench.loaded.is_none() {
        what
    } else if bench.job().bar.width_mm.is_none() {
        "Enter the width of the bar first: without it nothing has a size."
    } else if matches!(bench.work, super::state::Work::Busy { .. }) {
        "Being worked out …"
    } else {
        what
    };
    ui.label(RichText::new(text).weak());
}
