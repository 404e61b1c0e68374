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
}
