//! Lots: what was weighed before it is taken apart.

use super::fold::blank;
use super::{Books, Entry, EntryState, Origin, Session};
use crate::facts::{EntryId, Event, Fact, FeedId, FillId, LotId, SessionId};
use crate::measure::{Mass, Stamp};
use imbl::Vector;
use std::collections::{BTreeMap, BTreeSet};

/// An intake that is worked off. Its mass and whether it stands are those of its entry, which has the same number.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// None until somebody says what it is.
    pub feed: Option<FeedId>,
    /// To which depth it is taken apart, in the owner's own word.
    pub depth: Option<String>,
    pub pieces: Option<u32>,
    /// The arrival that it came with.
    pub arrival: Option<u64>,
    /// The fill that it was drawn from.
    pub drawn: Option<FillId>,
    /// The session and the leg in which it was weighed.
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    /// What was asked for when it was weighed: taken up again if it was no load after all.
    asked: AskedIntake,
    /// It was closed, opened again, closed again.
    pub turns: Vector<LotTurn>,
    /// The last event that changed what is said of it.
    pub changed: u64,
}

/// A lot was closed, or opened again: which of both is told by its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LotTurn {
    pub seq: u64,
    pub at: Stamp,
}

impl Lot {
    /// A lot that the event `seq` opens, of which nothing more is told.
    pub(super) fn opened(
        feed: Option<FeedId>,
        session: Option<SessionId>,
        leg: Option<u64>,
        asked: AskedIntake,
        seq: u64,
    ) -> Lot {
        let turns = Vector::new();
        Lot { feed, depth: None, pieces: None, arrival: None, drawn: None, session, leg, asked, turns, changed: seq }
    }

    pub fn is_open(&self) -> bool {
        self.turns.len().is_multiple_of(2)
    }

    /// The last closing of those that `counted` takes, if no reopening that it takes follows.
    pub fn closed_by(&self, counted: impl Fn(&LotTurn) -> bool) -> Option<LotTurn> {
        let turns: Vec<&LotTurn> = self.turns.iter().take_while(|turn| counted(turn)).collect();
        if !turns.len().is_multiple_of(2) { turns.last().copied().copied() } else { None }
    }
}

/// Which lot was worked on when. What is put into bins, and the clock, in a leg on one feed belong to the open lot of that
/// feed; where two of it are open, to the one that was opened last. A leg on no feed, or on a feed of which no lot is
/// open, belongs to none.
///
/// It is told from what the books hold now, so whatever is corrected later is heard: of which feed a lot is, that an
/// intake was none, that a drop was void.
#[derive(Debug, Clone)]
pub struct Work<'a> {
    books: &'a Books,
    /// The lot that is worked on from an event on, in the order of the events.
    by_feed: BTreeMap<FeedId, Vec<(u64, Option<LotId>)>>,
}

/// The open lots of a feed from event to event, and of them the one that was opened last.
fn turns_of<'a>(lots: impl Iterator<Item = (LotId, &'a Lot)>) -> Vec<(u64, Option<LotId>)> {
    let mut turns: Vec<(u64, LotId, bool)> = Vec::new();
    for (id, lot) in lots {
        turns.push((id.0, id, true));
        turns.extend(lot.turns.iter().enumerate().map(|(at, turn)| (turn.seq, id, at % 2 == 1)));
    }
    turns.sort_unstable();
    let mut opened: BTreeMap<LotId, u64> = BTreeMap::new();
    let mut open: BTreeSet<(u64, LotId)> = BTreeSet::new();
    let mut worked_on = Vec::with_capacity(turns.len());
    for (seq, id, opens) in turns {
        if let Some(since) = opened.remove(&id) {
            open.remove(&(since, id));
        }
        if opens {
            opened.insert(id, seq);
            open.insert((seq, id));
        }
        worked_on.push((seq, open.last().map(|(_, id)| *id)));
    }
    worked_on
}

