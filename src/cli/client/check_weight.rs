//! `bismar check-weight`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::Weight;
use crate::render::check_words::percent;
use crate::render::json::ScaleChecksView;
use crate::render::text::Cell;
use clap::{Args, Subcommand};
use serde_json::json;

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
            Cell::right(grams(&check.uncertainty)),
            Cell::right(grams(&check.tolerance)),
            Cell::right(check.bound_ppm.map_or("nothing".into(), |ppm| format!("{} %", percent(ppm)))),
            Cell::left(&check.verdict),
            Cell::left(check.source.as_deref().unwrap_or("")),
        ]
    });
    let table = show::table(&head, rows.collect(), "One is kept with: bismar check-weight lay WEIGHT --source TEXT");
    lines.join("\n") + "\n" + &table
}
