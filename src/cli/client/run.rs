//! `bismar run`: drives with bins.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed;
use crate::query::Picked;
use crate::render::json::RunView;
use crate::render::load_words;
use crate::render::text::Cell;
use anyhow::anyhow;
use clap::{Args, Subcommand};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde_json::json;

/// Drives with bins: setting out, and taking back what was never driven.
#[derive(Args)]
pub struct Run {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every drive with bins, the last one first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Sets out: the bins are empty at home from then on.
    SetOut {
        /// Buyers in the order of driving, each with its bins, as in "Quayside: 3 4; Northgate: 5".
        #[arg(value_name = "STOPS")]
        stops: String,
        /// There and back, in kilometres.
        #[arg(long, value_name = "KM", value_parser = typed::amount)]
        distance: Option<Decimal>,
        /// Driving and waiting, all told.
        #[arg(long)]
        minutes: Option<u32>,
        /// What the drive cost.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        cost: Option<Decimal>,
        /// As in 2026-03-01; without it, today.
        #[arg(long, value_name = "DAY", value_parser = typed::day)]
        day: Option<Date>,
    },
    /// Takes a run back that was never driven, while nothing of it is on a ticket: its bins stand where they stood.
    TakeBack {
        run: u64,
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
}

impl Run {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.runs()?, form, list),
            Act::SetOut { stops, distance, minutes, cost, day } => {
                let picked = Picked::parse(&stops).map_err(|bad| anyhow!(load_words::bad_pick(&bad)))?;
                let stops: Vec<&str> = picked.0.iter().map(|(buyer, _)| buyer.as_str()).collect();
                let loads = picked.0.iter().flat_map(|(_, bins)| bins).map(|bin| json!({ "bin": bin }));
                let body = json!({
                    "stops": stops,
                    "loads": loads.collect::<Vec<_>>(),
                    "distance_km": distance.map(|km| km.to_string()),
                    "minutes": minutes,
                    "cost": cost.map(|cost| json!({ "amount": cost.to_string() })),
                    "day": day.map(|day| day.to_string()),
                });
                let kept = reach(at)?.post("/v1/runs", &body)?;
                format!("run {}: the bins are on board\n", kept.id)
            }
            Act::TakeBack { run, reason } => {
                reach(at)?.post(&format!("/v1/runs/{run}/take-back"), &json!({ "reason": reason }))?;
                format!("run {run} is taken back: its bins stand where they stood\n")
            }
        };
        Ok(show::print(&done)?)
    }
}

fn list(runs: &[RunView]) -> String {
    let head =
        [Cell::right("Run"), Cell::left("Day"), Cell::left("To"), Cell::left("Bins"), Cell::left("Tickets"), Cell::left("")];
    let rows = runs.iter().map(|run| {
        vec![
            Cell::right(run.id.to_string()),
            Cell::left(&run.day),
            Cell::left(run.stops.join(", ")),
            Cell::left(run.bins()),
            Cell::left(run.tickets.iter().map(u64::to_string).collect::<Vec<_>>().join(", ")),
            Cell::left(if run.taken_back { "taken back" } else { "" }),
        ]
    });
    show::table(&head, rows.collect(), "No runs yet: set out with bins with: bismar run set-out \"BUYER: BIN BIN\"")
}
