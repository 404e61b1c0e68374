//! Choosing bins without the page: what scanners, number pads and pedals send, turned into acts.
//!
//! [`Evdev`] brings strokes as bytes, three each, so that the reader's thread, ring and search serve it as they serve
//! a port. Everything behind it is pure: time comes in with what is read.

mod button;
mod card;
mod evdev;
mod held;
mod layout;
mod pad;
mod press;
mod scan;
mod stroke;
mod typist;

pub use card::{CODE_CHARACTERS, read as read_card};
pub use evdev::Evdev;
pub use press::{Press, Refused};
pub use stroke::{Change, Stroke};

use self::button::Buttons;
use self::held::Held;
use self::pad::Pad;
use self::scan::Scan;
use self::typist::Typist;
use super::{Event, Why};
use crate::config::{KeysAt, KeysConfig, KeysKind};
use crate::measure::Moment;

/// Reads what one device sends.
#[derive(Debug)]
pub struct Keys {
    strokes: bool,
    held: Held,
    typist: Typist,
    hand: Hand,
}

#[derive(Debug)]
enum Hand {
    Scanner(Scan),
    Pad(Pad),
    Buttons(Buttons),
}

impl Keys {
    pub fn new(config: &KeysConfig) -> Keys {
        let hand = match &config.kind {
            KeysKind::Scanner => Hand::Scanner(Scan::default()),
            KeysKind::Pad { pause } => Hand::Pad(Pad::new(*pause)),
            KeysKind::Pedal { acts } => Hand::Buttons(Buttons::new(acts.clone())),
        };
        let strokes = matches!(config.at, KeysAt::Device(_));
        Keys { strokes, held: Held::default(), typist: Typist::default(), hand }
    }

    /// Takes what the reader brought, in its order. Presses are in order too; each holds from its own moment.
    pub fn event(&mut self, at: Moment, event: &Event, out: &mut Vec<Press>) {
        self.pass(at, out);
        match event {
            Event::Bytes(bytes) if self.strokes => {
                Stroke::all(bytes).for_each(|stroke| self.stroke(at, stroke, out));
            }
            Event::Bytes(bytes) => {
                if let Hand::Scanner(scan) = &mut self.hand {
                    bytes.iter().for_each(|byte| scan.byte(at, *byte, out));
                }
            }
            // Half of a number or of a card must not join the half of another.
            Event::Up { .. } | Event::Down { .. } | Event::Gap { .. } => self.cut_off(at, out),
            Event::Silence { .. } | Event::Control(_) => {}
        }
    }

    /// Nothing more has come up to `now`.
    pub fn pass(&mut self, now: Moment, out: &mut Vec<Press>) {
        match &mut self.hand {
            Hand::Scanner(scan) => scan.pass(now, out),
            Hand::Pad(pad) => pad.pass(now, out),
            Hand::Buttons(_) => {}
        }
    }

    /// When [`Keys::pass`] will have something to do, if nothing comes before.
    pub fn due(&self) -> Option<Moment> {
        match &self.hand {
            Hand::Scanner(scan) => scan.due(),
            Hand::Pad(pad) => pad.due(),
            Hand::Buttons(_) => None,
        }
    }

    fn stroke(&mut self, at: Moment, stroke: Stroke, out: &mut Vec<Press>) {
        if stroke.change == Change::Lost {
            return self.cut_off(at, out);
        }
        let fresh = self.held.is_fresh(stroke);
        if let Hand::Buttons(buttons) = &mut self.hand {
            if fresh {
                buttons.down(at, stroke.code, out);
            }
            return;
        }
        let Some(typed) = self.typist.stroke(stroke, fresh) else { return };
        match &mut self.hand {
            Hand::Scanner(scan) => scan.typed(at, typed, out),
            Hand::Pad(pad) => pad.typed(at, typed, out),
            Hand::Buttons(_) => {}
        }
    }

    fn cut_off(&mut self, at: Moment, out: &mut Vec<Press>) {
        (self.held, self.typist) = (Held::default(), Typist::default());
        match &mut self.hand {
            Hand::Scanner(scan) => scan.cut_off(at, out),
            Hand::Pad(pad) => pad.cut_off(at, out),
            Hand::Buttons(_) => {}
        }
    }
}

/// Why a device of this kind cannot be read, and what to do: what is said of a scale's port does not fit it.
pub fn explain(why: &Why) -> String {
    match why {
        Why::Missing { path } => {
            format!("{} is not there: plug it in, or pair it; it is looked for again by itself", path.display())
        }
        Why::Busy { path } => format!("{} is taken by another program: close that program", path.display()),
        Why::Denied { path } => format!(
            "no permission to open {}: the account needs the group that owns it (input for keys, dialout for ports); in a service see keys.conf",
            path.display()
        ),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests;
