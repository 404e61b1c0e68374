//! Folding what is told of prices, of grades and buyers beside their names, and counts of pieces.

use super::{Books, Quote};
use crate::facts::{BuyerId, Event, Fact, GradeId, Payout, PiecesCounted, QuoteId};
use crate::measure::{Mass, Stamp};

/// What the owner says of a grade beside its name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GradeNote {
    /// The coarser grade that it can be folded into.
    pub fallback: Option<GradeId>,
    /// The word of a published trade specification for it.
    pub specification: Option<String>,
    /// The last event that changed it: what an edit is checked against.
    pub changed: u64,
}

/// How a buyer pays.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct BuyerNote {
    pub payout: Payout,
    pub changed: u64,
}

/// A buyer's word for a grade of ours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// As it was told.
    pub text: String,
    pub grade: GradeId,
}

/// All pieces in a fill, as they were counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    pub pieces: u32,
    /// What lay there then: with another mass the count is no longer of what lies there.
    pub mass: Mass,
    pub at: Stamp,
}

/// A word without what is no difference to a person: letter case, and space around and between.
pub fn plain_word(word: &str) -> String {
    word.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

impl Books {
    pub(super) fn fold_prices(&mut self, event: &Event) -> Option<()> {
        let seq = event.seq;
        match &event.fact {
            Fact::RateQuoted(given) => {
                self.buyers.get(&given.buyer)?;
                self.grades.get(&given.grade)?;
                let quote = Quote {
                    buyer: given.buyer,
                    grade: given.grade,
                    rate: given.rate,
                    day: given.day,
                    stale_after: given.stale_after,
                    breaks: given.breaks.clone(),
                    minimum: given.minimum,
                    deduction: given.deduction,
                    withdrawn: false,
                };
                self.quotes.insert(QuoteId(seq), quote);
            }
            Fact::PiecesCounted(PiecesCounted { fill, pieces, .. }) => {
                let fill = self.fills.get_mut(fill)?;
                fill.counts.push_back(Count { pieces: *pieces, mass: fill.mass, at: event.stamp() });
            }
            Fact::GradeTold(told) => {
                self.grades.get(&told.grade)?;
                if let crate::facts::Set::To(Some(fallback)) = told.fallback {
                    self.grades.get(&fallback)?;
                }
                let note = self.grade_notes.entry(told.grade).or_default();
                told.fallback.put(&mut note.fallback);
                told.specification.put(&mut note.specification);
                note.changed = seq;
            }
            Fact::BuyerTold(told) => {
                self.buyers.get(&told.buyer)?;
                self.buyer_notes.insert(told.buyer, BuyerNote { payout: told.payout, changed: seq });
            }
            Fact::WordTold(told) => {
                self.buyers.get(&told.buyer)?;
                let key = (told.buyer, plain_word(&told.word));
                match told.grade {
                    Some(grade) => {
                        self.grades.get(&grade)?;
                        self.words.insert(key, Word { text: told.word.clone(), grade });
                    }
                    None => _ = self.words.remove(&key),
                }
            }
            _ => unreachable!("fold() sends only prices and what is told of them here"),
        }
        Some(())
    }

    /// The coarser grade that a grade can be folded into.
    pub fn fallback(&self, grade: GradeId) -> Option<GradeId> {
        self.grade_notes.get(&grade)?.fallback
    }

    /// How a buyer pays out in cash; to the cent where nobody has said.
    pub fn payout(&self, buyer: BuyerId) -> Payout {
        self.buyer_notes.get(&buyer).map(|note| note.payout).unwrap_or_default()
    }

    /// What a buyer means by a word.
    pub fn meant_by(&self, buyer: BuyerId, word: &str) -> Option<GradeId> {
        self.words.get(&(buyer, plain_word(word))).map(|word| word.grade)
    }
}
