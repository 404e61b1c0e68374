//! The manner sort: a mixed pile is tipped on the pan and sorted from it; each decrease is a drop into the chosen bin.

use super::{Attribute, Made, Recorder};
use crate::facts::{Doubt, StepId};
use crate::measure::Mass;
use crate::settle::{Act, Step};

/// The pile that is being sorted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Pile {
    taken: u32,
    heaviest: Mass,
}

impl Attribute {
    pub(super) fn on_sort(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        if step.act == Act::Added {
            // More of the pile, or a piece put back: either way it is still to be sorted.
            if self.platform == super::Platform::Empty {
                self.pile = Pile::default();
            }
            let before = std::mem::replace(&mut self.platform, super::Platform::Unknown);
            return Some(Made::Nothing { before });
        }
        let taken = -step.delta;
        // The rest of a pile that goes off at once was more likely carried away than sorted.
        let rest_of_pile = step.act == Act::Cleared && self.pile.taken >= 2 && taken > self.pile.heaviest * 2;
        let doubt = rest_of_pile.then_some(Doubt::PerhapsThePile);
        let in_force = self.journal.at(step.landed);
        let entry = self.credit_or_hold(id, taken, &in_force, doubt, recorder);
        self.pile = Pile { taken: self.pile.taken + 1, heaviest: self.pile.heaviest.max(taken) };
        if step.act == Act::Cleared {
            self.platform = super::Platform::Empty;
        }
        Some(Made::Entry(entry))
    }
}
