//! Money: a decimal amount in one currency.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A currency by its ISO 4217 letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Currency([u8; 3]);

impl Currency {
    /// Three capital letters; anything else is refused.
    pub fn parse(text: &str) -> Option<Currency> {
        let bytes: [u8; 3] = text.as_bytes().try_into().ok()?;
        bytes.iter().all(u8::is_ascii_uppercase).then_some(Currency(bytes))
    }

    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).expect("checked to be ASCII when made")
    }
}

impl TryFrom<String> for Currency {
    type Error = String;
    fn try_from(text: String) -> Result<Currency, String> {
        Currency::parse(&text).ok_or_else(|| format!("{text:?} is not a currency of three capital letters"))
    }
}

impl From<Currency> for String {
    fn from(currency: Currency) -> String {
        currency.code().to_owned()
    }
}

impl std::fmt::Display for Currency {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.code())
    }
}

/// An amount. Amounts of two currencies are never added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Money {
    pub amount: Decimal,
    pub currency: Currency,
}

impl Money {
    /// The sum; `None` when the currencies differ or the amount leaves what a decimal can hold exactly.
    pub fn plus(self, other: Money) -> Option<Money> {
        if self.currency != other.currency {
            return None;
        }
        let amount = self.amount.checked_add(other.amount)?;
        Some(Money { amount, currency: self.currency })
    }
}
