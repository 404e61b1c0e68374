//! Tests of what an hour is worth.

use super::*;
use crate::facts::{
    ArrivalCame, JobPart, LotBegun, LotDescribed, LotDrawn, LotWaited, MoneySpent, RecordVoided, Set, SpendingSort, TrialBegan,
};
use crate::facts::{BenchId, BinId, Event, Fact, FillId, LotId, SCHEMA, SessionId, Source, StoreId};
use crate::measure::{BootId, Moment, Price, PriceUnit};
use jiff::civil::date;
use proptest::prelude::*;

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
        floor: None,
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

/// The books of two days with more of their events behind.
fn and(more: &[Fact]) -> Books {
    let mut books = two_days();
    for fact in more {
        let seq = books.seq + 1;
        books.apply(&event(seq, 94_000 + seq as i64, fact.clone())).unwrap();
    }
    books
}

fn reported(books: &Books) -> HourReport {
    HourReport { seq: 0, ..hour(books, &question(None, true, "EUR")) }
}

/// A record that can be taken back. Lots 9 and 18 and the session 17 are those of the two days.
fn record() -> impl Strategy<Value = Fact> {
    let day = || (1_i8..=2).prop_map(|day| date(2026, 3, day));
    let money = || (1_i64..10_000).prop_map(|cents| Money { amount: Decimal::new(cents, 2), currency: euro() });
    let lot = || prop_oneof![Just(LotId(9)), Just(LotId(18))];
    let span = || (1_u64..20_000).prop_map(Span::seconds);
    let sort = prop_oneof![Just(SpendingSort::Consumables), Just(SpendingSort::Disposal)];
    prop_oneof![
        (day(), money(), proptest::option::of(lot()), sort).prop_map(|(day, amount, lot, sort)| {
            Fact::MoneySpent(MoneySpent { sort, what: "gas".into(), day, amount, buyer: None, feed: None, lot })
        }),
        (day(), span(), lot(), any::<bool>()).prop_map(|(day, span, lot, clock_ran)| {
            Fact::LotWaited(LotWaited { lot, what: "soaking".into(), span, day, clock_ran })
        }),
        (day(), span(), proptest::option::of(lot())).prop_map(|(day, span, lot)| {
            let part = Some(JobPart::Fetching).filter(|_| lot.is_none());
            Fact::MinutesSpent { what: "driving".into(), span, day, session: None, lot, part }
        }),
        (day(), proptest::option::of(money()), span()).prop_map(|(day, paid, span)| {
            let (from, what, span) = ("a refit".to_owned(), "taps".to_owned(), Some(span));
            Fact::ArrivalCame(Box::new(ArrivalCame {
                from,
                day,
                what,
                feed: None,
                mass: None,
                pieces: None,
                paid,
                span,
                distance_km: None,
            }))
        }),
        span().prop_map(|span| Fact::TrialBegan(TrialBegan { session: SessionId(17), leg: 1, feed: FeedId(2), span })),
    ]
}

