//! Which grades earn a place at the bench: what collects of each, what keeping it apart brings, and how fast its bin fills.

use super::market::Market;
use super::{Lies, days_between, lies, local_day};
use crate::economy::place::{Candidate, Judged, PerKilogram, places as judge};
use crate::facts::books::{Entry, Fill, Origin, Part, SumKey};
use crate::facts::{Books, BuyerId, Fact, FillId, GradeId};
use crate::measure::{Currency, Mass, Money, Span, Stamp};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// What collects in a month is told over at most so many days, thirteen weeks.
pub const LOOKED_BACK: i64 = 91;
/// And over no less than four weeks.
pub const LEAST_DAYS: i64 = 28;

/// Days in a month, a twelfth of 365.25, in ten thousandths.
const MONTH: i128 = 304_375;
const TEN_THOUSAND: i128 = 10_000;

#[derive(Debug, Clone)]
pub struct PlacesQuestion {
    /// The report as of the end of this day.
    pub day: Date,
    pub zone: TimeZone,
    pub stale_after: u16,
    /// Taken where any quote is in it.
    pub currency: Currency,
    /// The prices of this buyer alone.
    pub buyer: Option<BuyerId>,
    /// What an hour must bring, and the places of the bench, where they are asked anew.
    pub floor: Option<Decimal>,
    pub places: Option<u32>,
    /// Which coarser grade a grade can go in with; of any other grade it is what the owner told of it.
    pub coarser: BTreeMap<GradeId, GradeId>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct PlacesReport {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    pub currency: Currency,
    /// None where nobody has said.
    pub floor: Option<Decimal>,
    pub places: Option<u32>,
    /// Places of the grades that others go in with: those stand there anyway.
    pub reserved: u32,
    /// In their order: those that earn by their rank, then those that do not, then those of which it cannot be told.
    pub lines: Vec<PlaceLine>,
    /// Grades that others go in with, and that go in with none.
    pub coarse: Vec<PlaceLine>,
    /// What collected without a clock that could be trusted: in no figure.
    pub undated: Mass,
    /// Taps on bins of these grades that held nothing by the books: nothing is learned from them.
    pub empty_taps: usize,
}

/// One grade.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceLine {
    pub grade: GradeId,
    pub name: String,
    /// The coarser grade that it can go in with.
    pub coarser: Option<String>,
    /// It is what the owner told of the grade, since nothing else was asked.
    pub coarser_told: bool,
    /// Bins in use, by their numbers.
    pub bins: Vec<u32>,
    /// Places that it takes.
    pub places: u32,
    /// Over so many days so much collected.
    pub days: i64,
    pub collected: Mass,
    pub month: Option<Mass>,
    pub buyer: Option<String>,
    pub own: Option<Decimal>,
    pub coarser_price: Option<Decimal>,
    pub stale: bool,
    /// What one trip brings is under the smallest lot of everybody who would pay for it by itself.
    pub under_minimum: bool,
    /// A month, as told.
    pub sorting: Option<Span>,
    pub full_bin: Option<Mass>,
    /// From taps; else it is what was said that the bin takes.
    pub full_learned: bool,
    pub judged: Judged,
}

/// What is known of a grade before it is judged.
struct Known {
    bins: Vec<u32>,
    days: i64,
    collected: Mass,
    month: Option<Mass>,
    full_bin: Option<Mass>,
    full_learned: bool,
    days_to_full: Vec<u32>,
    empty_taps: usize,
}

impl Known {
    /// What one trip brings: a full bin, or else what collects in a month.
    fn trip(&self) -> Option<Mass> {
        self.full_bin.or(self.month)
    }
}

/// What a grade and its coarser one bring at one buyer.
struct Pair {
    own: Option<PerKilogram>,
    coarser: Option<PerKilogram>,
    under_minimum: bool,
}

