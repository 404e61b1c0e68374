//! What an hour is worth, by feed: what came out of the lots that are worked off, and what taking them apart added.
//!
//! Each quote is taken at its first price with its deduction, without quantity breaks and minimum lots: those hang on what
//! one trip brings, and a lot is only a part of it.

use super::lot_tally::{NO_GRADE, Tally, tallies};
use super::{Apart, days_between};
use crate::economy::basis::Basis;
use crate::economy::break_even::{self, BreakEven, GradeShare};
use crate::economy::pay::{Added, NoPay, Output, Whole, WorkedLot, added};
use crate::economy::quotes::{InForce, MONEY_PLACES, MONEY_RULE, Terms, in_force};
use crate::economy::yields::{FeedLot, Recovery, Yields, yields};
use crate::facts::books::{Quote, between};
use crate::facts::{Books, BuyerId, FeedId, GradeId};
use crate::measure::{Currency, Mass, Money, Price, PriceUnit, Rounding, Span, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;

/// Decimals of a price per kilogram that is only compared.
const COMPARED_PLACES: u32 = 9;

/// What is asked.
#[derive(Debug, Clone)]
pub struct HourQuestion {
    pub now: Stamp,
    /// Today, in the zone.
    pub today: Date,
    /// The report as of the end of this day, with every correction made since; none means now.
    pub as_of: Option<Date>,
    pub zone: TimeZone,
    /// Days after which a quote is called stale unless it says otherwise itself.
    pub stale_after: u16,
    /// Taken where any quote is in it; else the first by its letters of those that the quotes are in.
    pub currency: Currency,
    /// The prices of this buyer alone; none means the best quote for each grade.
    pub buyer: Option<BuyerId>,
    /// "I would have left it": the owner says so of every feed that nobody buys whole.
    pub left: bool,
    /// What an hour must bring, in the currency of the report.
    pub floor: Decimal,
}

#[derive(Debug, Clone, PartialEq)]
pub struct HourReport {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    pub basis: Basis,
    /// The buyer of whom the prices are, where it is one.
    pub buyer: Option<String>,
    pub currency: Currency,
    pub floor: Decimal,
    /// By what an hour adds, the most first; feeds without a figure behind, by name.
    pub feeds: Vec<FeedHour>,
    pub apart: Apart,
}

/// One feed.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedHour {
    pub feed: FeedId,
    pub name: String,
    /// None while no lot is closed.
    pub yields: Option<Yields>,
    pub open_lots: usize,
    /// In the order of the yields.
    pub grades: Vec<GradeHour>,
    /// By the clock of the bench, pauses and told time away left out.
    pub at_bench: Span,
    /// Told of the lots, away from the bench.
    pub off_bench: Span,
    pub clock_sure: bool,
    /// Stillness in those hours of which nobody has said whether it was work.
    pub untold: Span,
    /// Taken out of bins in those hours: not taken off what came out, since nobody knows of which lot it was.
    pub taken_out: Mass,
    /// The outputs that have a value, over all of the intake.
    pub per_kilogram: Option<Decimal>,
    pub whole: WholeSaid,
    pub pay: Result<Added, NoPay>,
    /// The hands-on time within which the same outputs bring the floor.
    pub time: Option<BreakEven<Span>>,
}

/// What the feed would bring as it came.
#[derive(Debug, Clone, PartialEq)]
pub enum WholeSaid {
    /// There is a quote for a grade of the feed's own name.
    Quoted(Priced),
    /// The owner says that it would have been left.
    Left,
    Unknown,
}

/// What came out as one grade.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeHour {
    /// None for what lies in no bin, or in one without a grade.
    pub name: Option<String>,
    pub recovery: Recovery,
    pub price: Option<Priced>,
    /// Summed over the lots, each rounded once.
    pub value: Option<Money>,
    /// The price of a kilogram at which an hour brings the floor.
    pub price_needed: Option<BreakEven<Decimal>>,
    /// The part of the intake that must come out as this grade.
    pub share_needed: Option<BreakEven<Decimal>>,
}

/// The quote that a value stands on.
#[derive(Debug, Clone, PartialEq)]
pub struct Priced {
    pub buyer: String,
    pub price: Price,
    /// Per cent that the buyer takes off the weight.
    pub deduction: Option<Decimal>,
    pub day: Date,
    pub age_days: i64,
    pub stale: bool,
}

