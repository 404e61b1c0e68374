//! A bench that is worked in this process, with no port and no disk: for tapes and for the demo's invented week.

use crate::command::{BenchSetup, BinRef, Core, Effect, Input, LinkNews, NameRef, Order, Refusal};
use crate::dialect::Reading;
use crate::facts::{BenchId, Books, Event, StoreId};
use crate::measure::Stamp;
use anyhow::{Context, anyhow};

const BENCH: BenchId = BenchId(1);
const PROGRAM: &str = concat!("bismar ", env!("CARGO_PKG_VERSION"));

/// The core of one bench, and what it has recorded.
pub struct Offline {
    core: Core,
    recorded: Vec<Event>,
}

impl Offline {
    /// A bench of a new store; `setup` gets the number of the only bench.
    pub fn new(store: StoreId, setup: BenchSetup, at: Stamp) -> anyhow::Result<Offline> {
        let (core, effects) = Core::resume(Books::default(), store, &[BenchSetup { id: BENCH, ..setup }], at, PROGRAM);
        let mut bench = Offline { core, recorded: Vec::new() };
        bench.take(effects)?;
        Ok(bench)
    }

    pub fn books(&self) -> &Books {
        self.core.books()
    }

    /// What was recorded since this was asked last, in order.
    pub fn recorded(&mut self) -> Vec<Event> {
        std::mem::take(&mut self.recorded)
    }

    pub fn plug(&mut self, scale: &str, at: Stamp) -> anyhow::Result<()> {
        self.step(Input::Link(BENCH, LinkNews::Up { scale: Some(scale.to_owned()) }), at)
    }

    pub fn unplug(&mut self, at: Stamp) -> anyhow::Result<()> {
        self.step(Input::Link(BENCH, LinkNews::Down), at)
    }

    pub fn reading(&mut self, reading: Reading, at: Stamp) -> anyhow::Result<()> {
        self.step(Input::Reading(BENCH, reading), at)
    }

    pub fn tick(&mut self, at: Stamp) -> anyhow::Result<()> {
        self.step(Input::Tick, at)
    }

    pub fn order(&mut self, order: Order, at: Stamp) -> anyhow::Result<()> {
        self.step(Input::Order { bench: BENCH, key: None, order: Box::new(order), ticket: 0 }, at)
    }

    /// A command as it stands on a tape: `choose 3`, `choose none`, `next`, `doubtful`, `intake`, `intake FEED`,
    /// `press trial`, `press on`, `press off`, `start`, `start FEED`, `leg FEED`, `pause`, `resume`, `end`. Bins and feeds that nobody has named yet are made.
    pub fn obey(&mut self, words: &str, at: Stamp) -> anyhow::Result<()> {
        let (verb, rest) = words.split_once(' ').unwrap_or((words, ""));
        let session = || self.books().bench(BENCH).session.with_context(|| format!("{words:?}: no session is running"));
        let order = match verb {
            "choose" if rest == "none" => Order::ChooseBin { bin: None },
            "choose" => {
                let number = rest.parse().map_err(|_| anyhow!("{words:?}: a bin is chosen by its number"))?;
                if self.books().bin_by_number(number).is_none() {
                    let number = Some(number);
                    self.order(Order::MakeBin { number, name: None, grade: None, tare: None, capacity: None }, at)?;
                }
                Order::ChooseBin { bin: Some(BinRef(number)) }
            }
            "next" => Order::ChooseNextBin,
            "doubtful" => Order::DoubtDrop { entry: None },
            "intake" => Order::AskIntake { feed: self.feed(rest, at)? },
            "press" if rest == "trial" => Order::TryPress,
            "press" if rest == "on" || rest == "off" => Order::UsePress { on: rest == "on" },
            "start" => Order::StartSession { feed: self.feed(rest, at)? },
            "leg" => Order::BeginLeg { session: session()?, feed: self.feed(rest, at)? },
            "pause" => Order::PauseSession { session: session()? },
            "resume" => Order::ResumeSession { session: session()? },
            "end" => Order::EndSession { session: session()? },
            _ => {
                return Err(anyhow!(
                    "{words:?} is no command; there are choose, next, doubtful, intake, press, start, leg, pause, resume, end"
                ));
            }
        };
        self.order(order, at)
    }

    fn feed(&mut self, name: &str, at: Stamp) -> anyhow::Result<Option<NameRef>> {
        if name.is_empty() {
            return Ok(None);
        }
        if !self.books().feeds.values().any(|feed| feed.name == name) {
            self.order(Order::MakeFeed { name: name.to_owned() }, at)?;
        }
        Ok(Some(NameRef(name.to_owned())))
    }

    fn step(&mut self, input: Input, at: Stamp) -> anyhow::Result<()> {
        let effects = self.core.step(input, at);
        self.take(effects)?;
        // Memory is as durable as it gets here.
        let released = self.core.step(Input::Durable(self.core.books().seq), at);
        self.take(released)
    }

    fn take(&mut self, effects: Vec<Effect>) -> anyhow::Result<()> {
        for effect in effects {
            match effect {
                Effect::Append(event) => self.recorded.push(event),
                Effect::Answer { answer, .. } => {
                    answer.map_err(|refusal: Refusal| anyhow!(crate::render::words::refusal(&refusal)))?;
                }
            }
        }
        Ok(())
    }
}