impl<'a> Work<'a> {
    pub fn of(books: &'a Books) -> Work<'a> {
        let mut by_feed: BTreeMap<FeedId, Vec<(LotId, &Lot)>> = BTreeMap::new();
        for (id, lot) in &books.lots {
            let stands = books.lot_entry(*id).is_some_and(|entry| entry.state != EntryState::Voided);
            if let Some(feed) = lot.feed.filter(|_| stands) {
                by_feed.entry(feed).or_default().push((*id, lot));
            }
        }
        let by_feed = by_feed.into_iter().map(|(feed, lots)| (feed, turns_of(lots.into_iter()))).collect();
        Work { books, by_feed }
    }

    /// The lot of a feed that was worked on at an event.
    pub fn lot_at(&self, feed: FeedId, seq: u64) -> Option<LotId> {
        let turns = self.by_feed.get(&feed)?;
        let next = turns.partition_point(|(at, _)| *at <= seq);
        turns.get(next.checked_sub(1)?)?.1
    }

    /// The feed of a leg.
    pub fn feed_of(&self, session: SessionId, leg: u64) -> Option<FeedId> {
        let legs = &self.books.sessions.get(&session)?.legs;
        legs.iter().find(|state| state.number == leg)?.feed
    }

    /// The lot that a drop came out of.
    pub fn lot_of(&self, id: EntryId, entry: &Entry) -> Option<LotId> {
        let feed = self.feed_of(entry.session?, entry.leg?)?;
        self.lot_at(feed, id.0)
    }
}

/// The next load is an intake: of this feed, or of the one that is at hand then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AskedIntake {
    pub feed: Option<FeedId>,
}

impl LotId {
    /// The entry that holds its mass.
    pub fn entry(self) -> EntryId {
        EntryId(self.0)
    }
}

