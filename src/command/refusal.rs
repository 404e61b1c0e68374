//! Why an order is refused: a code with what it needs to be told in any language.

use crate::facts::{EntryId, LotId, QuoteId, SessionId};
use crate::measure::Mass;
use jiff::Timestamp;

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    UnknownBench {
        bench: u16,
    },
    UnknownBin {
        number: u32,
        known: Vec<u32>,
    },
    /// No bin is in use.
    NoBin,
    UnknownName {
        what: Kind,
        name: String,
        known: Vec<String>,
    },
    UnknownSession {
        session: SessionId,
    },
    /// No session is open on this bench.
    NoSession,
    UnknownDrop {
        entry: EntryId,
    },
    UnknownStillness {
        stillness: u64,
    },
    /// Nothing was dropped on this bench yet.
    NoDrop,
    /// Too few presses were felt in a trial.
    PressUntried {
        felt: u32,
        needed: u32,
    },
    /// No load was to be an intake.
    NoIntake,
    UnknownLot {
        lot: LotId,
    },
    /// Nobody has said what it is.
    LotWithoutFeed {
        lot: LotId,
    },
    /// It is an intake: what is to be taken apart lies in no bin.
    IsIntake {
        entry: EntryId,
    },
    UnknownQuote {
        quote: QuoteId,
    },
    NumberTaken {
        number: u32,
    },
    NameTaken {
        what: Kind,
        name: String,
    },
    BlankName {
        what: Kind,
    },
    /// A session runs on this bench already.
    SessionOpen {
        session: SessionId,
        started: Timestamp,
    },
    SessionEnded {
        session: SessionId,
        ended: Timestamp,
    },
    SessionPaused {
        session: SessionId,
    },
    SessionNotPaused {
        session: SessionId,
    },
    /// The drop was voided or cancelled, so nothing is left to correct.
    DropGone {
        entry: EntryId,
    },
    /// The drop is still provisional: in a moment it is confirmed, or gone.
    DropProvisional {
        entry: EntryId,
    },
    /// It was no load that was set down with no bin known.
    NotSetDown {
        entry: EntryId,
    },
    NothingMissing {
        number: u32,
    },
    /// Nobody holds it: it was put somewhere, or never taken out.
    NotInHand {
        removal: EntryId,
    },
    NotPositive {
        mass: Mass,
    },
    /// An estimate whose low end lies above its high end, or whose value lies outside them.
    EstimateCrossed,
    SameBin {
        number: u32,
    },
    NothingInBin {
        number: u32,
    },
    NegativeTare {
        mass: Mass,
    },
    NoReason,
    Prices(super::PriceRefusal),
    BreaksOutOfOrder,
    DeductionOutOfRange,
    Feeds(super::FeedRefusal),
    Checks(super::CheckRefusal),
    Places(super::PlaceRefusal),
    Tickets(super::TicketRefusal),
    Trips(super::TripRefusal),
    /// Somebody changed it in between.
    ChangedMeanwhile {
        seen: u64,
        now: u64,
    },
    /// The store does not take events: it is degraded or full.
    StoreClosed,
    /// An idempotency key may have two hundred characters.
    KeyTooLong,
    /// The daemon is stopping.
    Stopping,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Bin,
    Grade,
    Feed,
    Buyer,
}
