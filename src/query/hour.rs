//! What an hour is worth, by feed: what came out of the lots that are worked off, and what taking them apart added.

use super::Apart;
use super::lot_tally::{Costs, NO_GRADE, Tally, tallies};
use super::trials::{TrialHour, trials};
use super::whole_job::{JobHour, whole_job};
use super::worth::{Brings, Priced, Prices, WholeSaid, same};
use crate::economy::basis::Basis;
use crate::economy::break_even::{self, BreakEven, GradeShare};
use crate::economy::pay::{Added, NoPay, Sums, WorkedLot, added};
use crate::economy::yields::{FeedLot, Recovery, Yields, yields};
use crate::facts::books::between;
use crate::facts::{Books, BuyerId, FeedId, GradeId, Marks};
use crate::measure::{Currency, Mass, Money, Span, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

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
    /// What an hour must bring, in the currency of the report; none means what the owner told.
    pub floor: Option<Decimal>,
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
    /// As asked, else as the owner told it, else nothing.
    pub floor: Decimal,
    /// It is the one that the owner told.
    pub floor_told: bool,
    /// A floor that was told in another currency, and is not compared.
    pub floor_elsewhere: Option<Money>,
    /// By what an hour adds, the most first; feeds without a figure behind, by name.
    pub feeds: Vec<FeedHour>,
    pub job: JobHour,
    /// Newest first.
    pub trials: Vec<TrialHour>,
    pub apart: Apart,
}

/// One feed, taken apart to one depth.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedHour {
    pub feed: FeedId,
    pub name: String,
    /// In the owner's own word; none where nothing was said.
    pub depth: Option<String>,
    /// The owner's, of the feed.
    pub marks: Marks,
    pub closed_lots: usize,
    /// Closed lots that were only counted: in the pay, and in no yield.
    pub counted_lots: usize,
    /// Of the closed lots, where each of them was counted.
    pub pieces: Option<u64>,
    pub per_piece: Option<Decimal>,
    /// Hands on: at the bench without the waiting, and away from it.
    pub hands_on: Span,
    /// Soaking, heating and the like.
    pub waited: Span,
    pub consumables: Decimal,
    /// What was told of the lots, and what buyers charge for taking things.
    pub disposal: Decimal,
    /// Of it, the charges.
    pub charges: Decimal,
    /// Told in another currency, and in no figure.
    pub other_costs: Vec<Money>,
    /// None while no lot is closed that was weighed.
    pub yields: Option<Yields>,
    pub open_lots: usize,
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

/// What came out as one grade.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeHour {
    /// None for what lies in no bin, or in one without a grade.
    pub name: Option<String>,
    /// Over every closed lot.
    pub mass: Mass,
    /// Over those that were weighed.
    pub recovery: Recovery,
    pub price: Option<Priced>,
    /// Summed over the lots, each rounded once; negative where it costs money to leave it.
    pub value: Option<Money>,
    /// Paid by the piece, and not counted since the last of it came: in no value.
    pub not_counted: Mass,
    /// The price of a kilogram at which an hour brings the floor; none of what is paid by the piece.
    pub price_needed: Option<BreakEven<Decimal>>,
    /// The price of a piece at which an hour brings the floor; none of what is paid by weight, and until somebody counted.
    pub piece_price_needed: Option<BreakEven<Decimal>>,
    /// The part of the intake that must come out as this grade.
    pub share_needed: Option<BreakEven<Decimal>>,
}

/// Answers the question from the books.
pub fn hour(books: &Books, question: &HourQuestion) -> HourReport {
    let prices = Prices::of_day(books, question);
    let (tallies, apart) = tallies(books, question);
    let mut steps: BTreeMap<(FeedId, Option<&str>), Vec<&Tally>> = BTreeMap::new();
    for tally in tallies.values() {
        steps.entry((tally.feed, tally.depth.as_deref())).or_default().push(tally);
    }
    let of = |((feed, depth), lots): (&(FeedId, Option<&str>), &Vec<&Tally>)| {
        let name = books.feeds.get(feed).map_or("", |feed| feed.name.as_str());
        feed_hour(&prices, *feed, (name, *depth), lots)
    };
    let mut feeds: Vec<FeedHour> = steps.iter().map(of).collect();
    let adds = |feed: &FeedHour| feed.pay.as_ref().ok().and_then(|pay| pay.hands_on.point());
    feeds.sort_by(|a, b| adds(b).cmp(&adds(a)).then_with(|| (&a.name, &a.depth).cmp(&(&b.name, &b.depth))));
    HourReport {
        seq: books.seq,
        day: prices.day,
        basis: prices.basis(),
        buyer: question.buyer.and_then(|buyer| books.buyers.get(&buyer)).map(|buyer| buyer.name.clone()),
        currency: prices.currency,
        floor: prices.floor,
        floor_told: question.floor.is_none() && books.limits.floor.is_some_and(|told| told.currency == prices.currency),
        floor_elsewhere: books.limits.floor.filter(|told| question.floor.is_none() && told.currency != prices.currency),
        job: whole_job(&prices),
        trials: trials(&prices),
        feeds,
        apart,
    }
}

