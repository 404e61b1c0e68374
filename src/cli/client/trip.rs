//! `bismar trip`: what a drive is planned from.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::{self, Weight};
use crate::measure::Distance;
use crate::render::text_trips;
use crate::render::trip_words::PINS;
use clap::builder::PossibleValuesParser;
use clap::{ArgGroup, Args, Subcommand};
use jiff::civil::Date;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// What a drive is planned from: where the buyers are, the vehicle, grades that wait for a price, bins that stay or must go.
#[derive(Args)]
pub struct Trip {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// All that was told.
    Show {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Tells where a buyer is and when it is open.
    Yard(Yard),
    /// Tells of a road from one buyer straight to another.
    #[command(group(ArgGroup::new("what").required(true).args(["distance", "forget"])))]
    Road {
        one: String,
        other: String,
        /// As in `12.5km` or `8mi`.
        #[arg(long, value_name = "DISTANCE", value_parser = distance, requires = "minutes")]
        distance: Option<String>,
        #[arg(long, value_name = "COUNT")]
        minutes: Option<u32>,
        /// There is no such road, after all.
        #[arg(long, conflicts_with = "minutes")]
        forget: bool,
    },
    /// Tells what the vehicle takes and costs.
    Vehicle(Vehicle),
    /// Holds a grade back until a buyer pays so much.
    #[command(group(ArgGroup::new("what").required(true).args(["price", "forget"])))]
    Hold {
        grade: String,
        /// Sold at this price or above, as in `4.00/lb`.
        #[arg(long = "for", value_name = "PRICE", value_parser = typed::price)]
        price: Option<String>,
        /// Of the price; without it, the usual one.
        #[arg(long, value_name = "CODE", value_parser = typed::currency, requires = "price")]
        currency: Option<String>,
        /// From this day on it goes anyway.
        #[arg(long, value_name = "DAY", value_parser = typed::day, requires = "price")]
        by: Option<Date>,
        /// From this much on in all bins it goes anyway.
        #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, requires = "price")]
        from: Option<Weight>,
        /// It is held no longer.
        #[arg(long)]
        forget: bool,
    },
    /// Says that a bin stays at home or must go, until it is emptied or loaded.
    Pin {
        number: u32,
        #[arg(value_parser = PossibleValuesParser::new(PINS.map(|(_, code, _)| code).into_iter().chain(["none"])))]
        what: String,
    },
}

#[derive(Args)]
#[command(group(ArgGroup::new("what").required(true).multiple(true).args([
    "distance", "minutes", "there", "open", "open_untold", "closed", "never_closed", "forget",
])))]
struct Yard {
    buyer: String,
    /// From home, one way, as in `12.5km` or `8mi`.
    #[arg(long, value_name = "DISTANCE", value_parser = distance)]
    distance: Option<String>,
    /// One way.
    #[arg(long, value_name = "COUNT")]
    minutes: Option<u32>,
    /// Minutes usually spent there.
    #[arg(long, value_name = "COUNT")]
    there: Option<u32>,
    /// Days of the week on which it is open, as in `mon,tue,sat`.
    #[arg(long, value_name = "DAYS", value_delimiter = ',')]
    open: Option<Vec<String>>,
    #[arg(long, conflicts_with = "open")]
    open_untold: bool,
    /// All single days on which it is closed, as in `2026-12-24,2026-12-26`.
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = typed::day)]
    closed: Option<Vec<Date>>,
    #[arg(long, conflicts_with = "closed")]
    never_closed: bool,
    /// Takes back all that was told of it.
    #[arg(long, conflicts_with_all = ["distance", "minutes", "there", "open", "open_untold", "closed", "never_closed"])]
    forget: bool,
    /// Only if it is still at this version (see `trip show --form json`).
    #[arg(long, value_name = "VERSION", conflicts_with = "forget")]
    seen: Option<u64>,
}

