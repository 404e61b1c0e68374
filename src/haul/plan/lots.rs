//! What each buyer pays for each grade, cut into stretches of quantity in which one rate holds for all of it.

use super::price::holds;
use super::problem::Problem;
use crate::facts::GradeId;
use crate::measure::{Mass, Rate, Rounding};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Decimals of a price per kilogram handed to the solver.
const SOLVER_PLACES: u32 = 12;

/// From this much on, and below that much where it ends, all is paid at one rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub from: Mass,
    pub below: Option<Mass>,
    pub per_kg: Decimal,
}

/// By grade and place; what is nowhere in it cannot be sold there on the day.
pub(super) type Lots = BTreeMap<(GradeId, usize), Vec<Stretch>>;

pub(super) fn lots(problem: &Problem) -> Lots {
    let mut all = Lots::new();
    for ((grade, place), terms) in &problem.offers {
        if !problem.places.get(*place).is_some_and(|place| place.open) {
            continue;
        }
        let most: Mass = problem.of_grade(*grade).map(|at| problem.items[at].mass).sum();
        let mut points = vec![(Mass::ZERO, terms.rate)];
        points.extend(terms.breaks.iter().map(|step| (step.from, terms.rate.with_amount(step.amount))));
        points.sort_by_key(|(from, _)| *from);
        let ends = points.iter().skip(1).map(|(from, _)| Some(*from)).chain([None]).collect::<Vec<_>>();
        let least = terms.minimum.unwrap_or(Mass::ZERO);
        let stretch = |((from, rate), below): (&(Mass, Rate), &Option<Mass>)| {
            let from = (*from).max(least);
            let some = below.is_none_or(|below| below > from) && from <= most && holds(problem, *grade, *rate);
            let value = |rate: Rate| rate.value(Mass::grams(1000), None, terms.deduction, SOLVER_PLACES, Rounding::HalfEven);
            some.then(|| value(*rate)).flatten().map(|money| Stretch { from, below: *below, per_kg: money.amount })
        };
        let stretches: Vec<Stretch> = points.iter().zip(&ends).filter_map(stretch).collect();
        if !stretches.is_empty() {
            all.insert((*grade, *place), stretches);
        }
    }
    all
}

/// Of one rate whatever the quantity.
pub(super) fn is_plain(stretches: &[Stretch]) -> bool {
    matches!(stretches, [Stretch { from: Mass::ZERO, below: None, .. }])
}

/// The best that a kilogram can fetch there.
pub(super) fn best_rate(stretches: &[Stretch]) -> Decimal {
    stretches.iter().map(|stretch| stretch.per_kg).max().unwrap_or(Decimal::MIN)
}
