//! When to go: what the trip costs of the load day by day, when each bin fills, and from when on waiting costs more.

use super::places::{PlaceLine, PlacesQuestion, collects, places};
use super::{Lies, days_between, lies, local_day};
use crate::economy::number::{hours, kilograms};
use crate::economy::quotes::{MONEY_PLACES, MONEY_RULE};
use crate::facts::books::{Entry, Part};
use crate::facts::{BinId, Books, Fact, GradeId};
use crate::haul::when::{Ends, Filling, Pace, go_by};
use crate::measure::{Currency, Mass, Money, Span};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Of so many weeks at most the pace is told, a quarter of a year: what was slow then is not slow now.
const MOST_WEEKS: usize = 13;

const WEEK: i64 = 7;

/// Days that are shown, today the first, unless others are asked for.
pub const SHOWN_DAYS: u32 = 28;
pub const MOST_DAYS: u32 = 91;

#[derive(Debug, Clone)]
pub struct WhenQuestion {
    /// Today.
    pub day: Date,
    pub zone: TimeZone,
    pub stale_after: u16,
    /// Taken where any quote is in it.
    pub currency: Currency,
    /// What a trip costs, all told; without it, what the last one did.
    pub trip: Option<Decimal>,
    /// To be shown.
    pub days: u32,
}

#[derive(Debug, Clone, PartialEq)]
pub struct WhenReport {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    pub currency: Currency,
    pub trip: Option<TripCost>,
    /// The day of the last trip, or the first on which anything that lies there came in.
    pub since: Option<Date>,
    /// Whole weeks end on the day before today.
    pub grades: Vec<GradeFill>,
    /// From today on.
    pub by_day: Vec<LoadDay>,
    pub go: GoBy,
    pub deadlines: Vec<Deadline>,
}

/// What a trip costs, and who says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripCost {
    pub amount: Decimal,
    pub from: TripFrom,
    /// Of it, the owner's time at what an hour must bring.
    pub time: Decimal,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TripFrom {
    /// It came with the question.
    Asked,
    /// There and back to this buyer: of those who pay for anything here, the one to whom it costs least.
    Yard(String),
    /// As this day's run did.
    Run(Date),
}

/// A grade that was held for a price, and from when on it goes anyway.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deadline {
    pub grade: String,
    pub due: Due,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    On(Date),
    /// Once its bins hold so much together: the day on which they do, for a slow fill, the middle and a fast one; none where not
    /// within a year, or with too few weeks to tell.
    Holding {
        mass: Mass,
        on: Ends<Option<Date>>,
    },
}

