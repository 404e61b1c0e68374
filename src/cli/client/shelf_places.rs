//! Where the answers about marks, places and the round come from: the daemon, or the roll itself.

use super::shelf::{Shelf, told};
use crate::clock::Clock;
use crate::config::{CURRENCY, STALE_AFTER};
use crate::economy::marks::Today;
use crate::facts::{Books, GradeId, Mark};
use crate::measure::Currency;
use crate::query::{self, HourQuestion, KerbQuestion, PlacesQuestion, WireQuestion};
use crate::render::json::{
    FeedMarksView, KerbView, LimitsView, PlacesView, RoundView, TripFactsView, WireReportView, WireSampleView, feed_marks,
};
use crate::render::place_words::mark_of;
use anyhow::Context;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use rust_decimal::Decimal;

/// What is asked of the kerb list on the command line.
pub struct KerbAsked {
    pub as_of: Option<Date>,
    pub buyer: Option<String>,
    pub floor: Option<Decimal>,
    /// The code of a mark: the most that today allows.
    pub strain: Option<String>,
    pub mess: Option<String>,
    pub space: Option<String>,
}

impl Shelf {
    pub fn marks(&self) -> anyhow::Result<Vec<FeedMarksView>> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/marks")),
            Shelf::Folded(books) => Ok(feed_marks(books)),
        }
    }

    pub fn limits(&self) -> anyhow::Result<LimitsView> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/limits")),
            Shelf::Folded(books) => Ok(LimitsView::from(&**books)),
        }
    }

    /// What a drive is planned from.
    pub fn trip_facts(&self) -> anyhow::Result<TripFactsView> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/trip-facts")),
            Shelf::Folded(books) => Ok(TripFactsView::from(&**books)),
        }
    }

    pub fn round(&self) -> anyhow::Result<RoundView> {
        match self {
            Shelf::Daemon(daemon) => told(daemon.get("/v1/stock-round")),
            Shelf::Folded(books) => Ok(RoundView::from(&query::round(books, today(), &TimeZone::system()))),
        }
    }

    /// Every sample of wire, newest first.
    pub fn wire_samples(&self) -> anyhow::Result<Vec<WireSampleView>> {
        Ok(self.wire(&WireAsked::default())?.samples)
    }

    /// Whether stripping wire pays.
    pub fn wire(&self, asked: &WireAsked) -> anyhow::Result<WireReportView> {
        let books = match self {
            Shelf::Daemon(daemon) => return told(daemon.get(&format!("/v1/reports/wire.json{}", asked.query()))),
            Shelf::Folded(books) => books,
        };
        let known = |name: &String| query::buyer_named(books, name).with_context(|| format!("there is no buyer {name:?}"));
        let question = WireQuestion {
            day: asked.as_of.unwrap_or_else(today),
            stale_after: STALE_AFTER,
            currency: Currency::parse(CURRENCY).expect("three capital letters"),
            buyer: asked.buyer.as_ref().map(known).transpose()?,
            floor: asked.floor,
            disposal: asked.disposal,
            left: asked.left,
        };
        Ok(WireReportView::from(&query::wire(books, &question)))
    }

    /// Which grades earn a place.
    pub fn places(&self, asked: &PlacesAsked) -> anyhow::Result<PlacesView> {
        let books = match self {
            Shelf::Daemon(daemon) => return told(daemon.get(&format!("/v1/reports/places.json{}", asked.query()))),
            Shelf::Folded(books) => books,
        };
        let known = |name: &String| query::buyer_named(books, name).with_context(|| format!("there is no buyer {name:?}"));
        let question = PlacesQuestion {
            day: asked.as_of.unwrap_or_else(today),
            zone: TimeZone::system(),
            stale_after: STALE_AFTER,
            currency: Currency::parse(CURRENCY).expect("three capital letters"),
            buyer: asked.buyer.as_ref().map(known).transpose()?,
            floor: asked.floor,
            places: asked.places,
            coarser: asked.coarser.iter().map(|pair| pair.of(books)).collect::<anyhow::Result<_>>()?,
        };
        Ok(PlacesView::from(&query::places(books, &question)))
    }

    pub fn kerb(&self, asked: &KerbAsked) -> anyhow::Result<KerbView> {
        let books = match self {
            Shelf::Daemon(daemon) => return told(daemon.get(&format!("/v1/reports/kerb.json{}", asked.query()))),
            Shelf::Folded(books) => books,
        };
        let most = |code: &Option<String>| code.as_deref().and_then(mark_of).unwrap_or(Mark::Much);
        let today = Today { strain: most(&asked.strain), mess: most(&asked.mess), space: most(&asked.space) };
        let hour = hour_question(books, asked.as_of, asked.buyer.as_deref())?;
        Ok(KerbView::from(&query::kerb(books, &KerbQuestion { hour, floor: asked.floor, today })))
    }
}