impl Books {
    pub(super) fn fold_lot(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::IntakeAsked { feed } => {
                if let Some(feed) = feed {
                    self.feeds.get(feed)?;
                }
                self.at_bench(event).intake = Some(AskedIntake { feed: *feed });
            }
            Fact::IntakeWithdrawn {} => self.at_bench(event).intake = None,
            Fact::IntakeLanded { step, feed, session, leg, mass } => {
                let entry = Entry { origin: Origin::Intake(Some(*step)), mass: *mass, ..self.weighed(event)? };
                self.open_entry(event, entry)?;
                let asked = self.at_bench(event).intake.take().unwrap_or_default();
                self.lots.insert(LotId(event.seq), Lot::opened(*feed, *session, *leg, asked, event.seq));
                self.cut_clocks(event);
            }
            Fact::LotEntered { feed, session, mass, source, .. } => {
                self.feeds.get(feed)?;
                let leg = session.and_then(|session| self.sessions.get(&session)).map(Session::leg);
                let entry = Entry {
                    origin: Origin::Intake(None),
                    mass: *mass,
                    variance: source.variance(),
                    state: EntryState::Confirmed,
                    ..blank(event)
                };
                self.post(EntryId(event.seq), entry);
                let lot = Lot::opened(Some(*feed), *session, leg, AskedIntake::default(), event.seq);
                self.lots.insert(LotId(event.seq), lot);
                self.cut_clocks(event);
            }
            Fact::LotClosed { lot } | Fact::LotReopened { lot } => {
                let state = self.lots.get_mut(lot)?;
                if state.is_open() != matches!(event.fact, Fact::LotClosed { .. }) {
                    return None;
                }
                state.turns.push_back(LotTurn { seq: event.seq, at: event.stamp() });
                state.changed = event.seq;
                self.cut_clocks(event);
            }
            Fact::LotTold { lot, feed } => {
                self.feeds.get(feed)?;
                let state = self.lots.get_mut(lot)?;
                (state.feed, state.changed) = (Some(*feed), event.seq);
            }
            _ => unreachable!("fold() sends only intakes and lots here"),
        }
        Some(())
    }

    /// A lot was opened or closed: what is dropped and worked from here on may be another lot's.
    pub(super) fn cut_clocks(&mut self, event: &Event) {
        self.lot_turns.push_back(event.seq);
        let open: Vec<SessionId> = self.benches.values().filter_map(|bench| bench.session).collect();
        for session in open {
            if let Some(session) = self.sessions.get_mut(&session) {
                session.cut(&event.stamp(), event.seq);
            }
        }
    }

    /// What was taken for an intake was none: the next load is it.
    pub(super) fn intake_cancelled(&mut self, event: &Event, entry: EntryId) {
        if let Some(lot) = self.lots.remove(&LotId(entry.0)) {
            self.at_bench(event).intake = Some(lot.asked);
        }
    }

    /// The entry of a lot: its mass, when it was weighed, and whether it stands.
    pub fn lot_entry(&self, lot: LotId) -> Option<&Entry> {
        self.entries.get(&lot.entry())
    }

    /// What a lot weighed before it was taken apart; none where it was only counted.
    pub fn lot_mass(&self, lot: LotId) -> Option<Mass> {
        self.lot_entry(lot).map(|entry| entry.mass.abs()).filter(|mass| !mass.is_zero())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::{BenchId, BinId, SCHEMA, Source, StoreId, Void};
    use crate::measure::{BootId, Moment};
    use proptest::prelude::*;

    /// Each event comes so many seconds after the one before.
    const PACE: u64 = 10;

    fn event(seq: u64, fact: Fact) -> Event {
        Event {
            store: StoreId(7),
            seq,
            schema: SCHEMA,
            boot: BootId(1),
            mono: Moment(seq * PACE * 1_000_000_000),
            wall: jiff::Timestamp::UNIX_EPOCH,
            sure: true,
            bench: BenchId(1),
            epoch: 0,
            cause: None,
            fact,
        }
    }

    /// Two feeds (2 and 3), a bin (4) and a session on nothing (5).
    fn begun() -> Vec<Fact> {
        let feed = |name: &str| Fact::FeedMade { name: name.to_owned() };
        vec![
            Fact::StoreFounded { program: String::new() },
            feed("motors"),
            feed("leads"),
            Fact::BinMade { number: 1, name: None, grade: None, tare: None, capacity: None },
            Fact::SessionStarted { feed: None },
        ]
    }

    const SESSION: SessionId = SessionId(5);

    #[derive(Debug, Clone, Copy)]
    enum Deed {
        Leg(Option<FeedId>),
        Enter(FeedId),
        /// Closes the lot, or opens it again.
        Turn(usize),
        Drop,
        Void(usize),
        Pause,
        Resume,
    }

    fn deed() -> impl Strategy<Value = Deed> {
        let feed = || prop_oneof![Just(FeedId(2)), Just(FeedId(3))];
        prop_oneof![
            2 => proptest::option::of(feed()).prop_map(Deed::Leg),
            2 => feed().prop_map(Deed::Enter),
            3 => any::<prop::sample::Index>().prop_map(|at| Deed::Turn(at.index(64))),
            6 => Just(Deed::Drop),
            1 => any::<prop::sample::Index>().prop_map(|at| Deed::Void(at.index(64))),
            1 => Just(Deed::Pause),
            1 => Just(Deed::Resume),
        ]
    }

    /// Reckons forward, event by event, what the books tell afterwards.
    #[derive(Default)]
    struct Plain {
        /// Feed, whether it is open, and when it was opened last.
        lots: BTreeMap<LotId, (FeedId, bool, u64)>,
        leg: Option<FeedId>,
        runs: bool,
        drops: BTreeMap<EntryId, Option<LotId>>,
        seconds: BTreeMap<LotId, u64>,
    }

    impl Plain {
        fn at_work(&self) -> Option<LotId> {
            let open = self.lots.iter().filter(|(_, (feed, open, _))| *open && Some(*feed) == self.leg);
            open.max_by_key(|(_, (_, _, since))| *since).map(|(id, _)| *id)
        }

        /// The fact of a deed, and its place in the reckoning.
        fn fact(&mut self, deed: Deed, seq: u64) -> Fact {
            let source = Source::Label { division: Mass::grams(1) };
            let reason = "told".to_owned();
            if let Some(lot) = self.at_work().filter(|_| self.runs) {
                *self.seconds.entry(lot).or_default() += PACE;
            }
            let weight = |source: Source, reason: String| Fact::WeightEntered {
                bin: Some(BinId(4)),
                fill: Some(FillId(4)),
                session: Some(SESSION),
                mass: Mass::grams(5),
                source,
                reason,
            };
            match deed {
                Deed::Leg(feed) => {
                    self.leg = feed;
                    Fact::LegBegan { session: SESSION, feed }
                }
                Deed::Enter(feed) => {
                    self.lots.insert(LotId(seq), (feed, true, seq));
                    Fact::LotEntered { feed, session: Some(SESSION), mass: Mass::grams(100), source, reason }
                }
                Deed::Turn(at) if !self.lots.is_empty() => {
                    let lot = *self.lots.keys().nth(at % self.lots.len()).unwrap();
                    let state = self.lots.get_mut(&lot).unwrap();
                    state.1 = !state.1;
                    if state.1 {
                        state.2 = seq;
                        return Fact::LotReopened { lot };
                    }
                    Fact::LotClosed { lot }
                }
                Deed::Void(at) if !self.drops.is_empty() => {
                    let entry = *self.drops.keys().nth(at % self.drops.len()).unwrap();
                    Fact::DropVoided { entry, which: Void::NeverMaterial, reason }
                }
                Deed::Pause => {
                    self.runs = false;
                    Fact::SessionPaused { session: SESSION }
                }
                Deed::Resume => {
                    self.runs = true;
                    Fact::SessionResumed { session: SESSION }
                }
                Deed::Turn(_) | Deed::Void(_) | Deed::Drop => {
                    self.drops.insert(EntryId(seq), self.at_work());
                    weight(source, reason)
                }
            }
        }
    }

    proptest! {
        #[test]
        fn drops_and_minutes_go_to_the_lot_that_was_worked_on(deeds in proptest::collection::vec(deed(), 1..40)) {
            let mut books = Books::default();
            let mut plain = Plain { runs: true, ..Plain::default() };
            for (at, fact) in begun().into_iter().enumerate() {
                books.apply(&event(at as u64 + 1, fact)).unwrap();
            }
            for deed in deeds {
                let seq = books.seq + 1;
                let fact = plain.fact(deed, seq);
                let mut again = books.clone();
                books.apply(&event(seq, fact.clone())).unwrap();
                again.apply(&event(seq, fact)).unwrap();
                prop_assert!(again == books, "folding goes on from any copy");
                // What came later changes nothing of what was told before.
                let work = Work::of(&books);
                for (id, lot) in &plain.drops {
                    prop_assert_eq!(work.lot_of(*id, &books.entries[id]), *lot);
                }
            }
            let work = Work::of(&books);
            let session = &books.sessions[&SESSION];
            let mut seconds: BTreeMap<LotId, u64> = BTreeMap::new();
            for run in session.runs_at(&event(books.seq, Fact::IntakeWithdrawn {}).stamp()) {
                let feed = work.feed_of(SESSION, run.leg);
                if let Some(lot) = feed.and_then(|feed| work.lot_at(feed, run.from)) {
                    *seconds.entry(lot).or_default() += run.span.as_seconds();
                }
            }
            seconds.retain(|_, seconds| *seconds > 0);
            prop_assert_eq!(seconds, plain.seconds);
        }
    }

    #[test]
    fn a_lot_whose_intake_was_none_has_no_drops() {
        let mut books = Books::default();
        let source = || Source::Label { division: Mass::grams(1) };
        let (bin, fill, session, reason) = (Some(BinId(4)), Some(FillId(4)), Some(SESSION), String::new);
        let mass = Mass::grams(60);
        let facts = begun().into_iter().chain([
            Fact::LegBegan { session: SESSION, feed: Some(FeedId(2)) },
            Fact::LotEntered { feed: FeedId(2), session, mass, source: source(), reason: reason() },
            Fact::WeightEntered { bin, fill, session, mass, source: source(), reason: reason() },
            Fact::DropVoided { entry: EntryId(7), which: Void::NeverMaterial, reason: reason() },
        ]);
        let mut lots = Vec::new();
        for (at, fact) in facts.enumerate() {
            books.apply(&event(at as u64 + 1, fact)).unwrap();
            lots.push(books.entries.get(&EntryId(8)).map(|drop| Work::of(&books).lot_of(EntryId(8), drop)));
        }
        assert_eq!(lots[7..], [Some(Some(LotId(7))), Some(None)]);
        assert_eq!(books.sessions[&SESSION].mass, mass, "what is to be taken apart is no output");
        assert!(books.clone().apply(&event(10, Fact::LotReopened { lot: LotId(7) })).is_err(), "it was never closed");
    }
}