proptest! {
    #[test]
    fn a_record_and_its_void_are_nothing(before in proptest::collection::vec(record(), 0..5), wrong in record(), after in proptest::collection::vec(record(), 0..5)) {
        let at = 20 + before.len() as u64 + 1;
        let void = Fact::RecordVoided(RecordVoided { record: at, reason: "told twice".into() });
        let with: Vec<Fact> = before.iter().cloned().chain([wrong.clone()]).chain(after.iter().cloned()).chain([void]).collect();
        // What fills its place says nothing of any figure, so that the numbers of the others stay.
        let nothing = Fact::BinChosen { bin: None };
        let without: Vec<Fact> =
            before.iter().cloned().chain([nothing.clone()]).chain(after.iter().cloned()).chain([nothing]).collect();
        prop_assert_eq!(reported(&and(&with)), reported(&and(&without)));
        let told: Vec<Fact> = before.into_iter().chain([wrong]).chain(after).collect();
        prop_assert_ne!(reported(&and(&told)), reported(&and(&without)), "it did say something");
    }

    /// Sixteen ounces are a pound and a hundred pounds a hundredweight: each figure is the same to the last digit.
    #[test]
    fn the_units_of_the_input_change_no_answer(pounds in 1_u32..200, out in 1_u32..100, cents in 1_i64..2000, spent in 0_i64..900) {
        let books = |intake: Mass, out: Mass, price: Price| {
            let (session, reason) = (SessionId(17), String::new);
            let source = Source::Label { division: Mass::grams(1) };
            let amount = Money { amount: Decimal::new(spent, 2), currency: euro() };
            let (feed, lot) = (FeedId(2), LotId(23));
            and(&[
                /* 21 */ Fact::LegBegan { session, feed: Some(feed) },
                /* 22 */
                Fact::QuoteGiven {
                    buyer: BuyerId(4),
                    grade: GradeId(3),
                    price,
                    day: date(2026, 3, 2),
                    stale_after: None,
                    breaks: Vec::new(),
                    minimum: None,
                    deduction: None,
                },
                /* 23 */
                Fact::LotBegun(Box::new(LotBegun {
                    feed,
                    session: Some(session),
                    mass: Some(intake),
                    source: Some(source.clone()),
                    pieces: Some(3),
                    depth: Some("bare".into()),
                    reason: reason(),
                })),
                /* 24 */
                Fact::WeightEntered { bin: Some(BinId(5)), fill: Some(FillId(5)), session: Some(session), mass: out, source, reason: reason() },
                /* 25 */
                Fact::MoneySpent(MoneySpent { sort: SpendingSort::Consumables, what: "gas".into(), day: date(2026, 3, 2), amount, buyer: None, feed: None, lot: Some(lot) }),
                /* 26 */ Fact::LotClosed { lot },
            ])
        };
        let of = |count: u32, unit| Mass::parse(&count.to_string(), unit).unwrap();
        use crate::measure::Unit::{Ounce, Pound};
        let price = |amount: i64, places, per| Price { amount: Decimal::new(amount, places), currency: euro(), per };
        let one = books(of(pounds, Pound), of(out, Pound), price(cents, 2, PriceUnit::Pound));
        let other = books(of(pounds * 16, Ounce), of(out * 16, Ounce), price(cents, 0, PriceUnit::ShortHundredweight));
        let figures = |report: HourReport| -> Vec<_> {
            let feeds = report.feeds.into_iter().map(|feed| (feed.depth, feed.pay, feed.per_kilogram, feed.per_piece, feed.time, feed.yields));
            feeds.collect()
        };
        let (one, other) = (reported(&one), reported(&other));
        prop_assert_eq!(one.job.clone(), other.job.clone());
        prop_assert_eq!(figures(one), figures(other));
    }
}

#[test]
fn a_void_of_a_draw_gives_the_bin_its_content_back() {
    let draw = Fact::LotDrawn(Box::new(LotDrawn {
        step: None,
        bin: BinId(5),
        fill: FillId(5),
        feed: Some(FeedId(2)),
        session: None,
        leg: None,
        mass: Mass::grams(500),
        source: Some(Source::Label { division: Mass::grams(1) }),
        pieces: None,
        depth: None,
        reason: None,
    }));
    let void =
        Fact::DropVoided { entry: crate::facts::EntryId(21), which: crate::facts::Void::NeverMaterial, reason: String::new() };
    let drawn = and(std::slice::from_ref(&draw));
    assert_eq!((drawn.fills[&FillId(5)].mass, drawn.lot_mass(LotId(21))), (Mass::grams(2500), Some(Mass::grams(500))));
    let adjust = |mass| {
        let source = Source::Label { division: Mass::grams(1) };
        Fact::DropAdjusted { entry: crate::facts::EntryId(21), mass, source, reason: String::new() }
    };
    let mended = and(&[draw.clone(), adjust(Mass::grams(400))]);
    assert_eq!((mended.fills[&FillId(5)].mass, mended.lot_mass(LotId(21))), (Mass::grams(2600), Some(Mass::grams(400))));
    let undone = and(&[draw, void]);
    assert_eq!(undone.fills[&FillId(5)].mass, Mass::grams(3000));
    assert_eq!(reported(&undone), reported(&two_days()));
}

