//! The whole core behind one function: `step(input, at) → effects`.
//!
//! Readings, ticks, link news, orders and "durable up to n" come through one ordered queue, and time comes in with them,
//! so the same code runs on a port, on a tape, in the simulator and under the fuzzer.

use super::decide::{Decision, decide};
use super::{CheckOrder, Made, Order, Receipt, Refusal};
use crate::attribute::{Attribute, Presence, Recorder, Suggestion};
use crate::dialect::Reading;
use crate::facts::{BenchId, Books, Event, Fact, SCHEMA, SessionId, StoreId};
use crate::measure::{Mass, Moment, Stamp, Unit};
use crate::settle::{Finding, Glance, Manner, Settle, Setup};
use std::collections::BTreeMap;

/// Events that may wait for the disk before steps are merged instead of recorded one by one: some minutes of the
/// busiest bench.
const BACKLOG_MAX: u64 = 2000;

/// What comes into the core.
#[derive(Debug, Clone)]
pub enum Input {
    Reading(BenchId, Reading),
    Link(BenchId, LinkNews),
    Tick,
    Order {
        bench: BenchId,
        key: Option<String>,
        order: Box<Order>,
        ticket: u64,
    },
    /// Every event up to this one is on the disk.
    Durable(u64),
    /// The store was found damaged and takes no events: what is weighed is merged and kept in memory only.
    StoreClosed,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LinkNews {
    Up {
        scale: Option<String>,
    },
    Down,
    /// The reader could not keep up: so many readings are gone.
    Lost(u64),
}

/// What comes out of it.
#[derive(Debug, Clone)]
#[expect(clippy::large_enum_variant, reason = "nearly every effect is an event, and it goes on by value")]
pub enum Effect {
    /// To be made durable, in this order.
    Append(Event),
    /// The answer to an order; a receipt is passed on when its `seq` is durable.
    Answer { ticket: u64, answer: Result<Receipt, Refusal> },
}

/// What the person might do, said on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Advice {
    TipTheTray,
    /// The scale swallows slow pieces near its zero: a container on it keeps the load away from there.
    TareContainer,
    /// The display swings slowly, and no small piece can be told from it.
    StillTheBench,
}

/// What the configuration says of a bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BenchSetup {
    pub id: BenchId,
    pub division: Option<Mass>,
    pub unit: Option<Unit>,
    pub manner: Manner,
    /// What the scale can bear: near it a tray should be tipped.
    pub capacity: Option<Mass>,
}

/// The running core: the books as decided, and the settling and attribution of each bench.
pub struct Core {
    ledger: Ledger,
    benches: BTreeMap<BenchId, BenchCore>,
}

struct BenchCore {
    settle: Settle,
    attribute: Attribute,
    scale: Option<String>,
    unit: Option<Unit>,
    presence: Presence,
}

/// The books with the pen: gives sequence numbers and folds what is recorded at once.
struct Ledger {
    books: Books,
    store: StoreId,
    durable: u64,
    closed: bool,
    at: Stamp,
    bench: BenchId,
    epoch: u64,
    scale: Option<String>,
    cause: Option<String>,
    out: Vec<Effect>,
}

impl Recorder for Ledger {
    fn record(&mut self, mut fact: Fact) -> u64 {
        let seq = self.books.seq + 1;
        if let Fact::EpochOpened { scale, .. } = &mut fact {
            self.epoch = self.books.last_epoch() + 1;
            scale.clone_from(&self.scale);
        }
        let event = Event {
            store: self.store,
            seq,
            schema: SCHEMA,
            boot: self.at.boot,
            mono: self.at.mono,
            wall: self.at.wall,
            sure: self.at.trusted,
            bench: self.bench,
            epoch: self.epoch,
            cause: self.cause.clone(),
            fact,
        };
        // Facts are made from these very books a moment ago: one that does not fit them is a fault of this program,
        // and going on would write nonsense into the roll.
        self.books.apply(&event).unwrap_or_else(|misfit| panic!("{misfit}: {event:?}"));
        self.out.push(Effect::Append(event));
        seq
    }

    fn books(&self) -> &Books {
        &self.books
    }

    fn holding(&self) -> bool {
        self.closed || self.books.seq - self.durable >= BACKLOG_MAX
    }
}

