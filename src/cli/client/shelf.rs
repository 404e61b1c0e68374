//! Where answers come from: the daemon, or, with none running, the roll itself.

use super::at::At;
use super::daemon::{Daemon, Fault};
use crate::clock::Clock;
use crate::config::{CHECK_EVERY, CURRENCY, STALE_AFTER, default_store};
use crate::facts::Books;
use crate::measure::{Currency, PriceUnit};
use crate::query::{
    self, CheckQuestion, CheckRule, DropQuestion, GridQuestion, HourQuestion, PricesQuestion, TicketQuestion, WeekQuestion,
    YardRunQuestion, YearQuestion,
};
use crate::render::json::{
    ArrivalView, BinView, BuyerPricesView, BuyersView, DropView, GradeNoteView, HourView, LotView, NameView, PriceHistoryView,
    QuoteView, ScaleChecksView, SessionView, SpendingView, TicketView, TimeView, TrialView, WeekView, YardRunView, YearView,
};
use crate::store::{self, RealDisk};
use anyhow::{Context, bail, ensure};
use clap::Args;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use rust_decimal::Decimal;
use std::path::{Path, PathBuf};

/// The books themselves instead of the daemon.
#[derive(Args)]
pub struct ShelfArgs {
    /// Read the books in this directory, with no daemon; days are those of this machine's zone.
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

/// A source of answers. Both sides give the same views, so the same code shows them.
pub enum Shelf {
    Daemon(Daemon),
    Folded(Box<Books>),
}

/// Grades, feeds or buyers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Names {
    Grades,
    Feeds,
    Buyers,
}

impl Names {
    pub const fn path(self) -> &'static str {
        match self {
            Names::Grades => "/v1/grades",
            Names::Feeds => "/v1/feeds",
            Names::Buyers => "/v1/buyers",
        }
    }
}

impl ShelfArgs {
    pub fn open(self, at: At) -> anyhow::Result<Shelf> {
        match self.store {
            None => Ok(Shelf::Daemon(Daemon::at(at)?)),
            Some(dir) => fold(&dir).map(|books| Shelf::Folded(Box::new(books))),
        }
    }
}

/// The directory of the books: as named, else the usual one.
pub fn home(named: Option<PathBuf>) -> PathBuf {
    named.unwrap_or_else(|| default_store(|name| std::env::var(name).ok()))
}

/// Folds the roll, and tells on standard error what was odd about it.
fn fold(dir: &Path) -> anyhow::Result<Books> {
    let (books, notes) = store::fold_roll(dir, &RealDisk)?;
    for note in notes {
        eprintln!("bismar: {note}");
    }
    ensure!(books.seq > 0, "{}: there are no books here; name the directory that the daemon keeps them in", dir.display());
    Ok(books)
}

