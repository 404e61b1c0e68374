//! What stands on the platform, as far as it is known, and what a load that arrives there is taken for.

use crate::dialect::Kind;
use crate::facts::books::{Bench, Bin};
use crate::facts::{BinId, Books, Bridge, Doubt, Fact, KnownBy, StepId};
use crate::measure::Mass;
use crate::settle::{EpochCause, Rest};

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Platform {
    /// Something may stand there; weighing goes on by differences.
    Unknown,
    Empty,
    Bin(BinId),
    /// Something was set down that is not the chosen bin, or no bin was chosen.
    Stranger,
}

impl Platform {
    pub fn found(verdict: Bridge, standing: Option<BinId>) -> Platform {
        match (verdict, standing) {
            (Bridge::Empty, _) => Platform::Empty,
            (_, Some(bin)) => Platform::Bin(bin),
            (_, None) => Platform::Unknown,
        }
    }

    pub fn bin(self) -> Option<BinId> {
        match self {
            Platform::Bin(bin) => Some(bin),
            Platform::Unknown | Platform::Empty | Platform::Stranger => None,
        }
    }
}

/// The first rest of an epoch.
pub(super) struct Level<'a> {
    pub rest: &'a Rest,
    pub division: Mass,
    pub display: Kind,
    pub cause: EpochCause,
}

impl Level<'_> {
    /// Compares what is shown with what stood there before.
    pub fn verdict(&self, something_stood: bool, expected: Option<Mass>) -> Bridge {
        let near = |level: Mass| (self.rest.load - level).abs() <= self.division * 2;
        match self.cause {
            // Pressed under our eyes: the load did not move, only its number.
            EpochCause::Zeroed | EpochCause::Tared | EpochCause::Display if something_stood => Bridge::SameLoad,
            // A tare was taken before we looked, so a container stands there or was taken off.
            EpochCause::Tared => Bridge::Unknown,
            _ if self.display == Kind::Net => Bridge::Unknown,
            _ if expected.is_some_and(near) => Bridge::SameLoad,
            // A scale that woke up under a standing bin shows zero too: it is asked, not taken for cleared.
            EpochCause::PowerUp if something_stood => Bridge::Unknown,
            _ if near(Mass::ZERO) => Bridge::Empty,
            _ => Bridge::Unknown,
        }
    }
}

/// What came onto an empty platform in the manner heap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Arrival {
    TheBin(SetDown),
    Doubtful(Doubt),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SetDown {
    pub step: Option<StepId>,
    pub bin: BinId,
    pub gross: Mass,
    pub known_by: KnownBy,
    pub expected: Option<Mass>,
    /// What it came back heavier by, or lighter.
    pub unseen: Option<Mass>,
}

impl SetDown {
    pub fn fact(&self) -> Fact {
        let (step, bin, gross) = (self.step, self.bin, self.gross);
        // A change is no scatter of set-backs.
        let expected = self.expected.filter(|_| self.unseen.is_none());
        let lighter_by = self.unseen.filter(|unseen| unseen.is_negative()).map(|unseen| -unseen);
        Fact::SetDown { step, bin, gross, known_by: self.known_by, expected, lighter_by }
    }
}

/// Looks at a load that came onto the empty platform, or was found on it.
pub(super) struct Lookout<'a> {
    pub books: &'a Books,
    pub bench: &'a Bench,
    pub division: Mass,
    pub chosen: Option<BinId>,
    /// The choice was made after the last bin was lifted off, so it is about this load.
    pub fresh: bool,
}

