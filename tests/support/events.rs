//! Plausible events without end: what a working bench could record, always fitting the books.

use bismar::dialect::Kind;
use bismar::facts::books::EntryState;
use bismar::facts::{
    ArrivalCame, BenchId, BinChange, BinId, Books, Cancellation, Confirmation, Doubt, EntryId, Event, Fact, FillId, GradeId,
    LotBegun, LotDescribed, LotDrawn, LotId, LotWaited, MoneySpent, RecordVoided, SCHEMA, SessionId, Set, Source, SpendingSort,
    StepId, StoreId, Void,
};
use bismar::measure::{BootId, Currency, Displayed, Mass, Moment, Money, Span, Unit};
use bismar::settle::{Act, EpochCause, Manner, Rest};
use rust_decimal::Decimal;

const BENCH: BenchId = BenchId(1);

/// A bench at work.
#[derive(Clone)]
pub struct Life {
    store: StoreId,
    books: Books,
    chance: u64,
    mono: u64,
    wall: i64,
    load: i64,
}

impl Life {
    /// Goes on from some books. The same seed over the same books gives the same events.
    pub fn new(store: StoreId, books: Books, seed: u64) -> Life {
        let chance = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
        let past = books.seq as i64 * 40;
        Life { store, books, chance, mono: 1_000_000_000 * (1 + past as u64), wall: 1_767_225_600 + past, load: 0 }
    }

    /// The next batch: one event or a few that belong together.
    pub fn batch(&mut self) -> Vec<Event> {
        let mut made = Vec::new();
        for fact in self.facts() {
            let event = self.event(fact(self.books.seq));
            self.books.apply(&event).unwrap_or_else(|misfit| panic!("the generator made {event:?}: {misfit}"));
            made.push(event);
        }
        made
    }

    /// At least `count` events, in batches.
    pub fn batches(&mut self, count: usize) -> Vec<Vec<Event>> {
        let (mut batches, mut events) = (Vec::new(), 0);
        while events < count {
            let batch = self.batch();
            events += batch.len();
            batches.push(batch);
        }
        batches
    }

    fn below(&mut self, n: u64) -> u64 {
        self.chance ^= self.chance << 13;
        self.chance ^= self.chance >> 7;
        self.chance ^= self.chance << 17;
        (self.chance >> 16) % n
    }

    fn pick<T: Clone>(&mut self, from: &[T]) -> Option<T> {
        if from.is_empty() { None } else { from.get(self.below(from.len() as u64) as usize).cloned() }
    }

    fn event(&mut self, fact: Fact) -> Event {
        let passed = if self.below(50) == 0 { self.below(40_000) } else { self.below(60) } as i64;
        self.wall += passed;
        self.mono += passed as u64 * 1_000_000_000 + 1 + self.below(999_999_999);
        Event {
            store: self.store,
            seq: self.books.seq + 1,
            schema: SCHEMA,
            boot: BootId(0x5eed),
            mono: Moment(self.mono),
            wall: jiff::Timestamp::new(self.wall, 0).unwrap(),
            sure: self.below(20) != 0,
            bench: BENCH,
            epoch: self.books.last_epoch(),
            cause: (self.below(4) == 0).then(|| format!("key-{}", self.books.seq + 1)),
            fact,
        }
    }

