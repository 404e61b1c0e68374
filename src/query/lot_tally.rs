//! What each lot took and gave: outputs by grade, minutes, and what belongs to none.

use super::by_end_of;
use super::hour::HourQuestion;
use super::pieces::{Piece, pieces, together};
use crate::economy::weighed::Weighed;
use crate::facts::books::{LotTurn, Part, Work};
use crate::facts::{Books, Fact, FeedId, FillId, GradeId, LotId, SessionId, SpendingSort};
use crate::measure::{Currency, Mass, Span, Stamp};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Stands for what lies in no bin, or in one without a grade: no event has this number.
pub(super) const NO_GRADE: GradeId = GradeId(0);

/// One lot.
#[derive(Debug, Clone)]
pub(super) struct Tally {
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
    pub outputs: BTreeMap<GradeId, Came>,
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
pub(super) struct Came {
    pub weighed: Weighed,
    pub lies: Lies,
}

/// Masses by the fill that they went into.
pub(super) type Lies = BTreeMap<Option<FillId>, Mass>;

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
pub(super) fn tallies(books: &Books, question: &HourQuestion) -> (BTreeMap<LotId, Tally>, Apart) {
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
    let mut outputs: BTreeMap<(LotId, GradeId), Vec<Piece>> = BTreeMap::new();
    let mut feeds: BTreeMap<(SessionId, u64), Option<FeedId>> = BTreeMap::new();
    for piece in pieces(books, question) {
        let feed =
            piece.key.session.zip(piece.key.leg).and_then(|leg| *feeds.entry(leg).or_insert_with(|| work.feed_of(leg.0, leg.1)));
        let lot = feed.and_then(|feed| work.lot_at(feed, piece.first.0));
        let removed = piece.key.part == Part::TakenOut;
        match lot.and_then(|lot| Some((lot, tallies.get_mut(&lot)?))) {
            Some((_, tally)) if !tally.counted(piece.first.0) => {}
            Some((_, tally)) if removed => tally.taken_out += -piece.weighed.mass,
            Some((lot, _)) => {
                let grade = piece.key.fill.and_then(|fill| books.fills.get(&fill)?.grade).unwrap_or(NO_GRADE);
                outputs.entry((lot, grade)).or_default().push(piece);
            }
            None if removed => {}
            None => {
                apart.drops += piece.drops;
                apart.mass += piece.weighed.mass;
            }
        }
    }
    for ((lot, grade), pieces) in outputs {
        if let Some(tally) = tallies.get_mut(&lot) {
            let mut lies = Lies::new();
            for piece in &pieces {
                *lies.entry(piece.key.fill).or_default() += piece.weighed.mass;
            }
            tally.outputs.insert(grade, Came { weighed: together(books, pieces), lies });
        }
    }
    clocks(books, question, &work, &mut tallies);
    told(books, question, &mut tallies);
    (tallies, apart)
}

/// What the records say of lots: minutes away from the bench, waiting, costs.
fn told(books: &Books, question: &HourQuestion, tallies: &mut BTreeMap<LotId, Tally>) {
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

fn clocks(books: &Books, question: &HourQuestion, work: &Work, tallies: &mut BTreeMap<LotId, Tally>) {
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

impl Tally {
    /// Hands on it: by the clock of the bench without what it waited, and away from the bench.
    pub fn hands_on(&self) -> Span {
        Span(self.at_bench.0.saturating_sub(self.waited_on_clock.0)).plus(self.off_bench)
    }

    /// Whether an event lies before the closing.
    fn counted(&self, seq: u64) -> bool {
        self.closed.is_none_or(|closed| seq < closed.seq)
    }
}

/// Whether something dated so belongs into the report. What has no trusted date always does: nothing is dropped silently.
pub(super) fn made_by(question: &HourQuestion, at: &Stamp) -> bool {
    question.as_of.is_none_or(|day| by_end_of(day, at, &question.zone))
}
