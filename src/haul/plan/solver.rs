//! The mixed-integer program behind the assignment: the one file of the plan with floating point. Nothing leaves it but a
//! loading, which is priced and checked exactly elsewhere, and a bound in decimals.
//!
//! The library's own interface is used, since it alone takes a limit in nodes (the same everywhere, unlike one in seconds)
//! and tells the bound that it has proved.

use super::bound::kilograms;
use super::lots::{Lots, Stretch, best_rate, is_plain};
use super::problem::{Loading, Pin, Problem};
use crate::facts::GradeId;
use microlp::{ComparisonOp, OptimizationDirection, SolveOptions, SolveOutcome, Variable};
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use std::collections::BTreeMap;

/// What floating point may be off in a sum of money, of that sum.
const ROUNDING: f64 = 1e-7;

/// What is to be solved: these bins over these stops.
pub(super) struct Part<'a> {
    pub items: &'a [usize],
    /// One bit a place.
    pub stops: u32,
    /// Hold the vehicle's limits; a single grade is first solved without.
    pub limited: bool,
    /// Loadings that must not come out.
    pub cuts: &'a [Loading],
    pub nodes: u64,
    /// What brings less is not asked for.
    pub least: Option<Decimal>,
}

/// What came out.
pub(super) struct Proposal {
    /// None where the limit came before any loading.
    pub loading: Option<Loading>,
    /// No loading brings more before the trip is paid, as far as floating point tells; none before there was one.
    pub bound: Option<Decimal>,
    pub nodes: u64,
}

/// A bin at a place.
struct Choice {
    item: usize,
    place: usize,
    chosen: Variable,
}

/// Solves it; none where no loading fits and brings the least that is asked for.
pub(super) fn propose(problem: &Problem, lots: &Lots, part: &Part) -> Option<Proposal> {
    let mut model = microlp::Problem::new(OptimizationDirection::Maximize);
    let mut choices: Vec<Choice> = Vec::new();
    let mut lines: BTreeMap<(GradeId, usize), Vec<(usize, Variable)>> = BTreeMap::new();
    let mut worth: Vec<(Variable, f64)> = Vec::new();
    for &at in part.items {
        let item = &problem.items[at];
        for place in places(lots, item.grade, part) {
            let Some(stretches) = lots.get(&(item.grade, place)) else { continue };
            let price = if is_plain(stretches) { float(stretches[0].per_kg) } else { 0.0 };
            let value = price * float(kilograms(item.mass));
            let chosen = model.add_binary_var(value);
            worth.push((chosen, value));
            choices.push(Choice { item: at, place, chosen });
            lines.entry((item.grade, place)).or_default().push((at, chosen));
        }
    }
    for &at in part.items {
        let there: Vec<_> = choices.iter().filter(|choice| choice.item == at).map(|choice| (choice.chosen, 1.0)).collect();
        let must = problem.items[at].pin == Some(Pin::Go);
        if must && there.is_empty() {
            return None;
        }
        if must || there.len() > 1 {
            model.add_constraint(there, if must { ComparisonOp::Eq } else { ComparisonOp::Le }, 1.0);
        }
    }
    if choices.is_empty() {
        let nothing = vec![None; problem.items.len()];
        let loading = (!part.cuts.contains(&nothing)).then_some(nothing)?;
        return Some(Proposal { loading: Some(loading), bound: Some(Decimal::ZERO), nodes: 0 });
    }
    for (line, bins) in &lines {
        let stretches = &lots[line];
        if !is_plain(stretches) {
            worth.extend(by_stretch(&mut model, problem, stretches, bins));
        }
    }
    if part.limited {
        limit(&mut model, problem, &choices);
    }
    if let Some(least) = part.least.map(float) {
        // A branch that cannot reach it ends at once.
        model.add_constraint(worth, ComparisonOp::Ge, least - ROUNDING * least.abs().max(1.0));
    }
    for cut in part.cuts {
        exclude(&mut model, part, cut, &choices);
    }
    let mut options = SolveOptions::default();
    options.node_limit = Some(part.nodes);
    match model.solve_with(options) {
        Ok(SolveOutcome::Solution(solution)) => {
            let mut loading = vec![None; problem.items.len()];
            for choice in choices.iter().filter(|choice| solution.var_value(choice.chosen) > 0.5) {
                loading[choice.item] = Some(choice.place);
            }
            let stats = solution.stats();
            let bound = stats.best_bound.unwrap_or(solution.objective());
            Some(Proposal { loading: Some(loading), bound: Decimal::from_f64(bound), nodes: stats.nodes_solved })
        }
        Ok(SolveOutcome::Interrupted(interrupted)) => {
            let stats = interrupted.stats();
            let bound = stats.best_bound.and_then(Decimal::from_f64);
            Some(Proposal { loading: None, bound, nodes: stats.nodes_solved })
        }
        Err(microlp::Error::Infeasible) => None,
        // A numerical failure proves nothing: no loading, no bound.
        Err(_) => Some(Proposal { loading: None, bound: None, nodes: part.nodes }),
    }
}

