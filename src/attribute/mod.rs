//! Steps, and what is on the bench, to drops: whose mass it is.
//!
//! Facts come first: each step is recorded as it was seen, then what was made of it. A drop is provisional until its
//! load has stayed, and it goes to the bin and the leg that were in force when the piece landed, not when the new rest
//! was recognised.

mod backlog;
mod in_force;
mod pan;
mod platform;

use crate::dialect::Kind;
use crate::facts::{BenchId, Books, Cancellation, Confirmation, Doubt, EntryId, Fact, StepId};
use crate::measure::{Mass, Moment};
use crate::settle::{Act, EpochCause, Finding, Manner, Rest, Step};
use backlog::Backlog;
use in_force::{InForce, Journal};
use pan::PanLoad;
use platform::Platform;
use std::collections::VecDeque;

/// Where facts are put. What is recorded is in the books before `record` returns.
pub trait Recorder {
    /// Records a fact and gives its sequence number.
    fn record(&mut self, fact: Fact) -> u64;
    fn books(&self) -> &Books;
    /// Events can not be stored at present, and no more may be made: steps are merged until they can.
    fn holding(&self) -> bool;
}

/// The attribution of one bench.
#[derive(Debug)]
pub struct Attribute {
    bench: BenchId,
    manner: Manner,
    journal: Journal,
    platform: Platform,
    /// Steps of this epoch that are not confirmed yet, with what was made of each. Settling keeps very few open.
    open: VecDeque<(u32, Made)>,
    pan: Option<PanLoad>,
    backlog: Backlog,
    display: Kind,
    cause: EpochCause,
    division: Mass,
    awaiting_first_rest: bool,
}

/// What was made of a step that is still provisional.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Made {
    Entry(EntryId),
    /// A bin set down, recorded once it stays; before it the platform was as kept here.
    SetDown {
        fact: platform::SetDown,
        before: Platform,
    },
    Lift {
        step: StepId,
        gross: Mass,
        before: Platform,
    },
    /// A change of the load on the pan; before it the load was this.
    OnPan {
        before: Option<PanLoad>,
    },
    Merged,
}

impl Attribute {
    /// Takes a bench up where the books left it. Entries that a crash left open are confirmed: their step was durable,
    /// and nothing since took it back.
    pub fn resume(bench: BenchId, at: Moment, recorder: &mut dyn Recorder) -> Attribute {
        let state = recorder.books().bench(bench);
        for entry in state.open.iter().copied() {
            recorder.record(Fact::Confirmed { entry, why: Confirmation::Restart });
        }
        let mut attribute = Attribute {
            bench,
            manner: state.manner,
            journal: Journal::default(),
            platform: Platform::Unknown,
            open: VecDeque::new(),
            pan: None,
            backlog: Backlog::default(),
            display: Kind::Unknown,
            cause: EpochCause::Link,
            division: Mass::ZERO,
            awaiting_first_rest: false,
        };
        attribute.in_force_changed(at, recorder.books());
        attribute
    }

    pub fn manner(&self) -> Manner {
        self.manner
    }

    /// The chosen bin, the session or its leg changed at this moment.
    pub fn in_force_changed(&mut self, at: Moment, books: &Books) {
        self.journal.note(at, InForce::of(self.bench, books));
    }

