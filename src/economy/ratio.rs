//! Total over total: the ratio of two sums over lots, with its interval.
//!
//! Lots differ in size, so the mean of their own ratios answers another question than what all of them brought for all of
//! what they took. The estimator and its standard error are those of W. G. Cochran, *Sampling Techniques*, chapter 6
//! (named from memory); the jackknife beside it takes one lot out at a time and shares no formula with it.

use super::interval::{Cut, Interval};
use super::number::{quadrature, root, sum};
use super::student::t95;
use rust_decimal::Decimal;

/// Under so many lots only points are shown: a t-interval over three says little but that they are few.
pub const LOTS_FOR_INTERVAL: usize = 4;

/// One lot: what stands above the line, and what below. Below is never negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pair {
    pub above: Decimal,
    pub below: Decimal,
}

/// A ratio, as far as the lots allow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ratio {
    Cannot(Cannot),
    /// Too few lots for an interval: each lot's own ratio (none where nothing stands below), and the totals'.
    Points {
        ratio: Decimal,
        points: Vec<Option<Decimal>>,
    },
    Pooled(Pooled),
}

/// Why there is no ratio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cannot {
    NoLot,
    /// All that stands below comes to nothing.
    NothingBelow,
    /// This lot has less than nothing below.
    NegativeBelow {
        lot: usize,
    },
    /// Beyond what can be reckoned exactly.
    TooLarge,
}

/// Four lots or more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pooled {
    pub ratio: Decimal,
    pub lots: usize,
    pub standard_error: Decimal,
    /// 95 %, with t for one degree of freedom less than there are lots.
    pub interval: Interval,
    /// None where one lot alone holds all that stands below.
    pub jackknife: Option<Jackknife>,
}

/// The same from the ratios that are left when each lot is taken out in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Jackknife {
    /// With the estimator's bias of the first order taken out.
    pub ratio: Decimal,
    pub standard_error: Decimal,
    /// Both standard errors lie within a factor of two: a rule of thumb of ours. When it does not hold, one lot rules the
    /// figure.
    pub agrees: bool,
}

impl Ratio {
    /// The ratio without its interval.
    pub fn point(&self) -> Option<Decimal> {
        match self {
            Ratio::Cannot(_) => None,
            Ratio::Points { ratio, .. } => Some(*ratio),
            Ratio::Pooled(pooled) => Some(pooled.ratio),
        }
    }

    pub fn interval(&self) -> Option<Interval> {
        match self {
            Ratio::Pooled(pooled) => Some(pooled.interval),
            Ratio::Cannot(_) | Ratio::Points { .. } => None,
        }
    }

    /// The interval of a part of a whole, which is neither less than nothing nor more than all. Where the totals themselves are,
    /// something is booked wrongly, and the interval is shown as it comes.
    pub fn part(&self) -> Option<Cut> {
        let (interval, point) = (self.interval()?, self.point()?);
        let can_be = (Decimal::ZERO..=Decimal::ONE).contains(&point);
        let cut = interval.within(Decimal::ZERO, Decimal::ONE).filter(|_| can_be);
        Some(cut.unwrap_or(Cut { interval, low: false, high: false }))
    }
}

/// The ratio over closed lots.
pub fn ratio(lots: &[Pair]) -> Ratio {
    if lots.is_empty() {
        return Ratio::Cannot(Cannot::NoLot);
    }
    if let Some(lot) = lots.iter().position(|pair| pair.below < Decimal::ZERO) {
        return Ratio::Cannot(Cannot::NegativeBelow { lot });
    }
    if lots.iter().all(|pair| pair.below.is_zero()) {
        return Ratio::Cannot(Cannot::NothingBelow);
    }
    reckon(lots).unwrap_or(Ratio::Cannot(Cannot::TooLarge))
}

fn reckon(lots: &[Pair]) -> Option<Ratio> {
    let above = sum(lots.iter().map(|pair| pair.above))?;
    let below = sum(lots.iter().map(|pair| pair.below))?;
    let ratio = above.checked_div(below)?;
    if lots.len() < LOTS_FOR_INTERVAL {
        let points = lots.iter().map(|pair| pair.above.checked_div(pair.below)).collect();
        return Some(Ratio::Points { ratio, points });
    }
    let count = Decimal::from(lots.len());
    let lots_less_one = count - Decimal::ONE;
    let strays: Option<Vec<Decimal>> = lots.iter().map(|pair| pair.above.checked_sub(ratio.checked_mul(pair.below)?)).collect();
    // √(Σ(v − R·h)² / (n(n−1))) / h̄, with h̄ = Σh / n.
    let spread = quadrature(&strays?)?.checked_div(root(lots_less_one.checked_mul(count)?)?)?;
    let standard_error = spread.checked_mul(count)?.checked_div(below)?;
    let freedom = u32::try_from(lots.len() - 1).ok()?;
    let half = t95(freedom)?.checked_mul(standard_error)?;
    Some(Ratio::Pooled(Pooled {
        ratio,
        lots: lots.len(),
        standard_error,
        interval: Interval::around(ratio, half)?,
        jackknife: jackknife(lots, above, below, ratio, standard_error),
    }))
}

