//! What a drive is planned from, as JSON.

use super::{MassView, MoneyView};
use crate::facts::books::Told;
use crate::facts::{Books, BuyerId, Hold, Way};
use crate::measure::{Distance, Notation, Rate};
use crate::render::trip_words::pin_code;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// All that was told of yards, roads, the vehicle, holds and pins.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TripFactsView {
    /// The books stand at this event.
    pub seq: u64,
    pub vehicle: VehicleView,
    /// Of every buyer in use, by name.
    pub yards: Vec<YardView>,
    pub roads: Vec<RoadView>,
    /// Of every grade in use, by name.
    pub holds: Vec<HoldView>,
    /// Of every bin in use, by number.
    pub bins: Vec<PinView>,
}

/// What the vehicle takes and costs; null where nobody has said, and then it sets no limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct VehicleView {
    pub payload: Option<MassView>,
    pub litres: Option<u32>,
    pub bins: Option<u32>,
    pub running: Option<RunningView>,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

/// Fuel and wear.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RunningView {
    pub cost: MoneyView,
    /// `km` or `mi`.
    pub per: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct YardView {
    pub buyer: String,
    /// From home, one way; null while nobody has told where it is.
    pub way: Option<WayView>,
    pub minutes_there: Option<u32>,
    /// Of `mon`, `tue`, `wed`, `thu`, `fri`, `sat` and `sun`; null where nobody has said.
    pub open: Option<Vec<String>>,
    /// Single days on which it is closed.
    pub closed: Vec<String>,
    /// To be sent as `If-Match` with a change; 0 while nothing was told.
    pub version: u64,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WayView {
    pub distance: DistanceView,
    pub minutes: u32,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DistanceView {
    /// As it was told.
    pub amount: String,
    /// `km` or `mi`.
    pub unit: String,
    /// Exact.
    pub km: String,
}

impl From<Distance> for DistanceView {
    fn from(distance: Distance) -> DistanceView {
        let (amount, km) = (distance.amount.to_string(), distance.km().to_string());
        DistanceView { amount, unit: distance.unit.symbol().to_owned(), km }
    }
}

impl From<Way> for WayView {
    fn from(way: Way) -> WayView {
        WayView { distance: way.distance.into(), minutes: way.minutes }
    }
}

/// A road from one buyer straight to another, the same either way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RoadView {
    pub one: String,
    pub other: String,
    pub way: WayView,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct HoldView {
    pub grade: String,
    /// Sold at this price or above, as in `4.00/lb`; null where it is not held.
    pub at: Option<String>,
    pub currency: Option<String>,
    /// From this day on it goes anyway.
    pub by: Option<String>,
    /// From this much on it goes anyway.
    pub from: Option<MassView>,
    /// To be sent as `If-Match` with a change; 0 while nothing was told.
    pub version: u64,
}

impl HoldView {
    pub fn of(grade: String, told: Option<&Told<Hold>>) -> HoldView {
        let hold = told.and_then(|told| told.told);
        HoldView {
            grade,
            at: hold.map(|hold| Notation::of(&Rate::Weight(hold.at), hold.at.currency).to_string()),
            currency: hold.map(|hold| hold.at.currency.to_string()),
            by: hold.and_then(|hold| hold.by).map(|day| day.to_string()),
            from: hold.and_then(|hold| hold.from).map(MassView::from),
            version: told.map_or(0, |told| told.changed),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PinView {
    /// The bin's number.
    pub bin: u32,
    pub grade: Option<String>,
    pub mass: MassView,
    /// Room that it takes in the vehicle; null where nobody has said.
    pub litres: Option<u32>,
    /// `stay` or `go`; null where the plan is free.
    pub pin: Option<String>,
}

impl From<&Books> for TripFactsView {
    fn from(books: &Books) -> TripFactsView {
        let name = |buyer: &BuyerId| books.buyers.get(buyer).map(|buyer| buyer.name.clone()).unwrap_or_default();
        let in_use = |buyer: &BuyerId| books.buyers.get(buyer).is_some_and(|buyer| !buyer.retired);
        let mut yards: Vec<YardView> = books.buyers.keys().filter(|id| in_use(id)).map(|id| yard(books, *id, name(id))).collect();
        yards.sort_by(|a, b| a.buyer.cmp(&b.buyer));
        let told = books.roads.iter().filter(|((one, other), _)| in_use(one) && in_use(other));
        let mut roads: Vec<RoadView> =
            told.map(|((one, other), way)| RoadView { one: name(one), other: name(other), way: (*way).into() }).collect();
        roads.sort_by(|a, b| (&a.one, &a.other).cmp(&(&b.one, &b.other)));
        let grades = books.grades.iter().filter(|(_, grade)| !grade.retired);
        let mut holds: Vec<HoldView> = grades.map(|(id, grade)| HoldView::of(grade.name.clone(), books.holds.get(id))).collect();
        holds.sort_by(|a, b| a.grade.cmp(&b.grade));
        let standing = books.bins.values().filter(|bin| !bin.retired);
        let mut bins: Vec<PinView> = standing
            .filter_map(|bin| {
                let fill = books.fills.get(&bin.fill)?;
                Some(PinView {
                    bin: bin.number,
                    grade: fill.grade.and_then(|grade| books.grades.get(&grade)).map(|grade| grade.name.clone()),
                    mass: fill.mass.into(),
                    litres: bin.litres,
                    pin: books.pin(bin.fill).map(|pin| pin_code(pin).to_owned()),
                })
            })
            .collect();
        bins.sort_by_key(|bin| bin.bin);
        TripFactsView { seq: books.seq, vehicle: books.into(), yards, roads, holds, bins }
    }
}

impl From<&Books> for VehicleView {
    fn from(books: &Books) -> VehicleView {
        let vehicle = books.vehicle;
        VehicleView {
            payload: vehicle.payload.map(MassView::from),
            litres: vehicle.litres,
            bins: vehicle.bins,
            running: vehicle
                .running
                .map(|running| RunningView { cost: running.money.into(), per: running.per.symbol().to_owned() }),
            version: vehicle.changed,
        }
    }
}

fn yard(books: &Books, buyer: BuyerId, name: String) -> YardView {
    let (yard, version) = books.yards.get(&buyer).map_or((None, 0), |told| (told.told.as_ref(), told.changed));
    YardView {
        buyer: name,
        way: yard.map(|yard| yard.way.into()),
        minutes_there: yard.map(|yard| yard.minutes_there),
        open: yard.and_then(|yard| yard.open).map(|open| open.codes().map(str::to_owned).collect()),
        closed: yard.map(|yard| yard.closed.iter().map(ToString::to_string).collect()).unwrap_or_default(),
        version,
    }
}