    /// Another manner from here on. A load on the pan is taken as it lies.
    pub fn set_manner(&mut self, manner: Manner, recorder: &mut dyn Recorder) {
        if let Some(load) = self.pan.take() {
            recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::Stayed });
        }
        self.manner = manner;
    }

    /// Takes the next finding of the settling.
    pub fn finding(&mut self, finding: &Finding, recorder: &mut dyn Recorder) {
        match finding {
            Finding::EpochOpened { cause, unit, kind, division, .. } => {
                recorder.record(Fact::EpochOpened {
                    cause: *cause,
                    unit: *unit,
                    display: *kind,
                    division: *division,
                    scale: None,
                });
                (self.display, self.cause, self.division) = (*kind, *cause, *division);
                self.awaiting_first_rest = true;
            }
            Finding::Rested { rest, .. } => self.rested(rest, recorder),
            Finding::Stepped(step) if recorder.holding() => {
                self.backlog.merge(step, self.journal.at(step.landed));
                self.open.push_back((step.number, Made::Merged));
            }
            Finding::Stepped(step) => {
                self.release(recorder);
                self.stepped(step, recorder);
            }
            Finding::Confirmed { number, .. } => self.confirmed(*number, recorder),
            Finding::Cancelled { number, .. } => self.cancelled(*number, recorder),
            Finding::EpochClosed { pending, forgiven, .. } => self.epoch_closed(*pending, *forgiven, recorder),
            Finding::Averaged { .. } | Finding::Repeated { .. } | Finding::Advise { .. } => {}
        }
    }

    /// Records what was merged while nothing could be stored, if anything was.
    pub fn release(&mut self, recorder: &mut dyn Recorder) {
        if recorder.holding() {
            return;
        }
        for (step, in_force) in self.backlog.take() {
            let id = StepId(recorder.record(stepped(&step)));
            let entry = self.credit(id, step.delta, &in_force, None, recorder);
            recorder.record(Fact::Confirmed { entry, why: Confirmation::Stayed });
        }
    }

    fn rested(&mut self, rest: &Rest, recorder: &mut dyn Recorder) {
        if !std::mem::take(&mut self.awaiting_first_rest) {
            return;
        }
        let state = recorder.books().bench(self.bench);
        let expected = state.standing.and_then(|bin| recorder.books().bins.get(&bin)?.last_gross);
        let level = platform::Level { rest, division: self.division, display: self.display, cause: self.cause };
        let verdict = level.verdict(state.standing.is_some(), expected);
        self.platform = Platform::found(verdict, state.standing);
        recorder.record(Fact::Bridged { verdict, found: rest.load, expected });
    }

    fn stepped(&mut self, step: &Step, recorder: &mut dyn Recorder) {
        let id = StepId(recorder.record(stepped(step)));
        let made = match (self.manner, step.act) {
            (Manner::Heap | Manner::Tray | Manner::Sort, Act::Cleared) => self.lift(id, step),
            (Manner::Heap | Manner::Tray | Manner::Sort, _) => self.in_heap(id, step, recorder),
            (Manner::Pan, _) => self.on_pan(id, step, recorder),
        };
        if let Some(made) = made {
            self.open.push_back((step.number, made));
        }
    }

    /// The bin stands on the scale and pieces are dropped into it.
    fn in_heap(&mut self, id: StepId, step: &Step, recorder: &mut dyn Recorder) -> Option<Made> {
        let in_force = self.journal.at(step.landed);
        let mut doubt = None;
        if step.act == Act::Added && self.platform == Platform::Empty {
            match platform::arrival(id, step, in_force.bin, self.division, recorder.books()) {
                platform::Arrival::TheBin(fact) => {
                    let before = std::mem::replace(&mut self.platform, Platform::Bin(fact.bin));
                    return Some(Made::SetDown { fact, before });
                }
                platform::Arrival::Doubtful(why) => doubt = Some(why),
            }
            if step.delta > self.division * 2 {
                self.platform = Platform::Stranger;
            }
        }
        Some(Made::Entry(self.credit(id, step.delta, &in_force, doubt, recorder)))
    }

    fn lift(&mut self, step: StepId, seen: &Step) -> Option<Made> {
        let before = std::mem::replace(&mut self.platform, Platform::Empty);
        Some(Made::Lift { step, gross: seen.from.load, before })
    }

    /// Books what came or went, to the bin in force; where choice and weight disagree nobody wins until it is answered.
    fn credit(
        &self,
        step: StepId,
        delta: Mass,
        in_force: &InForce,
        doubt: Option<Doubt>,
        recorder: &mut dyn Recorder,
    ) -> EntryId {
        let bin = in_force.bin.filter(|_| doubt.is_none() && self.platform != Platform::Stranger);
        let fill = bin.and_then(|bin| recorder.books().bins.get(&bin)).map(|bin| bin.fill);
        let (session, leg) = (in_force.session, in_force.leg);
        EntryId(recorder.record(if delta.is_negative() {
            Fact::TakenOut { step, bin, fill, session, mass: -delta }
        } else {
            Fact::DropLanded { step, bin, fill, session, leg, mass: delta, doubt }
        }))
    }

    fn confirmed(&mut self, number: u32, recorder: &mut dyn Recorder) {
        match self.take_open(number) {
            Some(Made::Entry(entry)) => {
                recorder.record(Fact::Confirmed { entry, why: Confirmation::Stayed });
            }
            Some(Made::SetDown { fact, .. }) => {
                recorder.record(fact.fact());
            }
            Some(Made::Lift { step, gross, before }) => {
                recorder.record(Fact::Lifted { step, bin: before.bin(), gross });
            }
            Some(Made::OnPan { .. } | Made::Merged) | None => {}
        }
    }

    fn cancelled(&mut self, number: u32, recorder: &mut dyn Recorder) {
        match self.take_open(number) {
            Some(Made::Entry(entry)) => {
                recorder.record(Fact::Cancelled { entry, why: Cancellation::WentBack });
            }
            Some(Made::SetDown { before, .. } | Made::Lift { before, .. }) => self.platform = before,
            Some(Made::OnPan { before }) => self.pan_cancelled(before, recorder),
            Some(Made::Merged) => self.backlog.cancel(number),
            None => {}
        }
    }

    fn epoch_closed(&mut self, pending: Mass, forgiven: Mass, recorder: &mut dyn Recorder) {
        self.release(recorder);
        while let Some((number, _)) = self.open.front().copied() {
            self.confirmed(number, recorder);
        }
        if let Some(load) = self.pan.take() {
            recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::EpochEnded });
        }
        self.crumbs(pending, recorder);
        recorder.record(Fact::EpochClosed { pending, forgiven });
    }

    /// What lay under one division goes to the bin in force now.
    fn crumbs(&mut self, mass: Mass, recorder: &mut dyn Recorder) {
        if mass.is_zero() {
            return;
        }
        let bin = self.journal.latest().bin.filter(|_| self.platform != Platform::Stranger);
        let fill = bin.and_then(|bin| recorder.books().bins.get(&bin)).map(|bin| bin.fill);
        recorder.record(Fact::CrumbsSettled { bin, fill, mass });
    }

    fn take_open(&mut self, number: u32) -> Option<Made> {
        let at = self.open.iter().position(|(open, _)| *open == number)?;
        self.open.remove(at).map(|(_, made)| made)
    }
}

fn stepped(step: &Step) -> Fact {
    Fact::Stepped { act: step.act, delta: step.delta, landed: step.landed, from: step.from, to: step.to }
}
