//! Uncertainty of what was weighed, put together as the guide says, and shown with two digits.
//!
//! JCGM 100:2008 throughout: 5.1.5 for what is independent, 5.2.2 for what all parts share, G.4.1 for degrees of freedom,
//! 7.2.6 for the digits.

use super::number::{quadrature, root, sum};
use super::student::t95;
use crate::measure::{Mass, Moment, Variance};
use rust_decimal::{Decimal, RoundingStrategy};
use std::collections::BTreeMap;

/// A net weight as the difference of two rests of one epoch, by the moments since which they held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    pub from: Moment,
    pub to: Moment,
}

/// The variance of the sum of such differences on a display of this division. A rest that ends one and begins the next
/// cancels: a chain keeps its two ends only, and separate loads add up.
pub fn of_links(links: &[Link], division: Mass) -> Variance {
    let mut times: BTreeMap<Moment, i64> = BTreeMap::new();
    for link in links {
        *times.entry(link.to).or_default() += 1;
        *times.entry(link.from).or_default() -= 1;
    }
    let one = Variance::of_reading(division);
    times.values().fold(Variance::ZERO, |sum, times| {
        let factor = times.unsigned_abs().saturating_mul(times.unsigned_abs());
        sum.plus(one.times(u32::try_from(factor).unwrap_or(u32::MAX)))
    })
}

/// What was weighed on one scale: its calibration error is common to all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnOneScale {
    pub mass: Mass,
    /// Of the readings: division and scatter.
    pub readings: Variance,
    /// Standard uncertainty of the calibration in parts per million of the load; none where no check weight bounds it.
    pub calibration_ppm: Option<u32>,
}

/// A total over scales.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Combined {
    pub mass: Mass,
    pub variance: Variance,
    /// What was weighed where nothing bounds the calibration: its share of the uncertainty is not in the variance.
    pub unbounded: Mass,
}

/// Within a scale the calibration error adds linearly, since it pushes every load the same way; between scales in quadrature.
pub fn combined(scales: &[OnOneScale]) -> Combined {
    let mut total = Combined { mass: Mass::ZERO, variance: Variance::ZERO, unbounded: Mass::ZERO };
    for scale in scales {
        total.mass += scale.mass;
        total.variance = total.variance.plus(scale.readings);
        match scale.calibration_ppm {
            Some(ppm) => {
                let common = Mass::from_femtograms(scale.mass.femtograms().saturating_mul(i128::from(ppm)) / 1_000_000);
                total.variance = total.variance.plus(Variance::of_standard(common));
            }
            None => total.unbounded += scale.mass,
        }
    }
    total
}

/// One part of a budget, with the degrees of freedom behind it; none means that it is known well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    pub standard: Decimal,
    pub freedom: Option<u32>,
}

/// A budget put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    pub standard: Decimal,
    /// Effective degrees of freedom, not yet truncated (JCGM 100:2008, G.2b); none when every part is known well.
    pub freedom: Option<Decimal>,
}

impl Budget {
    /// Half the width of the 95 % interval: t for the degrees of freedom cut to a whole number, and for a well known one k = 2
    /// (JCGM 100:2008, G.4.1 and G.6.6).
    pub fn expanded(&self) -> Option<Decimal> {
        let factor = match self.freedom {
            Some(freedom) => t95(u32::try_from(freedom.trunc()).unwrap_or(u32::MAX))?,
            None => Decimal::TWO,
        };
        factor.checked_mul(self.standard)
    }
}

/// Independent parts in quadrature, their degrees of freedom by Welch and Satterthwaite.
pub fn budget(parts: &[Part]) -> Option<Budget> {
    let standards: Vec<Decimal> = parts.iter().map(|part| part.standard).collect();
    let standard = quadrature(&standards)?;
    let mut weighed = Decimal::ZERO;
    for part in parts {
        let Some(freedom) = part.freedom.filter(|_| !part.standard.is_zero()) else { continue };
        let share = part.standard.checked_div(standard)?;
        let square = share.checked_mul(share)?;
        weighed = weighed.checked_add(square.checked_mul(square)?.checked_div(Decimal::from(freedom))?)?;
    }
    let freedom = if weighed.is_zero() { None } else { Some(Decimal::ONE.checked_div(weighed)?) };
    Some(Budget { standard, freedom })
}

/// Mean and scatter of repeated observations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Repeats {
    pub mean: Decimal,
    /// Experimental standard deviation (JCGM 100:2008, 4.2.2).
    pub deviation: Decimal,
    /// Of the mean (4.2.3).
    pub standard: Decimal,
    pub freedom: u32,
}

