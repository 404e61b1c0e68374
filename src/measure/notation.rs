//! A price as a person types it: `4.10/lb`, `0.35 per piece`, with a minus a charge, with or without its currency.

use super::{BadPrice, Currency, Money, Price, PriceUnit, Rate};
use rust_decimal::Decimal;

/// What was typed, digit for digit: `4.10` stays `4.10`. What it prints it reads again as the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Notation {
    pub amount: Decimal,
    /// None where the text names none: then the usual one is meant.
    pub currency: Option<Currency>,
    pub per: Per,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Per {
    Weight(PriceUnit),
    Piece,
}

impl Per {
    /// The unit that a person typed, a weight or a piece. A bare "ton" is refused as in a price.
    pub fn parse(text: &str) -> Result<Per, BadPrice> {
        match text.trim().to_ascii_lowercase().as_str() {
            "piece" | "pieces" | "pc" | "pcs" | "each" => Ok(Per::Piece),
            per => PriceUnit::parse(per).map(Per::Weight),
        }
    }

    pub const fn symbol(self) -> &'static str {
        match self {
            Per::Weight(unit) => unit.symbol(),
            Per::Piece => "piece",
        }
    }
}

impl Notation {
    /// Reads an amount, perhaps its currency before or behind it, then `/` or `per`, then what it is per.
    /// A minus makes it a charge. The amount is plain: no exponent, no separator of thousands, a point for the decimals.
    pub fn parse(text: &str) -> Result<Notation, BadPrice> {
        let shape = || BadPrice::Shape(text.to_owned());
        let (amount, per) = text.split_once('/').or_else(|| split_word(text, "per")).ok_or_else(shape)?;
        let per = Per::parse(per)?;
        let mut words = amount.split_whitespace();
        let (digits, currency) = match (words.next(), words.next(), words.next()) {
            (Some(digits), None, None) => (digits, None),
            (Some(one), Some(other), None) => match (Currency::parse(one), Currency::parse(other)) {
                (None, Some(code)) => (one, Some(code)),
                (Some(code), None) => (other, Some(code)),
                _ => return Err(BadPrice::Amount(amount.trim().to_owned())),
            },
            (None, ..) => return Err(BadPrice::Amount(String::new())),
            _ => return Err(BadPrice::Amount(amount.trim().to_owned())),
        };
        Ok(Notation { amount: Price::signed(digits)?, currency, per })
    }

    /// The rate in its own currency, else in the usual one.
    pub fn rate(self, usual: Currency) -> Rate {
        let (amount, currency) = (self.amount, self.currency.unwrap_or(usual));
        match self.per {
            Per::Weight(per) => Rate::Weight(Price { amount, currency, per }),
            Per::Piece => Rate::Piece(Money { amount, currency }),
        }
    }

    /// A rate as it would be typed where `usual` goes without saying.
    pub fn of(rate: &Rate, usual: Currency) -> Notation {
        let currency = Some(rate.currency()).filter(|currency| *currency != usual);
        Notation { amount: rate.amount(), currency, per: rate.per() }
    }
}

/// The text before and behind a word that stands alone.
fn split_word<'a>(text: &'a str, word: &str) -> Option<(&'a str, &'a str)> {
    let stands = |at: usize| {
        let (before, behind) = (&text[..at], &text[at + word.len()..]);
        before.ends_with(char::is_whitespace) && behind.starts_with(char::is_whitespace)
    };
    let lower = text.to_ascii_lowercase();
    let at = lower.match_indices(word).map(|(at, _)| at).find(|at| stands(*at))?;
    Some((&text[..at], &text[at + word.len()..]))
}

impl std::fmt::Display for Notation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.currency {
            Some(currency) => write!(f, "{} {currency}/{}", self.amount, self.per.symbol()),
            None => write!(f, "{}/{}", self.amount, self.per.symbol()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> String {
        Notation::parse(text).unwrap_or_else(|fault| panic!("{text}: {fault}")).to_string()
    }

    fn notations() -> impl Strategy<Value = Notation> {
        let per = prop_oneof![Just(Per::Piece), proptest::sample::select(&PriceUnit::ALL[..]).prop_map(Per::Weight)];
        let codes = prop_oneof![Just(None), "[A-Z]{3}".prop_map(|code| Currency::parse(&code))];
        // Twelve digits before the point and nine behind it are the most that a price has.
        let amount = (0_u32..=9).prop_flat_map(|scale| {
            let most = 10_i128.pow(12 + scale) - 1;
            (-most..=most).prop_map(move |digits| Decimal::from_i128_with_scale(digits, scale))
        });
        (amount, codes, per).prop_map(|(amount, currency, per)| Notation { amount, currency, per })
    }

    proptest! {
        #[test]
        fn what_it_prints_it_reads_again(typed in notations(), usual in "[A-Z]{3}") {
            let again = Notation::parse(&typed.to_string()).unwrap();
            prop_assert_eq!(again, typed);
            prop_assert_eq!(again.amount.scale(), typed.amount.scale(), "zeros behind the point stay");
            let usual = Currency::parse(&usual).unwrap();
            let rate = typed.rate(usual);
            prop_assert_eq!(Notation::of(&rate, usual).rate(usual), rate);
        }

        #[test]
        fn no_text_panics(text in "\\PC{0,24}") {
            _ = Notation::parse(&text);
        }
    }

    #[test]
    fn as_a_person_types_it() {
        for (typed, printed) in [
            ("4.10/lb", "4.10/lb"),
            ("4.10 / LB", "4.10/lb"),
            ("0.35 per piece", "0.35/piece"),
            ("12 each", ""),
            ("0.350 PER pc", "0.350/piece"),
            ("-0.20/kg", "-0.20/kg"),
            ("-15 per piece", "-15/piece"),
            ("310 per gross ton", "310/long-ton"),
            ("310.00 USD / net ton", "310.00 USD/short-ton"),
            ("EUR 8 per kg", "8 EUR/kg"),
            ("15/100 lb", "15/short-cwt"),
            ("30/troy ounces", "30/ozt"),
            ("999999999999.999999999/tonne", "999999999999.999999999/tonne"),
            ("-0.00/kg", "0.00/kg"),
        ] {
            if printed.is_empty() {
                assert!(matches!(Notation::parse(typed), Err(BadPrice::Shape(_))), "{typed}");
            } else {
                assert_eq!(read(typed), printed, "{typed}");
            }
        }
    }

    #[test]
    fn what_is_not_plain_is_refused_by_its_name() {
        for ton in ["310/ton", "310 per ton", "310 per Tons", "-310/ton"] {
            assert_eq!(Notation::parse(ton), Err(BadPrice::WhichTon), "{ton}");
        }
        assert_eq!(Notation::parse("15/cwt"), Err(BadPrice::WhichHundredweight));
        for bad in
            ["--3/kg", "+3/kg", "1e3/kg", "4,00/kg", "1_000/kg", ".5/kg", "5./kg", "/kg", "USD/kg", "3 usd/kg", "1 2 EUR/kg"]
        {
            assert!(matches!(Notation::parse(bad), Err(BadPrice::Amount(_))), "{bad}");
        }
        for bad in ["3", "3 kg", "per", "", "3perkg"] {
            assert!(matches!(Notation::parse(bad), Err(BadPrice::Shape(_))), "{bad}");
        }
        assert!(matches!(Notation::parse("3/stone"), Err(BadPrice::Unit(_))));
    }
}
