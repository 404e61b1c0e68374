//! The quotes that the report of the hour stands on, and what comes to money by them.
//!
//! Each quote is taken at its first price with its deduction, without quantity breaks and minimum lots: those hang on what
//! one trip brings, and a lot is only a part of it.

use super::days_between;
use super::hour::HourQuestion;
use super::lot_tally::{Came, Lies, made_by};
use crate::economy::basis::Basis;
use crate::economy::pay::{Output, Whole};
use crate::economy::quotes::{MONEY_PLACES, MONEY_RULE, Terms, in_force};
use crate::facts::books::{Fill, Origin, Quote};
use crate::facts::{Books, BuyerId, FillId, GradeId};
use crate::measure::{Currency, Mass, Money, PriceUnit, Rate, Rounding};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Decimals of a price per kilogram that is only compared.
const COMPARED_PLACES: u32 = 9;

/// What the feed would bring as it came.
#[derive(Debug, Clone, PartialEq)]
pub enum WholeSaid {
    /// There is a quote for a grade of the feed's own name, or for that of the bin that it was all drawn from.
    Quoted(Priced),
    /// The owner says that it would have been left.
    Left,
    Unknown,
}

/// The quote that a value stands on.
#[derive(Debug, Clone, PartialEq)]
pub struct Priced {
    pub buyer: String,
    /// A negative one is a charge.
    pub rate: Rate,
    /// Per cent that the buyer takes off the weight.
    pub deduction: Option<Decimal>,
    pub day: Date,
    pub age_days: i64,
    pub stale: bool,
}

impl Priced {
    fn value(&self, mass: Mass, pieces: Option<u32>) -> Option<Money> {
        self.rate.value(mass, pieces, self.deduction, MONEY_PLACES, MONEY_RULE)
    }

    /// A kilogram's price with the deduction off; none of what is paid by the piece.
    pub fn per_kilogram(&self) -> Option<Decimal> {
        match self.rate {
            Rate::Weight(price) => {
                let kilogram = PriceUnit::Kilogram.mass();
                price.value_less(kilogram, self.deduction, COMPARED_PLACES, Rounding::HalfEven).map(|money| money.amount)
            }
            Rate::Piece(_) => None,
        }
    }

    /// None of what is paid by weight.
    pub fn per_piece(&self) -> Option<Decimal> {
        match self.rate {
            Rate::Weight(_) => None,
            Rate::Piece(money) => Some(money.amount),
        }
    }

    /// A price by weight goes before one by the piece, which has a value only where somebody counted, and any price before a
    /// charge.
    fn order(&self) -> (bool, bool, Option<Decimal>) {
        (!self.rate.is_charge(), self.per_piece().is_none(), self.per_kilogram().or(self.per_piece()))
    }
}

/// What came out as one grade brings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Brings {
    /// Rounded once; negative where it costs money to leave it; none without a quote.
    pub value: Option<Money>,
    /// Paid by the piece, so many of them: each fill's count has its share by weight. None where nothing was counted.
    pub pieces: Option<Decimal>,
    /// Paid by the piece, and not counted since the last of it came: in no value.
    pub not_counted: Mass,
}

/// The quotes of the day.
pub(super) struct Prices<'a> {
    pub books: &'a Books,
    best: BTreeMap<GradeId, Priced>,
    /// Pieces of the fills whose last count still holds, and the mass that was counted.
    counts: BTreeMap<FillId, (u32, Mass)>,
    pub currency: Currency,
    pub day: Date,
    pub floor: Decimal,
    pub question: &'a HourQuestion,
}

