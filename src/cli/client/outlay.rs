//! `bismar arrival`, `bismar spending` and `bismar minutes`: what the whole job took.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::{self, Weight};
use crate::render::json::{ArrivalView, SpendingView, TimeView};
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// Arrivals: goods that came in, from where and at what price.
#[derive(Args)]
pub struct Arrival {
    #[command(subcommand)]
    act: ArrivalAct,
}

/// Spendings: money that went out.
#[derive(Args)]
pub struct Spending {
    #[command(subcommand)]
    act: SpendingAct,
}

/// Minutes of the whole job beside the clock of the bench.
#[derive(Args)]
pub struct Minutes {
    #[command(subcommand)]
    act: MinutesAct,
}

#[derive(Args)]
struct List {
    #[arg(long, value_enum, default_value_t)]
    form: Form,
    #[command(flatten)]
    shelf: ShelfArgs,
}

/// Takes a record back: it counts nowhere any more.
#[derive(Args)]
pub struct Void {
    /// By its number in the list.
    record: u64,
    /// Why, in a few words.
    #[arg(long, value_name = "TEXT")]
    reason: String,
}

#[derive(Subcommand)]
enum ArrivalAct {
    /// Every arrival, newest first.
    List(List),
    /// Books goods that came in.
    Book(Box<BookArrival>),
    Void(Void),
}

#[derive(Args)]
struct BookArrival {
    /// What came.
    what: String,
    /// Where from, in your own words.
    #[arg(long, value_name = "TEXT")]
    from: String,
    /// As what it is to be taken apart.
    #[arg(long, value_name = "NAME")]
    feed: Option<String>,
    /// What it weighs, with the unit.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    weight: Option<Weight>,
    #[arg(long, value_name = "COUNT")]
    pieces: Option<u32>,
    /// What was paid for it; 0 where it was free.
    #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
    paid: Option<Decimal>,
    /// Of what was paid; without it, the usual one.
    #[arg(long, value_name = "CODE", value_parser = typed::currency)]
    currency: Option<String>,
    /// That fetching it took, there and back.
    #[arg(long)]
    minutes: Option<u32>,
    /// There and back.
    #[arg(long, value_name = "KILOMETRES", value_parser = typed::amount)]
    distance: Option<Decimal>,
    /// The day, as in 2026-03-01; without it, today.
    #[arg(long, value_name = "DAY", value_parser = typed::day)]
    day: Option<Date>,
}

#[derive(Subcommand)]
enum SpendingAct {
    /// Money that went out, newest first.
    List(List),
    /// Books money that went out.
    Book(Box<BookSpending>),
    Void(Void),
}

