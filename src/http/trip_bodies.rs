//! What requests about yards, roads, the vehicle, holds and pins carry.

use super::bodies::{MassBody, bad_price, day, name, positive, present};
use super::feed_bodies::MoneyBody;
use super::problem::Problem;
use super::site::Site;
use crate::command::{Edit, NameRef, TripOrder};
use crate::facts::{Hold, OpenDays, Pin, Set, WEEKDAYS, Way};
use crate::measure::{Currency, Distance, DistanceUnit, Notation, Rate, Running};
use crate::render::trip_words::pin_of;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Where a buyer is: a key that is absent is left alone. The first time distance and both times must be there.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct YardBody {
    /// From home, one way, as in `12.5 km` or `8 mi`.
    pub distance: Option<String>,
    /// One way.
    pub minutes: Option<u32>,
    /// Usually spent there: unloading, the scale, the office.
    pub minutes_there: Option<u32>,
    /// Of `mon`, `tue`, `wed`, `thu`, `fri`, `sat` and `sun`; null takes them back.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<Vec<String>>)]
    pub open: Option<Option<Vec<String>>>,
    /// Single days on which it is closed, as in `2026-12-24`: all of them.
    pub closed: Option<Vec<String>>,
}

impl YardBody {
    pub fn order(&self, buyer: &str, edit: Edit) -> Result<TripOrder, Problem> {
        let open = match &self.open {
            None => Set::Keep,
            Some(codes) => Set::To(codes.as_deref().map(open_days).transpose()?),
        };
        let closed = |texts: &Vec<String>| texts.iter().map(|text| day(text)).collect::<Result<Vec<Date>, Problem>>();
        Ok(TripOrder::TellYard {
            buyer: name(buyer),
            distance: self.distance.as_deref().map(distance).transpose()?,
            minutes: self.minutes,
            minutes_there: self.minutes_there,
            open,
            closed: self.closed.as_ref().map(closed).transpose().map_err(|problem| problem.at("closed"))?,
            edit,
        })
    }
}

fn open_days(codes: &[String]) -> Result<OpenDays, Problem> {
    OpenDays::of(codes.iter().map(String::as_str)).ok_or_else(|| {
        let detail = format!("{}: a day of the week is one of {}", codes.join(", "), WEEKDAYS.join(", "));
        Problem::bad_body(detail).at("open")
    })
}

pub fn distance(text: &str) -> Result<Distance, Problem> {
    Distance::parse(text)
        .ok_or_else(|| Problem::bad_body(format!("{text:?} is not a distance such as 12.5 km or 8 mi")).at("distance"))
}

/// A road from one buyer straight to another, the same either way.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoadBody {
    pub one: String,
    pub other: String,
    /// As in `12.5 km` or `8 mi`; null takes the road back.
    pub distance: Option<String>,
    #[serde(default)]
    pub minutes: Option<u32>,
}

impl RoadBody {
    pub fn order(&self) -> Result<TripOrder, Problem> {
        let way = match (&self.distance, self.minutes) {
            (None, None) => None,
            (Some(text), Some(minutes)) => Some(Way { distance: distance(text)?, minutes }),
            (Some(_), None) => return Err(Problem::bad_body("say how many minutes the road takes").at("minutes")),
            (None, Some(_)) => return Err(Problem::bad_body("say how long the road is, as in 12.5 km").at("distance")),
        };
        Ok(TripOrder::TellRoad { one: name(&self.one), other: name(&self.other), way })
    }
}

/// What the vehicle takes and costs: a key that is absent is left alone, null takes it back.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct VehicleBody {
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<MassBody>)]
    pub payload: Option<Option<MassBody>>,
    /// Room for bins.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<u32>)]
    pub litres: Option<Option<u32>>,
    /// How many bins there is a place for.
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<u32>)]
    pub bins: Option<Option<u32>>,
    #[serde(deserialize_with = "present")]
    #[schema(value_type = Option<RunningBody>)]
    pub running: Option<Option<RunningBody>>,
}

/// Fuel and wear.
#[derive(Debug, Clone, Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RunningBody {
    pub cost: MoneyBody,
    /// `km` or `mi`.
    pub per: String,
}

impl VehicleBody {
    pub fn order(&self, site: &Site, edit: Edit) -> Result<TripOrder, Problem> {
        let payload = self.payload.as_ref().map(|mass| mass.as_ref().map(positive).transpose());
        let running = self.running.as_ref().map(|running| running.as_ref().map(|told| told.running(site)).transpose());
        let payload = payload.transpose().map_err(|problem| problem.at("payload"))?;
        let running = running.transpose().map_err(|problem| problem.at("running"))?;
        Ok(TripOrder::TellVehicle {
            payload: payload.map_or(Set::Keep, Set::To),
            litres: self.litres.map_or(Set::Keep, Set::To),
            bins: self.bins.map_or(Set::Keep, Set::To),
            running: running.map_or(Set::Keep, Set::To),
            edit,
        })
    }
}

impl RunningBody {
    fn running(&self, site: &Site) -> Result<Running, Problem> {
        let per = DistanceUnit::parse(&self.per)
            .ok_or_else(|| Problem::bad_body(format!("{:?} is no unit of distance; there are km and mi", self.per)))?;
        Ok(Running { money: self.cost.money(site)?, per })
    }
}

/// Holds a grade back.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldBody {
    /// Sold at this price or above, as in `4.00/lb`; null takes the hold back.
    pub at: Option<String>,
    #[serde(default)]
    pub currency: Option<String>,
    /// From this day on it goes anyway, as in `2026-06-30`.
    #[serde(default)]
    pub by: Option<String>,
    /// From this much on in all bins it goes anyway.
    #[serde(default)]
    pub from: Option<MassBody>,
}

impl HoldBody {
    pub fn order(&self, site: &Site, grade: NameRef, edit: Edit) -> Result<TripOrder, Problem> {
        let usual = match &self.currency {
            None => site.currency,
            Some(code) => Currency::parse(code).ok_or_else(|| {
                Problem::bad_body(format!("{code:?} is not a currency of three capital letters, as in EUR")).at("currency")
            })?,
        };
        let hold = |text: &str| {
            let Rate::Weight(at) = Notation::parse(text).map_err(|fault| bad_price(fault).at("at"))?.rate(usual) else {
                return Err(Problem::bad_body("a hold is a price by weight, as in 4.00/lb").at("at"));
            };
            Ok(Hold {
                at,
                by: self.by.as_deref().map(day).transpose().map_err(|problem| problem.at("by"))?,
                from: self.from.as_ref().map(positive).transpose().map_err(|problem| problem.at("from"))?,
            })
        };
        Ok(TripOrder::TellHold { grade, hold: self.at.as_deref().map(hold).transpose()?, edit })
    }
}

/// What is decided about a bin.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PinBody {
    /// `stay`, `go`, or null for neither.
    pub pin: Option<String>,
}

impl PinBody {
    pub fn pin(&self) -> Result<Option<Pin>, Problem> {
        let known =
            |code: &str| pin_of(code).ok_or_else(|| Problem::bad_body(format!("{code:?} is neither stay nor go")).at("pin"));
        self.pin.as_deref().map(known).transpose()
    }
}
