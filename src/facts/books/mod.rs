//! The books: the state folded from the events, which every answer reads.
//!
//! The maps share their structure between copies, so a reader holds a whole consistent state for the price of a
//! few pointers, and a report never stops the weighing.

mod attribution;
mod checks;
mod corrections;
mod entry;
mod feeds;
mod fold;
mod keys;
mod lot;
mod places;
mod post;
mod prices;
mod session;
mod sums;
mod tickets;
mod trips;

pub use checks::{CheckUse, LyingCheck, ScaleChange, Stretch};
pub use entry::{Entry, EntryState, Origin};
pub use fold::Misfit;
pub use lot::{AskedIntake, Lot, LotTurn, Work};
pub use places::{FeedMarks, Limits, Look};
pub use post::{chained, of_chains};
pub use prices::{BuyerNote, Count, GradeNote, Word, plain_word};
pub use session::{Leg, Run, Session, Stillness, between};
pub use sums::{Part, Sum, SumKey};
pub use tickets::Ticket;
pub use trips::{Told, Vehicle};

use super::{
    BenchId, BinId, Break, Bridge, BuyerId, EntryId, FeedId, FillId, GradeId, KnownBy, LotId, QuoteId, SessionId, StepId, StoreId,
};
use crate::dialect::Kind;
use crate::measure::{Mass, Moment, Rate, Span, Stamp, Unit, Variance};
use crate::settle::{EpochCause, Manner, Rest};
use imbl::{OrdMap, OrdSet, Vector};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// The version of the fold: a checkpoint made by another fold is not used.
pub const FOLD: u32 = 9;

/// The whole state as of one sequence number.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Books {
    pub store: Option<StoreId>,
    /// The last event that is folded in.
    pub seq: u64,
    pub bins: OrdMap<BinId, Bin>,
    pub fills: OrdMap<FillId, Fill>,
    pub grades: OrdMap<GradeId, Named>,
    pub feeds: OrdMap<FeedId, Named>,
    pub buyers: OrdMap<BuyerId, Named>,
    pub quotes: OrdMap<QuoteId, Quote>,
    pub grade_notes: OrdMap<GradeId, GradeNote>,
    pub buyer_notes: OrdMap<BuyerId, BuyerNote>,
    /// What each buyer calls our grades, by the word as [`plain_word`] gives it.
    pub words: OrdMap<(BuyerId, String), Word>,
    pub sessions: OrdMap<SessionId, Session>,
    pub entries: OrdMap<EntryId, Entry>,
    pub lots: OrdMap<LotId, Lot>,
    /// The owner's marks of feeds.
    pub marks: OrdMap<FeedId, FeedMarks>,
    /// What it takes more a month to sort a grade out.
    pub sorting: OrdMap<GradeId, Span>,
    pub limits: Limits,
    /// The last look into each bin.
    pub looks: OrdMap<BinId, Look>,
    pub tickets: OrdMap<super::TicketId, Ticket>,
    /// What was moved beside the scale, by its entry.
    pub loads: OrdMap<EntryId, super::LoadMoved>,
    pub benches: OrdMap<BenchId, Bench>,
    /// Where each buyer is.
    pub yards: OrdMap<BuyerId, Told<super::Yard>>,
    /// Between two buyers, the one that was made first before the other.
    pub roads: OrdMap<(BuyerId, BuyerId), super::Way>,
    pub vehicle: Vehicle,
    pub holds: OrdMap<GradeId, Told<super::Hold>>,
    /// By fill: with it what was decided about it ends.
    pub pins: OrdMap<FillId, super::Pin>,
    pub records: Vector<Record>,
    /// Records that were wrong, by the event that says so.
    pub voids: OrdMap<u64, u64>,
    /// Drops that count and lie in no bin.
    pub loose: OrdSet<EntryId>,
    /// Drops in a bin that somebody has marked to be looked at.
    pub marked: OrdSet<EntryId>,
    /// Where the scale of a bench became another one or was disturbed, by the event that says so.
    pub scale_changes: OrdMap<(BenchId, u64), ScaleChange>,
    sums: OrdMap<SumKey, Sum>,
    /// What counts and lies in no fill.
    nowhere: OrdSet<EntryId>,
    /// Events that opened or closed a lot.
    lot_turns: Vector<u64>,
    keys: keys::Keys,
}

/// A container with a number painted on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bin {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<GradeId>,
    pub tare: Option<Mass>,
    /// The tare was taken from the first time it was set down, and nobody has confirmed it.
    pub tare_learned: bool,
    pub capacity: Option<Mass>,
    /// Room that the vessel takes in the vehicle.
    pub litres: Option<u32>,
    pub retired: bool,
    /// The fill that drops go into now.
    pub fill: FillId,
    /// What the scale last showed of it, container and all.
    pub last_gross: Option<Mass>,
    /// What a load weighed when it was lifted off that was kept apart and perhaps was this bin.
    pub stray: Option<Mass>,
    /// What it came back lighter by when it was set down last.
    pub missing: Option<Mass>,
    /// The last event that changed its set-up: what an edit is checked against.
    pub changed: u64,
}

