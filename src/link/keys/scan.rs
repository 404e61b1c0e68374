//! From characters to cards: a scanner types one in a breath, then Enter or nothing.

use super::card;
use super::press::{Press, Refused};
use super::typist::Typed;
use crate::measure::{Moment, Span};

/// Nothing for so long ends a card. Scanners type a character every few milliseconds; this is from practice.
pub const PAUSE: Span = Span::millis(100);
/// No card is longer.
pub const MOST: usize = 64;

/// The card that is being typed.
#[derive(Debug, Default)]
pub struct Scan {
    text: String,
    last: Moment,
    endless: bool,
}

/// Stands for what is no character, so that a text which held one is no card.
const STRANGE: char = char::REPLACEMENT_CHARACTER;

impl Scan {
    /// A byte from a serial scanner.
    pub fn byte(&mut self, at: Moment, byte: u8, out: &mut Vec<Press>) {
        match byte {
            // Carriage return, line feed, tabulator, end of text: one or two of them end a card.
            b'\r' | b'\n' | b'\t' | 0x03 => self.typed(at, Typed::Enter, out),
            // Start of text.
            0x02 => {}
            b' '..=b'~' => self.typed(at, Typed::Character(char::from(byte)), out),
            _ => self.typed(at, Typed::Strange, out),
        }
    }

    pub fn typed(&mut self, at: Moment, typed: Typed, out: &mut Vec<Press>) {
        self.pass(at, out);
        match typed {
            Typed::Character(character) => self.add(at, character),
            Typed::Erase | Typed::Strange => self.add(at, STRANGE),
            Typed::Enter => self.end(at, out),
        }
    }

    /// Nothing more has come up to `now`.
    pub fn pass(&mut self, now: Moment, out: &mut Vec<Press>) {
        if self.due().is_some_and(|due| due <= now) {
            self.end(self.last, out);
        }
    }

    pub fn due(&self) -> Option<Moment> {
        (!self.text.is_empty()).then(|| self.last.plus(PAUSE))
    }

    /// Characters are missing here.
    pub fn cut_off(&mut self, at: Moment, out: &mut Vec<Press>) {
        if !self.text.is_empty() {
            out.push(Press::refused(at, Refused::CutOff { text: std::mem::take(&mut self.text) }));
        }
        self.endless = false;
    }

    fn add(&mut self, at: Moment, character: char) {
        self.last = at;
        if self.text.chars().count() < MOST {
            self.text.push(character);
        } else {
            self.endless = true;
        }
    }

    fn end(&mut self, at: Moment, out: &mut Vec<Press>) {
        let text = std::mem::take(&mut self.text);
        if std::mem::take(&mut self.endless) {
            out.push(Press::refused(at, Refused::Endless { most: MOST }));
        } else if !text.is_empty() {
            out.push(Press { at, what: card::read(&text).ok_or(Refused::NoCard { text }) });
        }
    }
}
