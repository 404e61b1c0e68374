//! From strokes to what they type.

use super::layout::character;
use super::stroke::{Change, Stroke};
use evdev::KeyCode;
use std::collections::BTreeSet;

/// What one key typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Typed {
    Character(char),
    Enter,
    /// Takes the last character back.
    Erase,
    /// A key that types nothing, or a character together with Ctrl, Alt or the like.
    Strange,
}

/// Keeps which of the keys are down that change what others type.
#[derive(Debug, Default)]
pub struct Typist {
    down: BTreeSet<u16>,
}

const SHIFTS: [KeyCode; 2] = [KeyCode::KEY_LEFTSHIFT, KeyCode::KEY_RIGHTSHIFT];
const OTHERS: [KeyCode; 6] = [
    KeyCode::KEY_LEFTCTRL,
    KeyCode::KEY_RIGHTCTRL,
    KeyCode::KEY_LEFTALT,
    KeyCode::KEY_RIGHTALT,
    KeyCode::KEY_LEFTMETA,
    KeyCode::KEY_RIGHTMETA,
];
/// Pads press NumLock by themselves; letter case does not matter on a card.
const LOCKS: [KeyCode; 3] = [KeyCode::KEY_NUMLOCK, KeyCode::KEY_CAPSLOCK, KeyCode::KEY_SCROLLLOCK];
const ENTERS: [KeyCode; 3] = [KeyCode::KEY_ENTER, KeyCode::KEY_KPENTER, KeyCode::KEY_TAB];

impl Typist {
    /// `fresh` says whether the key goes down now and was up before.
    pub fn stroke(&mut self, stroke: Stroke, fresh: bool) -> Option<Typed> {
        let key = KeyCode::new(stroke.code);
        if SHIFTS.contains(&key) || OTHERS.contains(&key) {
            match stroke.change {
                Change::Down => _ = self.down.insert(stroke.code),
                Change::Up => _ = self.down.remove(&stroke.code),
                Change::Repeat | Change::Lost => {}
            }
            return None;
        }
        if !fresh || LOCKS.contains(&key) {
            return None;
        }
        let is_down = |keys: &[KeyCode]| keys.iter().any(|key| self.down.contains(&key.code()));
        Some(match key {
            _ if is_down(&OTHERS) => Typed::Strange,
            _ if ENTERS.contains(&key) => Typed::Enter,
            KeyCode::KEY_BACKSPACE => Typed::Erase,
            _ => character(stroke.code, is_down(&SHIFTS)).map_or(Typed::Strange, Typed::Character),
        })
    }
}
