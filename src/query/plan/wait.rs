//! Going now, and again in a week, against going once in a week with both.
//!
//! In that week each bin gets what it usually does in one, and no more than its vessel takes; quotes, holds and opening days
//! are what they are now, told for that day.

use super::gather::{Gathered, Standing, holds};
use super::{BESIDE, PlanQuestion, less, usual};
use crate::facts::{Books, Pin};
use crate::haul::plan::{Answer, Item, Plan, Problem, solve};
use crate::measure::{Mass, Money};
use jiff::civil::Date;

const DAYS: i64 = 7;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Waiting {
    /// The day on which it would be gone.
    pub day: Date,
    /// What comes until then.
    pub comes: Mass,
    /// What going once with all of it would bring.
    pub once: Money,
    /// What going now, and then with what is left and what came, would bring.
    pub twice: Money,
    /// What the second of the two drives has in it.
    pub then: Money,
}

impl Waiting {
    /// What going now brings more than waiting; negative where waiting brings more.
    pub fn over(&self) -> Money {
        less(self.twice, self.once)
    }
}

/// Why it cannot be compared with waiting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WaitUnknown {
    /// Of the days that it takes to know a usual week there are so many.
    TooFewDays { days: i64, of: i64 },
    /// In a week no loading would keep every rule, or none was found.
    NoPlanThen,
}

pub(super) fn waiting(books: &Books, question: &PlanQuestion, gathered: &Gathered, now: &Plan) -> Result<Waiting, WaitUnknown> {
    let of = crate::query::LEAST_DAYS;
    let usual = usual::week(books, question.today, &question.zone).map_err(|days| WaitUnknown::TooFewDays { days, of })?;
    let day = gathered.day.saturating_add(jiff::Span::new().days(DAYS));
    let standing = || gathered.problem.items.iter().zip(&gathered.bins);
    let loaded: Vec<bool> = now.loading.iter().map(Option::is_some).collect();
    let comes = |item: &Item, bin: &Standing, there: Mass| {
        let room = bin.capacity.map(|capacity| (capacity - there).max(Mass::ZERO));
        let usual = usual.get(&item.bin).copied().unwrap_or(Mass::ZERO);
        room.map_or(usual, |room| room.min(usual))
    };
    let fuller = |item: &Item, bin: &Standing| {
        let more = comes(item, bin, item.mass);
        Item { mass: item.mass + more, gross: item.gross + more, ..item.clone() }
    };
    // Brought home empty, and filled again; what was decided about it was about what went.
    let again = |item: &Item, bin: &Standing| {
        let mass = comes(item, bin, Mass::ZERO);
        Item { mass, gross: item.gross - item.mass + mass, pin: None, ..item.clone() }
    };
    let empty = || gathered.empty.iter().map(|(item, bin)| fuller(item, bin));
    let once: Vec<Item> = standing().map(|(item, bin)| fuller(item, bin)).chain(empty()).collect();
    let left = standing().zip(&loaded).map(|((item, bin), gone)| if *gone { again(item, bin) } else { fuller(item, bin) });
    let then: Vec<Item> = left.chain(empty()).collect();
    let came: Mass = once.iter().map(|item| item.mass).sum::<Mass>() - standing().map(|(item, _)| item.mass).sum();
    let once = net(books, gathered, day, once)?;
    let then = match now.stops.is_empty() {
        true => once,
        false => net(books, gathered, day, then)?,
    };
    let twice = Money { amount: now.net.amount + then.amount, ..then };
    Ok(Waiting { day, comes: came, once, twice, then })
}

/// What the best drive of that day brings.
fn net(books: &Books, gathered: &Gathered, day: Date, items: Vec<Item>) -> Result<Money, WaitUnknown> {
    let items: Vec<Item> = items.into_iter().filter(|item| !item.mass.is_zero() || item.pin == Some(Pin::Go)).collect();
    let mut problem = Problem { items, ..gathered.problem.clone() };
    for (place, buyer) in problem.places.iter_mut().zip(&gathered.buyers) {
        place.open = books.yard(*buyer).is_some_and(|yard| yard.is_open(day));
    }
    problem.holds = holds(books, &problem.items, day, problem.currency, &mut Vec::new());
    match solve(&problem, BESIDE, &mut |_| true) {
        Answer::Plan(best) => Ok(best.plan.net),
        Answer::Infeasible(_) | Answer::NoneFound { .. } => Err(WaitUnknown::NoPlanThen),
    }
}
