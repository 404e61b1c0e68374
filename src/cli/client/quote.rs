//! `bismar quote`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::{self, Step, Weight};
use crate::render::json::QuoteView;
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use jiff::civil::Date;
use serde_json::{Value, json};

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
    /// Keeps what a buyer pays.
    Give(Box<Give>),
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
    /// Amount and unit, as in 4.00/lb; a ton says which: tonne, short-ton or long-ton.
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
            Cell::right(show::kg(quote.minimum.as_ref())),
            Cell::left(if quote.withdrawn { "withdrawn" } else { "" }),
        ]
    };
    let nothing = "There is no quote yet; one is kept with: bismar quote give BUYER GRADE PRICE";
    show::table(&head, quotes.iter().map(row).collect(), nothing)
}
