//! Orders about prices: quotes one by one and many at once, what a buyer calls a grade and how he pays, what a grade can be
//! folded into, and counts of pieces.

use super::decide::{Decision, NAME_MAX, find_bin, find_name, positive, unchanged};
use super::{BinRef, Edit, FeedRefusal, NameRef, NamedKind, Refusal};
use crate::economy::quotes::{InForce, in_force};
use crate::facts::books::{Quote, plain_word};
use crate::facts::{
    Books, Break, BuyerId, BuyerTold, Fact, GradeId, GradeTold, Payout, PiecesCounted, QuoteId, RateQuoted, Set, WordTold,
};
use crate::measure::{Mass, Rate};
use jiff::civil::Date;
use rust_decimal::Decimal;

/// Quotes that one order may keep: a grid or a table of a buyer has some dozens.
pub const QUOTES_MAX: usize = 5000;

/// What a buyer is said to pay, or to take, for a grade from a day on.
#[derive(Debug, Clone, PartialEq)]
pub struct Quoting {
    pub buyer: NameRef,
    pub grade: NameRef,
    pub rate: Rate,
    pub day: Date,
    pub stale_after: Option<u16>,
    pub breaks: Vec<Break>,
    pub minimum: Option<Mass>,
    pub deduction: Option<Decimal>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum PriceOrder {
    /// All of them or none; what stands in the books word for word on that day already is not kept again.
    Keep(Vec<Quoting>),
    /// The same, each beside the quote that was in force for its editor; none where there was none.
    KeepSeen(Vec<(Quoting, Option<QuoteId>)>),
    /// Every quote of a buyer holds on this day as well.
    SameToday {
        buyer: NameRef,
        day: Date,
    },
    CountPieces {
        bin: BinRef,
        pieces: u32,
    },
    TellGrade {
        grade: NameRef,
        fallback: Set<NameRef>,
        specification: Set<String>,
        edit: Edit,
    },
    TellBuyer {
        buyer: NameRef,
        payout: Payout,
        edit: Edit,
    },
    /// A buyer's own word for a grade; without a grade the word is taken back.
    TellWord {
        buyer: NameRef,
        word: String,
        grade: Option<NameRef>,
    },
}

/// Why such an order is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PriceRefusal {
    /// Of several quotes the one at this place, from nothing on.
    At {
        place: usize,
        refusal: Box<Refusal>,
    },
    TooMany {
        most: usize,
    },
    NothingToKeep,
    /// A share of the weight cannot be taken off a count.
    DeductionOnPieces,
    /// A step begins at more than nothing.
    BreakAtNothing,
    NothingQuoted {
        buyer: String,
    },
    /// Folding would lead back: the grades on the way, the first again last.
    FallbackCircle {
        through: Vec<String>,
    },
    BlankWord,
    BlankSpecification,
    /// The buyer means another grade by it.
    WordTaken {
        word: String,
        grade: String,
    },
    UnknownWord {
        word: String,
    },
}

impl From<PriceRefusal> for Refusal {
    fn from(refusal: PriceRefusal) -> Refusal {
        Refusal::Prices(refusal)
    }
}

pub(super) fn decide(books: &Books, order: &PriceOrder) -> Result<Decision, Refusal> {
    let one = |fact: Fact| Ok::<_, Refusal>(Decision::Facts(vec![fact]));
    match order {
        PriceOrder::Keep(quotes) => keep(books, quotes.iter().map(|quoting| (quoting, None))),
        PriceOrder::KeepSeen(quotes) => keep(books, quotes.iter().map(|(quoting, seen)| (quoting, Some(*seen)))),
        PriceOrder::SameToday { buyer, day } => same_today(books, buyer, *day),
        PriceOrder::CountPieces { bin, pieces } => {
            let (bin, state) = find_bin(books, *bin)?;
            if *pieces == 0 {
                return Err(FeedRefusal::NoPieces.into());
            }
            one(Fact::PiecesCounted(PiecesCounted { bin, fill: state.fill, pieces: *pieces }))
        }
        PriceOrder::TellGrade { grade, fallback, specification, edit } => {
            let grade = find_name(&books.grades, NamedKind::Grade, grade)?;
            let note = books.grade_notes.get(&grade);
            unchanged(*edit, note.map_or(0, |note| note.changed))?;
            let fallback = match fallback {
                Set::Keep => Set::Keep,
                Set::To(None) => Set::To(None),
                Set::To(Some(name)) => Set::To(Some(sound_fallback(books, grade, name)?)),
            };
            let specification = match specification {
                Set::Keep => Set::Keep,
                Set::To(None) => Set::To(None),
                Set::To(Some(word)) => Set::To(Some(clean(word).ok_or(PriceRefusal::BlankSpecification)?)),
            };
            if fallback.is_keep() && specification.is_keep() {
                return Ok(Decision::Already(note.map_or(grade.0, |note| note.changed)));
            }
            one(Fact::GradeTold(GradeTold { grade, fallback, specification }))
        }
        PriceOrder::TellBuyer { buyer, payout, edit } => {
            let buyer = find_name(&books.buyers, NamedKind::Buyer, buyer)?;
            let note = books.buyer_notes.get(&buyer).copied().unwrap_or_default();
            unchanged(*edit, note.changed)?;
            if note.payout == *payout {
                return Ok(Decision::Already(note.changed.max(buyer.0)));
            }
            one(Fact::BuyerTold(BuyerTold { buyer, payout: *payout }))
        }
        PriceOrder::TellWord { buyer, word, grade } => tell_word(books, buyer, word, grade.as_ref()),
    }
}

