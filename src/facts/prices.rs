//! What is told of prices beside a price by weight: by the piece, what it costs to leave a thing, how a buyer pays and
//! what a buyer calls things; and how many pieces lie in a bin.

use super::{BinId, Break, BuyerId, FillId, GradeId, Set};
use crate::measure::{Mass, Rate};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A price by the piece, or a charge: a negative amount, by weight or by the piece, that it costs to leave the thing there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateQuoted {
    pub buyer: BuyerId,
    pub grade: GradeId,
    pub rate: Rate,
    /// The first day on which it holds.
    pub day: Date,
    /// Days after which it is called stale; none means the configured number.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub stale_after: Option<u16>,
    /// Another amount from a quantity on, in rising order of quantity.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub breaks: Vec<Break>,
    /// The buyer takes no less than this.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub minimum: Option<Mass>,
    /// Per cent that the buyer takes off the weight.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub deduction: Option<Decimal>,
}

/// The pieces in a bin were counted, all of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PiecesCounted {
    pub bin: BinId,
    pub fill: FillId,
    pub pieces: u32,
}

/// What the owner says of a grade; what is absent is left as it is, null takes it back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GradeTold {
    pub grade: GradeId,
    /// The coarser grade that it can be folded into.
    #[serde(skip_serializing_if = "Set::is_keep", default)]
    pub fallback: Set<GradeId>,
    /// The word of a published trade specification for it, as a note.
    #[serde(skip_serializing_if = "Set::is_keep", default)]
    pub specification: Set<String>,
}

/// How a buyer pays out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BuyerTold {
    pub buyer: BuyerId,
    pub payout: Payout,
}

/// A buyer's own word for a grade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WordTold {
    pub buyer: BuyerId,
    pub word: String,
    /// None takes the word back.
    pub grade: Option<GradeId>,
}

/// How a buyer pays out a total in cash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Payout {
    /// To the cent: by cheque, by card, or with cents in the till.
    #[default]
    Exact,
    /// To the nearest five cents; of a total in whole cents none lies halfway.
    NearestFive,
    /// Down to five cents.
    DownFive,
    /// To the nearest ten cents; five cents up, as the named rule of the cents would have it.
    NearestTen,
}

impl Payout {
    pub const ALL: [Payout; 4] = [Payout::Exact, Payout::NearestFive, Payout::DownFive, Payout::NearestTen];

    /// Its code in every face.
    pub const fn name(self) -> &'static str {
        match self {
            Payout::Exact => "exact",
            Payout::NearestFive => "nearest-five",
            Payout::DownFive => "down-five",
            Payout::NearestTen => "nearest-ten",
        }
    }

    pub fn from_name(name: &str) -> Option<Payout> {
        Payout::ALL.into_iter().find(|payout| payout.name() == name)
    }
}
