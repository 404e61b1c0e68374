//! Recorded lines of every schema that was ever written, with every kind of fact: they must be read for ever.
//!
//! A new kind of fact gets a sample below. From the first release on a recorded file is never written again: what is new
//! goes into a file of its own.
//! `BISMAR_WRITE_FIXTURES=1` writes a file that is not there.

use super::fixture_kinds::{KINDS, kind};
use bismar::dialect::Kind;
use bismar::facts::{
    BenchId, BinChange, BinId, Books, Break, Bridge, BuyerId, Cancellation, Confirmation, Doubt, EntryId, Event, Fact, FeedId,
    FillId, GradeId, KnownBy, LotId, NameChange, QuoteId, SCHEMA, SessionId, Set, Source, StepId, StoreId, TicketLine, Void,
};
use bismar::measure::{BootId, Currency, Displayed, Mass, Moment, Money, Price, PriceUnit, Span, Unit};
use bismar::settle::{Act, EpochCause, Manner, Rest};
use bismar::store::line::{LineHash, decode, encode};
use jiff::civil::date;
use rust_decimal::Decimal;
use std::path::PathBuf;

/// The recorded files, each a roll of its own, with what is in it.
fn rolls() -> Vec<(PathBuf, Vec<Event>)> {
    let path = |name: &str| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/roll").join(name);
    vec![
        (path("schema-1.roll"), events(facts())),
        (path("schema-1-intakes.roll"), events(intakes())),
        (path("schema-1-lots.roll"), events(lots())),
        (path("schema-1-checks.roll"), events(checks())),
        (path("schema-1-places.roll"), events(super::fixture_places::facts())),
        (path("schema-1-emptyings.roll"), events(super::fixture_places::emptyings())),
        (path("schema-1-trips.roll"), events(super::fixture_trips::facts())),
        (path("schema-1-tickets.roll"), events(super::fixture_tickets::facts())),
        (path("schema-1-runs.roll"), events(super::fixture_tickets::taken_back())),
        (path("schema-1-feeds.roll"), events(super::fixture_feeds::facts())),
        (path("schema-1-prices.roll"), events(super::fixture_prices::facts())),
        (path("schema-1-scale.roll"), events(super::fixture_checks::facts())),
    ]
}

