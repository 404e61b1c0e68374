//! What to take at the kerb: every feed in use, by what an hour of it brings, and what the owner marked.

use super::hour::{FeedHour, HourQuestion, HourReport, hour};
use crate::economy::basis::Basis;
use crate::economy::interval::Interval;
use crate::economy::marks::{Marks, Today, Waiting, When, order};
use crate::economy::ratio::Ratio;
use crate::facts::{Books, FeedId};
use crate::measure::{Currency, Money};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// What is asked. The floor is what the hour question says, else what the owner told, else none.
#[derive(Debug, Clone)]
pub struct KerbQuestion {
    pub hour: HourQuestion,
    /// What an hour must bring, where it is asked anew.
    pub floor: Option<Decimal>,
    pub today: Today,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Kerb {
    /// The books stand at this event.
    pub seq: u64,
    pub day: Date,
    pub basis: Basis,
    pub buyer: Option<String>,
    pub currency: Currency,
    /// None where nobody has said: then an hour must bring nothing.
    pub floor: Option<Decimal>,
    /// It is the one that the owner told.
    pub floor_told: bool,
    /// A floor that was told in another currency, and is not compared.
    pub floor_elsewhere: Option<Money>,
    /// What nobody buys whole is counted against leaving it where it stands.
    pub left: bool,
    pub today: Today,
    /// In their order.
    pub lines: Vec<KerbLine>,
}

/// One feed.
#[derive(Debug, Clone, PartialEq)]
pub struct KerbLine {
    pub feed: FeedId,
    pub name: String,
    /// The depth that brings most, in the owner's own word.
    pub depth: Option<String>,
    pub per_hour: Option<Decimal>,
    pub interval: Option<Interval>,
    pub closed_lots: usize,
    pub by_trial: bool,
    pub marks: Marks,
    pub when: When,
}

/// The figure of a feed, with where it comes from.
struct Known {
    depth: Option<String>,
    per_hour: Decimal,
    interval: Option<Interval>,
    closed_lots: usize,
    by_trial: bool,
}

pub fn kerb(books: &Books, question: &KerbQuestion) -> Kerb {
    let report = hour(books, &question.hour);
    let told = books.limits.floor;
    let floor = question.floor.or(told.filter(|floor| floor.currency == report.currency).map(|floor| floor.amount));
    let in_use = || books.feeds.iter().filter(|(_, feed)| !feed.retired);
    let known: BTreeMap<FeedId, Known> = in_use().filter_map(|(id, _)| Some((*id, figure(&report, *id)?))).collect();
    let marks = |feed: &FeedId| books.marks.get(feed).map(|known| known.marks.clone()).unwrap_or_default();
    let waiting: Vec<Waiting> = in_use()
        .map(|(id, _)| Waiting {
            feed: *id,
            marks: marks(id),
            per_hour: known.get(id).map(|known| known.per_hour),
            interval: known.get(id).and_then(|known| known.interval),
            by_trial: known.get(id).is_some_and(|known| known.by_trial),
        })
        .collect();
    let line = |(feed, when): (FeedId, When)| {
        let known = known.get(&feed);
        KerbLine {
            feed,
            name: books.feeds.get(&feed).map(|feed| feed.name.clone()).unwrap_or_default(),
            depth: known.and_then(|known| known.depth.clone()),
            per_hour: known.map(|known| known.per_hour),
            interval: known.and_then(|known| known.interval),
            closed_lots: known.map_or(0, |known| known.closed_lots),
            by_trial: known.is_some_and(|known| known.by_trial),
            marks: marks(&feed),
            when,
        }
    };
    let lines = order(&waiting, question.today, floor.unwrap_or_default()).into_iter().map(line).collect();
    Kerb {
        seq: books.seq,
        day: report.day,
        basis: report.basis,
        buyer: report.buyer,
        currency: report.currency,
        floor,
        floor_told: question.floor.is_none() && floor.is_some(),
        floor_elsewhere: told.filter(|floor| question.floor.is_none() && floor.currency != report.currency),
        left: question.hour.left,
        today: question.today,
        lines,
    }
}

/// The depth that brings most over lots that are worked off; else the last trial.
fn figure(report: &HourReport, feed: FeedId) -> Option<Known> {
    let adds = |line: &FeedHour| line.pay.as_ref().ok().and_then(|pay| Some((pay.hands_on.point()?, pay.hands_on.interval())));
    let lots = report.feeds.iter().filter(|line| line.feed == feed).filter_map(|line| Some((adds(line)?, line)));
    if let Some(((per_hour, interval), line)) = lots.max_by_key(|((per_hour, _), _)| *per_hour) {
        let depth = line.depth.clone();
        return Some(Known { depth, per_hour, interval, closed_lots: line.closed_lots, by_trial: false });
    }
    let trials = report.trials.iter().filter(|trial| trial.of == feed && !trial.running);
    let point = trials.filter_map(|trial| trial.pay.as_ref().ok()).find_map(|pay| Ratio::point(&pay.hands_on))?;
    Some(Known { depth: None, per_hour: point, interval: None, closed_lots: 0, by_trial: true })
}
