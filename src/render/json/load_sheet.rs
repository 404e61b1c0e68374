//! The load sheet, as JSON.

use super::{MassView, MoneyView};
use crate::economy::quotes::{Total, Worth};
use crate::measure::{Mass, Unit};
use crate::query::{LoadSheet, SheetBin, SheetLine};
use crate::render::figures::{in_unit, kilograms};
use crate::render::load_words::{OWN_RECORD, PAPERS, cautions};
use crate::render::words::Caution;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LoadSheetView {
    /// The books stand at this event.
    pub seq: u64,
    /// Of the drive.
    pub day: String,
    /// In the order of driving.
    pub stops: Vec<SheetStopView>,
    /// Bins in the order in which they go into the bed: the last stop first.
    pub loading: Vec<BoardingView>,
    pub total: MassView,
    /// Bins and all; null where the weight of an empty bin is not known.
    pub gross: Option<MassView>,
    /// For what is on board, found by words in names.
    pub cautions: Vec<CautionView>,
    /// What sellers are usually asked for.
    pub papers: Vec<String>,
    pub own_record: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SheetStopView {
    /// From 1.
    pub stop: usize,
    pub buyer: String,
    pub lines: Vec<SheetLineView>,
    /// Of the lines with a value, in one currency.
    pub value: Option<MoneyView>,
    /// What the value leaves out.
    pub without_kg: Option<String>,
}

/// All of one grade that goes to one buyer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SheetLineView {
    pub grade: Option<String>,
    /// What this buyer calls it.
    pub buyers_words: Vec<String>,
    pub bins: Vec<SheetBinView>,
    pub mass: MassView,
    /// In the unit in which the buyer weighs, as in `26.4 lb`.
    pub in_buyers_unit: String,
    /// To ask for, as in `4.00 USD/lb`; null without a quote.
    pub price: Option<String>,
    pub quote_day: Option<String>,
    pub stale: bool,
    /// At that price; null below a minimum, or where nobody counted what is paid by the piece.
    pub value: Option<MoneyView>,
    /// Why there is none.
    pub no_value: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SheetBinView {
    pub number: u32,
    pub name: Option<String>,
    pub mass: MassView,
    pub in_buyers_unit: String,
    /// With its container; null where nobody knows what that weighs.
    pub gross: Option<MassView>,
    pub gross_in_buyers_unit: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct BoardingView {
    pub number: u32,
    pub stop: usize,
    pub gross: Option<MassView>,
    pub gross_in_buyers_unit: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CautionView {
    pub text: String,
    pub source: String,
}

impl From<&Caution> for CautionView {
    fn from(caution: &Caution) -> CautionView {
        CautionView { text: caution.text.to_owned(), source: caution.source.to_owned() }
    }
}

impl From<&LoadSheet> for LoadSheetView {
    fn from(sheet: &LoadSheet) -> LoadSheetView {
        let lines = || sheet.stops.iter().flat_map(|stop| &stop.lines);
        let of_bins = lines().flat_map(|line| line.bins.iter().filter_map(|bin| bin.name.as_deref()));
        let of_grades = lines().flat_map(|line| line.grade.iter().chain(&line.words).map(String::as_str));
        LoadSheetView {
            seq: sheet.seq,
            day: sheet.day.to_string(),
            stops: (1..)
                .zip(&sheet.stops)
                .map(|(number, stop)| SheetStopView {
                    stop: number,
                    buyer: stop.buyer.clone(),
                    lines: stop.lines.iter().map(line_view).collect(),
                    value: stop.total.as_ref().map(|total| total.value.into()),
                    without_kg: stop.total.as_ref().filter(|total| total.left_out_rows > 0).map(left_out),
                })
                .collect(),
            loading: sheet
                .loading
                .iter()
                .map(|boarding| BoardingView {
                    number: boarding.number,
                    stop: boarding.stop,
                    gross: boarding.gross.map(MassView::from),
                    gross_in_buyers_unit: boarding.gross.map(|gross| in_unit(gross, boarding.unit)),
                })
                .collect(),
            total: sheet.mass.into(),
            gross: sheet.gross.map(MassView::from),
            cautions: cautions(of_bins.chain(of_grades)).into_iter().map(CautionView::from).collect(),
            papers: PAPERS.map(str::to_owned).to_vec(),
            own_record: OWN_RECORD.to_owned(),
        }
    }
}

fn left_out(total: &Total) -> String {
    kilograms(total.left_out)
}

fn line_view(line: &SheetLine) -> SheetLineView {
    let offer = line.offer.as_ref();
    let no_value = match offer.map(|offer| offer.worth) {
        None => Some("no quote".to_owned()),
        Some(Worth::Money(_)) => None,
        Some(Worth::BelowMinimum { minimum }) => Some(format!("takes no less than {}", in_unit(minimum, line.unit))),
        Some(Worth::NotCounted) => Some("paid by the piece: count it".to_owned()),
        Some(Worth::TooLarge) => Some("beyond what can be reckoned".to_owned()),
    };
    SheetLineView {
        grade: line.grade.clone(),
        buyers_words: line.words.clone(),
        bins: line.bins.iter().map(|bin| bin_view(bin, line.unit)).collect(),
        mass: line.mass.into(),
        in_buyers_unit: in_unit(line.mass, line.unit),
        price: offer.map(|offer| offer.rate.to_string()),
        quote_day: offer.map(|offer| offer.day.to_string()),
        stale: offer.is_some_and(|offer| offer.stale),
        value: offer.and_then(|offer| offer.worth.money()).map(MoneyView::from),
        no_value,
    }
}

fn bin_view(bin: &SheetBin, unit: Unit) -> SheetBinView {
    let shown = |mass: Mass| in_unit(mass, unit);
    SheetBinView {
        number: bin.number,
        name: bin.name.clone(),
        mass: bin.mass.into(),
        in_buyers_unit: shown(bin.mass),
        gross: bin.gross.map(MassView::from),
        gross_in_buyers_unit: bin.gross.map(shown),
    }
}
