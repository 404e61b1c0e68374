//! Orders about what a drive is planned from: yards, roads, the vehicle, grades that are held, bins that stay or must go.

use super::decide::{Decision, find_bin, find_name, positive, unchanged};
use super::{BinRef, Edit, NameRef, NamedKind, Refusal};
use crate::facts::{BinPinned, Books, Fact, Hold, HoldTold, OpenDays, Pin, RoadTold, Set, VehicleTold, Way, Yard, YardTold};
use crate::measure::{Distance, Mass, Running};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// A drive that is longer one way is a slip of the keyboard: kilometres, and minutes.
const KM_MAX: u32 = 2000;
const MINUTES_MAX: u32 = 24 * 60;

/// Single days that one buyer may be closed on.
const CLOSED_MAX: usize = 400;

/// A hundred cubic metres are a truck and its trailer.
pub(super) const LITRES_MAX: u32 = 100_000;

#[derive(Debug, Clone, PartialEq)]
pub enum TripOrder {
    /// Where a buyer is; what is none or keep is left as it is.
    TellYard {
        buyer: NameRef,
        distance: Option<Distance>,
        minutes: Option<u32>,
        minutes_there: Option<u32>,
        open: Set<OpenDays>,
        closed: Option<Vec<Date>>,
        edit: Edit,
    },
    /// What was told of it does not hold any more.
    ForgetYard {
        buyer: NameRef,
        edit: Edit,
    },
    /// A road from one buyer straight to another; none takes it back.
    TellRoad {
        one: NameRef,
        other: NameRef,
        way: Option<Way>,
    },
    TellVehicle {
        payload: Set<Mass>,
        litres: Set<u32>,
        bins: Set<u32>,
        running: Set<Running>,
        edit: Edit,
    },
    /// Holds a grade back; none takes it back.
    TellHold {
        grade: NameRef,
        hold: Option<Hold>,
        edit: Edit,
    },
    /// It stays, or must go; none takes it back.
    PinBin {
        bin: BinRef,
        pin: Option<Pin>,
    },
}

/// Why such an order is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TripRefusal {
    /// Of a yard all three must be told first.
    DistanceMissing,
    MinutesMissing,
    MinutesThereMissing,
    TooFar {
        most_km: u32,
    },
    TooLong {
        most_minutes: u32,
    },
    /// At least one day of the week.
    NeverOpen,
    TooManyClosed {
        most: usize,
    },
    /// A road leads from one buyer to another.
    SameBuyer,
    NothingTold,
    NoBins,
    LitresOutOfRange {
        most: u32,
    },
    HoldAtNothing,
}

impl From<TripRefusal> for Refusal {
    fn from(refusal: TripRefusal) -> Refusal {
        Refusal::Trips(refusal)
    }
}

