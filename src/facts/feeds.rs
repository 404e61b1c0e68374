//! What is told of feeds and their lots beside what the scale shows: how deep, how many, where from, what it cost.

use super::{BinId, BuyerId, FeedId, FillId, LotId, SessionId, Set, Source, StepId};
use crate::measure::{Mass, Money, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A lot that was opened by hand: counted, weighed elsewhere, or both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotBegun {
    pub feed: FeedId,
    pub session: Option<SessionId>,
    /// None where it was only counted.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mass: Option<Mass>,
    /// Of the mass.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub source: Option<Source>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub pieces: Option<u32>,
    /// To which depth it is taken apart, in the owner's own word.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub depth: Option<String>,
    pub reason: String,
}

/// Material was drawn from a bin to be taken apart further: the fill goes down by it, and it opens a lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotDrawn {
    /// The removal that the scale showed; none where it was told by hand.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub step: Option<StepId>,
    pub bin: BinId,
    pub fill: FillId,
    /// None where nobody has said what it is.
    pub feed: Option<FeedId>,
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    pub mass: Mass,
    /// Of a mass that was told by hand.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub source: Option<Source>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub pieces: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub depth: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub reason: Option<String>,
}

/// What the owner says of a lot; what is absent is left as it is, null takes it back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotDescribed {
    pub lot: LotId,
    #[serde(skip_serializing_if = "Set::is_keep", default)]
    pub depth: Set<String>,
    #[serde(skip_serializing_if = "Set::is_keep", default)]
    pub pieces: Set<u32>,
    /// The arrival that it came with, by the number of its event.
    #[serde(skip_serializing_if = "Set::is_keep", default)]
    pub arrival: Set<u64>,
}

/// A lot soaked, was heated, or waited for something: nobody's hands were on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotWaited {
    pub lot: LotId,
    pub what: String,
    pub span: Span,
    pub day: Date,
    /// The clock of the bench ran meanwhile on this lot, so that the time is taken off it.
    pub clock_ran: bool,
}

/// Goods came in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ArrivalCame {
    /// Where from, in the owner's words.
    pub from: String,
    pub day: Date,
    pub what: String,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub feed: Option<FeedId>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mass: Option<Mass>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub pieces: Option<u32>,
    /// For the goods; none where nobody has said, which is not nothing.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub paid: Option<Money>,
    /// That fetching it took, there and back.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub span: Option<Span>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub distance_km: Option<Decimal>,
}

/// Money went out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MoneySpent {
    pub sort: SpendingSort,
    pub what: String,
    pub day: Date,
    pub amount: Money,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub buyer: Option<BuyerId>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub feed: Option<FeedId>,
    /// The lot for which it was used up, or that it cost to be rid of.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub lot: Option<LotId>,
}

/// What money was spent on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpendingSort {
    /// Blades, gas, gloves, solvents: what is used up.
    Consumables,
    /// To be rid of what nobody buys.
    Disposal,
    /// What lasts.
    Tools,
    Fuel,
    Fees,
    /// Goods to be taken apart.
    Feed,
    Other,
}

/// A stretch of work against the clock begins: one sample of what an hour on a feed brings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialBegan {
    pub session: SessionId,
    pub leg: u64,
    pub feed: FeedId,
    pub span: Span,
}

/// It is over, and this much was taken apart in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrialEnded {
    /// By the number of the event that began it.
    pub trial: u64,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub pieces: Option<u32>,
    /// What it weighed before.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub mass: Option<Mass>,
}

/// A record was wrong: with this it counts nowhere.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordVoided {
    /// By the number of its event.
    pub record: u64,
    pub reason: String,
}

/// A part of the whole job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum JobPart {
    Fetching,
    Bench,
    Yard,
}