impl Shelf {
    pub fn bins(&self) -> anyhow::Result<Vec<BinView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/bins")),
            Shelf::Folded(books) => Ok(query::bins(books).iter().map(BinView::from).collect()),
        }
    }

    pub fn names(&self, which: Names) -> anyhow::Result<Vec<NameView>> {
        let books = match self {
            Shelf::Daemon(daemon) => return told(daemon.get(which.path())),
            Shelf::Folded(books) => books,
        };
        let lines = match which {
            Names::Grades => query::names(&books.grades, |grade| grade.0),
            Names::Feeds => query::names(&books.feeds, |feed| feed.0),
            Names::Buyers => query::names(&books.buyers, |buyer| buyer.0),
        };
        Ok(lines.iter().map(NameView::from).collect())
    }

    pub fn quotes(&self) -> anyhow::Result<Vec<QuoteView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/quotes")),
            Shelf::Folded(books) => Ok(query::quotes(books).iter().map(QuoteView::from).collect()),
        }
    }

    /// What each buyer pays today.
    pub fn prices(&self) -> anyhow::Result<Vec<BuyerPricesView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/prices")),
            Shelf::Folded(books) => {
                let question = GridQuestion { day: today(), currency: usual_currency(), stale_after: STALE_AFTER };
                Ok(query::price_grid(books, &question).iter().map(BuyerPricesView::from).collect())
            }
        }
    }

    pub fn grade_notes(&self) -> anyhow::Result<Vec<GradeNoteView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/grade-notes")),
            Shelf::Folded(books) => Ok(query::grade_lines(books).iter().map(GradeNoteView::from).collect()),
        }
    }

    /// Every price that was given, of one grade and one buyer where they are named.
    pub fn price_history(
        &self,
        as_of: Option<Date>,
        grade: Option<&str>,
        buyer: Option<&str>,
        unit: Option<PriceUnit>,
    ) -> anyhow::Result<PriceHistoryView> {
        match self {
            Shelf::Daemon(daemon) => {
                let named = [
                    ("as_of", as_of.map(|day| day.to_string())),
                    ("grade", grade.map(str::to_owned)),
                    ("buyer", buyer.map(str::to_owned)),
                    ("unit", unit.map(|unit| unit.symbol().to_owned())),
                ];
                let parts = named
                    .into_iter()
                    .filter_map(|(key, value)| Some(format!("{key}={}", utf8_percent_encode(&value?, NON_ALPHANUMERIC))));
                told(daemon.get(&format!("/v1/reports/prices.json?{}", parts.collect::<Vec<_>>().join("&"))))
            }
            Shelf::Folded(books) => {
                let of_grade =
                    |name: &str| query::grade_named(books, name).with_context(|| format!("there is no grade {name:?}"));
                let of_buyer =
                    |name: &str| query::buyer_named(books, name).with_context(|| format!("there is no buyer {name:?}"));
                let question = PricesQuestion {
                    today: today(),
                    as_of,
                    stale_after: STALE_AFTER,
                    grade: grade.map(of_grade).transpose()?,
                    buyer: buyer.map(of_buyer).transpose()?,
                    unit,
                };
                Ok(PriceHistoryView::from(&query::price_history(books, &question)))
            }
        }
    }

    /// With no daemon nobody knows the class of the scales, so nothing is judged by one.
    pub fn checks(&self) -> anyhow::Result<Vec<ScaleChecksView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/check-weights")),
            Shelf::Folded(books) => Ok(query::checks(books, &check_question()).iter().map(ScaleChecksView::from).collect()),
        }
    }

    pub fn sessions(&self) -> anyhow::Result<Vec<SessionView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/sessions")),
            Shelf::Folded(books) => Ok(query::sessions(books, &Clock::system().now()).iter().map(SessionView::from).collect()),
        }
    }

    pub fn lots(&self) -> anyhow::Result<Vec<LotView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/lots")),
            Shelf::Folded(books) => Ok(query::lots(books).iter().map(LotView::from).collect()),
        }
    }

    pub fn buyers(&self) -> anyhow::Result<BuyersView> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/reports/buyers.json")),
            Shelf::Folded(books) => {
                let zone = TimeZone::system();
                let question = TicketQuestion { today: zone.to_datetime(Clock::system().now().wall).date(), zone };
                Ok(BuyersView::from(&query::buyers(books, &question)))
            }
        }
    }

    pub fn year(&self, year: Option<i16>) -> anyhow::Result<YearView> {
        match self {
            Shelf::Daemon(daemon) => {
                let asked = year.map(|year| format!("?year={year}")).unwrap_or_default();
                told(daemon.get(&format!("/v1/reports/year.json{asked}")))
            }
            Shelf::Folded(books) => {
                let zone = TimeZone::system();
                let today = zone.to_datetime(Clock::system().now().wall).date();
                let year = year.unwrap_or_else(|| today.year());
                let question = YearQuestion { year, today, zone, stale_after: STALE_AFTER };
                Ok(YearView::from(&query::year(books, &question)))
            }
        }
    }

    pub fn tickets(&self) -> anyhow::Result<Vec<TicketView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/tickets")),
            Shelf::Folded(books) => {
                let zone = TimeZone::system();
                let question = TicketQuestion { today: zone.to_datetime(Clock::system().now().wall).date(), zone };
                let answers = query::tickets(books, &question);
                Ok(answers.iter().map(TicketView::from).collect())
            }
        }
    }

    pub fn arrivals(&self) -> anyhow::Result<Vec<ArrivalView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/arrivals")),
            Shelf::Folded(books) => Ok(query::arrivals(books).iter().map(ArrivalView::from).collect()),
        }
    }

    pub fn spendings(&self) -> anyhow::Result<Vec<SpendingView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/spendings")),
            Shelf::Folded(books) => Ok(query::spendings(books).iter().map(SpendingView::from).collect()),
        }
    }

    pub fn times(&self) -> anyhow::Result<Vec<TimeView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/minutes")),
            Shelf::Folded(books) => Ok(query::times(books).iter().map(TimeView::from).collect()),
        }
    }

    /// Trials against the clock, at today's best quotes.
    pub fn trials(&self) -> anyhow::Result<Vec<TrialView>> {
        Ok(self.hour(None, None, false, None)?.trials)
    }

    pub fn drops(&self, question: &DropQuestion) -> anyhow::Result<Vec<DropView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get(&format!("/v1/drops?{}", asked(question)))),
            Shelf::Folded(books) => Ok(query::drops(books, question).iter().map(DropView::from).collect()),
        }
    }

    /// The report before the yard run, as of now or of the end of a day.
    pub fn yard_run(&self, as_of: Option<Date>) -> anyhow::Result<YardRunView> {
        match self {
            Shelf::Daemon(daemon) => {
                let day = as_of.map(|day| format!("?as_of={day}")).unwrap_or_default();
                told(daemon.get(&format!("/v1/reports/yard-run.json{day}")))
            }
            Shelf::Folded(books) => {
                let zone = TimeZone::system();
                let today = zone.to_datetime(Clock::system().now().wall).date();
                let question = YardRunQuestion { today, as_of, zone, stale_after: STALE_AFTER };
                Ok(YardRunView::from(&query::yard_run(books, &question)))
            }
        }
    }

    /// What came into each bin on each of the seven days until this one, else until today.
    pub fn week(&self, as_of: Option<Date>) -> anyhow::Result<WeekView> {
        match self {
            Shelf::Daemon(daemon) => {
                let day = as_of.map(|day| format!("?as_of={day}")).unwrap_or_default();
                told(daemon.get(&format!("/v1/reports/week.json{day}")))
            }
            Shelf::Folded(books) => {
                let zone = TimeZone::system();
                let until = as_of.unwrap_or_else(|| zone.to_datetime(Clock::system().now().wall).date());
                Ok(WeekView::from(&query::week(books, &WeekQuestion { until, zone })))
            }
        }
    }

    /// What an hour is worth.
    pub fn hour(&self, as_of: Option<Date>, buyer: Option<&str>, left: bool, floor: Option<Decimal>) -> anyhow::Result<HourView> {
        match self {
            Shelf::Daemon(daemon) => {
                let day = as_of.map(|day| format!("&as_of={day}")).unwrap_or_default();
                let buyer =
                    buyer.map(|buyer| format!("&buyer={}", utf8_percent_encode(buyer, NON_ALPHANUMERIC))).unwrap_or_default();
                let floor = floor.map(|floor| format!("&floor={floor}")).unwrap_or_default();
                told(daemon.get(&format!("/v1/reports/hour.json?left={left}{floor}{day}{buyer}")))
            }
            Shelf::Folded(books) => {
                let (zone, now) = (TimeZone::system(), Clock::system().now());
                let known = |name: &str| query::buyer_named(books, name).with_context(|| format!("there is no buyer {name:?}"));
                let question = HourQuestion {
                    now,
                    today: zone.to_datetime(now.wall).date(),
                    as_of,
                    zone,
                    stale_after: STALE_AFTER,
                    currency: usual_currency(),
                    buyer: buyer.map(known).transpose()?,
                    left,
                    floor,
                };
                Ok(HourView::from(&query::hour(books, &question)))
            }
        }
    }
}

