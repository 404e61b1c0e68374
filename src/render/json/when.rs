//! When to go, as JSON.

use super::MassView;
use super::hour::plain;
use crate::economy::number::mass_of_kilograms;
use crate::haul::when::Ends;
use crate::query::{BinFill, Deadline, Due, GoBy, GradeFill, LoadDay, TripCost, TripFrom, WhenReport};
use crate::render::when_words;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WhenView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    pub currency: String,
    /// Null where nobody knows.
    pub trip: Option<TripCostView>,
    /// The last trip, or the first day on which anything that lies there came in.
    pub since: Option<String>,
    /// `days`, `no-trip`, `too-few-weeks` or `no-full-bin`.
    pub go: String,
    /// From which waiting costs more than it brings; null within where not within a year.
    pub go_by: Option<EndsView>,
    /// The same in words.
    pub says: String,
    /// Grades that are held for a price and go anyway from a day or a weight on.
    pub deadlines: Vec<DeadlineView>,
    pub grades: Vec<GradeFillView>,
    /// From today on.
    pub by_day: Vec<LoadDayView>,
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TripCostView {
    pub amount: String,
    /// Of it, the owner's time at what an hour must bring.
    pub time: String,
    /// `asked`, `yard` or `run`.
    pub from: String,
    /// The buyer to whom it goes, where it is reckoned.
    pub buyer: Option<String>,
    /// The day of the run that it was.
    pub run: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DeadlineView {
    pub grade: String,
    /// From which on it goes; null where a weight was told.
    pub day: Option<String>,
    /// All that its bins must hold together; null where a day was told.
    pub holding: Option<MassView>,
    /// The day on which they will; null within where not within a year, or with too few weeks to tell.
    pub holding_on: Option<EndsView>,
}

/// For a slow fill, the middle and a fast one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct EndsView {
    pub slow: Option<String>,
    pub middle: Option<String>,
    pub fast: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct GradeFillView {
    pub grade: String,
    pub content: MassView,
    /// Whole weeks that were recorded.
    pub weeks: usize,
    /// What comes in a week; null under four weeks.
    pub week: Option<MassView>,
    /// The standard deviation of the weeks.
    pub week_spread: Option<MassView>,
    pub buyer: Option<String>,
    pub price_per_kg: Option<String>,
    pub stale: bool,
    /// What finds no room goes in there.
    pub coarser: Option<String>,
    pub coarser_price_per_kg: Option<String>,
    /// What a kilogram loses that finds no room.
    pub loses_per_kg: Option<String>,
    pub full_bin: Option<MassView>,
    /// By taps; else what was said that the bin takes.
    pub full_learned: bool,
    pub bins: Vec<BinFillView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BinFillView {
    pub number: u32,
    pub content: MassView,
    /// Somebody tapped that it is full.
    pub tapped: bool,
    /// The day on which it is full.
    pub full_on: EndsView,
}

/// The load as it would be on a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LoadDayView {
    pub day: String,
    pub value: EndsView,
    /// What the trip costs of it, in per cent; the slow fill has the largest.
    pub trip_percent: Option<EndsView>,
}

fn ends<T>(ends: Ends<T>, written: impl Fn(T) -> Option<String>) -> EndsView {
    EndsView { slow: written(ends.slow), middle: written(ends.middle), fast: written(ends.fast) }
}

impl From<&WhenReport> for WhenView {
    fn from(report: &WhenReport) -> WhenView {
        WhenView {
            seq: report.seq,
            day: report.day.to_string(),
            currency: report.currency.to_string(),
            trip: report.trip.as_ref().map(trip),
            since: report.since.map(|day| day.to_string()),
            go: when_words::code(&report.go).to_owned(),
            go_by: match report.go {
                GoBy::Days(days) => Some(ends(days, |day| day.map(|day| day.to_string()))),
                _ => None,
            },
            says: when_words::says(report),
            deadlines: report.deadlines.iter().map(deadline).collect(),
            grades: report.grades.iter().map(grade).collect(),
            by_day: report.by_day.iter().map(day).collect(),
            notes: when_words::notes(report),
        }
    }
}

fn deadline(deadline: &Deadline) -> DeadlineView {
    let (day, holding, holding_on) = match deadline.due {
        Due::On(day) => (Some(day.to_string()), None, None),
        Due::Holding { mass, on } => (None, Some(mass.into()), Some(ends(on, |day| day.map(|day| day.to_string())))),
    };
    DeadlineView { grade: deadline.grade.clone(), day, holding, holding_on }
}

fn trip(trip: &TripCost) -> TripCostView {
    let (from, buyer, run) = match &trip.from {
        TripFrom::Asked => ("asked", None, None),
        TripFrom::Yard(buyer) => ("yard", Some(buyer.clone()), None),
        TripFrom::Run(day) => ("run", None, Some(day.to_string())),
    };
    TripCostView { amount: plain(trip.amount), time: plain(trip.time), from: from.to_owned(), buyer, run }
}

fn grade(grade: &GradeFill) -> GradeFillView {
    let mass = |kilograms| mass_of_kilograms(kilograms).map(MassView::from);
    GradeFillView {
        grade: grade.name.clone(),
        content: grade.content().into(),
        weeks: grade.weeks,
        week: grade.pace.and_then(|pace| mass(pace.mean)),
        week_spread: grade.pace.and_then(|pace| mass(pace.spread)),
        buyer: grade.buyer.clone(),
        price_per_kg: grade.price.map(plain),
        stale: grade.stale,
        coarser: grade.coarser.clone(),
        coarser_price_per_kg: grade.coarser_price.map(plain),
        loses_per_kg: grade.loses().map(plain),
        full_bin: grade.full_bin.map(MassView::from),
        full_learned: grade.full_learned,
        bins: grade.bins.iter().map(bin).collect(),
    }
}

fn bin(bin: &BinFill) -> BinFillView {
    BinFillView {
        number: bin.number,
        content: bin.content.into(),
        tapped: bin.tapped,
        full_on: ends(bin.full_on, |day| day.map(|day| day.to_string())),
    }
}

fn day(day: &LoadDay) -> LoadDayView {
    LoadDayView {
        day: day.day.to_string(),
        value: ends(day.value, |value| Some(value.to_string())),
        trip_percent: day.share.map(|share| ends(share, |share| Some(share.to_string()))),
    }
}