/// The fact of one quote. What is only paid by weight is written as it always was.
pub(super) fn quote(books: &Books, quoting: &Quoting) -> Result<Fact, Refusal> {
    let Quoting { rate, day, stale_after, minimum, deduction, .. } = *quoting;
    let breaks = &quoting.breaks;
    let buyer = find_name(&books.buyers, NamedKind::Buyer, &quoting.buyer)?;
    let grade = find_name(&books.grades, NamedKind::Grade, &quoting.grade)?;
    if breaks.iter().any(|step| step.from <= Mass::ZERO) {
        return Err(PriceRefusal::BreakAtNothing.into());
    }
    if breaks.windows(2).any(|pair| pair[0].from >= pair[1].from) {
        return Err(Refusal::BreaksOutOfOrder);
    }
    if deduction.is_some_and(|deduction| deduction.is_sign_negative() || deduction > Decimal::ONE_HUNDRED) {
        return Err(Refusal::DeductionOutOfRange);
    }
    minimum.map_or(Ok(()), positive)?;
    let charges = rate.is_charge() || breaks.iter().any(|step| step.amount < Decimal::ZERO);
    match rate {
        Rate::Weight(price) if !charges => {
            Ok(Fact::QuoteGiven { buyer, grade, price, day, stale_after, breaks: breaks.clone(), minimum, deduction })
        }
        Rate::Piece(_) if deduction.is_some() => Err(PriceRefusal::DeductionOnPieces.into()),
        rate => {
            let breaks = breaks.clone();
            Ok(Fact::RateQuoted(Box::new(RateQuoted { buyer, grade, rate, day, stale_after, breaks, minimum, deduction })))
        }
    }
}

fn keep<'a>(
    books: &Books,
    quotes: impl ExactSizeIterator<Item = (&'a Quoting, Option<Option<QuoteId>>)>,
) -> Result<Decision, Refusal> {
    match quotes.len() {
        0 => return Err(PriceRefusal::NothingToKeep.into()),
        many if many > QUOTES_MAX => return Err(PriceRefusal::TooMany { most: QUOTES_MAX }.into()),
        _ => {}
    }
    let mut facts = Vec::new();
    let mut held: Option<(Date, InForce)> = None;
    for (place, (quoting, seen)) in quotes.enumerate() {
        let at = |refusal: Refusal| Refusal::from(PriceRefusal::At { place, refusal: Box::new(refusal) });
        let fact = quote(books, quoting).map_err(at)?;
        if held.as_ref().is_none_or(|(day, _)| *day != quoting.day) {
            held = Some((quoting.day, held_on(books, quoting.day)));
        }
        let standing = of_fact(&fact).and_then(|key| held.as_ref()?.1.get(&key).copied());
        if let Some(seen) = seen {
            let number = |quote: Option<QuoteId>| quote.map_or(0, |quote| quote.0);
            unchanged(Edit { seen: Some(number(seen)) }, number(standing.map(|(id, _)| id))).map_err(at)?;
        }
        if !standing.is_some_and(|(_, standing)| says_the_same(standing, quoting)) {
            facts.push(fact);
        }
    }
    Ok(if facts.is_empty() { Decision::Already(books.seq) } else { Decision::Facts(facts) })
}

/// Whether just this stands in the books for just this day.
pub(super) fn stands(books: &Books, quoting: &Quoting) -> bool {
    let key = quote(books, quoting).ok().as_ref().and_then(of_fact);
    let held = held_on(books, quoting.day);
    key.and_then(|key| held.get(&key).copied()).is_some_and(|(_, standing)| says_the_same(standing, quoting))
}

