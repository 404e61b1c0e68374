//! Steps, and what is on the bench, to drops: whose mass it is.
//!
//! Facts come first: each step is recorded as it was seen, then what was made of it. A drop is provisional until its
//! load has stayed, and it goes to the bin and the leg that were in force when the piece landed, not when the new rest
//! was recognised.

mod backlog;
mod check;
mod habit;
mod heap;
mod held_back;
mod in_force;
mod intake;
mod pan;
mod platform;
mod presence;
mod press;
mod repeated;
mod sort;
mod tray;

use crate::dialect::Kind;
use crate::facts::books::PressUse;
use crate::facts::{BenchId, Books, Cancellation, Confirmation, Doubt, EntryId, Fact, StepId};
use crate::measure::{Mass, Moment};
use crate::settle::{self, Act, EpochCause, Finding, Manner, Rest, Step};
use backlog::Backlog;
use check::{CheckLoad, OfCheck};
use habit::Habit;
pub use habit::{Suggestion, Why};
use held_back::Waiting;
use in_force::{InForce, Journal};
use intake::IntakeLoad;
use pan::PanLoad;
use platform::Platform;
pub use presence::Presence;
use press::PressWatch;
use sort::Pile;
use std::collections::VecDeque;
use tray::Tray;

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
    tray: Tray,
    pile: Pile,
    intake: Option<IntakeLoad>,
    check: Option<CheckLoad>,
    waiting: Waiting,
    press: PressWatch,
    habit: Habit,
    container: Container,
    /// When the last bin was lifted off, or the program started: a choice from before is about the bin before.
    cleared: Moment,
    /// When a bin was chosen last since the program started.
    chosen: Option<Moment>,
    backlog: Backlog,
    display: Kind,
    cause: EpochCause,
    division: Mass,
    /// What the scale can bear.
    capacity: Option<Mass>,
    awaiting_first_rest: bool,
}

/// A container should stand on the platform, since the scale swallows what comes slowly near its zero; said once an epoch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Container {
    Unasked,
    Asked,
    Done,
}

/// No tray and no bin weighs less, in divisions.
const CONTAINER: i128 = 20;

/// What was made of a step that is still provisional.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Made {
    Entry(EntryId),
    /// Something set down that is no bin we know; before it the platform was as kept here.
    Strange {
        entry: EntryId,
        before: Platform,
    },
    /// A bin set down, recorded once it stays; before it the platform was as kept here.
    SetDown {
        fact: platform::SetDown,
        landed: Moment,
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
    OnTray {
        before: Tray,
        platform: Platform,
    },
    /// A piece from the pile, which was this before it.
    FromPile {
        entry: EntryId,
        pile: Pile,
    },
    /// A change of the intake that lies there; before it the intake was this.
    OnIntake {
        before: Option<IntakeLoad>,
    },
    OnCheck {
        what: OfCheck,
        before: Option<CheckLoad>,
    },
    /// Nothing, but that something stands there now.
    Nothing {
        before: Platform,
    },
    Merged,
}

