//! What the desktop tells, put right before it is acted on: every press of the mouse counts, and is where
//! the pointer is, whatever changed under it.

use eframe::egui::{Event, Pos2, RawInput};
use std::collections::VecDeque;

/// A size of text is there after one frame; whatever goes on, nothing waits longer than so many.
const PATIENCE: u32 = 3;

/// Events on their way to the window.
#[derive(Debug, Default)]
pub struct Hearing {
    /// Where the pointer was told to be last, and at which size of text.
    told: Option<(Pos2, f32)>,
    /// Size of text at which events were taken last.
    taken_at: f32,
    /// Frames through which the size of text has been changing.
    waited: u32,
    /// What waits for the next frame, with the size of text at which it was told.
    held: VecDeque<(Event, f32)>,
}

impl Hearing {
    /// Puts `input` right: it is told in points of the size of text `told_at`, and is taken in those of
    /// `taken_at`. What is told while the size changes waits until everything has its new place; until the
    /// pointer moves, its presses are told in the points of before. A second press in one frame waits for
    /// the next: a button sees one. Whether anything waits.
    pub fn hear(&mut self, told_at: f32, taken_at: f32, input: &mut RawInput) -> bool {
        self.held.extend(input.events.drain(..).map(|event| (event, told_at)));
        self.waited = if (told_at - taken_at).abs() > 1e-4 { self.waited + 1 } else { 0 };
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
        while let Some((event, told_at)) = self.held.front().cloned() {
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

#[cfg(test)]
mod tests {
    use super::*;
    use eframe::egui::{Key, Modifiers, PointerButton, pos2};

    fn heard(hearing: &mut Hearing, told: f32, taken: f32, events: &[Event]) -> Vec<Event> {
        let mut input = RawInput { events: events.to_vec(), ..RawInput::default() };
        hearing.hear(told, taken, &mut input);
        input.events
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
