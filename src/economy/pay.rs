//! What taking apart adds an hour.

use super::basis::Basis;
use super::number::{hours, sum};
use super::ratio::{Pair, Ratio, ratio};
use crate::measure::{Currency, Mass, Money, Span};
use rust_decimal::Decimal;

/// A lot that is being worked off.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkedLot {
    /// Only a closed lot counts: what is half apart has spent its minutes and not yet shown its metal.
    pub closed: bool,
    pub outputs: Vec<Output>,
    /// The prices behind the outputs.
    pub basis: Basis,
    pub whole: Whole,
    /// Blades, gas, gloves: what was used up.
    pub consumables: Money,
    /// What it costs to be rid of what nobody buys.
    pub disposal: Money,
    /// By the session's clock, pauses and time away left out.
    pub hands_on: Span,
    /// From the first minute to the last, pauses and all.
    pub elapsed: Span,
}

/// What came out into one grade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Output {
    pub mass: Mass,
    /// None without a quote.
    pub value: Option<Money>,
}

/// What would have become of the lot had it not been taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whole {
    /// It sells whole. Less than nothing, where leaving it costs money, counts as nothing: nobody has to bring it there.
    Worth { value: Money, basis: Basis },
    /// "I would have left it": an answer that the owner gave.
    LeftIt,
    /// Nobody has said; it is never taken for nothing.
    Unknown,
}

/// What the figures leave out, to be said beside them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outside {
    /// Prices move between the work and the sale.
    PriceRisk,
    /// What the scale may err by: small beside how lots differ.
    Weighing,
}

/// Why there is no figure, of a lot or of the whole job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoPay {
    NoClosedLot,
    /// Of so many closed lots nobody has said what they would have brought whole.
    WholeUnknown {
        lots: usize,
    },
    /// Prices of different days or buyers, or quotes beside realised prices.
    MixedBasis,
    MixedCurrencies,
    /// Not one output has a value.
    NothingHasAQuote,
    NoHours,
    TooLarge,
}

/// Sums over the closed lots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sums {
    pub outputs: Decimal,
    /// What they would have brought whole, nothing at the least.
    pub whole: Decimal,
    pub consumables: Decimal,
    pub disposal: Decimal,
    pub hands_on: Span,
    pub elapsed: Span,
}

impl Sums {
    /// What taking apart added.
    pub fn added(&self) -> Option<Decimal> {
        self.outputs.checked_sub(self.whole)?.checked_sub(self.consumables)?.checked_sub(self.disposal)
    }
}

/// What taking apart adds an hour.
#[derive(Debug, Clone, PartialEq)]
pub struct Added {
    pub currency: Currency,
    pub basis: Basis,
    /// Money per hands-on hour, total over total.
    pub hands_on: Ratio,
    /// The same per hour from the first minute to the last.
    pub elapsed: Ratio,
    pub sums: Sums,
    pub lots: usize,
    pub open_lots: usize,
    /// Lots of which the owner said that they would have been left.
    pub left_lots: usize,
    /// Outputs without a quote: in no value here, so the figure is too low by what they will bring.
    pub without_quote: Mass,
    pub outside: [Outside; 2],
}

/// Pools the closed lots. A timed trial is one such lot, and gives a point without an interval.
pub fn added(lots: &[WorkedLot]) -> Result<Added, NoPay> {
    let closed: Vec<&WorkedLot> = lots.iter().filter(|lot| lot.closed).collect();
    let first = closed.first().ok_or(NoPay::NoClosedLot)?;
    let unknown = closed.iter().filter(|lot| lot.whole == Whole::Unknown).count();
    if unknown > 0 {
        return Err(NoPay::WholeUnknown { lots: unknown });
    }
    if closed.iter().any(|lot| lot.basis != first.basis || lot.whole.basis().is_some_and(|basis| basis != first.basis)) {
        return Err(NoPay::MixedBasis);
    }
    let currency = first.consumables.currency;
    if closed.iter().flat_map(|lot| lot.amounts()).any(|money| money.currency != currency) {
        return Err(NoPay::MixedCurrencies);
    }
    if !closed.iter().any(|lot| lot.outputs.iter().any(|output| output.value.is_some())) {
        return Err(NoPay::NothingHasAQuote);
    }
    let each: Option<Vec<Sums>> = closed.iter().map(|lot| lot.sums()).collect();
    let each = each.ok_or(NoPay::TooLarge)?;
    let against = |time: fn(&Sums) -> Span| {
        let pairs: Option<Vec<Pair>> =
            each.iter().map(|sums| Some(Pair { above: sums.added()?, below: hours(time(sums)) })).collect();
        pairs.map(|pairs| ratio(&pairs)).ok_or(NoPay::TooLarge)
    };
    Ok(Added {
        currency,
        basis: first.basis,
        hands_on: against(|sums| sums.hands_on)?,
        elapsed: against(|sums| sums.elapsed)?,
        sums: each.iter().try_fold(Sums::NOTHING, Sums::plus).ok_or(NoPay::TooLarge)?,
        lots: closed.len(),
        open_lots: lots.len() - closed.len(),
        left_lots: closed.iter().filter(|lot| lot.whole == Whole::LeftIt).count(),
        without_quote: closed.iter().flat_map(|lot| &lot.outputs).filter(|one| one.value.is_none()).map(|one| one.mass).sum(),
        outside: [Outside::PriceRisk, Outside::Weighing],
    })
}

