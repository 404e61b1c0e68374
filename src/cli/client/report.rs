//! `bismar report`.

use super::at::At;
use super::names::Strength;
use super::shelf::ShelfArgs;
use super::shelf_drive::SheetAsked;
use super::shelf_places::{GoesInWith, KerbAsked, PlacesAsked, WireAsked};
use super::show;
use super::typed;
use crate::measure::PriceUnit;
use crate::query::{MOST_DAYS, SHOWN_DAYS};
use crate::render::json::{BuyersView, HourView, PlacesView, WeekView, WhenView, WireReportView, YearView};
use crate::render::page::{self, Frame, HistoryAsked, WireBeside};
use crate::render::{
    csv, csv_places, csv_prices, load_forms, places_forms, tables_year, text, text_hour, text_places, text_prices, text_week,
    when_forms, wire_forms,
};
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Serialize;

/// Reports.
#[derive(Args)]
pub struct Report {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// What lies in which bin before the drive, and what each buyer pays for it.
    YardRun {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// As of the end of this day, as in 2026-03-01, with every correction made since.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Each buyer's scale against ours, their downgrades, and what they pay against their quotes.
    Buyers {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// A year: income by the ticket's day and by the day it was paid, spending, trips, stock, and where each lot came from.
    Year {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// As in 2026; without it, the running one.
        #[arg(long, value_parser = clap::value_parser!(i16).range(1900..=9000))]
        year: Option<i16>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// What came into each bin on each of the last seven days.
    Week {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// The last of the seven days, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Every price that a buyer has given for a grade, day by day.
    Prices {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// The quotes that hold from this day or an earlier one, as in 2026-03-01.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        /// Of this grade alone.
        #[arg(long, value_name = "NAME")]
        grade: Option<String>,
        /// Of this buyer alone.
        #[arg(long, value_name = "NAME")]
        buyer: Option<String>,
        /// Every price by weight in this unit, as in kg; without it, each series in that of its last quote.
        #[arg(long, value_name = "UNIT", value_parser = typed::price_unit)]
        unit: Option<PriceUnit>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// What to take at the kerb, by what an hour of it brings and what you marked. As html it is one file for a phone.
    Kerb {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// As of the end of this day, as in 2026-03-01, with every correction made since.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        /// The prices of this buyer alone; without it, the best quote for each grade.
        #[arg(long, value_name = "NAME")]
        buyer: Option<String>,
        /// What an hour must bring; without it, what you told.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        floor: Option<Decimal>,
        /// The most strain that today allows.
        #[arg(long, value_enum)]
        strain: Option<Strength>,
        /// The most mess that today allows.
        #[arg(long, value_enum)]
        mess: Option<Strength>,
        /// The most room that today allows.
        #[arg(long, value_enum)]
        space: Option<Strength>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// When to go: what the trip costs of the load by day, when each bin fills, and from when on waiting costs more.
    WhenToGo {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// What a trip costs, all told; without it, what the last run did.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        trip: Option<Decimal>,
        /// Days to show.
        #[arg(long, default_value_t = SHOWN_DAYS, value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_DAYS)))]
        days: u32,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// What goes on board: bins in loading order, what to ask for at each stop, and what to mind. As html it is one sheet.
    LoadSheet {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// Buyers in the order of driving, each with its bins, as in "Quayside: 3 4; Northgate: 5".
        #[arg(value_name = "STOPS")]
        stops: String,
        /// Of the drive, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Which grades earn a bin of their own, and which go in with a coarser one.
    Places {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// As of the end of this day, as in 2026-03-01, with every correction made since.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        /// The prices of this buyer alone.
        #[arg(long, value_name = "NAME")]
        buyer: Option<String>,
        /// What an hour must bring; without it, what you told.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        floor: Option<Decimal>,
        /// Places of the bench; without it, what you told.
        #[arg(long, value_name = "COUNT")]
        places: Option<u32>,
        /// What can go in with what, as in "red brass>mixed brass"; may be said again. Of any other grade it is what you told
        /// with "grade note".
        #[arg(long, value_name = "FINE>COARSE", value_parser = GoesInWith::parse)]
        coarser: Vec<GoesInWith>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Whether stripping wire pays: what of it is metal by weighed samples, and what that gains a kilogram and an hour.
    Wire {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// Samples and quotes up to this day, as in 2026-03-01.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        /// The prices of this buyer alone.
        #[arg(long, value_name = "NAME")]
        buyer: Option<String>,
        /// What an hour must bring; without it, what you told.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        floor: Option<Decimal>,
        /// What it costs to be rid of a kilogram of insulation.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        disposal: Option<Decimal>,
        /// Wire that nobody buys I would have left.
        #[arg(long)]
        left: bool,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    Plan(super::plan::Plan),
    /// What taking apart adds an hour, by feed: what came out of the lots that are worked off, and what it is worth.
    Hour {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        /// As of the end of this day, as in 2026-03-01, with every correction made since.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        as_of: Option<Date>,
        /// The prices of this buyer alone; without it, the best quote for each grade.
        #[arg(long, value_name = "NAME")]
        buyer: Option<String>,
        /// What nobody buys whole I would have left.
        #[arg(long)]
        left: bool,
        /// What an hour must bring, for the break-even; without it, what you told, else nothing.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        floor: Option<Decimal>,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
}

/// The form of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Form {
    /// A table to read.
    #[default]
    Text,
    /// As the daemon gives it.
    Json,
    /// For a spreadsheet.
    Csv,
    /// A page.
    Html,
}

/// A page that holds no form, so it needs neither token nor key.
pub(super) fn frame(title: &str) -> Frame<'_> {
    Frame { title, token: "", key: "", said: None, live: false }
}

impl Form {
    /// Prints one report in this form.
    pub(super) fn print<V: Serialize>(
        self,
        view: &V,
        words: impl FnOnce(&V) -> String,
        rows: impl FnOnce(&V) -> String,
        page: impl FnOnce(&V) -> anyhow::Result<String>,
    ) -> anyhow::Result<()> {
        match self {
            Form::Text => show::print(&words(view))?,
            Form::Json => show::json(view)?,
            Form::Csv => show::print(&rows(view))?,
            Form::Html => show::print(&page(view)?)?,
        }
        Ok(())
    }
}

impl Report {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        match self.act {
            Act::YardRun { form, as_of, shelf } => {
                let shelf = shelf.open(at)?;
                form.print(&shelf.yard_run(as_of)?, text::yard_run, csv::yard_run, |view| {
                    Ok(page::yard_run(&frame("Before the trip"), view, &shelf.week(as_of)?))
                })
            }
            Act::Buyers { form, shelf } => {
                let words = |view: &BuyersView| {
                    tables_year::to_text(page::BUYERS, &tables_year::buyers_say(view), &tables_year::buyers(view))
                };
                let rows = |view: &BuyersView| tables_year::to_csv(&tables_year::buyers(view));
                form.print(&shelf.open(at)?.buyers()?, words, rows, |view| Ok(page::buyers(&frame(page::BUYERS), view)))
            }
            Act::Year { form, year, shelf } => {
                let title = |view: &YearView| format!("{} {}", page::YEAR, view.year);
                let words = |view: &YearView| tables_year::to_text(&title(view), &[], &tables_year::year(view));
                let rows = |view: &YearView| tables_year::to_csv(&tables_year::year(view));
                form.print(&shelf.open(at)?.year(year)?, words, rows, |view| Ok(page::year(&frame(page::YEAR), view)))
            }
            Act::Week { form, as_of, shelf } => {
                let page = |view: &WeekView| Ok(page::week(&frame(page::WEEK), view));
                form.print(&shelf.open(at)?.week(as_of)?, text_week::week, csv::week, page)
            }
            Act::Prices { form, as_of, grade, buyer, unit, shelf } => {
                let history = shelf.open(at)?.price_history(as_of, grade.as_deref(), buyer.as_deref(), unit)?;
                form.print(&history, text_prices::history, csv_prices::history, |view| {
                    let asked = HistoryAsked { as_of: None, grade: None, buyer: None, unit: None, grades: &[], buyers: &[] };
                    Ok(page::price_history(&frame(page::PRICE_HISTORY), view, &asked))
                })
            }
            Act::Kerb { form, as_of, buyer, floor, strain, mess, space, shelf } => {
                let [strain, mess, space] = [strain, mess, space].map(|most| most.map(Strength::code));
                let list = shelf.open(at)?.kerb(&KerbAsked { as_of, buyer, floor, strain, mess, space })?;
                form.print(&list, text_places::kerb, csv_places::kerb, |view| Ok(page::kerb_file(view)))
            }
            Act::Places { form, as_of, buyer, floor, places, coarser, shelf } => {
                let report = shelf.open(at)?.places(&PlacesAsked { as_of, buyer, floor, places, coarser })?;
                let page = |view: &PlacesView| Ok(page::places(&frame(page::PLACES), view, "", ""));
                form.print(&report, places_forms::terminal, places_forms::csv, page)
            }
            Act::WhenToGo { form, trip, days, shelf } => {
                let page = |view: &WhenView| Ok(page::when(&frame(page::WHEN), view, ""));
                form.print(&shelf.open(at)?.when(trip, days)?, when_forms::terminal, when_forms::csv, page)
            }
            Act::LoadSheet { form, stops, day, shelf } => {
                let sheet = shelf.open(at)?.load_sheet(&SheetAsked { stops, day })?;
                form.print(&sheet, load_forms::terminal, load_forms::csv, |view| Ok(page::load_sheet(view)))
            }
            Act::Wire { form, as_of, buyer, floor, disposal, left, shelf } => {
                let report = shelf.open(at)?.wire(&WireAsked { as_of, buyer, floor, disposal, left })?;
                let beside = WireBeside { feeds: &[], grades: &[] };
                let page = |view: &WireReportView| Ok(page::wire(&frame(page::WIRE), view, &beside, ""));
                form.print(&report, wire_forms::terminal, wire_forms::csv, page)
            }
            Act::Plan(plan) => plan.run(at),
            Act::Hour { form, as_of, buyer, left, floor, shelf } => {
                let report = shelf.open(at)?.hour(as_of, buyer.as_deref(), left, floor)?;
                form.print(&report, text_hour::hour, csv::hour, |view: &HourView| Ok(page::hour(&frame(page::HOUR), view, "")))
            }
        }
    }
}
