//! Which bin and leg were in force at a moment.

use crate::facts::books::AskedIntake;
use crate::facts::{BenchId, BinId, Books, SessionId};
use crate::measure::{Moment, Span};
use std::collections::VecDeque;

/// A step is recognised within seconds of its landing; this is far beyond any.
const KEPT: Span = Span::seconds(600);

/// The bin, the session and the leg that a landing piece belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct InForce {
    pub bin: Option<BinId>,
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    /// The next load is an intake.
    pub intake: Option<AskedIntake>,
    /// The next load of about its weight is a check weight.
    pub check: bool,
}

impl InForce {
    pub fn of(bench: BenchId, books: &Books) -> InForce {
        let state = books.bench(bench);
        let leg = state.session.and_then(|session| books.sessions.get(&session)).map(|session| session.leg());
        InForce { bin: state.chosen, session: state.session, leg, intake: state.intake, check: state.check.asked.is_some() }
    }
}

/// The changes of the last minutes.
#[derive(Debug, Default)]
pub(super) struct Journal {
    changes: VecDeque<(Moment, InForce)>,
}

impl Journal {
    pub fn note(&mut self, at: Moment, now: InForce) {
        if self.changes.back().is_some_and(|(_, last)| *last == now) {
            return;
        }
        self.changes.push_back((at, now));
        while self.changes.len() > 1 && at.since(self.changes[1].0) > KEPT {
            self.changes.pop_front();
        }
    }

    pub fn at(&self, landed: Moment) -> InForce {
        let before = self.changes.iter().rev().find(|(at, _)| *at <= landed);
        before.or(self.changes.front()).map(|(_, in_force)| *in_force).unwrap_or_default()
    }

    /// Nothing was chosen after this moment.
    pub fn unchanged_since(&self, moment: Moment) -> bool {
        self.changes.back().is_none_or(|(at, _)| *at <= moment)
    }

    pub fn latest(&self) -> InForce {
        self.changes.back().map(|(_, in_force)| *in_force).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_belongs_to_the_bin_in_force_when_it_landed() {
        let bin = |id| InForce { bin: Some(BinId(id)), ..InForce::default() };
        let mut journal = Journal::default();
        journal.note(Moment(10), bin(1));
        journal.note(Moment(20), bin(2));
        assert_eq!(journal.at(Moment(19)), bin(1));
        assert_eq!(journal.at(Moment(20)), bin(2));
        assert_eq!(journal.at(Moment(5)), bin(1), "before the first change the first is the best that is known");
    }

    #[test]
    fn the_journal_stays_short() {
        let mut journal = Journal::default();
        for second in 0..10_000_u64 {
            journal.note(Moment(second * 1_000_000_000), InForce { leg: Some(second), ..InForce::default() });
        }
        assert!(journal.changes.len() < 700, "{}", journal.changes.len());
    }
}
