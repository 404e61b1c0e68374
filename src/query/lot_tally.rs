//! What each lot took and gave: outputs by grade, minutes, and what belongs to none.

use super::by_end_of;
use super::hour::HourQuestion;
use crate::economy::weighed::Weighed;
use crate::facts::books::{Entry, EntryState, LotTurn, Origin, Work, chained};
use crate::facts::{Books, Fact, FeedId, FillId, GradeId, LotId, SessionId, SpendingSort};
use crate::measure::{Currency, Mass, Span, Stamp, Variance};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Stands for what lies in no bin, or in one without a grade: no event has this number.
pub(super) const NO_GRADE: GradeId = GradeId(0);

/// One lot.
#[derive(Debug, Clone)]
pub(super) struct Tally<'a> {
    pub feed: FeedId,
    pub depth: Option<String>,
    pub pieces: Option<u32>,
    /// The grade of the bin that it was drawn from.
    pub drawn: Option<GradeId>,
    /// None where it was only counted.
    pub intake: Option<Weighed>,
    pub opened: Stamp,
    /// How it was closed, where it is. What landed after that counts in nothing.
    pub closed: Option<LotTurn>,
    pub outputs: BTreeMap<GradeId, Sum<'a>>,
    pub at_bench: Span,
    pub off_bench: Span,
    /// Soaking, heating, waiting: what of it the clock of the bench ran is taken off the hands-on time.
    pub waited: Span,
    waited_on_clock: Span,
    /// What was used up, and what it cost to be rid of the rest.
    pub consumables: Costs,
    pub disposal: Costs,
    pub clock_sure: bool,
    pub untold: Span,
    pub taken_out: Mass,
}

/// Amounts by their currency: they are never mixed.
pub(super) type Costs = BTreeMap<Currency, Decimal>;

/// What came out as one grade.
#[derive(Debug, Clone)]
pub(super) struct Sum<'a> {
    pub weighed: Weighed,
    /// The last drop: one that starts from its reading adds no uncertainty.
    last: &'a Entry,
}

/// What the drops before were in: thousands in a row share a leg and a fill.
struct Known<'a> {
    books: &'a Books,
    leg: Option<((SessionId, u64), Option<FeedId>)>,
    fill: Option<(FillId, GradeId)>,
}

impl<'a> Known<'a> {
    fn new(books: &'a Books) -> Known<'a> {
        Known { books, leg: None, fill: None }
    }

    fn feed_of(&mut self, work: &Work, entry: &Entry) -> Option<FeedId> {
        let leg = entry.session.zip(entry.leg)?;
        match self.leg {
            Some((known, feed)) if known == leg => feed,
            _ => {
                let feed = work.feed_of(leg.0, leg.1);
                self.leg = Some((leg, feed));
                feed
            }
        }
    }

    fn grade_of(&mut self, entry: &Entry) -> GradeId {
        let Some(fill) = entry.fill else { return NO_GRADE };
        match self.fill {
            Some((known, grade)) if known == fill => grade,
            _ => {
                let grade = self.books.fills.get(&fill).and_then(|fill| fill.grade).unwrap_or(NO_GRADE);
                self.fill = Some((fill, grade));
                grade
            }
        }
    }
}

/// What belongs to no lot and is in no figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Apart {
    /// Drops of mixed work, outside any session, or of a feed of which no lot was open.
    pub drops: usize,
    pub mass: Mass,
    /// Lots of which nobody has said what they are.
    pub lots_without_feed: usize,
}

/// Every lot that stands, by the end of the day that is asked about.
pub(super) fn tallies<'a>(books: &'a Books, question: &HourQuestion) -> (BTreeMap<LotId, Tally<'a>>, Apart) {
    let mut apart = Apart::default();
    let mut tallies = BTreeMap::new();
    for (id, lot) in &books.lots {
        let Some(entry) = books.lot_entry(*id).filter(|entry| entry.counts() && made_by(question, &entry.at)) else {
            continue;
        };
        let Some(feed) = lot.feed else {
            apart.lots_without_feed += 1;
            continue;
        };
        let tally = Tally {
            feed,
            depth: lot.depth.clone(),
            pieces: lot.pieces,
            drawn: lot.drawn.and_then(|fill| books.fills.get(&fill)?.grade),
            intake: books.lot_mass(*id).map(|mass| Weighed { mass, variance: entry.variance }),
            opened: entry.at,
            closed: lot.closed_by(|turn| made_by(question, &turn.at)),
            outputs: BTreeMap::new(),
            at_bench: Span::ZERO,
            off_bench: Span::ZERO,
            waited: Span::ZERO,
            waited_on_clock: Span::ZERO,
            consumables: Costs::new(),
            disposal: Costs::new(),
            clock_sure: true,
            untold: Span::ZERO,
            taken_out: Mass::ZERO,
        };
        tallies.insert(*id, tally);
    }
    let work = Work::of(books);
    let mut known = Known::new(books);
    for (id, entry) in books.entries.iter().filter(|(_, entry)| entry.state == EntryState::Confirmed) {
        let removed = matches!(entry.origin, Origin::TakenOut(_)) && entry.paired.is_none();
        if !(entry.is_drop() || removed) || !made_by(question, &entry.at) {
            continue;
        }
        let lot = known.feed_of(&work, entry).and_then(|feed| work.lot_at(feed, id.0));
        match lot.and_then(|lot| tallies.get_mut(&lot)) {
            Some(tally) if !tally.counted(id.0) => {}
            Some(tally) if removed => tally.taken_out += -entry.mass,
            Some(tally) => tally.put(known.grade_of(entry), entry),
            None if removed => {}
            None => {
                apart.drops += 1;
                apart.mass += entry.mass;
            }
        }
    }
    clocks(books, question, &work, &mut tallies);
    told(books, question, &mut tallies);
    (tallies, apart)
}