impl Lookout<'_> {
    /// A choice that was made since the last bin was lifted off is about this load, and when it disagrees with the
    /// weight nobody wins until it is answered. An older choice was about the bin before: then the weight may tell,
    /// which is announced.
    pub fn arrival(&self, step: Option<StepId>, gross: Mass) -> Arrival {
        // No bin weighs so little: the zero wandered, or a crumb fell on the bare platform.
        if gross <= self.division * 2 {
            return Arrival::Doubtful(Doubt::PerhapsTheBin);
        }
        let known = |bin, known_by, expected| Arrival::TheBin(SetDown { step, bin, gross, known_by, expected, unseen: None });
        let by_weight = self.recognise(gross);
        let Some((bin, state)) = self.chosen.and_then(|bin| Some((bin, self.books.bins.get(&bin)?))) else {
            return match by_weight {
                Some((bin, expected)) => known(bin, KnownBy::Weight, Some(expected)),
                None => Arrival::Doubtful(Doubt::PerhapsTheBin),
            };
        };
        let fresh = self.fresh;
        match (self.expected(state), by_weight) {
            (Some(expected), _) if self.near(gross, expected) => known(bin, KnownBy::Choice, Some(expected)),
            // Somebody said that a piece was being taken out of it, and it was, away from the scale.
            (Some(expected), _) if let Some(left) = self.left(bin, gross, expected) => known(bin, KnownBy::Choice, Some(left)),
            // Something was booked into it, or out of it, while it was away.
            (Some(_), _) if let Some(booked) = self.booked(state).filter(|booked| self.near(gross, *booked)) => {
                known(bin, KnownBy::Choice, Some(booked))
            }
            // What was kept apart last time was this bin after all: its drops still wait for an answer.
            (Some(_), None) if state.stray.is_some_and(|stray| self.near(gross, stray)) => known(bin, KnownBy::Choice, None),
            (_, Some((other, expected))) if !fresh => known(other, KnownBy::Weight, Some(expected)),
            (None, Some((other, _))) => Arrival::Doubtful(Doubt::PerhapsAnother { perhaps: other }),
            (None, None) => known(bin, KnownBy::FirstSight, None),
            (Some(expected), Some((other, _))) => Arrival::Doubtful(Doubt::NotTheBin { expected, perhaps: Some(other) }),
            (Some(expected), None) => self.changed(step, bin, state, gross, expected),
        }
    }

    /// The chosen bin weighs something else, and no other bin fits. Where it was seen before and the change is moderate,
    /// it is this bin and was filled or drawn from away from the scale; a large change is asked.
    fn changed(&self, step: Option<StepId>, bin: BinId, state: &Bin, gross: Mass, expected: Mass) -> Arrival {
        let expected = self.nearest(state, gross).unwrap_or(expected);
        let unseen = gross - expected;
        let moderate = unseen.abs() * 4 <= expected;
        let no_lighter_than_empty = state.tare.is_none_or(|tare| gross >= tare - self.division * 4);
        let room = |tare: Mass, capacity: Mass| gross - tare <= capacity;
        let has_room = state.tare.zip(state.capacity).is_none_or(|(tare, capacity)| room(tare, capacity));
        if self.fresh && state.last_gross.is_some() && moderate && has_room && no_lighter_than_empty {
            let (expected, unseen) = (Some(expected), Some(unseen));
            return Arrival::TheBin(SetDown { step, bin, gross, known_by: KnownBy::Choice, expected, unseen });
        }
        Arrival::Doubtful(Doubt::NotTheBin { expected, perhaps: None })
    }

    /// The one bin that weighs this, never an empty one, and only with a margin to the second.
    fn recognise(&self, gross: Mass) -> Option<(BinId, Mass)> {
        let filled = |bin: &Bin| self.books.fills.get(&bin.fill).is_some_and(|fill| fill.mass > self.division * 20);
        let candidates = self.books.bins.iter().filter(|(_, bin)| !bin.retired && filled(bin));
        let mut distances: Vec<(Mass, BinId, Mass)> = candidates
            .filter_map(|(id, bin)| {
                let expected = self.nearest(bin, gross)?;
                Some(((gross - expected).abs(), *id, expected))
            })
            .collect();
        distances.sort();
        let (nearest, id, expected) = *distances.first()?;
        let second = distances.get(1).map(|(distance, ..)| *distance);
        let clear = second.is_none_or(|second| second >= self.allowance(expected) * 3);
        (nearest <= self.allowance(expected) && clear).then_some((id, expected))
    }

    /// What the bin should weigh without the piece that was being taken out of it, where it weighs just that.
    fn left(&self, bin: BinId, gross: Mass, expected: Mass) -> Option<Mass> {
        self.books.leaving(bin).map(|(_, mass)| expected - mass).find(|left| self.near(gross, *left))
    }

    fn expected(&self, bin: &Bin) -> Option<Mass> {
        bin.last_gross.or_else(|| self.booked(bin))
    }

    /// What it weighs by the books. They know more than when it was last seen where another bin was tipped into it, or
    /// something was weighed elsewhere: without them all that would be found a second time.
    fn booked(&self, bin: &Bin) -> Option<Mass> {
        let there = self.books.fills.get(&bin.fill).map_or(Mass::ZERO, |fill| fill.mass);
        bin.tare.map(|tare| tare + there)
    }

    /// Of what it was last seen at and what the books say, the one that this is nearest to.
    fn nearest(&self, bin: &Bin, gross: Mass) -> Option<Mass> {
        bin.last_gross.into_iter().chain(self.booked(bin)).min_by_key(|expected| (gross - *expected).abs())
    }

    fn near(&self, gross: Mass, expected: Mass) -> bool {
        (gross - expected).abs() <= self.allowance(expected)
    }

    /// How far a bin may be from what it should weigh: a set-back off the middle of the platform shifts a bench scale by
    /// a few divisions and up to about a thousandth of the load (common practice, no source), or by what this bench has
    /// shown.
    fn allowance(&self, expected: Mass) -> Mass {
        let thousandth = Mass::from_femtograms(expected.abs().femtograms() / 1000);
        (self.division * 6 + thousandth).max(self.bench.scatter * 3)
    }
}

/// Whether a drop is held: far above what the bin usually gets, or above its room.
pub(super) fn held(books: &Books, bin: BinId, mass: Mass, division: Mass) -> Option<Doubt> {
    // Below eight drops nobody knows what is usual; a small piece among smaller ones is not worth a question.
    const KNOWN_AFTER: u32 = 8;
    const TIMES: i128 = 6;
    let state = books.bins.get(&bin)?;
    let fill = books.fills.get(&state.fill)?;
    if fill.drops >= KNOWN_AFTER && mass > fill.heaviest * TIMES && mass > division * 200 {
        return Some(Doubt::FarAbove { bin, usual: fill.heaviest });
    }
    let room = state.capacity? - fill.mass;
    // A heaped bin holds a little more than it should.
    let slack = Mass::from_femtograms(state.capacity?.femtograms() / 20);
    (mass > room + slack).then_some(Doubt::OverRoom { bin, room })
}