    /// What happens next. Each fact is made from the number of the event before it.
    fn facts(&mut self) -> Vec<Box<dyn FnOnce(u64) -> Fact>> {
        let one = |fact: Fact| -> Vec<Box<dyn FnOnce(u64) -> Fact>> { vec![Box::new(move |_| fact)] };
        let bench = self.books.bench(BENCH);
        if self.books.seq == 0 {
            return one(Fact::StoreFounded { program: "generated".to_owned() });
        }
        if bench.epoch.is_none() {
            return one(self.epoch(EpochCause::Link));
        }
        if self.books.bins.is_empty() {
            return one(self.bin());
        }
        let bins: Vec<BinId> = self.books.bins.keys().copied().collect();
        let bin = self.pick(&bins).unwrap();
        let fill = self.books.bins[&bin].fill;
        let counted: Vec<EntryId> = self.recent(EntryState::Confirmed);
        let open: Vec<EntryId> = bench.open.iter().copied().collect();
        let mass = Mass::grams(1 + self.below(900) as i64);
        let reason = "said so".to_owned();
        // On a bench few drops stay unconfirmed for long.
        let dice = if open.len() > 2 { 45 } else { self.below(100) };
        match dice {
            0..=2 => one(self.bin()),
            3 => one(Fact::GradeMade { name: format!("grade {}", self.books.seq) }),
            4 => one(Fact::FeedMade { name: format!("feed \"{}\"\t\u{e9}", self.books.seq) }),
            5..=7 => one(Fact::BinChosen { bin: (self.below(5) != 0).then_some(bin) }),
            8..=12 => one(self.session()),
            13..=44 => self.step(),
            45..=66 => match self.pick(&open) {
                Some(entry) => one(match self.below(8) {
                    0 => Fact::Cancelled { entry, why: Cancellation::WentBack },
                    1 => Fact::DropRevised { entry, mass },
                    _ => Fact::Confirmed { entry, why: Confirmation::Stayed },
                }),
                None => self.step(),
            },
            67..=70 => match self.pick(&counted) {
                Some(entry) => {
                    let entries = if self.below(2) == 0 { vec![entry] } else { counted.into_iter().take(3).collect() };
                    one(Fact::DropsMoved { entries, bin, fill, reason })
                }
                None => one(Fact::GapMarked { lost: 1 + self.below(9) }),
            },
            71..=73 => match self.pick(&counted) {
                Some(entry) => one(Fact::DropVoided { entry, which: Void::NeverMaterial, reason }),
                None => one(Fact::MannerChosen { manner: Manner::Pan }),
            },
            74..=75 => match self.pick(&counted) {
                Some(entry) => {
                    one(Fact::DropAdjusted { entry, mass, source: Source::Label { division: Mass::grams(1) }, reason })
                }
                None => one(Fact::MannerChosen { manner: Manner::Tray }),
            },
            76 => one(self.lot()),
            77..=78 => one(Fact::CrumbsSettled { bin: Some(bin), fill: Some(fill), mass: Mass::grams(-1) }),
            79..=80 => one(Fact::BinEmptied { bin, fill, reason }),
            81 => match self.pick(&bins).filter(|to| *to != bin) {
                Some(to) => {
                    let to_fill = self.books.bins[&to].fill;
                    let mass = self.books.fills[&fill].mass;
                    one(Fact::BinTipped { from: bin, from_fill: fill, to, to_fill, mass, reason })
                }
                None => one(Fact::BinEmptied { bin, fill, reason }),
            },
            82..=83 => {
                one(Fact::OpeningStock { bin, fill, mass, source: Source::Estimate { low: mass, high: mass + mass }, reason })
            }
            84..=87 => one(Fact::WeightEntered {
                bin: Some(bin),
                fill: Some(fill),
                session: bench.session,
                mass,
                source: Source::HangingScale { division: Mass::grams(20) },
                reason,
            }),
            88..=90 => one(Fact::BinChanged {
                bin,
                change: BinChange { name: Set::To(Some("copper".to_owned())), tare: Set::To(None), ..BinChange::default() },
            }),
            91 => one(self.told()),
            92..=93 => one(Fact::CheckWeighed {
                nominal: mass,
                shown: mass,
                within: None,
                source: None,
                division: None,
                scale: None,
                drop: None,
            }),
            94..=96 => one(Fact::MinutesSpent {
                what: "fetching".to_owned(),
                span: Span::seconds(60),
                day: jiff::civil::date(2026, 1, 1 + self.below(28) as i8),
                session: bench.session,
                lot: None,
                part: None,
            }),
            _ => {
                let opened = self.epoch(EpochCause::Zeroed);
                vec![
                    Box::new(|_| Fact::EpochClosed { pending: Mass::ZERO, forgiven: Mass::from_femtograms(1) }),
                    Box::new(move |_| opened),
                ]
            }
        }
    }

    fn recent(&self, state: EntryState) -> Vec<EntryId> {
        let latest = self.books.entries.iter().rev().take(40);
        latest.filter(|(_, entry)| entry.state == state && entry.is_drop()).map(|(id, _)| *id).collect()
    }

    fn epoch(&mut self, cause: EpochCause) -> Fact {
        self.load = 0;
        Fact::EpochOpened { cause, unit: Unit::Gram, display: Kind::Gross, division: Mass::grams(1), scale: None }
    }

    fn bin(&mut self) -> Fact {
        let grades: Vec<GradeId> = self.books.grades.keys().copied().collect();
        let tare = (self.below(2) == 0).then(|| Mass::grams(350));
        let (name, capacity) = (None, Some(Mass::grams(20_000)));
        Fact::BinMade { number: self.books.next_bin_number(), name, grade: self.pick(&grades), tare, capacity }
    }

    fn session(&mut self) -> Fact {
        let Some(session) = self.books.bench(BENCH).session else { return Fact::SessionStarted { feed: None } };
        match self.below(4) {
            0 => Fact::SessionPaused { session },
            1 => Fact::SessionResumed { session },
            2 => Fact::LegBegan { session, feed: self.books.feeds.keys().next().copied() },
            _ => Fact::SessionEnded { session },
        }
    }

    /// A turn in the life of a lot.
    fn lot(&mut self) -> Fact {
        let lots: Vec<(LotId, bool)> = self.books.lots.iter().map(|(id, lot)| (*id, lot.is_open())).collect();
        let feed = self.books.feeds.keys().next().copied();
        match (self.pick(&lots).filter(|_| self.below(3) != 0), feed) {
            (Some((lot, true)), _) => Fact::LotClosed { lot },
            (Some((lot, false)), _) => Fact::LotReopened { lot },
            (None, Some(feed)) => Fact::LotEntered {
                feed,
                session: self.books.bench(BENCH).session,
                mass: Mass::grams(5000),
                source: Source::YardScale { division: Mass::grams(20) },
                reason: "weighed at the gate".to_owned(),
            },
            (None, None) => Fact::FeedMade { name: "motors".to_owned() },
        }
    }

