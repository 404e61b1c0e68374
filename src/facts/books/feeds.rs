//! Folding what is told of feeds and lots, and the records of arrivals, money, minutes and trials.

use super::fold::blank;
use super::{AskedIntake, Books, Entry, EntryState, Lot, Origin, Record, Session};
use crate::facts::{EntryId, Event, Fact, LotBegun, LotDescribed, LotDrawn, LotId, SessionId};
use crate::measure::{Mass, Variance};

impl Books {
    pub(super) fn fold_feeds(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::LotBegun(begun) => self.begin_lot(event, begun)?,
            Fact::LotDrawn(drawn) => self.draw_lot(event, drawn)?,
            Fact::LotDescribed(described) => self.describe_lot(event, described)?,
            Fact::LotWaited(waited) => {
                self.lots.get(&waited.lot)?;
                self.keep_record(event);
            }
            Fact::ArrivalCame(came) => {
                if let Some(feed) = &came.feed {
                    self.feeds.get(feed)?;
                }
                self.keep_record(event);
            }
            Fact::MoneySpent(spent) => {
                if let Some(buyer) = &spent.buyer {
                    self.buyers.get(buyer)?;
                }
                if let Some(feed) = &spent.feed {
                    self.feeds.get(feed)?;
                }
                if let Some(lot) = &spent.lot {
                    self.lots.get(lot)?;
                }
                self.keep_record(event);
            }
            Fact::TrialBegan(began) => {
                self.sessions.get(&began.session)?;
                self.feeds.get(&began.feed)?;
                self.keep_record(event);
                self.at_bench(event).trial = Some(event.seq);
            }
            Fact::TrialEnded(ended) => {
                self.record(ended.trial).filter(|record| matches!(record.fact, Fact::TrialBegan(_)))?;
                self.keep_record(event);
                self.end_trial(ended.trial);
            }
            Fact::RecordVoided(voided) => {
                self.record(voided.record)?;
                self.voids.insert(voided.record, event.seq);
                self.end_trial(voided.record);
            }
            _ => unreachable!("fold() sends only feeds and their records here"),
        }
        Some(())
    }

    fn begin_lot(&mut self, event: &Event, begun: &LotBegun) -> Option<()> {
        self.feeds.get(&begun.feed)?;
        let entry = Entry {
            origin: Origin::Intake(None),
            // Nothing weighed is no mass; the entry stands for the lot all the same.
            mass: begun.mass.unwrap_or(Mass::ZERO),
            variance: begun.source.as_ref().map_or(Variance::ZERO, |source| source.variance()),
            state: EntryState::Confirmed,
            ..blank(event)
        };
        self.post(EntryId(event.seq), entry);
        let leg = self.leg_of(begun.session);
        let mut lot = Lot::opened(Some(begun.feed), begun.session, leg, AskedIntake::default(), event.seq);
        (lot.pieces, lot.depth) = (begun.pieces, begun.depth.clone());
        self.lots.insert(LotId(event.seq), lot);
        self.cut_clocks(event);
        Some(())
    }

    /// One entry stands for both: what the fill loses, and what the lot begins with.
    fn draw_lot(&mut self, event: &Event, drawn: &LotDrawn) -> Option<()> {
        self.fills.get(&drawn.fill)?;
        let entry = Entry {
            origin: Origin::Drawn(drawn.step),
            bin: Some(drawn.bin),
            fill: Some(drawn.fill),
            mass: -drawn.mass,
            ..blank(event)
        };
        let mut asked = AskedIntake::default();
        match &drawn.source {
            Some(source) => {
                let entry = Entry { variance: source.variance(), told_here: Some(false), state: EntryState::Confirmed, ..entry };
                self.post(EntryId(event.seq), entry);
            }
            None => {
                let weighed = self.weighed(event)?;
                self.open_entry(event, Entry { epoch: weighed.epoch, variance: weighed.variance, ..entry })?;
                asked = self.at_bench(event).intake.take().unwrap_or_default();
            }
        }
        let mut lot = Lot::opened(drawn.feed, drawn.session, drawn.leg, asked, event.seq);
        (lot.pieces, lot.depth, lot.drawn) = (drawn.pieces, drawn.depth.clone(), Some(drawn.fill));
        self.lots.insert(LotId(event.seq), lot);
        self.cut_clocks(event);
        Some(())
    }

    fn describe_lot(&mut self, event: &Event, described: &LotDescribed) -> Option<()> {
        if let crate::facts::Set::To(Some(arrival)) = described.arrival {
            self.record(arrival).filter(|record| matches!(record.fact, Fact::ArrivalCame(_)))?;
        }
        let lot = self.lots.get_mut(&described.lot)?;
        described.depth.put(&mut lot.depth);
        described.pieces.put(&mut lot.pieces);
        described.arrival.put(&mut lot.arrival);
        lot.changed = event.seq;
        Some(())
    }

    fn end_trial(&mut self, trial: u64) {
        let running = self.benches.iter().find(|(_, bench)| bench.trial == Some(trial)).map(|(id, _)| *id);
        if let Some(bench) = running.and_then(|bench| self.benches.get_mut(&bench)) {
            bench.trial = None;
        }
    }

    fn leg_of(&self, session: Option<SessionId>) -> Option<u64> {
        session.and_then(|session| self.sessions.get(&session)).map(Session::leg)
    }

    /// The record of an event, whether it was voided or not.
    pub fn record(&self, seq: u64) -> Option<&Record> {
        let at = self.records.binary_search_by_key(&seq, |record| record.seq).ok()?;
        self.records.get(at)
    }

    /// The records that nobody has voided, oldest first.
    pub fn standing_records(&self) -> impl DoubleEndedIterator<Item = &Record> {
        self.records.iter().filter(|record| !self.voids.contains_key(&record.seq))
    }
}
