//! Trials against the clock: one sample each of what an hour on a feed brings.

use super::lot_tally::{Came, Lies, NO_GRADE, made_by};
use super::worth::Prices;
use crate::economy::pay::{Added, NoPay, WorkedLot, added};
use crate::economy::trial::{Projection, Trial, project};
use crate::economy::weighed::Weighed;
use crate::facts::books::{Entry, Record, between};
use crate::facts::{BenchId, Books, EntryId, Fact, FeedId, GradeId, TrialBegan, TrialEnded};
use crate::measure::{Mass, Moment, Money, Span, Stamp};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Pieces to which a trial is carried on, beside the hour.
const CARRIED: u32 = 100;

/// One trial.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialHour {
    /// By the event that began it.
    pub trial: u64,
    pub bench: BenchId,
    pub of: FeedId,
    pub feed: String,
    pub at: Stamp,
    /// What was set.
    pub set: Span,
    /// What was worked: all of it, or up to where it was ended early, or so far.
    pub worked: Span,
    pub running: bool,
    /// As told at its end.
    pub pieces: Option<u32>,
    pub mass: Option<Mass>,
    pub drops: usize,
    pub outputs: Vec<TrialOutput>,
    /// What came out, an hour, before what the goods would have brought whole; none where nothing has a quote.
    pub brings: Option<Decimal>,
    pub pay: Result<Added, NoPay>,
    /// Carried on to a hundred pieces, where they were counted.
    pub hundred: Option<Projection>,
}

/// What came out as one grade.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialOutput {
    /// None for what lies in no bin, or in one without a grade.
    pub grade: Option<String>,
    pub mass: Mass,
    pub value: Option<Money>,
}

/// The trial that runs on a bench.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialLine {
    pub trial: u64,
    pub feed: String,
    pub set: Span,
    /// Nothing when the time is up.
    pub left: Span,
}

/// The trial of a bench that nobody has ended yet.
pub fn running_trial(books: &Books, bench: BenchId, now: &Stamp) -> Option<TrialLine> {
    let trial = books.bench(bench).trial?;
    let record = books.record(trial)?;
    let Fact::TrialBegan(began) = &record.fact else { return None };
    let (gone, _) = between(&record.at, now);
    let feed = books.feeds.get(&began.feed).map(|feed| feed.name.clone()).unwrap_or_default();
    Some(TrialLine { trial, feed, set: began.span, left: Span(began.span.0.saturating_sub(gone.0)) })
}

/// Every trial that stands, newest first.
pub(super) fn trials(prices: &Prices) -> Vec<TrialHour> {
    let (books, question) = (prices.books, prices.question);
    let mut ends: BTreeMap<u64, (&TrialEnded, Stamp)> = BTreeMap::new();
    for record in books.standing_records() {
        if let Fact::TrialEnded(ended) = &record.fact {
            // Whoever tells it again means the last; it ended when it was told first.
            let at = ends.get(&ended.trial).map_or(record.at, |(_, at)| *at);
            ends.insert(ended.trial, (ended, at));
        }
    }
    let began = books.standing_records().rev().filter(|record| made_by(question, &record.at));
    let one = |record: &Record| match &record.fact {
        Fact::TrialBegan(began) => Some(trial(prices, record, began, ends.get(&record.seq).copied())),
        _ => None,
    };
    began.filter_map(one).collect()
}

fn trial(prices: &Prices, record: &Record, began: &TrialBegan, end: Option<(&TrialEnded, Stamp)>) -> TrialHour {
    let (books, question) = (prices.books, prices.question);
    let (gone, _) = between(&record.at, &end.map_or(question.now, |(_, at)| at));
    let worked = gone.min(began.span);
    let running = end.is_none() && gone < began.span;
    let mut outputs: BTreeMap<GradeId, Came> = BTreeMap::new();
    let mut drops = 0;
    // A step is recognised within minutes of its landing; what was recorded later landed later.
    let late = worked.plus(Span::seconds(600));
    let in_time = |entry: &Entry| entry.at.boot != record.at.boot || entry.at.mono.since(record.at.mono) <= late;
    for (_, entry) in books.entries.range(EntryId(record.seq)..).take_while(|(_, entry)| in_time(entry)) {
        let ours = entry.counts() && entry.is_drop() && entry.session == Some(began.session) && entry.leg == Some(began.leg);
        if ours && landed(&record.at, entry) <= worked {
            drops += 1;
            let grade = entry.fill.and_then(|fill| books.fills.get(&fill)?.grade).unwrap_or(NO_GRADE);
            let came = outputs.entry(grade).or_insert(Came { weighed: Weighed::NOTHING, lies: Lies::new() });
            came.weighed.mass += entry.mass;
            *came.lies.entry(entry.fill).or_default() += entry.mass;
        }
    }
    let value = |(grade, came): (&GradeId, &Came)| prices.brings(*grade, &came.lies).value;
    let name = books.feeds.get(&began.feed).map(|feed| feed.name.clone()).unwrap_or_default();
    let (pieces, mass) = end.map_or((None, None), |(ended, _)| (ended.pieces, ended.mass));
    let money = |amount| Money { amount, currency: prices.currency };
    let (worked_out, charges) = prices.outputs(&outputs);
    let lot = WorkedLot {
        closed: !running,
        outputs: worked_out,
        basis: prices.basis(),
        whole: prices.worth(&prices.whole(&name, None), mass, pieces),
        consumables: money(Decimal::ZERO),
        disposal: money(charges),
        hands_on: worked,
        elapsed: worked,
    };
    let pay = added(std::slice::from_ref(&lot));
    let sum = outputs.iter().filter_map(value).map(|value| value.amount).reduce(|sum, value| sum.saturating_add(value));
    let hundred = pieces.and_then(|pieces| project(&Trial { pieces, lot: lot.clone() }, CARRIED).ok());
    let graded = |of: (&GradeId, &Came)| TrialOutput {
        grade: books.grades.get(of.0).map(|grade| grade.name.clone()),
        mass: of.1.weighed.mass,
        value: value(of),
    };
    TrialHour {
        trial: record.seq,
        bench: record.bench,
        of: began.feed,
        feed: name,
        at: record.at,
        set: began.span,
        worked,
        running,
        pieces,
        mass,
        drops,
        outputs: outputs.iter().map(graded).collect(),
        brings: sum.and_then(|sum| an_hour(sum, worked)),
        pay,
        hundred,
    }
}

/// How long after its beginning a drop lay there: it is recognised a little later, and pieces do not wait for that.
fn landed(begin: &Stamp, entry: &Entry) -> Span {
    match entry.between {
        Some((_, still)) if entry.at.boot == begin.boot && still != Moment::default() => still.since(begin.mono),
        _ => between(begin, &entry.at).0,
    }
}

fn an_hour(amount: Decimal, span: Span) -> Option<Decimal> {
    let hour = Decimal::from(Span::seconds(3600).0);
    (span != Span::ZERO).then(|| amount.checked_mul(hour)?.checked_div(Decimal::from(span.0))).flatten()
}
