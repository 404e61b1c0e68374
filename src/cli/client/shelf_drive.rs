//! Where the answers about the drive come from: the daemon, or the roll itself.

use super::shelf::{Shelf, today, told, usual_currency};
use crate::config::STALE_AFTER;
use crate::query::{self, Picked, SheetQuestion, WhenQuestion};
use crate::render::json::{LoadSheetView, RunView, WhenView};
use crate::render::load_words;
use anyhow::anyhow;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use rust_decimal::Decimal;

/// What is asked of the load sheet on the command line.
pub struct SheetAsked {
    pub stops: String,
    pub day: Option<Date>,
}

impl Shelf {
    /// When to go.
    pub fn when(&self, trip: Option<Decimal>, days: u32) -> anyhow::Result<WhenView> {
        let books = match self {
            Shelf::Daemon(daemon) => {
                let trip = trip.map(|trip| format!("&trip={trip}")).unwrap_or_default();
                return told(daemon.get(&format!("/v1/reports/when-to-go.json?days={days}{trip}")));
            }
            Shelf::Folded(books) => books,
        };
        let zone = TimeZone::system();
        let question = WhenQuestion { day: today(), zone, stale_after: STALE_AFTER, currency: usual_currency(), trip, days };
        Ok(WhenView::from(&query::when(books, &question)))
    }

    /// Every drive with bins.
    pub fn runs(&self) -> anyhow::Result<Vec<RunView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/runs")),
            Shelf::Folded(books) => Ok(query::runs(books).iter().map(RunView::from).collect()),
        }
    }

    /// What goes on board.
    pub fn load_sheet(&self, asked: &SheetAsked) -> anyhow::Result<LoadSheetView> {
        let picked = Picked::parse(&asked.stops).map_err(|bad| anyhow!(load_words::bad_pick(&bad)))?;
        let books = match self {
            Shelf::Daemon(daemon) => {
                let stops = utf8_percent_encode(&picked.written(), NON_ALPHANUMERIC).to_string();
                let day = asked.day.map(|day| format!("&day={day}")).unwrap_or_default();
                return told(daemon.get(&format!("/v1/reports/load-sheet.json?stops={stops}{day}")));
            }
            Shelf::Folded(books) => books,
        };
        let question = SheetQuestion {
            day: asked.day.unwrap_or_else(today),
            stale_after: STALE_AFTER,
            currency: usual_currency(),
            stops: picked.found(books).map_err(|bad| anyhow!(load_words::bad_pick(&bad)))?,
        };
        Ok(LoadSheetView::from(&query::load_sheet(books, &question)))
    }
}
