//! `bismar bin`.

use super::at::At;
use super::reach;
use super::shelf::ShelfArgs;
use super::show::{self, Form};
use super::typed::{Choice, Weight};
use super::weighed::Weighed;
use crate::render::json::BinView;
use crate::render::text::Cell;
use crate::render::text_places;
use clap::{ArgGroup, Args, Subcommand, ValueEnum};
use serde_json::{Value, json};

/// Bins: their numbers, grades, empty weights, and what becomes of what is in them.
#[derive(Args)]
pub struct Bin {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every bin with what it holds.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Makes a bin; everything but its number can come later.
    Make {
        /// The number painted on it; without it, one more than the highest.
        number: Option<u32>,
        #[arg(long, value_name = "TEXT")]
        name: Option<String>,
        /// What its content is sold as.
        #[arg(long, value_name = "NAME")]
        grade: Option<String>,
        /// Its empty weight, with the unit.
        #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, allow_hyphen_values = true)]
        tare: Option<Weight>,
        /// How much it takes, with the unit.
        #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
        capacity: Option<Weight>,
    },
    /// Changes a bin's number, name, grade, empty weight or capacity; retires it or takes it back.
    Change(Box<Change>),
    /// Chooses the bin that drops go into.
    Choose {
        /// The bin's number, or none.
        #[arg(value_name = "NUMBER|none", value_parser = Choice::parse)]
        bin: Choice,
        /// The bench, by its place in the configuration.
        #[arg(long, value_name = "N", default_value_t = 1)]
        bench: u16,
    },
    /// Empties a bin: what was in it is gone.
    Empty {
        number: u32,
        /// Why, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Keeps how many pieces lie in a bin, all of them: for what is paid by the piece.
    Pieces { number: u32, pieces: u32 },
    /// Tips a bin into another.
    Tip {
        number: u32,
        /// The bin that it is tipped into.
        #[arg(long, value_name = "NUMBER")]
        to: u32,
        /// Why, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Takes the last emptying or tip of a bin back: what was in it lies there again.
    TakeBack {
        number: u32,
        /// Why, in a few words.
        #[arg(long, value_name = "TEXT")]
        reason: String,
    },
    /// Says that a bin is full: how many days it took is learned from it.
    Full { number: u32 },
    /// On a round through the stock: says what is seen in a bin, of what the books hold.
    Look {
        number: u32,
        #[arg(value_enum)]
        seen: Seen,
    },
    /// Lets the books follow the last look into a bin.
    Follow { number: u32 },
    /// The round through the stock: what the books hold in each bin beside what was seen there last.
    Round {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Books what lay in a bin before the program came.
    Stock {
        number: u32,
        #[command(flatten)]
        weighed: Weighed,
    },
}

/// What is seen in a bin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Seen {
    /// It looks as booked.
    Right,
    ThreeQuarters,
    Half,
    Quarter,
    Emptied,
}

#[derive(Args)]
#[command(group(ArgGroup::new("what").required(true).multiple(true).args([
    "to", "name", "no_name", "grade", "no_grade", "tare", "no_tare", "capacity", "no_capacity", "litres", "no_litres",
    "retire", "unretire",
])))]
struct Change {
    number: u32,
    /// Paint another number on it.
    #[arg(long, value_name = "NUMBER")]
    to: Option<u32>,
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    #[arg(long, conflicts_with = "name")]
    no_name: bool,
    /// What its content is sold as.
    #[arg(long, value_name = "NAME")]
    grade: Option<String>,
    #[arg(long, conflicts_with = "grade")]
    no_grade: bool,
    /// Its empty weight, with the unit.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse, allow_hyphen_values = true)]
    tare: Option<Weight>,
    #[arg(long, conflicts_with = "tare")]
    no_tare: bool,
    /// How much it takes, with the unit.
    #[arg(long, value_name = "WEIGHT", value_parser = Weight::parse)]
    capacity: Option<Weight>,
    #[arg(long, conflicts_with = "capacity")]
    no_capacity: bool,
    /// Room that it takes in the vehicle.
    #[arg(long, value_name = "LITRES")]
    litres: Option<u32>,
    #[arg(long, conflicts_with = "litres")]
    no_litres: bool,
    /// Out of use; what it held stays in the books.
    #[arg(long)]
    retire: bool,
    /// In use again.
    #[arg(long, conflicts_with = "retire")]
    unretire: bool,
    /// Only if it is still at this version (see `bin list --form json`).
    #[arg(long, value_name = "VERSION")]
    seen: Option<u64>,
}

