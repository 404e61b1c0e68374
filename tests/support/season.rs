//! A seeded season of several months, written as a roll by the store.

use bismar::dialect::Kind;
use bismar::facts::{
    BenchId, BinFull, BinId, Books, Break, BuyerId, Confirmation, Disturbance, EntryId, Event, Fact, FeedId, FillId, GradeId,
    LotId, PiecesCounted, RateQuoted, RecordVoided, SCHEMA, ScaleDisturbed, SessionId, Source, StepId, StoreId, Void,
};
use bismar::measure::{BootId, Currency, Displayed, Mass, Moment, Price, Rate, Span, Unit};
use bismar::settle::{Act, EpochCause, Rest};
use bismar::store::{RealDisk, Store};
use jiff::civil::date;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};
use std::path::Path;
use std::sync::Arc;

const SESSIONS: usize = 60;
const LOTS_MOST: u64 = 9;

pub struct Season {
    chance: ChaCha8Rng,
    store: StoreId,
    pub books: Books,
    events: Vec<Event>,
    seconds: u64,
    load: i64,
    since: u64,
}

/// Makes the season, and hands back its books; its roll then lies in `dir`.
pub fn season(seed: u64, dir: &Path) -> Books {
    let mut store = Store::open(dir, Arc::new(RealDisk), &mut |_| {}).unwrap().store;
    // The store has founded itself: the season goes on from there.
    let (events, books) = made(seed, store.store_id(), store.books().clone());
    for batch in events.chunks(400) {
        store.append(batch).unwrap();
    }
    store.barrier();
    books
}

/// The events of a season that goes on from some books, and the books after it.
pub fn made(seed: u64, store: StoreId, books: Books) -> (Vec<Event>, Books) {
    let chance = ChaCha8Rng::seed_from_u64(seed);
    let mut season = Season { chance, store, books, events: Vec::new(), seconds: 0, load: 0, since: 1 };
    season.make();
    (season.events, season.books)
}

