//! `bismar grade`, `bismar buyer` and `bismar feed`: three lists of names.

use super::at::At;
use super::reach;
use super::shelf::{Names, ShelfArgs};
use super::show::{self, Form};
use crate::facts::Payout;
use crate::render::json::{FeedMarksView, NameView};
use crate::render::text::Cell;
use crate::render::text_prices;
use clap::builder::{NonEmptyStringValueParser, PossibleValuesParser};
use clap::{ArgGroup, Args, Subcommand, ValueEnum};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_json::json;

/// All that is not unreserved in RFC 3986, 2.3.
const RESERVED: AsciiSet = NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_').remove(b'~');

/// Grades: what buyers pay for.
#[derive(Args)]
pub struct Grade {
    #[command(subcommand)]
    act: GradeAct,
}

/// Buyers: who pays.
#[derive(Args)]
pub struct Buyer {
    #[command(subcommand)]
    act: BuyerAct,
}

/// Feeds: what is taken apart.
#[derive(Args)]
pub struct Feed {
    #[command(subcommand)]
    act: FeedAct,
}

#[derive(Subcommand)]
enum GradeAct {
    #[command(flatten)]
    Name(Act),
    /// What is told of each grade: what it can be folded into, its word in a specification, what buyers call it.
    Notes {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Says which coarser grade it can be folded into, or which word of a published specification it goes by.
    #[command(group(ArgGroup::new("told").required(true).multiple(true).args(["fallback", "no_fallback", "specification", "no_specification"])))]
    Note {
        #[arg(value_parser = NonEmptyStringValueParser::new())]
        name: String,
        /// The coarser grade.
        #[arg(long, value_name = "GRADE")]
        fallback: Option<String>,
        /// There is none.
        #[arg(long, conflicts_with = "fallback")]
        no_fallback: bool,
        /// The word of the specification.
        #[arg(long, value_name = "WORD")]
        specification: Option<String>,
        /// There is none.
        #[arg(long, conflicts_with = "specification")]
        no_specification: bool,
        /// Only if what is told is still at this version (see `notes --form json`).
        #[arg(long, value_name = "VERSION")]
        seen: Option<u64>,
    },
    /// Tells how much more time a month it takes to sort this grade out.
    #[command(group(ArgGroup::new("told").required(true).args(["minutes", "none"])))]
    Sorting {
        #[arg(value_parser = NonEmptyStringValueParser::new())]
        name: String,
        /// Minutes a month; 0 where it takes none.
        #[arg(long)]
        minutes: Option<u32>,
        /// Nobody knows, after all.
        #[arg(long)]
        none: bool,
    },
}

#[derive(Subcommand)]
enum FeedAct {
    #[command(flatten)]
    Name(Act),
    /// Your marks of every feed: they stand beside the pay.
    Marks {
        #[arg(long, value_enum, default_value_t)]
        form: Form,
        #[command(flatten)]
        shelf: ShelfArgs,
    },
    /// Marks a feed: the strain on the hands, the mess, the room that it takes, or why not at all.
    #[command(group(ArgGroup::new("what").required(true).multiple(true).args(["strain", "mess", "space", "veto", "no_veto"])))]
    Mark {
        #[arg(value_parser = NonEmptyStringValueParser::new())]
        name: String,
        /// On back and hands.
        #[arg(long, value_enum)]
        strain: Option<Strength>,
        /// Dust, oil, shards.
        #[arg(long, value_enum)]
        mess: Option<Strength>,
        /// Room that it takes while it is apart.
        #[arg(long, value_enum)]
        space: Option<Strength>,
        /// Why you would not take it, in your own words.
        #[arg(long, value_name = "TEXT")]
        veto: Option<String>,
        /// You would take it after all.
        #[arg(long, conflicts_with = "veto")]
        no_veto: bool,
    },
}

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Strength {
    None,
    Some,
    Much,
}

impl Strength {
    /// As the daemon calls it.
    pub fn code(self) -> String {
        self.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default()
    }
}

#[derive(Subcommand)]
enum BuyerAct {
    #[command(flatten)]
    Name(Act),
    /// Says how a total is paid out in cash.
    Payout {
        #[arg(value_parser = NonEmptyStringValueParser::new())]
        name: String,
        #[arg(value_parser = PossibleValuesParser::new(Payout::ALL.map(Payout::name)))]
        payout: String,
    },
    /// Says what a buyer calls a grade; without a grade the word is taken back.
    Word { name: String, word: String, grade: Option<String> },
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
        let (name, fallback, no_fallback, specification, no_specification, seen) = match self.act {
            GradeAct::Name(act) => return act.run(at, Names::Grades, "grade"),
            GradeAct::Notes { form, shelf } => return show::list(&shelf.open(at)?.grade_notes()?, form, text_prices::grades),
            GradeAct::Note { name, fallback, no_fallback, specification, no_specification, seen } => {
                (name, fallback, no_fallback, specification, no_specification, seen)
            }
            GradeAct::Sorting { name, minutes, none: _ } => {
                let path = format!("{}/{}/sorting", Names::Grades.path(), utf8_percent_encode(&name, &RESERVED));
                reach(at)?.put(&path, &json!({ "minutes_a_month": minutes }))?;
                return Ok(show::print(&format!("sorting of \"{name}\" is told\n"))?);
            }
        };
        let mut body = json!({});
        if fallback.is_some() || no_fallback {
            body["fallback"] = fallback.into();
        }
        if specification.is_some() || no_specification {
            body["specification"] = specification.into();
        }
        reach(at)?.patch(&format!("/v1/grades/{}/note", utf8_percent_encode(&name, &RESERVED)), &body, seen)?;
        Ok(show::print(&format!("grade \"{name}\" noted\n"))?)
    }
}

