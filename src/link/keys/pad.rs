//! A number pad: digits and Enter choose a bin; plus, minus and dot are acts of their own.

use super::press::{Press, Refused};
use super::typist::Typed;
use crate::config::Act;
use crate::measure::{Moment, Span};

/// A longer number is no bin's.
const MOST: usize = 9;
/// A number without Enter is given up after so long, so that it cannot become the front of the next one.
pub const GIVE_UP: Span = Span::seconds(5);

/// The number that is being typed.
#[derive(Debug)]
pub struct Pad {
    /// A single digit that stands for so long needs no Enter.
    pause: Option<Span>,
    digits: String,
    last: Moment,
}

impl Pad {
    pub fn new(pause: Option<Span>) -> Pad {
        Pad { pause, digits: String::new(), last: Moment::default() }
    }

    pub fn typed(&mut self, at: Moment, typed: Typed, out: &mut Vec<Press>) {
        self.pass(at, out);
        match typed {
            Typed::Character(digit @ '0'..='9') => {
                if self.digits.len() == MOST {
                    self.digits.clear();
                    return out.push(Press::refused(at, Refused::TooLong));
                }
                self.digits.push(digit);
                self.last = at;
            }
            Typed::Enter => self.choose(at, out),
            Typed::Erase => {
                self.digits.pop();
                self.last = at;
            }
            Typed::Character('+') => self.act(at, Act::Next, out),
            Typed::Character('-') => self.act(at, Act::Doubtful, out),
            Typed::Character('.' | '*') => self.act(at, Act::Pause, out),
            Typed::Character(key) => self.strange(at, Some(key), out),
            Typed::Strange => self.strange(at, None, out),
        }
    }

    /// Nothing more has come up to `now`.
    pub fn pass(&mut self, now: Moment, out: &mut Vec<Press>) {
        if self.due().is_none_or(|due| due > now) {
            return;
        }
        match self.lone_digit_pause() {
            Some(_) => self.choose(self.last, out),
            None => self.give_up(out),
        }
    }

    pub fn due(&self) -> Option<Moment> {
        (!self.digits.is_empty()).then(|| self.last.plus(self.lone_digit_pause().unwrap_or(GIVE_UP)))
    }

    /// Keys are missing here.
    pub fn cut_off(&mut self, at: Moment, out: &mut Vec<Press>) {
        if !self.digits.is_empty() {
            out.push(Press::refused(at, Refused::CutOff { text: std::mem::take(&mut self.digits) }));
        }
    }

    fn lone_digit_pause(&self) -> Option<Span> {
        self.pause.filter(|_| self.digits.len() == 1)
    }

    /// An Enter behind nothing is the usual end of a digit that was taken already.
    fn choose(&mut self, at: Moment, out: &mut Vec<Press>) {
        let digits = std::mem::take(&mut self.digits);
        out.extend(digits.parse().ok().map(|number| Press::act(at, Act::Bin(number))));
    }

    fn act(&mut self, at: Moment, act: Act, out: &mut Vec<Press>) {
        self.give_up(out);
        out.push(Press::act(at, act));
    }

    fn strange(&mut self, at: Moment, key: Option<char>, out: &mut Vec<Press>) {
        self.digits.clear();
        out.push(Press::refused(at, Refused::StrangeKey { key }));
    }

    fn give_up(&mut self, out: &mut Vec<Press>) {
        if !self.digits.is_empty() {
            out.push(Press::refused(self.last, Refused::NoEnter { digits: std::mem::take(&mut self.digits) }));
        }
    }
}
