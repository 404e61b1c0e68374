//! The report before the yard run as JSON.

use super::{MassView, expanded};
use crate::query;
use crate::render::check_words;
use crate::render::figures::kilograms;
use crate::render::words;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct YardRunView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    pub buyers: Vec<ColumnView>,
    pub bins: Vec<RowView>,
    pub total: MassView,
    /// Of the readings alone, about 95 %.
    pub total_uncertainty_kg: String,
    pub own_error: OwnErrorView,
    pub totals: Vec<TotalView>,
    pub unassigned: UnassignedView,
    pub provisional_drops: usize,
    /// Numbers of the bins for which no buyer has a quote.
    pub without_quote: Vec<u32>,
    pub to_settle: Vec<String>,
    pub notes: Vec<String>,
}

/// What the scales' own errors add to the uncertainty of the total: common to all that one scale has shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OwnErrorView {
    /// About 95 %; null where no check weight bounds any of it.
    pub uncertainty_kg: Option<String>,
    /// The same with the readings.
    pub with_readings_kg: Option<String>,
    /// What was weighed where no check weight bounds the scale's own error.
    pub unbounded: MassView,
    pub text: String,
}

impl From<&query::YardRun> for OwnErrorView {
    fn from(report: &query::YardRun) -> OwnErrorView {
        let own = &report.own_error;
        let nothing_known = !own.unbounded.is_zero() && own.variance == crate::measure::Variance::ZERO;
        let shown = |variance| (!nothing_known).then(|| expanded(variance));
        OwnErrorView {
            uncertainty_kg: shown(own.variance),
            with_readings_kg: shown(own.whole),
            unbounded: own.unbounded.into(),
            text: check_words::own_error(report),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ColumnView {
    pub name: String,
    pub currency: String,
    /// How this buyer pays out in cash: `exact`, `nearest-five`, `down-five` or `nearest-ten`.
    pub payout: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RowView {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    pub mass: MassView,
    pub uncertainty_kg: String,
    pub drops: usize,
    /// As they were last counted; null where nobody counted.
    pub pieces: Option<u32>,
    /// What lay there when they were counted, where it is not what lies there now.
    pub pieces_at_kg: Option<String>,
    pub filled_percent: Option<u32>,
    pub days_since_emptied: Option<i64>,
    pub tare_learned: bool,
    /// One for each buyer, in their order; null where there is no quote.
    pub offers: Vec<Option<OfferView>>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct OfferView {
    /// Null where the load lies under the buyer's minimum, and where it is paid by the piece and nobody counted. Negative where
    /// it costs money to leave it.
    pub value: Option<String>,
    pub price: String,
    pub per: String,
    pub quote_day: String,
    pub quote_age_days: i64,
    pub stale: bool,
    pub minimum_kg: Option<String>,
    /// It is paid by the piece, and nobody counted.
    pub not_counted: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TotalView {
    pub value: String,
    /// The total as it is paid in cash, where the buyer rounds that; the lines are never rounded so.
    pub in_cash: Option<String>,
    pub bins: usize,
    pub left_out_kg: String,
    pub left_out_bins: usize,
    pub stale_bins: usize,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UnassignedView {
    pub mass: MassView,
    pub drops: usize,
}

impl From<&query::YardRun> for YardRunView {
    fn from(report: &query::YardRun) -> YardRunView {
        YardRunView {
            seq: report.seq,
            day: report.day.to_string(),
            buyers: report
                .columns
                .iter()
                .map(|column| ColumnView {
                    name: column.name.clone(),
                    currency: column.currency.to_string(),
                    payout: column.payout.name().to_owned(),
                })
                .collect(),
            bins: report.rows.iter().map(RowView::from).collect(),
            total: report.mass.into(),
            total_uncertainty_kg: expanded(report.variance),
            own_error: OwnErrorView::from(report),
            totals: report.totals.iter().zip(&report.cash).map(|(total, cash)| TotalView::of(total, cash.as_ref())).collect(),
            unassigned: UnassignedView { mass: report.unassigned.into(), drops: report.unassigned_drops },
            provisional_drops: report.provisional_drops,
            without_quote: report.rows.iter().filter(|row| !row.has_quote()).map(|row| row.number).collect(),
            to_settle: report.riddles.iter().map(words::riddle).collect(),
            notes: words::report_notes(),
        }
    }
}

impl From<&query::Row> for RowView {
    fn from(row: &query::Row) -> RowView {
        RowView {
            number: row.number,
            name: row.name.clone(),
            grade: row.grade.clone(),
            mass: row.mass.into(),
            uncertainty_kg: expanded(row.variance),
            drops: row.drops,
            pieces: row.counted.map(|count| count.pieces),
            pieces_at_kg: row.counted.filter(|count| count.mass != row.mass).map(|count| kilograms(count.mass)),
            filled_percent: row.filled,
            days_since_emptied: row.age_days,
            tare_learned: row.tare_learned,
            offers: row.offers.iter().map(|offer| offer.as_ref().map(OfferView::from)).collect(),
        }
    }
}

impl From<&query::Offer> for OfferView {
    fn from(offer: &query::Offer) -> OfferView {
        OfferView {
            value: offer.value.map(|value| value.amount.to_string()),
            price: offer.rate.amount().to_string(),
            per: offer.rate.per().symbol().to_owned(),
            quote_day: offer.day.to_string(),
            quote_age_days: offer.age_days,
            stale: offer.stale,
            minimum_kg: offer.minimum.map(kilograms),
            not_counted: offer.not_counted,
        }
    }
}

impl TotalView {
    fn of(total: &query::Total, cash: Option<&crate::measure::Money>) -> TotalView {
        TotalView {
            value: total.value.amount.to_string(),
            in_cash: cash.map(|cash| cash.amount.to_string()),
            bins: total.rows,
            left_out_kg: kilograms(total.left_out),
            left_out_bins: total.left_out_rows,
            stale_bins: total.stale_rows,
        }
    }
}
