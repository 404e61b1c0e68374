//! Drives with bins: what was on board, and which tickets came of it.

use crate::facts::{Books, Fact, RunSetOut, TicketId};
use crate::measure::{Mass, Money, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;

#[derive(Debug, Clone, PartialEq)]
pub struct RunLine {
    /// By its event.
    pub run: u64,
    pub day: Date,
    /// Buyers in the order of driving.
    pub stops: Vec<String>,
    pub loads: Vec<RunBin>,
    pub distance_km: Option<Decimal>,
    pub span: Option<Span>,
    pub cost: Option<Money>,
    /// Tickets that stand and have anything of it.
    pub tickets: Vec<TicketId>,
    pub taken_back: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RunBin {
    pub number: u32,
    /// By the books; of a part, where somebody weighed it.
    pub mass: Option<Mass>,
    pub whole: bool,
}

/// Every drive with bins, the last one first.
pub fn runs(books: &Books) -> Vec<RunLine> {
    let of = |record: &crate::facts::books::Record| match &record.fact {
        Fact::RunSetOut(run) => Some(line(books, record.seq, run)),
        _ => None,
    };
    books.records.iter().rev().filter_map(of).collect()
}

fn line(books: &Books, run: u64, out: &RunSetOut) -> RunLine {
    let bin = |load: &crate::facts::RunLoad| RunBin {
        number: books.bins.get(&load.bin).map_or(0, |bin| bin.number),
        mass: if load.whole { Some(books.fill_before_loads(load.fill)) } else { load.mass },
        whole: load.whole,
    };
    RunLine {
        run,
        day: out.day,
        stops: out.stops.iter().map(|stop| books.buyers.get(stop).map(|buyer| buyer.name.clone()).unwrap_or_default()).collect(),
        loads: out.loads.iter().map(bin).collect(),
        distance_km: out.distance_km,
        span: out.span,
        cost: out.cost,
        tickets: books.tickets_of_run(run, out).map(|(id, _)| id).collect(),
        taken_back: books.voids.contains_key(&run),
    }
}
