//! What a usual week brings into each bin, by what came so far.

use crate::facts::{BinId, Books};
use crate::measure::Mass;
use crate::query::places::{LEAST_DAYS, LOOKED_BACK, collects};
use crate::query::{days_between, local_day};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::collections::BTreeMap;

/// A seventh of it is a day's.
const WEEK: i128 = 7;

/// By bin, over at most thirteen weeks; the days that there are where they are fewer than four weeks.
pub(super) fn week(books: &Books, today: Date, zone: &TimeZone) -> Result<BTreeMap<BinId, Mass>, i64> {
    let mut came: Vec<(Date, BinId, Mass)> = Vec::new();
    for (key, sum) in books.sums().filter(|(key, _)| collects(key.part)) {
        for (_, entry) in books.entries_of(key, sum) {
            let dated = local_day(&entry.at, zone).filter(|day| *day <= today);
            came.extend(dated.zip(entry.bin).map(|(day, bin)| (day, bin, entry.mass)));
        }
    }
    let began = came.iter().map(|(day, ..)| *day).min();
    let days = began.map_or(0, |began| (days_between(began, today) + 1).min(LOOKED_BACK));
    if days < LEAST_DAYS {
        return Err(days);
    }
    let mut sums: BTreeMap<BinId, Mass> = BTreeMap::new();
    for (_, bin, mass) in came.into_iter().filter(|(day, ..)| days_between(*day, today) < days) {
        *sums.entry(bin).or_default() += mass;
    }
    let a_week = |sum: Mass| Mass::from_femtograms(sum.max(Mass::ZERO).femtograms() * WEEK / i128::from(days));
    Ok(sums.into_iter().map(|(bin, sum)| (bin, a_week(sum))).collect())
}
