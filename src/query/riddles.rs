//! Small riddles that wait for an answer and block nothing.

use crate::facts::books::{Entry, EntryState};
use crate::facts::{BenchId, BinId, Books, Bridge, Doubt, EntryId};
use crate::measure::Mass;

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Riddle {
    /// A drop without a bin.
    NoBin { entry: EntryId, bench: BenchId, mass: Mass, doubt: Option<Doubt> },
    /// Taken out of a bin and not seen again.
    InHand { bench: BenchId, mass: Mass },
    /// A tare that was taken from the first time the bin was set down.
    LearnedTare { bin: BinId, number: u32, tare: Mass },
    /// At the beginning of an epoch something stood there of which nothing was known.
    UnknownLoad { bench: BenchId },
    /// More came out of a bin than the books say went in.
    LessThanNothing { bin: BinId, number: u32, mass: Mass },
}

/// All that is open now, the newest drops first.
pub fn riddles(books: &Books) -> Vec<Riddle> {
    let loose = |entry: &Entry| entry.bin.is_none() && entry.is_drop() && entry.state == EntryState::Confirmed;
    let mut open: Vec<Riddle> = books
        .entries
        .iter()
        .rev()
        .filter(|(_, entry)| loose(entry))
        .map(|(id, entry)| Riddle::NoBin { entry: *id, bench: entry.bench, mass: entry.mass, doubt: entry.doubt })
        .collect();
    for (bench, state) in &books.benches {
        if state.in_hand > Mass::ZERO {
            open.push(Riddle::InHand { bench: *bench, mass: state.in_hand });
        }
        if state.bridged == Some(Bridge::Unknown) {
            open.push(Riddle::UnknownLoad { bench: *bench });
        }
    }
    for (id, bin) in books.bins.iter().filter(|(_, bin)| !bin.retired) {
        if let Some(tare) = bin.tare.filter(|_| bin.tare_learned) {
            open.push(Riddle::LearnedTare { bin: *id, number: bin.number, tare });
        }
        let booked = books.fills.get(&bin.fill).map_or(Mass::ZERO, |fill| fill.mass);
        if booked.is_negative() {
            open.push(Riddle::LessThanNothing { bin: *id, number: bin.number, mass: booked });
        }
    }
    open
}
