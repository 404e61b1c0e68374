//! Check weights: by how much the scale errs, over load and over time, and how well that is known.

use super::quotes::days_between;
use super::tolerance::{Class, Table, tolerance};
use crate::measure::{Mass, Variance};
use jiff::civil::Date;

/// A weight of known size, laid on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Check {
    /// The stretch of the scale that it speaks of, by where that began: a scale that was moved or mended since is another one.
    pub stretch: u64,
    pub day: Date,
    pub nominal: Mass,
    /// How far the weight itself may be off; none where nobody knows, which bounds nothing.
    pub weight_within: Option<Mass>,
    pub shown: Mass,
    pub division: Mass,
}

/// One check, judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Checked {
    pub day: Date,
    pub nominal: Mass,
    /// Shown less nominal.
    pub error: Mass,
    /// Of the error, k = 2, the division and the weight itself; none where the weight is not known.
    pub expanded: Option<Mass>,
    pub tolerance: Option<Mass>,
    pub verdict: CheckVerdict,
    /// |error| and its uncertainty together in parts per million of the load, rounded up.
    pub bound_ppm: Option<u32>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckVerdict {
    Within,
    Outside,
    /// The tolerance lies inside the uncertainty.
    CannotTell,
    /// How far the weight itself may be off is not known.
    WeightUnknown,
    /// The class has no tolerance for this load, or no class is known.
    NoTolerance,
}

/// The class of the scale and whose table it is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeldTo {
    pub class: Class,
    pub table: Table,
}

impl Check {
    pub fn judge(&self, held: Option<HeldTo>) -> Checked {
        let error = self.shown - self.nominal;
        let tolerance = held.and_then(|held| tolerance(held.table, held.class, self.nominal, self.division));
        let expanded = self
            .weight_within
            .map(|within| Variance::of_reading(self.division).plus(Variance::of_half_width(within)).expanded(2));
        let verdict = match (expanded, tolerance) {
            (None, _) => CheckVerdict::WeightUnknown,
            (_, None) => CheckVerdict::NoTolerance,
            (Some(expanded), Some(most)) if error.abs() + expanded <= most => CheckVerdict::Within,
            (Some(expanded), Some(most)) if error.abs() - expanded > most => CheckVerdict::Outside,
            _ => CheckVerdict::CannotTell,
        };
        let bound_ppm = expanded.and_then(|expanded| parts_per_million(error.abs() + expanded, self.nominal));
        Checked { day: self.day, nominal: self.nominal, error, expanded, tolerance, verdict, bound_ppm }
    }
}

/// Rounded up; none for a load of nothing and beyond four thousand times the load.
fn parts_per_million(part: Mass, load: Mass) -> Option<u32> {
    if load <= Mass::ZERO {
        return None;
    }
    let ppm = part.femtograms().unsigned_abs().checked_mul(1_000_000)?.div_ceil(load.femtograms().unsigned_abs());
    u32::try_from(ppm).ok()
}

/// The checks of one scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct History {
    /// By day, of one day by load.
    pub checks: Vec<Checked>,
    /// What calibration is known to, in parts per million: the best of the bounds that the last day of checks reached, since a
    /// division is less of a heavier weight; but the worst of those that it cannot be true for.
    pub bound_ppm: Option<u32>,
    /// For each weight that was laid on more than once: what has changed.
    pub drifts: Vec<Drift>,
    pub due: Due,
}

/// The first check of a weight against its last. The weight's own error is in both and cancels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drift {
    pub nominal: Mass,
    pub days: i64,
    pub change: Mass,
    /// Of the change, k = 2.
    pub expanded: Mass,
    /// It has moved by more than the readings may err by.
    pub moved: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    /// No weight was ever laid on.
    Never,
    In {
        days: i64,
    },
    Overdue {
        days: i64,
    },
    /// The scale was moved, mended or calibrated after the last check.
    Disturbed {
        on: Date,
    },
}

/// The stretch that a scale is in since it was moved, mended or exchanged last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Disturbed {
    pub on: Date,
    pub stretch: u64,
}

