//! Sharing a whole out so that the shares add up to it to the last cent or femtogram.

use crate::measure::Mass;
use rust_decimal::Decimal;

/// Weights are compared to a microgram: finer would leave an `i128`, and no scale shows it.
const MICROGRAM: i128 = 1_000_000_000;

/// A mass by masses. Without any weight the last share takes it all; with no share at all nothing is shared.
pub fn mass(total: Mass, by: &[Mass]) -> Vec<Mass> {
    shares(total.femtograms(), by).into_iter().map(Mass::from_femtograms).collect()
}

/// An amount by masses, in units of its own last decimal.
pub fn money(total: Decimal, by: &[Mass]) -> Vec<Decimal> {
    let shared = shares(total.mantissa(), by);
    shared.into_iter().map(|share| Decimal::try_from_i128_with_scale(share, total.scale()).unwrap_or_default()).collect()
}

/// An amount by amounts, whole cents of each; what is below nothing takes no share.
pub fn money_by_amounts(total: Decimal, by: &[Decimal]) -> Vec<Decimal> {
    let cents = |amount: &Decimal| crate::measure::Rounding::HalfUp.decimal(*amount, 2).mantissa();
    let weights: Vec<Mass> = by.iter().map(|amount| Mass::from_femtograms(cents(amount) * MICROGRAM)).collect();
    money(total, &weights)
}

/// Each share is rounded down, and what is left goes one by one to those that lost the most by it.
fn shares(total: i128, by: &[Mass]) -> Vec<i128> {
    let weights: Vec<i128> = by.iter().map(|mass| (mass.femtograms() / MICROGRAM).max(0)).collect();
    let sum: i128 = weights.iter().sum();
    let mut shares = vec![0; weights.len()];
    if sum == 0 {
        if let Some(last) = shares.last_mut() {
            *last = total;
        }
        return shares;
    }
    let (sign, size) = (total.signum(), total.abs());
    let (whole, rest) = (size / sum, size % sum);
    let mut lost: Vec<(i128, usize)> = Vec::new();
    for (at, weight) in weights.iter().enumerate() {
        shares[at] = whole * weight + rest * weight / sum;
        lost.push((rest * weight % sum, at));
    }
    let left = size - shares.iter().sum::<i128>();
    lost.sort_by_key(|(lost, at)| (-lost, *at));
    for (_, at) in lost.into_iter().take(usize::try_from(left).unwrap_or_default()) {
        shares[at] += 1;
    }
    shares.into_iter().map(|share| share * sign).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn nothing_is_made_or_lost(cents in -9_000_000_i64..9_000_000, grams in proptest::collection::vec(0_i64..900_000, 1..12), total in 0_i64..9_000_000) {
            let by: Vec<Mass> = grams.iter().map(|grams| Mass::grams(*grams)).collect();
            let amount = Decimal::new(cents, 2);
            let paid = money(amount, &by);
            prop_assert_eq!(paid.iter().sum::<Decimal>(), amount);
            prop_assert_eq!(mass(Mass::grams(total), &by).into_iter().sum::<Mass>(), Mass::grams(total));
            let whole: i64 = grams.iter().sum();
            for (share, grams) in paid.iter().zip(&grams) {
                if whole > 0 {
                    let exact = amount * Decimal::from(*grams) / Decimal::from(whole);
                    prop_assert!((share - exact).abs() < Decimal::new(1, 2) + Decimal::new(1, 12));
                }
            }
        }
    }

    #[test]
    fn the_last_cents_go_where_most_was_lost() {
        let by = [1, 1, 1].map(Mass::grams);
        let paid = money(Decimal::new(1000, 2), &by);
        assert_eq!(paid, [Decimal::new(334, 2), Decimal::new(333, 2), Decimal::new(333, 2)]);
        assert_eq!(money(Decimal::ONE, &[Mass::ZERO, Mass::ZERO]), [Decimal::ZERO, Decimal::ONE]);
        assert_eq!(money(Decimal::ONE, &[]), []);
    }
}
