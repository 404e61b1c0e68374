//! What came into each bin on each of the last seven days, by the local day.

use super::{Lies, lies, local_day};
use crate::facts::books::{Part, Sum, SumKey};
use crate::facts::{BinId, Books};
use crate::measure::Mass;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

pub const DAYS: usize = 7;

#[derive(Debug, Clone)]
pub struct WeekQuestion {
    /// The last of the seven days.
    pub until: Date,
    pub zone: TimeZone,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Week {
    /// The books stand at this event.
    pub seq: u64,
    pub days: [Date; DAYS],
    /// By number; bins of which nothing changed are left out.
    pub bins: Vec<BinWeek>,
    /// What lies in bins and has no day, since no clock could be trusted when it came.
    pub undated: Mass,
}

/// What went in less what came out: corrected, and without opening stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BinWeek {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub days: [Mass; DAYS],
}

impl BinWeek {
    pub fn sum(&self) -> Mass {
        self.days.iter().copied().sum()
    }
}

impl Week {
    /// Of all bins.
    pub fn sums(&self) -> [Mass; DAYS] {
        std::array::from_fn(|day| self.bins.iter().map(|bin| bin.days[day]).sum())
    }
}

pub fn week(books: &Books, question: &WeekQuestion) -> Week {
    let before = |days: usize| question.until.saturating_sub(jiff::Span::new().days(days as i64));
    let days: [Date; DAYS] = std::array::from_fn(|index| before(DAYS - 1 - index));
    let mut bins: BTreeMap<BinId, [Mass; DAYS]> = BTreeMap::new();
    let mut undated = Mass::ZERO;
    let last_before = before(DAYS);
    let came = |(key, _): &(&SumKey, &Sum)| !matches!(key.part, Part::Opening | Part::Load);
    for (key, sum) in books.sums().filter(came) {
        let Some(bin) = key.bin else { continue };
        if key.day.is_none() {
            undated += sum.mass;
        } else if lies(key.day, last_before) != Lies::Before && lies(key.day, question.until) != Lies::After {
            for (_, entry) in books.entries_of(key, sum) {
                let day = local_day(&entry.at, &question.zone);
                if let Some(index) = days.iter().position(|shown| Some(*shown) == day) {
                    bins.entry(bin).or_insert([Mass::ZERO; DAYS])[index] += entry.mass;
                }
            }
        }
    }
    let line = |(id, days): (BinId, [Mass; DAYS])| {
        let bin = books.bins.get(&id).filter(|_| days.iter().any(|mass| !mass.is_zero()))?;
        let grade = books.fills.get(&bin.fill).and_then(|fill| books.grades.get(&fill.grade?));
        Some(BinWeek { number: bin.number, name: bin.name.clone(), grade: grade.map(|grade| grade.name.clone()), days })
    };
    let mut bins: Vec<BinWeek> = bins.into_iter().filter_map(line).collect();
    bins.sort_by_key(|bin| bin.number);
    Week { seq: books.seq, days, bins, undated }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::{BenchId, Event, Fact, FillId, SCHEMA, Source, StoreId};
    use crate::measure::{BootId, Moment};
    use jiff::civil::date;

    /// Hours from midnight of 2026-03-08 in Greenwich.
    fn books(drops: &[(i64, u64, i64, bool)]) -> Books {
        let midnight: jiff::Timestamp = "2026-03-08T00:00:00Z".parse().unwrap();
        let mut books = Books::default();
        let mut keep = |hour: i64, sure: bool, fact: Fact| {
            let (wall, seq) = (midnight + jiff::SignedDuration::from_hours(hour), books.seq + 1);
            let (store, boot, mono, bench) = (StoreId(1), BootId(1), Moment::default(), BenchId(1));
            books
                .apply(&Event { store, seq, schema: SCHEMA, boot, mono, wall, sure, bench, epoch: 0, cause: None, fact })
                .unwrap();
        };
        keep(-999, true, Fact::StoreFounded { program: String::new() });
        for number in [2, 1] {
            keep(-999, true, Fact::BinMade { number, name: None, grade: None, tare: None, capacity: None });
        }
        for (hour, bin, grams, sure) in drops {
            let (id, source) = (BinId(*bin), Source::Label { division: Mass::grams(1) });
            let (bin, fill, mass, reason) = (Some(id), Some(FillId(*bin)), Mass::grams(*grams), String::new());
            keep(*hour, *sure, Fact::WeightEntered { bin, fill, session: None, mass, source, reason });
        }
        books
    }

    #[test]
    fn each_drop_counts_on_its_local_day() {
        // Event 2 made bin 2, event 3 bin 1.
        let drops =
            [(1, 2, 100, true), (-1, 2, 20, true), (-2, 3, 5, true), (-24 * 7, 3, 7, true), (25, 3, 9, true), (3, 3, 11, false)];
        let asked = |zone| week(&books(&drops), &WeekQuestion { until: date(2026, 3, 8), zone });
        let utc = asked(TimeZone::UTC);
        assert_eq!((utc.days[0], utc.days[6]), (date(2026, 3, 2), date(2026, 3, 8)));
        let told: Vec<(u32, Mass, Mass)> = utc.bins.iter().map(|bin| (bin.number, bin.days[5], bin.days[6])).collect();
        assert_eq!(told, [(1, Mass::grams(5), Mass::ZERO), (2, Mass::grams(20), Mass::grams(100))]);
        assert_eq!(utc.undated, Mass::grams(11));
        assert_eq!(utc.sums().into_iter().sum::<Mass>(), utc.bins.iter().map(BinWeek::sum).sum());
        let west = asked(TimeZone::fixed(jiff::tz::offset(-5)));
        assert_eq!(west.sums()[5], Mass::grams(125), "it was still yesterday there");
        assert_eq!(west.sums()[6], Mass::grams(9), "and is still today");
    }
}