impl Priced {
    fn value(&self, mass: Mass) -> Option<Money> {
        self.price.value_less(mass, self.deduction, MONEY_PLACES, MONEY_RULE)
    }

    /// A kilogram's price with the deduction off.
    pub fn per_kilogram(&self) -> Option<Decimal> {
        per_kilogram(&self.price, self.deduction)
    }
}

fn per_kilogram(price: &Price, deduction: Option<Decimal>) -> Option<Decimal> {
    let money = price.value_less(PriceUnit::Kilogram.mass(), deduction, COMPARED_PLACES, Rounding::HalfEven)?;
    Some(money.amount)
}

/// Answers the question from the books.
pub fn hour(books: &Books, question: &HourQuestion) -> HourReport {
    let day = question.as_of.unwrap_or(question.today);
    let in_use = |quote: &Quote| books.buyers.get(&quote.buyer).is_some_and(|buyer| !buyer.retired);
    let held = in_force(books.quotes.iter().filter(|(_, quote)| in_use(quote)).map(|(id, quote)| (*id, quote)), day);
    let usual = held.keys().any(|(_, _, currency)| *currency == question.currency);
    let first = held.keys().map(|(_, _, currency)| *currency).min();
    let currency = if usual { question.currency } else { first.unwrap_or(question.currency) };
    let prices = Prices { books, held, currency, day, question };
    let (tallies, apart) = tallies(books, question);
    let feeds = books.feeds.iter().filter_map(|(id, feed)| {
        let lots: Vec<&Tally> = tallies.values().filter(|tally| tally.feed == *id).collect();
        (!lots.is_empty()).then(|| feed_hour(&prices, *id, &feed.name, &lots))
    });
    let mut feeds: Vec<FeedHour> = feeds.collect();
    let adds = |feed: &FeedHour| feed.pay.as_ref().ok().and_then(|pay| pay.hands_on.point());
    feeds.sort_by(|a, b| adds(b).cmp(&adds(a)).then_with(|| a.name.cmp(&b.name)));
    HourReport {
        seq: books.seq,
        day,
        basis: prices.basis(),
        buyer: question.buyer.and_then(|buyer| books.buyers.get(&buyer)).map(|buyer| buyer.name.clone()),
        currency,
        floor: question.floor,
        feeds,
        apart,
    }
}

/// The buyer of a name, in use; letter case does not matter.
pub fn buyer_named(books: &Books, name: &str) -> Option<BuyerId> {
    let found = books.buyers.iter().find(|(_, buyer)| !buyer.retired && same(&buyer.name, name));
    found.map(|(id, _)| *id)
}

fn same(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// The quotes that the report stands on.
struct Prices<'a> {
    books: &'a Books,
    held: InForce<'a>,
    currency: Currency,
    day: Date,
    question: &'a HourQuestion,
}

impl Prices<'_> {
    fn basis(&self) -> Basis {
        Basis::Quotes { day: self.day, buyer: self.question.buyer }
    }

    /// The best quote for a grade, or the one of the buyer who is asked about.
    fn of(&self, grade: GradeId) -> Option<Priced> {
        let wanted = |buyer: BuyerId| self.question.buyer.is_none_or(|only| only == buyer);
        let quotes =
            self.held.iter().filter(|((of, buyer, currency), _)| *of == grade && *currency == self.currency && wanted(*buyer));
        let best = quotes.max_by_key(|(_, (_, quote))| per_kilogram(&quote.price, quote.deduction))?;
        let quote = best.1.1;
        Some(Priced {
            buyer: self.books.buyers.get(&quote.buyer).map(|buyer| buyer.name.clone()).unwrap_or_default(),
            price: quote.price,
            deduction: quote.deduction,
            day: quote.day,
            age_days: days_between(quote.day, self.day),
            stale: Terms::from(quote).is_stale(self.day, self.question.stale_after),
        })
    }

    /// A quote for the feed as it comes: one for a grade of the same name.
    fn whole(&self, feed: &str) -> WholeSaid {
        let grade = self.books.grades.iter().find(|(_, grade)| !grade.retired && same(&grade.name, feed));
        match grade.and_then(|(id, _)| self.of(*id)) {
            Some(priced) => WholeSaid::Quoted(priced),
            None if self.question.left => WholeSaid::Left,
            None => WholeSaid::Unknown,
        }
    }
}

