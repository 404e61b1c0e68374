//! Which metal can it be: the weight of a piece dry and hung in water.
//!
//! ρ = (m·ρ(water) − w·ρ(air)) / (m − w), m dry and w hung. Calibration cancels, since both weights are of one scale. A metal
//! is never named on this alone: it fits, or it is ruled out; a hollow or a plated piece fits what it is not.

use super::metals::Metal;
use super::number::{kilograms, mass_of_kilograms, quadrature};
use super::water;
use super::weighed::Weighed;
use crate::measure::Mass;
use rust_decimal::Decimal;

/// Air at a bench, kilograms a cubic metre (OIML D 28, from memory).
fn air() -> Decimal {
    Decimal::new(12, 1)
}

/// One piece, weighed twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hung {
    pub dry: Weighed,
    /// Hung wholly under water by a thin thread, the thread tared away, no bubble on it.
    pub in_water: Weighed,
    /// Degrees Celsius.
    pub water: Decimal,
    /// Standard uncertainty of that.
    pub water_standard: Decimal,
}

/// Why there is no density.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BadPair {
    /// The dry weight is nothing, or less.
    NothingDry,
    /// Less than nothing in water: it floats, or the thread pulls.
    Floats,
    /// As heavy in water as dry, or heavier: the two are swapped, or it stands on the bottom.
    NotLighterInWater,
    /// The loss in water is less than the scale may err by: too small a piece for this scale.
    TooSmall,
    /// Water is reckoned from 0 to 40 °C.
    WaterTemperature,
    TooLarge,
}

/// What the pair says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Density {
    /// Kilograms a cubic metre.
    pub density: Decimal,
    pub standard: Decimal,
    pub fits: Vec<Metal>,
    pub ruled_out: Vec<Metal>,
    pub verdict: DensityVerdict,
}

/// Judged with k = 2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DensityVerdict {
    /// One metal of the table fits. It may still be another that is not in it.
    OneFits(Metal),
    /// It cannot be told which.
    SeveralFit,
    NoneFits,
    /// Lighter than the lightest metal: trapped air, hollow, or no metal.
    LighterThanAny,
}

/// The density without and with the lift of the air, kilograms a cubic metre: dry and hung in kilograms.
fn reckon(dry: Decimal, hung: Decimal, water: Decimal) -> Option<Decimal> {
    let lift = dry.checked_mul(water)?.checked_sub(hung.checked_mul(air())?)?;
    lift.checked_div(dry.checked_sub(hung)?)
}

pub fn density(hung: &Hung) -> Result<Density, BadPair> {
    if hung.dry.mass <= Mass::ZERO {
        return Err(BadPair::NothingDry);
    }
    if hung.in_water.mass.is_negative() {
        return Err(BadPair::Floats);
    }
    let lost = hung.dry.mass - hung.in_water.mass;
    if lost <= Mass::ZERO {
        return Err(BadPair::NotLighterInWater);
    }
    if lost <= hung.dry.variance.plus(hung.in_water.variance).expanded(2) {
        return Err(BadPair::TooSmall);
    }
    let water = water::density(hung.water).ok_or(BadPair::WaterTemperature)?;
    let (density, standard) = value(hung, water).ok_or(BadPair::TooLarge)?;
    let half = standard.checked_mul(Decimal::TWO).ok_or(BadPair::TooLarge)?;
    let fit = |metal: &Metal| {
        let (low, high) = metal.span();
        low <= density + half && high >= density - half
    };
    let (fits, ruled_out): (Vec<Metal>, Vec<Metal>) = Metal::ALL.iter().partition(|metal| fit(metal));
    let lightest = Metal::ALL.iter().map(|metal| metal.span().0).min().unwrap_or_default();
    let verdict = match fits.as_slice() {
        [] if density < lightest => DensityVerdict::LighterThanAny,
        [] => DensityVerdict::NoneFits,
        [one] => DensityVerdict::OneFits(*one),
        _ => DensityVerdict::SeveralFit,
    };
    Ok(Density { density, standard, fits, ruled_out, verdict })
}

