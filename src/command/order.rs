//! What a person or a program may ask for.

use crate::facts::{BinChange, EntryId, LotId, NameChange, QuoteId, SessionId, Source, Void};
use crate::measure::{Mass, Span};
use crate::settle::Manner;
use jiff::civil::Date;

/// A bin by the number that is painted on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BinRef(pub u32);

/// A grade, feed or buyer by its name; letter case does not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NameRef(pub String);

/// An edit of what others may have changed: `seen` is the version that the editor looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Edit {
    pub seen: Option<u64>,
}

/// Which drops a move is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    One(EntryId),
    /// This drop of a bench and every one after it that lies in the same bin.
    Since(EntryId),
}

#[derive(Debug, Clone, PartialEq)]
pub enum Order {
    ChooseBin {
        bin: Option<BinRef>,
    },
    /// The bin with the next higher number in use; behind the last comes the first.
    ChooseNextBin,
    /// Begins a trial of long presses on the pan: they are counted and do nothing.
    TryPress,
    /// A long press on the pan chooses the next bin, or no longer.
    UsePress {
        on: bool,
    },
    ChooseManner {
        manner: Manner,
    },

    /// The next load is an intake, of this feed or else of the one that is at hand when it lands.
    AskIntake {
        feed: Option<NameRef>,
    },
    WithdrawIntake,
    /// Says of which feed a lot is.
    TellLot {
        lot: LotId,
        feed: NameRef,
    },
    /// An intake that was weighed elsewhere.
    EnterLot {
        feed: NameRef,
        mass: Mass,
        source: Source,
        reason: String,
    },
    /// It is worked off.
    CloseLot {
        lot: LotId,
    },
    ReopenLot {
        lot: LotId,
    },

    StartSession {
        feed: Option<NameRef>,
    },
    PauseSession {
        session: SessionId,
    },
    ResumeSession {
        session: SessionId,
    },
    /// Pauses the bench's session, or resumes it.
    TurnSession,
    EndSession {
        session: SessionId,
    },
    /// What a stillness was: away, or working all the same.
    TellStillness {
        session: SessionId,
        stillness: u64,
        away: bool,
    },
    BeginLeg {
        session: SessionId,
        feed: Option<NameRef>,
    },

    MakeBin {
        number: Option<u32>,
        name: Option<String>,
        grade: Option<NameRef>,
        tare: Option<Mass>,
        capacity: Option<Mass>,
    },
    ChangeBin {
        bin: BinRef,
        change: BinChange,
        grade: Option<Option<NameRef>>,
        edit: Edit,
    },
    MakeGrade {
        name: String,
    },
    ChangeGrade {
        grade: NameRef,
        change: NameChange,
        edit: Edit,
    },
    MakeFeed {
        name: String,
    },
    ChangeFeed {
        feed: NameRef,
        change: NameChange,
        edit: Edit,
    },
    MakeBuyer {
        name: String,
    },
    ChangeBuyer {
        buyer: NameRef,
        change: NameChange,
        edit: Edit,
    },
    GiveQuote(super::Quoting),
    Prices(super::PriceOrder),
    WithdrawQuote {
        quote: QuoteId,
        reason: String,
    },

    VoidDrop {
        entry: EntryId,
        which: Void,
        reason: String,
    },
    MoveDrops {
        which: Which,
        to: BinRef,
        reason: String,
    },
    /// What was set down and kept as a drop was the bin itself: it is no material, and what landed since is in it.
    WasTheBin {
        entry: EntryId,
        bin: BinRef,
    },
    /// Marks a drop to be looked at later.
    /// None means the last drop of the bench.
    DoubtDrop {
        entry: Option<EntryId>,
    },
    /// What a bin came back lighter by is gone from it: the books follow the scale.
    SettleMissing {
        bin: BinRef,
    },
    /// What was taken out of a bin was put where the scale does not see it.
    SettleHand {
        removal: EntryId,
        reason: String,
    },
    AdjustDrop {
        entry: EntryId,
        mass: Mass,
        source: Source,
        reason: String,
    },
    TipBin {
        from: BinRef,
        to: BinRef,
        reason: String,
    },
    EmptyBin {
        bin: BinRef,
        reason: String,
    },
    OpeningStock {
        bin: BinRef,
        mass: Mass,
        source: Source,
        reason: String,
    },
    EnterWeight {
        bin: Option<BinRef>,
        mass: Mass,
        source: Source,
        reason: String,
    },

    /// A known mass was laid on the scale, alone.
    CheckWeight {
        nominal: Mass,
        shown: Mass,
        /// How far the weight itself may be off; none where nobody knows, and then it bounds nothing.
        within: Option<Mass>,
        /// What was laid on, and who says what it weighs.
        source: String,
        /// Of the display.
        division: Mass,
    },
    Checks(super::CheckOrder),
    SpendMinutes {
        what: String,
        span: Span,
        day: Date,
        session: Option<SessionId>,
        /// The lot on which they were spent, away from the bench.
        lot: Option<LotId>,
    },
    Feeds(super::FeedOrder),
    Places(super::PlaceOrder),
    Tickets(Box<super::TicketOrder>),
    Trips(super::TripOrder),
}
