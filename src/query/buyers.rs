//! Buyers over their tickets: how far their scale is from ours, how often they downgrade, what they pay against their quotes.

use super::tickets::{TicketAnswer, TicketQuestion, tickets};
use crate::economy::quotes::in_force;
use crate::facts::{Books, BuyerId, GradeId, TicketId};
use crate::haul::buyers::{Bias, ExpectedPrice, Side, bias, expected_price, suspect_ours};
use crate::haul::reconcile::Compared;
use crate::measure::{Currency, Mass, Money, Rounding};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Decimals of a share in per cent, before it is shown.
const PERCENT_PLACES: u32 = 6;
const PRICE_PLACES: u32 = 9;

/// What was quoted and what was paid, line by line, and the sum of their differences in money.
type Pairs = (Vec<(Decimal, Decimal)>, Decimal);

#[derive(Debug, Clone, PartialEq)]
pub struct BuyersAnswer {
    /// The books stand at this event.
    pub seq: u64,
    /// By name.
    pub buyers: Vec<BuyerAnswer>,
    /// All of them are off the same way: our own scale is the likelier fault.
    pub suspect: Option<Side>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct BuyerAnswer {
    pub buyer: BuyerId,
    pub name: String,
    /// That stand, weighed at home or not.
    pub tickets: usize,
    /// Those that were weighed at home: their difference in per cent of ours, oldest first.
    pub seen: Vec<SeenTicket>,
    /// None under three of them.
    pub bias: Option<Bias>,
    /// Lines that are tied to bins of one known grade, and those that were paid as another.
    pub graded_lines: usize,
    pub downgraded: usize,
    /// What the downgrades cost at the quotes then.
    pub downgrade_cost: Vec<Money>,
    pub prices: Vec<PaidGrade>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeenTicket {
    pub ticket: TicketId,
    pub day: Date,
    pub percent: Decimal,
}

/// What a buyer paid for a grade against the quote that held before each ticket.
#[derive(Debug, Clone, PartialEq)]
pub struct PaidGrade {
    pub grade: GradeId,
    pub name: String,
    pub lines: usize,
    /// Paid less quoted, over all lines.
    pub against_quote: Money,
    /// What today's quote will likely be paid as; none under three lines or without a quote.
    pub expected: Option<ExpectedPrice>,
}

pub fn buyers(books: &Books, question: &TicketQuestion) -> BuyersAnswer {
    let mut all = tickets(books, question);
    all.reverse();
    all.retain(|ticket| !ticket.voided);
    let mut answers: Vec<BuyerAnswer> = books
        .buyers
        .iter()
        .map(|(id, named)| {
            let theirs: Vec<&TicketAnswer> = all.iter().filter(|ticket| ticket.buyer == *id).collect();
            buyer(books, question, *id, named.name.clone(), &theirs)
        })
        .filter(|answer| answer.tickets > 0)
        .collect();
    answers.sort_by(|a, b| a.name.cmp(&b.name));
    let known: Vec<Bias> = answers.iter().filter_map(|answer| answer.bias).collect();
    BuyersAnswer { seq: books.seq, suspect: suspect_ours(&known), buyers: answers }
}

/// The price at which a buyer will likely take a grade today, by what they paid of their quotes so far: for the planning of a
/// drive, and to be shown as what it is. None where too little is known.
pub fn likely_price(books: &Books, question: &TicketQuestion, buyer: BuyerId, grade: GradeId) -> Option<ExpectedPrice> {
    let answer = buyers(books, question).buyers.into_iter().find(|answer| answer.buyer == buyer)?;
    answer.prices.into_iter().find(|paid| paid.grade == grade)?.expected
}

fn buyer(books: &Books, question: &TicketQuestion, id: BuyerId, name: String, theirs: &[&TicketAnswer]) -> BuyerAnswer {
    let compared = theirs.iter().filter_map(|ticket| Some((ticket, ticket.whole.filter(|whole| whole.ours > Mass::ZERO)?)));
    let seen: Vec<SeenTicket> = compared
        .clone()
        .filter_map(|(ticket, whole)| {
            let percent = share(whole.difference(), whole.ours)?;
            Some(SeenTicket { ticket: ticket.id, day: ticket.paper.day, percent })
        })
        .collect();
    let bounds: Vec<Option<Decimal>> = compared.map(|(_, whole)| own_bound(&whole)).collect();
    let own = bounds.iter().copied().collect::<Option<Vec<_>>>().and_then(|bounds| bounds.into_iter().max());
    let percents: Vec<Decimal> = seen.iter().map(|seen| seen.percent).collect();
    let lines = || theirs.iter().flat_map(|ticket| ticket.lines.iter().zip(&ticket.paper.lines));
    let graded = lines().filter(|(answer, paper)| paper.grade.is_some() && !answer.bins.is_empty());
    let downgrades = lines().filter_map(|(answer, _)| answer.downgrade.as_ref());
    let mut cost: Vec<Money> = Vec::new();
    for money in downgrades.clone().filter_map(|down| down.cost) {
        add(&mut cost, money);
    }
    BuyerAnswer {
        buyer: id,
        name,
        tickets: theirs.len(),
        bias: bias(&percents, own),
        seen,
        graded_lines: graded.count(),
        downgraded: downgrades.count(),
        downgrade_cost: cost,
        prices: prices(books, question, id, theirs),
    }
}

/// Into the sum of its currency; nothing makes no sum.
pub(super) fn add(sums: &mut Vec<Money>, money: Money) {
    match sums.iter_mut().find(|sum| sum.currency == money.currency) {
        _ if money.amount.is_zero() => {}
        Some(sum) => sum.amount = sum.amount.saturating_add(money.amount),
        None => sums.push(money),
    }
}

fn prices(books: &Books, question: &TicketQuestion, buyer: BuyerId, theirs: &[&TicketAnswer]) -> Vec<PaidGrade> {
    let mut pairs: BTreeMap<(GradeId, Currency), Pairs> = BTreeMap::new();
    for ticket in theirs {
        for (answer, paper) in ticket.lines.iter().zip(&ticket.paper.lines) {
            let Some(((grade, price), quoted)) = paper.grade.zip(paper.price).zip(answer.quoted.as_ref()) else { continue };
            let Some(paid) = price.per(quoted.price.per, PRICE_PLACES, Rounding::HalfEven) else { continue };
            let (seen, against) = pairs.entry((grade, quoted.price.currency)).or_default();
            seen.push((quoted.price.amount, paid));
            *against = against.saturating_add(quoted.difference.unwrap_or_default());
        }
    }
    let now = in_force(books.quotes.iter().map(|(id, quote)| (*id, quote)), question.today);
    let of = |((grade, currency), (seen, against)): (_, Pairs)| {
        let quote = now.get(&(grade, buyer, currency));
        let quoted = quote.and_then(|(_, quote)| match crate::economy::quotes::Terms::from(*quote).rate {
            crate::measure::Rate::Weight(price) => Some(price),
            _ => None,
        });
        PaidGrade {
            grade,
            name: books.grades.get(&grade).map(|grade| grade.name.clone()).unwrap_or_default(),
            lines: seen.len(),
            against_quote: Money { amount: against, currency },
            expected: quoted.and_then(|quoted| expected_price(quoted, &seen)),
        }
    };
    pairs.into_iter().map(of).collect()
}

/// Per cent of a mass.
fn share(part: Mass, whole: Mass) -> Option<Decimal> {
    let scaled = part.femtograms().checked_mul(100 * 10_i128.pow(PERCENT_PLACES))?;
    Decimal::try_from_i128_with_scale(Rounding::HalfEven.divide(scaled, whole.femtograms()), PERCENT_PLACES).ok()
}

/// How far our own scale may be off in a load, in per cent: the rectangle's half width behind its standard uncertainty. None
/// where part of it no check weight bounds.
fn own_bound(whole: &Compared) -> Option<Decimal> {
    let standard = whole.whole.minus(whole.readings).expanded(1);
    let bound = Mass::from_femtograms(standard.femtograms().saturating_mul(1733) / 1000);
    whole.unbounded.is_zero().then(|| share(bound, whole.ours)).flatten()
}