#[derive(Args)]
struct BookSpending {
    #[arg(value_parser = typed::amount)]
    amount: Decimal,
    /// What it was for.
    #[arg(long, value_enum)]
    sort: Sort,
    /// The same in a few words.
    #[arg(long, value_name = "TEXT")]
    what: String,
    /// Without it, the usual one.
    #[arg(long, value_name = "CODE", value_parser = typed::currency)]
    currency: Option<String>,
    /// The buyer to whom it was paid.
    #[arg(long, value_name = "NAME")]
    buyer: Option<String>,
    /// The feed for which it was spent.
    #[arg(long, value_name = "NAME")]
    feed: Option<String>,
    /// The day, as in 2026-03-01; without it, today.
    #[arg(long, value_name = "DAY", value_parser = typed::day)]
    day: Option<Date>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Sort {
    /// What is used up: blades, gas, gloves.
    Consumables,
    /// To be rid of what nobody buys.
    Disposal,
    /// What lasts.
    Tools,
    Fuel,
    Fees,
    /// Goods to take apart.
    Feed,
    Other,
}

#[derive(Subcommand)]
enum MinutesAct {
    /// Minutes that were told, newest first.
    List(List),
    /// Books minutes that belong to no lot.
    Book {
        minutes: u32,
        /// What for.
        #[arg(long, value_enum)]
        sort: Part,
        /// The same in a few words.
        #[arg(long, value_name = "TEXT")]
        what: String,
        /// The day, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
    },
    Void(Void),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Part {
    Fetching,
    /// At the bench, without its clock.
    Bench,
    /// Driving to buyers and at the yard.
    Yard,
}

impl Void {
    pub fn run(self, at: At) -> anyhow::Result<String> {
        reach(at)?.post(&format!("/v1/records/{}/void", self.record), &json!({ "reason": self.reason }))?;
        Ok(format!("record {} is taken back", self.record))
    }
}

impl Arrival {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            ArrivalAct::List(List { form, shelf }) => return show::list(&shelf.open(at)?.arrivals()?, form, arrivals),
            ArrivalAct::Void(void) => void.run(at)?,
            ArrivalAct::Book(book) => {
                let kept = reach(at)?.post("/v1/arrivals", &book.body())?;
                format!("arrival {} is booked", kept.id)
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

impl BookArrival {
    fn body(&self) -> Value {
        json!({
            "from": self.from,
            "what": self.what,
            "feed": self.feed,
            "mass": self.weight.as_ref().map(Weight::body),
            "pieces": self.pieces,
            "paid": self.paid.map(|amount| money(amount, self.currency.as_deref())),
            "minutes": self.minutes,
            "distance_km": self.distance.map(|distance| distance.to_string()),
            "day": self.day.map(|day| day.to_string()),
        })
    }
}

impl Spending {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            SpendingAct::List(List { form, shelf }) => return show::list(&shelf.open(at)?.spendings()?, form, spendings),
            SpendingAct::Void(void) => void.run(at)?,
            SpendingAct::Book(book) => {
                let body = json!({
                    "sort": code(book.sort),
                    "what": book.what,
                    "cost": money(book.amount, book.currency.as_deref()),
                    "buyer": book.buyer,
                    "feed": book.feed,
                    "day": book.day.map(|day| day.to_string()),
                });
                let kept = reach(at)?.post("/v1/spendings", &body)?;
                format!("spending {} is booked", kept.id)
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

impl Minutes {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            MinutesAct::List(List { form, shelf }) => return show::list(&shelf.open(at)?.times()?, form, times),
            MinutesAct::Void(void) => void.run(at)?,
            MinutesAct::Book { minutes, sort, what, day } => {
                let day = day.map(|day| day.to_string());
                let body = json!({ "minutes": minutes, "sort": code(sort), "what": what, "day": day });
                let kept = reach(at)?.post("/v1/minutes", &body)?;
                format!("minutes {} are booked", kept.id)
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

/// An amount as the daemon takes it.
pub fn money(amount: Decimal, currency: Option<&str>) -> Value {
    json!({ "amount": amount.to_string(), "currency": currency })
}

fn code(value: impl clap::ValueEnum) -> String {
    value.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default()
}

fn back(voided: bool) -> Cell {
    Cell::left(if voided { "taken back" } else { "" })
}

fn arrivals(lines: &[ArrivalView]) -> String {
    let head = [
        Cell::right("Arrival"),
        Cell::left("Day"),
        Cell::left("From"),
        Cell::left("What"),
        Cell::left("Feed"),
        Cell::right("kg"),
        Cell::right("Pieces"),
        Cell::right("Paid"),
        Cell::right("Minutes"),
        Cell::right("km"),
        Cell::left("Lots"),
        Cell::left(""),
    ];
    let row = |line: &ArrivalView| {
        let lots: Vec<String> = line.lots.iter().map(u64::to_string).collect();
        let paid = line.paid.as_ref().map(|paid| format!("{} {}", paid.amount, paid.currency));
        vec![
            Cell::right(line.id.to_string()),
            Cell::left(&line.day),
            Cell::left(&line.from),
            Cell::left(&line.what),
            Cell::left(line.feed.as_deref().unwrap_or("")),
            Cell::right(show::kg(line.mass.as_ref())),
            Cell::right(show::or_dash(line.pieces)),
            Cell::right(paid.unwrap_or_else(|| "not said".into())),
            Cell::right(show::or_dash(line.minutes)),
            Cell::right(show::or_dash(line.distance_km.as_ref())),
            Cell::left(lots.join(" ")),
            back(line.voided),
        ]
    };
    show::table(&head, lines.iter().map(row).collect(), "Nothing came in yet; it is booked with: bismar arrival book")
}

fn spendings(lines: &[SpendingView]) -> String {
    let head = [
        Cell::right("Spending"),
        Cell::left("Day"),
        Cell::left("For"),
        Cell::left("What"),
        Cell::right("Amount"),
        Cell::left("Buyer"),
        Cell::left("Feed"),
        Cell::right("Lot"),
        Cell::left(""),
    ];
    let row = |line: &SpendingView| {
        vec![
            Cell::right(line.id.to_string()),
            Cell::left(&line.day),
            Cell::left(&line.sort),
            Cell::left(&line.what),
            Cell::right(format!("{} {}", line.amount.amount, line.amount.currency)),
            Cell::left(line.buyer.as_deref().unwrap_or("")),
            Cell::left(line.feed.as_deref().unwrap_or("")),
            Cell::right(show::or_dash(line.lot)),
            back(line.voided),
        ]
    };
    show::table(&head, lines.iter().map(row).collect(), "No money was spent yet; it is booked with: bismar spending book")
}

fn times(lines: &[TimeView]) -> String {
    let head = [
        Cell::right("Record"),
        Cell::left("Day"),
        Cell::left("For"),
        Cell::left("What"),
        Cell::right("Minutes"),
        Cell::right("Lot"),
        Cell::left(""),
    ];
    let row = |line: &TimeView| {
        let off = if line.clock_ran { ", off the clock" } else { "" };
        vec![
            Cell::right(line.id.to_string()),
            Cell::left(&line.day),
            Cell::left(format!("{}{off}", line.sort)),
            Cell::left(&line.what),
            Cell::right(line.minutes.to_string()),
            Cell::right(show::or_dash(line.lot)),
            back(line.voided),
        ]
    };
    show::table(&head, lines.iter().map(row).collect(), "No minutes were told yet; they are booked with: bismar minutes book")
}
