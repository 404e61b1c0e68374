//! Folding one event into the books.

use super::{Bench, Bin, Books, Entry, EntryState, Epoch, Fill, Named, Origin, PressUse, Quote, Record, Session, Stillness};
use crate::facts::{BinChange, BinId, Bridge, BuyerId, Event, Fact, FeedId, FillId, GradeId, QuoteId, SessionId, Source, StepId};
use crate::measure::{Mass, Rate, Variance};

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
            | Fact::SentAgain { .. }
            | Fact::Bridged { .. }
            | Fact::BinChosen { .. }
            | Fact::PressTrialBegan {}
            | Fact::PressFelt {}
            | Fact::PressSwitched { .. }
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
            Fact::IntakeAsked { .. }
            | Fact::IntakeWithdrawn {}
            | Fact::IntakeLanded { .. }
            | Fact::LotTold { .. }
            | Fact::LotEntered { .. }
            | Fact::LotClosed { .. }
            | Fact::LotReopened { .. } => self.fold_lot(event)?,
            Fact::SessionStarted { .. }
            | Fact::SessionPaused { .. }
            | Fact::SessionResumed { .. }
            | Fact::SessionEnded { .. }
            | Fact::StillnessSeen { .. }
            | Fact::StillnessTold { .. }
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
            Fact::MinutesSpent { .. } | Fact::RunMade { .. } | Fact::TicketEntered { .. } => {
                self.keep_record(event);
            }
            Fact::CheckWeighed { .. }
            | Fact::CheckAsked(_)
            | Fact::CheckWithdrawn {}
            | Fact::CheckLaid(_)
            | Fact::CheckTakenOff(_)
            | Fact::ScaleDisturbed(_) => self.fold_check(event)?,
            Fact::FeedMarked(_)
            | Fact::BinFull(_)
            | Fact::SortingTold(_)
            | Fact::LimitsTold(_)
            | Fact::WireSampled(_)
            | Fact::StockSeen(_)
            | Fact::StockFollowed(_)
            | Fact::EmptyingTakenBack(_) => self.fold_places(event)?,
            Fact::RunSetOut(_)
            | Fact::RunTakenBack(_)
            | Fact::TicketTaken(_)
            | Fact::LoadMoved(_)
            | Fact::TicketVoided(_)
            | Fact::TicketSettled(_)
            | Fact::PaymentCame(_) => self.fold_tickets(event)?,
            Fact::YardTold(_) | Fact::RoadTold(_) | Fact::VehicleTold(_) | Fact::HoldTold(_) | Fact::BinPinned(_) => {
                self.fold_trips(event)?
            }
            Fact::LotBegun(_)
            | Fact::LotDrawn(_)
            | Fact::LotDescribed(_)
            | Fact::LotWaited(_)
            | Fact::ArrivalCame(_)
            | Fact::MoneySpent(_)
            | Fact::TrialBegan(_)
            | Fact::TrialEnded(_)
            | Fact::RecordVoided(_) => self.fold_feeds(event)?,
            Fact::RateQuoted(_) | Fact::PiecesCounted(_) | Fact::GradeTold(_) | Fact::BuyerTold(_) | Fact::WordTold(_) => {
                self.fold_prices(event)?
            }
            _ => self.fold_names(event)?,
        }
        Some(())
    }

    /// Keeps a plain record whole.
    pub(super) fn keep_record(&mut self, event: &Event) {
        let (seq, bench, at) = (event.seq, event.bench, event.stamp());
        self.records.push_back(Record { seq, bench, at, fact: event.fact.clone() });
    }

    pub(super) fn at_bench(&mut self, event: &Event) -> &mut Bench {
        self.benches.entry(event.bench).or_default()
    }

    fn fold_bench(&mut self, event: &Event) -> Option<()> {
        if let Fact::EpochOpened { scale, .. } = &event.fact {
            self.scale_changed(event, scale.clone(), false);
        }
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
            Fact::SentAgain { .. } => bench.last_between = None,
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
            }
            Fact::PressTrialBegan {} => bench.press = PressUse::Trial { felt: 0 },
            Fact::PressFelt {} => {
                if let PressUse::Trial { felt } = &mut bench.press {
                    *felt = felt.saturating_add(1);
                }
            }
            Fact::PressSwitched { on } => bench.press = if *on { PressUse::On } else { PressUse::Off },
            Fact::MannerChosen { manner } => bench.manner = *manner,
            _ => unreachable!("fold() sends only bench facts here"),
        }
        Some(())
    }

    fn fold_session(&mut self, event: &Event) -> Option<()> {
        let at = event.stamp();
        match &event.fact {
            Fact::SessionStarted { feed } => {
                let id = SessionId(event.seq);
                self.sessions.insert(id, Session::started_at(event.bench, at, event.seq, *feed));
                self.at_bench(event).session = Some(id);
            }
            Fact::SessionPaused { session } => self.sessions.get_mut(session)?.stop_clock(&at),
            Fact::SessionResumed { session } => self.sessions.get_mut(session)?.start_clock(&at, event.seq),
            Fact::StillnessSeen { session, span } => {
                let state = self.sessions.get_mut(session)?;
                let (id, leg) = (event.seq, state.leg());
                state.stillnesses.push_back(Stillness { id, leg, span: *span, away: None });
            }
            Fact::StillnessTold { stillness, session, away } => {
                self.sessions.get_mut(session)?.tell(*stillness, *away)?;
            }
            Fact::LegBegan { session, feed } => self.sessions.get_mut(session)?.begin_leg(&at, event.seq, *feed),
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
                        litres: None,
                        retired: false,
                        fill,
                        last_gross: None,
                        stray: None,
                        missing: None,
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
                    rate: Rate::Weight(*price),
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
        change.litres.put(&mut bin.litres);
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

pub(super) fn new_fill(event: &Event, bin: BinId, grade: Option<GradeId>) -> Fill {
    Fill {
        bin,
        grade,
        opened: event.stamp(),
        closed: None,
        mass: Mass::ZERO,
        not_worked: Mass::ZERO,
        variance: Variance::ZERO,
        drops: 0,
        heaviest: Mass::ZERO,
        weighed: imbl::OrdMap::new(),
        entries: imbl::Vector::new(),
        counts: imbl::Vector::new(),
    }
}

/// An entry of this event with nothing in it.
pub(super) fn blank(event: &Event) -> Entry {
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
        told_here: None,
        paired: None,
        leaving: false,
    }
}

/// The kind of thing that a fact points to, for the message when it is not there.
fn subject(fact: &Fact) -> &'static str {
    match fact {
        Fact::BinChosen { .. } | Fact::BinChanged { .. } | Fact::SetDown { .. } | Fact::Lifted { .. } => "a bin",
        Fact::DropLanded { .. } | Fact::TakenOut { .. } | Fact::CrumbsSettled { .. } => "an epoch or a fill",
        Fact::IntakeAsked { .. } | Fact::LotTold { .. } | Fact::LotEntered { .. } => "a feed or a lot",
        Fact::LotClosed { .. } | Fact::LotReopened { .. } => "a lot",
        Fact::IntakeLanded { .. } => "an epoch",
        Fact::SessionPaused { .. } | Fact::SessionResumed { .. } | Fact::SessionEnded { .. } | Fact::LegBegan { .. } => {
            "a session"
        }
        Fact::GradeChanged { .. } => "a grade",
        Fact::FeedChanged { .. } => "a feed",
        Fact::BuyerChanged { .. } => "a buyer",
        Fact::QuoteGiven { .. } | Fact::RateQuoted(_) | Fact::WordTold(_) => "a buyer or a grade",
        Fact::GradeTold(_) => "a grade",
        Fact::BuyerTold(_) => "a buyer",
        Fact::PiecesCounted(_) => "a fill",
        Fact::QuoteWithdrawn { .. } => "a quote",
        Fact::YardTold(_) | Fact::RoadTold(_) => "a buyer",
        Fact::HoldTold(_) => "a grade",
        Fact::LotBegun(_) | Fact::LotDrawn(_) => "a feed or a fill",
        Fact::LotDescribed(_) | Fact::LotWaited(_) => "a lot or an arrival",
        Fact::ArrivalCame(_) | Fact::MoneySpent(_) => "a feed, a buyer or a lot",
        Fact::TrialBegan(_) | Fact::TrialEnded(_) | Fact::RecordVoided(_) => "a session or a record",
        Fact::FeedMarked(_) | Fact::WireSampled(_) | Fact::SortingTold(_) => "a feed or a grade",
        Fact::BinFull(_) | Fact::StockSeen(_) | Fact::StockFollowed(_) | Fact::BinPinned(_) => "a bin or a fill",
        Fact::BinTipped { .. } | Fact::BinEmptied { .. } | Fact::EmptyingTakenBack(_) | Fact::OpeningStock { .. } => "a fill",
        Fact::RunTakenBack(_) => "a run or a fill",
        _ => "a drop",
    }
}
