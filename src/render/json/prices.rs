//! Prices as JSON: the grid of a day, what is told of grades and buyers, a table that was read, and the history.

use super::MassView;
use crate::command::price_table::{Table, TableFault, TableRow, written_breaks};
use crate::measure::{Currency, Notation, Written};
use crate::query;
use crate::render::price_words;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What one buyer pays on a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BuyerPricesView {
    pub id: u64,
    pub buyer: String,
    /// A line for each grade in use, by name; a grade with quotes in two currencies has two.
    pub lines: Vec<PriceLineView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PriceLineView {
    pub grade_id: u64,
    pub grade: String,
    /// The buyer's own words for it.
    pub words: Vec<String>,
    pub currency: String,
    /// Null where there is no quote.
    pub quote: Option<HeldView>,
}

/// The quote that is in force.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct HeldView {
    pub id: u64,
    pub amount: String,
    /// A unit of weight, or `piece`.
    pub per: String,
    /// It costs money to leave the thing there: the amount is negative.
    pub charge: bool,
    pub day: String,
    pub age_days: i64,
    pub stale: bool,
    pub stale_after_days: Option<u16>,
    /// As in `100kg=4.20; 500kg=4.50`.
    pub breaks: String,
    pub minimum: Option<MassView>,
    /// The minimum as it would be typed.
    pub minimum_text: String,
    pub deduction_percent: Option<String>,
}

impl From<&query::BuyerPrices> for BuyerPricesView {
    fn from(prices: &query::BuyerPrices) -> BuyerPricesView {
        let line = |line: &query::GridLine| PriceLineView {
            grade_id: line.grade.0,
            grade: line.name.clone(),
            words: line.words.clone(),
            currency: line.currency.to_string(),
            quote: line.held.as_ref().map(HeldView::from),
        };
        BuyerPricesView { id: prices.buyer.0, buyer: prices.name.clone(), lines: prices.lines.iter().map(line).collect() }
    }
}

impl From<&query::Held> for HeldView {
    fn from(held: &query::Held) -> HeldView {
        HeldView {
            id: held.quote.0,
            amount: held.rate.amount().to_string(),
            per: held.rate.per().symbol().to_owned(),
            charge: held.rate.is_charge(),
            day: held.day.to_string(),
            age_days: held.age_days,
            stale: held.stale,
            stale_after_days: held.stale_after,
            breaks: written_breaks(&held.breaks),
            minimum: held.minimum.map(MassView::from),
            minimum_text: held.minimum.map(Written::shortest).unwrap_or_default(),
            deduction_percent: held.deduction.map(|percent| percent.to_string()),
        }
    }
}

impl PriceLineView {
    /// The price as it would be typed; nothing where there is none.
    pub fn typed(&self) -> String {
        self.quote.as_ref().map(|held| format!("{}/{}", held.amount, held.per)).unwrap_or_default()
    }
}

/// What is told of a grade beside its name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct GradeNoteView {
    pub grade: String,
    pub retired: bool,
    /// The coarser grade that it can be folded into.
    pub fallback: Option<String>,
    /// The word of a published trade specification for it.
    pub specification: Option<String>,
    pub words: Vec<WordView>,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

/// A buyer's own word for a grade.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WordView {
    pub buyer: String,
    pub word: String,
}

impl From<&query::GradeLine> for GradeNoteView {
    fn from(line: &query::GradeLine) -> GradeNoteView {
        let word = |(buyer, word): &(String, String)| WordView { buyer: buyer.clone(), word: word.clone() };
        GradeNoteView {
            grade: line.name.clone(),
            retired: line.retired,
            fallback: line.fallback.clone(),
            specification: line.specification.clone(),
            words: line.words.iter().map(word).collect(),
            version: line.version,
        }
    }
}

/// What is told of a buyer beside the name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BuyerNoteView {
    pub id: u64,
    pub buyer: String,
    pub retired: bool,
    /// How a total is paid out in cash: `exact`, `nearest-five`, `down-five` or `nearest-ten`.
    pub payout: String,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

impl From<&query::BuyerLine> for BuyerNoteView {
    fn from(line: &query::BuyerLine) -> BuyerNoteView {
        BuyerNoteView {
            id: line.buyer.0,
            buyer: line.name.clone(),
            retired: line.retired,
            payout: line.payout.name().to_owned(),
            version: line.version,
        }
    }
}

/// A fault of a table, by line and column.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FaultView {
    /// Of the text, from 1.
    pub line: u64,
    /// Null where the line as a whole is wrong.
    pub column: Option<String>,
    pub what: String,
}

