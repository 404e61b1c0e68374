//! A bench in this process: a core, a load and a clock, driven reading by reading.
#![allow(dead_code, reason = "each test binary uses its part")]

use bismar::command::{BenchSetup, BinRef, Core, Effect, Input, LinkNews, Order, Receipt, Refusal};
use bismar::dialect::{Flags, Kind, ReadUnit, Reading, Stability};
use bismar::facts::{BenchId, Books, Event, StoreId};
use bismar::measure::{BootId, Displayed, Mass, Moment, Span, Stamp, Unit};
use bismar::settle::Manner;

pub const BENCH: BenchId = BenchId(1);
const STORE: StoreId = StoreId(7);
const FRAME: Span = Span::millis(100);

pub struct Bench {
    pub core: Core,
    /// Everything that was recorded.
    pub events: Vec<Event>,
    /// What stands on the platform, in grams.
    pub load: i64,
    /// The disk takes nothing.
    pub stuck: bool,
    manner: Manner,
    pub at: Stamp,
}

impl Bench {
    pub fn new(manner: Manner) -> Bench {
        let wall = "2026-03-02T08:00:00Z".parse().unwrap();
        let at = Stamp { boot: BootId(1), mono: Moment(1_000_000_000), wall, trusted: true };
        let (core, effects) = Core::resume(Books::default(), STORE, &[setup(manner)], at, "test");
        let mut bench = Bench { core, events: Vec::new(), load: 0, stuck: false, manner, at };
        bench.take(effects);
        bench.plug();
        bench
    }

    pub fn now(&self) -> Stamp {
        self.at
    }

    pub fn plug(&mut self) {
        self.step(Input::Link(BENCH, LinkNews::Up { scale: None }));
    }

    pub fn unplug(&mut self) {
        self.step(Input::Link(BENCH, LinkNews::Down));
    }

    /// Readings of the load as it stands, for so long.
    pub fn rest(&mut self, millis: u64) {
        for _ in 0..millis / FRAME.as_millis() {
            self.forward(FRAME);
            self.step(Input::Tick);
            self.step(Input::Reading(BENCH, reading(self.load)));
        }
    }

    /// The load changes at once, with two restless readings on the way.
    pub fn change(&mut self, grams: i64) {
        for part in [grams / 3, grams * 4 / 3] {
            self.forward(FRAME);
            self.step(Input::Reading(BENCH, Reading { stability: Stability::Motion, ..reading(self.load + part) }));
        }
        self.load += grams;
    }

    /// The process dies and starts again on the books of everything that was recorded.
    pub fn restart(&mut self) {
        let books = self.folded();
        self.forward(Span::seconds(2));
        let (core, effects) = Core::resume(books, STORE, &[setup(self.manner)], self.at, "test");
        self.core = core;
        self.take(effects);
        self.plug();
    }

    pub fn order(&mut self, order: Order) -> Result<Receipt, Refusal> {
        self.order_with(None, order)
    }

    pub fn order_with(&mut self, key: Option<&str>, order: Order) -> Result<Receipt, Refusal> {
        self.forward(Span::millis(10));
        let key = key.map(str::to_owned);
        let effects = self.core.step(Input::Order { bench: BENCH, key, order: Box::new(order), ticket: 1 }, self.at);
        let answer = effects.iter().find_map(|effect| match effect {
            Effect::Answer { answer, .. } => Some(answer.clone()),
            Effect::Append(_) => None,
        });
        self.take(effects);
        answer.expect("every order is answered")
    }

    pub fn make_bin(&mut self, number: u32, tare: Option<i64>) {
        let tare = tare.map(Mass::grams);
        let order = Order::MakeBin { number: Some(number), name: None, grade: None, tare, capacity: None };
        self.order(order).expect("a bin can be made");
    }

    pub fn choose(&mut self, number: u32) {
        self.order(Order::ChooseBin { bin: Some(BinRef(number)) }).expect("the bin is there");
    }

    /// What the books hold in a bin.
    pub fn held(&self, number: u32) -> Mass {
        let (_, bin) = self.core.books().bin_by_number(number).expect("the bin is there");
        self.core.books().fills[&bin.fill].mass
    }

    /// The books folded anew from what was recorded.
    pub fn folded(&self) -> Books {
        let mut books = Books::default();
        for event in &self.events {
            books.apply(event).expect("what was recorded fits");
        }
        books
    }

    pub fn forward(&mut self, span: Span) {
        self.at.mono = self.at.mono.plus(span);
        self.at.wall += jiff::SignedDuration::from_nanos(span.0 as i64);
    }

    pub fn step(&mut self, input: Input) {
        let effects = self.core.step(input, self.at);
        self.take(effects);
    }

    fn take(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            if let Effect::Append(event) = effect {
                self.events.push(event);
            }
        }
        if self.stuck {
            return;
        }
        let released = self.core.step(Input::Durable(self.core.books().seq), self.at);
        if !released.is_empty() {
            self.take(released);
        }
    }
}

fn setup(manner: Manner) -> BenchSetup {
    BenchSetup { id: BENCH, division: Some(Mass::grams(1)), unit: None, manner, capacity: Some(Mass::grams(15_000)) }
}

pub fn reading(grams: i64) -> Reading {
    Reading {
        value: Some(Displayed { count: grams, exponent: -3 }),
        unit: ReadUnit::Stated(Unit::Kilogram),
        kind: Kind::Gross,
        stability: Stability::Stable,
        flags: Flags::default(),
        division: None,
        news: None,
    }
}
