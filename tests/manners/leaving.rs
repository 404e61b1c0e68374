//! A drop that is voided because it is being taken out lies in the bin until it is: its removal is counted once.

use crate::{Bench, at, clear, put, riddles};
use bismar::command::Order;
use bismar::facts::{EntryId, Void};
use bismar::measure::Mass;
use bismar::query::Riddle;
use bismar::settle::Manner;
use proptest::prelude::*;

fn booked(bench: &Bench, bin: u32) -> Mass {
    let books = bench.core.books();
    books.fills[&books.bin_by_number(bin).unwrap().1.fill].mass
}

/// The drops that count, oldest first.
fn drops(bench: &Bench) -> Vec<EntryId> {
    let entries = &bench.core.books().entries;
    entries.iter().filter(|(_, entry)| entry.counts() && entry.is_drop()).map(|(id, _)| *id).collect()
}

fn void(bench: &mut Bench, entry: EntryId, which: Void) {
    bench.order(Order::VoidDrop { entry, which, reason: "a wrong piece".into() }).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    /// At once, after more pieces, after the bin was away, or while it was away: the books end at what lies there.
    #[test]
    fn what_is_taken_out_leaves_once(
        pieces in proptest::collection::vec(30_i64..300, 2..6),
        which in any::<prop::sample::Index>(),
        more in 0_i64..200,
        journey in 0_u8..3,
    ) {
        let mut bench = at(Manner::Heap, 2);
        bench.choose(1);
        put(&mut bench, 900);
        for piece in &pieces {
            put(&mut bench, *piece);
        }
        bench.rest(6000);
        let at = which.index(pieces.len());
        let (piece, entry) = (pieces[at], drops(&bench)[at]);
        void(&mut bench, entry, Void::TakenOutNow);
        if more > 20 {
            put(&mut bench, more);
            bench.rest(6000);
        }
        let inside = pieces.iter().sum::<i64>() + if more > 20 { more } else { 0 } - piece;
        prop_assert_eq!(booked(&bench, 1), Mass::grams(inside));
        let gross = 900 + inside + piece;
        if journey > 0 {
            bench.rest(6000);
            clear(&mut bench);
            put(&mut bench, if journey == 1 { gross } else { gross - piece });
            bench.rest(6000);
        }
        if journey < 2 {
            put(&mut bench, -piece);
            bench.rest(12_000);
        }
        let books = bench.core.books();
        prop_assert_eq!(booked(&bench, 1), Mass::grams(inside), "{:?}", books.entries);
        prop_assert!(books.bench(crate::BENCH).in_hand.is_empty());
        let asked = riddles(&bench).into_iter().filter(|riddle| !matches!(riddle, Riddle::LearnedTare { .. }));
        prop_assert_eq!(asked.collect::<Vec<_>>(), Vec::new());
        prop_assert!(books.leaving(books.bin_by_number(1).unwrap().0).next().is_none());
        // It is over: the next removal is one.
        put(&mut bench, 500);
        bench.rest(6000);
        clear(&mut bench);
        prop_assert_eq!(booked(&bench, 1), Mass::grams(inside + 500));
    }
}

/// What was never material has gone already; and what weighs something else is something else.
#[test]
fn only_what_was_said_to_be_leaving_is_taken_for_it() {
    for (which, removed, left) in [(Void::NeverMaterial, 120, 80), (Void::TakenOutNow, 90, 110), (Void::TakenOutNow, 120, 200)] {
        let mut bench = at(Manner::Heap, 1);
        bench.choose(1);
        put(&mut bench, 900);
        put(&mut bench, 200);
        put(&mut bench, 120);
        bench.rest(6000);
        let entry = drops(&bench)[1];
        void(&mut bench, entry, which);
        put(&mut bench, -removed);
        bench.rest(12_000);
        assert_eq!(booked(&bench, 1), Mass::grams(left), "{which:?}, {removed}");
    }
}
