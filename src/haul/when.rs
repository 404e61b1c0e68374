//! When to go: how fast bins fill by whole weeks that were recorded, and from which day on waiting costs more than it brings.
//!
//! **The fill.** Of n whole weeks with mean x̄ and standard deviation s, what comes in over the next m weeks lies with 95 % in
//! m·x̄ ± t·s·√(m + m²/n): m weeks scatter by s·√m, and the mean of n weeks is itself only known to s/√n. t is Student's for
//! n − 1 degrees of freedom. It holds where weeks are alike, independent and about normal; days within a week are taken in
//! proportion. Under four weeks nothing is said.
//!
//! **The trip.** It costs K whenever it is made, so over a cycle of T days K/T a day: a day later saves that day's share.
//! Nothing else is earned or lost by waiting (money that is not yet there costs nothing here, and prices are not foretold) but
//! what full bins cannot take any more. Of that a kilogram loses its price, or, where it can go in with a coarser grade, the
//! difference. With L lost so far, a cycle of T days costs (K + L)/T a day, and one more day is worth it while what it loses is
//! below that mean: the day from which waiting costs more is the first on which a day's loss is above it.
//!
//! With a grade that comes in at r kilograms a day, has room for R and loses δ a kilogram once its bins are full after f days,
//! and t days since the last trip, L = Σ δ·r·(d − f), and the rule says Σ δ·r·(t + d) > K + Σ δ·r·(d − f), or
//!
//! > Σ δ·(R + r·t) > K over the grades that are full by then, since r·f = R:
//!
//! waiting costs more once what a cycle brings of the full grades, each kilogram at what it loses, is more than the trip. The
//! sum only grows when a bin fills, so the day is always one on which something gets full; and with no full bin it never comes.

use crate::economy::number::{kilograms, root};
use crate::economy::student::t95;
use crate::economy::uncertainty::repeats;
use crate::measure::Mass;
use rust_decimal::Decimal;

/// Under so many whole weeks nothing is said: one odd week among three is a third of what is known.
pub const LEAST_WEEKS: usize = 4;

/// So far ahead a day is looked for; what lies beyond is as good as never.
pub const FARTHEST: u32 = 366;

const WEEK: u32 = 7;

/// The same for a slow fill, for the middle and for a fast one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ends<T> {
    pub slow: T,
    pub middle: T,
    pub fast: T,
}

impl<T> Ends<T> {
    pub fn of(make: impl Fn(End) -> T) -> Ends<T> {
        Ends { slow: make(End::Slow), middle: make(End::Middle), fast: make(End::Fast) }
    }

    pub fn map<U>(self, make: impl Fn(T) -> U) -> Ends<U> {
        Ends { slow: make(self.slow), middle: make(self.middle), fast: make(self.fast) }
    }

    pub const fn at(&self, end: End) -> &T {
        match end {
            End::Slow => &self.slow,
            End::Middle => &self.middle,
            End::Fast => &self.fast,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    Slow,
    Middle,
    Fast,
}

/// How fast a grade comes in, by whole weeks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pace {
    pub weeks: usize,
    /// Kilograms a week.
    pub mean: Decimal,
    /// Standard deviation of the weeks.
    pub spread: Decimal,
    factor: Decimal,
}

impl Pace {
    /// None under [`LEAST_WEEKS`], and beyond what can be reckoned.
    pub fn of(weeks: &[Mass]) -> Option<Pace> {
        if weeks.len() < LEAST_WEEKS {
            return None;
        }
        let each: Vec<Decimal> = weeks.iter().map(|mass| kilograms(*mass)).collect::<Option<_>>()?;
        let seen = repeats(&each)?;
        Some(Pace { weeks: weeks.len(), mean: seen.mean, spread: seen.deviation, factor: t95(seen.freedom)? })
    }

