//! The manner sort: a mixed pile is tipped on the pan and sorted from it; each decrease is a drop into the chosen bin.

use super::{Attribute, Made, Recorder};
use crate::facts::{Doubt, StepId};
use crate::measure::Mass;
use crate::settle::{Act, Step};

/// The pile that is being sorted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Pile {
    /// The heaviest piece that was taken from it so far.
    heaviest: Mass,
}

impl Pile {
    /// What goes off last, all at once: the last piece, or the rest of the pile that is carried away. No piece came off
    /// before it, or none nearly as heavy, then it is asked.
    fn carried_away(self, taken: Mass) -> bool {
        taken * 2 > self.heaviest * 3
    }
}

impl Attribute {
    pub(super) fn on_sort(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        let pile = self.pile;
        if step.act == Act::Added {
            // More of the pile, or a piece put back: either way it is still to be sorted.
            if self.platform == super::Platform::Empty {
                self.pile = Pile::default();
            }
            let before = std::mem::replace(&mut self.platform, super::Platform::Unknown);
            return Some(Made::Nothing { before });
        }
        let taken = -step.delta;
        let doubt = (step.act == Act::Cleared && pile.carried_away(taken)).then_some(Doubt::PerhapsThePile);
        let in_force = self.journal.at(step.landed);
        let entry = self.credit_or_hold(id, taken, &in_force, doubt, recorder);
        self.pile.heaviest = pile.heaviest.max(taken);
        if step.act == Act::Cleared {
            self.platform = super::Platform::Empty;
        }
        Some(Made::FromPile { entry, pile })
    }
}
