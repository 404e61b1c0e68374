//! The manner tray: pieces pile up in a small tray, which is tipped into the bin on the floor and set back.
//!
//! Credited is the last rest before the tray is lifted less what it weighs when it comes back: a tray that comes back
//! heavier, with something stuck in it, credits the difference only. The tip goes to the bin in force at the lift.

use super::{Attribute, Made, Recorder};
use crate::facts::{Confirmation, EntryId, Fact, StepId};
use crate::measure::Mass;
use crate::settle::{Act, Step};

/// What is known of the tray.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Tray {
    /// Its weight when it stood there last with nothing in it.
    empty: Option<Mass>,
    /// It is away: the entry of what was in it, and its last rest.
    away: Option<(EntryId, Mass)>,
}

impl Attribute {
    pub(super) fn on_tray(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        let before = self.tray;
        match (step.act, before.away) {
            (Act::Added, Some((entry, last))) => self.tray_returned(entry, last - step.to.load, step.to.load, recorder),
            (Act::Added, None) if self.platform == super::Platform::Empty => self.tray.empty = Some(step.to.load),
            (Act::Cleared, None) => self.tray_lifted(id, step, recorder),
            // Pieces come and go while the tray stands there; they are credited together when it is tipped.
            (Act::Added | Act::Removed, None) | (Act::Removed | Act::Cleared, Some(_)) => {}
        }
        let platform = std::mem::replace(
            &mut self.platform,
            match step.act {
                Act::Cleared => super::Platform::Empty,
                Act::Added | Act::Removed => super::Platform::Unknown,
            },
        );
        Some(Made::OnTray { before, platform })
    }

    fn tray_lifted(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) {
        let last = step.from.load;
        let inside = last - self.tray.empty.unwrap_or(Mass::ZERO);
        // An empty tray that is lifted off and put away was no tip.
        if inside <= self.division * 2 {
            return;
        }
        let in_force = self.journal.at(step.landed);
        let entry = self.credit_or_hold(id, inside, &in_force, None, recorder);
        self.tray.away = Some((entry, last));
    }

    fn tray_returned(&mut self, entry: EntryId, tipped: Mass, back: Mass, recorder: &mut dyn Recorder) {
        self.tray = Tray { empty: Some(back), away: None };
        if tipped <= self.division * 2 {
            // It came back as it went: nothing was tipped, and what is in it is still to come.
            recorder.record(Fact::Cancelled { entry, why: crate::facts::Cancellation::WentBack });
            self.tray.empty = None;
            return;
        }
        recorder.record(Fact::DropRevised { entry, mass: tipped });
        recorder.record(Fact::Confirmed { entry, why: Confirmation::TrayReturned });
    }

    /// A tray that does not come back was put away; what was in it is in the bin.
    pub(super) fn tray_put_away(&mut self, why: Confirmation, recorder: &mut dyn Recorder) {
        if let Some((entry, _)) = self.tray.away.take() {
            recorder.record(Fact::Confirmed { entry, why });
        }
    }

    /// What lies in the tray now, as far as its empty weight is known.
    pub(super) fn tray_load(&self, shown: Mass) -> Option<Mass> {
        Some(shown - self.tray.empty?)
    }
}
