//! The report before the yard run: what lies in which bin, and what each buyer would pay for it.

use super::held::{Held, held_by};
use super::riddles::{Riddle, riddles};
use super::{bound_ppm, by_end_of, ever_checked, local_day};
use crate::economy::cash;
use crate::economy::check_weight::standard_ppm;
use crate::economy::quotes::{Brought, InForce, MONEY_RULE, Terms, Total, Worth, days_between, in_force, total};
use crate::economy::uncertainty::{OnOneScale, combined};
use crate::facts::books::{Bin, Count, Fill, Quote, Stretch};
use crate::facts::{BenchId, BinId, Books, BuyerId, FillId, Payout, QuoteId};
use crate::measure::{Currency, Mass, Money, Rate, Rounding, Variance};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// What is asked.
#[derive(Debug, Clone)]
pub struct YardRunQuestion {
    /// Today, in the zone.
    pub today: Date,
    /// The report as of the end of this day, with every correction made since; none means now.
    pub as_of: Option<Date>,
    pub zone: TimeZone,
    /// Days after which a quote is called stale unless it says otherwise itself.
    pub stale_after: u16,
}

#[derive(Debug, Clone, PartialEq)]
pub struct YardRun {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    /// Buyers who have a quote for anything here, by name; a buyer with quotes in two currencies has two columns.
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
    pub mass: Mass,
    /// Of the readings alone.
    pub variance: Variance,
    pub own_error: OwnError,
    /// One for each column.
    pub totals: Vec<Total>,
    /// Of each total what is paid where it is paid in cash; none where that is to the cent.
    pub cash: Vec<Option<Money>>,
    /// Drops without a bin.
    pub unassigned: Mass,
    pub unassigned_drops: usize,
    /// Drops whose load has not yet stayed: in no figure here.
    pub provisional_drops: usize,
    pub riddles: Vec<Riddle>,
}

/// The scales' own errors in the total: common to all that one scale has shown, so they add up linearly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OwnError {
    /// Of what a bounded scale has shown.
    pub variance: Variance,
    /// The same with the readings.
    pub whole: Variance,
    /// What was weighed where no check bounds the error: its share is in neither.
    pub unbounded: Mass,
    /// A known weight was laid on some scale at some time.
    pub ever_checked: bool,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    pub buyer: BuyerId,
    pub name: String,
    pub currency: Currency,
    /// How this buyer pays out in cash.
    pub payout: Payout,
}

/// One fill.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub bin: BinId,
    pub fill: FillId,
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: Mass,
    pub variance: Variance,
    pub drops: usize,
    /// The pieces as they were last counted; of another mass than lies there now it is said.
    pub counted: Option<Count>,
    /// Per cent of the bin's capacity, rounded down.
    pub filled: Option<u32>,
    /// Days since the bin was last emptied; none when the clock of that time could not be trusted.
    pub age_days: Option<i64>,
    pub tare_learned: bool,
    /// One for each column.
    pub offers: Vec<Option<Offer>>,
}

impl Row {
    pub fn has_quote(&self) -> bool {
        self.offers.iter().any(Option::is_some)
    }
}

/// What a buyer would pay for a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    pub quote: QuoteId,
    /// The price or charge that holds for this mass.
    pub rate: Rate,
    pub day: Date,
    pub age_days: i64,
    pub stale: bool,
    /// Negative where it costs money to leave it; none when the buyer takes no less than more than this, and when it is paid
    /// by the piece and nobody counted.
    pub value: Option<Money>,
    /// The least that the buyer takes, where the row lies below it.
    pub minimum: Option<Mass>,
    /// It is paid by the piece, and nobody counted.
    pub not_counted: bool,
}

