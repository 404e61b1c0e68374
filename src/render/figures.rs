//! How figures are written, the same in every form.

use crate::measure::{Mass, Rounding, Span, Unit, Variance};

/// Kilograms and pounds are shown to a thousandth, half to even, as OIML and NIST guides round a single value.
const PLACES: u8 = 3;
const RULE: Rounding = Rounding::HalfEven;

pub fn kilograms(mass: Mass) -> String {
    mass.rounded(Unit::Kilogram, PLACES, RULE)
}

pub fn pounds(mass: Mass) -> String {
    mass.rounded(Unit::Pound, PLACES, RULE)
}

/// In the unit in which a buyer weighs, the unit behind it.
pub fn in_unit(mass: Mass, unit: Unit) -> String {
    let places = match unit {
        Unit::Gram | Unit::Grain => 0,
        Unit::Ounce => 2,
        Unit::Kilogram | Unit::Tonne | Unit::Pound | Unit::TroyOunce => PLACES,
    };
    format!("{} {}", mass.rounded(unit, places, RULE), unit.symbol())
}

/// Exact grams.
pub fn grams(mass: Mass) -> String {
    mass.exact_grams()
}

/// Twice the standard uncertainty, about 95 % (JCGM 100:2008, G.6.6), in kilograms with one more place than the mass
/// and rounded up, so that it is never made smaller.
pub fn expanded_kilograms(variance: Variance) -> String {
    let step = Mass::grams(1).femtograms() / 10;
    let tenths = variance.expanded(2).femtograms().unsigned_abs().div_ceil(step.unsigned_abs());
    Mass::from_femtograms(tenths as i128 * step).rounded(Unit::Kilogram, PLACES + 1, RULE)
}

/// Grams of an uncertainty in two significant digits (JCGM 100:2008, 7.2.6), rounded up.
pub fn two_digit_grams(mass: Mass) -> String {
    let size = mass.femtograms().unsigned_abs();
    let step = 10_u128.pow(size.checked_ilog10().unwrap_or(0).saturating_sub(1));
    let up = i128::try_from(size.div_ceil(step) * step).unwrap_or(i128::MAX);
    Mass::from_femtograms(up).exact_grams()
}

/// `1:05:09`.
pub fn clock(span: Span) -> String {
    let seconds = span.as_seconds();
    format!("{}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_uncertainty_is_shown_in_two_digits_and_never_smaller() {
        let shown = |grams: &str| two_digit_grams(Mass::parse_grams(grams).unwrap());
        assert_eq!(shown("0.588785"), "0.59");
        assert_eq!(shown("0.581"), "0.59");
        assert_eq!(shown("0.58"), "0.58");
        assert_eq!(shown("1234"), "1300");
        assert_eq!(shown("0.996"), "1");
        assert_eq!((shown("0"), shown("0.000000000000007").as_str()), ("0".to_owned(), "0.000000000000007"));
    }

    #[test]
    fn an_uncertainty_is_rounded_up() {
        let one = Variance::of_difference(Mass::grams(1));
        assert_eq!(expanded_kilograms(one), "0.0009", "0.8165 g");
        assert_eq!(expanded_kilograms(Variance::ZERO), "0.0000");
    }

    #[test]
    fn an_hour_and_some() {
        assert_eq!(clock(Span::seconds(3909)), "1:05:09");
    }
}
