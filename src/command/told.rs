//! For tests: books in which facts stand as if somebody had told them.

use crate::facts::{BenchId, BinId, Books, EntryId, Event, Fact, SCHEMA, Source, StoreId, Void};
use crate::measure::{BootId, Mass, Moment};

/// Lets the fact be the next event; gives its number.
pub fn keep(books: &mut Books, fact: Fact) -> u64 {
    let (seq, wall) = (books.seq + 1, jiff::Timestamp::UNIX_EPOCH);
    let (store, boot, mono, bench) = (StoreId(1), BootId(1), Moment::default(), BenchId(1));
    let event = Event { store, seq, schema: SCHEMA, boot, mono, wall, sure: true, bench, epoch: 0, cause: None, fact };
    books.apply(&event).unwrap();
    seq
}

/// Into the fill that stands there now.
pub fn weigh(books: &mut Books, bin: BinId, grams: i64) -> EntryId {
    let fill = books.bins[&bin].fill;
    let (source, reason) = (Source::HangingScale { division: Mass::grams(10) }, "by hand".to_owned());
    let (bin, fill, mass) = (Some(bin), Some(fill), Mass::grams(grams));
    EntryId(keep(books, Fact::WeightEntered { bin, fill, session: None, mass, source, reason }))
}

/// It was no material.
pub fn void(books: &mut Books, entry: EntryId) {
    keep(books, Fact::DropVoided { entry, which: Void::NeverMaterial, reason: "no".to_owned() });
}
