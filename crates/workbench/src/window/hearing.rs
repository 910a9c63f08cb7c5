//! What the desktop tells, put right before it is acted on: every press of the mouse counts, and is where
//! the pointer is, whatever changed under it; what is typed goes to the entry that was turned to before it.

use eframe::egui::{Event, Key, Pos2, RawInput};
use std::collections::VecDeque;

/// A size of text is there after one frame, the keyboard in another entry after two; whatever goes on,
/// nothing waits longer than so many.
const PATIENCE: u32 = 3;

/// Where and when events are taken.
#[derive(Debug, Clone, Copy)]
pub struct Taken {
    /// Size of text in whose points they are told.
    pub told_at: f32,
    /// Size of text in whose points they are taken.
    pub taken_at: f32,
    /// The keyboard is about to go to another entry.
    pub turning: bool,
}

/// Events on their way to the window.
#[derive(Debug, Default)]
pub struct Hearing {
    /// Where the pointer was told to be last, and at which size of text.
    told: Option<(Pos2, f32)>,
    /// Size of text at which events were taken last.
    taken_at: f32,
    /// Frames through which the size of text has been changing.
    waited: u32,
    /// Frames through which the keyboard has been about to go to another entry.
    turned: u32,
    /// What waits for the next frame, with the size of text at which it was told.
    held: VecDeque<(Event, f32)>,
}

impl Hearing {
    /// Puts `input` right. What is told while the size of text changes waits until everything has its new
    /// place; until the pointer moves, its presses are told in the points of before. A second press in one
    /// frame waits for the next: a button sees one. What is typed behind Tab or Enter waits until the
    /// keyboard is where they sent it. Whether anything waits.
    pub fn hear(&mut self, how: Taken, input: &mut RawInput) -> bool {
        let Taken { told_at, taken_at, turning } = how;
        self.held.extend(input.events.drain(..).map(|event| (event, told_at)));
        self.waited = if (told_at - taken_at).abs() > 1e-4 { self.waited + 1 } else { 0 };
        self.turned = if turning { self.turned + 1 } else { 0 };
        if (1..=PATIENCE).contains(&self.waited) {
            return !self.held.is_empty();
        }
        let taken = |at: Pos2, told_at: f32| (told_at / taken_at * at.to_vec2()).to_pos2();
        if std::mem::replace(&mut self.taken_at, taken_at) != taken_at
            && let Some((at, then)) = self.told
        {
            input.events.push(Event::PointerMoved(taken(at, then)));
        }
        let mut released = false;
        let mut away = (1..=PATIENCE).contains(&self.turned);
        let mut typed = false;
        while let Some((event, told_at)) = self.held.front().cloned() {
            if types(&event) {
                // Tab takes the keyboard away at once, from what was typed before it in this frame as well.
                if away || (typed && turns(&event) == Some(Key::Tab)) {
                    return true;
                }
                away = turns(&event).is_some();
                typed = true;
            }
            let event = match event {
                Event::PointerButton { pressed: true, .. } if released => return true,
                Event::PointerButton { pos, button, pressed, modifiers } => {
                    released |= !pressed;
                    // Not moved since: where it was told to be then.
                    let then = self.told.filter(|(at, _)| at.distance(pos) < 0.01);
                    let pos = taken(pos, then.map_or(told_at, |(_, then)| then));
                    Event::PointerButton { pos, button, pressed, modifiers }
                }
                Event::PointerMoved(at) => {
                    self.told = Some((at, told_at));
                    Event::PointerMoved(taken(at, told_at))
                }
                Event::PointerGone => {
                    self.told = None;
                    event
                }
                _ => event,
            };
            input.events.push(event);
            self.held.pop_front();
        }
        false
    }
}

/// Whether an event goes where the keyboard is.
fn types(event: &Event) -> bool {
    matches!(
        event,
        Event::Key { pressed: true, .. }
            | Event::Text(_)
            | Event::Paste(_)
            | Event::Ime(_)
            | Event::Cut
            | Event::Copy
    )
}

