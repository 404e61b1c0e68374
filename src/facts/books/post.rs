//! Posting: what an entry adds to its fill, its session and its leg, and takes back when it is corrected.

use super::{Books, Entry};
use crate::facts::{Doubt, EntryId, FillId};
use crate::measure::{Mass, Moment, Variance};
use imbl::OrdSet;

impl Books {
    /// Puts an entry in, with its effects.
    pub(super) fn post(&mut self, id: EntryId, entry: Entry) {
        if let Some(fill) = entry.fill.and_then(|fill| self.fills.get_mut(&fill)) {
            fill.entries.push_back(id);
        }
        self.entries.insert(id, entry.clone());
        self.note(id, None, &entry);
        if entry.counts() {
            self.weigh(id, &entry, 1);
            self.add_up(id, &entry);
        }
    }

    /// Changes an entry: its old effects go, the new ones come. `None` when there is no such entry.
    pub(super) fn amend(&mut self, id: EntryId, change: impl FnOnce(&mut Entry)) -> Option<()> {
        let before = self.entries.get(&id)?.clone();
        let mut after = before.clone();
        change(&mut after);
        if before.counts() {
            self.weigh(id, &before, -1);
            self.take_off(id, &before);
        }
        if before.fill != after.fill
            && let Some(fill) = after.fill.and_then(|fill| self.fills.get_mut(&fill))
        {
            // In its place by sequence, so that what shares a reading stays side by side.
            if let Err(place) = fill.entries.binary_search(&id) {
                fill.entries.insert(place, id);
            }
        }
        self.entries.insert(id, after.clone());
        self.note(id, Some(&before), &after);
        if after.counts() {
            self.weigh(id, &after, 1);
            self.add_up(id, &after);
        }
        Some(())
    }

    /// Keeps the short lists of what is asked about, so that no report looks through all that was ever dropped.
    fn note(&mut self, id: EntryId, before: Option<&Entry>, after: &Entry) {
        let loose = |entry: &Entry| entry.counts() && entry.is_drop() && entry.bin.is_none();
        let nowhere = |entry: &Entry| entry.counts() && entry.fill.is_none();
        let marked = |entry: &Entry| entry.counts() && entry.bin.is_some() && entry.doubt == Some(Doubt::Told);
        let change = |set: &mut OrdSet<EntryId>, was: bool, is: bool| match (was, is) {
            (false, true) => _ = set.insert(id),
            (true, false) => _ = set.remove(&id),
            _ => {}
        };
        change(&mut self.loose, before.is_some_and(loose), loose(after));
        change(&mut self.nowhere, before.is_some_and(nowhere), nowhere(after));
        change(&mut self.marked, before.is_some_and(marked), marked(after));
    }

    fn weigh(&mut self, id: EntryId, entry: &Entry, sign: i128) {
        let shown = entry.weighed_on().map(|bench| (bench, self.scale_change_at(bench, id.0)));
        let mass = entry.mass * sign;
        let count = |drops: u32| if sign > 0 { drops + 1 } else { drops.saturating_sub(1) };
        if let Some(fill) = entry.fill.and_then(|fill| self.fills.get_mut(&fill)) {
            fill.mass += mass;
            if !entry.origin.is_worked() {
                fill.not_worked += mass;
            }
            if let Some(shown) = shown {
                *fill.weighed.entry(shown).or_default() += mass;
            }
            if entry.is_drop() {
                fill.drops = count(fill.drops);
                fill.heaviest = fill.heaviest.max(entry.mass);
            }
        }
        if let Some(session) = entry.session.and_then(|session| self.sessions.get_mut(&session)) {
            session.mass += mass;
            if entry.is_drop() {
                session.drops = count(session.drops);
            }
            let leg = entry.leg.and_then(|number| session.legs.iter_mut().find(|leg| leg.number == number));
            if let Some(leg) = leg {
                leg.mass += mass;
            }
        }
    }

    /// The entries of a fill that count, oldest first.
    pub fn counting(&self, fill: FillId) -> impl DoubleEndedIterator<Item = (EntryId, &Entry)> {
        let ids = self.fills.get(&fill).into_iter().flat_map(|fill| fill.entries.iter().copied());
        ids.filter_map(move |id| Some((id, self.entries.get(&id)?)))
            .filter(move |(_, entry)| entry.counts() && entry.fill == Some(fill))
    }

    /// The mass of a fill over the entries that were made by `until`.
    pub fn fill_mass_by(&self, fill: FillId, until: impl Fn(&Entry) -> bool) -> Mass {
        self.counting(fill).filter(|(_, entry)| until(entry)).map(|(_, entry)| entry.mass).sum()
    }
}

/// The variance of entries in their order: one difference of two readings for each chain.
pub fn of_chains<'a>(entries: impl Iterator<Item = &'a Entry>) -> Variance {
    let mut total = Variance::ZERO;
    let mut last: Option<&Entry> = None;
    for entry in entries {
        if !last.is_some_and(|last| chained(last, entry)) {
            total = total.plus(entry.variance);
        }
        last = Some(entry);
    }
    total
}

/// Whether `next` starts from the very rest at which `before` ended, so that the reading between them cancels.
pub fn chained(before: &Entry, next: &Entry) -> bool {
    let (Some((_, end)), Some((start, _))) = (before.between, next.between) else { return false };
    let same_scale = before.bench == next.bench && before.epoch == next.epoch;
    same_scale && end == start && end != Moment::default()
}
