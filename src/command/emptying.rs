//! Taking back an emptying or a tip that never was.

use super::decide::{Decision, find_bin, none_waits, said};
use super::{BinRef, PlaceRefusal, Refusal};
use crate::facts::books::{Entry, Origin};
use crate::facts::{BackHome, Books, EmptyingTakenBack, EntryId, Fact, FillId};

/// The last one of the bin, while nothing else says what became of what was in it.
pub(super) fn take_back(books: &Books, number: BinRef, reason: &str) -> Result<Decision, Refusal> {
    let (bin, _) = find_bin(books, number)?;
    let BinRef(number) = number;
    let home = books.last_emptying(bin).ok_or(PlaceRefusal::NeverEmptied { number })?;
    stands_alone(books, number, &home)?;
    none_waits(books, home.since)?;
    Ok(Decision::Facts(vec![Fact::EmptyingTakenBack(EmptyingTakenBack { home, reason: said(reason)? })]))
}

fn stands_alone(books: &Books, number: u32, home: &BackHome) -> Result<(), Refusal> {
    let went =
        |fact: &Fact| matches!(fact, Fact::RunSetOut(run) if run.loads.iter().any(|load| load.whole && load.fill == home.fill));
    if let Some(record) = books.standing_records().find(|record| went(&record.fact)) {
        return Err(PlaceRefusal::WentWithRun { number, run: record.seq }.into());
    }
    let sold = |ticket| books.moves_of(ticket).iter().any(|(_, moved)| moved.whole && moved.fill == home.fill);
    if let Some((ticket, _)) = books.standing_tickets().find(|(_, ticket)| sold(ticket)) {
        return Err(PlaceRefusal::SoldOnTicket { number, ticket }.into());
    }
    let grade = |fill| books.fills.get(fill).and_then(|fill| fill.grade);
    let came_in = books.counting(home.since).next().is_some();
    if came_in && grade(&home.since) != grade(&home.fill) {
        return Err(PlaceRefusal::RegradedSince { number }.into());
    }
    // A tip is an entry of the bin that it went into.
    let tipped = books.entries.get(&EntryId(home.since.0)).filter(|entry| entry.counts());
    let lies_open = |entry: &Entry| entry.fill.and_then(|fill| books.fills.get(&fill)).is_some_and(|fill| fill.closed.is_none());
    if let Some(entry) = tipped.filter(|entry| !lies_open(entry)) {
        let number = entry.bin.and_then(|bin| books.bins.get(&bin)).map_or(0, |bin| bin.number);
        return Err(PlaceRefusal::GoneOn { number }.into());
    }
    Ok(())
}

