//! A plan of the haul with the names of all that is in it: what a load sheet is printed from.

use super::gather::{Gathered, grade_name, name};
use super::missing::Missing;
use crate::economy::quotes::Terms;
use crate::facts::{BinId, Books, BuyerId, GradeId, QuoteId};
use crate::haul::buyers::ExpectedPrice;
use crate::haul::plan::{Line, Plan};
use crate::measure::{Mass, Money, Rate};
use jiff::civil::Date;
use rust_decimal::Decimal;

#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// In the order of driving.
    pub stops: Vec<Stop>,
    pub mass: Mass,
    /// With the vessels, as far as their weights are known.
    pub gross: Mass,
    /// As far as it is told.
    pub litres: u32,
    /// The sum of the rounded lines.
    pub value: Money,
    pub km: Decimal,
    /// Driving and there.
    pub minutes: u32,
    /// Each rounded once.
    pub driving: Money,
    pub hours: Money,
    /// Value less the two.
    pub net: Money,
}

impl Drive {
    pub fn bins(&self) -> impl Iterator<Item = &LoadedBin> {
        self.stops.iter().flat_map(|stop| &stop.lines).flat_map(|line| &line.bins)
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    pub buyer: BuyerId,
    pub name: String,
    pub minutes_there: u32,
    /// By grade.
    pub lines: Vec<StopLine>,
    /// The sum of the rounded lines.
    pub value: Money,
}

/// What is brought of one grade to one buyer.
#[derive(Debug, Clone, PartialEq)]
pub struct StopLine {
    pub grade: GradeId,
    pub name: String,
    /// What the buyer calls it, where that was told.
    pub word: Option<String>,
    /// By number.
    pub bins: Vec<LoadedBin>,
    pub mass: Mass,
    /// The one that holds for so much, in the buyer's unit; the expected one where the plan was asked to stand on it.
    pub rate: Rate,
    pub quote: QuoteId,
    pub quote_day: Date,
    pub stale: bool,
    /// Per cent that the buyer takes off the weight.
    pub deduction: Option<Decimal>,
    /// Rounded once.
    pub value: Money,
    /// What today's quote will likely be paid as, where it is known and another.
    pub expected: Option<ExpectedPrice>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct LoadedBin {
    pub bin: BinId,
    pub number: u32,
    pub name: Option<String>,
    pub mass: Mass,
    /// With the vessel, as far as its weight is known.
    pub gross: Mass,
    pub weighed: bool,
}

pub(super) fn drive(gathered: &Gathered, plan: &Plan) -> Drive {
    let problem = &gathered.problem;
    let stop = |place: &usize| {
        let lines: Vec<&Line> = plan.lines.iter().filter(|line| line.place == *place).collect();
        let nothing = Money { amount: Decimal::ZERO, ..plan.value };
        Stop {
            buyer: gathered.buyers[*place],
            name: name(gathered.books, gathered.buyers[*place]),
            minutes_there: problem.places[*place].minutes_there,
            value: lines.iter().fold(nothing, |sum, line| Money { amount: sum.amount + line.value.amount, ..sum }),
            lines: lines.into_iter().map(|line| stop_line(gathered, line)).collect(),
        }
    };
    let aboard = || problem.items.iter().zip(&plan.loading).filter(|(_, place)| place.is_some()).map(|(item, _)| item);
    Drive {
        stops: plan.stops.iter().map(stop).collect(),
        mass: plan.mass,
        gross: aboard().map(|item| item.gross).sum(),
        litres: aboard().filter_map(|item| item.litres).fold(0, u32::saturating_add),
        value: plan.value,
        km: plan.km,
        minutes: plan.minutes,
        driving: plan.driving,
        hours: plan.hours,
        net: plan.net,
    }
}

fn stop_line(gathered: &Gathered, line: &Line) -> StopLine {
    let (problem, key) = (&gathered.problem, (line.grade, line.place));
    let (quote, given) = gathered.quotes[&key];
    let bin = |at: &usize| LoadedBin {
        bin: problem.items[*at].bin,
        number: gathered.bins[*at].number,
        name: gathered.bins[*at].name.clone(),
        mass: problem.items[*at].mass,
        gross: problem.items[*at].gross,
        weighed: gathered.bins[*at].weighed,
    };
    StopLine {
        grade: line.grade,
        name: grade_name(gathered.books, line.grade),
        word: word(gathered.books, gathered.buyers[line.place], line.grade),
        bins: line.items.iter().map(bin).collect(),
        mass: line.mass,
        rate: line.rate,
        quote,
        quote_day: given.day,
        stale: Terms::from(given).is_stale(gathered.day, gathered.stale_after),
        deduction: given.deduction,
        value: line.value,
        expected: gathered.expected.get(&key).copied().filter(|price| price.expected != price.quoted),
    }
}

/// The first by its letters, where several were told.
fn word(books: &Books, buyer: BuyerId, grade: GradeId) -> Option<String> {
    let theirs = books.words.range((buyer, String::new())..).take_while(|((of, _), _)| *of == buyer);
    theirs.map(|(_, word)| word).find(|word| word.grade == grade).map(|word| word.text.clone())
}

/// From stop to stop where no road was told.
pub(super) fn untold_roads(books: &Books, drive: &Drive) -> Vec<Missing> {
    let untold = |pair: &&[Stop]| books.road(pair[0].buyer, pair[1].buyer).is_none();
    let pairs = drive.stops.windows(2).filter(untold);
    pairs.map(|pair| Missing::Road { one: pair[0].name.clone(), other: pair[1].name.clone() }).collect()
}
