//! What the owner tells beside the scale so that it can be said what to take apart and which grade earns a place: marks of a
//! feed, full bins, sorting, limits, samples of wire, what was seen on a round through the stock, and emptyings that never were.

use super::{BackHome, BinId, FeedId, FillId, GradeId, Set};
use crate::measure::{Mass, Money, Span};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// How bad it is, as the owner marked it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    #[default]
    None,
    Some,
    Much,
}

/// The owner's marks of a feed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Marks {
    /// On back and hands.
    pub strain: Mark,
    /// Dust, oil, shards.
    pub mess: Mark,
    /// Room that it takes while it is apart.
    pub space: Mark,
    /// "Not this": the owner's reason, in the owner's words.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub veto: Option<String>,
}

/// The owner marked a feed; what was marked before is replaced as a whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FeedMarked {
    pub feed: FeedId,
    pub marks: Marks,
}

/// Somebody tapped that a bin is full: how many days that took is learned from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct BinFull {
    pub bin: BinId,
    pub fill: FillId,
}

/// How much more time a month it takes to sort a grade out than to let it go in with the coarser one; none takes it back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SortingTold {
    pub grade: GradeId,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub a_month: Option<Span>,
}

/// What an hour must bring, and how many places for bins the bench has; what is absent is left as it is, null takes it back.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct LimitsTold {
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub floor: Set<Money>,
    #[serde(skip_serializing_if = "Set::is_keep")]
    pub places: Set<u32>,
}

/// A length of wire was weighed, stripped, and its metal weighed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WireSampled {
    /// The kind of wire.
    pub feed: FeedId,
    /// What the bare metal is sold as.
    pub metal: GradeId,
    pub insulated: Mass,
    pub bare: Mass,
    /// Of the scale that showed both.
    pub division: Mass,
    /// Hands on, for this sample; none where nobody timed it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub span: Option<Span>,
    pub day: Date,
}

/// What is seen in a bin, of what the books hold in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// It looks as booked.
    Right,
    Emptied,
    /// About that much of it is left.
    Quarter,
    Half,
    ThreeQuarters,
}

/// On a round through the stock somebody looked into a bin. The books are left as they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct StockSeen {
    pub bin: BinId,
    pub fill: FillId,
    /// What the books held then.
    pub booked: Mass,
    pub seen: Seen,
}

/// The books follow what was seen: so much is gone from the fill, from `low` to `high`. Outside yields and pay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct StockFollowed {
    /// By the event of the look.
    pub look: u64,
    pub bin: BinId,
    pub fill: FillId,
    pub gone: Mass,
    pub low: Mass,
    pub high: Mass,
}

/// An emptying or a tip that never was: what was taken for gone lies where it lay. What stands there since is by its fill the
/// event of the emptying.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EmptyingTakenBack {
    pub home: BackHome,
    pub reason: String,
}

/// An eighth of what was booked: how far a part that is told by eye may lie from the truth, a rule of thumb of ours.
const EYE: i128 = 8;

impl Seen {
    pub const ALL: [Seen; 5] = [Seen::Right, Seen::ThreeQuarters, Seen::Half, Seen::Quarter, Seen::Emptied];

    /// What is gone of so much, at the least and at the most; none where nothing is.
    pub fn gone(self, booked: Mass) -> Option<(Mass, Mass, Mass)> {
        let eighths = |count: i128| Mass::from_femtograms(booked.femtograms() / EYE * count);
        match self {
            Seen::Right => None,
            Seen::Emptied => Some((booked, booked, booked)),
            Seen::Quarter => Some((eighths(6), eighths(5), eighths(7))),
            Seen::Half => Some((eighths(4), eighths(3), eighths(5))),
            Seen::ThreeQuarters => Some((eighths(2), eighths(1), eighths(3))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_gone_lies_within_what_was_there(grams in 1_i64..1_000_000) {
            let booked = Mass::grams(grams);
            let mut before = Mass::ZERO;
            for seen in [Seen::ThreeQuarters, Seen::Half, Seen::Quarter, Seen::Emptied] {
                let (gone, low, high) = seen.gone(booked).unwrap();
                prop_assert!(Mass::ZERO < low && low <= gone && gone <= high && high <= booked);
                prop_assert!(before < gone, "the less is left, the more is gone");
                before = gone;
            }
            prop_assert_eq!(Seen::Right.gone(booked), None);
        }
    }
}