/// The bin that a tip came from holds nothing since: to void the tip alone would take the mass out of both.
pub(super) fn is_no_tip(books: &Books, id: EntryId, entry: &Entry) -> Result<(), Refusal> {
    if entry.origin != Origin::Tipped {
        return Ok(());
    }
    // It is the same event that began the next fill of the bin that was tipped.
    let from = books.fills.get(&FillId(id.0)).and_then(|fill| books.bins.get(&fill.bin)).map_or(0, |bin| bin.number);
    Err(PlaceRefusal::TippedOver { from }.into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::told::{keep, void, weigh};
    use crate::command::{PlaceOrder, places};
    use crate::facts::{BinChange, BinId, GradeId, LoadMoved, LoadWhy, RunLoad, RunSetOut, Set};
    use crate::measure::Mass;
    use jiff::civil::date;
    use proptest::prelude::*;

    /// Three bins of one grade.
    fn bench() -> (Books, [BinId; 3]) {
        let mut books = Books::default();
        keep(&mut books, Fact::StoreFounded { program: String::new() });
        let grade = Some(GradeId(keep(&mut books, Fact::GradeMade { name: "copper".into() })));
        let bins = [1, 2, 3].map(|number| {
            let tare = Some(Mass::grams(850));
            BinId(keep(&mut books, Fact::BinMade { number, name: None, grade, tare, capacity: None }))
        });
        (books, bins)
    }

    fn empty(books: &mut Books, bin: BinId) {
        let fill = books.bins[&bin].fill;
        keep(books, Fact::BinEmptied { bin, fill, reason: "swept".to_owned() });
    }

    fn tip(books: &mut Books, from: BinId, to: BinId) {
        let (from_fill, to_fill) = (books.bins[&from].fill, books.bins[&to].fill);
        let mass = books.fills[&from_fill].mass;
        keep(books, Fact::BinTipped { from, from_fill, to, to_fill, mass, reason: "full".to_owned() });
    }

    fn give_away(books: &mut Books, bin: BinId) {
        let fill = books.bins[&bin].fill;
        let (mass, why) = (-books.fills[&fill].mass, LoadWhy::GivenAway);
        let (ticket, line, weighed, reason) = (None, None, None, Some("a gift".to_owned()));
        keep(books, Fact::LoadMoved(Box::new(LoadMoved { why, bin, fill, mass, ticket, line, whole: true, weighed, reason })));
        empty(books, bin);
    }

    fn back(books: &mut Books, number: u32) -> Result<(), Refusal> {
        let order = PlaceOrder::TakeEmptyingBack { bin: BinRef(number), reason: "it was not".to_owned() };
        let Decision::Facts(facts) = places::decide(books, &order)? else { panic!("facts") };
        facts.into_iter().for_each(|fact| _ = keep(books, fact));
        Ok(())
    }

    proptest! {
        /// Whatever lands before and after, and whatever of it is voided afterwards: emptyings, tips and gifts that were taken
        /// back, the last one first, leave the bins as they are in books in which nothing of the kind ever was.
        #[test]
        fn as_if_nobody_had_emptied_it(
            before in proptest::collection::vec((0_usize..3, 1_i64..5000), 1..8),
            turns in proptest::collection::vec((0_usize..3, 0_usize..4, (0_usize..3, 1_i64..5000)), 1..6),
            voided in proptest::collection::vec(any::<bool>(), 16),
        ) {
            let (mut books, bins) = bench();
            let mut control = books.clone();
            let mut entries = Vec::new();
            let mut land = |books: &mut Books, control: &mut Books, (bin, grams): (usize, i64)| {
                entries.push((weigh(books, bins[bin], grams), weigh(control, bins[bin], grams)));
            };
            before.iter().for_each(|one| land(&mut books, &mut control, *one));
            for (bin, how, after) in &turns {
                match how {
                    0 => empty(&mut books, bins[*bin]),
                    1 => give_away(&mut books, bins[*bin]),
                    other => tip(&mut books, bins[*bin], bins[(bin + other - 1) % 3]),
                }
                land(&mut books, &mut control, *after);
            }
            for (bin, ..) in turns.iter().rev() {
                prop_assert_eq!(back(&mut books, *bin as u32 + 1), Ok(()));
            }
            for number in 1..=3 {
                prop_assert_eq!(back(&mut books, number), Err(PlaceRefusal::NeverEmptied { number }.into()));
            }
            let chosen = entries.iter().zip(&voided).filter(|(_, void)| **void);
            for ((entry, theirs), _) in chosen {
                void(&mut books, *entry);
                void(&mut control, *theirs);
            }
            for bin in bins {
                let known = |books: &Books| {
                    let state = &books.bins[&bin];
                    let fill = &books.fills[&state.fill];
                    let weighed = fill.weighed.values().copied().filter(|mass| !mass.is_zero()).count();
                    (state.fill, fill.mass, fill.variance, fill.drops, fill.heaviest, fill.not_worked, weighed, fill.closed)
                };
                prop_assert_eq!(known(&books), known(&control));
                let counting = |books: &Books| books.counting(books.bins[&bin].fill).count();
                prop_assert_eq!(counting(&books), counting(&control));
            }
            let loose = books.fills.values().filter(|fill| fill.closed.is_some()).map(|fill| fill.mass).sum::<Mass>();
            prop_assert_eq!(loose, Mass::ZERO);
        }
    }

    #[test]
    fn what_says_otherwise_goes_first() {
        let (mut books, [one, two, _]) = bench();
        weigh(&mut books, one, 500);
        tip(&mut books, one, two);
        empty(&mut books, two);
        assert_eq!(back(&mut books, 1), Err(PlaceRefusal::GoneOn { number: 2 }.into()));
        back(&mut books, 2).unwrap();
        back(&mut books, 1).unwrap();
        // Emptied by a run.
        let (fill, mass) = (books.bins[&one].fill, None);
        let loads = vec![RunLoad { bin: one, fill, whole: true, mass }];
        let (day, stops) = (date(2026, 3, 2), Vec::new());
        let out = RunSetOut { day, stops, loads, distance_km: None, span: None, cost: None };
        let run = keep(&mut books, Fact::RunSetOut(Box::new(out)));
        empty(&mut books, one);
        assert_eq!(back(&mut books, 1), Err(PlaceRefusal::WentWithRun { number: 1, run }.into()));
        // What came in since is of another grade, until it lies elsewhere.
        empty(&mut books, two);
        let change = BinChange { grade: Set::To(None), ..BinChange::default() };
        keep(&mut books, Fact::BinChanged { bin: two, change });
        let entry = weigh(&mut books, two, 40);
        assert_eq!(back(&mut books, 2), Err(PlaceRefusal::RegradedSince { number: 2 }.into()));
        let (fill, reason) = (books.bins[&one].fill, "brass".to_owned());
        keep(&mut books, Fact::DropsMoved { entries: vec![entry], bin: one, fill, reason });
        assert_eq!(back(&mut books, 2), Ok(()));
    }
}