fn value(hung: &Hung, water: Decimal) -> Option<(Decimal, Decimal)> {
    let (dry, wet) = (kilograms(hung.dry.mass)?, kilograms(hung.in_water.mass)?);
    let density = reckon(dry, wet, water)?;
    let lost = dry.checked_sub(wet)?;
    // ∂ρ/∂m = −w·ρ(water)/(m − w)², ∂ρ/∂w = m·ρ(water)/(m − w)², ∂ρ/∂ρ(water) = m/(m − w) (JCGM 100:2008, 5.1.3).
    let slope = water.checked_div(lost)?.checked_div(lost)?;
    let of = |weighed: Weighed| kilograms(weighed.variance.expanded(1));
    let by_temperature = water::slope(hung.water)?.checked_mul(hung.water_standard)?;
    let standard = quadrature(&[
        slope.checked_mul(wet)?.checked_mul(of(hung.dry)?)?,
        slope.checked_mul(dry)?.checked_mul(of(hung.in_water)?)?,
        by_temperature.checked_mul(dry)?.checked_div(lost)?,
    ])?;
    Some((density, standard))
}

/// How finely the scale must show to tell two metals apart by a piece of this mass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separation {
    /// A division so fine, or finer: of 1, 2 and 5 times a power of ten grams.
    Division(Mass),
    /// Their spans touch: no scale can.
    SpansTouch,
}

/// How the two weights are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readings {
    /// One reading each, the scale at zero before.
    Single,
    /// Each the difference of two readings.
    Differences,
}

/// The division at which the two spans lie four standard uncertainties apart, so that either metal rules out the other.
/// None beyond what a decimal can hold, and for a piece of nothing.
pub fn separation(piece: Mass, water: Decimal, one: Metal, other: Metal, readings: Readings) -> Option<Separation> {
    let ((low, high), (other_low, other_high)) = (one.span(), other.span());
    let gap = (other_low - high).max(low - other_high);
    if gap <= Decimal::ZERO {
        return Some(Separation::SpansTouch);
    }
    // Of the two the denser loses less in water and is known less well.
    let dense = high.max(other_high);
    let water = water::density(water)?;
    let dry = kilograms(piece)?;
    let lost = dry.checked_mul(water)?.checked_div(dense)?;
    let wet = dry.checked_sub(lost)?;
    let per_reading = water.checked_div(lost)?.checked_div(lost)?.checked_mul(quadrature(&[wet, dry])?)?;
    // d/√12 for a reading, d/√6 for a difference (JCGM 100:2008, F.2.2.1).
    let share = match readings {
        Readings::Single => Decimal::from(12),
        Readings::Differences => Decimal::from(6),
    };
    let finest = gap.checked_div(Decimal::from(4).checked_mul(per_reading)?)?.checked_mul(super::number::root(share)?)?;
    Some(Separation::Division(step_under(mass_of_kilograms(finest)?)?))
}

