//! Which quote holds on a day, and what it makes of what is brought.
//!
//! No quote, no value: what has none is left out of a total by name, never counted as nothing.

use crate::facts::books::Quote;
use crate::facts::{Break, BuyerId, GradeId, QuoteId};
use crate::measure::{Currency, Mass, Money, Per, Price, PriceUnit, Rate, Rounding};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Money is rounded once a line, to the hundredth, a tie away from zero as a till does.
pub const MONEY_PLACES: u32 = 2;
pub const MONEY_RULE: Rounding = Rounding::HalfUp;

/// Decimals of a price per kilogram that is only compared, never paid.
const COMPARED_PLACES: u32 = 9;

/// What a buyer pays for a grade from a day on.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    pub rate: Rate,
    /// The first day on which it holds.
    pub day: Date,
    /// Days after which it is called stale, where it says so itself.
    pub stale_after: Option<u16>,
    /// Another amount from a quantity on, in rising order of quantity.
    pub breaks: Vec<Break>,
    /// The buyer takes no less than this.
    pub minimum: Option<Mass>,
    /// Per cent that the buyer takes off the weight.
    pub deduction: Option<Decimal>,
}

impl From<&Quote> for Terms {
    fn from(quote: &Quote) -> Terms {
        Terms {
            rate: quote.rate,
            day: quote.day,
            stale_after: quote.stale_after,
            breaks: quote.breaks.clone(),
            minimum: quote.minimum,
            deduction: quote.deduction,
        }
    }
}

/// What is brought: its mass, and its count where somebody counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Brought {
    pub mass: Mass,
    pub pieces: Option<u32>,
}

impl Brought {
    pub const fn of(mass: Mass) -> Brought {
        Brought { mass, pieces: None }
    }
}

/// What a buyer would pay for it on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offer {
    /// The rate that holds for so much.
    pub rate: Rate,
    pub day: Date,
    pub age_days: i64,
    pub stale: bool,
    pub worth: Worth,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worth {
    /// Rounded once; negative where it costs money to leave it.
    Money(Money),
    /// The buyer takes no less than this.
    BelowMinimum { minimum: Mass },
    /// Paid by the piece, and nobody counted.
    NotCounted,
    /// Beyond what can be reckoned exactly.
    TooLarge,
}

impl Worth {
    pub const fn money(self) -> Option<Money> {
        match self {
            Worth::Money(money) => Some(money),
            Worth::BelowMinimum { .. } | Worth::NotCounted | Worth::TooLarge => None,
        }
    }
}

impl Terms {
    /// The rate for so much: the last quantity break that is reached.
    pub fn rate_for(&self, mass: Mass) -> Rate {
        let reached = self.breaks.iter().filter(|step| mass >= step.from).max_by_key(|step| step.from);
        reached.map_or(self.rate, |step| self.rate.with_amount(step.amount))
    }

    /// Whole days since it was given; it is in force on its first day.
    pub fn age_days(&self, day: Date) -> i64 {
        days_between(self.day, day)
    }

    /// Older than it said itself it would hold, or else than `usual` days.
    pub fn is_stale(&self, day: Date, usual: u16) -> bool {
        self.age_days(day) > i64::from(self.stale_after.unwrap_or(usual))
    }

    pub fn offer(&self, brought: Brought, day: Date, usual_stale_after: u16) -> Offer {
        let rate = self.rate_for(brought.mass);
        let worth = match (self.minimum.filter(|minimum| brought.mass < *minimum), rate, brought.pieces) {
            (Some(minimum), _, _) => Worth::BelowMinimum { minimum },
            (None, Rate::Piece(_), None) => Worth::NotCounted,
            _ => rate
                .value(brought.mass, brought.pieces, self.deduction, MONEY_PLACES, MONEY_RULE)
                .map_or(Worth::TooLarge, Worth::Money),
        };
        Offer { rate, day: self.day, age_days: self.age_days(day), stale: self.is_stale(day, usual_stale_after), worth }
    }

    /// What a kilogram brings where `mass` is brought, with what is taken off the weight already off; to nine decimals, for
    /// comparing only. None below the minimum lot and for what is paid by the piece.
    pub fn per_kilogram(&self, mass: Mass) -> Option<Money> {
        if self.minimum.is_some_and(|minimum| mass < minimum) {
            return None;
        }
        let Rate::Weight(price) = self.rate_for(mass) else { return None };
        price.value_less(PriceUnit::Kilogram.mass(), self.deduction, COMPARED_PLACES, Rounding::HalfEven)
    }
}

/// Whole days from one day to a later one; negative when the other is earlier.
pub fn days_between(from: Date, to: Date) -> i64 {
    (to - from).get_days().into()
}

/// The quotes that hold on a day.
pub type InForce<'a> = BTreeMap<(GradeId, BuyerId, Currency), (QuoteId, &'a Quote)>;