fn facts() -> Vec<Fact> {
    let grams = Mass::grams;
    let text = str::to_owned;
    let usd = |cents| Money { amount: Decimal::new(cents, 2), currency: Currency::parse("USD").unwrap() };
    let price = Price { amount: Decimal::new(400, 2), currency: Currency::parse("USD").unwrap(), per: PriceUnit::Pound };
    let rest = |count, since| Rest {
        load: grams(count),
        shown: Displayed { count, exponent: -3 },
        unit: Unit::Kilogram,
        since: Moment(since),
    };
    let (bin, other, fill, grade, buyer, feed) = (BinId(5), BinId(6), FillId(5), GradeId(2), BuyerId(4), FeedId(3));
    let session = SessionId(8);
    let (division, reason) = (grams(1), text("as told"));
    let drop = |step, mass, doubt| Fact::DropLanded {
        step: StepId(step),
        bin: Some(bin),
        fill: Some(fill),
        session: Some(session),
        leg: Some(1),
        mass,
        doubt,
        transfer: None,
    };
    vec![
        /* 1 */ Fact::StoreFounded { program: text("bismar 0.1.0") },
        /* 2 */ Fact::GradeMade { name: text("bright wire") },
        /* 3 */ Fact::FeedMade { name: text("mains \"leads\"\twith plugs \u{2013} 2 m") },
        /* 4 */ Fact::BuyerMade { name: text("the yard") },
        /* 5 */
        Fact::BinMade { number: 1, name: Some(text("copper")), grade: Some(grade), tare: Some(grams(350)), capacity: None },
        /* 6 */ Fact::BinMade { number: 2, name: None, grade: None, tare: None, capacity: Some(grams(20_000)) },
        /* 7 */
        Fact::EpochOpened {
            cause: EpochCause::PowerUp,
            unit: Unit::Kilogram,
            display: Kind::Gross,
            division,
            scale: Some(text("serial 17")),
        },
        /* 8 */ Fact::SessionStarted { feed: Some(feed) },
        /* 9 */ Fact::BinChosen { bin: Some(bin) },
        /* 10 */
        Fact::Stepped { act: Act::Added, delta: grams(57), landed: Moment(900), from: rest(0, 100), to: rest(57, 1000) },
        /* 11 */ drop(10, grams(57), Some(Doubt::NotTheBin { expected: grams(350), perhaps: Some(other) })),
        /* 12 */ Fact::DropRevised { entry: EntryId(11), mass: grams(58) },
        /* 13 */ Fact::Confirmed { entry: EntryId(11), why: Confirmation::Stayed },
        /* 14 */
        Fact::Stepped { act: Act::Removed, delta: grams(-20), landed: Moment(1900), from: rest(57, 1000), to: rest(37, 2000) },
        /* 15 */
        Fact::TakenOut { step: StepId(14), bin: Some(bin), fill: Some(fill), session: Some(session), mass: grams(20) },
        /* 16 */ Fact::Confirmed { entry: EntryId(15), why: Confirmation::PanCleared },
        /* 17 */
        Fact::Stepped { act: Act::Cleared, delta: grams(-37), landed: Moment(2900), from: rest(37, 2000), to: rest(0, 3000) },
        /* 18 */ drop(17, Mass::from_femtograms(453_592_370_000_000_000), Some(Doubt::PerhapsTheBin)),
        /* 19 */ Fact::Cancelled { entry: EntryId(18), why: Cancellation::WasTheBin },
        /* 20 */ drop(17, grams(5), Some(Doubt::PerhapsRepeated { of: None })),
        /* 21 */ Fact::Confirmed { entry: EntryId(20), why: Confirmation::EpochEnded },
        /* 22 */ Fact::DropVoided { entry: EntryId(20), which: Void::TakenOutNow, reason: reason.clone() },
        /* 23 */
        Fact::DropsMoved { entries: vec![EntryId(11), EntryId(15)], bin: other, fill: FillId(6), reason: reason.clone() },
        /* 24 */
        Fact::DropAdjusted {
            entry: EntryId(11),
            mass: grams(60),
            source: Source::YardScale { division },
            reason: reason.clone(),
        },
        /* 25 */
        Fact::SetDown {
            step: Some(StepId(17)),
            bin,
            gross: grams(350),
            known_by: KnownBy::FirstSight,
            expected: None,
            lighter_by: None,
        },
        /* 26 */ Fact::Lifted { step: StepId(17), bin: None, gross: grams(350) },
        /* 27 */ Fact::CrumbsSettled { bin: None, fill: None, mass: Mass::from_femtograms(-3) },
        /* 28 */ Fact::MannerChosen { manner: Manner::Sort },
        /* 29 */ Fact::SessionPaused { session },
        /* 30 */ Fact::SessionResumed { session },
        /* 31 */ Fact::LegBegan { session, feed: None },
        /* 32 */ Fact::SessionEnded { session },
        /* 33 */
        Fact::BinChanged {
            bin,
            change: BinChange {
                number: Some(7),
                name: Set::To(None),
                grade: Set::To(Some(grade)),
                tare: Set::Keep,
                capacity: Set::To(Some(grams(9000))),
                litres: Set::Keep,
                retired: Some(false),
            },
        },
        /* 34 */ Fact::GradeChanged { grade, change: NameChange { name: Some(text("bare bright")), retired: None } },
        /* 35 */ Fact::FeedChanged { feed, change: NameChange { name: None, retired: Some(true) } },
        /* 36 */ Fact::BuyerChanged { buyer, change: NameChange::default() },
        /* 37 */
        Fact::QuoteGiven {
            buyer,
            grade,
            price,
            day: date(2026, 3, 1),
            stale_after: Some(14),
            breaks: vec![Break { from: grams(50_000), amount: Decimal::new(4125, 3) }],
            minimum: Some(grams(1000)),
            deduction: Some(Decimal::new(25, 1)),
        },
        /* 38 */ Fact::QuoteWithdrawn { quote: QuoteId(37), reason: reason.clone() },
        /* 39 */
        Fact::OpeningStock {
            bin,
            fill,
            mass: grams(4000),
            source: Source::Estimate { low: grams(3500), high: grams(4500) },
            reason: reason.clone(),
        },
        /* 40 */
        Fact::WeightEntered {
            bin: Some(bin),
            fill: Some(fill),
            session: None,
            mass: grams(700),
            source: Source::HangingScale { division: grams(20) },
            reason: reason.clone(),
        },
        /* 41 */
        Fact::BinTipped { from: bin, from_fill: fill, to: other, to_fill: FillId(6), mass: grams(4700), reason: reason.clone() },
        /* 42 */ Fact::BinEmptied { bin: other, fill: FillId(6), reason },
        /* 43 */ Fact::GapMarked { lost: 12 },
        /* 44 */
        Fact::CheckWeighed {
            nominal: grams(1000),
            shown: grams(999),
            within: None,
            source: None,
            division: None,
            scale: None,
            drop: None,
        },
        /* 45 */
        Fact::MinutesSpent {
            what: text("driving"),
            span: Span::seconds(1800),
            day: date(2026, 3, 2),
            session: Some(session),
            lot: None,
            part: None,
        },
        /* 46 */
        Fact::RunMade {
            buyer,
            day: date(2026, 3, 2),
            fills: vec![FillId(6)],
            distance_km: Some(Decimal::new(125, 1)),
            span: Some(Span::seconds(3600)),
            cost: Some(usd(350)),
        },
        /* 47 */
        Fact::TicketEntered {
            buyer,
            day: date(2026, 3, 2),
            run: Some(46),
            number: Some(text("A-113")),
            lines: vec![TicketLine {
                text: text("#1 CU"),
                grade: Some(grade),
                fill: Some(FillId(6)),
                gross: Some(grams(5000)),
                tare: None,
                net: grams(4700),
                price: Some(price),
                amount: usd(4145),
            }],
            deductions: vec![usd(200)],
            total: usd(3945),
        },
        /* 48 */ Fact::EpochClosed { pending: Mass::ZERO, forgiven: Mass::from_femtograms(400_000_000_000_000) },
        /* 49 */ Fact::Bridged { verdict: Bridge::SameLoad, found: grams(57), expected: Some(grams(57)) },
        /* 50 */ Fact::CaughtUp { bin, fill: FillId(41), mass: grams(90) },
        /* 51 */ Fact::TakenBack { drop: EntryId(11), removal: EntryId(15) },
        /* 52 */ Fact::DropDoubted { entry: EntryId(11) },
        /* 53 */ Fact::HandSettled { removal: EntryId(15), reason: text("into the vice") },
        /* 54 */
        Fact::SetDown {
            step: None,
            bin,
            gross: grams(357),
            known_by: KnownBy::Choice,
            expected: Some(grams(350)),
            lighter_by: Some(grams(1)),
        },
        /* 55 */ Fact::StillnessSeen { session, span: Span::seconds(1260) },
        /* 56 */ Fact::StillnessTold { stillness: 55, session, away: true },
        /* 57 */ Fact::PressTrialBegan {},
        /* 58 */ Fact::PressFelt {},
        /* 59 */ Fact::PressSwitched { on: true },
    ]
}

