//! What a buyer does over many tickets: how far their scale is from ours, and what they pay against what they quote.

use crate::economy::interval::Interval;
use crate::economy::student::t95;
use crate::economy::uncertainty::repeats;
use crate::measure::{Price, Rounding};
use rust_decimal::Decimal;

/// Fewer tickets say nothing of a buyer.
pub const FEWEST: usize = 3;

/// Decimals of an expected price.
const PRICE_PLACES: u32 = 4;

/// How far a buyer's scale lies from ours, in per cent of the load; negative where they have less.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bias {
    pub tickets: usize,
    pub mean: Decimal,
    /// 95 % for the mean over tickets, by Student; it narrows with every ticket.
    pub scatter: Interval,
    /// The same and our own calibration beside it, which no number of tickets makes smaller; none where no check weight
    /// bounds it.
    pub whole: Option<Interval>,
}

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    Under,
    Over,
}

/// The bias over tickets; none under three of them. `own_bound` is how far our scale may be off, in per cent.
pub fn bias(percents: &[Decimal], own_bound: Option<Decimal>) -> Option<Bias> {
    if percents.len() < FEWEST {
        return None;
    }
    let seen = repeats(percents)?;
    let half = t95(seen.freedom)?.checked_mul(seen.standard)?;
    let whole = own_bound.and_then(|own| Interval::around(seen.mean, half.checked_add(own)?));
    Some(Bias { tickets: percents.len(), mean: seen.mean, scatter: Interval::around(seen.mean, half)?, whole })
}

impl Bias {
    /// Which way they are off from us beyond the scatter, whoever of the two is wrong.
    pub fn side(&self) -> Option<Side> {
        if self.scatter.high < Decimal::ZERO {
            return Some(Side::Under);
        }
        (self.scatter.low > Decimal::ZERO).then_some(Side::Over)
    }
}

/// When two buyers or more are known and all of them are off the same way, our own scale is the likelier fault.
pub fn suspect_ours(all: &[Bias]) -> Option<Side> {
    let first = all.first()?.side()?;
    (all.len() >= 2 && all.iter().all(|bias| bias.side() == Some(first))).then_some(first)
}

/// A price as this buyer has so far paid it. A guess from the past, and to be shown as one: it never takes the place of
/// the quote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExpectedPrice {
    pub quoted: Price,
    pub expected: Price,
    /// Lines on which it rests.
    pub lines: usize,
}

/// What a quote will likely be paid as: the quote times the mean share of their quotes that they paid, over lines with both,
/// as pairs of what was quoted and what was paid in one unit. None under three lines.
pub fn expected_price(quoted: Price, seen: &[(Decimal, Decimal)]) -> Option<ExpectedPrice> {
    let shares: Vec<Decimal> =
        seen.iter().filter(|(quote, _)| !quote.is_zero()).filter_map(|(quote, paid)| paid.checked_div(*quote)).collect();
    if shares.len() < FEWEST {
        return None;
    }
    let amount = quoted.amount.checked_mul(repeats(&shares)?.mean)?;
    let amount = Rounding::HalfEven.decimal(amount, PRICE_PLACES);
    Some(ExpectedPrice { quoted, expected: Price { amount, ..quoted }, lines: shares.len() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Currency;

    fn decimals(texts: &[&str]) -> Vec<Decimal> {
        texts.iter().map(|text| text.parse().unwrap()).collect()
    }

    /// JCGM 100:2008, 4.4.3, Table 1: twenty readings, mean 100.145, s = 1.489, s/√20 = 0.333; the interval with t(19) of its
    /// Table G.2 (reckoned apart with scipy: 99.448199 to 100.841801).
    #[test]
    fn the_guide_s_twenty_readings() {
        let seen = decimals(&[
            "96.90", "98.18", "98.25", "98.61", "99.03", "99.49", "99.56", "99.74", "99.89", "100.07", "100.33", "100.42",
            "100.68", "100.95", "101.11", "101.20", "101.57", "101.84", "102.36", "102.72",
        ]);
        let got = bias(&seen, Some(Decimal::ONE)).unwrap();
        let round = |value: Decimal| value.round_dp(4).to_string();
        assert_eq!(
            [round(got.mean), round(got.scatter.low), round(got.scatter.high)].map(|text| text[..text.len().min(8)].to_owned()),
            ["100.1450", "99.4482", "100.8418"]
        );
        assert_eq!(round(got.whole.unwrap().low), "98.4482", "our own bound is added whole");
        assert_eq!(bias(&seen[..2], None), None);
    }

    #[test]
    fn all_off_the_same_way() {
        let of = |texts: &[&str]| bias(&decimals(texts), None).unwrap();
        let (low, lower, even) = (of(&["-1", "-1.1", "-0.9"]), of(&["-2", "-2.2", "-1.9"]), of(&["-0.1", "0.1", "0"]));
        assert_eq!(suspect_ours(&[low, lower]), Some(Side::Under));
        assert_eq!(suspect_ours(&[low, lower, even]), None);
        assert_eq!(suspect_ours(&[low]), None, "one buyer alone may be the one who is wrong");
    }

    #[test]
    fn what_a_quote_is_paid_as() {
        let quoted = Price::parse("8.00/kg", Currency::parse("EUR").unwrap()).unwrap();
        let pair = |quote, paid| (Decimal::from(quote), Decimal::from(paid));
        assert_eq!(expected_price(quoted, &[pair(10, 9), pair(10, 9)]), None);
        let got = expected_price(quoted, &[pair(10, 9), pair(10, 10), pair(20, 16), pair(0, 5)]).unwrap();
        assert_eq!((got.expected.amount.to_string(), got.lines), ("7.2000".into(), 3));
    }
}