/// The buyer of a name, in use; letter case does not matter.
pub fn buyer_named(books: &Books, name: &str) -> Option<BuyerId> {
    let found = books.buyers.iter().find(|(_, buyer)| !buyer.retired && same(&buyer.name, name));
    found.map(|(id, _)| *id)
}

/// The grade of a name, in use; letter case does not matter.
pub fn grade_named(books: &Books, name: &str) -> Option<GradeId> {
    let found = books.grades.iter().find(|(_, grade)| !grade.retired && same(&grade.name, name));
    found.map(|(id, _)| *id)
}

fn feed_hour(prices: &Prices, feed: FeedId, (name, depth): (&str, Option<&str>), lots: &[&Tally]) -> FeedHour {
    let closed: Vec<&&Tally> = lots.iter().filter(|lot| lot.closed.is_some()).collect();
    let drawn = lots.first().and_then(|lot| lot.drawn).filter(|grade| lots.iter().all(|lot| lot.drawn == Some(*grade)));
    let whole = prices.whole(name, drawn);
    let worked: Vec<WorkedLot> = lots.iter().map(|lot| worked(prices, &whole, lot)).collect();
    let feed_lots: Vec<FeedLot> = lots.iter().filter_map(|lot| feed_lot(lot)).collect();
    let yields = yields(&feed_lots);
    let pay = added(&worked);
    let counted_lots = closed.iter().filter(|lot| lot.intake.is_none()).count();
    let weighed = yields.as_ref().map(|yields| yields.intake).filter(|_| counted_lots == 0);
    let sums = pay.as_ref().ok().map(|pay| pay.sums);
    let grade_hour = |grade: GradeId| {
        let price = prices.of(grade).cloned();
        let outputs = || closed.iter().filter_map(|lot| lot.outputs.get(&grade));
        let brings: Vec<Brings> = outputs().map(|output| prices.brings(grade, &output.lies)).collect();
        let value = brings.iter().filter_map(|brings| brings.value).try_fold(prices.nothing(), Money::plus);
        let value = value.filter(|_| brings.iter().any(|brings| brings.value.is_some()));
        let pieces = brings.iter().filter_map(|brings| brings.pieces).reduce(Decimal::saturating_add);
        let mass: Mass = outputs().map(|output| output.weighed.mass).sum();
        let amount = value.map_or(Decimal::ZERO, |value| value.amount);
        let share = GradeShare { mass, value: amount.max(Decimal::ZERO) };
        // What it costs now would not be paid at another price.
        let charge = amount.min(Decimal::ZERO);
        let sums = sums.map(|sums| Sums { disposal: sums.disposal.saturating_add(charge), ..sums });
        let floor = prices.floor;
        let by_piece = price.as_ref().is_some_and(|price| price.per_piece().is_some());
        let graded = sums.filter(|_| grade != NO_GRADE);
        let recovery = yields.iter().flat_map(|yields| &yields.grades).find(|recovery| recovery.grade == grade);
        GradeHour {
            name: prices.books.grades.get(&grade).map(|grade| grade.name.clone()),
            mass,
            recovery: recovery.cloned().unwrap_or_else(|| Recovery::unknown(grade)),
            price_needed: graded.filter(|_| !by_piece).and_then(|sums| break_even::price(&sums, share, floor)),
            piece_price_needed: graded.zip(pieces).and_then(|(sums, of)| break_even::piece_price(&sums, share, of, floor)),
            share_needed: graded.zip(weighed).and_then(|(sums, intake)| break_even::recovery(&sums, share, intake, floor)),
            price,
            value,
            not_counted: brings.iter().map(|brings| brings.not_counted).sum(),
        }
    };
    let came: BTreeSet<GradeId> = closed.iter().flat_map(|lot| lot.outputs.keys().copied()).collect();
    let grades: Vec<GradeHour> = came.into_iter().map(grade_hour).collect();
    let valued = grades.iter().filter_map(|grade| grade.value);
    let charges = closed.iter().map(|lot| prices.outputs(&lot.outputs).1).fold(Decimal::ZERO, Decimal::saturating_add);
    let total = valued.map(|value| value.amount).reduce(|sum, value| sum.saturating_add(value));
    let span = |of: fn(&Tally) -> Span| closed.iter().fold(Span::ZERO, |sum, lot| sum.plus(of(lot)));
    let pieces: Option<u64> = closed.iter().map(|lot| lot.pieces.map(u64::from)).sum();
    let pieces = pieces.filter(|pieces| *pieces > 0);
    FeedHour {
        feed,
        name: name.to_owned(),
        depth: depth.map(str::to_owned),
        marks: prices.books.marks.get(&feed).map(|known| known.marks.clone()).unwrap_or_default(),
        closed_lots: closed.len(),
        counted_lots,
        pieces,
        per_piece: total.and_then(|total| total.checked_div(Decimal::from(pieces?))),
        open_lots: lots.len() - closed.len(),
        hands_on: span(|lot| lot.hands_on()),
        waited: span(|lot| lot.waited),
        consumables: spent(prices.currency, closed.iter().map(|lot| &lot.consumables)),
        disposal: charges.saturating_add(spent(prices.currency, closed.iter().map(|lot| &lot.disposal))),
        charges,
        other_costs: other_costs(prices.currency, &closed),
        at_bench: span(|lot| lot.at_bench),
        off_bench: span(|lot| lot.off_bench),
        untold: span(|lot| lot.untold),
        clock_sure: closed.iter().all(|lot| lot.clock_sure),
        taken_out: closed.iter().map(|lot| lot.taken_out).sum(),
        per_kilogram: total.and_then(|total| total.checked_div(kilograms(weighed?)?)),
        time: sums.and_then(|sums| break_even::time(&sums, prices.floor)),
        yields,
        grades,
        whole,
        pay,
    }
}