/// Where a grade may go. A place is left out where another pays at least as much for any quantity: whoever brings a bin
/// there can as well bring it to the other. With cuts that holds but for what is cut one bin away from a loading, which the
/// search tries by itself, and for places of one rate only: elsewhere one bin less may lose the rate of all.
fn places(lots: &Lots, grade: GradeId, part: &Part) -> Vec<usize> {
    let offered = |place: usize| lots.get(&(grade, place)).filter(|_| part.stops >> place & 1 == 1);
    let all = (0..u32::BITS as usize).filter_map(|place| offered(place).map(|stretches| (place, stretches)));
    let all: Vec<(usize, &Vec<Stretch>)> = all.collect();
    let beaten = |place: usize, stretches: &[Stretch]| {
        all.iter().any(|(other, theirs)| {
            let (best, theirs_best) = (best_rate(stretches), best_rate(theirs));
            *other != place && is_plain(theirs) && (theirs_best > best || theirs_best == best && *other < place)
        })
    };
    let needed = |stretches: &[Stretch]| !part.cuts.is_empty() && !is_plain(stretches);
    let kept = all.iter().filter(|(place, stretches)| needed(stretches) || !beaten(*place, stretches));
    kept.map(|(place, _)| *place).collect()
}

/// One rate for all that is brought, by how much it is: a switch for each stretch, and the mass that is paid by it.
/// Gives what the masses are paid.
fn by_stretch(
    model: &mut microlp::Problem,
    problem: &Problem,
    stretches: &[Stretch],
    bins: &[(usize, Variable)],
) -> Vec<(Variable, f64)> {
    let mass = |at: usize| float(kilograms(problem.items[at].mass));
    let most: f64 = bins.iter().map(|(at, _)| mass(*at)).sum();
    let mut sums: Vec<(Variable, f64)> = bins.iter().map(|(at, chosen)| (*chosen, mass(*at))).collect();
    let (mut switches, mut worth) = (Vec::new(), Vec::new());
    for stretch in stretches {
        let switch = model.add_binary_var(0.0);
        let upto = stretch.below.map_or(most, |below| float(kilograms(below)).min(most));
        let paid = model.add_var(float(stretch.per_kg), (0.0, upto));
        model.add_constraint([(paid, 1.0), (switch, -upto)], ComparisonOp::Le, 0.0);
        model.add_constraint([(paid, 1.0), (switch, -float(kilograms(stretch.from)))], ComparisonOp::Ge, 0.0);
        worth.push((paid, float(stretch.per_kg)));
        sums.push((paid, -1.0));
        switches.push((switch, 1.0));
    }
    model.add_constraint(sums, ComparisonOp::Eq, 0.0);
    for (_, chosen) in bins {
        // Follows from the others for whole numbers, and makes the relaxation tighter.
        let tighter = switches.iter().map(|(switch, _)| (*switch, -1.0)).chain([(*chosen, 1.0)]);
        model.add_constraint(tighter.collect::<Vec<_>>(), ComparisonOp::Le, 0.0);
    }
    model.add_constraint(switches, ComparisonOp::Le, 1.0);
    worth
}

fn limit(model: &mut microlp::Problem, problem: &Problem, choices: &[Choice]) {
    let vehicle = &problem.vehicle;
    let mut row = |most: Option<f64>, takes: &dyn Fn(usize) -> f64| {
        if let Some(most) = most {
            let sum: Vec<_> = choices.iter().map(|choice| (choice.chosen, takes(choice.item))).collect();
            model.add_constraint(sum, ComparisonOp::Le, most);
        }
    };
    row(vehicle.payload.map(|most| float(kilograms(most))), &|at| float(kilograms(problem.items[at].gross)));
    row(vehicle.litres.map(f64::from), &|at| f64::from(problem.items[at].litres.unwrap_or(0)));
    row(vehicle.bins.map(f64::from), &|_| 1.0);
}

/// At least one bin goes elsewhere than in this loading. A loading that cannot come out needs no cut.
fn exclude(model: &mut microlp::Problem, part: &Part, cut: &Loading, choices: &[Choice]) {
    let mut row = Vec::new();
    let mut met = 0_u32;
    for choice in choices {
        if cut[choice.item] == Some(choice.place) {
            met += 1;
            row.push((choice.chosen, -1.0));
        } else if cut[choice.item].is_none() {
            row.push((choice.chosen, 1.0));
        }
    }
    let aboard = part.items.iter().filter(|at| cut[**at].is_some()).count();
    if aboard == met as usize {
        model.add_constraint(row, ComparisonOp::Ge, 1.0 - f64::from(met));
    }
}

fn float(amount: Decimal) -> f64 {
    amount.to_f64().unwrap_or(f64::MAX)
}