#[derive(Args)]
#[command(group(ArgGroup::new("what").required(true).multiple(true).args([
    "payload", "any_payload", "litres", "any_litres", "bins", "any_bins", "per_km", "per_mile", "running_untold",
])))]
struct Vehicle {
    /// What it bears, bins with it.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    payload: Option<Weight>,
    #[arg(long, conflicts_with = "payload")]
    any_payload: bool,
    /// Room for bins.
    #[arg(long, value_name = "LITRES")]
    litres: Option<u32>,
    #[arg(long, conflicts_with = "litres")]
    any_litres: bool,
    /// Places for bins.
    #[arg(long, value_name = "COUNT")]
    bins: Option<u32>,
    #[arg(long, conflicts_with = "bins")]
    any_bins: bool,
    /// Fuel and wear of a kilometre.
    #[arg(long, value_name = "AMOUNT", value_parser = typed::amount)]
    per_km: Option<Decimal>,
    /// Fuel and wear of a mile.
    #[arg(long, value_name = "AMOUNT", value_parser = typed::amount, conflicts_with = "per_km")]
    per_mile: Option<Decimal>,
    /// Of the amount; without it, the usual one.
    #[arg(long, value_name = "CODE", value_parser = typed::currency)]
    currency: Option<String>,
    #[arg(long, conflicts_with_all = ["per_km", "per_mile"])]
    running_untold: bool,
    /// Only if it is still at this version (see `trip show --form json`).
    #[arg(long, value_name = "VERSION")]
    seen: Option<u64>,
}

fn distance(text: &str) -> Result<String, String> {
    Distance::parse(text).map(|_| text.to_owned()).ok_or_else(|| "a distance such as 12.5km or 8mi".into())
}

fn encoded(name: &str) -> String {
    utf8_percent_encode(name, NON_ALPHANUMERIC).to_string()
}

impl Trip {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::Show { form: Form::Json, shelf } => return show::json(&shelf.open(at)?.trip_facts()?),
            Act::Show { form: Form::Text, shelf } => {
                return Ok(show::print(&text_trips::told(&shelf.open(at)?.trip_facts()?))?);
            }
            Act::Yard(yard) if yard.forget => {
                reach(at)?.post(&format!("/v1/buyers/{}/yard/forget", encoded(&yard.buyer)), &json!({}))?;
                format!("{}: where it is was taken back", yard.buyer)
            }
            Act::Yard(yard) => {
                reach(at)?.patch(&format!("/v1/buyers/{}/yard", encoded(&yard.buyer)), &yard.body(), yard.seen)?;
                format!("{}: told", yard.buyer)
            }
            Act::Road { one, other, distance, minutes, .. } => {
                let body = json!({ "one": one, "other": other, "distance": distance, "minutes": minutes });
                reach(at)?.post("/v1/roads", &body)?;
                format!("the road from {one} to {other} is {}", if distance.is_some() { "told" } else { "taken back" })
            }
            Act::Vehicle(vehicle) => {
                reach(at)?.patch("/v1/vehicle", &vehicle.body(), vehicle.seen)?;
                "the vehicle is told".into()
            }
            Act::Hold { grade, price, currency, by, from, .. } => {
                let body = json!({ "at": price, "currency": currency, "by": by, "from": from.as_ref().map(Weight::body) });
                reach(at)?.put(&format!("/v1/grades/{}/hold", encoded(&grade)), &body)?;
                format!("{grade} {}", if price.is_some() { "is held" } else { "is held no longer" })
            }
            Act::Pin { number, what } => {
                let pin = Some(&what).filter(|what| *what != "none");
                reach(at)?.put(&format!("/v1/bins/{number}/pin"), &json!({ "pin": pin }))?;
                let words = PINS.iter().find(|(_, code, _)| *code == what).map_or("goes if it pays", |(.., words)| words);
                format!("bin {number} {words}")
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

/// A key that is absent is left alone, null takes it back.
fn body_of<const N: usize>(fields: [(&str, Option<Value>, bool); N]) -> Value {
    let mut body = json!({});
    for (key, value, cleared) in fields {
        if cleared || value.is_some() {
            body[key] = value.into();
        }
    }
    body
}

impl Yard {
    fn body(&self) -> Value {
        let closed = self.closed.clone().or_else(|| self.never_closed.then(Vec::new));
        body_of([
            ("distance", self.distance.clone().map(Value::from), false),
            ("minutes", self.minutes.map(Value::from), false),
            ("minutes_there", self.there.map(Value::from), false),
            ("open", self.open.clone().map(Value::from), self.open_untold),
            ("closed", closed.map(|days| json!(days)), false),
        ])
    }
}

impl Vehicle {
    fn body(&self) -> Value {
        let running = self.per_km.map(|amount| (amount, "km")).or(self.per_mile.map(|amount| (amount, "mi")));
        let cost = |amount: Decimal| json!({ "amount": amount.to_string(), "currency": self.currency });
        body_of([
            ("payload", self.payload.as_ref().map(Weight::body), self.any_payload),
            ("litres", self.litres.map(Value::from), self.any_litres),
            ("bins", self.bins.map(Value::from), self.any_bins),
            ("running", running.map(|(amount, per)| json!({ "cost": cost(amount), "per": per })), self.running_untold),
        ])
    }
}
