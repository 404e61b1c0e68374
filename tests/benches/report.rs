//! The reports over a season of a hundred thousand drops, and how long a store of as many takes to open.
//!
//! `cargo bench --bench report [-- DROPS]`. The store is made in `target`, so that it is a real disk that is read.

use bismar::dialect::Kind;
use bismar::facts::{
    BenchId, BinId, Books, BuyerId, Confirmation, EntryId, Event, Fact, FeedId, FillId, GradeId, LotId, SCHEMA, SessionId,
    Source, StepId, StoreId,
};
use bismar::measure::{BootId, Currency, Displayed, Mass, Moment, Price, Stamp, Unit};
use bismar::query::{HourQuestion, WeekQuestion, YardRunQuestion, hour, riddles, week, yard_run};
use bismar::render::json::YardRunView;
use bismar::render::{csv, text};
use bismar::settle::{Act, EpochCause, Rest};
use bismar::store::{RealDisk, Store, fold_roll};
use jiff::civil::date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

const BENCH: BenchId = BenchId(1);
const BINS: u32 = 12;
const REPORTS: usize = 201;

fn main() {
    // cargo passes --bench; a number is how many drops there are.
    let count = std::env::args().skip(1).find_map(|argument| argument.parse().ok()).unwrap_or(100_000);
    std::fs::create_dir_all("target").expect("a target directory");
    let dir = tempfile::tempdir_in("target").expect("a directory to work in");
    let mut store = open(dir.path());
    let season = Season::new(store.store_id()).make(count);
    for batch in season.events.chunks(512) {
        store.append(batch).expect("an append");
    }
    let books = store.books().clone();
    println!("{count} drops in {} events, {} fills, {} sessions", books.seq, books.fills.len(), books.sessions.len());
    reports(&books);
    openings(dir.path(), store);
}

fn reports(books: &Books) {
    let zone = TimeZone::get("Europe/Lisbon").expect("a zone");
    let now = YardRunQuestion { today: date(2026, 12, 31), as_of: None, zone, stale_after: 14 };
    let past = YardRunQuestion { as_of: Some(date(2026, 6, 30)), ..now.clone() };
    let view = YardRunView::from(&yard_run(books, &now));
    println!("\nthe report, {REPORTS} times         median       p99   goal");
    let show = |name: &str, goal: &str, mut work: Box<dyn FnMut() + '_>| {
        let mut times: Vec<Duration> = (0..REPORTS).map(|_| time(&mut work)).collect();
        times.sort_unstable();
        let at = |percent: usize| times[(times.len() - 1) * percent / 100].as_secs_f64() * 1e3;
        println!("{name:28} {:8.3} ms {:6.3} ms   {goal}", at(50), at(99));
    };
    show("today's", "under 20 ms", Box::new(|| _ = std::hint::black_box(yard_run(books, &now))));
    show("as of a day in the past", "under 20 ms", Box::new(|| _ = std::hint::black_box(yard_run(books, &past))));
    let json = || serde_json::to_string(&YardRunView::from(&yard_run(books, &now))).expect("JSON");
    let worth = HourQuestion {
        now: Stamp {
            boot: BootId(7),
            mono: Moment(u64::MAX / 2),
            wall: "2026-12-31T12:00:00Z".parse().expect("a time"),
            trusted: true,
        },
        today: now.today,
        as_of: None,
        zone: now.zone.clone(),
        stale_after: 14,
        currency: Currency::parse("EUR").expect("a currency"),
        buyer: None,
        left: true,
        floor: Some(Decimal::TEN),
    };
    let report = hour(books, &worth);
    let closed: usize = report.feeds.iter().map(|feed| feed.closed_lots).sum();
    println!("({closed} closed lots of {} feeds in the report of the hour)", report.feeds.len());
    show("what an hour is worth", "under 20 ms", Box::new(|| _ = std::hint::black_box(hour(books, &worth))));
    let then = HourQuestion { as_of: Some(date(2026, 6, 30)), ..worth.clone() };
    show("the hour, as of a past day", "", Box::new(|| _ = std::hint::black_box(hour(books, &then))));
    let days = WeekQuestion { until: date(2026, 12, 24), zone: now.zone.clone() };
    show("the week", "under 20 ms", Box::new(|| _ = std::hint::black_box(week(books, &days))));
    show("what is asked", "", Box::new(|| _ = std::hint::black_box(riddles(books))));
    show("today's, as JSON", "under 20 ms", Box::new(|| _ = std::hint::black_box(json())));
    show("the view as CSV", "", Box::new(|| _ = std::hint::black_box(csv::yard_run(&view))));
    show("the view as text", "", Box::new(|| _ = std::hint::black_box(text::yard_run(&view))));
}

fn openings(dir: &Path, store: Store) {
    println!();
    let show = |name: &str, took: Duration| println!("{name:28} {:8.3} s", took.as_secs_f64());
    let mut store = Some(store);
    show("barrier and close", time(|| store.take().into_iter().for_each(|mut store| store.barrier())));
    show("open, index believed", time(|| store = Some(open(dir))));
    drop(store.take());
    std::fs::remove_dir_all(dir.join("index")).expect("the index");
    show("open, index made anew", time(|| store = Some(open(dir))));
    drop(store.take());
    show("fold of the roll", time(|| _ = fold_roll(dir, &RealDisk).expect("books")));
}

fn open(dir: &Path) -> Store {
    Store::open(dir, Arc::new(RealDisk), &mut |_| {}).expect("an open store").store
}

