//! The keys, as one list: what the help shows and what the window obeys.

use super::command::{Command, TextSize};
use super::stage::Stage;
use super::state::{Asked, Bench, Pointer};
use eframe::egui::{Event, Key, Modifiers, Ui};

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
    ("F1, ?", "the guide, at the page of this step"),
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
    ("Esc", "put the pointer down; then the messages"),
    ("Ctrl + and -", "larger or smaller text"),
    ("Ctrl+0", "text as it was"),
    ("wheel", "zoom to the pointer"),
    ("double click", "whole picture"),
];

/// Keys that hold everywhere in the window. While text is typed, those of plain letters and of
/// undoing belong to the text. Every press counts, in the order they came: in a slow frame there are
/// several.
pub fn everywhere(ui: &Ui, bench: &Bench, out: &mut Vec<Command>) {
    let typing = ui.ctx().text_edit_focused();
    // Where nothing else has the keyboard, Enter goes the way the coloured button goes.
    let free = ui.memory(|m| m.focused().is_none() && m.top_modal_layer().is_none());
    // Escape puts down what the pointer holds first.
    let holds = bench.pointer != Pointer::Look || bench.point.is_some();
    let mut help = bench.help;
    ui.ctx().input_mut(|i| {
        i.events.retain(|event| {
            let Event::Key { key, pressed: true, modifiers, repeat, .. } = event else {
                return true;
            };
            let asked = match (*key, typing) {
                (Key::F1, _) | (Key::Questionmark, false) => {
                    help = !help;
                    Some(Command::Help(help))
                }
                // A key held down walks on to the sheets, and prints none.
                (Key::Enter, false) if *repeat && bench.stage == Stage::Sheets => None,
                (Key::Enter, false) if free && !modifiers.any() => Some(Command::Onward),
                (Key::Escape, false) if free && !holds && !bench.messages.is_empty() => {
                    Some(Command::DismissAll)
                }
                (key, _) => anywhere(key, *modifiers)
                    .or_else(|| if typing { None } else { but_in_text(key, *modifiers) }),
            };
            let free_again = asked.is_none();
            out.extend(asked);
            free_again
        });
    });
}

/// What a key asks for wherever the keyboard is.
fn anywhere(key: Key, modifiers: Modifiers) -> Option<Command> {
    let plain = modifiers.matches_logically(Modifiers::NONE);
    let ctrl = modifiers.matches_logically(Modifiers::COMMAND);
    Some(match key {
        Key::PageDown if plain => Command::Step(1),
        Key::PageUp if plain => Command::Step(-1),
        Key::S if ctrl && modifiers.shift => Command::Ask(Asked::SaveAs),
        Key::S if ctrl => Command::Save,
        Key::N if ctrl => Command::New,
        Key::O if ctrl => Command::Ask(Asked::Open),
        Key::L if ctrl => Command::TypePath(Asked::Open),
        Key::E if ctrl => Command::Ask(Asked::Export),
        Key::P if ctrl => Command::Print(None),
        Key::Q if ctrl => Command::Quit,
        Key::Plus | Key::Equals if ctrl => Command::Text(TextSize::Larger),
        Key::Minus if ctrl => Command::Text(TextSize::Smaller),
        Key::Num0 if ctrl => Command::Text(TextSize::Usual),
        _ => return None,
    })
}

/// What a key asks for where no text is typed.
fn but_in_text(key: Key, modifiers: Modifiers) -> Option<Command> {
    if !modifiers.matches_logically(Modifiers::COMMAND) {
        return None;
    }
    match key {
        Key::Z if modifiers.shift => Some(Command::Redo),
        Key::Z => Some(Command::Undo),
        Key::Y => Some(Command::Redo),
        _ => None,
    }
}
