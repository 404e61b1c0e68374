//! The plan of a run: against every loading there is, against scipy's mixed-integer solver, and by what must hold of any.

#[path = "plan/case.rs"]
mod case;
#[path = "plan/kept.rs"]
mod kept;
#[path = "support/python.rs"]
mod python;
#[path = "plan/report.rs"]
mod report;

use bismar::haul::plan::{Answer, Best, Budget, Pin, Problem, priced, solve};
use bismar::measure::{Price, PriceUnit, Rate, Rounding};
use case::{Case, FINE, case};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

fn best(problem: &Problem) -> Option<Best> {
    match solve(problem, Budget::default(), &mut |_| true) {
        Answer::Plan(best) => Some(*best),
        Answer::Infeasible(rules) => {
            assert!(!rules.is_empty(), "which rule makes it so is always said");
            None
        }
        Answer::NoneFound { bound } => panic!("nothing found in the budget, up to {bound}"),
    }
}

fn fine(amount: Decimal) -> i64 {
    (amount * Decimal::from(FINE)).round().to_i64().unwrap()
}

/// Rounded to the cent, as it is told.
fn cents(fine: i64) -> i64 {
    (fine + FINE.signum() * FINE / 200).div_euclid(FINE / 100)
}

/// Four thousand small problems with every rule in them: the best and the second-best of all loadings, tried one by one.
#[test]
fn the_best_of_all_loadings() {
    let (mut nothing, mut infeasible) = (0, 0);
    for seed in 0..4000 {
        let rng = &mut ChaCha8Rng::seed_from_u64(seed);
        let (bins, buyers, grades) = (rng.random_range(1..=5), rng.random_range(1..=3), rng.random_range(1..=3));
        let case = case(rng, bins, buyers, grades);
        let nets = case.by_force();
        let Some(best) = best(&case.problem()) else {
            infeasible += 1;
            assert!(nets.is_empty(), "seed {seed}: {nets:?} can be had\n{case:?}");
            continue;
        };
        assert_eq!(best.bound, None, "seed {seed}: proved");
        assert_eq!(cents(fine(best.plan.exact)), cents(nets[0]), "seed {seed}: {:?}\n{case:?}", best.plan);
        assert!((fine(best.plan.exact) - nets[0]).abs() < 100, "seed {seed}");
        let second = best.second.map(|plan| cents(fine(plan.exact)));
        assert_eq!(second, nets.get(1).copied().map(cents), "seed {seed}: second\n{case:?}");
        nothing += usize::from(best.plan.stops.is_empty());
    }
    assert!(nothing > 200 && infeasible > 100, "the rare answers are among them: {nothing} at home, {infeasible} impossible");
}

/// Three hundred larger ones against another solver with another formulation.
#[test]
fn scipy_finds_nothing_better() {
    let Some(python) = python::python() else { return };
    let mut cases: Vec<Case> = Vec::new();
    for seed in 0..300 {
        let rng = &mut ChaCha8Rng::seed_from_u64(90_000 + seed);
        let (bins, buyers, grades) = (rng.random_range(6..=16), rng.random_range(2..=5), rng.random_range(2..=6));
        cases.push(case(rng, bins, buyers, grades));
    }
    let told: String = cases.iter().map(|case| format!("{}\n", case.told())).collect();
    let said = python::run(&python, "plan_milp.py", &[], &told);
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let theirs = String::from_utf8(said.stdout).unwrap();
    assert_eq!(theirs.lines().count(), cases.len());
    for (seed, (case, theirs)) in cases.iter().zip(theirs.lines()).enumerate() {
        match (best(&case.problem()), theirs) {
            (None, "infeasible") => {}
            (Some(best), net) => {
                let net: Decimal = net.parse().unwrap_or_else(|_| panic!("{seed}: ours {best:?}, theirs {net}"));
                assert_eq!(best.plan.exact.round_dp(2), net.round_dp(2), "{seed}: {:?}\n{case:?}", best.plan);
            }
            (None, net) => panic!("{seed}: {net} can be had\n{case:?}"),
        }
    }
}

fn middling(seed: u64) -> Case {
    let rng = &mut ChaCha8Rng::seed_from_u64(50_000 + seed);
    case(rng, 7, 3, 3)
}