impl Buyer {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        let done = match self.act {
            BuyerAct::Name(act) => return act.run(at, Names::Buyers, "buyer"),
            BuyerAct::Payout { name, payout } => {
                let path = format!("/v1/buyers/{}/payout", utf8_percent_encode(&name, &RESERVED));
                reach(at)?.put(&path, &json!({ "payout": payout }))?;
                format!("buyer \"{name}\" pays out in cash: {payout}")
            }
            BuyerAct::Word { name, word, grade } => {
                reach(at)?.post("/v1/words", &json!({ "buyer": name, "word": word, "grade": grade }))?;
                match grade {
                    Some(grade) => format!("by \"{word}\" {name} means {grade}"),
                    None => format!("the word \"{word}\" of {name} is taken back"),
                }
            }
        };
        Ok(show::print(&format!("{done}\n"))?)
    }
}

impl Feed {
    pub fn run(self, at: At) -> anyhow::Result<()> {
        match self.act {
            FeedAct::Name(act) => act.run(at, Names::Feeds, "feed"),
            FeedAct::Marks { form, shelf } => show::list(&shelf.open(at)?.marks()?, form, marks),
            FeedAct::Mark { name, strain, mess, space, veto, no_veto } => {
                let mut body = json!({});
                for (key, mark) in [("strain", strain), ("mess", mess), ("space", space)] {
                    if let Some(mark) = mark {
                        body[key] = mark.code().into();
                    }
                }
                if veto.is_some() || no_veto {
                    body["veto"] = veto.into();
                }
                let path = format!("{}/{}/marks", Names::Feeds.path(), utf8_percent_encode(&name, &RESERVED));
                reach(at)?.patch(&path, &body, None)?;
                Ok(show::print(&format!("feed \"{name}\" is marked\n"))?)
            }
        }
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

fn marks(feeds: &[FeedMarksView]) -> String {
    let head = ["Feed", "Strain", "Mess", "Space", "Not this, because"].map(Cell::left);
    let row = |feed: &FeedMarksView| {
        let marks = &feed.marks;
        let veto = marks.veto.as_deref().unwrap_or("");
        [&feed.feed, &marks.strain, &marks.mess, &marks.space].map(Cell::left).into_iter().chain([Cell::left(veto)]).collect()
    };
    show::table(&head, feeds.iter().map(row).collect(), "There is no feed yet; one is made with: bismar feed make NAME")
}

fn table(names: &[NameView], word: &str) -> String {
    let row = |name: &NameView| vec![Cell::left(&name.name), Cell::left(if name.retired { "retired" } else { "" })];
    let nothing = format!("There is no {word} yet; one is made with: bismar {word} make NAME");
    show::table(&[Cell::left("Name"), Cell::left("")], names.iter().map(row).collect(), &nothing)
}