pub(super) fn decide(books: &Books, order: &TripOrder) -> Result<Decision, Refusal> {
    let one = |fact: Fact| Ok::<_, Refusal>(Decision::Facts(vec![fact]));
    match order {
        TripOrder::TellYard { buyer, distance, minutes, minutes_there, open, closed, edit } => {
            let buyer = find_name(&books.buyers, NamedKind::Buyer, buyer)?;
            let (before, changed) = books.yards.get(&buyer).map_or((None, 0), |told| (told.told.as_ref(), told.changed));
            unchanged(*edit, changed)?;
            let mut open_days = before.and_then(|yard| yard.open);
            open.put(&mut open_days);
            let mut closed = closed.clone().unwrap_or_else(|| before.map(|yard| yard.closed.clone()).unwrap_or_default());
            closed.sort_unstable();
            closed.dedup();
            let known = before.map(|yard| yard.way);
            let way = Way {
                distance: distance.or(known.map(|way| way.distance)).ok_or(TripRefusal::DistanceMissing)?,
                minutes: minutes.or(known.map(|way| way.minutes)).ok_or(TripRefusal::MinutesMissing)?,
            };
            let there = minutes_there.or(before.map(|yard| yard.minutes_there)).ok_or(TripRefusal::MinutesThereMissing)?;
            let yard = Yard { way: drivable(way)?, minutes_there: bearable(there)?, open: open_days, closed };
            if yard.open.is_some_and(OpenDays::none) {
                return Err(TripRefusal::NeverOpen.into());
            }
            if yard.closed.len() > CLOSED_MAX {
                return Err(TripRefusal::TooManyClosed { most: CLOSED_MAX }.into());
            }
            if before == Some(&yard) {
                return Ok(Decision::Already(changed));
            }
            one(Fact::YardTold(Box::new(YardTold { buyer, yard: Some(yard) })))
        }
        TripOrder::ForgetYard { buyer, edit } => {
            let buyer = find_name(&books.buyers, NamedKind::Buyer, buyer)?;
            let known = books.yards.get(&buyer);
            unchanged(*edit, known.map_or(0, |told| told.changed))?;
            known.filter(|told| told.told.is_some()).ok_or(TripRefusal::NothingTold)?;
            one(Fact::YardTold(Box::new(YardTold { buyer, yard: None })))
        }
        TripOrder::TellRoad { one: from, other: to, way } => {
            let from = find_name(&books.buyers, NamedKind::Buyer, from)?;
            let to = find_name(&books.buyers, NamedKind::Buyer, to)?;
            if from == to {
                return Err(TripRefusal::SameBuyer.into());
            }
            let known = books.road(from, to);
            match way {
                None if known.is_none() => return Err(TripRefusal::NothingTold.into()),
                Some(way) if known == Some(*way) => return Ok(Decision::Already(books.seq)),
                _ => {}
            }
            one(Fact::RoadTold(RoadTold { one: from.min(to), other: from.max(to), way: way.map(drivable).transpose()? }))
        }
        TripOrder::TellVehicle { payload, litres, bins, running, edit } => {
            unchanged(*edit, books.vehicle.changed)?;
            if let Set::To(Some(payload)) = payload {
                positive(*payload)?;
            }
            if let Set::To(Some(litres)) = litres {
                room(*litres)?;
            }
            if *bins == Set::To(Some(0)) {
                return Err(TripRefusal::NoBins.into());
            }
            if payload.is_keep() && litres.is_keep() && bins.is_keep() && running.is_keep() {
                return Ok(Decision::Already(books.vehicle.changed));
            }
            let (payload, running) = (payload.clone(), running.clone());
            one(Fact::VehicleTold(VehicleTold { payload, litres: litres.clone(), bins: bins.clone(), running }))
        }
        TripOrder::TellHold { grade, hold, edit } => {
            let grade = find_name(&books.grades, NamedKind::Grade, grade)?;
            let (before, changed) = books.holds.get(&grade).map_or((None, 0), |told| (told.told, told.changed));
            unchanged(*edit, changed)?;
            if let Some(hold) = hold {
                if hold.at.amount <= Decimal::ZERO {
                    return Err(TripRefusal::HoldAtNothing.into());
                }
                hold.from.map_or(Ok(()), positive)?;
            }
            match (before, hold) {
                (None, None) => return Err(TripRefusal::NothingTold.into()),
                (before, hold) if before == *hold => return Ok(Decision::Already(changed)),
                _ => {}
            }
            one(Fact::HoldTold(HoldTold { grade, hold: *hold }))
        }
        TripOrder::PinBin { bin, pin } => {
            let (bin, state) = find_bin(books, *bin)?;
            if books.pin(state.fill) == *pin {
                return Ok(Decision::Already(books.seq));
            }
            one(Fact::BinPinned(BinPinned { bin, fill: state.fill, pin: *pin }))
        }
    }
}

fn drivable(way: Way) -> Result<Way, Refusal> {
    if way.distance.km() > Decimal::from(KM_MAX) {
        return Err(TripRefusal::TooFar { most_km: KM_MAX }.into());
    }
    bearable(way.minutes)?;
    Ok(way)
}

fn bearable(minutes: u32) -> Result<u32, Refusal> {
    if minutes > MINUTES_MAX { Err(TripRefusal::TooLong { most_minutes: MINUTES_MAX }.into()) } else { Ok(minutes) }
}

/// Room in litres that a vessel takes or a vehicle has.
pub(super) fn room(litres: u32) -> Result<(), Refusal> {
    let fits = (1..=LITRES_MAX).contains(&litres);
    if fits { Ok(()) } else { Err(TripRefusal::LitresOutOfRange { most: LITRES_MAX }.into()) }
}
