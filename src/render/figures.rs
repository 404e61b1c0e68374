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

/// `1:05:09`.
pub fn clock(span: Span) -> String {
    let seconds = span.as_seconds();
    format!("{}:{:02}:{:02}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

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
