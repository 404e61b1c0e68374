//! Weights, prices and days as a person types them. What cannot be read is wrong usage, told before anything is sent;
//! the daemon is handed the digits as they were typed.

use crate::measure::{Currency, Mass, Notation, Price, PriceUnit, Unit};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// The request key of each unit in which a weight can be typed.
const UNITS: [(Unit, &str); 4] = [(Unit::Gram, "grams"), (Unit::Kilogram, "kg"), (Unit::Pound, "lb"), (Unit::Ounce, "oz")];

/// A weight with its unit, as in `1.25kg`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weight {
    digits: String,
    key: &'static str,
}

impl Weight {
    pub fn parse(text: &str) -> Result<Weight, String> {
        let usage = || "a weight is a number and its unit, g, kg, lb or oz, as in 1.25kg or \"12 oz\"".to_owned();
        let at = text.find(|c: char| c.is_ascii_alphabetic()).ok_or_else(usage)?;
        let (digits, unit) = (text[..at].trim(), text[at..].trim_end());
        let (unit, key) = UNITS.into_iter().find(|(known, _)| known.symbol() == unit).ok_or_else(usage)?;
        Mass::parse(digits, unit).map_err(|fault| format!("{digits:?}: {fault}; {}", usage()))?;
        Ok(Weight { digits: digits.to_owned(), key })
    }

    pub fn body(&self) -> Value {
        json!({ self.key: self.digits })
    }
}

/// A price such as `4.00/lb` or `0.35 per piece`; with a minus a charge.
pub fn price(text: &str) -> Result<String, String> {
    Notation::parse(text).map(|_| text.to_owned()).map_err(|fault| fault.to_string())
}

/// A unit of weight that a price is per.
pub fn price_unit(text: &str) -> Result<PriceUnit, String> {
    PriceUnit::parse(text).map_err(|fault| fault.to_string())
}

/// A currency such as `EUR`.
pub fn currency(text: &str) -> Result<String, String> {
    Currency::parse(text).map(|known| known.to_string()).ok_or_else(|| "three capital letters, as in EUR".into())
}

/// A share of the weight in per cent.
pub fn percent(text: &str) -> Result<String, String> {
    Price::amount(text).map(|_| text.to_owned()).map_err(|_| "a decimal number from 0 to 100, as in 2.5".into())
}

/// An amount of money such as `15.00`.
pub fn amount(text: &str) -> Result<Decimal, String> {
    Price::amount(text).map_err(|fault| fault.to_string())
}

/// A day such as `2026-03-01`.
pub fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| "a day such as 2026-03-01".into())
}

/// Another amount from a quantity on, as in `100kg=4.20`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    from: Weight,
    amount: String,
}

impl Step {
    pub fn parse(text: &str) -> Result<Step, String> {
        let (from, amount) = text.split_once('=').ok_or("a weight and the amount from there on, as in 100kg=4.20")?;
        Price::signed(amount).map_err(|fault| fault.to_string())?;
        Ok(Step { from: Weight::parse(from)?, amount: amount.to_owned() })
    }

    pub fn body(&self) -> Value {
        json!({ "from": self.from.body(), "amount": self.amount })
    }
}

/// A bin's number, or `none`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice(pub Option<u32>);

impl Choice {
    pub fn parse(text: &str) -> Result<Choice, String> {
        match text {
            "none" => Ok(Choice(None)),
            number => number.parse().map(|number| Choice(Some(number))).map_err(|_| "a bin's number, or none".into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_keeps_the_digits_that_were_typed() {
        let body = |text: &str| Weight::parse(text).map(|weight| weight.body().to_string());
        assert_eq!(body("1.250kg").unwrap(), r#"{"kg":"1.250"}"#);
        assert_eq!(body("0.5 lb").unwrap(), r#"{"lb":"0.5"}"#);
        assert_eq!(body("12oz").unwrap(), r#"{"oz":"12"}"#);
        assert_eq!(body(" 40 g ").unwrap(), r#"{"grams":"40"}"#);
        for bad in ["", "1.25", "kg", "1,25kg", "1e3g", "1.2.3kg", "5 stone", "5KG", "3 t", "3kg more", "0x10g"] {
            assert!(body(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_price_says_per_what() {
        assert_eq!(price("4.00/lb").unwrap(), "4.00/lb");
        assert!(price("310/ton").unwrap_err().contains("long-ton"));
        assert_eq!(price("-0.20 per piece").unwrap(), "-0.20 per piece", "a charge");
        assert!(price("--4.00/lb").is_err());
        assert!(price("4.00").is_err());
    }

    #[test]
    fn a_step_is_a_weight_and_an_amount() {
        assert_eq!(Step::parse("100kg=4.20").unwrap().body(), json!({"from": {"kg": "100"}, "amount": "4.20"}));
        assert_eq!(Step::parse("100kg=-0.20").unwrap().body(), json!({"from": {"kg": "100"}, "amount": "-0.20"}), "a charge");
        for bad in ["100kg", "100=4.20", "100kg=", "100kg=--1", "=4"] {
            assert!(Step::parse(bad).is_err(), "{bad}");
        }
    }
}