/// Lines that come twice, and intakes.
fn intakes() -> Vec<Fact> {
    let grams = Mass::grams;
    let rest = |count, since| Rest {
        load: grams(count),
        shown: Displayed { count, exponent: -3 },
        unit: Unit::Kilogram,
        since: Moment(since),
    };
    let drop = |step, doubt| Fact::DropLanded {
        step: StepId(step),
        bin: None,
        fill: None,
        session: None,
        leg: None,
        mass: grams(57),
        doubt,
        transfer: None,
    };
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::FeedMade { name: "laptop adapters".to_owned() },
        /* 3 */ Fact::SessionStarted { feed: None },
        /* 4 */ Fact::MannerChosen { manner: Manner::Pan },
        /* 5 */
        Fact::EpochOpened {
            cause: EpochCause::Link,
            unit: Unit::Kilogram,
            display: Kind::Gross,
            division: grams(1),
            scale: None,
        },
        /* 6 */
        Fact::Stepped { act: Act::Added, delta: grams(57), landed: Moment(900), from: rest(0, 100), to: rest(57, 1000) },
        /* 7 */ drop(6, None),
        /* 8 */ Fact::SentAgain { rest: rest(57, 2000) },
        /* 9 */ drop(8, Some(Doubt::PerhapsRepeated { of: Some(EntryId(7)) })),
        /* 10 */ Fact::Confirmed { entry: EntryId(9), why: Confirmation::PanCleared },
        /* 11 */ Fact::IntakeAsked { feed: Some(FeedId(2)) },
        /* 12 */ Fact::IntakeWithdrawn {},
        /* 13 */ Fact::IntakeAsked { feed: None },
        /* 14 */
        Fact::Stepped { act: Act::Added, delta: grams(943), landed: Moment(2900), from: rest(57, 2000), to: rest(1000, 3000) },
        /* 15 */
        Fact::IntakeLanded { step: StepId(14), feed: None, session: Some(SessionId(3)), leg: Some(1), mass: grams(943) },
        /* 16 */ Fact::Confirmed { entry: EntryId(15), why: Confirmation::PanCleared },
        /* 17 */ Fact::LotTold { lot: LotId(15), feed: FeedId(2) },
    ]
}

