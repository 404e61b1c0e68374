//! Lots: what was weighed before it is taken apart.

use super::{Books, Entry, Origin};
use crate::facts::{EntryId, Event, Fact, FeedId, LotId, SessionId};

/// An intake that is worked off. Its mass and whether it stands are those of its entry, which has the same number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lot {
    /// None until somebody says what it is.
    pub feed: Option<FeedId>,
    /// The session and the leg in which it was weighed.
    pub session: Option<SessionId>,
    pub leg: Option<u64>,
    /// What was asked for when it was weighed: taken up again if it was no load after all.
    asked: AskedIntake,
}

/// The next load is an intake: of this feed, or of the one that is at hand then.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AskedIntake {
    pub feed: Option<FeedId>,
}

impl LotId {
    /// The entry that holds its mass.
    pub fn entry(self) -> EntryId {
        EntryId(self.0)
    }
}

impl Books {
    pub(super) fn fold_lot(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::IntakeAsked { feed } => {
                if let Some(feed) = feed {
                    self.feeds.get(feed)?;
                }
                self.at_bench(event).intake = Some(AskedIntake { feed: *feed });
            }
            Fact::IntakeWithdrawn {} => self.at_bench(event).intake = None,
            Fact::IntakeLanded { step, feed, session, leg, mass } => {
                let entry = Entry { origin: Origin::Intake(*step), mass: *mass, ..self.weighed(event)? };
                self.open_entry(event, entry)?;
                let asked = self.at_bench(event).intake.take().unwrap_or_default();
                self.lots.insert(LotId(event.seq), Lot { feed: *feed, session: *session, leg: *leg, asked });
            }
            Fact::LotTold { lot, feed } => {
                self.feeds.get(feed)?;
                self.lots.get_mut(lot)?.feed = Some(*feed);
            }
            _ => unreachable!("fold() sends only intakes and lots here"),
        }
        Some(())
    }

    /// What was taken for an intake was none: the next load is it.
    pub(super) fn intake_cancelled(&mut self, event: &Event, entry: EntryId) {
        if let Some(lot) = self.lots.remove(&LotId(entry.0)) {
            self.at_bench(event).intake = Some(lot.asked);
        }
    }

    /// The entry of a lot: its mass, when it was weighed, and whether it stands.
    pub fn lot_entry(&self, lot: LotId) -> Option<&Entry> {
        self.entries.get(&lot.entry())
    }
}
