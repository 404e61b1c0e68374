//! The write side of every face: typed orders, the running core, and the handle that reaches it.

mod checks;
mod core;
mod decide;
mod desk;
mod emptying;
mod feeds;
mod intake;
mod order;
mod places;
pub mod price_table;
#[cfg(test)]
mod price_tests;
mod prices;
mod receipt;
mod refusal;
mod runs;
mod ticket_order;
mod tickets;
#[cfg(test)]
mod told;
mod trips;

pub use crate::attribute::{Suggestion, Why};

pub use self::core::{Advice, BenchSetup, Core, Effect, Input, LinkNews};
pub use checks::{CheckOrder, CheckRefusal};
pub use desk::{Benches, Desk, Live, Published, Request, ScaleState, Trouble};
pub use feeds::{Arriving, FeedOrder, FeedRefusal};
pub use order::{BinRef, Edit, NameRef, Order, Which};
pub use places::{PlaceOrder, PlaceRefusal};
pub use prices::{PriceOrder, PriceRefusal, QUOTES_MAX, Quoting};
pub use receipt::{Made, Receipt};
pub use refusal::{Kind as NamedKind, Refusal};
pub use ticket_order::{SettingOut, Share, Taking, TakingLine, TicketOrder, TicketRefusal};
pub use tickets::would_take;
pub use trips::{TripOrder, TripRefusal};
