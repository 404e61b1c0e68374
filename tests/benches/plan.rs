//! The plan of a run over forty bins and eight buyers, and what a larger one comes to in the same budget.
//!
//! `cargo bench --bench plan`. The goal for forty by eight is under one second.

#[path = "../plan/case.rs"]
#[expect(dead_code, reason = "the tests also have it say the best answer")]
mod case;

use bismar::haul::plan::{Answer, Budget, Problem, solve};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rust_decimal::Decimal;
use std::time::Instant;

fn main() {
    for (bins, buyers, grades) in [(12, 4, 6), (40, 8, 10), (40, 8, 4), (80, 10, 16)] {
        let mut seconds = Vec::new();
        let (mut proved, mut asked) = (0, 0);
        for seed in 0..20 {
            let rng = &mut ChaCha8Rng::seed_from_u64(seed);
            let problem = case::case(rng, bins, buyers, grades).problem();
            let (took, end) = run(&problem);
            if let Some(gap) = end {
                asked += 1;
                proved += usize::from(gap.is_zero());
            }
            seconds.push(took);
        }
        seconds.sort_by(f64::total_cmp);
        let (median, worst) = (seconds[seconds.len() / 2], seconds[seconds.len() - 1]);
        println!(
            "{bins} bins, {buyers} buyers, {grades} grades: median {median:.3} s, worst {worst:.3} s; {proved} of {asked} proved"
        );
    }
}

/// Seconds, and how much more could exist at most; none where no loading keeps the rules.
fn run(problem: &Problem) -> (f64, Option<Decimal>) {
    let begun = Instant::now();
    let answer = solve(problem, Budget::default(), &mut |_| true);
    let took = begun.elapsed().as_secs_f64();
    match answer {
        Answer::Plan(best) => (took, Some(best.bound.map_or(Decimal::ZERO, |bound| bound - best.plan.exact))),
        Answer::Infeasible(_) => (took, None),
        Answer::NoneFound { bound } => (took, Some(bound)),
    }
}
