//! Tests of what an hour is worth.

use super::*;
use crate::facts::{BenchId, BinId, Event, Fact, FillId, LotId, SCHEMA, SessionId, Source, StoreId};
use crate::measure::{BootId, Moment};
use jiff::civil::date;

fn event(seq: u64, second: i64, fact: Fact) -> Event {
    let begin: jiff::Timestamp = "2026-03-01T10:00:00Z".parse().unwrap();
    Event {
        store: StoreId(7),
        seq,
        schema: SCHEMA,
        boot: BootId(1),
        mono: Moment(second as u64 * 1_000_000_000),
        wall: begin + jiff::SignedDuration::from_secs(second),
        sure: true,
        bench: BenchId(1),
        epoch: 0,
        cause: None,
        fact,
    }
}

fn euro() -> Currency {
    Currency::parse("EUR").unwrap()
}

/// Two lots of motors, each worked off on a day of its own; copper brings more on the second.
fn two_days() -> Books {
    let feed = FeedId(2);
    let quote = |amount, day| Fact::QuoteGiven {
        buyer: BuyerId(4),
        grade: GradeId(3),
        price: Price { amount: Decimal::from(amount), currency: euro(), per: PriceUnit::Kilogram },
        day,
        stale_after: None,
        breaks: Vec::new(),
        minimum: None,
        deduction: None,
    };
    let source = || Source::Label { division: Mass::grams(1) };
    let intake = |session| Fact::LotEntered {
        feed,
        session: Some(SessionId(session)),
        mass: Mass::grams(10_000),
        source: source(),
        reason: String::new(),
    };
    let copper = |session, grams| Fact::WeightEntered {
        bin: Some(BinId(5)),
        fill: Some(FillId(5)),
        session: Some(SessionId(session)),
        mass: Mass::grams(grams),
        source: source(),
        reason: String::new(),
    };
    let session = SessionId(8);
    let facts = [
        /* 1 */ (0, Fact::StoreFounded { program: String::new() }),
        /* 2 */ (0, Fact::FeedMade { name: "motors".into() }),
        /* 3 */ (0, Fact::GradeMade { name: "copper".into() }),
        /* 4 */ (0, Fact::BuyerMade { name: "yard".into() }),
        /* 5 */ (0, Fact::BinMade { number: 1, name: None, grade: Some(GradeId(3)), tare: None, capacity: None }),
        /* 6 */ (0, quote(6, date(2026, 3, 1))),
        /* 7 */ (0, quote(9, date(2026, 3, 2))),
        /* 8 */ (0, Fact::SessionStarted { feed: Some(feed) }),
        // Ten minutes before the lot was there, twenty on it, a pause, thirty on it and ten of those away.
        /* 9 */
        (600, intake(8)),
        /* 10 */ (1800, Fact::SessionPaused { session }),
        /* 11 */ (3600, Fact::SessionResumed { session }),
        /* 12 */ (5000, Fact::StillnessSeen { session, span: Span::seconds(600) }),
        /* 13 */ (5100, Fact::StillnessTold { stillness: 12, session, away: true }),
        /* 14 */ (5300, copper(8, 1000)),
        /* 15 */ (5400, Fact::LotClosed { lot: LotId(9) }),
        /* 16 */ (6000, Fact::SessionEnded { session }),
        /* 17 */ (90_000, Fact::SessionStarted { feed: Some(feed) }),
        /* 18 */ (90_000, intake(17)),
        /* 19 */ (93_600, copper(17, 2000)),
        /* 20 */ (93_600, Fact::LotClosed { lot: LotId(18) }),
    ];
    let mut books = Books::default();
    for (at, (second, fact)) in facts.into_iter().enumerate() {
        books.apply(&event(at as u64 + 1, second, fact)).unwrap();
    }
    books
}

fn question(as_of: Option<Date>, left: bool, currency: &str) -> HourQuestion {
    HourQuestion {
        now: event(21, 99_000, Fact::IntakeWithdrawn {}).stamp(),
        today: date(2026, 3, 2),
        as_of,
        zone: TimeZone::UTC,
        stale_after: 14,
        currency: Currency::parse(currency).unwrap(),
        buyer: None,
        left,
        floor: Decimal::ZERO,
    }
}

fn asked(books: &Books, as_of: Option<Date>) -> FeedHour {
    let report = hour(books, &question(as_of, true, "EUR"));
    assert_eq!(report.apart, Apart::default());
    report.feeds[0].clone()
}

#[test]
fn a_lot_has_the_hands_on_minutes_while_it_was_open() {
    let books = two_days();
    let first = asked(&books, Some(date(2026, 3, 1)));
    assert_eq!((first.at_bench, first.open_lots), (Span::seconds(2400), 0));
    // A kilogram at 6.00 in forty minutes.
    assert_eq!(first.pay.unwrap().hands_on.point().unwrap().round_dp(9), Decimal::from(9));
    let both = asked(&books, None);
    assert_eq!((both.at_bench, both.yields.unwrap().lots), (Span::seconds(6000), 2));
    // Three at 9.00 in a hundred.
    assert_eq!(both.pay.unwrap().hands_on.point().unwrap().round_dp(9), Decimal::new(162, 1));
}

#[test]
fn nothing_said_of_the_whole_is_never_nothing() {
    let books = two_days();
    let report = hour(&books, &question(None, false, "USD"));
    assert_eq!(report.currency, euro(), "no quote is in the other");
    assert_eq!(report.feeds[0].pay, Err(NoPay::WholeUnknown { lots: 2 }));
}
