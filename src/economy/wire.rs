//! Stripping wire: recovery from weighed samples, and what a kilogram and an hour of it gain.

use super::interval::{Against, Interval};
use super::number::{hours, kilograms, sum};
use super::ratio::{Pair, Ratio, ratio};
use super::weighed::{Weighed, of_quotient, total};
use crate::measure::{Currency, Mass, Money, Span};
use rust_decimal::Decimal;

/// A length of wire, weighed before and after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    pub insulated: Weighed,
    /// The bare metal that came out of it.
    pub bare: Weighed,
}

/// The part of the wire that is metal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recovery {
    pub fraction: Decimal,
    /// The larger of what the scale may err by and of how samples differ, which holds the first already
    /// (JCGM 100:2008, 4.3.10). From under four samples the second is unknown.
    pub standard: Decimal,
    pub samples: Ratio,
}

/// Why samples are refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BadSample {
    NoSample,
    /// This sample weighs nothing, or less.
    Nothing {
        sample: usize,
    },
    /// More metal came out than wire went in.
    MoreThanWentIn {
        sample: usize,
    },
    TooLarge,
}

pub fn recovery(samples: &[Sample]) -> Result<Recovery, BadSample> {
    if samples.is_empty() {
        return Err(BadSample::NoSample);
    }
    for (at, sample) in samples.iter().enumerate() {
        if sample.insulated.mass <= Mass::ZERO || sample.bare.mass.is_negative() {
            return Err(BadSample::Nothing { sample: at });
        }
        if sample.bare.mass > sample.insulated.mass {
            return Err(BadSample::MoreThanWentIn { sample: at });
        }
    }
    pooled(samples).ok_or(BadSample::TooLarge)
}

fn pooled(samples: &[Sample]) -> Option<Recovery> {
    let pair = |sample: &Sample| Some(Pair { above: kilograms(sample.bare.mass)?, below: kilograms(sample.insulated.mass)? });
    let pairs: Option<Vec<Pair>> = samples.iter().map(pair).collect();
    let samples_ratio = ratio(&pairs?);
    let insulated = total(samples.iter().map(|sample| sample.insulated));
    let weighing = of_quotient(total(samples.iter().map(|sample| sample.bare)), insulated)?;
    let between = match &samples_ratio {
        Ratio::Pooled(pooled) => pooled.standard_error,
        Ratio::Cannot(_) | Ratio::Points { .. } => Decimal::ZERO,
    };
    Some(Recovery { fraction: samples_ratio.point()?, standard: weighing.max(between), samples: samples_ratio })
}

/// Prices of a kilogram, all of one day and buyer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WirePrices {
    pub currency: Currency,
    /// Sold as it is.
    pub insulated: Decimal,
    /// The bare metal.
    pub bare: Decimal,
    /// What it costs to be rid of a kilogram of insulation.
    pub disposal: Decimal,
}

/// How fast it goes: so much wire in so much time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pace {
    pub wire: Mass,
    pub hands_on: Span,
}

/// What stripping gains over selling the wire as it is. Unrounded: for comparing, not for paying.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stripping {
    pub currency: Currency,
    /// Per kilogram of insulated wire.
    pub per_kilogram: Decimal,
    pub per_kilogram_standard: Decimal,
    /// With a known pace.
    pub per_hour: Option<PerHour>,
    /// The recovery at which it stops paying, with the floor for the time where the pace is known; none when bare metal brings
    /// no more than nothing.
    pub least_recovery: Option<Decimal>,
    pub verdict: WireVerdict,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PerHour {
    pub gain: Decimal,
    pub standard: Decimal,
}

/// Judged with k = 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WireVerdict {
    Strip,
    SellAsIs,
    /// The recovery is not known well enough.
    CannotTell,
    /// A kilogram gains; nobody has timed it.
    TimeIt,
}

