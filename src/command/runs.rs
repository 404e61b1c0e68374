//! Taking a drive back that never was.

use super::Refusal;
use super::decide::{Decision, none_waits, said};
use super::ticket_order::TicketRefusal;
use crate::facts::{BackHome, Books, Fact, FillId, RunTakenBack};

/// While nothing of it is on a ticket, and each bin that went whole has gone nowhere since.
pub(super) fn take_back(books: &Books, run: u64, reason: &str) -> Result<Decision, Refusal> {
    let record = books.record(run).ok_or(TicketRefusal::UnknownRun { run })?;
    let Fact::RunSetOut(out) = &record.fact else { return Err(TicketRefusal::UnknownRun { run }.into()) };
    if books.voids.contains_key(&run) {
        return Err(TicketRefusal::RunGone { run }.into());
    }
    let whole = || out.loads.iter().filter(|load| load.whole);
    if let Some((ticket, _)) = books.tickets_of_run(run, out).next() {
        return Err(TicketRefusal::RunTicketed { run, ticket }.into());
    }
    let mut home = Vec::new();
    // The bins that go whole are emptied by the events right behind the run, in the order of the loads.
    for (load, since) in whole().zip((run + 1..).map(FillId)) {
        let bin = books.bins.get(&load.bin).filter(|bin| bin.fill == since);
        let number = books.bins.get(&load.bin).map_or(0, |bin| bin.number);
        bin.ok_or(TicketRefusal::EmptiedSince { number })?;
        none_waits(books, since)?;
        home.push(BackHome { bin: load.bin, fill: load.fill, since });
    }
    Ok(Decision::Facts(vec![Fact::RunTakenBack(RunTakenBack { run, home, reason: said(reason)? })]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::told::{keep, void, weigh};
    use crate::facts::{BinId, RunLoad, RunSetOut};
    use crate::measure::Mass;
    use jiff::civil::date;
    use proptest::prelude::*;

    fn set_out(books: &mut Books, bins: &[BinId]) -> u64 {
        let loads: Vec<RunLoad> =
            bins.iter().map(|bin| RunLoad { bin: *bin, fill: books.bins[bin].fill, whole: true, mass: None }).collect();
        let (day, stops) = (date(2026, 3, 2), Vec::new());
        let run = RunSetOut { day, stops, loads: loads.clone(), distance_km: None, span: None, cost: None };
        let run = keep(books, Fact::RunSetOut(Box::new(run)));
        for RunLoad { bin, fill, .. } in loads {
            keep(books, Fact::BinEmptied { bin, fill, reason: "on board".to_owned() });
        }
        run
    }

    fn bench() -> (Books, [BinId; 2]) {
        let mut books = Books::default();
        keep(&mut books, Fact::StoreFounded { program: String::new() });
        let mut bin = |number| {
            let tare = Some(Mass::grams(850));
            BinId(keep(&mut books, Fact::BinMade { number, name: None, grade: None, tare, capacity: None }))
        };
        let bins = [bin(1), bin(2)];
        (books, bins)
    }

    proptest! {
        /// Whatever lands before and after, and whatever of it is voided afterwards: a run that was taken back leaves the bins
        /// as they are in books in which nobody ever set out.
        #[test]
        fn as_if_nobody_had_set_out(
            before in proptest::collection::vec((0_usize..2, 1_i64..5000), 0..8),
            after in proptest::collection::vec((0_usize..2, 1_i64..5000), 0..8),
            voided in proptest::collection::vec(any::<bool>(), 16),
            both in any::<bool>(),
            twice in any::<bool>(),
        ) {
            let (mut books, bins) = bench();
            let mut control = books.clone();
            let mut entries = Vec::new();
            let mut land = |books: &mut Books, control: &mut Books, list: &[(usize, i64)]| {
                for (bin, grams) in list {
                    entries.push((weigh(books, bins[*bin], *grams), weigh(control, bins[*bin], *grams)));
                }
            };
            land(&mut books, &mut control, &before);
            let mut runs = vec![set_out(&mut books, if both { &bins } else { &bins[..1] })];
            land(&mut books, &mut control, &after);
            if twice {
                runs.push(set_out(&mut books, &bins[..1]));
                let refused = take_back(&books, runs[0], "no").err();
                prop_assert_eq!(refused, Some(TicketRefusal::EmptiedSince { number: 1 }.into()), "the last one first");
            }
            for (at, run) in runs.into_iter().rev().enumerate() {
                if at == 0 {
                    land(&mut books, &mut control, &after);
                }
                let Decision::Facts(facts) = take_back(&books, run, "the van would not start").unwrap() else { panic!("facts") };
                facts.into_iter().for_each(|fact| _ = keep(&mut books, fact));
                prop_assert_eq!(take_back(&books, run, "again").err(), Some(TicketRefusal::RunGone { run }.into()));
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
                    (state.fill, fill.mass, fill.variance, fill.drops, fill.heaviest, fill.entries.len(), fill.closed.is_some())
                };
                prop_assert_eq!(known(&books), known(&control));
            }
            prop_assert!(books.standing_records().next().is_none());
            let loose = books.fills.values().filter(|fill| fill.closed.is_some()).map(|fill| fill.mass).sum::<Mass>();
            prop_assert_eq!(loose, Mass::ZERO);
        }
    }
}
