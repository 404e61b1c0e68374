//! Grades that wait for a price: what was quoted in ninety days, and what a tenth less would cost. Nothing is forecast.

use super::gather::{Anyway, bins, goes_anyway, grade_name, name, quotes_on, there};
use crate::economy::quotes::{Brought, InForce, MONEY_PLACES, MONEY_RULE, Terms, in_unit};
use crate::facts::{Books, GradeId, Hold};
use crate::haul::plan::Item;
use crate::measure::{Mass, Money, Price, Rate};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// How far back quotes are looked at.
const DAYS: i64 = 90;

/// Decimals of a price in the unit of the hold.
const PRICE_PLACES: u32 = 4;

#[derive(Debug, Clone, PartialEq)]
pub struct HeldGrade {
    pub grade: GradeId,
    pub name: String,
    pub hold: Hold,
    pub state: HoldState,
    /// In all bins.
    pub there: Mass,
    /// Who pays most for so much on the day, in the unit of the hold; none where nobody has a quote that can be compared.
    pub best: Option<(String, Price)>,
    pub range: Option<QuoteRange>,
    /// What a price a tenth lower than the best would take off what lies there.
    pub tenth: Option<Money>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoldState {
    /// Nobody pays it yet.
    Waits,
    /// Somebody pays it, or more.
    Reached,
    /// Its day has come.
    Day,
    /// There is as much of it as was said.
    Weight,
}

/// Of ninety days: the first prices of all quotes that began in them, in the unit of the hold.
#[derive(Debug, Clone, PartialEq)]
pub struct QuoteRange {
    pub quotes: usize,
    pub low: Price,
    pub high: Price,
    pub last: Price,
    pub last_day: Date,
    pub last_buyer: String,
}

/// What is known of a day's market and stock.
pub(super) struct Stand<'a> {
    pub day: Date,
    pub stale_after: u16,
    pub items: &'a [Item],
    pub in_force: &'a InForce<'a>,
}

/// Grades that wait for a price, on their own: as they stand on a day.
pub fn held_grades(books: &Books, day: Date, stale_after: u16) -> Vec<HeldGrade> {
    let items: Vec<Item> = bins(books).0.into_iter().map(|(item, _)| item).collect();
    held(books, &Stand { day, stale_after, items: &items, in_force: &quotes_on(books, day) })
}

pub(super) fn held(books: &Books, stand: &Stand) -> Vec<HeldGrade> {
    let in_use = books.grades.iter().filter(|(_, grade)| !grade.retired);
    let mut lines: Vec<HeldGrade> =
        in_use.filter_map(|(grade, _)| Some(line(books, stand, *grade, books.hold(*grade)?))).collect();
    lines.sort_by(|a, b| a.name.cmp(&b.name));
    lines
}

fn line(books: &Books, stand: &Stand, grade: GradeId, hold: Hold) -> HeldGrade {
    let there = there(stand.items, grade);
    let ours = stand.in_force.iter().filter(|((of, _, currency), _)| *of == grade && *currency == hold.at.currency);
    let offers = ours.filter_map(|((_, buyer, _), (_, quote))| {
        let terms = Terms::from(*quote);
        let price = in_unit(&terms.rate_for(there), hold.at.per, PRICE_PLACES)?;
        Some((price, *buyer, terms.offer(Brought::of(there), stand.day, stand.stale_after).worth.money()))
    });
    let best = offers.max_by(|(one, a, _), (other, b, _)| one.amount.cmp(&other.amount).then(b.cmp(a)));
    let state = match goes_anyway(&hold, stand.day, there) {
        Some(Anyway::Day) => HoldState::Day,
        Some(Anyway::Weight) => HoldState::Weight,
        None if best.is_some_and(|(price, ..)| price.amount >= hold.at.amount) => HoldState::Reached,
        None => HoldState::Waits,
    };
    HeldGrade {
        grade,
        name: grade_name(books, grade),
        hold,
        state,
        there,
        best: best.map(|(price, buyer, _)| (name(books, buyer), price)),
        range: range(books, stand.day, grade, hold),
        tenth: best.and_then(|(.., value)| value).map(tenth),
    }
}

fn tenth(value: Money) -> Money {
    Money { amount: MONEY_RULE.decimal(value.amount / Decimal::TEN, MONEY_PLACES), ..value }
}

fn range(books: &Books, day: Date, grade: GradeId, hold: Hold) -> Option<QuoteRange> {
    let first = day.saturating_sub(jiff::Span::new().days(DAYS - 1));
    let ours = books.quotes.iter().filter(|(_, quote)| {
        quote.grade == grade
            && !quote.withdrawn
            && quote.rate.currency() == hold.at.currency
            && (first..=day).contains(&quote.day)
    });
    let priced = ours
        .filter(|(_, quote)| matches!(quote.rate, Rate::Weight(_)))
        .filter_map(|(id, quote)| Some((quote.day, *id, quote.buyer, in_unit(&quote.rate, hold.at.per, PRICE_PLACES)?)));
    let mut quotes: Vec<_> = priced.collect();
    quotes.sort_by_key(|(day, id, ..)| (*day, *id));
    let (last_day, _, last_buyer, last) = *quotes.last()?;
    let by_amount = |(.., price): &&(_, _, _, Price)| price.amount;
    let (.., low) = *quotes.iter().min_by_key(by_amount)?;
    let (.., high) = *quotes.iter().max_by_key(by_amount)?;
    Some(QuoteRange { quotes: quotes.len(), low, high, last, last_day, last_buyer: name(books, last_buyer) })
}
