//! `bismar trial`.

use super::at::At;
use super::outlay::Void;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::Weight;
use crate::render::json::{BenchView, TrialView};
use crate::render::text::Cell;
use anyhow::Context;
use clap::{ArgGroup, Args, Subcommand};
use serde_json::json;

/// Trials against the clock: one sample each of what an hour on a feed brings.
#[derive(Args)]
pub struct Trial {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every trial, newest first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Starts the clock in the session that runs on the bench.
    #[command(group(ArgGroup::new("length").required(true).args(["minutes", "seconds"])))]
    Start {
        #[arg(long)]
        minutes: Option<u32>,
        #[arg(long)]
        seconds: Option<u32>,
        /// What is taken apart; without it, what is at hand.
        #[arg(long, value_name = "NAME")]
        feed: Option<String>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Ends a trial, or says after its end what was taken apart in it.
    End {
        /// The trial's number; without it, the one on the bench.
        trial: Option<u64>,
        /// How many pieces were taken apart.
        #[arg(long, value_name = "COUNT")]
        pieces: Option<u32>,
        /// What they weighed before, with the unit.
        #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
        weight: Option<Weight>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    Void(Void),
}

impl Trial {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.trials()?, form, table),
            Act::Start { minutes, seconds, feed, bench } => {
                let body = json!({ "minutes": minutes, "seconds": seconds, "feed": feed });
                let daemon = reach(at)?;
                daemon.post(&format!("/v1/benches/{bench}/trials"), &body)?;
                let standing: BenchView = daemon.get(&format!("/v1/benches/{bench}"))?;
                match standing.trial {
                    Some(trial) => format!("trial {} on {}: {} left", trial.id, trial.feed, show::clock(trial.left_seconds)),
                    None => "the trial is over".to_owned(),
                }
            }
            Act::End { trial, pieces, weight, bench } => {
                let daemon = reach(at)?;
                let trial = match trial {
                    Some(trial) => trial,
                    None => {
                        let standing: BenchView = daemon.get(&format!("/v1/benches/{bench}"))?;
                        let running = standing.trial.map(|trial| trial.id);
                        running.with_context(|| format!("no trial runs on bench {bench}; name the one you mean"))?
                    }
                };
                let body = json!({ "pieces": pieces, "mass": weight.as_ref().map(Weight::body) });
                daemon.post(&format!("/v1/trials/{trial}/end"), &body)?;
                format!("trial {trial} is over; what came of it: bismar trial list")
            }
            Act::Void(void) => void.run(at)?,
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

fn table(trials: &[TrialView]) -> String {
    let head = [
        Cell::right("Trial"),
        Cell::left("Time"),
        Cell::left("Feed"),
        Cell::right("Worked"),
        Cell::right("Drops"),
        Cell::right("Pieces"),
        Cell::right("Brings an hour"),
        Cell::right("Adds an hour"),
        Cell::left("Mind"),
    ];
    let row = |trial: &TrialView| {
        vec![
            Cell::right(trial.id.to_string()),
            Cell::left(show::time(&trial.at)),
            Cell::left(&trial.feed),
            Cell::right(show::clock(trial.worked_seconds)),
            Cell::right(trial.drops.to_string()),
            Cell::right(show::or_dash(trial.pieces)),
            Cell::right(show::or_dash(trial.brings_per_hour.as_ref())),
            Cell::right(show::or_dash(trial.adds_per_hour.as_ref())),
            Cell::left(trial.says.join("; ")),
        ]
    };
    show::table(
        &head,
        trials.iter().map(row).collect(),
        "There was no trial yet; one is started with: bismar trial start --minutes 10",
    )
}
