//! `bismar grade`, `bismar buyer` and `bismar feed`: three lists of names.

use super::at::At;
use super::reach;
use super::shelf::{Names, ShelfArgs};
use super::show::{self, Form};
use crate::render::json::NameView;
use crate::render::text::Cell;
use clap::builder::NonEmptyStringValueParser;
use clap::{ArgGroup, Args, Subcommand};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_json::json;

/// All that is not unreserved in RFC 3986, 2.3.
const RESERVED: AsciiSet = NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~');

/// Grades: what buyers pay for.
#[derive(Args)]
pub struct Grade {
    #[command(subcommand)]
    act: Act,
}

/// Buyers: who pays.
#[derive(Args)]
pub struct Buyer {
    #[command(subcommand)]
    act: Act,
}

/// Feeds: what is taken apart.
#[derive(Args)]
pub struct Feed {
    #[command(subcommand)]
    act: Act,
}

#[derive(Subcommand)]
enum Act {
    /// Every one of them.
    List {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Adds one.
    Make { name: String },
    /// Renames one, retires it or takes it back; what was booked under it stays.
    #[command(group(ArgGroup::new("what").required(true).multiple(true).args(["to", "retire", "unretire"])))]
    Change {
        #[arg(value_parser = NonEmptyStringValueParser::new())]
        name: String,
        /// Its new name.
        #[arg(long, value_name = "NAME")]
        to: Option<String>,
        /// Out of use; what was booked under it stays in the books.
        #[arg(long)]
        retire: bool,
        /// In use again.
        #[arg(long, conflicts_with = "retire")]
        unretire: bool,
        /// Only if it is still at this version (see `list --form json`).
        #[arg(long, value_name = "VERSION")]
        seen: Option<u64>,
    },
}

impl Grade {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        self.act.run(at, Names::Grades, "grade")
    }
}

impl Buyer {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        self.act.run(at, Names::Buyers, "buyer")
    }
}

impl Feed {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        self.act.run(at, Names::Feeds, "feed")
    }
}

impl Act {
    fn run(self, at: At, names: Names, word: &str) -> anyhow::Result<()> {
        let done = match self {
            Act::List { form, shelf } => {
                return show::list(&shelf.open(at)?.names(names)?, form, |names| table(names, word));
            }
            Act::Make { name } => {
                reach(at)?.post(names.path(), &json!({ "name": name }))?;
                format!("{word} \"{}\" made", name.trim())
            }
            Act::Change { name, to, retire, unretire, seen } => {
                let mut body = json!({});
                if let Some(to) = to {
                    body["name"] = to.into();
                }
                if retire || unretire {
                    body["retired"] = retire.into();
                }
                let path = format!("{}/{}", names.path(), utf8_percent_encode(&name, &RESERVED));
                reach(at)?.patch(&path, &body, seen)?;
                format!("{word} \"{name}\" changed")
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

fn table(names: &[NameView], word: &str) -> String {
    let row = |name: &NameView| vec![Cell::left(&name.name), Cell::left(if name.retired { "retired" } else { "" })];
    let nothing = format!("There is no {word} yet; one is made with: bismar {word} make NAME");
    show::table(&[Cell::left("Name"), Cell::left("")], names.iter().map(row).collect(), &nothing)
}