impl<'a> Prices<'a> {
    pub(super) fn of_day(books: &'a Books, question: &'a HourQuestion) -> Prices<'a> {
        let day = question.as_of.unwrap_or(question.today);
        let in_use = |quote: &Quote| books.buyers.get(&quote.buyer).is_some_and(|buyer| !buyer.retired);
        let held = in_force(books.quotes.iter().filter(|(_, quote)| in_use(quote)).map(|(id, quote)| (*id, quote)), day);
        let usual = held.keys().any(|(_, _, currency)| *currency == question.currency);
        let first = held.keys().map(|(_, _, currency)| *currency).min();
        let currency = if usual { question.currency } else { first.unwrap_or(question.currency) };
        let mut best: BTreeMap<GradeId, Priced> = BTreeMap::new();
        let wanted = |buyer: BuyerId| question.buyer.is_none_or(|only| only == buyer);
        for ((grade, buyer, _), (_, quote)) in held.iter().filter(|((_, buyer, of), _)| *of == currency && wanted(*buyer)) {
            let priced = Priced {
                buyer: books.buyers.get(buyer).map(|buyer| buyer.name.clone()).unwrap_or_default(),
                rate: quote.rate,
                deduction: quote.deduction,
                day: quote.day,
                age_days: days_between(quote.day, day),
                stale: Terms::from(*quote).is_stale(day, question.stale_after),
            };
            if best.get(grade).is_none_or(|known| known.order() <= priced.order()) {
                best.insert(*grade, priced);
            }
        }
        let counted = books.fills.iter().filter(|(_, fill)| !fill.counts.is_empty());
        let counts = counted.filter_map(|(id, fill)| Some((*id, count_that_holds(books, question, *id, fill)?))).collect();
        let told = books.limits.floor.filter(|floor| floor.currency == currency).map(|floor| floor.amount);
        let floor = question.floor.or(told).unwrap_or_default();
        Prices { books, best, counts, currency, day, floor, question }
    }

    pub(super) fn basis(&self) -> Basis {
        Basis::Quotes { day: self.day, buyer: self.question.buyer }
    }

    pub(super) fn nothing(&self) -> Money {
        Money { amount: Decimal::new(0, MONEY_PLACES), currency: self.currency }
    }

    /// The best quote for a grade, or the one of the buyer who is asked about.
    pub(super) fn of(&self, grade: GradeId) -> Option<&Priced> {
        self.best.get(&grade)
    }

    /// What came out as a grade, by the fill that it went into: of what is paid by the piece each fill's count has its share
    /// by weight.
    pub(super) fn brings(&self, grade: GradeId, lies: &Lies) -> Brings {
        let mass: Mass = lies.values().copied().sum();
        let priced = self.of(grade);
        let Some(each) = priced.and_then(Priced::per_piece) else {
            return Brings { value: priced.and_then(|price| price.value(mass, None)), pieces: None, not_counted: Mass::ZERO };
        };
        let (mut pieces, mut not_counted): (Option<Decimal>, Mass) = (None, Mass::ZERO);
        for (fill, mass) in lies {
            match fill.and_then(|fill| self.counts.get(&fill)).and_then(|(of, whole)| part(*of, *mass, *whole)) {
                Some(part) => pieces = Some(pieces.unwrap_or(Decimal::ZERO) + part),
                None => not_counted += *mass,
            }
        }
        let value = pieces.and_then(|pieces| pieces.checked_mul(each));
        let value = value.map(|amount| Money { amount: MONEY_RULE.decimal(amount, MONEY_PLACES), currency: self.currency });
        Brings { value, pieces, not_counted }
    }

    /// The outputs of a lot, and what is charged for taking some of them, which is no output but a cost.
    pub(super) fn outputs(&self, came: &BTreeMap<GradeId, Came>) -> (Vec<Output>, Decimal) {
        let (mut outputs, mut charges) = (Vec::new(), Decimal::ZERO);
        for (grade, came) in came {
            let brings = self.brings(*grade, &came.lies);
            let mut output = |mass: Mass, value| outputs.push(Output { mass, value });
            let counted = came.weighed.mass - brings.not_counted;
            match brings.value {
                Some(value) if value.amount.is_sign_negative() => {
                    charges = charges.saturating_sub(value.amount);
                    output(counted, Some(self.nothing()));
                }
                value if brings.not_counted.is_zero() || value.is_some() => output(counted, value),
                _ => {}
            }
            if !brings.not_counted.is_zero() {
                output(brings.not_counted, None);
            }
        }
        (outputs, charges)
    }

    /// A quote for the feed as it comes: one for a grade of the same name, or for the grade that it was drawn from.
    pub(super) fn whole(&self, feed: &str, drawn: Option<GradeId>) -> WholeSaid {
        let named = self.books.grades.iter().find(|(_, grade)| !grade.retired && same(&grade.name, feed));
        match named.map(|(id, _)| *id).or(drawn).and_then(|grade| self.of(grade)) {
            Some(priced) => WholeSaid::Quoted(priced.clone()),
            None if self.question.left => WholeSaid::Left,
            None => WholeSaid::Unknown,
        }
    }

    /// What an intake of this weight, or of so many pieces, would have brought.
    pub(super) fn worth(&self, whole: &WholeSaid, mass: Option<Mass>, pieces: Option<u32>) -> Whole {
        match whole {
            WholeSaid::Quoted(price) => {
                let brought = if price.per_piece().is_some() { Some(Mass::ZERO) } else { mass };
                brought
                    .and_then(|mass| price.value(mass, pieces))
                    .map_or(Whole::Unknown, |value| Whole::Worth { value, basis: self.basis() })
            }
            WholeSaid::Left => Whole::LeftIt,
            WholeSaid::Unknown => Whole::Unknown,
        }
    }
}

pub(super) fn same(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

/// The last count of a fill by then, where all that came into it was counted; what was sold of it since was counted too.
fn count_that_holds(books: &Books, question: &HourQuestion, id: FillId, fill: &Fill) -> Option<(u32, Mass)> {
    let count = fill.counts.iter().rev().find(|count| made_by(question, &count.at))?;
    let came = books.counting(id).map(|(_, entry)| entry);
    let came = came.filter(|entry| made_by(question, &entry.at) && !matches!(entry.origin, Origin::Load(_)));
    let mass: Mass = came.map(|entry| entry.mass).sum();
    (count.mass == mass && mass > Mass::ZERO).then_some((count.pieces, mass))
}

/// The share of a part by weight in so many pieces; none beyond what a decimal can hold.
fn part(pieces: u32, mass: Mass, whole: Mass) -> Option<Decimal> {
    let decimal = |mass: Mass| Decimal::try_from_i128_with_scale(mass.femtograms(), 18).ok();
    Decimal::from(pieces).checked_mul(decimal(mass)?)?.checked_div(decimal(whole)?)
}
