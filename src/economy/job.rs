//! What the whole job brings an hour: fetching, bench and yard together.

use super::basis::Basis;
use super::number::{hours, sum};
use super::pay::NoPay;
use super::quotes::{MONEY_PLACES, MONEY_RULE};
use crate::measure::{Mass, Money, Span};

/// Everything that the whole job took and gave over a stretch of time, in one currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Job {
    pub received: Money,
    /// What lies in the bins, at quotes.
    pub stock: Money,
    /// Stock without a quote, in no value here.
    pub stock_without_quote: Mass,
    pub bought: Money,
    pub spent: Money,
    pub trips: Money,
    pub fetching: Span,
    pub bench: Span,
    pub yard: Span,
    /// The quotes behind the stock.
    pub basis: Basis,
}

/// What the whole job brings an hour. A single figure over the stretch: one total has no interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WholeJob {
    /// Received and stock, less bought, spent and trips.
    pub brings: Money,
    pub hours: Span,
    /// Rounded once.
    pub per_hour: Money,
    pub stock_without_quote: Mass,
    pub basis: Basis,
}

pub fn whole_job(job: &Job) -> Result<WholeJob, NoPay> {
    let currency = job.received.currency;
    if [job.stock, job.bought, job.spent, job.trips].iter().any(|money| money.currency != currency) {
        return Err(NoPay::MixedCurrencies);
    }
    let span = job.fetching.plus(job.bench).plus(job.yard);
    if span == Span::ZERO {
        return Err(NoPay::NoHours);
    }
    let amounts = [job.received.amount, job.stock.amount, -job.bought.amount, -job.spent.amount, -job.trips.amount];
    let brings = sum(amounts).ok_or(NoPay::TooLarge)?;
    let per_hour = brings.checked_div(hours(span)).ok_or(NoPay::TooLarge)?;
    let money = |amount| Money { amount: MONEY_RULE.decimal(amount, MONEY_PLACES), currency };
    Ok(WholeJob {
        brings: money(brings),
        hours: span,
        per_hour: money(per_hour),
        stock_without_quote: job.stock_without_quote,
        basis: job.basis,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Currency;
    use jiff::civil::date;

    fn money(text: &str) -> Money {
        Money { amount: text.parse().unwrap(), currency: Currency::parse("USD").unwrap() }
    }

    #[test]
    fn the_whole_job_counts_every_hour() {
        let job = Job {
            received: money("120"),
            stock: money("40"),
            stock_without_quote: Mass::grams(5),
            bought: money("10"),
            spent: money("6"),
            trips: money("14"),
            fetching: Span::seconds(3600),
            bench: Span::seconds(4 * 3600),
            yard: Span::seconds(2 * 3600),
            basis: Basis::Quotes { day: date(2026, 3, 1), buyer: None },
        };
        let whole = whole_job(&job).unwrap();
        assert_eq!((whole.brings.amount.to_string(), whole.per_hour.amount.to_string()), ("130.00".into(), "18.57".into()));
        let idle = Job { fetching: Span::ZERO, bench: Span::ZERO, yard: Span::ZERO, ..job };
        assert_eq!(whole_job(&idle), Err(NoPay::NoHours));
        let euro = Money { currency: Currency::parse("EUR").unwrap(), ..job.trips };
        assert_eq!(whole_job(&Job { trips: euro, ..job }), Err(NoPay::MixedCurrencies));
    }
}
