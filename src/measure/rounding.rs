//! Rounding, always by name.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

/// A rounding rule. Every place that drops digits names one of these.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rounding {
    /// To the nearest; a tie goes to the even digit.
    HalfEven,
    /// To the nearest; a tie goes away from zero, as a till does.
    HalfUp,
    /// Toward zero.
    Down,
}

impl Rounding {
    /// `numerator / denominator` rounded to a whole number.
    ///
    /// Panics when `denominator` is not positive: a caller's mistake, never data.
    pub fn divide(self, numerator: i128, denominator: i128) -> i128 {
        assert!(denominator > 0, "rounding needs a positive denominator");
        let (whole, rest) = (numerator / denominator, numerator % denominator);
        let away = if numerator < 0 { -1 } else { 1 };
        // Compared by subtraction: doubling the rest could overflow.
        let twice = rest.unsigned_abs().cmp(&(denominator.unsigned_abs() - rest.unsigned_abs()));
        let up = match (self, twice) {
            (Rounding::Down, _) | (_, std::cmp::Ordering::Less) => false,
            (_, std::cmp::Ordering::Greater) => true,
            (Rounding::HalfUp, std::cmp::Ordering::Equal) => true,
            (Rounding::HalfEven, std::cmp::Ordering::Equal) => whole % 2 != 0,
        };
        if up { whole + away } else { whole }
    }

    /// `amount` rounded to `places` decimals and shown with just as many.
    pub fn decimal(self, amount: Decimal, places: u32) -> Decimal {
        let strategy = match self {
            Rounding::HalfEven => RoundingStrategy::MidpointNearestEven,
            Rounding::HalfUp => RoundingStrategy::MidpointAwayFromZero,
            Rounding::Down => RoundingStrategy::ToZero,
        };
        let mut rounded = amount.round_dp_with_strategy(places, strategy);
        // Pads with zeros only: everything past `places` is gone already.
        rounded.rescale(places);
        rounded
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::str::FromStr;

    proptest! {
        #[test]
        fn whole_and_decimal_rounding_agree(cents in -10_000_000_i128..10_000_000, rule in prop_oneof![Just(Rounding::HalfEven), Just(Rounding::HalfUp), Just(Rounding::Down)]) {
            let decimal = Decimal::from_i128_with_scale(cents, 2);
            prop_assert_eq!(rule.decimal(decimal, 0), Decimal::from(rule.divide(cents, 100)));
        }
    }

    /// 12.325 is the tie on which two tills part when they go on to five cents: 12.35 or 12.30.
    #[test]
    fn ties_follow_the_named_rule() {
        let tie = Decimal::from_str("12.325").unwrap();
        assert_eq!(Rounding::HalfUp.decimal(tie, 2).to_string(), "12.33");
        assert_eq!(Rounding::HalfEven.decimal(tie, 2).to_string(), "12.32");
        assert_eq!(Rounding::Down.decimal(tie, 2).to_string(), "12.32");
        assert_eq!(Rounding::HalfUp.decimal(Decimal::from_str("1.5").unwrap(), 2).to_string(), "1.50");
    }
}