/// None under two observations: a scatter of one is none.
pub fn repeats(observed: &[Decimal]) -> Option<Repeats> {
    let count = Decimal::from(observed.len());
    let freedom = u32::try_from(observed.len().checked_sub(1)?).ok().filter(|freedom| *freedom > 0)?;
    let mean = sum(observed.iter().copied())?.checked_div(count)?;
    let strays: Option<Vec<Decimal>> = observed.iter().map(|one| one.checked_sub(mean)).collect();
    let deviation = quadrature(&strays?)?.checked_div(root(Decimal::from(freedom))?)?;
    Some(Repeats { mean, deviation, standard: deviation.checked_div(root(count)?)?, freedom })
}

/// A value and its uncertainty as they are shown: two significant digits of the uncertainty, and the value to the same place
/// (JCGM 100:2008, 7.2.6). An uncertainty of nothing leaves the value as it is.
pub fn two_digits(value: Decimal, standard: Decimal) -> (Decimal, Decimal) {
    let Some(shown) = standard.round_sf_with_strategy(2, RoundingStrategy::MidpointAwayFromZero).filter(|shown| !shown.is_zero())
    else {
        return (value, standard);
    };
    let mut shown = shown;
    if shown.scale() > 0 || shown.mantissa().unsigned_abs() < 100 {
        let places = places_of_two(shown);
        shown.rescale(places);
        let mut value = value.round_dp_with_strategy(places, RoundingStrategy::MidpointNearestEven);
        value.rescale(places);
        return (value, shown);
    }
    // Above a hundred the last shown digit stands left of the point.
    let mut unit = Decimal::ONE;
    while (shown / unit) >= Decimal::ONE_HUNDRED {
        unit *= Decimal::TEN;
    }
    let steps = (value / unit).round_dp_with_strategy(0, RoundingStrategy::MidpointNearestEven);
    (steps * unit, shown)
}

/// Decimals with which a number of two significant digits is written.
fn places_of_two(shown: Decimal) -> u32 {
    let mut places = 0;
    let mut scaled = shown.abs();
    while scaled < Decimal::TEN && places < 27 {
        scaled *= Decimal::TEN;
        places += 1;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Rounding, Unit};
    use proptest::prelude::*;
    use std::str::FromStr;

    fn number(text: &str) -> Decimal {
        Decimal::from_str(text).unwrap()
    }

    #[test]
    fn shown_with_two_digits() {
        for (value, standard, shown_value, shown_standard) in [
            ("100.02147", "0.00035", "100.02147", "0.00035"),
            ("10000025.3", "29.2617", "10000025", "29"),
            ("12.3456", "0.0996", "12.35", "0.10"),
            ("8.5171", "0.011193", "8.517", "0.011"),
            ("12345", "678", "12340", "680"),
            ("12355", "678", "12360", "680"),
            ("12.5", "0", "12.5", "0"),
            ("3", "9.96", "3", "10"),
        ] {
            let (value, standard) = two_digits(number(value), number(standard));
            assert_eq!((value.to_string().as_str(), standard.to_string().as_str()), (shown_value, shown_standard));
        }
    }

    #[test]
    fn an_unchecked_scale_is_named() {
        let checked = OnOneScale { mass: Mass::grams(1000), readings: Variance::ZERO, calibration_ppm: Some(1000) };
        let unchecked = OnOneScale { calibration_ppm: None, ..checked };
        let total = combined(&[checked, unchecked]);
        assert_eq!((total.mass, total.unbounded), (Mass::grams(2000), Mass::grams(1000)));
        assert_eq!(total.variance.expanded(1), Mass::grams(1));
        let two = combined(&[checked, checked]).variance.expanded(1);
        assert_eq!(two.rounded(Unit::Gram, 4, Rounding::HalfEven), "1.4142", "two scales push independently");
    }

    proptest! {
        #[test]
        fn a_chain_costs_no_more_than_one_load(count in 1_u64..200, separate in 1_u64..200) {
            let division = Mass::grams(1);
            let chain: Vec<Link> = (0..count).map(|n| Link { from: Moment(n), to: Moment(n + 1) }).collect();
            prop_assert_eq!(of_links(&chain, division), Variance::of_difference(division));
            let apart: Vec<Link> = (0..separate).map(|n| Link { from: Moment(2 * n), to: Moment(2 * n + 1) }).collect();
            prop_assert_eq!(of_links(&apart, division), Variance::of_difference(division).times(separate as u32));
        }
    }
}