#[test]
fn each_depth_is_a_row_of_its_own_and_all_rows_make_up_the_feed() {
    let described = |lot| {
        let (pieces, arrival) = (Set::Keep, Set::Keep);
        Fact::LotDescribed(LotDescribed { lot, depth: Set::To(Some("bare".into())), pieces, arrival })
    };
    let pooled = reported(&two_days());
    let split = reported(&and(&[described(LotId(18))]));
    let names: Vec<_> = split.feeds.iter().map(|feed| (feed.name.as_str(), feed.depth.as_deref())).collect();
    assert_eq!(names, [("motors", Some("bare")), ("motors", None)], "by what an hour adds");
    let sums = |report: &HourReport| {
        let each = report
            .feeds
            .iter()
            .filter_map(|feed| feed.pay.as_ref().ok())
            .map(|pay| (pay.sums.added().unwrap(), pay.sums.hands_on));
        each.fold((Decimal::ZERO, Span::ZERO), |sum, one| (sum.0 + one.0, sum.1.plus(one.1)))
    };
    assert_eq!(sums(&split), sums(&pooled), "total over total");
    let one = split.feeds[0].clone();
    assert_eq!(one.pay.unwrap().hands_on.point().unwrap(), Decimal::from(18), "2 kg at 9.00 in an hour");
}

fn rate(text: &str) -> Fact {
    let rate = crate::measure::Rate::parse(text, euro()).unwrap();
    let (buyer, grade, day, breaks) = (BuyerId(4), GradeId(3), date(2026, 3, 2), Vec::new());
    let quoted = crate::facts::RateQuoted { buyer, grade, rate, day, stale_after: None, breaks, minimum: None, deduction: None };
    Fact::RateQuoted(Box::new(quoted))
}

/// The bin holds the kilogram of the first lot and the two of the second.
fn counted(pieces: u32) -> Fact {
    Fact::PiecesCounted(crate::facts::PiecesCounted { bin: BinId(5), fill: FillId(5), pieces })
}

fn more(grams: i64) -> Fact {
    let (bin, fill, mass) = (Some(BinId(5)), Some(FillId(5)), Mass::grams(grams));
    let (source, reason) = (Source::Label { division: Mass::grams(1) }, String::new());
    Fact::WeightEntered { bin, fill, session: None, mass, source, reason }
}

#[test]
fn what_is_paid_by_the_piece_has_the_value_of_its_count() {
    let feed = |books: &Books| reported(books).feeds[0].clone();
    let none = feed(&and(&[rate("2.50/piece")]));
    assert_eq!((none.pay, none.grades[0].value), (Err(NoPay::NothingHasAQuote), None));
    assert_eq!((none.grades[0].not_counted, none.grades[0].piece_price_needed), (Mass::grams(3000), None));
    let told = feed(&and(&[rate("2.50/piece"), counted(31)]));
    // 31 pieces, a third and two thirds of them: 25.83 and 51.67, each rounded once.
    assert_eq!(told.grades[0].value.unwrap().amount, Decimal::new(7750, 2));
    let pay = told.pay.unwrap();
    assert_eq!((pay.sums.outputs, pay.without_quote), (Decimal::new(7750, 2), Mass::ZERO));
    assert_eq!((told.grades[0].not_counted, told.grades[0].price_needed), (Mass::ZERO, None));
    // At 6.00 an hour its 100 minutes must bring 10.00, and nothing but the 31 pieces brings anything.
    let books = and(&[rate("2.50/piece"), counted(31)]);
    let needed = |floor: i64| {
        let asked = HourQuestion { floor: Some(Decimal::from(floor)), ..question(None, true, "EUR") };
        hour(&books, &asked).feeds[0].grades[0].piece_price_needed
    };
    let each = Decimal::TEN / Decimal::from(31);
    assert_eq!((needed(6), needed(0)), (Some(BreakEven::At(each)), Some(BreakEven::Always)));
    // What came since is not counted; the next count holds again.
    let since = and(&[rate("2.50/piece"), counted(30), more(500)]);
    assert_eq!(feed(&since).grades[0].not_counted, Mass::grams(3000));
    let again = feed(&and(&[rate("2.50/piece"), counted(30), more(500), counted(35)]));
    assert_eq!(again.grades[0].value.unwrap().amount, Decimal::new(7500, 2));
}

