//! Mass as a whole number of femtograms.

use super::{Displayed, Rounding, Unit};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A mass in femtograms (10⁻¹⁵ g), exact.
///
/// Femtograms are the coarsest decimal step in which 1/64 oz, 0.0001 oz and 0.00001 lb are whole numbers;
/// an `i128` of them reaches 1.7 × 10²⁰ kg, so sums cannot overflow. In JSON it is a string of grams.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Mass(i128);

impl Mass {
    pub const ZERO: Mass = Mass(0);

    pub const fn from_femtograms(count: i128) -> Mass {
        Mass(count)
    }

    pub const fn femtograms(self) -> i128 {
        self.0
    }

    pub const fn grams(count: i64) -> Mass {
        Mass(count as i128 * Unit::Gram.femtograms())
    }

    /// What a display of `shown` in `unit` weighs; `None` where the decimals are finer than a femtogram
    /// or the number is beyond any scale.
    pub fn of(shown: Displayed, unit: Unit) -> Option<Mass> {
        let size = i128::from(shown.count).checked_mul(unit.femtograms())?;
        let power = 10_i128.checked_pow(u32::from(shown.exponent.unsigned_abs()))?;
        if shown.exponent >= 0 {
            return size.checked_mul(power).map(Mass);
        }
        (size % power == 0).then_some(Mass(size / power))
    }

    /// Reads a decimal number of `unit` with an optional sign: `"-0.25"`. The error says what is wrong with it.
    pub fn parse(text: &str, unit: Unit) -> Result<Mass, super::BadNumber> {
        let (digits, negative) = match text.strip_prefix('-') {
            Some(rest) => (rest, true),
            None => (text, false),
        };
        let shown = Displayed::from_digits(digits.as_bytes())?;
        let mass = Mass::of(shown, unit).ok_or(super::BadNumber::TooLong)?;
        Ok(if negative { -mass } else { mass })
    }

    /// As a decimal number of `unit`, rounded to `places` decimals by `rule`.
    pub fn rounded(self, unit: Unit, places: u8, rule: Rounding) -> String {
        let power = 10_i128.pow(u32::from(places));
        let whole = self.0 / unit.femtograms();
        let rest = self.0 % unit.femtograms();
        let fraction = rule.divide(rest * power, unit.femtograms());
        let count = whole * power + fraction;
        let sign = if count < 0 { "-" } else { "" };
        let digits = count.unsigned_abs();
        let power = power.unsigned_abs();
        if places == 0 {
            return format!("{sign}{digits}");
        }
        format!("{sign}{}.{:0>width$}", digits / power, digits % power, width = usize::from(places))
    }

    /// As grams with every digit and no more: `"56.699"`, `"57"`.
    pub fn exact_grams(self) -> String {
        let full = self.rounded(Unit::Gram, 15, Rounding::Down);
        full.trim_end_matches('0').trim_end_matches('.').to_owned()
    }

    pub const fn abs(self) -> Mass {
        Mass(self.0.abs())
    }

    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }
}

impl std::ops::Add for Mass {
    type Output = Mass;
    fn add(self, other: Mass) -> Mass {
        Mass(self.0 + other.0)
    }
}

impl std::ops::Sub for Mass {
    type Output = Mass;
    fn sub(self, other: Mass) -> Mass {
        Mass(self.0 - other.0)
    }
}

impl std::ops::Neg for Mass {
    type Output = Mass;
    fn neg(self) -> Mass {
        Mass(-self.0)
    }
}

impl std::ops::AddAssign for Mass {
    fn add_assign(&mut self, other: Mass) {
        self.0 += other.0;
    }
}

impl std::ops::SubAssign for Mass {
    fn sub_assign(&mut self, other: Mass) {
        self.0 -= other.0;
    }
}

impl std::ops::Mul<i128> for Mass {
    type Output = Mass;
    fn mul(self, times: i128) -> Mass {
        Mass(self.0 * times)
    }
}

impl std::iter::Sum for Mass {
    fn sum<I: Iterator<Item = Mass>>(masses: I) -> Mass {
        masses.fold(Mass::ZERO, |total, mass| total + mass)
    }
}

impl std::fmt::Display for Mass {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} g", self.exact_grams())
    }
}

