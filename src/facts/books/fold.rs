//! Folding one event into the books.

use super::{Bench, Bin, Books, Closed, Entry, EntryState, Epoch, Fill, HowClosed, Named, Origin, Quote, Record, Session};
use crate::facts::{
    BinChange, BinId, Bridge, BuyerId, Confirmation, Doubt, EntryId, Event, Fact, FeedId, FillId, GradeId, KnownBy, QuoteId,
    SessionId, Source, StepId,
};
use crate::measure::{Mass, Variance};

/// An event that does not fit the books: it speaks of what is not there, or comes out of order.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Misfit {
    #[error("event {found} follows event {last}: one is missing or out of order")]
    OutOfOrder { last: u64, found: u64 },
    #[error("event {seq} belongs to another store")]
    OtherStore { seq: u64 },
    #[error("event {seq} speaks of {what}, which the events before it do not know")]
    Unknown { seq: u64, what: &'static str },
}

impl Books {
    /// Folds the next event in. After a misfit the books are half folded: drop them.
    pub fn apply(&mut self, event: &Event) -> Result<(), Misfit> {
        if event.seq != self.seq + 1 {
            return Err(Misfit::OutOfOrder { last: self.seq, found: event.seq });
        }
        if self.store.is_some_and(|store| store != event.store) {
            return Err(Misfit::OtherStore { seq: event.seq });
        }
        self.fold(event).ok_or(Misfit::Unknown { seq: event.seq, what: subject(&event.fact) })?;
        self.store = Some(event.store);
        self.seq = event.seq;
        if let Some(key) = &event.cause {
            self.keys.note(key, event.seq);
        }
        Ok(())
    }

