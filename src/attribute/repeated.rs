//! An equal line again from a scale that prints one line a load.
//!
//! One load at a time, it may be another load of the same weight, or the print key pressed twice: it is kept as doubtful
//! and asked. In the other manners what lies there stays, so an equal line tells of nothing that came.

use super::{Attribute, Recorder};
use crate::facts::{Confirmation, Doubt, EntryId, Fact, StepId};
use crate::settle::{Manner, Rest};

impl Attribute {
    pub(super) fn sent_again(&mut self, rest: &Rest, recorder: &mut dyn Recorder) {
        if self.manner != Manner::Pan || self.intake.is_some() || self.check.is_some() {
            return;
        }
        let in_force = self.journal.at(rest.since);
        if recorder.holding() {
            self.backlog.again(*rest, in_force);
            return;
        }
        self.release(recorder);
        self.keep_doubtful(rest, in_force, recorder);
    }

    pub(super) fn keep_doubtful(&mut self, rest: &Rest, in_force: super::InForce, recorder: &mut dyn Recorder) {
        let of = self.pan.map(|load| load.entry);
        let mass = self.pan.map_or(rest.load, |load| load.mass);
        let step = StepId(recorder.record(Fact::SentAgain { rest: *rest }));
        let entry = EntryId(recorder.record(Fact::DropLanded {
            step,
            bin: None,
            fill: None,
            session: in_force.session,
            leg: in_force.leg,
            mass,
            doubt: Some(Doubt::PerhapsRepeated { of }),
            transfer: None,
        }));
        // If there are two of them, the first was taken off before this one came.
        recorder.record(Fact::Confirmed { entry, why: Confirmation::PanCleared });
    }
}