impl Bin {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            Act::List { form, shelf } => return show::list(&shelf.open(at)?.bins()?, form, table),
            Act::Make { number, name, grade, tare, capacity } => {
                let (tare, capacity) = (tare.as_ref().map(Weight::body), capacity.as_ref().map(Weight::body));
                let body = json!({ "number": number, "name": name, "grade": grade, "tare": tare, "capacity": capacity });
                let daemon = reach(at)?;
                let made = daemon.post("/v1/bins", &body)?;
                let bins: Vec<BinView> = daemon.get("/v1/bins")?;
                let number = bins.iter().find(|bin| bin.id == made.id).map(|bin| bin.number).or(number);
                format!("bin {} made", show::or_dash(number))
            }
            Act::Change(change) => {
                reach(at)?.patch(&format!("/v1/bins/{}", change.number), &change.body(), change.seen)?;
                format!("bin {} changed", change.number)
            }
            Act::Choose { bin: Choice(number), bench } => {
                reach(at)?.put(&format!("/v1/benches/{bench}/bin"), &json!({ "number": number }))?;
                let what = number.map_or_else(|| "no bin is chosen".into(), |number| format!("bin {number} is chosen"));
                format!("bench {bench}: {what}")
            }
            Act::Empty { number, reason } => {
                reach(at)?.post(&format!("/v1/bins/{number}/empty"), &json!({ "reason": reason }))?;
                format!("bin {number} emptied")
            }
            Act::Pieces { number, pieces } => {
                reach(at)?.put(&format!("/v1/bins/{number}/pieces"), &json!({ "pieces": pieces }))?;
                format!("bin {number}: {pieces} pieces")
            }
            Act::Tip { number, to, reason } => {
                reach(at)?.post(&format!("/v1/bins/{number}/tip"), &json!({ "to": to, "reason": reason }))?;
                format!("bin {number} tipped into bin {to}")
            }
            Act::TakeBack { number, reason } => {
                reach(at)?.post(&format!("/v1/bins/{number}/take-back"), &json!({ "reason": reason }))?;
                format!("bin {number}: what was in it lies there again")
            }
            Act::Full { number } => {
                let kept = reach(at)?.post(&format!("/v1/bins/{number}/full"), &json!({}))?;
                if kept.made_now {
                    format!("bin {number} is full (record {})", kept.id)
                } else {
                    format!("bin {number} was full before")
                }
            }
            Act::Look { number, seen } => {
                let seen = seen.to_possible_value().map(|seen| seen.get_name().to_owned());
                reach(at)?.post(&format!("/v1/bins/{number}/look"), &json!({ "seen": seen }))?;
                format!("bin {number}: seen")
            }
            Act::Follow { number } => {
                reach(at)?.post(&format!("/v1/bins/{number}/follow"), &json!({}))?;
                format!("bin {number}: the books follow what was seen")
            }
            Act::Round { form: Form::Json, shelf } => return show::json(&shelf.open(at)?.round()?),
            Act::Round { form: Form::Text, shelf } => {
                return Ok(show::print(&text_places::round(&shelf.open(at)?.round()?))?);
            }
            Act::Stock { number, weighed } => {
                reach(at)?.post(&format!("/v1/bins/{number}/stock"), &weighed.body())?;
                format!("bin {number}: opening stock booked")
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

impl Change {
    /// A key that is absent is left alone, null clears it.
    fn body(&self) -> Value {
        let mut body = json!({});
        let weight = |weight: &Option<Weight>| weight.as_ref().map(Weight::body);
        let given: [(&str, Option<Value>, bool); 7] = [
            ("number", self.to.map(Value::from), false),
            ("name", self.name.clone().map(Value::from), self.no_name),
            ("grade", self.grade.clone().map(Value::from), self.no_grade),
            ("tare", weight(&self.tare), self.no_tare),
            ("capacity", weight(&self.capacity), self.no_capacity),
            ("litres", self.litres.map(Value::from), self.no_litres),
            ("retired", (self.retire || self.unretire).then_some(Value::from(self.retire)), false),
        ];
        for (key, value, cleared) in given {
            if cleared || value.is_some() {
                body[key] = value.into();
            }
        }
        body
    }
}

fn table(bins: &[BinView]) -> String {
    let head = [
        Cell::left("Bin"),
        Cell::left("Grade"),
        Cell::right("kg"),
        Cell::right("± kg"),
        Cell::right("lb"),
        Cell::right("Drops"),
        Cell::right("Empty kg"),
        Cell::right("Takes kg"),
        Cell::left("Since"),
    ];
    let row = |bin: &BinView| {
        let label = bin.name.as_ref().map_or(bin.number.to_string(), |name| format!("{} {name}", bin.number));
        let learned = if bin.tare_learned { " (as first seen)" } else { "" };
        let retired = if bin.retired { ", retired" } else { "" };
        vec![
            Cell::left(label),
            Cell::left(bin.grade.as_deref().unwrap_or("no grade yet")),
            Cell::right(&bin.mass.kg),
            Cell::right(&bin.uncertainty_kg),
            Cell::right(&bin.mass.lb),
            Cell::right(bin.drops.to_string()),
            Cell::right(format!("{}{learned}", show::kg(bin.tare.as_ref()))),
            Cell::right(show::kg(bin.capacity.as_ref())),
            Cell::left(format!("{}{retired}", show::time(&bin.since))),
        ]
    };
    show::table(&head, bins.iter().map(row).collect(), "There is no bin yet; one is made with: bismar bin make")
}