/// A bin between two emptyings.
#[derive(Debug, Clone, PartialEq)]
pub struct Fill {
    pub bin: BinId,
    pub grade: Option<GradeId>,
    pub opened: Stamp,
    pub closed: Option<Closed>,
    /// Sum of the entries that count.
    pub mass: Mass,
    /// Of it, what lay there before the program came or came while nobody weighed: in no yield and no pay.
    pub not_worked: Mass,
    pub variance: Variance,
    /// Drops that count.
    pub drops: u32,
    /// The heaviest of them.
    pub heaviest: Mass,
    /// Of the mass, what the scale of each bench showed since it changed last: that scale's own error is common to it.
    pub weighed: OrdMap<(BenchId, u64), Mass>,
    /// Every entry that was ever posted here or moved here, by sequence, whether it still counts or not.
    pub entries: Vector<EntryId>,
    /// Every count of its pieces, in order.
    pub counts: Vector<Count>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closed {
    pub at: Stamp,
    pub how: HowClosed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HowClosed {
    Emptied,
    TippedInto(FillId),
}

/// A grade, a feed or a buyer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    pub name: String,
    pub retired: bool,
    pub changed: u64,
}

/// What a buyer pays for a grade from a day on.
#[derive(Debug, Clone, PartialEq)]
pub struct Quote {
    pub buyer: BuyerId,
    pub grade: GradeId,
    pub rate: Rate,
    pub day: Date,
    pub stale_after: Option<u16>,
    pub breaks: Vec<Break>,
    pub minimum: Option<Mass>,
    pub deduction: Option<Decimal>,
    pub withdrawn: bool,
}

/// What is known of a bench: enough to go on after a restart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bench {
    pub chosen: Option<BinId>,
    pub manner: Manner,
    pub session: Option<SessionId>,
    pub epoch: Option<Epoch>,
    /// Entries that are neither confirmed nor cancelled yet.
    pub open: Vector<EntryId>,
    /// The bin that stands on the platform.
    pub standing: Option<BinId>,
    /// How the platform was found at the beginning of the epoch.
    pub bridged: Option<Bridge>,
    pub last_step: Option<(StepId, Rest)>,
    /// The two rests of that step, by the moments since which they held.
    pub last_between: Option<(Moment, Moment)>,
    /// Taken out of a bin and not yet put anywhere: the removals and their masses.
    pub in_hand: Vector<(EntryId, Mass)>,
    /// The drops since the bin was set down, for pairing what is taken out again with its own drop.
    pub visit: Vector<EntryId>,
    /// The last drop, and when it landed or, on a pan or a tray, was taken off.
    pub last_drop: Option<(EntryId, Stamp)>,
    pub chosen_at: Option<Stamp>,
    /// How the bin that stands there was known.
    pub known_by: Option<KnownBy>,
    /// How far set-backs of unchanged bins lie from what was seen before: a slow mean of what this bench shows.
    pub scatter: Mass,
    pub lost_readings: u64,
    pub press: PressUse,
    /// The next load is an intake.
    pub intake: Option<AskedIntake>,
    pub check: CheckUse,
    /// The trial against the clock that nobody has ended yet, by its event.
    pub trial: Option<u64>,
}

/// Whether a long press on the pan chooses the next bin. It takes a trial of ten first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum PressUse {
    #[default]
    Off,
    /// Presses are counted and do nothing.
    Trial {
        felt: u32,
    },
    On,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Epoch {
    pub number: u64,
    pub cause: EpochCause,
    pub unit: Unit,
    pub display: Kind,
    pub division: Mass,
    pub scale: Option<String>,
    pub began: Stamp,
}

/// A plain record that later reckonings read: kept whole, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    pub seq: u64,
    pub bench: BenchId,
    pub at: Stamp,
    pub fact: super::Fact,
}

impl Books {
    /// The bin that carries this number and is in use.
    pub fn bin_by_number(&self, number: u32) -> Option<(BinId, &Bin)> {
        self.bins.iter().map(|(id, bin)| (*id, bin)).find(|(_, bin)| bin.number == number && !bin.retired)
    }

    /// The bin with the next higher number in use; behind the last comes the first.
    pub fn next_bin(&self, bench: BenchId) -> Option<BinId> {
        let current = self.benches.get(&bench).and_then(|state| self.bins.get(&state.chosen?)).map_or(0, |bin| bin.number);
        let in_use = || self.bins.iter().filter(|(_, bin)| !bin.retired);
        let behind = in_use().filter(|(_, bin)| bin.number > current);
        let next = behind.min_by_key(|(_, bin)| bin.number).or_else(|| in_use().min_by_key(|(_, bin)| bin.number));
        next.map(|(id, _)| *id)
    }

    /// The number that the next bin gets when nobody names one.
    pub fn next_bin_number(&self) -> u32 {
        self.bins.values().map(|bin| bin.number).max().map_or(1, |last| last.saturating_add(1))
    }

    /// What a bench is known to be; a bench never heard of is as new.
    pub fn bench(&self, bench: BenchId) -> Bench {
        self.benches.get(&bench).cloned().unwrap_or_default()
    }

    /// The events that a command with this key caused: first and last sequence number.
    pub fn caused_by(&self, key: &str) -> Option<(u64, u64)> {
        self.keys.get(key)
    }

    /// The last epoch number of any bench: epochs are counted through the life of the store.
    pub fn last_epoch(&self) -> u64 {
        self.benches.values().filter_map(|bench| bench.epoch.as_ref()).map(|epoch| epoch.number).max().unwrap_or(0)
    }
}
