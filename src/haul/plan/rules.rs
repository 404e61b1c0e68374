//! Why no loading keeps every rule.

use super::problem::{Pin, Problem};
use super::search::feasible;
use crate::facts::BinId;

/// A rule that alone stands in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rule {
    /// This bin must go, and nobody who is reached buys its grade at all.
    NoBuyer(BinId),
    /// Were everybody open on that day, it could be done.
    OpeningDays,
    /// A hold at a price that nobody pays.
    Holds,
    /// What there is of a grade is less than a buyer takes.
    MinimumLots,
    Payload,
    Room,
    BinCount,
    /// No single other rule: together the bins that must go cannot.
    Pins,
}

/// How a problem looks without one of its rules.
type Loosening<'a> = &'a dyn Fn(&mut Problem);

/// The rules that, each dropped alone, make a loading possible; never empty.
pub(super) fn broken(problem: &Problem) -> Vec<Rule> {
    let stranded =
        |bin: &&super::problem::Item| bin.pin == Some(Pin::Go) && !problem.offers.keys().any(|(grade, _)| *grade == bin.grade);
    let stranded: Vec<Rule> = problem.items.iter().filter(stranded).map(|item| Rule::NoBuyer(item.bin)).collect();
    if !stranded.is_empty() {
        return stranded;
    }
    let without = |change: &dyn Fn(&mut Problem)| {
        let mut looser = problem.clone();
        change(&mut looser);
        feasible(&looser)
    };
    let tries: [(Rule, Loosening); 6] = [
        (Rule::OpeningDays, &|problem| problem.places.iter_mut().for_each(|place| place.open = true)),
        (Rule::Holds, &|problem| problem.holds.clear()),
        (Rule::MinimumLots, &|problem| problem.offers.values_mut().for_each(|terms| terms.minimum = None)),
        (Rule::Payload, &|problem| problem.vehicle.payload = None),
        (Rule::Room, &|problem| problem.vehicle.litres = None),
        (Rule::BinCount, &|problem| problem.vehicle.bins = None),
    ];
    let mut rules: Vec<Rule> = tries.into_iter().filter(|(_, change)| without(change)).map(|(rule, _)| rule).collect();
    if rules.is_empty() {
        rules.push(Rule::Pins);
    }
    rules
}
