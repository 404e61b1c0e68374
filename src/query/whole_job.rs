//! What the whole job brings an hour, with what it leaves out.

use super::held::held_by;
use super::lot_tally::{Lies, made_by};
use super::worth::Prices;
use crate::economy::job::{Job, WholeJob, whole_job as reckon};
use crate::economy::pay::NoPay;
use crate::facts::books::HowClosed;
use crate::facts::{Fact, FillId, GradeId, JobPart, SpendingSort};
use crate::measure::{Currency, Mass, Money, Span};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// All that came in and went out by the day of the report.
#[derive(Debug, Clone, PartialEq)]
pub struct JobHour {
    pub answer: Result<WholeJob, NoPay>,
    pub job: Job,
    /// Amounts in other currencies: in no figure.
    pub other_currencies: Vec<Money>,
    /// Opening stock and catch-ups that lie in the bins: nobody's hours made them.
    pub not_worked: Mass,
    /// Went out of bins that were emptied, and stands on no ticket.
    pub without_ticket: Mass,
    /// Arrivals of which nobody has said what was paid.
    pub unpaid_arrivals: usize,
    /// Lots that are still being worked on: neither in a bin nor sold.
    pub open_lots: usize,
    /// Stillness of which nobody has said whether it was work; it is counted as work.
    pub untold: Span,
    pub clock_sure: bool,
}

/// Sums in the report's currency, and beside them those in others.
struct Sums {
    currency: Currency,
    received: Decimal,
    bought: Decimal,
    spent: Decimal,
    trips: Decimal,
    others: BTreeMap<Currency, Decimal>,
}

impl Sums {
    fn add(&mut self, amount: Money, sign: Decimal, to: fn(&mut Sums) -> &mut Decimal) {
        let home = amount.currency == self.currency;
        let signed = if home { amount.amount } else { amount.amount * sign };
        let sum = if home { to(self) } else { self.others.entry(amount.currency).or_default() };
        *sum = sum.saturating_add(signed);
    }
}

pub(super) fn whole_job(prices: &Prices) -> JobHour {
    let (books, question) = (prices.books, prices.question);
    let by_then = |day: &Date| question.as_of.is_none_or(|until| *day <= until);
    let nothing = Decimal::ZERO;
    let (currency, others) = (prices.currency, BTreeMap::new());
    let mut sums = Sums { currency, received: nothing, bought: nothing, spent: nothing, trips: nothing, others };
    let (mut fetching, mut bench, mut yard, mut waited) = (Span::ZERO, Span::ZERO, Span::ZERO, Span::ZERO);
    let mut unpaid_arrivals = 0;
    let mut sold: BTreeSet<FillId> = BTreeSet::new();
    for record in books.standing_records() {
        match &record.fact {
            Fact::TicketEntered { day, total, lines, .. } if by_then(day) => {
                sums.add(*total, Decimal::ONE, |sums| &mut sums.received);
                sold.extend(lines.iter().filter_map(|line| line.fill));
            }
            Fact::RunMade { day, span, cost, .. } if by_then(day) => {
                yard = yard.plus(span.unwrap_or(Span::ZERO));
                if let Some(cost) = cost {
                    sums.add(*cost, Decimal::NEGATIVE_ONE, |sums| &mut sums.trips);
                }
            }
            Fact::RunSetOut(run) if by_then(&run.day) => {
                yard = yard.plus(run.span.unwrap_or(Span::ZERO));
                if let Some(cost) = run.cost {
                    sums.add(cost, Decimal::NEGATIVE_ONE, |sums| &mut sums.trips);
                }
            }
            Fact::ArrivalCame(came) if by_then(&came.day) => {
                fetching = fetching.plus(came.span.unwrap_or(Span::ZERO));
                match came.paid {
                    Some(paid) => sums.add(paid, Decimal::NEGATIVE_ONE, |sums| &mut sums.bought),
                    None => unpaid_arrivals += 1,
                }
            }
            Fact::MoneySpent(spent) if by_then(&spent.day) => {
                let bought = spent.sort == SpendingSort::Feed;
                let to: fn(&mut Sums) -> &mut Decimal = if bought { |sums| &mut sums.bought } else { |sums| &mut sums.spent };
                sums.add(spent.amount, Decimal::NEGATIVE_ONE, to);
            }
            Fact::MinutesSpent { span, day, part, .. } if by_then(day) => match part {
                Some(JobPart::Fetching) => fetching = fetching.plus(*span),
                Some(JobPart::Yard) => yard = yard.plus(*span),
                Some(JobPart::Bench) | None => bench = bench.plus(*span),
            },
            Fact::LotWaited(of) if of.clock_ran && by_then(&of.day) => waited = waited.plus(of.span),
            _ => {}
        }
    }
    for (_, ticket) in books.standing_tickets().filter(|(_, ticket)| by_then(&ticket.paper.day)) {
        if let Some(worth) = ticket.paper.worth() {
            sums.add(worth, Decimal::ONE, |sums| &mut sums.received);
        }
    }
    let (mut untold, mut clock_sure, mut clock) = (Span::ZERO, true, Span::ZERO);
    for session in books.sessions.values().filter(|session| made_by(question, &session.started)) {
        let (hands_on, sure) = session.hands_on_at(&question.now);
        clock = clock.plus(hands_on);
        clock_sure &= sure;
        untold = untold.plus(session.untold());
    }
    bench = bench.plus(Span(clock.0.saturating_sub(waited.0)));
    let stock = stock(prices, &sold);
    let money = |amount| Money { amount, currency };
    let job = Job {
        received: money(sums.received),
        stock: money(stock.value),
        stock_without_quote: stock.without_quote,
        bought: money(sums.bought),
        spent: money(sums.spent),
        trips: money(sums.trips),
        fetching,
        bench,
        yard,
        basis: prices.basis(),
    };
    let open = books.lots.iter().filter(|(id, lot)| {
        let entry = books.lot_entry(**id).filter(|entry| entry.counts() && made_by(question, &entry.at));
        entry.is_some() && lot.closed_by(|turn| made_by(question, &turn.at)).is_none()
    });
    JobHour {
        answer: reckon(&job),
        job,
        other_currencies: sums.others.into_iter().map(|(currency, amount)| Money { amount, currency }).collect(),
        not_worked: stock.not_worked,
        without_ticket: stock.without_ticket,
        unpaid_arrivals,
        open_lots: open.count(),
        untold,
        clock_sure,
    }
}