impl Due {
    /// In the middle.
    pub const fn day(&self) -> Option<Date> {
        match self {
            Due::On(day) => Some(*day),
            Due::Holding { on, .. } => on.middle,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GoBy {
    /// The first day from which waiting costs more than it brings, for a slow fill, the middle and a fast one; none where not
    /// within a year.
    Days(Ends<Option<Date>>),
    /// Nobody knows what a trip costs.
    NoTrip,
    /// No grade has enough whole weeks.
    TooFewWeeks,
    /// Of no grade with enough weeks anybody has tapped or said what a full bin holds, or a price.
    NoFullBin,
}

/// One grade that has bins in use.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeFill {
    pub grade: GradeId,
    pub name: String,
    pub bins: Vec<BinFill>,
    /// Whole weeks that were recorded.
    pub weeks: usize,
    /// None under four weeks.
    pub pace: Option<Pace>,
    pub buyer: Option<String>,
    /// A kilogram at the best buyer; none without a quote.
    pub price: Option<Decimal>,
    pub stale: bool,
    /// The grade that takes what finds no room, and its price.
    pub coarser: Option<String>,
    pub coarser_price: Option<Decimal>,
    /// What a full bin holds, by taps or by what was said.
    pub full_bin: Option<Mass>,
    pub full_learned: bool,
}

impl GradeFill {
    pub fn content(&self) -> Mass {
        self.bins.iter().map(|bin| bin.content).sum()
    }

    /// That its bins still have.
    pub fn room(&self) -> Option<Mass> {
        let full = self.full_bin?;
        Some(self.bins.iter().map(|bin| bin.room(full)).sum())
    }

    /// What a kilogram loses that finds no room.
    pub fn loses(&self) -> Option<Decimal> {
        Some((self.price? - self.coarser_price.unwrap_or_default()).max(Decimal::ZERO))
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BinFill {
    pub bin: BinId,
    pub number: u32,
    pub content: Mass,
    /// Somebody tapped that it is full.
    pub tapped: bool,
    /// None where nobody knows what it takes or how fast, or not within a year.
    pub full_on: Ends<Option<Date>>,
}

impl BinFill {
    fn room(&self, full: Mass) -> Mass {
        if self.tapped { Mass::ZERO } else { (full - self.content).max(Mass::ZERO) }
    }
}

/// The load as it would be on a day: what the trip costs of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LoadDay {
    pub day: Date,
    /// Rounded once.
    pub value: Ends<Decimal>,
    /// Per cent, to a tenth; none without a trip or where the load is worth nothing. The slow fill has the largest.
    pub share: Option<Ends<Decimal>>,
}

pub fn when(books: &Books, question: &WhenQuestion) -> WhenReport {
    let ranked = places(books, &ranking(question));
    let came = by_week(books, question);
    let lines: BTreeMap<GradeId, &PlaceLine> = ranked.lines.iter().chain(&ranked.coarse).map(|line| (line.grade, line)).collect();
    let in_use = lines.values().filter(|line| !line.bins.is_empty());
    let grades: Vec<GradeFill> =
        in_use.map(|line| grade(books, question, line, came.get(&line.grade).map_or(&[][..], Vec::as_slice))).collect();
    let trip = trip_cost(books, question, ranked.currency, &grades);
    let since = since(books, question);
    let by_day =
        (0..=question.days.min(MOST_DAYS)).filter_map(|ahead| load_day(question, &grades, trip.as_ref(), ahead)).collect();
    WhenReport {
        seq: books.seq,
        day: question.day,
        currency: ranked.currency,
        go: go(question, &grades, trip.as_ref(), since),
        deadlines: deadlines(books, question, &grades),
        trip,
        since,
        grades,
        by_day,
    }
}

/// The question to the report on places that tells prices and full bins, by what the owner told of coarser grades.
fn ranking(question: &WhenQuestion) -> PlacesQuestion {
    PlacesQuestion {
        day: question.day,
        zone: question.zone.clone(),
        stale_after: question.stale_after,
        currency: question.currency,
        buyer: None,
        floor: None,
        places: None,
        coarser: BTreeMap::new(),
    }
}

/// What came into each grade by whole weeks, the last one first; the last week ends with yesterday.
fn by_week(books: &Books, question: &WhenQuestion) -> BTreeMap<GradeId, Vec<Mass>> {
    let mut days: BTreeMap<GradeId, Vec<(i64, Mass)>> = BTreeMap::new();
    let longest = MOST_WEEKS as i64 * WEEK;
    let window = question.day.saturating_sub(jiff::Span::new().days(longest + 1));
    for (key, sum) in books.sums().filter(|(key, _)| key.day.is_some() && collects(key.part)) {
        let Some(grade) = key.fill.and_then(|fill| books.fills.get(&fill)?.grade) else { continue };
        let mut put = |back: i64, mass: Mass| days.entry(grade).or_default().push((back, mass));
        match (lies(key.day, window), lies(key.day, question.day)) {
            (_, Lies::After) => {}
            // Of what came before all weeks only that it came matters.
            (Lies::Before, _) => put(longest + 1, Mass::ZERO),
            _ => {
                for (_, entry) in books.entries_of(key, sum) {
                    let back = local_day(&entry.at, &question.zone).map(|day| days_between(day, question.day));
                    if let Some(back) = back.filter(|back| *back > 0) {
                        put(back, entry.mass);
                    }
                }
            }
        }
    }
    let weeks = |came: Vec<(i64, Mass)>| {
        let longest = came.iter().map(|(back, _)| *back).max().unwrap_or_default();
        let whole = usize::try_from(longest / WEEK).unwrap_or(0).min(MOST_WEEKS);
        let mut weeks = vec![Mass::ZERO; whole];
        for (back, mass) in came {
            if let Some(week) = usize::try_from((back - 1) / WEEK).ok().and_then(|week| weeks.get_mut(week)) {
                *week += mass;
            }
        }
        weeks
    };
    days.into_iter().map(|(grade, came)| (grade, weeks(came))).collect()
}

fn grade(books: &Books, question: &WhenQuestion, line: &PlaceLine, weeks: &[Mass]) -> GradeFill {
    let pace = Pace::of(weeks);
    let mut bins: Vec<BinFill> = books
        .bins
        .iter()
        .filter(|(_, bin)| !bin.retired && bin.grade == Some(line.grade))
        .map(|(id, bin)| BinFill {
            bin: *id,
            number: bin.number,
            content: books.fills.get(&bin.fill).map_or(Mass::ZERO, |fill| fill.mass),
            tapped: books.full_tap(bin.fill).is_some(),
            full_on: Ends::default(),
        })
        .collect();
    // A tap on an empty bin says nothing of what it holds.
    let full_bin = line.full_bin.filter(|full| *full > Mass::ZERO);
    if let Some(full) = full_bin {
        // The fullest is filled first, and then the next.
        bins.sort_by_key(|bin| (bin.room(full), bin.number));
        let mut room = Mass::ZERO;
        for bin in &mut bins {
            room += bin.room(full);
            let days = pace.map_or(Ends::default(), |pace| pace.days_to(room));
            let days = if room.is_zero() { Ends::of(|_| Some(0)) } else { days };
            bin.full_on = days.map(|days| days.and_then(|days| ahead(question.day, days)));
        }
    }
    bins.sort_by_key(|bin| bin.number);
    GradeFill {
        grade: line.grade,
        name: line.name.clone(),
        bins,
        weeks: weeks.len(),
        pace,
        buyer: line.buyer.clone(),
        price: line.own,
        stale: line.stale,
        coarser: line.coarser.clone(),
        coarser_price: line.coarser_price,
        full_bin,
        full_learned: line.full_learned,
    }
}

fn ahead(day: Date, days: u32) -> Option<Date> {
    day.checked_add(jiff::Span::new().days(i64::from(days))).ok()
}

/// What was asked; else there and back to a buyer whose yard was told, by what the vehicle costs; else what the last run was
/// said to cost. The owner's time counts at what an hour must bring.
fn trip_cost(books: &Books, question: &WhenQuestion, currency: Currency, grades: &[GradeFill]) -> Option<TripCost> {
    if let Some(amount) = question.trip {
        return Some(TripCost { amount, from: TripFrom::Asked, time: Decimal::ZERO });
    }
    let floor = books.limits.floor.filter(|floor| floor.currency == currency).map_or(Decimal::ZERO, |floor| floor.amount);
    yard_trip(books, currency, floor, grades).or_else(|| last_run(books, question, currency, floor))
}

fn yard_trip(books: &Books, currency: Currency, floor: Decimal, grades: &[GradeFill]) -> Option<TripCost> {
    let running = books.vehicle.running.filter(|running| running.money.currency == currency)?;
    let pays = |name: &str| grades.iter().any(|grade| !grade.bins.is_empty() && grade.buyer.as_deref() == Some(name));
    let trips = books.buyers.iter().filter(|(_, buyer)| !buyer.retired && pays(&buyer.name)).filter_map(|(id, buyer)| {
        let yard = books.yard(*id)?;
        let driving = yard.way.distance.km().checked_mul(Decimal::TWO)?.checked_mul(running.per_km())?;
        let minutes = u64::from(yard.way.minutes) * 2 + u64::from(yard.minutes_there);
        let time = hours(Span::seconds(60 * minutes)).checked_mul(floor)?;
        let [driving, time] = [driving, time].map(|amount| MONEY_RULE.decimal(amount, MONEY_PLACES));
        Some(TripCost { amount: driving.checked_add(time)?, from: TripFrom::Yard(buyer.name.clone()), time })
    });
    trips.min_by_key(|trip| trip.amount)
}

fn last_run(books: &Books, question: &WhenQuestion, currency: Currency, floor: Decimal) -> Option<TripCost> {
    let runs = books.standing_records().filter_map(|record| match &record.fact {
        Fact::RunSetOut(run) => Some((run.day, run.cost, run.span)),
        Fact::RunMade { day, cost, span, .. } => Some((*day, *cost, *span)),
        _ => None,
    });
    let told = |cost: Option<Money>| cost.filter(|cost| cost.currency == currency);
    let priced = runs.filter(|(day, cost, _)| *day <= question.day && told(*cost).is_some());
    let (day, cost, span) = priced.max_by_key(|(day, ..)| *day)?;
    let time = MONEY_RULE.decimal(span.map_or(Decimal::ZERO, hours).checked_mul(floor)?, MONEY_PLACES);
    Some(TripCost { amount: cost?.amount.checked_add(time)?, from: TripFrom::Run(day), time })
}

/// Grades that lie here, are held for a price, and go anyway from a day or a weight on: the first day first.
fn deadlines(books: &Books, question: &WhenQuestion, grades: &[GradeFill]) -> Vec<Deadline> {
    let lies_here = grades.iter().filter(|grade| grade.content() > Mass::ZERO);
    let held = lies_here.filter_map(|grade| Some((grade, books.hold(grade.grade)?)));
    let mut due: Vec<Deadline> = held
        .flat_map(|(grade, hold)| {
            let holding = hold.from.map(|mass| {
                let days = match (mass - grade.content(), grade.pace) {
                    (more, _) if more <= Mass::ZERO => Ends::of(|_| Some(0)),
                    (more, Some(pace)) => pace.days_to(more),
                    (_, None) => Ends::default(),
                };
                Due::Holding { mass, on: days.map(|days| days.and_then(|days| ahead(question.day, days))) }
            });
            let due = hold.by.map(Due::On).into_iter().chain(holding);
            due.map(|due| Deadline { grade: grade.name.clone(), due }).collect::<Vec<_>>()
        })
        .collect();
    due.sort_by_key(|held| (held.due.day().is_none(), held.due.day(), held.grade.clone()));
    due
}

/// The last trip; before the first one, the day on which what lies there began to come in.
fn since(books: &Books, question: &WhenQuestion) -> Option<Date> {
    let runs = books.standing_records().filter_map(|record| match &record.fact {
        Fact::RunSetOut(run) => Some(run.day),
        Fact::RunMade { day, .. } => Some(*day),
        _ => None,
    });
    let tickets = books.standing_tickets().map(|(_, ticket)| ticket.paper.day);
    let last = runs.chain(tickets).filter(|day| *day <= question.day).max();
    last.or_else(|| {
        let dated = || books.sums().filter(|(key, _)| key.part != Part::Load && key.day.is_some());
        let first = dated().filter_map(|(key, _)| key.day).min()?;
        // Where days of Greenwich meet, the local day of an entry decides.
        let near = dated().filter(|(key, _)| key.day.is_some_and(|day| day <= first + 1));
        let entries = near.flat_map(|(key, sum)| books.entries_of(key, sum));
        let day = |(_, entry): (_, &Entry)| local_day(&entry.at, &question.zone);
        entries.filter_map(day).filter(|day| *day <= question.day).min()
    })
}

fn load_day(question: &WhenQuestion, grades: &[GradeFill], trip: Option<&TripCost>, days: u32) -> Option<LoadDay> {
    let mut value = Ends::<Decimal>::default();
    for grade in grades {
        let Some(price) = grade.price else { continue };
        let there = kilograms(grade.content())?.max(Decimal::ZERO).checked_mul(price)?;
        let came = match grade.pace {
            Some(pace) => pace.over(days)?,
            None => Ends::default(),
        };
        let room = match grade.room() {
            Some(room) => Some(kilograms(room)?),
            None => None,
        };
        let worth = |came: Decimal| {
            let fits = room.map_or(came, |room| came.min(room));
            let rest = came.checked_sub(fits)?.checked_mul(grade.coarser_price.unwrap_or_default())?;
            fits.checked_mul(price)?.checked_add(rest)?.checked_add(there)
        };
        value = Ends {
            slow: value.slow.checked_add(worth(came.slow)?)?,
            middle: value.middle.checked_add(worth(came.middle)?)?,
            fast: value.fast.checked_add(worth(came.fast)?)?,
        };
    }
    let share = |of: Decimal| {
        let share = trip?.amount.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(of)?;
        (of > Decimal::ZERO).then(|| MONEY_RULE.decimal(share, 1))
    };
    let shares = share(value.slow).zip(share(value.middle)).zip(share(value.fast));
    Some(LoadDay {
        day: ahead(question.day, days)?,
        value: value.map(|value| MONEY_RULE.decimal(value, MONEY_PLACES)),
        share: shares.map(|((slow, middle), fast)| Ends { slow, middle, fast }),
    })
}

fn go(question: &WhenQuestion, grades: &[GradeFill], trip: Option<&TripCost>, since: Option<Date>) -> GoBy {
    let Some(trip) = trip else { return GoBy::NoTrip };
    if grades.iter().all(|grade| grade.pace.is_none()) {
        return GoBy::TooFewWeeks;
    }
    let filling = |grade: &GradeFill| Some(Filling { pace: grade.pace?, room: Some(grade.room()?), loses: grade.loses()? });
    let list: Vec<Filling> = grades.iter().filter_map(filling).collect();
    if list.is_empty() {
        return GoBy::NoFullBin;
    }
    let days = since.map_or(0, |since| days_between(since, question.day));
    let days = go_by(&list, u32::try_from(days).unwrap_or(0), trip.amount);
    GoBy::Days(days.map(|days| days.and_then(|days| ahead(question.day, days))))
}

#[cfg(test)]
#[path = "when_tests.rs"]
mod tests;
