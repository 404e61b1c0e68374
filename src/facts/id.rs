//! Identities. Anything is known by the sequence number of the event that founded it, within its store;
//! never by a wall time, which small boards get wrong.

use serde::{Deserialize, Serialize};

/// A store, by 128 random bits drawn when it was founded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct StoreId(pub u128);

impl std::fmt::Display for StoreId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl Serialize for StoreId {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for StoreId {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<StoreId, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
        u128::from_str_radix(&text, 16)
            .ok()
            .filter(|_| text.len() == 32)
            .map(StoreId)
            .ok_or_else(|| serde::de::Error::custom("a store id has 32 hexadecimal digits"))
    }
}

macro_rules! identity {
    ($($(#[$doc:meta])* $name:ident)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub u64);

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
    )*};
}

identity! {
    BinId
    /// A bin between two emptyings: founded when the bin is made, emptied or tipped out.
    FillId
    GradeId
    BuyerId
    QuoteId
    /// A buyer's slip.
    TicketId
    FeedId
    SessionId
    /// A drop, or any other entry in a fill: a removal, an opening stock, a weight taken elsewhere.
    EntryId
    StepId
    /// An intake and what is made of it, by the intake's entry.
    LotId
}

/// A bench, by its number in the configuration, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct BenchId(pub u16);

impl std::fmt::Display for BenchId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}