/// For each grade, buyer and currency the quote with the latest day that has come, and of one day the last given.
pub fn in_force<'a>(quotes: impl IntoIterator<Item = (QuoteId, &'a Quote)>, day: Date) -> InForce<'a> {
    let mut held: InForce<'a> = BTreeMap::new();
    for (id, quote) in quotes.into_iter().filter(|(_, quote)| !quote.withdrawn && quote.day <= day) {
        let key = (quote.grade, quote.buyer, quote.rate.currency());
        if held.get(&key).is_none_or(|(last, best)| (best.day, *last) <= (quote.day, id)) {
            held.insert(key, (id, quote));
        }
    }
    held
}

/// A sum over lines, and what it leaves out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Total {
    pub value: Money,
    pub rows: usize,
    pub left_out: Mass,
    pub left_out_rows: usize,
    pub stale_rows: usize,
}

/// Adds up the rounded lines, so that the sum of what is shown is what is shown as the sum. A line in another currency,
/// without a value, or beyond what a decimal can hold is left out.
pub fn total(currency: Currency, lines: impl IntoIterator<Item = (Mass, Option<Money>, bool)>) -> Total {
    let nothing = Money { amount: Decimal::new(0, MONEY_PLACES), currency };
    let mut total = Total { value: nothing, rows: 0, left_out: Mass::ZERO, left_out_rows: 0, stale_rows: 0 };
    for (mass, value, stale) in lines {
        match value.and_then(|value| total.value.plus(value)) {
            Some(sum) => {
                total.value = sum;
                total.rows += 1;
                total.stale_rows += usize::from(stale);
            }
            None => {
                total.left_out += mass;
                total.left_out_rows += 1;
            }
        }
    }
    total
}

/// Decimals of a price that is shown in another unit than it was given in.
const CONVERTED_PLACES: u32 = 6;

/// A price in another unit, by the exact sizes of both.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Converted {
    pub amount: Decimal,
    /// It ends within the decimals that are shown; else it is rounded, half to even.
    pub exact: bool,
}

/// A rate as it would be given per `per`; as it was where that is the same. None from a piece to a weight or back, and beyond
/// what a decimal can hold.
pub fn converted(rate: &Rate, per: Per) -> Option<Converted> {
    let (Rate::Weight(price), Per::Weight(unit)) = (rate, per) else {
        return (rate.per() == per).then_some(Converted { amount: rate.amount(), exact: true });
    };
    if price.per == unit {
        return Some(Converted { amount: price.amount, exact: true });
    }
    let amount = price.per(unit, CONVERTED_PLACES, Rounding::HalfEven)?.normalize();
    Some(Converted { amount, exact: is_same_price(price, amount, unit) })
}

/// Whether an amount per `unit` is the very same price: the amount of each times the size of the other's unit. What is too
/// large to be multiplied out is called rounded.
fn is_same_price(price: &Price, amount: Decimal, unit: PriceUnit) -> bool {
    let product = |one: Decimal, size: PriceUnit, other: Decimal| {
        // The decimals of both go over to whole numbers, and ten to the eighth is in every unit.
        let size = size.mass().femtograms() / 10_i128.pow(8);
        one.mantissa().checked_mul(size)?.checked_mul(10_i128.checked_pow(other.scale())?)
    };
    let sides = product(price.amount, unit, amount).zip(product(amount, price.per, price.amount));
    sides.is_some_and(|(one, other)| one == other)
}

