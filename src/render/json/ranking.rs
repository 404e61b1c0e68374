//! Which grades earn a place, as JSON.

use super::hour::plain;
use super::{MassView, MoneyView};
use crate::economy::place::PlaceVerdict;
use crate::query;
use crate::render::words_of_places;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlacesView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    pub currency: String,
    /// Null where nobody has said.
    pub floor_per_hour: Option<String>,
    /// Of the bench; null where nobody has said.
    pub places: Option<u32>,
    /// Of them, those that hold grades which others go in with.
    pub reserved: u32,
    /// In their order; the grades that others go in with come last.
    pub grades: Vec<PlaceLineView>,
    pub notes: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlaceLineView {
    pub grade: String,
    /// The grade that it can go in with.
    pub coarser: Option<String>,
    /// As the owner told it of the grade, since this report was asked with none for it.
    pub coarser_told: bool,
    pub bins: Vec<u32>,
    /// Places that it takes.
    pub places: u32,
    /// `keep-apart`, `when-a-place-is-free`, `goes-in`, `cannot-tell` or `coarse`.
    pub verdict: String,
    /// Among those that earn, from 1.
    pub rank: Option<u32>,
    /// In one line.
    pub reason: String,
    /// What would change it, each alone.
    pub turns: Vec<String>,
    /// What collects in a month; null with too little data.
    pub month: Option<MassView>,
    /// Over so many days.
    pub days: i64,
    pub collected: MassView,
    pub buyer: Option<String>,
    /// After minimum lots, quantity breaks and deductions.
    pub own_price_per_kg: Option<String>,
    pub coarser_price_per_kg: Option<String>,
    pub stale: bool,
    /// A month, after what sorting costs.
    pub gain_a_month: Option<MoneyView>,
    /// Null where nobody has said.
    pub sorting_minutes_a_month: Option<u64>,
    pub full_bin: Option<MassView>,
    /// By taps; else what was said that the bin takes.
    pub full_learned: bool,
    pub full_bin_value: Option<MoneyView>,
    pub days_to_fill: Option<DaysToFillView>,
    /// At the worst.
    pub wrong_piece_costs: Option<MoneyView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct DaysToFillView {
    pub median: u32,
    pub shortest: u32,
    pub longest: u32,
    pub taps: usize,
}

impl From<&query::PlacesReport> for PlacesView {
    fn from(report: &query::PlacesReport) -> PlacesView {
        let coarse = report.coarse.iter().map(|line| PlaceLineView {
            verdict: "coarse".into(),
            rank: None,
            reason: "finer grades go in with it, so it stands there anyway".into(),
            turns: Vec::new(),
            ..line_view(report, line)
        });
        PlacesView {
            seq: report.seq,
            day: report.day.to_string(),
            currency: report.currency.to_string(),
            floor_per_hour: report.floor.map(plain),
            places: report.places,
            reserved: report.reserved,
            grades: report.lines.iter().map(|line| line_view(report, line)).chain(coarse).collect(),
            notes: words_of_places::notes(report),
        }
    }
}

fn line_view(report: &query::PlacesReport, line: &query::PlaceLine) -> PlaceLineView {
    let judged = &line.judged;
    PlaceLineView {
        grade: line.name.clone(),
        coarser: line.coarser.clone(),
        coarser_told: line.coarser_told,
        bins: line.bins.clone(),
        places: line.places,
        verdict: words_of_places::code(&judged.verdict).to_owned(),
        rank: match judged.verdict {
            PlaceVerdict::Earns { rank } | PlaceVerdict::NoPlaceLeft { rank } => Some(rank),
            PlaceVerdict::GoesIn | PlaceVerdict::CannotTell(_) => None,
        },
        reason: words_of_places::reason(report, line),
        turns: words_of_places::turns(report, line),
        month: line.month.map(MassView::from),
        days: line.days,
        collected: line.collected.into(),
        buyer: line.buyer.clone(),
        own_price_per_kg: line.own.map(plain),
        coarser_price_per_kg: line.coarser_price.map(plain),
        stale: line.stale,
        gain_a_month: judged.gain.map(MoneyView::from),
        sorting_minutes_a_month: line.sorting.map(|span| span.as_seconds() / 60),
        full_bin: line.full_bin.map(MassView::from),
        full_learned: line.full_learned,
        full_bin_value: judged.full_bin_value.map(MoneyView::from),
        days_to_fill: judged.days_to_fill.map(|days| DaysToFillView {
            median: days.median,
            shortest: days.shortest,
            longest: days.longest,
            taps: days.taps,
        }),
        wrong_piece_costs: judged.wrong_piece.map(MoneyView::from),
    }
}
