//! What holds of the reports whatever happened: a fact and its void are nothing, folding in pieces is folding, rows add up to
//! their total, and the unit in which something was told changes no answer.

#[path = "taken_back.rs"]
mod taken_back;

use self::taken_back::{WAYS, told_and_taken_back};
use crate::season::made;
use bismar::economy::marks::Today;
use bismar::facts::{BenchId, BinId, Books, EntryId, Event, Fact, FillId, GradeId, Mark, SCHEMA, StoreId};
use bismar::measure::{BootId, Currency, Displayed, Mass, Moment, Price, PriceUnit, Stamp, Unit};
use bismar::query::{
    CheckQuestion, CheckRule, HourQuestion, KerbQuestion, PlacesQuestion, WeekQuestion, WireQuestion, YardRunQuestion,
    YearQuestion, arrivals, bins, checks, hour, kerb, places, riddles, spendings, times, week, wire, yard_run, year,
};
use bismar::settle::Rest;
use jiff::civil::{Date, date};
use jiff::tz::TimeZone;
use proptest::prelude::*;
use rust_decimal::Decimal;

const STORE: StoreId = StoreId(3);
const TODAY: Date = date(2026, 3, 15);

fn now() -> Stamp {
    Stamp { boot: BootId(9), mono: Moment(u64::MAX / 2), wall: "2026-03-15T12:00:00Z".parse().unwrap(), trusted: true }
}

/// The events of a season, and the books after it.
pub fn season(seed: u64) -> (Vec<Event>, Books) {
    let mut books = Books::default();
    let founded = event(&books, Fact::StoreFounded { program: "laws".to_owned() });
    books.apply(&founded).unwrap();
    let (mut events, books) = made(seed, STORE, books);
    events.insert(0, founded);
    (events, books)
}

fn event(books: &Books, fact: Fact) -> Event {
    let wall = "2026-03-14T09:00:00Z".parse::<jiff::Timestamp>().unwrap();
    let (seq, epoch) = (books.seq + 1, books.last_epoch());
    let mono = Moment(u64::MAX / 4 + seq * 1_000_000_000);
    Event {
        store: STORE,
        seq,
        schema: SCHEMA,
        boot: BootId(9),
        mono,
        wall,
        sure: true,
        bench: BenchId(1),
        epoch,
        cause: None,
        fact,
    }
}

fn keep(books: &mut Books, fact: Fact) -> u64 {
    let event = event(books, fact);
    books.apply(&event).unwrap_or_else(|misfit| panic!("{event:?}: {misfit}"));
    books.seq
}

fn drive(as_of: Option<Date>) -> YardRunQuestion {
    YardRunQuestion { today: TODAY, as_of, zone: TimeZone::UTC, stale_after: 14 }
}

fn worth(as_of: Option<Date>) -> HourQuestion {
    let currency = Currency::parse("EUR").unwrap();
    let (zone, floor) = (TimeZone::UTC, Some(Decimal::new(450, 2)));
    HourQuestion { now: now(), today: TODAY, as_of, zone, stale_after: 14, currency, buyer: None, left: true, floor }
}

fn euro() -> Currency {
    Currency::parse("EUR").unwrap()
}

const ANY: Today = Today { strain: Mark::Much, mess: Mark::Much, space: Mark::Much };

/// Each grade goes in with the one that was made before it.
fn ranked(books: &Books) -> PlacesQuestion {
    let grades: Vec<GradeId> = books.grades.keys().copied().collect();
    let coarser = grades.windows(2).map(|pair| (pair[1], pair[0])).collect();
    let (zone, floor) = (TimeZone::UTC, Some(Decimal::ONE));
    PlacesQuestion { day: TODAY, zone, stale_after: 14, currency: euro(), buyer: None, floor, places: Some(3), coarser }
}

