//! `bismar limits`.

use super::at::At;
use super::outlay::money;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed;
use crate::render::json::LimitsView;
use clap::{ArgGroup, Args, Subcommand};
use rust_decimal::Decimal;
use serde_json::json;

/// What an hour of yours must bring, and how many places for bins the bench has.
#[derive(Args)]
pub struct Limits {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Both, as they were told.
    Show {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Tells one of them, or both.
    #[command(group(ArgGroup::new("what").required(true).multiple(true).args(["floor", "no_floor", "places", "no_places"])))]
    Tell {
        /// What an hour must bring.
        #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
        floor: Option<Decimal>,
        /// Of the floor; without it, the usual one.
        #[arg(long, value_name = "CODE", value_parser = typed::currency, requires = "floor")]
        currency: Option<String>,
        #[arg(long, conflicts_with = "floor")]
        no_floor: bool,
        /// Places for bins at the bench.
        #[arg(long, value_name = "COUNT")]
        places: Option<u32>,
        #[arg(long, conflicts_with = "places")]
        no_places: bool,
    },
}

impl Limits {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        match self.act {
            Act::Show { form: Form::Json, shelf } => show::json(&shelf.open(at)?.limits()?),
            Act::Show { form: Form::Text, shelf } => Ok(show::print(&standing(&shelf.open(at)?.limits()?))?),
            Act::Tell { floor, currency, no_floor, places, no_places } => {
                let mut body = json!({});
                if floor.is_some() || no_floor {
                    body["floor_per_hour"] = floor.map(|floor| money(floor, currency.as_deref())).into();
                }
                if places.is_some() || no_places {
                    body["places"] = places.into();
                }
                reach(at)?.patch("/v1/limits", &body, None)?;
                Ok(show::print("the limits are told\n")?)
            }
        }
    }
}

fn standing(limits: &LimitsView) -> String {
    let floor = limits.floor_per_hour.as_ref().map(|floor| format!("{} {}", floor.amount, floor.currency));
    let places = limits.places.map(|places| places.to_string());
    let or = |told: Option<String>| told.unwrap_or_else(|| "not told".into());
    format!("An hour must bring: {}\nPlaces for bins: {}\n", or(floor), or(places))
}
