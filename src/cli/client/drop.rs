//! `bismar drop`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show;
use super::weighed::Weighed;
use crate::facts::{BenchId, EntryId, SessionId};
use crate::query::DropQuestion;
use crate::render::csv;
use crate::render::json::DropView;
use crate::render::text::Cell;
use clap::{Args, Subcommand, ValueEnum};
use serde_json::json;

/// Drops: the list, and putting right what was wrong with them.
#[derive(Args)]
pub struct Drop {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Drops, newest first.
    List(Box<List>),
    /// Says that a drop is none.
    Void {
        drop: u64,
        /// What it really is.
        #[arg(long, value_enum)]
        which: Which,
        /// Why, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Moves a drop to the bin that it belongs to, or gives it one.
    Move {
        drop: u64,
        /// The bin that it belongs to.
        #[arg(long, value_name = "NUMBER")]
        to: u32,
        /// This drop and every later one of its bench that lies in the same bin.
        #[arg(long)]
        since: bool,
        /// Why, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Puts a drop's weight right after weighing it again.
    Adjust {
        drop: u64,
        #[command(flatten)]
        weighed: Weighed,
    },
    /// Says that what was set down and kept as a drop was the bin itself.
    WasBin {
        drop: u64,
        /// The bin that was set down.
        #[arg(long, value_name = "NUMBER")]
        bin: u32,
    },
    /// Marks a drop to be looked at later.
    Doubt { drop: u64 },
    /// Says that what was taken out of a bin was put where the scale does not see it.
    InHand {
        /// The removal, as the report lists it under what is to settle.
        removal: u64,
        /// Where it went, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Enters a weight that was taken elsewhere.
    Enter {
        #[command(flatten)]
        weighed: Weighed,
        /// The bin that it went into; without it, none yet.
        #[arg(long, value_name = "NUMBER")]
        bin: Option<u32>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
}

#[derive(Args)]
struct List {
    #[arg(long, value_enum, default_value_t)]
    form: Form,
    /// Only those of this bench.
    #[arg(long, value_name = "N")]
    bench: Option<u16>,
    /// Only those in this bin.
    #[arg(long, value_name = "NUMBER")]
    bin: Option<u32>,
    /// Only those of this session.
    #[arg(long, value_name = "NUMBER")]
    session: Option<u64>,
    /// Only those that have no bin.
    #[arg(long)]
    unassigned: bool,
    /// Only those before this drop: the next page.
    #[arg(long, value_name = "DROP")]
    before: Option<u64>,
    /// How many at most.
    #[arg(long, value_name = "N", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    limit: u32,
    #[command(flatten)]
    shelf: ShelfArgs,
}

/// The form of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Form {
    /// A table to read.
    #[default]
    Text,
    /// As the daemon gives it.
    Json,
    /// For a spreadsheet.
    Csv,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Which {
    /// It was no material; the weight came back off.
    NeverMaterial,
    /// It is being taken out of its bin now.
    TakenOutNow,
}

impl Drop {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List(list) => return list.run(at),
            Act::Void { drop, which, reason } => {
                let which = match which {
                    Which::NeverMaterial => "never-material",
                    Which::TakenOutNow => "taken-out-now",
                };
                reach(at)?.post(&format!("/v1/drops/{drop}/void"), &json!({ "which": which, "reason": reason }))?;
                format!("drop {drop} voided")
            }
            Act::Move { drop, to, since, reason } => {
                let body = json!({ "to": to, "since": since, "reason": reason });
                reach(at)?.post(&format!("/v1/drops/{drop}/move"), &body)?;
                let more = if since { " and those after it" } else { "" };
                format!("drop {drop}{more} moved to bin {to}")
            }
            Act::Adjust { drop, weighed } => {
                reach(at)?.post(&format!("/v1/drops/{drop}/adjust"), &weighed.body())?;
                format!("drop {drop}: weight put right")
            }
            Act::WasBin { drop, bin } => {
                reach(at)?.post(&format!("/v1/drops/{drop}/was-bin"), &json!({ "number": bin }))?;
                format!("drop {drop} was bin {bin} itself; what landed since is in it")
            }
            Act::Doubt { drop } => {
                reach(at)?.post(&format!("/v1/drops/{drop}/doubt"), &json!({}))?;
                format!("drop {drop} marked")
            }
            Act::InHand { removal, reason, bench } => {
                let body = json!({ "removal": removal, "reason": reason });
                reach(at)?.post(&format!("/v1/benches/{bench}/hand"), &body)?;
                format!("removal {removal} settled")
            }
            Act::Enter { weighed, bin, bench } => {
                let mut body = weighed.body();
                body["bin"] = bin.into();
                let entered = reach(at)?.post(&format!("/v1/benches/{bench}/drops"), &body)?;
                format!("entered as drop {}", entered.id)
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

impl List {
    fn run(self, at: At) -> anyhow::Result<()> {
        let question = DropQuestion {
            bench: self.bench.map(BenchId),
            bin: self.bin,
            session: self.session.map(SessionId),
            unassigned: self.unassigned,
            before: self.before.map(EntryId),
            limit: self.limit as usize,
        };
        let drops = self.shelf.open(at)?.drops(&question)?;
        match self.form {
            Form::Text => show::print(&table(&drops))?,
            Form::Csv => show::print(&csv::drops(&drops))?,
            Form::Json => show::json(&drops)?,
        }
        Ok(())
    }
}

/// Drops as a table.
pub fn table(drops: &[DropView]) -> String {
    let head = [
        Cell::right("Drop"),
        Cell::left("Time"),
        Cell::left("Bin"),
        Cell::right("g"),
        Cell::right("lb"),
        Cell::right("Session"),
        Cell::left("State"),
    ];
    let row = |drop: &DropView| {
        let mut state = drop.state.clone();
        if drop.origin != "drop" {
            state = format!("{state}, {}", drop.origin);
        }
        if drop.corrected {
            state.push_str(", corrected");
        }
        if let Some(doubt) = &drop.doubt {
            state = format!("{state}: {doubt}");
        }
        vec![
            Cell::right(drop.id.to_string()),
            Cell::left(show::time(&drop.at)),
            Cell::left(drop.bin.map_or("no bin yet".into(), |bin| bin.to_string())),
            Cell::right(&drop.mass.grams),
            Cell::right(&drop.mass.lb),
            Cell::right(show::or_dash(drop.session)),
            Cell::left(state),
        ]
    };
    show::table(&head, drops.iter().map(row).collect(), "There is no such drop.")
}
