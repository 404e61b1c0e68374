//! Asking the index. When it is broken the same answers come from the roll, slower.

use super::code;
use super::derive::{Changes, DayTotal, Derived, Row};
use super::trees::{Applied, IndexFault, Trees, guarded};
use crate::facts::{BinId, Books, EntryId, Event};
use crate::store::disk::Disk;
use crate::store::fault::ReadFault;
use crate::store::line;
use crate::store::{fold, roll};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::ops::RangeInclusive;
use std::path::PathBuf;
use std::sync::{Arc, RwLock, RwLockReadGuard, RwLockWriteGuard};

/// No answer has more rows: the index waits while it is read. Ask again from where the last one ended.
pub const ROWS_MAX: usize = 10_000;

/// What is shared between the store and its readers.
pub struct Shared {
    pub state: RwLock<State>,
    pub disk: Arc<dyn Disk>,
    pub roll: PathBuf,
    pub zone: TimeZone,
}

pub struct State {
    /// None while the index is broken.
    pub trees: Option<Trees>,
    /// What is in the roll and not yet in the index. It goes in before anything is answered.
    pub pending: Option<Pending>,
    /// The last event that answers take in.
    pub head: u64,
    /// Why the index was found broken.
    pub broken: Option<String>,
}

/// sled writes its log out twice with every transaction, which would be more work for the disk than the roll itself. So
/// some batches go together. After a crash the roll gives back what was waiting.
const BATCHES_MAX: u32 = 64;

/// Batches that wait.
pub struct Pending {
    batches: u32,
    first: u64,
    lines: Vec<Vec<u8>>,
    changes: Changes,
    applied: Applied,
}

impl State {
    /// Takes in a batch that has just become durable.
    pub fn push(&mut self, first: u64, lines: impl Iterator<Item = Vec<u8>>, changes: Changes, applied: Applied) {
        self.head = applied.seq;
        if self.trees.is_none() || self.broken.is_some() {
            return;
        }
        match &mut self.pending {
            Some(pending) => {
                pending.batches += 1;
                pending.lines.extend(lines);
                pending.changes.then(changes);
                pending.applied = applied;
            }
            None => self.pending = Some(Pending { batches: 1, first, lines: lines.collect(), changes, applied }),
        }
        if self.pending.as_ref().is_some_and(|pending| pending.batches >= BATCHES_MAX) {
            self.settle();
        }
    }

    /// Brings what waits into the index.
    pub fn settle(&mut self) {
        let Some(pending) = self.pending.take() else { return };
        let Some(trees) = self.trees.as_ref().filter(|_| self.broken.is_none()) else { return };
        let followed = guarded(|| trees.follow(pending.first, &pending.lines, &pending.changes, &pending.applied));
        self.broken = followed.err().map(|fault| fault.to_string());
    }
}

/// An answer, and the event up to which it is true.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer<T> {
    pub value: T,
    pub applied: u64,
}

/// Reads the index from any thread.
#[derive(Clone)]
pub struct IndexReader {
    shared: Arc<Shared>,
}

impl Shared {
    pub fn read(&self) -> RwLockReadGuard<'_, State> {
        self.state.read().unwrap_or_else(|poisoned| poisoned.into_inner())
    }

    pub fn write(&self) -> RwLockWriteGuard<'_, State> {
        self.state.write().unwrap_or_else(|poisoned| poisoned.into_inner())
    }
}

impl IndexReader {
    pub(in crate::store) fn new(shared: Arc<Shared>) -> IndexReader {
        IndexReader { shared }
    }

    /// The last event that an answer takes in now.
    pub fn applied(&self) -> u64 {
        self.shared.read().head
    }

    /// Events by number, oldest first, at most `limit` of them.
    pub fn events(&self, range: RangeInclusive<u64>, limit: usize) -> Result<Answer<Vec<Event>>, ReadFault> {
        let limit = limit.min(ROWS_MAX);
        let (from, to) = (*range.start(), *range.end());
        let ask = |trees: &Trees| {
            let mut events = Vec::new();
            for pair in trees.events.range(code::seq(from)..=code::seq(to.max(from))).take(if to < from { 0 } else { limit }) {
                let (_, text) = pair?;
                let (_, event) = line::decode(&text).map_err(|bad| IndexFault::Damaged(bad.to_string()))?;
                events.push(event);
            }
            Ok(events)
        };
        self.ask(ask, |head| {
            let mut events = Vec::new();
            let to = to.min(head).min(from.saturating_add(limit as u64).saturating_sub(1));
            let survey = fold::survey_quietly(&*self.shared.disk, &self.shared.roll)?;
            roll::survey::lines(&*self.shared.disk, &self.shared.roll, &survey, (from, to), &mut |seq, text| {
                events.push(fold::event(seq, text)?);
                Ok(())
            })?;
            events.truncate(limit);
            Ok(events)
        })
    }