fn spent<'a>(currency: Currency, costs: impl Iterator<Item = &'a Costs>) -> Decimal {
    costs.filter_map(|costs| costs.get(&currency)).fold(Decimal::ZERO, |sum, amount| sum.saturating_add(*amount))
}

/// Sums of costs in other currencies than the report's.
fn other_costs(currency: Currency, lots: &[&&Tally]) -> Vec<Money> {
    let mut sums = Costs::new();
    for (other, amount) in lots.iter().flat_map(|lot| lot.consumables.iter().chain(&lot.disposal)) {
        let sum = sums.entry(*other).or_default();
        *sum = sum.saturating_add(*amount);
    }
    sums.into_iter().filter(|(other, _)| *other != currency).map(|(currency, amount)| Money { amount, currency }).collect()
}

fn feed_lot(lot: &Tally) -> Option<FeedLot> {
    let outputs = lot.outputs.iter().map(|(grade, output)| (*grade, output.weighed)).collect();
    Some(FeedLot { closed: lot.closed.is_some(), intake: lot.intake?, outputs })
}

fn worked(prices: &Prices, whole: &WholeSaid, lot: &Tally) -> WorkedLot {
    let cost = |costs: &Costs| {
        let amount = costs.get(&prices.currency).copied().unwrap_or_default();
        Money { amount, currency: prices.currency }
    };
    let (outputs, charges) = prices.outputs(&lot.outputs);
    let disposal = cost(&lot.disposal);
    WorkedLot {
        closed: lot.closed.is_some(),
        outputs,
        basis: prices.basis(),
        whole: prices.worth(whole, lot.intake.map(|intake| intake.mass), lot.pieces),
        consumables: cost(&lot.consumables),
        disposal: Money { amount: disposal.amount.saturating_add(charges), ..disposal },
        hands_on: lot.hands_on(),
        elapsed: lot.closed.map_or(Span::ZERO, |closed| between(&lot.opened, &closed.at).0),
    }
}

/// Kilograms above nothing.
fn kilograms(mass: Mass) -> Option<Decimal> {
    Decimal::try_from_i128_with_scale(mass.femtograms(), 18).ok().filter(|kilograms| *kilograms > Decimal::ZERO)
}

#[cfg(test)]
#[path = "hour_tests.rs"]
mod tests;
