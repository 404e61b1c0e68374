//! `bismar check-weight`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::Weight;
use crate::economy::coins::Coin;
use crate::render::check_words::{self, percent};
use crate::render::json::ScaleChecksView;
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use serde_json::{Value, json};

/// Check weights: a known mass laid on the scale, and what the scale makes of it.
#[derive(Args)]
pub struct CheckWeight {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// What check weights have shown of each scale.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Keeps what the scale shows of a known mass that lies on it alone.
    Lay(Box<Lay>),
    /// The next load of about its weight is a check weight, and no drop, whatever stands on the scale.
    Ask {
        #[command(flatten)]
        weight: Box<Known>,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// The next load is no check weight after all.
    Withdraw {
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// What was taken for a drop was a check weight.
    Was {
        /// The drop, by its number.
        drop: u64,
        #[command(flatten)]
        weight: Box<Known>,
        /// The scale's division then; without it, that of the scale if it is still in that stretch.
        #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
        division: Option<Weight>,
    },
    /// The scale was moved, mended or exchanged: what was found of it before bounds nothing from here on.
    Disturbed {
        #[arg(value_enum)]
        how: How,
        /// In a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum How {
    Moved,
    Mended,
    Exchanged,
}

/// A known weight: its mass with what it is, or coins.
#[derive(Args)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["nominal", "coins"])))]
struct Known {
    /// What it weighs, as in 1kg.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, requires = "source")]
    nominal: Option<Weight>,
    /// What it is and who says so, as in "test weight, class M1".
    #[arg(long, value_name = "TEXT")]
    source: Option<String>,
    /// How far it may itself be off; without it, it bounds nothing.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    within: Option<Weight>,
    /// Coins of one kind, as in 40:us-nickel.
    #[arg(long, value_name = "COUNT:COIN", value_parser = coins)]
    coins: Option<(u32, &'static str)>,
}

fn coins(text: &str) -> Result<(u32, &'static str), String> {
    let (count, code) = text.split_once(':').ok_or("a number of coins and which, as in 40:us-nickel")?;
    let coin = Coin::of(code).ok_or_else(|| check_words::unknown_coin(code))?;
    let count = count.parse().map_err(|_| format!("{count:?} is not a number of coins"))?;
    Ok((count, coin.code))
}

impl Known {
    fn body(&self) -> Value {
        json!({
            "nominal": self.nominal.as_ref().map(Weight::body),
            "source": self.source,
            "within": self.within.as_ref().map(Weight::body),
            "coins": self.coins.map(|(count, code)| json!({ "code": code, "count": count })),
        })
    }
}

#[derive(Args)]
struct Lay {
    /// What it weighs, as in 1kg.
    #[arg(value_name = "WEIGHT", value_parser = Weight::parse)]
    nominal: Weight,
    /// What it is and who says so, as in "test weight, class M1" or "40 coins of 5 g, the mint's page".
    #[arg(long, value_name = "TEXT")]
    source: String,
    /// How far it may itself be off; without it, it bounds nothing.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    within: Option<Weight>,
    /// What the scale showed; without it, what it shows now.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, allow_hyphen_values = true)]
    shown: Option<Weight>,
    /// The scale's division; without it, that of the scale on the bench.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    division: Option<Weight>,
    /// The bench, by its place in the configuration.
    #[arg(long, value_name = "N", default_value_t = 1)]
    bench: u16,
}

impl CheckWeight {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        match self.act {
            Act::List { form, shelf } => {
                let scales = shelf.open(at)?.checks()?;
                show::list(&scales, form, |scales| scales.iter().map(told).collect::<Vec<_>>().join("\n"))
            }
            Act::Ask { weight, bench } => {
                let body = json!({ "asked": true, "weight": weight.body() });
                reach(at)?.put(&format!("/v1/benches/{bench}/check"), &body)?;
                Ok(show::print("the next load of about that weight is a check weight: lay it on\n")?)
            }
            Act::Withdraw { bench } => {
                reach(at)?.put(&format!("/v1/benches/{bench}/check"), &json!({ "asked": false }))?;
                Ok(show::print("the next load is no check weight\n")?)
            }
            Act::Was { drop, weight, division } => {
                let body = json!({ "weight": weight.body(), "division": division.as_ref().map(Weight::body) });
                reach(at)?.post(&format!("/v1/drops/{drop}/was-check"), &body)?;
                Ok(show::print(&format!("drop {drop} is no material any more, and kept as a check\n"))?)
            }
            Act::Disturbed { how, reason, bench } => {
                let how = match how {
                    How::Moved => "moved",
                    How::Mended => "mended",
                    How::Exchanged => "exchanged",
                };
                let told =
                    reach(at)?.post(&format!("/v1/benches/{bench}/disturbances"), &json!({ "how": how, "reason": reason }))?;
                Ok(show::print(&format!("kept as record {}: lay a known weight on before it is trusted again\n", told.id))?)
            }
            Act::Lay(lay) => {
                let bench = lay.bench;
                let body = json!({
                    "nominal": lay.nominal.body(),
                    "source": lay.source,
                    "within": lay.within.as_ref().map(Weight::body),
                    "shown": lay.shown.as_ref().map(Weight::body),
                    "division": lay.division.as_ref().map(Weight::body),
                });
                let kept = reach(at)?.post(&format!("/v1/benches/{bench}/check-weights"), &body)?;
                Ok(show::print(&format!("check {} kept; what it shows: bismar check-weight list\n", kept.id))?)
            }
        }
    }
}

fn told(scale: &ScaleChecksView) -> String {
    let name = scale.scale.as_ref().map_or(String::new(), |name| format!(", {name}"));
    let gone = if scale.current { "" } else { " (not there now)" };
    let mut lines = vec![format!("Bench {}{name}{gone}", scale.bench), scale.due_text.clone(), scale.bound.clone()];
    lines.extend(scale.warming.clone());
    for one in &scale.disturbances {
        lines.push(format!("Record {}: {} on {} ({})", one.id, one.how, show::time(&one.at), one.reason));
    }
    let head = [
        Cell::right("Check"),
        Cell::left("Day"),
        Cell::right("Weight g"),
        Cell::right("Shown g"),
        Cell::right("Error g"),
        Cell::right("± g"),
        Cell::right("May be g"),
        Cell::right("Bounds to"),
        Cell::left("Verdict"),
        Cell::left("What"),
    ];
    let grams = |mass: &Option<crate::render::json::MassView>| mass.as_ref().map_or("?".to_owned(), |mass| mass.grams.clone());
    let rows = scale.checks.iter().map(|check| {
        vec![
            Cell::right(check.id.to_string()),
            Cell::left(show::time(&check.at)),
            Cell::right(&check.nominal.grams),
            Cell::right(&check.shown.grams),
            Cell::right(&check.error.grams),
            Cell::right(check.uncertainty_shown.clone().unwrap_or_else(|| "?".into())),
            Cell::right(grams(&check.tolerance)),
            Cell::right(check.bound_ppm.map_or("nothing".into(), |ppm| format!("{} %", percent(ppm)))),
            Cell::left(&check.verdict),
            Cell::left(check.source.as_deref().unwrap_or("")),
        ]
    });
    let table = show::table(&head, rows.collect(), "One is kept with: bismar check-weight lay WEIGHT --source TEXT");
    lines.join("\n") + "\n" + &table
}
