//! What a buyer pays or charges: by weight, or by the piece.

use super::{BadPrice, Currency, Mass, Money, Notation, Per, Price, Rounding};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A price by weight or by the piece. A negative one is a charge: it costs money to leave the thing there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rate {
    Weight(Price),
    Piece(Money),
}

impl Rate {
    /// Reads `4.00/lb`, `2.50/piece`, and with a minus a charge: `-0.20/kg`. A bare "ton" is refused as in a price.
    /// A currency that the text names goes before `usual`.
    pub fn parse(text: &str, usual: Currency) -> Result<Rate, BadPrice> {
        Notation::parse(text).map(|typed| typed.rate(usual))
    }

    pub const fn per(&self) -> Per {
        match self {
            Rate::Weight(price) => Per::Weight(price.per),
            Rate::Piece(_) => Per::Piece,
        }
    }

    pub const fn currency(&self) -> Currency {
        match self {
            Rate::Weight(price) => price.currency,
            Rate::Piece(money) => money.currency,
        }
    }

    pub const fn amount(&self) -> Decimal {
        match self {
            Rate::Weight(price) => price.amount,
            Rate::Piece(money) => money.amount,
        }
    }

    /// The same rate with another amount, as a quantity break gives it.
    pub const fn with_amount(self, amount: Decimal) -> Rate {
        match self {
            Rate::Weight(price) => Rate::Weight(Price { amount, ..price }),
            Rate::Piece(money) => Rate::Piece(Money { amount, ..money }),
        }
    }

    /// It costs money to leave the thing.
    pub fn is_charge(&self) -> bool {
        self.amount().is_sign_negative() && !self.amount().is_zero()
    }

    /// What so much, or so many, come to, rounded once to `places` decimals by `rule`. `deduction` per cent comes off the
    /// weight, never off a count. None when a rate by the piece meets an unknown count, or beyond what a decimal can hold.
    pub fn value(
        &self,
        mass: Mass,
        pieces: Option<u32>,
        deduction: Option<Decimal>,
        places: u32,
        rule: Rounding,
    ) -> Option<Money> {
        match self {
            Rate::Weight(price) => price.value_less(mass, deduction, places, rule),
            Rate::Piece(money) => {
                let amount = money.amount.checked_mul(Decimal::from(pieces?))?;
                Some(Money { amount: rule.decimal(amount, places), currency: money.currency })
            }
        }
    }
}

impl std::fmt::Display for Rate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        Notation { amount: self.amount(), currency: Some(self.currency()), per: self.per() }.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rate(text: &str) -> Result<Rate, BadPrice> {
        Rate::parse(text, Currency::parse("USD").unwrap())
    }

    fn value(text: &str, mass: Mass, pieces: Option<u32>) -> Option<String> {
        let worth = rate(text).unwrap().value(mass, pieces, None, 2, Rounding::HalfUp);
        worth.map(|money| money.amount.to_string())
    }

    #[test]
    fn by_the_piece_and_by_weight() {
        assert_eq!(value("2.50/piece", Mass::grams(7), Some(3)).as_deref(), Some("7.50"));
        assert_eq!(value("2.50/piece", Mass::grams(7), None), None, "no count, no value");
        assert_eq!(value("2.505/piece", Mass::grams(7), Some(1)).as_deref(), Some("2.51"));
        assert_eq!(value("4.00/kg", Mass::grams(500), None).as_deref(), Some("2.00"));
        assert_eq!(rate("12/each").unwrap().to_string(), "12 USD/piece");
    }

    #[test]
    fn a_charge_is_a_negative_value() {
        assert_eq!(value("-0.20/kg", Mass::grams(2500), None).as_deref(), Some("-0.50"));
        assert_eq!(value("-5/piece", Mass::ZERO, Some(2)).as_deref(), Some("-10.00"));
        assert!(rate("-5/piece").unwrap().is_charge());
        assert!(!rate("0/kg").unwrap().is_charge());
    }

    #[test]
    fn a_bare_ton_and_a_doubled_sign_are_refused() {
        assert_eq!(rate("-310/ton"), Err(BadPrice::WhichTon));
        assert!(matches!(rate("--3/kg"), Err(BadPrice::Amount(_))));
        assert!(matches!(rate("3"), Err(BadPrice::Shape(_))));
    }
}