/// A rate in another unit of weight, for showing two quotes side by side; none for what is paid by the piece.
pub fn in_unit(rate: &Rate, unit: PriceUnit, places: u32) -> Option<Price> {
    let Rate::Weight(price) = rate else { return None };
    Some(Price { amount: price.per(unit, places, Rounding::HalfEven)?, per: unit, ..*price })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;

    fn usd() -> Currency {
        Currency::parse("USD").unwrap()
    }

    fn terms(rate: &str) -> Terms {
        let rate = Rate::parse(rate, usd()).unwrap();
        Terms { rate, day: date(2026, 3, 1), stale_after: None, breaks: Vec::new(), minimum: None, deduction: None }
    }

    fn quote(amount: i64, day: Date, withdrawn: bool) -> Quote {
        let rate = Rate::Weight(Price { amount: Decimal::from(amount), currency: usd(), per: PriceUnit::Kilogram });
        Quote {
            buyer: BuyerId(1),
            grade: GradeId(2),
            rate,
            day,
            stale_after: None,
            breaks: Vec::new(),
            minimum: None,
            deduction: None,
            withdrawn,
        }
    }

    fn worth(terms: &Terms, grams: i64) -> Worth {
        terms.offer(Brought::of(Mass::grams(grams)), date(2026, 3, 10), 30).worth
    }

    #[test]
    fn the_latest_day_that_has_come_holds() {
        let quotes = [
            quote(5, date(2026, 3, 1), false),
            quote(6, date(2026, 3, 5), false),
            quote(7, date(2026, 3, 5), false),
            quote(9, date(2026, 3, 3), true),
        ];
        let held = |day| {
            let numbered = quotes.iter().enumerate().map(|(at, quote)| (QuoteId(at as u64), quote));
            in_force(numbered, day).values().map(|(_, quote)| quote.rate.amount()).collect::<Vec<_>>()
        };
        assert_eq!(held(date(2026, 2, 28)), []);
        assert_eq!(held(date(2026, 3, 4)), [Decimal::from(5)]);
        assert_eq!(held(date(2026, 3, 5)), [Decimal::from(7)], "of one day the last given");
    }

    #[test]
    fn a_quote_goes_stale_by_its_own_rule_first() {
        let mut quoted = terms("4/kg");
        let stale = |terms: &Terms, day| terms.offer(Brought::of(Mass::grams(1)), day, 30).stale;
        assert!(!stale(&quoted, date(2026, 3, 31)));
        assert!(stale(&quoted, date(2026, 4, 1)));
        quoted.stale_after = Some(7);
        assert!(!stale(&quoted, date(2026, 3, 8)));
        assert!(stale(&quoted, date(2026, 3, 9)));
    }

    #[test]
    fn breaks_minimum_and_deduction() {
        let mut quoted = terms("4/kg");
        quoted.breaks = vec![
            Break { from: Mass::grams(10_000), amount: Decimal::from(5) },
            Break { from: Mass::grams(50_000), amount: Decimal::from(6) },
        ];
        quoted.minimum = Some(Mass::grams(1000));
        let money = |amount: &str| Worth::Money(Money { amount: amount.parse().unwrap(), currency: usd() });
        assert_eq!(worth(&quoted, 999), Worth::BelowMinimum { minimum: Mass::grams(1000) });
        assert_eq!(worth(&quoted, 1000), money("4.00"));
        assert_eq!(worth(&quoted, 9999), money("40.00"));
        assert_eq!(worth(&quoted, 10_000), money("50.00"));
        assert_eq!(worth(&quoted, 50_000), money("300.00"));
        quoted.deduction = Some(Decimal::new(25, 1));
        assert_eq!(worth(&quoted, 50_000), money("292.50"));
        assert_eq!(quoted.per_kilogram(Mass::grams(50_000)).unwrap().amount, Decimal::new(585, 2));
        assert_eq!(quoted.per_kilogram(Mass::grams(999)), None);
    }

    #[test]
    fn by_the_piece_and_charges() {
        assert_eq!(worth(&terms("2.50/piece"), 100), Worth::NotCounted);
        let three = terms("2.50/piece").offer(Brought { mass: Mass::grams(1), pieces: Some(3) }, date(2026, 3, 1), 30);
        assert_eq!(three.worth.money().unwrap().amount, Decimal::new(750, 2));
        assert_eq!(worth(&terms("-0.20/kg"), 2500).money().unwrap().amount, Decimal::new(-50, 2));
        assert_eq!(terms("2.50/piece").per_kilogram(Mass::grams(1)), None);
    }

    #[test]
    fn what_has_no_value_is_left_out_by_name() {
        let euro = Money { amount: Decimal::ONE, currency: Currency::parse("EUR").unwrap() };
        let dollar = Money { amount: Decimal::ONE, currency: usd() };
        let lines = [
            (Mass::grams(1), Some(dollar), true),
            (Mass::grams(8), Some(dollar), false),
            (Mass::grams(2), None, true),
            (Mass::grams(4), Some(euro), false),
        ];
        let sum = total(usd(), lines);
        assert_eq!((sum.value.amount, sum.rows, sum.stale_rows), (Decimal::TWO, 2, 1));
        assert_eq!((sum.left_out, sum.left_out_rows), (Mass::grams(6), 2));
    }

    #[test]
    fn one_quote_in_another_unit() {
        let per_pound = in_unit(&terms("310/gross ton").rate, PriceUnit::Pound, 6).unwrap();
        assert_eq!(per_pound.amount.to_string(), "0.138393");
        assert_eq!(in_unit(&terms("3/piece").rate, PriceUnit::Pound, 6), None);
    }

    proptest! {
        #[test]
        fn the_sum_of_the_rows_is_the_total(masses in proptest::collection::vec(1_i64..5_000_000, 1..40), cents in 1_i64..5000) {
            let quoted = Terms { rate: Rate::Weight(Price { amount: Decimal::new(cents, 2), currency: usd(), per: PriceUnit::Pound }), ..terms("1/lb") };
            let rows: Vec<Money> = masses.iter().map(|grams| worth(&quoted, *grams).money().unwrap()).collect();
            let sum = total(usd(), rows.iter().map(|value| (Mass::ZERO, Some(*value), false)));
            let by_hand: Decimal = rows.iter().map(|value| value.amount).sum();
            prop_assert_eq!(sum.value.amount, by_hand);
            prop_assert_eq!(sum.value.amount.scale(), MONEY_PLACES);
        }
    }
}
