//! While nothing can be stored, steps are merged: in each manner what it would credit, not what came and went.

use super::pan::PanLoad;
use super::{Attribute, Recorder};
use crate::facts::{Confirmation, Fact};
use crate::measure::Mass;
use crate::settle::{Act, Manner, Rest, Step};

/// What happened to the load on the pan meanwhile.
#[derive(Debug, Default)]
pub(super) struct Waiting {
    /// It was recorded before, and is off the pan now.
    gone: Option<PanLoad>,
    /// It was recorded before, and weighs something else now.
    revised: bool,
    /// It is not recorded, and was put on this rest.
    base: Option<Mass>,
}

impl Attribute {
    /// What a step adds to the sum of those that wait, if anything.
    pub(super) fn held_back(&mut self, step: &Step) -> Option<Step> {
        match (self.manner, step.act) {
            (Manner::Heap | Manner::Tray, _) => Some(*step),
            (Manner::Sort, Act::Added) => None,
            (Manner::Sort, _) => Some(credit(step, step.to.load, -step.delta)),
            (Manner::Pan, Act::Cleared) => {
                let base = self.waiting.base.take();
                if let Some(load) = self.pan.take() {
                    self.waiting.gone = Some(load);
                    return None;
                }
                base.map(|base| credit(step, base, step.from.load - base))
            }
            (Manner::Pan, _) => {
                if let Some(load) = &mut self.pan {
                    load.mass = step.to.load - load.base;
                    self.waiting.revised = true;
                } else if step.act == Act::Added {
                    self.waiting.base.get_or_insert(step.from.load);
                }
                None
            }
        }
    }

    /// Records what became of the load that lay on the pan when the waiting began.
    pub(super) fn load_after_waiting(&mut self, recorder: &mut dyn Recorder) {
        let (gone, revised) = (self.waiting.gone.take(), std::mem::take(&mut self.waiting.revised));
        if let Some(load) = gone.or(self.pan).filter(|_| revised) {
            recorder.record(Fact::DropRevised { entry: load.entry, mass: load.mass });
        }
        if let Some(load) = gone {
            recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::PanCleared });
        }
    }

    /// The rest on which a load was put that came while nothing could be stored and lies there still.
    pub(super) fn put_while_waiting(&mut self) -> Option<Mass> {
        self.waiting.base.take()
    }
}

fn credit(step: &Step, base: Mass, mass: Mass) -> Step {
    let from = Rest { load: base, ..step.from };
    Step { act: Act::Added, delta: mass, from, to: Rest { load: base + mass, ..step.to }, ..*step }
}