/// `every_days` is how often the owner wants to check; `disturbed` tells where the present stretch began, none where the
/// scale was never moved or mended. Earlier checks stay in the list, and bound nothing of the present stretch.
pub fn history(checks: &[Check], held: Option<HeldTo>, today: Date, every_days: u16, disturbed: Option<Disturbed>) -> History {
    let mut sorted: Vec<&Check> = checks.iter().filter(|check| check.day <= today).collect();
    sorted.sort_by_key(|check| (check.day, check.nominal));
    let judged: Vec<Checked> = sorted.iter().map(|check| check.judge(held)).collect();
    let stretch = disturbed.map_or(0, |disturbed| disturbed.stretch);
    let present: Vec<&Check> = sorted.iter().copied().filter(|check| check.stretch == stretch).collect();
    let last = present.last().map(|check| check.day);
    let due = match (last, disturbed) {
        (None, Some(Disturbed { on, .. })) if !sorted.is_empty() => Due::Disturbed { on },
        (None, _) => Due::Never,
        (Some(last), _) => match i64::from(every_days) - days_between(last, today) {
            days if days < 0 => Due::Overdue { days: -days },
            days => Due::In { days },
        },
    };
    let latest: Vec<Checked> = present.iter().filter(|check| Some(check.day) == last).map(|check| check.judge(held)).collect();
    let latest: Vec<&Checked> = latest.iter().collect();
    History { bound_ppm: bound(&latest), drifts: drifts(&present), due, checks: judged }
}

fn bound(checks: &[&Checked]) -> Option<u32> {
    let best = checks.iter().filter_map(|check| check.bound_ppm).min()?;
    let beyond = |check: &&&Checked| {
        let surely = check.expanded.map(|expanded| check.error.abs() - expanded).filter(|surely| *surely > Mass::ZERO);
        surely.and_then(|surely| parts_per_million(surely, check.nominal)).is_some_and(|ppm| ppm > best)
    };
    checks.iter().filter(beyond).filter_map(|check| check.bound_ppm).max().or(Some(best))
}

fn drifts(sorted: &[&Check]) -> Vec<Drift> {
    let mut nominals: Vec<Mass> = sorted.iter().map(|check| check.nominal).collect();
    nominals.sort();
    nominals.dedup();
    let of = |nominal: Mass| {
        let mut same = sorted.iter().filter(|check| check.nominal == nominal);
        let (first, last) = (same.next()?, same.next_back()?);
        let change = last.shown - first.shown;
        let expanded = Variance::of_reading(first.division).plus(Variance::of_reading(last.division)).expanded(2);
        let days = days_between(first.day, last.day);
        Some(Drift { nominal, days, change, expanded, moved: change.abs() > expanded })
    };
    nominals.into_iter().filter_map(of).collect()
}

/// The standard uncertainty that a bound stands for: a rectangle as wide as the bound (JCGM 100:2008, 4.3.7), rounded up.
pub fn standard_ppm(bound_ppm: u32) -> u32 {
    let square = u64::from(bound_ppm) * u64::from(bound_ppm);
    let root = (square / 3).isqrt();
    let up = if root * root * 3 < square { root + 1 } else { root };
    u32::try_from(up).unwrap_or(u32::MAX)
}

