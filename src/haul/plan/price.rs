//! A loading, priced exactly and held against every rule.

use super::problem::{Loading, Pin, Problem};
use super::tour::Tours;
use crate::economy::quotes::{MONEY_PLACES, MONEY_RULE, Terms};
use crate::facts::GradeId;
use crate::measure::{Mass, Money, Rate, Rounding};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Decimals of what is compared.
const FINE_PLACES: u32 = 9;

/// What is brought of one grade to one buyer.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub place: usize,
    pub grade: GradeId,
    /// By their place among the items.
    pub items: Vec<usize>,
    pub mass: Mass,
    /// The one that holds for so much.
    pub rate: Rate,
    /// Rounded once.
    pub value: Money,
}

/// A loading with all that follows from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub loading: Loading,
    /// In the order of driving.
    pub stops: Vec<usize>,
    /// By stop, then by grade.
    pub lines: Vec<Line>,
    pub mass: Mass,
    /// The sum of the rounded lines.
    pub value: Money,
    pub km: Decimal,
    pub minutes: u32,
    /// Each rounded once.
    pub driving: Money,
    pub hours: Money,
    /// Value less the two.
    pub net: Money,
    /// The same unrounded, to a billionth: by this plans are compared.
    pub exact: Decimal,
}

/// What the terms make of so much of a grade: rounded for showing, and fine for comparing. None where a rule forbids it:
/// a minimum lot, a hold, a rate by the piece, or more than can be reckoned.
pub(super) fn line_value(problem: &Problem, grade: GradeId, terms: &Terms, mass: Mass) -> Option<(Rate, Money, Decimal)> {
    if terms.minimum.is_some_and(|minimum| mass < minimum) {
        return None;
    }
    let rate = terms.rate_for(mass);
    if !holds(problem, grade, rate) {
        return None;
    }
    let shown = rate.value(mass, None, terms.deduction, MONEY_PLACES, MONEY_RULE)?;
    let fine = rate.value(mass, None, terms.deduction, FINE_PLACES, Rounding::HalfEven)?;
    Some((rate, shown, fine.amount))
}

/// Whether a rate reaches what the owner holds the grade for, in the unit of the quote.
pub fn holds(problem: &Problem, grade: GradeId, rate: Rate) -> bool {
    let Rate::Weight(price) = rate else { return false };
    let Some(hold) = problem.holds.get(&grade) else { return true };
    hold.per(price.per, FINE_PLACES, Rounding::HalfEven).is_some_and(|least| price.amount >= least)
}

/// Prices a loading; none where it breaks a rule.
///
/// The stops are those that get a bin, in the order that costs least.
pub fn priced(problem: &Problem, loading: &Loading) -> Option<Plan> {
    priced_on(problem, &Tours::of(problem), loading)
}

pub(super) fn priced_on(problem: &Problem, tours: &Tours, loading: &Loading) -> Option<Plan> {
    if !fits(problem, loading) {
        return None;
    }
    let mut brought: BTreeMap<(usize, GradeId), Vec<usize>> = BTreeMap::new();
    let mut stops = 0_u32;
    for (at, place) in loading.iter().enumerate() {
        if let Some(place) = *place {
            brought.entry((place, problem.items[at].grade)).or_default().push(at);
            stops |= 1 << place;
        }
    }
    let (mut lines, mut exact) = (Vec::new(), Decimal::ZERO);
    let mut value = Money { amount: Decimal::new(0, MONEY_PLACES), currency: problem.currency };
    for ((place, grade), items) in brought {
        let mass: Mass = items.iter().map(|at| problem.items[*at].mass).sum();
        let (rate, shown, fine) = line_value(problem, grade, problem.offers.get(&(grade, place))?, mass)?;
        value = value.plus(shown)?;
        exact += fine;
        lines.push(Line { place, grade, items, mass, rate, value: shown });
    }
    let tour = tours.best(stops)?;
    let order = |line: &Line| tour.order.iter().position(|stop| *stop == line.place);
    lines.sort_by_key(|line| (order(line), line.grade));
    let rounded = |amount: Decimal| Money { amount: MONEY_RULE.decimal(amount, MONEY_PLACES), currency: problem.currency };
    let driving = rounded(tour.km * problem.vehicle.per_km);
    let hours = rounded(Decimal::from(tour.minutes) * problem.floor / Decimal::from(60));
    let net = Money { amount: value.amount - driving.amount - hours.amount, ..value };
    Some(Plan {
        mass: lines.iter().map(|line| line.mass).sum(),
        loading: loading.clone(),
        stops: tour.order,
        lines,
        value,
        km: tour.km,
        minutes: tour.minutes,
        driving,
        hours,
        net,
        exact: exact - tour.cost,
    })
}

/// Pins, payload and room.
fn fits(problem: &Problem, loading: &Loading) -> bool {
    let pinned = problem.items.iter().zip(loading).all(|(item, place)| match item.pin {
        Some(Pin::Leave) => place.is_none(),
        Some(Pin::Go) => place.is_some(),
        None => true,
    });
    let open = loading.iter().flatten().all(|place| problem.places[*place].open);
    pinned && open && Used::of(problem, loading).within(problem)
}

/// What a loading takes of the vehicle.
pub(super) struct Used {
    gross: Mass,
    litres: u64,
    bins: u32,
}

impl Used {
    pub(super) fn of(problem: &Problem, loading: &Loading) -> Used {
        let aboard = || problem.items.iter().zip(loading).filter(|(_, place)| place.is_some()).map(|(item, _)| item);
        Used {
            gross: aboard().map(|item| item.gross).sum(),
            litres: aboard().map(|item| u64::from(item.litres.unwrap_or(0))).sum(),
            bins: aboard().count() as u32,
        }
    }

    pub(super) fn within(&self, problem: &Problem) -> bool {
        let vehicle = &problem.vehicle;
        vehicle.payload.is_none_or(|most| self.gross <= most)
            && vehicle.litres.is_none_or(|most| self.litres <= u64::from(most))
            && vehicle.bins.is_none_or(|most| self.bins <= most)
    }
}
