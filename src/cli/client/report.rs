//! `bismar report`.

use super::at::At;
use super::names::Strength;
use super::shelf::ShelfArgs;
use super::shelf_places::{GoesInWith, KerbAsked, PlacesAsked, WireAsked};
use super::show;
use super::typed;
use crate::measure::PriceUnit;
use crate::render::json::{BuyersView, HourView, KerbView, PlacesView, PriceHistoryView, WeekView, WireReportView, YearView};
use crate::render::page::{self, Frame};
use crate::render::{
    csv, csv_places, csv_prices, places_forms, tables_year, text, text_hour, text_places, text_prices, text_week, wire_forms,
};
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::Date;
use rust_decimal::Decimal;

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
        /// What can go in with what, as in "red brass>mixed brass"; may be said again.
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
        /// What an hour must bring, for the break-even.
        #[arg(long, value_name = "AMOUNT", default_value = "0", value_parser = typed::amount)]
        floor: Decimal,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
}

/// The form of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Form {
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

impl Report {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let (form, as_of, shelf) = match self.act {
            Act::YardRun { form, as_of, shelf } => (form, as_of, shelf),
            Act::Buyers { form, shelf } => return buyers(&shelf.open(at)?.buyers()?, form),
            Act::Year { form, year, shelf } => return of_year(&shelf.open(at)?.year(year)?, form),
            Act::Week { form, as_of, shelf } => return week(&shelf.open(at)?.week(as_of)?, form),
            Act::Prices { form, as_of, grade, buyer, unit, shelf } => {
                return prices(&shelf.open(at)?.price_history(as_of, grade.as_deref(), buyer.as_deref(), unit)?, form);
            }
            Act::Kerb { form, as_of, buyer, floor, strain, mess, space, shelf } => {
                let [strain, mess, space] = [strain, mess, space].map(|most| most.map(Strength::code));
                return kerb(&shelf.open(at)?.kerb(&KerbAsked { as_of, buyer, floor, strain, mess, space })?, form);
            }
            Act::Places { form, as_of, buyer, floor, places, coarser, shelf } => {
                return ranking(&shelf.open(at)?.places(&PlacesAsked { as_of, buyer, floor, places, coarser })?, form);
            }
            Act::Wire { form, as_of, buyer, floor, disposal, left, shelf } => {
                return wire(&shelf.open(at)?.wire(&WireAsked { as_of, buyer, floor, disposal, left })?, form);
            }
            Act::Hour { form, as_of, buyer, left, floor, shelf } => {
                return hour(&shelf.open(at)?.hour(as_of, buyer.as_deref(), left, floor)?, form);
            }
        };
        let shelf = shelf.open(at)?;
        let report = shelf.yard_run(as_of)?;
        match form {
            Form::Text => show::print(&text::yard_run(&report))?,
            Form::Json => show::json(&report)?,
            Form::Csv => show::print(&csv::yard_run(&report))?,
            Form::Html => {
                // The page holds no form, so it needs neither token nor key.
                let frame = Frame { title: "Before the trip", token: "", key: "", said: None, live: false };
                show::print(&page::yard_run(&frame, &report, &shelf.week(as_of)?))?;
            }
        }
        Ok(())
    }
}

fn week(week: &WeekView, form: Form) -> anyhow::Result<()> {
    match form {
        Form::Text => show::print(&text_week::week(week))?,
        Form::Json => show::json(week)?,
        Form::Csv => show::print(&csv::week(week))?,
        Form::Html => {
            let frame = Frame { title: page::WEEK, token: "", key: "", said: None, live: false };
            show::print(&page::week(&frame, week))?;
        }
    }
    Ok(())
}

fn prices(history: &PriceHistoryView, form: Form) -> anyhow::Result<()> {
    match form {
        Form::Text => show::print(&text_prices::history(history))?,
        Form::Json => show::json(history)?,
        Form::Csv => show::print(&csv_prices::history(history))?,
        Form::Html => {
            let frame = Frame { title: page::PRICE_HISTORY, token: "", key: "", said: None, live: false };
            let asked = page::HistoryAsked { as_of: None, grade: None, buyer: None, unit: None, grades: &[], buyers: &[] };
            show::print(&page::price_history(&frame, history, &asked))?;
        }
    }
    Ok(())
}

fn kerb(list: &KerbView, form: Form) -> anyhow::Result<()> {
    match form {
        Form::Text => show::print(&text_places::kerb(list))?,
        Form::Json => show::json(list)?,
        Form::Csv => show::print(&csv_places::kerb(list))?,
        Form::Html => show::print(&page::kerb_file(list))?,
    }
    Ok(())
}

fn ranking(report: &PlacesView, form: Form) -> anyhow::Result<()> {
    match form {
        Form::Text => show::print(&places_forms::terminal(report))?,
        Form::Json => show::json(report)?,
        Form::Csv => show::print(&places_forms::csv(report))?,
        Form::Html => {
            let frame = Frame { title: page::PLACES, token: "", key: "", said: None, live: false };
            show::print(&page::places(&frame, report, "", ""))?;
        }
    }
    Ok(())
}

fn wire(report: &WireReportView, form: Form) -> anyhow::Result<()> {
    match form {
        Form::Text => show::print(&wire_forms::terminal(report))?,
        Form::Json => show::json(report)?,
        Form::Csv => show::print(&wire_forms::csv(report))?,
        Form::Html => {
            let frame = Frame { title: page::WIRE, token: "", key: "", said: None, live: false };
            show::print(&page::wire(&frame, report, &page::WireBeside { feeds: &[], grades: &[] }, ""))?;
        }
    }
    Ok(())
}

fn hour(report: &HourView, form: Form) -> anyhow::Result<()> {
    match form {
        Form::Text => show::print(&text_hour::hour(report))?,
        Form::Json => show::json(report)?,
        Form::Csv => show::print(&csv::hour(report))?,
        Form::Html => {
            let frame = Frame { title: page::HOUR, token: "", key: "", said: None, live: false };
            show::print(&page::hour(&frame, report, ""))?;
        }
    }
    Ok(())
}

fn buyers(view: &BuyersView, form: Form) -> anyhow::Result<()> {
    let tables = tables_year::buyers(view);
    match form {
        Form::Text => show::print(&tables_year::to_text(page::BUYERS, &tables_year::buyers_say(view), &tables))?,
        Form::Json => show::json(view)?,
        Form::Csv => show::print(&tables_year::to_csv(&tables))?,
        Form::Html => {
            let frame = Frame { title: page::BUYERS, token: "", key: "", said: None, live: false };
            show::print(&page::buyers(&frame, view))?;
        }
    }
    Ok(())
}

fn of_year(view: &YearView, form: Form) -> anyhow::Result<()> {
    let tables = tables_year::year(view);
    match form {
        Form::Text => show::print(&tables_year::to_text(&format!("{} {}", page::YEAR, view.year), &[], &tables))?,
        Form::Json => show::json(view)?,
        Form::Csv => show::print(&tables_year::to_csv(&tables))?,
        Form::Html => {
            let frame = Frame { title: page::YEAR, token: "", key: "", said: None, live: false };
            show::print(&page::year(&frame, view))?;
        }
    }
    Ok(())
}