fn jackknife(lots: &[Pair], above: Decimal, below: Decimal, ratio: Decimal, standard_error: Decimal) -> Option<Jackknife> {
    let count = Decimal::from(lots.len());
    let without: Option<Vec<Decimal>> =
        lots.iter().map(|pair| above.checked_sub(pair.above)?.checked_div(below.checked_sub(pair.below)?)).collect();
    let without = without?;
    let mean = sum(without.iter().copied())?.checked_div(count)?;
    let lots_less_one = count - Decimal::ONE;
    let unbiased = count.checked_mul(ratio)?.checked_sub(lots_less_one.checked_mul(mean)?)?;
    let strays: Option<Vec<Decimal>> = without.iter().map(|one| one.checked_sub(mean)).collect();
    let error = quadrature(&strays?)?.checked_mul(root(lots_less_one.checked_div(count)?)?)?;
    let within = |one: Decimal, other: Decimal| one <= other.saturating_mul(Decimal::TWO);
    let agrees = within(error, standard_error) && within(standard_error, error);
    Some(Jackknife { ratio: unbiased, standard_error: error, agrees })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::str::FromStr;

    fn lots(pairs: &[(&str, &str)]) -> Vec<Pair> {
        let number = |text| Decimal::from_str(text).unwrap();
        pairs.iter().map(|(above, below)| Pair { above: number(above), below: number(below) }).collect()
    }

    /// Six stretches of work of our own making, reckoned apart from this code; no published source.
    const SIX: [(&str, &str); 6] =
        [("12.4", "1"), ("18.9", "1.5"), ("7.5", ".75"), ("22.0", "1.75"), ("15.2", "1.25"), ("9.8", "1")];

    #[test]
    fn six_lots() {
        let Ratio::Pooled(pooled) = ratio(&lots(&SIX)) else { panic!("six lots have an interval") };
        assert_eq!(pooled.ratio.round_dp(6).to_string(), "11.834483");
        assert_eq!(pooled.standard_error.round_dp(6).to_string(), "0.465690");
        assert_eq!(pooled.interval.low.round_dp(5).to_string(), "10.63739");
        assert_eq!(pooled.interval.high.round_dp(5).to_string(), "13.03158");
        assert!(pooled.jackknife.unwrap().agrees);
    }

    #[test]
    fn under_four_lots_only_points() {
        let Ratio::Points { ratio, points } = ratio(&lots(&SIX[..3])) else { panic!("three lots have no interval") };
        assert_eq!(ratio.round_dp(4).to_string(), "11.9385");
        assert_eq!(points[2], Some(Decimal::from(10)));
        assert!(super::ratio(&lots(&SIX[..4])).interval().is_some());
    }

    #[test]
    fn what_cannot_be_reckoned_is_said() {
        assert_eq!(ratio(&[]), Ratio::Cannot(Cannot::NoLot));
        assert_eq!(ratio(&lots(&[("1", "0"), ("2", "0")])), Ratio::Cannot(Cannot::NothingBelow));
        assert_eq!(ratio(&lots(&[("1", "1"), ("2", "-1")])), Ratio::Cannot(Cannot::NegativeBelow { lot: 1 }));
        let large = Pair { above: Decimal::MAX, below: Decimal::ONE };
        assert_eq!(ratio(&[large, large]), Ratio::Cannot(Cannot::TooLarge));
    }

    #[test]
    fn a_lot_that_rules_the_figure_is_seen() {
        let one_alone = lots(&[("9", "1"), ("0", "0"), ("0", "0"), ("1", "0")]);
        let Ratio::Pooled(pooled) = ratio(&one_alone) else { panic!("four lots") };
        assert_eq!(pooled.jackknife, None);
        let ruled = lots(&[("100", "1"), ("1", "1"), ("1", "1"), ("10", "100")]);
        let Ratio::Pooled(pooled) = ratio(&ruled) else { panic!("four lots") };
        assert!(!pooled.jackknife.unwrap().agrees);
    }

    #[test]
    fn a_part_of_a_whole_is_cut_at_nothing_and_at_all() {
        let uneven = lots(&[("0", "1"), ("0", "1"), ("0", "1"), ("1", "1")]);
        let (whole, part) = (ratio(&uneven).interval().unwrap(), ratio(&uneven).part().unwrap());
        assert!(whole.low < Decimal::ZERO && whole.high > Decimal::ONE);
        assert_eq!(part, Cut { interval: Interval { low: Decimal::ZERO, high: Decimal::ONE }, low: true, high: true });
        let calm = ratio(&lots(&[("0.4", "1"), ("0.5", "1"), ("0.5", "1"), ("0.6", "1")]));
        assert_eq!(calm.part().unwrap(), Cut { interval: calm.interval().unwrap(), low: false, high: false });
        // More came out than went in: not hidden by a cut.
        let booked_wrongly = ratio(&lots(&[("0", "1"), ("0", "1"), ("0", "1"), ("9", "1")]));
        assert_eq!(booked_wrongly.part().unwrap().interval, booked_wrongly.interval().unwrap());
        assert_eq!(ratio(&uneven[..3]).part(), None);
    }

    proptest! {
        #[test]
        fn lots_of_one_ratio_have_no_width(below in proptest::collection::vec(1_i64..10_000, 4..12), per in 1_i64..1000) {
            let lots: Vec<Pair> = below.iter().map(|below| Pair { above: Decimal::from(below * per), below: Decimal::from(*below) }).collect();
            let Ratio::Pooled(pooled) = ratio(&lots) else { panic!("four lots or more") };
            prop_assert_eq!(pooled.ratio, Decimal::from(per));
            prop_assert!(pooled.standard_error < Decimal::new(1, 12));
        }

        #[test]
        fn the_order_of_lots_changes_nothing(mut pairs in proptest::collection::vec((-1000_i64..1000, 1_i64..100), 4..10)) {
            let of = |pairs: &[(i64, i64)]| {
                let lots: Vec<Pair> = pairs.iter().map(|(above, below)| Pair { above: Decimal::from(*above), below: Decimal::from(*below) }).collect();
                let Ratio::Pooled(pooled) = ratio(&lots) else { panic!("four lots or more") };
                (pooled.ratio.round_dp(12), pooled.standard_error.round_dp(12))
            };
            let first = of(&pairs);
            pairs.reverse();
            prop_assert_eq!(first, of(&pairs));
        }
    }
}