/// Everything that any report says, without the number of the event that it stands on.
fn said(books: &Books) -> Vec<(&'static str, String)> {
    let mut said = Vec::new();
    for as_of in [None, Some(date(2026, 2, 10))] {
        let mut run = yard_run(books, &drive(as_of));
        run.seq = 0;
        said.push(("yard run", format!("{run:#?}")));
        let mut pay = hour(books, &worth(as_of));
        pay.seq = 0;
        said.push(("hour", format!("{pay:#?}")));
    }
    let mut days = week(books, &WeekQuestion { until: date(2026, 3, 14), zone: TimeZone::UTC });
    days.seq = 0;
    said.push(("week", format!("{days:#?}")));
    let mut order = kerb(books, &KerbQuestion { hour: worth(None), floor: None, today: ANY });
    order.seq = 0;
    said.push(("kerb", format!("{order:#?}")));
    let mut ranking = places(books, &ranked(books));
    ranking.seq = 0;
    said.push(("places", format!("{ranking:#?}")));
    let asked = YearQuestion { year: 2026, today: TODAY, zone: TimeZone::UTC, stale_after: 14 };
    let mut of_year = year(books, &asked);
    of_year.seq = 0;
    said.push(("year", format!("{of_year:#?}")));
    let asked =
        WireQuestion { day: TODAY, stale_after: 14, currency: euro(), buyer: None, floor: None, disposal: None, left: true };
    let mut stripped = wire(books, &asked);
    stripped.seq = 0;
    // The lists show what was taken back, marked as such.
    stripped.samples.retain(|line| !line.voided);
    said.push(("wire", format!("{stripped:#?}")));
    said.push(("riddles", format!("{:#?}", riddles(books))));
    let rule = CheckRule { every_days: 7, held: None };
    said.push(("checks", format!("{:#?}", checks(books, &CheckQuestion { now: now(), zone: TimeZone::UTC, rule }))));
    let came: Vec<_> = arrivals(books).into_iter().filter(|line| !line.voided).collect();
    let spent: Vec<_> = spendings(books).into_iter().filter(|line| !line.voided).collect();
    let took: Vec<_> = times(books).into_iter().filter(|line| !line.voided).collect();
    said.push(("records", format!("{:#?}", (came, spent, took))));
    said.push(("bins", format!("{:#?}", bins(books))));
    said
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_was_taken_back_was_nothing(seed in 0_u64..200, grams in 1_i64..5000) {
        let (_, as_it_was) = season(seed);
        let before = said(&as_it_was);
        for which in 0..WAYS {
            let mut books = as_it_was.clone();
            let what = told_and_taken_back(which, &mut books, grams);
            // A lot that is closed again is worked off later: what came between would be its own, and so the pay tells the day.
            let ours = |name: &str| !(what == Some("a lot opened again") && ["hour", "kerb"].contains(&name));
            for ((name, before), (_, after)) in before.iter().zip(&said(&books)).filter(|((name, _), _)| ours(name)) {
                prop_assert!(before == after, "{what:?} in {name}:\n{}", differing(before, after));
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// A drop that is moved away and back is where it was, chained to its neighbours as before.
    #[test]
    fn moved_away_and_back_is_nothing(seed in 0_u64..200, which in any::<prop::sample::Index>()) {
        let (_, mut books) = season(seed);
        let in_bins: Vec<(EntryId, BinId, FillId)> = books
            .entries
            .iter()
            .filter(|(_, entry)| entry.counts() && entry.is_drop())
            .filter_map(|(id, entry)| Some((*id, entry.bin?, entry.fill?)))
            .collect();
        let (entry, bin, fill) = in_bins[which.index(in_bins.len())];
        let (other, elsewhere) = books.bins.iter().map(|(id, bin)| (*id, bin.fill)).find(|(id, _)| *id != bin).unwrap();
        let before = said(&books);
        for (bin, fill) in [(other, elsewhere), (bin, fill)] {
            keep(&mut books, Fact::DropsMoved { entries: vec![entry], bin, fill, reason: "so".to_owned() });
        }
        for ((name, before), (_, after)) in before.iter().zip(&said(&books)) {
            prop_assert!(before == after, "{name}:\n{}", differing(before, after));
        }
    }

    /// Whoever folds goes on from a copy, from the text of the events or from the beginning: the books are the same.
    #[test]
    fn folding_in_pieces_is_folding(seed in 0_u64..200, cuts in proptest::collection::vec(any::<prop::sample::Index>(), 0..5)) {
        let (events, whole) = season(seed);
        let mut cuts: Vec<usize> = cuts.iter().map(|cut| cut.index(events.len())).collect();
        cuts.extend([0, events.len()]);
        cuts.sort_unstable();
        let mut books = Books::default();
        for piece in cuts.windows(2) {
            let mut next = books.clone();
            for event in &events[piece[0]..piece[1]] {
                let text = serde_json::to_string(&event.fact).unwrap();
                let fact: Fact = serde_json::from_str(&text).unwrap();
                prop_assert_eq!(&fact, &event.fact);
                next.apply(&Event { fact, ..event.clone() }).unwrap();
            }
            books = next;
        }
        prop_assert!(books == whole);
    }

    #[test]
    fn rows_add_up_to_their_total(seed in 0_u64..400, past in any::<bool>()) {
        let (_, books) = season(seed);
        let as_of = past.then_some(date(2026, 2, 10));
        let run = yard_run(&books, &drive(as_of));
        prop_assert_eq!(run.rows.iter().map(|row| row.mass).sum::<Mass>(), run.mass);
        for (column, total) in run.totals.iter().enumerate() {
            let values = run.rows.iter().filter_map(|row| row.offers[column].as_ref()?.value);
            prop_assert_eq!(values.map(|value| value.amount).sum::<Decimal>(), total.value.amount);
            let paid = |row: &&bismar::query::Row| row.offers[column].as_ref().is_some_and(|offer| offer.value.is_some());
            let (paid, left): (Vec<_>, Vec<_>) = run.rows.iter().partition(paid);
            prop_assert_eq!(left.iter().map(|row| row.mass).sum::<Mass>(), total.left_out);
            prop_assert_eq!(paid.len() + left.len(), run.rows.len());
        }
        let counted = |wanted: &dyn Fn(&bismar::facts::books::Entry) -> bool| -> Mass {
            books.entries.values().filter(|entry| entry.counts() && wanted(entry)).map(|entry| entry.mass).sum()
        };
        for (id, fill) in &books.fills {
            prop_assert_eq!(fill.mass, counted(&|entry| entry.fill == Some(*id)));
            let unworked = counted(&|entry| entry.fill == Some(*id) && !entry.origin.is_worked());
            prop_assert_eq!(fill.not_worked, unworked);
            let shown: Mass = fill.weighed.values().copied().sum();
            prop_assert_eq!(shown, counted(&|entry| entry.fill == Some(*id) && entry.weighed_on().is_some()));
        }
        let loose: Vec<EntryId> = books
            .entries
            .iter()
            .filter(|(_, entry)| entry.counts() && entry.is_drop() && entry.bin.is_none())
            .map(|(id, _)| *id)
            .collect();
        prop_assert_eq!(loose, books.loose.iter().copied().collect::<Vec<_>>());
        let pay = hour(&books, &worth(as_of));
        for feed in &pay.feeds {
            let values = feed.grades.iter().filter_map(|grade| grade.value).map(|value| value.amount).sum::<Decimal>();
            if let Ok(added) = &feed.pay {
                prop_assert_eq!(values, added.sums.outputs - feed.charges, "{}", feed.name);
            }
        }
        let days = week(&books, &WeekQuestion { until: date(2026, 3, 1), zone: TimeZone::UTC });
        let rows: Mass = days.bins.iter().map(|bin| bin.sum()).sum();
        prop_assert_eq!(days.sums().iter().copied().sum::<Mass>(), rows);
    }

    /// The same prices per other units, and the same weights shown in kilograms instead of grams.
    #[test]
    fn the_unit_of_what_was_told_changes_no_answer(seed in 0_u64..200) {
        let (events, books) = season(seed);
        let mut other = Books::default();
        for event in &events {
            other.apply(&Event { fact: in_other_units(&event.fact), ..event.clone() }).unwrap();
        }
        for as_of in [None, Some(date(2026, 2, 10))] {
            let (ours, theirs) = (yard_run(&books, &drive(as_of)), yard_run(&other, &drive(as_of)));
            prop_assert_eq!((ours.mass, ours.variance, &ours.totals), (theirs.mass, theirs.variance, &theirs.totals));
            let values = |run: &bismar::query::YardRun| -> Vec<_> {
                run.rows.iter().flat_map(|row| &row.offers).map(|offer| offer.as_ref().map(|offer| offer.value)).collect()
            };
            prop_assert_eq!(values(&ours), values(&theirs));
            let (ours, theirs) = (hour(&books, &worth(as_of)), hour(&other, &worth(as_of)));
            prop_assert_eq!(ours.feeds.len(), theirs.feeds.len());
            for (ours, theirs) in ours.feeds.iter().zip(&theirs.feeds) {
                prop_assert_eq!((&ours.name, &ours.pay, &ours.yields), (&theirs.name, &theirs.pay, &theirs.yields));
                prop_assert_eq!(&ours.time, &theirs.time);
            }
            prop_assert_eq!(ours.job.answer, theirs.job.answer);
        }
        let days = WeekQuestion { until: date(2026, 3, 1), zone: TimeZone::UTC };
        prop_assert_eq!(week(&books, &days), week(&other, &days));
        prop_assert_eq!(places(&books, &ranked(&books)), places(&other, &ranked(&other)));
        let order = |books| kerb(books, &KerbQuestion { hour: worth(None), floor: None, today: ANY });
        prop_assert_eq!(order(&books), order(&other));
    }
}

/// Exactly: a tonne is a thousand kilograms, a short ton two thousand pounds, a gross ton 2240 (NIST Handbook 44, appendix C).
fn in_other_units(fact: &Fact) -> Fact {
    let kilograms = |rest: &Rest| Rest {
        shown: Displayed { exponent: rest.shown.exponent - 3, ..rest.shown },
        unit: Unit::Kilogram,
        ..*rest
    };
    match fact.clone() {
        Fact::QuoteGiven { buyer, grade, price, day, stale_after, breaks, minimum, deduction } => {
            let (per, times) = match price.per {
                PriceUnit::Kilogram => (PriceUnit::Tonne, 1000),
                PriceUnit::Pound => (PriceUnit::ShortTon, 2000),
                PriceUnit::ShortHundredweight => (PriceUnit::ShortTon, 20),
                other => (other, 1),
            };
            let more = |amount: Decimal| amount * Decimal::from(times);
            let price = Price { amount: more(price.amount), per, ..price };
            let breaks = breaks.into_iter().map(|step| bismar::facts::Break { amount: more(step.amount), ..step }).collect();
            Fact::QuoteGiven { buyer, grade, price, day, stale_after, breaks, minimum, deduction }
        }
        Fact::EpochOpened { cause, display, division, scale, .. } => {
            Fact::EpochOpened { cause, unit: Unit::Kilogram, display, division, scale }
        }
        Fact::Stepped { act, delta, landed, from, to } => {
            Fact::Stepped { act, delta, landed, from: kilograms(&from), to: kilograms(&to) }
        }
        other => other,
    }
}

/// The lines that are not the same.
fn differing(before: &str, after: &str) -> String {
    let pairs = before.lines().zip(after.lines()).filter(|(before, after)| before != after).take(12);
    pairs.map(|(before, after)| format!("- {}\n+ {}\n", before.trim(), after.trim())).collect()
}
