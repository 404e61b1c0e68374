//! Made-up tapes with their truth, run through settling and through the whole core in this process.

use bismar::command::{BenchSetup, BinRef, Core, Effect, Input, LinkNews, Order};
use bismar::dialect::{Options, Reading, Stream};
use bismar::facts::{BenchId, Books, EntryId, Event, Fact, StoreId};
use bismar::measure::{BootId, Moment, Span, Stamp};
use bismar::settle::{Finding, Settle, Setup, Step};
use bismar::sim::{Kind, Scale, Scenario, Truth, What};
use std::collections::{BTreeMap, VecDeque};

const BENCH: BenchId = BenchId(1);
const TICK: Span = Span::millis(100);
const FRAME_TIMEOUT: Span = Span::millis(500);

/// One thing on a tape, as a program that listens gets it.
#[derive(Debug, Clone)]
pub enum Heard {
    Tick,
    Reading(Reading),
    /// A command of the operator.
    Control(String),
}

pub struct Labelled {
    pub truth: Truth,
    pub setup: Setup,
    pub heard: Vec<(Moment, Heard)>,
    pub end: Moment,
}

/// A step as it is judged: second and signed grams.
pub type Found = (f64, f64);

impl Labelled {
    pub fn of(kind: Kind, seed: u64) -> Labelled {
        Labelled::play(kind.scenario(seed), seed)
    }

    /// Plays a scenario and decodes what it sent, with ticks where the line is silent, as a replay makes them.
    pub fn play(scenario: Scenario, seed: u64) -> Labelled {
        let Scenario { setup, script } = scenario;
        let truth = Truth::of(&setup, &script, seed);
        let options = Options { unit: Some(setup.unit), joined: true, ..Options::default() };
        let mut player = Player { stream: Stream::new(setup.dialect, options), heard: Vec::new(), next: Moment(0), last: None };
        let settle = Setup { division: setup.step(), unit: Some(setup.unit), manner: script.manner };
        for frame in Scale::new(setup, script, seed).expect("this scale can be simulated") {
            match frame.what {
                What::Sent { bytes, .. } => player.bytes(frame.at, &bytes),
                What::Control(words) => {
                    player.tick(frame.at);
                    player.heard.push((frame.at, Heard::Control(words)));
                }
                What::Held { .. } | What::Unplugged | What::Plugged => {}
            }
        }
        let end = player.last.unwrap_or_default().plus(FRAME_TIMEOUT);
        player.silence(end);
        Labelled { truth, setup: settle, heard: player.heard, end }
    }

    /// The steps that settling confirms.
    pub fn steps(&self) -> Vec<Found> {
        let mut settle = Settle::new(self.setup);
        let mut confirmed = Confirmed::default();
        for (at, heard) in &self.heard {
            match heard {
                Heard::Tick => settle.tick(*at, &mut |finding| confirmed.take(finding)),
                Heard::Reading(reading) => settle.reading(*at, reading, &mut |finding| confirmed.take(finding)),
                Heard::Control(_) => {}
            }
        }
        settle.flush_pending(self.end, &mut |finding| confirmed.take(finding));
        settle.cut(self.end, &mut |finding| confirmed.take(finding));
        confirmed.steps
    }

    /// The whole core at work on the tape.
    pub fn work(&self) -> Station {
        let mut station = Station::new(self.setup);
        for (at, heard) in &self.heard {
            station.hear(*at, heard);
        }
        station.step(self.end, Input::Link(BENCH, LinkNews::Down));
        station
    }
}

struct Player {
    stream: Stream,
    heard: Vec<(Moment, Heard)>,
    next: Moment,
    last: Option<Moment>,
}

impl Player {
    fn tick(&mut self, until: Moment) {
        while self.next < until {
            self.heard.push((self.next, Heard::Tick));
            self.next = self.next.plus(TICK);
        }
    }

    fn bytes(&mut self, at: Moment, bytes: &[u8]) {
        if let Some(done) = self.last.map(|last| last.plus(FRAME_TIMEOUT)).filter(|done| *done <= at) {
            self.silence(done);
        }
        self.tick(at);
        self.stream.push(bytes, &mut |reading| self.heard.push((at, Heard::Reading(reading))));
        self.last = Some(at);
    }

    fn silence(&mut self, at: Moment) {
        self.tick(at);
        self.stream.silence(&mut |reading| self.heard.push((at, Heard::Reading(reading))));
    }
}

#[derive(Default)]
struct Confirmed {
    open: VecDeque<Step>,
    steps: Vec<Found>,
}

impl Confirmed {
    fn take(&mut self, finding: Finding) {
        match finding {
            Finding::Stepped(step) => self.open.push_back(step),
            Finding::Cancelled { number, .. } => self.open.retain(|step| step.number != number),
            Finding::Confirmed { number, .. } => {
                while let Some(step) = self.open.pop_front() {
                    self.steps.push((seconds(step.recognised), grams(step.delta)));
                    if step.number == number {
                        break;
                    }
                }
            }
            _ => {}
        }
    }
}

