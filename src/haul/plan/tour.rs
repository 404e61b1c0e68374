//! The cheapest way round a set of stops and home again (Held and Karp, 1962).

use super::problem::{Problem, Reach};
use rust_decimal::Decimal;

/// A way round.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tour {
    pub order: Vec<usize>,
    pub km: Decimal,
    pub minutes: u32,
    /// Driving and time, unrounded.
    pub cost: Decimal,
}

/// The best way to each set of stops that ends at each of its members.
pub(super) struct Tours {
    places: usize,
    /// By set and last stop.
    best: Vec<Option<(Leg, usize)>>,
    home: Vec<Leg>,
    there: Vec<Leg>,
}

/// What is summed along a way: by cost, and where that is equal by distance and time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Leg {
    cost: Decimal,
    km: Decimal,
    minutes: u32,
}

impl Leg {
    fn of(problem: &Problem, reach: Reach) -> Leg {
        Leg { cost: problem.cost(reach), km: reach.km, minutes: reach.minutes }
    }

    fn plus(self, other: Leg) -> Leg {
        Leg { cost: self.cost + other.cost, km: self.km + other.km, minutes: self.minutes + other.minutes }
    }
}

/// More buyers than this are not planned at once.
pub const PLACES_MAX: usize = 12;

impl Tours {
    /// Of at most `PLACES_MAX` places; sets with others have no tour.
    pub(super) fn of(problem: &Problem) -> Tours {
        let count = problem.places.len().min(PLACES_MAX);
        let roads = roads(problem, count);
        let home: Vec<Leg> = (0..count).map(|at| roads[at][count]).collect();
        let there: Vec<Leg> = (0..count)
            .map(|at| Leg::of(problem, Reach { km: Decimal::ZERO, minutes: problem.places[at].minutes_there }))
            .collect();
        let mut best = vec![None; (1 << count) * count];
        for at in 0..count {
            best[(1 << at) * count + at] = Some((home[at].plus(there[at]), at));
        }
        for set in 1_usize..1 << count {
            for last in (0..count).filter(|last| set >> last & 1 == 1) {
                let Some((so_far, _)) = best[set * count + last] else { continue };
                for next in (0..count).filter(|next| set >> next & 1 == 0) {
                    let leg = so_far.plus(roads[last][next]).plus(there[next]);
                    let slot = &mut best[(set | 1 << next) * count + next];
                    if slot.is_none_or(|(known, _)| leg < known) {
                        *slot = Some((leg, last));
                    }
                }
            }
        }
        Tours { places: count, best, home, there }
    }

    /// The cheapest round of a set of places, one bit each. The empty set costs nothing.
    pub(super) fn best(&self, stops: u32) -> Option<Tour> {
        if stops == 0 {
            return Some(Tour { order: Vec::new(), km: Decimal::ZERO, minutes: 0, cost: Decimal::ZERO });
        }
        let mut set = stops as usize;
        if set >> self.places != 0 {
            return None;
        }
        let ends = (0..self.places).filter(|last| set >> last & 1 == 1);
        let round = |last: usize| self.best[set * self.places + last].map(|(leg, _)| (leg.plus(self.home[last]), last));
        let (whole, mut last) = ends.filter_map(round).min()?;
        let mut order = Vec::new();
        loop {
            order.push(last);
            let before = self.best[set * self.places + last]?.1;
            set &= !(1 << last);
            if set == 0 {
                break;
            }
            last = before;
        }
        order.reverse();
        Some(Tour { order, km: whole.km, minutes: whole.minutes, cost: whole.cost })
    }

    /// What one stop costs alone.
    pub(super) fn alone(&self, place: usize) -> Option<Decimal> {
        let (home, there) = (self.home.get(place)?, self.there.get(place)?);
        Some(home.plus(*home).plus(*there).cost)
    }
}

/// The cheapest road between any two, home last: a told road that is dearer than one by way of another place is not driven.
fn roads(problem: &Problem, count: usize) -> Vec<Vec<Leg>> {
    let mut roads = vec![vec![Leg::default(); count + 1]; count + 1];
    for (one, place) in problem.places.iter().enumerate().take(count) {
        let home = Leg::of(problem, place.from_home);
        (roads[one][count], roads[count][one]) = (home, home);
        for other in (0..count).filter(|other| *other != one) {
            roads[one][other] = Leg::of(problem, problem.road(one, other));
        }
    }
    for by in 0..=count {
        for from in 0..=count {
            for to in 0..=count {
                let round = roads[from][by].plus(roads[by][to]);
                if round < roads[from][to] {
                    roads[from][to] = round;
                }
            }
        }
    }
    roads
}
