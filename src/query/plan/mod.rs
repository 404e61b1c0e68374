//! What to load and where to drive: the books as a problem of the haul, its best answer, and what that is compared with.
//!
//! Nothing is forecast. What nobody has told is said beside the answer, and is in it as stated there.

mod drive;
mod gather;
mod held;
mod home;
mod missing;
mod usual;
mod wait;

pub use drive::{Drive, LoadedBin, Stop, StopLine};
pub use held::{HeldGrade, HoldState, QuoteRange, held_grades};
pub use home::{HomeBin, HomeWhy};
pub use missing::{Beyond, BeyondBuyer, Missing};
pub use wait::{WaitUnknown, Waiting};

use crate::facts::{BinId, Books, Pin};
use crate::haul::plan::{Answer, Budget, Plan, Progress, Rule, nearest, solve};
use crate::measure::{Currency, Mass, Money};
use gather::{Gathered, gather};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rust_decimal::Decimal;

/// What is asked.
#[derive(Debug, Clone)]
pub struct PlanQuestion {
    /// In the zone.
    pub today: Date,
    /// None asks for the next day on which anybody is open who buys what lies there, today or later.
    pub day: Option<Date>,
    pub zone: TimeZone,
    pub stale_after: u16,
    /// Taken where any quote is in it.
    pub currency: Currency,
    /// What an hour must bring, where it is asked anew.
    pub floor: Option<Decimal>,
    /// Plan by what each buyer will likely pay, where their tickets tell, and not by what they quote.
    pub by_expected: bool,
    /// How much searching is paid for: times the usual [`Budget`].
    pub effort: u32,
}

/// For what the answer is compared with.
const BESIDE: Budget = Budget { nodes: 5000 };

/// More effort than this is more than an evening of a small board.
pub const EFFORT_MAX: u32 = 64;

#[derive(Debug, Clone, PartialEq)]
pub struct PlanReport {
    /// The books stand at this event.
    pub seq: u64,
    pub today: Date,
    pub day: Date,
    pub currency: Currency,
    /// What an hour must bring; none where nobody has said, and then hours cost nothing.
    pub floor: Option<Decimal>,
    pub by_expected: bool,
    pub effort: u32,
    pub outcome: Outcome,
    /// What lies in bins and does not go, by number.
    pub home: Vec<HomeBin>,
    /// Buyers who are in no plan of this day, by name.
    pub beyond: Vec<BeyondBuyer>,
    /// Grades that wait for a price, by name.
    pub held: Vec<HeldGrade>,
    pub missing: Vec<Missing>,
    /// What lies in no bin yet.
    pub unassigned: Mass,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    Planned(Box<Planned>),
    /// Each of these rules, dropped alone, makes a drive possible.
    Infeasible(Vec<BrokenRule>),
    /// The search was cut before it found anything; nothing better than this can exist.
    NoneFound {
        bound: Decimal,
    },
    /// No bin of a known grade holds anything.
    NothingThere,
    /// Nobody whose yard is told has a quote for anything here.
    NowhereToGo,
}

/// A rule that stands in the way, with the bin by its number where it is about one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BrokenRule {
    pub rule: Rule,
    pub bin: Option<u32>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// Without stops where nothing is worth driving for.
    pub drive: Drive,
    /// The best of all others.
    pub second: Option<Drive>,
    /// The best that goes to the nearest buyer alone.
    pub nearest: Option<Drive>,
    /// What it brings over staying at home; none where a bin must go.
    pub over_home: Option<Money>,
    pub waiting: Result<Waiting, WaitUnknown>,
    /// The search was cut: nothing better than this can exist. None where the drive is proved to be best.
    pub bound: Option<Decimal>,
}

impl Planned {
    /// What the drive brings more than another.
    pub fn over(&self, other: &Drive) -> Money {
        less(self.drive.net, other.net)
    }
}

/// Both of one plan, and so of one currency.
fn less(one: Money, other: Money) -> Money {
    Money { amount: one.amount - other.amount, ..one }
}

/// Answers the question from the books; `watch` hears how far the search is, and ends it by `false`.
pub fn plan(books: &Books, question: &PlanQuestion, watch: &mut dyn FnMut(Progress) -> bool) -> PlanReport {
    let gathered = gather(books, question);
    let outcome = outcome(books, question, &gathered, watch);
    let drive = match &outcome {
        Outcome::Planned(planned) => Some(&planned.drive),
        _ => None,
    };
    let mut missing = gathered.missing.clone();
    missing.extend(drive.into_iter().flat_map(|drive| drive::untold_roads(books, drive)));
    let mut stays = gathered.out.clone();
    stays.extend(home::home(&gathered, drive));
    stays.sort_by_key(|bin| bin.number);
    PlanReport {
        seq: books.seq,
        today: question.today,
        day: gathered.day,
        currency: gathered.problem.currency,
        floor: gathered.floor,
        by_expected: question.by_expected,
        effort: question.effort,
        home: stays,
        beyond: gathered.beyond.clone(),
        held: held::held(
            books,
            &held::Stand {
                day: gathered.day,
                stale_after: gathered.stale_after,
                items: &gathered.problem.items,
                in_force: &gathered.in_force,
            },
        ),
        missing,
        unassigned: books.loose.iter().filter_map(|id| books.entries.get(id)).map(|entry| entry.mass).sum(),
        outcome,
    }
}

fn outcome(books: &Books, question: &PlanQuestion, gathered: &Gathered, watch: &mut dyn FnMut(Progress) -> bool) -> Outcome {
    if gathered.problem.items.is_empty() {
        return Outcome::NothingThere;
    }
    let problem = &gathered.problem;
    if !problem.items.iter().any(|item| problem.offers.keys().any(|(grade, _)| *grade == item.grade)) {
        return Outcome::NowhereToGo;
    }
    let budget = Budget { nodes: Budget::default().nodes * u64::from(question.effort.clamp(1, EFFORT_MAX)) };
    let best = match solve(&gathered.problem, budget, watch) {
        Answer::Plan(best) => best,
        Answer::Infeasible(rules) => return Outcome::Infeasible(rules.into_iter().map(|rule| broken(books, rule)).collect()),
        Answer::NoneFound { bound } => return Outcome::NoneFound { bound },
    };
    let drive = |plan: &Plan| drive::drive(gathered, plan);
    let must = gathered.problem.items.iter().any(|item| item.pin == Some(Pin::Go));
    Outcome::Planned(Box::new(Planned {
        drive: drive(&best.plan),
        second: best.second.as_ref().map(drive),
        nearest: nearest(&gathered.problem, BESIDE).as_ref().map(drive),
        over_home: (!must).then_some(best.plan.net),
        waiting: wait::waiting(books, question, gathered, &best.plan),
        bound: best.bound,
    }))
}

fn broken(books: &Books, rule: Rule) -> BrokenRule {
    let number = |bin: BinId| books.bins.get(&bin).map(|bin| bin.number);
    let bin = match rule {
        Rule::NoBuyer(bin) => number(bin),
        _ => None,
    };
    BrokenRule { rule, bin }
}