    fn fold(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::StoreFounded { .. } => {}
            Fact::GapMarked { lost } => self.at_bench(event).lost_readings += lost,
            Fact::EpochOpened { .. }
            | Fact::EpochClosed { .. }
            | Fact::Stepped { .. }
            | Fact::Bridged { .. }
            | Fact::BinChosen { .. }
            | Fact::MannerChosen { .. } => self.fold_bench(event)?,
            Fact::DropLanded { .. }
            | Fact::DropRevised { .. }
            | Fact::TakenOut { .. }
            | Fact::Confirmed { .. }
            | Fact::Cancelled { .. }
            | Fact::SetDown { .. }
            | Fact::Lifted { .. }
            | Fact::CaughtUp { .. }
            | Fact::TakenBack { .. }
            | Fact::CrumbsSettled { .. } => self.fold_attribution(event)?,
            Fact::SessionStarted { .. }
            | Fact::SessionPaused { .. }
            | Fact::SessionResumed { .. }
            | Fact::SessionEnded { .. }
            | Fact::LegBegan { .. } => self.fold_session(event)?,
            Fact::DropVoided { .. }
            | Fact::DropDoubted { .. }
            | Fact::HandSettled { .. }
            | Fact::DropsMoved { .. }
            | Fact::DropAdjusted { .. }
            | Fact::BinTipped { .. }
            | Fact::BinEmptied { .. }
            | Fact::OpeningStock { .. }
            | Fact::WeightEntered { .. } => self.fold_correction(event)?,
            Fact::CheckWeighed { .. } | Fact::MinutesSpent { .. } | Fact::RunMade { .. } | Fact::TicketEntered { .. } => {
                self.records.push_back(Record { seq: event.seq, fact: event.fact.clone() });
            }
            _ => self.fold_names(event)?,
        }
        Some(())
    }

    fn at_bench(&mut self, event: &Event) -> &mut Bench {
        self.benches.entry(event.bench).or_default()
    }

    fn fold_bench(&mut self, event: &Event) -> Option<()> {
        if let Fact::BinChosen { bin: Some(bin) } = &event.fact {
            self.bins.get(bin)?;
        }
        let bench = self.benches.entry(event.bench).or_default();
        match &event.fact {
            Fact::EpochOpened { cause, unit, display, division, scale } => {
                bench.last_step = None;
                bench.epoch = Some(Epoch {
                    number: event.epoch,
                    cause: *cause,
                    unit: *unit,
                    display: *display,
                    division: *division,
                    scale: scale.clone(),
                    began: event.stamp(),
                });
            }
            Fact::EpochClosed { .. } => bench.last_step = None,
            Fact::Stepped { from, to, .. } => {
                bench.last_step = Some((StepId(event.seq), *to));
                bench.last_between = Some((from.since, to.since));
            }
            Fact::Bridged { verdict, .. } => {
                if *verdict == Bridge::Empty {
                    bench.standing = None;
                    bench.visit.clear();
                }
                bench.bridged = Some(*verdict);
            }
            Fact::BinChosen { bin } => {
                bench.chosen = *bin;
                bench.chosen_at = Some(event.stamp());
                bench.choice_is_fresh = true;
            }
            Fact::MannerChosen { manner } => bench.manner = *manner,
            _ => unreachable!("fold() sends only bench facts here"),
        }
        Some(())
    }

    fn fold_attribution(&mut self, event: &Event) -> Option<()> {
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
                self.at_bench(event).open.retain(|open| open != entry);
            }
            Fact::SetDown { bin, gross, known_by, expected, .. } => {
                let booked = self.fills.get(&self.bins.get(bin)?.fill)?.mass;
                let bin_state = self.bins.get_mut(bin)?;
                bin_state.last_gross = Some(*gross);
                let told = *known_by == KnownBy::Told && bin_state.tare.is_none();
                if *known_by == KnownBy::FirstSight || told {
                    bin_state.tare = Some(*gross - booked);
                    bin_state.tare_learned = true;
                }
                let bench = self.at_bench(event);
                bench.standing = Some(*bin);
                bench.known_by = Some(*known_by);
                bench.choice_is_fresh = false;
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
                }
                let bench = self.at_bench(event);
                bench.standing = None;
                bench.known_by = None;
                bench.choice_is_fresh = false;
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
            }
            Fact::TakenBack { drop, removal } => {
                self.amend(*drop, |entry| entry.paired = Some(*removal))?;
                self.amend(*removal, |entry| entry.paired = Some(*drop))?;
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

    /// What every entry weighed on this bench has in common.
    fn weighed(&self, event: &Event) -> Option<Entry> {
        let bench = self.benches.get(&event.bench)?;
        let division = bench.epoch.as_ref()?.division;
        Some(Entry { epoch: event.epoch, variance: Variance::of_difference(division), ..blank(event) })
    }

    fn open_entry(&mut self, event: &Event, mut entry: Entry) -> Option<()> {
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
        if why != Confirmation::PanCleared
            && let Some(bin) = standing.and_then(|bin| self.bins.get_mut(&bin))
            && let Some(gross) = bin.last_gross.as_mut()
        {
            *gross += entry.mass;
        }
        let bench = self.at_bench(event);
        bench.open.retain(|open| *open != id);
        if matches!(why, Confirmation::PanCleared | Confirmation::TrayReturned) {
            bench.last_drop = Some((id, event.stamp()));
        }
        if matches!(entry.origin, Origin::TakenOut(_)) {
            bench.in_hand.push_back((id, -entry.mass));
        }
        Some(())
    }

    fn fold_session(&mut self, event: &Event) -> Option<()> {
        let at = event.stamp();
        match &event.fact {
            Fact::SessionStarted { feed } => {
                let id = SessionId(event.seq);
                self.sessions.insert(id, Session::started_at(event.bench, at, *feed));
                self.at_bench(event).session = Some(id);
            }
            Fact::SessionPaused { session } => self.sessions.get_mut(session)?.stop_clock(&at),
            Fact::SessionResumed { session } => self.sessions.get_mut(session)?.start_clock(&at),
            Fact::LegBegan { session, feed } => self.sessions.get_mut(session)?.begin_leg(&at, *feed),
            Fact::SessionEnded { session } => {
                let state = self.sessions.get_mut(session)?;
                state.stop_clock(&at);
                state.ended = Some(at);
                let bench = self.benches.entry(event.bench).or_default();
                if bench.session == Some(*session) {
                    bench.session = None;
                }
            }
            _ => unreachable!("fold() sends only session facts here"),
        }
        Some(())
    }

    fn fold_names(&mut self, event: &Event) -> Option<()> {
        let seq = event.seq;
        let named = |name: &String| Named { name: name.clone(), retired: false, changed: seq };
        match &event.fact {
            Fact::BinMade { number, name, grade, tare, capacity } => {
                let (bin, fill) = (BinId(seq), FillId(seq));
                self.bins.insert(
                    bin,
                    Bin {
                        number: *number,
                        name: name.clone(),
                        grade: *grade,
                        tare: *tare,
                        tare_learned: false,
                        capacity: *capacity,
                        retired: false,
                        fill,
                        last_gross: None,
                        changed: seq,
                    },
                );
                self.fills.insert(fill, new_fill(event, bin, *grade));
            }
            Fact::BinChanged { bin, change } => self.change_bin(*bin, change, seq)?,
            Fact::GradeMade { name } => _ = self.grades.insert(GradeId(seq), named(name)),
            Fact::FeedMade { name } => _ = self.feeds.insert(FeedId(seq), named(name)),
            Fact::BuyerMade { name } => _ = self.buyers.insert(BuyerId(seq), named(name)),
            Fact::GradeChanged { grade, change } => self.grades.get_mut(grade)?.change(change, seq),
            Fact::FeedChanged { feed, change } => self.feeds.get_mut(feed)?.change(change, seq),
            Fact::BuyerChanged { buyer, change } => self.buyers.get_mut(buyer)?.change(change, seq),
            Fact::QuoteGiven { buyer, grade, price, day, stale_after, breaks, minimum, deduction } => {
                self.buyers.get(buyer)?;
                self.grades.get(grade)?;
                let quote = Quote {
                    buyer: *buyer,
                    grade: *grade,
                    price: *price,
                    day: *day,
                    stale_after: *stale_after,
                    breaks: breaks.clone(),
                    minimum: *minimum,
                    deduction: *deduction,
                    withdrawn: false,
                };
                self.quotes.insert(QuoteId(seq), quote);
            }
            Fact::QuoteWithdrawn { quote, .. } => self.quotes.get_mut(quote)?.withdrawn = true,
            _ => unreachable!("fold() sends only names and set-up here"),
        }
        Some(())
    }

    fn change_bin(&mut self, id: BinId, change: &BinChange, seq: u64) -> Option<()> {
        let bin = self.bins.get_mut(&id)?;
        bin.changed = seq;
        if let Some(number) = change.number {
            bin.number = number;
        }
        change.name.put(&mut bin.name);
        change.capacity.put(&mut bin.capacity);
        if !change.tare.is_keep() {
            change.tare.put(&mut bin.tare);
            bin.tare_learned = false;
        }
        if let Some(retired) = change.retired {
            bin.retired = retired;
        }
        if !change.grade.is_keep() {
            change.grade.put(&mut bin.grade);
            let (grade, open) = (bin.grade, bin.fill);
            // A grade that comes late applies backwards: to the fill that is open, and to older ones without any.
            let late = |fill_id: FillId, fill: &Fill| fill.bin == id && (fill_id == open || fill.grade.is_none());
            let late: Vec<FillId> = self.fills.iter().filter(|(id, fill)| late(**id, fill)).map(|(id, _)| *id).collect();
            for fill in late {
                self.fills.get_mut(&fill)?.grade = grade;
            }
        }
        Some(())
    }

    fn fold_correction(&mut self, event: &Event) -> Option<()> {
        let seq = event.seq;
        match &event.fact {
            Fact::DropVoided { entry, .. } => self.amend(*entry, |entry| {
                entry.state = EntryState::Voided;
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
                    entry.mass = *mass;
                    entry.variance = variance;
                    entry.between = None;
                    entry.corrected = Some(seq);
                })?;
            }
            Fact::BinTipped { from, from_fill, to, to_fill, mass, .. } => {
                let variance = self.fills.get(from_fill)?.variance;
                self.fills.get(to_fill)?;
                let half = |bin: BinId, fill: FillId, mass: Mass, variance: Variance| Entry {
                    origin: Origin::Tipped,
                    bin: Some(bin),
                    fill: Some(fill),
                    mass,
                    variance,
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
        let grade = bin_state.grade;
        self.fills.insert(FillId(event.seq), new_fill(event, bin, grade));
        Some(())
    }
}

impl Source {
    /// The variance of a weight from this source: a display's resolution, or the width of an estimate.
    pub fn variance(&self) -> Variance {
        match self {
            Source::BenchScale { division }
            | Source::HangingScale { division }
            | Source::YardScale { division }
            | Source::Label { division } => Variance::of_difference(*division),
            Source::Estimate { low, high } => Variance::of_half_width(Mass::from_femtograms((*high - *low).femtograms() / 2)),
        }
    }
}

impl Named {
    fn change(&mut self, change: &crate::facts::NameChange, seq: u64) {
        self.changed = seq;
        if let Some(name) = &change.name {
            self.name.clone_from(name);
        }
        if let Some(retired) = change.retired {
            self.retired = retired;
        }
    }
}

fn new_fill(event: &Event, bin: BinId, grade: Option<GradeId>) -> Fill {
    Fill {
        bin,
        grade,
        opened: event.stamp(),
        closed: None,
        mass: Mass::ZERO,
        variance: Variance::ZERO,
        drops: 0,
        heaviest: Mass::ZERO,
        entries: imbl::Vector::new(),
    }
}

/// An entry of this event with nothing in it.
fn blank(event: &Event) -> Entry {
    Entry {
        origin: Origin::Elsewhere,
        bench: event.bench,
        epoch: 0,
        bin: None,
        fill: None,
        session: None,
        leg: None,
        mass: Mass::ZERO,
        variance: Variance::ZERO,
        between: None,
        state: EntryState::Provisional,
        doubt: None,
        at: event.stamp(),
        corrected: None,
        paired: None,
    }
}

/// The kind of thing that a fact points to, for the message when it is not there.
fn subject(fact: &Fact) -> &'static str {
    match fact {
        Fact::BinChosen { .. } | Fact::BinChanged { .. } | Fact::SetDown { .. } | Fact::Lifted { .. } => "a bin",
        Fact::DropLanded { .. } | Fact::TakenOut { .. } | Fact::CrumbsSettled { .. } => "an epoch or a fill",
        Fact::SessionPaused { .. } | Fact::SessionResumed { .. } | Fact::SessionEnded { .. } | Fact::LegBegan { .. } => {
            "a session"
        }
        Fact::GradeChanged { .. } => "a grade",
        Fact::FeedChanged { .. } => "a feed",
        Fact::BuyerChanged { .. } => "a buyer",
        Fact::QuoteGiven { .. } => "a buyer or a grade",
        Fact::QuoteWithdrawn { .. } => "a quote",
        Fact::BinTipped { .. } | Fact::BinEmptied { .. } | Fact::OpeningStock { .. } => "a fill",
        _ => "a drop",
    }
}