    /// Kilograms that come in over the next `days`: 95 % between the ends, and never less than nothing.
    pub fn over(&self, days: u32) -> Option<Ends<Decimal>> {
        let (days, week) = (Decimal::from(days), Decimal::from(WEEK));
        let weeks = days.checked_div(week)?;
        let own = weeks.checked_mul(weeks)?.checked_div(Decimal::from(self.weeks))?;
        let half = self.factor.checked_mul(self.spread)?.checked_mul(root(weeks.checked_add(own)?)?)?;
        let middle = days.checked_mul(self.mean)?.checked_div(week)?;
        let ends = Ends { slow: middle.checked_sub(half)?, middle, fast: middle.checked_add(half)? };
        Some(ends.map(|kilograms| kilograms.max(Decimal::ZERO)))
    }

    /// Kilograms a day in the long run: 95 % for the mean of all weeks.
    pub fn a_day(&self) -> Option<Ends<Decimal>> {
        let half = self.factor.checked_mul(self.spread)?.checked_div(root(Decimal::from(self.weeks))?)?;
        let ends = Ends { slow: self.mean.checked_sub(half)?, middle: self.mean, fast: self.mean.checked_add(half)? };
        Some(ends.map(|a_week| (a_week / Decimal::from(WEEK)).max(Decimal::ZERO)))
    }

    /// Days from now until so much more has come in; none where not within [`FARTHEST`] days.
    pub fn days_to(&self, room: Mass) -> Ends<Option<u32>> {
        let Some(room) = kilograms(room) else { return Ends::default() };
        // What has come in never goes down: the half width of the slow end grows ever more slowly.
        let there = |days: u32, end: End| self.over(days).is_some_and(|came| *came.at(end) >= room);
        Ends::of(|end| {
            let (mut short, mut enough) = (0, FARTHEST);
            if there(short, end) {
                return Some(short);
            }
            if !there(enough, end) {
                return None;
            }
            while enough - short > 1 {
                let between = short + (enough - short) / 2;
                if there(between, end) { enough = between } else { short = between }
            }
            Some(enough)
        })
    }
}

/// A grade whose bins take only so much.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Filling {
    pub pace: Pace,
    /// That its bins still have; none where nobody knows what they take.
    pub room: Option<Mass>,
    /// Money that a kilogram loses that finds no room; never below nothing.
    pub loses: Decimal,
}

/// The day, counted from now, from which waiting costs more than it brings: `since` days after the last trip, a trip costing
/// `trip`. None where that comes not within [`FARTHEST`] days, or cannot be reckoned.
pub fn go_by(list: &[Filling], since: u32, trip: Decimal) -> Ends<Option<u32>> {
    Ends::of(|end| {
        let mut full: Vec<(u32, Decimal)> = list.iter().filter_map(|filling| filling.weight(end, since)).collect();
        full.sort_unstable();
        let mut lost = Decimal::ZERO;
        // All that gets full on one day counts on it.
        for (at, (day, weight)) in full.iter().enumerate() {
            lost = lost.checked_add(*weight)?;
            let last_of_day = full.get(at + 1).is_none_or(|(next, _)| next != day);
            if last_of_day && lost > trip {
                return Some(*day);
            }
        }
        None
    })
}

impl Filling {
    /// The day on which it is full, and δ·(R + r·t).
    fn weight(&self, end: End, since: u32) -> Option<(u32, Decimal)> {
        let room = self.room?;
        let full = (*self.pace.days_to(room).at(end))?;
        let room = kilograms(room)?.max(Decimal::ZERO);
        let a_day = match full {
            0 => *self.pace.a_day()?.at(end),
            days => room.checked_div(Decimal::from(days))?,
        };
        let cycle = room.checked_add(a_day.checked_mul(Decimal::from(since))?)?;
        Some((full, cycle.checked_mul(self.loses.max(Decimal::ZERO))?))
    }
}

#[cfg(test)]
#[path = "when_tests.rs"]
mod tests;
