//! Which prices a figure stands on: both sides of a comparison must come from the same.

use crate::facts::BuyerId;
use jiff::civil::Date;

/// Where the prices come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Quotes in force on a day, of one buyer or of the best for each grade: for decisions.
    Quotes { day: Date, buyer: Option<BuyerId> },
    /// What was really paid from one day to before another: for history.
    Realised { from: Date, until: Date },
}