pub fn places(books: &Books, question: &PlacesQuestion) -> PlacesReport {
    let market = Market::of(books, question.day, question.currency, question.stale_after, question.buyer);
    let currency = market.currency;
    let told = books.limits.floor.filter(|floor| floor.currency == currency).map(|floor| floor.amount);
    let floor = question.floor.or(told);
    let bench = question.places.or(books.limits.places);
    let (collected, undated) = collected(books, question);
    let in_use: Vec<GradeId> = books.grades.iter().filter(|(_, grade)| !grade.retired).map(|(id, _)| *id).collect();
    let known: BTreeMap<GradeId, Known> =
        in_use.iter().map(|grade| (*grade, known(books, question, *grade, collected.get(grade)))).collect();
    let coarser = |grade: GradeId| {
        let asked_or_told = question.coarser.get(&grade).copied().or_else(|| books.fallback(grade));
        asked_or_told.filter(|other| known.contains_key(other) && *other != grade)
    };
    let taken_in: BTreeSet<GradeId> = in_use.iter().filter_map(|grade| coarser(*grade)).collect();
    let (coarse, finer): (Vec<GradeId>, Vec<GradeId>) =
        in_use.iter().partition(|grade| coarser(**grade).is_none() && taken_in.contains(grade));
    let pairs: BTreeMap<GradeId, Pair> =
        in_use.iter().map(|grade| (*grade, pair(&market, &known, *grade, coarser(*grade)))).collect();
    let candidate = |grade: &GradeId| {
        let (known, pair) = (&known[grade], &pairs[grade]);
        Candidate {
            grade: *grade,
            coarser: coarser(*grade),
            month: known.month,
            own: pair.own,
            fallback: pair.coarser,
            extra_sorting: books.sorting.get(grade).copied(),
            places: taken(known),
            full_bin: known.full_bin,
            days_to_full: known.days_to_full.clone(),
        }
    };
    let reserved = coarse.iter().map(|grade| taken(&known[grade])).fold(0, u32::saturating_add);
    let money = floor.map(|amount| Money { amount, currency });
    let left = bench.map(|places| places.saturating_sub(reserved));
    let judged = judge(&finer.iter().map(candidate).collect::<Vec<_>>(), money, left);
    let alone = judge(&coarse.iter().map(candidate).collect::<Vec<_>>(), money, None);
    let line = |judged: Judged| {
        let (grade, name) = (judged.grade, |grade: GradeId| books.grades.get(&grade).map(|grade| grade.name.clone()));
        let (known, pair) = (&known[&grade], &pairs[&grade]);
        let stale = |grade: GradeId, price: Option<PerKilogram>| price.is_some_and(|price| market.is_stale(grade, price.buyer));
        PlaceLine {
            grade,
            name: name(grade).unwrap_or_default(),
            coarser: coarser(grade).and_then(name),
            coarser_told: coarser(grade).is_some() && !question.coarser.contains_key(&grade),
            bins: known.bins.clone(),
            places: taken(known),
            days: known.days,
            collected: known.collected,
            month: known.month,
            buyer: pair.own.or(pair.coarser).map(|price| market.buyer_name(price.buyer)),
            own: pair.own.map(|price| price.price.amount),
            coarser_price: pair.coarser.map(|price| price.price.amount),
            stale: stale(grade, pair.own) || coarser(grade).is_some_and(|other| stale(other, pair.coarser)),
            under_minimum: pair.under_minimum,
            sorting: books.sorting.get(&grade).copied(),
            full_bin: known.full_bin,
            full_learned: known.full_learned,
            judged,
        }
    };
    PlacesReport {
        seq: books.seq,
        day: question.day,
        currency,
        floor,
        places: bench,
        reserved,
        lines: judged.into_iter().map(line).collect(),
        coarse: alone.into_iter().map(line).collect(),
        undated,
        empty_taps: known.values().map(|known| known.empty_taps).sum(),
    }
}

