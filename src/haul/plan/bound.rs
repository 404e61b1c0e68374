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
    /// What each bin takes of the payload and of the room.
    takes: Vec<(Decimal, Decimal)>,
    payload: Option<Decimal>,
    room: Option<Decimal>,
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
            takes: problem.items.iter().map(|item| (kilograms(item.gross), Decimal::from(item.litres.unwrap_or(0)))).collect(),
            payload: problem.vehicle.payload.map(kilograms),
            room: problem.vehicle.litres.map(Decimal::from),
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
                (_, Some(value)) if value > Decimal::ZERO => may.push((value, self.takes[at])),
                _ => {}
            }
        }
        let by_weight = filled(may.iter().map(|(value, (gross, _))| (*value, *gross)).collect(), self.payload);
        let by_room = filled(may.iter().map(|(value, (_, litres))| (*value, *litres)).collect(), self.room);
        Some(must + by_weight.min(by_room).min(self.by_count(may.iter().map(|(value, _)| *value).collect())))
    }

    fn by_count(&self, mut values: Vec<Decimal>) -> Decimal {
        values.sort_by_key(|value| Reverse(*value));
        let most = self.problem.vehicle.bins.map_or(values.len(), |most| most as usize);
        values.into_iter().take(most).sum()
    }
}

/// The best for what they take first, the last one cut (Dantzig, 1957).
fn filled(mut may: Vec<(Decimal, Decimal)>, most: Option<Decimal>) -> Decimal {
    let Some(mut left) = most else { return may.into_iter().map(|(value, _)| value).sum() };
    // What takes nothing is worth infinitely much for it.
    may.sort_by_key(|(value, takes)| Reverse(value.checked_div(*takes).unwrap_or(Decimal::MAX)));
    let mut sum = Decimal::ZERO;
    for (value, takes) in may {
        if takes > left {
            return sum + value * left / takes;
        }
        left -= takes;
        sum += value;
    }
    sum
}

/// To a microgram, for bounding and never for pricing.
pub(super) fn kilograms(mass: Mass) -> Decimal {
    let micrograms = mass.femtograms() / 1_000_000_000;
    Decimal::try_from_i128_with_scale(micrograms, 9).unwrap_or(Decimal::MAX)
}
