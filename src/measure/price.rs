//! Prices per weight, in the units that buyers quote.

use super::{Currency, Mass, Money, Rounding, Unit};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// What a price is per. The three tons and the two hundredweights are kept apart by name:
/// a price "per ton" differs by 12 % between them, so the bare word is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum PriceUnit {
    #[serde(rename = "g")]
    Gram,
    #[serde(rename = "kg")]
    Kilogram,
    #[serde(rename = "tonne")]
    Tonne,
    #[serde(rename = "lb")]
    Pound,
    #[serde(rename = "oz")]
    Ounce,
    #[serde(rename = "ozt")]
    TroyOunce,
    /// 100 lb.
    #[serde(rename = "short-cwt")]
    ShortHundredweight,
    /// 112 lb.
    #[serde(rename = "long-cwt")]
    LongHundredweight,
    /// 2000 lb, also "net ton".
    #[serde(rename = "short-ton")]
    ShortTon,
    /// 2240 lb, also "gross ton".
    #[serde(rename = "long-ton")]
    LongTon,
}

impl PriceUnit {
    pub const ALL: [PriceUnit; 10] = [
        PriceUnit::Gram,
        PriceUnit::Kilogram,
        PriceUnit::Tonne,
        PriceUnit::Pound,
        PriceUnit::Ounce,
        PriceUnit::TroyOunce,
        PriceUnit::ShortHundredweight,
        PriceUnit::LongHundredweight,
        PriceUnit::ShortTon,
        PriceUnit::LongTon,
    ];

    /// The size of the unit, exact (NIST Handbook 44, Appendix C).
    pub const fn mass(self) -> Mass {
        Mass::from_femtograms(match self {
            PriceUnit::Gram => Unit::Gram.femtograms(),
            PriceUnit::Kilogram => Unit::Kilogram.femtograms(),
            PriceUnit::Tonne => Unit::Tonne.femtograms(),
            PriceUnit::Pound => Unit::Pound.femtograms(),
            PriceUnit::Ounce => Unit::Ounce.femtograms(),
            PriceUnit::TroyOunce => Unit::TroyOunce.femtograms(),
            PriceUnit::ShortHundredweight => 100 * Unit::Pound.femtograms(),
            PriceUnit::LongHundredweight => 112 * Unit::Pound.femtograms(),
            PriceUnit::ShortTon => 2000 * Unit::Pound.femtograms(),
            PriceUnit::LongTon => 2240 * Unit::Pound.femtograms(),
        })
    }

    pub const fn symbol(self) -> &'static str {
        match self {
            PriceUnit::Gram => "g",
            PriceUnit::Kilogram => "kg",
            PriceUnit::Tonne => "tonne",
            PriceUnit::Pound => "lb",
            PriceUnit::Ounce => "oz",
            PriceUnit::TroyOunce => "ozt",
            PriceUnit::ShortHundredweight => "short-cwt",
            PriceUnit::LongHundredweight => "long-cwt",
            PriceUnit::ShortTon => "short-ton",
            PriceUnit::LongTon => "long-ton",
        }
    }

    /// The unit that a person typed. Trade words for one size are taken; a bare "ton" or "cwt" is not.
    pub fn parse(text: &str) -> Result<PriceUnit, BadPrice> {
        let lower = text.trim().to_ascii_lowercase().replace([' ', '_'], "-");
        match lower.as_str() {
            "ton" | "tons" => return Err(BadPrice::WhichTon),
            "cwt" | "hundredweight" => return Err(BadPrice::WhichHundredweight),
            "t" | "tonnes" | "metric-ton" | "metric-tons" => return Ok(PriceUnit::Tonne),
            "gross-ton" | "gross-tons" | "long-tons" => return Ok(PriceUnit::LongTon),
            "net-ton" | "net-tons" | "short-tons" => return Ok(PriceUnit::ShortTon),
            "pound" | "pounds" | "lbs" => return Ok(PriceUnit::Pound),
            "100-lb" | "100lb" | "100-lbs" => return Ok(PriceUnit::ShortHundredweight),
            "troy-ounce" | "troy-ounces" | "troy-oz" | "oz-t" => return Ok(PriceUnit::TroyOunce),
            _ => {}
        }
        PriceUnit::ALL.into_iter().find(|unit| unit.symbol() == lower).ok_or(BadPrice::Unit(text.to_owned()))
    }
}

