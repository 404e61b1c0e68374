//! A year for whoever reckons the taxes: income by the ticket's day and by the day it was paid, spending, trips, stock at the
//! end, and where each lot came from and went.

use super::buyers::add;
use super::tickets::{TicketAnswer, TicketQuestion, tickets};
use super::yard_run::{YardRunQuestion, yard_run};
use super::{arrivals, local_day, spendings};
use crate::facts::books::Work;
use crate::facts::{Books, Fact, LotId, SpendingSort};
use crate::haul::spread;
use crate::measure::{Currency, Mass, Money};
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

#[derive(Debug, Clone)]
pub struct YearQuestion {
    pub year: i16,
    pub today: Date,
    pub zone: TimeZone,
    pub stale_after: u16,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Year {
    /// The books stand at this event.
    pub seq: u64,
    pub year: i16,
    /// By the day on the ticket.
    pub earned: Vec<Income>,
    /// By the day on which the money came.
    pub received: Vec<Income>,
    /// What cashing and sending cost.
    pub fees: Vec<Money>,
    /// Of the year's tickets, what is not paid now.
    pub unpaid: Vec<Money>,
    /// Of that, what buyers hold back.
    pub held: Vec<Money>,
    pub spent: Vec<Spent>,
    pub trips: Vec<Trip>,
    /// The day of the stock: the year's last, or today in the running year.
    pub stock_day: Date,
    pub stock: Vec<Stock>,
    pub lots: Vec<LotRecord>,
}

/// A month, a buyer and a grade.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Income {
    pub month: i8,
    pub buyer: String,
    /// None for what stands on the ticket and on no line of it.
    pub grade: Option<String>,
    pub mass: Mass,
    pub amount: Money,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spent {
    pub month: i8,
    pub sort: SpendingSort,
    pub amount: Money,
}

/// A drive, to buyers or for goods.
#[derive(Debug, Clone, PartialEq)]
pub struct Trip {
    pub day: Date,
    pub to: String,
    pub fetching: bool,
    pub distance_km: Option<Decimal>,
    pub minutes: Option<u64>,
    pub cost: Option<Money>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    pub grade: Option<String>,
    pub mass: Mass,
    /// At the best quote of that day; none without one.
    pub value: Option<Money>,
}

/// Where a lot came from, and what was paid for what came out of it.
#[derive(Debug, Clone, PartialEq)]
pub struct LotRecord {
    pub lot: LotId,
    pub day: Option<Date>,
    pub feed: Option<String>,
    pub mass: Option<Mass>,
    pub pieces: Option<u32>,
    /// From whom or where, by the arrival that it came with.
    pub from: Option<String>,
    pub arrived: Option<Date>,
    /// The year's tickets on which something of it stands.
    pub tickets: Vec<String>,
    pub received: Vec<Money>,
}

type Key = (i8, String, Option<String>, Currency);

#[derive(Default)]
struct Sums(BTreeMap<Key, (Mass, Decimal)>);

impl Sums {
    fn add(&mut self, key: Key, mass: Mass, amount: Decimal) {
        let sum = self.0.entry(key).or_default();
        sum.0 += mass;
        sum.1 = sum.1.saturating_add(amount);
    }