struct Stock {
    value: Decimal,
    without_quote: Mass,
    not_worked: Mass,
    without_ticket: Mass,
}

/// What lies in the bins, at the best quote for each grade, rounded once a grade.
fn stock(prices: &Prices, sold: &BTreeSet<FillId>) -> Stock {
    let (books, question) = (prices.books, prices.question);
    let mut by_grade: BTreeMap<Option<GradeId>, Lies> = BTreeMap::new();
    let mut stock = Stock { value: Decimal::ZERO, without_quote: Mass::ZERO, not_worked: Mass::ZERO, without_ticket: Mass::ZERO };
    let then = question.as_of.map(|day| held_by(books, day, &question.zone));
    for (id, fill) in &books.fills {
        let closed = fill.closed.filter(|closed| made_by(question, &closed.at));
        let (mass, not_worked) = match &then {
            None => (fill.mass, fill.not_worked),
            Some(then) => then.get(id).map_or((Mass::ZERO, Mass::ZERO), |held| (held.mass, held.not_worked)),
        };
        match closed.map(|closed| closed.how) {
            None => {
                stock.not_worked += not_worked;
                by_grade.entry(fill.grade).or_default().insert(Some(*id), mass - not_worked);
            }
            Some(HowClosed::Emptied) if !sold.contains(id) => stock.without_ticket += mass,
            Some(_) => {}
        }
    }
    let loose = books.loose.iter().filter_map(|id| books.entries.get(id));
    let loose = loose.filter(|entry| made_by(question, &entry.at)).map(|entry| entry.mass).sum();
    by_grade.entry(None).or_default().insert(None, loose);
    for (grade, lies) in by_grade {
        let mass: Mass = lies.values().copied().sum();
        let brings = grade.map(|grade| prices.brings(grade, &lies)).filter(|_| !mass.is_zero());
        match brings.and_then(|brings| Some((brings.value?, brings.not_counted))) {
            Some((value, not_counted)) => {
                stock.value = stock.value.saturating_add(value.amount);
                stock.without_quote += not_counted;
            }
            None => stock.without_quote += mass,
        }
    }
    stock
}