/// How many divisions a load must have for the resolution alone to be within `ppm` of it (k = 2): one reading, d/√12, or
/// a difference of two, d/√6 (JCGM 100:2008, F.2.2.1). None for nothing.
pub fn divisions_needed(ppm: u32, difference: bool) -> Option<u64> {
    // (2 / ppm)² · 10¹² / 12, or / 6
    let square = 4_000_000_000_000_u64;
    let below = u64::from(ppm).checked_mul(u64::from(ppm))?.checked_mul(if difference { 6 } else { 12 })?;
    let least = square.checked_div(below)?.isqrt();
    let enough = |divisions: u64| u128::from(divisions) * u128::from(divisions) * u128::from(below) >= u128::from(square);
    (least..=least + 1).find(|divisions| enough(*divisions))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Unit;
    use jiff::civil::date;
    use proptest::prelude::*;

    const THREE: Option<HeldTo> = Some(HeldTo { class: Class::III, table: Table::Handbook44Maintenance });

    fn check(day: i8, nominal: i64, shown: i64) -> Check {
        Check {
            stretch: 0,
            day: date(2026, 3, day),
            nominal: Mass::grams(nominal),
            weight_within: Some(Mass::parse("0.01", Unit::Gram).unwrap()),
            shown: Mass::grams(shown),
            division: Mass::grams(1),
        }
    }

    #[test]
    fn judged_against_the_class() {
        let verdict = |nominal, shown| check(1, nominal, shown).judge(THREE).verdict;
        assert_eq!(verdict(500, 500), CheckVerdict::Within);
        assert_eq!(verdict(500, 501), CheckVerdict::CannotTell);
        assert_eq!(verdict(500, 502), CheckVerdict::Outside);
        assert_eq!(verdict(1000, 1001), CheckVerdict::Within);
        assert_eq!(verdict(20_000, 20_000), CheckVerdict::NoTolerance);
        assert_eq!(check(1, 500, 500).judge(None).verdict, CheckVerdict::NoTolerance);
        let unknown = Check { weight_within: None, ..check(1, 500, 500) };
        assert_eq!((unknown.judge(THREE).verdict, unknown.judge(THREE).bound_ppm), (CheckVerdict::WeightUnknown, None));
    }

    #[test]
    fn the_heavier_weight_bounds_better() {
        let checks = [check(1, 200, 200), check(9, 200, 200), check(9, 2000, 2001)];
        let got = history(&checks, THREE, date(2026, 3, 10), 30, None);
        // 1 g and 2·√(1/12 + 0.01²/3) g of 2000 g.
        assert_eq!(got.bound_ppm, Some(789));
        assert_eq!(got.due, Due::In { days: 29 });
        assert_eq!(standard_ppm(789), 456);
        let bent = [check(9, 200, 205), check(9, 2000, 2000)];
        let got = history(&bent, THREE, date(2026, 3, 10), 30, None);
        assert_eq!(got.bound_ppm, got.checks[0].bound_ppm, "a scale that is right at one load and wrong at another");
    }

    #[test]
    fn when_a_check_is_due() {
        let moved = |on: Option<i8>| on.map(|on| Disturbed { on: date(2026, 3, on), stretch: 9 });
        let due = |checks: &[Check], day, on| history(checks, THREE, date(2026, 3, day), 7, moved(on)).due;
        let after = |check: Check| Check { stretch: 9, ..check };
        assert_eq!(due(&[], 1, None), Due::Never);
        assert_eq!(due(&[check(9, 1, 1)], 1, None), Due::Never, "a day to come has not been");
        assert_eq!(due(&[check(1, 1, 1)], 8, None), Due::In { days: 0 });
        assert_eq!(due(&[check(1, 1, 1)], 10, None), Due::Overdue { days: 2 });
        assert_eq!(due(&[check(1, 1, 1)], 3, Some(2)), Due::Disturbed { on: date(2026, 3, 2) });
        assert_eq!(due(&[], 3, Some(2)), Due::Never);
        assert_eq!(due(&[check(1, 1, 1), after(check(3, 1, 1))], 3, Some(2)), Due::In { days: 7 });
        assert_eq!(due(&[after(check(3, 1, 1))], 3, Some(3)), Due::In { days: 7 }, "checked on the day of the move");
    }

    /// What was found before a scale was moved says nothing of it since.
    #[test]
    fn a_disturbed_scale_is_bounded_by_what_was_laid_on_since() {
        let (before, after) = (check(1, 2000, 2000), Check { stretch: 9, ..check(3, 200, 200) });
        let bound = |checks: &[Check], disturbed| history(checks, THREE, date(2026, 3, 4), 7, disturbed).bound_ppm;
        let moved = Some(Disturbed { on: date(2026, 3, 2), stretch: 9 });
        assert_eq!(bound(&[before], moved), None);
        assert_eq!(bound(&[before, after], moved), after.judge(None).bound_ppm);
        assert_eq!(bound(&[before, after], None), before.judge(None).bound_ppm, "the stretch before is bounded as it was");
    }

    #[test]
    fn drift_beyond_the_readings() {
        let drift = |last| history(&[check(1, 1000, 1000), check(20, 1000, last)], THREE, date(2026, 3, 20), 30, None).drifts[0];
        assert_eq!((drift(1000).moved, drift(1000).days), (false, 19));
        assert!(!drift(1000).moved && drift(1001).moved && drift(998).moved);
        assert_eq!(history(&[check(1, 5, 5)], THREE, date(2026, 3, 2), 30, None).drifts, []);
    }

    /// JCGM 100:2008, F.2.2.1: the expanded uncertainty of a difference is 0.8165 of a division, of one reading 0.5774.
    #[test]
    fn divisions_for_a_part() {
        for (ppm, difference, expected) in
            [(1000, true, 817), (1000, false, 578), (10_000, true, 82), (50_000, true, 17), (100_000, true, 9)]
        {
            assert_eq!(divisions_needed(ppm, difference), Some(expected), "{ppm} {difference}");
        }
        assert_eq!(divisions_needed(0, true), None);
    }

    proptest! {
        #[test]
        fn enough_divisions_are_just_enough(ppm in 1_u32..1_000_000) {
            let needed = divisions_needed(ppm, true).unwrap();
            let within = |divisions: u64| {
                let square = u128::from(divisions).pow(2) * u128::from(ppm).pow(2) * 6;
                square >= 4_000_000_000_000
            };
            prop_assert!(within(needed) && !within(needed - 1));
        }
    }
}
