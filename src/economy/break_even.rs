//! Where taking apart stops paying: the price, the yield, or the minutes at which an hour brings just the owner's floor.

use super::number::{hours, kilograms, span_of_hours};
use super::pay::Sums;
use crate::measure::{Mass, Span};
use rust_decimal::Decimal;

/// Where the line lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BreakEven<T> {
    /// Better than this pays, worse does not.
    At(T),
    /// It pays whatever this one figure is.
    Always,
    /// No value of this figure alone makes it pay.
    Never,
}

/// One grade of the outputs: what came out, and what it is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GradeShare {
    pub mass: Mass,
    pub value: Decimal,
}

/// What the grade would have to bring in all, the rest as it is: the floor for the hours, the whole value and the costs, less
/// what the other grades bring. None beyond what a decimal can hold.
fn needed(sums: &Sums, share: GradeShare, floor: Decimal) -> Option<Decimal> {
    let others = sums.outputs.checked_sub(share.value)?;
    let costs = sums.whole.checked_add(sums.consumables)?.checked_add(sums.disposal)?;
    costs.checked_add(floor.checked_mul(hours(sums.hands_on))?)?.checked_sub(others)
}

/// The price of a kilogram of the grade at which an hour brings `floor`.
pub fn price(sums: &Sums, share: GradeShare, floor: Decimal) -> Option<BreakEven<Decimal>> {
    each(needed(sums, share, floor)?, kilograms(share.mass)?)
}

/// The price of a piece of the grade at which an hour brings `floor`. Pieces are those that `share.value` stands on: each lot's
/// part of the last count by weight, which need not be whole.
pub fn piece_price(sums: &Sums, share: GradeShare, pieces: Decimal, floor: Decimal) -> Option<BreakEven<Decimal>> {
    each(needed(sums, share, floor)?, pieces)
}

fn each(needed: Decimal, number: Decimal) -> Option<BreakEven<Decimal>> {
    if needed <= Decimal::ZERO {
        return Some(BreakEven::Always);
    }
    if number <= Decimal::ZERO {
        return Some(BreakEven::Never);
    }
    Some(BreakEven::At(needed.checked_div(number)?))
}

/// The part of the intake that must come out as the grade, at its price as it is. More than all of it is never.
pub fn recovery(sums: &Sums, share: GradeShare, intake: Mass, floor: Decimal) -> Option<BreakEven<Decimal>> {
    let needed = needed(sums, share, floor)?;
    if needed <= Decimal::ZERO {
        return Some(BreakEven::Always);
    }
    let (mass, intake) = (kilograms(share.mass)?, kilograms(intake)?);
    if mass <= Decimal::ZERO || share.value <= Decimal::ZERO || intake <= Decimal::ZERO {
        return Some(BreakEven::Never);
    }
    let part = needed.checked_div(share.value)?.checked_mul(mass)?.checked_div(intake)?;
    Some(if part > Decimal::ONE { BreakEven::Never } else { BreakEven::At(part) })
}

/// The hands-on time within which the same outputs pay.
pub fn time(sums: &Sums, floor: Decimal) -> Option<BreakEven<Span>> {
    let added = sums.added()?;
    if added <= Decimal::ZERO {
        return Some(BreakEven::Never);
    }
    if floor <= Decimal::ZERO {
        return Some(BreakEven::Always);
    }
    Some(BreakEven::At(span_of_hours(added.checked_div(floor)?)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sums(outputs: i64, whole: i64, minutes: u64) -> Sums {
        Sums {
            outputs: Decimal::new(outputs, 2),
            whole: Decimal::new(whole, 2),
            consumables: Decimal::new(50, 2),
            disposal: Decimal::ZERO,
            hands_on: Span::seconds(60 * minutes),
            elapsed: Span::ZERO,
        }
    }

    fn share(grams: i64, value: i64) -> GradeShare {
        GradeShare { mass: Mass::grams(grams), value: Decimal::new(value, 2) }
    }

    #[test]
    fn always_and_never() {
        let cheap = sums(1000, 0, 60);
        assert_eq!(price(&cheap, share(1000, 100), Decimal::ONE), Some(BreakEven::Always), "the others carry it");
        assert_eq!(price(&sums(10, 1000, 60), share(0, 0), Decimal::ONE), Some(BreakEven::Never));
        assert_eq!(piece_price(&cheap, share(1000, 100), Decimal::ONE, Decimal::ONE), Some(BreakEven::Always));
        assert_eq!(piece_price(&sums(10, 1000, 60), share(0, 0), Decimal::ZERO, Decimal::ONE), Some(BreakEven::Never));
        assert_eq!(recovery(&sums(100, 1000, 60), share(1000, 100), Mass::grams(2000), Decimal::ONE), Some(BreakEven::Never));
        assert_eq!(time(&sums(100, 1000, 60), Decimal::ONE), Some(BreakEven::Never));
        assert_eq!(time(&cheap, Decimal::ZERO), Some(BreakEven::Always));
        assert_eq!(time(&cheap, Decimal::TEN), Some(BreakEven::At(Span::seconds(57 * 60))));
    }

    proptest! {
        #[test]
        fn at_the_line_an_hour_brings_the_floor(outputs in 1_i64..100_000, whole in 0_i64..50_000, minutes in 1_u64..600, grams in 1_i64..100_000, part in 1_i64..100, floor in 1_i64..5000) {
            let floor = Decimal::new(floor, 2);
            let value = (outputs * part / 100).max(1);
            let before = sums(outputs, whole, minutes);
            let grade = share(grams, value);
            let rate = |sums: &Sums| sums.added().unwrap() / hours(sums.hands_on);
            if let Some(BreakEven::At(price)) = price(&before, grade, floor) {
                let changed = before.outputs - grade.value + price * kilograms(grade.mass).unwrap();
                prop_assert_eq!(rate(&Sums { outputs: changed, ..before }).round_dp(9), floor);
            }
            let pieces = Decimal::new(grams, 1);
            if let Some(BreakEven::At(price)) = piece_price(&before, grade, pieces, floor) {
                let changed = before.outputs - grade.value + price * pieces;
                prop_assert_eq!(rate(&Sums { outputs: changed, ..before }).round_dp(9), floor);
            }
            if let Some(BreakEven::At(span)) = time(&before, floor) {
                prop_assert_eq!(rate(&Sums { hands_on: span, ..before }).round_dp(4), floor);
            }
            let intake = Mass::grams(grams * 3);
            if let Some(BreakEven::At(part)) = recovery(&before, grade, intake, floor) {
                let kept = part * kilograms(intake).unwrap() / kilograms(grade.mass).unwrap();
                let changed = before.outputs - grade.value + kept * grade.value;
                prop_assert_eq!(rate(&Sums { outputs: changed, ..before }).round_dp(9), floor);
            }
        }
    }
}
