//! Which set of stops: each set's best loading by the solver, sets in the order of what they could bring at most.

use super::bound::Bounds;
use super::lots::{Lots, lots};
use super::price::{Plan, Used, line_value, priced_on};
use super::problem::{Loading, Problem};
use super::rules::{Rule, broken};
use super::solver::{Part, propose};
use super::tour::Tours;
use crate::facts::GradeId;
use crate::measure::Mass;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// How much searching is paid for. Counted, not timed: the same question has the same answer on every machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    /// Branches of the solver in all.
    pub nodes: u64,
}

impl Default for Budget {
    fn default() -> Budget {
        Budget { nodes: 50_000 }
    }
}

/// How far the search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Sets of stops that are decided, of so many.
    pub sets: usize,
    pub of: usize,
    pub best: Option<Decimal>,
    /// Nothing better than this can exist.
    pub bound: Decimal,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    Plan(Box<Best>),
    /// No loading keeps every rule: each of these, dropped alone, makes one possible.
    Infeasible(Vec<Rule>),
    /// The budget was used up before any plan was found.
    NoneFound {
        bound: Decimal,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub struct Best {
    /// Without stops where nothing is worth driving for.
    pub plan: Plan,
    /// The best of all others.
    pub second: Option<Plan>,
    /// Nothing better than this can exist; none where the plan is proved to be best.
    pub bound: Option<Decimal>,
}

/// Below this much a difference between the solver and the exact price is its rounding.
const SLACK: Decimal = Decimal::from_parts(1, 0, 0, false, 6);

/// Exact pricing may refuse what floating point let through; more often than this it is not asked again.
const AGAIN_MAX: usize = 40;

/// The best plan, and the second-best.
///
/// `watch` hears how far it is, and ends the search by `false`.
pub fn solve(problem: &Problem, budget: Budget, watch: &mut dyn FnMut(Progress) -> bool) -> Answer {
    let mut search = Search::of(problem, budget);
    let sets = search.sets();
    search.together(&sets);
    let found = search.best(&sets, &[], watch);
    let Some(plan) = found.plan else {
        return match found.open {
            Some(bound) => Answer::NoneFound { bound },
            None => Answer::Infeasible(broken(problem)),
        };
    };
    let bound = found.open.filter(|bound| *bound > plan.exact + SLACK);
    let second = search.second(&sets, &plan, watch);
    Answer::Plan(Box::new(Best { plan, second, bound }))
}

/// The best plan that goes to the nearest buyer alone: the one whose round trip costs least among those who buy anything.
pub fn nearest(problem: &Problem, budget: Budget) -> Option<Plan> {
    let mut search = Search::of(problem, budget);
    let buys = |place: usize| search.lots.keys().any(|(_, at)| *at == place);
    let by_cost = |place: usize| {
        let reach = problem.places[place].from_home;
        search.tours.alone(place).map(|cost| (cost, reach.km, reach.minutes, place))
    };
    let (.., place) = (0..problem.places.len()).filter(|place| buys(*place)).filter_map(by_cost).min()?;
    search.on(1 << place, &[], None).plan.filter(|plan| !plan.stops.is_empty())
}

/// Whether any loading keeps every rule.
pub(super) fn feasible(problem: &Problem) -> bool {
    let mut search = Search::of(problem, Budget { nodes: 2000 });
    let all = ((1_u64 << problem.places.len().min(u32::BITS as usize - 1)) - 1) as u32;
    search.on(all, &[], None).plan.is_some()
}

struct Search<'a> {
    problem: &'a Problem,
    lots: Lots,
    tours: Tours,
    /// By grade and the stops that buy it.
    grades: BTreeMap<(GradeId, u32), Option<Solved>>,
    nodes: u64,
    /// What sets of stops were shown to bring at most, before the trip: none of their subsets brings more.
    known: Vec<(u32, Decimal)>,
    /// Every plan that was found on the way.
    plans: Vec<Plan>,
}

/// The best of one part, exactly priced but for the trip.
#[derive(Debug, Clone)]
struct Solved {
    loading: Option<Loading>,
    /// Where more may exist.
    open: Option<Decimal>,
}

/// A set of stops: what it could bring at most, what the trip costs, which they are.
type Set = (Decimal, Decimal, u32);

/// What a search found, and what it could not rule out.
struct Found {
    plan: Option<Plan>,
    open: Option<Decimal>,
}

