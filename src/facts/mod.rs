//! Events, as plain data, and the books that are folded from them.

pub mod books;
mod event;
mod fact;
mod id;

pub use books::Books;
pub use event::{Event, SCHEMA};
pub use fact::{
    BinChange, Break, Bridge, Cancellation, Confirmation, Doubt, Fact, KnownBy, NameChange, Set, Source, TicketLine, Void,
};
pub use id::{BenchId, BinId, BuyerId, EntryId, FeedId, FillId, GradeId, QuoteId, SessionId, StepId, StoreId};
