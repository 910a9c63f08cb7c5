//! The keys, as one list: what the help shows and what the window obeys.

use super::command::Command;
use super::stage::Stage;
use super::state::{Asked, Bench};
use super::way;
use eframe::egui::{Key, KeyboardShortcut, Modifiers, Ui};

/// Keys and what they do, as the help shows them.
pub const LIST: [(&str, &str); 33] = [
    ("Ctrl+N", "begin an empty job"),
    ("Ctrl+O", "open a picture or a job"),
    ("Ctrl+L", "type its path"),
    ("Ctrl+V", "paste a picture"),
    ("Ctrl+S", "save"),
    ("Ctrl+Shift+S", "save as"),
    ("Ctrl+P", "print the sheets"),
    ("Ctrl+E", "export them as files"),
    ("Ctrl+Z", "undo"),
    ("Ctrl+Shift+Z, Ctrl+Y", "redo"),
    ("Ctrl+Q", "close"),
    ("F1, ?", "this list"),
    ("Page Down, Page Up", "next step, step before"),
    ("Tab, Shift+Tab", "next entry, entry before"),
    ("Enter", "take what was typed; then: next"),
    ("F6", "to the entries at the right"),
    ("Space", "press the button with the ring"),
    ("S", "shadow or section"),
    ("F", "whole picture"),
    ("1", "one pixel to one"),
    ("+ and -", "zoom"),
    ("[ and ]", "turn the view by 1° (Shift: 90°)"),
    ("H", "lay the screw's axis level in view"),
    ("R, L, C, B", "click right, left flank, crest, bottom"),
    ("middle drag", "move the picture"),
    ("arrows", "move the picture or the point"),
    ("Shift+arrows", "the point by 0.1 px"),
    ("Delete", "remove the point"),
    ("Esc", "put the pointer down"),
    ("Ctrl + and -", "larger or smaller text"),
    ("Ctrl+0", "text as it was"),
    ("wheel", "zoom to the pointer"),
    ("double click", "whole picture"),
];

/// Keys that hold everywhere in the window. While text is typed, those of plain letters and of
/// undoing belong to the text.
pub fn everywhere(ui: &Ui, bench: &Bench, out: &mut Vec<Command>) {
    let hit = |modifiers: Modifiers, key: Key| {
        ui.ctx().input_mut(|i| i.consume_shortcut(&KeyboardShortcut::new(modifiers, key)))
    };
    let ctrl = Modifiers::COMMAND;
    let both = Modifiers::COMMAND | Modifiers::SHIFT;
    if hit(both, Key::S) {
        out.push(Command::Ask(Asked::SaveAs));
    }
    if hit(ctrl, Key::S) {
        out.push(Command::Save);
    }
    if hit(ctrl, Key::N) {
        out.push(Command::New);
    }
    if hit(ctrl, Key::O) {
        out.push(Command::Ask(Asked::Open));
    }
    if hit(ctrl, Key::L) {
        out.push(Command::TypePath(Asked::Open));
    }
    if hit(ctrl, Key::E) {
        out.push(Command::Ask(Asked::Export));
    }
    if hit(ctrl, Key::P) {
        out.push(Command::Print(None));
    }
    if hit(ctrl, Key::Q) {
        out.push(Command::Quit);
    }
    if hit(Modifiers::NONE, Key::F1) {
        out.push(Command::Help(!bench.help));
    }
    let to = |by: isize| {
        let here = bench.stage.number() as isize - 1;
        usize::try_from(here + by).ok().and_then(|i| Stage::ALL.get(i).copied())
    };
    for (key, by) in [(Key::PageDown, 1), (Key::PageUp, -1)] {
        if hit(Modifiers::NONE, key)
            && let Some(stage) = to(by)
        {
            out.push(Command::GoTo(stage));
        }
    }
    if ui.ctx().text_edit_focused() {
        return;
    }
    // Where nothing else has the keyboard, Enter goes the way the coloured button goes.
    let free = ui.memory(|m| m.focused().is_none() && m.top_modal_layer().is_none());
    if free
        && hit(Modifiers::NONE, Key::Enter)
        && let Some(way) = way::on(bench).filter(|w| w.ready && bench.stage != Stage::Sheets)
    {
        out.push(Command::GoTo(way.to));
    }
    if hit(both, Key::Z) || hit(ctrl, Key::Y) {
        out.push(Command::Redo);
    }
    if hit(ctrl, Key::Z) {
        out.push(Command::Undo);
    }
    if ui.input(|i| i.key_pressed(Key::Questionmark)) {
        out.push(Command::Help(!bench.help));
    }
}
