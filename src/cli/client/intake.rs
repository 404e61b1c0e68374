//! `bismar intake`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use crate::render::json::LotView;
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use serde_json::json;

/// Intakes: what is weighed before it is taken apart. Each opens a lot.
#[derive(Args)]
pub struct Intake {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every lot, newest first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// The next load is an intake, and no drop.
    Ask {
        /// What is to be taken apart; without it, what is at hand in the session.
        #[arg(long, value_name = "NAME")]
        feed: Option<String>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// The next load is no intake after all.
    Withdraw {
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Says what a lot is.
    Tell {
        lot: u64,
        #[arg(long, value_name = "NAME")]
        feed: String,
    },
}

impl Intake {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.lots()?, form, table),
            Act::Ask { feed, bench } => {
                reach(at)?.put(&format!("/v1/benches/{bench}/intake"), &json!({ "asked": true, "feed": feed }))?;
                format!("bench {bench}: the next load is an intake")
            }
            Act::Withdraw { bench } => {
                reach(at)?.put(&format!("/v1/benches/{bench}/intake"), &json!({ "asked": false }))?;
                format!("bench {bench}: the next load is no intake")
            }
            Act::Tell { lot, feed } => {
                reach(at)?.put(&format!("/v1/lots/{lot}/feed"), &json!({ "feed": feed }))?;
                format!("lot {lot} is of {feed}")
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

fn table(lots: &[LotView]) -> String {
    let head = [
        Cell::right("Lot"),
        Cell::left("Time"),
        Cell::left("Feed"),
        Cell::right("kg"),
        Cell::right("lb"),
        Cell::right("Session"),
        Cell::left("State"),
    ];
    let row = |lot: &LotView| {
        vec![
            Cell::right(lot.id.to_string()),
            Cell::left(show::time(&lot.at)),
            Cell::left(lot.feed.as_deref().unwrap_or("not said yet")),
            Cell::right(&lot.mass.kg),
            Cell::right(&lot.mass.lb),
            Cell::right(show::or_dash(lot.session)),
            Cell::left(&lot.state),
        ]
    };
    let nothing = "Nothing was weighed before it was taken apart; the next load is with: bismar intake ask";
    show::table(&head, lots.iter().map(row).collect(), nothing)
}