impl<'a> Search<'a> {
    fn of(problem: &'a Problem, budget: Budget) -> Search<'a> {
        let (lots, tours) = (lots(problem), Tours::of(problem));
        Search { problem, lots, tours, grades: BTreeMap::new(), nodes: budget.nodes, known: Vec::new(), plans: Vec::new() }
    }

    /// What all stops together bring bounds every set of them, and most cost more than that leaves. No more than half of the
    /// budget goes into it: where it is too hard, the smaller sets may still be solved.
    fn together(&mut self, sets: &[Set]) {
        let all = sets.iter().fold(0, |all, (.., stops)| all | stops);
        let kept = self.nodes / 2;
        self.nodes -= kept;
        let found = self.on(all, &[], None);
        self.nodes += kept;
        self.plans.extend(found.plan);
    }

    /// Over all sets of stops, beginning with what was found before.
    fn best(&mut self, sets: &[Set], cuts: &[Loading], watch: &mut dyn FnMut(Progress) -> bool) -> Found {
        let allowed = |plan: &Plan| !cuts.contains(&plan.loading);
        let mut best = self.plans.iter().filter(|plan| allowed(plan)).max_by_key(|plan| plan.exact).cloned();
        let mut open: Option<Decimal> = None;
        for (at, (gross, cost, stops)) in sets.iter().enumerate() {
            let reached = best.as_ref().map(|plan| plan.exact);
            if reached.is_some_and(|reached| reached >= *gross - *cost) {
                break;
            }
            let over = self.known.iter().filter(|(set, _)| stops & !set == 0).map(|(_, most)| *most).min();
            let bound = over.map_or(*gross, |over| over.min(*gross)) - cost;
            if reached.is_some_and(|reached| reached >= bound) {
                continue;
            }
            let told = Progress { sets: at, of: sets.len(), best: reached, bound: open.map_or(bound, |open| open.max(bound)) };
            if !watch(told) || self.nodes == 0 {
                // Those behind it have no higher bound of their own.
                open = open.max(Some(*gross - *cost));
                break;
            }
            let found = self.on(*stops, cuts, reached.map(|reached| reached + *cost));
            open = open.max(found.open.map(|open| open.min(bound)));
            if let Some(plan) = found.plan.filter(|plan| allowed(plan)) {
                if reached.is_none_or(|reached| plan.exact > reached) {
                    best = Some(plan.clone());
                }
                self.plans.push(plan);
            }
        }
        Found { plan: best, open }
    }

    /// Every set of stops, the best first.
    fn sets(&self) -> Vec<Set> {
        let bounds = Bounds::of(self.problem, &self.lots);
        let useful = (0..self.problem.places.len()).filter(|place| self.lots.keys().any(|(_, at)| at == place));
        let useful = useful.fold(0_u32, |set, place| set | 1 << place);
        let set = |stops: u32| Some((bounds.gross(stops)?, self.tours.best(stops)?.cost, stops));
        let mut sets: Vec<_> = (0..=useful).filter(|stops| stops & !useful == 0).filter_map(set).collect();
        sets.sort_by_key(|(gross, cost, _)| std::cmp::Reverse(*gross - *cost));
        sets
    }

    /// The best of all plans but one: the solver is spared places that another beats, so what lies one bin away is tried here.
    fn second(&mut self, sets: &[Set], plan: &Plan, watch: &mut dyn FnMut(Progress) -> bool) -> Option<Plan> {
        for (at, item) in self.problem.items.iter().enumerate() {
            let places = (0..self.problem.places.len()).filter(|place| self.lots.contains_key(&(item.grade, *place)));
            for place in places.map(Some).chain([None]) {
                let mut other = plan.loading.clone();
                other[at] = place;
                self.plans.extend((other != plan.loading).then(|| priced_on(self.problem, &self.tours, &other)).flatten());
            }
        }
        self.best(sets, std::slice::from_ref(&plan.loading), watch).plan
    }

    /// Over one set of stops, any of which may be left out. What brings no more than `least` before the trip need not be found.
    fn on(&mut self, stops: u32, cuts: &[Loading], least: Option<Decimal>) -> Found {
        const NOTHING: Found = Found { plan: None, open: None };
        let Some(cost) = self.tours.best(stops).map(|tour| tour.cost) else { return NOTHING };
        let Some(apart) = self.apart(stops) else { return NOTHING };
        let fits = |loading: &Loading| Used::of(self.problem, loading).within(self.problem) && !cuts.contains(loading);
        let solved = match apart.loading.as_ref().is_some_and(fits) {
            true => apart,
            false => {
                let most = apart.loading.as_ref().and_then(|loading| self.value(loading));
                if most.zip(least).is_some_and(|(most, least)| most <= least) {
                    return NOTHING;
                }
                let items: Vec<usize> =
                    self.problem.grades().into_iter().flat_map(|grade| self.problem.of_grade(grade)).collect();
                let Some(solved) = self.exactly(&items, stops, true, cuts, least) else {
                    self.known.extend(least.filter(|_| cuts.is_empty()).map(|least| (stops, least + SLACK)));
                    return NOTHING;
                };
                solved
            }
        };
        if cuts.is_empty() {
            // With cuts the solver is spared places that another of these stops beats, and they may lead where that is left out.
            let most = solved.open.or_else(|| solved.loading.as_ref().and_then(|loading| self.value(loading)));
            self.known.extend(most.map(|most| (stops, most)));
        }
        let plan = solved.loading.and_then(|loading| priced_on(self.problem, &self.tours, &loading));
        Found { plan, open: solved.open.map(|open| open - cost) }
    }

    /// Each grade for itself, as if the vehicle took everything; none where a bin that must go cannot.
    fn apart(&mut self, stops: u32) -> Option<Solved> {
        let mut whole = Solved { loading: Some(vec![None; self.problem.items.len()]), open: None };
        for grade in self.problem.grades() {
            let items: Vec<usize> = self.problem.of_grade(grade).collect();
            let buying = self.lots.keys().filter(|(of, place)| *of == grade && stops >> place & 1 == 1);
            let buying = buying.fold(0_u32, |set, (_, place)| set | 1 << place);
            if !self.grades.contains_key(&(grade, buying)) {
                let solved = self.exactly(&items, buying, false, &[], None);
                self.grades.insert((grade, buying), solved);
            }
            let part = self.grades[&(grade, buying)].clone()?;
            if part.open.is_some() || part.loading.is_none() {
                // Not proved: left to the whole, which then has one bound for all.
                return Some(Solved { loading: None, open: None });
            }
            for (slot, place) in whole.loading.iter_mut().flatten().zip(part.loading.iter().flatten()) {
                *slot = slot.or(*place);
            }
        }
        Some(whole)
    }

    /// Asks the solver until what it proposes holds exactly; none where nothing fits.
    fn exactly(
        &mut self,
        items: &[usize],
        stops: u32,
        limited: bool,
        cuts: &[Loading],
        least: Option<Decimal>,
    ) -> Option<Solved> {
        let mut cuts = cuts.to_vec();
        let mut best: Option<(Decimal, Loading)> = None;
        let mut open = None;
        for _ in 0..AGAIN_MAX {
            let part = Part { items, stops, limited, cuts: &cuts, nodes: self.nodes, least };
            let Some(proposal) = propose(self.problem, &self.lots, &part) else {
                open = None;
                break;
            };
            self.nodes = self.nodes.saturating_sub(proposal.nodes);
            open = Some(proposal.bound.unwrap_or(Decimal::MAX));
            let Some(loading) = proposal.loading else { break };
            let value = self.value(&loading).filter(|_| !limited || Used::of(self.problem, &loading).within(self.problem));
            if let Some(value) = value.filter(|value| best.as_ref().is_none_or(|(known, _)| value > known)) {
                best = Some((value, loading.clone()));
            }
            if best.as_ref().zip(proposal.bound).is_some_and(|((value, _), bound)| bound <= *value + SLACK) {
                open = None;
                break;
            }
            if self.nodes == 0 {
                break;
            }
            cuts.push(loading);
        }
        match (best, open) {
            (None, None) => None,
            (best, open) => Some(Solved { loading: best.map(|(_, loading)| loading), open }),
        }
    }

    /// What the lines of a loading bring, unrounded; none where a minimum lot or a hold forbids one.
    fn value(&self, loading: &Loading) -> Option<Decimal> {
        let mut brought: BTreeMap<(GradeId, usize), Mass> = BTreeMap::new();
        for (item, place) in self.problem.items.iter().zip(loading) {
            if let Some(place) = place {
                *brought.entry((item.grade, *place)).or_insert(Mass::ZERO) += item.mass;
            }
        }
        let line = |((grade, place), mass): ((GradeId, usize), Mass)| {
            let terms = self.problem.offers.get(&(grade, place))?;
            line_value(self.problem, grade, terms, mass).map(|(_, _, fine)| fine)
        };
        brought.into_iter().map(line).sum()
    }
}
