//! Folding what the owner tells of feeds and places, and what a round through the stock saw.

use super::fold::blank;
use super::{Books, Entry, EntryState, HowClosed, Origin};
use crate::facts::{BackHome, BinId, EntryId, Event, Fact, FillId, Marks, Seen, Source};
use crate::measure::{Mass, Money, Stamp};

/// The marks of a feed as they stand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FeedMarks {
    pub marks: Marks,
    /// The event that made them what they are.
    pub changed: u64,
}

/// What an hour must bring, and the places at the bench; none where nobody has said.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Limits {
    pub floor: Option<Money>,
    pub places: Option<u32>,
    pub changed: u64,
}

/// The last look into a bin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    pub seq: u64,
    pub at: Stamp,
    pub fill: FillId,
    pub booked: Mass,
    pub seen: Seen,
    /// The books have followed it.
    pub followed: bool,
}

impl Books {
    pub(super) fn fold_places(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::FeedMarked(marked) => {
                self.feeds.get(&marked.feed)?;
                self.marks.insert(marked.feed, FeedMarks { marks: marked.marks.clone(), changed: event.seq });
            }
            Fact::BinFull(full) => {
                self.fills.get(&full.fill)?;
                self.keep_record(event);
            }
            Fact::SortingTold(told) => {
                self.grades.get(&told.grade)?;
                match told.a_month {
                    Some(span) => _ = self.sorting.insert(told.grade, span),
                    None => _ = self.sorting.remove(&told.grade),
                }
            }
            Fact::LimitsTold(told) => {
                told.floor.put(&mut self.limits.floor);
                told.places.put(&mut self.limits.places);
                self.limits.changed = event.seq;
            }
            Fact::WireSampled(sample) => {
                self.feeds.get(&sample.feed)?;
                self.grades.get(&sample.metal)?;
                self.keep_record(event);
            }
            Fact::StockSeen(seen) => {
                self.bins.get(&seen.bin)?;
                self.fills.get(&seen.fill)?;
                let (seq, at) = (event.seq, event.stamp());
                let look = Look { seq, at, fill: seen.fill, booked: seen.booked, seen: seen.seen, followed: false };
                self.looks.insert(seen.bin, look);
            }
            Fact::StockFollowed(followed) => {
                self.fills.get(&followed.fill)?;
                if let Some(look) = self.looks.get_mut(&followed.bin).filter(|look| look.seq == followed.look) {
                    look.followed = true;
                }
                // What is left of it on a scale is as little known as what went.
                if let Some(gross) = self.bins.get_mut(&followed.bin)?.last_gross.as_mut() {
                    *gross -= followed.gone;
                }
                let entry = Entry {
                    origin: Origin::Round,
                    bin: Some(followed.bin),
                    fill: Some(followed.fill),
                    mass: -followed.gone,
                    variance: Source::Estimate { low: followed.low, high: followed.high }.variance(),
                    told_here: Some(false),
                    state: EntryState::Confirmed,
                    ..blank(event)
                };
                self.post(EntryId(event.seq), entry);
            }
            Fact::EmptyingTakenBack(back) => {
                self.bring_back(event, &back.home)?;
                // The other half of a tip goes out of the bin that it was tipped into.
                let made = EntryId(back.home.since.0);
                if self.entries.get(&made).is_some_and(|entry| entry.origin == Origin::Tipped) {
                    self.amend(made, |entry| {
                        entry.state = EntryState::Voided;
                        entry.corrected = Some(event.seq);
                    })?;
                }
                if let Some(load) = self.given_with(&back.home) {
                    self.put_back(load)?;
                }
            }
            _ => unreachable!("fold() sends only places and what is told of them here"),
        }
        Some(())
    }

    /// What went whole and beside any ticket is moved by the event right before the emptying.
    fn given_with(&self, home: &BackHome) -> Option<EntryId> {
        let load = EntryId(home.since.0.checked_sub(1)?);
        let counts = self.entries.get(&load).is_some_and(Entry::counts);
        let moved = self.loads.get(&load).filter(|moved| moved.whole && moved.ticket.is_none() && moved.fill == home.fill);
        moved.filter(|_| counts).map(|_| load)
    }

    /// The emptying or tip by which the fill of a bin began that stands there now, with what stood there before; none where
    /// nothing ever did.
    pub fn last_emptying(&self, bin: BinId) -> Option<BackHome> {
        let since = self.bins.get(&bin)?.fill;
        let before = self.fills.range(..since).rev().filter(|(_, fill)| fill.bin == bin);
        // What came in since an emptying that was taken back has gone into the fill before it.
        let went = |how: HowClosed| match how {
            HowClosed::Emptied => true,
            HowClosed::TippedInto(to) => self.fills.get(&to).is_some_and(|fill| fill.bin != bin),
        };
        let fill = before.filter(|(_, fill)| fill.closed.is_some_and(|closed| went(closed.how))).map(|(fill, _)| *fill).next()?;
        Some(BackHome { bin, fill, since })
    }

    /// The last look into a bin that waits for an answer: it did not look as booked, nobody has answered, and the same fill
    /// still stands there.
    pub fn open_look(&self, bin: BinId) -> Option<Look> {
        let (state, look) = (self.bins.get(&bin)?, self.looks.get(&bin)?);
        (!state.retired && look.seen != Seen::Right && !look.followed && look.fill == state.fill).then_some(*look)
    }

    /// The standing tap by which a fill was full first.
    pub fn full_tap(&self, fill: FillId) -> Option<&super::Record> {
        self.standing_records().find(|record| matches!(&record.fact, Fact::BinFull(full) if full.fill == fill))
    }
}
