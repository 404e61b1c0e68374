//! What a set of stops can bring at the very most, without solving it: every bin at its best rate, filled up by the part.

use super::lots::{Lots, best_rate};
use super::problem::{Pin, Problem};
use crate::measure::Mass;
use rust_decimal::Decimal;
use std::cmp::Reverse;

/// Each bin's best value at each place.
pub(super) struct Bounds<'a> {
    problem: &'a Problem,
    values: Vec<Vec<Option<Decimal>>>,
    gross: Vec<Decimal>,
    payload: Option<Decimal>,
}

impl<'a> Bounds<'a> {
    pub(super) fn of(problem: &'a Problem, lots: &Lots) -> Bounds<'a> {
        let best = |at: usize, place: usize| {
            let item = &problem.items[at];
            let stretches = lots.get(&(item.grade, place)).filter(|_| item.pin != Some(Pin::Leave))?;
            Some(kilograms(item.mass) * best_rate(stretches))
        };
        let values = |at| (0..problem.places.len()).map(|place| best(at, place)).collect();
        Bounds {
            problem,
            values: (0..problem.items.len()).map(values).collect(),
            gross: problem.items.iter().map(|item| kilograms(item.gross)).collect(),
            payload: problem.vehicle.payload.map(kilograms),
        }
    }

    /// The most that these stops can bring before the trip is paid; none where a bin that must go cannot.
    pub(super) fn gross(&self, stops: u32) -> Option<Decimal> {
        let (mut must, mut may) = (Decimal::ZERO, Vec::new());
        for (at, item) in self.problem.items.iter().enumerate() {
            let there = self.values[at].iter().enumerate().filter(|(place, _)| stops >> place & 1 == 1);
            let best = there.filter_map(|(_, value)| *value).max();
            match (item.pin, best) {
                (Some(Pin::Go), None) => return None,
                (Some(Pin::Go), Some(value)) => must += value,
                (_, Some(value)) if value > Decimal::ZERO => may.push((value, self.gross[at])),
                _ => {}
            }
        }
        Some(must + self.by_weight(&mut may).min(self.by_count(&mut may)))
    }

    /// The best per kilogram first, the last one cut (Dantzig, 1957).
    fn by_weight(&self, may: &mut [(Decimal, Decimal)]) -> Decimal {
        let all = || may.iter().map(|(value, _)| *value).sum();
        let Some(mut room) = self.payload.filter(|most| may.iter().map(|(_, gross)| *gross).sum::<Decimal>() > *most) else {
            return all();
        };
        may.sort_by_key(|(value, gross)| Reverse(value.checked_div(*gross)));
        let mut sum = Decimal::ZERO;
        for (value, gross) in may.iter() {
            if *gross > room {
                return sum + value * room / gross;
            }
            room -= gross;
            sum += value;
        }
        sum
    }

    fn by_count(&self, may: &mut [(Decimal, Decimal)]) -> Decimal {
        may.sort_by_key(|(value, _)| Reverse(*value));
        let most = self.problem.vehicle.bins.map_or(may.len(), |most| most as usize);
        may.iter().take(most).map(|(value, _)| *value).sum()
    }
}

/// To a microgram, for bounding and never for pricing.
pub(super) fn kilograms(mass: Mass) -> Decimal {
    let micrograms = mass.femtograms() / 1_000_000_000;
    Decimal::try_from_i128_with_scale(micrograms, 9).unwrap_or(Decimal::MAX)
}
