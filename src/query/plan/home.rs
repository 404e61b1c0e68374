//! What stays at home, and why.

use super::drive::Drive;
use super::gather::{Gathered, grade_name};
use crate::economy::quotes::Terms;
use crate::facts::{BinId, Pin};
use crate::haul::plan::{Item, holds};
use crate::measure::Mass;

/// Why a bin stays at home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HomeWhy {
    NoGrade,
    /// The owner said so.
    Pinned,
    /// Nobody who can be driven to on this day has a quote for it.
    NoQuote,
    /// Nobody pays what it is held for.
    Held,
    /// It brings more to leave it: for its price, or for want of room, or for a lot that is too small.
    NotWorth,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HomeBin {
    pub bin: BinId,
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: Mass,
    pub why: HomeWhy,
}

/// Why each bin that could have gone stays.
pub(super) fn home(gathered: &Gathered, drive: Option<&Drive>) -> Vec<HomeBin> {
    let problem = &gathered.problem;
    let goes = |bin: BinId| drive.is_some_and(|drive| drive.bins().any(|loaded| loaded.bin == bin));
    let open = |place: usize| problem.places[place].open;
    let why = |item: &Item| {
        let whole: Mass = problem.of_grade(item.grade).map(|at| problem.items[at].mass).sum();
        let offers = || problem.offers.iter().filter(|((grade, place), _)| *grade == item.grade && open(*place));
        let reaches = |terms: &Terms| holds(problem, item.grade, terms.rate_for(whole));
        match () {
            () if item.pin == Some(Pin::Leave) => HomeWhy::Pinned,
            () if offers().next().is_none() => HomeWhy::NoQuote,
            () if !offers().any(|(_, terms)| reaches(terms)) => HomeWhy::Held,
            () => HomeWhy::NotWorth,
        }
    };
    let stays = problem.items.iter().zip(&gathered.bins).filter(|(item, _)| !goes(item.bin));
    stays
        .map(|(item, bin)| HomeBin {
            bin: item.bin,
            number: bin.number,
            name: bin.name.clone(),
            grade: Some(grade_name(gathered.books, item.grade)),
            mass: item.mass,
            why: why(item),
        })
        .collect()
}
