//! `bismar wire`.

use super::at::At;
use super::outlay::Void;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::{self, Weight};
use crate::render::json::WireSampleView;
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use jiff::civil::Date;
use serde_json::json;

/// Wire: samples that were weighed, stripped, and weighed again. Never burn insulation: strip it, or sell it as it is.
#[derive(Args)]
pub struct Wire {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every sample, newest first.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Books a sample.
    Sample(Box<Sample>),
    Void(Void),
}

#[derive(Args)]
struct Sample {
    /// The kind of wire: a feed.
    feed: String,
    /// What its metal is sold as: a grade.
    #[arg(long, value_name = "NAME")]
    metal: String,
    /// What the wire weighed, with the unit.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    before: Weight,
    /// What the bare metal weighs, with the unit.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    after: Weight,
    /// The division of the scale that showed both; without it, the coarser last digit that you typed.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    division: Option<Weight>,
    /// How long stripping it took.
    #[arg(long, conflicts_with = "seconds")]
    minutes: Option<u32>,
    #[arg(long)]
    seconds: Option<u32>,
    /// The day, as in 2026-03-01; without it, today.
    #[arg(long, value_name = "DAY", value_parser = typed::day)]
    day: Option<Date>,
}

impl Wire {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.wire_samples()?, form, table),
            Act::Void(void) => void.run(at)?,
            Act::Sample(sample) => {
                let body = json!({
                    "feed": sample.feed,
                    "metal": sample.metal,
                    "insulated": sample.before.body(),
                    "bare": sample.after.body(),
                    "division": sample.division.as_ref().map(Weight::body),
                    "minutes": sample.minutes,
                    "seconds": sample.seconds,
                    "day": sample.day.map(|day| day.to_string()),
                });
                let kept = reach(at)?.post("/v1/wire-samples", &body)?;
                format!("sample {} is booked", kept.id)
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

fn table(samples: &[WireSampleView]) -> String {
    let head = [
        Cell::right("Sample"),
        Cell::left("Day"),
        Cell::left("Wire"),
        Cell::left("Metal"),
        Cell::right("Before g"),
        Cell::right("After g"),
        Cell::right("Time"),
        Cell::left(""),
    ];
    let row = |sample: &WireSampleView| {
        vec![
            Cell::right(sample.id.to_string()),
            Cell::left(&sample.day),
            Cell::left(&sample.feed),
            Cell::left(&sample.metal),
            Cell::right(&sample.insulated.grams),
            Cell::right(&sample.bare.grams),
            Cell::right(sample.seconds.map_or("-".into(), show::clock)),
            Cell::left(if sample.voided { "taken back" } else { "" }),
        ]
    };
    show::table(&head, samples.iter().map(row).collect(), "No wire was sampled yet; a sample is told with: bismar wire sample")
}