impl Attribute {
    /// Takes a bench up where the books left it. Entries that a crash left open are confirmed: their step was durable,
    /// and nothing since took it back.
    /// An intake may lie there still: its first rest tells. `capacity` is what the scale can bear.
    pub fn resume(bench: BenchId, capacity: Option<Mass>, at: Moment, recorder: &mut dyn Recorder) -> Attribute {
        let state = recorder.books().bench(bench);
        let intake = IntakeLoad::left(bench, recorder.books());
        for entry in state.open.iter().copied().filter(|entry| intake.is_none_or(|intake| intake.entry() != *entry)) {
            recorder.record(Fact::Confirmed { entry, why: Confirmation::Restart });
        }
        let mut attribute = Attribute {
            bench,
            manner: state.manner,
            journal: Journal::default(),
            platform: Platform::Unknown,
            open: VecDeque::new(),
            pan: None,
            tray: Tray::default(),
            pile: Pile::default(),
            intake,
            check: CheckLoad::left(bench, recorder.books()),
            waiting: Waiting::default(),
            press: PressWatch::default(),
            habit: Habit::default(),
            container: Container::Unasked,
            cleared: at,
            chosen: None,
            backlog: Backlog::default(),
            display: Kind::Unknown,
            cause: EpochCause::Link,
            division: Mass::ZERO,
            capacity,
            awaiting_first_rest: false,
        };
        if let Some(load) = attribute.check {
            attribute.surely_weighed(load, recorder);
        }
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

    /// A bin was chosen, be it the same again: it is said of what is set down next.
    pub fn bin_chosen(&mut self, at: Moment) {
        self.chosen = Some(at);
    }

    /// Another manner from here on. A load on the pan is taken as it lies.
    pub fn set_manner(&mut self, manner: Manner, recorder: &mut dyn Recorder) {
        if let Some(load) = self.pan.take() {
            recorder.record(Fact::Confirmed { entry: load.entry, why: Confirmation::Stayed });
        }
        self.tray_put_away(Confirmation::Stayed, recorder);
        self.tray = Tray::default();
        self.manner = manner;
        self.habit.answered();
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
                self.container = Container::Unasked;
            }
            Finding::Rested { rest, .. } => self.rested(rest, recorder),
            Finding::Stepped(step) if self.press_stepped(step, recorder) => {
                if let Some(credit) = self.held_back(step) {
                    self.backlog.merge(&credit, self.journal.at(step.landed));
                }
                self.open.push_back((step.number, Made::Merged));
            }
            Finding::Stepped(step) => {
                self.release(recorder);
                self.stepped(step, recorder);
            }
            Finding::Confirmed { number, .. } => self.confirmed(*number, recorder),
            Finding::Cancelled { number, at } => {
                self.press.taken_back();
                self.cancelled(*number, *at, recorder);
            }
            Finding::EpochClosed { pending, forgiven, .. } => self.epoch_closed(*pending, *forgiven, recorder),
            Finding::Repeated { rest, .. } => self.sent_again(rest, recorder),
            Finding::Advise { advice: settle::Advice::TareContainer, .. } if self.container == Container::Unasked => {
                self.container = Container::Asked;
            }
            Finding::Averaged { .. } | Finding::Advise { .. } => {}
        }
    }

    /// A load came to rest, so nobody is pressing; true where it can not be recorded now.
    fn press_stepped(&mut self, step: &Step, recorder: &dyn Recorder) -> bool {
        self.press.stepped(step.recognised, step.to.load);
        recorder.holding()
    }

    /// A reading against the rest that it is held to. A long press, where the person has taken to it, chooses the next
    /// bin; in a trial it is only counted.
    pub fn watch_press(&mut self, at: Moment, load: Mass, rest: Mass, recorder: &mut dyn Recorder) {
        let felt = self.press.reading(at, load, rest, self.division);
        let state = recorder.books().bench(self.bench).press;
        if !felt || state == PressUse::Off || recorder.holding() {
            return;
        }
        recorder.record(Fact::PressFelt {});
        if let (PressUse::On, Some(bin)) = (state, recorder.books().next_bin(self.bench)) {
            recorder.record(Fact::BinChosen { bin: Some(bin) });
            self.bin_chosen(at);
            self.in_force_changed(at, recorder.books());
        }
    }

    /// Records what was merged while nothing could be stored, if anything was.
    pub fn release(&mut self, recorder: &mut dyn Recorder) {
        if recorder.holding() {
            return;
        }
        self.load_after_waiting(recorder);
        for (step, in_force) in self.backlog.take() {
            let id = StepId(recorder.record(stepped(&step)));
            let entry = self.credit(id, step.delta, &in_force, None, recorder);
            recorder.record(Fact::Confirmed { entry, why: Confirmation::Stayed });
        }
        for (rest, in_force) in self.backlog.take_again() {
            self.keep_doubtful(&rest, in_force, recorder);
        }
    }

    fn rested(&mut self, rest: &Rest, recorder: &mut dyn Recorder) {
        if !std::mem::take(&mut self.awaiting_first_rest) {
            return;
        }
        let state = recorder.books().bench(self.bench);
        let expected = state.standing.and_then(|bin| recorder.books().bins.get(&bin)?.last_gross);
        let beside = self.beside_the_check_at(*rest, recorder);
        let stands = Rest { load: self.under_the_intake(&beside, recorder), ..*rest };
        let level = platform::Level { rest: &stands, division: self.division, display: self.display, cause: self.cause };
        let verdict = level.verdict(state.standing.is_some(), expected);
        self.platform = Platform::found(verdict, state.standing);
        recorder.record(Fact::Bridged { verdict, found: rest.load, expected });
        if self.manner == Manner::Heap && self.display != Kind::Net && self.platform == Platform::Unknown {
            self.found_standing(&stands, recorder);
        }
    }

    fn stepped(&mut self, step: &Step, recorder: &mut dyn Recorder) {
        self.settle_what_stands(recorder);
        let id = StepId(recorder.record(stepped(step)));
        let session = recorder.books().bench(self.bench).session;
        self.habit.see(step, self.manner, session, (self.division, self.capacity));
        if self.container == Container::Asked && step.to.load > self.division * CONTAINER {
            self.container = Container::Done;
        }
        let Some(step) = self.on_check(id, step, recorder) else { return };
        let Some(step) = &self.on_intake(id, &step, recorder) else { return };
        let made = match (self.manner, step.act) {
            (Manner::Heap, Act::Cleared) => self.lift(id, step),
            (Manner::Heap, _) => self.in_heap(id, step, recorder),
            (Manner::Pan, _) => self.on_pan(id, step, recorder),
            (Manner::Tray, _) => self.on_tray(id, step, recorder),
            (Manner::Sort, _) => self.on_sort(id, step, recorder),
        };
        if let Some(made) = made {
            self.open.push_back((step.number, made));
        }
    }

    /// Another step follows, so a bin that was set down or lifted off before it was: a piece that lands now must find it
    /// there. Settling itself waits longer, since a small step on top of a large one proves little of a hand.
    fn settle_what_stands(&mut self, recorder: &mut dyn Recorder) {
        let standing = |made: &Made| matches!(made, Made::SetDown { .. } | Made::Lift { .. });
        let open: Vec<u32> = self.open.iter().filter(|(_, made)| standing(made)).map(|(number, _)| *number).collect();
        for number in open {
            self.confirmed(number, recorder);
        }
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
        let books = recorder.books();
        let transfer = if delta.is_negative() { None } else { self.removal_of(delta, books) };
        let bin = in_force.bin.filter(|_| doubt.is_none() && self.platform != Platform::Stranger);
        let fill = bin.and_then(|bin| books.bins.get(&bin)).map(|bin| bin.fill);
        // What was weighed before earns nothing when it is weighed again.
        let (session, leg) = if transfer.is_some() { (None, None) } else { (in_force.session, in_force.leg) };
        EntryId(recorder.record(if delta.is_negative() {
            Fact::TakenOut { step, bin, fill, session, mass: -delta }
        } else {
            Fact::DropLanded { step, bin, fill, session, leg, mass: delta, doubt, transfer }
        }))
    }

    /// The same, but what does not fit the bin is held.
    fn credit_or_hold(
        &self,
        step: StepId,
        delta: Mass,
        in_force: &InForce,
        doubt: Option<Doubt>,
        recorder: &mut dyn Recorder,
    ) -> EntryId {
        let books = recorder.books();
        let new = !delta.is_negative() && self.removal_of(delta, books).is_none();
        let doubt = doubt.or_else(|| platform::held(books, in_force.bin.filter(|_| new)?, delta, self.division));
        self.credit(step, delta, in_force, doubt, recorder)
    }

    /// The removal that put this mass into somebody's hand, if one did: the newest of the same weight.
    fn removal_of(&self, mass: Mass, books: &Books) -> Option<EntryId> {
        let in_hand = books.bench(self.bench).in_hand;
        let same = |held: &Mass| (*held - mass).abs() <= self.division * 2;
        in_hand.iter().rev().find(|(_, held)| same(held)).map(|(removal, _)| *removal)
    }

    /// The tray is nearly as heavy as the scale can bear.
    pub fn tip_the_tray(&self, shown: Mass) -> bool {
        let inside = self.tray_load(shown).is_some_and(|inside| inside > self.division * 2);
        // 85 per cent: the next handful would be an overload.
        let heavy = self.capacity.is_some_and(|capacity| shown * 100 >= capacity * 85);
        self.manner == Manner::Tray && inside && heavy
    }

    /// A container on the platform would keep slow pieces from being swallowed near zero.
    pub fn wants_container(&self) -> bool {
        self.container == Container::Asked
    }

    /// Another manner that would fit what is done in this session; the program never changes it by itself.
    pub fn suggestion(&self, books: &Books) -> Option<Suggestion> {
        self.habit.suggestion(books.bench(self.bench).session)
    }

    fn confirmed(&mut self, number: u32, recorder: &mut dyn Recorder) {
        while let Some(made) = self.take_open(number) {
            self.made_sure(made, recorder);
        }
    }

    fn made_sure(&mut self, made: Made, recorder: &mut dyn Recorder) {
        match made {
            Made::Entry(entry) | Made::Strange { entry, .. } | Made::FromPile { entry, .. } => {
                recorder.record(Fact::Confirmed { entry, why: Confirmation::Stayed });
                self.pair(entry, recorder);
            }
            Made::SetDown { fact, landed, .. } => self.set_down(&fact, landed, recorder),
            Made::Lift { step, gross, before } => {
                let bin = before.bin().or_else(|| self.bin_of_visit(before, recorder.books()));
                recorder.record(Fact::Lifted { step, bin, gross });
            }
            Made::OnCheck { what, .. } => self.check_sure(what, recorder),
            Made::OnPan { .. } | Made::OnTray { .. } | Made::OnIntake { .. } | Made::Nothing { .. } | Made::Merged => {}
        }
    }

    fn cancelled(&mut self, number: u32, at: Moment, recorder: &mut dyn Recorder) {
        while let Some(made) = self.take_open(number) {
            self.unmade(number, made, at, recorder);
        }
    }

    fn unmade(&mut self, number: u32, made: Made, at: Moment, recorder: &mut dyn Recorder) {
        match made {
            Made::Entry(entry) => {
                recorder.record(Fact::Cancelled { entry, why: Cancellation::WentBack });
                // What was drawn for a lot and put back leaves the intake asked for again.
                self.in_force_changed(at, recorder.books());
            }
            Made::Strange { entry, before } => {
                recorder.record(Fact::Cancelled { entry, why: Cancellation::WentBack });
                self.platform = before;
            }
            Made::SetDown { before, .. } | Made::Lift { before, .. } | Made::Nothing { before } => self.platform = before,
            Made::OnTray { before, platform } => (self.tray, self.platform) = (before, platform),
            Made::OnPan { before } => self.pan_cancelled(before, recorder),
            Made::Merged => self.backlog.cancel(number),
            Made::FromPile { entry, pile } => {
                recorder.record(Fact::Cancelled { entry, why: Cancellation::WentBack });
                self.pile = pile;
            }
            Made::OnIntake { before } => self.intake_cancelled(before, at, recorder),
            Made::OnCheck { what, before } => {
                self.check_cancelled(what, before, recorder);
                self.in_force_changed(at, recorder.books());
            }
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
        self.tray_put_away(Confirmation::EpochEnded, recorder);
        self.tray = Tray::default();
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
