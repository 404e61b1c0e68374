//! A number exactly as a scale displayed it.

use serde::{Deserialize, Serialize};

/// `count` × 10^`exponent`, with the decimals as sent: `12.340` is (12340, −3).
///
/// Two displays of one value with different decimals are different: the decimals tell the scale's step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Displayed {
    pub count: i64,
    pub exponent: i8,
}

/// Why a text is not a displayed number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadNumber {
    #[error("there is no digit")]
    NoDigit,
    #[error("there is more than one decimal point")]
    SecondPoint,
    #[error("there is something that is neither digit nor decimal point")]
    Stray,
    #[error("there are too many digits")]
    TooLong,
}

impl Displayed {
    /// The longest number that any scale of the catalogue sends has ten digits; more is noise.
    pub const DIGITS_MAX: usize = 15;

    /// Reads unsigned digits with at most one point (`12.34`, `.45`, `000000.`), no blank, no sign.
    pub fn from_digits(text: &[u8]) -> Result<Displayed, BadNumber> {
        let (mut count, mut digits, mut decimals) = (0_i64, 0_usize, None::<i8>);
        for &byte in text {
            match byte {
                b'0'..=b'9' => {
                    digits += 1;
                    if digits > Self::DIGITS_MAX {
                        return Err(BadNumber::TooLong);
                    }
                    count = count * 10 + i64::from(byte - b'0');
                    if let Some(places) = decimals.as_mut() {
                        *places += 1;
                    }
                }
                b'.' if decimals.is_some() => return Err(BadNumber::SecondPoint),
                b'.' => decimals = Some(0),
                _ => return Err(BadNumber::Stray),
            }
        }
        if digits == 0 {
            return Err(BadNumber::NoDigit);
        }
        Ok(Displayed { count, exponent: -decimals.unwrap_or(0) })
    }

    /// The same number with its sign turned.
    pub const fn negated(self) -> Displayed {
        Displayed { count: -self.count, exponent: self.exponent }
    }
}

impl std::fmt::Display for Displayed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.count < 0 { "-" } else { "" };
        let digits = self.count.unsigned_abs().to_string();
        if self.exponent >= 0 {
            let zeros = if self.count == 0 { 0 } else { self.exponent as usize };
            return write!(f, "{sign}{digits}{:0<zeros$}", "");
        }
        let places = usize::from(self.exponent.unsigned_abs());
        let padded = format!("{digits:0>width$}", width = places + 1);
        let (whole, fraction) = padded.split_at(padded.len() - places);
        write!(f, "{sign}{whole}.{fraction}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_written_is_read_back(count in 0_i64..999_999_999_999, places in 0_i8..8) {
            let number = Displayed { count, exponent: -places };
            prop_assert_eq!(Displayed::from_digits(number.to_string().as_bytes()), Ok(number));
        }
    }

    #[test]
    fn odd_but_legal_forms() {
        let read = |text: &str| Displayed::from_digits(text.as_bytes());
        assert_eq!(read(".45"), Ok(Displayed { count: 45, exponent: -2 }));
        assert_eq!(read("000013.5"), Ok(Displayed { count: 135, exponent: -1 }));
        assert_eq!(read("000000."), Ok(Displayed { count: 0, exponent: 0 }));
        assert_eq!(read("12.3.4"), Err(BadNumber::SecondPoint));
        assert_eq!(read("1O0.00"), Err(BadNumber::Stray));
        assert_eq!(read("1e3"), Err(BadNumber::Stray));
        assert_eq!(read("."), Err(BadNumber::NoDigit));
        assert_eq!(read("1234567890123456"), Err(BadNumber::TooLong));
    }

    #[test]
    fn dummy_zeros_are_shown() {
        assert_eq!(Displayed { count: 200, exponent: 1 }.to_string(), "2000");
        assert_eq!(Displayed { count: -5, exponent: -3 }.to_string(), "-0.005");
    }
}