    /// What is told of lots, money and arrivals, and taken back.
    fn told(&mut self) -> Fact {
        let lots: Vec<LotId> = self.books.lots.keys().copied().collect();
        let feed = self.books.feeds.keys().next().copied();
        let day = jiff::civil::date(2026, 1, 1 + self.below(28) as i8);
        let money = Money { amount: Decimal::new(1 + self.below(5000) as i64, 2), currency: Currency::parse("EUR").unwrap() };
        let ours = |fact: &Fact| matches!(fact, Fact::MoneySpent(_) | Fact::ArrivalCame(_) | Fact::LotWaited(_));
        let standing: Vec<u64> =
            self.books.standing_records().filter(|record| ours(&record.fact)).map(|record| record.seq).collect();
        let lot = self.pick(&lots);
        match (self.below(7), lot, feed) {
            (0, Some(lot), _) => {
                let what = "soaking".to_owned();
                Fact::LotWaited(LotWaited { lot, what, span: Span::seconds(600), day, clock_ran: self.below(2) == 0 })
            }
            (1, Some(lot), _) => {
                let depth = Set::To((self.below(3) != 0).then(|| "the windings".to_owned()));
                Fact::LotDescribed(LotDescribed { lot, depth, pieces: Set::To(Some(12)), arrival: Set::Keep })
            }
            (2, _, Some(feed)) => {
                let session = self.books.bench(BENCH).session;
                let (reason, depth) = ("counted".to_owned(), None);
                Fact::LotBegun(Box::new(LotBegun { feed, session, mass: None, source: None, pieces: Some(40), depth, reason }))
            }
            (3, _, Some(feed)) => {
                let bins: Vec<(BinId, FillId)> = self.books.bins.iter().map(|(id, bin)| (*id, bin.fill)).collect();
                let (bin, fill) = self.pick(&bins).unwrap();
                Fact::LotDrawn(Box::new(LotDrawn {
                    step: None,
                    bin,
                    fill,
                    feed: Some(feed),
                    session: None,
                    leg: None,
                    mass: Mass::grams(1 + self.below(900) as i64),
                    source: Some(Source::Label { division: Mass::grams(1) }),
                    pieces: None,
                    depth: None,
                    reason: Some("further apart".to_owned()),
                }))
            }
            (4, ..) if !standing.is_empty() => {
                let record = self.pick(&standing).unwrap();
                Fact::RecordVoided(RecordVoided { record, reason: "told twice".to_owned() })
            }
            (5, ..) => Fact::ArrivalCame(Box::new(ArrivalCame {
                from: "a kitchen refit".to_owned(),
                day,
                what: "taps".to_owned(),
                feed,
                mass: None,
                pieces: Some(7),
                paid: Some(money),
                span: Some(Span::seconds(1800)),
                distance_km: None,
            })),
            _ => {
                let what = "blades".to_owned();
                let sort = SpendingSort::Consumables;
                Fact::MoneySpent(MoneySpent { sort, what, day, amount: money, buyer: None, feed, lot })
            }
        }
    }

    /// A step with what is made of it: two events that belong together.
    fn step(&mut self) -> Vec<Box<dyn FnOnce(u64) -> Fact>> {
        let bench = self.books.bench(BENCH);
        let bin = bench.chosen;
        let fill: Option<FillId> = bin.map(|bin| self.books.bins[&bin].fill);
        let session: Option<SessionId> = bench.session;
        let leg = session.map(|session| self.books.sessions[&session].leg());
        let out = self.below(12) == 0;
        let grams = 1 + self.below(400) as i64;
        let rest = |load: i64, since: u64| Rest {
            load: Mass::grams(load),
            shown: Displayed { count: load, exponent: 0 },
            unit: Unit::Gram,
            since: Moment(since),
        };
        let from = rest(self.load, self.mono.saturating_sub(4_000_000_000));
        self.load += if out { -grams } else { grams };
        let to = rest(self.load, self.mono);
        let (act, delta) = (if out { Act::Removed } else { Act::Added }, to.load - from.load);
        let landed = Moment(self.mono.saturating_sub(1_000_000_000));
        let (mass, doubt) = (Mass::grams(grams), (bin.is_none() && self.below(3) == 0).then_some(Doubt::PerhapsTheBin));
        vec![
            Box::new(move |_| Fact::Stepped { act, delta, landed, from, to }),
            Box::new(move |before| {
                let step = StepId(before);
                match out {
                    true => Fact::TakenOut { step, bin, fill, session, mass },
                    false => Fact::DropLanded { step, bin, fill, session, leg, mass, doubt, transfer: None },
                }
            }),
        ]
    }
}
