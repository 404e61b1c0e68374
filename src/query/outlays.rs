//! Lists of what the whole job took: arrivals, money, minutes.

use crate::facts::books::Record;
use crate::facts::{Books, BuyerId, Fact, FeedId, JobPart, LotId, SpendingSort};
use crate::measure::{Mass, Money, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;

#[derive(Debug, Clone, PartialEq)]
pub struct ArrivalLine {
    /// By its event.
    pub arrival: u64,
    pub from: String,
    pub day: Date,
    pub what: String,
    pub feed: Option<String>,
    pub mass: Option<Mass>,
    pub pieces: Option<u32>,
    pub paid: Option<Money>,
    pub span: Option<Span>,
    pub distance_km: Option<Decimal>,
    /// The lots that came with it.
    pub lots: Vec<LotId>,
    pub voided: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SpendingLine {
    pub spending: u64,
    pub sort: SpendingSort,
    pub what: String,
    pub day: Date,
    pub amount: Money,
    pub buyer: Option<String>,
    pub feed: Option<String>,
    pub lot: Option<LotId>,
    pub voided: bool,
}

/// Minutes away from the bench's clock, or hands-off.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeLine {
    pub time: u64,
    pub what: String,
    pub span: Span,
    pub day: Date,
    pub lot: Option<LotId>,
    pub sort: TimeSort,
    pub voided: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeSort {
    /// Work, of this part of the whole job.
    Work(JobPart),
    /// Soaking, heating: taken off the clock of the bench where it ran.
    Waiting { clock_ran: bool },
}

/// Every arrival, the newest record first; one that was taken back shows it.
pub fn arrivals(books: &Books) -> Vec<ArrivalLine> {
    let line = |record: &Record| {
        let Fact::ArrivalCame(came) = &record.fact else { return None };
        Some(ArrivalLine {
            arrival: record.seq,
            from: came.from.clone(),
            day: came.day,
            what: came.what.clone(),
            feed: feed(books, came.feed),
            mass: came.mass,
            pieces: came.pieces,
            paid: came.paid,
            span: came.span,
            distance_km: came.distance_km,
            lots: books.lots.iter().filter(|(_, lot)| lot.arrival == Some(record.seq)).map(|(id, _)| *id).collect(),
            voided: books.voids.contains_key(&record.seq),
        })
    };
    books.records.iter().rev().filter_map(line).collect()
}

/// Money that went out, the newest record first.
pub fn spendings(books: &Books) -> Vec<SpendingLine> {
    let line = |record: &Record| {
        let Fact::MoneySpent(spent) = &record.fact else { return None };
        Some(SpendingLine {
            spending: record.seq,
            sort: spent.sort,
            what: spent.what.clone(),
            day: spent.day,
            amount: spent.amount,
            buyer: buyer(books, spent.buyer),
            feed: feed(books, spent.feed),
            lot: spent.lot,
            voided: books.voids.contains_key(&record.seq),
        })
    };
    books.records.iter().rev().filter_map(line).collect()
}

/// Minutes that were told, the newest record first.
pub fn times(books: &Books) -> Vec<TimeLine> {
    let line = |record: &Record| {
        let (what, span, day, lot, sort) = match &record.fact {
            Fact::MinutesSpent { what, span, day, lot, part, .. } => {
                (what, *span, *day, *lot, TimeSort::Work(part.unwrap_or(JobPart::Bench)))
            }
            Fact::LotWaited(of) => (&of.what, of.span, of.day, Some(of.lot), TimeSort::Waiting { clock_ran: of.clock_ran }),
            _ => return None,
        };
        let voided = books.voids.contains_key(&record.seq);
        Some(TimeLine { time: record.seq, what: what.clone(), span, day, lot, sort, voided })
    };
    books.records.iter().rev().filter_map(line).collect()
}

fn feed(books: &Books, feed: Option<FeedId>) -> Option<String> {
    Some(books.feeds.get(&feed?)?.name.clone())
}

fn buyer(books: &Books, buyer: Option<BuyerId>) -> Option<String> {
    Some(books.buyers.get(&buyer?)?.name.clone())
}
