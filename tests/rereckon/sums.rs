//! The books keep sums of what belongs together, so that no report goes through every drop: whatever was corrected, and
//! however the clock went, they and the reports that read them say what the drops themselves say, one by one.

use crate::events::Life;
use bismar::economy::weighed::Weighed;
use bismar::economy::yields::{FeedLot, yields};
use bismar::facts::books::{Entry, Origin, Work, chained, of_chains};
use bismar::facts::{BinId, Books, EntryId, Event, FeedId, GradeId, LotId, StoreId};
use bismar::measure::{BootId, Currency, Mass, Moment, Stamp, Variance};
use bismar::query::{HourQuestion, WeekQuestion, YardRunQuestion, hour, week, yard_run};
use jiff::civil::Date;
use jiff::tz::{TimeZone, offset};
use proptest::prelude::*;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// A bench at work whose wall clock is set back or forward by so many hours each few events: one to which anything may happen,
/// or a season in which pieces are dropped one on the other, so that they share readings.
fn lived(seed: u64, a_season: bool, jumps: &[i8]) -> Books {
    let events: Vec<Event> = match a_season {
        true => crate::laws::season(seed).0,
        false => Life::new(StoreId(5), Books::default(), seed).batches(900).into_iter().flatten().collect(),
    };
    let mut books = Books::default();
    let few = events.len() / 60 + 1;
    for event in events {
        let jump = jumps.get(event.seq as usize / few).copied().unwrap_or(0);
        let wall = event.wall + jiff::SignedDuration::from_hours(i64::from(jump));
        books.apply(&Event { wall, ..event }).unwrap();
    }
    books
}

fn by_then(entry: &Entry, day: Date, zone: &TimeZone) -> bool {
    !entry.at.trusted || zone.to_datetime(entry.at.wall).date() <= day
}

/// A lot and what came out of it by grade, drop by drop.
type Lots = BTreeMap<(FeedId, Option<String>), Vec<FeedLot>>;