impl Core {
    /// Takes up the books; the first event of a new store is made here, and what a crash left open is settled.
    pub fn resume(books: Books, store: StoreId, setups: &[BenchSetup], at: Stamp, program: &str) -> (Core, Vec<Effect>) {
        let durable = books.seq;
        let mut ledger = Ledger {
            books,
            store,
            durable,
            closed: false,
            at,
            bench: BenchId(1),
            epoch: 0,
            scale: None,
            cause: None,
            out: Vec::new(),
        };
        if ledger.books.seq == 0 {
            ledger.record(Fact::StoreFounded { program: program.to_owned() });
        }
        let mut benches = BTreeMap::new();
        for setup in setups {
            ledger.turn_to(setup.id, at);
            let known = ledger.books.benches.contains_key(&setup.id);
            if !known && setup.manner != Manner::default() {
                ledger.record(Fact::MannerChosen { manner: setup.manner });
            }
            let attribute = Attribute::resume(setup.id, setup.capacity, at.mono, &mut ledger);
            let settle = Settle::new(Setup { division: setup.division, unit: setup.unit, manner: attribute.manner() });
            benches.insert(
                setup.id,
                BenchCore { settle, attribute, scale: None, unit: setup.unit, presence: Presence::since(at.mono) },
            );
        }
        let out = std::mem::take(&mut ledger.out);
        (Core { ledger, benches }, out)
    }

    /// The books as decided; what is durable may lie a little behind.
    pub fn books(&self) -> &Books {
        &self.ledger.books
    }

    pub fn durable(&self) -> u64 {
        self.ledger.durable
    }

    /// Steps are being merged because the disk does not follow.
    pub fn holding(&self) -> bool {
        self.ledger.holding()
    }

    pub fn glance(&self, bench: BenchId) -> Option<Glance> {
        self.benches.get(&bench)?.settle.glance()
    }

    /// What the person might do now.
    pub fn advice(&self, bench: BenchId) -> Option<Advice> {
        let bench = self.benches.get(&bench)?;
        let shown = bench.settle.balance()?.current;
        let tip = bench.attribute.tip_the_tray(shown).then_some(Advice::TipTheTray);
        let still = || bench.settle.swings().map(|_| Advice::StillTheBench);
        tip.or_else(still).or_else(|| bench.attribute.wants_container().then_some(Advice::TareContainer))
    }

    /// Another manner that would fit what is done; it is never changed without an order.
    pub fn suggestion(&self, bench: BenchId) -> Option<Suggestion> {
        self.benches.get(&bench)?.attribute.suggestion(&self.ledger.books)
    }

    /// One turn.
    pub fn step(&mut self, input: Input, at: Stamp) -> Vec<Effect> {
        match input {
            Input::Reading(bench, reading) => {
                self.watch(bench, &reading, at);
                self.at_bench(bench, at, |settle, now, emit| settle.reading(now, &reading, emit));
            }
            Input::Tick => {
                let benches: Vec<BenchId> = self.benches.keys().copied().collect();
                for bench in benches {
                    self.at_bench(bench, at, |settle, now, emit| settle.tick(now, emit));
                }
            }
            Input::Link(bench, news) => self.link(bench, news, at),
            Input::Order { bench, key, order, ticket } => {
                let answer = self.order(bench, key, &order, at);
                self.ledger.out.push(Effect::Answer { ticket, answer });
            }
            Input::Durable(seq) => self.durable_up_to(seq, at),
            Input::StoreClosed => self.ledger.closed = true,
        }
        std::mem::take(&mut self.ledger.out)
    }

    fn at_bench(&mut self, id: BenchId, at: Stamp, turn: impl FnOnce(&mut Settle, Moment, &mut dyn FnMut(Finding))) {
        let Some(bench) = self.benches.get_mut(&id) else { return };
        self.ledger.turn_to(id, at);
        self.ledger.scale.clone_from(&bench.scale);
        let (ledger, attribute) = (&mut self.ledger, &mut bench.attribute);
        turn(&mut bench.settle, at.mono, &mut |finding| attribute.finding(&finding, ledger));
    }

    /// A load that is not at its rest is a sign of somebody at the bench.
    fn watch(&mut self, id: BenchId, reading: &Reading, at: Stamp) {
        let Some(bench) = self.benches.get(&id) else { return };
        let Some(balance) = bench.settle.balance() else { return };
        let division = self.ledger.books.benches.get(&id).and_then(|bench| bench.epoch.as_ref()).map(|epoch| epoch.division);
        let load = reading.mass(bench.unit);
        let Some((load, division)) = load.zip(division) else { return };
        if Presence::trembles(load, balance.current, division) {
            self.somebody(id, at);
        }
        if let Some(bench) = self.benches.get_mut(&id) {
            self.ledger.turn_to(id, at);
            bench.attribute.watch_press(at.mono, load, balance.current, &mut self.ledger);
        }
    }

