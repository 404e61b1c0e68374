//! Decimal numbers for reckoning: what a decimal cannot hold comes back as none, never as a panic.

use crate::measure::{Mass, Rounding, Span};
use rust_decimal::{Decimal, MathematicalOps};

/// Nanoseconds in an hour.
const HOUR: i64 = 3_600_000_000_000;

/// Femtograms in a kilogram, as a power of ten.
const KILOGRAM_PLACES: u32 = 18;

/// Hours of a span.
pub fn hours(span: Span) -> Decimal {
    Decimal::from(span.0) / Decimal::from(HOUR)
}

/// The span of so many hours, to the nanosecond; none below nothing or beyond five centuries.
pub fn span_of_hours(hours: Decimal) -> Option<Span> {
    let nanoseconds = hours.checked_mul(Decimal::from(HOUR))?;
    u64::try_from(Rounding::HalfEven.decimal(nanoseconds, 0)).ok().map(Span)
}

/// Kilograms of a mass, exact; none beyond 7 × 10¹⁰ kg.
pub fn kilograms(mass: Mass) -> Option<Decimal> {
    Decimal::try_from_i128_with_scale(mass.femtograms(), KILOGRAM_PLACES).ok()
}

/// The mass of so many kilograms, to the femtogram.
pub fn mass_of_kilograms(kilograms: Decimal) -> Option<Mass> {
    // Rescaled by hand: the product would not fit a decimal's 28 digits.
    let cut = Rounding::HalfEven.decimal(kilograms.trunc_with_scale(KILOGRAM_PLACES + 1), KILOGRAM_PLACES);
    let power = 10_i128.checked_pow(KILOGRAM_PLACES.checked_sub(cut.scale())?)?;
    cut.mantissa().checked_mul(power).map(Mass::from_femtograms)
}

/// The square root; none of a negative number.
pub fn root(square: Decimal) -> Option<Decimal> {
    square.sqrt()
}

/// `√(a² + b² + …)` without leaving what a decimal can hold, whatever the size of the parts.
pub fn quadrature(parts: &[Decimal]) -> Option<Decimal> {
    let largest = parts.iter().map(Decimal::abs).max().unwrap_or_default();
    if largest.is_zero() {
        return Some(Decimal::ZERO);
    }
    let mut sum = Decimal::ZERO;
    for part in parts {
        let share = part.checked_div(largest)?;
        sum = sum.checked_add(share.checked_mul(share)?)?;
    }
    root(sum)?.checked_mul(largest)
}

/// The sum; none when it leaves what a decimal can hold.
pub fn sum(parts: impl IntoIterator<Item = Decimal>) -> Option<Decimal> {
    parts.into_iter().try_fold(Decimal::ZERO, Decimal::checked_add)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn masses_and_spans_come_back(femtograms in -1_000_000_000_000_000_000_000_000_i128..1_000_000_000_000_000_000_000_000, seconds in 0_u64..10_000_000) {
            let mass = Mass::from_femtograms(femtograms);
            prop_assert_eq!(mass_of_kilograms(kilograms(mass).unwrap()), Some(mass));
            let span = Span::seconds(seconds);
            let back = span_of_hours(hours(span)).unwrap();
            prop_assert!(back.0.abs_diff(span.0) <= 1);
        }
    }

    #[test]
    fn the_sides_of_a_right_angle_of_any_size() {
        for size in [Decimal::new(1, 9), Decimal::ONE, Decimal::from(10_000_000_000_000_000_i64)] {
            let got = quadrature(&[size * Decimal::from(3), size * Decimal::from(-4)]).unwrap();
            assert_eq!(got.round_sf(12), (size * Decimal::from(5)).round_sf(12));
        }
        assert_eq!(root(Decimal::NEGATIVE_ONE), None);
        assert_eq!(span_of_hours(Decimal::NEGATIVE_ONE), None);
    }
}
