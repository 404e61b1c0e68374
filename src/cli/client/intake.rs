//! `bismar intake`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed;
use super::weighed::Weighed;
use crate::render::json::LotView;
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use jiff::civil::Date;
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
    /// Enters an intake that was weighed elsewhere.
    Enter {
        /// What is to be taken apart.
        #[arg(long, value_name = "NAME")]
        feed: String,
        #[command(flatten)]
        weighed: Weighed,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// A lot is worked off: from here on it counts in yields and pay.
    Close { lot: u64 },
    /// It is not worked off after all.
    Reopen { lot: u64 },
    /// Adds minutes that a lot took away from the bench.
    Minutes {
        lot: u64,
        minutes: u32,
        /// What for, in a few words.
        #[arg(long, value_name = "TEXT")]
        what: String,
        /// The day, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
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
            Act::Enter { feed, weighed, bench } => {
                let mut body = weighed.body();
                body["feed"] = json!(feed);
                let receipt = reach(at)?.post(&format!("/v1/benches/{bench}/lots"), &body)?;
                format!("lot {} of {feed} is open", receipt.id)
            }
            Act::Close { lot } => {
                reach(at)?.post(&format!("/v1/lots/{lot}/close"), &json!({}))?;
                format!("lot {lot} is worked off")
            }
            Act::Reopen { lot } => {
                reach(at)?.post(&format!("/v1/lots/{lot}/reopen"), &json!({}))?;
                format!("lot {lot} is open again")
            }
            Act::Minutes { lot, minutes, what, day } => {
                let body = json!({ "minutes": minutes, "what": what, "day": day.map(|day| day.to_string()) });
                reach(at)?.post(&format!("/v1/lots/{lot}/minutes"), &body)?;
                format!("lot {lot}: {minutes} minutes away from the bench")
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
            Cell::left(match (lot.state.as_str(), lot.open) {
                ("confirmed", true) => "open",
                ("confirmed", false) => "closed",
                (state, _) => state,
            }),
        ]
    };
    let nothing = "Nothing was weighed before it was taken apart; the next load is with: bismar intake ask";
    show::table(&head, lots.iter().map(row).collect(), nothing)
}
