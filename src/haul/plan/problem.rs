//! What a plan is made of.

use crate::economy::quotes::Terms;
pub use crate::facts::Pin;
use crate::facts::{BinId, GradeId};
use crate::measure::{Currency, Mass, Price};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// One bin as it would be loaded: whole, or not at all.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub bin: BinId,
    pub grade: GradeId,
    pub mass: Mass,
    /// What goes over the axle: the content and the vessel.
    pub gross: Mass,
    /// Room that it takes; none where nobody has said, and then it counts as nothing.
    pub litres: Option<u32>,
    pub pin: Option<Pin>,
}

/// The way to a place: kilometres and minutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reach {
    pub km: Decimal,
    pub minutes: u32,
}

/// A buyer as a place to drive to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// From home, one way.
    pub from_home: Reach,
    /// Spent there: unloading, the scale, the office.
    pub minutes_there: u32,
    /// Open on the day of the plan.
    pub open: bool,
}

/// What the vehicle takes and costs; what is none sets no limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Vehicle {
    pub payload: Option<Mass>,
    pub litres: Option<u32>,
    pub bins: Option<u32>,
    /// Of the currency of the plan: fuel and wear.
    pub per_km: Decimal,
}

/// All that decides. Buyers are known by their place in `places`.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    pub currency: Currency,
    pub items: Vec<Item>,
    pub places: Vec<Place>,
    /// From one buyer straight to another, either way; without it the road goes by way of home.
    pub between: BTreeMap<(usize, usize), Reach>,
    /// All in the one currency; what is paid by the piece is no offer here.
    pub offers: BTreeMap<(GradeId, usize), Terms>,
    /// Grades that go at this price or above, and not below.
    pub holds: BTreeMap<GradeId, Price>,
    pub vehicle: Vehicle,
    /// What an hour of the owner must bring.
    pub floor: Decimal,
}

/// For each bin the buyer it goes to; none stays at home.
pub type Loading = Vec<Option<usize>>;

impl Problem {
    /// Kilometres and minutes between two buyers, by way of home where nobody has told of a road.
    pub fn road(&self, one: usize, other: usize) -> Reach {
        let told = self.between.get(&(one, other)).or_else(|| self.between.get(&(other, one)));
        told.copied().unwrap_or_else(|| {
            let (one, other) = (self.places[one].from_home, self.places[other].from_home);
            Reach { km: one.km + other.km, minutes: one.minutes + other.minutes }
        })
    }

    /// What a way costs, unrounded.
    pub fn cost(&self, reach: Reach) -> Decimal {
        reach.km * self.vehicle.per_km + Decimal::from(reach.minutes) * self.floor / Decimal::from(60)
    }

    pub fn grades(&self) -> BTreeSet<GradeId> {
        self.items.iter().map(|item| item.grade).collect()
    }

    /// The places of a grade's bins among the items that may go.
    pub fn of_grade(&self, grade: GradeId) -> impl Iterator<Item = usize> + '_ {
        let goes = move |(_, item): &(usize, &Item)| item.grade == grade && item.pin != Some(Pin::Leave);
        self.items.iter().enumerate().filter(goes).map(|(at, _)| at)
    }
}
