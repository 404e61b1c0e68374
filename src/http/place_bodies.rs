//! What requests about marks, places, wire and the round through the stock carry.

use super::bodies::present;
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
