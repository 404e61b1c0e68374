//! Events, as plain data, and the books that are folded from them.

pub mod books;
mod change;
mod checks;
mod event;
mod fact;
mod feeds;
mod id;
mod places;
mod prices;
mod tickets;
mod trips;
mod verdict;

pub use books::Books;
pub use change::{BinChange, Break, NameChange, Set, TicketLine};
pub use checks::{CheckLaid, CheckTakenOff, Disturbance, KnownWeight, ScaleDisturbed};
pub use event::{Event, SCHEMA};
pub use fact::{Doubt, Fact, Source};
pub use feeds::{
    ArrivalCame, JobPart, LotBegun, LotDescribed, LotDrawn, LotWaited, MoneySpent, RecordVoided, SpendingSort, TrialBegan,
    TrialEnded,
};
pub use id::{BenchId, BinId, BuyerId, EntryId, FeedId, FillId, GradeId, LotId, QuoteId, SessionId, StepId, StoreId, TicketId};
pub use places::{
    BinFull, EmptyingTakenBack, FeedMarked, LimitsTold, Mark, Marks, Seen, SortingTold, StockFollowed, StockSeen, WireSampled,
};
pub use prices::{BuyerTold, GradeTold, Payout, PiecesCounted, RateQuoted, WordTold};
pub use tickets::{
    BackHome, LoadMoved, LoadWhy, PaperLine, PaperOff, PayMethod, PaymentCame, RunLoad, RunSetOut, RunTakenBack, TicketSettled,
    TicketTaken, TicketVoided, WeighedPart,
};
pub use trips::{BinPinned, Hold, HoldTold, OpenDays, Pin, RoadTold, VehicleTold, WEEKDAYS, Way, Yard, YardTold};
pub use verdict::{Bridge, Cancellation, Confirmation, KnownBy, Void};
