//! Sums of entries that belong together in every report, so that no report goes through all that was ever dropped.
//!
//! They follow each change of an entry: its old part goes, its new one comes, and its neighbours' shares of the readings
//! that they have in common go with it.

use super::{Books, Entry, Origin, chained};
use crate::facts::{BenchId, BinId, EntryId, FillId, SessionId};
use crate::measure::{Mass, Stamp, Variance};

const DAY: i64 = 86_400;

/// What the entries of one sum have in common: all that a report asks of an entry but its mass and the hour of its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct SumKey {
    pub fill: Option<FillId>,
    pub bin: Option<BinId>,
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    /// The last event before them that opened or closed a lot: none begins or ends between two of them.
    pub turn: u64,
    /// Days since 1970-01-01 in Greenwich; none where the clock could not be trusted.
    pub day: Option<i64>,
    /// The bench whose scale showed them, and the last change of that scale; none for what was weighed elsewhere.
    pub shown: Option<(BenchId, u64)>,
    pub part: Part,
}

/// What entries are to the reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Drops, weighed here or elsewhere.
    Drop,
    /// Taken out of a bin, and no drop of the same visit.
    TakenOut,
    /// Crumbs, transfers, what was drawn for more work, and a drop with the removal that took it back.
    Other,
    /// Came while nobody weighed.
    Found,
    /// Went while nobody weighed.
    Lost,
    Opening,
    Load,
    /// Tips, rounds and intakes.
    Aside,
}

/// Entries that count, added up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sum {
    pub entries: usize,
    pub mass: Mass,
    /// What they add to the variance of their fill: a reading that two neighbours of the fill share is in neither.
    pub in_fill: Variance,
    /// The variance of these alone, in their order.
    pub alone: Variance,
    pub first: EntryId,
    pub last: EntryId,
}

