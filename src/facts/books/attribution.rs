//! Folding what was made of the steps.

use super::fold::blank;
use super::{Books, Entry, EntryState, Origin, Session};
use crate::facts::{BenchId, BinId, Confirmation, Doubt, EntryId, Event, Fact, KnownBy};
use crate::measure::{Mass, Variance};

impl Books {
    pub(super) fn fold_attribution(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::DropLanded { step, bin, fill, session, leg, mass, doubt, transfer } => {
                let entry = Entry {
                    origin: if transfer.is_some() { Origin::Transfer(*step) } else { Origin::Drop(*step) },
                    bin: *bin,
                    fill: *fill,
                    session: *session,
                    leg: *leg,
                    mass: *mass,
                    doubt: *doubt,
                    ..self.weighed(event)?
                };
                self.open_entry(event, entry)?;
                let bench = self.at_bench(event);
                bench.visit.push_back(EntryId(event.seq));
                bench.last_drop = Some((EntryId(event.seq), event.stamp()));
                bench.in_hand.retain(|(removal, _)| Some(*removal) != *transfer);
            }
            Fact::TakenOut { step, bin, fill, session, mass } => {
                let leg = session.and_then(|session| self.sessions.get(&session)).map(Session::leg);
                let entry = Entry {
                    origin: Origin::TakenOut(*step),
                    bin: *bin,
                    fill: *fill,
                    session: *session,
                    leg,
                    mass: -*mass,
                    ..self.weighed(event)?
                };
                self.open_entry(event, entry)?;
            }
            Fact::DropRevised { entry, mass } => self.amend(*entry, |entry| entry.mass = *mass)?,
            Fact::Confirmed { entry, why } => self.close_entry(event, *entry, EntryState::Confirmed, *why)?,
            Fact::Cancelled { entry, .. } => {
                self.amend(*entry, |entry| entry.state = EntryState::Cancelled)?;
                self.intake_cancelled(event, *entry);
                self.at_bench(event).open.retain(|open| open != entry);
            }
            Fact::SetDown { bin, gross, known_by, expected, lighter_by, .. } => {
                let booked = self.fills.get(&self.bins.get(bin)?.fill)?.mass;
                self.left_unseen(*bin, *expected)?;
                let bin_state = self.bins.get_mut(bin)?;
                bin_state.last_gross = Some(*gross);
                bin_state.missing = *lighter_by;
                bin_state.stray = None;
                let told = *known_by == KnownBy::Told && bin_state.tare.is_none();
                if *known_by == KnownBy::FirstSight || told {
                    bin_state.tare = Some(*gross - booked);
                    bin_state.tare_learned = true;
                }
                let bench = self.at_bench(event);
                bench.standing = Some(*bin);
                bench.known_by = Some(*known_by);
                if *known_by != KnownBy::Told {
                    bench.visit.clear();
                }
                if let Some(expected) = expected {
                    let off = (*gross - *expected).abs().femtograms();
                    bench.scatter = Mass::from_femtograms((bench.scatter.femtograms() * 7 + off) / 8);
                }
            }
            Fact::Lifted { bin, gross, .. } => {
                if let Some(bin) = bin {
                    self.bins.get_mut(bin)?.last_gross = Some(*gross);
                } else if let Some(perhaps) = self.perhaps(event.bench) {
                    self.bins.get_mut(&perhaps)?.stray = Some(*gross);
                }
                let bench = self.at_bench(event);
                bench.standing = None;
                bench.known_by = None;
                bench.visit.clear();
            }
            Fact::CaughtUp { bin, fill, mass } => {
                let entry = Entry {
                    origin: Origin::Unseen,
                    bin: Some(*bin),
                    fill: Some(*fill),
                    mass: *mass,
                    state: EntryState::Confirmed,
                    ..self.weighed(event)?
                };
                self.post(EntryId(event.seq), entry);
                if mass.is_negative() {
                    self.bins.get_mut(bin)?.missing = None;
                }
            }
            Fact::TakenBack { drop, removal } => {
                // A drop that was voided as being taken out has left the sum already; its removal must not leave it again.
                let voided = self.entries.get(drop)?.state == EntryState::Voided;
                self.amend(*drop, |entry| (entry.paired, entry.leaving) = (Some(*removal), false))?;
                self.amend(*removal, |entry| {
                    entry.paired = Some(*drop);
                    if voided {
                        entry.state = EntryState::Voided;
                    }
                })?;
                self.at_bench(event).in_hand.retain(|(id, _)| id != removal);
            }
            Fact::CrumbsSettled { bin, fill, mass } => {
                let entry = Entry {
                    origin: Origin::Crumbs,
                    bin: *bin,
                    fill: *fill,
                    mass: *mass,
                    state: EntryState::Confirmed,
                    between: None,
                    ..self.weighed(event)?
                };
                self.post(EntryId(event.seq), entry);
            }
            _ => unreachable!("fold() sends only attribution facts here"),
        }
        Some(())
    }

    /// What was voided as being taken out and still lies in a bin, newest first.
    pub fn leaving(&self, bin: BinId) -> impl Iterator<Item = (EntryId, Mass)> {
        let fill = self.bins.get(&bin).map(|bin| bin.fill);
        let ids = fill.and_then(|fill| self.fills.get(&fill)).into_iter().flat_map(|fill| fill.entries.iter().rev());
        ids.filter_map(move |id| {
            let entry = self.entries.get(id)?;
            (entry.leaving && entry.fill == fill).then_some((*id, entry.mass))
        })
    }

    /// A bin that was expected to be lighter than it was last seen, by just what was leaving it: that was taken out while
    /// the bin was away.
    fn left_unseen(&mut self, bin: BinId, expected: Option<Mass>) -> Option<()> {
        let gone = self.bins.get(&bin)?.last_gross.zip(expected).map(|(before, expected)| before - expected);
        let left = self.leaving(bin).find(|(_, mass)| Some(*mass) == gone).map(|(id, _)| id);
        left.map_or(Some(()), |id| self.amend(id, |entry| entry.leaving = false))
    }

    /// The bin that what stands on a bench may be, where it was kept apart when it was set down.
    fn perhaps(&self, bench: BenchId) -> Option<BinId> {
        let visit = &self.benches.get(&bench)?.visit;
        let doubts = visit.iter().filter_map(|id| self.entries.get(id)).filter(|entry| entry.counts());
        doubts.filter_map(|entry| entry.doubt).find_map(|doubt| match doubt {
            Doubt::NotTheBin { perhaps, .. } => perhaps,
            Doubt::PerhapsAnother { perhaps } => Some(perhaps),
            _ => None,
        })
    }

    /// What every entry weighed on this bench has in common.
    pub(super) fn weighed(&self, event: &Event) -> Option<Entry> {
        let bench = self.benches.get(&event.bench)?;
        let division = bench.epoch.as_ref()?.division;
        Some(Entry { epoch: event.epoch, variance: Variance::of_difference(division), ..blank(event) })
    }

    pub(super) fn open_entry(&mut self, event: &Event, mut entry: Entry) -> Option<()> {
        if let Some(fill) = entry.fill {
            self.fills.get(&fill)?;
        }
        let id = EntryId(event.seq);
        entry.between = self.benches.get(&event.bench)?.last_between;
        self.post(id, entry);
        self.at_bench(event).open.push_back(id);
        Some(())
    }

    fn close_entry(&mut self, event: &Event, id: EntryId, state: EntryState, why: Confirmation) -> Option<()> {
        let entry = self.entries.get(&id)?.clone();
        self.amend(id, |entry| entry.state = state)?;
        let standing = self.benches.get(&event.bench).and_then(|bench| bench.standing);
        let in_the_bin = !matches!(entry.origin, Origin::Intake(_)) && why != Confirmation::PanCleared;
        if in_the_bin
            && let Some(bin) = standing.and_then(|bin| self.bins.get_mut(&bin))
            && let Some(gross) = bin.last_gross.as_mut()
        {
            *gross += entry.mass;
        }
        let bench = self.at_bench(event);
        bench.open.retain(|open| *open != id);
        if entry.is_drop() && matches!(why, Confirmation::PanCleared | Confirmation::TrayReturned) {
            bench.last_drop = Some((id, event.stamp()));
        }
        if matches!(entry.origin, Origin::TakenOut(_)) {
            bench.in_hand.push_back((id, -entry.mass));
        }
        Some(())
    }
}
