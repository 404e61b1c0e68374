//! Folding runs, tickets, what they moved, and payments.

use super::fold::blank;
use super::{Books, Closed, Entry, EntryState, HowClosed, Origin};
use crate::facts::{BackHome, EntryId, Event, Fact, FillId, LoadMoved, LoadWhy, LotId, RunSetOut, TicketId, TicketTaken};
use crate::measure::{Mass, Stamp};
use imbl::Vector;
use std::sync::Arc;

/// A buyer's slip and what was made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticket {
    pub paper: Arc<TicketTaken>,
    pub at: Stamp,
    /// What it moved, in order.
    pub moves: Vector<EntryId>,
    pub voided: Option<u64>,
    /// Somebody has looked at what is odd about it.
    pub settled: Option<u64>,
}

impl Books {
    pub(super) fn fold_tickets(&mut self, event: &Event) -> Option<()> {
        match &event.fact {
            Fact::RunSetOut(run) => {
                for load in &run.loads {
                    self.fills.get(&load.fill)?;
                    self.pins.remove(&load.fill);
                }
                self.keep_record(event);
            }
            Fact::RunTakenBack(back) => {
                self.record(back.run).filter(|record| matches!(record.fact, Fact::RunSetOut(_)))?;
                self.voids.insert(back.run, event.seq);
                for home in &back.home {
                    self.bring_back(event, home)?;
                }
            }
            Fact::TicketTaken(paper) => {
                self.buyers.get(&paper.buyer)?;
                let paper = Arc::new((**paper).clone());
                let ticket = Ticket { paper, at: event.stamp(), moves: Vector::new(), voided: None, settled: None };
                self.tickets.insert(TicketId(event.seq), ticket);
            }
            Fact::LoadMoved(moved) => self.move_load(event, moved)?,
            Fact::TicketVoided(voided) => {
                self.tickets.get_mut(&voided.ticket)?.voided = Some(event.seq);
                for entry in &voided.moves {
                    self.put_back(*entry)?;
                }
            }
            Fact::TicketSettled(settled) => self.tickets.get_mut(&settled.ticket)?.settled = Some(event.seq),
            Fact::PaymentCame(came) => {
                self.tickets.get(&came.ticket)?;
                self.keep_record(event);
            }
            _ => unreachable!("fold() sends only runs, tickets and payments here"),
        }
        Some(())
    }

    /// The bin never left: its fill is open again, and what came in since lies in it too.
    pub(super) fn bring_back(&mut self, event: &Event, home: &BackHome) -> Option<()> {
        let since = self.fills.get(&home.since)?.entries.clone();
        self.fills.get_mut(&home.fill)?.closed = None;
        for id in since {
            if self.entries.get(&id).is_some_and(|entry| entry.fill == Some(home.since)) {
                self.amend(id, |entry| entry.fill = Some(home.fill))?;
            }
            if let Some(moved) = self.loads.get_mut(&id) {
                moved.fill = home.fill;
            }
        }
        let drawn: Vec<LotId> = self.lots.iter().filter(|(_, lot)| lot.drawn == Some(home.since)).map(|(lot, _)| *lot).collect();
        for lot in drawn {
            self.lots.get_mut(&lot)?.drawn = Some(home.fill);
        }
        let closed = Closed { at: event.stamp(), how: HowClosed::TippedInto(home.fill) };
        self.fills.get_mut(&home.since)?.closed = Some(closed);
        let there = self.fills.get(&home.fill)?.mass;
        let bin = self.bins.get_mut(&home.bin)?;
        bin.fill = home.fill;
        bin.last_gross = bin.tare.map(|tare| tare + there);
        (bin.missing, bin.stray) = (None, None);
        Some(())
    }

    fn move_load(&mut self, event: &Event, moved: &LoadMoved) -> Option<()> {
        let id = EntryId(event.seq);
        self.fills.get(&moved.fill)?;
        if let Some(ticket) = moved.ticket {
            let ticket = self.tickets.get_mut(&ticket)?;
            ticket.moves.push_back(id);
            ticket.settled = None;
        }
        let entry = Entry {
            origin: Origin::Load(moved.why),
            bin: Some(moved.bin),
            fill: Some(moved.fill),
            mass: moved.mass,
            told_here: Some(false),
            state: EntryState::Confirmed,
            ..blank(event)
        };
        self.post(id, entry);
        self.loads.insert(id, moved.clone());
        self.shift_gross(moved, moved.mass)
    }

    pub(super) fn put_back(&mut self, id: EntryId) -> Option<()> {
        let moved = self.loads.get(&id)?.clone();
        self.amend(id, |entry| entry.state = EntryState::Voided)?;
        self.shift_gross(&moved, -moved.mass)
    }

    /// A bin from which a part was sold is expected to weigh that much less when it comes to the scale again. A difference
    /// between scales is in the books alone: the next weighing shows what is really there.
    fn shift_gross(&mut self, moved: &LoadMoved, by: Mass) -> Option<()> {
        let bin = self.bins.get_mut(&moved.bin)?;
        if bin.fill == moved.fill && (moved.why != LoadWhy::ScaleDifference || moved.weighed.is_some()) {
            bin.last_gross = bin.last_gross.map(|gross| gross + by);
        }
        Some(())
    }

    /// What a fill held before anything of it was sold, given away or brought home.
    pub fn fill_before_loads(&self, fill: FillId) -> Mass {
        self.fill_mass_by(fill, |entry| !matches!(entry.origin, Origin::Load(_)))
    }

    /// Tickets that stand, oldest first.
    pub fn standing_tickets(&self) -> impl DoubleEndedIterator<Item = (TicketId, &Ticket)> {
        self.tickets.iter().filter(|(_, ticket)| ticket.voided.is_none()).map(|(id, ticket)| (*id, ticket))
    }

    /// Tickets that stand and name this run, or have anything of what went whole with it.
    pub fn tickets_of_run<'a>(&'a self, run: u64, out: &'a RunSetOut) -> impl Iterator<Item = (TicketId, &'a Ticket)> {
        let whole = move |fill: FillId| out.loads.iter().any(|load| load.whole && load.fill == fill);
        self.standing_tickets().filter(move |(_, ticket)| {
            ticket.paper.run == Some(run) || self.moves_of(ticket).iter().any(|(_, moved)| whole(moved.fill))
        })
    }

    /// What a ticket moved and what still counts of it.
    pub fn moves_of(&self, ticket: &Ticket) -> Vec<(EntryId, &LoadMoved)> {
        let counts = |id: &&EntryId| self.entries.get(*id).is_some_and(Entry::counts);
        ticket.moves.iter().filter(counts).filter_map(|id| Some((*id, self.loads.get(id)?))).collect()
    }
}