    /// The drops that lie in a bin (none: those without a bin), by entry, at most `limit` of them. A voided drop is
    /// listed as such; a cancelled one is not listed.
    pub fn drops_of(
        &self,
        bin: Option<BinId>,
        range: RangeInclusive<EntryId>,
        limit: usize,
    ) -> Result<Answer<Vec<Row>>, ReadFault> {
        let keys = code::bin_key(bin, *range.start())..=code::bin_key(bin, *range.end());
        self.ask(
            |trees| rows(&trees.by_bin, keys.clone(), limit),
            |head| {
                let derived = self.derived(head)?;
                let here = |row: &&Row| row.bin == bin && range.contains(&row.entry);
                Ok(derived.rows.values().filter(here).copied().take(limit.min(ROWS_MAX)).collect())
            },
        )
    }

    /// The drops of the given days, by day and then by entry, at most `limit` of them. To go on, ask from `after` the
    /// last entry of its day.
    pub fn drops_on(
        &self,
        days: RangeInclusive<Date>,
        after: Option<EntryId>,
        limit: usize,
    ) -> Result<Answer<Vec<Row>>, ReadFault> {
        let start = EntryId(after.map_or(0, |after| after.0.saturating_add(1)));
        let keys = code::day_key(*days.start(), start)..=code::day_key(*days.end(), EntryId(u64::MAX));
        self.ask(
            |trees| rows(&trees.by_day, keys.clone(), limit),
            |head| {
                let derived = self.derived(head)?;
                let here = |row: &&Row| days.contains(&row.day) && (row.day, row.entry) >= (*days.start(), start);
                let mut rows: Vec<Row> = derived.rows.values().filter(here).copied().collect();
                rows.sort_unstable_by_key(|row| (row.day, row.entry));
                rows.truncate(limit.min(ROWS_MAX));
                Ok(rows)
            },
        )
    }

    /// What was worked on each of the given days into each bin.
    pub fn totals(&self, days: RangeInclusive<Date>) -> Result<Answer<Vec<DayTotal>>, ReadFault> {
        let keys = code::total_key((*days.start(), None))..=code::total_key((*days.end(), Some(BinId(u64::MAX))));
        let ask = |trees: &Trees| {
            let mut totals = Vec::new();
            if days.is_empty() {
                return Ok(totals);
            }
            for pair in trees.totals.range(keys.clone()) {
                let (key, total) = pair?;
                let read = code::read_total_key(&key).zip(code::read_total(&total));
                let ((day, bin), total) = read.ok_or_else(|| IndexFault::Damaged("a total cannot be read".to_owned()))?;
                totals.push(DayTotal { day, bin, total });
            }
            Ok(totals)
        };
        self.ask(ask, |head| {
            let derived = self.derived(head)?;
            let here = derived.totals.iter().filter(|((day, _), _)| days.contains(day));
            Ok(here.map(|((day, bin), total)| DayTotal { day: *day, bin: *bin, total: *total }).collect())
        })
    }

    fn ask<T>(
        &self,
        index: impl FnOnce(&Trees) -> Result<T, IndexFault>,
        roll: impl FnOnce(u64) -> Result<T, ReadFault>,
    ) -> Result<Answer<T>, ReadFault> {
        if self.shared.read().pending.is_some() {
            self.shared.write().settle();
        }
        let state = self.shared.read();
        let applied = state.head;
        let fault = match &state.trees {
            Some(trees) if state.broken.is_none() => match guarded(|| index(trees)) {
                Ok(value) => return Ok(Answer { value, applied }),
                Err(fault) => Some(fault.to_string()),
            },
            _ => None,
        };
        drop(state);
        if fault.is_some() {
            self.shared.write().broken = fault;
        }
        // Without the lock: the roll only grows, and what lies beyond `applied` is left out.
        roll(applied).map(|value| Answer { value, applied })
    }

    fn derived(&self, head: u64) -> Result<Derived, ReadFault> {
        let books: Books = fold::books_at(&*self.shared.disk, &self.shared.roll, head)?;
        Ok(Derived::of(&books, &self.shared.zone))
    }
}

fn rows<K: AsRef<[u8]> + Ord>(tree: &sled::Tree, keys: RangeInclusive<K>, limit: usize) -> Result<Vec<Row>, IndexFault> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    let pairs = tree.range(keys).take(limit.min(ROWS_MAX));
    pairs.map(|pair| code::read_row(&pair?.1).ok_or_else(|| IndexFault::Damaged("a row cannot be read".to_owned()))).collect()
}
