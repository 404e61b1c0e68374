//! Standard uncertainty of weighed masses, kept as a variance.

use super::Mass;
use serde::{Deserialize, Serialize};

/// Femtograms in a microgram: variances are kept in µg², in which a division of 10 kg still fits a `u128`.
const MICROGRAM: i128 = 1_000_000_000;

/// Twelve times a variance, in µg². Twelve keeps the rectangular distribution's d²/12 a whole number
/// (JCGM 100:2008, F.2.2.1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Variance(u128);

impl Variance {
    pub const ZERO: Variance = Variance(0);

    /// One reading of a display with this division: d²/12 (JCGM 100:2008, F.2.2.1).
    pub fn of_reading(division: Mass) -> Variance {
        let d = micrograms(division);
        Variance(d * d)
    }

    /// The difference of two readings of one display: d²/6, a triangle of half-width d.
    pub fn of_difference(division: Mass) -> Variance {
        Variance::of_reading(division).plus(Variance::of_reading(division))
    }

    /// A value whose error is anywhere within ± `half` with equal chance: half²/3 (JCGM 100:2008, 4.3.7).
    pub fn of_half_width(half: Mass) -> Variance {
        let a = micrograms(half);
        Variance(4 * a * a)
    }

    /// The variance of a known standard uncertainty.
    pub fn of_standard(standard: Mass) -> Variance {
        let u = micrograms(standard);
        Variance(12 * u * u)
    }

    /// The scatter of a bench: `spread` is the standard deviation of set-backs of unchanged loads as the display showed them.
    /// The division is in that scatter already, so its share is taken out before it is added again (JCGM 100:2008, 4.3.10).
    pub fn of_scatter(spread: Mass, division: Mass) -> Variance {
        Variance::of_standard(spread).minus(Variance::of_difference(division))
    }

    /// `times` separate loads, each with its own two readings; chained ones count as a single load.
    pub const fn times(self, times: u32) -> Variance {
        Variance(self.0.saturating_mul(times as u128))
    }

    /// Sum of independent variances (JCGM 100:2008, 5.1.5).
    pub fn plus(self, other: Variance) -> Variance {
        Variance(self.0.saturating_add(other.0))
    }

    pub fn minus(self, other: Variance) -> Variance {
        Variance(self.0.saturating_sub(other.0))
    }

    /// `factor` × the standard uncertainty, rounded up to a microgram: k = 2 gives about 95 %
    /// (JCGM 100:2008, G.6.6).
    pub fn expanded(self, factor: u32) -> Mass {
        let scaled = self.0.saturating_mul(u128::from(factor) * u128::from(factor));
        let root = (scaled / 12).isqrt();
        let root = if root * root * 12 < scaled { root + 1 } else { root };
        Mass::from_femtograms(root as i128 * MICROGRAM)
    }
}

/// Rounded up, so that an uncertainty is never made smaller.
fn micrograms(mass: Mass) -> u128 {
    mass.femtograms().unsigned_abs().div_ceil(MICROGRAM as u128)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Rounding, Unit};

    fn grams(mass: Mass, places: u8) -> String {
        mass.rounded(Unit::Gram, places, Rounding::HalfEven)
    }

    /// JCGM 100:2008, F.2.2.1: a last digit of 1 g gives u = 0.29 g even when every repeat is the same.
    #[test]
    fn the_guide_s_own_weighing_example() {
        assert_eq!(grams(Variance::of_reading(Mass::grams(1)).expanded(1), 6), "0.288676");
    }

    /// A net of two readings (two rectangles, JCGM 100:2008, F.2.2.1 and 5.1.5), and ten loads that were weighed apart.
    #[test]
    fn a_net_of_two_readings() {
        let one = Variance::of_difference(Mass::grams(1));
        assert_eq!(grams(one.expanded(1), 4), "0.4082");
        assert_eq!(grams(one.expanded(2), 4), "0.8165");
        let ten = (0..10).fold(Variance::ZERO, |sum, _| sum.plus(one));
        assert_eq!(grams(ten.expanded(2), 3), "2.582");
        assert_eq!(ten, one.times(10));
    }

    /// JCGM 100:2008, 4.3.10: what the division adds to a scatter is in it already.
    #[test]
    fn a_scatter_holds_the_division_once() {
        let spread = Variance::of_scatter(Mass::grams(2), Mass::grams(1));
        assert_eq!(spread.plus(Variance::of_difference(Mass::grams(1))).expanded(1), Mass::grams(2));
        assert_eq!(Variance::of_scatter(Mass::ZERO, Mass::grams(1)), Variance::ZERO);
    }

    /// JCGM 100:2008, 4.3.7: half-width 0.40 gives 0.23.
    #[test]
    fn a_rectangle() {
        let half = Mass::parse("0.4", Unit::Gram).unwrap();
        assert_eq!(grams(Variance::of_half_width(half).expanded(1), 2), "0.23");
    }
}