/// The nearest entries that count: of the same fill, and of the same sum.
#[derive(Debug, Default)]
struct Beside<'a> {
    before: Option<(EntryId, &'a Entry)>,
    after: Option<(EntryId, &'a Entry)>,
    ours_before: Option<(EntryId, &'a Entry)>,
    ours_after: Option<(EntryId, &'a Entry)>,
}

impl Entry {
    fn part(&self) -> Part {
        match self.origin {
            _ if self.is_drop() => Part::Drop,
            Origin::TakenOut(_) if self.paired.is_none() => Part::TakenOut,
            Origin::Unseen if self.mass > Mass::ZERO => Part::Found,
            Origin::Unseen => Part::Lost,
            Origin::Opening => Part::Opening,
            Origin::Load(_) => Part::Load,
            Origin::Tipped | Origin::Round | Origin::Intake(_) => Part::Aside,
            Origin::Drop(_)
            | Origin::Elsewhere
            | Origin::TakenOut(_)
            | Origin::Crumbs
            | Origin::Transfer(_)
            | Origin::Drawn(_) => Part::Other,
        }
    }
}

impl Part {
    pub fn is_drop(self) -> bool {
        self == Part::Drop
    }

    /// What the bin's work brought or took, as [`Origin::is_worked`] has it.
    pub fn is_worked(self) -> bool {
        !matches!(self, Part::Opening | Part::Found | Part::Lost)
    }
}

impl SumKey {
    /// The day in Greenwich of a stamp, as the key has it.
    pub fn day_of(at: &Stamp) -> Option<i64> {
        at.trusted.then(|| at.wall.as_second().div_euclid(DAY))
    }
}

/// What an entry adds to the variance of those before it.
fn share(before: Option<(EntryId, &Entry)>, entry: &Entry) -> Variance {
    match before {
        Some((_, before)) if chained(before, entry) => Variance::ZERO,
        _ => entry.variance,
    }
}

impl Books {
    pub fn sums(&self) -> impl Iterator<Item = (&SumKey, &Sum)> {
        self.sums.iter()
    }

    /// The entries of a sum, oldest first.
    pub fn entries_of<'a>(&'a self, key: &SumKey, sum: &Sum) -> impl Iterator<Item = (EntryId, &'a Entry)> {
        let (first, last, key) = (sum.first, sum.last, *key);
        self.forward(key.fill, first)
            .take_while(move |(id, _)| *id <= last)
            .filter(move |(id, entry)| self.sum_key(*id, entry) == key)
    }

    /// What an entry that counts adds to the variance of its fill.
    pub fn share_in_fill(&self, id: EntryId, entry: &Entry) -> Variance {
        share(self.backward(entry.fill, id).next(), entry)
    }

    fn sum_key(&self, id: EntryId, entry: &Entry) -> SumKey {
        SumKey {
            fill: entry.fill,
            bin: entry.bin,
            session: entry.session,
            leg: entry.leg,
            turn: self.lot_turn_before(id.0),
            day: SumKey::day_of(&entry.at),
            shown: entry.weighed_on().map(|bench| (bench, self.scale_change_at(bench, id.0))),
            part: entry.part(),
        }
    }

    /// The last event before this one that opened or closed a lot; 0 where there was none.
    fn lot_turn_before(&self, seq: u64) -> u64 {
        match self.lot_turns.last() {
            Some(last) if *last < seq => *last,
            _ => {
                let next = self.lot_turns.binary_search(&seq).unwrap_or_else(|place| place);
                next.checked_sub(1).and_then(|at| self.lot_turns.get(at)).copied().unwrap_or(0)
            }
        }
    }

    /// What counts of a fill, or lies in none, from this entry on.
    fn forward(&self, fill: Option<FillId>, from: EntryId) -> Box<dyn Iterator<Item = (EntryId, &Entry)> + '_> {
        let known =
            move |id: EntryId| Some((id, self.entries.get(&id)?)).filter(|(_, entry)| entry.counts() && entry.fill == fill);
        match fill {
            None => Box::new(self.nowhere.range(from..).filter_map(move |id| known(*id))),
            Some(fill) => {
                let ids = self.fills.get(&fill).map(|fill| &fill.entries);
                let place = ids.map_or(0, |ids| ids.binary_search(&from).unwrap_or_else(|place| place));
                let end = ids.map_or(0, |ids| ids.len());
                Box::new((place..end).filter_map(move |at| known(*ids?.get(at)?)))
            }
        }
    }

    /// What counts of a fill, or lies in none, before this entry, the nearest first.
    fn backward(&self, fill: Option<FillId>, from: EntryId) -> Box<dyn Iterator<Item = (EntryId, &Entry)> + '_> {
        let known =
            move |id: EntryId| Some((id, self.entries.get(&id)?)).filter(|(_, entry)| entry.counts() && entry.fill == fill);
        match fill {
            None => Box::new(self.nowhere.range(..from).rev().filter_map(move |id| known(*id))),
            Some(fill) => {
                let ids = self.fills.get(&fill).map(|fill| &fill.entries);
                let place = ids.map_or(0, |ids| match ids.last() {
                    Some(last) if *last == from => ids.len() - 1,
                    _ => ids.binary_search(&from).unwrap_or_else(|place| place),
                });
                Box::new((0..place).rev().filter_map(move |at| known(*ids?.get(at)?)))
            }
        }
    }

    fn beside(&self, id: EntryId, key: &SumKey) -> Beside<'_> {
        let mut beside = Beside::default();
        let sum = self.sums.get(key);
        for (other, entry) in self.backward(key.fill, id) {
            beside.before = beside.before.or(Some((other, entry)));
            match sum {
                Some(sum) if other >= sum.first => {}
                _ => break,
            }
            if self.sum_key(other, entry) == *key {
                beside.ours_before = Some((other, entry));
                break;
            }
        }
        for (other, entry) in self.forward(key.fill, EntryId(id.0 + 1)) {
            beside.after = beside.after.or(Some((other, entry)));
            match sum {
                Some(sum) if other <= sum.last => {}
                _ => break,
            }
            if self.sum_key(other, entry) == *key {
                beside.ours_after = Some((other, entry));
                break;
            }
        }
        beside
    }

    /// Adds an entry that counts from now on to its sum and to the variance of its fill.
    pub(super) fn add_up(&mut self, id: EntryId, entry: &Entry) {
        let key = self.sum_key(id, entry);
        let beside = self.beside(id, &key);
        let own = share(beside.before, entry);
        let next = beside
            .after
            .map(|(other, next)| (self.sum_key(other, next), share(Some((id, entry)), next), share(beside.before, next)));
        let alone = share(beside.ours_before, entry);
        let ours = beside.ours_after.map(|(_, next)| (share(Some((id, entry)), next), share(beside.ours_before, next)));
        let nothing = Sum { entries: 0, mass: Mass::ZERO, in_fill: Variance::ZERO, alone: Variance::ZERO, first: id, last: id };
        let sum = self.sums.entry(key).or_insert(nothing);
        sum.entries += 1;
        sum.mass += entry.mass;
        sum.in_fill = sum.in_fill.plus(own);
        sum.alone = sum.alone.plus(alone);
        (sum.first, sum.last) = (sum.first.min(id), sum.last.max(id));
        if let Some((more, less)) = ours {
            sum.alone = sum.alone.plus(more).minus(less);
        }
        self.share_again(entry.fill, own, Variance::ZERO, next);
    }

    /// Takes an entry that counted, and counts no more as it was, out of its sum and the variance of its fill.
    pub(super) fn take_off(&mut self, id: EntryId, entry: &Entry) {
        let key = self.sum_key(id, entry);
        let beside = self.beside(id, &key);
        let own = share(beside.before, entry);
        let next = beside
            .after
            .map(|(other, next)| (self.sum_key(other, next), share(beside.before, next), share(Some((id, entry)), next)));
        let alone = share(beside.ours_before, entry);
        let ours = beside.ours_after.map(|(_, next)| (share(beside.ours_before, next), share(Some((id, entry)), next)));
        let (first, last) = (beside.ours_after.map(|(other, _)| other), beside.ours_before.map(|(other, _)| other));
        if let Some(sum) = self.sums.get_mut(&key) {
            sum.entries -= 1;
            sum.mass -= entry.mass;
            sum.in_fill = sum.in_fill.minus(own);
            if let Some((more, less)) = ours {
                sum.alone = sum.alone.plus(more).minus(less);
            }
            sum.alone = sum.alone.minus(alone);
            match (first, last) {
                (None, None) => _ = self.sums.remove(&key),
                (Some(first), None) => sum.first = first,
                (None, Some(last)) => sum.last = last,
                (Some(_), Some(_)) => {}
            }
        }
        self.share_again(entry.fill, Variance::ZERO, own, next);
    }

    /// The variance of a fill, where an entry came or went and the one behind it has another neighbour now.
    fn share_again(&mut self, fill: Option<FillId>, own: Variance, gone: Variance, next: Option<(SumKey, Variance, Variance)>) {
        if let Some((key, more, less)) = next
            && let Some(sum) = self.sums.get_mut(&key).filter(|_| more != less)
        {
            sum.in_fill = sum.in_fill.plus(more).minus(less);
        }
        let (more, less) = next.map_or((Variance::ZERO, Variance::ZERO), |(_, more, less)| (more, less));
        if let Some(fill) = fill.and_then(|fill| self.fills.get_mut(&fill)) {
            fill.variance = fill.variance.plus(own).plus(more).minus(less).minus(gone);
        }
    }
}
