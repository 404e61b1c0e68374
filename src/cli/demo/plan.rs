//! The invented weeks as they stand in `demo/week.toml`.

use crate::facts::{Mark, PayMethod, Payout, Seen};
use crate::measure::{Mass, Unit};
use jiff::civil::Time;
use serde::{Deserialize, Deserializer};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    pub grades: Vec<String>,
    pub feeds: Vec<String>,
    pub buyers: Vec<String>,
    #[serde(rename = "bin")]
    pub bins: Vec<BinPlan>,
    #[serde(rename = "stock")]
    pub stocks: Vec<StockPlan>,
    #[serde(rename = "quote")]
    pub quotes: Vec<QuotePlan>,
    #[serde(rename = "payout")]
    pub payouts: Vec<PayoutPlan>,
    #[serde(rename = "word")]
    pub words: Vec<WordPlan>,
    #[serde(rename = "note")]
    pub notes: Vec<NotePlan>,
    pub limits: LimitsPlan,
    #[serde(rename = "mark")]
    pub marks: Vec<MarkPlan>,
    #[serde(rename = "wire")]
    pub wires: Vec<WirePlan>,
    #[serde(rename = "check")]
    pub checks: Vec<CheckPlan>,
    #[serde(rename = "full")]
    pub fulls: Vec<FullPlan>,
    #[serde(rename = "look")]
    pub looks: Vec<LookPlan>,
    #[serde(rename = "yard")]
    pub yards: Vec<YardPlan>,
    pub vehicle: VehiclePlan,
    #[serde(rename = "hold")]
    pub holds: Vec<HoldPlan>,
    #[serde(rename = "run")]
    pub runs: Vec<RunPlan>,
    #[serde(rename = "arrival")]
    pub arrivals: Vec<ArrivalPlan>,
    #[serde(rename = "spending")]
    pub spendings: Vec<SpendingPlan>,
    #[serde(rename = "minutes")]
    pub minutes: Vec<MinutesPlan>,
    #[serde(rename = "session")]
    pub sessions: Vec<SessionPlan>,
    pub live: LivePlan,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BinPlan {
    pub number: u32,
    pub name: String,
    pub grade: String,
    /// None for a bin whose empty weight is learned when it is first set down.
    #[serde(default, deserialize_with = "mass_or_none")]
    pub tare: Option<Mass>,
    #[serde(default, deserialize_with = "mass_or_none")]
    pub capacity: Option<Mass>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StockPlan {
    pub bin: u32,
    #[serde(deserialize_with = "mass")]
    pub mass: Mass,
    pub reason: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuotePlan {
    pub buyer: String,
    pub grade: String,
    pub price: String,
    pub days_ago: i64,
    #[serde(default, deserialize_with = "mass_or_none")]
    pub minimum: Option<Mass>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PayoutPlan {
    pub buyer: String,
    pub payout: Payout,
}

/// What a buyer calls a grade.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WordPlan {
    pub buyer: String,
    pub word: String,
    pub grade: String,
}

/// What the person says of a grade.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NotePlan {
    pub grade: String,
    pub fallback: String,
    /// Minutes a month that sorting it out takes.
    pub sorting: u64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LimitsPlan {
    pub floor: String,
    pub places: u32,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkPlan {
    pub feed: String,
    #[serde(default)]
    pub strain: Mark,
    #[serde(default)]
    pub mess: Mark,
    #[serde(default)]
    pub space: Mark,
    #[serde(default)]
    pub veto: Option<String>,
}

/// A sample of wire.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WirePlan {
    pub days_ago: i64,
    pub feed: String,
    pub metal: String,
    #[serde(deserialize_with = "mass")]
    pub insulated: Mass,
    #[serde(deserialize_with = "mass")]
    pub bare: Mass,
    #[serde(deserialize_with = "mass")]
    pub division: Mass,
    pub seconds: u64,
}

/// A known weight that is announced and laid on.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckPlan {
    pub days_ago: i64,
    #[serde(deserialize_with = "mass")]
    pub nominal: Mass,
    #[serde(deserialize_with = "mass")]
    pub within: Mass,
    /// What the scale makes of it on that day.
    #[serde(deserialize_with = "mass")]
    pub felt: Mass,
    pub source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FullPlan {
    pub days_ago: i64,
    pub bin: u32,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LookPlan {
    pub days_ago: i64,
    pub bin: u32,
    pub seen: Seen,
}

/// Where a buyer is.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct YardPlan {
    pub buyer: String,
    pub distance: String,
    pub minutes: u32,
    pub minutes_there: u32,
    pub open: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VehiclePlan {
    #[serde(deserialize_with = "mass")]
    pub payload: Mass,
    pub litres: u32,
    /// For a kilometre.
    pub running: String,
}

/// A grade that waits for a price, but no longer than so many days from now.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoldPlan {
    pub grade: String,
    pub at: String,
    pub days: i64,
}

/// A drive to one buyer with whole bins, and the ticket that came of it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunPlan {
    pub days_ago: i64,
    pub buyer: String,
    pub number: String,
    pub distance_km: String,
    pub minutes: u64,
    pub cost: String,
    #[serde(deserialize_with = "mass")]
    pub division: Mass,
    pub lines: Vec<RunLinePlan>,
    /// None where it is not paid yet.
    #[serde(default)]
    pub paid: Option<PayMethod>,
}

/// One bin on the ticket: the buyer's scale shows so many grams more than ours, and the net stands in its division.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunLinePlan {
    pub bin: u32,
    pub text: String,
    /// As which grade it is paid.
    pub grade: String,
    pub differs: i64,
    pub price: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SessionPlan {
    pub days_ago: i64,
    pub at: Time,
    pub feed: String,
    pub seed: u64,
    pub work: Vec<WorkPlan>,
    /// What was weighed or counted before; without it, nothing was.
    #[serde(default)]
    pub lot: Option<LotPlan>,
}

/// A lot that is opened when its session starts and worked off when it ends.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotPlan {
    #[serde(deserialize_with = "mass")]
    pub mass: Mass,
    pub pieces: u32,
    #[serde(default)]
    pub depth: Option<String>,
    /// Away from the bench, with what for.
    pub minutes: u64,
    pub what: String,
    /// Used up on it, with what it was.
    #[serde(default)]
    pub used: Option<(String, String)>,
    /// Hands-off, with what for.
    #[serde(default)]
    pub waited: Option<(u64, String)>,
    /// It came with this arrival, by its place in the plan.
    #[serde(default)]
    pub arrival: Option<usize>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ArrivalPlan {
    pub days_ago: i64,
    pub from: String,
    pub what: String,
    #[serde(default)]
    pub feed: Option<String>,
    #[serde(default, deserialize_with = "mass_or_none")]
    pub mass: Option<Mass>,
    #[serde(default)]
    pub pieces: Option<u32>,
    pub paid: String,
    pub minutes: u64,
    pub distance_km: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpendingPlan {
    pub days_ago: i64,
    pub sort: String,
    pub what: String,
    pub amount: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MinutesPlan {
    pub days_ago: i64,
    pub sort: String,
    pub what: String,
    pub minutes: u64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LivePlan {
    pub feed: String,
    pub seed: u64,
    pub work: Vec<WorkPlan>,
}

/// So many pieces into one bin.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkPlan {
    pub bin: u32,
    pub pieces: u32,
    #[serde(deserialize_with = "mass")]
    pub from: Mass,
    #[serde(deserialize_with = "mass")]
    pub to: Mass,
}

impl Plan {
    pub fn parse(text: &str) -> Result<Plan, toml::de::Error> {
        toml::from_str(text)
    }
}

fn mass<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Mass, D::Error> {
    let text = String::deserialize(deserializer)?;
    let parts = text.split_once(' ').and_then(|(number, unit)| Mass::parse(number, Unit::from_symbol(unit)?).ok());
    parts.ok_or_else(|| serde::de::Error::custom(format!("{text:?} is not a weight such as \"1.240 kg\"")))
}

fn mass_or_none<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Mass>, D::Error> {
    mass(deserializer).map(Some)
}