    fn rows(self) -> Vec<Income> {
        let row = |((month, buyer, grade, currency), (mass, amount))| {
            let amount = Money { amount, currency };
            Income { month, buyer, grade, mass, amount }
        };
        self.0.into_iter().map(row).collect()
    }
}

pub fn year(books: &Books, question: &YearQuestion) -> Year {
    let asked = TicketQuestion { today: question.today, zone: question.zone.clone() };
    let mut all = tickets(books, &asked);
    all.retain(|ticket| !ticket.voided);
    let (mut earned, mut received) = (Sums::default(), Sums::default());
    let (mut fees, mut unpaid, mut held) = (Vec::new(), Vec::new(), Vec::new());
    for ticket in &all {
        let parts = parts(ticket);
        let currency = ticket.paper.currency;
        let key = |day: Date, grade: &Option<String>, currency| (day.month(), ticket.buyer_name.clone(), grade.clone(), currency);
        if ticket.paper.day.year() == question.year {
            for (grade, mass, amount) in &parts {
                earned.add(key(ticket.paper.day, grade, currency), *mass, *amount);
            }
            add(&mut unpaid, Money { amount: ticket.unpaid.unwrap_or_default(), currency });
            add(&mut held, Money { amount: ticket.held, currency });
        }
        let came = ticket.payments.iter().map(|payment| &payment.came);
        for came in came.filter(|came| !came.held && came.day.year() == question.year) {
            let by: Vec<Decimal> = parts.iter().map(|(.., amount)| *amount).collect();
            for ((grade, ..), share) in parts.iter().zip(spread::money_by_amounts(came.amount.amount, &by)) {
                received.add(key(came.day, grade, came.amount.currency), Mass::ZERO, share);
            }
            if parts.is_empty() {
                received.add(key(came.day, &None, came.amount.currency), Mass::ZERO, came.amount.amount);
            }
            add(&mut fees, Money { amount: came.fee.unwrap_or_default(), currency: came.amount.currency });
        }
    }
    let stock_day = date(question.year, 12, 31).min(question.today);
    Year {
        seq: books.seq,
        year: question.year,
        earned: earned.rows(),
        received: received.rows(),
        fees,
        unpaid,
        held,
        spent: spent(books, question.year),
        trips: trips(books, question.year),
        stock_day,
        stock: stock(books, question, stock_day),
        lots: lots(books, question, &all),
    }
}

/// The lines by grade, and what is on the ticket beside them: together they are its total.
fn parts(ticket: &TicketAnswer) -> Vec<(Option<String>, Mass, Decimal)> {
    let mut parts: Vec<(Option<String>, Mass, Decimal)> = Vec::new();
    for (answer, paper) in ticket.lines.iter().zip(&ticket.paper.lines) {
        if let Some(amount) = paper.amount {
            let grade = answer.grade.clone().or_else(|| Some(paper.text.clone()));
            parts.push((grade, answer.weighed.paid, amount));
        }
    }
    let lines: Decimal = parts.iter().fold(Decimal::ZERO, |sum, (.., amount)| sum.saturating_add(*amount));
    let beside = ticket.total.map_or(Decimal::ZERO, |total| total.amount - lines);
    if !beside.is_zero() {
        parts.push((None, Mass::ZERO, beside));
    }
    parts
}

fn spent(books: &Books, year: i16) -> Vec<Spent> {
    let mut sums: BTreeMap<(i8, SpendingSort, Currency), Decimal> = BTreeMap::new();
    for line in spendings(books).into_iter().filter(|line| !line.voided && line.day.year() == year) {
        let sum = sums.entry((line.day.month(), line.sort, line.amount.currency)).or_default();
        *sum = sum.saturating_add(line.amount.amount);
    }
    let row = |((month, sort, currency), amount)| Spent { month, sort, amount: Money { amount, currency } };
    sums.into_iter().map(row).collect()
}

fn trips(books: &Books, year: i16) -> Vec<Trip> {
    let name = |buyer| books.buyers.get(&buyer).map(|buyer| buyer.name.clone()).unwrap_or_default();
    let minutes = |span: Option<crate::measure::Span>| span.map(|span| span.as_seconds() / 60);
    let mut trips: Vec<Trip> = books
        .standing_records()
        .filter_map(|record| match &record.fact {
            Fact::RunSetOut(run) => Some(Trip {
                day: run.day,
                to: run.stops.iter().map(|stop| name(*stop)).collect::<Vec<_>>().join(", "),
                fetching: false,
                distance_km: run.distance_km,
                minutes: minutes(run.span),
                cost: run.cost,
            }),
            Fact::RunMade { buyer, day, distance_km, span, cost, .. } => Some(Trip {
                day: *day,
                to: name(*buyer),
                fetching: false,
                distance_km: *distance_km,
                minutes: minutes(*span),
                cost: *cost,
            }),
            Fact::ArrivalCame(came) if came.distance_km.is_some() || came.span.is_some() => Some(Trip {
                day: came.day,
                to: came.from.clone(),
                fetching: true,
                distance_km: came.distance_km,
                minutes: minutes(came.span),
                cost: None,
            }),
            _ => None,
        })
        .filter(|trip| trip.day.year() == year)
        .collect();
    trips.sort_by_key(|trip| trip.day);
    trips
}

fn stock(books: &Books, question: &YearQuestion, day: Date) -> Vec<Stock> {
    let asked = YardRunQuestion {
        today: question.today,
        as_of: (day < question.today).then_some(day),
        zone: question.zone.clone(),
        stale_after: question.stale_after,
    };
    let mut rows: Vec<Stock> = Vec::new();
    for row in yard_run(books, &asked).rows {
        let best = row.offers.iter().flatten().filter_map(|offer| offer.value).max_by_key(|value| value.amount);
        let same = |known: &&mut Stock| {
            known.grade == row.grade && known.value.map(|value| value.currency) == best.map(|value| value.currency)
        };
        match rows.iter_mut().find(same) {
            Some(known) => {
                known.mass += row.mass;
                known.value = known.value.zip(best).and_then(|(sum, best)| sum.plus(best));
            }
            None => rows.push(Stock { grade: row.grade, mass: row.mass, value: best }),
        }
    }
    rows.sort_by(|a, b| a.grade.cmp(&b.grade));
    rows
}

/// Each line's money goes back to its bins by their share of it, and in each bin to the lots by what they put in.
fn lots(books: &Books, question: &YearQuestion, all: &[TicketAnswer]) -> Vec<LotRecord> {
    let work = Work::of(books);
    let mut money: BTreeMap<LotId, (BTreeSet<String>, Vec<Money>)> = BTreeMap::new();
    for ticket in all.iter().filter(|ticket| ticket.paper.day.year() == question.year) {
        for (answer, paper) in ticket.lines.iter().zip(&ticket.paper.lines) {
            let Some(amount) = paper.amount else { continue };
            let by: Vec<Mass> = answer.bins.iter().map(|tied| tied.mass).collect();
            for (tied, part) in answer.bins.iter().zip(spread::money(amount, &by)) {
                let drops: Vec<(Option<LotId>, Mass)> = books
                    .counting(tied.fill)
                    .filter(|(_, entry)| entry.is_drop())
                    .map(|(id, entry)| (work.lot_of(id, entry), entry.mass))
                    .collect();
                let weights: Vec<Mass> = drops.iter().map(|(_, mass)| *mass).collect();
                for ((lot, _), share) in drops.iter().zip(spread::money(part, &weights)) {
                    let Some(lot) = lot else { continue };
                    let (names, sums) = money.entry(*lot).or_default();
                    names.insert(ticket.paper.number.clone().unwrap_or_else(|| ticket.id.to_string()));
                    add(sums, Money { amount: share, currency: ticket.paper.currency });
                }
            }
        }
    }
    let came = arrivals(books);
    let mut records = Vec::new();
    for (id, lot) in &books.lots {
        let Some(entry) = books.lot_entry(*id).filter(|entry| entry.counts()) else { continue };
        let day = local_day(&entry.at, &question.zone);
        let (tickets, received) = money.remove(id).unwrap_or_default();
        if day.is_some_and(|day| day.year() != question.year) && tickets.is_empty() {
            continue;
        }
        let arrival = lot.arrival.and_then(|arrival| came.iter().find(|known| known.arrival == arrival && !known.voided));
        records.push(LotRecord {
            lot: *id,
            day,
            feed: lot.feed.and_then(|feed| books.feeds.get(&feed)).map(|feed| feed.name.clone()),
            mass: books.lot_mass(*id),
            pieces: lot.pieces,
            from: arrival.map(|arrival| arrival.from.clone()),
            arrived: arrival.map(|arrival| arrival.day),
            tickets: tickets.into_iter().collect(),
            received,
        });
    }
    records
}