impl Whole {
    fn basis(&self) -> Option<Basis> {
        match self {
            Whole::Worth { basis, .. } => Some(*basis),
            Whole::LeftIt | Whole::Unknown => None,
        }
    }

    fn value(&self) -> Option<Money> {
        match self {
            Whole::Worth { value, .. } => Some(*value),
            Whole::LeftIt | Whole::Unknown => None,
        }
    }
}

impl WorkedLot {
    fn amounts(&self) -> impl Iterator<Item = Money> {
        let outputs = self.outputs.iter().filter_map(|output| output.value);
        outputs.chain(self.whole.value()).chain([self.consumables, self.disposal])
    }

    fn sums(&self) -> Option<Sums> {
        let values = self.outputs.iter().filter_map(|output| output.value).map(|value| value.amount);
        let outputs = sum(values)?;
        let whole = self.whole.value().map_or(Decimal::ZERO, |value| value.amount.max(Decimal::ZERO));
        Some(Sums {
            outputs,
            whole,
            consumables: self.consumables.amount,
            disposal: self.disposal.amount,
            hands_on: self.hands_on,
            elapsed: self.elapsed,
        })
    }
}

impl Sums {
    const NOTHING: Sums = Sums {
        outputs: Decimal::ZERO,
        whole: Decimal::ZERO,
        consumables: Decimal::ZERO,
        disposal: Decimal::ZERO,
        hands_on: Span::ZERO,
        elapsed: Span::ZERO,
    };

    fn plus(self, other: &Sums) -> Option<Sums> {
        Some(Sums {
            outputs: self.outputs.checked_add(other.outputs)?,
            whole: self.whole.checked_add(other.whole)?,
            consumables: self.consumables.checked_add(other.consumables)?,
            disposal: self.disposal.checked_add(other.disposal)?,
            hands_on: self.hands_on.plus(other.hands_on),
            elapsed: self.elapsed.plus(other.elapsed),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn money(text: &str) -> Money {
        Money { amount: text.parse().unwrap(), currency: Currency::parse("USD").unwrap() }
    }

    fn quotes() -> Basis {
        Basis::Quotes { day: date(2026, 3, 1), buyer: None }
    }

    fn lot(outputs: &str, whole: &str, minutes: u64) -> WorkedLot {
        WorkedLot {
            closed: true,
            outputs: vec![Output { mass: Mass::grams(1000), value: Some(money(outputs)) }],
            basis: quotes(),
            whole: Whole::Worth { value: money(whole), basis: quotes() },
            consumables: money("0.50"),
            disposal: money("0.25"),
            hands_on: Span::seconds(60 * minutes),
            elapsed: Span::seconds(120 * minutes),
        }
    }

    #[test]
    fn one_trial_is_a_point() {
        let added = added(&[lot("10.75", "4.00", 30)]).unwrap();
        assert_eq!(added.hands_on.point(), Some(Decimal::from(12)));
        assert_eq!(added.elapsed.point(), Some(Decimal::from(6)));
        assert_eq!(added.hands_on.interval(), None);
        assert_eq!(added.outside, [Outside::PriceRisk, Outside::Weighing]);
    }

    #[test]
    fn what_costs_money_to_leave_counts_as_nothing_and_the_unknown_as_unknown() {
        let mut one = lot("10.75", "-3.00", 60);
        assert_eq!(added(std::slice::from_ref(&one)).unwrap().hands_on.point(), Some(Decimal::from(10)));
        one.whole = Whole::LeftIt;
        let left = added(std::slice::from_ref(&one)).unwrap();
        assert_eq!((left.hands_on.point(), left.left_lots), (Some(Decimal::from(10)), 1));
        one.whole = Whole::Unknown;
        assert_eq!(added(&[lot("1", "1", 1), one]), Err(NoPay::WholeUnknown { lots: 1 }));
    }

    #[test]
    fn only_closed_lots_and_one_basis() {
        let mut open = lot("99", "0", 1);
        open.closed = false;
        open.whole = Whole::Unknown;
        let pooled = added(&[lot("10.75", "0", 60), open.clone()]).unwrap();
        assert_eq!((pooled.hands_on.point(), pooled.lots, pooled.open_lots), (Some(Decimal::from(10)), 1, 1));
        assert_eq!(added(&[open]), Err(NoPay::NoClosedLot));
        let mut other = lot("1", "1", 1);
        other.whole =
            Whole::Worth { value: money("1"), basis: Basis::Realised { from: date(2026, 1, 1), until: date(2026, 2, 1) } };
        assert_eq!(added(&[other]), Err(NoPay::MixedBasis));
        let mut euro = lot("1", "1", 1);
        euro.disposal.currency = Currency::parse("EUR").unwrap();
        assert_eq!(added(&[euro]), Err(NoPay::MixedCurrencies));
    }

    #[test]
    fn no_quote_is_no_value() {
        let mut one = lot("10.75", "0", 60);
        one.outputs.push(Output { mass: Mass::grams(12_400), value: None });
        let pooled = added(std::slice::from_ref(&one)).unwrap();
        assert_eq!((pooled.hands_on.point(), pooled.without_quote), (Some(Decimal::from(10)), Mass::grams(12_400)));
        one.outputs.remove(0);
        assert_eq!(added(&[one]), Err(NoPay::NothingHasAQuote));
    }
}