/// With no daemon a day is one of this machine's zone.
pub(super) fn today() -> Date {
    TimeZone::system().to_datetime(Clock::system().now().wall).date()
}

pub(super) fn usual_currency() -> Currency {
    Currency::parse(CURRENCY).expect("three capital letters")
}

fn check_question() -> CheckQuestion {
    let rule = CheckRule { every_days: CHECK_EVERY, held: None };
    CheckQuestion { now: Clock::system().now(), zone: TimeZone::system(), rule }
}

fn asked(question: &DropQuestion) -> String {
    let mut query = format!("limit={}&unassigned={}", question.limit, question.unassigned);
    let given = [
        ("bench", question.bench.map(|bench| u64::from(bench.0))),
        ("bin", question.bin.map(u64::from)),
        ("session", question.session.map(|session| session.0)),
        ("before", question.before.map(|entry| entry.0)),
    ];
    for (name, value) in given {
        if let Some(value) = value {
            query.push_str(&format!("&{name}={value}"));
        }
    }
    query
}

/// A verb that only reads has another way when there is no daemon.
pub(super) fn told<T>(answer: Result<T, Fault>) -> anyhow::Result<T> {
    match answer {
        Err(fault @ Fault::NotThere { .. }) => bail!("{fault}; with none running, --store DIR reads the books themselves"),
        other => Ok(other?),
    }
}