/// The key that sends the keyboard elsewhere. One that is held down sends it on and on, and nothing waits
/// for that.
fn turns(event: &Event) -> Option<Key> {
    match event {
        Event::Key { key, pressed: true, repeat: false, .. } => {
            Some(*key).filter(|k| matches!(k, Key::Tab | Key::Enter))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::{Key, Modifiers, PointerButton, pos2};

    fn heard(hearing: &mut Hearing, told: f32, taken: f32, events: &[Event]) -> Vec<Event> {
        let how = Taken { told_at: told, taken_at: taken, turning: false };
        let mut input = RawInput { events: events.to_vec(), ..RawInput::default() };
        hearing.hear(how, &mut input);
        input.events
    }

    fn key(key: Key, repeat: bool) -> Event {
        let modifiers = Modifiers::NONE;
        Event::Key { key, physical_key: None, pressed: true, repeat, modifiers }
    }

    #[test]
    fn what_is_typed_goes_to_the_entry_that_was_turned_to() {
        let text = |t: &str| Event::Text(t.into());
        let (tab, enter) = (key(Key::Tab, false), key(Key::Enter, false));
        let mut h = Hearing::default();
        let now = |h: &mut Hearing, events: &[Event]| heard(h, 1.0, 1.0, events);
        // Before Tab to the one entry, behind it to the other.
        let all = [text("0"), text("1"), tab.clone(), text("2"), tab.clone(), text("3")];
        assert_eq!(now(&mut h, &all), [text("0"), text("1")]);
        assert_eq!(now(&mut h, &[]), std::slice::from_ref(&tab));
        // What comes meanwhile comes behind.
        assert_eq!(now(&mut h, &[text("4")]), [text("2")]);
        assert_eq!(now(&mut h, &[]), [tab]);
        assert_eq!(now(&mut h, &[]), [text("3"), text("4")]);
        // Enter takes what stands before it; what follows waits until the next entry has the keyboard.
        let all = [text("5"), enter.clone(), text("6")];
        assert_eq!(now(&mut h, &all), [text("5"), enter]);
        let turning = |h: &mut Hearing| {
            let mut input = RawInput::default();
            h.hear(Taken { told_at: 1.0, taken_at: 1.0, turning: true }, &mut input);
            input.events
        };
        assert!(turning(&mut h).is_empty());
        assert_eq!(now(&mut h, &[]), [text("6")]);
        // An entry that never comes keeps nothing back for ever.
        assert_eq!(now(&mut h, &[key(Key::Enter, false), text("7")]).len(), 1);
        let frames = (0..10).position(|_| !turning(&mut h).is_empty());
        assert_eq!(frames, Some(PATIENCE as usize));
        // A key that is held down walks as fast as it is told.
        let held = [key(Key::Enter, true), key(Key::Enter, true), key(Key::Tab, true)];
        assert_eq!(now(&mut h, &held).len(), 3);
    }

    fn button(pos: Pos2, pressed: bool) -> Event {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
        Event::PointerButton { pos, button, pressed, modifiers }
    }

    #[test]
    fn a_press_without_a_move_is_where_the_pointer_is() {
        let mut h = Hearing::default();
        let (at, half) = (pos2(1320.0, 20.0), pos2(660.0, 10.0));
        let moved = Event::PointerMoved;
        assert_eq!(heard(&mut h, 1.0, 1.0, &[moved(at)]), [moved(at)]);
        assert_eq!(heard(&mut h, 1.0, 1.0, &[button(at, true)]), [button(at, true)]);
        // While the size changes it waits; then the same place of the glass is half as many points away.
        assert!(heard(&mut h, 1.0, 2.0, &[button(at, false)]).is_empty());
        assert_eq!(heard(&mut h, 2.0, 2.0, &[]), [moved(half), button(half, false)]);
        assert_eq!(heard(&mut h, 2.0, 2.0, &[button(at, true)]), [button(half, true)]);
        let elsewhere = pos2(650.0, 11.0);
        assert_eq!(heard(&mut h, 2.0, 2.0, &[moved(elsewhere)]), [moved(elsewhere)]);
        assert_eq!(heard(&mut h, 2.0, 2.0, &[button(elsewhere, true)]), [button(elsewhere, true)]);
        // A touch elsewhere says where it is.
        let touch = button(pos2(5.0, 5.0), true);
        assert_eq!(heard(&mut h, 2.0, 2.0, std::slice::from_ref(&touch)), [touch]);
    }

    #[test]
    fn two_clicks_in_one_frame_are_two_clicks() {
        let mut h = Hearing::default();
        let at = pos2(5.0, 5.0);
        let (down, up) = (button(at, true), button(at, false));
        let key = Event::Key {
            key: Key::A,
            physical_key: None,
            pressed: true,
            repeat: false,
            modifiers: Modifiers::NONE,
        };
        let all = [down.clone(), up.clone(), down.clone(), up.clone(), key.clone()];
        assert_eq!(heard(&mut h, 1.0, 1.0, &all), [down.clone(), up.clone()]);
        // What came after comes after.
        assert_eq!(
            heard(&mut h, 1.0, 1.0, std::slice::from_ref(&key)),
            [down, up, key.clone(), key]
        );
        assert!(heard(&mut h, 1.0, 1.0, &[]).is_empty());
    }

    #[test]
    fn nothing_waits_for_ever() {
        let mut h = Hearing::default();
        let down = button(pos2(5.0, 5.0), true);
        let frames = (0..10).position(|i| {
            let new = if i == 0 { std::slice::from_ref(&down) } else { &[] };
            !heard(&mut h, 1.0, 2.0, new).is_empty()
        });
        assert_eq!(frames, Some(PATIENCE as usize));
    }
}
