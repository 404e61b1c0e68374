//! What requests about feeds and lots carry.

use super::bodies::{MassBody, bad_price, present};
use super::problem::Problem;
use super::site::Site;
use crate::measure::{Currency, Money, Price};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An amount, as in `{"amount": "12.50"}`; without a currency, the usual one.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MoneyBody {
    pub amount: String,
    #[serde(default)]
    pub currency: Option<String>,
}

impl MoneyBody {
    pub fn money(&self, site: &Site) -> Result<Money, Problem> {
        let currency = match &self.currency {
            None => site.currency,
            Some(code) => Currency::parse(code)
                .ok_or_else(|| Problem::bad_body(format!("{code:?} is not a currency of three capital letters, as in EUR")))?,
        };
        Ok(Money { amount: Price::amount(&self.amount).map_err(bad_price)?, currency })
    }
}

/// What the owner says of a lot: a key that is absent is left alone, null takes it back.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct LotChangeBody {
    /// To which depth it is taken apart, in a word of your own.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<String>)]
    pub depth: Option<Option<String>>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<u32>)]
    pub pieces: Option<Option<u32>>,
    /// The arrival that it came with.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<u64>)]
    pub arrival: Option<Option<u64>>,
}

/// A lot soaked, was heated, or waited.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaitBody {
    pub minutes: u32,
    /// What for, in a few words.
    pub what: String,
    /// The clock of the bench ran on this lot meanwhile: the minutes are taken off it.
    #[serde(default)]
    pub clock_ran: bool,
    /// As in `2026-03-01`; none means today.
    #[serde(default)]
    pub day: Option<String>,
}

/// What was used up on a lot, or what it cost to be rid of something.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CostBody {
    /// `consumables` or `disposal`.
    pub sort: String,
    pub what: String,
    pub cost: MoneyBody,
    #[serde(default)]
    pub day: Option<String>,
}

/// Goods that came in.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ArrivalBody {
    /// Where from, in your own words.
    pub from: String,
    pub what: String,
    #[serde(default)]
    pub day: Option<String>,
    #[serde(default)]
    pub feed: Option<String>,
    #[serde(default)]
    pub mass: Option<MassBody>,
    #[serde(default)]
    pub pieces: Option<u32>,
    /// What was paid for it; none where you do not know, which is not nothing.
    #[serde(default)]
    pub paid: Option<MoneyBody>,
    /// That fetching it took, there and back.
    #[serde(default)]
    pub minutes: Option<u32>,
    #[serde(default)]
    pub distance_km: Option<String>,
}

/// Money that went out.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SpendingBody {
    /// `consumables`, `disposal`, `tools`, `fuel`, `fees`, `feed` or `other`.
    pub sort: String,
    pub what: String,
    pub cost: MoneyBody,
    #[serde(default)]
    pub day: Option<String>,
    #[serde(default)]
    pub buyer: Option<String>,
    #[serde(default)]
    pub feed: Option<String>,
}

/// Minutes of the whole job that belong to no lot.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct JobMinutesBody {
    /// `fetching`, `bench` or `yard`.
    pub sort: String,
    pub minutes: u32,
    pub what: String,
    #[serde(default)]
    pub day: Option<String>,
}

/// A stretch against the clock.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialBody {
    /// One of minutes and seconds.
    #[serde(default)]
    pub minutes: Option<u32>,
    #[serde(default)]
    pub seconds: Option<u32>,
    /// Without it, what is at hand in the session.
    #[serde(default)]
    pub feed: Option<String>,
}

/// What was taken apart in a trial.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct TrialEndBody {
    pub pieces: Option<u32>,
    /// What it weighed before.
    pub mass: Option<MassBody>,
}
