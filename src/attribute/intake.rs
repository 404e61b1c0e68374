//! An intake: the next load is what will be taken apart, and no drop.
//!
//! Everything that comes on until it is taken off again is the intake; credited is the last rest before that, in every
//! manner. It may be taken off in parts, one appliance after the other, and something may be left behind: what was weighed
//! stands. Only where more comes on while most of it still lies there was a part thought better of, and the intake is what
//! lies there then. Where more comes on beside a remainder, the intake is off and that is the next load.
//! It may be put on an empty platform or on what stands there, and may lie through a restart. Or it is taken out of the bin
//! that stands there, to be taken apart further.

use super::{Attribute, InForce, Made, Recorder};
use crate::facts::books::{AskedIntake, Origin};
use crate::facts::{BenchId, BinId, Books, Cancellation, Confirmation, EntryId, Fact, FeedId, LotDrawn, StepId};
use crate::measure::{Mass, Moment};
use crate::settle::{Act, EpochCause, Manner, Rest, Step};

/// The intake that lies on the platform.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct IntakeLoad {
    entry: EntryId,
    /// The rest on which it was put.
    base: Mass,
    /// What is credited.
    mass: Mass,
    /// What of it lies there still.
    lies: Mass,
}

impl IntakeLoad {
    /// One that lay there when the program ended.
    pub fn left(bench: BenchId, books: &Books) -> Option<IntakeLoad> {
        let state = books.bench(bench);
        let intake = |entry: &EntryId| books.entries.get(entry).is_some_and(|entry| matches!(entry.origin, Origin::Intake(_)));
        let entry = state.open.iter().rev().copied().find(intake)?;
        let mass = books.entries.get(&entry)?.mass;
        let stood = state.standing.and_then(|bin| books.bins.get(&bin)?.last_gross).unwrap_or(Mass::ZERO);
        // Less than the whole may lie there, on nothing or on the bin; it was put on no less than that.
        let base = state.last_step.map_or(stood, |(_, rest)| (rest.load - mass).max(stood));
        let lies = state.last_step.map_or(mass, |(_, rest)| rest.load - base);
        Some(IntakeLoad { entry, base, mass, lies })
    }

    pub fn entry(&self) -> EntryId {
        self.entry
    }

    /// More than half of it was taken off: what lies there was left behind.
    fn is_off(&self) -> bool {
        self.lies * 2 < self.mass
    }
}

impl Attribute {
    /// Takes its part of a step and returns what is left of it for the manner.
    pub(super) fn on_intake(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Step> {
        let near = self.division * 2;
        let before = self.intake;
        let Some(load) = before else {
            let in_force = self.journal.at(step.landed);
            let asked = in_force.intake.filter(|_| recorder.books().bench(self.bench).intake.is_some());
            let Some(asked) = asked else { return Some(*step) };
            if let Some(bin) = self.drawn_from(step) {
                return self.draw(id, bin, step, &in_force, asked, recorder);
            }
            if step.act != Act::Added || step.delta <= near {
                return Some(*step);
            }
            let feed = asked.feed.or_else(|| at_hand(&in_force, recorder.books()));
            let (session, leg, mass) = (in_force.session, in_force.leg, step.delta);
            let entry = EntryId(recorder.record(Fact::IntakeLanded { step: id, feed, session, leg, mass }));
            self.intake = Some(IntakeLoad { entry, base: step.from.load, mass, lies: mass });
            self.in_force_changed(step.recognised, recorder.books());
            self.open.push_back((step.number, Made::OnIntake { before }));
            return None;
        };
        self.open.push_back((step.number, Made::OnIntake { before }));
        let lies = step.to.load - load.base;
        let more = step.act == Act::Added;
        if lies > near && !(more && load.is_off()) {
            let mass = if more { lies } else { load.mass };
            if mass != load.mass {
                recorder.record(Fact::DropRevised { entry: load.entry, mass });
            }
            self.intake = Some(IntakeLoad { mass, lies, ..load });
            return None;
        }
        recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::PanCleared });
        self.intake = None;
        if more {
            return Some(*step);
        }
        let from = Rest { load: load.base, ..step.from };
        (lies.abs() > near).then_some(Step { from, delta: lies, ..*step })
    }

    /// The bin that stands on the scale, where something was taken out of it.
    fn drawn_from(&self, step: &Step) -> Option<BinId> {
        let out = self.manner == Manner::Heap && step.act == Act::Removed && -step.delta > self.division * 2;
        self.platform.bin().filter(|_| out)
    }

    /// What was taken out of the bin is the intake: weighed by what the bin lost.
    fn draw(
        &mut self,
        id: StepId,
        bin: BinId,
        step: &Step,
        in_force: &InForce,
        asked: AskedIntake,
        recorder: &mut dyn Recorder,
    ) -> Option<Step> {
        let books = recorder.books();
        let Some(fill) = books.bins.get(&bin).map(|bin| bin.fill) else { return Some(*step) };
        let feed = asked.feed.or_else(|| at_hand(in_force, books));
        let drawn = LotDrawn {
            step: Some(id),
            bin,
            fill,
            feed,
            session: in_force.session,
            leg: in_force.leg,
            mass: -step.delta,
            source: None,
            pieces: None,
            depth: None,
            reason: None,
        };
        let entry = EntryId(recorder.record(Fact::LotDrawn(Box::new(drawn))));
        self.in_force_changed(step.recognised, recorder.books());
        self.open.push_back((step.number, Made::Entry(entry)));
        None
    }

    pub(super) fn intake_cancelled(&mut self, before: Option<IntakeLoad>, at: Moment, recorder: &mut dyn Recorder) {
        let now = std::mem::replace(&mut self.intake, before);
        match (before, now) {
            (Some(load), now) if now.is_none_or(|now| now.mass != load.mass) => {
                recorder.record(Fact::DropRevised { entry: load.entry, mass: load.mass });
            }
            (None, Some(load)) => {
                recorder.record(Fact::Cancelled { entry: load.entry, why: Cancellation::WentBack });
                self.in_force_changed(at, recorder.books());
            }
            _ => {}
        }
    }

    /// The first rest of an epoch tells whether an intake from before still lies there. Returns what stands under it.
    pub(super) fn under_the_intake(&mut self, rest: &Rest, recorder: &mut dyn Recorder) -> Mass {
        let Some(load) = self.intake else { return rest.load };
        let only_the_number = matches!(self.cause, EpochCause::Zeroed | EpochCause::Tared | EpochCause::Display);
        if only_the_number || (rest.load - load.base - load.lies).abs() <= self.division * 2 {
            let base = rest.load - load.lies;
            self.intake = Some(IntakeLoad { base, ..load });
            return base;
        }
        recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::EpochEnded });
        self.intake = None;
        rest.load
    }
}

/// The feed of the leg in force.
fn at_hand(in_force: &InForce, books: &Books) -> Option<FeedId> {
    let session = books.sessions.get(&in_force.session?)?;
    session.legs.iter().find(|leg| Some(leg.number) == in_force.leg)?.feed
}