impl Season {
    fn below(&mut self, n: u64) -> u64 {
        u64::from(self.chance.next_u32()) % n
    }

    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len() as u64) as usize]
    }

    fn record(&mut self, fact: Fact) -> u64 {
        self.seconds += 1 + self.below(90);
        let event = Event {
            store: self.store,
            seq: self.books.seq + 1,
            schema: SCHEMA,
            boot: BootId(9),
            mono: Moment(self.seconds * 1_000_000_000 + self.below(1_000_000_000)),
            wall: jiff::Timestamp::new(1_767_225_600 + self.seconds as i64, 0).unwrap(),
            sure: true,
            bench: BenchId(1),
            epoch: self.books.last_epoch(),
            cause: None,
            fact,
        };
        self.books.apply(&event).unwrap_or_else(|misfit| panic!("{event:?}: {misfit}"));
        self.events.push(event);
        self.books.seq
    }

    fn make(&mut self) {
        let feeds: Vec<FeedId> =
            ["motors", "boards", "wire"].map(|name| FeedId(self.record(Fact::FeedMade { name: name.into() }))).into();
        // Taps are sold by the piece alone, and nobody takes foam for nothing.
        let names = ["copper", "brass", "motors", "steel", "aluminium", "taps", "foam"];
        let grades: Vec<GradeId> = names.map(|name| GradeId(self.record(Fact::GradeMade { name: name.into() }))).into();
        let buyers: Vec<BuyerId> = ["near", "far"].map(|name| BuyerId(self.record(Fact::BuyerMade { name: name.into() }))).into();
        let bins: Vec<BinId> = (0..9).map(|at: usize| self.bin(at as u32 + 1, grades.get(at).copied())).collect();
        for _ in 0..40 {
            let (buyer, grade) = (self.pick(&buyers), self.pick(&grades[..5]));
            self.quote(buyer, grade);
        }
        for (buyer, grade, rate) in [(0, 5, "1.35/piece"), (1, 5, "1.2/piece"), (0, 6, "-0.21/kg"), (1, 6, "-0.3/piece")] {
            self.rate(buyers[buyer], grades[grade], rate);
        }
        for bin in &bins[..2] {
            let (fill, mass) = (self.books.bins[bin].fill, Mass::grams(500 + self.below(9000) as i64));
            let source = Source::Estimate { low: Mass::grams(400), high: mass + mass };
            self.record(Fact::OpeningStock { bin: *bin, fill, mass, source, reason: String::new() });
        }
        for _ in 0..SESSIONS {
            self.session(&feeds, &bins);
        }
        self.count(bins[5]);
    }

    fn bin(&mut self, number: u32, grade: Option<GradeId>) -> BinId {
        let capacity = number.is_multiple_of(2).then(|| Mass::grams(20_000));
        BinId(self.record(Fact::BinMade { number, name: None, grade, tare: None, capacity }))
    }

    fn quote(&mut self, buyer: BuyerId, grade: GradeId) {
        let unit = self.pick(&["lb", "kg", "short-cwt", "short ton", "gross ton", "tonne", "ozt"]);
        let cents = 1 + self.below(900);
        let currency = Currency::parse(self.pick(&["EUR", "EUR", "EUR", "CHF"])).unwrap();
        let price = Price::parse(&format!("{}.{:02}/{unit}", cents / 100, cents % 100), currency).unwrap();
        let breaks = match self.below(3) {
            0 => vec![Break { from: Mass::grams(3000), amount: price.amount + price.amount / rust_decimal::Decimal::from(8) }],
            _ => Vec::new(),
        };
        let minimum = (self.below(4) == 0).then(|| Mass::grams(2500));
        let deduction = (self.below(3) == 0).then(|| rust_decimal::Decimal::new(25, 1));
        let day = date(2026, 1 + self.below(3) as i8, 1 + self.below(28) as i8);
        let quote = self.record(Fact::QuoteGiven { buyer, grade, price, day, stale_after: None, breaks, minimum, deduction });
        if self.below(9) == 0 {
            self.record(Fact::QuoteWithdrawn { quote: bismar::facts::QuoteId(quote), reason: String::new() });
        }
    }

    fn rate(&mut self, buyer: BuyerId, grade: GradeId, text: &str) {
        let rate = Rate::parse(text, Currency::parse("EUR").unwrap()).unwrap();
        let (day, stale_after, breaks, minimum, deduction) = (date(2026, 1, 20), None, Vec::new(), None, None);
        let quoted = RateQuoted { buyer, grade, rate, day, stale_after, breaks, minimum, deduction };
        self.record(Fact::RateQuoted(Box::new(quoted)));
    }

    fn count(&mut self, bin: BinId) {
        let (fill, pieces) = (self.books.bins[&bin].fill, 1 + self.below(90) as u32);
        self.record(Fact::PiecesCounted(PiecesCounted { bin, fill, pieces }));
    }

    fn session(&mut self, feeds: &[FeedId], bins: &[BinId]) {
        let feed = self.pick(feeds);
        if self.books.bench(BenchId(1)).epoch.is_some() {
            self.record(Fact::EpochClosed { pending: Mass::ZERO, forgiven: Mass::ZERO });
        }
        let division = Mass::grams(self.pick(&[1, 2, 5]));
        self.record(Fact::EpochOpened { cause: EpochCause::Link, unit: Unit::Gram, display: Kind::Gross, division, scale: None });
        let session = SessionId(self.record(Fact::SessionStarted { feed: Some(feed) }));
        let open = |books: &Books| books.lots.values().filter(|lot| lot.feed == Some(feed) && lot.is_open()).count();
        if open(&self.books) == 0 && self.books.lots.len() < 3 * LOTS_MOST as usize {
            let grams = 4000 + self.below(9000) as i64;
            if self.below(2) == 0 {
                let (mass, source) = (Mass::grams(grams), Source::YardScale { division: Mass::grams(20) });
                self.record(Fact::LotEntered { feed, session: Some(session), mass, source, reason: String::new() });
            } else {
                self.weigh_intake(feed, session, grams * 5);
            }
        }
        if self.below(3) == 0 {
            self.check(division);
        }
        for _ in 0..1 + self.below(3) {
            let bin = self.pick(bins);
            // Another bin stands on the scale: its rests are its own.
            self.since = self.seconds * 1_000_000_000 + 5;
            self.load = 300 + self.below(3000) as i64;
            for _ in 0..1 + self.below(8) {
                self.piece(bin, session, division);
            }
            self.turn(bin, bins, session);
            if self.below(6) == 0 {
                let feed = (self.below(4) != 0).then(|| self.pick(feeds));
                self.record(Fact::LegBegan { session, feed });
            }
        }
        let lot = self.books.lots.iter().find(|(_, lot)| lot.feed == Some(feed) && lot.is_open()).map(|(id, _)| *id);
        if let Some(lot) = lot.filter(|_| self.below(2) == 0) {
            self.close(lot, session);
        }
        self.record(Fact::SessionEnded { session });
        self.seconds += 86_400 + self.below(90_000);
    }

    /// On the scale itself: all of it is put on and taken off again.
    fn weigh_intake(&mut self, feed: FeedId, session: SessionId, grams: i64) {
        (self.load, self.since) = (0, self.seconds * 1_000_000_000 + 5);
        let (step, mass) = (self.step(grams), Mass::grams(grams));
        let leg = Some(self.books.sessions[&session].leg());
        let entry = EntryId(self.record(Fact::IntakeLanded { step, feed: Some(feed), session: Some(session), leg, mass }));
        self.record(Fact::Confirmed { entry, why: Confirmation::PanCleared });
    }

    fn close(&mut self, lot: LotId, session: SessionId) {
        let span = Span::seconds(60 * (1 + self.below(50)));
        self.record(Fact::MinutesSpent {
            part: None,
            what: "sorting".into(),
            span,
            day: date(2026, 2, 1),
            session: Some(session),
            lot: Some(lot),
        });
        self.record(Fact::LotClosed { lot });
        if self.below(5) == 0 {
            self.record(Fact::LotReopened { lot });
        }
    }

    fn piece(&mut self, bin: BinId, session: SessionId, division: Mass) {
        let step = (division.femtograms() / Mass::grams(1).femtograms()) as i64;
        let grams = step * (1 + self.below(400) as i64);
        let rest = |load: i64, since: u64| Rest {
            load: Mass::grams(load),
            shown: Displayed { count: load, exponent: 0 },
            unit: Unit::Gram,
            since: Moment(since),
        };
        let from = rest(self.load, self.since);
        self.load += grams;
        self.since += 1_000_000_000 + self.below(1_000_000_000);
        let (mass, to, landed) = (Mass::grams(grams), rest(self.load, self.since), Moment(self.since));
        let step = StepId(self.record(Fact::Stepped { act: Act::Added, delta: mass, landed, from, to }));
        let fill: Option<FillId> = Some(self.books.bins[&bin].fill);
        let leg = Some(self.books.sessions[&session].leg());
        let bin = Some(bin);
        let (fill, bin) = if self.below(25) == 0 { (None, None) } else { (fill, bin) };
        let drop = Fact::DropLanded { step, bin, fill, session: Some(session), leg, mass, doubt: None, transfer: None };
        let entry = EntryId(self.record(drop));
        self.record(Fact::Confirmed { entry, why: Confirmation::Stayed });
        let reason = String::new();
        match self.below(30) {
            0..=1 => _ = self.record(Fact::DropVoided { entry, which: Void::NeverMaterial, reason }),
            2 => {
                let source = Source::Label { division: Mass::grams(10) };
                self.record(Fact::DropAdjusted { entry, mass: mass + mass, source, reason });
            }
            _ => {}
        }
    }

    fn step(&mut self, grams: i64) -> StepId {
        let rest = |load: i64, since: u64| Rest {
            load: Mass::grams(load),
            shown: Displayed { count: load, exponent: 0 },
            unit: Unit::Gram,
            since: Moment(since),
        };
        let from = rest(self.load, self.since);
        self.load += grams;
        self.since += 1_000_000_000 + self.below(1_000_000_000);
        let to = rest(self.load, self.since);
        let (act, landed) = (if grams < 0 { Act::Removed } else { Act::Added }, Moment(self.since));
        StepId(self.record(Fact::Stepped { act, delta: Mass::grams(grams), landed, from, to }))
    }

    /// A handful is taken out of one bin, and half the time put into another, which earns nothing.
    fn carry(&mut self, (bin, fill): (BinId, FillId), (to, to_fill): (BinId, FillId), session: SessionId) {
        let grams = 10 + self.below(90) as i64;
        let (mass, step) = (Mass::grams(grams), self.step(-grams));
        let (why, session) = (Confirmation::Stayed, Some(session));
        let out = EntryId(self.record(Fact::TakenOut { step, bin: Some(bin), fill: Some(fill), session, mass }));
        self.record(Fact::Confirmed { entry: out, why });
        if self.below(2) == 0 {
            (self.load, self.since) = (700, self.seconds * 1_000_000_000 + 5);
            let (step, transfer) = (self.step(grams), Some(out));
            let (bin, fill, doubt) = (Some(to), Some(to_fill), None);
            let drop = Fact::DropLanded { step, bin, fill, session: None, leg: None, mass, doubt, transfer };
            let entry = EntryId(self.record(drop));
            self.record(Fact::Confirmed { entry, why });
        }
    }

    /// A known weight is laid on, the scale is moved, and one of both was told by mistake.
    fn check(&mut self, division: Mass) {
        if self.below(10) == 0 {
            let how = Disturbance::Moved;
            self.record(Fact::ScaleDisturbed(ScaleDisturbed { how, scale: None, reason: "swept".into() }));
        }
        for _ in 0..1 + self.below(2) {
            let nominal = self.pick(&[500, 2000, 5000]);
            let off = self.below(5) as i64 - 2;
            let within = (self.below(4) != 0).then(|| Mass::from_femtograms(50_000_000_000_000));
            self.record(Fact::CheckWeighed {
                nominal: Mass::grams(nominal),
                shown: Mass::grams(nominal + off),
                within,
                source: Some("test weight".into()),
                division: Some(division),
                scale: None,
                drop: None,
            });
        }
        if self.below(6) == 0 {
            let (record, reason) = (self.books.seq, "another weight".into());
            self.record(Fact::RecordVoided(RecordVoided { record, reason }));
        }
        let moved = |fact: &Fact| matches!(fact, Fact::ScaleDisturbed(_));
        let last = self.books.standing_records().rev().find(|record| moved(&record.fact)).map(|record| record.seq);
        if let Some(record) = last.filter(|_| self.below(6) == 0) {
            self.record(Fact::RecordVoided(RecordVoided { record, reason: "it was not".into() }));
        }
    }

    /// What else befalls a bin.
    fn turn(&mut self, bin: BinId, bins: &[BinId], session: SessionId) {
        let (fill, reason) = (self.books.bins[&bin].fill, String::new());
        let to = self.pick(bins);
        let to_fill = self.books.bins[&to].fill;
        let mass = Mass::grams(50 + self.below(700) as i64);
        match self.below(16) {
            0 => _ = self.record(Fact::BinEmptied { bin, fill, reason }),
            1 if to != bin => {
                let mass = self.books.fills[&fill].mass;
                self.record(Fact::BinTipped { from: bin, from_fill: fill, to, to_fill, mass, reason });
            }
            2 => {
                let source = Source::HangingScale { division: Mass::grams(20) };
                let session = Some(session);
                self.record(Fact::WeightEntered { bin: Some(bin), fill: Some(fill), session, mass, source, reason });
            }
            3 | 4 if to != bin => {
                let last = self.books.counting(fill).filter(|(_, entry)| entry.is_drop()).map(|(id, _)| id).next_back();
                if let Some(entry) = last {
                    self.record(Fact::DropsMoved { entries: vec![entry], bin: to, fill: to_fill, reason });
                }
            }
            6 => _ = self.record(Fact::CaughtUp { bin, fill, mass }),
            7 => {
                let mass =
                    Mass::from_femtograms(i128::from(self.below(900)) * 1_000_000_000_000 - Mass::grams(1).femtograms() / 3);
                self.record(Fact::CrumbsSettled { bin: Some(bin), fill: Some(fill), mass });
            }
            10 | 11 => self.count(bin),
            12 => _ = self.record(Fact::BinFull(BinFull { bin, fill })),
            8 | 9 if to != bin => self.carry((bin, fill), (to, to_fill), session),
            5 => {
                self.record(Fact::SessionPaused { session });
                self.seconds += 600;
                self.record(Fact::SessionResumed { session });
            }
            _ => {}
        }
    }
}
