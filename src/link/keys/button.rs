//! A pedal, or one fat button: each key is an act.

use super::press::{Press, Refused};
use crate::config::Act;
use crate::measure::{Moment, Span};
use std::collections::BTreeMap;

/// A worn contact opens and closes again for some milliseconds; no foot is so quick. From practice.
pub const BOUNCE: Span = Span::millis(50);

#[derive(Debug)]
pub struct Buttons {
    /// Empty when every key chooses the next bin.
    acts: BTreeMap<u16, Act>,
    last: Option<(u16, Moment)>,
}

impl Buttons {
    pub fn new(acts: BTreeMap<u16, Act>) -> Buttons {
        Buttons { acts, last: None }
    }

    /// A key went down.
    pub fn down(&mut self, at: Moment, code: u16, out: &mut Vec<Press>) {
        let bounced = self.last.is_some_and(|(key, last)| key == code && at.since(last) < BOUNCE);
        self.last = Some((code, at));
        if bounced {
            return;
        }
        let act = if self.acts.is_empty() { Some(Act::Next) } else { self.acts.get(&code).copied() };
        out.push(Press { at, what: act.ok_or(Refused::NoAct { code }) });
    }
}
