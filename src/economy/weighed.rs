//! A mass with the uncertainty of its weighing.

use super::number::{kilograms, quadrature};
use crate::measure::{Mass, Variance};
use rust_decimal::Decimal;

/// A mass with the variance of its weighing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Weighed {
    pub mass: Mass,
    pub variance: Variance,
}

impl Weighed {
    pub const NOTHING: Weighed = Weighed { mass: Mass::ZERO, variance: Variance::ZERO };
}

/// The sum of what was weighed apart.
pub fn total(parts: impl IntoIterator<Item = Weighed>) -> Weighed {
    parts
        .into_iter()
        .fold(Weighed::NOTHING, |sum, part| Weighed { mass: sum.mass + part.mass, variance: sum.variance.plus(part.variance) })
}

/// Standard uncertainty of one mass over another, weighed apart (JCGM 100:2008, 5.1.3): `√(u(a)² + r²·u(b)²) / b`.
/// None where there is nothing below.
pub fn of_quotient(above: Weighed, below: Weighed) -> Option<Decimal> {
    let whole = kilograms(below.mass).filter(|whole| *whole > Decimal::ZERO)?;
    let ratio = kilograms(above.mass)?.checked_div(whole)?;
    let standard = |weighed: Weighed| kilograms(weighed.variance.expanded(1));
    quadrature(&[standard(above)?, ratio.checked_mul(standard(below)?)?])?.checked_div(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A kilogram and 200 g, each a difference of two readings of 1 g: u = 0.40825 g each (JCGM 100:2008, F.2.2.1), so
    /// √(0.40825² + (0.2·0.40825)²) / 1000 = 0.00041633.
    #[test]
    fn a_quotient() {
        let weighed = |grams| Weighed { mass: Mass::grams(grams), variance: Variance::of_difference(Mass::grams(1)) };
        assert_eq!(of_quotient(weighed(200), weighed(1000)).unwrap().round_dp(7).to_string(), "0.0004163");
        assert_eq!(of_quotient(weighed(200), Weighed::NOTHING), None);
    }
}
