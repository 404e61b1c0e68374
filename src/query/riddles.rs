//! Small riddles that wait for an answer and block nothing.

use super::tickets::{Firsts, TicketFlag};
use crate::facts::books::Bench;
use crate::facts::{BenchId, BinId, Books, Bridge, Doubt, EntryId, Fact, FillId, KnownBy, LotId, Seen, SessionId, TicketId};
use crate::measure::{Mass, Span};
use std::collections::BTreeSet;

#[derive(Debug, Clone, PartialEq)]
pub enum Riddle {
    /// A drop without a bin.
    NoBin {
        entry: EntryId,
        bench: BenchId,
        mass: Mass,
        doubt: Option<Doubt>,
    },
    /// The scale sent an equal line again: a second piece, or the same one. `number` is the bin of the first.
    SentTwice {
        entry: EntryId,
        mass: Mass,
        number: Option<u32>,
    },
    /// An intake of which nobody has said what it is.
    LotWithoutFeed {
        lot: LotId,
        mass: Mass,
    },
    /// Taken out of a bin and not seen again.
    InHand {
        bench: BenchId,
        removal: EntryId,
        mass: Mass,
    },
    /// The bin that stands there was known by its weight alone.
    KnownByWeight {
        bench: BenchId,
        bin: BinId,
        number: u32,
    },
    /// A bin was chosen right after a drop went to another: perhaps the drop belongs there as well.
    LastOneToo {
        entry: EntryId,
        number: u32,
    },
    /// Nothing moved at the bench for so long while the session's clock ran.
    WorkingOrAway {
        session: SessionId,
        stillness: u64,
        span: Span,
    },
    /// Somebody marked it.
    Marked {
        entry: EntryId,
        mass: Mass,
    },
    CameBackLighter {
        bin: BinId,
        number: u32,
        mass: Mass,
    },
    /// On a round through the stock it did not look as booked.
    StockDiffers {
        bin: BinId,
        number: u32,
        booked: Mass,
        seen: Seen,
    },
    /// A tare that was taken from the first time the bin was set down.
    LearnedTare {
        bin: BinId,
        number: u32,
        tare: Mass,
    },
    /// At the beginning of an epoch something stood there of which nothing was known.
    UnknownLoad {
        bench: BenchId,
    },
    /// Something about a ticket is odd; it is kept as it is printed.
    Ticket {
        ticket: TicketId,
        number: Option<String>,
        flag: TicketFlag,
    },
    /// It left with a run, and no ticket has it.
    LoadLeft {
        fill: FillId,
        number: u32,
        mass: Mass,
    },
    /// More came out of a bin than the books say went in.
    LessThanNothing {
        bin: BinId,
        number: u32,
        mass: Mass,
    },
}