fn feed_hour(prices: &Prices, feed: FeedId, name: &str, lots: &[&Tally]) -> FeedHour {
    let closed: Vec<&&Tally> = lots.iter().filter(|lot| lot.closed.is_some()).collect();
    let whole = prices.whole(name);
    let worked: Vec<WorkedLot> = lots.iter().map(|lot| worked(prices, &whole, lot)).collect();
    let feed_lots: Vec<FeedLot> = lots.iter().map(|lot| feed_lot(lot)).collect();
    let yields = yields(&feed_lots);
    let pay = added(&worked);
    let intake = yields.as_ref().map_or(Mass::ZERO, |yields| yields.intake);
    let sums = pay.as_ref().ok().map(|pay| pay.sums);
    let grade_hour = |recovery: &Recovery| {
        let price = prices.of(recovery.grade);
        let masses = closed.iter().filter_map(|lot| lot.outputs.get(&recovery.grade)).map(|output| output.weighed.mass);
        let nothing = Money { amount: Decimal::new(0, MONEY_PLACES), currency: prices.currency };
        let value = price
            .as_ref()
            .and_then(|price| masses.map(|mass| price.value(mass)).try_fold(nothing, |sum, value| sum.plus(value?)));
        let share = GradeShare { mass: recovery.mass, value: value.map_or(Decimal::ZERO, |value| value.amount) };
        let floor = prices.question.floor;
        let graded = sums.filter(|_| recovery.grade != NO_GRADE);
        GradeHour {
            name: prices.books.grades.get(&recovery.grade).map(|grade| grade.name.clone()),
            recovery: recovery.clone(),
            price_needed: graded.and_then(|sums| break_even::price(&sums, share, floor)),
            share_needed: graded.and_then(|sums| break_even::recovery(&sums, share, intake, floor)),
            price,
            value,
        }
    };
    let grades: Vec<GradeHour> = yields.iter().flat_map(|yields| &yields.grades).map(grade_hour).collect();
    let valued = grades.iter().filter_map(|grade| grade.value);
    let total = valued.map(|value| value.amount).reduce(|sum, value| sum.saturating_add(value));
    let span = |of: fn(&Tally) -> Span| closed.iter().fold(Span::ZERO, |sum, lot| sum.plus(of(lot)));
    FeedHour {
        feed,
        name: name.to_owned(),
        open_lots: lots.len() - closed.len(),
        at_bench: span(|lot| lot.at_bench),
        off_bench: span(|lot| lot.off_bench),
        untold: span(|lot| lot.untold),
        clock_sure: closed.iter().all(|lot| lot.clock_sure),
        taken_out: closed.iter().map(|lot| lot.taken_out).sum(),
        per_kilogram: total.and_then(|total| total.checked_div(kilograms(intake)?)),
        time: sums.and_then(|sums| break_even::time(&sums, prices.question.floor)),
        yields,
        grades,
        whole,
        pay,
    }
}

fn feed_lot(lot: &Tally) -> FeedLot {
    let outputs = lot.outputs.iter().map(|(grade, output)| (*grade, output.weighed)).collect();
    FeedLot { closed: lot.closed.is_some(), intake: lot.intake, outputs }
}

fn worked(prices: &Prices, whole: &WholeSaid, lot: &Tally) -> WorkedLot {
    let nothing = Money { amount: Decimal::ZERO, currency: prices.currency };
    let output = |(grade, output): (&GradeId, &super::lot_tally::Sum)| {
        let mass = output.weighed.mass;
        Output { mass, value: prices.of(*grade).and_then(|price| price.value(mass)) }
    };
    WorkedLot {
        closed: lot.closed.is_some(),
        outputs: lot.outputs.iter().map(output).collect(),
        basis: prices.basis(),
        whole: match whole {
            WholeSaid::Quoted(price) => {
                price.value(lot.intake.mass).map_or(Whole::Unknown, |value| Whole::Worth { value, basis: prices.basis() })
            }
            WholeSaid::Left => Whole::LeftIt,
            WholeSaid::Unknown => Whole::Unknown,
        },
        consumables: nothing,
        disposal: nothing,
        hands_on: lot.at_bench.plus(lot.off_bench),
        elapsed: lot.closed.map_or(Span::ZERO, |closed| between(&lot.opened, &closed.at).0),
    }
}

/// Kilograms above nothing.
fn kilograms(mass: Mass) -> Option<Decimal> {
    Decimal::try_from_i128_with_scale(mass.femtograms(), 18).ok().filter(|kilograms| *kilograms > Decimal::ZERO)
}

#[cfg(test)]
mod tests {
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
}
