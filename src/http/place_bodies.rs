//! What requests about marks, places, wire and the round through the stock carry.

use super::bodies::{MassBody, present};
use super::feed_bodies::MoneyBody;
use serde::Deserialize;
use utoipa::ToSchema;

/// The owner's marks of a feed: a key that is absent is left alone.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct MarksBody {
    /// `none`, `some` or `much`, as are the next two.
    pub strain: Option<String>,
    pub mess: Option<String>,
    pub space: Option<String>,
    /// Why not at all; null takes it back.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<String>)]
    pub veto: Option<Option<String>>,
}

/// What an hour must bring, and how many places for bins there are: a key that is absent is left alone, null takes it back.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct LimitsBody {
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<MoneyBody>)]
    pub floor_per_hour: Option<Option<MoneyBody>>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<u32>)]
    pub places: Option<Option<u32>>,
}

/// How much more time a month it takes to sort a grade out; null takes it back.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SortingBody {
    pub minutes_a_month: Option<u32>,
}

/// What is seen in a bin, of what is booked.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LookBody {
    /// `right`, `three-quarters`, `half`, `quarter` or `emptied`.
    pub seen: String,
}

/// Wire, weighed, stripped, and its metal weighed.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WireBody {
    /// The kind of wire: a feed.
    pub feed: String,
    /// What the bare metal is sold as: a grade.
    pub metal: String,
    pub insulated: MassBody,
    pub bare: MassBody,
    /// Of the scale that showed both; without it, the coarser last digit that was written.
    #[serde(default)]
    pub division: Option<MassBody>,
    /// Hands on, for this sample: one of minutes and seconds, or neither where nobody timed it.
    #[serde(default)]
    pub minutes: Option<u32>,
    #[serde(default)]
    pub seconds: Option<u32>,
    /// As in `2026-03-01`; none means today.
    #[serde(default)]
    pub day: Option<String>,
}
