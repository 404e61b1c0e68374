//! The manner pan: one load is put on, weighed and taken off.
//!
//! Credited is the last rest before the platform is empty, so a load that is shifted, added to or partly taken back
//! while it lies there is one drop. It is provisional from the first and confirmed when the pan is cleared.

use super::{Attribute, Made, Recorder};
use crate::facts::{Cancellation, Confirmation, Doubt, EntryId, Fact, StepId};
use crate::measure::Mass;
use crate::settle::{Act, Step};

/// The load that lies on the pan now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PanLoad {
    pub entry: EntryId,
    /// The rest on which the load was put.
    pub base: Mass,
    pub mass: Mass,
}

impl Attribute {
    pub(super) fn on_pan(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        let before = self.pan;
        if let Some(base) = self.put_while_waiting().filter(|_| before.is_none()) {
            return self.came_while_waiting(id, base, step, recorder);
        }
        match (step.act, before) {
            (Act::Cleared, Some(load)) => {
                recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::PanCleared });
                self.pan = None;
                self.platform = super::Platform::Empty;
                return None;
            }
            (Act::Cleared, None) => {
                self.first_line(id, step, recorder);
                return None;
            }
            (_, Some(load)) => self.revise(PanLoad { mass: step.to.load - load.base, ..load }, recorder),
            (Act::Added, None) => {
                let entry = self.credit_or_hold(id, step.delta, &self.journal.at(step.landed), None, recorder);
                self.pan = Some(PanLoad { entry, base: step.from.load, mass: step.delta });
            }
            (Act::Removed, None) => return None,
        }
        Some(Made::OnPan { before })
    }

    /// The load lies there since nothing could be stored: now it is recorded, or it goes.
    fn came_while_waiting(&mut self, id: StepId, base: Mass, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        let cleared = step.act == Act::Cleared;
        let mass = if cleared { step.from.load } else { step.to.load } - base;
        let entry = self.credit_or_hold(id, mass, &self.journal.at(step.landed), None, recorder);
        if cleared {
            recorder.record(Fact::Confirmed { entry, why: Confirmation::PanCleared });
            self.platform = super::Platform::Empty;
            return None;
        }
        self.pan = Some(PanLoad { entry, base, mass });
        Some(Made::OnPan { before: None })
    }

    /// What lay there when the epoch began is not credited when it goes: it was credited before, or is no load. But a
    /// scale that prints one line a load and tells of no empty pan sent a line of its own for it, and the pan was empty
    /// just before the next one: that was a load, or something that stands there. It is kept as doubtful.
    fn first_line(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) {
        let unseen = step.number == 1 && step.landed == step.to.since;
        if unseen {
            let in_force = self.journal.at(step.from.since);
            let entry = self.credit(id, -step.delta, &in_force, Some(Doubt::PerhapsTheBin), recorder);
            recorder.record(Fact::Confirmed { entry, why: Confirmation::PanCleared });
        }
        self.platform = super::Platform::Empty;
    }

    fn revise(&mut self, load: PanLoad, recorder: &mut dyn Recorder) {
        recorder.record(Fact::DropRevised { entry: load.entry, mass: load.mass });
        self.pan = Some(load);
    }

    pub(super) fn pan_cancelled(&mut self, before: Option<PanLoad>, recorder: &mut dyn Recorder) {
        match (before, self.pan.take()) {
            (Some(load), _) => self.revise(load, recorder),
            (None, Some(load)) => {
                recorder.record(Fact::Cancelled { entry: load.entry, why: Cancellation::WentBack });
            }
            (None, None) => {}
        }
    }
}
