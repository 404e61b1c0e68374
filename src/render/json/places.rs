//! Marks, limits, the kerb list and the round through the stock, as JSON.

use super::hour::plain;
use super::{FigureView, MassView, MoneyView, StampView};
use crate::economy::marks::When;
use crate::facts::{Books, Marks};
use crate::query;
use crate::render::kerb_words;
use crate::render::place_words::{mark_code, seen_code};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The owner's marks: each of strain, mess and space is `none`, `some` or `much`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct MarksView {
    /// On back and hands.
    pub strain: String,
    /// Dust, oil, shards.
    pub mess: String,
    /// Room that it takes while it is apart.
    pub space: String,
    /// Why not at all, in the owner's words.
    pub veto: Option<String>,
}

impl From<&Marks> for MarksView {
    fn from(marks: &Marks) -> MarksView {
        let [strain, mess, space] = [marks.strain, marks.mess, marks.space].map(|mark| mark_code(mark).to_owned());
        MarksView { strain, mess, space, veto: marks.veto.clone() }
    }
}

impl MarksView {
    /// Nothing was marked that is worth a word.
    pub fn is_plain(&self) -> bool {
        self.veto.is_none() && [&self.strain, &self.mess, &self.space].iter().all(|mark| *mark == "none")
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FeedMarksView {
    pub feed: String,
    pub marks: MarksView,
    /// To be sent as `If-Match` with a change; 0 while nobody has marked it.
    pub version: u64,
}

/// The marks of every feed in use, by name.
pub fn feed_marks(books: &Books) -> Vec<FeedMarksView> {
    let in_use = books.feeds.iter().filter(|(_, feed)| !feed.retired);
    let mut lines: Vec<FeedMarksView> = in_use
        .map(|(id, feed)| {
            let known = books.marks.get(id).cloned().unwrap_or_default();
            FeedMarksView { feed: feed.name.clone(), marks: (&known.marks).into(), version: known.changed }
        })
        .collect();
    lines.sort_by(|a, b| a.feed.cmp(&b.feed));
    lines
}

/// What an hour must bring, and the places for bins; null where nobody has said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LimitsView {
    pub floor_per_hour: Option<MoneyView>,
    pub places: Option<u32>,
    /// To be sent as `If-Match` with a change.
    pub version: u64,
}

impl From<&Books> for LimitsView {
    fn from(books: &Books) -> LimitsView {
        let limits = books.limits;
        LimitsView { floor_per_hour: limits.floor.map(MoneyView::from), places: limits.places, version: limits.changed }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KerbView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    /// Which prices the figures stand on.
    pub prices: String,
    pub currency: String,
    /// Null where nobody has said: then an hour must bring nothing.
    pub floor_per_hour: Option<String>,
    /// It is the one that the owner told.
    pub floor_told: bool,
    /// The most that today allows.
    pub today: TodayView,
    /// In their order.
    pub lines: Vec<KerbLineView>,
    pub notes: Vec<String>,
}

/// Each is `none`, `some` or `much`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TodayView {
    pub strain: String,
    pub mess: String,
    pub space: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct KerbLineView {
    pub feed: String,
    /// The depth that brings most.
    pub depth: Option<String>,
    /// `take-first`, `room-left` or `leave-today`.
    pub when: String,
    /// What an hour of it adds; null while nothing is known.
    pub adds_per_hour: Option<FigureView>,
    pub closed_lots: usize,
    /// The figure is that of one trial against the clock.
    pub by_trial: bool,
    /// In one line.
    pub reason: String,
    pub marks: MarksView,
}

impl From<&query::Kerb> for KerbView {
    fn from(kerb: &query::Kerb) -> KerbView {
        let [strain, mess, space] = [kerb.today.strain, kerb.today.mess, kerb.today.space].map(|mark| mark_code(mark).to_owned());
        KerbView {
            seq: kerb.seq,
            day: kerb.day.to_string(),
            prices: kerb_words::prices(kerb),
            currency: kerb.currency.to_string(),
            floor_per_hour: kerb.floor.map(plain),
            floor_told: kerb.floor_told,
            today: TodayView { strain, mess, space },
            lines: kerb.lines.iter().map(|line| line_view(kerb, line)).collect(),
            notes: kerb_words::notes(kerb),
        }
    }
}

fn line_view(kerb: &query::Kerb, line: &query::KerbLine) -> KerbLineView {
    let when = match line.when {
        When::First => "take-first",
        When::IfRoom(_) => "room-left",
        When::NotToday(_) => "leave-today",
    };
    KerbLineView {
        feed: line.name.clone(),
        depth: line.depth.clone(),
        when: when.to_owned(),
        adds_per_hour: line.per_hour.map(|value| FigureView {
            value: plain(value),
            low: line.interval.map(|interval| plain(interval.low)),
            high: line.interval.map(|interval| plain(interval.high)),
        }),
        closed_lots: line.closed_lots,
        by_trial: line.by_trial,
        reason: kerb_words::reason(kerb, line),
        marks: (&line.marks).into(),
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RoundView {
    /// The books stand at this event.
    pub seq: u64,
    pub day: String,
    /// Where a round is due.
    pub reminder: Option<String>,
    pub bins: Vec<RoundLineView>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RoundLineView {
    pub number: u32,
    pub name: Option<String>,
    pub grade: Option<String>,
    /// What the books hold.
    pub booked: MassView,
    /// `right`, `three-quarters`, `half`, `quarter` or `emptied`; null before the first look.
    pub seen: Option<String>,
    /// What the books held at that look.
    pub booked_then: Option<MassView>,
    pub looked: Option<StampView>,
    /// Since the last look, or since the bin was last emptied; null where no clock could be trusted.
    pub days: Option<i64>,
    pub due: bool,
    /// What was seen waits for an answer.
    pub open: bool,
    /// Somebody tapped that it is full.
    pub full: bool,
}

impl From<&query::Round> for RoundView {
    fn from(round: &query::Round) -> RoundView {
        let line = |line: &query::RoundLine| RoundLineView {
            number: line.number,
            name: line.name.clone(),
            grade: line.grade.clone(),
            booked: line.booked.into(),
            seen: line.look.map(|look| seen_code(look.seen).to_owned()),
            booked_then: line.look.map(|look| look.booked.into()),
            looked: line.look.map(|look| (&look.at).into()),
            days: line.days,
            due: line.due,
            open: line.open,
            full: line.full,
        };
        RoundView {
            seq: round.seq,
            day: round.day.to_string(),
            reminder: crate::render::place_words::round_due(&round.due()),
            bins: round.lines.iter().map(line).collect(),
        }
    }
}
