//! A stretch of numbers in which the truth lies.

use rust_decimal::Decimal;

/// From `low` to `high`, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interval {
    pub low: Decimal,
    pub high: Decimal,
}

impl Interval {
    /// `value` ± `half`.
    pub fn around(value: Decimal, half: Decimal) -> Option<Interval> {
        Some(Interval { low: value.checked_sub(half)?, high: value.checked_add(half)? })
    }

    /// What of it can be. An estimate reaches beyond the bounds, the truth does not: what is cut off holds nothing, so the rest
    /// covers the truth just as often. Nothing is left where all of it lies beyond.
    pub fn within(&self, least: Decimal, most: Decimal) -> Option<Cut> {
        let interval = Interval { low: self.low.max(least), high: self.high.min(most) };
        (interval.low <= interval.high).then_some(Cut { interval, low: self.low < least, high: self.high > most })
    }

    pub fn holds(&self, value: Decimal) -> bool {
        self.low <= value && value <= self.high
    }

    /// How it stands to a limit.
    pub fn against(&self, limit: Decimal) -> Against {
        match (self.low > limit, self.high < limit) {
            (true, _) => Against::Above,
            (_, true) => Against::Below,
            _ => Against::Either,
        }
    }
}

/// What is left of an interval between bounds, and at which ends it was cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cut {
    pub interval: Interval,
    pub low: bool,
    pub high: bool,
}

/// Where an interval lies with respect to a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    Above,
    Below,
    /// The limit is inside: it cannot be told.
    Either,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_on_the_edge_is_inside() {
        let interval = Interval::around(Decimal::from(5), Decimal::from(2)).unwrap();
        let against = |limit: i64| interval.against(Decimal::from(limit));
        assert_eq!(
            (against(2), against(3), against(7), against(8)),
            (Against::Above, Against::Either, Against::Either, Against::Below)
        );
        assert!(interval.holds(Decimal::from(7)) && !interval.holds(Decimal::from(8)));
        assert_eq!(Interval::around(Decimal::MAX, Decimal::ONE), None);
    }

    #[test]
    fn what_cannot_be_is_cut_off() {
        let of = |low: i64, high: i64| Interval { low: Decimal::new(low, 1), high: Decimal::new(high, 1) };
        let cut = |low, high| of(low, high).within(Decimal::ZERO, Decimal::ONE);
        let left = |low, high, at_low, at_high| Some(Cut { interval: of(low, high), low: at_low, high: at_high });
        assert_eq!(cut(-2, 7), left(0, 7, true, false));
        assert_eq!(cut(3, 12), left(3, 10, false, true));
        assert_eq!(cut(-1, 11), left(0, 10, true, true));
        assert_eq!(cut(0, 10), left(0, 10, false, false), "an end on the bound is not cut");
        assert_eq!((cut(-3, -1), cut(11, 12)), (None, None));
    }
}
