//! The round through the stock: what the books hold in each bin beside what was seen there last.

use super::{days_between, local_day};
use crate::facts::books::Look;
use crate::facts::{BinId, Books};
use crate::measure::Mass;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// Days after which a bin should be looked into again.
pub const ROUND_DAYS: i64 = 7;

#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    /// Bins in use, by their number.
    pub lines: Vec<RoundLine>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct RoundLine {
    pub bin: BinId,
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub booked: Mass,
    /// The last look into it, of whatever fill.
    pub look: Option<Look>,
    /// Days since then, or else since its fill began; none where no clock could be trusted.
    pub days: Option<i64>,
    /// It holds something, and nobody has looked for a week.
    pub due: bool,
    /// What was seen waits for an answer.
    pub open: bool,
    /// Somebody tapped that it is full.
    pub full: bool,
}

impl Round {
    /// The bins that are due.
    pub fn due(&self) -> Vec<u32> {
        self.lines.iter().filter(|line| line.due).map(|line| line.number).collect()
    }
}

pub fn round(books: &Books, today: Date, zone: &TimeZone) -> Round {
    let mut lines: Vec<RoundLine> = books
        .bins
        .iter()
        .filter(|(_, bin)| !bin.retired)
        .filter_map(|(id, bin)| {
            let fill = books.fills.get(&bin.fill)?;
            let look = books.looks.get(id).copied();
            // A fill that began after the look is as new as a look.
            let seen = look.filter(|look| look.fill == bin.fill || look.seq > bin.fill.0).map_or(fill.opened, |look| look.at);
            let days = local_day(&seen, zone).map(|day| days_between(day, today));
            Some(RoundLine {
                bin: *id,
                number: bin.number,
                name: bin.name.clone(),
                grade: fill.grade.and_then(|grade| books.grades.get(&grade)).map(|grade| grade.name.clone()),
                booked: fill.mass,
                look,
                days,
                due: fill.mass > Mass::ZERO && days.is_some_and(|days| days >= ROUND_DAYS),
                open: books.open_look(*id).is_some(),
                full: books.full_tap(bin.fill).is_some(),
            })
        })
        .collect();
    lines.sort_by_key(|line| line.number);
    Round { seq: books.seq, day: today, lines }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::{BenchId, Event, Fact, FillId, SCHEMA, Seen, Source, StockFollowed, StockSeen, StoreId};
    use crate::measure::{BootId, Moment};
    use jiff::civil::date;

    fn keep(books: &mut Books, day: i64, sure: bool, fact: Fact) -> u64 {
        let noon: jiff::Timestamp = "2026-03-01T12:00:00Z".parse().unwrap();
        let (wall, seq) = (noon + jiff::SignedDuration::from_hours(24 * day), books.seq + 1);
        let (store, boot, mono, bench) = (StoreId(1), BootId(1), Moment::default(), BenchId(1));
        books.apply(&Event { store, seq, schema: SCHEMA, boot, mono, wall, sure, bench, epoch: 0, cause: None, fact }).unwrap();
        seq
    }

    /// Bin 1 (event 2) with 8 kg in it, from the first of March.
    fn stocked(sure: bool) -> Books {
        let mut books = Books::default();
        keep(&mut books, 0, sure, Fact::StoreFounded { program: String::new() });
        keep(&mut books, 0, sure, Fact::BinMade { number: 1, name: None, grade: None, tare: None, capacity: None });
        let (bin, fill) = (Some(BinId(2)), Some(FillId(2)));
        let (mass, source) = (Mass::grams(8000), Source::Label { division: Mass::grams(1) });
        keep(&mut books, 0, sure, Fact::WeightEntered { bin, fill, session: None, mass, source, reason: String::new() });
        books
    }

    fn due(books: &Books, day: i8) -> Vec<u32> {
        round(books, date(2026, 3, day), &TimeZone::UTC).due()
    }

    fn look(books: &mut Books, day: i64, seen: Seen) -> u64 {
        let (bin, fill, booked) = (BinId(2), FillId(2), Mass::grams(8000));
        keep(books, day, true, Fact::StockSeen(StockSeen { bin, fill, booked, seen }))
    }

    #[test]
    fn a_bin_is_due_when_nobody_looked_for_a_week() {
        let mut books = stocked(true);
        assert_eq!((due(&books, 7), due(&books, 8)), (vec![], vec![1]), "the seventh day after the first");
        look(&mut books, 6, Seen::Right);
        assert_eq!((due(&books, 13), due(&books, 14)), (vec![], vec![1]), "the look was on the seventh");
        assert_eq!(due(&stocked(false), 28), Vec::<u32>::new(), "a clock that cannot be trusted reminds of nothing");
        keep(&mut books, 20, true, Fact::BinEmptied { bin: BinId(2), fill: FillId(2), reason: String::new() });
        assert_eq!(due(&books, 30), Vec::<u32>::new(), "nothing is in it");
    }

    #[test]
    fn what_was_seen_waits_until_it_is_answered_or_the_bin_is_another() {
        let mut books = stocked(true);
        let at = look(&mut books, 1, Seen::Quarter);
        assert!(books.open_look(BinId(2)).is_some_and(|look| look.seq == at));
        let (gone, low, high) = Seen::Quarter.gone(Mass::grams(8000)).unwrap();
        assert_eq!((gone, low, high), (Mass::grams(6000), Mass::grams(5000), Mass::grams(7000)));
        let (bin, fill) = (BinId(2), FillId(2));
        let entry = keep(&mut books, 2, true, Fact::StockFollowed(StockFollowed { look: at, bin, fill, gone, low, high }));
        assert_eq!(books.open_look(bin), None);
        let held = books.fills.get(&fill).unwrap();
        assert_eq!(held.mass, Mass::grams(2000));
        // A rectangle of ±1 kg: 1000/√3 g (JCGM 100:2008, 4.3.7), beside the 1/√6 g of the weight from the label.
        assert_eq!(
            held.variance.expanded(1),
            crate::measure::Variance::of_half_width(Mass::grams(1000))
                .plus(crate::measure::Variance::of_difference(Mass::grams(1)))
                .expanded(1)
        );
        let void = Fact::DropVoided {
            entry: crate::facts::EntryId(entry),
            which: crate::facts::Void::NeverMaterial,
            reason: String::new(),
        };
        keep(&mut books, 2, true, void);
        assert_eq!(books.fills.get(&fill).unwrap().mass, Mass::grams(8000), "a void gives it back");
        look(&mut books, 3, Seen::Half);
        look(&mut books, 3, Seen::Right);
        assert_eq!(books.open_look(bin), None, "the last look counts");
        look(&mut books, 4, Seen::Emptied);
        keep(&mut books, 4, true, Fact::BinEmptied { bin, fill, reason: String::new() });
        assert_eq!(books.open_look(bin), None, "another fill stands there");
    }
}