fn held_on(books: &Books, day: Date) -> InForce<'_> {
    in_force(books.quotes.iter().map(|(id, quote)| (*id, quote)), day)
}

fn of_fact(fact: &Fact) -> Option<(GradeId, BuyerId, crate::measure::Currency)> {
    match fact {
        Fact::QuoteGiven { buyer, grade, price, .. } => Some((*grade, *buyer, price.currency)),
        Fact::RateQuoted(given) => Some((given.grade, given.buyer, given.rate.currency())),
        _ => None,
    }
}

fn says_the_same(standing: &Quote, quoting: &Quoting) -> bool {
    standing.day == quoting.day
        && standing.rate == quoting.rate
        && standing.stale_after == quoting.stale_after
        && standing.breaks == quoting.breaks
        && standing.minimum == quoting.minimum
        && standing.deduction == quoting.deduction
}

fn same_today(books: &Books, buyer: &NameRef, day: Date) -> Result<Decision, Refusal> {
    let id = find_name(&books.buyers, NamedKind::Buyer, buyer)?;
    let held = held_on(books, day);
    let in_use = |grade: &GradeId| books.grades.get(grade).is_some_and(|grade| !grade.retired);
    let mine: Vec<&Quote> =
        held.iter().filter(|((grade, of, _), _)| *of == id && in_use(grade)).map(|(_, (_, quote))| *quote).collect();
    if mine.is_empty() {
        let buyer = books.buyers.get(&id).map(|named| named.name.clone()).unwrap_or_default();
        return Err(PriceRefusal::NothingQuoted { buyer }.into());
    }
    let name = |grade: GradeId| NameRef(books.grades.get(&grade).map(|named| named.name.clone()).unwrap_or_default());
    let older = mine.into_iter().filter(|quote| quote.day < day);
    let again = older.map(|old| {
        let quoting = Quoting {
            buyer: buyer.clone(),
            grade: name(old.grade),
            rate: old.rate,
            day,
            stale_after: old.stale_after,
            breaks: old.breaks.clone(),
            minimum: old.minimum,
            deduction: old.deduction,
        };
        quote(books, &quoting)
    });
    let facts: Vec<Fact> = again.collect::<Result<_, _>>()?;
    Ok(if facts.is_empty() { Decision::Already(books.seq) } else { Decision::Facts(facts) })
}

/// The grade that another is folded into: not itself, and not one that leads back to it.
fn sound_fallback(books: &Books, grade: GradeId, name: &NameRef) -> Result<GradeId, Refusal> {
    let fallback = find_name(&books.grades, NamedKind::Grade, name)?;
    let named = |grade: GradeId| books.grades.get(&grade).map(|named| named.name.clone()).unwrap_or_default();
    let mut way = vec![named(grade)];
    let mut next = Some(fallback);
    while let Some(on) = next {
        way.push(named(on));
        if on == grade {
            return Err(PriceRefusal::FallbackCircle { through: way }.into());
        }
        next = books.fallback(on);
    }
    Ok(fallback)
}

fn tell_word(books: &Books, buyer: &NameRef, word: &str, grade: Option<&NameRef>) -> Result<Decision, Refusal> {
    let buyer = find_name(&books.buyers, NamedKind::Buyer, buyer)?;
    let word = clean(word).ok_or(PriceRefusal::BlankWord)?;
    let known = books.words.get(&(buyer, plain_word(&word)));
    let Some(grade) = grade else {
        known.ok_or(PriceRefusal::UnknownWord { word: word.clone() })?;
        return Ok(Decision::Facts(vec![Fact::WordTold(WordTold { buyer, word, grade: None })]));
    };
    let grade = find_name(&books.grades, NamedKind::Grade, grade)?;
    match known {
        Some(known) if known.grade == grade => Ok(Decision::Already(books.seq)),
        Some(known) => {
            let grade = books.grades.get(&known.grade).map(|named| named.name.clone()).unwrap_or_default();
            Err(PriceRefusal::WordTaken { word, grade }.into())
        }
        None => Ok(Decision::Facts(vec![Fact::WordTold(WordTold { buyer, word, grade: Some(grade) })])),
    }
}

fn clean(text: &str) -> Option<String> {
    let kept: String = text.trim().chars().filter(|c| !c.is_control()).take(NAME_MAX).collect();
    (!kept.is_empty()).then_some(kept)
}
