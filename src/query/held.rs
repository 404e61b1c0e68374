//! What each fill held by the end of a day.

use super::{Lies, by_end_of, lies};
use crate::facts::books::{SumKey, of_chains};
use crate::facts::{BenchId, Books, EntryId, FillId};
use crate::measure::{Mass, Variance};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// What a fill held.
#[derive(Debug, Clone, Default)]
pub(super) struct Held {
    pub mass: Mass,
    /// Of it, what nobody's work brought.
    pub not_worked: Mass,
    pub variance: Variance,
    pub drops: usize,
    /// Of the mass, what the scale of each bench showed since it changed last.
    pub shown: BTreeMap<(BenchId, u64), Mass>,
    /// The last that counts by then, and the first that does not.
    last: Option<EntryId>,
    left_out: Option<EntryId>,
}

impl Held {
    fn put(&mut self, key: &SumKey, entries: usize, mass: Mass, readings: Variance, last: EntryId) {
        self.mass += mass;
        if !key.part.is_worked() {
            self.not_worked += mass;
        }
        if key.part.is_drop() {
            self.drops += entries;
        }
        if let Some(shown) = key.shown {
            *self.shown.entry(shown).or_default() += mass;
        }
        self.variance = self.variance.plus(readings);
        self.last = self.last.max(Some(last));
    }

    fn leave_out(&mut self, first: EntryId) {
        self.left_out = Some(self.left_out.map_or(first, |known| known.min(first)));
    }
}

/// Each fill with something in it by then; what has no trusted date always was.
pub(super) fn held_by(books: &Books, day: Date, zone: &TimeZone) -> BTreeMap<FillId, Held> {
    let mut fills: BTreeMap<FillId, Held> = BTreeMap::new();
    for (key, sum) in books.sums() {
        let Some(held) = key.fill.map(|fill| fills.entry(fill).or_default()) else { continue };
        match lies(key.day, day) {
            Lies::Before => held.put(key, sum.entries, sum.mass, sum.in_fill, sum.last),
            Lies::After => held.leave_out(sum.first),
            Lies::Across => {
                for (id, entry) in books.entries_of(key, sum) {
                    if by_end_of(day, &entry.at, zone) {
                        held.put(key, 1, entry.mass, books.share_in_fill(id, entry), id);
                    } else {
                        held.leave_out(id);
                    }
                }
            }
        }
    }
    for (fill, held) in &mut fills {
        // A clock went back: what is left out lies between what counts, so other readings are shared.
        if held.left_out.is_some_and(|first| held.last > Some(first)) {
            let by_then = books.counting(*fill).map(|(_, entry)| entry).filter(|entry| by_end_of(day, &entry.at, zone));
            held.variance = of_chains(by_then);
        }
    }
    fills
}
