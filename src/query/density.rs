//! Is it what I think it is: the density of a piece, and what a finer scale would tell of it.

use crate::economy::density::{BadPair, Density, Hung, Readings, Separation, density as reckon, separation};
use crate::economy::metals::Metal;
use crate::economy::weighed::Weighed;
use crate::measure::{Mass, Variance, Written};
use rust_decimal::{Decimal, MathematicalOps};

/// One piece weighed dry and hung in water, each in one reading of a scale that stood at zero before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DensityQuestion {
    pub dry: Written,
    pub in_water: Written,
    /// Degrees Celsius of the water.
    pub water: Decimal,
    /// How far the thermometer may be off; none means [`DensityQuestion::WITHIN`].
    pub within: Option<Decimal>,
    /// The scale's; none means the coarser of the last digits that were written.
    pub division: Option<Mass>,
}

impl DensityQuestion {
    /// A degree either way, as a kitchen thermometer has it.
    pub const WITHIN: Decimal = Decimal::ONE;
    /// A thermometer that is further off is no thermometer.
    pub const WITHIN_MOST: Decimal = Decimal::TEN;
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BadDensity {
    Pair(BadPair),
    /// The division is nothing, or less.
    Division,
    /// The thermometer's error is below nothing or beyond ten degrees.
    Thermometer,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DensityAnswer {
    pub division: Mass,
    pub within: Decimal,
    pub density: Density,
    /// Each two of the metals that fit, those that the coarsest scale would tell apart first, and last those that none can.
    pub finer: Vec<Finer>,
}

/// Two metals that both fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Finer {
    pub one: Metal,
    pub other: Metal,
    pub separation: Separation,
}

pub fn density(question: &DensityQuestion) -> Result<DensityAnswer, BadDensity> {
    let division = question.division.unwrap_or_else(|| question.dry.last_digit.max(question.in_water.last_digit));
    if division <= Mass::ZERO {
        return Err(BadDensity::Division);
    }
    let within = question.within.unwrap_or(DensityQuestion::WITHIN);
    if within.is_sign_negative() || within > DensityQuestion::WITHIN_MOST {
        return Err(BadDensity::Thermometer);
    }
    let weighed = |written: Written| Weighed { mass: written.mass, variance: Variance::of_reading(division) };
    let hung = Hung {
        dry: weighed(question.dry),
        in_water: weighed(question.in_water),
        water: question.water,
        // A rectangle as wide as the thermometer's error (JCGM 100:2008, 4.3.7).
        water_standard: Decimal::from(3).sqrt().and_then(|root| within.checked_div(root)).unwrap_or(within),
    };
    let density = reckon(&hung).map_err(BadDensity::Pair)?;
    let finer = finer(&density.fits, question, division);
    Ok(DensityAnswer { division, within, density, finer })
}

fn finer(fits: &[Metal], question: &DensityQuestion, division: Mass) -> Vec<Finer> {
    let pairs = fits.iter().enumerate().flat_map(|(at, one)| fits[at + 1..].iter().map(|other| (*one, *other)));
    let mut told: Vec<Finer> = pairs
        .filter_map(|(one, other)| {
            let separation = separation(question.dry.mass, question.water, one, other, Readings::Single)?;
            Some(Finer { one, other, separation })
        })
        // Where this scale would do for the table's values and both fit all the same, the piece lies between the two.
        .filter(|pair| !matches!(pair.separation, Separation::Division(step) if step >= division))
        .collect();
    told.sort_by_key(|pair| match pair.separation {
        Separation::Division(step) => std::cmp::Reverse(step),
        Separation::SpansTouch => std::cmp::Reverse(Mass::ZERO),
    });
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    fn question(dry: &str, in_water: &str) -> DensityQuestion {
        let written = |text| Written::parse(text).unwrap();
        DensityQuestion { dry: written(dry), in_water: written(in_water), water: Decimal::from(20), within: None, division: None }
    }

    /// By hand: 250.0 g and 220.7 g at 20 °C (998.2067 kg/m³, Metrologia 38 (2001) 301; air 1.2): the piece loses 29.3 g, so
    /// (250·998.2067 − 220.7·1.2)/29.3 = 8508.08; u = 11.19 of the readings and 1/√3 °C · 0.2068 kg/m³ · 250/29.3 = 1.02 of
    /// the water, together 11.24.
    #[test]
    fn a_piece_of_brass_with_a_kitchen_thermometer() {
        let got = density(&question("250.0g", "220.7g")).unwrap();
        assert_eq!((got.division.exact_grams().as_str(), got.within), ("0.1", Decimal::ONE));
        assert_eq!(got.density.density.round_dp(2).to_string(), "8508.08");
        assert_eq!(got.density.standard.round_dp(2).to_string(), "11.24");
        let pair = |one, other| got.finer.iter().find(|pair| (pair.one, pair.other) == (one, other)).map(|pair| pair.separation);
        let fiftieth = Written::parse("0.02g").unwrap().mass;
        assert_eq!(pair(Metal::Brass6040, Metal::Brass7030), Some(Separation::Division(fiftieth)));
        assert_eq!(pair(Metal::LeadSolder, Metal::Brass6040), Some(Separation::SpansTouch));
        assert!(matches!(got.finer.last().unwrap().separation, Separation::SpansTouch));
        assert!(matches!(got.finer[0].separation, Separation::Division(_)));
    }

    #[test]
    fn the_coarser_digit_is_the_division_unless_one_is_named() {
        let got = density(&question("250.00g", "220.7g")).unwrap();
        assert_eq!(got.division.exact_grams(), "0.1");
        let named = DensityQuestion { division: Some(Mass::grams(1)), ..question("250.00g", "220.7g") };
        let coarse = density(&named).unwrap();
        assert_eq!(coarse.division, Mass::grams(1));
        assert!(coarse.density.standard > got.density.standard);
        assert!(coarse.finer.iter().all(|pair| pair.separation != Separation::Division(Mass::grams(1))));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let with = |change: fn(&mut DensityQuestion)| {
            let mut asked = question("250.0g", "220.7g");
            change(&mut asked);
            density(&asked).unwrap_err()
        };
        assert_eq!(with(|asked| asked.division = Some(Mass::ZERO)), BadDensity::Division);
        assert_eq!(with(|asked| asked.within = Some(Decimal::NEGATIVE_ONE)), BadDensity::Thermometer);
        assert_eq!(with(|asked| asked.within = Some(Decimal::from(11))), BadDensity::Thermometer);
        assert_eq!(with(|asked| asked.water = Decimal::from(41)), BadDensity::Pair(BadPair::WaterTemperature));
        assert_eq!(with(|asked| asked.in_water = asked.dry), BadDensity::Pair(BadPair::NotLighterInWater));
    }
}