/// All that is open now, the newest drops first.
pub fn riddles(books: &Books) -> Vec<Riddle> {
    let known = |id: &EntryId| books.entries.get(id).map(|entry| (*id, entry));
    let mut open: Vec<Riddle> = books
        .loose
        .iter()
        .rev()
        .filter_map(known)
        .map(|(id, entry)| match entry.doubt {
            Some(Doubt::PerhapsRepeated { of }) => {
                let first = of.and_then(|of| books.entries.get(&of)?.bin).and_then(|bin| books.bins.get(&bin));
                Riddle::SentTwice { entry: id, mass: entry.mass, number: first.map(|bin| bin.number) }
            }
            doubt => Riddle::NoBin { entry: id, bench: entry.bench, mass: entry.mass, doubt },
        })
        .collect();
    for (lot, _) in books.lots.iter().rev().filter(|(_, lot)| lot.feed.is_none()) {
        if let Some(entry) = books.lot_entry(*lot).filter(|entry| entry.counts()) {
            open.push(Riddle::LotWithoutFeed { lot: *lot, mass: entry.mass });
        }
    }
    for (session, state) in books.sessions.iter().rev() {
        for known in state.stillnesses.iter().filter(|known| known.away.is_none()) {
            open.push(Riddle::WorkingOrAway { session: *session, stillness: known.id, span: known.span });
        }
    }
    for (id, entry) in books.marked.iter().rev().filter_map(known) {
        open.push(Riddle::Marked { entry: id, mass: entry.mass });
    }
    for (bench, state) in &books.benches {
        for (removal, mass) in &state.in_hand {
            open.push(Riddle::InHand { bench: *bench, removal: *removal, mass: *mass });
        }
        if let Some((bin, number)) = known_by_weight(books, state) {
            open.push(Riddle::KnownByWeight { bench: *bench, bin, number });
        }
        if let Some((entry, number)) = last_one_too(books, state) {
            open.push(Riddle::LastOneToo { entry, number });
        }
        if state.bridged == Some(Bridge::Unknown) {
            open.push(Riddle::UnknownLoad { bench: *bench });
        }
    }
    for (id, bin) in books.bins.iter().filter(|(_, bin)| !bin.retired) {
        if let Some(mass) = bin.missing {
            open.push(Riddle::CameBackLighter { bin: *id, number: bin.number, mass });
        }
        if let Some(look) = books.open_look(*id) {
            open.push(Riddle::StockDiffers { bin: *id, number: bin.number, booked: look.booked, seen: look.seen });
        }
        if let Some(tare) = bin.tare.filter(|_| bin.tare_learned) {
            open.push(Riddle::LearnedTare { bin: *id, number: bin.number, tare });
        }
        let booked = books.fills.get(&bin.fill).map_or(Mass::ZERO, |fill| fill.mass);
        if booked.is_negative() {
            open.push(Riddle::LessThanNothing { bin: *id, number: bin.number, mass: booked });
        }
    }
    let firsts = Firsts::of(books);
    for (ticket, state) in books.standing_tickets().rev() {
        let number = &state.paper.number;
        let flags = firsts.open_flags(books, ticket, state).into_iter();
        open.extend(flags.map(|flag| Riddle::Ticket { ticket, number: number.clone(), flag }));
    }
    open.extend(loads_left(books));
    open
}

/// What was on board, or came back to a fill by a voided ticket, and is on no ticket now.
fn loads_left(books: &Books) -> impl Iterator<Item = Riddle> {
    let mut fills: BTreeSet<FillId> = books.loads.values().map(|moved| moved.fill).collect();
    for record in books.standing_records() {
        if let Fact::RunSetOut(run) = &record.fact {
            fills.extend(run.loads.iter().filter(|load| load.whole).map(|load| load.fill));
        }
    }
    fills.into_iter().filter_map(|fill| {
        let state = books.fills.get(&fill).filter(|state| state.closed.is_some() && !state.mass.is_zero())?;
        Some(Riddle::LoadLeft { fill, number: books.bins.get(&state.bin)?.number, mass: state.mass })
    })
}

fn known_by_weight(books: &Books, bench: &Bench) -> Option<(BinId, u32)> {
    let bin = bench.standing.filter(|_| bench.known_by == Some(KnownBy::Weight))?;
    Some((bin, books.bins.get(&bin)?.number))
}

/// The last drop, when another bin was chosen within five seconds after it and nothing has landed since.
fn last_one_too(books: &Books, bench: &Bench) -> Option<(EntryId, u32)> {
    const OFFERED_FOR: Span = Span::seconds(5);
    let (chosen, at) = (bench.chosen?, bench.chosen_at?);
    let (id, landed) = bench.last_drop?;
    let last = books.entries.get(&id)?;
    let soon = landed.boot == at.boot && at.mono >= landed.mono && at.mono.since(landed.mono) <= OFFERED_FOR;
    let elsewhere = last.counts() && last.corrected.is_none() && last.bin.is_some_and(|bin| bin != chosen);
    (soon && elsewhere).then_some((id, books.bins.get(&chosen)?.number))
}
