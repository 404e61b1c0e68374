//! `bismar quote`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::{self, Step, Weight};
use crate::render::json::{ImportView, QuoteView};
use crate::render::text::Cell;
use crate::render::text_prices;
use anyhow::{Context, ensure};
use clap::{Args, Subcommand};
use jiff::civil::Date;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Quotes: what a buyer pays for a grade, per which unit, from which day.
#[derive(Args)]
pub struct Quote {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every quote, the newest day first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// What each buyer pays for each grade today.
    Grid {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Keeps what a buyer pays.
    Give(Box<Give>),
    /// All prices of a buyer that are in force hold on this day as well.
    Same {
        buyer: String,
        /// As in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
    },
    /// Imports a table of quotes (CSV), all of it or nothing. Its first line names the columns: buyer, grade, price, and where
    /// wanted currency, day, stale_after_days, breaks, minimum, deduction_percent.
    Import {
        /// The file; - reads standard input.
        file: PathBuf,
        /// Only looks at it: every fault by line, and what would be kept.
        #[arg(long)]
        dry_run: bool,
        #[arg(long, value_enum, default_value_t)]
        form: Form,
    },
    /// Withdraws a quote that was never right.
    Withdraw {
        quote: u64,
        /// Why, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
}

#[derive(Args)]
struct Give {
    buyer: String,
    grade: String,
    /// Amount and unit, as in 4.00/lb or "0.35 per piece", with a minus a charge; a ton says which: tonne, short-ton or long-ton.
    #[arg(value_parser = typed::price, allow_hyphen_values = true)]
    price: String,
    /// Without it, the currency of the configuration.
    #[arg(long, value_name = "CODE", value_parser = typed::currency)]
    currency: Option<String>,
    /// The first day on which it holds, as in 2026-03-01; without it, today.
    #[arg(long, value_name = "DAY", value_parser = typed::day)]
    day: Option<Date>,
    /// Days after which it is called stale.
    #[arg(long, value_name = "DAYS")]
    stale_after: Option<u16>,
    /// Another amount from a quantity on, as in 100kg=4.20; may be given several times, rising.
    #[arg(long = "break", value_name = "WEIGHT=AMOUNT", value_parser = Step::parse)]
    breaks: Vec<Step>,
    /// The least that the buyer takes.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    minimum: Option<Weight>,
    /// Per cent that the buyer takes off the weight.
    #[arg(long, value_name = "PERCENT", value_parser = typed::percent)]
    deduction: Option<String>,
}

impl Quote {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.quotes()?, form, table),
            Act::Grid { form, shelf } => return show::list(&shelf.open(at)?.prices()?, form, text_prices::grid),
            Act::Same { buyer, day } => {
                let body = json!({ "buyer": buyer, "day": day.map(|day| day.to_string()) });
                let done = reach(at)?.post("/v1/prices/same-today", &body)?;
                let what = if done.made_now { "kept under this day as well" } else { "had all been given on this day already" };
                format!("the prices of {buyer} {what}")
            }
            Act::Import { file, dry_run, form } => return import(at, &file, dry_run, form),
            Act::Give(give) => {
                let given = reach(at)?.post("/v1/quotes", &give.body())?;
                format!("quote {}: {} pays {} for {}", given.id, give.buyer, give.price, give.grade)
            }
            Act::Withdraw { quote, reason } => {
                reach(at)?.post(&format!("/v1/quotes/{quote}/withdraw"), &json!({ "reason": reason }))?;
                format!("quote {quote} withdrawn")
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

/// The daemon reads the table: it knows the buyers' words and the usual currency.
fn import(at: At, file: &Path, dry_run: bool, form: Form) -> anyhow::Result<()> {
    let named = || format!("{} cannot be read", file.display());
    let text = if file == Path::new("-") {
        std::io::read_to_string(std::io::stdin()).context("standard input cannot be read")?
    } else {
        std::fs::read_to_string(file).with_context(named)?
    };
    let daemon = reach(at)?;
    // A dry run first: it says every fault by line, where the import itself would say that there are some.
    let looked: ImportView = daemon.send("/v1/prices/import?dry_run=true", "text/csv", &text)?;
    let view = if dry_run || !looked.faults.is_empty() { looked } else { daemon.send("/v1/prices/import", "text/csv", &text)? };
    match form {
        Form::Json => show::json(&view)?,
        Form::Text => show::print(&text_prices::import(&view))?,
    }
    ensure!(view.faults.is_empty(), "{}: nothing was kept", file.display());
    Ok(())
}

impl Give {
    fn body(&self) -> Value {
        json!({
            "buyer": self.buyer,
            "grade": self.grade,
            "price": self.price,
            "currency": self.currency,
            "day": self.day.map(|day| day.to_string()),
            "stale_after_days": self.stale_after,
            "breaks": self.breaks.iter().map(Step::body).collect::<Vec<_>>(),
            "minimum": self.minimum.as_ref().map(Weight::body),
            "deduction_percent": self.deduction,
        })
    }
}

fn table(quotes: &[QuoteView]) -> String {
    let head = [
        Cell::right("Quote"),
        Cell::left("Buyer"),
        Cell::left("Grade"),
        Cell::right("Price"),
        Cell::left("From"),
        Cell::left("Steps"),
        Cell::right("Minimum kg"),
        Cell::left(""),
    ];
    let row = |quote: &QuoteView| {
        vec![
            Cell::right(quote.id.to_string()),
            Cell::left(&quote.buyer),
            Cell::left(&quote.grade),
            Cell::right(format!("{} {}/{}", quote.price, quote.currency, quote.per)),
            Cell::left(&quote.day),
            Cell::left(&quote.breaks),
            Cell::right(show::kg(quote.minimum.as_ref())),
            Cell::left(if quote.withdrawn { "withdrawn" } else { "" }),
        ]
    };
    let nothing = "There is no quote yet; one is kept with: bismar quote give BUYER GRADE PRICE";
    show::table(&head, quotes.iter().map(row).collect(), nothing)
}
