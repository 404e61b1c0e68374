//! A weight that a person reads off the display.

use crate::dialect::{ReadUnit, Reading};
use crate::measure::{Displayed, Unit};

/// A weight as displayed, with its unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Known {
    shown: Displayed,
    unit: Unit,
}

/// What the weight tells beside the family.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Fit {
    /// The unit, where the scale sends none.
    pub unit: Option<Unit>,
    /// How many digits are decimals, where the scale sends no point.
    pub decimals: Option<u8>,
}

impl Known {
    /// Reads `12.340 kg`. Nought is no known weight: every scale shows it.
    pub fn parse(text: &str) -> Result<Known, String> {
        let usage = || format!("{text:?} is no weight with its unit, such as 12.340 kg");
        let text = text.trim();
        let at = text.find(|letter: char| letter.is_ascii_alphabetic()).ok_or_else(usage)?;
        let (digits, symbol) = (text[..at].trim(), text[at..].trim());
        let unit = Unit::from_symbol(symbol).ok_or_else(usage)?;
        let negative = digits.strip_prefix('-');
        let plain = Displayed::from_digits(negative.unwrap_or(digits).trim().as_bytes()).map_err(|_| usage())?;
        if plain.count == 0 {
            return Err("nought proves nothing: lay something on the scale".to_owned());
        }
        Ok(Known { shown: if negative.is_some() { plain.negated() } else { plain }, unit })
    }

    /// Whether `reading` says this, and what has to be configured for it to say so.
    pub fn fits(&self, reading: &Reading) -> Option<Fit> {
        let value = reading.value?;
        let equal = plain(value) == plain(self.shown);
        match reading.unit {
            ReadUnit::Stated(unit) => (equal && unit == self.unit).then_some(Fit::default()),
            ReadUnit::PoundOunce => (equal && self.unit == Unit::Ounce).then_some(Fit::default()),
            ReadUnit::Ambiguous if equal && self.unit == Unit::Tonne => Some(Fit { unit: Some(self.unit), decimals: None }),
            ReadUnit::Unstated if equal => Some(Fit { unit: Some(self.unit), decimals: None }),
            // The same digits without a point: the display tells where it is.
            ReadUnit::Unstated if value.exponent == 0 && value.count == self.shown.count => {
                let places = u8::try_from(-self.shown.exponent).ok()?;
                Some(Fit { unit: Some(self.unit), decimals: Some(places) })
            }
            ReadUnit::Unstated | ReadUnit::Ambiguous | ReadUnit::Absent => None,
        }
    }
}

/// Without zeros behind the point.
fn plain(Displayed { mut count, mut exponent }: Displayed) -> (i64, i8) {
    while count != 0 && count % 10 == 0 {
        (count, exponent) = (count / 10, exponent + 1);
    }
    (count, exponent)
}

impl std::fmt::Display for Known {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.shown, self.unit.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dialect::Flags;

    fn read(count: i64, exponent: i8, unit: ReadUnit) -> Reading {
        Reading { value: Some(Displayed { count, exponent }), unit, ..Reading::without_weight(Flags::default()) }
    }

    #[test]
    fn a_display_proves_a_reading_or_does_not() {
        let known = Known::parse("12.340 kg").unwrap();
        assert_eq!(known.fits(&read(12_340, -3, ReadUnit::Stated(Unit::Kilogram))), Some(Fit::default()));
        assert_eq!(known.fits(&read(1234, -2, ReadUnit::Stated(Unit::Kilogram))), Some(Fit::default()));
        assert_eq!(known.fits(&read(12_340, -3, ReadUnit::Stated(Unit::Pound))), None);
        let unit = Some(Unit::Kilogram);
        assert_eq!(known.fits(&read(12_340, -3, ReadUnit::Unstated)), Some(Fit { unit, decimals: None }));
        assert_eq!(known.fits(&read(12_340, 0, ReadUnit::Unstated)), Some(Fit { unit, decimals: Some(3) }));
        assert_eq!(known.fits(&read(4321, 0, ReadUnit::Unstated)), None);
        for text in ["", "12.340", "kg", "0.000 kg", "1.2.3 kg", "12 stone"] {
            assert!(Known::parse(text).is_err(), "{text}");
        }
        assert_eq!(Known::parse("-5 g").unwrap().to_string(), "-5 g");
    }
}