    fn somebody(&mut self, id: BenchId, at: Stamp) {
        let Some(bench) = self.benches.get_mut(&id) else { return };
        let Some((_, span)) = bench.presence.sign(at.mono) else { return };
        let running = |session: &SessionId| self.ledger.books.sessions.get(session).is_some_and(|state| state.running.is_some());
        if let Some(session) = self.ledger.books.bench(id).session.filter(running) {
            self.ledger.turn_to(id, at);
            self.ledger.record(Fact::StillnessSeen { session, span });
        }
    }

    fn link(&mut self, id: BenchId, news: LinkNews, at: Stamp) {
        let Some(bench) = self.benches.get_mut(&id) else { return };
        match news {
            LinkNews::Up { scale } => {
                bench.scale = scale;
            }
            LinkNews::Down => {
                self.at_bench(id, at, |settle, now, emit| settle.cut(now, emit));
            }
            LinkNews::Lost(lost) => {
                self.ledger.turn_to(id, at);
                self.ledger.record(Fact::GapMarked { lost });
            }
        }
    }

    fn durable_up_to(&mut self, seq: u64, at: Stamp) {
        self.ledger.durable = self.ledger.durable.max(seq);
        for (id, bench) in &mut self.benches {
            self.ledger.turn_to(*id, at);
            bench.attribute.release(&mut self.ledger);
        }
    }

    fn order(&mut self, id: BenchId, key: Option<String>, order: &Order, at: Stamp) -> Result<Receipt, Refusal> {
        if key.as_ref().is_some_and(|key| key.len() > 200) {
            return Err(Refusal::KeyTooLong);
        }
        if let Some((first, last)) = key.as_deref().and_then(|key| self.ledger.books.caused_by(key)) {
            return Ok(Receipt { id: first, seq: last, made: Made::Before });
        }
        if !self.benches.contains_key(&id) {
            return Err(Refusal::UnknownBench { bench: id.0 });
        }
        if self.ledger.holding() {
            return Err(Refusal::StoreClosed);
        }
        let (facts, numbered) = match decide(&self.ledger.books, id, order)? {
            Decision::Already(since) => return Ok(Receipt { id: since, seq: self.ledger.books.seq, made: Made::Before }),
            Decision::Facts(facts) => (facts, false),
            Decision::Numbered(facts) => (facts, true),
        };
        self.somebody(id, at);
        if changes_what_is_in_force(order) {
            // Crumbs under one division belong to the bin and the leg that were in force until now.
            self.at_bench(id, at, |settle, now, emit| settle.flush_pending(now, emit));
        }
        self.ledger.turn_to(id, at);
        self.ledger.cause = key;
        let first = self.ledger.books.seq + 1;
        for fact in facts {
            self.ledger.record(if numbered { super::tickets::numbered(fact, first) } else { fact });
        }
        let last = self.ledger.books.seq;
        self.ledger.cause = None;
        for bench in self.benches.values_mut() {
            bench.attribute.in_force_changed(at.mono, &self.ledger.books);
        }
        if let (Order::ChooseBin { .. } | Order::ChooseNextBin, Some(bench)) = (order, self.benches.get_mut(&id)) {
            bench.attribute.bin_chosen(at.mono);
        }
        if let (Order::WasTheBin { bin, .. }, Some(bench)) = (order, self.benches.get_mut(&id))
            && let Some((bin, _)) = self.ledger.books.bin_by_number(bin.0)
            && self.ledger.books.bench(id).standing == Some(bin)
        {
            bench.attribute.was_the_bin(bin);
        }
        if let (Order::Checks(CheckOrder::DropWas { .. }), Some(bench)) = (order, self.benches.get_mut(&id)) {
            bench.attribute.a_check_lies_there(&self.ledger.books);
        }
        if let (Order::ChooseManner { manner }, Some(bench)) = (order, self.benches.get_mut(&id)) {
            bench.attribute.set_manner(*manner, &mut self.ledger);
            bench.settle.set_manner(*manner);
        }
        Ok(Receipt { id: first, seq: last, made: Made::Now })
    }
}

impl Ledger {
    fn turn_to(&mut self, bench: BenchId, at: Stamp) {
        (self.bench, self.at) = (bench, at);
        self.epoch = self.books.benches.get(&bench).and_then(|bench| bench.epoch.as_ref()).map_or(0, |epoch| epoch.number);
    }
}

fn changes_what_is_in_force(order: &Order) -> bool {
    matches!(
        order,
        Order::ChooseBin { .. }
            | Order::ChooseNextBin
            | Order::ChooseManner { .. }
            | Order::AskIntake { .. }
            | Order::Checks(CheckOrder::Ask { .. })
            | Order::StartSession { .. }
            | Order::EndSession { .. }
            | Order::BeginLeg { .. }
            | Order::Feeds(super::FeedOrder::BeginTrial { .. })
    )
}
