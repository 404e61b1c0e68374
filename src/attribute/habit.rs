//! What the way of weighing looks like: another manner is suggested, never chosen.

use crate::facts::SessionId;
use crate::measure::Mass;
use crate::settle::{Act, Manner, Step};

/// Another manner would fit better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Suggestion {
    pub manner: Manner,
    pub why: Why,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Load after load is put on the bare platform and taken off again.
    OneAtATime,
    /// What lies there stays, and more and more comes on.
    StaysAndGrows,
    /// It is nearly as heavy as the scale can bear.
    NearCapacity,
}

/// Looks on while somebody weighs. Each thing is said once a session.
#[derive(Debug, Default)]
pub(super) struct Habit {
    session: Option<SessionId>,
    /// The last step put something on the bare platform.
    put: bool,
    /// Loads in a row that came on to the bare platform and went with nothing in between.
    bare: u32,
    /// Loads in a row that came on top of others.
    grown: u32,
    said: [bool; 3],
    shown: Option<Suggestion>,
}

/// So many are a habit: fewer are a bin that is stood there and taken off again, or a load put on in a few goes.
const BARE: u32 = 4;
const GROWN: u32 = 6;

impl Habit {
    /// Takes the next step, in a manner and a session, on a scale that can bear so much.
    pub fn see(&mut self, step: &Step, manner: Manner, session: Option<SessionId>, (division, capacity): (Mass, Option<Mass>)) {
        if session != self.session {
            *self = Habit { session, ..Habit::default() };
        }
        let bare = step.from.load.abs() <= division * 2;
        match step.act {
            Act::Added if bare => (self.put, self.grown) = (true, 0),
            Act::Added => (self.put, self.bare, self.grown) = (false, 0, self.grown + 1),
            Act::Removed => (self.put, self.bare, self.grown) = (false, 0, 0),
            Act::Cleared => (self.put, self.bare, self.grown) = (false, if self.put { self.bare + 1 } else { 0 }, 0),
        }
        // 85 per cent, as where a tray is to be tipped: the next handful would be an overload.
        let heavy = capacity.is_some_and(|capacity| step.to.load * 100 >= capacity * 85);
        match manner {
            Manner::Heap if heavy => self.say(Manner::Tray, Why::NearCapacity),
            Manner::Heap if self.bare >= BARE => self.say(Manner::Pan, Why::OneAtATime),
            Manner::Pan if self.grown >= GROWN => self.say(Manner::Heap, Why::StaysAndGrows),
            _ => {}
        }
    }

    fn say(&mut self, manner: Manner, why: Why) {
        if !std::mem::replace(&mut self.said[why as usize], true) {
            self.shown = Some(Suggestion { manner, why });
        }
    }

    /// Somebody chose a manner, be it the same again: that is the answer.
    pub fn answered(&mut self) {
        (self.put, self.bare, self.grown, self.shown) = (false, 0, 0, None);
    }

    /// What is suggested in this session.
    pub fn suggestion(&self, session: Option<SessionId>) -> Option<Suggestion> {
        self.shown.filter(|_| session == self.session)
    }
}