fn time(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

/// A year of bench work.
struct Season {
    store: StoreId,
    books: Books,
    events: Vec<Event>,
    load: i64,
}

impl Season {
    fn new(store: StoreId) -> Season {
        Season { store, books: Books::default(), events: Vec::new(), load: 0 }
    }

    fn record(&mut self, fact: Fact) -> u64 {
        let seq = self.books.seq + 1;
        let event = Event {
            store: self.store,
            seq,
            schema: SCHEMA,
            boot: BootId(7),
            mono: Moment(seq * 100_000_000_000),
            // A hundred thousand drops and what belongs to them fill the year.
            wall: jiff::Timestamp::new(1_767_225_600 + seq as i64 * 100, 0).expect("a time of 2026"),
            sure: true,
            bench: BENCH,
            epoch: self.books.last_epoch(),
            cause: None,
            fact,
        };
        self.books.apply(&event).expect("an event that fits");
        self.events.push(event);
        seq
    }

    fn make(mut self, count: usize) -> Season {
        self.record(Fact::StoreFounded { program: "bench".into() });
        let grades: Vec<GradeId> =
            (0..8).map(|number| GradeId(self.record(Fact::GradeMade { name: format!("grade {number}") }))).collect();
        for number in 0..3 {
            let buyer = BuyerId(self.record(Fact::BuyerMade { name: format!("buyer {number}") }));
            for (number, grade) in grades.iter().enumerate() {
                for month in 1..=12 {
                    self.quote(buyer, *grade, &format!("{number}.{month:02}/lb"), month);
                }
            }
        }
        let bins: Vec<BinId> = (1..=BINS).map(|number| self.bin(number, grades[number as usize % grades.len()])).collect();
        let feeds: Vec<FeedId> =
            (0..5).map(|number| FeedId(self.record(Fact::FeedMade { name: format!("feed {number}") }))).collect();
        let mut session = None;
        for number in 0..count {
            if number % 250 == 0 {
                let last = session.replace(SessionId(0)).filter(|last| *last != SessionId(0));
                session = Some(self.another_session(last, feeds[number / 500 % feeds.len()]));
            }
            let bin = bins[(number / 20) % bins.len()];
            if number % 20 == 0 {
                self.record(Fact::BinChosen { bin: Some(bin) });
            }
            self.piece(bin, session, 10 + (number * 37 % 300) as i64);
            // Small things fill their bin so slowly that it is not emptied all the year.
            if number % 2000 == 1999 && bin != bins[0] {
                let fill = self.books.bins[&bin].fill;
                self.record(Fact::BinEmptied { bin, fill, reason: "taken along".into() });
            }
        }
        self
    }

    fn quote(&mut self, buyer: BuyerId, grade: GradeId, price: &str, month: i8) {
        let price = Price::parse(price, Currency::parse("EUR").expect("a currency")).expect("a price");
        self.record(Fact::QuoteGiven {
            buyer,
            grade,
            price,
            day: date(2026, month, 1),
            stale_after: None,
            breaks: Vec::new(),
            minimum: None,
            deduction: None,
        });
    }

    fn bin(&mut self, number: u32, grade: GradeId) -> BinId {
        BinId(self.record(Fact::BinMade { number, name: None, grade: Some(grade), tare: None, capacity: None }))
    }

    /// Every second session works off a lot of its feed.
    fn another_session(&mut self, last: Option<SessionId>, feed: FeedId) -> SessionId {
        if let Some(session) = last {
            let open: Vec<LotId> = self.books.lots.iter().filter(|(_, lot)| lot.is_open()).map(|(id, _)| *id).collect();
            if self.books.sessions.len().is_multiple_of(2) {
                for lot in open {
                    self.record(Fact::LotClosed { lot });
                }
            }
            self.record(Fact::SessionEnded { session });
            self.record(Fact::EpochClosed { pending: Mass::ZERO, forgiven: Mass::ZERO });
        }
        let opened = EpochCause::Link;
        let division = Mass::grams(1);
        self.record(Fact::EpochOpened { cause: opened, unit: Unit::Gram, display: Kind::Gross, division, scale: None });
        self.load = 0;
        let session = SessionId(self.record(Fact::SessionStarted { feed: Some(feed) }));
        let source = Source::YardScale { division: Mass::grams(20) };
        if !self.books.sessions.len().is_multiple_of(2) {
            let (mass, reason) = (Mass::grams(90_000), "weighed at the gate".to_owned());
            self.record(Fact::LotEntered { feed, session: Some(session), mass, source, reason });
        }
        session
    }

    fn piece(&mut self, bin: BinId, session: Option<SessionId>, grams: i64) {
        let at = self.books.seq * 100_000_000_000;
        let rest = |load: i64, since: u64| Rest {
            load: Mass::grams(load),
            shown: Displayed { count: load, exponent: 0 },
            unit: Unit::Gram,
            since: Moment(since),
        };
        let from = rest(self.load, at);
        self.load += grams;
        let (mass, to) = (Mass::grams(grams), rest(self.load, at + 3_000_000_000));
        let landed = Moment(at + 2_000_000_000);
        let step = StepId(self.record(Fact::Stepped { act: Act::Added, delta: mass, landed, from, to }));
        let fill: Option<FillId> = self.books.bins.get(&bin).map(|bin| bin.fill);
        let leg = session.map(|session| self.books.sessions[&session].leg());
        let drop = Fact::DropLanded { step, bin: Some(bin), fill, session, leg, mass, doubt: None, transfer: None };
        let entry = EntryId(self.record(drop));
        self.record(Fact::Confirmed { entry, why: Confirmation::Stayed });
    }
}
