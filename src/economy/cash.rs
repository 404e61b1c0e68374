//! What is paid in coins where the smallest coin is more than a cent.
//!
//! Canada rounds the final total only, and only when it is paid in cash (Canada Revenue Agency, "Eliminating the penny",
//! 2013); the government's table is a guideline, and the United States have no federal rule. So it is a setting of the buyer.

pub use crate::facts::Payout;
use crate::measure::{Money, Rounding};
use rust_decimal::Decimal;

/// The total as it is paid: first to the cent by `cents`, then to the coin. None beyond what a decimal can hold.
pub fn paid(total: Money, payout: Payout, cents: Rounding) -> Option<Money> {
    let exact = cents.decimal(total.amount, 2);
    let (coin, rule) = match payout {
        Payout::Exact => return Some(Money { amount: exact, ..total }),
        Payout::NearestFive => (5, Rounding::HalfUp),
        Payout::DownFive => (5, Rounding::Down),
        Payout::NearestTen => (10, cents),
    };
    let coin = Decimal::new(coin, 2);
    let coins = rule.decimal(exact.checked_div(coin)?, 0);
    let mut amount = coins.checked_mul(coin)?;
    amount.rescale(2);
    Some(Money { amount, ..total })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Currency;
    use proptest::prelude::*;
    use std::str::FromStr;

    fn pay(amount: &str, payout: Payout, cents: Rounding) -> String {
        let total = Money { amount: Decimal::from_str(amount).unwrap(), currency: Currency::parse("CAD").unwrap() };
        paid(total, payout, cents).unwrap().amount.to_string()
    }

    /// Canada Revenue Agency, "Eliminating the penny", 2013: the table of last digits.
    #[test]
    fn the_published_table() {
        for (digit, change) in [0, -1, -2, 2, 1, 0, -1, -2, 2, 1].into_iter().enumerate() {
            let cents = 1230 + digit as i64;
            let expected = Decimal::new(cents + change, 2).to_string();
            assert_eq!(pay(&Decimal::new(cents, 2).to_string(), Payout::NearestFive, Rounding::HalfUp), expected, "{cents}");
        }
        for (exact, expected) in [("5.97", "5.95"), ("5.98", "6.00"), ("202.27", "202.25"), ("0.02", "0.00"), ("0.03", "0.05")] {
            assert_eq!(pay(exact, Payout::NearestFive, Rounding::HalfUp), expected);
        }
    }

    /// The tie on which two tills part; the rule of the cents is named.
    #[test]
    fn a_tie_goes_by_the_named_rule() {
        assert_eq!(pay("12.325", Payout::NearestFive, Rounding::HalfUp), "12.35");
        assert_eq!(pay("12.325", Payout::NearestFive, Rounding::HalfEven), "12.30");
        assert_eq!(pay("12.325", Payout::Exact, Rounding::HalfUp), "12.33");
        assert_eq!(pay("12.99", Payout::DownFive, Rounding::HalfUp), "12.95");
        assert_eq!(pay("12.25", Payout::NearestTen, Rounding::HalfUp), "12.30");
        assert_eq!(pay("12.25", Payout::NearestTen, Rounding::HalfEven), "12.20");
    }

    proptest! {
        #[test]
        fn nearest_five_is_within_two_cents(cents in -1_000_000_i64..1_000_000) {
            let exact = Decimal::new(cents, 2);
            let got = Decimal::from_str(&pay(&exact.to_string(), Payout::NearestFive, Rounding::HalfUp)).unwrap();
            prop_assert!((got - exact).abs() <= Decimal::new(2, 2));
            prop_assert!((got / Decimal::new(5, 2)).is_integer());
        }
    }
}
