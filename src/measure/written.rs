//! A weight as a person writes it, with its unit.

use super::{BadNumber, Displayed, Mass, Rounding, Unit};

/// `123.4g`: the mass, and the step of the last digit that was written, which is what a display of it resolves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    pub mass: Mass,
    pub last_digit: Mass,
}

/// Why a text is no weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadWritten {
    #[error("a weight carries its unit, g, kg, lb or oz, as in 123.4g")]
    NoUnit,
    #[error("a weight's unit is g, kg, lb or oz, as in 123.4g")]
    UnknownUnit,
    #[error("{0}; a weight is a number with a point and its unit, as in 123.4g")]
    Number(BadNumber),
}

impl Written {
    /// Reads a number and one of g, kg, lb and oz, with or without a space between them.
    pub fn parse(text: &str) -> Result<Written, BadWritten> {
        let at = text.find(|c: char| c.is_alphabetic()).ok_or(BadWritten::NoUnit)?;
        let (digits, unit) = (text[..at].trim(), text[at..].trim_end());
        let known = [Unit::Gram, Unit::Kilogram, Unit::Pound, Unit::Ounce].into_iter().find(|known| known.symbol() == unit);
        let unit = known.ok_or(BadWritten::UnknownUnit)?;
        let mass = Mass::parse(digits, unit).map_err(BadWritten::Number)?;
        let shown = Displayed::from_digits(digits.trim_start_matches('-').as_bytes()).map_err(BadWritten::Number)?;
        let step = Mass::of(Displayed { count: 1, exponent: shown.exponent }, unit);
        Ok(Written { mass, last_digit: step.ok_or(BadWritten::Number(BadNumber::TooLong))? })
    }

    /// A mass as a person would write it, exactly: in the one of kg, lb, oz and g that needs the fewest digits.
    pub fn shortest(mass: Mass) -> String {
        let exact = |unit: Unit| {
            // A femtogram is a gram's fifteenth decimal, so grams always end.
            let places = (0_u8..=15).find(|places| {
                let scale = 10_i128.pow(u32::from(*places));
                mass.femtograms().checked_mul(scale).is_some_and(|scaled| scaled % unit.femtograms() == 0)
            })?;
            Some(format!("{}{}", mass.rounded(unit, places, Rounding::HalfEven), unit.symbol()))
        };
        let units = [Unit::Kilogram, Unit::Pound, Unit::Ounce, Unit::Gram];
        let digits = |text: &String| text.bytes().filter(u8::is_ascii_digit).count();
        units.into_iter().filter_map(exact).min_by_key(digits).unwrap_or_else(|| format!("{}g", mass.exact_grams()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_shortest_is_read_as_the_same(
            count in -100_000_000_i64..100_000_000,
            exponent in -6_i8..1,
            unit in proptest::sample::select(&[Unit::Gram, Unit::Kilogram, Unit::Pound, Unit::Ounce][..]),
        ) {
            let mass = Mass::of(Displayed { count, exponent }, unit).unwrap();
            prop_assert_eq!(Written::parse(&Written::shortest(mass)).unwrap().mass, mass);
        }
    }

    #[test]
    fn a_hundred_pounds_stay_pounds() {
        let again = |text: &str| Written::shortest(Written::parse(text).unwrap().mass);
        for text in ["100lb", "250kg", "12.5kg", "0.5kg", "2000lb", "7oz"] {
            assert_eq!(again(text), text);
        }
    }

    #[test]
    fn a_weight_and_its_last_digit() {
        let parts = |text| Written::parse(text).map(|written| (written.mass.exact_grams(), written.last_digit.exact_grams()));
        assert_eq!(parts("123.40g").unwrap(), ("123.4".into(), "0.01".into()));
        assert_eq!(parts(" -0.5 kg ").unwrap(), ("-500".into(), "100".into()));
        assert_eq!(parts("2lb").unwrap(), ("907.18474".into(), "453.59237".into()));
        assert_eq!(Written::parse("123.4"), Err(BadWritten::NoUnit));
        assert_eq!(Written::parse("5 stone"), Err(BadWritten::UnknownUnit));
        for bad in ["g", "1,5g", "1.2.3g", "--1g", "1e3g", "0.0000000000000001g"] {
            assert!(Written::parse(bad).is_err(), "{bad}");
        }
    }
}
