//! Exact quantities: mass, units, displayed values, prices and money, time spans, uncertainty.
//!
//! Nothing here reads a clock or a file, and no mass or amount passes through floating point.

mod displayed;
mod distance;
mod mass;
mod money;
mod notation;
mod price;
mod rate;
mod rounding;
mod span;
mod stamp;
mod uncertainty;
mod unit;
mod written;

pub use displayed::{BadNumber, Displayed};
pub use distance::{Distance, DistanceUnit, Running};
pub use mass::Mass;
pub use money::{Currency, Money};
pub use notation::{Notation, Per};
pub use price::{BadPrice, Price, PriceUnit};
pub use rate::Rate;
pub use rounding::Rounding;
pub use span::{Moment, Span};
pub use stamp::{BootId, Stamp};
pub use uncertainty::Variance;
pub use unit::Unit;
pub use written::{BadWritten, Written};