/// What is asked of the report on wire on the command line.
#[derive(Default)]
pub struct WireAsked {
    pub as_of: Option<Date>,
    pub buyer: Option<String>,
    pub floor: Option<Decimal>,
    pub disposal: Option<Decimal>,
    pub left: bool,
}

impl WireAsked {
    fn query(&self) -> String {
        let fields = [
            ("as_of", self.as_of.map(|day| day.to_string())),
            ("buyer", self.buyer.clone()),
            ("floor", self.floor.map(|floor| floor.to_string())),
            ("disposal", self.disposal.map(|disposal| disposal.to_string())),
        ];
        asked(&format!("?left={}", self.left), fields)
    }
}

/// What is asked of the report on places on the command line.
pub struct PlacesAsked {
    pub as_of: Option<Date>,
    pub buyer: Option<String>,
    pub floor: Option<Decimal>,
    pub places: Option<u32>,
    pub coarser: Vec<GoesInWith>,
}

/// A grade and the coarser one that it can go in with, as in `red brass>mixed brass`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GoesInWith {
    fine: String,
    coarse: String,
}

impl GoesInWith {
    pub fn parse(text: &str) -> Result<GoesInWith, String> {
        let (fine, coarse) = text.split_once('>').ok_or("two grades, as in \"red brass>mixed brass\"")?;
        Ok(GoesInWith { fine: fine.trim().to_owned(), coarse: coarse.trim().to_owned() })
    }

    fn of(&self, books: &Books) -> anyhow::Result<(GradeId, GradeId)> {
        let known = |name: &str| query::grade_named(books, name).with_context(|| format!("there is no grade {name:?}"));
        Ok((known(&self.fine)?, known(&self.coarse)?))
    }
}

impl PlacesAsked {
    fn query(&self) -> String {
        let fields = [
            ("as_of", self.as_of.map(|day| day.to_string())),
            ("buyer", self.buyer.clone()),
            ("floor", self.floor.map(|floor| floor.to_string())),
            ("places", self.places.map(|places| places.to_string())),
        ];
        let pairs: Vec<String> = self.coarser.iter().map(|pair| format!("{}>{}", pair.fine, pair.coarse)).collect();
        let coarser = utf8_percent_encode(&pairs.join(";"), NON_ALPHANUMERIC).to_string();
        asked(&format!("?coarser={coarser}"), fields)
    }
}

pub fn today() -> Date {
    TimeZone::system().to_datetime(Clock::system().now().wall).date()
}

/// The fields that are given, behind the first one.
pub fn asked<const N: usize>(first: &str, fields: [(&str, Option<String>); N]) -> String {
    let given = fields.into_iter().filter_map(|(key, text)| Some((key, text?)));
    given.fold(first.to_owned(), |query, (key, text)| format!("{query}&{key}={}", utf8_percent_encode(&text, NON_ALPHANUMERIC)))
}

impl KerbAsked {
    fn query(&self) -> String {
        let fields = [
            ("as_of", self.as_of.map(|day| day.to_string())),
            ("buyer", self.buyer.clone()),
            ("floor", self.floor.map(|floor| floor.to_string())),
            ("strain", self.strain.clone()),
            ("mess", self.mess.clone()),
            ("space", self.space.clone()),
        ];
        asked("?left=true", fields)
    }
}

/// The question by which the kerb list stands: what nobody buys whole would have been left.
fn hour_question(books: &Books, as_of: Option<Date>, buyer: Option<&str>) -> anyhow::Result<HourQuestion> {
    let (zone, now) = (TimeZone::system(), Clock::system().now());
    let known = |name: &str| query::buyer_named(books, name).with_context(|| format!("there is no buyer {name:?}"));
    Ok(HourQuestion {
        now,
        today: zone.to_datetime(now.wall).date(),
        as_of,
        zone,
        stale_after: STALE_AFTER,
        currency: Currency::parse(CURRENCY).expect("three capital letters"),
        buyer: buyer.map(known).transpose()?,
        left: true,
        floor: None,
    })
}