/// The largest of 1, 2, 5 × 10ⁿ femtograms that is no more than `most`.
fn step_under(most: Mass) -> Option<Mass> {
    let mut best = None;
    let mut decade = 1_i128;
    while decade <= most.femtograms() {
        best = [5, 2, 1].into_iter().map(|digit| digit * decade).find(|step| *step <= most.femtograms()).or(best);
        decade = decade.checked_mul(10)?;
    }
    best.map(Mass::from_femtograms)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Unit, Variance};
    use proptest::prelude::*;

    fn grams(text: &str) -> Mass {
        Mass::parse(text, Unit::Gram).unwrap()
    }

    fn hung(dry: &str, wet: &str, division: &str) -> Hung {
        let weighed = |text| Weighed { mass: grams(text), variance: Variance::of_reading(grams(division)) };
        Hung { dry: weighed(dry), in_water: weighed(wet), water: Decimal::from(20), water_standard: Decimal::ZERO }
    }

    /// A piece of yellow brass at 20 °C, reckoned apart from this code.
    #[test]
    fn a_piece_of_brass() {
        let got = density(&hung("250.0", "220.7", "0.1")).unwrap();
        assert_eq!(got.density.round_dp(3).to_string(), "8508.083");
        assert_eq!(got.standard.round_dp(2).to_string(), "11.19");
        assert_eq!(got.fits, [Metal::LeadSolder, Metal::Brass6040, Metal::FreeCuttingBrass, Metal::Brass7030]);
        assert_eq!(got.verdict, DensityVerdict::SeveralFit);
        let coarse = density(&hung("250", "221", "1")).unwrap();
        assert_eq!(coarse.standard.round_dp(2).to_string(), "114.33");
        assert!(coarse.fits.len() > got.fits.len());
        let warm = Hung { water_standard: Decimal::from(2), ..hung("250.0", "220.7", "0.1") };
        assert!(density(&warm).unwrap().standard > got.standard);
    }

    #[test]
    fn impossible_pairs_are_refused() {
        let refused = |dry, wet| density(&hung(dry, wet, "0.1")).unwrap_err();
        assert_eq!(refused("220.7", "250.0"), BadPair::NotLighterInWater);
        assert_eq!(refused("250", "250"), BadPair::NotLighterInWater);
        assert_eq!(refused("0", "0"), BadPair::NothingDry);
        assert_eq!(refused("10", "-0.5"), BadPair::Floats);
        assert_eq!(refused("1.0", "0.95"), BadPair::TooSmall);
        assert_eq!(density(&Hung { water: Decimal::from(60), ..hung("250", "220", "1") }), Err(BadPair::WaterTemperature));
        assert_eq!(density(&hung("250", "50", "0.1")).unwrap().verdict, DensityVerdict::LighterThanAny);
        assert_eq!(density(&hung("250", "200", "0.1")).unwrap().verdict, DensityVerdict::NoneFits);
    }

    #[test]
    fn which_scale_would_tell_them_apart() {
        let twenty = Decimal::from(20);
        let brass = separation(Mass::grams(250), twenty, Metal::Brass6040, Metal::Brass7030, Readings::Single);
        assert_eq!(brass, Some(Separation::Division(grams("0.02"))));
        let castings = separation(Mass::grams(250), twenty, Metal::AluminiumCasting, Metal::ZincCasting, Readings::Single);
        assert_eq!(castings, Some(Separation::Division(grams("10"))));
        let copper = separation(Mass::grams(250), twenty, Metal::Copper, Metal::PhosphorBronze, Readings::Differences);
        assert_eq!(copper, Some(Separation::Division(grams("0.01"))));
        let solder = separation(Mass::grams(250), twenty, Metal::LeadSolder, Metal::Brass6040, Readings::Single);
        assert_eq!(solder, Some(Separation::SpansTouch));
    }

    proptest! {
        #[test]
        fn each_metal_fits_itself_on_a_fine_scale(at in 0..Metal::ALL.len(), piece in 50_i64..5000, celsius in 5_i64..35) {
            let metal = Metal::ALL[at];
            let (low, high) = metal.span();
            let true_density = (low + high) / Decimal::TWO;
            let water = water::density(Decimal::from(celsius)).unwrap();
            let dry = Decimal::from(piece);
            // What hangs in water, the lift of the air on the dry piece reckoned in.
            let wet = dry * (true_density - water) / (true_density - air());
            let wet = grams(&wet.round_dp(2).to_string());
            let weighed = |mass| Weighed { mass, variance: Variance::of_reading(grams("0.01")) };
            let pair = Hung { dry: weighed(Mass::grams(piece)), in_water: weighed(wet), water: Decimal::from(celsius), water_standard: Decimal::ZERO };
            let got = density(&pair).unwrap();
            prop_assert!(got.fits.contains(&metal), "{} read as {}", metal.code(), got.density);
            prop_assert_eq!(got.fits.len() + got.ruled_out.len(), Metal::ALL.len());
        }

        #[test]
        fn a_division_that_separates_does(piece in 20_i64..5000, one in 0..Metal::ALL.len(), other in 0..Metal::ALL.len()) {
            let (one, other) = (Metal::ALL[one], Metal::ALL[other]);
            let twenty = Decimal::from(20);
            if let Some(Separation::Division(division)) = separation(Mass::grams(piece), twenty, one, other, Readings::Single) {
                let water = water::density(twenty).unwrap();
                let dense = one.span().1.max(other.span().1);
                let wet = Decimal::from(piece) * (Decimal::ONE - water / dense);
                let weighed = |mass| Weighed { mass, variance: Variance::of_reading(division) };
                let pair = Hung { dry: weighed(Mass::grams(piece)), in_water: weighed(grams(&wet.round_dp(9).to_string())), water: twenty, water_standard: Decimal::ZERO };
                if let Ok(got) = density(&pair) {
                    prop_assert!(!(got.fits.contains(&one) && got.fits.contains(&other)));
                }
            }
        }
    }
}