/// What is shown adds up: the sum of the lines less the trip is the net, and it strays from what was compared by no more
/// than the rounding of each line.
#[test]
fn the_figures_of_a_plan_add_up() {
    for seed in 0..100 {
        let problem = middling(seed).problem();
        let Some(best) = best(&problem) else { continue };
        let plan = best.plan;
        let lines: Decimal = plan.lines.iter().map(|line| line.value.amount).sum();
        assert_eq!(lines, plan.value.amount, "seed {seed}");
        assert_eq!(lines - plan.driving.amount - plan.hours.amount, plan.net.amount, "seed {seed}");
        let roundings = Decimal::from(plan.lines.len() + 2) * Decimal::new(5, 3);
        assert!((plan.net.amount - plan.exact).abs() <= roundings, "seed {seed}");
        assert_eq!(priced(&problem, &plan.loading), Some(plan.clone()), "seed {seed}: a loading has one price");
        let aboard: usize = plan.lines.iter().map(|line| line.items.len()).sum();
        assert_eq!(aboard, plan.loading.iter().flatten().count(), "seed {seed}: each bin on one line");
        for (item, place) in problem.items.iter().zip(&plan.loading) {
            match item.pin {
                Some(Pin::Leave) => assert_eq!(*place, None, "seed {seed}"),
                Some(Pin::Go) => assert!(place.is_some(), "seed {seed}"),
                None => {}
            }
        }
    }
}

/// Where driving costs nothing another buyer never makes a run worth less, nor does a larger vehicle, nor a hold let go.
#[test]
fn more_freedom_never_brings_less() {
    let net = |problem: &Problem| best(problem).map(|best| best.plan.exact);
    for seed in 0..60 {
        let mut problem = middling(seed).problem();
        (problem.vehicle.per_km, problem.floor) = (Decimal::ZERO, Decimal::ZERO);
        let with = net(&problem);
        let mut fewer = problem.clone();
        fewer.offers.retain(|(_, place), _| *place != 2);
        assert!(net(&fewer) <= with, "seed {seed}: a buyer less");
        let mut larger = problem.clone();
        larger.vehicle.payload = None;
        assert!(net(&larger) >= with, "seed {seed}: any payload");
        let mut free = problem.clone();
        free.holds.clear();
        assert!(net(&free) >= with, "seed {seed}: no hold");
    }
}

/// The same quotes in another unit of weight are the same plan. Hundredths a kilogram are exact per gram and per tonne.
#[test]
fn units_change_nothing() {
    for seed in 0..60 {
        let problem = middling(seed).problem();
        for unit in [PriceUnit::Gram, PriceUnit::Tonne] {
            let mut other = problem.clone();
            for terms in other.offers.values_mut() {
                let Rate::Weight(price) = terms.rate else { unreachable!() };
                let per = |amount: Decimal| Price { amount, ..price }.per(unit, 9, Rounding::HalfEven).unwrap();
                terms.rate = Rate::Weight(Price { amount: per(price.amount), per: unit, ..price });
                terms.breaks.iter_mut().for_each(|step| step.amount = per(step.amount));
            }
            let (one, other) = (best(&problem), best(&other));
            let figures = |best: Option<Best>| best.map(|best| (best.plan.exact, best.plan.net, best.plan.loading));
            assert_eq!(figures(one), figures(other), "seed {seed}");
        }
    }
}

/// A budget that is too small says so: what it found, and what nothing can exceed.
#[test]
fn a_search_cut_short_says_what_may_be_missed() {
    let mut cut = 0;
    for seed in 0..120 {
        let rng = &mut ChaCha8Rng::seed_from_u64(70_000 + seed);
        let problem = case(rng, 14, 4, 2).problem();
        let Some(whole) = best(&problem) else { continue };
        match solve(&problem, Budget { nodes: 2 }, &mut |_| true) {
            Answer::Plan(short) => match short.bound {
                Some(bound) => {
                    cut += 1;
                    assert!(bound >= whole.plan.exact && bound > short.plan.exact, "seed {seed}");
                }
                None => assert!((short.plan.exact - whole.plan.exact).abs() < Decimal::new(1, 5), "seed {seed}"),
            },
            Answer::NoneFound { bound } => assert!(bound >= whole.plan.exact, "seed {seed}"),
            Answer::Infeasible(rules) => panic!("seed {seed}: {rules:?}"),
        }
    }
    assert!(cut > 5, "{cut} searches were cut short");
}