/// The life of a lot.
fn lots() -> Vec<Fact> {
    let source = Source::YardScale { division: Mass::grams(20) };
    let (feed, lot, reason) = (FeedId(2), LotId(4), "weighed at the gate".to_owned());
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::FeedMade { name: "washing machine motors".to_owned() },
        /* 3 */ Fact::SessionStarted { feed: Some(feed) },
        /* 4 */
        Fact::LotEntered { feed, session: Some(SessionId(3)), mass: Mass::grams(41_280), source, reason },
        /* 5 */
        Fact::MinutesSpent {
            what: "at the vice".to_owned(),
            span: Span::seconds(720),
            day: date(2026, 3, 2),
            session: None,
            lot: Some(lot),
            part: None,
        },
        /* 6 */ Fact::LotClosed { lot },
        /* 7 */ Fact::LotReopened { lot },
        /* 8 */ Fact::LotClosed { lot },
    ]
}

/// Check weights that say what they are.
fn checks() -> Vec<Fact> {
    let milligrams = |count: i128| Mass::from_femtograms(count * 1_000_000_000_000);
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */
        Fact::CheckWeighed {
            nominal: Mass::grams(1000),
            shown: Mass::grams(1001),
            within: Some(milligrams(50)),
            source: Some("test weight of class M1".to_owned()),
            division: Some(Mass::grams(1)),
            scale: Some("serial 17".to_owned()),
            drop: None,
        },
        /* 3 */
        Fact::CheckWeighed {
            nominal: Mass::grams(200),
            shown: Mass::grams(200),
            within: None,
            source: Some("40 coins of 5 g, by the mint's page".to_owned()),
            division: Some(milligrams(100)),
            scale: None,
            drop: None,
        },
    ]
}

fn events(facts: Vec<Fact>) -> Vec<Event> {
    let event = |(seq, fact): (u64, Fact)| Event {
        store: StoreId(0x0123_4567_89ab_cdef_0123_4567_89ab_cdef),
        seq,
        schema: SCHEMA,
        boot: BootId(0x1d),
        mono: Moment(seq * 1_000_000_007),
        wall: jiff::Timestamp::new(1_772_323_200 + seq as i64, 123_456_789 * (seq as i32 % 2)).unwrap(),
        sure: seq % 3 != 0,
        bench: BenchId(1),
        epoch: u64::from(seq >= 7),
        cause: (seq % 4 == 0).then(|| format!("key {seq}")),
        fact,
    };
    (1..).zip(facts).map(event).collect()
}

/// The lines of all events, some of them in one batch.
fn text(events: &[Event]) -> Vec<u8> {
    let mut prev = LineHash::genesis(events[0].store);
    let mut text = Vec::new();
    for event in events {
        let part = if (10..=12).contains(&event.seq) { (event.seq as u32 - 9, 3) } else { (1, 1) };
        let line = encode(event, prev, part).unwrap();
        prev = LineHash::of(&line);
        text.extend(line);
        text.push(b'\n');
    }
    text
}

#[test]
fn recorded_lines_are_read_and_written_the_same() {
    let rolls = rolls();
    for wanted in 0..KINDS {
        let sampled = rolls.iter().flat_map(|(_, events)| events).any(|event| kind(&event.fact) == wanted);
        assert!(sampled, "no sample of kind {wanted}");
    }
    for (path, events) in &rolls {
        if std::env::var_os("BISMAR_WRITE_FIXTURES").is_some() && !path.exists() {
            std::fs::write(path, text(events)).unwrap();
        }
        let recorded = std::fs::read(path).expect("the recorded lines");
        let lines: Vec<&[u8]> = recorded.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()).collect();
        let mut prev = LineHash::genesis(events[0].store);
        for (line, event) in lines.iter().zip(events) {
            let (header, found) = decode(line).unwrap();
            assert_eq!(&found, event);
            assert_eq!(header.prev, prev);
            assert_eq!(encode(&found, prev, header.part).unwrap(), *line);
            prev = LineHash::of(line);
        }
        assert_eq!(lines.len(), events.len(), "{}", path.display());
    }
}

#[test]
fn the_recorded_rolls_open() {
    for (path, events) in rolls() {
        let home = tempfile::tempdir().unwrap();
        std::fs::create_dir(home.path().join("roll")).unwrap();
        std::fs::copy(path, home.path().join("roll/000000000001.roll")).unwrap();
        let mut books = Books::default();
        for event in events {
            books.apply(&event).unwrap();
        }
        assert_eq!(crate::support::open_sound(home.path(), &bismar::store::RealDisk, true).books, books);
    }
}

/// Every single changed byte of a line is noticed.
#[test]
fn a_changed_byte_is_refused() {
    for (_, events) in rolls() {
        let text = text(&events);
        for line in text.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()).step_by(5) {
            for at in 0..line.len() {
                let mut changed = line.to_vec();
                changed[at] ^= 0x04;
                assert!(decode(&changed).is_err(), "byte {at} of {}", String::from_utf8_lossy(line));
            }
        }
    }
}