/// What the records say of lots: minutes away from the bench, waiting, costs.
fn told(books: &Books, question: &HourQuestion, tallies: &mut BTreeMap<LotId, Tally<'_>>) {
    let by_then = |day: &Date| question.as_of.is_none_or(|until| *day <= until);
    for record in books.standing_records() {
        match &record.fact {
            Fact::MinutesSpent { span, day, lot: Some(lot), .. } if by_then(day) => {
                if let Some(tally) = tallies.get_mut(lot) {
                    tally.off_bench = tally.off_bench.plus(*span);
                }
            }
            Fact::LotWaited(waited) if by_then(&waited.day) => {
                if let Some(tally) = tallies.get_mut(&waited.lot) {
                    tally.waited = tally.waited.plus(waited.span);
                    if waited.clock_ran {
                        tally.waited_on_clock = tally.waited_on_clock.plus(waited.span);
                    }
                }
            }
            Fact::MoneySpent(spent) if by_then(&spent.day) => {
                if let Some(tally) = spent.lot.and_then(|lot| tallies.get_mut(&lot)) {
                    let disposal = spent.sort == SpendingSort::Disposal;
                    let costs = if disposal { &mut tally.disposal } else { &mut tally.consumables };
                    let sum = costs.entry(spent.amount.currency).or_default();
                    *sum = sum.saturating_add(spent.amount.amount);
                }
            }
            _ => {}
        }
    }
}

fn clocks(books: &Books, question: &HourQuestion, work: &Work, tallies: &mut BTreeMap<LotId, Tally<'_>>) {
    for (session, state) in &books.sessions {
        let lot = |leg: u64, seq: u64| work.lot_at(work.feed_of(*session, leg)?, seq);
        for run in state.runs_at(&question.now) {
            if let Some(tally) = lot(run.leg, run.from).and_then(|lot| tallies.get_mut(&lot))
                && tally.counted(run.from)
            {
                tally.at_bench = tally.at_bench.plus(run.span);
                tally.clock_sure &= run.sure;
            }
        }
        for stillness in state.stillnesses.iter().filter(|stillness| stillness.away.is_none()) {
            if let Some(tally) = lot(stillness.leg, stillness.id).and_then(|lot| tallies.get_mut(&lot))
                && tally.counted(stillness.id)
            {
                tally.untold = tally.untold.plus(stillness.span);
            }
        }
    }
}

impl<'a> Tally<'a> {
    /// Hands on it: by the clock of the bench without what it waited, and away from the bench.
    pub fn hands_on(&self) -> Span {
        Span(self.at_bench.0.saturating_sub(self.waited_on_clock.0)).plus(self.off_bench)
    }

    /// Whether an event lies before the closing.
    fn counted(&self, seq: u64) -> bool {
        self.closed.is_none_or(|closed| seq < closed.seq)
    }

    fn put(&mut self, grade: GradeId, entry: &'a Entry) {
        use std::collections::btree_map::Entry::{Occupied, Vacant};
        match self.outputs.entry(grade) {
            Vacant(first) => {
                let weighed = Weighed { mass: entry.mass, variance: entry.variance };
                first.insert(Sum { weighed, last: entry });
            }
            Occupied(sum) => {
                let sum = sum.into_mut();
                let variance = if chained(sum.last, entry) { Variance::ZERO } else { entry.variance };
                sum.weighed = Weighed { mass: sum.weighed.mass + entry.mass, variance: sum.weighed.variance.plus(variance) };
                sum.last = entry;
            }
        }
    }
}

/// Whether something dated so belongs into the report. What has no trusted date always does: nothing is dropped silently.
pub(super) fn made_by(question: &HourQuestion, at: &Stamp) -> bool {
    question.as_of.is_none_or(|day| by_end_of(day, at, &question.zone))
}
