//! The manner heap: the bin stands on the scale and pieces are dropped into it.

use super::platform::{self, Lookout, Platform};
use super::{Attribute, InForce, Made, Recorder};
use crate::facts::books::{EntryState, Origin};
use crate::facts::{BinId, Books, EntryId, Fact, KnownBy, StepId};
use crate::measure::{Mass, Moment};
use crate::settle::{Act, Rest, Step};

impl Attribute {
    /// Something stands there that nobody saw being set down: a crash came before it was confirmed, or it was there before
    /// the program. It is the chosen bin if it weighs just what that should.
    pub(super) fn found_standing(&mut self, rest: &Rest, recorder: &mut dyn Recorder) {
        let books = recorder.books();
        let bench = books.bench(self.bench);
        let lookout = Lookout { books, bench: &bench, division: self.division, chosen: bench.chosen, fresh: false };
        if let platform::Arrival::TheBin(fact) = lookout.arrival(None, rest.load)
            && fact.known_by == KnownBy::Choice
            && fact.unseen.is_none()
        {
            self.platform = Platform::Bin(fact.bin);
            recorder.record(fact.fact());
        }
    }

    /// The bin stands on the scale and pieces are dropped into it.
    pub(super) fn in_heap(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        let in_force = self.journal.at(step.landed);
        let mut doubt = None;
        if step.act == Act::Added && self.platform == Platform::Empty {
            let bench = recorder.books().bench(self.bench);
            let books = recorder.books();
            let fresh = self.chosen.is_some_and(|chosen| chosen >= self.cleared);
            let lookout = Lookout { books, bench: &bench, division: self.division, chosen: in_force.bin, fresh };
            match lookout.arrival(Some(id), step.delta) {
                platform::Arrival::TheBin(fact) => {
                    let before = std::mem::replace(&mut self.platform, Platform::Bin(fact.bin));
                    return Some(Made::SetDown { fact, landed: step.landed, before });
                }
                platform::Arrival::Doubtful(why) => doubt = Some(why),
            }
            if step.delta > self.division * 2 {
                let before = std::mem::replace(&mut self.platform, Platform::Stranger);
                let entry = self.credit_or_hold(id, step.delta, &in_force, doubt, recorder);
                return Some(Made::Strange { entry, before });
            }
        }
        Some(Made::Entry(self.credit_or_hold(id, step.delta, &in_force, doubt, recorder)))
    }

    pub(super) fn lift(&mut self, step: StepId, seen: &Step) -> Option<Made> {
        let before = std::mem::replace(&mut self.platform, Platform::Empty);
        self.cleared = seen.landed;
        Some(Made::Lift { step, gross: seen.from.load, before })
    }

    /// A removal that weighs what one drop of this visit weighed takes that drop back; first of all one that somebody has
    /// voided because it was being taken out.
    pub(super) fn pair(&self, removal: EntryId, recorder: &mut dyn Recorder) {
        let books = recorder.books();
        let Some(out) = books.entries.get(&removal).filter(|entry| entry.mass.is_negative()) else { return };
        // What was drawn to be taken apart was meant.
        if matches!(out.origin, Origin::Drawn(_)) {
            return;
        }
        let fits = |mass: Mass| (mass + out.mass).abs() <= self.division * 2;
        let same = |id: &EntryId| {
            let entry = books.entries.get(id)?;
            let here = entry.state == EntryState::Confirmed && entry.is_drop() && entry.bin == out.bin;
            (here && fits(entry.mass)).then_some(*id)
        };
        let leaving = out.bin.and_then(|bin| books.leaving(bin).find(|(_, mass)| fits(*mass)));
        let visit = books.bench(self.bench).visit;
        if let Some((drop, _)) = leaving {
            recorder.record(Fact::TakenBack { drop, removal });
        } else if let Some(drop) = visit.iter().rev().find_map(same) {
            recorder.record(Fact::TakenBack { drop, removal });
        }
    }

    /// What stood there when the program came is the bin that every drop since went into, if there is one such.
    pub(super) fn bin_of_visit(&self, platform: Platform, books: &Books) -> Option<BinId> {
        let visit = books.bench(self.bench).visit;
        let mut bins = visit.iter().filter_map(|id| books.entries.get(id)).map(|entry| entry.bin);
        let first = bins.next().flatten().filter(|_| platform == Platform::Unknown)?;
        bins.all(|bin| bin == Some(first)).then_some(first)
    }

    /// A bin is known to stand there. One that was known by its weight alone is chosen by it, unless somebody has chosen
    /// another since it was set down.
    pub(super) fn set_down(&mut self, fact: &platform::SetDown, landed: Moment, recorder: &mut dyn Recorder) {
        if fact.known_by == KnownBy::Weight && self.journal.unchanged_since(landed) {
            recorder.record(Fact::BinChosen { bin: Some(fact.bin) });
            self.journal.note(landed, InForce::of(self.bench, recorder.books()));
        }
        recorder.record(fact.fact());
        let fill = recorder.books().bins.get(&fact.bin).map(|bin| bin.fill);
        if let Some((mass, fill)) = fact.unseen.filter(|unseen| !unseen.is_negative()).zip(fill) {
            recorder.record(Fact::CaughtUp { bin: fact.bin, fill, mass });
        }
    }

    /// Somebody says that what was set down and kept apart was this bin: what landed since is in it.
    pub fn was_the_bin(&mut self, bin: BinId) {
        if self.platform == Platform::Stranger {
            self.platform = Platform::Bin(bin);
        }
    }
}