impl Serialize for Mass {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.exact_grams())
    }
}

impl<'de> Deserialize<'de> for Mass {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Mass, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
        Mass::parse_grams(&text).ok_or_else(|| serde::de::Error::custom(format!("{text:?} is not a decimal number of grams")))
    }
}

impl Mass {
    /// Reads what [`Mass::exact_grams`] writes, of any length.
    pub fn parse_grams(text: &str) -> Option<Mass> {
        let (body, sign) = match text.strip_prefix('-') {
            Some(rest) => (rest, -1),
            None => (text, 1),
        };
        let (whole, fraction) = body.split_once('.').unwrap_or((body, ""));
        let plain = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || fraction.len() > 15 || !plain(whole) || !plain(fraction) {
            return None;
        }
        let whole = whole.parse::<i128>().ok()?.checked_mul(Unit::Gram.femtograms())?;
        let fraction = format!("{fraction:0<15}").parse::<i128>().ok()?;
        Some(Mass(sign * whole.checked_add(fraction)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn grams_round_trip(count in -1_000_000_000_000_000_000_000_000_i128..1_000_000_000_000_000_000_000_000) {
            let mass = Mass(count);
            prop_assert_eq!(Mass::parse_grams(&mass.exact_grams()), Some(mass));
        }

        #[test]
        fn every_display_step_is_whole(count in -9_999_999_i64..9_999_999, places in 0_i8..6, unit in proptest::sample::select(&[Unit::Gram, Unit::Kilogram, Unit::Tonne, Unit::Pound, Unit::Ounce, Unit::TroyOunce][..])) {
            let shown = Displayed { count, exponent: -places };
            let mass = Mass::of(shown, unit).expect("finer than a femtogram");
            prop_assert_eq!(mass.rounded(unit, places.unsigned_abs(), Rounding::Down), shown.to_string());
        }
    }

    /// The exact definitions of NIST Handbook 44, Appendix C.
    #[test]
    fn exact_definitions() {
        let one = |unit| Mass::from_femtograms(Unit::femtograms(unit)).exact_grams();
        assert_eq!(one(Unit::Grain), "0.06479891");
        assert_eq!(one(Unit::Pound), "453.59237");
        assert_eq!(one(Unit::Ounce), "28.349523125");
        assert_eq!(one(Unit::TroyOunce), "31.1034768");
        assert_eq!(one(Unit::Tonne), "1000000");
        assert_eq!(Unit::Pound.femtograms(), 7000 * Unit::Grain.femtograms());
        assert_eq!(Unit::Pound.femtograms(), 16 * Unit::Ounce.femtograms());
        assert_eq!(Unit::TroyOunce.femtograms(), 480 * Unit::Grain.femtograms());
    }

    /// Conversions reckoned with the general-purpose reference library pint 0.25.3 on decimals.
    #[test]
    fn worked_conversions() {
        for (text, from, to, places, expected) in [
            ("1", Unit::Pound, Unit::Gram, 5, "453.59237"),
            ("1", Unit::Kilogram, Unit::Pound, 15, "2.204622621848776"),
            ("12.5", Unit::Pound, Unit::Kilogram, 9, "5.669904625"),
            ("7.25", Unit::Ounce, Unit::Gram, 11, "205.53404265625"),
            ("100", Unit::Gram, Unit::Ounce, 15, "3.527396194958041"),
            ("10", Unit::TroyOunce, Unit::Ounce, 14, "10.97142857142857"),
            ("500", Unit::Gram, Unit::TroyOunce, 14, "16.07537328431399"),
            ("1", Unit::Tonne, Unit::Pound, 15, "2204.622621848775807"),
            ("0.005", Unit::Pound, Unit::Gram, 8, "2.26796185"),
            ("0.1", Unit::Ounce, Unit::Gram, 10, "2.8349523125"),
            ("645.2", Unit::Ounce, Unit::Gram, 8, "18291.11232025"),
        ] {
            let got = Mass::parse(text, from).unwrap().rounded(to, places, Rounding::HalfEven);
            let shorter = got.len().min(expected.len());
            assert_eq!(got[..shorter], expected[..shorter], "{text} {from} in {to}");
        }
    }
}
