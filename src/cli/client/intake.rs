//! `bismar intake`.

use super::at::At;
use super::outlay::money;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed;
use super::weighed::Weighed;
use crate::render::json::LotView;
use crate::render::text::Cell;
use clap::{ArgGroup, Args, Subcommand};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde_json::{Value, json};

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
    /// Enters an intake that was weighed elsewhere, or drawn from a bin.
    Enter {
        /// What is to be taken apart.
        #[arg(long, value_name = "NAME")]
        feed: String,
        #[command(flatten)]
        weighed: Weighed,
        /// How many pieces it is.
        #[arg(long, value_name = "COUNT")]
        pieces: Option<u32>,
        /// To which depth it is taken apart, in a word of your own.
        #[arg(long, value_name = "WORD")]
        depth: Option<String>,
        /// The bin that it was drawn from, by its number: the bin goes down by it.
        #[arg(long, value_name = "NUMBER")]
        from_bin: Option<u32>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Enters an intake that was only counted.
    Count {
        pieces: u32,
        /// What is to be taken apart.
        #[arg(long, value_name = "NAME")]
        feed: String,
        /// To which depth it is taken apart, in a word of your own.
        #[arg(long, value_name = "WORD")]
        depth: Option<String>,
        /// Why it was not weighed, in a few words.
        #[arg(long, value_name = "TEXT", default_value = "counted")]
        reason: String,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Says to which depth a lot is taken apart, how many pieces it is, and with which arrival it came.
    #[command(group(ArgGroup::new("what").required(true).multiple(true).args([
        "depth", "no_depth", "pieces", "no_pieces", "arrival", "no_arrival",
    ])))]
    Describe {
        lot: u64,
        /// In a word of your own.
        #[arg(long, value_name = "WORD")]
        depth: Option<String>,
        #[arg(long, conflicts_with = "depth")]
        no_depth: bool,
        #[arg(long, value_name = "COUNT")]
        pieces: Option<u32>,
        #[arg(long, conflicts_with = "pieces")]
        no_pieces: bool,
        /// By its number in the list of arrivals.
        #[arg(long, value_name = "NUMBER")]
        arrival: Option<u64>,
        #[arg(long, conflicts_with = "arrival")]
        no_arrival: bool,
        /// Only if it is still at this version (see `intake list --form json`).
        #[arg(long, value_name = "VERSION")]
        seen: Option<u64>,
    },
    /// A lot soaked, was heated, or waited: hands off.
    Wait {
        lot: u64,
        minutes: u32,
        /// What for, in a few words.
        #[arg(long, value_name = "TEXT")]
        what: String,
        /// The clock of the bench ran on it meanwhile: the minutes are taken off.
        #[arg(long)]
        clock_ran: bool,
        /// The day, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
    },
    /// Adds what was used up on a lot, or what it cost to be rid of the rest.
    Cost {
        lot: u64,
        #[arg(value_parser = typed::amount)]
        amount: Decimal,
        #[arg(long, value_enum)]
        sort: CostSort,
        /// What it was, in a few words.
        #[arg(long, value_name = "TEXT")]
        what: String,
        /// Without it, the usual one.
        #[arg(long, value_name = "CODE", value_parser = typed::currency)]
        currency: Option<String>,
        /// The day, as in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
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

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum CostSort {
    Consumables,
    Disposal,
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
            Act::Enter { feed, weighed, pieces, depth, from_bin, bench } => {
                let mut body = weighed.body();
                body["feed"] = json!(feed);
                body["pieces"] = json!(pieces);
                body["depth"] = json!(depth);
                body["from_bin"] = json!(from_bin);
                let receipt = reach(at)?.post(&format!("/v1/benches/{bench}/lots"), &body)?;
                format!("lot {} of {feed} is open", receipt.id)
            }
            Act::Count { pieces, feed, depth, reason, bench } => {
                let body = json!({ "feed": feed, "pieces": pieces, "depth": depth, "reason": reason });
                let receipt = reach(at)?.post(&format!("/v1/benches/{bench}/lots"), &body)?;
                format!("lot {} of {pieces} {feed} is open", receipt.id)
            }
            Act::Describe { lot, depth, no_depth, pieces, no_pieces, arrival, no_arrival, seen } => {
                let mut body = json!({});
                let given = [
                    ("depth", depth.map(Value::from), no_depth),
                    ("pieces", pieces.map(Value::from), no_pieces),
                    ("arrival", arrival.map(Value::from), no_arrival),
                ];
                for (key, value, cleared) in given {
                    if cleared || value.is_some() {
                        body[key] = value.into();
                    }
                }
                reach(at)?.patch(&format!("/v1/lots/{lot}"), &body, seen)?;
                format!("lot {lot} is described")
            }
            Act::Wait { lot, minutes, what, clock_ran, day } => {
                let day = day.map(|day| day.to_string());
                let body = json!({ "minutes": minutes, "what": what, "clock_ran": clock_ran, "day": day });
                reach(at)?.post(&format!("/v1/lots/{lot}/waits"), &body)?;
                format!("lot {lot}: {minutes} minutes hands-off")
            }
            Act::Cost { lot, amount, sort, what, currency, day } => {
                let sort = if sort == CostSort::Disposal { "disposal" } else { "consumables" };
                let (cost, day) = (money(amount, currency.as_deref()), day.map(|day| day.to_string()));
                let body = json!({ "sort": sort, "what": what, "cost": cost, "day": day });
                reach(at)?.post(&format!("/v1/lots/{lot}/costs"), &body)?;
                format!("lot {lot}: {amount} for {what}")
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
        Cell::left("To"),
        Cell::right("kg"),
        Cell::right("lb"),
        Cell::right("Pieces"),
        Cell::left("From"),
        Cell::right("Session"),
        Cell::left("State"),
    ];
    let row = |lot: &LotView| {
        vec![
            Cell::right(lot.id.to_string()),
            Cell::left(show::time(&lot.at)),
            Cell::left(lot.feed.as_deref().unwrap_or("not said yet")),
            Cell::left(lot.depth.as_deref().unwrap_or("")),
            Cell::right(lot.mass.as_ref().map_or("-", |mass| &mass.kg)),
            Cell::right(lot.mass.as_ref().map_or("-", |mass| &mass.lb)),
            Cell::right(show::or_dash(lot.pieces)),
            Cell::left(from(lot)),
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

/// Where a lot comes from, as far as it was told.
fn from(lot: &LotView) -> String {
    match (lot.drawn_from_bin, lot.arrival) {
        (Some(bin), _) => format!("bin {bin}"),
        (None, Some(arrival)) => format!("arrival {arrival}"),
        (None, None) => String::new(),
    }
}
