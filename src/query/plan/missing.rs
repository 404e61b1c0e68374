//! What nobody has told, and which buyers are in no plan.

use crate::measure::{Currency, Money, Price};
use jiff::civil::Date;

/// Something that nobody has told, or told so that it cannot be used here. Each says what stands in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Missing {
    /// No limit is set by it.
    Payload,
    Room,
    /// Driving costs nothing; or it was told in another currency.
    Running {
        told: Option<Money>,
    },
    /// Hours cost nothing; or it was told in another currency.
    Floor {
        told: Option<Money>,
    },
    /// It counts as open.
    OpenDays {
        buyer: String,
    },
    /// These bins take no room, by number.
    Litres {
        bins: Vec<u32>,
    },
    /// These bins weigh no more than what is in them, by number.
    EmptyWeight {
        bins: Vec<u32>,
    },
    Stale {
        buyer: String,
        grade: String,
        day: Date,
    },
    /// Quotes by the piece, or in another currency, are in no plan.
    NotByWeight {
        buyer: String,
        grade: String,
    },
    OtherCurrency {
        buyer: String,
        grade: String,
        currency: Currency,
    },
    /// It holds nothing back.
    HoldElsewhere {
        grade: String,
        at: Price,
    },
    /// From one to the other it counts as the way by home.
    Road {
        one: String,
        other: String,
    },
}

/// Why a buyer is in no plan of this day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beyond {
    /// Nobody has told where it is.
    NoYard,
    Closed,
    /// No quote by weight, in the currency, for anything that lies here.
    NoQuote,
    /// More buyers than are planned at once; it is among the farthest.
    TooMany,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeyondBuyer {
    pub name: String,
    pub why: Beyond,
}
