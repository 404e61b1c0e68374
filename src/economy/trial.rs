//! A timed trial of a few pieces, carried over to all of them.
//!
//! One sample: it says what the rest would bring if they are like the ones that were tried, and nothing of how they differ.

use super::number::{hours, span_of_hours};
use super::pay::{NoPay, WorkedLot, added};
use super::quotes::{MONEY_PLACES, MONEY_RULE};
use crate::measure::{Money, Span};
use rust_decimal::Decimal;

/// So many pieces, taken apart against the clock; as a lot it is closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    pub pieces: u32,
    pub lot: WorkedLot,
}

/// What so many pieces would add and take. There is no interval: one sample has none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Projection {
    pub tried: u32,
    pub pieces: u32,
    /// Rounded once.
    pub added: Money,
    pub hands_on: Span,
}

/// Refused as a lot is, and as [`NoPay::NoClosedLot`] for a trial of no piece.
pub fn project(trial: &Trial, pieces: u32) -> Result<Projection, NoPay> {
    if trial.pieces == 0 {
        return Err(NoPay::NoClosedLot);
    }
    let pay = added(std::slice::from_ref(&trial.lot))?;
    let carried = |tried: Decimal| tried.checked_mul(Decimal::from(pieces))?.checked_div(Decimal::from(trial.pieces));
    let amount = pay.sums.added().and_then(carried).ok_or(NoPay::TooLarge)?;
    let hands_on = carried(hours(pay.sums.hands_on)).and_then(span_of_hours).ok_or(NoPay::TooLarge)?;
    let added = Money { amount: MONEY_RULE.decimal(amount, MONEY_PLACES), currency: pay.currency };
    Ok(Projection { tried: trial.pieces, pieces, added, hands_on })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::economy::basis::Basis;
    use crate::economy::pay::{Output, Whole};
    use crate::measure::{Currency, Mass};
    use jiff::civil::date;

    #[test]
    fn three_pieces_tell_of_ten() {
        let money = |text: &str| Money { amount: text.parse().unwrap(), currency: Currency::parse("USD").unwrap() };
        let lot = WorkedLot {
            closed: true,
            outputs: vec![Output { mass: Mass::grams(300), value: Some(money("7.00")) }],
            basis: Basis::Quotes { day: date(2026, 3, 1), buyer: None },
            whole: Whole::LeftIt,
            consumables: money("1.00"),
            disposal: money("0"),
            hands_on: Span::seconds(18 * 60),
            elapsed: Span::seconds(20 * 60),
        };
        let trial = Trial { pieces: 3, lot };
        let got = project(&trial, 10).unwrap();
        assert_eq!((got.added, got.hands_on), (money("20.00"), Span::seconds(3600)));
        assert_eq!(project(&Trial { pieces: 0, ..trial }, 10), Err(NoPay::NoClosedLot));
    }
}