/// Answers the question from the books.
pub fn yard_run(books: &Books, question: &YardRunQuestion) -> YardRun {
    let day = question.as_of.unwrap_or(question.today);
    let offers = offers_by_grade(books, day);
    let columns = columns(books, &offers);
    let then = question.as_of.map(|day| held_by(books, day, &question.zone));
    let mut rows: Vec<Row> = fills(books, question)
        .map(|(id, fill, bin)| row(books, question, then.as_ref(), &columns, &offers, id, fill, bin))
        .filter(|row| !row.mass.is_zero() || row.drops > 0)
        .collect();
    rows.sort_by_key(|row| row.number);
    let mass: Mass = rows.iter().map(|row| row.mass).sum();
    let variance = rows.iter().fold(Variance::ZERO, |sum, row| sum.plus(row.variance));
    let own_error = own_error(books, question, then.as_ref(), &rows, mass, variance);
    let loose = books.loose.iter().filter_map(|id| books.entries.get(id));
    let unassigned: Vec<Mass> = loose.filter(|entry| made_by(question, &entry.at)).map(|entry| entry.mass).collect();
    let totals: Vec<Total> = (0..columns.len()).map(|column| column_total(&columns[column], column, &rows)).collect();
    let cash = columns.iter().zip(&totals).map(|(column, total)| in_cash(column, total)).collect();
    YardRun {
        seq: books.seq,
        day,
        mass,
        variance,
        own_error,
        totals,
        cash,
        unassigned: unassigned.iter().copied().sum(),
        unassigned_drops: unassigned.len(),
        provisional_drops: books.benches.values().map(|bench| bench.open.len()).sum(),
        riddles: riddles(books),
        columns,
        rows,
    }
}

/// What each fill held then.
type Then = BTreeMap<FillId, Held>;

/// Each scale's share of the total under the bound of its stretch, and what no bench's scale has shown under none.
fn own_error(
    books: &Books,
    question: &YardRunQuestion,
    then: Option<&Then>,
    rows: &[Row],
    mass: Mass,
    readings: Variance,
) -> OwnError {
    let mut shares: BTreeMap<Stretch, Mass> = BTreeMap::new();
    let mut share = |(bench, change): (BenchId, u64), mass: Mass| {
        *shares.entry(books.stretch_at(bench, change)).or_default() += mass;
    };
    for row in rows {
        match then {
            None => {
                books.fills.get(&row.fill).into_iter().flat_map(|fill| &fill.weighed).for_each(|(at, mass)| share(*at, *mass))
            }
            Some(then) => {
                then.get(&row.fill).into_iter().flat_map(|held| &held.shown).for_each(|(at, mass)| share(*at, *mass));
            }
        }
    }
    // What was sold of a bin leaves no trace in what each scale has shown: the share is never made smaller by it.
    let elsewhere = (mass - shares.values().copied().sum()).max(Mass::ZERO);
    let of_scale = |(stretch, mass): (&Stretch, &Mass)| OnOneScale {
        mass: *mass,
        readings: Variance::ZERO,
        calibration_ppm: bound_ppm(books, stretch, question.today, &question.zone).map(standard_ppm),
    };
    let mut scales: Vec<OnOneScale> = shares.iter().map(of_scale).collect();
    scales.push(OnOneScale { mass: elsewhere, readings: Variance::ZERO, calibration_ppm: None });
    let own = combined(&scales);
    OwnError {
        variance: own.variance,
        whole: own.variance.plus(readings),
        unbounded: own.unbounded,
        ever_checked: ever_checked(books),
    }
}

/// Whether something dated so belongs into the report. What has no trusted date always does: nothing is dropped silently.
fn made_by(question: &YardRunQuestion, at: &crate::measure::Stamp) -> bool {
    question.as_of.is_none_or(|day| by_end_of(day, at, &question.zone))
}

fn fills<'a>(books: &'a Books, question: &'a YardRunQuestion) -> impl Iterator<Item = (FillId, &'a Fill, &'a Bin)> {
    books.fills.iter().filter_map(move |(id, fill)| {
        let bin = books.bins.get(&fill.bin)?;
        let closed = fill.closed.is_some_and(|closed| made_by(question, &closed.at));
        let there = !closed && made_by(question, &fill.opened);
        (there && !bin.retired).then_some((*id, fill, bin))
    })
}