/// None beyond what a decimal can hold. `floor` is what an hour must bring.
pub fn stripping(recovery: &Recovery, prices: WirePrices, pace: Option<Pace>, floor: Money) -> Option<Stripping> {
    if floor.currency != prices.currency {
        return None;
    }
    // r·bare − (1 − r)·disposal − insulated
    let slope = prices.bare.checked_add(prices.disposal)?;
    let fixed = prices.insulated.checked_add(prices.disposal)?;
    let per_kilogram = recovery.fraction.checked_mul(slope)?.checked_sub(fixed)?;
    let per_kilogram_standard = slope.abs().checked_mul(recovery.standard)?;
    let pace = match pace.filter(|pace| pace.wire > Mass::ZERO && pace.hands_on > Span::ZERO) {
        Some(pace) => Some(kilograms(pace.wire)?.checked_div(hours(pace.hands_on))?),
        None => None,
    };
    let per_hour = match pace {
        Some(pace) => Some(PerHour { gain: per_kilogram.checked_mul(pace)?, standard: per_kilogram_standard.checked_mul(pace)? }),
        None => None,
    };
    let time_per_kilogram = match pace {
        Some(pace) => floor.amount.checked_div(pace)?,
        None => Decimal::ZERO,
    };
    let least_recovery = if slope > Decimal::ZERO { sum([fixed, time_per_kilogram])?.checked_div(slope) } else { None };
    let against = |gain: Decimal, standard: Decimal, limit: Decimal| {
        Some(Interval::around(gain, standard.checked_mul(Decimal::TWO)?)?.against(limit))
    };
    let verdict = match per_hour {
        Some(hour) => match against(hour.gain, hour.standard, floor.amount)? {
            Against::Above => WireVerdict::Strip,
            Against::Below => WireVerdict::SellAsIs,
            Against::Either => WireVerdict::CannotTell,
        },
        None => match against(per_kilogram, per_kilogram_standard, Decimal::ZERO)? {
            Against::Above => WireVerdict::TimeIt,
            Against::Below => WireVerdict::SellAsIs,
            Against::Either => WireVerdict::CannotTell,
        },
    };
    Some(Stripping { currency: prices.currency, per_kilogram, per_kilogram_standard, per_hour, least_recovery, verdict })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Variance;

    fn sample(insulated: i64, bare: i64) -> Sample {
        let weighed = |grams| Weighed { mass: Mass::grams(grams), variance: Variance::of_difference(Mass::grams(1)) };
        Sample { insulated: weighed(insulated), bare: weighed(bare) }
    }

    fn usd(text: &str) -> Money {
        Money { amount: text.parse().unwrap(), currency: Currency::parse("USD").unwrap() }
    }

    fn judged(recovery: &Recovery, bare: &str, minutes: Option<u64>, floor: &str) -> Stripping {
        let prices = WirePrices {
            currency: usd("0").currency,
            insulated: Decimal::from(3),
            bare: bare.parse().unwrap(),
            disposal: Decimal::new(10, 2),
        };
        let pace = minutes.map(|minutes| Pace { wire: Mass::grams(1000), hands_on: Span::seconds(60 * minutes) });
        stripping(recovery, prices, pace, usd(floor)).unwrap()
    }

    #[test]
    fn one_sample_has_the_weighing_s_uncertainty() {
        let got = recovery(&[sample(1000, 650)]).unwrap();
        assert_eq!(got.fraction, Decimal::new(65, 2));
        assert_eq!(got.standard.round_dp(7).to_string(), "0.0004869");
        let four = [sample(1000, 650), sample(1000, 700), sample(1000, 600), sample(1000, 660)];
        assert!(recovery(&four).unwrap().standard > Decimal::new(1, 2), "samples differ by more than the scale");
    }

    #[test]
    fn gain_a_kilogram_and_an_hour() {
        let got = judged(&recovery(&[sample(1000, 650)]).unwrap(), "8.00", Some(10), "12");
        assert_eq!(got.per_kilogram, "2.165".parse().unwrap());
        assert_eq!(got.per_hour.unwrap().gain.round_dp(6), "12.99".parse().unwrap());
        assert_eq!(got.per_kilogram_standard.round_dp(6).to_string(), "0.003944");
        assert_eq!(got.verdict, WireVerdict::Strip);
        // (3 + 0.10 + 12/6) / 8.10
        assert_eq!(got.least_recovery.unwrap().round_dp(6).to_string(), "0.629630");
    }

    #[test]
    fn verdicts() {
        let one = recovery(&[sample(1000, 650)]).unwrap();
        assert_eq!(judged(&one, "8.00", Some(10), "12.95").verdict, WireVerdict::CannotTell);
        assert_eq!(judged(&one, "8.00", Some(20), "12").verdict, WireVerdict::SellAsIs);
        assert_eq!(judged(&one, "8.00", None, "12").verdict, WireVerdict::TimeIt);
        assert_eq!(judged(&one, "4.00", None, "12").verdict, WireVerdict::SellAsIs);
    }

    #[test]
    fn impossible_samples_are_refused() {
        assert_eq!(recovery(&[]), Err(BadSample::NoSample));
        assert_eq!(recovery(&[sample(1000, 650), sample(0, 0)]), Err(BadSample::Nothing { sample: 1 }));
        assert_eq!(recovery(&[sample(1000, 1001)]), Err(BadSample::MoreThanWentIn { sample: 0 }));
    }
}