/// Why a price is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadPrice {
    #[error("a price per ton must say which: tonne (1000 kg), short-ton (2000 lb) or long-ton (2240 lb)")]
    WhichTon,
    #[error("a price per hundredweight must say which: short-cwt (100 lb) or long-cwt (112 lb)")]
    WhichHundredweight,
    #[error(
        "{0:?} is not a unit of price; one of g, kg, tonne, lb, oz, ozt, short-cwt, long-cwt, short-ton, long-ton is, or piece"
    )]
    Unit(String),
    #[error("{0:?} is not a decimal amount such as 4.00")]
    Amount(String),
    #[error("a price cannot be below nothing: {0}")]
    Negative(String),
    #[error("{0:?} is not a price such as 4.00/lb, or 0.35 per piece")]
    Shape(String),
}

/// An amount of one currency per unit of weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Price {
    pub amount: Decimal,
    pub currency: Currency,
    pub per: PriceUnit,
}

impl Price {
    /// Amounts up to this many decimals and 10¹² in size keep every product below an `i128`.
    const DECIMALS_MAX: u32 = 9;

    /// Reads a plain decimal amount that is not negative. An exponent, an underscore, a bare point are refused.
    pub fn amount(text: &str) -> Result<Decimal, BadPrice> {
        let digits = text.strip_prefix('-').unwrap_or(text);
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
        let plain = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
        if !plain(whole) || !plain(fraction) || whole.len() > 12 || fraction.len() > Self::DECIMALS_MAX as usize {
            return Err(BadPrice::Amount(text.to_owned()));
        }
        let amount = Decimal::from_str_exact(text).map_err(|_| BadPrice::Amount(text.to_owned()))?;
        if amount.is_sign_negative() && !amount.is_zero() {
            return Err(BadPrice::Negative(text.to_owned()));
        }
        Ok(amount.abs())
    }

    /// The same with a minus before it for what costs money.
    pub fn signed(text: &str) -> Result<Decimal, BadPrice> {
        let digits = text.strip_prefix('-').unwrap_or(text);
        if digits.starts_with('-') {
            return Err(BadPrice::Amount(text.to_owned()));
        }
        let size = Price::amount(digits)?;
        // No amount is "minus nothing".
        Ok(if digits.len() < text.len() && !size.is_zero() { -size } else { size })
    }

    /// Reads `4.00/lb`.
    pub fn parse(text: &str, currency: Currency) -> Result<Price, BadPrice> {
        let (amount, per) = text.split_once('/').ok_or_else(|| BadPrice::Shape(text.to_owned()))?;
        Ok(Price { amount: Price::amount(amount.trim())?, currency, per: PriceUnit::parse(per)? })
    }

    /// What `mass` is worth, rounded once to `places` decimals by `rule`; exact before that.
    /// `None` when the product leaves an `i128`, which no bench load can reach.
    pub fn value(&self, mass: Mass, places: u32, rule: Rounding) -> Option<Money> {
        self.value_less(mass, None, places, rule)
    }

    /// The same for a buyer who takes `deduction` per cent off the weight.
    pub fn value_less(&self, mass: Mass, deduction: Option<Decimal>, places: u32, rule: Rounding) -> Option<Money> {
        let paid = Decimal::ONE_HUNDRED.checked_sub(deduction.unwrap_or_default())?;
        let mass = mass * paid.mantissa();
        let per = self.per.mass().femtograms().checked_mul(100)?.checked_mul(10_i128.checked_pow(paid.scale())?)?;
        let shared = gcd(mass.femtograms().unsigned_abs(), per.unsigned_abs()).max(1) as i128;
        let (mass, mut per) = (mass.femtograms() / shared, per / shared);
        let mut numerator = self.amount.mantissa().checked_mul(mass)?;
        let scale = self.amount.scale();
        if places >= scale {
            numerator = numerator.checked_mul(10_i128.checked_pow(places - scale)?)?;
        } else {
            per = per.checked_mul(10_i128.checked_pow(scale - places)?)?;
        }
        let amount = Decimal::try_from_i128_with_scale(rule.divide(numerator, per), places).ok()?;
        Some(Money { amount, currency: self.currency })
    }

    /// The same price per another unit, rounded to `places` decimals by `rule`.
    pub fn per(&self, unit: PriceUnit, places: u32, rule: Rounding) -> Option<Decimal> {
        self.value(unit.mass(), places, rule).map(|money| money.amount)
    }
}

impl std::fmt::Display for Price {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}/{}", self.amount, self.currency, self.per.symbol())
    }
}