/// A grade takes a place for each of its bins, and would take one if it had none yet.
fn taken(known: &Known) -> u32 {
    u32::try_from(known.bins.len()).unwrap_or(u32::MAX).max(1)
}

/// At the buyer who pays most for the grade by itself and takes the coarser one too. Where a trip brings too little for
/// everybody's smallest lot, it is paid as the coarser one.
fn pair(market: &Market, known: &BTreeMap<GradeId, Known>, grade: GradeId, coarser: Option<GradeId>) -> Pair {
    let trip = known[&grade].trip().unwrap_or(Mass::ZERO);
    // On the same trip it goes on top of what there is of the coarser grade anyway.
    let together = trip + coarser.and_then(|other| known[&other].trip()).unwrap_or(Mass::ZERO);
    let own = |buyer: BuyerId| market.on_a_trip(grade, buyer, trip);
    let folded = |buyer: BuyerId| coarser.and_then(|other| market.on_a_trip(other, buyer, together));
    let buyers: Vec<BuyerId> = market.buyers().into_iter().collect();
    let dearest = |prices: Vec<PerKilogram>| prices.into_iter().max_by_key(|price| price.price.amount);
    let both = dearest(buyers.iter().copied().filter(|buyer| folded(*buyer).is_some()).filter_map(own).collect());
    if let Some(best) = both {
        return Pair { own: Some(best), coarser: folded(best.buyer), under_minimum: false };
    }
    let (best, coarse) =
        (dearest(buyers.iter().copied().filter_map(own).collect()), dearest(buyers.iter().copied().filter_map(folded).collect()));
    let too_little = best.is_none() && buyers.iter().any(|buyer| market.first_price(grade, *buyer).is_some());
    match coarse {
        Some(coarse) if too_little => Pair { own: Some(coarse), coarser: Some(coarse), under_minimum: true },
        coarse => Pair { own: best, coarser: coarse, under_minimum: too_little },
    }
}

fn known(books: &Books, question: &PlacesQuestion, grade: GradeId, came: Option<&Vec<(Date, Mass)>>) -> Known {
    let mut bins: Vec<(u32, Option<Mass>)> = books
        .bins
        .values()
        .filter(|bin| !bin.retired && bin.grade == Some(grade))
        .map(|bin| (bin.number, bin.capacity))
        .collect();
    bins.sort_by_key(|(number, _)| *number);
    let began = came.into_iter().flatten().map(|(day, _)| *day).min();
    let days = began.map_or(0, |began| (days_between(began, question.day) + 1).min(LOOKED_BACK));
    let within = |day: Date| days_between(day, question.day) < days;
    let collected: Mass = came.into_iter().flatten().filter(|(day, _)| within(*day)).map(|(_, mass)| *mass).sum();
    let month = (days >= LEAST_DAYS).then(|| a_month(collected, days)).flatten();
    let Taps { days: days_to_full, mut masses, empty: empty_taps } = taps(books, question, grade);
    masses.sort_unstable();
    let learned = masses.get(masses.len().saturating_sub(1) / 2).copied();
    let said = bins.iter().find_map(|(_, capacity)| *capacity);
    Known {
        bins: bins.into_iter().map(|(number, _)| number).collect(),
        days,
        collected,
        month,
        full_bin: learned.or(said),
        full_learned: learned.is_some(),
        days_to_full,
        empty_taps,
    }
}

/// To the femtogram; what went out more than came in is nothing.
fn a_month(mass: Mass, days: i64) -> Option<Mass> {
    let femtograms = mass.max(Mass::ZERO).femtograms().checked_mul(MONTH)?;
    Some(Mass::from_femtograms(femtograms / (TEN_THOUSAND * i128::from(days))))
}

