//! What is told of feeds and lots: the recorded samples of those facts.

use bismar::dialect::Kind;
use bismar::facts::{
    ArrivalCame, BinId, BuyerId, Confirmation, EntryId, Fact, FeedId, FillId, JobPart, LotBegun, LotDescribed, LotDrawn, LotId,
    LotWaited, MoneySpent, RecordVoided, SessionId, Set, Source, SpendingSort, StepId, TrialBegan, TrialEnded,
};
use bismar::measure::{Currency, Displayed, Mass, Moment, Money, Span, Unit};
use bismar::settle::{Act, EpochCause, Rest};
use jiff::civil::date;
use rust_decimal::Decimal;

pub fn facts() -> Vec<Fact> {
    let grams = Mass::grams;
    let (feed, bin, fill, session) = (FeedId(2), BinId(4), FillId(4), SessionId(5));
    let day = date(2026, 3, 2);
    let usd = |cents| Money { amount: Decimal::new(cents, 2), currency: Currency::parse("USD").unwrap() };
    let rest = |count, since| Rest {
        load: grams(count),
        shown: Displayed { count, exponent: -3 },
        unit: Unit::Kilogram,
        since: Moment(since),
    };
    vec![
        /* 1 */ Fact::StoreFounded { program: "bismar 0.1.0".to_owned() },
        /* 2 */ Fact::FeedMade { name: "drill motors".to_owned() },
        /* 3 */ Fact::BuyerMade { name: "the yard".to_owned() },
        /* 4 */ Fact::BinMade { number: 1, name: None, grade: None, tare: None, capacity: None },
        /* 5 */ Fact::SessionStarted { feed: Some(feed) },
        /* 6 */
        Fact::LotBegun(Box::new(LotBegun {
            feed,
            session: Some(session),
            mass: None,
            source: None,
            pieces: Some(40),
            depth: None,
            reason: "counted".to_owned(),
        })),
        /* 7 */
        Fact::EpochOpened {
            cause: EpochCause::Link,
            unit: Unit::Kilogram,
            display: Kind::Gross,
            division: grams(1),
            scale: None,
        },
        /* 8 */
        Fact::LotBegun(Box::new(LotBegun {
            feed,
            session: None,
            mass: Some(grams(12_500)),
            source: Some(Source::HangingScale { division: grams(10) }),
            pieces: Some(9),
            depth: Some("to the windings".to_owned()),
            reason: "too heavy".to_owned(),
        })),
        /* 9 */
        Fact::Stepped { act: Act::Removed, delta: grams(-700), landed: Moment(2900), from: rest(900, 100), to: rest(200, 3000) },
        /* 10 */
        Fact::LotDrawn(Box::new(LotDrawn {
            step: Some(StepId(9)),
            bin,
            fill,
            feed: None,
            session: Some(session),
            leg: Some(1),
            mass: grams(700),
            source: None,
            pieces: None,
            depth: None,
            reason: None,
        })),
        /* 11 */ Fact::Confirmed { entry: EntryId(10), why: Confirmation::Stayed },
        /* 12 */
        Fact::LotDrawn(Box::new(LotDrawn {
            step: None,
            bin,
            fill,
            feed: Some(feed),
            session: None,
            leg: None,
            mass: grams(300),
            source: Some(Source::Label { division: grams(1) }),
            pieces: Some(2),
            depth: Some("further".to_owned()),
            reason: Some("told".to_owned()),
        })),
        /* 13 */
        Fact::ArrivalCame(Box::new(ArrivalCame {
            from: "a kitchen refit".to_owned(),
            day,
            what: "motors and cable".to_owned(),
            feed: Some(feed),
            mass: Some(grams(40_000)),
            pieces: Some(55),
            paid: Some(usd(2000)),
            span: Some(Span::seconds(2700)),
            distance_km: Some(Decimal::new(185, 1)),
        })),
        /* 14 */
        Fact::ArrivalCame(Box::new(ArrivalCame {
            from: "the kerb".to_owned(),
            day,
            what: "a fan".to_owned(),
            feed: None,
            mass: None,
            pieces: None,
            paid: None,
            span: None,
            distance_km: None,
        })),
        /* 15 */
        Fact::LotDescribed(LotDescribed { lot: LotId(8), depth: Set::To(None), pieces: Set::Keep, arrival: Set::To(Some(13)) }),
        /* 16 */
        Fact::LotWaited(LotWaited { lot: LotId(8), what: "soaking".to_owned(), span: Span::seconds(5400), day, clock_ran: true }),
        /* 17 */
        Fact::MoneySpent(MoneySpent {
            sort: SpendingSort::Fees,
            what: "weighing".to_owned(),
            day,
            amount: usd(350),
            buyer: Some(BuyerId(3)),
            feed: None,
            lot: None,
        }),
        /* 18 */
        Fact::MoneySpent(MoneySpent {
            sort: SpendingSort::Disposal,
            what: "oil".to_owned(),
            day,
            amount: usd(125),
            buyer: None,
            feed: Some(feed),
            lot: Some(LotId(8)),
        }),
        /* 19 */
        Fact::TrialBegan(TrialBegan { session, leg: 1, feed, span: Span::seconds(600) }),
        /* 20 */ Fact::TrialEnded(TrialEnded { trial: 19, pieces: Some(4), mass: Some(grams(3100)) }),
        /* 21 */ Fact::TrialEnded(TrialEnded { trial: 19, pieces: None, mass: None }),
        /* 22 */ Fact::RecordVoided(RecordVoided { record: 17, reason: "told twice".to_owned() }),
        /* 23 */
        Fact::MinutesSpent {
            what: "there and back".to_owned(),
            span: Span::seconds(1800),
            day,
            session: None,
            lot: None,
            part: Some(JobPart::Fetching),
        },
    ]
}
