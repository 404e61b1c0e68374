//! Steps that came while nothing could be stored: those of one bin and leg are merged into one, from the last
//! decided rest, so that the weight is kept and the memory stays bounded by the number of choices.

use super::in_force::InForce;
use crate::settle::{Act, Rest, Step};

#[derive(Debug, Default)]
pub(super) struct Backlog {
    merged: Vec<(Step, InForce)>,
    /// The last merged step before the newest went into it: a hand takes back only the newest.
    before: Option<Step>,
    again: Vec<(Rest, InForce)>,
}

/// Lines that were sent again and wait to be kept as doubtful: an hour of somebody who does nothing else.
const AGAIN_MAX: usize = 1000;

impl Backlog {
    pub fn merge(&mut self, step: &Step, in_force: InForce) {
        self.before = None;
        match self.merged.last_mut().filter(|(_, last)| *last == in_force) {
            Some((sum, _)) => {
                self.before = Some(*sum);
                sum.delta += step.delta;
                sum.number = step.number;
                sum.recognised = step.recognised;
                sum.to = Rest { load: sum.from.load + sum.delta, ..step.to };
                sum.act = if sum.delta.is_negative() { Act::Removed } else { Act::Added };
            }
            None => self.merged.push((*step, in_force)),
        }
    }

    /// The newest step was a hand: the load is back at the rest before it.
    pub fn cancel(&mut self, number: u32) {
        if self.merged.last().is_none_or(|(newest, _)| newest.number != number) {
            return;
        }
        match (self.before.take(), self.merged.last_mut()) {
            (Some(before), Some((sum, _))) => *sum = before,
            _ => _ = self.merged.pop(),
        }
    }

    /// An equal line came again.
    pub fn again(&mut self, rest: Rest, in_force: InForce) {
        if self.again.len() < AGAIN_MAX {
            self.again.push((rest, in_force));
        }
    }

    pub fn take_again(&mut self) -> Vec<(Rest, InForce)> {
        std::mem::take(&mut self.again)
    }

    pub fn take(&mut self) -> Vec<(Step, InForce)> {
        let mut merged = std::mem::take(&mut self.merged);
        merged.retain(|(step, _)| !step.delta.is_zero());
        merged
    }
}