fn lots_one_by_one(books: &Books, day: Date, zone: &TimeZone) -> Lots {
    let work = Work::of(books);
    let mut lots = Lots::new();
    for (id, lot) in &books.lots {
        let stamped = |at: &Stamp| !at.trusted || zone.to_datetime(at.wall).date() <= day;
        let Some(entry) = books.lot_entry(*id).filter(|entry| entry.counts() && by_then(entry, day, zone)) else { continue };
        let (Some(feed), Some(mass)) = (lot.feed, books.lot_mass(*id)) else { continue };
        let closed = lot.closed_by(|turn| stamped(&turn.at));
        let mut outputs: BTreeMap<GradeId, (Weighed, &Entry)> = BTreeMap::new();
        let ours = |id: &EntryId, entry: &Entry, lot: LotId| work.lot_of(*id, entry) == Some(lot);
        for (drop, entry) in books.entries.iter().filter(|(_, entry)| entry.counts() && entry.is_drop()) {
            if !ours(drop, entry, *id) || !by_then(entry, day, zone) || closed.is_some_and(|closed| drop.0 > closed.seq) {
                continue;
            }
            let grade = entry.fill.and_then(|fill| books.fills[&fill].grade).unwrap_or(GradeId(0));
            let (sum, last) = outputs.entry(grade).or_insert((Weighed::NOTHING, entry));
            let shared = sum.mass != Mass::ZERO && chained(last, entry);
            sum.mass += entry.mass;
            sum.variance = sum.variance.plus(if shared { Variance::ZERO } else { entry.variance });
            *last = entry;
        }
        let outputs = outputs.into_iter().map(|(grade, (sum, _))| (grade, sum)).collect();
        let intake = Weighed { mass, variance: entry.variance };
        let row = lots.entry((feed, lot.depth.clone())).or_default();
        row.push(FeedLot { closed: closed.is_some(), intake, outputs });
    }
    lots
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sums_are_what_their_entries_are(seed in any::<u64>(), a_season in any::<bool>(), jumps in proptest::collection::vec(-60_i8..60, 0..60)) {
        let books = lived(seed, a_season, &jumps);
        let mut counted = 0;
        let mut of_fill: BTreeMap<_, Variance> = BTreeMap::new();
        for (key, sum) in books.sums() {
            let entries: Vec<(EntryId, &Entry)> = books.entries_of(key, sum).collect();
            prop_assert_eq!((entries.len(), entries[0].0, entries[entries.len() - 1].0), (sum.entries, sum.first, sum.last));
            prop_assert_eq!(entries.iter().map(|(_, entry)| entry.mass).sum::<Mass>(), sum.mass);
            prop_assert_eq!(of_chains(entries.iter().map(|(_, entry)| *entry)), sum.alone);
            let known = of_fill.entry(key.fill).or_default();
            *known = known.plus(sum.in_fill);
            counted += sum.entries;
        }
        prop_assert_eq!(counted, books.entries.values().filter(|entry| entry.counts()).count());
        for (id, fill) in &books.fills {
            prop_assert_eq!(fill.variance, of_chains(books.counting(*id).map(|(_, entry)| entry)));
            prop_assert_eq!(fill.variance, of_fill.get(&Some(*id)).copied().unwrap_or_default());
        }
    }

    #[test]
    fn reports_say_what_the_drops_say(
        seed in any::<u64>(),
        a_season in any::<bool>(),
        jumps in proptest::collection::vec(-60_i8..60, 0..60),
        hours in -12_i8..=14,
        which in any::<prop::sample::Index>(),
    ) {
        let books = lived(seed, a_season, &jumps);
        let zone = TimeZone::fixed(offset(hours));
        let days: Vec<Date> = books.entries.values().map(|entry| zone.to_datetime(entry.at.wall).date()).collect();
        prop_assume!(!days.is_empty());
        let day = days[which.index(days.len())];

        let drive = YardRunQuestion { today: day, as_of: Some(day), zone: zone.clone(), stale_after: 14 };
        for row in yard_run(&books, &drive).rows {
            let there: Vec<&Entry> =
                books.counting(row.fill).map(|(_, entry)| entry).filter(|entry| by_then(entry, day, &zone)).collect();
            prop_assert_eq!(row.mass, there.iter().map(|entry| entry.mass).sum::<Mass>());
            prop_assert_eq!(row.drops, there.iter().filter(|entry| entry.is_drop()).count());
            prop_assert_eq!(row.variance, of_chains(there.iter().copied()));
        }

        let answer = week(&books, &WeekQuestion { until: day, zone: zone.clone() });
        let mut undated = Mass::ZERO;
        let mut by_bin: BTreeMap<BinId, Vec<Mass>> = BTreeMap::new();
        let came = |entry: &&Entry| entry.counts() && !matches!(entry.origin, Origin::Opening | Origin::Load(_));
        for entry in books.entries.values().filter(came) {
            let Some(bin) = entry.bin else { continue };
            if !entry.at.trusted {
                undated += entry.mass;
            } else if let Some(at) = answer.days.iter().position(|day| *day == zone.to_datetime(entry.at.wall).date()) {
                by_bin.entry(bin).or_insert_with(|| vec![Mass::ZERO; 7])[at] += entry.mass;
            }
        }
        let mut rows: Vec<(u32, Vec<Mass>)> = by_bin.into_iter().map(|(bin, days)| (books.bins[&bin].number, days)).collect();
        rows.retain(|(_, days)| days.iter().any(|mass| !mass.is_zero()));
        rows.sort_unstable();
        prop_assert_eq!(answer.undated, undated);
        prop_assert_eq!(answer.bins.iter().map(|bin| (bin.number, bin.days.to_vec())).collect::<Vec<_>>(), rows);

        let now = Stamp { boot: BootId(1), mono: Moment(0), wall: "2027-01-01T00:00:00Z".parse().unwrap(), trusted: true };
        let currency = Currency::parse("EUR").unwrap();
        let (as_of, floor) = (Some(day), Some(Decimal::TEN));
        let worth =
            HourQuestion { now, today: day, as_of, zone: zone.clone(), stale_after: 14, currency, buyer: None, left: true, floor };
        let lots = lots_one_by_one(&books, day, &zone);
        for feed in hour(&books, &worth).feeds {
            let known = lots.get(&(feed.feed, feed.depth.clone())).map(Vec::as_slice).unwrap_or_default();
            prop_assert_eq!(feed.yields, yields(known));
        }
    }
}