impl From<&TableFault> for FaultView {
    fn from(fault: &TableFault) -> FaultView {
        FaultView {
            line: fault.line,
            column: fault.column.map(|column| column.name().to_owned()),
            what: price_words::cell(fault),
        }
    }
}

/// A table of quotes as it was read, and what was or would be kept of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ImportView {
    /// Nothing was kept, it was only read.
    pub dry_run: bool,
    /// Lines that are new.
    pub kept: usize,
    /// Lines that stand in the books word for word already.
    pub already: usize,
    /// With any fault nothing is kept.
    pub faults: Vec<FaultView>,
    pub quotes: Vec<ImportRowView>,
    /// The books stand at least here, and it is on the disk.
    pub seq: u64,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ImportRowView {
    pub line: u64,
    pub buyer: String,
    pub grade: String,
    /// The buyer's own word by which the grade was named.
    pub word: Option<String>,
    pub price: String,
    pub currency: String,
    pub day: String,
    pub already: bool,
}

impl ImportView {
    pub fn of(table: &Table, dry_run: bool, seq: u64) -> ImportView {
        let already = table.rows.iter().filter(|row| row.already).count();
        ImportView {
            dry_run,
            kept: table.rows.len() - already,
            already,
            faults: table.faults.iter().map(FaultView::from).collect(),
            quotes: table.rows.iter().map(ImportRowView::from).collect(),
            seq,
        }
    }
}

impl From<&TableRow> for ImportRowView {
    fn from(row: &TableRow) -> ImportRowView {
        let (quoting, currency) = (&row.quoting, row.quoting.rate.currency());
        ImportRowView {
            line: row.line,
            buyer: quoting.buyer.0.clone(),
            grade: quoting.grade.0.clone(),
            word: row.word.clone(),
            price: Notation::of(&quoting.rate, currency).to_string(),
            currency: currency.to_string(),
            day: quoting.day.to_string(),
            already: row.already,
        }
    }
}

/// Every price that was given, by grade and buyer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PriceHistoryView {
    /// The books stand at this event.
    pub seq: u64,
    /// The last day that is in it.
    pub day: String,
    pub series: Vec<PriceSeriesView>,
    pub says: Vec<String>,
}

/// The prices of one buyer for one grade, in one currency and one unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PriceSeriesView {
    pub grade: String,
    pub buyer: String,
    pub currency: String,
    /// A unit of weight, or `piece`.
    pub per: String,
    pub points: Vec<PricePointView>,
    /// Given and replaced on the same day: they are not shown.
    pub replaced: usize,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PricePointView {
    pub quote: u64,
    pub day: String,
    /// The first day on which another price held; null for the one in force.
    pub until: Option<String>,
    /// The first day on which it was stale; null where another came before.
    pub stale_from: Option<String>,
    pub age_days: i64,
    /// In the unit of the series; null beyond what can be reckoned.
    pub amount: Option<String>,
    /// The amount is not rounded.
    pub exact: bool,
    /// As it was given.
    pub given: String,
    pub breaks: String,
    pub minimum: String,
    pub deduction_percent: Option<String>,
}

impl From<&query::PriceHistory> for PriceHistoryView {
    fn from(history: &query::PriceHistory) -> PriceHistoryView {
        PriceHistoryView {
            seq: history.seq,
            day: history.day.to_string(),
            series: history.series.iter().map(PriceSeriesView::from).collect(),
            says: price_words::history(history),
        }
    }
}

impl From<&query::PriceSeries> for PriceSeriesView {
    fn from(series: &query::PriceSeries) -> PriceSeriesView {
        PriceSeriesView {
            grade: series.grade.clone(),
            buyer: series.buyer.clone(),
            currency: series.currency.to_string(),
            per: series.per.symbol().to_owned(),
            points: series.points.iter().map(|point| point_view(point, series.currency)).collect(),
            replaced: series.replaced,
        }
    }
}

fn point_view(point: &query::PricePoint, currency: Currency) -> PricePointView {
    PricePointView {
        quote: point.quote.0,
        day: point.day.to_string(),
        until: point.until.map(|day| day.to_string()),
        stale_from: point.stale_from.map(|day| day.to_string()),
        age_days: point.age_days,
        amount: point.shown.map(|shown| shown.amount.to_string()),
        exact: point.shown.is_some_and(|shown| shown.exact),
        given: Notation::of(&point.rate, currency).to_string(),
        breaks: written_breaks(&point.breaks),
        minimum: point.minimum.map(Written::shortest).unwrap_or_default(),
        deduction_percent: point.deduction.map(|percent| percent.to_string()),
    }
}
