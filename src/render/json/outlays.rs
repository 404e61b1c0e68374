//! Arrivals, money and minutes, as JSON.

use super::MassView;
use crate::measure::Money;
use crate::query::{ArrivalLine, SpendingLine, TimeLine, TimeSort};
use crate::render::feed_words::{part_code, sort_code};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MoneyView {
    pub amount: String,
    pub currency: String,
}

impl From<Money> for MoneyView {
    fn from(money: Money) -> MoneyView {
        MoneyView { amount: money.amount.to_string(), currency: money.currency.to_string() }
    }
}

/// Goods that came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ArrivalView {
    pub id: u64,
    pub from: String,
    pub day: String,
    pub what: String,
    pub feed: Option<String>,
    pub mass: Option<MassView>,
    pub pieces: Option<u32>,
    /// Null where nobody has said, which is not nothing.
    pub paid: Option<MoneyView>,
    pub minutes: Option<u64>,
    pub distance_km: Option<String>,
    /// The lots that came with it, by the owner's word.
    pub lots: Vec<u64>,
    pub voided: bool,
}

/// Money that went out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SpendingView {
    pub id: u64,
    /// `consumables`, `disposal`, `tools`, `fuel`, `fees`, `feed` or `other`.
    pub sort: String,
    pub what: String,
    pub day: String,
    pub amount: MoneyView,
    pub buyer: Option<String>,
    pub feed: Option<String>,
    pub lot: Option<u64>,
    pub voided: bool,
}

/// Minutes that were told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TimeView {
    pub id: u64,
    /// `fetching`, `bench`, `yard`, or `waiting` where nobody's hands were on it.
    pub sort: String,
    pub what: String,
    pub minutes: u64,
    pub day: String,
    pub lot: Option<u64>,
    /// Waiting while the clock of the bench ran: taken off it.
    pub clock_ran: bool,
    pub voided: bool,
}

impl From<&ArrivalLine> for ArrivalView {
    fn from(line: &ArrivalLine) -> ArrivalView {
        ArrivalView {
            id: line.arrival,
            from: line.from.clone(),
            day: line.day.to_string(),
            what: line.what.clone(),
            feed: line.feed.clone(),
            mass: line.mass.map(MassView::from),
            pieces: line.pieces,
            paid: line.paid.map(MoneyView::from),
            minutes: line.span.map(|span| span.as_seconds() / 60),
            distance_km: line.distance_km.map(|distance| distance.to_string()),
            lots: line.lots.iter().map(|lot| lot.0).collect(),
            voided: line.voided,
        }
    }
}

impl From<&SpendingLine> for SpendingView {
    fn from(line: &SpendingLine) -> SpendingView {
        SpendingView {
            id: line.spending,
            sort: sort_code(line.sort).to_owned(),
            what: line.what.clone(),
            day: line.day.to_string(),
            amount: line.amount.into(),
            buyer: line.buyer.clone(),
            feed: line.feed.clone(),
            lot: line.lot.map(|lot| lot.0),
            voided: line.voided,
        }
    }
}

impl From<&TimeLine> for TimeView {
    fn from(line: &TimeLine) -> TimeView {
        let (sort, clock_ran) = match line.sort {
            TimeSort::Work(part) => (part_code(part), false),
            TimeSort::Waiting { clock_ran } => ("waiting", clock_ran),
        };
        TimeView {
            id: line.time,
            sort: sort.to_owned(),
            what: line.what.clone(),
            minutes: line.span.as_seconds() / 60,
            day: line.day.to_string(),
            lot: line.lot.map(|lot| lot.0),
            clock_ran,
            voided: line.voided,
        }
    }
}