/// What came into each grade by day, and what has no day.
fn collected(books: &Books, question: &PlacesQuestion) -> (BTreeMap<GradeId, Vec<(Date, Mass)>>, Mass) {
    let mut by_grade: BTreeMap<GradeId, Vec<(Date, Mass)>> = BTreeMap::new();
    let mut undated = Mass::ZERO;
    let window = question.day.saturating_sub(jiff::Span::new().days(LOOKED_BACK));
    let graded = |key: &SumKey| key.fill.and_then(|fill| books.fills.get(&fill)?.grade).filter(|_| collects(key.part));
    let mut began: BTreeMap<GradeId, i64> = BTreeMap::new();
    for (key, _) in books.sums() {
        if let (Some(grade), Some(day)) = (graded(key), key.day) {
            let first = began.entry(grade).or_insert(day);
            *first = day.min(*first);
        }
    }
    for (key, sum) in books.sums() {
        let Some(grade) = graded(key) else { continue };
        let Some(greenwich) = key.day else {
            undated += sum.mass;
            continue;
        };
        let mut put = |day: Date, mass: Mass| by_grade.entry(grade).or_default().push((day, mass));
        // The day itself matters at both ends of the window and where it all began; between them any day in it does.
        match (lies(key.day, window), lies(key.day, question.day)) {
            (_, Lies::After) => {}
            (Lies::Before, _) => put(window, sum.mass),
            (Lies::After, Lies::Before) if began.get(&grade).is_some_and(|first| greenwich - first > 3) => {
                put(question.day, sum.mass);
            }
            _ => {
                for (_, entry) in books.entries_of(key, sum) {
                    if let Some(day) = local_day(&entry.at, &question.zone).filter(|day| *day <= question.day) {
                        put(day, entry.mass);
                    }
                }
            }
        }
    }
    (by_grade, undated)
}

/// What the work brought; not what lay there before, what was tipped together, or what a round found gone.
pub(super) fn collects(part: Part) -> bool {
    match part {
        Part::Drop | Part::TakenOut | Part::Other | Part::Found => true,
        Part::Lost | Part::Opening | Part::Load | Part::Aside => false,
    }
}

/// What the taps "this bin is full" teach of a grade.
#[derive(Default)]
struct Taps {
    days: Vec<u32>,
    masses: Vec<Mass>,
    /// So many were on a bin that held nothing.
    empty: usize,
}

/// Days from empty to the first tap of each fill, and what was in it then. A fill that began with what lay there before says
/// nothing of the days, and a tap on a bin that holds nothing by the books says nothing at all: it was a slip, or what lies
/// there was never weighed. A later tap of that fill still counts.
fn taps(books: &Books, question: &PlacesQuestion, grade: GradeId) -> Taps {
    let (mut taps, mut seen) = (Taps::default(), BTreeSet::<FillId>::new());
    for record in books.standing_records() {
        let Fact::BinFull(full) = &record.fact else { continue };
        let Some(fill) = books.fills.get(&full.fill).filter(|fill| fill.grade == Some(grade)) else { continue };
        let by_then = local_day(&record.at, &question.zone).is_none_or(|day| day <= question.day);
        if !by_then || seen.contains(&full.fill) {
            continue;
        }
        let held: Vec<(u64, &Entry)> = books.counting(full.fill).map(|(id, entry)| (id.0, entry)).collect();
        let mass: Mass = held.iter().filter(|(id, _)| *id < record.seq).map(|(_, entry)| entry.mass).sum();
        if mass <= Mass::ZERO {
            taps.empty += 1;
            continue;
        }
        seen.insert(full.fill);
        taps.masses.push(mass);
        let from_before = held.iter().any(|(_, entry)| matches!(entry.origin, Origin::Opening | Origin::Tipped));
        if let Some(took) = took(fill, &record.at, &question.zone).filter(|_| !from_before) {
            taps.days.push(took);
        }
    }
    taps
}

fn took(fill: &Fill, full: &Stamp, zone: &TimeZone) -> Option<u32> {
    u32::try_from(days_between(local_day(&fill.opened, zone)?, local_day(full, zone)?)).ok()
}

#[cfg(test)]
#[path = "places_tests.rs"]
mod tests;
