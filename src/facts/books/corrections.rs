//! Folding corrections and the life of a bin.

use super::fold::{blank, new_fill};
use super::{Books, Closed, Entry, EntryState, HowClosed, Origin, Session};
use crate::facts::{BinId, Doubt, EntryId, Event, Fact, FillId, Source, Void};
use crate::measure::{Mass, Variance};

impl Books {
    pub(super) fn fold_correction(&mut self, event: &Event) -> Option<()> {
        let seq = event.seq;
        match &event.fact {
            Fact::DropVoided { entry, which, .. } => self.amend(*entry, |entry| {
                entry.state = EntryState::Voided;
                entry.leaving = *which == Void::TakenOutNow && !entry.mass.is_negative() && entry.fill.is_some();
                entry.corrected = Some(seq);
            })?,
            Fact::DropDoubted { entry } => self.amend(*entry, |entry| entry.doubt = Some(Doubt::Told))?,
            Fact::HandSettled { removal, .. } => self.at_bench(event).in_hand.retain(|(id, _)| id != removal),
            Fact::DropsMoved { entries, bin, fill, .. } => {
                self.fills.get(fill)?;
                for entry in entries {
                    self.amend(*entry, |entry| {
                        entry.bin = Some(*bin);
                        entry.fill = Some(*fill);
                        entry.doubt = None;
                        entry.corrected = Some(seq);
                    })?;
                }
            }
            Fact::DropAdjusted { entry, mass, source, .. } => {
                let variance = source.variance();
                self.amend(*entry, |entry| {
                    // What was drawn from a bin lowers it.
                    entry.mass = if matches!(entry.origin, Origin::Drawn(_)) { -*mass } else { *mass };
                    entry.variance = variance;
                    entry.told_here = Some(matches!(source, Source::BenchScale { .. }));
                    entry.between = None;
                    entry.corrected = Some(seq);
                })?;
            }
            Fact::BinTipped { from, from_fill, to, to_fill, mass, .. } => {
                let tipped = self.fills.get(from_fill)?;
                let variance = tipped.variance;
                // What other scales had a part in is followed no further: nothing bounds its error.
                let now = (event.bench, self.scale_change_at(event.bench, seq));
                let here = tipped.weighed.get(&now) == Some(mass);
                self.fills.get(to_fill)?;
                let half = |bin: BinId, fill: FillId, mass: Mass, variance: Variance| Entry {
                    origin: Origin::Tipped,
                    bin: Some(bin),
                    fill: Some(fill),
                    mass,
                    variance,
                    told_here: Some(here),
                    state: EntryState::Confirmed,
                    ..blank(event)
                };
                self.post(EntryId(seq), half(*to, *to_fill, *mass, variance));
                self.close_fill(event, *from, *from_fill, HowClosed::TippedInto(*to_fill))?;
            }
            Fact::BinEmptied { bin, fill, .. } => self.close_fill(event, *bin, *fill, HowClosed::Emptied)?,
            Fact::OpeningStock { bin, fill, mass, source, .. } => {
                self.fills.get(fill)?;
                let entry = Entry {
                    origin: Origin::Opening,
                    bin: Some(*bin),
                    fill: Some(*fill),
                    mass: *mass,
                    variance: source.variance(),
                    told_here: Some(matches!(source, Source::BenchScale { .. })),
                    state: EntryState::Confirmed,
                    ..blank(event)
                };
                self.post(EntryId(seq), entry);
            }
            Fact::WeightEntered { bin, fill, session, mass, source, .. } => {
                let leg = session.and_then(|session| self.sessions.get(&session)).map(Session::leg);
                let entry = Entry {
                    origin: Origin::Elsewhere,
                    bin: *bin,
                    fill: *fill,
                    session: *session,
                    leg,
                    mass: *mass,
                    variance: source.variance(),
                    told_here: Some(matches!(source, Source::BenchScale { .. })),
                    state: EntryState::Confirmed,
                    ..blank(event)
                };
                self.post(EntryId(seq), entry);
            }
            _ => unreachable!("fold() sends only corrections here"),
        }
        Some(())
    }

    /// The bin starts a new fill; what it held stays in the old one.
    fn close_fill(&mut self, event: &Event, bin: BinId, fill: FillId, how: HowClosed) -> Option<()> {
        let state = self.fills.get_mut(&fill)?;
        state.closed = Some(Closed { at: event.stamp(), how });
        let bin_state = self.bins.get_mut(&bin)?;
        bin_state.fill = FillId(event.seq);
        bin_state.last_gross = bin_state.tare;
        bin_state.missing = None;
        bin_state.stray = None;
        let grade = bin_state.grade;
        self.fills.insert(FillId(event.seq), new_fill(event, bin, grade));
        Some(())
    }
}