fn gcd(a: u128, b: u128) -> u128 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn usd() -> Currency {
        Currency::parse("USD").unwrap()
    }

    /// Each quote per pound, kilogram and tonne, reckoned apart from this code with Python's `decimal` from the exact
    /// definitions of NIST Handbook 44, Appendix C.
    #[test]
    fn price_units_convert_exactly() {
        for (quote, per_lb, per_kg, per_tonne) in [
            ("4.00/lb", "4.00", "8.818490487395103", "8818.490487395103"),
            ("9.25/kg", "4.1957294225", "9.25", "9250"),
            ("310/gross-ton", "0.138392857142857", "0.305104023559429", "305.104023559429"),
            ("310/short-ton", "0.155", "0.341716506386560", "341.716506386560"),
            ("310/tonne", "0.1406136347", "0.310", "310"),
            ("15/short-cwt", "0.15", "0.330693393277316", "330.693393277316"),
            ("0.145/lb", "0.145", "0.319670280168072", "319.670280168072"),
        ] {
            let price = Price::parse(quote, usd()).unwrap();
            for (unit, expected) in [(PriceUnit::Pound, per_lb), (PriceUnit::Kilogram, per_kg), (PriceUnit::Tonne, per_tonne)] {
                let expected = Decimal::from_str_exact(expected).unwrap();
                let got = price.per(unit, expected.scale(), Rounding::HalfEven).unwrap();
                assert_eq!(got, expected, "{quote} per {}", unit.symbol());
            }
        }
        let silver = Price::parse("30/ozt", usd()).unwrap();
        assert_eq!(silver.per(PriceUnit::Ounce, 5, Rounding::HalfEven).unwrap().to_string(), "27.34375");
        assert_eq!(silver.per(PriceUnit::Gram, 15, Rounding::HalfEven).unwrap().to_string(), "0.964522397058839");
    }

    #[test]
    fn a_ton_without_its_kind_is_refused() {
        assert_eq!(Price::parse("310/ton", usd()), Err(BadPrice::WhichTon));
        assert_eq!(Price::parse("15/cwt", usd()), Err(BadPrice::WhichHundredweight));
        assert_eq!(Price::parse("15/100 lb", usd()), Price::parse("15/short-cwt", usd()));
        assert_eq!(Price::parse("30/troy ounce", usd()), Price::parse("30/ozt", usd()));
        assert_eq!(Price::parse("-4.00/lb", usd()), Err(BadPrice::Negative("-4.00".into())));
        for bad in ["1e3/lb", "1_000/lb", ".5/lb", "5./lb", "/lb", "4,00/lb"] {
            assert!(matches!(Price::parse(bad, usd()), Err(BadPrice::Amount(_))), "{bad}");
        }
    }

    #[test]
    fn a_deduction_comes_off_the_weight_before_the_rounding() {
        let price = Price::parse("1.99/kg", usd()).unwrap();
        let value = |percent| price.value_less(Mass::grams(1000), Some(Decimal::new(percent, 1)), 2, Rounding::HalfUp);
        assert_eq!(value(0).unwrap().amount, Decimal::new(199, 2));
        assert_eq!(value(25).unwrap().amount, Decimal::new(194, 2), "1.99 less 2.5 per cent is 1.94025");
        assert_eq!(value(1000).unwrap().amount, Decimal::new(0, 2));
    }

    proptest! {
        #[test]
        fn a_whole_unit_is_worth_the_price(cents in 0_i64..100_000_000, unit in proptest::sample::select(&PriceUnit::ALL[..])) {
            let price = Price { amount: Decimal::new(cents, 2), currency: usd(), per: unit };
            prop_assert_eq!(price.value(unit.mass(), 2, Rounding::HalfEven).unwrap().amount, price.amount);
        }

        #[test]
        fn parts_never_stray_from_the_whole_by_more_than_a_cent_each(grams in proptest::collection::vec(1_i64..50_000, 1..20), cents in 1_i64..10_000) {
            let price = Price { amount: Decimal::new(cents, 2), currency: usd(), per: PriceUnit::Pound };
            let value = |mass| price.value(mass, 2, Rounding::HalfUp).unwrap().amount;
            let parts: Decimal = grams.iter().map(|g| value(Mass::grams(*g))).fold(Decimal::ZERO, |a, b| a + b);
            let whole = value(grams.iter().map(|g| Mass::grams(*g)).sum());
            prop_assert!((parts - whole).abs() <= Decimal::new(grams.len() as i64, 2));
        }
    }
}
