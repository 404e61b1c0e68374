//! What the index lists beside the events: the drops, and what was worked on each day into each bin.

use crate::facts::books::{Entry, EntryState, Origin};
use crate::facts::{BinId, Books, EntryId, Event, Fact};
use crate::measure::Mass;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, BTreeSet};

/// One drop, or a weight that was entered by hand, as it stands after all corrections.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    pub entry: EntryId,
    /// None while it is unassigned.
    pub bin: Option<BinId>,
    /// The local day on which it was recorded.
    pub day: Date,
    pub mass: Mass,
    pub state: EntryState,
}

/// What the work of one day put into one bin: drops, crumbs and hand-entered weights, less what was taken out.
/// Opening stock and what was tipped over from another bin are not work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Total {
    pub mass: Mass,
    pub drops: i64,
}

/// A total with its day and its bin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayTotal {
    pub day: Date,
    /// None for drops without a bin.
    pub bin: Option<BinId>,
    pub total: Total,
}

pub type TotalKey = (Date, Option<BinId>);

/// What a batch of events changes.
#[derive(Debug, Default)]
pub struct Changes {
    /// The row before and after; none where there is none.
    pub rows: BTreeMap<EntryId, (Option<Row>, Option<Row>)>,
    /// To be added to what stands.
    pub totals: BTreeMap<TotalKey, Total>,
}

/// All rows and totals of some books.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Derived {
    pub rows: BTreeMap<EntryId, Row>,
    pub totals: BTreeMap<TotalKey, Total>,
}

impl Derived {
    pub fn of(books: &Books, zone: &TimeZone) -> Derived {
        let everything = books.entries.keys().copied().collect();
        let changes = Changes::between(&Books::default(), books, &everything, zone);
        let rows = changes.rows.into_iter().filter_map(|(entry, (_, after))| Some((entry, after?))).collect();
        Derived { rows, totals: changes.totals }
    }
}

impl Changes {
    /// The difference that `touched` entries make.
    pub fn between(before: &Books, after: &Books, touched: &BTreeSet<EntryId>, zone: &TimeZone) -> Changes {
        let mut changes = Changes::default();
        for id in touched {
            let (old, new) = (before.entries.get(id), after.entries.get(id));
            let rows = (old.and_then(|entry| row(*id, entry, zone)), new.and_then(|entry| row(*id, entry, zone)));
            if rows.0 != rows.1 {
                changes.rows.insert(*id, rows);
            }
            for (entry, sign) in [(old, -1), (new, 1)] {
                if let Some(entry) = entry.filter(|entry| entry.counts() && is_work(entry)) {
                    let total = changes.totals.entry((day(entry, zone), entry.bin)).or_default();
                    total.mass += entry.mass * sign;
                    total.drops += if entry.is_drop() { sign as i64 } else { 0 };
                }
            }
        }
        changes.totals.retain(|_, total| *total != Total::default());
        changes
    }

    /// Adds what changed after.
    pub fn then(&mut self, later: Changes) {
        for (entry, rows) in later.rows {
            self.rows.entry(entry).or_insert((rows.0, None)).1 = rows.1;
        }
        for (key, change) in later.totals {
            let total = self.totals.entry(key).or_default();
            total.mass += change.mass;
            total.drops += change.drops;
        }
    }
}

/// The entries that an event makes or changes.
pub fn touched(event: &Event, ids: &mut BTreeSet<EntryId>) {
    match &event.fact {
        Fact::DropLanded { .. }
        | Fact::TakenOut { .. }
        | Fact::CrumbsSettled { .. }
        | Fact::OpeningStock { .. }
        | Fact::WeightEntered { .. }
        | Fact::CaughtUp { .. }
        | Fact::LoadMoved(_)
        | Fact::BinTipped { .. } => _ = ids.insert(EntryId(event.seq)),
        Fact::DropRevised { entry, .. }
        | Fact::Confirmed { entry, .. }
        | Fact::Cancelled { entry, .. }
        | Fact::DropVoided { entry, .. }
        | Fact::DropDoubted { entry }
        | Fact::DropAdjusted { entry, .. } => _ = ids.insert(*entry),
        Fact::DropsMoved { entries, .. } => ids.extend(entries),
        Fact::EmptyingTakenBack(back) => _ = ids.insert(EntryId(back.home.since.0)),
        Fact::TicketVoided(voided) => ids.extend(&voided.moves),
        Fact::TakenBack { drop, removal } => ids.extend([drop, removal]),
        _ => {}
    }
}

fn row(id: EntryId, entry: &Entry, zone: &TimeZone) -> Option<Row> {
    let listed = entry.is_drop() && entry.state != EntryState::Cancelled;
    listed.then(|| Row { entry: id, bin: entry.bin, day: day(entry, zone), mass: entry.mass, state: entry.state })
}

fn is_work(entry: &Entry) -> bool {
    match entry.origin {
        Origin::Drop(_) | Origin::TakenOut(_) | Origin::Crumbs | Origin::Elsewhere => true,
        Origin::Opening | Origin::Tipped | Origin::Transfer(_) | Origin::Unseen | Origin::Intake(_) | Origin::Drawn(_) => false,
        Origin::Round | Origin::Load(_) => false,
    }
}

fn day(entry: &Entry, zone: &TimeZone) -> Date {
    zone.to_datetime(entry.at.wall).date()
}
