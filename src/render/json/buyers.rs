//! Buyers over time and the year, as JSON.

use super::MassView;
use super::outlays::MoneyView;
use crate::economy::interval::Interval;
use crate::haul::buyers::Side;
use crate::measure::{Money, Rounding};
use crate::query;
use crate::render::feed_words::sort_code;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BuyersView {
    /// The books stand at this event.
    pub seq: u64,
    pub buyers: Vec<BuyerView>,
    /// `under` or `over`: all of them are off the same way from us, and our own scale is the likelier fault.
    pub suspect_our_scale: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BuyerView {
    pub buyer: String,
    pub tickets: usize,
    /// Tickets that were weighed at home, oldest first.
    pub seen: Vec<SeenView>,
    /// Null under three of them.
    pub bias: Option<BiasView>,
    pub graded_lines: usize,
    pub downgraded_lines: usize,
    pub downgrade_cost: Vec<MoneyView>,
    pub prices: Vec<PaidGradeView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SeenView {
    pub ticket: u64,
    pub day: String,
    /// Of our weight; negative where they have less.
    pub percent: String,
}

/// Per cent of the load, negative where they have less than we do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BiasView {
    pub tickets: usize,
    pub percent: String,
    /// 95 % over tickets; it narrows with every ticket.
    pub low: String,
    pub high: String,
    /// The same and our own calibration, which no number of tickets makes smaller; null where no check weight bounds it.
    pub low_with_ours: Option<String>,
    pub high_with_ours: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PaidGradeView {
    pub grade: String,
    /// That had a quote before the ticket.
    pub lines: usize,
    /// Paid less quoted.
    pub against_quote: MoneyView,
    /// As in `6.00/kg`.
    pub quoted: Option<String>,
    /// A guess from the past: what today's quote will likely be paid as. Null under three lines.
    pub expected: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct YearView {
    /// The books stand at this event.
    pub seq: u64,
    pub year: i16,
    /// By the day on the ticket.
    pub earned: Vec<IncomeView>,
    /// By the day on which the money came.
    pub received: Vec<IncomeView>,
    pub fees: Vec<MoneyView>,
    /// Of the year's tickets, what is not paid now.
    pub unpaid: Vec<MoneyView>,
    /// Of that, what buyers hold back.
    pub held: Vec<MoneyView>,
    pub spent: Vec<SpentView>,
    pub trips: Vec<TripView>,
    /// The year's last day, or today in the running year.
    pub stock_day: String,
    pub stock: Vec<StockView>,
    pub lots: Vec<LotRecordView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct IncomeView {
    /// As in `2026-03`.
    pub month: String,
    pub buyer: String,
    /// Null for what stands on a ticket and on no line of it.
    pub grade: Option<String>,
    /// What was paid for; nothing in what is told by the day of payment.
    pub mass: MassView,
    pub amount: MoneyView,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SpentView {
    pub month: String,
    pub sort: String,
    pub amount: MoneyView,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TripView {
    pub day: String,
    pub to: String,
    /// For goods, and not to a buyer.
    pub fetching: bool,
    pub distance_km: Option<String>,
    pub minutes: Option<u64>,
    pub cost: Option<MoneyView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StockView {
    pub grade: Option<String>,
    pub mass: MassView,
    /// At the best quote of that day; null without one.
    pub value: Option<MoneyView>,
}

/// Where a lot came from, and what was paid for what came out of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LotRecordView {
    pub lot: u64,
    pub day: Option<String>,
    pub feed: Option<String>,
    pub mass: Option<MassView>,
    pub pieces: Option<u32>,
    pub from: Option<String>,
    pub arrived: Option<String>,
    pub tickets: Vec<String>,
    pub received: Vec<MoneyView>,
}

fn percent(value: Decimal) -> String {
    Rounding::HalfEven.decimal(value, 3).to_string()
}

fn money(sums: &[Money]) -> Vec<MoneyView> {
    sums.iter().map(|sum| cents(*sum)).collect()
}

fn cents(mut money: Money) -> MoneyView {
    money.amount.rescale(money.amount.scale().max(2));
    money.into()
}

fn price(price: &crate::measure::Price) -> String {
    format!("{}/{}", price.amount, price.per.symbol())
}

impl From<&query::BuyersAnswer> for BuyersView {
    fn from(answer: &query::BuyersAnswer) -> BuyersView {
        BuyersView {
            seq: answer.seq,
            buyers: answer.buyers.iter().map(BuyerView::from).collect(),
            suspect_our_scale: answer.suspect.map(|side| if side == Side::Under { "under".into() } else { "over".into() }),
        }
    }
}

impl From<&query::BuyerAnswer> for BuyerView {
    fn from(buyer: &query::BuyerAnswer) -> BuyerView {
        let ends = |interval: Interval| (percent(interval.low), percent(interval.high));
        let bias = buyer.bias.map(|bias| {
            let (low, high) = ends(bias.scatter);
            let (low_with_ours, high_with_ours) = bias.whole.map(ends).unzip();
            BiasView { tickets: bias.tickets, percent: percent(bias.mean), low, high, low_with_ours, high_with_ours }
        });
        let seen = |seen: &query::SeenTicket| SeenView {
            ticket: seen.ticket.0,
            day: seen.day.to_string(),
            percent: percent(seen.percent),
        };
        let paid = |paid: &query::PaidGrade| PaidGradeView {
            grade: paid.name.clone(),
            lines: paid.lines,
            against_quote: cents(paid.against_quote),
            quoted: paid.expected.as_ref().map(|expected| price(&expected.quoted)),
            expected: paid.expected.as_ref().map(|expected| price(&expected.expected)),
        };
        BuyerView {
            buyer: buyer.name.clone(),
            tickets: buyer.tickets,
            seen: buyer.seen.iter().map(seen).collect(),
            bias,
            graded_lines: buyer.graded_lines,
            downgraded_lines: buyer.downgraded,
            downgrade_cost: money(&buyer.downgrade_cost),
            prices: buyer.prices.iter().map(paid).collect(),
        }
    }
}

impl From<&query::Year> for YearView {
    fn from(year: &query::Year) -> YearView {
        let month = |month: i8| format!("{:04}-{month:02}", year.year);
        let income = |rows: &[query::Income]| {
            let row = |row: &query::Income| IncomeView {
                month: month(row.month),
                buyer: row.buyer.clone(),
                grade: row.grade.clone(),
                mass: row.mass.into(),
                amount: cents(row.amount),
            };
            rows.iter().map(row).collect()
        };
        let spent = |row: &query::Spent| SpentView {
            month: month(row.month),
            sort: sort_code(row.sort).to_owned(),
            amount: cents(row.amount),
        };
        let trip = |trip: &query::Trip| TripView {
            day: trip.day.to_string(),
            to: trip.to.clone(),
            fetching: trip.fetching,
            distance_km: trip.distance_km.map(|distance| distance.to_string()),
            minutes: trip.minutes,
            cost: trip.cost.map(cents),
        };
        let stock =
            |row: &query::Stock| StockView { grade: row.grade.clone(), mass: row.mass.into(), value: row.value.map(cents) };
        let lot = |lot: &query::LotRecord| LotRecordView {
            lot: lot.lot.0,
            day: lot.day.map(|day| day.to_string()),
            feed: lot.feed.clone(),
            mass: lot.mass.map(MassView::from),
            pieces: lot.pieces,
            from: lot.from.clone(),
            arrived: lot.arrived.map(|day| day.to_string()),
            tickets: lot.tickets.clone(),
            received: money(&lot.received),
        };
        YearView {
            seq: year.seq,
            year: year.year,
            earned: income(&year.earned),
            received: income(&year.received),
            fees: money(&year.fees),
            unpaid: money(&year.unpaid),
            held: money(&year.held),
            spent: year.spent.iter().map(spent).collect(),
            trips: year.trips.iter().map(trip).collect(),
            stock_day: year.stock_day.to_string(),
            stock: year.stock.iter().map(stock).collect(),
            lots: year.lots.iter().map(lot).collect(),
        }
    }
}