#[expect(clippy::too_many_arguments, reason = "one call, each argument a different thing")]
fn row(
    books: &Books,
    question: &YardRunQuestion,
    then: Option<&Then>,
    columns: &[Column],
    offers: &InForce,
    id: FillId,
    fill: &Fill,
    bin: &Bin,
) -> Row {
    let day = question.as_of.unwrap_or(question.today);
    let (mass, variance, drops) = match then {
        None => (fill.mass, fill.variance, fill.drops as usize),
        Some(then) => then.get(&id).map_or((Mass::ZERO, Variance::ZERO, 0), |held| (held.mass, held.variance, held.drops)),
    };
    let counted = fill.counts.iter().rev().find(|count| made_by(question, &count.at)).copied();
    let brought = Brought { mass, pieces: counted.map(|count| count.pieces) };
    let offer = |column: &Column| {
        let (quote_id, quote) = offers.get(&(fill.grade?, column.buyer, column.currency))?;
        Some(offer(*quote_id, quote, brought, day, question.stale_after))
    };
    Row {
        bin: fill.bin,
        fill: id,
        number: bin.number,
        name: bin.name.clone(),
        grade: fill.grade.and_then(|grade| books.grades.get(&grade)).map(|grade| grade.name.clone()),
        mass,
        variance,
        drops,
        counted,
        filled: bin.capacity.map(|capacity| {
            let percent = Rounding::Down.divide(mass.femtograms() * 100, capacity.femtograms());
            u32::try_from(percent).unwrap_or(0)
        }),
        age_days: local_day(&fill.opened, &question.zone).map(|opened| days_between(opened, day)),
        tare_learned: bin.tare_learned,
        offers: columns.iter().map(offer).collect(),
    }
}

/// The quotes in force on a day of the buyers who are in use.
fn offers_by_grade(books: &Books, day: Date) -> InForce<'_> {
    let in_use = |quote: &Quote| books.buyers.get(&quote.buyer).is_some_and(|buyer| !buyer.retired);
    in_force(books.quotes.iter().filter(|(_, quote)| in_use(quote)).map(|(id, quote)| (*id, quote)), day)
}

fn columns(books: &Books, offers: &InForce) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    for (_, buyer, currency) in offers.keys() {
        let name = books.buyers.get(buyer).map(|named| named.name.clone()).unwrap_or_default();
        let column = Column { buyer: *buyer, name, currency: *currency, payout: books.payout(*buyer) };
        if !columns.contains(&column) {
            columns.push(column);
        }
    }
    columns.sort_by(|a, b| (&a.name, a.currency).cmp(&(&b.name, b.currency)));
    columns
}

fn offer(id: QuoteId, quote: &Quote, brought: Brought, day: Date, stale_after: u16) -> Offer {
    let offered = Terms::from(quote).offer(brought, day, stale_after);
    let minimum = match offered.worth {
        Worth::BelowMinimum { minimum } => Some(minimum),
        Worth::Money(_) | Worth::NotCounted | Worth::TooLarge => None,
    };
    Offer {
        quote: id,
        rate: offered.rate,
        day: offered.day,
        age_days: offered.age_days,
        stale: offered.stale,
        value: offered.worth.money(),
        minimum,
        not_counted: offered.worth == Worth::NotCounted,
    }
}

fn column_total(column: &Column, index: usize, rows: &[Row]) -> Total {
    let offer = |row: &Row| row.offers.get(index).cloned().flatten();
    let line = |row: &Row| {
        let offer = offer(row);
        (row.mass, offer.as_ref().and_then(|offer| offer.value), offer.is_some_and(|offer| offer.stale))
    };
    total(column.currency, rows.iter().map(line))
}

/// A total as it is paid in cash: only the total is rounded to the coin, and only cash.
fn in_cash(column: &Column, total: &Total) -> Option<Money> {
    if column.payout == Payout::Exact {
        return None;
    }
    cash::paid(total.value, column.payout, MONEY_RULE)
}