#[test]
fn a_count_holds_for_what_was_sold_since() {
    let load = crate::facts::LoadMoved {
        bin: BinId(5),
        fill: FillId(5),
        mass: Mass::grams(-2000),
        why: crate::facts::LoadWhy::GivenAway,
        ticket: None,
        line: None,
        weighed: None,
        whole: false,
        reason: None,
    };
    let books = and(&[rate("2.50/piece"), counted(30), Fact::LoadMoved(Box::new(load))]);
    assert_eq!(reported(&books).feeds[0].grades[0].value.unwrap().amount, Decimal::new(7500, 2));
    // In the stock lies the third that is left.
    assert_eq!(reported(&books).job.job.stock.amount, Decimal::new(2500, 2));
}

#[test]
fn a_charge_is_a_cost_of_being_rid_of_it() {
    let feed = reported(&and(&[rate("-0.50/kg")])).feeds[0].clone();
    let pay = feed.pay.unwrap();
    let sums = (pay.sums.outputs, pay.sums.disposal, pay.sums.added().unwrap());
    assert_eq!(sums, (Decimal::ZERO, Decimal::new(150, 2), Decimal::new(-150, 2)));
    assert_eq!((feed.charges, feed.disposal), (Decimal::new(150, 2), Decimal::new(150, 2)));
    assert_eq!(feed.grades[0].value.unwrap().amount, Decimal::new(-150, 2));
    // At nothing for it the hour would bring nothing, and nothing is asked.
    assert_eq!(feed.grades[0].price_needed, Some(BreakEven::Always));
    let by_piece = reported(&and(&[rate("-0.10/piece"), counted(30)])).feeds[0].clone();
    assert_eq!((by_piece.charges, by_piece.pay.unwrap().sums.outputs), (Decimal::new(300, 2), Decimal::ZERO));
}

#[test]
fn a_price_by_weight_goes_before_one_by_the_piece_and_both_before_a_charge() {
    let other = BuyerId(21);
    let at = |buyer, text: &str| match rate(text) {
        Fact::RateQuoted(quoted) => Fact::RateQuoted(Box::new(crate::facts::RateQuoted { buyer, ..*quoted })),
        other => other,
    };
    let taken = |ours: &str, theirs: &str| {
        let made = Fact::BuyerMade { name: "other".into() };
        let report = reported(&and(&[made, at(BuyerId(4), ours), at(other, theirs)]));
        report.feeds[0].grades[0].price.clone().unwrap().rate.to_string()
    };
    for (better, worse) in [("0.01/kg", "9/piece"), ("0.01/piece", "-1/kg"), ("-1/kg", "-2/kg"), ("-9/kg", "-1/piece")] {
        let wanted = crate::measure::Rate::parse(better, euro()).unwrap().to_string();
        assert_eq!((taken(better, worse), taken(worse, better)), (wanted.clone(), wanted));
    }
}

#[test]
fn what_an_hour_must_bring_is_what_was_told_where_nothing_is_asked() {
    let floor = |amount: &str, currency: &str| {
        let floor = Money { amount: amount.parse().unwrap(), currency: Currency::parse(currency).unwrap() };
        Fact::LimitsTold(crate::facts::LimitsTold { floor: Set::To(Some(floor)), places: Set::Keep })
    };
    let asked = |books: &Books, floor: Option<&str>| {
        let floor = floor.map(|floor| floor.parse().unwrap());
        HourReport { seq: 0, ..hour(books, &HourQuestion { floor, ..question(None, true, "EUR") }) }
    };
    let books = and(&[floor("12.50", "EUR")]);
    let (told, same) = (asked(&books, None), asked(&books, Some("12.50")));
    assert_eq!((told.floor_told, same.floor_told), (true, false));
    assert_ne!(told.feeds, asked(&two_days(), None).feeds, "the break-even is another");
    assert_eq!(HourReport { floor_told: true, ..same }, told);
    let elsewhere = asked(&and(&[floor("12.50", "CHF")]), None);
    assert_eq!((elsewhere.floor, elsewhere.floor_told), (Decimal::ZERO, false));
    assert_eq!(elsewhere.floor_elsewhere.unwrap().amount, Decimal::new(1250, 2));
}
