//! What came out of work, in the largest pieces that a report may take whole.

use super::hour::HourQuestion;
use super::lot_tally::made_by;
use super::{Lies, lies};
use crate::economy::weighed::Weighed;
use crate::facts::books::{Entry, Part, Sum, SumKey, chained};
use crate::facts::{Books, EntryId};
use crate::measure::{Mass, Variance};

/// A whole sum, or one entry of it where only some of it counts by then.
pub(super) struct Piece<'a> {
    pub key: &'a SumKey,
    pub drops: usize,
    pub weighed: Weighed,
    pub first: EntryId,
    last: EntryId,
    whole: Option<&'a Sum>,
}

impl<'a> Piece<'a> {
    fn whole(key: &'a SumKey, sum: &'a Sum) -> Piece<'a> {
        let weighed = Weighed { mass: sum.mass, variance: sum.alone };
        Piece { key, drops: sum.entries, weighed, first: sum.first, last: sum.last, whole: Some(sum) }
    }

    fn one(key: &'a SumKey, id: EntryId, entry: &Entry) -> Piece<'a> {
        let weighed = Weighed { mass: entry.mass, variance: entry.variance };
        Piece { key, drops: 1, weighed, first: id, last: id, whole: None }
    }
}

/// Drops, and what was taken out, by the day of the report.
pub(super) fn pieces<'a>(books: &'a Books, question: &HourQuestion) -> Vec<Piece<'a>> {
    let mut pieces = Vec::new();
    for (key, sum) in books.sums().filter(|(key, _)| matches!(key.part, Part::Drop | Part::TakenOut)) {
        match question.as_of.map_or(Lies::Before, |day| lies(key.day, day)) {
            Lies::Before => pieces.push(Piece::whole(key, sum)),
            Lies::After => {}
            Lies::Across => {
                let by_then = books.entries_of(key, sum).filter(|(_, entry)| made_by(question, &entry.at));
                pieces.extend(by_then.map(|(id, entry)| Piece::one(key, id, entry)));
            }
        }
    }
    pieces
}

/// All of them in their order: what starts from the reading at which the one before it ended adds no uncertainty.
pub(super) fn together(books: &Books, mut pieces: Vec<Piece>) -> Weighed {
    pieces.sort_unstable_by_key(|piece| piece.first);
    if pieces.windows(2).any(|pair| pair[1].first < pair[0].last) {
        // Two bins of one grade were filled in turn: their sums lie in one another.
        let mut entries: Vec<Piece> = Vec::new();
        for piece in pieces {
            match piece.whole {
                Some(sum) => {
                    entries.extend(books.entries_of(piece.key, sum).map(|(id, entry)| Piece::one(piece.key, id, entry)));
                }
                None => entries.push(piece),
            }
        }
        entries.sort_unstable_by_key(|piece| piece.first);
        pieces = entries;
    }
    let mut sum = Weighed { mass: Mass::ZERO, variance: Variance::ZERO };
    let mut last: Option<&Entry> = None;
    for piece in &pieces {
        let first = books.entries.get(&piece.first);
        let shared = last.zip(first).filter(|(last, first)| chained(last, first));
        let shared = shared.map_or(Variance::ZERO, |(_, first)| first.variance);
        sum.mass += piece.weighed.mass;
        sum.variance = sum.variance.plus(piece.weighed.variance.minus(shared));
        last = books.entries.get(&piece.last);
    }
    sum
}