/// A core with one bench, the moments at which its entries were recognised, and everything that was recorded.
pub struct Station {
    core: Core,
    setup: BenchSetup,
    events: Vec<Event>,
    pub recognised: BTreeMap<EntryId, Moment>,
    /// When a long press on the pan was felt.
    pub felt: Vec<Moment>,
}

impl Station {
    pub fn new(setup: Setup) -> Station {
        let setup = BenchSetup { id: BENCH, division: setup.division, unit: setup.unit, manner: setup.manner, capacity: None };
        let core = Core::resume(Books::default(), StoreId(7), &[setup], stamp(Moment(0)), "test");
        let mut station = Station { core: core.0, setup, events: Vec::new(), recognised: BTreeMap::new(), felt: Vec::new() };
        station.take(core.1);
        station.step(Moment(0), Input::Link(BENCH, LinkNews::Up { scale: None }));
        // Felt presses are counted all the time; they do nothing until somebody takes to them.
        station.order(Moment(0), Order::TryPress);
        station
    }

    pub fn books(&self) -> &Books {
        self.core.books()
    }

    /// The process dies and starts again on the books of everything that was recorded.
    fn restart(&mut self, at: Moment) {
        let mut books = Books::default();
        for event in &self.events {
            books.apply(event).expect("what was recorded fits");
        }
        let (core, effects) = Core::resume(books, StoreId(7), &[self.setup], stamp(at), "test");
        self.core = core;
        self.take(effects);
        self.step(at, Input::Link(BENCH, LinkNews::Up { scale: None }));
    }

    pub fn hear(&mut self, at: Moment, heard: &Heard) {
        match heard {
            Heard::Tick => self.step(at, Input::Tick),
            Heard::Reading(reading) => self.step(at, Input::Reading(BENCH, *reading)),
            Heard::Control(words) if words == "restart" => self.restart(at),
            Heard::Control(words) => self.obey(at, words),
        }
    }

    pub fn step(&mut self, at: Moment, input: Input) {
        let effects = self.core.step(input, stamp(at));
        self.take(effects);
        let released = self.core.step(Input::Durable(self.core.books().seq), stamp(at));
        self.take(released);
    }

    /// The commands that the tapes of this test bear.
    fn obey(&mut self, at: Moment, words: &str) {
        let order = match words.split_once(' ') {
            Some(("choose", "none")) => Order::ChooseBin { bin: None },
            Some(("choose", number)) => {
                let number = number.parse().expect("a bin's number");
                if self.books().bin_by_number(number).is_none() {
                    self.order(at, Order::MakeBin { number: Some(number), name: None, grade: None, tare: None, capacity: None });
                }
                Order::ChooseBin { bin: Some(BinRef(number)) }
            }
            // Where too few presses were felt it is refused, and the score shows it.
            Some(("press", "on")) => {
                let order = Box::new(Order::UsePress { on: true });
                let effects = self.core.step(Input::Order { bench: BENCH, key: None, order, ticket: 0 }, stamp(at));
                let done = effects.into_iter().filter(|effect| !matches!(effect, Effect::Answer { answer: Err(_), .. }));
                return self.take(done.collect());
            }
            Some(("press", "trial")) => Order::TryPress,
            None if words == "next" => Order::ChooseNextBin,
            None if words == "intake" => Order::AskIntake { feed: None },
            None if words == "start" => Order::StartSession { feed: None },
            None if words == "end" => Order::EndSession { session: self.books().bench(BENCH).session.expect("a session runs") },
            _ => panic!("{words:?} is no command of these tapes"),
        };
        self.order(at, order);
    }

    fn order(&mut self, at: Moment, order: Order) {
        self.step(at, Input::Order { bench: BENCH, key: None, order: Box::new(order), ticket: 0 });
    }

    fn take(&mut self, effects: Vec<Effect>) {
        for effect in effects {
            match effect {
                Effect::Append(event) => {
                    match event.fact {
                        Fact::DropLanded { .. } | Fact::TakenOut { .. } | Fact::IntakeLanded { .. } | Fact::LotDrawn(_) => {
                            self.recognised.insert(EntryId(event.seq), event.mono);
                        }
                        Fact::PressFelt {} => self.felt.push(event.mono),
                        _ => {}
                    }
                    self.events.push(event);
                }
                Effect::Answer { answer, .. } => _ = answer.expect("these orders can be obeyed"),
            }
        }
    }
}

fn stamp(at: Moment) -> Stamp {
    Stamp { boot: BootId(0), mono: at, wall: jiff::Timestamp::UNIX_EPOCH, trusted: false }
}

pub fn seconds(at: Moment) -> f64 {
    at.0 as f64 / 1e9
}

pub fn grams(mass: bismar::measure::Mass) -> f64 {
    mass.femtograms() as f64 / 1e15
}
